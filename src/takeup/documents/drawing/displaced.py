"""The bellows as it stands after a movement, both walls, in its worst plane."""

from __future__ import annotations

import math

import numpy as np

from takeup.bellows.model import Convolution, Movement
from takeup.documents.drawing.deflection import SOURCE, Bent, carried, displaced
from takeup.documents.drawing.profile import Shape, bellows_line, ring_outline
from takeup.documents.drawing.svg import Svg
from takeup.documents.drawing.view import View, scale_bar, shifted, write
from takeup.units import Array, System, shown

STEPS = (50.0, 20.0, 10.0, 5.0, 2.0)
TALL = 320.0
SIDE = 110.0
MOST = 84.0
"""Most pixels of a pitch or height where the walls are drawn nearer to the axis to show it."""


def factor_for(shape: Shape, move: Bent) -> float:
    """The largest round exaggeration that is easy to see and lets no convolutions touch."""
    length = shape.length
    sway = length * (abs(move.near) + abs(move.far)) * shape.convolutions / shape.mean_diameter / 2
    size = max(sway, abs(move.ex) * shape.convolutions, abs(move.worst[0]))
    if size == 0.0:
        return 1.0
    room = 0.15 * max(length, 0.5 * shape.mean_diameter)
    closing = min(move.ex - abs(move.near), move.ex - abs(move.far), 0.0)
    for factor in STEPS:
        if factor * size <= room and shape.gap + factor * closing > 0.3 * shape.gap:
            return factor
    return 1.0


def _band(
    shape: Shape, drawn: Bent, first: int, last: int, wall: float, side: int
) -> tuple[Array, Array]:
    """Both surfaces of displaced convolutions: parallels of their displaced middle line [m]."""
    line = bellows_line(shape, first=first, last=last)
    middle = displaced(
        shape, drawn, np.column_stack((line[:, 0], side * (line[:, 1] + shape.root)))
    )
    along = np.gradient(middle, axis=0)
    along /= np.hypot(along[:, 0], along[:, 1])[:, None]
    square = wall / 2 * np.column_stack((-along[:, 1], along[:, 0]))
    return middle + square, middle - square


def displaced_view(
    svg: Svg,
    shape: Shape,
    move: Bent,
    movement: Movement,
    system: System,
    y0: float,
    width: float,
    exaggeration: float | None,
) -> float:
    """Draw the displaced bellows from ``y0`` down; returns the y below it."""
    p = svg.palette
    y = write(svg, 8, y0, f"Displaced: {movement.name}", width, size=13, weight="bold")
    y = write(svg, 8, y, _moves(movement, system), width - 16, fill=p.soft)
    factor = exaggeration if exaggeration is not None else factor_for(shape, move)
    drawn = move.times(factor)
    tangent = min(max(shape.tangent_length, 0.4 * shape.pitch), 1.5 * shape.pitch)
    reach = shape.root + shape.top + shape.wall
    if shape.reinforced:
        reach = max(reach, shape.root + float(ring_outline(shape)[:, 1].max()))
    along = np.linspace(-tangent, shape.length + tangent, 4 * shape.convolutions + 1)
    edges = {
        side: displaced(shape, drawn, np.column_stack((along, np.full(along.size, side * reach))))
        for side in (-1, 1)
    }
    left = min(-tangent, *(float(edge[:, 0].min()) for edge in edges.values()))
    right = max(shape.length + tangent, *(float(edge[:, 0].max()) for edge in edges.values()))
    high = max(reach, float(edges[1][:, 1].max()))
    low = min(-reach, float(edges[-1][:, 1].min()))
    scale = (width - 2 * SIDE) / (right - left)
    cut = 0.0
    if scale * (high - low) > TALL:
        wanted = max(TALL / (high - low), min(scale, MOST / max(shape.pitch, shape.top)))
        cut = max(0.0, (high - low - TALL / wanted) / 2)
        cut = min(cut, 0.85 * shape.inside_diameter / 2)
        scale = min(scale, TALL / (high - low - 2 * cut))
    x0 = (width - (right - left) * scale) / 2 - left * scale
    axis_y = y + 26 + (high - cut) * scale
    views = {side: View(svg, x0, axis_y + side * cut * scale, scale) for side in (-1, 0, 1)}
    _ghost(views, shape, tangent, reach, cut)
    middle = np.linspace(-tangent, shape.length + tangent, 60)
    line = np.column_stack((middle, np.zeros(60)))
    views[0].line(displaced(shape, drawn, line), dash="14 4 2 4", width=0.9)
    _walls(views, shape, drawn, tangent)
    value, near, above = move.worst
    alike = math.isclose(move.near, move.far, rel_tol=1e-9)
    if value != 0.0 and not (alike and move.near == 0.0):
        at = 0 if near else shape.convolutions - 1
        run = (0, shape.convolutions) if alike else (at, at + 1)
        _worst(views[1 if above else -1], shape, drawn, run, 1 if above else -1)
    below = views[-1].y(low) + 36
    scale_bar(svg, SIDE, below, scale, system, 120.0)
    how = "movement to true scale" if factor == 1.0 else f"movement drawn {factor:g} × too large"
    if cut > 0.0:
        how += "; walls drawn nearer to the axis"
    y = write(svg, SIDE + 190, below + 4, how, width - SIDE - 200, weight="bold") + 6
    for words, bad in _says(shape, move, system):
        y = write(svg, 8, y, words, width - 16, fill=p.warn if bad else None)
    words = (
        f"Shape: {SOURCE.at}; {SOURCE.standing.value}. It gives back the equivalent movements of "
        "the rule set. Dotted: before the movement."
    )
    return write(svg, 8, y + 2, words, width - 16, fill=p.soft, style="italic")


