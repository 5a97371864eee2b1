"""Which candidates meet every check, by how much, and how many each check excludes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from takeup.bellows.sizing.model import SizingTask
from takeup.units import Array

SQUIRM = frozenset({"column_squirm", "inplane_squirm"})
LIFE = frozenset({"fatigue", "usage"})
ALONE = "ply alone: "
"""Marks checks of a bellows with one ply lost."""
CLOSING = "closing@"
"""Movement per convolution against the gap between neighbouring ones: a bound of shape, and one
that must not be reached, for then they touch."""
RATE = "rate."
"""Marks limits on stiffness that the task sets."""
MOST_MISSES = 3


def family(id: str) -> str:
    """Check id without its condition or movement."""
    return id.split("@", 1)[0]


def is_limit_of_shape(id: str) -> bool:
    """Whether the check bounds where the rules apply, or is the task's own: no margin in it."""
    return id.startswith(("geometry.", "creep", CLOSING, RATE))


def allowed(id: str, task: SizingTask) -> float:
    """How much of the limit of check ``id`` the task lets a candidate use."""
    name = family(id.removeprefix(ALONE))
    if is_limit_of_shape(id):
        return 1.0
    if name in SQUIRM:
        return task.most_squirm
    return task.most_usage if name in LIFE else task.most_stress


class Judged(msgspec.Struct, frozen=True):
    """What the checks say of a batch of candidates."""

    fit: NDArray[np.bool_]
    """Whether every check is met."""
    worst: Array
    """Greatest use over what is allowed, of all checks; infinite where one is not evaluated."""
    use: Array
    """Greatest use of a stress, squirm or fatigue limit."""


class Tally:
    """Counts over all batches of one search."""

    def __init__(self, task: SizingTask) -> None:
        self.task = task
        self.failed: dict[str, int] = {}
        self.open: dict[str, int] = {}
        self.families: dict[str, int] = {}
        self.alone: dict[str, int] = {}
        self.misses: list[tuple[float, int, tuple[tuple[str, float], ...]]] = []
        """Nearest misses: worst use, number, what fails."""

    def judge(self, ratios: Mapping[str, Any], count: int) -> Judged:
        """Judge a batch of ``count`` candidates by its ``ratios`` and count what fails."""
        fit = np.ones(count, dtype=bool)
        worst, use = np.zeros(count), np.zeros(count)
        broken: dict[str, NDArray[np.bool_]] = {}
        for id, ratio in ratios.items():
            values = np.broadcast_to(np.asarray(ratio, dtype=float), (count,))
            if not is_limit_of_shape(id):
                np.fmax(use, values, out=use)
            limit = allowed(id, self.task)
            held = values < limit if id.startswith(CLOSING) else values <= limit
            np.maximum(worst, values if limit == 1.0 else values / limit, out=worst)
            failing = count - int(np.count_nonzero(held))
            self.failed[id] = self.failed.get(id, 0) + failing
            self.families.setdefault(family(id), 0)
            if failing:
                unknown = int(np.count_nonzero(np.isnan(values)))
                self.open[id] = self.open.get(id, 0) + unknown
                fit &= held
                name = family(id)
                fails = ~held
                broken[name] = broken[name] | fails if name in broken else fails
        self._count(broken, count)
        return Judged(fit, np.where(np.isnan(worst), np.inf, worst), use)

    def _count(self, broken: dict[str, NDArray[np.bool_]], count: int) -> None:
        many = np.zeros(count, dtype=np.uint8)
        for fails in broken.values():
            many += fails
        single = many == 1
        for name, fails in broken.items():
            self.families[name] += int(np.count_nonzero(fails))
            only = int(np.count_nonzero(fails & single))
            self.alone[name] = self.alone.get(name, 0) + only

    @property
    def reach(self) -> float:
        """Worst use below which a candidate is among the nearest misses so far."""
        return self.misses[-1][0] if len(self.misses) == MOST_MISSES else np.inf

    def miss(self, judged: Judged, numbers: NDArray[np.int64], ratios: Mapping[str, Any]) -> None:
        """Keep the candidates that come nearest to meeting every check."""
        near = np.flatnonzero(judged.worst < self.reach)
        best = near[np.lexsort((numbers[near], judged.worst[near]))[:MOST_MISSES]]
        for at in best.tolist():
            worst = float(judged.worst[at])
            failing = []
            for id, ratio in ratios.items():
                value = float(np.broadcast_to(np.asarray(ratio), judged.worst.shape)[at])
                over = value / allowed(id, self.task)
                if over > 1.0:
                    failing.append((id, over))
            failing.sort(key=lambda pair: (-pair[1], pair[0]))
            self.misses.append((worst, int(numbers[at]), tuple(failing)))
        self.misses = sorted(self.misses)[:MOST_MISSES]


def governing(
    ratios: Mapping[str, Any], places: Any, count: int
) -> tuple[list[str], NDArray[np.intp]]:
    """Check ids, and for each candidate at ``places`` which of them has the greatest use."""
    names = [id for id in ratios if not is_limit_of_shape(id)]
    most = np.full(len(places), -np.inf)
    found = np.zeros(len(places), dtype=np.intp)
    for at, id in enumerate(names):
        values = np.broadcast_to(np.asarray(ratios[id], dtype=float), (count,))[places]
        more = values > most
        most = np.where(more, values, most)
        found[more] = at
    return names, found
