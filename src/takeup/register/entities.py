"""Everything the register keeps about a site, as frozen facts in SI.

One class is one kind: one sheet of the workbook, one CSV, one form, one table in the store.
"""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import Annotated, ClassVar

from takeup.bellows.hardware.model import RingShape, ShearPlanes
from takeup.bellows.model import Basis, Convolution
from takeup.errors import Contradiction
from takeup.evidence.facts import (
    Alert,
    InterplyReading,
    InterplyTest,
    LineReading,
    MarkReading,
    Observation,
    Photo,
    TemperatureSeries,
    Visit,
)
from takeup.fields import Fact, number, words
from takeup.units import System


class JointType(StrEnum):
    """Joint types; what each takes, cannot take and who holds its thrust: joint_types.csv."""

    SINGLE = "single"
    SINGLE_LIMIT = "single with limit rods"
    SINGLE_TIED = "single tied"
    UNIVERSAL = "universal"
    UNIVERSAL_TIED = "universal tied"
    UNIVERSAL_PANTOGRAPH = "universal with pantograph linkage"
    HINGED = "hinged"
    HINGED_PAIR = "two-hinge set"
    HINGED_TRIPLE = "three-hinge set"
    GIMBAL = "gimbal"
    BALANCED_ELBOW = "pressure-balanced elbow"
    BALANCED_INLINE = "pressure-balanced in-line"
    EXTERNAL = "externally pressurised"
    EXCHANGER = "exchanger shell"
    RECTANGULAR = "rectangular duct"
    TOROIDAL = "toroidal"


class Wall(StrEnum):
    """How the pipe wall at the joint is kept: decides which temperature makes it grow."""

    HOT = "hot wall"
    COLD = "cold wall"
    UNLINED = "unlined"


class Phase(StrEnum):
    """What flows."""

    GAS = "gas"
    VAPOUR = "vapour"
    LIQUID = "liquid"
    GAS_SOLIDS = "gas with solids"
    TWO_PHASE = "two-phase"


class YesNo(StrEnum):
    """A recorded yes or no; not known is ``None``."""

    YES = "yes"
    NO = "no"


class HeatTreatment(StrEnum):
    """State of the bellows metal after forming."""

    AS_FORMED = "as formed"
    ANNEALED = "annealed"


class Forming(StrEnum):
    """How the convolutions were formed."""

    HYDRAULIC = "hydraulic"
    MANDREL = "expanding mandrel"
    ROLL = "roll"


class Cover(StrEnum):
    """What stands over the bellows outside."""

    NONE = "none"
    REMOVABLE = "removable cover"
    FIXED = "welded cover"


class Insulation(StrEnum):
    """Insulation outside the bellows."""

    NONE = "none"
    AS_DESIGNED = "as designed"
    ADDED = "added later"
    MISSING = "missing"


class HardwareKind(StrEnum):
    """Load-carrying and other hardware of a joint."""

    TIE_ROD = "tie rod"
    LIMIT_ROD = "limit rod"
    CONTROL_ROD = "control rod"
    HINGE = "hinge plates and pins"
    SLOTTED_HINGE = "slotted hinge"
    GIMBAL = "gimbal ring"
    PANTOGRAPH = "pantograph linkage"
    LINER = "liner"
    RING = "ring on the pipe"
    FLOATING_RING = "floating ring"


class SupportKind(StrEnum):
    """Supports and neighbours of the line."""

    MAIN_ANCHOR = "main anchor"
    INTERMEDIATE_ANCHOR = "intermediate anchor"
    DIRECTIONAL_ANCHOR = "directional anchor"
    GUIDE = "guide"
    REST = "rest"
    VARIABLE_SPRING = "variable spring"
    CONSTANT_SPRING = "constant spring"
    RIGID_HANGER = "rigid hanger"
    NOZZLE = "nozzle"
    FLANGE = "flange"


