"""The bellows engine: one case, many cases, unknown inputs, refusals."""

from __future__ import annotations

import math
import time
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeup import materials
from takeup.bellows import evaluate, evaluate_many, surviving_ply
from takeup.bellows.model import (
    Assembly,
    Basis,
    BellowsCase,
    BellowsReport,
    Condition,
    Movement,
    Treatment,
)
from takeup.checks import Check, Outcome
from takeup.errors import Contradiction, OutOfRange, TakeupError
from takeup.sources import Standing

EXAMPLE = Path(__file__).parents[2] / "examples" / "bellows.json"
BOTH = pytest.mark.parametrize("basis", [Basis.ASME_26, Basis.EJMA])


def case(**changes: Any) -> BellowsCase:
    """A sound two-ply 321 bellows of DN 600, changed as asked."""
    values: dict[str, Any] = {
        "name": "EJ-1 A",
        "basis": Basis.EJMA,
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


def check(report: BellowsReport, id: str) -> Check:
    """The check called ``id``, which must be there."""
    return next(found for found in report.checks if found.id == id)


def value(report: BellowsReport, id: str) -> float:
    """The value of the figure called ``id``, which must be there."""
    figure = report.figure(id)
    assert figure is not None, id
    assert figure.value is not None
    return figure.value


def one(**changes: Any) -> tuple[Condition, ...]:
    """Operating alone, changed as asked."""
    return (
        Condition(**{"name": "operating", "pressure": 3.0e5, "temperature": 633.15, **changes}),
    )


@BOTH
def test_every_check_of_a_complete_case_is_evaluated(basis: Basis) -> None:
    """With all inputs known nothing is left open, and each check says by which clause."""
    report = evaluate(case(basis=basis))
    assert report.valid
    for found in report.checks:
        assert found.outcome in {Outcome.MET, Outcome.NOT_MET}, found.id
        assert found.because, found.id
        assert found.source.document, found.id
    assert report.usage is not None


@BOTH
def test_report_names_what_the_contract_promises(basis: Basis) -> None:
    """The ids that other rooms look up are there."""
    report = evaluate(case(basis=basis))
    figures = {figure.id for figure in report.figures}
    checks = {found.id for found in report.checks}
    assert figures >= {
        "mean_diameter", "thinned_ply", "effective_area", "C1", "C2", "Cp", "Cf", "Cd",
        "axial_rate", "lateral_rate", "angular_rate", "S1@design", "S2@design", "S3@design",
        "S4@design", "column_squirm@operating", "inplane_squirm@operating", "S5@start",
        "S6@start", "St@start", "design_cycles@start", "mean_cycles@start",
    }  # fmt: skip
    assert checks >= {
        "S1@design", "S2@design", "S3+S4@design", "column_squirm@design",
        "inplane_squirm@design", "fatigue@start", "usage", "creep", "geometry.charts",
    }  # fmt: skip
    assert ("S3@design" in checks) == (basis == Basis.ASME_26)
    assert len(checks) == len(report.checks)
    assert len(figures) == len(report.figures)


def test_example_file_decodes_and_is_evaluated() -> None:
    """The example case is read strictly and gives a valid result with nothing left open."""
    example = msgspec.json.decode(EXAMPLE.read_bytes(), type=BellowsCase)
    report = evaluate(example)
    assert report.valid
    assert all(found.outcome != Outcome.NOT_EVALUATED for found in report.checks)
    assert report.usage is not None
    assert 0.0 < report.usage < 1.0


VARIANTS = [
    case(),
    case(basis=Basis.ASME_26),
    case(material="625", treatment=None, weld_factor=None),
    case(material="800H", basis=Basis.ASME_26, treatment=Treatment.ANNEALED),
    case(assembly=Assembly.UNIVERSAL, length_over_both=3.0, plies=1),
    case(
        assembly=Assembly.PAIR, length_over_both=4.0, movements=(Movement(name="a", lateral=0.1),)
    ),
    case(missing=("height",), height=math.nan),
    case(material="nobody knows"),
    case(conditions=(), movements=()),
    case(conditions=one(pressure=-0.5e5)),
    case(conditions=one(temperature=900.0)),
]


def test_many_give_what_each_gives_alone() -> None:
    """One array pass gives bit for bit the reports of one case at a time, in order."""
    together = evaluate_many(VARIANTS)
    alone = [evaluate(found) for found in VARIANTS]
    for left, right in zip(together, alone, strict=True):
        assert msgspec.json.encode(left) == msgspec.json.encode(right)


@pytest.mark.parametrize("basis", [Basis.ASME_26, Basis.EJMA])
def test_reports_hold_numbers_or_nothing(basis: Basis) -> None:
    """No figure, demand, capacity or thrust is NaN or infinite: unknown is None."""
    for variant in VARIANTS:
        report = evaluate(msgspec.structs.replace(variant, basis=basis))
        numbers = [figure.value for figure in report.figures]
        numbers += [n for found in report.checks for n in (found.demand, found.capacity)]
        numbers += [thrust.force for thrust in report.thrust]
        numbers += [q.value for found in report.checks for q in found.inputs]
        assert all(n is None or math.isfinite(n) for n in numbers), variant.name


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.floats(0.2, 2.0),
            st.floats(0.03, 0.06),
            st.integers(1, 3),
            st.floats(1e4, 1e6),
            st.floats(300.0, 690.0),
            st.floats(-0.02, 0.02),
        ),
        min_size=1,
        max_size=6,
    )
)
def test_arrays_do_not_change_a_digit(
    rows: list[tuple[float, float, int, float, float, float]],
) -> None:
    """Whatever stands beside a case in the array, its report is the same bytes."""
    cases = [
        case(
            inside_diameter=diameter,
            height=height,
            plies=plies,
            conditions=one(pressure=pressure, temperature=temperature),
            movements=(Movement(name="m", axial=axial, cycles=10.0),),
            basis=Basis.EJMA if plies % 2 else Basis.ASME_26,
        )
        for diameter, height, plies, pressure, temperature, axial in rows
    ]
    for left, right in zip(evaluate_many(cases), [evaluate(found) for found in cases], strict=True):
        assert msgspec.json.encode(left) == msgspec.json.encode(right)


