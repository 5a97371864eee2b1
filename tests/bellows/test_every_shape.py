"""Reinforced and toroidal bellows, three rule sets, external pressure, choices of the engineer."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest

from takeup.bellows import arrays, compare, evaluate, evaluate_many, problem_for, solve
from takeup.bellows.model import (
    Assembly,
    Basis,
    BellowsCase,
    BellowsReport,
    Condition,
    Convolution,
    CurvePiece,
    EndFixity,
    FatigueCurve,
    Movement,
    Role,
    Side,
    Treatment,
)
from takeup.bellows.setting import part
from takeup.checks import Check, Outcome
from takeup.errors import Contradiction, OutOfRange, TakeupError
from takeup.sources import Standing

SHAPES = pytest.mark.parametrize("convolution", list(Convolution))
BASES = pytest.mark.parametrize("basis", list(Basis))
SHAPED: dict[Convolution, dict[str, Any]] = {
    Convolution.U_PLAIN: {"conditions": (Condition(name="operating", pressure=8e5, temperature=473.15),
                                         Condition(name="design", pressure=9e5, temperature=523.15))},
    Convolution.U_REINFORCED: {"ring_area": math.pi * 0.006**2, "ring_material": "304"},
    Convolution.TOROIDAL: {"mean_diameter": 0.36, "torus_radius": 0.018, "height": None},
}  # fmt: skip
CURVE = FatigueCurve(
    source="standard, edition and table as the user has them",
    pieces=(CurvePiece(start=200e6, a=40e9, b=200e6, exponent=2.2),),
    most=5e5,
)


def case(convolution: Convolution = Convolution.U_PLAIN, **changes: Any) -> BellowsCase:
    """A sound two-ply 321 bellows of DN 300 in the shape asked for, changed as asked."""
    values: dict[str, Any] = {
        "name": "EJ-1 A",
        "convolution": convolution,
        "inside_diameter": 0.3,
        "height": 0.04,
        "pitch": 0.04,
        "convolutions": 6,
        "plies": 2,
        "ply_thickness": 0.001,
        "tangent_length": 0.02,
        "collar_length": 0.02,
        "collar_thickness": 0.008,
        "collar_material": "304",
        "material": "321",
        "treatment": Treatment.AS_FORMED,
        "forming_factor": 0.6,
        "weld_factor": 1.0,
        "conditions": (
            Condition(name="operating", pressure=2.5e6, temperature=473.15),
            Condition(name="design", pressure=2.7e6, temperature=523.15),
        ),
        "movements": (
            Movement(name="start", axial=-0.02, lateral=0.002, cycles=500.0, done=100.0),
            Movement(name="trip", axial=-0.01, cycles=1000.0),
        ),
    }
    return BellowsCase(**{**values, **SHAPED[convolution], **changes})


def check(report: BellowsReport, id: str) -> Check:
    """The check called ``id``, which must be there."""
    return next(found for found in report.checks if found.id == id)


def value(report: BellowsReport, id: str) -> float:
    """The value of the figure called ``id``, which must be there."""
    figure = report.figure(id)
    assert figure is not None, id
    assert figure.value is not None
    return figure.value


@SHAPES
@BASES
def test_every_shape_is_judged_by_every_rule_set(convolution: Convolution, basis: Basis) -> None:
    """Each shape has its pressure checks, rates and thrust in each rule set, and is valid."""
    report = evaluate(case(convolution, basis=basis))
    assert report.valid
    assert report.basis == basis.value
    families = {found.id.partition("@")[0] for found in report.checks}
    assert families >= {"column_squirm", "S1", "S1c", "S2", "fatigue", "usage", "creep"}
    assert ("inplane_squirm" in families) == (convolution == Convolution.U_PLAIN)
    assert ("S2r" in families) == (convolution == Convolution.U_REINFORCED)
    assert ("S3+S4" in families) == (convolution != Convolution.TOROIDAL)
    assert value(report, "axial_rate") > 0.0
    assert {thrust.condition for thrust in report.thrust} == {"operating", "design"}
    open_ = [c for c in report.checks if c.outcome == Outcome.NOT_EVALUATED]
    if basis != Basis.EN_13445:
        assert not open_
        assert report.usage is not None
    else:
        assert report.usage is None
        assert "constants are not held" in check(report, "usage").because


@SHAPES
@BASES
def test_arrays_and_reports_are_one_code(convolution: Convolution, basis: Basis) -> None:
    """What `solve` gives for a case equals its report to the last bit."""
    one = case(convolution, basis=basis)
    report, solved = evaluate(one), solve(problem_for(one))
    for figure in report.figures:
        if figure.id in solved.figures:
            assert float(solved.figures[figure.id]) == figure.value, figure.id
    compared = 0
    for found in report.checks:
        if found.id in solved.ratios and found.outcome in {Outcome.MET, Outcome.NOT_MET}:
            assert float(solved.ratios[found.id]) == found.ratio, found.id
            compared += 1
        elif found.id in solved.ratios:
            assert math.isnan(float(solved.ratios[found.id])), found.id
    assert compared >= 10


def test_ring_takes_load_off_the_bellows() -> None:
    """A ring lowers hoop and meridional stress; ring and bellows stretch alike."""
    bare = evaluate(case(Convolution.U_PLAIN, conditions=case(Convolution.TOROIDAL).conditions))
    ringed = evaluate(case(Convolution.U_REINFORCED))
    for id in ("S2@design", "S3@design", "S4@design"):
        assert value(ringed, id) < value(bare, id)
    assert value(ringed, "axial_rate") > value(bare, "axial_rate")


def test_thicker_rings_carry_more() -> None:
    """Doubling the ring area lowers the hoop stress of the convolutions."""
    thin = evaluate(case(Convolution.U_REINFORCED))
    thick = evaluate(case(Convolution.U_REINFORCED, ring_area=2 * math.pi * 0.006**2))
    assert value(thick, "S2@design") < value(thin, "S2@design")


def test_ring_halves_are_judged_with_their_fasteners() -> None:
    """Fasteners get a check of their own and make the ring softer."""
    whole = evaluate(case(Convolution.U_REINFORCED))
    halves = evaluate(
        case(Convolution.U_REINFORCED, fastener_area=1e-4, fastener_length=0.05,
             fastener_material="304", fastener_allowable=120e6)
    )  # fmt: skip
    assert value(halves, "S2@design") > value(whole, "S2@design")
    fastener = check(halves, "S2f@design")
    assert fastener.capacity == 120e6
    assert fastener.provisional
    assert not any(found.id.startswith("S2f") for found in whole.checks)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"ring_area": None}, "area of one ring Ar"),
        ({"ring_material": ""}, "ring metal"),
        ({"ring_material": "cheese"}, "cheese"),
        ({"fastener_area": 1e-4}, "fastener metal"),
    ],
)
def test_unknown_ring_leaves_its_checks_open_and_names_it(
    changes: dict[str, Any], words: str
) -> None:
    """Without the ring's data hoop stress stays open; meridional stress is still worked out."""
    report = evaluate(case(Convolution.U_REINFORCED, **changes))
    hoop = check(report, "S2@design")
    assert hoop.outcome == Outcome.NOT_EVALUATED
    assert words in hoop.because
    assert check(report, "S3+S4@design").outcome == Outcome.MET
    assert report.figure("pressure_limit@design") is None


