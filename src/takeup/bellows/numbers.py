"""One array pass: every figure of a bellows by one rule set, no objects.

The same functions serve one bellows, thousands of cases and millions of candidates.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from takeup.bellows import (
    charts,
    external,
    fatigue,
    forming,
    geometry,
    movements,
    pressure,
    reinforced,
    stability,
    stiffness,
    thrust,
    toroidal,
)
from takeup.bellows.fatigue import MeanCurve
from takeup.bellows.model import Convolution, FatigueCurve, Movement
from takeup.bellows.rules.base import RuleSet
from takeup.bellows.setting import Flag, Metals, Setting
from takeup.units import Array, NewtonPerMetre, Pascal, Ratio, Real

Row = dict[str, Any]
"""Figures by name, each a scalar or an array aligned with the setting."""


def _choose(flag: Flag, yes: Callable[[], Any], no: Callable[[], Any]) -> Any:
    """``np.where`` that works out only what is needed."""
    asked = np.asarray(flag)
    if asked.all():
        return yes()
    if not asked.any():
        return no()
    return np.where(asked, yes(), no())


def _strength_factor(setting: Setting, rules: RuleSet, strain: Any) -> Any:
    """Km: 1.5 annealed; as formed 3 where the rule set says so, else 1.5 Ysm within 1.5 to 3."""
    if not rules.forming_counts:
        return np.where(setting.as_formed, 3.0, 1.5)

    def ysm(x: Any) -> Any:
        raised = forming.strength_factor(x, nickel=setting.nickel)
        return np.where(np.logical_or(setting.nickel, setting.austenitic), raised, 1.0)

    unknown = np.isnan(setting.forming_factor)
    given = np.where(unknown, 1.0, setting.forming_factor)
    raised = ysm(given * strain)
    if np.any(unknown):
        raised = np.where(unknown, np.minimum(raised, ysm(0.6 * strain)), raised)
    return np.where(setting.as_formed, np.clip(1.5 * raised, 1.5, 3.0), 1.5)


def shape(setting: Setting, rules: RuleSet) -> Row:
    """What depends on geometry alone."""
    b = setting.bellows
    found: Row = {
        "mean_diameter": geometry.mean_diameter(b),
        "thinned_ply": geometry.thinned_ply(b),
        "effective_area": thrust.effective_area(b),
        "convoluted_length": geometry.convoluted_length(b),
        "inside_radius": geometry.inside_radius(b),
    }
    if rules.convolution == Convolution.TOROIDAL:
        c3 = toroidal.c3(b)
        found |= {
            "C3": c3,
            "B1": toroidal.b1(c3),
            "B2": toroidal.b2(c3),
            "B3": toroidal.b3(c3),
            # A torus gives way at its neck, whose opening is not among the dimensions.
            "gap": np.full(np.shape(c3), np.nan),
        }
        return found
    c1, c2 = geometry.chart_c1(b), geometry.chart_c2(b)
    cp, cf, cd = charts.all_three(c1, c2)
    strain = forming.strain(b)
    found |= {
        "metal_area": geometry.metal_area(b),
        "C1": c1,
        "C2": c2,
        "Cp": cp,
        "Cf": cf,
        "Cd": cd,
        "forming_strain": strain,
        "strength_factor": _strength_factor(setting, rules, strain),
        "wall_angle": geometry.wall_angle(b),
        "gap": geometry.free_gap(b),
    }
    if rules.convolution == Convolution.U_PLAIN:
        s2 = pressure.convolution_hoop(b, 1.0)
        s4 = pressure.meridional_bending(b, 1.0, cp)
        found |= {
            "unit_S2": s2 * setting.kr if rules.opened_pitch else s2,
            "unit_S2e": pressure.end_convolution_hoop(b, 1.0),
            "unit_S3": pressure.meridional_membrane(b, 1.0),
            "unit_S4": s4,
            "alpha": stability.alpha(s4, s2),
        }
    return found


def rate(
    setting: Setting, shape: Row, rules: RuleSet, modulus: Pascal, load: Pascal
) -> NewtonPerMetre:
    """Axial rate of one convolution at a modulus and (beside rings) a pressure [N/m]."""
    b = setting.bellows
    if rules.convolution == Convolution.TOROIDAL:
        return toroidal.convolution_rate(b, modulus, shape["B3"])
    height = None
    if rules.convolution == Convolution.U_REINFORCED:
        height = reinforced.free_height(b, reinforced.cr(load))
    return stiffness.convolution_rate(b, modulus, shape["Cf"], rules.rate_constant, height)


def _hoop(setting: Setting, load: Any, metals: Metals) -> Row:
    """Tangent and collar, the same for every shape."""
    b = setting.bellows
    nothing = np.full(np.shape(load), np.nan)
    if not np.any(np.asarray(b.tangent_length) > 0.0):
        return {"S1": nothing, "S1c": nothing}
    collared = np.asarray(b.collar_thickness) * np.asarray(b.collar_length) > 0.0
    if not collared.any():
        return {"S1": pressure.tangent_hoop(b, load, 1.0, 0.0), "S1c": nothing}
    # Without a collar its modulus is of no account; with one, an unknown one leaves both open.
    collar = np.where(collared, metals.collar_modulus, 0.0)
    own = np.where(collared, metals.modulus, 1.0)
    return {
        "S1": pressure.tangent_hoop(b, load, own, collar),
        "S1c": pressure.collar_hoop(b, load, own, collar),
    }


def _stresses(setting: Setting, shape: Row, rules: RuleSet, load: Any, metals: Metals) -> Row:
    b = setting.bellows
    found = _hoop(setting, load, metals)
    if rules.convolution == Convolution.TOROIDAL:
        s3 = toroidal.meridional_membrane(b, load)
        return found | {"S2": toroidal.torus_hoop(b, load), "S3": s3, "base": 3.0 * s3}
    if rules.convolution == Convolution.U_REINFORCED:
        factor = reinforced.cr(load)
        whole = reinforced.ring_ratio(b, metals.modulus, metals.ring_modulus)
        joined = reinforced.joined_ratio(
            b, metals.modulus, metals.ring_modulus, metals.fastener_modulus
        )
        s3 = reinforced.meridional_membrane(b, load, factor)
        s4 = reinforced.meridional_bending(b, load, shape["Cp"], factor)
        found |= {
            "Cr": factor,
            "ring_ratio": joined,
            "S2": reinforced.convolution_hoop(b, load, joined),
            "S2r": reinforced.ring_hoop(b, load, whole),
            "S2f": reinforced.fastener(b, load, joined),
        }
    else:
        s3, s4 = shape["unit_S3"] * load, shape["unit_S4"] * load
        tangent = np.asarray(b.tangent_length) > 0.0
        found |= {
            "S2": shape["unit_S2"] * load,
            "S2e": np.where(tangent, shape["unit_S2e"] * load, np.nan),
        }
    both = s3 + s4
    return found | {"S3": s3, "S4": s4, "S3+S4": both, "base": 0.7 * both}


def allowable(setting: Setting, rules: RuleSet, metals: Metals) -> Any:
    """Allowable stress as the rule set would have it [Pa]: capped, or a lower bound of it."""
    stress = metals.allowable
    if rules.tensile_divisor is not None:
        capped = np.minimum(stress, setting.tensile / rules.tensile_divisor)
        stress = np.where(metals.allowable_given, stress, capped)
    if rules.yield_divisor is not None:
        low = np.minimum(stress, metals.yield_strength / rules.yield_divisor)
        stress = np.where(metals.allowable_given, stress, low)
    return stress


def _finished_yield(setting: Setting, shape: Row, rules: RuleSet, metals: Metals) -> Any:
    if rules.yield_by_strength_factor:
        factor = 0.67 * shape["strength_factor"]
    else:
        factor = np.where(setting.as_formed, rules.yield_factor[True], rules.yield_factor[False])
    return metals.yield_strength * np.where(metals.yield_given, 1.0, factor)


def state(setting: Setting, shape: Row, rules: RuleSet, load: Pascal, metals: Metals) -> Row:
    """Figures of one condition: stresses, limits of pressure, thrust.  ``load``: gauge [Pa]."""
    b = setting.bellows
    outward = np.where(setting.outside, -np.asarray(load), load)
    size = np.abs(outward)
    found = _stresses(setting, shape, rules, size, metals)
    stress = allowable(setting, rules, metals)
    weld = setting.weld_factor * stress
    f = rate(setting, shape, rules, metals.modulus, size)
    found |= {
        "outward": outward,
        "S": stress,
        "Cw S": weld,
        "Sc": metals.collar_allowable,
        "Sr": metals.ring_allowable,
        "Sf": metals.fastener_allowable,
        "f": f,
        "thrust": thrust.force(b, load),
    }
    length = b.torus_radius if rules.convolution == Convolution.TOROIDAL else None
    found["column_squirm"] = stability.column_squirm(
        b, f, setting.ends, setting.ctheta, rules.column_constant, length
    )
    if rules.convolution != Convolution.TOROIDAL:
        found["Km S"] = shape["strength_factor"] * stress
        found["S3+S4/1.25"] = found["S3"] + found["S4"] / 1.25
    if rules.convolution == Convolution.U_PLAIN:
        effective = _finished_yield(setting, shape, rules, metals)
        opened = setting.kr if rules.opened_pitch else 1.0
        limit = stability.inplane_squirm(b, effective, shape["alpha"], rules.inplane_constant)
        found |= {"Sy": effective, "inplane_squirm": limit / opened}
    if np.any(outward < 0.0) and rules.convolution != Convolution.TOROIDAL:
        found["external"] = external.allowed_pressure(b, metals.modulus, metals.yield_strength)
    return found


def pressure_limit(
    setting: Setting, shape: Row, rules: RuleSet, metals: Metals, load: Pascal
) -> Array:
    """Largest internal pressure at which every pressure check holds [Pa]; NaN where unknown.

    Beside rings the stresses do not rise in proportion, so the limit is closed in on from the
    condition's own pressure: each round works at the limit of the round before.
    """
    guess = np.abs(np.asarray(load, dtype=float))
    rounds = 60 if rules.convolution == Convolution.U_REINFORCED else 1
    guess = np.where(guess > 0.0, guess, 1e5)
    answer = np.full(np.shape(guess), np.nan)
    settled = np.zeros(np.shape(guess), dtype=bool)
    for _ in range(rounds):
        found = state(setting, shape, rules, np.where(setting.outside, -guess, guess), metals)
        lowest = np.full(np.shape(guess), np.inf)
        for family in rules.checks:
            if family in SQUIRM:
                limit = found[family]
            else:
                limit = guess * found[LIMIT[family]] / found[family]
                if family in OPTIONAL:
                    limit = np.where(np.isnan(limit) & _absent(setting, family, metals), np.inf,
                                     limit)  # fmt: skip
            lowest = np.minimum(lowest, limit)
        answer = np.where(settled, answer, lowest)
        step = np.sqrt(guess * lowest) if rounds > 1 else lowest
        # A row stays as it is once it has settled, so that it does not hang on its neighbours.
        settled = settled | np.isnan(step) | (np.abs(step - guess) <= 1e-12 * guess)
        if settled.all():
            break
        guess = np.where(settled, guess, step)
    return np.asarray(answer)


SQUIRM = ("column_squirm", "inplane_squirm")
LIMIT = {
    "S1": "Cw S",
    "S1c": "Sc",
    "S2": "Cw S",
    "S2e": "Cw S",
    "S2r": "Sr",
    "S2f": "Sf",
    "S3": "S",
    "S3+S4": "Km S",
}
"""Capacity of each stress check."""
OPTIONAL = ("S1", "S1c", "S2e", "S2f")
"""Checks of parts that a bellows need not have."""


def _absent(setting: Setting, family: str, metals: Metals) -> Any:
    """Whether a check falls away: no such part; a collar of unknown metal is left out too."""
    b = setting.bellows
    if family == "S1c":
        there = np.asarray(b.collar_thickness) * np.asarray(b.collar_length) > 0.0
        return ~there | np.isnan(metals.collar_allowable)
    if family == "S2f":
        return np.asarray(b.fastener_area) <= 0.0
    return np.asarray(b.tangent_length) <= 0.0


def _per_unit(setting: Setting, shape: Row, rules: RuleSet, load: Any) -> tuple[Any, Any]:
    """S5 and S6 for one metre of movement per convolution, at room-temperature modulus."""
    b, room = setting.bellows, setting.room_modulus
    if rules.convolution == Convolution.TOROIDAL:
        return (
            toroidal.membrane_stress(b, room, 1.0, shape["B1"]),
            toroidal.bending_stress(b, room, 1.0, shape["B2"]),
        )
    height = None
    if rules.convolution == Convolution.U_REINFORCED:
        height = reinforced.free_height(b, reinforced.cr(load))
    return (
        movements.membrane_stress(b, room, 1.0, shape["Cf"], height),
        movements.bending_stress(b, room, 1.0, shape["Cd"], height),
    )


def travel(setting: Setting, move: Movement) -> Row:
    """Movement per convolution of one movement: axial part, and swing in both planes [m]."""
    b = setting.bellows
    x: Any = move.axial
    ex = setting.sign * movements.axial(b, x, setting.shared)

    def lever() -> Any:
        return _choose(
            setting.universal,
            lambda: movements.lateral_universal(b, 1.0, setting.over_both, x),
            lambda: _choose(
                setting.pair,
                lambda: movements.lateral_pair(b, 1.0, setting.over_both),
                lambda: movements.lateral_single(b, 1.0, x),
            ),
        )

    turn = movements.angular(b, 1.0)
    sideways = np.any(np.asarray(move.lateral) != 0.0) or np.any(
        np.asarray(move.lateral_across) != 0.0
    )
    unit = lever() if sideways else 0.0
    found: Row = {"ex": ex}
    for suffix, y, theta in (
        ("", move.lateral, move.angular),
        ("_across", move.lateral_across, move.angular_across),
    ):
        ey = np.where(np.asarray(y) != 0.0, unit * np.asarray(y), 0.0)
        eth = turn * np.asarray(theta)
        found["swing" + suffix] = np.where(setting.balancing, 0.0, ey + eth)
        found["swing_far" + suffix] = np.where(setting.balancing, 0.0, eth - ey)
    opening, closing, plane = _extremes(found)
    return found | {
        "plane": plane,
        "opening": opening,
        "closing": closing,
        "e": np.maximum(np.abs(opening), np.abs(closing)),
    }


ENDS = ("swing", "swing_far")
"""Swing at either end of a bellows: lateral movement bends them against one another (the two
bellows of a universal or pair likewise), an angle bends both alike."""


def _extremes(row: Row) -> tuple[Any, Any, Any]:
    """Most open and most closed fibre of the worse end, and its plane [m, m, rad]."""
    near, far = (np.hypot(row[end], row[end + "_across"]) for end in ENDS)
    far_rules = far > near
    first = np.where(far_rules, row["swing_far"], row["swing"])
    second = np.where(far_rules, row["swing_far_across"], row["swing_across"])
    opening, closing = movements.extremes(row["ex"], np.maximum(near, far))
    return opening, closing, np.arctan2(second, first)


def together(move: Row, offset: Row) -> tuple[Any, Any]:
    """Most open and most closed fibre of a movement on top of the installed set [m]."""
    names = ("ex", *(end + suffix for end in ENDS for suffix in ("", "_across")))
    opening, closing, _ = _extremes({name: move[name] + offset[name] for name in names})
    return opening, closing


def strained(setting: Setting, shape: Row, rules: RuleSet, load: Any, base: Any, hot: Any) -> Row:
    """What turns movement into fatigue stress: slopes of S5 and S6, the pressure part.

    ``load`` [Pa], ``base`` its share in St [Pa] and ``hot`` modulus [Pa] are those of the
    condition under which the bellows moves.
    """
    s5, s6 = _per_unit(setting, shape, rules, load)
    return {"slope5": s5, "slope6": s6, "base": base, "ratio": setting.room_modulus / hot}


def range_stress(setting: Setting, under: Row, e: Any) -> tuple[Any, Any, Any, Any]:
    """S5, S6, St and the stress x that enters the design curve, at a range per convolution."""
    s5, s6 = under["slope5"] * e, under["slope6"] * e
    # The curve wants Kg (Eo/Eb) St with the modulus at temperature in S5 and S6; both are
    # worked out with the room-temperature modulus here, so only pressure takes the ratio.
    x = setting.kg * (under["base"] * under["ratio"] + s5 + s6)
    return s5, s6, under["base"] + s5 + s6, x


def lives(setting: Setting, under: Row, e: Any, curve: FatigueCurve | None, mean: MeanCurve) -> Row:
    """Stresses of one range and the cycles that curves allow for it; NaN without a curve."""
    s5, s6, st, x = range_stress(setting, under, e)
    return {
        "S5": s5,
        "S6": s6,
        "St": st,
        "x": x,
        "design": fatigue.design_cycles(x, curve) if curve else np.full(np.shape(x), np.nan),
        "mean": fatigue.mean_cycles(st, setting.material_factor, mean),
        "low": np.asarray(fatigue.mean_cycles(x, 1.0, mean)) < fatigue.LEAST_TESTED,
    }


FIBRES = 24
"""Fibres round the circumference when movements lie in two planes: every 15 degrees, besides
those in the planes of each movement and of each two movements' difference."""


