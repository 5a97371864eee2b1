"""Every piece by both books of stress factors: which gives more, and by how much."""

from __future__ import annotations

import msgspec
import numpy as np

from takeup.line.frame import Frame
from takeup.line.model import Book, Line
from takeup.line.stresses import Placed, or_none, piece_name
from takeup.units import Array


class Books(msgspec.Struct, frozen=True, kw_only=True):
    """One piece by both books: largest displacement range and sustained stress [Pa]."""

    piece: str
    start: str
    end: str
    range_d: float | None
    """By Appendix D; ``None``: a factor is not known"""
    range_j: float | None
    """By B31J"""
    sustained_d: float | None
    sustained_j: float | None
    governs: str
    """Which gives the larger range; same, or open where one is not known"""
    share: float | None
    """B31J range over that of Appendix D [-]"""
    says: str


def books(
    line: Line, made: Frame, pair: tuple[Placed, Placed], ranged: Array, steady: Array,
    pressure: float,
) -> tuple[Books, ...]:  # fmt: skip
    """Every piece by Appendix D and by B31J, on the same solved line."""
    worst: list[dict[int, tuple[float, float]]] = []
    refused: dict[int, str] = {}
    for placed in pair:
        se = placed.range_stress(placed.acting(ranged))
        sl = placed.sustained_stress(placed.acting(steady), pressure)
        most: dict[int, tuple[float, float]] = {}
        for n, one in enumerate(placed.places):
            number = made.spots[one.element].piece
            a, b = most.get(number, (0.0, 0.0))
            most[number] = (float(np.maximum(a, se[n])), float(np.maximum(b, sl[n])))
            if one.index.refused:
                refused[number] = one.index.refused
        worst.append(most)
    found = []
    for number in worst[0]:
        piece = line.pieces[number]
        (rd, sd), (rj, sj) = worst[0][number], worst[1][number]
        share = rj / rd if np.isfinite(rd) and np.isfinite(rj) and rd > 0.0 else None
        governs, says = _governs(share, rd, rj)
        found.append(
            Books(
                piece=piece_name(piece), start=piece.start, end=piece.end,
                range_d=or_none(rd), range_j=or_none(rj),
                sustained_d=or_none(sd), sustained_j=or_none(sj),
                governs=governs, share=share, says=refused.get(number, says) if governs == "open"
                else says,
            )
        )  # fmt: skip
    return tuple(found)


SAME = 1e-6


def _governs(share: float | None, by_d: float, by_j: float) -> tuple[str, str]:
    if share is None:
        if np.isfinite(by_d) and np.isfinite(by_j):
            return "same", "neither finds a range"
        return "open", "one book's factors are not known here"
    if abs(share - 1.0) <= SAME:
        return "same", "both books give the same range"
    more = Book.B31J if share > 1.0 else Book.APPENDIX_D
    least = Book.APPENDIX_D if more is Book.B31J else Book.B31J
    excess = share if share > 1.0 else 1.0 / share
    return more.value, f"{more.value} governs, {100 * (excess - 1.0):.0f} % above {least.value}"
