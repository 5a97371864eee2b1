"""Typed input files of verbs that take more than a table of the register."""

from __future__ import annotations

import msgspec

from takeup.ageing.model import LifeRecord
from takeup.bellows.as_found import AsFound
from takeup.bellows.model import BellowsCase, Condition, Movement
from takeup.bellows.uncertainty import Shape, Sheet, Spread
from takeup.errors import BadFile, TakeupError, UnknownName
from takeup.evidence.facts import InterplyReading, InterplyTest
from takeup.fields import specs
from takeup.sources import Source, Standing
from takeup.units import KINDS, accepted_units, parse_number, to_si


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


class AsFoundFile(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A bellows as designed, and what was found on it."""

    bellows: BellowsCase
    found: AsFound


class SpreadRow(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How far one input may lie from the value in the case.

    ``minus``, ``plus`` and ``deviation`` are amounts in the unit of the input, as numbers in SI
    or text with a unit; a share of the value where ``relative``.
    """

    input: str
    shape: Shape = Shape.UNIFORM
    minus: float | str | None = None
    plus: float | str | None = None
    deviation: float | str | None = None
    relative: bool = False
    source: str = ""
    note: str = ""


class UncertaintyFile(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A bellows and how far its inputs may lie off."""

    bellows: BellowsCase
    spread: tuple[SpreadRow, ...] = ()
    sheet: Sheet = Sheet.EN
    samples: int = 2**14
    seed: int = 1


def spreads(name: str, data: UncertaintyFile) -> tuple[Spread, ...]:
    """The spreads of a file, in SI; faults name their place."""
    found = []
    for at, row in enumerate(data.spread):
        kind = _kind_of(row.input)
        amounts = {}
        for field in ("minus", "plus", "deviation"):
            value = getattr(row, field)
            if value is None:
                continue
            try:
                amounts[field] = _amount(value, "share" if row.relative else kind)
            except TakeupError as fault:
                raise BadFile(f"{name}: $.spread[{at}].{field} {fault}") from fault
        source = Source(document=row.source or "as given in the file", standing=Standing.ASSUMPTION)
        found.append(
            Spread(
                input=row.input,
                shape=row.shape,
                relative=row.relative,
                source=source,
                note=row.note,
                **amounts,
            )
        )
    return tuple(found)


def _kind_of(input: str) -> str:
    """The quantity kind of a difference of an input."""
    kinds = {
        spec.name: spec.kind
        for struct in (BellowsCase, Condition, Movement)
        for spec in specs(struct)
        if spec.kind
    }
    field = input.partition("@")[0]
    if field not in kinds:
        raise UnknownName("input of a spread", field, list(kinds))
    return "temperature_difference" if kinds[field] == "temperature" else kinds[field]


def _amount(value: float | str, kind: str) -> float:
    if not isinstance(value, str):
        return value
    number, unit = parse_number(value)
    if not unit and "" not in accepted_units(kind):
        raise TakeupError(
            f"is {value!r} without a unit; write one of {', '.join(accepted_units(kind))} "
            f"behind it, or the bare number in {KINDS[kind].si}"
        )
    return to_si(number, unit, kind)
