"""What a person may write about a line: one class per table, SI or text with a unit."""

from __future__ import annotations

from typing import Annotated

import msgspec

from takeup.fields import number
from takeup.line.model import (
    BellowsSpring,
    Book,
    DesignMovement,
    Ends,
    Hardware,
    Hold,
    OfTee,
    RangeRule,
    TeeKind,
    WeldKind,
)


class Form(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A table of the text."""


Length = Annotated[float, number("distance", "length")]
Some = Annotated[float, number("distance", "length", gt=0, le=1e5)]
Clear = Annotated[float, number("length", "clearance", ge=0, le=1e5)]
Angle = Annotated[float, number("angle", "angle")]
Force = Annotated[float, number("force", "force", ge=0, le=1e12)]
Mass = Annotated[float, number("mass", "mass", ge=0, le=1e8)]
PerLength = Annotated[float, number("mass_per_length", "mass per length", ge=0, le=1e6)]
Rate = Annotated[float, number("axial_rate", "rate", gt=0, le=1e15)]
Turning = Annotated[float, number("angular_rate", "angular rate", gt=0, le=1e15)]
Friction = Annotated[float, number("ratio", "coefficient of friction", ge=0, le=2)]
Temperature = Annotated[float, number("temperature", "metal temperature", gt=0)]
Point = tuple[
    Annotated[float, number("distance", "coordinate", ge=-1e5, le=1e5)],
    ...,
]
Hot = Annotated[
    float, msgspec.Meta(gt=0, extra={"kind": "temperature"}, extra_json_schema={"x-unit": "K"})
]
Direction = str | tuple[float, ...]


class PipeForm(Form, frozen=True, kw_only=True):
    """``[[pipe]]``: a pipe as bought."""

    name: str
    outside: Annotated[float, number("length", "outside diameter", ge=1e-3, le=50)]
    wall: Annotated[float, number("thickness", "nominal wall", ge=1e-4, le=5)]
    metal: str
    allowance: Annotated[float, number("thickness", "allowance off the wall", ge=0)] = 0.0
    insulation: PerLength = 0.0
    lining: PerLength = 0.0
    lining_thickness: Annotated[float, number("length", "lining thickness", ge=0)] = 0.0
    contents: Annotated[float, number("density", "density of contents", ge=0, le=1e5)] = 0.0
    weld_factor: Annotated[float, number("ratio", "weld factor", gt=0, le=1)] = 1.0
    weld_strength: (
        Annotated[float, number("ratio", "strength reduction W of welds", gt=0, le=1)] | None
    ) = None
    en_cold: Annotated[float, number("stress", "EN design stress when cold", gt=0)] | None = None
    en_hot: Annotated[float, number("stress", "EN design stress when hot", gt=0)] | None = None
    en_creep: Annotated[float, number("stress", "EN design stress in creep", gt=0)] | None = None


class StationForm(Form, frozen=True, kw_only=True):
    """``[[station]]``: a point given by its coordinates, east, north, up."""

    name: str
    at: Point


class LegForm(Form, frozen=True, kw_only=True):
    """One step of a run: how far, which way, what it is, where it ends."""

    to: str
    east: Length | None = None
    west: Length | None = None
    north: Length | None = None
    south: Length | None = None
    up: Length | None = None
    down: Length | None = None
    along: Length | None = None
    """Length along the pipe: straight on, or by ``bearing`` and ``slope``"""
    bearing: Angle | None = None
    """Clockwise from north, seen from above"""
    slope: Annotated[float, number("share", "rise over horizontal length")] | None = None
    at: Point | None = None
    """End coordinates"""
    bend: str | float | None = None
    """At the end: a radius, long, short or square"""
    flanged: Ends = Ends.NONE
    mitre: Annotated[float, number("angle", "half angle between cuts", gt=0, lt=0.8)] | None = None
    tangents: tuple[str, ...] = ()
    """Names of the tangent points, if not NAME.in and NAME.out"""
    pipe: str = ""
    """Pipe of this leg and those after it"""
    reducer: str | None = None
    """A reducer to this pipe"""
    rigid: str | None = None
    """A rigid piece, by its name"""
    mass: Mass | None = None
    metal: str = ""
    joint: str | None = None
    """An expansion joint, by its tag"""


class RunForm(Form, frozen=True, kw_only=True):
    """``[[run]]``: a sequence of legs from a station."""

    start: str
    at: Point | None = None
    pipe: str = ""
    legs: tuple[LegForm, ...]


class TeeForm(Form, frozen=True, kw_only=True):
    """``[[tee]]``: what makes the branch at a station."""

    station: str
    kind: TeeKind
    pad: Clear = 0.0
    crotch: Clear = 0.0


class WeldForm(Form, frozen=True, kw_only=True):
    """``[[weld]]``: how pipe ends are joined at a station, where that is not a butt weld."""

    station: str
    kind: WeldKind
    leg: Some | None = None


Factor = Annotated[float, number("ratio", "stress intensification factor", ge=1)]
Flexible = Annotated[float, number("ratio", "flexibility factor", gt=0)]


class FactorForm(Form, frozen=True, kw_only=True):
    """``[[factor]]``: factors a person states for a piece or a station, with his source."""

    source: str
    station: str = ""
    """A tee, a weld, or the corner of a bend"""
    piece: tuple[str, ...] | None = None
    """Start and end of a piece"""
    part: OfTee = OfTee.ALL
    i_in: Factor | None = None
    i_out: Factor | None = None
    i_torsion: Factor | None = None
    i_axial: Factor | None = None
    sustained_in: Factor | None = None
    sustained_out: Factor | None = None
    sustained_torsion: Factor | None = None
    k_in: Flexible | None = None
    k_out: Flexible | None = None
    k_torsion: Flexible | None = None


class BellowsForm(Form, frozen=True, kw_only=True):
    """One bellows of a joint."""

    length: Some
    axial_rate: Rate
    axial_rate_cold: Rate | None = None
    mean_diameter: Annotated[float, number("distance", "mean diameter", ge=1e-3, le=50)]
    torsion_rate: Turning | None = None
    mass: Mass = 0.0


class HardwareForm(Form, frozen=True, kw_only=True):
    """What holds the ends of a joint."""

    hold: Hold
    rods: int = 0
    circle: Clear = 0.0
    rod_area: Annotated[float, number("metal_area", "area of a rod", ge=0)] = 0.0
    rod_length: Clear = 0.0
    gap_out: Clear = 0.0
    gap_in: Clear | None = None
    axis: Direction | None = None
    clock: Annotated[float, number("ratio", "clock position of pin or first rod", ge=0, le=12)] | (
        None
    ) = None
    pin_diameter: Clear = 0.0
    friction: Friction = 0.0
    allowed: Force | None = None
    rod_metal: str = ""
    rod_rise: (
        Annotated[float, number("share", "share of the rise of the metal", ge=0, le=2)] | None
    ) = None


class DesignForm(Form, frozen=True, kw_only=True):
    """Movement a joint is designed for, cold to hot and all at once."""

    axial: Annotated[float, number("movement", "axial movement", ge=0)] | None = None
    lateral: Annotated[float, number("movement", "lateral movement", ge=0)] | None = None
    angular: Annotated[float, number("angle", "angular movement", ge=0)] | None = None


class JointForm(Form, frozen=True, kw_only=True):
    """``[[joint]]``: a joint whose data are given in the text."""

    tag: str
    bellows: tuple[BellowsForm, ...]
    length: Some | None = None
    over_both: Some | None = None
    spool_pipe: str = ""
    hardware: tuple[HardwareForm, ...] = ()
    locked: bool = False
    design: DesignForm | None = None


class JointData(msgspec.Struct, frozen=True, kw_only=True):
    """What the register knows about a joint that a line names, SI."""

    bellows: tuple[BellowsSpring, ...]
    length: float | None = None
    """Between weld ends [m]"""
    over_both: float | None = None
    spool_pipe: str = ""
    hardware: tuple[Hardware, ...] = ()
    locked: bool = False
    design: DesignMovement | None = None


class On(Form, frozen=True, kw_only=True):
    """What every support has."""

    station: str
    name: str = ""


Six = tuple[float | str, ...]


class AnchorForm(On, frozen=True, kw_only=True):
    """``[[anchor]]``."""

    stiffness: Six | None = None
    growth: dict[str, Point] = {}
    allowed: Six | None = None
    nozzle: bool = False


class RestForm(On, frozen=True, kw_only=True):
    """``[[rest]]``."""

    friction: Friction = 0.3
    gap: Clear = 0.0
    allowed: Force | None = None


class GuideForm(On, frozen=True, kw_only=True):
    """``[[guide]]``."""

    gap: Clear = 0.0
    friction: Friction = 0.0
    across: Direction | None = None
    allowed: Force | None = None


class StopForm(On, frozen=True, kw_only=True):
    """``[[stop]]``."""

    direction: Direction | None = None
    gap: Clear | None = None
    gap_plus: Clear | None = None
    gap_minus: Clear | None = None
    one_way: bool = False
    friction: Friction = 0.0
    allowed: Force | None = None


class RodForm(On, frozen=True, kw_only=True):
    """``[[rod]]``."""

    length: Some
    stiffness: Rate = 1e8
    allowed: Force | None = None


class SpringForm(On, frozen=True, kw_only=True):
    """``[[spring]]``: a variable spring."""

    rate: Rate
    load: Force
    travel_up: Clear
    travel_down: Clear
    pinned: bool = False
    rod: Clear = 0.0


class ConstantForm(On, frozen=True, kw_only=True):
    """``[[constant]]``: a constant spring."""

    load: Force
    tolerance: Annotated[float, number("share", "tolerance of load", ge=0, le=1)] = 0.06
    travel_up: Clear
    travel_down: Clear
    seized: bool = False


class StrutForm(On, frozen=True, kw_only=True):
    """``[[strut]]``."""

    direction: Direction | None = None
    stiffness: Rate = 1e8
    allowed: Force | None = None


class StateForm(Form, frozen=True, kw_only=True):
    """``[[state]]``: one condition."""

    name: str
    pressure: Annotated[float, number("pressure", "gauge pressure", ge=-1.1e5, le=1e9)]
    temperature: Temperature
    temperatures: dict[str, Hot] = {}
    weight: bool = True
    contents: bool = True
    after: str = ""
    role: str = ""
    acceleration: tuple[
        Annotated[float, number("share", "acceleration", ge=-100, le=100)],
        ...,
    ] = (0.0, 0.0, 0.0)
    """East, north, up, in shares of gravity"""
    hours_each: Annotated[float, number("hours", "time of an occasional state", gt=0)] | None = None
    hours_year: Annotated[float, number("hours", "its time in a year", gt=0)] | None = None


class LineForm(Form, frozen=True, kw_only=True):
    """A whole line as text."""

    line: str
    cycles: Annotated[float, number("cycles", "equivalent full cycles", gt=0)] = 7000.0
    notes: tuple[str, ...] = ()
    factors: Book = Book.APPENDIX_D
    allowable_range: RangeRule = RangeRule.PLAIN
    cold_spring: Annotated[float, number("share", "cold spring", ge=0, le=1)] = 0.0
    factor: tuple[FactorForm, ...] = ()
    weld: tuple[WeldForm, ...] = ()
    pipe: tuple[PipeForm, ...]
    station: tuple[StationForm, ...] = ()
    run: tuple[RunForm, ...]
    tee: tuple[TeeForm, ...] = ()
    joint: tuple[JointForm, ...] = ()
    anchor: tuple[AnchorForm, ...] = ()
    rest: tuple[RestForm, ...] = ()
    guide: tuple[GuideForm, ...] = ()
    stop: tuple[StopForm, ...] = ()
    rod: tuple[RodForm, ...] = ()
    spring: tuple[SpringForm, ...] = ()
    constant: tuple[ConstantForm, ...] = ()
    strut: tuple[StrutForm, ...] = ()
    state: tuple[StateForm, ...]
