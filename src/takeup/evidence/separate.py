"""Load and weather taken out of a bellows temperature, so that condition remains. Pure.

A bellows between gas and air follows both.  What follows the medium's temperature and the air is
fitted, robustly, on a stretch that is held to be sound; the rest is condition.
"""

from __future__ import annotations

import msgspec
import numpy as np

from takeup.errors import MissingInput, require_within
from takeup.sources import assumption
from takeup.units import Array

SHUTDOWN = 40.0
"""K off the running month: a day of shutdown, which is not condition"""
RECENT = 90.0
"""Days at the end that the fit does not rest on: a change there must not bend it"""
SHARE_KNOWN = 0.8
"""Of the recent days that the drivers must be known on"""
SOURCE = assumption(
    "a bellows temperature follows medium and air in a straight line over the spans met in a run; "
    "robust least squares (Huber)"
)
LEAST_DAYS = 60
ROUNDS = 30
_HUBER = 1.345


class Separated(msgspec.Struct, frozen=True, kw_only=True):
    """A history with load and weather taken out."""

    day: Array
    condition: Array
    """What remains, at the means of the drivers [K]; NaN where a driver is not known"""
    by: dict[str, float]
    """Change of the bellows per change of each driver [K per its unit]"""
    spread: dict[str, float]
    """Standard uncertainty of each"""
    at: dict[str, float]
    """Driver values that the condition is stated at"""
    noise: float
    """Standard deviation of one day about the fit [K]"""
    explained: float
    """Share of the variance that the drivers take out, 0 to 1"""
    notes: tuple[str, ...]


def of_watch(day: Array, value: Array, drivers: dict[str, Array]) -> Separated:
    """Take ``drivers`` out of daily medians for the watch: the last 90 days bend nothing.

    Days of shutdown are left out.  Raises :class:`MissingInput` where too few days are known to
    fit, or too few of the last 90 to judge by what remains.
    """
    from scipy.ndimage import median_filter

    x, y = np.asarray(day, float), np.array(value, float)
    known = np.isfinite(y)
    month = np.full(y.size, np.nan)
    month[known] = median_filter(y[known], size=31, mode="nearest")
    y[known & ~(np.abs(y - month) < SHUTDOWN)] = np.nan
    last = float(x[np.isfinite(y)].max(initial=-np.inf))
    recent = np.isfinite(y) & (x > last - RECENT)
    both = recent & np.isfinite(np.array(list(drivers.values()))).all(axis=0)
    if both.sum() < SHARE_KNOWN * recent.sum():
        raise MissingInput(
            "condition of the bellows apart from load and weather",
            [f"{' and '.join(drivers)} on {int(recent.sum() - both.sum())} of the last "
             f"{int(recent.sum())} running days"],
        )  # fmt: skip
    return separate(x, y, drivers, sound=(float(x[0]), last - RECENT))


def separate(
    day: Array, value: Array, drivers: dict[str, Array], *, sound: tuple[float, float] | None = None
) -> Separated:  # fmt: skip
    """Take the ``drivers`` (same length as ``day``, NaN unknown) out of ``value`` [K].

    ``sound`` is the span of days the fit rests on, all where not given; a slow drift over all of
    them is fitted beside the drivers and left in.  A driver that hardly moved is left out and
    said so.  Raises :class:`MissingInput` with fewer than 60 days known in the span.
    """
    x, y = np.asarray(day, float), np.asarray(value, float)
    names = list(drivers)
    columns = np.array([np.asarray(drivers[name], float) for name in names]).reshape(
        len(names), x.size
    )
    known = np.isfinite(y) & np.isfinite(columns).all(axis=0)
    fit = known & ((x >= sound[0]) & (x <= sound[1]) if sound else True)
    if fit.sum() < LEAST_DAYS:
        raise MissingInput(
            "condition of the bellows apart from load and weather",
            [f"{LEAST_DAYS} days with {', '.join(['the bellows', *names])} known; "
             f"there are {int(fit.sum())}"],
        )  # fmt: skip
    require_within("Days", np.diff(x), low=1e-9, unit="d", whose="the fit of load and weather",
                   remedy="Sort the days and leave one value of each.")  # fmt: skip
    notes = []
    kept = []
    for k, name in enumerate(names):
        if float(np.std(columns[k][fit])) < 0.5:
            notes.append(f"{name} hardly moved; what it does to the bellows is not known")
        else:
            kept.append(k)
    mean = columns[:, fit].mean(axis=1)
    span = max(float(np.ptp(x[fit])), 1.0)
    slow = (x - x[fit].mean()) / span
    design = np.column_stack([np.ones(x.size), slow, *[columns[k] - mean[k] for k in kept]])
    a, b = design[fit], y[fit]
    weight = np.ones(b.size)
    found = np.zeros(a.shape[1])
    scale = 1.0
    for _ in range(ROUNDS):
        weighted = a * weight[:, None]
        last, found = found, np.linalg.lstsq(weighted.T @ a, weighted.T @ b, rcond=None)[0]
        off = b - a @ found
        scale = 1.4826 * float(np.median(np.abs(off - np.median(off)))) + 1e-9
        weight = np.minimum(1.0, _HUBER * scale / np.maximum(np.abs(off), 1e-12))
        if float(np.abs(found - last).max()) < 1e-10 * (1.0 + float(np.abs(found).max())):
            break
    off = b - a @ found
    inner = off[1:] @ off[:-1] / max(float(off @ off), 1e-300)
    common = float(np.clip(inner, 0.0, 0.95))
    cover = np.linalg.pinv((a * weight[:, None]).T @ a) * scale**2 * (1 + common) / (1 - common)
    part = design[:, 2:] @ found[2:] if kept else np.zeros(x.size)
    condition = np.where(known, y - part, np.nan)
    still = float(np.var(b - slow[fit] * found[1]))
    return Separated(
        day=x,
        condition=condition,
        by={names[k]: float(found[2 + i]) for i, k in enumerate(kept)},
        spread={
            names[k]: float(np.sqrt(max(cover[2 + i, 2 + i], 0.0))) for i, k in enumerate(kept)
        },
        at={names[k]: float(mean[k]) for k in kept},
        noise=scale,
        explained=float(np.clip(1.0 - np.var(off) / still, 0.0, 1.0)) if still > 0.0 else 0.0,
        notes=tuple(notes),
    )
