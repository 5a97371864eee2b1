"""Stress factors at every end of every piece: by the book chosen, or stated by a person.

A factor that is not known here is not a number (NaN) with the reason; nothing is guessed.  A
branch connection acts in its own plane, found from the three directions that meet.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import msgspec
import numpy as np

from takeup.line import codes
from takeup.line.model import (
    Bend,
    Book,
    Line,
    OfTee,
    Pipe,
    Reducer,
    StatedFactors,
    Tee,
    TeeKind,
    Weld,
    WeldKind,
)
from takeup.line.planes import Plane, pipe_at, planes
from takeup.sources import Source, Standing
from takeup.units import Array

if TYPE_CHECKING:
    from takeup.line.frame import Frame

THIN = codes.THINNEST
"""D/T beyond which the factors have no data."""
FAMILIAR = math.radians(22.5)
"""Half angle of mitre cuts up to which the code takes them as a bend [rad]."""
CONE = math.radians(60.0)
PIPE = frozenset({"straight", "bend", "reducer", "stub", "spool"})
UNKNOWN = math.nan


def _at(book: Book, place: str, standing: Standing = Standing.MEMORY) -> Source:
    if book is Book.B31J:
        return Source(document="ASME B31J", edition="2017 form", at=place, standing=standing)
    return Source(
        document="ASME B31.3", edition="Appendix D form", at=place, standing=standing
    )  # fmt: skip


class Index(msgspec.Struct, frozen=True, kw_only=True):
    """Factors at one end of a piece [-]; NaN where they are not known."""

    inplane: float = 1.0
    outplane: float = 1.0
    torsion: float = 1.0
    axial: float = 1.0
    sustained: tuple[float, float, float] = (1.0, 1.0, 1.0)
    """In-plane, out-of-plane, torsion; 1 along the pipe"""
    source: Source
    refused: str = ""
    """What is not known, and what would be needed"""
    cautions: tuple[str, ...] = ()


class Place(msgspec.Struct, frozen=True, kw_only=True):
    """One end of an element as a code looks at it."""

    element: int
    end: int
    pipe: Pipe
    """There: along a reducer between its two sizes"""
    index: Index
    normal: tuple[float, float, float] | None = None
    """Of the plane of a branch connection; ``None``: the element's own"""
    effective: tuple[float, float] | None = None
    """Section modulus for bending of a branch, nominal and worn [m3]; ``None``: the pipe's own"""


STRAIGHT = {
    book: Index(source=_at(book, "straight pipe and butt welds, factor 1")) for book in Book
}


def _index(
    book: Book,
    source: Source,
    factors: tuple[float, float, float],
    *,
    axial: float = 1.0,
    cautions: tuple[str, ...] = (),
) -> Index:
    """With sustained indices of 0.75 of the factors, at least 1 (320.2)."""
    held = [max(1.0, 0.75 * one) for one in factors]
    if book is Book.APPENDIX_D and factors[2] == 1.0:
        held[2] = 1.0
    return Index(
        inplane=factors[0], outplane=factors[1], torsion=factors[2], axial=axial,
        sustained=(held[0], held[1], held[2]), source=source, cautions=cautions,
    )  # fmt: skip


def _thin(pipe: Pipe, what: str) -> tuple[str, ...]:
    ratio = pipe.outside / pipe.wall
    if ratio <= THIN:
        return ()
    return (
        f"D/T of pipe {pipe.name} is {ratio:.0f}; both books state their factors up to 100. A thin "
        f"{what} loses its shape, and pressure changes its factors, in ways that they do not "
        "show: take factors from a shell analysis of this piece, or this for an indication only.",
    )


