"""What if: a joint locked or taken out, a support lost, seized or reset, another temperature.

Changes of supports and locks are changes of laws on rows that the factorised line already
knows, so that nothing is factorised again.  Another joint, or pipe in its place, is prepared
anew here, so that every result is of the line as it would be; as one of thousands of linear
variants it is a low-rank change (:mod:`takeup.line.variants`).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import get_args

import msgspec
import numpy as np

from takeup.errors import Contradiction, UnknownName
from takeup.line import contact
from takeup.line import rows as rowing
from takeup.line.alternatives import alternatives
from takeup.line.contact import Law
from takeup.line.model import (
    Anchor,
    BellowsSpring,
    ConstantSpring,
    Guide,
    Joint,
    Line,
    Rest,
    State,
    Support,
    VariableSpring,
)
from takeup.line.rows import Rows
from takeup.line.solve import Prepared, StateResult, prepare, solve
from takeup.line.telling import Tell, si_words
from takeup.line.variants import HELD, Laws
from takeup.line.what_if_told import Row, rows_of, words_of
from takeup.units import Array


class Lock(msgspec.Struct, frozen=True, kw_only=True):
    """A joint boxed in: it keeps the position it has in a state, from then on."""

    joint: str
    state: str


class TakeOut(msgspec.Struct, frozen=True, kw_only=True):
    """A joint taken out and pipe put in its place, cold and without force."""

    joint: str


class Lose(msgspec.Struct, frozen=True, kw_only=True):
    """A support that is gone: rod broken, coil broken, shoe fallen off."""

    support: str


class Seize(msgspec.Struct, frozen=True, kw_only=True):
    """A support that holds its station where it stands in a state, from then on."""

    support: str
    state: str


class Reset(msgspec.Struct, frozen=True, kw_only=True):
    """A variable spring with another load, rate or travel."""

    support: str
    load: float | None = None
    rate: float | None = None
    travel_up: float | None = None
    travel_down: float | None = None


class Reheat(msgspec.Struct, frozen=True, kw_only=True):
    """A state at another metal temperature [K]."""

    state: str
    temperature: float


class Free(msgspec.Struct, frozen=True, kw_only=True):
    """A support set free: travel stops out, seizure loosened, no friction on rest or guide."""

    support: str


class Bottom(msgspec.Struct, frozen=True, kw_only=True):
    """A spring that stands on its lower stop where it is in a state, from then on."""

    support: str
    state: str


class Swap(msgspec.Struct, frozen=True, kw_only=True):
    """Other bellows between the same ends of a joint, put in cold and without force."""

    joint: str
    bellows: tuple[BellowsSpring, ...]


Change = Lock | TakeOut | Swap | Lose | Free | Seize | Bottom | Reset | Reheat
LARGEST = 1e15
"""Of a rate or load that is asked for [N/m, N]; beyond it the arithmetic has no figures left."""
Sprung = VariableSpring | ConstantSpring
LOCKING = (
    "Boxing in takes flexibility away: growth that the joint took up loads pipe, anchors and "
    "nozzles instead.",
    "A joint locked hot must be freed before the line cools down, or the cold state shown here "
    "is what it meets.",
)


class WhatIf(msgspec.Struct, frozen=True, kw_only=True):
    """A line as it is and as it would be."""

    before: tuple[StateResult, ...]
    after: tuple[StateResult, ...]
    ready: Prepared
    """The changed line, which ``after`` is of"""
    rows: tuple[Row, ...]
    words: tuple[str, ...]
    cautions: tuple[str, ...]


def _known(line: Line, changes: Sequence[Change]) -> None:
    joints = {piece.tag for piece in line.pieces if isinstance(piece, Joint)}
    supports = {support.name: support for support in line.supports}
    states = {state.name for state in line.states}
    for change in changes:
        if isinstance(change, (Lock, TakeOut, Swap)) and change.joint not in joints:
            raise UnknownName("joint", change.joint, sorted(joints))
        if isinstance(change, Swap) and any(b.axial_rate > LARGEST for b in change.bellows):
            raise Contradiction(f"no bellows of {change.joint!r} is that stiff; correct its rate")
        if isinstance(change, (Lose, Free, Seize, Bottom, Reset)):
            if change.support not in supports:
                raise UnknownName("support", change.support, sorted(supports))
            one = supports[change.support]
            if isinstance(one, Anchor) and one.stiffness is None:
                raise Contradiction(
                    f"{change.support!r} is a rigid anchor: what is lost or reset must be able to "
                    "give; state the anchor with a stiffness"
                )
            if isinstance(change, Reset) and max(change.load or 0.0, change.rate or 0.0) > LARGEST:
                raise Contradiction(f"{change.support!r} cannot be that strong; correct its number")
            if isinstance(change, Reset) and not isinstance(one, VariableSpring):
                raise Contradiction(
                    f"{change.support!r} is not a variable spring: nothing to reset"
                )
            if isinstance(change, Bottom) and not isinstance(one, Sprung):
                raise Contradiction(f"{change.support!r} is not a spring: it has no lower stop")
            if isinstance(change, Free) and not isinstance(one, (*get_args(Sprung), Rest, Guide)):
                raise Contradiction(
                    f"{change.support!r} has neither travel stops nor friction to set free"
                )
        if isinstance(change, (Lock, Seize, Bottom, Reheat)) and change.state not in states:
            raise UnknownName("state", change.state, sorted(states))


WORDS: dict[type, str] = {
    Lock: "boxed in", TakeOut: "taken out", Swap: "given other bellows", Lose: "lost",
    Free: "set free", Seize: "seized", Bottom: "put on its lower stop", Reset: "set otherwise",
    Reheat: "given another temperature",
}  # fmt: skip
TOGETHER: tuple[frozenset[type], ...] = (
    frozenset({Lock, Swap}), frozenset({Reset}), frozenset({Reset, Seize}),
    frozenset({Reset, Bottom}), frozenset({Reset, Free}),
)  # fmt: skip
"""Changes of one thing that may be asked together."""


def _one_thing_once(changes: Sequence[Change]) -> None:
    asked: dict[tuple[str, str], list[type]] = {}
    for change in changes:
        if isinstance(change, (Lock, TakeOut, Swap)):
            key = ("joint", change.joint)
        elif isinstance(change, Reheat):
            key = ("state", change.state)
        else:
            key = ("support", change.support)
        asked.setdefault(key, []).append(type(change))
    for (what, name), kinds in asked.items():
        twice = len(kinds) > len(set(kinds)) and set(kinds) != {Reset}
        if twice or (len(kinds) > 1 and frozenset(kinds) not in TOGETHER):
            said = " and ".join(WORDS[kind] for kind in kinds)
            raise Contradiction(f"{what} {name!r} cannot be {said} at once; ask one at a time")


def changed_line(line: Line, changes: Sequence[Change]) -> Line:
    """The line with what is a change of the line itself: temperatures, springs, joints out."""
    _known(line, changes)
    _one_thing_once(changes)
    for change in changes:
        if isinstance(change, TakeOut):
            line = next(iter(alternatives(line, change.joint, largest=0.0))).line
        elif isinstance(change, Swap):
            pieces = tuple(
                msgspec.structs.replace(p, bellows=change.bellows)
                if isinstance(p, Joint) and p.tag == change.joint
                else p
                for p in line.pieces
            )
            line = msgspec.structs.replace(line, pieces=pieces)
        elif isinstance(change, Free):
            supports = tuple(_freed(s) if s.name == change.support else s for s in line.supports)
            line = msgspec.structs.replace(line, supports=supports)
        elif isinstance(change, Reheat):
            states = tuple(
                msgspec.structs.replace(s, temperature=change.temperature, temperatures={})
                if s.name == change.state
                else s
                for s in line.states
            )
            line = msgspec.structs.replace(line, states=states)
        elif isinstance(change, Reset):
            given = {
                name: value
                for name in ("load", "rate", "travel_up", "travel_down")
                if (value := getattr(change, name)) is not None
            }
            supports = tuple(
                msgspec.structs.replace(s, **given) if s.name == change.support else s
                for s in line.supports
            )
            line = msgspec.structs.replace(line, supports=supports)
    return line


def _freed(one: Support) -> Support:
    """Without travel stops or seizure; friction is taken off in the law, which keeps its rows."""
    if isinstance(one, VariableSpring):
        return msgspec.structs.replace(one, pinned=False)
    if isinstance(one, ConstantSpring):
        return msgspec.structs.replace(one, seized=False)
    return one


def changed_laws(
    ready: Prepared, changes: Sequence[Change], near: Sequence[StateResult] = ()
) -> Laws:
    """Laws of the changed supports and locks, on the rows of the changed line as they are.

    What is held from a state on is held where the line stands in that state with every other
    change made, so states are solved in their order.  ``near`` as for
    :func:`takeup.line.solve.solve`.
    """
    order = [state.name for state in ready.line.states]
    lost = {change.support for change in changes if isinstance(change, Lose)}
    smooth = {change.support for change in changes if isinstance(change, Free)}
    held: dict[str, tuple[int, Law]] = {}

    def laws(line: Line, found: Rows, state: State) -> tuple[Law, ...]:
        made = []
        for law in rowing.laws(line, found, state):
            one = law
            if law.name in held and order.index(state.name) > held[law.name][0]:
                one = msgspec.structs.replace(held[law.name][1], memory=law.memory)
            elif law.name in lost:
                one = contact.nothing(law.name, len(law.rows), law.memory)
            elif law.name in smooth and law.memory and len(law.rows) > law.memory:
                one = contact.smooth(law)
            one.rows = law.rows
            made.append(one)
        return tuple(made)

    later = [change for change in changes if isinstance(change, (Lock, Seize, Bottom))]
    supports = {support.name: support for support in ready.line.supports}
    for name in sorted({change.state for change in later}, key=order.index):
        near = solve(ready, laws, states=order[: order.index(name) + 1], near=near)
        at = near[-1]
        new: dict[str, tuple[int, Law]] = {}
        for change in later:
            if change.state != name:
                continue
            who = change.joint if isinstance(change, Lock) else change.support
            rows = np.array(ready.rows.place(who).rows, dtype=np.intp)
            place = at.row_movement[rows]
            if isinstance(change, Bottom):
                law = _bottomed(supports[who], float(place[0]))
            else:
                force = at.rows[rows] if isinstance(change, Seize) else np.zeros(len(rows))
                law = contact.held(who, HELD, place, force)
            new[who] = (order.index(name), law)
        held.update(new)
    return laws


def lasting_laws(ready: Prepared, changes: Sequence[Change]) -> Laws:
    """Laws that carry weight and pressure alone on the changed line, for sustained stress.

    What is lost carries nothing.  A lock is rigid in the states after the one it is made in, as
    if made without load, since pressure and contents come back through it; the place it was
    made in is a displacement and left out.  What seizes or stands on its stop goes on carrying
    the weight it carried: its law is that of the line.
    """
    order = [state.name for state in ready.line.states]
    lost = {change.support for change in changes if isinstance(change, Lose)}
    locked = {c.joint: order.index(c.state) for c in changes if isinstance(c, Lock)}

    def laws(line: Line, found: Rows, state: State) -> tuple[Law, ...]:
        made = []
        for law in rowing.laws(line, found, state):
            one, count = law, len(law.rows)
            if law.name in lost:
                one = contact.nothing(law.name, count, law.memory)
            elif law.name in locked and order.index(state.name) > locked[law.name]:
                one = contact.held(law.name, HELD, np.zeros(count), np.zeros(count))
                one.memory = law.memory
            one.rows = law.rows
            made.append(one)
        return tuple(made)

    return laws


def _bottomed(one: Support, place: float) -> Law:
    """A spring whose lower stop is where it stands."""
    if isinstance(one, VariableSpring):
        return contact.variable(
            one.name, rate=one.rate, load=one.load, up=max(one.travel_up, place), down=-place,
            rod=one.rod,
        )  # fmt: skip
    assert isinstance(one, ConstantSpring)
    return contact.constant(
        one.name, load=one.load, tolerance=one.tolerance, up=max(one.travel_up, place),
        down=-place,
    )  # fmt: skip


def what_if(
    ready: Prepared,
    changes: Sequence[Change],
    *,
    before: Sequence[StateResult] = (),
    tell: Tell = si_words,
) -> WhatIf:
    """Solve as it is and as changed, and say what that does.

    A lock, a seizure or a bottomed spring acts on the states that come after the one it
    happens in: give the line the cool-down and heat-up that follow as states of their own
    (:func:`with_next_cycle`).  ``before`` are the states of ``ready`` where they are solved
    already; the changed line is solved from where they stand.  ``tell`` says forces and
    stresses in the reader's units.  Only a joint taken out or swapped is factorised again.
    Raises as :func:`takeup.line.solve.solve`, :class:`takeup.errors.UnknownName` for what is
    not on the line and :class:`takeup.errors.Contradiction` for a change that cannot be made.
    """
    _known(ready.line, changes)
    before = tuple(before or solve(ready))
    line = changed_line(ready.line, changes)
    if any(isinstance(change, (TakeOut, Swap)) for change in changes):
        changed = prepare(line, moduli=ready.moduli, shear=ready.shear, stiffening=ready.stiffening)
    else:
        changed = msgspec.structs.replace(ready, line=line)
    near = _carried(ready, changed, before)
    after = solve(changed, changed_laws(changed, changes, near), near=near)
    rows = rows_of(ready, changed, before, after)
    return WhatIf(
        before=before,
        after=after,
        ready=changed,
        rows=rows,
        words=words_of(ready, changed, before, after, rows, tell),
        cautions=_cautions(changed.line, changes),
    )


def _carried(
    ready: Prepared, changed: Prepared, before: Sequence[StateResult]
) -> tuple[StateResult, ...]:
    """The solved states in the rows of the changed line; what was not there has not moved."""
    old = {place.name: place.rows for place in ready.rows.places}
    pairs = [
        (new, was)
        for place in changed.rows.places
        for new, was in zip(place.rows, old.get(place.name, ()), strict=False)
    ]
    into, out = np.array(pairs, dtype=np.intp).reshape(-1, 2).T

    def moved(u: Array) -> Array:
        there = np.zeros(len(changed.reference))
        there[into] = u[out]
        return there

    return tuple(
        msgspec.structs.replace(one, way=tuple((share, moved(u)) for share, u in one.way))
        for one in before
    )


def _cautions(line: Line, changes: Sequence[Change]) -> tuple[str, ...]:
    found = list(LOCKING) if any(isinstance(change, Lock) for change in changes) else []
    order = [state.name for state in line.states]
    for change in changes:
        if isinstance(change, Lock):
            at = order.index(change.state)
            colder = [
                state.name
                for state in line.states[at + 1 :]
                if state.temperature < line.states[at].temperature - 1.0
            ]
            if colder:
                found.append(
                    f"{change.joint} is locked in {change.state!r} and {colder[0]!r} is colder: "
                    "the lock must come off before the line cools down. Name who takes it off "
                    "and when, and hold the cool-down until it is off."
                )
            elif at == len(order) - 1:
                found.append(
                    f"No state follows {change.state!r}, in which {change.joint} is locked: what "
                    "the next cool-down does is not shown here."
                )
        elif isinstance(change, (TakeOut, Swap)):
            found.append(
                f"{change.joint}: what is put in is taken to be put in cold, at the drawn length "
                "and without force."
            )
    return tuple(found)


def with_next_cycle(line: Line, cold: str, hot: str) -> Line:
    """The line with the next cool-down and heat-up after its last state."""
    states = {state.name: state for state in line.states}
    for name in (cold, hot):
        if name not in states:
            raise UnknownName("state", name, tuple(states))
    again = (
        msgspec.structs.replace(states[cold], name=f"{cold} after", after=""),
        msgspec.structs.replace(states[hot], name=f"{hot} again", after=""),
    )
    # what an anchor or nozzle moves by in a state, it moves by when the state comes again
    names = {cold: f"{cold} after", hot: f"{hot} again"}
    supports = tuple(
        msgspec.structs.replace(
            one,
            growth=one.growth
            | {names[state]: moved for state, moved in one.growth.items() if state in names},
        )
        if isinstance(one, Anchor)
        else one
        for one in line.supports
    )
    return msgspec.structs.replace(line, states=(*line.states, *again), supports=supports)
