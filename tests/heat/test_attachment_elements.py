"""The elements of attachments against published targets and closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from takeup.errors import Refused
from takeup.heat.attachment import closed, mesh
from takeup.heat.attachment.fe import Bath, Body
from takeup.heat.attachment.mesh import Cut, Meshed
from takeup.heat.attachment.metals import Metal, constant

FAR = 1e5
"""Radius at which a section is as good as plane [m]"""


def rectangle(
    width: float, height: float, nr: int, nz: int, origin: float, cuts: tuple[Cut, ...] = ()
) -> Meshed:
    """A plain block, its faces named by side."""
    r, z = np.linspace(0.0, width, nr + 1), np.linspace(0.0, height, nz + 1)
    points, triangles, _ = mesh._grid(r, z, np.ones((nr, nz), dtype=bool), np.zeros(nz, dtype=bool))
    sides = mesh.outline(triangles)
    at = points[:, sides].mean(axis=2)
    return Meshed(
        origin=origin,
        points=points,
        triangles=triangles,
        part=np.zeros(triangles.shape[1], dtype=np.intp),
        faces={
            "inside": sides[at[0] < 1e-12],
            "outside": sides[at[0] > width - 1e-12],
            "start": sides[at[1] < 1e-12],
            "end": sides[at[1] > height - 1e-12],
        },
        cuts=cuts,
    )


def at(body: Body, nodal: np.ndarray, r: float, z: float) -> float:
    """Temperature of the node at a place."""
    off = np.hypot(body.scalar.doflocs[0] - r, body.scalar.doflocs[1] - z)
    assert off.min() < 1e-9
    return float(nodal[off.argmin()])


HELD = 1e9
"""A film that holds a face at its fluid's temperature [W/m2.K]"""


def test_plate_cooled_on_two_sides_meets_the_published_target() -> None:
    """NAFEMS benchmark T4, steady conduction with convection: 18.3 C at (0.6, 0.2)."""
    body = Body(rectangle(0.6, 1.0, 12, 20, FAR), [constant(conductivity=52.0)])
    baths = {
        "start": Bath(temperature=373.15, coefficient=HELD),
        "outside": Bath(temperature=273.15, coefficient=750.0),
        "end": Bath(temperature=273.15, coefficient=750.0),
    }

    found = body.steady(baths)

    assert at(body, found.temperature, 0.6, 0.2) - 273.15 == pytest.approx(18.254, abs=0.03)
    assert found.imbalance < 1e-6


def test_cylinder_with_flux_on_its_bore_meets_the_published_target() -> None:
    """NAFEMS axisymmetric conduction with flux: 59.82 C at (0.04, 0.04)."""
    made = rectangle(0.08, 0.14, 16, 14, 0.02)
    middle = made.points[1][made.faces["inside"]].mean(axis=1)
    heated = (middle > 0.04) & (middle < 0.10)
    faces = made.faces | {"heated": made.faces["inside"][heated]}
    body = Body(
        Meshed(
            origin=0.02, points=made.points, triangles=made.triangles, part=made.part,
            faces=faces, cuts=(),
        ),
        [constant(conductivity=52.0)],
    )  # fmt: skip
    cold = {
        name: Bath(temperature=273.15, coefficient=HELD) for name in ("outside", "start", "end")
    }
    hot = {"heated": Bath(temperature=273.15, coefficient=0.0, flux=5e5)}

    found = body.steady(cold | hot)

    assert at(body, found.temperature, 0.02, 0.04) - 273.15 == pytest.approx(59.82, abs=0.05)


def test_bar_with_a_swinging_end_meets_the_published_target() -> None:
    """NAFEMS benchmark T3, transient conduction: 36.60 C at 0.08 m after 32 s."""
    body = Body(
        rectangle(0.02, 0.1, 1, 20, FAR), [constant(conductivity=35.0, heat=440.5 * 7200.0)]
    )
    times = np.linspace(0.0, 32.0, 65)
    swing = 100.0 * np.sin(np.pi * times / 40.0)
    baths = [
        {
            "start": Bath(temperature=273.15, coefficient=HELD),
            "end": Bath(temperature=273.15 + float(t), coefficient=HELD),
        }
        for t in swing
    ]

    found = body.transient(baths, times, np.full(body.scalar.N, 273.15))

    assert at(body, found[-1], 0.0, 0.08) - 273.15 == pytest.approx(36.60, abs=0.1)


