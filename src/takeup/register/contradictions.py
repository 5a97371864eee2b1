"""Facts that cannot all be true, found before they do harm. Pure.

Each rule yields the fact at fault, the field, what is wrong and what would be right, so that
an import can point at the cell.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator

import msgspec

from takeup.bellows.model import Convolution
from takeup.evidence.facts import LineQuantity, LineReading, Way
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
        elif isinstance(fact, LineReading):
            found += _line_reading(fact)
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
    yield from _torus(one) if one.convolution == Convolution.TOROIDAL else _convolution(one)
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
        one.thinnest_ply is not None
        and one.ply_thickness is not None
        and one.thinnest_ply > 1.25 * one.ply_thickness
    ):
        yield Fault(
            fact=one,
            field="thinnest_ply",
            wrong="the least ply measured is thicker than the ply before forming",
            right="thickness of ONE ply where it is thinnest, not of the whole wall",
        )
    if one.collar_length and one.tangent_length and one.collar_length > one.tangent_length:
        yield Fault(
            fact=one,
            field="collar_length",
            wrong="the collar is longer than the end tangent under it",
            right="Lc at most Lt",
        )
    joint = register.find(Joint, one.joint)
    if joint and joint.installed and one.installed and one.installed < joint.installed:
        yield Fault(
            fact=one,
            field="installed",
            wrong=f"bellows installed before the joint ({joint.installed.isoformat()})",
            right="a date on or after that, or empty when it came with the joint",
        )


def _convolution(one: BellowsElement) -> Iterator[Fault]:
    """What a U-shaped convolution cannot be."""
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


def _torus(one: BellowsElement) -> Iterator[Fault]:
    """What a toroidal convolution cannot be; here r is the radius of the whole torus."""
    wall = (one.plies or 0) * (one.ply_thickness or 0.0)
    if one.torus_radius is not None and one.pitch is not None:
        least = 2 * one.torus_radius + wall
        if one.pitch < least:
            yield Fault(
                fact=one,
                field="torus_radius",
                wrong="two radii and the wall are more than one pitch: tori would overlap",
                right="2 r + n t at most the pitch q",
            )
    if one.mean_diameter is None:
        return
    if one.inside_diameter is not None and one.mean_diameter <= one.inside_diameter + wall:
        yield Fault(
            fact=one,
            field="mean_diameter",
            wrong="the centre line of the torus lies inside the tangent",
            right="Dm above the inside diameter Db",
        )
    if one.torus_radius is not None and one.mean_diameter <= 4 * one.torus_radius:
        yield Fault(
            fact=one,
            field="torus_radius",
            wrong="four radii are more than the centre line of the torus is wide: it would close "
            "over the bore",
            right="r below Dm/4; radius, not diameter, of the torus",
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


_READ_AS = {LineQuantity.LOAD: "load", LineQuantity.OPENING: "angle"}
_WITHOUT_WAY = frozenset({LineQuantity.POINTER, LineQuantity.LOAD})


def _line_reading(one: LineReading) -> Iterator[Fault]:
    """A reading without its value or its way, or with those of another quantity."""
    wanted = _READ_AS.get(one.quantity, "length")
    for name in ("length", "angle", "load"):
        value = getattr(one, name)
        if name == wanted and value is None:
            yield Fault(
                fact=one,
                field=name,
                wrong=f"{one.quantity.value} without its {name}",
                right=f"the {name} that was read",
            )
        elif name != wanted and value is not None:
            yield Fault(
                fact=one,
                field=name,
                wrong=f"{one.quantity.value} is not read as {name}",
                right=f"the value in {wanted}, this field empty",
            )
    if (one.way == Way.NONE) != (one.quantity in _WITHOUT_WAY):
        none = one.way == Way.NONE
        yield Fault(
            fact=one,
            field="way",
            wrong=f"{one.quantity.value} {'without' if none else 'with'} a way",
            right="east, north, west, south, up or down" if none else "no way: it is read upward",
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
    """What is not wrong but stands out: asked as questions, never blocking an import.

    A bellows that is asked about here is still worked out as far as its other fields allow.
    """
    found: list[Fault] = []
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
        found += _too_short(joint, held)
        if joint.type == JointType.TOROIDAL:
            found += [
                Fault(
                    fact=one,
                    field="convolution",
                    wrong=f"a {one.convolution.value} bellows in a joint of type toroidal",
                    right="shape toroidal, or another type of joint",
                )
                for one in held
                if one.convolution != Convolution.TOROIDAL
            ]
    for one in register.all(BellowsElement):
        found += _shape_questions(one)
    return tuple(found)


def _too_short(joint: Joint, held: Iterable[BellowsElement]) -> Iterator[Fault]:
    """A joint shorter than its bellows and their tangents laid end to end."""
    length = 0.0
    for one in held:
        if one.pitch is None or one.convolutions is None:
            continue
        length += one.convolutions * one.pitch + 2.0 * (one.tangent_length or 0.0)
    for name in ("face_to_face", "spool"):
        whole = getattr(joint, name)
        less = length
        if name == "spool":  # over the outer ends of the convolutions, without outer tangents
            less = sum((one.convolutions or 0) * (one.pitch or 0.0) for one in held)
        if whole is not None and whole < less:
            yield Fault(
                fact=joint,
                field=name,
                wrong=f"{whole:g} m is less than its bellows end to end, {less:.3g} m",
                right="the length measured, or the pitch, convolutions or tangents corrected",
            )


def _shape_questions(one: BellowsElement) -> Iterator[Fault]:
    wanted: tuple[str, ...] = ()
    if one.convolution == Convolution.TOROIDAL:
        wanted = ("torus_radius", "mean_diameter")
    elif one.convolution == Convolution.U_REINFORCED:
        wanted = ("ring_area", "ring_material")
    told = one.pitch is not None or one.inside_diameter is not None
    for name in wanted:
        if told and not getattr(one, name):
            yield Fault(
                fact=one,
                field=name,
                wrong=f"a {one.convolution.value} bellows without its {name.replace('_', ' ')}",
                right="from drawing or measurement; what rests on it is not evaluated until then",
            )
    if one.convolution != Convolution.U_REINFORCED and one.ring_area:
        yield Fault(
            fact=one,
            field="ring_area",
            wrong=f"rings on a {one.convolution.value} bellows: they are not counted",
            right="shape U-shaped reinforced, or no ring area",
        )
