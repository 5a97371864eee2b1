"""Facts that cannot all be true, found before they do harm. Pure.

Each rule yields the fact at fault, the field, what is wrong and what would be right, so that
an import can point at the cell.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator

import msgspec

from takeup.fields import Fact
from takeup.register.entities import (
    BellowsElement,
    Joint,
    JointType,
    LifeEvent,
    Line,
    Outage,
)
from takeup.register.snapshot import Register

_TWO_BELLOWS = frozenset(
    {
        JointType.UNIVERSAL,
        JointType.UNIVERSAL_TIED,
        JointType.UNIVERSAL_PANTOGRAPH,
        JointType.HINGED_PAIR,
        JointType.BALANCED_ELBOW,
        JointType.BALANCED_INLINE,
    }
)


class Fault(msgspec.Struct, frozen=True, kw_only=True):
    """One contradiction."""

    fact: Fact
    field: str
    wrong: str
    right: str


def contradictions(
    register: Register, facts: Iterable[Fact] | None = None, today: dt.date | None = None
) -> tuple[Fault, ...]:
    """Contradictions among ``facts`` (or all) as they stand together with the register."""
    found: list[Fault] = []
    for fact in register.everything() if facts is None else facts:
        if isinstance(fact, Line):
            found += _line(fact)
        elif isinstance(fact, BellowsElement):
            found += _bellows(fact, register)
        elif isinstance(fact, Joint):
            found += _joint(fact, today)
        elif isinstance(fact, LifeEvent):
            found += _event(fact, register, today)
        elif isinstance(fact, Outage):
            found += _outage(fact, register)
    return tuple(found)


def _line(line: Line) -> Iterator[Fault]:
    if (
        line.design_pressure is not None
        and line.operating_pressure is not None
        and line.operating_pressure > line.design_pressure
    ):
        yield Fault(
            fact=line,
            field="operating_pressure",
            wrong="operating pressure is above design pressure",
            right="at most the design pressure; correct whichever is wrong",
        )
    if (
        line.design_pressure is not None
        and line.test_pressure is not None
        and line.test_pressure < line.design_pressure
    ):
        yield Fault(
            fact=line,
            field="test_pressure",
            wrong="test pressure is below design pressure",
            right="at least the design pressure, or empty when there was no pressure test",
        )
    hot = line.gas_temperature
    if hot is not None and line.shell_temperature is not None and line.shell_temperature > hot + 5:
        yield Fault(
            fact=line,
            field="shell_temperature",
            wrong="pipe metal is hotter than the gas in it",
            right="the measured metal temperature; check the unit (°C or °F)",
        )
    if line.diameter is not None and line.wall is not None and 2 * line.wall >= line.diameter:
        yield Fault(
            fact=line,
            field="wall",
            wrong="the wall is thicker than the pipe's radius",
            right="wall thickness of the pipe; check the unit",
        )


def _bellows(one: BellowsElement, register: Register) -> Iterator[Fault]:
    if one.torus_radius is not None:
        if one.pitch is not None and 4 * one.torus_radius > 1.02 * one.pitch:
            yield Fault(
                fact=one,
                field="torus_radius",
                wrong="four mean radii are more than one pitch: crests and roots would overlap",
                right="rm at most q/4",
            )
        if one.height is not None and 2 * one.torus_radius >= one.height:
            yield Fault(
                fact=one,
                field="torus_radius",
                wrong="crest and root together are higher than the convolution",
                right="2 rm below the convolution height w",
            )
    if one.pitch is not None and one.ply_thickness is not None and one.plies is not None:
        stack = 2 * one.plies * one.ply_thickness
        if stack >= one.pitch:
            yield Fault(
                fact=one,
                field="ply_thickness",
                wrong="two ply stacks fill the pitch: there is no room between the side walls",
                right="thickness of ONE ply before forming; check the unit",
            )
    if (
        one.height is not None
        and one.inside_diameter is not None
        and one.height > one.inside_diameter
    ):
        yield Fault(
            fact=one,
            field="height",
            wrong="the convolution is higher than the bellows is wide",
            right="root to crest height w; check the unit",
        )
    joint = register.find(Joint, one.joint)
    if joint and joint.installed and one.installed and one.installed < joint.installed:
        yield Fault(
            fact=one,
            field="installed",
            wrong=f"bellows installed before the joint ({joint.installed.isoformat()})",
            right="a date on or after that, or empty when it came with the joint",
        )


def _joint(joint: Joint, today: dt.date | None) -> Iterator[Fault]:
    if joint.installed is not None:
        if joint.made is not None and joint.installed.year < joint.made:
            yield Fault(
                fact=joint,
                field="installed",
                wrong=f"installed in {joint.installed.year}, before it was made in {joint.made}",
                right="a date in or after the year made",
            )
        if today is not None and joint.installed > today:
            yield Fault(
                fact=joint,
                field="installed",
                wrong=f"installed in the future ({joint.installed.isoformat()})",
                right=f"a date up to today ({today.isoformat()})",
            )
        if joint.installed.year < 1940:
            yield Fault(
                fact=joint,
                field="installed",
                wrong=f"installed in {joint.installed.year}",
                right="a date after 1940",
            )


def _event(event: LifeEvent, register: Register, today: dt.date | None) -> Iterator[Fault]:
    """An event that cannot have happened: in the future, or before its joint was made.

    An event before ``Joint.installed`` is accepted, also when no installed, replaced or
    removed event precedes it: life events are the history of the position, and the joint
    that stands there now need not be the one the event happened to.
    """
    if today is not None and event.date > today:
        yield Fault(
            fact=event,
            field="date",
            wrong=f"an event in the future ({event.date.isoformat()})",
            right=f"a date up to today ({today.isoformat()})",
        )
    joint = register.find(Joint, event.joint)
    if joint and joint.made and event.date.year < joint.made:
        yield Fault(
            fact=event,
            field="date",
            wrong=f"an event in {event.date.year}, before the joint was made in {joint.made}",
            right="a date in or after the year made",
        )


def _outage(outage: Outage, register: Register) -> Iterator[Fault]:
    end = outage.start + dt.timedelta(seconds=outage.window)
    for other in register.outages(outage.unit):
        if other.tag.casefold() == outage.tag.casefold():
            continue
        other_end = other.start + dt.timedelta(seconds=other.window)
        if outage.start < other_end and other.start < end:
            yield Fault(
                fact=outage,
                field="start",
                wrong=f"overlaps outage {other.tag}",
                right="a window that does not overlap another of the same unit",
            )


def incomplete(register: Register) -> tuple[Fault, ...]:
    """What is not wrong but stands out: shown as notes, never blocking an import."""
    found = []
    for joint in register.all(Joint):
        held = register.bellows(joint.tag)
        if joint.type in _TWO_BELLOWS and len(held) == 1:
            found.append(
                Fault(
                    fact=joint,
                    field="type",
                    wrong=f"a {joint.type.value} joint with one bellows on record",
                    right="a row for each bellows, A and B",
                )
            )
    return tuple(found)