def bend_index(book: Book, pipe: Pipe, bend: Bend) -> Index:
    """Smooth and mitred bends: the same in both books, torsion 1."""
    found = codes.of_bend(pipe, bend)
    cautions = _thin(pipe, "bend")
    standing = Standing.CONFIRMED if book is Book.APPENDIX_D else Standing.MEMORY
    place = "elbows and bends"
    if bend.mitre is not None:
        place, standing = "mitre bends", Standing.MEMORY
        spacing = 2.0 * bend.radius * math.tan(bend.mitre)
        close = spacing < codes.mean_radius(pipe.outside, pipe.wall) * (1.0 + math.tan(bend.mitre))
        place += ", closely spaced" if close else ", widely spaced"
        if bend.mitre > FAMILIAR:
            cautions = (
                *cautions,
                f"Half angle of {math.degrees(bend.mitre):.1f} deg between mitre cuts is above "
                "22.5: the factors were not meant for it.",
            )
    factors = (float(found.inside), float(found.outside), 1.0)
    return _index(book, _at(book, place, standing), factors, cautions=cautions)


def reducer_index(book: Book, first: Pipe, last: Pipe, length: float) -> Index:
    """A concentric reducer, by its cone and the small end."""
    if book is Book.B31J:
        return Index(
            inplane=UNKNOWN, outplane=UNKNOWN, torsion=UNKNOWN,
            sustained=(UNKNOWN, UNKNOWN, UNKNOWN), source=_at(book, "concentric reducers"),
            refused="B31J factor of a concentric reducer is not known here; state i_in, i_out and "
            "i_torsion from its Table 1-1 under [[factor]]",
        )  # fmt: skip
    small = first if first.outside <= last.outside else last
    slope = math.atan2(abs(first.outside - last.outside) / 2.0, length)
    factor = 0.5 + 0.01 * math.degrees(slope) * math.sqrt(small.outside / small.wall)
    factor = min(2.0, max(1.0, factor))
    cautions = _thin(small, "reducer")
    if slope > CONE:
        cautions = (
            *cautions,
            "The cone of the reducer is steeper than 60 deg, where the factor ends.",
        )
    source = Source(
        document="ASME B31.1", edition="Appendix D form",
        at="concentric reducers; ASME B31.3 Appendix D has 1", standing=Standing.MEMORY,
    )  # fmt: skip
    return _index(book, source, (factor, factor, 1.0), cautions=cautions)


def tee_index(
    book: Book, tee: Tee, run: Pipe, branch: Pipe | None, end: OfTee
) -> Index:  # fmt: skip
    """Factors of a branch connection at an end of its run or at its branch."""
    cautions = _thin(run, "branch connection")
    if branch is not None and branch.outside > run.outside:
        cautions += (
            f"The branch at {tee.station} is larger than its run: no factor is meant for it.",
        )
    if book is Book.APPENDIX_D:
        found = codes.branch(tee.kind, run.outside, run.wall, pad=tee.pad, crotch=tee.crotch)
        cautions += _tee_cautions(tee, run, branch)
        factors = (float(found.inside), float(found.outside), 1.0)
        return _index(book, _at(book, "branch connections"), factors, cautions=cautions)
    source = _at(book, f"{tee.kind.value}, {end.value}")
    if tee.kind is not TeeKind.WELDING or branch is None:
        missing = (
            f"B31J factors of a branch of kind {tee.kind.value!r} are not known here"
            if branch is not None
            else "the branch has no pipe of its own, so d/D and t/T are not known"
        )
        return Index(
            inplane=UNKNOWN, outplane=UNKNOWN, torsion=UNKNOWN,
            sustained=(UNKNOWN, UNKNOWN, UNKNOWN), source=source, cautions=cautions,
            refused=f"{missing}; state i_in, i_out and i_torsion of run and of branch from its "
            f"Table 1-1 under [[factor]] for station {tee.station!r}",
        )  # fmt: skip
    both = codes.welding_tee(run.outside, run.wall, branch.outside, branch.wall)
    inside, outside, twist = both.branch if end is OfTee.BRANCH else both.run
    cautions += (
        "B31J factors of a welding tee are from memory; its limits on d/D and t/T are not known "
        "here, nor is the flexibility of its branch, so that it counts as stiff.",
    )
    return _index(
        book, source, (float(inside), float(outside), float(twist)), cautions=cautions
    )  # fmt: skip


