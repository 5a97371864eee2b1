"""One line diagram per joint type: what moves, what cannot, and where the thrust goes."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import msgspec

from takeup.assess.joint_types import Degree, TypeFacts, type_facts
from takeup.bellows.model import Assembly, Movement
from takeup.documents.drawing.assembly_parts import DASH, ROD, Diagram
from takeup.documents.drawing.palette import PRINT, Palette
from takeup.documents.drawing.svg import Svg, n
from takeup.documents.drawing.view import write
from takeup.register.entities import JointType
from takeup.units import System, shown

WIDTH = 360.0
"""Drawn at this width, so that words keep their size on a small screen [px]."""
AXIS, BELOW = 100.0, 186.0

TYPE_OF = {
    Assembly.SINGLE: JointType.SINGLE,
    Assembly.TIED: JointType.SINGLE_TIED,
    Assembly.HINGED: JointType.HINGED,
    Assembly.GIMBAL: JointType.GIMBAL,
    Assembly.UNIVERSAL: JointType.UNIVERSAL,
    Assembly.PANTOGRAPH: JointType.UNIVERSAL_PANTOGRAPH,
    Assembly.PAIR: JointType.HINGED_PAIR,
    Assembly.BALANCED_ELBOW: JointType.BALANCED_ELBOW,
    Assembly.BALANCED_INLINE: JointType.BALANCED_INLINE,
}
"""The joint type whose diagram shows an assembly of the bellows engine."""

_WORDS = {
    Degree.YES: "yes",
    Degree.SMALL: "a little",
    Degree.ONE_PLANE: "in one plane",
    Degree.TWO_RODS: "with two rods only",
    Degree.NO: "no",
    None: "see its drawing",
}


def assembly_diagram(
    of: JointType | Assembly,
    *,
    bellows: int | None = None,
    movement: Movement | None = None,
    moves: str = "",
    holder: str = "",
    system: System = System.METRIC,
    palette: Palette = PRINT,
) -> str:
    """Draw the line diagram of a joint type as SVG, 360 pixels wide.

    ``bellows`` is the number on record, said where it is not that of the type; ``movement``
    puts its figures under the arrows and marks what the type cannot take; ``moves`` says in
    words what moves, ``holder`` who holds the thrust where the joint at hand differs.  Facts
    come from :mod:`takeup.assess.joint_types`; the drawing of the joint at hand rules.
    """
    kind = TYPE_OF[of] if isinstance(of, Assembly) else JointType(of)
    facts = type_facts(kind)
    held = holder or _holder(facts)
    desc = f"Takes: {facts.takes}. Cannot take: {facts.cannot}. Pressure thrust is held by {held}."
    svg = Svg(WIDTH, 100.0, f"{kind.value}: line diagram", desc, palette)
    svg.text(8, 19, kind.value[0].upper() + kind.value[1:], size=14, weight="bold")
    diagram = Diagram(svg)
    _DRAWN[kind](diagram)
    y = _key(svg, BELOW - 6)
    y = _cells(svg, facts, movement, system, y + 16)
    y = write(svg, 8, y, f"Thrust is held by {held}.", WIDTH - 16, size=12, fill=palette.warn,
              weight="bold")  # fmt: skip
    if moves:
        y = write(svg, 8, y, f"Moves: {moves}.", WIDTH - 16, size=12)
    y = write(svg, 8, y, f"Takes: {facts.takes}.", WIDTH - 16, size=12)
    y = write(svg, 8, y, f"Cannot take: {facts.cannot}.", WIDTH - 16, size=12)
    if bellows is not None and bellows != facts.bellows:
        y = write(svg, 8, y, f"On record: {bellows} bellows; drawn for the type: {facts.bellows}.",
                  WIDTH - 16, size=12, fill=palette.warn)  # fmt: skip
    y = write(svg, 8, y, "Common practice; the drawing of the joint at hand rules.",
              WIDTH - 16, size=11, fill=palette.soft, style="italic")  # fmt: skip
    svg.height = math.ceil(y)
    return svg.render()


def _holder(facts: TypeFacts) -> str:
    if facts.type == JointType.EXCHANGER:
        return "shell, tubes and tubesheets"
    if facts.tied:
        return f"its own hardware: {facts.hardware.value}" if facts.hardware else "its own hardware"
    return "the main anchors on both sides"


def _key(svg: Svg, y: float) -> float:
    p = svg.palette
    svg.line(8, y - 4, 40, y - 4, width=2.4, dash=DASH, stroke=p.warn)
    svg.path(f"M{n(46)},{n(y - 4)} L38,{n(y - 8)} L38,{n(y)} Z", fill=p.warn, stroke=p.warn)
    svg.text(52, y, "path of the pressure thrust, from the bellows to what holds it", size=11,
             fill=p.warn)  # fmt: skip
    return y


class _Cell(msgspec.Struct, frozen=True, kw_only=True):
    """One movement with its arrow."""

    name: str
    degree: Degree | None
    value: float
    kind: str


def _cells(
    svg: Svg, facts: TypeFacts, movement: Movement | None, system: System, y: float
) -> float:
    p = svg.palette
    m = movement or Movement(name="")
    cells = (
        _Cell(name="axial", degree=facts.axial, value=m.axial, kind="movement"),
        _Cell(name="lateral", degree=facts.lateral,
              value=math.hypot(m.lateral, m.lateral_across), kind="movement"),
        _Cell(name="angular", degree=facts.angular,
              value=math.hypot(m.angular, m.angular_across), kind="angle"),
    )  # fmt: skip
    wide = (WIDTH - 16) / 3
    tall = 78.0 if movement is None else 106.0
    for place, cell in enumerate(cells):
        x = 8 + place * wide
        svg.rect(x + 2, y, wide - 4, tall, stroke=p.hair)
        _arrow(svg, cell, x + wide / 2, y + 26)
        svg.text(x + wide / 2, y + 58, cell.name, size=12, anchor="middle", weight="bold")
        svg.text(x + wide / 2, y + 72, _WORDS[cell.degree], size=11, anchor="middle")
        if movement is None:
            continue
        svg.text(x + wide / 2, y + 87, shown(cell.value, cell.kind, system), size=11,
                 anchor="middle")  # fmt: skip
        if cell.degree == Degree.NO and cell.value != 0.0:
            svg.text(x + wide / 2, y + 100, "cannot take it", size=11, anchor="middle",
                     fill=p.warn, weight="bold")  # fmt: skip
    return y + tall + 18


def _arrow(svg: Svg, cell: _Cell, x: float, y: float) -> None:
    """The arrow of a movement; crossed where the type cannot take it, open where not said."""
    p = svg.palette
    no = cell.degree == Degree.NO
    colour = p.soft if no or cell.degree is None else p.accent
    half = 13.0 if cell.degree == Degree.SMALL else 24.0
    width = 1.2 if cell.degree is None else 2.4
    if cell.name == "axial":
        svg.arrow(x - half, y, x + half, y, stroke=colour, width=width, head=9, both=True)
    elif cell.name == "lateral":
        tall = min(half, 20.0)
        svg.arrow(x, y - tall, x, y + tall, stroke=colour, width=width, head=9, both=True)
    else:
        _turn(svg, x, y, 18.0 if half > 20 else 11.0, colour, width)
    if cell.degree is None:
        svg.circle(x + 30, y, 8, fill=p.paper, stroke=p.soft)
        svg.text(x + 30, y + 4, "?", size=12, anchor="middle", fill=p.soft)
    if no:
        for side in (-1, 1):
            svg.line(x - 15, y - 15 * side, x + 15, y + 15 * side, stroke=p.warn, width=2.6)


def _turn(svg: Svg, x: float, y: float, r: float, colour: str, width: float) -> None:
    """An arc with a head at both ends."""
    a, b = math.radians(205), math.radians(335)
    ends = [(x + r * math.cos(t), y + 8 + r * math.sin(t)) for t in (a, b)]
    (x1, y1), (x2, y2) = ends
    svg.path(f"M{n(x1)},{n(y1)} A{n(r)},{n(r)} 0 0 1 {n(x2)},{n(y2)}", stroke=colour, width=width)
    for (ex, ey), side in ((ends[0], -1), (ends[1], 1)):
        tip = (ex + 4 * side, ey + 8)
        d = (
            f"M{n(tip[0])},{n(tip[1])} L{n(ex + 5)},{n(ey - 1 - 2 * side)} "
            f"L{n(ex - 5)},{n(ey - 1 + 2 * side)} Z"
        )
        svg.path(d, fill=colour, stroke=colour, width=0.5)


def _anchored(d: Diagram, *, guides: tuple[float, ...] = (105.0, 255.0)) -> None:
    """A straight run between two main anchors."""
    d.pipe((22, AXIS), (338, AXIS))
    for x in guides:
        d.guide(x, AXIS)
    if guides:
        d.word(guides[0], AXIS + 22, "guide")
        d.word(guides[-1], AXIS + 22, "guide")
    for x, anchor in ((22.0, "start"), (338.0, "end")):
        d.anchor(x, AXIS)
        d.word(x - 14 if anchor == "start" else x + 14, AXIS + 34, "main anchor", anchor=anchor)


def _to_anchors(d: Diagram, left: float, right: float) -> None:
    d.thrust((left, AXIS - 9), (34, AXIS - 9))
    d.thrust((right, AXIS - 9), (326, AXIS - 9))


def _single(d: Diagram) -> None:
    _anchored(d)
    d.bellows(180, AXIS)
    d.word(180, AXIS - 22, "bellows")
    _to_anchors(d, 158, 202)


def _limit(d: Diagram) -> None:
    _anchored(d)
    d.bellows(180, AXIS)
    for side in (-1, 1):
        for x in (146, 214):
            d.lug(x, AXIS, AXIS + side * (ROD + 7))
        d.rod(146, 214, AXIS + side * ROD, gap=12)
    _to_anchors(d, 158, 202)
    d.word(180, AXIS - ROD - 12, "limit rod: nuts stand off")


def _rods(d: Diagram, left: float, right: float, begin: tuple[float, float]) -> None:
    for side in (-1, 1):
        for x in (left, right):
            d.lug(x, AXIS, AXIS + side * (ROD + 7))
        d.rod(left, right, AXIS + side * ROD)
        d.loop(left, right, AXIS, AXIS + side * ROD, begin)


def _tied(d: Diagram) -> None:
    d.pipe((20, AXIS), (340, AXIS))
    d.bellows(180, AXIS)
    _rods(d, 118, 242, (158, 202))
    d.word(180, AXIS - ROD - 12, "tie rod, nuts tight")
    _free_ends(d)


def _free_ends(d: Diagram) -> None:
    """What the pipe ends need not do."""
    for x, anchor in ((8.0, "start"), (352.0, "end")):
        d.word(x, AXIS + 20, "to the line", anchor=anchor, fill=d.p.soft)


def _universal(d: Diagram) -> None:
    _anchored(d, guides=(72.0, 288.0))
    d.spread((130, 230), AXIS)
    d.word(180, AXIS + 18, "spool")
    d.word(130, AXIS - 22, "bellows")
    d.word(230, AXIS - 22, "bellows")
    _to_anchors(d, 108, 252)


def _universal_tied(d: Diagram) -> None:
    d.pipe((20, AXIS), (340, AXIS))
    d.spread((130, 230), AXIS)
    _rods(d, 74, 286, (108, 252))
    d.word(180, AXIS - ROD - 12, "tie rods over both bellows")
    d.word(180, AXIS + 14, "spool")
    _free_ends(d)


def _pantograph(d: Diagram) -> None:
    _anchored(d, guides=(64.0, 296.0))
    d.spread((130, 230), AXIS)
    for side in (-1, 1):
        for x in (100, 260):
            d.lug(x, AXIS, AXIS + side * 32)
        d.svg.line(100, AXIS + 30 * side, 260, AXIS - 30 * side, width=2.2)
    for x in (100, 260):
        for side in (-1, 1):
            d.svg.circle(x, AXIS + 30 * side, 3.4, fill=d.p.paper, width=1.6)
    d.svg.circle(180, AXIS, 5, fill=d.p.paper, width=1.8)
    _to_anchors(d, 108, 252)
    d.word(180, AXIS - 42, "linkage, pivot on the spool")


def _meeting(d: Diagram, left: float, right: float, pin: float, y: float) -> None:
    """Thrust from both sides into a pin."""
    d.thrust((left, y), (pin - 3, y))
    d.thrust((right, y), (pin + 3, y))


def _hinged(d: Diagram) -> None:
    d.pipe((20, AXIS), (340, AXIS))
    d.moved((180, AXIS), (332, AXIS - 40))
    _swing(d, 180, 332, 14.5)
    d.bellows(180, AXIS, tall=16)
    d.hinge(180, AXIS, slack=42)
    d.into_pin(180, AXIS, 20, 42, 27)
    d.word(180, AXIS + 46, "pin at mid bellows, two arms")
    _free_ends(d)


def _swing(d: Diagram, pin: float, end: float, degrees: float) -> None:
    """An arc from the pipe to where it may turn."""
    r = end - pin - 14
    turn = math.radians(degrees)
    x, y = pin + r * math.cos(turn), AXIS - r * math.sin(turn)
    d.svg.path(f"M{n(pin + r)},{n(AXIS - 4)} A{n(r)},{n(r)} 0 0 0 {n(x)},{n(y + 3)}",
               stroke=d.p.accent, width=1.6)  # fmt: skip
    d.svg.path(f"M{n(x)},{n(y + 1)} L{n(x + 6)},{n(y + 10)} L{n(x - 3)},{n(y + 10)} Z",
               fill=d.p.accent, stroke=d.p.accent, width=0.5)  # fmt: skip


def _gimbal(d: Diagram) -> None:
    d.pipe((20, AXIS), (340, AXIS))
    d.moved((180, AXIS), (332, AXIS - 40))
    d.moved((180, AXIS), (332, AXIS + 40))
    _swing(d, 180, 332, 14.5)
    d.bellows(180, AXIS, tall=16)
    d.svg.path(
        f"M180,{n(AXIS - 32)} A16,32 0 0 1 180,{n(AXIS + 32)} A16,32 0 0 1 180,{n(AXIS - 32)} Z",
        width=2.6,
    )
    d.hinge(180, AXIS, slack=42)
    d.svg.line(175, AXIS, 185, AXIS, width=1.2)
    d.svg.line(180, AXIS - 5, 180, AXIS + 5, width=1.2)
    for side in (-1, 1):
        d.svg.circle(180, AXIS + side * 32, 3.6, fill=d.p.paper, width=1.8)
    d.into_pin(180, AXIS, 20, 42, 44)
    d.word(180, AXIS - 44, "gimbal ring, four pins")
    _free_ends(d)


def _pair(d: Diagram) -> None:
    d.pipe((20, AXIS), (340, AXIS))
    d.moved((104, AXIS), (256, AXIS - 34), (340, AXIS - 34))
    for x in (104, 256):
        d.bellows(x, AXIS, tall=15)
        d.hinge(x, AXIS, slack=34)
        d.into_pin(x, AXIS, 20, 34, 27)
    d.svg.arrow(312, AXIS - 4, 312, AXIS - 30, stroke=d.p.accent, width=1.6, head=7)
    d.word(180, AXIS + 46, "pins parallel, square to the paper")
    _free_ends(d)


def _triple(d: Diagram) -> None:
    low, high, corner = 140.0, 46.0, 250.0
    d.pipe((22, low), (corner, low), (corner, high), (338, high))
    d.anchor(22, low, main=False)
    d.anchor(338, high, main=False)
    for x in (82.0, 196.0):
        d.bellows(x, low, half=16)
        d.hinge(x, low, slack=27)
        _meeting(d, x - 34, x + 34, x, low - 22)
    d.bellows(corner, 93, half=16, upright=True)
    d.hinge(corner, 93, slack=27, upright=True)
    d.thrust((corner - 22, 59), (corner - 22, 90))
    d.thrust((corner - 22, 127), (corner - 22, 96))
    d.word(8, 46, "three pins, all square", anchor="start")
    d.word(8, 60, "to the paper", anchor="start")
    d.word(352, 74, "anchor, no thrust", anchor="end")
    d.word(266, 136, "growth of both legs", anchor="start")
    d.svg.arrow(272, 100, 272, 122, stroke=d.p.accent, width=1.4, both=True)


def _elbow(d: Diagram) -> None:
    d.pipe((20, AXIS), (186, AXIS))
    d.pipe((186, AXIS), (286, AXIS))
    d.pipe((186, AXIS), (186, AXIS + 66))
    d.svg.arrow(196, AXIS + 46, 196, AXIS + 64, stroke=d.p.soft, width=1.2)
    d.word(202, AXIS + 60, "flow", anchor="start", fill=d.p.soft)
    d.bellows(122, AXIS)
    d.bellows(240, AXIS)
    d.lug(286, AXIS - ROD - 7, AXIS + ROD + 7)
    for side in (-1, 1):
        d.lug(80, AXIS, AXIS + side * (ROD + 7))
    d.rod(80, 286, AXIS - ROD)
    d.rod(80, 286, AXIS + ROD, behind=True)
    d.loop(80, 286, AXIS, AXIS - ROD, (100, 262))
    d.word(296, AXIS + 4, "blind end", anchor="start")
    d.word(124, AXIS + 26, "flow bellows")
    d.word(238, AXIS + 26, "balancing bellows")
    d.word(183, AXIS - ROD - 12, "rods past the elbow")


def _inline(d: Diagram) -> None:
    d.pipe((20, AXIS), (340, AXIS))
    d.bellows(82, AXIS, half=16)
    d.bellows(180, AXIS, half=24, tall=24)
    d.bellows(278, AXIS, half=16)
    for side, a, b, begin in ((-1, 50, 222, (64, 206)), (1, 138, 310, (154, 296))):
        for x in (a, b):
            d.lug(x, AXIS, AXIS + side * (ROD + 9))
        d.rod(a, b, AXIS + side * (ROD + 2))
        d.loop(a, b, AXIS, AXIS + side * (ROD + 2), begin)
    d.word(136, AXIS - ROD - 14, "rods cross over the bellows")
    d.word(180, AXIS + 62, "balancing bellows, twice the flow area")
    d.word(278, AXIS - 20, "flow bellows")
    d.word(78, AXIS + 28, "flow bellows")


def _external(d: Diagram) -> None:
    _anchored(d, guides=(64.0, 296.0))
    d.svg.rect(112, AXIS - 30, 136, 60, fill=d.p.paper, stroke=d.p.ink, width=2)
    d.pipe((112, AXIS), (248, AXIS))
    d.bellows(180, AXIS, half=44, tall=14)
    for x in (150, 180, 210):
        d.svg.arrow(x, AXIS - 28, x, AXIS - 17, stroke=d.p.accent, head=5)
        d.svg.arrow(x, AXIS + 28, x, AXIS + 17, stroke=d.p.accent, head=5)
    d.word(180, AXIS - 38, "casing; pressure stands outside the bellows")
    d.thrust((108, AXIS - 9), (34, AXIS - 9))
    d.thrust((252, AXIS - 9), (326, AXIS - 9))


def _exchanger(d: Diagram) -> None:
    top, low = AXIS - 36, AXIS + 36
    for y in (top, low):
        d.pipe((50, y), (310, y))
        d.bellows(180, y, half=22, tall=9)
    for x in (50, 310):
        d.svg.line(x, top - 12, x, low + 12, width=6)
    for y in (-18, -6, 6, 18):
        d.svg.line(50, AXIS + y, 310, AXIS + y, width=1)
    d.svg.rect(60, AXIS - 5, 240, 10, fill=d.p.paper)
    d.thrust((150, top + 9), (60, top + 9), (60, AXIS), (172, AXIS))
    d.thrust((210, top + 9), (300, top + 9), (300, AXIS), (188, AXIS))
    d.word(50, top - 18, "tubesheet")
    d.word(310, top - 18, "tubesheet")
    d.word(180, top - 16, "bellows in the shell")
    d.word(110, AXIS + 56, "tubes")
    d.svg.line(110, AXIS + 46, 110, AXIS + 18, stroke=d.p.soft, width=0.8)


def _rectangular(d: Diagram) -> None:
    for y in (AXIS - 18, AXIS + 18):
        d.pipe((22, y), (338, y))
        d.bellows(180, y, half=18, tall=8)
    for x, anchor in ((22.0, "start"), (338.0, "end")):
        d.svg.line(x, AXIS - 18, x, AXIS + 18, width=1)
        d.anchor(x, AXIS)
        d.word(x - 14 if anchor == "start" else x + 14, AXIS + 38, "main anchor", anchor=anchor)
    d.thrust((156, AXIS), (36, AXIS))
    d.thrust((204, AXIS), (324, AXIS))
    d.svg.rect(163, AXIS + 38, 34, 24, stroke=d.p.ink, width=2)
    d.svg.rect(159, AXIS + 34, 42, 32, stroke=d.p.ink)
    d.word(206, AXIS + 54, "duct", anchor="start")
    d.word(180, AXIS - 34, "bellows with corners")


def _toroidal(d: Diagram) -> None:
    _anchored(d)
    d.torus(180, AXIS)
    d.word(180, AXIS - 22, "toroidal convolutions")
    _to_anchors(d, 158, 202)


_DRAWN: Mapping[JointType, Callable[[Diagram], None]] = {
    JointType.SINGLE: _single,
    JointType.SINGLE_LIMIT: _limit,
    JointType.SINGLE_TIED: _tied,
    JointType.UNIVERSAL: _universal,
    JointType.UNIVERSAL_TIED: _universal_tied,
    JointType.UNIVERSAL_PANTOGRAPH: _pantograph,
    JointType.HINGED: _hinged,
    JointType.HINGED_PAIR: _pair,
    JointType.HINGED_TRIPLE: _triple,
    JointType.GIMBAL: _gimbal,
    JointType.BALANCED_ELBOW: _elbow,
    JointType.BALANCED_INLINE: _inline,
    JointType.EXTERNAL: _external,
    JointType.EXCHANGER: _exchanger,
    JointType.RECTANGULAR: _rectangular,
    JointType.TOROIDAL: _toroidal,
}