class EventKind(StrEnum):
    """What happened in the life of a joint."""

    INSTALLED = "installed"
    REPLACED = "replaced"
    REPAIRED = "repaired"
    CLAMSHELL = "clamshell fitted"
    BOXED = "boxed in"
    LEAKED = "leaked"
    REMOVED = "removed"
    UPSET = "upset"
    EXCURSION = "temperature excursion"
    START = "start-up"
    TRIP = "trip"
    STEAM_OUT = "steam-out"
    HYDROTEST = "hydrotest"
    CHANGED = "process or insulation changed"


class ServiceClass(StrEnum):
    """Service groups of the life table (service_life.csv in ageing)."""

    COLD_WALL_CATALYST = "cold-wall catalyst or flue gas"
    HOT_WALL_FLUE = "hot-wall flue gas"
    HOT_WALL_OLDER = "hot-wall, older alloys"
    EXPANDER = "expander inlet or outlet"
    STEAM = "steam"
    OVERHEAD = "overhead, wet acid"
    HEATER = "reformer, heater or transfer line"
    EXCHANGER = "exchanger shell"
    OTHER = "other"


class MovementRole(StrEnum):
    """Which movement a row states."""

    RATED = "rated"
    EXPECTED = "expected"


class OutageState(StrEnum):
    """Where an outage stands."""

    PAST = "past"
    NEXT = "next"
    LATER = "later"


class Shifts(StrEnum):
    """Working calendar of a crew."""

    TWO_BY_TEN = "two 10-hour shifts"
    DAYS = "day shift only"
    ROUND_THE_CLOCK = "round the clock"


class Crew(StrEnum):
    """Crews that outage work on joints draws on."""

    SCAFFOLD = "scaffolders"
    INSULATION = "insulators"
    FITTERS = "fitters"
    CRANE = "crane and riggers"
    BELLOWS_WELDERS = "certified bellows welders"
    NDE = "NDE"
    REFRACTORY = "refractory"
    TEST = "test and operations"


class OptionName(StrEnum):
    """The eight things that can be done about a joint."""

    LEAVE = "leave and monitor"
    DESIGN_OUT = "design out"
    BOX_IN = "box in"
    CLAMSHELL = "same-size clamshell"
    ONLINE_CLAMSHELL = "online oversized clamshell"
    IN_PLACE = "in-place refurbishment"
    SHOP = "shop refurbishment"
    REPLACE = "replace"


class Plant(Fact, frozen=True, kw_only=True):
    """The site itself: one row."""

    KIND: ClassVar = "plant"
    TITLE: ClassVar = "Site"
    KEY: ClassVar = ("id",)

    id: Annotated[str, words("Site", "Short name without spaces")]
    name: Annotated[str, words("Name")]
    units: Annotated[System, words("Units preferred", "metric or us")] = System.METRIC
    currency: Annotated[str, words("Currency", "Three letters")] = "USD"
    price_date: Annotated[dt.date, words("Price date")] | None = None
    time_zone: Annotated[str, words("Time zone", "Name such as Europe/Berlin")] = "UTC"


class ProcessUnit(Fact, frozen=True, kw_only=True):
    """A process unit that stops as one."""

    KIND: ClassVar = "unit"
    TITLE: ClassVar = "Units"
    KEY: ClassVar = ("tag",)

    tag: Annotated[str, words("Unit")]
    name: Annotated[str, words("Name")]
    loss_per_day: (
        Annotated[float, number("money", "Value of lost production per day", ge=0)] | None
    ) = None