def _moves(movement: Movement, system: System) -> str:
    parts = [
        f"{name} {shown(value, kind, system)}"
        for name, value, kind in (
            ("axial", movement.axial, "movement"),
            ("lateral", movement.lateral, "movement"),
            ("lateral, second plane", movement.lateral_across, "movement"),
            ("angular", movement.angular, "angle"),
            ("angular, second plane", movement.angular_across, "angle"),
        )
        if value != 0.0
    ]
    return f"Movement of the whole joint: {'; '.join(parts) or 'none'}."


def _ghost(views: dict[int, View], shape: Shape, tangent: float, reach: float, cut: float) -> None:
    """Where walls, axis and ends were before the movement."""
    svg, p = views[0].svg, views[0].svg.palette
    start, stop = views[0].x(-tangent), views[0].x(shape.length + tangent)
    for side in (-1, 0, 1):
        y = views[side].y(side * shape.root)
        svg.line(start, y, stop, y, stroke=p.soft, width=0.7, dash="2 3")
    for along in (0.0, shape.length):
        x = views[0].x(along)
        svg.line(x, views[1].y(reach), x, views[-1].y(-reach), stroke=p.soft, width=0.7,
                 dash="2 3")  # fmt: skip
        if cut > 0.0:
            for side in (-1, 1):
                y = (views[side].y(side * shape.root) + views[0].y(0.0)) / 2
                svg.rect(x - 5, y - 3, 10, 6, fill=p.paper)
                for step in (-3, 3):
                    svg.line(x - 6, y + step + 3, x + 6, y + step - 3, stroke=p.soft)


def _walls(views: dict[int, View], shape: Shape, drawn: Bent, tangent: float) -> None:
    known = shape.known(
        "inside_diameter", "height", "pitch", "convolutions", "torus_radius", "mean_diameter"
    )
    for side in (1, -1):
        view = views[side]
        wall = min(max(shape.wall, 1.5 / view.scale), 1.6 * shape.torus_radius)
        view.wall(*_band(shape, drawn, 0, shape.convolutions, wall, side), known=known)
        for start, stop in ((-tangent, 0.0), (shape.length, shape.length + tangent)):
            line = np.array([[start, side * shape.root], [stop, side * shape.root]])
            view.line(displaced(shape, drawn, line), width=max(1.6, wall * view.scale))
        if not shape.reinforced:
            continue
        for at in range(1, shape.convolutions):
            place = at * shape.pitch
            ring = shifted(ring_outline(shape), place, shape.root) * np.array([1, side])
            view.area(carried(shape, drawn, ring, place), fill=view.svg.palette.tint,
                      dash="" if shape.known("ring_area") else "3 2")  # fmt: skip


def _worst(view: View, shape: Shape, drawn: Bent, run: tuple[int, int], side: int) -> None:
    """The hardest working convolutions over their neighbours, with a pointer."""
    p = view.svg.palette
    at, near = run[0], run[0] == 0
    wall = min(max(shape.wall, 3.4 / view.scale), 1.6 * shape.torus_radius)
    view.wall(*_band(shape, drawn, *run, wall, side), known=True, stroke=p.warn)
    crest = np.array([[(at + 0.5) * shape.pitch, side * (shape.root + shape.top)]])
    tip = displaced(shape, drawn, crest)[0]
    x, y = view.x(float(tip[0])), view.y(float(tip[1])) - 5 * side
    view.svg.arrow(x, y - 15 * side, x, y, stroke=p.warn, head=6)
    view.svg.text(x + (-5 if near else 5), y - (10 if side > 0 else -20), "works hardest", size=11,
                  anchor="end" if near else "start", fill=p.warn, weight="bold")  # fmt: skip


def _says(shape: Shape, move: Bent, system: System) -> list[tuple[str, bool]]:
    """What the drawing shows in words; True where it is a warning."""
    value, near, above = move.worst
    said = []
    if value != 0.0:
        which = f"Convolution {1 if near else shape.convolutions} of {shape.convolutions}"
        where = f"{'upper' if above else 'lower'} side, works hardest: it"
        if math.isclose(move.near, move.far, rel_tol=1e-9):
            which, where = "Every convolution", "upper side:" if above else "lower side:"
        if move.near == 0.0 == move.far:
            where = "all round:"
        doing = "opens by" if value > 0 else "closes by"
        said.append((
            f"{which}, {where} {doing} {shown(abs(value), 'movement', system)} at Dm (axial share "
            f"{shown(move.ex, 'movement', system)}, bending "
            f"{shown(abs(move.near if near else move.far), 'movement', system)}).",
            False,
        ))  # fmt: skip
    if abs(move.plane) > math.radians(0.5):
        said.append((
            f"Drawn in the worst plane, {shown(move.plane, 'angle', system)} from the plane of "
            "the lateral movement.",
            False,
        ))  # fmt: skip
    outer = shape.outside_diameter / shape.mean_diameter
    closing = move.ex - outer * max(abs(move.near), abs(move.far))
    if (
        closing < 0.0
        and shape.convolution != Convolution.TOROIDAL  # its opening, not its gap, is used up
        and shape.known("pitch", "torus_radius", "ply_thickness", "plies")
    ):
        room = shape.gap + closing
        if room <= 0.0:
            said.append((
                "Neighbouring convolutions touch: the clear gap of "
                f"{shown(shape.gap, 'length', system)} is used up.", True,
            ))  # fmt: skip
        else:
            said.append((
                f"Clear gap between crests {shown(shape.gap, 'length', system)}, of which about "
                f"{shown(room, 'length', system)} is left at the crest of that convolution.", False,
            ))  # fmt: skip
    return said
