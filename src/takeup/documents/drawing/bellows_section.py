"""A bellows drawn from its numbers: half section, enlarged convolution, stress map, displaced."""

from __future__ import annotations

import math

import msgspec
import numpy as np

from takeup.bellows.model import BellowsCase, BellowsReport, Convolution, Movement, Side
from takeup.bellows.refusing import WORDS
from takeup.documents.drawing.deflection import bent
from takeup.documents.drawing.detail import detail, said
from takeup.documents.drawing.displaced import displaced_view
from takeup.documents.drawing.palette import PRINT, Palette
from takeup.documents.drawing.profile import Ring, Shape, opening, ring_outline, shape_of
from takeup.documents.drawing.stress_map import stress_map
from takeup.documents.drawing.svg import Svg, n
from takeup.documents.drawing.view import View, box, scale_bar, shifted, surfaces, write
from takeup.errors import MissingInput
from takeup.units import System, shown

TALL = 220.0
SIDE = 64.0
"""Greatest height of the half section and room at its sides [px]."""
LEAST_PITCH = 7.0
"""Below this many pixels a pitch, the middle of a long bellows is left out."""
_SHAPING = frozenset({
    "inside_diameter", "mean_diameter", "height", "pitch", "convolutions", "plies",
    "ply_thickness",
})  # fmt: skip


def bellows_section(
    case: BellowsCase,
    *,
    system: System,
    report: BellowsReport | None = None,
    movement: Movement | None = None,
    found: BellowsCase | None = None,
    exaggeration: float | None = None,
    palette: Palette = PRINT,
    width: float = 760.0,
) -> str:
    """Draw one bellows as SVG, to scale from its numbers, ``width`` pixels wide (at least 560).

    ``report`` adds the use of each limit where the stress sits; ``movement`` the displaced
    bellows in its worst plane (``exaggeration`` times, chosen and stated where not given);
    ``found`` the geometry as measured, over the nominal one.  A dimension that is not known is
    drawn dashed from usual proportions and named.

    Raises :class:`~takeup.errors.Contradiction` where the dimensions make no convolution.
    """
    shape = shape_of(case)
    measured = None if found is None else shape_of(found)
    unknown = tuple(WORDS[name] for name in sorted(shape.assumed))
    title = f"{case.name or 'Bellows'}: {case.convolution.value}, section"
    desc = [
        f"Half section of {shape.convolutions} convolutions over the centre line, and one "
        "convolution enlarged."
    ]
    if unknown:
        desc.append(f"Not known and drawn from usual proportions: {', '.join(unknown)}.")
    if report is not None:
        desc.append("Use of each limit where the stress sits.")
    if movement is not None:
        desc.append(f"Displaced by {movement.name}.")
    svg = Svg(width, 100.0, title, " ".join(desc), palette)
    y = write(svg, 8, 20, title, width - 16, size=14, weight="bold")
    y = _half(svg, shape, case, system, y + 4, unknown)
    y = detail(svg, shape, case, measured, system, y + 20, width)
    if report is not None:
        y = stress_map(svg, shape, report, y + 18, width)
    if movement is not None:
        y = _displaced(svg, shape, case, movement, system, y + 18, exaggeration)
    svg.height = math.ceil(y + 6)
    return svg.render()


def _displaced(
    svg: Svg,
    shape: Shape,
    case: BellowsCase,
    movement: Movement,
    system: System,
    y: float,
    exaggeration: float | None,
) -> float:
    """The displaced bellows, or which input it lacks: a guessed shape has no movement."""
    lacking = [WORDS[name] for name in sorted(shape.assumed) if name in _SHAPING]
    if not lacking:
        try:
            move = bent(case, shape, movement)
        except MissingInput as fault:
            lacking = list(fault.names)
        else:
            return displaced_view(svg, shape, move, movement, system, y, svg.width, exaggeration)
    words = f"Displaced by {movement.name}: not evaluated; unknown: {', '.join(lacking)}"
    return write(svg, 8, y, words, svg.width - 16, fill=svg.palette.warn)


class _Cut(msgspec.Struct, frozen=True, kw_only=True):
    """Convolutions drawn at each end of a long bellows, and the gap between them [m]."""

    each: int
    gap: float


