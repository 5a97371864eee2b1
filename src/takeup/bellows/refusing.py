"""Bellows input that cannot be true, said with what would be right."""

from __future__ import annotations

import math

from takeup.bellows.model import (
    Assembly,
    BellowsCase,
    Condition,
    Convolution,
    FatigueCurve,
    Movement,
)
from takeup.errors import Contradiction, require_within

WHOSE = "the bellows engine"
WORDS = {
    "inside_diameter": "inside diameter Db",
    "height": "convolution height w",
    "pitch": "pitch q",
    "convolutions": "number of convolutions N",
    "plies": "number of plies n",
    "ply_thickness": "ply thickness t",
    "torus_radius": "torus radius rm",
    "mean_diameter": "diameter of the torus centre line Dm",
    "tangent_length": "end tangent length Lt",
    "collar_length": "collar length Lc",
    "collar_thickness": "collar thickness tc",
    "tube_diameter": "tube diameter before forming",
    "thinnest_ply": "least ply thickness measured",
    "ring_area": "area of one ring Ar",
    "fastener_area": "area of the ring fastener Af",
    "fastener_length": "length of the ring fastener Lf",
    "fastener_allowable": "allowable stress of the ring fastener",
    "material": "bellows alloy",
    "length_over_both": "length over both bellows",
    "yield_strength": "yield strength",
    "room_modulus": "elastic modulus cold",
    "heat_treatment": "heat treatment",
    "treatment": "heat treatment",
    "weld_factor": "longitudinal weld factor",
    "kg": "fatigue strength reduction Kg",
    "ctheta": "squirm factor Ctheta",
    "kr": "factor Kr of an opened pitch",
    "material_factor": "material factor fc",
}
"""Fields as sentences name them."""
COMMON = ("inside_diameter", "pitch", "convolutions", "plies", "ply_thickness")
MAY = ("tangent_length", "collar_length", "collar_thickness", "fastener_area", "fastener_length")
OPTIONAL = (
    "torus_radius", "mean_diameter", "tube_diameter", "thinnest_ply", "ring_area", "weld_factor",
    "length_over_both", "yield_strength", "room_modulus", "fastener_allowable", "kg", "ctheta",
    "kr", "material_factor",
)  # fmt: skip
SPANS = {"weld_factor": (0.0, 1.0), "kg": (1.0, 4.0), "ctheta": (0.0, 1.0), "kr": (1.0, 10.0)}


def must(case: BellowsCase) -> tuple[str, ...]:
    """Fields without which nothing of this shape can be worked out."""
    if case.convolution == Convolution.TOROIDAL:
        return (*COMMON, "mean_diameter", "torus_radius")
    return (*COMMON, "height")


def unknown(case: BellowsCase) -> tuple[str, ...]:
    """Those of :func:`must` that are not known."""
    return tuple(name for name in must(case) if name in case.missing or getattr(case, name) is None)


def refuse(case: BellowsCase) -> None:
    """Raise for a case that cannot be true; a field named in ``missing`` is not looked at.

    Raises :class:`takeup.errors.Contradiction` and :class:`takeup.errors.OutOfRange`.
    """
    open_ = unknown(case)
    for name in must(case):
        if name not in open_:
            value = getattr(case, name)
            if not 0.0 < value < math.inf:
                _refuse_number(case, name, value)
    for name in MAY:
        value = getattr(case, name)
        if name not in case.missing and not 0.0 <= value < math.inf:
            _refuse_number(case, name, value)
    for name in OPTIONAL:
        value = getattr(case, name)
        if value is None or name in case.missing:
            continue
        low, high = SPANS.get(name, (0.0, math.inf))
        if not 0.0 < value < math.inf:
            _refuse_number(case, name, value)
        if not low <= value <= high:
            require_within(_capital(WORDS[name]), value, low=low, high=high, whose=WHOSE)
    for name in ("offset_axial", "offset_lateral", "offset_angular"):
        if not math.isfinite(getattr(case, name)):
            require_within(name.replace("_", " "), getattr(case, name), low=-1e3, whose=WHOSE)
    if not open_:
        _refuse_shape(case)
    _refuse_conditions(case.conditions)
    _refuse_movements(case.movements)
    if case.fatigue_curve is not None:
        _refuse_curve(case.fatigue_curve)


def _capital(words: str) -> str:
    return words[0].upper() + words[1:]


