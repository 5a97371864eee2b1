"""What is wrong with a line, from movements measured on it."""

from __future__ import annotations

from functools import cache
from typing import Any

import msgspec
import numpy as np
import pytest

from takeup.errors import Contradiction, UnknownName
from takeup.line.diagnosis import (
    Fault,
    Kind,
    Options,
    Reading,
    candidates,
    diagnose,
    faults_of,
    model,
)
from takeup.line.diagnosis.faults import TEMPERATURE
from takeup.line.diagnosis.follow import follow
from takeup.line.diagnosis.predict import Model, exact, sound_at
from takeup.line.model import (
    Anchor,
    BellowsSpring,
    Guide,
    Hardware,
    Hold,
    Joint,
    Line,
    Pipe,
    Rest,
    State,
    Station,
    Straight,
    VariableSpring,
)

PIPE = Pipe(
    name="12", outside=0.3239, wall=0.00953, metal="carbon steel", insulation_mass=30.0
)  # fmt: skip
BELLOWS = BellowsSpring(length=0.25, axial_rate=300e3, mean_diameter=0.345)
RODS = Hardware(hold=Hold.TIED, rods=4, circle=0.5, rod_area=8e-4)


def made(**changes: Any) -> Line:
    """A run with a rest, a guide and a spring, a leg with a tied universal, and a spring."""
    places = {
        "A": (0, 0, 0), "B": (4, 0, 0), "C": (8, 0, 0), "D": (12, 0, 0), "E": (12, 4, 0),
        "J1": (12, 5, 0), "J2": (12, 5.8, 0), "F": (12, 9, 0), "G": (12, 9, -4),
    }  # fmt: skip
    straight = [("A", "B"), ("B", "C"), ("C", "D"), ("D", "E"), ("E", "J1"), ("J2", "F"),
                ("F", "G")]  # fmt: skip
    joint = Joint(
        tag="EJ-1", start="J1", end="J2", bellows=(BELLOWS, BELLOWS), over_both=0.8,
        hardware=(RODS,),
    )  # fmt: skip
    values: dict[str, Any] = {
        "tag": "L",
        "pipes": (PIPE,),
        "stations": tuple(Station(name=n, position=p) for n, p in places.items()),
        "pieces": (*(Straight(start=a, end=b, pipe="12") for a, b in straight), joint),
        "supports": (
            Anchor(name="first", station="A"),
            Anchor(name="last", station="G"),
            Rest(name="R1", station="B"),
            Guide(name="G1", station="C", gap=0.002),
            VariableSpring(name="S1", station="D", rate=40e3, load=6e3, travel_up=0.04,
                           travel_down=0.04),
            VariableSpring(name="S2", station="F", rate=60e3, load=6e3, travel_up=0.04,
                           travel_down=0.04),
        ),
        "states": (
            State(name="cold", role="cold"),
            State(name="hot", role="hot", temperature=623.0, pressure=0.3e6),
        ),
    }  # fmt: skip
    return Line(**{**values, **changes})


ALONE = Options(pairs=False, solved=6)
"""Single faults only, for speed."""
MARKS = tuple(
    Reading(kind=Kind.JOINT, place="EJ-1", part=part, error=1e-3)
    for part in ("axial", "lateral 1", "lateral 2", "angular 1", "angular 2")
)
INDICATORS = tuple(Reading(kind=Kind.INDICATOR, place=name) for name in ("S1", "S2"))


@cache
def ready() -> Model:
    """The line with every reading that could be taken."""
    every = (*MARKS, *INDICATORS, *candidates(made()))
    return model(made(), tuple({r.key: r for r in every}.values()))


def fault(place: str, what: str, size: float = 0.0) -> Fault:
    """One fault of the line."""
    return next(
        f for f in faults_of(made()) if f.place == place and f.what == what and f.size == size
    )


def shown(*faults: Fault, readings: tuple[Reading, ...] = MARKS) -> tuple[Reading, ...]:
    """The readings as they would be with the faults, without noise."""
    values = dict(zip((r.key for r in ready().readings), exact(ready(), faults), strict=True))
    return tuple(
        msgspec.structs.replace(reading, value=float(values[reading.key])) for reading in readings
    )


