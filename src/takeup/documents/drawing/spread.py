"""What tolerances do to each check: where its ratio lies, how often it fails, what drives it."""

from __future__ import annotations

from takeup.bellows.uncertainty.model import (
    CheckSpread,
    Direction,
    Driver,
    UncertaintyReport,
    percent,
)
from takeup.documents.drawing.palette import PRINT, Palette
from takeup.documents.drawing.svg import Svg, n

WIDTH, ROW, TOP, FOOT = 980.0, 66.0, 46.0, 78.0
NAMES, LEFT, LONG = 6.0, 350.0, 268.0
"""Where names stand, where the axis starts and how long it is."""
BARS, FULL = 650.0, 62.0
"""Where driver bars start and how long 100 % is."""
MOST_DRIVERS = 3
TOP_RATIO = 2.0
"""The axis never reaches further; what lies beyond gets an arrow and its number."""


def spread_chart(report: UncertaintyReport, *, palette: Palette = PRINT, most: int = 12) -> str:
    """One row per check: 5 to 95 % of its ratio against the limit, failing share, drivers.

    ``most`` rows are drawn, and always every check that fails in some sample; how many are
    left out is written below.
    """
    answered = [check for check in report.checks if check.share is not None]
    failing = sum(bool(check.share and check.share.failed) for check in answered)
    evaluated = answered[: max(most, failing)]
    svg = Svg(
        WIDTH,
        TOP + ROW * max(1, len(evaluated)) + FOOT,
        f"{report.name or 'Bellows'}: what tolerances do to the checks",
        f"{len(answered)} checks over {report.samples} samples; {failing} fail in some of them",
        palette,
    )
    if not evaluated:
        svg.text(WIDTH / 2, TOP + 30, "no check could be evaluated", anchor="middle", size=14)
        return svg.render()
    highest = max((check.high or 0.0) for check in evaluated)
    scale = LONG / min(TOP_RATIO, max(1.25, highest * 1.08))
    _head(svg, scale, len(evaluated))
    for place, check in enumerate(evaluated):
        top = TOP + ROW * place
        if place:
            svg.line(NAMES, top, WIDTH - 6, top, stroke=palette.hair, width=0.7)
        _name(svg, check, top)
        _interval(svg, check, top, scale)
        _drivers(svg, check, top)
    _legend(svg, TOP + ROW * len(evaluated) + 18, _left_out(report, len(evaluated), len(answered)))
    return svg.render()


def _head(svg: Svg, scale: float, rows: int) -> None:
    p = svg.palette
    bottom = TOP + ROW * rows
    svg.text(NAMES, 16, "check, and share of samples that fail (95 % interval)", size=11,
             fill=p.soft)  # fmt: skip
    svg.text(LEFT, 16, "ratio, use of capacity", size=11, fill=p.soft)
    svg.text(BARS, 16, "what drives the spread", size=11, fill=p.soft)
    ratio = 0.0
    while ratio * scale <= LONG + 0.5:
        x = LEFT + ratio * scale
        if ratio != 1.0:
            svg.line(x, TOP - 4, x, bottom, stroke=p.hair, width=0.7)
            svg.text(x, TOP - 9, f"{ratio:g}", size=11, anchor="middle", fill=p.soft)
        ratio += 0.5 if LONG / scale > 1.3 else 0.25
    limit = LEFT + scale
    svg.rect(limit, TOP - 4, LEFT + LONG - limit, bottom - TOP + 4, fill=p.tint)
    svg.line(limit, TOP - 4, limit, bottom, width=1.8)
    svg.text(limit, TOP - 9, "limit 1", size=11, anchor="middle", weight="bold")


def _name(svg: Svg, check: CheckSpread, top: float) -> None:
    p = svg.palette
    lines = _wrapped(check.name, 42)[:2]
    for place, words in enumerate(lines):
        svg.text(NAMES, top + 17 + 14 * place, words, size=12.5, weight="bold")
    share = check.share
    assert share is not None
    y = top + 18 + 14 * len(lines)
    if not share.failed:
        svg.text(NAMES, y, f"none failed: fewer than {percent(share.high)}", size=12)
    else:
        _cross(svg, NAMES + 5, y - 4)
        svg.text(NAMES + 15, y, f"fails in {share.said()}", size=12, fill=p.warn, weight="bold")
    if share.open:
        svg.text(NAMES, y + 14, f"{percent(share.open / share.samples)} not evaluated",
                 size=11, fill=p.soft, style="italic")  # fmt: skip


def _wrapped(words: str, width: int) -> list[str]:
    lines: list[str] = [""]
    for word in words.split():
        if len(lines[-1]) + len(word) + 1 > width and lines[-1]:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines


