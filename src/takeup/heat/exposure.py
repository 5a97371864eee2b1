"""What wets and cracks a bellows: polythionic acid at shutdown, chlorides, salts, by alloy.

Each question becomes a check with the four outcomes.  A condition that is not known leaves
the check open; it is never taken as absent.
"""

from __future__ import annotations

import csv
import functools
from enum import StrEnum
from importlib import resources
from typing import Annotated

import msgspec

from takeup.checks import (
    Check,
    Ground,
    LimitKind,
    Outcome,
    Quantity,
    Strength,
    compare,
    does_not_apply,
)
from takeup.errors import MissingInput, UnknownName
from takeup.fields import number, words
from takeup.heat.dew_model import DewReport
from takeup.sources import Source, Standing

SCREEN = Source(document="API RP 571", at="damage mechanisms by alloy and temperature",
                standing=Standing.MEMORY)  # fmt: skip
SHUTDOWN = Source(document="NACE/AMPP SP0170",
                  at="protection of austenitic equipment from polythionic acid at shutdown",
                  standing=Standing.MEMORY)  # fmt: skip
SCOPE = Source(document="NACE/AMPP SP0170",
               at="scope: sulphide scale, oxygen and water make the acid; material, no oxygen, "
               "no water, or alkaline wash prevent it", standing=Standing.READ)  # fmt: skip
SERVICES = Source(document="Takeup", at="what reaches a bellows by service; the site confirms",
                  standing=Standing.ASSUMPTION)  # fmt: skip
CHLORIDE_FROM = 333.15
"""Metal temperature [K] from which chlorides crack 300-series (60 °C)."""
DRY_ABOVE = 55.0
"""Metal this far above the water dew point stays dry [K]."""
DRY_AIR = 258.15
"""Dew point of air [K] that keeps scale dry (-15 °C)."""
NOT_WASHED = (
    "Convolutions, spaces between plies and packed cavities cannot be washed with certainty: for "
    "a packed joint stay hot and dry, blanket with nitrogen, and choose the alloy."
)
FOUR = ("sensitised metal", "sulphide scale", "oxygen (opened to air)", "liquid water")


class Answer(StrEnum):
    """Yes, no, or not known."""

    UNKNOWN = "not known"
    YES = "yes"
    NO = "no"


