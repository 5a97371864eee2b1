"""Where a history changed: steps and changes of slope by optimal partitioning. Pure.

The history is cut into straight pieces so that squared residuals plus a price for each cut are
least: exact by dynamic programming, each candidate piece in constant time from running sums.  The
price grows with the noise, which is read from differences so that steps do not count as noise, and
with how much neighbouring days have in common.
"""

from __future__ import annotations

import itertools
import math

import msgspec
import numpy as np

from takeup.errors import require_within
from takeup.sources import Source, Standing
from takeup.units import Array

PARTITION = Source(
    document="Jackson and others (2005), Killick and others (2012)",
    at="optimal partitioning with a price for each cut; price of cut 3 lg-likelihood terms",
    standing=Standing.MEMORY,
)
LEAST = 14
"""Fewest points of a piece"""
DATED = 30.0
"""Days to which a bend can be dated at best (engineering assumption)"""
PRICE = 3.0
"""Of a cut, in units of noise variance times the logarithm of the number of points"""


class Piece(msgspec.Struct, frozen=True, kw_only=True):
    """One straight piece of a history."""

    start: float
    """First day of it"""
    end: float
    """Last day of it"""
    level: float
    """At its start"""
    slope: float
    """A day"""
    level_end: float


class Change(msgspec.Struct, frozen=True, kw_only=True):
    """What changed between two pieces."""

    day: float
    """First day of the new piece"""
    step: float
    """New start less old end"""
    step_spread: float
    """Standard uncertainty of the step"""
    slope_before: float
    slope_after: float

    @property
    def is_step(self) -> bool:
        """Whether it is a step and not a bend.

        Three uncertainties clear of nothing, and more than the new slope makes in the month to
        which a bend can be dated.
        """
        bend = DATED * abs(self.slope_after - self.slope_before)
        return abs(self.step) > max(3.0 * self.step_spread, bend)


class Changes(msgspec.Struct, frozen=True, kw_only=True):
    """A history cut where it changed."""

    pieces: tuple[Piece, ...]
    changes: tuple[Change, ...]
    noise: float
    """Standard deviation of one point about its piece"""
    common: float
    """What neighbouring residuals have in common, -1 to 1"""
    source: Source = PARTITION


def noise_of(value: Array) -> float:
    """Noise of one point from second differences (median, normal): blind to steps and slopes."""
    if value.size < 3:
        return 0.0
    second = value[2:] - 2.0 * value[1:-1] + value[:-2]
    return float(1.4826 * np.median(np.abs(second)) / math.sqrt(6.0))


def changes(
    day: Array, value: Array, *, least: int = LEAST, price: float = PRICE, sloped: bool = True
) -> Changes:  # fmt: skip
    """Cut ``value`` over ``day`` (rising, NaN left out) into straight or level pieces.

    ``least`` points in each piece.  Raises :class:`takeup.errors.OutOfRange` where days do not
    rise or fewer than two pieces' worth of points are known.
    """
    known = np.isfinite(value)
    x, y = np.asarray(day, float)[known], np.asarray(value, float)[known]
    require_within(
        "Points of the history", x.size, low=2 * least, whose="the search for changes",
        remedy="A longer history is needed.",
    )  # fmt: skip
    require_within(
        "Least step between days", float(np.diff(x).min()), low=1e-9, unit="d",
        whose="the search for changes", remedy="Sort the days and leave one value of each.",
    )  # fmt: skip
    noise = max(noise_of(y), 1e-9 * (float(np.ptp(y)) or 1.0), 1e-12)
    common, cuts = 0.0, _cut(x, y, noise, price, least, sloped)
    for _ in range(2):
        # what neighbours have in common makes runs that look like pieces: the noise is raised to
        # what a run of common days weighs, and the cuts are sought again
        residual = _residual(x, y, cuts, sloped)
        spread = float(np.std(residual)) or noise
        common = _common(residual)
        raised = max(noise, spread * math.sqrt((1.0 + common) / max(1.0 - common, 0.1)))
        again = _cut(x, y, raised, price, least, sloped)
        if again == cuts:
            break
        cuts, noise = again, raised
    residual = _residual(x, y, cuts, sloped)
    spread = float(np.std(residual))
    common = _common(residual)
    found = [_piece(x[a:b], y[a:b], sloped) for a, b in _spans(cuts, x.size)]
    weigh = math.sqrt((1.0 + common) / max(1.0 - common, 0.1))
    made = []
    for k, (before, after) in enumerate(itertools.pairwise(found)):
        sizes = [b - a for a, b in _spans(cuts, x.size)[k : k + 2]]
        # the end of a fitted line is known to 2 / n^1/2 of the noise, a mean to 1 / n^1/2
        ends = 2.0 if sloped else 1.0
        made.append(
            Change(
                day=after.start,
                step=after.level - before.level_end,
                step_spread=spread * weigh * math.sqrt(sum(ends**2 / n for n in sizes)),
                slope_before=before.slope,
                slope_after=after.slope,
            )
        )
    return Changes(pieces=tuple(found), changes=tuple(made), noise=spread, common=common)


def _spans(cuts: list[int], size: int) -> list[tuple[int, int]]:
    ends = [0, *cuts, size]
    return list(itertools.pairwise(ends))


def _cut(
    x: Array, y: Array, noise: float, price: float, least: int, sloped: bool
) -> list[int]:  # fmt: skip
    """Best cuts: first index of each new piece."""
    size = x.size
    t = x - x.mean()
    sums = [np.concatenate([np.zeros(1), np.cumsum(part)]) for part in (t, t * t, y, y * y, t * y)]
    cost_of_cut = price * (2.0 if sloped else 1.0) * noise**2 * math.log(size)
    best = np.full(size + 1, np.inf)
    best[0] = -cost_of_cut
    origin = np.zeros(size + 1, dtype=np.intp)
    for end in range(least, size + 1):
        start = np.arange(0, end - least + 1)
        n = (end - start).astype(float)
        st, stt, sy, syy, sty = (one[end] - one[start] for one in sums)
        cost = syy - sy * sy / n
        if sloped:
            width = stt - st * st / n
            cross = sty - st * sy / n
            cost = cost - np.where(width > 0.0, cross * cross / np.maximum(width, 1e-300), 0.0)
        total = best[start] + cost + cost_of_cut
        pick = int(np.argmin(total))
        best[end], origin[end] = total[pick], start[pick]
    cuts, end = [], size
    while origin[end] > 0:
        end = int(origin[end])
        cuts.append(end)
    return cuts[::-1]


def _piece(x: Array, y: Array, sloped: bool) -> Piece:
    slope = 0.0
    middle = float(y.mean())
    if sloped:
        centred = x - x.mean()
        slope = float(centred @ y / max(float(centred @ centred), 1e-300))
    half = float(x.mean())
    return Piece(
        start=float(x[0]),
        end=float(x[-1]),
        level=middle + slope * (float(x[0]) - half),
        slope=slope,
        level_end=middle + slope * (float(x[-1]) - half),
    )


def _residual(x: Array, y: Array, cuts: list[int], sloped: bool) -> Array:
    out = np.empty_like(y)
    for a, b in _spans(cuts, x.size):
        piece = _piece(x[a:b], y[a:b], sloped)
        out[a:b] = y[a:b] - piece.level - piece.slope * (x[a:b] - x[a])
    return out


def _common(residual: Array) -> float:
    power = float(residual @ residual)
    if power <= 0.0 or residual.size < 3:
        return 0.0
    return float(np.clip(residual[1:] @ residual[:-1] / power, 0.0, 0.9))
