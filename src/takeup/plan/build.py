"""From options to a plan: money for risk, the two problems, and everything strung together. Pure."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence

import msgspec

from takeup.assess.model import Level, Verdict
from takeup.limits import Limits
from takeup.options.model import Money, Option, Standing, Truth
from takeup.plan import calendar, portfolio, schedule
from takeup.plan.model import Plan, Portfolio
from takeup.plan.problem import (
    Demand,
    JointChoices,
    OptionChoice,
    PackTask,
    PortfolioProblem,
    Resource,
    ScheduleProblem,
)
from takeup.progress import Progress, part, silent
from takeup.register.entities import (
    Crew,
    CrewSupply,
    Decision,
    Joint,
    Line,
    OptionName,
    Outage,
    ProcessUnit,
    Quote,
    Shifts,
)

FIRST = frozenset({"permit", "isolate", "scaffold_up", "insulation_off", "inspect"})
"""Steps up to the cold inspection: placed before others, so that finds come early."""
PER_GANG = {
    Crew.SCAFFOLD: (8, Shifts.TWO_BY_TEN),
    Crew.INSULATION: (8, Shifts.DAYS),
    Crew.FITTERS: (4, Shifts.TWO_BY_TEN),
    Crew.CRANE: (16, Shifts.TWO_BY_TEN),
    Crew.BELLOWS_WELDERS: (10, Shifts.TWO_BY_TEN),
    Crew.NDE: (12, Shifts.TWO_BY_TEN),
    Crew.REFRACTORY: (16, Shifts.DAYS),
    Crew.TEST: (10, Shifts.TWO_BY_TEN),
}
"""Joints worked on per gang, and shifts, where the outage has no crews on record (common practice)."""
UNKNOWN_CHANCE = 0.5
"""Chance of lasting a run where none can be stated: even, never taken for safe."""
STUDIED = frozenset({OptionName.DESIGN_OUT, OptionName.BOX_IN, OptionName.ONLINE_CLAMSHELL})


class Consequence(msgspec.Struct, frozen=True, kw_only=True):
    """What a failure of one joint costs, and whether that is known."""

    money: float
    known: bool


def consequences(
    unit: ProcessUnit, lines: Mapping[str, Line], options: Sequence[Option]
) -> tuple[dict[str, Consequence], tuple[str, ...]]:
    """Money lost when a joint fails in a run: lost production and a new joint in a hurry.

    A line without days lost, or a unit without money per day, gets the largest known
    consequence of the unit and is named; where none is known at all, risk is weighed by the
    chance of failure alone.
    """
    repair = {o.joint: 1.5 * o.cost.likely for o in options if o.name == OptionName.REPLACE}
    known: dict[str, float] = {}
    unknown: list[str] = []
    for joint, line in lines.items():
        if unit.loss_per_day is None or line.leak_outage is None:
            unknown.append(joint)
        else:
            days = line.leak_outage / 86400.0
            known[joint] = unit.loss_per_day * days + repair.get(joint, 0.0)
    notes = []
    if known:
        largest = max(known.values())
        if unknown:
            notes.append(
                f"What a failure of {', '.join(sorted(unknown))} costs is not on record; the "
                "largest known consequence of the unit is taken. Enter days lost for their lines."
            )
    else:
        # no money anywhere: chance of failure outweighs cost, cost decides between equals
        largest = 1e3 * max((o.cost.likely for o in options), default=1.0)
        notes.append(
            "What a failure costs is not on record for any line: options are chosen by the chance "
            "of failure first and by cost second. Enter lost production and days lost."
        )
    found = {joint: Consequence(money=known.get(joint, largest), known=joint in known)
             for joint in lines}  # fmt: skip
    return found, tuple(notes)


def risk_cost(
    option: Option, consequence: float, renewal: float, *, left: float, settles: float
) -> float:
    """Money expected to be lost over both runs, and what a temporary option still owes.

    A failure is treated as mended by a joint as new, so the runs add.  A chance that is not
    known counts as even: it is never taken for safe.  Each unsettled condition turns out
    well with chance ``settles`` only; else the joint fares as if it were left (``left``).
    """
    to_next = UNKNOWN_CHANCE if option.lasts_to_next is None else option.lasts_to_next
    second = UNKNOWN_CHANCE if option.lasts_to_second is None else option.lasts_to_second
    if option.name == OptionName.LEAVE and option.lasts_to_second is not None and to_next > 0:
        second = min(1.0, second / to_next)  # its chance is counted from today
    else:
        comes = settles ** sum(c.truth == Truth.UNKNOWN for c in option.conditions if c.essential)
        second = comes * second + (1.0 - comes) * left
    expected = consequence * ((1.0 - to_next) + (1.0 - second))
    return expected + (renewal if option.expires else 0.0)


def portfolio_problem(
    *,
    outage: Outage,
    unit: ProcessUnit,
    lines: Mapping[str, Line],
    verdicts: Sequence[Verdict],
    options: Sequence[Option],
    decisions: Sequence[Decision],
    today: dt.date,
    limits: Limits,
) -> tuple[PortfolioProblem, tuple[str, ...]]:
    """State the choice of options as a problem, with notes on what was assumed."""
    money, notes = consequences(unit, lines, options)
    decided = {decision.joint.casefold(): decision.option for decision in decisions}
    joints = []
    even = []
    for verdict in verdicts:
        own = [option for option in options if option.joint == verdict.joint]
        renewal = next((o.cost.likely for o in own if o.name == OptionName.REPLACE), 0.0)
        must = verdict.level in {Level.IN_DOUBT, Level.ACT_NOW}
        leave = next((o for o in own if o.name == OptionName.LEAVE), None)
        left = _left(leave)
        fitting = any(_may(o) and o.fits_cause is not False for o in own if _acts(o))
        rows = []
        for option in own:
            forced = decided.get(verdict.joint.casefold()) == option.name
            allowed, why_not = _may(option), option.why
            if allowed and must and fitting and option.fits_cause is False:
                allowed, why_not = False, option.cause_note
            due = calendar.order_by(option, outage)
            rows.append(
                OptionChoice(
                    name=option.name,
                    cost=option.cost.likely,
                    risk_cost=risk_cost(
                        option,
                        money[verdict.joint].money,
                        renewal,
                        left=left,
                        settles=limits.value("belief.unknown"),
                    ),
                    allowed=allowed or forced,
                    why_not="" if allowed or forced else why_not,
                    forced=forced,
                    late_days=0 if due is None else max(0, (today - due).days),
                    order_by=due,
                )
            )
        if any(_unknown(o) for o, row in zip(own, rows, strict=True) if row.allowed or o is leave):
            even.append(verdict.joint)
        joints.append(JointChoices(joint=verdict.joint, options=tuple(rows), must_act=must))
    if even:
        notes = (
            *notes,
            f"A chance of lasting that is not known was counted as even ({UNKNOWN_CHANCE:.0%}, "
            f"an assumption and no finding) for {', '.join(even)}.",
        )
    budget = outage.budget
    if budget is not None and outage.reserve:
        budget *= 1.0 - outage.reserve
        notes = (
            *notes,
            f"{outage.reserve:.0%} of the budget is kept back as reserve for discovery.",
        )
    if budget is None:
        notes = (*notes, "The outage has no budget on record: nothing limits the choice.")
    return PortfolioProblem(joints=tuple(joints), budget=budget), notes


def _may(option: Option) -> bool:
    """Whether the plan may count on an option.

    What needs an engineering study or readings at the joint first (design out, box, shell on
    the live line) is counted on only when every condition is met.
    """
    if option.name in STUDIED:
        return option.standing == Standing.OPEN
    return option.standing != Standing.BLOCKED


def _left(leave: Option | None) -> float:
    """Chance of the second run when the joint is left, given it lasts to the outage."""
    if leave is None or leave.lasts_to_second is None or not leave.lasts_to_next:
        return UNKNOWN_CHANCE
    return min(1.0, leave.lasts_to_second / leave.lasts_to_next)


def _unknown(option: Option) -> bool:
    """Whether a chance of an option is not known, so that UNKNOWN_CHANCE stands in for it."""
    return option.lasts_to_next is None or option.lasts_to_second is None


def _acts(option: Option) -> bool:
    return option.name != OptionName.LEAVE


def schedule_problem(
    *,
    outage: Outage,
    chosen: Sequence[Option],
    supplies: Sequence[CrewSupply],
) -> tuple[ScheduleProblem, tuple[str, ...]]:
    """State the outage work of the chosen options as a problem, with notes."""
    notes: list[str] = []
    crews = {supply.crew: (supply.gangs, supply.shifts) for supply in supplies}
    acting = sum(_acts(option) for option in chosen)
    absent = [crew for crew in Crew if crew not in crews]
    if absent:
        for crew in absent:
            per, shifts = PER_GANG[crew]
            crews[crew] = (max(1, math.ceil(acting / per)), shifts)
        named = ", ".join(f"{crews[crew][0]} × {crew.value}" for crew in absent)
        notes.append(f"Crews not on record were assumed (common practice): {named}.")
    tasks = []
    before = 0
    for option in chosen:
        in_window = {task.id for task in option.tasks if not task.before_outage}
        before += len(option.tasks) - len(in_window)
        for task in option.tasks:
            if task.before_outage:
                continue
            tasks.append(
                PackTask(
                    id=f"{option.joint}/{task.id}",
                    joint=option.joint,
                    name=task.name,
                    hours=task.hours,
                    demands=(Demand(task.crew.value, task.gangs),) if task.crew else (),
                    elapsed=task.elapsed,
                    may_span=task.may_span,
                    after=tuple(
                        f"{option.joint}/{name}" for name in task.after if name in in_window
                    ),
                    first=task.id in FIRST,
                )
            )
    if before:
        notes.append(
            f"{before} tasks of work on the live line lie before the window and are not drawn here."
        )
    resources = tuple(
        Resource(name=crew.value, count=gangs, shifts=shifts)
        for crew, (gangs, shifts) in sorted(crews.items(), key=lambda item: item[0].value)
    )
    problem = ScheduleProblem(
        tasks=tuple(tasks),
        resources=resources,
        start=dt.datetime.combine(outage.start, dt.time(6)),
        window_hours=outage.window / 3600.0,
    )
    return problem, tuple(notes)


def make_plan(
    *,
    outage: Outage,
    second_outage: Outage | None,
    unit: ProcessUnit,
    lines_by_joint: Mapping[str, Line],
    joints: Sequence[Joint],
    verdicts: Sequence[Verdict],
    options: Sequence[Option],
    supplies: Sequence[CrewSupply],
    decisions: Sequence[Decision],
    quotes: Sequence[Quote],
    today: dt.date,
    limits: Limits,
    effort: float = 1.0,
    done: Sequence[str] = (),
    progress: Progress = silent,
    inputs_hash: str = "",
    version: str = "",
) -> Plan:
    """Choose, date and schedule: the whole plan of one outage.

    Raises :class:`takeup.errors.Refused` when the budget cannot carry the must-do list.
    """
    dated = tuple(
        msgspec.structs.replace(option, order_by=calendar.order_by(option, outage))
        for option in options
    )
    problem, notes = portfolio_problem(
        outage=outage,
        unit=unit,
        lines=lines_by_joint,
        verdicts=verdicts,
        options=dated,
        decisions=decisions,
        today=today,
        limits=limits,
    )
    if second_outage is None:
        notes = (
            *notes,
            "No second outage is on record: only the run ahead is weighed for certain.",
        )
    costs: dict[tuple[str, OptionName], Money] = {(o.joint, o.name): o.cost for o in dated}
    chosen_portfolio: Portfolio = portfolio.choose(
        problem, costs=costs, notes=notes, progress=part(progress, 0.0, 0.4)
    )
    by_name = {(o.joint, o.name): o for o in dated}
    chosen = tuple(by_name[c.joint, c.option] for c in chosen_portfolio.choices)
    work, more = schedule_problem(outage=outage, chosen=chosen, supplies=supplies)
    placed = schedule.place(work, effort=effort, progress=part(progress, 0.4, 1.0))
    placed = msgspec.structs.replace(placed, notes=(*placed.notes, *more))
    acting = tuple(option for option in chosen if option.name != OptionName.LEAVE)
    return Plan(
        outage=outage.tag,
        today=today,
        options=dated,
        portfolio=chosen_portfolio,
        calendar=calendar.milestones(outage, acting, today, unit, done=done),
        schedule=placed,
        inputs_hash=inputs_hash,
        version=version,
    )
