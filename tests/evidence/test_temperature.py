"""A drift is found with its uncertainty, none is made up, and bad data are told."""

import datetime as dt
import warnings

import numpy as np
import pytest

from takeup.checks import Outcome
from takeup.evidence import temperature
from takeup.limits import defaults
from takeup.register import series

LIMITS = defaults()
LOW, WET, HIGH = (LIMITS.value(f"temperature.{name}") for name in ("low_from", "low_to", "high"))
LINES = {"low_from": LOW, "low_to": WET, "high": HIGH}
TODAY = dt.date(2026, 9, 1)
OUTAGE = dt.date(2027, 8, 15)
LAST = (TODAY - dt.date(1970, 1, 1)).days


def history(
    *, years=4.0, level=300.0, drift=0.0, since=1.0, season=10.0, noise=3.0, trips=3, seed=1
):
    """Daily figures [level in C, drift in K a year over the last ``since`` years].

    Weather comes and goes over some ten days; trips cool the bellows for five days each.
    """
    dice = np.random.default_rng(seed)
    day = np.arange(LAST - int(365.25 * years), LAST, dtype=float)
    ago = (day - day[-1]) / 365.25
    value = level + 273.15 + season * np.cos(2 * np.pi * day / 365.25 + 0.7)
    value += drift * np.maximum(ago, -since)
    weather, keep = np.zeros(day.size), 0.9
    for n in range(1, day.size):
        weather[n] = keep * weather[n - 1] + dice.normal(0, noise * np.sqrt(1 - keep**2))
    value += weather
    for start in dice.integers(0, day.size - 60, trips):
        value[start : start + 5] = 330.0
    return daily(day, value)


def daily(day, median, *, swing=2.0, bad=0.0):
    """Daily figures of which every day has ``bad`` of its time in bad quality."""
    known = np.isfinite(median)
    good = np.where(known, 86400.0 * (1 - bad), 0.0)
    low, high = median - swing, median + swing
    return temperature.DailyTemperature(
        tag="TI-1",
        day=np.asarray(day, float),
        median=median,
        low=low,
        high=high,
        good=good,
        bad=86400.0 - good,
        below=np.where(median < LOW, good, 0.0),
        wet=np.where(median < WET, good, 0.0),
        above=np.where(median > HIGH, good, 0.0),
    )


def watch(figures, **changes):
    """Judge a history with the usual site."""
    given = {
        "joint": "EJ-1",
        "bellows": "A",
        "limits": LIMITS,
        "today": TODAY,
        "outage": OUTAGE,
    } | changes
    return temperature.watch(figures, **given)


def figure(report, id):
    """A figure's value."""
    return next(f.value for f in report.figures if f.id == id)


def crossing(report, line):
    """The crossing of one line."""
    return next(c for c in report.crossings if c.line == line)


@pytest.mark.parametrize("drift", [-60.0, -25.0, 40.0])
def test_a_known_drift_is_recovered_within_its_uncertainty(drift):
    """Season, weather and trips are told apart from the drift, for most of ten histories."""
    hits = 0
    for seed in range(10):
        found = temperature.trend(*_xy(history(drift=drift, seed=seed)))
        hits += abs(found.slope * 365.25 - drift) <= 2.5 * found.spread * 365.25
        assert abs(found.slope * 365.25 - drift) < 12.0
    assert hits >= 8


def _xy(figures):
    return figures.day, figures.median


def test_without_drift_one_is_rarely_found():
    """Of forty steady histories few drift by more than twice their uncertainty, none is called."""
    false, called = 0, 0
    for seed in range(40):
        figures = history(seed=seed)
        found = temperature.trend(*_xy(figures))
        false += abs(found.slope) > 2.0 * found.spread
        called += watch(figures).state != "in band"
    assert false <= 6
    assert called == 0


def test_a_fall_is_called_with_the_date_it_crosses_the_low_line():
    """100 K above the line, 80 K a year: it crosses in a year and a quarter, give or take."""
    report = watch(history(level=305.0, drift=-80.0, season=8.0))
    found = crossing(report, "low")
    due = TODAY + dt.timedelta(days=365.25 * 100 / 80)

    assert report.state == "falling"
    assert abs((found.date - due).days) < 60
    assert found.earliest <= found.date <= found.latest
    assert any("low line around" in line for line in report.why) == (
        found.chance_before_outage >= 0.02
    )
    assert crossing(report, "high").date is None


def test_a_faster_fall_or_a_later_outage_has_the_larger_chance():
    """The chance of crossing grows with the drift and with the time left."""
    slow = crossing(watch(history(level=290.0, drift=-70.0)), "low").chance_before_outage
    fast = crossing(watch(history(level=290.0, drift=-90.0)), "low").chance_before_outage
    late = crossing(
        watch(history(level=290.0, drift=-70.0), outage=OUTAGE + dt.timedelta(days=300)), "low"
    ).chance_before_outage

    assert 0.0 <= slow < fast <= 1.0
    assert slow < late <= 1.0


def test_a_rise_is_called_rising():
    """Toward the high line a lost blanket shows."""
    report = watch(history(level=450.0, drift=60.0))

    assert report.state == "rising"
    assert crossing(report, "high").date is not None


