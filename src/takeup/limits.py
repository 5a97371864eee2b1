"""Limits and defaults that are not computed: each with its kind, source and who may change it.

The table is package data (``limits.csv``).  A site overrides rules of thumb only; a code
or published limit cannot be edited, and every report shows which kind a limit is.
"""

from __future__ import annotations

import csv
import functools
from collections.abc import Iterator, Mapping
from importlib import resources

import msgspec

from takeup.checks import LimitKind
from takeup.errors import Refused, TakeupError, UnknownName
from takeup.sources import Source, Standing


class Limit(msgspec.Struct, frozen=True, kw_only=True):
    """A limit or default, SI, with what stands behind it."""

    id: str
    name: str
    value: float
    kind: str
    limit_kind: LimitKind
    source: Source
    low: float
    """Smallest value a site may set."""
    high: float
    """Largest value a site may set."""
    help: str = ""
    changed_by: str = ""
    """Author and reason of the site's own value; empty for the default."""

    @property
    def editable(self) -> bool:
        """Whether a site may set its own value."""
        return self.limit_kind == LimitKind.RULE_OF_THUMB


class Limits(Mapping[str, Limit]):
    """All limits of a site: the defaults with the site's own values laid over them."""

    def __init__(self, table: Mapping[str, Limit]) -> None:
        self._table = dict(table)

    def __getitem__(self, key: str) -> Limit:
        try:
            return self._table[key]
        except KeyError:
            raise UnknownName("limit", key, list(self._table)) from None

    def __iter__(self) -> Iterator[str]:
        return iter(self._table)

    def __len__(self) -> int:
        return len(self._table)

    def value(self, key: str) -> float:
        """The value of limit ``key`` in SI."""
        return self[key].value

    def with_value(self, key: str, value: float, changed_by: str) -> Limits:
        """Return limits with the site's own ``value`` for ``key``.

        Raises :class:`Refused` for limits that are not the site's to edit and
        :class:`TakeupError` for a value outside the allowed span.
        """
        limit = self[key]
        if not limit.editable:
            raise Refused(
                f"limit {key!r} ({limit.name}) is {limit.limit_kind.value}, not a rule of thumb; "
                f"it cannot be set by the site. Source: {limit.source.cite()}"
            )
        if not limit.low <= value <= limit.high:
            raise TakeupError(
                f"limit {key!r} ({limit.name}) set to {value:g}; allowed are "
                f"{limit.low:g} to {limit.high:g} (SI units)"
            )
        table = dict(self._table)
        table[key] = msgspec.structs.replace(limit, value=value, changed_by=changed_by)
        return Limits(table)


@functools.lru_cache(maxsize=1)
def defaults() -> Limits:
    """The limits that Takeup ships, read once from package data."""
    from takeup.units import to_si

    table: dict[str, Limit] = {}
    text = resources.files("takeup").joinpath("limits.csv").read_text(encoding="utf-8")
    for row in csv.DictReader(text.splitlines()):
        unit, kind = row["unit"], row["quantity"]
        table[row["id"]] = Limit(
            id=row["id"],
            name=row["name"],
            value=to_si(float(row["value"]), unit, kind),
            kind=kind,
            limit_kind=LimitKind(row["limit_kind"]),
            source=Source(
                document=row["document"], at=row["at"], standing=Standing(row["standing"])
            ),
            low=to_si(float(row["low"]), unit, kind),
            high=to_si(float(row["high"]), unit, kind),
            help=row["help"],
        )
    return Limits(table)
