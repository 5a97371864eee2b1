"""A line as the engine takes it: stations in space, pieces between them, supports, states. SI.

Axes: x east, y north, z up [m].  Every object keeps the line number of the text it came from
(``at``, 0 when it came from elsewhere), so that a fault can be shown where it is.
"""

from __future__ import annotations

from enum import StrEnum

import msgspec

Vector = tuple[float, float, float]


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """Anything that a text states."""

    at: int = 0
    """Line number of the text; 0: not from a text"""


class Pipe(Part, frozen=True, kw_only=True):
    """A pipe as bought: size, metal, what it carries and wears."""

    name: str
    outside: float
    """Outside diameter [m]"""
    wall: float
    """Nominal wall [m]"""
    metal: str
    """Alloy of the material tables"""
    allowance: float = 0.0
    """Corrosion, erosion and mill allowance off the wall, for sustained stress [m]"""
    insulation_mass: float = 0.0
    """Insulation and cover [kg/m]"""
    lining_mass: float = 0.0
    """Refractory or other lining [kg/m]"""
    lining_thickness: float = 0.0
    """[m], takes room from the contents"""
    contents_density: float = 0.0
    """[kg/m3] in operation"""
    weld_factor: float = 1.0
    """Longitudinal joint, for pressure only"""
    weld_strength: float | None = None
    """Strength reduction W of girth welds at temperature, on Sh; ``None``: not stated"""
    en_cold: float | None = None
    """EN 13480-3 design stress at 20 C [Pa]; with ``en_hot`` its checks are made"""
    en_hot: float | None = None
    """The same at the temperature of the hot state [Pa]"""
    en_creep: float | None = None
    """Its design stress in the creep range [Pa]"""


class Station(Part, frozen=True, kw_only=True):
    """A named point of the line."""

    name: str
    position: Vector


class Ends(StrEnum):
    """Flanges that hold the ends of a bend round."""

    NONE = "none"
    ONE = "one"
    BOTH = "both"


class Straight(Part, frozen=True, kw_only=True):
    """Straight pipe between two stations."""

    start: str
    end: str
    pipe: str


class Bend(Part, frozen=True, kw_only=True):
    """A circular bend between its two tangent points."""

    start: str
    end: str
    pipe: str
    corner: Vector
    """Where the two tangents meet [m]"""
    radius: float
    """Of the centre line [m]"""
    flanged: Ends = Ends.NONE
    mitre: float | None = None
    """Half angle between mitre cuts [rad]; ``None``: smooth"""


class Reducer(Part, frozen=True, kw_only=True):
    """A concentric reducer."""

    start: str
    end: str
    pipe: str
    """At the start"""
    to_pipe: str
    """At the end"""


class Rigid(Part, frozen=True, kw_only=True):
    """Something far stiffer than pipe: a valve, a flange pair, a vessel stub."""

    start: str
    end: str
    mass: float
    """[kg], with contents and insulation"""
    metal: str = ""
    """For its growth; nothing: that of the pipe before it"""
    name: str = ""


class TeeKind(StrEnum):
    """Branch connections that factors are stated for."""

    WELDING = "welding tee"
    PAD = "reinforced fabricated tee"
    PLAIN = "unreinforced fabricated tee"
    EXTRUDED = "extruded outlet"
    INSERT = "welded-in contour insert"
    FITTING = "integrally reinforced fitting"


class Tee(Part, frozen=True, kw_only=True):
    """What makes a branch at a station where three pieces meet."""

    station: str
    kind: TeeKind
    pad: float = 0.0
    """Pad thickness [m]"""
    crotch: float = 0.0
    """Crotch radius of an extruded outlet [m]"""


class Book(StrEnum):
    """Where stress intensification and flexibility factors come from."""

    APPENDIX_D = "Appendix D"
    B31J = "B31J"


class RangeRule(StrEnum):
    """Equation of ASME B31.3 302.3.5(d) for the allowable displacement stress range."""

    PLAIN = "1a"
    LIBERAL = "1b"


class WeldKind(StrEnum):
    """Joints between pipe ends that factors are stated for."""

    BUTT = "butt weld"
    DOUBLE_SLIP_ON = "double-welded slip-on flange"
    FILLET = "fillet weld"
    LAP = "lap-joint flange"
    THREADED = "threaded joint"


class Weld(Part, frozen=True, kw_only=True):
    """How pipe ends are joined at a station, where that is more than a butt weld."""

    station: str
    kind: WeldKind
    leg: float | None = None
    """Leg of a fillet weld [m]"""


