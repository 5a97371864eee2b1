"""The verdict and what it is made of."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

import msgspec

from takeup.ageing.joined import Joined, Wear
from takeup.ageing.model import LifeRecord, Survival
from takeup.assess.attached import Attached
from takeup.assess.theory import Theory
from takeup.bellows.model import BellowsReport
from takeup.checks import Check, Finding, Ground
from takeup.evidence.facts import (
    InterplyReading,
    InterplyTest,
    MarkReading,
    Observation,
    Visit,
)
from takeup.evidence.model import (
    DailyTemperature,
    InterplyResult,
    MarkMovement,
    TemperatureReport,
)
from takeup.limits import Limits
from takeup.register.entities import (
    BellowsElement,
    Hardware,
    Joint,
    LifeEvent,
    Line,
    MovementCase,
    Outage,
    Plant,
    ProcessUnit,
    Support,
    WallModel,
)


class Level(StrEnum):
    """How a joint stands against the two runs ahead, best first, unproven apart."""

    CARRIES_ON = "carries on"
    """Evidence says it lasts past the next outage to the one after."""
    THIS_RUN = "this run only"
    """Lasts to the next outage; not shown to last to the one after."""
    IN_DOUBT = "in doubt"
    """May not reach the next outage, or must be worked on in it."""
    ACT_NOW = "act now"
    """Must not wait for the outage."""
    UNPROVEN = "unproven"
    """Not enough evidence to say."""


SEVERITY: dict[Level, int] = {
    Level.CARRIES_ON: 0,
    Level.THIS_RUN: 1,
    Level.UNPROVEN: 2,
    Level.IN_DOUBT: 3,
    Level.ACT_NOW: 4,
}
"""For sorting a list by worry; what is not proven ranks behind what is shown to last a run."""


class Confidence(StrEnum):
    """How well grounded a verdict is."""

    GOOD = "well grounded"
    FAIR = "partly grounded"
    THIN = "thinly grounded"


class Mechanism(StrEnum):
    """Damage mechanisms, one module of this room each."""

    PRESSURE = "pressure and stability"
    MOVEMENT = "movement and fatigue"
    THRUST = "thrust path and hardware"
    PLY = "ply integrity"
    COLD = "too cold: dew point and salts"
    HOT = "too hot: metallurgy and creep"
    NEIGHBOURS = "supports and neighbours"
    ATTACHMENTS = "rings, cones and welds on hot pipe"
    DAMAGE = "mechanical damage and corrosion"
    METALLURGY = "metal after years at temperature"
    AGE = "age in this service"


class JointCase(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """All facts about one joint that a verdict may use: the input whose hash is stored."""

    today: dt.date
    plant: Plant
    unit: ProcessUnit | None
    line: Line
    joint: Joint
    bellows: tuple[BellowsElement, ...]
    movements: tuple[MovementCase, ...]
    hardware: tuple[Hardware, ...]
    supports: tuple[Support, ...]
    """All supports of the line, in order of position."""
    events: tuple[LifeEvent, ...]
    visits: tuple[Visit, ...]
    observations: tuple[Observation, ...]
    """Of this joint; every visit, oldest first."""
    marks: tuple[MarkReading, ...]
    tests: tuple[InterplyTest, ...]
    readings: tuple[InterplyReading, ...]
    temperatures: tuple[tuple[str, str, DailyTemperature], ...]
    """(bellows letter, instrument tag, daily figures)."""
    next_outage: Outage | None
    second_outage: Outage | None
    run_start: dt.date | None = None
    """End of the last outage: what was counted before belongs to another run."""
    history: tuple[LifeRecord, ...]
    """Lives of joints of the same service group at this site."""
    limits: Limits
    theory: Theory | None = None
    """What the model of the line says; ``None``: the line has no model."""
    wall_model: WallModel | None = None
    """The wall of the joint as text; ``None``: none is on record."""
    attachments: tuple[Attached, ...] = ()
    """Rings and cones on hot pipe that are kept with the joint, and what is worked out of them."""


class ThrustHolder(StrEnum):
    """Who holds the pressure thrust."""

    HARDWARE = "hardware"
    ANCHORS = "main anchors"
    NOBODY = "nobody known"
    UNKNOWN = "not known"


class ThrustStatement(msgspec.Struct, frozen=True, kw_only=True):
    """Thrust at each condition and who holds it: first thing on every joint page."""

    area: float | None
    """Effective area, m2."""
    forces: tuple[tuple[str, float, float], ...]
    """(condition, pressure in Pa gauge, force in N) for operating, design and test."""
    holder: ThrustHolder
    why: str
    missing: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


class MechanismResult(msgspec.Struct, frozen=True, kw_only=True):
    """What one damage mechanism says about a joint."""

    mechanism: Mechanism
    applies: bool
    level: Level
    """UNPROVEN when it applies but evidence is missing."""
    summary: str
    """One sentence for a list."""
    essential: bool = False
    """Whether its missing evidence keeps the joint from being called lasting."""
    causes: tuple[str, ...] = ()
    """Causes that its evidence shows, ids of the cause-to-option map."""
    checks: tuple[Check, ...] = ()
    findings: tuple[Finding, ...] = ()
    grounds: tuple[Ground, ...] = ()
    missing: tuple[str, ...] = ()
    """Evidence that would settle it, as requests to a person."""
    would_change: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    wears: tuple[Wear, ...] = ()
    """Lives that it calculates, for joining with those of other mechanisms"""


class Evaluation(msgspec.Struct, frozen=True, kw_only=True):
    """Engine results for one joint, computed once and handed to every mechanism."""

    bellows: tuple[tuple[str, BellowsReport], ...]
    """(letter, report)."""
    survivors: tuple[tuple[str, BellowsReport], ...] = ()
    """(letter, report of the remaining ply alone) where one ply is lost."""
    plies: tuple[InterplyResult, ...]
    """Newest test of each bellows first, then older ones."""
    temperatures: tuple[TemperatureReport, ...]
    movements: tuple[MarkMovement, ...]
    survival: Survival | None


class Verdict(msgspec.Struct, frozen=True, kw_only=True):
    """What is said of one joint, and why. Reproducible from ``inputs_hash``."""

    joint: str
    today: dt.date
    level: Level
    confidence: Confidence
    headline: str
    """One sentence: what stands, and the date it is about."""
    governing: Mechanism | None
    thrust: ThrustStatement
    mechanisms: tuple[MechanismResult, ...]
    evaluation: Evaluation
    grounds: tuple[Ground, ...]
    """The readable chain, strongest first, of the governing mechanisms."""
    causes: tuple[str, ...] = ()
    """Causes shown by the evidence, ids of the cause-to-option map."""
    missing: tuple[str, ...]
    would_change: tuple[str, ...]
    cautions: tuple[str, ...]
    inputs_hash: str
    version: str
    remaining: Joined | None = None
    """Calculated lives of all mechanisms together; ``None`` where none has one"""

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Every finding of every mechanism, worst first."""
        found = [finding for result in self.mechanisms for finding in result.findings]
        return tuple(sorted(found, key=lambda finding: -finding.grade))

    @property
    def checks(self) -> tuple[Check, ...]:
        """Every check of every mechanism."""
        return tuple(check for result in self.mechanisms for check in result.checks)
