"""Offset legs without a joint: its run shifted sideways, guides of the legs beside it moved.

The run is everything in one straight line with the joint, from one bend (or free end) to the
other.  Growth of the run is taken by bending of the legs beyond its bends, so that longer legs,
and legs held further away, take it more gently.  A shift along the legs keeps every direction:
only the legs' own lengths change.  The closed form of the guided cantilever says at a glance what
a leg can take; it decides nothing, the whole solve does.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence

import msgspec
import numpy as np

from takeup import materials
from takeup.line import codes, stresses
from takeup.line.frame import ROOM, section
from takeup.line.model import (
    Anchor,
    Bend,
    Guide,
    Joint,
    Line,
    Piece,
    State,
    Station,
    Stop,
    Straight,
    Support,
    Vector,
)
from takeup.line.telling import Tell
from takeup.units import Array

STRAIGHT = 1e-4
"""One less the cosine of the angle up to which two directions count as one (0.8 deg)."""
TOWARDS = 0.5
"""Cosine from which a shift counts as one of the directions asked for."""


class Leg(msgspec.Struct, frozen=True, kw_only=True):
    """A leg beyond a bend at an end of the run."""

    bend: Bend
    inner: str
    outer: str
    """Tangent points of the bend, on the run's side and on the leg's"""
    away: Vector
    """Unit vector from the corner along the leg"""
    first: Straight | None
    """Straight pipe at the bend, which a shift lengthens or shortens"""
    stations: tuple[tuple[str, float], ...]
    """Stations on it with their distance from the corner [m], nearest first"""
    reach: float
    """From the corner to where the leg ends: next corner, branch or end [m]"""


class Run(msgspec.Struct, frozen=True, kw_only=True):
    """What stands in one straight line with a joint."""

    pieces: tuple[Piece, ...]
    stations: tuple[str, ...]
    along: Vector
    legs: tuple[Leg, ...]
    length: float
    """Between corners, or ends [m]"""
    why_not: str = ""
    """What keeps it from being shifted; empty where nothing is seen"""


def places(line: Line) -> dict[str, Array]:
    """Stations by name."""
    return {one.name: np.array(one.position) for one in line.stations}


def _meeting(line: Line) -> dict[str, list[Piece]]:
    met: dict[str, list[Piece]] = {one.name: [] for one in line.stations}
    for piece in line.pieces:
        met[piece.start].append(piece)
        met[piece.end].append(piece)
    return met


def _unit(vector: Array) -> Array:
    return vector / np.linalg.norm(vector)


def _far(piece: Piece, name: str) -> str:
    return piece.end if piece.start == name else piece.start


def _tuple(values: Array) -> Vector:
    east, north, up = values.tolist()
    return east, north, up


def run_of(line: Line, joint: Joint | Straight) -> Run:
    """The straight line of pieces that ``joint``, or pipe in its place, stands in, with its legs."""
    at, met = places(line), _meeting(line)
    along = _unit(at[joint.end] - at[joint.start])
    pieces: list[Piece] = [joint]
    stations: list[str] = []
    legs: list[Leg] = []
    ends: list[Array] = []
    why = ""
    for name, way in ((joint.start, -along), (joint.end, along)):
        here = name
        piece: Piece = joint
        while True:
            stations.append(here)
            onward = [one for one in met[here] if one is not piece]
            if len(onward) > 1:
                why = why or f"a branch leaves the run at {here}"
                onward = [one for one in onward if _goes_on(at, one, here, way)]
            if not onward:
                ends.append(at[here])
                break
            piece = onward[0]
            if isinstance(piece, Bend):
                leg = _leg(at, met, piece, here)
                legs.append(leg)
                ends.append(np.array(piece.corner))
                if leg.first is None:
                    why = why or f"no straight pipe follows the bend at {here}"
                break
            there = _far(piece, here)
            if there in stations or not _goes_on(at, piece, here, way):
                why = why or f"the run turns at {here} without a bend"
                ends.append(at[here])
                break
            pieces.append(piece)
            here = there
    if not legs:
        why = why or "there is no bend at either end of the run"
    moving = {*stations, *(leg.outer for leg in legs)}
    fixed = [s.name for s in line.supports if isinstance(s, Anchor) and s.station in moving]
    if fixed:
        why = f"{', '.join(fixed)} would have to move"
    return Run(
        pieces=tuple(pieces),
        stations=tuple(stations),
        along=_tuple(along),
        legs=tuple(legs),
        length=float(np.linalg.norm(ends[1] - ends[0])),
        why_not=why,
    )


def _goes_on(at: dict[str, Array], piece: Piece, here: str, way: Array) -> bool:
    """Whether a piece goes straight on from a station."""
    there = np.array(piece.corner) if isinstance(piece, Bend) else at[_far(piece, here)]
    return float(_unit(there - at[here]) @ way) > 1.0 - STRAIGHT


def _leg(at: dict[str, Array], met: dict[str, list[Piece]], bend: Bend, inner: str) -> Leg:
    outer, corner = _far(bend, inner), np.array(bend.corner)
    away = _unit(at[outer] - corner)
    found: list[tuple[str, float]] = [(outer, float(np.linalg.norm(at[outer] - corner)))]
    here, first, reach = outer, None, 0.0
    piece: Piece = bend
    while True:
        reach = float((at[here] - corner) @ away)
        onward = [one for one in met[here] if one is not piece]
        if len(onward) != 1:
            break
        before, piece = piece, onward[0]
        if isinstance(piece, Bend):
            reach = float((np.array(piece.corner) - corner) @ away)
            break
        there = _far(piece, here)
        if float(_unit(at[there] - at[here]) @ away) < 1.0 - STRAIGHT:
            break
        if before is bend and isinstance(piece, Straight):
            first = piece
        here = there
        found.append((here, float((at[here] - corner) @ away)))
    return Leg(bend=bend, inner=inner, outer=outer, away=_tuple(away), first=first,
               stations=tuple(found), reach=reach)  # fmt: skip


class Shifted(msgspec.Struct, frozen=True, kw_only=True):
    """A line with its run shifted."""

    line: Line
    direction: Vector
    size: float
    """[m]"""
    added: float
    """Length of pipe more in both legs together [m]"""
    moved: tuple[str, ...]
    """Supports that go with the run"""


def shifted(
    line: Line,
    run: Run,
    sizes: Sequence[float],
    least: float,
    directions: Sequence[Vector] | None = None,
) -> Iterator[Shifted]:
    """``line`` with ``run`` shifted along its legs by each of ``sizes`` [m], where that can be.

    A shift lengthens one leg at least; the other grows with it (legs on the same side), gives
    what the first takes (legs on opposite sides: the same Z with its run elsewhere), or is not
    there (a free end).  ``least`` is the straight that stays at a bend [m].  Nothing where the
    run may not be shifted.
    """
    if run.why_not:
        return
    ways: list[Array] = []
    for leg in run.legs:
        way = -np.array(leg.away)
        aligned = all(abs(float(np.array(o.away) @ way)) > 1.0 - STRAIGHT for o in run.legs)
        if aligned and not any(float(way @ other) > 1.0 - STRAIGHT for other in ways):
            ways.append(way)
    if directions is not None:
        asked = [np.array(one, dtype=float) for one in directions]
        ways = [way for way in ways if any(float(way @ one) > TOWARDS for one in asked)]
    at = places(line)
    going = {*run.stations, *(leg.outer for leg in run.legs)}
    moved = tuple(one.name for one in line.supports if one.station in going)
    for way in ways:
        for size in sizes:
            added = 0.0
            for leg in run.legs:
                longer = -size * float(way @ np.array(leg.away))
                assert leg.first is not None
                now = float(np.linalg.norm(at[leg.first.end] - at[leg.first.start]))
                if now + longer < least:
                    break
                added += longer
            else:
                yield Shifted(
                    line=_moved(line, run, going, size * way), direction=_tuple(way), size=size,
                    added=added, moved=moved,
                )  # fmt: skip


def _moved(line: Line, run: Run, going: Container[str], by: Array) -> Line:
    bends = {(leg.bend.start, leg.bend.end) for leg in run.legs}
    return msgspec.structs.replace(
        line,
        stations=tuple(
            msgspec.structs.replace(one, position=_tuple(np.array(one.position) + by))
            if one.name in going
            else one
            for one in line.stations
        ),
        pieces=tuple(
            msgspec.structs.replace(one, corner=_tuple(np.array(one.corner) + by))
            if isinstance(one, Bend) and (one.start, one.end) in bends
            else one
            for one in line.pieces
        ),
    )


def no_shift(line: Line, joint: Joint) -> str:
    """What keeps the run of ``joint`` from being shifted whatever the size; else empty."""
    run = run_of(line, joint)
    if run.why_not:
        return f"No offset leg was tried: {run.why_not}."
    first, *rest = (np.array(leg.away) for leg in run.legs)
    if any(abs(float(first @ other)) < 1.0 - STRAIGHT for other in rest):
        return (
            "No offset leg was tried: the legs beyond the bends of the run do not go the same way, "
            "so that a shift along one would move the other."
        )
    return ""


def _holds(one: Support, along: Array) -> bool:
    """Whether a guide or stop on a leg holds it against growth of the run."""
    if isinstance(one, Guide):
        return one.across is None or abs(float(_unit(np.array(one.across)) @ along)) > TOWARDS
    return isinstance(one, Stop) and abs(float(_unit(np.array(one.direction)) @ along)) > TOWARDS


def held_by(line: Line, run: Run, leg: Leg) -> tuple[tuple[Guide | Stop | Anchor, float], ...]:
    """Guides, stops and anchors that hold a leg sideways, with their distance from the corner."""
    along = np.array(run.along)
    far = dict(leg.stations)
    found = [
        (one, far[one.station])
        for one in line.supports
        if one.station in far
        and isinstance(one, (Guide, Stop, Anchor))
        and (isinstance(one, Anchor) or _holds(one, along))
    ]
    return tuple(sorted(found, key=lambda pair: pair[1]))


class Cantilever(msgspec.Struct, frozen=True, kw_only=True):
    """A leg as a guided cantilever that takes the whole growth of its run."""

    length: float
    """From the corner to what holds the leg [m]"""
    until: str
    """What that is"""
    growth: float
    """[m]"""
    stress: float
    """Without the bend's own factor [Pa]"""
    allowed: float | None
    """Allowable range by (1a) [Pa]; ``None``: an allowable stress is not known"""
    needed: float | None
    """Length that takes the growth within it [m]"""


