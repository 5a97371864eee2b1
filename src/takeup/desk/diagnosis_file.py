"""Readings of a line as a file of our own: what a person measured, by way, not by axis number."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated, Any

import msgspec

from takeup.desk import diagnosis_placed as placing
from takeup.desk.diagnosis_evidence import Used
from takeup.desk.diagnosis_words import WAYS
from takeup.desk.diagnosis_words import words as reading_words
from takeup.errors import BadFile, Contradiction
from takeup.evidence.facts import LineQuantity, Way
from takeup.fields import number, words
from takeup.given import Fault, raw_of, sound, take
from takeup.line.diagnosis import Kind, Reading
from takeup.units import System, shown

if TYPE_CHECKING:
    from takeup.desk.diagnosis_words import Sides
    from takeup.line.model import Line

Length = Annotated[float, number("movement", "Length")]
Angle = Annotated[float, number("angle", "Angle")]
Blur = Annotated[float, number("movement", "Uncertainty (95 %)", gt=0)]


class JointRead(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A joint between its ends, hot minus cold."""

    tag: Annotated[str, words("Joint")]
    axial: Annotated[float, number("movement", "Change of length", "+ is longer")] | None = None
    offset: dict[str, Length] = {}
    """Sideways, by way: the end further along the line against the other"""
    opens: dict[str, Angle] = {}
    """Turn, by the side that grows longer"""
    uncertainty: Annotated[float, number("movement", "Uncertainty (95 %)", gt=0)] | None = None
    angle_uncertainty: (
        Annotated[float, number("angle", "Uncertainty of angles (95 %)", gt=0)] | None
    ) = None


