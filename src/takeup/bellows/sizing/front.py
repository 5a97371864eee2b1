"""The non-dominated set of many candidates over several goals, all to be made small.

A point is dominated when another is no worse in every goal and better in at least one.  Of
points that are equal in every goal the first is kept.  The set is exact: goals enter as dense
ranks, so no tolerance is involved, and the same points give the same set in the same order.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from takeup.units import Array

Places = NDArray[np.intp]
TILE = 2048
"""Points that are tested against each other, and against all later ones, at a time."""
WORD = 64
BATCH = 4096
"""Later points tested at a time: what they gather stays in the cache."""


def non_dominated(goals: Array) -> Places:
    """Places of the non-dominated points of ``goals`` (points, goals), ascending.

    Points are put in an order in which nothing is dominated by a later one, and settled tile
    by tile: a tile first among itself, then what is left of it against all later points.
    For each goal a table of bit rows says which points of the tile are no worse than a given
    rank; a point is beaten where the rows of all its goals have a bit in common.
    """
    rank = ranks(goals)
    order = np.argsort(_weight(rank), kind="stable")
    rank = np.ascontiguousarray(rank[order].T)
    kept: list[Places] = []
    while order.size:
        tile, places = rank[:, :TILE], order[:TILE]
        alive = ~_beaten(tile, tile, earlier=True)
        tile, places = tile[:, alive], places[alive]
        kept.append(places)
        rank, order = rank[:, TILE:], order[TILE:]
        stay = ~_beaten(rank, tile)
        rank, order = np.ascontiguousarray(rank[:, stay]), order[stay]
    return np.sort(np.concatenate(kept)) if kept else np.empty(0, dtype=np.intp)


def ranks(goals: Array) -> NDArray[np.int64]:
    """Dense ranks of (points, goals), goal by goal; raises ValueError where one is NaN."""
    if np.isnan(goals).any():
        raise ValueError("a goal that is not a number cannot be ranked")
    found = np.empty(goals.shape, dtype=np.int64)
    for column in range(goals.shape[1]):
        found[:, column] = np.unique(goals[:, column], return_inverse=True)[1]
    return found


def _weight(rank: NDArray[np.int64]) -> NDArray[np.int64]:
    """Whole numbers that are smaller for a point than for every point that it dominates."""
    if len(rank) == 0:
        return np.empty(0, dtype=np.int64)
    scale = (1 << 40) // np.maximum(rank.max(axis=0), 1)
    weight: NDArray[np.int64] = (rank * scale).sum(axis=1)
    return weight


def _beaten(rank: Any, tile: Any, *, earlier: bool = False) -> NDArray[np.bool_]:
    """Which points of ``rank`` (goals, points) some point of ``tile`` is no worse than.

    With ``earlier``, ``rank`` is the tile itself and only points that stand before count.
    """
    count, size = rank.shape[1], tile.shape[1]
    found = np.zeros(count, dtype=bool)
    if size == 0 or count == 0:
        return found
    tables = [(_counts(goal, rank[at]), _table(goal)) for at, goal in enumerate(tile)]
    before = _below(size) if earlier else None
    for start in range(0, count, BATCH):
        part = slice(start, min(start + BATCH, count))
        common = None
        for goal, (counts, rows) in zip(rank, tables, strict=True):
            bits = rows[counts[goal[part]]]
            common = bits if common is None else np.bitwise_and(common, bits, out=common)
        assert common is not None
        if before is not None:
            common &= before[part]
        found[part] = common.any(axis=1)
    return found


def _counts(tile: Any, goal: Any) -> NDArray[np.intp]:
    """For each rank that occurs in ``goal``: how many of the tile have it or a lower one."""
    most = int(goal.max()) + 1
    counts: NDArray[np.intp] = np.cumsum(np.bincount(tile, minlength=most)[:most])
    return counts


def _table(goal: Any) -> NDArray[np.uint64]:
    """For each count of the lowest ranks of a tile, a bit row of who they are."""
    size = len(goal)
    order = np.argsort(goal, kind="stable")
    rows = np.zeros((size + 1, -(-size // WORD)), dtype=np.uint64)
    rows[np.arange(1, size + 1), order // WORD] = np.uint64(1) << (order % WORD).astype(np.uint64)
    np.bitwise_or.accumulate(rows, axis=0, out=rows)
    return rows


def _below(size: int) -> NDArray[np.uint64]:
    """For each place the bit row of all places before it."""
    return _table(np.arange(size))[:-1]
