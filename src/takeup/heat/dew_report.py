"""What condenses in a cavity, at which temperature, and the low action line that follows."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

from takeup.checks import Check, Ground, LimitKind, Quantity, Strength, compare
from takeup.errors import Contradiction, require_within
from takeup.heat import dew
from takeup.heat.dew_model import (
    Burning,
    Condensate,
    DewReport,
    GasAnalysis,
    Method,
    Trioxide,
)
from takeup.heat.model import Range, WallReport
from takeup.limits import Limit
from takeup.sources import Source, Standing, assumption
from takeup.units import ATMOSPHERE, Array, Real

MARGIN = 30.0
"""Over the highest dew point for local cold spots [K]; practice runs from 15 to 30 and more."""
LEAST_BAND = 6.0
"""The relations agree no better than this, whatever three of them say [K]."""
ANALYSIS = 0.20
"""What an SO3 analysis may be off, share: it is hard to sample."""
AGREE = 15.0
"""The three relations agree within this for flue gas, 2-20 % water and 1-100 ppm SO3 [K]."""
CONVERSION = {
    Burning.FULL: (0.02, 0.05, 0.10),
    Burning.PARTIAL: (0.002, 0.01, 0.02),
    Burning.HEATER: (0.01, 0.03, 0.05),
    Burning.UNKNOWN: (0.01, 0.05, 0.10),
}
CONVERTED = Source(
    document="Ranges of SO3 in flue gas",
    at="full burn 2-10 % of the sulphur oxides (15 % with promoter), partial burn below 1-2 %, "
    "fired heater 1-5 %; 5 % and 1-10 % where nothing is known",
    standing=Standing.MEMORY,
)
LINE = Source(
    document="Takeup",
    at="highest dew or salt point of the gas, upper end of its band, and a margin for cold spots",
    standing=Standing.ASSUMPTION,
)
SPOTS = (
    "A mean temperature above the line does not prove every spot to be above it: legs, drains, "
    "skirts and the low side of a horizontal run are colder."
)


def trioxide(gas: GasAnalysis) -> Trioxide | None:
    """SO3 as analysed, or from SO2 by the kind of burning; ``None`` where neither is known.

    Raises :class:`takeup.errors.Contradiction` for oxygen and excess air that disagree.
    """
    oxygen, _ = _flue(gas)
    ceiling = None
    if oxygen is not None and gas.temperature is not None:
        ceiling = float(dew.trioxide_share(gas.temperature, oxygen * _total(gas)))
    if gas.so3 is not None:
        share = Range(value=gas.so3, low=gas.so3 * (1 - ANALYSIS), high=gas.so3 * (1 + ANALYSIS))
        note = f"as analysed, within {ANALYSIS:.0%}"
        if ceiling is not None and gas.so2 and gas.so3 > ceiling * (gas.so2 + gas.so3):
            note += "; more than equilibrium allows at the gas temperature: doubt the analysis"
        return Trioxide(share=share, source=assumption("SO3 as analysed"), ceiling=ceiling,
                        note=note)  # fmt: skip
    if gas.so2 is None:
        return None
    low, middle, high = CONVERSION[gas.burning]
    if ceiling is not None:
        low, middle, high = (min(one, ceiling) for one in (low, middle, high))
    # the conversion is of SO2 and SO3 together; what is analysed is the SO2 that is left
    shares = [gas.so2 * one / (1.0 - one) for one in (low, middle, high)]
    return Trioxide(
        share=Range(low=shares[0], value=shares[1], high=shares[2]),
        source=CONVERTED,
        ceiling=ceiling,
        note=f"{middle:.1%} ({low:.1%} to {high:.1%}) of the sulphur oxides, "
        + ("kind of burning not known" if gas.burning == Burning.UNKNOWN else gas.burning.value),
    )


def _total(gas: GasAnalysis) -> float:
    return (gas.pressure or 0.0) + ATMOSPHERE


def _flue(gas: GasAnalysis) -> tuple[float | None, float | None]:
    """Oxygen and water, from the analysis or else from excess air."""
    oxygen, water = gas.oxygen, gas.water
    if gas.excess_air is not None:
        burnt_oxygen, burnt_water = dew.combustion(gas.excess_air, gas.hydrogen_per_carbon)
        if oxygen is not None and abs(oxygen - burnt_oxygen) > 0.03:
            raise Contradiction(
                f"oxygen is {oxygen:.1%} but excess_air {gas.excess_air:.0%} means "
                f"{burnt_oxygen:.1%}; give one of the two"
            )
        oxygen = burnt_oxygen if oxygen is None else oxygen
        water = burnt_water if water is None else water
    return oxygen, water


def refuse(gas: GasAnalysis) -> None:
    """Raise :class:`takeup.errors.OutOfRange` or Contradiction for a gas that cannot be."""
    require_within("pressure", gas.pressure or 0.0, low=-ATMOSPHERE + 1e3, high=1e7, unit="Pa",
                   whose="the dew point relations")  # fmt: skip
    shares = [getattr(gas, name) or 0.0
              for name in ("water", "oxygen", "so2", "so3", "hcl", "hbr", "hno3", "nh3", "h2s")]  # fmt: skip
    if sum(shares) > 1.0:
        raise Contradiction(f"the mole shares add up to {sum(shares):.2f}; they are shares of one")


def evaluate(gas: GasAnalysis, *, margin: float = MARGIN) -> DewReport:
    """Everything that may condense or fall out of ``gas``, and the proposed low action line.

    A species that is not known is named as missing and the line is then a lower bound.
    """
    refuse(gas)
    require_within("margin", margin, low=0.0, high=150.0, unit="K", whose="the low action line")
    total = _total(gas)
    _, water = _flue(gas)
    sulphur = trioxide(gas)
    found: list[Condensate] = []
    missing: list[str] = []
    cautions = [SPOTS]
    if gas.pressure is None:
        cautions.append("Pressure not given: atmospheric taken; it raises every dew point.")
    if water is None:
        missing.append("water vapour")
    elif water > 0.0:
        found.append(_water(water * total))
    if sulphur is None:
        missing.append("SO3, or SO2")
    elif water and sulphur.share.high > 0.0:
        acid = _acid(water * total, sulphur.share, total)
        found.append(acid)
        cautions += _apart(acid)
        cautions.append(
            "Acid corrodes below its dew point whether or not water condenses; the worst lies "
            "20-50 K below it."
        )
    found += _others(gas, water, total, missing)
    found += _salts(gas, sulphur, total, missing)
    found.sort(key=lambda one: -one.temperature.high)
    line = found[0].temperature.high + margin if found else None
    unasked = [word for word, one in (("HBr", gas.hbr), ("HNO3", gas.hno3)) if one is None]
    if unasked:
        cautions.append(f"{' and '.join(unasked)} not given: rare in this trade, and left out.")
    if gas.oxygen == 0.0 and sulphur and sulphur.share.high > 0.0:
        cautions.append("SO3 without oxygen: look at the analysis again.")
    report = DewReport(
        gas=gas,
        trioxide=sulphur,
        condensates=tuple(found),
        governing=found[0].id if found else "",
        margin=margin,
        line=line,
        complete=not missing,
        missing=tuple(missing),
        checks=(),
        grounds=(),
        cautions=tuple(cautions),
    )
    return msgspec.structs.replace(report, grounds=_grounds(report))


def _method(source: Source, kelvin: Array, because: str = "outside its range") -> Method:
    value = float(kelvin)
    return (
        Method(source=source, value=value)
        if math.isfinite(value)
        else Method(source=source, value=None, because=because)
    )


def _band(methods: Sequence[Method], least: float) -> Range:
    values = [one.value for one in methods if one.value is not None]
    middle = sorted(values)[len(values) // 2] if len(values) % 2 else sum(values) / len(values)
    return Range(value=middle, low=min(*values, middle - least), high=max(*values, middle + least))


def _water(pressure: float) -> Condensate:
    methods = (
        _method(dew.IF97, dew.water_if97(pressure), "below 0.01 °C: ice"),
        _method(dew.BUCK, dew.water_buck(pressure), "above 100 °C"),
        _method(dew.MAGNUS, dew.water_magnus(pressure), "above 60 °C"),
    )
    if all(one.value is None for one in methods):
        frost = Range(value=273.15, low=233.15, high=273.15)
        return Condensate(id="water", title="water", temperature=frost, methods=methods,
                          note="below freezing: taken as 0 °C")  # fmt: skip
    return Condensate(id="water", title="water", temperature=_band(methods, 0.3), methods=methods)


def _acid(water: float, share: Range, total: float) -> Condensate:
    def three(part: float) -> tuple[Method, ...]:
        acid: Real = max(part * total, 1e-9)
        return (
            _method(dew.VERHOFF, dew.acid_verhoff(water, acid)),
            _method(dew.OKKES, dew.acid_okkes(water, acid), "needs more than 1e-8 atm of SO3"),
            _method(dew.ZARENEZHAD, dew.acid_zarenezhad(water, acid)),
        )

    methods = three(share.value)
    band = _band(methods, LEAST_BAND)
    low, high = _band(three(share.low), LEAST_BAND), _band(three(share.high), LEAST_BAND)
    spread = [one.value for one in methods if one.value is not None]
    return Condensate(
        id="sulphuric_acid",
        title="sulphuric acid",
        temperature=Range(value=band.value, low=low.low, high=high.high),
        methods=methods,
        note=f"the relations differ by {max(spread) - min(spread):.1f} K; the band holds the "
        "span of SO3 too",
    )


def _apart(acid: Condensate) -> list[str]:
    """A caution where the relations part: they are then used outside where they were made."""
    values = [one.value for one in acid.methods if one.value is not None]
    spread = max(values) - min(values)
    if spread <= AGREE and len(values) == len(acid.methods):
        return []
    words = f"differ by {spread:.0f} K" if spread > AGREE else "do not all reach this gas"
    return [
        f"The relations for sulphuric acid {words}: take it as screening, and the upper end as "
        "the dew point."
    ]


def _others(
    gas: GasAnalysis, water: float | None, total: float, missing: list[str]
) -> list[Condensate]:
    found = []
    for id, acid, title, share in (
        ("hydrochloric_acid", "HCl", "hydrochloric acid", gas.hcl),
        ("hydrobromic_acid", "HBr", "hydrobromic acid", gas.hbr),
        ("nitric_acid", "HNO3", "nitric acid", gas.hno3),
        ("sulphurous_acid", "H2SO3", "sulphurous acid", gas.so2),
    ):
        if share is None:
            if acid == "HCl":
                missing.append("HCl")
            continue
        if not share or not water:
            continue
        method = _method(dew.KIANG, dew.acid_other(acid, water * total, share * total))
        found.append(Condensate(id=id, title=title, temperature=_band((method,), LEAST_BAND),
                                methods=(method,)))  # fmt: skip
    return found


def _salts(
    gas: GasAnalysis, sulphur: Trioxide | None, total: float, missing: list[str]
) -> list[Condensate]:
    if gas.nh3 is None:
        missing.append("NH3")
        return []
    if not gas.nh3:
        return []
    found = []
    ammonia = gas.nh3 * total
    for id, title, share, relation, source in (
        ("ammonium_chloride", "ammonium chloride, solid", gas.hcl, dew.ammonium_chloride,
         dew.CHLORIDE),
        ("ammonium_hydrosulphide", "ammonium hydrosulphide, solid", gas.h2s,
         dew.ammonium_hydrosulphide, dew.HYDROSULPHIDE),
    ):  # fmt: skip
        if not share:
            continue
        method = _method(source, relation(ammonia, share * total))
        found.append(Condensate(id=id, title=title, temperature=_band((method,), LEAST_BAND),
                                methods=(method,), note="pits under the salt once it is damp"))  # fmt: skip
    if gas.h2s is None:
        missing.append("H2S")
    if sulphur is not None and sulphur.share.high > 0.0:
        method = Method(source=dew.BISULPHATE, value=503.15)
        found.append(Condensate(id="ammonium_bisulphate", title="ammonium bisulphate, sticky",
                                temperature=Range(value=463.15, low=423.15, high=503.15),
                                methods=(method,),
                                note="a range of experience, not of this gas"))  # fmt: skip
    return found


def _quantities(report: DewReport) -> tuple[Quantity, ...]:
    return tuple(
        Quantity(name=f"{one.title}, upper end", value=one.temperature.high, kind="temperature")
        for one in report.condensates
    )


def check_line(report: DewReport, site: Limit | None) -> Check:
    """The site's low action line against the proposed one.

    A line below the proposal is not met and says by how much; with something about the gas
    unknown a line above it is not evaluated, since the true one may lie higher still.
    """
    missing = list(report.missing)
    short = site is not None and report.line is not None and site.value < report.line
    if site is None:
        missing.append("the site's low action line")
    if report.line is None:
        missing.append("a gas that can be worked out")
    because, cautions = "", report.cautions
    if short:
        assert site is not None
        assert report.line is not None
        because = (
            f"the site's line lies {report.line - site.value:.0f} K below the dew point of "
            f"{_governing(report)} and its margin"
        )
        cautions = (
            "Do not work with the lower line without a written reason: a bellows between the two "
            "lines may be wet with acid.",
            *cautions,
        )
    elif missing:
        because = f"unknown: {', '.join(missing)}; the line may have to lie higher"
    else:
        because = f"set by {_governing(report)}"
    return compare(
        id="dew.line",
        name="The site's low action line lies above dew point and margin",
        demand=site.value if site else None,
        capacity=report.line,
        kind="temperature",
        at_least=True,
        source=LINE,
        limit_kind=LimitKind.RULE_OF_THUMB,
        inputs=_quantities(report),
        missing=() if short else tuple(missing),
        because=because,
        cautions=cautions,
    )


def _governing(report: DewReport) -> str:
    return next((one.title for one in report.condensates if one.id == report.governing), "nothing")


def action_line(report: DewReport, site: Limit | None) -> float | None:
    """The line to work with [K]: the higher of the site's and the proposed; never the lower."""
    known = [one for one in (report.line, site.value if site else None) if one is not None]
    return max(known) if known else None


