"""Faults planted in the demo site, and which part of Takeup must find them."""

from __future__ import annotations

import msgspec

from takeup.assess.model import Level, Mechanism
from takeup.evidence.facts import Way


class Planted(msgspec.Struct, frozen=True, kw_only=True):
    """One planted fault (or soundness) and how it shows."""

    joint: str
    what: str
    engine: str
    mechanism: Mechanism | None
    level: Level
    """Level the joint must come out at."""
    shows: str
    """Words that must stand in the summary, grounds or requests of that mechanism."""


class PlantedLine(msgspec.Struct, frozen=True, kw_only=True):
    """What is wrong with a line as it stands, and in the group of which places diagnosis has it."""

    line: str
    what: str
    place: str = ""
    """The support at fault"""
    size: float = 0.0
    """Room that a spring has left, or how far an anchor slipped [m]"""
    scribe: Way | None = None
    """Towards where its scribe was read off the record"""
    sound: bool = False
    """Whether all supports are sound: the model is what is wrong"""
    accused: frozenset[str] = frozenset()
    """Places of which diagnosis must put one in its first explanation"""


LINES: tuple[PlantedLine, ...] = (
    PlantedLine(
        line="12-SC",
        what="spring 12-S1 has seized where it stood cold: the standpipe turns about it",
        place="12-S1",
        size=0.0005,
        accused=frozenset({"12-S1"}),
    ),
    PlantedLine(
        line="18-ST",
        what="anchor 18-A1 has slipped by 20 mm under the pressure thrust of the hot line",
        place="18-A1",
        size=0.020,
        scribe=Way.WEST,
        accused=frozenset({"18-A1"}),
    ),
    PlantedLine(
        line="16-TS",
        what="the drum at 16-A1 grows 7 mm away when hot, which the model does not have",
        place="16-A1",
        size=0.007,
        sound=True,
        accused=frozenset({"16-A1", "16-A2"}),
    ),
)
PLANTED: tuple[Planted, ...] = (
    Planted(
        joint="EJ-1101",
        what="a sound joint, five years old, with complete and current evidence",
        engine="verdict",
        mechanism=None,
        level=Level.CARRIES_ON,
        shows="Nothing found against lasting",
    ),
    Planted(
        joint="EJ-1102",
        what="the inner ply leaks: steady fall, port proven, no bubbles outside",
        engine="interply test",
        mechanism=Mechanism.PLY,
        level=Level.IN_DOUBT,
        shows="inner ply leaks",
    ),
    Planted(
        joint="EJ-1103",
        what="packing builds up: bellows temperature falls and crosses the low line before the "
        "outage",
        engine="temperature history",
        mechanism=Mechanism.COLD,
        level=Level.IN_DOUBT,
        shows="crosses the low line",
    ),
    Planted(
        joint="EJ-1201",
        what="the interply port was never proven open: a held pressure that proves nothing",
        engine="interply test",
        mechanism=Mechanism.PLY,
        level=Level.UNPROVEN,
        shows="not proven open",
    ),
    Planted(
        joint="EJ-1202",
        what="cold-wall line without a measured shell temperature: its model stands on a guess, "
        "and the same seized spring shows in its marks",
        engine="movement, diagnosis of the line",
        mechanism=Mechanism.MOVEMENT,
        level=Level.THIS_RUN,
        shows="shell temperature",
    ),
    Planted(
        joint="EJ-1203",
        what="a spring beside it has seized: the joint turns twice as far as theory says",
        engine="diagnosis of the line, neighbours",
        mechanism=Mechanism.NEIGHBOURS,
        level=Level.IN_DOUBT,
        shows="neighbour at fault: variable spring 12-S1",
    ),
    Planted(
        joint="EJ-1301",
        what="the outer ply or its connection leaks: bubbles on a crown",
        engine="interply test",
        mechanism=Mechanism.PLY,
        level=Level.IN_DOUBT,
        shows="outer ply",
    ),
    Planted(
        joint="EJ-1302",
        what="the cover and insulation over the bellows are gone: too cold in acid gas",
        engine="cold",
        mechanism=Mechanism.COLD,
        level=Level.IN_DOUBT,
        shows="insulation over the bellows is missing",
    ),
    Planted(
        joint="EJ-1303",
        what="the inner blanket is lost: bellows temperature rises over the high line",
        engine="temperature history",
        mechanism=Mechanism.HOT,
        level=Level.IN_DOUBT,
        shows="high action line",
    ),
    Planted(
        joint="EJ-1304",
        what="gas trapped between the plies had warmed and looked like a leak; the test is tight",
        engine="interply test",
        mechanism=Mechanism.PLY,
        level=Level.THIS_RUN,
        shows="tight",
    ),
    Planted(
        joint="EJ-1401",
        what="a hinge pin has lost its keeper",
        engine="thrust path",
        mechanism=Mechanism.THRUST,
        level=Level.IN_DOUBT,
        shows="keeper",
    ),
    Planted(
        joint="EJ-1402",
        what="far more trips than the bellows was rated for: fatigue use above one",
        engine="bellows fatigue",
        mechanism=Mechanism.MOVEMENT,
        level=Level.IN_DOUBT,
        shows="usage",
    ),
    Planted(
        joint="EJ-1403",
        what="a ring welded to hot pipe has cracked at its toe",
        engine="attachments",
        mechanism=Mechanism.ATTACHMENTS,
        level=Level.IN_DOUBT,
        shows="indication",
    ),
    Planted(
        joint="EJ-1501",
        what="a sharp dent near a root",
        engine="damage",
        mechanism=Mechanism.DAMAGE,
        level=Level.IN_DOUBT,
        shows="Dents",
    ),
    Planted(
        joint="EJ-1502",
        what="lugs welded on again with a third of the leg that the drawing asks for",
        engine="hardware, load path",
        mechanism=Mechanism.THRUST,
        level=Level.IN_DOUBT,
        shows="lug weld",
    ),
    Planted(
        joint="EJ-1503",
        what="an outer nut of a tie rod is missing",
        engine="thrust path",
        mechanism=Mechanism.THRUST,
        level=Level.ACT_NOW,
        shows="nut",
    ),
    Planted(
        joint="EJ-1601",
        what="34 years in service: replacement recommended whatever the inspection says",
        engine="age",
        mechanism=Mechanism.AGE,
        level=Level.IN_DOUBT,
        shows="whatever the inspection says",
    ),
    Planted(
        joint="EJ-1602",
        what="no nameplate, no drawing: nothing can be computed",
        engine="verdict",
        mechanism=Mechanism.PRESSURE,
        level=Level.UNPROVEN,
        shows="Not evaluated",
    ),
    Planted(
        joint="EJ-1603",
        what="the inner ply leaks and the other alone would squirm at operating pressure",
        engine="bellows, one ply lost",
        mechanism=Mechanism.PLY,
        level=Level.ACT_NOW,
        shows="squirm",
    ),
    Planted(
        joint="EJ-1701",
        what="not walked for four years: the evidence is stale",
        engine="verdict",
        mechanism=Mechanism.DAMAGE,
        level=Level.UNPROVEN,
        shows="the last is of",
    ),
    Planted(
        joint="EJ-1702",
        what="a shell that never ran hot enough for heat to change its metal",
        engine="hours at temperature",
        mechanism=Mechanism.METALLURGY,
        level=Level.CARRIES_ON,
        shows="no change of the metal is expected",
    ),
    Planted(
        joint="EJ-1801",
        what="a main anchor beside an untied joint has cracked and slipped by 20 mm",
        engine="diagnosis of the line, neighbours",
        mechanism=Mechanism.NEIGHBOURS,
        level=Level.ACT_NOW,
        shows="neighbour at fault: anchor 18-A1",
    ),
    Planted(
        joint="EJ-1802",
        what="no gap left at a limit rod when hot: by the marks no anchor has let go, so its nut "
        "was set wrong",
        engine="thrust path, diagnosis of the line",
        mechanism=Mechanism.THRUST,
        level=Level.IN_DOUBT,
        shows="Limit",
    ),
)

LATE = ("EJ-1102", "EJ-1103")
"""Joints whose new joint can no longer be ordered on normal lead times: the plan says so."""
