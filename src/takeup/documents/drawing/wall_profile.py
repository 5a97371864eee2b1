"""The wall of a joint with its temperatures: hatched layers, the profile and its range, the lines.

Layers stand from the gas on the left to the weather on the right.  Their widths are to scale
but for thin ones, which are widened to be seen; that is written below.  The band holds 90 % of
the samples.  A range of dew or salt points is hatched over the bellows, where it matters.
"""

from __future__ import annotations

import math

import msgspec

from takeup.documents.drawing.palette import PRINT, Palette
from takeup.documents.drawing.svg import Svg, n
from takeup.documents.drawing.view import wrap, write
from takeup.heat.dew_model import DewReport
from takeup.heat.inverse_model import Reading
from takeup.heat.model import LayerResult, Range, WallReport
from takeup.heat.wall_stack import DANGEROUS
from takeup.limits import Limit
from takeup.units import System, from_si, shown, symbol

WIDTH, LEFT, RIGHT = 900.0, 70.0, 130.0
PLOT = 330.0
FILM = 62.0
"""Width of the gas and of the weather beside the wall."""
THINNEST = 26.0
ROW = 19.0
TICKS = (10, 20, 25, 50, 100, 200, 250, 500, 1000)
HATCH = {
    "fibre": ("fibre", 9.0, 60),
    "block": ("block", 7.0, 0),
    "castable": ("castable", 6.0, -45),
    "fill": ("fill", 4.0, 90),
    "metal": ("metal", 3.0, 45),
}


class _Scale(msgspec.Struct, frozen=True):
    """Temperature to pixels."""

    low: float
    """Shown value at the bottom."""
    high: float
    step: float
    top: float
    system: System

    def y(self, kelvin: float) -> float:
        """Pixel of a temperature."""
        value = float(from_si(kelvin, "temperature", self.system))
        return self.top + PLOT * (self.high - value) / (self.high - self.low)


def wall_profile(
    report: WallReport,
    *,
    system: System = System.METRIC,
    low: Limit | None = None,
    high: Limit | None = None,
    dew: DewReport | None = None,
    reading: Reading | None = None,
    palette: Palette = PRINT,
) -> str:
    """Temperature against radius, with action lines, dew points and a reading where given."""
    danger = DANGEROUS in report.cautions
    lines = wrap(DANGEROUS, WIDTH - 190, 13) if danger else []
    top = 34.0 + (22.0 + 17.0 * len(lines) if danger else 0.0)
    legend = top + PLOT + 46.0
    height = legend + ROW * (len(report.layers) + 1) + 66.0
    bellows = report.bellows_outer
    svg = Svg(
        WIDTH,
        height,
        f"{report.name or 'Wall'}: temperature through the wall",
        f"Bellows at {_range(bellows, system)}, gas {shown(report.gas, 'temperature', system)}, "
        f"ambient {shown(report.ambient, 'temperature', system)}; {len(report.layers)} layers"
        + (f". {DANGEROUS}" if danger else ""),
        palette,
    )
    if danger:
        _danger(svg, lines)
    scale = _scale(report, system, top, low, high, dew, reading)
    edges = _edges(report)
    _axis(svg, scale, system)
    _layers(svg, report, edges, scale)
    if dew is not None:
        _dew(svg, dew, report, edges, scale)
    _limits(svg, scale, low, high, edges, system)
    if dew is not None and dew.line is not None:
        y = scale.y(dew.line)
        svg.line(LEFT, y, WIDTH - RIGHT, y, stroke=palette.accent, width=1.4, dash="2 3")
        words = f"dew point and margin {shown(dew.line, 'temperature', system)}"
        _boxed(svg, edges[0] + 8, y - 6, words, palette.accent)
    _curve(svg, report, edges, scale)
    _bellows(svg, report, edges, scale, system)
    if reading is not None:
        _reading(svg, reading, report, edges, scale, system)
    _legend(svg, report, legend, system)
    return svg.render()


def _range(one: Range, system: System) -> str:
    low = shown(one.low, "temperature", system, unit=False)
    high = shown(one.high, "temperature", system, unit=False)
    return f"{shown(one.value, 'temperature', system)} ({low} to {high})"


