"""The solver of a wall against exact answers, and its manners with what cannot be."""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeup.errors import Contradiction, OutOfRange
from takeup.heat import cavity, conductivity, films
from takeup.heat.conductivity import Curve, insulations, material
from takeup.heat.wall import Gap, Layer, Solid, Stack, Weather, solve
from takeup.sources import assumption

FIBRE = insulations()["fibre 128"]
STEEL = material("304H")
MADE = assumption("made up for a test")


def weather(**more: float) -> Weather:
    return Weather(**{"ambient": 298.15, **more})


def stack(layers: tuple[Layer, ...], **more: Any) -> Stack:
    base: dict[str, Any] = {
        "radius": 0.75,
        "gas_temperature": 993.15,
        "gas_film": 60.0,
        "weather": weather(),
    }
    return Stack(**{**base, "layers": layers, **more})


def fibre(thickness: float = 0.1, **more: float) -> Solid:
    return Solid(name="packing", curve=FIBRE, thickness=thickness, **more)


def gap(thickness: float = 0.1, pressure: float = 101325.0) -> Gap:
    return Gap(name="cavity", thickness=thickness, emissivity_in=0.8, emissivity_out=0.8,
               pressure=pressure)  # fmt: skip


def test_a_chain_of_constant_resistances_is_solved_exactly() -> None:
    """With k and film constant the answer is that of resistances in series."""
    plain = conductivity.constant("plain", 0.1, source=MADE)
    found = solve(
        stack(
            (Solid(name="layer", curve=plain, thickness=0.1),),
            weather=weather(film=12.0, emissivity=0.0),
        )
    )
    chain = [1 / (2 * math.pi * 0.75 * 60), math.log(0.85 / 0.75) / (2 * math.pi * 0.1),
             1 / (2 * math.pi * 0.85 * 12)]  # fmt: skip
    assert float(found.heat[0]) == pytest.approx(695.0 / sum(chain), rel=1e-12)


def test_a_linear_conductivity_has_its_closed_form() -> None:
    """Heat through k = a + b T is that of k at the mean temperature, and only for a straight k."""
    line = Curve(name="line", temperature=(300.0, 1000.0), value=(0.1, 0.8), spread=0.0,
                 source=MADE)  # fmt: skip
    found = solve(stack((Solid(name="layer", curve=line, thickness=0.1),)))
    hot, cold = found.temperature[:, 0]
    middle = 0.1 + 0.001 * ((hot + cold) / 2 - 300.0)
    shape = 2 * math.pi / math.log(0.85 / 0.75)
    assert float(found.heat[0]) == pytest.approx(shape * middle * (hot - cold), rel=1e-10)


def test_k_at_the_mean_temperature_would_be_wrong() -> None:
    """The integral of a bent k differs from k at the mean temperature, and the solver uses it."""
    hot, cold = 980.0, 360.0
    exact = float(conductivity.integral(FIBRE, hot, cold))
    fine = np.linspace(cold, hot, 200_001)
    assert exact == pytest.approx(np.trapezoid(conductivity.value(FIBRE, fine), fine), rel=1e-9)
    assert abs(float(conductivity.value(FIBRE, (hot + cold) / 2)) * (hot - cold) / exact - 1) > 0.02
    found = solve(stack((fibre(),)))
    shape = 2 * math.pi / math.log(0.85 / 0.75)
    through = shape * conductivity.integral(FIBRE, *found.temperature[:, 0])
    assert float(through) == pytest.approx(float(found.heat[0]), rel=1e-9)


def test_a_curve_holds_its_ends_and_its_nodes() -> None:
    """At a node the value is the node's, beyond the ends it stays, and the excess is told."""
    for kelvin, k in zip(FIBRE.temperature, FIBRE.value, strict=True):
        assert float(conductivity.value(FIBRE, kelvin)) == pytest.approx(k, rel=1e-12)
    assert float(conductivity.value(FIBRE, 280.0)) == FIBRE.value[0]
    assert float(conductivity.value(FIBRE, FIBRE.top + 80)) == pytest.approx(FIBRE.value[-1])
    assert float(conductivity.above(FIBRE, FIBRE.top + 80)) == 80.0
    assert float(conductivity.above(FIBRE, FIBRE.top)) == 0.0


def test_every_material_has_plausible_rows() -> None:
    """No material is out of the bounds of its group, and none of its tables is one row short."""
    bounds = {"fibre": (0.03, 0.6), "block": (0.05, 0.2), "castable": (0.2, 2.0),
              "fill": (0.1, 1.0), "metal": (9.0, 60.0)}  # fmt: skip
    total = 0.0
    for curve in insulations().values():
        low, high = bounds[curve.group]
        assert low <= min(curve.value)
        assert max(curve.value) <= high
        assert 0.05 <= curve.spread <= 0.5
        total += sum(curve.value)
    assert total == pytest.approx(112.593, abs=1e-6)


