"""Coefficients Cp, Cf, Cd of U-shaped convolutions: polynomials in C1, linear in C2."""

from __future__ import annotations

import csv
import functools
from importlib import resources
from typing import Any

import numpy as np

from takeup.units import Array, Ratio

LEAST_C2, MOST_C2 = 0.2, 4.0
BRANCH_C1 = 0.3
"""Cp has two branches; they meet here to 0.02 and no better, as printed."""


@functools.cache
def _coefficients() -> tuple[Array, dict[str, Array]]:
    """Columns of C2, and per chart the coefficients (power, column); Cp: low, then high branch."""
    path = resources.files("takeup.bellows").joinpath("data", "charts.csv")
    found: dict[tuple[str, str], dict[float, list[float]]] = {}
    for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines()):
        table = found.setdefault((row["chart"], row["branch"]), {})
        table[float(row["C2"])] = [float(row[f"a{power}"]) for power in range(6)]
    columns = sorted(found["Cf", "all"])
    tables = {
        key: np.ascontiguousarray(np.array([table[column] for column in columns]).T)
        for key, table in found.items()
    }
    return np.array(columns), {
        "Cp": np.concatenate([tables["Cp", "low"], tables["Cp", "high"]], axis=1),
        "Cf": tables["Cf", "all"],
        "Cd": tables["Cd", "all"],
    }


def _place(c1: Ratio, c2: Ratio) -> tuple[Array, Any, Array]:
    """C1, the column at and below C2, and how far towards the next."""
    columns, _ = _coefficients()
    first, second = np.broadcast_arrays(np.asarray(c1, float), np.asarray(c2, float))
    inside = np.clip(second, LEAST_C2, MOST_C2)
    left = np.clip(np.searchsorted(columns, inside, side="right") - 1, 0, len(columns) - 2)
    return first, left, (inside - columns[left]) / (columns[left + 1] - columns[left])


def _polynomial(table: Array, column: Any, c1: Array) -> Array:
    total = table[5][column]
    for power in (4, 3, 2, 1, 0):
        total = total * c1 + table[power][column]
    return np.asarray(total)


def _between(chart: str, place: tuple[Array, Any, Array]) -> Ratio:
    c1, left, share = place
    columns, tables = _coefficients()
    if chart == "Cp":
        left = left + len(columns) * (c1 > BRANCH_C1)
    low = _polynomial(tables[chart], left, c1)
    high = _polynomial(tables[chart], left + 1, c1)
    value = low + share * (high - low)
    return float(value) if value.ndim == 0 else value


def all_three(c1: Ratio, c2: Ratio) -> tuple[Ratio, Ratio, Ratio]:
    """Cp, Cf, Cd at once [-]: the search for the column is shared."""
    place = _place(c1, c2)
    return _between("Cp", place), _between("Cf", place), _between("Cd", place)


def cp(c1: Ratio, c2: Ratio) -> Ratio:
    """Cp of pressure bending [-]; C2 is held within 0.2 to 4.0 (see :func:`held`)."""
    return _between("Cp", _place(c1, c2))


def cf(c1: Ratio, c2: Ratio) -> Ratio:
    """Cf of movement membrane stress and axial rate [-]."""
    return _between("Cf", _place(c1, c2))


def cd(c1: Ratio, c2: Ratio) -> Ratio:
    """Cd of movement bending stress [-]."""
    return _between("Cd", _place(c1, c2))


def held(c2: Ratio) -> Ratio:
    """C2 as the charts use it."""
    return np.clip(c2, LEAST_C2, MOST_C2)