@SHAPES
def test_pressure_limit_is_where_a_check_is_just_met(convolution: Convolution) -> None:
    """At the pressure limit the greatest use of capacity is exactly one."""
    one = case(convolution)
    limit = value(evaluate(one), "pressure_limit@design")
    at = evaluate(
        case(
            convolution, conditions=(Condition(name="design", pressure=limit, temperature=523.15),)
        )
    )
    ratios = [
        found.ratio or 0.0
        for found in at.checks
        if found.id.endswith("@design") and not found.id.startswith("fatigue")
    ]
    assert max(ratios) == pytest.approx(1.0, rel=1e-9)


@pytest.mark.parametrize("missing", ["mean_diameter", "torus_radius"])
def test_torus_without_its_own_dimensions_stays_open(missing: str) -> None:
    """A toroidal bellows needs Dm and r; without one of them nothing is guessed."""
    report = evaluate(case(Convolution.TOROIDAL, **{missing: None}))
    found = check(report, "S3@design")
    assert found.outcome == Outcome.NOT_EVALUATED
    assert "torus" in found.because
    assert report.figure("mean_diameter") is None or missing == "torus_radius"


def test_torus_beyond_the_tables_is_not_valid() -> None:
    """C3 above 20 is outside the tables of B1, B2, B3 and says so."""
    report = evaluate(
        case(Convolution.TOROIDAL, mean_diameter=0.45, torus_radius=0.05, pitch=0.12,
             ply_thickness=0.0004)
    )  # fmt: skip
    assert check(report, "geometry.charts").outcome == Outcome.NOT_MET
    assert not report.valid


