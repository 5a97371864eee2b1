"""A text to begin an attachment with: what the register tells, and what it does not."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from takeup.assess.attached import CONES
from takeup.errors import TakeupError
from takeup.register.entities import Hardware, Joint, Line, Wall

if TYPE_CHECKING:
    from collections.abc import Collection

    from takeup.ageing.attachment_case import AttachmentCase
    from takeup.desk.site import Site

_HOT = frozenset({Wall.HOT, Wall.UNLINED})


def draft(site: Site, tag: str, item: str) -> str:
    """What the register tells of an attachment of joint ``tag``, as text with units.

    What nobody has told stands as a comment to be filled in; nothing is taken as something.
    """
    register = site.register()
    joint = register.get(Joint, tag)
    line = register.get(Line, joint.line)
    part = register.find(Hardware, f"{joint.tag}/{item}")
    hot = joint.wall in _HOT
    bore = None
    if line.diameter and line.wall:
        bore = line.diameter - 2.0 * line.wall
    metal, metal_hint = _metal(line.pipe_material, "as on the drawing")
    head = [
        f"# Attachment {part.item if part else item} of {joint.tag}; "
        "fill in and take the # away. A zero has to be written.",
        *([] if hot else ["# The wall is not on record as hot or unlined: gas is what the bare "
                          "pipe sees inside."]),
        _row("name", f"{part.item if part else item} of {joint.tag}"),
    ]  # fmt: skip
    pipe = [
        _row("inside_diameter", _millimetres(bore), '"1193.6 mm"', "of the hot pipe"),
        _row("wall", _millimetres(line.wall), '"12.7 mm"', "of the hot pipe"),
        _row("pipe_metal", metal, '"304H"', metal_hint),
        _row("gas", _celsius(line.gas_temperature) if hot else None, '"690 C"'),
        _row("gas_film", None, "100.0",
             "W/m2K; flue gas at 15 to 30 m/s 50 to 100, dense catalyst 100 to 400"),
        _row("ambient", None, '"25 C"'),
        _row("air_film", None, "8.0", "W/m2K, of bare faces, by convection alone"),
        _row("emissivity", None, "0.7", "0.6 to 0.85 when oxidised"),
        _row("heat_up", None, '"12 h"', "from ambient to the medium"),
        _row("cool_down", None, '"12 h"'),
        _row("examined", None, '"as welded, surface examined"',
             'or "toe ground, surface and volume examined", "as welded, looked at only"'),
    ]  # fmt: skip
    if item.casefold() == CONES:
        return "\n".join([*head, _row("kind", "cone or skirt with welded corners"), *pipe,
                          "", *_PIECES, ""])  # fmt: skip
    outside = None
    if part is not None and part.ring_radial is not None and line.diameter:
        outside = line.diameter + 2.0 * part.ring_radial
    own, own_hint = _metal(part.material if part else "", "as on the drawing, or the pipe's")
    ring = [
        _row("ring_metal", own, '"304H"', own_hint),
        _row("ring_outside_diameter", _millimetres(outside), '"1500 mm"'),
        _row("ring_width", _millimetres(part.ring_axial if part else None), '"20 mm"', "along"),
        _row("fillet", _millimetres(part.weld_leg if part else None), '"6 mm"'),
        _row("insulation", None, '"150 mm"', "on the pipe beside the ring; 0 where it is bare"),
        _row("insulation_conductivity", None, "0.09", "W/mK at its mean; where insulated"),
        _row("ring_covered", None, '"0 mm"', "height of the ring under insulation"),
        _row("pressure", _bar(line.operating_pressure), '"1.6 bar"', "gauge, on stream"),
    ]
    return "\n".join([*head, _row("kind", "ring on hot pipe"), *pipe, *ring, ""])


_PIECES = (
    "# One table a piece, from the hot end on: pipe, cone, cuff. Length along the wall.",
    "# [[pieces]]",
    '# name = "hot pipe"',
    '# length = "600 mm"',
    "# slope = 0",
    '# inside_temperature = "690 C"',
    "# inside_film = 100.0",
    '# insulation = "100 mm"',
)


def _metal(name: str, hint: str) -> tuple[str | None, str]:
    """The name of a metal that the tables know, or what to say instead."""
    from takeup import materials

    if not name:
        return None, hint
    try:
        return materials.alloy(name).name, ""
    except TakeupError:
        return None, f"the register says {name!r}, which no table has"


def _millimetres(value: float | None) -> str | None:
    return None if value is None else f"{value * 1e3:.6g} mm"


def _celsius(value: float | None) -> str | None:
    return None if value is None else f"{value - 273.15:.6g} C"


def _bar(value: float | None) -> str | None:
    return None if value is None else f"{value / 1e5:.6g} bar"


def _row(name: str, value: str | None, example: str = "", remark: str = "") -> str:
    """A key with its value, or commented out with what it may look like."""
    if value is not None:
        return f"{name} = {json.dumps(value, ensure_ascii=False)}"
    return f"# {name} = {example}" + (f"   # {remark}" if remark else "")


_METRIC = {
    "length": (1e3, "mm"), "thickness": (1e3, "mm"), "hours": (1.0 / 3600.0, "h"),
    "pressure": (1e-5, "bar"),
}  # fmt: skip


def text_of(case: AttachmentCase, given: Collection[str]) -> str:
    """``case`` as text with units, of the keys ``given`` only: what was not said stays unsaid."""
    from takeup.ageing.attachment_case import Piece
    from takeup.fields import specs

    kinds = {one.name: one.kind for one in specs(type(case))}
    rows = [
        f"{name} = {_value(getattr(case, name), kinds[name])}"
        for name in case.__struct_fields__
        if name in given and name != "pieces"
    ]
    inner = {one.name: one.kind for one in specs(Piece)}
    for piece in case.pieces:
        rows += ["", "[[pieces]]"]
        rows += [
            f"{name} = {_value(getattr(piece, name), inner[name])}"
            for name in Piece.__struct_fields__
            if getattr(piece, name) != ""
        ]
    return "\n".join([*rows, ""])


def _value(value: object, kind: str) -> str:
    if not isinstance(value, float):
        said = getattr(value, "value", value)
        return json.dumps(said, ensure_ascii=False)
    if kind == "temperature":
        return f'"{value - 273.15:.10g} C"'
    if kind in _METRIC:
        factor, unit = _METRIC[kind]
        return f'"{value * factor:.10g} {unit}"'
    return f"{value:.10g}"
