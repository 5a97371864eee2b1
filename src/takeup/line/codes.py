"""Factors and allowables of ASME B31.3 for arrays of components, and closed forms of short lines.

Pure functions; every argument may be an array.  Values are given beyond the range of the data
too: :func:`beyond` says where that is, and the caller must show it.
"""

from __future__ import annotations

import msgspec
import numpy as np

from takeup.line.model import Bend, Ends, Pipe, TeeKind
from takeup.sources import Source, Standing
from takeup.units import Metre, Newton, NewtonPerMetre, Pascal, Radian, Ratio, Real

THINNEST = 100.0
"""Appendix D data hold for D/T up to this [-]."""


def _at(place: str, standing: Standing) -> Source:
    return Source(document="ASME B31.3", edition="Appendix D form", at=place, standing=standing)


SOURCES = {
    "bend": _at("elbows and bends, pressure stiffening", Standing.CONFIRMED),
    "mitre": _at("mitre bends", Standing.MEMORY),
    "flanged": _at("bends with flanged ends", Standing.MEMORY),
    "tee": _at("branch connections", Standing.MEMORY),
    "range": _at("para 302.3.5(d)", Standing.SUPPORTED),
    "cycles": _at("para 302.3.5(d), stress range factor", Standing.MEMORY),
    "closed forms": Source(
        document="Beam theory and statics", at="derived here", standing=Standing.CONFIRMED
    ),
}


class Factors(msgspec.Struct, frozen=True, kw_only=True):
    """Characteristic, flexibility and stress intensification [-], scalars or arrays."""

    h: Real
    k: Real
    inside: Real
    """In-plane, ii"""
    outside: Real
    """Out-of-plane, io"""


def mean_radius(outside: Metre, wall: Metre) -> Metre:
    """Mean radius r2 of the matching pipe [m]."""
    return (outside - wall) / 2.0


def beyond(outside: Metre, wall: Metre) -> Real:
    """Where D/T lies beyond the data (then 1, else 0) [-]; never silent in a report."""
    return np.where(np.asarray(outside) / wall > THINNEST, 1.0, 0.0)


def _least_one(values: Real) -> Real:
    return np.maximum(values, 1.0)


def bend(
    outside: Metre,
    wall: Metre,
    radius: Metre,
    *,
    flanged: Ratio = 0.0,
    pressure: Pascal = 0.0,
    modulus: Pascal = np.inf,
) -> Factors:
    """A smooth bend; ``flanged`` counts flanged ends (0, 1, 2), ``pressure`` [Pa] stiffens it."""
    r2 = mean_radius(outside, wall)
    h = wall * radius / r2**2
    ends = h ** (flanged / 6.0)
    strain = pressure / modulus
    on_k = 1.0 + 6.0 * strain * (r2 / wall) ** (7.0 / 3.0) * (radius / r2) ** (1.0 / 3.0)
    on_i = 1.0 + 3.25 * strain * (r2 / wall) ** 2.5 * (radius / r2) ** (2.0 / 3.0)
    power = h ** (2.0 / 3.0)
    return Factors(
        h=h,
        k=_least_one(1.65 / h * ends / on_k),
        inside=_least_one(0.9 / power * ends / on_i),
        outside=_least_one(0.75 / power * ends / on_i),
    )


def mitre(outside: Metre, wall: Metre, half_angle: Radian, spacing: Metre) -> Factors:
    """A mitre bend; cuts ``spacing`` [m] apart on the centre line, closely or widely spaced."""
    r2 = mean_radius(outside, wall)
    cot = 1.0 / np.tan(half_angle)
    close = spacing < r2 * (1.0 + np.tan(half_angle))
    h = np.where(close, cot / 2.0 * spacing * wall / r2**2, (1.0 + cot) / 2.0 * wall / r2)
    i = _least_one(0.9 / h ** (2.0 / 3.0))
    return Factors(h=h, k=_least_one(1.52 / h ** (5.0 / 6.0)), inside=i, outside=i)