def test_en_does_not_condemn_by_a_lower_bound() -> None:
    """Where f is not given, EN's checks are met or open, never not met; with f they decide."""
    poor = case(basis=Basis.EN_13445, conditions=(
        Condition(name="design", pressure=2e6, temperature=523.15),))  # fmt: skip
    report = evaluate(poor)
    stresses = [c for c in report.checks if c.id.startswith(("S1@", "S2", "S3"))]
    assert not [c for c in stresses if c.outcome == Outcome.NOT_MET]
    assert check(report, "S3+S4@design").outcome == Outcome.NOT_EVALUATED
    given = case(basis=Basis.EN_13445, conditions=(
        Condition(name="design", pressure=2e6, temperature=523.15, allowable_stress=100e6),))  # fmt: skip
    found = check(evaluate(given), "S3+S4@design")
    assert found.outcome == Outcome.NOT_MET
    assert found.capacity == pytest.approx(300e6)
    assert "as given" in found.because


def test_en_takes_the_users_curve_and_says_whose_it_is() -> None:
    """With a curve of the user's, cycles are counted on it, as an uncertain source."""
    report = evaluate(case(basis=Basis.EN_13445, fatigue_curve=CURVE))
    found = check(report, "fatigue@start")
    x = value(report, "fatigue_stress@start")
    assert found.capacity == pytest.approx((40e9 / (x - 200e6)) ** 2.2)
    assert found.source.standing == Standing.UNCERTAIN
    assert report.usage is not None


@BASES
def test_design_and_mean_life_are_both_told_apart(basis: Basis) -> None:
    """Allowed cycles and mean cycles are different figures with different names and sources."""
    report = evaluate(case(basis=basis, fatigue_curve=CURVE if basis == Basis.EN_13445 else None))
    design = report.figure("design_cycles@start")
    mean = report.figure("mean_cycles@start")
    assert design is not None
    assert mean is not None
    assert design.name != mean.name
    assert "no margin" in mean.note


def test_kg_lowers_allowed_cycles() -> None:
    """A strength reduction multiplies the stress that enters the curve."""
    plain, welded = evaluate(case()), evaluate(case(kg=1.5))
    assert value(welded, "fatigue_stress@start") == pytest.approx(
        1.5 * value(plain, "fatigue_stress@start")
    )
    assert value(welded, "design_cycles@start") < value(plain, "design_cycles@start")
    assert "Kg = 1.5 as given." in check(welded, "fatigue@start").cautions


def test_unconfirmed_factors_act_only_when_given() -> None:
    """Ctheta and Kr are 1 with a word unless the engineer gives them."""
    moved = (Movement(name="turn", angular=0.02, cycles=10.0),)
    silent, given = evaluate(case(movements=moved)), evaluate(case(movements=moved, ctheta=0.8))
    assert value(given, "column_squirm@design") == pytest.approx(
        0.8 * value(silent, "column_squirm@design")
    )
    assert any("not confirmed" in line for line in check(silent, "column_squirm@design").cautions)
    ejma, opened = evaluate(case(basis=Basis.EJMA)), evaluate(case(basis=Basis.EJMA, kr=1.1))
    assert value(opened, "S2@design") == pytest.approx(1.1 * value(ejma, "S2@design"))
    assert value(opened, "inplane_squirm@design") == pytest.approx(
        value(ejma, "inplane_squirm@design") / 1.1
    )
    assert check(opened, "S2@design").provisional
    asme = evaluate(case(kr=1.1))
    assert value(asme, "S2@design") == value(evaluate(case()), "S2@design")


