"""Which numbers of a case a spread reaches, and the samples that no bellows could be."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from takeup import materials
from takeup.bellows import arrays, geometry, numbers
from takeup.bellows.arrays import Problem, State
from takeup.bellows.model import Bellows, BellowsCase, Condition, Convolution, Movement
from takeup.bellows.uncertainty import sampling
from takeup.bellows.uncertainty.model import (
    OF_BELLOWS,
    OF_CONDITION,
    OF_MOVEMENT,
    WORDS,
    Impossible,
    Spread,
)
from takeup.errors import Contradiction, MissingInput, UnknownName
from takeup.units import Array

Flags = NDArray[np.bool_]
Shift = dict[tuple[str, str], tuple[Spread, Array]]
"""By field and the condition or movement it belongs to ("" for the bellows): who moves it."""


def reached(case: BellowsCase, spread: Spread) -> list[tuple[str, str]]:
    """The numbers that a spread moves, as (field, condition or movement).

    Raises :class:`takeup.errors.UnknownName` for an input, condition or movement that is not
    there and :class:`takeup.errors.MissingInput` for a value that the case does not hold.
    """
    name, at, where = spread.input.partition("@")
    if name not in WORDS:
        raise UnknownName("input that can be spread", name, list(WORDS))
    if name in OF_CONDITION:
        names = [condition.name for condition in case.conditions]
    elif name in OF_MOVEMENT:
        names = [move.name for move in case.movements]
    else:
        names = [""]
    if at:
        if where not in names or name not in (*OF_CONDITION, *OF_MOVEMENT):
            what = "condition" if name in OF_CONDITION else "movement"
            raise UnknownName(f"{what} of the spread {spread.input!r}", where, names)
        names = [where]
    if not names:
        raise MissingInput(f"spread of {spread.words}", [f"a value for {spread.words}"])
    if name in (*OF_BELLOWS, "length_over_both") and _unknown(case, name):
        raise MissingInput(f"spread of {spread.words}", [spread.words])
    if name == "temperature" and spread.relative:
        raise Contradiction(
            f"the spread of {spread.words} is a share of its value; give an amount in kelvin"
        )
    if name == "modulus" and not at:
        names = [*names, ""]  # one metal: the modulus at room temperature moves with it
    return [(name, place) for place in names]


def _unknown(case: BellowsCase, name: str) -> bool:
    if name in case.missing:
        return True
    if name == "torus_radius":  # without one it is q/4
        return case.convolution == Convolution.TOROIDAL and case.torus_radius is None
    if name == "height" and case.convolution == Convolution.TOROIDAL:
        return True
    return getattr(case, name) is None


def shifts(case: BellowsCase, spreads: Sequence[Spread], u: Array) -> Shift:
    """Amounts by which each number of the case moves in each sample.

    Raises :class:`takeup.errors.Contradiction` where two spreads move one number.
    """
    found: Shift = {}
    for column, spread in enumerate(spreads):
        sampling.refuse(spread)
        moved = sampling.offsets(spread, u[:, column])
        for place in reached(case, spread):
            if place in found:
                raise Contradiction(
                    f"{spread.words} is spread twice, by {found[place][0].input!r} and by "
                    f"{spread.input!r}; keep one"
                )
            found[place] = (spread, moved)
    return found


def apply(shift: Shift, name: str, where: str, nominal: Any) -> Any:
    """``nominal`` moved by the spread that reaches it, if there is one."""
    if (name, where) not in shift:
        return nominal
    spread, moved = shift[name, where]
    return nominal * (1.0 + moved) if spread.relative else nominal + moved


def bellows(case: BellowsCase, base: Bellows, shift: Shift) -> Bellows:
    """Geometry of every sample.

    A torus radius that the case does not hold stays a quarter of the pitch of the sample; the
    tube before forming, unless it is spread itself, that of the inside diameter.
    """
    moved: dict[str, Any] = {}
    for name in OF_BELLOWS:
        if name != "mean_diameter" and (name, "") in shift:
            moved[name] = apply(shift, name, "", getattr(base, name))
    if case.tube_diameter is None and ("tube_diameter", "") not in shift:
        moved["tube_diameter"] = moved.get("inside_diameter", base.inside_diameter)
    changed = msgspec.structs.replace(base, **moved)
    if case.convolution == Convolution.TOROIDAL:
        if {"inside_diameter", "mean_diameter", "ply_thickness"} & {name for name, _ in shift}:
            mean = apply(shift, "mean_diameter", "", case.mean_diameter)
            wall = changed.plies * changed.ply_thickness
            return msgspec.structs.replace(changed, height=mean - changed.inside_diameter - wall)
    elif case.torus_radius is None or "torus_radius" in case.missing:
        radius = apply(shift, "torus_radius", "", changed.pitch / 4.0)
        return msgspec.structs.replace(changed, torus_radius=radius)
    return changed


def impossible(case: BellowsCase, b: Bellows, count: int) -> tuple[Flags, tuple[Impossible, ...]]:
    """Samples that contradict themselves, and how many for which reason.

    The reasons are those for which a single case is refused.
    """
    wall = b.plies * b.ply_thickness
    sizes = (
        b.inside_diameter, b.height, b.pitch, b.ply_thickness, b.torus_radius, b.thinnest_ply,
    )  # fmt: skip
    small = np.zeros(count, dtype=bool)
    for size in sizes:
        small |= np.asarray(size) <= 0.0
    reasons = {"a size of zero or less": small}
    room = b.torus_radius - wall / 2.0
    reasons["no inside radius: rm at most n t / 2"] = np.asarray(room) <= 0.0
    clear = np.asarray(b.pitch - 2.0 * b.torus_radius - wall)
    if case.convolution == Convolution.TOROIDAL:
        reasons["neighbouring tori overlap: q less than 2 r + n t"] = clear < 0.0
        mean = b.inside_diameter + b.height + wall
        reasons["torus closes over the bore: Dm at most 4 r"] = np.asarray(
            mean <= 4.0 * b.torus_radius
        )
    else:
        reasons["convolutions overlap: q at most 2 rm + n t"] = clear <= 0.0
        reasons["convolution lower than 2 rm"] = np.asarray(b.height < 2.0 * b.torus_radius)
    bad = np.zeros(count, dtype=bool)
    told = []
    for reason, flags in reasons.items():
        hit = np.broadcast_to(flags, (count,)) & ~bad
        bad |= hit
        if hit.any():
            told.append(Impossible(reason=reason, count=int(hit.sum())))
    return bad, tuple(told)


def sampled(
    case: BellowsCase, shift: Shift, count: int
) -> tuple[Problem, Flags, tuple[Impossible, ...]]:
    """The case as a problem of ``count`` samples, those that cannot be, and why."""
    whole = arrays.problem_for(case)
    setting = whole.setting
    here = bellows(case, setting.bellows, shift)
    bad, told = impossible(case, here, count)
    weld = apply(shift, "weld_factor", "", setting.weld_factor)
    heavy = np.broadcast_to((weld <= 0.0) | (weld > 1.0), (count,)) & ~bad
    if heavy.any():
        told = (*told, Impossible(reason="weld factor outside 0 to 1", count=int(heavy.sum())))
    setting = msgspec.structs.replace(
        setting,
        bellows=here,
        weld_factor=weld,
        over_both=apply(shift, "length_over_both", "", setting.over_both),
        room_modulus=apply(shift, "modulus", "", setting.room_modulus),
    )
    problem = msgspec.structs.replace(
        whole,
        setting=setting,
        states=tuple(
            _state(case, condition, state, shift)
            for condition, state in zip(case.conditions, whole.states, strict=True)
        ),
        movements=tuple(_movement(move, shift) for move in case.movements),
    )
    return problem, bad | heavy, told


TOUCHING = "touching@"
"""Start of the ids of the check that neighbouring convolutions keep apart."""


def touching(case: BellowsCase, problem: Problem) -> dict[str, Any]:
    """How much of the clear gap each movement closes, the installed set included, by id [-].

    Nothing for a torus: it closes at its neck, whose opening is not among the dimensions.
    """
    if case.convolution == Convolution.TOROIDAL:
        return {}
    setting = problem.setting
    found = {}
    with np.errstate(divide="ignore", invalid="ignore"):  # some samples cannot be
        gap = geometry.free_gap(setting.bellows)
        offset = numbers.travel(setting, problem.offset)
        for move in problem.movements:
            _, closed = numbers.together(numbers.travel(setting, move), offset)
            found[f"{TOUCHING}{move.name}"] = -closed / gap
    return found


def _movement(move: Movement, shift: Shift) -> Movement:
    """Every amount of the movement, moved; cycles do not fall below none."""
    found = {name: apply(shift, name, move.name, getattr(move, name)) for name in OF_MOVEMENT}
    found["cycles"] = np.maximum(0.0, found["cycles"]) + 0.0
    return msgspec.structs.replace(move, **found)


def _state(case: BellowsCase, condition: Condition, state: State, shift: Shift) -> State:
    """The condition in every sample; a temperature that moves takes the metals with it."""
    where = condition.name
    found = state
    if ("temperature", where) in shift:
        temperature = np.asarray(apply(shift, "temperature", where, condition.temperature))
        found = _metals_at(case, condition, state, temperature)
    return msgspec.structs.replace(
        found,
        pressure=apply(shift, "pressure", where, found.pressure),
        allowable=apply(shift, "allowable_stress", where, found.allowable),
        modulus=apply(shift, "modulus", where, found.modulus),
        yield_strength=apply(shift, "yield_strength", where, found.yield_strength),
    )


def _metals_at(case: BellowsCase, condition: Condition, state: State, temperature: Array) -> State:
    """Strength and stiffness at sampled temperatures; NaN outside a table."""

    def read(name: str, which: str) -> Array:
        try:
            return materials.values(name, which, temperature)
        except UnknownName:
            return np.full(len(temperature), np.nan)

    name = "" if "material" in case.missing else case.material
    allowable = state.allowable if condition.allowable_stress else read(name, "allowable")
    modulus = state.modulus if condition.modulus else read(name, "modulus")
    strength, bound = state.yield_strength, state.yield_bound
    if case.yield_strength is None:
        strength = read(name, "yield")
        lacking = np.isnan(strength) & np.isfinite(allowable)
        strength = np.where(lacking, materials.lower_bound_of_yield(allowable), strength)
        bound = lacking
    parts: dict[str, Any] = {}
    for part in ("collar", "ring", "fastener"):
        metal = getattr(case, f"{part}_material")
        parts[f"{part}_allowable"] = read(metal, "allowable")
        parts[f"{part}_modulus"] = read(metal, "modulus")
    if case.fastener_allowable is not None:
        parts["fastener_allowable"] = state.fastener_allowable
    stiff = parts["collar_modulus"]
    parts["collar_modulus"] = np.where(np.isnan(stiff), modulus, stiff)
    return msgspec.structs.replace(
        state,
        temperature=temperature,
        allowable=allowable,
        modulus=modulus,
        yield_strength=strength,
        yield_bound=bound,
        **parts,
    )


def held(case: BellowsCase, shift: Shift) -> tuple[str, ...]:
    """Inputs that the case holds and no spread moves, in words."""
    found = []
    for name, words in WORDS.items():
        if name in OF_CONDITION:
            places = [condition.name for condition in case.conditions]
        elif name in OF_MOVEMENT:
            places = [move.name for move in case.movements if getattr(move, name)]
        else:
            value = getattr(case, name)
            places = [""] if value and name not in case.missing else []
        still = [place for place in places if (name, place) not in shift]
        if not still:
            continue
        found.append(words if still == [""] or len(still) == len(places) else
                     f"{words} ({', '.join(still)})")  # fmt: skip
    return tuple(found)


def cautions(case: BellowsCase, shift: Shift) -> tuple[str, ...]:
    """What does not follow a temperature that moves."""
    found = []
    for condition in case.conditions:
        if ("temperature", condition.name) not in shift:
            continue
        fixed = [
            words
            for words, value in (
                ("allowable stress", condition.allowable_stress),
                ("elastic modulus", condition.modulus),
                ("yield strength", case.yield_strength),
            )
            if value is not None
        ]
        if fixed:
            found.append(
                f"At {condition.name} {' and '.join(fixed)} given by hand do not move with the "
                "metal temperature."
            )
    return tuple(found)
