"""Box in: an enclosure round the joint, dated, its thrust and its dead stop reckoned with."""

from __future__ import annotations

import msgspec

from takeup.assess.expected import without
from takeup.assess.model import JointCase, ThrustHolder, Verdict
from takeup.checks import LimitKind
from takeup.options import parts
from takeup.options.assemble import option
from takeup.options.live_work import hot_work
from takeup.options.model import Condition, Option, Truth
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
        locked(case),
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
    made = option(
        case,
        verdict,
        quote,
        name=OptionName.BOX_IN,
        conditions=conditions,
        needs_outage=False,
        life=temporary(case, verdict, "box"),
        expires=True,
    )
    own = None if case.theory is None else case.theory.of(case.joint.tag)
    if own is None or own.locked is None:
        return made
    more = tuple(one for one in own.locked.cautions if one not in made.cautions)
    return msgspec.structs.replace(made, cautions=(*made.cautions, *more))


def locked(case: JointCase) -> Condition:
    """Whether the line passes with the joint locked: as answered, and by the model of the line.

    The model holds the joint where it stands hot and goes through the next cool-down and
    heat-up.  What gives way by it blocks; a limit that nobody stated leaves it open; an answer
    that says otherwise than the model is a contradiction and settles nothing.
    """
    text = "Line passes with the joint locked, hot and after cool-down"
    said = parts.answered(
        case,
        "O10",
        "locked",
        text,
        "does the line pass with this joint locked? Growth that was taken up must go somewhere",
    )
    model = case.theory
    own = None if model is None else model.of(case.joint.tag)
    if model is None or own is None or own.locked is None:
        why = without(case) if own is None else f"it could not be worked out: {own.lock_fault}"
        if said.truth != Truth.UNKNOWN:
            return said
        return parts.condition(
            "locked", text, Truth.UNKNOWN, f"not evaluated by a line model ({why}); {said.because}"
        )
    found = own.locked
    if found.share is None:
        truth, words = Truth.UNKNOWN, "by the model of the line no limit is known"
    elif found.share > 1.0:
        truth = Truth.NOT_MET
        words = (
            f"by the model of the line {found.part} gives way first, {found.share:.2f} of its "
            f"limit ({found.when}), locked in {found.state!r}"
        )
    else:
        truth = Truth.UNKNOWN if found.unstated else Truth.MET
        words = (
            f"by the model of the line {found.part} is nearest to its limit, {found.share:.2f} "
            f"({found.when}), locked in {found.state!r}"
        )
    if found.unstated and truth == Truth.UNKNOWN:
        words += f"; what load is allowed on {', '.join(found.unstated[:4])}?"
    evidence = (f"line_model:{model.line}", *said.evidence)
    if {said.truth, truth} == {Truth.MET, Truth.NOT_MET}:
        truth = Truth.UNKNOWN
        words += f"; this contradicts the answer {said.because!r}: settle which holds"
    elif said.truth != Truth.UNKNOWN and truth == Truth.UNKNOWN:
        truth, words = said.truth, f"{said.because}; {words}"
    return parts.condition(
        "locked",
        text,
        truth,
        words,
        evidence=evidence,
        source=model.source,
        limit_kind=LimitKind.DERIVED,
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
