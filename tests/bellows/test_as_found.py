"""A bellows as found beside the bellows as designed."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeup.bellows import evaluate, surviving_ply
from takeup.bellows.as_found import AsFound, AsFoundReport, examine
from takeup.bellows.as_found.cases import formed_ply
from takeup.bellows.as_found.model import CheckRow, Convolved, Done, Face, LostPly, Thickness
from takeup.bellows.as_found.shape import NEVER
from takeup.bellows.model import (
    Assembly,
    Basis,
    BellowsCase,
    BellowsReport,
    Condition,
    Convolution,
    Movement,
    Treatment,
)
from takeup.checks import Outcome
from takeup.errors import Contradiction, UnknownName
from takeup.given import take
from takeup.limits import defaults
from takeup.units import YEAR

DONE = (Done(name="start", cycles=150.0), Done(name="trip", cycles=100.0))


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


def row(report: AsFoundReport, id: str) -> CheckRow:
    """The row of one check, which must be there."""
    return next(one for one in report.checks if one.id == id)


def ratio(report: BellowsReport, id: str) -> float:
    """Use of capacity of one check, which must be evaluated."""
    value = next(one for one in report.checks if one.id == id).ratio
    assert value is not None
    return value


def grades(report: AsFoundReport) -> dict[str, int]:
    """Grade of each finding by its id."""
    return {one.id: one.grade for one in report.findings}


def test_nothing_found_is_the_design() -> None:
    """Without a finding both sides are the same and nothing is claimed."""
    report = examine(case(), AsFound())
    assert report.crossed == ()
    assert report.findings == ()
    assert [one.name for one in report.variants] == ["as found"]
    for one in report.checks:
        assert one.found == one.designed
        assert one.found_outcome == one.designed_outcome
    for figure in report.figures:
        assert figure.low == figure.high == figure.designed
    assert report.distortion is report.travel is report.ply_loss is report.corrosion is None


@pytest.mark.parametrize(
    "found",
    [
        AsFound(thicknesses=(Thickness(thickness=0.0008), Thickness(thickness=0.0009))),
        AsFound(loss_per_ply=formed_ply(case()) - 0.0008),
    ],
    ids=["measured", "loss"],
)
def test_thinned_plies_are_worked_out_at_what_is_left(found: AsFound) -> None:
    """Every figure as found is that of a case with this thickness; the table says what moved."""
    report = examine(case(), found)
    alone = evaluate(case(thinnest_ply=0.0008))
    for id in ("S2@design", "S3+S4@design", "column_squirm@design", "usage"):
        assert row(report, id).found == pytest.approx(ratio(alone, id), rel=1e-9)
    moved = row(report, "S3+S4@design")
    assert moved.change == pytest.approx(ratio(alone, moved.id) / (moved.designed or 0.0) - 1.0)
    assert "still met" in moved.words
    assert any("Every ply" in note for note in report.notes)


def test_a_check_that_crosses_is_named_and_graded() -> None:
    """Met as designed and not as found: in the table, in the list and among the findings."""
    report = examine(case(), AsFound(loss_per_ply=0.0003))
    assert "column_squirm@design" in report.crossed
    crossed = row(report, "column_squirm@design")
    assert crossed.crosses
    assert "no longer met" in crossed.words
    found = grades(report)
    assert found["as_found.column_squirm@design"] == 3
    operating = row(report, "column_squirm@operating")
    assert found.get("as_found.column_squirm@operating", 4) == 4
    assert operating.designed is not None
    finding = next(one for one in report.findings if one.id == "as_found.column_squirm@design")
    assert finding.ground.evidence == ("check:column_squirm@design",)
    assert any("squirms fails without warning" in one for one in finding.cautions)


@given(st.floats(0.0, 0.0005), st.floats(1e-6, 0.0003))
@settings(max_examples=15, deadline=None)
def test_more_loss_never_helps_against_pressure(loss: float, more: float) -> None:
    """The pressure that a bellows bears never rises as metal goes."""

    def bears(value: float) -> float:
        report = examine(case(movements=()), AsFound(loss_per_ply=value))
        figure = report.variants[0].report.figure("pressure_limit@design")
        assert figure is not None
        assert figure.value is not None
        return figure.value

    assert bears(loss + more) <= bears(loss) * (1.0 + 1e-12)


def shaped(**sizes: Any) -> tuple[Convolved, ...]:
    """Convolution 3, measured."""
    return (Convolved(convolution=3, **sizes),)


def test_extremes_of_the_shape_are_all_worked_out() -> None:
    """Highest and lowest with widest and narrowest; each check takes its own worst."""
    found = AsFound(
        convolutions=(
            Convolved(convolution=1, height=0.048, pitch=0.046),
            Convolved(convolution=2, height=0.052, pitch=0.050),
        )
    )
    report = examine(case(), found)
    assert {one.name for one in report.variants} == {
        "as found, highest and widest",
        "as found, highest and narrowest",
        "as found, lowest and widest",
        "as found, lowest and narrowest",
    }
    assert "highest" in row(report, "S3+S4@design").variant
    assert "widest" in row(report, "S2@design").variant
    alone = evaluate(case(height=0.052, pitch=0.050, torus_radius=0.012))
    highest = next(one for one in report.variants if one.name.endswith("highest and widest"))
    assert ratio(highest.report, "S2@design") == ratio(alone, "S2@design")
    figure = next(one for one in report.figures if one.id == "S4@design")
    assert figure.low is not None
    assert figure.high is not None
    assert figure.designed is not None
    assert figure.low < figure.designed < figure.high


def test_leaning_walls_are_said_to_be_outside_the_charts() -> None:
    """Coefficients do not see the pitch: a measured one that leans the walls says so."""
    wide = examine(case(), AsFound(convolutions=shaped(pitch=0.056)))
    assert any("lean the side walls by up to 9 degrees" in note for note in wide.notes)
    even = examine(case(), AsFound(convolutions=shaped(pitch=0.0482)))
    assert not any("lean the side walls" in note for note in even.notes)


def test_a_shape_that_cannot_be_leaves_checks_open() -> None:
    """Convolutions pressed together cannot be worked out: nothing counts as met on the rest."""
    found = AsFound(
        convolutions=(
            Convolved(convolution=1, pitch=0.025),
            Convolved(convolution=2, pitch=0.048),
        )
    )
    report = examine(case(), found)
    assert row(report, "S2@design").found_outcome == Outcome.NOT_EVALUATED
    assert "overlap" in row(report, "S2@design").words
    assert any("overlap" in note for note in report.notes)
    assert grades(report)["as_found.input.as found, narrowest"] == 3


@pytest.mark.parametrize(
    ("found", "says"),
    [
        (AsFound(thicknesses=(Thickness(thickness=0.0019, place="crest 4"),)), "crest 4"),
        (AsFound(loss_per_ply=0.00096), "give the ply as lost"),
        (AsFound(convolutions=(Convolved(convolution=9, pitch=0.048),)), "has 8"),
        (AsFound(cycles_per_year=10.0, hours_per_cycle=3600.0 * 10.0, done=DONE), "keep one"),
    ],
)
def test_findings_that_cannot_be_true_are_refused(found: AsFound, says: str) -> None:
    """What was entered wrongly is said with its place."""
    with pytest.raises(Contradiction, match=says):
        examine(case(), found)


def test_measured_size_that_cannot_be_is_a_finding() -> None:
    """A measured diameter that no bellows can have leaves all open and is said."""
    report = examine(case(), AsFound(inside_diameter=-1.0))
    assert any("nside diameter" in note for note in report.notes)
    assert {one.found_outcome for one in report.checks} == {Outcome.NOT_EVALUATED}


def test_cycles_of_an_unknown_movement_are_refused() -> None:
    """A movement that the case does not have is not swallowed."""
    with pytest.raises(UnknownName, match="start"):
        examine(case(), AsFound(done=(Done(name="strat", cycles=3.0),)))


def test_life_left_from_what_was_done() -> None:
    """Usage so far by the cycles done, cycles left in planned proportion and one by one."""
    report = examine(case(), AsFound(done=DONE))
    design = evaluate(case())
    half = evaluate(
        case(
            movements=(
                Movement(name="start", axial=-0.02, lateral=0.005, cycles=150.0),
                Movement(name="trip", axial=-0.01, cycles=100.0),
            )
        )
    )
    assert report.life.usage_so_far == pytest.approx(half.usage)
    assert design.usage is not None
    assert half.usage is not None
    assert report.life.left == pytest.approx((1.0 - half.usage) / design.usage * 800.0)
    cycles = design.figure("design_cycles@start")
    assert cycles is not None
    assert cycles.value is not None
    each = report.life.each[0]
    assert each.allowed == pytest.approx(cycles.value)
    assert each.left == pytest.approx((1.0 - half.usage) * cycles.value)
    assert report.life.seconds is None
    assert report.designed.figure("usage_so_far") is not None


def test_life_in_time_only_when_asked() -> None:
    """Cycles a year or time per cycle turn cycles left into time."""
    years = examine(case(), AsFound(done=DONE, cycles_per_year=20.0)).life
    assert years.left is not None
    assert years.seconds == pytest.approx(years.left / 20.0 * YEAR)
    hours = examine(case(), AsFound(done=DONE, hours_per_cycle=3.6e6)).life
    assert hours.seconds == pytest.approx(years.left * 3.6e6)


def test_more_cycles_than_planned_raise_the_count() -> None:
    """What was done counts whole, also where less was planned, and that is said."""
    report = examine(case(), AsFound(done=(Done(name="start", cycles=400.0),)))
    planned = evaluate(case())
    assert planned.usage is not None
    assert (row(report, "usage").designed or 0.0) > planned.usage
    assert any("400 cycles done, 300 planned" in one for one in report.notes)


def test_unknown_history_is_not_a_fresh_bellows() -> None:
    """Where nobody said how many cycles were done, no life left is stated."""
    life = examine(case(), AsFound(cycles_per_year=20.0)).life
    assert life.usage_so_far is None
    assert life.left is None
    assert life.seconds is None
    assert any("not known" in one for one in life.words)


def test_cycles_beyond_the_curve_are_found() -> None:
    """Usage so far and to come above one is a finding for this outage."""
    many = case(
        movements=(Movement(name="start", axial=-0.05, cycles=90000.0, done=40000.0),),
    )
    report = examine(many, AsFound())
    assert report.life.usage_so_far is not None
    assert report.life.usage_to_come is not None
    assert report.life.usage_so_far + report.life.usage_to_come > 1.0
    assert grades(report)["as_found.life"] == 3


MODULUS = (
    Condition(name="design", pressure=3.5e5, temperature=673.15, modulus=160e9),
    Condition(name="operating", pressure=3.0e5, temperature=633.15, modulus=160e9),
)


def test_outer_ply_alone_fails_column_squirm() -> None:
    """The worked two-ply sample: at 3.5 bar the outer ply alone squirms at 3.19 bar."""
    sample = case(conditions=MODULUS, yield_strength=400e6)
    report = examine(sample, AsFound(lost_ply=LostPly.INNER, done=DONE))
    assert report.ply_loss is not None
    assert dict(report.ply_loss.allowed)["design"] == pytest.approx(3.19e5, rel=2e-3)
    assert report.ply_loss.redundant is False
    assert "column_squirm@design" in report.crossed
    assert row(report, "S3+S4@design").found_outcome == Outcome.MET
    assert any("does not judge why" in one for one in report.cautions)
    assert any("now sees the process fluid" in one for one in report.cautions)
    assert grades(report)["as_found.ply"] == 3


def test_life_after_a_lost_ply_keeps_the_old_usage() -> None:
    """Usage so far with the stress of both plies; the rest with that of the one left."""
    report = examine(case(), AsFound(lost_ply=LostPly.OUTER, done=DONE))
    both, one = evaluate(case()), evaluate(surviving_ply(case(), "outer"))
    so_far = examine(case(), AsFound(done=DONE)).life.usage_so_far
    assert report.life.usage_so_far == pytest.approx(so_far)
    assert so_far is not None
    assert one.usage is not None
    assert both.usage is not None
    assert one.usage > both.usage
    assert report.life.left == pytest.approx((1.0 - so_far) / one.usage * 800.0)
    assert report.ply_loss is not None
    assert report.ply_loss.life == report.life
    assert any("all along" in text for text in report.cautions)


def test_redundant_ply_is_watched() -> None:
    """At a pressure that either ply bears alone the loss is a matter of time, not of strength."""
    low = tuple(msgspec.structs.replace(one, pressure=1e5) for one in MODULUS)
    report = examine(case(conditions=low), AsFound(lost_ply=LostPly.INNER))
    assert report.ply_loss is not None
    assert report.ply_loss.redundant is True
    assert grades(report)["as_found.ply"] == 2


def test_redundancy_is_open_without_design_condition() -> None:
    """What was not evaluated at design is no proof of redundancy."""
    report = examine(case(conditions=MODULUS[1:]), AsFound(lost_ply=LostPly.INNER))
    assert report.ply_loss is not None
    assert report.ply_loss.redundant is None


def test_single_ply_has_no_survivor() -> None:
    """A lost ply of a single-ply bellows is refused."""
    with pytest.raises(Contradiction, match="no second"):
        examine(case(plies=1), AsFound(lost_ply=LostPly.INNER))


def test_readings_of_the_lost_ply_say_nothing_of_the_other() -> None:
    """Thickness measured on the ply that is gone does not thin the one left."""
    readings = (
        Thickness(thickness=0.0004, face=Face.INSIDE),
        Thickness(thickness=0.0009, face=Face.OUTSIDE),
    )
    report = examine(case(), AsFound(lost_ply=LostPly.INNER, thicknesses=readings))
    assert report.corrosion is not None
    assert report.corrosion.left == 0.0009
    assert report.variants[0].case.thinnest_ply == 0.0009
    both = examine(case(), AsFound(thicknesses=readings))
    assert both.corrosion is not None
    assert both.corrosion.left == 0.0004


def dated(*pairs: tuple[int, float], face: Face = Face.OUTSIDE) -> tuple[Thickness, ...]:
    """Readings on the first of May of some years."""
    return tuple(
        Thickness(thickness=left, date=dt.date(year, 5, 1), face=face) for year, left in pairs
    )


def test_first_check_to_be_used_up_and_when() -> None:
    """At the thickness named that check stands at one, every other below; the date follows."""
    found = AsFound(thicknesses=dated((2021, 0.00090), (2025, 0.00082)))
    lost = examine(case(), found).corrosion
    assert lost is not None
    assert lost.thickness is not None
    assert lost.rate == pytest.approx(0.00008 / (1461 * 86400.0))
    then = evaluate(case(thinnest_ply=lost.thickness))
    used = {
        one.id: one.ratio
        for one in then.checks
        if one.ratio is not None and not one.id.startswith("geometry")
    }
    name = max(used, key=lambda id: used[id] or 0.0)
    assert used[name] == pytest.approx(1.0, abs=1e-4)
    title = next(one.name for one in then.checks if one.id == name)
    assert lost.first.startswith(title) or title in " ".join(lost.words)
    assert lost.seconds == pytest.approx((0.00082 - lost.thickness) / lost.rate)
    assert lost.until == dt.date(2025, 5, 1) + dt.timedelta(seconds=lost.seconds)


def test_soon_used_up_is_for_this_outage() -> None:
    """Less than the site's limit (five years) is grade 3, more is watched."""
    slow = AsFound(loss_per_ply=0.0001, corrosion_rate=1e-5 / YEAR, date=dt.date(2025, 5, 1))
    fast = msgspec.structs.replace(slow, corrosion_rate=5e-4 / YEAR)
    assert grades(examine(case(), slow))["as_found.thickness"] == 2
    assert grades(examine(case(), fast))["as_found.thickness"] == 3