def test_thousands_of_cases_a_second() -> None:
    """A site of two thousand bellows is worked out in seconds even on a slow machine."""
    cases = [case(name=str(n), pitch=0.048 + 1e-6 * n) for n in range(1000)]
    started = time.perf_counter()
    evaluate_many(cases)
    assert time.perf_counter() - started < 4.0


# --- physics ---------------------------------------------------------------------------


@settings(max_examples=25, deadline=None)
@given(st.floats(0.2, 5.0))
def test_similar_bellows_scale(k: float) -> None:
    """Every length times k: stresses and squirm stay, rates grow by k, thrust by k squared."""
    small, large = case(), case()
    for name in ("inside_diameter", "height", "pitch", "ply_thickness", "tangent_length"):
        large = msgspec.structs.replace(large, **{name: getattr(large, name) * k})
    moves = tuple(
        msgspec.structs.replace(move, axial=move.axial * k, lateral=move.lateral * k)
        for move in large.movements
    )
    large = msgspec.structs.replace(large, movements=moves)
    a, b = evaluate(small), evaluate(large)
    for id in ("S1@design", "S2@design", "S4@design", "St@start", "column_squirm@design"):
        assert value(b, id) == pytest.approx(value(a, id), rel=1e-9)
    for id in ("axial_rate", "lateral_rate"):
        assert value(b, id) == pytest.approx(k * value(a, id), rel=1e-9)
    assert b.thrust[0].force == pytest.approx(k * k * a.thrust[0].force, rel=1e-9)


@BOTH
@settings(max_examples=25, deadline=None)
@given(st.floats(1e4, 2e6), st.floats(1.01, 3.0))
def test_more_pressure_is_never_better(basis: Basis, pressure: float, more: float) -> None:
    """Use of every pressure check and of fatigue never falls when pressure rises."""
    low = evaluate(case(basis=basis, conditions=one(pressure=pressure)))
    high = evaluate(case(basis=basis, conditions=one(pressure=pressure * more)))
    for found in low.checks:
        if "@operating" in found.id or found.id in {"usage", "fatigue@start"}:
            ratio, raised = found.ratio, check(high, found.id).ratio
            assert ratio is not None
            assert raised is not None
            assert raised >= ratio
    assert high.thrust[0].force == pytest.approx(more * low.thrust[0].force)


