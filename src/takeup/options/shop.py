"""Shop refurbishment: the joint travels, comes back with new bellows."""

from __future__ import annotations

from takeup.assess.model import JointCase, Verdict
from takeup.options import metal, parts
from takeup.options.assemble import option
from takeup.options.model import Option
from takeup.register.entities import OptionName, Quote, YesNo


def build(case: JointCase, verdict: Verdict, quote: Quote | None) -> Option:
    """Cut the joint out, renew it in a shop, weld it back."""
    share = case.limits.value("life.shop")
    conditions = [
        metal.answered(
            case,
            verdict,
            "O6",
            "carcass",
            "Pipe ends and hardware worth keeping",
            "are pipe ends, rings and rods sound enough for another life?",
            places=metal.carcass(case),
        ),
        metal.answered(
            case,
            verdict,
            "O4",
            "weldable",
            "Pipe weldable: bead and penetrant test at two places",
            "does a short bead near the old cuffs pass a penetrant test?",
            places=(metal.PIPE,),
        ),
        parts.answered(
            case,
            "O8",
            "crane",
            "Crane and way out",
            "can a crane take the joint with its refractory, and is there a way out and back?",
        ),
        parts.answered(
            case,
            "O12",
            "slot",
            "Shop slot in the window",
            "has a shop confirmed a slot in the outage window?",
        ),
        parts.answered(
            case,
            "O5",
            "magnet",
            "Magnet test of the pipe clean",
            "does a magnet pull on 300-series pipe?",
            essential=False,
        ),
        parts.recorded(
            case.joint.spare,
            YesNo.YES,
            "spare",
            "A spare bridges the shop time",
            "is there a spare of this joint on site?",
            (case.joint.ref,),
            essential=False,
        ),
    ]
    life = parts.renewed(case, verdict, share, f"{share:.0%} of a new life")
    return option(
        case,
        verdict,
        quote,
        name=OptionName.SHOP,
        conditions=conditions,
        needs_outage=True,
        life=life,
    )
