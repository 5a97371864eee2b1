"""Movement and fatigue: what the marks say, what theory says, what was rated, how many cycles.

Theory is the model of the line where there is one that solves, else the movement as entered.
"""

from __future__ import annotations

from takeup.assess import cycles
from takeup.assess import expected as expecting
from takeup.assess import suspects as suspecting
from takeup.assess.lives import in_service_since, years
from takeup.assess.model import Evaluation, JointCase, Level, Mechanism, MechanismResult
from takeup.assess.reading import findings, grounds_of, is_current, lettered, visit_of, worst
from takeup.checks import Check, Ground, LimitKind, Outcome, Strength, compare, does_not_apply
from takeup.evidence import marks as marks_engine
from takeup.register.entities import MovementCase, MovementRole, Wall
from takeup.sources import practice

ITEMS = ("HM1", "CM1", "XU2")
TOLD_ONLY = ("movement.entered", "growth")
"""Checks of what is on record: they are told and asked about, and fail no joint."""
SUSPECTED = (
    "A diagnosis from marks is a suspicion with a chance: look at the support on site before "
    "anyone touches it, and never free a loaded spring or rod on its word."
)
COLD_WALL = practice("a cold-wall shell grows with its own temperature, not with the gas")


def assess(case: JointCase, evaluation: Evaluation) -> MechanismResult:
    """Judge measured movement against theory and rating, and cycles against fatigue life."""
    checks: list[Check] = []
    missing: list[str] = []
    found, level = findings(case, ITEMS)
    levels = [level]
    expected = expecting.row(case, MovementRole.EXPECTED)
    rated = expecting.row(case, MovementRole.RATED)

    growth, asked = _growth(case)
    checks += growth
    missing += asked
    entered = expecting.contradiction(case)
    if entered is not None:
        checks.append(entered)
        if entered.outcome == Outcome.NOT_MET:
            missing.append(f"which movement of {case.joint.tag} is right: {entered.because}")

    measured = [m for m in evaluation.movements if m.axial is not None]
    for movement in measured:
        made = marks_engine.compare(
            movement, expecting.triple(case, movement.bellows), _triple(rated), case.limits
        )
        checks += made
        levels += [_level(check) for check in made]
    if not measured:
        missing.append(
            "position marks read hot and cold at the same marks: one reading is no movement"
            if case.marks
            else "position marks, read hot and cold"
        )
    if expecting.triple(case) is None:
        missing.append(f"the movement that theory expects of {case.joint.tag}")
    elif expected is None:
        missing.append(f"how often a year {case.joint.tag} makes its expected movement")
    missing += expecting.missing(case)
    judged = suspecting.suspects(case, evaluation)
    missing += suspecting.asked(case, judged)
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
    starts = cycles.ground(case, in_service_since(case.joint, case.events, case.today))
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
    failed = [c for c in checks if c.outcome == Outcome.NOT_MET and not c.id.startswith(TOLD_ONLY)]
    if failed:
        summary = failed[0].because or f"{failed[0].name} not met"
    elif judged is not None and judged.accused:
        summary = f"Marks are off the model of the line; by diagnosis {judged.accused[0].words}"
    elif measured and not stale and open_:
        summary = "Measured movement agrees with theory; fatigue is not evaluated: " + open_[0][
            1
        ].because.removeprefix("unknown: ")
    elif measured and not stale:
        summary = "Measured movement agrees with theory and stays within the rating"
    else:
        summary = "Movement is not shown: " + (missing[0] if missing else "no marks")
    blamed = suspecting.causes(case, judged)
    # an accused neighbour explains that marks are off, not that a rating or a life is used up
    beyond = [c for c in failed if not (blamed and c.id.startswith("marks.theory"))]
    causes = (*blamed, *(("over_travel",) if beyond else ()))
    if judged is not None and judged.accused and failed[:1] and failed[0] not in beyond:
        summary = f"{summary}; by diagnosis {judged.accused[0].words}"
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
            *suspecting.grounds(case, judged),
            *(one for one in (_contradicted(entered, case), expecting.ground(case), starts) if one),
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
            *(
                ("reading the marks again hot and cold, and looking at the supports 5 to 40 m away",)
                if failed
                else ()
            ),
            *(suspecting.asked(case, judged) if failed else ()),
            *suspecting.changing(case, judged),
        ),
        cautions=(
            *((cycles.SHORT,) if starts is not None else ()),
            *(
                ("A bellows beyond its rated movement can fail early; look for the neighbour at "
                 "fault before the bellows is blamed.",)
                if causes
                else ()
            ),
            *((SUSPECTED,) if judged is not None and (judged.accused or judged.hints) else ()),
        ),
    )  # fmt: skip


