"""A diagnosis told: in short for verdicts and documents, place by place, what to look for."""

from __future__ import annotations

from typing import TYPE_CHECKING

import msgspec

from takeup.desk.diagnosis_words import how, look, places

if TYPE_CHECKING:
    from takeup.desk.diagnosis_weighed import Diagnosed
    from takeup.line.diagnosis import Explanation, Fault, Group, Hint


class Summary(msgspec.Struct, frozen=True, kw_only=True):
    """A diagnosis in short, for verdicts and documents."""

    line: str
    leading: str
    """The leading group in trade words: its likeliest explanation first"""
    members: tuple[str, ...]
    """The explanations of that group worth naming; they cannot be told apart"""
    probability: float
    """Of the group [-]"""
    places: tuple[str, ...]
    """Supports and joints that its likeliest explanation blames"""
    shared: tuple[str, ...]
    """Faults that every explanation of the group has, in words"""
    sound_leads: bool
    """Whether *everything sound* is among the leading group"""
    fits: bool
    """Whether the best explanation fits the readings at all"""
    next_reading: str
    """The reading that would tell most; empty where none would"""
    readings: int
    left_out: int
    asked: int
    cautions: tuple[str, ...]


def summary(found: Diagnosed) -> Summary | None:
    """A diagnosis in short; ``None`` where nothing was weighed. Pure."""
    result = found.diagnosis
    if result is None or not result.groups:
        return None
    first = result.groups[0]
    hint = result.next or (first.split[0] if first.split else None)
    members = tuple(found.plain(one) for one in first.explanations)
    more = len(members) - 1 + first.unnamed
    leading = members[0]
    if more:
        leading += f", or one of {more} other{'s' if more > 1 else ''} that look the same"
    if not found.fits:
        leading = f"nothing fits the readings; nearest is: {leading}"
    return Summary(
        line=found.line,
        leading=leading,
        members=members,
        probability=first.posterior,
        places=places(first.explanations[0]),
        shared=tuple(fault.name for fault in shared(first)),
        sound_leads=any(not one.faults for one in first.explanations),
        fits=found.fits,
        next_reading=found.words(hint.reading) if hint is not None else "",
        readings=len(found.used),
        left_out=len(found.left_out),
        asked=len(found.asked),
        cautions=found.cautions,
    )


def next_words(found: Diagnosed, hint: Hint | None) -> tuple[str, str]:
    """A reading to take next, and how; empty where there is none."""
    return (found.words(hint.reading), how(hint.reading)) if hint is not None else ("", "")


def looks(found: Diagnosed, explanation: Explanation) -> tuple[tuple[str, str], ...]:
    """What to look at on site for each fault of an explanation, and what to look for."""
    return tuple(
        (fault.place, seen) for fault in explanation.faults if (seen := look(fault, found.sides))
    )


def shared(group: Group) -> tuple[Fault, ...]:
    """Faults that every explanation of a group has: what stays when they cannot be told apart."""
    if group.unnamed:
        return ()
    first, *rest = group.explanations
    return tuple(fault for fault in first.faults if all(fault in one.faults for one in rest))


def by_place(found: Diagnosed) -> tuple[tuple[str, float], ...]:
    """How likely something is wrong at each place, at least, over all explanations listed."""
    shares: dict[str, float] = {}
    for group in found.diagnosis.groups if found.diagnosis is not None else ():
        for one in group.explanations:
            for place in {fault.place for fault in one.faults}:
                shares[place] = shares.get(place, 0.0) + one.posterior
    return tuple(sorted(shares.items(), key=lambda pair: -pair[1]))
