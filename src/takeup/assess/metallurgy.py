"""What years at temperature have done to bellows, rings and pipe; how much creep life is used.

Time at temperature decides; no hours are never a pass.  What an altered metal means for a repair
is told as a caution; what shortens its life moves the joint.
"""

from __future__ import annotations

from collections.abc import Iterable

import msgspec

from takeup.ageing import creep as creeping
from takeup.ageing.joined import Wear
from takeup.ageing.metallurgy import Change, State, changes
from takeup.assess.model import Evaluation, JointCase, Level, Mechanism, MechanismResult
from takeup.assess.reading import horizons, worst
from takeup.assess.soaks import YEAR, Metal, metals
from takeup.checks import Check, Ground, LimitKind, Outcome, Strength, does_not_apply
from takeup.errors import TakeupError, UnknownName
from takeup.heat.exposure import Answer
from takeup.materials import alloy
from takeup.register.entities import Wall, YesNo
from takeup.sources import Source, Standing

LIFE = frozenset({"aged", "graphite"})
"""Changes that shorten what is left"""
ASKED = frozenset({"sensitised", "aged", "graphite", "relaxation"})
"""Changes that leave a joint unproven while they are no more than possible"""
_WORST = {State.NO: 0, State.UNKNOWN: 1, State.MAYBE: 2, State.YES: 3}
STRESS = Source(
    document="Takeup",
    at="creep stress: of a bellows the larger of S2 and S3 + S4/1.25 by its rule set; of a pipe "
    "pressure on its mean diameter, without bending and supports",
    standing=Standing.ASSUMPTION,
)
PIPE = "Pressure alone: bending, supports and what a ring restrains come on top."


