"""Likelihood of explanations, and which of them are worth solving in full.

Every single fault is solved in full.  A pair starts as the sum of its two; the likeliest pairs
are then solved in full, until no more than a stated share of the posterior rests on sums.
"""

from __future__ import annotations

import itertools
from typing import Any

import msgspec
import numpy as np
from scipy.special import logsumexp

from takeup.line.diagnosis.faults import TEMPERATURE, Fault, faults_of
from takeup.line.diagnosis.nuisance import Nodes, other, recorded
from takeup.line.diagnosis.predict import Model, follow
from takeup.line.diagnosis.readings import ERRORS, Kind
from takeup.units import Array

CHUNK = 3000
"""Explanations weighed at once, to stay within a few hundred megabytes."""
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
        self.warm = np.array([any(self.hot(at) for at in key) for key in self.keys])
        self.prior = self._priors()
        self.exact = np.array(
            [sum(not self.hot(at) for at in key) < 2 and not self._mixed(key) for key in self.keys]
        )
        self.solutions: dict[int, Array] = {}
        self.log = np.zeros(len(self.keys))
        self.fit = np.zeros((len(self.keys), len(self.taken)))
        self._weigh(np.arange(len(self.keys)))
        self._solve()

    def hot(self, fault: int) -> bool:
        """Whether a fault is another temperature."""
        return self.faults[fault].place == TEMPERATURE

    def _mixed(self, key: tuple[int, ...]) -> bool:
        return len(key) == 2 and any(self.hot(at) for at in key)

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
        """Solve every single fault, at recorded temperature or nominal friction at least."""
        every = faults_of(self.made.line)
        points = self.made.points
        cross = [at for at, (rise, rubs) in enumerate(points) if rise == 1.0 or rubs == 1.0]
        found = follow(self.made, [(one,) for one in every], cross)
        effect = np.zeros((len(every), len(points), len(self.made.readings)))
        effect[:, cross] = found.values
        place = {points[at]: order for order, at in enumerate(cross)}
        for order, at in enumerate(cross):  # what did not come to rest there acts as elsewhere
            bad = ~found.good[:, order]
            effect[bad, at] = found.values[bad, 0]
        for at, (rise, rubs) in enumerate(points):
            if at in cross:
                continue
            effect[:, at] = (
                effect[:, cross[place.get((rise, 1.0), 0)]]
                + effect[:, cross[place.get((1.0, rubs), 0)]]
                - effect[:, cross[0]]
            )
        rests = found.good[:, 0]
        self.unsettled += [one.name for one, yes in zip(every, rests, strict=True) if not yes]
        self.single = effect[rests]
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
        each = np.array([np.log(f.prior) - np.log1p(-f.prior) for f in self.faults])
        found = np.array([each[list(key)].sum() for key in self.keys])
        return np.asarray(found - logsumexp(found))

    def effect(self, at: int, readings: Any = slice(None)) -> Array:
        """What an explanation changes in the readings at every point (g, k)."""
        if at in self.solutions:
            return np.asarray(self.solutions[at][:, readings])
        found = np.zeros_like(self.base[:, readings])
        for one in self.keys[at]:
            found = found + self.single[one][:, readings]
        return found

    def _effects(self, which: Any, points: Any) -> Array:
        """Of many explanations, on the readings taken (h, g, k)."""
        single = np.concatenate(
            [self.single, np.zeros((1, *self.single.shape[1:]))]
        )[:, points][:, :, self.taken]  # fmt: skip
        none = len(self.faults)
        first = np.array([self.keys[at][0] if self.keys[at] else none for at in which])
        second = np.array([self.keys[at][1] if len(self.keys[at]) > 1 else none for at in which])
        found = single[first] + single[second]
        for order, at in enumerate(which):
            if at in self.solutions:
                found[order] = self.solutions[at][points][:, self.taken]
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
                self.fit[part] = np.einsum("hn,hnk->hk", weight, seen.fit)

    def _solve(self) -> None:
        """Solve the leading pairs in full, until what is left matters little."""
        left = self.options.solved
        for _ in range(TRIES):
            chance = np.where(self.exact, 0.0, self.posterior)
            if chance.sum() <= self.options.added or left <= 0:
                break
            order = np.argsort(-chance)[: min(left, 40)]
            order = order[chance[order] > 1e-5]
            if not len(order):
                break
            self._solve_in_full(order)
            left -= len(order)

    def _solve_in_full(self, which: Any) -> None:
        near = self.nodes[0].points
        rise = np.array([point[0] for point in self.made.points])
        rubs = np.array([point[1] for point in self.made.points])
        for kind in (False, True):
            own = [int(at) for at in which if self.warm[at] == kind]
            if not own:
                continue
            points = np.arange(len(rise))
            if not kind:
                points = near[(rise[near] == 1.0) | (rubs[near] == 1.0)]
            found = follow(self.made, [self.of(at) for at in own], points)
            for order, at in enumerate(own):
                added = self.effect(at)
                beside = np.zeros_like(added)
                good = found.good[order]
                beside[points[good]] = found.values[order, good] - added[points[good]]
                if not good[0]:
                    self.unsettled.append(" and ".join(one.name for one in self.of(at)))
                elif not kind:  # what friction and rise do to it, each by itself
                    for one in near:
                        if one not in points:
                            by_rise = np.argmax((rise == rise[one]) & (rubs == 1.0))
                            by_rub = np.argmax((rise == 1.0) & (rubs == rubs[one]))
                            beside[one] = beside[by_rise] + beside[by_rub] - beside[0]
                for one in points[~good]:
                    beside[one] = beside[0]
                self.solutions[at] = added + beside
                self.exact[at] = True
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
    inner = np.einsum("hnsk,hntk->hnst", lean, lean)
    inner[..., 0, 0] += 1.0
    inner[..., 1, 1] += 1.0
    cross = np.einsum("hnsk,hnk->hns", lean, off)
    det = inner[..., 0, 0] * inner[..., 1, 1] - inner[..., 0, 1] ** 2
    back = np.empty_like(inner)
    back[..., 0, 0], back[..., 1, 1] = inner[..., 1, 1] / det, inner[..., 0, 0] / det
    back[..., 0, 1] = back[..., 1, 0] = -inner[..., 0, 1] / det
    best = np.einsum("hnst,hnt->hns", back, cross)
    square = np.sum(off**2, axis=2) - np.sum(cross * best, axis=2)
    log = -0.5 * (square + np.log(det)) - np.log(own).sum() - 0.5 * len(y) * np.log(2 * np.pi)
    best = best * nodes.spread
    wide = nodes.spread[:, :, None] * nodes.spread[:, None, :]
    return Look(
        log=log,
        square=square,
        lean=best,
        loose=back * wide,
        fit=value + np.einsum("hns,hnsk->hnk", best, slope),
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
