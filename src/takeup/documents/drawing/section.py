"""The drawn joint: half section above the centre line, to proportion from its real geometry."""

from __future__ import annotations

from collections.abc import Sequence

from takeup.assess.joint_types import type_facts
from takeup.bellows.model import Convolution
from takeup.documents.drawing.palette import PRINT, Palette
from takeup.documents.drawing.profile import bellows_line, ring_outline
from takeup.documents.drawing.recorded import Recorded, recorded
from takeup.documents.drawing.svg import Svg, n
from takeup.documents.drawing.view import View, shifted
from takeup.register.entities import (
    BellowsElement,
    Cover,
    Hardware,
    HardwareKind,
    Insulation,
    Joint,
    JointType,
    Line,
    Wall,
)
from takeup.units import System, shown

WIDTH, MARGIN = 760.0, 70.0
_TIED = frozenset({JointType.SINGLE_TIED, JointType.UNIVERSAL_TIED, JointType.BALANCED_ELBOW,
                   JointType.BALANCED_INLINE})  # fmt: skip
_HINGED = frozenset({JointType.HINGED, JointType.HINGED_PAIR, JointType.HINGED_TRIPLE})


def joint_section(
    joint: Joint,
    bellows: Sequence[BellowsElement],
    hardware: Sequence[Hardware],
    line: Line,
    *,
    system: System,
    thrust: float | None = None,
    holder: str = "",
    palette: Palette = PRINT,
) -> str:
    """Draw a joint with its bellows, hardware, internals, dimensions and thrust.

    What is not known is drawn from usual proportions, dashed, and labelled so.
    """
    number = max(len(bellows), type_facts(joint.type).bellows)
    shapes = [recorded(bellows[i] if i < len(bellows) else None, line) for i in range(number)]
    first = shapes[0]
    end = 0.32 * first.diameter
    spool = _spool(joint, shapes)
    total = 2 * end + sum(s.length for s in shapes) + spool * (number - 1)
    scale = min((WIDTH - 2 * MARGIN) / total, 235.0 / (first.diameter / 2 + 0.2 * first.diameter))
    radius = first.diameter / 2 * scale
    crown = max(s.height for s in shapes) * scale
    above = 92.0 + crown
    axis = above + radius
    height = axis + 86
    walled = joint.wall.value if joint.wall else "wall not known"
    names = {True: "", False: " Dimensions are not known: drawn from usual proportions."}
    svg = Svg(
        WIDTH,
        height,
        f"{joint.tag}: {joint.type.value}, section",
        f"Half section of {joint.tag}, {number} bellows, {walled}.{names[first.known]}",
        palette,
    )
    left = (WIDTH - total * scale) / 2
    segments = _walls(svg, shapes, left, axis, scale, end, spool)
    _internals(svg, joint, hardware, segments, axis, radius, left, total * scale)
    if joint.cover in {Cover.REMOVABLE, Cover.FIXED} or joint.insulation == Insulation.AS_DESIGNED:
        _cover(svg, joint, segments, axis, radius, crown)
    _hardware(svg, joint, hardware, segments, axis, radius, crown)
    _dimensions(
        svg, joint, shapes, segments, axis, radius, crown, left, total * scale, scale, system
    )
    _thrust(svg, axis, left, total * scale, thrust, holder, system)
    svg.line(left - 24, axis, left + total * scale + 24, axis, stroke=palette.soft, width=0.8,
             dash="14 4 2 4")  # fmt: skip
    if not first.known:
        words = "dimensions not known: drawn from usual proportions"
        if not first.possible:
            words = "dimensions on record make no convolution: drawn from usual proportions"
        svg.text(WIDTH / 2, 16, words, size=12,
                 anchor="middle", fill=palette.warn, style="italic")  # fmt: skip
    return svg.render()


def _spool(joint: Joint, shapes: Sequence[Recorded]) -> float:
    if len(shapes) < 2:
        return 0.0
    first = shapes[0].diameter
    if joint.spool is not None:
        own = joint.spool - sum(s.length for s in shapes)
        return min(max(own / (len(shapes) - 1), 0.25 * first), 1.6 * first)
    return 0.8 * first


