"""What evidence shows, once interpreted: results of the engines in this room."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

import msgspec

from takeup.checks import Check, Figure
from takeup.units import Array


class PlyVerdict(StrEnum):
    """What an interply test says. A pass is no statement of life."""

    TIGHT = "tight"
    OUTER = "outer ply, attachment or test connection leaks"
    INNER = "inner ply leaks"
    INCONCLUSIVE = "inconclusive"


class InterplyResult(msgspec.Struct, frozen=True, kw_only=True):
    """An interpreted interply test."""

    joint: str
    bellows: str
    date: dt.date
    verdict: PlyVerdict
    why: tuple[str, ...]
    port_proven: bool | None
    figures: tuple[Figure, ...]
    """Ids: ``start``, ``end``, ``corrected_drop``, ``drop_share``, ``leak_rate``,
    ``smallest_leak``, ``hold``."""
    checks: tuple[Check, ...]
    cautions: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()


class DailyTemperature(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """A bellows temperature history in daily figures; arrays of equal length, NaN = no data.

    ``day`` counts whole days from 1970-01-01 in UTC.  Temperatures in K, spans in s.
    ``below`` and ``above`` hold the seconds of each day spent below the upper end of the
    low action band and above the high action line; ``wet`` the seconds below its lower end.
    """

    tag: str
    day: Array
    median: Array
    low: Array
    high: Array
    good: Array
    bad: Array
    below: Array
    wet: Array
    above: Array


class Crossing(msgspec.Struct, frozen=True, kw_only=True):
    """When a drifting temperature is projected to cross an action line."""

    line: str
    """``low`` or ``high``."""
    date: dt.date | None
    """Middle estimate; ``None`` if the drift does not lead there."""
    earliest: dt.date | None
    latest: dt.date | None
    chance_before_outage: float | None
    """Share of the trend's uncertainty that crosses before the outage."""


class TemperatureReport(msgspec.Struct, frozen=True, kw_only=True):
    """A temperature history against the action lines."""

    joint: str
    bellows: str
    tag: str
    first: dt.date
    last: dt.date
    figures: tuple[Figure, ...]
    """Ids: ``latest``, ``running_median``, ``lowest``, ``highest``, ``days_in_band``,
    ``days_below``, ``days_above``, ``hours_wet``, ``trend``, ``trend_uncertainty``,
    ``coverage``."""
    checks: tuple[Check, ...]
    crossings: tuple[Crossing, ...]
    state: str
    """``in band``, ``below``, ``above``, ``falling``, ``rising``, ``no data``."""
    why: tuple[str, ...]
    cautions: tuple[str, ...] = ()


class MarkMovement(msgspec.Struct, frozen=True, kw_only=True):
    """Movement from marks: hot minus cold of the same marks; never from one reading."""

    joint: str
    bellows: str
    hot_visit: str | None
    cold_visit: str | None
    axial: float | None
    """m, + extension; ``None`` unless read in both states."""
    lateral: float | None
    angular: float | None
    uncertainty: float | None
    """m, 95 %, of the axial movement."""
    closure: float | None
    """m, difference of the 12+6 and 3+9 means; large = wrong readings."""
    faces: dict[int, float] = {}
    """Hot minus cold of the length between marks by clock [m]; + is longer."""
    notes: tuple[str, ...] = ()
