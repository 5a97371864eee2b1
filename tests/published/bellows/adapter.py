"""What the published cases of the bellows room compute."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from takeup.bellows import (
    charts,
    fatigue,
    forming,
    geometry,
    movements,
    pressure,
    stability,
    stiffness,
    thrust,
)
from takeup.bellows.elements import element_from
from takeup.bellows.model import Basis, Bellows
from takeup.bellows.rules import rules_of
from takeup.units import ACCEPTED, parse_number

EJMA = rules_of(Basis.EJMA)
FIELDS = (
    "inside_diameter",
    "height",
    "pitch",
    "convolutions",
    "plies",
    "ply_thickness",
    "torus_radius",
    "tangent_length",
    "collar_length",
    "collar_thickness",
)


def si(value: Any) -> float:
    """A number as it stands (SI), or text with its unit."""
    if not isinstance(value, str):
        return float(value)
    number, unit = parse_number(value)
    found = [units[unit] for units in ACCEPTED.values() if unit in units]
    assert len(found) == 1, value
    factor, offset = found[0]
    return (number + offset) * factor


def bellows_of(inputs: dict[str, Any]) -> Bellows:
    """The geometry in a case's inputs."""
    given = {name: si(inputs[name]) for name in FIELDS if name in inputs}
    given.setdefault("torus_radius", given["pitch"] / 4.0)
    return Bellows(**given)


def stresses(inputs: dict[str, Any]) -> dict[str, Any]:
    """Geometry, coefficients, stresses, rate, squirm and thrust of one bellows."""
    b = bellows_of(inputs)
    c1, c2 = geometry.chart_c1(b), geometry.chart_c2(b)
    cp = inputs.get("Cp", charts.cp(c1, c2))
    cf = inputs.get("Cf", charts.cf(c1, c2))
    cd = inputs.get("Cd", charts.cd(c1, c2))
    p = si(inputs["pressure"])
    cold = si(inputs["cold_modulus"])
    hot = si(inputs.get("hot_modulus", cold))
    e = si(inputs["movement_per_convolution"])
    found = {
        "Dm": geometry.mean_diameter(b),
        "tp": geometry.thinned_ply(b),
        "A": geometry.metal_area(b),
        "Ae": thrust.effective_area(b),
        "C1": c1,
        "C2": c2,
        "Cp": cp,
        "Cf": cf,
        "Cd": cd,
        "S1": pressure.tangent_hoop(b, p, hot, hot),
        "S2": pressure.convolution_hoop(b, p),
        "S3": pressure.meridional_membrane(b, p),
        "S4": pressure.meridional_bending(b, p, cp),
        "S5": movements.membrane_stress(b, cold, e, cf),
        "S6": movements.bending_stress(b, cold, e, cd),
        "f": stiffness.convolution_rate(b, hot, cf, EJMA.rate_constant),
        "F": thrust.force(b, p),
    }
    found["S3+S4"] = found["S3"] + found["S4"]
    found["St"] = movements.total_range(found["S3"], found["S4"], found["S5"], found["S6"])
    found["Ka"] = stiffness.axial(b, found["f"])
    found["Psc"] = stability.column_squirm(b, found["f"])
    if "yield_strength" in inputs:
        alpha = stability.alpha(found["S4"], found["S2"])
        found["Psi"] = stability.inplane_squirm(
            b, si(inputs["yield_strength"]), alpha, EJMA.inplane_constant
        )
    return found


