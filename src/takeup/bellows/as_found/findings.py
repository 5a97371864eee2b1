"""What was found, graded, with its ground and what to do next."""

from __future__ import annotations

from collections.abc import Sequence

from takeup.bellows.as_found.compare import named, refused
from takeup.bellows.as_found.model import (
    CheckRow,
    Corrosion,
    Distortion,
    HandOver,
    Life,
    PlyLoss,
    Travel,
    Variant,
)
from takeup.bellows.as_found.shape import NEVER, PRESSURE_OFF
from takeup.bellows.model import BellowsCase
from takeup.checks import Finding, Ground, LimitKind, Outcome, Strength
from takeup.sources import Source, Standing

RECORD, WATCH, OUTAGE, NOW = 1, 2, 3, 4


def findings(
    case: BellowsCase,
    variants: Sequence[Variant],
    rows: Sequence[CheckRow],
    shape: Distortion | None,
    moved: Travel | None,
    plies: PlyLoss | None,
    thinned: Corrosion | None,
    life: Life,
    creep: Sequence[HandOver],
    limit: float,
    soon: float,
) -> tuple[Finding, ...]:
    """All findings, worst first.

    A check not met at operating condition is for now, any other for this outage; signs of
    squirm and convolutions that touch are for this outage; what only has to be watched is 2.
    ``limit`` is that on pitch deviation [-]; a check that corrosion uses up within ``soon`` [s]
    is for this outage.
    """
    subject = case.name or "bellows"
    found = [
        _check(subject, row)
        for row in rows
        if row.found_outcome == Outcome.NOT_MET and not (row.id == "creep" and creep)
    ]
    found += [_impossible(subject, one) for one in variants if refused(one.report)]
    if shape is not None:
        found += _shape(subject, shape, limit)
    if moved is not None:
        found.append(_travel(subject, moved))
    if plies is not None:
        found.append(_plies(subject, plies))
    if thinned is not None:
        found.append(_thinned(subject, thinned, soon))
    if life.usage_so_far is not None and life.usage_to_come is not None:
        total = life.usage_so_far + life.usage_to_come
        if total > 1.0:
            found.append(_life(subject, life, total))
    found += [_creep(subject, one) for one in creep]
    found.sort(key=lambda one: (-one.grade, one.id))
    return tuple(found)


def _finding(
    subject: str,
    id: str,
    title: str,
    grade: int,
    claim: str,
    rule: str,
    source: Source,
    *,
    evidence: tuple[str, ...] = (),
    action: str = "",
    cautions: tuple[str, ...] = (),
    limit_kind: LimitKind = LimitKind.DERIVED,
    strength: Strength = Strength.CALCULATED,
) -> Finding:
    return Finding(
        id=id,
        subject=subject,
        title=title,
        grade=grade,
        ground=Ground(
            claim=claim,
            evidence=evidence,
            rule=rule,
            source=source,
            limit_kind=limit_kind,
            strength=strength,
        ),
        action=action,
        cautions=cautions,
    )


def _check(subject: str, row: CheckRow) -> Finding:
    at_work = row.id.endswith("@operating")
    squirm = "squirm" in row.id
    title = f"{named(row.id, row.name)}: {'no longer' if row.crosses else 'not'} met as found"
    return _finding(
        subject,
        f"as_found.{row.id}",
        title,
        NOW if at_work else OUTAGE,
        row.words,
        "Use of capacity at most 1",
        row.source,
        evidence=(f"check:{row.id}",),
        action=(
            "Lower the pressure or take the joint out of service until an engineer has judged it."
            if at_work
            else "Settle before the joint goes back into service: repair, replace or re-rate."
        ),
        cautions=(
            *row.cautions,
            *(
                ("A bellows that squirms fails without warning: keep people away.",)
                if squirm
                else ()
            ),
        ),
        limit_kind=LimitKind.CODE,
    )


