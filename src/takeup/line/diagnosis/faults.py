"""Faults that supports, joints and records can have, how likely they are, how they act."""

from __future__ import annotations

import csv
from functools import cache
from importlib import resources

import msgspec
import numpy as np

from takeup.line import contact
from takeup.line.contact import Law
from takeup.line.model import Anchor, ConstantSpring, Hold, Joint, Line, Support, VariableSpring
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
    """Share of load, slip or slack [m], stiffness, times the rate; 0 where it has none"""
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
        pinned = any(h.hold in {Hold.HINGE, Hold.GIMBAL} for h in piece.hardware)
        found += [f for f in _of("Joint", piece.tag) if pinned or f.what != "pins"]
    return (*found, *_of("temperature", TEMPERATURE))


def act(
    fault: Fault,
    one: Support | Joint,
    sound: Law,
    cold: Array,
    load: Array,
    hot_load: Array,
    hot: bool,
    axis: Array,
) -> Law:
    """The law of a place with a fault.

    ``cold`` and ``load`` are movement and force of its rows in the sound cold state, ``hot_load``
    the force in the sound hot state, ``axis`` the direction of a joint.
    """
    count = len(sound.rows)
    if fault.what == "lost":
        law = contact.nothing(fault.place, count, sound.memory)
    elif fault.what in {"seized", "locked"}:
        law = held(fault.place, cold, load if fault.what == "seized" else 0.0 * load)
    elif isinstance(one, VariableSpring):
        law = _variable(fault, one, float(cold[0]))
    elif isinstance(one, ConstantSpring):
        law = contact.constant(
            one.name, load=fault.size * one.load, tolerance=one.tolerance, up=one.travel_up,
            down=one.travel_down,
        )  # fmt: skip
    elif isinstance(one, Anchor):
        law = _anchor(fault, one, sound, hot_load, hot)
    elif isinstance(one, Joint):
        law = contact.linkage(fault.place, added(fault, one, axis), cold)
    else:  # a slack rod: the same, lower by the slack
        low = np.zeros(count)
        low[0] = fault.size

        def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
            return sound.answer(u + low, memory)

        law = Law(name=fault.place, reference=sound.reference, answer=answer)
    law.rows, law.memory = sound.rows, sound.memory
    return law


def held(name: str, at: Array, load: Array) -> Law:
    """Held where it stood, with the load it had there."""
    slope = -HOLDS * np.eye(len(at))

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        return load - HOLDS * (u - at), slope, memory

    return Law(name=name, reference=(HOLDS,) * len(at), answer=answer)


def _variable(fault: Fault, one: VariableSpring, cold: float) -> Law:
    up, down, load = one.travel_up, one.travel_down, one.load
    if fault.what == "upper stop":
        up = cold
    elif fault.what == "lower stop":
        down = -cold
    else:
        load = fault.size * load
    return contact.variable(one.name, rate=one.rate, load=load, up=up, down=down, rod=one.rod)


def _anchor(fault: Fault, one: Anchor, sound: Law, hot_load: Array, hot: bool) -> Law:
    if fault.what == "soft":
        k = np.minimum(np.asarray(sound.reference), fault.size)
        shift = np.zeros(6)
        at = sound.answer(shift, np.zeros(0))[0] / np.asarray(sound.reference)
        return contact.moved(one.name, k.tolist(), at)
    slip = np.zeros(6)
    push = -hot_load[:3]
    size = float(np.linalg.norm(push))
    if hot and size > 0.0:
        slip[:3] = fault.size * push / size

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        return sound.answer(u - slip, memory)

    return Law(name=one.name, reference=sound.reference, answer=answer)


def added(fault: Fault, one: Joint, axis: Array) -> Array:
    """Added stiffness on the six relative movements of the ends of a joint, global axes."""
    if fault.what == "pins":
        k = np.zeros((6, 6))
        k[3:, 3:] = HOLDS * np.eye(3)
        return k
    axial = 1.0 / sum(1.0 / spring.axial_rate for spring in one.bellows)
    turning = axial * one.bellows[0].mean_diameter ** 2 / 8.0
    length = one.over_both or sum(spring.length for spring in one.bellows)
    along = np.outer(axis, axis)
    across = np.eye(3) - along
    k = np.zeros((6, 6))
    k[:3, :3] = axial * along + 12.0 * turning / length**2 * across
    k[3:, 3:] = turning * across
    return fault.size * k
