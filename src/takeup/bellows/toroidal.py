"""Toroidal (omega) bellows: a torus carries pressure by membrane stress and bends at its neck."""

from __future__ import annotations

import numpy as np

from takeup.bellows import geometry
from takeup.bellows.model import Bellows
from takeup.units import Metre, NewtonPerMetre, Pascal, Ratio

MOST_C3 = 20.0
"""Where the tables of B1, B2, B3 end."""


def c3(b: Bellows) -> Ratio:
    """C3 = 6.61 r^2 / (Dm tp) [-]."""
    r = b.torus_radius
    return 6.61 * r * r / (geometry.mean_diameter(b) * geometry.thinned_ply(b))


def b1(c: Ratio) -> Ratio:
    """B1 of movement membrane stress [-]; C3 held within 0 to 20 (the caller flags it)."""
    x = np.clip(c, 0.0, MOST_C3)
    top = 1.00404 + x * (0.028725 + x * (0.18961 - 0.00058626 * x))
    return top / (1.0 + x * (0.14069 + x * (-0.0052319 + x * (0.00029867 - 6.2088e-6 * x))))


def b2(c: Ratio) -> Ratio:
    """B2 of movement bending stress [-]; 1 up to C3 = 5."""
    x = np.clip(c, 0.0, MOST_C3)
    held = np.maximum(x, 5.0)
    top = 0.049198 + held * (-0.77774 + held * (-0.13013 + 0.080371 * held))
    bottom = 1.0 + held * (-2.81257 + held * (0.63815 + 0.0006405 * held))
    return np.where(x <= 5.0, 1.0, top / bottom)


def b3(c: Ratio) -> Ratio:
    """B3 of the axial rate [-]."""
    x = np.clip(c, 0.0, MOST_C3)
    top = 0.99916 + x * (-0.091665 + x * (0.040635 + x * (-0.0038483 + 0.00013392 * x)))
    bottom = 1.0 + x * (-0.1527 + x * (0.013446 + x * (-0.00062724 + 1.4374e-5 * x)))
    return top / bottom


def torus_hoop(b: Bellows, pressure: Pascal) -> Pascal:
    """S2 [Pa] = P r / (2 n tp), stress along the bellows circumference."""
    return pressure * b.torus_radius / (2.0 * b.plies * geometry.thinned_ply(b))


def meridional_membrane(b: Bellows, pressure: Pascal) -> Pascal:
    """S3 [Pa] = P r / (n tp) (Dm - r) / (Dm - 2 r), greatest at the inner side of the torus."""
    dm, r = geometry.mean_diameter(b), b.torus_radius
    return pressure * r / (b.plies * geometry.thinned_ply(b)) * (dm - r) / (dm - 2.0 * r)


def membrane_stress(b: Bellows, modulus: Pascal, movement: Metre, first: Ratio) -> Pascal:
    """S5 [Pa] = Eo tp^2 B1 e / (34.3 r^3)."""
    tp, r = geometry.thinned_ply(b), b.torus_radius
    return modulus * tp * tp * first * movement / (34.3 * r * r * r)


def bending_stress(b: Bellows, modulus: Pascal, movement: Metre, second: Ratio) -> Pascal:
    """S6 [Pa] = Eo tp B2 e / (5.72 r^2)."""
    tp, r = geometry.thinned_ply(b), b.torus_radius
    return modulus * tp * second * movement / (5.72 * r * r)


def convolution_rate(b: Bellows, modulus: Pascal, third: Ratio) -> NewtonPerMetre:
    """Axial rate of one convolution fit = Dm Eb tp^3 n B3 / (10.92 r^3) [N/m]."""
    slender = geometry.thinned_ply(b) / b.torus_radius
    shape = slender * slender * slender
    return geometry.mean_diameter(b) * modulus * shape * b.plies * third / 10.92