@pytest.mark.parametrize(
    ("readings", "says"),
    [
        (dated((2025, 0.0008)), "two dates"),
        (dated((2021, 0.0008), (2025, 0.00085)), "not thinner"),
        (
            (*dated((2021, 0.0009)), *dated((2025, 0.0008), face=Face.INSIDE)),
            "same side",
        ),
    ],
)
def test_no_rate_no_date(readings: tuple[Thickness, ...], says: str) -> None:
    """One date, growth, or two different plies give no rate and no date."""
    lost = examine(case(), AsFound(thicknesses=readings)).corrosion
    assert lost is not None
    assert lost.rate is None
    assert lost.until is None
    assert lost.thickness is not None
    assert any(says in one for one in lost.words)


def test_checks_not_met_already_have_no_date_to_come() -> None:
    """What is used up is said to be; the date is that of the next."""
    lost = examine(case(), AsFound(loss_per_ply=0.0003, corrosion_rate=1e-5 / YEAR)).corrosion
    assert lost is not None
    assert any("not met already" in one for one in lost.words)
    assert not lost.first.startswith("column_squirm@design")


def test_heat_is_handed_over() -> None:
    """Above the creep threshold the rules are said to end, with stress and temperature."""
    report = examine(case(), AsFound(metal_temperature=823.15))
    assert [one.condition for one in report.hand_overs] == ["operating"]
    over = report.hand_overs[0]
    assert over.to == "creep"
    assert over.temperature == 823.15
    assert over.threshold < over.temperature
    assert over.stress is not None
    hot = evaluate(report.variants[0].case)
    s3, s4 = hot.figure("S3@operating"), hot.figure("S4@operating")
    assert s3 is not None
    assert s4 is not None
    assert over.stress == pytest.approx((s3.value or 0.0) + (s4.value or 0.0))
    assert over.range is not None
    assert report.life.left is None
    assert grades(report)["as_found.creep@operating"] == 3
    assert examine(case(), AsFound(metal_temperature=640.0)).hand_overs == ()


