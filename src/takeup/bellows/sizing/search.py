"""The search itself: every row of the space, through the engine, to the non-dominated set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from takeup import materials
from takeup.bellows import arrays, geometry, numbers, thrust
from takeup.bellows.engine import evaluate
from takeup.bellows.model import Bellows, BellowsCase, Movement
from takeup.bellows.sizing import space, weigh
from takeup.bellows.sizing.front import non_dominated
from takeup.bellows.sizing.judge import (
    ALONE,
    CLOSING,
    LIFE,
    RATE,
    Judged,
    Tally,
    allowed,
    family,
    governing,
    is_limit_of_shape,
)
from takeup.bellows.sizing.model import Candidate, Goal, SizingTask
from takeup.checks import Check, Outcome
from takeup.errors import UnknownName
from takeup.progress import Progress
from takeup.units import Array

CHUNK = arrays.BLOCK
"""Rows worked out at a time: one block of the engine, whose arrays stay in the cache."""
MOST_HELD = 300_000
"""Candidates kept before what is dominated among them is dropped."""
TRAVEL = ("ex", "swing", "swing_across")
RATES = ("axial_rate", "lateral_rate", "angular_rate")
GOAL_COLUMNS = {
    Goal.AXIAL: "axial_rate",
    Goal.LATERAL: "lateral_rate",
    Goal.ANGULAR: "angular_rate",
    Goal.THRUST: "thrust",
    Goal.LENGTH: "live_length",
    Goal.MASS: "mass",
    Goal.MARGIN: "use",
}


class Batch(msgspec.Struct, frozen=True):
    """Candidates in columns: those of a chunk that fit, or what was kept of many."""

    number: NDArray[np.int64]
    columns: dict[str, Array]
    governing: NDArray[np.int16]
    """Place in :attr:`Search.names` of the check with the greatest use."""

    def take(self, places: Any) -> Batch:
        """The candidates at ``places``."""
        return Batch(
            self.number[places],
            {name: column[places] for name, column in self.columns.items()},
            self.governing[places],
        )


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


class Metal(msgspec.Struct):
    """One part of the space in one alloy: how it is solved."""

    problem: arrays.Problem
    density: float
    ring_density: float
    wanted: frozenset[str]
    """Figures and checks asked of the engine: those that a report of this duty has."""
    blocked: dict[str, float]
    """Checks that no candidate can meet here: use of their limit, NaN where not evaluated."""
    open: str
    """Why no candidate in this alloy can be checked in full; empty where it can."""


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
        set_ = task.offset_axial or task.offset_lateral or task.offset_angular
        names = TRAVEL if set_ else ()
        self._travel = {f"{name}@{move.name}" for name in names for move in task.movements}
        """Figures asked for where an installed set takes part of the gap."""
        self.bellows = 2.0 if task.assembly in space.DOUBLE else 1.0

    def run(self, progress: Progress, chunk: int = CHUNK) -> Found:
        """Work out every row; raises :class:`takeup.errors.Cancelled` when told to stop."""
        kept: list[Batch] = []
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
                    if sum(len(batch.number) for batch in kept) > MOST_HELD:
                        kept = [self._pruned(kept)]
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
        return front.take(non_dominated(self.goals_matrix(front.columns)))

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
            solution = self._solve(metal, rows.bellows)
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

    def _solve(self, metal: Metal, bellows: Bellows) -> arrays.Solution:
        setting = msgspec.structs.replace(metal.problem.setting, bellows=bellows)
        return arrays.solve(
            msgspec.structs.replace(metal.problem, setting=setting), wanted=metal.wanted
        )

    def _ratios(self, metal: Metal, bellows: Bellows, solution: arrays.Solution) -> dict[str, Any]:
        """Uses of limits by check id: the engine's, then the task's limits on stiffness."""
        ratios: dict[str, Any] = {
            id: ratio for id, ratio in solution.ratios.items() if id in metal.wanted
        }
        ratios |= metal.blocked
        if self._travel:
            ratios |= self._closing(metal, bellows, solution.figures)
        for name in RATES:
            most = getattr(self.task, f"most_{name}")
            if most is not None:
                ratios[RATE + name] = np.asarray(solution.figures[name]) / most
        return ratios

    def _closing(
        self, metal: Metal, bellows: Bellows, figures: Mapping[str, Any]
    ) -> dict[str, Any]:
        """Use of the gap between convolutions where the joint is installed with a set."""
        task = self.task
        setting = msgspec.structs.replace(metal.problem.setting, bellows=bellows)
        set_ = numbers.travel(
            setting,
            Movement(
                name="set",
                axial=task.offset_axial,
                lateral=task.offset_lateral,
                angular=task.offset_angular,
            ),
        )
        gap = geometry.free_gap(bellows)
        found = {}
        for move in task.movements:
            ex, first, second = (figures[f"{name}@{move.name}"] for name in TRAVEL)
            swing = np.hypot(first + set_["swing"], second + set_["swing_across"])
            found[CLOSING + move.name] = (swing - (ex + set_["ex"])) / gap
        return found

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
            solution = self._solve(metal, bellows)
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

    def goals_matrix(self, columns: Mapping[str, Array]) -> Array:
        """Goals as (candidates, goals), all to be made small."""
        return np.column_stack([columns[GOAL_COLUMNS[goal]] for goal in self.goals])

    def _metal(self, which: int, alloy: int, number: int) -> Metal:
        """How part ``which`` is solved in one alloy; looked up once, on its first candidate."""
        key = (which, alloy)
        if key not in self.metals:
            case = self.case(number)
            problem = arrays.problem_for(at_rest(case))
            problem = msgspec.structs.replace(problem, movements=case.movements)
            ratios = arrays.solve(problem).ratios
            checks = evaluate(at_rest(case)).checks
            apply = {check.id for check in checks if check.outcome != Outcome.DOES_NOT_APPLY}
            ring = case.ring_material or case.material
            self.metals[key] = Metal(
                problem=problem,
                density=float(materials.density(case.material).value),
                ring_density=float(materials.density(ring).value),
                wanted=frozenset(
                    {id for id in ratios if id in apply or id.startswith(CLOSING)}
                    | set(RATES)
                    | self._travel
                ),
                open=unchecked(checks),
                blocked={
                    check.id: np.nan if check.ratio is None else check.ratio
                    for check in checks
                    if check.id in apply - ratios.keys() and check.outcome != Outcome.MET
                },
            )
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


def at_rest(case: BellowsCase) -> BellowsCase:
    """The case with movements of no size: which checks apply does not hang on their size."""
    still = {
        "axial": 0.0,
        "lateral": 0.0,
        "angular": 0.0,
        "lateral_across": 0.0,
        "angular_across": 0.0,
    }
    moves = tuple(msgspec.structs.replace(move, **still) for move in case.movements)
    return msgspec.structs.replace(
        case, movements=moves, offset_axial=0.0, offset_lateral=0.0, offset_angular=0.0
    )


def unchecked(checks: Sequence[Check]) -> str:
    """The first check that stays open, or fails, whatever the shape; empty where there is none."""
    for check in checks:
        where = check.id.partition("@")[2]
        open_ = check.outcome == Outcome.NOT_EVALUATED and check.ratio is None
        if open_ or (check.id == "creep" and check.outcome == Outcome.NOT_MET):
            return f"{check.name}{f', {where}' if where else ''}: {check.because}"
    return ""


def is_of_pressure(id: str) -> bool:
    """Whether a check is of strength or stability at a pressure, other than the test."""
    name = family(id)
    testing = id.lower().endswith("@test")
    return "@" in id and name not in LIFE and not is_limit_of_shape(id) and not testing


def goals_of(task: SizingTask) -> tuple[Goal, ...]:
    """Goals of a duty: rates in the directions that it moves, and the other four."""
    sideways = any(move.lateral or move.lateral_across for move in task.movements)
    bending = any(move.angular or move.angular_across for move in task.movements)
    return (
        Goal.AXIAL,
        *((Goal.LATERAL,) if sideways else ()),
        *((Goal.ANGULAR,) if bending else ()),
        Goal.THRUST,
        Goal.LENGTH,
        Goal.MASS,
        Goal.MARGIN,
    )


def joined(batches: Sequence[Batch], goals: Sequence[Goal]) -> Batch:
    """All batches as one; empty columns where there is none."""
    if not batches:
        empty = np.empty(0)
        names = [GOAL_COLUMNS[goal] for goal in goals]
        return Batch(
            np.empty(0, dtype=np.int64), dict.fromkeys(names, empty), np.empty(0, dtype=np.int16)
        )
    return Batch(
        np.concatenate([batch.number for batch in batches]),
        {
            name: np.concatenate([batch.columns[name] for batch in batches])
            for name in batches[0].columns
        },
        np.concatenate([batch.governing for batch in batches]),
    )
