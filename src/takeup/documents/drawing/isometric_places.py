"""The places of a line that can be looked at, with their numbers in words by state."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence

import numpy as np

from takeup.documents.drawing.isometric_parts import kind_of_support
from takeup.documents.drawing.isometric_scene_parts import (
    Link,
    Row,
    SceneTarget,
    Shape,
    Triple,
    triple,
)
from takeup.line.model import (
    Anchor,
    Guide,
    Joint,
    Piece,
    Rest,
    Rigid,
    RodHanger,
    Stop,
    Strut,
    Support,
)
from takeup.line.solve import JointMovement
from takeup.units import Array, System, shown

STILL = 1.0
"""A support that carries less than this carries nothing [N]."""


class Places:
    """Joints, supports, rigid parts and stations of a line in every state."""

    def __init__(
        self, shape: Shape, was: Shape | None, middle: Array, system: System,
        *, gone: Collection[str], said: Mapping[str, Sequence[Row]],
        links: Mapping[str, Sequence[Link]],
    ) -> None:  # fmt: skip
        """``was`` is the line before a change; ``middle`` where the origin is [m]."""
        self.shape, self.was, self.middle, self.system = shape, was, middle, system
        self.line, self.results = shape.line, shape.results
        self.gone, self.said, self.links = gone, said, links
        anchors = {one.name for one in self.line.supports if isinstance(one, Anchor)}
        self.most = max(
            (
                float(np.linalg.norm(one.force))
                for result in self.results
                for one in result.reactions
                if one.name in anchors
            ),
            default=0.0,
        )

    def _words(self, value: float, kind: str) -> str:
        return shown(value, kind, self.system)

    def targets(self) -> tuple[SceneTarget, ...]:
        """All of them, in the order in which one goes from place to place."""
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
            push.append(triple(share))
        held = one.across if isinstance(one, Guide) else None
        if isinstance(one, (Stop, Strut)):
            held = one.direction
        kind = kind_of_support(one)
        at = self.shape.index(one.station)
        return SceneTarget(
            name=one.name,
            kind=f"{kind} at {one.station}" if one.name != one.station else kind,
            group="support",
            at=triple(self.shape.at[at] - self.middle),
            symbol=kind,
            along=self._along(one.station),
            size=self._size(one.station),
            gone=one.name in self.gone,
            held=None if held is None else triple(np.array(held, dtype=float)),
            moved=tuple(triple(r.motion[at, :3]) for r in self.results),
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
            at=triple(self.shape.at[at] - self.middle),
            moved=tuple(triple(r.motion[at, :3]) for r in self.results),
            numbers=tuple(numbers),
            says=("",) * len(self.results),
        )

    def _between(self, piece: Piece) -> Triple:
        ends = self.shape.point(piece.start), self.shape.point(piece.end)
        return triple((ends[0] + ends[1]) / 2.0 - self.middle)

    def _moved_between(self, piece: Piece) -> tuple[Triple, ...]:
        a, b = self.shape.index(piece.start), self.shape.index(piece.end)
        return tuple(triple((r.motion[a, :3] + r.motion[b, :3]) / 2.0) for r in self.results)

    def _along(self, station: str) -> Triple:
        for piece, points in zip(self.line.pieces, self.shape.curves, strict=True):
            if station in {piece.start, piece.end}:
                way = points[1] - points[0] if station == piece.start else points[-1] - points[-2]
                size = float(np.linalg.norm(way))
                if size > 1e-9:
                    return triple(way / size)
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


def _movement(move: JointMovement) -> dict[tuple[str, str], float]:
    """What is told of a movement: words and kind of quantity to value."""
    found = {
        ("axial (+ longer)", "movement"): move.axial,
        ("lateral", "movement"): math.hypot(*move.lateral),
        ("angular", "angle"): math.hypot(*move.angular),
    }
    return found if move.number is not None else {**found, ("twist", "angle"): move.torsion}
