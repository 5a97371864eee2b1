"""What every reading would show under a fault, solved in full at every temperature and friction.

The sound line is brought to rest at each point of a grid of temperature rises and frictions, on
one factorisation; faults are then followed from there, many at once (:mod:`.follow`), through
the same states and steps of load.  :func:`exact` solves one line with its faults by the solver
of the line instead, law by law: an independent check, and any temperature and friction.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np

from takeup.errors import Contradiction, OutOfRange
from takeup.line import contact
from takeup.line import rows as rowing
from takeup.line.contact import Law
from takeup.line.diagnosis import arrays
from takeup.line.diagnosis.arrays import Figures, Form, Laws
from takeup.line.diagnosis.faults import TEMPERATURE, Fault, act
from takeup.line.diagnosis.readings import Functionals, Reading, functionals
from takeup.line.diagnosis.together import Ground, Rest, come_to_rest
from takeup.line.frame import ROOM
from takeup.line.model import Anchor, Guide, Joint, Line, State
from takeup.line.model import Rest as RestSupport
from takeup.line.rows import Rows
from takeup.line.solve import (
    FIRST_STEP,
    Loads,
    Moduli,
    Prepared,
    StateResult,
    Unsolved,
    free_movement,
    loads,
    prepare,
    rest_at,
    solve,
)
from takeup.units import Array

RISES = (1.0, 0.93, 1.07, 0.65, 0.79, 1.21, 1.35)
"""Temperature rise over the recorded one; the first is as recorded, two stand beside it."""
FRICTIONS = (1.0, 0.05, 1.55)
"""Friction over the nominal one; the first is nominal."""
FRICTIONLESS = 1e-7
"""Friction of a place that has rows for it but does not rub."""
ANCHOR = (contact.CLOSED,) * 3 + (0.1 * contact.CLOSED,) * 3


class Stood(msgspec.Struct, frozen=True, kw_only=True):
    """How the sound line stood at each point of the grid (g, m + 1)."""

    cold: Array
    cold_force: Array
    hot_force: Array


class Step(msgspec.Struct, frozen=True, kw_only=True):
    """One step of load of the sound line, at every point of the grid."""

    ground: Ground
    hot: bool
    memory: Array
    """Of the sound line (g, m + 1)"""


class Point(msgspec.Struct, frozen=True, kw_only=True):
    """The sound line at one rise and friction."""

    rise: float
    friction: float
    values: Array
    """Readings (k,), records not taken off"""


class Model(msgspec.Struct, frozen=True, kw_only=True):
    """A line ready for diagnosis."""

    line: Line
    """With its two states, every guide and rest able to rub, every anchor able to give"""
    ready: Prepared
    readings: tuple[Reading, ...]
    forms: Functionals
    form: Form
    points: tuple[tuple[float, float], ...]
    """Rise and friction of each point of the grid, as recorded and nominal first"""
    steps: tuple[Step, ...]
    """From cold to hot"""
    stood: Stood
    each: tuple[tuple[tuple[Law, ...], ...], ...]
    """Laws of the sound line, cold and hot, at each point"""
    laws: tuple[Laws, Laws]
    """The same as arrays"""
    known: dict[tuple[Fault, bool, int], Figures]
    """Laws of faults, worked out when first asked for"""
    values: Array
    """Readings of the sound line (g, k), records not taken off"""
    shown: tuple[Array, Array]
    """Readings by unit push on the rows, cold and hot (g, k, m + 1)"""
    dropped: tuple[str, ...]
    """Points of the grid that could not be solved"""
    arms: dict[str, Array]
    """From start to end of each joint"""
    pieces: dict[str, Any]

    @property
    def sound(self) -> tuple[Point, ...]:
        """The sound line at every point of the grid, as recorded and nominal first."""
        return tuple(
            Point(rise=rise, friction=friction, values=values)
            for (rise, friction), values in zip(self.points, self.values, strict=True)
        )

    @property
    def record(self) -> Array:
        """The sound line's own readings, for positions against record (k,)."""
        return np.asarray(self.values[0] * self.forms.record)


def _two(line: Line, cold: str, hot: str) -> tuple[State, State]:
    states = {state.name: state for state in line.states}
    by_role = {state.role: state.name for state in reversed(line.states) if state.role}
    cold = cold or by_role.get("cold", "")
    hot = hot or by_role.get("hot", "")
    if cold not in states or hot not in states or cold == hot:
        raise Contradiction(
            f"line {line.tag}: diagnosis needs the name of a cold and of a hot state out of "
            f"{', '.join(states)}"
        )
    first = msgspec.structs.replace(states[cold], after="")
    return first, msgspec.structs.replace(states[hot], after="")