numbers = st.floats
walls = st.fixed_dictionaries(
    {
        "gas_temperature": numbers(330, 1300),
        "gas_film": numbers(5, 3000),
        "radius": numbers(0.05, 4.0),
        "depth": numbers(0.01, 0.2),
        "open": numbers(0.002, 0.1),
        "emissivity": numbers(0.05, 0.98),
        "wind": numbers(0, 20),
        "ambient": numbers(240, 320),
        "insulation": numbers(0.005, 0.15),
    }
)


@settings(max_examples=30, deadline=None)
@given(walls)
def test_every_wall_balances(found: dict[str, float]) -> None:
    """Heat in is heat out to 1e-9, temperatures fall outward, and stay between gas and air."""
    wall = stack(
        (
            Solid(name="liner", curve=STEEL, thickness=0.006),
            gap(found["open"]),
            fibre(found["depth"]),
            Solid(name="bellows", curve=STEEL, thickness=0.001),
            Solid(name="insulation", curve=insulations()["mineral wool"],
                  thickness=found["insulation"]),
        ),
        radius=found["radius"], gas_temperature=found["gas_temperature"],
        gas_film=found["gas_film"],
        weather=weather(ambient=found["ambient"], wind=found["wind"],
                        emissivity=found["emissivity"]),
    )  # fmt: skip
    one = solve(wall)
    assert float(one.residual[0]) <= 1e-9
    fall = [found["gas_temperature"], *one.temperature[:, 0].tolist(), found["ambient"]]
    assert all(a > b for a, b in itertools.pairwise(fall))


def test_heat_flows_inward_as_well() -> None:
    """A line colder than the air takes heat, and balances."""
    one = solve(stack((fibre(),), gas_temperature=230.0))
    assert float(one.heat[0]) < 0.0
    assert float(one.residual[0]) <= 1e-9


def test_no_difference_no_heat() -> None:
    """Gas as warm as the air sends nothing out."""
    one = solve(stack((fibre(), gap(0.02)), gas_temperature=298.15))
    assert abs(float(one.heat[0])) < 1e-6


def test_many_are_each_alone() -> None:
    """Arrays give the numbers of their members alone, across chunks and in any company."""
    rng = np.random.default_rng(3)
    count = 2 * 4096 + 37
    wind, factor = rng.uniform(0, 8, count), np.exp(rng.normal(0, 0.3, count))
    layers: tuple[Layer, ...] = (
        Solid(name="packing", curve=FIBRE, thickness=rng.uniform(0.05, 0.12, count),
              factor=factor),
        gap(0.02),
        Solid(name="bellows", curve=STEEL, thickness=0.0015),
    )  # fmt: skip
    many = solve(stack(layers, weather=Weather(ambient=298.15, wind=wind)))
    assert many.residual.max() <= 1e-9
    for at in (0, 17, 4095, 4096, count - 1):
        thickness = layers[0].thickness
        assert isinstance(thickness, np.ndarray)
        alone = solve(
            stack(
                (fibre(float(thickness[at]), factor=float(factor[at])), *layers[1:]),
                weather=weather(wind=float(wind[at])),
            )
        )
        assert alone.temperature[:, 0] == pytest.approx(many.temperature[:, at], abs=1e-6)


def test_splitting_a_layer_changes_nothing() -> None:
    """Two layers of one material are one: temperatures and heat stay."""
    whole = solve(stack((fibre(0.1),)))
    split = solve(stack((fibre(0.04), fibre(0.06))))
    assert float(split.heat[0]) == pytest.approx(float(whole.heat[0]), rel=1e-9)
    assert float(split.temperature[-1, 0]) == pytest.approx(float(whole.temperature[-1, 0]))


def test_radiation_carries_an_empty_cavity() -> None:
    """Through an empty hot cavity more than nine tenths of the heat is radiation."""
    one = solve(stack((gap(), Solid(name="bellows", curve=STEEL, thickness=0.0015))))
    power = cavity.exchange(one.radius[0], one.radius[1], 0.8, 0.8)
    share = power * (one.temperature[0] ** 4 - one.temperature[1] ** 4) / one.heat
    assert 0.9 < float(share[0]) < 1.0


def test_two_grey_cylinders_exchange_as_the_enclosure_says() -> None:
    """Black cylinders exchange sigma A T^4 alone; thin gaps go over to parallel plates."""
    one = np.array([1.0])
    black = cavity.exchange(one, 1.5 * one, 1.0, 1.0)
    assert float(black[0]) == pytest.approx(films.SIGMA * 2 * math.pi, rel=1e-12)
    thin = cavity.exchange(one, 1.0000001 * one, 0.8, 0.5)
    plates = films.SIGMA * 2 * math.pi / (1 / 0.8 + 1 / 0.5 - 1)
    assert float(thin[0]) == pytest.approx(plates, rel=1e-6)


