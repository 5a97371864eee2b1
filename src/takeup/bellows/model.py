"""What the bellows engine takes and gives. Scalars here; arrays by the same field names."""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Annotated

import msgspec

from takeup.checks import Check, Figure
from takeup.fields import number, words
from takeup.units import Real


class Convolution(StrEnum):
    """Shape of the convolutions."""

    U_PLAIN = "U-shaped unreinforced"
    U_REINFORCED = "U-shaped reinforced"
    TOROIDAL = "toroidal"


class Bellows(msgspec.Struct, frozen=True, kw_only=True):
    """Geometry of one bellows; fields may hold arrays of equal length.

    Symbols follow the published standards: Db, w, q, N, n, t, rm (r), Lt, Lc, tc, Ar, Af, Lf.
    For a toroidal bellows ``height`` is Dm - Db - n t, so that one formula gives the mean
    diameter (of the torus centre line) of every shape, and ``torus_radius`` is r.
    """

    inside_diameter: Real
    """Db [m]"""
    height: Real
    """w [m]"""
    pitch: Real
    """q [m]"""
    convolutions: Real
    """N of this one bellows [-]"""
    plies: Real
    """n [-]"""
    ply_thickness: Real
    """t of one ply before forming [m]"""
    torus_radius: Real
    """rm, mean radius of crest and root [m], q/4 for parallel side walls; toroidal: r"""
    tangent_length: Real = 0.0
    """Lt [m]"""
    collar_length: Real = 0.0
    """Lc [m]; 0 without collar"""
    collar_thickness: Real = 0.0
    """tc [m]"""
    tube_diameter: Real | None = None
    """Diameter of the tube it was formed from [m]; ``None``: Db"""
    thinnest_ply: Real = math.inf
    """Least ply thickness measured after forming [m]; infinite where none was measured"""
    ring_area: Real = 0.0
    """Ar, metal area of one reinforcing ring [m2]; 0 without"""
    fastener_area: Real = 0.0
    """Af of the fastener that joins ring halves [m2]; 0 for a ring in one piece"""
    fastener_length: Real = 0.0
    """Lf, effective length of that fastener [m]"""


class Treatment(StrEnum):
    """State of the metal after forming, as the rules distinguish it."""

    AS_FORMED = "as formed"
    ANNEALED = "annealed"


class Assembly(StrEnum):
    """How the bellows of a joint work together."""

    SINGLE = "single"
    TIED = "single tied"
    HINGED = "hinged"
    GIMBAL = "gimbal"
    UNIVERSAL = "universal"
    PANTOGRAPH = "universal with pantograph linkage"
    PAIR = "hinged or gimbal pair"
    BALANCED_ELBOW = "pressure-balanced elbow"
    BALANCED_INLINE = "pressure-balanced in-line"


class Role(StrEnum):
    """Which bellows of a pressure-balanced joint this is."""

    FLOW = "flow"
    BALANCING = "balancing"


class Side(StrEnum):
    """On which side of the bellows a positive pressure stands."""

    INSIDE = "inside"
    OUTSIDE = "outside"


class EndFixity(StrEnum):
    """How the ends of one bellows are held against bowing sideways."""

    FIXED_FIXED = "both ends fixed"
    FIXED_PINNED = "one fixed, one pinned"
    PINNED = "both pinned"
    GUIDED = "one fixed, one free to move sideways"
    FREE = "one fixed, one free"


class Basis(StrEnum):
    """Rule sets."""

    ASME_26 = "ASME VIII-1 Appendix 26"
    EJMA = "EJMA"
    EN_13445 = "EN 13445-3 clause 14"


class Condition(msgspec.Struct, frozen=True, kw_only=True):
    """A pressure at a metal temperature: operating, design or test."""

    name: Annotated[str, words("Condition", "operating, design or test")]
    pressure: Annotated[float, number("pressure", "Pressure (gauge)")]
    temperature: Annotated[float, number("temperature", "Bellows metal temperature", gt=0)]
    allowable_stress: (
        Annotated[float, number("stress", "Allowable stress here", "If not from the tables", gt=0)]
        | None
    ) = None
    modulus: (
        Annotated[float, number("modulus", "Elastic modulus here", "If not from the tables", gt=0)]
        | None
    ) = None


