"""Working calendars as axes of open half-hours, shared by decoder and judge's maker. Pure."""

from __future__ import annotations

import functools

import numpy as np
from numpy.typing import NDArray

from takeup.register.entities import Shifts

STEP = 0.5
"""Hours a unit."""
DAY_UNITS = 48

Units = NDArray[np.int64]


def open_in_day(shifts: Shifts) -> NDArray[np.bool_]:
    """Which half-hours of a day are worked: 06-16 and 18-04, 06-16, or all."""
    clock = np.arange(DAY_UNITS) * STEP
    if shifts == Shifts.ROUND_THE_CLOCK:
        return np.ones(DAY_UNITS, dtype=bool)
    day = (clock >= 6) & (clock < 16)
    if shifts == Shifts.DAYS:
        return np.asarray(day, dtype=bool)
    return np.asarray(day | (clock >= 18) | (clock < 4), dtype=bool)


@functools.lru_cache(maxsize=64)
def open_units(shifts: Shifts, offset: int, horizon: int) -> Units:
    """Open units 0..horizon-1, where unit 0 lies ``offset`` half-hours after midnight."""
    pattern = open_in_day(shifts)
    clock = (np.arange(horizon) + offset) % DAY_UNITS
    found: Units = np.flatnonzero(pattern[clock])
    found.setflags(write=False)
    return found
