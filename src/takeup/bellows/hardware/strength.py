"""What each part may be stressed to, by whose rule, and how a stress is set against it."""

from __future__ import annotations

from enum import StrEnum

import msgspec

from takeup import materials
from takeup.bellows.hardware.model import (
    Factors,
    HardwareCase,
    HardwareCondition,
    Links,
    Lugs,
    Pins,
    Plates,
    Ring,
    Rods,
)
from takeup.checks import Check, LimitKind, Outcome, Quantity
from takeup.errors import MissingInput, OutOfRange, UnknownName
from takeup.fields import specs
from takeup.sources import Source, Standing, assumption

Sized = Rods | Lugs | Plates | Pins | Ring | Links
WORDS: dict[type[Sized], str] = {
    Rods: "rods",
    Lugs: "lugs",
    Plates: "hinge plates or arms",
    Pins: "pins",
    Ring: "gimbal ring",
    Links: "pantograph bars",
}


_STRONGEST_FIRST = tuple(Standing)


def rank(standing: Standing) -> int:
    """Place of a standing, the weakest last, in its order of declaration."""
    return _STRONGEST_FIRST.index(standing)


class Mode(StrEnum):
    """Kinds of stress that have an allowable of their own."""

    TENSION = "tension"
    BENDING = "bending"
    SHEAR = "shear"
    BEARING = "bearing"
    WELD = "weld"
    COMBINED = "combined"


STATICS = Source(
    document="Statics and strength of materials", at="derived here", standing=Standing.DERIVED
)
_CLAUSE = {
    Mode.SHEAR: Source(
        document="ASME B31.3", at="para. 302.3.1(b), shear", standing=Standing.MEMORY
    ),
    Mode.BEARING: Source(
        document="ASME B31.3", at="para. 302.3.1(b), bearing", standing=Standing.MEMORY
    ),
    Mode.WELD: Source(
        document="ASME BPVC VIII-1",
        at="UW-18(d), fillet weld on its leg area",
        standing=Standing.MEMORY,
    ),
    Mode.BENDING: assumption("no credit for plastic reserve in bending"),
    Mode.COMBINED: assumption("von Mises stress held to the allowable stress in tension"),
}
CREEP = (
    "The metal is in its creep range: the load has a life, in hours. A stress check at this "
    "temperature does not say how much of it is used; have the creep of this part assessed."
)
GIVEN = "The allowable stress was given by the user and is taken for every condition."


class Allowable(msgspec.Struct, frozen=True, kw_only=True):
    """Allowable stress in tension of one part at one condition, or what is missing for it."""

    value: float | None
    source: Source
    missing: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


def allowable(part: Sized | None, words: str, temperature: float | None) -> Allowable:
    """From the user, else from the tables at the metal temperature [K]; never invented."""
    nothing = assumption(f"allowable stress of the {words}")
    if part is None or (part.allowable_stress is None and not part.material):
        return Allowable(
            value=None, source=nothing, missing=(f"metal or allowable stress of the {words}",)
        )
    creeping = _creeps(part.material, temperature)
    if part.allowable_stress is not None:
        source = Source(
            document=part.allowable_source or "No source named",
            at=f"allowable stress of the {words} as given by the user",
            standing=Standing.ASSUMPTION,
        )
        return Allowable(value=part.allowable_stress, source=source, cautions=(GIVEN, *creeping))
    if temperature is None:
        return Allowable(value=None, source=nothing, missing=(f"metal temperature of the {words}",))
    try:
        found = materials.allowable_stress(part.material, temperature)
    except (UnknownName, MissingInput, OutOfRange) as reason:
        return Allowable(
            value=None,
            source=nothing,
            missing=(f"allowable stress of the {words}: {reason}",),
            cautions=creeping,
        )
    return Allowable(value=float(found.value), source=found.source, cautions=creeping)


def _creeps(name: str, temperature: float | None) -> tuple[str, ...]:
    if not name or temperature is None:
        return ()
    try:
        metal = materials.alloy(name)
    except UnknownName:
        return ()
    return (CREEP,) if temperature > metal.creep_threshold else ()


def _factor(factors: Factors, mode: Mode) -> tuple[float, Source | None]:
    """The factor on the allowable in tension and whose it is."""
    if mode in {Mode.TENSION, Mode.COMBINED}:
        return 1.0, _CLAUSE.get(mode)
    value = float(getattr(factors, mode.value))
    usual = float(getattr(Factors(), mode.value))
    changed = assumption(f"factor on the allowable in {mode.value} changed by the user")
    return value, _CLAUSE[mode] if value == usual else changed


