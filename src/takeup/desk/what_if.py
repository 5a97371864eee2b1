"""What if something changes on a line: asked of its model as kept, told before and after."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import msgspec

from takeup.checks import Check, Outcome
from takeup.desk import lines
from takeup.errors import Contradiction, Refused, UnknownName
from takeup.line import what_if as engine
from takeup.line.model import (
    Anchor,
    Bend,
    ConstantSpring,
    Guide,
    Joint,
    Line,
    Rest,
    Straight,
    Support,
    VariableSpring,
)
from takeup.line.telling import Tell, si_words
from takeup.line.what_if_told import Row

if TYPE_CHECKING:
    from takeup.bellows.model import BellowsCase
    from takeup.desk.site import Site
    from takeup.line.solve import Prepared

SAME = 0.005
"""Share of the greater value up to which a number counts as unchanged."""


class Pair(msgspec.Struct, frozen=True, kw_only=True):
    """One check before and after; ``None`` where it is not made."""

    before: Check | None
    after: Check | None

    @property
    def either(self) -> Check:
        """The check as it is after, or before where there is none after."""
        found = self.after or self.before
        assert found is not None
        return found

    @property
    def worse(self) -> bool:
        """Whether it is not met after and was met before."""
        return (
            self.after is not None
            and self.after.outcome == Outcome.NOT_MET
            and (self.before is None or self.before.outcome != Outcome.NOT_MET)
        )


class Asked(msgspec.Struct, frozen=True, kw_only=True):
    """A question to a line, and what comes of it."""

    before: Line
    after: Line
    """As drawn: joints boxed in are locked, what is gone is still named"""
    gone: tuple[str, ...]
    """Supports that are lost"""
    told: tuple[str, ...]
    """The changes in words"""
    found: engine.WhatIf
    checks: tuple[Pair, ...]
    """Nearest to their limit after the change first"""
    between: tuple[str, str] | None
    """States of the range stresses"""
    notes: tuple[str, ...]

    @property
    def changed(self) -> tuple[Row, ...]:
        """Numbers that change by more than half a per cent."""
        return tuple(row for row in self.found.rows if not _same(row))

    @property
    def unchanged(self) -> tuple[Row, ...]:
        """The others."""
        return tuple(row for row in self.found.rows if _same(row))


def _same(row: Row) -> bool:
    return abs(row.change) <= SAME * max(abs(row.before), abs(row.after), 1e-9)


def may(one: Support) -> tuple[str, ...]:
    """What can happen to a support: of lose, seize, free, bottom, reset."""
    if isinstance(one, Anchor) and one.stiffness is None:
        return ()
    found = ["lose", "seize"]
    if isinstance(one, (VariableSpring, ConstantSpring, Rest, Guide)):
        found.append("free")
    if isinstance(one, (VariableSpring, ConstantSpring)):
        found.append("bottom")
    if isinstance(one, VariableSpring):
        found.append("reset")
    return tuple(found)


def other_rate(line: Line, tag: str, rate: float) -> engine.Swap:
    """The joint with bellows of another axial rate each [N/m], hot and cold; the rest follows.

    Raises :class:`takeup.errors.UnknownName` for a joint that is not on the line.
    """
    joints = {piece.tag: piece for piece in line.pieces if isinstance(piece, Joint)}
    if tag not in joints:
        raise UnknownName("joint", tag, tuple(joints))
    bellows = tuple(
        msgspec.structs.replace(
            one,
            axial_rate=rate,
            axial_rate_cold=None
            if one.axial_rate_cold is None
            else rate * one.axial_rate_cold / one.axial_rate,
        )
        for one in joints[tag].bellows
    )
    return engine.Swap(joint=tag, bellows=bellows)


class Offer(msgspec.Struct, frozen=True, kw_only=True):
    """Bellows that a search for a replacement found."""

    id: str
    """Key of the search and number of the bellows"""
    words: str
    case: BellowsCase


def offers(site: Site, most: int = 5) -> tuple[Offer, ...]:
    """Bellows of the newest searches, to ask of a line in place of what is in it."""
    from takeup.desk.calculate import SIZING, Sized
    from takeup.desk.results import unpack

    newest = sorted(site.store.results(SIZING), key=lambda one: one.time, reverse=True)[:most]
    found = []
    for stored in newest:
        kept = unpack(stored.body, Sized)
        if kept is None:
            continue
        name = kept.result.task.name or f"search of {stored.time:%Y-%m-%d %H:%M}"
        found += [
            Offer(
                id=f"{stored.key}/{one.candidate.number}",
                words=f"{name}, no. {one.candidate.number}: {one.case.convolutions} convolutions, "
                f"{one.case.plies} plies, {one.case.material}",
                case=one.case,
            )
            for one in kept.result.choices
        ]
    return tuple(found)


def sized(line: Line, tag: str, offer: Offer) -> engine.Swap:
    """The joint with the bellows of a search, each of its bellows the same.

    Raises :class:`takeup.errors.Contradiction` where they are longer than the joint has room for.
    """
    import math

    from takeup.desk.line_joints import spring_of

    joint = next(p for p in line.pieces if isinstance(p, Joint) and p.tag == tag)
    spring = spring_of(offer.case)
    places = {station.name: station.position for station in line.stations}
    room = math.dist(places[joint.start], places[joint.end])
    if len(joint.bellows) * spring.length > room:
        raise Contradiction(
            f"{offer.words}: {len(joint.bellows)} of these bellows are longer than {tag} is"
        )
    return engine.Swap(joint=tag, bellows=(spring,) * len(joint.bellows))


def model_of(site: Site, tag: str) -> Line:
    """The line as its kept model states it.

    Raises :class:`takeup.errors.UnknownName` where there is no model and
    :class:`takeup.errors.Refused` where it cannot be worked out.
    """
    ready = _solved(site, tag).ready
    assert ready is not None
    return ready.line


def _solved(site: Site, tag: str) -> lines.Solved:
    solved = lines.solved(site, tag)
    if solved.ready is None:
        raise Refused(
            f"the model of line {tag} cannot be worked out, so nothing can be asked of it: "
            f"{'; '.join(solved.faults[:3])}. Mend the text first"
        )
    return solved


def ask(
    site: Site,
    tag: str,
    changes: Sequence[engine.Change],
    *,
    next_cycle: bool = False,
    tell: Tell = si_words,
) -> Asked:
    """What ``changes`` do to line ``tag`` together.

    ``next_cycle`` adds the cool-down and heat-up after the last state.  ``tell`` says forces
    and stresses in the reader's units.  Raises as :func:`model_of` and
    :func:`takeup.line.what_if.what_if`.
    """
    from takeup.line.solve import prepare

    solved = _solved(site, tag)
    ready, before = solved.ready, solved.results
    assert ready is not None
    if not changes:
        raise Contradiction("nothing changes: say what happens to a joint, a support or a state")
    cold, hot = roles(ready.line)
    if next_cycle:
        if not cold or not hot:
            raise Contradiction("the next cycle needs a state of role cold and one of role hot")
        before = ()
        ready = prepare(engine.with_next_cycle(ready.line, cold, hot))
        names = [state.name for state in ready.line.states]
        cold, hot = names[-2], names[-1]
    found = engine.what_if(ready, changes, before=before, tell=tell)
    checks, notes = checked(ready, found, changes, cold, hot)
    locked = {change.joint for change in changes if isinstance(change, engine.Lock)}
    after = found.ready.line
    pieces = tuple(
        msgspec.structs.replace(piece, locked=True)
        if isinstance(piece, Joint) and piece.tag in locked
        else piece
        for piece in after.pieces
    )
    return Asked(
        before=ready.line,
        after=msgspec.structs.replace(after, pieces=pieces),
        gone=tuple(c.support for c in changes if isinstance(c, engine.Lose)),
        told=tuple(words(change) for change in changes),
        found=found,
        checks=checks,
        between=(cold, hot) if cold and hot else None,
        notes=notes,
    )


def roles(line: Line) -> tuple[str, str]:
    """The first state of role cold and the last of role hot; empty where there is none."""
    cold = next((s.name for s in line.states if s.role == "cold"), "")
    return cold, next((s.name for s in reversed(line.states) if s.role == "hot"), "")


def checked(
    ready: Prepared,
    found: engine.WhatIf,
    changes: Sequence[engine.Change],
    cold: str,
    hot: str,
) -> tuple[tuple[Pair, ...], tuple[str, ...]]:
    """Checks before and after between two states, matched by what they are of, and notes to them."""
    from takeup.line.results import judge

    if not cold or not hot:
        return (), ("No code check was made: give one state the role cold and one hot.",)
    before = {c.id: c for c in judge(ready, found.before, cold=cold, hot=hot).checks}
    laws = engine.lasting_laws(found.ready, changes)
    changed = judge(found.ready, found.after, cold=cold, hot=hot, laws=laws)
    after = {c.id: c for c in changed.checks}
    notes = []
    order = [state.name for state in found.ready.line.states]
    if any(isinstance(c, (engine.Seize, engine.Bottom)) for c in changes):
        notes.append(
            "Sustained stress: what seizes or stands on its stop is taken to go on carrying the "
            "weight it carried."
        )
    late = [c.joint for c in changes
            if isinstance(c, engine.Lock) and order.index(c.state) >= order.index(hot)]  # fmt: skip
    if any(isinstance(c, engine.Lock) and c.joint not in late for c in changes):
        notes.append(
            "Sustained stress: a joint boxed in carries weight and pressure as if it were rigid "
            "from the start."
        )
    if late:
        notes.append(
            f"Sustained stress is of state {hot}, before the lock on {', '.join(late)} acts: ask "
            "for the next cycle to see it locked."
        )
    pairs = [
        Pair(before=before.get(id), after=after.get(id)) for id in dict.fromkeys([*after, *before])
    ]
    pairs.sort(key=lambda pair: -(pair.either.ratio or 0.0))
    return tuple(pairs), tuple(notes)


def words(change: engine.Change) -> str:
    """A change in words, without numbers that have a unit."""
    match change:
        case engine.Lock():
            return f"{change.joint} boxed in as it stands in state {change.state}"
        case engine.TakeOut():
            return f"pipe in place of {change.joint}"
        case engine.Swap():
            return f"{change.joint} with other bellows"
        case engine.Lose():
            return f"{change.support} gone"
        case engine.Seize():
            return f"{change.support} seized from state {change.state} on"
        case engine.Free():
            return f"{change.support} set free: stops out, no friction"
        case engine.Bottom():
            return f"{change.support} on its lower stop from state {change.state} on"
        case engine.Reset():
            return f"{change.support} set otherwise"
        case engine.Reheat():
            return f"state {change.state} at another temperature"


def stiffness_of(line: Line, tag: str) -> float:
    """Axial rate of the first bellows of a joint as modelled [N/m]."""
    return next(
        piece.bellows[0].axial_rate
        for piece in line.pieces
        if isinstance(piece, Joint) and piece.tag == tag
    )


def has_pipe_beside(line: Line, joint: Joint) -> bool:
    """Whether pipe ends at the joint, so that pipe could take its place."""
    ends = {joint.start, joint.end}
    return bool(joint.spool_pipe) or any(
        isinstance(piece, (Straight, Bend)) and {piece.start, piece.end} & ends
        for piece in line.pieces
    )
