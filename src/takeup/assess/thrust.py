"""Thrust first: how much, at which pressure, and who holds it."""

from __future__ import annotations

import msgspec

from takeup.assess import expected
from takeup.assess.defects import UNREAD
from takeup.assess.hardware import Held, asked, effective_area, hardware
from takeup.assess.joint_types import type_facts
from takeup.assess.model import (
    Evaluation,
    JointCase,
    Level,
    Mechanism,
    MechanismResult,
    ThrustHolder,
    ThrustStatement,
)
from takeup.assess.reading import findings, grounds_of, is_current, looked_at, worst
from takeup.bellows.hardware.path import KEEP_OUT
from takeup.bellows.hardware.results import Holder
from takeup.checks import Check, Ground, LimitKind, Outcome, Quantity, Strength, compare
from takeup.register.entities import Support, SupportKind
from takeup.sources import Source, Standing, practice

HARDWARE_ITEMS = (
    "HH1", "HH2", "HH3", "HH4", "HH6", "CH1", "CH2", "CH4", "CH5",
    "XL1", "XT1", "XU1", "XP1", "XH1", "XH2", "XG1", "XE1", "XB1",
)  # fmt: skip
SOURCE = Source(
    document="Bellows standards",
    at="pressure thrust F = P Ae, Ae = pi Dm²/4",
    standing=Standing.CONFIRMED,
)
PATH = Source(
    document="Statics", at="equilibrium of every part of the path", standing=Standing.DERIVED
)
KEEP_BACK = (
    "Read the thrust before anything is loosened or cut: stored force can throw a joint open."
)
UNTIED = "Untied joint: the anchors are part of the joint. An anchor that moves lets it tear open."


def statement(case: JointCase, evaluation: Evaluation) -> ThrustStatement:
    """State effective area, force at each pressure, and who holds it."""
    area, missing = effective_area(case, evaluation), []
    if area is None:
        missing.append("bellows diameter, convolution height and plies (for the effective area)")
    forces = []
    for name, pressure in (
        ("operating", case.line.operating_pressure),
        ("design", case.line.design_pressure),
        ("test", case.line.test_pressure),
    ):
        if pressure is None:
            if name != "test":
                missing.append(f"{name} pressure of line {case.line.tag}")
        elif area is not None:
            forces.append((name, pressure, pressure * area))
    holder, why, more = _holder(case)
    missing += more
    broken = holder == ThrustHolder.HARDWARE and any(
        _nothing_holds(one) for one in hardware(case, evaluation, only_wrong=True)
    )
    if broken:
        why += "; as found NOTHING holds it on paper"
    return ThrustStatement(
        area=area,
        forces=tuple(forces),
        holder=holder,
        why=why,
        missing=tuple(missing),
        cautions=(
            *((KEEP_OUT,) if broken else ()),
            *(() if holder == ThrustHolder.HARDWARE else (UNTIED,)),
            KEEP_BACK,
        ),
    )


def _holder(case: JointCase) -> tuple[ThrustHolder, str, list[str]]:
    facts = type_facts(case.joint.type)
    if facts.tied:
        held = [h for h in case.hardware if h.kind == facts.hardware]
        if held:
            named = ", ".join(
                f"{h.item} ({h.count or 'number not known'} × {h.kind.value})" for h in held
            )
            return ThrustHolder.HARDWARE, f"{case.joint.type.value} joint, by its {named}", []
        wanted = facts.hardware.value if facts.hardware else "hardware"
        return (
            ThrustHolder.UNKNOWN,
            f"a {case.joint.type.value} joint should hold it by its {wanted}, "
            "but no such hardware is on record",
            [f"the {wanted} of {case.joint.tag} (number, size, condition)"],
        )
    anchors = _anchors(case)
    if anchors:
        named = " and ".join(anchors)
        if len(anchors) < 2:
            return (
                ThrustHolder.ANCHORS,
                f"untied: {named} on one side; what holds the other side is not on record",
                [f"the second main anchor or nozzle of line {case.line.tag}"],
            )
        return ThrustHolder.ANCHORS, f"untied: {named}", []
    return (
        ThrustHolder.NOBODY,
        f"untied, and no main anchor or nozzle of line {case.line.tag} is on record",
        [f"main anchors and nozzles of line {case.line.tag}"],
    )