def _danger(svg: Svg, lines: list[str]) -> None:
    p = svg.palette
    svg.rect(4, 4, WIDTH - 8, 20 + 17 * len(lines), fill=p.paper, stroke=p.warn, width=2.4)
    for place, words in enumerate(lines):
        svg.text(20, 26 + 17 * place, words, size=13, weight="bold", fill=p.warn)


def _scale(
    report: WallReport,
    system: System,
    top: float,
    low: Limit | None,
    high: Limit | None,
    dew: DewReport | None,
    reading: Reading | None,
) -> _Scale:
    seen = [report.gas, report.ambient, *report.profile.low, *report.profile.high]
    seen += [one.value for one in (low, high) if one is not None]
    if dew is not None and dew.line is not None:
        seen.append(dew.line)
    if reading is not None:
        seen.append(reading.temperature)
    values = [float(from_si(one, "temperature", system)) for one in seen if math.isfinite(one)]
    least, most = min(values), max(values)
    step = float(next((one for one in TICKS if (most - least) / one <= 9), TICKS[-1]))
    return _Scale(
        low=math.floor(least / step) * step,
        high=math.ceil((most + 0.02 * (most - least)) / step) * step,
        step=step,
        top=top,
        system=system,
    )


def _edges(report: WallReport) -> list[float]:
    """Pixel of each surface: to scale, thin layers widened."""
    start, end = LEFT + FILM, WIDTH - RIGHT - FILM
    thick = [layer.outside - layer.inside for layer in report.layers]
    free, wide = end - start, [False] * len(thick)
    for _ in thick:  # widening one takes from the rest, which may make another too thin
        rest = sum(t for t, w in zip(thick, wide, strict=True) if not w)
        left = free - THINNEST * sum(wide)
        now = [w or t * left < THINNEST * rest for t, w in zip(thick, wide, strict=True)]
        if now == wide:
            break
        wide = now
    rest = sum(t for t, w in zip(thick, wide, strict=True) if not w)
    left = free - THINNEST * sum(wide)
    widths = [THINNEST if w else t * left / rest for t, w in zip(thick, wide, strict=True)]
    if all(wide):
        widths = [free / len(thick)] * len(thick)
    edges = [start]
    for width in widths:
        edges.append(edges[-1] + width)
    return edges


def _axis(svg: Svg, scale: _Scale, system: System) -> None:
    p = svg.palette
    value = scale.low
    while value <= scale.high + 1e-6:
        y = scale.top + PLOT * (scale.high - value) / (scale.high - scale.low)
        svg.line(LEFT, y, WIDTH - RIGHT, y, stroke=p.hair, width=0.7)
        svg.text(LEFT - 6, y + 4, f"{value:g}", size=12, anchor="end", fill=p.soft)
        value += scale.step
    svg.text(LEFT - 6, scale.top - 12, symbol("temperature", system), size=12, anchor="end",
             fill=p.soft)  # fmt: skip
    bottom = scale.top + PLOT
    svg.text(LEFT + FILM / 2, bottom + 20, "gas", size=12, anchor="middle", fill=p.soft)
    svg.text(WIDTH - RIGHT - FILM / 2, bottom + 20, "weather", size=12, anchor="middle",
             fill=p.soft)  # fmt: skip


def _fill(svg: Svg, layer: LayerResult) -> str:
    if layer.group not in HATCH:
        return "none"
    name, gap, turn = HATCH[layer.group]
    return svg.hatch(name, gap=gap, turn=turn)


def _layers(svg: Svg, report: WallReport, edges: list[float], scale: _Scale) -> None:
    p = svg.palette
    bottom = scale.top + PLOT
    for place, layer in enumerate(report.layers):
        x, wide = edges[place], edges[place + 1] - edges[place]
        title = f"{layer.name}: {layer.material}"
        svg.rect(x, scale.top, wide, PLOT, fill=_fill(svg, layer), stroke=p.soft, width=0.8,
                 title=title)  # fmt: skip
        svg.circle(x + wide / 2, bottom + 15, 9, fill=p.paper, width=1.0)
        svg.text(x + wide / 2, bottom + 19, str(place + 1), size=12, anchor="middle",
                 weight="bold")  # fmt: skip