def _contradicted(entered: Check | None, case: JointCase) -> Ground | None:
    return None if entered is None else expecting.told(entered, case)


def _cycles(case: JointCase, expected: MovementCase | None, rated: MovementCase | None) -> Check:
    """Cycles from installation to the second outage against those the joint was ordered for."""
    since = in_service_since(case.joint, case.events, case.today)
    end = case.second_outage or case.next_outage
    demand = None
    seen = cycles.counted(case, "", since)
    if since is not None and end is not None and expected is not None:
        rate = expected.cycles or (0.0 if seen is None else seen.rate)
        if seen is not None:
            ahead = max(rate, seen.rate) * years(case.today, end.start)
            demand = cycles.done(seen, rate, years(since, case.today), 0.0) + ahead
        elif rate:
            demand = rate * years(since, end.start)
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
                "the gas temperature is not used in its place"
                + (
                    f", and that of the model ({case.theory.temperature - 273.15:.0f} °C) was "
                    "not measured"
                    if case.theory is not None and case.theory.temperature is not None
                    else ""
                ),
            )
        ], [f"the measured {name} temperature of line {line.tag}"]
    return _state_of_model(case)


def _state_of_model(case: JointCase) -> tuple[list[Check], list[str]]:
    """Whether the hot state of the model is the one that was measured."""
    line, model = case.line, case.theory
    if model is None or expecting.theory(case) is None:
        return [
            does_not_apply(
                id="growth.temperature",
                name="Growth from the metal temperature",
                source=COLD_WALL,
                because="the metal temperature is known; the growth of the line is entered as "
                f"expected movement: {expecting.without(case)}",
            )
        ], []
    checks, asked = [], []
    for id, name, kind, own, known, limit in (
        ("growth.temperature", "Metal temperature of the model against the measured one",
         "temperature_difference", model.temperature, line.shell_temperature,
         "line.temperature_agree"),
        ("growth.pressure", "Pressure of the model against that of the register",
         "pressure", model.pressure, line.operating_pressure, "line.pressure_agree"),
    ):  # fmt: skip
        bound = case.limits[limit]
        allowed: float | None = bound.value
        if bound.kind == "share":
            allowed = None if known is None else bound.value * abs(known)
        away = None if own is None or known is None else abs(own - known)
        check = compare(
            id=id,
            name=name,
            demand=away,
            capacity=allowed,
            kind=kind,
            source=bound.source,
            limit_kind=bound.limit_kind,
            missing=() if away is not None else ("both values",),
            because="" if away is None else f"state {model.hot!r} of the model of line {line.tag}",
        )
        checks.append(check)
        if check.outcome == Outcome.NOT_MET:
            asked.append(
                f"the {'metal temperature' if kind != 'pressure' else 'pressure'} of state "
                f"{model.hot!r} in the model of line {line.tag} settled: it is not the one on "
                "record, and movements follow from it"
            )
    return checks, asked


def _ground(check: Check, evaluation: Evaluation) -> Ground:
    return Ground(
        claim=check.because or f"{check.name} is not met",
        evidence=(f"check:{check.id}",),
        rule=check.name,
        source=check.source,
        limit_kind=check.limit_kind,
        strength=Strength.MEASURED if check.id.startswith("marks") else Strength.CALCULATED,
    )
