"""Cycles from a temperature history: starts, trips, gaps, noise."""

from __future__ import annotations

import numpy as np
import pytest

from takeup.ageing.counting import count
from takeup.errors import MissingInput, OutOfRange

DAY = 86400.0


def history(*points: tuple[float, float], seed: int | None = None) -> tuple[np.ndarray, np.ndarray]:
    """Hourly readings along straight lines between (day, C)."""
    days, celsius = zip(*points, strict=True)
    time = np.arange(0.0, days[-1] * DAY + 1.0, 3600.0)
    k = np.interp(time, np.array(days) * DAY, celsius) + 273.15
    if seed is not None:
        k = k + np.random.default_rng(seed).normal(0.0, 3.0, k.size)
    return time, k


def test_two_starts_and_a_trip() -> None:
    """Cold, hot, trip to 300 C, hot, cold, hot, cold: two full cycles and one part."""
    time, k = history(
        (0, 20), (2, 720), (100, 720), (100.5, 300), (102, 720), (300, 720), (302, 20), (310, 20),
        (312, 720), (500, 720), (502, 20), seed=1,
    )  # fmt: skip

    found = count(time, k, full_range=700.0)

    assert found.full == 2.0
    (trip,) = found.swings
    assert trip.range == pytest.approx(420.0, abs=25.0)
    assert found.equivalent[1] == pytest.approx(2.0 + 0.6**3.4, abs=0.05)
    assert found.equivalent[0] == pytest.approx(2.0 + 0.6**5, abs=0.05)
    assert found.gaps == 0.0


def test_the_worked_trip_weighs_what_the_reference_says() -> None:
    """720 to 300 C of a 720 to 20 C cycle: 0.18 by 3.4, 0.08 by 5."""
    time, k = history((0, 720), (1, 300), (2, 720))

    found = count(time, k, full_range=700.0)

    assert found.equivalent == pytest.approx((0.0778, 0.1761), rel=0.02)


def test_the_published_sequence_is_counted_as_printed() -> None:
    """ASTM E1049 rainflow example: ranges 3, 4, 6, 8, 9 occur 0.5, 1.5, 0.5, 1.0, 0.5 times."""
    sequence = np.array([-2, 1, -3, 5, -1, 3, -4, 4, -2], dtype=float)

    found = count(np.arange(9.0), 500.0 + 10.0 * sequence, full_range=90.0)

    parts: dict[int, float] = {}
    for swing in found.swings:
        parts[round(swing.range / 10.0)] = parts.get(round(swing.range / 10.0), 0.0) + swing.count
    assert parts == {3: 0.5, 4: 1.5, 6: 0.5}
    assert found.full == 1.5


def test_a_run_that_goes_on_counts_half() -> None:
    """One start, no stop yet."""
    time, k = history((0, 20), (2, 700), (400, 700))

    assert count(time, k).full == 0.5


def test_noise_makes_no_cycles_and_gaps_are_told() -> None:
    """A steady history with noise has no range of a cycle; a month without readings is told."""
    time, k = history((0, 20), (1, 600), (50, 600), (51, 20), seed=3)
    keep = (time < 10 * DAY) | (time > 40 * DAY)

    found = count(time[keep], k[keep])

    assert found.full == 1.0
    assert found.swings == ()
    assert found.gaps == pytest.approx(30.0 * DAY, abs=7300.0)


def test_bad_histories_are_refused() -> None:
    """Too short, unsorted, or in a unit that cannot be."""
    with pytest.raises(MissingInput):
        count(np.arange(2.0), np.array([300.0, 600.0]))
    with pytest.raises(OutOfRange, match="Sort"):
        count(np.array([0.0, 2.0, 1.0]), np.array([300.0, 600.0, 300.0]))
    with pytest.raises(OutOfRange, match="unit"):
        count(np.arange(3.0), np.array([70.0, 1350.0, 70.0]))
