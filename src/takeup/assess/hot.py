"""Too hot: action line, long-term caution of the alloy, shell of a cold-wall line."""

from __future__ import annotations

from takeup.assess import walls
from takeup.assess.model import Evaluation, JointCase, Level, Mechanism, MechanismResult
from takeup.assess.reading import findings, grounds_of, metal_temperature, worst
from takeup.assess.temperature import chance_before_outage, checks_of, ground
from takeup.checks import Check, Ground, LimitKind, Outcome, Strength, compare
from takeup.errors import UnknownName
from takeup.register.entities import Insulation, Wall
from takeup.sources import practice

ITEMS = ("HT1", "HT2", "CI2", "CI3", "CI6", "XW2")
ALLOY = practice("long-term caution temperature of the alloy")
DANGEROUS_PAIR = (
    "Outer insulation over a joint whose inner packing is lost is the dangerous pair: never answer "
    "a hot bellows with more insulation outside."
)


def assess(case: JointCase, evaluation: Evaluation) -> MechanismResult:
    """Judge the high action line, drift toward it, the alloy's caution and the shell."""
    found, level = findings(case, ITEMS)
    told = walls.hot(case, evaluation)
    levels, missing = [level, *told.levels], list(told.missing)
    grounds = [*grounds_of(found), *told.grounds]
    checks: list[Check] = [*checks_of(evaluation.temperatures, "high"), *told.checks]
    summaries = list(told.summaries)
    unknown_alloy = False
    lost = bool(told.causes) or any(f.id.startswith("CI3") and f.grade >= 3 for f in found)
    for report in evaluation.temperatures:
        chance = chance_before_outage(report, "high")
        if report.state == "above":
            levels.append(Level.IN_DOUBT)
            summaries.append(f"{report.tag} is above the high action line")
        elif chance >= 0.5:
            levels.append(Level.IN_DOUBT)
            summaries.append(
                f"{report.tag} rises and crosses the high line before the outage "
                f"(chance {chance:.0%})"
            )
        elif chance >= 0.1 or report.state == "rising":
            levels.append(Level.THIS_RUN)
            summaries.append(f"{report.tag} rises toward the high line")
        else:
            continue
        lost = lost or report.state in {"above", "rising"} or chance >= 0.1
        grounds.append(ground(report))
    for one in case.bellows:
        made = _alloy(case, evaluation, one.letter, one.material)
        if made is None:
            if not _known(one.material):
                unknown_alloy = True
                missing.append(f"the alloy of bellows {one.letter} (certificate or analysis)")
            continue
        check, words = made
        checks.append(check)
        if check.outcome == Outcome.NOT_MET:
            levels.append(Level.THIS_RUN)
            summaries.append(words)
            grounds.append(
                Ground(
                    claim=words,
                    evidence=(one.ref, f"check:{check.id}"),
                    rule=check.because,
                    source=ALLOY,
                    limit_kind=LimitKind.RULE_OF_THUMB,
                    strength=Strength.CALCULATED,
                )
            )
        elif check.outcome == Outcome.NOT_EVALUATED:
            missing.append(f"metal temperature of bellows {one.letter} in operation")
    if case.joint.wall == Wall.COLD:
        shell = _shell(case)
        checks.append(shell)
        if shell.outcome == Outcome.NOT_MET:
            levels.append(Level.IN_DOUBT)
            summaries.append("the shell is hotter than a cold-wall line may be")
        elif shell.outcome == Outcome.NOT_EVALUATED:
            missing.append(f"the measured shell temperature of line {case.line.tag}")
    if case.joint.insulation == Insulation.ADDED:
        levels.append(Level.THIS_RUN)
        summaries.append("insulation was added over the bellows after design")
        grounds.append(
            Ground(
                claim=f"insulation was added over {case.joint.tag} after design",
                evidence=(case.joint.ref,),
                rule="outer insulation belongs in the heat balance or not at all",
                source=practice("bellows temperature"),
                strength=Strength.RECORDED,
            )
        )
    level = worst(levels)
    nothing = not evaluation.temperatures and all(
        check.outcome == Outcome.NOT_EVALUATED for check in checks
    )
    if level == Level.CARRIES_ON and (nothing or unknown_alloy or missing):
        level = Level.UNPROVEN
    if not summaries:
        summaries.append(
            found[0].ground.claim
            if found and found[0].grade >= 2
            else "no sign of overheating"
            if not nothing
            else "metal temperature is not known"
        )
    return MechanismResult(
        mechanism=Mechanism.HOT,
        applies=True,
        level=level,
        summary=(s := "; ".join(summaries))[0].upper() + s[1:],
        causes=("lost_blanket",) if lost else (),
        checks=tuple(checks),
        findings=found,
        grounds=tuple(grounds),
        missing=tuple(dict.fromkeys(missing)),
        would_change=(
            *(("the liner, seal and blanket seen from inside",) if lost else ()),
            *told.would_change,
        ),
        cautions=(
            *told.cautions,
            *((DANGEROUS_PAIR,) if lost or case.joint.insulation == Insulation.ADDED else ()),
        ),
    )


def _known(material: str) -> bool:
    from takeup.materials import alloy

    try:
        return bool(material) and alloy(material) is not None
    except UnknownName:
        return False


def _alloy(
    case: JointCase, evaluation: Evaluation, letter: str, material: str
) -> tuple[Check, str] | None:
    from takeup.materials import alloy

    if not material:
        return None
    try:
        metal = alloy(material)
    except UnknownName:
        return None
    if metal.caution_temperature is None:
        return None
    value, where, _ = metal_temperature(case, letter, evaluation.temperatures)
    check = compare(
        id=f"hot.alloy@{letter}",
        name=f"Bellows {letter} below the caution temperature of {metal.name}",
        demand=value,
        capacity=metal.caution_temperature,
        kind="temperature",
        source=ALLOY,
        limit_kind=LimitKind.RULE_OF_THUMB,
        missing=() if value is not None else ("bellows metal temperature",),
        because="" if value is None else f"{metal.caution_reason} ({where})",
    )
    return check, f"bellows {letter} of {metal.name} runs above its caution temperature"


def _shell(case: JointCase) -> Check:
    limit = case.limits["shell.cold_wall"]
    shell = case.line.shell_temperature
    return compare(
        id="hot.shell",
        name="Shell of the cold-wall line",
        demand=shell,
        capacity=limit.value,
        kind="temperature",
        source=limit.source,
        limit_kind=limit.limit_kind,
        missing=() if shell is not None else ("measured shell temperature",),
    )
