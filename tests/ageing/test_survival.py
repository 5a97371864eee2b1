"""Chances of lasting move the right way with age, time, failures and long lives."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeup.ageing import weibull
from takeup.ageing.model import LifeRecord
from takeup.ageing.service import classes, life_class
from takeup.ageing.survival import lasting, lasting_many
from takeup.errors import OutOfRange, TakeupError, UnknownName

SERVICE = "cold-wall catalyst or flue gas"
SERVICES = [group.service for group in classes()]
AGES = st.floats(0.0, 60.0)
SPANS = st.floats(0.0, 20.0)
RECORDS = (
    LifeRecord(joint="a", good_at=14.0),
    LifeRecord(joint="b", good_at=8.0, failed_by=12.0),
    LifeRecord(joint="c", good_at=19.0, entered=5.0),
)


def chances(result):
    """All six chances."""
    return (
        result.to_next_low, result.to_next, result.to_next_high,
        result.to_second_low, result.to_second, result.to_second_high,
    )  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(service=st.sampled_from(SERVICES), age=AGES, older=SPANS, span=SPANS)
def test_older_is_never_better(service, age, older, span):
    """Alive today, the older of two joints has the smaller chance of the same time more."""
    young, old = lasting_many(
        service, [age, age + older], [span] * 2, [span] * 2, (), shape_span=(1.2, 6.0)
    )

    assert old.to_next <= young.to_next + 1e-12


@settings(max_examples=60, deadline=None)
@given(service=st.sampled_from(SERVICES), age=AGES, span=SPANS, more=SPANS)
def test_longer_is_never_better(service, age, span, more):
    """The second outage is never likelier reached than the next, in the middle and the band."""
    found = lasting(service, age, span, span + more)

    assert found.to_second <= found.to_next + 1e-12
    assert found.to_second_low <= found.to_next_low + 1e-12
    assert found.to_second_high <= found.to_next_high + 1e-12
    assert all(0.0 <= chance <= 1.0 for chance in chances(found))
    assert found.to_next_low <= found.to_next_high


@settings(max_examples=40, deadline=None)
@given(failed=st.floats(2.0, 12.0), n=st.integers(1, 5))
def test_early_failures_lower_the_chance(failed, n):
    """Joints of the service that failed before the usual age make the rest look worse."""
    lives = [LifeRecord(joint=str(k), good_at=failed, failed_by=failed) for k in range(n)]

    assert (
        lasting(SERVICE, 10.0, 4.0, 8.0, lives).to_next < lasting(SERVICE, 10.0, 4.0, 8.0).to_next
    )


@settings(max_examples=40, deadline=None)
@given(good=st.floats(18.0, 40.0), n=st.integers(1, 5))
def test_long_lives_raise_the_chance(good, n):
    """Joints that are sound beyond the usual age make the rest look better."""
    lives = [LifeRecord(joint=str(k), good_at=good) for k in range(n)]

    assert (
        lasting(SERVICE, 10.0, 4.0, 8.0, lives).to_next > lasting(SERVICE, 10.0, 4.0, 8.0).to_next
    )


def test_more_records_narrow_the_band():
    """What the site knows takes the place of what the class assumes."""
    many = [
        LifeRecord(joint=str(k), good_at=age, failed_by=age)
        for k, age in enumerate([12, 14, 15, 16, 17, 18, 19, 20, 22, 24] * 3)
    ]
    few, known = lasting(SERVICE, 8.0, 4.0, 8.0), lasting(SERVICE, 8.0, 4.0, 8.0, many)

    assert known.to_next_high - known.to_next_low < few.to_next_high - few.to_next_low
    assert (known.records, known.failures) == (30, 30)


def test_no_time_ahead_is_certain():
    """Alive today is known."""
    assert lasting(SERVICE, 12.0, 0.0, 0.0).to_next == pytest.approx(1.0)


def test_the_same_input_gives_the_same_answer():
    """A grid has no dice."""
    assert lasting(SERVICE, 9.0, 3.0, 7.0, RECORDS) == lasting(SERVICE, 9.0, 3.0, 7.0, RECORDS)


@pytest.mark.parametrize("service", SERVICES)
def test_many_at_once_are_as_one_by_one(service):
    """The array pass is the scalar in fewer steps."""
    ages, spans, second = [0.0, 5.0, 17.0, 33.0], [1.0, 2.0, 3.0, 0.5], [5.0, 6.0, 7.0, 4.5]
    together = lasting_many(service, ages, spans, second, RECORDS, shape_span=(1.2, 6.0))

    for row, one in zip(together, zip(ages, spans, second, strict=True), strict=True):
        alone = lasting(service, *one, RECORDS)
        assert chances(row) == pytest.approx(chances(alone), rel=1e-12)


NARROW = [group.service for group in classes() if group.high < 4.0 * group.low]


@pytest.mark.parametrize("service", NARROW)
def test_a_new_joint_fares_as_its_class_says(service):
    """Without records the usual range of replacement ages governs: early few fail, late many."""
    group = life_class(service)
    found = lasting(service, 0.0, group.low, group.high)

    assert (found.typical_low, found.typical_high) == (group.low, group.high)
    assert 0.7 < found.to_next < 0.95
    assert 0.2 < found.to_second < 0.6


def test_a_range_too_wide_for_any_shape_leans_to_the_early_end():
    """Wet acid, 1 to 10 years: no allowed shape spans it, and the late end is not promised."""
    found = lasting("overhead, wet acid", 0.0, 1.0, 10.0)

    assert len(NARROW) == len(SERVICES) - 1
    assert found.to_second < 0.2


def test_what_cannot_be_is_refused():
    """Ages and times out of range, and unknown services, are named."""
    with pytest.raises(OutOfRange, match="age"):
        lasting(SERVICE, -1.0, 2.0, 3.0)
    with pytest.raises(OutOfRange, match="outage"):
        lasting(SERVICE, 1.0, -2.0, 3.0)
    with pytest.raises(UnknownName, match="steam"):
        lasting("steem", 1.0, 2.0, 3.0)


def test_a_shape_is_not_fitted_without_a_failure():
    """Running joints alone do not say how they will die."""
    with pytest.raises(TakeupError, match="no failure"):
        weibull.fit([LifeRecord(joint="a", good_at=9.0)])


def test_late_entry_takes_back_what_was_not_watched():
    """A joint that entered old and is still good says little; leaving entry out flatters."""
    deaths = [
        LifeRecord(joint=str(k), good_at=t, failed_by=t) for k, t in enumerate([6, 9, 11, 14])
    ]
    watched = [LifeRecord(joint=f"w{k}", good_at=15.0, entered=14.0) for k in range(6)]
    flattered = [LifeRecord(joint=f"w{k}", good_at=15.0) for k in range(6)]

    assert weibull.fit(deaths + watched).scale < weibull.fit(deaths + flattered).scale


def test_the_fit_is_at_the_top_of_its_likelihood():
    """No small step in scale or shape makes the data likelier."""
    import numpy as np

    found = weibull.fit(RECORDS)
    data = weibull.arrays(RECORDS)
    for step_scale, step_shape in ((0.02, 0), (-0.02, 0), (0, 0.02), (0, -0.02)):
        near = weibull.log_likelihood(
            np.array(math.log(found.scale) + step_scale),
            np.array(math.log(found.shape) + step_shape),
            data,
        )
        assert float(near) <= found.log_likelihood + 1e-9
