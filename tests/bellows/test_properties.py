"""What must hold for every bellows, whatever the figures: asked of the public door."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from takeup import materials
from takeup.bellows import arrays, charts, evaluate, evaluate_many
from takeup.bellows.model import (
    Assembly,
    Basis,
    BellowsCase,
    BellowsReport,
    Condition,
    Convolution,
    CurvePiece,
    FatigueCurve,
    Movement,
    Side,
    Treatment,
)
from takeup.checks import Outcome
from takeup.errors import TakeupError
from takeup.units import accepted_units, kind_of, parse

LENGTHS = (
    "inside_diameter", "height", "pitch", "ply_thickness", "torus_radius", "mean_diameter",
    "tangent_length", "collar_length", "collar_thickness", "tube_diameter", "thinnest_ply",
    "fastener_length", "length_over_both", "offset_axial", "offset_lateral",
)  # fmt: skip
AREAS = ("ring_area", "fastener_area")
CURVE = FatigueCurve(
    source="invented for the tests",
    pieces=(CurvePiece(start=500e6, a=40e9, b=250e6), CurvePiece(start=260e6, a=50e9, b=200e6)),
)
SHAPES: tuple[Convolution, ...] = tuple(Convolution)
BASES: tuple[Basis, ...] = tuple(Basis)
FEW = settings(max_examples=10, deadline=None)


@st.composite
def cases(
    draw: st.DrawFn,
    shapes: tuple[Convolution, ...] = SHAPES,
    bases: tuple[Basis, ...] = BASES,
    assemblies: tuple[Assembly, ...] = (Assembly.SINGLE,),
    still: bool = False,
    most_plies: int = 4,
) -> BellowsCase:
    """A sound bellows of any shape and rule set, with two conditions and two movements."""
    shape, basis = draw(st.sampled_from(shapes)), draw(st.sampled_from(bases))
    thickness = draw(st.floats(0.3e-3, 1.5e-3))
    plies = draw(st.integers(1, most_plies))
    wall = plies * thickness
    diameter = draw(st.floats(0.1, 2.5))
    convolutions = draw(st.integers(2, 12))
    values: dict[str, Any] = {}
    if shape == Convolution.TOROIDAL:
        radius = draw(st.floats(6.0, 12.0)) * wall
        mean = diameter + 2.0 * radius * draw(st.floats(1.15, 1.6)) + wall
        pitch = radius * draw(st.floats(2.6, 4.0)) + wall
        values |= {"torus_radius": radius, "mean_diameter": mean}
        gap = pitch - 2.0 * radius - wall
    else:
        pitch = draw(st.floats(14.0, 40.0)) * wall
        height = pitch * draw(st.floats(0.6, 1.6))
        values |= {"height": height}
        gap = pitch / 2.0 - wall
        if shape == Convolution.U_REINFORCED:
            values |= {"ring_area": draw(st.floats(0.05, 0.6)) * pitch * pitch / 4.0,
                       "ring_material": "321"}  # fmt: skip
    values["tangent_length"] = draw(st.sampled_from([0.0, 0.5, 2.0])) * math.sqrt(
        diameter * thickness
    )
    length = convolutions * pitch
    if draw(st.booleans()) and values["tangent_length"] > 0.0:
        values |= {"collar_length": 0.8 * values["tangent_length"],
                   "collar_thickness": 3.0 * thickness, "collar_material": "321"}  # fmt: skip
    swing = 0.0 if still else draw(st.floats(-0.15, 0.15)) * gap * convolutions
    aside = 0.0 if still else draw(st.floats(0.0, 0.04)) * gap * length / diameter * convolutions
    turn = 0.0 if still else draw(st.floats(0.0, 0.15)) * gap * convolutions / diameter
    assembly = draw(st.sampled_from(assemblies))
    if assembly != Assembly.SINGLE:
        values["length_over_both"] = length * draw(st.floats(3.0, 6.0))
    pressure = draw(st.floats(0.2e5, 10e5))
    return BellowsCase(
        basis=basis,
        convolution=shape,
        inside_diameter=diameter,
        pitch=pitch,
        convolutions=convolutions,
        plies=plies,
        ply_thickness=thickness,
        material="321",
        treatment=draw(st.sampled_from(Treatment)),
        forming_factor=draw(st.sampled_from([0.6, 1.0])),
        weld_factor=1.0,
        assembly=assembly,
        kg=1.0,
        fatigue_curve=CURVE if basis == Basis.EN_13445 else None,
        conditions=(
            Condition(name="design", pressure=1.2 * pressure, temperature=650.0),
            Condition(name="operating", pressure=pressure, temperature=620.0),
        ),
        movements=(
            Movement(name="start", axial=swing, lateral=aside, angular=turn, cycles=200.0),
            Movement(name="trip", axial=swing / 2.0, cycles=900.0),
        ),
        **values,
    )


def change(case: BellowsCase, **values: Any) -> BellowsCase:
    """The case with fields changed."""
    return msgspec.structs.replace(case, **values)


def figures(report: BellowsReport) -> dict[str, float]:
    """Every figure that was computed, by id."""
    return {figure.id: figure.value for figure in report.figures if figure.value is not None}


def ratios(report: BellowsReport) -> dict[str, float]:
    """Use of capacity of every check that was evaluated, by id."""
    return {
        check.id: check.ratio
        for check in report.checks
        if check.ratio is not None and check.outcome in {Outcome.MET, Outcome.NOT_MET}
    }


def outcome(report: BellowsReport, id: str) -> Outcome:
    """What the check called ``id`` says."""
    return next(check.outcome for check in report.checks if check.id == id)


def moved(case: BellowsCase, **values: float) -> BellowsCase:
    """The case with one movement, as given."""
    return change(case, movements=(Movement(name="m", cycles=200.0, **values),))


def worked(case: BellowsCase) -> BellowsReport:
    """The report, or the example is thrown away where the case cannot be true."""
    try:
        return evaluate(case)
    except TakeupError:
        assume(False)
        raise


def close(left: dict[str, float], right: dict[str, float], *, rel: float = 1e-9) -> None:
    """Both name the same things and agree."""
    assert left.keys() == right.keys()
    for id, value in left.items():
        assert right[id] == pytest.approx(value, rel=rel, abs=1e-12 * max(1.0, abs(value))), id


# --- units and scale ---------------------------------------------------------------------


def scaled(case: BellowsCase, k: float) -> BellowsCase:
    """Every length of the case times k."""
    values: dict[str, Any] = {
        name: getattr(case, name) * k for name in LENGTHS if getattr(case, name) is not None
    }
    values |= {name: getattr(case, name) * k * k for name in AREAS if getattr(case, name)}
    values["movements"] = tuple(
        msgspec.structs.replace(
            move, axial=move.axial * k, lateral=move.lateral * k,
            lateral_across=move.lateral_across * k,
        )
        for move in case.movements
    )  # fmt: skip
    return change(case, **values)


def power(id: str, kind: str) -> float:
    """By which power of length a figure of this kind grows."""
    return {
        "length": 1.0, "thickness": 1.0, "movement": 1.0, "area": 2.0, "metal_area": 2.0,
        "force": 2.0, "axial_rate": 1.0, "angular_rate": 3.0, "moment": 3.0, "distance": 1.0,
    }.get(kind, 0.0)  # fmt: skip


@FEW
@given(cases(assemblies=(Assembly.SINGLE, Assembly.UNIVERSAL)), st.floats(0.3, 4.0))
def test_similar_bellows_have_the_same_stresses(case: BellowsCase, k: float) -> None:
    """Every length times k at the same pressure: stresses, squirm pressures, cycles and uses of
    capacity stay; rates grow by k, areas and thrust by k squared, angular rates by k cubed."""
    small, large = worked(case), evaluate(scaled(case, k))
    a, b = figures(small), figures(large)
    kinds = {figure.id: figure.kind for figure in small.figures}
    close({id: value * k ** power(id, kinds[id]) for id, value in a.items()}, b)
    size = {"geometry.thickness"}  # n t at most 5 mm is a size, not a ratio
    close(
        {id: value for id, value in ratios(small).items() if id not in size},
        {id: value for id, value in ratios(large).items() if id not in size},
        rel=1e-8,
    )
    for left, right in zip(small.thrust, large.thrust, strict=True):
        assert right.force == pytest.approx(k * k * left.force, rel=1e-9)


@FEW
@given(cases())
def test_the_case_written_in_inches_and_psi_is_the_same_case(case: BellowsCase) -> None:
    """Every number written in US units and read back gives the same report to 1e-9."""

    def again(value: float, kind: str) -> float:
        unit = {"Pa": "psi", "K": "F", "rad": "deg"}.get(kind_of(kind).si)
        if unit is None:
            names = [name for name in accepted_units(kind) if name in {"in", "in2"}]
            if not names:
                return value
            unit = names[0]
        factor, offset = accepted_units(kind)[unit]
        return parse(f"{value / factor - offset!r} {unit}", kind, "")

    kinds = dict.fromkeys(LENGTHS, "length") | dict.fromkeys(AREAS, "metal_area")
    written = change(
        case,
        **{
            name: again(getattr(case, name), kind)
            for name, kind in kinds.items()
            if getattr(case, name)
        },
        conditions=tuple(
            msgspec.structs.replace(
                c, pressure=again(c.pressure, "pressure"),
                temperature=again(c.temperature, "temperature"),
            )
            for c in case.conditions
        ),
        movements=tuple(
            msgspec.structs.replace(
                m, axial=again(m.axial, "movement"), lateral=again(m.lateral, "movement"),
                angular=again(m.angular, "angle"),
            )
            for m in case.movements
        ),
    )  # fmt: skip
    metric, us = worked(case), evaluate(written)
    close(figures(metric), figures(us))
    close(ratios(metric), ratios(us), rel=1e-8)


@FEW
@given(cases(shapes=(Convolution.U_PLAIN, Convolution.TOROIDAL), still=True), st.floats(1.1, 5.0))
def test_pressure_stresses_and_thrust_are_linear_in_pressure(case: BellowsCase, k: float) -> None:
    """Pressure times k: S1 to S4 and thrust times k, squirm pressures and rates the same."""
    more = change(
        case,
        conditions=tuple(
            msgspec.structs.replace(c, pressure=c.pressure * k) for c in case.conditions
        ),
    )
    a, b = worked(case), evaluate(more)
    one, other = figures(a), figures(b)
    for id, value in one.items():
        name = id.partition("@")[0]
        if name in {"S1", "S1c", "S2", "S2e", "S3", "S4"}:
            assert other[id] == pytest.approx(k * value, rel=1e-9), id
        elif name in {"column_squirm", "inplane_squirm"} or "rate" in name:
            assert other[id] == pytest.approx(value, rel=1e-9), id
    for left, right in zip(a.thrust, b.thrust, strict=True):
        assert right.force == pytest.approx(k * left.force, rel=1e-12)


# --- signs -------------------------------------------------------------------------------


@FEW
@given(cases(still=True), st.floats(0.01, 0.3))
def test_extension_and_compression_alone_have_the_same_range(
    case: BellowsCase, share: float
) -> None:
    """An axial movement in or out by the same amount has the same range, stress and cycles."""
    x = share * case.convolutions * 0.25 * case.pitch
    out, back = worked(moved(case, axial=x)), worked(moved(case, axial=-x))
    a, b = figures(out), figures(back)
    for id in a:
        if id.endswith("@m") and not id.startswith("gap_left"):
            assert b[id] == pytest.approx(a[id], rel=1e-12), id
    if "gap_left@m" in a:  # which way it goes shows in the gap alone
        assert b["gap_left@m"] < a["gap_left@m"]


@FEW
@given(cases(still=True), st.floats(0.02, 0.2), st.booleans())
def test_mirrored_lateral_and_angular_movements_are_the_same(
    case: BellowsCase, share: float, aside: bool
) -> None:
    """To the left or to the right by the same amount is the same movement, where the sign is
    allowed at all."""
    gap = 0.25 * case.pitch
    turn = share * gap * case.convolutions / case.inside_diameter
    amount = turn * case.convolutions * case.pitch / 4.0 if aside else turn
    name = "lateral" if aside else "angular"
    right = worked(moved(case, **{name: amount}))
    try:
        left = evaluate(moved(case, **{name: -amount}))
    except TakeupError:
        return  # the sign is refused in words: nothing silently different
    a, b = figures(right), figures(left)
    for id in a:
        if id.endswith("@m"):
            assert abs(b[id]) == pytest.approx(abs(a[id]), rel=1e-12), id
    assert ratios(left).get("fatigue@m") == pytest.approx(ratios(right).get("fatigue@m"))


@FEW
@given(cases())
def test_order_of_movements_and_conditions_does_not_matter(case: BellowsCase) -> None:
    """Movements and conditions told in the other order give the same figures and ratios."""
    turned = change(case, conditions=case.conditions[::-1], movements=case.movements[::-1])
    a, b = worked(case), evaluate(turned)
    close(figures(a), figures(b), rel=1e-12)
    close(ratios(a), ratios(b), rel=1e-12)
    assert (a.usage is None) == (b.usage is None)
    if a.usage is not None:
        assert b.usage == pytest.approx(a.usage, rel=1e-12)


# --- more is never better ----------------------------------------------------------------


@FEW
@given(cases(), st.floats(1.02, 3.0))
def test_more_pressure_never_lowers_a_use_of_capacity(case: BellowsCase, k: float) -> None:
    """Pressure times k: no pressure check, fatigue check or usage gets better; one that rests on
    a lower bound of strength may be left open, never met."""
    more = change(
        case,
        conditions=tuple(
            msgspec.structs.replace(c, pressure=c.pressure * k) for c in case.conditions
        ),
    )
    a, raised = ratios(worked(case)), evaluate(more)
    b = ratios(raised)
    for id, ratio in a.items():
        if "@" in id or id == "usage":
            if id in b:
                assert b[id] >= ratio * (1.0 - 1e-12), id
            else:
                assert outcome(raised, id) == Outcome.NOT_EVALUATED, id


PRESSED = {"column_squirm", "inplane_squirm", "S1", "S1c", "S2", "S2e", "S2r", "S2f", "S3", "S3+S4"}


@FEW
@given(cases(still=True), st.sampled_from(["design", "operating"]))
def test_at_the_pressure_limit_the_worst_check_is_just_met(case: BellowsCase, where: str) -> None:
    """Pressed to its pressure limit, the highest use of capacity of the pressure checks is 1."""
    limit = figures(worked(case)).get(f"pressure_limit@{where}")
    assume(limit is not None)
    pressed = change(
        case,
        conditions=tuple(
            msgspec.structs.replace(c, pressure=limit) if c.name == where else c
            for c in case.conditions
        ),
    )
    used = {
        id: ratio
        for id, ratio in ratios(evaluate(pressed)).items()
        if id.partition("@")[0] in PRESSED and id.endswith(where)
    }
    assert max(used.values()) == pytest.approx(1.0, rel=1e-8)


@FEW
@given(cases(), st.floats(1.02, 4.0))
def test_more_vacuum_never_lowers_a_use_of_capacity(case: BellowsCase, k: float) -> None:
    """Outside pressure times k: no stress or buckling check gets better."""

    def under(share: float) -> BellowsReport:
        return worked(
            change(
                case,
                conditions=(Condition(name="design", pressure=-2e4 * share, temperature=600.0),),
            )
        )

    few, more = under(1.0), under(k)
    a, b = ratios(few), ratios(more)
    for id, ratio in a.items():
        if "@design" in id:
            assert b.get(id, math.inf) >= ratio * (1.0 - 1e-12), id
    assert not [id for id in a if "squirm" in id]


@FEW
@given(cases())
def test_cycles_allowed_use_the_life_up(case: BellowsCase) -> None:
    """Counting exactly the cycles that the design curve allows gives a use of 1."""
    found = figures(worked(case))
    allowed = {move.name: found.get(f"design_cycles@{move.name}") for move in case.movements}
    assume(all(allowed.values()))
    full = change(
        case,
        movements=tuple(
            msgspec.structs.replace(move, cycles=allowed[move.name]) for move in case.movements
        ),
    )
    used = ratios(evaluate(full))
    for move in case.movements:
        assert used[f"fatigue@{move.name}"] == pytest.approx(1.0, rel=1e-12)


@FEW
@given(cases(), st.floats(1.02, 1.6))
def test_more_movement_never_lengthens_life(case: BellowsCase, k: float) -> None:
    """All movements times k: usage and every fatigue ratio rise or stay."""
    more = change(
        case,
        movements=tuple(
            msgspec.structs.replace(
                m, axial=m.axial * k, lateral=m.lateral * k, angular=m.angular * k
            )
            for m in case.movements
        ),
    )
    a, b = ratios(worked(case)), ratios(worked(more))
    for id, ratio in a.items():
        if id.startswith("fatigue") or id == "usage":
            assert b[id] >= ratio * (1.0 - 1e-12), id


@FEW
@given(cases(), st.floats(1.1, 4.0))
def test_more_cycles_use_more_life(case: BellowsCase, k: float) -> None:
    """Cycles times k: fatigue ratios times k, usage times k where all are multiplied alike."""
    more = change(
        case,
        movements=tuple(msgspec.structs.replace(m, cycles=m.cycles * k) for m in case.movements),
    )
    a, b = ratios(worked(case)), ratios(evaluate(more))
    for id, ratio in a.items():
        if id.startswith("fatigue") or id == "usage":
            assert b[id] == pytest.approx(k * ratio, rel=1e-9), id


@FEW
@given(
    cases(still=True),
    st.floats(-0.15, 0.15),
    st.floats(0.0, 0.1),
    st.floats(0.0, 0.1),
)
def test_a_combined_movement_is_never_less_than_one_of_its_parts(
    case: BellowsCase, axial: float, lateral: float, angular: float
) -> None:
    """Axial, lateral and angular in one plane: at least the range of each alone."""
    gap, n = 0.25 * case.pitch, case.convolutions
    turn = gap * n / case.inside_diameter
    parts = {
        "axial": axial * gap * n,
        "lateral": lateral * turn * n * case.pitch / 4.0,
        "angular": angular * turn,
    }
    whole = figures(worked(moved(case, **parts)))["e@m"]
    for name, amount in parts.items():
        alone = figures(worked(moved(case, **{name: amount}))).get("e@m", 0.0)
        # a lateral movement of a bellows held longer by extension is a little less by itself
        lever = 1.0 + max(0.0, parts["axial"]) / (n * case.pitch) if name == "lateral" else 1.0
        assert whole * lever >= alone * (1.0 - 1e-12), name


# --- plies -------------------------------------------------------------------------------


@FEW
@given(cases(shapes=(Convolution.U_PLAIN,), most_plies=1), st.integers(2, 6))
def test_many_plies_against_one_of_the_same_metal(case: BellowsCase, n: int) -> None:
    """n plies of t against one of n t: the same membrane stress; rate as n tp^3 against
    (n tp)^3 and bending from movement as tp against n tp, but for the charts."""
    many = worked(change(case, plies=n, ply_thickness=case.ply_thickness / n))
    one = worked(case)
    a, b = figures(one), figures(many)
    assert b["thinned_ply"] == pytest.approx(a["thinned_ply"] / n, rel=1e-12)
    assert b["mean_diameter"] == pytest.approx(a["mean_diameter"], rel=1e-12)
    for where in ("design", "operating"):
        assert b[f"S2@{where}"] == pytest.approx(a[f"S2@{where}"], rel=1e-9)
        assert b[f"S3@{where}"] == pytest.approx(a[f"S3@{where}"], rel=1e-9)
        bending = b[f"S4@{where}"] / a[f"S4@{where}"]
        assert bending == pytest.approx(n * b["Cp"] / a["Cp"], rel=1e-9)
    assert b["axial_rate"] / a["axial_rate"] == pytest.approx(a["Cf"] / b["Cf"] / n**2, rel=1e-9)
    if a["e@start"] > 0.0:
        assert b["S6@start"] / a["S6@start"] == pytest.approx(a["Cd"] / b["Cd"] / n, rel=1e-9)
        assert b["S6@start"] < a["S6@start"]


@FEW
@given(cases(), st.floats(0.5, 0.999))
def test_a_ply_measured_thinner_is_never_better_under_pressure(
    case: BellowsCase, share: float
) -> None:
    """A least thickness measured below the formed one: no pressure stress falls, no squirm
    pressure rises."""
    a = figures(worked(case))
    thin = figures(evaluate(change(case, thinnest_ply=share * a["thinned_ply"])))
    assert thin["thinned_ply"] == pytest.approx(share * a["thinned_ply"], rel=1e-12)
    for id, value in a.items():
        name = id.partition("@")[0]
        if name in {"S2", "S2e", "S3"}:
            assert thin[id] >= value * (1.0 - 1e-12), id
        if name in {"inplane_squirm"}:
            assert thin[id] <= value * (1.0 + 1e-9), id


# --- one path for arrays and scalars -------------------------------------------------------


@FEW
@given(st.lists(cases(assemblies=(Assembly.SINGLE, Assembly.UNIVERSAL)), min_size=2, max_size=6))
def test_many_cases_give_what_each_gives_alone_in_any_order(group: list[BellowsCase]) -> None:
    """Reports of many are, bit for bit, those of one at a time, in whatever order they come."""
    bare = msgspec.json.encode
    together = evaluate_many(group)
    backwards = evaluate_many(group[::-1])[::-1]
    for case, found, again in zip(group, together, backwards, strict=True):
        assert bare(again) == bare(found)
        if found.figures:
            alone = evaluate(case)
            assert bare(alone) == bare(found)
            close(figures(alone), figures(found), rel=1e-9)


def stacked(values: list[Any]) -> Any:
    """The same thing in arrays: one row for each."""
    first = values[0]
    if isinstance(first, msgspec.Struct):
        columns = [msgspec.structs.asdict(value) for value in values]
        return type(first)(**{name: stacked([c[name] for c in columns]) for name in columns[0]})
    if isinstance(first, str) or first is None:
        return first
    return np.array(values)


@FEW
@given(
    st.sampled_from(list(Convolution)),
    st.sampled_from(list(Basis)),
    st.data(),
)
def test_arrays_give_what_scalars_give(
    shape: Convolution, basis: Basis, data: st.DataObject
) -> None:
    """``solve`` on arrays is, bit for bit, ``solve`` on each row alone."""
    one = cases(shapes=(shape,), bases=(basis,))
    problems = [
        arrays.problem_for(case) for case in data.draw(st.lists(one, min_size=2, max_size=9))
    ]
    together = arrays.solve(
        msgspec.structs.replace(
            problems[0],
            setting=stacked([problem.setting for problem in problems]),
            states=tuple(
                stacked(list(states)) for states in zip(*(p.states for p in problems), strict=True)
            ),
            movements=tuple(
                stacked(list(moves)) for moves in zip(*(p.movements for p in problems), strict=True)
            ),
        )
    )
    alone = [arrays.solve(problem) for problem in problems]
    for side in ("figures", "ratios"):
        whole = getattr(together, side)
        for place, found in enumerate(getattr(row, side) for row in alone):
            assert found.keys() == whole.keys()
            for id, value in found.items():
                assert np.array_equal(value, whole[id][place], equal_nan=True), (id, place)


@FEW
@given(cases(assemblies=(Assembly.SINGLE, Assembly.UNIVERSAL)))
def test_arrays_give_what_reports_give(case: BellowsCase) -> None:
    """Figures and uses of capacity of ``solve`` are, bit for bit, those of the report; what the
    report leaves open is NaN."""
    report = worked(case)
    solution = arrays.solve(arrays.problem_for(case))
    told = figures(report)
    for id in told.keys() & solution.figures.keys():
        assert solution.figures[id] == told[id], id
    assert {
        id for id in told if id.partition("@")[0] in {"S2", "S3", "St", "e", "design_cycles"}
    } <= (solution.figures.keys())
    for check in report.checks:
        if check.id not in solution.ratios:
            assert check.id.partition("@")[0] in {"creep", "input", "external_pressure"}, check.id
            continue
        ratio = solution.ratios[check.id]
        if check.outcome in {Outcome.MET, Outcome.NOT_MET}:
            if (
                check.id != "geometry.charts"
            ):  # a span: the report shows one end, the array the nearer
                assert ratio == check.ratio, check.id
            assert (ratio > 1.0) == (check.outcome == Outcome.NOT_MET), check.id
        else:
            assert np.isnan(ratio), check.id


# --- planes ----------------------------------------------------------------------------------


def turned(case: BellowsCase, angle: float) -> BellowsCase:
    """The case with its movements seen by someone who stands round the pipe by an angle."""
    c, s = math.cos(angle), math.sin(angle)
    return change(
        case,
        movements=tuple(
            msgspec.structs.replace(
                move,
                lateral=c * move.lateral - s * move.lateral_across,
                lateral_across=s * move.lateral + c * move.lateral_across,
                angular=c * move.angular - s * move.angular_across,
                angular_across=s * move.angular + c * move.angular_across,
            )
            for move in case.movements
        ),
    )


@FEW
@given(cases(), st.floats(0.0, 2.0 * math.pi))
def test_it_does_not_matter_from_where_movements_in_two_planes_are_seen(
    case: BellowsCase, angle: float
) -> None:
    """The same movements in turned axes: ranges, stresses and cycles are the same."""
    a, b = figures(worked(case)), figures(worked(turned(case, angle)))
    for id, value in a.items():
        if id.endswith("@start") and not id.startswith(("plane", "gap")):
            assert b[id] == pytest.approx(value, rel=1e-9), id


@FEW
@given(cases(still=True), st.floats(0.01, 0.1), st.floats(0.0, math.pi), st.booleans())
def test_the_worst_plane_is_no_less_than_any_other(
    case: BellowsCase, share: float, between: float, straight: bool
) -> None:
    """Movements in two planes: the range is no less than that of either plane alone and no
    more than that of both put into one plane; in quadrature it is their vector sum."""
    turn = share * 0.25 * case.pitch * case.convolutions / case.inside_diameter
    first, second = turn, turn * (0.5 if straight else math.sin(between))
    both = figures(worked(moved(case, angular=first, angular_across=second)))["e@m"]
    one = figures(worked(moved(case, angular=first)))["e@m"]
    other = figures(worked(moved(case, angular=second))).get("e@m", 0.0)
    straight_sum = figures(worked(moved(case, angular=first + abs(second))))["e@m"]
    assert max(one, other) * (1.0 - 1e-12) <= both <= straight_sum * (1.0 + 1e-12)
    assert both == pytest.approx(math.hypot(one, other), rel=1e-9)


@FEW
@given(cases(), st.floats(0.0, 2.0 * math.pi))
def test_usage_hardly_depends_on_from_where_two_planes_are_seen(
    case: BellowsCase, angle: float
) -> None:
    """The fibres of each movement and of each two movements' difference are among those
    followed, so that turned axes change the sum of damage by a per cent at most."""
    a, b = worked(case).usage, worked(turned(case, angle)).usage
    assert (a is None) == (b is None)
    if a is not None:
        assert b == pytest.approx(a, rel=0.01)


# --- histories --------------------------------------------------------------------------------


@FEW
@given(cases())
def test_usage_is_no_less_than_each_cycle_type_alone(case: BellowsCase) -> None:
    """Damage of all cycle types together is at least that of each by itself."""
    report = worked(case)
    if report.usage is not None:
        for id, ratio in ratios(report).items():
            if id.startswith("fatigue@"):
                assert report.usage >= ratio * (1.0 - 1e-12), id


@FEW
@given(cases(), st.floats(-0.1, 0.1), st.floats(1.0, 1e4))
def test_another_cycle_type_never_lowers_usage(
    case: BellowsCase, share: float, cycles: float
) -> None:
    """One more movement, out or in, adds damage or none."""
    x = share * 0.5 * case.pitch * case.convolutions
    more = change(case, movements=(*case.movements, Movement(name="n", axial=x, cycles=cycles)))
    a, b = worked(case).usage, worked(more).usage
    if a is not None and b is not None:
        assert b >= a * (1.0 - 1e-12)


@FEW
@given(cases(), st.floats(0.1, 0.9))
def test_a_cycle_type_told_in_two_parts_is_the_same(case: BellowsCase, share: float) -> None:
    """300 cycles, or 100 and 200 of the same movement: the same usage."""
    first, *rest = case.movements
    parts = (
        msgspec.structs.replace(first, cycles=share * first.cycles),
        msgspec.structs.replace(first, name="again", cycles=(1.0 - share) * first.cycles),
    )
    a, b = worked(case).usage, worked(change(case, movements=(*parts, *rest))).usage
    assert (a is None) == (b is None)
    if a is not None:
        assert b == pytest.approx(a, rel=1e-9)


@FEW
@given(cases(), st.floats(-0.05, 0.05))
def test_a_set_when_installed_shifts_positions_and_no_range(
    case: BellowsCase, share: float
) -> None:
    """Cold set changes the gap that is left, not range, stress, cycles or usage."""
    x = share * 0.5 * case.pitch * case.convolutions
    a, b = worked(case), worked(change(case, offset_axial=x))
    one, other = figures(a), figures(b)
    for id, value in one.items():
        if not id.startswith("gap_left"):
            assert other[id] == value, id
    assert a.usage == b.usage


# --- sides and ends -----------------------------------------------------------------------------


@FEW
@given(cases())
def test_pressure_outside_is_vacuum_inside(case: BellowsCase) -> None:
    """A pressure that stands outside loads the walls as the same vacuum inside does; neither
    can squirm."""
    outside = change(case, pressurised=Side.OUTSIDE)
    vacuum = change(
        case,
        conditions=tuple(msgspec.structs.replace(c, pressure=-c.pressure) for c in case.conditions),
    )
    a, b = ratios(worked(outside)), ratios(worked(vacuum))
    close(a, b, rel=1e-12)
    assert not [id for id in a if "squirm" in id]


@FEW
@given(cases(assemblies=(Assembly.UNIVERSAL,)))
def test_a_spool_held_sideways_stands_four_times_the_squirm_pressure(case: BellowsCase) -> None:
    """Guided inner ends bear a quarter of the fixed-end column squirm pressure."""
    free, held = figures(worked(case)), figures(worked(change(case, spool_held=True)))
    for where in ("design", "operating"):
        assert held[f"column_squirm@{where}"] == pytest.approx(4.0 * free[f"column_squirm@{where}"])


@FEW
@given(cases(bases=(Basis.ASME_26,)))
def test_rule_sets_print_the_same_stresses(case: BellowsCase) -> None:
    """ASME, EN and EJMA differ in limits and rates, not in S1 to S6 and the range per
    convolution."""
    reports = [figures(worked(change(case, basis=basis, fatigue_curve=CURVE))) for basis in Basis]
    for id, value in reports[0].items():
        if id.partition("@")[0] in {"S1", "S2", "S2e", "S2r", "S3", "S4", "S5", "S6", "St", "e"}:
            for other in reports[1:]:
                if id in other:
                    assert other[id] == pytest.approx(value, rel=1e-12), id


# --- rings ------------------------------------------------------------------------------------


@FEW
@given(cases(shapes=(Convolution.U_REINFORCED,)), st.sampled_from(["321", "625", "800H"]))
def test_ring_and_bellows_share_the_hoop_strain(case: BellowsCase, metal: str) -> None:
    """A ring in one piece stretches as the bellows does: S2' / S2 = Er / Eb."""
    given_ring = change(case, ring_material=metal)
    found = figures(worked(given_ring))
    for condition in case.conditions:
        hot = materials.modulus(metal, condition.temperature).value
        own = materials.modulus("321", condition.temperature).value
        hoop = found[f"S2r@{condition.name}"] / found[f"S2@{condition.name}"]
        assert hoop == pytest.approx(hot / own, rel=1e-9)