class Outage(Fact, frozen=True, kw_only=True):
    """One outage of a unit, past, next or later."""

    KIND: ClassVar = "outage"
    TITLE: ClassVar = "Outages"
    KEY: ClassVar = ("tag",)

    tag: Annotated[str, words("Outage")]
    unit: Annotated[str, words("Unit", refers="unit")]
    state: Annotated[OutageState, words("State")]
    start: Annotated[dt.date, words("First day of the mechanical window")]
    window: Annotated[float, number("days", "Mechanical window", gt=0)]
    budget: Annotated[float, number("money", "Budget for expansion joints", ge=0)] | None = None
    budget_close: Annotated[dt.date, words("Budget closes")] | None = None
    scope_freeze: Annotated[dt.date, words("Scope freezes")] | None = None
    hot_walk: Annotated[dt.date, words("Hot walk")] | None = None
    reserve: (
        Annotated[float, number("share", "Reserve for discovery", "Share of budget", ge=0, lt=1)]
        | None
    ) = None

    def __post_init__(self) -> None:
        for name in ("budget_close", "scope_freeze", "hot_walk"):
            date = getattr(self, name)
            if date is not None and date >= self.start:
                raise Contradiction(
                    f"{name.replace('_', ' ')} {date.isoformat()} is not before the outage "
                    f"start {self.start.isoformat()}; it must be"
                )


class CrewSupply(Fact, frozen=True, kw_only=True):
    """How many gangs of a crew an outage has for joints, and when they work."""

    KIND: ClassVar = "crew_supply"
    TITLE: ClassVar = "Crews"
    KEY: ClassVar = ("outage", "crew")

    outage: Annotated[str, words("Outage", refers="outage")]
    crew: Annotated[Crew, words("Crew")]
    gangs: Annotated[int, number("count", "Gangs", ge=0)]
    shifts: Annotated[Shifts, words("Shifts")]


class Line(Fact, frozen=True, kw_only=True):
    """A line: what flows in it, at what conditions."""

    KIND: ClassVar = "line"
    TITLE: ClassVar = "Lines"
    KEY: ClassVar = ("tag",)

    tag: Annotated[str, words("Line")]
    unit: Annotated[str, words("Unit", refers="unit")]
    name: Annotated[str, words("Name")]
    service: Annotated[ServiceClass, words("Service group", "Decides the life table row")]
    media: Annotated[str, words("Media")] = ""
    phase: Annotated[Phase, words("Phase")] | None = None
    flammable: Annotated[YesNo, words("Flammable")] | None = None
    toxic: Annotated[YesNo, words("Toxic")] | None = None
    solids: Annotated[YesNo, words("Carries solids")] | None = None
    diameter: Annotated[float, number("length", "Pipe outside diameter", gt=0)] | None = None
    wall: Annotated[float, number("thickness", "Pipe wall thickness", gt=0)] | None = None
    pipe_material: Annotated[str, words("Pipe material", refers="alloy")] = ""
    design_pressure: (
        Annotated[float, number("pressure", "Design pressure (gauge)", ge=-101325)] | None
    ) = None
    operating_pressure: (
        Annotated[float, number("pressure", "Operating pressure (gauge)", ge=-101325)] | None
    ) = None
    test_pressure: Annotated[float, number("pressure", "Test pressure (gauge)", gt=0)] | None = None
    design_temperature: (
        Annotated[float, number("temperature", "Design temperature", gt=0)] | None
    ) = None
    gas_temperature: (
        Annotated[float, number("temperature", "Gas or fluid temperature in operation", gt=0)]
        | None
    ) = None
    shell_temperature: (
        Annotated[
            float,
            number("temperature", "Pipe metal temperature in operation", "Measured", gt=0),
        ]
        | None
    ) = None
    water: Annotated[float, number("share", "Water vapour (mole share)", ge=0, le=1)] | None = None
    so2: Annotated[float, number("share", "SO2 (mole share)", ge=0, le=1)] | None = None
    so3: Annotated[float, number("share", "SO3 (mole share)", ge=0, le=1)] | None = None
    chlorides: Annotated[YesNo, words("Chlorides or HCl present")] | None = None
    ammonia: Annotated[YesNo, words("Ammonia present")] | None = None
    sulphides: Annotated[YesNo, words("Sulphides present (polythionic risk)")] | None = None
    leak_outage: (
        Annotated[float, number("days", "Days lost when a joint of this line leaks open", ge=0)]
        | None
    ) = None
    consequence: Annotated[str, words("What a leak does to people and surroundings", long=True)] = (
        ""
    )


