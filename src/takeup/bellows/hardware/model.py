"""What the hardware of a joint is: its parts, its loads, what was found wrong with it.

Axes of every force and moment: x along the pipe towards end A, so that a tension carried from
end A to end B is positive; y and z square to it, z the way the joint deflects sideways.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import msgspec

from takeup.fields import number, words


class HardwareType(StrEnum):
    """What holds, or is meant to hold, the thrust of a joint."""

    TIE_RODS = "tie rods"
    LIMIT_RODS = "limit rods"
    HINGE = "hinge"
    HINGE_PAIR = "hinge pair"
    GIMBAL = "gimbal"
    GIMBAL_PAIR = "gimbal pair"
    SLOTTED_HINGE = "slotted hinge"
    PANTOGRAPH = "pantograph linkage"


HELD_BY_ANCHORS = frozenset(
    {HardwareType.LIMIT_RODS, HardwareType.SLOTTED_HINGE, HardwareType.PANTOGRAPH}
)
"""Kinds that carry the thrust only in their limit position; otherwise the main anchors do."""
PAIRS = frozenset({HardwareType.HINGE_PAIR, HardwareType.GIMBAL_PAIR})
RODDED = frozenset({HardwareType.TIE_RODS, HardwareType.LIMIT_RODS})
GIMBALS = frozenset({HardwareType.GIMBAL, HardwareType.GIMBAL_PAIR})


class Sharing(StrEnum):
    """How the rods of a set take the thrust between them."""

    WORST = "worst seating"
    """Whichever nuts bear first: with an even number, two opposite rods take half each."""
    EVEN = "all nuts bear"


class RingShape(StrEnum):
    """Shape of a gimbal ring."""

    ROUND = "round"
    SQUARE = "square"


class AcrossDirection(StrEnum):
    """Which way weight and other load across the pipe act on a hinge."""

    TURNING = "in the plane in which the hinge turns"
    ALONG_PINS = "along the pins"


class ShearPlanes(StrEnum):
    """How a pin is held."""

    SINGLE = "single shear"
    DOUBLE = "double shear"


class End(StrEnum):
    """Ends of the joint: A upstream or upper, B the other."""

    A = "A"
    B = "B"


class DefectKind(StrEnum):
    """What can be found wrong with load-carrying hardware."""

    NUT_MISSING = "nut missing"
    NUT_LOOSE = "nut loose"
    ROD_BROKEN = "rod broken or missing"
    WELD_CRACKED = "lug weld cracked"
    PLATE_CRACKED = "hinge plate or gimbal arm cracked"
    PIN_BENT = "pin bent"
    PIN_WORN = "pin worn"
    PIN_MISSING = "pin missing"
    RING_CRACKED = "gimbal ring cracked"
    LINK_BROKEN = "pantograph link broken"
    AT_LIMIT = "slot packed or hardware at its limit"


_SHARE = number("share", "Share lost", "Of weld length or plate width; unknown: all", gt=0, le=1)


class Defect(msgspec.Struct, frozen=True, kw_only=True):
    """One thing found wrong, and where.

    ``number`` counts rods round the joint, or the sides of a hinge or gimbal (1 and 2).
    A gimbal has sides 1 and 2 at either end; ``end`` says which pair of pins, plates or welds
    is meant.  ``unit`` is 2 for the second hinge or gimbal of a pair.
    """

    kind: Annotated[DefectKind, words("Defect")]
    number: Annotated[int, number("count", "Rod or side number", ge=1)] = 1
    end: Annotated[End, words("End", "A upstream or upper")] = End.A
    unit: Annotated[int, number("count", "Hinge of a pair", ge=1, le=2)] = 1
    share: Annotated[float, _SHARE] | None = None
    gap: Annotated[float, number("movement", "Gap under a loose nut", gt=0)] | None = None
    diameter: Annotated[float, number("length", "Pin diameter measured", gt=0)] | None = None
    note: Annotated[str, words("Note", long=True)] = ""


_ALLOWABLE = number(
    "stress", "Allowable stress", "In tension, at the hottest condition below; else tables", gt=0
)
_FROM = words("Source of the allowable stress", "Code, edition, table; or certificate")
_METAL = words("Metal", refers="alloy")


class Rods(msgspec.Struct, frozen=True, kw_only=True):
    """Tie rods or limit rods, equally spaced on a circle round the pipe."""

    count: Annotated[int, number("count", "Number of rods", ge=1, le=48)]
    circle_diameter: Annotated[float, number("length", "Rod circle diameter", gt=0)] | None = None
    diameter: Annotated[float, number("length", "Thread diameter", gt=0)] | None = None
    thread_pitch: Annotated[float, number("thickness", "Thread pitch", gt=0)] | None = None
    root_diameter: (
        Annotated[float, number("length", "Thread root diameter", "Else from pitch", gt=0)] | None
    ) = None
    shank_diameter: (
        Annotated[float, number("length", "Shank diameter", "Where thinner than the root", gt=0)]
        | None
    ) = None
    length: Annotated[float, number("length", "Length between nuts", gt=0)] | None = None
    sharing: Annotated[Sharing, words("How rods share", "Default worst seating")] = Sharing.WORST
    material: Annotated[str, _METAL] = ""
    allowable_stress: Annotated[float, _ALLOWABLE] | None = None
    allowable_source: Annotated[str, _FROM] = ""


class Lugs(msgspec.Struct, frozen=True, kw_only=True):
    """Attachment of one rod or one hinge plate to the pipe: end plate or lug, gussets, welds."""

    arm: (
        Annotated[
            float,
            number("length", "Arm from pipe wall to load line", "Else from the diameters", ge=0),
        ]
        | None
    ) = None
    width: Annotated[float, number("length", "Width round the pipe", gt=0)] | None = None
    thickness: Annotated[float, number("length", "Plate thickness", gt=0)] | None = None
    gussets: Annotated[int, number("count", "Gussets per lug", "0 if none", ge=0)] | None = None
    gusset_thickness: Annotated[float, number("length", "Gusset thickness", gt=0)] | None = None
    gusset_length: (
        Annotated[float, number("length", "Gusset length along the pipe", gt=0)] | None
    ) = None
    weld_leg: Annotated[float, number("thickness", "Fillet weld leg", gt=0)] | None = None
    material: Annotated[str, _METAL] = ""
    allowable_stress: Annotated[float, _ALLOWABLE] | None = None
    allowable_source: Annotated[str, _FROM] = ""


class Plates(msgspec.Struct, frozen=True, kw_only=True):
    """Hinge plates or gimbal arms: one on each side of the pipe at either end.

    In double shear the plate of end A stands between the two plates of the fork of end B; at
    a gimbal both ends have forks and the ring stands between their plates.
    """

    circle_diameter: (
        Annotated[float, number("length", "Distance between the plates of both sides", gt=0)] | None
    ) = None
    width: Annotated[float, number("length", "Plate width at the hole", gt=0)] | None = None
    thickness: Annotated[float, number("length", "Plate thickness", gt=0)] | None = None
    fork_thickness: (
        Annotated[float, number("length", "Thickness of each fork plate", "Double shear", gt=0)]
        | None
    ) = None
    hole_diameter: Annotated[float, number("length", "Hole diameter", gt=0)] | None = None
    edge_distance: Annotated[float, number("length", "Hole centre to plate end", gt=0)] | None = (
        None
    )
    length: Annotated[float, number("length", "Pin to where the plate is held", gt=0)] | None = None
    material: Annotated[str, _METAL] = ""
    allowable_stress: Annotated[float, _ALLOWABLE] | None = None
    allowable_source: Annotated[str, _FROM] = ""


class Pins(msgspec.Struct, frozen=True, kw_only=True):
    """Pins of a hinge, gimbal or linkage."""

    diameter: Annotated[float, number("length", "Pin diameter", gt=0)] | None = None
    planes: Annotated[ShearPlanes, words("Single or double shear")] | None = None
    gap: Annotated[float, number("length", "Gap between plates", "0 if none", ge=0)] | None = None
    friction: Annotated[float, number("ratio", "Friction coefficient", ge=0, le=2)] | None = None
    material: Annotated[str, _METAL] = ""
    allowable_stress: Annotated[float, _ALLOWABLE] | None = None
    allowable_source: Annotated[str, _FROM] = ""


class Ring(msgspec.Struct, frozen=True, kw_only=True):
    """Gimbal ring of rectangular section."""

    shape: Annotated[RingShape, words("Round or square")] = RingShape.ROUND
    mean_radius: (
        Annotated[float, number("length", "Mean radius", "Round; pins to centre", gt=0)] | None
    ) = None
    side: (
        Annotated[float, number("length", "Side between corners", "Square; centre lines", gt=0)]
        | None
    ) = None
    radial: Annotated[float, number("length", "Section, radial", gt=0)] | None = None
    axial: Annotated[float, number("length", "Section, along the pipe", gt=0)] | None = None
    hole_diameter: (
        Annotated[float, number("length", "Pin hole diameter", "0 if pins are welded on", ge=0)]
        | None
    ) = None
    material: Annotated[str, _METAL] = ""
    allowable_stress: Annotated[float, _ALLOWABLE] | None = None
    allowable_source: Annotated[str, _FROM] = ""


class Links(msgspec.Struct, frozen=True, kw_only=True):
    """Bars of a pantograph on one side of the joint, pivoted on the spool at mid-length."""

    bars: Annotated[int, number("count", "Bars per side", "2 crossing, 1 lever", ge=1, le=4)] = 2
    length: Annotated[float, number("length", "Bar length between end pins", gt=0)] | None = None
    angle: (
        Annotated[float, number("angle", "Angle of the bars to the pipe", gt=0, lt=1.5708)] | None
    ) = None
    width: Annotated[float, number("length", "Bar width in its plane", gt=0)] | None = None
    thickness: Annotated[float, number("length", "Bar thickness", gt=0)] | None = None
    hole_diameter: Annotated[float, number("length", "Pin hole diameter", gt=0)] | None = None
    material: Annotated[str, _METAL] = ""
    allowable_stress: Annotated[float, _ALLOWABLE] | None = None
    allowable_source: Annotated[str, _FROM] = ""


class HardwareCondition(msgspec.Struct, frozen=True, kw_only=True):
    """A load case: pressure, metal temperatures of the hardware and movement of the joint.

    ``None`` is unknown and never zero: enter 0 where there is none.
    """

    name: Annotated[str, words("Condition", "operating, design, test, one ply lost")]
    pressure: Annotated[float, number("pressure", "Pressure (gauge)", ge=0)] | None = None
    thrust: (
        Annotated[float, number("force", "Thrust", "In place of pressure times area", ge=0)] | None
    ) = None
    temperature: (
        Annotated[float, number("temperature", "Temperature of rods, plates, pins, ring", gt=0)]
        | None
    ) = None
    lug_temperature: (
        Annotated[
            float, number("temperature", "Temperature of lugs on the pipe", "Default: same", gt=0)
        ]
        | None
    ) = None
    axial: (
        Annotated[float, number("movement", "Axial movement, + extension", "0 if none")] | None
    ) = None
    angular: (
        Annotated[float, number("angle", "Rotation of each hinge", "0 if none", ge=0, lt=1)] | None
    ) = None


class Factors(msgspec.Struct, frozen=True, kw_only=True):
    """Allowable stress of each kind over that in tension; an engineer may change them."""

    shear: Annotated[float, number("ratio", "Shear", gt=0, le=1)] = 0.8
    bearing: Annotated[float, number("ratio", "Bearing", gt=0, le=2)] = 1.6
    bending: Annotated[float, number("ratio", "Bending", gt=0, le=1.5)] = 1.0
    weld: Annotated[float, number("ratio", "Fillet weld, on its leg", gt=0, le=1)] = 0.55


class HardwareCase(msgspec.Struct, frozen=True, kw_only=True):
    """The load-carrying hardware of one joint. The file format of the verb.

    Forces and sizes that are ``None`` are unknown: the checks that rest on them are not
    evaluated and say what to measure; everything else is worked out.
    """

    name: Annotated[str, words("Joint")] = ""
    type: Annotated[HardwareType, words("Hardware")]
    effective_area: (
        Annotated[float, number("area", "Effective area of the bellows", gt=0)] | None
    ) = None
    pipe_diameter: (
        Annotated[float, number("length", "Pipe outside diameter at the lugs", gt=0)] | None
    ) = None
    axial_rate: (
        Annotated[float, number("axial_rate", "Axial rate of the bellows", "Pantograph: A", ge=0)]
        | None
    ) = None
    axial_rate_b: (
        Annotated[float, number("axial_rate", "Axial rate of bellows B", "Pantograph", ge=0)] | None
    ) = None
    angular_rate: (
        Annotated[float, number("angular_rate", "Angular rate of one bellows", ge=0)] | None
    ) = None
    weight_along: (
        Annotated[
            float,
            number("force", "Dead weight along the pipe", "+ pulls the joint open; 0 if none"),
        ]
        | None
    ) = None
    weight_across: (
        Annotated[
            float, number("force", "Dead weight across the pipe", "Spool, elbow; 0 if none", ge=0)
        ]
        | None
    ) = None
    lateral_load: (
        Annotated[
            float, number("force", "Other load across the pipe", "Wind, line; 0 if none", ge=0)
        ]
        | None
    ) = None
    across_direction: (
        Annotated[AcrossDirection, words("Load across acts", "Hinges; default the worse: along")]
        | None
    ) = None
    pair_distance: (
        Annotated[float, number("length", "Distance between both hinges of a pair", gt=0)] | None
    ) = None
    at_limit: Annotated[bool, words("Hardware at its limit position")] | None = None
    """Limit rods, slotted hinges and pantographs; unknown: both positions are worked out."""
    rods: Rods | None = None
    lugs: Lugs | None = None
    plates: Plates | None = None
    pins: Pins | None = None
    ring: Ring | None = None
    links: Links | None = None
    factors: Factors = Factors()
    conditions: tuple[HardwareCondition, ...] = ()
    defects: tuple[Defect, ...] = ()
    """As found; none: as drawn."""