def test_temperature_without_operating_condition_is_said() -> None:
    """A temperature that has no place to go is not dropped in silence."""
    report = examine(case(conditions=MODULUS[:1]), AsFound(metal_temperature=640.0))
    assert any("no operating condition" in one for one in report.notes)
    given = examine(case(conditions=MODULUS), AsFound(metal_temperature=640.0))
    assert any("come from the tables" in one for one in given.notes)


def test_installed_set_found_moves_with_the_case() -> None:
    """Offset and rotation of the ends become the installed set of the case."""
    report = examine(case(), AsFound(offset_lateral=0.004, offset_angular=0.01))
    made = report.variants[0].case
    assert (made.offset_axial, made.offset_lateral, made.offset_angular) == (0.0, 0.004, 0.01)


def test_travel_within_what_was_counted() -> None:
    """A position that a movement of the case reaches is recorded, no more."""
    walk = Movement(name="walk", axial=-0.015, lateral=0.004)
    report = examine(case(), AsFound(travel=walk, done=DONE))
    assert report.travel is not None
    assert report.travel.outside == ()
    assert grades(report)["as_found.travel"] == 1
    assert report.travel.usage is not None
    assert report.travel.usage_left == pytest.approx(
        1.0 - (report.travel.usage_so_far or 0.0) - report.travel.usage
    )


