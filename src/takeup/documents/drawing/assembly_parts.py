"""Parts of assembly diagrams: pipe, bellows, rods, hinges, anchors and the path of thrust."""

from __future__ import annotations

import math
from collections.abc import Sequence

from takeup.documents.drawing.shapes import support_symbol
from takeup.documents.drawing.svg import Svg, n
from takeup.register.entities import SupportKind

Point = tuple[float, float]
ROD = 36.0
"""Rods lie this far from the axis [px]."""
DASH = "5 3"
"""The path of thrust is dashed so that it is told from metal without colour."""


class Diagram:
    """A hand for line diagrams; words are 11 px at the least."""

    def __init__(self, svg: Svg) -> None:
        self.svg, self.p = svg, svg.palette

    def word(self, x: float, y: float, words: str, *, anchor: str = "middle",
             fill: str | None = None) -> None:  # fmt: skip
        """A label."""
        self.svg.text(x, y, words, size=11, anchor=anchor, fill=fill or self.p.ink)

    def pipe(self, *points: Point) -> None:
        """Pipe as one line."""
        self.svg.polyline(list(points), width=2.6)

    def moved(self, *points: Point) -> None:
        """Pipe where it may move to."""
        self.svg.polyline(list(points), width=1.4, dash="2 4", stroke=self.p.soft)

    def bellows(self, x: float, y: float, *, half: float = 20, tall: float = 13,
                upright: bool = False) -> None:  # fmt: skip
        """Zigzag on the pipe, over a cleared ground."""
        teeth = 4
        step = 2 * half / (2 * teeth)
        along = [-half + i * step for i in range(2 * teeth + 1)]
        across = [0.0, *(tall if i % 2 else -tall for i in range(2 * teeth - 1)), 0.0]
        points = [
            (x + b, y + a) if upright else (x + a, y + b)
            for a, b in zip(along, across, strict=True)
        ]
        wide, high = (tall, half) if upright else (half, tall)
        self.svg.rect(x - wide, y - high, 2 * wide, 2 * high, fill=self.p.paper)
        self.svg.polyline(points, width=1.8)

    def torus(self, x: float, y: float) -> None:
        """Toroidal convolutions: pairs of circles on a cleared pipe."""
        self.svg.rect(x - 20, y - 13, 40, 26, fill=self.p.paper)
        for side in (-1, 1):
            self.svg.line(x - 20, y + 4 * side, x + 20, y + 4 * side, width=1.8)
            for step in (-12, 0, 12):
                self.svg.circle(x + step, y + 9 * side, 5, fill=self.p.paper, width=1.6)
        self.svg.line(x - 20, y - 4, x - 20, y + 4, width=1.8)
        self.svg.line(x + 20, y - 4, x + 20, y + 4, width=1.8)

    def lug(self, x: float, y1: float, y2: float) -> None:
        """A lug or plate square to the pipe."""
        self.svg.line(x, y1, x, y2, width=3.4)

    def rod(
        self, x1: float, x2: float, y: float, *, gap: float = 0.0, behind: bool = False
    ) -> None:
        """A rod through lugs at its ends, a nut outside each; with a gap also inside."""
        over = gap + 9
        self.svg.line(x1 - over, y, x2 + over, y, width=1.8, dash="4 3" if behind else "")
        for x, side in ((x1, -1), (x2, 1)):
            edge = x + side * (2 + gap)
            self.svg.rect(min(edge, edge + side * 6), y - 5, 6, 10, fill=self.p.ink)

    def hinge(self, x: float, y: float, *, upright: bool = False, slack: float = 34) -> None:
        """Two arms from the pipe to a pin at the middle of the bellows."""
        for side in (-1, 1):
            if upright:
                low, high = sorted((y, y + side * slack))
                self.svg.rect(x - 4.5, low, 9, high - low, fill=self.p.tint, stroke=self.p.ink)
            else:
                left, right = sorted((x, x + side * slack))
                self.svg.rect(left, y - 4.5, right - left, 9, fill=self.p.tint, stroke=self.p.ink)
        self.svg.circle(x, y, 5.5, fill=self.p.paper, width=1.8)
        self.svg.circle(x, y, 1.2, fill=self.p.ink)

    def anchor(self, x: float, y: float, *, main: bool = True) -> None:
        """A main anchor standing on the ground, or one that takes no thrust."""
        kind = SupportKind.MAIN_ANCHOR if main else SupportKind.INTERMEDIATE_ANCHOR
        support_symbol(self.svg, kind, x, y, 7)
        self.ground(x, y + 7)

    def ground(self, x: float, y: float) -> None:
        """Ground under a support: a line with strokes."""
        self.svg.line(x - 9, y + 3, x + 9, y + 3, width=1.2)
        for step in (-8, -2, 4):
            self.svg.line(x + step, y + 8, x + step + 5, y + 3, width=0.8)

    def guide(self, x: float, y: float) -> None:
        """A guide."""
        support_symbol(self.svg, SupportKind.GUIDE, x, y, 7)

    def thrust(self, *points: Point) -> None:
        """A stretch of the path of thrust, in the direction it is handed on."""
        self.svg.polyline(list(points), width=2.4, dash=DASH, stroke=self.p.warn)
        (x1, y1), (x2, y2) = points[-2:]
        turn = math.atan2(y2 - y1, x2 - x1)
        tips = [
            (x2 + 9 * math.cos(turn + off), y2 + 9 * math.sin(turn + off)) for off in (2.65, -2.65)
        ]
        d = f"M{n(x2)},{n(y2)} " + " ".join(f"L{n(a)},{n(b)}" for a, b in tips) + " Z"
        self.svg.path(d, fill=self.p.warn, stroke=self.p.warn, width=0.5)

    def loop(self, left: float, right: float, y: float, top: float,
             begin: tuple[float, float]) -> None:  # fmt: skip
        """From bellows ends at ``begin`` out along the pipe, up both lugs, through the rod."""
        middle = (left + right) / 2
        up, side = (top + 6, y - 6) if top < y else (top - 6, y + 6)
        for edge, start, out in ((left, begin[0], 1), (right, begin[1], -1)):
            self.thrust(
                (start, side), (edge + 6 * out, side), (edge + 6 * out, up), (middle - 3 * out, up)
            )

    def into_pin(self, pin: float, y: float, half: float, slack: float, low: float) -> None:
        """From both bellows ends out to the arms' roots and back through the arms to a pin."""
        for side in (-1, 1):
            root = pin + side * (slack + 8)
            self.thrust(
                (pin + side * (half + 2), y + 13), (root, y + 13), (root, y + low),
                (pin + side * 3, y + low),
            )  # fmt: skip

    def spread(self, points: Sequence[float], y: float) -> None:
        """Bellows at several places on one line."""
        for x in points:
            self.bellows(x, y)
