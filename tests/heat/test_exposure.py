"""Polythionic acid at shutdown, chlorides and salts: outcomes by what is known."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from takeup.checks import Outcome
from takeup.errors import UnknownName
from takeup.heat.dew_model import GasAnalysis
from takeup.heat.dew_report import evaluate
from takeup.heat.exposure import (
    NOT_WASHED,
    Exposure,
    assess,
    chloride,
    polythionic,
    services,
    susceptibility,
)

ALL = {"sensitised": "yes", "sulphides": "yes", "opened": "yes", "wet": "yes"}


def exposure(**more: Any) -> Exposure:
    return msgspec.convert({"alloy": "304H", **more}, Exposure)


def test_all_four_together_are_not_met() -> None:
    """Sensitised metal, sulphide scale, oxygen and water together: not met, with a ground."""
    found = assess(exposure(**ALL))
    check = found.checks[0]
    assert check.outcome == Outcome.NOT_MET
    assert (check.demand, check.capacity) == (4.0, 3.0)
    assert NOT_WASHED in check.cautions
    assert any("check:exposure.polythionic" in ground.evidence for ground in found.grounds)


@pytest.mark.parametrize("absent", list(ALL))
def test_one_absent_condition_is_enough(absent: str) -> None:
    """Without any one of the four the acid does not crack the metal, whatever else is unknown."""
    check = polythionic(exposure(**{absent: "no"}))
    assert check.outcome == Outcome.MET
    assert "without" in check.because


@pytest.mark.parametrize("unknown", list(ALL))
def test_an_unknown_condition_leaves_it_open(unknown: str) -> None:
    """With one condition unknown and none absent the check is open, and says which."""
    check = polythionic(exposure(**{**ALL, unknown: "not known"}))
    assert check.outcome == Outcome.NOT_EVALUATED
    assert check.because.startswith("unknown: ")
    assert check.demand is None


def test_nitrogen_keeps_oxygen_out() -> None:
    """A joint kept under nitrogen is not open to air."""
    assert polythionic(exposure(**{**ALL, "nitrogen": "yes"})).outcome == Outcome.MET


def test_a_resistant_alloy_does_not_apply() -> None:
    """Alloy 825 resists, ferritic steel too; alloy 625 stays conditional."""
    assert polythionic(exposure(alloy="alloy 825", **ALL)).outcome == Outcome.DOES_NOT_APPLY
    assert polythionic(exposure(alloy="carbon steel", **ALL)).outcome == Outcome.DOES_NOT_APPLY
    assert polythionic(exposure(alloy="alloy 625", **ALL)).outcome == Outcome.NOT_MET


def test_water_follows_from_temperatures() -> None:
    """Metal 55 K above the air's dew point is dry, at or below it wet, between them open."""
    dry = {**ALL, "wet": "not known"}
    outcomes = [
        polythionic(exposure(**dry, shutdown_metal=metal, shutdown_dew=288.15)).outcome
        for metal in (288.15 + 55.0, 310.0, 288.15)
    ]
    assert outcomes == [Outcome.MET, Outcome.NOT_EVALUATED, Outcome.NOT_MET]
    frozen = polythionic(exposure(**dry, shutdown_metal=290.0, shutdown_dew=250.0))
    assert frozen.outcome == Outcome.MET


def test_a_wash_is_held_against_practice_and_does_not_prove_a_packed_joint() -> None:
    """Each number of a wash is checked, unknown ones stay open, rinsing undoes it."""
    found = assess(
        exposure(**ALL, wash={"soda_ash": 0.02, "ph": 8.0, "chloride": 100e-6, "rinsed": "yes"})
    )
    by_id = {check.id: check.outcome for check in found.checks}
    assert by_id["exposure.wash.soda_least"] == by_id["exposure.wash.soda_most"] == Outcome.MET
    assert by_id["exposure.wash.ph"] == Outcome.NOT_MET
    assert by_id["exposure.wash.chloride"] == Outcome.MET
    assert by_id["exposure.wash.contact"] == Outcome.NOT_EVALUATED
    assert by_id["exposure.wash.rinsed"] == Outcome.NOT_MET
    assert NOT_WASHED in found.cautions


def test_chlorides_crack_warm_wet_steel() -> None:
    """Chlorides on 304H above 60 °C are not met; at 60 °C and below met; unknown open."""
    assert chloride(exposure(chlorides="yes", metal_high=400.0)).outcome == Outcome.NOT_MET
    assert chloride(exposure(chlorides="yes", metal_high=333.15)).outcome == Outcome.MET
    assert chloride(exposure(metal_high=400.0)).outcome == Outcome.NOT_EVALUATED
    assert chloride(exposure(chlorides="yes")).outcome == Outcome.NOT_EVALUATED
    assert chloride(exposure(chlorides="no")).outcome == Outcome.DOES_NOT_APPLY
    immune = chloride(exposure(alloy="alloy 625", chlorides="yes", metal_high=400.0))
    assert immune.outcome == Outcome.DOES_NOT_APPLY


def test_a_service_answers_what_is_certain_in_it() -> None:
    """Purge steam brings chlorides to a standpipe; what is only possible stays unknown."""
    steam = exposure(service="regenerated catalyst standpipe", metal_high=400.0)
    assert chloride(steam).outcome == Outcome.NOT_MET
    possible = exposure(service="exchanger shell", metal_high=400.0)
    assert chloride(possible).outcome == Outcome.NOT_EVALUATED
    with pytest.raises(UnknownName, match="service"):
        assess(exposure(service="submarine"))
    assert len(services()) == 9


def test_salts_are_held_against_the_coldest_metal() -> None:
    """Ammonium chloride above the coldest metal is not met; without a metal temperature open."""
    dew = evaluate(GasAnalysis(water=0.1, so3=0.0, hcl=50e-6, nh3=50e-6, h2s=0.0))
    cold = assess(exposure(metal_low=360.0), dew)
    by_id = {check.id: check for check in cold.checks}
    assert by_id["exposure.ammonium_chloride"].outcome == Outcome.NOT_MET
    open_ = {check.id: check for check in assess(exposure(), dew).checks}
    assert open_["exposure.ammonium_chloride"].outcome == Outcome.NOT_EVALUATED


def test_the_table_answers_for_every_bellows_alloy_or_says_that_it_does_not() -> None:
    """Every austenitic and nickel alloy of the register has a letter, or an honest blank."""
    from takeup.materials import alloys
    from takeup.materials.model import Family

    blank = [
        metal.name
        for metal in alloys()
        if metal.family != Family.FERRITIC and not susceptibility(metal.name, "polythionic")[0]
    ]
    assert blank == ["310", "310H"]
    with pytest.raises(UnknownName, match="mechanism"):
        susceptibility("304H", "bad luck")
