"""Starts counted against the span to a crack: beyond, inside, below, and what was never said."""

from __future__ import annotations

import datetime as dt

import msgspec
import pytest

from takeup.ageing.attachment import Cycles, Examined, Judged, Place
from takeup.assess import attachments
from takeup.assess.attached import Attached, Starts, State
from takeup.assess.model import Level
from takeup.assess.starts import starts
from takeup.checks import Ground, LimitKind, Outcome, Strength, compare
from takeup.evidence.facts import Observation, Visit, VisitKind
from takeup.heat.attachment.solve import AtCut
from takeup.register.entities import (
    EventKind,
    Hardware,
    HardwareKind,
    LifeEvent,
    MovementRole,
    YesNo,
)
from takeup.sources import practice

from .demo_site import TODAY, bare_cases

change = msgspec.structs.replace
SOURCE = practice("made for a test")


def judged(low: float, high: float, total: float | None) -> Judged:
    """A ring with one place and a span of starts to a crack."""
    cut = AtCut(
        name="at the weld toe", along=0.0, weld=True, inside_temperature=900.0,
        outside_temperature=890.0, membrane=0.0, bending=4e8, hoop=0.0, inside=4e8, outside=-4e8,
        range_inside=8e8, range_outside=7e8, from_time=0.0, to_time=1.0,
    )  # fmt: skip
    place = Place(
        cut=cut, metal="304H", examined=Examined.SURFACE,
        to_crack=Cycles(low=low, likely=(low * high) ** 0.5, high=high, why=()),
        welded=None, through=None, from_inside=True,
    )  # fmt: skip
    check = compare(
        id="attachment.cracks", name="Starts and stops", demand=total, capacity=low, kind="cycles",
        source=SOURCE,
    )  # fmt: skip
    ground = Ground(
        claim="a crack", rule="r", source=SOURCE, limit_kind=LimitKind.DERIVED,
        strength=Strength.CALCULATED,
    )  # fmt: skip
    return Judged(
        places=(place,), checks=(check,), grounds=(ground,), words=("Look inside.",),
        remedies=("Let the ring slide.",), cautions=("Screening.",),
    )  # fmt: skip


def ring(so_far: float | None = 10.0, to_next: float | None = 2.0, **more) -> Attached:
    """A ring worked out: a crack after 20 to 200 starts."""
    counts = Starts(
        so_far=so_far, whole=more.pop("whole", True), a_year=1.0, to_next=to_next,
        to_second=more.pop("to_second", 6.0), missing=("start-ups",),
    )  # fmt: skip
    made = Attached(
        item="R9", title="ring R9", state=State.CURRENT, starts=counts,
        judged=judged(20.0, 200.0, None if so_far is None else so_far + (to_next or 0.0)),
    )  # fmt: skip
    return change(made, **more)


def case_with(*rings: Attached, observations=(), visits=(), **more):
    """A joint with a ring on hot pipe that nobody has looked at."""
    part = Hardware(joint="EJ-1101", item="R9", kind=HardwareKind.RING, on_hot_pipe=YesNo.YES)
    case = bare_cases()["EJ-1101"]
    return change(
        case, hardware=(part,), attachments=rings, observations=tuple(observations),
        visits=tuple(visits), **more,
    )  # fmt: skip


def penetrant(
    grade: int | None, days: int, *, item: str = "CI7", text: str = "", place: str = "R9"
):
    """A penetrant test some days ago."""
    visit = Visit(
        id="V9", unit="U", date=TODAY - dt.timedelta(days=days), kind=VisitKind.COLD, inspector="I"
    )
    seen = Observation(visit="V9", joint="EJ-1101", item=item, place=place, grade=grade, text=text)
    return {"observations": (seen,), "visits": (visit,)}


def level(case) -> Level:
    """What the mechanism says of it."""
    return attachments.assess(case, None).level


def test_beyond_the_whole_span_is_in_doubt_and_the_look_inside_comes_first():
    """More starts than the high end: in doubt, by a calculated ground, with a cause for options."""
    result = attachments.assess(case_with(ring(199.0, 2.0)), None)

    assert result.level == Level.IN_DOUBT
    assert result.causes == ("ring_strangled",)
    assert result.missing[0].startswith("penetrant test of ring R9: inside surface at the weld toe")
    assert result.grounds[0].strength == Strength.CALCULATED
    assert "beyond the whole span" in result.grounds[0].claim
    assert any("welded again" in words for words in result.would_change)


def test_inside_the_span_the_test_is_asked_for():
    """Between the ends nobody knows: unproven until somebody looked inside."""
    result = attachments.assess(case_with(ring(60.0)), None)

    assert result.level == Level.UNPROVEN
    assert "penetrant test" in result.missing[0]