def cantilever(line: Line, run: Run, leg: Leg) -> Cantilever | None:
    """The closed form of one leg; ``None`` without a cold and a hot state."""
    cold = next((one for one in line.states if one.role == "cold"), None)
    hot = next((one for one in reversed(line.states) if one.role == "hot"), None)
    if cold is None or hot is None:
        return None
    pipe = next(one for one in line.pipes if one.name == leg.bend.pipe)
    made = section(pipe)
    metals = {one.name: section(one).metal for one in line.pipes}
    limits = stresses.allowed(line, metals, cold, hot)[pipe.name]
    allowed = None
    if limits.cold is not None and limits.hot is not None:
        allowed = float(codes.range_allowable(limits.cold, limits.hot, limits.f))
    holding = held_by(line, run, leg)
    length, until = (holding[0][1], holding[0][0].name) if holding else (leg.reach, "its far end")
    growth = abs(_strain(made.metal, hot, pipe.name) - _strain(made.metal, cold, pipe.name))
    growth *= run.length
    modulus = float(materials.modulus(made.metal, ROOM).value)
    _, _, stress = codes.guided_cantilever(modulus, made.inertia, pipe.outside, length, growth)
    return Cantilever(
        length=length,
        until=until,
        growth=growth,
        stress=float(stress),
        allowed=allowed,
        needed=None
        if allowed is None
        else float(codes.leg_needed(modulus, pipe.outside, growth, allowed)),
    )


