"""Sizing: the whole space is looked at, nothing is dropped in silence, the front is exact."""

from __future__ import annotations

import datetime as dt
import re
import time
from fractions import Fraction
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from takeup.bellows import evaluate, evaluate_many, surviving_ply
from takeup.bellows.model import (
    Assembly,
    Basis,
    BellowsCase,
    BellowsReport,
    Condition,
    Convolution,
    Movement,
)
from takeup.bellows.sizing import (
    Candidate,
    Goal,
    Rings,
    Sheet,
    SizingResult,
    SizingTask,
    Steps,
    choice,
    size,
)
from takeup.bellows.sizing import front as fronts
from takeup.bellows.sizing.choose import choose
from takeup.bellows.sizing.gauges import gauges, named
from takeup.bellows.sizing.search import Search
from takeup.bellows.sizing.space import axes, stepped
from takeup.checks import Outcome
from takeup.documents import requisition
from takeup.errors import Cancelled, Contradiction, UnknownName
from takeup.progress import silent
from takeup.units import System

GOOD = {Outcome.MET, Outcome.DOES_NOT_APPLY}


def task(**changes: Any) -> SizingTask:
    """A small space for a two-ply duty of DN 600, changed as asked."""
    values: dict[str, Any] = {
        "name": "EJ-7",
        "basis": Basis.ASME_26,
        "conditions": (
            Condition(name="design", pressure=3.5e5, temperature=673.15),
            Condition(name="operating", pressure=3.0e5, temperature=633.15),
            Condition(name="test", pressure=5.3e5, temperature=293.15),
        ),
        "movements": (
            Movement(name="start", axial=-0.02, lateral=0.004, cycles=300.0),
            Movement(name="trip", axial=-0.01, cycles=500.0),
        ),
        "inside_diameter": 0.6,
        "outside_diameter": 0.74,
        "live_length": 0.40,
        "tangent_length": 0.04,
        "alloys": ("321",),
        "forming_factor": 0.6,
        "thicknesses": (0.0008, 0.0012),
        "plies_most": 2,
        "heights": Steps(least=0.03, most=0.07, step=0.01),
        "pitches": Steps(least=0.03, most=0.06, step=0.01),
        "convolutions_least": 4,
        "convolutions_most": 10,
    }
    return SizingTask(**{**values, **changes})


def everything(wanted: SizingTask) -> dict[int, BellowsCase]:
    """Every combination of the space as a case."""
    search = Search(wanted)
    return {number: search.case(number) for number in range(search.rows * len(wanted.alloys))}


def sound(report: BellowsReport) -> bool:
    """Whether a report leaves nothing open and nothing failed."""
    return report.valid and all(found.outcome in GOOD for found in report.checks)


def value(report: BellowsReport, id: str) -> float:
    """The value of the figure called ``id``."""
    figure = report.figure(id)
    assert figure is not None and figure.value is not None, id
    return figure.value


def beaten_by_hand(points: np.ndarray) -> list[int]:
    """The non-dominated set by comparing each pair, the first of equals kept."""
    kept = []
    for at, point in enumerate(points):
        dominated = ((points <= point).all(axis=1) & (points < point).any(axis=1)).any()
        earlier = (points[:at] == point).all(axis=1).any()
        if not (dominated or earlier):
            kept.append(at)
    return kept


POINTS = st.integers(1, 6).flatmap(
    lambda goals: st.lists(
        st.tuples(*[st.integers(0, 5) for _ in range(goals)]), min_size=1, max_size=60
    )
)


@settings(max_examples=50, deadline=None)
@given(points=POINTS, tile=st.sampled_from([1, 3, 64, 65, 1024]))
def test_front_is_what_comparing_every_pair_gives(points: list[Any], tile: int) -> None:
    """Ties and equals included, at any tile size."""
    table = np.array(points, dtype=float)
    before, fronts.TILE = fronts.TILE, tile
    try:
        found = fronts.non_dominated(table)
    finally:
        fronts.TILE = before

    assert found.tolist() == beaten_by_hand(table)


def test_front_of_many_points_stands_the_pair_test() -> None:
    """Beyond one tile and one batch the same holds, and points close by an ulp are told apart."""
    draw = np.random.default_rng(7)
    points = draw.random((6000, 3))
    points[1::2] = np.nextafter(points[::2], 1.0)

    found = fronts.non_dominated(points)

    kept = points[found]
    for at in range(0, len(points), 97):
        no_worse = (kept <= points[at]).all(axis=1)
        assert no_worse.any()
        assert at in found or not (kept[no_worse] == points[at]).all()
    for point in kept:
        assert not ((points <= point).all(axis=1) & (points < point).any(axis=1)).any()


