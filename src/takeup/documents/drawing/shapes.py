"""Marks of levels and symbols of line diagrams."""

from __future__ import annotations

from takeup.assess.model import Level
from takeup.documents.drawing.palette import PRINT, Palette
from takeup.documents.drawing.svg import Svg, n
from takeup.register.entities import SupportKind


def level_mark(level: Level | None, *, size: float = 16, palette: Palette = PRINT) -> str:
    """The mark of a level as its own small drawing."""
    words = level.value if level else "not assessed"
    svg = Svg(size, size, words, f"level: {words}", palette)
    level_shape(svg, level, size / 2, size / 2, size * 0.42)
    return svg.render()


def level_shape(svg: Svg, level: Level | None, x: float, y: float, r: float) -> None:
    """Draw the mark of a level: open circle, half circle, diamond, triangle, dashed square."""
    p = svg.palette
    colour, stroke = p.level(level), max(1.2, r * 0.2)
    if level == Level.CARRIES_ON:
        svg.circle(x, y, r, fill=p.paper, stroke=colour, width=stroke)
    elif level == Level.THIS_RUN:
        svg.circle(x, y, r, fill=p.paper, stroke=colour, width=stroke)
        svg.path(f"M{n(x)},{n(y - r)} A{n(r)},{n(r)} 0 0 0 {n(x)},{n(y + r)} Z",
                 fill=colour, stroke=colour, width=0.5)  # fmt: skip
    elif level == Level.IN_DOUBT:
        k = r * 1.15
        svg.path(f"M{n(x)},{n(y - k)} L{n(x + k)},{n(y)} L{n(x)},{n(y + k)} L{n(x - k)},{n(y)} Z",
                 fill=p.paper, stroke=colour, width=stroke)  # fmt: skip
        svg.path(f"M{n(x - k)},{n(y)} L{n(x + k)},{n(y)} L{n(x)},{n(y + k)} Z",
                 fill=colour, stroke=colour, width=0.5)  # fmt: skip
    elif level == Level.ACT_NOW:
        k = r * 1.15
        svg.path(f"M{n(x)},{n(y - k)} L{n(x + k)},{n(y + k * 0.6)} L{n(x - k)},{n(y + k * 0.6)} Z",
                 fill=colour, stroke=colour, width=stroke)  # fmt: skip
        svg.line(x - k, y + k * 1.0, x + k, y + k * 1.0, stroke=colour, width=stroke)
    else:
        k = r * 0.92
        svg.rect(x - k, y - k, 2 * k, 2 * k, fill=p.paper, stroke=colour, width=stroke,
                 dash=f"{n(k * 0.6)} {n(k * 0.45)}")  # fmt: skip


def support_symbol(svg: Svg, kind: SupportKind, x: float, y: float, s: float = 6.0) -> None:
    """A support on the axis of a line diagram at (x, y)."""
    p = svg.palette
    if kind in {SupportKind.MAIN_ANCHOR, SupportKind.INTERMEDIATE_ANCHOR,
                SupportKind.DIRECTIONAL_ANCHOR}:  # fmt: skip
        width = 2.6 if kind == SupportKind.MAIN_ANCHOR else 1.2
        svg.line(x - s, y - s, x + s, y + s, width=width)
        svg.line(x - s, y + s, x + s, y - s, width=width)
        if kind == SupportKind.DIRECTIONAL_ANCHOR:
            svg.arrow(x - s, y - 2 * s, x + s, y - 2 * s, width=0.8, head=4)
    elif kind == SupportKind.GUIDE:
        for side in (-1, 1):
            svg.line(x - s, y + side * 5, x + s, y + side * 5, width=1.6)
    elif kind == SupportKind.NOZZLE:
        svg.line(x, y - 1.8 * s, x, y + 1.8 * s, width=4)
    elif kind == SupportKind.VARIABLE_SPRING:
        points = [(x, y)]
        points += [(x + (3 if i % 2 else -3), y - 4 - 3 * i) for i in range(5)]
        svg.polyline([*points, (x, y - 20)], width=1)
        svg.line(x - 5, y - 20, x + 5, y - 20, width=1.4)
    elif kind == SupportKind.CONSTANT_SPRING:
        svg.line(x, y, x, y - 8, width=1)
        svg.rect(x - 5, y - 18, 10, 10, fill=p.paper, stroke=p.ink)
        svg.text(x, y - 9.6, "C", size=9, anchor="middle")
    elif kind == SupportKind.RIGID_HANGER:
        svg.line(x, y, x, y - 20, width=1)
        svg.line(x - 5, y - 20, x + 5, y - 20, width=1.4)
    elif kind == SupportKind.REST:
        svg.path(f"M{n(x)},{n(y)} L{n(x - s)},{n(y + 1.4 * s)} L{n(x + s)},{n(y + 1.4 * s)} Z")
    else:
        svg.line(x, y - s, x, y + s, width=2)
        svg.line(x + 3, y - s, x + 3, y + s, width=2)


def bellows_symbol(svg: Svg, x: float, y: float, width: float = 26, height: float = 8) -> None:
    """Zigzag teeth on the axis, centred at (x, y)."""
    teeth = 4
    step = width / (2 * teeth)
    left = x - width / 2
    points = [(left, y)]
    points += [
        (left + (i + 1) * step, y - height if i % 2 == 0 else y + height)
        for i in range(2 * teeth - 1)
    ]
    points.append((x + width / 2, y))
    svg.rect(left, y - height - 2, width, 2 * height + 4, fill=svg.palette.paper)
    svg.polyline(points, width=1.5)
