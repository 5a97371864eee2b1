"""Rings, cones, lugs and transition welds on hot pipe.

What was worked out of an attachment counts only while it rests on what is on record now; what is
out of date or was never worked out is asked for and says nothing.
"""

from __future__ import annotations

import datetime as dt
import math
import re

import msgspec

from takeup.ageing import fatigue
from takeup.ageing.attachment import spanned
from takeup.ageing.joined import Wear
from takeup.assess.attached import CONES, Attached, State
from takeup.assess.model import Evaluation, JointCase, Level, Mechanism, MechanismResult
from takeup.assess.reading import (
    date_of,
    findings,
    grounds_of,
    is_current,
    looked_at,
    standing,
    worst,
)
from takeup.checks import Check, Ground, LimitKind, Outcome, Strength
from takeup.evidence.facts import Observation
from takeup.register.entities import Hardware, HardwareKind, Wall, YesNo
from takeup.sources import practice
from takeup.units import YEAR

ITEMS = ("HH5", "CH3", "CI7", "XW1", "XX2", "XR1")
SOURCE = practice("rings welded to hot pipe crack at their toes from start-ups")
STRANGLED = "ring_strangled"
"""Cause where the calculation, not a crack that was seen, speaks against the detail"""
_INSIDE = re.compile(r"\b(inside|internal|internally)\b", re.IGNORECASE)
_DENIED = re.compile(r"\b(not|without|no access|only outside|outside only)\b", re.IGNORECASE)


class Judgement(msgspec.Struct, frozen=True, kw_only=True):
    """What the calculation of one attachment means for the joint."""

    level: Level
    summary: str
    ground: Ground
    checks: tuple[Check, ...]
    missing: tuple[str, ...] = ()
    would_change: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    cause: str = ""


def assess(case: JointCase, evaluation: Evaluation) -> MechanismResult:
    """Judge weld cracks seen and starts counted, and ask for the inside look."""
    found, level = findings(case, ITEMS)
    rings = [
        part
        for part in case.hardware
        if part.kind == HardwareKind.RING and part.on_hot_pipe != YesNo.NO
    ]
    hot = case.joint.wall in {Wall.HOT, Wall.UNLINED}
    if not (found or hot or rings or case.attachments):
        return MechanismResult(
            mechanism=Mechanism.ATTACHMENTS,
            applies=False,
            level=Level.CARRIES_ON,
            summary="No ring or cone on hot pipe is on record",
        )
    judged = [judge(case, one) for one in case.attachments if one.stands]
    judged.sort(key=lambda one: one.level != worst(j.level for j in judged))
    settled = {one.item.casefold() for one in case.attachments if one.stands}
    missing = [line for one in judged for line in one.missing]
    grounds = [*grounds_of(found), *(one.ground for one in judged)]
    left = [part for part in rings if part.item.casefold() not in settled]
    looks: list[str] = []
    if rings:
        grounds.append(_strangles(rings))
    if left and looked_at(case, ("CH3", "CI7")) is None:
        named = ", ".join(part.item for part in left)
        looks.append(f"penetrant test inside the pipe opposite {named}, when the line is open")
    bad = [finding for finding in found if finding.grade >= 2]
    level = worst((level, *(one.level for one in judged)))
    if level in {Level.CARRIES_ON, Level.THIS_RUN} and looks:
        level = Level.UNPROVEN if level == Level.CARRIES_ON else level
    ahead = next((one for one in judged if one.level == level), None)
    if bad:
        summary = bad[0].ground.claim
    elif ahead is not None and level != Level.CARRIES_ON:
        summary = ahead.summary
    elif looks:
        summary = looks[0]
    elif judged:
        summary = judged[0].summary
    else:
        summary = "No crack was seen at rings, cones and lugs"
    causes = ("ring_weld",) if any(f.grade >= 3 for f in found) else ()
    return MechanismResult(
        mechanism=Mechanism.ATTACHMENTS,
        applies=True,
        level=level,
        summary=summary[0].upper() + summary[1:],
        causes=(*causes, *dict.fromkeys(one.cause for one in judged if one.cause)),
        checks=tuple(check for one in judged for check in one.checks),
        findings=found,
        grounds=tuple(grounds),
        missing=(*missing, *looks, *_to_work_out(case, left)),
        would_change=(
            *(
                ("depth of the crack by ultrasonics, and a detail in which the ring can slide",)
                if bad
                else ()
            ),
            *(line for one in judged for line in one.would_change),
        ),
        cautions=(
            *(
                ("Grinding and rewelding the same detail in fatigued metal cracks again.",)
                if bad
                else ()
            ),
            *dict.fromkeys(line for one in judged for line in one.cautions),
        ),
        wears=tuple(
            wear for one in case.attachments if one.stands and (wear := _wear(one)) is not None
        ),
    )


