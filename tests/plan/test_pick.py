"""The exact chooser agrees with an independent integer-programming solver."""

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from takeup.plan.solvers.pick import choose
from tests.plan.samples import benchmarks

PUBLISHED = benchmarks()
NAMED = {
    problem["name"]: problem
    for file in ("multiple_choice.json", "capital_budgeting.json")
    for problem in PUBLISHED.selection(file)
}


@pytest.mark.parametrize("name", ["TestSet1_01", "TestSet1_03", "mknap1_1", "mknap1_3", "weing1"])
def test_agrees_with_another_solver(name):
    """Same best value from a branch-and-cut code that shares nothing with ours."""
    values, weights, capacities, exactly = PUBLISHED.as_classes(NAMED[name])
    flat = np.array([value for items in values for value in items])
    load = np.array([take for items in weights for take in items]).T
    of = np.zeros((len(values), flat.size))
    at = 0
    for number, items in enumerate(values):
        of[number, at : at + len(items)] = 1
        at += len(items)
    other = milp(
        flat,
        constraints=[
            LinearConstraint(load, ub=np.array(capacities)),
            LinearConstraint(of, lb=1.0 if exactly else 0.0, ub=1.0),
        ],
        bounds=Bounds(0, 1),
        integrality=np.ones(flat.size),
    )
    ours = choose(values, weights, capacities, exactly_one=exactly)

    assert ours.proven
    assert ours.objective == pytest.approx(other.fun, abs=1e-3)


def test_the_picks_keep_every_capacity_and_give_the_value():
    """What is returned is the selection itself, worked out again from its parts."""
    values, weights, capacities, exactly = PUBLISHED.as_classes(NAMED["TestSet5_01"])
    ours = choose(values, weights, capacities, exactly_one=exactly)

    used = np.sum([weights[c][i] for c, i in enumerate(ours.picks)], axis=0)
    assert (used <= np.array(capacities)).all()
    assert sum(values[c][i] for c, i in enumerate(ours.picks)) == ours.objective


def test_money_is_never_rounded_into_the_budget():
    """A cost above the budget by less than a hundredth is still above it."""
    assert not choose([[1.0]], [[[100.004]]], [100.0]).feasible
    assert choose([[1.0]], [[[100.0]]], [100.0]).feasible


def test_a_class_without_items_has_no_choice():
    """No items and exactly one wanted: proven that nothing can be chosen."""
    found = choose([[]], [[]], [1.0])
    assert (found.feasible, found.proven, found.picks) == (False, True, ())
