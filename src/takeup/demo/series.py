"""Invented bellows temperature histories: five years of hours, with trips, gaps and drift."""

from __future__ import annotations

import datetime as dt

import msgspec
import numpy as np

from takeup.units import Array

HOUR = 3600.0


class History(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """Times (s since 1970 UTC), temperatures (K), quality (1 good, 0 bad)."""

    seconds: Array
    kelvin: Array
    good: Array


class Shape(msgspec.Struct, frozen=True, kw_only=True):
    """What a history looks like: level now, drift of the last part, and how it began."""

    tag: str
    joint: str
    level: float
    """°C when steady."""
    drift: float = 0.0
    """K a year over the last ``drift_years``."""
    drift_years: float = 2.0
    step: float = 0.0
    """K, a jump at the start of the drift."""
    bad: float = 0.005
    """Share of readings of bad quality."""


def history(shape: Shape, today: dt.date, outage: dt.date, days_down: float, seed: int) -> History:
    """Five years of hourly readings up to yesterday; the same for the same seed."""
    dice = np.random.default_rng([seed, sum(map(ord, shape.tag))])
    end = dt.datetime.combine(today, dt.time(), dt.UTC).timestamp()
    hours = 5 * 365 * 24
    t: Array = np.asarray(end - HOUR * np.arange(hours, 0, -1), dtype=float)
    years = (t - end) / (365.25 * 86400)
    value = np.full(hours, shape.level)
    season = 2 * np.pi * t / (365.25 * 86400)
    value += -6.0 * np.cos(season - 0.35)  # coldest in late January
    value += 2.0 * np.sin(2 * np.pi * t / 86400)
    slow = dice.normal(size=hours // 24 + 2).cumsum() * 0.25
    slow -= np.linspace(slow[0], slow[-1], slow.size)
    value += np.interp(np.arange(hours) / 24.0, np.arange(slow.size), slow)
    value += dice.normal(scale=1.5, size=hours)
    late = np.clip(years + shape.drift_years, 0.0, None)
    value += shape.drift * (late - shape.drift_years) * (years > -shape.drift_years)
    value += -shape.drift * shape.drift_years * (years <= -shape.drift_years)
    value += shape.step * (years > -shape.drift_years)
    for _ in range(7):  # trips: two days of cooling toward standby and back
        start = int(dice.integers(0, hours - 60))
        length = int(dice.integers(18, 44))
        sag = np.sin(np.linspace(0, np.pi, length))
        value[start : start + length] -= 55.0 * sag
    keep = np.ones(hours, dtype=bool)
    down = dt.datetime.combine(outage, dt.time(), dt.UTC).timestamp()
    keep &= ~((t >= down) & (t < down + days_down * 86400))
    for _ in range(3):
        start = int(dice.integers(0, hours - 400))
        keep[start : start + int(dice.integers(24, 300))] = False
    good = (dice.random(hours) > shape.bad).astype(float)
    value = np.where(good > 0, value, dice.choice([0.0, 1999.9], size=hours))
    return History(seconds=t[keep], kelvin=(value + 273.15)[keep], good=good[keep])


SHAPES: tuple[Shape, ...] = (
    Shape(tag="TI-1101", joint="EJ-1101", level=292.0),
    Shape(tag="TI-1102", joint="EJ-1102", level=285.0),
    Shape(tag="TI-1103", joint="EJ-1103", level=232.0, drift=-38.0, drift_years=1.6),
    Shape(tag="TI-1201", joint="EJ-1201", level=278.0),
    Shape(tag="TI-1203", joint="EJ-1203", level=270.0, bad=0.04),
    Shape(tag="TI-1301", joint="EJ-1301", level=262.0),
    Shape(tag="TI-1302", joint="EJ-1302", level=196.0, step=-58.0, drift_years=0.5),
    Shape(tag="TI-1303", joint="EJ-1303", level=488.0, drift=75.0, drift_years=1.3),
    Shape(tag="TI-1304", joint="EJ-1304", level=281.0),
    Shape(tag="TI-1401", joint="EJ-1401", level=402.0),
    Shape(tag="TI-1601", joint="EJ-1601", level=388.0),
)
