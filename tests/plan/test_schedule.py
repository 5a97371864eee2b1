"""Schedules keep crews, hours and order, and claim no more than they prove."""

import datetime as dt
import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeup.errors import Contradiction, TakeupError
from takeup.plan import faults, schedule
from takeup.plan.decoder import Board
from takeup.plan.model import Status
from takeup.plan.solvers import cp
from takeup.register.entities import Shifts
from tests.plan.samples import MONDAY, problem, task

HALF = dt.timedelta(minutes=30)
ALL = Shifts.ROUND_THE_CLOCK


@st.composite
def problems(draw, most=6, shifts=tuple(Shifts)):
    """Random problems: two crews, elapsed tasks, unbroken tasks, tasks without hours."""
    crews = {
        name: (draw(st.integers(1, 2)), draw(st.sampled_from(shifts))) for name in ("one", "two")
    }
    tasks = []
    for number in range(draw(st.integers(1, most))):
        crew = draw(st.sampled_from(["one", "two", None]))
        hours = draw(st.integers(0, 28)) / 4
        after = (
            draw(st.lists(st.integers(0, number - 1), max_size=2, unique=True)) if number else []
        )
        tasks.append(
            task(
                f"J/{number}",
                hours,
                crew,
                *(f"J/{name}" for name in after),
                count=draw(st.integers(1, crews[crew][0])) if crew else 0,
                elapsed=draw(st.booleans()),
                may_span=draw(st.booleans()),
                first=draw(st.booleans()),
            )
        )
    start = MONDAY + draw(st.integers(0, 47)) * HALF
    return problem(*tasks, crews=crews, start=start, window=2000.0)


def placed_by(made, given):
    """The judge's view of a schedule."""
    tasks = {one.id: one for one in given.tasks}
    return [faults.Placed(task=tasks[p.id], start=p.start, end=p.end) for p in made.tasks]


def end_of(one, start, shifts):
    """When a task that starts then has had its hours, counted step by step."""
    left = int(np.ceil(one.hours * 2 - 1e-9))
    when = start
    while left > 0:
        if one.elapsed or not one.demands or faults.works(shifts[one.demands[0].resource], when):
            left -= 1
        when += HALF
    return when


@given(problems())
@settings(max_examples=150, deadline=None)
def test_the_judge_finds_nothing_in_any_schedule(given_problem):
    """Order, gangs, open hours and lengths hold on random problems, with search and without."""
    for effort in (0.0, 0.1):
        made = schedule.place(given_problem, effort=effort)

        assert made.faults == ()
        assert made.bound_hours <= made.makespan_hours


@given(problems(most=4))
@settings(max_examples=300, deadline=None)
def test_no_task_can_start_earlier_with_the_others_fixed(given_problem):
    """Schedules are pushed left: whatever one task alone could gain is taken."""
    made = schedule.place(given_problem, effort=0.0)
    placed = placed_by(made, given_problem)
    shifts = {resource.name: resource.shifts for resource in given_problem.resources}

    for number, one in enumerate(placed):
        when = given_problem.start
        while when < one.start:
            moved = faults.Placed(task=one.task, start=when, end=end_of(one.task, when, shifts))
            others = [*placed[:number], moved, *placed[number + 1 :]]
            assert faults.faults(given_problem, others), (one.task.id, when)
            when += HALF


@given(problems(most=5))
@settings(max_examples=120, deadline=None)
def test_bound_is_below_the_best_of_all_orders(given_problem):
    """No order of the tasks whatever gives a schedule shorter than the bound."""
    board, solution = schedule.solve(given_problem, effort=0.2)
    best = min(
        int(board.decode(order)[1].max()) for order in itertools.permutations(range(board.count))
    )

    assert solution.bound <= best
    assert best <= solution.makespan
    if solution.proven:
        assert solution.makespan == best


@given(problems())
@settings(max_examples=30, deadline=None)
def test_same_problem_same_schedule(given_problem):
    """The search is seeded: nothing changes between two runs."""
    assert schedule.place(given_problem, effort=0.1) == schedule.place(given_problem, effort=0.1)


def test_a_schedule_worse_than_the_solver_proved_is_not_called_best():
    """Inspection first costs two hours here: the solver's 12 h stays the bound of a 14 h plan."""
    made = schedule.place(
        problem(
            task("A/inspect", 2.0, first=True),
            task("B/weld", 2.0),
            task("B/dry", 10.0, None, "B/weld", elapsed=True),
        )
    )

    assert made.makespan_hours == 14.0
    assert made.bound_hours == 12.0
    assert made.status == Status.FEASIBLE


def test_a_solver_that_proves_its_own_axis_proves_nothing_more(monkeypatch):
    """The bound is what the solver says it is, never the length of our own schedule."""
    given_problem = problem(
        *(task(f"J{n}/a", 3.0, "two") for n in range(3)), crews={"two": (2, ALL)}
    )

    def proud(lengths, *_, **__):
        return cp.Found(starts=(0,) * len(lengths), makespan=10, bound=10, proven=True)

    monkeypatch.setattr(schedule.cp, "solve", proud)
    made = schedule.place(given_problem)

    assert (made.makespan_hours, made.bound_hours) == (6.0, 5.0)
    assert made.status == Status.FEASIBLE


def test_overrunning_the_window_is_a_fault_and_not_proven_best():
    """The shortest schedule there is still says that it does not fit, and for whom."""
    made = schedule.place(
        problem(task("EJ-1/cut", 10.0), task("EJ-1/weld", 10.0, "crew", "EJ-1/cut"), window=12.0)
    )

    assert made.makespan_hours == made.bound_hours == 20.0
    assert made.status == Status.FEASIBLE
    (fault,) = made.faults
    assert fault.rule == "window"
    assert "EJ-1" in fault.words
    assert len(made.tasks) == 2


