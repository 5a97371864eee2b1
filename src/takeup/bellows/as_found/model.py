"""What was found on a bellows, and what the examination of it gives."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import Annotated

import msgspec

from takeup.bellows.model import BellowsCase, BellowsReport, Movement
from takeup.checks import Finding, Outcome
from takeup.fields import number, words
from takeup.sources import Source


class LostPly(StrEnum):
    """Which ply no longer holds pressure."""

    NONE = "none"
    INNER = "inner"
    OUTER = "outer"


class Face(StrEnum):
    """From which side a ply was measured."""

    OUTSIDE = "outside"
    INSIDE = "inside"


class Thickness(msgspec.Struct, frozen=True, kw_only=True):
    """One reading of what is left of one ply."""

    thickness: Annotated[float, number("thickness", "Left of one ply", gt=0)]
    date: Annotated[dt.date, words("Date")] | None = None
    face: Annotated[Face, words("Measured from")] | None = None
    place: Annotated[str, words("Place", "crest, root or side wall; which convolution")] = ""


class Convolved(msgspec.Struct, frozen=True, kw_only=True):
    """One place on the convolutions, measured; what was not measured stays unknown."""

    convolution: Annotated[int, number("count", "Convolution, from end 1", ge=1)]
    angle: Annotated[float, number("angle", "Angle round the bellows")] = 0.0
    pitch: (
        Annotated[float, number("length", "Pitch here", "crest to the next crest", gt=0)] | None
    ) = None
    height: Annotated[float, number("length", "Height here", "root to crest", gt=0)] | None = None
    offset: (
        Annotated[
            float,
            number("movement", "Offset of the crest", "from a straight line along the end crests"),
        ]
        | None
    ) = None


class Done(msgspec.Struct, frozen=True, kw_only=True):
    """How often a movement of the case has come so far."""

    name: Annotated[str, words("Movement")]
    cycles: Annotated[float, number("cycles", "Cycles so far", ge=0)]


class AsFound(msgspec.Struct, frozen=True, kw_only=True):
    """What a walk or an inspection found on one bellows. What was not looked at stays unknown."""

    name: str = ""
    thicknesses: tuple[Thickness, ...] = ()
    loss_per_ply: (
        Annotated[float, number("thickness", "Metal lost per ply", "After forming", ge=0)] | None
    ) = None
    corrosion_rate: (
        Annotated[
            float, number("corrosion_rate", "Loss of thickness", "If not from dated readings", ge=0)
        ]
        | None
    ) = None
    date: Annotated[dt.date, words("Date found")] | None = None
    inside_diameter: Annotated[float, number("length", "Inside diameter measured", gt=0)] | None = (
        None
    )
    convolutions: tuple[Convolved, ...] = ()
    travel: Movement | None = None
    """Where the joint stood, from its installed position; cycles are how often."""
    offset_axial: (
        Annotated[float, number("movement", "Installed set found, axial", "+ extended")] | None
    ) = None
    offset_lateral: Annotated[float, number("movement", "Offset of the ends found")] | None = None
    offset_angular: Annotated[float, number("angle", "Rotation of the ends found")] | None = None
    lost_ply: Annotated[LostPly, words("Ply lost")] = LostPly.NONE
    metal_temperature: (
        Annotated[float, number("temperature", "Bellows metal temperature found", gt=0)] | None
    ) = None
    done: tuple[Done, ...] = ()
    """Cycles so far, by movement; they stand over those of the case."""
    cycles_per_year: (
        Annotated[float, number("cycles", "Cycles a year", "All movements together", gt=0)] | None
    ) = None
    hours_per_cycle: Annotated[float, number("hours", "Time per cycle", gt=0)] | None = None


class Variant(msgspec.Struct, frozen=True, kw_only=True):
    """One reading of what was found, worked out."""

    name: str
    """Such as "as found, highest and widest"."""
    case: BellowsCase
    report: BellowsReport


class CheckRow(msgspec.Struct, frozen=True, kw_only=True):
    """One check as designed beside the same check as found, at its worst variant."""

    id: str
    name: str
    designed: float | None
    """Use of capacity; above 1 is not met; ``None``: not evaluated."""
    found: float | None
    designed_outcome: Outcome
    found_outcome: Outcome
    change: float | None
    """found / designed - 1."""
    crosses: bool
    """Whether it was met as designed and is not met as found."""
    variant: str
    words: str
    provisional: bool
    source: Source
    cautions: tuple[str, ...] = ()


class FigureRow(msgspec.Struct, frozen=True, kw_only=True):
    """One figure as designed beside its span over the variants."""

    id: str
    name: str
    symbol: str
    kind: str
    designed: float | None
    low: float | None
    high: float | None
    source: Source


class Pattern(msgspec.Struct, frozen=True, kw_only=True):
    """A share of the shape that was measured."""

    id: str
    """angular, lateral, bow, inplane or pitch."""
    name: str
    size: float
    """Change of pitch at the crest over mean pitch [-]; for a bow its height [m]."""
    kind: str
    beyond: bool
    """Whether it is more than the limit."""
    words: str


class Distortion(msgspec.Struct, frozen=True, kw_only=True):
    """What measured pitches, heights and offsets say of the shape."""

    mean_pitch: float | None
    worst: float | None
    """Largest deviation of a pitch from the mean, as a share of it; signed."""
    where: str
    limit: float
    patterns: tuple[Pattern, ...]
    words: tuple[str, ...]
    source: Source


class Travel(msgspec.Struct, frozen=True, kw_only=True):
    """An excursion beyond the movements of the case."""

    outside: tuple[str, ...]
    """In words: which movement went beyond which."""
    per_convolution: float | None
    """Largest movement of a fibre per convolution, e [m]."""
    largest_counted: float | None
    """The same over the movements of the case [m]."""
    gap_used: float | None
    """Share of the clear gap between convolutions that it closed; 1 is touching."""
    stress: float | None
    """St at it, elastic [Pa]."""
    usage: float | None
    """Damage the excursion adds, superposed on the cycles of the case [-]."""
    usage_so_far: float | None
    usage_left: float | None
    words: tuple[str, ...]
    source: Source


class LifeLeft(msgspec.Struct, frozen=True, kw_only=True):
    """Cycles left of a movement, if it alone still came."""

    movement: str
    allowed: float
    """Design cycles as found, from new."""
    left: float


class Life(msgspec.Struct, frozen=True, kw_only=True):
    """Fatigue usage before what was found, and what is left after it."""

    usage_so_far: float | None
    usage_to_come: float | None
    """From the cycles still to count, in the state found."""
    left: float | None
    """Cycles left of all movements together, in their planned proportion."""
    each: tuple[LifeLeft, ...] = ()
    seconds: float | None = None
    """The same as time; ``None`` unless cycles a year or time per cycle are given."""
    words: tuple[str, ...] = ()
    source: Source


class PlyLoss(msgspec.Struct, frozen=True, kw_only=True):
    """The bellows with one ply lost."""

    lost: LostPly
    report: BellowsReport
    allowed: tuple[tuple[str, float], ...]
    """Largest pressure that every pressure check bears, by condition [Pa]."""
    redundant: bool | None
    """Whether what is left bears design pressure alone; ``None`` where a check is open."""
    life: Life
    words: tuple[str, ...]
    cautions: tuple[str, ...]


class Corrosion(msgspec.Struct, frozen=True, kw_only=True):
    """Metal left, how fast it goes, and when the first check is used up."""

    left: float
    """Least thickness left of a ply [m]."""
    lost: float
    """Against the thickness after forming [m]."""
    rate: float | None
    """[m/s]"""
    first: str
    """Check that is used up first; empty where none was found before the metal is gone."""
    thickness: float | None
    """Thickness at which it is [m]."""
    seconds: float | None
    """From ``date`` on."""
    date: dt.date | None
    until: dt.date | None
    words: tuple[str, ...]
    source: Source


class HandOver(msgspec.Struct, frozen=True, kw_only=True):
    """What these rules cannot judge, for whoever can."""

    to: str
    why: str
    condition: str
    temperature: float
    """Metal temperature [K]."""
    threshold: float
    """Where the metal begins to creep [K]."""
    stress: float | None
    """Meridional stress from pressure there, elastic [Pa]."""
    range: float | None
    """Largest elastic stress range St of the movements [Pa]; a relative measure only."""


class AsFoundReport(msgspec.Struct, frozen=True, kw_only=True):
    """The bellows as designed beside the bellows as found."""

    name: str
    designed: BellowsReport
    variants: tuple[Variant, ...]
    checks: tuple[CheckRow, ...]
    figures: tuple[FigureRow, ...]
    crossed: tuple[str, ...]
    """Checks met as designed and not met as found."""
    life: Life
    distortion: Distortion | None = None
    travel: Travel | None = None
    ply_loss: PlyLoss | None = None
    corrosion: Corrosion | None = None
    findings: tuple[Finding, ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    hand_overs: tuple[HandOver, ...] = ()
