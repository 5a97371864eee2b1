"""Hours at temperature of the metals of a joint: from histories, else from what is on record.

A history that does not reach back to the start of service is taken to speak for the years
before it as well; with no history the recorded temperature is taken to have stood for all years
in service (both engineering assumptions, and said where they are used).  A joint of unknown age
has no such years, so that nothing is shown not to have happened.
"""

from __future__ import annotations

import datetime as dt
import functools

import msgspec
import numpy as np

from takeup.ageing.metallurgy import Condition, Soak
from takeup.assess.model import Evaluation, JointCase
from takeup.assess.reading import age_years, metal_temperature, renewed
from takeup.checks import Strength
from takeup.evidence.model import DailyTemperature
from takeup.register.entities import HardwareKind, HeatTreatment, Wall, YesNo
from takeup.units import DAY

STEP = 10.0
"""Width of a class of temperature [K]"""
YEAR = 365.25 * DAY
_EPOCH = dt.date(1970, 1, 1)


class Metal(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """One metal of a joint and the time it spent at temperature."""

    place: str
    """In words: bellows A, pipe, ring R1"""
    id: str
    alloy: str
    """As on record; empty where it is not"""
    known: tuple[Soak, ...]
    """Measured"""
    whole: tuple[Soak, ...]
    """With the years that nothing measured, by assumption"""
    aged: bool
    """Whether the years in service are known"""
    where: str
    """What the hours rest on, in words"""
    strength: Strength
    evidence: tuple[str, ...]
    condition: Condition
    temperature: float | None
    """Now, or on record [K]"""


def metals(case: JointCase, evaluation: Evaluation) -> tuple[Metal, ...]:
    """Bellows, rings on hot pipe and hot pipe of a joint, with hours where there are any."""
    return (*_bellows(case, evaluation), *_rings(case), *_pipe(case))


def _bellows(case: JointCase, evaluation: Evaluation) -> list[Metal]:
    found = []
    for one in case.bellows:
        letter = one.letter
        since = renewed(case, letter)
        years = None if since is None else max(0.0, (case.today - since).days / 365.25)
        now, where, strength = metal_temperature(case, letter, evaluation.temperatures)
        cold_worked = None
        if one.heat_treatment is not None:
            cold_worked = one.heat_treatment == HeatTreatment.AS_FORMED
        known: tuple[Soak, ...] = ()
        evidence: tuple[str, ...] = (one.ref,)
        for other, tag, daily in case.temperatures:
            if other.casefold() != letter.casefold():
                continue
            first = 0 if since is None else (since - _EPOCH).days
            classes = _classes(daily, first, (case.today - _EPOCH).days)
            if sum(soak.time for soak in classes) > sum(soak.time for soak in known):
                known, evidence = classes, (f"temperature_series:{tag}", one.ref)
        whole, words = _whole(known, years, now, where)
        found.append(
            Metal(
                place=f"bellows {letter}",
                id=letter,
                alloy=one.material,
                known=known,
                whole=whole,
                aged=years is not None,
                where=words,
                strength=Strength.MEASURED if known else strength,
                evidence=evidence,
                condition=Condition(cold_worked=cold_worked),
                temperature=now,
            )
        )
    return found


def _whole(
    known: tuple[Soak, ...], years: float | None, now: float | None, where: str
) -> tuple[tuple[Soak, ...], str]:
    """Hours of all years in service, and what they rest on."""
    spent = sum(soak.time for soak in known)
    if known and years is None:
        return known, f"{spent / YEAR:.1f} years of history; years before it are not known"
    if known:
        assert years is not None
        share = max(1.0, years * YEAR / spent)
        whole = tuple(Soak(time=s.time * share, temperature=s.temperature) for s in known)
        told = f"{spent / YEAR:.1f} years of history"
        if share > 1.02:
            told += f", taken to speak for all {years:.1f} years in service"
        return whole, told
    if now is None:
        return (), "no temperature of this metal is known"
    if years is None:
        return (), f"{where}; years in service are not known"
    if years <= 0.0:
        return (), "not yet in service"
    return (
        (Soak(time=years * YEAR, temperature=now),),
        f"{where}, taken to have stood for all {years:.1f} years in service",
    )


def _rings(case: JointCase) -> list[Metal]:
    years = age_years(case)
    found = []
    for part in case.hardware:
        if part.kind != HardwareKind.RING or part.on_hot_pipe == YesNo.NO:
            continue
        whole, words = _whole((), years, part.temperature, "temperature of the ring on record")
        found.append(_recorded(f"ring {part.item}", part.item, part.material, whole, words,
                               part.ref, part.temperature, aged=years is not None))  # fmt: skip
    return found


def _pipe(case: JointCase) -> list[Metal]:
    """Pipe beside the joint; on a hot wall without a measured temperature as hot as its gas."""
    line, years = case.line, age_years(case)
    hot = case.joint.wall in {Wall.HOT, Wall.UNLINED}
    value, where = line.shell_temperature, "pipe metal temperature on record"
    if value is None and hot:
        value, where = line.gas_temperature, "gas temperature, as a hot wall has it"
    if not line.pipe_material and not hot:
        return []
    whole, words = _whole((), years, value, where)
    return [
        _recorded("pipe", "pipe", line.pipe_material, whole, words, line.ref, value,
                  aged=years is not None)
    ]  # fmt: skip


def _recorded(
    place: str, id: str, alloy: str, whole: tuple[Soak, ...], words: str, ref: str,
    temperature: float | None, *, aged: bool,
) -> Metal:  # fmt: skip
    return Metal(
        place=place,
        id=id,
        alloy=alloy,
        known=(),
        whole=whole,
        aged=aged,
        where=words,
        strength=Strength.RECORDED,
        evidence=(ref,),
        condition=Condition(),
        temperature=temperature,
    )


@functools.lru_cache(maxsize=64)
def _classes(daily: DailyTemperature, first: int, last: int) -> tuple[Soak, ...]:
    """Days by classes of their median, each at the upper end of its class: the hot side."""
    within = (daily.day >= first) & (daily.day <= last) & np.isfinite(daily.median)
    values = daily.median[within]
    if not values.size:
        return ()
    number, days = np.unique(np.ceil(values / STEP), return_counts=True)
    return tuple(
        Soak(time=float(count) * DAY, temperature=float(at) * STEP)
        for at, count in zip(number, days, strict=True)
    )
