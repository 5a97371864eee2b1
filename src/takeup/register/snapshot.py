"""The register at one moment: all facts, found by kind, key, joint or line. Pure."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import TypeVar

import msgspec

from takeup.errors import Refused, TakeupError, UnknownName
from takeup.fields import Fact, specs
from takeup.limits import Limits, defaults
from takeup.register.entities import KINDS, BellowsElement, Outage, Plant, SiteLimit
from takeup.units import System

F = TypeVar("F", bound=Fact)


class Register:
    """Facts of a site as they stand; built once, read often, never changed."""

    def __init__(self, facts: Iterable[Fact]) -> None:
        self._by_kind: dict[str, dict[str, Fact]] = {kind: {} for kind in KINDS}
        self._of: dict[tuple[str, str, str], list[Fact]] = {}
        for fact in facts:
            self._by_kind[fact.KIND][fact.key.casefold()] = fact
            for owner in ("joint", "line", "unit", "outage", "visit"):
                tag = getattr(fact, owner, None)
                if isinstance(tag, str) and tag:
                    self._of.setdefault((fact.KIND, owner, tag.casefold()), []).append(fact)
        self._limits: Limits | None = None
        self._limit_faults: tuple[str, ...] = ()

    def __len__(self) -> int:
        return sum(len(found) for found in self._by_kind.values())

    @property
    def plant(self) -> Plant:
        """The site itself."""
        found = self.all(Plant)
        if not found:
            raise Refused("the register holds no site row; fill the sheet Site and import it")
        return found[0]

    @property
    def system(self) -> System:
        """The units this site prefers; metric when there is no site row yet."""
        found = self.all(Plant)
        return found[0].units if found else System.METRIC

    def all(self, kind: type[F]) -> tuple[F, ...]:
        """All facts of a kind, in order of keys."""
        return tuple(self._by_kind[kind.KIND].values())  # type: ignore[arg-type]

    def everything(self) -> tuple[Fact, ...]:
        """All facts of all kinds."""
        return tuple(fact for found in self._by_kind.values() for fact in found.values())

    def find(self, kind: type[F], key: str) -> F | None:
        """The fact with this key, without regard to case, or ``None``."""
        return self._by_kind[kind.KIND].get(key.casefold())  # type: ignore[return-value]

    def get(self, kind: type[F], key: str) -> F:
        """The fact with this key; raises UnknownName offering the nearest."""
        found = self.find(kind, key)
        if found is None:
            known = [fact.key for fact in self._by_kind[kind.KIND].values()]
            raise UnknownName(kind.KIND.replace("_", " "), key, known)
        return found

    def of(self, kind: type[F], owner: str, tag: str) -> tuple[F, ...]:
        """Facts of a kind that belong to the ``owner`` (joint, line, unit, outage, visit)."""
        return tuple(self._of.get((kind.KIND, owner, tag.casefold()), ()))  # type: ignore[arg-type]

    def of_joint(self, kind: type[F], tag: str) -> tuple[F, ...]:
        """Facts of a kind that belong to a joint."""
        return self.of(kind, "joint", tag)

    def of_line(self, kind: type[F], tag: str) -> tuple[F, ...]:
        """Facts of a kind that belong to a line."""
        return self.of(kind, "line", tag)

    def bellows(self, tag: str) -> tuple[BellowsElement, ...]:
        """The bellows of a joint in order of their letters."""
        return tuple(sorted(self.of_joint(BellowsElement, tag), key=lambda one: one.letter))

    def outages(self, unit: str) -> tuple[Outage, ...]:
        """The outages of a unit by date."""
        return tuple(sorted(self.of(Outage, "unit", unit), key=lambda outage: outage.start))

    def next_outage(self, unit: str, today: dt.date) -> Outage | None:
        """The first outage of a unit that has not begun."""
        return next((one for one in self.outages(unit) if one.start > today), None)

    def second_outage(self, unit: str, today: dt.date) -> Outage | None:
        """The outage after the next one."""
        ahead = [one for one in self.outages(unit) if one.start > today]
        return ahead[1] if len(ahead) > 1 else None

    def limits(self) -> Limits:
        """The shipped limits with the site's own values laid over them."""
        if self._limits is None:
            limits, faults = defaults(), []
            for own in self.all(SiteLimit):
                try:
                    limits = limits.with_value(own.id, own.value, f"{own.by}: {own.reason}")
                except TakeupError as fault:
                    faults.append(f"{own.ref}: {fault} The shipped value is used.")
            self._limits, self._limit_faults = limits, tuple(faults)
        return self._limits

    def limit_faults(self) -> tuple[str, ...]:
        """Site limits that could not be used, with why."""
        self.limits()
        return self._limit_faults

    def with_facts(self, facts: Iterable[Fact]) -> Register:
        """The register as it would be with ``facts`` put in."""
        laid = {(fact.KIND, fact.key.casefold()): fact for fact in self.everything()}
        laid.update({(fact.KIND, fact.key.casefold()): fact for fact in facts})
        return Register(laid.values())


class Dangling(msgspec.Struct, frozen=True, kw_only=True):
    """A fact that names something the register does not hold."""

    fact: Fact
    field: str
    value: str
    refers: str


def dangling(register: Register, facts: Iterable[Fact] | None = None) -> tuple[Dangling, ...]:
    """Facts (all, or those given) that refer to something unknown."""
    found = []
    for fact in register.everything() if facts is None else facts:
        for spec in specs(type(fact)):
            if not spec.refers or spec.refers not in KINDS:
                continue
            value = getattr(fact, spec.name)
            if value and register.find(KINDS[spec.refers], value) is None:
                found.append(Dangling(fact=fact, field=spec.name, value=value, refers=spec.refers))
    return tuple(found)