def test_stress_is_linear_in_pressure_and_movement() -> None:
    """Twice the pressure is twice S1 to S4; twice the movement twice S5 and S6."""
    a = evaluate(case(conditions=one(), movements=(Movement(name="m", axial=-0.01, cycles=1.0),)))
    b = evaluate(
        case(
            conditions=one(pressure=6e5),
            movements=(Movement(name="m", axial=-0.02, cycles=1.0),),
        )
    )
    for id in ("S1@operating", "S2@operating", "S3@operating", "S4@operating", "S5@m", "S6@m"):
        assert value(b, id) == pytest.approx(2.0 * value(a, id), rel=1e-12)


def test_thin_plies_instead_of_one_thick_are_softer_and_live_longer() -> None:
    """Two plies of 1 mm against one of 2 mm: a quarter of the rate, more cycles."""
    two = evaluate(case())
    thick = evaluate(case(plies=1, ply_thickness=0.002))
    assert value(two, "axial_rate") < 0.3 * value(thick, "axial_rate")
    assert value(two, "design_cycles@start") > value(thick, "design_cycles@start")
    assert value(two, "S3@design") == pytest.approx(value(thick, "S3@design"), rel=1e-9)


def test_direction_of_pressure_does_not_change_stress() -> None:
    """Vacuum of the same size gives the same stresses, but squirm does not apply."""
    inside = evaluate(case(conditions=one(pressure=0.5e5)))
    outside = evaluate(case(conditions=one(pressure=-0.5e5)))
    assert value(inside, "S4@operating") == value(outside, "S4@operating")
    for id in ("column_squirm@operating", "inplane_squirm@operating"):
        assert check(outside, id).outcome == Outcome.DOES_NOT_APPLY
    assert check(outside, "external@operating").outcome == Outcome.MET
    assert outside.thrust[0].force < 0.0


def test_both_rule_sets_agree_where_they_print_one_equation() -> None:
    """S1, S2, S4 and St are the same in both; the rate differs by 1.726 against 1.7."""
    asme, ejma = evaluate(case(basis=Basis.ASME_26)), evaluate(case())
    for id in ("S1@design", "S2@design", "S4@design", "St@start"):
        assert value(asme, id) == value(ejma, id)
    assert value(asme, "axial_rate") / value(ejma, "axial_rate") == pytest.approx(
        math.pi / 2 / 0.91 / 1.7
    )


def _inplane_constant(report: BellowsReport, effective_yield: float) -> float:
    """The constant that the in-plane limit was worked out with, from its own figures."""
    delta = value(report, "S4@design") / (3.0 * value(report, "S2@design"))
    alpha = 1.0 + 2.0 * delta**2 + math.sqrt(1.0 - 2.0 * delta**2 + 4.0 * delta**4)
    limit = value(report, "inplane_squirm@design")
    spread = value(report, "mean_diameter") * 0.048 * math.sqrt(alpha)
    return limit * spread / (value(report, "metal_area") * effective_yield)


@pytest.mark.parametrize(("basis", "constant"), [(Basis.ASME_26, math.pi - 2), (Basis.EJMA, 1.3)])
def test_inplane_constant_of_each_standard(basis: Basis, constant: float) -> None:
    """pi - 2 in ASME and 1.3 in EJMA, on the yield of the finished bellows."""
    report = evaluate(case(basis=basis, yield_strength=400e6))
    assert _inplane_constant(report, 400e6) == pytest.approx(constant)


@pytest.mark.parametrize(("state", "factor"), [("as formed", 2.3), ("annealed", 0.75)])
def test_asme_factors_on_table_yield(state: str, factor: float) -> None:
    """Without a measured yield ASME takes 2.3 times table yield as formed, 0.75 annealed."""
    report = evaluate(case(basis=Basis.ASME_26, treatment=Treatment(state)))
    table = materials.yield_strength("321", 673.15).value
    assert _inplane_constant(report, factor * table) == pytest.approx(math.pi - 2)


