"""Pressure thrust: what anchors or hardware must hold."""

from __future__ import annotations

import numpy as np

from takeup.bellows import geometry
from takeup.bellows.model import Bellows
from takeup.units import Newton, Pascal, SquareMetre


def effective_area(b: Bellows) -> SquareMetre:
    """Ae = pi Dm^2 / 4 [m2]."""
    dm = geometry.mean_diameter(b)
    return np.pi * dm * dm / 4.0


def force(b: Bellows, pressure: Pascal) -> Newton:
    """F = P Ae [N], positive pushes the ends apart; nothing is deducted."""
    return pressure * effective_area(b)
