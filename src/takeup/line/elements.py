"""Straight and curved pipe, bellows and rigid parts between two ends, by one routine.

A piece is a space curve with section compliances along it.  With its start held, its
flexibility at the end is the integral of what a unit end force does on the way (Castigliano),
so that a bend is exact within the code's own idealisation (flexibility factor on bending) and
straight pipe, with or without shear, falls out of the same integral.
"""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np

from takeup.units import Array

GAUSS = 8
"""Points along a piece; a 90 degree bend needs 6."""
RIGID = 1e11
"""Stiffness of what cannot give, each way [N/m, N.m/rad]."""
_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(GAUSS)
_POINTS, _WEIGHTS = (_POINTS + 1.0) / 2.0, _WEIGHTS / 2.0


class Elements(msgspec.Struct, frozen=True, kw_only=True):
    """Pieces as the solver takes them; n of them.

    With the start held, ``end`` is the stiffness at the end (n, 6, 6) and ``arm`` the vector
    from start to end (n, 3).  ``load`` is what one newton per metre along each axis does:
    movement of the free end (n, 6, 3) and total at the start (n, 6, 3).
    """

    end: Array
    arm: Array
    length: Array
    load_movement: Array
    load_total: Array


def cross_matrix(v: Array) -> Array:
    """S(v) with S(v) w = v x w; (..., 3) gives (..., 3, 3)."""
    zero = np.zeros(v.shape[:-1])
    x, y, z = v[..., 0], v[..., 1], v[..., 2]
    return np.stack(
        [
            np.stack([zero, -z, y], axis=-1),
            np.stack([z, zero, -x], axis=-1),
            np.stack([-y, x, zero], axis=-1),
        ],
        axis=-2,
    )


def carry(arm: Array) -> Array:
    """E: a force and moment at the end, as they stand at the start; (..., 3) gives (..., 6, 6)."""
    found = np.zeros((*arm.shape[:-1], 6, 6))
    found[..., range(6), range(6)] = 1.0
    found[..., 3:, :3] = cross_matrix(arm)
    return found


def frames(tangent: Array, normal: Array | None = None) -> Array:
    """Right-handed axes (tangent, normal, binormal) as rows; (..., 3) gives (..., 3, 3).

    Without ``normal`` any direction across the tangent is taken: pipe is round.
    """
    if normal is None:
        flat = np.abs(tangent[..., 2]) > 0.9
        helper = np.where(flat[..., None], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0])
        normal = np.cross(helper, tangent)
        normal = normal / np.linalg.norm(normal, axis=-1, keepdims=True)
    return np.stack([tangent, normal, np.cross(tangent, normal)], axis=-2)


UPRIGHT = 0.9
"""Up-component from which a direction counts as upright, and 12 o'clock as north."""


def at_clock(along: Array, hour: float) -> Array:
    """Direction across ``along`` (3,) at an hour of the clock, looking along it.

    12 is up, or north where ``along`` is upright; hours run to the right from there.
    """
    top = np.array([0.0, 1.0, 0.0]) if abs(along[2]) > UPRIGHT else np.array([0.0, 0.0, 1.0])
    top = top - along * float(along @ top)
    top = top / np.linalg.norm(top)
    turned = np.pi / 6.0 * hour
    return np.asarray(np.cos(turned) * top + np.sin(turned) * np.cross(along, top))


def _integrate(
    points: Array, axes: Array, weights: Array, end: Array, compliance: Array, rest: Any
) -> tuple[Array, Array]:
    """Flexibility at the end (n, 6, 6), and movement there per unit of line load (n, 6, 3)."""
    to_end = end[:, None, :] - points
    carried = carry(to_end)  # section force and moment from those at the end
    local = np.zeros((*points.shape[:2], 6, 6))
    local[..., :3, :3] = axes
    local[..., 3:, 3:] = axes
    seen = local @ carried
    scaled = compliance[:, None, :, None] * weights[..., None, None]
    flexibility = np.einsum("ngki,ngkj->nij", seen, scaled * seen, optimize=True)
    length_left, moment_left = rest
    loaded = np.zeros((*points.shape[:2], 6, 3))
    loaded[..., :3, :] = np.eye(3) * length_left[..., None, None]
    loaded[..., 3:, :] = cross_matrix(moment_left)
    movement = np.einsum("ngki,ngkj->nij", seen, scaled * (local @ loaded), optimize=True)
    return flexibility, movement


