"""Input that cannot be true is refused, with what, where and what would be right."""

from __future__ import annotations

import math
from collections.abc import Iterator

import msgspec

from takeup.bellows.hardware.model import HardwareCase
from takeup.errors import Contradiction, OutOfRange


def refuse(case: HardwareCase) -> None:
    """Raise :class:`takeup.errors.Contradiction` or :class:`takeup.errors.OutOfRange`."""
    for where, name, value in _numbers(case, case.name or "hardware"):
        if not math.isfinite(value):
            raise OutOfRange(
                f"{where}: {name}",
                value,
                None,
                1e12,
                "",
                "the input of hardware",
                "Give a finite number, or leave it out where it is unknown.",
            )
    for what, small, large, advice in _pairs(case):
        if small is not None and large is not None and small >= large:
            raise Contradiction(
                f"{case.name or 'hardware'}: {what}: {small * 1e3:g} mm against {large * 1e3:g} mm; "
                f"{advice}"
            )
    names = [condition.name.lower() for condition in case.conditions]
    for name in names:
        if names.count(name) > 1:
            raise Contradiction(f"two conditions are called {name!r}; give each its own name")


def _numbers(part: msgspec.Struct, where: str) -> Iterator[tuple[str, str, float]]:
    for name in part.__struct_fields__:
        value = getattr(part, name)
        if isinstance(value, float):
            yield where, name.replace("_", " "), value
        elif isinstance(value, msgspec.Struct):
            yield from _numbers(value, f"{where}, {name}")
        elif isinstance(value, tuple):
            for number, item in enumerate(value, start=1):
                if isinstance(item, msgspec.Struct):
                    yield from _numbers(item, f"{where}, {name} {number}")


def _pairs(case: HardwareCase) -> Iterator[tuple[str, float | None, float | None, str]]:
    """(what, what must be smaller, what must be larger, advice)."""
    r, p, ring, links = case.rods, case.plates, case.ring, case.links
    pipe = case.pipe_diameter
    if r is not None:
        yield "rod circle must be larger than the pipe", pipe, r.circle_diameter, "check both"
        yield (
            "thread root must be smaller than the thread",
            r.root_diameter,
            r.diameter,
            "check both",
        )
        if r.diameter is not None and r.thread_pitch is not None:
            yield (
                "thread pitch must be well below the diameter",
                4.0 * r.thread_pitch,
                r.diameter,
                ("check the unit of the pitch"),
            )
    if p is not None:
        yield "hinge plates must stand outside the pipe", pipe, p.circle_diameter, "check both"
        yield "hole must be smaller than the plate is wide", p.hole_diameter, p.width, "check both"
        if p.hole_diameter is not None:
            yield (
                "hole must end before the plate does",
                p.hole_diameter / 2.0,
                p.edge_distance,
                ("edge distance is measured from the hole's centre"),
            )
        if case.pins is not None and case.pins.diameter is not None and p.hole_diameter is not None:
            yield (
                "pin must go through the hole",
                case.pins.diameter,
                p.hole_diameter * 1.0001,
                ("check both"),
            )
    if ring is not None:
        yield (
            "pin hole must be smaller than the ring section",
            ring.hole_diameter,
            ring.axial,
            ("check both"),
        )
        yield (
            "ring section must be smaller than its radius",
            ring.radial,
            ring.mean_radius,
            ("check both"),
        )
    if links is not None:
        yield (
            "hole must be smaller than the bar is wide",
            links.hole_diameter,
            links.width,
            ("check both"),
        )
