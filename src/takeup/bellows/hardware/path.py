"""Where the load goes: one path from end A to end B at one condition."""

from __future__ import annotations

from takeup.bellows.hardware import damage, gimbal, hinges, pantograph, rods
from takeup.bellows.hardware import loads as loading
from takeup.bellows.hardware.building import Builder, kilo, wrench
from takeup.bellows.hardware.intake import refuse
from takeup.bellows.hardware.model import (
    GIMBALS,
    HELD_BY_ANCHORS,
    RODDED,
    Defect,
    HardwareCase,
    HardwareCondition,
    HardwareType,
)
from takeup.bellows.hardware.results import Holder, LoadPath, PartKind, PartState, Vector
from takeup.checks import Check, Outcome, Quantity
from takeup.sources import Source, Standing

STORED = (
    "Stored thrust: loosening a nut, drawing a pin or cutting a weld while there is pressure lets "
    "it go at once. Nothing is loosened before the line is at zero pressure and proven so."
)
BEFORE = (
    "Hardware that was found wrong must be judged, and repaired or cleared in writing, before "
    "pressure is raised."
)
ENGINEER = (
    "This is a calculation aid. Local code and law govern, and a licensed engineer who knows the "
    "joint decides."
)
KEEP_OUT = (
    "Nothing holds the thrust on paper: keep people away from the joint and its line of fire; "
    "do not touch the hardware. Take the pressure off by the site's procedure."
)
ANCHORS = (
    "The thrust is on the main anchors, not on this hardware: anchors and guides are part of "
    "the joint."
)
EQUILIBRIUM = Source(
    document="Statics", at="equilibrium of every part of the path", standing=Standing.DERIVED
)
_ZERO: Vector = (0.0, 0.0, 0.0)


def trace(
    case: HardwareCase,
    condition: HardwareCondition | str,
    defects: tuple[Defect, ...] | None = None,
    *,
    at_limit: bool | None = None,
) -> LoadPath:
    """Follow the load through every part at one condition.

    ``condition`` is one of the case's or its name; ``defects`` take the place of those of the
    case, an empty tuple gives the hardware as drawn.  ``at_limit`` matters for limit rods,
    slotted hinges and pantographs: whether they stand at their limit and so take the thrust;
    by default what the case says, else not.  Raises :class:`takeup.errors.MissingInput` where
    the thrust (or the number of rods) is unknown and :class:`takeup.errors.Contradiction` for
    input that cannot be true.
    """
    found = condition_of(case, condition)
    refuse(case)
    damages = damage.take(case, case.defects if defects is None else defects)
    stands = case.type in HELD_BY_ANCHORS and (
        damages.at_limit or bool(case.at_limit if at_limit is None else at_limit)
    )
    builder = Builder(
        case,
        found,
        loading.take(case, found),
        damages,
        label=label(case, found, at_limit=stands),
        at_limit=stands,
    )
    holds = case.type not in HELD_BY_ANCHORS or stands
    _ends(builder, holds=holds)
    if case.type in RODDED:
        rods.build(builder)
    elif case.type in GIMBALS:
        gimbal.build(builder)
    elif case.type == HardwareType.PANTOGRAPH:
        pantograph.build(builder)
    else:
        hinges.build(builder)
    return _finish(builder, holds=holds)


def condition_of(case: HardwareCase, condition: HardwareCondition | str) -> HardwareCondition:
    """The condition itself, or the one of the case that has that name."""
    from takeup.errors import UnknownName

    if not isinstance(condition, str):
        return condition
    for found in case.conditions:
        if found.name.lower() == condition.lower():
            return found
    raise UnknownName("condition", condition, [found.name for found in case.conditions])


def label(case: HardwareCase, condition: HardwareCondition, *, at_limit: bool) -> str:
    """What stands behind the @ of check ids: the condition, and whether at the limit."""
    limited = case.type in HELD_BY_ANCHORS and at_limit
    return f"{condition.name} at limit" if limited else condition.name


