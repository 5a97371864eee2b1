"""When a bellows temperature asks for a person: what, since when, why, and what to look at. Pure.

One alert a cause: a history that stands below its line is not also reported as falling.  An alert
is proposed here; opening, acknowledging and closing are records that people make.
"""

from __future__ import annotations

import datetime as dt

import msgspec
import numpy as np

from takeup.errors import OutOfRange
from takeup.evidence import changes as cutting
from takeup.evidence.facts import AlertKind
from takeup.evidence.model import DailyTemperature, TemperatureReport
from takeup.evidence.temperature import STUCK_DAYS, trend, without_season
from takeup.limits import Limits
from takeup.sources import Source, assumption, practice
from takeup.units import Array

RULE = practice("patterns of bellows temperature and what they usually mean")
CAREFUL = assumption("a step counts from 5 K and 4.5 times its own uncertainty, within 90 days")
STEP, SURE, RECENT_DAYS, SILENT_DAYS = 5.0, 4.5, 90.0, 7
WINDOW, LEAST_BEFORE = 28, 14
BACK = 550.0
"""Days looked back over; the yearly wave is from all of the history"""
OFF = 40.0
"""Days farther off the running month are shutdowns [K]"""
EPOCH = dt.date(1970, 1, 1)


LOOK: dict[AlertKind, tuple[str, ...]] = {
    AlertKind.ABOVE: (
        "packing or blanket lost, hot gas behind the liner, afterburn: never answer it with more "
        "insulation outside",
        "all clocks of the bellows: one side alone means the blanket or seal is gone there",
    ),
    AlertKind.BELOW: (
        "cavity packed with fines or coke, cover or insulation lost or wet, unit at low rate",
        "hours below the low line: condensate while wet; penetrant test at the outage",
    ),
    AlertKind.RISING: (
        "blanket wearing or seal opening: liner scope at the outage",
        "insulation or a cover put on since",
    ),
    AlertKind.FALLING: (
        "fines or coke filling what was gas, insulation getting wet, purge or rate changed",
        "whether the joint still moves freely",
    ),
    AlertKind.STEP_UP: (
        "blanket lost, hot gas behind the liner, insulation or cover added, operation changed",
        "the instrument: a new element or range jumps too",
    ),
    AlertKind.STEP_DOWN: (
        "cover blown off, rain, steam or water leak, purge choked or cold, operation changed",
        "the instrument: an element that came loose reads low",
    ),
    AlertKind.STUCK: ("the instrument, its cable, the historian's tag",),
    AlertKind.SILENT: ("the instrument, its cable, the historian's tag",),
}
URGENT = frozenset({AlertKind.ABOVE, AlertKind.BELOW, AlertKind.STEP_UP, AlertKind.STEP_DOWN})


class Proposal(msgspec.Struct, frozen=True, kw_only=True):
    """One reason for a person to look."""

    tag: str
    joint: str
    bellows: str
    kind: AlertKind
    since: dt.date
    """First day it could be seen, or the change itself"""
    urgent: bool
    why: str
    look: tuple[str, ...]
    source: Source = RULE


def propose(
    report: TemperatureReport,
    daily: DailyTemperature,
    *,
    limits: Limits,
    today: dt.date,
    condition: Array | None = None,
) -> tuple[Proposal, ...]:
    """What a history asks for today; nothing from a history that ended long before ``today``.

    Lines come first, then drift, then steps of the last 90 days, then the instrument.  Steps are
    looked for in ``condition`` where it is given: the daily medians with load and weather taken
    out [K], NaN on days where these are not known.
    """
    known = np.isfinite(daily.median)
    if not known.any():
        return (_made(report, AlertKind.SILENT, today, "there is no good reading at all"),)
    day = np.asarray(daily.day[known], float)
    value = np.asarray(daily.median[known], float)
    now = (today - EPOCH).days
    silent = now - day[-1]
    if silent > SILENT_DAYS:
        last = EPOCH + dt.timedelta(days=int(day[-1]))
        return (
            _made(
                report,
                AlertKind.SILENT,
                last + dt.timedelta(days=1),
                f"the last good reading is of {last.isoformat()}, {int(silent)} days ago",
            ),
        )
    still = _still(daily, known)
    if still >= STUCK_DAYS:
        since = EPOCH + dt.timedelta(days=int(day[-1]) - still)
        words = f"the reading has not moved at all for {still} days"
        return (_made(report, AlertKind.STUCK, since, words),)
    found = []
    if report.state == "above":
        words = "; ".join(report.why)
        found.append(_made(report, AlertKind.ABOVE, _since(day, value, limits, "high"), words))
    elif report.state == "below":
        words = "; ".join(report.why)
        found.append(_made(report, AlertKind.BELOW, _since(day, value, limits, "low"), words))
    else:
        for crossing in report.crossings:
            chance = crossing.chance_before_outage or 0.0
            side = AlertKind.RISING if crossing.line == "high" else AlertKind.FALLING
            wanted = "rising" if crossing.line == "high" else "falling"
            if report.state == wanted and chance >= 0.1:
                found.append(_made(report, side, _began(day, value), "; ".join(report.why)))
    if condition is not None:
        kept = np.isfinite(condition)
        day, value = np.asarray(daily.day[kept], float), np.asarray(condition[kept], float)
    step = last_step(day, value)
    told = {one.kind for one in found}
    if step is not None and now - step.day <= RECENT_DAYS:
        up = step.size > 0.0
        hidden = {AlertKind.ABOVE, AlertKind.RISING} if up else {AlertKind.BELOW, AlertKind.FALLING}
        if not told & hidden:
            found.append(
                _made(
                    report,
                    AlertKind.STEP_UP if up else AlertKind.STEP_DOWN,
                    EPOCH + dt.timedelta(days=int(step.day)),
                    f"changed by {step.size:+.0f} ± {1.96 * step.spread:.0f} K (95 %) on or "
                    f"about {(EPOCH + dt.timedelta(days=int(step.day))).isoformat()}"
                    + (", load and weather taken out" if condition is not None else ""),
                )
            )
    return tuple(found)


