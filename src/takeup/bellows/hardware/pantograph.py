"""Pantograph linkages: crossing bars on both sides, pivoted on the spool between two bellows.

Normally the linkage holds the spool midway between the ends: it carries the difference of the
spring forces of both bellows and the weight of the spool, not the thrust.  At its limit position
it ties the ends together and carries the thrust.
"""

from __future__ import annotations

import math

from takeup.bellows.hardware import parts, ring_checks
from takeup.bellows.hardware.building import Builder, kilo, wrench
from takeup.bellows.hardware.loads import equalising_force
from takeup.bellows.hardware.model import ShearPlanes
from takeup.bellows.hardware.results import Holder, PartKind, Vector
from takeup.bellows.hardware.rods import arm
from takeup.checks import Quantity

EQUALISING = (
    "The linkage is taken to hold the spool alone, along the pipe and across: what slotted hinges "
    "or hangers carry of its weight must not be in the weights given here. Load across is taken "
    "in the plane of the bars."
)
TIED = (
    "At the limit the bars are taken as straight ties from end to end, held square to the pipe by "
    "their stops; stops and slots are not checked."
)


def build(builder: Builder) -> None:
    """Lay the path through the linkage, in its normal or in its limit position."""
    case = builder.case
    limit = builder.at_limit
    axial = builder.loads.axial if limit else 0.0
    spool_axial, lacking = (0.0, ()) if limit else equalising_force(case, builder.condition)
    across = builder.loads.across
    lacks = (*(builder.loads.lacking_axial if limit else lacking), *builder.loads.lacking_across)
    links = case.links
    length = links.length if links else None
    angle = links.angle if links else None
    count = links.bars if links else 2
    radius = (case.plates.circle_diameter or 0.0) / 2.0 if case.plates else 0.0
    ids = [(f"lug A {s}", f"bars {s}", f"pin {s}", f"lug B {s}") for s in (1, 2)]
    whole = builder.sound([id for row in ids for id in row])
    zero: Vector = (0.0, 0.0, 0.0)
    builder.box("spool", PartKind.SPOOL, "spool", 3, 0.0, name="Spool")
    builder.box(
        "spool load",
        PartKind.LOAD,
        "loads",
        2,
        0.0,
        name="On the spool",
        loads=(
            Quantity(name="along the pipe", symbol="G", value=spool_axial, kind="force"),
            Quantity(name="across", value=across, kind="force"),
        ),
    )
    for side, (lug_a, bars, pin, lug_b) in enumerate(ids, start=1):
        sign = 1.0 if side == 1 else -1.0
        at: Vector = (0.0, sign * radius, 0.0)
        idle = "" if whole else _alone(builder, ids[side - 1])
        on_pivot = math.hypot(spool_axial, across) / 2.0
        normal, moment = bar_actions(
            length=length,
            angle=angle,
            bars=count,
            tie=axial / 2.0,
            along=spool_axial / 2.0,
            across=across / 2.0,
        )
        at_end = axial / 2.0 + spool_axial / 4.0
        worn = builder.damages.on(pin)
        reach = arm(builder, case.plates.circle_diameter if case.plates else None)
        for id, column in ((lug_a, 2), (lug_b, 4)):
            found = builder.damages.on(id)
            wall = None if reach is None else math.hypot(at_end, across / 4.0) * reach
            builder.box(
                id,
                PartKind.LUG,
                "lugs",
                column,
                sign * -2.0,
                loads=(
                    Quantity(name="shear", value=at_end, kind="force"),
                    Quantity(name="bending moment at the pipe", value=wall, kind="moment"),
                ),
                checks=()
                if idle
                else parts.lug(
                    builder.bench,
                    id,
                    at_end,
                    across / 4.0,
                    wall,
                    left=1.0 - (found.share if found else 0.0),
                    lacking=lacks,
                ),
                idle=idle,
            )
        builder.box(
            bars,
            PartKind.LINK,
            "bars",
            3,
            sign * -2.0,
            loads=(
                Quantity(name="normal force of one bar", symbol="N", value=normal, kind="force"),
                Quantity(name="bending moment of one bar", value=moment, kind="moment"),
            ),
            checks=() if idle else ring_checks.bars(builder.bench, bars, normal, moment, lacks),
            idle=idle,
        )
        middle = None if links is None else links.thickness
        if case.pins and case.pins.planes == ShearPlanes.SINGLE:
            middle = None
        end_pin = math.hypot(at_end, across / 4.0) / count
        if normal is not None:
            end_pin = max(end_pin, normal)
        builder.box(
            pin,
            PartKind.PIN,
            "pins",
            3,
            sign * -1.0,
            name=f"Pivot {pin}",
            loads=(Quantity(name="shear", symbol="V", value=max(on_pivot, end_pin), kind="force"),),
            checks=()
            if idle
            else parts.pin(
                builder.bench,
                f"pivot and end pins of side {side}",
                max(on_pivot, end_pin),
                middle=middle,
                middle_words="pantograph bars: bar thickness",
                measured=worn.diameter if worn else None,
                lacking=lacks,
            ),
            idle=idle,
        )
        if idle:
            for one, other in (
                ("pipe A", lug_a),
                (lug_a, bars),
                (pin, bars),
                ("spool", pin),
                (bars, lug_b),
                (lug_b, "pipe B"),
            ):
                builder.cut(one, other, at)
            continue
        # the spool's load splits to both ends, the tie force passes from end to end
        half = wrench((spool_axial / 4.0, 0.0, across / 4.0), at)
        tie = wrench((axial / 2.0, 0.0, 0.0), at)
        pivot = wrench((spool_axial / 2.0, 0.0, across / 2.0), at)
        builder.send("spool", pin, pivot, at)
        builder.send(pin, bars, pivot, at)
        builder.chain(("pipe A", lug_a, bars), tie - half, at)
        builder.chain((bars, lug_b, "pipe B"), tie + half, at)
    builder.send("spool load", "spool", wrench((spool_axial, 0.0, across), zero), zero)
    builder.into = wrench((axial - spool_axial / 2.0, 0.0, -across / 2.0), zero)
    builder.out = wrench((axial + spool_axial / 2.0, 0.0, across / 2.0), zero)
    builder.note(TIED if limit else EQUALISING)
    if not whole:
        _lost(builder, ids, axial, spool_axial, across)