def _walls(
    svg: Svg,
    shapes: Sequence[Recorded],
    left: float,
    axis: float,
    scale: float,
    end: float,
    spool: float,
) -> list[tuple[float, float, Recorded]]:
    """Pipe and bellows walls; returns (start, end, shape) of each bellows in px."""
    x = left
    segments = []
    for place, shape in enumerate(shapes):
        r = shape.diameter / 2 * scale
        stretch = (end if place == 0 else spool) * scale
        svg.line(x, axis - r, x + stretch, axis - r, width=3.2)
        x += stretch
        view = View(svg, x, axis - r, scale)
        d = view.d(bellows_line(shape.outline))
        dash = "" if shape.known else "5 3"
        if shape.outline.plies >= 2 and shape.known:
            svg.path(d, width=3.4)
            svg.path(d, width=1.2, stroke=svg.palette.paper)
        else:
            svg.path(d, width=1.6, dash=dash)
        if shape.outline.reinforced:
            ring = ring_outline(shape.outline)
            told = shape.known and shape.outline.known("ring_area")
            for at in range(1, shape.outline.convolutions):
                view.area(shifted(ring, at * shape.outline.pitch, 0.0), fill=svg.palette.tint,
                          dash="" if told else "3 2")  # fmt: skip
        segments.append((x, x + shape.length * scale, shape))
        x += shape.length * scale
    r = shapes[-1].diameter / 2 * scale
    svg.line(x, axis - r, x + end * scale, axis - r, width=3.2)
    return segments


def _internals(
    svg: Svg,
    joint: Joint,
    hardware: Sequence[Hardware],
    segments: Sequence[tuple[float, float, Recorded]],
    axis: float,
    radius: float,
    left: float,
    width: float,
) -> None:
    p = svg.palette
    thick = {Wall.COLD: 0.16, Wall.HOT: 0.05}.get(joint.wall, 0.0) if joint.wall else 0.0
    if thick:
        fill = svg.hatch("lining", gap=5, stroke=p.soft)
        edges = [left] + [x for a, b, _ in segments for x in (a - 3, b + 3)] + [left + width]
        for a, b in zip(edges[::2], edges[1::2], strict=True):
            svg.rect(a, axis - radius + 2, b - a, thick * radius * 2, fill=fill, stroke=p.soft,
                     width=0.6)  # fmt: skip
        words = "insulating lining" if joint.wall == Wall.COLD else "abrasion lining"
        svg.text(left + 6, axis - radius + thick * radius * 2 + 14, words, size=10, fill=p.soft)
    if any(part.kind == HardwareKind.LINER for part in hardware):
        inner = axis - radius + (thick * radius * 2 if thick else 8) + 4
        for a, b, _ in segments:
            svg.line(a - 14, inner, b + 10, inner, width=1.6)
        a, b, _ = segments[0]
        svg.text((a + b) / 2, inner + 13, "liner", size=10, anchor="middle", fill=p.soft)
    y = axis - 0.34 * radius
    svg.arrow(left + 8, y, left + 62, y, stroke=p.accent, width=1.6, head=8)
    svg.text(left + 68, y + 4, "flow", size=11, fill=p.accent)


def _cover(
    svg: Svg,
    joint: Joint,
    segments: Sequence[tuple[float, float, Recorded]],
    axis: float,
    radius: float,
    crown: float,
) -> None:
    p = svg.palette
    for a, b, _ in segments:
        top = axis - radius - crown - 12
        if joint.insulation == Insulation.AS_DESIGNED:
            svg.rect(a - 10, top, b - a + 20, 8, fill=svg.hatch("wool", gap=4, turn=90), width=0.5)
        if joint.cover in {Cover.REMOVABLE, Cover.FIXED}:
            svg.rect(a - 12, top - 3, b - a + 24, 12, stroke=p.soft, width=0.8,
                     dash="" if joint.cover == Cover.FIXED else "6 3")  # fmt: skip


