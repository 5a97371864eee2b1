"""An attachment drawn: temperature in its section, the places judged, a start and stop."""

from __future__ import annotations

import math

import numpy as np

from takeup.ageing.attachment_case import AttachmentReport
from takeup.documents.drawing.charts import Frame, nice
from takeup.documents.drawing.palette import PRINT, Palette
from takeup.documents.drawing.svg import Svg, n
from takeup.heat.attachment.model import HotRing
from takeup.units import HOUR, Array, System, from_si, shown, symbol

WIDTH = 760.0
BANDS = 8
_LEFT, _ACROSS, _TOP, _UP = 70.0, 600.0, 46.0, 270.0


class _Section:
    """The section on paper: along the pipe to the right, radius up."""

    def __init__(self, report: AttachmentReport, svg: Svg) -> None:
        meshed = report.answer.meshed
        self.svg, self.faces = svg, meshed.faces
        self.mirrored = isinstance(report.task, HotRing)
        self.r, self.z = meshed.points[0] + meshed.origin, meshed.points[1]
        self.reach = _reach(report)
        keep = self.z[meshed.triangles].max(axis=0) <= self.reach
        self.triangles = meshed.triangles[:, keep]
        self.start = -self.reach if self.mirrored else float(self.z.min())
        self.end = min(self.reach, float(self.z.max()))
        shown_ = self.r[self.triangles]
        self.bottom, self.top = float(shown_.min()), float(shown_.max())
        self.scale = min(_ACROSS / (self.end - self.start), _UP / max(self.top - self.bottom, 1e-9))
        self.height = (self.top - self.bottom) * self.scale
        self.labels: list[tuple[float, float]] = []
        self.left = _LEFT + (_ACROSS - (self.end - self.start) * self.scale) / 2.0
        self.floor = _TOP + 40.0 + self.height
        self.signs = (1.0, -1.0) if self.mirrored else (1.0,)

    def x(self, z: Array | float) -> Array:
        return np.asarray(self.left + (np.asarray(z) - self.start) * self.scale)

    def y(self, r: Array | float) -> Array:
        return np.asarray(self.floor - (np.asarray(r) - self.bottom) * self.scale)

    def shades(self, nodal: Array) -> None:
        """Fill by temperature in bands."""
        low, high = float(nodal.min()), float(nodal.max())
        mean = nodal[self.triangles].mean(axis=0)
        share = (mean - low) / max(high - low, 1e-9)
        band = np.clip((share * BANDS).astype(int), 0, BANDS - 1)
        colour = self.svg.palette.warn
        ys = self.y(self.r[self.triangles])
        for sign in self.signs:
            xs = self.x(sign * self.z[self.triangles])
            for number in range(BANDS):
                d = "".join(
                    "M" + "L".join(f"{n(xs[k, i])},{n(ys[k, i])}" for k in range(3)) + "Z"
                    for i in np.flatnonzero(band == number)
                )
                if d:
                    weight = f"{0.08 + 0.72 * number / (BANDS - 1):.2f}"
                    # opacity of the whole path, so that sides of triangles do not show
                    self.svg.add(
                        f'<path d="{d}" fill="{colour}" stroke="{colour}" stroke-width="0.7" '
                        f'opacity="{weight}"/>'
                    )

    def outline(self) -> None:
        """The skin of the metal."""
        parts = []
        for name, sides in self.faces.items():
            if name in {"start", "end"}:
                continue
            near = sides[self.z[sides].max(axis=1) <= self.reach]
            for sign in self.signs:
                xs, ys = self.x(sign * self.z[near]), self.y(self.r[near])
                parts += [
                    f"M{n(x[0])},{n(y[0])}L{n(x[1])},{n(y[1])}" for x, y in zip(xs, ys, strict=True)
                ]
        self.svg.path("".join(parts), width=1.3)

    def isotherms(self, nodal: Array, system: System) -> None:
        """Lines of equal temperature, each labelled once."""
        value_at = np.asarray(from_si(nodal, "temperature", system))
        here = value_at[self.triangles]
        step = nice((float(here.max()) - float(here.min())) / 6.0)
        value = math.ceil(float(here.min()) / step) * step
        while value < float(here.max()):
            self._isotherm(value_at, value, f"{value:.0f} {symbol('temperature', system)}")
            value += step

    def _isotherm(self, value_at: Array, value: float, words: str) -> None:
        over = value_at[self.triangles] > value
        parts: list[str] = []
        label: tuple[float, float] | None = None
        for i in np.flatnonzero(over.any(axis=0) & ~over.all(axis=0)):
            ends = []
            for k in range(3):
                a, b = self.triangles[k, i], self.triangles[(k + 1) % 3, i]
                if (value_at[a] > value) != (value_at[b] > value):
                    share = (value - value_at[a]) / (value_at[b] - value_at[a])
                    ends.append(
                        (
                            float(self.z[a] + share * (self.z[b] - self.z[a])),
                            float(self.r[a] + share * (self.r[b] - self.r[a])),
                        )
                    )
            if len(ends) != 2:
                continue
            for sign in self.signs:
                xs = [float(self.x(sign * end[0])) for end in ends]
                ys = [float(self.y(end[1])) for end in ends]
                parts.append(f"M{n(xs[0])},{n(ys[0])}L{n(xs[1])},{n(ys[1])}")
                for x, y in zip(xs, ys, strict=True):
                    # the end farthest to the right and up stands free of the metal
                    if sign > 0.0 and (label is None or x - y > label[0] - label[1]):
                        label = (x, y)
        self.svg.path("".join(parts), width=0.8, dash="3 2")
        if label is not None and all(
            abs(label[0] - x) > 48.0 or abs(label[1] - y) > 12.0 for x, y in self.labels
        ):
            self.labels.append(label)
            self.svg.text(label[0] + 5, label[1] - 3, words, size=11)


