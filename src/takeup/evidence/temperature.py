"""Bellows temperature histories against the action lines: state, drift, when it crosses. Pure.

Daily medians carry the judgment.  The season is taken out where there are years of data,
the drift is a robust slope (Theil-Sen) with its uncertainty from blocks of weeks, and a
projected date is always given with its earliest and latest.
"""

from __future__ import annotations

import datetime as dt
import math
from typing import Any

import msgspec
import numpy as np

from takeup.checks import Check, Figure, LimitKind, Outcome, compare
from takeup.evidence.model import Crossing, DailyTemperature, TemperatureReport
from takeup.limits import Limits
from takeup.sources import Source, Standing, practice
from takeup.units import DAY, Array

PRACTICE = practice("bellows temperature against the site's action lines")
TREND = Source(
    document="Theil (1950), Sen (1968)",
    at="median of pairwise slopes; spread by moving blocks of weeks (engineering assumption)",
    standing=Standing.MEMORY,
)
RECENT = 28
"""Days whose median stands for now."""
TREND_DAYS = 365
"""Days of the recent trend; a drift older than that has had its chance to show."""
MIN_WEEKS = 8
SEASON_YEARS = 1.5
STUCK_DAYS = 14
BLOCKS = 400
SEED = 7


class Trend(msgspec.Struct, frozen=True, kw_only=True):
    """A drift in K a day with the spread of its estimate."""

    slope: float
    spread: float
    """Standard deviation of the slope."""
    level: float
    """Present level [K], season taken out."""
    season: tuple[float, float]
    """Half-amplitudes (cosine, sine) of the yearly wave [K]."""
    weeks: int


def daily_from_arrays(
    seconds: Array,
    kelvin: Array,
    good: Array,
    *,
    low_from: float,
    low_to: float,
    high: float,
    tag: str = "",
) -> DailyTemperature:
    """Daily figures from a history held in arrays (s since 1970 UTC, K, 1 = good).

    The same rule as for kept files: a reading holds to the next, at most three usual steps.
    """  # fmt: skip
    order = np.argsort(seconds, kind="stable")
    t, k, ok = seconds[order], kelvin[order], good[order].astype(bool)
    step = np.diff(t)
    usual = float(np.median(step)) if step.size else 60.0
    hold = np.minimum(np.append(step, usual), 3 * usual)
    day = np.floor(t / DAY)
    days, place = np.unique(day, return_inverse=True)

    def total(mask: Any) -> Array:
        return np.asarray(np.bincount(place, weights=hold * mask, minlength=days.size), float)

    middle = np.full(days.size, np.nan)
    low = np.full(days.size, np.nan)
    top = np.full(days.size, np.nan)
    for number in range(days.size):
        values = k[(place == number) & ok]
        if values.size:
            middle[number], low[number], top[number] = np.median(values), values.min(), values.max()
    return DailyTemperature(
        tag=tag,
        day=days,
        median=middle,
        low=low,
        high=top,
        good=total(ok),
        bad=total(~ok),
        below=total(ok & (k < low_from)),
        wet=total(ok & (k < low_to)),
        above=total(ok & (k > high)),
    )


def trend(day: Array, median: Array, *, recent: int = TREND_DAYS) -> Trend | None:
    """Robust drift of the last ``recent`` days of daily medians [K]; ``None`` with too little.

    With more than a year and a half of data a yearly wave is fitted to all of it first and
    taken out, so that winter is not taken for a drift.
    """
    known = np.isfinite(median)
    if known.sum() < 7 * MIN_WEEKS:
        return None
    x, y = day[known], median[known]
    season = _season(x, y)
    flat = y - _wave(x, season)
    chosen = x > x[-1] - recent
    x, flat = x[chosen], flat[chosen]
    week = np.floor((x - x[0]) / 7.0)
    weeks, place = np.unique(week, return_inverse=True)
    if weeks.size < MIN_WEEKS:
        return None
    wx = np.bincount(place, weights=x) / np.bincount(place)
    wy = _medians(place, np.asarray((x - x[0]) - 7.0 * week, np.intp), flat)
    slope, level = _theil_sen(wx, wy, float(x[-1]))
    return Trend(
        slope=slope,
        spread=_spread(wx, wy, slope),
        level=level,
        season=season,
        weeks=int(weeks.size),
    )


