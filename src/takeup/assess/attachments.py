"""Rings, cones, lugs and transition welds on hot pipe."""

from __future__ import annotations

from takeup.assess.model import Evaluation, JointCase, Level, Mechanism, MechanismResult
from takeup.assess.reading import findings, grounds_of, looked_at
from takeup.checks import Ground, Strength
from takeup.register.entities import HardwareKind, Wall, YesNo
from takeup.sources import practice

ITEMS = ("HH5", "CH3", "CI7", "XW1", "XX2", "XR1")
SOURCE = practice("rings welded to hot pipe crack at their toes from start-ups")


def assess(case: JointCase, evaluation: Evaluation) -> MechanismResult:
    """Judge weld cracks seen, and ask for the inside look where a ring sits on hot pipe."""
    found, level = findings(case, ITEMS)
    rings = [
        part
        for part in case.hardware
        if part.kind == HardwareKind.RING and part.on_hot_pipe != YesNo.NO
    ]
    hot = case.joint.wall in {Wall.HOT, Wall.UNLINED}
    applies = bool(found) or hot or bool(rings)
    if not applies:
        return MechanismResult(
            mechanism=Mechanism.ATTACHMENTS,
            applies=False,
            level=Level.CARRIES_ON,
            summary="No ring or cone on hot pipe is on record",
        )
    missing, grounds = [], list(grounds_of(found))
    if rings:
        named = ", ".join(part.item for part in rings)
        grounds.append(
            Ground(
                claim=f"{named} sits on hot pipe: cooler than the pipe, it strangles it at every "
                "start-up",
                evidence=tuple(part.ref for part in rings),
                rule="look on the inside surface opposite the weld toe, with liquid penetrant",
                source=SOURCE,
                strength=Strength.RECORDED,
            )
        )
        if looked_at(case, ("CH3", "CI7")) is None:
            missing.append(
                f"penetrant test inside the pipe opposite {named}, when the line is open"
            )
    bad = [finding for finding in found if finding.grade >= 2]
    if level == Level.CARRIES_ON and missing:
        level = Level.UNPROVEN
    summary = (
        bad[0].ground.claim
        if bad
        else ("No crack was seen at rings, cones and lugs" if not missing else missing[0])
    )
    return MechanismResult(
        mechanism=Mechanism.ATTACHMENTS,
        applies=True,
        level=level,
        summary=summary[0].upper() + summary[1:],
        causes=("ring_weld",) if any(f.grade >= 3 for f in found) else (),
        findings=found,
        grounds=tuple(grounds),
        missing=tuple(missing),
        would_change=(
            ("depth of the crack by ultrasonics, and a detail in which the ring can slide",)
            if bad
            else ()
        ),
        cautions=(
            ("Grinding and rewelding the same detail in fatigued metal cracks again.",)
            if bad
            else ()
        ),
    )