def _ends(builder: Builder, *, holds: bool) -> None:
    loads = builder.loads
    along = [Quantity(name="Pressure thrust", symbol="F", value=loads.thrust, kind="force")]
    if holds and loads.axial > loads.thrust:
        along.append(
            Quantity(name="Spring and weight", value=loads.axial - loads.thrust, kind="force")
        )
    builder.box("end A", PartKind.LOAD, "loads", 0, 0.0, name="Load on end A", loads=tuple(along))
    builder.box("pipe A", PartKind.PIPE, "pipe", 1, 0.0, name="Pipe, end A")


def _finish(builder: Builder, *, holds: bool) -> LoadPath:
    case, loads = builder.case, builder.loads
    last = max((part.column for part in builder.parts), default=1)
    builder.box("pipe B", PartKind.PIPE, "pipe", last + 1, 0.0, name="Pipe, end B")
    builder.box(
        "end B",
        PartKind.REACTION,
        "loads",
        last + 2,
        0.0,
        name="Load on end B",
        loads=(Quantity(name="Pressure thrust", symbol="F", value=loads.thrust, kind="force"),),
    )
    thrust = wrench((0.0 if holds else loads.thrust, 0.0, 0.0), _ZERO)
    builder.send("end A", "pipe A", builder.into + thrust, _ZERO)
    builder.send("pipe B", "end B", builder.out + thrust, _ZERO)
    if not holds:
        builder.holder = Holder.ANCHORS
        for end, column in (("A", 2), ("B", last)):
            builder.box(
                f"anchor {end}",
                PartKind.ANCHOR,
                "anchors",
                column,
                4.0,
                name=f"Main anchor {end}",
                loads=(Quantity(name="thrust", symbol="F", value=loads.thrust, kind="force"),),
            )
        builder.send("pipe A", "anchor A", thrust, _ZERO)
        builder.send("anchor B", "pipe B", thrust, _ZERO)
        builder.note(ANCHORS)
    cautions = [STORED]
    if builder.damages.effects:
        cautions.append(BEFORE)
    if builder.lost:
        cautions.insert(0, KEEP_OUT if builder.holder == Holder.NOTHING else BEFORE)
    cautions.append(ENGINEER)
    return LoadPath(
        name=case.name,
        type=case.type,
        condition=builder.bench.label,
        at_limit=builder.at_limit,
        thrust=loads.thrust,
        sources=loads.sources,
        parts=tuple(sorted(builder.parts, key=lambda part: (part.column, part.row))),
        transfers=tuple(builder.transfers),
        holder=builder.holder,
        lost=tuple(builder.lost),
        effects=builder.damages.effects,
        notes=tuple(builder.notes),
        cautions=tuple(dict.fromkeys(cautions)),
        missing=tuple(dict.fromkeys(builder.bench.missing)),
    )


def held(path: LoadPath) -> Check:
    """Whether anything holds the loads of the path, as a check."""
    lost = list(path.lost)
    return Check(
        id=f"path@{path.condition}",
        name="Something holds the thrust"
        if path.holder != Holder.ANCHORS
        else "The hardware holds what it is there for",
        symbol="F",
        outcome=Outcome.MET if path.holds else Outcome.NOT_MET,
        demand=None if lost and path.holder == Holder.ANCHORS else path.thrust,
        capacity=None if path.holds else 0.0,
        kind="force",
        source=EQUILIBRIUM,
        because=" ".join(lost)
        if lost
        else (
            f"{kilo(path.thrust)} goes through the hardware from end to end"
            if path.holder == Holder.HARDWARE
            else f"{kilo(path.thrust)} is on the main anchors, which are not judged here"
        ),
        cautions=path.cautions,
    )


def at_work(path: LoadPath) -> tuple[str, ...]:
    """Ids of the parts that carry load."""
    return tuple(
        part.id for part in path.parts if part.state in {PartState.CARRIES, PartState.WEAKENED}
    )