def test_a_goal_that_is_not_a_number_is_refused() -> None:
    """An unknown figure is never ranked."""
    with pytest.raises(ValueError, match="not a number"):
        fronts.non_dominated(np.array([[1.0, np.nan]]))


def test_gauges_are_the_fractions_of_their_names() -> None:
    """Each US gauge is its fraction of an inch, each metric one its millimetres."""
    for gauge in gauges(Sheet.US_GAUGE):
        top, bottom = re.findall(r"(\d+)/(\d+) in", gauge.name)[0]
        exact = Fraction(int(top), int(bottom)) * Fraction(254, 10)
        assert gauge.thickness * 1e3 == pytest.approx(float(exact), rel=1e-12)
    for gauge in gauges(Sheet.METRIC):
        assert gauge.thickness * 1e3 == pytest.approx(float(gauge.name.split()[0]), rel=1e-12)
    numbers = [int(gauge.name.split()[0]) for gauge in gauges(Sheet.US_GAUGE)]
    assert numbers == list(range(30, 9, -1))
    inches = sum(gauge.thickness for gauge in gauges(Sheet.US_GAUGE)) / 0.0254
    assert inches == pytest.approx(1.0859375, rel=1e-12)  # sum of the statute's decimal column
    assert named(0.00127) == "us gauge 18 (1/20 in)"
    assert named(0.00123) == ""


def test_steps_include_both_ends() -> None:
    """A range that the step meets ends on its end, one that it misses stops before."""
    assert stepped(Steps(least=0.01, most=0.04, step=0.01)).tolist() == [0.01, 0.02, 0.03, 0.04]
    assert stepped(Steps(least=0.01, most=0.0399, step=0.01)).tolist() == [0.01, 0.02, 0.03]


def test_every_combination_is_worked_out_or_counted_under_a_reason() -> None:
    """Nothing is dropped in silence: reasons and what was worked out add up to the space."""
    wanted = task(pitches=Steps(least=0.004, most=0.1, step=0.006))
    result = size(wanted)

    assert result.space == len(everything(wanted))
    assert result.space == result.evaluated + sum(one.count for one in result.excluded)
    reasons = {one.id: one.count for one in result.excluded}
    assert reasons["outside_diameter"] > 0
    assert reasons["live_length"] > 0
    assert reasons["height"] > 0


def test_search_finds_what_evaluating_every_case_finds() -> None:
    """Fit, counts per check and the front are those of the reports, case by case."""
    wanted = task()
    result = size(wanted)
    inside = {}
    for number, case in everything(wanted).items():
        over = case.inside_diameter + 2 * (case.height or 0) + 2 * case.plies * case.ply_thickness
        if over <= 0.74 + 1e-9 and case.convolutions * case.pitch <= 0.40 + 1e-9:
            try:
                inside[number] = evaluate(case)
            except Contradiction:
                continue
    fit = [number for number, report in inside.items() if sound(report)]

    assert result.feasible == len(fit) > 20
    for check in result.failed_checks:
        if check.id.startswith("closing"):
            continue
        ours = sum(
            any(found.id == check.id and found.outcome not in GOOD for found in report.checks)
            for report in inside.values()
        )
        closed = result.evaluated - len(inside)
        assert ours <= check.count <= ours + closed, check.id
    assert {one.number for one in result.front} <= set(fit)
    search = Search(wanted)
    found = search.run(silent, chunk=97)
    assert found.front.number.tolist() == [one.number for one in result.front]


def test_front_of_a_search_is_the_front_of_all_that_fit() -> None:
    """Pruning by chunks loses nothing: goals of all fitting cases give the same set."""
    wanted = task()
    result = size(wanted)
    search = Search(wanted)
    numbers, goals = [], []
    for number, case in everything(wanted).items():
        try:
            report = evaluate(case)
        except Contradiction:
            continue
        over = case.inside_diameter + 2 * (case.height or 0) + 2 * case.plies * case.ply_thickness
        if not sound(report) or over > 0.74 + 1e-9 or case.convolutions * case.pitch > 0.4 + 1e-9:
            continue
        numbers.append(number)
        use = max(
            found.ratio or 0.0
            for found in report.checks
            if not found.id.startswith(("geometry.", "creep"))
        )
        goals.append(
            [
                value(report, "axial_rate"),
                value(report, "lateral_rate"),
                max(thrust.force for thrust in report.thrust),
                case.convolutions * case.pitch,
                mass(case),
                use,
            ]
        )

    expected = [numbers[at] for at in beaten_by_hand(np.array(goals))]
    assert [one.number for one in result.front] == expected
    assert search.goals == result.goals == (
        Goal.AXIAL, Goal.LATERAL, Goal.THRUST, Goal.LENGTH, Goal.MASS, Goal.MARGIN,
    )  # fmt: skip


