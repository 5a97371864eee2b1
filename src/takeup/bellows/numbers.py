"""One array pass: every figure of every case of one rule set, no objects."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np

from takeup.bellows import (
    charts,
    fatigue,
    forming,
    geometry,
    movements,
    pressure,
    stability,
    stiffness,
    thrust,
)
from takeup.bellows.intake import Intake, part
from takeup.bellows.model import Assembly, Bellows
from takeup.bellows.rules.base import RuleSet
from takeup.units import Array


class Numbers(msgspec.Struct, frozen=True):
    """Results by name: per case, per (case, condition), per (case, movement)."""

    case: dict[str, Array]
    condition: dict[str, Array]
    movement: dict[str, Array]


def _strength_factor(intake: Intake, strain: Array) -> Array:
    """Km: 1.5 annealed; 1.5 Ysm as formed, within 1.5 to 3.0."""

    def ysm(x: Array) -> Array:
        raised = forming.strength_factor(x, nickel=intake.nickel)
        return np.where(intake.nickel | intake.austenitic, raised, 1.0)

    given = np.where(np.isnan(intake.forming_factor), 1.0, intake.forming_factor)
    unknown = np.isnan(intake.forming_factor)
    raised = ysm(given * strain)
    raised = np.where(unknown, np.minimum(raised, ysm(0.6 * strain)), raised)
    as_formed = np.clip(1.5 * raised, 1.5, 3.0)
    return np.where(intake.as_formed, as_formed, 1.5)


def _two(intake: Intake) -> tuple[Array, Array, Array]:
    kinds = [case.assembly for case in intake.cases]
    universal = np.array([kind == Assembly.UNIVERSAL for kind in kinds], dtype=bool)
    pair = np.array([kind == Assembly.PAIR for kind in kinds], dtype=bool)
    both = np.array(
        [
            np.nan
            if case.length_over_both is None or "length_over_both" in case.missing
            else case.length_over_both
            for case in intake.cases
        ]
    )
    return universal, pair, both


def run(intake: Intake, rules: RuleSet) -> Numbers:
    """Compute everything for all cases at once."""
    with np.errstate(invalid="ignore", divide="ignore"):
        case, shared = _per_case(intake, rules)
        condition = _per_condition(intake, rules, case)
        movement = _per_movement(intake, case, condition, shared)
        _rates(intake, rules, case, shared)
    return Numbers(case, condition, movement)


def _per_case(intake: Intake, rules: RuleSet) -> tuple[dict[str, Array], dict[str, Any]]:
    b = intake.bellows
    c1, c2 = geometry.chart_c1(b), geometry.chart_c2(b)
    universal, pair, both = _two(intake)
    held = np.array([case.spool_held for case in intake.cases], dtype=bool)
    strain = np.asarray(forming.strain(b))
    case = {
        "mean_diameter": geometry.mean_diameter(b),
        "thinned_ply": geometry.thinned_ply(b),
        "metal_area": geometry.metal_area(b),
        "effective_area": thrust.effective_area(b),
        "C1": c1,
        "C2": c2,
        "Cp": charts.cp(c1, c2),
        "Cf": charts.cf(c1, c2),
        "Cd": charts.cd(c1, c2),
        "forming_strain": strain,
        "strength_factor": _strength_factor(intake, strain),
        "convoluted_length": geometry.convoluted_length(b),
        "inside_radius": geometry.inside_radius(b),
        "wall_angle": geometry.wall_angle(b),
        "ends": np.where(universal & ~held, stability.GUIDED, stability.HELD),
    }
    return {name: np.asarray(value) for name, value in case.items()}, {
        "universal": universal,
        "pair": pair,
        "both": both,
    }


def _per_condition(intake: Intake, rules: RuleSet, case: dict[str, Array]) -> dict[str, Array]:
    at = intake.owner
    b = part(intake.bellows, at)
    metal = intake.metal
    allowable = metal.allowable
    if rules.tensile_divisor is not None:
        allowable = np.minimum(allowable, intake.tensile[at] / rules.tensile_divisor)
    load = np.abs(intake.pressure)
    s2 = pressure.convolution_hoop(b, load)
    s4 = pressure.meridional_bending(b, load, case["Cp"][at])
    one = pressure.meridional_bending(b, 1.0, case["Cp"][at])
    alpha = stability.alpha(one, pressure.convolution_hoop(b, 1.0))
    f = stiffness.convolution_rate(b, metal.modulus, case["Cf"][at], rules.rate_constant)
    formed = intake.as_formed[at]
    if rules.yield_by_strength_factor:
        factor = 0.67 * case["strength_factor"][at]
    else:
        factor = np.where(formed, rules.yield_factor[True], rules.yield_factor[False])
    given = np.array([item.yield_strength is not None for item in intake.cases], dtype=bool)[at]
    effective = metal.yield_ * np.where(given, 1.0, factor)
    weld = np.array([item.weld_factor or 1.0 for item in intake.cases])[at]
    s3 = pressure.meridional_membrane(b, load)
    # The collar's metal is not in the case: its modulus is taken as the bellows' own.
    found = {
        "S1": pressure.tangent_hoop(b, load, 1.0, 1.0),
        "S2": s2,
        "S2e": np.where(
            np.asarray(b.tangent_length) > 0.0, pressure.end_convolution_hoop(b, load), np.nan
        ),
        "S3": s3,
        "S4": s4,
        "S3+S4": s3 + s4,
        "S3+S4/1.25": s3 + s4 / 1.25,
        "S": allowable,
        "Cw S": weld * allowable,
        "Km S": case["strength_factor"][at] * allowable,
        "f": f,
        "alpha": alpha,
        "Sy": effective,
        "column_squirm": stability.column_squirm(b, f, case["ends"][at]),
        "inplane_squirm": stability.inplane_squirm(b, effective, alpha, rules.inplane_constant),
        "thrust": thrust.force(b, intake.pressure),
    }
    found["pressure_limit"] = _pressure_limit(b, rules, found, case["Cp"][at], weld, at, case)
    return {name: np.asarray(value) for name, value in found.items()}


def _pressure_limit(
    b: Bellows,
    rules: RuleSet,
    found: dict[str, Any],
    cp: Array,
    weld: Array,
    at: Any,
    case: dict[str, Array],
) -> Array:
    """Largest pressure at which every pressure check of the rule set holds; NaN where unknown."""
    allowable = found["S"]
    s3 = pressure.meridional_membrane(b, 1.0)
    s4 = pressure.meridional_bending(b, 1.0, cp)
    limits = [
        found["column_squirm"],
        found["inplane_squirm"],
        weld * allowable / pressure.convolution_hoop(b, 1.0),
        case["strength_factor"][at] * allowable / (s3 + s4),
    ]
    if "S3" in rules.checks:
        limits.append(allowable / s3)
    tangent = np.asarray(b.tangent_length)
    limits += [
        np.where(tangent == 0.0, np.inf, weld * allowable / stress)
        for stress in (
            pressure.tangent_hoop(b, 1.0, 1.0, 1.0),
            pressure.end_convolution_hoop(b, 1.0),
        )
    ]
    lowest = limits[0]
    for limit in limits[1:]:
        lowest = np.minimum(lowest, limit)
    return np.asarray(lowest)


def _per_movement(
    intake: Intake, case: dict[str, Array], condition: dict[str, Array], shared: dict[str, Any]
) -> dict[str, Array]:
    at = intake.mover
    b = part(intake.bellows, at)
    moves = [move for item in intake.cases for move in item.movements]
    x = np.array([move.axial for move in moves], dtype=float)
    y = np.array([move.lateral for move in moves], dtype=float)
    theta = np.array([move.angular for move in moves], dtype=float)
    counts = np.array([move.cycles for move in moves], dtype=float)
    universal, pair, both = shared["universal"][at], shared["pair"][at], shared["both"][at]
    ex = np.asarray(movements.axial(b, x, np.where(universal | pair, 2.0, 1.0)))
    single = movements.lateral_single(b, y, x)
    double = movements.lateral_universal(b, y, both, x)
    hinged = movements.lateral_pair(b, y, both)
    ey = np.where(universal, double, np.where(pair, hinged, single))
    ey = np.where(y == 0.0, 0.0 * case["mean_diameter"][at], ey)
    eth = np.asarray(movements.angular(b, theta))
    opening, closing = (np.asarray(end) for end in movements.extremes(ex, ey, eth))
    e = np.maximum(np.abs(opening), np.abs(closing))
    room = intake.room_modulus[at]
    s5 = np.asarray(movements.membrane_stress(b, room, e, case["Cf"][at]))
    s6 = np.asarray(movements.bending_stress(b, room, e, case["Cd"][at]))
    slope = np.asarray(
        movements.membrane_stress(b, room, 1.0, case["Cf"][at])
        + movements.bending_stress(b, room, 1.0, case["Cd"][at])
    )
    base, ratio, creeping = _under_movement(intake, condition)
    hot = base[at] * ratio[at]
    stress = hot + s5 + s6
    found = {
        "e": e,
        "closing": closing,
        "opening": opening,
        "gap": np.asarray(geometry.free_gap(b)),
        "S5": s5,
        "S6": s6,
        "St": base[at] + s5 + s6,
        "x": stress,
        "design": np.asarray(fatigue.design_cycles(stress)),
        "low": np.asarray(fatigue.mean_cycles(stress)) < fatigue.LEAST_TESTED,
        "mean": np.asarray(fatigue.mean_cycles(base[at] + s5 + s6)),
        "counts": counts,
    }
    case["creeping"] = creeping
    case["usage"] = _usage(intake, found, slope, hot)
    return found


def _under_movement(intake: Intake, condition: dict[str, Array]) -> tuple[Array, Array, Array]:
    """Per case: 0.7 (S3 + S4) under the movements, Eo/Eb there, and whether it creeps there."""
    place = intake.working
    known = place >= 0
    base = np.full(len(place), np.nan)
    ratio = np.full(len(place), np.nan)
    creeping = np.zeros(len(place), dtype=bool)
    chosen = place[known]
    base[known] = 0.7 * (condition["S3"][chosen] + condition["S4"][chosen])
    ratio[known] = intake.room_modulus[known] / intake.metal.modulus[chosen]
    creeping[known] = intake.temperature[chosen] > intake.threshold[known]
    return base, ratio, creeping


def _usage(intake: Intake, found: dict[str, Array], slope: Array, hot: Array) -> Array:
    """Damage sum of each case on its worse fibre, cycles superposed first; NaN where unknown."""
    count = len(intake.cases)
    known = np.isfinite(found["x"])
    spoiled = np.zeros(count, dtype=bool)
    np.logical_or.at(spoiled, intake.mover, ~known)
    counted = np.zeros(count)
    np.add.at(counted, intake.mover, found["counts"])
    sides = {
        side: list(zip(found[side].tolist(), found["counts"].tolist(), strict=True))
        for side in ("opening", "closing")
    }
    owners: dict[int, list[int]] = {}
    for place, owner in enumerate(intake.mover.tolist()):
        owners.setdefault(owner, []).append(place)
    fibre: list[int] = []
    source: list[int] = []
    ranges: list[float] = []
    cycles: list[float] = []
    for owner, places in owners.items():
        if spoiled[owner]:
            continue
        for number, side in enumerate(("opening", "closing")):
            for span, n in movements.envelope([sides[side][place] for place in places]):
                fibre.append(2 * owner + number)
                source.append(places[0])
                ranges.append(span)
                cycles.append(n)
    first = np.array(source, dtype=np.intp)
    stress = hot[first] + slope[first] * np.array(ranges, dtype=float)
    damage = np.array(cycles, dtype=float) / np.asarray(fatigue.design_cycles(stress))
    total = np.bincount(np.array(fibre, dtype=np.intp), weights=damage, minlength=2 * count)
    worst = total.reshape(count, 2).max(axis=1)
    return np.where(spoiled | (counted <= 0.0), np.nan, worst)


def _rates(intake: Intake, rules: RuleSet, case: dict[str, Array], shared: dict[str, Any]) -> None:
    """Add the rates of the joint at the working condition and cold."""
    b = intake.bellows
    place = intake.working
    modulus = np.full(len(place), np.nan)
    modulus[place >= 0] = intake.metal.modulus[place[place >= 0]]
    universal, pair, both = shared["universal"], shared["pair"], shared["both"]
    two = np.where(universal | pair, 2.0, 1.0)
    for suffix, e in (("", modulus), ("_cold", intake.room_modulus)):
        f = stiffness.convolution_rate(b, e, case["Cf"], rules.rate_constant)
        case["convolution_rate" + suffix] = np.asarray(f)
        case["axial_rate" + suffix] = np.asarray(stiffness.axial(b, f, two))
        case["lateral_rate" + suffix] = np.where(
            universal,
            stiffness.lateral_universal(b, f, both),
            np.where(
                pair, stiffness.lateral_pair(b, f, both), np.asarray(stiffness.lateral_single(b, f))
            ),
        )
        case["angular_rate" + suffix] = np.asarray(stiffness.angular(b, f))
