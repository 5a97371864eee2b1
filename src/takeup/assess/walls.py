"""What the wall of a joint says: causes of its temperature, dew points of its gas, exposure.

Only joints with a wall on record are touched.  A cause that the balance ranks first is where to
look, not a finding: alone it takes a joint no lower than *this run only*, except lost packing
under insulation, which cannot wait to be looked at.
"""

from __future__ import annotations

import functools

import msgspec

from takeup.assess.model import Evaluation, JointCase, Level
from takeup.assess.reading import metal_temperature
from takeup.assess.temperature import figure
from takeup.checks import Check, Ground, LimitKind, Outcome, Strength
from takeup.errors import TakeupError
from takeup.heat import dew_report, exposure, inverse, wall_report
from takeup.heat.dew_model import DewReport
from takeup.heat.exposure import Answer, Exposure
from takeup.heat.inverse_causes import LOST_CAUSES, Predictions
from takeup.heat.inverse_model import InverseReport, Reading
from takeup.heat.model import Range, Spreads, WallCase, WallReport
from takeup.heat.wall_stack import DANGEROUS
from takeup.heat.wall_study import WallInput, gas_of, metal_of
from takeup.heat.wall_text import read
from takeup.register.entities import YesNo
from takeup.sources import Source, Standing
from takeup.units import shown

SAMPLES = 1024
CLEAR = 0.5
"""Probability from which a group of causes is taken as what the temperature shows."""
TOLD = 0.05
PACKED_CAUSES = frozenset({"fines_in_fibre", "fines", "coke_crumbs", "hard_coke"})
BALANCE = Source(
    document="Takeup",
    at="heat balance of the wall solved for each cause; probabilities by Bayes' rule from stated "
    "prior weights",
    standing=Standing.DERIVED,
)
SALTS = "ammonium"
_YES = {YesNo.YES: Answer.YES, YesNo.NO: Answer.NO}


class Seen(msgspec.Struct, frozen=True):
    """The temperature of one bellows now, and how it is known."""

    letter: str
    temperature: float
    """[K]"""
    where: str
    evidence: str
    strength: Strength


class Explained(msgspec.Struct, frozen=True, kw_only=True):
    """A temperature with what explains it."""

    seen: Seen
    report: InverseReport
    lost: float
    """Probability of all states with lost packing together"""
    packed: float
    """Of fines and coke"""


class Found(msgspec.Struct, frozen=True, kw_only=True):
    """The wall worked out."""

    given: WallInput
    wall: WallReport
    dew: DewReport | None
    line: float | None
    """Low action line to work with [K]"""
    explained: tuple[Explained, ...]
    checks: tuple[tuple[Seen | None, Check], ...]
    """Dew points against each bellows; ``None``: as calculated, or of the line itself"""
    open: tuple[str, ...]
    """Temperatures that cannot be explained, with why"""


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """What a side, too cold or too hot, has from the wall."""

    levels: tuple[Level, ...] = ()
    summaries: tuple[str, ...] = ()
    causes: tuple[str, ...] = ()
    checks: tuple[Check, ...] = ()
    grounds: tuple[Ground, ...] = ()
    missing: tuple[str, ...] = ()
    would_change: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


NOTHING = Told()