def _points(
    report: WallReport, edges: list[float], scale: _Scale, values: tuple[float, ...]
) -> list[tuple[float, float]]:
    """Pixels of the profile; radii go over to the widened layers piece by piece."""
    per = len(report.profile.radius) // len(report.layers)
    found = []
    for place, layer in enumerate(report.layers):
        for at in range(place * per, (place + 1) * per):
            way = (report.profile.radius[at] - layer.inside) / (layer.outside - layer.inside)
            x = edges[place] + way * (edges[place + 1] - edges[place])
            found.append((x, scale.y(values[at])))
    return found


def _curve(svg: Svg, report: WallReport, edges: list[float], scale: _Scale) -> None:
    p = svg.palette
    gas = (LEFT, scale.y(report.gas))
    air = (WIDTH - RIGHT, scale.y(report.ambient))
    middle = _points(report, edges, scale, report.profile.value)
    if all(math.isfinite(one) for one in report.profile.low):
        low = _points(report, edges, scale, report.profile.low)
        high = _points(report, edges, scale, report.profile.high)
        ring = [*low, *reversed(high)]
        d = "M" + " L".join(f"{n(x)},{n(y)}" for x, y in ring) + " Z"
        svg.add(f'<path d="{d}" fill="{p.accent}" fill-opacity="0.22" stroke="{p.accent}" '
                'stroke-width="0.7" stroke-dasharray="3 2"/>')  # fmt: skip
    for (x1, y1), (x2, y2) in ((gas, middle[0]), (middle[-1], air)):
        bend = x1 + 0.45 * (x2 - x1) if x1 == gas[0] else x1 + 0.25 * (x2 - x1)
        # flat in the bulk, steep in the film at the wall
        d = (f"M{n(x1)},{n(y1)} C{n(bend)},{n(y1)} {n(x2 - 4)},{n(y1)} {n(x2)},{n(y2)}"
             if x1 == gas[0]
             else f"M{n(x1)},{n(y1)} C{n(x1 + 4)},{n(y2)} {n(bend)},{n(y2)} {n(x2)},{n(y2)}")  # fmt: skip
        svg.path(d, stroke=p.ink, width=1.4, dash="5 3")
    svg.polyline(middle, width=2.6, stroke=p.ink)
    svg.text(LEFT + 4, gas[1] - 6, shown(report.gas, "temperature", scale.system), size=12)
    svg.text(WIDTH - RIGHT - 4, air[1] - 6, shown(report.ambient, "temperature", scale.system),
             size=12, anchor="end")  # fmt: skip


def _plies(report: WallReport, edges: list[float]) -> tuple[float, float]:
    places = [at for at, layer in enumerate(report.layers) if layer.name.startswith("bellows")]
    return edges[places[0]], edges[places[-1] + 1]


def _bellows(
    svg: Svg, report: WallReport, edges: list[float], scale: _Scale, system: System
) -> None:
    """The bellows framed, and its temperature with range beside the drawing."""
    p = svg.palette
    left, right = _plies(report, edges)
    svg.rect(left, scale.top, right - left, PLOT, stroke=p.ink, width=2.0)
    svg.text((left + right) / 2, scale.top - 8, "bellows", size=12, anchor="middle",
             weight="bold")  # fmt: skip
    one = report.bellows_outer
    y = scale.y(one.value)
    svg.circle(right, y, 4.5, fill=p.ink)
    x = WIDTH - RIGHT + 10
    svg.line(right, y, x - 2, y, stroke=p.ink, width=0.8, dash="2 2")
    svg.text(x, y + 1, shown(one.value, "temperature", system), size=17, weight="bold")
    low = shown(one.low, "temperature", system, unit=False)
    svg.text(x, y + 17, f"{low} to {shown(one.high, 'temperature', system)}", size=12)


def _limits(
    svg: Svg,
    scale: _Scale,
    low: Limit | None,
    high: Limit | None,
    edges: list[float],
    system: System,
) -> None:
    p = svg.palette
    for limit, words, below in ((low, "low action line", True), (high, "high action line", False)):
        if limit is None:
            continue
        y = scale.y(limit.value)
        svg.line(LEFT, y, WIDTH - RIGHT, y, stroke=p.warn, width=1.6, dash="9 4")
        text = f"{words} {shown(limit.value, 'temperature', system)}"
        _boxed(svg, edges[0] + 8, y + (15 if below else -6), text, p.warn)


