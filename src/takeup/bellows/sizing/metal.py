"""How one part of the space is solved in one alloy, and which checks a duty has at all."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec
import numpy as np

from takeup import materials
from takeup.bellows import arrays
from takeup.bellows.engine import evaluate
from takeup.bellows.model import Bellows, BellowsCase
from takeup.bellows.sizing.judge import CLOSING, LIFE, family, is_limit_of_shape
from takeup.bellows.sizing.model import SizingTask
from takeup.checks import Check, Outcome

RATES = ("axial_rate", "lateral_rate", "angular_rate")


class Metal(msgspec.Struct):
    """One part of the space in one alloy: how it is solved."""

    problem: arrays.Problem
    density: float
    ring_density: float
    wanted: frozenset[str]
    """Figures and checks asked of the engine: those that a report of this duty has."""
    blocked: dict[str, float]
    """Checks that no candidate can meet here: use of their limit, NaN where not evaluated."""
    open: str
    """Why no candidate in this alloy can be checked in full; empty where it can."""


def look_up(task: SizingTask, case: BellowsCase) -> Metal:
    """How candidates like ``case`` are solved: same part, same alloy."""
    still = at_rest(case)
    problem = arrays.problem_for(still)
    problem = msgspec.structs.replace(
        problem, movements=case.movements, offset=arrays.offset_of(case)
    )
    ratios = arrays.solve(problem).ratios
    checks = evaluate(still).checks
    apply = {check.id for check in checks if check.outcome != Outcome.DOES_NOT_APPLY}
    ring = case.ring_material or case.material
    return Metal(
        problem=problem,
        density=float(materials.density(case.material).value),
        ring_density=float(materials.density(ring).value),
        wanted=frozenset(
            {id for id in ratios if id in apply or id.startswith(CLOSING)} | set(RATES)
        ),
        open=unchecked(checks),
        blocked={
            check.id: np.nan if check.ratio is None else check.ratio
            for check in checks
            if check.id in apply - ratios.keys() and check.outcome != Outcome.MET
        },
    )


def solve(metal: Metal, bellows: Bellows) -> arrays.Solution:
    """Work out many bellows: the checks and figures that the duty has."""
    setting = msgspec.structs.replace(metal.problem.setting, bellows=bellows)
    problem = msgspec.structs.replace(metal.problem, setting=setting)
    return arrays.solve(problem, wanted=metal.wanted)


def at_rest(case: BellowsCase) -> BellowsCase:
    """The case with movements of no size: which checks apply does not hang on their size."""
    still = {
        "axial": 0.0,
        "lateral": 0.0,
        "angular": 0.0,
        "lateral_across": 0.0,
        "angular_across": 0.0,
    }
    moves = tuple(msgspec.structs.replace(move, **still) for move in case.movements)
    return msgspec.structs.replace(
        case, movements=moves, offset_axial=0.0, offset_lateral=0.0, offset_angular=0.0
    )


def unchecked(checks: Sequence[Check]) -> str:
    """The first check that stays open, or fails, whatever the shape; empty where there is none."""
    for check in checks:
        where = check.id.partition("@")[2]
        open_ = check.outcome == Outcome.NOT_EVALUATED and check.ratio is None
        if open_ or (check.id == "creep" and check.outcome == Outcome.NOT_MET):
            return f"{check.name}{f', {where}' if where else ''}: {check.because}"
    return ""


def is_of_pressure(id: str) -> bool:
    """Whether a check is of strength or stability at a pressure, other than the test."""
    name = family(id)
    testing = id.lower().endswith("@test")
    return "@" in id and name not in LIFE and not is_limit_of_shape(id) and not testing
