"""Joints of the register as a line takes them; what the register does not tell is asked for."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from takeup.errors import MissingInput, Refused, TakeupError
from takeup.register.entities import BellowsElement, HardwareKind, Joint, JointType, YesNo
from takeup.register.entities import Hardware as Item

if TYPE_CHECKING:
    from takeup.assess.model import JointCase
    from takeup.bellows.model import BellowsCase
    from takeup.desk.site import Site
    from takeup.line.model import BellowsSpring, Hardware
    from takeup.line.text import JointData

HELD = {
    JointType.SINGLE_LIMIT: HardwareKind.LIMIT_ROD,
    JointType.SINGLE_TIED: HardwareKind.TIE_ROD,
    JointType.UNIVERSAL_TIED: HardwareKind.TIE_ROD,
    JointType.UNIVERSAL_PANTOGRAPH: HardwareKind.PANTOGRAPH,
    JointType.HINGED: HardwareKind.HINGE,
    JointType.HINGED_PAIR: HardwareKind.HINGE,
    JointType.GIMBAL: HardwareKind.GIMBAL,
}
"""What holds the ends of each type; a type that is not here, not plain and not balanced is asked
for."""
PLAIN = frozenset(
    {
        JointType.SINGLE,
        JointType.UNIVERSAL,
        JointType.EXTERNAL,
        JointType.EXCHANGER,
        JointType.TOROIDAL,
    }
)
"""Nothing on the joint holds its ends: anchors do, or the tubes of an exchanger, which the line
then has to hold as a pipe beside the shell."""
BALANCED = frozenset({JointType.BALANCED_ELBOW, JointType.BALANCED_INLINE})


def joints(site: Site, tag: str) -> tuple[dict[str, JointData], tuple[str, ...]]:
    """What the register knows of the joints on line ``tag``, and what it does not tell."""
    from takeup.desk.cases import cases

    register = site.register()
    tags = [joint.tag for joint in register.of_line(Joint, tag)]
    known: dict[str, JointData] = {}
    asked: list[str] = []
    for case in cases(site, tags=tags, theory=False) if tags else ():
        try:
            known[case.joint.tag] = joint_data(case)
        except TakeupError as fault:
            asked.append(f"{case.joint.tag}: {fault}")
    return known, tuple(asked)


def joint_data(case: JointCase) -> JointData:
    """A joint of the register for a line.

    Raises :class:`takeup.errors.MissingInput` with what is to be found out, and
    :class:`takeup.errors.Refused` for a joint that the register cannot tell in full.
    """
    joint = case.joint
    if joint.type in BALANCED:
        return _balanced(case)
    if len(case.bellows) not in {1, 2}:
        raise Refused(
            f"{len(case.bellows)} bellows on record; a line takes a joint with one or two, so give "
            "this one under [[joint]] in the text"
        )
    return _data(case, tuple(_spring(case, one) for one in case.bellows), _hardware(case))


def _data(
    case: JointCase, bellows: tuple[BellowsSpring, ...], hardware: tuple[Hardware, ...]
) -> JointData:
    from takeup.line.text import JointData

    joint = case.joint
    if joint.face_to_face is None:
        raise MissingInput(joint.tag, ["overall length as installed"])
    if len(bellows) == 2 and joint.spool is None:
        raise MissingInput(joint.tag, ["length over both bellows"])
    return JointData(
        bellows=bellows,
        length=joint.face_to_face,
        over_both=joint.spool if len(bellows) == 2 else None,
        hardware=hardware,
    )


def _balanced(case: JointCase) -> JointData:
    """A pressure-balanced joint between its ends: no thrust, the rates of all its bellows.

    Of an elbow with one flow and one balancing bellows both move by the same amount, so that
    their rates add up (derived here).  Any other, and every in-line one, is asked for its rates
    from the data sheet.
    """
    import msgspec

    from takeup.assess.build import role_of
    from takeup.bellows.model import Role
    from takeup.line.model import Hardware, Hold
    from takeup.line.text import JointData

    joint = case.joint
    hardware = (Hardware(hold=Hold.BALANCED),)
    flow = [one for one in case.bellows if role_of(case, one) == Role.FLOW]
    if joint.type == JointType.BALANCED_ELBOW and len(flow) == 1 and len(case.bellows) == 2:
        first, other = (_spring(case, one) for one in case.bellows)
        cold = (first.axial_rate_cold or 0.0) + (other.axial_rate_cold or 0.0)
        both = msgspec.structs.replace(
            first, axial_rate=first.axial_rate + other.axial_rate, axial_rate_cold=cold or None
        )
        # The elbow lies between the ends of the joint: the text says how long its flow part is.
        return JointData(bellows=(both,), length=None, hardware=hardware)
    wanted = {
        "axial spring rate between the ends": joint.axial_rate,
        "angular spring rate between the ends": joint.angular_rate,
        "length over both bellows": joint.spool,
    }
    unknown = [name for name, value in wanted.items() if value is None]
    if unknown:
        raise MissingInput(joint.tag, unknown)
    assert joint.axial_rate is not None and joint.angular_rate is not None
    assert joint.spool is not None
    from takeup.line.model import BellowsSpring

    # Without thrust the diameter stands only for the angular rate, K_ang = K_ax Dm^2 / 8.
    whole = BellowsSpring(
        length=joint.spool,
        axial_rate=joint.axial_rate,
        mean_diameter=math.sqrt(8.0 * joint.angular_rate / joint.axial_rate),
    )
    return _data(case, (whole,), hardware)


def _spring(case: JointCase, one: BellowsElement) -> BellowsSpring:
    from takeup.desk.calculate import of_case

    told = of_case(case, one)
    if told.missing:
        raise MissingInput(f"{one.joint} bellows {one.letter}", list(told.missing))
    return spring_of(told)


def spring_of(case: BellowsCase) -> BellowsSpring:
    """One bellows as a line feels it: rates hot and cold, effective area, length, mass."""
    from takeup.bellows import element
    from takeup.line.model import BellowsSpring

    hot, cold = element(case), element(case, None)
    return BellowsSpring(
        length=float(hot.length),
        axial_rate=float(hot.six[0, 0]),
        axial_rate_cold=float(cold.six[0, 0]),
        mean_diameter=2.0 * math.sqrt(float(hot.thrust_area) / math.pi),
        torsion_rate=float(hot.six[3, 3]),
        mass=float(hot.mass or 0.0),
    )


def _hardware(case: JointCase) -> tuple[Hardware, ...]:
    from takeup.line.model import Hardware, Hold

    joint = case.joint
    if joint.type in PLAIN:
        return ()
    wanted = HELD.get(joint.type)
    if wanted is None:
        raise Refused(
            f"the register does not tell how a joint of type {joint.type.value!r} holds its ends; "
            "give it under [[joint]] in the text, or each hinge of a set as a joint of its own"
        )
    items = [one for one in case.hardware if one.kind == wanted]
    if not items:
        raise MissingInput(joint.tag, [f"hardware of kind {wanted.value}"])
    if wanted == HardwareKind.PANTOGRAPH:
        return (Hardware(hold=Hold.PANTOGRAPH),)
    if wanted in {HardwareKind.HINGE, HardwareKind.GIMBAL}:
        return tuple(_pins(joint, one) for one in items)
    return tuple(_rods(joint, one) for one in items)


def _pins(joint: Joint, one: Item) -> Hardware:
    from takeup.line.model import Hardware, Hold

    if one.kind == HardwareKind.HINGE and one.clock is None:
        raise MissingInput(f"{joint.tag} {one.item}", ["hour at which a hinge pin stands"])
    return Hardware(
        hold=Hold.HINGE if one.kind == HardwareKind.HINGE else Hold.GIMBAL,
        clock=one.clock if one.kind == HardwareKind.HINGE else None,
        pin_diameter=one.diameter or 0.0,
        friction=one.friction or 0.0,
        allowed=one.capacity,
    )


def _rods(joint: Joint, one: Item) -> Hardware:
    from takeup.line.model import Hardware, Hold

    wanted = {
        "number of rods": one.count,
        "rod diameter": one.diameter,
        "rod circle diameter": one.circle_diameter,
        "rod length between nuts": one.length,
        "places round the pipe with rods": one.places,
        "hour at which the first rod stands": one.clock,
        "gap at the outer nuts": one.gap_out,
        "whether there are inner nuts": one.inner_nuts,
    }
    unknown = [name for name, value in wanted.items() if value is None]
    if one.inner_nuts == YesNo.YES and one.gap_in is None:
        unknown.append("gap at the inner nuts")
    if unknown:
        raise MissingInput(f"{joint.tag} {one.item}", unknown)
    assert one.count is not None and one.places is not None and one.diameter is not None
    assert one.circle_diameter is not None and one.length is not None and one.gap_out is not None
    each, left = divmod(one.count, one.places)
    if left or not each:
        raise Refused(
            f"{one.item}: {one.count} rods cannot stand evenly at {one.places} places; correct one"
        )
    area = math.pi / 4.0 * (one.root_diameter or one.diameter) ** 2
    return Hardware(
        hold=Hold.TIED if one.kind == HardwareKind.TIE_ROD else Hold.LIMIT,
        rods=one.places,
        circle=one.circle_diameter,
        clock=one.clock,
        rod_area=each * area,
        rod_length=one.length,
        gap_out=one.gap_out,
        gap_in=one.gap_in if one.inner_nuts == YesNo.YES else None,
        # What the allowable stress, or the rated thrust of the whole set, lets the rods at one
        # place pull; bending is not in it.
        allowed=min(
            (
                *(() if one.allowable_stress is None else (one.allowable_stress * each * area,)),
                *(() if one.capacity is None else (one.capacity / one.places,)),
            ),
            default=None,
        ),
    )
