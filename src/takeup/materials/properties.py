"""Properties of an alloy at temperature [K], each with its source."""

from __future__ import annotations

import functools
from typing import Any

import msgspec
import numpy as np

from takeup.errors import MissingInput, OutOfRange, require_within
from takeup.materials import tables
from takeup.materials.alloys import alloy
from takeup.materials.model import Alloy, Property
from takeup.sources import Source, Standing
from takeup.units import Array, Real, to_si

_HALF_DIGIT = to_si(0.05, "ksi", "stress")
"""The tables print allowable stress to a tenth of a ksi."""


def _row(metal: Alloy, name: str, remedy: str) -> str:
    row = metal.rows.get(name)
    if row is None:
        raise MissingInput(f"{remedy} of {metal.name}", [f"{remedy} (no table row; give a value)"])
    return row


def _noted(found: Property, note: str) -> Property:
    if not note:
        return found
    words = f"{found.note}; {note}" if found.note else note
    return Property(value=found.value, kind=found.kind, source=found.source, note=words)


def allowable_stress(name: str, temperature: Real) -> Property:
    """Allowable stress [Pa], process-piping basis (a third of tensile strength)."""
    metal = alloy(name)
    row = _row(metal, "allowable", "allowable stress")
    if metal.allowable_top is not None:
        require_within(
            f"Temperature for the allowable stress of {metal.name}",
            np.round(np.asarray(temperature) - tables.CELSIUS, 6),
            high=round(metal.allowable_top + 1.0 - tables.CELSIUS, 6),
            low=round(tables.COLD_END - tables.CELSIUS, 6),
            unit="°C",
            whose=f"ASME B31.3 Table A-1 for the grade without H ({metal.grade} row)",
            remedy="Above it the H grade is needed; check the certificate.",
        )
    found = tables.lookup("allowable", row, temperature, alloy=metal.name)
    return _noted(found, metal.note if "allowable" in metal.note else "")


def yield_strength(name: str, temperature: Real) -> Property:
    """Least yield strength [Pa] at temperature of annealed metal.

    Raises :class:`MissingInput` for alloys without a row and
    :class:`takeup.errors.OutOfRange` outside the rows; see :func:`yield_lower_bound`.
    """
    metal = alloy(name)
    return tables.lookup(
        "yield", _row(metal, "yield", "yield strength"), temperature, alloy=metal.name
    )


def lower_bound_of_yield(allowable: Real) -> Real:
    """Allowable stress less half its last printed digit, over 0.9 [Pa]."""
    return (allowable - _HALF_DIGIT) / 0.9


def yield_lower_bound(name: str, temperature: Real) -> Property:
    """A value [Pa] that the code's yield strength cannot lie below: allowable stress / 0.9.

    The code never lets an allowable stress exceed nine tenths of yield at temperature.  It is
    a bound for proving that a check is met, never for saying that one is not.
    """
    found = allowable_stress(name, temperature)
    bound = lower_bound_of_yield(found.value)
    return Property(
        value=bound,
        kind="stress",
        source=Source(
            document="ASME BPVC II-D",
            at="allowable stress is at most 0.9 of yield at temperature; from " + found.source.at,
            standing=Standing.DERIVED
            if found.source.standing != Standing.MEMORY
            else Standing.MEMORY,
        ),
        note="lower bound of yield, from allowable stress",
    )


def modulus(name: str, temperature: Real) -> Property:
    """Elastic modulus [Pa]; the newer edition."""
    metal = alloy(name)
    return tables.lookup(
        "modulus", _row(metal, "modulus", "elastic modulus"), temperature, alloy=metal.name
    )


def expansion_total(name: str, temperature: Real, reference: Real | None = None) -> Property:
    """Expansion [m/m] from ``reference`` [K] (21 °C when not given) to ``temperature``.

    Totals are interpolated and subtracted; coefficients are never averaged.
    """
    metal = alloy(name)
    row = _row(metal, "expansion", "thermal expansion")
    which = "expansion"
    if row.endswith(" older"):
        which, row = "expansion older", row.removesuffix(" older")
    found = tables.lookup(which, row, temperature, alloy=metal.name)
    if reference is None:
        return found
    start = tables.lookup(which, row, reference, alloy=metal.name)
    weaker = max((found, start), key=lambda p: tables.rank(p.source.standing))
    return Property(
        value=found.value - start.value, kind="strain", source=weaker.source, note=found.note
    )


