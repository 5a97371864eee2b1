"""What the published cases of the evidence room compute."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

from takeup.evidence import interply
from takeup.evidence.facts import Answer, InterplyReading, InterplyTest
from takeup.limits import defaults

GAS_CONSTANT = 8.314462618
"""J/(mol K)."""
READING = ("start", "start_temperature", "end", "end_temperature")


def leak(inputs: dict[str, Any]) -> dict[str, float]:
    """Leak rate, and the same as moles per second (signs as a loss)."""
    rate = interply.leak_rate(**inputs)
    at = inputs.get("reference_temperature", interply.REFERENCE_TEMPERATURE)
    return {"leak_rate": rate, "moles": rate / (GAS_CONSTANT * at)}


def drop(inputs: dict[str, Any]) -> float:
    """Drop of absolute pressure, corrected for temperature."""
    return interply.corrected_drop(**{name: inputs[name] for name in READING})


def smallest(inputs: dict[str, Any]) -> float:
    """Smallest leak for one gauge division; the engine asks for RESOLUTION_MARGIN of them."""
    date = dt.date(2024, 1, 1)
    key = {"joint": "J", "bellows": "A", "date": date}
    test = InterplyTest(
        **key,
        port_to_port=Answer.YES,
        fills=3,
        gauge_resolution=inputs["resolution"],
        space_volume=inputs["volume"],
    )
    readings = [
        InterplyReading(**key, minute=at, pressure=50e3, temperature=inputs["temperature"])
        for at in (0.0, inputs["time"])
    ]
    result = interply.interpret(test, readings, defaults())
    figure = next(f for f in result.figures if f.id == "smallest_leak")
    assert figure.value is not None
    return figure.value / interply.RESOLUTION_MARGIN


CASES: dict[str, Callable[[dict[str, Any]], Any]] = {
    "evidence.leak_rate": leak,
    "evidence.corrected_drop": drop,
    "evidence.smallest_leak": smallest,
}