def mass(case: BellowsCase) -> float:
    """Mass of bellows metal, worked out apart: sheet developed, turned about the axis."""
    assert case.height is not None and case.torus_radius is not None
    wall = case.plies * case.ply_thickness
    mean = case.inside_diameter + case.height + wall
    thinned = case.ply_thickness * (case.inside_diameter / mean) ** 0.5
    straight = case.height - 2 * case.torus_radius
    lean = case.pitch / 2 - 2 * case.torus_radius
    developed = 2 * np.pi * case.torus_radius + 2 * np.hypot(straight, lean)
    bellows = case.convolutions * developed * np.pi * mean * case.plies * thinned
    tangents = 2 * case.tangent_length * wall * np.pi * (case.inside_diameter + wall)
    from takeup.materials import density

    return float((bellows + tangents) * density(case.material).value)


def test_mass_is_that_of_the_developed_sheet() -> None:
    """Convolutions by Pappus and tangents, for each candidate of the front."""
    result = size(task())
    search = Search(result.task)
    for one in result.front:
        assert one.mass == pytest.approx(mass(search.case(one.number)), rel=1e-12)


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"basis": Basis.EJMA},
        {"rings": Rings.ONLY, "ring_bars": (0.008, 0.012)},
        {
            "assembly": Assembly.UNIVERSAL,
            "length_over_both": 1.6,
            "spool_held": True,
            "live_length": 0.3,
            "movements": (Movement(name="start", axial=-0.01, lateral=0.05, cycles=300.0),),
        },
        {"alloys": ("321", "625"), "radius_shares": (0.22, 0.25)},
        {
            "conditions": (
                *task().conditions,
                Condition(name="vacuum", pressure=-0.5e5, temperature=373.15),
            )
        },
        {"movements": (Movement(name="turn", angular=0.03, angular_across=0.02, cycles=200.0),)},
    ],
    ids=["plain", "ejma", "rings", "universal", "alloys", "vacuum", "two planes"],
)
def test_figures_of_the_front_are_those_of_the_reports_bit_for_bit(changes: dict[str, Any]) -> None:
    """What the arrays say of a candidate is what its report says."""
    wanted = task(**changes)
    result = size(wanted)
    search = Search(wanted)
    assert result.front
    assert all(sound(shown.report) for shown in result.choices)
    cases = [search.case(one.number) for one in result.front]
    for one, case, report in zip(result.front, cases, evaluate_many(cases), strict=True):
        assert sound(report), report.name
        for name in ("axial_rate", "lateral_rate", "angular_rate"):
            assert getattr(one, name) == value(report, name)
        assert one.thrust == max(abs(thrust.force) for thrust in report.thrust)
        uses = {
            found.id: found.ratio
            for found in report.checks
            if found.ratio is not None and not found.id.startswith(("geometry.", "creep"))
        }
        assert one.margin == 1.0 - max(uses.values())
        assert uses[one.governing] == max(uses.values())
        assert (one.height, one.pitch, one.plies) == (case.height, case.pitch, case.plies)
        assert one.torus_radius == case.torus_radius


def test_result_does_not_hang_on_the_size_of_chunks() -> None:
    """The same candidates, figures and counts whatever is worked out at a time."""
    first, second = size(task()), size(task(), chunk=61)

    assert first.front == second.front
    assert (first.excluded, first.failed) == (second.excluded, second.failed)
    assert first.failed_checks == second.failed_checks


def test_choices_name_the_best_of_each_goal() -> None:
    """The softest is the softest of the whole front, and so on; one is balanced."""
    result = size(task())
    by_reason = {reason: shown.candidate for shown in result.choices for reason in shown.reasons}

    assert by_reason["softest axially"].axial_rate == min(c.axial_rate for c in result.front)
    assert by_reason["lightest"].mass == min(c.mass for c in result.front)
    assert by_reason["shortest"].live_length == min(c.live_length for c in result.front)
    assert by_reason["least thrust"].thrust == min(c.thrust for c in result.front)
    assert by_reason["largest margin"].margin == max(c.margin for c in result.front)
    assert sum("balanced" in reason for reason in by_reason) == 1
    assert len({shown.candidate.number for shown in result.choices}) == len(result.choices)
    assert len(result.choices) <= result.task.show + len(result.goals)


