"""From cases to arrays: mark what is unknown, read the metals."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from takeup import materials
from takeup.bellows import stability
from takeup.bellows.model import (
    Assembly,
    Bellows,
    BellowsCase,
    Convolution,
    Movement,
    Role,
    Side,
    Treatment,
)
from takeup.bellows.refusing import COMMON, MAY, TWO, WORDS, unknown
from takeup.bellows.setting import Metals, Setting
from takeup.errors import TakeupError, UnknownName
from takeup.materials import Alloy, Family
from takeup.sources import Source
from takeup.units import Array

ROOM = 294.2612
"""21 °C [K]: where room-temperature modulus is read."""
Flags = NDArray[np.bool_]
METALS = ("allowable", "modulus", "yield")
PARTS = ("collar", "ring", "fastener")


class Provenance(msgspec.Struct, frozen=True):
    """Where each property of each (case, condition) pair comes from, or why there is none."""

    bound: Flags
    """True where yield is only a lower bound."""
    source: dict[str, tuple[Source | None, ...]]
    fault: dict[str, tuple[str, ...]]


class Intake(msgspec.Struct, frozen=True):
    """Arrays over cases, over (case, condition) and over (case, movement)."""

    cases: Sequence[BellowsCase]
    setting: Setting
    alloys: tuple[Alloy | None, ...]
    owner: Any
    """Case of each condition."""
    pressure: Array
    temperature: Array
    metals: Metals
    metal: Provenance
    mover: Any
    """Case of each movement."""
    slot: Any
    """Place of each movement within its case."""
    working: Any
    """Condition that stands under the movements of each case, or -1."""


class Found(msgspec.Struct, frozen=True):
    """One property of many conditions."""

    value: Array
    source: list[Source | None]
    fault: list[str]


def _look_up(names: Sequence[str], temperature: Array, which: str, lacking: str) -> Found:
    """A property by alloy name and temperature; without a name it is NaN and says ``lacking``."""
    count = len(temperature)
    found = Found(np.full(count, np.nan), [None] * count, [lacking] * count)
    places: dict[str, list[int]] = {}
    for at, name in enumerate(names):
        if name:
            places.setdefault(name, []).append(at)
    for name, where in places.items():
        index = np.array(where, dtype=np.intp)
        read = materials.many(name, which, temperature[index])
        found.value[index] = read.value
        for place, source, fault in zip(where, read.source, read.fault, strict=True):
            found.source[place], found.fault[place] = source, fault
    return found


def _give(found: Found, given: Array) -> Flags:
    """Put the user's own values in; returns where."""
    use = np.isfinite(given)
    found.value[use] = given[use]
    for place in np.flatnonzero(use).tolist():
        found.source[place], found.fault[place] = None, ""
    return np.asarray(use)


def known_alloy(name: str) -> str:
    """The alloy's name in the tables, or nothing."""
    try:
        return materials.alloy(name).name if name else ""
    except UnknownName:
        return ""


