"""Dew points, salts and the proposed low action line."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np
import pytest

from takeup.checks import Outcome
from takeup.errors import Contradiction, OutOfRange
from takeup.heat import dew
from takeup.heat.dew_model import Burning, GasAnalysis
from takeup.heat.dew_report import (
    action_line,
    check_bellows,
    check_line,
    evaluate,
    trioxide,
)
from takeup.heat.wall_report import evaluate as wall
from takeup.limits import defaults
from takeup.units import ATMOSPHERE
from tests.heat.walls import case

FLUE: dict[str, Any] = {
    "pressure": 2e5, "temperature": 993.15, "water": 0.12, "oxygen": 0.02, "so2": 600e-6,
    "burning": Burning.FULL, "hcl": 0.0, "nh3": 0.0,
}  # fmt: skip
LIMIT = defaults()["temperature.low_to"]


def gas(**more: Any) -> GasAnalysis:
    return msgspec.convert({**FLUE, **more}, GasAnalysis)


def test_more_acid_more_water_more_pressure_raise_the_dew_point() -> None:
    """All three relations rise with SO3, water and total pressure."""
    for relation in (dew.acid_verhoff, dew.acid_okkes, dew.acid_zarenezhad):
        base = relation(1e4, 1.0)
        assert relation(1e4, 2.0) > base
        assert relation(1.5e4, 1.0) > base
        assert relation(3e4, 3.0) > base + 10.0


def test_a_relation_outside_its_range_gives_no_number() -> None:
    """Okkes needs more than 1e-8 atm: at it NaN, above it a number; the others still speak."""
    assert np.isnan(dew.acid_okkes(1e4, dew.OKKES_LEAST))
    assert np.isfinite(dew.acid_okkes(1e4, dew.OKKES_LEAST * 1.01))
    found = evaluate(gas(so2=None, so3=1e-9, pressure=0.0))
    acid = next(one for one in found.condensates if one.id == "sulphuric_acid")
    okkes = next(one for one in acid.methods if one.source == dew.OKKES)
    assert okkes.value is None
    assert "1e-8" in okkes.because
    assert sum(one.value is not None for one in acid.methods) == 2


def test_buck_is_solved_exactly_and_three_water_relations_agree() -> None:
    """The dew point put back into Buck gives the pressure; IF97 and Magnus agree to 0.1 K."""
    pressure = np.linspace(1e3, 19e3, 7)
    kelvin = dew.water_buck(pressure)
    assert dew.buck_pressure(kelvin) == pytest.approx(pressure, rel=1e-9)
    assert dew.water_if97(pressure) == pytest.approx(kelvin, abs=0.1)
    assert dew.water_magnus(pressure) == pytest.approx(kelvin, abs=0.1)


def test_the_band_holds_all_relations_and_the_span_of_the_acid() -> None:
    """The band is never narrower than 6 K either way, and wider where SO3 is a range."""
    known = evaluate(gas(so2=None, so3=30e-6))
    guessed = evaluate(gas())
    bands = []
    for found in (known, guessed):
        acid = next(one for one in found.condensates if one.id == "sulphuric_acid")
        values = [one.value for one in acid.methods if one.value is not None]
        assert len(values) == 3
        assert acid.temperature.low <= min(values) < max(values) <= acid.temperature.high
        bands.append(acid.temperature.high - acid.temperature.low)
    assert bands[1] > bands[0] >= 12.0


def test_relations_that_part_are_said() -> None:
    """Flue gas raises no caution of the relations; a gas they do not reach, or disagree on, does."""

    def said(**more: Any) -> bool:
        return any("relations for sulphuric acid" in one for one in evaluate(gas(**more)).cautions)

    for water in (0.02, 0.1, 0.2):
        for acid in (1e-6, 10e-6, 100e-6):
            assert not said(so2=None, so3=acid, water=water, pressure=0.0)
    assert said(so2=None, so3=1e-9, pressure=0.0)
    assert said(so2=None, so3=0.03, water=0.2)


def test_trioxide_follows_the_burning_and_never_passes_equilibrium() -> None:
    """Partial burn makes less SO3 than full burn; at flame temperature equilibrium caps it."""
    full, partial = trioxide(gas()), trioxide(gas(burning=Burning.PARTIAL))
    assert full is not None
    assert partial is not None
    assert partial.share.high < full.share.value
    hot = trioxide(gas(temperature=1500.0))
    assert hot is not None
    assert hot.ceiling is not None
    assert hot.share.high <= 600e-6 * hot.ceiling / (1 - hot.ceiling) * (1 + 1e-9)
    assert hot.share.high < full.share.high
    assert trioxide(gas(so2=None)) is None


def test_excess_air_stands_in_for_oxygen_and_water() -> None:
    """Methane with 10 % excess air: 1.74 % oxygen and 17.4 % water by the balance."""
    oxygen, water = dew.combustion(0.10, 4.0)
    assert oxygen == pytest.approx(0.2 / (1 + 2 + 0.2 + 2.2 / 0.2095 * 0.7905), rel=1e-12)
    assert water == pytest.approx(0.1739, abs=1e-4)
    found = evaluate(gas(water=None, oxygen=None, excess_air=0.15, hydrogen_per_carbon=1.8))
    assert "water vapour" not in found.missing
    with pytest.raises(Contradiction, match="excess_air"):
        evaluate(gas(oxygen=0.15, excess_air=0.15))


def test_the_line_is_the_highest_point_and_a_margin() -> None:
    """Proposed line: upper end of the highest point and 30 K; the condensate that rules is named."""
    found = evaluate(gas())
    assert found.governing == "sulphuric_acid"
    assert found.line == pytest.approx(found.condensates[0].temperature.high + 30.0)
    assert found.complete
    assert evaluate(gas(), margin=15.0).line == pytest.approx(found.line - 15.0)


def test_a_lower_line_of_the_site_is_never_silent() -> None:
    """Below the proposal the site's line is not met, loudly, and the higher one is worked with."""
    found = evaluate(gas())
    assert found.line is not None
    low = msgspec.structs.replace(LIMIT, value=found.line - 20.0)
    high = msgspec.structs.replace(LIMIT, value=found.line + 20.0)
    check = check_line(found, low)
    assert check.outcome == Outcome.NOT_MET
    assert "20 K below" in check.because
    assert check.cautions[0].startswith("Do not work with the lower line")
    assert action_line(found, low) == found.line
    assert check_line(found, high).outcome == Outcome.MET
    assert action_line(found, high) == high.value