def of_bend(pipe: Pipe, bend_: Bend, pressure: Pascal = 0.0, modulus: Pascal = np.inf) -> Factors:
    """Factors of a bend of a line, smooth or mitred; ``pressure`` [Pa] stiffens a smooth one."""
    if bend_.mitre is not None:
        spacing = 2.0 * bend_.radius * np.tan(bend_.mitre)
        return mitre(pipe.outside, pipe.wall, bend_.mitre, spacing)
    ends = {Ends.NONE: 0.0, Ends.ONE: 1.0, Ends.BOTH: 2.0}[bend_.flanged]
    return bend(
        pipe.outside, pipe.wall, bend_.radius, flanged=ends, pressure=pressure, modulus=modulus
    )


def branch(
    kind: TeeKind, outside: Metre, wall: Metre, *, pad: Metre = 0.0, crotch: Metre = 0.0
) -> Factors:
    """A branch connection on a run of ``outside`` and ``wall`` [m]."""
    r2 = mean_radius(outside, wall)
    ratio = wall / r2
    h: Real
    if kind in {TeeKind.WELDING, TeeKind.INSERT}:
        h = 3.1 * ratio
    elif kind is TeeKind.PAD:
        used = np.minimum(pad, 1.5 * wall)
        h = (wall + used / 2.0) ** 2.5 / (wall**1.5 * r2)
    elif kind is TeeKind.EXTRUDED:
        h = (1.0 + crotch / r2) * ratio
    elif kind is TeeKind.FITTING:
        h = 3.3 * ratio
    else:
        h = ratio
    out = _least_one(0.9 / h ** (2.0 / 3.0))
    inside = out if kind is TeeKind.FITTING else _least_one(0.75 * out + 0.25)
    return Factors(h=h, k=np.ones_like(h) if np.ndim(h) else 1.0, inside=inside, outside=out)


def cycle_factor(cycles: Real, most: Ratio = 1.0) -> Ratio:
    """Stress range factor f = 6 N^-0.2 [-], at most ``most`` (at most 1 from 7000 cycles), at least 0.15."""
    f = np.minimum(6.0 * np.asarray(cycles, dtype=float) ** -0.2, most)
    f = np.where(np.asarray(cycles) >= 7000.0, np.minimum(f, 1.0), f)
    return np.maximum(f, 0.15)


def range_allowable(
    cold: Pascal, hot: Pascal, f: Ratio = 1.0, sustained: Pascal | None = None
) -> Pascal:
    """Allowable displacement stress range SA [Pa]; liberal where ``sustained`` is below ``hot``."""
    plain = f * (1.25 * cold + 0.25 * hot)
    if sustained is None:
        return plain
    return np.where(sustained < hot, f * (1.25 * (cold + hot) - sustained), plain)


def guided_cantilever(
    modulus: Pascal, second_moment: Real, outside: Metre, length: Metre, shift: Metre
) -> tuple[Newton, Real, Pascal]:
    """Force [N], end moment [N.m] and stress [Pa] of a leg whose guided end shifts."""
    force = 12.0 * modulus * second_moment * shift / length**3
    moment = force * length / 2.0
    return force, moment, moment * outside / (2.0 * second_moment)


def leg_needed(modulus: Pascal, outside: Metre, shift: Metre, allowed: Pascal) -> Metre:
    """Length of a guided leg that takes ``shift`` within ``allowed`` [m]."""
    return np.sqrt(3.0 * modulus * outside * shift / allowed)


def two_hinges(apart: Metre, shift: Metre) -> tuple[Radian, Metre]:
    """Turn of each of two hinges [rad], and how far the leg between them shortens [m]."""
    angle = np.arcsin(shift / apart)
    return angle, apart * (1.0 - np.cos(angle))


def spring_loads(hot: Newton, rate: NewtonPerMetre, up: Metre) -> tuple[Newton, Ratio]:
    """Cold load [N] and variability [-] of a spring whose point moves ``up`` when heated."""
    return hot + rate * up, rate * np.abs(up) / hot


def elbow_thrust(pressure: Pascal, area: Real, turn: Radian) -> Newton:
    """Resultant of two free bellows thrusts on the anchor at an elbow of ``turn`` [N]."""
    return 2.0 * pressure * area * np.sin(turn / 2.0)
