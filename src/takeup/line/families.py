"""Laws of one kind, all of them at once: the arithmetic of :mod:`takeup.line.contact` on arrays.

A family takes what its laws are given (g, p), the movements of their rows (g, m), what they
remember (g, k) and, while friction is held to a normal force, that force (g,).  It answers with
the forces (g, m), their derivatives (g, m, m) and the new memory (g, k).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from takeup.units import Array

Answer = tuple[Array, Array, Array]
Family = Callable[[Array, Array, Array, Array | None], Answer]


def _beyond(x: Array, plus: Array, minus: Array) -> Array:
    """How far ``x`` is past ``plus``, or below ``-minus`` (less than zero)."""
    return np.maximum(x - plus, 0.0) + np.minimum(x + minus, 0.0)


def linear(given: Array, u: Array, memory: Array, lag: Array | None) -> Answer:
    """Forces f0 - K (u - s); given: f0 (m), s (m), K (m * m)."""
    g, m = u.shape
    f0, at, k = given[:, :m], given[:, m : 2 * m], given[:, 2 * m :].reshape(g, m, m)
    return f0 - np.einsum("gij,gj->gi", k, u - at), -k, memory


def faces(given: Array, u: Array, memory: Array, lag: Array | None) -> Answer:
    """Rows free within a gap each; given: plus, minus and stiffness of each; more rows idle."""
    g, m = u.shape
    plus, minus, k = given[:, 0::3], given[:, 1::3], given[:, 2::3]
    n = plus.shape[1]
    past = _beyond(u[:, :n], plus, minus)
    forces, slopes = np.zeros((g, m)), np.zeros((g, m, m))
    forces[:, :n] = -k * past
    slopes[:, range(n), range(n)] = np.where(past == 0.0, 0.0, -k)
    return forces, slopes, memory


def rubbing(given: Array, u: Array, memory: Array, lag: Array | None) -> Answer:
    """Faces that rub on the last k rows; given: friction, stick, then as for :func:`faces`."""
    n = u.shape[1] - memory.shape[1]
    friction, stick = given[:, :1], given[:, 1:2]
    forces, slopes, _ = faces(given[:, 2:], u, memory, None)
    normal = np.abs(forces[:, :n]).sum(axis=1, keepdims=True)
    limit = friction * (normal if lag is None else lag[:, None])
    trial = -stick * (u[:, n:] - memory)
    pull = np.sqrt(np.einsum("gi,gi->g", trial, trial))[:, None]
    slides = pull > limit
    safe = np.where(slides, pull, 1.0)
    along = np.where(slides, trial / safe, 0.0)
    rub = np.where(slides, limit * along, trial)
    forces[:, n:] = rub
    new = np.where(slides, u[:, n:] + rub / stick, memory)
    share = stick * np.where(slides, limit / safe, 1.0)
    across = np.eye(memory.shape[1]) - along[:, :, None] * along[:, None, :]
    slopes[:, n:, n:] = -share[..., None] * across
    if lag is None:
        signed = np.sign(forces[:, :n]) * np.einsum("gii->gi", slopes[:, :n, :n])
        slopes[:, n:, :n] = friction[..., None] * along[:, :, None] * signed[:, None, :]
        new = np.where(normal == 0.0, u[:, n:], new)
    return forces, slopes, new


def sprung(given: Array, u: Array, memory: Array, lag: Array | None) -> Answer:
    """Springs and rods that carry upward; rows 1 and 2, where there, swing as a pendulum.

    Given: load at zero movement, rate, travel up and down, stiffness on a stop, least force,
    length of the rod.
    """
    load, rate, up, down, solid, least, rod = given.T
    x = u[:, 0]
    past = _beyond(x, up, down)
    force = load - rate * (x - past) - solid * past
    slope = np.where(past == 0.0, -rate, -solid)
    slack = force <= least
    force, slope = np.where(slack, 0.0, force), np.where(slack, 0.0, slope)
    return _swinging(u, force, slope, rod), _swinging_slope(u, force, slope, rod), memory


def _swinging(u: Array, force: Array, slope: Array, rod: Array) -> Array:
    if u.shape[1] == 1:
        return force[:, None]
    return np.concatenate([force[:, None], -(force / rod)[:, None] * u[:, 1:]], axis=1)


def _swinging_slope(u: Array, force: Array, slope: Array, rod: Array) -> Array:
    if u.shape[1] == 1:
        return slope[:, None, None]
    found = np.zeros((len(u), 3, 3))
    found[:, 0, 0] = slope
    found[:, 1:, 0] = -(slope / rod)[:, None] * u[:, 1:]
    found[:, 1, 1] = found[:, 2, 2] = -force / rod
    return found


def banded(given: Array, u: Array, memory: Array, lag: Array | None) -> Answer:
    """Constant springs; given: load, band, slope within it, travel up and down, stop stiffness."""
    load, band, soft, up, down, solid = given.T
    x = u[:, 0]
    held = -soft * (x - memory[:, 0])
    gives = np.abs(held) > band
    held = np.where(gives, np.sign(held) * band, held)
    new = np.where(gives, x + held / soft, memory[:, 0])
    past = _beyond(x, up, down)
    force = load + held - solid * past
    slope = np.where(past == 0.0, np.where(gives, 0.0, -soft), -solid)
    slack = force < 0.0
    force, slope = np.where(slack, 0.0, force), np.where(slack, 0.0, slope)
    return force[:, None], slope[:, None, None], new[:, None]