class Joint(Fact, frozen=True, kw_only=True):
    """An expansion joint; decisions are taken per joint."""

    KIND: ClassVar = "joint"
    TITLE: ClassVar = "Joints"
    KEY: ClassVar = ("tag",)

    tag: Annotated[str, words("Joint")]
    line: Annotated[str, words("Line", refers="line")]
    name: Annotated[str, words("Place in words")] = ""
    type: Annotated[JointType, words("Type")]
    wall: Annotated[Wall, words("Wall", "Asked before any growth is computed")] | None = None
    position: Annotated[float, number("distance", "Distance along the line", ge=0)] | None = None
    elevation: Annotated[float, number("distance", "Elevation")] | None = None
    drawing: Annotated[str, words("Drawing number")] = ""
    serial: Annotated[str, words("Serial or job number")] = ""
    made: Annotated[int, number("count", "Year made", ge=1940, le=2100)] | None = None
    installed: Annotated[dt.date, words("Installed at this position")] | None = None
    cover: Annotated[Cover, words("Cover")] | None = None
    insulation: Annotated[Insulation, words("Insulation over the bellows")] | None = None
    face_to_face: (
        Annotated[float, number("length", "Overall length as installed, cold", gt=0)] | None
    ) = None
    spool: (
        Annotated[
            float,
            number("length", "Length over both bellows", "Universal joints: outer ends", gt=0),
        ]
        | None
    ) = None
    axial_rate: (
        Annotated[
            float,
            number(
                "axial_rate", "Axial spring rate between the ends", "Hot, pressure-balanced", gt=0
            ),
        ]
        | None
    ) = None
    angular_rate: (
        Annotated[
            float,
            number(
                "angular_rate",
                "Angular spring rate between the ends",
                "Hot, pressure-balanced in-line",
                gt=0,
            ),
        ]
        | None
    ) = None
    mass: Annotated[float, number("mass", "Mass", gt=0)] | None = None
    spare: Annotated[YesNo, words("Spare on site")] | None = None
    crane_reach: Annotated[YesNo, words("Within crane reach")] | None = None
    access_group: Annotated[str, words("Shared scaffold", "Same name: one scaffold")] = ""
    note: Annotated[str, words("Note", long=True)] = ""


