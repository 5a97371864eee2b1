"""How the rods of a set take the thrust between them. Rods pull, they cannot push.

End plates are stiff and free to tilt; the thrust acts on the pipe axis, so the tensions must
sum to it and have no moment about the axis.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from takeup.units import Array

Flags = NDArray[np.bool_]
_NONE = 1e-9


def places(count: int) -> Array:
    """Unit vectors (count, 2) of equally spaced rods, the first at y."""
    angle = 2.0 * np.pi * np.arange(count) / count
    return np.stack([np.cos(angle), np.sin(angle)], axis=-1)


def seatings(where: Array, active: Flags) -> Array:
    """Corners of the polytope of tensions that balance the thrust (m, count), out of 1.

    At a corner at most three rods bear: opposite pairs, then triples round the axis.
    """
    bearing = np.flatnonzero(active).tolist()
    found = []
    pairs = np.array(list(combinations(bearing, 2)), dtype=int).reshape(-1, 2)
    pairs = pairs[np.abs(where[pairs].sum(axis=1)).max(axis=-1, initial=0.0) < _NONE]
    shares = np.zeros((len(pairs), len(where)))
    np.put_along_axis(shares, pairs, 0.5, axis=1)
    found.append(shares)
    triples = np.array(list(combinations(bearing, 3)), dtype=int).reshape(-1, 3)
    matrix = np.concatenate(
        [np.ones((len(triples), 1, 3)), np.swapaxes(where[triples], 1, 2)], axis=1
    )
    good = np.abs(np.linalg.det(matrix)) > _NONE
    triples = triples[good]
    tension = np.linalg.solve(matrix[good], np.array([[1.0], [0.0], [0.0]])[None])[..., 0]
    held = (tension > _NONE).all(axis=-1)
    shares = np.zeros((int(held.sum()), len(where)))
    np.put_along_axis(shares, triples[held], tension[held], axis=1)
    found.append(shares)
    return np.concatenate(found)


def worst(where: Array, active: Flags, prefer: Flags | None = None) -> Array | None:
    """The seating that loads one rod most; ``None`` if the rods left cannot balance the thrust.

    Among seatings that load a rod equally, the one that puts most on the rods in ``prefer``
    (those that were found weak), then the first in the order of the rods.
    """
    corners = seatings(where, active)
    if not len(corners):
        return None
    score = np.round(corners.max(axis=1), 9)
    if prefer is not None:
        score = score + 1e-6 * np.round(corners[:, prefer].sum(axis=1), 9)
    chosen: Array = corners[int(np.argmax(score))]
    return chosen


def most(where: Array, active: Flags) -> Array:
    """The largest share that any seating can put on each rod; 0 where none balances."""
    corners = seatings(where, active)
    largest: Array = corners.max(axis=0, initial=0.0)
    return largest


def elastic(where: Array, active: Flags, slack: Array | None = None) -> Array | None:
    """Shares out of 1 of equal elastic rods; ``None`` if the rods left cannot balance the thrust.

    ``slack`` is each rod's gap before it bears, over the stretch of one rod under the whole
    thrust.  Tensions of least complementary energy, none negative, found by non-negative least
    squares and made exact on the rods that bear.
    """
    from scipy.optimize import nnls

    if worst(where, active) is None:
        return None
    index = np.flatnonzero(active)
    gap = np.zeros(len(index)) if slack is None else np.asarray(slack, dtype=float)[index]
    balance = np.concatenate([np.ones((1, len(index))), where[index].T], axis=0)
    goal = np.array([1.0, 0.0, 0.0])
    big = 1e4
    matrix = np.concatenate([big * balance, np.eye(len(index))], axis=0)
    tension, _ = nnls(matrix, np.concatenate([big * goal, -gap]))
    bears = tension > 1e-7
    size = int(bears.sum())
    system = np.zeros((size + 3, size + 3))
    system[:size, :size] = np.eye(size)
    system[:size, size:] = balance[:, bears].T
    system[size:, :size] = balance[:, bears]
    exact, *_ = np.linalg.lstsq(system, np.concatenate([-gap[bears], goal]), rcond=None)
    shares = np.zeros(len(where))
    shares[index[bears]] = exact[:size]
    return shares
