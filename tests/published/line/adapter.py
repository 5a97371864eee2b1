"""What the published cases of the line room compute."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from takeup.line import codes
from takeup.line.model import TeeKind


def bend(i: dict[str, Any]) -> dict[str, float]:
    """Factors of a bend without and with pressure."""
    size = (i["outside"], i["wall"], i["radius"])
    free = codes.bend(*size)
    held = codes.bend(*size, pressure=i["pressure"], modulus=i["modulus"])
    return {
        "h": free.h, "k": free.k, "ii": free.inside, "io": free.outside,
        "k held": held.k, "ii held": held.inside, "io held": held.outside,
    }  # fmt: skip


def tees(i: dict[str, Any]) -> dict[str, float]:
    """Factors of each branch connection."""
    found = {}
    for kind in TeeKind:
        made = codes.branch(kind, i["outside"], i["wall"], pad=i["pad"])
        found |= {f"io {kind.value}": made.outside, f"ii {kind.value}": made.inside}
    return found


def short(i: dict[str, Any]) -> dict[str, float]:
    """Closed forms."""
    force, moment, stress = codes.guided_cantilever(203.4e9, 1.17162e-5, 0.1683, 3.0, 0.025)
    angle, shorter = codes.two_hinges(4.0, 0.060)
    cold, vary = codes.spring_loads(20e3, 60e3, 0.025)
    return {
        "force": force, "moment": moment, "stress": stress, "angle": np.degrees(angle),
        "shorter": shorter, "cold": cold, "variability": vary,
        "elbow": codes.elbow_thrust(0.5e6, 0.1963, np.pi / 2),
        "SA": codes.range_allowable(20.0, 19.0), "liberal": codes.range_allowable(20.0, 19.0, 1.0, 6.0),
    }  # fmt: skip


def welding_tee(i: dict[str, Any]) -> dict[str, float]:
    """Factors of a welding tee by B31J at run and branch."""
    found = codes.welding_tee(i["outside"], i["wall"], i["branch"], i["branch_wall"])
    names = ("in", "out", "torsion")
    return {
        f"{part} {name}": value
        for part, values in (("run", found.run), ("branch", found.branch))
        for name, value in zip(names, values, strict=True)
    }


def mitres(i: dict[str, Any]) -> dict[str, float]:
    """Factors of a mitre bend with its cuts closely and widely spaced."""
    found = {}
    for name in ("close", "wide"):
        made = codes.mitre(i["outside"], i["wall"], np.radians(i["half_angle"]), i[name])
        found |= {f"h {name}": made.h, f"k {name}": made.k, f"i {name}": made.inside}
    return found


def judging(i: dict[str, Any]) -> dict[str, float]:
    """Effective modulus of a branch, range factors and shares of the reaction range."""
    hot, cold = codes.cold_sprung(i["cold_spring"], i["sh"], i["se"], i["ea"], i["em"])
    return {
        "Ze": codes.effective_modulus(i["branch"], i["branch_wall"], i["run_wall"], i["ii"]),
        "f": codes.cycle_factor(i["cycles"]),
        "hot": hot,
        "cold": cold,
    }


CASES: dict[str, Callable[[dict[str, Any]], Any]] = {
    "line.bend": bend, "line.tees": tees, "line.closed_forms": short,
    "line.welding_tee": welding_tee, "line.mitres": mitres, "line.judging": judging,
}  # fmt: skip
