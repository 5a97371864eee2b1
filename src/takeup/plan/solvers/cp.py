"""Order tasks under capacities on one common axis with a constraint solver. Repeatable."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import msgspec


class Found(msgspec.Struct, frozen=True, kw_only=True):
    """What the solver found on the common axis."""

    starts: tuple[int, ...]
    """Empty when no solution was found."""
    makespan: int
    bound: int
    proven: bool


def solve(
    lengths: Sequence[int],
    before: Sequence[Sequence[int]],
    demands: Sequence[Sequence[tuple[int, int]]],
    capacities: Sequence[int],
    *,
    hint: Sequence[int] = (),
    effort: float = 10.0,
    stop: Callable[[], bool] = lambda: False,
) -> Found:
    """Minimise the makespan.

    ``demands[t]`` lists (resource, count).  ``effort`` is the solver's own deterministic
    time, not seconds of a clock, so that the same input gives the same answer; it is of
    the order of seconds.
    """
    from ortools.sat.python import cp_model

    horizon = max(1, sum(lengths))
    if hint:
        horizon = max(start + length for start, length in zip(hint, lengths, strict=True))
    model = cp_model.CpModel()
    starts = [model.new_int_var(0, horizon, f"s{n}") for n in range(len(lengths))]
    ends = [start + length for start, length in zip(starts, lengths, strict=True)]
    intervals = [
        model.new_fixed_size_interval_var(start, length, f"i{n}")
        for n, (start, length) in enumerate(zip(starts, lengths, strict=True))
    ]
    for number, names in enumerate(before):
        for name in names:
            model.add(starts[number] >= ends[name])
    for resource, capacity in enumerate(capacities):
        using = [
            (intervals[n], count)
            for n, found in enumerate(demands)
            for index, count in found
            if index == resource and lengths[n] > 0 and count > 0
        ]
        if using:
            model.add_cumulative([i for i, _ in using], [c for _, c in using], capacity)
    makespan = model.new_int_var(0, horizon, "makespan")
    for end in ends:
        model.add(makespan >= end)
    model.minimize(makespan)
    for start, value in zip(starts, hint, strict=False):
        model.add_hint(start, value)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.catch_sigint_signal = False  # an interrupt is the caller's to handle
    solver.parameters.max_deterministic_time = effort

    class Watch(cp_model.CpSolverSolutionCallback):
        """Looks for a cancel at each better solution."""

        def on_solution_callback(self) -> None:
            if stop():
                self.stop_search()

    status = solver.solve(model, Watch())
    if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        return Found(starts=(), makespan=0, bound=int(solver.best_objective_bound), proven=False)
    return Found(
        starts=tuple(solver.value(start) for start in starts),
        makespan=int(solver.objective_value),
        bound=round(solver.best_objective_bound),
        proven=status == cp_model.OPTIMAL,
    )
