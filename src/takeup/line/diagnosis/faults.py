"""Faults that supports, joints and records can have, how likely they are, how they act."""

from __future__ import annotations

import csv
from functools import cache
from importlib import resources

import msgspec
import numpy as np

from takeup.line import contact
from takeup.line.contact import Law, Parts, Row
from takeup.line.model import (
    Anchor,
    ConstantSpring,
    Hold,
    Joint,
    Line,
    Rest,
    Support,
    VariableSpring,
)
from takeup.sources import Source, assumption
from takeup.units import Array

HOLDS = 1e9
"""Stiffness of what is seized or locked [N/m, N.m/rad]."""
TEMPERATURE = "process temperature"
NO_SIGNATURE = (
    "a lost ply of a bellows is not looked for: the line is so much stiffer than a bellows that "
    "its movement stays the same"
)


class Fault(msgspec.Struct, frozen=True, kw_only=True):
    """One thing that may be wrong at one place."""

    place: str
    """Support, joint tag, or :data:`TEMPERATURE`"""
    what: str
    size: float
    """Share of load, slip or slack [m], stiffness, times the rate, number of the bellows; 0 where
    it has none"""
    prior: float
    """Chance that a place of that kind has it"""
    words: str
    source: Source

    @property
    def name(self) -> str:
        """The place and what is wrong there."""
        if self.place == TEMPERATURE:
            return self.words
        return f"{self.place} {self.words}"


