"""How numbers stand in sentences of the line's engines, where the reader's units are not known."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from takeup.line.model import Line

Tell = Callable[[float, str], str]
"""A value in SI and its kind of quantity, in words of the reader's units."""
_SI = {
    "force": (1e-3, 1, "kN"),
    "stress": (1e-6, 0, "MPa"),
    "movement": (1e3, 1, "mm"),
    "distance": (1.0, 1, "m"),
    "axial_rate": (1e-3, 1, "N/mm"),
}


def si_words(value: float, kind: str) -> str:
    """A value in the usual multiple of its SI unit."""
    factor, decimals, unit = _SI[kind]
    return f"{value * factor:.{decimals}f} {unit}"


def named_in(words: str, line: Line) -> int:
    """Line of the text of the part that a fault names; 0 where it names none."""
    parts = [
        *((one.name, one.at) for one in (*line.supports, *line.stations, *line.pipes)),
        *((one.tag, one.at) for one in line.pieces if hasattr(one, "tag")),
    ]
    found = [(len(name), at) for name, at in parts if at and repr(name) in words]
    return max(found, default=(0, 0))[1]