def test_ejma_raises_table_yield_by_the_strength_factor() -> None:
    """Without a measured yield EJMA takes 0.67 Cm times table yield; annealed Cm is 1.5."""
    report = evaluate(case(treatment=Treatment.ANNEALED))
    table = materials.yield_strength("321", 673.15).value
    assert _inplane_constant(report, 0.67 * 1.5 * table) == pytest.approx(1.3)


@BOTH
def test_fatigue_stress_raises_the_pressure_part_by_the_ratio_of_moduli(basis: Basis) -> None:
    """x = 0.7 (S3 + S4) Eo/Eb + S5 + S6, with S5 and S6 on the cold modulus."""
    report = evaluate(case(basis=basis))
    cold = materials.modulus("321", 294.2612).value
    hot = materials.modulus("321", 633.15).value
    pressed = 0.7 * (value(report, "S3@operating") + value(report, "S4@operating"))
    moved = value(report, "S5@start") + value(report, "S6@start")
    assert value(report, "St@start") == pytest.approx(pressed + moved)
    assert value(report, "fatigue_stress@start") == pytest.approx(pressed * cold / hot + moved)
    bending = 5 * cold * value(report, "thinned_ply") * value(report, "e@start")
    assert value(report, "S6@start") == pytest.approx(bending / (3 * 0.05**2 * value(report, "Cd")))


def test_hot_rates_are_the_cold_ones_by_the_ratio_of_moduli() -> None:
    """The operating rate is softer than the cold one by Eb/Eo."""
    report = evaluate(case())
    ratio = materials.modulus("321", 633.15).value / materials.modulus("321", 294.2612).value
    for id in ("axial_rate", "lateral_rate", "angular_rate"):
        assert value(report, id) == pytest.approx(ratio * value(report, f"{id}_cold"))


def test_two_bellows_share_axial_movement() -> None:
    """A universal or a pair takes half the axial movement in each bellows, at half the rate."""
    moves = (Movement(name="m", axial=-0.02, cycles=1.0),)
    single = evaluate(case(movements=moves))
    for kind in (Assembly.UNIVERSAL, Assembly.PAIR):
        double = evaluate(case(movements=moves, assembly=kind, length_over_both=3.0))
        assert value(double, "e@m") == pytest.approx(value(single, "e@m") / 2.0)
        assert value(double, "axial_rate") == pytest.approx(value(single, "axial_rate") / 2.0)


def test_a_pair_turns_by_offset_over_distance() -> None:
    """Two hinges a distance apart turn by y over that distance, as a single angle would."""
    apart = 3.0 - 8 * 0.048
    pair = evaluate(
        case(
            assembly=Assembly.PAIR,
            length_over_both=3.0,
            movements=(Movement(name="m", lateral=0.05, cycles=1.0),),
        )
    )
    turned = evaluate(case(movements=(Movement(name="m", angular=0.05 / apart, cycles=1.0),)))
    assert value(pair, "e@m") == pytest.approx(value(turned, "e@m"))


def test_weld_factor_lowers_hoop_capacity_only() -> None:
    """A weld factor of 0.8 takes a fifth off S1 and S2, and nothing off S3 + S4."""
    sound, weak = evaluate(case()), evaluate(case(weld_factor=0.8))
    for id, factor in (("S1@design", 0.8), ("S2@design", 0.8), ("S3+S4@design", 1.0)):
        a, b = check(sound, id).capacity, check(weak, id).capacity
        assert a is not None
        assert b == pytest.approx(factor * a)


def test_forming_method_decides_the_strength_factor() -> None:
    """Roll forming strains more than hydraulic; unknown takes the lower of the two."""
    capacities = [
        check(evaluate(case(height=0.03, forming_factor=factor)), "S3+S4@design").capacity
        for factor in (1.0, 0.6, None)
    ]
    roll, hydraulic, unknown = capacities
    assert roll is not None
    assert hydraulic is not None
    assert roll > hydraulic
    assert unknown == min(roll, hydraulic)


def test_opposite_movements_superpose() -> None:
    """Extension in one case and compression in another make one larger range."""
    up = Movement(name="up", axial=0.02, cycles=100.0)
    down = Movement(name="down", axial=-0.02, cycles=100.0)
    same = Movement(name="down", axial=0.02, cycles=100.0)
    opposite, alike = evaluate(case(movements=(up, down))), evaluate(case(movements=(up, same)))
    assert opposite.usage is not None
    assert alike.usage is not None
    assert opposite.usage > 2.0 * alike.usage


