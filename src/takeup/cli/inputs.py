"""Typed input files of verbs that take more than a table of the register."""

from __future__ import annotations

import msgspec

from takeup.ageing.model import LifeRecord
from takeup.evidence.facts import InterplyReading, InterplyTest


class InterplyFile(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An interply test with its readings, SI."""

    test: InterplyTest
    readings: list[InterplyReading]


class SurvivalFile(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Ages and horizons in years, and the site's lives."""

    service: str
    age: float
    to_next: float
    to_second: float
    records: list[LifeRecord] = []
