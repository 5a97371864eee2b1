"""An empty cavity between two round walls: conduction, natural convection, radiation."""

from __future__ import annotations

import numpy as np

from takeup.heat.films import PRANDTL, SIGMA, air_conductivity, rayleigh
from takeup.sources import Source, Standing
from takeup.units import Array

RA_MOST = 1e7
"""Largest Rayleigh number of the cavity relation."""
CONVECTION = Source(document="Raithby and Hollands (1975), horizontal concentric cylinders",
                    at="effective conductivity, Ra up to 1e7",
                    standing=Standing.MEMORY)  # fmt: skip
EXCHANGE = Source(document="Radiation between long concentric grey cylinders",
                  at="view factor one from the inner wall",
                  standing=Standing.DERIVED)  # fmt: skip
_FACTOR = 0.386 * (PRANDTL / (0.861 + PRANDTL)) ** 0.25


def gap_length(inner: Array, outer: Array) -> Array:
    """Length [m] of the cavity's Rayleigh number from its two radii [m]."""
    return np.asarray(
        2.0 * np.log(outer / inner) ** (4.0 / 3.0)
        / (inner**-0.6 + outer**-0.6) ** (5.0 / 3.0)
    )  # fmt: skip


def exchange(inner: Array, outer: Array, emit_in: Array | float, emit_out: Array | float) -> Array:
    """Radiation between two cylinders [W/m per K^4]; emissivities of the facing surfaces."""
    return np.asarray(
        SIGMA * 2.0 * np.pi * inner / (1.0 / emit_in + inner / outer * (1.0 / emit_out - 1.0))
    )


def stirred(
    hot: Array, cold: Array, length: Array, pressure: Array | float, factor: Array | float = 1.0
) -> tuple[Array, Array, Array]:
    """Effective over still conductivity (>= 1), k of the still gas [W/m.K], Rayleigh number.

    ``factor`` scales the relation's convection for its own scatter.
    """
    ra = rayleigh(hot, cold, length, pressure)
    ratio = np.maximum(1.0, factor * _FACTOR * np.sqrt(np.sqrt(ra)))
    return ratio, air_conductivity(0.5 * (hot + cold)), ra
