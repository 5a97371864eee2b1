"""Matrices of bellows put together: rigid ends, parts in a row, hardware that holds.

Axes and order of the motions as in :mod:`takeup.bellows.matrix`; every function works on
arrays of bellows, matrices (..., 12, 12) or (..., 6, 6).
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

import msgspec
import numpy as np

from takeup.errors import Refused
from takeup.sources import Source, Standing
from takeup.units import Array, Metre, Newton

SERIES_SOURCE = Source(
    document="Takeup",
    at="parts in a row, inner nodes eliminated exactly (static condensation)",
    standing=Standing.DERIVED,
)
HELD_SOURCE = Source(
    document="Takeup",
    at="motions that the hardware leaves, put into the stiffness exactly (constraint elimination)",
    standing=Standing.DERIVED,
)


def carry(distance: Metre) -> Array:
    """Motion of a point ``distance`` [m] further along x on a rigid part, shape (..., 6, 6)."""
    along = np.asarray(distance, dtype=float)
    found = np.zeros((*along.shape, 6, 6))
    found[...] = np.eye(6)
    found[..., 1, 5], found[..., 2, 4] = along, -along
    return found


def with_arms(matrix: Array, before: Metre, after: Metre) -> Array:
    """``matrix`` seen from outer ends that rigid parts put ``before`` and ``after`` it [m]."""
    first, second = carry(before), carry(-np.asarray(after, dtype=float))
    shape = np.broadcast_shapes(np.shape(matrix)[:-2], first.shape[:-2], second.shape[:-2])
    reach = np.zeros((*shape, 12, 12))
    reach[..., :6, :6], reach[..., 6:, 6:] = first, second
    return _between(reach, matrix)


def _between(reach: Array, matrix: Array) -> Array:
    found: Array = np.swapaxes(reach, -1, -2) @ matrix @ reach
    # Equal to the last bit on both sides of the diagonal, whatever the order of the sums.
    return (found + np.swapaxes(found, -1, -2)) / 2.0


def rigid_spool(length: Metre, compression: Newton = 0.0) -> Array:
    """What a rigid spool adds to the node at its first end, shape (..., 6, 6) [N, N.m/rad].

    Nothing but -N length on both tilts: the thrust in it tips further when it tips.
    """
    tip = -np.asarray(compression, dtype=float) * length
    found = np.zeros((*np.shape(tip), 6, 6))
    found[..., 4, 4] = found[..., 5, 5] = tip
    return found


class Row(msgspec.Struct, frozen=True):
    """Parts in a row with their inner nodes eliminated."""

    matrix: Array
    """Between the outer ends, (..., 12, 12)."""
    load: Array
    """Forces on the outer ends that stand for loads on the inner nodes, (..., 12)."""
    spread: Array
    """Inner motions per outer motion, (..., 6 (parts - 1), 12)."""
    own: Array
    """Inner motions from the inner loads with the outer ends held, (..., 6 (parts - 1))."""

    def inner(self, ends: Array) -> Array:
        """Motions of the inner nodes for motions ``ends`` (..., 12) of the outer ends."""
        found: Array = (self.spread @ np.asarray(ends)[..., None])[..., 0] + self.own
        return found


def in_row(
    parts: Sequence[Array],
    *,
    nodes: Sequence[Array | None] | None = None,
    loads: Sequence[Array | None] | None = None,
) -> Row:
    """Condense parts (..., 12, 12) one behind the other to their outer ends.

    ``nodes`` adds a stiffness (..., 6, 6) at each inner node, ``loads`` a force (..., 6); both
    count from the first inner node.  Raises :class:`takeup.errors.Refused` where the inner
    nodes are not stable, that is at and above the ideal column squirm of the whole.
    """
    count = len(parts)
    inner_nodes = count - 1
    nodes = nodes or [None] * inner_nodes
    loads = loads or [None] * inner_nodes
    shape = np.broadcast_shapes(
        *(np.shape(part)[:-2] for part in parts),
        *(np.shape(node)[:-2] for node in nodes if node is not None),
        *(np.shape(load)[:-1] for load in loads if load is not None),
    )
    size = 6 * (count + 1)
    whole, force = np.zeros((*shape, size, size)), np.zeros((*shape, size))
    for at, part in enumerate(parts):
        here = slice(6 * at, 6 * at + 12)
        whole[..., here, here] += part
    for at, (node, load) in enumerate(zip(nodes, loads, strict=True), start=1):
        here = slice(6 * at, 6 * at + 6)
        if node is not None:
            whole[..., here, here] += node
        if load is not None:
            force[..., here] += load
    outer, inner = np.r_[0:6, size - 6 : size], np.arange(6, size - 6)
    if inner_nodes == 0:
        none = np.zeros((*shape, 0))
        return Row(whole, force, np.zeros((*shape, 0, 12)), none)
    middle = whole[..., inner[:, None], inner]
    _refuse_unstable(middle)
    to_outer = whole[..., inner[:, None], outer]
    spread = -np.linalg.solve(middle, to_outer)
    own = np.linalg.solve(middle, force[..., inner, None])[..., 0]
    matrix = whole[..., outer[:, None], outer] + np.swapaxes(to_outer, -1, -2) @ spread
    matrix = (matrix + np.swapaxes(matrix, -1, -2)) / 2.0
    load = force[..., outer] + (np.swapaxes(spread, -1, -2) @ force[..., inner, None])[..., 0]
    return Row(matrix, load, spread, own)


def _refuse_unstable(middle: Array) -> None:
    known = middle[np.isfinite(middle).all(axis=(-1, -2))]
    try:
        np.linalg.cholesky(known)
    except np.linalg.LinAlgError:
        raise Refused(
            "The parts between the outer ends are not stable under this pressure: the ideal "
            "column squirm of the whole is reached. Lower the pressure, hold the spool sideways, "
            "or leave the pressure out of the stiffness."
        ) from None


class Hold(StrEnum):
    """What hardware across one bellows, or across a whole joint, leaves free."""

    NOTHING = "no hardware"
    HINGE_Y = "hinge turning about y"
    HINGE_Z = "hinge turning about z"
    GIMBAL = "gimbal"
    RODS = "three or more tie rods"
    RODS_ACROSS = "two tie rods at +z and -z"


class Held(msgspec.Struct, frozen=True):
    """Stiffness of a bellows or joint in the motions that its hardware leaves."""

    names: tuple[str, ...]
    """The m motions left."""
    motions: Array
    """End 2 moving in each of them with end 1 held, (..., 6, m)."""
    stiffness: Array
    """Between them, (..., m, m); symmetric."""
    flexibility: Array
    """Motion of end 2 per force on it with end 1 held, (..., 6, 6); 0 in what is held."""


def held(matrix: Array, hold: Hold, arm: Metre, tension: Newton = 0.0) -> Held:
    """Stiffness of ``matrix`` (..., 12, 12) in the motions that ``hold`` leaves.

    ``arm`` [m] is the distance from the pins to end 2 for hinge and gimbal, and the length of
    the rods between their seats for tie rods.  ``tension`` [N] is the thrust the hardware
    carries; give it where, and only where, ``matrix`` was made with the same thrust as
    compression.  Pins and seats are without friction and play, all rods bear.
    """
    shape = np.broadcast_shapes(np.shape(matrix)[:-2], np.shape(arm), np.shape(tension))
    names, motions = _motions(hold, np.broadcast_to(np.asarray(arm, dtype=float), shape))
    k = np.broadcast_to(np.asarray(matrix)[..., 6:, 6:], (*shape, 6, 6)).copy()
    if hold != Hold.NOTHING:
        # A part in tension between its pins resists sideways movement of its ends.
        string = np.asarray(tension, dtype=float) / arm
        k[..., 1, 1] += string
        k[..., 2, 2] += string
    left = np.swapaxes(motions, -1, -2) @ k @ motions
    left = (left + np.swapaxes(left, -1, -2)) / 2.0
    flexibility = motions @ np.linalg.solve(left, np.swapaxes(motions, -1, -2))
    return Held(names, motions, left, (flexibility + np.swapaxes(flexibility, -1, -2)) / 2.0)


_X, _Y, _Z, _TWIST, _ABOUT_Y, _ABOUT_Z = (
    "axial",
    "lateral y",
    "lateral z",
    "twist",
    "angular about y",
    "angular about z",
)
NAMES = (_X, _Y, _Z, _TWIST, _ABOUT_Y, _ABOUT_Z)


def _motions(hold: Hold, arm: Array) -> tuple[tuple[str, ...], Array]:
    unit = np.eye(6)
    about_y, about_z = (np.zeros((*arm.shape, 6)) for _ in range(2))
    about_y[..., 4], about_y[..., 2] = 1.0, -arm
    about_z[..., 5], about_z[..., 1] = 1.0, arm
    plain = [np.broadcast_to(unit[at], (*arm.shape, 6)) for at in range(6)]
    kinds: dict[Hold, list[tuple[str, Array]]] = {
        Hold.NOTHING: list(zip(NAMES, plain, strict=True)),
        Hold.HINGE_Y: [(_ABOUT_Y, about_y)],
        Hold.HINGE_Z: [(_ABOUT_Z, about_z)],
        Hold.GIMBAL: [(_ABOUT_Y, about_y), (_ABOUT_Z, about_z)],
        Hold.RODS: [(_Y, plain[1]), (_Z, plain[2]), (_TWIST, plain[3])],
        Hold.RODS_ACROSS: [
            (_Y, plain[1]),
            (_Z, plain[2]),
            (_TWIST, plain[3]),
            (_ABOUT_Z, plain[5]),
        ],
    }
    names, columns = zip(*kinds[hold], strict=True)
    return names, np.stack(columns, axis=-1)


def held_in_row(parts: Sequence[tuple[Held, Metre]]) -> Array:
    """Flexibility of held parts one behind the other, at the last end, (..., 6, 6).

    Each part comes with the rigid distance from its end 2 to the last end of the row [m].
    Forces are the same all along, so the flexibilities add, each carried to that end: exact
    without pressure, where hardware takes the thrust of each bellows by itself.
    """
    total: Array | None = None
    for part, distance in parts:
        reach = carry(distance)
        here = reach @ part.flexibility @ np.swapaxes(reach, -1, -2)
        total = here if total is None else total + here
    if total is None:
        raise Refused("A row needs at least one part.")
    return total
