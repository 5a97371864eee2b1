"""Dew points of water and acids, temperatures of ammonium salts, SO3 from SO2: the relations.

Each function is one published relation, for single values or arrays: partial pressures in
pascal in, kelvin out.  What lies outside a relation gives NaN; the report says so.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from takeup.sources import Source, Standing
from takeup.units import ATMOSPHERE, Array, Real

MMHG = ATMOSPHERE / 760.0
ZERO = 273.15
TRIPLE, CRITICAL = 273.15, 647.096
OKKES_LEAST = 1e-8 * ATMOSPHERE
"""Partial pressure of SO3 [Pa] that the Okkes relation needs more than."""

IF97 = Source(document="IAPWS-IF97", at="region 4, saturation line, 273.15-647.096 K",
              standing=Standing.CONFIRMED)  # fmt: skip
BUCK = Source(document="Buck (1996)", at="saturation over water, up to 100 °C",
              standing=Standing.MEMORY)  # fmt: skip
MAGNUS = Source(document="WMO guide to instruments", at="Magnus form over water, up to 60 °C",
                standing=Standing.MEMORY)  # fmt: skip
VERHOFF = Source(document="Verhoff and Banchero (1974)", edition="as given by Pierce (1977)",
                 at="mmHg, natural logarithms; cross term 0.0062", standing=Standing.READ)  # fmt: skip
OKKES = Source(document="Okkes (1987)", at="atm, decadic logarithms; SO3 above 1e-8 atm",
               standing=Standing.READ)  # fmt: skip
ZARENEZHAD = Source(document="ZareNezhad (2009)", at="mmHg, natural logarithms",
                    standing=Standing.MEMORY)  # fmt: skip
KIANG = Source(document="Acid dew points after Kiang (1981)",
               at="four constants for each acid; mmHg, natural logarithms",
               standing=Standing.READ)  # fmt: skip
CHLORIDE = Source(document="Dissociation of solid ammonium chloride",
                  at="enthalpy 176 kJ/mol, total pressure 1 atm at 338 °C",
                  standing=Standing.DERIVED)  # fmt: skip
HYDROSULPHIDE = Source(document="Dissociation of solid ammonium hydrosulphide",
                       at="0.108 atm² at 25 °C, enthalpy 90.6 kJ/mol",
                       standing=Standing.MEMORY)  # fmt: skip
BISULPHATE = Source(document="Experience with ammonium bisulphate",
                    at="sticky deposits between 150 and 230 °C", standing=Standing.MEMORY)  # fmt: skip
EQUILIBRIUM = Source(document="Equilibrium of SO2, O2 and SO3",
                     at="lg Kp = 4956/T - 4.678, atm", standing=Standing.MEMORY)  # fmt: skip
COMBUSTION = Source(document="Balance of complete combustion of CHm in dry air",
                    at="0.2095 oxygen in air", standing=Standing.DERIVED)  # fmt: skip

_IF97 = (
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5,
    -0.32325550322333e7, 0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6,
    -0.23855557567849, 0.65017534844798e3,
)  # fmt: skip


def _known(value: Array, good: NDArray[np.bool_]) -> Array:
    return np.where(good, value, np.nan)


def water_if97(water: Real) -> Array:
    """Saturation temperature [K] of water vapour at its partial pressure [Pa]; :data:`IF97`.

    NaN outside 611.2 Pa to 22.064 MPa.
    """
    p = np.asarray(water, dtype=float)
    good = (p >= 611.2) & (p <= 22.064e6)
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = _IF97
    beta = np.where(good, p, 1e5) ** 0.25 / 1e6**0.25
    e = beta * beta + n3 * beta + n6
    f = n1 * beta * beta + n4 * beta + n7
    g = n2 * beta * beta + n5 * beta + n8
    d = 2.0 * g / (-f - np.sqrt(f * f - 4.0 * e * g))
    root = np.sqrt((n10 + d) ** 2 - 4.0 * (n9 + n10 * d))
    return _known(0.5 * (n10 + d - root), good)


def buck_pressure(kelvin: Real) -> Array:
    """Saturation pressure [Pa] over water; :data:`BUCK`."""
    t = np.asarray(kelvin, dtype=float) - ZERO
    return np.asarray(611.21 * np.exp((18.678 - t / 234.5) * t / (257.14 + t)))


def water_buck(water: Real) -> Array:
    """Dew point [K] of water at its partial pressure [Pa]; :data:`BUCK` solved exactly.

    NaN outside 611 Pa to 1 atm.
    """
    p = np.asarray(water, dtype=float)
    good = (p >= 611.0) & (p <= ATMOSPHERE * 1.001)
    u = np.log(np.where(good, p, 1e3) / 611.21)
    # 18.678 t - t^2/234.5 = u (257.14 + t): a quadratic, its smaller root
    a, b, c = 1.0 / 234.5, u - 18.678, 257.14 * u
    return _known(ZERO + (-b - np.sqrt(b * b - 4.0 * a * c)) / (2.0 * a), good)


def water_magnus(water: Real) -> Array:
    """Dew point [K] of water at its partial pressure [Pa]; :data:`MAGNUS`; NaN above 60 °C."""
    p = np.asarray(water, dtype=float)
    good = (p >= 611.0) & (p <= 20000.0)
    u = np.log(np.where(good, p, 1e3) / 611.2)
    return _known(ZERO + 243.12 * u / (17.62 - u), good)


def acid_verhoff(water: Real, trioxide: Real) -> Array:
    """Sulphuric acid dew point [K] from partial pressures [Pa]; :data:`VERHOFF`."""
    w, s = _logs(water, trioxide)
    return np.asarray(1000.0 / (2.276 - 0.02943 * w - 0.0858 * s + 0.0062 * w * s))


def acid_okkes(water: Real, trioxide: Real) -> Array:
    """Sulphuric acid dew point [K] from partial pressures [Pa]; :data:`OKKES`.

    NaN at or below 1e-8 atm of SO3.
    """
    s = np.asarray(trioxide, dtype=float)
    good = s > OKKES_LEAST
    ls = np.log10(np.where(good, s, ATMOSPHERE) / ATMOSPHERE)
    lw = np.log10(np.asarray(water, dtype=float) / ATMOSPHERE)
    return _known(ZERO + 203.25 + 27.6 * lw + 10.83 * ls + 1.06 * (ls + 8.0) ** 2.19, good)


def acid_zarenezhad(water: Real, trioxide: Real) -> Array:
    """Sulphuric acid dew point [K] from partial pressures [Pa]; :data:`ZARENEZHAD`."""
    w, s = _logs(water, trioxide)
    return np.asarray(ZERO + 150.0 + 11.664 * s + 8.1328 * w - 0.383226 * w * s)


ACIDS = {
    "HCl": (3.7368, -0.1591, -0.0326, 0.00269),
    "HNO3": (3.8614, -0.1446, -0.0827, 0.00756),
    "HBr": (3.5639, -0.1350, -0.0396, 0.00235),
    "H2SO3": (3.9526, -0.1863, 0.000867, -0.000913),
}


def acid_other(acid: str, water: Real, gas: Real) -> Array:
    """Dew point [K] of HCl, HNO3, HBr or H2SO3 (``gas`` is SO2 then); :data:`KIANG`.

    It may lie below the water dew point: the higher of the two counts.
    """
    a, b, c, d = ACIDS[acid]
    w, g = _logs(water, gas)
    return np.asarray(1000.0 / (a + b * w + c * g + d * w * g))


def _logs(water: Real, gas: Real) -> tuple[Array, Array]:
    return (
        np.log(np.asarray(water, dtype=float) / MMHG),
        np.log(np.asarray(gas, dtype=float) / MMHG),
    )


def ammonium_chloride(ammonia: Real, chloride: Real) -> Array:
    """Temperature [K] below which NH4Cl falls out, partial pressures [Pa]; :data:`CHLORIDE`."""
    product = np.asarray(ammonia, dtype=float) * chloride / ATMOSPHERE**2
    return np.asarray(21170.0 / (33.26 - np.log(product)))


def ammonium_hydrosulphide(ammonia: Real, sulphide: Real) -> Array:
    """Temperature [K] below which NH4HS falls out, partial pressures [Pa]."""
    product = np.asarray(ammonia, dtype=float) * sulphide / ATMOSPHERE**2
    start, slope = np.log(0.108), 90600.0 / 8.314463
    return np.asarray(slope / (start + slope / 298.15 - np.log(product)))


def trioxide_share(kelvin: Real, oxygen: Real) -> Array:
    """Share of the sulphur oxides that is SO3 at equilibrium [-]; :data:`EQUILIBRIUM`.

    ``oxygen`` is its partial pressure [Pa].  Reality is far below it at furnace temperature:
    a ceiling, not an estimate.
    """
    constant = 10.0 ** (4956.0 / np.asarray(kelvin, dtype=float) - 4.678)
    driven = constant * np.sqrt(np.asarray(oxygen, dtype=float) / ATMOSPHERE)
    return np.asarray(driven / (1.0 + driven))


def combustion(excess: float, hydrogen: float) -> tuple[float, float]:
    """Mole shares of oxygen and water in wet flue gas of CHm with dry air; :data:`COMBUSTION`.

    ``excess`` air as a share of what burning needs (0.15 for 15 %), ``hydrogen`` atoms per atom
    of carbon: 0.5-1 coke, 1.7-2 oil, 4 methane.  [-]
    """
    need = 1.0 + hydrogen / 4.0
    air = need * (1.0 + excess) / 0.2095
    oxygen = need * excess
    water = hydrogen / 2.0
    whole = 1.0 + water + oxygen + air * (1.0 - 0.2095)
    return oxygen / whole, water / whole
