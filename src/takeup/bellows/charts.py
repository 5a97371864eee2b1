"""Coefficients Cp, Cf, Cd of U-shaped convolutions: polynomials in C1, linear in C2."""

from __future__ import annotations

import csv
import functools
from importlib import resources

import numpy as np

from takeup.units import Array, Ratio

LEAST_C2, MOST_C2 = 0.2, 4.0
BRANCH_C1 = 0.3
"""Cp has two branches; they meet here to 0.02 and no better, as printed."""


@functools.cache
def _coefficients() -> tuple[Array, dict[tuple[str, str], Array]]:
    path = resources.files("takeup.bellows").joinpath("data", "charts.csv")
    found: dict[tuple[str, str], dict[float, list[float]]] = {}
    for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines()):
        table = found.setdefault((row["chart"], row["branch"]), {})
        table[float(row["C2"])] = [float(row[f"a{power}"]) for power in range(6)]
    columns = sorted(found["Cf", "all"])
    return np.array(columns), {
        key: np.array([table[column] for column in columns]) for key, table in found.items()
    }


def _evaluate(key: tuple[str, str], c1: Array, c2: Array) -> Array:
    columns, tables = _coefficients()
    held = np.clip(c2, LEAST_C2, MOST_C2)
    left = np.clip(np.searchsorted(columns, held, side="right") - 1, 0, len(columns) - 2)
    share = (held - columns[left]) / (columns[left + 1] - columns[left])
    table = tables[key]

    def polynomial(rows: Array) -> Array:
        total = rows[..., 5]
        for power in (4, 3, 2, 1, 0):
            total = total * c1 + rows[..., power]
        return total

    low, high = polynomial(table[left]), polynomial(table[left + 1])
    return np.asarray(low + share * (high - low))


def _shaped(value: Array) -> Ratio:
    return float(value) if value.ndim == 0 else value


def _arrays(c1: Ratio, c2: Ratio) -> tuple[Array, Array]:
    first, second = np.broadcast_arrays(np.asarray(c1, float), np.asarray(c2, float))
    return first, second


def cp(c1: Ratio, c2: Ratio) -> Ratio:
    """Cp of pressure bending [-]; C2 is held within 0.2 to 4.0 (see :func:`held`)."""
    a, b = _arrays(c1, c2)
    low, high = _evaluate(("Cp", "low"), a, b), _evaluate(("Cp", "high"), a, b)
    return _shaped(np.where(a <= BRANCH_C1, low, high))


def cf(c1: Ratio, c2: Ratio) -> Ratio:
    """Cf of movement membrane stress and axial rate [-]."""
    return _shaped(_evaluate(("Cf", "all"), *_arrays(c1, c2)))


def cd(c1: Ratio, c2: Ratio) -> Ratio:
    """Cd of movement bending stress [-]."""
    return _shaped(_evaluate(("Cd", "all"), *_arrays(c1, c2)))


def held(c2: Ratio) -> Ratio:
    """C2 as the charts use it."""
    return np.clip(c2, LEAST_C2, MOST_C2)
