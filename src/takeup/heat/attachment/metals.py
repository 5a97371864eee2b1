"""Metals as curves over temperature, sampled once, for elements by the thousand."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np

from takeup import materials
from takeup.errors import OutOfRange, Refused
from takeup.materials import Family
from takeup.sources import Source, Standing
from takeup.units import Array

SPECIFIC_HEAT = Source(
    document="EN 1993-1-2",
    at="specific heat: 3.4.1.2 carbon steel, annex C.3.2 stainless steel; nickel alloys 430 + "
    "0.22 t (t in °C)",
    standing=Standing.MEMORY,
)
ZERO = 273.15
LOWEST = 213.15
STEP = 5.0
"""Of the sampled curves [K]; the tables have rows 25 K or more apart"""


class Metal(msgspec.Struct, frozen=True, kw_only=True):
    """Properties over temperature [K]: straight lines between samples, flat outside them."""

    name: str
    at: Array
    conductivity: Array
    """[W/m.K]"""
    modulus: Array
    """[Pa]"""
    strain: Array
    """Total expansion from 21 °C [-]"""
    heat: Array
    """Specific heat times density [J/m3.K]"""
    top: float = 4000.0
    """Where the tables end [K]"""
    sources: tuple[Source, ...] = ()
    notes: tuple[str, ...] = ()

    def of(self, which: str, temperature: Array) -> Array:
        """Property ``which`` at ``temperature``, any shape."""
        return np.asarray(np.interp(temperature, self.at, getattr(self, which)))

    def held(self, temperature: Array) -> Array:
        """Heat held above the first sample [J/m3]: the integral of :attr:`heat`."""
        steps = np.diff(self.at) * (self.heat[1:] + self.heat[:-1]) / 2.0
        total = np.concatenate([np.zeros(1), np.cumsum(steps)])
        index = np.clip(np.searchsorted(self.at, temperature) - 1, 0, len(self.at) - 2)
        low = self.at[index]
        here = self.of("heat", temperature)
        part = (temperature - low) * (self.heat[index] + here) / 2.0
        return np.asarray(total[index] + part)


def constant(
    *, conductivity: float, modulus: float = 2e11, expansion: float = 0.0, heat: float = 1.0
) -> Metal:
    """A metal whose properties do not change, for checks against closed forms."""
    at = np.array([0.0, 4000.0])
    both = np.ones(2)
    return Metal(
        name="constant",
        at=at,
        conductivity=conductivity * both,
        modulus=modulus * both,
        strain=expansion * (at - 294.15),
        heat=heat * both,
    )


@functools.lru_cache(maxsize=64)
def metal(name: str) -> Metal:
    """Properties of alloy ``name`` from the tables, over all that they cover.

    The curves end where the table of expansion or modulus ends (``top``); conductivity is held
    at its last value where its table ends before, which ``notes`` says.
    """
    known = materials.alloy(name)
    reads = {
        "conductivity": materials.conductivity,
        "modulus": materials.modulus,
        "strain": materials.expansion_total,
    }
    spans = {which: _span(read, name) for which, read in reads.items()}
    top = min(spans["modulus"][1], spans["strain"][1])
    at = np.arange(LOWEST, top, STEP)
    at = np.append(at[at < top], top)
    found: dict[str, Array] = {}
    sources: list[Source] = []
    for which, read in reads.items():
        got = read(name, np.clip(at, *spans[which]))
        found[which] = np.asarray(got.value, dtype=float)
        sources.append(got.source)
    density = materials.density(name)
    last = spans["conductivity"][1]
    return Metal(
        name=known.name,
        at=at,
        conductivity=found["conductivity"],
        modulus=found["modulus"],
        strain=found["strain"],
        heat=density.value * _specific_heat(known.family, at - ZERO),
        top=top,
        sources=(*sources, density.source, SPECIFIC_HEAT),
        notes=(
            f"thermal conductivity of {known.name} is held above {last - ZERO:.0f} °C at its last "
            "value",
        )
        if last < top
        else (),
    )


def refuse_above(metals: Sequence[Metal], hottest: Sequence[float]) -> None:
    """Refuse temperatures [K] that the tables do not reach, with the metal and its limit."""
    for one, value in zip(metals, hottest, strict=True):
        if value > one.top + 0.01:
            raise Refused(
                f"{one.name} reaches {value - ZERO:.0f} °C and its tables of expansion and modulus "
                f"end at {one.top - ZERO:.0f} °C: no stress is worked out there; choose a metal "
                "that the tables know at this temperature"
            )


def _span(read: Any, name: str) -> tuple[float, float]:
    """The temperatures [K] between which a table answers, from what it refuses with."""
    ends = []
    for beyond in (1.0, 9000.0):
        try:
            read(name, beyond)
        except OutOfRange as fault:
            ends.append((fault.low, fault.high))
    low, high = ends[0]
    # the faults speak in degrees Celsius, rounded outwards to a tenth
    return float(low or 0.0) + 0.1 + ZERO, float(high or 0.0) - 0.1 + ZERO


def _specific_heat(family: Family, t: Array) -> Array:
    if family == Family.AUSTENITIC:
        return np.asarray(450.0 + 0.280 * t - 2.91e-4 * t**2 + 1.34e-7 * t**3)
    if family == Family.NICKEL:
        return np.asarray(430.0 + 0.22 * t)
    # the peak of the change of phase near 735 °C is left out: it slows a heat-up, and ends there
    u = np.minimum(t, 600.0)
    return np.asarray(425.0 + 0.773 * u - 1.69e-3 * u**2 + 2.22e-6 * u**3)
