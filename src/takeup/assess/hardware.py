"""Load-carrying hardware of a joint: sizes on record and what was seen wrong, traced and checked.

Only hardware that holds or may come to hold the thrust.  A size that is not on record leaves
its checks not evaluated; it never moves a verdict either way.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from typing import Any

import msgspec

from takeup.assess import expected
from takeup.assess.build import movements, role_of
from takeup.assess.defects import Seen, defects
from takeup.assess.model import Evaluation, JointCase
from takeup.bellows.hardware import (
    Defect,
    HardwareCase,
    HardwareReport,
    HardwareType,
    check_hardware,
)
from takeup.bellows.hardware.model import (
    HELD_BY_ANCHORS,
    HardwareCondition,
    Links,
    Lugs,
    Pins,
    Plates,
    Ring,
    RingShape,
    Rods,
)
from takeup.bellows.model import Role
from takeup.errors import TakeupError
from takeup.register.entities import Hardware, HardwareKind, JointType, YesNo

_TYPES = {
    HardwareKind.TIE_ROD: HardwareType.TIE_RODS,
    HardwareKind.LIMIT_ROD: HardwareType.LIMIT_RODS,
    HardwareKind.HINGE: HardwareType.HINGE,
    HardwareKind.SLOTTED_HINGE: HardwareType.SLOTTED_HINGE,
    HardwareKind.GIMBAL: HardwareType.GIMBAL,
    HardwareKind.PANTOGRAPH: HardwareType.PANTOGRAPH,
}
_PAIRS = frozenset({JointType.HINGED_PAIR, JointType.HINGED_TRIPLE})
SIZES = (
    "allowable_stress", "circle_diameter", "thread_pitch", "root_diameter", "length", "lug_arm",
    "lug_width", "lug_thickness", "gussets", "gusset_thickness", "gusset_length", "weld_leg",
    "plate_width", "plate_thickness", "fork_thickness", "hole_diameter", "edge_distance",
    "plate_length", "pin_planes", "pin_gap", "friction", "ring_radius", "ring_side",
    "ring_radial", "ring_axial", "bar_angle",
)  # fmt: skip
"""Fields that make a calculation worth while; number and diameter alone check nothing."""


class Held(msgspec.Struct, frozen=True, kw_only=True):
    """One item of hardware, worked out."""

    item: str
    sized: bool
    """Whether sizes are on record, not only that it is there."""
    case: HardwareCase
    report: HardwareReport | None
    """``None`` where the sizes cannot be true."""
    fault: str = ""
    unread: tuple[Seen, ...] = ()
    """What was seen wrong that the calculation does not know of."""
    read: tuple[Seen, ...] = ()


def traceable(item: Hardware) -> bool:
    """Whether a kind of hardware carries load that the engine can trace."""
    return item.kind in _TYPES


def hardware(
    case: JointCase, evaluation: Evaluation, *, only_wrong: bool = False
) -> tuple[Held, ...]:
    """Trace the load through every item of load-carrying hardware that has sizes or defects.

    ``only_wrong`` leaves out items on which nothing was read as a defect.
    """
    found = []
    for item in case.hardware:
        if not traceable(item):
            continue
        sized = any(getattr(item, name) is not None for name in SIZES)
        seen = defects(case, item)
        read = tuple(one for one in seen if one.defect is not None)
        if not read and (only_wrong or not sized):
            continue
        made = hardware_case(case, item, evaluation, tuple(s.defect for s in read if s.defect))
        report, fault = None, ""
        try:
            report = check_hardware(made)
        except TakeupError as reason:
            fault = str(reason)
        found.append(
            Held(
                item=item.item,
                sized=sized,
                case=made,
                report=report,
                fault=fault,
                read=read,
                unread=tuple(one for one in seen if one.defect is None),
            )
        )
    return tuple(found)


def hardware_case(
    case: JointCase, item: Hardware, evaluation: Evaluation, found: tuple[Defect, ...] = ()
) -> HardwareCase:
    """The engine's input for one item; what the register does not say stays unknown."""
    kind = _TYPES[item.kind]
    if case.joint.type in _PAIRS and kind == HardwareType.HINGE:
        kind = HardwareType.HINGE_PAIR
    metal: dict[str, Any] = {
        "material": _known(item.material),
        "allowable_stress": item.allowable_stress,
        "allowable_source": item.allowable_source,
    }
    rodded = item.kind in {HardwareKind.TIE_ROD, HardwareKind.LIMIT_ROD}
    plated = item.kind in {HardwareKind.HINGE, HardwareKind.SLOTTED_HINGE, HardwareKind.GIMBAL}
    barred = item.kind == HardwareKind.PANTOGRAPH
    return HardwareCase(
        name=f"{case.joint.tag} {item.item}",
        type=kind,
        effective_area=effective_area(case, evaluation),
        pipe_diameter=case.line.diameter,
        axial_rate=_rate(evaluation, "axial_rate", 0),
        axial_rate_b=_rate(evaluation, "axial_rate", 1),
        angular_rate=_rate(evaluation, "angular_rate", 0),
        **_loads(case, item),
        pair_distance=_between(case),
        at_limit=False if kind in HELD_BY_ANCHORS else None,
        rods=Rods(
            count=item.count,
            circle_diameter=item.circle_diameter,
            diameter=item.diameter,
            thread_pitch=item.thread_pitch,
            root_diameter=item.root_diameter,
            length=item.length,
            **metal,
        )
        if rodded and item.count is not None
        else None,
        lugs=Lugs(
            arm=item.lug_arm,
            width=item.lug_width,
            thickness=item.lug_thickness,
            gussets=item.gussets,
            gusset_thickness=item.gusset_thickness,
            gusset_length=item.gusset_length,
            weld_leg=item.weld_leg,
            **metal,
        ),
        plates=Plates(
            circle_diameter=item.circle_diameter,
            width=item.plate_width,
            thickness=item.plate_thickness,
            fork_thickness=item.fork_thickness,
            hole_diameter=item.hole_diameter,
            edge_distance=item.edge_distance,
            length=item.plate_length,
            **metal,
        )
        if plated
        else None,
        pins=Pins(
            diameter=item.diameter,
            planes=item.pin_planes,
            gap=item.pin_gap,
            friction=item.friction,
            **metal,
        )
        if plated or barred
        else None,
        ring=Ring(
            shape=item.ring_shape or RingShape.ROUND,
            mean_radius=item.ring_radius,
            side=item.ring_side,
            radial=item.ring_radial,
            axial=item.ring_axial,
            hole_diameter=item.hole_diameter,
            **metal,
        )
        if item.kind == HardwareKind.GIMBAL
        else None,
        links=Links(
            bars=item.bars or 2,
            length=item.length,
            angle=item.bar_angle,
            width=item.plate_width,
            thickness=item.plate_thickness,
            hole_diameter=item.hole_diameter,
            **metal,
        )
        if barred
        else None,
        conditions=_conditions(case, item),
        defects=found,
    )


