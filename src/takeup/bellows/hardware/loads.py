"""What loads the hardware at one condition: thrust, spring force, dead weight, friction."""

from __future__ import annotations

import msgspec

from takeup.bellows.hardware import stress
from takeup.bellows.hardware.model import (
    PAIRS,
    RODDED,
    HardwareCase,
    HardwareCondition,
    HardwareType,
)
from takeup.checks import Quantity
from takeup.errors import MissingInput


class Loads(msgspec.Struct, frozen=True, kw_only=True):
    """Loads [N] with, for each direction, what is unknown of them."""

    thrust: float
    axial: float
    """Thrust with the spring force and weight that add to it; relief is not counted."""
    across: float
    friction: float | None
    """Coefficient at the pins."""
    lacking_axial: tuple[str, ...]
    lacking_across: tuple[str, ...]
    sources: tuple[Quantity, ...]
    notes: tuple[str, ...]


def take(case: HardwareCase, condition: HardwareCondition) -> Loads:
    """Loads of a condition.

    Raises :class:`takeup.errors.MissingInput` where the thrust itself is unknown; any other
    unknown load is left out and named.
    """
    sources: list[Quantity] = []
    notes: list[str] = []
    if condition.thrust is not None:
        thrust = condition.thrust
    elif condition.pressure is not None and case.effective_area is not None:
        thrust = condition.pressure * case.effective_area
        sources.append(
            Quantity(name="Pressure", symbol="P", value=condition.pressure, kind="pressure")
        )
        sources.append(
            Quantity(name="Effective area", symbol="Ae", value=case.effective_area, kind="area")
        )
    else:
        names = [] if condition.pressure is not None else [f"pressure at {condition.name}"]
        names += [] if case.effective_area is not None else ["effective area of the bellows"]
        raise MissingInput(f"Load path at {condition.name}", names)
    sources.append(Quantity(name="Pressure thrust", symbol="F", value=thrust, kind="force"))
    axial, lacking = thrust, []
    if case.type in RODDED:
        spring = _spring(case, condition)
        if isinstance(spring, str):
            lacking.append(spring)
        else:
            sources.append(Quantity(name="Spring force", symbol="Ka x", value=spring, kind="force"))
            axial += max(0.0, spring)
            if spring < 0.0:
                notes.append(
                    "The bellows is stretched and pulls its ends together; that relief is not "
                    "counted, because a bellows that has taken a set no longer gives it."
                )
    if case.type != HardwareType.PANTOGRAPH:
        if case.weight_along is None:
            lacking.append("dead weight along the pipe")
        else:
            sources.append(
                Quantity(name="Dead weight along", value=case.weight_along, kind="force")
            )
            axial += max(0.0, case.weight_along)
            if case.weight_along < 0.0:
                notes.append("Dead weight that pushes the joint shut is not counted as relief.")
    across, lacking_across = 0.0, []
    for name, value in (
        ("dead weight across the pipe", case.weight_across),
        ("other load across the pipe", case.lateral_load),
    ):
        if value is None:
            if case.type not in RODDED:
                lacking_across.append(name)
        else:
            across += value
            sources.append(Quantity(name=name[0].upper() + name[1:], value=value, kind="force"))
    if across and case.weight_across and case.lateral_load:
        notes.append(
            "Weight and other load across the pipe are added as if they acted one way, in the "
            "plane in which the joint deflects."
        )
    return Loads(
        thrust=thrust,
        axial=axial,
        across=across,
        friction=case.pins.friction if case.pins else None,
        lacking_axial=tuple(lacking),
        lacking_across=tuple(lacking_across),
        sources=tuple(sources),
        notes=tuple(notes),
    )


def _spring(case: HardwareCase, condition: HardwareCondition) -> float | str:
    """- Ka x, positive pushes the ends apart [N]; a name where it is unknown."""
    if condition.axial is None:
        return "axial movement of the bellows"
    if condition.axial == 0.0:
        return 0.0
    if case.axial_rate is None:
        return "axial rate of the bellows"
    return -case.axial_rate * condition.axial


def pin_friction(case: HardwareCase, force: float) -> float | None:
    """Friction moment mu V d / 2 of one pin that carries ``force`` [N.m]; unknown: ``None``.

    Both pins of a hinge together: mu F d / 2 with the whole thrust F.
    """
    if case.pins is None or case.pins.friction is None:
        return None
    if case.pins.friction == 0.0:
        return 0.0
    if case.pins.diameter is None:
        return None
    return case.pins.friction * force * case.pins.diameter / 2.0


def turning_moment(
    case: HardwareCase, condition: HardwareCondition, friction: float | None
) -> tuple[float, tuple[str, ...]]:
    """Moment that turning one hinge of a pair takes: K theta plus pin friction [N.m].

    Returns what is known of it and the names of what is not.
    """
    moment, lacking = 0.0, []
    if friction is None:
        lacking.append("friction coefficient and diameter of the pins")
    else:
        moment += friction
    if condition.angular is None:
        lacking.append("rotation of each hinge")
    elif condition.angular > 0.0:
        if case.angular_rate is None:
            lacking.append("angular rate of one bellows")
        else:
            moment += case.angular_rate * condition.angular
    return moment, tuple(lacking)


def pair_shear(case: HardwareCase, moment: float) -> float | None:
    """Shear 2 M / C that turns both hinges of a pair, C apart [N]; ``None`` where C is unknown."""
    if case.type not in PAIRS:
        return 0.0
    if moment == 0.0:
        return 0.0
    return None if case.pair_distance is None else 2.0 * moment / case.pair_distance


def equalising_force(
    case: HardwareCase, condition: HardwareCondition
) -> tuple[float, tuple[str, ...]]:
    """Force the linkage puts on the spool along the pipe [N], and what is unknown of it.

    The linkage holds the spool midway between the ends, so each bellows takes x/2 and pushes
    back with K x/2.  Along the pipe the spool carries the difference of both and its own
    weight: G = |KA - KB| |x| / 2 + |W|.  Each end of the joint gets G/2 from the linkage.
    """
    force, lacking = 0.0, []
    if condition.axial is None:
        lacking.append("axial movement of the joint")
    elif condition.axial != 0.0:
        if case.axial_rate is None:
            lacking.append("axial rate of bellows A")
        if case.axial_rate_b is None:
            lacking.append("axial rate of bellows B")
        if case.axial_rate is not None and case.axial_rate_b is not None:
            force += abs(case.axial_rate - case.axial_rate_b) * abs(condition.axial) / 2.0
    if case.weight_along is None:
        lacking.append("dead weight of the spool along the pipe")
    else:
        force += abs(case.weight_along)
    return force, tuple(lacking)


def rod_stiffness(case: HardwareCase, modulus: float | None) -> float | None:
    """E A / L of one rod on its least section [N/m]; ``None`` where a part of it is unknown."""
    rods = case.rods
    if rods is None or rods.length is None or modulus is None:
        return None
    least = rods.root_diameter
    if least is None and rods.diameter is not None and rods.thread_pitch is not None:
        least = stress.root_diameter(rods.diameter, rods.thread_pitch)
    if least is None:
        return None
    if rods.shank_diameter is not None:
        least = min(least, rods.shank_diameter)
    return modulus * stress.round_area(least) / rods.length
