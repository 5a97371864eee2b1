"""One sound joint of every kind of hardware, DN 1500 at 2.5 bar; changed as tests ask."""

from typing import Any

import msgspec

from takeup.bellows.hardware.model import (
    GIMBALS,
    PAIRS,
    RODDED,
    HardwareCase,
    HardwareCondition,
    HardwareType,
    Links,
    Lugs,
    Pins,
    Plates,
    Ring,
    Rods,
    ShearPlanes,
)

KELVIN = 273.15
RODS = Rods(
    count=4,
    circle_diameter=1.9,
    diameter=0.064,
    thread_pitch=0.006,
    length=1.2,
    allowable_stress=140e6,
    allowable_source="certificate",
)
LUGS = Lugs(
    gussets=2, gusset_thickness=0.025, gusset_length=0.4, weld_leg=0.014, material="A516-70"
)
PLATES = Plates(
    circle_diameter=1.85,
    width=0.22,
    thickness=0.05,
    fork_thickness=0.03,
    hole_diameter=0.082,
    edge_distance=0.12,
    length=0.35,
    material="A516-70",
)
PINS = Pins(
    diameter=0.08,
    planes=ShearPlanes.DOUBLE,
    gap=0.002,
    friction=0.3,
    allowable_stress=170e6,
    allowable_source="certificate",
)
RING = Ring(mean_radius=1.0, radial=0.1, axial=0.3, hole_diameter=0.082, material="A516-70")
LINKS = Links(
    length=1.6, angle=0.5, width=0.12, thickness=0.03, hole_diameter=0.052, material="A516-70"
)


def conditions(**changes: Any) -> tuple[HardwareCondition, ...]:
    """Operating, design and test."""
    hot = {"temperature": 350 + KELVIN, "lug_temperature": 400 + KELVIN}
    cold = {"temperature": 20 + KELVIN, "lug_temperature": 20 + KELVIN}
    move = {"axial": 0.0, "angular": 0.03, **changes}
    return (
        HardwareCondition(name="operating", pressure=2.0e5, **{**hot, **move}),
        HardwareCondition(name="design", pressure=2.5e5, **{**hot, **move}),
        HardwareCondition(name="test", pressure=3.75e5, **{**cold, **move}),
    )


def case(kind: HardwareType, **changes: Any) -> HardwareCase:
    """A sound case of ``kind`` in which everything is known."""
    given: dict[str, Any] = {
        "name": "EJ-7",
        "type": kind,
        "effective_area": 1.911,
        "pipe_diameter": 1.56,
        "angular_rate": 20e3,
        "weight_along": 0.0,
        "weight_across": 20e3,
        "lateral_load": 0.0,
        "lugs": LUGS,
        "conditions": conditions(),
    }
    if kind in RODDED:
        given["rods"] = RODS
    elif kind in GIMBALS:
        given |= {
            "plates": msgspec.structs.replace(PLATES, circle_diameter=2.0),
            "pins": PINS,
            "ring": RING,
        }
    elif kind == HardwareType.PANTOGRAPH:
        given |= {
            "links": LINKS,
            "plates": PLATES,
            "pins": msgspec.structs.replace(PINS, diameter=0.05),
            "axial_rate": 4.0e5,
            "axial_rate_b": 4.4e5,
            "conditions": conditions(axial=-0.06),
        }
    else:
        given |= {"plates": PLATES, "pins": PINS}
    if kind in PAIRS:
        given["pair_distance"] = 4.0
    return HardwareCase(**{**given, **changes})
