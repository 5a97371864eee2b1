"""What cold forming does to the strength of the metal."""

from __future__ import annotations

from typing import Any

import numpy as np

from takeup.bellows import geometry
from takeup.bellows.model import Bellows
from takeup.units import Ratio, Real


def strain(b: Bellows) -> Ratio:
    """Forming strain ef: hoop and bending parts squared, added, rooted [-]."""
    hoop: Real = np.log(1.0 + 2.0 * b.height / b.inside_diameter)
    bending: Real = np.log(1.0 + b.plies * geometry.thinned_ply(b) / (2.0 * b.torus_radius))
    return np.sqrt(hoop * hoop + bending * bending)


def strength_factor(x: Ratio, *, nickel: Any) -> Ratio:
    """Ysm of austenitic or nickel metal at x = Kf' ef [-]; from memory of the standards."""
    x2 = x * x
    austenitic = 1.0 + 9.94 * x - 7.59 * x2 - 2.4 * x2 * x + 2.21 * x2 * x2
    alloyed = 1.0 + 6.8 * x - 9.11 * x2 + 9.73 * x2 * x - 6.43 * x2 * x2
    return np.where(nickel, alloyed, austenitic)
