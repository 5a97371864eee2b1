"""In-place refurbishment: hardware, rings, liner, refractory renewed; the bellows stays."""

from __future__ import annotations

from takeup.assess.model import JointCase, Level, Mechanism, Verdict
from takeup.options import metal, parts
from takeup.options.assemble import option
from takeup.options.model import Option, Truth
from takeup.register.entities import OptionName, Quote

_AROUND = frozenset(
    {
        Mechanism.NEIGHBOURS,
        Mechanism.THRUST,
        Mechanism.HOT,
        Mechanism.COLD,
        Mechanism.ATTACHMENTS,
        Mechanism.MOVEMENT,
    }
)
_BELLOWS = (Mechanism.PLY, Mechanism.PRESSURE, Mechanism.DAMAGE, Mechanism.AGE)


def build(case: JointCase, verdict: Verdict, quote: Quote | None) -> Option:
    """Renew what surrounds a sound bellows."""
    bad = [
        result
        for result in verdict.mechanisms
        if result.mechanism in _BELLOWS and result.level in {Level.IN_DOUBT, Level.ACT_NOW}
    ]
    open_ = [
        result
        for result in verdict.mechanisms
        if result.mechanism == Mechanism.PLY and result.level == Level.UNPROVEN
    ]
    truth = Truth.NOT_MET if bad else Truth.UNKNOWN if open_ else Truth.MET
    conditions = [
        parts.condition(
            "bellows",
            "Bellows itself sound: it stays and its age goes on",
            truth,
            bad[0].summary
            if bad
            else (open_[0].missing or (open_[0].summary,))[0]
            if open_
            else "nothing found against the bellows",
            evidence=(f"verdict:{case.joint.tag}",),
        ),
        metal.answered(
            case,
            verdict,
            "O6",
            "carcass",
            "Pipe ends and hardware worth keeping",
            "are pipe ends, rings and rods sound enough for another life?",
            places=metal.carcass(case),
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
    life = parts.kept(case, verdict, "hardware renewed, bellows age unchanged")
    return option(
        case,
        verdict,
        quote,
        name=OptionName.IN_PLACE,
        conditions=conditions,
        needs_outage=True,
        life=_mended(case, verdict, life),
    )


def _mended(case: JointCase, verdict: Verdict, life: parts.Life) -> parts.Life:
    """When only the surroundings were bad, the bellows then fares as its class does."""
    survival = verdict.evaluation.survival
    if verdict.governing not in _AROUND:
        return _conditional(life)
    if survival is None or life.to_second is None or survival.to_next <= 0:
        return life
    return parts.Life(
        to_next=life.to_next,
        to_second=survival.to_second / survival.to_next,
        words=life.words,
    )


def _conditional(life: parts.Life) -> parts.Life:
    """Chance of the run after the outage, given it lasts to the outage."""
    if life.to_next is None or life.to_second is None or life.to_next <= 0:
        return life
    return parts.Life(
        to_next=life.to_next, to_second=life.to_second / life.to_next, words=life.words
    )
