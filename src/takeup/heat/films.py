"""Films: what carries heat between a surface and the gas inside or the weather outside.

Relations for single arguments or arrays alike.  Ranges of validity are data beside each
relation (:data:`RA_MOST` ...); the solver flags what lies beyond, the report refuses it.
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np

from takeup.errors import require_within
from takeup.sources import Source, Standing
from takeup.units import GRAVITY, Array

SIGMA = 5.670374419e-8
"""Stefan-Boltzmann constant [W/m2.K4]."""
AIR_CONSTANT = 287.05
"""Gas constant of air [J/kg.K]."""
PRANDTL = 0.71
AIR_LOW, AIR_HIGH = 200.0, 1400.0
"""Temperatures [K] between which the air relations hold."""
RA_MOST = 1e12
"""Largest Rayleigh number of the natural convection relation."""
RA_PLATE_MOST = 1e12

AIR = Source(document="Sutherland relations for dry air",
             at="viscosity and conductivity; within 2.5 % of handbook tables, 250-1100 K",
             standing=Standing.SUPPORTED)  # fmt: skip
NATURAL = Source(document="Churchill and Chu (1975), horizontal cylinder",
                 at="Ra up to 1e12, properties at the film temperature",
                 standing=Standing.SUPPORTED)  # fmt: skip
PLATE = Source(document="Churchill and Chu (1975), vertical plate",
               at="all-Ra form, used for vertical runs", standing=Standing.MEMORY)  # fmt: skip
FORCED = Source(document="Churchill and Bernstein (1977), cylinder in cross flow",
                at="Re Pr above 0.2", standing=Standing.SUPPORTED)  # fmt: skip
MIXED = Source(document="Takeup", at="natural and forced films blended by fourth powers",
               standing=Standing.ASSUMPTION)  # fmt: skip
RADIATION = Source(document="Stefan-Boltzmann law", at="grey surface in large surroundings",
                   standing=Standing.DERIVED)  # fmt: skip
PIPE = Source(document="Dittus and Boelter", at="turbulent flow in a pipe, Re above 1e4",
              standing=Standing.MEMORY)  # fmt: skip
OLD_PRACTICE = Source(document="ASTM C680, editions of the 1980s and 1990s",
                      at="film of a cylinder in still or moving air",
                      standing=Standing.MEMORY)  # fmt: skip


class Orientation(StrEnum):
    """How the run lies."""

    HORIZONTAL = "horizontal"
    VERTICAL = "vertical"


def air_conductivity(kelvin: Array) -> Array:
    """Conductivity of air [W/m.K] at ``kelvin`` [K] and any pressure of a process line."""
    return np.asarray(0.0241 * (kelvin / 273.15) * np.sqrt(kelvin / 273.15)
                      * (273.15 + 194.0) / (kelvin + 194.0))  # fmt: skip


def air_viscosity(kelvin: Array) -> Array:
    """Dynamic viscosity of air [Pa.s] at ``kelvin`` [K]."""
    return np.asarray(1.716e-5 * (kelvin / 273.15) * np.sqrt(kelvin / 273.15)
                      * 383.55 / (kelvin + 110.4))  # fmt: skip


def rayleigh(hot: Array, cold: Array, length: Array | float, pressure: Array | float) -> Array:
    """Rayleigh number of air on ``length`` [m] between two temperatures [K] at ``pressure`` [Pa].

    Properties at the mean of the two; the sign of the difference does not matter.
    """
    film = 0.5 * (hot + cold)
    kinematic = air_viscosity(film) * AIR_CONSTANT * film / pressure
    return np.asarray(
        GRAVITY / film * np.abs(hot - cold) * length**3 * PRANDTL / (kinematic * kinematic)
    )


_CYLINDER = (1.0 + (0.559 / PRANDTL) ** (9.0 / 16.0)) ** (8.0 / 27.0)
_PLATE = (1.0 + (0.492 / PRANDTL) ** (9.0 / 16.0)) ** (8.0 / 27.0)
_FORCED = (1.0 + (0.4 / PRANDTL) ** (2.0 / 3.0)) ** 0.25


def natural_cylinder(ra: Array) -> Array:
    """Nusselt number on the diameter of a horizontal cylinder in still air; :data:`NATURAL`."""
    root: Array = 0.60 + 0.387 / _CYLINDER * ra ** (1.0 / 6.0)
    return root * root


def natural_plate(ra: Array) -> Array:
    """Nusselt number on the height of a vertical surface in still air; :data:`PLATE`."""
    root: Array = 0.825 + 0.387 / _PLATE * ra ** (1.0 / 6.0)
    return root * root


def forced_cylinder(re: Array) -> Array:
    """Nusselt number on the diameter of a cylinder in cross flow; :data:`FORCED`."""
    share = re / 282000.0
    return np.asarray(
        0.3 + 0.62 * np.sqrt(re) * PRANDTL ** (1.0 / 3.0) / _FORCED
        * (1.0 + share**0.625) ** 0.8
    )  # fmt: skip


def outside_film(
    surface: Array,
    ambient: Array,
    *,
    diameter: Array,
    wind: Array | float,
    orientation: Orientation,
    height: float,
) -> tuple[Array, Array, Array]:
    """Convection film [W/m2.K], its natural share [-] and the Rayleigh number [-].

    ``surface`` and ``ambient`` [K], ``diameter`` [m], ``wind`` across the run [m/s];
    ``height`` [m] counts for vertical runs only.  Natural and forced films are blended by
    fourth powers, so that the stronger rules (:data:`MIXED`).
    """
    film = 0.5 * (surface + ambient)
    conductivity = air_conductivity(film)
    vertical = orientation == Orientation.VERTICAL
    length = np.full_like(diameter, height) if vertical else diameter
    ra = rayleigh(surface, ambient, length, 101325.0)
    still = (natural_plate(ra) if vertical else natural_cylinder(ra)) * conductivity / length
    if not np.any(wind):
        return still, np.ones_like(still), ra
    re = 101325.0 * wind * diameter / (AIR_CONSTANT * film * air_viscosity(film))
    blown = np.where(re > 0.0, forced_cylinder(re), 0.0) * conductivity / diameter
    still *= still
    still *= still
    blown *= blown
    blown *= blown
    total = still + blown
    return np.sqrt(np.sqrt(total)), still / total, ra


def radiation_film(emissivity: Array | float, one: Array, other: Array) -> Array:
    """Radiation as a film [W/m2.K] between a grey surface and large surroundings [K]."""
    return np.asarray(emissivity * SIGMA * (one + other) * (one * one + other * other))


def old_practice_film(
    surface: float, ambient: float, *, diameter: float, wind: float, form: str = "horizontal"
) -> float:
    """The film [W/m2.K] of older insulation practice, for comparison only (:data:`OLD_PRACTICE`).

    It stands in many spreadsheets and lies 20-30 % below the relations used here.  ``form`` is
    one of horizontal, vertical, plate.  [K], [m], [m/s]
    """
    factor = {"horizontal": 1.016, "vertical": 1.235, "plate": 1.394}[form]
    inches = min(diameter / 0.0254, 24.0)
    rankine = 0.9 * (surface + ambient)
    apart = 1.8 * abs(surface - ambient)
    miles = wind / 0.44704
    us = factor * inches**-0.2 * rankine**-0.181 * apart**0.266 * (1.0 + 1.277 * miles) ** 0.5
    return float(us * 5.678263)


def pipe_film(*, velocity: float, diameter: float, kelvin: float, pressure: float) -> float:
    """Convective film [W/m2.K] of flue gas or air in a pipe; :data:`PIPE`.

    ``velocity`` [m/s], ``diameter`` [m], ``kelvin`` [K], ``pressure`` absolute [Pa].  Radiation
    of gas and particles comes on top and is not small: often as much again.  Raises
    :class:`takeup.errors.OutOfRange` below turbulent flow.
    """
    require_within("gas_temperature", kelvin, low=AIR_LOW, high=AIR_HIGH, unit="K",
                   whose="the air relations")  # fmt: skip
    at = np.asarray(kelvin, dtype=float)
    viscosity = float(air_viscosity(at))
    re = pressure * velocity * diameter / (AIR_CONSTANT * kelvin * viscosity)
    require_within("Reynolds number (gas_velocity)", re, low=1e4, high=1e8,
                   whose="the turbulent pipe relation",
                   remedy="Give the gas film itself.")  # fmt: skip
    return float(0.023 * re**0.8 * PRANDTL**0.4 * air_conductivity(at) / diameter)
