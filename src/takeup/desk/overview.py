"""Gather the first screen: which joints worry me, why, and which date can I miss next."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from takeup.desk import assess, plan
from takeup.errors import Refused

if TYPE_CHECKING:
    from takeup.assess.model import Verdict
    from takeup.desk.site import Site
    from takeup.documents.model import JointRow, LineRow, Overview
    from takeup.plan.model import Milestone, Plan
    from takeup.register.entities import Decision, Joint, Line, Outage


def overview(site: Site, today: dt.date | None = None, unit: str | None = None) -> Overview:
    """Gather everything the first screen shows for ``unit``, or for the site's first unit."""
    from takeup.documents.model import LineRow, Overview
    from takeup.register.entities import Decision, Joint, Line, ProcessUnit, Support

    register = site.register()
    today = today or site.today()
    units = register.all(ProcessUnit)
    if not units:
        raise Refused("the register has no unit yet; fill the workbook and import it")
    shown = register.get(ProcessUnit, unit) if unit else units[0]
    ahead = register.next_outage(shown.tag, today)
    after = register.second_outage(shown.tag, today)

    verdicts = assess.latest_with_time(site)
    assessed = max((time for _, time in verdicts.values()), default=None)
    found = plan.latest_with_time(site, ahead.tag) if ahead else None
    made, planned = found if found else (None, None)
    changed = site.store.last_change_time()
    unassessed = any(joint.tag not in verdicts for joint in register.all(Joint))

    decisions = _decisions(register.all(Decision), ahead)
    lines: list[LineRow] = []
    for line in register.all(Line):
        if line.unit.casefold() != shown.tag.casefold():
            continue
        joints = sorted(
            register.of_line(Joint, line.tag), key=lambda j: (j.position is None, j.position or 0.0)
        )
        supports = sorted(
            register.of_line(Support, line.tag),
            key=lambda s: (s.position is None, s.position or 0.0),
        )
        rows = tuple(
            joint_row(joint, line, verdicts.get(joint.tag), made, decisions, today)
            for joint in joints
        )
        lines.append(LineRow(line=line, joints=rows, supports=tuple(supports)))

    milestones = made.calendar if made else _calendar(site, ahead, today)
    coming = [m for m in milestones if not m.done and m.date >= today]
    return Overview(
        plant=register.plant,
        unit=shown,
        system=register.plant.units,
        today=today,
        next_outage=ahead,
        second_outage=after,
        lines=tuple(lines),
        milestones=milestones,
        next_date=min(coming, key=lambda m: m.date, default=None),
        late=tuple(m for m in milestones if m.late_days > 0 and not m.done),
        assessed=assessed,
        stale=assessed is not None and (unassessed or (changed is not None and changed > assessed)),
        planned=planned,
        plan_stale=planned is not None and changed is not None and changed > planned,
    )


def joint_row(
    joint: Joint,
    line: Line,
    stored: tuple[Verdict, dt.datetime] | None,
    made: Plan | None,
    decisions: dict[str, Decision],
    today: dt.date,
) -> JointRow:
    """One joint of a list, from its newest verdict and plan."""
    from takeup.documents.model import JointRow

    verdict = stored[0] if stored else None
    chosen = None
    if made is not None:
        chosen = next((c.option for c in made.portfolio.choices if c.joint == joint.tag), None)
    age = None
    if verdict is not None and verdict.evaluation.survival is not None:
        age = verdict.evaluation.survival.age
    elif joint.installed is not None:
        age = (today - joint.installed).days / 365.25
    findings = verdict.findings if verdict else ()
    return JointRow(
        joint=joint,
        line=line,
        level=verdict.level if verdict else None,
        confidence=verdict.confidence if verdict else None,
        headline=verdict.headline if verdict else "not assessed yet",
        governing=verdict.governing if verdict else None,
        age_years=age,
        worst_grade=max((finding.grade for finding in findings), default=None),
        missing=len(verdict.missing) if verdict else 0,
        thrust=max((force for _, _, force in verdict.thrust.forces), default=None)
        if verdict
        else None,
        chosen=chosen,
        decision=decisions.get(joint.tag.casefold()),
    )


def _decisions(all_: tuple[Decision, ...], outage: Outage | None) -> dict[str, Decision]:
    if outage is None:
        return {}
    return {
        decision.joint.casefold(): decision
        for decision in all_
        if decision.outage.casefold() == outage.tag.casefold()
    }


def _calendar(site: Site, outage: Outage | None, today: dt.date) -> tuple[Milestone, ...]:
    from takeup.plan import calendar
    from takeup.register.entities import ProcessUnit

    if outage is None:
        return ()
    unit = site.register().find(ProcessUnit, outage.unit)
    return calendar.milestones(outage, (), today, unit, done=plan.done_dates(site, outage, today))
