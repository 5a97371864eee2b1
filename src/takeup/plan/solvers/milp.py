"""Choose one item of each class under budgets: exact, by a mixed-integer solver, with bound."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec
import numpy as np

from takeup.units import Array


class Chosen(msgspec.Struct, frozen=True, kw_only=True):
    """What the solver found."""

    picks: tuple[int, ...]
    """Chosen item of each class; empty when there is none."""
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
    seconds: float = 60.0,
) -> Chosen:
    """Minimise the summed value of one item per class within all capacities.

    ``values[c][i]`` is item ``i`` of class ``c``; ``weights[c][i][k]`` what it takes of
    capacity ``k``.  With ``exactly_one`` false a class may be left without an item.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    sizes = [len(items) for items in values]
    total = sum(sizes)
    if total == 0 or (exactly_one and min(sizes, default=0) == 0):
        return Chosen(picks=(), objective=np.inf, bound=np.inf, proven=True, feasible=False)
    cost = np.array([value for items in values for value in items], dtype=float)
    of_class = np.repeat(np.arange(len(sizes)), sizes)
    ones = csr_array((np.ones(total), (of_class, np.arange(total))), shape=(len(sizes), total))
    low = 1.0 if exactly_one else 0.0
    constraints = [LinearConstraint(ones, low, 1.0)]
    if len(capacities):
        load: Array = np.array([w for items in weights for w in items], dtype=float)
        load = load.reshape(total, len(capacities)).T
        constraints.append(LinearConstraint(load, -np.inf, np.asarray(capacities, dtype=float)))
    scale = max(1.0, float(np.abs(cost).max()))
    result = milp(
        cost / scale,
        constraints=constraints,
        integrality=np.ones(total),
        bounds=Bounds(0, 1),
        options={"time_limit": seconds, "mip_rel_gap": 0.0},
    )
    if result.x is None:
        return Chosen(
            picks=(),
            objective=np.inf,
            bound=np.inf,
            proven=result.status == 2,
            feasible=False,
        )
    taken = result.x > 0.5
    starts = np.concatenate([[0], np.cumsum(sizes)[:-1]])
    picks = []
    for start, size in zip(starts, sizes, strict=True):
        here = np.flatnonzero(taken[start : start + size])
        picks.append(int(here[0]) if here.size else -1)
    objective = float(cost[taken].sum())
    dual = result.mip_dual_bound
    bound = objective if dual is None or result.status == 0 else float(dual) * scale
    return Chosen(
        picks=tuple(picks),
        objective=objective,
        bound=min(bound, objective),
        proven=result.status == 0,
        feasible=True,
    )
