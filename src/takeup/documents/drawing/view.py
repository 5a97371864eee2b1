"""A window onto metres: outlines to scale, scale bars, wrapped words, marks of outcomes."""

from __future__ import annotations

import textwrap

import numpy as np

from takeup.checks import Check, Outcome
from takeup.documents.drawing.profile import Shape, bellows_line
from takeup.documents.drawing.svg import Svg, n
from takeup.units import Array, System, from_si, kind_of

NEAR = 0.9
"""Use of a limit from which the mark is half filled."""
THIN = 1.4
"""Least width of a drawn wall [px]; thinner walls are drawn as lines of this width."""


class View:
    """Metres (along, up) to pixels of a drawing."""

    def __init__(self, svg: Svg, x: float, y: float, scale: float) -> None:
        """``x``, ``y``: pixel of the origin; ``scale`` [px/m]."""
        self.svg, self.x0, self.y0, self.scale = svg, x, y, scale

    def x(self, along: float) -> float:
        """Pixel along."""
        return self.x0 + along * self.scale

    def y(self, up: float) -> float:
        """Pixel down."""
        return self.y0 - up * self.scale

    def d(self, points: Array, *, close: bool = False) -> str:
        """Path data of points in metres."""
        px = np.column_stack(
            (self.x0 + points[:, 0] * self.scale, self.y0 - points[:, 1] * self.scale)
        )
        text = "M" + " L".join(f"{n(a)},{n(b)}" for a, b in px.tolist())
        return text + " Z" if close else text

    def line(
        self, points: Array, *, width: float = 1.2, dash: str = "", stroke: str | None = None
    ) -> None:
        """An open line."""
        self.svg.path(self.d(points), width=width, dash=dash, stroke=stroke)

    def area(
        self,
        points: Array,
        *,
        fill: str,
        stroke: str | None = None,
        width: float = 0.8,
        dash: str = "",
    ) -> None:
        """A closed, filled outline."""
        self.svg.path(self.d(points, close=True), fill=fill, stroke=stroke, width=width, dash=dash)

    def wall(self, outer: Array, inner: Array, *, known: bool, stroke: str | None = None) -> None:
        """A wall between two surfaces: filled to scale, or a line where that is too thin."""
        p = self.svg.palette
        thick = float(np.hypot(*(outer[0] - inner[0]))) * self.scale
        if thick <= THIN:
            self.line((outer + inner) / 2, width=THIN, dash="" if known else "5 3", stroke=stroke)
        elif known:
            self.area(np.vstack((outer, inner[::-1])), fill=stroke or p.ink, stroke="none")
        else:
            self.area(np.vstack((outer, inner[::-1])), fill=p.paper, width=0.9, dash="5 3",
                      stroke=stroke)  # fmt: skip


def surfaces(
    shape: Shape, first: int = 0, last: int | None = None, *, wall: float | None = None
) -> tuple[Array, Array]:
    """Outer and inner surface of convolutions, (along, above the root) [m]."""
    half = (shape.wall if wall is None else wall) / 2
    return (
        bellows_line(shape, half, first=first, last=last),
        bellows_line(shape, -half, first=first, last=last),
    )


def box(left: float, low: float, right: float, high: float) -> Array:
    """Corners of a rectangle."""
    return np.array([[left, low], [right, low], [right, high], [left, high]])


def shifted(points: Array, along: float, up: float) -> Array:
    """Points moved."""
    moved: Array = points + np.array([along, up])
    return moved


def wrap(words: str, width: float, size: float) -> list[str]:
    """Words in lines of at most ``width`` pixels."""
    return textwrap.wrap(words, max(8, int(width / (0.46 * size)))) or [""]


def write(
    svg: Svg,
    x: float,
    y: float,
    words: str,
    width: float,
    *,
    size: float = 11,
    fill: str | None = None,
    style: str = "",
    weight: str = "",
    anchor: str = "start",
) -> float:
    """Wrapped words from baseline ``y`` on; returns the next free baseline."""
    for line in wrap(words, width, size):
        svg.text(x, y, line, size=size, fill=fill, style=style, weight=weight, anchor=anchor)
        y += 1.25 * size
    return y


def scale_bar(svg: Svg, x: float, y: float, scale: float, system: System, most: float) -> None:
    """A bar of a round length, at most ``most`` pixels long, ending in ticks."""
    show = kind_of("length").show(system)
    long = float(from_si(most / scale, "length", system))
    power = 10.0 ** np.floor(np.log10(long))
    value = next(k * power for k in (5.0, 2.0, 1.0) if k * power <= long)
    px = value * show.factor * scale
    svg.line(x, y, x + px, y, width=2)
    for edge in (x, x + px):
        svg.line(edge, y - 4, edge, y + 4, width=1)
    svg.text(x + px + 6, y + 4, f"{value:g} {show.symbol}", size=11)


def outcome_mark(svg: Svg, check: Check, x: float, y: float, r: float = 4.5) -> None:
    """Open circle met, half circle close to the limit, triangle not met, dashed square unknown."""
    p = svg.palette
    if check.outcome == Outcome.NOT_MET:
        svg.path(f"M{n(x)},{n(y - r)} L{n(x + r)},{n(y + 0.8 * r)} L{n(x - r)},{n(y + 0.8 * r)} Z",
                 fill=p.warn, stroke=p.warn)  # fmt: skip
    elif check.outcome == Outcome.MET:
        svg.circle(x, y, r - 0.5, fill=p.paper, width=1.3)
        if (check.ratio or 0.0) >= NEAR:
            arc = n(r - 0.5)
            svg.path(f"M{n(x)},{n(y - r + 0.5)} A{arc},{arc} 0 0 0 {n(x)},{n(y + r - 0.5)} Z",
                     fill=p.ink, width=0.5)  # fmt: skip
    else:
        k = 0.85 * r
        svg.rect(x - k, y - k, 2 * k, 2 * k, fill=p.paper, stroke=p.soft, width=1.2, dash="2 1.6")


def outcome_words(check: Check) -> str:
    """Number of a check, or that it has none."""
    if check.ratio is None or check.outcome not in {Outcome.MET, Outcome.NOT_MET}:
        return f"{check.outcome.value}:"
    return f"{check.ratio:.2f}"
