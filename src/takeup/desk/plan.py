"""The verb plan: options, scope under a budget, dates and schedule for an outage."""

from __future__ import annotations

import datetime as dt
import hashlib
from typing import TYPE_CHECKING

import msgspec

from takeup import __version__
from takeup.desk import assess
from takeup.desk.cases import cases
from takeup.desk.results import pack, unpack
from takeup.errors import Refused
from takeup.progress import Progress, part, silent

if TYPE_CHECKING:
    from takeup.desk.site import Site
    from takeup.options.model import Option
    from takeup.plan.model import Plan
    from takeup.register.entities import Outage, ProcessUnit

KIND = "plan"


def outage_of(site: Site, tag: str | None, today: dt.date) -> Outage:
    """The outage called ``tag``, or the next one ahead."""
    from takeup.register.entities import Outage, ProcessUnit

    register = site.register()
    if tag:
        return register.get(Outage, tag)
    ahead = [
        outage
        for unit in register.all(ProcessUnit)
        if (outage := register.next_outage(unit.tag, today)) is not None
    ]
    if not ahead:
        raise Refused("no outage lies ahead; enter one in the sheet Outages and import it")
    return min(ahead, key=lambda outage: outage.start)


def done_dates(site: Site, outage: Outage, today: dt.date) -> tuple[str, ...]:
    """Dates known to be done from what the register holds: the hot walk of this campaign."""
    from takeup.evidence.facts import Visit, VisitKind

    early = outage.start - dt.timedelta(days=560)
    walked = any(
        visit.kind == VisitKind.HOT and early <= visit.date <= today
        for visit in site.register().of(Visit, "unit", outage.unit)
    )
    return ("hot_walk",) if walked else ()


def run(
    site: Site,
    outage: str | None = None,
    *,
    budget: float | None = None,
    effort: float = 1.0,
    today: dt.date | None = None,
    progress: Progress = silent,
) -> Plan:
    """Choose one option for each joint of the outage's unit, date it, schedule it, store it.

    ``budget`` in money units overrides the outage's own for this run.  Joints are assessed
    first, so a plan never rests on stale verdicts.
    """
    from takeup.options import catalogue
    from takeup.plan.build import make_plan
    from takeup.register.entities import CrewSupply, Decision, ProcessUnit, Quote

    today = today or site.today()
    chosen = outage_of(site, outage, today)
    if budget is not None:
        chosen = msgspec.structs.replace(chosen, budget=budget)
    register = site.register()
    unit: ProcessUnit = register.get(ProcessUnit, chosen.unit)
    verdicts = assess.run(site, today=today, progress=part(progress, 0.0, 0.3))
    gathered = {
        case.joint.tag: case
        for case in cases(site, today=today, progress=part(progress, 0.3, 0.4))
        if case.line.unit.casefold() == chosen.unit.casefold()
    }
    verdicts = tuple(verdict for verdict in verdicts if verdict.joint in gathered)
    quotes = register.all(Quote)
    options: list[Option] = []
    for number, verdict in enumerate(verdicts):
        progress(0.4 + 0.1 * number / len(verdicts), f"options for {verdict.joint}")
        case = gathered[verdict.joint]
        own = tuple(q for q in quotes if q.joint.casefold() == verdict.joint.casefold())
        options.extend(catalogue.options(case, verdict, own))
    decisions = tuple(
        decision
        for decision in register.all(Decision)
        if decision.outage.casefold() == chosen.tag.casefold()
    )
    supplies = tuple(
        supply
        for supply in register.all(CrewSupply)
        if supply.outage.casefold() == chosen.tag.casefold()
    )
    digest = hashlib.sha256()
    for verdict in verdicts:
        digest.update(verdict.inputs_hash.encode())
    digest.update(msgspec.json.encode((chosen, decisions, supplies, quotes, effort, __version__)))
    plan = make_plan(
        outage=chosen,
        second_outage=register.second_outage(chosen.unit, today),
        unit=unit,
        lines_by_joint={tag: case.line for tag, case in gathered.items()},
        joints=tuple(case.joint for case in gathered.values()),
        verdicts=verdicts,
        options=tuple(options),
        supplies=supplies,
        decisions=decisions,
        quotes=quotes,
        today=today,
        limits=register.limits(),
        effort=effort,
        done=done_dates(site, chosen, today),
        progress=part(progress, 0.5, 0.97),
        inputs_hash=digest.hexdigest(),
        version=__version__,
    )
    progress(0.98, "storing the plan")
    site.store.put_result(KIND, chosen.tag, plan.inputs_hash, __version__, site.now(), pack(plan))
    progress(1.0, "planned")
    return plan


def latest(site: Site, outage: str | None = None) -> Plan | None:
    """The newest stored plan of an outage, or of the next one."""
    found = latest_with_time(site, outage)
    return found[0] if found else None


def latest_with_time(site: Site, outage: str | None = None) -> tuple[Plan, dt.datetime] | None:
    """The newest stored plan with the time it was made."""
    from takeup.plan.model import Plan

    if outage is None:
        try:
            outage = outage_of(site, None, site.today()).tag
        except Refused:
            return None
    stored = site.store.result(KIND, outage)
    if stored is None:
        return None
    plan = unpack(stored.body, Plan)
    return (plan, stored.time) if plan is not None else None