def test_equal_points_are_chosen_once() -> None:
    """A front that is one point gives one choice with every reason."""
    (only,) = choose(np.array([[1.0, 2.0]]), (Goal.AXIAL, Goal.MASS), 5)

    assert only[0] == 0
    assert len(only[1]) == 3
    assert choose(np.empty((0, 2)), (Goal.AXIAL, Goal.MASS), 5) == ()


def test_a_large_space_is_worked_out_in_arrays() -> None:
    """Some hundred thousand bellows take a second or so, not minutes: no loop over cases."""
    wanted = task(thicknesses=(), heights=None, pitches=None, plies_least=2, convolutions_most=8)
    start = time.process_time()
    result = size(wanted)
    taken = time.process_time() - start

    assert result.evaluated > 100_000
    assert taken / result.evaluated < 2e-5


def test_limits_of_the_task_hold_for_every_candidate() -> None:
    """Less use of limits and a stiffness limit leave fewer, and all of them keep to it."""
    free = size(task())
    limit = float(np.median([one.axial_rate for one in free.front]))
    held = size(task(most_axial_rate=limit, most_usage=0.5, most_squirm=0.7, most_stress=0.9))

    assert 0 < held.feasible < free.feasible
    for one, report in zip(
        held.front,
        evaluate_many([Search(held.task).case(c.number) for c in held.front]),
        strict=True,
    ):
        assert one.axial_rate <= limit
        for found in report.checks:
            if found.ratio is None or found.id.startswith(("geometry.", "creep")):
                continue
            family = found.id.split("@")[0]
            most = {"usage": 0.5, "fatigue": 0.5, "column_squirm": 0.7, "inplane_squirm": 0.7}
            assert found.ratio <= most.get(family, 0.9), found.id


def test_nothing_fits_says_what_would_have_to_give() -> None:
    """Where no candidate fits, the nearest and its exceeded limits are named, and what lifting helps."""
    result = size(task(outside_diameter=0.665, live_length=0.16))

    assert result.feasible == 0
    assert result.front == result.choices == ()
    nearest = result.nearest[0]
    assert nearest.worst == nearest.failing[0][1] > 1.0
    assert nearest.worst <= result.nearest[-1].worst
    claims = " ".join(ground.claim for ground in result.grounds)
    assert "No candidate within outside diameter 665 mm and live length 160 mm" in claims
    assert f"{nearest.worst:.3f}" in claims
    assert "limit on the live length" in claims


def test_lifting_the_limit_that_binds_tells_what_is_needed() -> None:
    """The least length of any candidate that fits without the limit is the one named."""
    short = size(task(live_length=0.14))
    long = size(task(live_length=None))

    least = min(one.live_length for one in long.front)
    assert short.feasible == 0
    claims = " ".join(ground.claim for ground in short.grounds)
    assert f"{long.feasible:,} candidates fit" in claims
    assert f"{least * 1e3:.1f}" in claims


def test_each_ply_alone_keeps_only_those_whose_either_ply_holds() -> None:
    """Redundant plies: every candidate passes the pressure checks with one ply lost."""
    both = size(task(testable=True))
    alone = size(task(testable=True, each_ply_alone=True))

    assert 0 < alone.feasible < both.feasible
    assert {one.plies for one in both.front} == {2}
    search = Search(alone.task)
    cases = [search.case(one.number) for one in alone.front]
    for case in cases:
        for lost in ("inner", "outer"):
            report = evaluate(surviving_ply(case, lost))
            for found in report.checks:
                pressure = "@" in found.id and not found.id.startswith("fatigue")
                if pressure and not found.id.endswith("@test"):
                    assert found.outcome in GOOD, (found.id, lost)
    rest = {one.number for one in both.front} - {one.number for one in alone.front}
    assert any(
        not sound(evaluate(surviving_ply(Search(both.task).case(number), "outer")))
        for number in rest
    )
    assert all(len(shown.ply_alone) == 2 for shown in alone.choices)


