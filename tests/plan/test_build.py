"""From options to the two problems: money for risk, must-act joints, crews, notes."""

import datetime as dt
from types import SimpleNamespace

import pytest

from takeup.assess.model import Level
from takeup.limits import defaults
from takeup.options.model import Standing
from takeup.plan import build
from takeup.register.entities import (
    Crew,
    CrewSupply,
    Decision,
    Line,
    OptionName,
    ProcessUnit,
    ServiceClass,
    Shifts,
)
from tests.plan.samples import DAY, long_lead, option, outage

TODAY = dt.date(2026, 3, 1)
LEAVE, BOX, NEW = OptionName.LEAVE, OptionName.BOX_IN, OptionName.REPLACE
UNIT = ProcessUnit(tag="U-1", name="Unit", loss_per_day=1e5)


def line(days=3.0):
    """A line whose leak costs some days."""
    return Line(
        tag="L-1",
        unit="U-1",
        name="Line",
        service=next(iter(ServiceClass)),
        leak_outage=None if days is None else days * DAY,
    )


def stated(options, level=Level.THIS_RUN, *, lines=None, decisions=(), unit=UNIT, **more):
    """The portfolio problem of these options, with its notes."""
    joints = list(dict.fromkeys(o.joint for o in options))
    return build.portfolio_problem(
        outage=outage(**more),
        unit=unit,
        lines=lines or dict.fromkeys(joints, line()),
        verdicts=[SimpleNamespace(joint=joint, level=level) for joint in joints],
        options=options,
        decisions=decisions,
        today=TODAY,
        limits=defaults(),
    )


def test_joints_with_unknown_chances_are_named():
    """An even chance is an assumption: the plan lists the joints that rest on it, and no others."""
    _, notes = stated(
        [
            option("EJ-1", LEAVE, to_next=None, to_second=None),
            option("EJ-1", NEW, 5.0),
            option("EJ-2", LEAVE),
            option("EJ-2", NEW, 5.0),
            option("EJ-3", LEAVE),
            option("EJ-3", NEW, 5.0, to_second=None),
        ]
    )
    (note,) = [note for note in notes if "counted as even" in note]

    assert note.endswith("for EJ-1, EJ-3.")
    assert "50%" in note


def test_no_unknown_chance_no_note():
    """Nothing assumed, nothing said; a blocked option is not counted on."""
    _, notes = stated(
        [
            option("EJ-1", LEAVE),
            option("EJ-1", NEW, 5.0, to_next=None, standing=Standing.BLOCKED),
        ]
    )
    assert not any("even" in note for note in notes)


def test_an_unknown_chance_costs_half_the_consequence_in_each_run():
    """Unknown is never taken for safe."""
    unknown = option("EJ-1", NEW, to_next=None, to_second=None)

    cost = build.risk_cost(unknown, 1000.0, 0.0, left=0.5, settles=0.5)
    assert cost == pytest.approx(1000.0)


def test_leaving_counts_the_second_run_given_the_first():
    """0.8 to the next and 0.4 to the second is an even chance in the second run."""
    left = option("EJ-1", LEAVE, to_next=0.8, to_second=0.4)

    cost = build.risk_cost(left, 1000.0, 0.0, left=0.5, settles=0.5)
    assert cost == pytest.approx(1000 * (0.2 + 0.5))


def test_a_temporary_repair_owes_its_removal():
    """A box must come off again: a new joint is added to its price."""
    box = option("EJ-1", BOX, to_next=1.0, to_second=1.0, expires=True)

    assert build.risk_cost(box, 1000.0, 77.0, left=0.5, settles=0.5) == pytest.approx(77.0)


@pytest.mark.parametrize(
    ("level", "must"),
    [
        (Level.CARRIES_ON, False),
        (Level.THIS_RUN, False),
        (Level.IN_DOUBT, True),
        (Level.ACT_NOW, True),
    ],
)
def test_joints_in_doubt_must_be_acted_on(level, must):
    """The verdict decides, money does not."""
    problem, _ = stated([option("EJ-1", LEAVE), option("EJ-1", NEW, 5.0)], level)

    assert problem.joints[0].must_act is must


def test_a_decision_forces_even_a_blocked_option():
    """What a person decided is kept and priced, tag in any case."""
    decision = Decision(
        joint="ej-1", outage="TA-1", option=NEW, reason="has a spare", by="A. Person"
    )
    problem, _ = stated(
        [option("EJ-1", LEAVE), option("EJ-1", NEW, 5.0, standing=Standing.BLOCKED)],
        decisions=[decision],
    )
    rows = {row.name: row for row in problem.joints[0].options}

    assert rows[NEW].forced and rows[NEW].allowed
    assert not rows[LEAVE].forced


