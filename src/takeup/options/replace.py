"""Replace: a new joint, with the cause removed and a line on it."""

from __future__ import annotations

from takeup.assess.model import JointCase, Verdict
from takeup.options import metal, parts
from takeup.options.assemble import option
from takeup.options.model import Option, Truth
from takeup.register.entities import OptionName, Quote


def build(case: JointCase, verdict: Verdict, quote: Quote | None) -> Option:
    """Order and fit a new joint."""
    causes = ", ".join(parts.cause_words(cause) for cause in verdict.causes)
    suspected = "support_fault" in verdict.causes
    unknown = [
        name
        for name, value in (
            ("design pressure", case.line.design_pressure),
            ("design temperature", case.line.design_temperature),
            ("movements", case.movements or None),
            ("overall length", case.joint.face_to_face),
        )
        if value is None
    ]
    conditions = [
        parts.condition(
            "cause",
            "Cause known and removed: no like for like without a line on it",
            Truth.MET if causes and not suspected else Truth.UNKNOWN,
            f"is the support at fault, as the diagnosis says, set right and were the marks read "
            f"again? The evidence shows: {causes}"
            if suspected
            else f"the evidence shows: {causes}; the requisition must remove it"
            if causes
            else "what ended or will end this bellows? Age alone counts as a cause when it is said",
            essential=False,
        ),
        parts.condition(
            "data",
            "Data to order by",
            Truth.UNKNOWN if unknown else Truth.MET,
            f"needed for the requisition: {', '.join(unknown)}"
            if unknown
            else "pressures, temperatures, movements and length are on record",
            essential=False,
        ),
        parts.answered(
            case,
            "O8",
            "crane",
            "Crane and way in",
            "can a crane set the new joint, and is there a way in?",
        ),
        metal.answered(
            case,
            verdict,
            "O4",
            "weldable",
            "Pipe weldable: bead and penetrant test",
            "does a short bead on the pipe pass a penetrant test?",
            places=(metal.PIPE,),
            essential=False,
        ),
        parts.answered(
            case,
            "O9",
            "neighbours",
            "Neighbouring work leaves room and time",
            "does other outage work need the same place?",
            essential=False,
        ),
    ]
    life = parts.renewed(case, verdict, 1.0, "a new life")
    return option(
        case,
        verdict,
        quote,
        name=OptionName.REPLACE,
        conditions=conditions,
        needs_outage=True,
        life=life,
    )
