"""Joints of the register as a line takes them; what the register does not tell is asked for."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from takeup.errors import MissingInput, Refused, TakeupError
from takeup.register.entities import BellowsElement, HardwareKind, Joint, JointType
from takeup.register.entities import Hardware as Item

if TYPE_CHECKING:
    from takeup.bellows.model import BellowsCase
    from takeup.desk.site import Site
    from takeup.line.model import BellowsSpring, Hardware
    from takeup.line.text import JointData

HELD = {
    JointType.SINGLE_LIMIT: HardwareKind.LIMIT_ROD,
    JointType.SINGLE_TIED: HardwareKind.TIE_ROD,
    JointType.UNIVERSAL_TIED: HardwareKind.TIE_ROD,
    JointType.UNIVERSAL_PANTOGRAPH: HardwareKind.PANTOGRAPH,
    JointType.GIMBAL: HardwareKind.GIMBAL,
}
"""What holds the ends of each type; a type that is not here and not plain is asked for."""
PLAIN = frozenset({JointType.SINGLE, JointType.UNIVERSAL})


def joints(site: Site, tag: str) -> tuple[dict[str, JointData], tuple[str, ...]]:
    """What the register knows of the joints on line ``tag``, and what it does not tell."""
    register = site.register()
    known: dict[str, JointData] = {}
    asked: list[str] = []
    for joint in register.of_line(Joint, tag):
        try:
            known[joint.tag] = _joint(site, joint)
        except TakeupError as fault:
            asked.append(f"{joint.tag}: {fault}")
    return known, tuple(asked)


def _joint(site: Site, joint: Joint) -> JointData:
    from takeup.line.text import JointData

    bellows = site.register().bellows(joint.tag)
    if len(bellows) not in {1, 2}:
        raise Refused(
            f"{len(bellows)} bellows on record; a line takes a joint with one or two, so give this "
            "one under [[joint]] in the text"
        )
    if joint.face_to_face is None:
        raise MissingInput(joint.tag, ["overall length as installed"])
    if len(bellows) == 2 and joint.spool is None:
        raise MissingInput(joint.tag, ["length over both bellows"])
    return JointData(
        bellows=tuple(_spring(site, one) for one in bellows),
        length=joint.face_to_face,
        over_both=joint.spool if len(bellows) == 2 else None,
        hardware=_hardware(site, joint),
    )


def _spring(site: Site, one: BellowsElement) -> BellowsSpring:
    from takeup.desk.calculate import from_register

    return spring_of(from_register(site, one.joint, one.letter, theory=False))


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


def _hardware(site: Site, joint: Joint) -> tuple[Hardware, ...]:
    from takeup.line.model import Hardware, Hold

    if joint.type in PLAIN:
        return ()
    wanted = HELD.get(joint.type)
    items = [one for one in site.register().of_joint(Item, joint.tag) if one.kind == wanted]
    if wanted is None or wanted == HardwareKind.LIMIT_ROD:
        raise Refused(
            f"the register does not tell how a joint of type {joint.type.value!r} holds its ends "
            "(pin axes, gaps); give it under [[joint]] in the text"
        )
    if not items:
        raise MissingInput(joint.tag, [f"hardware of kind {wanted.value}"])
    if wanted == HardwareKind.PANTOGRAPH:
        return (Hardware(hold=Hold.PANTOGRAPH),)
    if wanted == HardwareKind.GIMBAL:
        return tuple(
            Hardware(
                hold=Hold.GIMBAL, pin_diameter=one.diameter or 0.0, friction=one.friction or 0.0
            )
            for one in items
        )
    return tuple(_rods(joint, one) for one in items)


def _rods(joint: Joint, one: Item) -> Hardware:
    from takeup.line.model import Hardware, Hold

    unknown = [
        name
        for name, value in (
            ("number of rods", one.count),
            ("rod diameter", one.diameter),
            ("rod circle diameter", one.circle_diameter),
        )
        if value is None
    ]
    if unknown:
        raise MissingInput(f"{joint.tag} {one.item}", unknown)
    assert one.count is not None and one.diameter is not None and one.circle_diameter is not None
    area = math.pi / 4.0 * (one.root_diameter or one.diameter) ** 2
    return Hardware(
        hold=Hold.TIED,
        rods=one.count,
        circle=one.circle_diameter,
        rod_area=area,
        rod_length=one.length or 0.0,
        # What the allowable stress on record lets a rod pull; bending is not in it.
        allowed=None if one.allowable_stress is None else one.allowable_stress * area,
    )
