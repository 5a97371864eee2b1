"""Identities of the bellows equations that need no book."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeup.bellows import (
    charts,
    fatigue,
    geometry,
    movements,
    pressure,
    stability,
    stiffness,
    thrust,
)
from takeup.bellows.model import Bellows

PLAIN = Bellows(
    inside_diameter=0.6,
    height=0.05,
    pitch=0.048,
    convolutions=8,
    plies=2,
    ply_thickness=0.001,
    torus_radius=0.012,
)


def test_metal_area_is_the_older_formula_for_parallel_walls() -> None:
    """With rm = q/4 the area is n tp ((pi - 2) q/2 + 2 w)."""
    older = 2 * geometry.thinned_ply(PLAIN) * ((math.pi - 2) * 0.048 / 2 + 2 * 0.05)
    assert geometry.metal_area(PLAIN) == pytest.approx(older, rel=1e-12)


def test_chart_parameters_are_the_older_ones_for_parallel_walls() -> None:
    """With rm = q/4: C1 = q / (2 w), and C2 = q / (2.2 sqrt(Dm tp)) to its rounding."""
    assert geometry.chart_c1(PLAIN) == pytest.approx(0.048 / 0.1)
    older = 0.048 / (2.2 * math.sqrt(geometry.mean_diameter(PLAIN) * geometry.thinned_ply(PLAIN)))
    assert geometry.chart_c2(PLAIN) == pytest.approx(older, rel=2e-3)


def test_forming_outwards_keeps_the_metal() -> None:
    """Thinning falls as the square root of the diameter ratio."""
    ratio = geometry.thinned_ply(PLAIN) / PLAIN.ply_thickness
    assert ratio == pytest.approx(math.sqrt(0.6 / 0.652))


@settings(max_examples=50, deadline=None)
@given(st.floats(0.05, 0.95), st.floats(0.1, 5.0))
def test_charts_are_positive_and_held_at_their_ends(c1: float, c2: float) -> None:
    """Coefficients stay positive, and beyond 0.2 to 4.0 they are those of the end."""
    for chart in (charts.cp, charts.cf, charts.cd):
        assert chart(c1, c2) > 0.0
        if c2 > charts.MOST_C2:
            assert chart(c1, c2) == chart(c1, charts.MOST_C2)
        if c2 < charts.LEAST_C2:
            assert chart(c1, c2) == chart(c1, charts.LEAST_C2)


def test_last_column_of_the_charts_is_used() -> None:
    """At C2 = 4.0, C1 = 0.5 the printed polynomials give 0.3257 for Cf, worked by hand."""
    assert charts.cf(0.5, 4.0) == pytest.approx(0.3257, abs=1e-4)
    assert charts.cf(0.5, 3.75) == pytest.approx(
        (charts.cf(0.5, 3.5) + charts.cf(0.5, 4.0)) / 2, rel=1e-12
    )


@pytest.mark.parametrize("chart", [charts.cp, charts.cf, charts.cd])
def test_charts_run_through_their_columns(chart: object) -> None:
    """Interpolation in C2 is continuous: just left and right of a column agree."""
    assert callable(chart)
    for column in (0.4, 1.0, 1.6, 2.5, 3.5):
        assert chart(0.5, column - 1e-9) == pytest.approx(chart(0.5, column + 1e-9), abs=1e-7)


def test_branches_of_cp_meet_as_well_as_printed() -> None:
    """At C1 = 0.3 the two branches differ by no more than 0.021, as the tables do."""
    for c2 in np.arange(0.2, 4.01, 0.1):
        jump = abs(charts.cp(0.3, float(c2)) - charts.cp(0.3 + 1e-9, float(c2)))
        assert jump <= 0.0215


def test_a_flat_bellows_has_the_coefficients_of_a_plate() -> None:
    """As C1 goes to zero the three coefficients go to one, within the printed constants."""
    for c2 in (0.2, 1.0, 4.0):
        assert charts.cf(0.0, c2) == pytest.approx(1.0, abs=0.01)
        assert charts.cd(0.0, c2) == pytest.approx(1.0, abs=0.01)
        assert charts.cp(0.0, c2) == pytest.approx(1.0, abs=0.06)


def test_design_curve_has_no_step() -> None:
    """The branches of the design curve meet, to the rounding of the tabulated constants."""
    for stress in (448e6, 257.2e6):
        below, above = (fatigue.design_cycles(stress * (1 + sign * 1e-7)) for sign in (-1, 1))
        assert above == pytest.approx(below, rel=2e-3)


@settings(max_examples=50, deadline=None)
@given(st.floats(1e6, 5e9), st.floats(1.0, 2.0))
def test_more_stress_never_gives_more_cycles(stress: float, more: float) -> None:
    """Cycles never rise with stress; in the tested range the mean is over 2.49 times design."""
    assert fatigue.design_cycles(stress * more) <= fatigue.design_cycles(stress) * 1.002
    mean = fatigue.mean_cycles(stress)
    if not math.isnan(mean):
        assert fatigue.mean_cycles(stress * more) <= mean
        if mean >= 1e3:
            # least where the tested range begins: 1000 mean cycles to 401 of design
            assert mean > 2.49 * fatigue.design_cycles(stress)


def test_mean_curve_ends_where_tests_end() -> None:
    """At and below 372.3 MPa there is no mean life, not an infinite one."""
    assert math.isnan(fatigue.mean_cycles(fatigue.MEAN_FLOOR))
    assert math.isnan(fatigue.mean_cycles(100e6))
    assert math.isnan(fatigue.design_cycles(math.nan))


def test_tangent_alone_is_a_thin_cylinder() -> None:
    """Without a collar S1 is P (Db + n t) / (2 n t), once the tangent is long enough."""
    b = Bellows(**{**_fields(PLAIN), "tangent_length": 0.1})
    s1 = float(pressure.tangent_hoop(b, 1e5, 1.0, 1.0))
    assert s1 == pytest.approx(1e5 * 0.602 / (2 * 0.002))


def test_collar_takes_its_share_of_the_tangent() -> None:
    """A collar lowers S1, and none of its dimensions can be left out for that."""
    alone = Bellows(**{**_fields(PLAIN), "tangent_length": 0.1})
    collared = Bellows(
        **{
            **_fields(PLAIN),
            "tangent_length": 0.1,
            "collar_length": 0.1,
            "collar_thickness": 0.01,
        }
    )
    assert pressure.tangent_hoop(collared, 1e5, 1.0, 1.0) < pressure.tangent_hoop(
        alone, 1e5, 1.0, 1.0
    )


def test_hoop_stresses_with_tangent_and_collar_by_hand() -> None:
    """S1 and S2e of a short tangent with a collar, worked by hand from the printed equations."""
    b = Bellows(
        **{
            **_fields(PLAIN),
            "tangent_length": 0.02,
            "collar_length": 0.015,
            "collar_thickness": 0.006,
        }
    )
    k = 0.02 / (1.5 * math.sqrt(0.6 * 0.001))
    assert geometry.tangent_factor(b) == pytest.approx(k)
    assert geometry.tangent_factor(PLAIN) == 0.0
    tangent = 0.002 * 200e9 * 0.02 * 0.602
    collar = 0.006 * k * 180e9 * 0.015 * (0.6 + 0.004 + 0.006)
    s1 = 1e5 * 0.602**2 * 0.02 * 200e9 * k / (2 * (tangent + collar))
    assert pressure.tangent_hoop(b, 1e5, 200e9, 180e9) == pytest.approx(s1)
    tp, area = geometry.thinned_ply(b), geometry.metal_area(b)
    s2e = 1e5 * (0.048 * 0.652 + 0.02 * 0.602) / (2 * (area + 2 * tp * 0.02 + 0.006 * 0.015))
    assert pressure.end_convolution_hoop(b, 1e5) == pytest.approx(s2e)


def test_a_pair_resists_sideways_by_two_moments_over_distance() -> None:
    """Kl = 2 Kth / C^2 with C between the bellows centres."""
    apart = 3.0 - 8 * 0.048
    assert stiffness.lateral_pair(PLAIN, 1e6, 3.0) == pytest.approx(
        2 * stiffness.angular(PLAIN, 1e6) / apart**2
    )


def test_universal_lateral_has_its_closed_form() -> None:
    """Without axial movement Ku and lever reduce to 3 Lu / (2 N (3 Lu^2 - 6 Lb Lu + 4 Lb^2))."""
    lu, lb, dm, n, y = 2.0, 8 * 0.048, 0.652, 8, 0.04
    closed = 3 * lu * dm * y / (2 * n * (3 * lu**2 - 6 * lb * lu + 4 * lb**2))
    assert movements.lateral_universal(PLAIN, y, lu) == pytest.approx(closed, rel=1e-12)


def test_two_bellows_without_spool_are_one_of_twice_the_convolutions() -> None:
    """A universal with Lu = 2 Lb bends as a single bellows of 2 N convolutions."""
    lb, y = 8 * 0.048, 0.01
    double = Bellows(**{**_fields(PLAIN), "convolutions": 16})
    assert movements.lateral_universal(PLAIN, y, 2 * lb) == pytest.approx(
        movements.lateral_single(double, y), rel=1e-12
    )
    assert stiffness.lateral_universal(PLAIN, 1e6, 2 * lb) == pytest.approx(
        stiffness.lateral_single(double, 1e6), rel=1e-12
    )


def test_rates_of_a_single_bellows_belong_to_one_beam() -> None:
    """Kl Lb^2 = 12 Kth and Kth = Ka Dm^2 / 8, as for a beam on fixed ends."""
    f = stiffness.convolution_rate(PLAIN, 160e9, 1.37)
    kl, kth, ka = (
        stiffness.lateral_single(PLAIN, f),
        stiffness.angular(PLAIN, f),
        stiffness.axial(PLAIN, f),
    )
    assert kl * (8 * 0.048) ** 2 == pytest.approx(12 * kth)
    assert kth == pytest.approx(ka * 0.652**2 / 8)


def test_the_two_standards_differ_by_their_rounding() -> None:
    """1.726 against 1.7 in the axial rate, nothing else."""
    assert pytest.approx(1.726, abs=5e-4) == stiffness.EXACT_CONSTANT
    a = stiffness.convolution_rate(PLAIN, 160e9, 1.37, stiffness.EXACT_CONSTANT)
    b = stiffness.convolution_rate(PLAIN, 160e9, 1.37)
    assert a / b == pytest.approx(stiffness.EXACT_CONSTANT / 1.7)


def test_inplane_interaction_of_pure_hoop_is_two() -> None:
    """Without bending alpha is 2, and it grows with bending."""
    assert stability.alpha(0.0, 1.0) == pytest.approx(2.0)
    values = [float(stability.alpha(s4, 1.0)) for s4 in (1.0, 3.0, 10.0)]
    assert values == sorted(values)


def test_longer_bellows_bow_sooner() -> None:
    """Column squirm falls with the square of the number of convolutions."""
    f = stiffness.convolution_rate(PLAIN, 160e9, 1.37)
    double = Bellows(**{**_fields(PLAIN), "convolutions": 16})
    assert stability.column_squirm(PLAIN, f) == pytest.approx(
        4 * stability.column_squirm(double, f)
    )


def test_thrust_is_pressure_on_the_mean_diameter() -> None:
    """F = P pi Dm^2 / 4."""
    assert thrust.force(PLAIN, 3.5e5) == pytest.approx(3.5e5 * math.pi * 0.652**2 / 4)


@settings(max_examples=50, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(-1.0, 1.0), st.integers(1, 1000).map(float)), min_size=1, max_size=6
    )
)
def test_superposing_loses_no_cycle_and_finds_the_widest_range(
    positions: list[tuple[float, float]],
) -> None:
    """The widest range is counted first; each position is used as often as it comes."""
    places, counts = (np.array(column) for column in zip(*positions, strict=True))
    found = [(float(e), float(n)) for e, n in movements.superpose(places, counts) if n > 0.0]
    spans = [span for span, _ in found]
    highest = max(0.0, *(e for e, _ in positions))
    lowest = min(0.0, *(e for e, _ in positions))
    assert spans[0] == pytest.approx(highest - lowest)
    assert spans == sorted(spans, reverse=True)
    assert sum(n for _, n in found) <= sum(n for _, n in positions)
    travelled = sum(span * n for span, n in found)
    assert travelled == pytest.approx(sum(abs(e) * n for e, n in positions), abs=1e-9)


def _fields(b: Bellows) -> dict[str, float]:
    return {name: getattr(b, name) for name in b.__struct_fields__}
