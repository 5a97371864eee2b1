"""Charts: temperature history, interply decay, movement, money, and the small ratio bar."""

from __future__ import annotations

import datetime as dt
import itertools
import math
from collections.abc import Sequence

import numpy as np

from takeup.checks import Check, Outcome
from takeup.documents.drawing.palette import PRINT, Palette
from takeup.documents.drawing.svg import Svg, n
from takeup.evidence.facts import InterplyReading, InterplyTest
from takeup.evidence.model import DailyTemperature, InterplyResult, MarkMovement, TemperatureReport
from takeup.limits import Limits
from takeup.plan.model import Portfolio
from takeup.units import System, from_si, shown, symbol


class Frame:
    """A plotting area with its two scales."""

    def __init__(
        self, svg: Svg, box: tuple[float, float, float, float], x: tuple[float, float],
        y: tuple[float, float],
    ) -> None:  # fmt: skip
        self.svg, self.box, self.xs, self.ys = svg, box, x, y

    def x(self, value: float) -> float:
        """Pixel of a value along."""
        left, _, width, _ = self.box
        low, high = self.xs
        return left + width * (value - low) / ((high - low) or 1.0)

    def y(self, value: float) -> float:
        """Pixel of a value up."""
        _, top, _, height = self.box
        low, high = self.ys
        return top + height * (1.0 - (value - low) / ((high - low) or 1.0))

    def grid(self, unit: str, decimals: int = 0) -> None:
        """Horizontal lines at round values, with labels."""
        low, high = self.ys
        step = nice((high - low) / 5)
        value = math.ceil(low / step) * step
        left, top, width, _ = self.box
        while value <= high + 1e-9:
            y = self.y(value)
            self.svg.line(left, y, left + width, y, stroke=self.svg.palette.hair, width=0.7)
            self.svg.text(left - 6, y + 4, f"{value:.{decimals}f}", size=11, anchor="end")
            value += step
        self.svg.text(left - 6, top - 6, unit, size=11, anchor="end", fill=self.svg.palette.soft)


def nice(step: float) -> float:
    """A round step near ``step``."""
    if step <= 0 or not math.isfinite(step):
        return 1.0
    power = 10.0 ** math.floor(math.log10(step))
    return next(k * power for k in (1, 2, 2.5, 5, 10) if k * power >= step)


def ratio_bar(check: Check, *, width: float = 120, palette: Palette = PRINT) -> str:
    """Use of capacity as a bar against its limit at one; beyond it the bar is hatched."""
    ratio = check.ratio
    words = "not evaluated" if ratio is None else f"{ratio:.2f} of the limit"
    svg = Svg(width, 14, words, f"{check.name}: {words}", palette)
    limit = width * 0.68
    svg.rect(0, 4, width, 6, fill=palette.tint)
    if ratio is not None:
        long = min(width, limit * ratio)
        colour = palette.warn if check.outcome == Outcome.NOT_MET else palette.ink
        svg.rect(0, 4, min(long, limit), 6, fill=colour)
        if long > limit:
            svg.rect(limit, 4, long - limit, 6, fill=svg.hatch("over", gap=3, stroke=palette.warn),
                     stroke=palette.warn, width=0.8)  # fmt: skip
    svg.line(limit, 0, limit, 14, width=1.4)
    return svg.render()


def temperature_chart(
    daily: DailyTemperature,
    report: TemperatureReport,
    limits: Limits,
    system: System,
    *,
    outage: dt.date | None = None,
    palette: Palette = PRINT,
) -> str:
    """Weekly band and median against the action lines, with drift and projected crossing."""
    svg = Svg(
        760,
        300,
        f"{report.tag}: bellows temperature",
        "; ".join(report.why) or report.state,
        palette,
    )
    unit = symbol("temperature", system)
    known = np.isfinite(daily.median)
    if not known.any():
        svg.text(380, 150, "no good reading in the whole history", anchor="middle", size=14)
        return svg.render()
    week, low, middle, high = _weekly(daily)
    lines = {
        name: float(from_si(limits.value(name), "temperature", system))
        for name in ("temperature.low_from", "temperature.low_to", "temperature.high")
    }
    low, middle, high = (np.asarray(from_si(a, "temperature", system)) for a in (low, middle, high))
    bottom = min(float(np.nanmin(low)), lines["temperature.low_to"]) - 15
    top = max(float(np.nanmax(high)), lines["temperature.high"]) + 15
    first, last = float(week[0]), float(week[-1])
    until = max(last + 90, (outage - dt.date(1970, 1, 1)).days + 30 if outage else 0)
    frame = Frame(svg, (56, 28, 680, 232), (first, until), (bottom, top))
    a, b = frame.y(lines["temperature.low_from"]), frame.y(lines["temperature.low_to"])
    svg.rect(56, a, 680, b - a, fill=svg.hatch("band", gap=6, stroke=palette.warn))
    frame.grid(unit)
    svg.line(56, frame.y(lines["temperature.high"]), 736, frame.y(lines["temperature.high"]),
             stroke=palette.warn, width=1.4, dash="8 4")  # fmt: skip
    svg.text(60, frame.y(lines["temperature.high"]) - 5, "act when rising above", size=11,
             fill=palette.warn)  # fmt: skip
    svg.text(60, b + 13, "act when falling into this band", size=11, fill=palette.warn)
    _years(svg, frame, first, until)
    for start, stop in _runs(week):
        xs = [frame.x(w) for w in week[start:stop]]
        up = [(x, frame.y(v)) for x, v in zip(xs, high[start:stop], strict=True)]
        down = [(x, frame.y(v)) for x, v in zip(xs, low[start:stop], strict=True)]
        if len(up) > 1:
            d = "M" + " L".join(f"{n(x)},{n(y)}" for x, y in [*up, *down[::-1]]) + " Z"
            svg.path(d, fill=palette.hair, stroke="none")
        svg.polyline([(x, frame.y(v)) for x, v in zip(xs, middle[start:stop], strict=True)],
                     width=1.5)  # fmt: skip
    _drift(svg, frame, report, system, last, until, lines)
    if outage is not None:
        x = frame.x((outage - dt.date(1970, 1, 1)).days)
        svg.line(x, 28, x, 260, stroke=palette.accent, width=1.6)
        svg.text(x - 4, 24, f"outage {outage.isoformat()}", size=11, anchor="end",
                 fill=palette.accent)  # fmt: skip
    svg.text(56, 292, "weekly median, and lowest to highest reading; gaps are left open", size=11,
             fill=palette.soft)  # fmt: skip
    return svg.render()


