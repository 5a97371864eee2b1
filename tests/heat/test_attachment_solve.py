"""Rings and transitions worked out, judged, and refused."""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest

from takeup.ageing.attachment import Examined, judge
from takeup.checks import Outcome
from takeup.errors import OutOfRange, Refused
from takeup.heat.attachment import (
    Day,
    Film,
    HotRing,
    Leg,
    Transition,
    covered,
    mesh,
    start_run_stop,
)
from takeup.heat.attachment.fe import Body
from takeup.heat.attachment.metals import Metal
from takeup.heat.attachment.solve import formed, solve_ring, solve_transition

INCH = 0.0254
PSI = 6894.757293168


def kelvin(f: float) -> float:
    """From degrees Fahrenheit."""
    return (f - 32.0) / 1.8 + 273.15


RING = HotRing(
    inside_radius=29.5 * INCH, wall=0.5 * INCH, ring_outside_radius=38.0 * INCH, ring_width=INCH,
    leg=0.25 * INCH, pipe_metal="304H", ring_metal="304H", gas=kelvin(1400.0),
    inside=Film(coefficient=250.0), ambient=kelvin(100.0), outside=Film(coefficient=16.6),
    pipe_outside=Film(coefficient=1.0),
)  # fmt: skip
CONE = Transition(
    radius=0.5,
    wall=0.012,
    ambient=300.0,
    legs=tuple(
        Leg(
            name=name, length=length, slope=slope, metal="304H", inside_temperature=gas,
            inside=Film(coefficient=inside), outside=Film(coefficient=outside),
        )
        for name, length, slope, gas, inside, outside in (
            ("hot pipe", 0.6, 0.0, 1000.0, 300.0, 1.0),
            ("cone", 0.25, 0.4, 700.0, 5.0, 30.0),
            ("cuff", 0.4, 0.0, 420.0, 5.0, 30.0),
        )
    ),
)  # fmt: skip


def flat(modulus: float, strain: float) -> Metal:
    """A metal of one modulus [Pa] that has swollen by ``strain`` at any temperature above 21 C."""
    return Metal(
        name="flat", at=np.array([294.15, 295.15, 2000.0]), conductivity=np.ones(3),
        modulus=np.full(3, modulus), strain=np.array([0.0, strain, strain]), heat=np.ones(3),
    )  # fmt: skip


def test_ring_with_two_temperatures_meets_the_independent_elements() -> None:
    """Worked example, 60 in shell and 1 x 8 in ring without fillets: 80.4 ksi a quarter inch
    beyond the face of the ring, held in by 0.1116 in; 99.7 ksi at the face, where the other
    elements averaged stress through the corner's singularity and these use nodal forces.
    """
    made = mesh.ring(RING, 2.0)
    middle = made.points[:, made.triangles].mean(axis=1)
    fillet = (middle[0] > RING.wall) & (middle[1] > RING.ring_width / 2.0)
    part = np.where(fillet, 2, made.part)
    metals = (flat(19.75e6 * PSI, 0.013760), flat(22e6 * PSI, 0.008466), flat(1.0, 0.0))
    body = Body(msgspec.structs.replace(made, part=part), metals)
    nodal = np.full(body.scalar.N, 500.0)

    u = body.displaced(nodal, 294.15, ends_turn=False)
    stress = {cut.name: body.cut(cut, u, nodal, 294.15) for cut in made.cuts}

    def ksi(name: str) -> float:
        return abs(float(stress[name].bending)) / PSI / 1e3

    assert ksi("at the face of the ring") == pytest.approx(99.7, rel=0.02)
    assert ksi("at the weld toe") == pytest.approx(80.4, rel=0.015)
    assert abs(float(stress["at the weld toe"].membrane)) < 1e-3 * PSI * 1e3
    grown = body.vector.doflocs[0] < 1e-12
    radial = u[grown & (body.vector.doflocs[1] < 1e-9)][0]
    far = RING.inside_radius * 0.013760
    assert (far - radial) / INCH == pytest.approx(0.1116, rel=0.03)


def test_finer_mesh_moves_the_stress_at_the_toe_by_less_than_half_a_percent() -> None:
    """The stress comes from nodal forces, so the toe's singularity does not spoil it."""
    toe = [next(c for c in solve_ring(RING, fineness=f).cuts if c.weld).bending for f in (1.0, 1.8)]

    assert toe[0] == pytest.approx(toe[1], rel=5e-3)


def test_start_and_stop_adds_to_the_range_at_rest() -> None:
    """A fast start leaves the ring behind the pipe: its range is larger than that at rest."""
    slow = solve_ring(RING)
    day = start_run_stop(kelvin(70.0), RING.gas, 3600.0, 2 * 86400.0, 4 * 3600.0, 86400.0)
    fast = solve_ring(RING, day)

    rest = next(c for c in slow.cuts if c.weld)
    through = next(c for c in fast.cuts if c.weld)
    assert through.range > 1.05 * rest.range
    assert through.bending == pytest.approx(rest.bending, rel=1e-9)
    assert fast.day is not None
    assert fast.day.imbalance < 0.06
    assert fast.day.times[-1] == day.times[-1]


