"""What nobody knows exactly and every reading shares: temperature rise and friction.

Both are laid out on nodes.  At each node readings are linear in the two, which are normal about
it; values and slopes at the nodes are linear in those at the points where the line was solved.
All spreads are engineering assumptions.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np

from takeup.errors import Contradiction
from takeup.units import Array

FRICTION = ((1.0, 0.60, 0.173), (0.05, 0.15, 0.029), (1.55, 0.25, 0.144))
"""Friction over nominal: centre, share and standard deviation: 0.7 to 1.3 in six cases of ten, next
to none (0 to 0.1) in 15 %, 1.3 to 1.8 in a quarter; engineering assumption"""
OTHER = (0.07, 0.35)
"""A temperature rise other than recorded is off by that much, either way; engineering assumption"""
BESIDE = ((-1.0, 0.25), (0.0, 0.5), (1.0, 0.25))
"""Nodes of a normal spread: places in standard deviations and shares, each half as wide squared"""


class Nodes(msgspec.Struct, frozen=True, kw_only=True):
    """Nodes of rise and friction, from solved points."""

    points: Any
    """Indices of the points they take (g,)"""
    value: Array
    """(n, g)"""
    slope: Array
    """By rise and by friction (n, 2, g)"""
    log: Array
    """Log share of each node (n,)"""
    spread: Array
    """Standard deviation of rise and friction about the node (n, 2)"""
    rise: Array
    """(n,)"""

    def read(self, values: Array) -> tuple[Array, Array]:
        """Values (h, n, k) and slopes (h, n, 2, k) out of values at the points (h, g, k)."""
        count = len(self.value)
        slopes = self.slope.reshape(2 * count, -1) @ values
        return self.value @ values, slopes.reshape(len(values), count, 2, -1)


def recorded(points: Sequence[tuple[float, float]], expansion: float) -> Nodes:
    """Temperature as recorded, with the error of expansion and metal temperature."""
    rises = [(1.0 + place * expansion, share) for place, share in BESIDE]
    return _nodes(points, rises, expansion * np.sqrt(0.5))


def other(points: Sequence[tuple[float, float]], expansion: float) -> Nodes:
    """Any other temperature, with the same error on top."""
    low, high = OTHER
    steps = np.linspace(low, high, 5)
    apart = float(steps[1] - steps[0])
    share = np.array([0.5, 1.0, 1.0, 1.0, 0.5]) / 8.0  # of the trapezoidal rule
    found = [(1.0 + sign * off, part) for sign in (-1.0, 1.0)
             for off, part in zip(steps, share, strict=True)]  # fmt: skip
    return _nodes(points, found, float(np.hypot(expansion, apart / np.sqrt(12.0))))


def _nodes(
    points: Sequence[tuple[float, float]], rises: Sequence[tuple[float, float]], spread: float
) -> Nodes:
    solved = sorted({rise for rise, _ in points})
    if len([rise for rise in solved if 0.8 < rise < 1.2]) < 2:
        raise Contradiction(
            "temperatures near the recorded one lie outside the material tables; diagnosis needs "
            "them to allow for errors of expansion"
        )
    count = len(points)
    index = {point: at for at, point in enumerate(points)}
    values, slopes, logs, spreads, where = [], [], [], [], []
    for friction, part, wide in FRICTION:
        have = sorted(rise for rise, one in points if one == friction)
        if len(have) < 2:
            continue
        for rise, share in rises:
            if not have[0] - 0.08 <= rise <= have[-1] + 0.08:
                continue
            weight, lean = between(have, rise)
            value, by_rise = np.zeros(count), np.zeros(count)
            for at, one, two in zip(have, weight, lean, strict=True):
                value[index[at, friction]], by_rise[index[at, friction]] = one, two
            by_friction = _friction_slope(points, have, weight, friction)
            values.append(value)
            slopes.append([by_rise, by_friction])
            logs.append(share * part)
            spreads.append([spread, wide])
            where.append(rise)
    shares, value, slope = np.array(logs), np.array(values), np.array(slopes)
    used = np.flatnonzero(np.any(value != 0.0, axis=0) | np.any(slope != 0.0, axis=(0, 1)))
    return Nodes(
        points=used,
        value=value[:, used],
        slope=slope[:, :, used],
        log=np.log(shares / shares.sum()),
        spread=np.array(spreads),
        rise=np.array(where),
    )


def between(have: Sequence[float], at: float) -> tuple[Array, Array]:
    """Weights of value and slope at ``at`` of what is linear between ``have``."""
    known = np.array(have)
    right = int(np.clip(np.searchsorted(known, at - 1e-9), 1, len(known) - 1))
    share = (at - known[right - 1]) / (known[right] - known[right - 1])
    value, slope = np.zeros(len(known)), np.zeros(len(known))
    value[right - 1], value[right] = 1.0 - share, share
    exact = np.flatnonzero(np.abs(known - at) < 1e-9)
    first, last = right - 1, right
    if len(exact) and 0 < exact[0] < len(known) - 1:
        first, last = int(exact[0]) - 1, int(exact[0]) + 1
    slope[first] -= 1.0 / (known[last] - known[first])
    slope[last] += 1.0 / (known[last] - known[first])
    return value, slope


def _friction_slope(
    points: Sequence[tuple[float, float]], have: Sequence[float], weight: Array, friction: float
) -> Array:
    """Slope by friction at a node, from the frictions beside it at the same rises."""
    index = {point: at for at, point in enumerate(points)}
    found = np.zeros(len(points))
    for rise, share in zip(have, weight, strict=True):
        known = sorted(one for at, one in points if at == rise)
        if share == 0.0 or len(known) < 2:
            continue
        _, slope = between(known, friction)
        for one, part in zip(known, slope, strict=True):
            found[index[rise, one]] += share * part
    return found
