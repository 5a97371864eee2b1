"""Use of each limit, placed where the stress sits."""

from __future__ import annotations

import math

import numpy as np

from takeup.bellows.model import BellowsReport, Convolution
from takeup.checks import Check, Outcome
from takeup.documents.drawing.profile import ARC, Shape, convolution_line, opening, ring_outline
from takeup.documents.drawing.svg import Svg
from takeup.documents.drawing.view import (
    View,
    box,
    outcome_mark,
    outcome_words,
    shifted,
    wrap,
    write,
)

TANGENT, COLLAR, END = "tangent", "collar", "end convolution"
CREST, WALL, RING, FASTENER = "crest and root", "side wall", "ring", "fastener"
TORUS, INNER = "torus", "inner side of the torus"
_U = {
    "S1": TANGENT, "S1c": COLLAR, "S2": WALL, "S2e": END, "S2r": RING, "S2f": FASTENER, "S3": WALL,
    "S3+S4": CREST, "S3+S4/1.25": CREST, "inplane_squirm": WALL, "fatigue": CREST,
}  # fmt: skip
_TOROIDAL = {"S1": TANGENT, "S1c": COLLAR, "S2": TORUS, "S3": INNER, "fatigue": TORUS}
_LEFT = (TANGENT, COLLAR, END)
_RIGHT = (CREST, TORUS, WALL, INNER, RING, FASTENER)
WHOLE = "the whole bellows"
_ORDER = {
    Outcome.NOT_MET: 3, Outcome.MET: 2, Outcome.NOT_EVALUATED: 1, Outcome.DOES_NOT_APPLY: 0,
}  # fmt: skip


def place_of(check: Check, convolution: Convolution) -> str:
    """Where on the bellows a check belongs."""
    places = _TOROIDAL if convolution == Convolution.TOROIDAL else _U
    return places.get(check.id.partition("@")[0], WHOLE)


def governing(
    report: BellowsReport, convolution: Convolution
) -> dict[str, list[tuple[Check, str]]]:
    """By place: the hardest used check of each family, with the condition and what lacks.

    A family with a condition that was not evaluated says so beside the hardest one that was.
    """
    families: dict[str, list[Check]] = {}
    for check in report.checks:
        if check.outcome != Outcome.DOES_NOT_APPLY:
            families.setdefault(check.id.partition("@")[0], []).append(check)
    found: dict[str, list[tuple[Check, str]]] = {}
    for stem, checks in families.items():
        if stem.startswith("geometry.") and not any(c.outcome == Outcome.NOT_MET for c in checks):
            continue
        worst = max(checks, key=lambda c: (_ORDER[c.outcome], c.ratio or 0.0))
        words = worst.id.partition("@")[2]
        lacking = [
            c.id.partition("@")[2]
            for c in checks
            if c.outcome == Outcome.NOT_EVALUATED and c is not worst
        ]
        if lacking and worst.outcome != Outcome.NOT_EVALUATED:
            words += f"; {', '.join(lacking)} not evaluated"
        found.setdefault(place_of(worst, convolution), []).append((worst, words))
    return found


def stress_map(svg: Svg, shape: Shape, report: BellowsReport, y0: float, width: float) -> float:
    """Draw two convolutions with the checks round them from ``y0`` down; returns the y below."""
    p = svg.palette
    found = governing(report, shape.convolution)
    y = write(svg, 8, y0, "Use of each limit, where the stress sits", width, size=13, weight="bold")
    key = "circle: met; half filled: from 0.90; triangle: not met; dashed square: not evaluated"
    y = write(svg, 8, y, f"{report.basis}. Demand over capacity; {key}.", width - 16, fill=p.soft)
    if not report.valid:
        y = write(svg, 8, y, "Outside what the rule set covers: these are a relative measure only.",
                  width - 16, fill=p.warn, weight="bold")  # fmt: skip
    top = shape.top + shape.wall / 2
    picture, column = 0.34 * width, 0.33 * width - 14
    tangent = 0.0
    if shape.tangent_length > 0.0:
        tangent = min(max(shape.tangent_length, 0.5 * shape.pitch), shape.pitch)
    scale = min(picture / (2 * shape.pitch + tangent), 120.0 / top)
    drawn = (2 * shape.pitch + tangent) * scale
    view = View(svg, (width - drawn) / 2 + tangent * scale, y + 34 + top * scale, scale)
    _picture(view, shape, tangent)
    points = _points(view, shape, tangent)
    left = right = y + 14
    used = False
    for place in _LEFT:
        if place in found:
            left = _block(svg, place, found[place], 8, left, column, points[place], "right")
            used = True
    for place in _RIGHT:
        if place in found:
            x = width - column - 4
            right = _block(svg, place, found[place], x, right, column, points[place], "left")
            used = True
    y = max(left, right, view.y(0.0) + 20)
    if WHOLE in found:
        y = _whole(svg, found[WHOLE], y + 6, width)
        used = True
    if not used:
        y = write(svg, 8, y, "no check was evaluated", width, fill=p.warn)
    lacking = sum(
        check.id.startswith("geometry.") and check.outcome == Outcome.NOT_EVALUATED
        for check in report.checks
    )
    if lacking:
        y = write(svg, 8, y, f"{lacking} limits of applicability: not evaluated.", width - 16)
    if any(check.provisional for rows in found.values() for check, _ in rows):
        y = write(svg, 8, y + 4, "* rests on a source weaker than read or confirmed: provisional",
                  width - 16, fill=p.soft, style="italic")  # fmt: skip
    return y


