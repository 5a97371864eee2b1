"""What was measured beside what each explanation would show, and how likely each explanation is."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from takeup.documents.drawing.charts import nice
from takeup.documents.drawing.palette import PRINT, Palette
from takeup.documents.drawing.svg import Svg, n
from takeup.documents.drawing.view import wrap
from takeup.errors import Contradiction
from takeup.units import System, from_si, kind_of, shown

WIDTH = 880.0
ROW, TOP = 64.0, 34.0
NAMES, LEFT, LONG, VALUES = 6.0, 268.0, 420.0, 706.0
"""Where names stand, where the axes start, how long they are, where values stand [px]."""
BADGE, WORDS, BARS, FULL = 18.0, 40.0, 490.0, 290.0
"""Of the bars: number, words, where bars start and how long certainty is [px]."""
NORMAL = 1.96
MOST_SERIES = 5
"""Sound line and four explanations: as many shapes as can be told apart."""


class MarkRow(msgspec.Struct, frozen=True, kw_only=True):
    """One reading: measured, with its error, and what each explanation would show. SI."""

    name: str
    kind: str
    """Quantity kind of the values"""
    measured: float
    error: float
    """One standard deviation of measurement and model together"""
    predicted: tuple[float, ...]
    """By explanation, in the order of the series"""


class Likely(msgspec.Struct, frozen=True, kw_only=True):
    """A group of explanations and how likely it is."""

    number: int
    words: str
    share: float
    """Posterior [-]"""
    sound: bool = False
    """Whether *everything sound* is in the group"""


def marks_against(
    rows: Sequence[MarkRow],
    series: Sequence[str],
    *,
    system: System = System.METRIC,
    palette: Palette = PRINT,
) -> str:
    """One row per reading, each on a scale of its own: measured with 95 %, predicted by shape.

    ``series`` names the explanations in words, *everything sound* first; at most
    :data:`MOST_SERIES`.  Raises :class:`takeup.errors.Contradiction` for more, or for a row
    with another number of predictions.
    """
    if len(series) > MOST_SERIES:
        raise Contradiction(f"{len(series)} explanations; the drawing has {MOST_SERIES} shapes")
    if any(len(row.predicted) != len(series) for row in rows):
        raise Contradiction("a reading has another number of predictions than explanations")
    legend = [wrap(words, WIDTH - 60.0, 13.0) for words in series]
    foot = 24.0 + 16.0 * (1 + sum(len(lines) for lines in legend)) + 22.0
    svg = Svg(
        WIDTH,
        TOP + ROW * max(1, len(rows)) + foot,
        "Predicted against measured",
        f"{len(rows)} readings; {len(series)} explanations: {'; '.join(series)}",
        palette,
    )
    svg.text(NAMES, 16, "reading", size=12, fill=palette.soft)
    svg.text(LEFT, 16, "each on its own scale", size=12, fill=palette.soft)
    svg.text(VALUES, 16, "measured ± 95 % with model", size=12, fill=palette.soft)
    if not rows:
        svg.text(WIDTH / 2, TOP + 30, "no reading was weighed", anchor="middle", size=14)
    for place, row in enumerate(rows):
        top = TOP + ROW * place
        svg.line(NAMES, top, WIDTH - 6, top, stroke=palette.hair, width=0.7)
        _row(svg, row, top, system)
    _legend(svg, legend, TOP + ROW * max(1, len(rows)) + 20.0)
    return svg.render()


def _row(svg: Svg, row: MarkRow, top: float, system: System) -> None:
    p, y, above = svg.palette, top + 33.0, top + 15.0
    lines = wrap(row.name, LEFT - NAMES - 16.0, 14.5)[:3]
    start = top + 32.0 - 7.0 * (len(lines) - 1)
    for at, words in enumerate(lines):
        svg.text(NAMES, start + 14 * at, words, size=13.5, weight="bold" if at == 0 else "")
    measured = float(from_si(row.measured, row.kind, system))
    half = NORMAL * row.error / kind_of(row.kind).show(system).factor
    values = [float(from_si(v, row.kind, system)) for v in row.predicted]
    low, high = (f([0.0, measured - half, measured + half, *values]) for f in (min, max))
    spare = 0.07 * ((high - low) or 1.0)
    low, high = low - spare, high + spare

    def x(value: float) -> float:
        return LEFT + LONG * (value - low) / (high - low)

    a, b = x(measured - half), x(measured + half)
    svg.rect(a, top + 4, b - a, 38, fill=p.tint)
    svg.line(LEFT, top + 44, LEFT + LONG, top + 44, stroke=p.soft, width=0.7)
    step = nice((high - low) / 4.0)
    tick = step * -(-low // step)
    while tick <= high + 1e-12:
        zero = abs(tick) < 1e-9 * step + 1e-15
        svg.line(x(tick), top + (4 if zero else 40), x(tick), top + 47, stroke=p.soft,
                 width=1.2 if zero else 0.7)  # fmt: skip
        words = f"{0.0 if zero else tick:g}".replace("-", "\u2212")
        svg.text(x(tick), top + 57, words, size=11.5, anchor="middle", fill=p.soft)
        tick += step
    for at, value in reversed(list(enumerate(values))):
        _shape(svg, at, x(value), above)
    svg.line(a, y, b, y, width=2.2)
    for edge in (a, b):
        svg.line(edge, y - 6, edge, y + 6, width=2.2)
    svg.circle(x(measured), y, 4.6, fill=p.ink, stroke=p.ink)
    svg.text(VALUES, top + 32, f"{shown(row.measured, row.kind, system)} ± "
             f"{shown(NORMAL * row.error, row.kind, system)}", size=13.5)  # fmt: skip


def _shape(svg: Svg, which: int, x: float, y: float) -> None:
    """Square, triangle, diamond, cross, plus: told apart without colour."""
    p = svg.palette
    if which == 0:
        svg.rect(x - 6.5, y - 6.5, 13, 13, fill=p.paper, stroke=p.ink, width=1.6)
    elif which == 1:
        svg.path(f"M{n(x)},{n(y - 9)} l8,15 h-16 Z", fill=p.accent, stroke=p.paper, width=0.8)
    elif which == 2:
        svg.path(f"M{n(x)},{n(y - 8)} l7,8 l-7,8 l-7,-8 Z", fill=p.paper, stroke=p.accent,
                 width=1.8)  # fmt: skip
    elif which == 3:
        svg.path(f"M{n(x - 6)},{n(y - 6)} l12,12 m0,-12 l-12,12", stroke=p.accent, width=2.2)
    else:
        svg.path(f"M{n(x - 7)},{n(y)} h14 m-7,-7 v14", stroke=p.ink, width=2.2)


def _legend(svg: Svg, legend: Sequence[Sequence[str]], y: float) -> None:
    p = svg.palette
    svg.line(NAMES, y - 4, NAMES + 26, y - 4, width=2.2)
    svg.circle(NAMES + 13, y - 4, 4.6, fill=p.ink, stroke=p.ink)
    svg.text(42, y, "measured, hot minus cold unless said otherwise", size=13)
    y += 20.0
    for which, lines in enumerate(legend):
        _shape(svg, which, NAMES + 13, y - 4)
        for words in lines:
            svg.text(42, y, words, size=13)
            y += 16.0
        y += 3.0


def likely_bars(
    rows: Sequence[Likely], others: float, *, fits: bool = True, palette: Palette = PRINT
) -> str:
    """Groups of explanations as bars with their probability, everything else below them.

    A group that holds *everything sound* is hatched, the rest filled; what is not listed is an
    open bar.  Where nothing ``fits`` the readings all bars are open and it is said so.
    """
    told = [(row, wrap(row.words, BARS - WORDS - 20.0, 14.5)) for row in rows]
    heights = [max(34.0, 15.0 * len(lines) + 14.0) for _, lines in told]
    height = TOP + sum(heights) + 34.0 + 26.0
    lead = f"; first: {rows[0].words}, {percent(rows[0].share)}" if rows else ""
    svg = Svg(WIDTH, height, "What it may be", f"{len(rows)} groups of explanations{lead}", palette)
    svg.text(
        WORDS, 16, "explanations that cannot be told apart, together", size=12, fill=palette.soft
    )
    head = "stated probability of the group" if fits else "nothing fits: share of the nearest"
    svg.text(BARS, 16, head, size=11, fill=palette.soft if fits else palette.warn)
    for share in (0.0, 0.5, 1.0):
        x = BARS + FULL * share
        svg.line(x, TOP - 8, x, height - 28, stroke=palette.hair, width=0.8)
        svg.text(x, height - 12, f"{share:.0%}".replace("%", "\u00a0%"), size=11, anchor="middle",
                 fill=palette.soft)  # fmt: skip
    y = TOP
    for (row, lines), tall in zip(told, heights, strict=True):
        svg.circle(BADGE, y + 12, 11, fill=palette.paper, width=1.4)
        svg.text(BADGE, y + 16.5, str(row.number), size=13, anchor="middle", weight="600")
        for at, words in enumerate(lines):
            svg.text(WORDS, y + 16 + 15 * at, words, size=14)
        long = max(2.0, FULL * row.share)
        fill = svg.hatch("sound", gap=4, stroke=palette.ink) if row.sound else palette.accent
        svg.rect(BARS, y + 3, long, 18, fill=fill if fits else "none", dash="" if fits else "3 2",
                 stroke=palette.ink if row.sound or not fits else palette.accent)  # fmt: skip
        svg.text(BARS + long + 8, y + 17, percent(row.share), size=13, weight="600" if fits else "",
                 fill=None if fits else palette.soft)  # fmt: skip
        y += tall
    svg.text(WORDS, y + 16, "all else together", size=13, style="italic")
    long = max(2.0, FULL * others)
    svg.rect(BARS, y + 3, long, 18, stroke=palette.soft, dash="3 2", fill="none")
    svg.text(BARS + long + 8, y + 17, percent(others), size=13)
    return svg.render()


def percent(share: float) -> str:
    """A probability: no more digits than it is worth, never 0 or 100 for what is neither."""
    if share > 0.995:
        return "over 99\u00a0%"
    if share < 0.005:
        return "under 1\u00a0%"
    return f"{share:.0%}".replace("%", "\u00a0%")
