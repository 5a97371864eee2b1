"""From what the register holds to readings that a diagnosis can weigh, and why the rest cannot.

Uncertainties on record are at 95 %; the diagnosis takes one standard deviation.  A reading whose
sign cannot be known (3 and 9 o'clock without the way the clock was seen) is left out, not guessed.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import msgspec

from takeup.desk.diagnosis_placed import NORMAL, Unfit, blur_of, placed, value_of
from takeup.desk.diagnosis_words import Sides, clock, opens_at
from takeup.desk.diagnosis_words import words as reading_words
from takeup.evidence import marks
from takeup.evidence.facts import (
    ClockSeen,
    LineQuantity,
    LineReading,
    LineState,
    MarkQuantity,
    MarkReading,
    Observation,
    Visit,
    Way,
)
from takeup.line.diagnosis import Kind, Reading
from takeup.line.model import Joint, Line
from takeup.register.entities import EventKind, LifeEvent
from takeup.register.entities import Joint as RegisterJoint
from takeup.units import System, shown

if TYPE_CHECKING:
    from takeup.evidence.model import MarkMovement
    from takeup.register.snapshot import Register

CAMPAIGN = dt.timedelta(days=90)
"""Visits further apart are two campaigns, between which supports may have changed; engineering
assumption."""
LONG = dt.timedelta(days=730)
"""Hot and cold further apart than this are pointed out."""
CHANGES = frozenset(
    {
        EventKind.INSTALLED,
        EventKind.REPLACED,
        EventKind.REPAIRED,
        EventKind.CLAMSHELL,
        EventKind.BOXED,
        EventKind.REMOVED,
    }
)
"""After these the marks of a joint are other marks."""
LOOKED = frozenset({"HS1", "HS2", "HS3", "HS4", "HS5", "HS6", "CS1", "CS2", "CS3", "CS4", "CS5",
                    "CS6", "XA1", "AL1"})  # fmt: skip
"""Check items of the neighbours: seen and graded, but not measured as movements."""


class Used(msgspec.Struct, frozen=True, kw_only=True):
    """A reading that goes into the diagnosis, and where it is from."""

    reading: Reading
    words: str
    origin: str
    uncertainty: str
    """Where its uncertainty is from"""
    hot: dt.date | None = None
    cold: dt.date | None = None
    drawn: bool = False
    """Counted from the drawing: what the sound line does there is still to be taken off"""
    note: str = ""


class LeftOut(msgspec.Struct, frozen=True, kw_only=True):
    """Something on record that is not weighed."""

    what: str
    why: str


class Gathered(msgspec.Struct, frozen=True, kw_only=True):
    """Readings of a line and what was left out."""

    used: tuple[Used, ...]
    left_out: tuple[LeftOut, ...]
    cautions: tuple[str, ...]


class _Gathering:
    def __init__(self, register: Register, line: Line, found: Sides, strain: float) -> None:
        self.register, self.line, self.sides, self.strain = register, line, found, strain
        self.system = register.system
        self.visits = register.all(Visit)
        self.dates = {visit.id.casefold(): visit.date for visit in self.visits}
        self.joints = {piece.tag: piece for piece in line.pieces if isinstance(piece, Joint)}
        self.used: list[Used] = []
        self.left: list[LeftOut] = []

    def leave(self, what: str, why: str) -> None:
        self.left.append(LeftOut(what=what, why=why))

    def take(self, reading: Reading, origin: str, uncertainty: str, hot: dt.date | None,
             cold: dt.date | None, *, drawn: bool = False, note: str = "") -> None:  # fmt: skip
        self.used.append(
            Used(
                reading=reading,
                words=reading_words(reading, self.sides),
                origin=origin,
                uncertainty=uncertainty,
                hot=hot,
                cold=cold,
                drawn=drawn,
                note=note,
            )
        )


def gather(register: Register, line: Line, found: Sides, tag: str, strain: float) -> Gathered:
    """Readings of line ``tag`` on record; ``strain`` is what its metal grows by, cold to hot."""
    work = _Gathering(register, line, found, strain)
    for joint in work.joints:
        _marks(work, joint)
    _line_readings(work, register.of_line(LineReading, tag))
    for joint in work.joints:
        for seen in register.of_joint(Observation, joint):
            if seen.item in LOOKED and ((seen.grade or 0) >= 2 or seen.value is not None):
                grade = f", grade {seen.grade}" if seen.grade is not None else ""
                told = f": {seen.text}" if seen.text else ""
                work.leave(
                    f"{seen.item} at {seen.place if seen.place != '-' else joint}, "
                    f"{seen.visit}{grade}{told}",
                    "seen and graded, not measured: it does not say how far and which way; enter "
                    "the pointer, room or load as a reading of the line",
                )
    return campaigns(work.used, work.left)


def campaigns(used: Sequence[Used], left: Sequence[LeftOut]) -> Gathered:
    """Readings of the newest hot and cold campaign; older ones are left out and said."""
    kept, out, cautions = list(used), list(left), []
    for state in ("hot", "cold"):
        dates = [date for one in kept if (date := getattr(one, state)) is not None]
        if not dates:
            continue
        newest = max(dates)
        for one in list(kept):
            date = getattr(one, state)
            if date is not None and newest - date > CAMPAIGN:
                kept.remove(one)
                out.append(
                    LeftOut(
                        what=f"{one.words} ({one.origin})",
                        why=f"its {state} reading is of {date.isoformat()}, another campaign than "
                        f"the newest {state} one of {newest.isoformat()}: supports may have "
                        "changed between; read it again",
                    )
                )
    gaps = [abs(one.hot - one.cold) for one in kept if one.hot is not None and one.cold is not None]
    if gaps and max(gaps) > LONG:
        cautions.append(
            f"hot and cold readings lie up to {max(gaps).days / 365.25:.1f} years apart: whatever "
            "changed in between is in the movement"
        )
    return Gathered(used=tuple(kept), left_out=tuple(out), cautions=tuple(cautions))


def _marks(work: _Gathering, tag: str) -> None:
    joint = work.register.find(RegisterJoint, tag)
    if joint is None:
        return
    readings = work.register.of_joint(MarkReading, joint.tag)
    for quantity in (MarkQuantity.LATERAL_Y, MarkQuantity.LATERAL_Z, MarkQuantity.ANGLE,
                     MarkQuantity.TWIST):  # fmt: skip
        if any(one.quantity == quantity for one in readings):
            work.leave(
                f"{tag}: {quantity.value}",
                "no theory of twist is weighed"
                if quantity == MarkQuantity.TWIST
                else "which way it points is not on record; enter it as a reading of the line "
                "with its way (joint sideways, joint opening)",
            )
    diameters = {one.letter: one.inside_diameter for one in work.register.bellows(joint.tag)}
    moved = marks.movements(readings, work.visits, diameters)
    together = _together(moved, len(work.joints[tag].bellows))
    if together is not None:
        moved = (*(one for one in moved if one.bellows == "-"), together)
    for movement in moved:
        letters = movement.bellows.split("+")
        _movement(work, tag, movement, [r for r in readings if r.bellows in letters], diameters)


def _together(moved: Sequence[MarkMovement], count: int) -> MarkMovement | None:
    """Movement of a joint from the marks of all its bellows, where no marks span the whole."""
    own = [one for one in moved if one.bellows != "-" and one.axial is not None]
    whole = any(one.bellows == "-" and one.axial is not None for one in moved)
    visits = {(one.hot_visit, one.cold_visit) for one in own}
    if count < 2 or whole or len(own) != count or len(visits) != 1:
        return None
    clocks = set.intersection(*(set(one.faces) for one in own))
    return msgspec.structs.replace(
        own[0],
        bellows="+".join(one.bellows for one in own),
        axial=sum(one.axial or 0.0 for one in own),
        uncertainty=math.hypot(*(one.uncertainty or 0.0 for one in own)),
        closure=max((one.closure for one in own if one.closure is not None), default=None),
        faces={clock: sum(one.faces[clock] for one in own) for clock in sorted(clocks)},
        notes=tuple(note for one in own for note in one.notes),
    )


def _movement(
    work: _Gathering,
    tag: str,
    movement: MarkMovement,
    readings: Sequence[MarkReading],
    diameters: Mapping[str, float | None],
) -> None:
    place = "" if movement.bellows == "-" else f" bellows {movement.bellows.replace('+', ' and ')}"
    what = f"{tag}{place}: position marks"
    if movement.axial is None:
        why = movement.notes[0] if movement.notes else "no length was read in both states"
        return work.leave(what, f"{why}; a movement needs the same marks hot and cold")
    piece = work.joints[tag]
    if movement.bellows != "-" and movement.bellows.count("+") + 1 != len(piece.bellows):
        return work.leave(
            what,
            "marks of one bellows of two: theory is compared between the ends of the joint; read "
            "both bellows on one visit, or across the whole joint",
        )
    hot = work.dates.get((movement.hot_visit or "").casefold())
    cold = work.dates.get((movement.cold_visit or "").casefold())
    oldest = min(date for date in (hot, cold) if date is not None)
    after = [
        event
        for event in work.register.of_joint(LifeEvent, tag)
        if event.kind in CHANGES and event.date > oldest
    ]
    if after:
        return work.leave(
            what,
            f"the joint was {after[0].kind.value} on {after[0].date.isoformat()}, after a reading "
            f"of {oldest.isoformat()}: these are other marks",
        )
    if movement.closure is not None and movement.closure > marks.CLOSURE:
        return work.leave(what, "; ".join(movement.notes))
    origin = f"position marks, {movement.hot_visit} against {movement.cold_visit}"
    blur, basis = _blur(readings, movement, work.system)
    many = movement.bellows.count("+") + 1
    blur *= math.sqrt(many)
    _axial(work, tag, movement, readings, origin, blur, basis, hot, cold)
    _opening(work, tag, movement, readings, diameters, origin, blur, basis, hot, cold)
    return None


def _blur(
    readings: Sequence[MarkReading], movement: MarkMovement, system: System
) -> tuple[float, str]:
    """Uncertainty (95 %) of one length [m], and where it is from."""
    visits = {movement.hot_visit, movement.cold_visit}
    own = [r for r in readings if r.quantity == MarkQuantity.FACE and r.visit in visits]
    worst = max(own, key=marks.reading_uncertainty)
    size = marks.reading_uncertainty(worst)
    if worst.uncertainty is not None:
        return size, f"{shown(size, 'movement', system)} a length (95 %), as entered"
    named = any(word in worst.instrument.casefold() for word in marks.INSTRUMENTS)
    by = f"usual for a {worst.instrument}" if named else "usual for a tape"
    told = shown(size, "movement", system)
    return size, f"not entered: {told} a length (95 %), {by} (common practice)"


def _axial(
    work: _Gathering, tag: str, movement: MarkMovement, readings: Sequence[MarkReading],
    origin: str, blur: float, basis: str, hot: dt.date | None, cold: dt.date | None,
) -> None:  # fmt: skip
    faces = movement.faces
    pairs = [faces[a] / 2 + faces[b] / 2 for a, b in ((12, 6), (3, 9)) if {a, b} <= faces.keys()]
    if not pairs:
        return work.leave(
            f"{tag}: length between its ends",
            "no opposite pair of clocks was read: tilt may hide in it; read 12 and 6, or 3 and 9",
        )
    value, note = sum(pairs) / len(pairs), ""
    error = blur / math.sqrt(len(pairs)) / NORMAL  # root two for two states, over two clocks a pair
    lengths: dict[str, list[float]] = defaultdict(list)
    for r in readings:
        if r.visit == movement.cold_visit and r.quantity == MarkQuantity.FACE and r.length:
            lengths[r.bellows].append(r.length)
    piece = work.joints[tag]
    place = {station.name: station.position for station in work.line.stations}
    length = math.dist(place[piece.start], place[piece.end])
    span = sum(sum(own) / len(own) for own in lengths.values())
    if 0.3 * length < span < 3.0 * length:
        grown = (span - length) * work.strain
        value -= grown
        error = math.hypot(error, 0.2 * grown)
        if abs(grown) > 3e-4:
            far, ends = (shown(one, "length", work.system) for one in (span, length))
            note = (
                f"marks {far} apart, ends {ends}: {shown(grown, 'movement', work.system)} of pipe "
                "growth between them taken off"
            )
    elif lengths:
        note = "the distance between the marks is not on record: their pipe is not taken off"
    work.take(
        Reading(kind=Kind.JOINT, place=tag, part="axial", value=value, error=error),
        origin, basis, hot, cold, note=note,
    )  # fmt: skip
    return None


def _opening(
    work: _Gathering, tag: str, movement: MarkMovement, readings: Sequence[MarkReading],
    diameters: Mapping[str, float | None], origin: str, blur: float, basis: str,
    hot: dt.date | None, cold: dt.date | None,
) -> None:  # fmt: skip
    twelve, three = clock(work.sides, tag)
    seen = {
        r.seen for r in readings if r.clock in {3, 9} and r.visit in
        {movement.hot_visit, movement.cold_visit}
    }  # fmt: skip
    sign = {
        frozenset({ClockSeen.ALONG}): 1.0, frozenset({ClockSeen.AGAINST}): -1.0
    }.get(frozenset(one for one in seen if one is not None) if None not in seen else frozenset())  # fmt: skip
    across = next((d for d in (diameters.get(movement.bellows), *diameters.values()) if d), None)
    upright = abs(work.sides.joints[tag][0][2]) > 0.9
    for first, last, side, sure in ((12, 6, twelve, 1.0), (3, 9, three, sign)):
        if first not in movement.faces or last not in movement.faces:
            continue
        if sure is None:
            work.leave(
                f"{tag}: opening between {first} and {last} o'clock",
                "which side 3 o'clock lies on is not on record: say on the marks whether the "
                "clock was seen along the flow or against it",
            )
            continue
        if across is None:
            work.leave(
                f"{tag}: opening between {first} and {last} o'clock",
                "the diameter between the marks is not on record",
            )
            continue
        angle = sure * (movement.faces[first] - movement.faces[last]) / across
        for part in ("angular 1", "angular 2"):
            share = sum(a * b for a, b in zip(opens_at(work.sides, tag, part), side, strict=True))
            if abs(share) > 0.99:
                reading = Reading(
                    kind=Kind.JOINT, place=tag, part=part, value=math.copysign(1.0, share) * angle,
                    error=2.0 * blur / across / NORMAL,
                )  # fmt: skip
                note = "12 o'clock taken as plant north: the pipe is upright" if upright else ""
                work.take(reading, origin, basis, hot, cold, note=note)


def _line_readings(work: _Gathering, readings: Sequence[LineReading]) -> None:
    groups: dict[tuple[str, LineQuantity, Way], list[LineReading]] = defaultdict(list)
    for one in readings:
        if one.visit.casefold() in work.dates:
            groups[one.place.casefold(), one.quantity, one.way].append(one)
    room: dict[tuple[str, str, bool], list[Used]] = defaultdict(list)
    for own in groups.values():
        hot, cold = (_newest(work, own, state) for state in (LineState.HOT, LineState.COLD))
        _line_reading(work, hot, cold, room)
    for pair in room.values():
        work.used.append(_both_sides(pair) if len(pair) > 1 else pair[0])


def _newest(work: _Gathering, own: Sequence[LineReading], state: LineState) -> LineReading | None:
    found = [one for one in own if one.state == state]
    return max(found, key=lambda one: work.dates[one.visit.casefold()], default=None)


def _line_reading(
    work: _Gathering,
    hot: LineReading | None,
    cold: LineReading | None,
    room: dict[tuple[str, str, bool], list[Used]],
) -> None:
    one = hot or cold
    if one is None:
        return
    what = f"{one.quantity.value} at {one.place}" + (
        f", {one.way.value}" if one.way != Way.NONE else ""
    )
    try:
        if one.quantity in {LineQuantity.POINTER, LineQuantity.SIDEWAYS, LineQuantity.OPENING}:
            if hot is None or cold is None:
                state = "hot" if cold is None else "cold"
                raise Unfit(f"read {state} only: a position, not a movement")
            _pair(work, hot, cold)
            return
        for reading in (hot, cold):
            if reading is not None:
                _single(work, reading, room)
    except Unfit as fault:
        work.leave(what, str(fault))


def _pair(work: _Gathering, hot: LineReading, cold: LineReading) -> None:
    at = placed(work.line, work.sides, hot)
    blurs = [blur_of(one, work.system) for one in (hot, cold)]
    work.take(
        Reading(
            kind=at.kind,
            place=at.place,
            part=at.part,
            value=at.sign * (value_of(hot) - value_of(cold)),
            error=math.hypot(*(blur for blur, _ in blurs)) / NORMAL,
        ),
        f"{hot.visit} against {cold.visit}",
        blurs[0][1],
        work.dates[hot.visit.casefold()],
        work.dates[cold.visit.casefold()],
    )


def _single(
    work: _Gathering, one: LineReading, room: dict[tuple[str, str, bool], list[Used]]
) -> None:
    at = placed(work.line, work.sides, one)
    hot = one.state == LineState.HOT
    blur, basis = blur_of(one, work.system)
    date = work.dates[one.visit.casefold()]
    reading = Reading(
        kind=at.kind,
        place=at.place,
        part=at.part,
        hot=hot,
        value=at.offset + at.sign * value_of(one),
        error=blur / NORMAL,
    )
    work.take(
        reading,
        one.visit,
        basis,
        date if hot else None,
        None if hot else date,
        drawn=at.kind == Kind.POSITION,
        note="read on the other side: the gap of the model is taken as the whole"
        if at.offset
        else "",
    )
    if at.kind == Kind.GAP:
        room[at.place, at.part, hot].append(work.used.pop())


def _both_sides(pair: Sequence[Used]) -> Used:
    """Room on both sides of a guide: half their difference, whatever the gap truly is."""
    mean = sum(one.reading.value or 0.0 for one in pair) / len(pair)
    error = math.hypot(*(one.reading.error or 0.0 for one in pair)) / len(pair)
    reading = msgspec.structs.replace(pair[0].reading, value=mean, error=error)
    return msgspec.structs.replace(pair[0], reading=reading, note="from the room on both sides")