def _refuse_number(case: BellowsCase, name: str, value: float) -> None:
    require_within(
        _capital(WORDS.get(name, name.replace("_", " "))),
        value,
        low=0.0 if name in MAY else 1e-12,
        unit="" if name in {"convolutions", "plies", "weld_factor"} else "SI",
        whose=WHOSE,
        remedy=f"Correct it, or leave it unknown ({case.name or 'case without name'}).",
    )


def _refuse_conditions(conditions: tuple[Condition, ...]) -> None:
    seen = set()
    for condition in conditions:
        where = f"of condition {condition.name!r}"
        if not math.isfinite(condition.pressure) or not 0.0 < condition.temperature < 2000.0:
            require_within(
                f"Pressure {where}", condition.pressure, low=-1e12, unit="Pa", whose=WHOSE
            )
            require_within(
                f"Metal temperature {where}",
                condition.temperature,
                low=1.0,
                high=2000.0,
                unit="K",
                whose=WHOSE,
            )
        for name in ("allowable_stress", "modulus"):
            value = getattr(condition, name)
            if value is not None and not 0.0 < value < math.inf:
                require_within(
                    f"{_capital(name.replace('_', ' '))} {where}", value, low=1.0, unit="Pa",
                    whose=WHOSE,
                )  # fmt: skip
        if condition.name.lower() in seen:
            raise Contradiction(f"condition {condition.name!r} is given twice; keep one")
        seen.add(condition.name.lower())


def _refuse_movements(moves: tuple[Movement, ...]) -> None:
    seen = set()
    for move in moves:
        where = f"in movement {move.name!r}"
        for name, words, unit in (
            ("axial", "Axial movement", "m"),
            ("lateral", "Lateral movement", "m"),
            ("lateral_across", "Lateral movement, second plane,", "m"),
        ):
            if not math.isfinite(getattr(move, name)):
                require_within(
                    f"{words} {where}", getattr(move, name), low=-1e3, unit=unit, whose=WHOSE
                )
        for name in ("angular", "angular_across"):
            if not abs(getattr(move, name)) < 1.0:
                require_within(
                    f"Angle {where}", getattr(move, name), low=-0.999, high=0.999, unit="rad",
                    whose=WHOSE,
                )  # fmt: skip
        for name, words in (("cycles", "Cycles"), ("done", "Cycles done")):
            if not 0.0 <= getattr(move, name) < math.inf:
                require_within(f"{words} {where}", getattr(move, name), low=0.0, whose=WHOSE)
        if move.done > move.cycles:
            raise Contradiction(
                f"movement {move.name!r} has {move.done:g} cycles done of {move.cycles:g} to count; "
                "the count must contain those done"
            )
        if move.name in seen:
            raise Contradiction(f"movement {move.name!r} is given twice; give each its own name")
        seen.add(move.name)


def _refuse_curve(curve: FatigueCurve) -> None:
    if not curve.pieces:
        raise Contradiction(
            "the fatigue curve has no branch; give start, a, b and exponent of at least one"
        )
    if not curve.source.strip():
        raise Contradiction("the fatigue curve has no source; say standard, edition and table")
    starts = [piece.start for piece in curve.pieces]
    if len(set(starts)) != len(starts):
        raise Contradiction("two branches of the fatigue curve start at the same stress")
    for piece in curve.pieces:
        good = piece.a > 0.0 and piece.exponent > 0.0 and piece.b >= 0.0 and piece.start >= 0.0
        if not good or not curve.most > 0.0:
            raise Contradiction(
                "a branch of the fatigue curve needs a and exponent above 0, b and start at "
                f"least 0; got a {piece.a:g}, b {piece.b:g}, exponent {piece.exponent:g}, start "
                f"{piece.start:g} Pa, most {curve.most:g} cycles"
            )


