"""A line's readings and faults in the words of people who walk it: ways, not axis numbers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import msgspec
import numpy as np

from takeup.evidence.facts import Way

if TYPE_CHECKING:
    from takeup.line.diagnosis import Explanation, Fault, Reading
    from takeup.line.model import Line
    from takeup.units import Array

Triple = tuple[float, float, float]
HALF = 0.5**0.5
WAYS: dict[Way, Triple] = {
    Way.EAST: (1.0, 0.0, 0.0),
    Way.NORTH: (0.0, 1.0, 0.0),
    Way.WEST: (-1.0, 0.0, 0.0),
    Way.SOUTH: (0.0, -1.0, 0.0),
    Way.UP: (0.0, 0.0, 1.0),
    Way.DOWN: (0.0, 0.0, -1.0),
    Way.NORTH_EAST: (HALF, HALF, 0.0),
    Way.NORTH_WEST: (-HALF, HALF, 0.0),
    Way.SOUTH_WEST: (-HALF, -HALF, 0.0),
    Way.SOUTH_EAST: (HALF, -HALF, 0.0),
}
NEAR = 0.92
"""Cosine within which a direction goes by the name of a way (23 degrees)."""
UPRIGHT = 0.9
"""Up-component from which a pipe counts as upright, and 12 o'clock as plant north."""


class Sides(msgspec.Struct, frozen=True, kw_only=True):
    """Directions of the joints and guides of a line, as its readings count them."""

    joints: dict[str, tuple[Triple, Triple, Triple]]
    """Along, and the two sideways directions that ``lateral 1`` and ``2`` count by"""
    guides: dict[str, tuple[Triple, ...]]
    """Ways in which a guide holds, in the order of its parts"""
    at: dict[str, tuple[str, ...]]
    """Supports that stand at a station"""
    kinds: dict[str, str]
    """Kind of each support, in words"""


def sides(line: Line) -> Sides:
    """The directions of ``line``; raises what :func:`takeup.line.solve.prepare` raises."""
    from takeup.line import elements
    from takeup.line.model import Guide, Joint
    from takeup.line.report import NAMES
    from takeup.line.solve import prepare

    ready = prepare(line)
    place = {station.name: np.array(station.position) for station in line.stations}
    joints = {}
    for piece in line.pieces:
        if isinstance(piece, Joint):
            arm = place[piece.end] - place[piece.start]
            axes = elements.frames((arm / np.linalg.norm(arm))[None, :])[0]
            joints[piece.tag] = (_three(axes[0]), _three(axes[1]), _three(axes[2]))
    guides, at, kinds = {}, dict[str, tuple[str, ...]](), {}
    for one in line.supports:
        at[one.station] = (*at.get(one.station, ()), one.name)
        kinds[one.name] = NAMES[type(one)]
        if isinstance(one, Guide):
            held = 1 if one.across is not None else 2
            directions = ready.rows.place(one.name).directions[:held]
            guides[one.name] = tuple(_three(np.array(way)) for way in directions)
    return Sides(joints=joints, guides=guides, at=at, kinds=kinds)


def _three(v: Array) -> Triple:
    x, y, z = (float(one) + 0.0 for one in v)
    return x, y, z


def way_words(v: Sequence[float]) -> str:
    """A direction in words: one way, or a bearing and a rise."""
    named = way_of(v)
    if named is not None:
        return named.value
    east, north, up = v
    flat = float(np.hypot(east, north))
    bearing = float(np.degrees(np.arctan2(east, north))) % 360.0
    rise = float(np.degrees(np.arctan2(up, flat)))
    return f"bearing {bearing:.0f} deg" + (f", rising {rise:.0f} deg" if abs(rise) > 5.0 else "")


def way_of(v: Sequence[float]) -> Way | None:
    """The way that a direction lies in, within 23 degrees."""
    best = max(WAYS, key=lambda way: float(np.dot(WAYS[way], v)))
    return best if float(np.dot(WAYS[best], v)) >= NEAR else None


UPRIGHT_WORDS = {
    "offset to the": {"up": "offset upwards", "down": "offset downwards"},
    "opening on the": {"up": "opening at the top", "down": "opening at the bottom"},
    "room on the": {"up": "room above the pipe", "down": "room below the pipe"},
}


def towards(what: str, way: str) -> str:
    """``what`` with its way, as it is said: above and below are no sides."""
    side = "" if what.startswith("offset") else " side"
    return UPRIGHT_WORDS[what].get(way, f"{what} {way}{side}")


def opens_at(found: Sides, joint: str, part: str) -> Triple:
    """The side at which a joint grows longer by a positive turn of ``part``."""
    along, first, second = found.joints[joint]
    return _three(np.cross(along, first if part.endswith("1") else second))


def part_of(found: Sides, joint: str, way: Way, what: str) -> tuple[str, float] | None:
    """Part and sign of a joint reading towards ``way``; ``what`` is lateral or angular."""
    for number in ("1", "2"):
        part = f"{what} {number}"
        if what == "lateral":
            own = found.joints[joint][int(number)]
        else:
            own = opens_at(found, joint, part)
        share = float(np.dot(WAYS[way], own))
        if abs(share) >= NEAR:
            return part, 1.0 if share > 0.0 else -1.0
    return None