def test_few_cycles_carry_a_caution() -> None:
    """Below the tested range of the curves the check says that its margin is not proven."""
    moves = (
        Movement(name="far", axial=-0.1, cycles=5.0),
        Movement(name="near", axial=-0.01, cycles=5.0),
    )
    report = evaluate(case(movements=moves, height=0.03, ply_thickness=0.002))
    assert any("not proven" in text for text in check(report, "fatigue@far").cautions)
    assert not any("not proven" in text for text in check(report, "fatigue@near").cautions)


def test_a_held_spool_raises_squirm_four_times() -> None:
    """A universal whose spool is not held counts a quarter of the fixed-end squirm pressure."""
    free = case(assembly=Assembly.UNIVERSAL, length_over_both=3.0)
    held = msgspec.structs.replace(free, spool_held=True)
    a, b = evaluate(free), evaluate(held)
    assert value(b, "column_squirm@design") == pytest.approx(4 * value(a, "column_squirm@design"))
    assert any("Spool not held" in note for note in a.notes)


@BOTH
@pytest.mark.parametrize("plies", [1, 2, 3])
def test_pressure_limit_is_where_the_first_check_is_just_met(basis: Basis, plies: int) -> None:
    """At the stated pressure limit the worst pressure check has a use of exactly one."""
    first = evaluate(case(basis=basis, plies=plies, conditions=one()))
    limit = value(first, "pressure_limit@operating")
    report = evaluate(case(basis=basis, plies=plies, conditions=one(pressure=limit)))
    ratios = [found.ratio for found in report.checks if found.id.endswith("@operating")]
    assert max(ratio for ratio in ratios if ratio is not None) == pytest.approx(1.0, rel=1e-12)


def test_vessel_code_holds_stress_at_tensile_over_three_and_a_half() -> None:
    """VIII-1 allows alloy 625 120 ksi / 3.5; the piping table gives a third of 120 ksi."""
    cold = one(temperature=300.0)
    vessel = check(
        evaluate(case(basis=Basis.ASME_26, material="625", conditions=cold)), "S2@operating"
    )
    piping = check(evaluate(case(material="625", conditions=cold)), "S2@operating")
    assert vessel.capacity == pytest.approx(120e3 / 3.5 * 6894.757, rel=1e-6)
    assert piping.capacity == pytest.approx(40e3 * 6894.757, rel=1e-6)


# --- ply loss --------------------------------------------------------------------------


def test_losing_a_ply_doubles_pressure_stress_and_halves_stability() -> None:
    """One ply of two: S2 and S4 about double, squirm about halves, movement stress stays."""
    whole = evaluate(case())
    alone = evaluate(surviving_ply(case(), "inner"))
    for id in ("S1@design", "S2@design", "S3@design", "S4@design"):
        assert value(alone, id) / value(whole, id) == pytest.approx(2.0, rel=0.01)
    for id in ("column_squirm@design", "axial_rate"):
        assert value(alone, id) / value(whole, id) == pytest.approx(0.5, rel=0.01)
    assert value(alone, "S6@start") == pytest.approx(value(whole, "S6@start"), rel=0.01)


def test_the_outer_ply_is_the_larger_one() -> None:
    """With the inner ply lost the outer one keeps its own diameter, one thickness further out."""
    outer, inner = surviving_ply(case(), "inner"), surviving_ply(case(), "outer")
    assert outer.inside_diameter == pytest.approx(0.602)
    assert inner.inside_diameter == 0.6
    assert outer.plies == inner.plies == 1


def test_a_single_ply_has_no_survivor() -> None:
    """Asking for the second ply of a single-ply bellows is refused."""
    with pytest.raises(Contradiction, match="no second"):
        surviving_ply(case(plies=1), "inner")


