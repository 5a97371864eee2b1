"""What every reading would show under a fault: first order at every nuisance, exact where wanted.

The sound line is solved once for each combination of temperature rise and friction.  Its tangent
(every contact as it stands, sliding ones sliding) turns a fault into a system of the one to
twelve rows of its own place, where the fault's own law is followed exactly.  :func:`exact` solves
the whole line again with the fault, on the same factorisation.
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
from takeup.line.diagnosis.faults import TEMPERATURE, Fault, act
from takeup.line.diagnosis.readings import Functionals, Reading, functionals
from takeup.line.frame import ROOM
from takeup.line.model import Anchor, ConstantSpring, Guide, Joint, Line, Rest, State
from takeup.line.rows import Rows
from takeup.line.solve import Moduli, Prepared, StateResult, Unsolved, prepare, solve
from takeup.units import Array

RISES = (1.0, 0.70, 0.85, 1.15, 1.30)
"""Temperature rise over the recorded one; the first is as recorded."""
FRICTIONS = (1.0, 0.0, 1.67)
"""Friction over the nominal one; the first is nominal."""
FRICTION_SHARES = (0.6, 0.15, 0.25)
"""How likely each is; engineering assumption."""
FRICTIONLESS = 1e-7
ANCHOR = (contact.CLOSED,) * 3 + (0.1 * contact.CLOSED,) * 3
ROUNDS = 25


class Tangent(msgspec.Struct, frozen=True, kw_only=True):
    """One state of the sound line and how it gives."""

    result: StateResult
    laws: tuple[Law, ...]
    slope: Array
    give: Array
    """Movement of the rows by unit force on them, all contacts as they stand (m, m)"""
    shown: Array
    """Readings by unit force on the rows (k, m)"""


class Sound(msgspec.Struct, frozen=True, kw_only=True):
    """The sound line at one rise and friction."""

    rise: float
    friction: float
    ready: Prepared
    cold: Tangent
    hot: Tangent
    values: Array
    """Readings (k,), records not taken off"""


class Model(msgspec.Struct, frozen=True, kw_only=True):
    """A line ready for diagnosis."""

    line: Line
    """With its two states, every guide and rest able to rub, every anchor able to give"""
    readings: tuple[Reading, ...]
    forms: Functionals
    sound: tuple[Sound, ...]
    """First at recorded temperature and nominal friction; then the rest of the grid"""
    dropped: tuple[str, ...]
    """Points of the grid that could not be solved, and why"""
    axes: dict[str, Array]

    @property
    def record(self) -> Array:
        """The sound line's own readings, for positions against record (k,)."""
        return self.sound[0].values * self.forms.record


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
        if isinstance(one, (Rest, Guide)) and one.friction <= 0.0:
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
        if isinstance(one, (Rest, Guide))
        else one
        for one in line.supports
    )
    changed = msgspec.structs.replace(line, states=states, supports=supports)
    return msgspec.structs.replace(ready, line=changed)


def sound_laws(line: Line, found: Rows, state: State) -> tuple[Law, ...]:
    """Laws of the sound line; what does not rub has none of friction's rows at work.

    A friction of next to nothing would stick and slip within a hair and never settle.
    """
    laws = list(rowing.laws(line, found, state))
    supports = {one.name: one for one in line.supports}
    for at, (place, law) in enumerate(zip(found.places, laws, strict=True)):
        one = supports.get(place.name) if place.what == "support" else None
        if not isinstance(one, (Rest, Guide)) or one.friction > FRICTIONLESS:
            continue
        if isinstance(one, Rest):
            smooth = contact.pressed(one.name, friction=0.0, clear=one.gap)
        else:
            smooth = _smooth(msgspec.structs.replace(one, friction=0.0), len(place.rows))
        smooth.rows, smooth.reference = law.rows, law.reference
        laws[at] = smooth
    return tuple(laws)


def _smooth(one: Guide, count: int) -> Law:
    """A guide that does not rub, with an idle row along the line."""
    sides = rowing.guide(one, count - 1)

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        forces, slopes = np.zeros(count), np.zeros((count, count))
        forces[:-1], slopes[:-1, :-1], _ = sides.answer(u[:-1], memory)
        return forces, slopes, memory

    return Law(name=one.name, reference=(*sides.reference, 0.0), answer=answer)


