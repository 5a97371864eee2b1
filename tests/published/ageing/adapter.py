"""What the published cases of the ageing room compute."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from takeup.ageing import creep, fatigue, weibull
from takeup.ageing.model import LifeRecord
from takeup.materials import Family


def records(inputs: dict[str, Any]) -> tuple[list[LifeRecord], list[int]]:
    """Lives with their counts: exact failures, intervals (good, failed, n) and running (age, n)."""
    lives = [(float(age), float(age), 1) for age in inputs.get("failures", [])]
    lives += [(float(good), float(failed), n) for good, failed, n in inputs.get("intervals", [])]
    made = [LifeRecord(joint="-", good_at=good, failed_by=failed) for good, failed, _ in lives]
    made += [LifeRecord(joint="-", good_at=float(age)) for age, _ in inputs.get("running", [])]
    return made, [n for *_, n in lives] + [n for _, n in inputs.get("running", [])]


def fit(inputs: dict[str, Any]) -> dict[str, float]:
    """Scale, shape and likelihood of a fit, and what follows from them."""
    made, counts = records(inputs)
    found = weibull.fit(made, counts)
    result = {
        "scale": found.scale,
        "shape": found.shape,
        "log_likelihood": found.log_likelihood,
    }
    if "quantile" in inputs:
        result["quantile"] = found.quantile(inputs["quantile"])
    if "reliability_at" in inputs:
        result["reliability"] = found.reliability(inputs["reliability_at"])
    if "alive_at" in inputs:
        now, then = inputs["alive_at"]
        result["conditional"] = found.lasting(now, then - now)
    return result


def weibayes(inputs: dict[str, Any]) -> dict[str, float]:
    """Scale for an assumed shape with its bounds."""
    made, counts = records(inputs)
    shape = float(inputs["shape"])
    return {
        "scale": weibull.weibayes(made, shape, counts),
        "lower": weibull.weibayes_bound(made, shape, inputs["confidence"], counts),
        "median": weibull.weibayes_bound(made, shape, 0.5, counts),
    }


def smooth(i: dict[str, Any]) -> dict[str, float]:
    """Cycles at each amplitude [ksi] of a curve with its own modulus [ksi]."""
    ksi = 6894757.293168
    found = fatigue.smooth_bar(
        np.array(i["amplitudes"]) * ksi, i["modulus"] * ksi, Family(i["family"])
    )
    return {f"{a:g}": float(n) for a, n in zip(i["amplitudes"], found, strict=True)}


def crack(i: dict[str, Any]) -> dict[str, float]:
    """Welded joint, penalty and growth."""
    return {
        "welded": float(fatigue.welded(0.0, i["bending"], i["wall"], 1.0, environment=1.0)),
        "welded in use": float(fatigue.welded(0.0, i["bending"], i["wall"], 1.0)),
        "penalty": float(fatigue.penalty(1e9, 1.0, Family.AUSTENITIC)),
    }


def rupture(i: dict[str, Any]) -> dict[str, float]:
    """Hours to rupture by Larson-Miller, mean and minimum, and by Omega."""
    ksi, t = 6894757.293168, (i["fahrenheit"] - 32.0) / 1.8 + 273.15
    of = creep.curve(i["alloy"])
    mean = float(creep.rupture(of, i["stress"] * ksi, t)) / creep.HOUR
    found = {
        "mean": mean,
        "minimum": float(creep.rupture(of, i["stress"] * ksi, t, minimum=True)) / creep.HOUR,
    }
    omega = creep._omegas().get(i["alloy"])
    if omega is not None:
        found["omega"] = float(creep.omega_life(omega, i["stress"] * ksi, t)) / creep.HOUR
        found["omega over mean"] = found["omega"] / mean
    return found


CASES: dict[str, Callable[[dict[str, Any]], Any]] = {
    "ageing.fit": fit,
    "ageing.weibayes": weibayes,
    "ageing.rupture": rupture,
    "ageing.smooth_bar": smooth,
    "ageing.crack": crack,
}
