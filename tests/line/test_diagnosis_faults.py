"""Faults of every kind of support and joint, followed together and by the solver of lines."""

from __future__ import annotations

import csv
from functools import cache
from importlib import resources
from typing import Any

import numpy as np
import pytest

from takeup.line.diagnosis import Fault, Kind, candidates, diagnose, faults_of, model
from takeup.line.diagnosis.faults import TEMPERATURE, added
from takeup.line.diagnosis.follow import follow
from takeup.line.diagnosis.predict import Model, exact, sound_at
from takeup.line.model import (
    Anchor,
    BellowsSpring,
    ConstantSpring,
    Guide,
    Hardware,
    Hold,
    Joint,
    Line,
    Pipe,
    Rest,
    RodHanger,
    State,
    Station,
    Stop,
    Straight,
    Strut,
    VariableSpring,
)

PIPE = Pipe(
    name="16", outside=0.4064, wall=0.00953, metal="carbon steel", insulation_mass=40.0
)  # fmt: skip
BELLOWS = BellowsSpring(
    length=0.25, axial_rate=400e3, axial_rate_cold=480e3, mean_diameter=0.435
)  # fmt: skip
PINS = Hardware(hold=Hold.HINGE, axis=(1.0, 0.0, 0.0), pin_diameter=0.06, friction=0.2)


def made(**changes: Any) -> Line:
    """A line in one plane on every kind of support, with a pair of hinges in its middle leg."""
    places = {
        "A": (0, 0, 0), "B": (0, 5, 0), "C": (0, 9, 0), "D": (0, 13, 0), "H1": (0, 13, -2),
        "H2": (0, 13, -6), "E": (0, 13, -9), "F": (0, 17, -9), "G": (0, 21, -9), "K": (0, 25, -9),
        "M": (3, 25, -9),
    }  # fmt: skip
    straight = [("A", "B"), ("B", "C"), ("C", "D"), ("D", "H1"), ("H2", "E"), ("E", "F"),
                ("F", "G"), ("G", "K"), ("K", "M")]  # fmt: skip
    joint = Joint(
        tag="EJ-7", start="H1", end="H2", bellows=(BELLOWS, BELLOWS), over_both=3.5,
        hardware=(PINS, PINS),
    )  # fmt: skip
    values: dict[str, Any] = {
        "tag": "L",
        "pipes": (PIPE,),
        "stations": tuple(Station(name=n, position=p) for n, p in places.items()),
        "pieces": (*(Straight(start=a, end=b, pipe="16") for a, b in straight), joint),
        "supports": (
            Anchor(name="first", station="A"),
            Anchor(name="last", station="M"),
            Rest(name="R1", station="B", friction=0.3),
            Guide(name="G1", station="C", gap=0.003, friction=0.2),
            ConstantSpring(name="C1", station="D", load=9e3, travel_up=0.1, travel_down=0.1),
            VariableSpring(name="S1", station="E", rate=60e3, load=9e3, travel_up=0.05,
                           travel_down=0.05, rod=2.0),
            RodHanger(name="H1", station="F", length=3.0),
            Stop(name="P1", station="G", direction=(1.0, 0.0, 0.0), gap_plus=0.002,
                 gap_minus=0.002),
            Rest(name="R2", station="G", friction=0.0),
            Strut(name="U1", station="K", direction=(0.0, 0.0, 1.0)),
        ),
        "states": (
            State(name="cold", role="cold"),
            State(name="hot", role="hot", temperature=623.0, pressure=0.2e6),
        ),
    }  # fmt: skip
    return Line(**{**values, **changes})


@cache
def ready() -> Model:
    """The line with every reading that could be taken."""
    return model(made(), candidates(made()))


def test_every_kind_of_place_has_its_faults_with_a_prior_and_its_source() -> None:
    """Whatever the issue asks for is looked for, and says what its chance rests on."""
    found: dict[str, set[str]] = {}
    for one in faults_of(made()):
        found.setdefault(one.place, set()).add(one.what)
        assert 0.0 < one.prior < 0.2
        assert one.words
        assert one.source.standing == "engineering assumption"
    springs = {"upper stop", "lower stop", "seized", "load", "lost"}
    assert found == {
        "first": {"slip", "soft"}, "last": {"slip", "soft"}, "R1": {"lost", "seized"},
        "R2": {"lost", "seized"}, "G1": {"lost", "seized"}, "C1": springs, "S1": springs,
        "H1": {"lost", "slack"}, "P1": {"lost", "seized"}, "U1": {"lost"},
        "EJ-7": {"stiffened", "pins", "locked"}, TEMPERATURE: {"other"},
    }  # fmt: skip


