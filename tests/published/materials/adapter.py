"""What the published cases of the materials room compute."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from takeup import materials
from takeup.materials import tables


def kelvin(text: str) -> float:
    """A temperature written as ``'400 F'`` or ``'204 C'`` in K."""
    number, unit = text.split()
    return (float(number) + {"F": 459.67, "C": 273.15}[unit]) * {"F": 5 / 9, "C": 1.0}[unit]


def by_temperature(function: Callable[[float], Any], inputs: dict[str, Any]) -> dict[str, float]:
    """One number per temperature, named as the temperature is written."""
    return {text: float(function(kelvin(text))) for text in inputs["temperatures"]}


def older(inputs: dict[str, Any]) -> dict[str, float]:
    """Total expansion by the older table, whose rows are kept for comparison."""
    return by_temperature(
        lambda t: tables.lookup("expansion older", inputs["row"], t, alloy=inputs["row"]).value,
        inputs,
    )


def _property(which: Callable[[str, float], materials.Property]) -> Callable[..., Any]:
    return lambda inputs: by_temperature(lambda t: which(inputs["alloy"], t).value, inputs)


CASES: dict[str, Callable[[dict[str, Any]], Any]] = {
    "materials.expansion_total": _property(materials.expansion_total),
    "materials.expansion_older": older,
    "materials.modulus": _property(materials.modulus),
    "materials.allowable_stress": _property(materials.allowable_stress),
}