def _anchors(case: JointCase) -> list[str]:
    """The holding supports in words."""
    return [f"{support.kind.value} {support.tag}" for support in _holding(case)]


def _holding(case: JointCase) -> list[Support]:
    """The nearest main anchor or nozzle on either side of the joint."""
    holding = [
        support
        for support in case.supports
        if support.kind in {SupportKind.MAIN_ANCHOR, SupportKind.NOZZLE}
    ]
    place = case.joint.position
    if place is None:
        return holding[:2]
    placed = [support for support in holding if support.position is not None]
    before = [s for s in placed if (s.position or 0.0) <= place]
    after = [s for s in placed if (s.position or 0.0) > place]
    near = ([before[-1]] if before else []) + ([after[0]] if after else [])
    near += [s for s in holding if s.position is None][: 2 - len(near)]
    return near


def assess(case: JointCase, evaluation: Evaluation) -> MechanismResult:
    """Judge the thrust path: capacity where it is known, hardware as it was seen."""
    stated = statement(case, evaluation)
    found, level = findings(case, HARDWARE_ITEMS)
    checks = _capacities(case, stated)
    traced = hardware(case, evaluation)
    overloaded, lost = _traced(traced)
    if any(_nothing_holds(one) for one in traced):
        level = worst([level, Level.ACT_NOW])
    elif overloaded or lost:
        level = worst([level, Level.IN_DOUBT])
    failed = [check for check in checks if check.ratio is not None and check.ratio > 1.0]
    if any("operating" in check.id for check in failed):
        level = worst([level, Level.ACT_NOW])
    elif failed:
        level = worst([level, Level.IN_DOUBT])
    checks += _told(traced)
    missing = list(stated.missing)
    unproven = stated.holder in {ThrustHolder.NOBODY, ThrustHolder.UNKNOWN} or bool(stated.missing)
    tied = type_facts(case.joint.type).tied
    what = "load-carrying hardware" if tied else "main anchors"
    seen = looked_at(case, HARDWARE_ITEMS if tied else ("HS1", "CS1", "XA1"))
    if seen is None:
        missing.append(f"a look at the {what} of {case.joint.tag}, hot")
        unproven = True
    elif not is_current(case, seen):
        missing.append(f"a new look at the {what}: the last is of {seen.isoformat()}")
        unproven = True
    if unproven and level in {Level.CARRIES_ON, Level.THIS_RUN}:
        level = Level.UNPROVEN
    missing += _unnamed(case, stated)
    operating = next((force for name, _, force in stated.forces if name == "operating"), None)
    grounds = (
        Ground(
            claim=f"thrust is held by {stated.holder.value}: {stated.why}",
            evidence=(case.joint.ref,),
            rule="joint type decides who is meant to hold the thrust; the drawing rules",
            source=practice("joint types"),
            strength=Strength.RECORDED,
        ),
        *grounds_of(found),
        *_exceeded(failed),
        *_path_grounds(traced, [*lost, *overloaded]),
    )
    missing += [line for line in asked(traced) if line not in missing]
    worst_found = found[0].title if found and found[0].grade >= 2 else ""
    summary = stated.why
    if failed:
        summary = f"{failed[0].name}: thrust exceeds capacity; {stated.why}"
    elif lost:
        summary = f"nothing holds the thrust on paper: {lost[0].because}"
        if worst_found:
            summary = f"{found[0].ground.claim}; {summary}"
    elif overloaded and not worst_found:
        first = next((c for c in overloaded if "@operating" in c.id), overloaded[0])
        summary = (
            f"{first.name.lower()} not met at {first.id.partition('@')[2]} conditions: "
            f"{_use(first)}; {stated.why}"
        )
    elif worst_found:
        summary = f"{found[0].ground.claim}; {stated.why}"
    elif level == Level.UNPROVEN and missing:
        summary = f"the thrust path is not shown: {missing[0]}"
    causes = []
    if (
        overloaded
        or lost
        or any(f.grade >= 3 and f.id.split("@")[0] in HARDWARE_ITEMS for f in found)
    ):
        causes.append("hardware")
    return MechanismResult(
        mechanism=Mechanism.THRUST,
        applies=True,
        level=level,
        summary=summary[0].upper() + summary[1:],
        essential=True,
        causes=tuple(causes),
        checks=tuple(checks),
        findings=found,
        grounds=grounds,
        missing=tuple(missing),
        would_change=(
            ("a calculation of the thrust path by a qualified engineer",)
            if failed or unproven or overloaded or lost
            else ()
        ),
        cautions=tuple(
            dict.fromkeys(
                (
                    *(stated.cautions if operating is None or operating > 0 else ()),
                    *(c for one in traced if lost and one.report for c in one.report.cautions),
                )
            )
        ),
    )