def test_an_unknown_species_is_not_absent() -> None:
    """With HCl or ammonia unknown a line above the proposal stays open; one below fails still."""
    found = evaluate(gas(hcl=None, nh3=None))
    assert set(found.missing) == {"HCl", "NH3"}
    assert not found.complete
    assert found.line is not None
    above = msgspec.structs.replace(LIMIT, value=found.line + 20.0)
    below = msgspec.structs.replace(LIMIT, value=found.line - 20.0)
    assert check_line(found, above).outcome == Outcome.NOT_EVALUATED
    assert check_line(found, below).outcome == Outcome.NOT_MET
    nothing = evaluate(GasAnalysis())
    assert nothing.line is None
    assert check_line(nothing, LIMIT).outcome == Outcome.NOT_EVALUATED
    assert check_line(found, None).outcome == Outcome.NOT_EVALUATED


def test_salts_appear_with_ammonia() -> None:
    """Ammonia with HCl gives ammonium chloride, with SO3 bisulphate, with H2S hydrosulphide."""
    found = evaluate(gas(nh3=50e-6, hcl=50e-6, h2s=1e-3))
    ids = {one.id for one in found.condensates}
    assert {"ammonium_chloride", "ammonium_bisulphate", "ammonium_hydrosulphide"} <= ids
    assert not any(one.id.startswith("ammonium") for one in evaluate(gas()).condensates)


def test_other_acids_below_the_water_dew_point_do_not_rule() -> None:
    """Traces of HCl condense below water; the governing point is the higher."""
    found = evaluate(GasAnalysis(water=0.1, hcl=10e-6, so2=0.0, nh3=0.0))
    by_id = {one.id: one.temperature.value for one in found.condensates}
    assert by_id["hydrochloric_acid"] < by_id["water"]


def test_a_bellows_is_held_against_each_point() -> None:
    """A bare packed bellows lies below the acid dew point; what is unknown stays open."""
    found = evaluate(gas(hcl=None))
    checks = {one.id: one for one in check_bellows(found, wall(case(), samples=512))}
    assert checks["dew.sulphuric_acid"].outcome == Outcome.NOT_MET
    assert checks["dew.unknown"].outcome == Outcome.NOT_EVALUATED


def test_impossible_gases_are_refused() -> None:
    """Shares above one, pressures below nothing and margins beyond reason are refused."""
    with pytest.raises(Contradiction, match="add up"):
        evaluate(GasAnalysis(water=0.9, oxygen=0.2))
    with pytest.raises(OutOfRange, match="pressure"):
        evaluate(gas(pressure=-ATMOSPHERE))
    with pytest.raises(OutOfRange, match="margin"):
        evaluate(gas(), margin=-5.0)