def _weekly(
    daily: DailyTemperature,
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    known = np.isfinite(daily.median)
    day = daily.day[known]
    week = np.floor(day / 7)
    weeks, place = np.unique(week, return_inverse=True)
    low, high, middle = (np.full(weeks.size, np.nan) for _ in range(3))
    for i in range(weeks.size):
        here = place == i
        low[i] = np.nanpercentile(daily.low[known][here], 10)
        high[i] = np.nanpercentile(daily.high[known][here], 90)
        middle[i] = np.median(daily.median[known][here])
    return weeks * 7 + 3.5, low, middle, high


def _runs(week: Sequence[float] | np.ndarray) -> list[tuple[int, int]]:
    """Stretches without a gap of more than two weeks."""
    gaps = [0, *(i + 1 for i in range(len(week) - 1) if week[i + 1] - week[i] > 15), len(week)]
    return list(itertools.pairwise(gaps))


def _years(svg: Svg, frame: Frame, first: float, until: float) -> None:
    start = (dt.date(1970, 1, 1) + dt.timedelta(days=int(first))).year
    for year in range(start, start + 12):
        day = (dt.date(year, 1, 1) - dt.date(1970, 1, 1)).days
        if first <= day <= until:
            x = frame.x(day)
            svg.line(x, 260, x, 266, width=1)
            svg.text(x + 3, 276, str(year), size=11)
    svg.line(56, 260, 736, 260, width=1)


def _drift(
    svg: Svg,
    frame: Frame,
    report: TemperatureReport,
    system: System,
    last: float,
    until: float,
    lines: dict[str, float],
) -> None:
    figures = {figure.id: figure.value for figure in report.figures}
    now, slope, spread = (figures.get(k) for k in ("running_median", "trend", "trend_uncertainty"))
    if now is None or slope is None or spread is None or report.state == "in band":
        return
    start = float(from_si(now, "temperature", system))
    factor = 1.8 if system == System.US else 1.0
    days = until - last
    low, high = frame.ys

    def end(rate: float) -> tuple[float, float]:
        value = start + rate * 86400 * days * factor
        inside = min(max(value, low), high)
        share = 1.0 if value == inside else (inside - start) / (value - start)
        return frame.x(last + days * share), frame.y(inside)

    for rate, dash in (
        (slope, ""),
        (slope + 1.645 * spread, "3 3"),
        (slope - 1.645 * spread, "3 3"),
    ):
        x, y = end(rate)
        svg.line(frame.x(last), frame.y(start), x, y, stroke=svg.palette.warn, width=1.4, dash=dash)


def interply_chart(
    test: InterplyTest,
    readings: Sequence[InterplyReading],
    result: InterplyResult,
    system: System,
    *,
    palette: Palette = PRINT,
) -> str:
    """The held pressure over time, as read and corrected for temperature."""
    svg = Svg(
        360, 200, f"Interply test {test.joint} {test.bellows} {test.date.isoformat()}",
        f"{result.verdict.value}: {'; '.join(result.why)}", palette,
    )  # fmt: skip
    if len(readings) < 2:
        svg.text(180, 100, "fewer than two readings", anchor="middle", size=13)
        return svg.render()
    read = sorted(readings, key=lambda r: r.minute)
    minutes = [r.minute / 60 for r in read]
    values = [float(from_si(r.pressure, "pressure_small", system)) for r in read]
    frame = Frame(svg, (52, 24, 292, 140), (0.0, max(minutes)), (0.0, max(values) * 1.15))
    frame.grid(symbol("pressure_small", system), 0 if system == System.METRIC else 1)
    svg.line(52, 164, 344, 164)
    for minute in minutes:
        svg.text(frame.x(minute), 178, f"{minute:g}", size=10.5, anchor="middle")
    svg.text(344, 192, "min", size=10.5, anchor="end", fill=palette.soft)
    first = read[0]
    if first.temperature and all(r.temperature for r in read):
        air = test.atmospheric or 101325.0
        corrected = [
            (r.pressure + air) * first.temperature / (r.temperature or 1.0) - air for r in read
        ]
        svg.polyline(
            [
                (frame.x(m), frame.y(float(from_si(v, "pressure_small", system))))
                for m, v in zip(minutes, corrected, strict=True)
            ],
            width=1.4, dash="5 3", stroke=palette.accent,
        )  # fmt: skip
        svg.text(56, 36, "dashed: corrected for temperature", size=10, fill=palette.accent)
    svg.polyline(
        [(frame.x(m), frame.y(v)) for m, v in zip(minutes, values, strict=True)], width=1.8
    )
    for m, v in zip(minutes, values, strict=True):
        svg.circle(frame.x(m), frame.y(v), 3, fill=palette.paper, width=1.6)
    return svg.render()


def movement_sketch(
    movement: MarkMovement,
    expected: float | None,
    rated: float | None,
    system: System,
    *,
    palette: Palette = PRINT,
) -> str:
    """Measured, expected and rated axial movement as bars from a common zero."""
    svg = Svg(
        420, 110, f"Movement of {movement.joint}",
        "measured, expected and rated axial movement", palette,
    )  # fmt: skip
    rows = [("measured", movement.axial), ("theory", expected), ("rated", rated)]
    known = [abs(v) for _, v in rows if v is not None] or [1e-3]
    scale = 130.0 / max(known)
    zero = 225.0
    svg.line(zero, 6, zero, 98, stroke=palette.soft)
    for place, (name, value) in enumerate(rows):
        y = 12 + 30 * place
        svg.text(4, y + 13, name, size=12)
        if value is None:
            svg.text(zero + 8, y + 13, "not known", size=11, fill=palette.soft, style="italic")
            continue
        long = value * scale
        fill = palette.ink if place == 0 else palette.tint
        svg.rect(min(zero, zero + long), y + 2, abs(long), 14, fill=fill, stroke=palette.ink)
        if place == 0 and movement.uncertainty:
            blur = movement.uncertainty * scale
            svg.line(
                zero + long - blur, y + 9, zero + long + blur, y + 9, stroke=palette.warn, width=2
            )
        side = 1 if long >= 0 else -1
        svg.text(zero + long + 6 * side, y + 14, shown(value, "movement", system), size=11,
                 anchor="start" if side > 0 else "end")  # fmt: skip
    svg.text(zero - 4, 108, "compression ←", size=10, anchor="end", fill=palette.soft)
    svg.text(zero + 4, 108, "→ extension", size=10, fill=palette.soft)
    return svg.render()


def budget_curve(portfolio: Portfolio, currency: str, *, palette: Palette = PRINT) -> str:
    """What more or less money would buy: residual risk against budget, the chosen one marked."""
    svg = Svg(
        520, 260, "What more or less money would buy",
        "residual risk cost against budget, proven at each point", palette,
    )  # fmt: skip
    points = [(money / 1e6, risk / 1e6) for money, risk in portfolio.marginal]
    if len(points) < 2:
        svg.text(260, 130, "one budget only", anchor="middle")
        return svg.render()
    xs, ys = [x for x, _ in points], [y for _, y in points]
    frame = Frame(svg, (64, 26, 430, 180), (min(xs), max(xs)), (0.0, max(ys) * 1.08))
    frame.grid(f"M {currency} risk", 0 if max(ys) > 10 else 1)
    svg.line(64, 206, 494, 206)
    step = nice((max(xs) - min(xs)) / 5)
    value = math.ceil(min(xs) / step) * step
    while value <= max(xs) + 1e-9:
        svg.text(frame.x(value), 222, f"{value:.1f}", size=11, anchor="middle")
        value += step
    svg.text(494, 240, f"budget, M {currency}", size=11, anchor="end", fill=palette.soft)
    svg.polyline([(frame.x(x), frame.y(y)) for x, y in points], width=1.8)
    for x, y in points:
        svg.circle(frame.x(x), frame.y(y), 2.6, fill=palette.paper, width=1.2)
    if portfolio.budget is not None:
        x = frame.x(min(max(portfolio.budget / 1e6, min(xs)), max(xs)))
        svg.line(x, 26, x, 206, stroke=palette.accent, width=1.6, dash="6 3")
        svg.text(x + 4, 22, "budget after reserve", size=11, fill=palette.accent)
    return svg.render()
