"""Life fraction in creep from hours at temperature and stress, by Larson-Miller and by Omega.

Two methods, both shown: neither is tuned to the other.  Hours are converted at this door only;
inside, rules speak the units their constants were fitted in (ksi, degrees Fahrenheit + 460, h).
"""

from __future__ import annotations

import csv
import functools
import importlib.resources
import math
from collections.abc import Sequence

import msgspec
import numpy as np

from takeup.checks import Check, LimitKind, Outcome, Quantity, compare
from takeup.errors import MissingInput, require_within
from takeup.materials import alloy
from takeup.sources import Source, Standing
from takeup.units import Array, Real

HOUR = 3600.0
_KSI = 6894757.293168
CAP = 300_000.0 * HOUR
"""Rupture data behind the curves seldom go beyond 1e5 h; a life beyond three times that says so"""
THRESHOLD_C = {"ferritic": 427.0, "austenitic": 510.0, "nickel": 565.0}
"""Below it creep is not counted, by family [C]; API 571 as remembered, nickel an assumption"""
LINEAR = Source(
    document="Robinson (1952)", at="sum of time over time to rupture", standing=Standing.MEMORY
)
WELD = Source(
    document="ASME B31.3", edition="2014 and later", at="302.3.5(e) and table 302.3.5, "
    "W falls in a line from 1 at 510 °C to 0.5 at 815 °C", standing=Standing.MEMORY,
)  # fmt: skip


class Curve(msgspec.Struct, frozen=True, kw_only=True):
    """Rupture over temperature and stress of one group of steels."""

    group: str
    a: tuple[float, float, float, float]
    c_mean: float
    c_minimum: float
    top: float
    """[K]; above it a result is screening"""
    stress: tuple[float, float]
    """Of the data, about [Pa]"""
    source: Source
    note: str


class Omega(msgspec.Struct, frozen=True, kw_only=True):
    """Constants of the Omega method."""

    group: str
    a: tuple[float, ...]
    b: tuple[float, ...]
    source: Source


class Spell(msgspec.Struct, frozen=True, kw_only=True):
    """Time spent at one temperature and stress."""

    time: float
    """[s]"""
    temperature: float
    """Of the metal [K]"""
    stress: float
    """Von Mises, without what relaxes [Pa]"""


class Creep(msgspec.Struct, frozen=True, kw_only=True):
    """Life used and left in one metal, by each method."""

    metal: str
    weld: bool
    used_mean: float
    """Life fraction by the mean rupture line"""
    used_minimum: float
    """By the minimum line"""
    used_omega: tuple[float, float, float] | None
    """By Omega with scatter -0.5, 0 and +0.5; none without public constants"""
    left: tuple[float, float, float]
    """Time left at the last spell's state, at 5, 50 and 95 % of scatter; capped [s]"""
    capped: bool
    screening: tuple[str, ...]
    """Why the result is no more than screening, if so"""
    check: Check


def _rows(file: str) -> list[dict[str, str]]:
    text = importlib.resources.files("takeup.ageing").joinpath(file).read_text("utf-8")
    return list(csv.DictReader(text.splitlines()))


@functools.cache
def _curves() -> dict[str, Curve]:
    found = {}
    for row in _rows("creep_larson_miller.csv"):
        made = Curve(
            group=row["group"],
            a=(float(row["a0"]), float(row["a1"]), float(row["a2"]), float(row["a3"])),
            c_mean=float(row["c_mean"]),
            c_minimum=float(row["c_minimum"]),
            top=float(row["top_C"]) + 273.15,
            stress=(float(row["stress_low_ksi"]) * _KSI, float(row["stress_high_ksi"]) * _KSI),
            source=Source(
                document=row["source"], at=row["group"], standing=Standing[row["standing"]]
            ),
            note=row["note"],
        )
        for name in row["alloys"].split(";"):
            found[name] = made
    return found


