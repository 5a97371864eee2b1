"""Steps and bends of a history are found where they are, and not where they are not."""

from __future__ import annotations

import numpy as np
import pytest

from takeup.errors import MissingInput, OutOfRange
from takeup.evidence.changes import changes, noise_of
from takeup.evidence.separate import separate

NILE = np.array(
    [
        1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960,
        1180, 799, 958, 1140, 1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694,
        940, 833, 701, 916, 692, 1020, 1050, 969, 831, 726, 456, 824, 702, 1120, 1100, 832, 764,
        821, 768, 845, 864, 862, 698, 845, 744, 796, 1040, 759, 781, 865, 845, 944, 984, 897, 822,
        1010, 771, 676, 649, 846, 812, 742, 801, 1040, 860, 874, 848, 890, 744, 749, 838, 1050,
        918, 986, 797, 923, 975, 815, 1020, 906, 901, 1170, 912, 746, 919, 718, 714, 740,
    ],
    dtype=float,
)  # fmt: skip
"""Annual flow of the Nile at Aswan, 1871 to 1970 (Cobb 1978; from memory), 1e8 m3"""


def test_the_nile_changed_in_1898() -> None:
    """The published change of level, 1898, and no other; from about 1098 to 850."""
    found = changes(np.arange(1871.0, 1971.0), NILE, least=10, sloped=False)

    assert [change.day for change in found.changes] == [1899.0]
    assert found.pieces[0].level == pytest.approx(1097.75, abs=0.01)
    assert found.pieces[1].level == pytest.approx(849.97, abs=0.01)
    assert found.changes[0].is_step


def noisy(seed: int, size: int, common: float = 0.0, noise: float = 1.5) -> np.ndarray:
    """Noise with something in common between neighbours."""
    dice = np.random.default_rng(seed)
    out = dice.normal(0.0, noise, size)
    for k in range(1, size):
        out[k] += common * out[k - 1]
    return out


def test_a_step_is_dated_to_days_and_sized() -> None:
    """8 K down on day 900 of 1500: found within two days, its size within three uncertainties."""
    day = np.arange(1500.0)
    value = 400.0 + noisy(1, 1500) - 8.0 * (day >= 900)

    found = changes(day, value)

    (change,) = found.changes
    assert abs(change.day - 900.0) <= 2.0
    assert change.step == pytest.approx(-8.0, abs=3.0 * change.step_spread)
    assert change.step_spread < 1.0
    assert found.noise == pytest.approx(1.5, rel=0.1)


def test_a_bend_is_a_change_of_slope_and_not_a_step() -> None:
    """A drift of -0.05 K a day from day 700 on."""
    day = np.arange(1400.0)
    value = 420.0 + noisy(2, 1400) - 0.05 * np.maximum(day - 700.0, 0.0)

    found = changes(day, value)

    (change,) = found.changes
    assert abs(change.day - 700.0) < 60.0
    assert not change.is_step
    assert change.slope_before == pytest.approx(0.0, abs=0.005)
    assert change.slope_after == pytest.approx(-0.05, abs=0.005)


@pytest.mark.parametrize("seed", range(8))
def test_healthy_noise_with_memory_is_left_whole(seed: int) -> None:
    """Neighbouring days that share half of their noise do not make changes."""
    found = changes(np.arange(1200.0), 400.0 + noisy(seed + 10, 1200, common=0.5))

    assert found.changes == ()
    assert found.common == pytest.approx(0.5, abs=0.12)


def test_noise_is_blind_to_steps_and_slopes() -> None:
    """Read from second differences."""
    day = np.arange(2000.0)
    value = noisy(3, 2000) + 0.3 * day + 200.0 * (day > 1000)

    assert noise_of(value) == pytest.approx(1.5, rel=0.06)


def test_unsorted_days_and_short_histories_are_refused() -> None:
    """Said in words, with what would be right."""
    with pytest.raises(OutOfRange, match="Sort"):
        changes(np.array([*range(30), 5.0]), np.zeros(31))
    with pytest.raises(OutOfRange, match="longer"):
        changes(np.arange(10.0), np.zeros(10))


def test_gas_and_air_are_taken_out_and_condition_remains() -> None:
    """0.12 K a kelvin of gas and 0.7 of air: found within uncertainty; a step stays in."""
    day = np.arange(1000.0)
    dice = np.random.default_rng(5)
    air = 288.0 + 12.0 * np.cos(day / 365.25 * 2 * np.pi) + dice.normal(0.0, 2.0, 1000)
    gas = 950.0 + dice.normal(0.0, 12.0, 1000)
    step = -9.0 * (day >= 600)
    value = 380.0 + 0.12 * (gas - 950.0) + 0.7 * (air - 288.0) + step + dice.normal(0.0, 0.8, 1000)

    found = separate(day, value, {"gas": gas, "air": air}, sound=(0.0, 550.0))

    assert found.by["gas"] == pytest.approx(0.12, abs=4.0 * found.spread["gas"])
    assert found.by["air"] == pytest.approx(0.7, abs=4.0 * found.spread["air"])
    assert found.spread["air"] < 0.02
    (change,) = changes(day, found.condition).changes
    assert abs(change.day - 600.0) <= 2.0
    assert change.step == pytest.approx(-9.0, abs=0.6)


def test_a_driver_that_stood_still_is_said_to_be_unknown() -> None:
    """No slope is made up for it."""
    day = np.arange(200.0)
    found = separate(
        day, 400.0 + noisy(7, 200), {"gas": np.full(200, 900.0), "air": 280.0 + noisy(8, 200) * 4}
    )

    assert "gas" not in found.by
    assert "hardly moved" in found.notes[0]


def test_too_few_days_are_asked_for() -> None:
    """With the number that is lacking."""
    with pytest.raises(MissingInput, match="60 days"):
        separate(np.arange(40.0), np.zeros(40), {"gas": np.arange(40.0)})


def test_the_drift_is_the_librarys_theil_sen() -> None:
    """Median of pairwise slopes of the Nile before 1899, as scipy's theilslopes finds it."""
    from scipy.stats import theilslopes

    from takeup.evidence.temperature import _theil_sen

    years = np.arange(1871.0, 1899.0)
    theirs = theilslopes(NILE[:28], years)

    slope, _ = _theil_sen(years, NILE[:28], 1898.0)

    assert slope == pytest.approx(float(theirs[0]), rel=1e-12)