def _strain(metal: str, state: State, pipe: str) -> float:
    at = state.temperatures.get(pipe, state.temperature)
    return float(materials.expansion_total(metal, at, ROOM).value)


def screened(line: Line, run: Run, tell: Tell) -> str:
    """What the closed form says of the legs, in words; empty where it says nothing."""
    words = []
    for leg in run.legs:
        one = cantilever(line, run, leg)
        if one is None:
            continue
        least = "" if one.needed is None else f", needs {tell(one.needed, 'distance')}"
        share = "" if one.allowed is None else f" ({one.stress / one.allowed:.2f} of its range)"
        words.append(
            f"leg of {tell(one.length, 'distance')} to {one.until}: {tell(one.stress, 'stress')}"
            f"{share} for all {tell(one.growth, 'movement')} of the run{least}"
        )
    return "; ".join(words)


class Loosened(msgspec.Struct, frozen=True, kw_only=True):
    """A line with guides of the legs let go or moved."""

    line: Line
    words: str
    names: tuple[str, ...]


def loosened(line: Line, run: Run, may_go: Container[str] | None, tell: Tell) -> Iterator[Loosened]:
    """``line`` with the nearest guide or stop of each leg let go, of all, and guides moved.

    A guide is moved as far as the closed form needs, where the leg has straight pipe there.
    """
    nearest: list[str] = []
    for leg in run.legs:
        holding = held_by(line, run, leg)
        if not holding or isinstance(holding[0][0], Anchor):
            continue
        one, place = holding[0]
        if may_go is not None and one.name not in may_go:
            continue
        yield _let_go(line, (one.name,))
        nearest.append(one.name)
        next_held = holding[1][1] if len(holding) > 1 else leg.reach
        form = cantilever(line, run, leg)
        if not isinstance(one, Guide) or form is None or form.needed is None:
            continue
        if not place < form.needed < next_held:
            continue
        moved = _guide_at(line, leg, one, form.needed)
        if moved is not None:
            yield Loosened(
                line=moved,
                words=f"{one.name} moved to {tell(form.needed, 'distance')} from the corner",
                names=(one.name,),
            )
    if len(set(nearest)) > 1:
        yield _let_go(line, tuple(dict.fromkeys(nearest)))


