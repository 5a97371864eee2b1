"""Twist of a bellows about its axis: for checking only, a bellows must not be twisted."""

from __future__ import annotations

import numpy as np

from takeup.bellows import geometry
from takeup.bellows.model import Bellows, Convolution
from takeup.sources import Source, Standing
from takeup.units import Array, Metre, NewtonMetrePerRadian, Pascal, Ratio, Real

POISSON = 0.3
SOURCE = Source(
    document="Takeup",
    at="membrane shear along the developed meridian, 1/K = N integral ds / (2 pi G n tp r^3)",
    standing=Standing.DERIVED,
)
CAUTION = (
    "Bellows must not be twisted: the torsional rate is for checking only. Guides and hardware "
    "have to keep torsion out of the bellows."
)
_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(12)


def rate(
    b: Bellows, modulus: Pascal, convolution: Convolution = Convolution.U_PLAIN
) -> NewtonMetrePerRadian:
    """Torsional rate of one bellows [N.m/rad].

    A torque T makes the membrane shear flow T / (2 pi r^2) at radius r; the twist per length
    of meridian is shear strain over radius, T / (2 pi G n tp r^3).  Summed along the meridian
    of one convolution and over N convolutions that is the flexibility.  Plies count together,
    because both are held at both ends; rings of a reinforced bellows are taken to slide.
    Thickness is tp throughout, as everywhere in the standards' formulas.
    """
    shear = modulus / (2.0 * (1.0 + POISSON))
    path = _torus(b) if convolution == Convolution.TOROIDAL else _convolution(b)
    wall = b.plies * geometry.thinned_ply(b)
    found: Real = 2.0 * np.pi * shear * wall / (b.convolutions * path)
    return found


def shear_stress(b: Bellows, torque: Ratio) -> Pascal:
    """Membrane shear at the root, T / (2 pi r^2 n tp) with r the root's mean radius [Pa].

    ``torque`` [N.m].  Equipment reports in GB/T 12777 form limit it to a quarter of the
    allowable stress.
    """
    root = (b.inside_diameter + b.plies * b.ply_thickness) / 2.0
    return torque / (2.0 * np.pi * root * root * b.plies * geometry.thinned_ply(b))


def _convolution(b: Bellows) -> Ratio:
    """Integral of ds / r^3 along one U-shaped convolution [1/m2].

    Root and crest are arcs of radius rm whose centres lie q/2 apart along the axis and
    w - 2 rm apart in radius; the side wall is their common tangent, so that leaning walls
    shorten or lengthen the arcs by their angle.
    """
    middle = geometry.mean_diameter(b) / 2.0
    rm, half = b.torus_radius, b.pitch / 2.0
    rise = b.height - 2.0 * rm
    wall = np.sqrt(np.maximum(half * half + rise * rise - 4.0 * rm * rm, 0.0))
    lean = np.arctan2(half, rise) - np.arctan2(2.0 * rm, wall)
    low, high = middle - rise / 2.0, middle + rise / 2.0
    drop = rm * np.sin(lean)
    bottom, top = low - drop, high + drop
    quarter = np.pi / 2.0 - lean
    walls = wall * (bottom + top) / (2.0 * bottom * bottom * top * top)
    found: Real = 2.0 * (walls + _arc(low, -rm, quarter) + _arc(high, rm, quarter))
    return found


def _arc(centre: Metre, radius: Metre, angle: Ratio) -> Ratio:
    """Integral of ds / r^3 over an arc that starts at the crest (or root, radius negative)."""
    half = np.asarray(angle) / 2.0
    total = np.zeros(())
    # Added one by one, so that an array gives to the last bit what each of its members gives.
    for point, weight in zip(_POINTS.tolist(), _WEIGHTS.tolist(), strict=True):
        r = centre + radius * np.cos((point + 1.0) * half)
        total = total + weight / (r * r * r)
    found: Array = np.abs(radius) * half * total
    return found


def _torus(b: Bellows) -> Ratio:
    """The same along one full circle of radius r about the torus centre line [1/m2].

    The opening at the root would take away, the necks to the tangents would add; both stand
    in the maker's drawing only and are left out.
    """
    big = geometry.mean_diameter(b) / 2.0
    r = b.torus_radius
    shape = (2.0 * big * big + r * r) / (big * big - r * r) ** 2.5
    found: Ratio = r * np.pi * shape
    return found
