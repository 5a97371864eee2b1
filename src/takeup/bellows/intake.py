"""From cases to arrays: refuse what cannot be true, mark what is unknown, read the metal."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from takeup import materials
from takeup.bellows.model import Assembly, Bellows, BellowsCase, Condition, Treatment
from takeup.errors import Contradiction, TakeupError, UnknownName, require_within
from takeup.materials import Alloy, Family
from takeup.sources import Source
from takeup.units import Array

ROOM = 294.2612
"""21 °C [K]: where room-temperature modulus is read."""
WHOSE = "the bellows engine"
MUST = ("inside_diameter", "height", "pitch", "convolutions", "plies", "ply_thickness")
MAY = ("tangent_length", "collar_length", "collar_thickness")
WORDS = {
    "inside_diameter": "inside diameter Db",
    "height": "convolution height w",
    "pitch": "pitch q",
    "convolutions": "number of convolutions N",
    "plies": "number of plies n",
    "ply_thickness": "ply thickness t",
    "torus_radius": "torus radius rm",
    "tangent_length": "tangent length Lt",
    "collar_length": "collar length Lc",
    "collar_thickness": "collar thickness tc",
    "material": "bellows alloy",
    "length_over_both": "length over both bellows",
    "heat_treatment": "heat treatment",
    "treatment": "heat treatment",
    "weld_factor": "longitudinal weld factor",
}


def refuse(case: BellowsCase) -> None:
    """Raise for a case that cannot be true; a field named in ``missing`` is not looked at."""
    known = frozenset(MUST).difference(case.missing)
    for name in MUST:
        value = getattr(case, name)
        if name in known and not 0.0 < value < math.inf:
            _refuse_number(case, name, value)
    for name in MAY:
        value = getattr(case, name)
        if name not in case.missing and not 0.0 <= value < math.inf:
            _refuse_number(case, name, value)
    for name in ("torus_radius", "weld_factor", "length_over_both", "yield_strength"):
        value = getattr(case, name)
        if value is not None and name not in case.missing and not 0.0 < value < math.inf:
            _refuse_number(case, name, value)
    if case.weld_factor is not None and case.weld_factor > 1.0:
        require_within("Weld factor", case.weld_factor, low=0.0, high=1.0, whose=WHOSE)
    if len(known) == len(MUST):
        _refuse_shape(case)
    seen = set()
    for condition in case.conditions:
        if not math.isfinite(condition.pressure) or not 0.0 < condition.temperature < 2000.0:
            _refuse_condition(condition)
        if condition.name.lower() in seen:
            raise Contradiction(f"condition {condition.name!r} is given twice; keep one")
        seen.add(condition.name.lower())
    seen = set()
    for move in case.movements:
        if not (
            math.isfinite(move.axial)
            and 0.0 <= move.lateral < math.inf
            and 0.0 <= move.angular < 1.0
            and 0.0 <= move.cycles < math.inf
        ):
            where = f"in movement {move.name!r}"
            require_within(f"Axial movement {where}", move.axial, unit="m", low=-1e3, whose=WHOSE)
            require_within(
                f"Lateral movement {where}", move.lateral, low=0.0, unit="m", whose=WHOSE
            )
            require_within(
                f"Angle {where}", move.angular, low=0.0, high=0.999, unit="rad", whose=WHOSE
            )
            require_within(f"Cycles {where}", move.cycles, low=0.0, whose=WHOSE)
        if move.name in seen:
            raise Contradiction(f"movement {move.name!r} is given twice; give each its own name")
        seen.add(move.name)


def _refuse_number(case: BellowsCase, name: str, value: float) -> None:
    least = 0.0 if name in MAY else 1e-12
    word = WORDS.get(name, name.replace("_", " "))
    require_within(
        word[0].upper() + word[1:],
        value,
        low=least,
        unit="" if name in {"convolutions", "plies", "weld_factor"} else "SI",
        whose=WHOSE,
        remedy=f"Correct it, or leave it unknown ({case.name or 'case without name'}).",
    )


def _refuse_condition(condition: Condition) -> None:
    where = f"of condition {condition.name!r}"
    require_within(f"Pressure {where}", condition.pressure, low=-1e12, unit="Pa", whose=WHOSE)
    require_within(
        f"Metal temperature {where}",
        condition.temperature,
        low=1.0,
        high=2000.0,
        unit="K",
        whose=WHOSE,
    )


def _refuse_shape(case: BellowsCase) -> None:
    assert case.height is not None
    radius = case.pitch / 4.0 if case.torus_radius is None else case.torus_radius
    wall = case.plies * case.ply_thickness
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
    length = case.convolutions * case.pitch
    both = case.length_over_both
    if case.assembly != Assembly.SINGLE and both is not None and both < 2.0 * length:
        raise Contradiction(
            f"length over both bellows {both:g} m is less than two bellows of N q = "
            f"{length:g} m; correct the length, the pitch or the convolutions"
        )
    if case.assembly == Assembly.SINGLE:
        for move in case.movements:
            if length + move.axial <= 0.0:
                raise Contradiction(
                    f"movement {move.name!r} compresses the bellows by {-move.axial * 1e3:g} mm; "
                    f"it is only {length * 1e3:g} mm long"
                )


Flags = NDArray[np.bool_]


class Metal(msgspec.Struct, frozen=True):
    """Properties of each (case, condition) pair, NaN where there is none."""

    allowable: Array
    modulus: Array
    yield_: Array
    bound: Flags
    """True where yield is only a lower bound."""
    source: dict[str, tuple[Source | None, ...]]
    fault: dict[str, tuple[str, ...]]


class Intake(msgspec.Struct, frozen=True):
    """Arrays over cases, over (case, condition) and over (case, movement)."""

    cases: Sequence[BellowsCase]
    bellows: Bellows
    alloys: tuple[Alloy | None, ...]
    room_modulus: Array
    tensile: Array
    nickel: Flags
    austenitic: Flags
    as_formed: Flags
    forming_factor: Array
    owner: Any
    """Case of each condition."""
    pressure: Array
    temperature: Array
    metal: Metal
    mover: Any
    """Case of each movement."""
    working: Any
    """Condition that stands under the movements of each case, or -1."""
    threshold: Array


def unknown(value: float, name: str, case: BellowsCase) -> float:
    """``value``, or NaN where the register did not know it."""
    return math.nan if name in case.missing else float(value)


def _metal(
    cases: Sequence[BellowsCase], names: list[str], owner: Any, temperature: Array
) -> tuple[Metal, Array]:
    count = len(temperature)
    values = {which: np.full(count, np.nan) for which in ("allowable", "modulus", "yield")}
    sources: dict[str, list[Source | None]] = {which: [None] * count for which in values}
    faults = {which: ["bellows alloy"] * count for which in values}
    bound = np.zeros(count, dtype=bool)
    room = np.full(len(cases), np.nan)
    owner_names = [names[at] for at in owner.tolist()]
    places: dict[str, list[int]] = {}
    for at, name in enumerate(owner_names):
        places.setdefault(name, []).append(at)
    rooms = {name: _room(name) for name in set(names) if name}
    for at, name in enumerate(names):
        if name:
            room[at] = rooms[name]
    for name, where in places.items():
        if not name:
            continue
        places_of = np.array(where, dtype=np.intp)
        for which, value in values.items():
            found = materials.many(name, which, temperature[places_of])
            value[places_of] = found.value
            for place, source, fault in zip(where, found.source, found.fault, strict=True):
                sources[which][place], faults[which][place] = source, fault
    lacking = np.isnan(values["yield"]) & np.isfinite(values["allowable"])
    if lacking.any():
        floor = materials.lower_bound_of_yield(values["allowable"][lacking])
        values["yield"][lacking], bound[lacking] = floor, True
        for place in np.flatnonzero(lacking).tolist():
            sources["yield"][place] = sources["allowable"][place]
    given = np.array([case.yield_strength or np.nan for case in cases])[owner]
    use = np.isfinite(given)
    values["yield"][use], bound[use] = given[use], False
    metal = Metal(
        values["allowable"],
        values["modulus"],
        values["yield"],
        bound,
        {which: tuple(found) for which, found in sources.items()},
        {which: tuple(found) for which, found in faults.items()},
    )
    return metal, room


def _room(name: str) -> float:
    try:
        return float(materials.modulus(name, ROOM).value)
    except TakeupError:
        return math.nan


def unknown_alloy(case: BellowsCase) -> str:
    """How a case without a known alloy is named."""
    if case.material and "material" not in case.missing:
        return f"alloy {case.material!r} (not in the tables)"
    return WORDS["material"]


def _working(case: BellowsCase) -> int:
    names = [condition.name.lower() for condition in case.conditions]
    for wanted in ("operating", "design"):
        if wanted in names:
            return names.index(wanted)
    return -1


def take(cases: Sequence[BellowsCase]) -> Intake:
    """Lay out cases that :func:`refuse` let pass as arrays."""

    def column(name: str) -> Array:
        return np.array([unknown(getattr(case, name), name, case) for case in cases])

    pitch = column("pitch")
    radius = np.array(
        [
            case.torus_radius
            if case.torus_radius is not None and "torus_radius" not in case.missing
            else math.nan
            for case in cases
        ]
    )
    bellows = Bellows(
        inside_diameter=column("inside_diameter"),
        height=column("height"),
        pitch=pitch,
        convolutions=column("convolutions"),
        plies=column("plies"),
        ply_thickness=column("ply_thickness"),
        torus_radius=np.where(np.isnan(radius), pitch / 4.0, radius),
        tangent_length=column("tangent_length"),
        collar_length=column("collar_length"),
        collar_thickness=column("collar_thickness"),
    )
    metals: list[Alloy | None] = []
    for case in cases:
        try:
            known = case.material and "material" not in case.missing
            metals.append(materials.alloy(case.material) if known else None)
        except UnknownName:
            metals.append(None)
    names = [metal.name if metal else "" for metal in metals]
    owner = np.array([at for at, case in enumerate(cases) for _ in case.conditions], dtype=np.intp)
    temperature = np.array([c.temperature for case in cases for c in case.conditions], dtype=float)
    metal, room = _metal(cases, names, owner, temperature)
    starts = np.cumsum([0] + [len(case.conditions) for case in cases])
    working = [_working(case) for case in cases]
    return Intake(
        cases=cases,
        bellows=bellows,
        alloys=tuple(metals),
        room_modulus=room,
        tensile=np.array([m.tensile if m else math.nan for m in metals]),
        nickel=np.array([bool(m and m.family == Family.NICKEL) for m in metals], dtype=bool),
        austenitic=np.array(
            [bool(m and m.family == Family.AUSTENITIC) for m in metals], dtype=bool
        ),
        as_formed=np.array(
            [
                case.treatment == Treatment.AS_FORMED
                and not {"treatment", "heat_treatment"} & set(case.missing)
                for case in cases
            ],
            dtype=bool,
        ),
        forming_factor=np.array([case.forming_factor or math.nan for case in cases]),
        owner=owner,
        pressure=np.array([c.pressure for case in cases for c in case.conditions], dtype=float),
        temperature=temperature,
        metal=metal,
        mover=np.array([at for at, c in enumerate(cases) for _ in c.movements], dtype=np.intp),
        working=np.array(
            [
                int(start) + at if at >= 0 else -1
                for start, at in zip(starts, working, strict=False)
            ],
            dtype=np.intp,
        ),
        threshold=np.array([m.creep_threshold if m else math.nan for m in metals]),
    )


def part(bellows: Bellows, at: Any) -> Bellows:
    """The bellows of the cases ``at``, repeated as asked."""
    fields = msgspec.structs.asdict(bellows)
    return Bellows(
        **{
            name: value if value is None or np.ndim(value) == 0 else np.asarray(value)[at]
            for name, value in fields.items()
        }
    )
