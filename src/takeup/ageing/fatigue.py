"""Cycles to a crack by smooth-bar and welded-joint curves, and growth through a wall.

Arrays go through unchanged in shape.  These are not curves of bellows: those are in
:mod:`takeup.bellows.fatigue`.
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np

from takeup.errors import require_within
from takeup.materials import Family
from takeup.sources import Source, Standing
from takeup.units import Array, Real

SMOOTH = Source(
    document="ASME BPVC VIII-2", at="Annex 3-F, smooth bar design curves",
    standing=Standing.SUPPORTED,
)  # fmt: skip
WELDED = Source(
    document="ASME BPVC VIII-2", at="Annex 3-F.2, welded joints, structural stress",
    standing=Standing.MEMORY,
)  # fmt: skip
PENALTY = Source(
    document="ASME BPVC VIII-2", at="5.5.3, fatigue penalty factor Ke", standing=Standing.MEMORY
)
GROWTH = Source(
    document="BS 7910", at="simplified law for steel in air, upper bound; edge-crack K of Tada",
    standing=Standing.MEMORY,
)  # fmt: skip
CURVES_END = 427.0 + 273.15
"""The smooth-bar curves end here [K]; 371 °C for ferritic steel"""
CURVES_END_FERRITIC = 371.0 + 273.15
_KSI = 6894757.293168
_AUSTENITIC_KNEE, _FERRITIC_KNEE = 14.4, 20.0


class Curve(StrEnum):
    """How safe the curve of welded joints is."""

    MEAN = "mean"
    TWO_BELOW = "two standard deviations below the mean"
    THREE_BELOW = "three standard deviations below the mean"


_CONSTANT = {Curve.MEAN: 19930.2, Curve.TWO_BELOW: 13875.7, Curve.THREE_BELOW: 11577.9}


def smooth_bar(amplitude: Real, modulus: Real, family: Family) -> Array:
    """Design cycles for an elastic stress ``amplitude`` [Pa] with the ``modulus`` [Pa] it has.

    Factors of the code on stress and life are within.  Where the amplitude lies above the
    curve's start (10 cycles) the answer is that of its start; beyond 1e11 cycles it is
    infinity.  Raises :class:`takeup.errors.OutOfRange` for negative input.
    """
    require_within("Stress amplitude", amplitude, low=0.0, unit="Pa", whose=SMOOTH.at)
    require_within("Elastic modulus", modulus, low=1e9, high=4e11, unit="Pa", whose=SMOOTH.at)
    size = 28.3e3 * np.asarray(amplitude, dtype=float) / np.asarray(modulus, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        y = np.log10(size)
        exponent = _ferritic(size, y) if family == Family.FERRITIC else _austenitic(size, y)
        cycles = 10.0**exponent
    top = 580.0 if family == Family.FERRITIC else 870.0
    cycles = np.where(size >= top, 10.0, cycles)
    low = 7.0 if family == Family.FERRITIC else 13.6
    return np.asarray(np.where(size < low, np.inf, np.maximum(cycles, 10.0)))


def _austenitic(size: Array, y: Array) -> Array:
    up = (17.0181 - 19.8713 * y + 4.21366 * y**2) / (1.0 - 0.1720606 * y - 0.633592 * y**2)
    down = 1.0 / (-0.331096 + 4.3261 * np.log(y) / y**2)
    return np.asarray(np.where(size >= _AUSTENITIC_KNEE, up, down))


def _ferritic(size: Array, y: Array) -> Array:
    up = (
        -4706.5245 + 1813.6228 * y + 6785.5644 / y - 368.12404 * y**2 - 5133.7345 / y**2
        + 30.708204 * y**3 + 1596.1916 / y**3
    )  # fmt: skip
    down = (38.1309 - 60.1705 * y**2 + 25.0352 * y**4) / (
        1.0 + 1.80224 * y**2 - 4.68904 * y**4 + 2.26536 * y**6
    )
    return np.asarray(np.where(size >= _FERRITIC_KNEE, up, down))


_PENALTY = {Family.AUSTENITIC: (0.3, 1.7), Family.NICKEL: (0.3, 1.7), Family.FERRITIC: (0.2, 2.0)}


def penalty(stress_range: Real, shakedown: Real, family: Family) -> Array:
    """Fatigue penalty factor Ke [-] for an elastic range beyond ``shakedown`` (3 Sm or 2 Sy) [Pa].

    Ferritic constants are those of low-alloy steel (n 0.2, m 2).
    """
    n, m = _PENALTY[family]
    over = np.asarray(stress_range, dtype=float) / np.asarray(shakedown, dtype=float)
    line = 1.0 + (1.0 - n) / (n * (m - 1.0)) * (over - 1.0)
    return np.asarray(np.clip(line, 1.0, 1.0 / n))


def welded(
    membrane: Real, bending: Real, wall: float, modulus_ratio: Real,
    curve: Curve = Curve.TWO_BELOW, environment: float = 4.0,
) -> Array:  # fmt: skip
    """Cycles of a welded joint from its structural stress ranges [Pa] across ``wall`` [m].

    ``modulus_ratio`` is modulus at temperature over modulus cold; ``environment`` divides the
    life (4 unless shown to be less).
    """
    m, h = 3.6, 0.3195
    membrane, bending = np.abs(np.asarray(membrane)), np.abs(np.asarray(bending))
    total = membrane + bending
    share = np.divide(bending, total, out=np.zeros_like(total * 1.0), where=total > 0.0)
    thick = np.clip(wall * 1e3, 16.0, 150.0)
    shape = (1.23 - 0.364 * share - 0.17 * share**2) / (1.007 - 0.306 * share - 0.178 * share**2)
    equivalent = total / 1e6 / (thick ** ((2.0 - m) / (2.0 * m)) * shape)
    with np.errstate(divide="ignore"):
        life = (np.asarray(modulus_ratio) * _CONSTANT[curve] / equivalent) ** (1.0 / h)
    return np.asarray(life / environment)


PARIS_A, PARIS_M = 5.21e-13, 3.0
"""[mm/cycle, N/mm^1.5]; for steel in air to 100 °C, above it times (cold over hot modulus)^3"""
THROUGH = 0.6
"""Share of the wall where the edge-crack formula ends; the rest is counted as gone"""


def growth(
    membrane: float, bending: float, wall: float, start: float, modulus_ratio: float = 1.0,
    until: float = THROUGH,
) -> float:  # fmt: skip
    """Cycles from a crack ``start`` [m] deep to ``until`` of the ``wall`` [m].

    ``membrane`` and ``bending`` are ranges [Pa], bending tensile at the cracked side.  A long
    crack in a free strip: one held by a cylinder opens less, so this is on the short side.
    Infinite where the whole range closes the crack or lies below the threshold (63 N/mm^1.5).
    Raises :class:`takeup.errors.OutOfRange` outside 0 < start < until <= 0.6.
    """
    require_within("Crack depth over wall", until, low=1e-3, high=THROUGH, whose=GROWTH.at)
    require_within(
        "First crack depth over wall", start / wall, low=1e-4, high=until * 0.999, whose=GROWTH.at
    )
    depth = np.geomspace(start, until * wall, 400)
    x = depth / wall
    ym = 1.12 - 0.231 * x + 10.55 * x**2 - 21.72 * x**3 + 30.39 * x**4
    yb = 1.122 - 1.40 * x + 7.33 * x**2 - 13.08 * x**3 + 14.0 * x**4
    k = (ym * membrane + yb * bending) / 1e6 * np.sqrt(np.pi * depth * 1e3)
    if (k <= 63.0).any():
        return float("inf")
    rate = PARIS_A / modulus_ratio**3 * k**PARIS_M
    return float(np.trapezoid(1.0 / rate, depth * 1e3))