def cold(case: JointCase, evaluation: Evaluation, sensitised: Answer = Answer.UNKNOWN) -> Told:
    """Dew points, the action line that the gas asks for, packing, exposure at shutdown."""
    found = _of(case, evaluation)
    if found is None:
        return NOTHING
    if isinstance(found, str):
        return Told(missing=(found,))
    levels: list[Level] = []
    summaries: list[str] = []
    causes: list[str] = []
    grounds: list[Ground] = [] if found.dew is None else list(found.dew.grounds)
    missing = list(found.open)
    checks = [check for _, check in found.checks]
    for seen, check in found.checks:
        if check.outcome != Outcome.NOT_MET or not check.id.startswith("dew."):
            continue
        if check.id == "dew.line":
            grounds.append(_line_ground(case, check))
            continue
        level, words = _below(case, found, seen, check)
        levels.append(level)
        summaries.append(words)
        causes.append("dew_point")
        grounds.append(_below_ground(seen, check, words, case))
    if found.line is not None and not levels:
        for one in found.explained:
            if inverse.seen(one.report).low < found.line:
                levels.append(Level.THIS_RUN)
                summaries.append(
                    f"bellows {one.seen.letter} is below the low action line that its gas asks "
                    f"for, {_temperature(case, found.line)}"
                )
                grounds.append(_explained_ground(case, one))
    if found.dew is None:
        missing.append("what the gas holds (table [gas] of the wall): dew points")
    elif not found.dew.complete:
        missing.append(f"in the gas: {', '.join(found.dew.missing)}")
    if not found.explained:
        (low,) = _calculated(case, found)[:1]
        checks.append(low)
        if low.outcome == Outcome.NOT_MET:
            levels.append(Level.THIS_RUN)
            summaries.append(
                f"by its wall the bellows may stand at {_span(case, found.wall.bellows_inner)}, "
                "below the low action line"
            )
    for one in found.explained:
        if one.packed >= CLEAR:
            levels.append(Level.THIS_RUN)
            causes.append("packed")
            summaries.append(
                f"fines or coke in the cavity explain the temperature of bellows "
                f"{one.seen.letter} (chance {one.packed:.0%})"
            )
            grounds.append(_explained_ground(case, one))
    told = _exposed(case, found, sensitised)
    cautions = list(found.dew.cautions if found.dew is not None else ())
    if told is not None:
        checks += told.checks
        grounds += told.grounds
        cautions += told.cautions
        missing += [f"at shutdown: {words}" for words in told.missing]
        poly = told.checks[0]
        if poly.outcome == Outcome.NOT_MET:
            levels.append(Level.THIS_RUN)
            summaries.append("polythionic acid can crack the bellows at the next shutdown")
            cautions += poly.cautions
    return Told(
        levels=tuple(levels),
        summaries=tuple(summaries),
        causes=tuple(dict.fromkeys(causes)),
        checks=tuple(checks),
        grounds=tuple(dict.fromkeys(grounds)),
        missing=tuple(missing),
        would_change=_looks(found, PACKED_CAUSES),
        cautions=tuple(dict.fromkeys(cautions)) if levels else (),
    )


def hot(case: JointCase, evaluation: Evaluation) -> Told:
    """Which state of the wall explains the temperature of each bellows; the dangerous pair."""
    found = _of(case, evaluation)
    if found is None:
        return NOTHING
    if isinstance(found, str):
        return Told(missing=(found,))
    levels: list[Level] = []
    summaries: list[str] = []
    grounds: list[Ground] = []
    cautions = [words for words in found.wall.cautions if words == DANGEROUS]
    for one in found.explained:
        grounds.append(_explained_ground(case, one))
        cautions += one.report.cautions
        if one.lost < CLEAR:
            continue
        pair = DANGEROUS in one.report.cautions
        levels.append(Level.IN_DOUBT if pair else Level.THIS_RUN)
        summaries.append(
            f"lost packing explains the temperature of bellows {one.seen.letter} "
            f"(chance {one.lost:.0%})"
            + (", and insulation or a cover lies over it" if pair else "")
        )
    checks = () if found.explained else _calculated(case, found)[1:]
    if any(check.outcome == Outcome.NOT_MET for check in checks):
        levels.append(Level.THIS_RUN)
        summaries.append(
            f"by its wall the bellows may stand at {_span(case, found.wall.bellows_outer)}, above "
            "the high action line"
        )
    return Told(
        levels=tuple(levels),
        summaries=tuple(summaries),
        causes=("lost_blanket",) if any(one.lost >= CLEAR for one in found.explained) else (),
        checks=checks,
        grounds=tuple(grounds),
        missing=found.open,
        would_change=_looks(found, LOST_CAUSES) if summaries else (),
        cautions=tuple(dict.fromkeys(cautions)),
    )


def line_of(case: JointCase, evaluation: Evaluation) -> float | None:
    """Low action line to work with by the wall's gas [K]; ``None`` without one."""
    found = _of(case, evaluation)
    return None if found is None or isinstance(found, str) or found.dew is None else found.line


# -- working it out --------------------------------------------------------------------------


def _of(case: JointCase, evaluation: Evaluation) -> Found | str | None:
    """The wall worked out, or what stands in the way, or nothing without a wall on record."""
    if case.wall_model is None:
        return None
    return _worked(case, _seen(case, evaluation))