# --- unknown is never a pass -----------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    ["inside_diameter", "height", "pitch", "convolutions", "plies", "ply_thickness"],
)
@BOTH
def test_unknown_geometry_decides_nothing_that_rests_on_it(basis: Basis, name: str) -> None:
    """With a dimension unknown, what is still decided does not change with that dimension."""
    report = evaluate(case(basis=basis, missing=(name,)))
    whole = case(basis=basis)
    other = {name: getattr(whole, name) + 1 if name in {"plies", "convolutions"} else
             1.04 * getattr(whole, name)}  # fmt: skip
    one, two = evaluate(whole), evaluate(case(basis=basis, **other))
    decided = 0
    for found in report.checks:
        if found.outcome == Outcome.NOT_EVALUATED:
            assert "unknown" in found.because
            continue
        decided += 1
        first, second = check(one, found.id), check(two, found.id)
        assert (found.demand, found.capacity) == (first.demand, first.capacity), found.id
        assert (found.demand, found.capacity) == (second.demand, second.capacity), found.id
    assert decided < len(report.checks) - 4
    assert report.usage is None
    assert report.missing == (name,)


def test_a_missing_number_is_ignored_whatever_it_holds() -> None:
    """A placeholder in a field named as missing has no influence, NaN or zero alike."""
    a = evaluate(case(missing=("height",), height=math.nan))
    b = evaluate(case(missing=("height",), height=0.0))
    assert a == b


def test_unknown_alloy_leaves_strength_open() -> None:
    """Stresses are still given; nothing is compared with a strength that is not known."""
    report = evaluate(case(material="mystery metal"))
    assert value(report, "S4@design") > 0.0
    assert check(report, "S2@design").outcome == Outcome.NOT_EVALUATED
    assert check(report, "creep").outcome == Outcome.NOT_EVALUATED
    assert report.usage is None
    assert any("mystery metal" in note for note in report.notes)


def test_unknown_pressure_is_named() -> None:
    """Without a design condition its checks stand there, not evaluated, with what is unknown."""
    report = evaluate(case(conditions=one(), missing=("design_pressure",)))
    found = check(report, "S3+S4@design")
    assert found.outcome == Outcome.NOT_EVALUATED
    assert "design pressure" in found.because


def test_no_tangent_is_no_pass_of_the_tangent() -> None:
    """A tangent length of zero leaves the tangent unchecked, not passed."""
    found = check(evaluate(case(tangent_length=0.0)), "S1@design")
    assert found.outcome == Outcome.NOT_EVALUATED
    assert "tangent" in found.because


def test_no_cycles_is_no_pass_of_fatigue() -> None:
    """A movement without a count is not evaluated; allowed cycles are still shown."""
    report = evaluate(case(movements=(Movement(name="m", axial=-0.02),)))
    assert check(report, "fatigue@m").outcome == Outcome.NOT_EVALUATED
    assert check(report, "usage").outcome == Outcome.NOT_EVALUATED
    assert value(report, "design_cycles@m") > 0.0


def test_universal_without_length_leaves_its_lateral_movement_open() -> None:
    """Lateral movement of a universal needs the length over both bellows."""
    report = evaluate(case(assembly=Assembly.UNIVERSAL))
    found = check(report, "fatigue@start")
    assert found.outcome == Outcome.NOT_EVALUATED
    assert "length over both" in found.because
    assert check(report, "fatigue@trip").outcome == Outcome.MET
    assert check(report, "usage").outcome == Outcome.NOT_EVALUATED
    assert report.usage is None


def test_unknown_treatment_takes_the_lower() -> None:
    """Unknown treatment has the capacity of annealed metal and says so where it is used."""
    unknown, annealed = (
        evaluate(case(treatment=treatment)) for treatment in (None, Treatment.ANNEALED)
    )
    a, b = check(unknown, "S3+S4@design"), check(annealed, "S3+S4@design")
    assert a.capacity == b.capacity
    assert "unknown" in a.because
    assert a.cautions
    formed = check(evaluate(case()), "S3+S4@design")
    assert formed.capacity is not None
    assert b.capacity is not None
    assert formed.capacity > b.capacity


def test_bound_of_yield_proves_but_never_condemns() -> None:
    """Without yield data in-plane squirm may be shown to hold, never shown to fail."""
    low = evaluate(case(material="800", conditions=one(pressure=2e5)))
    high = evaluate(case(material="800", conditions=one(pressure=8e6)))
    assert check(low, "inplane_squirm@operating").outcome == Outcome.MET
    assert "lower bound" in check(low, "inplane_squirm@operating").because
    found = check(high, "inplane_squirm@operating")
    assert found.outcome == Outcome.NOT_EVALUATED
    assert "give the yield strength" in found.because