@pytest.mark.parametrize("so_far", [60.0, 300.0])
def test_current_clean_test_inside_carries_through_this_run_only(so_far):
    """A clean test of last spring takes doubt away, not the starts; a crack is for the finding."""
    assert level(case_with(ring(so_far), **penetrant(0, 100))) == Level.THIS_RUN
    assert level(case_with(ring(so_far), **penetrant(3, 100))) == Level.IN_DOUBT


@pytest.mark.parametrize(
    "test",
    [
        penetrant(0, 2000),
        penetrant(None, 100),
        penetrant(0, 100, item="CH3", text="fillet toes clean"),
        penetrant(0, 100, item="CH3", text="outside clean, not tested inside"),
        penetrant(0, 100, place="R2"),
    ],
    ids=["old", "not graded", "outside", "said not inside", "another ring"],
)
def test_a_test_that_does_not_show_the_inside_changes_nothing(test):
    """Too old, not graded, outside only or of another ring: still in doubt."""
    assert level(case_with(ring(300.0), **test)) == Level.IN_DOUBT


def test_below_the_span_carries_on_only_with_every_start_known():
    """Short counts, unknown years to come and unknown starts are never a pass."""
    assert level(case_with(ring(5.0))) == Level.CARRIES_ON
    assert level(case_with(ring(5.0, to_second=30.0))) == Level.THIS_RUN
    assert level(case_with(ring(5.0, to_second=None))) == Level.THIS_RUN
    assert level(case_with(ring(5.0, whole=False))) == Level.UNPROVEN
    assert level(case_with(ring(5.0, None))) == Level.UNPROVEN
    assert level(case_with(ring(None))) == Level.UNPROVEN


def test_no_number_of_starts_cracks_what_stays_below_the_curve():
    """A span without ends carries on whatever was counted, and is said in words."""
    free = judged(float("inf"), float("inf"), 5.0)
    result = attachments.assess(case_with(ring(5.0, None, whole=False, judged=free)), None)
    assert result.level == Level.CARRIES_ON
    assert "no crack is expected from starts and stops alone" in result.grounds[0].claim


def test_a_short_count_leaves_the_check_open():
    """Five starts on record of an unknown number are not met against twenty."""
    (check,) = attachments.assess(case_with(ring(5.0, whole=False)), None).checks
    assert check.outcome == Outcome.NOT_EVALUATED
    assert "start-ups" in check.because
    (whole,) = attachments.assess(case_with(ring(5.0)), None).checks
    assert whole.outcome == Outcome.MET
    assert whole.id == "attachment.cracks@R9"


@pytest.mark.parametrize("state", [State.STALE, State.OPEN, State.FAULTY])
def test_what_is_not_current_says_nothing_and_is_asked_for(state):
    """The verdict is as without it, and the calculation is asked for beside the test."""
    without = attachments.assess(case_with(), None)
    result = attachments.assess(case_with(ring(300.0, state=state, judged=None)), None)

    assert result.level == without.level == Level.UNPROVEN
    assert result.checks == ()
    assert result.causes == without.causes
    assert any("ring R9 is" in words for words in result.missing)
    assert any("sizes, metals and heat of R9" in words for words in without.missing)


def test_starts_are_counted_from_events_and_never_taken_as_none():
    """Events count by their number; without any and without a rate so far is unknown."""
    base = bare_cases()["EJ-1101"]
    expected = [one for one in base.movements if one.role == MovementRole.RATED]
    bare = change(base, events=(), temperatures=(), movements=tuple(expected))
    since = bare.joint.installed
    assert since is not None

    nothing = starts(bare)
    assert nothing.so_far is None
    assert not nothing.whole
    assert len(nothing.missing) == 2

    event = LifeEvent(
        joint="EJ-1101", date=since + dt.timedelta(days=30), kind=EventKind.START, count=7
    )
    some = starts(change(bare, events=(event,)))
    assert some.so_far == 7.0
    assert some.whole
    late = change(event, date=TODAY - dt.timedelta(days=30))
    assert starts(change(bare, events=(late,))).whole is ((TODAY - since).days < 430)
    assert starts(change(bare, events=(event,)), typed=3.0).so_far == 7.0
    assert starts(bare, typed=3.0).so_far == 3.0


def test_a_span_of_starts_is_a_life_that_joins_the_others():
    """20 to 200 starts at one a year, ten gone: a crack stands beside age in what is left."""
    from takeup.units import YEAR

    from .demo_site import judge

    case = case_with(ring(so_far=10.0))

    (wear,) = attachments.assess(case, None).wears
    assert (wear.low, wear.high, wear.used) == (20 * YEAR, 200 * YEAR, 10 * YEAR)

    found = judge(case).remaining
    assert found is not None
    assert {share.name for share in found.shares} >= {"crack at ring R9"}
    assert found.to_second < found.to_next < 1.0


def test_starts_that_are_not_all_known_give_no_life():
    """A short count would make the life too long."""
    assert attachments.assess(case_with(ring(whole=False)), None).wears == ()
    assert attachments.assess(case_with(ring(so_far=None)), None).wears == ()