class OfTee(StrEnum):
    """Which ends at a branch connection stated factors are for."""

    ALL = "all"
    RUN = "run"
    BRANCH = "branch"


class StatedFactors(Part, frozen=True, kw_only=True):
    """Factors that a person states, with his source; they stand before those of the book."""

    station: str = ""
    """Where pipe ends meet: a weld, a tee; nothing: ``piece``"""
    piece: tuple[str, str] | None = None
    """Start and end of a bend, reducer or straight"""
    part: OfTee = OfTee.ALL
    source: str
    i_in: float | None = None
    """In the plane of the bend or tee; ``None``, here and below: that of the book"""
    i_out: float | None = None
    i_torsion: float | None = None
    i_axial: float | None = None
    sustained_in: float | None = None
    """Sustained index; ``None``: 0.75 of the factor, at least 1"""
    sustained_out: float | None = None
    sustained_torsion: float | None = None
    k_in: float | None = None
    """Flexibility of a bend or of the branch of a tee; ``None``: that of the book"""
    k_out: float | None = None
    k_torsion: float | None = None


class BellowsSpring(msgspec.Struct, frozen=True, kw_only=True):
    """One bellows as a line feels it."""

    length: float
    """Convoluted length [m]"""
    axial_rate: float
    """Of the whole bellows, hot [N/m]"""
    axial_rate_cold: float | None = None
    mean_diameter: float
    """[m]; effective area and angular rate follow from it"""
    torsion_rate: float | None = None
    """[N.m/rad]; ``None``: as stiff as the pipe beside it"""
    mass: float = 0.0
    """With liner, cover and what lies in it [kg]"""


class Hold(StrEnum):
    """How the hardware of a joint holds its ends."""

    FREE = "free"
    TIED = "tie rods"
    LIMIT = "limit rods"
    HINGE = "hinge"
    GIMBAL = "gimbal"
    PANTOGRAPH = "pantograph"
    BALANCED = "pressure-balanced"


class Hardware(msgspec.Struct, frozen=True, kw_only=True):
    """Hardware across one bellows, or across both of a universal."""

    hold: Hold
    rods: int = 0
    circle: float = 0.0
    """Diameter of the circle the rods stand on [m]"""
    rod_area: float = 0.0
    """Of one rod [m2]"""
    rod_length: float = 0.0
    """Between nuts [m]; 0: that of what it spans"""
    gap_out: float = 0.0
    """How far the joint may lengthen before the rods hold [m]"""
    gap_in: float | None = None
    """How far it may shorten before they hold [m]; ``None``: nothing on that side"""
    axis: Vector | None = None
    """Direction of hinge pins"""
    clock: float | None = None
    """Hour at which a hinge pin or the first rod stands, looking from start to end; 12 is up, or
    north where the joint stands upright.  ``axis`` goes before it."""
    pin_diameter: float = 0.0
    """[m], for friction of pins"""
    friction: float = 0.0
    """Of pins and washers"""
    allowed: float | None = None
    """Pull that one rod, or the hinge or gimbal as a whole, may carry [N]"""
    rod_metal: str = ""
    """Alloy of rods, for their growth; nothing: that of the spool or pipe beside"""
    rod_rise: float | None = None
    """Share of the metal's rise over installed that rods make; ``None``: they stay as installed"""


class DesignMovement(msgspec.Struct, frozen=True, kw_only=True):
    """Movement a joint is designed for, cold to hot and all at once; ``None``: not stated."""

    axial: float | None = None
    """Either way [m]"""
    lateral: float | None = None
    """Resultant [m]"""
    angular: float | None = None
    """Resultant [rad]"""


class Joint(Part, frozen=True, kw_only=True):
    """An expansion joint between two weld ends."""

    tag: str
    start: str
    end: str
    bellows: tuple[BellowsSpring, ...]
    """One, or two of a universal or of a pair"""
    spool_pipe: str = ""
    """Pipe of stubs and spool; nothing: that of the piece before it"""
    over_both: float | None = None
    """Over the outer ends of two bellows [m]"""
    hardware: tuple[Hardware, ...] = ()
    """One across all, or one per bellows (hinges, gimbals)"""
    locked: bool = False
    """Boxed in: as stiff as its cover"""
    design: DesignMovement | None = None