def test_one_excursion_costs_one_cycle_of_its_span() -> None:
    """Alone it costs 1 / N at its own range; beside an opposite movement, at the whole span."""
    free = case(movements=(Movement(name="open", axial=0.02, cycles=1.0),))
    walk = Movement(name="walk", axial=-0.05)
    report = examine(free, AsFound(travel=walk))
    span = evaluate(case(movements=(Movement(name="span", axial=-0.07, cycles=1.0),)))
    before = evaluate(free)
    cycles = span.figure("design_cycles@span")
    assert cycles is not None
    assert cycles.value is not None
    assert before.usage is not None
    assert report.travel is not None
    assert report.travel.usage == pytest.approx(1.0 / cycles.value - before.usage)
    assert report.travel.usage_left is None
    assert "axial -50.0 mm" in report.travel.outside[0]
    assert grades(report)["as_found.travel"] == 2
    finding = next(one for one in report.findings if one.id == "as_found.travel")
    assert "cause" in finding.action


def test_touching_convolutions_are_said_and_not_priced() -> None:
    """A position that closes the gap is beyond the formulas: no usage, grade 3."""
    report = examine(case(), AsFound(travel=Movement(name="walk", axial=-0.19), done=DONE))
    assert report.travel is not None
    assert report.travel.gap_used is not None
    assert report.travel.gap_used >= 1.0
    assert report.travel.usage is None
    assert any("touch" in one for one in report.travel.words)
    assert grades(report)["as_found.travel"] == 3