def _hardware(
    svg: Svg,
    joint: Joint,
    hardware: Sequence[Hardware],
    segments: Sequence[tuple[float, float, Recorded]],
    axis: float,
    radius: float,
    crown: float,
) -> None:
    p = svg.palette
    top = axis - radius - crown - 34
    start, stop = segments[0][0] - 26, segments[-1][1] + 26
    recorded = {part.kind for part in hardware}
    wanted = type_facts(joint.type).hardware
    dash = "" if wanted is None or wanted in recorded else "5 3"
    if joint.type in _TIED or joint.type == JointType.SINGLE_LIMIT:
        gap = 9.0 if joint.type == JointType.SINGLE_LIMIT else 0.0
        svg.line(start - 16, top, stop + 16, top, width=3, dash=dash)
        for x, side in ((start, -1), (stop, 1)):
            svg.rect(x - 3.5, top - 7, 7, axis - radius - top + 7, fill=p.tint, stroke=p.ink)
            edge = x + side * (3.5 + gap)
            svg.rect(edge - (8 if side < 0 else 0), top - 6, 8, 12, fill=p.ink)
            if gap:
                inner = x - side * (3.5 + gap)
                svg.rect(inner - (0 if side < 0 else 8), top - 6, 8, 12, fill=p.ink)
    if joint.type in _HINGED or joint.type == JointType.GIMBAL:
        for a, b, _ in segments:
            middle = (a + b) / 2
            svg.rect(a - 26, top + 10, b - a + 52, 14, fill=p.tint, stroke=p.ink, dash=dash)
            for x in (a - 22, b + 22):
                svg.line(x, top + 24, x, axis - radius, width=3)
            svg.circle(middle, top + 17, 8, fill=p.paper, width=1.8)
            if joint.type == JointType.GIMBAL:
                svg.line(middle - 8, top + 17, middle + 8, top + 17)
                svg.line(middle, top + 9, middle, top + 25)
                svg.path(f"M{n(a - 34)},{n(top + 17)} A{n((b - a) / 2 + 34)},26 0 0 1 "
                         f"{n(b + 34)},{n(top + 17)}", width=2.2, stroke=p.soft)  # fmt: skip
    if joint.type == JointType.UNIVERSAL_PANTOGRAPH and len(segments) > 1:
        a, b = segments[0][0] - 16, segments[-1][1] + 16
        m = (segments[0][1] + segments[-1][0]) / 2
        low = axis - radius
        for x1, y1, x2, y2 in ((a, top, m, low - 16), (a, low - 16, m, top), (m, low - 16, b, top),
                               (m, top, b, low - 16)):  # fmt: skip
            svg.line(x1, y1, x2, y2, width=2.2, dash=dash)
        for x, y in ((a, top), (a, low - 16), (b, top), (b, low - 16)):
            svg.circle(x, y, 3.2, fill=p.paper, width=1.4)
        svg.circle(m, (top + low - 16) / 2, 4.5, fill=p.paper, width=1.6)
    if joint.type == JointType.EXTERNAL:
        a, b, _ = segments[0]
        svg.rect(a - 40, top + 8, b - a + 80, axis - radius - top - 8, stroke=p.ink, width=2)
        svg.text((a + b) / 2, top + 3, "pressure stands outside the bellows", size=10,
                 anchor="middle", fill=p.soft)  # fmt: skip
    if joint.type in {JointType.BALANCED_ELBOW, JointType.BALANCED_INLINE}:
        words = {
            JointType.BALANCED_ELBOW: "flow leaves square to the axis between the bellows",
            JointType.BALANCED_INLINE: "balancing bellows of twice the flow area",
        }[joint.type]
        svg.text(WIDTH / 2, 36, words, size=10.5, anchor="middle", fill=p.soft,
                 style="italic")  # fmt: skip
    for part in hardware:
        if part.kind == HardwareKind.RING:
            x = segments[0][0] - 52
            svg.rect(x - 5, axis - radius - 26, 10, 25, fill=p.tint, stroke=p.warn, width=1.4)
            svg.text(x, axis - radius - 31, "ring on hot pipe", size=10, anchor="middle",
                     fill=p.warn)  # fmt: skip