class Wash(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An alkaline wash before opening."""

    soda_ash: Annotated[float, number("share", "Soda ash by mass", ge=0, le=0.2)] | None = None
    ph: Annotated[float, number("ratio", "pH of the return", ge=0, le=14)] | None = None
    chloride: (
        Annotated[float, number("trace", "Chloride in the solution", ge=0, le=0.05)] | None
    ) = None
    contact: Annotated[float, number("hours", "Contact", ge=0)] | None = None
    rinsed: Annotated[Answer, words("Rinsed off afterwards")] = Answer.UNKNOWN


class Exposure(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A bellows and what may reach it; unknown is ``not known``, never no."""

    alloy: Annotated[str, words("Bellows, alloy", "Blank: that of the wall", refers="alloy")] = ""
    service: Annotated[str, words("Service", "For what usually reaches the bellows")] = ""
    sensitised: Annotated[Answer, words("Metal sensitised")] = Answer.UNKNOWN
    sulphides: Annotated[Answer, words("Sulphide scale")] = Answer.UNKNOWN
    opened: Annotated[Answer, words("Opened to air at shutdown")] = Answer.UNKNOWN
    wet: Annotated[Answer, words("Wet at shutdown")] = Answer.UNKNOWN
    nitrogen: Annotated[Answer, words("Kept under nitrogen")] = Answer.UNKNOWN
    wash: Wash | None = None
    chlorides: Annotated[Answer, words("Chlorides reach it")] = Answer.UNKNOWN
    shutdown_metal: (
        Annotated[float, number("temperature", "Lowest metal temperature at shutdown", gt=0)] | None
    ) = None
    shutdown_dew: (
        Annotated[float, number("temperature", "Dew point of the air let in", gt=0)] | None
    ) = None
    metal_low: Annotated[float, number("temperature", "Coldest metal in service", gt=0)] | None = (
        None
    )
    metal_high: Annotated[float, number("temperature", "Hottest metal in service", gt=0)] | None = (
        None
    )


class ExposureReport(msgspec.Struct, frozen=True, kw_only=True):
    """What was asked and what came out."""

    exposure: Exposure
    checks: tuple[Check, ...]
    grounds: tuple[Ground, ...]
    cautions: tuple[str, ...]
    missing: tuple[str, ...]


class Service(msgspec.Struct, frozen=True):
    """What usually reaches a bellows in a service, in words: yes, no, possible, or from where."""

    service: str
    sulphides: str
    chlorides: str
    ammonia: str
    note: str


def _rows(file: str) -> list[dict[str, str]]:
    text = resources.files("takeup.heat").joinpath("data", file).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


@functools.cache
def services() -> dict[str, Service]:
    """Services by name."""
    return {row["service"]: Service(**row) for row in _rows("exposure_services.csv")}


@functools.cache
def _groups() -> dict[str, str]:
    return {row["alloy"]: row["group"] for row in _rows("exposure_groups.csv")}


@functools.cache
def _mechanisms() -> dict[str, dict[str, str]]:
    return {row["mechanism"]: row for row in _rows("exposure_alloys.csv")}


def susceptibility(alloy_name: str, mechanism: str) -> tuple[str, str]:
    """``S`` susceptible, ``c`` conditional, ``R`` resistant or empty where unknown; and a note.

    Ferritic steel gives ``R`` for polythionic acid and chlorides.  Raises
    :class:`takeup.errors.UnknownName` for an alloy or a mechanism that is not known.
    """
    rows = _mechanisms()
    if mechanism not in rows:
        raise UnknownName("mechanism", mechanism, list(rows))
    row, groups = rows[mechanism], _groups()
    if alloy_name in groups:
        return row[groups[alloy_name]], row["note"]
    from takeup.materials import alloy
    from takeup.materials.model import Family

    metal = alloy(alloy_name)
    if metal.name in groups:
        return row[groups[metal.name]], row["note"]
    if metal.family == Family.FERRITIC and mechanism in {"polythionic", "chloride"}:
        return "R", "ferritic steel"
    return "", f"{metal.name} is not in the table"


def _said(letter: str) -> str:
    return {"S": "susceptible", "c": "conditional", "R": "resistant"}.get(letter, "not known")


def assess(exposure: Exposure, dew: DewReport | None = None) -> ExposureReport:
    """Polythionic acid, its prevention, chlorides and salts for one bellows.

    ``dew`` is what condenses from its gas, where that was worked out.  Raises
    :class:`takeup.errors.MissingInput` without an alloy.
    """
    if not exposure.alloy:
        raise MissingInput("exposure", ["alloy"])
    usual = _usual(exposure)
    checks = [polythionic(exposure)]
    checks += shutdown(exposure)
    checks += washed(exposure)
    checks.append(chloride(exposure, dew))
    if dew is not None:
        checks += _salts(exposure, dew)
    cautions = []
    poly = checks[0]
    if poly.outcome != Outcome.DOES_NOT_APPLY and exposure.wash is not None:
        cautions.append(NOT_WASHED)
    if usual is not None and usual.note:
        cautions.append(f"Service {usual.service}: {usual.note}.")
    grounds = [
        Ground(
            claim=f"{check.name.lower()}: {check.because}",
            evidence=(f"check:{check.id}",),
            rule=check.valid or check.name,
            source=check.source,
            limit_kind=check.limit_kind,
            strength=Strength.TOLD,
        )
        for check in checks
        if check.outcome == Outcome.NOT_MET
    ]
    missing = [
        check.because.removeprefix("unknown: ")
        for check in checks
        if check.outcome == Outcome.NOT_EVALUATED
    ]
    return ExposureReport(
        exposure=exposure,
        checks=tuple(checks),
        grounds=tuple(grounds),
        cautions=tuple(dict.fromkeys(cautions)),
        missing=tuple(dict.fromkeys(missing)),
    )


def _usual(exposure: Exposure) -> Service | None:
    if not exposure.service:
        return None
    known = services()
    if exposure.service not in known:
        raise UnknownName("service", exposure.service, list(known))
    return known[exposure.service]


def _hint(exposure: Exposure, answer: Answer, field: str) -> Answer:
    """An answer, or yes where the service says so; ``possible`` stays not known."""
    if answer != Answer.UNKNOWN:
        return answer
    usual = _usual(exposure)
    word = getattr(usual, field) if usual is not None else ""
    return Answer.YES if word not in {"", "no", "possible"} else Answer.UNKNOWN


def _wet(exposure: Exposure) -> Answer:
    if exposure.wet != Answer.UNKNOWN:
        return exposure.wet
    if exposure.shutdown_metal is None or exposure.shutdown_dew is None:
        return Answer.UNKNOWN
    if exposure.shutdown_metal <= exposure.shutdown_dew:
        return Answer.YES
    dry = exposure.shutdown_metal - exposure.shutdown_dew >= DRY_ABOVE
    return Answer.NO if dry or exposure.shutdown_dew <= DRY_AIR else Answer.UNKNOWN


def polythionic(exposure: Exposure) -> Check:
    """Whether all four conditions of polythionic acid cracking come together.

    Demand is the number that are there, capacity three: one must be missing.
    """
    name = "Polythionic acid cracking at shutdown"
    letter, note = susceptibility(exposure.alloy, "polythionic")
    if letter == "R":
        return does_not_apply(id="exposure.polythionic", name=name, source=SCREEN,
                              because=f"{exposure.alloy} resists it")  # fmt: skip
    opened = Answer.NO if exposure.nitrogen == Answer.YES else exposure.opened
    answers = (
        exposure.sensitised,
        _hint(exposure, exposure.sulphides, "sulphides"),
        opened,
        _wet(exposure),
    )
    there = [word for word, one in zip(FOUR, answers, strict=True) if one == Answer.YES]
    absent = [word for word, one in zip(FOUR, answers, strict=True) if one == Answer.NO]
    unknown = tuple(w for w, one in zip(FOUR, answers, strict=True) if one == Answer.UNKNOWN)
    if absent:
        because = f"without {' and without '.join(absent)} the acid does not crack the metal"
    elif unknown:
        because = f"unknown: {', '.join(unknown)}"
    else:
        because = "sensitised metal, sulphide scale, oxygen and water come together"
    return compare(
        id="exposure.polythionic",
        name=name,
        demand=float(len(there)) if absent or not unknown else None,
        capacity=3.0,
        kind="count",
        source=SCOPE,
        limit_kind=LimitKind.PUBLISHED,
        valid="austenitic steels and nickel-chromium-iron alloys with sulphide scale",
        missing=() if absent else unknown,
        because=because,
        cautions=(
            f"{exposure.alloy}: {_said(letter)}; {note}",
            NOT_WASHED,
        ),
    )


def shutdown(exposure: Exposure) -> tuple[Check, ...]:
    """Whether the metal stays dry by temperature when it is opened."""
    metal, air = exposure.shutdown_metal, exposure.shutdown_dew
    if susceptibility(exposure.alloy, "polythionic")[0] == "R" or (metal is None and air is None):
        return ()
    missing = tuple(
        word for word, one in (("lowest metal temperature at shutdown", metal),
                               ("dew point of the air let in", air)) if one is None
    )  # fmt: skip
    return (
        compare(
            id="exposure.dry",
            name="Metal stays dry while open",
            demand=metal,
            capacity=None if air is None else air + DRY_ABOVE,
            kind="temperature",
            at_least=True,
            source=SHUTDOWN,
            limit_kind=LimitKind.PUBLISHED,
            missing=missing,
            because="" if missing else f"{DRY_ABOVE:.0f} K above the dew point of the air let in",
        ),
    )


def washed(exposure: Exposure) -> tuple[Check, ...]:
    """The numbers of an alkaline wash, each against practice."""
    wash = exposure.wash
    if wash is None:
        return ()
    found = [
        compare(id=f"exposure.wash.{id}", name=name, demand=demand, capacity=capacity, kind=kind,
                at_least=least, source=SHUTDOWN, limit_kind=LimitKind.RULE_OF_THUMB,
                because="" if demand is None else "usual practice; the site's procedure rules")
        for id, name, demand, capacity, kind, least in (
            ("soda_least", "Soda ash in the wash, at least", wash.soda_ash, 0.01, "share", True),
            ("soda_most", "Soda ash in the wash, at most", wash.soda_ash, 0.05, "share", False),
            ("ph", "pH of the returning wash", wash.ph, 9.0, "ratio", True),
            ("chloride", "Chloride in the wash", wash.chloride, 250e-6, "trace", False),
            ("contact", "Contact of the wash", wash.contact, 7200.0, "hours", True),
        )
    ]  # fmt: skip
    if wash.rinsed == Answer.YES:
        found.append(
            Check(id="exposure.wash.rinsed", name="Alkaline film left on the metal",
                  outcome=Outcome.NOT_MET, source=SHUTDOWN, limit_kind=LimitKind.RULE_OF_THUMB,
                  because="it was rinsed off; the film is what protects")
        )  # fmt: skip
    return tuple(found)


def chloride(exposure: Exposure, dew: DewReport | None = None) -> Check:
    """Whether chlorides may crack the bellows: metal above 60 °C, wet, chlorides there."""
    name = "Chloride stress corrosion cracking"
    letter, note = susceptibility(exposure.alloy, "chloride")
    if letter == "R":
        return does_not_apply(id="exposure.chloride", name=name, source=SCREEN,
                              because=f"{exposure.alloy} is practically immune")  # fmt: skip
    there = exposure.chlorides
    if dew is not None and dew.gas.hcl and there == Answer.UNKNOWN:
        there = Answer.YES
    there = _hint(exposure, there, "chlorides")
    inputs = (
        Quantity(name="coldest metal in service", value=exposure.metal_low, kind="temperature"),
    )
    caution = (
        f"{exposure.alloy}: {_said(letter)}; {note}",
        "Outside too: wet insulation over a warm bellows brings chlorides from rain and lagging.",
    )
    if there == Answer.NO:
        return does_not_apply(id="exposure.chloride", name=name, source=SCREEN,
                              because="no chlorides reach it")  # fmt: skip
    unknown = ["whether chlorides reach it"] if there == Answer.UNKNOWN else []
    if exposure.metal_high is None:
        unknown.append("hottest metal in service")
    cold = exposure.metal_high is not None and exposure.metal_high <= CHLORIDE_FROM
    return compare(
        id="exposure.chloride",
        name=name,
        demand=exposure.metal_high,
        capacity=CHLORIDE_FROM,
        kind="temperature",
        source=SCREEN,
        limit_kind=LimitKind.PUBLISHED,
        valid="300-series and 800-series; no chloride content is safe where water boils dry",
        inputs=inputs,
        missing=() if cold else tuple(unknown),
        because="metal stays at or below 60 °C"
        if cold
        else f"unknown: {', '.join(unknown)}"
        if unknown
        else "chlorides reach metal above 60 °C; whether water boils dry on it is the question",
        cautions=caution,
    )


def _salts(exposure: Exposure, dew: DewReport) -> list[Check]:
    """Each salt of the gas against the coldest metal in service."""
    letter, note = susceptibility(exposure.alloy, "ammonium_salts")
    found = []
    for one in dew.condensates:
        if not one.id.startswith("ammonium"):
            continue
        found.append(
            compare(
                id=f"exposure.{one.id}",
                name=f"No {one.title} on the bellows",
                demand=exposure.metal_low,
                capacity=one.temperature.high,
                kind="temperature",
                at_least=True,
                source=one.methods[0].source,
                limit_kind=LimitKind.PUBLISHED,
                because="" if exposure.metal_low is None else one.note,
                cautions=(f"{exposure.alloy}: {_said(letter)}; {note}",),
            )
        )
    return found
