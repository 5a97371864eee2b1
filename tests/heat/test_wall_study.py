"""A wall with all that is known beside it: what stands in for what."""

from __future__ import annotations

from typing import Any

import pytest

from takeup.checks import Outcome
from takeup.heat.dew_model import GasAnalysis
from takeup.heat.exposure import Exposure
from takeup.heat.inverse_model import Reading
from takeup.heat.wall_study import WallInput, WallStudy, study
from takeup.limits import defaults
from tests.heat.walls import CELSIUS, case

GAS = GasAnalysis(water=0.12, so3=20e-6, hcl=0.0, nh3=0.0)


def worked(**more: Any) -> WallStudy:
    return study(WallInput(wall=case(pressure=2e5), **more), defaults(), samples=512)


def test_a_wall_alone_is_enough() -> None:
    """Without gas, reading or exposure only the wall is worked out, and the line is the site's."""
    found = worked()
    assert found.dew is found.inverse is found.exposure is None
    assert found.action_line == defaults().value("temperature.low_to")
    assert {check.id for check in found.checks} == {"wall.low", "wall.high"}


def test_the_gas_has_the_pressure_and_temperature_of_the_wall() -> None:
    """Left out of the gas, pressure and temperature are the wall's; given, they stay."""
    found = worked(gas=GAS).dew
    assert found is not None
    assert (found.gas.pressure, found.gas.temperature) == (2e5, 720 + CELSIUS)
    own = worked(gas=GasAnalysis(water=0.12, so3=20e-6, pressure=0.0)).dew
    assert own is not None
    assert own.gas.pressure == 0.0


def test_a_reading_stands_in_for_the_calculation() -> None:
    """A bellows measured hot is held against lines and dew points as measured, not as calculated."""
    reading = Reading(temperature=300 + CELSIUS)
    cold = {check.id: check for check in worked(gas=GAS).checks}
    hot = {check.id: check for check in worked(gas=GAS, reading=reading).checks}
    for id in ("wall.low", "dew.sulphuric_acid"):
        assert cold[id].outcome == Outcome.NOT_MET
        assert hot[id].outcome == Outcome.MET
        assert "as measured" in hot[id].because
    assert hot["wall.low"].demand == pytest.approx(300 + CELSIUS, abs=6.0)


def test_exposure_takes_the_range_of_the_bellows() -> None:
    """Metal temperatures of the exposure are those of the bellows where none are given."""
    found = worked(exposure=Exposure(alloy="304H", service="steam"))
    assert found.exposure is not None
    assert found.exposure.exposure.metal_low == found.wall.bellows_inner.low
    chloride = next(one for one in found.checks if one.id == "exposure.chloride")
    assert chloride.outcome == Outcome.NOT_MET


def test_the_higher_line_is_worked_with() -> None:
    """The proposed line rules where it lies above the site's."""
    found = worked(gas=GAS)
    assert found.dew is not None
    assert found.action_line == found.dew.line
    assert any(one.id == "dew.line" and one.outcome == Outcome.NOT_MET for one in found.checks)
