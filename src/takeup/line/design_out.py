"""Designing a joint out: plain alternatives without it, judged by stress and nozzle limits.

The judge is given, so that any code and any limits can stand behind it.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Sequence

import msgspec

from takeup.checks import Check, Outcome
from takeup.errors import TakeupError
from takeup.line.alternatives import Alternative, Instead, alternatives, no_loop, no_offset
from takeup.line.model import Line, Vector
from takeup.line.telling import Tell, si_words
from takeup.progress import Progress, silent


class Judged(msgspec.Struct, frozen=True, kw_only=True):
    """An alternative with its checks."""

    alternative: Alternative
    checks: tuple[Check, ...]
    fault: str = ""
    """Why it could not be solved; empty where it was"""

    @property
    def worst(self) -> Check | None:
        """The check nearest to or furthest beyond its limit."""
        known = [check for check in self.checks if check.ratio is not None]
        return max(known, key=lambda check: check.ratio or 0.0, default=None)

    @property
    def holds(self) -> bool:
        """Whether every check was evaluated and met."""
        decided = {Outcome.MET, Outcome.DOES_NOT_APPLY}
        return not self.fault and bool(self.checks) and all(
            check.outcome in decided for check in self.checks
        )  # fmt: skip

    @property
    def unmet(self) -> tuple[Check, ...]:
        """Checks not met."""
        return tuple(check for check in self.checks if check.outcome == Outcome.NOT_MET)

    @property
    def open(self) -> tuple[Check, ...]:
        """Checks that could not be evaluated: they are no pass."""
        return tuple(check for check in self.checks if check.outcome == Outcome.NOT_EVALUATED)


class DesignOut(msgspec.Struct, frozen=True, kw_only=True):
    """What the search found."""

    tag: str
    judged: tuple[Judged, ...]
    best: Judged | None
    """The simplest that holds: supports as they are, fewest elbows, run in its place, least pipe"""
    undecided: Judged | None = None
    """Where none holds, the simplest with nothing unmet and something that is not known"""
    words: tuple[str, ...]
    cautions: tuple[str, ...]


CAUTIONS = (
    "A study by a qualified engineer with measured positions decides: nozzle loads, springs and "
    "supports of the whole line change when a joint is taken out.",
    "Room for the loop or for the shifted run, its supports, drains, vents, pressure drop and access are not looked at here.",
)
Judge = Callable[[Line], Sequence[Check]]


def design_out(
    line: Line,
    tag: str,
    judge: Judge,
    *,
    largest: float,
    directions: Sequence[Vector] | None = None,
    may_go: Container[str] | None = None,
    instead: Sequence[Instead] = (),
    tell: Tell = si_words,
    progress: Progress = silent,
) -> DesignOut:
    """Try plain alternatives to joint ``tag`` and say which holds, or what stands against each.

    ``largest`` is the longest leg of a loop, or the furthest shift of the run, there is room for
    [m]; ``directions`` where it may go (all four across the pipe where not given); ``may_go`` the guides and stops beside the run
    that may be let go (all where not given); ``instead`` supports at hand for others;
    ``tell`` says lengths in the reader's units.  Raises
    :class:`takeup.errors.UnknownName` for a joint that is not on the line.
    """
    found = list(
        alternatives(
            line,
            tag,
            largest=largest,
            directions=directions,
            may_go=may_go,
            instead=instead,
            tell=tell,
        )
    )
    judged = []
    for number, one in enumerate(found):
        progress(number / len(found), one.words)
        try:
            checks, fault = tuple(judge(one.line)), ""
        except TakeupError as reason:
            checks, fault = (), str(reason)
        judged.append(Judged(alternative=one, checks=checks, fault=fault))
    best = min((one for one in judged if one.holds), key=_plainness, default=None)
    undecided = None
    if best is None:
        undecided = min(
            (one for one in judged if one.open and not one.unmet and not one.fault),
            key=_plainness,
            default=None,
        )
    return DesignOut(
        tag=tag,
        judged=tuple(judged),
        best=best,
        undecided=undecided,
        words=(
            *_words(tag, judged, best, undecided),
            *_without_loops(line, tag, judged, largest, may_go),
            *_without_offsets(line, tag, judged, largest, directions),
        ),
        cautions=CAUTIONS,
    )


def _plainness(one: Judged) -> tuple[int, int, bool, float, float]:
    made = one.alternative
    touched = bool(made.let_go) + bool(made.put) + bool(made.moved)
    return touched, made.elbows, made.shift > 0.0, made.pipe_added, made.shift


def _words(
    tag: str, judged: Sequence[Judged], best: Judged | None, undecided: Judged | None
) -> tuple[str, ...]:
    if best is not None:
        worst = best.worst
        nearest = f"; nearest is {worst.name} at {worst.ratio:.2f} of its limit" if worst else ""
        return (f"{tag} can be designed out by {best.alternative.words}{nearest}.",)
    if undecided is not None:
        names = [check.name for check in undecided.open]
        more = f" and {len(names) - 3} more" if len(names) > 3 else ""
        return (
            f"No alternative to {tag} is shown to hold. {undecided.alternative.words[0].upper()}"
            f"{undecided.alternative.words[1:]} is against no check that was made, but not "
            f"evaluated: {'; '.join(names[:3])}{more}.",
        )
    lines = [
        f"None of {len(judged)} alternatives to {tag} meets every limit."
        if len(judged) > 1
        else f"The one alternative to {tag} that could be tried does not meet every limit."
    ]
    for one in (*judged[:1], *sorted(judged[1:], key=_severity)[:1]):
        if one.fault:
            lines.append(f"{one.alternative.words}: {one.fault}")
        elif one.worst is not None:
            lines.append(
                f"{one.alternative.words}: {one.worst.name} at {one.worst.ratio:.2f} of its limit."
            )
    return tuple(lines)


def _without_loops(
    line: Line, tag: str, judged: Sequence[Judged], largest: float, may_go: Container[str] | None
) -> tuple[str, ...]:
    """Why there is no loop among the alternatives, where one was asked for."""
    if largest <= 0.0 or any(one.alternative.elbows for one in judged):
        return ()
    return (
        no_loop(line, tag, may_go)
        or f"No loop fits: the straight run around {tag} or the legs allowed are too short for its "
        "elbows.",
    )


def _without_offsets(
    line: Line,
    tag: str,
    judged: Sequence[Judged],
    largest: float,
    directions: Sequence[Vector] | None,
) -> tuple[str, ...]:
    """Why the run is shifted in no alternative, where there is room for something."""
    if largest <= 0.0 or any(one.alternative.shift for one in judged):
        return ()
    ways = " or the directions asked for do not go along them" if directions is not None else ""
    return (
        no_offset(line, tag)
        or f"No offset leg fits: the legs beside the run of {tag} are too short for it{ways}.",
    )


def _severity(one: Judged) -> float:
    worst = one.worst
    return float("inf") if one.fault or worst is None or worst.ratio is None else worst.ratio
