"""A ply lost, metal lost, and temperatures at which these rules end."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Sequence
from typing import Literal

import msgspec
import numpy as np

from takeup.bellows.arrays import problem_for, solve
from takeup.bellows.as_found.cases import geometry_of, of_standing_plies
from takeup.bellows.as_found.compare import named
from takeup.bellows.as_found.model import (
    AsFound,
    Corrosion,
    HandOver,
    Life,
    LostPly,
    PlyLoss,
    Variant,
)
from takeup.bellows.model import BellowsCase, BellowsReport
from takeup.bellows.plies import surviving_ply
from takeup.checks import Outcome
from takeup.errors import TakeupError
from takeup.sources import Source, Standing
from takeup.units import YEAR, Array

CAUSE = (
    "The calculation does not judge why the ply was lost. If stress corrosion or polythionic "
    "attack did it, a time limit must come from judgement of the metal, not from the usage sum."
)
LOADS = (
    "Loads on anchors and nozzles: keep the stiffness of the whole bellows, the lost ply still "
    "bends with the other."
)
TRAPPED = (
    "On depressurisation or vacuum, pressure caught between the plies can press the inner ply in: "
    "check it as external pressure on that ply alone."
)
EVEN = (
    "Straight on from now, at the rate of the past, all round and on every ply alike. Pitting and "
    "cracking are not covered by it."
)
LINEAR = Source(
    document="Takeup", at="thickness falls in a straight line", standing=Standing.ASSUMPTION
)
STEPS = 400
"""Thicknesses tried between what is left and nothing."""
NOTHING = 0.02
"""Share of what is left at which the metal counts as gone."""


def survivor(case: BellowsCase, lost: LostPly) -> BellowsCase:
    """What is left of ``case`` without the ply ``lost``."""
    which: Literal["inner", "outer"] = "inner" if lost == LostPly.INNER else "outer"
    return surviving_ply(case, which)


def ply_loss(lost: LostPly, survivors: Sequence[Variant], life: Life) -> PlyLoss:
    """Report on the survivors, the weakest of which counts."""
    limits: dict[str, float] = {}
    weakest = survivors[0].report
    lowest = np.inf
    for one in survivors:
        for condition in one.case.conditions:
            figure = one.report.figure(f"pressure_limit@{condition.name}")
            if figure is None or figure.value is None:
                continue
            limits[condition.name] = min(figure.value, limits.get(condition.name, np.inf))
            share = figure.value / abs(condition.pressure) if condition.pressure else np.inf
            if share < lowest:
                lowest, weakest = share, one.report
    redundant = _redundant([one.report for one in survivors])
    words = [
        "Redundant: what is left passes every pressure check at design condition by itself. An "
        "alarm between the plies is then no reason of strength to stop at once."
        if redundant
        else "Not redundant: what is left does not pass every pressure check at design condition."
        if redundant is False
        else "Whether what is left bears the design condition alone is open."
    ]
    words += [
        f"By every pressure check what is left bears {value / 1e5:.2f} bar at the temperature of "
        f"{name}."
        for name, value in limits.items()
    ]
    words += life.words
    seen = (
        "The ply that is left now sees the process fluid."
        if lost == LostPly.INNER
        else "The ply that is left has seen the process fluid all along."
    )
    return PlyLoss(
        lost=lost,
        report=weakest,
        allowed=tuple(limits.items()),
        redundant=redundant,
        life=life,
        words=tuple(words),
        cautions=(CAUSE, seen, LOADS, TRAPPED),
    )


def _redundant(reports: Sequence[BellowsReport]) -> bool | None:
    outcomes = {
        check.outcome
        for report in reports
        for check in report.checks
        if check.id.endswith("@design") or check.id == "input"
    }
    if Outcome.NOT_MET in outcomes:
        return False
    if Outcome.NOT_EVALUATED in outcomes or Outcome.MET not in outcomes:
        return None
    return True


def corrosion(variants: Sequence[Variant], found: AsFound, left: float, formed: float) -> Corrosion:
    """What is left of a ply, how fast it goes, and when the first check is used up.

    Checks that some variant does not meet now have no date to come.  ``left`` is the least thickness found and ``formed`` that of the design after forming [m].
    """
    rate, why = _rate(found)
    date = found.date or max((one.date for one in found.thicknesses if one.date), default=None)
    words = [
        f"{left * 1e3:.2f} mm left of {formed * 1e3:.2f} mm after forming "
        f"({1.0 - left / formed:.0%} gone)."
        if left < formed
        else f"No loss: {left * 1e3:.2f} mm measured, {formed * 1e3:.2f} mm after forming."
    ]
    if why:
        words.append(why)
    names = {
        check.id: named(check.id, check.name) for one in variants for check in one.report.checks
    }
    past = {
        check.id
        for one in variants
        for check in one.report.checks
        if check.outcome == Outcome.NOT_MET
    }
    check, thickness = _used_up([one.case for one in variants], left, past)
    if past:
        words.append("Some checks are not met already, whatever metal is lost from now on.")
    seconds = until = None
    if check and thickness is not None:
        words.append(f"{names.get(check, check)} is used up first, at {thickness * 1e3:.2f} mm.")
        if rate:
            seconds = (left - thickness) / rate
            words.append(f"That is {seconds / YEAR:.1f} years on. {EVEN}")
            if date is not None and seconds < 300.0 * YEAR:
                until = date + dt.timedelta(seconds=seconds)
    elif not check:
        words.append("No check that is met now is used up before the metal is gone.")
    return Corrosion(
        left=left,
        lost=max(formed - left, 0.0),
        rate=rate,
        first=check,
        thickness=thickness,
        seconds=seconds,
        date=date,
        until=until,
        words=tuple(words),
        source=LINEAR,
    )


def _rate(found: AsFound) -> tuple[float | None, str]:
    """Loss per time [m/s], and how it was come by or why not."""
    if found.corrosion_rate is not None:
        return (
            found.corrosion_rate,
            f"Rate given: {found.corrosion_rate * YEAR * 1e3:.3f} mm a year.",
        )
    rates = []
    readings = of_standing_plies(found)
    for face in {one.face for one in readings}:
        dated: dict[dt.date, float] = {}
        for one in readings:
            if one.face == face and one.date is not None:
                dated[one.date] = min(one.thickness, dated.get(one.date, np.inf))
        if len(dated) >= 2:
            first, last = min(dated), max(dated)
            rates.append((dated[first] - dated[last]) / ((last - first).days * 86400.0))
    if not rates:
        return None, "No rate: thickness was not measured at two dates from the same side."
    worst = max(rates)
    if worst <= 0.0:
        return None, "No rate: the later readings are not thinner than the earlier ones."
    return worst, f"Rate between the first and the last date: {worst * YEAR * 1e3:.3f} mm a year."


def _used_up(
    cases: Sequence[BellowsCase], left: float, past: Collection[str]
) -> tuple[str, float | None]:
    """The check, met now, that thinning uses up first, and the thickness at which it does.

    A check that comes to lie open on the way counts as used up where it was last known.
    """
    thickness = np.linspace(left, NOTHING * left, STEPS)
    first, at = "", None
    for case in cases:
        shape = msgspec.structs.replace(geometry_of(case), thinnest_ply=thickness)
        try:
            ratios = solve(problem_for(case, shape)).ratios
        except TakeupError:
            continue
        for id, ratio in ratios.items():
            if id in past or id.startswith(("geometry.", "closing@")):
                continue
            crossed = _crossing(thickness, np.asarray(ratio))
            if crossed is not None and (at is None or crossed > at):
                first, at = id, crossed
    return first, at


def _crossing(thickness: Array, ratio: Array) -> float | None:
    if not ratio[0] <= 1.0:
        return None
    over = np.flatnonzero(~(ratio <= 1.0))
    if not over.size:
        return None
    place = int(over[0])
    before, after = float(ratio[place - 1]), float(ratio[place])
    start, end = float(thickness[place - 1]), float(thickness[place])
    if not np.isfinite(after):
        return start
    return start + (1.0 - before) / (after - before) * (end - start)


def hand_overs(variants: Sequence[Variant]) -> tuple[HandOver, ...]:
    """Conditions in which the metal creeps: no rule set here covers them."""
    worst: dict[str, HandOver] = {}
    for one in variants:
        creep = next((check for check in one.report.checks if check.id == "creep"), None)
        if creep is None or creep.capacity is None:
            continue
        for condition in one.case.conditions:
            if condition.name.lower() == "test" or condition.temperature <= creep.capacity:
                continue
            made = _hand_over(one.report, condition.name, condition.temperature, creep.capacity)
            held = worst.get(condition.name)
            if held is None or (made.stress or 0.0) > (held.stress or 0.0):
                worst[condition.name] = made
    return tuple(worst.values())


def _hand_over(
    report: BellowsReport, condition: str, temperature: float, threshold: float
) -> HandOver:
    stresses = [
        figure.value
        for id in (f"S3@{condition}", f"S4@{condition}")
        if (figure := report.figure(id)) is not None and figure.value is not None
    ]
    ranges = [
        figure.value
        for figure in report.figures
        if figure.id.startswith("St@") and figure.value is not None
    ]
    return HandOver(
        to="creep",
        why=(
            f"Metal temperature {temperature - 273.15:.0f} °C ({condition}) is above "
            f"{threshold - 273.15:.0f} °C, where this metal begins to creep: the rule set no "
            "longer holds, and no number of cycles from it does."
        ),
        condition=condition,
        temperature=temperature,
        threshold=threshold,
        stress=sum(stresses) if stresses else None,
        range=max(ranges, default=None),
    )
