"""What nothing holds is named; supports on their stops or lifted off are no reason to give up."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest

from takeup.line.model import (
    Anchor,
    ConstantSpring,
    Line,
    Pipe,
    Rest,
    RodHanger,
    State,
    Station,
    Straight,
    Strut,
    VariableSpring,
)
from takeup.line.solve import StateResult, Unsolved, prepare, solve

PIPE = Pipe(name="8", outside=0.2191, wall=0.00818, metal="carbon steel")
STATES = (State(name="cold"), State(name="hot", temperature=500.0))
PLACES = {"A": (0.0, 0.0, 0.0), "B": (6.0, 0.0, 0.0), "C": (12.0, 0.0, 0.0), "D": (12.0, 3.0, 0.0)}
EAST, NORTH, UP = np.eye(3).tolist()


def strut(station: str, direction: Any) -> Strut:
    """A strut named after where it stands and which way it holds."""
    way = {0: "east", 1: "north", 2: "up"}[int(np.argmax(direction))]
    return Strut(name=f"{station} {way}", station=station, direction=tuple(direction))


def solved(*supports: Any, upto: str = "D") -> tuple[StateResult, ...]:
    """An L in the plane on these supports; without its last leg up to C."""
    names = "ABCD"[: "ABCD".index(upto) + 1]
    line = Line(
        tag="L",
        pipes=(PIPE,),
        stations=tuple(Station(name=name, position=PLACES[name]) for name in names),
        pieces=tuple(Straight(start=a, end=b, pipe="8") for a, b in itertools.pairwise(names)),
        supports=supports,
        states=STATES,
    )
    return solve(prepare(line))


FLAT = (strut("A", EAST), strut("A", NORTH), strut("C", NORTH))
"""Held in its plane, free to go up"""


def test_a_run_free_to_turn_about_itself_is_loose() -> None:
    """Struts every way at both ends leave a straight run free to spin: station and axis are named."""
    every = [strut(station, way) for station in "AC" for way in (EAST, NORTH, UP)]
    with pytest.raises(Unsolved, match="turns about east and nothing holds it"):
        solved(*every, upto="C")


def test_a_run_on_one_rest_tips_over() -> None:
    """One rest with friction holds no moment: it is not solved as if it did."""
    with pytest.raises(Unsolved, match="the line is loose"):
        solved(Rest(name="only", station="A", friction=0.3))


def test_a_line_that_lifts_off_all_its_rests_is_named() -> None:
    """What is lifted, by what, which way, and which rests bear nothing any more."""
    rests = [Rest(name=f"rest {s}", station=s, friction=0.0) for s in "ACD"]
    lifter = ConstantSpring(name="lifter", station="B", load=50e3, travel_up=9.0, travel_down=0.1)
    with pytest.raises(Unsolved) as fault:
        solved(*FLAT, *rests, lifter)
    words = str(fault.value)
    assert "state 'cold'" in words
    assert "moves up and nothing holds it as the supports then stand" in words
    assert "'rest A' bears nothing" in words
    assert "'lifter' gives at its load" in words


def test_a_rod_that_would_have_to_push_is_named() -> None:
    """A rod hanger bears no push: what it leaves free is said, with its name."""
    rod = RodHanger(name="rod", station="A", length=2.0)
    lifter = ConstantSpring(name="lifter", station="B", load=50e3, travel_up=9.0, travel_down=0.1)
    with pytest.raises(Unsolved, match="'rod' bears nothing"):
        solved(*FLAT, strut("D", UP), rod, lifter)


@pytest.mark.parametrize("load", [2e3, 9e3, 20e3])
def test_springs_on_their_stops_at_both_ends_carry_by_statics(load: float) -> None:
    """Two springs beyond upper or lower stop with a strut: three upward forces that statics gives."""
    springs = [
        VariableSpring(name=f"spring {s}", station=s, rate=5e4, load=load, travel_up=0.01,
                       travel_down=0.01)
        for s in "AC"
    ]  # fmt: skip
    results = solved(*FLAT, strut("D", UP), *springs)
    weight = sum(-one.force[2] for one in results[0].reactions)
    run, leg = weight * 12.0 / 15.0, weight * 3.0 / 15.0
    for result in results:
        up = {one.name: -one.force[2] for one in result.reactions}
        assert up["D up"] == pytest.approx(leg / 2.0, rel=1e-9)
        assert up["spring A"] == pytest.approx(run / 2.0, rel=1e-9)
        assert up["spring C"] == pytest.approx(run / 2.0 + leg / 2.0, rel=1e-9)
        travels = [one.movement[2] for one in result.reactions if one.name.startswith("spring")]
        assert all(abs(travel) > 0.01 for travel in travels), "the springs are off their stops"


def test_a_constant_spring_comes_to_rest_on_its_stop() -> None:
    """Set for twenty times the weight, it stands on its upper stop and bears what statics gives."""
    strong = ConstantSpring(name="k", station="C", load=50e3, travel_up=0.01, travel_down=0.01)
    results = solved(*FLAT, strut("D", UP), Rest(name="rest", station="A", friction=0.0), strong)
    for result in results:
        assert result.certificate.good
        assert result.reaction("k").movement[2] == pytest.approx(0.01, abs=1e-5)


def test_a_spring_that_may_not_travel_stands_on_both_stops() -> None:
    """Without travel either way a spring bears what a stiff strut bears."""
    still = VariableSpring(
        name="v", station="C", rate=5e4, load=2e3, travel_up=0.0, travel_down=0.0
    )
    anchor = Anchor(name="a", station="A")
    spring, held = solved(anchor, still), solved(anchor, strut("C", UP))
    for one, two in zip(spring, held, strict=True):
        assert one.reaction("v").force[2] == pytest.approx(two.reaction("C up").force[2], rel=0.01)
