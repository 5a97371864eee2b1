"""Many bellows, or one bellows many times over, in arrays: the same code as the reports.

A :class:`Problem` holds scalars or arrays of equal length; :func:`solve` gives figures and use
of capacity by the ids that reports use.  :func:`problem_for` makes a problem from a case.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

import msgspec
import numpy as np

from takeup.bellows import geometry_checks, intake, numbers, refusing
from takeup.bellows.model import Basis, Bellows, BellowsCase, Convolution, FatigueCurve, Movement
from takeup.bellows.rules import rules_of
from takeup.bellows.rules.base import RuleSet
from takeup.bellows.setting import Flag, Metals, Setting, part, rows
from takeup.errors import Contradiction
from takeup.units import Array, Kelvin, Pascal

BLOCK = 16384
"""Rows worked on at a time, so that a pass stays in the processor's cache."""


class State(Metals, frozen=True, kw_only=True):
    """A pressure and the metals at its temperature; scalars or arrays, SI."""

    name: str
    pressure: Pascal
    temperature: Kelvin = np.nan
    yield_bound: Flag = False
    """Whether yield is only a lower bound: a check on it that is not met stays open."""


class Problem(msgspec.Struct, frozen=True, kw_only=True):
    """One rule set, one shape; everything else scalars or arrays of equal length."""

    setting: Setting
    basis: Basis
    convolution: Convolution
    states: tuple[State, ...]
    movements: tuple[Movement, ...]
    curve: FatigueCurve | None
    """Design fatigue curve; ``None``: no cycles."""
    under: str = ""
    """Name of the state under which the bellows moves."""
    offset: Movement = Movement(name="installed set")
    """Set when installed, on which every movement comes on top."""


class Solution(msgspec.Struct, frozen=True):
    """Figures and use of capacity by report id, each an array; NaN is not evaluated."""

    figures: dict[str, Array]
    ratios: dict[str, Array]


def problem_for(case: BellowsCase, bellows: Bellows | None = None) -> Problem:
    """State a case as a problem; ``bellows`` (arrays) takes the place of its geometry.

    Raises as :func:`takeup.bellows.evaluate` does for a case that cannot be true (geometry is
    not looked at where ``bellows`` replaces it).
    """
    if bellows is None:
        refusing.refuse(case)
    taken = intake.take((case,))
    setting = _first(taken.setting)
    if bellows is not None:
        setting = msgspec.structs.replace(setting, bellows=bellows)
    states = tuple(
        State(
            **{
                name: _item(value, number)
                for name, value in msgspec.structs.asdict(taken.metals).items()
            },
            name=condition.name,
            pressure=condition.pressure,
            temperature=condition.temperature,
            yield_bound=bool(taken.metal.bound[number]),
        )
        for number, condition in enumerate(case.conditions)
    )
    rules = rules_of(case.basis, case.convolution)
    place = intake.working_condition(case)
    return Problem(
        setting=setting,
        basis=case.basis,
        convolution=case.convolution,
        states=states,
        movements=case.movements,
        curve=case.fatigue_curve or rules.curve,
        under=case.conditions[place].name if place >= 0 else "",
        offset=offset_of(case),
    )


def offset_of(case: BellowsCase) -> Movement:
    """The set when installed, as a movement from free length and straight."""
    return Movement(
        name="installed set",
        axial=case.offset_axial,
        lateral=case.offset_lateral,
        angular=case.offset_angular,
    )


def _item(value: Any, at: int) -> Any:
    return value if np.ndim(value) == 0 else np.asarray(value)[at]


def _first(setting: Setting) -> Setting:
    fields = msgspec.structs.asdict(setting)
    b = msgspec.structs.asdict(setting.bellows)
    return Setting(
        **{name: _item(value, 0) for name, value in fields.items() if name != "bellows"},
        bellows=Bellows(**{name: _item(value, 0) for name, value in b.items()}),
    )


def _length(problem: Problem) -> int:
    """Rows of a problem; 0 for scalars throughout."""
    found = set()
    parts: list[Any] = [problem.setting.bellows, problem.setting, *problem.states]
    for thing in (*parts, problem.offset, *problem.movements):
        for value in msgspec.structs.asdict(thing).values():
            if isinstance(value, np.ndarray) and value.ndim:
                found.add(len(value))
    if len(found) > 1:
        raise Contradiction(
            f"arrays of a bellows problem have {' and '.join(map(str, sorted(found)))} rows; "
            "give scalars or arrays of one length"
        )
    return found.pop() if found else 0


def _slice(problem: Problem, at: slice) -> Problem:
    def cut(thing: Any) -> Any:
        fields = msgspec.structs.asdict(thing)
        return type(thing)(**{name: rows(value, at) for name, value in fields.items()})

    return msgspec.structs.replace(
        problem,
        setting=problem.setting.at(at),
        offset=cut(problem.offset),
        states=tuple(cut(one) for one in problem.states),
        movements=tuple(cut(one) for one in problem.movements),
    )


def solve(problem: Problem, wanted: Collection[str] | None = None) -> Solution:
    """Work out a problem: figures and use of capacity by report id.

    ``wanted`` names the ids to keep (all of them when ``None``); long arrays are worked
    through in blocks.  Use of capacity above 1 is not met.  NaN stands for what a report
    would call not evaluated or does not apply.  Raises
    :class:`takeup.errors.Contradiction` for arrays of different lengths.
    """
    count = _length(problem)
    if count <= BLOCK:
        figures, ratios = _solve(problem, count)
        return Solution(_kept(figures, wanted), _kept(ratios, wanted))
    pieces = []
    for start in range(0, count, BLOCK):
        at = slice(start, min(start + BLOCK, count))
        figures, ratios = _solve(_slice(problem, at), at.stop - at.start)
        pieces.append((_kept(figures, wanted), _kept(ratios, wanted)))
    return Solution(
        *({name: np.concatenate([piece[side][name] for piece in pieces])
           for name in pieces[0][side]} for side in (0, 1))
    )  # fmt: skip