def _nothing_holds(held: Held) -> bool:
    """Whether what was found wrong leaves nothing that holds the thrust at operating pressure."""
    return held.report is not None and any(
        path.holder == Holder.NOTHING and path.condition.startswith("operating")
        for path in held.report.paths
    )


def _traced(traced: tuple[Held, ...]) -> tuple[list[Check], list[Check]]:
    """Checks of parts that are overloaded, and paths that nothing holds any more.

    Only what was evaluated and not met: a size that is not known decides nothing.
    """
    failed = [
        check
        for one in traced
        if one.report is not None
        for check in one.report.checks
        if check.outcome == Outcome.NOT_MET
    ]
    lost = [check for check in failed if check.id.startswith("path@")]
    return [check for check in failed if check not in lost], lost


def _told(traced: tuple[Held, ...]) -> list[Check]:
    """Checks to print: all of hardware with sizes; of the rest only what was decided."""
    return [
        msgspec.structs.replace(
            check, id=f"hardware.{one.item}.{check.id}", name=f"{check.name}, {one.item}"
        )
        for one in traced
        if one.report is not None
        for check in one.report.checks
        if one.sized or check.outcome != Outcome.NOT_EVALUATED
    ]


def _path_grounds(traced: tuple[Held, ...], failed: list[Check]) -> tuple[Ground, ...]:
    """What a defect takes from the path, what is not met, and what was left out of the path."""
    made = []
    for one in traced:
        rule = "load traced through every part of the hardware, sizes as on record"
        if one.fault:
            made.append(_ground(one, f"sizes of {one.item} cannot be true: {one.fault}", rule))
        for seen in one.unread:
            claim = f"{seen.observation.item} on {one.item}: {seen.observation.text or 'seen'}; "
            made.append(_ground(one, claim + UNREAD, rule, (seen.observation.ref,)))
        if one.report is None:
            continue
        effects = {e.defect: e.removes for path in one.report.paths for e in path.effects}
        for seen in one.read:
            removes = effects.get(seen.defect) if seen.defect is not None else None
            if removes:
                claim = f"{one.item}: {removes}" + (f" ({seen.why})" if seen.why else "")
                made.append(_ground(one, claim, rule, (seen.observation.ref,)))
        made += [
            _ground(
                one,
                f"{one.item}, {check.name.lower()} not met at {check.id.partition('@')[2]} "
                f"conditions ({_use(check)}): {check.because}",
                rule,
                (f"check:hardware.{one.item}.{check.id}",),
            )
            for check in failed
            if check in one.report.checks
        ]
    return tuple(made)


