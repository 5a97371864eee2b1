"""Starts, stops and trips counted from a temperature history, not typed in. Pure.

Rainflow counting is the library's (ASTM E1049); what it counts, and what a part of a cycle weighs
against a whole one, is here.
"""

from __future__ import annotations

import msgspec
import numpy as np
import rainflow

from takeup.errors import MissingInput, require_within
from takeup.sources import Source, Standing, practice
from takeup.units import Array

COUNTING = Source(document="ASTM E1049", at="rainflow counting", standing=Standing.MEMORY)
WEIGHT = practice(
    "a partial cycle counts as its share of the full range to a power of 3.4 (slope of bellows "
    "curves) to 5"
)
SMALL = 30.0
"""Reversals smaller than this are not counted [K]"""
FULL = 0.8
"""Share of the full range from which a cycle is a start and stop"""
POWERS = (3.4, 5.0)


class Swing(msgspec.Struct, frozen=True, kw_only=True):
    """One cycle that is not a full start and stop."""

    range: float
    """[K]"""
    count: float
    """1, or a half where the history begins or ends within it"""
    start: float
    """Time of its first turning point [s]"""


class Counted(msgspec.Struct, frozen=True, kw_only=True):
    """What a history did to the metal."""

    full: float
    """Full starts and stops; a run that has not ended counts half"""
    swings: tuple[Swing, ...]
    """Trips and other parts of a cycle, largest first"""
    equivalent: tuple[float, float]
    """Full cycles that all of it weighs, by the powers 5 and 3.4"""
    full_range: float
    """What a full cycle is taken as [K]"""
    span: float
    """Time covered [s]"""
    gaps: float
    """Time without a reading, where a stop may hide [s]"""
    source: Source = COUNTING


def count(
    time: Array, temperature: Array, *, full_range: float | None = None, small: float = SMALL,
    gap: float = 5.0 * 86400.0,
) -> Counted:  # fmt: skip
    """Count cycles of ``temperature`` [K] over rising ``time`` [s]; NaN are left out.

    ``full_range`` is that of a start from cold to running; the largest range met where not given.
    A stretch without readings longer than ``gap`` is told, since a stop may hide in it.
    """
    t, k = np.asarray(time, float), np.asarray(temperature, float)
    known = np.isfinite(k)
    t, k = t[known], k[known]
    if t.size < 3:
        raise MissingInput("starts and stops", ["a temperature history with three readings"])
    require_within("Step between readings", float(np.diff(t).min()), low=0.0, unit="s",
                   whose="counting of cycles", remedy="Sort the readings by time.")  # fmt: skip
    require_within("Temperature", k - 273.15, low=-80.0, high=1300.0, unit="°C",
                   whose="counting of cycles", remedy="Check the unit.")  # fmt: skip
    turning = _turns(k, small)
    whole = float(np.ptp(k)) if full_range is None else full_range
    require_within("Range of a full cycle", whole, low=small, unit="K", whose="counting of cycles",
                   remedy="The history has no start and no stop in it.")  # fmt: skip
    full, low, high = 0.0, 0.0, 0.0
    swings = []
    for size, _mean, number, first, _last in rainflow.extract_cycles(k[turning].tolist()):
        if size < small:
            continue
        share = min(size / whole, 1.0)
        high += number * share ** POWERS[0]
        low += number * share ** POWERS[1]
        if share >= FULL:
            full += number
        else:
            swings.append(Swing(range=size, count=number, start=float(t[turning[first]])))
    steps = np.diff(t)
    return Counted(
        full=full,
        swings=tuple(sorted(swings, key=lambda one: -one.range)),
        equivalent=(low, high),
        full_range=whole,
        span=float(t[-1] - t[0]),
        gaps=float(steps[steps > gap].sum()),
    )


def _turns(k: Array, small: float) -> list[int]:
    """Turning points with reversals smaller than ``small`` taken out first.

    So that noise neither makes cycles nor is walked through point by point by the counting.
    """
    kept, way = [0], 0
    extreme = 0
    for i in np.flatnonzero(np.diff(k, prepend=np.nan) != 0.0).tolist():
        move = k[i] - k[kept[-1]] if way == 0 else k[i] - k[extreme]
        if way == 0:
            if abs(move) >= small:
                way, extreme = (1 if move > 0 else -1), i
        elif way * move > 0.0:
            extreme = i
        elif -way * move >= small:
            kept.append(extreme)
            way, extreme = -way, i
    if way:
        kept.append(extreme)
    if kept[-1] != k.size - 1:
        kept.append(k.size - 1)
    return kept
