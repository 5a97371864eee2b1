"""Age in this service: the class, the site's own record, and the age to replace at."""

from __future__ import annotations

from takeup.assess.model import Evaluation, JointCase, Level, Mechanism, MechanismResult
from takeup.assess.reading import YEAR, age_years
from takeup.checks import Check, Ground, LimitKind, Outcome, Strength, compare


def assess(case: JointCase, evaluation: Evaluation) -> MechanismResult:
    """Judge the chance of lasting to both outages, and the age to replace at regardless."""
    age = age_years(case)
    limit = case.limits["age.replace"]
    checks: list[Check] = [
        compare(
            id="age.replace",
            name="Years in service against the age to replace at",
            demand=None if age is None else age * YEAR,
            capacity=limit.value,
            kind="years",
            source=limit.source,
            limit_kind=limit.limit_kind,
            missing=() if age is not None else ("date installed",),
        )
    ]
    if age is None:
        return MechanismResult(
            mechanism=Mechanism.AGE,
            applies=True,
            level=Level.UNPROVEN,
            summary="Age is not known",
            essential=True,
            checks=tuple(checks),
            missing=(f"when {case.joint.tag} was installed",),
        )
    survival = evaluation.survival
    act = case.limits["survival.act"]
    if survival is None:
        return MechanismResult(
            mechanism=Mechanism.AGE,
            applies=True,
            level=Level.IN_DOUBT if _too_old(checks) else Level.UNPROVEN,
            summary=f"{age:.0f} years in service; no outage ahead is on record to judge against",
            essential=True,
            causes=("age",) if _too_old(checks) else (),
            checks=tuple(checks),
            missing=("the next outages of the unit",),
        )
    asked = [("age.next", "Chance of lasting to the next outage", survival.to_next)]
    if case.second_outage is not None:
        asked.append(("age.second", "Chance of lasting to the second outage", survival.to_second))
    for id, name, chance in asked:
        checks.append(
            compare(
                id=id,
                name=name,
                demand=chance,
                capacity=act.value,
                kind="share",
                at_least=True,
                source=survival.source,
                limit_kind=LimitKind.RULE_OF_THUMB,
                because=f"{survival.records} lives of this service at the site, "
                f"{survival.failures} failed; limit: the site's own choice",
            )
        )
    if _too_old(checks) or survival.to_next < act.value:
        level = Level.IN_DOUBT
    elif case.second_outage is None or survival.to_second < act.value:
        level = Level.THIS_RUN
    else:
        level = Level.CARRIES_ON
    chances = (
        f"chance of lasting to the next outage {survival.to_next:.0%} "
        f"({survival.to_next_low:.0%} to {survival.to_next_high:.0%}), to the second "
        f"{survival.to_second:.0%} ({survival.to_second_low:.0%} to {survival.to_second_high:.0%})"
    )
    grounds = [
        Ground(
            claim=f"{age:.0f} years in {survival.service}, usually replaced at "
            f"{survival.typical_low:.0f} to {survival.typical_high:.0f}; {chances}",
            evidence=(case.joint.ref,),
            rule="life of the service group, updated with the site's own lives, given alive today",
            source=survival.source,
            limit_kind=LimitKind.RULE_OF_THUMB,
            strength=Strength.STATISTICAL,
        )
    ]
    if _too_old(checks):
        grounds.insert(
            0,
            Ground(
                claim=f"{age:.0f} years in service: replacement is recommended whatever the "
                "inspection says",
                evidence=(case.joint.ref, "check:age.replace"),
                rule=f"over {limit.value / YEAR:.0f} years, the site's own age",
                source=limit.source,
                limit_kind=limit.limit_kind,
                strength=Strength.RECORDED,
            ),
        )
    return MechanismResult(
        mechanism=Mechanism.AGE,
        applies=True,
        level=level,
        summary=f"{age:.0f} years in service"
        + (": replacement is recommended whatever the inspection says" if _too_old(checks) else "")
        + f"; {chances}",
        essential=True,
        causes=("age",) if level == Level.IN_DOUBT else (),
        checks=tuple(checks),
        grounds=tuple(grounds),
        would_change=("ages at which joints of this service failed or were taken out sound",),
        cautions=(
            ("A chance is not a measurement: it says how such joints have fared, not how this "
             "one is.",)
            if level in {Level.IN_DOUBT, Level.THIS_RUN}
            else ()
        ),
    )  # fmt: skip


def _too_old(checks: list[Check]) -> bool:
    return checks[0].outcome == Outcome.NOT_MET
