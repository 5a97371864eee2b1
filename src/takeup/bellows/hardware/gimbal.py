"""Gimbals, single and paired: two pins at end A, the ring, two pins at end B square to them."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from takeup.bellows.hardware import ring_checks, sides
from takeup.bellows.hardware.building import Builder, kilo, wrench
from takeup.bellows.hardware.damage import unit_prefix
from takeup.bellows.hardware.hinges import FRICTION, WASHERS, Span, pair_loads, spool
from takeup.bellows.hardware.loads import pin_friction
from takeup.bellows.hardware.model import HardwareType, RingShape, ShearPlanes
from takeup.bellows.hardware.results import Holder, PartKind, Vector
from takeup.bellows.hardware.sides import Actions
from takeup.checks import Check
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
        span = Span(source="pipe A", target="pipe B", column=1, lacks=lacks)
        each = unit(builder, span, axial, across)
        builder.into = wrench((axial, 0.0, across), zero, (0.0, 2.0 * each, 2.0 * each))
        builder.out = builder.into
        return
    shear, more, distance = pair_loads(builder, axial)
    lacks = (*lacks, *more)
    low, high = shear - across / 2.0, shear + across / 2.0
    first = Span(source="pipe A", target="spool", column=1, lacks=lacks)
    second = Span(
        number=2, x=-distance, turn=-1.0, source="spool", target="pipe B", column=9, lacks=lacks
    )
    one, two = unit(builder, first, axial, low), unit(builder, second, axial, high)
    spring = spool(builder, distance, 9, (0.0, 0.0, across))
    builder.into = wrench((axial, 0.0, low), zero, (0.0, 2.0 * one + spring, 2.0 * one))
    builder.out = wrench(
        (axial, 0.0, high), (-distance, 0.0, 0.0), (0.0, -2.0 * two - spring, 2.0 * two)
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


def unit(builder: Builder, span: Span, axial: float, across: float) -> float:
    """One gimbal; returns the friction moment of one pin [N.m].

    Friction at one pair of pins turns the ring; the other pair holds it with a couple, so one
    of its pins carries more than half the thrust and the opposite one less.  Load across acts
    along the pins of one end and square to those of the other, whichever way it points.
    """
    case, loads = builder.case, builder.loads
    prefix = unit_prefix(case, span.number)
    r = _radius(builder) or 0.0
    pair = case.type == HardwareType.GIMBAL_PAIR
    nominal = math.hypot(axial, (loads.across / 2.0) if pair else across) / 2.0
    each = pin_friction(case, nominal)
    friction = each or 0.0
    lacks = (*loads.lacking_axial, *span.lacks)
    couple = friction / r if r else 0.0
    more = () if each is not None else (FRICTION,)
    if friction and not r:
        more = ("distance between the gimbal arms",)
    ids = {(end, s): ids_of(prefix, end, s) for end in "AB" for s in (1, 2)}
    ring = f"{prefix}ring"
    every = [id for row in ids.values() for id in row] + [ring]
    whole = builder.sound(every)
    handed: dict[tuple[str, int], Array] = {}
    for (end, side), row in ids.items():
        sign = 1.0 if side == 1 else -1.0
        if end == "A":
            at: Vector = (span.x, sign * r, 0.0)
            tension = axial / 2.0 - sign * couple
            local: Vector = (0.0, span.turn * friction, 0.0)
        else:
            at = (span.x, 0.0, sign * r)
            tension = axial / 2.0 + sign * span.turn * couple
            local = (0.0, 0.0, friction)
        handed[end, side] = wrench((tension, 0.0, across / 2.0), at, local)
        idle = _idle(builder, row, whole=whole)
        actions = Actions(
            tension=axial / 2.0 + couple,
            turning=abs(across) / 2.0 if end == "A" else 0.0,
            sideways=abs(across) / 2.0 if end == "B" else 0.0,
            friction=friction,
            lacks=lacks,
            more=more,
        )
        _side(builder, end, row, actions, -sign, span.column, idle)
        chain = (span.source, *row, ring) if end == "A" else (ring, *reversed(row), span.target)
        if idle:
            for one, other in pairwise(chain):
                builder.cut(one, other, at)
        else:
            builder.chain(chain, handed[end, side], at)
    pins = np.stack([handed["A", 1], -handed["B", 1], handed["A", 2], -handed["B", 2]])
    # about the centre of this ring, not the origin of the joint
    pins[:, 3:] -= np.cross(np.array([span.x, 0.0, 0.0]), pins[:, :3])
    checks: tuple[Check, ...] = ()
    if whole:
        checks = ring_checks.checks(builder.bench, ring, pins, (*lacks, *more))
    builder.box(
        ring,
        PartKind.RING,
        "ring",
        span.column + 4,
        0.0,
        loads=checks[0].inputs[:2] if checks and len(checks[0].inputs) >= 2 else (),
        checks=checks,
        idle="" if whole else "a ring needs all four pins",
    )
    if not whole:
        builder.holder = Holder.NOTHING
        builder.lost.append(
            f"NO PATH: nothing left can hold the thrust of {kilo(loads.thrust)} at "
            f"{builder.condition.name}: {builder.why(every)}; a gimbal holds only with all four "
            "pins and a whole ring."
        )
    elif across:
        builder.note(WASHERS)
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
    ids: tuple[str, str, str],
    actions: Actions,
    row: float,
    column: int,
    idle: str,
) -> None:
    """Lug, arm and pin of one side of one end."""
    case = builder.case
    lug, plate, pin = ids
    first, step = (column, 1) if end == "A" else (column + 8, -1)
    worn = builder.damages.on(pin)
    double = case.pins is not None and case.pins.planes == ShearPlanes.DOUBLE
    words = plate.replace("plate", "arm")
    sides.lug(builder, lug, first + step, row, actions, idle=idle)
    sides.plate(
        builder,
        plate,
        first + 2 * step,
        row,
        actions,
        fork=double,
        measured=worn.diameter if worn else None,
        idle=idle,
        name=words[0].upper() + words[1:],
    )
    sides.pin(
        builder,
        pin,
        first + 3 * step,
        row,
        actions,
        middle=case.ring.radial if case.ring else None,
        middle_words="gimbal ring: section, radial",
        lacking=(*actions.lacks, *actions.more),
        idle=idle,
    )