def test_lateral_and_angular_travel_beyond() -> None:
    """Each part beyond is named with what was counted."""
    walk = Movement(name="start", axial=0.0, lateral=0.01, angular=0.02)
    found = examine(case(), AsFound(travel=walk)).travel
    assert found is not None
    assert "lateral 10.00 mm" in found.outside[0]
    assert "angular" in found.outside[1]


def ring(
    change: Callable[[float, float], float], angles: int = 4, mean: float = 0.048
) -> tuple[Convolved, ...]:
    """Pitch readings of eight convolutions: a mean and a share that depends on place along and angle round."""
    return tuple(
        Convolved(
            convolution=number,
            angle=at * 2.0 * math.pi / angles,
            pitch=mean * (1.0 + change(number / 8, at * 2.0 * math.pi / angles)),
        )
        for number in range(1, 8)
        for at in range(angles)
    )


def patterns(found: AsFound, **changes: Any) -> dict[str, Any]:
    """Patterns of the distortion by id."""
    shape = examine(case(**changes), found).distortion
    assert shape is not None
    return {one.id: one for one in shape.patterns}


def test_angle_between_the_ends_is_not_squirm() -> None:
    """All convolutions leaning alike are an angle, whose size is recovered."""
    found = patterns(AsFound(convolutions=ring(lambda s, a: 0.08 * math.cos(a - 1.0))))
    assert found["angular"].size == pytest.approx(0.08)
    degrees = math.degrees(0.08 * 0.048 * 8 / (0.3 + 0.05 + 0.002))
    assert f"{degrees:.2f} degrees" in found["angular"].words
    for other in ("lateral", "bow", "inplane"):
        assert found[other].size == pytest.approx(0.0, abs=1e-9)
    assert not any(one.beyond for one in found.values())


