"""Samples of what is uncertain about a wall, from a seed, as factors and shifts."""

from __future__ import annotations

import math

import numpy as np

from takeup.errors import OutOfRange, require_within
from takeup.heat.conductivity import METAL_SPREAD, insulations, material
from takeup.heat.model import Fill, Spreads, WallCase
from takeup.heat.wall_stack import ADDED, Draw, State
from takeup.units import Array

WORDS = {
    "gas": "gas temperature",
    "gas_film": "gas film",
    "packing_thickness": "thickness of the packing",
    "emissivity": "emissivity of the outermost surface",
    "inner_emissivity": "emissivity inside",
    "ambient": "ambient",
    "wind": "wind",
    "outside_film": "convection outside",
    "gap_film": "convection in gaps",
    "lining": "conductivity of the lining",
    "packing": "conductivity of the packing",
    "fill": "conductivity of the fill",
    "insulation": "conductivity of the insulation",
    "metal": "conductivity of metals",
}
FILLS = {
    Fill.FINES: "catalyst fines",
    Fill.COKE_CRUMBS: "coke crumbs",
    Fill.HARD_COKE: "hard coke",
}
CUT = 3.0
"""Draws are cut off at this many standard deviations."""


def normals(count: int, columns: int, seed: int) -> Array:
    """Scrambled Sobol points as standard normals cut at three deviations, (count, columns).

    Raises :class:`takeup.errors.OutOfRange` unless ``count`` is a power of two from 256 to
    2^20.
    """
    from scipy.special import ndtri
    from scipy.stats import qmc

    require_within("samples", count, low=256, high=2**20, whose="the ranges of a wall")
    power = round(math.log2(count))
    if 2**power != count:
        raise OutOfRange("samples", count, 2 ** (power - 1), 2**power, "",
                         "Sobol points, which come in powers of two")  # fmt: skip
    points = qmc.Sobol(columns, scramble=True, rng=np.random.default_rng(seed)).random_base2(power)
    low = 0.00135
    found: Array = ndtri(low + np.asarray(points, dtype=float) * (1.0 - 2.0 * low))
    return found


def spreads_of(case: WallCase, state: State, given: Spreads) -> dict[str, float]:
    """One standard deviation of each field of :class:`Draw`; only of those that take part."""
    found = {
        "gas": given.gas_temperature,
        "gas_film": given.gas_film,
        "emissivity": given.emissivity,
        "ambient": given.ambient,
        "wind": given.wind,
        "outside_film": given.outside_film,
        "gap_film": given.gap_film,
        "inner_emissivity": given.inner_emissivity,
        "metal": METAL_SPREAD,
    }
    least = given.conductivity
    if case.lining:
        found["lining"] = max(least, material(case.lining).spread)
    if case.packing:
        found["packing"] = max(least, material(case.packing).spread)
        found["packing_thickness"] = given.packing_thickness
    if state.fill in FILLS or case.convolution_height is not None:
        name = FILLS.get(state.fill, "coke crumbs")
        found["fill"] = max(least, insulations()[name].spread)
    if case.insulation or state.added is not None:
        found["insulation"] = max(least, material(case.insulation or ADDED).spread)
    return {name: sd for name, sd in found.items() if sd > 0.0}


_SHIFTS = frozenset({"gas", "emissivity", "inner_emissivity", "ambient", "wind"})


def draw_of(normal: Array, spreads: dict[str, float]) -> Draw:
    """Draws from standard normals, one column per entry of ``spreads``.

    Shifts are normal, factors log-normal: a conductivity cannot be negative.
    """
    values: dict[str, Array] = {}
    for column, (name, deviation) in enumerate(spreads.items()):
        z = normal[:, column]
        values[name] = deviation * z if name in _SHIFTS else np.exp(math.log1p(deviation) * z)
    return Draw(**values)
