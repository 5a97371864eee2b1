"""Cycles to design and mean curves, and the sum of damage."""

from __future__ import annotations

import msgspec
import numpy as np

from takeup.bellows.model import CurvePiece, FatigueCurve
from takeup.units import PSI, Array, Pascal, Ratio

MPA = 1e6
MOST_CYCLES = 1e6
LEAST_TESTED = 1e3
"""Mean cycles below which few tests exist; the two curves meet at 125 cycles (3.47 GPa)."""
MEAN_FLOOR = 372.3e6
"""Stress range [Pa] below which the mean curve has no tests behind it."""


PLAIN = FatigueCurve(
    source="VIII-2 Table 4.19.5, unreinforced",
    pieces=(
        CurvePiece(start=448.0 * MPA, a=35850.0 * MPA, b=264.0 * MPA),
        CurvePiece(start=257.2 * MPA, a=46200.0 * MPA, b=211.0 * MPA),
    ),
)
"""Design curve of unreinforced and toroidal bellows, App. 26 and VIII-2 4.19."""
REINFORCED = FatigueCurve(
    source="VIII-2 Table 4.19.5, reinforced",
    pieces=(
        CurvePiece(start=567.0 * MPA, a=45505.0 * MPA, b=334.0 * MPA),
        CurvePiece(start=326.0 * MPA, a=58605.0 * MPA, b=268.0 * MPA),
    ),
)
"""Design curve of reinforced U-shaped bellows: the other, moved up by 1.27 in stress."""


def design_cycles(stress: Pascal, curve: FatigueCurve = PLAIN) -> Ratio:
    """Allowed cycles at x = Kg (Eo/Eb) St on a design curve.

    The curves held here contain margins, 1.25 on stress and 3 on cycles by the table's note
    (its constants hold 2.6); nothing is to be added.  Below the last branch the curve gives its
    ``most`` cycles.
    """
    x = np.asarray(stress, dtype=float)
    cycles: Array = np.full(x.shape, curve.most)
    for piece in sorted(curve.pieces, key=lambda piece: piece.start):
        ratio = piece.a / np.maximum(x - piece.b, 1e-30 * piece.a)  # at and below b: no limit
        allowed = ratio * ratio if piece.exponent == 2.0 else np.power(ratio, piece.exponent)
        reached = x >= piece.start if piece is not _lowest(curve) else x > piece.start
        cycles = np.where(reached, np.minimum(allowed, curve.most), cycles)
    cycles = np.where(np.isnan(x), np.nan, cycles)
    return float(cycles) if cycles.ndim == 0 else cycles


def _lowest(curve: FatigueCurve) -> CurvePiece:
    return min(curve.pieces, key=lambda piece: piece.start)


class MeanCurve(msgspec.Struct, frozen=True):
    """Constants of a mean curve Nc = (a / (St/fc - b))^3.4 [Pa]."""

    a: float
    b: float


MEAN_PLAIN = MeanCurve(12824.0 * MPA, MEAN_FLOOR)
MEAN_REINFORCED = MeanCurve(2.33e6 * PSI, 67500.0 * PSI)


def mean_cycles(
    stress: Pascal, material_factor: Ratio = 1.0, curve: MeanCurve = MEAN_PLAIN
) -> Ratio:
    """Mean test cycles Nc = (a / (St/fc - b))^3.4, as-formed austenitic; EJMA.

    NaN at and below b (372.3 MPa unreinforced), where the curve has no tests: above test range.
    """
    over = np.asarray(stress, dtype=float) / material_factor - curve.b
    with np.errstate(divide="ignore", invalid="ignore"):
        cycles: Array = np.where(over > 0.0, np.power(curve.a / np.abs(over), 3.4), np.nan)
    return float(cycles) if cycles.ndim == 0 else cycles


def usage(counts: Array, allowed: Array) -> float:
    """Damage sum U = sum n_i / N_i [-]."""
    return float(np.sum(np.asarray(counts) / np.asarray(allowed)))
