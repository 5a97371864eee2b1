"""Every verdict of an interply test, and what keeps a held pressure from being a pass."""

import datetime as dt

import pytest

from takeup.checks import Outcome
from takeup.evidence import interply
from takeup.evidence.facts import Answer, Bubbles, InterplyReading, InterplyTest
from takeup.evidence.model import PlyVerdict
from takeup.limits import defaults
from takeup.units import ATMOSPHERE

LIMITS = defaults()
KEY = {"joint": "EJ-1", "bellows": "A", "date": dt.date(2026, 5, 4)}
MINUTES = (0, 5, 10, 15, 20, 30)


def run(pressures, *, minutes=MINUTES, kelvin=293.15, **changes):
    """Interpret a test that is well done but for ``changes``; pressures in kPa gauge."""
    head = {
        "line_pressure": 0.0,
        "atmospheric": ATMOSPHERE,
        "gas": "nitrogen",
        "port_to_port": Answer.YES,
        "fills": 3,
        "gauge_range": 100e3,
        "gauge_resolution": 250.0,
        "space_volume": 1.5e-3,
        "bubbles": Bubbles.NONE,
    }
    kelvins = kelvin if isinstance(kelvin, (list, tuple)) else [kelvin] * len(pressures)
    readings = [
        InterplyReading(**KEY, minute=60.0 * m, pressure=1e3 * p, temperature=t)
        for m, p, t in zip(minutes, pressures, kelvins, strict=False)
    ]
    return interply.interpret(InterplyTest(**KEY, **(head | changes)), readings, LIMITS)


HELD = [50.0] * 6
STEADY = [50.0, 46.0, 42.0, 38.0, 34.0, 26.0]
RELAXING = [50.0, 41.0, 37.0, 35.5, 35.0, 34.8]


def figure(result, id):
    """A figure's value, or None where it was not worked out."""
    return next((f.value for f in result.figures if f.id == id), None)


def outcome(result, id):
    """The outcome of one check."""
    return next(check.outcome for check in result.checks if check.id == id)


def test_a_held_pressure_with_the_port_proven_is_tight_and_no_more():
    """A pass is given, and says in words that it is no statement of life."""
    result = run(HELD)

    assert result.verdict is PlyVerdict.TIGHT
    assert any("no statement of life" in caution for caution in result.cautions)
    assert figure(result, "corrected_drop") == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("place", [Bubbles.OUTER, Bubbles.FITTING])
def test_a_steady_fall_with_bubbles_outside_is_the_outer_ply(place):
    """Bubbles where soap can reach tell of the outer ply, its welds or the connection."""
    result = run(STEADY, bubbles=place)

    assert result.verdict is PlyVerdict.OUTER
    assert place.value in result.why[0]


def test_a_steady_fall_without_bubbles_is_the_inner_ply():
    """What falls evenly and shows nowhere outside goes inward."""
    assert run(STEADY).verdict is PlyVerdict.INNER


def test_a_steady_fall_that_nobody_soaped_names_no_ply():
    """Without a look for bubbles the ply is not guessed; the look is asked for."""
    result = run(STEADY, bubbles=Bubbles.NOT_LOOKED)

    assert result.verdict is PlyVerdict.INCONCLUSIVE
    assert any("bubbles" in line for line in result.missing)


def test_line_pressure_at_the_port_is_the_inner_ply():
    """A port that stood at line pressure reads the process, before any gas is filled."""
    result = run(HELD, line_pressure=240e3, first_reading=235e3)

    assert result.verdict is PlyVerdict.INNER
    assert "line pressure" in result.why[0]


@pytest.mark.parametrize(
    ("line", "first"),
    [
        pytest.param(240e3, 78e3, id="sealed air heated from 20 to 250 C"),
        pytest.param(0.0, 78e3, id="line without pressure"),
        pytest.param(None, 78e3, id="line pressure not recorded"),
        pytest.param(240e3, None, id="port not read"),
    ],
)
def test_heat_in_trapped_gas_is_not_read_as_process(line, first):
    """A port far below line pressure, or a line without pressure, proves no leak."""
    assert run(HELD, line_pressure=line, first_reading=first).verdict is PlyVerdict.TIGHT


@pytest.mark.parametrize("found", ["catalyst fines", "black water", "oil", "condensate, pH 2"])
def test_process_from_the_port_is_the_inner_ply_whatever_the_gauge_held(found):
    """Liquid or solids of the process overrule a held pressure."""
    result = run(HELD, found=found)

    assert result.verdict is PlyVerdict.INNER
    assert found in result.why[0]


@pytest.mark.parametrize("found", ["none", "Nothing", "dry", " - ", "No."])
def test_a_port_from_which_nothing_came_is_no_leak(found):
    """The word none in the field for liquids is not a liquid."""
    assert run(HELD, found=found).verdict is PlyVerdict.TIGHT


@pytest.mark.parametrize("found", ["rust water", "some rusty water", "Rain water."])
def test_trapped_water_is_dried_out_before_a_ply_is_named(found):
    """Water of test or rain is no proof of a leak and no pass: dry, sample, repeat."""
    result = run(HELD, found=found)

    assert result.verdict is PlyVerdict.INCONCLUSIVE
    assert any("flashes" in caution for caution in result.cautions)


@pytest.mark.parametrize("proven", [None, Answer.NO])
@pytest.mark.parametrize("pressures", [HELD, STEADY])
def test_a_port_not_proven_open_is_never_a_result(proven, pressures):
    """Neither a held nor a falling pressure counts when gas may not reach the space."""
    result = run(pressures, port_to_port=proven)

    assert result.verdict is PlyVerdict.INCONCLUSIVE
    assert "port" in result.why[0]
    assert outcome(result, "interply.port") is (
        Outcome.NOT_EVALUATED if proven is None else Outcome.NOT_MET
    )


