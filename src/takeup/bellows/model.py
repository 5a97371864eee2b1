"""What the bellows engine takes and gives. Scalars here; arrays by the same field names."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import msgspec

from takeup.checks import Check, Figure
from takeup.fields import number, words
from takeup.units import Real


class Bellows(msgspec.Struct, frozen=True, kw_only=True):
    """Geometry of one U-shaped unreinforced bellows; fields may hold arrays of equal length.

    Symbols follow the published standards: Db, w, q, N, n, t, rm, Lt, Lc, tc.
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
    """rm, mean radius of crest and root [m]; q/4 for parallel side walls"""
    tangent_length: Real = 0.0
    """Lt [m]"""
    collar_length: Real = 0.0
    """Lc [m]; 0 without collar"""
    collar_thickness: Real = 0.0
    """tc [m]"""


class Treatment(StrEnum):
    """State of the metal after forming, as the rules distinguish it."""

    AS_FORMED = "as formed"
    ANNEALED = "annealed"


class Assembly(StrEnum):
    """How the bellows of a joint work together."""

    SINGLE = "single"
    UNIVERSAL = "universal"
    PAIR = "hinged or gimbal pair"


class Basis(StrEnum):
    """Rule sets. Issue by issue more of them are filled in."""

    ASME_26 = "ASME VIII-1 Appendix 26"
    EJMA = "EJMA"
    EN_13445 = "EN 13445-3 clause 14"


class Condition(msgspec.Struct, frozen=True, kw_only=True):
    """A pressure at a metal temperature: operating, design or test."""

    name: Annotated[str, words("Condition", "operating, design or test")]
    pressure: Annotated[float, number("pressure", "Pressure (gauge)")]
    temperature: Annotated[float, number("temperature", "Bellows metal temperature", gt=0)]


class Movement(msgspec.Struct, frozen=True, kw_only=True):
    """A movement range of the whole joint and how often it comes; movements from installed."""

    name: Annotated[str, words("Case")]
    axial: Annotated[float, number("movement", "Axial, + extension")] = 0.0
    lateral: Annotated[float, number("movement", "Lateral, resultant", ge=0)] = 0.0
    angular: Annotated[float, number("angle", "Angular, resultant", ge=0)] = 0.0
    cycles: Annotated[float, number("cycles", "Cycles to count", ge=0)] = 0.0


class BellowsCase(msgspec.Struct, frozen=True, kw_only=True):
    """Everything the engine needs for one bellows of one joint. The file format of the verb."""

    name: str = ""
    basis: Basis = Basis.ASME_26
    inside_diameter: Annotated[float, number("length", "Inside diameter Db", gt=0)]
    height: Annotated[float, number("length", "Convolution height w", gt=0)]
    pitch: Annotated[float, number("length", "Pitch q", gt=0)]
    convolutions: Annotated[int, number("count", "Convolutions N of one bellows", gt=0)]
    plies: Annotated[int, number("count", "Plies n", gt=0, le=10)]
    ply_thickness: Annotated[float, number("thickness", "Ply thickness t", gt=0)]
    torus_radius: (
        Annotated[float, number("length", "Mean torus radius rm", "default q/4", gt=0)] | None
    ) = None
    tangent_length: Annotated[float, number("length", "End tangent length Lt", ge=0)] = 0.0
    collar_length: Annotated[float, number("length", "Collar length Lc", ge=0)] = 0.0
    collar_thickness: Annotated[float, number("thickness", "Collar thickness tc", ge=0)] = 0.0
    material: Annotated[str, words("Bellows alloy", refers="alloy")]
    treatment: Treatment | None = None
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
    assembly: Assembly = Assembly.SINGLE
    length_over_both: (
        Annotated[float, number("length", "Lu, over outer ends of both bellows", gt=0)] | None
    ) = None
    spool_held: bool = False
    """Whether hardware keeps a universal's spool from moving sideways."""
    yield_strength: (
        Annotated[float, number("stress", "Yield at temperature, finished condition", gt=0)] | None
    ) = None
    """Measured or certified value; otherwise from the material tables."""
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
