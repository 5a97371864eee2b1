"""Weigh explanations against readings: posterior, groups that cannot be told apart, next reading.

Pressure, weight and the stiffness of the pipe are taken as known.  Every explanation is followed
to first order at every temperature and friction, and the leading ones are solved again in full
at recorded temperature and nominal friction; how many is said in the result.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np
from scipy.special import logsumexp
from scipy.stats import chi2

from takeup.errors import Contradiction
from takeup.line.diagnosis.faults import NO_SIGNATURE, TEMPERATURE, Fault, faults_of
from takeup.line.diagnosis.predict import (
    FRICTION_SHARES,
    FRICTIONS,
    Model,
    exact,
    first_order,
    model,
)
from takeup.line.diagnosis.readings import ERRORS, Kind, Reading, candidates
from takeup.line.model import Line
from takeup.line.solve import Unsolved
from takeup.units import Array

CHANCE_NONE_FITS = 0.01
"""Chance of a worse misfit under which it is said that nothing fits."""


class Options(msgspec.Struct, frozen=True, kw_only=True):
    """How far readings and model are trusted; all engineering assumptions."""

    expansion: float = 0.035
    """Standard deviation of the tables of expansion and of metal temperature [-]"""
    between: float = 0.05
    """The same for each point of the grid of other temperatures, to bridge it [-]"""
    share: float = 0.03
    """Model error of each reading, of what the sound line shows there [-]"""
    floor: float = 3e-4
    """Least model error of a reading of movement [m, rad]"""
    floor_load: float = 200.0
    """Least model error of a load [N]"""
    apart: float = 1.5
    """Explanations whose predictions differ by less, in standard deviations, are one group"""
    least: float = 1e-3
    """Posterior below which an explanation is not listed"""
    pairs: bool = True
    refined_pairs: int = 60
    """Pairs followed together rather than added up"""
    solved: int = 20
    """Explanations solved in full, at most"""


class Hint(msgspec.Struct, frozen=True, kw_only=True):
    """A reading not taken yet, and what it would tell."""

    reading: Reading
    words: str
    bits: float
    """Expected information gain [bit]"""


class Explanation(msgspec.Struct, frozen=True, kw_only=True):
    """Faults that may be behind the readings; none: the line is sound."""

    faults: tuple[Fault, ...]
    prior: float
    posterior: float
    predicted: tuple[float, ...]
    """Of each reading taken, over the temperatures and frictions that fit"""
    solved: bool
    """Whether the whole line was solved again with it; otherwise first order"""
    split: str = ""
    """Which readings would tell it from the first of its group"""

    @property
    def name(self) -> str:
        """The faults in words."""
        return " and ".join(fault.name for fault in self.faults) or "all sound"


class Group(msgspec.Struct, frozen=True, kw_only=True):
    """Explanations that the readings taken cannot tell apart, likeliest first."""

    explanations: tuple[Explanation, ...]
    posterior: float
    split: tuple[Hint, ...]
    """What would tell them apart, best reading of each kind; empty for one alone"""

    @property
    def split_words(self) -> str:
        """The readings that would split the group, in words."""
        return " or ".join(hint.words for hint in self.split)


class Diagnosis(msgspec.Struct, frozen=True, kw_only=True):
    """What the readings say."""

    readings: tuple[Reading, ...]
    errors: tuple[float, ...]
    """Measurement and model together, one standard deviation, without what all share"""
    sound: tuple[float, ...]
    """What the sound line would show"""
    groups: tuple[Group, ...]
    others: float
    """Posterior of everything not listed"""
    next: Hint | None
    """The one reading that would separate the groups best"""
    rise: float
    """Temperature rise over the recorded one, posterior mean"""
    chance: float
    """Of a misfit as large as that of the best explanation, were it true"""
    tried: int
    cautions: tuple[str, ...]

    def group_of(self, *names: str) -> Group | None:
        """The group with the explanation whose faults are at ``names`` (none: all sound)."""
        for group in self.groups:
            for one in group.explanations:
                if sorted(f.place for f in one.faults) == sorted(names):
                    return group
        return None


class _Weights(msgspec.Struct, frozen=True, kw_only=True):
    """Shares of the grid and common errors, for lines at recorded temperature and not."""

    log: Array
    """(2, g)"""
    common: Array
    """(g,) standard deviation of the rise"""
    up: int
    down: int


def _weights(made: Model, options: Options) -> _Weights:
    friction = dict(zip(FRICTIONS, FRICTION_SHARES, strict=True))
    share = np.array([friction[sound.friction] for sound in made.sound])
    recorded = np.array([sound.rise == 1.0 for sound in made.sound])
    log = np.full((2, len(share)), -np.inf)
    for at, mask in enumerate((recorded, ~recorded)):
        if mask.any():
            log[at, mask] = np.log(share[mask] / share[mask].sum())
    nominal = [at for at, one in enumerate(made.sound) if one.friction == 1.0]
    rises = [made.sound[at].rise for at in nominal]
    near = [at for at in nominal if 0.8 < made.sound[at].rise < 1.2]
    if len(near) < 2:
        near = nominal
    up = max(near, key=lambda at: made.sound[at].rise)
    down = min(near, key=lambda at: made.sound[at].rise)
    if len(set(rises)) < 2:
        raise Contradiction(
            "temperatures near the recorded one lie outside the material tables; diagnosis needs "
            "them to allow for errors of expansion"
        )
    common = np.where(recorded, options.expansion, np.hypot(options.expansion, options.between))
    return _Weights(log=log, common=common, up=up, down=down)


def _likelihood(y: Array, shown: Array, slope: Array, own: Array, common: Array) -> Array:
    """Log density of readings y (k,) for shown (h, g, k): own errors and one shared (h, g)."""
    off = (y - shown) / own
    lean = (slope / own)[:, None, :]
    inner = 1.0 + common**2 * np.sum(lean**2, axis=2)
    cross = np.einsum("hgk,hgk->hg", off, np.broadcast_to(lean, off.shape))
    square = np.sum(off**2, axis=2) - common**2 * cross**2 / inner
    found = -0.5 * (square + np.log(inner)) - np.log(own).sum() - 0.5 * len(y) * np.log(2 * np.pi)
    return np.asarray(found)


class _Case:
    """One diagnosis under way."""

    def __init__(self, made: Model, taken: Array, options: Options) -> None:
        self.made, self.options, self.weights = made, options, _weights(made, options)
        self.taken = taken
        self.faults = faults_of(made.line)
        self.y = np.array([made.readings[at].value for at in taken], dtype=float)
        self.own = _own(made, options)
        self.base = first_order(made, ())
        self.cache: dict[tuple[int, ...], Array] = {(): self.base}
        self.solved: set[tuple[int, ...]] = {()}
        self.unsettled: list[str] = []

    def warm(self, key: tuple[int, ...]) -> int:
        return int(any(self.faults[at].place == TEMPERATURE for at in key))

    def prior(self, key: tuple[int, ...]) -> float:
        return float(sum(np.log(f.prior) - np.log1p(-f.prior) for f in map(self.get, key)))

    def get(self, at: int) -> Fault:
        return self.faults[at]

    def slope(self, shown: Array) -> Array:
        """Change of readings by unit rise, of each explanation (h, k)."""
        up, down = self.weights.up, self.weights.down
        apart = self.made.sound[up].rise - self.made.sound[down].rise
        return np.asarray((shown[:, up] - shown[:, down]) / apart)

    def weigh(self, keys: Sequence[tuple[int, ...]], shown: Array) -> Array:
        """Log prior and likelihood at every point of the grid (h, g) for taken readings."""
        found = _likelihood(self.y, shown, self.slope(shown), self.own[self.taken],
                            self.weights.common)  # fmt: skip
        log = self.weights.log[[self.warm(key) for key in keys]]
        prior = np.array([self.prior(key) for key in keys])
        return np.asarray(found + log + prior[:, None])

    def shown(self, key: tuple[int, ...]) -> Array:
        if key not in self.cache:
            self.cache[key] = first_order(self.made, [self.faults[at] for at in key])
        return self.cache[key]

    def solve(self, key: tuple[int, ...]) -> None:
        """Correct an explanation by the full solution, at every point of the grid alike."""
        if key in self.solved:
            return
        self.solved.add(key)
        shown = self.shown(key)
        try:
            full = exact(self.made, [self.faults[at] for at in key])
        except Unsolved:
            self.unsettled.append(" and ".join(self.faults[at].name for at in key))
            return
        self.cache[key] = shown + (full - shown[0])

    def lead(self, keys: Sequence[tuple[int, ...]], shown: Array, most: int) -> int:
        """Solve the leading explanations among ``keys``; how many were."""
        total = logsumexp(self.weigh(keys, shown), axis=1)
        total -= logsumexp(total)
        wanted = [keys[at] for at in np.argsort(-total)[: 2 * most] if total[at] > np.log(0.003)]
        wanted = [key for key in wanted if self.acts(key) and key not in self.solved][:most]
        for key in wanted:
            self.solve(key)
        return len(wanted)

    def acts(self, key: tuple[int, ...]) -> bool:
        return any(self.faults[at].place != TEMPERATURE for at in key)


def _own(made: Model, options: Options) -> Array:
    """Measurement and model error of every reading (k,)."""
    sound = np.abs(made.sound[0].values)
    found = np.zeros(len(sound))
    for at, reading in enumerate(made.readings):
        load = reading.kind == Kind.LOAD
        error = reading.error
        if error is None:
            error = max(0.1 * sound[at], 500.0) if load else ERRORS[reading.kind]
        floor = options.floor_load if load else options.floor
        size = sound[at] if reading.kind != Kind.GAP else 0.0
        found[at] = np.sqrt(error**2 + floor**2 + (options.share * size) ** 2)
    return found


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
    taken = np.array(
        [at for at, reading in enumerate(made.readings) if reading.value is not None], dtype=int
    )
    case = _Case(made, taken, options)
    keys: list[tuple[int, ...]] = [(), *((at,) for at in range(len(case.faults)))]
    singles = np.stack([case.shown(key)[:, taken] for key in keys])
    left = options.solved - case.lead(keys, singles, options.solved // 2)
    singles = np.stack([case.shown(key)[:, taken] for key in keys])
    shown = singles
    if options.pairs:
        pairs: list[tuple[int, ...]] = [
            pair
            for pair in itertools.combinations(range(len(case.faults)), 2)
            if case.faults[pair[0]].place != case.faults[pair[1]].place
        ]
        if pairs:
            shown = _with_pairs(case, keys, pairs, singles)
            keys = [*keys, *pairs]
    for _ in range(2):
        left -= case.lead(keys, shown, max(left, 0))
        _refresh(case, keys, shown)
    weight = case.weigh(keys, shown)
    total = logsumexp(weight, axis=1)
    whole = float(logsumexp(total))
    return _report(case, keys, shown, weight - whole, np.exp(total - whole))


def _refresh(case: _Case, keys: Sequence[tuple[int, ...]], shown: Array) -> None:
    for at, key in enumerate(keys):
        if key in case.cache:
            shown[at] = case.cache[key][:, case.taken]


def _with_pairs(
    case: _Case, keys: Sequence[tuple[int, ...]], pairs: Sequence[tuple[int, ...]], singles: Array
) -> Array:
    """Singles and pairs: added up, the leading ones followed together."""
    first, second = np.array(pairs).T
    added = singles[1 + first] + singles[1 + second] - singles[:1]
    total = logsumexp(case.weigh(pairs, added), axis=1)
    for at in np.argsort(-total)[: case.options.refined_pairs]:
        added[at] = case.shown(pairs[at])[:, case.taken]
    return np.concatenate([singles, added])


def _report(
    case: _Case, keys: Sequence[tuple[int, ...]], shown: Array, weight: Array, posterior: Array
) -> Diagnosis:
    made, options, taken = case.made, case.options, case.taken
    order = [int(at) for at in np.argsort(-posterior)]
    listed = [at for at in order if posterior[at] > options.least][:60]
    full = np.stack([case.shown(keys[at]) for at in listed])
    grid = np.exp(weight[listed] - logsumexp(weight[listed], axis=1, keepdims=True))
    mean, spread = _ahead(case, full, grid)
    values = np.einsum("hg,hgk->hk", grid, full)
    slope = case.slope(full)
    members = _groups(values[:, taken], slope[:, taken], case.own[taken], options)
    chances = posterior[listed]
    free = np.setdiff1d(np.arange(len(made.readings)), taken)
    norm = float(np.exp(-logsumexp([case.prior(key) for key in keys])))
    groups = []
    for member in members:
        split = _split(case, mean[member], spread[member], chances[member], free)
        explanations = tuple(
            Explanation(
                faults=tuple(case.faults[i] for i in keys[listed[at]]),
                prior=float(np.exp(case.prior(keys[listed[at]]))) * norm,
                posterior=float(chances[at]),
                predicted=tuple(float(v) for v in values[at, taken]),
                solved=not case.acts(keys[listed[at]]) or keys[listed[at]] in case.solved,
                split=_tell(case, values[[member[0], at]], free) if at != member[0] else "",
            )
            for at in member
        )
        groups.append(
            Group(explanations=explanations, posterior=float(chances[member].sum()), split=split)
        )
    labels = np.zeros(len(listed), dtype=int)
    for number, member in enumerate(members):
        labels[member] = number
    hints = _gains(case, mean, spread, chances, labels, free)
    rises = np.array([one.rise for one in made.sound])
    chance = _chance(case, shown)
    others = float(max(0.0, 1.0 - chances.sum()))
    return Diagnosis(
        readings=tuple(made.readings[at] for at in taken),
        errors=tuple(float(v) for v in case.own[taken]),
        sound=tuple(float(v) for v in case.base[0, taken]),
        groups=tuple(sorted(groups, key=lambda group: -group.posterior)),
        others=others,
        next=hints[0] if hints and len(members) > 1 else None,
        rise=float(np.sum(np.exp(weight) * rises)),
        chance=chance,
        tried=len(keys),
        cautions=_cautions(case, chance, others),
    )


def _chance(case: _Case, shown: Array) -> float:
    """Of a misfit as large as the least of all explanations."""
    found = _likelihood(case.y, shown, case.slope(shown), case.own[case.taken],
                        case.weights.common)  # fmt: skip
    lean = case.slope(shown) / case.own[case.taken]
    inner = 1.0 + case.weights.common**2 * np.sum(lean**2, axis=1)[:, None]
    constant = np.log(case.own[case.taken]).sum() + 0.5 * len(case.y) * np.log(2 * np.pi)
    square = -2.0 * (found + constant) - np.log(inner)
    return float(chi2.sf(square.min(), len(case.y)))


def _cautions(case: _Case, chance: float, others: float) -> tuple[str, ...]:
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
    if case.unsettled:
        found.append("did not come to rest and stand to first order: " + "; ".join(case.unsettled))
    if case.made.dropped:
        found.append("left out of the grid: " + "; ".join(case.made.dropped))
    return tuple(found)


def _ahead(case: _Case, full: Array, grid: Array) -> tuple[Array, Array]:
    """Mean and standard deviation of every reading to come, by explanation (h, k)."""
    slope, own = case.slope(full), case.own
    lean = slope[:, case.taken] / own[case.taken]
    common = case.weights.common
    inner = 1.0 / common**2 + np.sum(lean**2, axis=1)[:, None]
    off = (case.y - full[:, :, case.taken]) / own[case.taken]
    rise = np.einsum("hgk,hk->hg", off, lean) / inner
    at = full + rise[:, :, None] * slope[:, None, :]
    mean = np.einsum("hg,hgk->hk", grid, at)
    square = own**2 + np.einsum("hg,hgk->hk", grid, (at - mean[:, None]) ** 2)
    square += np.einsum("hg,hg->h", grid, 1.0 / inner)[:, None] * slope**2
    return mean, np.sqrt(square)


def _groups(values: Array, slope: Array, own: Array, options: Options) -> list[list[int]]:
    """Explanations, likeliest first, gathered about leaders that they cannot be told from."""
    left = list(range(len(values)))
    found = []
    while left:
        leader = left[0]
        off = (values[left] - values[leader]) / own
        lean = slope[leader] / own
        inner = 1.0 / options.expansion**2 + lean @ lean
        square = np.sum(off**2, axis=1) - (off @ lean) ** 2 / inner
        near = [at for at, far in zip(left, square, strict=True) if far < options.apart**2]
        found.append(near)
        left = [at for at in left if at not in near]
    return found


def _density(y: Array, mean: Array, spread: Array, share: Array) -> Array:
    """Mixture density at y (n, k) of h normals (h, k)."""
    z = (y[None] - mean[:, None]) / spread[:, None]
    return np.asarray(np.einsum("h,hnk->nk", share, np.exp(-0.5 * z**2) / spread[:, None]))


def _gains(
    case: _Case, mean: Array, spread: Array, chances: Array, labels: Any, free: Array
) -> list[Hint]:
    """Expected information about ``labels`` by each reading not taken, best first."""
    if not len(free) or len(set(labels.tolist())) < 2:
        return []
    mean, spread, share = mean[:, free], spread[:, free], chances / chances.sum()
    low, high = (mean - 4.0 * spread).min(axis=0), (mean + 4.0 * spread).max(axis=0)
    # Points lie close where any explanation has its bulk, wherever the others are.
    steps = np.linspace(-4.0, 4.0, 17)
    near = (mean[:, None] + spread[:, None] * steps[None, :, None]).reshape(-1, len(free))
    y = np.sort(np.concatenate([near, np.linspace(low, high, 61)]), axis=0)
    if len(y) > 400:
        y = y[:: len(y) // 400 + 1]
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
    case: _Case, mean: Array, spread: Array, chances: Array, free: Array
) -> tuple[Hint, ...]:
    """The best reading of each kind to tell the members of a group apart."""
    if len(mean) < 2:
        return ()
    hints = _gains(case, mean, spread, chances, np.arange(len(mean)), free)
    best: dict[Kind, Hint] = {}
    for hint in hints:
        best.setdefault(hint.reading.kind, hint)
    return tuple(hint for hint in best.values() if hint.bits > 0.02)


def _tell(case: _Case, values: Array, free: Array) -> str:
    """Readings that set one explanation apart from another, the best of each kind."""
    far = np.abs(values[1] - values[0])[free] / case.own[free]
    best: dict[Kind, int] = {}
    for at in np.argsort(-far):
        if far[at] > 2.0:
            best.setdefault(case.made.readings[free[at]].kind, int(free[at]))
    if not best:
        return "no reading known here; look at it on site"
    return " or ".join(case.made.readings[at].words for at in best.values())
