"""Supports and neighbours: a bellows is the victim, the cause often stands 5 to 40 m away."""

from __future__ import annotations

from takeup.assess import suspects as suspecting
from takeup.assess.joint_types import type_facts
from takeup.assess.model import Evaluation, JointCase, Level, Mechanism, MechanismResult
from takeup.assess.reading import findings, grounds_of, is_current, looked_at, worst
from takeup.checks import Check, Ground, Outcome, Strength, compare
from takeup.sources import practice
from takeup.units import shown

ITEMS = ("HS*", "CS*", "XA1", "CF1")
SOURCE = practice("surroundings first")
REACH = 40.0
"""How far along the line a cause is looked for [m]; common practice says 5 to 40 m."""


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
    judged = suspecting.suspects(case, evaluation)
    accused = suspecting.neighbours(case, judged)
    checks = _loads(case)
    failed = [check for check in checks if check.outcome == Outcome.NOT_MET]
    stated = _stated(case)
    if accused or failed:
        level = worst([level, Level.THIS_RUN])
    if level == Level.CARRIES_ON and missing:
        level = Level.UNPROVEN
    bad = [finding for finding in found if finding.grade >= 2]
    if bad:
        summary = bad[0].ground.claim
    elif accused:
        summary = f"By diagnosis of the marks, not seen yet: {accused[0].words}"
    elif failed:
        summary = f"By the model of the line, {failed[0].name} is {failed[0].ratio:.2f} of it"
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
    causes += [cause for cause in suspecting.causes(case, judged) if cause == "support_fault"]
    if any(f.id.startswith(("HS9", "CS9")) and f.grade >= 3 for f in found):
        causes.append("hammer")
    return MechanismResult(
        mechanism=Mechanism.NEIGHBOURS,
        applies=True,
        level=level,
        summary=summary[0].upper() + summary[1:],
        causes=tuple(causes),
        checks=(*checks, *stated),
        findings=found,
        grounds=(
            *grounds_of(found),
            *(suspecting.grounds(case, judged) if accused else ()),
            *(_ground(check, case) for check in failed),
        ),
        missing=(
            *missing,
            *(
                f"which load of a spring is right: {check.because}"
                for check in stated
                if check.outcome == Outcome.NOT_MET
            ),
        ),
        would_change=(
            ("the neighbour set right, and the marks read again",) if bad or accused else ()
        ),
        cautions=(
            ("Mend the neighbour first: a new bellows beside a stuck guide or a failed anchor "
             "buys the same failure.",)
            if bad or accused
            else ()
        ),
    )  # fmt: skip


def _loads(case: JointCase) -> tuple[Check, ...]:
    """Loads and travels of the supports beside the joint, hot, by the model of the line.

    Only where the model states what is allowed.  A support that the register does not place, or
    a joint without a position, is never left out: nearness is then not known.
    """
    model = case.theory
    if model is None or model.of(case.joint.tag) is None:
        return ()
    near = {one.tag.casefold(): _near(case, one.position) for one in case.supports}
    found = []
    for check in model.checks:
        head, _, state = check.id.partition("@")
        kind, _, name = head.partition(".")
        if kind in {"load", "travel"} and state == model.hot and near.get(name.casefold(), True):
            found.append(check)
    return tuple(found)


def _stated(case: JointCase) -> tuple[Check, ...]:
    """Loads of springs on record against those of the model; told and asked, never failing."""
    model = case.theory
    if model is None or model.of(case.joint.tag) is None:
        return ()
    bound, system = case.limits["line.load_agree"], case.plant.units
    found = []
    for one in case.supports:
        for state, known in ((model.cold, one.cold_load), (model.hot, one.hot_load)):
            load = model.load(one.tag, state)
            if load is None or known is None or not _near(case, one.position):
                continue
            words = (
                f"{one.tag} in {state!r} carries {shown(load.size, 'force', system)} by the model and "
                f"{shown(known, 'force', system)} on record"
            )
            found.append(
                compare(
                    id=f"spring.{one.tag}@{state}",
                    name=f"Load of {one.tag} by the model against that on record, {state}",
                    demand=abs(load.size - known),
                    capacity=bound.value * known,
                    kind="force",
                    source=bound.source,
                    limit_kind=bound.limit_kind,
                    because=words,
                )
            )
    return tuple(found)


def _near(case: JointCase, position: float | None) -> bool:
    place = case.joint.position
    return position is None or place is None or abs(position - place) <= REACH


def _ground(check: Check, case: JointCase) -> Ground:
    return Ground(
        claim=f"by the model of line {case.line.tag}, {check.name} is {check.ratio:.2f} of "
        "what is allowed or left",
        evidence=(f"line_model:{case.line.tag}", f"check:{check.id}"),
        rule=check.because or "load and travel within what is stated as allowed",
        source=check.source,
        limit_kind=check.limit_kind,
        strength=Strength.CALCULATED,
    )
