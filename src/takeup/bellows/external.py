"""Buckling under external pressure or vacuum: the bellows as a plain cylinder that is as stiff."""

from __future__ import annotations

import numpy as np

from takeup.bellows import geometry
from takeup.bellows.model import Bellows
from takeup.units import Array, Metre, Pascal, Ratio

POISSON = 0.3


def inertia(b: Bellows) -> Ratio:
    """Second moment of area Ixx of one convolution about its own mid-height [m4].

    n tp ((2 w - q)^3 / 48 + 0.4 q (w - 0.2 q)^2); below the exact section of parallel walls
    (by 6 % at q/w = 1.07), so on the safe side.
    """
    wall = 2.0 * b.height - b.pitch
    arm = b.height - 0.2 * b.pitch
    return b.plies * geometry.thinned_ply(b) * (
        wall * wall * wall / 48.0 + 0.4 * b.pitch * arm * arm
    )  # fmt: skip


def equivalent_thickness(b: Bellows) -> Metre:
    """Wall of the cylinder that bends as much: (12 (1 - nu^2) Ixx / q)^(1/3) [m]."""
    return np.cbrt(12.0 * (1.0 - POISSON**2) * inertia(b) / b.pitch)


def outside_diameter(b: Bellows) -> Metre:
    """Outside diameter of that cylinder, Db + w + 2 eeq [m]."""
    return b.inside_diameter + b.height + 2.0 * equivalent_thickness(b)


def buckling_factor(mx: Array, slender: Array) -> Array:
    """Ch of a cylinder of length parameter Mx = L / sqrt(Ro t) and Do/t; VIII-2 4.4.5."""
    long = 2.0 * slender**0.94
    return np.where(
        mx >= long,
        0.55 / slender,
        np.where(
            mx > 13.0,
            1.12 * np.maximum(mx, 1e-9) ** -1.058,
            np.where(mx > 1.5, 0.92 / np.where(mx > 1.5, mx - 0.579, 1.0), 1.0),
        ),
    )


def allowed_pressure(b: Bellows, modulus: Pascal, yield_strength: Pascal) -> Pascal:
    """Allowable external pressure of the equivalent cylinder [Pa]; VIII-2 4.4.5.

    Elastic buckling Fhe = 1.6 Ch E t / Do, lowered near yield, over a design factor of 2.0
    (elastic) to 1.667 (at yield).  Hoop strength of the real wall is S2's business.
    """
    t = np.asarray(equivalent_thickness(b))
    do = np.asarray(outside_diameter(b))
    mx = np.asarray(geometry.convoluted_length(b)) / np.sqrt(do / 2.0 * t)
    fhe = 1.6 * buckling_factor(mx, do / t) * modulus * t / do
    ratio = fhe / yield_strength
    fic = yield_strength * np.where(
        ratio >= 2.439, 1.0, np.where(ratio > 0.552, 0.7 * np.abs(ratio) ** 0.4, ratio)
    )
    share = fic / yield_strength
    factor = np.where(share <= 0.55, 2.0, np.maximum(2.407 - 0.741 * share, 1.667))
    return np.asarray(2.0 * fic / factor * t / do)