def test_a_short_hold_is_no_pass():
    """Ten minutes are not fifteen."""
    result = run(HELD[:3])

    assert result.verdict is PlyVerdict.INCONCLUSIVE
    assert "10 min" in result.why[0]


@pytest.mark.parametrize("kelvin", [None, [293.15, None, None, None, None, None]])
def test_without_temperatures_nothing_is_concluded(kelvin):
    """First and last need a temperature at the bellows: a few kelvin feign or hide a leak."""
    result = run(HELD, kelvin=kelvin)

    assert result.verdict is PlyVerdict.INCONCLUSIVE
    assert any("temperature" in line for line in result.missing)
    assert figure(result, "corrected_drop") is None


@pytest.mark.parametrize("count", [0, 1])
def test_fewer_than_two_readings_conclude_nothing(count):
    """One reading of a gauge is no hold."""
    assert run(HELD[:count]).verdict is PlyVerdict.INCONCLUSIVE


def test_fast_then_slow_is_relaxation_and_asks_for_another_fill():
    """A fall that dies away is the space growing, not a hole."""
    result = run(RELAXING)

    assert result.verdict is PlyVerdict.INCONCLUSIVE
    assert "relaxes" in result.why[0]


@pytest.mark.parametrize("fills", [None, 0, 2])
def test_a_fall_before_conditioning_names_no_ply(fills):
    """Side walls may still relax until the wanted number of fills."""
    assert run(STEADY, fills=fills).verdict is PlyVerdict.INCONCLUSIVE


def test_a_gauge_too_coarse_to_see_the_accepted_drop_gives_no_pass():
    """Divisions of 5 kPa cannot show a drop of 5 kPa."""
    result = run(HELD, gauge_resolution=5e3)

    assert result.verdict is PlyVerdict.INCONCLUSIVE
    assert "coarse" in result.why[0]


def test_over_pressure_is_told_as_a_caution():
    """Above the site's limit the inner ply sees buckling from outside: look for a soft spot."""
    high, right = run([90.0] * 6), run(HELD)

    assert outcome(high, "interply.pressure") is Outcome.NOT_MET
    assert any("buckle" in caution for caution in high.cautions)
    assert not any("buckle" in caution for caution in right.cautions)


def test_pressure_that_will_not_build_is_neither_pass_nor_named_ply():
    """A hole, an open far port, or both plies: tried again before anything is said."""
    result = run([3.0, 1.0, 0.0, 0.0, 0.0, 0.0])

    assert result.verdict is PlyVerdict.INCONCLUSIVE
    assert "did not build" in result.why[0]


def test_gas_lost_is_told_where_no_ply_can_be_named():
    """A fall that nobody soaped and a space that will not build lose gas; a pass does not."""
    assert interply.shows_loss(run(STEADY, bubbles=Bubbles.NOT_LOOKED))
    assert interply.shows_loss(run([3.0, 1.0, 0.0, 0.0, 0.0, 0.0]))
    assert not interply.shows_loss(run(HELD))
    assert not interply.shows_loss(run(HELD, port_to_port=None))


def test_a_weak_fill_is_no_test():
    """Below the least usable pressure a held gauge proves nothing."""
    result = run([15.0] * 6)

    assert result.verdict is PlyVerdict.INCONCLUSIVE
    assert "noise" in result.why[0]


def test_cooling_that_looks_like_a_leak_is_corrected_away():
    """A gauge that falls by 15 kPa because the bellows cooled by 30 K has lost nothing."""
    start = 50e3 + ATMOSPHERE
    cold = (start * 263.15 / 293.15 - ATMOSPHERE) / 1e3
    result = run([50.0, 48, 46, 44, 42, cold], kelvin=[293.15, 290, 285, 280, 272, 263.15])

    assert cold < 0.9 * 50.0
    assert result.verdict is PlyVerdict.TIGHT


def test_warming_that_hides_a_leak_is_seen():
    """A gauge that stands still while the bellows warms by 30 K is losing gas."""
    result = run(HELD, kelvin=[293.15, 298, 303, 308, 313, 323.15])

    assert result.verdict is PlyVerdict.INNER


def test_a_corrected_rise_is_no_pass():
    """Pressure from the line, or a wrong temperature, is not tightness."""
    result = run([50.0, 52, 54, 56, 58, 62])

    assert result.verdict is PlyVerdict.INCONCLUSIVE
    assert "rose" in result.why[0]


def test_without_a_volume_no_leak_rate_is_given_but_the_drop_is_judged():
    """An unknown volume is asked for; what does not need it is still worked out."""
    result = run(STEADY, space_volume=None)

    assert figure(result, "leak_rate") is None
    assert figure(result, "smallest_leak") is None
    assert figure(result, "corrected_drop") == pytest.approx(24e3)
    assert any("volume" in line for line in result.missing)
    assert result.verdict is PlyVerdict.INNER


def test_leak_rate_and_smallest_leak_follow_from_volume_time_and_gauge():
    """24 kPa lost from 1.5 L in half an hour; two divisions of 250 Pa would just show."""
    result = run(STEADY)

    assert figure(result, "leak_rate") == pytest.approx(1.5e-3 * 24e3 / 1800)
    assert figure(result, "smallest_leak") == pytest.approx(1.5e-3 * 2 * 250 / 1800)


def test_all_verdicts_can_be_reached():
    """No verdict of the list is out of reach of a test."""
    reached = {
        run(HELD).verdict,
        run(STEADY).verdict,
        run(STEADY, bubbles=Bubbles.OUTER).verdict,
        run(HELD, port_to_port=None).verdict,
    }

    assert reached == set(PlyVerdict)