class PointerRead(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The pointer of a spring or hanger on its scale, + up."""

    support: Annotated[str, words("Support")]
    cold: Length
    hot: Length
    uncertainty: Annotated[float, number("movement", "Uncertainty (95 %)", gt=0)] | None = None


class RoomRead(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Room between pipe and guide on one side."""

    support: Annotated[str, words("Guide")]
    side: Way
    state: Annotated[str, words("State", "hot or cold")]
    room: Annotated[float, number("movement", "Room", ge=0)]
    uncertainty: Annotated[float, number("movement", "Uncertainty (95 %)", gt=0)] | None = None


class PlaceRead(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Place of a station, measured less drawn."""

    station: Annotated[str, words("Station")]
    way: Way
    state: Annotated[str, words("State", "hot or cold")]
    off: Length
    uncertainty: Annotated[float, number("movement", "Uncertainty (95 %)", gt=0)] | None = None


class LoadRead(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Load that a support carries."""

    support: Annotated[str, words("Support")]
    state: Annotated[str, words("State", "hot or cold")]
    load: Annotated[float, number("force", "Load carried", ge=0)]
    uncertainty: Annotated[float, number("force", "Uncertainty (95 %)", gt=0)] | None = None


class ReadingsFile(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Readings of one line, of one campaign hot and one cold."""

    line: Annotated[str, words("Line", "Checked against the line asked for")] = ""
    hot: Annotated[dt.date, words("Date of the hot readings")] | None = None
    cold: Annotated[dt.date, words("Date of the cold readings")] | None = None
    joint: tuple[JointRead, ...] = ()
    pointer: tuple[PointerRead, ...] = ()
    room: tuple[RoomRead, ...] = ()
    place: tuple[PlaceRead, ...] = ()
    load: tuple[LoadRead, ...] = ()


def read(name: str, data: bytes) -> ReadingsFile:
    """The file called ``name``; raises :class:`takeup.errors.BadFile` by key path."""
    return sound(name, take(raw_of(name, data), ReadingsFile))


def used(
    given: ReadingsFile, line: Line, found: Sides, name: str, system: System = System.METRIC
) -> tuple[Used, ...]:
    """Readings of ``line`` out of a file.

    Raises :class:`takeup.errors.BadFile` with the key path of each place, side or state that the
    line has not, and :class:`takeup.errors.Contradiction` for a file of another line.
    """
    if given.line and given.line.casefold() != line.tag.casefold():
        raise Contradiction(f"{name}: $.line is {given.line!r}, but the line is {line.tag!r}")
    work = _Taking(given, line, found, name, system)
    for table, reader in work.readers():
        for at, one in enumerate(getattr(given, table)):
            work.at = (table, at)
            reader(one)
    if work.faults:
        told = "; ".join(f"{fault.place} {fault.wrong}" for fault in work.faults)
        raise BadFile(f"{name}: {told}")
    if not work.used:
        raise BadFile(f"{name}: no reading in it; give [[joint]], [[pointer]], [[room]], "
                      "[[place]] or [[load]]")  # fmt: skip
    return tuple(work.used)


class _Taking:
    def __init__(
        self, given: ReadingsFile, line: Line, found: Sides, name: str, system: System
    ) -> None:
        from takeup.line.model import Guide, Joint

        self.given, self.found, self.name, self.system = given, found, name, system
        self.at: tuple[str | int, ...] = ()
        self.used: list[Used] = []
        self.faults: list[Fault] = []
        self.joints = [piece.tag for piece in line.pieces if isinstance(piece, Joint)]
        self.pointed = [s.name for s in line.supports if isinstance(s, placing.POINTED)]
        self.loaded = [s.name for s in line.supports if isinstance(s, placing.LOADED)]
        self.guides = {s.name: s.gap for s in line.supports if isinstance(s, Guide)}
        self.stations = [station.name for station in line.stations]

    def readers(self) -> tuple[tuple[str, Callable[[Any], None]], ...]:
        return (("joint", self.joint), ("pointer", self.pointer), ("room", self.room),
                ("place", self.place), ("load", self.load))  # fmt: skip

    def fault(self, field: str, wrong: str) -> None:
        self.faults.append(Fault((*self.at, field), wrong))

    def name_of(self, field: str, value: str, known: list[str], what: str) -> str | None:
        try:
            return placing.resolve(value, known, what)
        except placing.Unfit as fault:
            self.fault(field, f"is {value!r}: {fault}")
            return None

    def state(self, value: str) -> bool | None:
        word = value.strip().casefold()
        if word not in {"hot", "cold"}:
            self.fault("state", f"is {value!r}; right would be 'hot' or 'cold'")
            return None
        return word == "hot"

    def add(self, kind: Kind, place: str, value: float, error: float | None, default: float, *,
            part: str = "", hot: bool | None = None, drawn: bool = False) -> None:  # fmt: skip
        own = default if error is None else error
        reading = Reading(kind=kind, place=place, part=part, value=value, hot=hot is not False,
                          error=own / placing.NORMAL)  # fmt: skip
        quantity = (
            "force" if kind == Kind.LOAD else "angle" if part[:7] == "angular" else "movement"
        )
        told = f"{shown(own, quantity, self.system)} (95 %)"
        usual = (
            "usual for a tape (common practice)"
            if kind == Kind.JOINT and quantity == "movement"
            else "engineering assumption"
        )
        basis = f"{told}, as given" if error is not None else f"not given: {told}, {usual}"
        made = Used(
            reading=reading,
            words=reading_words(reading, self.found),
            origin=f"file {self.name}",
            uncertainty=basis,
            hot=self.given.hot if hot is not False else None,
            cold=self.given.cold if hot is not True else None,
            drawn=drawn,
        )
        if any(one.reading.key == reading.key for one in self.used):
            self.fault("", f"gives {made.words} a second time; give one value")
            return
        self.used.append(made)

    def joint(self, one: JointRead) -> None:
        from takeup.evidence.marks import TAPE

        tag = self.name_of("tag", one.tag, self.joints, "joint")
        if tag is None:
            return
        two = math.sqrt(2.0)  # of two readings, each by a tape
        if one.axial is not None:
            self.add(Kind.JOINT, tag, one.axial, one.uncertainty, two * TAPE / 2.0, part="axial")
        for field, quantity, blur, default in (
            ("offset", LineQuantity.SIDEWAYS, one.uncertainty, two * TAPE),
            ("opens", LineQuantity.OPENING, one.angle_uncertainty, two * placing.TURN),
        ):
            for word, value in getattr(one, field).items():
                if word not in {way.value for way in WAYS}:
                    self.fault(field, f"is towards {word!r}; right would be "
                               f"{', '.join(way.value for way in WAYS)}")  # fmt: skip
                    continue
                try:
                    part, sign = placing.joint_part(self.found, tag, Way(word), quantity)
                except placing.Unfit as fault:
                    self.fault(field, str(fault))
                    continue
                self.add(Kind.JOINT, tag, sign * value, blur, default, part=part)

    def pointer(self, one: PointerRead) -> None:
        name = self.name_of("support", one.support, self.pointed, "spring or hanger")
        if name is not None:
            self.add(Kind.INDICATOR, name, one.hot - one.cold, one.uncertainty,
                     math.sqrt(2.0) * placing.POINTER)  # fmt: skip

    def room(self, one: RoomRead) -> None:
        name = self.name_of("support", one.support, list(self.guides), "guide")
        hot = self.state(one.state)
        if name is None or hot is None:
            return
        try:
            part, plus = placing.guide_part(self.found, name, one.side)
        except placing.Unfit as fault:
            self.fault("side", str(fault))
            return
        value = one.room if plus else 2.0 * self.guides[name] - one.room
        self.add(Kind.GAP, name, value, one.uncertainty, placing.ROOM, part=part, hot=hot)

    def place(self, one: PlaceRead) -> None:
        name = self.name_of("station", one.station, self.stations, "station")
        hot = self.state(one.state)
        if name is None or hot is None:
            return
        try:
            axis, sign = placing.axis_of(one.way)
        except placing.Unfit as fault:
            self.fault("way", str(fault))
            return
        self.add(Kind.POSITION, name, sign * one.off, one.uncertainty, placing.POINTER,
                 part=axis, hot=hot, drawn=True)  # fmt: skip

    def load(self, one: LoadRead) -> None:
        name = self.name_of("support", one.support, self.loaded, "rest, spring or hanger")
        hot = self.state(one.state)
        if name is not None and hot is not None:
            usual = max(placing.LOAD * one.load, placing.LEAST_LOAD)
            self.add(Kind.LOAD, name, one.load, one.uncertainty, usual, hot=hot)
