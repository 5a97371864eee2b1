"""A small hand for writing SVG: escaped, titled, with the document face."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from html import escape

from takeup.documents.drawing.palette import Palette

FACE = "Libertinus Serif"


def n(value: float) -> str:
    """A coordinate: at most two decimals, no trailing zeros."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


class Svg:
    """One drawing; parts are added in order, later ones on top."""

    def __init__(
        self, width: float, height: float, title: str, desc: str, palette: Palette
    ) -> None:
        self.width, self.height, self.title, self.desc = width, height, title, desc
        self.palette = palette
        self.role = "img"
        """``group`` where parts of the drawing are links of their own."""
        self.parts: list[str] = []
        self.defs: list[str] = []
        self.patterns: dict[str, str] = {}
        # ids must differ between drawings on one page and be the same every time
        self.mark = hashlib.sha1(f"{title}|{desc}|{width}|{height}".encode()).hexdigest()[:8]

    def add(self, part: str) -> None:
        """Add a finished part."""
        self.parts.append(part)

    def line(
        self,
        x1: float,
        y1: float,
        x2: float,
        y2: float,
        *,
        stroke: str | None = None,
        width: float = 1.0,
        dash: str = "",
    ) -> None:
        """A straight line."""
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self.add(
            f'<line x1="{n(x1)}" y1="{n(y1)}" x2="{n(x2)}" y2="{n(y2)}" '
            f'stroke="{stroke or self.palette.ink}" stroke-width="{n(width)}"{dashed}/>'
        )

    def rect(
        self,
        x: float,
        y: float,
        w: float,
        h: float,
        *,
        fill: str = "none",
        stroke: str = "none",
        width: float = 1.0,
        dash: str = "",
        title: str = "",
    ) -> None:
        """A rectangle; ``title`` is told when pointed at."""
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        head = (
            f'<rect x="{n(x)}" y="{n(y)}" width="{n(max(0.0, w))}" height="{n(max(0.0, h))}" '
            f'fill="{fill}" stroke="{stroke}" stroke-width="{n(width)}"{dashed}'
        )
        self.add(f"{head}><title>{escape(title)}</title></rect>" if title else f"{head}/>")

    def circle(
        self,
        x: float,
        y: float,
        r: float,
        *,
        fill: str = "none",
        stroke: str | None = None,
        width: float = 1.0,
    ) -> None:
        """A circle."""
        self.add(
            f'<circle cx="{n(x)}" cy="{n(y)}" r="{n(r)}" fill="{fill}" '
            f'stroke="{stroke or self.palette.ink}" stroke-width="{n(width)}"/>'
        )

    def path(
        self,
        d: str,
        *,
        fill: str = "none",
        stroke: str | None = None,
        width: float = 1.0,
        dash: str = "",
    ) -> None:
        """A path."""
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self.add(
            f'<path d="{d}" fill="{fill}" stroke="{stroke or self.palette.ink}" '
            f'stroke-width="{n(width)}" stroke-linejoin="round"{dashed}/>'
        )

    def polyline(
        self,
        points: Sequence[tuple[float, float]],
        *,
        stroke: str | None = None,
        width: float = 1.0,
        dash: str = "",
        fill: str = "none",
    ) -> None:
        """Connected points."""
        if points:
            d = "M" + " L".join(f"{n(x)},{n(y)}" for x, y in points)
            self.path(d, stroke=stroke, width=width, dash=dash, fill=fill)

    def text(
        self,
        x: float,
        y: float,
        words: str,
        *,
        size: float = 12,
        anchor: str = "start",
        fill: str | None = None,
        weight: str = "",
        style: str = "",
        turn: float = 0.0,
    ) -> None:
        """Text, escaped."""
        more = f' font-weight="{weight}"' if weight else ""
        more += f' font-style="{style}"' if style else ""
        more += f' transform="rotate({n(turn)} {n(x)} {n(y)})"' if turn else ""
        self.add(
            f'<text x="{n(x)}" y="{n(y)}" font-size="{n(size)}" text-anchor="{anchor}" '
            f'fill="{fill or self.palette.ink}"{more}>{escape(words)}</text>'
        )

    def hatch(self, name: str, *, gap: float = 5, stroke: str | None = None, turn: int = 45) -> str:
        """A hatch pattern; returns the fill that uses it."""
        if name not in self.patterns:
            id = f"h{self.mark}{len(self.patterns)}"
            self.patterns[name] = id
            self.defs.append(
                f'<pattern id="{id}" width="{n(gap)}" height="{n(gap)}" '
                f'patternUnits="userSpaceOnUse" patternTransform="rotate({turn})">'
                f'<line x1="0" y1="0" x2="0" y2="{n(gap)}" '
                f'stroke="{stroke or self.palette.soft}" stroke-width="0.8"/></pattern>'
            )
        return f"url(#{self.patterns[name]})"

    def arrow(
        self,
        x1: float,
        y1: float,
        x2: float,
        y2: float,
        *,
        stroke: str | None = None,
        width: float = 1.2,
        head: float = 6.0,
        both: bool = False,
    ) -> None:
        """A line with a filled head at its end, or at both ends."""
        import math

        colour = stroke or self.palette.ink
        self.line(x1, y1, x2, y2, stroke=colour, width=width)
        angle = math.atan2(y2 - y1, x2 - x1)
        for (x, y), turn in (((x2, y2), angle), ((x1, y1), angle + math.pi))[: 2 if both else 1]:
            left, right = turn + 2.7, turn - 2.7
            points = (
                f"M{n(x)},{n(y)} L{n(x + head * math.cos(left))},{n(y + head * math.sin(left))} "
                f"L{n(x + head * math.cos(right))},{n(y + head * math.sin(right))} Z"
            )
            self.path(points, fill=colour, stroke=colour, width=0.5)

    def dimension(self, x1: float, y1: float, x2: float, y2: float, words: str, *, size: float = 11,
                  above: float = 4.0) -> None:  # fmt: skip
        """A dimension line with arrows and its words along it."""
        soft = self.palette.soft
        self.arrow(x1, y1, x2, y2, stroke=soft, width=0.7, head=5, both=True)
        if abs(x2 - x1) >= abs(y2 - y1):
            self.text((x1 + x2) / 2, min(y1, y2) - above, words, size=size, anchor="middle")
        else:
            self.text(x1 - above, (y1 + y2) / 2, words, size=size, anchor="middle", turn=-90)

    def render(self) -> str:
        """The whole drawing."""
        t, d = f"t{self.mark}", f"d{self.mark}"
        defs = f"<defs>{''.join(self.defs)}</defs>" if self.defs else ""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {n(self.width)} '
            f'{n(self.height)}" width="{n(self.width)}" height="{n(self.height)}" role="{self.role}" '
            f'aria-labelledby="{t} {d}" font-family="{FACE}, serif">'
            f'<title id="{t}">{escape(self.title)}</title><desc id="{d}">{escape(self.desc)}</desc>'
            f"{defs}{''.join(self.parts)}</svg>"
        )