def _directions(travels: Sequence[Row], end: str, shaped: tuple[int, ...]) -> list[Any]:
    """Cosine and sine of the fibres to follow at one end of the bellows."""
    swings = [
        (np.broadcast_to(row[end], shaped), np.broadcast_to(row[end + "_across"], shaped))
        for row in travels
    ]
    flat = np.logical_and.reduce([across == 0.0 for _, across in swings])
    found: list[Any] = [(1.0, 0.0), (-1.0, 0.0)]
    if flat.all():
        return found
    quarter = np.arange(1, FIBRES // 4) * (2.0 * np.pi / FIBRES)
    round_ = [(np.cos(angle), np.sin(angle)) for angle in quarter] + [(0.0, 1.0)]
    for c, s in round_:
        # A bellows that moves in one plane has its worst fibres there, whatever moves in the
        # rows beside it.
        found += [
            (np.where(flat, 1.0, sign * c), np.where(flat, 0.0, other * s))
            for sign in (1.0, -1.0)
            for other in (1.0, -1.0)
        ]
    pairs = [swings[i] for i in range(len(swings))] + [
        (one[0] - other[0], one[1] - other[1])
        for i, one in enumerate(swings)
        for other in swings[:i]
    ]
    for first, second in pairs:
        size = np.hypot(first, second)
        there = (size > 0.0) & ~flat
        whole = np.where(there, size, 1.0)
        c, s = np.where(there, first / whole, 1.0), np.where(there, second / whole, 0.0)
        found += [(c, s), (-c, -s)]
    return found


def usage(
    setting: Setting,
    under: Row,
    travels: Sequence[Row],
    counts: Sequence[Real],
    curve: FatigueCurve | None,
) -> Any:
    """Damage sum on the worst fibre, cycles superposed first [-]; NaN where unknown.

    Fibres are followed round the circumference and at both ends of the bellows, since
    movements in different planes, or sideways and by an angle, tire different places.
    """
    nothing = np.full(np.shape(under["slope5"]), np.nan)
    if curve is None or not travels or not any(np.any(np.asarray(count) > 0.0) for count in counts):
        return nothing
    # whatever differs from case to case counts, so that directions can stand before it
    differs = (under["slope5"], under["base"], under["ratio"], setting.kg)
    shaped = np.broadcast(*differs, *(row["e"] for row in travels)).shape
    number = np.array([np.broadcast_to(np.asarray(count, float), shaped) for count in counts])
    total = np.zeros(shaped)
    # Without an angle the far end mirrors the near one: the same fibres on the other side.
    mirrored = all(
        np.array_equal(row["swing" + suffix], -row["swing_far" + suffix])
        for row in travels
        for suffix in ("", "_across")
    )
    for end in ENDS[:1] if mirrored else ENDS:
        # all fibres in one pass: directions stand before the cases
        ways = _directions(travels, end, shaped)
        c, s = (np.array([np.broadcast_to(way[k], shaped) for way in ways]) for k in (0, 1))
        positions = np.array(
            [
                np.broadcast_to(row["ex"] + c * row[end] + s * row[end + "_across"], c.shape)
                for row in travels
            ]
        )
        damage = np.zeros(c.shape)
        every = np.broadcast_to(number[:, None], positions.shape)
        for span, cycles in movements.superpose(positions, every):
            _, _, _, x = range_stress(setting, under, span)
            damage = damage + cycles / np.asarray(fatigue.design_cycles(x, curve))
        total = np.maximum(total, damage.max(axis=0))
    counted = number.sum(axis=0)
    known = np.isfinite(number).all(axis=0)
    for row in travels:
        _, _, _, x = range_stress(setting, under, row["e"])
        known = known & np.isfinite(x)
    return np.where(known & (counted > 0.0), total, np.nan)


def rates(setting: Setting, f: NewtonPerMetre) -> dict[str, Ratio]:
    """Rates of the joint from that of one convolution: axial, lateral, angular of one bellows."""
    b = setting.bellows
    return {
        "convolution_rate": f,
        "axial_rate": stiffness.axial(b, f, setting.shared),
        "lateral_rate": _choose(
            setting.universal,
            lambda: stiffness.lateral_universal(b, f, setting.over_both),
            lambda: _choose(
                setting.pair,
                lambda: stiffness.lateral_pair(b, f, setting.over_both),
                lambda: stiffness.lateral_single(b, f),
            ),
        ),
        "angular_rate": stiffness.angular(b, f),
    }
