"""Ply integrity: what interply tests and indicators say, and whether one ply would hold alone."""

from __future__ import annotations

import msgspec

from takeup.assess.build import bellows_case
from takeup.assess.model import Evaluation, JointCase, Level, Mechanism, MechanismResult
from takeup.assess.pressure import relevant
from takeup.assess.reading import findings, governing_test, grounds_of, horizons, is_current, worst
from takeup.bellows.as_found import AsFound, AsFoundReport, examine
from takeup.bellows.as_found.model import Life, LostPly
from takeup.checks import Check, Ground, LimitKind, Outcome, Strength
from takeup.errors import TakeupError
from takeup.evidence.model import InterplyResult, PlyVerdict
from takeup.register.entities import BellowsElement, MovementRole, YesNo
from takeup.sources import Source, Standing, practice

ITEMS = ("HB4", "CB7")
NO_LIFE = "A tight interply test is no statement of life: it says both plies hold today."
MANY = 10_000.0
"""Cycles above which no number is printed: no design curve was tested on so slow a count."""
SURVIVOR = Source(
    document="Bellows standards",
    at="the remaining ply recomputed with one ply and its own diameter",
    standing=Standing.DERIVED,
)
RULE = practice("interply test of two-ply bellows")


def newest(evaluation: Evaluation, letter: str) -> InterplyResult | None:
    """The interpreted test that governs for one bellows."""
    return governing_test(evaluation.plies, letter)


def assess(case: JointCase, evaluation: Evaluation) -> MechanismResult:
    """Judge each bellows: tight, one ply lost, or not shown; and the survivor alone."""
    found, level = findings(case, ITEMS)
    levels, summaries, grounds = [level], [], list(grounds_of(found))
    missing: list[str] = []
    checks: list[Check] = []
    cautions: list[str] = []
    unproven = False
    lost = False
    for one in case.bellows:
        name = f"bellows {one.letter}"
        result = newest(evaluation, one.letter)
        if one.plies is None:
            unproven = True
            missing.append(f"{name}: number of plies")
        elif one.plies == 1:
            summaries.append(f"{name} has a single ply: nothing guards it")
        elif result is None:
            unproven = True
            missing.append(_ask(one))
            summaries.append(f"{name} was never tested between its plies")
        if result is None:
            continue
        checks += result.checks
        cautions += result.cautions
        grounds.append(_ground(result))
        later = [
            r
            for r in evaluation.plies
            if r.bellows.casefold() == one.letter.casefold() and r.date > result.date
        ]
        if later and result.verdict == PlyVerdict.INNER:
            missing.append(
                f"{name}: why the test of {later[0].date.isoformat()} says "
                f"{later[0].verdict.value} after an inner ply leaked; a new bellows is not on record"
            )
        if result.verdict == PlyVerdict.TIGHT:
            cautions.append(NO_LIFE)
            if is_current(case, result.date, "evidence.stale_test"):
                summaries.append(f"{name} tight on {result.date.isoformat()}")
            else:
                unproven = True
                missing.append(f"{name}: a new interply test, the last is of {result.date.year}")
        elif result.verdict == PlyVerdict.INCONCLUSIVE:
            unproven = True
            missing.append(f"{name}: a conclusive interply test ({result.why[0]})")
            summaries.append(f"{name}: test inconclusive, {result.why[0]}")
        else:
            lost = True
            more, verdict_level, words, beware = _one_ply(case, evaluation, one, result)
            checks += more
            cautions += beware
            levels.append(verdict_level)
            grounds += words
            said = f"; {words[0].claim}" if words and verdict_level == Level.ACT_NOW else ""
            summaries.append(f"{name}: {result.verdict.value}{said}")
    if not case.bellows:
        unproven = True
        missing.append(f"the bellows of {case.joint.tag}")
    level = worst(levels)
    if unproven and level in {Level.CARRIES_ON, Level.THIS_RUN}:
        level = Level.UNPROVEN
    summary = "; ".join(summaries) or "nothing is known of the plies"
    causes = (
        ["inner_ply"]
        if any(
            (r := newest(evaluation, one.letter)) and r.verdict == PlyVerdict.INNER
            for one in case.bellows
        )
        else []
    )
    return MechanismResult(
        mechanism=Mechanism.PLY,
        applies=True,
        level=level,
        summary=summary[0].upper() + summary[1:],
        essential=True,
        causes=tuple(causes),
        checks=tuple(checks),
        findings=found,
        grounds=tuple(grounds),
        missing=tuple(dict.fromkeys(missing)),
        would_change=(
            ("a repeated interply test after checking port and connections",) if lost else ()
        ),
        cautions=tuple(dict.fromkeys(cautions)),
    )  # fmt: skip


def _ask(one: BellowsElement) -> str:
    if one.test_port == YesNo.NO:
        return (
            f"bellows {one.letter}: no test port, so the plies cannot be tested; "
            "penetrant test of roots and crowns when cold"
        )
    port = "" if one.test_port == YesNo.YES else ", if it has a port"
    return f"bellows {one.letter}: an interply test{port}"


def _ground(result: InterplyResult) -> Ground:
    return Ground(
        claim=f"interply test of bellows {result.bellows} on {result.date.isoformat()}: "
        f"{result.verdict.value}; {'; '.join(result.why)}",
        evidence=(f"interply_test:{result.joint}/{result.bellows}/{result.date.isoformat()}",),
        rule="held pressure, corrected for temperature, port proven, bubbles looked for",
        source=RULE,
        limit_kind=LimitKind.RULE_OF_THUMB,
        strength=Strength.MEASURED,
    )


