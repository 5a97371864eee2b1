"""Outage scope and budget list: as PDF to hand over, as workbook to edit."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from takeup.documents.drawing import budget_curve, calendar_strip, crew_chart, gantt
from takeup.documents.model import ScopeBook
from takeup.documents.typst_render import head
from takeup.documents.typst_render import render as set_pdf
from takeup.documents.words import thousands
from takeup.plan.model import Milestone


def render(book: ScopeBook, out: Path) -> Path:
    """Write scope, money, dates and schedule as PDF."""
    plan, overview = book.plan, book.overview
    currency = overview.plant.currency
    portfolio, schedule = plan.portfolio, plan.schedule
    levels = {verdict.joint: verdict for verdict in book.verdicts}
    lines = {row.joint.tag: row.line.tag for row in overview.joints}
    rows = []
    for choice in portfolio.choices:
        option = plan.option(choice.joint, choice.option)
        verdict = levels.get(choice.joint)
        rows.append(
            [
                choice.joint,
                lines.get(choice.joint, "–"),
                verdict.level.value if verdict else "not assessed",
                choice.option.value + (" (decided)" if choice.forced else ""),
                thousands(choice.cost),
                f"{thousands(option.cost.low)}–{thousands(option.cost.high)}" if option else "–",
                thousands(choice.risk_cost),
                verdict.headline if verdict else choice.why,
            ]
        )
    money = [
        ["budget after reserve", "none on record" if portfolio.budget is None
         else f"{thousands(portfolio.budget)} k {currency}"],
        ["planned", f"{thousands(portfolio.spent)} k {currency} "
         f"({thousands(portfolio.cost.low)} to {thousands(portfolio.cost.high)}, "
         f"class {portfolio.cost.estimate_class})"],
        ["cost and risk together", f"{thousands(portfolio.objective)} k; bound "
         f"{thousands(portfolio.bound)} k: {portfolio.status.value}"],
    ]  # fmt: skip
    title = f"Scope and budget, outage {plan.outage}"
    finish = f"{schedule.finish:%Y-%m-%d %H:%M}" if schedule.finish else "no finish"
    data: dict[str, Any] = head(title, f"{overview.plant.name} · {title}", book.made) | {
        "subtitle": f"{overview.unit.name}; {len(rows)} joints, "
        f"{len({c.joint for c in portfolio.choices if c.cost > 0})} with work; "
        f"as of {plan.today.isoformat()}",
        "money": money,
        "notes": list(portfolio.notes),
        "rows": rows,
        "late": [{"joint": late.joint, "words": late.words} for late in portfolio.late],
        "excluded": list(portfolio.excluded),
        "dates": [
            [m.date.isoformat(), m.name, ", ".join(m.due_for), state(m)] for m in plan.calendar
        ],
        "schedule_words": f"{len(schedule.tasks)} tasks; finish {finish}; "
        f"{schedule.makespan_hours or 0:.0f} h against a bound of {schedule.bound_hours:.0f} h "
        f"({schedule.bound_why}); {schedule.status.value}. {' '.join(schedule.notes)}",
        "faults": [fault.words for fault in schedule.faults],
        "cautions": [
            "Durations, costs and chances are class figures and beliefs of the site unless a "
            "quote or reading is named: settle the open conditions before the scope freezes.",
        ],
    }
    files: dict[str, str | bytes] = {
        "budget.svg": budget_curve(portfolio, currency),
        "calendar.svg": calendar_strip(plan.calendar, plan.today),
        "gantt.svg": gantt(schedule),
        "crew.svg": crew_chart(schedule),
    }
    return set_pdf("scope", data, out, files)


def state(milestone: Milestone) -> str:
    """Late, done or ahead, in words with a shape."""
    if milestone.done:
        return "● done"
    if milestone.late_days:
        return f"▲ late by {milestone.late_days} d"
    return "fixed by the site" if milestone.fixed else "ahead"


def workbook(book: ScopeBook, out: Path) -> Path:
    """Write the scope as a workbook that people edit: totals are formulas."""
    import xlsxwriter

    plan, currency = book.plan, book.overview.plant.currency
    levels = {verdict.joint: verdict for verdict in book.verdicts}
    staged = out.with_name(f".{out.name}.new")
    file = xlsxwriter.Workbook(str(staged))
    file.set_properties(
        {"title": f"Scope {plan.outage}", "created": book.made.replace(tzinfo=None)}
    )
    bold = file.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
    wrap = file.add_format({"text_wrap": True, "valign": "top"})
    number = file.add_format({"num_format": "#,##0", "valign": "top"})
    total = file.add_format({"num_format": "#,##0", "bold": True, "top": 1})
    sheet = file.add_worksheet("Scope")
    heads = ("Joint", "Level", "Option", f"Cost, k {currency}", "Low", "High", "Risk",
             "Second best", "Regret", "Decided", "Why", "Remark")  # fmt: skip
    for column, (name, wide) in enumerate(
        zip(heads, (11, 15, 26, 11, 9, 9, 9, 24, 9, 9, 60, 30), strict=True)
    ):
        sheet.write_string(0, column, name, bold)
        sheet.set_column(column, column, wide)
    for row, choice in enumerate(plan.portfolio.choices, 1):
        option = plan.option(choice.joint, choice.option)
        verdict = levels.get(choice.joint)
        cells: list[Any] = [
            choice.joint,
            verdict.level.value if verdict else "not assessed",
            choice.option.value,
            choice.cost / 1e3,
            option.cost.low / 1e3 if option else None,
            option.cost.high / 1e3 if option else None,
            choice.risk_cost / 1e3,
            choice.second_best.value if choice.second_best else "–",
            None if choice.regret is None else choice.regret / 1e3,
            "yes" if choice.forced else "",
            verdict.headline if verdict else choice.why,
        ]
        for column, cell in enumerate(cells):
            if isinstance(cell, float):
                sheet.write_number(row, column, cell, number)
            elif cell is not None:
                sheet.write_string(row, column, cell, wrap)
    last = len(plan.portfolio.choices)
    sheet.write_string(last + 1, 2, "total", bold)
    for column, letter in ((3, "D"), (4, "E"), (5, "F"), (6, "G")):
        sheet.write_formula(last + 1, column, f"=SUM({letter}2:{letter}{last + 1})", total)
    sheet.freeze_panes(1, 1)
    sheet.autofilter(0, 0, max(1, last), len(heads) - 1)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    dates = file.add_worksheet("Dates")
    for column, (name, wide) in enumerate(
        (("Date", 12), ("What", 60), ("Joints", 30), ("State", 20))
    ):
        dates.write_string(0, column, name, bold)
        dates.set_column(column, column, wide)
    for row, m in enumerate(plan.calendar, 1):
        for column, text in enumerate((m.date.isoformat(), m.name, ", ".join(m.due_for), state(m))):
            dates.write_string(row, column, text, wrap)
    tasks = file.add_worksheet("Tasks")
    names = ("Joint", "Task", "Crew", "Gangs", "Start", "End", "Hours", "Float, h", "Critical")
    for column, name in enumerate(names):
        tasks.write_string(0, column, name, bold)
        tasks.set_column(column, column, 22 if column in {1, 2} else 16)
    for row, task in enumerate(sorted(plan.schedule.tasks, key=lambda t: (t.start, t.id)), 1):
        for column, text in enumerate(
            (task.joint, task.name, task.crew.value if task.crew else "")
        ):
            tasks.write_string(row, column, text)
        tasks.write_number(row, 3, task.gangs)
        tasks.write_string(row, 4, f"{task.start:%Y-%m-%d %H:%M}")
        tasks.write_string(row, 5, f"{task.end:%Y-%m-%d %H:%M}")
        tasks.write_number(row, 6, task.hours)
        tasks.write_number(row, 7, task.float_hours)
        tasks.write_string(row, 8, "critical" if task.critical else "")
    tasks.freeze_panes(1, 1)
    file.close()
    staged.replace(out)
    return out