def _boxed(svg: Svg, x: float, y: float, words: str, fill: str) -> None:
    """Words on a strip of paper, so that hatching does not cross them."""
    svg.rect(x - 3, y - 11, 6.0 * len(words) + 8, 15, fill=svg.palette.paper)
    svg.text(x, y, words, size=12, fill=fill)


def _dew(svg: Svg, dew: DewReport, report: WallReport, edges: list[float], scale: _Scale) -> None:
    """The band of the condensate that rules, over the bellows and what lies outside it."""
    if not dew.condensates:
        return
    p = svg.palette
    top = dew.condensates[0]
    left, _ = _plies(report, edges)
    left = max(LEFT, left - 46)
    a, b = scale.y(top.temperature.high), scale.y(top.temperature.low)
    svg.rect(left, a, WIDTH - RIGHT - left, b - a, stroke=p.warn, width=0.8,
             fill=svg.hatch("dew", gap=5, stroke=p.warn, turn=-45),
             title=f"{top.title} comes down here")  # fmt: skip
    words = f"{top.title} comes down"
    _boxed(svg, left - 6.0 * len(words) - 14, (a + b) / 2 + 4, words, p.warn)


def _reading(
    svg: Svg,
    reading: Reading,
    report: WallReport,
    edges: list[float],
    scale: _Scale,
    system: System,
) -> None:
    p = svg.palette
    _, right = _plies(report, edges)
    y, r = scale.y(reading.temperature), 7.0
    svg.path(f"M{n(right)},{n(y - r)} l{n(r)},{n(r)} l{n(-r)},{n(r)} l{n(-r)},{n(-r)} Z",
             fill=p.paper, stroke=p.accent, width=2.2)  # fmt: skip
    x = WIDTH - RIGHT + 10
    near = abs(y - scale.y(report.bellows_outer.value)) < 40
    at = y - 26 if near and y <= scale.y(report.bellows_outer.value) else y + (40 if near else 4)
    svg.text(x, at, f"measured {shown(reading.temperature, 'temperature', system)}", size=12,
             fill=p.accent, weight="bold")  # fmt: skip


def _legend(svg: Svg, report: WallReport, y: float, system: System) -> None:
    p = svg.palette
    heads = (
        ("layer", 40.0, "start"),
        ("material", 200.0, "start"),
        (f"thickness, {symbol('thickness', system)}", 580.0, "end"),
        (f"conductivity, {symbol('insulation_conductivity', system)}", 776.0, "end"),
        (f"drop, {symbol('temperature_difference', system)}", 836.0, "end"),
        ("share", 884.0, "end"),
    )
    for words, x, anchor in heads:
        svg.text(x, y, words, size=12, anchor=anchor, fill=p.soft)
    svg.line(14, y + 5, WIDTH - 14, y + 5, stroke=p.soft, width=0.8)
    for place, layer in enumerate(report.layers):
        y += ROW
        svg.circle(24, y - 4, 8, fill=p.paper, width=0.9)
        svg.text(24, y, str(place + 1), size=11, anchor="middle", weight="bold")
        numbers = (
            (layer.outside - layer.inside, "thickness"),
            (layer.conductivity, "insulation_conductivity"),
            (layer.drop, "temperature_difference"),
        )
        cells = [layer.name, layer.material]
        cells += [shown(value, kind, system, unit=False) for value, kind in numbers]
        cells.append(f"{layer.share:.0%}")
        for words, (_, x, anchor) in zip(cells, heads, strict=True):
            svg.text(x, y, words, size=12, anchor=anchor)
    heat = shown(report.heat.value, "heat_per_length", system)
    write(
        svg, 14, y + 24,
        f"Band: 90 % of {report.evaluated} samples of what is uncertain. Heat lost {heat}. Widths "
        "to scale but for thin layers, which are widened. Radial heat only: ends, legs and the "
        "low side of the pipe differ.",
        WIDTH - 150, size=12, fill=p.soft,
    )  # fmt: skip