def test_a_schedule_at_its_bound_is_proven_best():
    """One chain, one crew: nothing shorter exists."""
    made = schedule.place(problem(task("A/a", 4.0), task("A/b", 4.0, "crew", "A/a")))

    assert made.status == Status.OPTIMAL
    assert made.faults == ()


def test_work_that_fits_no_horizon_is_refused_in_words():
    """Hours entered in the wrong unit do not come back as a proven plan."""
    with pytest.raises(TakeupError, match="does not fit into 1,500 days"):
        schedule.place(problem(task("A/a", 40_000.0)))


def test_unbroken_tasks_far_beyond_the_window_are_still_placed():
    """A hundred unbroken tasks take a hundred days of a day crew; the fault is the window."""
    made = schedule.place(
        problem(
            *(task(f"J{n}/a", 5.5, may_span=False) for n in range(100)),
            crews={"crew": (1, Shifts.DAYS)},
            window=24.0,
        ),
        effort=0.0,
    )

    assert made.makespan_hours == 99 * 24 + 5.5
    assert [fault.rule for fault in made.faults] == ["window"]


@pytest.mark.parametrize(("hours", "taken"), [(0.25, 0.5), (0.5, 0.5), (0.75, 1.0), (0.1, 0.5)])
def test_hours_round_up_to_half_hours(hours, taken):
    """A quarter of an hour takes half an hour and does not vanish."""
    made = schedule.place(problem(task("A/a", hours)))

    assert made.makespan_hours == taken
    assert made.faults == ()


def test_progress_is_told_around_the_solver():
    """A person who cancels is heard before and after the solver runs."""
    seen = []
    schedule.place(
        problem(*(task(f"J{n}/a", 3.0) for n in range(3)), task("X/b", 12.0, None)),
        progress=lambda share, text: seen.append((share, text)),
    )
    assert [share for share, _ in seen] == sorted(share for share, _ in seen)

    given_problem = problem(
        *(task(f"J{n}/a", 3.0, "two") for n in range(3)), crews={"two": (2, ALL)}
    )
    seen.clear()
    schedule.place(given_problem, progress=lambda share, text: seen.append((share, text)))
    assert {0.2, 0.45} <= {share for share, _ in seen}


def test_a_crew_without_gangs_is_explained():
    """Zero gangs give an infeasible schedule that names crew, tasks and sheet."""
    made = schedule.place(problem(task("EJ-1/weld", 4.0), crews={"crew": (0, ALL)}))

    assert made.status == Status.INFEASIBLE
    assert made.tasks == ()
    (fault,) = made.faults
    assert "crew: 0 gangs on record, but 1 task needs more" in fault.words
    assert "EJ-1/weld" in fault.words


def test_an_unbroken_task_longer_than_a_shift_is_explained():
    """Twelve hours in one go fit no ten-hour shift."""
    made = schedule.place(
        problem(task("EJ-1/pwht", 12.0, may_span=False), crews={"crew": (1, Shifts.TWO_BY_TEN)})
    )

    assert made.status == Status.INFEASIBLE
    assert "a shift of crew has 10 h" in made.faults[0].words


def test_steps_in_a_circle_are_refused_by_name():
    """The circle is written out."""
    with pytest.raises(Contradiction, match=r"A/a → A/b → A/a|A/b → A/a → A/b"):
        problem(task("A/a", 1.0, "crew", "A/b"), task("A/b", 1.0, "crew", "A/a"))


def test_crews_of_different_hours_on_one_task_are_refused():
    """A task cannot work on two calendars at once."""
    both = task("A/a", 1.0)
    other = task("A/b", 1.0, "night").demands
    mixed = type(both)(id="A/a", joint="A", name="a", hours=1.0, demands=both.demands + other)

    with pytest.raises(Contradiction, match="different calendars"):
        schedule.place(problem(mixed, crews={"crew": (1, ALL), "night": (1, Shifts.DAYS)}))


def test_nothing_to_do_is_proven_at_once():
    """No task, no faults, no finish."""
    made = schedule.place(problem())

    assert (made.status, made.finish, made.faults) == (Status.OPTIMAL, None, ())


def test_float_is_what_a_task_may_slip():
    """The short side branch has the float, the long chain has none."""
    made = schedule.place(
        problem(
            task("A/long", 10.0, None),
            task("A/short", 4.0, None),
            task("A/end", 1.0, None, "A/long", "A/short"),
        )
    )
    floats = {one.id: one.float_hours for one in made.tasks}

    assert floats == {"A/long": 0.0, "A/short": 6.0, "A/end": 0.0}
    assert {one.id for one in made.tasks if one.critical} == {"A/long", "A/end"}


def test_crew_load_adds_up_to_the_work():
    """Gang-hours of the chart are the gang-hours of the tasks, none in closed hours."""
    made = schedule.place(
        problem(
            task("A/a", 14.0, count=2), task("B/a", 7.5), crews={"crew": (2, Shifts.TWO_BY_TEN)}
        )
    )
    ((name, load),) = made.crew_load

    assert name == "crew"
    assert sum(load) == pytest.approx(2 * 14.0 + 7.5)
    assert load[10:12] == (0.0, 0.0)  # 16 to 18 h
    assert max(load) == 2.0


def test_a_mirrored_decode_that_fails_is_not_taken_for_a_schedule():
    """A decode into too short a horizon says -1 for all tasks."""
    board = Board(problem(task("A/a", 10.0)), 5.0)

    start, end = board.decode([0.0])
    assert (start.tolist(), end.tolist()) == ([-1], [-1])