@pytest.mark.parametrize(("ends", "share"), [(EndFixity.FIXED_PINNED, 0.5), (EndFixity.FREE, 0.06)])
def test_end_condition_scales_column_squirm(ends: EndFixity, share: float) -> None:
    """How the ends are held scales the squirm pressure by the column ratios."""
    held = value(evaluate(case()), "column_squirm@design")
    assert value(evaluate(case(ends=ends)), "column_squirm@design") == pytest.approx(share * held)


def test_vacuum_is_checked_for_buckling_and_not_for_squirm() -> None:
    """External pressure gets a buckling check with a capacity; squirm does not apply."""
    report = evaluate(case(conditions=(
        Condition(name="operating", pressure=-1e5, temperature=473.15),)))  # fmt: skip
    assert check(report, "column_squirm@operating").outcome == Outcome.DOES_NOT_APPLY
    found = check(report, "external@operating")
    assert found.outcome == Outcome.MET
    assert found.demand == 1e5
    assert found.provisional
    assert report.figure("external@operating") is not None


def test_pressure_outside_turns_the_sign_round() -> None:
    """A bellows pressurised from outside is judged at +P as another one is at -P."""
    outside = evaluate(case(pressurised=Side.OUTSIDE))
    inside = evaluate(case(conditions=(
        Condition(name="operating", pressure=-8e5, temperature=473.15),
        Condition(name="design", pressure=-9e5, temperature=523.15))))  # fmt: skip
    assert value(outside, "external@design") == value(inside, "external@design")
    assert value(outside, "S4@design") == value(inside, "S4@design")
    assert check(outside, "inplane_squirm@design").outcome == Outcome.DOES_NOT_APPLY


def test_longer_bellows_buckle_sooner_under_external_pressure() -> None:
    """The equivalent cylinder carries less the longer and the thinner it is."""

    def limit(**changes: Any) -> float:
        vacuum = (Condition(name="operating", pressure=-1e5, temperature=473.15),)
        return value(evaluate(case(conditions=vacuum, **changes)), "external@operating")

    wide = {"inside_diameter": 3.0, "plies": 1, "ply_thickness": 0.0006, "height": 0.02,
            "pitch": 0.016}  # fmt: skip
    assert limit(**wide, convolutions=120) < limit(**wide, convolutions=40)
    assert limit(ply_thickness=0.0005) < limit()


def test_second_plane_adds_as_a_vector() -> None:
    """Movements square to each other add as a vector; in one plane they add in full."""

    def e(**move: Any) -> float:
        report = evaluate(case(movements=(Movement(name="m", cycles=1.0, **move),)))
        return value(report, "e@m")

    one, turned = e(lateral=0.003), e(lateral_across=0.003)
    assert one == pytest.approx(turned)
    assert e(lateral=0.003, lateral_across=0.004) == pytest.approx(e(lateral=0.005))
    turn = e(angular=0.01)
    assert e(lateral=0.003, angular=0.01) == pytest.approx(one + turn)
    assert e(lateral=0.003, angular=-0.01) == pytest.approx(one + turn)  # at the other end
    assert e(lateral=0.003, angular_across=0.01) == pytest.approx(math.hypot(one, turn))


def test_movements_in_different_planes_tire_different_sides() -> None:
    """Movements to opposite sides are worst, square to each other less, to one side least.

    Superposed cycles swing a fibre from one movement's position to the other's.
    """

    def usage(**second: Any) -> float:
        moves = (Movement(name="a", lateral=0.004, cycles=500.0),
                 Movement(name="b", cycles=500.0, **second))  # fmt: skip
        found = evaluate(case(movements=moves)).usage
        assert found is not None
        return found

    assert usage(lateral=0.004) < usage(lateral_across=0.004) < usage(lateral=-0.004)