class Anchor(Part, frozen=True, kw_only=True):
    """Holds a station in all six directions."""

    name: str
    station: str
    stiffness: tuple[float, float, float, float, float, float] | None = None
    """[N/m] three times, [N.m/rad] three times; ``None``: rigid"""
    growth: dict[str, Vector] = {}
    """Movement the support itself makes, by state [m]: nozzle growth"""
    allowed: tuple[float, float, float, float, float, float] | None = None
    """Allowed load on it [N, N.m]"""
    nozzle: bool = False


class Rest(Part, frozen=True, kw_only=True):
    """Carries weight from below; the line may lift off and slide."""

    name: str
    station: str
    friction: float = 0.3
    gap: float = 0.0
    """Clear below the pipe when installed [m]"""
    allowed: float | None = None
    """[N]"""


class Guide(Part, frozen=True, kw_only=True):
    """Lets the line move along itself and holds it sideways within gaps."""

    name: str
    station: str
    gap: float = 0.0
    """Clear on either side [m]"""
    friction: float = 0.0
    across: Vector | None = None
    """Only this sideways direction is held; ``None``: both"""
    allowed: float | None = None


class Stop(Part, frozen=True, kw_only=True):
    """Holds a station in one direction, within gaps each way."""

    name: str
    station: str
    direction: Vector
    gap_plus: float = 0.0
    gap_minus: float = 0.0
    one_way: bool = False
    """Only movement towards plus is stopped"""
    friction: float = 0.0
    allowed: float | None = None


class RodHanger(Part, frozen=True, kw_only=True):
    """Hangs the line on a rod, which can pull only."""

    name: str
    station: str
    length: float
    """[m], for its swing"""
    stiffness: float = 1e8
    """[N/m]"""
    allowed: float | None = None


class VariableSpring(Part, frozen=True, kw_only=True):
    """A coil spring whose load rises as the line comes down."""

    name: str
    station: str
    rate: float
    """[N/m]"""
    load: float
    """Carried at the installed (cold, pinned) position [N]"""
    travel_up: float
    """From there to the upper stop [m]"""
    travel_down: float
    """From there to the lower stop [m]"""
    pinned: bool = False
    """Travel stops left in"""
    rod: float = 0.0
    """Rod length of a hanger [m], for its swing; 0: it stands below"""


class ConstantSpring(Part, frozen=True, kw_only=True):
    """Carries one load over its travel."""

    name: str
    station: str
    load: float
    """[N]"""
    tolerance: float = 0.06
    """Share by which the load may be off, by friction inside"""
    travel_up: float
    travel_down: float
    seized: bool = False


class Strut(Part, frozen=True, kw_only=True):
    """Pushes and pulls along one direction."""

    name: str
    station: str
    direction: Vector
    stiffness: float = 1e8
    allowed: float | None = None


Support = Anchor | Rest | Guide | Stop | RodHanger | VariableSpring | ConstantSpring | Strut
Piece = Straight | Bend | Reducer | Rigid | Joint


class State(Part, frozen=True, kw_only=True):
    """One condition of the line. States follow one another, since friction remembers."""

    name: str
    pressure: float = 0.0
    """Gauge [Pa]"""
    temperature: float = 294.2612
    """Metal [K]; a piece or pipe named in ``temperatures`` has its own"""
    temperatures: dict[str, float] = {}
    """Metal temperature by pipe name [K]"""
    weight: bool = True
    contents: bool = True
    after: str = ""
    """The state it is reached from; nothing: the one before it in the list"""
    role: str = ""
    """cold, hot, occasional or nothing: which checks take the state"""
    acceleration: Vector = (0.0, 0.0, 0.0)
    """On all masses, in shares of gravity: wind or earthquake as a static load"""
    hours_each: float | None = None
    """How long an occasional state lasts at a time [s]"""
    hours_year: float | None = None
    """How long it lasts in a year [s]"""


class Line(msgspec.Struct, frozen=True, kw_only=True):
    """A whole line."""

    tag: str
    pipes: tuple[Pipe, ...]
    stations: tuple[Station, ...]
    pieces: tuple[Piece, ...]
    supports: tuple[Support, ...]
    states: tuple[State, ...]
    tees: tuple[Tee, ...] = ()
    cycles: float = 7000.0
    """Equivalent full displacement cycles for the range allowable"""
    notes: tuple[str, ...] = ()
    factors: Book = Book.APPENDIX_D
    range_rule: RangeRule = RangeRule.PLAIN
    cold_spring: float = 0.0
    """Share of the growth cut short when installed, for loads on anchors only"""
    stated: tuple[StatedFactors, ...] = ()
    welds: tuple[Weld, ...] = ()
