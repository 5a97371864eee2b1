"""Curves of cracking: where they start and end, and how they order things."""

from __future__ import annotations

import numpy as np
import pytest

from takeup.ageing import fatigue
from takeup.errors import OutOfRange
from takeup.materials import Family


@pytest.mark.parametrize("family", [Family.AUSTENITIC, Family.NICKEL, Family.FERRITIC])
def test_more_stress_never_lives_longer(family: Family) -> None:
    """The curve falls all the way, also where its two parts meet, to 2 %."""
    amplitude = np.geomspace(5e7, 8e9, 400)
    cycles = fatigue.smooth_bar(amplitude, 1.95e11, family)

    known = cycles[np.isfinite(cycles)]
    assert (known[1:] <= known[:-1] * 1.02).all()
    assert known.min() == 10.0


def test_penalty_lies_between_one_and_one_over_n() -> None:
    """1 to shakedown, 1/n beyond m times it, a line between."""
    found = fatigue.penalty(np.array([0.5, 1.0, 1.35, 1.7, 9.0]), 1.0, Family.AUSTENITIC)

    assert found[[0, 1]] == pytest.approx([1.0, 1.0])
    assert found[2] == pytest.approx(1.0 + 0.7 / (0.3 * 0.7) * 0.35)
    assert found[[3, 4]] == pytest.approx([1.0 / 0.3, 1.0 / 0.3])


def test_a_crack_in_compression_or_below_threshold_does_not_grow() -> None:
    """Then no number of cycles is given."""
    assert fatigue.growth(-2e8, 0.0, 0.02, 1e-3) == float("inf")
    assert fatigue.growth(1e6, 0.0, 0.02, 1e-3) == float("inf")


def test_a_crack_deeper_than_the_formula_is_refused() -> None:
    """The edge-crack formula ends at six tenths of the wall."""
    with pytest.raises(OutOfRange):
        fatigue.growth(2e8, 0.0, 0.01, 0.008)
    with pytest.raises(OutOfRange):
        fatigue.smooth_bar(-1.0, 2e11, Family.AUSTENITIC)


def test_growth_is_the_integral_of_the_law() -> None:
    """A deep plate with a short crack: K 1.12 S (pi a)^1/2 integrates to BS 7910's closed form."""
    a, b = 1.0, 6.0
    hand = (a**-0.5 - b**-0.5) * 2.0 / (5.21e-13 * (1.12 * 500.0 * np.sqrt(np.pi)) ** 3)

    found = fatigue.growth(5e8, 0.0, 3.0, a / 1e3, until=b / 3e3)

    assert hand == pytest.approx(2323.0, rel=1e-3)
    assert found == pytest.approx(hand, rel=5e-3)
