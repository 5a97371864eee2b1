"""The study itself: samples through the array engine, and what they say of each check."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from takeup.bellows import arrays, evaluate
from takeup.bellows.model import BellowsCase, BellowsReport
from takeup.bellows.uncertainty import drivers, inputs
from takeup.bellows.uncertainty import sampling as layouts
from takeup.bellows.uncertainty.model import (
    CheckSpread,
    Direction,
    Driver,
    Sampling,
    Share,
    Spread,
    UncertaintyReport,
)
from takeup.checks import Check, Outcome
from takeup.errors import Contradiction
from takeup.sources import Source, Standing
from takeup.units import Array

IDLE = 8
"""Columns of points that nothing depends on: they show what chance looks like."""
LEVELS = (0.05, 0.5, 0.95)
ENOUGH = 2**16
"""Samples from which drivers are told; more would not sharpen a share by a tenth of a per cent."""
FEWEST = 256
"""Evaluated samples below which nothing is said of drivers."""
CAUTIONS = (
    "These are the tolerances of the inputs, not the error of the formulas: the share of samples "
    "that fail is no claim of reliability.",
    "Inputs are drawn independently of each other; what moves together has one spread.",
    "The 95 % interval is that of as many independent samples: scatter of sampling only. Sobol "
    "points repeat more closely than it says.",
    "What drives a check is the share of the variance of the rank of its ratio that each input "
    "explains alone; it holds for the spreads given and changes with them.",
    "Cautions of each check stand in the report of the case and hold here too.",
)
TOUCHING = Source(
    document="Takeup",
    at="clear gap q - 2 rm - n t against the movement that closes a convolution",
    standing=Standing.DERIVED,
)
OPEN = "metal temperature outside a table or in the creep range"


def spread(
    case: BellowsCase,
    spreads: Sequence[Spread],
    *,
    samples: int = 2**14,
    seed: int,
    sampling: Sampling = Sampling.SOBOL,
) -> UncertaintyReport:
    """Sample the inputs of a case within their spreads and say which checks fail how often.

    The same case, spreads, samples and seed give the same report.  Raises as
    :func:`takeup.bellows.evaluate` does for a case that cannot be true, and
    :class:`takeup.errors.Contradiction`, :class:`takeup.errors.UnknownName`,
    :class:`takeup.errors.MissingInput` or :class:`takeup.errors.OutOfRange` for spreads that
    say nothing, reach nothing or reach one number twice.
    """
    given = evaluate(case)
    if not spreads:
        raise Contradiction("no spread is given: name at least one input and how far it may lie")
    u = layouts.points(samples, len(spreads) + IDLE, seed=seed, sampling=sampling)
    shift = inputs.shifts(case, spreads, u)
    problem, bad, impossible = inputs.sampled(case, shift, samples)
    whole = arrays.problem_for(case)
    nominal = arrays.solve(whole).ratios | inputs.touching(case, whole)
    told = _told(given, nominal)
    ratios = arrays.solve(problem, wanted=frozenset(told)).ratios | inputs.touching(case, problem)
    values = np.column_stack([np.broadcast_to(ratios[id], samples)[~bad] for id in told])
    checks = _checks(told, spreads, nominal, values, u[~bad])
    return UncertaintyReport(
        name=case.name,
        basis=given.basis,
        samples=samples,
        sampling=sampling,
        seed=seed,
        spreads=tuple(spreads),
        held=inputs.held(case, shift),
        impossible=impossible,
        checks=checks,
        any_check=_any(values),
        cautions=(*CAUTIONS, *inputs.cautions(case, shift)),
    )


def _any(values: Array) -> Share | None:
    """Samples in which at least one check fails; open where none fails but one is open."""
    answered = values[:, ~np.isnan(values).all(axis=0)]
    if not answered.size:
        return None
    failing = np.where(np.isnan(answered), False, answered > 1.0).any(axis=1)
    open_ = np.isnan(answered).any(axis=1) & ~failing
    return drivers.share(int(failing.sum()), len(values), int(open_.sum()))


def _told(given: BellowsReport, ratios: dict[str, Array]) -> dict[str, Check]:
    """Checks to follow, by id: those that the report of the case names, and touching."""
    found = {
        check.id: check
        for check in given.checks
        if check.id in ratios and check.outcome != Outcome.DOES_NOT_APPLY
    }
    touching = {
        id: Check(id=id, name="Convolutions kept apart", outcome=Outcome.MET, source=TOUCHING)
        for id in ratios
        if id.startswith(inputs.TOUCHING)
    }
    return found | touching


def _named(check: Check) -> str:
    _, _, where = check.id.partition("@")
    return f"{check.name} ({where})" if where else check.name


def _checks(
    told: dict[str, Check],
    spreads: Sequence[Spread],
    nominal: dict[str, Array],
    values: Array,
    u: Array,
) -> tuple[CheckSpread, ...]:
    # A check that the report leaves open for want of an input stays open in every sample.
    for column, check in enumerate(told.values()):
        if check.outcome == Outcome.NOT_EVALUATED and np.isfinite(nominal[check.id]):
            values[:, column] = np.nan
    known = ~np.isnan(values)
    behind = _drivers(spreads, values, known, u)
    found = []
    for column, check in enumerate(told.values()):
        count, here = len(values), values[known[:, column], column]
        ratio = float(nominal[check.id])
        levels = np.quantile(here, LEVELS, method="inverted_cdf") if len(here) else None
        found.append(
            CheckSpread(
                id=check.id,
                name=_named(check),
                source=check.source,
                outcome=check.outcome,
                nominal=None if np.isnan(ratio) else ratio,
                share=drivers.share(int((here > 1.0).sum()), count, count - len(here))
                if len(here)
                else None,
                low=None if levels is None else float(levels[0]),
                median=None if levels is None else float(levels[1]),
                high=None if levels is None else float(levels[2]),
                drivers=behind[column][0],
                together=behind[column][1],
                noise=behind[column][2],
                because=OPEN if len(here) else (check.because or OPEN),
            )
        )
    return tuple(sorted(found, key=_urgency))


def _urgency(check: CheckSpread) -> tuple[float, float]:
    if check.share is None:
        return (1.0, 0.0)
    return (-check.share.value, -(check.high or 0.0))


def _drivers(
    spreads: Sequence[Spread], values: Array, known: Array, u: Array
) -> list[tuple[tuple[Driver, ...], float, float]]:
    """Per check: drivers that stand out from chance, the share that is left, the noise."""
    values, known, u = values[:ENOUGH], known[:ENOUGH], u[:ENOUGH]
    found: list[tuple[tuple[Driver, ...], float, float]] = [((), 0.0, 0.0)] * values.shape[1]
    masks: dict[bytes, list[int]] = {}
    for column in range(values.shape[1]):
        masks.setdefault(known[:, column].tobytes(), []).append(column)
    for columns in masks.values():
        rows = known[:, columns[0]]
        if rows.sum() < FEWEST:
            continue
        ranked = drivers.ranks(values[rows][:, columns])
        x, idle = u[rows][:, : len(spreads)], u[rows][:, len(spreads) :]
        shares, noise = drivers.first_order(x, idle, ranked)
        turns = drivers.correlations(drivers.ranks(x), ranked)
        for place, column in enumerate(columns):
            found[column] = _ordered(spreads, shares[:, place], turns[:, place], noise[place])
    return found


def _ordered(
    spreads: Sequence[Spread], shares: Array, turns: Array, noise: float
) -> tuple[tuple[Driver, ...], float, float]:
    clear = [
        Driver(
            input=spread.input,
            words=spread.words,
            share=min(1.0, float(share)),
            direction=_direction(float(share), float(turn)),
            correlation=float(turn),
        )
        for spread, share, turn in zip(spreads, shares, turns, strict=True)
        if share > noise
    ]
    clear.sort(key=lambda driver: -driver.share)
    together = max(0.0, 1.0 - sum(driver.share for driver in clear)) if clear else 0.0
    return tuple(clear), together, float(noise)


def _direction(share: float, turn: float) -> Direction:
    """A share that correlation explains less than half of turns both ways."""
    if turn * turn < 0.5 * share:
        return Direction.EITHER
    return Direction.RAISES if turn > 0.0 else Direction.LOWERS
