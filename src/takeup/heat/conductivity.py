"""Conductivity of what a joint is packed, lined and made of, and its integral over temperature.

A curve is straight between its nodes.  Heat through a thick layer follows the *integral* of
k over temperature, never k at the mean temperature: k of a fibre blanket grows fourfold
between its cold and its hot face.  Below the first node the first value holds, above the last
one the last, and every use above the last is flagged by the caller (:func:`above`).
"""

from __future__ import annotations

import csv
import functools
from importlib import resources
from typing import NamedTuple

import msgspec
import numpy as np

from takeup.errors import Contradiction, MissingInput, UnknownName, require_within
from takeup.sources import Source, Standing
from takeup.units import Array, to_si

LEAST, MOST = 0.005, 500.0
"""No solid or fill of this trade conducts less or more [W/m.K]."""


class Curve(msgspec.Struct, frozen=True, kw_only=True):
    """Conductivity [W/m.K] at temperatures [K], ascending, straight between them.

    ``spread`` is one standard deviation as a share of the value.  Raises
    :class:`takeup.errors.OutOfRange` for values that no material has and
    :class:`takeup.errors.Contradiction` for nodes out of order.
    """

    name: str
    title: str = ""
    group: str = ""
    """One of fibre, block, castable, fill, metal."""
    temperature: tuple[float, ...]
    value: tuple[float, ...]
    spread: float
    source: Source

    def __post_init__(self) -> None:
        whose = f"conductivity of {self.name}"
        require_within(f"value: {whose}", self.value, low=LEAST, high=MOST, unit="W/m.K",
                       whose="materials of linings, packings and metals")  # fmt: skip
        require_within(f"temperature: {whose}", self.temperature, low=50.0, high=2000.0,
                       unit="K", whose="conductivity curves")  # fmt: skip
        require_within(f"spread: {whose}", self.spread, low=0.0, high=1.0,
                       whose="one standard deviation as a share")  # fmt: skip
        rising = all(a < b for a, b in zip(self.temperature, self.temperature[1:], strict=False))
        if not rising or len(self.temperature) != len(self.value):
            raise Contradiction(
                f"{whose}: temperatures must rise and there must be one value for each"
            )

    @property
    def words(self) -> str:
        """The material as people call it."""
        return self.title or self.name

    @property
    def top(self) -> float:
        """Temperature [K] up to which the curve speaks."""
        return self.temperature[-1]


class _Piece(NamedTuple):
    """From one node to the next: where it starts, what holds there, its slope."""

    start: float
    value: float
    total: float
    slope: float
    turn: float
    """By how much the slope changes at the start."""


@functools.cache
def _pieces(curve: Curve) -> tuple[_Piece, ...]:
    """The flat part below the first node, the parts between nodes, the flat part above."""
    t, k = np.array(curve.temperature), np.array(curve.value)
    slope = np.concatenate(([0.0], np.diff(k) / np.diff(t), [0.0]))
    total = np.concatenate(([0.0], np.cumsum(0.5 * (k[1:] + k[:-1]) * np.diff(t))))
    below = _Piece(float(t[0]), float(k[0]), 0.0, 0.0, 0.0)
    return (
        below,
        *(
            _Piece(float(t[i]), float(k[i]), float(total[i]), float(slope[i + 1]),
                   float(slope[i + 1] - slope[i]))
            for i in range(len(t))
        ),
    )  # fmt: skip


def both(curve: Curve, temperature: Array) -> tuple[Array, Array]:
    r"""Conductivity [W/m.K] and :math:`\int_{T_1}^{T} k\,dT` [W/m] from the first node, any shape.

    One pass, since solving needs both; exact for the broken line.  It starts from the piece
    that the coldest sample lies on and turns at the nodes that the hottest lies beyond.
    """
    pieces = _pieces(curve)
    if not temperature.size:
        return temperature.copy(), temperature.copy()
    coldest, hottest = float(temperature.min()), float(temperature.max())
    first = sum(piece.start <= coldest for piece in pieces[1:])
    start = pieces[first]
    off = temperature - start.start
    rise = (0.5 * start.slope) * off
    total = rise + start.value
    value = total + rise
    total *= off
    total += start.total
    for piece in pieces[first + 1 :]:
        if piece.start >= hottest:
            break
        over = temperature - piece.start
        np.maximum(over, 0.0, out=over)
        rise = (0.5 * piece.turn) * over
        value += rise
        value += rise
        rise *= over
        total += rise
    return value, total


