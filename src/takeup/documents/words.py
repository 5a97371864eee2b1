"""Figures in words for paper: units, thousands, unknown said, nothing left blank."""

from __future__ import annotations

import datetime as dt
import math

from takeup.ageing.joined import Joined
from takeup.bellows.uncertainty import Shape, Spread
from takeup.checks import Check
from takeup.options.model import Money
from takeup.units import System, shown


def quantity(value: float | None, kind: str, system: System) -> str:
    """A value with its unit, or ``unknown``."""
    return shown(value, kind, system)


def date(value: dt.date | None) -> str:
    """A date, or ``unknown``."""
    return value.isoformat() if value else "unknown"


def word(value: object) -> str:
    """A choice or text, or ``unknown``."""
    if value is None or value == "":
        return "unknown"
    return str(getattr(value, "value", value))


def thousands(value: float) -> str:
    """Money in thousands."""
    return f"{value / 1e3:,.0f}".replace(",", "\u202f")


def money(cost: Money, currency: str) -> str:
    """A cost with its range and class."""
    return (
        f"{thousands(cost.likely)} k {currency} ({thousands(cost.low)} to {thousands(cost.high)}, "
        f"class {cost.estimate_class})"
    )


def chance(value: float | None) -> str:
    """A chance in whole percent, never 0 or 100."""
    if value is None:
        return "unknown"
    return "over 99 %" if value > 0.995 else "under 1 %" if value < 0.005 else f"{value:.0%}"


def together(found: Joined | None, system: System) -> str:
    """Every calculated life of a joint together, in words; empty where none was calculated."""
    if found is None:
        return ""
    first, last = (shown(value, "years", system) for value in (found.low, found.high))
    who = ", ".join(
        f"{one.name} {chance(one.probability)}" for one in found.shares if one.probability >= 0.005
    )
    return (
        f"Every calculated life together: to the next outage {chance(found.to_next)}, to the "
        f"second {chance(found.to_second)}; the first end between {first} and {last} (90 %)"
        + (f". First before the second outage: {who}" if who else "")
        + ". Causes are taken as independent, and what has no calculated life is not in it: a "
        "ceiling, no promise."
    )


def spread(found: Spread, system: System) -> str:
    """How far an input may lie: −0.12 to +0.08 mm, uniform."""
    parts = []
    if found.deviation is not None:
        parts.append(f"standard deviation {shown(found.deviation, found.kind, system)}")
    if found.minus == found.plus and math.isfinite(found.plus):
        parts.append(f"\u00b1{shown(found.plus, found.kind, system)}")
    elif math.isfinite(found.minus) or math.isfinite(found.plus):
        ends = [
            f"{sign}{shown(amount, found.kind, system)}" if math.isfinite(amount) else "no limit"
            for sign, amount in (("\u2212", found.minus), ("+", found.plus))
        ]
        parts.append(" to ".join(ends))
    of = " of its value" if found.relative else ""
    held = "within " if found.shape == Shape.NORMAL and len(parts) > 1 else ""
    parts[-1] = f"{held}{parts[-1]}"
    return f"{', '.join(parts)}{of}, {found.shape.value}"


def named(check: Check) -> str:
    """A check by name with the condition or movement that it is about."""
    where = check.id.partition("@")[2].strip("- ")
    return f"{check.name}, {where}" if where and where not in check.name else check.name


def check_row(check: Check, system: System) -> dict[str, str]:
    """A check as a row of a table."""
    star = " *" if check.provisional else ""
    because = f" ({check.because})" if check.demand is None and check.because else ""
    return {
        "name": named(check) + star + because,
        "demand": "–" if check.demand is None else shown(check.demand, check.kind, system),
        "capacity": "–" if check.capacity is None else shown(check.capacity, check.kind, system),
        "ratio": "–" if check.ratio is None else f"{check.ratio:.2f}",
        "outcome": check.outcome.value,
        "source": f"{check.source.cite()}; {check.limit_kind.value}",
    }