def _let_go(line: Line, names: tuple[str, ...]) -> Loosened:
    kept = tuple(one for one in line.supports if one.name not in names)
    return Loosened(
        line=msgspec.structs.replace(line, supports=kept),
        words=f"without {' and '.join(names)}",
        names=names,
    )


def _guide_at(line: Line, leg: Leg, guide: Guide, far: float) -> Line | None:
    """The line with ``guide`` at a new station ``far`` from the corner; ``None``: no pipe there."""
    at, corner, away = places(line), np.array(leg.bend.corner), np.array(leg.away)
    on = {name for name, _ in leg.stations}
    for number, piece in enumerate(line.pieces):
        if not isinstance(piece, Straight) or not {piece.start, piece.end} <= on:
            continue
        ends = sorted(float((at[name] - corner) @ away) for name in (piece.start, piece.end))
        pipe = next(one for one in line.pipes if one.name == piece.pipe)
        if not ends[0] + pipe.outside < far < ends[1] - pipe.outside:
            continue
        new = Station(name=f"{guide.name} moved", position=_tuple(corner + far * away))
        halves = (
            msgspec.structs.replace(piece, end=new.name),
            msgspec.structs.replace(piece, start=new.name),
        )
        supports = tuple(
            msgspec.structs.replace(one, station=new.name) if one.name == guide.name else one
            for one in line.supports
        )
        return msgspec.structs.replace(
            line,
            stations=(*line.stations, new),
            pieces=(*line.pieces[:number], *halves, *line.pieces[number + 1 :]),
            supports=supports,
        )
    return None
