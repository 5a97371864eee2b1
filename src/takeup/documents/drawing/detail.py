"""One convolution enlarged, ply by ply, with its dimensions."""

from __future__ import annotations

import math

import numpy as np

from takeup.bellows.model import BellowsCase, Convolution
from takeup.documents.drawing.profile import (
    ARC,
    Ring,
    Shape,
    convolution_line,
    opening,
    ring_outline,
)
from takeup.documents.drawing.svg import Svg
from takeup.documents.drawing.view import View, box, scale_bar, shifted, write
from takeup.units import Array, System, shown

LEFT, RIGHT, TOP = 176.0, 178.0, 40.0
TALL = 250.0
"""Room for labels round the drawn convolution, and its greatest height [px]."""
LEAST = 2.2
"""A ply is drawn at least this thick [px]."""


def said(shape: Shape, name: str, value: float, kind: str, system: System) -> str:
    """A dimension in the site's units, or that it is not known."""
    return shown(value, kind, system) if shape.known(name) else "not known"


def detail(
    svg: Svg,
    shape: Shape,
    case: BellowsCase,
    found: Shape | None,
    system: System,
    y0: float,
    width: float,
) -> float:
    """Draw the enlarged convolution from ``y0`` down; returns the y below it."""
    p = svg.palette
    top = shape.top + shape.wall / 2
    ring = ring_outline(shape) if shape.reinforced else None
    if ring is not None:
        top = max(top, float(ring[:, 1].max()))
    if found is not None:
        top = max(top, found.top + found.wall / 2)
    tangent = min(shape.tangent_length, 1.1 * shape.pitch)
    ahead = max(tangent, 0.25 * shape.pitch)
    span = ahead + 1.5 * max(shape.pitch, 0.0 if found is None else found.pitch)
    room = width - LEFT - RIGHT
    scale = min(room / span, TALL / top)
    left = LEFT + (room - span * scale) / 2
    view = View(svg, left + ahead * scale, y0 + TOP + top * scale, scale)
    each = max(shape.formed_thickness, LEAST / scale)
    thick = min(shape.plies * each, 1.6 * shape.torus_radius)
    each = thick / shape.plies
    _plies(view, shape, each, tangent)
    if found is not None:
        _found(view, found)
    if ring is not None:
        dash = "" if shape.known("ring_area") else "5 3"
        view.area(shifted(ring, shape.pitch, 0.0), fill=svg.hatch("ring", gap=4), dash=dash)
    _collar(view, shape, tangent, thick)
    _up(view, shape, system, left + span * scale)
    _along(view, shape, system, tangent, y0 + 18)
    low = _labels(view, shape, case, found, system, y0, thick, tangent)
    scale_bar(svg, LEFT, low + 6, scale, system, 120.0)
    words = "enlarged, to scale"
    if not shape.known("height", "pitch", "torus_radius", "mean_diameter"):
        words = "enlarged, proportions not known"
    if each > 1.05 * shape.formed_thickness:
        words += f"; plies drawn {each / shape.formed_thickness:.1f} × as thick"
    if tangent < shape.tangent_length:
        words += "; tangent cut short"
    return write(svg, LEFT + 190, low + 10, words, width - LEFT - 190, fill=p.soft)