def check_bellows(
    report: DewReport, wall: WallReport, seen: Range | None = None
) -> tuple[Check, ...]:
    """Cold end of the bellows' inside against each condensate, upper end of its band.

    What was ``seen`` on the bellows stands in for the calculation.
    """
    cold = (seen or wall.bellows_inner).low
    words = "as calculated" if seen is None else "as measured"
    checks = [
        compare(
            id=f"dew.{one.id}",
            name=f"Bellows inside stays above the point of {one.title}",
            demand=cold,
            capacity=one.temperature.high,
            kind="temperature",
            at_least=True,
            source=one.methods[0].source,
            limit_kind=LimitKind.PUBLISHED,
            because=f"cold end of the 90 % range {words} against the upper end of the band; no margin",
            cautions=report.cautions,
        )
        for one in report.condensates
    ]
    if report.missing:
        checks.append(
            compare(
                id="dew.unknown", name="Bellows inside stays above everything else that condenses",
                demand=cold, capacity=None, kind="temperature", at_least=True,
                source=LINE, missing=report.missing, cautions=report.cautions,
            )
        )  # fmt: skip
    return tuple(checks)


def _grounds(report: DewReport) -> tuple[Ground, ...]:
    if report.line is None:
        return ()
    top = report.condensates[0]
    return (
        Ground(
            claim=f"{top.title} comes down between {top.temperature.low - 273.15:.0f} and "
            f"{top.temperature.high - 273.15:.0f} °C; the low action line belongs at "
            f"{report.line - 273.15:.0f} °C or above",
            evidence=("check:dew.line",),
            rule=f"highest dew or salt point, upper end, and {report.margin:.0f} K for cold spots",
            source=LINE,
            strength=Strength.CALCULATED if report.complete else Strength.ASSUMED,
        ),
    )
