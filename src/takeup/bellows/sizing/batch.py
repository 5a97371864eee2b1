"""Candidates in columns, and the goals among their figures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from takeup.bellows.sizing.model import Goal, SizingTask
from takeup.units import Array

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


def goals_matrix(goals: Sequence[Goal], columns: Mapping[str, Array]) -> Array:
    """Goals as (candidates, goals), all to be made small."""
    return np.column_stack([columns[GOAL_COLUMNS[goal]] for goal in goals])


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
