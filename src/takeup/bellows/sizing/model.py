"""What sizing takes and gives. SI inside."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import msgspec

from takeup.bellows.model import (
    Assembly,
    Basis,
    BellowsCase,
    BellowsReport,
    Condition,
    EndFixity,
    FatigueCurve,
    Movement,
    Side,
    Treatment,
)
from takeup.checks import Ground
from takeup.fields import number, words


class Sheet(StrEnum):
    """Series of sheet thicknesses."""

    METRIC = "metric"
    US_GAUGE = "us gauge"


class Rings(StrEnum):
    """Whether the roots may carry reinforcing rings."""

    NONE = "none"
    EITHER = "with or without"
    ONLY = "only with"


class Steps(msgspec.Struct, frozen=True, kw_only=True):
    """A stepped range of lengths, both ends included."""

    least: Annotated[float, number("length", "From", gt=0)]
    most: Annotated[float, number("length", "To", gt=0)]
    step: Annotated[float, number("length", "Step", gt=0)]


class SizingTask(msgspec.Struct, frozen=True, kw_only=True):
    """The duty, the old envelope and the space to search. The file format of the verb.

    Fields shared with :class:`takeup.bellows.model.BellowsCase` mean the same here.
    """

    name: str = ""
    basis: Basis = Basis.ASME_26
    conditions: tuple[Condition, ...]
    """Design and operating, test where one is made."""
    movements: tuple[Movement, ...]
    inside_diameter: Annotated[float, number("length", "Inside diameter Db", gt=0)]
    outside_diameter: (
        Annotated[
            float, number("length", "Largest outside diameter", "Over crests and rings", gt=0)
        ]
        | None
    ) = None
    """``None``: not limited."""
    live_length: (
        Annotated[float, number("length", "Largest live length N q of one bellows", gt=0)] | None
    ) = None
    """``None``: limited by the greatest number of convolutions only."""
    tangent_length: Annotated[
        float, number("length", "End tangent length Lt", "Each end, outside the live length", gt=0)
    ]
    """Needed: without it the hoop stress of the tangents stays open."""
    collar_length: Annotated[float, number("length", "Collar length Lc", ge=0)] = 0.0
    collar_thickness: Annotated[float, number("thickness", "Collar thickness tc", ge=0)] = 0.0
    collar_material: Annotated[str, words("Collar metal", refers="alloy")] = ""
    assembly: Annotated[Assembly, words("Assembly")] = Assembly.SINGLE
    pressurised: Annotated[Side, words("Pressure stands")] = Side.INSIDE
    length_over_both: (
        Annotated[float, number("length", "Lu, over outer ends of both bellows", gt=0)] | None
    ) = None
    spool_least: Annotated[
        float, number("length", "Least length between the two bellows", ge=0)
    ] = 0.0
    spool_held: Annotated[bool, words("Spool held sideways")] = False
    ends: Annotated[EndFixity, words("Ends held", "Default by assembly")] | None = None
    offset_axial: Annotated[float, number("movement", "Set when installed, axial")] = 0.0
    offset_lateral: Annotated[float, number("movement", "Set when installed, lateral")] = 0.0
    offset_angular: Annotated[float, number("angle", "Set when installed, angular")] = 0.0
    alloys: tuple[str, ...]
    """Allowed bellows alloys."""
    treatment: Annotated[Treatment, words("Heat treatment")] = Treatment.AS_FORMED
    forming_factor: (
        Annotated[float, number("ratio", "Forming factor", "1.0 roll, 0.6 hydraulic", gt=0)] | None
    ) = None
    weld_factor: Annotated[float, number("ratio", "Weld factor", gt=0, le=1)] = 1.0
    kg: Annotated[float, number("ratio", "Kg, strength reduction", ge=1, le=4)] | None = None
    ctheta: Annotated[float, number("ratio", "Ctheta, squirm with rotation", gt=0, le=1)] | None = (
        None
    )
    kr: Annotated[float, number("ratio", "Kr, opened pitch (EJMA)", ge=1)] | None = None
    material_factor: Annotated[float, number("ratio", "fc, mean curve (EJMA)", gt=0)] | None = None
    fatigue_curve: FatigueCurve | None = None
    testable: Annotated[bool, words("Two plies with a test port between them")] = False
    each_ply_alone: Annotated[
        bool, words("Each ply alone must meet the pressure checks", "Two plies only")
    ] = False
    plies_least: Annotated[int, number("count", "Least plies", ge=1, le=10)] = 1
    plies_most: Annotated[int, number("count", "Most plies", ge=1, le=10)] = 3
    sheet: Annotated[Sheet, words("Series of sheet thicknesses")] = Sheet.METRIC
    thickness_least: Annotated[float, number("thickness", "Thinnest ply", gt=0)] = 0.0003
    thickness_most: Annotated[float, number("thickness", "Thickest ply", gt=0)] = 0.003
    thicknesses: tuple[Annotated[float, number("thickness", "Ply thickness", gt=0)], ...] = ()
    """Ply thicknesses [m] in place of a series."""
    heights: Steps | None = None
    """``None``: from 10 mm to what the outside diameter, or a third of Db, leaves."""
    pitches: Steps | None = None
    """``None``: from 10 mm to twice the greatest height, at most 100 mm."""
    convolutions_least: Annotated[int, number("count", "Least convolutions", ge=1)] = 2
    convolutions_most: Annotated[int, number("count", "Most convolutions", ge=1, le=60)] = 24
    radius_shares: tuple[
        Annotated[float, number("ratio", "rm as share of the pitch", gt=0, lt=0.5)], ...
    ] = (0.25,)
    """Torus radius rm as share of the pitch; 0.25 is parallel side walls."""
    rings: Annotated[Rings, words("Reinforcing rings")] = Rings.NONE
    ring_bars: tuple[Annotated[float, number("length", "Diameter of ring bar", gt=0)], ...] = ()
    """Diameters [m] of round bar for rings in the roots."""
    ring_material: Annotated[str, words("Ring metal", refers="alloy")] = ""
    """Empty: the bellows alloy."""
    most_stress: Annotated[float, number("ratio", "Most use of stress limits", gt=0, le=1)] = 1.0
    most_squirm: Annotated[float, number("ratio", "Most use of squirm pressure", gt=0, le=1)] = 1.0
    most_usage: Annotated[float, number("ratio", "Most fatigue usage", gt=0, le=1)] = 1.0
    most_axial_rate: Annotated[float, number("axial_rate", "Most axial rate", gt=0)] | None = None
    most_lateral_rate: Annotated[float, number("axial_rate", "Most lateral rate", gt=0)] | None = (
        None
    )
    most_angular_rate: (
        Annotated[float, number("angular_rate", "Most angular rate", gt=0)] | None
    ) = None
    show: Annotated[int, number("count", "How many of the set to show", ge=1, le=100)] = 12


class Goal(StrEnum):
    """What the non-dominated set is taken over; margin to be large, the rest to be small."""

    AXIAL = "axial rate"
    LATERAL = "lateral rate"
    ANGULAR = "angular rate"
    THRUST = "pressure thrust"
    LENGTH = "live length"
    MASS = "mass of bellows metal"
    MARGIN = "least margin"


class Candidate(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One bellows that meets every check: its shape, and what sets it apart. SI.

    :func:`takeup.bellows.sizing.choice` gives it as a case of the engine, with its report.
    """

    number: int
    """Its place in the searched space: the same task gives the same numbers."""
    material: str
    plies: int
    ply_thickness: float
    height: float
    pitch: float
    convolutions: int
    torus_radius: float
    ring_bar: float
    """Diameter of the bar of its rings; 0 without."""
    axial_rate: float
    lateral_rate: float
    angular_rate: float
    """Rates of the joint at the working condition."""
    thrust: float
    """Largest pressure thrust of all conditions."""
    live_length: float
    """N q of one bellows."""
    outside_diameter: float
    """Over crests, or over rings where they stand further out."""
    mass: float
    """Bellows metal with rings, all bellows of the joint; without hardware, spool and collars."""
    margin: float
    """1 less the greatest use of any stress, squirm or fatigue limit, all plies whole."""
    governing: str
    """Check id of that greatest use."""


