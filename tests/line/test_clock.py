"""Pins and rods told by the clock, looking along the joint."""

from __future__ import annotations

import msgspec
import numpy as np
import pytest

from takeup.errors import Contradiction
from takeup.line.elements import at_clock
from takeup.line.holding import rod_forces
from takeup.line.model import Hardware, Hold, State
from takeup.line.solve import solve
from tests.line.test_solve import ready, run

STATE = State(name="cold", pressure=1e6)


@pytest.mark.parametrize(
    ("along", "hour", "points"),
    [
        ((1, 0, 0), 12, (0, 0, 1)),
        ((1, 0, 0), 3, (0, -1, 0)),
        ((0, 1, 0), 3, (1, 0, 0)),
        ((0, 0, -1), 12, (0, 1, 0)),
        ((0, 0, -1), 3, (1, 0, 0)),
        ((0, 0, 1), 3, (-1, 0, 0)),
        ((0.6, 0, -0.8), 6, (-0.8, 0, -0.6)),
    ],
)
def test_the_clock_is_read_looking_along_the_joint(along, hour, points) -> None:
    """12 is up, 3 to the right; of an upright joint 12 is north."""
    assert at_clock(np.array(along, dtype=float), hour) == pytest.approx(points, abs=1e-12)


def test_a_hinge_by_the_clock_is_a_hinge_by_its_axis() -> None:
    """A pin at 12 o'clock of a level joint stands upright: the same movement."""
    by_axis = Hardware(hold=Hold.HINGE, axis=(0.0, 0.0, 1.0))
    by_clock = Hardware(hold=Hold.HINGE, clock=12.0)
    found = [
        solve(ready(msgspec.structs.replace(run(hardware=(one,)), states=(STATE,))))[0].motion
        for one in (by_axis, by_clock)
    ]
    assert np.abs(found[0]).max() > 0.0
    assert found[1] == pytest.approx(found[0], abs=1e-9)


def test_a_hinge_without_direction_is_refused() -> None:
    """Neither axis nor clock: it is asked for."""
    line = msgspec.structs.replace(run(hardware=(Hardware(hold=Hold.HINGE),)), states=(STATE,))
    with pytest.raises(Contradiction, match="axis or clock"):
        ready(line)


def test_two_rods_stand_where_the_clock_says() -> None:
    """Weight bends the run: rods at 12 and 6 carry it unevenly, at 3 and 9 alike."""

    def tension(hour: float) -> tuple[float, ...]:
        rods = Hardware(hold=Hold.TIED, rods=2, circle=0.6, rod_area=5e-4, rod_length=0.5,
                        gap_in=0.0, clock=hour)  # fmt: skip
        made = ready(msgspec.structs.replace(run(hardware=(rods,)), states=(STATE,)))
        return rod_forces(made, solve(made)[0])[0].tension

    upright, level = tension(12.0), tension(3.0)
    assert sum(upright) == pytest.approx(sum(level), rel=1e-3)
    assert level[0] == pytest.approx(level[1], rel=1e-6)
    assert abs(upright[0] - upright[1]) > 100.0
