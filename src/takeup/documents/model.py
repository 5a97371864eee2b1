"""What pages and documents are made of: gathered by desk, drawn by documents and web alike."""

from __future__ import annotations

import datetime as dt

import msgspec

from takeup.ageing.attachment_case import AttachmentReport
from takeup.assess.model import Confidence, JointCase, Level, Mechanism, Verdict
from takeup.evidence.facts import Photo
from takeup.heat.inverse_model import Reading
from takeup.heat.wall_study import WallStudy
from takeup.line.model import Line as LineShape
from takeup.line.solve import StateResult
from takeup.options.model import Option
from takeup.plan.model import Choice, Milestone, Plan
from takeup.register.entities import (
    Decision,
    Joint,
    Line,
    OptionName,
    Outage,
    Plant,
    ProcessUnit,
    Support,
)
from takeup.units import System


class JointRow(msgspec.Struct, frozen=True, kw_only=True):
    """One joint in a list: how it stands and what is meant to happen."""

    joint: Joint
    line: Line
    level: Level | None
    """``None`` when it was never assessed."""
    confidence: Confidence | None
    headline: str
    governing: Mechanism | None
    age_years: float | None
    worst_grade: int | None
    missing: int
    """How many pieces of evidence are asked for."""
    thrust: float | None
    """Largest of operating, design and test thrust, N."""
    chosen: OptionName | None
    """Option of the latest plan."""
    decision: Decision | None


class LineRow(msgspec.Struct, frozen=True, kw_only=True):
    """One line with its joints and supports in order of position."""

    line: Line
    joints: tuple[JointRow, ...]
    supports: tuple[Support, ...]


class Overview(msgspec.Struct, frozen=True, kw_only=True):
    """The first screen: which joints worry me, why, and which date can I miss next."""

    plant: Plant
    unit: ProcessUnit
    system: System
    today: dt.date
    next_outage: Outage | None
    second_outage: Outage | None
    lines: tuple[LineRow, ...]
    milestones: tuple[Milestone, ...]
    next_date: Milestone | None
    """The next milestone that is neither done nor past."""
    late: tuple[Milestone, ...]
    assessed: dt.datetime | None
    """When the verdicts shown were made; ``None`` before the first assessment."""
    stale: bool
    """Whether facts changed after the verdicts were made."""
    planned: dt.datetime | None
    plan_stale: bool

    @property
    def joints(self) -> tuple[JointRow, ...]:
        """All joints, in order of lines."""
        return tuple(row for line in self.lines for row in line.joints)


class FactChange(msgspec.Struct, frozen=True, kw_only=True):
    """One revision of a fact, for the history of a joint."""

    time: dt.datetime
    author: str
    reason: str
    kind: str
    key: str
    revision: int
    fields: tuple[tuple[str, str, str], ...]
    """(title, old, new) in the site's units."""


class WallLook(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """The wall of a joint as studied with its present reading, or why not."""

    study: WallStudy | None
    reading: Reading | None
    reading_words: str
    """From which history and until when"""
    faults: tuple[str, ...] = ()


class Dossier(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """Everything known and concluded about one joint."""

    system: System
    case: JointCase
    verdict: Verdict | None
    options: tuple[Option, ...]
    choice: Choice | None
    decision: Decision | None
    photos: tuple[Photo, ...]
    photo_folder: str
    history: tuple[FactChange, ...]
    questions: tuple[str, ...] = ()
    """What stands out in the register about this joint, without being wrong."""
    line: LineShape | None = None
    """The modelled line, for its drawing."""
    line_state: StateResult | None = None
    """It as solved hot."""
    attachments: tuple[tuple[str, AttachmentReport], ...] = ()
    """What is drawn of rings and cones whose calculation is current, by item; for paper."""
    wall: WallLook | None = None
    """For paper; ``None`` where none is on record."""
    made: dt.datetime
    """When this was gathered: the date printed on documents."""


class ScopeBook(msgspec.Struct, frozen=True, kw_only=True):
    """What the scope list, the budget list and the one-page summary are made of."""

    system: System
    overview: Overview
    plan: Plan
    verdicts: tuple[Verdict, ...]
    decisions: tuple[Decision, ...]
    made: dt.datetime


class WalkBook(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """Joints to walk, in walking order, with what the last visit found."""

    system: System
    visit_kind: str
    outage: Outage | None
    cases: tuple[JointCase, ...]
    verdicts: tuple[Verdict, ...]
    made: dt.datetime
