"""Rates of one convolution, of a bellows and of a joint."""

from __future__ import annotations

import numpy as np

from takeup.bellows import geometry
from takeup.bellows.model import Bellows
from takeup.units import Metre, NewtonMetrePerRadian, NewtonPerMetre, Pascal, Ratio

EJMA_CONSTANT = 1.7
EXACT_CONSTANT = float(np.pi / (2.0 * (1.0 - 0.3**2)))
"""pi / (2 (1 - nu^2)) = 1.726, which one standard keeps and the other rounds."""


def convolution_rate(
    b: Bellows,
    modulus: Pascal,
    cf: Ratio,
    constant: float = EJMA_CONSTANT,
    height: Metre | None = None,
) -> NewtonPerMetre:
    """Axial rate of one convolution, 1.7 Dm Eb tp^3 n / (w^3 Cf) [N/m].

    ``height`` replaces w: beside a ring only w - Cr q is left to bend.
    """
    slender = geometry.thinned_ply(b) / (b.height if height is None else height)
    shape = slender * slender * slender
    return constant * geometry.mean_diameter(b) * modulus * shape * b.plies / cf


def axial(b: Bellows, f: NewtonPerMetre, bellows_in_joint: Ratio = 1.0) -> NewtonPerMetre:
    """Ka = f / N, half of it for two bellows in series [N/m]."""
    return f / (bellows_in_joint * b.convolutions)


def lateral_single(b: Bellows, f: NewtonPerMetre) -> NewtonPerMetre:
    """Kl = 3 f Dm^2 / (2 N Lb^2) [N/m]."""
    ratio = geometry.mean_diameter(b) / geometry.convoluted_length(b)
    return 1.5 * f * ratio * ratio / b.convolutions


def lateral_universal(b: Bellows, f: NewtonPerMetre, over_both: Metre) -> NewtonPerMetre:
    """Kl = 3 f Dm^2 / (4 N (3 Lu^2 - 6 Lb Lu + 4 Lb^2)) [N/m]."""
    dm, lb = geometry.mean_diameter(b), geometry.convoluted_length(b)
    lever = 3.0 * over_both * over_both - 6.0 * lb * over_both + 4.0 * lb * lb
    return 3.0 * f * dm * dm / (4.0 * b.convolutions * lever)


def lateral_pair(b: Bellows, f: NewtonPerMetre, over_both: Metre) -> NewtonPerMetre:
    """Kl = 2 Kth / C^2 of two hinges C apart [N/m]."""
    apart = over_both - geometry.convoluted_length(b)
    return 2.0 * angular(b, f) / (apart * apart)


def angular(b: Bellows, f: NewtonPerMetre) -> NewtonMetrePerRadian:
    """Kth = f Dm^2 / (8 N) [N.m/rad] of one bellows."""
    dm = geometry.mean_diameter(b)
    return f * dm * dm / (8.0 * b.convolutions)
