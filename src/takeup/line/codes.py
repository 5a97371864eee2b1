"""Factors and allowables of ASME B31.3 for arrays of components, and closed forms of short lines.

Pure functions; every argument may be an array.  Values are given beyond the range of the data
too: :func:`beyond` says where that is, and the caller must show it.
"""

from __future__ import annotations

import msgspec
import numpy as np

from takeup.line.model import Bend, Ends, Pipe, TeeKind, WeldKind
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


class TeeFactors(msgspec.Struct, frozen=True, kw_only=True):
    """Stress intensification of a branch connection by B31J, at run and branch [-], at least 1."""

    run: tuple[Real, Real, Real]
    """In-plane, out-of-plane, torsion"""
    branch: tuple[Real, Real, Real]


def welding_tee(outside: Metre, wall: Metre, branch: Metre, branch_wall: Metre) -> TeeFactors:
    """A welding tee by the B31J form, from memory; outside diameters and walls [m].

    Powers of R/T of the run (R its mean radius), of d/D (mean diameters) and of t/T.  The
    coefficient 0.42 of the branch out of the plane is that of Appendix D, 0.9 / 3.1^(2/3), which
    settles that the first ratio is R/T and not D/T.
    """
    r = mean_radius(outside, wall) / wall
    d = (branch - branch_wall) / (outside - wall)
    t = branch_wall / wall
    third = r ** (2.0 / 3.0)
    return TeeFactors(
        run=(
            _least_one(0.98 * r**0.35 * d**0.72 * t**-0.52),
            _least_one(0.61 * r**0.29 * d**1.95 * t**-0.53),
            _least_one(0.34 * third * d * t**-0.5),
        ),
        branch=(
            _least_one(0.33 * third * d**0.18 * t**0.7),
            _least_one(0.42 * third * d**0.37 * t**0.37),
            _least_one(0.42 * third * d**1.1 * t**1.1),
        ),
    )


def effective_modulus(
    branch: Metre, branch_wall: Metre, run_wall: Metre, inside: Ratio
) -> Real:  # fmt: skip
    """Effective section modulus Ze = pi r2^2 Ts of the branch end by Appendix D [m3].

    Ts is the lesser of the run's wall and ``inside`` (ii) times the branch's wall.
    """
    r2 = mean_radius(branch, branch_wall)
    return np.pi * r2**2 * np.minimum(run_wall, inside * branch_wall)


def weld(kind: WeldKind, wall: Metre, leg: Metre | None = None) -> float:
    """Stress intensification of a joint between pipe ends [-]; a fillet without ``leg`` the most."""
    if kind is WeldKind.FILLET:
        return 2.1 if leg is None else float(np.clip(2.1 * wall / leg, 1.3, 2.1))
    return {
        WeldKind.BUTT: 1.0,
        WeldKind.DOUBLE_SLIP_ON: 1.2,
        WeldKind.LAP: 1.6,
        WeldKind.THREADED: 2.3,
    }[kind]


def cold_sprung(
    share: Ratio, hot: Pascal, range_: Pascal, ambient: Pascal, at_temperature: Pascal
) -> tuple[Ratio, Ratio]:
    """Shares of the reaction range that act hot and cold, para 319.5.1 [-].

    ``share`` is the cold spring C, ``hot`` Sh, ``range_`` SE, the moduli Ea and Em.  Hot:
    (1 - 2C/3) Em/Ea.  Cold: the larger of C and 1 - Sh Ea / (SE Em).
    """
    softer = at_temperature / ambient
    relaxed = 1.0 - hot / (np.maximum(range_, 1.0) * softer)
    return (1.0 - 2.0 * share / 3.0) * softer, np.maximum(share, relaxed)


LONGEST = ((1.33, 10 * 3600.0, 100 * 3600.0), (1.20, 50 * 3600.0, 500 * 3600.0))
"""Allowance for variations of pressure and temperature: factor, time at once and in a year [s]."""


def occasional_factor(each: float, year: float) -> float:
    """Factor on the allowable for pressure in a variation: ``each`` at a time, ``year`` a year [s]."""
    for factor, longest, whole in LONGEST:
        if each <= longest and year <= whole:
            return factor
    return 1.0


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
