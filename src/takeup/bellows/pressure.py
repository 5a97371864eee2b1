"""Stresses from pressure: S1 to S4 of unreinforced U-shaped bellows."""

from __future__ import annotations

import numpy as np

from takeup.bellows import geometry
from takeup.bellows.model import Bellows
from takeup.units import Pascal, Ratio


def tangent_hoop(b: Bellows, pressure: Pascal, modulus: Pascal, collar_modulus: Pascal) -> Pascal:
    """S1 [Pa]: hoop stress of end tangent, shared with the collar; NaN without a tangent."""
    diameter = b.inside_diameter + b.plies * b.ply_thickness
    tangent = b.plies * b.ply_thickness * modulus * b.tangent_length * diameter
    k = geometry.tangent_factor(b)
    collar = b.collar_thickness * k * collar_modulus * b.collar_length * geometry.collar_diameter(b)
    bottom = 2.0 * (tangent + collar)
    with np.errstate(invalid="ignore", divide="ignore"):
        stress = pressure * diameter * diameter * b.tangent_length * modulus * k / bottom
    return np.where(np.asarray(b.tangent_length) > 0.0, stress, np.nan)


def collar_hoop(b: Bellows, pressure: Pascal, modulus: Pascal, collar_modulus: Pascal) -> Pascal:
    """S1' [Pa]: hoop stress of the collar, strained with the tangent; NaN without a collar."""
    diameter = b.inside_diameter + b.plies * b.ply_thickness
    outer = geometry.collar_diameter(b)
    k = geometry.tangent_factor(b)
    tangent = b.plies * b.ply_thickness * modulus * b.tangent_length * diameter
    collar = b.collar_thickness * k * collar_modulus * b.collar_length * outer
    bottom = 2.0 * (tangent + collar)
    with np.errstate(invalid="ignore", divide="ignore"):
        stress = pressure * outer * outer * b.tangent_length * collar_modulus * k / bottom
    there = np.asarray(b.collar_thickness) * np.asarray(b.collar_length) > 0.0
    return np.where(there, stress, np.nan)


def convolution_hoop(b: Bellows, pressure: Pascal, kr: Ratio = 1.0) -> Pascal:
    """S2 [Pa] of inner convolutions: P Dm q Kr / (2 A)."""
    return pressure * geometry.mean_diameter(b) * b.pitch * kr / (2.0 * geometry.metal_area(b))


def end_convolution_hoop(b: Bellows, pressure: Pascal) -> Pascal:
    """S2e [Pa] of end convolutions, with half a tangent on each."""
    diameter = b.inside_diameter + b.plies * b.ply_thickness
    load = b.pitch * geometry.mean_diameter(b) + b.tangent_length * diameter
    metal = (
        geometry.metal_area(b)
        + b.plies * geometry.thinned_ply(b) * b.tangent_length
        + b.collar_thickness * b.collar_length
    )
    return pressure * load / (2.0 * metal)


def meridional_membrane(b: Bellows, pressure: Pascal) -> Pascal:
    """S3 [Pa]: P w / (2 n tp)."""
    return pressure * b.height / (2.0 * b.plies * geometry.thinned_ply(b))


def meridional_bending(b: Bellows, pressure: Pascal, cp: Ratio) -> Pascal:
    """S4 [Pa]: P / (2 n) (w / tp)^2 Cp."""
    slender = b.height / geometry.thinned_ply(b)
    return pressure / (2.0 * b.plies) * slender * slender * cp