def test_lateral_offset_is_not_squirm() -> None:
    """Leans that turn round from end to end are a lateral offset."""
    found = patterns(AsFound(convolutions=ring(lambda s, a: 0.09 * (2 * s - 1) * math.cos(a))))
    assert found["lateral"].size == pytest.approx(0.09)
    assert not found["bow"].beyond
    assert not found["inplane"].beyond


def test_bow_is_a_sign_of_column_squirm() -> None:
    """Ends leaning one way and the middle the other bow the column."""
    found = AsFound(convolutions=ring(lambda s, a: 0.15 * math.cos(2 * math.pi * s) * math.sin(a)))
    shapes = patterns(found)
    assert shapes["bow"].size == pytest.approx(0.15)
    assert shapes["bow"].beyond
    assert not shapes["inplane"].beyond
    report = examine(case(), found)
    assert grades(report)["as_found.shape.bow"] == 3
    assert report.distortion is not None
    assert NEVER in report.distortion.words
    assert NEVER in report.cautions


def test_single_leaning_convolution_is_a_sign_of_inplane_squirm() -> None:
    """One convolution that opens on one side is named."""
    found = patterns(
        AsFound(convolutions=ring(lambda s, a: 0.25 * math.cos(a) * (abs(s - 0.5) < 0.01)))
    )
    assert found["inplane"].beyond
    assert "Convolution 4" in found["inplane"].words
    assert "in-plane" in found["inplane"].words