def test_transient_is_of_second_order_and_ends_in_the_steady_state() -> None:
    """Halving the step quarters the error; long after, the state is the steady one to 1e-6."""
    body = Body(rectangle(0.1, 0.1, 6, 6, 0.5), [constant(conductivity=20.0, heat=4e6)])
    bath = {
        "inside": Bath(temperature=900.0, coefficient=100.0),
        "outside": Bath(temperature=300.0, coefficient=20.0),
    }
    start = np.full(body.scalar.N, 300.0)

    def after(steps: int, span: float) -> np.ndarray:
        return body.transient([bath] * (steps + 1), np.linspace(0.0, span, steps + 1), start)[-1]

    fine = after(160, 3000.0)
    errors = [float(np.abs(after(n, 3000.0) - fine).max()) for n in (5, 10)]

    assert 3.0 < errors[0] / errors[1] < 5.5
    steady = body.steady(bath)
    assert_allclose(after(60, 6e5), steady.temperature, atol=600.0 * 1e-6)
    assert steady.imbalance < 1e-9


def test_radiation_and_changing_conductivity_close_the_heat_balance() -> None:
    """With both, heat in equals heat out to 1e-9."""
    hot = Metal(
        name="made up", at=np.array([200.0, 1400.0]), conductivity=np.array([10.0, 40.0]),
        modulus=np.full(2, 2e11), strain=np.zeros(2), heat=np.full(2, 4e6),
    )  # fmt: skip
    body = Body(rectangle(0.1, 0.05, 8, 4, 0.3), [hot])

    found = body.steady(
        {
            "inside": Bath(temperature=1000.0, coefficient=80.0, emissivity=0.8),
            "outside": Bath(temperature=300.0, coefficient=5.0, emissivity=0.7),
        }
    )

    assert found.imbalance < 1e-9


def test_even_heating_leaves_no_stress() -> None:
    """A body free to grow and evenly hot has no stress, to a millionth of E a dT."""
    line = Cut(name="c", start=(0.0, 0.1), end=(0.05, 0.1), along=0.1)
    body = Body(
        rectangle(0.05, 0.2, 4, 8, 0.5, (line,)), [constant(conductivity=1.0, expansion=1e-5)]
    )
    nodal = np.full(body.scalar.N, 294.15 + 400.0)

    u = body.displaced(nodal, 294.15)
    found = body.cut(line, u, nodal, 294.15)

    for value in (found.membrane, found.bending, found.hoop):
        assert abs(float(value)) < 1e-6 * 2e11 * 1e-5 * 400.0


def test_long_thick_tube_with_a_radial_gradient_is_the_closed_form() -> None:
    """Timoshenko and Goodier, long hollow cylinder: hoop stress at both surfaces to 1 %."""
    a, b, height = 0.3, 0.5, 3.0
    line = Cut(name="middle", start=(0.0, 1.5), end=(b - a, 1.5), along=1.5)
    body = Body(
        rectangle(b - a, height, 20, 60, a, (line,)), [constant(conductivity=1.0, expansion=1e-5)]
    )
    r = body.scalar.doflocs[0] + a
    nodal = 294.15 + 200.0 * np.log(b / r) / np.log(b / a)

    u = body.displaced(nodal, 294.15)
    found = body.cut(line, u, nodal, 294.15)

    grid = np.linspace(a, b, 4001)
    rise = 200.0 * np.log(b / grid) / np.log(b / a)
    inner = np.concatenate([[0.0], np.cumsum(np.diff(grid) * (rise * grid)[:-1])])
    factor = 2e11 * 1e-5 / 0.7
    hoop = (
        factor / grid**2 * ((grid**2 + a**2) / (b**2 - a**2) * inner[-1] + inner - rise * grid**2)
    )
    axial = factor * (2.0 / (b**2 - a**2) * inner[-1] - rise)
    place = (grid - (a + b) / 2.0) * 6.0 / (b - a) ** 2
    assert float(found.hoop) == pytest.approx(np.trapezoid(hoop, grid) / (b - a), abs=2e5)
    assert float(found.hoop_bending) == pytest.approx(np.trapezoid(hoop * place, grid), rel=0.01)
    # along the axis the weight of the ring's radius comes in: forces per radian
    force = np.trapezoid(axial * place * grid, grid) / ((a + b) / 2.0)
    assert float(found.bending) == pytest.approx(force, rel=0.01)