def test_cycles_done_are_told_from_those_to_come() -> None:
    """Damage so far counts the cycles recorded as done, by the same superposition."""
    report = evaluate(case())
    so_far = value(report, "usage_so_far")
    alone = evaluate(case(movements=(
        Movement(name="start", axial=-0.02, lateral=0.002, cycles=100.0),))).usage  # fmt: skip
    assert so_far == alone
    assert report.usage is not None
    assert 0.0 < so_far < report.usage


def test_installed_set_counts_against_the_gap_but_not_the_range() -> None:
    """A set from installation shifts the position and leaves fatigue as it is."""
    plain, set_ = evaluate(case()), evaluate(case(offset_axial=-0.01))
    assert plain.usage == set_.usage
    assert value(set_, "gap_left@start") == pytest.approx(value(plain, "gap_left@start") - 0.01 / 6)
    with pytest.raises(Contradiction, match="with the installed set closes"):
        evaluate(case(offset_axial=-0.09))


def test_thin_measured_ply_stands_where_it_is_the_less() -> None:
    """A measured ply below the formula raises stress; one above it changes nothing."""
    drawn = evaluate(case())
    thin = evaluate(case(thinnest_ply=0.0007))
    assert value(thin, "thinned_ply") == 0.0007
    assert value(thin, "S4@design") > value(drawn, "S4@design")
    assert value(evaluate(case(thinnest_ply=0.001)), "thinned_ply") == value(drawn, "thinned_ply")


def test_collar_of_unknown_metal_is_said_and_left_open() -> None:
    """Without the collar's metal its own check stays open while the tangent is worked out."""
    report = evaluate(case(collar_material=""))
    assert check(report, "S1c@design").outcome == Outcome.NOT_EVALUATED
    assert "collar metal" in check(report, "S1c@design").because
    assert check(report, "S1@design").outcome == Outcome.MET
    assert any("Collar metal unknown" in note for note in report.notes)


def test_balancing_bellows_takes_axial_movement_the_other_way() -> None:
    """It shortens by what the flow bellows opens, and lateral movement passes it by."""
    moves = (Movement(name="m", axial=0.01, lateral=0.004, cycles=10.0),)
    flow = evaluate(case(assembly=Assembly.BALANCED_ELBOW, movements=moves))
    balance = evaluate(case(assembly=Assembly.BALANCED_ELBOW, role=Role.BALANCING, movements=moves))
    assert value(balance, "e@m") == pytest.approx(0.01 / 6)
    assert value(flow, "e@m") > value(balance, "e@m")


def test_what_the_hardware_holds_is_said() -> None:
    """A movement that the hardware would not let happen is worked out with a word."""
    hinged = evaluate(case(assembly=Assembly.HINGED))
    assert any("holds it axially" in note for note in hinged.notes)
    assert any("turns about its pins" in note for note in hinged.notes)


def test_user_metal_stands_in_for_missing_tables() -> None:
    """Allowable stress and moduli given with the conditions serve an alloy without tables."""
    own = (
        Condition(name="operating", pressure=8e5, temperature=473.15, allowable_stress=120e6,
                  modulus=180e9),
    )  # fmt: skip
    report = evaluate(case(material="own alloy", conditions=own, room_modulus=195e9))
    assert check(report, "S2@operating").capacity == 120e6
    assert value(report, "axial_rate") > 0.0
    assert check(report, "fatigue@start").outcome == Outcome.NOT_EVALUATED