def bar_actions(
    *,
    length: float | None,
    angle: float | None,
    bars: int,
    tie: float,
    along: float,
    across: float,
) -> tuple[float | None, float | None]:
    """Normal force and bending moment at the pivot of one bar of one side [N, N.m].

    A bar of length L at the angle phi to the pipe has its ends (L/2) sin phi off the pivot.
    The pivot's force along the pipe goes half to each end, shared by the bars of the side:
    M = (along/2) (L/2) sin phi / bars, N = (along/2) cos phi / bars.  The force across makes
    it a beam on its two ends: M = across L cos phi / (4 bars), N = (across/2) sin phi / bars.
    A tie force pulls along the bars: N = tie / (bars cos phi).  Moments and normal forces of
    all three are added.  ``None`` where length or angle is unknown and matters.
    """
    if tie == along == across == 0.0:
        return 0.0, 0.0
    if length is None or angle is None:
        return None, None
    sin, cos = math.sin(angle), math.cos(angle)
    normal = (along * cos + across * sin) / 2.0 / bars + tie / (bars * cos)
    return normal, (along * sin + across * cos) * length / (4.0 * bars)


def _alone(builder: Builder, row: tuple[str, ...]) -> str:
    if builder.sound(row):
        return "left alone: one side of a linkage cannot hold the spool square"
    return "its side of the linkage is out of the path"


def _lost(
    builder: Builder,
    ids: list[tuple[str, str, str, str]],
    axial: float,
    along: float,
    across: float,
) -> None:
    why = builder.why([id for row in ids for id in row])
    if axial:
        builder.holder = Holder.NOTHING
        builder.lost.append(
            f"NO PATH: nothing left can hold the thrust of {kilo(builder.loads.thrust)} at "
            f"{builder.condition.name}: {why}; one side of the linkage alone is off the pipe axis."
        )
        return
    builder.lost.append(
        f"The linkage no longer shares the movement between both bellows: {why}. One bellows may "
        "take all of it; the spool is held by the bellows"
        + (f", with {kilo(math.hypot(along, across))} on it." if along or across else ".")
    )