def _refuse_shape(case: BellowsCase) -> None:
    wall = case.plies * case.ply_thickness
    if case.convolution == Convolution.TOROIDAL:
        _refuse_torus(case, wall)
    else:
        _refuse_u(case, wall)
    if case.tube_diameter is not None and "tube_diameter" not in case.missing:
        most = (
            case.mean_diameter
            if case.convolution == Convolution.TOROIDAL
            else case.inside_diameter + (case.height or 0.0) + wall
        )
        if most is not None and case.tube_diameter > most:
            raise Contradiction(
                f"tube diameter {case.tube_diameter * 1e3:g} mm is more than the mean diameter "
                f"{most * 1e3:g} mm: a bellows is formed outwards from its tube"
            )
    if case.thinnest_ply is not None and case.thinnest_ply > 1.25 * case.ply_thickness:
        raise Contradiction(
            f"the least ply thickness measured, {case.thinnest_ply * 1e3:g} mm, is above the ply "
            f"before forming, {case.ply_thickness * 1e3:g} mm; check whether one ply or the whole "
            "wall was measured"
        )
    if case.collar_length > case.tangent_length > 0.0 and "tangent_length" not in case.missing:
        raise Contradiction(
            f"collar of {case.collar_length * 1e3:g} mm is longer than the end tangent under it, "
            f"{case.tangent_length * 1e3:g} mm; one of Lc and Lt is wrong"
        )
    _refuse_length(case)


def _refuse_u(case: BellowsCase, wall: float) -> None:
    assert case.height is not None
    radius = case.pitch / 4.0 if case.torus_radius is None else case.torus_radius
    if 2.0 * radius > case.height:
        raise Contradiction(
            f"torus radius rm {radius * 1e3:g} mm needs a convolution height of at least "
            f"{2e3 * radius:g} mm (2 rm), but w is {case.height * 1e3:g} mm; one of rm, w"
            f"{' and q (rm is taken as q/4)' if case.torus_radius is None else ''} is wrong"
        )
    if radius <= wall / 2.0:
        raise Contradiction(
            f"torus radius rm {radius * 1e3:g} mm leaves no inside radius with n t = "
            f"{wall * 1e3:g} mm; rm must be more than n t / 2"
        )
    if case.pitch <= 2.0 * radius + wall:
        raise Contradiction(
            f"pitch q {case.pitch * 1e3:g} mm is not more than 2 rm + n t = "
            f"{(2.0 * radius + wall) * 1e3:g} mm: neighbouring convolutions would overlap"
        )


def _refuse_torus(case: BellowsCase, wall: float) -> None:
    assert case.mean_diameter is not None and case.torus_radius is not None
    r, dm = case.torus_radius, case.mean_diameter
    if r <= wall / 2.0:
        raise Contradiction(
            f"torus radius r {r * 1e3:g} mm leaves no inside radius with n t = {wall * 1e3:g} mm; "
            "r must be more than n t / 2"
        )
    if dm <= case.inside_diameter + wall:
        raise Contradiction(
            f"torus centre line Dm {dm * 1e3:g} mm lies inside the tangent, whose diameter is "
            f"{(case.inside_diameter + wall) * 1e3:g} mm; Dm must be more"
        )
    if dm <= 4.0 * r:
        raise Contradiction(
            f"torus radius r {r * 1e3:g} mm is more than a quarter of Dm {dm * 1e3:g} mm: the "
            "torus would close over the bore; one of r and Dm is wrong"
        )
    if case.pitch < 2.0 * r + wall:
        raise Contradiction(
            f"pitch q {case.pitch * 1e3:g} mm is less than 2 r + n t = "
            f"{(2.0 * r + wall) * 1e3:g} mm: neighbouring tori would overlap"
        )


TWO = (Assembly.UNIVERSAL, Assembly.PANTOGRAPH, Assembly.PAIR)
"""Joints with two bellows and a spool between."""


def _refuse_length(case: BellowsCase) -> None:
    length = case.convolutions * case.pitch
    both = None if "length_over_both" in case.missing else case.length_over_both
    if case.assembly in TWO and both is not None and both < 2.0 * length:
        raise Contradiction(
            f"length over both bellows {both:g} m is less than two bellows of N q = "
            f"{length:g} m; correct the length, the pitch or the convolutions"
        )
    if case.assembly in TWO and both is not None and "tangent_length" not in case.missing:
        spool = both - 2.0 * length
        if 2.0 * case.tangent_length > spool > 0.0:
            raise Contradiction(
                f"two end tangents of {case.tangent_length * 1e3:g} mm are longer than the spool "
                f"between the bellows, {spool * 1e3:g} mm; correct Lt or the length over both"
            )
    if case.assembly not in TWO:
        for move in case.movements:
            if length + move.axial <= 0.0:
                raise Contradiction(
                    f"movement {move.name!r} compresses the bellows by {-move.axial * 1e3:g} mm; "
                    f"it is only {length * 1e3:g} mm long"
                )
