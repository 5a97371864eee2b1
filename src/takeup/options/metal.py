"""Conditions of options that rest on the state of the metal: what the verdict worked out of it.

An answer from site stands first: a bead that passed, or cracked, decides.  Without one the
mechanisms speak: metal that heat has spoiled for good is not met until a test shows otherwise;
what is only possible stays a question, now with its reason.  Nothing calculated makes a condition
met: no calculation welds.
"""

from __future__ import annotations

import msgspec

from takeup.assess.model import JointCase, Mechanism, Verdict
from takeup.checks import Check, Outcome
from takeup.options import parts
from takeup.options.model import Condition, Truth
from takeup.register.entities import HardwareKind

SPOILT = ("metal.aged", "metal.graphite", "creep")
"""Checks whose failure stands against welding on, or keeping, the metal"""
PIPE = "pipe"


def bellows(case: JointCase) -> tuple[str, ...]:
    """Places of the bellows and their cuffs."""
    return tuple(one.letter for one in case.bellows)


def carcass(case: JointCase) -> tuple[str, ...]:
    """Places of the pipe ends and rings."""
    rings = [part.item for part in case.hardware if part.kind == HardwareKind.RING]
    return (PIPE, *rings)


def answered(
    case: JointCase,
    verdict: Verdict,
    code: str,
    id: str,
    text: str,
    question: str,
    *,
    places: tuple[str, ...],
    essential: bool = True,
) -> Condition:
    """As :func:`takeup.options.parts.answered`; not answered, what heat did to ``places`` speaks."""
    asked = parts.answered(case, code, id, text, question, essential=essential)
    if asked.truth != Truth.UNKNOWN:
        return asked
    bad = [check for check in _of(verdict, places) if check.outcome == Outcome.NOT_MET]
    spoilt = [check for check in bad if check.id.startswith(SPOILT)]
    doubts = [
        check
        for check in _of(verdict, places)
        if check.outcome == Outcome.NOT_EVALUATED and check.because.startswith("possible")
    ]
    chosen = spoilt or [*bad, *doubts]
    if not chosen:
        return asked
    told = "; ".join(_words(check) for check in chosen[:2])
    because = (
        f"{told}; a test piece may show otherwise (item {code})"
        if spoilt
        else f"{asked.because}: {told}"
    )
    return msgspec.structs.replace(
        asked,
        truth=Truth.NOT_MET if spoilt else Truth.UNKNOWN,
        because=because,
        evidence=tuple(f"check:{check.id}" for check in chosen),
        source=chosen[0].source,
        limit_kind=chosen[0].limit_kind,
    )


def cuffs(case: JointCase, verdict: Verdict) -> Condition:
    """Cuff lands sound: seen, else in doubt where the bellows stood below a dew point."""
    asked = answered(
        case,
        verdict,
        "O7",
        "cuffs",
        "Cuffs sound and of known size",
        "are the cuff lands sound (penetrant test, thickness)?",
        places=bellows(case),
    )
    if asked.truth != Truth.UNKNOWN:
        return asked
    wet = [
        check
        for result in verdict.mechanisms
        if result.mechanism == Mechanism.COLD
        for check in result.checks
        if check.id.startswith("dew.") and "@" in check.id and check.outcome == Outcome.NOT_MET
    ]
    if not wet:
        return asked
    return msgspec.structs.replace(
        asked,
        because=f"{asked.because}: look for pits at the attachment, the bellows stands below "
        f"{wet[0].name.split('above ', 1)[-1]}",
        evidence=(*asked.evidence, *(f"check:{check.id}" for check in wet)),
    )


def _of(verdict: Verdict, places: tuple[str, ...]) -> list[Check]:
    wanted = {place.casefold() for place in places}
    return [
        check
        for result in verdict.mechanisms
        if result.mechanism == Mechanism.METALLURGY
        for check in result.checks
        if "@" in check.id and check.id.split("@", 1)[1].removesuffix(".weld").casefold() in wanted
    ]


def _words(check: Check) -> str:
    """What a check denies, said straight: its name begins with No where it is a change."""
    name = check.name.removeprefix("No ")
    state = "possible" if check.outcome == Outcome.NOT_EVALUATED else "expected"
    if check.id.startswith("creep"):
        return f"{name}: used up"
    return f"{name}: {state} by its time at temperature"
