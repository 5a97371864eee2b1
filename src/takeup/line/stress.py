"""ASME B31.3 stresses of pipe: sustained, displacement range, their factors and allowables.

Nominal dimensions and modulus at room temperature for ranges; allowances taken off the wall
for sustained stress.  Factors are those of the Appendix D form.
"""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np

from takeup.line import codes
from takeup.line.model import Bend, Pipe, Tee
from takeup.sources import Source, Standing
from takeup.units import Array, Real

EDITION = "Appendix D form"


def _at(place: str, standing: Standing = Standing.MEMORY) -> Source:
    return Source(document="ASME B31.3", edition=EDITION, at=place, standing=standing)


RANGE = _at("319.4.4: SE = sqrt((|Sa| + Sb)^2 + (2 St)^2), moments of the range")
SUSTAINED = _at("320.2: SL = sqrt((|Sa| + Sb)^2 + (2 St)^2), indices 0.75 i, at least 1")
ALLOWED_RANGE = _at("302.3.5(d): SA = f (1.25 Sc + 0.25 Sh)", Standing.READ)
LIBERAL = _at("302.3.5(d): SA = f (1.25 (Sc + Sh) - SL) where SL is below Sh", Standing.READ)
BENDS = _at("factors of bends", Standing.CONFIRMED)
TEES = _at("factors of branch connections")
THIN = 100.0
"""D/T beyond which the factors have no data."""
CAP = 138e6
"""Sc and Sh are held to this where f is above 1 [Pa]."""


class Factors(msgspec.Struct, frozen=True, kw_only=True):
    """Stress intensification in and out of the plane [-], at least 1."""

    inplane: float = 1.0
    outplane: float = 1.0
    source: Source = BENDS


def bend_factors(
    pipe: Pipe, bend: Bend, pressure: float = 0.0, modulus: float = math.inf
) -> Factors:
    """Factors of a bend; ``pressure`` lowers them where given (large thin bends)."""
    found = codes.of_bend(pipe, bend, pressure, modulus)
    return Factors(inplane=float(found.inside), outplane=float(found.outside))


def tee_factors(tee: Tee, run: Pipe) -> Factors:
    """Factors of a branch connection, run and branch alike."""
    found = codes.branch(tee.kind, run.outside, run.wall, pad=tee.pad, crotch=tee.crotch)
    return Factors(inplane=float(found.inside), outplane=float(found.outside), source=TEES)


def reducer_factors(first: Pipe, last: Pipe, length: float) -> Factors:
    """Factor of a concentric reducer, by its cone and the small end."""
    small = first if first.outside <= last.outside else last
    slope = math.degrees(math.atan2(abs(first.outside - last.outside) / 2.0, length))
    factor = min(2.0, max(1.0, 0.5 + 0.01 * slope * math.sqrt(small.outside / small.wall)))
    return Factors(inplane=factor, outplane=factor, source=_at("factor of a concentric reducer"))


class Section(msgspec.Struct, frozen=True, kw_only=True):
    """Area and section modulus of a pipe wall."""

    area: float
    modulus: float


def wall_section(pipe: Pipe, allowance: float = 0.0) -> Section:
    """Nominal section, or that with ``allowance`` off the wall [m]; worn from inside."""
    inside = pipe.outside - 2.0 * (pipe.wall - allowance)
    return Section(
        area=math.pi / 4.0 * (pipe.outside**2 - inside**2),
        modulus=math.pi / 32.0 * (pipe.outside**4 - inside**4) / pipe.outside,
    )


def combined(
    force: Any, inplane: Any, outplane: Any, torsion: Any, section: Section, index: Factors,
    axial: Any = 0.0, twist: float = 1.0,
) -> Any:  # fmt: skip
    """sqrt((|Sa| + Sb)^2 + (2 St)^2) [Pa]; ``axial`` is stress on top of force over area."""
    sa = np.abs(np.asarray(force) / section.area + axial)
    sb = np.hypot(index.inplane * np.asarray(inplane), index.outplane * np.asarray(outplane))
    st = twist * np.asarray(torsion) / (2.0 * section.modulus)
    return np.hypot(sa + sb / section.modulus, 2.0 * st)


def sustained_index(factors: Factors) -> Factors:
    """Sustained indices: 0.75 of the factors, at least 1."""
    return Factors(
        inplane=max(1.0, 0.75 * factors.inplane),
        outplane=max(1.0, 0.75 * factors.outplane),
        source=factors.source,
    )


def pressure_stress(pipe: Pipe, pressure: float) -> float:
    """Longitudinal stress by pressure P d^2 / (D^2 - d^2), allowances off the wall [Pa]."""
    inside = pipe.outside - 2.0 * (pipe.wall - pipe.allowance)
    return pressure * inside**2 / (pipe.outside**2 - inside**2)


def allowed_range(sc: Real, sh: Real, f: float, sl: Real | None = None) -> Array:
    """SA [Pa]; with the sustained stress ``sl`` the liberal form where it is below Sh."""
    cold = np.minimum(sc, CAP) if f > 1.0 else np.asarray(sc)
    hot = np.minimum(sh, CAP) if f > 1.0 else np.asarray(sh)
    plain = np.asarray(codes.range_allowable(cold, hot, f))
    if sl is None:
        return plain
    return np.asarray(np.maximum(plain, codes.range_allowable(cold, hot, f, sl)))