def straight(start: Array, end: Array, compliance: Array) -> Elements:
    """Straight pieces from ``start`` to ``end`` (n, 3) [m].

    ``compliance`` (n, 6): 1/EA, 1/GAs twice, 1/GJ, 1/EI twice, all per metre of piece, in
    axes along and across it.
    """
    arm = end - start
    length = np.linalg.norm(arm, axis=1)
    tangent = arm / length[:, None]
    share = _POINTS[None, :]
    points = start[:, None, :] + share[..., None] * arm[:, None, :]
    axes = np.broadcast_to(frames(tangent)[:, None], (len(arm), GAUSS, 3, 3))
    weights = length[:, None] * _WEIGHTS[None, :]
    left = length[:, None] * (1.0 - share)
    moment = 0.5 * (left * left)[..., None] * tangent[:, None, :]
    flexibility, movement = _integrate(points, axes, weights, end, compliance, (left, moment))
    total = np.zeros((len(arm), 6, 3))
    total[:, :3, :] = np.eye(3) * length[:, None, None]
    total[:, 3:, :] = cross_matrix(0.5 * length[:, None] * arm)
    return Elements(
        end=np.asarray(np.linalg.inv(flexibility), dtype=float),
        arm=arm,
        length=length,
        load_movement=movement,
        load_total=total,
    )


def bend(start: Array, end: Array, corner: Array, radius: Array, compliance: Array) -> Elements:
    """Circular bends between tangent points, about the corner where their tangents meet.

    Bending compliances already hold the flexibility factor.
    """
    first = corner - start
    first = first / np.linalg.norm(first, axis=1, keepdims=True)
    last = end - corner
    last = last / np.linalg.norm(last, axis=1, keepdims=True)
    cosine = np.clip(np.einsum("ni,ni->n", first, last), -1.0, 1.0)
    angle = np.arccos(cosine)
    inward = last - cosine[:, None] * first
    inward = inward / np.linalg.norm(inward, axis=1, keepdims=True)
    centre = start + radius[:, None] * inward
    turned = angle[:, None] * _POINTS[None, :]
    c, s = np.cos(turned)[..., None], np.sin(turned)[..., None]
    out = -inward[:, None, :] * c + first[:, None, :] * s  # from the centre
    points = centre[:, None, :] + radius[:, None, None] * out
    tangent = inward[:, None, :] * s + first[:, None, :] * c
    axes = frames(tangent, -out)
    length = radius * angle
    weights = length[:, None] * _WEIGHTS[None, :]
    left_angle = angle[:, None] - turned
    left = radius[:, None] * left_angle
    # First moment of what is left of the arc, about the point.
    mean = radius[:, None, None] ** 2 * (
        tangent * (1.0 - np.cos(left_angle))[..., None]
        - out * (left_angle - np.sin(left_angle))[..., None]
    )
    flexibility, movement = _integrate(points, axes, weights, end, compliance, (left, mean))
    total = np.zeros((len(first), 6, 3))
    total[:, :3, :] = np.eye(3) * length[:, None, None]
    whole = radius[:, None] ** 2 * (
        first * (1.0 - np.cos(angle))[:, None] + inward * (angle - np.sin(angle))[:, None]
    )
    total[:, 3:, :] = cross_matrix(whole)
    return Elements(
        end=np.asarray(np.linalg.inv(flexibility), dtype=float),
        arm=end - start,
        length=length,
        load_movement=movement,
        load_total=total,
    )