@pytest.mark.parametrize(
    ("shape", "changes", "error", "words"),
    [
        (Convolution.TOROIDAL, {"pitch": 0.03}, Contradiction, "tori would overlap"),
        (Convolution.TOROIDAL, {"mean_diameter": 0.3}, Contradiction, "inside the tangent"),
        (Convolution.TOROIDAL, {"torus_radius": 0.1}, Contradiction, "close over the bore"),
        (Convolution.U_PLAIN, {"collar_length": 0.05}, Contradiction, "longer than the end tangent"),
        (Convolution.U_PLAIN, {"tube_diameter": 0.4}, Contradiction, "formed outwards"),
        (Convolution.U_PLAIN, {"thinnest_ply": 0.002}, Contradiction, "one ply or the whole"),
        (Convolution.U_PLAIN, {"kg": 5.0}, OutOfRange, "Kg"),
        (Convolution.U_PLAIN, {"ctheta": 1.5}, OutOfRange, "Ctheta"),
        (Convolution.U_PLAIN, {"kr": 0.5}, OutOfRange, "Kr"),
        (Convolution.U_PLAIN,
         {"movements": (Movement(name="m", axial=0.01, cycles=5.0, done=6.0),)},
         Contradiction, "must contain those done"),
        (Convolution.U_PLAIN,
         {"assembly": Assembly.UNIVERSAL, "length_over_both": 0.5, "tangent_length": 0.02,
          "collar_length": 0.0}, Contradiction, "longer than the spool"),
        (Convolution.U_PLAIN,
         {"fatigue_curve": FatigueCurve(source="x", pieces=())}, Contradiction, "no branch"),
        (Convolution.U_PLAIN,
         {"fatigue_curve": FatigueCurve(source=" ", pieces=CURVE.pieces)}, Contradiction,
         "no source"),
        (Convolution.U_REINFORCED, {"ring_area": -1.0}, OutOfRange, "ring"),
    ],
)  # fmt: skip
def test_input_that_cannot_be_true_is_refused_by_name(
    shape: Convolution, changes: dict[str, Any], error: type[TakeupError], words: str
) -> None:
    """A contradiction names the numbers that disagree; many cases go on without it."""
    wrong = case(shape, **changes)
    with pytest.raises(error, match=words):
        evaluate(wrong)
    good, bad = evaluate_many([case(), wrong])
    assert good.valid
    assert not bad.valid
    assert words.split(maxsplit=1)[0] in " ".join(bad.notes)


def test_comparison_gives_a_reason_for_every_difference() -> None:
    """Rule sets side by side: rows that differ say why, rows that agree say nothing."""
    found = compare(case(kr=1.05))
    assert found.bases == tuple(basis.value for basis in Basis)
    rows = {row.id: row for row in found.checks}
    assert rows["column_squirm@design"].reasons
    assert any("Kr = 1.05" in line for line in rows["S2@design"].reasons)
    assert rows["creep"].reasons == ()
    assert rows["S3@design"].checks[1] is None
    for row in (*found.checks, *found.figures):
        assert not any("differ in this" in reason for reason in row.reasons), row.id


def test_arrays_of_different_lengths_are_refused() -> None:
    """A problem's arrays must have one length."""
    problem = problem_for(case())
    b = problem.setting.bellows
    wrong = msgspec.structs.replace(
        problem,
        setting=msgspec.structs.replace(
            problem.setting,
            bellows=msgspec.structs.replace(b, height=np.full(3, 0.04), pitch=np.full(2, 0.04)),
        ),
    )
    with pytest.raises(Contradiction, match="2 and 3 rows"):
        solve(wrong)


def test_long_arrays_go_in_blocks_without_a_seam() -> None:
    """Rows beyond one block give what they give alone."""
    count = arrays.BLOCK + 7
    heights = np.linspace(0.03, 0.05, count)
    problem = problem_for(case())
    b = problem.setting.bellows
    wide = problem_for(case(), msgspec.structs.replace(b, height=heights))
    solved = solve(wide, wanted={"usage", "S4@design"})
    assert set(solved.ratios) == {"usage"}
    assert solved.figures["S4@design"].shape == (count,)
    for at in (0, arrays.BLOCK - 1, arrays.BLOCK, count - 1):
        alone = solve(problem_for(case(), part(wide.setting.bellows, at)))
        assert float(alone.ratios["usage"]) == solved.ratios["usage"][at]


def test_shapes_that_the_charts_do_not_fit_carry_a_caution() -> None:
    """Leaning walls with a stiff shell, and the neck of a torus, are cautioned about."""

    def words(report: BellowsReport) -> str:
        ids = ("column_squirm@design", "fatigue@start")
        return " ".join(line for id in ids for line in check(report, id).cautions)

    assert "lean" not in words(evaluate(case()))
    assert words(evaluate(case(torus_radius=0.0085))).count("The side walls lean") == 2
    assert "lean" not in words(evaluate(case(torus_radius=0.0098)))
    assert words(evaluate(case(Convolution.TOROIDAL))).count("stiff collar") == 2