@pytest.mark.parametrize(("level", "state"), [(180.0, "below"), (520.0, "above")])
def test_beyond_a_line_the_state_is_that_line(level, state):
    """Standing beyond an action line comes before any drift, and its check is not met."""
    report = watch(history(level=level, season=0.0, trips=0))
    check = next(c for c in report.checks if c.id.startswith(f"temperature.{_line(state)}"))

    assert report.state == state
    assert check.outcome is Outcome.NOT_MET


def _line(state):
    return "low" if state == "below" else "high"


def test_without_an_outage_no_chance_is_given():
    """A chance needs a date."""
    report = watch(history(drift=-80.0), outage=None)

    assert crossing(report, "low").chance_before_outage is None
    assert crossing(report, "low").date is not None


def test_hours_and_days_are_counted_from_the_start_of_the_run():
    """What was wet before the last outage belongs to another run."""
    day = np.arange(LAST - 400, LAST, dtype=float)
    value = np.full(day.size, 573.15)
    value[:50] = 373.15
    value[-10:] = 373.15
    whole = watch(daily(day, value))
    run = watch(daily(day, value), run_start=TODAY - dt.timedelta(days=200))

    assert figure(whole, "hours_wet") == pytest.approx(60 * 86400)
    assert figure(run, "hours_wet") == pytest.approx(10 * 86400)
    assert figure(run, "days_below") == pytest.approx(10 * 86400)


def test_gaps_are_told_and_lower_the_coverage():
    """Thirty days without data are a gap, not a temperature."""
    day = np.arange(LAST - 300, LAST, dtype=float)
    keep = (day < LAST - 150) | (day >= LAST - 120)
    report = watch(daily(day[keep], np.full(int(keep.sum()), 573.15)))

    assert any("1 gaps of over a week, the longest of 31 days" in line for line in report.why)
    assert figure(report, "coverage") == pytest.approx(0.9)


def test_a_stuck_sensor_is_a_caution():
    """Thirty days without the least movement are no bellows."""
    dice = np.random.default_rng(3)
    day = np.arange(LAST - 200, LAST, dtype=float)
    value = 573.15 + dice.normal(0, 2, day.size)
    figures = daily(day, value)
    assert not any("stuck" in caution for caution in watch(figures).cautions)

    value[100:130] = 570.0
    stuck = daily(day, value)
    stuck.low[100:130] = stuck.high[100:130] = 570.0
    assert any("stuck" in caution for caution in watch(stuck).cautions)


def test_a_doubtful_unit_is_asked():
    """900 degrees at a bellows are more likely Fahrenheit."""
    report = watch(history(level=900.0, season=0.0, trips=0))

    assert any("is the unit right" in caution for caution in report.cautions)


def test_bad_quality_is_told_with_its_share():
    """A tenth of the time in bad quality is said."""
    day = np.arange(LAST - 100, LAST, dtype=float)
    report = watch(daily(day, np.full(day.size, 573.15), bad=0.1))

    assert any("10% of the time" in line for line in report.why)


def test_no_good_reading_is_an_instrument_fault_and_no_temperature():
    """Nothing is judged, nothing crosses, and the words say why."""
    day = np.arange(LAST - 100, LAST, dtype=float)
    report = watch(daily(day, np.full(day.size, np.nan)))

    assert report.state == "no data"
    assert (report.checks, report.crossings, report.figures) == ((), (), ())
    assert "instrument" in report.why[0]


def test_an_empty_history_is_no_data():
    """A file without rows is no reason to fall over."""
    assert watch(daily([], np.array([]))).state == "no data"


def test_too_little_data_gives_no_trend():
    """Six weeks say where it stands, not where it goes."""
    report = watch(history(years=42 / 365.25, trips=0))

    assert report.crossings == ()
    assert not any(f.id == "trend" for f in report.figures)
    assert any("too little" in line for line in report.why)


def test_a_stale_history_judges_nothing():
    """A history that ended ninety days ago leaves its checks not evaluated."""
    report = watch(history(), today=TODAY + dt.timedelta(days=90))

    assert {check.outcome for check in report.checks} == {Outcome.NOT_EVALUATED}
    assert any("stale" in line for line in report.why)


def test_the_same_history_gives_the_same_report():
    """Resampling is seeded: no two answers."""
    assert watch(history(drift=-40.0)) == watch(history(drift=-40.0))


def test_missing_days_raise_no_warning():
    """Days without a good reading are left out silently by the arithmetic."""
    figures = history()
    figures.median[::7] = figures.low[::7] = figures.high[::7] = np.nan
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        watch(figures)


def test_arrays_and_kept_files_give_the_same_daily_figures(tmp_path):
    """The pure rule and the database's agree: gaps, bad quality and lines alike."""
    dice = np.random.default_rng(11)
    start = LAST * 86400.0
    seconds = start + 600.0 * np.arange(6 * 24 * 12)
    keep = np.ones(seconds.size, bool)
    keep[200:420] = False
    seconds = seconds[keep]
    kelvin = dice.integers(4 * 360, 4 * 820, seconds.size) / 4.0  # kept to 0.01 K: exact here
    good = dice.random(seconds.size) > 0.1
    file = series.keep_arrays(tmp_path, seconds, kelvin, good)

    kept = series.daily(tmp_path / file, "T", **LINES)
    pure = temperature.daily_from_arrays(seconds, kelvin, good, tag="T", **LINES)

    for name in ("day", "median", "low", "high", "good", "bad", "below", "wet", "above"):
        assert getattr(pure, name) == pytest.approx(getattr(kept, name), rel=1e-6), name
