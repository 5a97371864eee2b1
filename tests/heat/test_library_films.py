"""Films and fins against a general heat-transfer library (ht), which shares no code with ours."""

from __future__ import annotations

import numpy as np
import pytest

from takeup.heat import films
from takeup.heat.attachment import closed

ht = pytest.importorskip("ht")
PR = films.PRANDTL


@pytest.mark.parametrize("ra", [1e4, 1e7, 1e9, 1e11])
def test_natural_convection_is_the_librarys(ra: float) -> None:
    """Churchill-Chu on a horizontal cylinder and on a vertical plate, to a millionth."""
    cylinder = ht.conv_free_immersed.Nu_horizontal_cylinder_Churchill_Chu(Pr=PR, Gr=ra / PR)
    plate = ht.conv_free_immersed.Nu_vertical_plate_Churchill(Pr=PR, Gr=ra / PR)

    assert float(films.natural_cylinder(np.array(ra))) == pytest.approx(cylinder, rel=1e-6)
    assert float(films.natural_plate(np.array(ra))) == pytest.approx(plate, rel=1e-6)


@pytest.mark.parametrize("re", [1e3, 4e4, 3e5, 2e6])
def test_wind_across_a_cylinder_is_the_librarys(re: float) -> None:
    """Churchill-Bernstein, to a millionth."""
    theirs = ht.conv_external.Nu_cylinder_Churchill_Bernstein(re, PR)

    assert float(films.forced_cylinder(np.array(re))) == pytest.approx(theirs, rel=1e-6)


def test_pipe_film_is_the_librarys_within_its_air() -> None:
    """Dittus-Boelter with our air at its Reynolds number."""
    kelvin, pressure, velocity, diameter = 950.0, 3e5, 20.0, 1.5
    at = np.array(kelvin)
    viscosity = float(films.air_viscosity(at))
    re = pressure * velocity * diameter / (films.AIR_CONSTANT * kelvin * viscosity)
    theirs = ht.conv_internal.turbulent_Dittus_Boelter(Re=re, Pr=PR, heating=True, revised=True)

    found = films.pipe_film(velocity=velocity, diameter=diameter, kelvin=kelvin, pressure=pressure)

    assert found == pytest.approx(theirs * float(films.air_conductivity(at)) / diameter, rel=2e-3)


@pytest.mark.parametrize("film", [4.0, 17.0, 60.0])
def test_area_mean_of_a_ring_is_the_librarys_fin_efficiency(film: float) -> None:
    """Kern and Kraus, circular fin of constant thickness, to a hundred-thousandth."""
    bore, outside, width, conductivity = 0.762, 0.965, 0.0254, 21.0
    theirs = ht.fin_efficiency_Kern_Kraus(
        Do=2 * bore, D_fin=2 * outside, t_fin=width, k_fin=conductivity, h=film
    )

    found = closed.fin(
        bore, outside, width, film=film, conductivity=conductivity, root=1000.0, ambient=300.0
    )

    assert (found.mean - 300.0) / 700.0 == pytest.approx(theirs, rel=1e-5)