def _interval(svg: Svg, check: CheckSpread, top: float, scale: float) -> None:
    p, y = svg.palette, top + 28
    if check.low is None or check.median is None or check.high is None:
        return
    end = LEFT + LONG

    def x(ratio: float) -> float:
        return min(end, LEFT + scale * max(0.0, ratio))

    limit = x(1.0)
    a, b = x(check.low), x(check.high)
    if a < limit:
        svg.rect(a, y - 6, max(1.5, min(b, limit) - a), 12, fill=p.soft)
    if b > limit:
        start = max(a, limit)
        svg.rect(start, y - 6, max(1.5, b - start), 12, stroke=p.warn,
                 fill=svg.hatch("over", gap=4, stroke=p.warn), width=1.0)  # fmt: skip
    middle = x(check.median)
    svg.line(middle, y - 9, middle, y + 9, width=2.4)
    if check.nominal is not None:
        at = x(check.nominal)
        svg.path(f"M{n(at)},{n(y - 11)} l4,-5 h-8 Z", fill=p.accent, stroke=p.accent, width=0.5)
    if LEFT + scale * check.high > end + 0.5:
        svg.path(f"M{n(end)},{n(y - 7)} l9,7 l-9,7 Z", fill=p.warn, stroke=p.warn)
    text = f"{_ratio(check.low)} \u2013 {_ratio(check.median)} \u2013 {_ratio(check.high)}"
    at = min(max((a + b) / 2, LEFT + 46), end - 46)
    if abs(at - limit) < 54.0:  # clear of the limit line, on the side where most of the bar is
        at = limit - 54.0 if a + b < 2.0 * limit else limit + 54.0
    svg.text(at, y + 23, text, size=11, anchor="middle")


def _ratio(value: float) -> str:
    return f"{value:.2f}" if value < 9.995 else f"{value:.3g}"


def _drivers(svg: Svg, check: CheckSpread, top: float) -> None:
    p = svg.palette
    if not check.drivers:
        svg.text(BARS, top + 28, "nothing that was spread", size=11, fill=p.soft, style="italic")
        return
    shown = check.drivers[:MOST_DRIVERS]
    for place, driver in enumerate(shown):
        _bar(svg, driver, top + 9 + 17 * place)
    rest = sum(driver.share for driver in check.drivers[MOST_DRIVERS:]) + check.together
    if rest >= 0.01 and len(shown) < MOST_DRIVERS:
        svg.text(BARS, top + 20 + 17 * len(shown), f"together or small: {percent(rest)}", size=11,
                 fill=p.soft, style="italic")  # fmt: skip


def _bar(svg: Svg, driver: Driver, y: float) -> None:
    p = svg.palette
    svg.rect(BARS, y, FULL, 9, stroke=p.hair, width=0.8)
    svg.rect(BARS, y, FULL * min(1.0, driver.share), 9, fill=p.ink)
    _turn(svg, driver.direction, BARS + FULL + 11, y + 4.5)
    svg.text(BARS + FULL + 22, y + 9, f"{percent(driver.share)}  {driver.words}", size=11.5)


def _turn(svg: Svg, direction: Direction, x: float, y: float) -> None:
    """A triangle up for raises, down for lowers, a lozenge for either."""
    p = svg.palette
    shape = {
        Direction.RAISES: f"M{n(x)},{n(y - 5)} l5,9 h-10 Z",
        Direction.LOWERS: f"M{n(x)},{n(y + 5)} l5,-9 h-10 Z",
        Direction.EITHER: f"M{n(x)},{n(y - 5)} l5,5 l-5,5 l-5,-5 Z",
    }[direction]
    fill = p.paper if direction == Direction.LOWERS else p.ink
    svg.path(shape, fill=fill, stroke=p.ink, width=1.0)


def _cross(svg: Svg, x: float, y: float) -> None:
    svg.line(x - 4, y - 4, x + 4, y + 4, stroke=svg.palette.warn, width=2.2)
    svg.line(x - 4, y + 4, x + 4, y - 4, stroke=svg.palette.warn, width=2.2)


def _left_out(report: UncertaintyReport, drawn: int, answered: int) -> str:
    words = []
    if answered > drawn:
        words.append(f"{answered - drawn} more checks fail in no sample and are not drawn")
    if len(report.checks) > answered:
        words.append(f"{len(report.checks) - answered} could not be evaluated in any sample")
    gone = sum(item.count for item in report.impossible)
    if gone:
        words.append(f"{gone} samples that no bellows could be are left out")
    return "; ".join(words)


def _legend(svg: Svg, y: float, left_out: str) -> None:
    p = svg.palette
    svg.line(NAMES, y - 12, WIDTH - 6, y - 12, stroke=p.ink, width=0.8)
    svg.rect(NAMES, y - 2, 26, 10, fill=p.soft)
    svg.rect(NAMES + 26, y - 2, 14, 10, stroke=p.warn,
             fill=svg.hatch("over", gap=4, stroke=p.warn))  # fmt: skip
    svg.text(NAMES + 46, y + 7, "5 to 95 % of samples, hatched beyond the limit", size=11)
    svg.line(LEFT + 14, y - 4, LEFT + 14, y + 10, width=2.4)
    svg.text(LEFT + 21, y + 7, "median", size=11)
    svg.path(f"M{n(LEFT + 74)},{n(y + 6)} l4,-6 h-8 Z", fill=p.accent, stroke=p.accent)
    svg.text(LEFT + 83, y + 7, "case as given", size=11)
    for place, (direction, words) in enumerate(
        ((Direction.RAISES, "more is worse"), (Direction.LOWERS, "more is better"),
         (Direction.EITHER, "either"))
    ):  # fmt: skip
        x = BARS + 5 + 104 * place
        _turn(svg, direction, x, y + 3)
        svg.text(x + 9, y + 7, words, size=11)
    svg.text(NAMES, y + 28,
             "Tolerances of the inputs only, not the error of the formulas: not a reliability claim.",
             size=11.5, weight="bold")  # fmt: skip
    if left_out:
        svg.text(NAMES, y + 46, f"{left_out[0].upper()}{left_out[1:]}.", size=11, fill=p.soft)
