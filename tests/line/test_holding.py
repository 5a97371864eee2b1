"""Rods, pins, and what contacts and springs do in a solved line."""

from __future__ import annotations

import msgspec
import pytest

from takeup.line.holding import findings, pin_forces, rod_forces
from takeup.line.model import Guide, Hardware, Hold, Rest, State, VariableSpring
from takeup.line.solve import solve
from tests.line.test_solve import lifted, ready, run

COLD = State(name="cold", pressure=1e6, weight=False)
HINGE = Hardware(hold=Hold.HINGE, axis=(0.0, 0.0, 1.0))
RODS = Hardware(hold=Hold.TIED, rods=4, circle=0.6, rod_area=5e-4, rod_length=0.5)


def test_rods_carry_what_the_anchors_do_not() -> None:
    """Thrust is shared evenly by four rods; rods and anchor together balance it (P Ae)."""
    made = ready(msgspec.structs.replace(run(hardware=(RODS,)), states=(COLD,)))
    (cold,) = solve(made)
    (rods,) = rod_forces(made, cold)
    assert len(rods.tension) == 4
    assert min(rods.tension) == pytest.approx(max(rods.tension), rel=1e-6)
    assert rods.uneven == pytest.approx(1.0)
    spring = 300e3 * cold.joint("EJ-1", 0).axial
    anchor = abs(cold.reaction("first").force[0])
    assert rods.total + spring + anchor == pytest.approx(93_500.0, rel=1e-6)
    assert rods.stress[0] == pytest.approx(rods.tension[0] / 5e-4)


def test_limit_rods_within_their_gap_carry_nothing() -> None:
    """Limit rods that the joint has not reached have no tension, and say no unevenness."""
    rods = msgspec.structs.replace(RODS, hold=Hold.LIMIT, gap_out=0.05)
    made = ready(msgspec.structs.replace(run(hardware=(rods,)), states=(COLD,)))
    (found,) = rod_forces(made, solve(made)[0])
    assert found.tension == (0.0,) * 4
    assert found.uneven is None


def test_pins_carry_the_thrust_of_a_hinged_joint() -> None:
    """Pull on the hinge and force on the anchor balance the thrust P Ae."""
    made = ready(msgspec.structs.replace(run(hardware=(HINGE,)), states=(COLD,)))
    (cold,) = solve(made)
    (pin,) = pin_forces(made, cold)
    anchor = abs(cold.reaction("first").force[0])
    assert pin.axial + anchor == pytest.approx(93_500.0, rel=1e-6)
    assert pin.axial > 90e3
    assert pin.resultant == pytest.approx(pin.axial, rel=1e-6)
    loose = ready(msgspec.structs.replace(run(), states=(COLD,)))
    assert pin_forces(loose, solve(loose)[0]) == ()
    assert rod_forces(loose, solve(loose)[0]) == ()


def test_a_rest_that_the_line_leaves_is_found() -> None:
    """With its first end up by 20 mm the line leaves the rest next to it, and only that (C12)."""
    made = ready(lifted(0.020))
    found = findings(made, solve(made)[0])
    assert [(one.name, one.what) for one in found] == [("rest B", "lifted off")]
    made = ready(lifted(0.0))
    assert findings(made, solve(made)[0]) == ()


def test_springs_on_a_stop_and_guides_at_their_gap_are_found() -> None:
    """A spring that is too weak sinks onto its lower stop; a guide is named when it holds."""
    line = lifted(0.0)
    soft = VariableSpring(
        name="soft", station="D", rate=1e3, load=100.0, travel_up=0.01, travel_down=0.002
    )
    wide = Guide(name="wide", station="C", gap=0.05)
    keep = tuple(one for one in line.supports if not (isinstance(one, Rest) and one.station == "D"))
    made = ready(msgspec.structs.replace(line, supports=(*keep, soft, wide)))
    (result,) = solve(made)
    found = {one.name: one for one in findings(made, result)}
    assert found["soft"].what == "on its stop" and "lower" in found["soft"].says
    assert "wide" not in found
    up = msgspec.structs.replace(wide, gap=0.0, across=(0.0, 0.0, 1.0))
    made = ready(msgspec.structs.replace(line, supports=(line.supports[0], up, soft)))
    found = {one.name: one for one in findings(made, solve(made)[0])}
    assert found["wide"].what == "at its gap" and "kN" in found["wide"].says
