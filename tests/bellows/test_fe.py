"""Bellows formulas against an independent finite-element model on a coarse mesh.

The full comparison, with its meshes and reasons, is docs/why/bellows-fe.md. The mesh here is
within 0.5 % of the finest one there (its table of meshes, line 80 x 2); bands are those of the
full tables, widened by that.
"""

from __future__ import annotations

import functools

import numpy as np
import pytest
from benchmarks import bellows_fe, bellows_models
from benchmarks.bellows_models import Modelled

from takeup.bellows.model import Bellows

BANDS = {
    "s2": (-0.015, 0.005),
    "s3": (-0.01, 0.005),
    "s4": (-0.02, 0.05),
    "s6": (-0.06, 0.12),
    "rate": (-0.01, 0.10),
}
"""Of bellows with parallel walls: largest and smallest deviation of the full table."""
CASES = {case.name[:2]: case for case in bellows_models.CASES}


@functools.cache
def modelled(name: str) -> Modelled:
    """The elements on the coarse mesh."""
    case = CASES[name]
    return bellows_models.elements(case.bellows, omega=case.omega, along=80, through=2)


def off(name: str) -> dict[str, float]:
    """Deviation of the elements from the formulas."""
    case = CASES[name]
    said = bellows_models.formulas(case.bellows, omega=case.omega)
    return modelled(name).figures.over(said)


def in_bands(found: dict[str, float]) -> list[str]:
    """Names of the quantities that lie outside their band."""
    return [name for name, (low, high) in BANDS.items() if not low <= found[name] <= high]


def test_elements_meet_the_thick_tube_with_the_fourth_power() -> None:
    """Twice the elements through a thick tube leave a twelfth or less of the error."""
    errors = [bellows_fe.tube_error(through) for through in (1, 2, 4)]

    assert errors[1] < errors[0] / 12.0
    assert errors[2] < errors[1] / 12.0
    assert errors[2] < 1e-5


def test_a_convolution_that_swells_freely_has_no_stress() -> None:
    """Equal strain in all directions is borne without stress, hoop strain included."""
    assert bellows_fe.free_growth() < 1e-8


def test_a_slit_torus_far_from_the_axis_is_a_curved_beam() -> None:
    """Rate and bending stress are those of the half-circle beam with ends that do not turn."""
    assert bellows_fe.flat_ring() == pytest.approx((0.0, 0.0), abs=1e-3)


@pytest.mark.parametrize("name", ["P1", "L2", "T1"])
def test_elements_are_in_equilibrium_with_the_pressure(name: str) -> None:
    """Axial and hoop forces are pressure times areas worked out without the mesh."""
    assert modelled(name).axial_balance < 1e-6
    assert modelled(name).hoop_balance < 1e-5


@pytest.mark.parametrize("name", ["P1", "P2", "P3", "P6", "D1"])
def test_formulas_hold_for_parallel_walls(name: str) -> None:
    """S2, S3, S4, S6 and the rate lie within the bands of the full table."""
    assert in_bands(off(name)) == []


def test_bands_are_missed_without_hoop_stiffness() -> None:
    """A wide convolution on cut rings falls out of the bands: they can fail."""
    low, _ = BANDS["rate"]

    assert bellows_models.rings(CASES["P1"].bellows, hoop=False)["rate"] < low - 0.2


def test_movement_membrane_stress_is_low_by_its_constant() -> None:
    """S5 has 1/2 where its own rate formula and equilibrium ask for 1.7/pi, whatever the shape."""
    for name in ("P1", "P2", "L2"):
        found = off(name)
        own = (1.0 + found["s5"]) / (1.0 + found["rate"])
        assert own == pytest.approx(2.0 * 1.7 / np.pi, rel=2e-3)


@pytest.mark.parametrize(("name", "low", "high"), [("L1", 0.34, 0.39), ("L2", -0.24, -0.18)])
def test_leaning_walls_change_the_rate_beyond_the_charts(
    name: str, low: float, high: float
) -> None:
    """Elements and thin rings agree on a rate that charts of rm and w cannot give."""
    found = off(name)["rate"]

    assert low < found < high
    assert bellows_models.rings(CASES[name].bellows)["rate"] == pytest.approx(found, abs=0.01)
    assert in_bands(bellows_models.deviation(square(name), along=80, through=2)) == []


def square(name: str) -> Bellows:
    """The bellows of a case with its walls set parallel."""
    return bellows_models.parallel(CASES[name].bellows)


def test_toroidal_formulas_hold_for_a_slit_torus() -> None:
    """S2 to S6 within 6 % and the rate within 2 % for a single ply, C3 = 4.4."""
    found = off("T1")

    assert [found[name] for name in ("s2", "s3", "s5", "s6")] == pytest.approx([0.0] * 4, abs=0.06)
    assert found["rate"] == pytest.approx(0.0, abs=0.02)
