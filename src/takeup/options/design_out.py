"""Design out: pipe in place of the joint, a failure point gone for good."""

from __future__ import annotations

from takeup.assess import expected as expecting
from takeup.assess.model import JointCase, Verdict
from takeup.options import parts
from takeup.options.assemble import option
from takeup.options.model import Option, Truth
from takeup.register.entities import MovementRole, OptionName, Quote


def build(case: JointCase, verdict: Verdict, quote: Quote | None) -> Option:
    """Take the joint out and let pipe, loop or springs carry the movement."""
    expected = [m for m in case.movements if m.role == MovementRole.EXPECTED]
    moves = [abs(m.axial) for m in expected if m.axial is not None]
    computed = expecting.move(case)
    if computed is not None:
        moves = [abs(one.move.axial) for one in expecting.cases(case) if one.move is not None]
        moves.append(abs(computed.axial))
    axial = max(moves, default=None)
    small = axial is not None and axial <= 0.015
    conditions = [
        parts.condition(
            "movement",
            "Movement small enough for pipe to take",
            Truth.UNKNOWN if axial is None else Truth.MET if small else Truth.NOT_MET,
            "what movement does theory expect here?"
            if axial is None
            else f"expected axial movement {1e3 * axial:.0f} mm"
            + (" by the model of the line" if computed is not None else "")
            + "; above about 15 mm a loop or a new "
            "route is needed (the line study decides)",
            evidence=tuple(m.ref for m in expected),
            essential=axial is None,
        ),
        parts.answered(
            case,
            "O10",
            "stress",
            "Line passes without the joint",
            "does the line pass with this joint locked or taken out? A stress review is needed",
        ),
        parts.answered(
            case,
            "O13",
            "process",
            "Process and route allow it",
            "can a change of route, process or support make the joint unnecessary?",
        ),
        parts.answered(
            case,
            "O11",
            "thrust",
            "Anchors, nozzles and hangers reviewed for the loads",
            "have anchors and nozzles been calculated for the loads without the joint?",
        ),
    ]
    to_next, _ = parts.as_is(case, verdict)
    life = parts.Life(
        to_next=to_next,
        to_second=0.99 if to_next is not None and case.second_outage is not None else None,
        words="no bellows any more: as pipe, some 30 years (common practice)",
    )
    return option(
        case,
        verdict,
        quote,
        name=OptionName.DESIGN_OUT,
        conditions=conditions,
        needs_outage=True,
        life=life,
    )
