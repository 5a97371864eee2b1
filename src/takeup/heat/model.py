"""A joint's wall as its engineer describes it, the states it may be in, and what comes out."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import msgspec

from takeup.checks import Check, Figure
from takeup.fields import number, words
from takeup.heat.films import Orientation
from takeup.sources import Source, assumption


class WallKind(StrEnum):
    """Where the lining sits."""

    HOT = "hot wall"
    """The pipe is as hot as the gas; the bellows hangs on it by skirts."""
    COLD = "cold wall"
    """A refractory lining inside keeps pipe and bellows cool."""


class Fill(StrEnum):
    """What the cavity between liner and bellows holds."""

    PACKED = "packed as designed"
    EMPTY = "empty"
    PART_LOST = "part of the packing lost"
    FINES_IN_FIBRE = "fines in the fibre"
    FINES = "packed with fines"
    COKE_CRUMBS = "packed with coke crumbs"
    HARD_COKE = "filled with hard coke"
    BYPASS = "hot gas behind the liner"


class Convolutions(StrEnum):
    """What stands in the convolutions, where their space counts as a layer."""

    GAS = "gas"
    FINES = "fines"
    COKE = "coke"
    PACKING = "packing"


class WallCase(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A wall through the middle of a bellows, from the gas to the weather; SI.

    Thicknesses build up outward from ``inside_diameter``.  The bellows is a plain cylinder at
    the mean of its convolutions; ``area_ratio`` speaks for their surface.
    """

    name: Annotated[str, words("Name")] = ""
    wall: Annotated[WallKind, words("Wall")]
    gas_temperature: Annotated[float, number("temperature", "Gas temperature", gt=0)]
    pressure: Annotated[float, number("pressure", "Pressure in the line (gauge)", ge=-101325.0)] = (
        0.0
    )
    gas_film: (
        Annotated[
            float,
            number("film", "Gas film, convection and radiation together",
                   "Flue gas 50-100, dense catalyst 100-400 W/m²K", gt=0),
        ]
        | None
    ) = None  # fmt: skip
    gas_velocity: (
        Annotated[
            float,
            number("velocity", "Gas velocity", "In place of the film; radiation is added", gt=0),
        ]
        | None
    ) = None
    inside_diameter: Annotated[
        float, number("length", "Inside diameter of the innermost surface", gt=0)
    ]
    lining: Annotated[
        str, words("Refractory lining, material", "insulating castable, dense castable, ...")
    ] = ""
    lining_thickness: (
        Annotated[float, number("thickness", "Refractory lining, thickness", gt=0)] | None
    ) = None
    liner_material: Annotated[str, words("Liner, alloy")] = "304H"
    liner_thickness: Annotated[float, number("thickness", "Liner, thickness", gt=0)] | None = None
    liner_gap: (
        Annotated[float, number("thickness", "Gas gap between liner and packing", gt=0)] | None
    ) = None
    cavity: (
        Annotated[
            float, number("length", "Depth of the cavity", "From the liner to the bellows", gt=0)
        ]
        | None
    ) = None
    packing: Annotated[
        str, words("Packing, material", "fibre 128, mineral wool, ...; blank: empty by design")
    ] = ""
    fill: Annotated[Fill, words("State of the cavity")] = Fill.PACKED
    lost: (
        Annotated[
            float, number("share", "Share of the packing lost, or reached by hot gas", gt=0, lt=1)
        ]
        | None
    ) = None
    convolution_height: (
        Annotated[
            float,
            number("length", "Convolution height", "Given: half of it counts as a layer", gt=0),
        ]
        | None
    ) = None
    convolutions: Annotated[Convolutions, words("In the convolutions")] = Convolutions.GAS
    bellows_material: Annotated[str, words("Bellows, alloy", refers="alloy")]
    ply_thickness: Annotated[float, number("thickness", "Ply thickness", gt=0)]
    plies: Annotated[int, number("count", "Plies", ge=1, le=10)] = 1
    ply_gap: (
        Annotated[float, number("thickness", "Gap between plies", "Blank: plies touch", gt=0)]
        | None
    ) = None
    inner_emissivity: Annotated[
        float, number("ratio", "Emissivity of surfaces facing a gap", gt=0, le=1)
    ] = 0.8
    insulation: Annotated[
        str, words("Insulation over the bellows, material", "mineral wool, calcium silicate, ...")
    ] = ""
    insulation_thickness: (
        Annotated[float, number("thickness", "Insulation over the bellows, thickness", gt=0)] | None
    ) = None
    cover_gap: (
        Annotated[float, number("length", "Air gap under a closed cover", "Blank: no cover", gt=0)]
        | None
    ) = None
    cover_thickness: Annotated[float, number("thickness", "Cover, thickness", gt=0)] = 0.003
    emissivity: Annotated[
        float,
        number("ratio", "Emissivity of the outermost surface",
               "Bellows in service 0.6-0.85, new bright 0.2-0.3, aluminium jacket 0.1-0.3",
               gt=0, le=1),
    ] = 0.7  # fmt: skip
    ambient: Annotated[float, number("temperature", "Ambient air", gt=0)]
    surroundings: (
        Annotated[
            float,
            number("temperature", "What the surface sees", "Blank: as the air", gt=0),
        ]
        | None
    ) = None
    wind: Annotated[float, number("velocity", "Wind across the run", ge=0)] = 0.0
    sun: Annotated[float, number("heat_flux", "Absorbed sunshine, mean around the pipe", ge=0)] = (
        0.0
    )
    orientation: Annotated[Orientation, words("The run lies")] = Orientation.HORIZONTAL
    height: Annotated[float, number("distance", "Height of a vertical run", gt=0)] = 1.0
    area_ratio: Annotated[
        float, number("ratio", "Surface of the convolutions over a plain cylinder", ge=1, le=10)
    ] = 1.0
    purged: Annotated[bool, words("The cavity is purged")] = False
    certain: Annotated[bool, words("Temperatures that look like the wrong unit are right")] = False