def test_given_yield_is_used_as_it_stands() -> None:
    """A measured yield of the finished bellows replaces table and factor."""
    a = evaluate(case(yield_strength=300e6))
    b = evaluate(case(yield_strength=600e6))
    id = "inplane_squirm@design"
    assert value(b, id) == pytest.approx(2.0 * value(a, id))


def test_strength_from_memory_makes_a_check_provisional() -> None:
    """800H strength comes from memory, so its checks are provisional although the clause is not."""
    assert check(evaluate(case(material="800H")), "S2@design").provisional
    assert not check(evaluate(case(material="321")), "S2@design").provisional
    assert check(evaluate(case(material="800H")), "S2@design").source.standing == Standing.MEMORY


# --- creep and limits ------------------------------------------------------------------


@BOTH
def test_creep_range_makes_the_result_invalid_and_prints_no_cycles(basis: Basis) -> None:
    """Above the threshold: not valid, no cycles, no usage; stresses are a relative measure."""
    report = evaluate(case(basis=basis, conditions=one(temperature=850.0)))
    assert not report.valid
    assert check(report, "creep").outcome == Outcome.NOT_MET
    assert report.usage is None
    assert report.figure("design_cycles@start") is None
    assert report.figure("mean_cycles@start") is None
    stress = report.figure("St@start")
    assert stress is not None
    assert "relative" in stress.note
    for id in ("fatigue@start", "usage", "column_squirm@operating"):
        assert check(report, id).outcome == Outcome.NOT_EVALUATED


def test_creep_range_never_meets_an_asme_check() -> None:
    """The code's pressure checks say that they do not cover it, rather than pass."""
    report = evaluate(case(basis=Basis.ASME_26, conditions=one(temperature=850.0)))
    assert all(
        found.outcome != Outcome.MET for found in report.checks if found.id.endswith("@operating")
    )


def test_ejma_has_its_own_form_in_the_creep_range() -> None:
    """S3 + S4/1.25 against the allowable stress stands in for S3 + S4."""
    report = evaluate(case(conditions=one(temperature=850.0)))
    found = check(report, "S3+S4@operating")
    assert found.demand == pytest.approx(
        value(report, "S3@operating") + value(report, "S4@operating") / 1.25
    )
    assert found.provisional


def test_outside_the_limits_is_flagged_not_refused() -> None:
    """A long bellows is worked out, but the result says that the rules do not cover it."""
    report = evaluate(case(basis=Basis.ASME_26, convolutions=40))
    assert check(report, "geometry.length").outcome == Outcome.NOT_MET
    assert not report.valid
    assert any("Convoluted length" in note for note in report.notes)


@pytest.mark.parametrize(
    ("id", "changes"),
    [
        ("geometry.thickness", {"ply_thickness": 0.0026}),
        ("geometry.plies", {"plies": 6, "ply_thickness": 0.0005}),
        ("geometry.height", {"inside_diameter": 0.14}),
        ("geometry.side_wall", {"torus_radius": 0.007}),
        ("geometry.radius", {"torus_radius": 0.0039, "pitch": 0.0156}),
        ("geometry.charts", {"torus_radius": 0.0021, "pitch": 0.0085, "ply_thickness": 0.0008}),
        (
            "geometry.charts",
            {"inside_diameter": 0.1, "height": 0.09, "pitch": 0.17, "ply_thickness": 0.0002},
        ),
    ],
)
def test_each_limit_of_applicability_is_held(id: str, changes: dict[str, Any]) -> None:
    """Just beyond a limit its check is not met and the result is not valid."""
    report = evaluate(case(basis=Basis.ASME_26, movements=(), **changes))
    assert check(report, id).outcome == Outcome.NOT_MET
    assert not report.valid
    sound = evaluate(case(basis=Basis.ASME_26))
    assert check(sound, id).outcome == Outcome.MET


def test_the_threshold_itself_is_still_covered() -> None:
    """At 425 °C exactly the rules hold; a tenth of a degree above they do not."""
    at, above = (evaluate(case(conditions=one(temperature=t))) for t in (698.15, 698.25))
    assert at.valid
    assert at.usage is not None
    assert not above.valid
    assert above.usage is None


