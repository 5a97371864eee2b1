"""A check has four outcomes, and a missing input is never a pass."""

import pytest

from takeup.checks import GRADES, Outcome, compare, does_not_apply
from takeup.sources import Source, Standing, practice

SOURCE = Source(document="Some standard", edition="2020", at="4.2", standing=Standing.READ)


def check(demand, capacity, **more):
    """Build a check on stress."""
    return compare(
        id="x", name="x", demand=demand, capacity=capacity, kind="stress", source=SOURCE, **more
    )


def test_demand_within_capacity_is_met():
    """Equal counts as met; the border belongs to the allowed side."""
    assert check(100.0, 100.0).outcome == Outcome.MET
    assert check(100.1, 100.0).outcome == Outcome.NOT_MET
    assert check(50.0, 100.0).ratio == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("demand", "capacity"),
    [(None, 1.0), (1.0, None), (float("nan"), 1.0), (1.0, float("nan")), (float("inf"), 1.0)],
)
def test_unknown_is_never_a_pass(demand, capacity):
    """Unknown or not finite on either side is not evaluated, and says which."""
    result = check(demand, capacity)

    assert result.outcome == Outcome.NOT_EVALUATED
    assert "unknown" in result.because
    assert result.ratio is None or demand is not None


def test_missing_inputs_are_named_even_when_numbers_are_there():
    """A named missing input wins over numbers that happen to be present."""
    result = check(1.0, 2.0, missing=("ply thickness",))

    assert result.outcome == Outcome.NOT_EVALUATED
    assert "ply thickness" in result.because


def test_a_minimum_is_judged_the_other_way():
    """For a minimum, falling short is not met and the ratio exceeds one."""
    result = check(0.5, 1.0, at_least=True)

    assert result.outcome == Outcome.NOT_MET
    assert result.ratio == pytest.approx(2.0)


def test_sources_weaker_than_read_or_confirmed_are_provisional():
    """Common practice is provisional, a read source is not."""
    assert not check(1.0, 2.0).provisional
    assert does_not_apply(id="x", name="x", source=practice(), because="no bellows").provisional


def test_grades_run_from_as_drawn_to_act_now():
    """Five grades, numbered 0 to 4."""
    assert [grade.number for grade in GRADES] == [0, 1, 2, 3, 4]
