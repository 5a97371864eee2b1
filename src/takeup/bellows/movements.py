"""From movements of a joint to equivalent axial movement per convolution, and its stresses."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from takeup.bellows import geometry
from takeup.bellows.model import Bellows
from takeup.units import Array, Metre, Pascal, Radian, Ratio


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


def membrane_stress(
    b: Bellows, modulus: Pascal, movement: Metre, cf: Ratio, height: Metre | None = None
) -> Pascal:
    """S5 = Eo tp^2 e / (2 w^3 Cf) [Pa]; ``height`` replaces w beside a ring (w - Cr q)."""
    tp, w = geometry.thinned_ply(b), b.height if height is None else height
    return modulus * tp * tp * movement / (2.0 * w * w * w * cf)


def bending_stress(
    b: Bellows, modulus: Pascal, movement: Metre, cd: Ratio, height: Metre | None = None
) -> Pascal:
    """S6 = 5 Eo tp e / (3 w^2 Cd) [Pa]; ``height`` replaces w beside a ring (w - Cr q)."""
    tp, w = geometry.thinned_ply(b), b.height if height is None else height
    return 5.0 * modulus * tp * movement / (3.0 * w * w * cd)


def total_range(s3: Pascal, s4: Pascal, s5: Pascal, s6: Pascal) -> Pascal:
    """St = 0.7 (S3 + S4) + S5 + S6 [Pa]."""
    return 0.7 * (s3 + s4) + s5 + s6


def superpose(positions: Array, counts: Array) -> Iterator[tuple[Array, Array]]:
    """Superpose cycles of one fibre: positions and counts (K, ...) give (range, cycles) by turns.

    Positions are counted from the installed one.  The largest range spans the highest and the
    lowest position and is counted with the smaller of their two counts; then what is left,
    until nothing is left (VIII-2 4.19.3.2).  Movements without cycles do not count.
    """
    left = np.array(counts, dtype=float)
    above = positions >= 0.0
    places = tuple(np.indices(positions.shape[1:]))
    for _ in range(len(positions)):
        live = left > 0.0
        if not live.any():
            return
        up = np.where(above & live, positions, -np.inf)
        down = np.where(~above & live, positions, np.inf)
        high, low = np.argmax(up, axis=0), np.argmin(down, axis=0)
        top, bottom = up[(high, *places)], down[(low, *places)]
        has_top, has_bottom = np.isfinite(top), np.isfinite(bottom)
        from_top = np.where(has_top, left[(high, *places)], np.inf)
        from_bottom = np.where(has_bottom, left[(low, *places)], np.inf)
        count = np.minimum(from_top, from_bottom)
        count = np.where(has_top | has_bottom, count, 0.0)
        left[(high, *places)] -= np.where(has_top, count, 0.0)
        left[(low, *places)] -= np.where(has_bottom, count, 0.0)
        yield np.where(has_top, top, 0.0) - np.where(has_bottom, bottom, 0.0), count


def extremes(ex: Metre, swing: Metre) -> tuple[Metre, Metre]:
    """Movement of the fibres that open and close most [m]: ex + swing, ex - swing."""
    return ex + swing, ex - swing
