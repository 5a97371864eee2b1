"""What the published cases of the heat room compute."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from takeup.heat import dew, films
from takeup.heat.conductivity import Curve
from takeup.heat.wall import Gap, Layer, Solid, Stack, Weather, solve
from takeup.sources import assumption
from takeup.units import ATMOSPHERE

GIVEN = assumption("as the case gives it")


def curve(name: str, nodes: list[list[float]]) -> Curve:
    """A curve from [°C, W/m.K] pairs."""
    return Curve(
        name=name,
        temperature=tuple(one[0] + 273.15 for one in nodes),
        value=tuple(one[1] for one in nodes),
        spread=0.0,
        source=GIVEN,
    )


def layer(given: dict[str, Any], curves: dict[str, Any]) -> Layer:
    """One layer: an empty gap, a curve by name, or a constant conductivity."""
    if "gap" in given:
        return Gap(name="gap", thickness=given["gap"], emissivity_in=given["emissivity"],
                   emissivity_out=given["emissivity"], pressure=ATMOSPHERE)  # fmt: skip
    nodes = curves[given["curve"]] if "curve" in given else [[0, given["k"]], [900, given["k"]]]
    return Solid(name="layer", curve=curve("given", nodes), thickness=given["thickness"])


def wall(inputs: dict[str, Any]) -> dict[str, float]:
    """Heat and surface temperatures of any stack of layers."""
    weather = Weather(
        ambient=inputs["ambient"],
        wind=inputs.get("wind", 0.0),
        emissivity=inputs.get("emissivity", 0.7),
        film=inputs.get("film"),
    )
    found = solve(
        Stack(
            radius=inputs["radius"],
            gas_temperature=inputs["gas"],
            gas_film=inputs["gas_film"],
            layers=tuple(layer(one, inputs.get("curves", {})) for one in inputs["layers"]),
            weather=weather,
        )
    )
    assert float(found.residual[0]) < 1e-9
    return {
        "heat": float(found.heat[0]),
        "first": float(found.temperature[0, 0]),
        "last": float(found.temperature[-1, 0]),
        "convection": float(found.convection[0]),
        "radiation": float(found.radiation[0]),
    }


def bare(inputs: dict[str, float]) -> dict[str, float]:
    """A bare horizontal pipe of known surface temperature: film and heat lost."""
    surface, ambient = np.array([inputs["surface"]]), np.array([inputs["ambient"]])
    diameter = np.array([inputs["diameter"]])
    film, _, _ = films.outside_film(
        surface, ambient, diameter=diameter, wind=0.0,
        orientation=films.Orientation.HORIZONTAL, height=1.0,
    )  # fmt: skip
    radiation = films.radiation_film(inputs["emissivity"], surface, ambient)
    lost = (film + radiation) * math.pi * diameter * (surface - ambient)
    return {"convection": float(film[0]), "heat": float(lost[0])}


def old_practice(inputs: dict[str, float]) -> dict[str, float]:
    """Film of older insulation practice, beside the relation used here."""
    old = films.old_practice_film(
        inputs["surface"], inputs["ambient"], diameter=inputs["diameter"], wind=inputs["wind"]
    )
    here = bare({**inputs, "emissivity": 0.9})["convection"]
    return {"old": old, "here": here}


def acid(inputs: dict[str, float]) -> dict[str, float]:
    """Three dew points of sulphuric acid from mole shares and total pressure."""
    water, trioxide = (inputs["pressure"] * inputs[name] for name in ("water", "trioxide"))
    return {
        "Verhoff": float(dew.acid_verhoff(water, trioxide)),
        "Okkes": float(dew.acid_okkes(water, trioxide)),
        "ZareNezhad": float(dew.acid_zarenezhad(water, trioxide)),
    }


def acid_mmhg(inputs: dict[str, float]) -> dict[str, float]:
    """The Verhoff dew point from partial pressures in mmHg."""
    return {"Verhoff": float(dew.acid_verhoff(inputs["water"] * dew.MMHG,
                                              inputs["trioxide"] * dew.MMHG))}  # fmt: skip


def acid_atm(inputs: dict[str, float]) -> dict[str, float]:
    """The Verhoff dew point, against its other printed form in atm and decadic logarithms."""
    water, trioxide = inputs["water"], inputs["trioxide"]
    return {"Verhoff": float(dew.acid_verhoff(water * ATMOSPHERE, trioxide * ATMOSPHERE))}


def water(inputs: dict[str, float]) -> dict[str, float]:
    """Dew points of water at its partial pressure [Pa]."""
    p = inputs["water"]
    return {"IF97": float(dew.water_if97(p)), "Buck": float(dew.water_buck(p)),
            "Magnus": float(dew.water_magnus(p))}  # fmt: skip


def other_acid(inputs: dict[str, Any]) -> dict[str, float]:
    """Dew point of another acid from mmHg."""
    return {"acid": float(dew.acid_other(inputs["acid"], inputs["water"] * dew.MMHG,
                                         inputs["gas"] * dew.MMHG))}  # fmt: skip


def salt(inputs: dict[str, float]) -> dict[str, float]:
    """Temperature of solid ammonium chloride from mole shares."""
    p = inputs["pressure"]
    return {"NH4Cl": float(dew.ammonium_chloride(p * inputs["ammonia"], p * inputs["chloride"]))}


def trioxide(inputs: dict[str, float]) -> dict[str, float]:
    """Equilibrium constant and share of SO3."""
    pressure = inputs.get("oxygen", 1.0) * ATMOSPHERE
    share = float(dew.trioxide_share(inputs["temperature"], pressure))
    return {"share": share, "constant": share / (1.0 - share) / math.sqrt(pressure / ATMOSPHERE)}


CASES: dict[str, Callable[[dict[str, Any]], Any]] = {
    "heat.wall": wall,
    "heat.bare": bare,
    "heat.old practice": old_practice,
    "heat.acid": acid,
    "heat.acid mmHg": acid_mmhg,
    "heat.acid atm": acid_atm,
    "heat.water": water,
    "heat.other acid": other_acid,
    "heat.salt": salt,
    "heat.trioxide": trioxide,
}