def _picture(view: View, shape: Shape, tangent: float) -> None:
    svg, p = view.svg, view.svg.palette
    wall = max(shape.wall, 2.6 / view.scale)
    wall = min(wall, 1.6 * shape.torus_radius)
    surfaces = []
    for lift in (wall / 2, -wall / 2):
        line = convolution_line(shape, lift)
        start = [[-tangent, lift]] if tangent > 0.0 else line[:1]
        surfaces.append(np.vstack((start, line, line[1:] + np.array([shape.pitch, 0.0]))))
    view.area(np.vstack((surfaces[0], surfaces[1][::-1])), fill=p.hair, width=0.9)
    if shape.reinforced:
        view.area(shifted(ring_outline(shape), shape.pitch, 0.0), fill=svg.hatch("map", gap=4))
    if shape.collar_length > 0.0 and shape.collar_thickness > 0.0 and tangent > 0.0:
        long = min(shape.collar_length, 0.9 * tangent)
        view.area(
            box(-tangent, wall / 2, -tangent + long, wall / 2 + shape.collar_thickness),
            fill=svg.hatch("mapc", gap=4, turn=-45),
        )


def _points(view: View, shape: Shape, tangent: float) -> dict[str, list[tuple[float, float]]]:
    """Where pointers of each place end, in pixels."""
    line = convolution_line(shape)
    q = shape.pitch

    def px(along: float, up: float) -> tuple[float, float]:
        return view.x(along), view.y(up)

    if shape.convolution == Convolution.TOROIDAL:
        half = opening(shape)[0]
        flank, inner = line[len(line) // 3], [q + q / 2 - half, shape.height / 2]
        inner[1] -= math.sqrt(max(shape.torus_radius**2 - half**2, 0.0))
    else:
        flank, inner = (line[ARC - 1] + line[ARC]) / 2, [q, 0.0]
    return {
        TANGENT: [px(-0.35 * tangent, 0.0)],
        COLLAR: [px(-tangent + 2 / view.scale, shape.wall / 2 + shape.collar_thickness / 2)],
        END: [px(float(flank[0]), float(flank[1]))],
        CREST: [px(1.5 * q, shape.top), px(q, 0.0)],
        TORUS: [px(1.5 * q, shape.top)],
        INNER: [px(inner[0], inner[1])],
        WALL: [px(2 * q - float(flank[0]), float(flank[1]))],
        RING: [px(q, float(ring_outline(shape)[:, 1].mean()) if shape.reinforced else 0.0)],
        FASTENER: [px(q, shape.wall / 2)],
    }


def _row(svg: Svg, check: Check, condition: str, x: float, y: float, width: float) -> float:
    p = svg.palette
    star = "*" if check.provisional else ""
    number = outcome_words(check)
    outcome_mark(svg, check, x + 6, y - 4)
    fill = p.warn if check.outcome == Outcome.NOT_MET else p.ink
    tail = f" · {condition}" if condition else ""
    name = f"{check.name} {check.symbol.replace(' ', '')}".strip()
    words = f"{number}  {name}{star}{tail}"
    for place, line in enumerate(wrap(words, width - 18, 11)):
        svg.text(x + 16, y, line, size=11, fill=fill,
                 weight="bold" if place == 0 and check.outcome == Outcome.NOT_MET else "")  # fmt: skip
        y += 13.5
    return y


def _block(
    svg: Svg,
    place: str,
    rows: list[tuple[Check, str]],
    x: float,
    y: float,
    width: float,
    targets: list[tuple[float, float]],
    side: str,
) -> float:
    """A place with its checks, and pointers to the drawing."""
    p = svg.palette
    svg.text(x, y, place, size=11.5, weight="bold")
    if side == "right":
        start = x + width + 2
        svg.line(x + 6.3 * len(place) + 4, y - 4, start, y - 4, stroke=p.soft, width=0.7)
    else:
        start = x - 5
    for target in targets:
        svg.line(start, y - 4, *target, stroke=p.soft, width=0.7)
        svg.circle(*target, 2.2, fill=p.ink, width=0.5)
    y += 15
    for check, condition in rows:
        y = _row(svg, check, condition, x, y, width)
    return y + 8


def _whole(svg: Svg, rows: list[tuple[Check, str]], y: float, width: float) -> float:
    svg.text(8, y, WHOLE, size=11.5, weight="bold")
    y += 15
    half = (width - 24) / 2
    ys = [y, y]
    for check, condition in rows:
        at = 0 if ys[0] <= ys[1] else 1
        ys[at] = _row(svg, check, condition, 8 + at * (half + 8), ys[at], half)
    return max(ys) + 4
