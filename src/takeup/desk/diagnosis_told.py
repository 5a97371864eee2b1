"""A diagnosis told: in short for verdicts and documents, place by place, what to look for."""

from __future__ import annotations

from collections.abc import Sequence
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
    """The leading group in trade words; no one of several is made the culprit"""
    members: tuple[str, ...]
    """The explanations of that group worth naming; they cannot be told apart"""
    probability: float
    """Of the group [-]"""
    places: tuple[str, ...]
    """Supports and joints that its likeliest explanation blames"""
    by_place: tuple[tuple[str, float], ...]
    """How likely something is wrong at each place, at least, likeliest first"""
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
    leading = group_words(found, first)
    if not found.fits:
        leading = f"nothing fits the readings; nearest is: {leading}"
    return Summary(
        line=found.line,
        leading=leading,
        members=members,
        probability=first.posterior,
        places=places(first.explanations[0]),
        by_place=by_place(found),
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


def group_words(found: Diagnosed, group: Group) -> str:
    """A group as one thing: what all its explanations have, not the likeliest of them."""
    first, *rest = group.explanations
    more = len(rest) + group.unnamed
    others = f"{more} explanation{'s' if more > 1 else ''}"
    if any(not one.faults for one in group.explanations):
        sound = "a sound line at its recorded temperature"
        return f"{sound}, or one of {others} that look the same" if more else sound
    if not more:
        return found.plain(first)
    same = shared(group)
    if same:
        alone = any(one.faults == same for one in group.explanations)
        words = found.plain(msgspec.structs.replace(first, faults=same))
        return f"{words}, {'alone or ' if alone else ''}with more"
    place = next(iter(set.intersection(*({f.place for f in one.faults} for one in
                                         group.explanations))), "")  # fmt: skip
    if place and _few_unnamed(group):
        kind = found.sides.kinds.get(place, "") if found.sides is not None else ""
        named = not kind or kind.split()[-1] in place
        return f"something wrong at {place if named else f'{kind} {place}'}: {_what(group, place)}"
    from takeup.documents.words import chance

    own = chance(first.posterior).replace(" %", "%").replace("%", "\u00a0%")
    likeliest = f"likeliest, {own}: {found.plain(first)}"
    return f"one of {more + 1} explanations that look the same ({likeliest})"


def _what(group: Group, place: str) -> str:
    """The faults at a place that a group leaves open."""
    said = dict.fromkeys(
        fault.words for one in group.explanations for fault in one.faults if fault.place == place
    )
    return ", or ".join(list(said)[:3]) + (", or else" if len(said) > 3 else "")


def _few_unnamed(group: Group) -> bool:
    """Whether what is too unlikely to name is next to nothing of its group."""
    return group.unnamed_posterior <= 0.05 * group.posterior


def looks(
    found: Diagnosed, explanations: Sequence[Explanation], least: float = 0.1
) -> tuple[tuple[str, str], ...]:
    """Where to look on site and for what: places with ``least`` of the chance of explanations."""
    total = sum(one.posterior for one in explanations) or 1.0
    shares: dict[str, dict[str, float]] = {}
    for one in explanations:
        for fault in one.faults:
            seen = look(fault, found.sides)
            own = shares.setdefault(fault.place, {})
            own[seen] = own.get(seen, 0.0) + one.posterior
    order = sorted(shares, key=lambda place: -sum(shares[place].values()))
    return tuple(
        (place, max(shares[place], key=lambda seen: shares[place][seen]))
        for place in order
        if sum(shares[place].values()) >= least * total
    )


def shared(group: Group) -> tuple[Fault, ...]:
    """Faults that every explanation of a group has: what stays when they cannot be told apart."""
    if not _few_unnamed(group):
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
