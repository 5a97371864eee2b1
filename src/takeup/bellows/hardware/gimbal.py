"""Gimbals, single and paired: two pins at end A, the ring, two pins at end B square to them."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from takeup.bellows.hardware import parts
from takeup.bellows.hardware.building import Builder, kilo, wrench
from takeup.bellows.hardware.damage import unit_prefix
from takeup.bellows.hardware.hinges import FRICTION, pair_loads, spool
from takeup.bellows.hardware.loads import pin_friction
from takeup.bellows.hardware.model import HardwareType, RingShape, ShearPlanes
from takeup.bellows.hardware.results import Holder, PartKind, Vector
from takeup.bellows.hardware.rods import arm
from takeup.checks import Check, Quantity
from takeup.units import Array

RADIUS = (
    "Distance between the gimbal arms is not given: the pins are taken to act on the centre "
    "line of the ring."
)


def ids_of(prefix: str, end: str, side: int) -> tuple[str, str, str]:
    """Ids of lug, arm and pin of one side of one end."""
    return f"{prefix}lug {end} {side}", f"{prefix}plate {end} {side}", f"{prefix}pin {end} {side}"


def build(builder: Builder) -> None:
    """Lay the path through one gimbal, or through both gimbals of a pair and the spool."""
    axial, across = builder.loads.axial, builder.loads.across
    lacks = builder.loads.lacking_across
    zero: Vector = (0.0, 0.0, 0.0)
    if builder.case.type == HardwareType.GIMBAL:
        each = unit(builder, 1, axial, across, lacks, 0.0, 1.0, "pipe A", "pipe B", 1)
        builder.into = wrench((axial, 0.0, across), zero, (0.0, 2.0 * each, 2.0 * each))
        builder.out = builder.into
        return
    shear, more, distance = pair_loads(builder, axial)
    lacks = (*lacks, *more)
    low, high = shear - across / 2.0, shear + across / 2.0
    first = unit(builder, 1, axial, low, lacks, 0.0, 1.0, "pipe A", "spool", 1)
    second = unit(builder, 2, axial, high, lacks, -distance, -1.0, "spool", "pipe B", 9)
    spring = spool(builder, distance, 9)
    builder.into = wrench((axial, 0.0, low), zero, (0.0, 2.0 * first + spring, 2.0 * first))
    builder.out = wrench(
        (axial, 0.0, high), (-distance, 0.0, 0.0), (0.0, -2.0 * second - spring, 2.0 * second)
    )


def _radius(builder: Builder) -> float | None:
    """Where the pins act, from the pipe axis [m]."""
    plates, ring = builder.case.plates, builder.case.ring
    if plates is not None and plates.circle_diameter is not None:
        return plates.circle_diameter / 2.0
    size = None
    if ring is not None:
        if ring.shape == RingShape.ROUND:
            size = ring.mean_radius
        elif ring.side is not None:
            size = ring.side / 2.0
    if size is not None:
        builder.note(RADIUS)
    return size


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
    """One gimbal whose ring lies at x; returns the friction moment of one pin [N.m].

    Friction at one pair of pins turns the ring; the other pair holds it with a couple, so one
    of its pins carries more than half the thrust and the opposite one less.
    """
    case, loads = builder.case, builder.loads
    prefix = unit_prefix(case, number)
    reach_pins = _radius(builder)
    r = reach_pins or 0.0
    pair = case.type == HardwareType.GIMBAL_PAIR
    nominal = math.hypot(axial, (builder.loads.across / 2.0) if pair else across) / 2.0
    each = pin_friction(case, nominal)
    friction = each or 0.0
    lacks = (*loads.lacking_axial, *lacking)
    couple = friction / r if r else 0.0
    more = () if each is not None else (FRICTION,)
    if friction and not r:
        more = ("distance between the gimbal arms",)
    force = math.hypot(axial / 2.0 + couple, across / 2.0)
    ids = {(end, s): ids_of(prefix, end, s) for end in "AB" for s in (1, 2)}
    ring = f"{prefix}ring"
    every = [id for row in ids.values() for id in row] + [ring]
    whole = builder.sound(every)
    handed: dict[tuple[str, int], Array] = {}
    for (end, side), row in ids.items():
        sign = 1.0 if side == 1 else -1.0
        if end == "A":
            at: Vector = (x, sign * r, 0.0)
            tension = axial / 2.0 - sign * couple
            local: Vector = (0.0, turn * friction, 0.0)
        else:
            at = (x, 0.0, sign * r)
            tension = axial / 2.0 + sign * turn * couple
            local = (0.0, 0.0, friction)
        handed[end, side] = wrench((tension, 0.0, across / 2.0), at, local)
        idle = _idle(builder, row, whole=whole)
        _side(builder, end, row, force, across, friction, side, column, lacks, more, idle)
        chain = (source, *row, ring) if end == "A" else (ring, *reversed(row), target)
        if idle:
            for one, other in pairwise(chain):
                builder.cut(one, other, at)
        else:
            builder.chain(chain, handed[end, side], at)
    pins = np.stack([handed["A", 1], -handed["B", 1], handed["A", 2], -handed["B", 2]])
    # about the centre of this ring, not the origin of the joint
    pins[:, 3:] -= np.cross(np.array([x, 0.0, 0.0]), pins[:, :3])
    checks: tuple[Check, ...] = ()
    if whole:
        checks = parts.ring(builder.bench, ring, pins, (*lacks, *more))
    builder.box(
        ring,
        PartKind.RING,
        "ring",
        column + 4,
        0.0,
        loads=checks[0].inputs[:2] if checks and len(checks[0].inputs) >= 2 else (),
        checks=checks,
        idle="" if whole else "a ring needs all four pins",
    )
    if not whole:
        builder.holder = Holder.NOTHING
        builder.lost.append(
            f"NO PATH: nothing left can hold the thrust of {kilo(builder.loads.thrust)} at "
            f"{builder.condition.name}: {builder.why(every)}; a gimbal holds only with all four "
            "pins and a whole ring."
        )
    return friction


def _idle(builder: Builder, row: tuple[str, ...], *, whole: bool) -> str:
    if whole:
        return ""
    if builder.sound(row):
        return "left alone: a gimbal needs all pins and its ring"
    return "its side of the gimbal is out of the path"


def _side(
    builder: Builder,
    end: str,
    row: tuple[str, str, str],
    force: float,
    across: float,
    friction: float,
    side: int,
    column: int,
    lacks: tuple[str, ...],
    more: tuple[str, ...],
    idle: str,
) -> None:
    """Lug, arm and pin of one side of one end."""
    case, bench = builder.case, builder.bench
    lug, plate, pin = row
    place = (
        (column + 1, column + 2, column + 3) if end == "A" else (column + 7, column + 6, column + 5)
    )
    y = -1.0 if side == 1 else 1.0
    circle = case.plates.circle_diameter if case.plates else None
    length = case.plates.length if case.plates else None
    tension = math.sqrt(max(0.0, force**2 - (across / 2.0) ** 2))
    reach = arm(builder, circle)
    bare = not across and not any(name not in builder.loads.lacking_axial for name in lacks)
    bend = friction if bare else (None if length is None else friction + abs(across) / 2.0 * length)
    wall = None
    if reach is not None and bend is not None:
        wall = math.hypot(tension * reach, bend, abs(across) / 2.0 * reach)
    worn, on_lug, on_plate = (builder.damages.on(id) for id in (pin, lug, plate))
    measured = worn.diameter if worn else None
    double = case.pins is not None and case.pins.planes == ShearPlanes.DOUBLE
    both = (*lacks, *more)
    builder.box(
        lug,
        PartKind.LUG,
        "lugs",
        place[0],
        y,
        loads=(
            Quantity(name="shear", value=tension, kind="force"),
            Quantity(name="bending moment at the pipe", value=wall, kind="moment"),
        ),
        checks=()
        if idle
        else parts.lug(
            bench,
            lug,
            tension,
            abs(across) / 2.0,
            wall,
            left=1.0 - (on_lug.share if on_lug else 0.0),
            lacking=both,
        ),
        idle=idle,
    )
    builder.box(
        plate,
        PartKind.PLATE,
        "plates",
        place[1],
        y,
        name=_named(plate),
        loads=(
            Quantity(name="tension", symbol="T", value=tension, kind="force"),
            Quantity(name="bending moment in its plane", value=bend, kind="moment"),
        ),
        checks=()
        if idle
        else parts.plate(
            bench,
            plate,
            force,
            tension,
            bend,
            fork=double,
            pin_diameter=measured,
            cracked=on_plate.share if on_plate else 0.0,
            lacking=lacks,
            lacking_root=more,
        ),
        idle=idle,
    )
    builder.box(
        pin,
        PartKind.PIN,
        "pins",
        place[2],
        y,
        loads=(Quantity(name="shear", symbol="V", value=force, kind="force"),),
        checks=()
        if idle
        else parts.pin(
            bench,
            pin,
            force,
            middle=case.ring.radial if case.ring else None,
            middle_words="gimbal ring: section, radial",
            measured=measured,
            lacking=both,
        ),
        idle=idle,
    )


def _named(plate: str) -> str:
    words = plate.replace("plate", "arm")
    return words[0].upper() + words[1:]
