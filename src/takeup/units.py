"""SI inside; conversion at the edges only.

Every quantity belongs to a *kind* (``"pressure"``, ``"length"``, ...).  A kind has one SI
unit, one display unit for sites that prefer metric and one for sites that prefer US
customary, and a sensible number of decimals for each.  Engines never convert.
"""

from __future__ import annotations

import re
from enum import StrEnum
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from takeup.errors import TakeupError

Array = NDArray[np.float64]
Real = float | Array
"""A scalar or an array: engine functions take either through the same code."""


class Unit:
    """Marks an annotated SI type with its unit, for programs and tests."""

    __slots__ = ("symbol",)

    def __init__(self, symbol: str) -> None:
        self.symbol = symbol


Metre = Annotated[Real, Unit("m")]
CubicMetre = Annotated[Real, Unit("m3")]
SquareMetre = Annotated[Real, Unit("m2")]
Pascal = Annotated[Real, Unit("Pa")]
Kelvin = Annotated[Real, Unit("K")]
Newton = Annotated[Real, Unit("N")]
NewtonPerMetre = Annotated[Real, Unit("N/m")]
NewtonMetrePerRadian = Annotated[Real, Unit("N.m/rad")]
Radian = Annotated[Real, Unit("rad")]
Second = Annotated[Real, Unit("s")]
Ratio = Annotated[Real, Unit("-")]


class System(StrEnum):
    """What a site prefers to read."""

    METRIC = "metric"
    US = "us"


class Show:
    """One display unit: SI value = (shown + offset) * factor."""

    __slots__ = ("decimals", "factor", "offset", "symbol")

    def __init__(self, symbol: str, factor: float, decimals: int, offset: float = 0.0) -> None:
        self.symbol, self.factor, self.decimals, self.offset = symbol, factor, decimals, offset


class Kind:
    """A kind of quantity: its SI unit and how metric and US sites read it."""

    __slots__ = ("metric", "name", "si", "us")

    def __init__(self, name: str, si: str, metric: Show, us: Show) -> None:
        self.name, self.si, self.metric, self.us = name, si, metric, us

    def show(self, system: System) -> Show:
        """The display unit for a site that reads ``system``."""
        return self.us if system == System.US else self.metric


INCH = 0.0254
FOOT = 0.3048
LBF = 4.4482216152605
PSI = LBF / INCH**2
POUND = 0.45359237
DEG = np.pi / 180.0
HOUR = 3600.0
DAY = 86400.0
YEAR = 365.25 * DAY
GRAVITY = 9.80665
BTU_PER_HOUR_FOOT_F = 1.730735
"""1 Btu/(h ft °F) in W/(m K)."""
ATMOSPHERE = 101325.0


def _same(symbol: str, factor: float, decimals: int, offset: float = 0.0) -> tuple[Show, Show]:
    return Show(symbol, factor, decimals, offset), Show(symbol, factor, decimals, offset)


KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind("length", "m", Show("mm", 1e-3, 1), Show("in", INCH, 3)),
        Kind("thickness", "m", Show("mm", 1e-3, 2), Show("in", INCH, 4)),
        Kind("movement", "m", Show("mm", 1e-3, 1), Show("in", INCH, 2)),
        Kind("distance", "m", Show("m", 1.0, 1), Show("ft", FOOT, 1)),
        Kind("area", "m2", Show("cm²", 1e-4, 1), Show("in²", INCH**2, 2)),
        Kind("metal_area", "m2", Show("mm²", 1e-6, 1), Show("in²", INCH**2, 4)),
        Kind("volume", "m3", Show("L", 1e-3, 2), Show("in³", INCH**3, 1)),
        Kind("pressure", "Pa", Show("bar", 1e5, 2), Show("psi", PSI, 1)),
        Kind("pressure_small", "Pa", Show("kPa", 1e3, 1), Show("psi", PSI, 2)),
        Kind("stress", "Pa", Show("MPa", 1e6, 1), Show("ksi", 1e3 * PSI, 2)),
        Kind("modulus", "Pa", Show("GPa", 1e9, 1), Show("Msi", 1e6 * PSI, 2)),
        Kind("temperature", "K", Show("°C", 1.0, 0, 273.15), Show("°F", 5.0 / 9.0, 0, 459.67)),
        Kind("temperature_difference", "K", Show("K", 1.0, 1), Show("°F", 5.0 / 9.0, 1)),
        Kind("force", "N", Show("kN", 1e3, 1), Show("lbf", LBF, 0)),
        Kind("weight_force", "N", Show("t", 1e3 * GRAVITY, 1), Show("kip", 1e3 * LBF, 1)),
        Kind("moment", "N.m", Show("kN·m", 1e3, 2), Show("ft·lbf", FOOT * LBF, 0)),
        Kind("axial_rate", "N/m", Show("N/mm", 1e3, 1), Show("lbf/in", LBF / INCH, 0)),
        Kind(
            "angular_rate",
            "N.m/rad",
            Show("N·m/deg", 1.0 / DEG, 1),
            Show("in·lbf/deg", LBF * INCH / DEG, 0),
        ),
        Kind("mass_per_length", "kg/m", Show("kg/m", 1.0, 1), Show("lb/ft", POUND / FOOT, 1)),
        Kind("mass", "kg", Show("kg", 1.0, 0), Show("lb", POUND, 0)),
        Kind(
            "density",
            "kg/m3",
            Show("kg/m³", 1.0, 0),
            Show("lb/in³", POUND / INCH**3, 4),
        ),
        Kind(
            "conductivity",
            "W/m.K",
            Show("W/m·K", 1.0, 1),
            Show("Btu/h·ft·°F", BTU_PER_HOUR_FOOT_F, 1),
        ),
        Kind(
            "insulation_conductivity",
            "W/m.K",
            Show("W/m·K", 1.0, 3),
            Show("Btu·in/h·ft²·°F", BTU_PER_HOUR_FOOT_F / 12.0, 2),
        ),
        Kind(
            "film",
            "W/m2.K",
            Show("W/m²·K", 1.0, 1),
            Show("Btu/h·ft²·°F", BTU_PER_HOUR_FOOT_F / FOOT, 2),
        ),
        Kind(
            "heat_per_length",
            "W/m",
            Show("W/m", 1.0, 0),
            Show("Btu/h·ft", BTU_PER_HOUR_FOOT_F * 5 / 9, 0),
        ),
        Kind(
            "heat_flux",
            "W/m2",
            Show("W/m²", 1.0, 0),
            Show("Btu/h·ft²", BTU_PER_HOUR_FOOT_F * 5 / 9 / FOOT, 0),
        ),
        Kind("velocity", "m/s", Show("m/s", 1.0, 1), Show("ft/s", FOOT, 1)),
        Kind("angle", "rad", *_same("deg", DEG, 2)),
        Kind("minutes", "s", *_same("min", 60.0, 1)),
        Kind("hours", "s", *_same("h", HOUR, 1)),
        Kind("days", "s", *_same("d", DAY, 0)),
        Kind("years", "s", *_same("a", YEAR, 1)),
        Kind("temperature_rate", "K/s", Show("K/a", 1 / YEAR, 1), Show("°F/a", 5 / 9 / YEAR, 1)),
        Kind(
            "corrosion_rate",
            "m/s",
            Show("mm/a", 1e-3 / YEAR, 3),
            Show("mil/a", INCH / 1e3 / YEAR, 1),
        ),
        Kind("leak_rate", "Pa.m3/s", *_same("mbar·L/s", 0.1, 4)),
        Kind("share", "-", *_same("%", 0.01, 1)),
        Kind("trace", "-", *_same("ppm", 1e-6, 1)),
        Kind("ratio", "-", *_same("", 1.0, 3)),
        Kind("count", "-", *_same("", 1.0, 0)),
        Kind("cycles", "-", *_same("cycles", 1.0, 0)),
        Kind("strain", "-", *_same("%", 0.01, 3)),
        Kind("expansion", "1/K", Show("µm/m·K", 1e-6, 2), Show("µin/in·°F", 1.8e-6, 2)),
        Kind("money", "money", *_same("k", 1e3, 1)),
        Kind("grade", "-", *_same("", 1.0, 0)),
    )
}
"""Gauge or absolute is said by the field's name and title, never by the unit."""

