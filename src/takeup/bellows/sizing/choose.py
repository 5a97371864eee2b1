"""From a non-dominated set of hundreds to a list that a person reads."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from takeup.bellows.sizing.model import Goal
from takeup.units import Array

NAMES = {
    Goal.AXIAL: "softest axially",
    Goal.LATERAL: "softest sideways",
    Goal.ANGULAR: "softest in bending",
    Goal.THRUST: "least thrust",
    Goal.LENGTH: "shortest",
    Goal.MASS: "lightest",
    Goal.MARGIN: "largest margin",
}
BALANCED = "balanced: nearest to the best of every goal at once"
BETWEEN = "fills the gap between the others"


def choose(
    goals: Array, names: Sequence[Goal], most: int
) -> tuple[tuple[int, tuple[str, ...]], ...]:
    """Places in ``goals`` (points, goals; all to be small) to show, with the reasons.

    First the best of each goal, of equals the one nearest to the balanced point; then the
    balanced one: nearest to the best of every goal at once, each goal stretched from 0 (best of
    the set) to 1 (worst); then, up to ``most``, whichever lies furthest from those chosen.
    """
    if len(goals) == 0:
        return ()
    low, high = goals.min(axis=0), goals.max(axis=0)
    span = np.where(high > low, high - low, 1.0)
    scaled = (goals - low) / span
    middle = np.sqrt((scaled * scaled).sum(axis=1))
    chosen: dict[int, list[str]] = {int(np.argmin(middle)): [BALANCED]}
    for column, goal in enumerate(names):
        best = np.flatnonzero(goals[:, column] == low[column])
        at = int(best[np.argmin(middle[best])])
        chosen.setdefault(at, []).append(NAMES[goal])
    apart = np.full(len(goals), np.inf)
    for at in chosen:
        apart = np.minimum(apart, np.linalg.norm(scaled - scaled[at], axis=1))
    while len(chosen) < min(most, len(goals)):
        at = int(np.argmax(apart))
        if apart[at] <= 0.0:
            break
        chosen[at] = [BETWEEN]
        apart = np.minimum(apart, np.linalg.norm(scaled - scaled[at], axis=1))
    return tuple((at, tuple(reasons)) for at, reasons in chosen.items())
