"""Where evidence is thin, the result falls on the safe side."""

import datetime as dt

import numpy as np
import pytest

from takeup.checks import Outcome
from takeup.evidence.facts import Answer, Bubbles, InterplyReading, InterplyTest
from takeup.evidence.interply import interpret
from takeup.evidence.marks import compare
from takeup.evidence.model import DailyTemperature, MarkMovement, PlyVerdict
from takeup.evidence.temperature import watch
from takeup.limits import defaults

DAY = dt.date(2026, 4, 1)


def held(drop, **more):
    """An interply test held for half an hour with a share lost in 15 min."""
    fields = {"fills": 3, "port_to_port": Answer.YES, "bubbles": Bubbles.NONE,
              "line_pressure": 0.0, "first_reading": 0.0, "gauge_resolution": 250.0}  # fmt: skip
    test = InterplyTest(joint="J", bellows="A", date=DAY, **(fields | more))
    readings = [
        InterplyReading(joint="J", bellows="A", date=DAY, minute=m * 60.0,
                        pressure=50e3 * (1 - drop * m / 15), temperature=293.15)
        for m in (0, 5, 10, 15, 30)
    ]  # fmt: skip
    return interpret(test, readings, defaults())


@pytest.mark.parametrize("where", [Bubbles.OUTER, Bubbles.FITTING])
@pytest.mark.parametrize("drop", [0.0, 0.048, 0.2])
def test_bubbles_seen_are_never_a_pass(where, drop):
    """However slow the fall, gas that is seen to escape is a leak."""
    assert held(drop, bubbles=where).verdict == PlyVerdict.OUTER


def test_warmed_trapped_gas_is_not_called_an_inner_leak():
    """0.78 bar at the port of a 0.8 bar line may be air that warmed: vent and watch."""
    result = held(0.0, line_pressure=0.8e5, first_reading=0.78e5)

    assert result.verdict == PlyVerdict.INCONCLUSIVE
    assert any("24 hours" in caution for caution in result.cautions)


def test_a_port_at_a_line_pressure_that_heat_cannot_explain_is_an_inner_leak():
    """2.1 bar at the port of a 2.2 bar line is the line."""
    assert held(0.0, line_pressure=2.2e5, first_reading=2.1e5).verdict == PlyVerdict.INNER


def test_a_coarse_tape_does_not_make_marks_agree():
    """A reading coarser than the band decides nothing; a fine one is judged as read."""
    move = MarkMovement(joint="J", bellows="-", hot_visit="h", cold_visit="c", axial=-0.030,
                        lateral=None, angular=None, uncertainty=0.012, closure=None)  # fmt: skip
    (coarse, *_) = compare(move, (-0.045, None, None), (-0.06, None, None), defaults())
    assert coarse.outcome == Outcome.NOT_EVALUATED

    import msgspec

    fine = msgspec.structs.replace(move, uncertainty=0.001)
    (judged, *_) = compare(fine, (-0.045, None, None), (-0.06, None, None), defaults())
    assert judged.outcome == Outcome.NOT_MET


def test_a_crossing_is_projected_for_the_coldest_of_the_year():
    """A slow fall with a wide season meets the line in winter, long before its mean does."""
    day = np.arange(20_000.0, 20_000.0 + 3 * 365)
    years = (day - day[-1]) / 365.25
    level = 273.15 + 222 - 6 * (years) + 14 * np.sin(2 * np.pi * day / 365.25)
    full = np.full(day.size, 86400.0)
    none = np.zeros(day.size)
    daily = DailyTemperature(tag="T", day=day, median=level, low=level - 2, high=level + 2,
                             good=full, bad=none, below=none, wet=none, above=none)  # fmt: skip
    last = dt.date(1970, 1, 1) + dt.timedelta(days=int(day[-1]))
    report = watch(daily, joint="J", bellows="A", limits=defaults(), today=last,
                   outage=last + dt.timedelta(days=250))  # fmt: skip
    (low,) = [c for c in report.crossings if c.line == "low"]

    assert low.date is not None
    assert (low.date - last).days < 1000  # the mean alone would take about 2.8 years