def _metals(
    cases: Sequence[BellowsCase], names: list[str], owner: Any, temperature: Array
) -> tuple[Metals, Provenance]:
    owners = owner.tolist()
    at_name = [names[at] for at in owners]
    found = {which: _look_up(at_name, temperature, which, "bellows alloy") for which in METALS}
    conditions = [condition for case in cases for condition in case.conditions]
    allowable_given = _give(
        found["allowable"], np.array([c.allowable_stress or np.nan for c in conditions])
    )
    _give(found["modulus"], np.array([c.modulus or np.nan for c in conditions]))
    lacking = np.isnan(found["yield"].value) & np.isfinite(found["allowable"].value)
    bound = np.zeros(len(temperature), dtype=bool)
    if lacking.any():
        floor = materials.lower_bound_of_yield(found["allowable"].value[lacking])
        found["yield"].value[lacking], bound[lacking] = floor, True
        for place in np.flatnonzero(lacking).tolist():
            found["yield"].source[place] = found["allowable"].source[place]
    given = np.array([case.yield_strength or np.nan for case in cases])[owner]
    yield_given = np.isfinite(given)
    found["yield"].value[yield_given], bound[yield_given] = given[yield_given], False
    parts: dict[str, Array] = {}
    for part in PARTS:
        words = f"{part} metal"
        named = [known_alloy(getattr(case, f"{part}_material")) for case in cases]
        wanted = [
            f"{words} {case_name!r} (not in the tables)"
            if (case_name := getattr(case, f"{part}_material"))
            else words
            for case in cases
        ]
        for which in ("allowable", "modulus"):
            read = _look_up([named[at] for at in owners], temperature, which, words)
            for place, at in enumerate(owners):
                if not named[at]:
                    read.fault[place] = wanted[at]
            if part == "fastener" and which == "allowable":
                _give(read, np.array([case.fastener_allowable or np.nan for case in cases])[owner])
            found[f"{part}_{which}"] = read
            parts[f"{part}_{which}"] = read.value
    # A collar of unknown metal is as stiff as the bellows' own, so that S1 can be worked out.
    own = np.isnan(parts["collar_modulus"])
    parts["collar_modulus"][own] = found["modulus"].value[own]
    return (
        Metals(
            allowable=found["allowable"].value,
            modulus=found["modulus"].value,
            yield_strength=found["yield"].value,
            yield_given=yield_given,
            allowable_given=allowable_given,
            **parts,
        ),
        Provenance(
            bound,
            {which: tuple(one.source) for which, one in found.items()},
            {which: tuple(one.fault) for which, one in found.items()},
        ),
    )


def room_modulus(name: str) -> float:
    """Elastic modulus of an alloy at room temperature [Pa]; NaN where there is no table."""
    try:
        return float(materials.modulus(name, ROOM).value)
    except TakeupError:
        return math.nan


def unknown_alloy(case: BellowsCase) -> str:
    """How a case without a known alloy is named."""
    if case.material and "material" not in case.missing:
        return f"alloy {case.material!r} (not in the tables)"
    return WORDS["material"]


def working_condition(case: BellowsCase) -> int:
    """Place of the condition that stands under the movements, or -1."""
    names = [condition.name.lower() for condition in case.conditions]
    for wanted in ("operating", "design"):
        if wanted in names:
            return names.index(wanted)
    return -1


def geometry_of(cases: Sequence[BellowsCase]) -> Bellows:
    """The bellows of the cases as arrays, NaN where unknown."""

    def column(name: str, otherwise: float = math.nan) -> Array:
        return np.array(
            [
                otherwise
                if name in case.missing or getattr(case, name) is None
                else getattr(case, name)
                for case in cases
            ],
            dtype=float,
        )

    found = {name: column(name) for name in (*COMMON, *MAY)}
    torus = np.array([case.convolution == Convolution.TOROIDAL for case in cases], dtype=bool)
    radius = column("torus_radius")
    wall = found["plies"] * found["ply_thickness"]
    mean = column("mean_diameter") - found["inside_diameter"] - wall
    tube = column("tube_diameter")
    return Bellows(
        **found,
        height=np.where(torus, mean, column("height")),
        torus_radius=np.where(np.isnan(radius) & ~torus, found["pitch"] / 4.0, radius),
        tube_diameter=np.where(np.isnan(tube), found["inside_diameter"], tube),
        thinnest_ply=column("thinnest_ply", math.inf),
        ring_area=column("ring_area"),
    )


def universal(case: BellowsCase) -> bool:
    """Whether lateral movement is taken by two bellows and a spool without pins."""
    if case.assembly == Assembly.BALANCED_ELBOW:
        return case.role == Role.FLOW and case.length_over_both is not None
    return case.assembly in {Assembly.UNIVERSAL, Assembly.PANTOGRAPH}


def end_factor(case: BellowsCase) -> float:
    """Share of the fixed-end squirm pressure by how the ends of one bellows are held."""
    if case.ends is not None:
        return stability.ENDS[case.ends]
    free = case.assembly == Assembly.UNIVERSAL and not case.spool_held
    return stability.GUIDED if free else stability.HELD