def _able(line: Line, cold: str, hot: str) -> Line:
    """The line with rows wherever a fault may act."""
    supports: list[Any] = []
    for one in line.supports:
        if isinstance(one, (RestSupport, Guide)) and one.friction <= 0.0:
            supports.append(msgspec.structs.replace(one, friction=FRICTIONLESS))
        elif isinstance(one, Anchor) and one.stiffness is None:
            supports.append(msgspec.structs.replace(one, stiffness=ANCHOR))
        else:
            supports.append(one)
    return msgspec.structs.replace(line, supports=tuple(supports), states=_two(line, cold, hot))


def varied(ready: Prepared, rise: float, friction: float) -> Prepared:
    """The same line at another temperature rise and friction; nothing is factorised again."""
    line = ready.line

    def at(temperature: float) -> float:
        return ROOM + rise * (temperature - ROOM)

    states = tuple(
        msgspec.structs.replace(
            state,
            temperature=at(state.temperature),
            temperatures={name: at(t) for name, t in state.temperatures.items()},
        )
        for state in line.states
    )
    supports = tuple(
        msgspec.structs.replace(one, friction=max(friction * one.friction, FRICTIONLESS))
        if isinstance(one, (RestSupport, Guide))
        else one
        for one in line.supports
    )
    changed = msgspec.structs.replace(line, states=states, supports=supports)
    return msgspec.structs.replace(ready, line=changed)


def model(
    line: Line,
    readings: Sequence[Reading],
    *,
    cold: str = "",
    hot: str = "",
    moduli: dict[str, float] | None = None,
) -> Model:
    """Bring the sound line to rest at every point of the grid.

    ``cold`` and ``hot`` name the two states; without them their roles say.  Raises what
    :func:`takeup.line.solve.prepare` and :func:`takeup.line.solve.solve` raise for the line as
    recorded; other points of the grid that cannot be solved are dropped and named.
    """
    able = _able(line, cold, hot)
    ready = prepare(able, Moduli.COLD, moduli=moduli)
    asked = tuple(readings)
    forms = functionals(ready, asked)
    made = arrays.form(
        ready.rows.places,
        rowing.laws(able, ready.rows, able.states[1]),
        ready.rows.matrix.shape[0],
    )
    acting: dict[float, tuple[Loads, Loads]] = {}
    dropped: list[str] = []
    for rise in RISES:
        at_rise = varied(ready, rise, 1.0)
        try:
            first, second = (loads(at_rise, state) for state in at_rise.line.states)
        except OutOfRange as fault:
            if not acting:
                raise
            dropped.append(f"rise times {rise:g}: {fault}")
            continue
        acting[rise] = (first, second)
    points = tuple((rise, friction) for rise in acting for friction in FRICTIONS)
    each = _each(ready, points)
    both = (_arrays(made, each[0]), _arrays(made, each[1]))
    steps, rests = _sound_steps(ready, made, points, acting, both)
    good = np.all([rest.good for rest in rests], axis=0)
    if not good[0]:
        solve(ready, sound_laws)  # says what does not come to rest
        raise Unsolved(
            f"line {line.tag} as recorded comes to rest in the solver of the line but not "
            "together with its faults; nothing is said about it"
        )
    for at in np.flatnonzero(~good):
        rise, friction = points[at]
        dropped.append(f"rise times {rise:g}, friction times {friction:g}: not at rest")
    kept = np.flatnonzero(good)
    last = [max(at for at, step in enumerate(steps) if step.hot == hot) for hot in (False, True)]
    values, shown = _readings(ready, made, forms, points, acting, steps, rests, last)
    arms = {}
    for piece in line.pieces:
        if isinstance(piece, Joint):
            nodes = ready.frame.nodes
            arm = nodes[ready.frame.node(piece.end)] - nodes[ready.frame.node(piece.start)]
            arms[piece.tag] = arm
    return Model(
        line=able, ready=ready, readings=asked, forms=forms, form=made,
        points=tuple(points[at] for at in kept),
        each=tuple(tuple(one[at] for at in kept) for one in each),
        laws=(both[0].take(kept), both[1].take(kept)), known={},
        steps=tuple(
            Step(ground=_taken(step.ground, kept), hot=step.hot, memory=step.memory[kept]) for step in steps
        ),
        stood=Stood(
            cold=rests[last[0]].movement[kept], cold_force=rests[last[0]].force[kept],
            hot_force=rests[last[1]].force[kept],
        ),
        values=values[kept], shown=(shown[0][kept], shown[1][kept]), dropped=tuple(dropped),
        arms=arms,
        pieces={one.name: one for one in able.supports}
        | {piece.tag: piece for piece in able.pieces if isinstance(piece, Joint)},
    )  # fmt: skip


