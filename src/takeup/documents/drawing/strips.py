"""Lines as strips along their length, and the unit as a sheet of strips."""

from __future__ import annotations

from collections.abc import Callable

from takeup.assess.model import Level
from takeup.documents.drawing.palette import PRINT, Palette
from takeup.documents.drawing.shapes import bellows_symbol, level_shape, support_symbol
from takeup.documents.drawing.svg import Svg
from takeup.documents.model import JointRow, LineRow, Overview
from takeup.register.entities import Wall
from takeup.units import System, shown

LABEL, WIDTH, ROW = 176.0, 980.0, 92.0
Link = Callable[[str], str]


def unit_sheet(overview: Overview, *, palette: Palette = PRINT, link: Link | None = None) -> str:
    """All lines of a unit under each other, joints with the mark of their level.

    ``link`` turns a joint's tag into an address; each joint is then a link with a name.
    """
    rows = overview.lines
    worst = sum(row.level in {Level.ACT_NOW, Level.IN_DOUBT} for row in overview.joints)
    svg = Svg(
        WIDTH,
        ROW * max(1, len(rows)) + 8,
        f"{overview.unit.name}: lines and joints",
        f"{len(rows)} lines with {len(overview.joints)} joints; {worst} in doubt or to act on now",
        palette,
    )
    svg.role = "group" if link else "img"
    longest = max((_length(row) for row in rows), default=1.0)
    for place, row in enumerate(rows):
        _strip(svg, row, ROW * place, longest, overview.system, link)
        if place:
            svg.line(0, ROW * place, WIDTH, ROW * place, stroke=palette.hair, width=0.8)
    return svg.render()


def line_strip(
    row: LineRow, *, system: System, palette: Palette = PRINT, link: Link | None = None
) -> str:
    """One line as a strip."""
    svg = Svg(
        WIDTH,
        ROW + 8,
        f"Line {row.line.tag}: {row.line.name}",
        f"{len(row.joints)} joints and {len(row.supports)} supports along the line",
        palette,
    )
    svg.role = "group" if link else "img"
    _strip(svg, row, 0.0, _length(row), system, link)
    return svg.render()


def _length(row: LineRow) -> float:
    places = [s.position for s in row.supports] + [r.joint.position for r in row.joints]
    return max([p for p in places if p is not None] or [1.0])


def _strip(
    svg: Svg, row: LineRow, top: float, longest: float, system: System, link: Link | None
) -> None:
    p = svg.palette
    y = top + 50
    svg.text(4, top + 30, row.line.tag, size=15, weight="bold")
    name = row.line.name
    words = name.split(" ")
    first = ""
    while words and len(f"{first} {words[0]}") <= 27:
        first = f"{first} {words.pop(0)}".strip()
    svg.text(4, top + 47, first, size=12)
    if words:
        svg.text(4, top + 61, " ".join(words)[:30], size=12)
    pressure = shown(row.line.operating_pressure, "pressure", system)
    gas = shown(row.line.gas_temperature, "temperature", system)
    svg.text(4, top + 78, f"{pressure}, {gas}", size=11, fill=p.soft)
    left, right = LABEL + 14, WIDTH - 24
    # short lines are drawn longer than to scale, so that their joints stay apart
    share = 0.45 + 0.55 * _length(row) / longest
    span = (right - left) * share
    length = _length(row) or 1.0

    def at(place: float | None, number: int, count: int) -> float:
        if place is None:
            return left + span * (number + 1) / (count + 1)
        return left + span * place / length

    svg.line(left, y, left + span, y, width=2)
    svg.arrow(left + span, y, left + span + 16, y, width=1, head=6, stroke=p.accent)
    for number, support in enumerate(row.supports):
        x = at(support.position, number, len(row.supports))
        support_symbol(svg, support.kind, x, y)
        svg.text(x, y + 32, support.tag.split("-")[-1], size=9.5, anchor="middle", fill=p.soft)
    for number, joint in enumerate(row.joints):
        _joint(svg, joint, at(joint.joint.position, number, len(row.joints)), y, link)


def _joint(svg: Svg, row: JointRow, x: float, y: float, link: Link | None) -> None:
    level = row.level.value if row.level else "not assessed"
    if link:
        svg.add(
            f'<a href="{link(row.joint.tag)}" class="joint" aria-label="{row.joint.tag}, {level}">'
        )
    svg.rect(x - 26, y - 44, 52, 74, fill="transparent")
    bellows_symbol(svg, x, y)
    if row.joint.wall == Wall.COLD:
        svg.line(x - 13, y + 13, x + 13, y + 13, width=3, stroke=svg.palette.hair)
    level_shape(svg, row.level, x, y - 24, 7.5)
    weight = "bold" if row.level in {Level.ACT_NOW, Level.IN_DOUBT} else ""
    svg.text(x, y - 36, row.joint.tag, size=11.5, anchor="middle", weight=weight,
             fill=svg.palette.level(row.level))  # fmt: skip
    if link:
        svg.add("</a>")
