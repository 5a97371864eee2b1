"""Where a reading on a line belongs in its model, and how far it is trusted."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from typing import TYPE_CHECKING

import msgspec

from takeup.desk.diagnosis_words import NEAR, WAYS, part_of, way_words
from takeup.evidence.facts import LineQuantity, LineReading, Way
from takeup.line.diagnosis import Kind
from takeup.line.model import ConstantSpring, Guide, Rest, RodHanger, VariableSpring
from takeup.units import System, shown

if TYPE_CHECKING:
    from takeup.desk.diagnosis_words import Sides
    from takeup.line.model import Line

NORMAL = 1.96
"""Standard deviations of a 95 % uncertainty."""
POINTER = 4e-3
"""m, 95 %, of one pointer or place where none was entered; engineering assumption."""
ROOM = 1e-3
"""m, 95 %, of a feeler gauge where none was entered; engineering assumption."""
TURN = 3.5e-3
"""rad, 95 %, of an inclinometer where none was entered; engineering assumption."""
LOAD = 0.2
"""Share, 95 %, of a load where none was entered; engineering assumption."""
LEAST_LOAD = 1000.0
"""N, 95 %, the least of that."""
POINTED = (VariableSpring, ConstantSpring, RodHanger)
LOADED = (Rest, RodHanger, VariableSpring, ConstantSpring)


class Unfit(Exception):
    """Why a reading cannot be weighed."""


def resolve(place: str, names: Iterable[str], what: str) -> str:
    """The name as the model has it; ``Unfit`` with the nearest ones."""
    known = list(names)
    found = {name.casefold(): name for name in known}.get(place.strip().casefold())
    if found is None:
        near = difflib.get_close_matches(place, known, n=3, cutoff=0.4)
        hint = f"; did you mean {' or '.join(near)}?" if near else f"; it has {', '.join(known)}"
        raise Unfit(f"the line's model has no {what} {place!r}{hint}")
    return found


class Placed(msgspec.Struct, frozen=True, kw_only=True):
    """What a line reading is to the diagnosis: value = offset + sign times what was read."""

    kind: Kind
    place: str
    part: str = ""
    sign: float = 1.0
    offset: float = 0.0


def placed(line: Line, found: Sides, one: LineReading) -> Placed:
    """Where a reading belongs on the line; raises :class:`Unfit` with what would be right."""
    supports = line.supports
    if one.quantity == LineQuantity.POINTER:
        names = [s.name for s in supports if isinstance(s, POINTED)]
        return Placed(kind=Kind.INDICATOR, place=resolve(one.place, names, "spring or hanger"))
    if one.quantity == LineQuantity.LOAD:
        names = [s.name for s in supports if isinstance(s, LOADED)]
        return Placed(kind=Kind.LOAD, place=resolve(one.place, names, "rest, spring or hanger"))
    if one.quantity in {LineQuantity.SIDEWAYS, LineQuantity.OPENING}:
        place = resolve(one.place, found.joints, "joint")
        part, sign = joint_part(found, place, one.way, one.quantity)
        return Placed(kind=Kind.JOINT, place=place, part=part, sign=sign)
    if one.quantity == LineQuantity.PLACE:
        stations = {station.name.casefold(): station.name for station in line.stations}
        stations |= {s.name.casefold(): s.station for s in supports}
        named = stations.get(one.place.strip().casefold())
        known = sorted({*(s.name for s in line.stations), *(s.name for s in supports)})
        axis, sign = axis_of(one.way)
        return Placed(
            kind=Kind.POSITION,
            place=named or resolve(one.place, known, "station or support"),
            part=axis,
            sign=sign,
        )
    guides = {s.name: s.gap for s in supports if isinstance(s, Guide)}
    place = resolve(one.place, guides, "guide")
    part, plus = guide_part(found, place, one.way)
    if plus:
        return Placed(kind=Kind.GAP, place=place, part=part)
    return Placed(kind=Kind.GAP, place=place, part=part, sign=-1.0, offset=2.0 * guides[place])


def value_of(one: LineReading) -> float:
    """The value read [m, rad, N]; raises :class:`Unfit` where it is not on record."""
    name = {LineQuantity.LOAD: "load", LineQuantity.OPENING: "angle"}.get(one.quantity, "length")
    value: float | None = getattr(one, name)
    if value is None:
        raise Unfit(f"the {name} is not on record")
    return value


def joint_part(found: Sides, joint: str, way: Way, quantity: LineQuantity) -> tuple[str, float]:
    """Part and sign of a joint reading towards ``way``; ``Unfit`` along the joint."""
    what = "lateral" if quantity == LineQuantity.SIDEWAYS else "angular"
    named = part_of(found, joint, way, what) if way in WAYS else None
    if named is None:
        _, first, second = found.joints[joint]
        raise Unfit(
            f"towards {way.value!r} is not across this joint; its sides are {way_words(first)} and "
            f"{way_words(second)}, and the opposite ones"
        )
    return named


def blur_of(one: LineReading, system: System) -> tuple[float, str]:
    """Uncertainty (95 %) of one line reading, and where it is from."""
    if one.quantity == LineQuantity.OPENING:
        if one.angle_uncertainty is not None:
            return one.angle_uncertainty, "as entered (95 %)"
        return TURN, "not entered: 0.2 deg (95 %), an inclinometer's (engineering assumption)"
    if one.quantity == LineQuantity.LOAD:
        if one.load_uncertainty is not None:
            return one.load_uncertainty, "as entered (95 %)"
        size = max(LOAD * (one.load or 0.0), LEAST_LOAD)
        return size, f"not entered: {LOAD:.0%} of the load (95 %), engineering assumption"
    if one.uncertainty is not None:
        return one.uncertainty, f"{shown(one.uncertainty, 'movement', system)} (95 %), as entered"
    size = ROOM if one.quantity == LineQuantity.ROOM else POINTER
    told = shown(size, "movement", system)
    return size, f"not entered: {told} (95 %), engineering assumption"


def axis_of(way: Way) -> tuple[str, float]:
    """Axis and sign of a way; ``Unfit`` without one."""
    unit = WAYS.get(way, (0.0, 0.0, 0.0))
    if max(abs(one) for one in unit) < 1.0:
        raise Unfit(
            f"a place is told towards east, north, west, south, up or down, not {way.value!r}"
        )
    index = max(range(3), key=lambda k: abs(unit[k]))
    return ("east", "north", "up")[index], unit[index]


def guide_part(found: Sides, guide: str, way: Way) -> tuple[str, bool]:
    """Part of a guide that holds towards ``way`` and whether that is its plus side."""
    for number, own in enumerate(found.guides.get(guide, ()), 1):
        share = sum(a * b for a, b in zip(WAYS.get(way, (0.0, 0.0, 0.0)), own, strict=True))
        if abs(share) >= NEAR:
            return str(number), share > 0.0
    held = ", ".join(way_words(own) for own in found.guides.get(guide, ()))
    raise Unfit(f"towards {way.value!r} this guide does not hold; it holds towards {held}")
