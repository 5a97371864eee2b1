"""A metal and what it went through, as people give it, and everything that may be said of it."""

from __future__ import annotations

from typing import Annotated

import msgspec

from takeup.ageing import creep as creeping
from takeup.ageing import metallurgy
from takeup.ageing.creep import Creep, Spell
from takeup.ageing.metallurgy import Change, Condition, Soak, State
from takeup.checks import Check
from takeup.errors import MissingInput
from takeup.fields import number, words
from takeup.materials import alloy


class Time(msgspec.Struct, frozen=True, kw_only=True):
    """A stretch of service at one temperature."""

    name: Annotated[str, words("Stretch")] = ""
    time: Annotated[float, number("hours", "Hours", gt=0)]
    temperature: Annotated[float, number("temperature", "Metal temperature", gt=0)]
    stress: (
        Annotated[
            float,
            number("stress", "Lasting stress", "Von Mises, without what relaxes; blank: no creep",
                   gt=0),
        ]
        | None
    ) = None  # fmt: skip


class Element(msgspec.Struct, frozen=True, kw_only=True):
    """One element of the certificate."""

    symbol: Annotated[str, words("Element", "Si, Mn, P, Sn, Sb, As")]
    percent: Annotated[float, number("share", "By mass", "In per cent", ge=0, le=1)]


class MetalCase(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A metal of a joint, ring or pipe and its hours at temperature; SI."""

    name: Annotated[str, words("Name")] = ""
    alloy: Annotated[str, words("Alloy", refers="alloy")]
    stabilised: (
        Annotated[bool, words("Stabilising anneal", "870 to 900 °C; 321 and 347")] | None
    ) = None
    cold_worked: Annotated[bool, words("Cold worked", "As formed, not annealed after")] | None = (
        None
    )
    times: Annotated[tuple[Time, ...], words("Hours at temperature")] = ()
    elements: Annotated[tuple[Element, ...], words("Certificate")] = ()
    to_come: Annotated[
        float, number("hours", "Hours to come", "At the last stretch's state", ge=0)
    ] = 0.0


class MetalReport(msgspec.Struct, frozen=True, kw_only=True):
    """What time at temperature did to base metal and weld, and creep life where it can be told."""

    case: MetalCase
    base: tuple[Change, ...]
    weld: tuple[Change, ...]
    """Changes of weld metal that differ from those of the base metal"""
    creep: tuple[Creep, ...]
    """Base metal, then weld"""
    open: tuple[str, ...]
    """What was not worked out, and what it lacks"""
    headline: str

    @property
    def checks(self) -> tuple[Check, ...]:
        """Checks of creep."""
        return tuple(one.check for one in self.creep)


def evaluate(case: MetalCase) -> MetalReport:
    """Everything that may be said of the metal.

    Without hours every change is not known; without stress creep is not worked out, and that is
    said.  Raises :class:`takeup.errors.UnknownName` for the alloy and
    :class:`takeup.errors.OutOfRange` for a temperature that cannot be.
    """
    soaks = [Soak(time=one.time, temperature=one.temperature) for one in case.times]
    composition = {one.symbol.strip(): one.percent * 100.0 for one in case.elements}
    condition = Condition(
        stabilised=case.stabilised, cold_worked=case.cold_worked, composition=composition
    )
    base = metallurgy.changes(case.alloy, soaks, condition)
    welded = metallurgy.changes(case.alloy, soaks, msgspec.structs.replace(condition, weld=True))
    weld = tuple(one for one in welded if one not in base)
    lives: list[Creep] = []
    lacking: list[str] = []
    stressed = [one for one in case.times if one.stress is not None]
    if len(stressed) < len(case.times) or not case.times:
        lacking.append(
            "creep life: the lasting stress of every stretch is needed; residual and thermal stress "
            "that relaxes does not count"
        )
    else:
        spells = [
            Spell(time=one.time, temperature=one.temperature, stress=one.stress or 0.0)
            for one in stressed
        ]
        for is_weld in (False, True):
            try:
                lives.append(creeping.creep(case.alloy, spells, weld=is_weld, to_come=case.to_come))
            except MissingInput as fault:
                lacking.append(str(fault))
                break
    return MetalReport(
        case=case,
        base=base,
        weld=weld,
        creep=tuple(lives),
        open=tuple(lacking),
        headline=_headline(alloy(case.alloy).name, (*base, *weld)),
    )


def _headline(name: str, changes: tuple[Change, ...]) -> str:
    for state, words_ in (
        (State.YES, "to be expected"),
        (State.MAYBE, "possible"),
        (State.UNKNOWN, "not known"),
    ):
        found = list(dict.fromkeys(one.name for one in changes if one.state == state))
        if found:
            return f"{', '.join(found)}: {words_}."
    return f"None of the changes looked for is expected in {name} at these temperatures."
