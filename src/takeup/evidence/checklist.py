"""Check items: what to look at on a joint and around it, in walking order.

The list is package data (``check_items.csv``).  Codes begin with the place and state:
HS/CS surroundings, CF and HS8 flanges, HB/CB bellows, HH/CH hardware, HT temperatures,
HM/CM marks, CI inside, X.. extras of a joint or wall type, AL as left, and O1, O2, ... what
an option needs to know before it may be taken.
"""

from __future__ import annotations

import csv
import functools
from enum import StrEnum
from importlib import resources

import msgspec

from takeup.checks import LimitKind
from takeup.errors import UnknownName
from takeup.evidence.facts import VisitKind
from takeup.sources import Source, Standing


class Area(StrEnum):
    """Where an item is looked at; the order is the order of walking."""

    SURROUNDINGS = "surroundings"
    FLANGES = "flanges"
    BELLOWS = "bellows"
    HARDWARE = "hardware"
    RINGS = "rings and cones"
    TEMPERATURES = "temperatures"
    TESTS = "tests"
    INTERNALS = "internals"
    OPTIONS = "for options"


class AnswerType(StrEnum):
    """What an item is answered with first; a grade item may carry a reading as well."""

    GRADE = "grade"
    YES_NO = "yes/no"
    MEASURED = "measured"


class CheckItem(msgspec.Struct, frozen=True, kw_only=True):
    """One thing to look at, how, what is accepted and how bad it is otherwise."""

    code: str
    title: str
    kinds: tuple[VisitKind, ...]
    """Visits that look at it."""
    area: Area
    order: int
    """Place in the walk, surroundings first."""
    look: str
    how: str
    accept: str
    worse: str
    """Grades in words where it is not accepted."""
    grade: int
    """Worst grade it can lead to."""
    next: str
    answer: AnswerType
    kind: str = ""
    """Quantity kind of the reading; empty when none is taken."""
    types: tuple[str, ...] = ()
    """Joint types it applies to; empty: all."""
    walls: tuple[str, ...] = ()
    """Wall types it applies to; empty: all."""
    limit: str = ""
    """Id in ``takeup.limits`` where the site's own value governs."""
    cautions: tuple[str, ...] = ()
    limit_kind: LimitKind
    source: Source

    def applies(self, kind: VisitKind | None, type: str | None, wall: str | None) -> bool:
        """Whether it belongs on the list; an unknown type or wall leaves it on."""
        return (
            (kind is None or kind in self.kinds)
            and (type is None or not self.types or type in self.types)
            and (wall is None or not self.walls or wall in self.walls)
        )


STAY_OUT: dict[str, str] = {
    "keep_back": "In service keep back: do not touch, probe or lean over a pressurised bellows; "
    "stay out of line with crowns and vents.",
    "no_cover": "In service no cover or insulation is opened or removed to see better.",
    "clear": "Keep clear of a leaking flange; no tightening without a procedure.",
    "untied": "Untied joint: the anchors hold the pressure thrust. Keep people out of the line "
    "of thrust where one has moved.",
    "thrust": "No work on rods, nuts, hinges or pins while pressure or thrust is in them.",
    "leak": "Clear people first. A live leak is not searched by stripping, prodding or hammering.",
    "port": "Reading only: line fluid may stand behind the port. Opening it is a separate, "
    "permitted job.",
    "bars": "Shipping bars are no thrust restraint and no lifting point.",
    "asbestos": "Have old insulation tested for asbestos before it is disturbed.",
    "chloride": "Wet insulation leaches chlorides: keep the bellows dry, use low-chloride "
    "materials.",
    "dry": "Keep sensitised metal dry or washed alkaline: sulphide, water and air crack it.",
    "no_pull": "A joint is never pulled, pushed or twisted to fit.",
    "entry": "Confined space: entry permit, gas test, watch.",
    "fibre": "Refractory dust and fibres: breathing protection.",
    "interply": "Hand pump and relief only, never plant air; nobody in line with the port; no "
    "more than the site's interply pressure. A pass is no statement of life.",
    "water": "Water left between the plies flashes on heating and can burst the inner ply.",
}
"""Stay-out rules by the key that ``check_items.csv`` names."""

_AREAS = {area: place for place, area in enumerate(Area)}


def _split(text: str) -> tuple[str, ...]:
    return tuple(part for part in text.split("|") if part)


def _item(row: dict[str, str], line: int) -> CheckItem:
    area = Area(row["area"])
    return CheckItem(
        code=row["code"],
        title=row["title"],
        kinds=tuple(VisitKind(kind) for kind in _split(row["kinds"])),
        area=area,
        order=1000 * _AREAS[area] + line,
        look=row["look"],
        how=row["how"],
        accept=row["accept"],
        worse=row["worse"],
        grade=int(row["grade"]),
        next=row["next"],
        answer=AnswerType(row["answer"]),
        kind=row["quantity"],
        types=_split(row["types"]),
        walls=_split(row["walls"]),
        limit=row["limit"],
        cautions=tuple(STAY_OUT[key] for key in _split(row["stay_out"])),
        limit_kind=LimitKind(row["limit_kind"]),
        source=Source(document=row["document"], at=row["at"], standing=Standing(row["standing"])),
    )


@functools.lru_cache(maxsize=1)
def _table() -> dict[str, CheckItem]:
    text = resources.files("takeup.evidence").joinpath("check_items.csv").read_text("utf-8")
    found = [_item(row, line) for line, row in enumerate(csv.DictReader(text.splitlines()))]
    return {item.code: item for item in sorted(found, key=lambda item: item.order)}


def items(
    kind: VisitKind | None = None, type: str | None = None, wall: str | None = None
) -> tuple[CheckItem, ...]:
    """List the check items of a visit to a joint, in walking order.

    ``kind`` is the visit, ``type`` the joint type and ``wall`` the wall type in the words of
    the register; ``None`` (not known, or all) leaves nothing out.
    """
    return tuple(item for item in _table().values() if item.applies(kind, type, wall))


def item(code: str) -> CheckItem:
    """Return the check item ``code``, without regard to case.

    Raises :class:`takeup.errors.UnknownName` naming the nearest codes.
    """
    found = _table().get(code.strip().upper())
    if found is None:
        raise UnknownName("check item", code, list(_table()))
    return found
