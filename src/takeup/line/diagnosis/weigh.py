"""Likelihood of explanations, and which of them are worth solving in full.

Every single fault is solved in full.  A pair starts as the sum of its two; the likeliest pairs
are then solved in full, until no more than a stated share of the posterior rests on sums.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np
from scipy.special import logsumexp

from takeup.line.diagnosis.faults import TEMPERATURE, Fault, faults_of
from takeup.line.diagnosis.follow import coupling, follow, not_in_sum
from takeup.line.diagnosis.nuisance import Nodes, between, other, recorded
from takeup.line.diagnosis.predict import Model
from takeup.line.diagnosis.readings import ERRORS, Kind
from takeup.units import Array

CHUNK = 3000
"""Explanations weighed at once, to stay within a few hundred megabytes."""
ASKED = 6000
"""Pairs that the line is asked about, at most."""
RESTED = 800
"""Of them, brought to rest together once, at most."""
AGREES = 0.15
"""Change of the readings, in standard deviations, under which a sum of two faults stands."""
STABLE = 0.002
"""Share of the posterior that moved by the last pairs solved, under which no more are."""
TRIES = 8
"""Times that leading pairs are solved and all are ranked again."""


class Options(msgspec.Struct, frozen=True, kw_only=True):
    """How far readings and model are trusted; all engineering assumptions."""

    expansion: float = 0.035
    """Standard deviation of the tables of expansion and of metal temperature [-]"""
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
    solved: int = 240
    """Pairs solved in full, at most"""
    added: float = 0.02
    """Share of the posterior that may rest on pairs that are only added up"""


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """What explanations say once the readings taken are known."""

    fit: Array
    """Readings at the temperatures and frictions that fit (h, k)"""
    spread: Array
    """Standard deviation of readings to come (h, k)"""
    rise: Array
    """Temperature rise over recorded (h,)"""
    square: Array
    """Least misfit, in standard deviations squared (h,)"""


class Weighed:
    """Explanations of one set of readings, with their weights."""

    def __init__(self, made: Model, options: Options) -> None:
        self.made, self.options = made, options
        self.taken = np.array(
            [at for at, reading in enumerate(made.readings) if reading.value is not None],
            dtype=np.intp,
        )
        self.y = np.array([made.readings[at].value for at in self.taken], dtype=float)
        self.own = _own(made, options)
        self.base = made.values - made.record
        self.nodes = (
            recorded(made.points, options.expansion),
            other(made.points, options.expansion),
        )
        self.unsettled: list[str] = []
        self.faults = self._singles()
        self.keys = self._keys()
        none = len(self.faults)
        self.pair = np.array([(*key, none, none)[:2] for key in self.keys], dtype=np.intp)
        """Both faults of each explanation, one more than there are where it has fewer"""
        self.warm: Any = np.append([self.hot(at) for at in range(none)], False)[self.pair].any(
            axis=1
        )
        self.prior = self._priors()
        self.exact: Any = self.pair[:, 1] == none
        self.solutions: dict[int, Array] = {}
        self.beside: dict[int, Array] = {}
        self.apart = 0
        """Pairs that are more than their sum and were left as one"""
        self.sound_memory = np.stack([step.memory[0] for step in made.steps])
        self.log = np.zeros(len(self.keys))
        self.fit = np.zeros((len(self.keys), len(self.taken)))
        self._weigh(np.arange(len(self.keys)))
        self._solve()

    def hot(self, fault: int) -> bool:
        """Whether a fault is another temperature."""
        return self.faults[fault].place == TEMPERATURE

    @property
    def posterior(self) -> Array:
        """Of every explanation (h,)."""
        return np.asarray(np.exp(self.log - logsumexp(self.log)))

    @property
    def added(self) -> float:
        """Share of the posterior that rests on pairs that are only added up."""
        return float(self.posterior[~self.exact].sum())

    def of(self, at: int) -> tuple[Fault, ...]:
        """The faults of an explanation."""
        return tuple(self.faults[one] for one in self.keys[at])

    def _singles(self) -> tuple[Fault, ...]:
        """Solve every single fault about the recorded temperature and nominal friction."""
        every = faults_of(self.made.line)
        points = self.made.points
        near = [at for at, (rise, _) in enumerate(points) if 0.9 < rise < 1.1]
        self.cross = [at for at in near if points[at][0] == 1.0 or points[at][1] == 1.0]
        found = follow(self.made, [(one,) for one in every], self.cross, patient=False)
        rests = found.good[:, 0]
        self.unsettled += [one.name for one, yes in zip(every, rests, strict=True) if not yes]
        effect = _spread_out(points, self.cross, found.values[rests], found.good[rests])
        self.single, self.push = effect, found.push[rests]
        self.memory = found.memory[rests, :, 0]
        return tuple(one for one, yes in zip(every, rests, strict=True) if yes)

    def _keys(self) -> list[tuple[int, ...]]:
        count = len(self.faults)
        keys: list[tuple[int, ...]] = [(), *((at,) for at in range(count))]
        if self.options.pairs:
            place = [one.place for one in self.faults]
            keys += [
                (a, b) for a, b in itertools.combinations(range(count), 2) if place[a] != place[b]
            ]
        return keys

    def _priors(self) -> Array:
        each = np.array([*(np.log(f.prior) - np.log1p(-f.prior) for f in self.faults), 0.0])
        found = each[self.pair].sum(axis=1)
        return np.asarray(found - logsumexp(found))

    def effect(self, at: int) -> Array:
        """What an explanation changes in the readings at every point (g, k)."""
        if at in self.solutions:
            return self.solutions[at]
        found = np.zeros_like(self.base)
        for one in self.keys[at]:
            found = found + self.single[one]
        return found + self.beside.get(at, 0.0)

    def _effects(self, which: Any, points: Any) -> Array:
        """Of many explanations, on the readings taken (h, g, k)."""
        single = np.concatenate(
            [self.single, np.zeros((1, *self.single.shape[1:]))]
        )[:, points][:, :, self.taken]  # fmt: skip
        first, second = self.pair[which].T
        found = single[first] + single[second]
        for order, at in enumerate(which):
            if at in self.solutions:
                found[order] = self.solutions[at][points][:, self.taken]
            elif at in self.beside:
                found[order] += self.beside[at][self.taken]
        return np.asarray(found)

    def _weigh(self, which: Any) -> None:
        """Log of prior times likelihood, and what they show."""
        for kind in (False, True):
            own = which[self.warm[which] == kind]
            nodes = self.nodes[int(kind)]
            for start in range(0, len(own), CHUNK):
                part = own[start : start + CHUNK]
                shown = self.base[nodes.points][:, self.taken] + self._effects(part, nodes.points)
                seen = look(nodes, shown, self.y, self.own[self.taken])
                log = seen.log + nodes.log
                total = logsumexp(log, axis=1)
                self.log[part] = self.prior[part] + total
                weight = np.exp(log - total[:, None])
                self.fit[part] = (weight[:, None, :] @ seen.fit)[:, 0]

    def _solve(self) -> None:
        """Ask the line about sums; solve the leading pairs it does not agree with.

        It ends where little rests on sums, or where forty more solved pairs moved next to nothing.
        """
        self._ask_sums()
        left = self.options.solved
        for _ in range(TRIES):
            chance = np.where(self.exact, 0.0, self.posterior)
            if chance.sum() <= self.options.added or left <= 0:
                break
            order = np.argsort(-chance)[: min(left, 40)]
            order = order[chance[order] > 1e-5]
            if not len(order):
                break
            before = self.posterior
            self._solve_in_full(order)
            left -= len(order)
            if 0.5 * np.abs(self.posterior - before).sum() < STABLE:
                break

    def _ask_sums(self) -> None:
        """Where the sum of two solutions solves the line with both faults, it stands.

        Elsewhere both are brought to rest together as recorded and at nominal friction.  Those
        that may matter come first: a pair that is more than its sum may fit as well as anything
        does, whatever its sum says.
        """
        pairs = np.flatnonzero(~self.exact & ~self.warm)
        if not len(pairs):
            return
        first, second = self.pair[pairs].T
        through = coupling(
            self.made, self.faults, self.push[:, :, 0], self.memory, self.taken
        ) / self.own[self.taken]  # fmt: skip
        coupled = np.sqrt(np.sum((through + through.swapaxes(0, 1)) ** 2, axis=2)) > AGREES
        best = np.max(self.log - self.prior)
        hope = np.where(coupled[first, second], self.prior[pairs] + best, self.log[pairs])
        hope -= logsumexp(self.log)
        order = np.argsort(-hope)[: min(ASKED, int((hope > np.log(1e-6)).sum()))]
        which = pairs[order]
        if not len(which):
            return
        a, b = self.pair[which].T
        push = self.push[a][:, :, 0] + self.push[b][:, :, 0]
        memory = self.memory[a] + self.memory[b] - self.sound_memory
        more = not_in_sum(self.made, [self.of(at) for at in which], push, memory)
        size = np.sqrt(np.sum((more[:, self.taken] / self.own[self.taken]) ** 2, axis=1))
        self.exact[which[size < AGREES]] = True
        off = np.flatnonzero(size >= AGREES)
        self.apart = max(0, len(off) - RESTED)
        off = off[:RESTED]
        found = follow(
            self.made, [self.of(at) for at in which[off]], [0], push[off][:, :, None],
            patient=False,
        )  # fmt: skip
        for order_at, at in enumerate(which[off]):
            if found.good[order_at, 0]:
                added = self.single[list(self.keys[at]), 0].sum(axis=0)
                self.beside[int(at)] = found.values[order_at, 0] - added
        self._weigh(which[off])

    def _solve_in_full(self, which: Any) -> None:
        points = self.made.points
        for kind in (False, True):
            own = [int(at) for at in which if self.warm[at] == kind]
            if not own:
                continue
            wanted = list(range(len(points))) if kind else self.cross
            start = None
            if not kind:
                a, b = self.pair[own].T
                start = self.push[a] + self.push[b]
            found = follow(self.made, [self.of(at) for at in own], wanted, start, patient=False)
            for order, at in enumerate(own):
                self.exact[at] = True
                if not found.good[order, 0]:
                    self.unsettled.append(" and ".join(one.name for one in self.of(at)))
                    continue
                self.solutions[at] = _spread_out(
                    points, wanted, found.values[order][None], found.good[order][None]
                )[0]
        self._weigh(which)

    def told(self, which: Any) -> Told:
        """What explanations say of every reading, now that some are known."""
        size = (len(which), len(self.own))
        fit, spread = np.zeros(size), np.zeros(size)
        rise, square = np.zeros(len(which)), np.zeros(len(which))
        for order, at in enumerate(which):
            nodes = self.nodes[int(self.warm[at])]
            shown = (self.base + self.effect(at))[None, nodes.points]
            known = look(nodes, shown[:, :, self.taken], self.y, self.own[self.taken])
            log = known.log[0] + nodes.log
            weight = np.exp(log - logsumexp(log))
            value, slope = nodes.read(shown)
            moved = value[0] + np.einsum("ns,nsk->nk", known.lean[0], slope[0])
            fit[order] = weight @ moved
            var = self.own**2 + weight @ (moved - fit[order]) ** 2
            var += np.einsum("n,nsk,nst,ntk->k", weight, slope[0], known.loose[0], slope[0])
            spread[order] = np.sqrt(var)
            rise[order] = weight @ (nodes.rise + known.lean[0, :, 0])
            square[order] = known.square[0].min()
        return Told(fit=fit, spread=spread, rise=rise, square=square)


def _spread_out(
    points: Sequence[tuple[float, float]], at: Sequence[int], values: Array, good: Any
) -> Array:
    """Effects (h, len(at), k) at some points, laid out over all of them (h, g, k).

    What did not come to rest acts as it does as recorded.  Beyond the points solved, rise and
    friction act each by itself, the rise in a straight line.
    """
    place = {points[where]: order for order, where in enumerate(at)}
    first = place[points[0]]
    values = np.where(good[..., None], values, values[:, first : first + 1])
    solved = sorted({rise for rise, rubs in place if rubs == 1.0})
    found = np.zeros((len(values), len(points), values.shape[2]))
    for where, (rise, rubs) in enumerate(points):
        if (rise, rubs) in place:
            found[:, where] = values[:, place[rise, rubs]]
            continue
        by_rise = values[:, first].copy()
        if len(solved) > 1:
            weight, _ = between(solved, rise)
            by_rise = sum(
                share * values[:, place[one, 1.0]]
                for one, share in zip(solved, weight, strict=True)
            )
        by_rub = values[:, place.get((1.0, rubs), first)] - values[:, first]
        found[:, where] = by_rise + by_rub
    return found


class Look(msgspec.Struct, frozen=True, kw_only=True):
    """Readings against explanations, at every node."""

    log: Array
    """Log density (h, n)"""
    square: Array
    """Misfit in standard deviations squared, the common errors allowed for (h, n)"""
    lean: Array
    """Common errors that fit best: rise and friction off their node (h, n, 2)"""
    loose: Array
    """Their covariance (h, n, 2, 2)"""
    fit: Array
    """Readings with them (h, n, k)"""


def look(nodes: Nodes, shown: Array, y: Array, own: Array) -> Look:
    """Weigh readings y (k,) with own errors (k,) against what is shown at the points (h, g, k)."""
    value, slope = nodes.read(shown)
    off = (y - value) / own
    lean = slope * nodes.spread[:, :, None] / own
    rise, rubs = lean[:, :, 0], lean[:, :, 1]
    inner = np.empty((*off.shape[:2], 2, 2))
    inner[..., 0, 0] = 1.0 + np.einsum("hnk,hnk->hn", rise, rise)
    inner[..., 1, 1] = 1.0 + np.einsum("hnk,hnk->hn", rubs, rubs)
    inner[..., 0, 1] = inner[..., 1, 0] = np.einsum("hnk,hnk->hn", rise, rubs)
    cross = np.stack(
        [np.einsum("hnk,hnk->hn", rise, off), np.einsum("hnk,hnk->hn", rubs, off)], axis=2
    )
    det = inner[..., 0, 0] * inner[..., 1, 1] - inner[..., 0, 1] ** 2
    back = np.empty_like(inner)
    back[..., 0, 0], back[..., 1, 1] = inner[..., 1, 1] / det, inner[..., 0, 0] / det
    back[..., 0, 1] = back[..., 1, 0] = -inner[..., 0, 1] / det
    best = np.sum(back * cross[:, :, None, :], axis=3)
    square = np.einsum("hnk,hnk->hn", off, off) - np.sum(cross * best, axis=2)
    log = -0.5 * (square + np.log(det)) - np.log(own).sum() - 0.5 * len(y) * np.log(2 * np.pi)
    best = best * nodes.spread
    wide = nodes.spread[:, :, None] * nodes.spread[:, None, :]
    return Look(
        log=log,
        square=square,
        lean=best,
        loose=back * wide,
        fit=value + best[:, :, :1] * slope[:, :, 0] + best[:, :, 1:] * slope[:, :, 1],
    )


def _own(made: Model, options: Options) -> Array:
    """Measurement and model error of every reading (k,)."""
    sound = np.abs(made.values[0])
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