def _said(value: float, known: bool, system: System) -> str:
    return shown(value, "length", system) if known else "not known"


def _dimensions(
    svg: Svg,
    joint: Joint,
    shapes: Sequence[Recorded],
    segments: Sequence[tuple[float, float, Recorded]],
    axis: float,
    radius: float,
    crown: float,
    left: float,
    width: float,
    scale: float,
    system: System,
) -> None:
    p = svg.palette
    first = shapes[0]
    x = left - 30
    svg.line(left - 36, axis - radius, left - 2, axis - radius, stroke=p.soft, width=0.6)
    svg.dimension(x, axis, x, axis - radius, f"Db ⌀ {_said(first.diameter, first.known, system)}")
    a, b, _ = segments[0]
    y = axis + 44
    for edge in (a, b):
        svg.line(edge, axis + 6, edge, y + 5, stroke=p.soft, width=0.6)
    words = (
        f"N q = {first.outline.convolutions} × {_said(first.outline.pitch, first.known, system)}"
        if first.known
        else "N q not known"
    )
    svg.dimension(a, y, b, y, words)
    last = segments[-1][1]
    wall = axis - radius
    form = first.outline
    toroidal = form.convolution == Convolution.TOROIDAL
    high = wall - (form.height / 2 if toroidal else form.height) * scale
    aside = last + (48 if joint.type in _TIED | _HINGED else 24)  # clear of the lugs
    svg.line(last + 2, high, aside + 6, high, stroke=p.soft, width=0.6)
    svg.dimension(aside, wall, aside, high, "")
    name, value = ("⌀ Dm", form.mean_diameter) if toroidal else ("w", form.height)
    svg.text(aside + 6, (wall + high) / 2 + 4, f"{name} {_said(value, first.known, system)}",
             size=11)  # fmt: skip
    if joint.face_to_face is not None:
        y2 = axis + 72
        svg.dimension(
            left, y2, left + width, y2, f"overall {_said(joint.face_to_face, True, system)}, cold"
        )
    if len(segments) > 1 and joint.spool is not None:
        svg.dimension(segments[0][0], axis + 18, segments[-1][1], axis + 18,
                      f"over both bellows {_said(joint.spool, True, system)}")  # fmt: skip
    plies = {1: "single ply", 2: "two plies"}.get(form.plies, f"{form.plies} plies")
    if not form.known("plies"):
        plies = "plies not known"
    if form.reinforced:
        plies += f", {form.ring}s" if form.known("ring_area") else ", rings of unknown size"
    elif toroidal:
        plies += ", toroidal"
    if first.known:
        svg.text((a + b) / 2, wall + 24, plies, size=11, anchor="middle", fill=p.accent)
    for place, (start, _, _) in enumerate(segments):
        svg.text(start - 6, wall - crown - 18, "ABC"[min(place, 2)], size=12,
                 weight="bold", anchor="end")  # fmt: skip
    port = any(shape.outline.plies >= 2 for shape in shapes)
    if port and first.known:
        svg.line(a - 4, wall - 2, a - 4, wall - 12, width=2, stroke=p.accent)


def _thrust(
    svg: Svg,
    axis: float,
    left: float,
    width: float,
    thrust: float | None,
    holder: str,
    system: System,
) -> None:
    p = svg.palette
    if thrust is None:
        svg.text(left + width / 2, axis - 10, "thrust not known", size=12, anchor="middle",
                 fill=p.warn)  # fmt: skip
        return
    y = axis - 4
    svg.arrow(
        left + width / 2 - 30, y, left + width / 2 - 130, y, stroke=p.warn, width=2.4, head=11
    )
    svg.arrow(
        left + width / 2 + 30, y, left + width / 2 + 130, y, stroke=p.warn, width=2.4, head=11
    )
    words = f"thrust {shown(thrust, 'force', system)} ({shown(thrust, 'weight_force', system)})"
    svg.text(left + width / 2, y - 10, words, size=13, anchor="middle", fill=p.warn, weight="bold")
    if holder:
        svg.text(left + width / 2, y - 26, f"held by {holder}", size=11, anchor="middle",
                 fill=p.warn)  # fmt: skip
