"""How far the line moves each joint, against what the joint was made for and what it bears."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import msgspec

from takeup.checks import Check, LimitKind, compare
from takeup.errors import TakeupError
from takeup.register.entities import Joint, MovementCase, MovementRole
from takeup.sources import Source, Standing

if TYPE_CHECKING:
    from takeup.desk.site import Site
    from takeup.line.model import Line
    from takeup.line.solve import JointMovement, StateResult

RATED = Source(
    document="Takeup",
    at="movement of a joint from cold to hot against the movement it is rated for on record",
    standing=Standing.DERIVED,
)
ALONE = (
    "Rated movements are compared one by one: whether they may act together is for the maker "
    "or the bellows calculation to say.",
)
BEARS = "fatigue@"
"""Check of the bellows that its movement decides."""


class Used(msgspec.Struct, frozen=True, kw_only=True):
    """What the movement of the line from cold to hot means for one joint."""

    joint: str
    rated: tuple[Check, ...]
    """Movement against the rated one, kind by kind"""
    bears: tuple[Check, ...]
    """Fatigue of its bellows under that movement, for the cycles of the model"""
    asked: str = ""
    """Why nothing more can be said; empty where it can"""

    @property
    def worst(self) -> float | None:
        """The largest use; ``None`` where nothing could be compared."""
        known = [one.ratio for one in (*self.rated, *self.bears) if one.ratio is not None]
        return max(known, default=None)


def used(
    site: Site, line: Line, results: Sequence[StateResult], between: tuple[str, str] | None
) -> tuple[Used, ...]:
    """Theory of every joint of the register on ``line`` against its rating and its bellows."""
    from takeup.desk.calculate import from_register
    from takeup.line.results import own_movement
    from takeup.line.results import used as bear

    if between is None:
        return ()
    register = site.register()
    by_name = {one.state: one for one in results}
    cold, hot = by_name[between[0]], by_name[between[1]]
    found = []
    for tag in dict.fromkeys(one.tag for one in hot.joints):
        joint = register.find(Joint, tag)
        if joint is None:
            found.append(Used(joint=tag, rated=(), bears=(), asked="not in the register"))
            continue
        cases = register.of_joint(MovementCase, joint.tag)
        rated = [
            check
            for case in cases
            if case.role == MovementRole.RATED
            for check in _against(case, own_movement(cold, hot, tag))
        ]
        asked = "" if rated else "no rated movement on record"
        bears: list[Check] = []
        for element in register.bellows(joint.tag)[:1]:
            try:
                case = from_register(site, joint.tag, element.letter)
                report = bear({tag: case}, cold, hot, line.cycles)[tag]
            except TakeupError as fault:
                asked = "; ".join(filter(None, (asked, f"bellows not worked out: {fault}")))
                continue
            bears += [one for one in report.checks if one.id.startswith(BEARS)]
        found.append(Used(joint=joint.tag, rated=tuple(rated), bears=tuple(bears), asked=asked))
    return tuple(found)


def _against(case: MovementCase, move: JointMovement) -> Iterable[Check]:
    for name, kind, value, rated in (
        ("axial", "movement", abs(move.axial), case.axial),
        ("lateral", "movement", math.hypot(*move.lateral), case.lateral),
        ("angular", "angle", math.hypot(*move.angular), case.angular),
    ):
        if rated is None:
            continue
        other_way = name == "axial" and move.axial * rated < 0.0
        way = "extension" if move.axial > 0.0 else "compression"
        yield compare(
            id=f"rated.{name}.{case.name}@{case.joint}",
            name=f"{name.capitalize()} movement of {case.joint} against rated, {case.name}",
            demand=value,
            capacity=None if other_way else abs(rated),
            kind=kind,
            source=RATED,
            limit_kind=LimitKind.PUBLISHED,
            missing=(f"rated {way}: the record rates the other way",) if other_way else (),
            cautions=ALONE,
        )
