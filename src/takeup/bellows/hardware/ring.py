"""Statics of a closed gimbal ring under anything its four pins hand it.

A ring is six times statically indeterminate.  The six unknowns, the forces and moments at one
cut, are those of least strain energy (Castigliano); bending and torsion count, stretching and
shear do not (thin ring).  Between two pins the wrench about the centre is constant, so the
actions at any section follow by moving it there.
"""

from __future__ import annotations

import numpy as np

from takeup.bellows.hardware.model import RingShape
from takeup.units import Array

_GAUSS, _WEIGHT = np.polynomial.legendre.leggauss(10)
_AXIS = np.array([1.0, 0.0, 0.0])


def _quadrants(shape: RingShape, radius: float, share: Array, weight: Array) -> tuple[Array, ...]:
    """Points, tangents and lengths (4, n, ..) of the quadrants that start at +y, +z, -y, -z."""
    start = np.arange(4)[:, None] * np.pi / 2.0
    if shape == RingShape.ROUND:
        angle = start + share[None, :] * np.pi / 2.0
        point = radius * np.stack([0.0 * angle, np.cos(angle), np.sin(angle)], axis=-1)
        tangent = np.stack([0.0 * angle, -np.sin(angle), np.cos(angle)], axis=-1)
        return point, tangent, np.broadcast_to(weight * radius * np.pi / 2.0, angle.shape)
    # first half of a quadrant runs along its start's side, second half along the next side
    first = share <= 0.5
    y = np.where(first, radius, radius * (2.0 - 2.0 * share))
    z = np.where(first, radius * 2.0 * share, radius)
    ty, tz = np.where(first, 0.0, -1.0), np.where(first, 1.0, 0.0)
    cos, sin = np.cos(start), np.sin(start)
    point = np.stack([0.0 * (cos + y), cos * y - sin * z, sin * y + cos * z], axis=-1)
    tangent = np.stack([0.0 * (cos + y), cos * ty - sin * tz, sin * ty + cos * tz], axis=-1)
    return point, tangent, np.broadcast_to(weight * 2.0 * radius, point.shape[:2])


def _actions(point: Array, tangent: Array, wrench: Array) -> Array:
    """Torque, bending out of plane, bending in plane, from a wrench about the centre (..., 6)."""
    moment = wrench[..., 3:] - np.cross(point, wrench[..., :3])
    normal = np.cross(tangent, _AXIS)
    return np.stack(
        [(moment * tangent).sum(-1), (moment * normal).sum(-1), moment[..., 0]], axis=-1
    )


def solve(
    shape: RingShape, radius: float, loads: Array, flexibility: tuple[float, float, float]
) -> tuple[Array, Array, Array, Array]:
    """Actions along the ring.

    ``radius`` is the mean radius, for a square half its side [m]; ``loads`` (4, 6) the force
    and moment about the centre that the pins at +y, +z, -y, -z hand to the ring; together they
    must balance.  ``flexibility`` is the relative 1/GJ, 1/EI out of plane, 1/EI in plane.
    Returns the places (0 at the pin at +y, 1 at the next pin, up to 4), torque, bending moment
    out of plane and bending moment in plane [N.m] at each.
    """
    cumulated = np.cumsum(loads, axis=0) - loads[0]
    # each half quadrant is smooth: integrate the halves on their own
    share = np.concatenate([(_GAUSS + 1.0) / 4.0, (_GAUSS + 1.0) / 4.0 + 0.5])
    weight = np.concatenate([_WEIGHT, _WEIGHT]) / 4.0
    point, tangent, length = _quadrants(shape, radius, share, weight)
    unit = np.stack(
        [
            _actions(point, tangent, np.broadcast_to(row, (*point.shape[:2], 6)))
            for row in np.eye(6)
        ],
        axis=-1,
    )
    known = _actions(point, tangent, np.broadcast_to(cumulated[:, None], (*point.shape[:2], 6)))
    root = np.sqrt(length[..., None] * np.asarray(flexibility))
    # forces count by their moment at the radius, so that all unknowns have one size
    scale = np.array([1.0 / radius] * 3 + [1.0] * 3)
    free, *_ = np.linalg.lstsq(
        (unit * root[..., None] * scale).reshape(-1, 6), -(known * root).reshape(-1), rcond=None
    )
    place = np.linspace(0.0, 1.0, 61)
    point, tangent, _ = _quadrants(shape, radius, place, place)
    found = _actions(point, tangent, (cumulated + free * scale)[:, None, :])
    places = (np.arange(4)[:, None] + place[None, :]).reshape(-1)
    return places, *np.moveaxis(found.reshape(-1, 3), -1, 0)