class Step(msgspec.Struct, frozen=True, kw_only=True):
    """A sudden change of daily medians."""

    day: float
    """First day of the new level"""
    size: float
    """Mean of up to four weeks after less mean of up to four weeks before [K]"""
    spread: float
    """What such a contrast usually is in this history, robust standard deviation [K]"""


def last_step(day: Array, value: Array) -> Step | None:
    """The clearest step of the last 90 days, season and drift taken out; ``None`` without one.

    Shutdowns are left out: days that stand more than 40 K off the running month are not condition.
    What the medium or the weather did is still in it: take them out before, where they are known.
    """
    x, flat = _running_days(day, value)
    size = x.size
    if size < 4 * WINDOW:
        return None
    total = np.concatenate([np.zeros(1), np.cumsum(flat)])
    at = np.arange(LEAST_BEFORE, size - 6)
    after, before = np.minimum(size - at, WINDOW), np.minimum(at, WINDOW)
    contrast = (total[at + after] - total[at]) / after - (total[at] - total[at - before]) / before
    new = x[at] >= x[-1] - RECENT_DAYS
    whole = ~new & (after == WINDOW) & (before == WINDOW)
    if not new.any() or whole.sum() < 2 * WINDOW:
        return None
    # the drift makes a contrast of its own, and load and weather a spread that no model knows
    usual = float(np.median(contrast[whole]))
    scale = 1.4826 * float(np.median(np.abs(contrast[whole] - usual)))
    spread = np.maximum(scale, 0.2) * np.sqrt((1.0 / after + 1.0 / before) * WINDOW / 2.0)
    late = np.flatnonzero(new)
    off = contrast[late] - usual
    best = int(np.argmax(np.abs(off) / spread[late]))
    found = Step(
        day=float(x[at[late[best]]]), size=float(off[best]), spread=float(spread[late[best]])
    )
    return found if abs(found.size) > max(STEP, SURE * found.spread) else None


def _cut(day: Array, value: Array) -> cutting.Changes | None:
    if value.size < 2 * cutting.LEAST + 8:
        return None
    try:
        x, flat = _running_days(day, value)
        late = x > x[-1] - BACK
        return cutting.changes(x[late], flat[late], sloped=True)
    except OutOfRange:
        return None


def _running_days(day: Array, value: Array) -> tuple[Array, Array]:
    """Days of operation with the yearly wave taken out."""
    found = trend(day, value)
    flat = value if found is None else without_season(day, value, found)
    running = np.abs(flat - _running(flat)) < OFF
    return day[running], flat[running]


def _began(day: Array, value: Array) -> dt.date:
    """When the present drift began: the start of the last straight piece."""
    cut = _cut(day, value)
    first = day[0] if cut is None else cut.pieces[-1].start
    return EPOCH + dt.timedelta(days=int(first))


def _running(value: Array) -> Array:
    from scipy.ndimage import median_filter

    return np.asarray(median_filter(value, size=31, mode="nearest"))


def _still(daily: DailyTemperature, known: Array) -> int:
    """Days up to the last in which nothing moved."""
    spread = (daily.high - daily.low)[known]
    moved = np.abs(np.diff(daily.median[known], prepend=np.nan))
    still = (spread < 1e-3) & (np.nan_to_num(moved, nan=0.0) < 1e-3)
    turned = np.flatnonzero(~still[::-1])
    return int(turned[0]) if turned.size else int(still.size)


def _since(day: Array, value: Array, limits: Limits, side: str) -> dt.date:
    """First day of the present stretch beyond a line."""
    if side == "high":
        beyond = value > limits.value("temperature.high")
    else:
        beyond = value < limits.value("temperature.low_from")
    inside = np.flatnonzero(~beyond)
    first = inside[-1] + 1 if inside.size else 0
    return EPOCH + dt.timedelta(days=int(day[min(first, day.size - 1)]))


def _made(report: TemperatureReport, kind: AlertKind, since: dt.date, why: str) -> Proposal:
    return Proposal(
        tag=report.tag,
        joint=report.joint,
        bellows=report.bellows,
        kind=kind,
        since=since,
        urgent=kind in URGENT,
        why=why,
        look=LOOK[kind],
    )
