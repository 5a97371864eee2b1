"""Online oversized clamshell: a larger bellows in halves over the old one, on the live line."""

from __future__ import annotations

from takeup.assess.model import JointCase, ThrustHolder, Verdict
from takeup.options import parts
from takeup.options.assemble import option
from takeup.options.box_in import temporary
from takeup.options.live_work import hot_work
from takeup.options.model import Condition, Option, Truth
from takeup.register.entities import JointType, OptionName, Quote

RATIO = 1.25
"""Diameter of the larger shell over that of the old bellows, until it is designed."""


def build(case: JointCase, verdict: Verdict, quote: Quote | None) -> Option:
    """Weld a larger shell over the bellows while the unit runs."""
    conditions = [
        *hot_work(case),
        parts.answered(
            case,
            "O2",
            "room",
            "Room for the larger shell in every position",
            "is there room between crowns and rings, rods or steel in the hot position?",
        ),
        parts.answered(
            case,
            "O14",
            "reach",
            "Cuffs and seams reachable",
            "can the seams be reached all round while the unit runs?",
        ),
        _thrust(case, verdict),
        _gimbal(case),
    ]
    return option(
        case,
        verdict,
        quote,
        name=OptionName.ONLINE_CLAMSHELL,
        conditions=conditions,
        needs_outage=False,
        life=temporary(case, verdict, "shell"),
        expires=True,
    )


def _thrust(case: JointCase, verdict: Verdict) -> Condition:
    seen = parts.answered(
        case,
        "O11",
        "thrust",
        "Anchors and hardware calculated for the larger thrust area",
        f"thrust grows with the square of the diameter (about {RATIO**2:.2f} times): "
        "have anchors and hardware been calculated for it?",
    )
    if verdict.thrust.holder in {ThrustHolder.NOBODY, ThrustHolder.UNKNOWN}:
        return parts.condition(
            "thrust", seen.text, Truth.NOT_MET, f"who holds the thrust today: {verdict.thrust.why}"
        )
    return seen


def _gimbal(case: JointCase) -> Condition:
    boxed = case.joint.type in {JointType.GIMBAL, JointType.HINGED}
    return parts.condition(
        "hardware",
        "No gimbal box or hinge plates over the bellows",
        Truth.UNKNOWN if boxed else Truth.MET,
        "do gimbal ring or hinge plates leave a way for the halves?"
        if boxed
        else f"a {case.joint.type.value} joint",
        essential=boxed,
    )
