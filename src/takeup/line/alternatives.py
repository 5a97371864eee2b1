"""Lines without one of their joints: pipe in its place, loops, supports let go or changed.

What is tried: pipe in the joint's place; a loop of three legs built into the straight run
around the joint, in each direction across it, in steps up to the largest leg there is room
for; the run between its bends shifted sideways, which lengthens the legs beside it; the same
with a guide or stop let go, or a guide of a leg moved, that would stop pipe from bending; and
the same with other supports in place of those that stand there, where some are given.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence

import msgspec
import numpy as np

from takeup.errors import Contradiction, UnknownName
from takeup.line import offsets
from takeup.line.model import (
    Bend,
    Guide,
    Joint,
    Line,
    Piece,
    Station,
    Stop,
    Straight,
    Support,
    Vector,
)
from takeup.line.telling import Tell, si_words
from takeup.units import Array

STEPS = 6
"""Sizes of loop tried up to the largest."""
LONG = 1.5
"""Bend radius over nominal outside diameter of long-radius elbows [-]."""


class Alternative(msgspec.Struct, frozen=True, kw_only=True):
    """One way to do without the joint."""

    words: str
    line: Line
    pipe_added: float
    """Length of pipe on top of what the joint spans [m]"""
    elbows: int
    let_go: str = ""
    """Support taken out with it"""
    put: str = ""
    """Other supports put in with it, in words"""
    shift: float = 0.0
    """How far the run is shifted sideways [m]"""
    moved: str = ""
    """Supports shifted with the run, or guides moved along a leg"""
    screen: str = ""
    """What the closed form of guided cantilevers says of the legs beside the run"""


class Instead(msgspec.Struct, frozen=True, kw_only=True):
    """Supports that may take the place of those of the same names."""

    words: str
    supports: tuple[Support, ...]


def alternatives(
    line: Line,
    tag: str,
    *,
    largest: float,
    directions: Sequence[Vector] | None = None,
    may_go: Container[str] | None = None,
    instead: Sequence[Instead] = (),
    tell: Tell = si_words,
) -> Iterator[Alternative]:
    """Every line without the joint that the search tries, simplest first."""
    for one in _shapes(line, tag, largest, directions, may_go, tell):
        yield one
        for other in instead:
            yield _supported(one, other)


def _supported(one: Alternative, other: Instead) -> Alternative:
    """An alternative with other supports in place of those of the same names."""
    given = {support.name: support for support in other.supports}
    kept = tuple(given.get(support.name, support) for support in one.line.supports)
    return msgspec.structs.replace(
        one,
        words=f"{one.words}, with {other.words}",
        line=msgspec.structs.replace(one.line, supports=kept),
        put=other.words,
    )


def _shapes(
    line: Line,
    tag: str,
    largest: float,
    directions: Sequence[Vector] | None,
    may_go: Container[str] | None,
    tell: Tell,
) -> Iterator[Alternative]:
    joint = _joint(line, tag)
    pipe = joint.spool_pipe or _pipe_beside(line, joint)
    straight = Straight(start=joint.start, end=joint.end, pipe=pipe)
    plain = _swap(line, {id(joint): (straight,)})
    plainly = Alternative(words="plain pipe in its place", line=plain, pipe_added=0.0, elbows=0)
    run = _run(line, joint)
    loose = [name for name in _in_the_way(line, run) if may_go is None or name in may_go]
    shapes = _flexed(plainly, straight, may_go, tell)
    yield next(shapes)
    yield from (_without(plainly, name) for name in loose)
    yield from (one for one in shapes if one.let_go not in loose)
    for one in _offset(plainly, straight, largest, directions, tell):
        yield from _flexed(one, straight, may_go, tell)
    standing = _standing(line, joint, run)
    if any(name not in loose for name in standing):
        return
    cleared = tuple(one for one in line.supports if one.name not in standing)
    base = msgspec.structs.replace(line, supports=cleared) if standing else line
    across = [np.array(d, dtype=float) for d in directions] if directions else _across(line, joint)
    for direction in across:
        for step in range(1, STEPS + 1):
            leg = largest * step / STEPS
            made = _loop(base, joint, run, pipe, direction, leg)
            if made is None:
                continue
            looped, added = made
            words = f"a loop of {tell(leg, 'distance')} legs towards {_compass(direction)}"
            one = Alternative(words=words, line=looped, pipe_added=added, elbows=4)
            if standing:
                words = f"{words}, without {' and '.join(standing)}"
                one = msgspec.structs.replace(one, words=words, let_go=", ".join(standing))
            yield one
            yield from (_without(one, name) for name in loose if name not in standing)


def _offset(
    plain: Alternative,
    pipe: Straight,
    largest: float,
    directions: Sequence[Vector] | None,
    tell: Tell,
) -> Iterator[Alternative]:
    """Plain pipe with the run between its bends shifted sideways, in steps up to the largest."""
    if largest <= 0.0:
        return
    line = plain.line
    sizes = [largest * step / STEPS for step in range(1, STEPS + 1)]
    outside = next(one.outside for one in line.pipes if one.name == pipe.pipe)
    for one in offsets.shifted(line, offsets.run_of(line, pipe), sizes, outside, directions):
        words = (
            f"plain pipe and the run shifted by {tell(one.size, 'distance')} towards "
            f"{_compass(np.array(one.direction))}"
        )
        if one.moved:
            words = f"{words}, with {' and '.join(one.moved)}"
        yield msgspec.structs.replace(
            plain, words=words, line=one.line, pipe_added=one.added, shift=one.size,
            moved=", ".join(one.moved),
        )  # fmt: skip


def _flexed(
    one: Alternative, pipe: Straight, may_go: Container[str] | None, tell: Tell
) -> Iterator[Alternative]:
    """An alternative as it is, and with guides of the legs beside its run let go or moved."""
    run = offsets.run_of(one.line, pipe)
    yield msgspec.structs.replace(one, screen=offsets.screened(one.line, run, tell))
    for other in offsets.loosened(one.line, run, may_go, tell):
        gone = not any(support.name in other.names for support in other.line.supports)
        named = ", ".join(other.names)
        yield msgspec.structs.replace(
            one,
            words=f"{one.words}, {other.words}",
            line=other.line,
            let_go=named if gone else "",
            moved=one.moved if gone else ", ".join(filter(None, (one.moved, named))),
            screen=offsets.screened(other.line, offsets.run_of(other.line, pipe), tell),
        )


def no_offset(line: Line, tag: str) -> str:
    """What keeps every offset leg from being tried whatever its size; empty where nothing does."""
    return offsets.no_shift(line, _joint(line, tag))


def _standing(line: Line, joint: Joint, run: tuple[Piece, ...]) -> tuple[str, ...]:
    """Supports that stand on the run inside its ends: where a loop would have to begin."""
    inner = {name for piece in run for name in (piece.start, piece.end)} - set(_ends(run, joint))
    return tuple(support.name for support in line.supports if support.station in inner)


def _ends(run: tuple[Piece, ...], joint: Joint) -> tuple[str, str]:
    """Stations between which a run goes."""
    first = run[0] if isinstance(run[0], Straight) else None
    last = run[-1] if isinstance(run[-1], Straight) else None
    start = joint.start if first is None else _other(first, joint.start)
    return start, joint.end if last is None else _other(last, joint.end)


def no_loop(line: Line, tag: str, may_go: Container[str] | None = None) -> str:
    """What keeps every loop from being tried whatever its size; empty where nothing does."""
    joint = _joint(line, tag)
    run = _run(line, joint)
    loose = [name for name in _in_the_way(line, run) if may_go is None or name in may_go]
    fixed = [name for name in _standing(line, joint, run) if name not in loose]
    if fixed:
        return (
            f"No loop was tried: {', '.join(fixed)} stands on the straight run around {tag}, where "
            "a loop would begin."
        )
    inner = {name for piece in run for name in (piece.start, piece.end)} - set(_ends(run, joint))
    if _branched(line, run, inner):
        return f"No loop was tried: a branch leaves the straight run around {tag}."
    return ""


def _branched(line: Line, run: tuple[Piece, ...], inner: set[str]) -> bool:
    own = {id(piece) for piece in run}
    return any(
        id(piece) not in own and {piece.start, piece.end} & inner for piece in line.pieces
    )  # fmt: skip


def _without(one: Alternative, name: str) -> Alternative:
    """An alternative with a support let go."""
    kept = tuple(support for support in one.line.supports if support.name != name)
    return msgspec.structs.replace(
        one,
        words=f"{one.words}, without {name}",
        line=msgspec.structs.replace(one.line, supports=kept),
        let_go=name,
    )


def _joint(line: Line, tag: str) -> Joint:
    joints = {piece.tag: piece for piece in line.pieces if isinstance(piece, Joint)}
    if tag not in joints:
        raise UnknownName("joint", tag, tuple(joints))
    return joints[tag]


def _pipe_beside(line: Line, joint: Joint) -> str:
    for piece in line.pieces:
        if isinstance(piece, (Straight, Bend)) and {piece.start, piece.end} & {
            joint.start, joint.end,
        }:  # fmt: skip
            return piece.pipe
    raise Contradiction(f"joint {joint.tag}: no pipe beside it says what to put in its place")


def _swap(line: Line, changes: dict[int, tuple[Piece, ...]]) -> Line:
    pieces: list[Piece] = []
    for piece in line.pieces:
        pieces += changes.get(id(piece), (piece,))
    return msgspec.structs.replace(line, pieces=tuple(pieces))


def _run(line: Line, joint: Joint) -> tuple[Piece, ...]:
    """Straight pipe before the joint, the joint, straight pipe after it, where there is any."""
    before = next(
        (p for p in line.pieces if isinstance(p, Straight) and joint.start in (p.start, p.end)),
        None,
    )
    after = next(
        (p for p in line.pieces if isinstance(p, Straight) and joint.end in (p.start, p.end)),
        None,
    )
    return tuple(piece for piece in (before, joint, after) if piece is not None)


def _position(line: Line, name: str) -> Array:
    return np.array(next(s.position for s in line.stations if s.name == name))


def _across(line: Line, joint: Joint) -> list[Array]:
    along = _position(line, joint.end) - _position(line, joint.start)
    along = along / np.linalg.norm(along)
    axes = np.eye(3)[np.argsort(np.abs(along))[:2]]
    squared = [axis - along * float(along @ axis) for axis in axes]
    units = [axis / np.linalg.norm(axis) for axis in squared]
    return [sign * unit for unit in units for sign in (1.0, -1.0)]


def _loop(
    line: Line, joint: Joint, run: tuple[Piece, ...], pipe: str, direction: Array, leg: float
) -> tuple[Line, float] | None:
    """The line with a loop around the joint's middle, and the pipe it adds; ``None``: no room."""
    a, b = _position(line, joint.start), _position(line, joint.end)
    along = (b - a) / np.linalg.norm(b - a)
    outside = next(one.outside for one in line.pipes if one.name == pipe)
    radius = LONG * outside
    middle = 0.5 * (a + b)
    before, after = _reach(line, joint, run, middle, along)
    half = min(0.5 * leg, before - 1.05 * radius, after - 1.05 * radius)
    if half < 1.05 * radius or leg < 2.1 * radius:
        return None
    out = leg * direction
    corners = [middle - half * along, middle - half * along + out, middle + half * along + out,
               middle + half * along]  # fmt: skip
    stations = list(line.stations)
    pieces: list[Piece] = []
    start, end = _ends(run, joint)
    previous, place = start, _position(line, start)
    targets = [*corners, _position(line, end)]
    for number, corner in enumerate(corners):
        into = (corner - place) / np.linalg.norm(corner - place)
        onward = targets[number + 1] - corner
        onward = onward / np.linalg.norm(onward)
        name = f"{joint.tag} loop {number + 1}"
        inlet, outlet = corner - radius * into, corner + radius * onward
        stations += [Station(name=f"{name}.in", position=_vector(inlet)),
                     Station(name=f"{name}.out", position=_vector(outlet))]  # fmt: skip
        pieces.append(Straight(start=previous, end=f"{name}.in", pipe=pipe))
        pieces.append(
            Bend(start=f"{name}.in", end=f"{name}.out", pipe=pipe, corner=_vector(corner),
                 radius=radius)
        )  # fmt: skip
        previous, place = f"{name}.out", outlet
    pieces.append(Straight(start=previous, end=end, pipe=pipe))
    gone = {name for piece in run for name in (piece.start, piece.end)} - {start, end}
    if _branched(line, run, gone):
        return None
    changes: dict[int, tuple[Piece, ...]] = {id(piece): () for piece in run}
    changes[id(run[0])] = tuple(pieces)
    swapped = _swap(line, changes)
    kept = tuple(station for station in stations if station.name not in gone)
    return msgspec.structs.replace(swapped, stations=kept), 2.0 * leg


def _reach(
    line: Line, joint: Joint, run: tuple[Piece, ...], middle: Array, along: Array
) -> tuple[float, float]:
    """Straight length from the middle of the joint back and on [m]."""
    start, end = _ends(run, joint)
    back = float(np.linalg.norm(middle - _position(line, start)))
    on = float(np.linalg.norm(_position(line, end) - middle))
    return back, on


def _other(piece: Straight, name: str) -> str:
    return piece.end if piece.start == name else piece.start


def _in_the_way(line: Line, run: tuple[Piece, ...]) -> list[str]:
    """Guides and stops at the ends of the run: they keep a loop from working."""
    near = {name for piece in run for name in (piece.start, piece.end)}
    return [
        support.name
        for support in line.supports
        if isinstance(support, (Guide, Stop)) and support.station in near
    ]


def _vector(values: Array) -> Vector:
    return float(values[0]), float(values[1]), float(values[2])


_NAMES = ("east", "north", "up"), ("west", "south", "down")


def _compass(direction: Array) -> str:
    at = int(np.argmax(np.abs(direction)))
    return _NAMES[0][at] if direction[at] > 0.0 else _NAMES[1][at]