def _tee_cautions(tee: Tee, run: Pipe, branch: Pipe | None) -> tuple[str, ...]:
    found = []
    if tee.kind is TeeKind.PAD and tee.pad <= 0.0:
        found.append(
            f"No pad thickness is given for the tee at {tee.station}: it counts as unreinforced."
        )
    if tee.kind is TeeKind.PAD and tee.pad > 1.5 * run.wall:
        found.append("The pad counts up to 1.5 times the wall of the run.")
    if tee.kind is TeeKind.EXTRUDED and branch is not None:
        least = min(0.05 * branch.outside, 0.038)
        if tee.crotch < least:
            found.append(
                f"Crotch radius at {tee.station} is {tee.crotch / branch.outside:.1%} of the branch: "
                "an extruded outlet needs 5 %, at most 38 mm (1.5 in) (304.3.4, from memory)."
            )
    return tuple(found)


def weld_index(book: Book, one: Weld, pipe: Pipe) -> Index:
    """A joint between pipe ends, alike in both planes."""
    factor = codes.weld(one.kind, pipe.wall, one.leg)
    cautions: tuple[str, ...] = ()
    if one.kind is WeldKind.FILLET and one.leg is None:
        cautions = (f"The weld at {one.station} has no leg given: the largest factor is taken.",)
    return _index(book, _at(book, one.kind.value), (factor, factor, 1.0), cautions=cautions)


def larger(one: Index, other: Index) -> Index:
    """Both at the same end and in the same plane: the larger of each factor, unknown first."""

    def most(a: float, b: float) -> float:
        return float(np.maximum(a, b))  # NaN stays NaN

    first = other if not one.inplane >= other.inplane else one
    return Index(
        inplane=most(one.inplane, other.inplane),
        outplane=most(one.outplane, other.outplane),
        torsion=most(one.torsion, other.torsion),
        axial=most(one.axial, other.axial),
        sustained=(
            most(one.sustained[0], other.sustained[0]),
            most(one.sustained[1], other.sustained[1]),
            most(one.sustained[2], other.sustained[2]),
        ),
        source=first.source,
        refused=one.refused or other.refused,
        cautions=tuple(dict.fromkeys((*one.cautions, *other.cautions))),
    )


def stated_over(index: Index, one: StatedFactors) -> Index:
    """The book's factors with those that a person states in their place."""
    said = (one.i_in, one.i_out, one.i_torsion)
    held = (one.sustained_in, one.sustained_out, one.sustained_torsion)
    book = (index.inplane, index.outplane, index.torsion)
    values = [b if s is None else s for s, b in zip(said, book, strict=True)]
    sustained = [
        h if h is not None else b if s is None else max(1.0, 0.75 * s)
        for h, s, b in zip(held, said, index.sustained, strict=True)
    ]
    open_ = any(math.isnan(value) for value in (*values, *sustained))
    return Index(
        inplane=values[0],
        outplane=values[1],
        torsion=values[2],
        axial=index.axial if one.i_axial is None else one.i_axial,
        sustained=(sustained[0], sustained[1], sustained[2]),
        source=Source(
            document=one.source,
            at=f"stated in line {one.at} of the text" if one.at else "stated",
            standing=Standing.UNCERTAIN,
        ),
        refused=index.refused if open_ else "",
        cautions=index.cautions if open_ else (),
    )


def round_about(index: Index) -> Index:
    """On straight pipe, which has no plane of its own: the larger factor counts both ways."""
    most = float(np.maximum(index.inplane, index.outplane))
    held = float(np.maximum(index.sustained[0], index.sustained[1]))
    return msgspec.structs.replace(
        index, inplane=most, outplane=most, sustained=(held, held, index.sustained[2])
    )


def places(line: Line, made: Frame, book: Book, tangent: Array) -> tuple[Place, ...]:
    """Every end of pipe that is judged, with its factors by ``book``; some ends twice.

    A bend that ends at a tee is judged in its own plane and in that of the tee.
    """
    return tuple(_Finder(line, made, book, tangent).every())


