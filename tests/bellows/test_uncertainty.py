"""The study of tolerances: samples, intervals, drivers, and what the report says."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from takeup.bellows.uncertainty import (
    Sampling,
    Shape,
    Sheet,
    Spread,
    drivers,
    sampling,
    sheet_tolerance,
)
from takeup.errors import Contradiction, OutOfRange
from takeup.sources import assumption

SOURCE = assumption("invented for the tests")
BOTH = pytest.mark.parametrize("layout", list(Sampling))


def spread_of(input: str, **changes: Any) -> Spread:
    """A spread of one input: a tenth to either side, unless changed."""
    values: dict[str, Any] = {"input": input, "minus": 0.1, "plus": 0.1, "relative": True}
    return Spread(source=SOURCE, **{**values, **changes})


# --- points and distributions --------------------------------------------------------------


@BOTH
def test_the_same_seed_gives_the_same_points_and_another_does_not(layout: Sampling) -> None:
    """A study can be repeated to the last bit from its seed."""
    first = sampling.points(256, 5, seed=3, sampling=layout)
    assert np.array_equal(first, sampling.points(256, 5, seed=3, sampling=layout))
    assert not np.array_equal(first, sampling.points(256, 5, seed=4, sampling=layout))
    assert ((first > 0.0) & (first < 1.0)).all()


def test_sobol_points_between_powers_of_two_are_refused() -> None:
    """1000 is refused, and the message names 512, 1024 and the other layout."""
    with pytest.raises(OutOfRange, match=r"512 to 1024.*Latin hypercube"):
        sampling.points(1000, 2, seed=1, sampling=Sampling.SOBOL)
    assert len(sampling.points(1000, 2, seed=1, sampling=Sampling.LATIN)) == 1000


EXACT = {
    "uniform": (spread_of("pitch", minus=1.0, plus=3.0), stats.uniform(-1.0, 4.0)),
    "triangular": (
        spread_of("pitch", shape=Shape.TRIANGULAR, minus=1.0, plus=3.0),
        stats.triang(0.25, -1.0, 4.0),
    ),
    "one-sided": (
        spread_of("pitch", shape=Shape.TRIANGULAR, minus=0.0, plus=2.0),
        stats.triang(0.0, 0.0, 2.0),
    ),
    "normal": (
        spread_of("pitch", shape=Shape.NORMAL, deviation=0.7, minus=math.inf, plus=math.inf),
        stats.norm(0.0, 0.7),
    ),
    "cut": (
        spread_of("pitch", shape=Shape.NORMAL, deviation=0.7, minus=1.0, plus=0.5),
        stats.truncnorm(-1.0 / 0.7, 0.5 / 0.7, 0.0, 0.7),
    ),
}


@pytest.mark.parametrize("name", EXACT)
def test_samples_follow_their_distribution(name: str) -> None:
    """Values at given probabilities are those of an independent implementation."""
    given_spread, exact = EXACT[name]
    u = np.array([1e-6, 0.01, 0.2, 0.25, 0.5, 0.77, 0.99, 1.0 - 1e-6])
    assert sampling.offsets(given_spread, u) == pytest.approx(exact.ppf(u), abs=1e-9)


def test_relative_and_absolute_amounts() -> None:
    """A tenth of 50 mm to either side is 45 to 55 mm; 2 mm to either side 48 to 52 mm."""
    u = np.array([0.0, 0.5, 1.0])
    share = sampling.values(spread_of("height"), u, 0.05)
    assert share == pytest.approx([0.045, 0.05, 0.055])
    amount = spread_of("height", minus=0.002, plus=0.002, relative=False)
    assert sampling.values(amount, u, 0.05) == pytest.approx([0.048, 0.05, 0.052])


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"shape": Shape.NORMAL}, "no standard deviation"),
        ({"deviation": 0.1}, "make it normal"),
        ({"minus": math.inf}, "an amount below and an amount above"),
        ({"minus": 0.0, "plus": 0.0}, "leave it out"),
    ],
)
def test_a_spread_that_contradicts_itself_is_refused(changes: dict[str, Any], words: str) -> None:
    """The message says what is wrong with which input."""
    with pytest.raises(Contradiction, match=words) as fault:
        sampling.refuse(spread_of("ply_thickness", **changes))
    assert "ply thickness t" in str(fault.value)


def test_a_negative_amount_is_refused() -> None:
    """Amounts are to either side, never negative, never NaN."""
    for amount in (-0.1, math.nan):
        with pytest.raises(OutOfRange, match="ply thickness"):
            sampling.refuse(spread_of("ply_thickness", minus=amount))


# --- intervals -----------------------------------------------------------------------------


def test_no_failure_is_an_upper_bound_and_never_zero() -> None:
    """None of 1000 failed: fewer than 3 in 1000, the rule of three; and the mirror image."""
    none, every = drivers.share(0, 1000), drivers.share(1000, 1000)
    assert none.low == 0.0
    assert none.high == pytest.approx(1.0 - 0.05 ** (1.0 / 1000.0))
    assert none.high == pytest.approx(3.0 / 1000.0, rel=0.01)
    assert every.low == pytest.approx(1.0 - none.high)
    assert every.high == 1.0
    assert "fewer than 0.3 %" in none.said()
    assert "more than" in every.said()


def test_samples_that_were_not_evaluated_count_as_either() -> None:
    """Of 1000, 20 failed and 100 are open: at least as 20 in 1000, at most as 120 in 1000."""
    found = drivers.share(20, 1000, 100)
    assert found.value == 0.02
    assert found.low == drivers.share(20, 1000).low
    assert found.high == drivers.share(120, 1000).high
    assert drivers.share(0, 1000, 100).high == drivers.share(100, 1000).high


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 400))
def test_the_interval_holds_the_share_and_narrows(failed: int) -> None:
    """It lies around the share seen, inside 0 to 1, and four times the samples halve it."""
    few, many = drivers.share(failed, 500), drivers.share(4 * failed, 2000)
    assert 0.0 < few.low < few.value < few.high < 1.0
    assert (many.high - many.low) == pytest.approx((few.high - few.low) / 2.0, rel=0.2)


def test_the_interval_catches_the_truth_as_often_as_it_says() -> None:
    """Over 4000 repetitions with a known share, about 95 % of intervals hold it."""
    rng = np.random.default_rng(11)
    for truth in (0.02, 0.3):
        counts = rng.binomial(400, truth, 4000)
        ends = {int(k): drivers.share(int(k), 400) for k in np.unique(counts)}
        held = [ends[int(k)].low <= truth <= ends[int(k)].high for k in counts]
        assert 0.93 < np.mean(held) < 0.975


# --- drivers -------------------------------------------------------------------------------


def points_with_idle(count: int, inputs: int, layout: Sampling) -> tuple[Any, Any]:
    """Points of some inputs, and eight idle columns of the same set."""
    u = sampling.points(count, inputs + 8, seed=5, sampling=layout)
    return u[:, :inputs], u[:, inputs:]


@BOTH
def test_shares_of_the_ishigami_function_are_the_known_ones(layout: Sampling) -> None:
    """First-order indices of sin x1 + 7 sin^2 x2 + 0.1 x3^4 sin x1: 0.3139, 0.4424, 0."""
    u, idle = points_with_idle(2**14, 3, layout)
    x = np.pi * (2.0 * u - 1.0)
    y = np.sin(x[:, 0]) + 7.0 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])
    shares, noise = drivers.first_order(u, idle, y[:, None])
    assert shares[:, 0] == pytest.approx([0.3139, 0.4424, 0.0], abs=0.015)
    assert noise[0] < 0.006


@BOTH
def test_shares_of_a_sum_are_the_variances(layout: Sampling) -> None:
    """y = 4 a + 2 b + c of like inputs: 16/21, 4/21, 1/21 and nothing left over."""
    u, idle = points_with_idle(2**12, 4, layout)
    y = u @ np.array([4.0, 2.0, 1.0, 0.0])
    shares, noise = drivers.first_order(u, idle, y[:, None])
    assert shares[:, 0] == pytest.approx([16 / 21, 4 / 21, 1 / 21, 0.0], abs=0.015)
    assert abs(shares[3, 0]) < noise[0]


def test_an_input_that_only_acts_with_another_has_no_share_of_its_own() -> None:
    """y = (a - 1/2)(b - 1/2): neither drives it alone; a rank correlation agrees."""
    u, idle = points_with_idle(2**12, 2, Sampling.SOBOL)
    y = (u[:, 0] - 0.5) * (u[:, 1] - 0.5)
    shares, _ = drivers.first_order(u, idle, y[:, None])
    assert np.abs(shares).max() < 0.02


def test_an_input_that_acts_both_ways_is_found_where_correlation_is_blind() -> None:
    """y = (a - 1/2)^2: the share is one although the rank correlation is nothing."""
    u, idle = points_with_idle(2**12, 2, Sampling.SOBOL)
    y = ((u[:, 0] - 0.5) ** 2)[:, None]
    shares, _ = drivers.first_order(u, idle, y)
    assert shares[0, 0] > 0.97
    assert abs(drivers.correlations(drivers.ranks(u), drivers.ranks(y))[0, 0]) < 0.02


def test_a_result_that_does_not_vary_has_no_driver() -> None:
    """A constant gives zeros, not the ratio of two roundings."""
    u, idle = points_with_idle(1024, 2, Sampling.SOBOL)
    shares, _ = drivers.first_order(u, idle, np.full((1024, 1), 1.0 / 3.0))
    assert np.abs(shares).max() == 0.0
    flat = drivers.correlations(drivers.ranks(u), drivers.ranks(np.ones((1024, 1))))
    assert np.abs(flat).max() == 0.0


# --- tolerances to start from ---------------------------------------------------------------


def test_sheet_tolerances_are_those_of_the_tables() -> None:
    """Sheet of 0.5, 1.0 and 1.5 mm by both standards; a border belongs to the thicker row."""
    assert sheet_tolerance(0.5e-3) == pytest.approx(0.05e-3)
    assert sheet_tolerance(1.0e-3) == pytest.approx(0.07e-3)
    assert sheet_tolerance(0.99e-3) == pytest.approx(0.06e-3)
    assert sheet_tolerance(1.5e-3) == pytest.approx(0.09e-3)
    assert sheet_tolerance(1.0e-3, Sheet.ASTM) == pytest.approx(0.004 * 25.4e-3)
    assert sheet_tolerance(1.5e-3, Sheet.ASTM) == pytest.approx(0.006 * 25.4e-3)
    with pytest.raises(OutOfRange, match="by hand"):
        sheet_tolerance(6e-3)