def sprung(made: Elements, at: int, share: float, axes: Array, compliance: Array) -> None:
    """Put a rotational spring into straight piece ``at``, at ``share`` of its length, in place.

    ``axes`` (3, 3) are its axes as rows, ``compliance`` (3,) its turning about each [rad/(N.m)].
    """
    arm, length = made.arm[at], float(made.length[at])
    left = (1.0 - share) * length
    seen = axes @ carry((1.0 - share) * arm[None, :])[0][3:, :]
    flexibility = np.linalg.inv(made.end[at]) + seen.T @ (compliance[:, None] * seen)
    made.end[at] = np.linalg.inv(flexibility)
    loaded = axes @ cross_matrix(0.5 * left**2 * arm / length)
    made.load_movement[at] += seen.T @ (compliance[:, None] * loaded)


def from_flexibility(start: Array, end: Array, flexibility: Array) -> Elements:
    """Pieces whose flexibility at the end (n, 6, 6) is known; their mass is put on elsewhere."""
    arm = end - start
    count = len(arm)
    return Elements(
        end=np.asarray(np.linalg.inv(flexibility), dtype=float),
        arm=arm,
        length=np.linalg.norm(arm, axis=1),
        load_movement=np.zeros((count, 6, 3)),
        load_total=np.zeros((count, 6, 3)),
    )


def rigid(start: Array, end: Array, weightless: bool = False) -> Elements:
    """Pieces that cannot give; a line load on them goes half to each end."""
    count = len(start)
    flexibility = np.broadcast_to(np.eye(6) / RIGID, (count, 6, 6))
    made = from_flexibility(start, end, flexibility)
    if weightless:
        return made
    total = np.zeros((count, 6, 3))
    total[:, :3, :] = np.eye(3) * made.length[:, None, None]
    total[:, 3:, :] = cross_matrix(0.5 * made.length[:, None] * made.arm)
    # Held at the start and loaded evenly, a rigid piece moves nowhere: all goes to the start.
    return msgspec.structs.replace(made, load_total=total)


def join(parts: list[Elements]) -> Elements:
    """Several lots of elements as one."""
    names = Elements.__struct_fields__
    return Elements(**{name: np.concatenate([getattr(p, name) for p in parts]) for name in names})


def stiffness(elements: Elements) -> Array:
    """Forces on both ends per motion of both ends (n, 12, 12), global axes."""
    e = carry(elements.arm)
    k = elements.end
    found = np.empty((len(k), 12, 12))
    ek = e @ k
    found[:, 6:, 6:] = k
    found[:, :6, 6:] = -ek
    found[:, 6:, :6] = -np.swapaxes(ek, 1, 2)
    found[:, :6, :6] = ek @ np.swapaxes(e, 1, 2)
    return found


def equivalent(elements: Elements, strain: Array, load: Array) -> Array:
    """Forces on both nodes (n, 12) that stand for free growth and a line load.

    ``strain`` (n,) is the free growth per length, ``load`` (n, 3) the line load [N/m].
    """
    movement = _free(elements, strain, load)
    at_end = np.einsum("nij,nj->ni", elements.end, movement)
    total = np.einsum("nij,nj->ni", elements.load_total, load)
    at_start = total - np.einsum("nij,nj->ni", carry(elements.arm), at_end)
    return np.concatenate([at_start, at_end], axis=1)


def _free(elements: Elements, strain: Array, load: Array) -> Array:
    """Movement of the free end by growth and load with the start held (n, 6)."""
    found = np.einsum("nij,nj->ni", elements.load_movement, load)
    found[:, :3] += strain[:, None] * elements.arm
    return np.asarray(found)


def end_forces(elements: Elements, motion: Array, strain: Array, load: Array) -> Array:
    """Forces of the nodes on each piece (n, 12) for the motion of its ends (n, 12), global."""
    e = carry(elements.arm)
    rigid_part = np.einsum("nji,nj->ni", e, motion[:, :6])
    stretch = motion[:, 6:] - rigid_part - _free(elements, strain, load)
    at_end = np.einsum("nij,nj->ni", elements.end, stretch)
    total = np.einsum("nij,nj->ni", elements.load_total, load)
    at_start = -np.einsum("nij,nj->ni", e, at_end) - total
    return np.concatenate([at_start, at_end], axis=1)