def test_a_near_miss_may_fail_with_one_ply_lost() -> None:
    """Where whole bellows fit but no ply alone holds, the nearest says so."""
    high = tuple(
        msgspec.structs.replace(one, pressure=one.pressure * 1.5) for one in task().conditions
    )
    wanted = task(conditions=high, testable=True)
    assert size(wanted).feasible > 0

    result = size(msgspec.structs.replace(wanted, each_ply_alone=True))
    assert result.feasible == 0
    assert "one ply lost" in " ".join(ground.claim for ground in result.grounds)
    nearest = result.nearest[0]
    uses = [
        found.ratio or 0.0
        for lost in ("inner", "outer")
        for found in evaluate(surviving_ply(nearest.case, lost)).checks
        if "@" in found.id and not found.id.startswith("fatigue") and "@test" not in found.id
    ]
    assert nearest.failing[0][0].startswith("ply alone: ")
    assert nearest.worst == nearest.failing[0][1] == max(uses)


def test_what_cannot_be_evaluated_never_fits() -> None:
    """Creep range and a rule set without fatigue constants leave nothing, and say why."""
    hot = tuple(
        Condition(name=name, pressure=1e5, temperature=973.15) for name in ("design", "operating")
    )
    for changes in ({"conditions": hot, "alloys": ("800H",)}, {"basis": Basis.EN_13445}):
        result = size(task(**changes, live_length=None, outside_diameter=None))
        assert result.feasible == 0
        assert any("could not be evaluated" in ground.claim for ground in result.grounds)
        assert any("counts as checked" in note for note in result.notes)


def test_an_alloy_that_creeps_leaves_the_field_to_the_others() -> None:
    """Of two alloys the one above its creep threshold gives none, and a note says why."""
    warm = tuple(
        Condition(name=name, pressure=2e5, temperature=655.0) for name in ("design", "operating")
    )
    result = size(task(conditions=warm, alloys=("321", "1.25Cr-0.5Mo"), plies_least=2))
    assert {one.material for one in result.front} == {"321"}
    assert any("1.25Cr-0.5Mo" in note for note in result.notes)


def test_an_installed_set_counts_against_the_gap() -> None:
    """What the set takes of the gap between convolutions is gone for movement."""
    free, set_ = size(task()), size(task(offset_axial=-0.03))
    closing = {one.id: one.count for one in set_.failed}["closing"]

    assert closing > {one.id: one.count for one in free.failed}["closing"]
    assert all(sound(shown.report) for shown in set_.choices)


def test_convolutions_that_just_touch_do_not_fit() -> None:
    """A movement that takes the whole gap is a contradiction for the engine, so none is kept."""
    moves = (Movement(name="start", axial=-0.064, cycles=100.0),)
    touching = {"inside_diameter": 0.6, "pitches": Steps(least=0.036, most=0.036, step=0.01),
                "thicknesses": (0.001,), "movements": moves, "plies_least": 2,
                "convolutions_least": 4, "convolutions_most": 4}  # fmt: skip
    (case, *_) = everything(task(**touching)).values()
    assert case.convolutions * (case.pitch / 2 - 2 * case.ply_thickness) == pytest.approx(0.064)

    assert size(task(**touching, outside_diameter=None, live_length=None)).feasible == 0


def test_a_replacement_starts_without_cycles_done() -> None:
    """Cycles that the old bellows has done are not counted on the new one."""
    moves = (Movement(name="start", axial=-0.02, cycles=300.0, done=299.0),)
    result = size(task(movements=moves))

    assert {move.done for shown in result.choices for move in shown.case.movements} == {0.0}


def test_progress_is_told_and_can_stop_the_search() -> None:
    """Shares rise to 1; a stop leaves nothing behind but the exception."""
    shares: list[float] = []
    size(task(), lambda share, text: shares.append(share), chunk=100)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0

    def stop(share: float, text: str) -> None:
        if share > 0.1:
            raise Cancelled("stopped")

    with pytest.raises(Cancelled):
        size(task(), stop, chunk=100)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"alloys": ()}, "no alloy"),
        ({"alloys": ("321", "321")}, "twice"),
        ({"plies_least": 3}, "leave no number"),
        ({"testable": True, "plies_most": 1}, "test port"),
        ({"each_ply_alone": True}, "two plies"),
        ({"thicknesses": (), "thickness_least": 0.004}, "no sheet"),
        ({"convolutions_most": 3}, "convolutions"),
        ({"rings": Rings.EITHER}, "ring_bars"),
        ({"outside_diameter": 0.5}, "outside diameter"),
        ({"assembly": Assembly.UNIVERSAL}, "length over both"),
        ({"movements": (Movement(name="x", axial=0.01),)}, "no cycles"),
        ({"heights": Steps(least=0.001, most=0.1, step=1e-9)}, "steps"),
        (
            {
                "heights": Steps(least=0.01, most=0.1, step=1e-5),
                "pitches": Steps(least=0.01, most=0.1, step=1e-5),
            },
            "combinations",
        ),
        ({"heights": Steps(least=0.05, most=0.04, step=0.01)}, "down to"),
    ],
)
def test_a_task_that_cannot_be_meant_is_refused(changes: dict[str, Any], words: str) -> None:
    """What is wrong is said before anything is searched."""
    with pytest.raises(Contradiction, match=words):
        axes(task(**changes))