class Judged(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """A change of one metal of the joint."""

    metal: Metal
    weld: bool
    change: Change
    strength: Strength


def assess(case: JointCase, evaluation: Evaluation) -> MechanismResult:
    """Judge sensitisation, sigma, ageing, embrittlement and creep of each metal of a joint."""
    every = metals(case, evaluation)
    judged = [one for metal in every for one in _judged(metal)]
    missing = list(_asked(every))
    lives = [_creep(case, evaluation, metal) for metal in every]
    crept = [check for check, _ in lives if check is not None]
    levels, summaries, cautions, settle = [Level.CARRIES_ON], [], [], []
    for one in judged:
        level, request = _level(case, one)
        levels.append(level)
        missing += [request] if request else []
        if one.change.state == State.YES:
            summaries.append((level, f"{_named(one)} is expected"))
            cautions.append(f"{_named(one)}: {one.change.consequence}.")
        if one.change.state in {State.YES, State.MAYBE}:
            settle += [f"{_named(one)}: {', '.join(one.change.asks)}"] if one.change.asks else []
    for check in crept:
        if check.outcome == Outcome.NOT_MET:
            levels.append(Level.THIS_RUN if check.cautions else Level.IN_DOUBT)
            summaries.append((levels[-1], f"{check.name}: used up"))
        elif check.outcome == Outcome.NOT_EVALUATED:
            levels.append(Level.UNPROVEN)
            missing.append(f"{check.name}: {check.because.removeprefix('unknown: ')}")
    open_ = bool(missing) or any(one.change.state == State.UNKNOWN for one in judged)
    level = worst(one for one in levels if one != Level.UNPROVEN)
    if level == Level.CARRIES_ON and (open_ or Level.UNPROVEN in levels or not judged):
        level = Level.UNPROVEN
    return MechanismResult(
        mechanism=Mechanism.METALLURGY,
        applies=True,
        level=level,
        summary=_summary(level, summaries, missing),
        checks=(*(_check(one) for one in judged), *crept),
        grounds=(
            *(_ground(one) for one in judged if one.change.state in {State.YES, State.MAYBE}),
            *_clean(judged),
        ),
        missing=tuple(dict.fromkeys(missing)),
        would_change=tuple(dict.fromkeys(settle)),
        cautions=tuple(dict.fromkeys(cautions)),
        wears=tuple(wear for _, wear in lives if wear is not None),
    )


def sensitised(case: JointCase, evaluation: Evaluation) -> Answer:
    """Whether a bellows of the joint is sensitised by its hours: yes, no, or not known."""
    states = [
        one.change.state
        for metal in metals(case, evaluation)
        if metal.place.startswith("bellows")
        for one in _judged(metal)
        if one.change.id == "sensitised"
    ]
    if State.YES in states:
        return Answer.YES
    return Answer.NO if states and set(states) == {State.NO} else Answer.UNKNOWN


def expected(case: JointCase, evaluation: Evaluation, id: str) -> tuple[Judged, ...]:
    """Metals of which a change is expected or possible, worst first."""
    found = [
        one
        for metal in metals(case, evaluation)
        for one in _judged(metal)
        if one.change.id == id and one.change.state in {State.YES, State.MAYBE}
    ]
    return tuple(sorted(found, key=lambda one: -_WORST[one.change.state]))


def _judged(metal: Metal) -> list[Judged]:
    """Every change of base metal, and of weld metal where it comes out otherwise."""
    if not metal.alloy:
        return []
    try:
        known = alloy(metal.alloy).name
    except UnknownName:
        return []
    base = _of(metal, known, weld=False)
    seen = {(one.change.id, one.change.state) for one in base}
    welds = [
        one for one in _of(metal, known, weld=True) if (one.change.id, one.change.state) not in seen
    ]
    return [*base, *welds]


def _of(metal: Metal, name: str, *, weld: bool) -> list[Judged]:
    condition = msgspec.structs.replace(metal.condition, weld=weld)
    whole = changes(name, metal.whole or metal.known, condition)
    sure = changes(name, metal.known, condition) if metal.known else whole
    found = []
    for change, measured in zip(whole, sure, strict=True):
        made = change
        if change.state == State.NO and not metal.aged:
            made = msgspec.structs.replace(
                change,
                state=State.UNKNOWN,
                because=f"{change.because}; years before the history are not known",
            )
        strength = Strength.ASSUMED
        if metal.known and measured.state == made.state:
            strength = Strength.CALCULATED
        found.append(Judged(metal=metal, weld=weld, change=made, strength=strength))
    return found


def _named(one: Judged) -> str:
    weld = ", weld," if one.weld and "weld" not in one.change.name else ""
    return f"{one.change.name}{weld} in {one.metal.place}"


def _asked(every: Iterable[Metal]) -> Iterable[str]:
    for metal in every:
        try:
            known = bool(metal.alloy) and alloy(metal.alloy) is not None
        except UnknownName:
            known = False
        if not known:
            yield f"the alloy of {metal.place} (certificate or analysis)"
        elif not metal.whole and not metal.known:
            yield f"hours at temperature of {metal.place}: {metal.where}"


def _level(case: JointCase, one: Judged) -> tuple[Level, str]:
    """What a change means for lasting, and what is asked for."""
    change = one.change
    if change.id in LIFE and change.state == State.YES:
        return Level.THIS_RUN, ""
    if change.id == "sensitised" and change.state in {State.YES, State.MAYBE}:
        if case.line.sulphides == YesNo.NO:
            return Level.CARRIES_ON, ""
        if case.wall_model is not None:
            return Level.CARRIES_ON, ""  # judged with its exposure by too cold
        asked = "how it is opened and kept at shutdown (air, water, nitrogen, alkaline wash)"
        if case.line.sulphides is None:
            asked = "whether it carries sulphides"
        return Level.UNPROVEN, f"of line {case.line.tag}, {asked}: sensitised metal cracks there"
    if change.id in ASKED and change.state == State.MAYBE:
        return Level.UNPROVEN, f"{_named(one)}: {', '.join(change.asks)}" if change.asks else ""
    return Level.CARRIES_ON, ""


def _check(one: Judged) -> Check:
    change = one.change
    outcome = {State.NO: Outcome.MET, State.YES: Outcome.NOT_MET}.get(
        change.state, Outcome.NOT_EVALUATED
    )
    share = change.share if outcome != Outcome.NOT_EVALUATED else None
    because = f"{change.because} ({one.metal.where})"
    if change.state == State.MAYBE:
        because = f"possible, not shown: {because}; {' or '.join(change.asks)} would settle it"
    # a band of onset is three wide either way: its middle alone does not decide, so it is no ratio
    sided = share is not None and (share > 1.0) == (outcome == Outcome.NOT_MET)
    return Check(
        id=f"metal.{change.id}@{one.metal.id}{'.weld' if one.weld else ''}",
        name=f"No {change.name[0].lower()}{change.name[1:]}, {one.metal.place}",
        outcome=outcome,
        demand=share if sided else None,
        capacity=1.0 if sided else None,
        source=change.source,
        limit_kind=LimitKind.PUBLISHED,
        because=because,
        cautions=(change.consequence,) if outcome != Outcome.MET else (),
    )


def _ground(one: Judged) -> Ground:
    change = one.change
    return Ground(
        claim=f"{_named(one)} is {change.state.value}: {change.because}",
        evidence=one.metal.evidence,
        rule=f"time at temperature: {one.metal.where}",
        source=change.source,
        limit_kind=LimitKind.PUBLISHED,
        strength=one.strength,
    )


def _clean(judged: list[Judged]) -> Iterable[Ground]:
    """One ground a metal that no change reaches, from its hours."""
    for place in dict.fromkeys(one.metal.place for one in judged):
        own = [one for one in judged if one.metal.place == place]
        if all(one.change.state == State.NO for one in own):
            yield Ground(
                claim=f"{place} of {own[0].metal.alloy}: no change of the metal is expected from "
                "its time at temperature",
                evidence=own[0].metal.evidence,
                rule=f"time at temperature: {own[0].metal.where}",
                source=own[0].change.source,
                limit_kind=LimitKind.PUBLISHED,
                strength=own[0].strength,
            )


def _summary(
    level: Level, summaries: list[tuple[Level, str]], missing: list[str]
) -> str:  # fmt: skip
    told = [words for at, words in summaries if at == level] or [words for _, words in summaries]
    if told and level != Level.UNPROVEN:
        words = "; ".join(dict.fromkeys(told))
    elif missing:
        words = f"what heat did to the metal is not shown: {missing[0]}"
    elif told:
        words = "; ".join(dict.fromkeys(told))
    else:
        words = "no change of the metal is expected from its time at temperature"
    return words[0].upper() + words[1:]


# -- creep -----------------------------------------------------------------------------------


def _creep(
    case: JointCase, evaluation: Evaluation, metal: Metal
) -> tuple[Check | None, Wear | None]:  # fmt: skip
    """Creep life fraction of a metal hot enough to creep, and what is left of its life."""
    try:
        known = alloy(metal.alloy) if metal.alloy else None
    except UnknownName:
        known = None
    if known is None or metal.place.startswith("ring"):
        return None, None
    hours = metal.whole or metal.known
    hottest = max((soak.temperature for soak in hours), default=metal.temperature)
    threshold = creeping.THRESHOLD_C[known.family.value] + 273.15
    name = f"Creep life fraction of {metal.place} ({known.name})"
    id = f"creep@{metal.id}"
    if hottest is None:
        return None, None  # asked for as hours already
    if hottest < threshold:
        return does_not_apply(
            id=id, name=name, source=creeping.LINEAR,
            because=f"never above {threshold - 273.15:.0f} °C, below which creep is not counted; "
            f"{metal.where}",
        ), None  # fmt: skip
    stress = _pipe_stress(case) if metal.place == "pipe" else _bellows_stress(evaluation, metal)
    lacking = [] if hours else [f"hours at temperature: {metal.where}"]
    if stress is None:
        lacking.append("pressure stress in operation (pressure and sizes)")
    if metal.known and not metal.aged:
        lacking.append("years in service before the history")
    life: creeping.Creep | None = None
    if stress is not None and hours and not lacking:
        ahead, second = horizons(case)
        spells = [
            creeping.Spell(time=soak.time, temperature=soak.temperature, stress=stress)
            for soak in hours
        ]
        try:
            life = creeping.creep(
                known.name, spells, to_come=(second or ahead or 0.0) * YEAR
            )  # fmt: skip
        except TakeupError as fault:
            lacking.append(str(fault))
    if life is None:
        return Check(
            id=id, name=name, outcome=Outcome.NOT_EVALUATED, source=creeping.LINEAR,
            limit_kind=LimitKind.PUBLISHED, because=f"unknown: {'; '.join(lacking)}",
        ), None  # fmt: skip
    made, (low, _, high) = life.check, life.left
    wear = (
        Wear(name=f"creep of {metal.place}", low=low, high=max(low, high), used=0.0,
             source=made.source)
        if 1.0 <= low < creeping.CAP  # a capped life says nothing of its spread
        else None
    )  # fmt: skip
    check = msgspec.structs.replace(
        made,
        id=id,
        name=name,
        because="; ".join(filter(None, (made.because, metal.where, STRESS.at))),
        cautions=(*made.cautions, *((PIPE,) if metal.place == "pipe" else ())),
    )
    return check, wear


def _bellows_stress(evaluation: Evaluation, metal: Metal) -> float | None:
    """Pressure stress of a bellows in operation that counts in creep [Pa]."""
    report = next((report for letter, report in evaluation.bellows if letter == metal.id), None)
    if report is None:
        return None

    def of(name: str) -> float | None:
        found = report.figure(f"{name}@operating")
        return None if found is None else found.value

    hoop, membrane, bending = of("S2"), of("S3"), of("S4")
    if hoop is None or membrane is None:
        return None
    return max(hoop, membrane + (bending or 0.0) / 1.25)


def _pipe_stress(case: JointCase) -> float | None:
    """Hoop stress of the pipe in operation [Pa]."""
    line = case.line
    if line.operating_pressure is None or line.diameter is None or line.wall is None:
        return None
    if case.joint.wall not in {Wall.HOT, Wall.UNLINED, Wall.COLD}:
        return None
    return max(line.operating_pressure, 0.0) * (line.diameter - line.wall) / (2.0 * line.wall)
