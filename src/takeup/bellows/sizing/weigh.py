"""Mass of the metal of bellows and rings."""

from __future__ import annotations

import numpy as np

from takeup.bellows import geometry
from takeup.bellows.model import Bellows
from takeup.sources import Source, Standing
from takeup.units import Array

SOURCE = Source(
    document="Takeup",
    at="developed length of a convolution turned about the axis at the mean diameter (Pappus), "
    "ply thickness after forming; tangents as sheet; a ring in each root and at both ends",
    standing=Standing.DERIVED,
)


def bellows_volume(b: Bellows) -> Array:
    """Metal of one bellows: N convolutions A pi Dm and two tangents [m3]."""
    convolutions = b.convolutions * geometry.metal_area(b) * (np.pi * geometry.mean_diameter(b))
    wall = b.plies * b.ply_thickness
    tangents = 2.0 * b.tangent_length * wall * (np.pi * (b.inside_diameter + wall))
    return np.asarray(convolutions + tangents)


def ring_volume(b: Bellows, bar: Array | float) -> Array:
    """Metal of the rings of one bellows, N + 1 of them, lying in the roots [m3]."""
    diameter = b.inside_diameter + 2.0 * b.plies * b.ply_thickness + bar
    return np.asarray((b.convolutions + 1.0) * b.ring_area * (np.pi * diameter))