def test_what_needs_a_study_is_counted_on_only_when_all_is_met():
    """A box with open questions is not part of a plan; a new joint with open questions is."""
    problem, _ = stated(
        [
            option("EJ-1", LEAVE),
            option("EJ-1", BOX, standing=Standing.OPEN_IF),
            option("EJ-1", NEW, standing=Standing.OPEN_IF),
        ]
    )
    assert {row.name: row.allowed for row in problem.joints[0].options} == {
        LEAVE: True,
        BOX: False,
        NEW: True,
    }


def test_an_option_ordered_too_late_carries_its_days():
    """400 days to make, 88 around it, a year to go."""
    problem, _ = stated([option("EJ-1", NEW, long_lead=(long_lead(lead=400.0),))])
    (row,) = problem.joints[0].options

    assert row.order_by == dt.date(2025, 10, 29)
    assert row.late_days == 123


def test_the_reserve_is_kept_back_and_said():
    """A tenth in reserve leaves nine tenths to spend; no budget is said too."""
    problem, notes = stated([option("EJ-1", LEAVE)], budget=1000.0, reserve=0.1)
    assert problem.budget == pytest.approx(900.0)
    assert any("10% of the budget" in note for note in notes)

    problem, notes = stated([option("EJ-1", LEAVE)])
    assert problem.budget is None
    assert any("no budget on record" in note for note in notes)


def test_unknown_consequences_take_the_largest_known_one():
    """A line without days lost is not cheap: it counts as the worst, and is named."""
    options = [option("EJ-1", LEAVE), option("EJ-1", NEW, 100.0), option("EJ-2", LEAVE)]
    found, notes = build.consequences(UNIT, {"EJ-1": line(3.0), "EJ-2": line(None)}, options)

    assert found["EJ-1"].money == pytest.approx(3e5 + 150.0)
    assert (found["EJ-2"].money, found["EJ-2"].known) == (found["EJ-1"].money, False)
    assert "EJ-2" in notes[0]


def test_without_any_money_the_chance_comes_first():
    """A thousand times the dearest option: no cost outweighs a chance of failure."""
    bare = ProcessUnit(tag="U-1", name="Unit")
    found, notes = build.consequences(bare, {"EJ-1": line()}, [option("EJ-1", NEW, 250.0)])

    assert found["EJ-1"].money == 250e3
    assert "by the chance of failure first" in notes[0]


def gangs(chosen, supplies=()):
    """Gangs of each crew in the schedule problem, with the notes."""
    problem, notes = build.schedule_problem(outage=outage(), chosen=chosen, supplies=supplies)
    return {resource.name: resource.count for resource in problem.resources}, notes


def test_assumed_crews_scale_with_the_joints_that_are_worked_on():
    """Joints that are left need no gangs: nine acted on of 49 need three gangs of fitters."""
    acting = [option(f"EJ-{n}", NEW, hours=4.0, crew=Crew.FITTERS) for n in range(9)]
    left = [option(f"EK-{n}", LEAVE) for n in range(40)]
    found, notes = gangs([*acting, *left])

    assert found[Crew.FITTERS.value] == 3
    assert "3 × fitters" in notes[0]
    assert gangs(acting)[0] == found


def test_crews_on_record_are_taken_as_they_stand():
    """Zero gangs on record stay zero, and are explained later, not made up."""
    supply = CrewSupply(outage="TA-1", crew=Crew.FITTERS, gangs=0, shifts=Shifts.DAYS)
    found, _ = gangs([option("EJ-1", NEW, hours=4.0, crew=Crew.FITTERS)], [supply])

    assert found[Crew.FITTERS.value] == 0
    assert set(found) == {crew.value for crew in Crew}


def test_tasks_carry_joint_crew_and_window():
    """Ids are joint/task; the window opens at six of the first day."""
    problem, _ = build.schedule_problem(
        outage=outage(), chosen=[option("EJ-1", NEW, hours=4.0, crew=Crew.NDE)], supplies=()
    )

    (task,) = problem.tasks
    assert (task.id, task.hours, task.demands[0].resource) == ("EJ-1/work", 4.0, Crew.NDE.value)
    assert problem.start == dt.datetime(2027, 3, 1, 6)
    assert problem.window_hours == 28 * 24
