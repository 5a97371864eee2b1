"""Leave and monitor: always on the table, never free."""

from __future__ import annotations

from takeup.assess.model import Confidence, JointCase, Level, Verdict
from takeup.options import parts
from takeup.options.assemble import option
from takeup.options.model import Option, Truth
from takeup.register.entities import OptionName, Quote


def build(case: JointCase, verdict: Verdict, quote: Quote | None) -> Option:
    """Leave the joint as it is, watched, until the outage after."""
    worst = max((finding.grade for finding in verdict.findings), default=None)
    act = verdict.level in {Level.ACT_NOW, Level.IN_DOUBT}
    conditions = [
        parts.condition(
            "level",
            "Nothing found demands work before or in the outage",
            Truth.NOT_MET if act else Truth.MET,
            verdict.headline,
            evidence=(f"verdict:{case.joint.tag}",),
        ),
        parts.condition(
            "grade",
            "Nothing graded 3 (act this outage) or worse",
            Truth.UNKNOWN if worst is None else Truth.NOT_MET if worst >= 3 else Truth.MET,
            "no inspection on record: walk the joint"
            if worst is None
            else f"worst grade found is {worst}",
            essential=worst is None,
        ),
        parts.condition(
            "evidence",
            "Evidence complete enough to leave it",
            Truth.UNKNOWN if verdict.level == Level.UNPROVEN else Truth.MET,
            verdict.missing[0]
            if verdict.level == Level.UNPROVEN and verdict.missing
            else f"verdict {verdict.confidence.value}",
        ),
        parts.condition(
            "confidence",
            "Verdict rests on current evidence",
            Truth.NOT_MET if verdict.confidence == Confidence.THIN else Truth.MET,
            f"verdict is {verdict.confidence.value}",
            essential=False,
        ),
    ]
    life = parts.kept(case, verdict, "bellows goes on ageing; chances are those of the verdict")
    return option(
        case,
        verdict,
        quote,
        name=OptionName.LEAVE,
        conditions=conditions,
        needs_outage=False,
        life=life,
    )
