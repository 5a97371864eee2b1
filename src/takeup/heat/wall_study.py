"""Everything about one wall in one go: temperatures, dew points, exposure, causes of a reading."""

from __future__ import annotations

import msgspec

from takeup.checks import Check, Ground
from takeup.heat import dew_report, exposure, inverse, wall_report
from takeup.heat.dew_model import DewReport, GasAnalysis
from takeup.heat.exposure import Exposure, ExposureReport
from takeup.heat.inverse_model import InverseReport, Reading
from takeup.heat.model import Range, Spreads, WallCase, WallReport
from takeup.limits import Limits


class WallInput(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A wall, and what is known beside it; what is left out is not worked out."""

    wall: WallCase
    gas: GasAnalysis | None = None
    reading: Reading | None = None
    exposure: Exposure | None = None
    spreads: Spreads = Spreads()
    priors: dict[str, float] = {}
    """Prior weights by cause, in place of the shipped ones."""


class WallStudy(msgspec.Struct, frozen=True, kw_only=True):
    """What came out of it."""

    wall: WallReport
    dew: DewReport | None
    inverse: InverseReport | None
    exposure: ExposureReport | None
    action_line: float | None
    """Low line to work with [K]: the higher of the site's and what the gas asks for."""
    checks: tuple[Check, ...]
    """All of them, the dangerous pair's cautions on each."""
    grounds: tuple[Ground, ...]
    cautions: tuple[str, ...]


def study(given: WallInput, limits: Limits, *, samples: int = 4096) -> WallStudy:
    """Work out a wall and all that is known beside it.

    Pressure and temperature of the gas are those of the wall where they are left out; the
    exposure's alloy and metal temperatures are those of the bellows.  Action lines are those of
    ``limits``.  A reading stands in for the calculated temperature wherever the bellows is held
    against a line or a dew point.  Raises what its parts raise.
    """
    found, seen = None, None
    if given.reading is not None:
        predictions = inverse.predict(given.wall, given.spreads, priors=given.priors)
        found = inverse.explain(predictions, given.reading)
        seen = inverse.seen(found)
    report = wall_report.evaluate(given.wall, given.spreads, samples=samples)
    low, high = limits["temperature.low_to"], limits["temperature.high"]
    checks = list(wall_report.against(report, low=low, high=high, seen=seen))
    dew = None
    line: float | None = low.value
    grounds: list[Ground] = []
    if given.gas is not None:
        dew = dew_report.evaluate(gas_of(given.gas, given.wall))
        line = dew_report.action_line(dew, low)
        checks.append(dew_report.check_line(dew, low))
        checks += dew_report.check_bellows(dew, report, seen)
        grounds += dew.grounds
    told = None
    if given.exposure is not None:
        told = exposure.assess(metal_of(given.exposure, report, seen), dew)
        checks += told.checks
        grounds += told.grounds
    parts = (report, found, dew, told)
    cautions = [words for part in parts if part is not None for words in part.cautions]
    return WallStudy(
        wall=report,
        dew=dew,
        inverse=found,
        exposure=told,
        action_line=line,
        checks=tuple(checks),
        grounds=tuple(grounds),
        cautions=tuple(dict.fromkeys(cautions)),
    )


def gas_of(gas: GasAnalysis, wall: WallCase) -> GasAnalysis:
    """A gas whose pressure and temperature are those of the wall where it leaves them out."""
    pressure = wall.pressure if gas.pressure is None else gas.pressure
    temperature = wall.gas_temperature if gas.temperature is None else gas.temperature
    return msgspec.structs.replace(gas, pressure=pressure, temperature=temperature)


def metal_of(given: Exposure, report: WallReport, seen: Range | None) -> Exposure:
    """An exposure whose alloy and metal temperatures are the bellows' where it leaves them out."""
    low = (seen or report.bellows_inner).low if given.metal_low is None else given.metal_low
    high = (seen or report.bellows_outer).high if given.metal_high is None else given.metal_high
    alloy = given.alloy or report.case.bellows_material
    return msgspec.structs.replace(given, alloy=alloy, metal_low=low, metal_high=high)
