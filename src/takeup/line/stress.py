"""Clauses of ASME B31.3 that stresses are judged by, sections, and allowable ranges.

Nominal dimensions and modulus at room temperature for ranges; allowances taken off the wall
for sustained stress.
"""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np

from takeup.line import codes
from takeup.line.model import Pipe
from takeup.sources import Source, Standing
from takeup.units import Array


def _at(place: str, standing: Standing = Standing.MEMORY) -> Source:
    return Source(document="ASME B31.3", at=place, standing=standing)


SUSTAINED = _at("302.3.5(c), 320.2")
"""SL = sqrt((|Sa| + Sb)^2 + (2 St)^2) up to W Sh, indices 0.75 i and at least 1"""
ALLOWED_RANGE = _at("319.4.4, 302.3.5(d) equation 1a")
"""SE = sqrt((|Sa| + Sb)^2 + (2 St)^2) up to SA = f (1.25 Sc + 0.25 Sh)"""
LIBERAL = _at("319.4.4, 302.3.5(d) equation 1b")
"""SE up to SA = f (1.25 (Sc + Sh) - SL) where SL is below Sh, else by equation 1a"""
OCCASIONAL = _at("302.3.6(a)", Standing.READ)
"""Sustained and occasional stress up to 1.33 Sh"""
VARIATION = _at("302.2.4(f), 304.1.2")
"""Wall in a variation of pressure or temperature: 1.33 S for 10 h at a time and 100 h a year, 1.20 S
for 50 h and 500 h, else S"""
REACTIONS = _at("319.5.1")
"""Reactions with cold spring, Em and Ea"""
CAP = 138e6
"""Sc and Sh are held to this where f is above 1 [Pa]."""


class Factors(msgspec.Struct, frozen=True, kw_only=True):
    """Stress intensification in and out of the plane [-], at least 1."""

    inplane: float = 1.0
    outplane: float = 1.0


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


def both_ranges(sc: Array, sh: Array, f: Array, sl: Array) -> tuple[Array, Array]:
    """SA by equations 1a and 1b [Pa]; 1b falls back on 1a where SL is not below Sh."""
    cold = np.where(f > 1.0, np.minimum(sc, CAP), sc)
    hot = np.where(f > 1.0, np.minimum(sh, CAP), sh)
    plain = np.asarray(codes.range_allowable(cold, hot, f))
    left = np.asarray(codes.range_allowable(cold, hot, f, sl))
    return plain, np.where(np.isnan(sl), np.nan, np.maximum(plain, left))