def test_test_temperature_says_nothing_about_creep() -> None:
    """The hottest of operating and design is what is held against the threshold."""
    hot = Condition(name="test", pressure=4e5, temperature=680.0)
    found = check(evaluate(case(conditions=(*one(), hot))), "creep")
    assert found.demand == 633.15


def test_strength_factor_stops_at_three() -> None:
    """However much the metal was strained, S3 + S4 is allowed three times the stress at most."""
    found = check(
        evaluate(case(inside_diameter=0.25, forming_factor=1.0, conditions=one())),
        "S3+S4@operating",
    )
    allowable = materials.allowable_stress("321", 633.15).value
    assert found.capacity == pytest.approx(3.0 * allowable)


def test_mean_cycles_only_where_the_curve_holds() -> None:
    """No mean life for nickel alloys, nor by EJMA for annealed bellows."""
    assert evaluate(case()).figure("mean_cycles@start") is not None
    assert evaluate(case(material="625")).figure("mean_cycles@start") is None
    annealed = evaluate(case(treatment=Treatment.ANNEALED))
    assert annealed.figure("mean_cycles@start") is None
    assert any("as-formed" in note for note in annealed.notes)


def test_usage_of_one_movement_is_its_cycles_over_those_allowed() -> None:
    """Both fibres see the same range when a bellows only bends; it is counted once."""
    report = evaluate(case(movements=(Movement(name="m", lateral=0.02, cycles=70.0),)))
    assert report.usage == pytest.approx(70.0 / value(report, "design_cycles@m"))


def test_ferritic_bellows_have_no_fatigue_curve() -> None:
    """The curve covers austenitic and nickel alloys; others are not evaluated."""
    found = check(
        evaluate(case(material="1.25Cr-0.5Mo", conditions=one(temperature=600.0))), "usage"
    )
    assert found.outcome == Outcome.NOT_EVALUATED
    assert "austenitic" in found.because


# --- refusals --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "error", "words"),
    [
        ({"inside_diameter": 0.0}, OutOfRange, "inside diameter Db"),
        ({"height": math.nan}, OutOfRange, "Convolution height w"),
        ({"ply_thickness": -0.001}, OutOfRange, "Ply thickness t"),
        ({"tangent_length": -0.01}, OutOfRange, "Tangent length"),
        ({"torus_radius": 0.03}, Contradiction, "2 rm"),
        ({"pitch": 0.02, "torus_radius": 0.012}, Contradiction, "overlap"),
        ({"torus_radius": 0.0009}, Contradiction, "inside radius"),
        ({"weld_factor": 1.2}, OutOfRange, "Weld factor"),
        ({"movements": (Movement(name="m", axial=-0.5),)}, Contradiction, "only"),
        ({"movements": (Movement(name="m", axial=-0.2),)}, Contradiction, "clear gap"),
        ({"movements": (Movement(name="m", axial=math.nan),)}, OutOfRange, "Axial movement"),
        ({"movements": (Movement(name="m"), Movement(name="m"))}, Contradiction, "twice"),
        ({"assembly": Assembly.UNIVERSAL, "length_over_both": 0.5}, Contradiction, "two bellows"),
        ({"conditions": one(pressure=math.nan)}, OutOfRange, "Pressure"),
        ({"conditions": one(temperature=-5.0)}, OutOfRange, "Metal temperature"),
        ({"conditions": one() + one()}, Contradiction, "twice"),
    ],
)
def test_what_cannot_be_true_is_refused(
    changes: dict[str, Any], error: type[TakeupError], words: str
) -> None:
    """Alone it raises, naming the quantity; among others it becomes a result that is not valid."""
    with pytest.raises(error, match="(?i)" + words):
        evaluate(case(**changes))
    good, bad, other = evaluate_many([case(), case(**changes), case(name="last")])
    assert good.valid
    assert other.name == "last"
    assert not bad.valid
    assert bad.usage is None
    assert bad.notes
    assert check(bad, "input").outcome == Outcome.NOT_EVALUATED


def test_no_cases_give_no_reports() -> None:
    """An empty list is answered with an empty tuple."""
    assert evaluate_many([]) == ()
