"""The search itself: every row of the space, through the engine, to the non-dominated set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from takeup.bellows import arrays, geometry, thrust
from takeup.bellows.model import Bellows, BellowsCase
from takeup.bellows.sizing import space, weigh
from takeup.bellows.sizing.batch import Batch, goals_matrix, goals_of, joined
from takeup.bellows.sizing.front import non_dominated
from takeup.bellows.sizing.judge import ALONE, RATE, Judged, Tally, allowed, governing
from takeup.bellows.sizing.metal import (
    RATES,
    Metal,
    is_of_pressure,
    look_up,
    solve,
)
from takeup.bellows.sizing.model import Candidate, Goal, SizingTask
from takeup.errors import UnknownName
from takeup.progress import Progress
from takeup.units import Array

CHUNK = arrays.BLOCK
"""Rows worked out at a time: one block of the engine, whose arrays stay in the cache."""
MOST_HELD = 300_000
"""Candidates kept before what is dominated among them is dropped."""


class Found(msgspec.Struct, frozen=True):
    """What a search found, before anything is chosen."""

    space: int
    evaluated: int
    feasible: int
    excluded: dict[str, int]
    tally: Tally
    goals: tuple[Goal, ...]
    front: Batch
    unchecked: dict[str, str]
    """Alloys in which no candidate can be checked in full, and why."""


class Search:
    """One pass through the space of a task."""

    def __init__(self, task: SizingTask, *, least: str = "") -> None:
        self.task = task
        self.least = least
        """Figure whose least value among all that fit is kept."""
        self.least_seen: float | None = None
        self.parts = space.axes(task)
        starts = np.cumsum([0] + [part.size for part in self.parts])
        self.bases = [int(start) for start in starts[:-1]]
        self.rows = int(starts[-1])
        self.goals = goals_of(task)
        self.tally = Tally(task)
        self.metals: dict[tuple[int, int], Metal] = {}
        self.excluded = dict.fromkeys(space.REASONS, 0)
        self.evaluated = self.feasible = 0
        self.names: dict[str, int] = {}
        """Checks that govern some candidate, with their places."""
        self.bellows = 2.0 if task.assembly in space.DOUBLE else 1.0

    def run(self, progress: Progress, chunk: int = CHUNK) -> Found:
        """Work out every row; raises :class:`takeup.errors.Cancelled` when told to stop."""
        kept: list[Batch] = []
        most = MOST_HELD
        done = 0
        for which, part in enumerate(self.parts):
            waiting = space.rows(self.task, part, 0, 0)
            for start in range(0, part.size, chunk):
                stop = min(start + chunk, part.size)
                inside = self._inside(space.rows(self.task, part, start, stop))
                waiting = space.join([waiting, inside])
                last = stop == part.size
                while len(waiting.number) >= chunk or (last and len(waiting.number)):
                    kept += self._work(which, space.between(waiting, 0, chunk))
                    if sum(len(batch.number) for batch in kept) > most:
                        kept = [self._pruned(kept)]
                        most = max(MOST_HELD, 2 * len(kept[0].number))
                    waiting = space.between(waiting, chunk, len(waiting.number))
                done += stop - start
                progress(done / self.rows, f"{done:,} of {self.rows:,} shapes looked at")
        return Found(
            space=self.rows * len(self.task.alloys),
            evaluated=self.evaluated,
            feasible=self.feasible,
            excluded=self.excluded,
            tally=self.tally,
            goals=self.goals,
            front=self._pruned(kept),
            unchecked={
                self.task.alloys[alloy]: metal.open
                for (_, alloy), metal in self.metals.items()
                if metal.open
            },
        )

    def _pruned(self, kept: Sequence[Batch]) -> Batch:
        """What is non-dominated of all kept so far, by number."""
        front = joined(kept, self.goals)
        front = front.take(np.argsort(front.number, kind="stable"))
        return front.take(non_dominated(goals_matrix(self.goals, front.columns)))

    def _inside(self, rows: space.Rows) -> space.Rows:
        """The rows that no reason excludes; the rest are counted, each under its first reason."""
        stay = np.ones(len(rows.number), dtype=bool)
        for reason, out in space.excluded(self.task, rows).items():
            first = stay & out
            self.excluded[reason] += int(np.count_nonzero(first)) * len(self.task.alloys)
            stay &= ~out
        return space.keep(rows, stay)

    def _work(self, which: int, rows: space.Rows) -> list[Batch]:
        """Solve and judge rows in each alloy; those that fit."""
        count = len(rows.number)
        if count == 0:
            return []
        found = []
        for alloy in range(len(self.task.alloys)):
            numbers = (self.bases[which] + rows.number) * len(self.task.alloys) + alloy
            metal = self._metal(which, alloy, int(numbers[0]))
            solution = solve(metal, rows.bellows)
            ratios = self._ratios(metal, rows.bellows, solution)
            judged = self.tally.judge(ratios, count)
            self.evaluated += count
            fit = judged.fit
            alone: dict[str, Any] = {}
            if self.task.each_ply_alone:
                judged, alone = self._alone(metal, rows, judged)
                fit = judged.fit
            fitting = int(np.count_nonzero(fit))
            self.feasible += fitting
            if self.feasible == 0:
                self.tally.miss(judged, numbers, ratios | alone)
            if fitting:
                batch = self._fitting(metal, rows, numbers, fit, judged, solution, ratios)
                found += [] if batch is None else [batch]
        return found

    def _ratios(self, metal: Metal, bellows: Bellows, solution: arrays.Solution) -> dict[str, Any]:
        """Uses of limits by check id: the engine's, then the task's limits on stiffness."""
        ratios: dict[str, Any] = {
            id: ratio for id, ratio in solution.ratios.items() if id in metal.wanted
        }
        ratios |= metal.blocked
        for name in RATES:
            most = getattr(self.task, f"most_{name}")
            if most is not None:
                ratios[RATE + name] = np.asarray(solution.figures[name]) / most
        return ratios

    def _alone(
        self, metal: Metal, rows: space.Rows, judged: Judged
    ) -> tuple[Judged, dict[str, Any]]:
        """What the pressure checks with either ply alone add, and their uses.

        Worked out for those that fit whole, and while nothing fits for those that come near:
        others keep a use of 0 here.
        """
        asked = judged.fit
        if self.feasible == 0:
            asked = asked | (judged.worst < self.tally.reach)
        places = np.flatnonzero(asked)
        if len(places) == 0:
            return judged, {}
        whole = space.keep(rows, asked).bellows
        ratios: dict[str, Any] = {}
        for bellows in space.surviving(whole):
            solution = solve(metal, bellows)
            for id, ratio in solution.ratios.items():
                if id in metal.wanted and is_of_pressure(id):
                    name = ALONE + id
                    ratios[name] = np.maximum(ratios.get(name, 0.0), ratio)
        fitted = judged.fit[places]
        among = {name: ratio[fitted] for name, ratio in ratios.items()}
        alone = self.tally.judge(among, int(np.count_nonzero(fitted)))
        fit, worst = judged.fit.copy(), judged.worst.copy()
        fit[places[fitted]] = alone.fit
        spread = {}
        for name, ratio in ratios.items():
            spread[name] = np.zeros(len(fit))
            spread[name][places] = ratio
            over = np.where(np.isnan(ratio), np.inf, ratio / allowed(name, self.task))
            worst[places] = np.maximum(worst[places], over)
        return Judged(fit, worst, judged.use), spread

    def _fitting(
        self,
        metal: Metal,
        rows: space.Rows,
        numbers: NDArray[np.int64],
        fit: NDArray[np.bool_],
        judged: Judged,
        solution: arrays.Solution,
        ratios: Mapping[str, Any],
    ) -> Batch | None:
        """Goals and figures of those that fit; nothing where only a least value is sought."""
        count = len(numbers)
        places = np.flatnonzero(fit)
        chosen = space.keep(rows, fit)
        b = chosen.bellows

        def figure(name: str) -> Array:
            return np.broadcast_to(np.asarray(solution.figures[name], dtype=float), (count,))[fit]

        volume = weigh.bellows_volume(b) * metal.density
        rings = weigh.ring_volume(b, chosen.ring_bar) * metal.ring_density
        most = max(abs(condition.pressure) for condition in self.task.conditions)
        columns = {
            "axial_rate": figure("axial_rate"),
            "lateral_rate": figure("lateral_rate"),
            "angular_rate": figure("angular_rate"),
            "thrust": np.asarray(thrust.force(b, most)),
            "live_length": np.asarray(geometry.convoluted_length(b)),
            "outside_diameter": space.outside_diameter(b, chosen.ring_bar),
            "mass": self.bellows * (volume + rings),
            "use": judged.use[fit],
        }
        if self.least:
            seen = float(columns[self.least].min())
            self.least_seen = seen if self.least_seen is None else min(seen, self.least_seen)
            return None
        named, at = governing(ratios, places, count)
        places_of = [self.names.setdefault(name, len(self.names)) for name in named]
        return Batch(numbers[fit], columns, np.array(places_of, dtype=np.int16)[at])

    def _metal(self, which: int, alloy: int, number: int) -> Metal:
        """How part ``which`` is solved in one alloy; looked up once, on its first candidate."""
        key = (which, alloy)
        if key not in self.metals:
            self.metals[key] = look_up(self.task, self.case(number))
        return self.metals[key]

    def _place(self, number: int) -> tuple[int, int, int]:
        """Part, row within it and alloy of the candidate called ``number``."""
        row, alloy = divmod(number, len(self.task.alloys))
        which = int(np.searchsorted(self.bases, row, side="right")) - 1
        return which, row - self.bases[which], alloy

    def case(self, number: int) -> BellowsCase:
        """The candidate called ``number`` as a case of the engine.

        Raises :class:`takeup.errors.UnknownName` for a number outside the space.
        """
        if not 0 <= number < self.rows * len(self.task.alloys):
            raise UnknownName("candidate", str(number))
        which, row, alloy = self._place(number)
        part = self.parts[which]
        values = [float(axis[0]) for axis in part.at(np.array([row]))]
        return space.case(self.task, part.convolution, self.task.alloys[alloy], values, number)

    def candidates(self, front: Batch) -> tuple[Candidate, ...]:
        """The kept candidates as objects."""
        count = len(self.task.alloys)
        rows, alloys = np.divmod(front.number, count)
        which = np.searchsorted(self.bases, rows, side="right") - 1
        shapes: list[Any] = [None] * len(rows)
        for at, part in enumerate(self.parts):
            mine = np.flatnonzero(which == at)
            values = part.at(rows[mine] - self.bases[at])
            columns = [axis.tolist() for axis in values]
            for place, shape in zip(mine.tolist(), zip(*columns, strict=True), strict=True):
                shapes[place] = shape
        named = list(self.names)
        figures = {name: column.tolist() for name, column in front.columns.items()}
        names = [name for name in figures if name != "use"]
        lines = zip(*(figures[name] for name in names), strict=True)
        found = []
        for number, alloy, shape, line, use, governs in zip(
            front.number.tolist(), alloys.tolist(), shapes, lines,
            figures["use"], [named[at] for at in front.governing.tolist()], strict=True,
        ):  # fmt: skip
            share, bar, thickness, plies, height, pitch, convolutions = shape
            found.append(
                Candidate(
                    number=number,
                    material=self.task.alloys[alloy],
                    plies=int(plies),
                    ply_thickness=thickness,
                    height=height,
                    pitch=pitch,
                    convolutions=int(convolutions),
                    torus_radius=share * pitch,
                    ring_bar=bar,
                    margin=1.0 - use,
                    governing=governs,
                    **dict(zip(names, line, strict=True)),
                )
            )
        return tuple(found)
