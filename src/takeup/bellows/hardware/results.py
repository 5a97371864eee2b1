"""What the hardware engine gives: the path of the load, part by part, and the report."""

from __future__ import annotations

import math
from enum import StrEnum

import msgspec

from takeup.bellows.hardware.model import Defect, HardwareType
from takeup.checks import Check, Figure, Outcome, Quantity

Vector = tuple[float, float, float]


class PartKind(StrEnum):
    """What a box of the path is."""

    LOAD = "load"
    PIPE = "pipe end"
    LUG = "lug and weld"
    ROD = "rod and nuts"
    PLATE = "hinge plate or arm"
    PIN = "pin"
    RING = "gimbal ring"
    SPOOL = "spool between the bellows"
    LINK = "pantograph bars"
    ANCHOR = "main anchor"
    REACTION = "reaction"


class PartState(StrEnum):
    """What a part does in the path."""

    CARRIES = "carries load"
    WEAKENED = "carries load, weakened"
    IDLE = "carries no load here"
    DOUBT = "not creditable until examined"
    OUT = "out of action"


LOST = frozenset({PartState.DOUBT, PartState.OUT})


class Holder(StrEnum):
    """What holds the thrust."""

    HARDWARE = "hardware"
    ANCHORS = "main anchors"
    NOTHING = "nothing"


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """One part of the path, with what it carries and how it stands it.

    ``column`` counts along the path from end A, ``row`` across it, for drawings.  ``loads``
    name the kind of load (tension, shear, bending moment, torque); ``checks`` are those of
    this very part, an identical part elsewhere may be loaded less.
    """

    id: str
    name: str
    kind: PartKind
    group: str
    column: int
    row: float
    state: PartState
    why: str = ""
    """What was found on it, or why it carries nothing."""
    loads: tuple[Quantity, ...] = ()
    checks: tuple[Check, ...] = ()

    @property
    def ratio(self) -> float | None:
        """Largest use of capacity among its evaluated checks."""
        return max(
            (check.ratio or 0.0 for check in self.checks if check.outcome in _DECIDED),
            default=None,
        )

    @property
    def open(self) -> tuple[Check, ...]:
        """Checks of this part that could not be evaluated."""
        return tuple(check for check in self.checks if check.outcome == Outcome.NOT_EVALUATED)


_DECIDED = frozenset({Outcome.MET, Outcome.NOT_MET})


class Transfer(msgspec.Struct, frozen=True, kw_only=True):
    """What one part hands to the next: force and moment about the origin, and where.

    x points along the pipe towards end A, so a positive ``force[0]`` is a tension carried from
    end A to end B.  The origin lies on the pipe axis at the (first) pin line, or midway between
    the end plates of a tied joint.
    """

    source: str
    target: str
    force: Vector
    """N"""
    moment: Vector
    """N.m about the origin"""
    at: Vector
    """Where it is handed over [m]; what is not known of it is 0 and not used in a check."""
    broken: bool = False
    """Nothing can pass here any more."""

    @property
    def tension(self) -> float:
        """Force along the pipe [N]."""
        return self.force[0]

    @property
    def across(self) -> float:
        """Force square to the pipe [N]."""
        return math.hypot(self.force[1], self.force[2])

    def moment_at(self, point: Vector) -> Vector:
        """The moment about another point [N.m]: M - r x f."""
        (x, y, z), (fx, fy, fz), (mx, my, mz) = point, self.force, self.moment
        return (mx - (y * fz - z * fy), my - (z * fx - x * fz), mz - (x * fy - y * fx))


class DefectEffect(msgspec.Struct, frozen=True, kw_only=True):
    """What one defect takes from the path."""

    defect: Defect
    part: str
    state: PartState
    removes: str


class LoadPath(msgspec.Struct, frozen=True, kw_only=True):
    """Where the load goes at one condition, from the pressure on end A to that on end B."""

    name: str
    type: HardwareType
    condition: str
    at_limit: bool
    """Whether hardware that works only at its limit position is taken to be there."""
    thrust: float
    """Pressure thrust [N], positive pushes the ends apart."""
    sources: tuple[Quantity, ...]
    """What loads the path: thrust, spring force, weights, lateral load, friction."""
    parts: tuple[Part, ...]
    transfers: tuple[Transfer, ...]
    holder: Holder
    lost: tuple[str, ...] = ()
    """What nothing holds any more, loudest first."""
    effects: tuple[DefectEffect, ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    """Loads that are not known and so not in the path."""

    @property
    def holds(self) -> bool:
        """Whether something holds every load of the path."""
        return not self.lost

    def part(self, id: str) -> Part | None:
        """The part called ``id``, if it is in the path."""
        return next((part for part in self.parts if part.id == id), None)

    def imbalance(self, id: str) -> tuple[float, float]:
        """Force [N] and moment about the origin [N.m] that a part takes in but does not pass on.

        Zero for every part between the loads and the reactions while the path holds.
        """
        force, moment = [0.0, 0.0, 0.0], [0.0, 0.0, 0.0]
        for transfer in self.transfers:
            sign = (transfer.target == id) - (transfer.source == id)
            for k in range(3):
                force[k] += sign * transfer.force[k]
                moment[k] += sign * transfer.moment[k]
        return math.hypot(*force), math.hypot(*moment)

    @property
    def checks(self) -> tuple[Check, ...]:
        """Every kind of check once, on the part where it uses most of its capacity."""
        worst: dict[str, Check] = {}
        for part in self.parts:
            for check in part.checks:
                kept = worst.get(check.id)
                if kept is None or _rank(check) > _rank(kept):
                    worst[check.id] = check
        return tuple(worst.values())


def _rank(check: Check) -> tuple[int, float]:
    """Not met before not evaluated before met, then by use of capacity."""
    order = {Outcome.NOT_MET: 3, Outcome.NOT_EVALUATED: 2, Outcome.MET: 1}
    return order.get(check.outcome, 0), check.ratio or 0.0


def governing(path: LoadPath) -> tuple[Part, Check] | None:
    """The part and check that use most of their capacity; ``None`` where none was evaluated.

    Checks that are not evaluated cannot govern: see :attr:`Part.open` beside it.
    """
    return max(
        (
            (part, check)
            for part in path.parts
            for check in part.checks
            if check.outcome in _DECIDED
        ),
        key=lambda found: found[1].ratio or 0.0,
        default=None,
    )


class HardwareReport(msgspec.Struct, frozen=True, kw_only=True):
    """What the engine says about the hardware of one joint.

    ``paths`` holds one path for each condition (two where it is not known whether the hardware
    is at its limit position), as found; ``sound`` the same without the defects.  Check ids are
    ``group.what@condition``, for example ``rods.tension@design``; ``path@condition`` says
    whether anything holds the thrust.
    """

    name: str
    type: str
    figures: tuple[Figure, ...]
    checks: tuple[Check, ...]
    paths: tuple[LoadPath, ...]
    sound: tuple[LoadPath, ...]
    governing: Check | None
    governing_part: str = ""
    lost: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    """Sizes and loads to measure or look up, once each."""