def _wear(one: Attached) -> Wear | None:
    """The span of starts to a crack as a life, where starts so far and a year are known."""
    assert one.judged is not None
    span, starts = one.judged.governing.to_crack, one.starts
    if starts.so_far is None or not starts.whole or not starts.a_year:
        return None
    if not math.isfinite(span.high):
        return None
    a_start = YEAR / starts.a_year
    return Wear(
        name=f"crack at {one.title}",
        low=span.low * a_start,
        high=span.high * a_start,
        used=starts.so_far * a_start,
        source=fatigue.SMOOTH,
    )


def _strangles(rings: list[Hardware]) -> Ground:
    named = ", ".join(part.item for part in rings)
    return Ground(
        claim=f"{named} sits on hot pipe: cooler than the pipe, it strangles it at every start-up",
        evidence=tuple(part.ref for part in rings),
        rule="look on the inside surface opposite the weld toe, with liquid penetrant",
        source=SOURCE,
        strength=Strength.RECORDED,
    )


def _to_work_out(case: JointCase, left: list[Hardware]) -> tuple[str, ...]:
    """What is lacking before an attachment can be judged by its starts and stops."""
    told = []
    known = {one.item.casefold() for one in case.attachments}
    for one in case.attachments:
        if one.stands:
            continue
        why = "; ".join((*one.faults, *one.asked))
        told.append(
            f"{one.title} is {one.state.value}" + (f": {why}" if why else "; work it out")
            if one.state != State.STALE
            else f"{one.title} is out of date: what it rests on has changed; work it out again"
        )
    absent = [part.item for part in left if part.item.casefold() not in known]
    if absent:
        told.append(
            f"sizes, metals and heat of {', '.join(absent)}, so that its starts to a crack can be "
            "worked out"
        )
    return tuple(told)


def judge(case: JointCase, one: Attached) -> Judgement:
    """What a current calculation says: below, inside or beyond the span of starts to a crack.

    Beyond the whole span it is in doubt, unless a current penetrant test inside shows no crack;
    inside the span the test is asked for.  Below it carries on only where every start so far is
    on record and those to come are known.
    """
    assert one.judged is not None
    place, counts = one.judged.governing, one.starts
    span = place.to_crack
    words = f"{spanned(span)} starts and stops"
    look, cracked = inside_test(case, one.item)
    where = "inside surface" if place.from_inside else "outside surface"
    test = (
        f"penetrant test of {one.title}: {where} {place.cut.name} first, inside the pipe opposite "
        "the toe, when the line is open"
    )
    next_, second = _sum(counts.so_far, counts.to_next), _sum(counts.so_far, counts.to_second)
    least = next_ if next_ is not None else counts.so_far
    clean = f"; no crack by the penetrant test inside of {look.isoformat()}" if look else ""
    tests = () if look or cracked else (test,)
    missing: tuple[str, ...] = tests
    cause = ""
    if not math.isfinite(span.low):
        level, missing = Level.CARRIES_ON, ()
        said = "no crack is expected from starts and stops alone"
    elif least is None:
        level, said = Level.UNPROVEN, f"a crack {place.cut.name} takes {words}; how many it has "
        said += "seen is not known"
        missing = (*tests, *counts.missing)
    elif least >= span.high:
        level = Level.THIS_RUN if look else Level.IN_DOUBT
        said = f"{_seen(one)} lie beyond the whole span of {words} to a crack {place.cut.name}"
        cause = STRANGLED
    elif least > span.low:
        level = Level.THIS_RUN if look else Level.UNPROVEN
        said = f"{_seen(one)} lie inside the span of {words} to a crack {place.cut.name}"
    elif not counts.whole or next_ is None:
        level, missing = Level.UNPROVEN, (*tests, *counts.missing)
        said = (
            f"{_seen(one)} lie below the span of {words} to a crack {place.cut.name}, but not all "
            "of them are on record"
        )
    else:
        missing = ()
        lasts = second is not None and second <= span.low
        level = Level.CARRIES_ON if lasts else Level.THIS_RUN
        said = f"{_seen(one)} lie below the whole span of {words} to a crack {place.cut.name}"
    return Judgement(
        level=level,
        summary=f"{one.title}: {said}{clean}",
        ground=Ground(
            claim=f"{one.title}: {said}{clean}",
            evidence=(f"attachment_model:{case.joint.tag}/{one.item}",
                      f"check:attachment.cracks@{one.item}"),
            rule="elastic range by finite elements, smooth-bar curve, weld and hold factors; "
            + ("; ".join(counts.words) or "no starts on record"),
            source=one.judged.grounds[0].source,
            limit_kind=LimitKind.DERIVED,
            strength=Strength.CALCULATED,
        ),
        checks=_checks(
            one,
            certain=not math.isfinite(span.low) or (counts.whole and next_ is not None),
        ),
        missing=missing,
        would_change=_lasting(one) if cause or level in {Level.IN_DOUBT, Level.UNPROVEN} else (),
        cautions=(*one.judged.cautions, *one.cautions, *(_AGAIN if cause else ())),
        cause=cause,
    )  # fmt: skip


