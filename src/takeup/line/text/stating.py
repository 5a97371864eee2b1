"""Factors that a person states for pieces and stations, and welds other than butt welds."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import msgspec

from takeup.line import model as m
from takeup.line.text import forms as f
from takeup.line.text.placing import Placed
from takeup.line.text.positions import Path, line_of

Say = Callable[..., None]
FLEXIBLE = ("k_in", "k_out", "k_torsion")


def stated(
    form: f.LineForm,
    placed: Placed,
    tees: Sequence[m.Tee],
    lines: dict[Path, int],
    say: Say,
    near: Callable[..., str],
) -> list[m.StatedFactors]:
    """Stated factors, each on a piece or a station; faults go to ``say(path, words, station)``."""
    found: list[m.StatedFactors] = []
    seen: dict[object, int] = {}
    pieces = {(p.start, p.end): p for p in placed.pieces}
    branched = {tee.station for tee in tees}
    for n, one in enumerate(form.factor):
        path: Path = ("factor", n)
        at = line_of(lines, path)
        if not one.source.strip():
            say((*path, "source"), "has no source; say where the factors come from", one.station)
        if bool(one.station) == (one.piece is not None):
            say(path, 'must name either station = "NAME" or piece = ["START", "END"]', one.station)
            continue
        piece: tuple[str, str] | None = None
        station = ""
        if one.piece is not None:
            if len(one.piece) != 2:
                say((*path, "piece"), "must be the stations where the piece starts and ends")
                continue
            first, last = (placed.aliases.get(name, name) for name in one.piece)
            piece = next((pair for pair in ((first, last), (last, first)) if pair in pieces), None)
            if piece is None:
                known = [name for pair in pieces for name in pair]
                hints = "; ".join(near(name, known) for name in one.piece if name not in known)
                say(
                    (*path, "piece"),
                    f"no piece goes from {one.piece[0]!r} to {one.piece[1]!r}"
                    + (f"; {hints}" if hints else ""),
                )
                continue
        elif one.station in placed.corners:
            corner = placed.corners[one.station]
            piece = next(
                pair
                for pair, p in pieces.items()
                if isinstance(p, m.Bend) and p.corner == corner
            )  # fmt: skip
        else:
            station = placed.aliases.get(one.station, one.station)
            if station not in placed.stations:
                say(
                    (*path, "station"),
                    f"is no station; {near(one.station, [*placed.stations, *placed.corners])}",
                    one.station,
                )
                continue
        bend = piece is not None and isinstance(pieces[piece], m.Bend)
        if one.part != m.OfTee.ALL and station not in branched:
            say((*path, "part"), "tells run from branch, but no [[tee]] stands there", one.station)
        branch = station in branched and one.part == m.OfTee.BRANCH
        for key in FLEXIBLE:
            if getattr(one, key) is not None and not (bend or branch):
                say(
                    (*path, key),
                    'is taken for a bend, or with part = "branch" at a tee, only',
                    one.station,
                )
        where = (piece or station, one.part)
        if where in seen:
            say(path, f"states these factors a second time (line {seen[where]})", one.station)
        seen[where] = at
        values = msgspec.structs.asdict(one) | {"station": station, "piece": piece}
        found.append(m.StatedFactors(at=at, **values))
    return found


def welds(
    form: f.LineForm, placed: Placed, lines: dict[Path, int], say: Say, near: Callable[..., str]
) -> list[m.Weld]:
    """Welds and other joints between pipe ends, each at a station of pipe."""
    found: list[m.Weld] = []
    seen: dict[str, int] = {}
    for n, one in enumerate(form.weld):
        path: Path = ("weld", n)
        at = line_of(lines, path)
        station = placed.aliases.get(one.station, one.station)
        if station not in placed.stations:
            hint = (
                f"it is the corner of a bend; use {one.station}.in or {one.station}.out"
                if one.station in placed.corners
                else near(one.station, [*placed.stations])
            )
            say((*path, "station"), f"is no station; {hint}", one.station)
            continue
        if one.leg is not None and one.kind != m.WeldKind.FILLET:
            say((*path, "leg"), "is that of a fillet weld; take it out", one.station)
        if station in seen:
            say(path, f"is a second weld there (line {seen[station]}); keep one", one.station)
        seen[station] = at
        found.append(m.Weld(at=at, station=station, kind=one.kind, leg=one.leg))
    return found