def clock(found: Sides, joint: str) -> tuple[Triple, Triple]:
    """Where 12 and 3 o'clock lie on a joint, seen along the line as its model runs.

    12 is on top; on an upright pipe it is plant north (common practice, no published source).
    """
    along, first, second = found.joints[joint]
    if abs(along[2]) > UPRIGHT:
        twelve = first if first[1] >= 0.0 else _three(-np.array(first))
    else:
        twelve = second
    return twelve, _three(np.cross(along, twelve))


def words(reading: Reading, found: Sides) -> str:
    """A reading as one would say it on site."""
    from takeup.line.diagnosis import Kind

    when = "hot" if reading.hot else "cold"
    if reading.kind == Kind.JOINT:
        if reading.place not in found.joints:
            return reading.words
        if reading.part == "axial":
            return f"{reading.place}: length between its ends"
        if reading.part.startswith("lateral"):
            way = found.joints[reading.place][1 if reading.part.endswith("1") else 2]
            return f"{reading.place}: {towards('offset to the', way_words(way))}"
        side = way_words(opens_at(found, reading.place, reading.part))
        return f"{reading.place}: {towards('opening on the', side)}"
    if reading.kind == Kind.INDICATOR:
        return f"{reading.place}: travel of its pointer"
    if reading.kind == Kind.LOAD:
        return f"{reading.place}: load carried, {when}"
    if reading.kind == Kind.GAP:
        side = towards("room on the", _guide_way(found, reading))
        return f"{reading.place}: {side}, {when}"
    near = [name for name in found.at.get(reading.place, ()) if name != reading.place]
    beside = f" ({', '.join(near)})" if near else ""
    return f"{reading.place}{beside}: place {reading.part}wards, {when}"


def _guide_way(found: Sides, reading: Reading) -> str:
    ways = found.guides.get(reading.place, ())
    index = int(reading.part) - 1 if reading.part in {"1", "2"} else 9
    return way_words(ways[index]) if index < len(ways) else reading.part


HOW: dict[str, str] = {
    "axial": "measure between the same pair of marks at 12, 3, 6 and 9 o'clock, once hot and once "
    "cold; the mean of the four, hot minus cold, is the reading (position marks of the joint)",
    "lateral": "lay a straight edge on the pipe of one end and read the offset of the other, then "
    "from the other side, and take the mean; once hot, once cold",
    "angular": "measure between the marks on this side and on the side opposite, once hot and once "
    "cold; the difference over the distance between them is the angle",
    "position indicator": "read the pointer of the spring or hanger on its scale, once hot and "
    "once cold, and say which way is up on the scale",
    "support load": "read the load from the pointer and the maker's scale, or by a load cell or "
    "jack under a procedure; never jack a hot line without one",
    "guide gap": "feel the room between pipe and guide with a feeler gauge, on the side named",
    "position against record": "survey the pipe from a fixed point of the structure and take off "
    "the place on the drawing",
}
"""How each kind of reading is taken; common practice, no published source."""


def how(reading: Reading) -> str:
    """How to take a reading."""
    head = reading.part.split(" ")[0]
    return HOW.get(head, HOW.get(reading.kind.value, ""))


LOOK: dict[str, str] = {
    "upper stop": "pointer at the upper end of its slot when cold, travel stops left in, coil open",
    "lower stop": "pointer at the lower end of its slot when cold, coil closed",
    "seized": "a shoe that stands hot where it stood cold; rust, debris, paint, a wedge, no bright "
    "metal where it should slide",
    "spring seized": "a pointer that stands hot where it stood cold; stops left in, rust, a coil "
    "that rubs its can",
    "load": "the load flange or turnbuckle against the maker's plate; pointer off its marks",
    "lost": "rod, clamp, shoe or guide steel gone or loose; daylight where there should be contact",
    "slack": "a rod that can be moved by hand",
    "slip": "scribe marks that no longer meet, bright metal, grout or welds cracked",
    "soft": "steel that bends, bolts loose, concrete cracked",
    "stiffened": "catalyst or coke behind the liner; a cold bellows on its temperature history",
    "pins": "rust, paint or scale at hinges and pins; no bright metal where they turn",
    "locked": "shipping bars, tack welds, limit nuts run tight",
    "other": "skin temperature of the pipe, hot, at both ends of the line",
}
"""What to look for on site, by fault; common practice, no published source."""


def look(fault: Fault, found: Sides | None = None) -> str:
    """What to look for on site."""
    kind = found.kinds.get(fault.place, "") if found is not None else ""
    if fault.what == "seized" and kind.endswith("spring"):
        return LOOK["spring seized"]
    return LOOK.get(fault.what, "")


def plain(explanation: Explanation, found: Sides | None = None) -> str:
    """An explanation in trade words, each support with its kind."""
    if not explanation.faults:
        return "everything sound, temperature as recorded"
    kinds: Mapping[str, str] = found.kinds if found is not None else {}
    said = []
    for fault in explanation.faults:
        kind = kinds.get(fault.place)
        named = kind is None or kind.split()[-1] in fault.place
        said.append(fault.name if named else f"{kind} {fault.name}")
    return " and ".join(said)


def places(explanation: Explanation | None) -> tuple[str, ...]:
    """Supports and joints that an explanation blames."""
    from takeup.line.diagnosis.faults import TEMPERATURE

    faults: Sequence[Any] = explanation.faults if explanation is not None else ()
    return tuple(dict.fromkeys(f.place for f in faults if f.place != TEMPERATURE))
