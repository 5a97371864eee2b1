"""What a result says for itself: quantities, checks with four outcomes, grounds, findings."""

from __future__ import annotations

from enum import StrEnum

import msgspec
import numpy as np

from takeup.sources import Source

# Frozen trees without cycles, made by the hundred thousand: the collector need not walk them.


class Quantity(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A named SI value with its kind (see :data:`takeup.units.KINDS`); ``None`` is unknown."""

    name: str
    symbol: str = ""
    value: float | None
    kind: str


class Figure(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A computed quantity with its source and anything a reader must know beside it."""

    id: str
    name: str
    symbol: str = ""
    value: float | None
    kind: str
    source: Source
    note: str = ""

    @property
    def provisional(self) -> bool:
        """Whether it rests on something weaker than a read or confirmed source."""
        return not self.source.firm


class Outcome(StrEnum):
    """The four things a check can say. A missing input is never a pass."""

    MET = "met"
    NOT_MET = "not met"
    DOES_NOT_APPLY = "does not apply"
    NOT_EVALUATED = "not evaluated"


class LimitKind(StrEnum):
    """What stands behind a limit. Only rules of thumb are the site's to edit."""

    CODE = "code"
    PUBLISHED = "published practice"
    DERIVED = "derived"
    RULE_OF_THUMB = "rule of thumb"


class Check(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """Demand against capacity, by whose rule, from which inputs.

    ``kind`` is the quantity kind of demand and capacity.  ``because`` says in a sentence why
    the outcome is what it is; for NOT_EVALUATED it names the missing inputs.  ``valid`` is
    the method's range of validity in words; ``cautions`` are shown wherever the check is.
    """

    id: str
    name: str
    symbol: str = ""
    outcome: Outcome
    demand: float | None = None
    capacity: float | None = None
    kind: str = "ratio"
    at_least: bool = False
    """True when the demand must not fall below the capacity (a minimum, not a maximum)."""
    source: Source
    limit_kind: LimitKind = LimitKind.CODE
    valid: str = ""
    inputs: tuple[Quantity, ...] = ()
    because: str = ""
    cautions: tuple[str, ...] = ()

    @property
    def ratio(self) -> float | None:
        """Use of capacity: above 1 is not met.  ``None`` where it was not evaluated."""
        if self.demand is None or self.capacity is None:
            return None
        top, bottom = (
            (self.capacity, self.demand) if self.at_least else (self.demand, self.capacity)
        )
        if bottom <= 0.0:
            return float("inf") if top > 0.0 else 0.0
        return top / bottom

    @property
    def provisional(self) -> bool:
        """Whether it rests on something weaker than a read or confirmed source."""
        return not self.source.firm


def compare(
    *,
    id: str,
    name: str,
    demand: float | None,
    capacity: float | None,
    kind: str,
    source: Source,
    symbol: str = "",
    at_least: bool = False,
    limit_kind: LimitKind = LimitKind.CODE,
    valid: str = "",
    inputs: tuple[Quantity, ...] = (),
    missing: tuple[str, ...] = (),
    because: str = "",
    cautions: tuple[str, ...] = (),
) -> Check:
    """Build a check from demand and capacity; unknown or NaN on either side is NOT_EVALUATED."""
    known = (
        demand is not None
        and capacity is not None
        and bool(np.isfinite(demand))
        and not bool(np.isnan(capacity))
    )
    if missing or not known:
        outcome = Outcome.NOT_EVALUATED
        named = ", ".join(missing) or (
            "demand" if demand is None or not np.isfinite(demand) else "capacity"
        )
        because = because or f"unknown: {named}"
        demand = demand if demand is not None and np.isfinite(demand) else None
        capacity = capacity if capacity is not None and np.isfinite(capacity) else None
    else:
        assert demand is not None and capacity is not None
        good = demand >= capacity if at_least else demand <= capacity
        outcome = Outcome.MET if good else Outcome.NOT_MET
    return Check(
        id=id,
        name=name,
        symbol=symbol,
        outcome=outcome,
        demand=demand,
        capacity=capacity,
        kind=kind,
        at_least=at_least,
        source=source,
        limit_kind=limit_kind,
        valid=valid,
        inputs=inputs,
        because=because,
        cautions=cautions,
    )


def does_not_apply(*, id: str, name: str, source: Source, because: str) -> Check:
    """A check that has no meaning here, with the reason."""
    return Check(id=id, name=name, outcome=Outcome.DOES_NOT_APPLY, source=source, because=because)


class Strength(StrEnum):
    """How strong the evidence behind a ground is, strongest first."""

    MEASURED = "measured"
    CALCULATED = "calculated"
    RECORDED = "recorded"
    STATISTICAL = "statistical"
    TOLD = "told"
    ASSUMED = "assumed"


class Ground(msgspec.Struct, frozen=True, kw_only=True):
    """One link of the chain: what is claimed, from which evidence, by which rule, how strong.

    ``evidence`` holds references ``kind:key`` to stored facts (for example
    ``interply_test:EJ-101/2025-03-02``) or ``check:id`` to checks of the same assessment.
    """

    claim: str
    evidence: tuple[str, ...] = ()
    rule: str
    source: Source
    limit_kind: LimitKind = LimitKind.RULE_OF_THUMB
    strength: Strength


class Grade(msgspec.Struct, frozen=True):
    """Severity of a finding, 0 to 4, as inspectors of the trade grade them."""

    number: int
    words: str


GRADES: tuple[Grade, ...] = (
    Grade(0, "as drawn"),
    Grade(1, "record"),
    Grade(2, "watch and trend"),
    Grade(3, "act this outage"),
    Grade(4, "act now"),
)


class Finding(msgspec.Struct, frozen=True, kw_only=True):
    """Something found on a joint or its neighbours: graded, grounded, with what to do next."""

    id: str
    subject: str
    title: str
    grade: int
    ground: Ground
    action: str = ""
    cautions: tuple[str, ...] = ()
