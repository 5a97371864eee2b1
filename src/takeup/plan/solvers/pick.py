"""Choose one item of each class under budgets: exact, by a constraint solver, with bound."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

SCALE = 100
"""Money is counted in hundredths; loads are rounded up and capacities down, never the reverse."""


class Chosen(msgspec.Struct, frozen=True, kw_only=True):
    """What the solver found."""

    picks: tuple[int, ...]
    """Chosen item of each class (-1 for none); empty when no choice exists."""
    objective: float
    bound: float
    proven: bool
    feasible: bool


def choose(
    values: Sequence[Sequence[float]],
    weights: Sequence[Sequence[Sequence[float]]],
    capacities: Sequence[float],
    *,
    exactly_one: bool = True,
    effort: float = 30.0,
) -> Chosen:
    """Minimise the summed value of one item per class within all capacities.

    ``values[c][i]`` is item ``i`` of class ``c``; ``weights[c][i][k]`` what it takes of
    capacity ``k``.  With ``exactly_one`` false a class may be left without an item.
    ``effort`` is the solver's own deterministic time, so that answers repeat.
    """
    from ortools.sat.python import cp_model

    if exactly_one and any(not items for items in values):
        return Chosen(picks=(), objective=math.inf, bound=math.inf, proven=True, feasible=False)
    model = cp_model.CpModel()
    taken = [
        [model.new_bool_var(f"x{c}_{i}") for i in range(len(items))]
        for c, items in enumerate(values)
    ]
    for row in taken:
        if exactly_one:
            model.add_exactly_one(row)
        elif row:
            model.add_at_most_one(row)
    for k, capacity in enumerate(capacities):
        load = [
            math.ceil(weights[c][i][k] * SCALE - 1e-6) * x
            for c, row in enumerate(taken)
            for i, x in enumerate(row)
        ]
        model.add(sum(load) <= math.floor(capacity * SCALE + 1e-6))
    model.minimize(
        sum(
            round(values[c][i] * SCALE) * x
            for c, row in enumerate(taken)
            for i, x in enumerate(row)
        )
    )
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.catch_sigint_signal = False  # an interrupt is the caller's to handle
    solver.parameters.max_deterministic_time = effort
    status = solver.solve(model)
    if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        return Chosen(
            picks=(),
            objective=math.inf,
            bound=math.inf,
            proven=status == cp_model.INFEASIBLE,
            feasible=False,
        )
    picks = tuple(
        next((i for i, x in enumerate(row) if solver.boolean_value(x)), -1) for row in taken
    )
    objective = sum(values[c][i] for c, i in enumerate(picks) if i >= 0)
    proven = status == cp_model.OPTIMAL
    bound = objective if proven else solver.best_objective_bound / SCALE
    return Chosen(
        picks=picks, objective=objective, bound=min(bound, objective), proven=proven, feasible=True
    )
