"""Joints, bellows, hardware, movements and events of the invented demo site as facts."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence

import msgspec

from takeup.demo import attachments, sizes
from takeup.demo.facts import LinePlan, Times, lines
from takeup.demo.motion import LineMoved, joints_of
from takeup.fields import Fact
from takeup.register import entities as e

T = e.JointType
JOINTS: tuple[tuple[str, str, e.JointType, float, float], ...] = (
    # tag, line, type, position m, age years
    ("EJ-1101", "11-RC", T.UNIVERSAL_TIED, 7.0, 4.05),
    ("EJ-1102", "11-RC", T.UNIVERSAL_PANTOGRAPH, 12.0, 8.1),
    ("EJ-1103", "11-RC", T.GIMBAL, 17.0, 8.1),
    ("EJ-1201", "12-SC", T.UNIVERSAL_PANTOGRAPH, 3.0, 4.05),
    ("EJ-1202", "12-SC", T.UNIVERSAL_TIED, 8.0, 4.05),
    ("EJ-1203", "12-SC", T.GIMBAL, 13.0, 8.1),
    ("EJ-1301", "13-FG", T.UNIVERSAL_TIED, 5.0, 8.1),
    ("EJ-1302", "13-FG", T.HINGED, 20.0, 8.1),
    ("EJ-1303", "13-FG", T.HINGED, 31.0, 8.1),
    ("EJ-1304", "13-FG", T.GIMBAL, 44.8, 9.4),
    ("EJ-1401", "14-EI", T.HINGED, 3.0, 4.05),
    ("EJ-1402", "14-EI", T.HINGED, 10.0, 4.05),
    ("EJ-1403", "14-EI", T.HINGED, 17.0, 4.05),
    ("EJ-1501", "15-EO", T.BALANCED_ELBOW, 2.0, 4.05),
    ("EJ-1502", "15-EO", T.SINGLE_TIED, 12.9, 4.05),
    ("EJ-1503", "15-EO", T.SINGLE_TIED, 17.6, 4.05),
    ("EJ-1601", "16-TS", T.HINGED_PAIR, 3.0, 34.2),
    ("EJ-1602", "16-TS", T.GIMBAL, 8.9, 4.05),
    ("EJ-1603", "16-TS", T.UNIVERSAL, 13.2, 4.05),
    ("EJ-1701", "17-FX", T.EXCHANGER, 4.5, 8.1),
    ("EJ-1702", "17-FX", T.EXCHANGER, 18.3, 8.1),
    ("EJ-1801", "18-ST", T.SINGLE_LIMIT, 2.0, 8.1),
    ("EJ-1802", "18-ST", T.SINGLE_LIMIT, 22.0, 8.1),
    ("EJ-1803", "18-ST", T.EXTERNAL, 42.0, 8.1),
)
TWO = frozenset(
    {
        T.UNIVERSAL,
        T.UNIVERSAL_TIED,
        T.UNIVERSAL_PANTOGRAPH,
        T.HINGED_PAIR,
        T.BALANCED_ELBOW,
    }
)
SINGLE_PLY = frozenset({"EJ-1701", "EJ-1702", "EJ-1803", "EJ-1801", "EJ-1802"})
HARDWARE = {
    T.UNIVERSAL_TIED: (e.HardwareKind.TIE_ROD, 4, 0.076),
    T.SINGLE_TIED: (e.HardwareKind.TIE_ROD, 4, 0.050),
    T.UNIVERSAL_PANTOGRAPH: (e.HardwareKind.PANTOGRAPH, 2, None),
    T.HINGED: (e.HardwareKind.HINGE, 2, 0.100),
    T.HINGED_PAIR: (e.HardwareKind.HINGE, 4, 0.090),
    T.GIMBAL: (e.HardwareKind.GIMBAL, 1, None),
    T.BALANCED_ELBOW: (e.HardwareKind.TIE_ROD, 4, 0.050),
    T.SINGLE_LIMIT: (e.HardwareKind.LIMIT_ROD, 3, 0.036),
}


def register(times: Times) -> list[Fact]:
    """Lines, supports, joints, bellows, hardware, movements, life events, quotes."""
    made: list[Fact] = []
    plans = {plan.line.tag: plan for plan in lines()}
    for plan in plans.values():
        made += [plan.line, *supports(plan)]
    for tag, line, type, place, age in JOINTS:
        made += _joint(plans[line], tag, type, place, age, times)
    made += _events(times)
    made += [
        e.Quote(
            joint="EJ-1601",
            option=e.OptionName.REPLACE,
            cost=410e3,
            lead=26 * 7 * 86400.0,
            basis="framework price of last year",
        ),
        e.Quote(
            joint="EJ-1503", option=e.OptionName.IN_PLACE, cost=58e3, basis="quotation",
            lead=5 * 7 * 86400.0,
        ),
    ]  # fmt: skip
    return made


def plans_of() -> dict[str, LinePlan]:
    """The plan of the line of each joint."""
    by_line = {plan.line.tag: plan for plan in lines()}
    return {tag: by_line[line] for tag, line, *_ in JOINTS}


def supports(plan: LinePlan) -> list[e.Support]:
    """Supports of a line, without what its model tells of them."""
    return [
        e.Support(
            tag=tag,
            line=plan.line.tag,
            kind=kind,
            position=float(place),
            capacity=900e3 if kind in {e.SupportKind.MAIN_ANCHOR, e.SupportKind.NOZZLE} else None,
        )
        for tag, kind, place in plan.supports
    ]


def _joint(
    plan: LinePlan, tag: str, type: e.JointType, place: float, age: float, times: Times
) -> list[Fact]:
    two = type in TWO
    blank = tag == "EJ-1602"
    length = plan.bellows["convolutions"] * plan.bellows["pitch"]
    overall = 2.0 * length + (1.6 if two else 0.6)
    face, spool = sizes.LENGTHS.get(tag, (overall, overall - 0.4))
    installed = times.installed(age)
    joint = e.Joint(
        tag=tag,
        line=plan.line.tag,
        name=f"{plan.line.name}, {place:.0f} m from its start",
        type=type,
        wall=plan.wall,
        position=place,
        elevation=12.0 + place % 17,
        drawing="" if blank else f"D-{tag[3:]}-1",
        serial="" if blank else f"S{tag[3:]}",
        made=None if blank else installed.year - 1,
        installed=installed,
        cover=e.Cover.REMOVABLE,
        insulation=e.Insulation.MISSING if tag == "EJ-1302" else e.Insulation.AS_DESIGNED,
        face_to_face=None if blank else face,
        spool=spool if two and not blank else None,
        mass=None if blank else 900.0 * plan.bellows["inside_diameter"] ** 2,
        spare=e.YesNo.NO,
        crane_reach=e.YesNo.YES,
        access_group=f"{plan.line.tag}-{int(place // 10)}",
    )
    made: list[Fact] = [joint]
    if blank:
        made += [e.BellowsElement(joint=tag, letter="A", test_port=None)]
        return made
    own = dict(plan.bellows)
    if tag in SINGLE_PLY:
        own |= {"plies": 1, "test_port": e.YesNo.NO, "redundant": None}
        own["ply_thickness"] = 1.4 * own["ply_thickness"]
    if tag == "EJ-1603":  # thin and long: one ply alone squirms
        own |= {"ply_thickness": 0.0008, "convolutions": 11}
    own |= sizes.BELLOWS.get(tag, {})
    for letter in ("A", "B") if two else ("A",):
        made.append(e.BellowsElement(joint=tag, letter=letter, **own))
    held = HARDWARE.get(type)
    if held is not None:
        kind, count, diameter = held
        given = {"diameter": diameter} | sizes.HARDWARE.get(tag, {})
        made.append(
            e.Hardware(
                joint=tag,
                item=f"{tag[3:]}-H",
                kind=kind,
                count=count,
                material="alloy steel",
                capacity=1.1e6 if kind != e.HardwareKind.LIMIT_ROD else None,
                on_hot_pipe=e.YesNo.NO,
                **given,
            )
        )
    if tag in {"EJ-1402", "EJ-1403"}:
        ring = e.Hardware(
            joint=tag,
            item=f"{tag[3:]}-R1",
            kind=e.HardwareKind.RING,
            count=1,
            on_hot_pipe=e.YesNo.YES,
        )
        made.append(attachments.measured(ring) if tag == "EJ-1403" else ring)
    if plan.wall != e.Wall.UNLINED:
        made.append(e.Hardware(joint=tag, item=f"{tag[3:]}-L", kind=e.HardwareKind.LINER, count=1))
    made.append(rated(tag))
    return made


RATED: dict[str, tuple[float, float | None, float | None]] = {
    # axial + extension m, lateral m, angular rad, between the ends
    "EJ-1101": (-0.012, 0.045, None),
    "EJ-1102": (-0.060, 0.015, 0.010),
    "EJ-1103": (-0.012, None, 0.022),
    "EJ-1201": (-0.080, 0.015, 0.010),
    "EJ-1202": (-0.012, 0.060, 0.030),
    "EJ-1203": (-0.012, None, 0.025),
    "EJ-1301": (-0.012, 0.060, 0.010),
    "EJ-1302": (-0.012, None, 0.020),
    "EJ-1303": (-0.012, None, 0.020),
    "EJ-1304": (-0.012, None, 0.022),
    "EJ-1401": (0.012, None, 0.070),
    "EJ-1402": (0.012, None, 0.070),
    "EJ-1403": (0.012, None, 0.070),
    "EJ-1501": (0.018, 0.003, 0.012),
    "EJ-1502": (-0.012, 0.002, 0.030),
    "EJ-1503": (-0.012, 0.002, 0.030),
    "EJ-1601": (0.050, 0.180, 0.060),
    "EJ-1602": (0.012, None, 0.060),
    "EJ-1603": (-0.060, 0.020, None),
    "EJ-1701": (-0.006, None, None),
    "EJ-1702": (-0.006, None, None),
    "EJ-1801": (-0.070, None, None),
    "EJ-1802": (-0.070, None, None),
    "EJ-1803": (-0.070, None, None),
}
"""Movement on the data sheet of each joint."""


def rated(tag: str) -> e.MovementCase:
    """Movement on the data sheet."""
    axial, lateral, angular = RATED[tag]
    return e.MovementCase(
        joint=tag,
        role=e.MovementRole.RATED,
        name="design",
        axial=axial,
        lateral=lateral,
        angular=angular,
        cycles=200 if tag == "EJ-1402" else 1000,
        basis="data sheet",
    )


def expected(moved: Sequence[LineMoved]) -> list[Fact]:
    """Movements by the models of the lines, and marks and loads of springs from there."""
    made: list[Fact] = []
    for tag, joint in joints_of(moved).items():
        if tag == "EJ-1602":  # nothing of it is on record
            continue
        move = joint.expected
        made.append(
            e.MovementCase(
                joint=tag,
                role=e.MovementRole.EXPECTED,
                name="normal",
                axial=round(move.axial, 4) + 0.0,
                lateral=round(math.hypot(*move.lateral), 4),
                angular=round(math.hypot(*move.angular), 5),
                cycles=38.0 if tag == "EJ-1402" else 2.5,
                basis="model of the line, cold to hot between the ends of the joint",
            )
        )
    springs = {name: one for line in moved for name, one in line.springs.items()}
    for plan in lines():
        for support in supports(plan):
            one = springs.get(support.tag)
            if one is not None:
                cold, hot = one.height
                made.append(
                    msgspec.structs.replace(
                        support,
                        cold_load=round(one.load[0], -2),
                        hot_load=round(one.load[1], -2),
                        cold_position=round(cold, 3) + 0.0,
                        hot_position=round(hot, 3) + 0.0,
                    )
                )
    return made


def _events(times: Times) -> list[Fact]:
    """Fifteen years of events; earlier lives teach the statistics of the site."""
    first, second = times.past
    made: list[Fact] = []
    for tag, _, _, _, age in JOINTS:
        if age > 4.5 and age < 30:
            made.append(
                e.LifeEvent(
                    joint=tag,
                    date=first + dt.timedelta(days=20),
                    kind=e.EventKind.HYDROTEST if tag.startswith("EJ-17") else e.EventKind.START,
                    note="start-up after the outage" if not tag.startswith("EJ-17") else "",
                )
            )
        made.append(
            e.LifeEvent(joint=tag, date=times.back(2.6), kind=e.EventKind.TRIP, note="power dip")
        )
        made.append(
            e.LifeEvent(joint=tag, date=second + dt.timedelta(days=31), kind=e.EventKind.START)
        )
    made += [
        e.LifeEvent(
            joint="EJ-1303",
            date=times.back(1.3),
            kind=e.EventKind.EXCURSION,
            note="afterburn, 40 K over normal for six hours",
        ),
        e.LifeEvent(
            joint="EJ-1601",
            date=times.back(13.9),
            kind=e.EventKind.REPAIRED,
            mechanism="crack at a hinge lug",
        ),
    ]
    return made