def _seen(case: JointCase, evaluation: Evaluation) -> tuple[Seen, ...]:
    found = []
    for report in evaluation.temperatures:
        now = figure(report, "running_median")
        if now is not None:
            found.append(
                Seen(
                    report.bellows,
                    now,
                    f"running median of {report.tag} to {report.last.isoformat()}",
                    f"temperature_series:{report.tag}",
                    Strength.MEASURED,
                )
            )
    measured = {one.letter.casefold() for one in found}
    for bellows in case.bellows:
        if bellows.letter.casefold() in measured:
            continue
        value, where, strength = metal_temperature(case, bellows.letter, ())
        if value is not None:
            found.append(Seen(bellows.letter, value, where, bellows.ref, strength))
    return tuple(found)


@functools.lru_cache(maxsize=8)
def _worked(case: JointCase, every: tuple[Seen, ...]) -> Found | str:
    # the newest cases only: cold and hot ask about one case after each other
    assert case.wall_model is not None
    given, faults = read(case.wall_model.text)
    tag = case.joint.tag
    if given is None:
        return f"the wall of {tag} put right: {'; '.join(faults[:3])}"
    if given.reading is not None and not any(s.strength == Strength.MEASURED for s in every):
        letter = case.bellows[0].letter if case.bellows else "A"
        every = (
            Seen(letter, given.reading.temperature, "reading written with the wall",
                 case.wall_model.ref, Strength.RECORDED),
        )  # fmt: skip
    priors = tuple(sorted(given.priors.items()))
    try:
        wall = _balanced(given.wall, given.spreads)
        dew = None if given.gas is None else dew_report.evaluate(gas_of(given.gas, given.wall))
        predictions = _predictions(given.wall, given.spreads, priors) if every else None
    except TakeupError as fault:
        return f"the wall of {tag} put right: {fault}"
    explained: list[Explained] = []
    open_: list[str] = []
    for seen in every:
        assert predictions is not None
        reading = Reading(temperature=seen.temperature)
        if given.reading is not None and seen.evidence == case.wall_model.ref:
            reading = given.reading
        try:
            report = inverse.explain(predictions, reading)
        except TakeupError as fault:
            open_.append(f"which temperature bellows {seen.letter} has: {fault}")
            continue
        explained.append(_explained(seen, report))
    if not every:
        open_.append(f"a measured temperature of the bellows of {tag}")
    low = case.limits["temperature.low_to"]
    checks: list[tuple[Seen | None, Check]] = []
    if dew is not None:
        checks.append((None, dew_report.check_line(dew, low)))
        for one in explained:
            made = dew_report.check_bellows(dew, wall, inverse.seen(one.report))
            checks += [(one.seen, _lettered(check, one.seen)) for check in made]
        if not explained:
            checks += [(None, check) for check in dew_report.check_bellows(dew, wall)]
    return Found(
        given=given,
        wall=wall,
        dew=dew,
        line=low.value if dew is None else dew_report.action_line(dew, low),
        explained=tuple(explained),
        checks=tuple(checks),
        open=tuple(open_),
    )


@functools.lru_cache(maxsize=64)
def _predictions(
    wall: WallCase, spreads: Spreads, priors: tuple[tuple[str, float], ...]
) -> Predictions:
    return inverse.predict(wall, spreads, priors=dict(priors), samples=SAMPLES)


@functools.lru_cache(maxsize=64)
def _balanced(wall: WallCase, spreads: Spreads) -> WallReport:
    return wall_report.evaluate(wall, spreads, samples=SAMPLES)


def _calculated(case: JointCase, found: Found) -> tuple[Check, ...]:
    """The wall as calculated against the low and the high action line of the site."""
    low, high = (case.limits[f"temperature.{end}"] for end in ("low_to", "high"))
    return wall_report.against(found.wall, low=low, high=high)


def _explained(seen: Seen, report: InverseReport) -> Explained:
    chance = {one.id: one.probability for one in report.causes}
    return Explained(
        seen=seen,
        report=report,
        lost=sum(chance.get(id, 0.0) for id in LOST_CAUSES),
        packed=sum(chance.get(id, 0.0) for id in PACKED_CAUSES),
    )


def _lettered(check: Check, seen: Seen) -> Check:
    return msgspec.structs.replace(
        check,
        id=f"{check.id}@{seen.letter}",
        name=check.name.replace("Bellows", f"Bellows {seen.letter},", 1),
        because=f"{check.because}; {seen.where}" if check.because else seen.where,
    )


