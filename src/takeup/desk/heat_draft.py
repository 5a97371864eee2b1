"""A text to begin the wall of a joint with: what the register tells, and what it does not."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from takeup.register.entities import Joint, Line, Wall

if TYPE_CHECKING:
    from takeup.desk.site import Site

_HOT = {Wall.HOT: "hot wall", Wall.COLD: "cold wall", Wall.UNLINED: "hot wall"}


def draft(site: Site, tag: str) -> str:
    """What the register tells of joint ``tag`` as the text of a wall, each with its unit.

    What nobody has told stands as a comment to be filled in; nothing is taken as something.
    """
    register = site.register()
    joint = register.get(Joint, tag)
    line = register.get(Line, joint.line)
    first = next(iter(register.bellows(joint.tag)), None)
    bore = None
    if joint.wall in {Wall.HOT, Wall.UNLINED} and line.diameter and line.wall:
        bore = line.diameter - 2.0 * line.wall
    told: list[tuple[str, object, str]] = [
        ("name", joint.tag, ""),
        ("wall", _HOT.get(joint.wall) if joint.wall else None, '"hot wall" or "cold wall"'),
        ("gas_temperature", _celsius(line.gas_temperature), '"705 C"'),
        ("pressure", _scaled(line.operating_pressure, 1e5, "bar"), '"1.7 bar"'),
        ("gas_film", None, "W/m2.K: flue gas 50-100, dense catalyst 100-400; or gas_velocity"),
        ("inside_diameter", _scaled(bore, 1e-3, "mm"), '"1400 mm", of the innermost surface'),
        ("lining", None, '"insulating castable", with lining_thickness; cold wall only'),
        ("liner_thickness", None, '"6 mm"'),
        ("cavity", None, '"100 mm", from the liner to the bellows'),
        ("packing", None, '"fibre 128"; leave out where the cavity is empty by design'),
        ("convolution_height", _scaled(first.height if first else None, 1e-3, "mm"), '"55 mm"'),
        ("bellows_material", (first and first.material) or None, '"625"'),
        ("ply_thickness", _scaled(first.ply_thickness if first else None, 1e-3, "mm"), '"1.4 mm"'),
        ("plies", first and first.plies, "1"),
        ("insulation", None, '"mineral wool", with insulation_thickness'),
        ("cover_gap", None, '"80 mm"; leave out where there is no cover'),
        ("ambient", None, '"15 C", mean of the year'),
        ("wind", None, '"3 m/s"'),
    ]
    gas: list[tuple[str, object, str]] = [
        ("water", _scaled(line.water, 1e-2, "%"), '"12 %"'),
        ("oxygen", None, '"3 %"'),
        ("so2", _scaled(line.so2, 1e-6, "ppm"), '"400 ppm"'),
        ("so3", _scaled(line.so3, 1e-6, "ppm"), '"20 ppm"'),
        ("hcl", None, '"0 ppm"'),
        ("nh3", None, '"0 ppm"'),
    ]
    known = [*(_row(*one) for one in told), "", "[gas]", *(_row(*one) for one in gas)]
    return "\n".join(["[wall]", *known, ""])


def _celsius(value: float | None) -> str | None:
    return None if value is None else f"{value - 273.15:.4g} C"


def _scaled(value: float | None, one: float, unit: str) -> str | None:
    return None if value is None else f"{value / one:.6g} {unit}"


def _row(name: str, value: object, hint: str) -> str:
    if value is None:
        return f"# {name} =    # such as {hint}"
    text = json.dumps(value, ensure_ascii=False) if isinstance(value, str) else f"{value:.6g}"
    return f"{name} = {text}"
