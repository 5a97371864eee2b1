"""Box in: an enclosure round the joint, dated, its thrust and its dead stop reckoned with."""

from __future__ import annotations

from takeup.assess.model import JointCase, ThrustHolder, Verdict
from takeup.options import parts
from takeup.options.assemble import option
from takeup.options.live_work import hot_work
from takeup.options.model import Option, Truth
from takeup.register.entities import OptionName, Quote


def build(case: JointCase, verdict: Verdict, quote: Quote | None) -> Option:
    """Enclose the joint for one run at most."""
    held = verdict.thrust.holder not in {ThrustHolder.NOBODY, ThrustHolder.UNKNOWN}
    conditions = [
        *hot_work(case),
        parts.condition(
            "holder",
            "Who holds the thrust today is known",
            Truth.MET if held else Truth.NOT_MET,
            verdict.thrust.why,
        ),
        parts.answered(
            case,
            "O10",
            "locked",
            "Line passes with the joint locked, hot and after cool-down",
            "does the line pass with this joint locked? Growth that was taken up must go somewhere",
        ),
        parts.answered(
            case,
            "O11",
            "thrust",
            "Anchors and hardware calculated for the box's thrust",
            "have anchors and hardware been calculated for the thrust on the ends of the box?",
        ),
        parts.answered(
            case,
            "O2",
            "room",
            "Room round the joint",
            "is there room round rings, rods and steel for a box in every position?",
        ),
    ]
    return option(
        case,
        verdict,
        quote,
        name=OptionName.BOX_IN,
        conditions=conditions,
        needs_outage=False,
        life=temporary(case, verdict, "box"),
        expires=True,
    )


def temporary(case: JointCase, verdict: Verdict, what: str) -> parts.Life:
    """Chances with a temporary enclosure: one run, then it must come off."""
    belief = case.limits.value("belief.temporary")
    to_next, _ = parts.as_is(case, verdict)
    return parts.Life(
        to_next=None if to_next is None else max(to_next, belief),
        to_second=None if to_next is None or case.second_outage is None else belief,
        words=f"{what} holds for one run at most and must come off at the outage after it is "
        f"fitted; {belief:.0%} is the site's belief, not a calculation",
    )