def expansion_mean(name: str, temperature: Real, reference: Real | None = None) -> Property:
    """Mean coefficient [1/K] from ``reference`` (21 °C when not given) to ``temperature``.

    At the reference itself it is the slope just above.
    """
    start = np.asarray(tables.REFERENCE if reference is None else reference, dtype=float)
    end = np.asarray(temperature, dtype=float)
    end = np.where(np.abs(end - start) < 0.05, start + 1.0, end)
    total = expansion_total(
        name, float(end) if end.ndim == 0 else end, float(start) if start.ndim == 0 else start
    )
    mean = total.value / (end - start)
    return Property(
        value=float(mean) if np.ndim(mean) == 0 else mean,
        kind="expansion",
        source=total.source,
        note=total.note,
    )


def conductivity(name: str, temperature: Real) -> Property:
    """Thermal conductivity [W/m.K]."""
    metal = alloy(name)
    found = tables.lookup(
        "conductivity",
        _row(metal, "conductivity", "thermal conductivity"),
        temperature,
        alloy=metal.name,
    )
    return _noted(found, metal.note if "conductivity" in metal.note else "")


@functools.cache
def _densities() -> dict[str, tuple[float, Source]]:
    return tables.densities()


def density(name: str, temperature: Real | None = None) -> Property:
    """Density [kg/m3] at room temperature; ``temperature`` is accepted and has no influence."""
    metal = alloy(name)
    value, source = _densities()[metal.rows["density"]]
    note = "" if temperature is None else "room-temperature value"
    return Property(value=value, kind="density", source=source, note=note)


class Many(msgspec.Struct, frozen=True):
    """A property at many temperatures: NaN, no source and words where there is none."""

    value: Array
    source: tuple[Source | None, ...]
    fault: tuple[str, ...]


_SCALAR = {
    "allowable": allowable_stress,
    "yield": yield_strength,
    "modulus": modulus,
}


def _read(metal: Alloy, which: str, temperature: Array) -> tuple[Array, Any, Any]:
    """Values, NaN where the table does not reach; where it does, and the weakest row there."""
    row = metal.rows.get(which)
    value = np.full(len(temperature), np.nan)
    if row is None:
        return value, np.zeros(len(temperature), dtype=bool), np.zeros(0, dtype=np.intp)
    low, high = tables.span(which, row)
    if which == "allowable" and metal.allowable_top is not None:
        high = min(high, metal.allowable_top + 1.0)
    good = (temperature >= low) & (temperature <= high)
    value[good], weakest, _ = tables.interpolate(which, row, temperature[good])
    return value, good, weakest


def values(name: str, which: str, temperature: Array) -> Array:
    """Property ``which`` (allowable, yield, modulus) of one alloy at many temperatures [K].

    The values of :func:`many` without their sources, for samples by the million: NaN where
    the table does not reach.  Raises :class:`takeup.errors.UnknownName` for the alloy.
    """
    return _read(alloy(name), which, np.asarray(temperature, dtype=float))[0]


def many(name: str, which: str, temperature: Array) -> Many:
    """Property ``which`` (allowable, yield, modulus) of one alloy at many temperatures [K].

    Where the table does not reach, the value is NaN and ``fault`` says what the scalar
    function would have raised.  Raises :class:`takeup.errors.UnknownName` for the alloy.
    """
    metal = alloy(name)
    count = len(temperature)
    row = metal.rows.get(which)
    source: list[Source | None] = [None] * count
    fault = [""] * count
    value, good, weakest = _read(metal, which, temperature)
    for at, index in zip(np.flatnonzero(good).tolist(), weakest.tolist(), strict=True):
        assert row is not None
        source[at] = tables.row_source(which, row, index)
    for at in np.flatnonzero(~good).tolist():
        try:
            _SCALAR[which](name, float(temperature[at]))
        except (MissingInput, OutOfRange) as reason:
            fault[at] = str(reason)
    return Many(value, tuple(source), tuple(fault))