def _kept(found: dict[str, Array], wanted: Collection[str] | None) -> dict[str, Array]:
    return found if wanted is None else {k: v for k, v in found.items() if k in wanted}


def _solve(problem: Problem, count: int) -> tuple[dict[str, Array], dict[str, Array]]:
    rules = rules_of(problem.basis, problem.convolution)
    setting = problem.setting
    figures: dict[str, Any] = {}
    ratios: dict[str, Any] = {}
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        shape = numbers.shape(setting, rules)
        figures |= shape
        for limit in geometry_checks.limits(setting, shape, rules):
            ratios[f"geometry.{limit.id}"] = limit.ratio
        rows_: dict[str, numbers.Row] = {}
        for state in problem.states:
            row = numbers.state(setting, shape, rules, state.pressure, state)
            rows_[state.name] = row
            for name, value in row.items():
                figures[f"{name}@{state.name}"] = value
            for name, value in use(setting, rules, state, row).items():
                ratios[f"{name}@{state.name}"] = value
        _move(problem, rules, shape, rows_, figures, ratios)

    def shaped(value: Any) -> Array:
        if not count:
            return np.asarray(value)
        return np.ascontiguousarray(np.broadcast_to(np.asarray(value), count))

    return (
        {name: shaped(value) for name, value in figures.items()},
        {name: shaped(value) for name, value in ratios.items()},
    )


def use(setting: Setting, rules: RuleSet, state: State, row: numbers.Row) -> numbers.Row:
    """Use of capacity of each pressure check of one state, open where a report leaves it open."""
    inward = row["outward"] < 0.0
    creeping = np.asarray(state.temperature) > setting.threshold
    bounded = rules.yield_divisor is not None and not np.all(state.allowable_given)
    found: numbers.Row = {}
    for family in rules.checks:
        if family in numbers.SQUIRM:
            ratio = np.where(inward, np.nan, row["outward"] / row[family])
            if family == "inplane_squirm":
                ratio = np.where(np.logical_and(state.yield_bound, ratio > 1.0), np.nan, ratio)
        elif family == "S3+S4" and rules.creep_form:
            formed = row["S3+S4/1.25"] / row["S"]
            ratio = np.where(creeping, formed, row[family] / row["Km S"])
        else:
            ratio = row[family] / row[numbers.LIMIT[family]]
            own = numbers.LIMIT[family] not in {"Sc", "Sr", "Sf"}
            if own and bounded:
                open_ = ~np.asarray(state.allowable_given) & (ratio > 1.0)
                ratio = np.where(open_, np.nan, ratio)
        if not (rules.creep_form and family not in numbers.SQUIRM):
            ratio = np.where(creeping & ~(ratio > 1.0), np.nan, ratio)
        found[family] = ratio
    if "external" in row:
        ratio = np.where(inward, np.abs(row["outward"]) / row["external"], np.nan)
        found["external"] = np.where(creeping & ~(ratio > 1.0), np.nan, ratio)
    return found


def _move(
    problem: Problem,
    rules: RuleSet,
    shape: numbers.Row,
    rows_: dict[str, numbers.Row],
    figures: dict[str, Any],
    ratios: dict[str, Any],
) -> None:
    setting = problem.setting
    state = next((one for one in problem.states if one.name == problem.under), None)
    if state is None:
        return
    row = rows_[state.name]
    load = np.abs(state.pressure)
    for suffix, modulus in (("", state.modulus), ("_cold", setting.room_modulus)):
        f = numbers.rate(setting, shape, rules, modulus, load)
        for name, value in numbers.rates(setting, f).items():
            figures[name + suffix] = value
    if not problem.movements:
        return
    under = numbers.strained(setting, shape, rules, load, row["base"], state.modulus)
    creeping = np.asarray(state.temperature) > setting.threshold
    covered = np.logical_or(setting.austenitic, setting.nickel)
    open_ = creeping | ~np.asarray(covered)
    travels = []
    offset = numbers.travel(setting, problem.offset)
    for move in problem.movements:
        travel = numbers.travel(setting, move)
        travels.append(travel)
        life = numbers.lives(setting, under, travel["e"], problem.curve, rules.mean)
        found = travel | life
        found |= {"design_cycles": life["design"], "mean_cycles": life["mean"]}
        for name, value in found.items():
            if name not in {"design", "mean", "low"}:
                figures[f"{name}@{move.name}"] = value
        counted = np.asarray(move.cycles) > 0.0
        ratio = np.where(counted, move.cycles / life["design"], np.nan)
        ratios[f"fatigue@{move.name}"] = np.where(open_, np.nan, ratio)
        _, most_closed = numbers.together(travel, offset)
        ratios[f"closing@{move.name}"] = -most_closed / shape["gap"]
    for name, which in (("usage", "cycles"), ("usage_so_far", "done")):
        counts = [getattr(move, which) for move in problem.movements]
        total = numbers.usage(setting, under, travels, counts, problem.curve)
        figures[name] = np.where(open_, np.nan, total)
    ratios["usage"] = figures["usage"]


__all__ = ["Problem", "Solution", "State", "part", "problem_for", "solve"]