class _Finder:
    def __init__(self, line: Line, made: Frame, book: Book, tangent: Array) -> None:
        self.line, self.made, self.book = line, made, book
        self.pipes = {pipe.name: pipe for pipe in line.pipes}
        self.planes = planes(line, made, tangent)
        self.welds = {made.node(one.station): one for one in line.welds}
        self.by_piece = {one.piece: one for one in line.stated if one.piece is not None}
        self.by_station: dict[tuple[int, OfTee], StatedFactors] = {
            (made.node(one.station), one.part): one for one in line.stated if one.station
        }
        self.own: dict[int, Index] = {}

    def pipe(self, at: int, end: int) -> Pipe | None:
        if self.made.spots[at].what not in PIPE:
            return None
        return pipe_at(self.line, self.made, self.pipes, at, end)

    def of_piece(self, number: int) -> Index:
        """Factors of a piece by itself."""
        if number in self.own:
            return self.own[number]
        piece: Any = self.line.pieces[number]
        index = STRAIGHT[self.book]
        if isinstance(piece, Bend):
            index = bend_index(self.book, self.pipes[piece.pipe], piece)
        elif isinstance(piece, Reducer):
            nodes = self.made.nodes
            arm = nodes[self.made.node(piece.end)] - nodes[self.made.node(piece.start)]
            index = reducer_index(
                self.book, self.pipes[piece.pipe], self.pipes[piece.to_pipe],
                float(np.linalg.norm(arm)),
            )  # fmt: skip
        stated = self.by_piece.get((piece.start, piece.end))
        if stated is not None:
            index = stated_over(index, stated)
            if not isinstance(piece, Bend):
                index = round_about(index)
        self.own[number] = index
        return index

    def every(self) -> Iterator[Place]:
        for at, spot in enumerate(self.made.spots):
            if spot.what not in {"straight", "bend", "reducer"}:
                continue
            own = self.of_piece(spot.piece)
            for end in (0, 1):
                pipe = self.pipe(at, end)
                assert pipe is not None
                node = int(self.made.ends[at, end])
                index = own
                if node in self.welds:
                    index = larger(index, weld_index(self.book, self.welds[node], pipe))
                stated = self.by_station.get((node, OfTee.ALL))
                plane = self.planes.get(node)
                if plane is None:
                    if stated is not None:
                        there = round_about(stated_over(STRAIGHT[self.book], stated))
                        index = larger(own, there)
                    yield Place(element=at, end=end, pipe=pipe, index=index)
                    continue
                if own is not STRAIGHT[self.book]:
                    yield Place(element=at, end=end, pipe=pipe, index=index)
                yield self.at_tee(at, end, pipe, node, plane, stated)

    def at_tee(
        self, at: int, end: int, pipe: Pipe, node: int, plane: Plane,
        stated: StatedFactors | None,
    ) -> Place:  # fmt: skip
        part = OfTee.BRANCH if (at, end) == plane.branch else OfTee.RUN
        runs = [one for one in (self.pipe(*place) for place in plane.run) if one is not None]
        branch = self.pipe(*plane.branch)
        run = max(runs, key=lambda one: one.outside) if runs else pipe
        index = tee_index(self.book, plane.tee, run, branch, part)
        stated = self.by_station.get((node, part), stated)
        if stated is not None:
            index = stated_over(index, stated)
        effective = None
        if part is OfTee.BRANCH and self.book is Book.APPENDIX_D:
            worn = pipe.allowance
            effective = (
                float(codes.effective_modulus(pipe.outside, pipe.wall, run.wall, index.inplane)),
                float(
                    codes.effective_modulus(
                        pipe.outside, pipe.wall - worn, run.wall - run.allowance,
                        index.sustained[0],
                    )
                ),
            )  # fmt: skip
        return Place(
            element=at, end=end, pipe=pipe, index=index, normal=plane.normal, effective=effective
        )
