"""What the published cases of the bellows room compute."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec
import numpy as np

from takeup.bellows import (
    charts,
    external,
    fatigue,
    forming,
    geometry,
    movements,
    numbers,
    pressure,
    reinforced,
    stability,
    stiffness,
    thrust,
    toroidal,
)
from takeup.bellows.elements import element_from
from takeup.bellows.hardware import HardwareCase, check_hardware
from takeup.bellows.model import Basis, Bellows, Convolution
from takeup.bellows.rules import rules_of
from takeup.bellows.setting import Metals, Setting
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


def setting_of(b: Bellows, cold: float) -> Setting:
    """A bellows of sound austenitic metal with both ends held, alone in its joint."""
    return Setting(
        bellows=b, nickel=False, austenitic=True, as_formed=True, forming_factor=0.6,
        weld_factor=1.0, tensile=515e6, room_modulus=cold, threshold=700.0, kg=1.0, ctheta=1.0,
        kr=1.0, material_factor=1.0, ends=1.0, shared=1.0, sign=1.0, universal=False, pair=False,
        balancing=False, over_both=float("nan"), outside=False,
    )  # fmt: skip


def worked(inputs: dict[str, Any], b: Bellows, convolution: Convolution, **own: float) -> Any:
    """Everything the array pass says at one pressure and one movement per convolution."""
    rules = rules_of(Basis.EJMA, convolution)
    setting = setting_of(b, si(inputs["cold_modulus"]))
    hot = si(inputs["hot_modulus"])
    metals = Metals(
        allowable=100e6,
        modulus=hot,
        yield_strength=200e6,
        collar_modulus=si(inputs.get("collar_modulus", hot)),
        ring_modulus=si(inputs.get("ring_modulus", hot)),
    )
    load = si(inputs["pressure"])
    shape = numbers.shape(setting, rules) | own
    state = numbers.state(setting, shape, rules, load, metals)
    under = numbers.strained(setting, shape, rules, load, state["base"], hot)
    s5, s6, st, _ = numbers.range_stress(setting, under, si(inputs["movement_per_convolution"]))
    return (
        shape
        | state
        | {"Dm": shape["mean_diameter"], "tp": shape["thinned_ply"], "S5": s5, "S6": s6, "St": st}
        | {"Psc": state["column_squirm"]}
    )


def torus(inputs: dict[str, Any]) -> dict[str, Any]:
    """A toroidal bellows with the coefficients given."""
    wall = inputs["plies"] * si(inputs["ply_thickness"])
    inside = si(inputs["inside_diameter"])
    names = ("tangent_length", "collar_length", "collar_thickness", "torus_radius",
             "ply_thickness", "tube_diameter")  # fmt: skip
    b = Bellows(
        inside_diameter=inside,
        height=si(inputs["mean_diameter"]) - inside - wall,
        pitch=0.2,
        convolutions=inputs["convolutions"],
        plies=inputs["plies"],
        **{name: si(inputs[name]) for name in names},
    )
    own = {name: inputs[name] for name in ("B1", "B2", "B3")}
    return dict(worked(inputs, b, Convolution.TOROIDAL, **own))


def ringed(inputs: dict[str, Any]) -> dict[str, Any]:
    """A reinforced bellows with round-bar rings of one piece."""
    bar = si(inputs["ring_diameter"])
    b = msgspec.structs.replace(bellows_of(inputs), ring_area=np.pi * bar * bar / 4.0)
    found = dict(worked(inputs, b, Convolution.U_REINFORCED))
    found |= {
        "A": found["metal_area"],
        "R1": found["ring_ratio"],
        "free": reinforced.free_height(b, found["Cr"]),
    }
    return found


def cylinder(inputs: dict[str, Any]) -> float:
    """Allowed pressure of a long elastic cylinder over the classical one, design factor of 2."""
    slender = 1.0 / inputs["thickness_over_diameter"]
    mx = inputs["length_over_diameter"] / np.sqrt(0.5 * inputs["thickness_over_diameter"])
    factor = external.buckling_factor(np.asarray(mx), np.asarray(slender))
    stress = 1.6 * factor / slender / 2.0
    return float(2.0 * stress / slender / (2.0 / (1.0 - 0.3**2) / slender**3 / 2.0))


def hardware(inputs: dict[str, Any]) -> dict[str, Any]:
    """Figures, demands of checks, and loads of parts (part.load) of load-carrying hardware."""
    report = check_hardware(msgspec.convert(inputs["case"], HardwareCase))
    found: dict[str, Any] = {figure.id: figure.value for figure in report.figures}
    found |= {check.id: check.demand for check in report.checks}
    for path in report.paths:
        for part in path.parts:
            found |= {f"{part.id}.{load.name}": load.value for load in part.loads}
    return found


CASES: dict[str, Callable[[dict[str, Any]], Any]] = {
    "bellows.stresses": stresses,
    "bellows.torus": torus,
    "bellows.torus_coefficients": lambda inputs: {
        "B1": toroidal.b1(inputs["C3"]),
        "B2": toroidal.b2(inputs["C3"]),
        "B3": toroidal.b3(inputs["C3"]),
    },
    "bellows.reinforced": ringed,
    "bellows.cr": lambda inputs: table(reinforced.cr, inputs),
    "bellows.external": lambda inputs: {
        "Ixx": external.inertia(bellows_of(inputs)),
        "eeq": external.equivalent_thickness(bellows_of(inputs)),
    },
    "bellows.cylinder": cylinder,
    "bellows.charts": lambda inputs: {
        "Cp": charts.cp(inputs["C1"], inputs["C2"]),
        "Cf": charts.cf(inputs["C1"], inputs["C2"]),
        "Cd": charts.cd(inputs["C1"], inputs["C2"]),
    },
    "bellows.movements": moves,
    "bellows.element": element,
    "bellows.hardware": hardware,
    "bellows.forming": forming_case,
    "bellows.design_cycles": lambda inputs: table(fatigue.design_cycles, inputs),
    "bellows.mean_cycles": lambda inputs: table(fatigue.mean_cycles, inputs),
    "bellows.superpose": superposed,
    "bellows.at_mean_life": at_mean_life,
    "bellows.design_margin": design_margin,
}
