"""What a browser needs to turn a line about: shapes in space, places to look at, their numbers.

A pure function of a solved line: geometry in metres east, north and up from the middle of the
line, numbers in words of the units asked for.  The symbols are those of the drawing on paper.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import msgspec
import numpy as np

from takeup.checks import Check, Outcome
from takeup.documents.drawing.isometric_parts import (
    box_symbol,
    carried,
    curve,
    kind_of_support,
    rod,
    support_symbol,
    zigzag,
)
from takeup.documents.drawing.palette import WEB, Palette
from takeup.documents.drawing.svg import Svg
from takeup.errors import Contradiction, UnknownName
from takeup.line.model import (
    Anchor,
    Bend,
    Guide,
    Joint,
    Line,
    Piece,
    Reducer,
    Rest,
    Rigid,
    RodHanger,
    Stop,
    Strut,
    Support,
)
from takeup.line.solve import JointMovement, StateResult
from takeup.units import Array, System, shown

STILL = 1.0
"""A support that carries less than this carries nothing [N]."""
BENT, STRAIGHT = 13, 9
"""Points along a bend and along anything else."""
Triple = tuple[float, float, float]
Row = tuple[str, ...]
"""What, its value, and its value before a change where there was one."""
Link = tuple[str, str]


class SceneState(msgspec.Struct, frozen=True, kw_only=True):
    """A state that can be looked at."""

    name: str
    largest: float
    """Largest movement of a station, of both shapes where there are two [m]"""
    words: str
    usable: bool


class ScenePiece(msgspec.Struct, frozen=True, kw_only=True):
    """A piece of the line: its axis, and where its axis goes in each state."""

    kind: str
    """pipe, joint, rigid or reducer"""
    points: tuple[Triple, ...]
    """Of the axis [m]"""
    size: float
    """Outside diameter at its start [m]; 0: not known"""
    size_to: float
    """At its end [m]"""
    over: bool
    """Whether a check on it is not met"""
    locked: bool = False
    spans: tuple[tuple[float, float], ...] = ()
    """Where along a joint its bellows stand [-]"""
    moved: tuple[tuple[Triple, ...], ...] = ()
    """Movement of the points by state [m]"""


class SceneTarget(msgspec.Struct, frozen=True, kw_only=True):
    """A place that can be looked at: station, joint, support or rigid part."""

    name: str
    kind: str
    """In words, such as variable spring"""
    group: str
    """joint, support, part or station"""
    at: Triple
    symbol: str = ""
    along: Triple = (1.0, 0.0, 0.0)
    """Of the pipe there"""
    size: float = 0.0
    """Outside diameter of the pipe there [m]"""
    held: Triple | None = None
    """Direction that a guide, stop or strut holds"""
    moved: tuple[Triple, ...] = ()
    """By state [m]"""
    push: tuple[Triple, ...] = ()
    """Load of the line on an anchor by state, of the largest [-]"""
    numbers: tuple[tuple[Row, ...], ...] = ()
    """By state"""
    gone: bool = False
    """Whether a change took it away"""
    says: tuple[str, ...] = ()
    """By state: anything out of the ordinary"""
    links: tuple[Link, ...] = ()


class Scene(msgspec.Struct, frozen=True, kw_only=True):
    """A line to be turned about."""

    tag: str
    states: tuple[SceneState, ...]
    pieces: tuple[ScenePiece, ...]
    targets: tuple[SceneTarget, ...]
    before: tuple[ScenePiece, ...] = ()
    """Pieces of the line before a change"""
    symbols: dict[str, str] = {}
    """By kind of support: what to draw at the origin, pipe along x"""
    key: tuple[tuple[str, str], ...] = ()
    """A small drawing and its words"""
    compared: tuple[str, str] | None = None
    """Heads of the columns of values where there are two"""


def scene(
    line: Line,
    results: Sequence[StateResult] = (),
    *,
    checks: Sequence[Check] = (),
    before: tuple[Line, Sequence[StateResult]] | None = None,
    gone: Sequence[str] = (),
    said: Mapping[str, Sequence[Row]] | None = None,
    links: Mapping[str, Sequence[Link]] | None = None,
    system: System = System.METRIC,
    palette: Palette = WEB,
) -> Scene:
    """The scene of ``line`` in the states of ``results``.

    ``checks`` mark pieces over a limit.  ``before`` is the line before a change, with the same
    states solved: its shape stands beside, its numbers in a second column.  ``gone`` names supports
    that the change took away.  ``said`` adds rows
    to the numbers of a joint or support in every state, ``links`` where else to look.  Raises
    as :func:`takeup.documents.drawing.isometric`.
    """
    made = _Made(line, results, checks, before, said or {}, links or {}, system, palette)
    made.gone = frozenset(gone)
    return made.scene()


class _Shape:
    """A line and its results, as places and movements of places."""

    def __init__(self, line: Line, results: Sequence[StateResult]) -> None:
        if not line.pieces:
            raise Contradiction(f"line {line.tag!r} has no pieces to draw")
        for result in results:
            if len(result.motion) < len(line.stations):
                raise Contradiction(
                    f"state {result.state!r} was solved on another line than {line.tag!r}"
                )
        self.line, self.results = line, results
        self.place = {station.name: at for at, station in enumerate(line.stations)}
        self.at = np.array([station.position for station in line.stations], dtype=float)
        self.curves = [
            curve(p, self.point(p.start), self.point(p.end), BENT if isinstance(p, Bend) else STRAIGHT)
            for p in line.pieces
        ]  # fmt: skip

    def index(self, station: str) -> int:
        try:
            return self.place[station]
        except KeyError:
            raise UnknownName("station", station, tuple(self.place)) from None

    def point(self, station: str) -> Array:
        found: Array = self.at[self.index(station)]
        return found

    def moved(self, result: StateResult, at: int) -> Array:
        """Movement of the points of a piece."""
        piece = self.line.pieces[at]
        ends = result.motion[self.index(piece.start)], result.motion[self.index(piece.end)]
        return carried(piece, self.curves[at], *ends)

    def result(self, state: str) -> StateResult | None:
        return next((one for one in self.results if one.state == state), None)


class _Made:
    """One scene while it is made."""

    def __init__(
        self, line: Line, results: Sequence[StateResult], checks: Sequence[Check],
        before: tuple[Line, Sequence[StateResult]] | None, said: Mapping[str, Sequence[Row]],
        links: Mapping[str, Sequence[Link]], system: System, palette: Palette,
    ) -> None:  # fmt: skip
        self.shape = _Shape(line, results)
        self.was = _Shape(*before) if before else None
        self.line, self.results = line, results
        self.said, self.links, self.system, self.palette = said, links, system, palette
        self.gone: frozenset[str] = frozenset()
        anchors = {one.name for one in line.supports if isinstance(one, Anchor)}
        self.most = max(
            (
                float(np.linalg.norm(one.force))
                for result in results
                for one in result.reactions
                if one.name in anchors
            ),
            default=0.0,
        )
        every = np.vstack([*self.shape.curves, *(self.was.curves if self.was else ())])
        self.middle = (every.min(axis=0) + every.max(axis=0)) / 2.0
        self.over = {
            check.id.partition("@")[2] for check in checks if check.outcome == Outcome.NOT_MET
        }

    def scene(self) -> Scene:
        supports: dict[str, None] = {}
        for one in self.line.supports:
            supports[kind_of_support(one)] = None
        return Scene(
            tag=self.line.tag,
            states=tuple(self._state(one) for one in self.results),
            pieces=self._pieces(self.shape),
            targets=self._targets(),
            before=self._pieces(self.was) if self.was else (),
            symbols={kind: self._symbol(kind) for kind in supports},
            key=self._key(list(supports)),
            compared=("after", "before") if self.was else None,
        )

    def _words(self, value: float, kind: str) -> str:
        return shown(value, kind, self.system)

    def _state(self, result: StateResult) -> SceneState:
        moves = np.linalg.norm(result.motion[: len(self.line.stations), :3], axis=1)
        at = int(np.argmax(moves))
        largest = float(moves[at])
        words = (
            f"The largest movement is {self._words(largest, 'movement')}, "
            f"at {self.line.stations[at].name}."
        )
        if self.was and (old := self.was.result(result.state)) is not None:
            past = np.linalg.norm(old.motion[: len(self.was.line.stations), :3], axis=1)
            words += f" Before the change it is {self._words(float(past.max()), 'movement')}."
            largest = max(largest, float(past.max()))
        good = result.certificate.good
        if not good:
            words = "This state is not solved well enough to be used. " + words
        return SceneState(name=result.state, largest=largest, words=words, usable=good)

    def _pieces(self, shape: _Shape) -> tuple[ScenePiece, ...]:
        return tuple(self._piece(shape, at) for at in range(len(shape.line.pieces)))

    def _piece(self, shape: _Shape, at: int) -> ScenePiece:
        piece = shape.line.pieces[at]
        sizes = {pipe.name: pipe.outside for pipe in shape.line.pipes}
        name = piece.spool_pipe if isinstance(piece, Joint) else getattr(piece, "pipe", "")
        size = sizes.get(name) or _beside(piece, shape.line, sizes)
        moved = []
        for one in self.results:
            result = shape.result(one.state)
            moved.append(() if result is None else _triples(shape.moved(result, at)))
        return ScenePiece(
            kind=_kind(piece),
            points=_triples(shape.curves[at] - self.middle),
            size=size,
            size_to=sizes.get(piece.to_pipe, size) if isinstance(piece, Reducer) else size,
            over=f"{piece.start}/{piece.end}" in self.over
            or (isinstance(piece, Joint) and piece.tag in self.over),
            locked=isinstance(piece, Joint) and piece.locked,
            spans=_spans(piece, shape) if isinstance(piece, Joint) else (),
            moved=tuple(moved),
        )

    def _targets(self) -> tuple[SceneTarget, ...]:
        joints = [self._joint(p) for p in self.line.pieces if isinstance(p, Joint)]
        supports = [self._support(one) for one in self.line.supports]
        parts = [self._part(p) for p in self.line.pieces if isinstance(p, Rigid) and p.name]
        stations = [self._station(one.name) for one in self.line.stations]
        return (*joints, *supports, *parts, *stations)

    def _joint(self, joint: Joint) -> SceneTarget:
        numbers = []
        for result in self.results:
            old = self.was.result(result.state) if self.was else None
            rows: list[Row] = []
            for move in result.joints:
                if move.tag != joint.tag or (move.number is not None and len(joint.bellows) == 1):
                    continue
                head = "" if move.number is None else f"bellows {'AB'[move.number]} "
                past = next(
                    (
                        one
                        for one in (old.joints if old else ())
                        if (one.tag, one.number) == (move.tag, move.number)
                    ),
                    None,
                )
                then = _movement(past) if past else {}
                for (words, kind), value in _movement(move).items():
                    rows.append(self._row(head + words, kind, value, then.get((words, kind))))
            numbers.append((*rows, *self.said.get(joint.tag, ())))
        kind = "joint, boxed in" if joint.locked else "joint"
        return SceneTarget(
            name=joint.tag,
            kind=kind,
            group="joint",
            at=self._between(joint),
            moved=self._moved_between(joint),
            numbers=tuple(numbers),
            says=("",) * len(self.results),
            links=tuple(self.links.get(joint.tag, ())),
        )

    def _row(self, words: str, kind: str, value: float, then: float | None) -> Row:
        first = (words, self._words(value + 0.0, kind))
        if self.was is None:
            return first
        return (*first, "–" if then is None else self._words(then + 0.0, kind))

    def _support(self, one: Support) -> SceneTarget:
        numbers, says, push = [], [], []
        most = self.most
        for result in self.results:
            now = result.reaction(one.name)
            old = self.was.result(result.state) if self.was else None
            past = next((r for r in old.reactions if r.name == one.name), None) if old else None
            rows = [self._row("load", "force", float(np.linalg.norm(now.force)),
                              None if past is None else float(np.linalg.norm(past.force)))]  # fmt: skip
            for k, way in enumerate(("east", "north", "up")):
                rows.append(self._row(f"load {way}", "force", now.force[k],
                                      None if past is None else past.force[k]))  # fmt: skip
            if isinstance(one, Anchor):
                for k, way in enumerate(("east", "north", "up")):
                    rows.append(self._row(f"moment about {way}", "moment", now.moment[k],
                                          None if past is None else past.moment[k]))  # fmt: skip
            for k, way in enumerate(("east", "north", "up")):
                rows.append(self._row(f"moved {way}", "movement", now.movement[k],
                                      None if past is None else past.movement[k]))  # fmt: skip
            rows.append(self._allowed(one))
            numbers.append((*(row for row in rows if row), *self.said.get(one.name, ())))
            still = float(np.linalg.norm(now.force)) < STILL
            words = "gone: it carries nothing" if one.name in self.gone else ""
            if words:
                pass
            elif still and isinstance(one, Rest):
                words = "the line has lifted off it, or never reached it"
            elif still and isinstance(one, RodHanger):
                words = "the rod is slack"
            says.append(words)
            share = np.array(now.force) / most if most > STILL else np.zeros(3)
            push.append(_triple(share))
        held = one.across if isinstance(one, Guide) else None
        if isinstance(one, (Stop, Strut)):
            held = one.direction
        kind = kind_of_support(one)
        at = self.shape.index(one.station)
        return SceneTarget(
            name=one.name,
            kind=f"{kind} at {one.station}" if one.name != one.station else kind,
            group="support",
            at=_triple(self.shape.at[at] - self.middle),
            symbol=kind,
            along=self._along(one.station),
            size=self._size(one.station),
            gone=one.name in self.gone,
            held=None if held is None else _triple(np.array(held, dtype=float)),
            moved=tuple(_triple(r.motion[at, :3]) for r in self.results),
            push=tuple(push) if isinstance(one, Anchor) else (),
            numbers=tuple(numbers),
            says=tuple(says),
            links=tuple(self.links.get(one.name, ())),
        )

    def _allowed(self, one: Support) -> Row:
        allowed = getattr(one, "allowed", None)
        if not hasattr(one, "allowed"):
            return ()
        if allowed is None:
            words = "not stated"
        elif isinstance(one, Anchor):
            words = (
                " / ".join([*(shown(v, "force", self.system, unit=False) for v in allowed[:3])])
                + f" {self._words(0.0, 'force').split()[-1]}"
            )
        else:
            words = self._words(allowed, "force")
        return ("allowed", words) if self.was is None else ("allowed", words, words)

    def _part(self, part: Rigid) -> SceneTarget:
        mass = self._words(part.mass, "mass")
        row: Row = ("mass", mass) if self.was is None else ("mass", mass, mass)
        return SceneTarget(
            name=part.name,
            kind="rigid part",
            group="part",
            at=self._between(part),
            moved=self._moved_between(part),
            numbers=((row,),) * len(self.results),
            says=("",) * len(self.results),
        )

    def _station(self, name: str) -> SceneTarget:
        at = self.shape.index(name)
        numbers = []
        for result in self.results:
            old = self.was.result(result.state) if self.was else None
            past = None
            if old is not None and self.was is not None and name in self.was.place:
                past = old.motion[self.was.place[name]]
            now = result.motion[at]
            rows = []
            for k, words in enumerate(("moved east", "moved north", "moved up")):
                rows.append(self._row(words, "movement", float(now[k]),
                                      None if past is None else float(past[k])))  # fmt: skip
            for k, words in enumerate(("turned about east", "about north", "about up"), 3):
                rows.append(self._row(words, "angle", float(now[k]),
                                      None if past is None else float(past[k])))  # fmt: skip
            numbers.append(tuple(rows))
        return SceneTarget(
            name=name,
            kind="station",
            group="station",
            at=_triple(self.shape.at[at] - self.middle),
            moved=tuple(_triple(r.motion[at, :3]) for r in self.results),
            numbers=tuple(numbers),
            says=("",) * len(self.results),
        )

    def _between(self, piece: Piece) -> Triple:
        ends = self.shape.point(piece.start), self.shape.point(piece.end)
        return _triple((ends[0] + ends[1]) / 2.0 - self.middle)

    def _moved_between(self, piece: Piece) -> tuple[Triple, ...]:
        a, b = self.shape.index(piece.start), self.shape.index(piece.end)
        return tuple(_triple((r.motion[a, :3] + r.motion[b, :3]) / 2.0) for r in self.results)

    def _along(self, station: str) -> Triple:
        for piece, points in zip(self.line.pieces, self.shape.curves, strict=True):
            if station in {piece.start, piece.end}:
                way = points[1] - points[0] if station == piece.start else points[-1] - points[-2]
                size = float(np.linalg.norm(way))
                if size > 1e-9:
                    return _triple(way / size)
        return (1.0, 0.0, 0.0)

    def _size(self, station: str) -> float:
        sizes = {pipe.name: pipe.outside for pipe in self.line.pipes}
        return max(
            (
                sizes.get(getattr(piece, "pipe", ""), 0.0)
                for piece in self.line.pieces
                if station in {piece.start, piece.end}
            ),
            default=0.0,
        )

    def _symbol(self, kind: str) -> str:
        svg = Svg(1, 1, "", "", self.palette)
        support_symbol(svg, kind, (0.0, 0.0), (1.0, 0.0), _default_held(kind))
        return "".join(svg.parts)

    def _key(self, supports: Sequence[str]) -> tuple[tuple[str, str], ...]:
        kinds = {_kind(piece) for piece in self.line.pieces}
        entries: list[tuple[str, str]] = [("joint", "joint")] if "joint" in kinds else []
        entries += [(kind, kind) for kind in supports]
        for kind, words in (("rigid", "rigid part, as a valve"), ("reducer", "reducer")):
            if kind in kinds:
                entries.append((kind, words))
        if any(isinstance(one, Anchor) for one in self.line.supports) and self.results:
            entries.append(("load", "load of the line on an anchor"))
        if self.results:
            entries.append(("moved", "deflected shape" + (", after" if self.was else "")))
        if self.was:
            entries.append(("before", "deflected shape, before"))
        if self.gone:
            entries.append(("gone", "support that is gone"))
        if self.over:
            entries.append(("over", "over a limit"))
        return tuple((self._sample(kind), words) for kind, words in entries)

    def _sample(self, kind: str) -> str:
        """A small drawing of one entry of the key."""
        svg, p = Svg(44.0, 52.0, "", "", self.palette), self.palette
        a, b, middle = (3.0, 26.0), (41.0, 26.0), (22.0, 26.0)
        if kind == "load":
            svg.arrow(*a, *b, width=2.0, head=8, stroke=p.accent)
        elif kind in {"moved", "before"}:
            dash, stroke = ("6 3", p.accent) if kind == "moved" else ("1.5 3.5", p.soft)
            svg.line(*a, *b, stroke=stroke, width=1.8, dash=dash)
        elif kind == "gone":
            rod(svg, (14.0, 18.0), (30.0, 34.0), 2.4)
            rod(svg, (14.0, 34.0), (30.0, 18.0), 2.4)
        elif kind == "over":
            svg.line(*a, *b, stroke=p.warn, width=8.0)
            svg.line(*a, *b, stroke=p.paper, width=4.0, dash="3 3")
        else:
            rod(svg, a, b, 2.6)
            if kind == "joint":
                zigzag(svg, (9.0, 26.0), (35.0, 26.0))
            elif kind == "rigid":
                box_symbol(svg, (9.0, 26.0), (35.0, 26.0), 7.0, crossed=True)
            elif kind == "reducer":
                box_symbol(svg, (9.0, 26.0), (35.0, 26.0), 8.0, 4.0)
            else:
                support_symbol(svg, kind, middle, (1.0, 0.0))
        return (
            '<svg viewBox="0 0 44 52" width="44" height="52" aria-hidden="true" '
            f'focusable="false">{"".join(svg.parts)}</svg>'
        )


def _movement(move: JointMovement) -> dict[tuple[str, str], float]:
    """What is told of a movement: words and kind of quantity to value."""
    found = {
        ("axial (+ longer)", "movement"): move.axial,
        ("lateral", "movement"): math.hypot(*move.lateral),
        ("angular", "angle"): math.hypot(*move.angular),
    }
    return found if move.number is not None else {**found, ("twist", "angle"): move.torsion}


def _default_held(kind: str) -> tuple[float, float] | None:
    """Along x for what turns with what it holds; its symbol is turned from there."""
    return (1.0, 0.0) if kind in {"stop", "strut"} else None


def _beside(piece: Piece, line: Line, sizes: Mapping[str, float]) -> float:
    """Size of the pipe beside a piece that has none [m]; 0: not known."""
    ends = {piece.start, piece.end}
    return next(
        (
            sizes.get(other.pipe, 0.0)
            for other in line.pieces
            if not isinstance(other, (Joint, Rigid)) and {other.start, other.end} & ends
        ),
        0.0,
    )


def _kind(piece: Piece) -> str:
    if isinstance(piece, Joint):
        return "joint"
    if isinstance(piece, Rigid):
        return "rigid"
    return "reducer" if isinstance(piece, Reducer) else "pipe"


def _spans(joint: Joint, shape: _Shape) -> tuple[tuple[float, float], ...]:
    whole = float(np.linalg.norm(shape.point(joint.end) - shape.point(joint.start))) or 1.0
    if len(joint.bellows) == 1:
        share = min(1.0, joint.bellows[0].length / whole)
        return ((0.5 - share / 2, 0.5 + share / 2),)
    over = min(1.0, (joint.over_both or whole) / whole)
    start, end = 0.5 - over / 2, 0.5 + over / 2
    return (
        (start, start + joint.bellows[0].length / whole),
        (end - joint.bellows[-1].length / whole, end),
    )


def _triple(values: Array) -> Triple:
    x, y, z = (float(f"{v:.6g}") + 0.0 for v in values)
    return x, y, z


def _triples(points: Array) -> tuple[Triple, ...]:
    return tuple(_triple(point) for point in points)