class BellowsElement(Fact, frozen=True, kw_only=True):
    """One bellows of a joint; readings are kept per bellows."""

    KIND: ClassVar = "bellows"
    TITLE: ClassVar = "Bellows"
    KEY: ClassVar = ("joint", "letter")

    joint: Annotated[str, words("Joint", refers="joint")]
    letter: Annotated[str, words("Letter", "A upstream or upper, then B, C")]
    basis: (
        Annotated[Basis, words("Rule set of the design", "Unknown: ASME VIII-1 App. 26 is taken")]
        | None
    ) = None
    convolution: Annotated[Convolution, words("Shape")] = Convolution.U_PLAIN
    inside_diameter: Annotated[float, number("length", "Inside diameter Db", gt=0)] | None = None
    mean_diameter: (
        Annotated[float, number("length", "Diameter of torus centre line Dm", "Toroidal", gt=0)]
        | None
    ) = None
    height: (
        Annotated[float, number("length", "Convolution height w", "Not for toroidal", gt=0)] | None
    ) = None
    pitch: Annotated[float, number("length", "Pitch q", gt=0)] | None = None
    convolutions: Annotated[int, number("count", "Convolutions N", gt=0)] | None = None
    plies: Annotated[int, number("count", "Plies n", gt=0, le=10)] | None = None
    ply_thickness: (
        Annotated[float, number("thickness", "Thickness of one ply t", "Before forming", gt=0)]
        | None
    ) = None
    thinnest_ply: (
        Annotated[
            float,
            number("thickness", "Least ply thickness measured", "One ply, after forming", gt=0),
        ]
        | None
    ) = None
    tube_diameter: (
        Annotated[
            float, number("length", "Tube diameter before forming", "Unknown: Db is taken", gt=0)
        ]
        | None
    ) = None
    torus_radius: (
        Annotated[
            float,
            number("length", "Mean torus radius rm", "Default q/4; toroidal: must be given", gt=0),
        ]
        | None
    ) = None
    tangent_length: Annotated[float, number("length", "End tangent length Lt", ge=0)] | None = None
    collar_length: Annotated[float, number("length", "Collar length Lc", ge=0)] | None = None
    collar_thickness: Annotated[float, number("thickness", "Collar thickness tc", ge=0)] | None = (
        None
    )
    collar_material: Annotated[str, words("Collar metal", refers="alloy")] = ""
    ring_area: (
        Annotated[float, number("metal_area", "Area of one reinforcing ring Ar", gt=0)] | None
    ) = None
    ring_material: Annotated[str, words("Ring metal", refers="alloy")] = ""
    fastener_area: (
        Annotated[
            float,
            number("metal_area", "Area of ring fastener Af", "0: ring of one piece", ge=0),
        ]
        | None
    ) = None
    fastener_length: (
        Annotated[float, number("length", "Length of ring fastener Lf", ge=0)] | None
    ) = None
    fastener_material: Annotated[str, words("Fastener metal", refers="alloy")] = ""
    material: Annotated[str, words("Material", refers="alloy")] = ""
    heat_treatment: Annotated[HeatTreatment, words("Heat treatment")] | None = None
    forming: Annotated[Forming, words("Forming")] | None = None
    weld_factor: (
        Annotated[float, number("ratio", "Longitudinal weld factor", gt=0, le=1)] | None
    ) = None
    yield_strength: (
        Annotated[
            float,
            number("stress", "Yield strength at temperature", "Measured or certified", gt=0),
        ]
        | None
    ) = None
    test_port: Annotated[YesNo, words("Interply test port")] | None = None
    redundant: Annotated[YesNo, words("Each ply designed for full pressure")] | None = None
    metal_temperature: (
        Annotated[float, number("temperature", "Bellows metal temperature in operation", gt=0)]
        | None
    ) = None
    design_metal_temperature: (
        Annotated[float, number("temperature", "Bellows design metal temperature", gt=0)] | None
    ) = None
    installed: Annotated[dt.date, words("Installed", "If not with the joint")] | None = None


class MovementCase(Fact, frozen=True, kw_only=True):
    """A rated or expected movement of one joint for one state of the line."""

    KIND: ClassVar = "movement_case"
    TITLE: ClassVar = "Movements"
    KEY: ClassVar = ("joint", "role", "name")

    joint: Annotated[str, words("Joint", refers="joint")]
    role: Annotated[MovementRole, words("Rated or expected")]
    name: Annotated[str, words("Case", "start-up, normal, upset, ...")]
    axial: Annotated[float, number("movement", "Axial, + extension")] | None = None
    lateral: Annotated[float, number("movement", "Lateral, resultant", ge=0)] | None = None
    angular: Annotated[float, number("angle", "Angular, resultant", ge=0, lt=1)] | None = None
    cycles: (
        Annotated[float, number("cycles", "Cycles", "Rated: in design life; expected: a year")]
        | None
    ) = None
    basis: Annotated[str, words("Basis", "drawing, calculation, told")] = ""


