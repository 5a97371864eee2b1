"""Creep life fractions: what is counted, what is refused, what is only screening."""

from __future__ import annotations

import numpy as np
import pytest

from takeup.ageing import creep
from takeup.ageing.creep import HOUR, Spell
from takeup.checks import Outcome
from takeup.errors import MissingInput, OutOfRange

KSI = 6894757.293168


def kelvin(f: float) -> float:
    """From degrees Fahrenheit."""
    return (f - 32.0) / 1.8 + 273.15


def test_half_the_life_at_each_of_two_states_is_the_whole_life() -> None:
    """Life fractions add up in a line."""
    of = creep.curve("304H")
    states = ((6.0 * KSI, kelvin(1200.0)), (3.0 * KSI, kelvin(1350.0)))
    spells = [
        Spell(time=0.5 * float(creep.rupture(of, s, t)), temperature=t, stress=s) for s, t in states
    ]

    found = creep.creep("304H", spells)

    assert found.used_mean == pytest.approx(1.0, rel=1e-12)
    assert found.used_minimum > 3.0
    assert found.check.outcome == Outcome.NOT_MET


def test_cold_hours_count_for_nothing() -> None:
    """Below the creep range a life fraction stays zero, whatever the time."""
    found = creep.creep("304H", [Spell(time=1e6 * HOUR, temperature=273.15 + 400.0, stress=100e6)])

    assert found.used_minimum == 0.0
    assert found.left[0] == creep.CAP
    assert found.capped


def test_weld_is_used_up_faster_than_base_metal() -> None:
    """The weld factor of the code raises the stress the weld is judged by."""
    spells = [Spell(time=5e4 * HOUR, temperature=kelvin(1250.0), stress=25e6)]

    base, weld = creep.creep("304H", spells), creep.creep("304H", spells, weld=True)

    assert weld.used_mean > 1.5 * base.used_mean
    assert float(creep.weld_factor(273.15 + 500.0)) == 1.0
    assert float(creep.weld_factor(273.15 + 815.0)) == pytest.approx(0.5)


def test_surrogate_and_temperature_beyond_the_curve_are_screening() -> None:
    """347H stands on the line of 304H, and 1000 C lies beyond it: both are said."""
    found = creep.creep("347H", [Spell(time=100.0 * HOUR, temperature=1273.15, stress=2e7)])

    assert len(found.screening) == 2
    assert "304H" in found.screening[0]
    assert "above the end" in found.screening[1]
    assert all("screening" in one for one in found.check.cautions)


def test_left_life_is_ordered_and_uses_scatter() -> None:
    """Low, middle, high; a fresh metal has its rupture times left."""
    state = Spell(time=0.0, temperature=kelvin(1350.0), stress=4.0 * KSI)

    found = creep.creep("304H", [state])

    low, middle, high = found.left
    assert low < middle < high
    assert middle == pytest.approx(
        float(creep.rupture(creep.curve("304H"), state.stress, state.temperature)), rel=1e-9
    )


def test_metals_without_public_constants_are_asked_for() -> None:
    """No curve is borrowed for alloy 625."""
    with pytest.raises(MissingInput, match="rupture curve"):
        creep.creep("alloy 625", [Spell(time=1.0, temperature=900.0, stress=1e7)])
    with pytest.raises(MissingInput, match="hours at temperature"):
        creep.creep("304H", [])


def test_negative_stress_is_refused() -> None:
    """A stress of zero or less has no rupture time."""
    with pytest.raises(OutOfRange):
        creep.rupture(creep.curve("304H"), np.array([1e7, -1e7]), 900.0)
