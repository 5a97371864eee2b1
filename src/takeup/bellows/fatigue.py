"""Cycles to design and mean curves, and the sum of damage."""

from __future__ import annotations

import numpy as np

from takeup.units import Array, Pascal, Ratio

MPA = 1e6
MOST_CYCLES = 1e6
LEAST_TESTED = 1e3
"""Mean cycles below which few tests exist; the two curves meet at 125 cycles (3.47 GPa)."""
MEAN_FLOOR = 372.3e6
"""Stress range [Pa] below which the mean curve has no tests behind it."""


def design_cycles(stress: Pascal) -> Ratio:
    """Allowed cycles at x = Kg (Eo/Eb) St, unreinforced U; VIII-2 Table 4.19.5, App. 26.

    A margin of 3 on cycles and 1.25 on stress is inside; nothing is to be added.
    """
    x = np.asarray(stress, dtype=float) / MPA
    with np.errstate(divide="ignore", invalid="ignore"):
        steep = 35850.0 / (x - 264.0)
        flat = 46200.0 / (x - 211.0)
    cycles = np.where(
        x >= 448.0, steep * steep, np.where(x > 257.2, np.minimum(flat * flat, 1e6), MOST_CYCLES)
    )
    cycles = np.where(np.isnan(x), np.nan, cycles)
    return float(cycles) if cycles.ndim == 0 else cycles


def mean_cycles(stress: Pascal, material_factor: Ratio = 1.0) -> Ratio:
    """Mean test cycles Nc = (12 824 / (St/fc - 372.3))^3.4, as-formed austenitic; EJMA.

    NaN at and below 372.3 MPa, where the curve has no tests: above test range.
    """
    x = np.asarray(stress, dtype=float) / MPA / material_factor
    over = x - MEAN_FLOOR / MPA
    with np.errstate(divide="ignore", invalid="ignore"):
        cycles: Array = np.where(over > 0.0, np.power(12824.0 / np.abs(over), 3.4), np.nan)
    return float(cycles) if cycles.ndim == 0 else cycles


def usage(counts: Array, allowed: Array) -> float:
    """Damage sum U = sum n_i / N_i [-]."""
    return float(np.sum(np.asarray(counts) / np.asarray(allowed)))