class Spreads(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How far inputs may lie off, one standard deviation unless said; all assumptions.

    Conductivities carry the spread of their own curve.
    """

    gas_temperature: Annotated[float, number("temperature_difference", "Gas temperature", ge=0)] = (
        8.0
    )
    gas_film: Annotated[float, number("share", "Gas film, share", ge=0)] = 0.35
    packing_thickness: Annotated[float, number("share", "Thickness of packing", ge=0)] = 0.05
    emissivity: Annotated[float, number("ratio", "Emissivity, outermost surface", ge=0)] = 0.08
    inner_emissivity: Annotated[float, number("ratio", "Emissivity, inside", ge=0)] = 0.05
    ambient: Annotated[float, number("temperature_difference", "Ambient", ge=0)] = 3.0
    wind: Annotated[float, number("velocity", "Wind; still air is never quite still", ge=0)] = 0.5
    outside_film: Annotated[float, number("share", "Convection outside", ge=0)] = 0.15
    gap_film: Annotated[float, number("share", "Convection in gaps", ge=0)] = 0.15
    conductivity: Annotated[float, number("share", "Least spread of a packing or lining", ge=0)] = (
        0.08
    )


SPREAD_SOURCE = assumption(
    "spreads of a wall's inputs; conductivity from its curve, never below 8 %, the scatter of "
    "seven laboratories"
)


class Range(msgspec.Struct, frozen=True, kw_only=True):
    """A result: of the case as given, and where 90 % of the samples lie, SI."""

    value: float
    low: float
    """5 % of the samples lie below."""
    high: float
    """5 % of the samples lie above."""


class Surface(msgspec.Struct, frozen=True, kw_only=True):
    """One surface of the wall."""

    name: str
    radius: float
    temperature: Range


class LayerResult(msgspec.Struct, frozen=True, kw_only=True):
    """One layer of the wall as it works."""

    name: str
    material: str
    group: str
    """fibre, block, castable, fill, metal or gap"""
    inside: float
    """Radius [m]."""
    outside: float
    conductivity: float
    """Mean over the integral; of a gap what conduction, convection and radiation add up to."""
    drop: float
    """Temperature across it [K]."""
    share: float
    """Of the whole resistance [-]."""
    source: Source
    note: str = ""


class Profile(msgspec.Struct, frozen=True, kw_only=True):
    """Temperature along the radius, for drawing; gas film and weather are not in it."""

    radius: tuple[float, ...]
    value: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]


class Driver(msgspec.Struct, frozen=True, kw_only=True):
    """One input behind the spread of the bellows temperature."""

    words: str
    correlation: float
    """Rank correlation with the bellows temperature [-]."""


class WallReport(msgspec.Struct, frozen=True, kw_only=True):
    """The wall worked out."""

    name: str
    case: WallCase
    gas: float
    """Gas temperature [K]."""
    ambient: float
    surfaces: tuple[Surface, ...]
    """From inside to outside."""
    layers: tuple[LayerResult, ...]
    bellows_inner: Range
    """Process side of the inner ply: where gas would condense [K]."""
    bellows_outer: Range
    """Outside of the outer ply: what a thermometer on it reads [K]."""
    outer: Range
    """Outermost surface: bellows, jacket or cover [K]."""
    heat: Range
    """Per length [W/m]."""
    flux: Range
    """At the bellows [W/m2]."""
    profile: Profile
    residual: float
    """What the energy balance leaves open, share of the heat flow [-]."""
    samples: int
    evaluated: int
    """Samples within every relation; the ranges rest on these."""
    drivers: tuple[Driver, ...]
    figures: tuple[Figure, ...]
    checks: tuple[Check, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
