"""Property tables: rows with a source each, linear interpolation, refusal outside."""

from __future__ import annotations

import csv
import functools
import math
from importlib import resources
from typing import Any

import msgspec
import numpy as np

from takeup.errors import UnknownName, require_within
from takeup.materials.model import Property
from takeup.sources import Source, Standing
from takeup.units import Array, Real, to_si

_STANDING = {
    "READ": Standing.READ,
    "DERIVED": Standing.DERIVED,
    "FROM MEMORY": Standing.MEMORY,
}
_ORDER = {Standing.READ: 0, Standing.DERIVED: 1, Standing.MEMORY: 2}
COLD_END = to_si(-29.0, "C", "temperature")
"""Strength tables start at 38 °C and that value holds down to -29 °C.

Modulus rows that start at room temperature are held likewise: colder metal is stiffer by
less than two per cent.
"""
CELSIUS = 273.15
"""Messages speak of temperatures as people do."""
REFERENCE = to_si(70.0, "F", "temperature")
"""Tabulated expansion starts here."""


class TableSpec(msgspec.Struct, frozen=True, kw_only=True):
    """How a data file is to be read."""

    name: str
    file: str
    title: str
    edition: str
    temperature_unit: str
    unit: str
    kind: str
    document: str
    at: str = ""
    holds_down_to: float | None = None
    widest_gap: float = 1e9
    """Across wider gaps between rows the lower of the two values is used [K]."""


SPECS: dict[str, TableSpec] = {
    spec.name: spec
    for spec in (
        TableSpec(
            name="allowable",
            file="allowable_stress.csv",
            title="allowable stress",
            edition="2018-2020 era",
            temperature_unit="F",
            unit="ksi",
            kind="stress",
            document="ASME B31.3",
            at="Table A-1",
            holds_down_to=COLD_END,
        ),
        TableSpec(
            name="yield",
            file="yield_strength.csv",
            title="yield strength",
            edition="2018-2020 era",
            temperature_unit="F",
            unit="ksi",
            kind="stress",
            document="ASME B31.3",
            at="figured from Table A-1",
            holds_down_to=COLD_END,
            widest_gap=60.0,
        ),
        TableSpec(
            name="modulus",
            file="modulus.csv",
            title="elastic modulus",
            edition="2018-2020 era",
            temperature_unit="F",
            unit="Msi",
            kind="modulus",
            document="ASME B31.3",
            at="Table C-6",
            holds_down_to=COLD_END,
        ),
        TableSpec(
            name="modulus older",
            file="modulus_older.csv",
            title="elastic modulus",
            edition="1995",
            temperature_unit="F",
            unit="Msi",
            kind="modulus",
            document="ASME B31.1",
        ),
        TableSpec(
            name="modulus metric",
            file="modulus_metric.csv",
            title="elastic modulus",
            edition="metric",
            temperature_unit="C",
            unit="GPa",
            kind="modulus",
            document="ASME BPVC II-D",
            at="Table TM-1",
        ),
        TableSpec(
            name="expansion",
            file="expansion_mean.csv",
            title="thermal expansion",
            edition="2018-2020 era",
            temperature_unit="F",
            unit="uin/in.F",
            kind="strain",
            document="ASME B31.3",
            at="Table C-1",
        ),
        TableSpec(
            name="expansion older",
            file="expansion_total.csv",
            title="thermal expansion",
            edition="older",
            temperature_unit="F",
            unit="in/100ft",
            kind="strain",
            document="Older process and power piping expansion table",
        ),
        TableSpec(
            name="conductivity",
            file="conductivity.csv",
            title="thermal conductivity",
            edition="",
            temperature_unit="C",
            unit="W/m.K",
            kind="conductivity",
            document="Conductivity table",
        ),
    )
}


class Origin(msgspec.Struct, frozen=True):
    """Document, edition and place that a row was read from."""

    document: str
    edition: str
    at: str


class Rows(msgspec.Struct, frozen=True):
    """The rows of one group in one table, ascending in temperature, SI."""

    temperature: Array
    value: Array
    standing: tuple[Standing, ...]
    texts: tuple[str, ...]
    notes: tuple[str, ...]
    origins: tuple[Origin | None, ...]
    """Where a row comes from another document than its table says."""


def _read(file: str) -> list[dict[str, str]]:
    text = resources.files("takeup.materials").joinpath("data", file).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


@functools.cache
def source_texts() -> dict[str, str]:
    """The long words of the sources by their short names."""
    return {row["id"]: row["text"] for row in _read("sources.csv")}


@functools.cache
def _origins() -> dict[str, Origin]:
    return {
        row["id"]: Origin(row["document"], row["edition"], row["at"])
        for row in _read("sources.csv")
        if row["document"]
    }


def _value(spec: TableSpec, raw: float, temperature: float) -> float:
    if spec.name == "expansion":  # coefficients become total strain, which interpolates
        return to_si(raw, "uin/in.F", "expansion") * (temperature - REFERENCE)
    if spec.name == "expansion older":
        return raw / 1200.0
    return to_si(raw, spec.unit, spec.kind)