class Movement(msgspec.Struct, frozen=True, kw_only=True):
    """A movement of the whole joint from its installed position, and how often it comes.

    Lateral and angular lie in one plane, unless the fields "across" give the second plane.
    """

    name: Annotated[str, words("Case")]
    axial: Annotated[float, number("movement", "Axial, + extension")] = 0.0
    lateral: Annotated[float, number("movement", "Lateral")] = 0.0
    angular: Annotated[float, number("angle", "Angular")] = 0.0
    lateral_across: Annotated[float, number("movement", "Lateral, second plane")] = 0.0
    angular_across: Annotated[float, number("angle", "Angular, second plane")] = 0.0
    cycles: Annotated[float, number("cycles", "Cycles to count", ge=0)] = 0.0
    done: Annotated[float, number("cycles", "Of these, cycles done so far", ge=0)] = 0.0


class CurvePiece(msgspec.Struct, frozen=True, kw_only=True):
    """One branch of a fatigue curve: N = (a / (x - b)) ^ exponent for x at and above ``start``."""

    start: Annotated[float, number("stress", "From stress range", ge=0)]
    a: Annotated[float, number("stress", "Constant a", gt=0)]
    b: Annotated[float, number("stress", "Constant b", ge=0)]
    exponent: Annotated[float, number("ratio", "Exponent", gt=0)] = 2.0


class FatigueCurve(msgspec.Struct, frozen=True, kw_only=True):
    """A design fatigue curve given by the user, for a rule set whose constants are not held."""

    source: Annotated[str, words("Source", "Standard, edition and table or clause")]
    pieces: tuple[CurvePiece, ...]
    """Branches, highest stress first."""
    most: Annotated[float, number("cycles", "Most cycles it gives", gt=0)] = 1e6


