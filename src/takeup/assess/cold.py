"""Too cold: dew point, salts, and what they do to the alloy at hand."""

from __future__ import annotations

from takeup.assess import walls
from takeup.assess.metallurgy import sensitised
from takeup.assess.model import Evaluation, JointCase, Level, Mechanism, MechanismResult
from takeup.assess.reading import findings, grounds_of, metal_temperature, worst
from takeup.assess.temperature import chance_before_outage, checks_of, figure, ground
from takeup.checks import Check, Ground, LimitKind, Outcome, Strength, compare
from takeup.errors import UnknownName
from takeup.register.entities import Insulation, Phase, YesNo
from takeup.sources import practice

ITEMS = ("HB6", "CB9", "CI4", "CI8", "HS9", "CS9")
LINE = practice("low action line; dew point plus margin is the site's to confirm")
PAIR = (
    "Adding insulation is not harmless, and taking wet insulation off is not harmless: the bellows "
    "temperature is a balance of inner blanket, packing and outer cover."
)


def assess(case: JointCase, evaluation: Evaluation) -> MechanismResult:
    """Judge hours below the low line, drift toward it, cover and packing."""
    line = case.line
    wet = _condensing(case)
    told = walls.NOTHING
    if case.wall_model is not None:
        told = walls.cold(case, evaluation, sensitised(case, evaluation))
    found, level = findings(case, ITEMS)
    if (
        not wet
        and not evaluation.temperatures
        and level == Level.CARRIES_ON
        and told is walls.NOTHING
    ):
        # a liquid line does not condense; a gas whose composition nobody entered may
        dry = line.phase == Phase.LIQUID or None not in {line.water, line.chlorides}
        return MechanismResult(
            mechanism=Mechanism.COLD,
            applies=not dry,
            level=Level.CARRIES_ON if dry else Level.UNPROVEN,
            summary="Nothing in this line condenses on the bellows"
            if dry
            else "Whether the gas can condense is not known",
            missing=()
            if dry
            else (f"gas composition of line {line.tag}: water, SO3, chlorides, ammonia",),
        )
    levels, missing = [level, *told.levels], list(told.missing)
    grounds = list(grounds_of(found))
    checks: list[Check] = checks_of(evaluation.temperatures, "low")
    summaries = list(told.summaries)
    drifting = False
    for report in evaluation.temperatures:
        hours = figure(report, "hours_wet")
        limit = case.limits["temperature.wet_hours"]
        checks.append(
            compare(
                id=f"cold.hours@{report.tag}",
                name=f"Hours below the low line, {report.tag}",
                demand=hours,
                capacity=limit.value,
                kind="hours",
                source=limit.source,
                limit_kind=limit.limit_kind,
                because="more hours than this send the joint to penetrant testing",
            )
        )
        chance = chance_before_outage(report, "low")
        now = figure(report, "running_median")
        if now is not None and now < case.limits.value("temperature.low_to"):
            levels.append(Level.IN_DOUBT)
            drifting = True
            summaries.append(f"{report.tag} is below the low action line")
        elif report.state == "below" and chance < 0.5:
            levels.append(Level.THIS_RUN)
            drifting = True
            summaries.append(f"{report.tag} stands in the low action band")
        elif chance >= 0.5:
            levels.append(Level.IN_DOUBT)
            drifting = True
            summaries.append(
                f"{report.tag} falls and crosses the low line before the outage "
                f"(chance {chance:.0%})"
            )
        elif chance >= 0.1 or report.state == "falling":
            levels.append(Level.THIS_RUN)
            drifting = True
            summaries.append(f"{report.tag} falls toward the low line")
        if hours is not None and hours > limit.value:
            levels.append(Level.THIS_RUN)
        if levels[-1] != Level.CARRIES_ON:
            grounds.append(ground(report))
    if not evaluation.temperatures:
        checks += _recorded(case, levels, grounds)
        missing.append("a bellows temperature history, or readings at four clocks")
    insulated = case.joint.insulation
    if insulated == Insulation.MISSING:
        levels.append(Level.IN_DOUBT if wet else Level.THIS_RUN)
        summaries.append("the insulation over the bellows is missing")
        grounds.append(_insulation_ground(case))
    for one in case.bellows:
        try:
            from takeup.materials import alloy

            metal = alloy(one.material) if one.material else None
        except UnknownName:
            metal = None
        if metal is not None and metal.chloride_scc and line.chlorides == YesNo.YES:
            grounds.append(
                Ground(
                    claim=f"{metal.name} cracks in wet chlorides, and line {line.tag} carries them",
                    evidence=(one.ref, line.ref),
                    rule="alloys prone to chloride stress corrosion kept dry or above the dew point",
                    source=practice("stress corrosion of 300-series and 800-series bellows"),
                    strength=Strength.RECORDED,
                )
            )
            levels.append(Level.THIS_RUN)
    checks += told.checks
    grounds += told.grounds
    level = worst(levels)
    if level == Level.CARRIES_ON and not evaluation.temperatures and wet:
        level = Level.UNPROVEN
    if not summaries:
        summaries.append(
            found[0].ground.claim
            if found and found[0].grade >= 2
            else ("bellows temperature stays above the low action line"
                  if evaluation.temperatures
                  else "whether the bellows stays above the dew point is not shown")
        )  # fmt: skip
    causes = list(told.causes)
    if drifting or insulated == Insulation.MISSING or any(f.grade >= 3 for f in found):
        causes.append("dew_point")
    if any(f.id.startswith(("CB9", "CI4")) and f.grade >= 3 for f in found):
        causes.append("packed")
    return MechanismResult(
        mechanism=Mechanism.COLD,
        applies=True,
        level=level,
        summary=(s := "; ".join(summaries))[0].upper() + s[1:],
        causes=tuple(dict.fromkeys(causes)),
        checks=tuple(checks),
        findings=found,
        grounds=tuple(grounds),
        missing=tuple(missing),
        would_change=(
            (
                "readings at all four clocks, the cover looked at, and a sample from behind the liner",
            )
            if causes
            else ()
        )
        + told.would_change,
        cautions=((PAIR,) if causes else ()) + told.cautions,
    )


