"""The study of tolerances: samples, intervals, drivers, and what the report says."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from takeup.bellows import arrays, evaluate
from takeup.bellows.model import (
    Basis,
    BellowsCase,
    Condition,
    Convolution,
    Movement,
    Treatment,
)
from takeup.bellows.uncertainty import (
    CheckSpread,
    Direction,
    Sampling,
    Shape,
    Sheet,
    Spread,
    UncertaintyReport,
    drivers,
    inputs,
    sampling,
    sheet_tolerance,
    spread,
    usual,
)
from takeup.checks import Outcome
from takeup.errors import Contradiction, MissingInput, OutOfRange, UnknownName
from takeup.sources import assumption

SOURCE = assumption("invented for the tests")
BOTH = pytest.mark.parametrize("layout", list(Sampling))


def spread_of(input: str, **changes: Any) -> Spread:
    """A spread of one input: a tenth to either side, unless changed."""
    values: dict[str, Any] = {"input": input, "minus": 0.1, "plus": 0.1, "relative": True}
    return Spread(source=SOURCE, **{**values, **changes})


# --- points and distributions --------------------------------------------------------------


@BOTH
def test_the_same_seed_gives_the_same_points_and_another_does_not(layout: Sampling) -> None:
    """A study can be repeated to the last bit from its seed."""
    first = sampling.points(256, 5, seed=3, sampling=layout)
    assert np.array_equal(first, sampling.points(256, 5, seed=3, sampling=layout))
    assert not np.array_equal(first, sampling.points(256, 5, seed=4, sampling=layout))
    assert ((first > 0.0) & (first < 1.0)).all()


def test_sobol_points_between_powers_of_two_are_refused() -> None:
    """1000 is refused, and the message names 512, 1024 and the other layout."""
    with pytest.raises(OutOfRange, match=r"512 to 1024.*Latin hypercube"):
        sampling.points(1000, 2, seed=1, sampling=Sampling.SOBOL)
    assert len(sampling.points(1000, 2, seed=1, sampling=Sampling.LATIN)) == 1000


EXACT = {
    "uniform": (spread_of("pitch", minus=1.0, plus=3.0), stats.uniform(-1.0, 4.0)),
    "triangular": (
        spread_of("pitch", shape=Shape.TRIANGULAR, minus=1.0, plus=3.0),
        stats.triang(0.25, -1.0, 4.0),
    ),
    "one-sided": (
        spread_of("pitch", shape=Shape.TRIANGULAR, minus=0.0, plus=2.0),
        stats.triang(0.0, 0.0, 2.0),
    ),
    "normal": (
        spread_of("pitch", shape=Shape.NORMAL, deviation=0.7, minus=math.inf, plus=math.inf),
        stats.norm(0.0, 0.7),
    ),
    "cut": (
        spread_of("pitch", shape=Shape.NORMAL, deviation=0.7, minus=1.0, plus=0.5),
        stats.truncnorm(-1.0 / 0.7, 0.5 / 0.7, 0.0, 0.7),
    ),
}


@pytest.mark.parametrize("name", EXACT)
def test_samples_follow_their_distribution(name: str) -> None:
    """Values at given probabilities are those of an independent implementation."""
    given_spread, exact = EXACT[name]
    u = np.array([1e-6, 0.01, 0.2, 0.25, 0.5, 0.77, 0.99, 1.0 - 1e-6])
    assert sampling.offsets(given_spread, u) == pytest.approx(exact.ppf(u), abs=1e-9)


def test_relative_and_absolute_amounts() -> None:
    """A tenth of 50 mm to either side is 45 to 55 mm; 2 mm to either side 48 to 52 mm."""
    u = np.array([0.0, 0.5, 1.0])
    share = sampling.values(spread_of("height"), u, 0.05)
    assert share == pytest.approx([0.045, 0.05, 0.055])
    amount = spread_of("height", minus=0.002, plus=0.002, relative=False)
    assert sampling.values(amount, u, 0.05) == pytest.approx([0.048, 0.05, 0.052])


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"shape": Shape.NORMAL}, "no standard deviation"),
        ({"deviation": 0.1}, "make it normal"),
        ({"minus": math.inf}, "an amount below and an amount above"),
        ({"minus": 0.0, "plus": 0.0}, "leave it out"),
    ],
)
def test_a_spread_that_contradicts_itself_is_refused(changes: dict[str, Any], words: str) -> None:
    """The message says what is wrong with which input."""
    with pytest.raises(Contradiction, match=words) as fault:
        sampling.refuse(spread_of("ply_thickness", **changes))
    assert "ply thickness t" in str(fault.value)


def test_a_negative_amount_is_refused() -> None:
    """Amounts are to either side, never negative, never NaN."""
    for amount in (-0.1, math.nan):
        with pytest.raises(OutOfRange, match="ply thickness"):
            sampling.refuse(spread_of("ply_thickness", minus=amount))


# --- intervals -----------------------------------------------------------------------------


def test_no_failure_is_an_upper_bound_and_never_zero() -> None:
    """None of 1000 failed: fewer than 3 in 1000, the rule of three; and the mirror image."""
    none, every = drivers.share(0, 1000), drivers.share(1000, 1000)
    assert none.low == 0.0
    assert none.high == pytest.approx(1.0 - 0.05 ** (1.0 / 1000.0))
    assert none.high == pytest.approx(3.0 / 1000.0, rel=0.01)
    assert every.low == pytest.approx(1.0 - none.high)
    assert every.high == 1.0
    assert "fewer than 0.3 %" in none.said()
    assert "more than" in every.said()


def test_samples_that_were_not_evaluated_count_as_either() -> None:
    """Of 1000, 20 failed and 100 are open: at least as 20 in 1000, at most as 120 in 1000."""
    found = drivers.share(20, 1000, 100)
    assert found.value == 0.02
    assert found.low == drivers.share(20, 1000).low
    assert found.high == drivers.share(120, 1000).high
    assert drivers.share(0, 1000, 100).high == drivers.share(100, 1000).high


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 400))
def test_the_interval_holds_the_share_and_narrows(failed: int) -> None:
    """It lies around the share seen, inside 0 to 1, and four times the samples halve it."""
    few, many = drivers.share(failed, 500), drivers.share(4 * failed, 2000)
    assert 0.0 < few.low < few.value < few.high < 1.0
    assert (many.high - many.low) == pytest.approx((few.high - few.low) / 2.0, rel=0.2)


def test_the_interval_catches_the_truth_as_often_as_it_says() -> None:
    """Over 4000 repetitions with a known share, about 95 % of intervals hold it."""
    rng = np.random.default_rng(11)
    for truth in (0.02, 0.3):
        counts = rng.binomial(400, truth, 4000)
        ends = {int(k): drivers.share(int(k), 400) for k in np.unique(counts)}
        held = [ends[int(k)].low <= truth <= ends[int(k)].high for k in counts]
        assert 0.93 < np.mean(held) < 0.975


# --- drivers -------------------------------------------------------------------------------


def points_with_idle(count: int, inputs: int, layout: Sampling) -> tuple[Any, Any]:
    """Points of some inputs, and eight idle columns of the same set."""
    u = sampling.points(count, inputs + 8, seed=5, sampling=layout)
    return u[:, :inputs], u[:, inputs:]


@BOTH
def test_shares_of_the_ishigami_function_are_the_known_ones(layout: Sampling) -> None:
    """First-order indices of sin x1 + 7 sin^2 x2 + 0.1 x3^4 sin x1: 0.3139, 0.4424, 0."""
    u, idle = points_with_idle(2**14, 3, layout)
    x = np.pi * (2.0 * u - 1.0)
    y = np.sin(x[:, 0]) + 7.0 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])
    shares, noise = drivers.first_order(u, idle, y[:, None])
    assert shares[:, 0] == pytest.approx([0.3139, 0.4424, 0.0], abs=0.015)
    assert noise[0] < 0.006


@BOTH
def test_shares_of_a_sum_are_the_variances(layout: Sampling) -> None:
    """y = 4 a + 2 b + c of like inputs: 16/21, 4/21, 1/21 and nothing left over."""
    u, idle = points_with_idle(2**12, 4, layout)
    y = u @ np.array([4.0, 2.0, 1.0, 0.0])
    shares, noise = drivers.first_order(u, idle, y[:, None])
    assert shares[:, 0] == pytest.approx([16 / 21, 4 / 21, 1 / 21, 0.0], abs=0.015)
    assert abs(shares[3, 0]) < noise[0]


def test_an_input_that_only_acts_with_another_has_no_share_of_its_own() -> None:
    """y = (a - 1/2)(b - 1/2): neither drives it alone; a rank correlation agrees."""
    u, idle = points_with_idle(2**12, 2, Sampling.SOBOL)
    y = (u[:, 0] - 0.5) * (u[:, 1] - 0.5)
    shares, _ = drivers.first_order(u, idle, y[:, None])
    assert np.abs(shares).max() < 0.02


def test_an_input_that_acts_both_ways_is_found_where_correlation_is_blind() -> None:
    """y = (a - 1/2)^2: the share is one although the rank correlation is nothing."""
    u, idle = points_with_idle(2**12, 2, Sampling.SOBOL)
    y = ((u[:, 0] - 0.5) ** 2)[:, None]
    shares, _ = drivers.first_order(u, idle, y)
    assert shares[0, 0] > 0.97
    assert abs(drivers.correlations(drivers.ranks(u), drivers.ranks(y))[0, 0]) < 0.02


def test_a_result_that_does_not_vary_has_no_driver() -> None:
    """A constant gives zeros, not the ratio of two roundings."""
    u, idle = points_with_idle(1024, 2, Sampling.SOBOL)
    shares, _ = drivers.first_order(u, idle, np.full((1024, 1), 1.0 / 3.0))
    assert np.abs(shares).max() == 0.0
    flat = drivers.correlations(drivers.ranks(u), drivers.ranks(np.ones((1024, 1))))
    assert np.abs(flat).max() == 0.0


# --- tolerances to start from ---------------------------------------------------------------


def test_sheet_tolerances_are_those_of_the_tables() -> None:
    """Sheet of 0.5, 1.0 and 1.5 mm by both standards; a border belongs to the thicker row."""
    assert sheet_tolerance(0.5e-3) == pytest.approx(0.05e-3)
    assert sheet_tolerance(1.0e-3) == pytest.approx(0.07e-3)
    assert sheet_tolerance(0.99e-3) == pytest.approx(0.06e-3)
    assert sheet_tolerance(1.5e-3) == pytest.approx(0.09e-3)
    assert sheet_tolerance(1.0e-3, Sheet.ASTM) == pytest.approx(0.004 * 25.4e-3)
    assert sheet_tolerance(1.5e-3, Sheet.ASTM) == pytest.approx(0.006 * 25.4e-3)
    with pytest.raises(OutOfRange, match="by hand"):
        sheet_tolerance(6e-3)


# --- the study ------------------------------------------------------------------------------


def case(**changes: Any) -> BellowsCase:
    """A sound two-ply 321 bellows of DN 600, changed as asked."""
    values: dict[str, Any] = {
        "name": "EJ-1 A",
        "inside_diameter": 0.6,
        "height": 0.05,
        "pitch": 0.048,
        "convolutions": 8,
        "plies": 2,
        "ply_thickness": 0.001,
        "tangent_length": 0.05,
        "material": "321",
        "treatment": Treatment.AS_FORMED,
        "forming_factor": 0.6,
        "weld_factor": 1.0,
        "conditions": (
            Condition(name="design", pressure=3.5e5, temperature=673.15),
            Condition(name="operating", pressure=3.0e5, temperature=633.15),
        ),
        "movements": (
            Movement(name="start", axial=-0.02, lateral=0.005, cycles=300.0),
            Movement(name="trip", axial=-0.01, cycles=500.0),
        ),
    }
    return BellowsCase(**{**values, **changes})


TORUS = case(
    convolution=Convolution.TOROIDAL, height=None, torus_radius=0.02, mean_diameter=0.66,
    pitch=0.06, basis=Basis.EJMA,
)  # fmt: skip
RINGED = case(convolution=Convolution.U_REINFORCED, ring_area=2e-4, ring_material="321")


def of(report: UncertaintyReport, id: str) -> CheckSpread:
    """The check called ``id``, which must be there."""
    return next(found for found in report.checks if found.id == id)


def one(report: UncertaintyReport, id: str) -> Any:
    """The share of a check that was evaluated."""
    share = of(report, id).share
    assert share is not None
    return share


def test_every_sample_is_what_the_engine_says_of_that_bellows() -> None:
    """Rows of the study are, bit for bit, the reports of cases with those very numbers."""
    base = case()
    spreads = (
        spread_of("ply_thickness"),
        spread_of("pitch"),
        spread_of("height"),
        spread_of("inside_diameter"),
        spread_of("pressure@operating"),
        spread_of("temperature", minus=20.0, plus=20.0, relative=False),
        spread_of("axial@start"),
        spread_of("lateral"),
        spread_of("cycles"),
        spread_of("weld_factor", minus=0.3, plus=0.0),
    )
    count = 64
    u = sampling.points(count, len(spreads), seed=2, sampling=Sampling.SOBOL)
    shift = inputs.shifts(base, spreads, u)
    problem, bad, _ = inputs.sampled(base, shift, count)
    ratios = arrays.solve(problem).ratios
    assert not bad.any()
    b = problem.setting.bellows
    for row in (0, 17, 63):

        def at(value: Any, row: int = row) -> float:
            return float(value if np.ndim(value) == 0 else value[row])

        alone = case(
            inside_diameter=at(b.inside_diameter),
            height=at(b.height),
            pitch=at(b.pitch),
            ply_thickness=at(b.ply_thickness),
            weld_factor=at(problem.setting.weld_factor),
            conditions=tuple(
                Condition(name=s.name, pressure=at(s.pressure), temperature=at(s.temperature))
                for s in problem.states
            ),
            movements=tuple(
                Movement(name=m.name, axial=at(m.axial), lateral=at(m.lateral), cycles=at(m.cycles))
                for m in problem.movements
            ),
        )
        told = {
            check.id: check.ratio
            for check in evaluate(alone).checks
            if check.outcome in {Outcome.MET, Outcome.NOT_MET} and check.id in ratios
        }
        assert len(told) > 15
        for id, ratio in told.items():
            if id != "geometry.charts":  # a span: the report shows one end, the array the nearer
                assert ratios[id][row] == ratio, id


def test_the_same_seed_gives_the_same_report() -> None:
    """A study can be repeated; another seed gives another, within the interval."""
    spreads = usual(case())
    first = spread(case(), spreads, samples=2048, seed=1)
    assert spread(case(), spreads, samples=2048, seed=1) == first
    assert spread(case(), spreads, samples=2048, seed=2) != first


@pytest.mark.parametrize("whole", [case(), TORUS, RINGED, case(basis=Basis.EN_13445)])
def test_the_usual_spreads_suit_every_shape(whole: BellowsCase) -> None:
    """Each check of the report is there, with drivers that add to no more than all of it."""
    report = spread(whole, usual(whole), samples=1024, seed=4)
    told = {found.id for found in report.checks}
    expected = {
        check.id
        for check in evaluate(whole).checks
        if check.outcome in {Outcome.MET, Outcome.NOT_MET} and check.id != "creep"
    }
    assert expected <= told
    for found in report.checks:
        total = sum(driver.share for driver in found.drivers)
        assert total <= 1.03, found.id
        assert total + found.together == pytest.approx(max(1.0, total)) or not found.drivers
        assert [d.share for d in found.drivers] == sorted(
            (d.share for d in found.drivers), reverse=True
        )


@pytest.mark.parametrize("ratio", [0.93, 1.0, 1.08])
def test_a_share_that_can_be_worked_out_by_hand(ratio: float) -> None:
    """Pressure alone within a tenth either way: S2 fails where the draw is above 1 / ratio."""
    base = case()
    found = next(c for c in evaluate(base).checks if c.id == "S2@design")
    assert found.ratio is not None
    pressure = 3.5e5 * ratio / found.ratio
    loaded = case(conditions=(Condition(name="design", pressure=pressure, temperature=673.15),),
                  movements=())  # fmt: skip
    report = spread(loaded, (spread_of("pressure@design"),), samples=4096, seed=9)
    exact = min(1.0, max(0.0, (1.1 - 1.0 / ratio) / 0.2))
    share = one(report, "S2@design")
    assert share.low <= exact <= share.high
    assert share.value == pytest.approx(exact, abs=2e-3)
    hoop = of(report, "S2@design")
    assert hoop.nominal == pytest.approx(ratio)
    assert hoop.low == pytest.approx(ratio * 0.91, rel=2e-3)
    assert hoop.median == pytest.approx(ratio, rel=2e-3)
    assert hoop.high == pytest.approx(ratio * 1.09, rel=2e-3)
    assert [driver.input for driver in hoop.drivers] == ["pressure@design"]
    assert hoop.drivers[0].share > 0.99
    assert hoop.drivers[0].direction == Direction.RAISES


def test_two_inputs_that_multiply_share_the_variance_by_their_widths() -> None:
    """S3 rises with pressure (a tenth) and falls with thickness (a twentieth): 4 to 1."""
    report = spread(
        case(),
        (spread_of("pressure@design"), spread_of("ply_thickness", minus=0.05, plus=0.05)),
        seed=3,
    )
    membrane = of(report, "S3@design")
    shares = {driver.input: driver for driver in membrane.drivers}
    assert shares["pressure@design"].share == pytest.approx(0.8, abs=0.03)
    assert shares["ply_thickness"].share == pytest.approx(0.2, abs=0.03)
    assert shares["ply_thickness"].direction == Direction.LOWERS
    assert shares["pressure@design"].direction == Direction.RAISES
    assert membrane.words.count("drives") == 1
    assert "pressure (design) drives" in membrane.words


def test_intervals_hold_the_share_of_a_large_study() -> None:
    """Small studies with twenty seeds: nearly all intervals hold the share of a large one."""
    tight = case(conditions=(Condition(name="operating", pressure=6e5, temperature=633.15),))
    spreads = usual(tight)
    large = one(spread(tight, spreads, samples=2**15, seed=100), "inplane_squirm@operating")
    assert 0.02 < large.value < 0.98
    held = [
        share.low <= large.value <= share.high
        for share in (
            one(spread(tight, spreads, samples=256, seed=seed), "inplane_squirm@operating")
            for seed in range(20)
        )
    ]
    assert sum(held) >= 18


def test_samples_that_cannot_be_are_counted_and_left_out() -> None:
    """A torus radius near q/4 and beyond: overlapping convolutions are told with their count."""
    wide = spread_of("torus_radius", minus=0.0, plus=1.5)
    report = spread(case(torus_radius=0.012), (wide,), samples=1024, seed=1)
    assert any("overlap" in item.reason for item in report.impossible)
    left = 1024 - sum(item.count for item in report.impossible)
    assert 0 < left < 1024
    assert one(report, "S2@design").samples == left
    assert report.any_check is not None
    assert report.any_check.samples == left


def test_temperature_takes_the_metal_with_it() -> None:
    """Hotter metal is weaker: temperature alone raises the use of capacity of S2."""
    hot = spread_of("temperature@design", minus=150.0, plus=0.0, relative=False)
    hoop = of(spread(case(), (hot,), samples=512, seed=1), "S2@design")
    assert hoop.drivers[0].input == "temperature@design"
    assert hoop.drivers[0].direction == Direction.RAISES
    assert hoop.nominal is not None
    assert hoop.low is not None
    assert hoop.low < hoop.nominal


def test_samples_beyond_the_rules_stay_open_and_count_as_either() -> None:
    """Half of the samples lie in the creep range: open in ASME, left out below, put in above."""
    edge = case(conditions=(Condition(name="operating", pressure=3e5, temperature=690.0),),
                basis=Basis.ASME_26)  # fmt: skip
    around = spread_of("temperature@operating", minus=40.0, plus=40.0, relative=False)
    report = spread(edge, (around,), samples=512, seed=1)
    share = one(report, "S2@operating")
    assert share.failed == 0
    assert 0.2 < share.open / share.samples < 0.6
    assert share.high > share.open / share.samples
    assert "could not be evaluated" in of(report, "S2@operating").words
    assert "creep" in of(report, "S2@operating").words


def test_a_check_without_its_input_is_not_evaluated_in_any_sample() -> None:
    """An alloy without tables: the check stays open and says why; it is never met."""
    report = spread(case(material="nobody knows"), (spread_of("pitch"),), samples=256, seed=1)
    hoop = of(report, "S2@design")
    assert hoop.share is None
    assert hoop.drivers == ()
    assert "not evaluated in any sample" in hoop.words
    assert "unknown: bellows alloy" in hoop.words
    assert report.checks[-1].share is None


def test_what_follows_an_input_follows_its_spread() -> None:
    """Without a torus radius rm stays q/4 of each sample; the tube that of the diameter; the
    centre line of a torus where it is."""
    u = np.array([[0.0, 0.0], [1.0, 1.0]])
    moved = (spread_of("pitch"), spread_of("inside_diameter"))
    plain, _, _ = inputs.sampled(case(), inputs.shifts(case(), moved, u), 2)
    b = plain.setting.bellows
    assert b.torus_radius == pytest.approx(np.asarray(b.pitch) / 4.0)
    assert b.tube_diameter == pytest.approx([0.54, 0.66])
    torus, _, _ = inputs.sampled(TORUS, inputs.shifts(TORUS, (spread_of("inside_diameter",
        minus=0.01, plus=0.01),), u[:, :1]), 2)  # fmt: skip
    t = torus.setting.bellows
    assert t.height + t.inside_diameter + t.plies * t.ply_thickness == pytest.approx([0.66, 0.66])


def test_an_installed_set_counts_towards_touching() -> None:
    """A pre-compression uses up the gap: convolutions come nearer than by movement alone."""
    free = of(spread(case(), (spread_of("axial"),), samples=256, seed=1), "touching@start")
    set_ = case(offset_axial=-0.03)
    near = of(spread(set_, (spread_of("axial"),), samples=256, seed=1), "touching@start")
    assert free.nominal is not None
    assert near.nominal is not None
    gap = 0.048 / 2.0 - 0.002
    assert near.nominal - free.nominal == pytest.approx(0.03 / 8.0 / gap)


@pytest.mark.parametrize(
    ("input", "fault", "words"),
    [
        ("ply_thicknes", UnknownName, "ply_thickness"),
        ("pressure@night", UnknownName, "night"),
        ("ply_thickness@design", UnknownName, "design"),
        ("thinnest_ply", MissingInput, "least ply thickness measured"),
        ("ring_area", MissingInput, "area of one ring"),
        ("length_over_both", MissingInput, "length over both"),
        ("temperature@design", Contradiction, "kelvin"),
    ],
)
def test_a_spread_that_reaches_nothing_is_refused(
    input: str, fault: type[Exception], words: str
) -> None:
    """The message names what is there, or what the case lacks."""
    with pytest.raises(fault, match=words):
        spread(case(), (spread_of(input),), samples=256, seed=1)


def test_one_number_is_not_spread_twice() -> None:
    """Pressure everywhere and pressure at design: the message names both."""
    with pytest.raises(Contradiction, match=r"'pressure' and by 'pressure@design'"):
        spread(case(), (spread_of("pressure"), spread_of("pressure@design")), samples=256, seed=1)
    with pytest.raises(Contradiction, match="no spread"):
        spread(case(), (), samples=256, seed=1)


def test_a_case_that_cannot_be_true_is_refused_before_any_sample() -> None:
    """The study raises what the calculation itself raises."""
    with pytest.raises(Contradiction, match="pitch"):
        spread(case(torus_radius=0.024), (spread_of("height"),), samples=256, seed=1)


def test_what_was_held_and_what_was_spread_are_both_told() -> None:
    """Every input is in one list or the other, each spread with its source; nothing is silent."""
    report = spread(case(), usual(case()), samples=256, seed=1)
    assert "weld factor" in report.held
    assert "cycles to count" in report.held
    assert "pressure (design)" in report.held
    assert not any("ply thickness" in words for words in report.held)
    for found in report.spreads:
        assert found.source.cite()
    assert any("no claim of reliability" in words for words in report.cautions)
    assert {"ply_thickness", "pitch", "height", "inside_diameter", "torus_radius", "axial",
            "lateral", "modulus", "pressure@operating", "temperature@operating"} == {
                found.input for found in report.spreads}  # fmt: skip


def test_properties_given_by_hand_do_not_move_and_that_is_said() -> None:
    """A given allowable stress stays while the temperature moves; a caution says so."""
    hand = case(
        conditions=(
            Condition(name="operating", pressure=3e5, temperature=633.15, allowable_stress=1.2e8),
        )
    )
    report = spread(hand, usual(hand), samples=256, seed=1)
    assert any("allowable stress given by hand" in words for words in report.cautions)
    assert not any(
        driver.input.startswith("temperature") for driver in of(report, "S2@operating").drivers
    )


def test_modulus_is_one_metal_hot_and_cold() -> None:
    """A stiffer metal raises fatigue use and lowers the use of column squirm, by one draw."""
    report = spread(case(), (spread_of("modulus"),), samples=512, seed=1)
    assert of(report, "fatigue@start").drivers[0].direction == Direction.RAISES
    assert of(report, "column_squirm@design").drivers[0].direction == Direction.LOWERS


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from(list(Sampling)))
def test_more_spread_never_narrows_the_ratio(seed: int, layout: Sampling) -> None:
    """Twice the tolerance of the ply thickness: the 5 to 95 % interval is wider."""
    few = of(spread(case(), (spread_of("ply_thickness"),), samples=256, seed=seed,
                    sampling=layout), "S3@design")  # fmt: skip
    more = of(spread(case(), (spread_of("ply_thickness", minus=0.2, plus=0.2),), samples=256,
                     seed=seed, sampling=layout), "S3@design")  # fmt: skip
    assert few.low is not None and few.high is not None
    assert more.low is not None and more.high is not None
    assert more.low < few.low < few.high < more.high
