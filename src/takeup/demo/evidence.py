"""Walks, looks, marks, readings and tests of the invented demo site as facts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import numpy as np

from takeup.demo.facts import BAR, UNIT, Times, celsius
from takeup.demo.joints import JOINTS, RATED, SINGLE_PLY, TWO, plans_of
from takeup.demo.motion import JointMoved, LineMoved, joints_of
from takeup.demo.planted import LINES
from takeup.evidence import facts as f
from takeup.evidence.checklist import items
from takeup.fields import Fact
from takeup.register import entities as e

ITEMS_OK = [
    "HS1",
    "HS2",
    "HS3",
    "HS4",
    "HS5",
    "HS6",
    "HS7",
    "HS8",
    "HB1",
    "HB2",
    "HB3",
    "HB4",
    "HB5",
    "HB6",
    "HB7",
    "HH6",
]


def evidence(times: Times, moved: Sequence[LineMoved], seed: int = 1) -> list[Fact]:
    """Visits, observations, interply tests, and marks as the lines in ``moved`` make them."""
    moves = joints_of(moved)
    radii = {tag: plan.bellows["inside_diameter"] / 2.0 for tag, plan in plans_of().items()}
    hot_old, cold, hot = (
        f.Visit(
            id=f"{times.back(5.0).year}-hot", unit=UNIT, kind=f.VisitKind.HOT,
            date=times.back(5.0), inspector="Walk team A", ambient=celsius(14), unit_rate=0.97,
        ),
        f.Visit(
            id=f"{times.past[1].year}-cold", unit=UNIT, kind=f.VisitKind.COLD,
            date=times.past[1] + dt.timedelta(days=4), inspector="Inspection team",
            ambient=celsius(18),
        ),
        f.Visit(
            id=f"{times.walked.year}-hot", unit=UNIT, kind=f.VisitKind.HOT,
            date=times.walked, inspector="Walk team B", ambient=celsius(9), unit_rate=1.0,
        ),
    )  # fmt: skip
    stop = f.Visit(
        id=f"{times.back(0.6).year}-stop", unit=UNIT, kind=f.VisitKind.COLD,
        date=times.back(0.6), inspector="Inspection team", ambient=celsius(16),
        note="five-day stop in spring",
    )  # fmt: skip
    made: list[Fact] = [hot_old, cold, stop, hot]
    for tag, _, type, _, _ in JOINTS:
        made += _old_walk(tag, hot_old.id)
        if tag != "EJ-1701":
            made += _walk(tag, type, hot.id)
        made += _cold_look(tag, stop.id)
        if tag in moves and tag not in UNREAD:
            draw = np.random.default_rng([seed, int(tag[3:])])
            made += _marks(moves[tag], radii[tag], hot.id, cold.id, draw)
        made += _tests(tag, type, times, cold)
    for line in moved:
        draw = np.random.default_rng([seed, int(line.line[:2])])
        made += readings(line, hot.id, cold.id, draw)
    made += _for_options(hot.id, cold.id)
    return made


def _old_walk(tag: str, visit: str) -> list[Fact]:
    return [
        f.Observation(visit=visit, joint=tag, item=item, grade=grade)
        for item, grade in (("HS1", 0), ("HS2", 0), ("HB1", 0), ("HB3", 0))
    ]


FINDS: dict[str, tuple[tuple[str, str, int, str], ...]] = {
    "EJ-1203": (
        ("HS3", "12-S1", 3, "pointer at its cold mark: seized, rust and paint in the slot"),
        ("HM1", "-", 2, "turned further than theory against the cold marks"),
    ),
    "EJ-1302": (("HB6", "-", 3, "cover and insulation gone over the upper half"),),
    "EJ-1303": (("HB5", "-", 2, "paint burnt on the cover at 3 o'clock"),),
    "EJ-1304": (("HB4", "-", 1, "gauge read 0.3 bar hot; vented, stayed at zero for 24 h"),),
    "EJ-1401": (("HH3", "pin 2", 3, "keeper of the lower pin missing, pin walked out 6 mm"),),
    "EJ-1501": (),
    "EJ-1503": (("HH1", "rod 3", 4, "outer nut gone, rod end bare; other rods tight"),),
    "EJ-1801": (
        ("HS1", "18-A1", 4, "weld of the base plate cracked, anchor 20 mm off its scribe"),
    ),
    "EJ-1802": (("HH2", "rod 2", 3, "nut bears on the lug when hot: no gap left"),),
}


def _walk(tag: str, type: e.JointType, visit: str) -> list[Fact]:
    """The hot walk of last week: everything that applies, fine unless planted."""
    planted = FINDS.get(tag, ())
    taken = {code for code, _, _, _ in planted}
    applying = {item.code for item in items(f.VisitKind.HOT, type.value, None)}
    fine = [code for code in [*ITEMS_OK, "HH1", "HH2", "HH3", "HH4"] if code in applying]
    made: list[Fact] = [
        f.Observation(visit=visit, joint=tag, item=code, grade=0)
        for code in fine
        if code not in taken
    ]
    made += [
        f.Observation(visit=visit, joint=tag, item=code, place=place, grade=grade, text=text)
        for code, place, grade, text in planted
    ]
    return made


def _cold_look(tag: str, visit: str) -> list[Fact]:
    finds = {
        "EJ-1501": (("CB2", "bellows A", 3, "sharp crease 4 mm deep, 8 mm from a root"),),
        "EJ-1403": (
            ("CH3", "ring R1", 3, "linear indication 60 mm at the toe, inside, opposite the ring"),
        ),
        "EJ-1402": (("CH3", "ring R1", 0, "penetrant test inside and outside clean"),),
    }.get(tag, ())
    made: list[Fact] = [
        f.Observation(visit=visit, joint=tag, item=code, place=place, grade=grade, text=text)
        for code, place, grade, text in finds
    ]
    return made


TAPE = 0.0015
"""Uncertainty (95 %) of a length between marks, by trammel [m]."""
POINTER = 0.003
"""Uncertainty (95 %) of a pointer or an offset [m]."""


def _noise(draw: np.random.Generator, uncertainty: float) -> float:
    """An error of reading, never beyond what is said of it [m]."""
    return float(np.clip(draw.normal(0.0, uncertainty / 1.96), -uncertainty, uncertainty))


def _marks(
    joint: JointMoved, radius: float, hot: str, cold: str, draw: np.random.Generator
) -> list[Fact]:
    """Lengths between marks at the ends of a joint, at four clocks, cold and hot."""
    made: list[Fact] = []
    for clock, side in (
        (12, joint.twelve),
        (3, joint.three),
        (6, tuple(-v for v in joint.twelve)),
        (9, tuple(-v for v in joint.three)),
    ):
        grown = joint.actual.axial + joint.opening((side[0], side[1], side[2]), radius)
        for visit, state, growth, metal in (
            (cold, f.LineState.COLD, 0.0, 22.0),
            (hot, f.LineState.HOT, grown, 190.0),
        ):
            made.append(
                f.MarkReading(
                    visit=visit,
                    joint=joint.tag,
                    quantity=f.MarkQuantity.FACE,
                    clock=clock,
                    seen=f.ClockSeen.ALONG,
                    state=state,
                    length=round(joint.length + growth + _noise(draw, TAPE), 4),
                    uncertainty=TAPE,
                    instrument="trammel",
                    pipe_temperature=celsius(metal),
                )
            )
    return made


WAYS = {
    (1, 0, 0): f.Way.EAST, (-1, 0, 0): f.Way.WEST, (0, 1, 0): f.Way.NORTH,
    (0, -1, 0): f.Way.SOUTH, (0, 0, 1): f.Way.UP, (0, 0, -1): f.Way.DOWN,
}  # fmt: skip


def readings(moved: LineMoved, hot: str, cold: str, draw: np.random.Generator) -> list[Fact]:
    """Offsets of joints that move sideways, and pointers of springs, cold and hot."""
    made: list[Fact] = []

    def read(place: str, quantity: f.LineQuantity, way: f.Way, at: tuple[float, float]) -> None:
        for visit, state, length in (
            (cold, f.LineState.COLD, at[0]),
            (hot, f.LineState.HOT, at[1]),
        ):
            made.append(
                f.LineReading(
                    visit=visit,
                    line=moved.line,
                    place=place,
                    quantity=quantity,
                    way=way,
                    state=state,
                    length=round(length + _noise(draw, POINTER), 3) + 0.0,
                    uncertainty=POINTER,
                    instrument="rule",
                )
            )

    for joint in moved.joints.values():
        if RATED[joint.tag][1] is None or joint.tag in UNREAD:
            continue
        for axis, offset in zip(joint.actual.axes[1:], joint.actual.lateral, strict=True):
            way = WAYS.get((round(axis[0]), round(axis[1]), round(axis[2])))
            if way is not None and max(abs(v) for v in axis) > 0.94:
                read(joint.tag, f.LineQuantity.SIDEWAYS, way, (0.0, offset))
    made += [
        f.LineReading(
            visit=hot,
            line=moved.line,
            place=planted.place,
            quantity=f.LineQuantity.PLACE,
            way=planted.scribe,
            state=f.LineState.HOT,
            length=round(planted.size + _noise(draw, POINTER), 3),
            uncertainty=POINTER,
            instrument="rule",
            note="scribe of the base plate against that on the steel",
        )
        for planted in LINES
        if planted.line == moved.line and planted.scribe is not None
    ]
    for spring in moved.springs.values():
        read(spring.name, f.LineQuantity.POINTER, f.Way.NONE, spring.actual)
    return made


UNREAD = frozenset({"EJ-1602", "EJ-1701"})
"""Joints without marks."""


def _tests(tag: str, type: e.JointType, times: Times, cold: f.Visit) -> list[Fact]:
    """Interply tests of the last outage; the leaks were found in a short stop this spring."""
    if tag in SINGLE_PLY or tag == "EJ-1602":
        return []
    letters = ("A", "B") if type in TWO else ("A",)
    made: list[Fact] = []
    for letter in letters:
        leak = letter == "A"
        kind = {
            "EJ-1102": "inner",
            "EJ-1603": "inner",
            "EJ-1301": "outer",
            "EJ-1201": "unproven",
            "EJ-1304": "warm",
        }.get(tag, "tight") if leak else "tight"  # fmt: skip
        date = times.back(0.6) if kind in {"inner", "outer"} else cold.date
        made += _test(tag, letter, date, kind, cold.id if date == cold.date else "")
    return made


def _test(tag: str, letter: str, date: dt.date, kind: str, visit: str) -> list[Fact]:
    fall = {"inner": 0.75, "outer": 0.55}.get(kind, 0.004)
    head = f.InterplyTest(
        joint=tag,
        bellows=letter,
        date=date,
        visit=visit,
        line_pressure=0.0 if kind != "warm" else 1.7 * BAR,
        atmospheric=100.8e3,
        gas="dry nitrogen",
        port_to_port=None if kind == "unproven" else f.Answer.YES,
        fills=3,
        gauge_range=100e3,
        gauge_resolution=500.0,
        space_volume=1.6e-3,
        first_reading=30e3 if kind == "warm" else 0.0,
        bubbles=f.Bubbles.OUTER if kind == "outer" else f.Bubbles.NONE,
        by="Test team",
        note="port held 0.3 bar when connected: trapped gas warmed by the line"
        if kind == "warm"
        else "",
    )
    made: list[Fact] = [head]
    for minute in (0, 5, 10, 15, 30):
        share = 1.0 - fall * minute / 30
        made.append(
            f.InterplyReading(
                joint=tag,
                bellows=letter,
                date=date,
                minute=minute * 60.0,
                pressure=round(50e3 * share + 150.0 * (minute / 30), 0),
                temperature=celsius(18.0 + 0.9 * minute / 30),
            )
        )
    return made


def _for_options(hot: str, cold: str) -> list[Fact]:
    """Answers that options ask for; many joints still have open questions."""
    yes, no = f.Answer.YES, f.Answer.NO

    def told(joint: str, item: str, answer: f.Answer, text: str = "", visit: str = hot) -> Fact:
        return f.Observation(visit=visit, joint=joint, item=item, answer=answer, text=text)

    made: list[Fact] = [
        f.Observation(visit=hot, joint=tag, item="O1", value=0.0121, text="least of twelve points")
        for tag in ("EJ-1102", "EJ-1301", "EJ-1503", "EJ-1603")
    ]
    made += [
        f.Observation(visit=hot, joint=tag, item="O3", value=value, text="four-gas detector")
        for tag, value in (("EJ-1102", 0.0), ("EJ-1301", 0.0), ("EJ-1603", 0.0), ("EJ-1203", 0.04))
    ]
    for tag in ("EJ-1102", "EJ-1103", "EJ-1301", "EJ-1302", "EJ-1303", "EJ-1501", "EJ-1601"):
        made.append(told(tag, "O8", yes, "lift study of the last outage"))
    for tag in ("EJ-1401", "EJ-1403", "EJ-1503", "EJ-1203", "EJ-1303", "EJ-1302"):
        made.append(told(tag, "O6", yes, "pipe ends and rings sound", cold))
    for tag in ("EJ-1102", "EJ-1301", "EJ-1501", "EJ-1601", "EJ-1603"):
        made.append(told(tag, "O4", yes, "beads clean at two places", cold))
    made += [
        told("EJ-1102", "O6", no, "pipe ends bulged at the old cuffs", cold),
        told("EJ-1103", "O6", no, "gimbal ring bowed 5 mm in a metre", cold),
        told("EJ-1102", "O2", no, "pantograph arms leave 40 mm only"),
        told("EJ-1301", "O2", yes, "180 mm clear in the hot position"),
        told("EJ-1301", "O14", yes),
        told("EJ-1301", "O15", yes),
        told("EJ-1301", "O11", yes, "rods and nozzle calculated for 1.3 times the area"),
        told("EJ-1603", "O15", no, "the only stair passes the joint"),
        told("EJ-1601", "O7", no, "lands thinned to 0.7 mm", cold),
        told("EJ-1803", "O13", yes, "loop possible in the pipe rack"),
        told("EJ-1803", "O10", yes, "stress review of the loop signed"),
        told("EJ-1803", "O11", yes),
        told("EJ-1501", "O12", yes, "slot offered for the second week"),
        told("EJ-1501", "O6", yes, "", cold),
    ]
    return made