def _setting(cases: Sequence[BellowsCase], alloys: Sequence[Alloy | None]) -> Setting:
    def flags(asked: Callable[[BellowsCase], bool]) -> Flags:
        return np.array([asked(case) for case in cases], dtype=bool)

    def numbers(of: Callable[[BellowsCase], float]) -> Array:
        return np.array([of(case) for case in cases], dtype=float)

    def family(wanted: Family) -> Flags:
        return np.array([bool(m and m.family == wanted) for m in alloys], dtype=bool)

    rooms = {m.name: room_modulus(m.name) for m in alloys if m}
    austenitic = family(Family.AUSTENITIC)
    return Setting(
        bellows=geometry_of(cases),
        nickel=family(Family.NICKEL),
        austenitic=austenitic,
        as_formed=flags(
            lambda case: (
                case.treatment == Treatment.AS_FORMED
                and not {"treatment", "heat_treatment"} & set(case.missing)
            )
        ),
        forming_factor=numbers(lambda case: case.forming_factor or math.nan),
        weld_factor=numbers(lambda case: case.weld_factor or 1.0),
        tensile=np.array([m.tensile if m else math.nan for m in alloys]),
        room_modulus=np.array(
            [
                case.room_modulus or (rooms[m.name] if m else math.nan)
                for case, m in zip(cases, alloys, strict=True)
            ]
        ),
        threshold=np.array([m.creep_threshold if m else math.nan for m in alloys]),
        kg=numbers(lambda case: case.kg or 1.0),
        ctheta=numbers(lambda case: case.ctheta or 1.0),
        kr=numbers(lambda case: case.kr or 1.0),
        material_factor=np.where(
            np.isnan(numbers(lambda case: case.material_factor or math.nan)),
            np.where(austenitic, 1.0, math.nan),
            numbers(lambda case: case.material_factor or math.nan),
        ),
        ends=numbers(end_factor),
        shared=numbers(lambda case: 2.0 if case.assembly in TWO or universal(case) else 1.0),
        sign=numbers(lambda case: -1.0 if _balancing(case) else 1.0),
        universal=flags(universal),
        pair=flags(lambda case: case.assembly == Assembly.PAIR),
        balancing=flags(_balancing),
        over_both=numbers(
            lambda case: (
                math.nan
                if case.length_over_both is None or "length_over_both" in case.missing
                else case.length_over_both
            )
        ),
        outside=flags(lambda case: case.pressurised == Side.OUTSIDE),
    )


def _balancing(case: BellowsCase) -> bool:
    return case.role == Role.BALANCING and case.assembly in {
        Assembly.BALANCED_ELBOW,
        Assembly.BALANCED_INLINE,
    }


def movements_of(moves: Sequence[Movement]) -> Movement:
    """Many movements as one of arrays."""

    def column(name: str) -> Any:
        return np.array([getattr(move, name) for move in moves], dtype=float)

    names = ("axial", "lateral", "angular", "lateral_across", "angular_across", "cycles", "done")
    return Movement(name="all", **{name: column(name) for name in names})


def take(cases: Sequence[BellowsCase]) -> Intake:
    """Lay out cases that :func:`takeup.bellows.refusing.refuse` let pass as arrays."""
    metals: list[Alloy | None] = []
    for case in cases:
        known = "" if "material" in case.missing else known_alloy(case.material)
        metals.append(materials.alloy(known) if known else None)
    names = [metal.name if metal else "" for metal in metals]
    owner = np.array([at for at, case in enumerate(cases) for _ in case.conditions], dtype=np.intp)
    temperature = np.array([c.temperature for case in cases for c in case.conditions], dtype=float)
    values, provenance = _metals(cases, names, owner, temperature)
    starts = np.cumsum([0] + [len(case.conditions) for case in cases])
    working = [working_condition(case) for case in cases]
    return Intake(
        cases=cases,
        setting=_setting(cases, metals),
        alloys=tuple(metals),
        owner=owner,
        pressure=np.array([c.pressure for case in cases for c in case.conditions], dtype=float),
        temperature=temperature,
        metals=values,
        metal=provenance,
        mover=np.array([at for at, c in enumerate(cases) for _ in c.movements], dtype=np.intp),
        slot=np.array([k for c in cases for k, _ in enumerate(c.movements)], dtype=np.intp),
        working=np.array(
            [
                int(start) + at if at >= 0 else -1
                for start, at in zip(starts, working, strict=False)
            ],
            dtype=np.intp,
        ),
    )


__all__ = ["WORDS", "Intake", "take", "unknown", "unknown_alloy"]