def test_every_row_of_the_table_can_be_met() -> None:
    """No fault is listed for a kind of place that no line can have."""
    text = resources.files("takeup.line.diagnosis").joinpath("priors.csv").read_text("utf-8")
    kinds = {row["place"] for row in csv.DictReader(text.splitlines())}
    met = {type(one).__name__ for one in made().supports} | {"Joint", "temperature"}
    assert kinds == met


@pytest.mark.parametrize("point", [(1.0, 1.0), (0.93, 1.0), (1.35, 1.55)])
def test_all_faults_of_all_kinds_are_those_of_the_solver(point: tuple[float, float]) -> None:
    """Coupled rows, pins that rub, colder bellows: the arrays answer as the laws do."""
    base = ready()
    every = [one for one in faults_of(made()) if one.place != TEMPERATURE]
    found = follow(base, [(one,) for one in every], [base.points.index(point)])
    assert found.good.all()
    sound, at = sound_at(base, *point), base.points.index(point)
    moved = np.array([reading.kind != Kind.LOAD for reading in base.readings])
    scale = np.where(moved, 1e-7, 0.1)  # a tenth of a micrometre, a tenth of a newton
    assert np.abs((base.values[at] - sound.values) / scale).max() < 1.0
    for one, effect in zip(every, found.values[:, 0], strict=True):
        theirs = exact(base, [one], sound) + base.record - sound.values
        assert np.abs((effect - theirs) / scale).max() < 1.0, one.name


def test_seized_pins_leave_the_other_pins_to_turn() -> None:
    """With the pins over one bellows seized, a turn about the others costs nothing, one about
    these a lot."""
    joint = next(one for one in made().pieces if isinstance(one, Joint))
    arm = np.array([0.0, 0.0, -4.0])
    first, second = (
        one for one in faults_of(made()) if one.place == "EJ-7" and one.what == "pins"
    )  # fmt: skip
    stub, half = 0.5 * (4.0 - 3.5), 0.5 * BELLOWS.length
    for fault, free, held in ((first, stub + half, 4.0 - stub - half),
                              (second, 4.0 - stub - half, stub + half)):  # fmt: skip
        turn = np.array([1e-3, 0.0, 0.0])
        moved_free = np.concatenate([np.cross(turn, -np.array([0, 0, 1.0]) * free), turn])
        moved_held = np.concatenate([np.cross(turn, -np.array([0, 0, 1.0]) * held), turn])
        k = added(fault, joint, arm)
        assert np.abs(k @ moved_free).max() < 1e-3
        assert np.abs(k @ moved_held).max() > 1e5


def test_a_rest_held_sideways_still_lets_the_line_lift() -> None:
    """A rest that does not slide is no anchor: upwards the line is free."""
    (fault,) = (one for one in faults_of(made()) if one.place == "R1" and one.what == "seized")
    base = ready()
    effect = follow(base, [(fault,)], [0])
    rows = base.form.places[base.form.place_of["R1"]].rows
    pushed = effect.push[0, -1, 0, list(rows)]
    force = pushed[0] + base.steps[-1].ground.force[0, rows[0]]
    assert force >= -1e-3
    assert np.abs(pushed[1:]).max() > 1.0


def test_seized_pins_are_found_by_the_marks_of_the_joint() -> None:
    """Of two hinges, the one that does not turn is told from the one that does."""
    (second,) = (
        one for one in faults_of(made()) if one.what == "pins" and one.size == 2.0
    )  # fmt: skip
    base = ready()
    values = exact(base, [second])
    taken = [
        type(reading)(kind=reading.kind, place=reading.place, part=reading.part,
                      hot=reading.hot, value=float(value), error=5e-4)
        for reading, value in zip(base.readings, values, strict=True)
        if reading.kind == Kind.JOINT or (reading.kind == Kind.POSITION and reading.hot
                                          and reading.place in {"D", "E"})
    ]  # fmt: skip
    found = diagnose(made(), taken)
    first = found.groups[0].explanations[0]
    assert [(one.what, one.size) for one in first.faults] == [("pins", 2.0)]
    assert isinstance(first.faults[0], Fault)
