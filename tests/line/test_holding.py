"""Rods, pins, and what contacts and springs do in a solved line."""

from __future__ import annotations

import msgspec
import pytest

from takeup import materials
from takeup.checks import Outcome
from takeup.line.holding import checks, findings, pin_forces, rod_forces
from takeup.line.model import (
    Anchor,
    BellowsSpring,
    Guide,
    Hardware,
    Hold,
    Joint,
    Line,
    Rest,
    State,
    Straight,
    VariableSpring,
)
from takeup.line.report import report
from takeup.line.rows import pin_moment
from takeup.line.solve import solve
from tests.line.test_solve import NPS12, STEEL, lifted, ready, run, stations

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


# --- growth of rods, loads of rods and pins --------------------------------------------------


def test_rods_that_warm_let_the_joint_grow() -> None:
    """Rods at half the rise are longer by their own growth; cold ones hold the joint (hand)."""
    hot = State(
        name="hot", temperature=533.15, temperatures={"12": 294.2612}, pressure=1e6, weight=False
    )
    found = []
    for share in (None, 0.5):
        rods = msgspec.structs.replace(RODS, rod_rise=share)
        made = ready(msgspec.structs.replace(run(hardware=(rods,)), states=(hot,)))
        (result,) = solve(made)
        (force,) = rod_forces(made, result)
        stretch = force.tension[0] * 0.5 / (2.0e11 * 5e-4)
        found.append(result.joint("EJ-1").axial - stretch)
    middle = 294.2612 + 0.5 * (533.15 - 294.2612)
    longer = 0.5 * float(materials.expansion_total(STEEL, middle, 294.2612).value)
    assert found[0] == pytest.approx(0.0, abs=1e-9)
    assert found[1] == pytest.approx(longer, rel=1e-6)


def test_a_state_may_give_the_temperature_of_rods() -> None:
    """A temperature of "TAG rods" stands before the share of the rise."""
    hot = State(
        name="hot", temperature=533.15, temperatures={"EJ-1 rods": 400.0, "12": 294.2612},
        pressure=1e6, weight=False,
    )  # fmt: skip
    rods = msgspec.structs.replace(RODS, rod_rise=1.0)
    made = ready(msgspec.structs.replace(run(hardware=(rods,)), states=(hot,)))
    (result,) = solve(made)
    (force,) = rod_forces(made, result)
    longer = 0.5 * float(materials.expansion_total(STEEL, 400.0, 294.2612).value)
    stretch = force.tension[0] * 0.5 / (2.0e11 * 5e-4)
    assert result.joint("EJ-1").axial == pytest.approx(longer + stretch, rel=1e-6)


def test_rods_that_wait_within_their_nuts_or_carry_too_much_are_found() -> None:
    """Tied rods that do not hold leave the thrust to anchors; loaded ones are held to their limit."""
    rods = msgspec.structs.replace(RODS, gap_out=0.2)
    made = ready(msgspec.structs.replace(run(hardware=(rods,)), states=(COLD,)))
    (cold,) = solve(made)
    (one,) = findings(made, cold)
    assert one.what == "within its nuts" and "anchors take its thrust" in one.says
    assert not one.harmless
    waiting = rod_forces(made, cold)[0].to_nut[0]
    assert waiting == pytest.approx(0.2 - cold.joint("EJ-1").axial, abs=1e-9)
    tight = msgspec.structs.replace(RODS, allowed=10e3)
    made = ready(msgspec.structs.replace(run(hardware=(tight,)), states=(COLD,)))
    (cold,) = solve(made)
    assert [one.what for one in findings(made, cold)] == ["overloaded"]
    (check,) = checks(made, cold)
    assert check.outcome is Outcome.NOT_MET and check.capacity == 10e3
    made = ready(msgspec.structs.replace(run(hardware=(RODS,)), states=(COLD,)))
    (check,) = checks(made, solve(made)[0])
    assert check.outcome is Outcome.NOT_EVALUATED and "allowed pull" in check.because


def test_pins_beyond_what_they_may_carry_are_found() -> None:
    """A hinge that may carry 50 kN stands under the thrust of 93.5 kN."""
    weak = msgspec.structs.replace(HINGE, allowed=50e3)
    made = ready(msgspec.structs.replace(run(hardware=(weak,)), states=(COLD,)))
    (cold,) = solve(made)
    assert [one.what for one in findings(made, cold)] == ["overloaded"]
    (check,) = checks(made, cold)
    assert check.outcome is Outcome.NOT_MET


# --- friction of pins, cold rates ------------------------------------------------------------

SOFT = BellowsSpring(length=0.3, axial_rate=30e3, mean_diameter=0.3451)


def hinged(hardware: Hardware, spring: BellowsSpring = SOFT, *states: State) -> Line:
    """Two hinges 4 m apart in a straight line whose far anchor goes 20 mm sideways."""
    aside = {"aside": (0.0, 0.02, 0.0), "held": (0.0, 0.02, 0.0)}
    return Line(
        tag="H",
        pipes=(NPS12,),
        stations=stations(
            A=(0, 0, 0), B=(0.5, 0, 0), C=(0.8, 0, 0), D=(4.5, 0, 0), E=(4.8, 0, 0), F=(5.3, 0, 0)
        ),
        pieces=(
            Straight(start="A", end="B", pipe="12"),
            Joint(tag="J-1", start="B", end="C", bellows=(spring,), hardware=(hardware,)),
            Straight(start="C", end="D", pipe="12"),
            Joint(tag="J-2", start="D", end="E", bellows=(spring,), hardware=(hardware,)),
            Straight(start="E", end="F", pipe="12"),
        ),
        supports=(
            Anchor(name="first", station="A"),
            Anchor(name="last", station="F", growth=aside),
        ),
        states=states,
    )