def model(
    line: Line,
    readings: Sequence[Reading],
    *,
    cold: str = "",
    hot: str = "",
    moduli: dict[str, float] | None = None,
) -> Model:
    """Solve the sound line at every point of the grid.

    ``cold`` and ``hot`` name the two states; without them their roles say.  Raises what
    :func:`takeup.line.solve.prepare` and :func:`takeup.line.solve.solve` raise for the line as
    recorded; other points of the grid that cannot be solved are dropped and named.
    """
    able = _able(line, cold, hot)
    ready = prepare(able, Moduli.COLD, moduli=moduli)
    asked = tuple(readings)
    forms = functionals(ready, asked)
    moving = forms.motion[:, ready.free] @ ready.seen
    sound: list[Sound] = []
    dropped: list[str] = []
    for rise in RISES:
        for friction in FRICTIONS:
            try:
                sound.append(_sound(varied(ready, rise, friction), forms, moving, rise, friction))
            except (Unsolved, OutOfRange) as fault:
                if not sound:
                    raise
                dropped.append(f"rise times {rise:g}, friction times {friction:g}: {fault}")
    axes = {}
    for piece in line.pieces:
        if isinstance(piece, Joint):
            nodes = ready.frame.nodes
            arm = nodes[ready.frame.node(piece.end)] - nodes[ready.frame.node(piece.start)]
            axes[piece.tag] = arm / np.linalg.norm(arm)
    return Model(
        line=able, readings=asked, forms=forms, sound=tuple(sound), dropped=tuple(dropped),
        axes=axes,
    )  # fmt: skip


def _sound(
    ready: Prepared, forms: Functionals, moving: Array, rise: float, friction: float
) -> Sound:
    cold, hot = solve(ready, sound_laws)
    return Sound(
        rise=rise,
        friction=friction,
        ready=ready,
        cold=_tangent(ready, ready.line.states[0], cold, forms, moving),
        hot=_tangent(ready, ready.line.states[1], hot, forms, moving),
        values=read(forms, cold, hot),
    )


def sound_at(made: Model, rise: float, friction: float) -> Sound:
    """The sound line at any temperature rise and friction, both over those on record."""
    ready = made.sound[0].ready
    moving = made.forms.motion[:, ready.free] @ ready.seen
    return _sound(varied(ready, rise, friction), made.forms, moving, rise, friction)


def read(forms: Functionals, cold: StateResult, hot: StateResult) -> Array:
    """Readings of two solved states, records not taken off (k,)."""
    one = forms.motion @ cold.motion.ravel() + forms.force @ cold.rows
    two = forms.motion @ hot.motion.ravel() + forms.force @ hot.rows
    return np.asarray(forms.constant + forms.hot * two + forms.cold * one)


def _tangent(
    ready: Prepared, state: State, result: StateResult, forms: Functionals, moving: Array
) -> Tangent:
    laws = sound_laws(ready.line, ready.rows, state)
    u = result.row_movement
    sliding = _sliding(ready, laws, u, result.memory)
    _, slope, _ = contact.answers(laws, u, sliding)
    stood = slope + np.diag(ready.reference)
    give: Any = np.linalg.solve(np.eye(len(u)) - ready.flexibility @ stood, ready.flexibility)
    give = np.asarray(give, dtype=np.float64)
    eye = np.eye(len(u))
    shown = moving @ (stood @ give + eye) + forms.force @ (slope @ give + eye)
    return Tangent(result=result, laws=laws, slope=slope, give=give, shown=np.asarray(shown))


def _sliding(
    ready: Prepared, laws: Sequence[Law], u: Array, memory: Sequence[Array]
) -> tuple[Array, ...]:
    """Memory a hair further back, so that what stands at its limit counts as sliding."""
    supports = {one.name: one for one in ready.line.supports}
    found = []
    for law, kept in zip(laws, memory, strict=True):
        if not law.memory:
            found.append(kept)
            continue
        own = u[list(law.rows)]
        part = own[:1] if isinstance(supports.get(law.name), ConstantSpring) else own[-law.memory :]
        found.append(part - (1.0 + 1e-6) * (part - kept))
    return tuple(found)


class _Place(msgspec.Struct, frozen=True, kw_only=True):
    index: int
    rows: Any
    piece: Any