ACCEPTED: dict[str, dict[str, tuple[float, float]]] = {
    "m": {
        "mm": (1e-3, 0),
        "cm": (1e-2, 0),
        "m": (1.0, 0),
        "in": (INCH, 0),
        '"': (INCH, 0),
        "ft": (FOOT, 0),
    },
    "m2": {"mm2": (1e-6, 0), "cm2": (1e-4, 0), "m2": (1.0, 0), "in2": (INCH**2, 0)},
    "m3": {"L": (1e-3, 0), "m3": (1.0, 0), "cm3": (1e-6, 0), "in3": (INCH**3, 0)},
    "Pa": {
        "Pa": (1.0, 0),
        "kPa": (1e3, 0),
        "MPa": (1e6, 0),
        "GPa": (1e9, 0),
        "bar": (1e5, 0),
        "barg": (1e5, 0),
        "mbar": (1e2, 0),
        "psi": (PSI, 0),
        "psig": (PSI, 0),
        "ksi": (1e3 * PSI, 0),
        "Msi": (1e6 * PSI, 0),
        "kg/cm2": (GRAVITY * 1e4, 0),
        "mmH2O": (GRAVITY, 0),
        "inH2O": (249.08891, 0),
    },
    "K": {"K": (1.0, 0), "C": (1.0, 273.15), "F": (5 / 9, 459.67)},
    "N": {
        "N": (1.0, 0),
        "kN": (1e3, 0),
        "lbf": (LBF, 0),
        "kip": (1e3 * LBF, 0),
        "t": (1e3 * GRAVITY, 0),
        "kgf": (GRAVITY, 0),
    },
    "N.m": {"N.m": (1.0, 0), "kN.m": (1e3, 0), "ft.lbf": (FOOT * LBF, 0)},
    "N/m": {"N/m": (1.0, 0), "N/mm": (1e3, 0), "kN/m": (1e3, 0), "lbf/in": (LBF / INCH, 0)},
    "N.m/rad": {
        "N.m/rad": (1.0, 0),
        "N.m/deg": (1 / DEG, 0),
        "in.lbf/deg": (LBF * INCH / DEG, 0),
    },
    "kg/m": {"kg/m": (1.0, 0), "lb/ft": (POUND / FOOT, 0)},
    "kg/m3": {"kg/m3": (1.0, 0), "lb/in3": (POUND / INCH**3, 0)},
    "W/m.K": {
        "W/m.K": (1.0, 0),
        "Btu/h.ft.F": (BTU_PER_HOUR_FOOT_F, 0),
        "Btu.in/h.ft2.F": (BTU_PER_HOUR_FOOT_F / 12, 0),
    },
    "W/m2.K": {"W/m2.K": (1.0, 0), "Btu/h.ft2.F": (BTU_PER_HOUR_FOOT_F / FOOT, 0)},
    "W/m": {
        "W/m": (1.0, 0),
        "kW/m": (1e3, 0),
        "Btu/h.ft": (BTU_PER_HOUR_FOOT_F * 5 / 9, 0),
    },
    "W/m2": {
        "W/m2": (1.0, 0),
        "kW/m2": (1e3, 0),
        "Btu/h.ft2": (BTU_PER_HOUR_FOOT_F * 5 / 9 / FOOT, 0),
    },
    "kg": {"kg": (1.0, 0), "t": (1e3, 0), "lb": (POUND, 0)},
    "rad": {"rad": (1.0, 0), "deg": (DEG, 0), "°": (DEG, 0)},
    "s": {
        "s": (1.0, 0),
        "min": (60.0, 0),
        "h": (HOUR, 0),
        "d": (DAY, 0),
        "day": (DAY, 0),
        "days": (DAY, 0),
        "week": (7 * DAY, 0),
        "weeks": (7 * DAY, 0),
        "month": (YEAR / 12, 0),
        "months": (YEAR / 12, 0),
        "a": (YEAR, 0),
        "y": (YEAR, 0),
        "year": (YEAR, 0),
        "years": (YEAR, 0),
    },
    "K/s": {"K/a": (1 / YEAR, 0), "F/a": (5 / 9 / YEAR, 0)},
    "m/s": {
        "mm/a": (1e-3 / YEAR, 0),
        "mil/a": (INCH / 1e3 / YEAR, 0),
    },
    "Pa.m3/s": {"Pa.m3/s": (1.0, 0), "mbar.L/s": (0.1, 0)},
    "-": {"": (1.0, 0), "-": (1.0, 0), "%": (0.01, 0), "ppm": (1e-6, 0), "cycles": (1.0, 0)},
    "1/K": {"1/K": (1.0, 0), "um/m.K": (1e-6, 0), "uin/in.F": (1.8e-6, 0)},
    "money": {"": (1.0, 0), "k": (1e3, 0), "M": (1e6, 0)},
}
"""What people may write for each SI unit, as (factor, offset): SI = (value + offset) * factor."""

_NUMBER = re.compile(
    r"^\s*([-+]?(?:\d+(?:[ \u00a0_]\d{3})*|\d*)(?:[.,]\d+)?(?:[eE][-+]?\d+)?)\s*(.*?)\s*$"
)