@functools.cache
def table(name: str) -> dict[str, Rows]:
    """All groups of the table called ``name``."""
    spec = SPECS[name]
    groups: dict[str, list[tuple[float, float, Standing, str, str, Origin | None]]] = {}
    texts = source_texts()
    for row in _read(spec.file):
        temperature = to_si(float(row["temperature"]), spec.temperature_unit, "temperature")
        groups.setdefault(row["group"], []).append(
            (
                temperature,
                _value(spec, float(row["value"]), temperature),
                _STANDING[row["status"]],
                texts[row["source"]],
                row["note"],
                _origins().get(row["source"]),
            )
        )
    made = {}
    for group, rows in groups.items():
        rows.sort(key=lambda r: r[0])
        made[group] = Rows(
            np.array([r[0] for r in rows]),
            np.array([r[1] for r in rows]),
            tuple(r[2] for r in rows),
            tuple(r[3] for r in rows),
            tuple(r[4] for r in rows),
            tuple(r[5] for r in rows),
        )
    return made


def lookup(name: str, group: str, temperature: Real, *, alloy: str) -> Property:
    """Interpolate ``group`` of table ``name`` at ``temperature`` [K], scalar or array.

    Expansion interpolates total strain from 21 °C.  Raises
    :class:`takeup.errors.OutOfRange` outside the rows; nothing is extrapolated.
    """
    spec = SPECS[name]
    groups = table(name)
    if group not in groups:
        raise UnknownName(f"{spec.title} row", group, list(groups))
    rows = groups[group]
    low, high = span(name, group)
    require_within(
        f"Temperature for the {spec.title} of {alloy}",
        np.round(np.asarray(temperature) - CELSIUS, 6),
        low=round(low - CELSIUS, 6),
        high=round(high - CELSIUS, 6),
        unit="°C",
        whose=f"{spec.document} {spec.at} ({spec.edition or 'no edition'}), row {group!r}",
        remedy="Give the value by hand with its source, or check the temperature.",
    )
    value, weakest, wide = interpolate(name, group, temperature)
    worst = max(np.unique(weakest).tolist(), key=lambda i: _ORDER[rows.standing[i]])
    return Property(
        value=float(value) if value.ndim == 0 else value,
        kind=spec.kind,
        source=row_source(name, group, int(worst)),
        note="between rows far apart the lower one is used" if bool(np.any(wide)) else "",
    )


def span(name: str, group: str) -> tuple[float, float]:
    """The temperatures [K] between which the row speaks, outwards to a tenth of a degree."""
    spec, rows = SPECS[name], table(name)[group]
    low, high = float(rows.temperature[0]), float(rows.temperature[-1])
    if spec.holds_down_to is not None:
        low = min(low, spec.holds_down_to)
    return (
        math.floor(round((low - CELSIUS) * 10.0, 6)) / 10.0 + CELSIUS,
        math.ceil(round((high - CELSIUS) * 10.0, 6)) / 10.0 + CELSIUS,
    )


def interpolate(name: str, group: str, temperature: Real) -> tuple[Array, Any, Any]:
    """Values at ``temperature``, the weakest row behind each, and where a gap was too wide.

    The caller has checked the span.
    """
    spec, rows = SPECS[name], table(name)[group]
    asked = np.asarray(temperature, dtype=float)
    index = np.clip(np.searchsorted(rows.temperature, asked, side="right") - 1, 0, None)
    upper = np.minimum(index + 1, len(rows.temperature) - 1)
    inside = (asked > rows.temperature[index]) & (asked < rows.temperature[upper])
    value = np.asarray(np.interp(asked, rows.temperature, rows.value))
    wide = (rows.temperature[upper] - rows.temperature[index] > spec.widest_gap) & inside
    value = np.where(wide, np.minimum(rows.value[index], rows.value[upper]), value)
    order = np.array([_ORDER[standing] for standing in rows.standing])
    weakest = np.where(inside & (order[upper] > order[index]), upper, index)
    return value, weakest, wide


@functools.cache
def row_source(name: str, group: str, index: int) -> Source:
    """The source of one row."""
    spec, rows = SPECS[name], table(name)[group]
    origin = rows.origins[index] or Origin(spec.document, spec.edition, spec.at)
    return Source(
        document=origin.document,
        edition=origin.edition,
        at=f"{origin.at + ', ' if origin.at else ''}row {group}: {rows.texts[index]}",
        standing=rows.standing[index],
    )


def densities() -> dict[str, Any]:
    """Density rows: group -> (value [kg/m3], Source)."""
    texts = source_texts()
    return {
        row["group"]: (
            float(row["value"]),
            Source(
                document="Density table",
                at=f"row {row['group']}: {texts[row['source']]}",
                standing=_STANDING[row["status"]],
            ),
        )
        for row in _read("density.csv")
    }


def rank(standing: Standing) -> int:
    """0 for read rows; higher for weaker ones."""
    return _ORDER[standing]
