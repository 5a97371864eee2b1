"""Conditions of welding on a line in service, shared by box and oversized clamshell."""

from __future__ import annotations

from takeup.assess.model import JointCase
from takeup.materials import alloy
from takeup.options import parts
from takeup.options.model import Condition, Truth
from takeup.register.entities import YesNo
from takeup.sources import Source, Standing

RP_2201 = Source(
    document="API RP 2201 as commonly quoted",
    at="confirm against the site's own copy",
    standing=Standing.MEMORY,
)


def hot_work(case: JointCase) -> list[Condition]:
    """Non-flammable media, gas readings at zero, wall thick enough, weldable pipe, escape ways."""
    line = case.line
    return [
        parts.recorded(
            line.flammable,
            YesNo.NO,
            "flammable",
            "Media not flammable",
            f"is the media of line {line.tag} flammable?",
            (line.ref,),
        ),
        parts.recorded(
            line.toxic,
            YesNo.NO,
            "toxic",
            "Media not toxic",
            f"is the media of line {line.tag} toxic?",
            (line.ref,),
            essential=False,
        ),
        parts.measured(
            case,
            "O3",
            "gas",
            "Gas readings at the joint zero",
            "what does a gas detector read at the joint?",
            limit="gas.hot_work",
            at_least=False,
        ),
        parts.measured(
            case,
            "O1",
            "wall",
            "Pipe wall thick enough where rings land",
            "how thick is the pipe beyond the cuff, measured all round?",
            limit="wall.hot_work",
            at_least=True,
        ),
        _weldable(case),
        parts.answered(
            case,
            "O15",
            "escape",
            "Two escape ways, none past the joint",
            "are there two ways away from the joint?",
        ),
    ]


def _weldable(case: JointCase) -> Condition:
    from takeup.errors import UnknownName
    from takeup.materials import Family

    text = "Pipe may be welded live without heat treatment"
    name = case.line.pipe_material
    try:
        metal = alloy(name) if name else None
    except UnknownName:
        metal = None
    if metal is None:
        return parts.condition(
            "pwht",
            text,
            Truth.UNKNOWN,
            f"what is the pipe of line {case.line.tag} made of?",
            source=RP_2201,
        )
    chrome = metal.family == Family.FERRITIC and "Cr" in metal.name
    if chrome:
        return parts.condition(
            "pwht",
            text,
            Truth.NOT_MET,
            f"{metal.name} needs heat treatment after welding",
            evidence=(case.line.ref,),
            source=RP_2201,
        )
    if metal.sensitises:
        return parts.answered(
            case,
            "O4",
            "pwht",
            text,
            f"{metal.name} sensitises in hot service: is the pipe sound (bead, penetrant test)?",
        )
    return parts.condition(
        "pwht", text, Truth.MET, metal.name, evidence=(case.line.ref,), source=RP_2201
    )