def _place(made: Model, name: str, rows: Rows) -> _Place:
    piece: Any = next((one for one in made.line.supports if one.name == name), None)
    if piece is None:
        piece = next(p for p in made.line.pieces if isinstance(p, Joint) and p.tag == name)
    what = "lock" if isinstance(piece, Joint) else "support"
    index = next(at for at, one in enumerate(rows.places) if one.name == name and one.what == what)
    return _Place(index=index, rows=np.array(rows.places[index].rows), piece=piece)


def _law(made: Model, sound: Sound, place: _Place, fault: Fault, hot: bool) -> Law:
    here = sound.hot if hot else sound.cold
    cold, warm = sound.cold.result, sound.hot.result
    return act(
        fault, place.piece, here.laws[place.index], cold.row_movement[place.rows],
        cold.rows[place.rows], warm.rows[place.rows], hot, made.axes.get(fault.place, np.zeros(3)),
    )  # fmt: skip


def first_order(made: Model, faults: Sequence[Fault]) -> Array:
    """Readings with ``faults`` at every point of the grid (g, k), records taken off.

    Each fault's own law is exact, that of every other place its tangent.
    """
    acting = [fault for fault in faults if fault.place != TEMPERATURE]
    found = np.array([sound.values for sound in made.sound]) - made.record
    if not acting:
        return found
    places = [_place(made, fault.place, made.sound[0].ready.rows) for fault in acting]
    rows = np.concatenate([place.rows for place in places])
    for at, sound in enumerate(made.sound):
        for hot, here, share in (
            (False, sound.cold, made.forms.cold), (True, sound.hot, made.forms.hot),
        ):  # fmt: skip
            laws = [
                _law(made, sound, place, fault, hot)
                for place, fault in zip(places, acting, strict=True)
            ]
            push = _settle(here, laws, [place.index for place in places], rows)
            found[at] += share * (here.shown[:, rows] @ push)
    return found


def _settle(here: Tangent, laws: Sequence[Law], index: Sequence[int], rows: Any) -> Array:
    """Forces on the rows of the faults over those of the tangent."""
    start, forces = here.result.row_movement[rows], here.result.rows[rows]
    slope, give = here.slope[np.ix_(rows, rows)], here.give[np.ix_(rows, rows)]
    memory = [here.result.memory[at] for at in index]

    def push(x: Array) -> tuple[Array, Array]:
        force, tangent, at = np.zeros(len(x)), np.zeros((len(x), len(x))), 0
        for law, kept in zip(laws, memory, strict=True):
            own = slice(at, at + len(law.rows))
            force[own], tangent[own, own], _ = law.answer(x[own], kept)
            at = own.stop
        return force - forces - slope @ (x - start), tangent - slope

    x = start.copy()
    extra, tangent = push(x)
    off = x - start - give @ extra
    eye = np.eye(len(x))
    for _ in range(ROUNDS):
        if float(np.abs(off).max()) < 1e-10:
            break
        step = np.linalg.lstsq(eye - give @ tangent, -off, rcond=None)[0]
        share = 1.0
        for _ in range(6):
            tried = x + share * step
            extra, tangent = push(tried)
            new = tried - start - give @ extra
            if np.abs(new).max() < np.abs(off).max():
                break
            share *= 0.5
        x, off = tried, new
    return extra


def exact(made: Model, faults: Sequence[Fault], sound: Sound | None = None) -> Array:
    """Readings with ``faults`` by solving the whole line again (k,), records taken off.

    At recorded temperature and nominal friction unless ``sound`` says another point.  Raises
    :class:`takeup.line.solve.Unsolved` where the line with the faults does not come to rest.
    """
    base = made.sound[0] if sound is None else sound
    acting = [fault for fault in faults if fault.place != TEMPERATURE]
    places = [_place(made, fault.place, base.ready.rows) for fault in acting]
    hot_name = base.ready.line.states[1].name

    def laws(line: Line, rows: Rows, state: State) -> tuple[Law, ...]:
        found = list(sound_laws(line, rows, state))
        for place, fault in zip(places, acting, strict=True):
            found[place.index] = _law(made, base, place, fault, state.name == hot_name)
        return tuple(found)

    cold, hot = solve(base.ready, laws)
    return read(made.forms, cold, hot) - made.record