def test_ring_covered_by_insulation_is_strained_less() -> None:
    """Insulating over the ring brings its mean up to the pipe and the stress down."""
    wrapped = solve_ring(
        msgspec.structs.replace(RING, outside=covered(15.0, 0.15, 0.08), cover=0.1)
    )
    bare = solve_ring(RING)

    assert wrapped.ring is not None
    assert bare.ring is not None
    assert wrapped.ring.mean > bare.ring.mean + 100.0
    assert wrapped.worst.range < 0.5 * bare.worst.range


def test_ring_of_the_trade_is_told_to_crack() -> None:
    """A 760 C medium and a bare ring: cracks within tens of starts, looked for from inside."""
    answer = solve_ring(msgspec.structs.replace(RING, gas=kelvin(1350.0)))
    task = msgspec.structs.replace(RING, gas=kelvin(1350.0))

    judged = judge(task, answer, examined=Examined.SURFACE, cycles_so_far=40.0)

    worst = judged.governing
    assert worst.cut.weld
    assert worst.from_inside
    assert worst.to_crack.low < worst.to_crack.likely < worst.to_crack.high
    assert worst.to_crack.low < 40.0
    check = next(c for c in judged.checks if c.id == "attachment.cracks")
    assert check.outcome == Outcome.NOT_MET
    assert any("inside surface" in one for one in judged.words)
    assert any("Grinding" in one for one in judged.words)
    assert any("slide" in one for one in judged.remedies)


def test_unknown_starts_and_stops_are_not_taken_as_none() -> None:
    """Without their number the check is not evaluated."""
    answer = solve_ring(msgspec.structs.replace(RING, gas=kelvin(1350.0)))

    judged = judge(msgspec.structs.replace(RING, gas=kelvin(1350.0)), answer)

    assert judged.checks[0].outcome == Outcome.NOT_EVALUATED


@pytest.mark.parametrize("gradient", [500.0, 1500.0])
def test_kink_in_temperature_is_the_closed_form(gradient: float) -> None:
    """A cylinder whose temperature starts to fall along it: 3 b D s / t2 at the start, to 3 %."""
    from takeup.heat.attachment import closed

    legs = tuple(
        msgspec.structs.replace(CONE.legs[0], name=name, length=1.5) for name in ("even", "falling")
    )
    task = msgspec.structs.replace(CONE, legs=legs)
    made = mesh.transition(task, 2.0)
    metal = Metal(
        name="line", at=np.array([0.0, 4000.0]), conductivity=np.ones(2),
        modulus=np.full(2, 2e11), strain=1.5e-5 * (np.array([0.0, 4000.0]) - 294.15),
        heat=np.ones(2),
    )  # fmt: skip
    body = Body(made, (metal, metal))
    nodal = 800.0 - gradient * np.maximum(body.scalar.doflocs[1] - 1.5, 0.0)

    u = body.displaced(nodal, 294.15)
    (kink,) = made.cuts
    found = body.cut(kink, u, nodal, 294.15)

    want = closed.kink(task.radius, task.wall, 2e11, 1.5e-5, gradient)["free"]
    assert abs(float(found.bending)) == pytest.approx(want, rel=0.03)


def test_formed_transition_lives_longer_than_welded_corners() -> None:
    """Without welds at the bends the weld factor goes; the stress need not."""
    welded, bent = solve_transition(CONE), solve_transition(formed(CONE, 0.05))

    one = judge(CONE, welded)
    two = judge(formed(CONE, 0.05), bent)

    assert one.governing.to_crack.low < two.governing.to_crack.low
    assert welded.field.imbalance < 1e-9
    assert not any(cut.weld for cut in bent.cuts)


def test_gas_that_the_tables_do_not_reach_is_refused_by_metal() -> None:
    """Carbon steel at 700 C has no modulus: no stress is worked out."""
    hot = msgspec.structs.replace(RING, pipe_metal="A516-70", ring_metal="A516-70")

    with pytest.raises(Refused, match="A516"):
        solve_ring(hot)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"gas": 1400.0 + 1000.0}, "Check the unit"),
        ({"wall": -0.01}, "Wall of the pipe"),
        ({"ring_outside_radius": 0.3}, "Outside radius of the ring"),
        ({"wall": 0.2}, "Inside radius over wall"),
    ],
)
def test_bad_geometry_is_refused_by_name(change: dict[str, float], said: str) -> None:
    """What is wrong is named and what would be right."""
    with pytest.raises(OutOfRange, match=said):
        msgspec.structs.replace(RING, **change)


def test_emissivity_of_seven_and_conductivity_of_nothing_are_refused() -> None:
    """Films are held to what can be."""
    with pytest.raises(OutOfRange, match="Emissivity"):
        Film(coefficient=10.0, emissivity=7.0)
    with pytest.raises(OutOfRange, match="Conductivity"):
        covered(10.0, 0.1, 0.0)


def test_history_that_runs_backwards_is_refused() -> None:
    """Times rise from zero."""
    with pytest.raises(Refused, match="rise"):
        Day(times=(0.0, 10.0, 5.0), gas=(300.0, 600.0, 300.0))
    assert math.isclose(start_run_stop(300.0, 900.0, 60.0, 60.0, 60.0, 60.0).times[-1], 240.0)


def test_bends_that_do_not_fit_are_refused_with_the_piece() -> None:
    """A knuckle longer than its straights is told by the piece's name."""
    with pytest.raises(Refused, match="cone is too short"):
        solve_transition(formed(CONE, 0.9))