def _ground(held: Held, claim: str, rule: str, evidence: tuple[str, ...] = ()) -> Ground:
    return Ground(
        claim=claim,
        evidence=evidence or (f"hardware:{held.case.name}",),
        rule=rule,
        source=PATH,
        limit_kind=LimitKind.DERIVED,
        strength=Strength.CALCULATED,
    )


def _use(check: Check) -> str:
    return "nothing holds it" if check.ratio is None else f"{check.ratio:.2f} of the limit"


def _exceeded(failed: list[Check]) -> tuple[Ground, ...]:
    return tuple(
        Ground(
            claim=f"{check.name}: thrust is {check.ratio:.2f} times the capacity on record",
            evidence=(f"check:{check.id}",),
            rule=check.because or "thrust within the rated capacity",
            source=check.source,
            limit_kind=check.limit_kind,
            strength=Strength.CALCULATED,
        )
        for check in failed
        if check.ratio is not None
    )


def _capacities(case: JointCase, stated: ThrustStatement) -> list[Check]:
    checks = []
    holders: list[tuple[str, float | None]] = []
    if stated.holder == ThrustHolder.HARDWARE:
        facts = type_facts(case.joint.type)
        holders = [(h.item, h.capacity) for h in case.hardware if h.kind == facts.hardware]
    elif stated.holder == ThrustHolder.ANCHORS:
        holders = [(s.tag, s.capacity) for s in _holding(case)]
    for item, capacity in holders:
        for name, pressure, force in stated.forces:
            if name == "test":
                continue
            checks.append(
                compare(
                    id=f"thrust.{item}@{name}",
                    name=f"Thrust on {item}, {name}",
                    symbol="F = P Ae",
                    demand=force,
                    capacity=capacity,
                    kind="force",
                    source=SOURCE,
                    limit_kind=LimitKind.DERIVED,
                    missing=() if capacity is not None else (f"rated capacity of {item}",),
                    inputs=(
                        Quantity(name="pressure", symbol="P", value=pressure, kind="pressure"),
                        Quantity(
                            name="effective area", symbol="Ae", value=stated.area, kind="area"
                        ),
                    ),
                    because=""
                    if capacity is None
                    else "pressure thrust alone; spring force, friction and weight come on top",
                )
            )
        checks += _by_model(case, stated.holder, item, capacity)
    return checks


def _unnamed(case: JointCase, stated: ThrustStatement) -> list[str]:
    """Anchors that hold the thrust and do not stand under their tag in the line's model."""
    model = case.theory
    if stated.holder != ThrustHolder.ANCHORS or model is None or expected.theory(case) is None:
        return []
    return [
        f"{one.kind.value} {one.tag} in the model of line {model.line} under this name, so that "
        "its whole load is judged"
        for one in _holding(case)
        if model.load(one.tag) is None
    ]


def _by_model(
    case: JointCase, holder: ThrustHolder, item: str, capacity: float | None
) -> list[Check]:
    """The whole load on what holds the thrust, hot, by the model of the line."""
    model, own = case.theory, expected.theory(case)
    if model is None or own is None:
        return []
    load: float | None
    if holder == ThrustHolder.ANCHORS:
        on = model.load(item)
        load = None if on is None else on.size
        because = "resultant of pressure, spring force, growth, friction and weight; moments apart"
    else:
        pulls = [pull.force for pull in own.pulls if pull.state == model.hot]
        found = max(pulls, key=abs, default=None)
        load = None if found is None else abs(found)
        because = (
            f"{'pushed together' if (found or 0.0) < 0.0 else 'pulled'}: pressure, spring force, "
            "growth and weight together, all rods or pins of a set"
        )
    if load is None:
        return []
    return [
        compare(
            id=f"thrust.{item}.model@operating",
            name=f"Load on {item} by the model of the line, operating ({model.hot})",
            demand=load,
            capacity=capacity,
            kind="force",
            source=model.source,
            limit_kind=LimitKind.DERIVED,
            missing=() if capacity is not None else (f"rated capacity of {item}",),
            because="" if capacity is None else because,
        )
    ]
