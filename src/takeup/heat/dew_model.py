"""What the question of condensation takes and gives."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import msgspec

from takeup.checks import Check, Ground
from takeup.fields import number, words
from takeup.heat.model import Range
from takeup.sources import Source


class Burning(StrEnum):
    """What made the gas: decides how much of the SO2 may be SO3."""

    UNKNOWN = "not known"
    FULL = "full burn"
    PARTIAL = "partial burn"
    HEATER = "fired heater"


class GasAnalysis(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Gas that reaches the cavity, mole shares of the wet gas; ``None`` is not known, not zero."""

    pressure: (
        Annotated[
            float,
            number("pressure", "Pressure in the line (gauge)", "Blank: that of the wall, or none",
                   ge=-101325.0),
        ]
        | None
    ) = None  # fmt: skip
    temperature: (
        Annotated[
            float,
            number("temperature", "Gas temperature", "Gives the ceiling of the SO3 share", gt=0),
        ]
        | None
    ) = None
    water: Annotated[float, number("share", "Water vapour", ge=0, lt=1)] | None = None
    oxygen: Annotated[float, number("share", "Oxygen", ge=0, le=0.25)] | None = None
    excess_air: (
        Annotated[
            float,
            number("share", "Excess air", "In place of oxygen, and of water left blank",
                   ge=0, le=5),
        ]
        | None
    ) = None  # fmt: skip
    hydrogen_per_carbon: Annotated[
        float, number("ratio", "Fuel, H to C atoms", "Coke 0.5-1, oil 1.7-2, methane 4", ge=0,
                      le=4)
    ] = 1.0  # fmt: skip
    burning: Annotated[Burning, words("Burning")] = Burning.UNKNOWN
    so2: Annotated[float, number("trace", "SO2", ge=0, le=0.2)] | None = None
    so3: Annotated[float, number("trace", "SO3, with H2SO4", ge=0, le=0.05)] | None = None
    hcl: Annotated[float, number("trace", "HCl", ge=0, le=0.05)] | None = None
    hbr: Annotated[float, number("trace", "HBr", ge=0, le=0.05)] | None = None
    hno3: Annotated[float, number("trace", "HNO3", ge=0, le=0.05)] | None = None
    nh3: Annotated[float, number("trace", "NH3", ge=0, le=0.2)] | None = None
    h2s: Annotated[float, number("trace", "H2S", ge=0, le=0.5)] | None = None


class Method(msgspec.Struct, frozen=True, kw_only=True):
    """One published relation and what it gives."""

    source: Source
    value: float | None
    """[K]; ``None`` outside its range."""
    because: str = ""


class Condensate(msgspec.Struct, frozen=True, kw_only=True):
    """Something that condenses or falls out, and below which temperature."""

    id: str
    title: str
    temperature: Range
    """Middle, lowest and highest [K]: of the relations and of what is known of the gas."""
    methods: tuple[Method, ...]
    note: str = ""


class Trioxide(msgspec.Struct, frozen=True, kw_only=True):
    """SO3 in the gas, mole share."""

    share: Range
    source: Source
    ceiling: float | None
    """Equilibrium share of the sulphur oxides; ``None`` where oxygen or temperature is unknown."""
    note: str


class DewReport(msgspec.Struct, frozen=True, kw_only=True):
    """What condenses from a gas, and the low action line that follows."""

    gas: GasAnalysis
    trioxide: Trioxide | None
    condensates: tuple[Condensate, ...]
    """Highest first."""
    governing: str
    """Id of the condensate that sets the line; empty where nothing could be worked out."""
    margin: float
    """For cold spots [K]."""
    line: float | None
    """Proposed low action line [K]; ``None`` where nothing could be worked out."""
    complete: bool
    """False while something that may condense is not known: the line may lie higher."""
    missing: tuple[str, ...]
    checks: tuple[Check, ...]
    grounds: tuple[Ground, ...]
    cautions: tuple[str, ...]
