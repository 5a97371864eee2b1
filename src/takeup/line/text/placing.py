"""Runs in space: where each leg ends, tangent points of bends, loops that must close."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from takeup.errors import TakeupError
from takeup.line import model as m
from takeup.line.text import forms as f
from takeup.line.text.naming import near
from takeup.line.text.positions import Path, line_of
from takeup.units import parse

CLOSES = 1e-3
"""A loop may miss its end by this and is then closed exactly [m]."""
SHORT = 1e-6
"""A leg that bends leave with less is used up by them [m]."""
TURN = 1e-4
"""Legs that differ by less go straight on [rad]."""
WORDS: dict[str, m.Vector] = {
    "east": (1.0, 0.0, 0.0), "west": (-1.0, 0.0, 0.0), "north": (0.0, 1.0, 0.0),
    "south": (0.0, -1.0, 0.0), "up": (0.0, 0.0, 1.0), "down": (0.0, 0.0, -1.0),
}  # fmt: skip
NOMINAL = {
    21.3: 0.5, 26.7: 0.75, 33.4: 1, 42.2: 1.25, 48.3: 1.5, 60.3: 2, 73.0: 2.5, 88.9: 3,
    101.6: 3.5, 114.3: 4, 141.3: 5, 168.3: 6, 219.1: 8, 273.1: 10, 323.9: 12,
}  # fmt: skip
"""Outside diameter [mm] and nominal size [in]; from 14 in they are the same."""
FURTHEST = 1e5
"""Of a station from the origin [m]; what lies beyond is a slip of a unit or a sign."""
Say = Callable[..., None]


def vector_of(raw: Any, along: m.Vector | None = None) -> m.Vector:
    """A unit vector from a word, a bearing with its unit, or three numbers."""
    if isinstance(raw, str):
        if raw in WORDS:
            return WORDS[raw]
        if raw == "along":
            if along is None:
                raise TakeupError("there is no one direction of pipe here; give [east, north, up]")
            return along
        if any(sign.isdigit() for sign in raw):
            turn = parse(raw, "angle", "")
            return (math.sin(turn), math.cos(turn), 0.0)
        raise TakeupError(
            f"is {raw!r}; choices: {', '.join(WORDS)}, along, a bearing such as '30 deg', "
            "or [east, north, up]"
        )
    values = np.array(raw, dtype=float)
    size = float(np.linalg.norm(values)) if values.shape == (3,) else 0.0
    if not (size > 0.0 and math.isfinite(size)):
        raise TakeupError("must be three numbers [east, north, up], not all zero")
    if abs(size - 1.0) > 1e-12:
        values = values / size
    return (float(values[0]), float(values[1]), float(values[2]))


def radius_of(bend: str | float, pipe: m.Pipe) -> float:
    """Radius [m] of ``long``, ``short`` or a length."""
    if not isinstance(bend, str):
        if not math.isfinite(bend):
            raise TakeupError(f"is {bend}; right would be long, short, square or a radius")
        return float(bend)
    if bend not in {"long", "short"}:
        if not any(sign.isdigit() for sign in bend):
            raise TakeupError(f"is {bend!r}; right would be long, short, square or a radius")
        return parse(bend, "length", "")
    outside = pipe.outside * 1e3
    size = next((nps for od, nps in NOMINAL.items() if abs(od / outside - 1.0) < 0.006), None)
    if size is None and outside >= 350.0:
        inches = pipe.outside / 0.0254
        size = round(inches / 2.0) * 2 if abs(inches - round(inches / 2.0) * 2) < 0.1 else None
    if size is None:
        raise TakeupError(
            f"is {bend!r}, but {outside:g} mm outside is no nominal size; give the radius"
        )
    return 0.0254 * size * (1.5 if bend == "long" else 1.0)


class Placed:
    """What the runs make."""

    def __init__(self) -> None:
        self.stations: dict[str, m.Vector] = {}
        self.lines: dict[str, int] = {}
        self.corners: dict[str, m.Vector] = {}
        self.aliases: dict[str, str] = {}
        self.pieces: list[m.Piece] = []
        self.along: dict[str, m.Vector] = {}
        self.zero: set[frozenset[str]] = set()
        self.left_out: set[str] = set()
        """Stations of runs that could not be laid; their fault is told where it is"""

    def touched(self, name: str) -> bool:
        """Whether a piece begins or ends at the station."""
        return any(name in (p.start, p.end) for p in self.pieces)

    def groups(self) -> list[list[str]]:
        """Stations that pieces connect, group by group."""
        beside: dict[str, list[str]] = {}
        for p in self.pieces:
            beside.setdefault(p.start, []).append(p.end)
            beside.setdefault(p.end, []).append(p.start)
        seen: set[str] = set()
        found = []
        for name in beside:
            if name in seen:
                continue
            group, waiting = [], [name]
            seen.add(name)
            while waiting:
                one = waiting.pop()
                group.append(one)
                for other in beside[one]:
                    if other not in seen:
                        seen.add(other)
                        waiting.append(other)
            found.append(group)
        return found


def _tidy(values: Any) -> m.Vector:
    x, y, z = (round(float(v), 9) + 0.0 for v in values)
    return x, y, z


def place(
    form: f.LineForm,
    pipes: Mapping[str, m.Pipe],
    joints: Mapping[str, f.JointData],
    lines: dict[Path, int],
    say: Say,
) -> Placed:
    """Lay the runs in space; faults go to ``say(path, words, station)``."""
    placed = Placed()
    corners = {leg.to for run in form.run for leg in run.legs if leg.bend not in {None, "square"}}
    for n, station in enumerate(form.station):
        if len(station.at) != 3:
            say(("station", n, "at"), "must be [east, north, up]", station.name)
            continue
        if station.name in placed.stations or station.name in placed.corners:
            say(("station", n), "is defined twice; give one another name", station.name)
        where = placed.corners if station.name in corners else placed.stations
        where[station.name] = _tidy(station.at)
        placed.lines[station.name] = line_of(lines, ("station", n))
    waiting = list(range(len(form.run)))
    while waiting:
        ready = [
            n
            for n in waiting
            if n == 0
            or form.run[n].at is not None
            or placed.aliases.get(form.run[n].start, form.run[n].start) in placed.stations
        ]
        if not ready:
            for n in waiting:
                start = form.run[n].start
                lost = start in placed.left_out
                placed.left_out |= _ends(form.run[n]) - placed.stations.keys()
                if lost:
                    continue
                hint = (
                    f"it is the corner of a bend; use {start}.in or {start}.out"
                    if start in placed.corners
                    else "start at a station of another run, or give at = [east, north, up]"
                )
                say(("run", n), f"is not connected: no run reaches {start!r}; {hint}", start)
            break
        n = ready[0]
        waiting.remove(n)
        run = _Run(form.run[n], n, placed, pipes, joints, lines, say)
        run.lay()
        if run.failed:
            placed.left_out |= _ends(form.run[n]) - placed.stations.keys() - placed.corners.keys()
    return placed


def _ends(run: f.RunForm) -> set[str]:
    """Every station that the legs of a run would make."""
    made = (leg.tangents or (f"{leg.to}.in", f"{leg.to}.out") for leg in run.legs)
    return {run.start} | {leg.to for leg in run.legs} | {name for names in made for name in names}


class _Run:
    def __init__(
        self,
        run: f.RunForm,
        n: int,
        placed: Placed,
        pipes: Mapping[str, m.Pipe],
        joints: Mapping[str, f.JointData],
        lines: dict[Path, int],
        say: Say,
    ) -> None:
        self.run, self.n, self.placed, self.pipes = run, n, placed, pipes
        self.joints, self.lines, self.failed = joints, lines, False

        def told(*fault: Any) -> None:
            self.failed = True
            say(*fault)

        self.say: Say = told

    def path(self, k: int) -> Path:
        return ("run", self.n, "legs", k)

    def direction(self, leg: f.LegForm, here: Any, last: Any, path: Path) -> Any:
        """The vector of a leg, or ``None`` after a fault."""
        moves = [(word, getattr(leg, word)) for word in WORDS if getattr(leg, word) is not None]
        ways = bool(moves) + (leg.at is not None) + (leg.along is not None)
        length = leg.along
        if ways == 0 and leg.joint is not None:
            data = self.joints.get(leg.joint)
            length = None if data is None else data.length or data.over_both
            ways = 1 if length is not None else 0
        if ways > 1:
            self.say(path, "states its end twice; give directions, along, or at", leg.to)
            return None
        if moves:
            return np.sum([np.array(WORDS[word]) * value for word, value in moves], axis=0)
        if leg.at is not None:
            if len(leg.at) != 3:
                self.say(path, "at must be [east, north, up]", leg.to)
                return None
            return np.array(leg.at) - here
        if length is not None:
            if length < 0.0:
                self.say(path, "goes along by less than nothing; give its length above 0", leg.to)
                return None
            if leg.bearing is not None or leg.slope is not None:
                if leg.bearing is None:
                    if last is None or math.hypot(last[0], last[1]) < 1e-9:
                        self.say(path, "has a slope without a bearing; give bearing", leg.to)
                        return None
                    turn = math.atan2(last[0], last[1])
                else:
                    turn = leg.bearing
                way = np.array([math.sin(turn), math.cos(turn), leg.slope or 0.0])
                return length * way / np.linalg.norm(way)
            if last is None:
                self.say(path, "goes along, but nothing went before; give a direction", leg.to)
                return None
            return length * last
        known = self.placed.stations.get(leg.to, self.placed.corners.get(leg.to))
        if known is not None:
            return np.array(known) - here
        self.say(
            path, "says neither how far nor which way; give east/west/north/south/up/down, "
            "along, at, or a known station", leg.to,
        )  # fmt: skip
        return None

    def lay(self) -> None:
        run, placed = self.run, self.placed
        start = placed.aliases.get(run.start, run.start)
        if start in placed.stations:
            here = np.array(placed.stations[start])
            if run.at is not None and np.linalg.norm(np.array(run.at) - here) > CLOSES:
                self.say(("run", self.n, "at"), "the station is already somewhere else", start)
        else:
            at = run.at if run.at is not None else (0.0, 0.0, 0.0)
            if len(at) != 3:
                self.say(("run", self.n, "at"), "must be [east, north, up]", start)
                return
            here = np.array(at, dtype=float)
            placed.stations[start] = _tidy(here)
            placed.lines[start] = line_of(self.lines, ("run", self.n))
        first, last, pipe_name = here, None, run.pipe
        rows: list[tuple[int, f.LegForm, Any, Any, str]] = []
        for k, leg in enumerate(run.legs):
            vector = self.direction(leg, here, last, self.path(k))
            pipe_name = leg.pipe or pipe_name
            if vector is None:
                break
            kinds = [
                word for word in ("reducer", "rigid", "joint") if getattr(leg, word) is not None
            ]
            if len(kinds) > 1:
                self.say(
                    self.path(k), f"is {' and '.join(kinds)} at once; make a leg of each", leg.to
                )
            if not kinds:
                self.known(pipe_name, k, leg.to)
                if leg.mass is not None:
                    self.say(
                        (*self.path(k), "mass"),
                        'has a mass without a rigid piece; write rigid = "NAME" too',
                        leg.to,
                    )
            far = float(np.max(np.abs(here + vector)))
            if far > FURTHEST:
                self.say(
                    self.path(k),
                    f"ends {far / 1e3:.3g} km from the origin; a line stays within "
                    f"{FURTHEST / 1e3:.0f} km: check the unit and the sign",
                    leg.to,
                )
                break
            size = float(np.linalg.norm(vector))
            if size < SHORT:
                self.say(self.path(k), "has no length; give a length or leave the leg out", leg.to)
                placed.zero.add(frozenset((rows[-1][1].to if rows else start, leg.to)))
                break
            way = vector / size
            end = here + vector
            known = placed.stations.get(leg.to, placed.corners.get(leg.to))
            if known is not None:
                miss = end - np.array(known)
                error = float(np.linalg.norm(miss))
                if error > CLOSES:
                    self.say(
                        self.path(k),
                        f"{leg.to!r} already stands elsewhere (line "
                        f"{placed.lines.get(leg.to, 0)}): this leg misses it by {1e3 * error:.1f} "
                        f"mm (east {1e3 * miss[0]:.1f}, north {1e3 * miss[1]:.1f}, up "
                        f"{1e3 * miss[2]:.1f} mm). Correct a length if the loop shall close here, "
                        f'write only to = "{leg.to}" to go straight there, or use another name',
                        leg.to,
                    )
                    break
                end = np.array(known)
                way = (end - here) / np.linalg.norm(end - here)
            rows.append((k, leg, here, end, pipe_name))
            pipe_name = leg.reducer or pipe_name
            here, last = end, way
            if leg.bend in {None, "square"}:
                placed.stations.setdefault(leg.to, _tidy(end))
            else:
                placed.corners.setdefault(leg.to, _tidy(end))
            placed.lines.setdefault(leg.to, line_of(self.lines, self.path(k)))
        self.build(rows, start, first)

    def known(self, name: str, k: int, station: str) -> bool:
        if name in self.pipes:
            return True

        self.say(
            self.path(k),
            f"pipe {name!r} is not defined; {near(name, self.pipes)}"
            if name
            else "has no pipe; name one in the run or the leg",
            station,
        )
        return False

    def build(self, rows: list[tuple[int, f.LegForm, Any, Any, str]], start: str, _: Any) -> None:
        placed, before, used = self.placed, start, 0.0
        bend_from: tuple[f.LegForm, float, int, str] | None = None
        for n, (k, leg, here, end, pipe) in enumerate(rows):
            way, size = (end - here) / np.linalg.norm(end - here), float(np.linalg.norm(end - here))
            at, path = line_of(self.lines, self.path(k)), self.path(k)
            need, radius, angle = 0.0, 0.0, 0.0
            following = rows[n + 1] if n + 1 < len(rows) else None
            if following is not None:
                nxt = following[3] - following[2]
                angle = math.acos(
                    max(-1.0, min(1.0, float(way @ nxt) / float(np.linalg.norm(nxt))))
                )
            bend = None if leg.bend == "square" else leg.bend
            curved = bend is not None
            plain = leg.reducer is None and leg.rigid is None and leg.joint is None
            if bend is not None:
                if not plain:
                    self.say(path, "a bend ends a leg of pipe, not this piece", leg.to)
                    return
                if following is None:
                    self.say(path, "ends with a bend, but no leg follows it", leg.to)
                    return
                if angle < TURN or math.pi - angle < 1e-3:
                    self.say(path, "has a bend where the line goes straight on or back", leg.to)
                    return
                if pipe not in self.pipes:
                    return
                try:
                    radius = radius_of(bend, self.pipes[pipe])
                except TakeupError as fault:
                    self.say((*path, "bend"), str(fault), leg.to)
                    return
                if radius <= 0.0:
                    self.say((*path, "bend"), "must have a radius above zero", leg.to)
                    return
                need = radius * math.tan(angle / 2.0)
            elif following is not None and angle > TURN and leg.bend is None:
                self.say(
                    path,
                    f"turns by {math.degrees(angle):.1f} deg without a bend; give bend = a radius, "
                    '"long" or "short", or "square" for a corner cut square',
                    leg.to,
                )
            left = size - used - need
            if left < -SHORT:
                self.say(
                    path,
                    f"the leg is {1e3 * size:.6g} mm, shorter than its bends need "
                    f"({1e3 * used:.6g} + {1e3 * need:.6g} mm): lengthen it or take a smaller "
                    "radius",
                    leg.to,
                )
                return
            gone = left < SHORT
            names = leg.tangents if len(leg.tangents) == 2 else (f"{leg.to}.in", f"{leg.to}.out")
            stop = names[0] if curved else leg.to
            if curved and not (gone and bend_from is None):
                placed.stations[stop] = _tidy(end - need * way)
                placed.lines.setdefault(stop, at)
            if bend_from is not None:
                corner, r, line, of = bend_from
                inner = before
                outer = corner.tangents[1] if len(corner.tangents) == 2 else f"{corner.to}.out"
                if gone and not curved:
                    placed.aliases[outer] = stop
                    outer = stop
                else:
                    placed.stations[outer] = _tidy(here + used * way)
                    placed.lines.setdefault(outer, line)
                placed.pieces.append(
                    m.Bend(
                        at=line,
                        start=inner,
                        end=outer,
                        pipe=of,
                        corner=placed.corners[corner.to],
                        radius=r,
                        flanged=corner.flanged,
                        mitre=corner.mitre,
                    )
                )
                placed.along[outer] = _tidy(way)
                before = outer
            if gone:
                if curved:
                    placed.aliases[stop] = before
                    placed.stations.pop(stop, None)
            else:
                piece = self.piece(leg, before, stop, pipe, at, path, size)
                if piece is None:
                    return
                placed.pieces.append(piece)
                placed.along.setdefault(before, _tidy(way))
                placed.along[stop] = _tidy(way)
                before = stop
            bend_from = (leg, radius, at, pipe) if curved else None
            used = need

    def piece(
        self, leg: f.LegForm, start: str, end: str, pipe: str, at: int, path: Path, size: float
    ) -> m.Piece | None:
        if leg.joint is not None:
            data = self.joints.get(leg.joint)
            if data is None:
                self.say(
                    path,
                    f"joint {leg.joint!r} is not in the register with all that a line needs, nor "
                    "in a [[joint]]; "
                    + (near(leg.joint, self.joints) if self.joints else "give a [[joint]]"),
                    leg.to,
                )
                return None
            inside = data.over_both or sum(part.length for part in data.bellows)
            if inside > size + SHORT:
                self.say(
                    path,
                    f"joint {leg.joint} is {1e3 * size:.0f} mm between its ends, but its bellows "
                    f"take {1e3 * inside:.0f} mm; correct one",
                    leg.to,
                )
                return None
            return m.Joint(
                at=at, tag=leg.joint, start=start, end=end, bellows=data.bellows,
                spool_pipe=data.spool_pipe, over_both=data.over_both, hardware=data.hardware,
                locked=data.locked, design=data.design,
            )  # fmt: skip
        if leg.rigid is not None:
            if leg.mass is None:
                self.say(path, f"rigid piece {leg.rigid!r} has no mass; give mass", leg.to)
                return None
            return m.Rigid(
                at=at, start=start, end=end, mass=leg.mass, metal=leg.metal, name=leg.rigid
            )
        if leg.reducer is not None:
            k = int(path[-1])
            if not self.known(pipe, k, leg.to) or not self.known(leg.reducer, k, leg.to):
                return None
            return m.Reducer(at=at, start=start, end=end, pipe=pipe, to_pipe=leg.reducer)
        return m.Straight(at=at, start=start, end=end, pipe=pipe)
