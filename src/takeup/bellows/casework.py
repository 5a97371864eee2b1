"""The array pass over cases: conditions and movements of many bellows of one rule set at once."""

from __future__ import annotations

import msgspec
import numpy as np

from takeup.bellows import geometry_checks, numbers
from takeup.bellows.geometry_checks import Limit
from takeup.bellows.intake import Intake, movements_of
from takeup.bellows.model import FatigueCurve
from takeup.bellows.rules.base import RuleSet
from takeup.units import Array


class Numbers(msgspec.Struct, frozen=True):
    """Results by name: per case, per (case, condition), per (case, movement)."""

    case: dict[str, Array]
    condition: dict[str, Array]
    movement: dict[str, Array]
    limits: tuple[Limit, ...]


_SWINGS = tuple(end + suffix for end in numbers.ENDS for suffix in ("", "_across"))


def _rows(found: numbers.Row, at: Array) -> numbers.Row:
    return {name: value[at] if np.ndim(value) else value for name, value in found.items()}


def run(intake: Intake, rules: RuleSet, curve: FatigueCurve | None) -> Numbers:
    """Compute everything for all cases at once."""
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        return _run(intake, rules, curve)


def _run(intake: Intake, rules: RuleSet, curve: FatigueCurve | None) -> Numbers:
    setting = intake.setting
    shape = numbers.shape(setting, rules)
    at = intake.owner
    here, form = setting.at(at), _rows(shape, at)
    condition = numbers.state(here, form, rules, intake.pressure, intake.metals)
    condition["pressure_limit"] = numbers.pressure_limit(
        here, form, rules, intake.metals, intake.pressure
    )
    count = len(intake.cases)
    place = intake.working
    known = place >= 0
    load, base, hot = (np.full(count, np.nan) for _ in range(3))
    load[known] = np.abs(intake.pressure[place[known]])
    base[known] = condition["base"][place[known]]
    hot[known] = np.asarray(intake.metals.modulus)[place[known]]
    under = numbers.strained(setting, shape, rules, load, base, hot)
    creeping = np.zeros(count, dtype=bool)
    creeping[known] = intake.temperature[place[known]] > np.asarray(setting.threshold)[known]
    case = dict(shape) | {"creeping": creeping}
    movement = _movements(intake, rules, curve, case, under)
    if "Cr" in condition:
        case["Cr"] = np.full(count, np.nan)
        case["Cr"][known] = condition["Cr"][place[known]]
    for suffix, modulus in (("", hot), ("_cold", setting.room_modulus)):
        f = numbers.rate(setting, shape, rules, modulus, load)
        for name, value in numbers.rates(setting, f).items():
            case[name + suffix] = value
    return Numbers(
        {name: np.asarray(value) for name, value in case.items()},
        {name: np.broadcast_to(value, len(at)) for name, value in condition.items()},
        movement,
        geometry_checks.limits(setting, shape, rules),
    )


def _movements(
    intake: Intake,
    rules: RuleSet,
    curve: FatigueCurve | None,
    case: numbers.Row,
    under: numbers.Row,
) -> dict[str, Array]:
    at, slot, count = intake.mover, intake.slot, len(intake.cases)
    moves = movements_of([move for one in intake.cases for move in one.movements])
    here = intake.setting.at(at)
    found = numbers.travel(here, moves)
    found = {name: np.broadcast_to(value, len(at)) for name, value in found.items()}
    strained = {name: value[at] for name, value in under.items()}
    found |= numbers.lives(here, strained, found["e"], curve, rules.mean)
    found |= {"counts": moves.cycles, "gap": np.asarray(case["gap"])[at]}
    offsets = movements_of(
        [msgspec.structs.replace(move, name="offset", axial=one.offset_axial,
                                 lateral=one.offset_lateral, angular=one.offset_angular,
                                 lateral_across=0.0, angular_across=0.0)
         for one in intake.cases for move in one.movements]
    )  # fmt: skip
    set_ = numbers.travel(here, offsets)
    found["most_open"], found["most_closed"] = numbers.together(found, set_)
    padded = []
    counts = []
    done = []
    for k in range(int(slot.max()) + 1 if len(slot) else 0):
        mine = slot == k
        row = {name: np.zeros(count) for name in ("ex", "e", *_SWINGS)}
        number, so_far = np.zeros(count), np.zeros(count)
        for name, values in row.items():
            values[at[mine]] = found[name][mine]
        number[at[mine]] = np.asarray(moves.cycles)[mine]
        so_far[at[mine]] = np.asarray(moves.done)[mine]
        padded.append(row)
        counts.append(number)
        done.append(so_far)
    case["usage"] = numbers.usage(intake.setting, under, padded, counts, curve)
    case["usage_so_far"] = numbers.usage(intake.setting, under, padded, done, curve)
    return {name: np.asarray(value) for name, value in found.items()}
