"""Movement and fatigue: what the marks say, what theory says, what was rated, how many cycles."""

from __future__ import annotations

from takeup.assess.lives import in_service_since, years
from takeup.assess.model import Evaluation, JointCase, Level, Mechanism, MechanismResult
from takeup.assess.reading import findings, grounds_of, is_current, lettered, visit_of, worst
from takeup.checks import Check, Ground, LimitKind, Outcome, Strength, compare, does_not_apply
from takeup.evidence import marks as marks_engine
from takeup.register.entities import MovementCase, MovementRole, Wall
from takeup.sources import practice

ITEMS = ("HM1", "CM1", "XU2")
COLD_WALL = practice("a cold-wall shell grows with its own temperature, not with the gas")


def assess(case: JointCase, evaluation: Evaluation) -> MechanismResult:
    """Judge measured movement against theory and rating, and cycles against fatigue life."""
    checks: list[Check] = []
    missing: list[str] = []
    found, level = findings(case, ITEMS)
    levels = [level]
    expected, rated = _case(case, MovementRole.EXPECTED), _case(case, MovementRole.RATED)

    growth, asked = _growth(case)
    checks += growth
    missing += asked

    measured = [m for m in evaluation.movements if m.axial is not None]
    for movement in measured:
        made = marks_engine.compare(movement, _triple(expected), _triple(rated), case.limits)
        checks += made
        levels += [_level(check) for check in made]
    if not measured:
        missing.append(
            "position marks read hot and cold at the same marks: one reading is no movement"
            if case.marks
            else "position marks, read hot and cold"
        )
    if expected is None:
        missing.append(f"the movement that theory expects of {case.joint.tag}")
    if rated is None:
        missing.append(f"the rated movement of {case.joint.tag} (drawing or data sheet)")

    fatigue = [
        check for check in lettered(evaluation.bellows) if check.id.startswith(("fatigue", "usage"))
    ]
    checks += fatigue
    for check in fatigue:
        if check.outcome == Outcome.NOT_MET:
            levels.append(Level.IN_DOUBT)
        elif (check.ratio or 0.0) * case.limits.value("cycles.margin") > 1.0:
            levels.append(Level.THIS_RUN)

    open_ = [
        (letter, check)
        for letter, report in evaluation.bellows
        for check in report.checks
        if check.id == "usage" and check.outcome == Outcome.NOT_EVALUATED
    ]
    missing += [
        f"bellows {letter}, fatigue: {check.because.removeprefix('unknown: ')}"
        for letter, check in open_
    ]
    counted = _cycles(case, expected, rated)
    checks.append(counted)
    levels.append(Level.IN_DOUBT if counted.outcome == Outcome.NOT_MET else Level.CARRIES_ON)

    level = worst(levels)
    stale = [
        m
        for m in measured
        if m.hot_visit and (v := visit_of(case, m.hot_visit)) and not is_current(case, v.date)
    ]
    if stale:
        missing.append("hot marks of this campaign: the last hot reading is stale")
    if level == Level.CARRIES_ON and (not measured or stale or open_):
        level = Level.UNPROVEN
    failed = [c for c in checks if c.outcome == Outcome.NOT_MET]
    if failed:
        summary = failed[0].because or f"{failed[0].name} not met"
    elif measured and not stale and open_:
        summary = "Measured movement agrees with theory; fatigue is not evaluated: " + open_[0][
            1
        ].because.removeprefix("unknown: ")
    elif measured and not stale:
        summary = "Measured movement agrees with theory and stays within the rating"
    else:
        summary = "Movement is not shown: " + (missing[0] if missing else "no marks")
    causes = ("over_travel",) if any(not c.id.startswith("growth") for c in failed) else ()
    return MechanismResult(
        mechanism=Mechanism.MOVEMENT,
        applies=True,
        level=level,
        summary=summary[0].upper() + summary[1:],
        causes=causes,
        checks=tuple(checks),
        findings=found,
        grounds=(
            *(_ground(check, evaluation) for check in failed),
            *grounds_of(found),
            *(
                Ground(
                    claim=_words(m.joint, m.axial),
                    evidence=tuple(
                        f"visit:{visit}" for visit in (m.hot_visit, m.cold_visit) if visit
                    ),
                    rule="hot minus cold of the same marks at the same clocks",
                    source=practice("movement from marks"),
                    strength=Strength.MEASURED,
                )
                for m in measured
                if not failed
            ),
        ),
        missing=tuple(dict.fromkeys(missing)),
        would_change=(
            ("reading the marks again hot and cold, and looking at the supports 5 to 40 m away",)
            if failed
            else ()
        ),
        cautions=(
            ("A bellows beyond its rated movement can fail early; look for the neighbour at fault "
             "before the bellows is blamed.",)
            if causes
            else ()
        ),
    )  # fmt: skip


