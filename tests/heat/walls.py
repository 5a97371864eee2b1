"""The wall that the tests of this folder share."""

from __future__ import annotations

from typing import Any

import msgspec

from takeup.heat.model import WallCase

CELSIUS = 273.15


def case(**more: Any) -> WallCase:
    """A hot-wall joint of 1.5 m packed with fibre, bare outside; changes by field."""
    base: dict[str, Any] = {
        "wall": "hot wall",
        "gas_temperature": 720 + CELSIUS,
        "gas_film": 60.0,
        "inside_diameter": 1.5,
        "liner_thickness": 0.006,
        "cavity": 0.1,
        "packing": "fibre 128",
        "bellows_material": "alloy 625",
        "ply_thickness": 0.0015,
        "ambient": 25 + CELSIUS,
    }
    return msgspec.convert({**base, **more}, WallCase)


INSULATED = {"insulation": "mineral wool", "insulation_thickness": 0.05}
LINED = {"wall": "cold wall", "lining": "insulating castable", "lining_thickness": 0.1,
         "inside_diameter": 1.3}  # fmt: skip