def test_sound_line_is_said_to_be_sound() -> None:
    """Marks of a sound line leave the sound line likeliest, and no fault alone in front."""
    found = diagnose(made(), shown(readings=(*MARKS, *INDICATORS)))
    assert found.groups[0].explanations[0].faults == ()
    assert found.chance > 0.5
    assert any("lost ply" in caution for caution in found.cautions)


def test_half_a_preload_is_not_told_from_a_sound_spring() -> None:
    """Hot minus cold does not know a preload: one group, and the readings that would split it."""
    half = fault("S1", "load", 0.5)
    found = diagnose(made(), shown(half))
    group = found.group_of("S1")
    assert group is not None
    assert group is found.group_of()
    assert half in [one.faults[0] for one in group.explanations if len(one.faults) == 1]
    assert "support load" in group.split_words
    assert "position" in group.split_words
    assert all(hint.bits > 0.0 for hint in group.split)


def test_load_reading_splits_what_marks_could_not() -> None:
    """With the load of the supports read, the spring at half its load leaves the sound group."""
    loads = tuple(
        Reading(kind=Kind.LOAD, place=name, error=200.0) for name in ("R1", "S1", "S2")
    )  # fmt: skip
    half = fault("S1", "load", 0.5)
    found = diagnose(made(), shown(half, readings=(*MARKS, *loads)))
    assert found.groups[0].explanations[0].faults == (half,)
    assert found.group_of("S1") is not found.group_of()


@pytest.mark.parametrize(
    ("place", "what"), [("S2", "seized"), ("G1", "seized"), ("EJ-1", "locked")]
)
def test_fault_with_a_signature_is_found(place: str, what: str) -> None:
    """A seized spring, a seized guide and a locked joint each come out first, by name."""
    one = fault(place, what)
    found = diagnose(made(), shown(one, readings=(*MARKS, *INDICATORS)))
    assert found.groups[0].explanations[0].faults == (one,)
    assert found.groups[0].posterior > 0.8


def test_two_faults_are_found_together() -> None:
    """A seized guide and a seized spring: the pair comes first."""
    pair = (fault("G1", "seized"), fault("S2", "seized"))
    found = diagnose(made(), shown(*pair, readings=(*MARKS, *INDICATORS)))
    assert set(found.groups[0].explanations[0].faults) == set(pair)


def test_other_temperature_is_named_with_its_rise() -> None:
    """All movements a quarter larger: the temperature is blamed, not a support."""
    base = ready()
    values = sound_at(base, 1.25, 1.0).values[:7]
    taken = tuple(
        msgspec.structs.replace(reading, value=float(value))
        for reading, value in zip(base.readings[:7], values, strict=True)
    )
    found = diagnose(made(), taken, options=ALONE)
    first = found.groups[0].explanations[0]
    assert [one.place for one in first.faults] == ["process temperature"]
    assert found.rise == pytest.approx(1.25, abs=0.12)


def test_posterior_is_shared_out_once() -> None:
    """Groups and the rest make up one; each explanation stands in one group."""
    found = diagnose(made(), shown(fault("S2", "seized")))
    names = [one.name for group in found.groups for one in group.explanations]
    assert len(names) == len(set(names))
    assert sum(group.posterior for group in found.groups) + found.others == pytest.approx(1.0)


@pytest.mark.parametrize("point", [(1.0, 1.0), (1.21, 1.55), (0.79, 0.05)])
def test_faults_followed_together_are_those_of_the_solver(point: tuple[float, float]) -> None:
    """Every single fault shows what the solver of lines finds for it, at any point of the grid."""
    base = ready()
    every = [one for one in faults_of(made()) if one.place != TEMPERATURE]
    found = follow(base, [(one,) for one in every])
    assert found.good.all()
    sound, at = sound_at(base, *point), base.points.index(point)
    moved = np.array([reading.kind != Kind.LOAD for reading in base.readings])
    scale = np.where(moved, 1e-8, 1e-2)  # 10 nm, a hundredth of a newton
    for one, effect in zip(every, found.values, strict=True):
        theirs = exact(base, [one], sound) + base.record - sound.values
        assert np.abs((effect[at] - theirs) / scale).max() < 1.0, one.name