def _reach(report: AttachmentReport) -> float:
    task, z = report.task, report.answer.meshed.points[1]
    if not isinstance(task, HotRing):
        return float(z.max())
    toe = task.ring_width / 2.0 + task.leg
    high = task.ring_outside_radius - task.inside_radius
    return min(float(z.max()), max(toe + 2.0 / task.beta, 0.9 * high))


def attachment_field(
    report: AttachmentReport, system: System, palette: Palette = PRINT
) -> str:  # fmt: skip
    """The section with its temperature in shades and lines, and every place that was judged.

    A triangle marks a weld, a circle a place without one; the hardest is drawn full.
    """
    answer, worst = report.answer, report.judged.governing
    nodal = answer.field.temperature[: answer.meshed.points.shape[1]]
    low, high = (shown(float(v), "temperature", system) for v in (nodal.min(), nodal.max()))
    rows = len(answer.cuts)
    svg = Svg(
        WIDTH,
        0.0,
        f"{report.case.name or report.case.kind.value}: temperature in the section",
        f"From {low} to {high}. Hardest {worst.cut.name}: range "
        f"{shown(worst.cut.range, 'stress', system)}.",
        palette,
    )
    section = _Section(report, svg)
    foot = section.floor + 56.0
    svg.height = foot + 46.0 + 18.0 * rows
    section.shades(nodal)
    section.outline()
    section.isotherms(nodal, system)
    svg.text(8, 18, f"Section on stream, {low} to {high}; the pipe's axis lies below", size=12)
    svg.line(_LEFT, foot, _LEFT + _ACROSS, foot, stroke=palette.soft, dash="12 4 2 4", width=0.8)
    svg.text(_LEFT, foot + 14, "inside of the pipe", size=11, fill=palette.soft)
    if not section.mirrored:
        svg.text(_LEFT + _ACROSS, foot + 14, "from the hot end (left) to the cool end", size=11,
                 anchor="end", fill=palette.soft)  # fmt: skip
    origin = answer.meshed.origin
    for k, (cut, where) in enumerate(zip(answer.cuts, answer.meshed.cuts, strict=True)):
        full = cut is worst.cut
        inside = cut.range_inside >= cut.range_outside
        end = where.start if inside else where.end
        x, y = float(section.x(end[1])), float(section.y(end[0] + origin))
        # neighbours stand at different depths so that they do not cover each other
        away = 14.0 + 13.0 * (k % 3)
        svg.line(x, y, x, y + (away if inside else -away), stroke=palette.soft, width=0.7)
        y += away if inside else -away
        _mark(svg, x, y, weld=cut.weld, full=full)
        svg.text(x + 8, y + 4, str(k + 1), size=11, weight="bold" if full else "")
        line = foot + 36 + 18 * k
        _mark(svg, 16, line - 4, weld=cut.weld, full=full)
        svg.text(
            28,
            line,
            f"{k + 1}  {cut.name}: range {shown(cut.range, 'stress', system)} "
            f"({'inside' if inside else 'outside'}), "
            f"{shown(cut.inside_temperature, 'temperature', system)} inside",
            size=12,
            weight="bold" if full else "",
            fill=palette.warn if full else None,
        )
    return svg.render()


