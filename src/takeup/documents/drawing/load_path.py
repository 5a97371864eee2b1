"""Where the load goes: the path through the hardware, from end A on top to end B below.

Boxes are parts, arrows are as wide as the force they hand on.  What is out of the path is
crossed, its links are gaps with a cross; use of capacity is a number and a bar, hatched above
100 %; the governing part has a thick frame and says so.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import msgspec

from takeup.bellows.hardware.explain import explain
from takeup.bellows.hardware.results import (
    LOST,
    Holder,
    LoadPath,
    Part,
    PartKind,
    PartState,
    Transfer,
    governing,
)
from takeup.checks import Outcome
from takeup.documents.drawing.palette import PRINT, Palette
from takeup.documents.drawing.svg import Svg, n
from takeup.units import System, shown

WIDTH, MARGIN, GAP = 760.0, 14.0, 34.0
TALL, FLAT = 56.0, 30.0
SIDE = 172.0
"""Room at the right for main anchors."""
MOST = 6
"""Rods drawn one by one; more are drawn by groups of equal ones."""
CAUTION = (
    "Never loosen a nut, pin or weld of hardware under pressure: the stored thrust is let go at once.",
    "A calculation aid: a licensed engineer who knows the joint decides.",
)
_SHARED = frozenset(
    {PartKind.LOAD, PartKind.REACTION, PartKind.PIPE, PartKind.RING, PartKind.SPOOL}
)
_WHAT = {
    "Largest bending moment out of plane": "bending",
    "Largest torque": "torque",
    "normal force of one bar": "bar",
    "bending moment of one bar": "bending",
    "bending moment at the pipe": "bending",
    "bending moment in its plane": "bending",
    "Pressure thrust": "thrust",
    "along the pipe": "along",
    "in another seating": "else up to",
}


class Box(msgspec.Struct, kw_only=True):
    """A drawn part and where."""

    part: Part
    x: float
    y: float
    w: float
    h: float

    @property
    def middle(self) -> float:
        """Its middle across."""
        return self.x + self.w / 2.0


def load_path(path: LoadPath, system: System = System.METRIC, palette: Palette = PRINT) -> str:
    """Draw the load path of one condition as SVG, 760 wide."""
    parts, transfers = _grouped(path)
    told = explain(path, system)
    held = {
        Holder.HARDWARE: "held by the hardware",
        Holder.ANCHORS: "held by the main anchors, not by this hardware",
        Holder.NOTHING: "held by NOTHING",
    }[path.holder]
    head = f"{path.name}: load path at {path.condition}" if path.name else (
        f"Load path at {path.condition}")  # fmt: skip
    lost = [line for words in path.lost for line in _wrap(words, 86)]
    top = 58.0 + (len(lost) * 16.0 + 18.0 if lost else 0.0)
    boxes, bottom = _place(path, parts, top)
    svg = Svg(WIDTH, bottom + 74.0, head, " ".join(told), palette)
    svg.rect(0, 0, WIDTH, bottom + 74.0, fill=palette.paper)
    svg.text(MARGIN, 24, head, size=16, weight="bold")
    svg.text(
        MARGIN,
        44,
        f"{path.type.value}; pressure thrust {shown(path.thrust, 'force', system)}, {held}",
        size=13,
        fill=palette.warn if path.holder == Holder.NOTHING else palette.ink,
    )
    if lost:
        svg.rect(MARGIN, 54, WIDTH - 2 * MARGIN, len(lost) * 16.0 + 12.0, stroke=palette.warn,
                 width=2.6)  # fmt: skip
        for number, line in enumerate(lost):
            svg.text(MARGIN + 10, 72 + 16 * number, line, size=13, weight="bold",
                     fill=palette.warn)  # fmt: skip
    force = max([abs(t.tension) for t in transfers] + [t.across for t in transfers] + [1e-9])
    for transfer in transfers:
        _link(svg, boxes, transfer, force, system)
    found = governing(path)
    for box in boxes.values():
        _box(svg, box, system, governs=found is not None and _same(box.part, found[0], parts, path))
    _legend(svg, bottom + 18.0)
    return svg.render()


def _same(part: Part, chief: Part, parts: Sequence[Part], path: LoadPath) -> bool:
    if part.id == chief.id:
        return True
    # a drawn group of equal rods stands for the one that governs
    return all(p.id != chief.id for p in parts) and part.kind == chief.kind and (
        part.ratio == chief.ratio)  # fmt: skip


# -- grouping and places ------------------------------------------------------------------


def _grouped(path: LoadPath) -> tuple[list[Part], list[Transfer]]:
    """All parts; of many rods, one for each group of equally loaded, equally sound ones."""
    rods = [part for part in path.parts if part.kind == PartKind.ROD]
    if len(rods) <= MOST:
        return list(path.parts), list(path.transfers)
    strands = []
    for rod in rods:
        number = rod.id.split()[-1]
        strands.append([path.part(id) or rod for id in (f"lug A {number}", rod.id,
                                                        f"lug B {number}")])  # fmt: skip
    groups: dict[object, list[list[Part]]] = {}
    for strand in strands:
        key = tuple((p.state, p.why, tuple(round(q.value or 0.0) for q in p.loads), round(p.ratio or 0.0, 3))
                    for p in strand)  # fmt: skip
        groups.setdefault(key, []).append(strand)
    shown_ = sorted(groups.values(), key=lambda g: (
        g[0][1].state not in LOST, -(g[0][1].loads[0].value or 0.0) if g[0][1].loads else 0.0
    ))  # fmt: skip
    rest = [strand for group in shown_[MOST - 1 :] for strand in group]
    if len(shown_) > MOST:
        shown_ = [*shown_[: MOST - 1], rest]
    kept: list[Part] = [p for p in path.parts if p.kind not in {PartKind.ROD, PartKind.LUG}]
    ids: set[str] = {p.id for p in kept}
    for place, group in enumerate(shown_):
        for part in group[0]:
            row = place - (len(shown_) - 1) / 2.0
            name = part.name if len(group) == 1 else _names([s[group[0].index(part)]
                                                             for s in group])  # fmt: skip
            kept.append(msgspec.structs.replace(part, row=row, name=name))
            ids.add(part.id)
    return kept, [t for t in path.transfers if t.source in ids and t.target in ids]


def _names(parts: Sequence[Part]) -> str:
    stem = parts[0].name.rsplit(" ", 1)[0]
    return f"{len(parts)} × {stem[0].lower()}{stem[1:]}"


def _place(path: LoadPath, parts: Sequence[Part], top: float) -> tuple[dict[str, Box], float]:
    """Boxes by part id, and where the lowest ends."""
    spool = path.part("spool")
    pair = spool is not None and any(part.id.startswith(("hinge 2", "gimbal 2")) for part in parts)
    if not pair:
        anchored = any(part.kind == PartKind.ANCHOR for part in parts)
        right = WIDTH - MARGIN - (SIDE if anchored else 0.0)
        boxes, bottom = _panel([p for p in parts if p.kind != PartKind.ANCHOR], MARGIN, right, top)
        for end in ("A", "B"):
            anchor, pipe = path.part(f"anchor {end}"), boxes.get(f"pipe {end}")
            if anchor is not None and pipe is not None:
                boxes[anchor.id] = Box(
                    part=anchor, x=right + 30, y=pipe.y - 13, w=SIDE - 30, h=TALL
                )
                bottom = max(bottom, pipe.y - 13 + TALL)
        return boxes, bottom
    assert spool is not None
    half = (WIDTH - 2 * MARGIN - 36.0) / 2.0
    first = [p for p in parts if p.column <= spool.column and not p.id.startswith(
        ("hinge 2", "gimbal 2"))]  # fmt: skip
    second = [p for p in parts if p not in first]
    first = [msgspec.structs.replace(p, column=p.column + 1, row=0.0) if p.id == "spool load" else p
             for p in first]  # fmt: skip
    left, low = _panel(first, MARGIN, MARGIN + half, top)
    right_, deep = _panel(second, WIDTH - MARGIN - half, WIDTH - MARGIN, top + TALL)
    return left | right_, max(low, deep)


def _panel(
    parts: Sequence[Part], left: float, right: float, top: float
) -> tuple[dict[str, Box], float]:
    rows = sorted({p.row for p in parts if p.kind not in _SHARED or _loose(p, parts)})
    low, high = (rows[0], rows[-1]) if rows else (0.0, 0.0)
    step = 1.0 if len(rows) < 2 else min(b - a for a, b in pairwise(rows))
    slots = round((high - low) / step) + 1 if rows else 1
    pitch = (right - left) / slots
    wide = min(pitch - 12.0, 230.0)
    centre = (left + right) / 2.0
    span = min(right - left, (slots - 1) * pitch + wide)
    boxes: dict[str, Box] = {}
    y = top
    for column in sorted({p.column for p in parts}):
        here = [p for p in parts if p.column == column]
        tall = TALL if any(p.kind not in _SHARED or p.kind == PartKind.RING for p in here) else FLAT
        for part in here:
            shared = part.kind in _SHARED and not _loose(part, parts)
            w = span if shared else wide
            x = centre - w / 2.0
            if not shared:
                x += (part.row - (low + high) / 2.0) / step * pitch
            boxes[part.id] = Box(part=part, x=x, y=y, w=w, h=tall)
        y += tall + GAP
    return boxes, y - GAP


def _loose(part: Part, parts: Sequence[Part]) -> bool:
    """Whether spool and its load stand among bars and pins rather than across the panel."""
    return part.id in {"spool", "spool load"} and any(p.kind == PartKind.LINK for p in parts)


# -- drawing ------------------------------------------------------------------------------


def _link(
    svg: Svg, boxes: dict[str, Box], transfer: Transfer, largest: float, system: System
) -> None:
    source, target = boxes.get(transfer.source), boxes.get(transfer.target)
    if source is None or target is None:
        return
    size = max(abs(transfer.tension), transfer.across)
    if not transfer.broken and size <= 1e-9 * largest and transfer.moment != (0.0, 0.0, 0.0):
        return  # moments of the bellows pass from pipe to pipe, not through the hardware
    points = _route(source, target)
    width = 1.4 + 10.6 * size / largest
    if transfer.broken:
        _gap(svg, points)
        return
    if size <= 1e-9 * largest:
        svg.polyline(points, stroke=svg.palette.soft, width=1.0, dash="2 4")
        return
    _arrow(svg, points, width)
    (x1, y1), (_, y2) = points[-2:]
    bound = min([b.x for b in boxes.values() if b.part.kind == PartKind.ANCHOR] or [WIDTH]) - 6.0
    lines = []
    if abs(transfer.tension) >= 0.02 * transfer.across:
        push = "push " if transfer.tension < 0.0 else ""
        lines.append(push + shown(abs(transfer.tension), "force", system))
    if transfer.across > 0.02 * abs(transfer.tension):
        lines.append(f"↔ {shown(transfer.across, 'force', system)}")
    if y1 == y2:
        return  # no room beside a short level arrow; the boxes at its ends tell the force
    # at the right of the arrow, or at its left where the sheet or an anchor is in the way
    long = max((len(line) for line in lines), default=0)
    left = x1 + width / 2 + 6 + 6.4 * long > bound
    x, anchor = (x1 - width / 2 - 6, "end") if left else (x1 + width / 2 + 6, "start")
    for number, line in enumerate(lines):
        y = (y1 + y2) / 2 + 3 + 13 * number - 6.5 * (len(lines) - 1)
        svg.text(x, y, line, size=11.5, anchor=anchor)


def _route(source: Box, target: Box) -> list[tuple[float, float]]:
    """Straight down where one is above the other, level to an anchor, else round the gutter."""
    if target.part.kind == PartKind.ANCHOR:
        y = source.y + source.h / 2.0
        return [(source.x + source.w, y), (target.x, y)]
    if source.part.kind == PartKind.ANCHOR:
        y = target.y + target.h / 2.0
        return [(source.x, y), (target.x + target.w, y)]
    x = target.middle if target.w <= source.w else source.middle
    if abs(source.y - target.y) < 1.0:
        y = source.y + source.h / 2.0
        if source.x < target.x:
            return [(source.x + source.w, y), (target.x, y)]
        return [(source.x, y), (target.x + target.w, y)]
    inside = source.x <= x <= source.x + source.w and target.x <= x <= target.x + target.w
    if source.y < target.y and inside:
        return [(x, source.y + source.h), (x, target.y)]
    if source.part.id == "spool load":
        return [(source.middle, source.y), (source.middle, target.y + target.h)]
    if source.part.kind == PartKind.SPOOL:
        gutter, level = WIDTH / 2.0, target.y - GAP - 8.0
        side = source.x + source.w
        y = source.y + source.h / 2.0
        return [(side, y), (gutter, y), (gutter, level), (target.middle, level),
                (target.middle, target.y)]  # fmt: skip
    return [(source.middle, source.y + source.h), (target.middle, target.y)]


def _arrow(svg: Svg, points: Sequence[tuple[float, float]], width: float) -> None:
    colour = svg.palette.accent
    (x1, y1), (x2, y2) = points[-2], points[-1]
    length = math.hypot(x2 - x1, y2 - y1) or 1.0
    head = min(6.0 + 0.6 * width, 0.6 * length)
    ux, uy = (x2 - x1) / length, (y2 - y1) / length
    neck = (x2 - ux * head, y2 - uy * head)
    svg.polyline([*points[:-1], neck], stroke=colour, width=width)
    side = width / 2.0 + 4.0
    svg.path(
        f"M{n(x2)},{n(y2)} L{n(neck[0] - uy * side)},{n(neck[1] + ux * side)} "
        f"L{n(neck[0] + uy * side)},{n(neck[1] - ux * side)} Z",
        fill=colour,
        stroke=colour,
        width=0.4,
    )


def _gap(svg: Svg, points: Sequence[tuple[float, float]]) -> None:
    """Two stubs and a cross between them."""
    warn = svg.palette.warn
    (x1, y1), (x2, y2) = points[-2], points[-1]
    length = math.hypot(x2 - x1, y2 - y1) or 1.0
    ux, uy = (x2 - x1) / length, (y2 - y1) / length
    x, y = (x1 + x2) / 2.0, (y1 + y2) / 2.0
    if len(points) > 2:
        svg.polyline(points[:-1], stroke=warn, width=1.2, dash="5 4")
    svg.line(x1, y1, x - ux * 10, y - uy * 10, stroke=warn, width=2.0)
    svg.line(x + ux * 10, y + uy * 10, x2, y2, stroke=warn, width=2.0)
    _cross(svg, x, y, 6.0, 2.4)


def _cross(svg: Svg, x: float, y: float, s: float, width: float) -> None:
    svg.line(x - s, y - s, x + s, y + s, stroke=svg.palette.warn, width=width)
    svg.line(x - s, y + s, x + s, y - s, stroke=svg.palette.warn, width=width)


def _box(svg: Svg, box: Box, system: System, *, governs: bool) -> None:
    p, part = svg.palette, box.part
    lost = part.state in LOST
    idle = part.state == PartState.IDLE
    fill = p.tint if part.kind in {PartKind.PIPE, PartKind.SPOOL} else p.paper
    stroke = p.warn if lost else p.soft if idle else p.ink
    svg.rect(box.x, box.y, box.w, box.h, fill=fill, stroke=stroke,
             width=3.2 if governs else 1.2, dash="6 4" if lost or idle else "",
             title=_told(part, system))  # fmt: skip
    if part.state == PartState.WEAKENED:
        svg.rect(box.x + 4, box.y + 4, box.w - 8, box.h - 8, stroke=p.warn, width=1.0, dash="3 3")
    if part.kind in {PartKind.LOAD, PartKind.REACTION, PartKind.PIPE, PartKind.SPOOL} and (
        box.h <= FLAT
    ):
        svg.text(box.middle, box.y + 20, _line(part, system), size=13, anchor="middle")
        return
    room = int((box.w - 16.0) / 6.3)
    ink = p.soft if idle else p.ink
    name = f"{part.name}, weak" if part.state == PartState.WEAKENED else part.name
    size = 13.0 if 8.4 * len(name) < box.w - 16 else 11.5
    svg.text(box.x + 9, box.y + 17, name, size=size, weight="bold",
             fill=p.warn if lost else ink)  # fmt: skip
    if lost or (idle and part.why and not part.checks):
        for number, line in enumerate(_fit(part.why, room - 3 if lost else room)):
            svg.text(box.x + 9, box.y + 33 + 14 * number, line, size=11.5,
                     fill=p.warn if lost else p.soft)  # fmt: skip
        if lost:
            _cross(svg, box.x + box.w - 16, box.y + 15, 8.0, 2.6)
        return
    if part.kind == PartKind.LOAD:
        for number, load in enumerate([q for q in part.loads if q.value][:2]):
            svg.text(box.x + 9, box.y + 33 + 14 * number,
                     _load(load.name, load.value, load.kind, system), size=11.5)  # fmt: skip
    elif part.kind != PartKind.SPOOL:
        svg.text(box.x + 9, box.y + 33, _loads(part, system, room), size=11.5, fill=ink)
    if part.kind not in {PartKind.LOAD, PartKind.REACTION, PartKind.ANCHOR, PartKind.PIPE,
                         PartKind.SPOOL}:  # fmt: skip
        _use(svg, box)
    if governs:
        # at the left, clear of the arrow in the middle and the words at its right
        x = box.x - (1.6 if box.w >= 118.0 else 9.0)
        wide = 68.0 if box.w >= 148.0 else 58.0
        svg.rect(x, box.y - 13, wide, 14, fill=p.ink)
        svg.text(x + wide / 2, box.y - 2.5, "GOVERNS", size=11 if wide > 60 else 9.5,
                 anchor="middle", fill=p.paper, weight="bold")  # fmt: skip


def _use(svg: Svg, box: Box) -> None:
    """Use of capacity: a bar that ends at 100 %, hatched beyond, and the number."""
    p, part = svg.palette, box.part
    still = len([c for c in part.open if not c.id.startswith("lugs.shell")])
    ratio = part.ratio
    over = any(check.outcome == Outcome.NOT_MET for check in part.checks)
    words = []
    if ratio is not None:
        words.append(f"{ratio:.0%}" if math.isfinite(ratio) else "no section left")
    words += ["NOT MET"] if over else []
    words += [f"{still} open"] if still and not over else []
    if not words:
        return
    text = " ".join(words)
    y = box.y + box.h - 14.0
    svg.text(box.x + box.w - 9, y + 8, text, size=11.5, anchor="end",
             weight="bold" if over else "", fill=p.warn if over else p.ink)  # fmt: skip
    track = box.w - 18.0 - 8.0 - (8.6 if over else 7.4) * len(text)
    if ratio is None or track < 16.0:
        return
    svg.rect(box.x + 9, y, track, 8, fill=p.paper, stroke=p.soft, width=0.8)
    fill = svg.hatch("over", gap=4, stroke=p.warn) if over else p.ink
    svg.rect(box.x + 9, y, track * min(1.0, ratio), 8, fill=fill,
             stroke=p.warn if over else "none", width=1.2)  # fmt: skip


def _line(part: Part, system: System) -> str:
    loads = ", ".join(_load(q.name, q.value, q.kind, system) for q in part.loads if q.value)
    return f"{part.name}: {loads}" if loads else part.name


def _load(name: str, value: float | None, kind: str, system: System) -> str:
    return f"{_WHAT.get(name, name)} {shown(value, kind, system)}"


def _loads(part: Part, system: System, room: int) -> str:
    """As many of its loads as fit on the line, the first always."""
    text = ""
    for load in part.loads:
        if not load.value:
            continue
        more = _load(load.name, load.value, load.kind, system)
        joined = f"{text}, {more}" if text else more
        if text and len(joined) > room:
            break
        text = joined
    if text:
        return text
    return "no load"


def _told(part: Part, system: System) -> str:
    """What a part says when pointed at: state, loads, every check."""
    words = [f"{part.name}: {part.state.value}"]
    words += [part.why] if part.why else []
    words += [_load(q.name, q.value, q.kind, system) for q in part.loads]
    for check in part.checks:
        use = f" {check.ratio:.0%}" if check.ratio is not None else ""
        words.append(f"{check.name}: {check.outcome.value}{use}")
    return "; ".join(words)


def _legend(svg: Svg, y: float) -> None:
    p = svg.palette
    x = MARGIN
    _arrow(svg, [(x, y), (x + 26, y)], 6.0)
    svg.text(x + 32, y + 4, "width: force", size=11, fill=p.soft)
    _cross(svg, x + 122, y, 5.0, 2.2)
    svg.text(x + 132, y + 4, "out of the path", size=11, fill=p.soft)
    svg.rect(x + 234, y - 5, 26, 9, fill=svg.hatch("over", gap=4, stroke=p.warn), stroke=p.warn)
    svg.text(x + 266, y + 4, "over capacity", size=11, fill=p.soft)
    svg.rect(x + 356, y - 6, 22, 11, stroke=p.ink, width=3.0)
    svg.text(x + 384, y + 4, "governs", size=11, fill=p.soft)
    svg.text(x + 446, y + 4, "↔ across the pipe", size=11, fill=p.soft)
    svg.text(x + 560, y + 4, "open: something unknown", size=11, fill=p.soft)
    for number, line in enumerate(CAUTION):
        svg.text(MARGIN, y + 28 + 15 * number, line, size=12, fill=p.warn, weight="bold")


def _fit(words: str, room: int) -> list[str]:
    """At most two lines, the rest cut with an ellipsis (it is in the tip and in the text)."""
    lines = _wrap(words, room)
    return lines if len(lines) < 3 else [lines[0], f"{lines[1][: room - 1]}…"]


def _wrap(words: str, room: int) -> list[str]:
    """Lines of at most ``room`` characters, broken at spaces."""
    lines: list[str] = []
    for word in words.split(" "):
        if lines and len(lines[-1]) + 1 + len(word) <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines
