"""Hinges, single, paired and slotted: two sides of lug, plate, pin, plate, lug."""

from __future__ import annotations

import math
from itertools import pairwise

import msgspec

from takeup.bellows.hardware import sides
from takeup.bellows.hardware.building import Builder, kilo, wrench
from takeup.bellows.hardware.damage import unit_prefix
from takeup.bellows.hardware.loads import pair_shear, pin_friction, turning_moment
from takeup.bellows.hardware.model import AcrossDirection, HardwareType, ShearPlanes
from takeup.bellows.hardware.results import Holder, PartKind, Vector
from takeup.bellows.hardware.sides import Actions
from takeup.checks import Quantity

FRICTION = "friction coefficient and diameter of the pins"
UNSTATED = (
    "Which way the load across acts is not stated: taken along the pins, which bends the plates "
    "about their weak axis."
)
OFFSET = "thickness of the plates and gap between them (single shear bends them)"
WASHERS = (
    "Load along the pins is held by washers, collars or keepers between the plates: these are "
    "not checked."
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
    case, loads = builder.case, builder.loads
    axial = loads.axial if _carries_thrust(builder) else 0.0
    turning, sideways = directions(builder)
    zero: Vector = (0.0, 0.0, 0.0)
    if case.type != HardwareType.HINGE_PAIR:
        span = Span(source="pipe A", target="pipe B", column=1, lacks=loads.lacking_across)
        friction = unit(builder, span, (axial, sideways, turning))
        builder.into = wrench((axial, sideways, turning), zero, (0.0, 2.0 * friction, 0.0))
        builder.out = builder.into
        return
    shear, lacking, distance = pair_loads(builder, axial)
    lacks = (*loads.lacking_across, *lacking)
    low = (axial, -sideways / 2.0, shear - turning / 2.0)
    high = (axial, sideways / 2.0, shear + turning / 2.0)
    first = unit(builder, Span(source="pipe A", target="spool", column=1, lacks=lacks), low)
    second = unit(
        builder,
        Span(
            number=2, x=-distance, turn=-1.0, source="spool", target="pipe B", column=7, lacks=lacks
        ),
        high,
    )
    spring = spool(builder, distance, 7, (0.0, sideways, turning))
    builder.into = wrench(low, zero, (0.0, 2.0 * first + spring, 0.0))
    builder.out = wrench(high, (-distance, 0.0, 0.0), (0.0, -2.0 * second - spring, 0.0))


def directions(builder: Builder) -> tuple[float, float]:
    """Load across in the plane in which the hinge turns, and along its pins [N]."""
    across = builder.loads.across
    if builder.case.across_direction == AcrossDirection.TURNING:
        return across, 0.0
    if builder.case.across_direction is None and across:
        builder.note(UNSTATED)
    return 0.0, across


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


def spool(builder: Builder, distance: float, column: int, across: Vector) -> float:
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
        builder.send("spool load", "spool", wrench(across, at), at)
    case, condition = builder.case, builder.condition
    if not case.angular_rate or not condition.angular or case.pair_distance is None:
        return 0.0
    moment = case.angular_rate * condition.angular
    at = (0.0, 0.0, 0.0)
    builder.send("pipe A", "spool", wrench(at, at, (0.0, moment, 0.0)), at)
    builder.send("spool", "pipe B", wrench(at, at, (0.0, -moment, 0.0)), at)
    return moment


class Span(msgspec.Struct, frozen=True, kw_only=True):
    """Where a hinge or gimbal stands in its path."""

    number: int = 1
    x: float = 0.0
    """Of its pin line [m]."""
    turn: float = 1.0
    """Sense of its friction moment."""
    source: str
    target: str
    column: int
    lacks: tuple[str, ...]
    """Loads across that are unknown."""


def unit(builder: Builder, span: Span, force: Vector) -> float:
    """One hinge under a force along and across; returns the friction moment of one pin [N.m]."""
    case, loads = builder.case, builder.loads
    prefix = unit_prefix(case, span.number)
    axial, sideways, turning = force
    double = case.pins is not None and case.pins.planes == ShearPlanes.DOUBLE
    circle = case.plates.circle_diameter if case.plates else None
    pair = case.type == HardwareType.HINGE_PAIR
    across = loads.across / 2.0 if pair else loads.across
    each = pin_friction(case, math.hypot(axial, across) / 2.0)
    friction = each or 0.0
    eccentric = _eccentric(builder, axial / 2.0)
    slotted = case.type == HardwareType.SLOTTED_HINGE
    actions = Actions(
        tension=axial / 2.0,
        turning=abs(turning) / 2.0,
        sideways=abs(sideways) / 2.0,
        friction=friction,
        lacks=(*(loads.lacking_axial if axial or not slotted else ()), *span.lacks),
        eccentric=eccentric or 0.0,
        more=(
            *(() if each is not None else (FRICTION,)),
            *(() if eccentric is not None else (OFFSET,)),
        ),
    )
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
        lug_a, plate_a, pin, plate_b, lug_b = ids
        worn = builder.damages.on(pin)
        measured = worn.diameter if worn else None
        sides.lug(builder, lug_a, span.column + 1, row, actions, idle=idle)
        sides.plate(
            builder,
            plate_a,
            span.column + 2,
            row,
            actions,
            fork=False,
            measured=measured,
            idle=idle,
        )
        sides.pin(
            builder,
            pin,
            span.column + 3,
            row,
            actions,
            idle=idle,
            lacking=actions.lacks,
            middle=case.plates.thickness if case.plates else None,
            middle_words="hinge plates or arms: plate thickness",
        )
        sides.plate(
            builder,
            plate_b,
            span.column + 4,
            row,
            actions,
            fork=double,
            measured=measured,
            idle=idle,
        )
        sides.lug(builder, lug_b, span.column + 5, row, actions, idle=idle)
        chain = (span.source, *ids, span.target)
        at: Vector = (span.x, -row * (circle or 0.0) / 2.0, 0.0)
        if idle:
            for one, other in pairwise(chain):
                builder.cut(one, other, at)
        else:
            half = (axial / 2.0, sideways / 2.0, turning / 2.0)
            builder.chain(chain, wrench(half, at, (0.0, span.turn * friction, 0.0)), at)
    if not whole:
        one_side(builder, [*rows[0], *rows[1]], rows, axial, math.hypot(sideways, turning), circle)
    elif sideways:
        builder.note(WASHERS)
    return friction


def _eccentric(builder: Builder, tension: float) -> float | None:
    """Weak-axis moment T (t + g) / 2 of each of two equal plates in single shear [N.m].

    Their load lines are a thickness and the gap apart; each plate takes half of the couple.
    ``None`` where thickness or gap is unknown.
    """
    pins, plates = builder.case.pins, builder.case.plates
    if pins is None or pins.planes != ShearPlanes.SINGLE:
        return 0.0
    if plates is None or plates.thickness is None or pins.gap is None:
        return None
    return tension * (plates.thickness + pins.gap) / 2.0


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
                f"{kilo(axial * circle / 2.0, 'kN·m')} sideways, for which hinge plates are "
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