def value(curve: Curve, temperature: Array | float) -> Array:
    """Conductivity [W/m.K] at temperature [K]."""
    return both(curve, np.asarray(temperature, dtype=float))[0]


def integral(curve: Curve, hot: Array | float, cold: Array | float) -> Array:
    r""":math:`\int_{cold}^{hot} k\,dT` [W/m]; negative when ``hot`` is the colder one."""
    return np.asarray(
        both(curve, np.asarray(hot, dtype=float))[1] - both(curve, np.asarray(cold, dtype=float))[1]
    )


def mean(curve: Curve, hot: Array | float, cold: Array | float) -> Array:
    """Mean conductivity [W/m.K] between two temperatures, from the integral."""
    hot, cold = np.asarray(hot, dtype=float), np.asarray(cold, dtype=float)
    apart = np.where(np.abs(hot - cold) < 1e-6, cold + 1e-6, hot)
    return np.asarray(integral(curve, apart, cold) / (apart - cold))


def above(curve: Curve, temperature: Array | float) -> Array:
    """How far [K] a temperature lies above the curve's last node; zero below it."""
    return np.asarray(np.maximum(np.asarray(temperature, dtype=float) - curve.top, 0.0))


def _rows(file: str) -> list[dict[str, str]]:
    text = resources.files("takeup.heat").joinpath("data", file).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


@functools.cache
def insulations() -> dict[str, Curve]:
    """Packings, linings, insulation and fills by name, read once from package data."""
    nodes: dict[str, list[tuple[float, float]]] = {}
    for row in _rows("insulation_values.csv"):
        kelvin = to_si(float(row["temperature"]), "C", "temperature")
        nodes.setdefault(row["material"], []).append((kelvin, float(row["value"])))
    return {
        row["id"]: Curve(
            name=row["id"],
            title=row["title"],
            group=row["group"],
            temperature=tuple(t for t, _ in nodes[row["id"]]),
            value=tuple(k for _, k in nodes[row["id"]]),
            spread=float(row["spread"]),
            source=Source(
                document=row["document"], at=row["at"], standing=Standing(row["standing"])
            ),
        )
        for row in _rows("insulation_materials.csv")
    }


METAL_SPREAD = 0.05
"""One standard deviation of the conductivity of a wrought alloy as a share."""


@functools.cache
def metal(name: str) -> Curve:
    """The curve of an alloy of the materials room.

    Raises :class:`takeup.errors.UnknownName` for the alloy and
    :class:`takeup.errors.MissingInput` where it has no conductivity row.
    """
    from takeup.materials import alloy, tables

    extra = insulations().get(name)
    if extra is not None and extra.group == "metal":
        return extra
    found = alloy(name)
    row = found.rows.get("conductivity")
    if row is None:
        raise MissingInput(f"conductivity of {found.name}", ["a curve, or an alloy with a row"])
    rows = tables.table("conductivity")[row]
    weakest = max(range(len(rows.value)), key=lambda at: tables.rank(rows.standing[at]))
    return Curve(
        name=found.name,
        group="metal",
        temperature=tuple(rows.temperature.tolist()),
        value=tuple(rows.value.tolist()),
        spread=METAL_SPREAD,
        source=tables.row_source("conductivity", row, weakest),
    )


def material(name: str) -> Curve:
    """A curve by name: packing, lining, insulation or fill first, then alloys.

    Raises :class:`takeup.errors.UnknownName` with the nearest names.
    """
    known = insulations()
    if name in known:
        return known[name]
    try:
        return metal(name)
    except UnknownName:
        from takeup.materials import alloys

        names = [*known, *(one.name for one in alloys())]
        raise UnknownName("material", name, names) from None


def constant(name: str, value: float, *, spread: float = 0.0, source: Source) -> Curve:
    """A conductivity that does not change with temperature [W/m.K], as the user gives it."""
    return Curve(name=name, temperature=(273.15, 1273.15), value=(value, value), spread=spread,
                 source=source)  # fmt: skip
