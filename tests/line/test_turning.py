"""A state that turns too far for small-rotation theory says so, with what turns and by how much."""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest

from takeup.line.model import Anchor, Line, Pipe, State, Station, Straight
from takeup.line.report import report
from takeup.line.solve import prepare, solve
from takeup.line.turning import SMALL, furthest

PIPE = Pipe(name="2", outside=0.0603, wall=0.00391, metal="carbon steel", insulation_mass=8.0)


def cantilever(length: float) -> Line:
    """A pipe of that length out of a wall, under its weight."""
    return Line(
        tag="C",
        pipes=(PIPE,),
        stations=(
            Station(name="wall", position=(0.0, 0.0, 0.0)),
            Station(name="tip", position=(length, 0.0, 0.0)),
        ),
        pieces=(Straight(start="wall", end="tip", pipe="2"),),
        supports=(Anchor(name="a", station="wall"),),
        states=(State(name="cold"),),
    )


def test_a_long_cantilever_turns_too_far() -> None:
    """Its tip turns by w L^3 / 6 E I; past 0.1 rad the report warns first of all, at its station."""
    turned = {}
    for length in (4.0, 14.0):
        ready = prepare(cantilever(length))
        (result,) = solve(ready)
        found = turned[length] = furthest(ready.line, result)
        (state,) = report(ready, (result,)).states
        assert found.too_far == (found.angle > SMALL)
        assert any("small rotations" in words for words in state.cautions) == found.too_far
    assert turned[14.0].angle == pytest.approx(turned[4.0].angle * (14.0 / 4.0) ** 3, rel=1e-6)
    assert turned[14.0].too_far
    assert not turned[4.0].too_far
    assert turned[4.0].says == ""
    assert "station 'tip' turns by" in turned[14.0].says
    assert turned[14.0].left_out == pytest.approx(1.0 - math.cos(turned[14.0].angle))


def test_a_turn_that_is_no_number_is_too_far() -> None:
    """What cannot be told is never taken as small."""
    ready = prepare(cantilever(4.0))
    (result,) = solve(ready)
    broken = msgspec.structs.replace(result, motion=np.full_like(result.motion, np.nan))
    assert furthest(ready.line, broken).too_far
