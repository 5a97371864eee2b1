"""The verdict: engines in array passes, mechanisms one by one, then what stands."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from typing import Any, Literal

import msgspec

from takeup import __version__
from takeup.ageing.joined import Joined, joined
from takeup.ageing.model import Survival
from takeup.assess import thrust
from takeup.assess.build import BASIS_ASSUMED, basis_assumed, bellows_case, not_covered
from takeup.assess.mechanisms import MECHANISMS
from takeup.assess.model import (
    SEVERITY,
    Confidence,
    Evaluation,
    JointCase,
    Level,
    MechanismResult,
    Verdict,
)
from takeup.assess.reading import age_years, governing_test, horizons, renewed, worst
from takeup.bellows import evaluate_many, surviving_ply
from takeup.bellows.model import BellowsCase, BellowsReport
from takeup.checks import Ground, Strength
from takeup.errors import TakeupError
from takeup.evidence import interply, marks
from takeup.evidence import temperature as watch
from takeup.evidence.facts import MarkReading
from takeup.evidence.model import InterplyResult, MarkMovement, PlyVerdict
from takeup.progress import Progress, silent
from takeup.units import YEAR

_STRONG = list(Strength)
Kept = dict[int, tuple[Any, bytes]]
"""Encoded history, limits and supports by the identity of the object, for one run."""
_SHARED = frozenset({"plant", "unit", "supports", "next_outage", "second_outage", "history",
                     "limits"})  # fmt: skip
_DECISIVE = frozenset({Level.IN_DOUBT, Level.ACT_NOW})


def assess(cases: Sequence[JointCase], progress: Progress = silent) -> tuple[Verdict, ...]:
    """Give a verdict for each case."""
    evaluations = evaluate(cases, progress)
    kept: Kept = {}
    verdicts = []
    for number, (case, evaluation) in enumerate(zip(cases, evaluations, strict=True)):
        if number % 25 == 0:
            progress(0.5 + 0.5 * number / max(1, len(cases)), f"judging {case.joint.tag}")
        verdicts.append(conclude(case, evaluation, kept))
    progress(1.0, "judged")
    return tuple(verdicts)


def evaluate(cases: Sequence[JointCase], progress: Progress = silent) -> tuple[Evaluation, ...]:
    """Run the engines over all cases: bellows in one array pass, life in one by service."""
    plies = [_interply(case) for case in cases]
    temperatures = []
    for number, case in enumerate(cases):
        if case.temperatures:
            progress(0.2 * number / max(1, len(cases)), f"temperatures of {case.joint.tag}")
        temperatures.append(
            tuple(
                watch.watch(
                    daily,
                    joint=case.joint.tag,
                    bellows=letter,
                    limits=case.limits,
                    today=case.today,
                    outage=case.next_outage.start if case.next_outage else None,
                    run_start=case.run_start,
                )
                for letter, _, daily in case.temperatures
            )
        )
    movements = [mark_movements(case) for case in cases]
    progress(0.3, "bellows")
    wanted: list[tuple[int, str, str, BellowsCase]] = []
    for number, case in enumerate(cases):
        for one in () if not_covered(case) else case.bellows:
            made = bellows_case(case, one, temperatures[number])
            wanted.append((number, one.letter, "whole", made))
            lost = _lost(plies[number], one.letter)
            if lost and (one.plies or 0) >= 2:
                try:
                    wanted.append((number, one.letter, "survivor", surviving_ply(made, lost)))
                except TakeupError:
                    continue
    reports = evaluate_many([made for *_, made in wanted])
    whole: dict[int, list[tuple[str, BellowsReport]]] = {}
    survivors: dict[int, list[tuple[str, BellowsReport]]] = {}
    assumed = {
        (number, one.letter)
        for number, case in enumerate(cases)
        for one in case.bellows
        if basis_assumed(one)
    }
    for (number, letter, role, _), found in zip(wanted, reports, strict=True):
        report = found
        if (number, letter) in assumed:
            report = msgspec.structs.replace(found, notes=(BASIS_ASSUMED, *found.notes))
        (whole if role == "whole" else survivors).setdefault(number, []).append((letter, report))
    progress(0.4, "lives")
    lasting = _survival(cases)
    return tuple(
        Evaluation(
            bellows=tuple(whole.get(number, ())),
            survivors=tuple(survivors.get(number, ())),
            plies=plies[number],
            temperatures=temperatures[number],
            movements=movements[number],
            survival=lasting[number],
        )
        for number in range(len(cases))
    )


def _survival(cases: Sequence[JointCase]) -> list[Survival | None]:
    from takeup.ageing import survival

    found: list[Survival | None] = [None] * len(cases)
    groups: dict[tuple[str, int, tuple[float, float]], list[int]] = {}
    for number, case in enumerate(cases):
        age, (to_next, _) = age_years(case), horizons(case)
        if age is None or to_next is None:
            continue
        shape = (case.limits.value("weibull.shape_low"), case.limits.value("weibull.shape_high"))
        # by identity: joints of one service hold one history, and to hash it for each is slow
        groups.setdefault((case.line.service.value, id(case.history), shape), []).append(number)
    for (service, _, shape), places in groups.items():
        records = cases[places[0]].history
        ages = [age_years(cases[place]) or 0.0 for place in places]
        ahead = [horizons(cases[place]) for place in places]
        results = survival.lasting_many(
            service,
            ages,
            [next_ or 0.0 for next_, _ in ahead],
            [second if second is not None else (next_ or 0.0) for next_, second in ahead],
            records,
            shape_span=shape,
        )
        for place, result in zip(places, results, strict=True):
            found[place] = result
    return found


def _interply(case: JointCase) -> tuple[InterplyResult, ...]:
    results = [
        interply.interpret(
            test,
            tuple(
                reading
                for reading in case.readings
                if reading.bellows.casefold() == test.bellows.casefold()
                and reading.date == test.date
            ),
            case.limits,
        )
        for test in case.tests
        if test.date <= case.today
        and ((since := renewed(case, test.bellows)) is None or test.date >= since)
    ]
    return tuple(sorted(results, key=lambda result: result.date, reverse=True))


def mark_movements(case: JointCase) -> tuple[MarkMovement, ...]:
    """Movement by the marks of the bellows now in place, hot minus cold."""
    return marks.movements(
        _marks(case), case.visits, {one.letter: one.inside_diameter for one in case.bellows}
    )


def _marks(case: JointCase) -> tuple[MarkReading, ...]:
    """Readings of the bellows now in place, none from the future."""
    dates = {visit.id.casefold(): visit.date for visit in case.visits}
    kept = []
    for reading in case.marks:
        date, since = dates.get(reading.visit.casefold()), renewed(case, reading.bellows)
        if date is not None and date <= case.today and (since is None or date >= since):
            kept.append(reading)
    return tuple(kept)


def _lost(results: Sequence[InterplyResult], letter: str) -> Literal["inner", "outer"] | None:
    governing = governing_test(results, letter)
    if governing is None:
        return None
    if governing.verdict == PlyVerdict.INNER:
        return "inner"
    return "outer" if governing.verdict == PlyVerdict.OUTER else None


def conclude(case: JointCase, evaluation: Evaluation, kept: Kept | None = None) -> Verdict:
    """Combine the mechanisms of one joint; ``kept`` spares encoding what joints share.

    The worst level that evidence supports governs.  A joint is called lasting only when no
    *essential* mechanism (thrust path, bellows condition, plies, pressure, age) lacks its
    evidence; else it is unproven.  So taking reassuring evidence away never improves it.
    """
    results = tuple(mechanism(case, evaluation) for mechanism in MECHANISMS)
    applying = [result for result in results if result.applies]
    proven = [result for result in applying if result.level != Level.UNPROVEN]
    level = worst(result.level for result in proven)
    open_essential = [r for r in applying if r.essential and r.level == Level.UNPROVEN]
    if level not in _DECISIVE and open_essential:
        level = Level.UNPROVEN
    governing = _governing(level, applying, open_essential)
    missing = _ordered(applying, "missing", open_essential)
    grounds = _chain(level, applying, open_essential)
    return Verdict(
        joint=case.joint.tag,
        today=case.today,
        level=level,
        confidence=_confidence(applying, grounds),
        headline=_headline(case, level, governing),
        governing=governing.mechanism if governing else None,
        thrust=thrust.statement(case, evaluation),
        mechanisms=results,
        evaluation=evaluation,
        grounds=grounds,
        causes=tuple(dict.fromkeys(cause for r in applying for cause in r.causes)),
        missing=missing,
        would_change=_ordered(
            [r for r in applying if r.level == level or r in open_essential], "would_change", []
        ),
        cautions=tuple(dict.fromkeys(c for r in applying for c in r.cautions)),
        inputs_hash=hash_of(case, kept),
        version=__version__,
        remaining=_remaining(case, evaluation, applying),
    )


def _remaining(
    case: JointCase, evaluation: Evaluation, applying: Sequence[MechanismResult]
) -> Joined | None:
    """Every calculated life of the joint together; ``None`` without one or without both outages."""
    ahead, second = horizons(case)
    if ahead is None or second is None:
        return None
    wears = [wear for result in applying for wear in result.wears]
    return joined(wears, evaluation.survival, ahead * YEAR, second * YEAR)


def _governing(
    level: Level, applying: Sequence[MechanismResult], open_essential: Sequence[MechanismResult]
) -> MechanismResult | None:
    if level == Level.UNPROVEN:
        return open_essential[0]
    at_level = [result for result in applying if result.level == level]
    if level == Level.CARRIES_ON or not at_level:
        return None
    # of several at one level, what was measured or seen speaks before what is statistical
    return min(
        at_level,
        key=lambda result: min(
            (_STRONG.index(ground.strength) for ground in result.grounds), default=len(_STRONG)
        ),
    )


def _ordered(
    results: Sequence[MechanismResult], name: str, first: Sequence[MechanismResult]
) -> tuple[str, ...]:
    ordered = [*first, *sorted(results, key=lambda r: -SEVERITY[r.level])]
    found = [line for result in ordered for line in getattr(result, name)]
    return tuple(dict.fromkeys(found))


def _chain(
    level: Level, applying: Sequence[MechanismResult], open_essential: Sequence[MechanismResult]
) -> tuple[Ground, ...]:
    if level in {Level.CARRIES_ON, Level.UNPROVEN}:
        chosen = [*open_essential, *[r for r in applying if r.level != Level.UNPROVEN]]
    else:
        chosen = [result for result in applying if result.level == level]
    found = [ground for result in chosen for ground in result.grounds]
    found.sort(key=lambda ground: _STRONG.index(ground.strength))
    return tuple({ground.claim: ground for ground in found}.values())


def _confidence(applying: Sequence[MechanismResult], grounds: Sequence[Ground]) -> Confidence:
    """Well grounded: no essential evidence open and at most one other piece.

    Partly: no essential evidence open, or a decisive finding that was seen or measured.
    """
    unproven = [result for result in applying if result.level == Level.UNPROVEN]
    if not any(result.essential for result in unproven):
        return Confidence.GOOD if len(unproven) <= 1 else Confidence.FAIR
    seen = any(ground.strength in {Strength.MEASURED, Strength.RECORDED} for ground in grounds)
    return Confidence.FAIR if seen and len(unproven) <= len(applying) // 2 else Confidence.THIN


def _headline(case: JointCase, level: Level, governing: MechanismResult | None) -> str:
    ahead = case.next_outage
    after = case.second_outage
    to_next = f"the outage of {ahead.start.isoformat()}" if ahead else "the next outage"
    to_second = f"the one of {after.start.isoformat()}" if after else "the one after"
    why = governing.summary if governing else ""
    why = why[:1].lower() + why[1:] if why[1:2].islower() else why
    if level == Level.CARRIES_ON:
        return f"Nothing found against lasting to {to_next} and to {to_second}."
    if level == Level.THIS_RUN:
        return f"Lasts to {to_next}; not shown to last to {to_second}: {why}."
    if level == Level.IN_DOUBT:
        return f"May not last to {to_next}, or must be worked on in it: {why}."
    if level == Level.ACT_NOW:
        return f"Must not wait for {to_next}: {why}."
    return f"Not enough is known to say whether it lasts to {to_next}: {why}."


def hash_of(case: JointCase, kept: Kept | None = None) -> str:
    """sha256 over everything the verdict rests on, and the version."""
    digest = hashlib.sha256(__version__.encode())
    for name in case.__struct_fields__:
        value = getattr(case, name)
        if name == "temperatures":
            for letter, tag, daily in value:
                digest.update(f"{letter}\x00{tag}\x00".encode())
                for field in daily.__struct_fields__[1:]:
                    digest.update(getattr(daily, field).tobytes())
        elif name == "theory":  # stands on facts that its key is the hash of
            digest.update(b"" if value is None else value.key.encode())
        elif name in _SHARED:
            digest.update(_encoded(name, value, {} if kept is None else kept))
        else:
            digest.update(msgspec.json.encode(value))
    return digest.hexdigest()


def _encoded(name: str, value: Any, kept: Kept) -> bytes:
    """One field as bytes, encoded once in a run for the joints that hold the same object."""
    known = kept.get(id(value))
    if known is None:
        plain = {k: v.value for k, v in value.items()} if name == "limits" else value
        # the object is kept with its bytes, so that its id cannot be taken by another
        known = kept[id(value)] = (value, msgspec.json.encode(plain))
    return known[1]
