"""Units convert at the edges, exactly, and never guess."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeup import units
from takeup.errors import TakeupError
from takeup.units import KINDS, System, from_si, parse, shown, symbol, to_si


@pytest.mark.parametrize(
    ("text", "kind", "default", "expected"),
    [
        ("25 mm", "length", "m", 0.025),
        ("1 in", "length", "mm", 0.0254),
        ("12,5", "length", "mm", 0.0125),
        ("-40 °F", "temperature", "C", 233.15),
        ("300", "temperature", "C", 573.15),
        ("14.5 psi", "pressure", "bar", 14.5 * 6894.757293168361),
        ("1 200 kPa", "pressure", "bar", 1.2e6),
        ("3 weeks", "days", "d", 21 * 86400.0),
        ("10 %", "share", "%", 0.1),
    ],
)
def test_cells_are_read_with_their_unit(text, kind, default, expected):
    """A cell may carry its own unit; without one the column's unit holds."""
    assert parse(text, kind, default) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("text", ["1,234.5 mm", "1.234,5 mm", "1,234 mm", "abc", "", "mm"])
def test_ambiguous_numbers_are_refused(text):
    """A number that could be off by a factor of a thousand is not guessed."""
    with pytest.raises(TakeupError):
        parse(text, "length", "mm")


def test_a_unit_of_another_quantity_is_refused_with_the_right_ones():
    """The message names the units that would do."""
    with pytest.raises(TakeupError, match=r"kPa.*bar"):
        to_si(5, "mm", "pressure")


def test_milli_and_mega_are_not_confused():
    """mPa written for MPa would be off by nine powers of ten: it is refused."""
    with pytest.raises(TakeupError):
        to_si(1, "mPa", "stress")


@pytest.mark.parametrize("system", list(System))
@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_display_unit_can_be_typed_back(kind, system):
    """What a page shows can be entered again, to the same value."""
    typed = to_si(3.0, symbol(kind, system), kind)

    assert float(from_si(typed, kind, system)) == pytest.approx(3.0, rel=1e-12)


@settings(max_examples=50, deadline=None)
@given(
    st.sampled_from(sorted(KINDS)),
    st.sampled_from(list(System)),
    st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=5),
)
def test_arrays_convert_like_scalars(kind, system, values):
    """An array gives the scalars' results, element by element."""
    whole = from_si(np.array(values), kind, system)

    assert list(np.asarray(whole)) == [from_si(value, kind, system) for value in values]


def test_unknown_is_said_and_never_zero():
    """An unknown value is shown as the word, not as a number."""
    assert shown(None, "length", System.METRIC) == "unknown"
    assert shown(float("nan"), "length", System.METRIC) == "not finite"


def test_shown_values_carry_unit_and_thousands():
    """Numbers for people are grouped and carry their unit."""
    assert shown(478e3, "force", System.METRIC) == "478.0\u00a0kN"
    assert shown(1.2345, "length", System.METRIC) == "1\u202f234.5\u00a0mm"
    assert shown(-0.005, "movement", System.METRIC) == "\u22125.0\u00a0mm"


def test_known_conversions():
    """Spot values from the definitions: 650 °F is 343.33 °C, 1 ksi is 6.894757 MPa."""
    assert to_si(650, "F", "temperature") - 273.15 == pytest.approx(343.3333, abs=1e-4)
    assert to_si(1, "ksi", "stress") == pytest.approx(6.894757e6, rel=1e-6)
    assert units.GRAVITY == 9.80665


def test_what_rounds_to_zero_has_no_sign():
    """A tiny negative number is shown as zero, a larger one keeps its sign."""
    assert shown(-1e-9, "movement", System.METRIC) == shown(0.0, "movement", System.METRIC)
    assert shown(-0.005, "movement", System.METRIC).startswith("\u2212")
