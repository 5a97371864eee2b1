"""Which measurement outside tells two causes of a reading apart, and where to look if none does."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import combinations

import msgspec
import numpy as np

from takeup.heat.inverse_causes import DESIGNED, Prediction
from takeup.heat.inverse_model import CauseResult, Separation
from takeup.units import Array

LEAST_SHARE = 0.05
"""From this probability on a cause is spoken of in cautions and separations."""
TELLS_APART = 2.0
"""A measurement separates two causes when their means lie this many deviations apart."""
BLOW = 6.0
"""Wind of the windy day in the question what wind would tell [m/s]."""
PROBE = 3.0
"""Standard deviation of a contact reading on a surface outside [K]."""
METER = 0.10
"""Standard deviation of a heat flux meter, share of the reading."""


def separations(
    results: list[CauseResult], by_id: Mapping[str, tuple[Prediction, Array]]
) -> tuple[Separation, ...]:
    """For the likely causes, two by two: the outside measurement that tells most, or none."""
    likely = [
        one for one in results
        if one.probability >= LEAST_SHARE and one.id in by_id and by_id[one.id][1].sum() > 1e-200
    ][:4]  # fmt: skip
    return tuple(_separated(first, second, by_id) for first, second in combinations(likely, 2))


def _moments(values: Array, weight: Array) -> tuple[float, float]:
    mean = float(np.average(values, weights=weight))
    return mean, math.sqrt(float(np.average((values - mean) ** 2, weights=weight)))


def _separated(
    first: CauseResult, second: CauseResult, by_id: Mapping[str, tuple[Prediction, Array]]
) -> Separation:
    (a, wa), (b, wb) = by_id[first.id], by_id[second.id]
    asked_for = [
        ("heat flux at the outermost surface", a.flux, b.flux, None, "heat_flux"),
        (f"change of the bellows temperature from a calm to a windy day ({BLOW:g} m/s)",
         a.blown, b.blown, PROBE, "temperature_difference"),
    ]  # fmt: skip
    if a.over or b.over:
        asked_for.insert(0, ("temperature of the outermost surface", a.outer, b.outer, PROBE,
                             "temperature"))  # fmt: skip
    best: Separation | None = None
    for words, va, vb, deviation, kind in asked_for:
        (ma, sa), (mb, sb) = _moments(va, wa), _moments(vb, wb)
        off = deviation if deviation is not None else METER * 0.5 * (abs(ma) + abs(mb))
        apart = abs(ma - mb) / math.sqrt(sa * sa + sb * sb + off * off)
        if best is None or apart > best.apart:
            best = Separation(first=first.id, second=second.id, measurement=words, kind=kind,
                              with_first=ma, with_second=mb, apart=apart,
                              separates=apart >= TELLS_APART, look="")  # fmt: skip
    assert best is not None
    look = "" if best.separates else _look(first, second)
    return msgspec.structs.replace(best, look=look)


def _look(first: CauseResult, second: CauseResult) -> str:
    return " \u2013 ".join(
        f"for {one.title}: {one.look[0].lower()}{one.look[1:]}"
        for one in (first, second)
        if one.id != DESIGNED
    )