def _exposed(
    case: JointCase, found: Found, sensitised: Answer
) -> exposure.ExposureReport | None:  # fmt: skip
    """Exposure by the wall's text; what it leaves open is taken from register and metallurgy."""
    told = found.given.exposure or Exposure()
    line = case.line
    filled = msgspec.structs.replace(
        told,
        sensitised=sensitised if told.sensitised == Answer.UNKNOWN else told.sensitised,
        sulphides=_answer(told.sulphides, line.sulphides),
        chlorides=_answer(told.chlorides, line.chlorides),
    )
    seen = inverse.seen(found.explained[0].report) if found.explained else None
    try:
        return exposure.assess(metal_of(filled, found.wall, seen), found.dew)
    except TakeupError:
        # the alloy of a wall that was worked out is known; a service that is not is a fault of
        # the text, told where the wall is shown
        return None


def _answer(told: Answer, record: YesNo | None) -> Answer:
    return told if told != Answer.UNKNOWN or record is None else _YES[record]


# -- words -----------------------------------------------------------------------------------


def _temperature(case: JointCase, value: float) -> str:
    return shown(value, "temperature", case.plant.units)


def _span(case: JointCase, value: Range) -> str:
    return f"{_temperature(case, value.low)} to {_temperature(case, value.high)}"


def _below(case: JointCase, found: Found, seen: Seen | None, check: Check) -> tuple[Level, str]:
    """Below the middle of a dew point by measurement is decisive; within the bands a doubt."""
    assert found.dew is not None
    id = check.id.removeprefix("dew.").split("@")[0]
    one = next(c for c in found.dew.condensates if c.id == id)
    at = f"the point of {one.title}, {_span(case, one.temperature)}"
    if seen is None:
        return Level.THIS_RUN, f"by its wall the bellows may stand below {at}"
    sure = seen.strength == Strength.MEASURED and seen.temperature < one.temperature.value
    if sure and not id.startswith(SALTS):
        return (
            Level.IN_DOUBT,
            f"bellows {seen.letter} at {_temperature(case, seen.temperature)} stands below {at}",
        )
    return (
        Level.THIS_RUN,
        f"bellows {seen.letter} at {_temperature(case, seen.temperature)} may stand below {at}",
    )


def _below_ground(seen: Seen | None, check: Check, words: str, case: JointCase) -> Ground:
    assert case.wall_model is not None
    return Ground(
        claim=words if seen is None else f"{words} ({seen.where})",
        evidence=(
            f"check:{check.id}",
            case.wall_model.ref,
            *((seen.evidence,) if seen is not None else ()),
        ),
        rule=check.because,
        source=check.source,
        limit_kind=check.limit_kind,
        strength=Strength.CALCULATED if seen is None else seen.strength,
    )


def _line_ground(case: JointCase, check: Check) -> Ground:
    assert case.wall_model is not None
    return Ground(
        claim=f"the low action line of the site lies too low for {case.joint.tag}: {check.because}",
        evidence=(f"check:{check.id}", case.wall_model.ref),
        rule="highest dew or salt point, upper end, and a margin for cold spots",
        source=check.source,
        strength=Strength.CALCULATED,
    )


def _explained_ground(case: JointCase, one: Explained) -> Ground:
    assert case.wall_model is not None
    ranked = [cause for cause in one.report.causes if cause.probability >= TOLD]
    told = ", ".join(f"{cause.title} {cause.probability:.0%}" for cause in ranked[:4])
    groups = [
        f"{name} together {chance:.0%}"
        for name, chance in (("lost packing", one.lost), ("fines or coke", one.packed))
        if chance >= TOLD
    ]
    return Ground(
        claim=f"bellows {one.seen.letter} at {_temperature(case, one.seen.temperature)} "
        f"({one.seen.where}) is explained by {told}" + (f"; {', '.join(groups)}" if groups else ""),
        evidence=(one.seen.evidence, case.wall_model.ref),
        rule="heat balance of the wall in each state; where to look first, not what is so",
        source=BALANCE,
        limit_kind=LimitKind.DERIVED,
        strength=Strength.CALCULATED,
    )


def _looks(found: Found, group: frozenset[str]) -> tuple[str, ...]:
    """What to look for, of the causes of a group that are told."""
    return tuple(
        dict.fromkeys(
            f"{cause.title}: {cause.look[0].lower()}{cause.look[1:]}"
            for one in found.explained
            for cause in one.report.causes
            if cause.id in group and cause.probability >= TOLD
        )
    )