def _plies(view: View, shape: Shape, each: float, tangent: float) -> None:
    """Each ply between its own two surfaces; the second convolution is cut at its crest."""
    p = view.svg.palette
    known = shape.known(
        "inside_diameter", "height", "pitch", "torus_radius", "mean_diameter", "plies",
        "ply_thickness",
    )  # fmt: skip
    for ply in range(shape.plies):
        low = -shape.plies * each / 2 + ply * each
        surfaces = []
        for lift in (low, low + each):
            line = convolution_line(shape, lift)
            half = line[: len(line) // 2 + 1] + np.array([shape.pitch, 0.0])
            surfaces.append(np.vstack((line, half[1:])))
            if tangent > 0.0:
                surfaces[-1] = np.vstack(([[-tangent, lift]], surfaces[-1]))
        outline = np.vstack((surfaces[1], surfaces[0][::-1]))
        view.area(outline, fill=p.hair if ply % 2 == 0 else p.tint, width=0.9,
                  dash="" if known else "5 3")  # fmt: skip
    if shape.convolution == Convolution.TOROIDAL and not opening(shape)[1]:
        half, _ = opening(shape)
        y = view.y(-shape.plies * each / 2) + 8
        a, b = view.x(shape.pitch / 2 - half), view.x(shape.pitch / 2 + half)
        view.svg.line(a, y, b, y, dash="3 2", stroke=p.warn)
        view.svg.text((a + b) / 2, y + 13, "opening not given", size=10.5, anchor="middle",
                      fill=p.warn)  # fmt: skip


def _found(view: View, found: Shape) -> None:
    line = convolution_line(found, found.wall / 2)
    half = line[: len(line) // 2 + 1] + np.array([found.pitch, 0.0])
    view.line(np.vstack((line, half[1:])), width=1.3, dash="9 3 2 3",
              stroke=view.svg.palette.accent)  # fmt: skip


def _collar(view: View, shape: Shape, tangent: float, thick: float) -> None:
    if shape.collar_length <= 0.0 or shape.collar_thickness <= 0.0:
        return
    stop = -tangent + min(shape.collar_length, max(tangent, 0.2 * shape.pitch))
    known = shape.known("collar_length", "collar_thickness")
    base = thick / 2
    view.area(
        box(-tangent, base, min(stop, 0.0), base + shape.collar_thickness),
        fill=view.svg.hatch("collar", gap=4, turn=-45),
        dash="" if known else "5 3",
    )


def _tick(view: View, x1: float, x2: float, y: float) -> None:
    view.svg.line(x1, y, x2, y, stroke=view.svg.palette.soft, width=0.6)


def _up(view: View, shape: Shape, system: System, edge: float) -> None:
    """Heights and diameters at the right."""
    svg, p = view.svg, view.svg.palette
    toroidal = shape.convolution == Convolution.TOROIDAL
    column = edge + 46
    low, half = -shape.wall / 2, shape.wall / 2
    thick = ("plies", "ply_thickness")
    needed = ("inside_diameter", "height", *thick)
    if toroidal:
        needed = ("mean_diameter", "torus_radius", *thick)
    rows = [
        (shape.top + half, shape.outside_diameter, "outside", needed),
        (shape.height / 2, shape.mean_diameter, "Dm", needed[:1] if toroidal else needed),
        (low, shape.inside_diameter, "Db", ("inside_diameter",)),
    ]
    x = edge + 22
    for up, value, name, names in rows:
        y = view.y(up)
        begin = view.x(shape.pitch if up == low else 1.5 * shape.pitch) + 3
        if name == "Dm" and not toroidal:  # leave room for the words of w
            _tick(view, begin, x - 14, y)
            begin = x + 4
        _tick(view, begin, column + 4, y)
        words = shown(value, "length", system) if shape.known(*names) else "not known"
        svg.text(column + 8, y + 4, f"⌀ {name} {words}", size=11)
    upper, lower = view.y(shape.height - half), view.y(low)
    if not toroidal:
        _tick(view, view.x(1.5 * shape.pitch) + 3, x + 4, upper)
        words = f"w {said(shape, 'height', shape.height, 'length', system)}"
        svg.arrow(x, lower, x, upper, stroke=p.soft, width=0.7, head=5, both=True)
        svg.text(x - 4, (upper + lower) / 2, words, size=11, anchor="middle", turn=-90)


def _along(view: View, shape: Shape, system: System, tangent: float, y: float) -> None:
    """Pitch over the crests, tangent below."""
    svg, p = view.svg, view.svg.palette
    high = shape.top + shape.wall / 2
    for place in (0.5, 1.5):
        x = view.x(place * shape.pitch)
        svg.line(x, view.y(high) - 3, x, y - 4, stroke=p.soft, width=0.6)
    words = f"q {said(shape, 'pitch', shape.pitch, 'length', system)}"
    svg.dimension(view.x(0.5 * shape.pitch), y, view.x(1.5 * shape.pitch), y, words)
    if tangent <= 0.0:
        return
    below = view.y(-shape.wall / 2) + 22
    for place in (-tangent, 0.0):
        x = view.x(place)
        svg.line(x, view.y(-shape.wall / 2) + 3, x, below + 4, stroke=p.soft, width=0.6)
    svg.arrow(view.x(-tangent), below, view.x(0.0), below, stroke=p.soft, width=0.7, head=5,
              both=True)  # fmt: skip
    words = f"Lt {said(shape, 'tangent_length', shape.tangent_length, 'length', system)}"
    svg.text(view.x(-tangent / 2), below + 14, words, size=11, anchor="middle")


def _pointer(view: View, x: float, y: float, target: tuple[float, float]) -> None:
    """A thin line from a label to a point of the drawing, ending in a dot."""
    p = view.svg.palette
    view.svg.line(x, y, *target, stroke=p.soft, width=0.7)
    view.svg.circle(*target, 1.8, fill=p.ink, width=0.5)


def _labels(
    view: View,
    shape: Shape,
    case: BellowsCase,
    found: Shape | None,
    system: System,
    y0: float,
    thick: float,
    tangent: float,
) -> float:
    """Words at the left with pointers; returns the y below everything."""
    svg, p = view.svg, view.svg.palette
    r, toroidal = shape.torus_radius, shape.convolution == Convolution.TOROIDAL
    width = LEFT - 14.0
    centre = (view.x(shape.pitch / 2), view.y(shape.height / 2 if toroidal else shape.height - r))
    turn = math.radians(135)
    shoulder = (
        centre[0] + r * view.scale * math.cos(turn),
        centre[1] - r * view.scale * math.sin(turn),
    )
    name = "r" if toroidal else "rm"
    words = f"{name} {said(shape, 'torus_radius', r, 'length', system)}"
    if case.torus_radius is None and not toroidal and shape.known("torus_radius"):
        words += " (taken as q/4)"
    y = y0 + TOP + 2
    svg.line(*centre, *shoulder, stroke=p.soft, width=0.7)
    svg.line(centre[0] - 3, centre[1], centre[0] + 3, centre[1], width=0.8)
    svg.line(centre[0], centre[1] - 3, centre[0], centre[1] + 3, width=0.8)
    _pointer(view, 8 + 5.4 * len(words), y - 4, shoulder)
    svg.text(8, y, words, size=11)
    y += 26
    line = convolution_line(shape, thick / 2)
    side = line[len(line) // 3] if toroidal else (line[ARC - 1] + line[ARC]) / 2
    target = (view.x(float(side[0])), view.y(float(side[1])))
    known = shape.known("plies", "ply_thickness")
    words = (
        f"n × t = {shape.plies} × {shown(shape.ply_thickness, 'thickness', system)}"
        if known
        else "n × t not known"
    )
    _pointer(view, 8 + 5.4 * len(words), y - 4, target)
    svg.text(8, y, words, size=11)
    y += 15
    if known and shape.known("inside_diameter", "height", "mean_diameter", "tube_diameter"):
        thin = shown(shape.formed_thickness, "thickness", system)
        y = write(svg, 8, y, f"tp {thin} after forming", width)
    if math.isfinite(case.thinnest_ply or math.nan) and case.thinnest_ply is not None:
        least = shown(case.thinnest_ply, "thickness", system)
        y = write(svg, 8, y, f"least measured {least}", width, fill=p.accent, weight="bold")
    if found is not None:
        y = _measured(svg, shape, found, system, y + 8, width)
    y = max(y + 12, view.y(thick / 2 + shape.collar_thickness) - 22)
    if shape.collar_length > 0.0 and shape.collar_thickness > 0.0:
        words = f"collar Lc {said(shape, 'collar_length', shape.collar_length, 'length', system)}"
        target = (view.x(-tangent) + 3, view.y(thick / 2 + shape.collar_thickness / 2))
        _pointer(view, 12 + 5.4 * len(words), y - 4, target)
        svg.text(8, y, words, size=11)
        words = f"tc {said(shape, 'collar_thickness', shape.collar_thickness, 'thickness', system)}"
        svg.text(8, y + 14, words, size=11)
        y += 28
    low = view.y(-thick / 2) + 22
    if tangent > 0.0:
        low += 20
    if shape.reinforced:
        low = _ring_label(view, shape, system, low + 14)
    return max(low, y) + 16


def _measured(
    svg: Svg, shape: Shape, found: Shape, system: System, y: float, width: float
) -> float:
    p = svg.palette
    svg.line(8, y - 4, 40, y - 4, width=1.3, dash="9 3 2 3", stroke=p.accent)
    svg.text(46, y, "as found", size=11, fill=p.accent, weight="bold")
    y += 14
    pairs = (
        ("Db", shape.inside_diameter, found.inside_diameter),
        ("w", shape.height, found.height),
        ("q", shape.pitch, found.pitch),
        ("rm", shape.torus_radius, found.torus_radius),
    )
    for name, before, now in pairs:
        if not math.isclose(before, now, rel_tol=1e-9):
            words = f"{name} {shown(now, 'length', system)}"
            y = write(svg, 8, y, words, width, fill=p.accent)
    return y


def _ring_label(view: View, shape: Shape, system: System, y: float) -> float:
    p = view.svg.palette
    centre: Array = ring_outline(shape).mean(axis=0)
    target = (view.x(shape.pitch), view.y(float(centre[1])))
    _pointer(view, view.x(shape.pitch), y - 10, target)
    if not shape.known("ring_area"):
        words = "ring: area not known, drawn to fill the root"
    else:
        words = f"{shape.ring}, Ar {shown(shape.ring_area, 'metal_area', system)}"
        if shape.ring == Ring.ROUND:
            words += f", ⌀ {shown(shape.ring_diameter, 'length', system)}"
    view.svg.text(view.x(shape.pitch), y, words, size=11, anchor="middle")
    if shape.fastener_area > 0.0:
        y += 14
        words = (
            f"halves joined by fasteners: Af {shown(shape.fastener_area, 'metal_area', system)}, "
            f"Lf {shown(shape.fastener_length, 'length', system)}"
        )
        view.svg.text(view.x(shape.pitch), y, words, size=11, anchor="middle", fill=p.soft)
    return y