def _medians(week: Any, day: Any, value: Array) -> Array:
    """Median of each week from days 0 to 6 of it."""
    table = np.full((int(week.max()) + 1, 7), np.nan)
    table[week, day] = value
    table.sort(axis=1)  # days without a value go last
    count = np.isfinite(table).sum(axis=1)
    row = np.arange(len(table))
    return np.asarray(0.5 * (table[row, (count - 1) // 2] + table[row, count // 2]))


def _season(x: Array, y: Array) -> tuple[float, float]:
    if x[-1] - x[0] < SEASON_YEARS * 365.25:
        return 0.0, 0.0
    phase = 2 * np.pi * x / 365.25
    years = (x - x.mean()) / 365.25
    # a drift bends freely (cubic) beside the wave, so that neither is taken for the other
    columns = np.column_stack(
        [np.ones_like(x), years, years**2, years**3, np.cos(phase), np.sin(phase)]
    )
    # two rounds with outliers weighed down: trips must not bend the wave
    weight: Array = np.ones_like(x)
    found: Array = np.zeros(6)
    for _ in range(3):
        weighted = columns * (weight * weight)[:, None]
        found = np.asarray(np.linalg.solve(columns.T @ weighted, weighted.T @ y))
        off = np.abs(y - columns @ found)
        scale = 1.4826 * float(np.median(off)) + 1e-9
        weight = np.sqrt(np.minimum(1.0, 2.0 * scale / np.maximum(off, 1e-12)))
    return float(found[4]), float(found[5])


def _wave(x: Array, season: tuple[float, float]) -> Array:
    phase = 2 * np.pi * x / 365.25
    return np.asarray(season[0] * np.cos(phase) + season[1] * np.sin(phase))


def without_season(day: Array, median: Array, found: Trend) -> Array:
    """Daily medians with the yearly wave of ``found`` taken out [K]."""
    return np.asarray(median - _wave(day, found.season))


def _theil_sen(x: Array, y: Array, at: float) -> tuple[float, float]:
    i, j = np.triu_indices(x.size, 1)
    slope = float(np.median((y[j] - y[i]) / (x[j] - x[i])))
    return slope, float(np.median(y + slope * (at - x)))


def _spread(x: Array, y: Array, slope: float) -> float:
    """Standard deviation of the slope: least squares on resampled blocks of residuals.

    Blocks of four weeks keep what neighbouring weeks have in common; independent weeks would
    make the trend look surer than it is.
    """
    residual = y - slope * x
    residual = residual - residual.mean()
    n, block = x.size, 4
    dice = np.random.default_rng(SEED)
    count = -(-n // block)
    starts = dice.integers(0, max(1, n - block + 1), size=(BLOCKS, count))
    drawn = residual[(starts[:, :, None] + np.arange(block)).reshape(BLOCKS, -1)[:, :n]]
    centred = x - x.mean()
    slopes = drawn @ centred / float(centred @ centred)
    return float(slopes.std(ddof=1)) * 1.05  # Theil-Sen is some 5 % wider than least squares


def watch(
    daily: DailyTemperature,
    *,
    joint: str,
    bellows: str,
    limits: Limits,
    today: dt.date,
    outage: dt.date | None,
    run_start: dt.date | None = None,
) -> TemperatureReport:
    """Judge a history against the action lines and project when it crosses them.

    Hours and days outside the lines are counted from ``run_start`` (end of the last outage).
    """
    low_from, low_to = limits["temperature.low_from"], limits.value("temperature.low_to")
    high = limits["temperature.high"]
    known = np.isfinite(daily.median)
    if not known.any():
        return _no_data(daily, joint, bellows)
    day, median = daily.day, np.where(known, daily.median, np.nan)
    first, last = _date(day[known][0]), _date(day[known][-1])
    recent = known & (day > day[known][-1] - RECENT)
    now = float(np.median(median[recent]))
    found = trend(day[known], median[known])
    why: list[str] = []
    cautions: list[str] = []
    _quality(daily, known, today, now, why, cautions)
    days_of = (daily.good > 0).sum()
    run = day >= (run_start - dt.date(1970, 1, 1)).days if run_start else day >= day[0]
    figures = [
        _figure("latest", "Last daily median", float(median[known][-1]), "temperature"),
        _figure("running_median", f"Median of the last {RECENT} days", now, "temperature"),
        _figure("lowest", "Lowest reading", float(np.nanmin(daily.low)), "temperature"),
        _figure("highest", "Highest reading", float(np.nanmax(daily.high)), "temperature"),
        _figure("days_below", "Time below the low band", float(daily.below[run].sum()), "days"),
        _figure("days_above", "Time above the high line", float(daily.above[run].sum()), "days"),
        _figure(
            "days_in_band",
            "Time between the lines",
            float((daily.good - daily.below - daily.above)[run].sum()),
            "days",
        ),
        _figure("hours_wet", "Time below the low line", float(daily.wet[run].sum()), "hours"),
        _figure(
            "coverage",
            "Share of time with good readings",
            float(daily.good.sum() / max(DAY, DAY * (day[-1] - day[0] + 1))),
            "share",
        ),
        _figure("days_with_data", "Days with data", float(days_of) * DAY, "days"),
    ]
    crossings: list[Crossing] = []
    if found is not None:
        figures += [
            Figure(
                id="trend",
                name="Drift",
                value=found.slope / DAY,
                kind="temperature_rate",
                source=TREND,
                note=f"{found.weeks} weeks, season taken out"
                if any(found.season)
                else f"{found.weeks} weeks, too short to tell a season",
            ),
            Figure(
                id="trend_uncertainty",
                name="Drift, standard uncertainty",
                value=found.spread / DAY,
                kind="temperature_rate",
                source=TREND,
            ),
        ]
        crossings = [
            _crossing(
                "low",
                found,
                low_from.value if found.level > low_from.value else low_to,
                last,
                outage,
            ),
            _crossing("high", found, high.value, last, outage),
        ]
    state = _state(now, found, low_from.value, high.value, crossings)
    checks = [
        compare(
            id=f"temperature.low@{daily.tag}",
            name=f"{daily.tag} above the low action band",
            demand=now,
            capacity=low_from.value,
            kind="temperature",
            at_least=True,
            source=low_from.source,
            limit_kind=LimitKind.RULE_OF_THUMB,
            because=f"median of the last {RECENT} days; act at the latest at the lower end",
        ),
        compare(
            id=f"temperature.high@{daily.tag}",
            name=f"{daily.tag} below the high action line",
            demand=now,
            capacity=high.value,
            kind="temperature",
            source=high.source,
            limit_kind=LimitKind.RULE_OF_THUMB,
            because=f"median of the last {RECENT} days",
        ),
    ]
    why = _words(now, found, state, crossings, outage) + why
    if (today - last).days > 60:
        checks = [_stale(check, last) for check in checks]
    return TemperatureReport(
        joint=joint,
        bellows=bellows,
        tag=daily.tag,
        first=first,
        last=last,
        figures=tuple(figures),
        checks=tuple(checks),
        crossings=tuple(crossings),
        state=state,
        why=tuple(why),
        cautions=tuple(cautions),
    )


def _date(day: float) -> dt.date:
    return dt.date(1970, 1, 1) + dt.timedelta(days=int(day))


def _figure(id: str, name: str, value: float, kind: str) -> Figure:
    return Figure(id=id, name=name, value=value, kind=kind, source=PRACTICE)


def _no_data(daily: DailyTemperature, joint: str, bellows: str) -> TemperatureReport:
    first = _date(daily.day[0]) if daily.day.size else dt.date(1970, 1, 1)
    last = _date(daily.day[-1]) if daily.day.size else first
    return TemperatureReport(
        joint=joint,
        bellows=bellows,
        tag=daily.tag,
        first=first,
        last=last,
        figures=(),
        checks=(),
        crossings=(),
        state="no data",
        why=("no good reading in the whole history: instrument fault, not a temperature",),
    )


def _quality(
    daily: DailyTemperature,
    known: Array,
    today: dt.date,
    now: float,
    why: list[str],
    cautions: list[str],
) -> None:
    """Gaps, bad readings, a stuck sensor and a doubtful unit, told with counts."""
    day = daily.day[known.astype(bool)]
    last = _date(day[-1])
    if (today - last).days > 60:
        why.append(f"the last good reading is of {last.isoformat()}: the history is stale")
    gaps = np.diff(day)
    long = gaps > 7
    if long.any():
        why.append(f"{int(long.sum())} gaps of over a week, the longest of {int(gaps.max())} days")
    bad, good = float(daily.bad.sum()), float(daily.good.sum())
    if bad > 0.02 * (good + bad):
        why.append(f"{bad / (good + bad):.0%} of the time the readings were of bad quality")
    spread = (daily.high - daily.low)[known.astype(bool)]
    moved = np.abs(np.diff(daily.median[known.astype(bool)]))
    still = (spread[1:] < 1e-3) & (moved < 1e-3)
    breaks = np.flatnonzero(np.concatenate(([True], ~still, [True])))
    longest = int(np.diff(breaks).max()) - 1
    if longest >= STUCK_DAYS:
        cautions.append(
            f"{daily.tag} did not move at all for {longest} days: a stuck sensor or a frozen value"
        )
    if now > 923.15:
        cautions.append(
            f"{daily.tag} stands at {now - 273.15:.0f} °C: is the unit right? As °F it would be "
            f"{(now - 273.15 - 32) / 1.8:.0f} °C"
        )


def _crossing(
    line: str, found: Trend, value: float, last: dt.date, outage: dt.date | None
) -> Crossing:
    """When the drift reaches a line: middle, earliest and latest (90 %), chance before outage."""
    gap = value - found.level
    toward = gap < 0 if line == "low" else gap > 0
    if not toward:  # it stands beyond the line already
        return Crossing(line=line, date=last, earliest=last, latest=last, chance_before_outage=1.0)
    sign = -1.0 if line == "low" else 1.0
    # the drift is free of the season, the line is met at the season's worst
    distance = max(0.0, abs(gap) - math.hypot(*found.season))
    speed, spread = sign * found.slope, found.spread
    if distance == 0.0:
        return Crossing(line=line, date=last, earliest=last, latest=last, chance_before_outage=1.0)

    def after(rate: float) -> dt.date | None:
        if rate <= 0 or distance / rate > 30 * 365.25:
            return None
        return last + dt.timedelta(days=round(distance / rate))

    chance = None
    if outage is not None:
        span = (outage - last).days
        if span > 0 and spread > 0:
            needed = distance / span
            chance = 0.5 * math.erfc((needed - speed) / (spread * math.sqrt(2.0)))
        elif span > 0:
            chance = 1.0 if speed * span >= distance else 0.0
        else:
            chance = 0.0
    return Crossing(
        line=line,
        date=after(speed),
        earliest=after(speed + 1.645 * spread),
        latest=after(speed - 1.645 * spread),
        chance_before_outage=chance,
    )


def _state(
    now: float, found: Trend | None, low: float, high: float, crossings: list[Crossing]
) -> str:
    if now < low:
        return "below"
    if now > high:
        return "above"
    if found is None:
        return "in band"
    significant = abs(found.slope) > 2.0 * found.spread
    fast = abs(found.slope) * 365.25 > 5.0
    if significant and fast:
        chance = {c.line: c.chance_before_outage or 0.0 for c in crossings}
        if found.slope < 0 and (chance.get("low", 0.0) > 0.02 or now - low < 60):
            return "falling"
        if found.slope > 0 and (chance.get("high", 0.0) > 0.02 or high - now < 60):
            return "rising"
    return "in band"


def _words(
    now: float,
    found: Trend | None,
    state: str,
    crossings: list[Crossing],
    outage: dt.date | None,
) -> list[str]:
    words = [f"stands at {now - 273.15:.0f} °C ({(now - 273.15) * 1.8 + 32:.0f} °F)"]
    if found is None:
        words.append("too little data for a trend")
        return words
    yearly = found.slope * 365.25
    words.append(f"drifts {yearly:+.0f} ± {1.645 * found.spread * 365.25:.0f} K a year (90 %)")
    for crossing in crossings:
        if crossing.date is None or state in {"below", "above"}:
            continue
        if (crossing.chance_before_outage or 0.0) < 0.02:
            continue
        span = " to ".join(
            date.isoformat() if date else "later" for date in (crossing.earliest, crossing.latest)
        )
        before = f" before the outage of {outage.isoformat()}" if outage else ""
        words.append(
            f"would cross the {crossing.line} line around {crossing.date.isoformat()} ({span}); "
            f"chance{before} {crossing.chance_before_outage or 0:.0%}"
        )
    return words


def _stale(check: Check, last: dt.date) -> Check:
    return msgspec.structs.replace(
        check,
        outcome=Outcome.NOT_EVALUATED,
        because=f"the last good reading is of {last.isoformat()}",
    )
