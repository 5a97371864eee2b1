"""U-shaped bellows with reinforcing or equalising rings: who carries the hoop, and what bends."""

from __future__ import annotations

import numpy as np

from takeup.bellows import geometry
from takeup.bellows.model import Bellows
from takeup.units import Metre, NewtonPerMetre, Pascal, Ratio

PRESSURE_SHARE = 0.85
"""Share of the unreinforced meridional stress left under pressure beside a ring [-]."""


def cr(pressure: Pascal) -> Ratio:
    """Ring contact factor Cr [-] at the gauge pressure [Pa]; 0.2023 at none, 0.3 at most.

    Cr = 0.3 - (100 / (1048 P^1.5 + 320))^2 with P in MPa: the constants carry the unit.
    """
    load = np.abs(np.asarray(pressure)) / 1e6
    part = 100.0 / (1048.0 * load * np.sqrt(load) + 320.0)
    return np.asarray(0.3 - part * part)


def free_height(b: Bellows, factor: Ratio) -> Metre:
    """Height left between ring and crest, w - Cr q [m]."""
    return b.height - factor * b.pitch


def ring_ratio(b: Bellows, modulus: Pascal, ring_modulus: Pascal) -> Ratio:
    """R1 = A Eb / (Ar Er) of a ring in one piece [-]."""
    return geometry.metal_area(b) * modulus / (b.ring_area * ring_modulus)


def joined_ratio(
    b: Bellows, modulus: Pascal, ring_modulus: Pascal, fastener_modulus: Pascal
) -> Ratio:
    """R2 of ring halves joined by fasteners [-]; R1 where there is no fastener."""
    whole = ring_ratio(b, modulus, ring_modulus)
    area = np.asarray(b.fastener_area, dtype=float)
    soft = (
        geometry.metal_area(b) * modulus / geometry.mean_diameter(b)
        * b.fastener_length / (np.where(area > 0.0, area, 1.0) * fastener_modulus)
    )  # fmt: skip
    return np.where(area > 0.0, whole + soft, whole)


def _half_load(b: Bellows, pressure: Pascal) -> NewtonPerMetre:
    """H / 2, half of what one pitch pulls apart: P Dm q / 2 [N]."""
    return pressure * geometry.mean_diameter(b) * b.pitch / 2.0


def convolution_hoop(b: Bellows, pressure: Pascal, ratio: Ratio) -> Pascal:
    """S2 [Pa] = H / (2 A) R / (R + 1)."""
    return _half_load(b, pressure) / geometry.metal_area(b) * ratio / (ratio + 1.0)


def ring_hoop(b: Bellows, pressure: Pascal, ratio: Ratio) -> Pascal:
    """S2' [Pa] = H / (2 Ar) / (R1 + 1); a ring in halves carries no more than this."""
    return _half_load(b, pressure) / b.ring_area / (ratio + 1.0)


def fastener(b: Bellows, pressure: Pascal, ratio: Ratio) -> Pascal:
    """S2'' [Pa] = H / (2 Af) / (R2 + 1); NaN for a ring in one piece."""
    area = np.asarray(b.fastener_area, dtype=float)
    with np.errstate(invalid="ignore", divide="ignore"):
        stress = _half_load(b, pressure) / area / (ratio + 1.0)
    return np.where(area > 0.0, stress, np.nan)


def meridional_membrane(b: Bellows, pressure: Pascal, factor: Ratio) -> Pascal:
    """S3 [Pa] = 0.85 P (w - Cr q) / (2 n tp)."""
    free = free_height(b, factor)
    return PRESSURE_SHARE * pressure * free / (2.0 * b.plies * geometry.thinned_ply(b))


def meridional_bending(b: Bellows, pressure: Pascal, cp: Ratio, factor: Ratio) -> Pascal:
    """S4 [Pa] = 0.85 P / (2 n) ((w - Cr q) / tp)^2 Cp, Cp at the full height."""
    slender = free_height(b, factor) / geometry.thinned_ply(b)
    return PRESSURE_SHARE * pressure / (2.0 * b.plies) * slender * slender * cp