@FEW
@given(cases(shapes=(Convolution.U_REINFORCED,)), st.floats(1.01, 4.0))
def test_a_larger_ring_never_raises_the_hoop_stress(case: BellowsCase, k: float) -> None:
    """More metal in the ring lowers S2 of the bellows and of the ring; a ring lowers S2, S3
    and S4 of the plain bellows of the same shape."""
    assert case.ring_area is not None
    some, more = figures(worked(case)), figures(worked(change(case, ring_area=k * case.ring_area)))
    none = figures(
        worked(change(case, convolution=Convolution.U_PLAIN, ring_area=None, ring_material=""))
    )
    for where in ("design", "operating"):
        assert more[f"S2@{where}"] < some[f"S2@{where}"] < none[f"S2@{where}"]
        assert more[f"S2r@{where}"] < some[f"S2r@{where}"]
        assert some[f"S3@{where}"] < none[f"S3@{where}"]
        assert some[f"S4@{where}"] < none[f"S4@{where}"]


@FEW
@given(cases(shapes=(Convolution.U_REINFORCED,)), st.floats(0.3, 3.0), st.floats(0.02, 1.0))
def test_fasteners_only_soften_the_ring(case: BellowsCase, length: float, area: float) -> None:
    """Ring halves joined by fasteners leave more hoop to the bellows than a ring in one piece,
    and less the stiffer the fasteners are."""
    assert case.ring_area is not None
    whole = figures(worked(case))
    fitted = change(
        case, fastener_area=area * case.ring_area, fastener_length=length * case.pitch,
        fastener_material="321",
    )  # fmt: skip
    joined = figures(worked(fitted))
    stiff = figures(worked(change(fitted, fastener_area=2.0 * fitted.fastener_area)))
    for where in ("design", "operating"):
        assert joined[f"S2@{where}"] > whole[f"S2@{where}"]
        assert stiff[f"S2@{where}"] < joined[f"S2@{where}"]


