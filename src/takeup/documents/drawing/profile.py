"""Outline of convolutions to scale: U-shaped, with rings, toroidal. Metres, from the axis up.

The line of a convolution is made of arcs and their common tangent, so side walls lean as
pitch, height and torus radius say.  ``lift`` moves the whole line square to itself, away from
the pressure space: surfaces of plies are exact parallels of the middle line.
"""

from __future__ import annotations

import math
from enum import StrEnum

import msgspec
import numpy as np

from takeup.bellows import geometry
from takeup.bellows.model import Bellows, BellowsCase, Convolution
from takeup.errors import Contradiction
from takeup.units import Array

ARC = 9
"""Points on a quarter of a circle."""
OPENING = 0.35
"""Half the opening of a torus over its radius where nothing tells it."""


class Ring(StrEnum):
    """Form of a reinforcing ring."""

    ROUND = "round ring"
    EQUALISING = "equalising ring"


class Shape(msgspec.Struct, frozen=True, kw_only=True):
    """One bellows to draw [m]; ``assumed`` names the fields that stand on usual proportions."""

    convolution: Convolution
    inside_diameter: float
    height: float
    """Root to crest of the middle line; toroidal: Dm - Db - n t."""
    pitch: float
    convolutions: int
    plies: int
    ply_thickness: float
    formed_thickness: float
    torus_radius: float
    tangent_length: float
    collar_length: float
    collar_thickness: float
    ring_area: float
    fastener_area: float
    fastener_length: float
    assumed: frozenset[str] = frozenset()

    @property
    def root(self) -> float:
        """Radius of the middle line at the root and of the tangent [m]."""
        return self.inside_diameter / 2 + self.plies * self.ply_thickness / 2

    @property
    def mean_diameter(self) -> float:
        """Dm [m]."""
        return self.inside_diameter + self.height + self.plies * self.ply_thickness

    @property
    def top(self) -> float:
        """Height of the middle line at its highest point over the root [m]."""
        if self.convolution == Convolution.TOROIDAL:
            return self.height / 2 + self.torus_radius
        return self.height

    @property
    def wall(self) -> float:
        """Thickness of all plies after forming [m]."""
        return self.plies * self.formed_thickness

    @property
    def outside_diameter(self) -> float:
        """Over the crests [m]."""
        return 2 * (self.root + self.top) + self.wall

    @property
    def length(self) -> float:
        """Convoluted length N q [m]."""
        return self.convolutions * self.pitch

    @property
    def gap(self) -> float:
        """Clear distance between neighbouring convolutions at the crest [m]."""
        return self.pitch - 2 * self.torus_radius - self.wall

    @property
    def reinforced(self) -> bool:
        """Whether rings lie in the roots."""
        return self.convolution == Convolution.U_REINFORCED

    @property
    def ring(self) -> Ring:
        """Round where a bar of the ring's area lies on the root, otherwise equalising."""
        fits = self.torus_radius - self.wall / 2
        return Ring.ROUND if self.ring_diameter / 2 <= 1.02 * fits else Ring.EQUALISING

    @property
    def ring_diameter(self) -> float:
        """Of a round bar of the ring's area [m]."""
        return math.sqrt(4 * self.ring_area / math.pi)

    def known(self, *names: str) -> bool:
        """Whether all of ``names`` were given."""
        return not self.assumed.intersection(names)


_DRAWN = frozenset({
    "inside_diameter", "mean_diameter", "height", "pitch", "convolutions", "plies",
    "ply_thickness", "torus_radius", "tangent_length", "collar_length", "collar_thickness",
    "tube_diameter", "ring_area", "fastener_area", "fastener_length",
})  # fmt: skip


def shape_of(case: BellowsCase) -> Shape:
    """What there is to draw of a case; unknown dimensions from usual proportions.

    Raises :class:`~takeup.errors.Contradiction` where given dimensions make no convolution.
    """
    missing = set(_DRAWN.intersection(case.missing))
    toroidal = case.convolution == Convolution.TOROIDAL
    if toroidal:
        missing.discard("height")
        if case.mean_diameter is None:
            missing.add("mean_diameter")
        if case.torus_radius is None:
            missing.add("torus_radius")
    elif case.height is None:
        missing.add("height")
    if case.convolution == Convolution.U_REINFORCED and case.ring_area is None:
        missing.add("ring_area")

    def get(name: str, usual: float) -> float:
        value = getattr(case, name)
        return usual if name in missing or value is None else float(value)

    diameter = get("inside_diameter", 1.0)
    plies = int(get("plies", 1))
    thickness = get("ply_thickness", 0.001)
    wall = plies * thickness
    if toroidal:
        pitch = get("pitch", 0.11 * diameter)
        radius = get("torus_radius", 0.4 * pitch)
        height = get("mean_diameter", diameter + wall + 2.2 * radius) - diameter - wall
        if height <= 0.0:
            raise Contradiction(
                f"mean diameter Dm {case.mean_diameter} m of the torus is not more than "
                f"Db + n t = {diameter + wall:g} m; one of them is wrong"
            )
    else:
        pitch = get("pitch", max(0.045 * diameter + 0.008, 5 * wall))
        height = get("height", max(0.05 * diameter + 0.01, 1.2 * pitch))
        usual = min(pitch / 4, height / 2)
        radius = usual if "torus_radius" in missing else case.torus_radius or pitch / 4
        _possible(case, radius, height, pitch, wall)
    count = int(get("convolutions", 6))
    values = {
        "inside_diameter": diameter,
        "height": height,
        "pitch": pitch,
        "convolutions": count,
        "plies": plies,
        "ply_thickness": thickness,
        "torus_radius": radius,
    }
    thinned = float(geometry.thinned_ply(Bellows(**values, tube_diameter=case.tube_diameter)))
    return Shape(
        convolution=case.convolution,
        formed_thickness=thinned,
        tangent_length=get("tangent_length", pitch / 2),
        collar_length=get("collar_length", pitch / 3),
        collar_thickness=get("collar_thickness", 2 * wall),
        ring_area=get("ring_area", math.pi * (0.9 * max(radius - wall / 2, wall)) ** 2),
        fastener_area=get("fastener_area", 0.0),
        fastener_length=get("fastener_length", 0.0),
        assumed=frozenset(missing),
        inside_diameter=diameter,
        height=height,
        pitch=pitch,
        convolutions=count,
        plies=plies,
        ply_thickness=thickness,
        torus_radius=radius,
    )


