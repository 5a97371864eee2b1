"""Pressure strength and stability of the bellows, by the rule set of the case."""

from __future__ import annotations

from takeup.assess.build import basis_assumed, not_covered
from takeup.assess.model import Evaluation, JointCase, Level, Mechanism, MechanismResult
from takeup.assess.reading import lettered, worst
from takeup.bellows.model import BellowsReport
from takeup.checks import Check, Ground, Outcome, Strength

_FAMILIES = (
    "S1", "S1c", "S2", "S2e", "S2r", "S2f", "S3", "column_squirm", "inplane_squirm", "external",
    "geometry", "creep", "input",
)  # fmt: skip
_ENDS = ("S1", "S1c", "S2e")
"""Checks of tangent, collar and end convolutions: asked for where open, not essential."""
_DECIDED = frozenset({Outcome.MET, Outcome.NOT_MET})


def relevant(check: Check) -> bool:
    """Whether a check of the bellows report belongs to this mechanism."""
    return _family(check) in _FAMILIES


def _family(check: Check) -> str:
    return check.id.split("@")[0].split(".")[0].split("+")[0]


def assess(case: JointCase, evaluation: Evaluation) -> MechanismResult:
    """Judge pressure stresses and squirm at operating, design and test conditions."""
    checks = [check for check in lettered(evaluation.bellows) if relevant(check)]
    missing: list[str] = []
    uncovered = not_covered(case)
    if uncovered:
        missing.append(uncovered)
    elif not case.bellows:
        missing.append(f"the bellows of {case.joint.tag}: measure diameter, height, pitch, plies")
    for letter, report in evaluation.bellows:
        missing += [
            f"bellows {letter}, data that cannot be true: {check.because}"
            for check in report.checks
            if check.id == "input"
        ]
        missing += [
            f"bellows {letter}: {name.replace('_', ' ')}"
            for name in report.missing
            if name not in {"tangent_length", "heat_treatment"}
        ]
        missing += [
            f"bellows {letter}, {_lower(check.name)}: {check.because.removeprefix('unknown: ')}"
            for check in _open(report)
        ]
    for name, pressure in (
        ("operating", case.line.operating_pressure),
        ("design", case.line.design_pressure),
    ):
        if pressure is None:
            missing.append(f"{name} pressure of line {case.line.tag}")
    at_operating = [c for c in checks if c.id.endswith("@operating")]
    creeping = [
        (letter, check)
        for letter, report in evaluation.bellows
        for check in report.checks
        if check.id == "creep" and check.outcome == Outcome.NOT_MET
    ]
    missing += [
        f"bellows {letter}: an assessment of creep by a qualified engineer; the rule set ends where "
        "the alloy begins to creep"
        for letter, _ in creeping
    ]
    if (
        case.bellows
        and not creeping
        and case.line.operating_pressure is not None
        and not uncovered
        and not any(check.outcome in _DECIDED for check in at_operating)
    ):
        missing.append("bellows metal temperature in operation (never the gas temperature)")
    failed = [c for c in checks if c.outcome == Outcome.NOT_MET and not _shape(c)]
    shape = [c for c in checks if c.outcome == Outcome.NOT_MET and _shape(c)]
    levels = [Level.CARRIES_ON]
    if any(check.id.endswith("@operating") for check in failed):
        levels.append(Level.IN_DOUBT)
    elif failed:
        levels.append(Level.THIS_RUN)
    evaluated = [c for c in at_operating if c.outcome in _DECIDED]
    creep = [c for c in shape if c.id.startswith("creep")]
    level = worst(levels)
    every = bool(evaluation.bellows) and not uncovered
    every = every and all(
        _at_operating(report) and not _open(report) for _, report in evaluation.bellows
    )
    if (not every or creep) and level != Level.IN_DOUBT:
        level = Level.UNPROVEN
    worst_check = max(
        (c for c in checks if c.ratio is not None and not _shape(c)),
        key=lambda c: c.ratio or 0.0,
        default=None,
    )
    if creep:
        summary = "Metal temperature is above the creep threshold: the rule set does not apply"
    elif failed:
        summary = f"{failed[0].name} not met: {_use(failed[0])}"
    elif worst_check is not None and evaluated and every:
        summary = f"Pressure checks met; nearest is {worst_check.name} at {_use(worst_check)}"
    else:
        summary = "Not evaluated: " + (missing[0] if missing else "inputs are missing")
    grounds = tuple(_ground(check) for check in (failed or ([worst_check] if worst_check else [])))
    return MechanismResult(
        mechanism=Mechanism.PRESSURE,
        applies=True,
        level=level,
        summary=summary,
        essential=True,
        causes=("overload",) if failed else (),
        checks=tuple(checks),
        grounds=grounds + tuple(_ground(check) for check in shape),
        missing=tuple(dict.fromkeys(missing)),
        would_change=(
            *(
                f"{check.name}: a certificate or measurement that shows more capacity"
                for check in failed[:2]
            ),
            *(
                ("the rule set of the design, where it is another than was taken",)
                if failed and any(basis_assumed(one) for one in case.bellows)
                else ()
            ),
        ),
        cautions=(
            ("A bellows that squirms or buckles fails without warning: keep people away and have it checked "
             "by a qualified engineer before pressure is raised.",)
            if any("squirm" in check.id or "external" in check.id for check in failed)
            else ()
        ),
    )  # fmt: skip


def _at_operating(report: BellowsReport) -> bool:
    """Whether a bellows was checked at its operating pressure and metal temperature."""
    return any(
        check.id.endswith("@operating") and check.outcome in _DECIDED
        for check in report.checks
        if relevant(check)
    )


def _open(report: BellowsReport) -> list[Check]:
    """Checks at operating pressure that stay open although others were worked out.

    An open check of tangent, collar or end convolutions is tolerated, unless what is known of
    it says that the limit is not shown to hold.
    """
    if not _at_operating(report):
        return []
    return [
        check
        for check in report.checks
        if check.id.endswith("@operating")
        and relevant(check)
        and check.outcome == Outcome.NOT_EVALUATED
        and (_family(check) not in _ENDS or (check.ratio or 0.0) > 1.0)
    ]


def _lower(words: str) -> str:
    return words[:1].lower() + words[1:]


def _shape(check: Check) -> bool:
    return check.id.startswith(("geometry", "creep", "input"))


def _use(check: Check) -> str:
    return f"{check.ratio:.2f} of the limit" if check.ratio is not None else "ratio not known"


def _ground(check: Check) -> Ground:
    outcome = "exceeds its limit" if check.outcome == Outcome.NOT_MET else "is within its limit"
    if _shape(check):
        outcome = "lies outside what the rule set covers"
    return Ground(
        claim=f"{check.name} {outcome} ({_use(check)})" if not _shape(check)
        else f"{check.name} {outcome}",
        evidence=(f"check:{check.id}",),
        rule=check.because or check.valid or "demand within capacity",
        source=check.source,
        limit_kind=check.limit_kind,
        strength=Strength.CALCULATED,
    )  # fmt: skip
