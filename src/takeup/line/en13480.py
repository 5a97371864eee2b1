"""EN 13480-3 stresses by one resultant moment and one factor, where a line gives its design stresses.

From memory of the standard's 12.3: the design stresses are the user's to give, since no table of
them is at hand, and so are the factors of branches and reducers.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import msgspec
import numpy as np

from takeup import materials
from takeup.checks import Check, Quantity, compare
from takeup.line import codes
from takeup.line.frame import ROOM, Frame
from takeup.line.model import Bend, Line, Pipe, State
from takeup.line.stresses import Acting, Placed
from takeup.sources import Source, Standing
from takeup.units import Array

CYCLES = 7000.0
"""Full cycles up to which U is 1; beyond them it is not known here."""


def _at(place: str) -> Source:
    return Source(document="EN 13480-3", at=place, standing=Standing.MEMORY)


SUSTAINED = _at("12.3.2, sustained: P do/4e + 0.75 i MA/Z up to fh")
RANGE = _at("12.3.4, range: i MC/Z up to fa = U (1.25 fc + 0.25 fh) Eh/Ec")
CREEP = _at("12.3.5, creep: P do/4e + 0.75 i MA/Z + 0.75 i MC/3Z up to fCR")
UNKNOWN = (
    "EN 13480-3 factor of this piece is not known here; state i_in and i_out under [[factor]], the "
    "larger is taken"
)


class Terms(msgspec.Struct, frozen=True, kw_only=True):
    """Stress terms of every place (n,) [Pa]; NaN where a factor is not known."""

    pressure: Array
    """P do / 4e"""
    lasting: Array
    """0.75 i MA / Z, with 0.75 i at least 1"""
    ranged: Array
    """i MC / Z"""
    relaxed: Array
    """0.75 i MC / 3Z, with 0.75 i at least 1"""
    factor: Array
    """i [-]"""


def resultant(acting: Acting) -> Array:
    """Size of the moment, bending and torsion together (n,) [N.m]."""
    return np.asarray(np.sqrt(acting.inplane**2 + acting.outplane**2 + acting.torsion**2))


def factor(line: Line, made: Frame, placed: Placed) -> Array:
    """One factor i of every place (n,) [-]: 0.9/h^(2/3) of bends, 1 of straight pipe, else stated."""
    pipes = {pipe.name: pipe for pipe in line.pipes}
    stated = {one.piece: one for one in line.stated if one.piece is not None}
    joined = {made.node(one.station): one for one in line.stated if one.station}
    open_ = {made.node(one.station) for one in line.tees}
    open_ |= {made.node(one.station) for one in line.welds}
    found = np.ones(len(placed.places))
    for n, place in enumerate(placed.places):
        spot = made.spots[place.element]
        piece = line.pieces[spot.piece]
        node = int(made.ends[place.element, place.end])
        said = joined.get(node) or stated.get((piece.start, piece.end))
        if said is not None and said.i_in is not None and said.i_out is not None:
            found[n] = max(said.i_in, said.i_out)
        elif node in open_ or spot.what == "reducer":
            found[n] = math.nan
        elif isinstance(piece, Bend):
            found[n] = float(codes.of_bend(pipes[piece.pipe], piece).inside)
    return found


def terms(
    line: Line, made: Frame, placed: Placed, ranged: Array, steady: Array, pressure: float
) -> Terms:
    """Terms of 12.3 from end forces of the range and of weight and pressure (m, 12)."""
    i = factor(line, made, placed)
    low = np.where(np.isnan(i), np.nan, np.maximum(1.0, 0.75 * i))
    z = placed.modulus[0]
    wall = np.array([one.pipe.wall for one in placed.places])
    lasting, grown = (resultant(placed.acting(ends)) for ends in (steady, ranged))
    return Terms(
        pressure=pressure * placed.outside / (4.0 * wall),
        lasting=low * lasting / z,
        ranged=i * grown / z,
        relaxed=low * grown / (3.0 * z),
        factor=i,
    )


class _Row(msgspec.Struct, frozen=True):
    """One kind of check over all places."""

    id: str
    name: str
    symbol: str
    demand: Array
    capacity: float | None
    source: Source
    lacks: tuple[str, ...] = ()
    also: Array | None = None
    """Use by the sum of equations (n,); ``None``: there is none"""


def checks(
    line: Line, made: Frame, placed: Placed, ranged: Array, steady: Array, hot: State
) -> Iterable[Check]:
    """Sustained stress, range and creep of every piece whose pipe gives EN design stresses."""
    given = {one.name: one for one in line.pipes if one.en_hot is not None}
    if not given:
        return
    found = terms(line, made, placed, ranged, steady, hot.pressure)
    by_piece: dict[int, list[int]] = {}
    for n, one in enumerate(placed.places):
        if made.spots[one.element].pipe in given:
            by_piece.setdefault(made.spots[one.element].piece, []).append(n)
    for own in by_piece.values():
        pipe = given[made.spots[placed.places[own[0]].element].pipe]
        at = hot.temperatures.get(pipe.name, hot.temperature)
        metal = made.sections[pipe.name].metal
        hotter, colder = (float(materials.modulus(metal, t).value) for t in (at, ROOM))
        softer = hotter / colder
        for row in _rows(pipe, found, softer, line.cycles):
            yield _check(line, made, placed, own, row, found.factor, (softer, at))


def _rows(pipe: Pipe, found: Terms, softer: float, cycles: float) -> Iterable[_Row]:
    fh = pipe.en_hot
    assert fh is not None
    sl = found.pressure + found.lasting
    lacks = [] if pipe.en_cold is not None else [f"design stress en_cold of pipe {pipe.name}"]
    if cycles > CYCLES:
        lacks.append(f"U beyond {CYCLES:.0f} cycles, which is not known here")
    fa = None
    if pipe.en_cold is not None and not lacks:
        fa = (1.25 * pipe.en_cold + 0.25 * fh) * softer
    also = None if fa is None else (sl + found.ranged) / (fh + fa)
    yield _Row("sustained", "Sustained stress", "sigma1", sl, fh, SUSTAINED)
    yield _Row("range", "Displacement stress range", "sigma3", found.ranged, fa, RANGE,
               tuple(lacks), also)  # fmt: skip
    if pipe.en_creep is not None:
        yield _Row("creep", "Stress in the creep range", "sigma5", sl + found.relaxed,
                   pipe.en_creep, CREEP)  # fmt: skip


def _check(
    line: Line, made: Frame, placed: Placed, own: Sequence[int], row: _Row, factors: Array,
    metal: tuple[float, float],
) -> Check:  # fmt: skip
    """The worst place of a piece; one whose factor is not known leaves it open, if none is over."""
    known = [n for n in own if np.isfinite(row.demand[n])]
    unknown = [n for n in own if n not in known]
    n = max(known, key=lambda at: float(row.demand[at]), default=own[0])
    over = bool(known) and row.capacity is not None and row.demand[n] > row.capacity
    open_ = bool(unknown) and not over
    n = unknown[0] if open_ else n
    missing = (*row.lacks, *((UNKNOWN,) if open_ else ()))
    place = placed.places[n]
    piece = line.pieces[made.spots[place.element].piece]
    because = f"at {made.names[int(made.ends[place.element, place.end])]}"
    if row.also is not None:
        because += f"; sustained and range together use {float(row.also[n]):.3f} of fh + fa"
    return compare(
        id=f"en13480.{row.id}@{piece.start}/{piece.end}",
        name=f"{row.name} by EN 13480-3, {type(piece).__name__.lower()} {piece.start} to {piece.end}",
        symbol=row.symbol,
        demand=None if open_ else float(row.demand[n]),
        capacity=row.capacity,
        kind="stress",
        source=row.source,
        missing=missing,
        inputs=(
            Quantity(name="Stress intensification", symbol="i", kind="ratio",
                     value=float(factors[n]) if np.isfinite(factors[n]) else None),
            Quantity(name="Modulus hot over cold", symbol="Eh/Ec", value=metal[0], kind="ratio"),
            Quantity(name="Metal temperature", symbol="T", value=metal[1], kind="temperature"),
        ),
        because="; ".join(missing) if missing else because,
        cautions=place.index.cautions,
    )  # fmt: skip