class Hardware(Fact, frozen=True, kw_only=True):
    """Load-carrying or other hardware of a joint."""

    KIND: ClassVar = "hardware"
    TITLE: ClassVar = "Hardware"
    KEY: ClassVar = ("joint", "item")

    joint: Annotated[str, words("Joint", refers="joint")]
    item: Annotated[str, words("Item", "Short name")]
    kind: Annotated[HardwareKind, words("Kind")]
    count: Annotated[int, number("count", "Number", gt=0)] | None = None
    diameter: Annotated[float, number("length", "Rod or pin diameter", gt=0)] | None = None
    material: Annotated[str, words("Material")] = ""
    capacity: Annotated[float, number("force", "Rated thrust of the whole set", gt=0)] | None = None
    on_hot_pipe: Annotated[YesNo, words("Welded to hot pipe")] | None = None
    temperature: Annotated[float, number("temperature", "Temperature", gt=0)] | None = None
    allowable_stress: (
        Annotated[
            float,
            number("stress", "Allowable stress", "Tension, lowest of its parts, hot", gt=0),
        ]
        | None
    ) = None
    allowable_source: Annotated[
        str, words("Source of the allowable stress", "Code, edition, table; or certificate")
    ] = ""
    circle_diameter: (
        Annotated[
            float,
            number("length", "Rod circle diameter", "Hinge, gimbal: between plates", gt=0),
        ]
        | None
    ) = None
    clock: (
        Annotated[
            float,
            number(
                "ratio",
                "Hour at which a hinge pin or the first rod stands",
                "Looking along the flow; 12 is up, or north where the joint stands upright",
                ge=1,
                le=12,
            ),
        ]
        | None
    ) = None
    places: (
        Annotated[
            int,
            number(
                "count",
                "Places round the pipe with rods",
                "4 rods in 2 pairs: 2. Two places let the joint turn",
                ge=1,
            ),
        ]
        | None
    ) = None
    gap_out: (
        Annotated[
            float,
            number(
                "thickness", "Gap at outer nuts, cold", "Before they hold the lengthening", ge=0
            ),
        ]
        | None
    ) = None
    inner_nuts: (
        Annotated[YesNo, words("Inner nuts", "Nuts that hold the joint from shortening")] | None
    ) = None
    gap_in: (
        Annotated[
            float,
            number("thickness", "Gap at inner nuts, cold", "Before they hold the shortening", ge=0),
        ]
        | None
    ) = None
    thread_pitch: Annotated[float, number("thickness", "Thread pitch", gt=0)] | None = None
    root_diameter: (
        Annotated[float, number("length", "Thread root diameter", "Else from pitch", gt=0)] | None
    ) = None
    length: (
        Annotated[
            float,
            number("length", "Rod length between nuts", "Pantograph: bar between end pins", gt=0),
        ]
        | None
    ) = None
    lug_arm: (
        Annotated[
            float,
            number("length", "Lug arm, pipe wall to load", "Else from the diameters", ge=0),
        ]
        | None
    ) = None
    lug_width: Annotated[float, number("length", "Lug width round the pipe", gt=0)] | None = None
    lug_thickness: Annotated[float, number("length", "Lug thickness", gt=0)] | None = None
    gussets: Annotated[int, number("count", "Gussets per lug", "0 if none", ge=0)] | None = None
    gusset_thickness: Annotated[float, number("length", "Gusset thickness", gt=0)] | None = None
    gusset_length: (
        Annotated[float, number("length", "Gusset length along the pipe", gt=0)] | None
    ) = None
    weld_leg: (
        Annotated[float, number("thickness", "Fillet weld leg of lugs or ring", gt=0)] | None
    ) = None
    plate_width: (
        Annotated[float, number("length", "Plate or bar width at the hole", gt=0)] | None
    ) = None
    plate_thickness: Annotated[float, number("length", "Plate or bar thickness", gt=0)] | None = (
        None
    )
    fork_thickness: (
        Annotated[float, number("length", "Thickness of each fork plate", "Double shear", gt=0)]
        | None
    ) = None
    hole_diameter: Annotated[float, number("length", "Pin hole diameter", gt=0)] | None = None
    edge_distance: Annotated[float, number("length", "Hole centre to plate end", gt=0)] | None = (
        None
    )
    plate_length: (
        Annotated[float, number("length", "Pin to where the plate is held", gt=0)] | None
    ) = None
    pin_planes: Annotated[ShearPlanes, words("Pins in single or double shear")] | None = None
    pin_gap: (
        Annotated[float, number("length", "Gap between pinned plates", "0 if none", ge=0)] | None
    ) = None
    friction: (
        Annotated[float, number("ratio", "Friction coefficient of the pins", ge=0, le=2)] | None
    ) = None
    ring_shape: Annotated[RingShape, words("Gimbal ring round or square")] | None = None
    ring_radius: (
        Annotated[float, number("length", "Mean radius of the gimbal ring", gt=0)] | None
    ) = None
    ring_side: Annotated[float, number("length", "Side of a square gimbal ring", gt=0)] | None = (
        None
    )
    ring_radial: (
        Annotated[
            float, number("length", "Ring section, radial", "Gimbal; ring on pipe: height", gt=0)
        ]
        | None
    ) = None
    ring_axial: (
        Annotated[
            float,
            number("length", "Ring section, along the pipe", "Gimbal; ring on pipe: width", gt=0),
        ]
        | None
    ) = None
    bars: Annotated[int, number("count", "Pantograph bars per side", ge=1, le=4)] | None = None
    bar_angle: (
        Annotated[float, number("angle", "Angle of the bars to the pipe", gt=0, lt=1.5708)] | None
    ) = None
    weight_along: (
        Annotated[
            float,
            number("force", "Dead weight along the pipe", "+ pulls the joint open; 0 if none"),
        ]
        | None
    ) = None
    weight_across: (
        Annotated[
            float, number("force", "Dead weight across the pipe", "Spool, elbow; 0 if none", ge=0)
        ]
        | None
    ) = None
    lateral_load: (
        Annotated[
            float, number("force", "Other load across the pipe", "Wind, line; 0 if none", ge=0)
        ]
        | None
    ) = None