@cache
def _table() -> tuple[dict[str, str], ...]:
    text = resources.files("takeup.line.diagnosis").joinpath("priors.csv").read_text("utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def _of(kind: str, place: str) -> list[Fault]:
    return [
        Fault(
            place=place,
            what=row["fault"],
            size=float(row["size"] or 0.0),
            prior=float(row["prior"]),
            words=row["words"],
            source=assumption("priors.csv of line diagnosis"),
        )
        for row in _table()
        if row["place"] == kind
    ]


def faults_of(line: Line) -> tuple[Fault, ...]:
    """Every single fault that is looked for in ``line``."""
    found: list[Fault] = []
    for one in line.supports:
        found += _of(type(one).__name__, one.name)
    for piece in line.pieces:
        if not isinstance(piece, Joint) or piece.locked:
            continue
        for fault in _of("Joint", piece.tag):
            if fault.what != "pins":
                found.append(fault)
            elif any(h.hold in {Hold.HINGE, Hold.GIMBAL} for h in piece.hardware):
                found += _pins(fault, len(piece.bellows))
    return (*found, *_of("temperature", TEMPERATURE))


def _pins(fault: Fault, bellows: int) -> list[Fault]:
    """Pins over each bellows seize by themselves."""
    if bellows < 2:
        return [fault]
    which = ("first", "second")
    return [
        msgspec.structs.replace(
            fault, size=float(at + 1), words=f"{fault.words} over its {which[at]} bellows"
        )
        for at in range(bellows)
    ]


def act(
    fault: Fault,
    one: Support | Joint,
    sound: Law,
    cold: Array,
    load: Array,
    hot_load: Array,
    hot: bool,
    arm: Array,
) -> Law:
    """The law of a place with a fault.

    ``cold`` and ``load`` are movement and force of its rows in the sound cold state, ``hot_load``
    the force in the sound hot state, ``arm`` the way from start to end of a joint.
    """
    count = len(sound.rows)
    if fault.what == "lost":
        law = contact.nothing(fault.place, count, sound.memory)
    elif fault.what == "seized" and isinstance(one, Rest):
        law = _sideways(fault, sound, cold, load)
    elif fault.what in {"seized", "locked"}:
        carried = load if fault.what == "seized" else 0.0 * load
        law = contact.held(fault.place, HOLDS, cold, carried)
    elif isinstance(one, (VariableSpring, ConstantSpring)):
        law = _spring(fault, one, float(cold[0]))
    elif isinstance(one, Anchor):
        law = _anchor(fault, sound, hot_load, hot)
    elif isinstance(one, Joint):
        law = contact.linkage(fault.place, added(fault, one, arm), cold)
    else:  # a slack rod: the same, lower by the slack
        low = np.zeros(count)
        low[0] = -fault.size
        law = _shifted(sound, low)
    law.rows, law.memory = sound.rows, sound.memory
    return law


def _figures(law: Law) -> Parts:
    assert isinstance(law.answer, Parts)
    return law.answer


def _shifted(law: Law, by: Array) -> Law:
    """The law with its rows further on by ``by``."""
    parts = _figures(law)
    rows = tuple(
        row._replace(at=row.at + x) for row, x in zip(parts.rows, by.tolist(), strict=False)
    )
    return msgspec.structs.replace(law, answer=Parts(rows, parts.rubs, parts.rod))


def _sideways(fault: Fault, sound: Law, cold: Array, load: Array) -> Law:
    """A rest that holds sideways where it stood, and still lets the line lift off."""
    aside = tuple(
        Row(at=x, load=f, rate=HOLDS)
        for x, f in zip(cold[1:].tolist(), load[1:].tolist(), strict=True)
    )
    return Law(
        name=fault.place,
        reference=sound.reference,
        answer=Parts((_figures(sound).rows[0], *aside)),
    )


def _spring(fault: Fault, one: VariableSpring | ConstantSpring, cold: float) -> Law:
    up, down, load = one.travel_up, one.travel_down, one.load
    if fault.what == "upper stop":
        up = cold
    elif fault.what == "lower stop":
        down = -cold
    else:
        load = fault.size * load
    if isinstance(one, ConstantSpring):
        return contact.constant(one.name, load=load, tolerance=one.tolerance, up=up, down=down)
    return contact.variable(one.name, rate=one.rate, load=load, up=up, down=down, rod=one.rod)


def _anchor(fault: Fault, sound: Law, hot_load: Array, hot: bool) -> Law:
    if fault.what == "soft":
        parts = _figures(sound)
        rows = tuple(row._replace(rate=min(row.rate, fault.size)) for row in parts.rows)
        return msgspec.structs.replace(sound, answer=Parts(rows))
    slip = np.zeros(6)
    push = -hot_load[:3]
    size = float(np.linalg.norm(push))
    if hot and size > 0.0:
        slip[:3] = fault.size * push / size
    return _shifted(sound, slip)


def added(fault: Fault, one: Joint, arm: Array) -> Array:
    """Added stiffness on the six relative movements of the ends of a joint, global axes."""
    if fault.what == "pins":
        return _seized_pins(fault, one, arm)
    axis = arm / np.linalg.norm(arm)
    axial = 1.0 / sum(1.0 / spring.axial_rate for spring in one.bellows)
    turning = axial * one.bellows[0].mean_diameter ** 2 / 8.0
    length = one.over_both or sum(spring.length for spring in one.bellows)
    along = np.outer(axis, axis)
    across = np.eye(3) - along
    k = np.zeros((6, 6))
    k[:3, :3] = axial * along + 12.0 * turning / length**2 * across
    k[3:, 3:] = turning * across
    return fault.size * k


def _seized_pins(fault: Fault, one: Joint, arm: Array) -> Array:
    """Pins of one bellows that do not turn.

    A joint with one bellows does not turn at all then.  One with two turns about the other pins
    only: their point moves with both ends alike.
    """
    if len(one.bellows) < 2:
        k = np.zeros((6, 6))
        k[3:, 3:] = HOLDS * np.eye(3)
        return k
    length = float(np.linalg.norm(arm))
    over = one.over_both if one.over_both is not None else length
    stub = 0.5 * (length - over)
    from_end = stub + 0.5 * one.bellows[1].length
    if fault.size == 2.0:
        from_end = length - stub - 0.5 * one.bellows[0].length
    x, y, z = -from_end * arm / length
    at_point = np.hstack([np.eye(3), [[0.0, z, -y], [-z, 0.0, x], [y, -x, 0.0]]])
    return np.asarray(HOLDS * at_point.T @ at_point)