def test_pressure_in_a_closed_pipe_is_in_balance() -> None:
    """Hoop p r / t and half of it along the axis in a thin closed pipe."""
    line = Cut(name="middle", start=(0.0, 0.5), end=(0.01, 0.5), along=0.5)
    body = Body(rectangle(0.01, 1.0, 3, 60, 0.5, (line,)), [constant(conductivity=1.0)])
    nodal = np.full(body.scalar.N, 294.15)

    u = body.displaced(nodal, 294.15, pressure=1e6, inside=("inside",))
    found = body.cut(line, u, nodal, 294.15)

    assert float(found.membrane) == pytest.approx(1e6 * 0.5**2 / (2 * 0.505 * 0.01), rel=1e-6)
    assert float(found.hoop) == pytest.approx(1e6 * 0.5 / 0.01, rel=2e-3)


def test_no_film_at_all_is_refused() -> None:
    """Where nothing fixes the temperature, none is made up."""
    body = Body(rectangle(0.1, 0.1, 2, 2, 0.5), [constant(conductivity=1.0)])

    with pytest.raises(Refused, match="not fixed"):
        body.steady({"inside": Bath(temperature=500.0, coefficient=0.0)})


def test_closed_forms_are_those_of_the_worked_example() -> None:
    """60 in shell, 1 x 8 in ring at 1350/900 F: worked by hand with the thin-shell formulas."""
    made = closed.restrained(
        radius=29.75, wall=0.5, bore=30.0, outside=38.0, width=1.0, shell_strain=0.013760,
        ring_strain=0.008466, shell_modulus=19.75e6, ring_modulus=22e6,
    )  # fmt: skip

    assert made.beta == pytest.approx(0.33328, rel=1e-4)
    assert made.mismatch == pytest.approx(0.15882, rel=1e-4)
    assert made.line_load == pytest.approx(7484.0, rel=1e-4)
    assert made.inward == pytest.approx(0.1118, rel=1e-3)
    assert made.bending_there == pytest.approx(134.7e3, rel=1e-3)
    assert_allclose(-made.bending(np.array([0.5, 0.75, 1.0])), [93.6e3, 75.7e3, 59.7e3], rtol=1e-3)
    assert made.shell_hoop == pytest.approx(-74.2e3, rel=1e-3)
    assert made.ring_hoop == pytest.approx(32.2e3, rel=2e-3)
    assert closed.rigid_bound(19.75e6, 0.013760 - 0.008466) == pytest.approx(189.8e3, rel=1e-3)


def test_axial_gradients_are_those_of_the_finite_difference_shell() -> None:
    """Kink, held in rotation, clamped; a step in temperature: stresses in psi."""
    found = closed.kink(60.0, 0.5, 23e6, 10e-6, 25.0)

    assert_allclose(
        [found["free"], found["turn held"], found["clamped"]], [11.12e3, 22.24e3, 44.49e3],
        rtol=1e-3,
    )  # fmt: skip
    assert closed.step(23e6, 10e-6, 200.0) == pytest.approx(13.46e3, rel=1e-3)


def test_fin_meets_its_measured_tip_and_its_profile() -> None:
    """Bore 1350 F, rim 600 F, air 100 F: m 0.18914 /in, area mean 813 F, not 900."""

    def kelvin(f: float) -> float:
        return (f - 32.0) / 1.8 + 273.15

    found = closed.from_tip(
        30.0, 38.0, root=kelvin(1350.0), tip=kelvin(600.0), ambient=kelvin(100.0)
    )
    shown = (found.at(np.arange(30.0, 39.0), 30.0, 38.0, kelvin(100.0)) - 273.15) * 1.8 + 32.0

    assert found.m == pytest.approx(0.18914, rel=1e-4)
    assert (found.mean - 273.15) * 1.8 + 32.0 == pytest.approx(813.0, abs=0.5)
    assert_allclose(shown, [1350, 1143, 980, 853, 756, 685, 637, 609, 600], atol=0.5)
