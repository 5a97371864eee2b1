"""A whole plan from options to schedule keeps together what its parts say."""

import datetime as dt
from types import SimpleNamespace

import pytest

from takeup.assess.model import Level
from takeup.errors import Refused
from takeup.limits import defaults
from takeup.options.model import Standing
from takeup.plan import build
from takeup.plan.model import Status
from takeup.register.entities import Crew, Decision, Line, OptionName, ProcessUnit, ServiceClass
from tests.plan.samples import DAY, long_lead, option, outage

LEAVE, NEW = OptionName.LEAVE, OptionName.REPLACE
LINE = Line(
    tag="L-1", unit="U-1", name="Line", service=next(iter(ServiceClass)), leak_outage=3 * DAY
)


def planned(levels, options, *, decisions=(), **more):
    """A plan for {joint: level}."""
    return build.make_plan(
        outage=outage(**more),
        second_outage=None,
        unit=ProcessUnit(tag="U-1", name="Unit", loss_per_day=1e5),
        lines_by_joint=dict.fromkeys(levels, LINE),
        joints=(),
        verdicts=[SimpleNamespace(joint=joint, level=level) for joint, level in levels.items()],
        options=options,
        supplies=(),
        decisions=decisions,
        quotes=(),
        today=dt.date(2026, 3, 1),
        limits=defaults(),
        effort=0.1,
    )


def pair(joint, lead=100.0, standing=Standing.OPEN, cost=50e3):
    """Leave it, or a new one with two shifts of fitters' work."""
    return (
        option(joint, LEAVE, to_next=0.5, to_second=0.2),
        option(
            joint,
            NEW,
            cost,
            to_next=0.5,
            to_second=0.99,
            hours=16.0,
            crew=Crew.FITTERS,
            standing=standing,
            long_lead=(long_lead(lead=lead),),
        ),
    )


def test_what_is_chosen_is_dated_and_scheduled():
    """One joint is replaced: its order is in the calendar, its work in the schedule."""
    made = planned({"EJ-1": Level.IN_DOUBT}, pair("EJ-1"))

    assert [choice.option for choice in made.portfolio.choices] == [NEW]
    assert {"order:bellows:2026-10-24", "start", "end"} <= {one.id for one in made.calendar}
    (task,) = made.schedule.tasks
    assert (task.id, task.start) == ("EJ-1/work", dt.datetime(2027, 3, 1, 6))
    # ten hours, two closed, six more
    assert task.end == dt.datetime(2027, 3, 2, 0)
    assert made.schedule.status == Status.OPTIMAL
    assert made.option("EJ-1", NEW).order_by == dt.date(2026, 8, 25)


def test_a_joint_in_doubt_without_a_way_out_is_told_and_has_no_work():
    """It is left, listed for a person, and neither ordered nor scheduled."""
    made = planned({"EJ-1": Level.ACT_NOW}, pair("EJ-1", standing=Standing.BLOCKED))

    assert made.portfolio.choices[0].option == LEAVE
    assert "a person must decide" in made.portfolio.excluded[0]
    assert made.schedule.tasks == ()
    assert not any(one.id.startswith("order:") for one in made.calendar)


def test_a_decided_option_that_is_late_is_late_in_choice_and_calendar():
    """The same days are missing in both."""
    made = planned(
        {"EJ-1": Level.IN_DOUBT},
        pair("EJ-1", lead=400.0),
        decisions=[
            Decision(joint="EJ-1", outage="TA-1", option=NEW, reason="expedite", by="A. Person")
        ],
    )
    (late,) = made.portfolio.late
    prepare = next(one for one in made.calendar if one.id.startswith("prepare:"))

    assert late.taken == NEW
    assert late.late_days == prepare.late_days == 123


def test_a_window_shorter_than_the_work_is_shown_with_its_joints():
    """The plan is not refused: the schedule says what does not fit."""
    levels = dict.fromkeys(("EJ-1", "EJ-2"), Level.IN_DOUBT)
    made = planned(levels, (*pair("EJ-1"), *pair("EJ-2")), window=1 * DAY)

    assert made.schedule.status == Status.FEASIBLE
    (fault,) = made.schedule.faults
    assert fault.rule == "window"
    assert "EJ-" in fault.words


def test_a_budget_below_the_must_do_list_makes_no_plan():
    """The fault names the joint that cannot be paid for."""
    with pytest.raises(Refused, match="EJ-1"):
        planned({"EJ-1": Level.IN_DOUBT}, pair("EJ-1"), budget=10e3)


def test_a_missing_second_outage_is_said():
    """What is weighed for certain is named."""
    made = planned({"EJ-1": Level.CARRIES_ON}, pair("EJ-1"))

    assert any("No second outage" in note for note in made.portfolio.notes)