def _taken(ground: Ground, which: Any) -> Ground:
    return Ground(**{name: getattr(ground, name)[which] for name in ground.__struct_fields__})


def shares(rubs: bool) -> tuple[float, ...]:
    """Shares of the way from cold to hot at which the line is solved: those of ``solve``."""
    found, step = [0.0], FIRST_STEP if rubs else 1.0
    while found[-1] < 1.0:
        found.append(min(1.0, found[-1] + step))
        step *= 1.5
    return tuple(found[1:])


def _each(
    ready: Prepared, points: Sequence[tuple[float, float]]
) -> tuple[tuple[tuple[Law, ...], ...], ...]:
    """Sound laws, cold and hot, at every point of the grid."""
    found: tuple[list[tuple[Law, ...]], list[tuple[Law, ...]]] = ([], [])
    for rise, friction in points:
        line = varied(ready, rise, friction).line
        for into, state in zip(found, line.states, strict=True):
            into.append(sound_laws(line, ready.rows, state))
    return tuple(found[0]), tuple(found[1])


def _arrays(made: Form, each: Sequence[Sequence[Law]]) -> Laws:
    found = arrays.blank(made, len(each))
    for at, laws in enumerate(each):
        for number, law in enumerate(laws):
            arrays.put(found, made, number, slice(at, at + 1), arrays.figures(law))
    return found


def _sound_steps(
    ready: Prepared,
    made: Form,
    points: Sequence[tuple[float, float]],
    acting: dict[float, tuple[Loads, Loads]],
    both: tuple[Laws, Laws],
) -> tuple[list[Step], list[Rest]]:
    count, size = len(points), made.count + 1
    reference = np.append(ready.reference, 0.0)
    give = np.zeros((size, size))
    give[:-1, :-1] = ready.flexibility
    free = np.zeros((2, count, size))
    for at, (rise, _) in enumerate(points):
        for hot, one in enumerate(acting[rise]):
            free[hot, at, :-1] = free_movement(ready, one.force, one.moved)
    rubs = any(one.memory for one in sound_laws(ready.line, ready.rows, ready.line.states[1]))
    path = [(False, free[0])]
    path += [(True, free[0] + share * (free[1] - free[0])) for share in shares(rubs)]
    memory, push = np.zeros((count, size)), np.zeros((count, size))
    blank = np.zeros((count, size))
    steps, rests = [], []
    for order, (hot, free_here) in enumerate(path):
        laws = both[int(hot)]
        alone = Ground(
            movement=free_here,
            force=-reference * free_here,
            slope=np.repeat((-reference * made.single)[None], count, axis=0),
            blocks=np.repeat(
                (-reference[made.coupled][..., None] * np.eye(3))[None], count, axis=0
            ),
            linked=np.zeros_like(laws.linked),
            give=np.repeat(give[None], count, axis=0),
        )
        if order == 0:
            push = arrays.answer(made, laws, blank, memory).force
        rest = come_to_rest(
            made, alone, np.arange(count), laws, memory, push, np.ones(count, dtype=bool)
        )
        push = rest.force + reference * rest.movement
        memory = rest.memory
        ground = _ground(made, laws, rest, ready.flexibility, reference)
        steps.append(Step(ground=ground, hot=hot, memory=rest.memory))
        rests.append(rest)
    return steps, rests


def _ground(made: Form, laws: Laws, rest: Rest, flexibility: Array, reference: Array) -> Ground:
    """The tangent where the sound line stands; what stands at its limit counts as sliding."""
    back = rest.movement - (1.0 + 1e-6) * (rest.movement - rest.memory)
    said = arrays.answer(made, laws, rest.movement, back)
    count, size = rest.movement.shape
    stand = Ground(
        movement=rest.movement, force=rest.force, slope=said.slope, blocks=said.blocks,
        linked=laws.linked, give=np.zeros((count, size, size)),
    )  # fmt: skip
    stood = tangent(made, stand)[:, :-1, :-1] + np.diag(reference[:-1])
    stand.give[:, :-1, :-1] = np.linalg.solve(
        np.eye(size - 1) - flexibility @ stood,
        np.broadcast_to(flexibility, stood.shape),
    )
    return stand


def tangent(made: Form, ground: Ground) -> Array:
    """Slope of all forces by all movements where the line stands (g, m + 1, m + 1)."""
    count, size = ground.movement.shape
    slope = np.zeros((count, size, size))
    index = np.arange(size)
    slope[:, index, index] = ground.slope
    for place, rows in enumerate(made.coupled):
        slope[:, rows[:, None], rows[None, :]] += ground.blocks[:, place]
    for number, rows in enumerate(made.linked):
        slope[:, rows[:, None], rows[None, :]] -= ground.linked[:, number]
    return slope