_AGAIN = ("The same detail welded again in fatigued metal has fewer starts than it had when new.",)


def _sum(so_far: float | None, more: float | None) -> float | None:
    return None if so_far is None or more is None else so_far + more


def _seen(one: Attached) -> str:
    counts = one.starts
    assert counts.so_far is not None
    least = "" if counts.whole else "at least "
    ahead = "" if counts.to_next is None else f" and {counts.to_next:.0f} to the outage"
    return f"{least}{counts.so_far:.0f} starts so far{ahead}"


def _checks(one: Attached, *, certain: bool) -> tuple[Check, ...]:
    """The checks of an attachment by its name; what is counted short is never a pass."""
    assert one.judged is not None
    made = []
    for check in one.judged.checks:
        named = msgspec.structs.replace(
            check, id=f"{check.id}@{one.item}", name=f"{one.title}: {check.name}"
        )
        short = check.id == "attachment.cracks" and not certain and check.outcome == Outcome.MET
        if short:
            named = msgspec.structs.replace(
                named,
                outcome=Outcome.NOT_EVALUATED,
                because="below the span, but unknown: " + "; ".join(one.starts.missing),
            )
        made.append(named)
    return tuple(made)


def _lasting(one: Attached) -> tuple[str, ...]:
    """The lasting remedy beside the same detail welded again."""
    assert one.judged is not None
    span, rate = one.judged.governing.to_crack, one.starts.a_year
    again = f"the same detail welded again has at the most {spanned(span)} starts and stops"
    if rate and math.isfinite(span.high):
        again += f", {span.low / rate:.1f} to {span.high / rate:.0f} years at {rate:.2g} a year"
    return (f"a detail that lasts: {one.judged.remedies[0].rstrip('.')}; {again}",)


def inside_test(case: JointCase, item: str) -> tuple[dt.date | None, bool]:
    """Penetrant tests inside the pipe at ``item``: the clean one that counts, and whether one is not.

    The date is ``None`` where there is no test, where one shows a crack, where one is not graded
    and where the newest is too old.  A test of welds (CH3) counts only where its place or words
    say that it was made inside.
    """
    seen = [one for one in standing(case, ("CI7", "CH3")) if _of_inside(one, item)]
    dated = [(date, one) for one in seen if (date := date_of(case, one)) is not None]
    cracked = any(one.grade is not None and one.grade > 1 for _, one in dated)
    if not dated or cracked or any(one.grade is None for _, one in dated):
        return None, cracked
    newest = max(date for date, _ in dated)
    return (newest if is_current(case, newest) else None), False


def _of_inside(seen: Observation, item: str) -> bool:
    words = f"{seen.place} {seen.text}"
    if seen.item.upper() == "CH3" and (not _INSIDE.search(words) or _DENIED.search(words)):
        return False
    place = seen.place.casefold()
    names = {item.casefold(), item.rpartition("-")[2].casefold()}
    if item.casefold() == CONES:
        names |= {"cone", "cones"}
    anywhere = place in {"", "-", "inside"}
    return anywhere or any(name and name in re.split(r"[\s,;/]+", place) for name in names)
