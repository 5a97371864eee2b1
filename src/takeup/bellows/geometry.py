"""Geometry of U-shaped convolutions: thinning, mean diameter, metal area, chart parameters."""

from __future__ import annotations

import numpy as np

from takeup.bellows.model import Bellows
from takeup.units import Metre, Radian, Ratio, SquareMetre


def mean_diameter(b: Bellows) -> Metre:
    """Mean diameter Dm = Db + w + n t [m]; App. 26 nomenclature."""
    return b.inside_diameter + b.height + b.plies * b.ply_thickness


def thinned_ply(b: Bellows) -> Metre:
    """Ply thickness after forming, tp = t sqrt(Dtube/Dm) [m], or the least measured if less."""
    tube = b.inside_diameter if b.tube_diameter is None else b.tube_diameter
    return np.minimum(b.ply_thickness * np.sqrt(tube / mean_diameter(b)), b.thinnest_ply)


def convoluted_length(b: Bellows) -> Metre:
    """Lb = N q [m] of one bellows."""
    return b.convolutions * b.pitch


def metal_area(b: Bellows) -> SquareMetre:
    """Metal area of one convolution A [m2]: two half tori and two side walls."""
    rise = b.height - 2.0 * b.torus_radius
    run = b.pitch / 2.0 - 2.0 * b.torus_radius
    walls = 2.0 * np.sqrt(run * run + rise * rise)
    return b.plies * thinned_ply(b) * (2.0 * np.pi * b.torus_radius + walls)


def chart_c1(b: Bellows) -> Ratio:
    """C1 = 2 rm / w [-]."""
    return 2.0 * b.torus_radius / b.height


def chart_c2(b: Bellows) -> Ratio:
    """C2 = 1.82 rm / sqrt(Dm tp) [-]."""
    return 1.82 * b.torus_radius / np.sqrt(mean_diameter(b) * thinned_ply(b))


def tangent_factor(b: Bellows) -> Ratio:
    """Share k of the end tangent that works: min(1, Lt / (1.5 sqrt(Db t))) [-]."""
    return np.minimum(1.0, b.tangent_length / (1.5 * np.sqrt(b.inside_diameter * b.ply_thickness)))


def collar_diameter(b: Bellows) -> Metre:
    """Mean diameter of the collar Dc = Db + 2 n t + tc [m]."""
    return b.inside_diameter + 2.0 * b.plies * b.ply_thickness + b.collar_thickness


def inside_radius(b: Bellows) -> Metre:
    """Inside radius of crest and root [m]."""
    return b.torus_radius - b.plies * b.ply_thickness / 2.0


def wall_angle(b: Bellows) -> Radian:
    """How far the side walls lean from square to the axis [rad]; 0 for parallel walls."""
    run = b.pitch / 2.0 - 2.0 * b.torus_radius
    return np.arctan2(run, b.height - 2.0 * b.torus_radius)


def free_gap(b: Bellows) -> Metre:
    """Clear gap between neighbouring crests [m]; closing it makes convolutions touch."""
    return b.pitch - 2.0 * b.torus_radius - b.plies * b.ply_thickness
