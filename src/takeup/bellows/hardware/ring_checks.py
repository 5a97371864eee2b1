"""Checks of a gimbal ring and of the bars of a pantograph from what they carry."""

from __future__ import annotations

import math

import numpy as np

from takeup.bellows.hardware import ring as ring_statics
from takeup.bellows.hardware import stress
from takeup.bellows.hardware.model import Links, Pins, Ring, RingShape
from takeup.bellows.hardware.parts import known, load
from takeup.bellows.hardware.strength import Bench, Mode, Sizes
from takeup.checks import Check, Quantity
from takeup.units import Array

POISSON = 0.3


def checks(bench: Bench, on: str, pins: Array, lacking: tuple[str, ...]) -> tuple[Check, ...]:
    """Gimbal ring under the wrenches (4, 6) that its pins at +y, +z, -y, -z hand to it."""
    case = bench.case
    sizes = Sizes(case.ring, Ring)
    shape = case.ring.shape if case.ring else RingShape.ROUND
    size = sizes("mean_radius" if shape == RingShape.ROUND else "side")
    section = known(sizes("radial"), sizes("axial"), sizes("hole_diameter"))
    combined = None
    loads: tuple[Quantity, ...] = ()
    if size is not None and section is not None:
        radial, axial, hole = section
        radius = size if shape == RingShape.ROUND else size / 2.0
        rigid = stress.torsion_constant(radial, axial) / (2.0 * (1.0 + POISSON))
        places, torque, out, plane = ring_statics.solve(
            shape,
            radius,
            pins,
            (1.0 / rigid, 12.0 / (radial * axial**3), 12.0 / (axial * radial**3)),
        )
        shear = float(abs(pins[:, 0]).max()) / 2.0
        left = axial - np.where(abs(places - places.round()) < 1e-9, hole, 0.0)
        gone = axial - left
        normal = 6.0 * abs(out) * axial / (radial * (axial**3 - gone**3))
        normal += 6.0 * abs(plane) / (left * radial**2)
        cut = abs(torque) / stress.torsion_modulus(radial, axial) + 1.5 * shear / (radial * left)
        combined = float(np.hypot(normal, math.sqrt(3.0) * cut).max())
        loads = (
            load("Largest bending moment out of plane", float(abs(out).max()), "moment", "M"),
            load("Largest torque", float(abs(torque).max()), "moment", "T"),
            load("Largest bending moment in plane", float(abs(plane).max()), "moment"),
        )
    made = bench.check(
        Ring,
        "ring.combined",
        "Gimbal ring, bending, torsion and shear together",
        mode=Mode.COMBINED,
        stress=combined,
        rule="largest von Mises stress round the ring; bending, torsion and shear peaks taken at "
        "one point, pin holes deducted",
        on=on,
        sizes=sizes,
        loads=loads,
        lacking=lacking,
    )
    return (made, _bearing(bench, on, pins, lacking))


def _bearing(bench: Bench, on: str, pins: Array, lacking: tuple[str, ...]) -> Check:
    sizes = Sizes(bench.case.ring, Ring)
    radial = sizes("radial")
    of_pin = Sizes(bench.case.pins, Pins)
    diameter = of_pin("diameter")
    sizes.missing += of_pin.missing
    sizes.used += of_pin.used
    force = max(math.hypot(*row[:3]) for row in pins.tolist())
    value = known(radial, diameter)
    return bench.check(
        Ring,
        "ring.bearing",
        "Gimbal ring, bearing of the pin",
        mode=Mode.BEARING,
        stress=None if value is None else stress.bearing(force, value[1], value[0]),
        rule="force over pin diameter times radial section",
        on=on,
        sizes=sizes,
        loads=(load("Force on the pin", force, symbol="V"),),
        lacking=lacking,
    )


def bars(
    bench: Bench, on: str, normal: float | None, moment: float | None, lacking: tuple[str, ...]
) -> tuple[Check, ...]:
    """Pantograph bar at its pivot: tension or compression plus bending on the net section."""
    sizes = Sizes(bench.case.links, Links)
    if normal is None or moment is None:
        sizes("length")
        sizes("angle")
    values = known(sizes("width"), sizes("thickness"), sizes("hole_diameter"))
    found = None
    loads: tuple[Quantity, ...] = ()
    if values is not None and normal is not None and moment is not None:
        wide, thick, hole = values
        found = normal / ((wide - hole) * thick) + stress.net_bending(moment, wide, hole, thick)
    if normal is not None and moment is not None:
        loads = (
            load("Force along one bar", normal, symbol="N"),
            load("Bending moment of one bar at its pivot", moment, "moment", "M"),
        )
    return (
        bench.check(
            Links,
            "bars.combined",
            "Pantograph bar, bending and normal force at the pivot",
            mode=Mode.COMBINED,
            stress=found,
            rule="normal force and bending of one bar on the section less the pivot hole; "
            "buckling is not checked",
            on=on,
            sizes=sizes,
            loads=loads,
            lacking=lacking,
        ),
    )