class Choice(msgspec.Struct, frozen=True, kw_only=True):
    """One of the set shown to the reader: why it stands out, and its report in full."""

    reasons: tuple[str, ...]
    candidate: Candidate
    case: BellowsCase
    report: BellowsReport
    ply_alone: tuple[BellowsReport, ...] = ()
    """Reports with the inner and with the outer ply lost, of a two-ply bellows."""


class Excluded(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """How many candidates something excludes."""

    what: str
    """The reason or check in words."""
    id: str
    """Short id: reason, or check id."""
    count: int
    """Candidates it excludes; reasons before calculation count once each, by the first met."""
    alone: int = 0
    """Of these, candidates that nothing else excludes."""
    open: int = 0
    """Of these, candidates for which it could not be evaluated."""


class NearMiss(msgspec.Struct, frozen=True, kw_only=True):
    """A candidate that fails by little: what it is and by how much each limit is exceeded."""

    number: int
    case: BellowsCase
    worst: float
    """Greatest use of a limit, above 1."""
    failing: tuple[tuple[str, float], ...]
    """Check id and use of its limit, worst first."""


class SizingResult(msgspec.Struct, frozen=True, kw_only=True):
    """All that the search found."""

    task: SizingTask
    space: int
    """Combinations in the space."""
    evaluated: int
    """Of these, worked out by the engine: every other one is excluded before, with its reason."""
    feasible: int
    """Of these, candidates that meet every check."""
    excluded: tuple[Excluded, ...]
    """Before calculation: envelope and shape. Adds up to ``space - evaluated``."""
    failed: tuple[Excluded, ...]
    """By family of checks (any condition), most excluding first; a candidate counts under every
    one that it fails, under ``alone`` if it fails no other."""
    failed_checks: tuple[Excluded, ...]
    """The same by single check, with how many were left open."""
    goals: tuple[Goal, ...]
    front: tuple[Candidate, ...]
    """The whole non-dominated set, by number."""
    choices: tuple[Choice, ...]
    """The thinned list, named ones first."""
    nearest: tuple[NearMiss, ...] = ()
    """Where nothing fits."""
    grounds: tuple[Ground, ...] = ()
    """What binds; where nothing fits, which limit would have to give."""
    notes: tuple[str, ...] = ()