def _half(
    svg: Svg,
    shape: Shape,
    case: BellowsCase,
    system: System,
    y0: float,
    unknown: tuple[str, ...],
) -> float:
    p = svg.palette
    top = shape.root + shape.top + shape.wall / 2
    ring = ring_outline(shape) if shape.reinforced else None
    if ring is not None:
        top = max(top, shape.root + float(ring[:, 1].max()))
    lt = shape.tangent_length
    ends = 2 * max(lt, 0.3 * shape.pitch)
    room = svg.width - 2 * SIDE - 60
    scale = min(room / (shape.length + ends), TALL / top)
    cut = None
    if shape.pitch * scale < LEAST_PITCH and shape.convolutions > 8:
        scale = min(LEAST_PITCH / shape.pitch, TALL / top)
        each = max(2, int((room / scale - ends) / shape.pitch - 2) // 2)
        if 2 * each < shape.convolutions - 1:
            cut = _Cut(each=each, gap=2 * shape.pitch)
        else:
            scale = min(room / (shape.length + ends), TALL / top)
    drawn = shape.length if cut is None else 2 * cut.each * shape.pitch + cut.gap
    beside = (drawn + ends) * scale < svg.width - 2 * SIDE - 250
    left = SIDE + 24 if beside else (svg.width - (drawn + ends) * scale) / 2
    axis = y0 + 24 + top * scale
    view = View(svg, left + ends / 2 * scale, axis, scale)
    _walls(view, shape, drawn, cut)
    edge = view.x(drawn + ends / 2)
    svg.line(left - 24, axis, edge + 24, axis, stroke=p.soft, width=0.8, dash="14 4 2 4")
    svg.text(edge + 28, axis + 4, "axis", size=10.5, fill=p.soft)
    _pressure(view, shape, case, drawn)
    words = said(shape, "inside_diameter", shape.inside_diameter, "length", system)
    inside, crest = view.y(shape.inside_diameter / 2), view.y(shape.outside_diameter / 2)
    svg.line(left - 22, inside, left + 2, inside, stroke=p.soft, width=0.6)
    _from_axis(svg, left - 18, axis, inside, ("⌀ Db", words), -1)
    last = view.x(drawn - shape.pitch / 2)
    svg.line(last + 2, crest, edge + 22, crest, stroke=p.soft, width=0.6)
    toroidal = shape.convolution == Convolution.TOROIDAL
    told = shape.known(
        "inside_diameter", "mean_diameter" if toroidal else "height", "plies", "ply_thickness"
    )
    words = shown(shape.outside_diameter, "length", system) if told else "not known"
    _from_axis(svg, edge + 18, axis, crest, ("⌀ outside", words), 1)
    low = _lengths(view, shape, system, drawn, axis)
    scale_bar(svg, left, low + 24, scale, system, 130.0)
    side = edge + 56 if beside else 8.0
    notes_y = y0 + 30 if beside else low + 50
    below = _notes(svg, shape, case, system, side, notes_y, svg.width - side - 8, unknown, cut)
    return max(low + 34, below)


def _from_axis(
    svg: Svg, x: float, axis: float, tip: float, words: tuple[str, str], side: int
) -> None:
    """A diameter shown from the axis up; its words along the arrow, or beside a short one."""
    svg.arrow(x, axis, x, tip, stroke=svg.palette.soft, width=0.7, head=5)
    middle = (axis + tip) / 2
    if axis - tip > 6.0 * len(" ".join(words)):
        svg.text(x + (-5 if side < 0 else 14), middle, " ".join(words), size=11, anchor="middle",
                 turn=-90)  # fmt: skip
        return
    for place, line in enumerate(words):
        svg.text(x + 6 * side, axis - 21 + 13 * place, line, size=11,
                 anchor="end" if side < 0 else "start")  # fmt: skip


def _walls(view: View, shape: Shape, drawn: float, cut: _Cut | None) -> None:
    svg, p = view.svg, view.svg.palette
    known = shape.known(*_SHAPING, "torus_radius")
    runs = [(0, shape.convolutions, 0.0)]
    if cut is not None:
        runs = [
            (0, cut.each, 0.0),
            (0, cut.each, cut.each * shape.pitch + cut.gap),
        ]
    for first, last, along in runs:
        outer, inner = (
            shifted(surface, along, shape.root) for surface in surfaces(shape, first, last)
        )
        view.wall(outer, inner, known=known)
        if shape.reinforced:
            ring = shifted(ring_outline(shape), along, shape.root)
            after = last if cut is None else last + (1 if along == 0.0 else 0)
            for at in range(1 if along == 0.0 else 0, after):
                view.area(shifted(ring, at * shape.pitch, 0.0), fill=p.tint, width=0.8,
                          dash="" if shape.known("ring_area") else "3 2")  # fmt: skip
    if cut is not None:
        for part in (0.3, 0.7):
            _break(view, shape, cut.each * shape.pitch + part * cut.gap)
    half = shape.plies * shape.ply_thickness / 2
    lt = shape.tangent_length
    for start, stop in ((-lt, 0.0), (drawn, drawn + lt)):
        if lt <= 0.0:
            continue
        line = np.array([[start, shape.root], [stop, shape.root]])
        view.wall(
            shifted(line, 0.0, half), shifted(line, 0.0, -half),
            known=shape.known("inside_diameter", "tangent_length"),
        )  # fmt: skip
    lc, tc = min(shape.collar_length, lt or shape.collar_length), shape.collar_thickness
    if lc > 0.0 and tc > 0.0:
        dash = "" if shape.known("collar_length", "collar_thickness") else "3 2"
        for begin in (-lt, drawn + lt - lc):
            view.area(
                box(begin, shape.root + half, begin + lc, shape.root + half + tc),
                fill=svg.hatch("collars", gap=3), dash=dash,
            )  # fmt: skip


def _break(view: View, shape: Shape, along: float) -> None:
    x, a, b = view.x(along), view.y(shape.root + 1.3 * shape.top), view.y(0.0) + 8
    m = (a + b) / 2
    d = (
        f"M{n(x)},{n(a)} L{n(x)},{n(m - 8)} L{n(x + 5)},{n(m - 3)} L{n(x - 5)},{n(m + 3)} "
        f"L{n(x)},{n(m + 8)} L{n(x)},{n(b)}"
    )
    view.svg.path(d, stroke=view.svg.palette.soft)


def _pressure(view: View, shape: Shape, case: BellowsCase, drawn: float) -> None:
    """Three small arrows on the side on which pressure stands."""
    svg, p = view.svg, view.svg.palette
    inside = case.pressurised == Side.INSIDE
    wall = view.y(shape.inside_diameter / 2)
    middle = view.x(drawn / 2)
    if inside and view.y(0.0) - wall > 60:
        for step in (-22, 0, 22):
            svg.arrow(middle + step, wall + 30, middle + step, wall + 10, stroke=p.accent, head=5)
        svg.text(middle, wall + 43, "pressure inside", size=10.5, anchor="middle", fill=p.accent)
    elif not inside:
        top = view.y(shape.outside_diameter / 2)
        for step in (-22, 0, 22):
            svg.arrow(middle + step, top - 20, middle + step, top - 4, stroke=p.accent, head=5)
        svg.text(middle + 32, top - 12, "pressure outside", size=10.5, fill=p.accent)


def _lengths(view: View, shape: Shape, system: System, drawn: float, axis: float) -> float:
    svg, p = view.svg, view.svg.palette
    y = axis + 40
    for along in (0.0, drawn):
        svg.line(view.x(along), axis + 5, view.x(along), y + 5, stroke=p.soft, width=0.6)
    if shape.known("pitch", "convolutions"):
        words = (
            f"N q = {shape.convolutions} × {shown(shape.pitch, 'length', system)} = "
            f"{shown(shape.length, 'length', system)}"
        )
    else:
        words = "N q not known"
    svg.arrow(view.x(0.0), y, view.x(drawn), y, stroke=p.soft, width=0.7, head=5, both=True)
    middle = max((view.x(0.0) + view.x(drawn)) / 2, 8 + 2.7 * len(words))
    svg.text(middle, y + 14, words, size=11, anchor="middle")
    return y + 14


def _notes(
    svg: Svg,
    shape: Shape,
    case: BellowsCase,
    system: System,
    x: float,
    y: float,
    width: float,
    unknown: tuple[str, ...],
    cut: _Cut | None,
) -> float:
    p = svg.palette
    metal = case.material if case.material and "material" not in case.missing else "alloy not known"
    lines = [f"{metal}; {case.treatment.value if case.treatment else 'treatment not known'}"]
    lines.append(f"{case.assembly.value}; pressure {case.pressurised.value}")
    if case.torus_radius is None and shape.convolution != Convolution.TOROIDAL:
        lines.append("Torus radius not given: taken as q/4, parallel side walls.")
    if shape.reinforced:
        form = "lies on the root" if shape.ring == Ring.ROUND else "does not fit the root as a bar"
        lines.append(
            f"Form of the ring not given: drawn as {shape.ring.value}, a bar of its area {form}. "
            "Rings in the roots between convolutions; what holds the end roots is not known."
        )
    if shape.convolution == Convolution.TOROIDAL and not opening(shape)[1]:
        lines.append("Opening and neck of the torus not given: drawn from usual proportions.")
    if shape.fastener_area > 0.0:
        lines.append("Place of the ring fasteners not given: not drawn.")
    if cut is not None:
        lines.append(
            f"Long bellows cut in the middle: {2 * cut.each} of {shape.convolutions} convolutions "
            "drawn, everything drawn to scale."
        )
    if shape.tangent_length <= 0.0:
        lines.append("No end tangent given.")
    for words in lines:
        y = write(svg, x, y, words, width, fill=p.soft) + 3
    if unknown:
        words = f"Not known, dashed, from usual proportions: {', '.join(unknown)}."
        y = write(svg, x, y + 3, words, width, fill=p.warn, style="italic")
    return y