def _cycles(case: JointCase, expected: MovementCase | None, rated: MovementCase | None) -> Check:
    """Cycles from installation to the second outage against those the joint was ordered for."""
    since = in_service_since(case.joint, case.events, case.today)
    end = case.second_outage or case.next_outage
    demand = None
    if since is not None and end is not None and expected is not None and expected.cycles:
        demand = expected.cycles * years(since, end.start)
    capacity = rated.cycles if rated is not None else None
    because = ""
    if demand is not None and capacity is not None:
        because = (
            f"cycle usage: {demand:.0f} cycles expected by {end.start.isoformat() if end else ''}, "
            f"ordered for {capacity:.0f}"
        )
    return compare(
        id="cycles.rated",
        name="Cycles against those the joint was ordered for",
        demand=demand,
        capacity=capacity,
        kind="cycles",
        source=practice("data sheet of the joint"),
        limit_kind=LimitKind.DERIVED,
        because=because,
    )


def _words(joint: str, axial: float | None) -> str:
    if axial is None:
        return f"{joint}: no movement is known"
    return f"{joint} was measured to {'extend' if axial > 0 else 'compress'} from cold to hot"


def _case(case: JointCase, role: MovementRole) -> MovementCase | None:
    rows = [row for row in case.movements if row.role == role]
    normal = [row for row in rows if row.name.casefold() in {"normal", "operating", "design"}]
    return next(iter(normal or rows), None)


def _triple(row: MovementCase | None) -> tuple[float | None, float | None, float | None] | None:
    return None if row is None else (row.axial, row.lateral, row.angular)


def _level(check: Check) -> Level:
    if check.outcome != Outcome.NOT_MET:
        return Level.CARRIES_ON
    if check.id.startswith("marks.rated"):
        return Level.IN_DOUBT
    if check.id.startswith("marks.watch"):
        return Level.THIS_RUN
    return Level.THIS_RUN if check.ratio is not None and check.ratio < 2.0 else Level.IN_DOUBT


def _growth(case: JointCase) -> tuple[list[Check], list[str]]:
    """Whether the pipe's growth may be computed at all: which wall, which temperature."""
    line, wall = case.line, case.joint.wall
    if wall is None:
        return [
            Check(
                id="growth.wall",
                name="Wall type known before growth is computed",
                outcome=Outcome.NOT_EVALUATED,
                source=COLD_WALL,
                limit_kind=LimitKind.PUBLISHED,
                because="unknown: hot wall or cold wall. Growth is not computed: with the gas "
                "temperature a lined shell would come out several times too long",
            )
        ], [f"whether {case.joint.tag} is hot wall, cold wall or unlined"]
    if line.shell_temperature is None:
        name = "shell" if wall == Wall.COLD else "pipe metal"
        return [
            Check(
                id="growth.temperature",
                name=f"Growth from the {name} temperature",
                outcome=Outcome.NOT_EVALUATED,
                source=COLD_WALL,
                limit_kind=LimitKind.PUBLISHED,
                because=f"unknown: measured {name} temperature of line {line.tag}; "
                "the gas temperature is not used in its place",
            )
        ], [f"the measured {name} temperature of line {line.tag}"]
    return [
        does_not_apply(
            id="growth.temperature",
            name="Growth from the metal temperature",
            source=COLD_WALL,
            because="the metal temperature is known; line growth itself is entered as expected "
            "movement in this version",
        )
    ], []


def _ground(check: Check, evaluation: Evaluation) -> Ground:
    return Ground(
        claim=check.because or f"{check.name} is not met",
        evidence=(f"check:{check.id}",),
        rule=check.name,
        source=check.source,
        limit_kind=check.limit_kind,
        strength=Strength.MEASURED if check.id.startswith("marks") else Strength.CALCULATED,
    )
