"""What a browser needs to turn a line about: shapes in space, places to look at, their numbers.

A pure function of a solved line: geometry in metres east, north and up from the middle of the
line, numbers in words of the units asked for.  The symbols are those of the drawing on paper.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from takeup.checks import Check, Outcome
from takeup.documents.drawing.isometric_parts import (
    box_symbol,
    kind_of_support,
    rod,
    support_symbol,
    zigzag,
)
from takeup.documents.drawing.isometric_places import Places
from takeup.documents.drawing.isometric_scene_parts import (
    Link,
    Row,
    Scene,
    ScenePiece,
    SceneState,
    Shape,
    beside,
    kind_of_piece,
    spans_of,
    triples,
)
from takeup.documents.drawing.palette import WEB, Palette
from takeup.documents.drawing.svg import Svg
from takeup.line.model import Anchor, Joint, Line, Reducer
from takeup.line.solve import StateResult
from takeup.units import System, shown


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
    return _Made(
        line, results, checks, before, gone, said or {}, links or {}, system, palette
    ).scene()


class _Made:
    """One scene while it is made."""

    def __init__(
        self, line: Line, results: Sequence[StateResult], checks: Sequence[Check],
        before: tuple[Line, Sequence[StateResult]] | None, gone: Sequence[str],
        said: Mapping[str, Sequence[Row]],
        links: Mapping[str, Sequence[Link]], system: System, palette: Palette,
    ) -> None:  # fmt: skip
        self.shape = Shape(line, results)
        self.was = Shape(*before) if before else None
        self.line, self.results, self.gone = line, results, gone
        self.said, self.links, self.system, self.palette = said, links, system, palette
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
            targets=Places(
                self.shape,
                self.was,
                self.middle,
                self.system,
                gone=self.gone,
                said=self.said,
                links=self.links,
            ).targets(),
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

    def _pieces(self, shape: Shape) -> tuple[ScenePiece, ...]:
        return tuple(self._piece(shape, at) for at in range(len(shape.line.pieces)))

    def _piece(self, shape: Shape, at: int) -> ScenePiece:
        piece = shape.line.pieces[at]
        sizes = {pipe.name: pipe.outside for pipe in shape.line.pipes}
        name = piece.spool_pipe if isinstance(piece, Joint) else getattr(piece, "pipe", "")
        size = sizes.get(name) or beside(piece, shape.line, sizes)
        moved = []
        for one in self.results:
            result = shape.result(one.state)
            moved.append(() if result is None else triples(shape.moved(result, at)))
        return ScenePiece(
            kind=kind_of_piece(piece),
            points=triples(shape.curves[at] - self.middle),
            size=size,
            size_to=sizes.get(piece.to_pipe, size) if isinstance(piece, Reducer) else size,
            over=f"{piece.start}/{piece.end}" in self.over
            or (isinstance(piece, Joint) and piece.tag in self.over),
            locked=isinstance(piece, Joint) and piece.locked,
            spans=spans_of(piece, shape) if isinstance(piece, Joint) else (),
            moved=tuple(moved),
        )

    def _symbol(self, kind: str) -> str:
        svg = Svg(1, 1, "", "", self.palette)
        support_symbol(svg, kind, (0.0, 0.0), (1.0, 0.0), _default_held(kind))
        return "".join(svg.parts)

    def _key(self, supports: Sequence[str]) -> tuple[tuple[str, str], ...]:
        kinds = {kind_of_piece(piece) for piece in self.line.pieces}
        entries: list[tuple[str, str]] = [("joint", "joint")] if "joint" in kinds else []
        if any(isinstance(one, Joint) and one.locked for one in self.line.pieces):
            entries.append(("locked", "joint boxed in"))
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
            if kind in {"joint", "locked"}:
                zigzag(svg, (9.0, 26.0), (35.0, 26.0), taut=kind == "locked")
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


def _default_held(kind: str) -> tuple[float, float] | None:
    """Along x for what turns with what it holds; its symbol is turned from there."""
    return (1.0, 0.0) if kind in {"stop", "strut"} else None
