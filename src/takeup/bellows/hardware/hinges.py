"""Hinges, single, paired and slotted: two sides of lug, plate, pin, plate, lug."""

from __future__ import annotations

import math
from itertools import pairwise

from takeup.bellows.hardware import parts
from takeup.bellows.hardware.building import Builder, kilo, wrench
from takeup.bellows.hardware.damage import unit_prefix
from takeup.bellows.hardware.loads import pair_shear, pin_friction, turning_moment
from takeup.bellows.hardware.model import HardwareType, ShearPlanes
from takeup.bellows.hardware.results import Holder, PartKind, Vector
from takeup.bellows.hardware.rods import arm
from takeup.checks import Quantity

FRICTION = "friction coefficient and diameter of the pins"
WASHERS = (
    "Load along the pins (square to the plane in which the hinge turns) is not in the path: "
    "plates and washers must be looked at if the line pushes that way."
)


def ids_of(prefix: str, side: int) -> tuple[str, ...]:
    """Ids of the parts of one side of a hinge, from end A to end B."""
    return (
        f"{prefix}lug A {side}",
        f"{prefix}plate A {side}",
        f"{prefix}pin {side}",
        f"{prefix}plate B {side}",
        f"{prefix}lug B {side}",
    )


def build(builder: Builder) -> None:
    """Lay the path through one hinge, or through both hinges of a pair and the spool."""
    case = builder.case
    axial = builder.loads.axial if _carries_thrust(builder) else 0.0
    if case.type != HardwareType.HINGE_PAIR:
        across = builder.loads.across
        friction = unit(
            builder, 1, axial, across, builder.loads.lacking_across, 0.0, 1.0, "pipe A", "pipe B", 1
        )
        at: Vector = (0.0, 0.0, 0.0)
        builder.into = wrench((axial, 0.0, across), at, (0.0, 2.0 * friction, 0.0))
        builder.out = builder.into
        return
    shear, lacking, distance = pair_loads(builder, axial)
    half = builder.loads.across / 2.0
    lacks = (*builder.loads.lacking_across, *lacking)
    first = unit(builder, 1, axial, shear - half, lacks, 0.0, 1.0, "pipe A", "spool", 1)
    second = unit(builder, 2, axial, shear + half, lacks, -distance, -1.0, "spool", "pipe B", 7)
    spring = spool(builder, distance, 7)
    builder.into = wrench(
        (axial, 0.0, shear - half), (0.0, 0.0, 0.0), (0.0, 2.0 * first + spring, 0.0)
    )
    builder.out = wrench(
        (axial, 0.0, shear + half), (-distance, 0.0, 0.0), (0.0, -2.0 * second - spring, 0.0)
    )


def _carries_thrust(builder: Builder) -> bool:
    return builder.case.type != HardwareType.SLOTTED_HINGE or builder.at_limit


def pair_loads(builder: Builder, axial: float) -> tuple[float, tuple[str, ...], float]:
    """Shear [N] that turns a pair, what is unknown of it, and the distance of the hinges [m]."""
    case = builder.case
    nominal = math.hypot(axial / 2.0, builder.loads.across / 4.0)
    each = pin_friction(case, nominal)
    moment, lacking = turning_moment(case, builder.condition, None if each is None else 2.0 * each)
    shear = pair_shear(case, moment)
    if shear is None:
        lacking = (*lacking, "distance between both hinges of the pair")
    return shear or 0.0, lacking, case.pair_distance or 0.0


def spool(builder: Builder, distance: float, column: int) -> float:
    """The spool between a pair, with the weight it brings and the moments of both bellows.

    Returns the spring moment of one bellows [N.m] that pipe and spool hand each other.
    """
    loads = builder.loads
    builder.box("spool", PartKind.SPOOL, "spool", column, 0.0, name="Spool")
    if loads.across:
        at: Vector = (-distance / 2.0, 0.0, 0.0)
        builder.box(
            "spool load",
            PartKind.LOAD,
            "loads",
            column,
            3.0,
            name="On the spool",
            loads=(Quantity(name="across", value=loads.across, kind="force"),),
        )
        builder.send("spool load", "spool", wrench((0.0, 0.0, loads.across), at), at)
    case, condition = builder.case, builder.condition
    if not case.angular_rate or not condition.angular or case.pair_distance is None:
        return 0.0
    moment = case.angular_rate * condition.angular
    at = (0.0, 0.0, 0.0)
    builder.send("pipe A", "spool", wrench(at, at, (0.0, moment, 0.0)), at)
    builder.send("spool", "pipe B", wrench(at, at, (0.0, -moment, 0.0)), at)
    return moment


def unit(
    builder: Builder,
    number: int,
    axial: float,
    across: float,
    lacking: tuple[str, ...],
    x: float,
    turn: float,
    source: str,
    target: str,
    column: int,
) -> float:
    """One hinge whose pin line lies at x; ``turn`` is the sense of its friction moment.

    Returns the friction moment of one pin [N.m], as far as known.
    """
    case, bench, loads = builder.case, builder.bench, builder.loads
    prefix = unit_prefix(case, number)
    double = case.pins is not None and case.pins.planes == ShearPlanes.DOUBLE
    circle = case.plates.circle_diameter if case.plates else None
    length = case.plates.length if case.plates else None
    middle = case.plates.thickness if case.plates else None
    reach = arm(builder, circle)
    force = math.hypot(axial, across) / 2.0
    each = pin_friction(
        case,
        math.hypot(axial / 2.0, builder.loads.across / 4.0)
        if case.type == HardwareType.HINGE_PAIR
        else force,
    )
    slotted = case.type == HardwareType.SLOTTED_HINGE
    axial_lacks = loads.lacking_axial if axial or not slotted else ()
    lacks = (*axial_lacks, *lacking)
    friction = each or 0.0
    root_lacks = () if each is not None else (FRICTION,)
    # a lever of unknown length matters only if something bends the plate over it
    bend = (
        friction
        if not across and not lacking
        else (None if length is None else friction + abs(across) / 2.0 * length)
    )
    wall = None
    if reach is not None and bend is not None:
        wall = math.hypot(axial / 2.0 * reach, bend, abs(across) / 2.0 * reach)
    rows = ids_of(prefix, 1), ids_of(prefix, 2)
    whole = builder.sound([*rows[0], *rows[1]])
    for side, ids in enumerate(rows, start=1):
        row = -1.0 if side == 1 else 1.0
        idle = ""
        if not whole:
            idle = (
                "left alone: one side of a hinge cannot hold the load"
                if builder.sound(ids)
                else "its side of the hinge is out of the path"
            )
        sign = 1.0 if side == 1 else -1.0
        at: Vector = (x, sign * (circle or 0.0) / 2.0, 0.0)
        lug_a, plate_a, pin, plate_b, lug_b = ids
        worn = builder.damages.on(pin)
        measured = worn.diameter if worn else None
        for id, place in ((lug_a, column + 1), (lug_b, column + 5)):
            found = builder.damages.on(id)
            builder.box(
                id,
                PartKind.LUG,
                "lugs",
                place,
                row,
                loads=(
                    Quantity(name="shear", value=axial / 2.0, kind="force"),
                    Quantity(name="bending moment at the pipe", value=wall, kind="moment"),
                ),
                checks=()
                if idle
                else parts.lug(
                    bench,
                    id,
                    axial / 2.0,
                    abs(across) / 2.0,
                    wall,
                    left=1.0 - (found.share if found else 0.0),
                    lacking=(*lacks, *root_lacks),
                ),
                idle=idle,
            )
        for id, place, fork in ((plate_a, column + 2, False), (plate_b, column + 4, double)):
            found = builder.damages.on(id)
            builder.box(
                id,
                PartKind.PLATE,
                "plates",
                place,
                row,
                loads=(
                    Quantity(name="tension", symbol="T", value=axial / 2.0, kind="force"),
                    Quantity(name="bending moment in its plane", value=bend, kind="moment"),
                ),
                checks=()
                if idle
                else parts.plate(
                    bench,
                    id,
                    force,
                    axial / 2.0,
                    bend,
                    fork=fork,
                    pin_diameter=measured,
                    cracked=found.share if found else 0.0,
                    lacking=lacks,
                    lacking_root=root_lacks,
                ),
                idle=idle,
            )
        builder.box(
            pin,
            PartKind.PIN,
            "pins",
            column + 3,
            row,
            loads=(Quantity(name="shear", symbol="V", value=force, kind="force"),),
            checks=()
            if idle
            else parts.pin(
                bench,
                pin,
                force,
                middle=middle,
                middle_words="hinge plates or arms: plate thickness",
                measured=measured,
                lacking=lacks,
            ),
            idle=idle,
        )
        chain = (source, *ids, target)
        if idle:
            for one, other in pairwise(chain):
                builder.cut(one, other, at)
        else:
            local: Vector = (0.0, turn * friction, 0.0)
            builder.chain(chain, wrench((axial / 2.0, 0.0, across / 2.0), at, local), at)
    if not whole:
        one_side(builder, [*rows[0], *rows[1]], rows, axial, across, circle)
    elif axial:
        builder.note(WASHERS)
    return friction


def one_side(
    builder: Builder,
    ids: list[str],
    rows: tuple[tuple[str, ...], tuple[str, ...]],
    axial: float,
    across: float,
    circle: float | None,
) -> None:
    """Say what is lost when a side of a hinge is out of the path."""
    why = builder.why(ids)
    left = [side for side, row in enumerate(rows, start=1) if builder.sound(row)]
    words = "both sides are out"
    if left:
        words = f"side {left[0]} alone is off the pipe axis"
        if circle and axial:
            words += (
                f" and would have to hold all of it with a moment of "
                f"{axial * circle / 2.0 / 1e3:,.4g} kN·m sideways, for which hinge plates are "
                "not made"
            )
        else:
            words += " and is not made to hold it"
    if axial:
        builder.holder = Holder.NOTHING
        builder.lost.append(
            f"NO PATH: nothing left can hold the thrust of {kilo(builder.loads.thrust)} at "
            f"{builder.condition.name}: {why}; {words}."
        )
    elif across:
        builder.lost.append(
            f"Nothing left can be counted on for the {kilo(abs(across))} across the pipe: {why}; "
            f"{words}."
        )
    else:
        builder.note(f"Out of the path: {why}; {words}.")