def moves(inputs: dict[str, Any]) -> dict[str, Any]:
    """Equivalent axial movement per convolution and rates of a joint."""
    mean = si(inputs["mean_diameter"])
    b = Bellows(
        inside_diameter=mean,
        height=0.0,
        pitch=si(inputs["pitch"]),
        convolutions=inputs["convolutions"],
        plies=1.0,
        ply_thickness=0.0,
        torus_radius=0.0,
    )
    f = si(inputs.get("rate", 0.0))
    x, y = si(inputs.get("axial", 0.0)), si(inputs.get("lateral", 0.0))
    found = {
        "ex": movements.axial(b, x),
        "ey": movements.lateral_single(b, y, x),
        "eth": movements.angular(b, si(inputs.get("angular", 0.0))),
        "Ka": stiffness.axial(b, f),
        "Kl": stiffness.lateral_single(b, f),
        "Kth": stiffness.angular(b, f),
    }
    if "over_both" in inputs:
        over = si(inputs["over_both"])
        found["ey"] = movements.lateral_universal(b, y, over)
        found["Kl"] = stiffness.lateral_universal(b, f, over)
    return found


def element(inputs: dict[str, Any]) -> dict[str, Any]:
    """Entries of the stiffness between the ends of one bellows, and its thrust."""
    pressure = si(inputs["pressure"]) if "pressure" in inputs else None
    f = si(inputs["rate"])
    made = element_from(bellows_of(inputs), f, si(inputs["modulus"]), pressure=pressure)
    k = made.matrix
    return {
        "axial": k[6, 6],
        "lateral": k[7, 7],
        "moment_per_lateral": abs(k[7, 11]),
        "near": k[11, 11],
        "far": k[5, 11],
        "twist": k[9, 9],
        "thrust": made.thrust(0.35e6)[6],
    }


def forming_case(inputs: dict[str, Any]) -> dict[str, Any]:
    """Forming strain and the strength factors that follow from it."""
    strain = forming.strain(bellows_of(inputs))
    return {
        "ef": strain,
        "austenitic_roll": forming.strength_factor(strain, nickel=False),
        "nickel_roll": forming.strength_factor(strain, nickel=True),
        "austenitic_hydraulic": forming.strength_factor(0.6 * strain, nickel=False),
        "nickel_hydraulic": forming.strength_factor(0.6 * strain, nickel=True),
    }


def superposed(inputs: dict[str, Any]) -> dict[str, float]:
    """Ranges and counts after cycles were superposed."""
    found = {}
    positions, counts = np.array(inputs["cycles"], dtype=float).T
    for number, (span, count) in enumerate(movements.superpose(positions, counts), start=1):
        found[f"range_{number}"], found[f"count_{number}"] = float(span), float(count)
    return found


def table(function: Callable[[float], Any], inputs: dict[str, Any]) -> dict[str, float]:
    """One number per named stress."""
    return {name: float(function(si(stress))) for name, stress in inputs.items()}


def at_mean_life(inputs: dict[str, Any]) -> dict[str, float]:
    """Allowed cycles at the stress range whose mean life is given."""
    low, high = fatigue.MEAN_FLOOR, 1e11
    for _ in range(200):
        middle = (low + high) / 2.0
        if fatigue.mean_cycles(middle) > inputs["mean_cycles"]:
            low = middle
        else:
            high = middle
    return {"St": middle, "design": float(fatigue.design_cycles(middle))}


def design_margin(inputs: dict[str, Any]) -> dict[str, float]:
    """Cycles at the stress over 1.25 to cycles at the stress, both on the design curve."""
    return {
        name: float(fatigue.design_cycles(si(x) / 1.25) / fatigue.design_cycles(si(x)))
        for name, x in inputs.items()
    }


CASES: dict[str, Callable[[dict[str, Any]], Any]] = {
    "bellows.stresses": stresses,
    "bellows.charts": lambda inputs: {
        "Cp": charts.cp(inputs["C1"], inputs["C2"]),
        "Cf": charts.cf(inputs["C1"], inputs["C2"]),
        "Cd": charts.cd(inputs["C1"], inputs["C2"]),
    },
    "bellows.movements": moves,
    "bellows.element": element,
    "bellows.forming": forming_case,
    "bellows.design_cycles": lambda inputs: table(fatigue.design_cycles, inputs),
    "bellows.mean_cycles": lambda inputs: table(fatigue.mean_cycles, inputs),
    "bellows.superpose": superposed,
    "bellows.at_mean_life": at_mean_life,
    "bellows.design_margin": design_margin,
}