def test_a_pair_is_more_than_its_sum_where_one_opens_what_the_other_closes() -> None:
    """Two faults followed together agree with the solver; their sum does not."""
    base = ready()
    pair = [fault("R1", "lost"), fault("G1", "lost")]
    both = follow(base, [pair, pair[:1], pair[1:]], [0]).values[:, 0]
    moved = np.array([reading.kind != Kind.LOAD for reading in base.readings])
    theirs = exact(base, pair) + base.record - base.values[0]
    assert np.abs(both[0] - theirs)[moved].max() < 1e-8
    assert np.abs(both[1] + both[2] - theirs)[moved].max() > 1e-5


def test_readings_of_a_sound_line_are_those_of_the_solver() -> None:
    """Joint marks agree with the movements that the solver reports."""
    base = ready()
    sound = sound_at(base)
    cold, hot = sound.cold.joint("EJ-1"), sound.hot.joint("EJ-1")
    theirs = [hot.axial - cold.axial, *np.subtract(hot.lateral, cold.lateral),
              *np.subtract(hot.angular, cold.angular)]  # fmt: skip
    assert base.sound[0].values[:5] == pytest.approx(theirs, rel=1e-9, abs=1e-12)


def test_next_reading_is_one_that_tells_a_slack_spring_from_a_stuck_one() -> None:
    """One mark says that S2 moves wrong; what to read next tells most about what it may be."""
    (one,) = shown(fault("S2", "seized"), readings=MARKS[2:3])
    found = diagnose(made(), [one], options=ALONE)
    assert found.next is not None
    assert found.next == found.hints[0]
    assert found.next.reading.key != one.key
    assert found.next.bits > 0.3
    bits = [hint.bits for hint in found.hints]
    assert bits == sorted(bits, reverse=True)


def test_nothing_is_asked_for_where_nothing_would_tell() -> None:
    """With the load and place of every support read as well, one more is worth little."""
    full = {reading.key for reading in candidates(made())}
    taken = tuple(reading for reading in ready().readings if reading.key in full)[:-1]
    found = diagnose(made(), shown(fault("S2", "seized"), readings=taken), options=ALONE)
    assert found.groups[0].explanations[0].faults == (fault("S2", "seized"),)
    assert found.next is None


def test_marks_that_nothing_explains_are_said_so() -> None:
    """Readings far from all explanations bring a caution, not a culprit without a word."""
    wild = [msgspec.structs.replace(mark, value=value) for mark, value in
            zip(MARKS, (0.4, -0.5, 0.6, 0.3, -0.3), strict=True)]  # fmt: skip
    found = diagnose(made(), wild, options=ALONE)
    assert found.chance < 0.01
    assert any("no single fault or pair fits" in caution for caution in found.cautions)


@pytest.mark.parametrize(
    ("reading", "error", "words"),
    [
        (Reading(kind=Kind.JOINT, place="EJ-9", part="axial", value=0.0), UnknownName, "EJ-9"),
        (Reading(kind=Kind.JOINT, place="EJ-1", part="up", value=0.0), UnknownName, "up"),
        (Reading(kind=Kind.LOAD, place="G1", value=0.0), Contradiction, "cannot be read"),
        (Reading(kind=Kind.INDICATOR, place="S1"), Contradiction, "no reading"),
        (Reading(kind=Kind.INDICATOR, place="S1", value=0.0, error=0.0), Contradiction, "above"),
    ],
)
def test_readings_that_cannot_be_are_refused(reading: Reading, error: Any, words: str) -> None:
    """What is wrong with a reading is said."""
    with pytest.raises(error, match=words):
        diagnose(made(), [reading])


def test_states_must_be_known() -> None:
    """Without roles and names nobody knows which state is hot."""
    loose = made(states=(State(name="one"), State(name="two", temperature=500.0)))
    with pytest.raises(Contradiction, match="cold and of a hot state"):
        diagnose(loose, [msgspec.structs.replace(MARKS[0], value=0.0)])
    marks = [msgspec.structs.replace(MARKS[0], value=0.0)]
    assert diagnose(loose, marks, cold="one", hot="two", options=ALONE).groups