def test_pins_rub_both_ways() -> None:
    """Two hinges move across with F = (2 Mf + 2 K th) / L, and back with the friction reversed."""
    rusted = msgspec.structs.replace(HINGE, friction=0.3, pin_diameter=0.05)
    states = tuple(
        State(name=name, pressure=1e6, weight=False) for name in ("still", "aside", "back")
    )
    made = ready(hinged(rusted, SOFT, *states))
    _, aside, back = solve(made)
    joint = next(piece for piece in made.line.pieces if isinstance(piece, Joint))
    moment = pin_moment(joint, 0, 1e6)
    assert moment == pytest.approx(0.3 * 1e6 * 3.14159265 / 4 * 0.3451**2 * 0.05 / 2, rel=1e-6)
    turn = 0.02 / 4.0
    stiff = 30e3 * 0.3451**2 / 8.0
    force = (2.0 * moment + 2.0 * stiff * turn) / 4.0
    assert abs(aside.reaction("first").force[1]) == pytest.approx(force, rel=1e-3)
    assert aside.reaction("first").force[1] * back.reaction("first").force[1] < 0.0
    assert abs(back.reaction("first").force[1]) == pytest.approx(2.0 * moment / 4.0, rel=2e-2)


def test_pins_that_the_line_cannot_overcome_stick() -> None:
    """Friction far above what the pipe can bring turns a hinge no more than a lock would."""
    stuck = msgspec.structs.replace(HINGE, friction=2.0, pin_diameter=50.0)
    states = tuple(State(name=name, pressure=1e6, weight=False) for name in ("still", "aside"))
    made = ready(hinged(stuck, SOFT, *states))
    _, aside = solve(made)
    assert max(abs(v) for v in aside.joint("J-1", 0).angular) < 1e-4
    free = ready(hinged(HINGE, SOFT, *states))
    assert max(abs(v) for v in solve(free)[1].joint("J-1", 0).angular) == pytest.approx(
        0.005, rel=1e-2
    )


@pytest.mark.parametrize("hardware", [HINGE, None])
def test_a_cold_state_takes_the_cold_rate(hardware: Hardware | None) -> None:
    """When installed a bellows is that of its cold rate, when hottest that of its hot one."""
    hot = State(name="held", temperature=533.15, weight=False)
    cold = State(name="aside", weight=False)
    two = msgspec.structs.replace(SOFT, axial_rate_cold=60e3)
    stiff = msgspec.structs.replace(SOFT, axial_rate=60e3)
    rows = []
    for spring in (two, stiff, SOFT):
        line = hinged(hardware or HINGE, spring, cold, hot)
        if hardware is None:
            pieces = tuple(
                msgspec.structs.replace(p, hardware=()) if isinstance(p, Joint) else p
                for p in line.pieces
            )
            line = msgspec.structs.replace(line, pieces=pieces)
        rows.append(solve(ready(line)))
    for name in ("first", "last"):
        both, colder, hotter = (row[k].reaction(name) for row, k in
                                zip(rows, (0, 0, 0), strict=True))  # fmt: skip
        assert both.force == pytest.approx(colder.force, rel=1e-6, abs=1e-3)
        assert abs(both.moment[2]) > 1.2 * abs(hotter.moment[2])
        warm = rows[0][1].reaction(name)
        assert warm.force == pytest.approx(rows[2][1].reaction(name).force, rel=1e-6, abs=1e-3)


def test_the_report_tells_what_hardware_does() -> None:
    """Findings, rods and pins stand in every state; open limits and cold rods are pointed out."""
    cold = msgspec.structs.replace(COLD, role="cold")
    hot = State(name="hot", temperature=400.0, pressure=1e6, weight=False, role="hot")
    made = ready(msgspec.structs.replace(run(hardware=(RODS,)), states=(cold, hot)))
    found = report(made, solve(made))
    assert all(state.rods for state in found.states)
    assert any("rod_rise" in words for words in found.cautions)
    open_ = {one.id for one in found.checks if one.outcome is Outcome.NOT_EVALUATED}
    assert open_ >= {"rod.EJ-1 rods@hot", "movement.EJ-1"}
    assert "rod.EJ-1 rods@cold" not in {one.id for one in found.checks}  # asked for once
    pinned = ready(msgspec.structs.replace(run(hardware=(HINGE,)), states=(cold, hot)))
    told = report(pinned, solve(pinned))
    assert all(state.pins for state in told.states)
    assert any("without friction" in words for words in told.cautions)


def test_the_report_works_bellows_out_where_they_are_known() -> None:
    """A bellows handed in is judged under the line's own movement, and no longer asked for."""
    from takeup.bellows.model import BellowsCase, Condition, Treatment

    cold = msgspec.structs.replace(COLD, role="cold")
    hot = State(name="hot", temperature=400.0, pressure=1e6, weight=False, role="hot")
    made = ready(msgspec.structs.replace(run(), states=(cold, hot)))
    case = BellowsCase(
        inside_diameter=0.3, height=0.04, pitch=0.05, convolutions=8, plies=1,
        ply_thickness=0.001, material="321", treatment=Treatment.AS_FORMED,
        conditions=(Condition(name="operating", pressure=1e5, temperature=500.0),),
    )  # fmt: skip
    found = report(made, solve(made), bellows={"EJ-1": case})
    (use,) = found.bellows
    assert use.movement.axial == pytest.approx(found.ranges[0].axial)
    assert any(one.id.startswith("bellows.EJ-1.") for one in found.checks)
    assert not any(one.id == "movement.EJ-1" for one in found.checks)