def _possible(case: BellowsCase, radius: float, height: float, pitch: float, wall: float) -> None:
    apart = math.hypot(pitch / 2, height - 2 * radius)
    if 2 * radius > height or apart < 2 * radius or wall >= 2 * radius:
        taken = " (taken as q/4)" if case.torus_radius is None else ""
        raise Contradiction(
            f"these dimensions make no convolution: w {height * 1e3:g} mm, q {pitch * 1e3:g} mm, "
            f"rm {radius * 1e3:g} mm{taken}, n t {wall * 1e3:g} mm; 2 rm must be more than n t "
            "and not more than w, and crest and root must not overlap"
        )


def _arc(x: float, y: float, radius: float, start: float, stop: float, count: int) -> Array:
    turn = np.linspace(start, stop, count)
    return np.column_stack((x + radius * np.cos(turn), y + radius * np.sin(turn)))


def lean(shape: Shape) -> float:
    """How far the side walls of a U-shape lean from square to the axis [rad]."""
    across, up = shape.pitch / 2, shape.height - 2 * shape.torus_radius
    share = min(1.0, 2 * shape.torus_radius / math.hypot(across, up))
    return math.acos(share) - math.atan2(up, across)


def convolution_line(shape: Shape, lift: float = 0.0) -> Array:
    """One convolution from root to root, (points, 2) as (along, above the root) [m]."""
    if shape.convolution == Convolution.TOROIDAL:
        half = _torus_half(shape, lift)
    else:
        half = _u_half(shape, lift)
    other = half[::-1].copy()
    other[:, 0] = shape.pitch - other[:, 0]
    return np.vstack((half, other[1:]))


def _u_half(shape: Shape, lift: float) -> Array:
    r, beta = shape.torus_radius, lean(shape)
    root = _arc(0.0, r, r - lift, -math.pi / 2, -beta, ARC)
    crest = _arc(
        shape.pitch / 2, shape.height - r, r + lift, math.pi - beta, math.pi / 2, ARC
    )  # fmt: skip
    return np.vstack((root, crest))


def opening(shape: Shape) -> tuple[float, bool]:
    """Half the opening of a torus [m], and whether the dimensions tell it."""
    r, rise = shape.torus_radius, shape.height / 2
    if rise < r:
        return math.sqrt(r * r - rise * rise), True
    return OPENING * r, False


def _torus_half(shape: Shape, lift: float) -> Array:
    r, rise, middle = shape.torus_radius, shape.height / 2, shape.pitch / 2
    half, told = opening(shape)
    outer = r + lift
    if told:
        foot = np.array([[0.0, lift]])
        base = rise - lift
    else:
        side = half + lift
        base = math.sqrt(outer * outer - side * side)
        neck = rise - math.sqrt(r * r - half * half)
        bend = max(min(0.8 * neck, 0.8 * (middle - half), 0.4 * r), shape.wall / 2)
        foot = np.vstack(
            (
                [[0.0, lift]],
                _arc(middle - half - bend, bend, bend - lift, -math.pi / 2, 0.0, ARC),
            )
        )
    start = -math.pi / 2 - math.acos(min(1.0, base / outer))
    return np.vstack((foot, _arc(middle, rise, outer, start, -1.5 * math.pi, 4 * ARC)))


def bellows_line(
    shape: Shape, lift: float = 0.0, *, first: int = 0, last: int | None = None
) -> Array:
    """Convolutions ``first`` to ``last`` in one line, (points, 2) as (along, above root) [m]."""
    one = convolution_line(shape, lift)
    stop = shape.convolutions if last is None else last
    parts = [
        (one if at == first else one[1:]) + [at * shape.pitch, 0.0] for at in range(first, stop)
    ]
    return np.vstack(parts)


def ring_outline(shape: Shape) -> Array:
    """Section of one ring lying in a root at 0, closed, (points, 2) as (along, above root) [m].

    Its area is the ring's area: a round bar, or a web between the side walls with a head over
    the crests.
    """
    floor = shape.wall / 2
    fits = max(shape.torus_radius - shape.wall / 2, 1e-6)
    if shape.ring == Ring.ROUND:
        r = shape.ring_diameter / 2
        return _arc(0.0, floor + r, r, 0.0, 2 * math.pi, 4 * ARC)
    half = 0.92 * min(fits, shape.gap / 2)
    foot = half * half * math.pi / 2
    reach = shape.height + shape.wall / 2 - floor - half
    high = (shape.ring_area - foot) / (2 * half)
    base = floor + half
    bottom = _arc(0.0, base, half, -math.pi, 0.0, 2 * ARC)
    if high <= reach:
        return np.vstack((bottom, [[half, base + high], [-half, base + high]], bottom[:1]))
    wide = max(0.42 * shape.pitch, half)
    head = (shape.ring_area - foot - 2 * half * reach) / (2 * wide)
    up = base + reach
    cap = [[half, up], [wide, up], [wide, up + head], [-wide, up + head], [-wide, up], [-half, up]]
    return np.vstack((bottom, cap, bottom[:1]))
