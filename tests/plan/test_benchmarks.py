"""Library instances: the judge passes every schedule, and small ones reach the optimum."""

import pytest

from takeup.plan import schedule
from takeup.plan.model import Status
from tests.plan.samples import benchmarks

PUBLISHED = benchmarks()
ROWS = {row["instance"]: row for row in PUBLISHED.best_known()}


@pytest.mark.slow
@pytest.mark.parametrize("name", [name for name, row in ROWS.items() if row["set"] == "j30"])
def test_thirty_jobs_reach_the_proven_optimum(name):
    """The optimum of the library is found with usual effort, and no bound lies above it."""
    made = schedule.place(PUBLISHED.instance(name), effort=1.0)

    best = int(ROWS[name]["best_known"]) * PUBLISHED.HALF_HOUR
    assert made.faults == ()
    assert made.makespan_hours == best
    assert made.bound_hours <= best


@pytest.mark.parametrize("name", ROWS)
def test_first_schedules_are_valid_and_between_the_bounds(name):
    """Without any search: no faults, not below the library's bound, not far above its best."""
    made = schedule.place(PUBLISHED.instance(name), effort=0.0)
    row = ROWS[name]

    assert made.faults == ()
    assert made.makespan_hours >= int(row["lower_bound"]) * PUBLISHED.HALF_HOUR
    assert made.bound_hours <= int(row["best_known"]) * PUBLISHED.HALF_HOUR
    assert made.bound_hours >= int(row["critical_path"]) * PUBLISHED.HALF_HOUR
    if made.status == Status.OPTIMAL:
        assert made.makespan_hours == int(row["best_known"]) * PUBLISHED.HALF_HOUR
