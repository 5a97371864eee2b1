"""Bellows of other shapes and rule sets, and measured hardware, of the demo site. Invented."""

from __future__ import annotations

from typing import Any

from takeup.bellows.hardware.model import RingShape, ShearPlanes
from takeup.bellows.model import Basis, Convolution
from takeup.register.entities import YesNo

_COLLAR = {"collar_length": 0.025, "collar_thickness": 0.008, "collar_material": "316"}

BELLOWS: dict[str, dict[str, Any]] = {
    # joints not named here are U-shaped, plain, of unknown basis
    "EJ-1101": {"basis": Basis.ASME_26},
    "EJ-1501": {"basis": Basis.EN_13445, "convolutions": 8},
    "EJ-1502": {"basis": Basis.EJMA},
    "EJ-1601": {"thinnest_ply": 0.00088},
    "EJ-1701": _COLLAR
    | {
        "basis": Basis.ASME_26,
        "convolution": Convolution.TOROIDAL,
        "height": None,
        "mean_diameter": 0.932,
        "torus_radius": 0.018,
        "pitch": 0.046,
        "convolutions": 3,
    },
    "EJ-1702": _COLLAR
    | {
        "basis": Basis.ASME_26,
        "convolution": Convolution.U_REINFORCED,
        "ring_area": 3.2e-4,
        "ring_material": "316",
        "fastener_area": 4.0e-4,
        "fastener_length": 0.12,
        "fastener_material": "316",
        "ply_thickness": 0.0020,
    },
    "EJ-1802": {"basis": Basis.EJMA},
    "EJ-1803": {"basis": Basis.ASME_26},
}
"""What is special about the bellows of a joint."""

LENGTHS: dict[str, tuple[float, float]] = {
    "EJ-1401": (0.75, 0.0),
    "EJ-1402": (0.75, 0.0),
    "EJ-1403": (0.75, 0.0),
    "EJ-1502": (0.63, 0.0),
    "EJ-1503": (0.63, 0.0),
    "EJ-1601": (3.6, 3.2),
    "EJ-1603": (1.45, 1.25),
    "EJ-1701": (0.5, 0.0),
    "EJ-1702": (0.5, 0.0),
    "EJ-1801": (0.8, 0.0),
    "EJ-1802": (0.8, 0.0),
    "EJ-1803": (0.8, 0.0),
}
"""Overall, and over both bellows [m], of joints that are not as long as their type."""
_LUGS = {
    "gussets": 2,
    "gusset_thickness": 0.025,
    "gusset_length": 0.45,
    "weld_leg": 0.012,
    "weight_along": 0.0,
    "weight_across": 0.0,
    "lateral_load": 0.0,
}
_FOUR = {"places": 4, "clock": 12.0, "gap_out": 0.0, "inner_nuts": YesNo.YES, "gap_in": 0.0}
_PAIRS = _FOUR | {"places": 2}
"""Two pairs of rods, so that the joint turns about the line between them."""
_RODS = _LUGS | {
    "allowable_stress": 138e6,
    "allowable_source": "data sheet of the joint",
    "thread_pitch": 0.005,
    "circle_diameter": 2.24,
    "length": 1.25,
}
_LIMIT = _RODS | {
    "diameter": 0.048,
    "circle_diameter": 0.86,
    "length": 1.75,
    "gusset_length": 0.3,
    "places": 3,
    "clock": 12.0,
    "gap_out": 0.012,
    "inner_nuts": YesNo.YES,
    "gap_in": 0.070,
}
HARDWARE: dict[str, dict[str, Any]] = {
    "EJ-1101": _RODS | _FOUR | {"circle_diameter": 1.84, "length": 2.7},
    "EJ-1202": _RODS | _PAIRS | {"circle_diameter": 1.68, "length": 2.6, "clock": 3.0},
    "EJ-1301": _RODS | _PAIRS | {"circle_diameter": 2.10, "length": 2.6, "clock": 12.0},
    "EJ-1302": {"clock": 3.0},
    "EJ-1303": {"clock": 3.0},
    "EJ-1401": {"clock": 3.0},
    "EJ-1403": {"clock": 12.0},
    "EJ-1601": {"clock": 12.0},
    "EJ-1801": _LIMIT,
    "EJ-1802": _LIMIT,
    "EJ-1103": _LUGS
    | {
        "allowable_stress": 138e6,
        "allowable_source": "data sheet of the joint",
        "diameter": 0.120,
        "gusset_length": 0.6,
        "circle_diameter": 1.86,
        "plate_width": 0.34,
        "plate_thickness": 0.060,
        "fork_thickness": 0.045,
        "hole_diameter": 0.122,
        "edge_distance": 0.19,
        "plate_length": 0.40,
        "pin_planes": ShearPlanes.DOUBLE,
        "pin_gap": 0.002,
        "friction": 0.3,
        "ring_shape": RingShape.ROUND,
        "ring_radius": 0.93,
        "ring_radial": 0.15,
        "ring_axial": 0.46,
    },
    "EJ-1402": _LUGS
    | {
        "clock": 3.0,
        "allowable_stress": 110e6,
        "allowable_source": "data sheet of the joint",
        "circle_diameter": 1.52,
        "plate_width": 0.30,
        "plate_thickness": 0.060,
        "fork_thickness": 0.040,
        "hole_diameter": 0.102,
        "edge_distance": 0.17,
        "plate_length": 0.35,
        "pin_planes": ShearPlanes.DOUBLE,
        "pin_gap": 0.002,
        "friction": 0.3,
    },
    # planted: the lugs were welded on again with a third of the leg that the drawing asks for
    "EJ-1502": _RODS | _PAIRS | {"weld_leg": 0.004, "gusset_length": 0.25, "gussets": 1},
    "EJ-1503": _RODS | _PAIRS,
}
"""Sizes taken with tape and caliper, by joint; those of the other joints are not on record."""
