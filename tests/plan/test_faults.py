"""The judge finds every planted breach."""

import datetime as dt

import pytest

from takeup.plan.faults import Placed, faults
from takeup.register.entities import Shifts
from tests.plan.samples import MONDAY, problem, task

HOUR = dt.timedelta(hours=1)
CUT = task("EJ-1/cut", 4.0)
WELD = task("EJ-1/weld", 8.0, "crew", "EJ-1/cut")
DRY = task("EJ-1/dry", 30.0, None, "EJ-1/weld", elapsed=True)
LIFT = task("EJ-2/lift", 4.0, may_span=False)
GIVEN = problem(CUT, WELD, DRY, LIFT, crews={"crew": (1, Shifts.DAYS)}, window=120.0)
GOOD = {"EJ-1/cut": (0, 4), "EJ-1/weld": (4, 26), "EJ-1/dry": (26, 56), "EJ-2/lift": (26, 30)}
"""Hours after Monday 06:00; a day shift ends at 10 and starts again at 24."""


def judged(**moved):
    """Rules broken when tasks are moved; None leaves one out."""
    names = {"cut": "EJ-1/cut", "weld": "EJ-1/weld", "dry": "EJ-1/dry", "lift": "EJ-2/lift"}
    times = GOOD | {names[name]: span for name, span in moved.items()}
    return faults(
        GIVEN,
        [
            Placed(task=one, start=MONDAY + span[0] * HOUR, end=MONDAY + span[1] * HOUR)
            for one in GIVEN.tasks
            if (span := times[one.id]) is not None
        ],
    )


def test_a_good_schedule_has_no_faults():
    """What keeps all rules is passed."""
    assert judged() == ()


@pytest.mark.parametrize(
    ("moved", "rule", "words"),
    [
        ({"lift": None}, "placed", "EJ-2/lift is not placed"),
        ({"dry": (25, 55)}, "order", "EJ-1/dry starts before EJ-1/weld has ended"),
        ({"lift": (25, 29)}, "crew", "crew: 2 gangs needed of 1 at 2026-03-03 07:00"),
        ({"weld": (4, 25)}, "length", "works 7 open hours instead of 8"),
        ({"lift": (26, 31)}, "length", "works 5 open hours instead of 4"),
        ({"dry": (26, 55)}, "length", "takes 29 h of the clock instead of 30"),
        ({"lift": (48 - 2, 52)}, "shift", "EJ-2/lift starts in closed hours"),
        ({"lift": (32, 50)}, "span", "must not be interrupted"),
        ({"dry": (100, 130)}, "window", "joints that do not fit: EJ-1"),
        ({"cut": (-1, 4)}, "start", "starts before the window"),
    ],
)
def test_a_planted_breach_is_found(moved, rule, words):
    """Each rule is broken once and named with its task."""
    found = [fault for fault in judged(**moved) if fault.rule == rule]

    assert found
    assert any(words in fault.words for fault in found)


def test_touching_tasks_do_not_overlap():
    """A task that ends when another starts leaves its gang free."""
    assert judged(lift=(30, 34)) == ()