def _one_ply(
    case: JointCase, evaluation: Evaluation, one: BellowsElement, result: InterplyResult
) -> tuple[list[Check], Level, list[Ground], tuple[str, ...]]:
    """Judge whether what is left holds alone, and what life it has left.

    Pressure decides between in doubt and act now; cycles left are said beside it and never
    make it better.
    """
    report = next((r for letter, r in evaluation.survivors if letter == one.letter), None)
    if report is None:
        return [], Level.IN_DOUBT, [], ()
    prefix = f"survivor.{one.letter}."
    kept = [c for c in report.checks if not c.id.startswith(("geometry", "creep"))]
    checks = [
        msgspec.structs.replace(
            check, id=prefix + check.id, name=f"{check.name}, remaining ply alone"
        )
        for check in kept
    ]
    strength = [named for check, named in zip(kept, checks, strict=True) if relevant(check)]
    failed = [c for c in strength if c.outcome == Outcome.NOT_MET]
    operating = [c for c in failed if c.id.endswith("@operating")]
    open_ = [
        c for c in strength if c.id.endswith("@operating") and c.outcome == Outcome.NOT_EVALUATED
    ]
    shown = any(
        c.id.endswith("@operating") and c.outcome in {Outcome.MET, Outcome.NOT_MET}
        for c in strength
    )
    if operating and result.verdict == PlyVerdict.INNER:
        level, words = (
            Level.ACT_NOW,
            (
                f"the remaining ply alone does not meet {operating[0].name.split(',')[0]} "
                f"at operating conditions ({operating[0].ratio:.2f} of the limit)"
            ),
        )
    elif operating:
        level, words = (
            Level.IN_DOUBT,
            (
                "should the outer ply be the one that leaks, the inner ply alone would not meet "
                f"{operating[0].name.split(',')[0]} at operating conditions"
            ),
        )
    elif failed:
        level, words = (
            Level.IN_DOUBT,
            ("the remaining ply alone holds at operating, not at design conditions"),
        )
    elif shown and not open_:
        level, words = (
            Level.IN_DOUBT,
            (
                "the remaining ply alone meets the pressure checks at operating and design "
                "conditions; nothing guards it any more"
            ),
        )
    else:
        level, words = Level.IN_DOUBT, "the remaining ply alone could not be checked in full"
    grounds = [
        Ground(
            claim=words,
            evidence=tuple(f"check:{check.id}" for check in (failed[:3] or checks[:1])),
            rule="n = 1 for strength and stability; the cause is not judged by this",
            source=SURVIVOR,
            limit_kind=LimitKind.DERIVED,
            strength=Strength.CALCULATED,
        )
    ]
    found = as_found(case, evaluation, one, result)
    if found is None or found.ply_loss is None:
        return checks, level, grounds, ()
    return checks, level, [*grounds, *_life(case, one, found)], found.ply_loss.cautions


def as_found(
    case: JointCase, evaluation: Evaluation, one: BellowsElement, result: InterplyResult
) -> AsFoundReport | None:
    """The bellows short of the ply that a test found leaking, beside the bellows as designed.

    ``None`` where a test found none, or where the register does not tell enough to work it out.
    """
    lost = {PlyVerdict.INNER: LostPly.INNER, PlyVerdict.OUTER: LostPly.OUTER}.get(result.verdict)
    if lost is None:
        return None
    rate = sum(row.cycles or 0.0 for row in case.movements if row.role == MovementRole.EXPECTED)
    found = AsFound(
        name=f"{one.joint} {one.letter}",
        lost_ply=lost,
        date=result.date,
        cycles_per_year=rate or None,
    )
    try:
        return examine(bellows_case(case, one, evaluation.temperatures), found, case.limits)
    except TakeupError:
        return None


def _life(case: JointCase, one: BellowsElement, found: AsFoundReport) -> list[Ground]:
    """Cycles left of the remaining ply, and where its rule set ends."""
    assert found.ply_loss is not None
    made = []
    words = _cycles_left(case, found.ply_loss.life)
    if words:
        made.append(
            Ground(
                claim=f"bellows {one.letter}, what is left against the design fatigue curve: "
                f"{words}; fatigue alone, not what took the other ply",
                evidence=(one.ref,),
                rule="damage before the loss with both plies, after it with the one that is left; "
                "cycles done by rate or events on record",
                source=found.ply_loss.life.source,
                limit_kind=LimitKind.DERIVED,
                strength=Strength.CALCULATED,
            )
        )
    made += [
        Ground(
            claim=f"bellows {one.letter}: {over.why} No life is stated; it needs an assessment of "
            "creep",
            evidence=(one.ref,),
            rule="the rule sets hold below the creep range only",
            source=SURVIVOR,
            limit_kind=LimitKind.DERIVED,
            strength=Strength.CALCULATED,
        )
        for over in found.hand_overs
    ]
    return made


def _cycles_left(case: JointCase, life: Life) -> str:
    """Usage so far and cycles left against those expected to the next outage; never in years.

    Years at an expected rate would read like a promise; a ply that was lost gives none.
    """
    if life.usage_so_far is None:
        return "not evaluated, " + (life.words[0] if life.words else "movements are not known")
    said = f"{life.usage_so_far:.0%} used so far"
    if life.left is None:
        return f"{said}; cycles left not evaluated"
    left = f"over {MANY:.0f}" if life.left > MANY else f"about {life.left:.0f}"
    rate = sum(row.cycles or 0.0 for row in case.movements if row.role == MovementRole.EXPECTED)
    ahead, _ = horizons(case)
    if not rate or ahead is None:
        return f"{said}, {left} cycles left"
    wanted = max(1.0, rate * ahead)
    enough = "" if life.left >= wanted else ", NOT enough"
    return f"{said}, {left} cycles left for {wanted:.0f} expected to the next outage{enough}"
