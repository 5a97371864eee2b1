"""Same-size clamshell: new bellows in halves on the old cuffs, single-ply, in the outage."""

from __future__ import annotations

from takeup.assess.model import JointCase, Verdict
from takeup.options import metal, parts
from takeup.options.assemble import option
from takeup.options.model import Option, Truth
from takeup.register.entities import OptionName, Quote


def build(case: JointCase, verdict: Verdict, quote: Quote | None) -> Option:
    """Cut the old bellows out and weld new halves in its place."""
    plies = parts.plies(case)
    share = case.limits.value("life.clamshell")
    conditions = [
        metal.cuffs(case, verdict),
        metal.answered(
            case,
            verdict,
            "O4",
            "weldable",
            "Cuffs weldable: bead and penetrant test",
            "does a short bead on the cuffs pass a penetrant test?",
            places=(*metal.bellows(case), metal.PIPE),
        ),
        parts.answered(
            case,
            "O14",
            "reach",
            "Both cuffs and seams reachable",
            "can hands, torch and purge reach both cuffs all round?",
        ),
        parts.condition(
            "single_ply",
            "A single-ply bellows is tolerable here",
            Truth.UNKNOWN if plies is None else Truth.MET if plies == 1 else Truth.NOT_MET,
            "how many plies has the bellows?"
            if plies is None
            else "the bellows is single-ply today"
            if plies == 1
            else f"the bellows has {plies} plies: a field shell loses the guard of the second",
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
    life = parts.renewed(case, verdict, share, f"{share:.0%} of a new life (two more seams)")
    return option(
        case,
        verdict,
        quote,
        name=OptionName.CLAMSHELL,
        conditions=conditions,
        needs_outage=True,
        life=life,
    )