def _plain(symbol: str) -> str:
    table = str.maketrans({"²": "2", "³": "3", "·": ".", "µ": "u", "*": "."})
    text = symbol.translate(table).replace(" ", "")
    for long, short in (("°C", "C"), ("degC", "C"), ("°F", "F"), ("degF", "F")):
        text = text.replace(long, short)
    return {"l": "L", "bar(g)": "barg"}.get(text, text)


VELOCITIES: dict[str, tuple[float, float]] = {
    "m/s": (1.0, 0),
    "km/h": (1 / 3.6, 0),
    "ft/s": (FOOT, 0),
    "mph": (5280 * FOOT / HOUR, 0),
}


def accepted_units(kind: str) -> dict[str, tuple[float, float]]:
    """What people may write for ``kind``; a temperature difference has no zero to shift."""
    if kind == "temperature_difference":
        return {"K": (1.0, 0), "C": (1.0, 0), "F": (5 / 9, 0)}
    if kind == "velocity":  # not those of a corrosion rate, which is m/s too
        return VELOCITIES
    return ACCEPTED[kind_of(kind).si]


def kind_of(name: str) -> Kind:
    """Return the kind called ``name``."""
    try:
        return KINDS[name]
    except KeyError:
        raise TakeupError(f"quantity kind {name!r} is not in takeup.units.KINDS") from None


def to_si(value: float, unit: str, kind: str) -> float:
    """Convert ``value`` written in ``unit`` to the SI unit of ``kind``.

    Raises :class:`takeup.errors.TakeupError` naming the accepted units.
    """
    accepted = accepted_units(kind)
    found = accepted.get(_plain(unit))
    if found is None:
        lower = {name.lower(): name for name in accepted}
        name = lower.get(_plain(unit).lower())
        if name is None or name in {"mpa", "MPa"}:  # mPa and MPa must not be confused
            raise TakeupError(
                f"unit {unit!r} is not one for {kind.replace('_', ' ')}; "
                f"use {', '.join(name for name in accepted if name)}"
            )
        found = accepted[name]
    factor, offset = found
    return (value + offset) * factor


def from_si(value: Real, kind: str, system: System) -> Real:
    """Convert an SI value (scalar or array) to the display unit of ``system``."""
    show = kind_of(kind).show(system)
    return value / show.factor - show.offset


def symbol(kind: str, system: System) -> str:
    """The display unit of ``kind`` for a site that reads ``system``."""
    return kind_of(kind).show(system).symbol


def parse_number(text: str) -> tuple[float, str]:
    """Split ``'12,5 mm'`` into ``(12.5, 'mm')``; a decimal comma is understood.

    ``1,234.5``, ``1.234,5`` and ``1,234`` are refused: which mark is the decimal one
    cannot be known, and a factor of a thousand is not ours to guess.
    """
    match = _NUMBER.match(text)
    if not match or not re.search(r"\d", match.group(1)):
        raise TakeupError(f"{text!r} is not a number")
    number, unit = match.groups()
    if re.match(r"^[.,]\d", unit):
        raise TakeupError(f"{text!r} has two separators; write it with one decimal mark only")
    if re.fullmatch(r"[-+]?[1-9]\d{0,2},\d{3}", number):
        raise TakeupError(
            f"{text!r} may mean {number.replace(',', '.')} or {number.replace(',', '')}; "
            "write it with a decimal point, or without the comma"
        )
    cleaned = re.sub(r"[ \u00a0_]", "", number).replace(",", ".")
    return float(cleaned), unit


def parse(text: str, kind: str, default_unit: str) -> float:
    """Read a cell such as ``'25'``, ``'25 mm'`` or ``'1 in'`` into SI."""
    value, unit = parse_number(text)
    if not np.isfinite(value):
        raise TakeupError(f"{text!r} is not a finite number")
    return to_si(value, unit or default_unit, kind)


LONGEST_SHOWN = 1e15
"""Numbers from here on are shown by their power of ten; nothing real is as large."""


def shown(value: float | None, kind: str, system: System, *, unit: bool = True) -> str:
    """Format an SI value for people: fixed decimals, thousands by a narrow space that does not break, unit behind."""
    if value is None:
        return "unknown"
    show = kind_of(kind).show(system)
    number = float(value) / show.factor - show.offset
    if not np.isfinite(number):
        return "not finite"
    text = f"{number:.3g}" if abs(number) >= LONGEST_SHOWN else f"{number:,.{show.decimals}f}"
    text = text.replace(",", "\u202f")
    if text.startswith("-"):  # what rounds to zero has no sign
        text = text[1:] if not text.strip("-0.") else "\u2212" + text[1:]
    return f"{text}\u00a0{show.symbol}" if unit and show.symbol else text
