"""Thicknesses in which sheet is made, by published series."""

from __future__ import annotations

import csv
import functools
from importlib import resources

import msgspec

from takeup.bellows.sizing.model import Sheet
from takeup.sources import Source, Standing
from takeup.units import to_si


class Gauge(msgspec.Struct, frozen=True, kw_only=True):
    """One thickness of a series: its name there, its nominal value [m], who says so."""

    series: Sheet
    name: str
    thickness: float
    source: Source


@functools.cache
def gauges(series: Sheet) -> tuple[Gauge, ...]:
    """All thicknesses of ``series``, thinnest first."""
    path = resources.files("takeup.bellows").joinpath("data", "sheet.csv")
    rows = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    found = [
        Gauge(
            series=series,
            name=row["name"],
            thickness=to_si(float(row["thickness_mm"]), "mm", "thickness"),
            source=Source(document=row["source"], standing=Standing[row["standing"]]),
        )
        for row in rows
        if row["series"] == series.value
    ]
    return tuple(sorted(found, key=lambda gauge: gauge.thickness))


def named(thickness: float) -> str:
    """How sheet of ``thickness`` [m] is called in a series, or nothing."""
    for series in Sheet:
        for gauge in gauges(series):
            if abs(gauge.thickness - thickness) < 1e-9:
                return f"{gauge.series.value} {gauge.name}"
    return ""
