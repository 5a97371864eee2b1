"""Service groups and the ages at which their bellows are usually replaced. Data beside it."""

from __future__ import annotations

import csv
import functools
from importlib import resources

import msgspec

from takeup.errors import UnknownName
from takeup.sources import Source, practice


class LifeClass(msgspec.Struct, frozen=True, kw_only=True):
    """One service group: usual replacement ages [years] and what pulls them forward."""

    service: str
    low: float
    high: float
    trigger: str
    source: Source


@functools.cache
def _table() -> dict[str, LifeClass]:
    text = resources.files("takeup.ageing").joinpath("service_life.csv").read_text("utf-8")
    return {
        row["service"]: LifeClass(
            service=row["service"],
            low=float(row["low"]),
            high=float(row["high"]),
            trigger=row["trigger"],
            source=practice("usual replacement ages by service"),
        )
        for row in csv.DictReader(text.splitlines())
    }


def life_class(service: str) -> LifeClass:
    """The life class of a service group; raises UnknownName with the nearest."""
    try:
        return _table()[service]
    except KeyError:
        raise UnknownName("service group", service, list(_table())) from None


def classes() -> tuple[LifeClass, ...]:
    """All life classes."""
    return tuple(_table().values())