# --- charts ------------------------------------------------------------------------------


@settings(max_examples=50, deadline=None)
@given(st.floats(0.02, 0.98), st.floats(0.2, 4.0), st.sampled_from(["cp", "cf", "cd"]))
def test_charts_are_continuous_but_for_the_printed_step_of_cp(
    c1: float, c2: float, name: str
) -> None:
    """A small step in C1 or C2 is a small step in the chart; only at C1 = 0.3 do the two
    printed branches of Cp part, by 0.021 at most."""
    chart, step = getattr(charts, name), 1e-7
    here = chart(c1, c2)
    over = name == "cp" and c1 <= charts.BRANCH_C1 < c1 + step
    assert chart(c1 + step, c2) == pytest.approx(here, abs=0.0215 if over else 1e-5)
    assert chart(c1, c2 + step) == pytest.approx(here, abs=1e-5)


def test_the_step_of_cp_is_no_larger_than_said() -> None:
    """At C1 = 0.3 the branches of Cp part by 0.021 at most, over the whole of C2."""
    c2 = np.linspace(0.2, 4.0, 400)
    left = np.asarray(charts.cp(np.full_like(c2, 0.3), c2))
    right = np.asarray(charts.cp(np.full_like(c2, 0.3 + 1e-12), c2))
    assert 0.015 < np.abs(right - left).max() < 0.0215


@FEW
@given(cases(shapes=(Convolution.U_PLAIN,)), st.floats(-0.04, 0.04), st.floats(-0.3, 0.3))
def test_an_angle_tires_alike_whichever_way_it_goes_against_the_lateral_movement(
    case: BellowsCase, theta: float, share: float
) -> None:
    """Lateral movement bends the two ends of a bellows against one another, so that an angle
    adds to it at one end or the other."""
    y = share * 0.05 * case.pitch * case.convolutions
    theta *= case.pitch / case.inside_diameter * 4.0

    def told(sign: float) -> tuple[float | None, float | None]:
        move = Movement(name="m", lateral=y, angular=sign * theta, cycles=10.0)
        report = worked(change(case, movements=(move,)))
        return report.usage, figures(report).get("e@m")

    assert told(1.0) == told(-1.0)
