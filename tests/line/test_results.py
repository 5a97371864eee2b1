"""Code stresses, loads on supports, springs and joint movements of a solved line."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest

from takeup import materials
from takeup.checks import Check, Outcome
from takeup.line import codes, factors, stress
from takeup.line.model import (
    Anchor,
    Bend,
    Book,
    Ends,
    Line,
    OfTee,
    Pipe,
    Reducer,
    Rest,
    State,
    Tee,
    TeeKind,
    VariableSpring,
)
from takeup.line.results import Judged, between, judge, local, movement_of, used
from takeup.line.solve import prepare, solve
from tests.line.test_solve import NPS6, NPS8, STEEL, E, bent, lifted, per_strain, ready, run

COLD = State(name="cold", weight=False)
WARM = State(name="hot", temperature=533.15, weight=False)


def judged(line: Line, **options: Any) -> Judged:
    """Both states solved and judged."""
    made = ready(line)
    return judge(made, solve(made), cold="cold", hot="hot", **options)


def check(found: Judged, id: str) -> Check:
    """The check called ``id``, which must be there."""
    return next(one for one in found.checks if one.id == id)


def z_line() -> Line:
    """The Z of worked problem C16, cold and hot."""
    made = bent(NPS8, [(0, 0, 0), (5, 0, 0), (5, 3, 0), (9, 3, 0)], 0.305)
    return msgspec.structs.replace(made, states=(COLD, WARM))


def test_range_of_an_elbow_is_that_of_the_worked_problem() -> None:
    """In-plane moment of elbow 1 times its factor over Z: C16, axial stress on top here."""
    made = ready(z_line())
    cold, hot = solve(made)
    forces = local(made, hot.ends - cold.ends)
    at = next(k for k, spot in enumerate(made.frame.spots) if spot.what == "bend")
    scale = per_strain()
    assert sorted(np.abs(forces.inplane[at]) * scale) == pytest.approx(
        [13_835.86, 15_218.41], rel=1e-5
    )
    se = check(judged(z_line()), "range@C1.in/C1.out").demand
    assert se is not None
    bending = 2.438 * 15_218.41 / 2.75554e-4
    axial = np.abs(forces.axial[at]).max() * scale / 5.42027e-3
    assert bending == pytest.approx(134.6e6, rel=1e-3)
    assert se * scale == pytest.approx(bending + axial, rel=2e-3)


def test_elbow_end_moments_of_the_l() -> None:
    """End moments at the elbow of the L: C6."""
    made = ready(
        msgspec.structs.replace(
            bent(NPS6, [(0, 0, 0), (6, 0, 0), (6, 4, 0)], 0.229), states=(COLD, WARM)
        )
    )
    cold, hot = solve(made)
    forces = local(made, hot.ends - cold.ends)
    at = next(k for k, spot in enumerate(made.frame.spots) if spot.what == "bend")
    assert sorted(np.abs(forces.inplane[at]) * per_strain()) == pytest.approx(
        [4689.480, 5228.150], rel=1e-5
    )


def test_locked_run_is_far_beyond_yield_and_not_passed() -> None:
    """A locked joint in a straight run: E alpha dT in the pipe, range not met (C7)."""
    line = msgspec.structs.replace(run(locked=True), states=(COLD, WARM))
    found = judged(line)
    growth = float(materials.expansion_total(STEEL, 533.15, 294.2612).value)
    ranges = [one for one in found.checks if one.id.startswith("range")]
    assert ranges
    assert all(one.outcome == Outcome.NOT_MET for one in ranges)
    assert ranges[0].demand == pytest.approx(E * growth, rel=2e-2)


# --- factors and allowables ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "pad", "io", "ii"),
    [
        (TeeKind.WELDING, 0.0, 2.486, 2.114),
        (TeeKind.PLAIN, 0.0, 5.285, 4.214),
        (TeeKind.PAD, 0.00927, 2.689, 2.267),
        (TeeKind.FITTING, 0.0, 2.384, 2.384),
    ],
)
def test_tee_factors(kind: TeeKind, pad: float, io: float, ii: float) -> None:
    """Factors of branch connections of NPS 10 on NPS 10: C11."""
    pipe = Pipe(name="10", outside=0.2731, wall=0.00927, metal=STEEL)
    tee = Tee(station="T", kind=kind, pad=pad)
    for end in (OfTee.RUN, OfTee.BRANCH):
        found = factors.tee_index(Book.APPENDIX_D, tee, pipe, pipe, end)
        assert found.outplane == pytest.approx(io, abs=6e-4)
        assert found.inplane == pytest.approx(ii, abs=6e-4)


def test_bend_factors_with_pressure() -> None:
    """Published worked sheet, and an NPS 10 elbow with and without pressure: C2, C11."""
    pipe = Pipe(name="a", outside=0.7112, wall=0.0094, metal=STEEL)
    bend = Bend(start="a", end="b", pipe="a", corner=(0, 0, 0), radius=1.0668)
    plain, stiff = codes.of_bend(pipe, bend), codes.of_bend(pipe, bend, 1e5, 27e9)
    assert (plain.outside, plain.inside) == pytest.approx((3.992, 4.790), abs=6e-4)
    assert (stiff.outside, stiff.inside) == pytest.approx((3.2852, 3.9422), abs=6e-4)
    ten = Pipe(name="10", outside=0.2731, wall=0.00927, metal=STEEL)
    elbow = msgspec.structs.replace(bend, radius=0.381)
    assert codes.of_bend(ten, elbow).inside == pytest.approx(2.6059, abs=1e-4)
    assert codes.of_bend(ten, elbow, 2e6, 195.1e9).inside == pytest.approx(2.4780, abs=1e-4)
    flanged = msgspec.structs.replace(elbow, flanged=Ends.BOTH)
    assert codes.of_bend(ten, flanged).inside < codes.of_bend(ten, elbow).inside


def test_cycle_factor_and_allowed_range() -> None:
    """f by the formula with its caps, and SA plain and liberal: reference 1.1 and C15."""
    assert codes.cycle_factor(1000, 2.0) == pytest.approx(1.507, abs=1e-3)
    assert codes.cycle_factor(1000) == 1.0
    assert codes.cycle_factor(22_000) == pytest.approx(0.812, abs=1e-3)
    assert codes.cycle_factor(1e12) == 0.15
    ksi = 6.894757e6
    sc, sh = np.array(20 * ksi), np.array(19 * ksi)
    for sl, left in ((6 * ksi, 42.75), (25 * ksi, 29.75)):
        plain, liberal = stress.both_ranges(sc, sh, np.array(1.0), np.array(sl))
        assert plain / ksi == pytest.approx(29.75)
        assert liberal / ksi == pytest.approx(left)


# --- sustained stress ------------------------------------------------------------------------


def test_a_rest_that_lifts_off_when_hot_carries_nothing_in_the_sustained_check() -> None:
    """Weight moments are worked out with supports as they stand hot: lift-off doubles the span."""
    cold = State(name="cold")
    hot = State(name="hot", temperature=320.0)
    down = lifted(0.0)
    up = msgspec.structs.replace(
        lifted(0.020),
        supports=(
            Anchor(name="first", station="A", growth={"hot": (0.0, 0.0, 0.020)}),
            *(Rest(name=f"rest {s}", station=s, friction=0.0) for s in "BCD"),
        ),
    )
    worst = []
    for line in (down, up):
        made = prepare(msgspec.structs.replace(line, states=(cold, hot)), shear=False)
        found = judge(made, solve(made), cold="cold", hot="hot")
        worst.append(max(c.demand or 0.0 for c in found.checks if c.id.startswith("sustained")))
    assert worst[1] > 1.5 * worst[0]


def test_sustained_pressure_stress_is_that_of_closed_ends() -> None:
    """Without weight the sustained stress of a free run is P d^2 / (D^2 - d^2), worn wall."""
    worn = msgspec.structs.replace(NPS6, allowance=0.0015)
    made = msgspec.structs.replace(
        bent(worn, [(0, 0, 0), (6, 0, 0), (6, 4, 0)], 0.229),
        supports=(Anchor(name="first", station="A"),),
        states=(COLD, msgspec.structs.replace(WARM, pressure=2e6)),
    )
    d = 0.1683 - 2 * (0.00711 - 0.0015)
    found = check(judged(made), "sustained@A/C1.in")
    assert found.demand == pytest.approx(2e6 * d**2 / (0.1683**2 - d**2), rel=1e-9)


# --- supports, springs, joints ---------------------------------------------------------------


def test_loads_are_held_against_what_is_allowed() -> None:
    """The component nearest to what is allowed is named; nothing is judged without a limit."""
    line = z_line()
    allowed = (8e3, 8e3, 8e3, 20e3, 20e3, 20e3)
    limited = msgspec.structs.replace(
        line,
        supports=(Anchor(name="first", station="A", allowed=allowed, nozzle=True),
                  line.supports[1]),
    )  # fmt: skip
    found = check(judged(limited), "load.first@hot")
    assert found.symbol == "Fx"
    assert found.outcome == Outcome.NOT_MET
    assert "nozzle first" in found.name
    assert not any(one.id.startswith("load.last") for one in judged(limited).checks)


def test_spring_travel_and_variability() -> None:
    """Travel against the way to the stop, and the change of load over the hot load (C10)."""
    spring = VariableSpring(name="s", station="C1.in", rate=60e3, load=21.5e3, travel_up=0.02,
                            travel_down=0.02)  # fmt: skip
    tall = bent(NPS8, [(0, 0, 0), (0, 0, 8), (8, 0, 8)], 0.305)
    line = msgspec.structs.replace(
        tall, supports=(*tall.supports, spring), states=(State(name="cold"), WARM)
    )
    found = judged(line)
    rise = check(found, "travel.s@hot")
    assert rise.demand is not None
    assert rise.capacity == 0.02
    assert check(found, "variability.s").capacity == 0.25


def test_movement_between_states_reaches_the_bellows_engine() -> None:
    """Hot minus cold of a joint becomes a movement of the bellows, both planes kept apart."""
    from takeup.bellows.model import BellowsCase, Condition, Treatment

    line = msgspec.structs.replace(
        run(), states=(COLD, msgspec.structs.replace(WARM, pressure=0.0))
    )
    made = ready(line)
    cold, hot = solve(made)
    move = between(cold, hot, "EJ-1")
    assert move.axial < -0.05
    assert movement_of(move, "m", 10.0).axial == move.axial
    case = BellowsCase(
        inside_diameter=0.3, height=0.04, pitch=0.05, convolutions=8, plies=1,
        ply_thickness=0.001, material="321", treatment=Treatment.AS_FORMED,
        conditions=(Condition(name="operating", pressure=1e5, temperature=500.0),),
    )  # fmt: skip
    report = used({"EJ-1": case}, cold, hot, 100.0)["EJ-1"]
    figure = report.figure("e@cold to hot")
    assert figure is not None
    assert figure.value == pytest.approx(abs(move.axial) / 8, rel=1e-3)


def test_without_two_states_nothing_is_judged() -> None:
    """A range needs a cold and a hot state; that is said."""
    made = ready(msgspec.structs.replace(z_line(), states=(WARM,)))
    found = judge(made, solve(made), cold="cold", hot="hot")
    assert found.checks == ()
    assert found.notes
    assert math.isfinite(solve(made)[0].certificate.residual)


def test_a_reducer_is_judged_by_its_small_end() -> None:
    """Pulled evenly, a reducer has its largest range at the small end, whichever way it is laid."""
    made = run(locked=True)
    small = msgspec.structs.replace(made.pipes[0], name="6", outside=0.1683, wall=0.00711)
    area = math.pi / 4 * (0.1683**2 - (0.1683 - 2 * 0.00711) ** 2)
    joint, last = made.pieces[1], made.pieces[2]
    for one, other in ((made.pipes[0].name, "6"), ("6", made.pipes[0].name)):
        first = Reducer(start="A", end="B", pipe=one, to_pipe=other)
        line = msgspec.structs.replace(
            made, pipes=(made.pipes[0], small), pieces=(first, joint, last), states=(COLD, WARM)
        )
        settled = ready(line)
        cold, hot = solve(settled)
        force = np.abs(local(settled, hot.ends - cold.ends).axial[0, 0])
        found = judge(settled, (cold, hot), cold="cold", hot="hot")
        assert check(found, "range@A/B").demand == pytest.approx(force / area, rel=1e-6)