class BellowsCase(msgspec.Struct, frozen=True, kw_only=True):
    """Everything the engine needs for one bellows of one joint. The file format of the verb."""

    name: str = ""
    basis: Basis = Basis.ASME_26
    convolution: Annotated[Convolution, words("Shape")] = Convolution.U_PLAIN
    inside_diameter: Annotated[float, number("length", "Inside diameter Db", gt=0)]
    height: (
        Annotated[float, number("length", "Convolution height w", "Not for toroidal", gt=0)] | None
    ) = None
    pitch: Annotated[float, number("length", "Pitch q", gt=0)]
    convolutions: Annotated[int, number("count", "Convolutions N of one bellows", gt=0)]
    plies: Annotated[int, number("count", "Plies n", gt=0, le=10)]
    ply_thickness: Annotated[float, number("thickness", "Ply thickness t", gt=0)]
    torus_radius: (
        Annotated[
            float,
            number("length", "Mean torus radius rm", "Default q/4; toroidal: must be given", gt=0),
        ]
        | None
    ) = None
    mean_diameter: (
        Annotated[float, number("length", "Diameter of torus centre line Dm", "Toroidal", gt=0)]
        | None
    ) = None
    tangent_length: Annotated[float, number("length", "End tangent length Lt", ge=0)] = 0.0
    collar_length: Annotated[float, number("length", "Collar length Lc", ge=0)] = 0.0
    collar_thickness: Annotated[float, number("thickness", "Collar thickness tc", ge=0)] = 0.0
    collar_material: Annotated[str, words("Collar metal", refers="alloy")] = ""
    tube_diameter: (
        Annotated[float, number("length", "Tube diameter before forming", "Default Db", gt=0)]
        | None
    ) = None
    thinnest_ply: (
        Annotated[float, number("thickness", "Least ply thickness measured", gt=0)] | None
    ) = None
    ring_area: Annotated[float, number("metal_area", "Area of one ring Ar", gt=0)] | None = None
    ring_material: Annotated[str, words("Ring metal", refers="alloy")] = ""
    fastener_area: Annotated[
        float, number("metal_area", "Area of ring fastener Af", "0: ring of one piece", ge=0)
    ] = 0.0
    fastener_length: Annotated[float, number("length", "Length of ring fastener Lf", ge=0)] = 0.0
    fastener_material: Annotated[str, words("Fastener metal", refers="alloy")] = ""
    fastener_allowable: (
        Annotated[float, number("stress", "Allowable stress of the fastener", gt=0)] | None
    ) = None
    material: Annotated[str, words("Bellows alloy", refers="alloy")]
    treatment: Annotated[Treatment, words("Heat treatment")] | None = None
    """Unknown is worked out as annealed, the lower, and said so."""
    forming_factor: (
        Annotated[
            float, number("ratio", "Forming factor", "1.0 roll or mandrel, 0.6 hydraulic", gt=0)
        ]
        | None
    ) = None
    """Unknown takes whichever of 1.0 and 0.6 gives the lower strength."""
    weld_factor: Annotated[float, number("ratio", "Weld factor", gt=0, le=1)] | None = None
    """Unknown is 1.0 with a note."""
    assembly: Annotated[Assembly, words("Assembly")] = Assembly.SINGLE
    role: Annotated[Role, words("Role", "Pressure-balanced joints")] = Role.FLOW
    pressurised: Annotated[Side, words("Pressure stands")] = Side.INSIDE
    length_over_both: (
        Annotated[float, number("length", "Lu, over outer ends of both bellows", gt=0)] | None
    ) = None
    spool_held: Annotated[bool, words("Spool held sideways")] = False
    """Whether hardware keeps a universal's spool from moving sideways."""
    ends: Annotated[EndFixity, words("Ends held", "Default by assembly")] | None = None
    yield_strength: (
        Annotated[float, number("stress", "Yield at temperature, finished condition", gt=0)] | None
    ) = None
    """Measured or certified value; otherwise from the material tables."""
    room_modulus: (
        Annotated[float, number("modulus", "Elastic modulus cold", "If not from the tables", gt=0)]
        | None
    ) = None
    offset_axial: Annotated[float, number("movement", "Set when installed, axial")] = 0.0
    offset_lateral: Annotated[float, number("movement", "Set when installed, lateral")] = 0.0
    offset_angular: Annotated[float, number("angle", "Set when installed, angular")] = 0.0
    kg: Annotated[float, number("ratio", "Kg, strength reduction", ge=1, le=4)] | None = None
    """Fatigue strength reduction; unknown is 1 with a caution."""
    ctheta: Annotated[float, number("ratio", "Ctheta, squirm with rotation", gt=0, le=1)] | None = (
        None
    )
    """Its formula is not confirmed: 1 with a caution, unless given."""
    kr: Annotated[float, number("ratio", "Kr, opened pitch (EJMA)", ge=1)] | None = None
    """Its formula is not confirmed: 1 with a note, unless given."""
    material_factor: Annotated[float, number("ratio", "fc, mean curve (EJMA)", gt=0)] | None = None
    """1 for austenitic; nickel alloys have no mean cycles unless it is given."""
    fatigue_curve: FatigueCurve | None = None
    """The user's design curve; EN has no other, ASME and EJMA use it in place of their own."""
    conditions: tuple[Condition, ...] = ()
    movements: tuple[Movement, ...] = ()
    missing: tuple[str, ...] = ()
    """Names of register fields that were unknown when the case was built.

    A required number named here is ignored, whatever it holds; what rests on it is not
    evaluated.
    """


class Thrust(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Pressure thrust at one condition."""

    condition: str
    pressure: float
    force: float
    """N, positive pushes the ends apart."""


class BellowsReport(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """What the engine says about one bellows: figures, checks, rates, lives, notes.

    ``figures`` ids in use: ``mean_diameter``, ``thinned_ply``, ``effective_area``, ``C1``,
    ``C2``, ``Cp``, ``Cf``, ``Cd``, ``S1``..``S6``, ``St``, ``axial_rate``,
    ``lateral_rate``, ``angular_rate``, ``design_cycles``, ``mean_cycles``,
    ``column_squirm``, ``inplane_squirm`` (stress ids carry ``@condition``; St and cycle ids
    carry ``@movement``).  ``checks`` ids follow the same pattern.
    """

    name: str
    basis: str
    figures: tuple[Figure, ...]
    checks: tuple[Check, ...]
    thrust: tuple[Thrust, ...]
    usage: float | None = None
    """Miner sum over the movements, design curve; ``None`` where not evaluated."""
    valid: bool
    """False when the rule set does not cover this bellows (creep range, limits)."""
    notes: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()

    def figure(self, id: str) -> Figure | None:
        """The figure called ``id``, if it was computed."""
        return next((figure for figure in self.figures if figure.id == id), None)