@functools.cache
def _omegas() -> dict[str, Omega]:
    found = {}
    for row in _rows("creep_omega.csv"):
        made = Omega(
            group=row["group"],
            a=tuple(float(row[f"a{i}"]) for i in range(5)),
            b=tuple(float(row[f"b{i}"]) for i in range(5)),
            source=Source(
                document=row["source"], at=row["group"], standing=Standing[row["standing"]]
            ),
        )
        for name in row["alloys"].split(";"):
            found[name] = made
    return found


def curve(name: str) -> Curve:
    """Rupture curve of alloy ``name``; raises :class:`MissingInput` where none is public."""
    known = alloy(name).name
    found = _curves().get(known)
    if found is None:
        raise MissingInput(
            f"creep life of {known}", ["a rupture curve (Larson-Miller) for it, with its source"]
        )
    return found


def rupture(of: Curve, stress: Real, temperature: Real, *, minimum: bool = False) -> Array:
    """Time to rupture [s] by Larson-Miller at ``stress`` [Pa] and ``temperature`` [K]."""
    require_within("Stress", stress, low=1.0, unit="Pa", whose="Larson-Miller")
    require_within("Temperature", temperature, low=400.0, high=1500.0, unit="K",
                   whose="Larson-Miller")  # fmt: skip
    s = np.log10(np.asarray(stress, dtype=float) / _KSI)
    parameter = of.a[0] + of.a[1] * s + of.a[2] * s**2 + of.a[3] * s**3
    rankine = (np.asarray(temperature, dtype=float) - 273.15) * 1.8 + 32.0 + 460.0
    exponent = parameter / rankine - (of.c_minimum if minimum else of.c_mean)
    return np.asarray(HOUR * 10.0 ** np.minimum(exponent, 30.0))


def omega_life(
    of: Omega, stress: Real, temperature: Real, *, scatter: float = 0.0, triaxial: float = 0.0,
    shape: float = 2.0,
) -> Array:  # fmt: skip
    """Life [s] by Omega; ``shape`` 2 for cylinder and cone, 3 sphere, 1 other.

    ``triaxial`` is 0.33 ((s1 + s2 + s3) / se - 1); ``scatter`` the shift of the strain rate.
    """
    s = np.log10(np.asarray(stress, dtype=float) / _KSI)
    t = (np.asarray(temperature, dtype=float) - 273.15) * 1.8 + 32.0 + 460.0
    a, b = of.a, of.b
    rate = -((a[0] + scatter) + (a[1] + a[2] * s + a[3] * s**2 + a[4] * s**3) / t)
    big = 10.0 ** (b[0] + (b[1] + b[2] * s + b[3] * s**2 + b[4] * s**3) / t)
    power = -(a[2] + 2.0 * a[3] * s + 3.0 * a[4] * s**2) / t
    uniaxial = np.maximum(big - power, 3.0)
    damage = uniaxial ** (triaxial + 1.0) + shape * power
    return np.asarray(HOUR / (10.0**rate * damage))


def weld_factor(temperature: Real) -> Array:
    """Weld joint strength reduction factor W [-] at ``temperature`` [K]; 1 below 510 °C.

    The general line of the code; Cr-Mo and other rows are not told apart here.
    """
    t = np.asarray(temperature, dtype=float) - 273.15
    return np.asarray(np.clip(1.0 - 0.5 * (t - 510.0) / (815.0 - 510.0), 0.5, 1.0))