def test_unknown_alloy_and_number_name_the_nearest() -> None:
    """A slip in a name is refused with what was perhaps meant."""
    with pytest.raises(UnknownName):
        size(task(alloys=("32l",)))
    result = size(task())
    with pytest.raises(UnknownName):
        choice(result, -1)
    number = result.front[len(result.front) // 2].number
    assert choice(result, number).candidate.number == number


def test_a_task_survives_the_file_and_defaults_make_a_space() -> None:
    """JSON in and out is the same task; without ranges the envelope gives them."""
    wanted = task()
    assert msgspec.json.decode(msgspec.json.encode(wanted), type=SizingTask) == wanted
    (part,) = axes(task(heights=None, pitches=None, thicknesses=()))
    assert part.heights[0] == 0.010
    assert part.heights[-1] <= 0.07
    assert part.pitches[-1] <= 0.1
    assert len(part.thicknesses) == 11


def written(result: SizingResult, folder: Path, **changes: Any) -> str:
    """The text of the data sheet of the first choice."""
    sheet = requisition.Requisition(
        **{
            "result": result,
            "choice": result.choices[0],
            "joint": "EJ-7",
            "made": dt.datetime(2026, 9, 1, tzinfo=dt.UTC),
            **changes,
        }
    )
    path = requisition.render(sheet, folder / "sheet.pdf")
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in PdfReader(path).pages))


def test_data_sheet_states_duty_checks_clauses_tests_and_blanks(tmp_path: Path) -> None:
    """All that an order needs stands in it, provisional results marked as such."""
    result = size(task(testable=True))
    text = written(result, tmp_path)

    shown = result.choices[0]
    force = max(thrust.force for thrust in shown.report.thrust)
    assert f"{force / 1e3:.1f}" in text
    for words in ("EJ-7", "ASME VIII-1 Appendix 26", "test port", "Prepared", "provisional",
                  "mean cycles", "With one ply lost", "5.30 bar", "Column squirm"):  # fmt: skip
        assert words in text, words
    for found in shown.report.checks:
        assert found.source.document in text


def test_data_sheet_of_a_us_site_reads_us_units(tmp_path: Path) -> None:
    """Pounds, inches and psi throughout, and no metric pressure left."""
    text = written(size(task()), tmp_path, system=System.US)

    assert "psi" in text
    assert "lbf" in text
    assert "°F" in text
    assert not re.search(r"\d bar\b", text)


def test_data_sheet_without_test_condition_asks_for_one(tmp_path: Path) -> None:
    """A missing test pressure is asked for, not invented; thickness names its gauge."""
    wanted = task(conditions=task().conditions[:2], thicknesses=(), sheet=Sheet.US_GAUGE,
                  thickness_least=0.0009, thickness_most=0.0013)  # fmt: skip
    text = written(size(wanted), tmp_path)

    assert "No test condition was given" in text
    assert "Thrust at test pressure is not known" in text
    assert "us gauge" in text


def test_candidates_are_plain_figures() -> None:
    """A candidate goes through JSON unchanged: it can be kept and compared."""
    result = size(task(rings=Rings.EITHER, ring_bars=(0.01,)))
    one = result.front[0]
    assert msgspec.json.decode(msgspec.json.encode(one), type=Candidate) == one
    kinds = {Search(result.task).case(c.number).convolution for c in result.front}
    assert kinds <= {Convolution.U_PLAIN, Convolution.U_REINFORCED}
    for c in result.front:
        inner = 0.6 + 2 * c.plies * c.ply_thickness
        assert c.outside_diameter == pytest.approx(inner + 2 * max(c.height, c.ring_bar))