def test_wind_cools_and_the_film_has_no_step_at_calm() -> None:
    """The mixed film grows with wind and starts from still air without a jump."""
    surface, ambient, d = np.full(5, 400.0), np.full(5, 298.0), np.full(5, 1.7)
    wind = np.array([0.0, 1e-4, 0.5, 2.0, 10.0])
    film, _, _ = films.outside_film(surface, ambient, diameter=d, wind=wind,
                                    orientation=films.Orientation.HORIZONTAL, height=1.0)  # fmt: skip
    assert np.all(np.diff(film) >= -1e-12)
    assert float(film[1]) == pytest.approx(float(film[0]), rel=1e-6)


@pytest.mark.parametrize(
    ("kelvin", "conducts", "viscosity"),
    [(250, 22.3e-3, 159.6e-7), (300, 26.3e-3, 184.6e-7), (500, 40.7e-3, 270.1e-7),
     (700, 52.4e-3, 338.8e-7), (1000, 66.7e-3, 424.4e-7), (1100, 71.5e-3, 449.0e-7)],
)  # fmt: skip
def test_air_is_that_of_the_handbooks(kelvin: float, conducts: float, viscosity: float) -> None:
    """Conductivity and viscosity of air lie within 2.5 % of handbook tables from 250 to 1100 K."""
    at = np.array([kelvin], dtype=float)
    assert float(films.air_conductivity(at)[0]) == pytest.approx(conducts, rel=0.02)
    assert float(films.air_viscosity(at)[0]) == pytest.approx(viscosity, rel=0.025)


def test_an_old_table_says_less_heat() -> None:
    """The film of older practice lies well below the one used here: the two do not compare."""
    old = films.old_practice_film(350.0, 300.0, diameter=0.5, wind=0.0)
    new, _, _ = films.outside_film(
        np.array([350.0]), np.array([300.0]), diameter=np.array([0.5]), wind=0.0,
        orientation=films.Orientation.HORIZONTAL, height=1.0,
    )  # fmt: skip
    assert 0.5 < old / float(new[0]) < 0.9


@pytest.mark.parametrize(
    ("layer", "word"),
    [
        (fibre(-0.01), "thickness"),
        (fibre(math.nan), "thickness"),
        (Gap(name="cavity", thickness=0.1, emissivity_in=7.0, emissivity_out=0.8,
             pressure=101325.0), "cavity: emissivity_in"),
        (fibre(0.1, factor=0.0), "factor"),
    ],
)  # fmt: skip
def test_impossible_layers_are_named(layer: Layer, word: str) -> None:
    """A negative thickness, an emissivity of seven or no conductivity is refused by its field."""
    with pytest.raises(OutOfRange, match=word):
        solve(stack((layer,)))


def test_impossible_weather_and_gas_are_named() -> None:
    """Wind, emissivity, ambient and gas beyond reason are refused by their field."""
    for more, word in (
        ({"weather": weather(emissivity=7.0)}, "weather: emissivity"),
        ({"weather": weather(wind=-1.0)}, "weather: wind"),
        ({"weather": weather(ambient=500.0)}, "weather: ambient"),
        ({"gas_temperature": 5000.0}, "gas_temperature"),
    ):
        with pytest.raises(OutOfRange, match=word):
            solve(stack((fibre(),), **more))


def test_a_conductivity_of_zero_is_refused() -> None:
    """No curve holds a conductivity of zero, nodes out of order, or a count that differs."""
    with pytest.raises(OutOfRange, match="value: conductivity of nothing"):
        conductivity.constant("nothing", 0.0, source=MADE)
    with pytest.raises(Contradiction, match="must rise"):
        Curve(name="back", temperature=(500.0, 400.0), value=(0.1, 0.2), spread=0.0, source=MADE)
    with pytest.raises(Contradiction, match="one value for each"):
        Curve(name="short", temperature=(300.0, 400.0), value=(0.1,), spread=0.0, source=MADE)


def test_a_rayleigh_number_beyond_the_relation_is_flagged() -> None:
    """A deep cavity under pressure goes beyond the relation; the sample is marked, not dropped."""
    wide = Gap(name="cavity", thickness=np.array([0.1, 1.5]), emissivity_in=0.8,
               emissivity_out=0.8, pressure=3e6)  # fmt: skip
    one = solve(stack((wide,)))
    assert one.beyond["Rayleigh number of cavity"].tolist() == [False, True]
    assert one.sound.tolist() == [True, False]
