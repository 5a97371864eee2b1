"""Remaining life by every mechanism that gives one, joined: the first to end it ends it.

Mechanisms are taken to be independent (an engineering assumption); each is a log-normal of whole life,
given that it has not happened up to now, and age is the Weibull of the service group.  What has no
calculated life is not in it: the result is a ceiling, never a promise.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec
import numpy as np

from takeup.ageing.model import Survival
from takeup.errors import require_within
from takeup.sources import Source, assumption
from takeup.units import YEAR, Array

INDEPENDENT = assumption(
    "independent causes, each a log-normal life through its 5 and 95 % points; age as the Weibull "
    "of its service group"
)
HORIZON = 60.0 * YEAR
STEPS = 4001
NORMAL_95 = 1.6448536269514722


class Wear(msgspec.Struct, frozen=True, kw_only=True):
    """One cause of an end, as a whole life of which a part is used [s]."""

    name: str
    low: float
    """5 % of lives are shorter"""
    high: float
    """95 % of lives are shorter"""
    used: float
    """Gone by without an end"""
    source: Source


class Share(msgspec.Struct, frozen=True, kw_only=True):
    """How often a cause is the first before the second outage."""

    name: str
    probability: float


class Joined(msgspec.Struct, frozen=True, kw_only=True):
    """All calculated causes together."""

    to_next: float
    """Chance of none of them before the next outage"""
    to_second: float
    low: float
    """5, 50 and 95 % of the time to the first of them, at most 60 years [s]"""
    median: float
    high: float
    shares: tuple[Share, ...]
    """Likeliest first"""
    source: Source = INDEPENDENT


def remaining(one: Wear, time: Array) -> Array:
    """Chance that the cause has not come ``time`` [s] from now, given that it has not by now."""
    from scipy.special import ndtr

    require_within("5 % life", one.low, low=1.0, unit="s", whose="joined lives")
    require_within("95 % life over 5 % life", one.high / one.low, low=1.0, high=1e6,
                   whose="joined lives")  # fmt: skip
    middle = 0.5 * (math.log(one.low) + math.log(one.high))
    spread = max((math.log(one.high) - math.log(one.low)) / (2.0 * NORMAL_95), 0.05)

    def left(total: Array) -> Array:
        return np.asarray(ndtr((middle - np.log(np.maximum(total, 1.0))) / spread))

    now = float(left(np.array(one.used)))
    # beyond every life the curve knows nothing: what is left is taken as used up
    return np.asarray(left(one.used + time) / now) if now > 1e-9 else np.zeros_like(time)


def joined(
    wears: Sequence[Wear], survival: Survival | None, to_next: float, to_second: float
) -> Joined | None:
    """Join ``wears`` and age over time [s] to the next and second outage; ``None`` without any.

    Age alone is not joined: it stands by itself already.
    """
    if not wears:
        return None
    time = np.concatenate([np.zeros(1), np.geomspace(1e-4, 1.0, STEPS)]) * HORIZON
    curves = {one.name: remaining(one, time) for one in wears}
    if survival is not None:
        gone, shape, scale = survival.age * YEAR, survival.shape, survival.scale * YEAR
        curves["age, by the lives of its service"] = np.exp(
            (gone / scale) ** shape - ((gone + time) / scale) ** shape
        )
    whole = np.prod(np.array(list(curves.values())), axis=0)

    def at(when: float) -> float:
        return float(np.interp(when, time, whole))

    def quantile(share: float) -> float:
        return float(time[min(int(np.searchsorted(-whole, -(1.0 - share))), len(time) - 1)])

    # chance that a cause is first: its own falls, times all others still standing
    first = np.minimum(time, to_second)
    shares = []
    for name, curve in curves.items():
        others = np.prod(
            np.array([c for n, c in curves.items() if n != name] or [np.ones_like(time)]), axis=0
        )
        own = np.interp(first, time, curve)
        fall = own[:-1] - own[1:]
        shares.append(
            Share(name=name, probability=float(np.sum(fall * (others[1:] + others[:-1]) / 2.0)))
        )
    return Joined(
        to_next=at(to_next),
        to_second=at(to_second),
        low=quantile(0.05),
        median=quantile(0.5),
        high=quantile(0.95),
        shares=tuple(sorted(shares, key=lambda one: -one.probability)),
    )
