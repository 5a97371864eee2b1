"""Supports and neighbours: a bellows is the victim, the cause often stands 5 to 40 m away."""

from __future__ import annotations

from takeup.assess.joint_types import type_facts
from takeup.assess.model import Evaluation, JointCase, Level, Mechanism, MechanismResult
from takeup.assess.reading import findings, grounds_of, is_current, looked_at
from takeup.sources import practice

ITEMS = ("HS*", "CS*", "XA1", "CF1")
SOURCE = practice("surroundings first")


def assess(case: JointCase, evaluation: Evaluation) -> MechanismResult:
    """Judge what was seen of anchors, guides, springs, hangers, nozzles and flanges."""
    found, level = findings(case, ITEMS)
    seen = looked_at(case, ITEMS)
    missing = []
    if seen is None:
        missing.append(f"a walk of the supports around {case.joint.tag}, hot")
    elif not is_current(case, seen):
        missing.append(f"a new walk of the supports: the last is of {seen.isoformat()}")
    if not case.supports:
        missing.append(f"the supports of line {case.line.tag}, with their marks and loads")
    if level == Level.CARRIES_ON and missing:
        level = Level.UNPROVEN
    bad = [finding for finding in found if finding.grade >= 2]
    if bad:
        summary = bad[0].ground.claim
    elif missing:
        summary = "Neighbours are not shown: " + missing[0]
    else:
        summary = "Supports and neighbours as drawn"
    anchors = any(
        finding.grade >= 3 and finding.id.split("@")[0] in {"HS1", "CS1", "XA1", "HS2", "CS2"}
        for finding in found
    )
    causes = []
    if anchors and not type_facts(case.joint.type).tied:
        causes.append("anchor_guide")
    elif any(finding.grade >= 3 for finding in found):
        causes.append("over_travel")
    if any(f.id.startswith(("HS9", "CS9")) and f.grade >= 3 for f in found):
        causes.append("hammer")
    return MechanismResult(
        mechanism=Mechanism.NEIGHBOURS,
        applies=True,
        level=level,
        summary=summary[0].upper() + summary[1:],
        causes=tuple(causes),
        findings=found,
        grounds=grounds_of(found),
        missing=tuple(missing),
        would_change=("the neighbour set right, and the marks read again",) if bad else (),
        cautions=(
            ("Mend the neighbour first: a new bellows beside a stuck guide or a failed anchor "
             "buys the same failure.",)
            if bad
            else ()
        ),
    )  # fmt: skip
