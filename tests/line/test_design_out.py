"""Designing a joint out: which plain alternative meets the limits, or why none does."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np
import pytest

from takeup.checks import Check, LimitKind, compare
from takeup.errors import UnknownName
from takeup.line.alternatives import Instead, alternatives, no_loop
from takeup.line.design_out import Judge, design_out
from takeup.line.model import (
    Anchor,
    BellowsSpring,
    Bend,
    Guide,
    Joint,
    Line,
    Pipe,
    Rest,
    State,
    Station,
    Straight,
    VariableSpring,
)
from takeup.line.solve import prepare, solve
from takeup.sources import assumption

PIPE = Pipe(name="8", outside=0.2191, wall=0.00818, metal="carbon steel")


def run(**changes: Any) -> Line:
    """40 m of NPS 8 between anchors with a joint in the middle."""
    spring = BellowsSpring(length=0.2, axial_rate=100e3, mean_diameter=0.25)
    places = {"A": 0.0, "B": 10.0, "C": 19.8, "D": 20.2, "E": 30.0, "F": 40.0}
    values: dict[str, Any] = {
        "tag": "L",
        "pipes": (PIPE,),
        "stations": tuple(Station(name=n, position=(x, 0.0, 0.0)) for n, x in places.items()),
        "pieces": (
            Straight(start="A", end="B", pipe="8"),
            Straight(start="B", end="C", pipe="8"),
            Joint(tag="EJ-1", start="C", end="D", bellows=(spring,)),
            Straight(start="D", end="E", pipe="8"),
            Straight(start="E", end="F", pipe="8"),
        ),
        "supports": (Anchor(name="first", station="A"), Anchor(name="last", station="F")),
        "states": (State(name="hot", temperature=533.15, weight=False),),
    }
    return Line(**{**values, **changes})


def judge(stress: float, force: float) -> Judge:
    """Nominal bending stress anywhere, and force on an anchor."""

    def checks(line: Line) -> Sequence[Check]:
        ready = prepare(line)
        (hot,) = solve(ready)
        assert hot.certificate.good
        bending = np.linalg.norm(hot.ends[:, 3:6], axis=1).max()
        z = math.pi / 32 * (0.2191**4 - (0.2191 - 2 * 0.00818) ** 4) / 0.2191
        pull = np.linalg.norm(hot.reaction("first").force)
        return [
            compare(id=id, name=name, demand=float(demand), capacity=capacity, kind=kind,
                    source=assumption(), limit_kind=LimitKind.DERIVED)
            for id, name, demand, capacity, kind in (
                ("stress", "Bending stress", bending / z, stress, "stress"),
                ("anchor", "Force on the anchor", pull, force, "force"),
            )
        ]  # fmt: skip

    return checks


def test_plain_pipe_does_where_the_limits_allow_it() -> None:
    """With limits beyond anything the simplest alternative is the best."""
    found = design_out(run(), "EJ-1", judge(1e12, 1e12), largest=3.0)
    assert found.best is not None
    assert found.best.alternative.words == "plain pipe in its place"


def test_a_loop_is_found_where_plain_pipe_would_tear_the_anchor() -> None:
    """Between plain pipe and the largest loop the smallest that holds is chosen."""
    found = design_out(run(), "EJ-1", judge(150e6, 20e3), largest=6.0)
    assert found.best is not None
    assert "loop" in found.best.alternative.words
    assert found.best.alternative.elbows == 4
    plain = found.judged[0]
    assert not plain.holds
    assert plain.worst is not None
    assert plain.worst.id == "anchor"
    smaller = [one for one in found.judged if one.alternative.pipe_added
               < found.best.alternative.pipe_added]  # fmt: skip
    assert smaller
    assert not any(one.holds for one in smaller)
    assert "can be designed out" in found.words[0]


def test_longer_legs_pull_less() -> None:
    """The force on the anchor falls as the legs of the loop grow."""
    found = design_out(run(), "EJ-1", judge(1.0, 1.0), largest=6.0, directions=[(0, 1, 0)])
    forces = [one.checks[1].demand for one in found.judged]
    assert len(forces) >= 4
    assert forces == sorted(forces, key=lambda f: -(f or 0.0))


def test_where_none_holds_the_reason_is_said() -> None:
    """Out of reach of every alternative: none, with what stands against the nearest."""
    found = design_out(run(), "EJ-1", judge(1e6, 1.0), largest=3.0)
    assert found.best is None
    assert "None of" in found.words[0]
    assert "of its limit" in " ".join(found.words)


def test_loops_join_what_they_replace() -> None:
    """Every alternative begins and ends where the run did, without the joint, and is one line."""
    line = run()
    for one in alternatives(line, "EJ-1", largest=5.0):
        assert not any(isinstance(piece, Joint) for piece in one.line.pieces)
        names = {station.name for station in one.line.stations}
        for piece in one.line.pieces:
            assert {piece.start, piece.end} <= names
        prepare(one.line)  # raises where it does not hang together
        bends = [piece for piece in one.line.pieces if isinstance(piece, Bend)]
        assert len(bends) == one.elbows


def test_a_guide_at_the_loop_is_offered_to_be_let_go() -> None:
    """A guide at the ends of the run is taken out in a variant of its own, and said so."""
    guided = msgspec.structs.replace(
        run(), supports=(*run().supports, Guide(name="guide B", station="B"))
    )
    found = [one for one in alternatives(guided, "EJ-1", largest=4.0) if one.let_go]
    assert {one.let_go for one in found} == {"guide B"}
    assert all("without guide B" in one.words for one in found)


def test_no_room_no_loop() -> None:
    """A run too short for two elbows gives plain pipe only."""
    tight = {"A": 0.0, "B": 0.3, "C": 0.4, "D": 0.8, "E": 0.9, "F": 1.2}
    short = run(stations=tuple(Station(name=n, position=(x, 0.0, 0.0)) for n, x in tight.items()))
    assert [one.words for one in alternatives(short, "EJ-1", largest=3.0)] == [
        "plain pipe in its place"
    ]


def test_where_no_loop_fits_that_is_said() -> None:
    """A short run, or legs too short for elbows; not where no loop was asked for."""
    found = design_out(run(), "EJ-1", judge(1.0, 1.0), largest=0.2)
    assert "The one alternative to EJ-1" in found.words[0]
    assert any("No loop fits" in words for words in found.words)
    plain = design_out(run(), "EJ-1", judge(1.0, 1.0), largest=0.0)
    assert not any("loop" in words for words in plain.words)


def test_unknown_joint_is_named() -> None:
    """A tag that is not on the line is refused with those that are."""
    with pytest.raises(UnknownName, match="EJ-9"):
        design_out(run(), "EJ-9", judge(1.0, 1.0), largest=1.0)


def on_run(kind: type[Guide] | type[Rest]) -> Line:
    """The run with a support inside it, beside the joint."""
    return msgspec.structs.replace(
        run(), supports=(*run().supports, kind(name="beside", station="C"))
    )


def test_a_guide_on_the_run_is_let_go_for_a_loop_and_no_loop_is_tried_where_it_must_stay() -> None:
    """A loop that takes the place of the guide says so; kept, the guide is named as the reason."""
    line = on_run(Guide)
    loops = [one for one in alternatives(line, "EJ-1", largest=4.0) if one.elbows]
    assert loops
    assert all(one.let_go == "beside" for one in loops)
    assert not any(s.name == "beside" for one in loops for s in one.line.supports)
    assert not no_loop(line, "EJ-1")
    kept = list(alternatives(line, "EJ-1", largest=4.0, may_go=()))
    assert [one.words for one in kept] == ["plain pipe in its place"]
    assert "beside stands on the straight run" in no_loop(line, "EJ-1", ())
    found = design_out(line, "EJ-1", judge(1.0, 1.0), largest=4.0, may_go=())
    assert any("No loop was tried: beside" in words for words in found.words)


def test_a_rest_on_the_run_keeps_loops_from_being_tried() -> None:
    """What carries weight is never let go by itself."""
    assert "beside" in no_loop(on_run(Rest), "EJ-1")


def test_a_branch_on_the_run_keeps_loops_from_being_tried() -> None:
    """The branch would hang in the air."""
    line = run()
    line = msgspec.structs.replace(
        line,
        stations=(*line.stations, Station(name="X", position=(19.8, 3.0, 0.0))),
        pieces=(*line.pieces, Straight(start="C", end="X", pipe="8")),
    )
    assert [one.words for one in alternatives(line, "EJ-1", largest=3.0)] == [
        "plain pipe in its place"
    ]
    assert "a branch leaves" in no_loop(line, "EJ-1")


def test_supports_at_hand_stand_in_place_of_those_of_the_same_name() -> None:
    """Every alternative is tried as it is and with them, and its words say so."""
    line = msgspec.structs.replace(
        run(), supports=(*run().supports, Rest(name="rest B", station="B"))
    )
    spring = VariableSpring(
        name="rest B", station="B", rate=50e3, load=10e3, travel_up=0.1, travel_down=0.1
    )
    at_hand = Instead(words="a spring at B", supports=(spring,))
    every = list(alternatives(line, "EJ-1", largest=2.0, instead=[at_hand]))
    put = [one for one in every if one.put]
    assert len(put) == len(every) / 2
    assert all(one.words.endswith("with a spring at B") for one in put)
    assert all(spring in one.line.supports for one in put)
    assert all(len(one.line.supports) == 3 for one in every)


def test_what_is_not_known_is_no_pass_and_is_named() -> None:
    """With a limit missing nothing is said to hold; the simplest without an unmet check leads."""

    def blind(line: Line) -> Sequence[Check]:
        return [
            *judge(1e12, 1e12)(line),
            compare(id="x", name="Load on the nozzle", demand=1.0, capacity=None, kind="force",
                    source=assumption()),
        ]  # fmt: skip

    found = design_out(run(), "EJ-1", blind, largest=3.0)
    assert found.best is None
    assert found.undecided is found.judged[0]
    assert [one.name for one in found.judged[0].open] == ["Load on the nozzle"]
    assert "not evaluated: Load on the nozzle" in found.words[0]
    assert "can be designed out" not in " ".join(found.words)
