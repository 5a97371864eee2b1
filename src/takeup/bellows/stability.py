"""Column squirm and in-plane squirm under internal pressure."""

from __future__ import annotations

import numpy as np

from takeup.bellows import geometry
from takeup.bellows.model import Bellows, EndFixity
from takeup.units import Metre, NewtonPerMetre, Pascal, Ratio

ENDS: dict[EndFixity, float] = {
    EndFixity.FIXED_FIXED: 1.0,
    EndFixity.FIXED_PINNED: 0.5,
    EndFixity.PINNED: 0.25,
    EndFixity.GUIDED: 0.25,
    EndFixity.FREE: 0.06,
}
"""Share of the fixed-end squirm pressure by how the ends are held: classical column ratios."""
HELD = ENDS[EndFixity.FIXED_FIXED]
"""Both ends fixed: what the formula is written for."""
GUIDED = ENDS[EndFixity.GUIDED]
"""One end may move sideways: the inner ends of a universal whose spool is not held."""
PLAIN, REINFORCED, TOROIDAL = 0.34, 0.30, 0.15
"""Constant of the column squirm formula by shape."""


def column_squirm(
    b: Bellows,
    f: NewtonPerMetre,
    ends: Ratio = HELD,
    c_theta: Ratio = 1.0,
    constant: float = PLAIN,
    length: Metre | None = None,
) -> Pascal:
    """Limit pressure 0.34 pi Ctheta f / (N^2 q), times the end-condition factor [Pa].

    ``length`` replaces q (a toroidal bellows has r there).
    """
    over = b.pitch if length is None else length
    return constant * np.pi * c_theta * ends * f / (b.convolutions * b.convolutions * over)


def alpha(s4: Pascal, s2: Pascal) -> Ratio:
    """In-plane interaction factor from delta = S4 / (3 S2) [-]."""
    delta = s4 / (3.0 * s2)
    square = delta * delta
    return 1.0 + 2.0 * square + np.sqrt(1.0 - 2.0 * square + 4.0 * square * square)


def inplane_squirm(
    b: Bellows, yield_strength: Pascal, interaction: Ratio, constant: float
) -> Pascal:
    """Limit pressure constant A Sy / (Dm q sqrt(alpha)) [Pa]; 1.3 in EJMA, pi - 2 in ASME."""
    capacity = constant * geometry.metal_area(b) * yield_strength
    return capacity / (geometry.mean_diameter(b) * b.pitch * np.sqrt(interaction))