def _mark(svg: Svg, x: float, y: float, *, weld: bool, full: bool) -> None:
    colour = svg.palette.warn if full else svg.palette.ink
    fill = colour if full else svg.palette.paper
    if weld:
        d = f"M{n(x - 5)},{n(y + 4)} L{n(x + 5)},{n(y + 4)} L{n(x)},{n(y - 5)} Z"
        svg.path(d, fill=fill, stroke=colour, width=1.4)
    else:
        svg.circle(x, y, 4, fill=fill, stroke=colour, width=1.4)


def attachment_day(
    report: AttachmentReport, system: System, palette: Palette = PRINT
) -> str:  # fmt: skip
    """Stress along the wall at the hardest place through a start, run and stop, over gas."""
    day, worst = report.answer.day, report.judged.governing
    svg = Svg(
        WIDTH, 300, f"Start and stop, {worst.cut.name}",
        "Stress along the wall inside and outside, and the temperature of the medium.", palette,
    )  # fmt: skip
    if day is None:
        svg.text(380, 150, "no start and stop was worked out", anchor="middle", size=14)
        return svg.render()
    name = worst.cut.name
    inside = np.asarray(from_si(day.inside[name], "stress", system))
    outside = np.asarray(from_si(day.outside[name], "stress", system))
    gas = np.asarray(from_si(day.gas, "temperature", system))
    hours = day.times / HOUR
    # long rests say nothing: time is shown by steps, its marks in hours
    steps = np.arange(len(hours), dtype=float)
    low = min(0.0, float(inside.min()), float(outside.min()))
    high = max(0.0, float(inside.max()), float(outside.max()))
    room = 0.08 * (high - low or 1.0)
    frame = Frame(svg, (64, 34, 620, 214), (0.0, float(steps[-1])), (low - room, high + room))
    frame.grid(symbol("stress", system))
    svg.line(64, frame.y(0.0), 684, frame.y(0.0), width=0.9)
    hot = Frame(svg, frame.box, frame.xs, (float(gas.min()) - 20.0, float(gas.max()) * 1.1))
    svg.polyline([(frame.x(s), hot.y(g)) for s, g in zip(steps, gas, strict=True)],
                 stroke=palette.soft, dash="2 3", width=1.4)  # fmt: skip
    for values, words, dash, colour in (
        (inside, "inside", "", palette.warn),
        (outside, "outside", "7 3", palette.accent),
    ):
        points = [(frame.x(s), frame.y(v)) for s, v in zip(steps, values, strict=True)]
        svg.polyline(points, stroke=colour, dash=dash, width=2.0)
        middle = points[len(points) // 2]
        svg.text(middle[0], middle[1] - 6, words, size=12, anchor="middle", fill=colour)
    top = int(np.argmax(gas))
    svg.text(frame.x(steps[top]), hot.y(gas[top]) - 6,
             f"medium, to {gas[top]:.0f} {symbol('temperature', system)}", size=11,
             fill=palette.soft)  # fmt: skip
    for index in sorted({0, *np.linspace(0, len(hours) - 1, 9).astype(int).tolist()}):
        x = frame.x(steps[index])
        svg.line(x, 248, x, 253, width=0.8)
        svg.text(x, 266, f"{hours[index]:.0f} h", size=11, anchor="middle")
    svg.text(64, 288, "time is drawn by steps of the calculation, closer where things change",
             size=11, fill=palette.soft)  # fmt: skip
    return svg.render()