class Sizes:
    """Reads sizes of one part, remembering which were asked for and are unknown."""

    def __init__(self, part: Sized | None, kind: type[Sized]) -> None:
        self.part, self.words = part, WORDS[kind]
        self._titles = {spec.name: spec.title for spec in specs(kind)}
        self.missing: list[str] = []
        self.used: list[Quantity] = []
        self._kinds = {spec.name: spec.kind for spec in specs(kind)}

    def __call__(self, name: str) -> float | None:
        """The size called ``name``; ``None`` is noted as missing."""
        value = None if self.part is None else getattr(self.part, name)
        title = self._titles[name]
        if value is None:
            self.lack(f"{title[0].lower()}{title[1:]}")
            return None
        self.used.append(
            Quantity(name=title, value=float(value), kind=self._kinds[name] or "count")
        )
        return float(value)

    def lack(self, title: str) -> None:
        """Note that ``title`` of this part is unknown."""
        self.missing.append(f"{self.words}: {title}")


class Bench:
    """Sets stresses of the parts of one case at one condition against their allowables."""

    def __init__(self, case: HardwareCase, condition: HardwareCondition, label: str) -> None:
        self.case, self.condition, self.label = case, condition, label
        self._allowables: dict[str, Allowable] = {}
        self.missing: list[str] = []
        """What checks that are open lack."""

    def allowable(self, kind: type[Sized]) -> Allowable:
        """Allowable stress of a kind of part at this condition."""
        words = WORDS[kind]
        if words not in self._allowables:
            hot = self.condition.temperature
            if kind is Lugs and self.condition.lug_temperature is not None:
                hot = self.condition.lug_temperature
            part: dict[type[Sized], Sized | None] = {
                Rods: self.case.rods,
                Lugs: self.case.lugs,
                Plates: self.case.plates,
                Pins: self.case.pins,
                Ring: self.case.ring,
                Links: self.case.links,
            }
            self._allowables[words] = allowable(part[kind], words, hot)
        return self._allowables[words]

    def check(
        self,
        kind: type[Sized],
        id: str,
        name: str,
        *,
        mode: Mode,
        stress: float | None,
        rule: str,
        on: str,
        sizes: Sizes,
        loads: tuple[Quantity, ...] = (),
        lacking: tuple[str, ...] = (),
        standing: Standing = Standing.DERIVED,
        symbol: str = "",
    ) -> Check:
        """Stress [Pa] against its allowable.

        ``lacking`` names loads that are unknown.  What is known of the load is then a lower
        bound: it can show that a part is overloaded, never that it is not.
        """
        metal = self.allowable(kind)
        factor, clause = _factor(self.case.factors, mode)
        capacity = None if metal.value is None else factor * metal.value
        missing = tuple(dict.fromkeys((*sizes.missing, *metal.missing)))
        because = f"on {on}: {rule}"
        if stress is None or capacity is None:
            outcome = Outcome.NOT_EVALUATED
            because = f"{on}: unknown: {', '.join(missing)}"
        elif stress > capacity:
            outcome = Outcome.NOT_MET
            if lacking:
                because += f"; overloaded already without {', '.join(lacking)}"
        elif lacking:
            outcome = Outcome.NOT_EVALUATED
            because = (
                f"{on}: what is known of the load uses {stress / capacity:.0%} of the capacity; "
                f"unknown: {', '.join(lacking)}"
            )
        else:
            outcome = Outcome.MET
        bases = [metal.source] if metal.value is not None else []
        bases += [clause] if clause is not None else []
        if outcome == Outcome.NOT_EVALUATED:
            self.missing += [*missing, *lacking]
        weakest = max((source.standing for source in bases), default=standing, key=rank)
        limit = f"{factor:g} S" if factor != 1.0 else "S"
        words = [rule, f"limit {limit}"]
        words += [source.cite() for source in bases]
        return Check(
            id=f"{id}@{self.label}",
            name=name,
            symbol=symbol,
            outcome=outcome,
            demand=stress,
            capacity=capacity,
            kind="stress",
            source=Source(
                document=STATICS.document,
                at="; ".join(words),
                standing=max(weakest, standing, key=rank),
            ),
            limit_kind=LimitKind.CODE
            if clause and clause.document != "Takeup"
            else LimitKind.DERIVED,
            inputs=(*loads, *sizes.used),
            because=because,
            cautions=metal.cautions,
        )