class Support(Fact, frozen=True, kw_only=True):
    """An anchor, guide, spring, hanger, nozzle or flange around the joints of a line."""

    KIND: ClassVar = "support"
    TITLE: ClassVar = "Supports and neighbours"
    KEY: ClassVar = ("tag",)

    tag: Annotated[str, words("Support")]
    line: Annotated[str, words("Line", refers="line")]
    kind: Annotated[SupportKind, words("Kind")]
    position: Annotated[float, number("distance", "Distance along the line", ge=0)] | None = None
    capacity: Annotated[float, number("force", "Allowed force", gt=0)] | None = None
    cold_load: Annotated[float, number("force", "Cold load", gt=0)] | None = None
    hot_load: Annotated[float, number("force", "Hot load", gt=0)] | None = None
    cold_position: Annotated[float, number("movement", "Cold mark")] | None = None
    hot_position: Annotated[float, number("movement", "Hot mark")] | None = None
    note: Annotated[str, words("Note", long=True)] = ""


class LifeEvent(Fact, frozen=True, kw_only=True):
    """Something that happened to a joint."""

    KIND: ClassVar = "life_event"
    TITLE: ClassVar = "Life events"
    KEY: ClassVar = ("joint", "date", "kind")

    joint: Annotated[str, words("Joint", refers="joint")]
    date: Annotated[dt.date, words("Date")]
    kind: Annotated[EventKind, words("Event")]
    bellows: Annotated[str, words("Bellows", "Letter, or - for the joint")] = "-"
    mechanism: Annotated[str, words("Damage mechanism found")] = ""
    count: Annotated[int, number("count", "How many", gt=0)] = 1
    note: Annotated[str, words("Note", long=True)] = ""


