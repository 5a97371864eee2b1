"""Lives of several mechanisms joined: against closed forms and against drawn lives."""

from __future__ import annotations

import math

import numpy as np
import pytest

from takeup.ageing.joined import NORMAL_95, Joined, Wear, joined, remaining
from takeup.errors import OutOfRange
from takeup.sources import assumption
from takeup.units import YEAR

FROM = assumption("a test")


def wear(name: str, low: float, high: float, used: float = 0.0) -> Wear:
    """A life by its 5 and 95 % points in years."""
    return Wear(name=name, low=low * YEAR, high=high * YEAR, used=used * YEAR, source=FROM)


def test_one_life_is_itself() -> None:
    """Its 5, 50 and 95 % points come back; the middle is the geometric one."""
    found = joined([wear("creep", 4.0, 36.0)], None, 4.0 * YEAR, 12.0 * YEAR)

    assert isinstance(found, Joined)
    assert found.to_next == pytest.approx(0.95, abs=1e-3)
    assert found.to_second == pytest.approx(0.5, abs=1e-3)
    assert found.low == pytest.approx(4.0 * YEAR, rel=0.01)
    assert found.median == pytest.approx(12.0 * YEAR, rel=0.01)
    assert found.high == pytest.approx(36.0 * YEAR, rel=0.01)


def test_joined_lives_are_those_of_a_million_draws() -> None:
    """Three causes, one partly used: chances, quantiles and who is first."""
    wears = [wear("a", 3.0, 30.0, 2.0), wear("b", 6.0, 40.0), wear("c", 10.0, 12.0)]
    dice = np.random.default_rng(4)
    lives = []
    for one in wears:
        middle = 0.5 * (math.log(one.low) + math.log(one.high))
        spread = (math.log(one.high) - math.log(one.low)) / (2.0 * NORMAL_95)
        drawn = np.exp(dice.normal(middle, spread, 1_400_000))
        lives.append((drawn[drawn > one.used] - one.used)[:1_000_000] / YEAR)
    every = np.array(lives)
    first = every.min(axis=0)

    found = joined(wears, None, 3.0 * YEAR, 8.0 * YEAR)

    assert found is not None
    assert found.to_next == pytest.approx(float(np.mean(first > 3.0)), abs=2e-3)
    assert found.to_second == pytest.approx(float(np.mean(first > 8.0)), abs=2e-3)
    assert found.median / YEAR == pytest.approx(float(np.median(first)), rel=0.01)
    who = every.argmin(axis=0)
    shares = {one.name: one.probability for one in found.shares}
    for number, name in enumerate("abc"):
        drawn_share = float(np.mean((who == number) & (first <= 8.0)))
        assert shares[name] == pytest.approx(drawn_share, abs=3e-3)
    assert sum(shares.values()) == pytest.approx(1.0 - found.to_second, abs=1e-3)


def test_a_life_far_beyond_its_span_has_nothing_left() -> None:
    """It is taken as used up, not as unknown."""
    assert float(remaining(wear("ring", 1.0, 2.0, 100.0), np.array(YEAR))) == 0.0


def test_nothing_calculated_gives_nothing() -> None:
    """Age alone stands by itself already."""
    assert joined([], None, YEAR, 2.0 * YEAR) is None


def test_a_span_the_wrong_way_round_is_refused() -> None:
    """The 95 % life is not shorter than the 5 % life."""
    with pytest.raises(OutOfRange, match="95 % life"):
        remaining(wear("x", 5.0, 4.0), np.array(YEAR))