def test_even_pitch_is_recorded_as_even() -> None:
    """Within the limit the shape is a record, and says so."""
    report = examine(case(), AsFound(convolutions=ring(lambda s, a: 0.03 * (s > 0.5))))
    assert grades(report)["as_found.shape"] == 1
    assert report.distortion is not None
    assert any("within 10%" in one for one in report.distortion.words)


def test_widened_pitch_all_round_is_uneven() -> None:
    """A convolution that is wide all round does not lean, but its pitch is beyond the limit."""
    found = patterns(AsFound(convolutions=ring(lambda s, a: 0.2 * (abs(s - 0.5) < 0.01))))
    assert found["pitch"].beyond
    assert found["inplane"].size == pytest.approx(0.0, abs=1e-9)


def test_readings_at_one_angle_cannot_tell_leaning() -> None:
    """One reading per convolution gives the mean only, and that is said."""
    shape = examine(case(), AsFound(convolutions=ring(lambda s, a: 0.0, angles=1))).distortion
    assert shape is not None
    assert [one.id for one in shape.patterns] == ["pitch"]
    assert any("four angles" in one for one in shape.words)


def test_two_opposite_angles_give_the_lean_between_them() -> None:
    """Readings left and right of few convolutions show a lean, cause open."""
    found = tuple(
        Convolved(convolution=2, angle=angle, pitch=0.048 * (1.0 + share))
        for angle, share in ((0.0, 0.14), (math.pi, -0.14))
    )
    lean = patterns(AsFound(convolutions=found))["inplane"]
    assert lean.size == pytest.approx(0.14)
    assert lean.beyond
    assert "Too few" in lean.words


def line(change: Callable[[float, float], float]) -> tuple[Convolved, ...]:
    """Offsets of the crests in two directions."""
    return tuple(
        Convolved(convolution=number, angle=angle, offset=change((number - 0.5) / 8, angle))
        for number in range(1, 9)
        for angle in (0.0, math.pi / 2)
    )


def test_bow_in_the_line_of_crests() -> None:
    """The bow's height is recovered; an S of a lateral offset is none."""
    bowed = patterns(
        AsFound(
            convolutions=line(
                lambda s, a: 0.006 * (1 - math.cos(2 * math.pi * s)) / 2 * math.cos(a - 0.7)
            )
        )
    )
    assert bowed["bow"].size == pytest.approx(0.006)
    assert bowed["bow"].beyond
    bent = patterns(
        AsFound(convolutions=line(lambda s, a: 0.02 * (3 * s**2 - 2 * s**3 - s) * math.cos(a)))
    )
    assert bent["bow"].size == pytest.approx(0.0, abs=1e-9)


def test_limit_of_a_bow_is_that_of_the_pitch() -> None:
    """At its limit a bow changes the pitch at the crest by the limit: 2 pi^2 h r / L^2."""
    most = 0.1 * 0.384**2 / (2 * math.pi**2 * 0.352)

    def bowed(height: float) -> bool:
        found = line(lambda s, a: height * (1 - math.cos(2 * math.pi * s)) / 2 * math.cos(a))
        return bool(patterns(AsFound(convolutions=found))["bow"].beyond)

    assert bowed(most * 1.01)
    assert not bowed(most * 0.99)


def test_known_angle_of_the_ends_is_no_bow() -> None:
    """An arc of theta L / 8 belongs to the angle that was found between the ends."""
    arc = line(lambda s, a: 0.02 * 0.384 / 2 * s * (1 - s) * math.cos(a))
    bare = patterns(AsFound(convolutions=arc))["bow"].size
    known = patterns(AsFound(convolutions=arc, offset_angular=0.02))["bow"].size
    assert known < 0.2 * bare


def test_one_offset_is_no_line() -> None:
    """A single place gives no line, and no bow is claimed."""
    shape = examine(case(), AsFound(convolutions=shaped(offset=0.01))).distortion
    assert shape is not None
    assert shape.patterns == ()
    assert any("fewer than two" in one for one in shape.words)


def test_heights_alone_make_no_statement_on_shape() -> None:
    """Heights go into the checks; pitch and offset make the statement."""
    report = examine(case(), AsFound(convolutions=shaped(height=0.052)))
    assert report.distortion is None
    assert report.variants[0].name == "as found, height as measured"