def creep(name: str, spells: Sequence[Spell], *, weld: bool = False, to_come: float = 0.0) -> Creep:
    """Life used by ``spells`` in alloy ``name`` and left at the state of the last one.

    ``weld`` divides the stress by the code's weld factor; base metal and weld are judged
    separately.  The check asks whether the minimum line outlasts what was run and ``to_come``
    [s] at the last state.  Raises :class:`MissingInput` without a curve or spells.
    """
    if not spells:
        raise MissingInput(f"creep life of {name}", ["hours at temperature and stress"])
    of, known = curve(name), alloy(name)
    time = np.array([one.time for one in spells])
    hot = np.array([one.temperature for one in spells])
    stress = np.array([one.stress for one in spells])
    require_within("Time at temperature", time, low=0.0, unit="s", whose="life fraction")
    if weld:
        stress = stress / weld_factor(hot)
    threshold = THRESHOLD_C[known.family.value] + 273.15
    counted = (hot >= threshold) & (stress > 0.0)
    safe = np.maximum(stress, 1.0)
    mean = rupture(of, safe, hot)
    least = rupture(of, safe, hot, minimum=True)
    used = float(np.sum((time / mean)[counted])), float(np.sum((time / least)[counted]))
    by_omega = _omegas().get(known.name)
    fractions = None
    if by_omega is not None:
        parts = [
            float(np.sum((time / omega_life(by_omega, safe, hot, scatter=shift))[counted]))
            for shift in (-0.5, 0.0, 0.5)
        ]
        fractions = (parts[0], parts[1], parts[2])
    last = counted[-1]
    # the minimum line is taken as the 95 % line of a normal spread of lg t
    lower, middle = used[1], used[0]
    ends = []
    for share, whole in ((lower, least[-1]), (middle, mean[-1])):
        ends.append(max(0.0, 1.0 - share) * float(whole) if last else math.inf)
    factor = float(mean[-1] / least[-1])
    upper = max(0.0, 1.0 - middle / factor) * float(mean[-1]) * factor if last else math.inf
    screening = _screening(of, hot[counted], stress[counted])
    left = tuple(min(one, CAP) for one in (*ends, upper))
    total = used[1] + (to_come / float(least[-1]) if last else 0.0)
    return Creep(
        metal=known.name,
        weld=weld,
        used_mean=used[0],
        used_minimum=used[1],
        used_omega=fractions,
        left=(left[0], left[1], left[2]),
        capped=any(one >= CAP for one in (*ends, upper)),
        screening=screening,
        check=_check(known.name, weld=weld, total=total, of=of, screening=screening, spells=spells),
    )


def _screening(of: Curve, hot: Array, stress: Array) -> tuple[str, ...]:
    said = [of.note] if of.note else []
    if hot.size and hot.max() > of.top:
        said.append(
            f"{hot.max() - 273.15:.0f} °C lies above the end of the curve ({of.top - 273.15:.0f} °C)"
        )
    if stress.size and (stress.min() < of.stress[0] or stress.max() > of.stress[1]):
        said.append(
            f"stress lies outside about {of.stress[0] / 1e6:.0f} to {of.stress[1] / 1e6:.0f} MPa "
            "that the data cover"
        )
    return tuple(said)


def _check(
    name: str, *, weld: bool, total: float, of: Curve, screening: tuple[str, ...],
    spells: Sequence[Spell],
) -> Check:  # fmt: skip
    made = compare(
        id=f"creep.{'weld' if weld else 'base'}",
        name=f"Creep life fraction of the {'weld' if weld else 'base metal'} ({name})",
        demand=total,
        capacity=1.0,
        kind="ratio",
        source=of.source,
        limit_kind=LimitKind.PUBLISHED,
        valid=f"to {of.top - 273.15:.0f} °C; life fractions add up in a line ({LINEAR.document})",
        inputs=(
            Quantity(name="time at temperature", value=sum(s.time for s in spells), kind="hours"),
            Quantity(name="hottest", value=max(s.temperature for s in spells), kind="temperature"),
            Quantity(name="largest stress", value=max(s.stress for s in spells), kind="stress"),
        ),
        cautions=tuple(f"screening only: {one}" for one in screening),
    )
    if made.outcome == Outcome.NOT_MET:
        return msgspec.structs.replace(
            made, because="by the minimum rupture line the life is used; look for creep damage "
            "by replica and thickness before it is relied on",
        )  # fmt: skip
    return made
