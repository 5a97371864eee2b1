"""Mechanical damage, leaks, corrosion and squirm as inspectors saw them."""

from __future__ import annotations

from takeup.assess.lives import in_service_since
from takeup.assess.model import Evaluation, JointCase, Level, Mechanism, MechanismResult
from takeup.assess.reading import findings, grounds_of, is_current, looked_at, worst
from takeup.checks import Ground, Strength
from takeup.register.entities import EventKind
from takeup.sources import practice

ITEMS = (
    "HB1", "HB2", "HB3", "HB5", "HB7",
    "CB1", "CB2", "CB3", "CB4", "CB5", "CB6", "CB8", "CI1", "CI5", "XX1",
)  # fmt: skip
LEAK = (
    "A leak: clear people first, keep out of its line, do not search it by stripping or prodding; "
    "operations and a qualified engineer are told this shift."
)
SQUIRM = "A squirmed bellows is not straightened back into service."


def assess(case: JointCase, evaluation: Evaluation) -> MechanismResult:
    """Judge damage seen on the bellows, and leaks since the present set was installed."""
    found, level = findings(case, ITEMS)
    grounds = list(grounds_of(found))
    levels = [level]
    since = in_service_since(case.joint, case.events, case.today)
    leaks = [
        event
        for event in case.events
        if event.kind == EventKind.LEAKED and (since is None or event.date >= since)
    ]
    mended = [
        event.date
        for event in case.events
        if event.kind in {EventKind.REPAIRED, EventKind.CLAMSHELL, EventKind.BOXED}
    ]
    for event in leaks:
        repaired = any(date >= event.date for date in mended)
        levels.append(Level.IN_DOUBT if repaired else Level.ACT_NOW)
        after = "repaired since, not renewed" if repaired else "no repair is on record"
        grounds.append(
            Ground(
                claim=f"leaked on {event.date.isoformat()}"
                + (f" ({event.mechanism})" if event.mechanism else "")
                + f"; {after}",
                evidence=(event.ref,),
                rule="a leak from a cracked ply rarely stays a pinhole",
                source=practice("leaking bellows"),
                strength=Strength.RECORDED,
            )
        )
    seen = looked_at(case, ("HB*", "CB*"))
    missing = []
    if seen is None:
        missing.append(f"a hot walk of {case.joint.tag} itself")
    elif not is_current(case, seen):
        missing.append(f"a new look at the bellows: the last is of {seen.isoformat()}")
    level = worst(levels)
    if missing and level in {Level.CARRIES_ON, Level.THIS_RUN}:
        level = Level.UNPROVEN
    bad = [finding for finding in found if finding.grade >= 2]
    if leaks and level == Level.ACT_NOW and not (bad and bad[0].grade == 4):
        summary = grounds[-1].claim
    elif bad:
        summary = bad[0].ground.claim
    elif missing:
        summary = "Condition is not shown: " + missing[0]
    else:
        summary = "No damage was seen on the bellows"
    causes = []
    for finding in bad:
        code = finding.id.split("@")[0]
        if finding.grade >= 3 and code in {"CB2", "CB3"}:
            causes.append("mechanical")
        if finding.grade >= 3 and code in {"CB4", "CB5", "CI5", "CB6"}:
            causes.append("cracking")
        if finding.grade >= 3 and code == "HB7":
            causes.append("vibration")
        if finding.grade >= 3 and code in {"HB1", "HB2", "CB1", "CB8"}:
            causes.append("over_travel")
    cautions = []
    if leaks or any(f.id.startswith("HB3") and f.grade >= 3 for f in found):
        cautions.append(LEAK)
    if any(f.id.startswith(("HB1", "CB1", "CB8")) and f.grade >= 3 for f in found):
        cautions.append(SQUIRM)
    return MechanismResult(
        mechanism=Mechanism.DAMAGE,
        applies=True,
        level=level,
        summary=summary[0].upper() + summary[1:],
        essential=True,
        causes=tuple(dict.fromkeys(causes)),
        findings=found,
        grounds=tuple(grounds),
        missing=tuple(missing),
        would_change=("penetrant test and depth of what was seen, when cold",) if bad else (),
        cautions=tuple(cautions),
    )