def _loads(case: JointCase, item: Hardware) -> dict[str, Any]:
    """Loads beside the thrust [N]: as on record, else of pins by the model of the line, hot.

    The model gives all that lies along or across the joint together, weight among it.
    """
    along, across, other = item.weight_along, item.weight_across, item.lateral_load
    found, model = expected.theory(case), case.theory
    pins = [
        pull
        for pull in (found.pulls if found is not None and model is not None else ())
        if model is not None and pull.state == model.hot and pull.most is None
    ]
    if pins and along is None and all(pull.thrust is not None for pull in pins):
        along = max(0.0, *(pull.force - (pull.thrust or 0.0) for pull in pins))
    if pins and across is None and other is None:
        across, other = 0.0, max(pull.across for pull in pins)
    return {"weight_along": along, "weight_across": across, "lateral_load": other}


def _conditions(case: JointCase, item: Hardware) -> tuple[HardwareCondition, ...]:
    """Operating and design; a test is not judged here.  Vacuum loads no tie."""
    hot = case.line.shell_temperature if item.on_hot_pipe == YesNo.YES else None
    moves = movements(case)
    axials = [move.axial for move in moves]
    angles = [math.hypot(move.angular, move.angular_across) for move in moves]
    computed = expected.move(case)  # known even where nobody entered how often it comes
    if computed is not None:
        axials.append(computed.axial)
        angles.append(computed.tilt)
    axial, angular = min(axials, default=None), max(angles, default=None)
    return tuple(
        HardwareCondition(
            name=name,
            pressure=pressure,
            temperature=item.temperature,
            lug_temperature=hot if hot is not None else item.temperature,
            axial=axial,
            angular=angular,
        )
        for name, pressure in (
            ("operating", case.line.operating_pressure),
            ("design", case.line.design_pressure),
        )
        if pressure is not None and pressure >= 0.0
    )


@functools.cache
def _known(metal: str) -> str:
    """The alloy's name in the tables, or nothing; cached: looking for a near name is slow."""
    from takeup import materials
    from takeup.errors import UnknownName

    try:
        return materials.alloy(metal).name if metal else ""
    except UnknownName:
        return ""


def effective_area(case: JointCase, evaluation: Evaluation) -> float | None:
    """Largest effective area of the bellows that the line flows through [m2].

    The balancing bellows of a pressure-balanced joint makes thrust the other way; its area
    counts only where that of no flow bellows is known.
    """
    balancing = {one.letter for one in case.bellows if role_of(case, one) == Role.BALANCING}
    areas = [
        (letter in balancing, figure.value)
        for letter, report in evaluation.bellows
        if (figure := report.figure("effective_area")) is not None and figure.value is not None
    ]
    flow = [area for balances, area in areas if not balances]
    return max(flow or [area for _, area in areas], default=None)


def _rate(evaluation: Evaluation, id: str, at: int) -> float | None:
    if at >= len(evaluation.bellows):
        return None
    figure = evaluation.bellows[at][1].figure(id)
    return None if figure is None else figure.value


def _between(case: JointCase) -> float | None:
    """Distance between the middles of both bellows, where the pins stand."""
    one = next(iter(case.bellows), None)
    if case.joint.spool is None or one is None or one.pitch is None or one.convolutions is None:
        return None
    distance = case.joint.spool - one.convolutions * one.pitch
    return distance if distance > 0.0 else None


def asked(held: Sequence[Held]) -> tuple[str, ...]:
    """What to measure so that hardware with sizes on record can be checked in full."""
    return tuple(
        f"hardware {one.item}: {', '.join(one.report.missing[:6])}"
        + (f" and {len(one.report.missing) - 6} more" if len(one.report.missing) > 6 else "")
        for one in held
        if one.sized and one.report is not None and one.report.missing
    )