def _condensing(case: JointCase) -> bool:
    line = case.line
    known = (line.water or 0.0) > 0 or (line.so3 or 0.0) > 0
    known |= YesNo.YES in {line.chlorides, line.ammonia, line.sulphides}
    return known or line.phase == Phase.VAPOUR


def _recorded(case: JointCase, levels: list[Level], grounds: list[Ground]) -> list[Check]:
    checks = []
    limit = case.limits["temperature.low_to"]
    for one in case.bellows:
        value, where, _ = metal_temperature(case, one.letter, ())
        check = compare(
            id=f"cold.low@{one.letter}",
            name=f"Bellows {one.letter} above the low action line",
            demand=value,
            capacity=limit.value,
            kind="temperature",
            at_least=True,
            source=limit.source,
            limit_kind=limit.limit_kind,
            missing=() if value is not None else ("bellows metal temperature",),
            because="" if value is None else f"{where}, not a history",
        )
        checks.append(check)
        if check.outcome == Outcome.NOT_MET:
            levels.append(Level.THIS_RUN)
            grounds.append(
                Ground(
                    claim=f"bellows {one.letter} is on record below the low action line",
                    evidence=(one.ref,),
                    rule="low action line",
                    source=LINE,
                    limit_kind=LimitKind.RULE_OF_THUMB,
                    strength=Strength.RECORDED,
                )
            )
    return checks


def _insulation_ground(case: JointCase) -> Ground:
    return Ground(
        claim=f"the insulation over the bellows of {case.joint.tag} is missing",
        evidence=(case.joint.ref,),
        rule="a bellows that stands in the heat balance with its cover runs colder without it",
        source=LINE,
        strength=Strength.RECORDED,
    )
