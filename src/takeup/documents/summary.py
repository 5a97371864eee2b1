"""One page for management: the ask, why now, what if nothing, money, dates, decisions."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from takeup.assess.model import SEVERITY, Level
from takeup.documents.drawing import level_mark
from takeup.documents.model import ScopeBook
from takeup.documents.scope import state
from takeup.documents.typst_render import head
from takeup.documents.typst_render import render as set_pdf
from takeup.documents.words import chance, thousands
from takeup.plan.build import consequences, risk_cost
from takeup.register.entities import OptionName

MOST = 8


def render(book: ScopeBook, out: Path) -> Path:
    """Write the one-page summary as PDF."""
    plan, overview = book.plan, book.overview
    portfolio, currency = plan.portfolio, overview.plant.currency
    choices = {choice.joint: choice for choice in portfolio.choices}
    verdicts = sorted(book.verdicts, key=lambda v: (-SEVERITY[v.level], v.joint))
    acting = [c for c in portfolio.choices if c.option != OptionName.LEAVE]
    doubt = [v for v in verdicts if v.level in {Level.ACT_NOW, Level.IN_DOUBT}]
    counts = {level: sum(v.level == level for v in verdicts) for level in Level}
    risk_now, worst = _nothing(book)
    title = f"Expansion joints, outage {plan.outage}: one page"
    files: dict[str, str | bytes] = {
        f"level{n}.svg": level_mark(level, size=32) for n, level in enumerate(Level)
    }
    finish = f"{plan.schedule.finish:%d %b %Y}" if plan.schedule.finish else "not schedulable"
    late = [m for m in plan.calendar if m.late_days and not m.done]
    ahead = [m for m in plan.calendar if m.date >= plan.today and not m.done]
    data: dict[str, Any] = head(
        title, f"{overview.plant.name} · {overview.unit.name}", book.made
    ) | {
        "ask": f"{thousands(portfolio.spent)} k {currency} for work on {len(acting)} of "
        f"{len(portfolio.choices)} joints in the outage of "
        f"{overview.next_outage.start if overview.next_outage else plan.outage}; "
        f"{len(doubt)} joints are in doubt or must not wait for it.",
        "three": [
            {
                "head": "planned cost",
                "value": f"{thousands(portfolio.spent)} k {currency}",
                "note": f"range {thousands(portfolio.cost.low)} to {thousands(portfolio.cost.high)} "
                f"k, class {portfolio.cost.estimate_class}",
            },
            {
                "head": "expected loss if left",
                "value": f"{thousands(risk_now)} k {currency}",
                "note": "over both runs, against "
                f"{thousands(sum(c.risk_cost for c in portfolio.choices))} k with the plan",
            },
            {
                "head": "work done by",
                "value": finish,
                "note": f"window ends {plan.schedule.window_end:%d %b %Y}; "
                f"{plan.schedule.status.value}",
            },
        ],
        "levels": [
            {"file": f"level{n}.svg", "word": level.value, "count": str(counts[level])}
            for n, level in enumerate(Level)
        ],
        "worries": [
            [
                v.joint,
                v.level.value,
                _short(v.headline),
                choices[v.joint].option.value if v.joint in choices else "–",
            ]
            for v in verdicts[:MOST]
        ],
        "nothing": worst,
        "decisions": [
            f"Approve {thousands(portfolio.spent)} k {currency} before the budget closes"
            + (
                f" on {overview.next_outage.budget_close}"
                if overview.next_outage and overview.next_outage.budget_close
                else ""
            )
            + ".",
            *(
                f"{late_.joint}: {late_.preferred.value} is no longer in time on normal delivery; "
                f"expedite or accept {late_.taken.value}."
                for late_ in portfolio.late[:3]
            ),
            *portfolio.excluded[:2],
        ],
        "dates": [[m.date.isoformat(), m.name, state(m)] for m in [*late[:3], *ahead[:4]]],
        "cautions": [
            "Costs are class figures and chances partly beliefs of the site; the dossiers show the "
            "grounds of each joint. The decision is a person's."
        ],
    }
    return set_pdf("summary", data, out, files)


def _short(text: str) -> str:
    tail = text.split(": ", 1)[-1]
    tail = tail[:1].upper() + tail[1:]
    return tail if len(tail) <= 130 else tail[:127].rsplit(" ", 1)[0] + " …"


def _nothing(book: ScopeBook) -> tuple[float, str]:
    """Money expected to be lost when all is left, and the worst joints in words."""
    leave = {
        option.joint: option for option in book.plan.options if option.name == OptionName.LEAVE
    }
    losses = []
    unit = book.overview.unit
    lines = {row.joint.tag: row.line for row in book.overview.joints}
    money, _ = consequences(unit, lines, book.plan.options)
    for row in book.overview.joints:
        option = leave.get(row.joint.tag)
        if option is None or option.lasts_to_next is None or not money[row.joint.tag].known:
            continue
        lost = risk_cost(option, money[row.joint.tag].money, 0.0, left=1.0, settles=1.0)
        losses.append((lost, row, option))
    if not losses:
        return 0.0, (
            "What a failure costs is not on record, so nothing can be said in money. Enter the value "
            "of lost production and the days lost for each line."
        )
    losses.sort(key=lambda item: -item[0])
    total = sum(loss for loss, _, _ in losses)
    words = "; ".join(
        f"{row.joint.tag} lasts to the outage with {chance(option.lasts_to_next)}, and a leak costs "
        f"some {(row.line.leak_outage or 0) / 86400:.0f} days"
        + (f" ({row.line.consequence})" if row.line.consequence else "")
        for _, row, option in losses[:3]
    )
    return total, words[:1].upper() + words[1:] + "."
