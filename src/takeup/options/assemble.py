"""Put an option together from its conditions: open, open if, or blocked, and why."""

from __future__ import annotations

from collections.abc import Sequence

from takeup.assess.model import JointCase, Verdict
from takeup.options import parts
from takeup.options.model import Condition, Option, Standing, Truth
from takeup.register.entities import OptionName, Quote


def option(
    case: JointCase,
    verdict: Verdict,
    quote: Quote | None,
    *,
    name: OptionName,
    conditions: Sequence[Condition],
    needs_outage: bool,
    life: parts.Life,
    expires: bool = False,
) -> Option:
    """Build an option; every essential condition not met blocks it, every unknown is a question."""
    unmet = [c for c in conditions if c.essential and c.truth == Truth.NOT_MET]
    unknown = [c for c in conditions if c.essential and c.truth == Truth.UNKNOWN]
    if unmet:
        standing, why = Standing.BLOCKED, f"{unmet[0].text}: {unmet[0].because}"
    elif unknown:
        standing = Standing.OPEN_IF
        why = f"{len(unknown)} thing{'s' if len(unknown) > 1 else ''} to settle first: " + (
            unknown[0].because
        )
    else:
        standing, why = Standing.OPEN, "every condition is met by evidence"
    steps = parts.tasks(case, name)
    hazards, cautions = parts.hazards(name)
    fits, note = parts.cause_fit(name, verdict.causes)
    return Option(
        joint=case.joint.tag,
        name=name,
        standing=standing,
        why=why,
        conditions=tuple(conditions),
        fits_cause=fits,
        cause_note=note,
        cost=parts.cost(case, name, quote),
        chain_hours=parts.chain_hours(steps),
        needs_outage=needs_outage,
        tasks=steps,
        long_lead=parts.leads(case, name, quote),
        lasts_to_next=life.to_next,
        lasts_to_second=life.to_second,
        life_words=life.words,
        hazards=hazards,
        cautions=cautions,
        expires=expires,
    )