def _impossible(subject: str, one: Variant) -> Finding:
    check = one.report.checks[0]
    return _finding(
        subject,
        f"as_found.input.{one.name}",
        f"{one.name.capitalize()}: cannot be worked out",
        OUTAGE,
        check.because,
        "Sizes that a bellows can have",
        check.source,
        action="Measure again; if it is so, the bellows is outside every rule.",
        strength=Strength.MEASURED,
    )


def _shape(subject: str, shape: Distortion, limit: float) -> list[Finding]:
    beyond = [one for one in shape.patterns if one.beyond]
    if not beyond:
        return [
            _finding(
                subject,
                "as_found.shape",
                "Convolutions even within the limit",
                RECORD,
                " ".join(shape.words),
                f"Pitch within {limit:.0%} of the mean",
                shape.source,
                limit_kind=LimitKind.RULE_OF_THUMB,
                strength=Strength.MEASURED,
            )
        ]
    return [
        _finding(
            subject,
            f"as_found.shape.{one.id}",
            one.name,
            OUTAGE,
            one.words,
            f"Pitch changed by no more than {limit:.0%}",
            shape.source,
            action="Have squirm checked at the pressures it saw; find what bent it; replace.",
            cautions=(NEVER, PRESSURE_OFF),
            limit_kind=LimitKind.RULE_OF_THUMB,
            strength=Strength.MEASURED,
        )
        for one in beyond
    ]


def _travel(subject: str, moved: Travel) -> Finding:
    touching = moved.gap_used is not None and moved.gap_used >= 1.0
    spent = moved.usage_left is not None and moved.usage_left <= 0.0
    grade = OUTAGE if touching or spent else WATCH if moved.outside else RECORD
    return _finding(
        subject,
        "as_found.travel",
        "Travelled beyond the movements counted" if moved.outside else "Travel as counted",
        grade,
        " ".join(moved.words),
        "Positions within the movements the joint was worked out for",
        moved.source,
        action=(
            "Find the cause (guide, anchor, spring hanger, wrong set) before it moves again."
            if moved.outside
            else ""
        ),
        strength=Strength.MEASURED,
    )


def _plies(subject: str, plies: PlyLoss) -> Finding:
    return _finding(
        subject,
        "as_found.ply",
        f"{plies.lost.value.capitalize()} ply lost",
        WATCH if plies.redundant else OUTAGE,
        " ".join(plies.words),
        "What is left passes every pressure check at design condition",
        plies.life.source,
        action=(
            "Find out why the ply was lost before any time is given; plan the replacement."
            if plies.redundant
            else "Hold pressure below what the ply left bears, or take the joint out of service."
        ),
        cautions=plies.cautions,
    )


def _thinned(subject: str, thinned: Corrosion, soon: float) -> Finding:
    near = thinned.seconds is not None and thinned.seconds < soon
    grade = OUTAGE if near else WATCH if thinned.lost > 0.0 else RECORD
    return _finding(
        subject,
        "as_found.thickness",
        "Metal lost" if thinned.lost > 0.0 else "No metal lost",
        grade,
        " ".join(thinned.words),
        "Thickness at which the first check is used up",
        thinned.source,
        action="Measure again next outage at the same places." if thinned.lost > 0.0 else "",
        limit_kind=LimitKind.RULE_OF_THUMB,
        strength=Strength.MEASURED,
    )


def _life(subject: str, life: Life, total: float) -> Finding:
    return _finding(
        subject,
        "as_found.life",
        "Cycles still to count go beyond the design curve",
        OUTAGE,
        " ".join(life.words),
        f"Usage so far and to come at most 100%, is {total:.0%}",
        life.source,
        action="Plan the replacement within the cycles left.",
        limit_kind=LimitKind.CODE,
    )


def _creep(subject: str, one: HandOver) -> Finding:
    return _finding(
        subject,
        f"as_found.creep@{one.condition}",
        "Metal temperature in the creep range",
        OUTAGE,
        one.why,
        "Metal temperature below the creep threshold of the alloy",
        Source(document="Rule set of the case", at="scope", standing=Standing.MEMORY),
        action="Hand over to a creep check; until then find why it runs so hot.",
    )
