"""From movements of a joint to equivalent axial movement per convolution, and its stresses."""

from __future__ import annotations

import numpy as np

from takeup.bellows import geometry
from takeup.bellows.model import Bellows
from takeup.units import Metre, Pascal, Radian, Ratio


def axial(b: Bellows, movement: Metre, bellows_in_joint: Ratio = 1.0) -> Metre:
    """Axial share: ex = x / N, shared by all bellows of the joint [m]."""
    return movement / (bellows_in_joint * b.convolutions)


def lateral_single(b: Bellows, lateral: Metre, extension: Metre = 0.0) -> Metre:
    """From one bellows: ey = 3 Dm y / (N (Lb + x)) [m]; compression shortens the lever and raises ey."""
    lever = geometry.convoluted_length(b) + extension
    return 3.0 * geometry.mean_diameter(b) * lateral / (b.convolutions * lever)


def lateral_universal(
    b: Bellows, lateral: Metre, over_both: Metre, extension: Metre = 0.0
) -> Metre:
    """Ey = Ku Dm y / (2 N (Lu - Lb + x/2)) [m]; Lu over the outer ends of both bellows."""
    lb = geometry.convoluted_length(b)
    top = 3.0 * over_both * over_both - 3.0 * lb * over_both
    bottom = 3.0 * over_both * over_both - 6.0 * lb * over_both + 4.0 * lb * lb
    lever = over_both - lb + extension / 2.0
    return top / bottom * geometry.mean_diameter(b) * lateral / (2.0 * b.convolutions * lever)


def lateral_pair(b: Bellows, lateral: Metre, over_both: Metre) -> Metre:
    """Both hinges turn by y / C, C between bellows centres; the movement that makes [m]."""
    apart = over_both - geometry.convoluted_length(b)
    return angular(b, lateral / apart)


def angular(b: Bellows, angle: Radian) -> Metre:
    """From an angle: eth = Dm theta / (2 N) [m]."""
    return geometry.mean_diameter(b) * angle / (2.0 * b.convolutions)


def membrane_stress(b: Bellows, modulus: Pascal, movement: Metre, cf: Ratio) -> Pascal:
    """S5 = Eo tp^2 e / (2 w^3 Cf) [Pa]."""
    tp, w = geometry.thinned_ply(b), b.height
    return modulus * tp * tp * movement / (2.0 * w * w * w * cf)


def bending_stress(b: Bellows, modulus: Pascal, movement: Metre, cd: Ratio) -> Pascal:
    """S6 = 5 Eo tp e / (3 w^2 Cd) [Pa]."""
    tp, w = geometry.thinned_ply(b), b.height
    return 5.0 * modulus * tp * movement / (3.0 * w * w * cd)


def total_range(s3: Pascal, s4: Pascal, s5: Pascal, s6: Pascal) -> Pascal:
    """St = 0.7 (S3 + S4) + S5 + S6 [Pa]."""
    return 0.7 * (s3 + s4) + s5 + s6


def envelope(positions: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Superpose cycles of one fibre: (position, cycles) from installed -> (range, cycles).

    The largest range spans the highest and the lowest position and is counted with the
    smaller of their two counts; then what is left, until nothing is left.
    """
    above = sorted([e, n] for e, n in positions if n > 0.0 and e >= 0.0)
    below = sorted(([e, n] for e, n in positions if n > 0.0 and e < 0.0), reverse=True)
    found = []
    while above or below:
        if above and below:
            count = min(above[-1][1], below[-1][1])
            found.append((above[-1][0] - below[-1][0], count))
            for side in (above, below):
                side[-1][1] -= count
                if side[-1][1] <= 0.0:
                    side.pop()
        else:
            position, count = (above or below).pop()
            found.append((abs(position), count))
    return found


def extremes(ex: Metre, ey: Metre, eth: Metre) -> tuple[Metre, Metre]:
    """Movement of the fibres that open and close most [m]: ex + (ey + eth), ex - (ey + eth)."""
    swing = np.asarray(ey) + np.asarray(eth)
    return ex + swing, ex - swing
