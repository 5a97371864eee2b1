"""Rank explanations: posterior, groups that cannot be told apart, next reading.

Pressure, weight and the stiffness of the pipe are taken as known.  Every single fault and the
leading pairs are solved in full; how much of the posterior that covers is said in the result.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np
from scipy.special import chdtrc

from takeup.errors import Contradiction
from takeup.line.diagnosis.faults import NO_SIGNATURE
from takeup.line.diagnosis.predict import Model, model
from takeup.line.diagnosis.readings import Kind, Reading, candidates
from takeup.line.diagnosis.results import Diagnosis, Explanation, Group, Hint
from takeup.line.diagnosis.weigh import Options, Told, Weighed
from takeup.line.model import Line
from takeup.units import Array

CHANCE_NONE_FITS = 0.01
"""Chance of a worse misfit under which it is said that nothing fits."""
COVERED = 0.999
"""Posterior that the groups listed cover, if fewer than :data:`MOST` do."""
MOST = 40
NAMED = 60
"""Explanations named in all, at most."""
HINTS = 8
FINE = 200
"""Points at which densities of a reading to come are summed up."""
WORTH = 0.02
"""Information below which a reading is not worth the way [bit]."""


def diagnose(
    line: Line,
    readings: Sequence[Reading],
    *,
    cold: str = "",
    hot: str = "",
    moduli: dict[str, float] | None = None,
    options: Options | None = None,
) -> Diagnosis:
    """Rank what may be wrong with ``line`` by ``readings`` taken on it.

    Faults come singly and in pairs, with the priors of ``priors.csv`` (engineering assumptions).
    Readings without a value are not taken as evidence, only as what could be read next; so are
    all of :func:`candidates`.  Raises :class:`takeup.errors.Contradiction` without any value or
    with an error that is not positive, :class:`takeup.errors.UnknownName` for places that the
    line has not, and what :func:`takeup.line.diagnosis.predict.model` raises.
    """
    wanted = check(readings)
    known = {reading.key for reading in wanted}
    every = (*wanted, *(one for one in candidates(line) if one.key not in known))
    return judge(model(line, every, cold=cold, hot=hot, moduli=moduli), options or Options())


def check(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """The readings, refused where they cannot be evidence."""
    seen = set()
    for reading in readings:
        if reading.key in seen:
            raise Contradiction(f"{reading.words} is given twice; give one value with its error")
        seen.add(reading.key)
        if reading.error is not None and not reading.error > 0.0:
            raise Contradiction(f"{reading.words}: its error must be above zero")
        if reading.value is not None and not np.isfinite(reading.value):
            raise Contradiction(f"{reading.words}: its value is not a number")
    if not any(reading.value is not None for reading in readings):
        raise Contradiction("no reading has a value; give one measured movement at least")
    return tuple(readings)


def judge(made: Model, options: Options) -> Diagnosis:
    """Weigh the readings with values in ``made``; see :func:`diagnose`."""
    return report(Weighed(made, options))


class Parted(msgspec.Struct, frozen=True, kw_only=True):
    """All explanations in groups."""

    label: Any
    """Group of each explanation, -1: in none listed (h,)"""
    posterior: Array
    """Of each group, likeliest first"""


def part(case: Weighed) -> Parted:
    """Gather explanations about leaders that they cannot be told from, likeliest first."""
    posterior = case.posterior
    label = np.full(len(posterior), -1)
    own = case.own[case.taken]
    found: list[float] = []
    order = np.argsort(-posterior)
    for leader in order:
        if label[leader] >= 0:
            continue
        if len(found) >= MOST or (found and sum(found) > COVERED):
            break
        left = np.flatnonzero(label < 0)
        far = np.sum(((case.fit[left] - case.fit[leader]) / own) ** 2, axis=1)
        member = left[far < case.options.apart**2]
        label[member] = len(found)
        found.append(float(posterior[member].sum()))
    ranked = np.argsort(-np.array(found), kind="stable")
    place = np.empty(len(found) + 1, dtype=int)
    place[ranked] = np.arange(len(found))
    place[-1] = -1
    return Parted(label=place[label], posterior=np.array(found)[ranked])


def report(case: Weighed) -> Diagnosis:
    """Put weighed explanations into words."""
    options, made, taken = case.options, case.made, case.taken
    posterior, parted = case.posterior, part(case)
    named = [
        int(at)
        for at in np.argsort(-posterior)
        if posterior[at] > options.least and parted.label[at] >= 0
    ][:NAMED]
    for number in range(len(parted.posterior)):
        own = np.flatnonzero(parted.label == number)
        first = int(own[np.argmax(posterior[own])])
        if first not in named:
            named.append(first)
    told = case.told(named)
    chances = posterior[named]
    free = np.setdiff1d(np.arange(len(made.readings)), taken)
    groups = tuple(
        _group(case, parted, number, named, told, free) for number in range(len(parted.posterior))
    )
    hints = _gains(case, told.fit, told.spread, chances, np.arange(len(named)), free)
    chance = float(chdtrc(len(taken), told.square.min()))
    others = float(max(0.0, 1.0 - parted.posterior.sum()))
    return Diagnosis(
        readings=tuple(made.readings[at] for at in taken),
        errors=tuple(float(v) for v in case.own[taken]),
        sound=tuple(float(v) for v in case.base[0, taken]),
        groups=groups,
        others=others,
        next=hints[0] if hints and hints[0].bits > WORTH else None,
        rise=float(chances @ told.rise / chances.sum()),
        chance=chance,
        tried=len(case.keys),
        cautions=_cautions(case, chance, others),
        hints=tuple(hints[:HINTS]),
        solved=1.0 - case.added,
        solved_count=int(case.exact.sum()),
    )


def _group(
    case: Weighed, parted: Parted, number: int, named: Sequence[int], told: Told, free: Any
) -> Group:
    posterior, taken = case.posterior, case.taken
    member = [at for at, one in enumerate(named) if parted.label[one] == number]
    member.sort(key=lambda at: -posterior[named[at]])
    chances = posterior[[named[at] for at in member]]
    explanations = tuple(
        Explanation(
            faults=case.of(named[at]),
            prior=float(np.exp(case.prior[named[at]])),
            posterior=float(posterior[named[at]]),
            predicted=tuple(float(v) for v in told.fit[at, taken]),
            spread=tuple(float(v) for v in told.spread[at, taken]),
            solved=bool(case.exact[named[at]]),
            split=_tell(case, told.fit[[member[0], at]], free) if at != member[0] else "",
            rise=float(told.rise[at]),
            chance=float(chdtrc(len(taken), told.square[at])),
        )
        for at in member
    )
    return Group(
        explanations=explanations,
        posterior=float(parted.posterior[number]),
        split=_split(case, told.fit[member], told.spread[member], chances, free),
        unnamed=int((parted.label == number).sum()) - len(member),
        unnamed_posterior=float(max(0.0, parted.posterior[number] - chances.sum())),
    )


def _cautions(case: Weighed, chance: float, others: float) -> tuple[str, ...]:
    found = [
        "priors and model errors are engineering assumptions; the posterior is as good as they "
        "are, and no explanation stands before it was looked at on site",
        NO_SIGNATURE,
    ]
    if chance < CHANCE_NONE_FITS:
        found.append(
            f"no single fault or pair fits the readings: a misfit as large has a chance of "
            f"{chance:.1g}; check the readings, the line as drawn, or think of something else"
        )
    if others > 0.2:
        found.append(f"{others:.0%} of the posterior is spread over explanations not listed")
    if case.added > case.options.added:
        found.append(
            f"{case.added:.0%} of the posterior rests on pairs whose faults were added up, not "
            "solved together; it may shift by a part of that"
        )
    if case.apart:
        found.append(
            f"{case.apart} pairs whose faults act on each other were left as the sum of the two; "
            "one of them might fit better than it seems"
        )
    if case.unsettled:
        found.append(
            "did not come to rest (single faults are left out, pairs are added up): "
            + "; ".join(case.unsettled)
        )
    if case.made.dropped:
        found.append("left out of the grid: " + "; ".join(case.made.dropped))
    return tuple(found)


def _density(y: Array, mean: Array, spread: Array, share: Array) -> Array:
    """Mixture density at y (n, k) of h normals (h, k)."""
    z = (y[None] - mean[:, None]) / spread[:, None]
    return np.asarray(np.einsum("h,hnk->nk", share, np.exp(-0.5 * z**2) / spread[:, None]))


def _gains(
    case: Weighed, mean: Array, spread: Array, chances: Array, labels: Any, free: Any
) -> list[Hint]:
    """Expected information about ``labels`` by each reading not taken, best first."""
    if not len(free) or len(set(labels.tolist())) < 2:
        return []
    mean, spread, share = mean[:, free], spread[:, free], chances / chances.sum()
    low, high = (mean - 4.0 * spread).min(axis=0), (mean + 4.0 * spread).max(axis=0)
    # Points lie close where any explanation has its bulk, wherever the others are.
    steps = np.linspace(-4.0, 4.0, 9)
    near = (mean[:, None] + spread[:, None] * steps[None, :, None]).reshape(-1, len(free))
    y = np.sort(np.concatenate([near, np.linspace(low, high, 61)]), axis=0)
    if len(y) > FINE:
        y = y[:: len(y) // FINE + 1]
    whole = _density(y, mean, spread, share)
    bits = -_entropy_part(y, whole)
    for label in set(labels.tolist()):
        own = labels == label
        part = _density(y, mean[own], spread[own], share[own])
        total = share[own].sum()
        bits = bits + _entropy_part(y, part / total) * total
    gain = np.maximum(bits, 0.0) / (np.log(2.0) * np.sqrt(2.0 * np.pi))
    return [
        Hint(
            reading=case.made.readings[free[at]],
            words=case.made.readings[free[at]].words,
            bits=float(gain[at]),
        )
        for at in np.argsort(-gain)
    ]


def _entropy_part(y: Array, p: Array) -> Array:
    """Integral of p log p; the constant of all densities falls out of the differences."""
    inside = p * np.log(np.maximum(p, 1e-300))
    return np.asarray(np.trapezoid(inside, y, axis=0))


def _split(
    case: Weighed, mean: Array, spread: Array, chances: Array, free: Any
) -> tuple[Hint, ...]:
    """The best reading of each kind to tell the members of a group apart."""
    if len(mean) < 2:
        return ()
    hints = _gains(case, mean, spread, chances, np.arange(len(mean)), free)
    best: dict[Kind, Hint] = {}
    for hint in hints:
        best.setdefault(hint.reading.kind, hint)
    return tuple(hint for hint in best.values() if hint.bits > WORTH)


def _tell(case: Weighed, values: Array, free: Any) -> str:
    """Readings that set one explanation apart from another, the best of each kind."""
    far = np.abs(values[1] - values[0])[free] / case.own[free]
    best: dict[Kind, int] = {}
    for at in np.argsort(-far):
        if far[at] > 2.0:
            best.setdefault(case.made.readings[free[at]].kind, int(free[at]))
    if not best:
        return "no reading known here; look at it on site"
    return " or ".join(case.made.readings[at].words for at in best.values())