def test_limit_on_pitch_is_the_sites_to_set() -> None:
    """A site's own limit decides; the default is ten per cent."""
    found = AsFound(convolutions=ring(lambda s, a: 0.08 * (abs(s - 0.5) < 0.01)))
    assert grades(examine(case(), found)) == {"as_found.shape": 1}
    strict = defaults().with_value("distortion.pitch", 0.05, "the site")
    assert "as_found.shape.pitch" in grades(examine(case(), found, strict))


@pytest.mark.parametrize(
    "shape",
    [
        {"convolution": Convolution.U_REINFORCED, "ring_area": 1.1e-4, "ring_material": "304"},
        {
            "convolution": Convolution.TOROIDAL,
            "height": None,
            "mean_diameter": 0.72,
            "torus_radius": 0.02,
            "pitch": 0.055,
            "thinnest_ply": 0.00095,
        },
        {"assembly": Assembly.UNIVERSAL, "length_over_both": 2.0},
    ],
    ids=["reinforced", "toroidal", "universal"],
)
def test_every_shape_can_be_examined(shape: dict[str, Any]) -> None:
    """Rings, tori and universals are set side by side like any other."""
    found = AsFound(
        thicknesses=dated((2021, 0.0009), (2025, 0.0008)),
        convolutions=ring(lambda s, a: 0.02 * math.cos(a), mean=shape.get("pitch", 0.048)),
        travel=Movement(name="walk", axial=-0.03),
        done=DONE,
        lost_ply=LostPly.INNER,
    )
    report = examine(case(**shape), found)
    assert report.corrosion is not None
    assert report.corrosion.thickness is not None
    assert report.life.usage_so_far is not None
    assert report.ply_loss is not None
    assert report.ply_loss.allowed
    assert msgspec.json.decode(msgspec.json.encode(report), type=AsFoundReport) == report


def test_unknown_sizes_leave_rows_open() -> None:
    """A size the register does not know leaves both sides open, without a fault."""
    report = examine(case(missing=("height",)), AsFound(metal_temperature=640.0, done=DONE))
    assert row(report, "S2@design").found_outcome == Outcome.NOT_EVALUATED
    assert row(report, "S2@design").designed is None
    assert report.life.left is None


def test_findings_come_worst_first_with_their_grounds() -> None:
    """Every finding has a claim, a rule and a source."""
    found = AsFound(loss_per_ply=0.0004, travel=Movement(name="walk", axial=-0.05), done=DONE)
    report = examine(case(), found)
    numbers = [one.grade for one in report.findings]
    assert numbers == sorted(numbers, reverse=True)
    for one in report.findings:
        assert one.ground.claim
        assert one.ground.rule
        assert one.ground.source.document
        assert one.subject == "EJ-1 A"
        assert one.action or one.grade < 3


def test_findings_can_be_given_as_text_with_units() -> None:
    """A file's table becomes the typed finding, in SI, faults by their place."""
    raw = {
        "thicknesses": [{"thickness": "0.8 mm", "date": dt.date(2025, 5, 1), "face": "outside"}],
        "corrosion_rate": "0.02 mm/a",
        "convolutions": [{"convolution": 3, "angle": "90 deg", "pitch": "50 mm"}],
        "travel": {"name": "walk", "axial": "-30 mm"},
        "lost_ply": "inner",
        "metal_temperature": "380 C",
        "done": [{"name": "start", "cycles": 100}],
        "hours_per_cycle": "1000 h",
    }
    found = take(raw, AsFound)
    assert found.faults == ()
    assert found.value is not None
    assert found.value.corrosion_rate == pytest.approx(2e-5 / YEAR)
    assert found.value.convolutions[0].angle == pytest.approx(math.pi / 2)
    assert examine(case(), found.value).ply_loss is not None
    bad = take({"thicknesses": [{"thickness": "-1 mm"}]}, AsFound)
    assert [one.place for one in bad.faults] == ["$.thicknesses[0].thickness"]
