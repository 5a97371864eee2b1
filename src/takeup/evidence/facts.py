"""Facts that inspection brings home: visits, observations, marks, interply tests, series."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import Annotated, ClassVar

from takeup.fields import Fact, number, words


class VisitKind(StrEnum):
    """When and how a joint was looked at."""

    HOT = "hot walk"
    COLD = "cold inspection"
    INTERIM = "interim look"
    AS_LEFT = "as left"


class LineState(StrEnum):
    """The state of the line when a position was read."""

    HOT = "hot"
    COLD = "cold"
    INSTALLED = "as installed"


class Answer(StrEnum):
    """A yes/no check item; not asked is ``None``."""

    YES = "yes"
    NO = "no"


class MarkQuantity(StrEnum):
    """What was read between a pair of marks."""

    FACE = "face to face"
    LATERAL_Y = "lateral y"
    LATERAL_Z = "lateral z"
    ANGLE = "angle"
    TWIST = "twist"


class ClockSeen(StrEnum):
    """Which way a person looked who wrote down clock positions: it decides where 3 and 9 lie."""

    ALONG = "along the flow"
    AGAINST = "against the flow"


class LineQuantity(StrEnum):
    """What was read on a line beside the marks of a joint."""

    POINTER = "spring pointer"
    LOAD = "load on a support"
    ROOM = "room at a guide"
    PLACE = "place against drawing"
    SIDEWAYS = "joint sideways"
    OPENING = "joint opening"


class Way(StrEnum):
    """A way in space, as the plant says it."""

    NONE = "-"
    EAST = "east"
    NORTH_EAST = "north-east"
    NORTH = "north"
    NORTH_WEST = "north-west"
    WEST = "west"
    SOUTH_WEST = "south-west"
    SOUTH = "south"
    SOUTH_EAST = "south-east"
    UP = "up"
    DOWN = "down"


class Visit(Fact, frozen=True, kw_only=True):
    """One round of inspection by one party on one day."""

    KIND: ClassVar = "visit"
    TITLE: ClassVar = "Visits"
    KEY: ClassVar = ("id",)

    id: Annotated[str, words("Visit", "Short name, for example 2026-hot-1")]
    unit: Annotated[str, words("Unit", refers="unit")]
    kind: Annotated[VisitKind, words("Kind of visit")]
    date: Annotated[dt.date, words("Date")]
    inspector: Annotated[str, words("Inspector")]
    ambient: Annotated[float, number("temperature", "Ambient temperature", gt=0)] | None = None
    unit_rate: Annotated[float, number("share", "Unit rate", ge=0, le=1.5)] | None = None
    note: Annotated[str, words("Note", long=True)] = ""


class Observation(Fact, frozen=True, kw_only=True):
    """What one visit found for one check item on one joint, or on a support near it."""

    KIND: ClassVar = "observation"
    TITLE: ClassVar = "Observations"
    KEY: ClassVar = ("visit", "joint", "item", "place")

    visit: Annotated[str, words("Visit", refers="visit")]
    joint: Annotated[str, words("Joint", refers="joint")]
    item: Annotated[str, words("Check item", "Code of the check list", refers="check_item")]
    place: Annotated[str, words("Place", "Bellows letter, support tag, clock position")] = "-"
    grade: (
        Annotated[int, number("grade", "Grade", "0 as drawn to 4 act now", ge=0, le=4)] | None
    ) = None
    answer: Annotated[Answer, words("Answer", "For yes/no items")] | None = None
    value: Annotated[float, number("", "Reading", "SI unit of the item's quantity")] | None = None
    text: Annotated[str, words("What was seen", long=True)] = ""


class MarkReading(Fact, frozen=True, kw_only=True):
    """One reading of a mark pair; movement needs two, in two states of the line."""

    KIND: ClassVar = "mark_reading"
    TITLE: ClassVar = "Position marks"
    KEY: ClassVar = ("visit", "joint", "bellows", "quantity", "clock")

    visit: Annotated[str, words("Visit", refers="visit")]
    joint: Annotated[str, words("Joint", refers="joint")]
    bellows: Annotated[str, words("Bellows", "A, B, ... or - for the whole joint")] = "-"
    quantity: Annotated[MarkQuantity, words("Quantity")]
    clock: Annotated[int, number("count", "Clock position", "12, 3, 6, 9", ge=1, le=12)]
    state: Annotated[LineState, words("State of the line")]
    length: (
        Annotated[float, number("movement", "Length", "For all but angles", gt=-100, lt=100)] | None
    ) = None
    angle: Annotated[float, number("angle", "Angle", "For angles", gt=-1, lt=1)] | None = None
    uncertainty: Annotated[float, number("movement", "Uncertainty (95 %)", gt=0)] | None = None
    instrument: Annotated[str, words("Instrument")] = ""
    pipe_temperature: (
        Annotated[float, number("temperature", "Pipe metal temperature", gt=0)] | None
    ) = None
    seen: Annotated[ClockSeen, words("Clock seen looking", "Decides where 3 and 9 lie")] | None = (
        None
    )


class LineReading(Fact, frozen=True, kw_only=True):
    """One reading on a line in one state: a pointer, a load, room at a guide, a place.

    A spring's pointer and a joint's offset or opening need two, hot and cold.
    """

    KIND: ClassVar = "line_reading"
    TITLE: ClassVar = "Line readings"
    KEY: ClassVar = ("visit", "line", "place", "quantity", "way", "state")

    visit: Annotated[str, words("Visit", refers="visit")]
    line: Annotated[str, words("Line", refers="line")]
    place: Annotated[str, words("Place", "Support, joint or station, as the line's model has it")]
    quantity: Annotated[LineQuantity, words("Quantity")]
    way: Annotated[Way, words("Way", "Room, place, offset, opening: towards where")] = Way.NONE
    state: Annotated[LineState, words("State of the line")]
    length: (
        Annotated[
            float,
            number(
                "movement",
                "Length",
                "Pointer: + is up; room; offset; place measured less drawn",
                gt=-100,
                lt=100,
            ),
        ]
        | None
    ) = None
    angle: (
        Annotated[float, number("angle", "Angle", "Opening: + is wider there", gt=-1, lt=1)] | None
    ) = None
    load: Annotated[float, number("force", "Load", "Carried", ge=0)] | None = None
    uncertainty: Annotated[float, number("movement", "Uncertainty (95 %)", gt=0)] | None = None
    angle_uncertainty: (
        Annotated[float, number("angle", "Uncertainty of the angle (95 %)", gt=0)] | None
    ) = None
    load_uncertainty: (
        Annotated[float, number("force", "Uncertainty of the load (95 %)", gt=0)] | None
    ) = None
    instrument: Annotated[str, words("Instrument")] = ""
    note: Annotated[str, words("Note", long=True)] = ""


class Bubbles(StrEnum):
    """Where soap showed bubbles during an interply test."""

    NOT_LOOKED = "not looked"
    NONE = "none outside"
    FITTING = "at port, valve or fitting"
    OUTER = "on crown, cuff or seam outside"


class InterplyTest(Fact, frozen=True, kw_only=True):
    """Head of one interply pressure test; its readings follow as their own facts."""

    KIND: ClassVar = "interply_test"
    TITLE: ClassVar = "Interply tests"
    KEY: ClassVar = ("joint", "bellows", "date")

    joint: Annotated[str, words("Joint", refers="joint")]
    bellows: Annotated[str, words("Bellows", "A, B, ...")]
    date: Annotated[dt.date, words("Date")]
    visit: Annotated[str, words("Visit", refers="visit")] = ""
    line_pressure: (
        Annotated[float, number("pressure", "Line pressure during the test (gauge)", ge=-101325)]
        | None
    ) = None
    atmospheric: (
        Annotated[float, number("pressure_small", "Atmospheric pressure (absolute)", gt=0)] | None
    ) = None
    gas: Annotated[str, words("Test gas", "dry air, nitrogen, helium")] = ""
    port_to_port: (
        Annotated[Answer, words("Blow-through port to port", "Gas passed from port to port")] | None
    ) = None
    fills: Annotated[int, number("count", "Conditioning fills before this hold", ge=0)] | None = (
        None
    )
    gauge_range: Annotated[float, number("pressure_small", "Gauge range", gt=0)] | None = None
    gauge_resolution: (
        Annotated[float, number("pressure_small", "Gauge resolution", gt=0)] | None
    ) = None
    space_volume: Annotated[float, number("volume", "Interply space with hose", gt=0)] | None = None
    first_reading: (
        Annotated[
            float,
            number("pressure_small", "Pressure found at the port before the test (gauge)"),
        ]
        | None
    ) = None
    """What the space held when it was connected: line pressure there tells of an inner ply."""
    found: Annotated[str, words("Liquid or solids from the port", long=True)] = ""
    bubbles: Annotated[Bubbles, words("Bubbles")] = Bubbles.NOT_LOOKED
    by: Annotated[str, words("Tested by")] = ""
    note: Annotated[str, words("Note", long=True)] = ""


class InterplyReading(Fact, frozen=True, kw_only=True):
    """One reading of a held interply pressure."""

    KIND: ClassVar = "interply_reading"
    TITLE: ClassVar = "Interply readings"
    KEY: ClassVar = ("joint", "bellows", "date", "minute")

    joint: Annotated[str, words("Joint", refers="joint")]
    bellows: Annotated[str, words("Bellows")]
    date: Annotated[dt.date, words("Date of the test")]
    minute: Annotated[float, number("minutes", "Time since isolation", ge=0)]
    pressure: Annotated[float, number("pressure_small", "Pressure (gauge)", gt=-101325)]
    temperature: (
        Annotated[float, number("temperature", "Temperature at the bellows", gt=0)] | None
    ) = None


class Measured(StrEnum):
    """What a temperature history is of."""

    BELLOWS = "bellows"
    MEDIUM = "medium in the line"
    AIR = "air outside"


class TemperatureSeries(Fact, frozen=True, kw_only=True):
    """A temperature history kept as files beside the store: of a bellows, its medium or the air."""

    KIND: ClassVar = "temperature_series"
    TITLE: ClassVar = "Temperature histories"
    KEY: ClassVar = ("tag",)

    tag: Annotated[str, words("Instrument tag")]
    joint: Annotated[str, words("Joint", refers="joint")]
    bellows: Annotated[str, words("Bellows")] = "A"
    place: Annotated[str, words("Place", "Clock position, cuff or crown")] = ""
    file: Annotated[str, words("File", "Name under series/, by content")]
    rows: Annotated[int, number("count", "Rows kept", ge=0)]
    bad: Annotated[int, number("count", "Rows of bad quality", ge=0)] = 0
    first: Annotated[dt.datetime, words("First reading")]
    last: Annotated[dt.datetime, words("Last reading")]
    original: Annotated[str, words("Imported from")] = ""
    measures: Annotated[Measured, words("What it measures")] = Measured.BELLOWS
    parts: Annotated[str, words("Later files", "Names under series/, oldest first")] = ""

    @property
    def files(self) -> tuple[str, ...]:
        """All its files, oldest first."""
        return (self.file, *self.parts.split())


class AlertKind(StrEnum):
    """What asks for a person."""

    ABOVE = "above the high action line"
    BELOW = "below the low action band"
    RISING = "rising to the high line before the outage"
    FALLING = "falling to the low line before the outage"
    STEP_UP = "sudden rise"
    STEP_DOWN = "sudden fall"
    STUCK = "reading stands still"
    SILENT = "no reading"


class AlertState(StrEnum):
    """Where an alert stands; nothing but a person moves it on."""

    OPEN = "open"
    ACKNOWLEDGED = "acknowledged"
    CLOSED = "closed"


class Alert(Fact, frozen=True, kw_only=True):
    """A temperature that asked for a person, and what the person did."""

    KIND: ClassVar = "alert"
    TITLE: ClassVar = "Temperature alerts"
    KEY: ClassVar = ("tag", "cause", "opened")

    tag: Annotated[str, words("Instrument tag", refers="temperature_series")]
    cause: Annotated[AlertKind, words("What asks")]
    opened: Annotated[dt.date, words("Opened")]
    joint: Annotated[str, words("Joint", refers="joint")]
    since: Annotated[dt.date, words("Seen since")]
    why: Annotated[str, words("Why", long=True)]
    state: Annotated[AlertState, words("State")] = AlertState.OPEN
    by: Annotated[str, words("Acknowledged or closed by")] = ""
    note: Annotated[str, words("What was found or done", long=True)] = ""


class Photo(Fact, frozen=True, kw_only=True):
    """A photo kept as a file named by its content."""

    KIND: ClassVar = "photo"
    TITLE: ClassVar = "Photos"
    KEY: ClassVar = ("file",)

    file: Annotated[str, words("File", "Name under photos/, by content")]
    joint: Annotated[str, words("Joint", refers="joint")]
    visit: Annotated[str, words("Visit", refers="visit")] = ""
    item: Annotated[str, words("Check item", refers="check_item")] = ""
    caption: Annotated[str, words("Caption")] = ""
    taken: Annotated[dt.datetime, words("Taken")] | None = None
    width: Annotated[int, number("count", "Width in pixels", gt=0)]
    height: Annotated[int, number("count", "Height in pixels", gt=0)]
