"""Alerts on temperatures: few on healthy histories, early on sick ones, one a cause."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from takeup.evidence.alerts import AlertKind, Proposal, last_step, propose
from takeup.evidence.temperature import daily_from_arrays, watch
from takeup.limits import defaults

TODAY = dt.date(2026, 6, 1)
EPOCH = dt.date(1970, 1, 1)
LIMITS = defaults()


def healthy(seed: int, days: int, level: float = 290.0) -> np.ndarray:
    """Daily medians [C]: a yearly wave, load that wanders, noise with memory."""
    dice = np.random.default_rng(seed)
    day = np.arange(days)
    wander = np.zeros(days)
    for k in range(1, days):
        wander[k] = 0.9 * wander[k - 1] + dice.normal(0.0, 0.8)
    wave = 6.0 * np.cos(2.0 * np.pi * (day + dice.uniform(0, 365)) / 365.25)
    return level + wave + wander + dice.normal(0.0, 0.7, days)


def asked(celsius: np.ndarray, outage_in: int = 400) -> tuple[Proposal, ...]:
    """What daily values that end today ask for; four readings a day."""
    last = (TODAY - EPOCH).days
    days = np.repeat(np.arange(last - celsius.size + 1, last + 1), 4)
    seconds = days * 86400.0 + np.tile([0.0, 6.0, 12.0, 18.0], celsius.size) * 3600.0
    ripple = np.tile([-0.4, 0.1, 0.4, -0.1], celsius.size)
    daily = daily_from_arrays(
        seconds, np.repeat(celsius, 4) + ripple + 273.15, np.ones(days.size),
        low_from=LIMITS.value("temperature.low_from"), low_to=LIMITS.value("temperature.low_to"),
        high=LIMITS.value("temperature.high"), tag="T",
    )  # fmt: skip
    report = watch(
        daily, joint="J", bellows="A", limits=LIMITS, today=TODAY,
        outage=TODAY + dt.timedelta(days=outage_in),
    )  # fmt: skip
    return propose(report, daily, limits=LIMITS, today=TODAY)


def test_healthy_histories_are_left_in_peace() -> None:
    """Twenty healthy tags of three years each: at most two ask for anything at all."""
    asking = [seed for seed in range(20) if asked(healthy(seed, 1100))]

    assert len(asking) <= 2


@pytest.mark.parametrize(
    ("size", "kind"), [(20.0, AlertKind.STEP_UP), (-20.0, AlertKind.STEP_DOWN)]
)
def test_a_step_of_twenty_kelvin_is_told_within_two_weeks(size: float, kind: AlertKind) -> None:
    """A fortnight after it, with its date to a week, though load wanders by 2 K unseen."""
    value = healthy(3, 1000)
    value[-14:] += size

    (found,) = asked(value)

    assert found.kind == kind
    assert found.urgent
    assert abs((TODAY - found.since).days - 13) <= 7
    assert "instrument" in " ".join(found.look)


def test_a_history_beyond_its_line_is_not_also_a_step() -> None:
    """Packing lost: 380 C from 290; one alert, above the line."""
    high = LIMITS.value("temperature.high") - 273.15
    value = healthy(4, 1000)
    value[-60:] += high + 25.0 - 290.0

    kinds = [one.kind for one in asked(value)]

    assert kinds == [AlertKind.ABOVE]


def test_slow_packing_is_told_before_it_reaches_the_line() -> None:
    """Fines fill the cavity at 60 K a year: falling, long before the low line."""
    low = LIMITS.value("temperature.low_from") - 273.15
    value = healthy(5, 1000, level=low + 75.0)
    value -= np.maximum(np.arange(1000) - 700.0, 0.0) * 60.0 / 365.25

    (found,) = asked(value)

    assert found.kind == AlertKind.FALLING
    assert value[-1] > low
    assert 150 < (TODAY - found.since).days < 549


def test_a_frozen_value_and_a_silent_tag_are_instrument_alerts() -> None:
    """Nothing is said of the bellows then."""
    last = (TODAY - EPOCH).days
    day = np.repeat(np.arange(last - 299, last + 1), 4)
    seconds = day * 86400.0 + np.tile([0.0, 6.0, 12.0, 18.0], 300) * 3600.0
    value = np.repeat(healthy(6, 300), 4) + np.tile([-0.4, 0.1, 0.4, -0.1], 300)
    frozen = value.copy()
    frozen[-30 * 4 :] = frozen[-30 * 4]
    limits = {
        "low_from": LIMITS.value("temperature.low_from"),
        "low_to": LIMITS.value("temperature.low_to"),
        "high": LIMITS.value("temperature.high"),
    }

    def ask(kelvin: np.ndarray, upto: int) -> list[AlertKind]:
        daily = daily_from_arrays(
            seconds[:upto], kelvin[:upto] + 273.15, np.ones(upto), tag="T", **limits
        )
        report = watch(daily, joint="J", bellows="A", limits=LIMITS, today=TODAY, outage=None)
        return [one.kind for one in propose(report, daily, limits=LIMITS, today=TODAY)]

    assert ask(frozen, 1200) == [AlertKind.STUCK]
    assert ask(value, 1200 - 4 * 20) == [AlertKind.SILENT]


def test_shutdowns_are_no_steps() -> None:
    """A ten-day outage in the middle leaves no step behind."""
    value = healthy(8, 800)
    value[400:410] = 20.0

    assert last_step(np.arange(800.0), value) is None
