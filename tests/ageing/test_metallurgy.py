"""What time at temperature does, by grade; what is unknown stays unknown."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeup.ageing import metallurgy as m
from takeup.ageing.metallurgy import HOUR, Condition, Soak, State
from takeup.errors import OutOfRange


def soak(hours: float, celsius: float) -> Soak:
    """Hours at degrees Celsius."""
    return Soak(time=hours * HOUR, temperature=celsius + 273.15)


@pytest.mark.parametrize(
    ("name", "hours", "celsius", "state"),
    [
        ("304H", 8000.0, 650.0, State.YES),
        ("304H", 1.0, 650.0, State.MAYBE),
        ("304H", 8000.0, 380.0, State.NO),
        ("321", 8000.0, 600.0, State.YES),
        ("347H", 40.0, 600.0, State.NO),
        ("carbon steel", 8000.0, 600.0, State.NO),
    ],
)
def test_sensitisation_by_grade(name: str, hours: float, celsius: float, state: State) -> None:
    """Published diagrams with their factor of three: yes beyond it, no within it, else possible."""
    assert m.sensitised(name, [soak(hours, celsius)]).state == state


def test_a_stabilising_anneal_moves_321_by_a_hundred() -> None:
    """Stabilised, 321 lasts thousands of hours at 600 C where solution annealed it does not."""
    hours = [soak(2000.0, 600.0)]

    assert m.sensitised("321", hours, Condition(stabilised=True)).state == State.NO
    assert m.sensitised("321", hours, Condition(stabilised=False)).state == State.YES
    told = m.sensitised("321", hours)
    assert told.state == State.YES
    assert "no stabilising anneal is on record" in told.because


def test_no_history_is_not_known() -> None:
    """Without hours nothing is expected and nothing ruled out."""
    for name in ("304H", "alloy 625", "2.25Cr-1Mo", "321"):
        found = m.changes(name, [])
        assert found
        assert all(one.state == State.UNKNOWN for one in found)


@settings(max_examples=30, deadline=None)
@given(st.floats(min_value=380.0, max_value=745.0), st.floats(min_value=1.0, max_value=20.0))
def test_hotter_onsets_earlier_and_the_band_is_a_band(celsius: float, step: float) -> None:
    """Below the nose a hotter metal sensitises sooner; earliest is never after latest."""
    one, two = (
        m.onset("304 0.05-0.08C", t + 273.15) for t in (celsius, min(celsius + step, 749.0))
    )
    assert one is not None
    assert two is not None
    assert one[0] <= one[1]
    assert two[0] <= one[0] * 1.0001
    assert two[1] <= one[1] * 1.0001


def test_aged_625_has_unknown_ductility() -> None:
    """More than a thousand hours above 540 C: expected, whatever strength it shows."""
    found = {one.id: one for one in m.changes("alloy 625", [soak(5000.0, 650.0)])}

    assert found["aged"].state == State.YES
    assert found["sensitised"].state == State.MAYBE


def test_weld_metal_turns_to_sigma_before_base_metal() -> None:
    """Weld ferrite turns within 2 500 h; base metal may after far longer."""
    hours = [soak(3000.0, 600.0)]
    weld = {one.id: one for one in m.changes("347H", hours, Condition(weld=True))}
    base = {one.id: one for one in m.changes("347H", hours)}

    assert weld["sigma"].state == State.YES
    assert base["sigma"].state == State.NO


def test_temper_embrittlement_asks_for_the_certificate_and_the_weldability_test() -> None:
    """2.25Cr-1Mo: J from the certificate decides; without one it is possible."""
    hours = [soak(60000.0, 470.0)]
    dirty = Condition(composition={"Si": 0.35, "Mn": 0.55, "P": 0.018, "Sn": 0.015})
    clean = Condition(composition={"Si": 0.05, "Mn": 0.50, "P": 0.006, "Sn": 0.004})

    def temper(condition: Condition | None = None) -> m.Change:
        return next(c for c in m.changes("2.25Cr-1Mo", hours, condition) if c.id == "temper")

    assert m.j_factor(dirty.composition) == pytest.approx(297.0)
    assert temper(dirty).state == State.YES
    assert temper(clean).state == State.NO
    assert temper().state == State.MAYBE
    assert "bead on plate" in temper().consequence
    assert m.x_bar({"P": 0.01, "Sb": 0.002, "Sn": 0.01, "As": 0.01}) == pytest.approx(16.0)


def test_a_temperature_that_cannot_be_is_refused() -> None:
    """Fahrenheit taken for Celsius shows itself above 1300 C."""
    with pytest.raises(OutOfRange, match="unit"):
        m.changes("304H", [soak(10.0, 1350.0)])
