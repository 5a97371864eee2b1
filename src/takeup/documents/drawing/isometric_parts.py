"""What an isometric drawing is put together from: projection, curves, symbols, free places."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

import numpy as np

from takeup.documents.drawing.svg import Svg, n
from takeup.line.model import (
    Anchor,
    Bend,
    ConstantSpring,
    Guide,
    Piece,
    Rest,
    RodHanger,
    Stop,
    Straight,
    Strut,
    Support,
    VariableSpring,
)
from takeup.units import Array

COS, SIN = math.sqrt(3.0) / 2.0, 0.5
CHARACTER = 0.56
"""Width taken up by a character over the size of the letters, on the safe side [-]."""
APART = 3.0
"""Left free beside words [px]."""
CELL = 24.0
"""Of the grid in which taken places are looked up [px]."""
Point = tuple[float, float]
Box = tuple[float, float, float, float]


def project(points: Array) -> Array:
    """East, north, up (..., 3) to right and down (..., 2): east falls, north rises to the right."""
    x, y, z = points[..., 0], points[..., 1], points[..., 2]
    return np.stack(((x + y) * COS, -(z + (y - x) * SIN)), axis=-1)


def curve(piece: Piece, a: Array, b: Array, count: int = 17) -> Array:
    """Points of the centre line of a piece (k, 3) [m]; bends as true arcs."""
    along = np.linspace(0.0, 1.0, count)[:, None]
    if isinstance(piece, Bend):
        corner = np.array(piece.corner)
        first, last = corner - a, b - corner
        back = float(np.linalg.norm(first))
        first, last = first / back, last / float(np.linalg.norm(last))
        turn = math.acos(min(1.0, max(-1.0, float(first @ last))))
        if 1e-6 < turn < math.pi - 1e-6:
            radius = back / math.tan(turn / 2.0)
            inward = (last - first * math.cos(turn)) / math.sin(turn)
            at = along * turn
            arc: Array = a + radius * (inward * (1.0 - np.cos(at)) + first * np.sin(at))
            return arc
    straight: Array = a + along * (b - a)
    return straight


def carried(piece: Piece, points: Array, first: Array, last: Array) -> Array:
    """Movement of points of a piece (k, 3) [m] from that of its ends (6,) [m, rad].

    Straight pipe: cubic across, linear along, exact where no load acts between the ends.
    Bends: the two rigid motions of the ends blended.  Everything else: straight from end to end.
    """
    place = np.linspace(0.0, 1.0, len(points))[:, None]
    moved: Array
    if isinstance(piece, Straight):
        arm = points[-1] - points[0]
        tangent = arm / np.linalg.norm(arm)
        low, high = np.cross(first[3:], arm), np.cross(last[3:], arm)
        s = place
        cubic = (
            first[:3] * (1 - 3 * s**2 + 2 * s**3)
            + low * (s * (1 - s) ** 2)
            + last[:3] * (3 * s**2 - 2 * s**3)
            - high * (s**2 * (1 - s))
        )
        even = first[:3] + s * (last[:3] - first[:3])
        moved = cubic + ((even - cubic) @ tangent)[:, None] * tangent
    elif isinstance(piece, Bend):
        near = first[:3] + np.cross(first[3:], points - points[0])
        far = last[:3] + np.cross(last[3:], points - points[-1])
        share = place**2 * (3 - 2 * place)
        moved = near + share * (far - near)
    else:
        moved = first[:3] + place * (last[:3] - first[:3])
    return moved


def _cells(box: Box) -> Iterator[tuple[int, int]]:
    """Cells of a coarse grid that a box lies in."""
    for x in range(int(box[0] // CELL), int(box[2] // CELL) + 1):
        for y in range(int(box[1] // CELL), int(box[3] // CELL) + 1):
            yield x, y


class Room:
    """Which places of a drawing are taken."""

    def __init__(self, width: float, top: float, bottom: float) -> None:
        self.area: Box = (4.0, top, width - 4.0, bottom)
        self._boxes: dict[tuple[int, int], list[Box]] = {}
        self._dots: dict[tuple[int, int], list[Point]] = {}

    def trace(self, points: Sequence[Point], step: float = 5.0) -> None:
        """Take the places under a line."""
        for (x1, y1), (x2, y2) in itertools.pairwise(points):
            count = max(1, int(math.hypot(x2 - x1, y2 - y1) / step))
            for k in range(count + 1):
                dot = (x1 + (x2 - x1) * k / count, y1 + (y2 - y1) * k / count)
                key = int(dot[0] // CELL), int(dot[1] // CELL)
                self._dots.setdefault(key, []).append(dot)

    def take(self, box: Box) -> None:
        """Take a box: left, top, right, bottom."""
        for key in _cells(box):
            self._boxes.setdefault(key, []).append(box)

    def clash(self, box: Box) -> bool:
        """Whether anything is in the box already, or it leaves the drawing."""
        left, top, right, bottom = box[0] - APART, box[1] - 1.0, box[2] + APART, box[3] + 1.0
        low = self.area
        if left < low[0] or top < low[1] or right > low[2] or bottom > low[3]:
            return True
        for key in _cells((left, top, right, bottom)):
            for l0, t0, r0, b0 in self._boxes.get(key, ()):
                if left < r0 and right > l0 and top < b0 and bottom > t0:
                    return True
            for x, y in self._dots.get(key, ()):
                if left < x < right and top < y < bottom:
                    return True
        return False

    def find(self, x: float, y: float, width: float, height: float, far: float) -> Box | None:
        """The nearest free box for ``width`` by ``height`` about (x, y), within ``far`` pixels."""
        radius = 9.0
        while radius <= far:
            for k in range(16):
                angle = -math.pi / 4 + k * math.pi / 8
                cosine, sine = math.cos(angle), math.sin(angle)
                left = x + radius * cosine - width * (0.5 - 0.5 * cosine)
                top = y + radius * sine - height * (0.5 - 0.5 * sine)
                box = (left, top, left + width, top + height)
                if not self.clash(box):
                    return box
            radius += 8.0
        return None


def rod(svg: Svg, a: Point, b: Point, width: float = 1.0) -> None:
    """A straight line between two points."""
    svg.line(a[0], a[1], b[0], b[1], width=width)


def zigzag(svg: Svg, a: Point, b: Point, height: float = 7.0, *, taut: bool = False) -> None:
    """Bellows between two points; ``taut``: boxed in, with a box drawn round it."""
    length = math.hypot(b[0] - a[0], b[1] - a[1]) or 1.0
    u = ((b[0] - a[0]) / length, (b[1] - a[1]) / length)
    v = (-u[1], u[0])
    p = svg.palette

    def at(along: float, across: float) -> Point:
        return (a[0] + u[0] * along + v[0] * across, a[1] + u[1] * along + v[1] * across)

    edge = height + 2
    frame = [at(0, -edge), at(length, -edge), at(length, edge), at(0, edge)]
    d = "M" + " L".join(f"{n(x)},{n(y)}" for x, y in frame) + " Z"
    svg.path(d, fill=p.paper, stroke=p.ink if taut else p.paper, width=1.0 if taut else 0.2)
    teeth = max(3, min(6, int(length / 5)))
    step = length / (2 * teeth)
    points = [a, *(at((k + 1) * step, height if k % 2 else -height) for k in range(2 * teeth - 1)),
              b]  # fmt: skip
    svg.polyline(points, width=1.4)


def box_symbol(svg: Svg, a: Point, b: Point, half: float, far: float | None = None,
               *, crossed: bool = False) -> None:  # fmt: skip
    """A box along the axis, tapering to ``far`` where given, with diagonals where ``crossed``."""
    length = math.hypot(b[0] - a[0], b[1] - a[1]) or 1.0
    v = (-(b[1] - a[1]) / length, (b[0] - a[0]) / length)
    end = half if far is None else far
    corners = [
        (a[0] + v[0] * half, a[1] + v[1] * half), (b[0] + v[0] * end, b[1] + v[1] * end),
        (b[0] - v[0] * end, b[1] - v[1] * end), (a[0] - v[0] * half, a[1] - v[1] * half),
    ]  # fmt: skip
    d = "M" + " L".join(f"{n(x)},{n(y)}" for x, y in corners) + " Z"
    svg.path(d, fill=svg.palette.paper, width=1.3)
    if crossed:
        rod(svg, corners[0], corners[2])
        rod(svg, corners[1], corners[3])


KINDS: dict[type, str] = {
    Anchor: "anchor",
    Rest: "rest",
    Guide: "guide",
    Stop: "stop",
    RodHanger: "rod hanger",
    VariableSpring: "variable spring",
    ConstantSpring: "constant spring",
    Strut: "strut",
}


def kind_of_support(support: Support) -> str:
    """What the legend calls a support."""
    if isinstance(support, Anchor) and support.nozzle:
        return "nozzle"
    if isinstance(support, VariableSpring) and support.rod == 0.0:
        return "variable spring below"
    return KINDS[type(support)]


def support_symbol(svg: Svg, kind: str, at: Point, u: Point, held: Point | None = None) -> None:
    """A support at a point; ``u`` along the pipe on paper, ``held`` the direction it holds."""
    x, y = at
    v = (-u[1], u[0])
    p = svg.palette

    def off(along: float, across: float, w: Point = v) -> Point:
        return (x + u[0] * along + w[0] * across, y + u[1] * along + w[1] * across)

    if kind == "anchor":
        for side in (-1, 1):
            rod(svg, off(-6, -8 * side), off(6, 8 * side), 2.6)
    elif kind == "nozzle":
        rod(svg, off(0, -12), off(0, 12), 4.0)
    elif kind == "rest":
        svg.path(f"M{n(x)},{n(y + 3)} L{n(x - 6)},{n(y + 13)} L{n(x + 6)},{n(y + 13)} Z",
                 fill=p.paper, width=1.2)  # fmt: skip
    elif kind == "guide":
        across = held or v
        for side in (-6, 6):
            rod(svg, off(-7, side, across), off(7, side, across), 2.0)
    elif kind == "stop":
        d = held or u
        w = (-d[1], d[0])
        for side in (-10, 10):
            cx, cy = x + d[0] * side, y + d[1] * side
            rod(svg, (cx - w[0] * 7, cy - w[1] * 7), (cx + w[0] * 7, cy + w[1] * 7), 2.0)
    elif kind == "rod hanger":
        rod(svg, at, (x, y - 22))
        rod(svg, (x - 6, y - 22), (x + 6, y - 22), 1.6)
    elif kind.startswith("variable spring"):
        way = 1 if kind.endswith("below") else -1
        points = [(x, y + 4 * way)]
        points += [(x + (4 if k % 2 else -4), y + way * (7 + 3 * k)) for k in range(5)]
        svg.polyline([at, *points, (x, y + 22 * way)], width=1.1)
        rod(svg, (x - 6, y + 22 * way), (x + 6, y + 22 * way), 1.6)
    elif kind == "constant spring":
        rod(svg, at, (x, y - 9))
        svg.rect(x - 6, y - 21, 12, 12, fill=p.paper, stroke=p.ink)
        svg.text(x, y - 11.5, "C", size=10, anchor="middle")
    else:  # strut
        d = held or v
        end = (x + d[0] * 22, y + d[1] * 22)
        rod(svg, at, end, 1.6)
        for cx, cy in (at, end):
            svg.circle(cx, cy, 2.6, fill=p.paper)


def reach(kind: str, at: Point) -> Box:
    """The box that a support's symbol takes."""
    x, y = at
    if kind in {"rod hanger", "constant spring", "variable spring"}:
        return (x - 7, y - 24, x + 7, y)
    if kind == "variable spring below":
        return (x - 7, y, x + 7, y + 24)
    if kind == "rest":
        return (x - 7, y, x + 7, y + 14)
    return (x - 10, y - 10, x + 10, y + 10)