def _readings(
    ready: Prepared,
    made: Form,
    forms: Functionals,
    points: Sequence[tuple[float, float]],
    acting: dict[float, tuple[Loads, Loads]],
    steps: Sequence[Step],
    rests: Sequence[Rest],
    last: Sequence[int],
) -> tuple[Array, tuple[Array, Array]]:
    """Readings of the sound line (g, k) and by unit push on the rows, cold and hot (g, k, m + 1)."""
    reference, none = ready.reference, np.zeros(len(ready.reference))
    moving = forms.motion[:, ready.free] @ ready.seen
    count, size = len(points), len(reference)
    values = np.repeat(forms.constant[None], count, axis=0)
    shown = []
    for hot, part in enumerate((forms.cold, forms.hot)):
        rest, ground = rests[last[hot]], steps[last[hot]].ground
        free = {}
        for rise, both in acting.items():
            free[rise] = forms.motion @ rest_at(ready, both[hot], none, none, both[hot].moved)
        alone = np.array([free[rise] for rise, _ in points])
        force, moved = rest.force[:, :-1], rest.movement[:, :-1]
        read = alone + (force + reference * moved) @ moving.T + force @ forms.force.T
        values += part * read
        give, inner = ground.give[:, :-1, :-1], tangent(made, ground)[:, :-1, :-1]
        eye = np.eye(size)
        by = np.zeros((count, len(forms.constant), size + 1))
        by[:, :, :-1] = moving @ ((inner + np.diag(reference)) @ give + eye)
        by[:, :, :-1] += forms.force @ (inner @ give + eye)
        shown.append(part[:, None] * by)
    return values, (shown[0], shown[1])


# --- one line, by the solver of lines ----------------------------------------------------------


class Sound(msgspec.Struct, frozen=True, kw_only=True):
    """The sound line at one rise and friction, by the solver of lines."""

    ready: Prepared
    cold: StateResult
    hot: StateResult
    values: Array
    """Readings (k,), records not taken off"""


def sound_laws(line: Line, found: Rows, state: State) -> tuple[Law, ...]:
    """Laws of the sound line; what does not rub has none of friction's rows at work.

    A friction of next to nothing would stick and slip within a hair and never settle.
    """
    still = {
        one.name
        for one in line.supports
        if isinstance(one, (RestSupport, Guide)) and one.friction <= FRICTIONLESS
    }
    return tuple(
        contact.smooth(law) if place.what == "support" and place.name in still else law
        for place, law in zip(found.places, rowing.laws(line, found, state), strict=True)
    )


def sound_at(made: Model, rise: float = 1.0, friction: float = 1.0) -> Sound:
    """The sound line at any temperature rise and friction, both over those on record."""
    ready = varied(made.ready, rise, friction)
    cold, hot = solve(ready, sound_laws)
    return Sound(ready=ready, cold=cold, hot=hot, values=read(made.forms, cold, hot))


def read(forms: Functionals, cold: StateResult, hot: StateResult) -> Array:
    """Readings of two solved states, records not taken off (k,)."""
    one = forms.motion @ cold.motion.ravel() + forms.force @ cold.rows
    two = forms.motion @ hot.motion.ravel() + forms.force @ hot.rows
    return np.asarray(forms.constant + forms.hot * two + forms.cold * one)


def exact(made: Model, faults: Sequence[Fault], sound: Sound | None = None) -> Array:
    """Readings with ``faults`` by solving the whole line again (k,), records taken off.

    At recorded temperature and nominal friction unless ``sound`` says another point.  Raises
    :class:`takeup.line.solve.Unsolved` where the line with the faults does not come to rest.
    """
    base = sound_at(made) if sound is None else sound
    acting = [fault for fault in faults if fault.place != TEMPERATURE]
    hot_name = base.ready.line.states[1].name

    def laws(line: Line, rows: Rows, state: State) -> tuple[Law, ...]:
        found = list(sound_laws(line, rows, state))
        for fault in acting:
            index = made.form.place_of[fault.place]
            at = list(rows.places[index].rows)
            found[index] = act(
                fault, made.pieces[fault.place], found[index], base.cold.row_movement[at],
                base.cold.rows[at], base.hot.rows[at], state.name == hot_name,
                made.arms.get(fault.place, np.zeros(3)),
            )  # fmt: skip
        return tuple(found)

    cold, hot = solve(base.ready, laws)
    return read(made.forms, cold, hot) - made.record