class Quote(Fact, frozen=True, kw_only=True):
    """The site's own cost or lead time for an option of one joint, in place of the class figure."""

    KIND: ClassVar = "quote"
    TITLE: ClassVar = "Quotes and lead times"
    KEY: ClassVar = ("joint", "option")

    joint: Annotated[str, words("Joint", refers="joint")]
    option: Annotated[OptionName, words("Option")]
    cost: Annotated[float, number("money", "Cost", ge=0)] | None = None
    lead: Annotated[float, number("days", "Lead time after order", ge=0)] | None = None
    basis: Annotated[str, words("Basis", "quotation, framework price, told")] = ""


class Decision(Fact, frozen=True, kw_only=True):
    """What a person decided for a joint at an outage, and why."""

    KIND: ClassVar = "decision"
    TITLE: ClassVar = "Decisions"
    KEY: ClassVar = ("joint", "outage")

    joint: Annotated[str, words("Joint", refers="joint")]
    outage: Annotated[str, words("Outage", refers="outage")]
    option: Annotated[OptionName, words("Option")]
    reason: Annotated[str, words("Reason", long=True)]
    by: Annotated[str, words("Decided by")]


class SiteLimit(Fact, frozen=True, kw_only=True):
    """The site's own value of a rule of thumb, SI, with who set it and why."""

    KIND: ClassVar = "site_limit"
    TITLE: ClassVar = "Site limits"
    KEY: ClassVar = ("id",)

    id: Annotated[str, words("Limit", "Name in takeup limits")]
    value: Annotated[float, number("", "Value", "SI unit of the limit's quantity")]
    reason: Annotated[str, words("Reason", long=True)]
    by: Annotated[str, words("Set by")]


class LineModel(Fact, frozen=True, kw_only=True):
    """The mechanics of a line as text; kept whether or not it can be worked out yet."""

    KIND: ClassVar = "line_model"
    TITLE: ClassVar = "Line models"
    KEY: ClassVar = ("line",)

    line: Annotated[str, words("Line", refers="line")]
    text: Annotated[str, words("Model", "TOML", long=True)]
    note: Annotated[str, words("Note", long=True)] = ""


class WallModel(Fact, frozen=True, kw_only=True):
    """The wall of a joint and the gas in it as text; kept whether or not it can be read yet."""

    KIND: ClassVar = "wall_model"
    TITLE: ClassVar = "Wall models"
    KEY: ClassVar = ("joint",)

    joint: Annotated[str, words("Joint", refers="joint")]
    text: Annotated[str, words("Wall, gas and exposure", "TOML", long=True)]
    note: Annotated[str, words("Note", long=True)] = ""


class AttachmentModel(Fact, frozen=True, kw_only=True):
    """A ring, or the cones of a joint, on hot pipe as text; kept whether or not it can be read."""

    KIND: ClassVar = "attachment_model"
    TITLE: ClassVar = "Attachments on hot pipe"
    KEY: ClassVar = ("joint", "item")

    joint: Annotated[str, words("Joint", refers="joint")]
    item: Annotated[str, words("Item", "Of the hardware, or 'cones'")]
    text: Annotated[str, words("Sizes, metals, heat", "TOML", long=True)]
    note: Annotated[str, words("Note", long=True)] = ""


KINDS: dict[str, type[Fact]] = {
    fact.KIND: fact
    for fact in (
        Plant,
        ProcessUnit,
        Outage,
        CrewSupply,
        Line,
        Joint,
        BellowsElement,
        MovementCase,
        Hardware,
        Support,
        LifeEvent,
        Visit,
        Observation,
        MarkReading,
        LineReading,
        InterplyTest,
        InterplyReading,
        TemperatureSeries,
        Alert,
        Photo,
        Quote,
        Decision,
        SiteLimit,
        LineModel,
        WallModel,
        AttachmentModel,
    )
}
"""Every kind the store keeps, in the order in which a workbook must be read."""
