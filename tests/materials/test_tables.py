"""Property tables: every row plausible, interpolation on totals, refusal outside."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeup import materials
from takeup.errors import MissingInput, OutOfRange, UnknownName
from takeup.materials import tables
from takeup.sources import Standing

BOUNDS = {
    "allowable": (1e6, 300e6),
    "yield": (50e6, 450e6),
    "modulus": (100e9, 240e9),
    "modulus older": (80e9, 240e9),
    "modulus metric": (100e9, 240e9),
    "expansion": (-4e-3, 20e-3),
    "expansion older": (-4e-3, 20e-3),
    "conductivity": (8.0, 70.0),
}
SUMS: dict[str, tuple[int, float]] = {
    "allowable": (434, 42685166611.713585),
    "yield": (144, 23917499364.56345),
    "modulus": (154, 28486379232454.402),
    "modulus older": (89, 16428138202432.252),
    "modulus metric": (31, 5579000000000.0),
    "expansion": (156, 0.7026243),
    "expansion older": (165, 0.551559167),
    "conductivity": (85, 2198.0),
}


@pytest.mark.parametrize("name", list(tables.SPECS))
def test_every_row_is_plausible(name: str) -> None:
    """No value of a table lies outside what such metals can have, in SI."""
    low, high = BOUNDS[name]
    for group, rows in tables.table(name).items():
        assert np.all((rows.value >= low) & (rows.value <= high)), (group, rows.value)
        assert np.all((rows.temperature > 15.0) & (rows.temperature < 1300.0)), group


@pytest.mark.parametrize("name", list(tables.SPECS))
def test_rows_ascend_without_repeats(name: str) -> None:
    """Temperatures of a row ascend strictly, so that interpolation has one answer."""
    for group, rows in tables.table(name).items():
        assert np.all(np.diff(rows.temperature) > 0.0), (name, group)


@pytest.mark.parametrize("name", ["allowable", "modulus", "modulus older", "yield"])
def test_strength_and_stiffness_never_rise_with_heat(name: str) -> None:
    """A hotter row is never stronger or stiffer, to a printed digit."""
    for group, rows in tables.table(name).items():
        assert np.all(np.diff(rows.value) <= 0.006 * rows.value[:-1]), (name, group)


@pytest.mark.parametrize("name", list(tables.SPECS))
def test_every_row_names_its_source(name: str) -> None:
    """Each row says where it comes from and how far that may be trusted."""
    for rows in tables.table(name).values():
        assert all(len(text) > 8 for text in rows.texts)
        assert set(rows.standing) <= {Standing.READ, Standing.DERIVED, Standing.MEMORY}


def test_a_changed_digit_anywhere_is_noticed() -> None:
    """The sum over all entries of each table is as it was when the tables were checked."""
    found = {
        name: (
            sum(len(rows.value) for rows in tables.table(name).values()),
            round(float(sum(np.sum(rows.value) for rows in tables.table(name).values())), 9),
        )
        for name in tables.SPECS
    }
    assert found == {
        name: (n, pytest.approx(total, rel=1e-12)) for name, (n, total) in SUMS.items()
    }


def test_expansion_interpolates_totals() -> None:
    """Halfway between rows the total is the mean of totals, which averaged coefficients miss."""
    rows = tables.table("expansion")["austenitic"]
    middle = float(rows.temperature[8:10].mean())
    assert materials.expansion_total("321", middle).value == pytest.approx(
        float(rows.value[8:10].mean()), rel=1e-12
    )


@pytest.mark.parametrize("metal", materials.alloys(), ids=lambda metal: metal.name)
def test_a_cold_morning_is_inside_every_table(metal: materials.Alloy) -> None:
    """Installation and test at 0 to 20 °C have expansion, modulus and strength for every alloy."""
    for temperature in (273.15, 293.15):
        assert materials.expansion_total(metal.name, temperature).value < 0.0
        assert materials.modulus(metal.name, temperature).value > 150e9
        assert materials.allowable_stress(metal.name, temperature).value > 100e6


def test_expansion_between_two_temperatures_is_a_difference() -> None:
    """From a to c is from a to b and on to c."""
    whole = materials.expansion_total("625", 800.0, 400.0).value
    parts = (
        materials.expansion_total("625", 600.0, 400.0).value
        + materials.expansion_total("625", 800.0, 600.0).value
    )
    assert whole == pytest.approx(parts, rel=1e-12)


def test_mean_coefficient_times_difference_is_the_total() -> None:
    """The mean coefficient is defined by the total, also right at the reference."""
    mean = materials.expansion_mean("304H", 700.0).value
    total = materials.expansion_total("304H", 700.0).value
    assert mean * (700.0 - tables.REFERENCE) == pytest.approx(total, rel=1e-12)
    near = materials.expansion_mean("304H", tables.REFERENCE).value
    assert 14e-6 < near < 18e-6


def test_outside_the_table_is_refused_with_table_edition_span_and_remedy() -> None:
    """Nothing is extrapolated, and the message says what would be right."""
    with pytest.raises(OutOfRange) as caught:
        materials.allowable_stress("625", 1200.0)
    text = str(caught.value)
    for part in (
        "alloy 625",
        "Table A-1",
        "2018-2020",
        "-29 to 648.9 °C",
        "Give the value by hand",
    ):
        assert part in text


def test_an_array_with_one_bad_element_is_refused() -> None:
    """One temperature outside spoils the array, and the first such one is named."""
    with pytest.raises(OutOfRange, match=r"1226\.85 °C"):
        materials.modulus("321", np.array([300.0, 1500.0]))


def test_missing_row_is_refused_not_invented() -> None:
    """An alloy without rows of a property says which value to give."""
    with pytest.raises(MissingInput, match="conductivity"):
        materials.conductivity("C-0.5Mo", 600.0)


def test_grade_without_h_stops_where_only_h_is_allowed() -> None:
    """316 is refused at 600 °C; 316H is not."""
    with pytest.raises(OutOfRange, match="H grade"):
        materials.allowable_stress("316", 873.15)
    assert materials.allowable_stress("316H", 873.15).value > 0.0


def test_wide_gap_of_yield_takes_the_lower_row() -> None:
    """Between 38 and 204 °C yield of 304H falls faster than a line: the hot row is used."""
    found = materials.yield_strength("304H", 400.0)
    hot = materials.yield_strength("304H", tables.table("yield")["A312 TP304H"].temperature[1])
    assert found.value == pytest.approx(hot.value)
    assert "lower" in found.note


@pytest.mark.parametrize(
    "name", ["304H", "316H", "321", "347H", "310", "1.25Cr-0.5Mo", "600", "625", "800H"]
)
def test_lower_bound_of_yield_lies_below_yield(name: str) -> None:
    """The bound from allowable stress never exceeds the yield strength of the tables."""
    metal = materials.alloy(name)
    rows = tables.table("yield")[metal.rows["yield"]]
    both = rows.temperature <= tables.span("allowable", metal.rows["allowable"])[1]
    bound = materials.yield_lower_bound(name, rows.temperature[both]).value
    assert np.all(bound <= rows.value[both] * 1.0005)


def test_nickel_yield_is_the_minimum_that_was_read() -> None:
    """Alloys 600, 625 and 800H give the minima of Table Y-1, and name that document."""
    for name, at, megapascal in (("600", 400, 201), ("625", 500, 291), ("800H", 500, 110)):
        found = materials.yield_strength(name, 273.15 + at)
        assert found.value == pytest.approx(megapascal * 1e6, rel=5e-4)
        assert found.source.document == "ASME BPVC II-D metric"
        assert found.source.standing == Standing.READ
    assert materials.yield_strength("800H", 273.15 + 750).value == pytest.approx(58.4e6, rel=5e-4)


def test_weakest_row_decides_the_standing() -> None:
    """A value between a read and a remembered row is only as good as the remembered one."""
    assert materials.allowable_stress("800H", 700.0).source.standing == Standing.MEMORY
    assert materials.allowable_stress("321", 700.0).source.standing == Standing.READ


def test_cr_mo_to_3cr_expands_as_carbon_steel() -> None:
    """P11 and P22 are Group 1; a public transcription that says Group 2 is wrong."""
    for name in ("P11", "P22"):
        assert materials.alloy(name).rows["expansion"] == "Group 1"


@settings(max_examples=30, deadline=None)
@given(st.lists(st.floats(300.0, 700.0), min_size=1, max_size=20))
def test_array_gives_what_scalars_give(temperatures: list[float]) -> None:
    """An array of temperatures gives bit for bit what one at a time gives."""
    whole = materials.modulus("321", np.array(temperatures)).value
    assert [materials.modulus("321", t).value for t in temperatures] == whole.tolist()
    many = materials.many("321", "modulus", np.array(temperatures))
    assert many.value.tolist() == whole.tolist()


def test_many_marks_what_one_would_refuse() -> None:
    """Where a scalar raises, many gives NaN and the same words; the rest stands."""
    found = materials.many("625", "allowable", np.array([500.0, 1500.0]))
    assert np.isfinite(found.value[0])
    assert np.isnan(found.value[1])
    assert "1226.85 °C" in found.fault[1]
    assert found.source[1] is None


@pytest.mark.parametrize("metal", materials.alloys(), ids=lambda metal: metal.name)
def test_every_row_an_alloy_points_at_exists(metal: materials.Alloy) -> None:
    """An alloy points at rows of tables that are there, and has expansion, modulus and density."""
    for which in ("allowable", "yield", "modulus", "conductivity"):
        if which in metal.rows:
            assert metal.rows[which] in tables.table(which)
    room = 300.0
    assert materials.expansion_total(metal.name, room).value > 0.0
    assert 150e9 < materials.modulus(metal.name, room).value < 230e9
    assert 7500.0 < materials.density(metal.name).value < 8600.0
    assert 100e6 < materials.allowable_stress(metal.name, room).value < 300e6


def test_unknown_row_is_named() -> None:
    """A group that a table does not have is an unknown name."""
    with pytest.raises(UnknownName):
        tables.lookup("modulus", "unobtainium", 300.0, alloy="unobtainium")


def test_values_are_those_of_many_and_stop_where_the_table_stops() -> None:
    """The quick reading gives the same numbers, and NaN beyond the last row."""
    temperature = np.linspace(200.0, 1800.0, 97)
    for which in ("allowable", "yield", "modulus"):
        quick = materials.values("321", which, temperature)
        assert np.array_equal(
            quick, materials.many("321", which, temperature).value, equal_nan=True
        )
        assert np.isnan(quick[-1])
        assert np.isfinite(quick).any()
