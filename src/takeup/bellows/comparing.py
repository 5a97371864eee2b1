"""Demand against capacity, thousands of times a second."""

from __future__ import annotations

from math import isnan

from takeup.bellows.rules.base import RuleSet
from takeup.checks import Check, Outcome, Quantity
from takeup.sources import Source


def open_because(names: list[str]) -> str:
    """Why a check is open: what is unknown by name, or a sentence as it stands."""
    sentences = [name for name in names if name.endswith(".")]
    nouns = [name for name in names if not name.endswith(".")]
    return " ".join([*([f"unknown: {', '.join(nouns)}"] if nouns else []), *sentences])


def compare(
    *,
    id: str,
    name: str,
    symbol: str,
    demand: float,
    capacity: float,
    kind: str,
    source: Source,
    rules: RuleSet,
    inputs: tuple[Quantity, ...],
    names: list[str],
    because: str,
    cautions: tuple[str, ...],
) -> Check:
    """As :func:`takeup.checks.compare`, without its cost per call."""
    if isnan(demand) or isnan(capacity):
        outcome = Outcome.NOT_EVALUATED
        because = open_because(names or ["demand" if isnan(demand) else "capacity"])
    else:
        outcome = Outcome.MET if demand <= capacity else Outcome.NOT_MET
    return Check(
        id=id,
        name=name,
        symbol=symbol,
        outcome=outcome,
        demand=demand if not isnan(demand) else None,
        capacity=capacity if not isnan(capacity) else None,
        kind=kind,
        source=source,
        limit_kind=rules.limit_kind,
        valid=rules.valid,
        inputs=inputs,
        because=because,
        cautions=cautions,
    )
