"""Tie rods and limit rods: end plates or lugs, rods and nuts, round the pipe."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from takeup import materials
from takeup.bellows.hardware import parts, sharing
from takeup.bellows.hardware.building import Builder, kilo, wrench
from takeup.bellows.hardware.loads import rod_stiffness
from takeup.bellows.hardware.model import HardwareType, Rods, Sharing
from takeup.bellows.hardware.results import Holder, PartKind, Vector
from takeup.bellows.hardware.strength import WORDS
from takeup.checks import Quantity
from takeup.errors import MissingInput, OutOfRange, UnknownName
from takeup.units import Array

SEATING = (
    "Nuts cannot be shown to bear evenly, and a joint that deflects sideways loads the rods in "
    "its plane: worked out for the worst seating (two opposite rods hold all, of an even number)."
)
ACROSS = (
    "Rods swing with the joint and hold no load across the pipe: weight and other load across "
    "go through the bellows and the pipe supports."
)
UNKNOWN_STRETCH = ": its gap, or what the other rods stretch, is not known."
INCLINED = (
    "Sideways movement inclines the rods and raises their tension by 1 / cos of the angle "
    "(1 % at 8°): not counted. Rods clamped without spherical washers also bend: not checked."
)
TILTS = (
    "The tight rods alone cannot balance the thrust: the ends tilt until a loose nut bears, and "
    "bellows and pipe turn with them. The rods with loose nuts are counted as bearing after that."
)
NUTS = "Nuts and washers are taken as full and of the grade of the rod; threads are not checked."


def radius(builder: Builder) -> float:
    """Radius of the rod circle [m]; 0 where unknown (then no moment uses it)."""
    rods = builder.case.rods
    return 0.0 if rods is None or rods.circle_diameter is None else rods.circle_diameter / 2.0


def arm(builder: Builder, circle: float | None) -> float | None:
    """Arm from the pipe wall to the load line [m]: as given, else from both diameters."""
    lugs, pipe = builder.case.lugs, builder.case.pipe_diameter
    if lugs is not None and lugs.arm is not None:
        return lugs.arm
    return None if circle is None or pipe is None else (circle - pipe) / 2.0


def strand(number: int) -> tuple[str, str, str]:
    """Ids of the parts through which one rod takes its load."""
    return f"lug A {number}", f"rod {number}", f"lug B {number}"


def shares(builder: Builder, count: int, axial: float) -> tuple[Array | None, Array, list[str]]:
    """Share of each rod out of 1, ``None`` if the rods left cannot balance the thrust.

    Then the share each is checked with, the largest of any seating, and words on loose nuts.
    """
    case = builder.case
    assert case.rods is not None
    where = sharing.places(count)
    active = np.array([builder.sound(strand(i + 1)) for i in range(count)])
    slack = np.zeros(count)
    words: list[str] = []
    stiffness = rod_stiffness(case, _modulus(builder))
    for i in range(count):
        found = builder.damages.on(f"rod {i + 1}")
        if found is None or found.gap is None or not active[i]:
            continue
        if case.rods.sharing == Sharing.EVEN and stiffness and np.isfinite(found.gap) and axial:
            slack[i] = found.gap * stiffness / axial
        else:
            active[i] = False
            reason = "." if case.rods.sharing == Sharing.WORST else UNKNOWN_STRETCH
            words.append(f"Rod {i + 1} has a loose nut and is counted as carrying nothing{reason}")
    loose = np.array([builder.sound(strand(i + 1)) for i in range(count)]) & ~active
    if loose.any() and not len(sharing.seatings(where, active)):
        # the nut is there: the ends tilt until it bears
        active |= loose
        words = [TILTS] if len(sharing.seatings(where, active)) else words
    if case.rods.sharing == Sharing.EVEN:
        even = sharing.elastic(where, active, slack)
        return even, np.zeros(count) if even is None else even, words
    weak = np.array([any(builder.damages.on(id) for id in strand(i + 1)) for i in range(count)])
    return sharing.worst(where, active, weak), sharing.most(where, active), words


def _modulus(builder: Builder) -> float | None:
    rods, hot = builder.case.rods, builder.condition.temperature
    if rods is None or not rods.material or hot is None:
        return None
    try:
        return float(materials.modulus(rods.material, hot).value)
    except (UnknownName, MissingInput, OutOfRange):
        return None


def build(builder: Builder) -> None:
    """Lay the path of the thrust through the rods."""
    case, loads = builder.case, builder.loads
    if case.rods is None:
        raise MissingInput("Load path through rods", [f"number of {WORDS[Rods]}"])
    count = case.rods.count
    engaged = case.type == HardwareType.TIE_RODS or builder.at_limit
    axial = loads.axial if engaged else 0.0
    limit = "" if engaged else "stands off until an anchor lets go"
    part, largest, words = shares(builder, count, axial)
    tension = np.zeros(count) if part is None else part * axial
    for text in words:
        builder.note(text)
    r, reach = radius(builder), arm(builder, case.rods.circle_diameter)
    where = sharing.places(count)
    for i in range(count):
        row = i - (count - 1) / 2.0
        ids = strand(i + 1)
        force, most = float(tension[i]), float(largest[i] * axial)
        idle = limit
        if not builder.sound(ids):
            idle = "its rod, nut or lug is out of the path"
        elif part is None and not limit:
            idle = "left alone: cannot balance the thrust"
        elif not limit and force <= 0.0:
            idle = "carries nothing in this seating" if most > 0.0 else "cannot help to balance"
            if most > 0.0:
                idle += f", {kilo(most)} in another; checked for that"
        other = (
            (Quantity(name="in another seating", value=most, kind="force"),)
            if force <= 0.0 < most
            else ()
        )
        tested = most > 0.0 and not limit and part is not None and builder.sound(ids)
        at: Vector = (0.0, float(r * where[i, 0]), float(r * where[i, 1]))
        moment = None if reach is None else most * reach
        for end, column in (("A", 2), ("B", 4)):
            id = f"lug {end} {i + 1}"
            found = builder.damages.on(id)
            checks = (
                parts.lug(
                    builder.bench,
                    id,
                    most,
                    0.0,
                    moment,
                    left=1.0 - (found.share if found else 0.0),
                    lacking=loads.lacking_axial,
                )
                if tested
                else ()
            )
            builder.box(
                id,
                PartKind.LUG,
                "lugs",
                column,
                row,
                loads=(
                    Quantity(name="shear", value=force, kind="force"),
                    Quantity(
                        name="bending moment at the pipe",
                        value=None if reach is None else force * reach,
                        kind="moment",
                    ),
                    *other,
                ),
                checks=checks,
                idle=idle,
            )
        builder.box(
            ids[1],
            PartKind.ROD,
            "rods",
            3,
            row,
            loads=(Quantity(name="tension", symbol="T", value=force, kind="force"), *other),
            checks=parts.rod(builder.bench, ids[1], most, loads.lacking_axial) if tested else (),
            idle=idle,
        )
        whole = ("pipe A", *ids, "pipe B")
        if not builder.sound(ids) or (part is None and not limit):
            for source, target in pairwise(whole):
                builder.cut(source, target, at)
        else:
            builder.chain(whole, wrench((force, 0.0, 0.0), at), at)
    builder.into = builder.out = wrench((axial, 0.0, 0.0), (0.0, 0.0, 0.0))
    if engaged:
        builder.note(NUTS)
        builder.note(ACROSS)
        builder.note(INCLINED)
        if case.rods.sharing == Sharing.WORST and count > 3:
            builder.note(SEATING)
    if part is None:
        _nothing(builder, count, where, r, engaged)


def _nothing(builder: Builder, count: int, where: Array, r: float, engaged: bool) -> None:
    left = [i for i in range(count) if builder.sound(strand(i + 1))]
    gone = [str(i + 1) for i in range(count) if i not in left]
    words = "none of the rods can be counted"
    if left:
        offset = float(np.hypot(*where[left].mean(axis=0))) * r
        kept = ", ".join(str(i + 1) for i in left)
        words = (
            f"rods left ({kept}) cannot balance the thrust about the pipe axis: pipe and bellows "
            "would have to hold the rest in bending"
        )
        if offset > 0.0 and engaged:
            words += f", a moment of {kilo(builder.loads.axial * offset, 'kN·m')}"
    out = f"rods {', '.join(gone)} out, " if gone else ""
    if engaged:
        builder.holder = Holder.NOTHING
        builder.lost.append(
            f"NO PATH: nothing left can hold the thrust of {kilo(builder.loads.thrust)} at "
            f"{builder.condition.name}: {out}{words}."
        )
    else:
        builder.note(f"The limit rods would not hold the thrust if an anchor let go: {out}{words}.")
