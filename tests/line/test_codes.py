"""Factors of both books, in their planes and ranges, stated ones, and what they do to checks."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeup import materials
from takeup.checks import Outcome
from takeup.line import codes, pressure, stress, stresses
from takeup.line.factors import bend_index, reducer_index, tee_index
from takeup.line.model import (
    Anchor,
    Bend,
    Book,
    Joint,
    Line,
    OfTee,
    Pipe,
    RangeRule,
    State,
    StatedFactors,
    Straight,
    Tee,
    TeeKind,
    Weld,
    WeldKind,
)
from takeup.line.results import Judged, between, judge, own_movement, sustained
from takeup.line.solve import solve
from takeup.sources import Standing
from tests.line.test_solve import NPS6, STEEL, ready, run, stations

TEN = Pipe(name="10", outside=0.2731, wall=0.00927, metal=STEEL)
SIX = NPS6
COLD = State(name="cold", weight=False, role="cold")
WARM = State(name="hot", temperature=533.15, weight=False, role="hot")


def branched(kind: TeeKind = TeeKind.WELDING, **fields: Any) -> Line:
    """A run east with a branch north from its middle, anchored at all three ends."""
    values: dict[str, Any] = {
        "tag": "T",
        "pipes": (TEN, SIX),
        "stations": stations(A=(0, 0, 0), T=(4, 0, 0), B=(12, 0, 0), C=(4, 5, 0)),
        "pieces": (
            Straight(start="A", end="T", pipe="10"),
            Straight(start="T", end="B", pipe="10"),
            Straight(start="T", end="C", pipe="6"),
        ),
        "supports": (
            Anchor(name="a", station="A"),
            Anchor(name="b", station="B"),
            Anchor(name="c", station="C"),
        ),
        "states": (COLD, WARM),
        "tees": (Tee(station="T", kind=kind),),
    }
    return Line(**{**values, **fields})


def judged(line: Line, **options: Any) -> Judged:
    """Solved and judged between cold and hot."""
    made = ready(line)
    return judge(made, solve(made), cold="cold", hot="hot", **options)


def named(found: Judged, id: str) -> Any:
    """The check called ``id``."""
    return next(one for one in found.checks if one.id == id)


# --- B31J ------------------------------------------------------------------------------------


def test_branch_of_a_full_size_welding_tee_is_that_of_appendix_d() -> None:
    """Out of the plane B31J's 0.42 (R/T)^(2/3) is Appendix D's 0.9/h^(2/3) with h = 3.1 T/r2."""
    by_j = codes.welding_tee(TEN.outside, TEN.wall, TEN.outside, TEN.wall)
    by_d = codes.branch(TeeKind.WELDING, TEN.outside, TEN.wall)
    assert by_j.branch[1] == pytest.approx(by_d.outside, rel=0.01)


def test_bends_are_alike_in_both_books() -> None:
    """Elbows and mitres have one factor by both books, and torsion 1."""
    bend = Bend(start="a", end="b", pipe="10", corner=(0, 0, 0), radius=0.381)
    for one in (bend, msgspec.structs.replace(bend, mitre=math.radians(15.0))):
        d, j = bend_index(Book.APPENDIX_D, TEN, one), bend_index(Book.B31J, TEN, one)
        assert (d.inplane, d.outplane, d.torsion) == (j.inplane, j.outplane, j.torsion)
        assert j.torsion == 1.0
        assert j.sustained == pytest.approx(
            (max(1.0, 0.75 * j.inplane), max(1.0, 0.75 * j.outplane), 1)
        )
    assert (
        "closely"
        in bend_index(Book.B31J, TEN, msgspec.structs.replace(bend, mitre=0.175)).source.at
    )
    wide = msgspec.structs.replace(bend, mitre=math.radians(22.5), radius=0.6)
    assert "widely" in bend_index(Book.B31J, TEN, wide).source.at
    assert any("22.5" in c for c in bend_index(
        Book.B31J, TEN, msgspec.structs.replace(bend, mitre=math.radians(30.0))).cautions)  # fmt: skip


@pytest.mark.parametrize("kind", [kind for kind in TeeKind if kind is not TeeKind.WELDING])
def test_a_branch_whose_b31j_factors_are_not_known_is_open_and_says_what_is_needed(
    kind: TeeKind,
) -> None:
    """No factor is guessed: the check is not evaluated, and names station, keys and table."""
    found = judged(branched(kind), book=Book.B31J)
    one = named(found, "range@T/C")
    assert one.outcome is Outcome.NOT_EVALUATED
    assert one.demand is None
    assert "i_torsion" in one.because and "Table 1-1" in one.because and "'T'" in one.because
    assert named(judged(branched(kind)), "range@T/C").outcome is not Outcome.NOT_EVALUATED
    piece = next(b for b in found.books if (b.start, b.end) == ("T", "C"))
    assert piece.governs == "open" and piece.range_d is not None and piece.range_j is None


def test_stated_factors_close_what_the_book_leaves_open() -> None:
    """Factors of run and branch that a person states are taken with his source, provisionally."""
    stated = tuple(
        StatedFactors(at=7, station="T", part=part, source="Shell analysis 14", i_in=i, i_out=i,
                      i_torsion=1.0)
        for part, i in ((OfTee.RUN, 2.0), (OfTee.BRANCH, 3.0))
    )  # fmt: skip
    line = branched(TeeKind.PLAIN, factors=Book.B31J, stated=stated)
    one = named(judged(line), "range@T/C")
    assert one.outcome is not Outcome.NOT_EVALUATED
    assert "Shell analysis 14" in one.source.at and one.source.standing is Standing.UNCERTAIN
    twice = tuple(msgspec.structs.replace(s, i_in=6.0, i_out=6.0) for s in stated)
    more = named(judged(msgspec.structs.replace(line, stated=twice)), "range@T/C")
    assert more.demand > 1.5 * one.demand
    part = stated[:1]  # the branch is still not known
    left = named(judged(msgspec.structs.replace(line, stated=part)), "range@T/C")
    assert left.outcome is Outcome.NOT_EVALUATED


def test_a_known_end_beyond_its_limit_is_not_met_though_another_is_unknown() -> None:
    """What is not known at one end does not hide what is too much at the other."""
    locked = branched(
        TeeKind.PLAIN,
        pieces=(
            Straight(start="A", end="T", pipe="10"),
            Straight(start="T", end="B", pipe="10"),
            Straight(start="T", end="C", pipe="6"),
        ),
    )
    hot = msgspec.structs.replace(WARM, temperature=700.0)
    found = judged(msgspec.structs.replace(locked, states=(COLD, hot)), book=Book.B31J)
    assert named(found, "range@A/T").outcome is Outcome.NOT_MET


def test_factors_stated_for_straight_pipe_count_both_ways() -> None:
    """Straight pipe has no plane: turning the line about cannot change which factor acts."""
    said = (StatedFactors(piece=("A", "T"), source="test", i_out=1.8),)
    made = ready(branched(stated=said))
    placed = stresses.place(made.line, made.frame)
    own = [n for n, one in enumerate(placed.places) if one.element == 0 and one.normal is None]
    assert placed.factor[:3, own].T.tolist() == [[1.8, 1.8, 1.0]] * len(own)


def test_without_growth_anchors_carry_what_is_solved() -> None:
    """At the temperature of installation 319.5.1 leaves weight, pressure and thrust as they are."""
    still = msgspec.structs.replace(WARM, temperature=COLD.temperature, pressure=1e6, weight=True)
    for line in (branched(states=(COLD, still)),
                 msgspec.structs.replace(run(), states=(COLD, still))):  # fmt: skip
        made = ready(line)
        results = solve(made)
        found = judge(made, results, cold="cold", hot="hot")
        for one in found.reactions:
            solved = results[1].reaction(one.name)
            assert one.hot == pytest.approx((*solved.force, *solved.moment), rel=1e-6, abs=0.1)


def test_reducer_by_b31j_is_asked_for() -> None:
    """B31J's reducer is not known here; Appendix D's has the range of the formula."""
    assert math.isnan(reducer_index(Book.B31J, TEN, SIX, 0.2).inplane)
    assert 1.0 <= reducer_index(Book.APPENDIX_D, TEN, SIX, 0.2).inplane <= 2.0


# --- the plane of a tee ----------------------------------------------------------------------


def test_a_tee_takes_moments_in_its_own_plane() -> None:
    """A branch pulled within the plane bends it in-plane; pulled across, out of it."""
    made = ready(branched())
    placed = stresses.place(made.line, made.frame)
    for growth, inside in (((0.01, 0.0, 0.0), True), ((0.0, 0.0, 0.01), False)):
        line = branched(
            supports=(
                Anchor(name="a", station="A"),
                Anchor(name="b", station="B"),
                Anchor(name="c", station="C", growth={"hot": growth}),
            ),
            states=(COLD, msgspec.structs.replace(COLD, name="hot", role="hot")),
        )
        settled = ready(line)
        cold, hot = solve(settled)
        acting = placed.acting(hot.ends - cold.ends)
        at = next(
            n for n, one in enumerate(placed.places)
            if one.normal is not None and one.pipe.name == "6"
        )  # fmt: skip
        most, least = acting.inplane[at], acting.outplane[at]
        assert abs(most if inside else least) > 1e3
        assert abs(least if inside else most) < 1.0


def test_branch_end_bends_by_the_effective_modulus_of_appendix_d() -> None:
    """Ze = pi r2^2 Ts, Ts the lesser of the run's wall and ii times the branch's (hand)."""
    made = ready(branched())
    placed = stresses.place(made.line, made.frame)
    at = next(n for n, one in enumerate(placed.places) if one.effective is not None)
    r2 = (0.1683 - 0.00711) / 2.0
    assert placed.bending[0, at] == pytest.approx(math.pi * r2**2 * 0.00927, rel=1e-9)
    j = stresses.place(made.line, made.frame, Book.B31J)
    assert np.array_equal(j.bending, j.modulus)


# --- ranges of validity ----------------------------------------------------------------------


def test_a_thin_duct_is_flagged_wherever_its_factors_are_used() -> None:
    """D/T 144: the check carries the caution, the report its note."""
    duct = Pipe(name="duct", outside=1.37, wall=0.0095, metal=STEEL)
    bend = Bend(start="a", end="b", pipe="duct", corner=(0, 0, 0), radius=2.0)
    assert any("up to 100" in words for words in bend_index(Book.B31J, duct, bend).cautions)
    assert bend_index(Book.APPENDIX_D, TEN, bend).cautions == ()
    found = judged(branched(pipes=(msgspec.structs.replace(TEN, wall=0.0025), SIX)))
    assert any("D/T 109" in words for words in found.notes)
    assert any("up to 100" in words for words in named(found, "range@T/C").cautions)


def test_doubtful_branches_say_so() -> None:
    """No pad, a pad thicker than counts, a crotch too sharp: each in words."""
    for tee, says in (
        (Tee(station="T", kind=TeeKind.PAD), "unreinforced"),
        (Tee(station="T", kind=TeeKind.PAD, pad=0.02), "1.5 times"),
        (Tee(station="T", kind=TeeKind.EXTRUDED, crotch=0.002), "Crotch radius"),
    ):
        found = tee_index(Book.APPENDIX_D, tee, TEN, SIX, OfTee.RUN)
        assert any(says in words for words in found.cautions), says


# --- 302.3.5, 302.3.6, 319.5 -----------------------------------------------------------------


def test_both_equations_of_the_allowable_range_stand_on_the_check() -> None:
    """Equation 1a by default, 1b where chosen; each check tells both and the use by the other."""
    line = branched()
    plain, liberal = judged(line), judged(line, rule=RangeRule.LIBERAL)
    a, b = named(plain, "range@T/C"), named(liberal, "range@T/C")
    assert a.capacity < b.capacity and a.demand == b.demand
    assert "1b" in a.because and "1a" in b.because
    values = [q.value for q in a.inputs if q.symbol == "SA"]
    assert values == [a.capacity, b.capacity]
    assert "1a" in a.source.at and "1b" in b.source.at


def test_range_factor_of_cool_mild_steel_reaches_1_2() -> None:
    """f = 6 N^-0.2 with its caps by metal and temperature; hot or nickel metal stops at 1."""
    assert stresses.range_factor(2000, STEEL, 500.0) == pytest.approx(1.2)
    assert stresses.range_factor(2000, STEEL, 700.0) == 1.0
    assert stresses.range_factor(2000, "800H", 500.0) == 1.0
    assert stresses.range_factor(22_000, STEEL, 500.0) == pytest.approx(0.812, abs=1e-3)


def test_occasional_states_are_judged_by_what_they_are() -> None:
    """Stress 1.33 Sh of wind or a short variation; its wall 1.33, 1.20 or 1 by hours; open without."""
    hour = 3600.0
    wind = State(name="wind", role="occasional", acceleration=(0.2, 0.0, 0.0))
    relief = State(name="relief", role="occasional", pressure=9e6)
    assert stresses.occasional_limit(wind) == (1.33, "")
    assert stresses.variation(wind) == (1.0, "")
    assert stresses.occasional_limit(relief)[0] is None
    for each, year, wall, long in (
        (10, 100, 1.33, 1.33), (10, 400, 1.2, 1.33), (50, 500, 1.2, 1.33), (60, 500, 1.0, 1.0),
    ):  # fmt: skip
        one = msgspec.structs.replace(relief, hours_each=each * hour, hours_year=year * hour)
        assert stresses.variation(one)[0] == wall
        assert stresses.occasional_limit(one)[0] == long
    found = judged(branched(states=(COLD, WARM, relief)))
    for id in ("occasional@T/C@relief", "wall.10"):
        assert named(found, id).outcome is Outcome.NOT_EVALUATED
        assert "hours_each" in named(found, id).because
    timed = msgspec.structs.replace(relief, hours_each=hour, hours_year=hour)
    short = judged(branched(states=(COLD, WARM, timed)))
    one = named(short, "occasional@T/C@relief")
    plain = named(judged(branched(states=(COLD, WARM))), "sustained@T/C")
    assert one.demand > plain.demand
    assert "302.3.6" in one.source.at
    assert any("owner" in words for words in one.cautions)
    wall = named(short, "wall.10")
    steady = msgspec.structs.replace(timed, role="")
    always = named(judged(branched(states=(COLD, WARM, steady))), "wall.10")
    assert "302.2.4" in wall.source.at and "304.1.2" in always.source.at
    assert always.demand == pytest.approx(1.33 * wall.demand, rel=0.03)


def test_cold_spring_lowers_hot_loads_and_raises_cold_ones() -> None:
    """Shares by 319.5.1: (1 - 2C/3) Em/Ea hot, the larger of C and 1 - Sh Ea/(SE Em) cold (hand)."""
    hot, cold = codes.cold_sprung(0.5, 100e6, 150e6, 200e9, 180e9)
    assert hot == pytest.approx(2.0 / 3.0 * 0.9)
    assert cold == pytest.approx(0.5)
    assert codes.cold_sprung(0.0, 100e6, 150e6, 200e9, 180e9)[1] == pytest.approx(1 - 100 / 135)
    plain = judged(branched())
    sprung = judged(branched(cold_spring=0.6))
    a, b = plain.reactions[0], sprung.reactions[0]
    assert abs(b.hot[0]) == pytest.approx(0.6 * abs(a.hot[0]), rel=1e-6)
    assert b.cold_share >= 0.6 and b.cold[0] * b.hot[0] < 0.0


def test_sustained_loads_leave_growth_out() -> None:
    """Growth of a soft anchor and of metal does nothing to weight and pressure stress."""
    soft = (1e7, 1e7, 1e7, 1e6, 1e6, 1e6)
    rows = []
    for growth in ({}, {"hot": (0.02, 0.0, 0.0)}):
        line = branched(
            supports=(
                Anchor(name="a", station="A", stiffness=soft, growth=growth),
                Anchor(name="b", station="B"),
                Anchor(name="c", station="C"),
            ),
            states=(msgspec.structs.replace(COLD, weight=True),
                    msgspec.structs.replace(WARM, weight=True)),
        )  # fmt: skip
        made = ready(line)
        _, hot = solve(made)
        rows.append(sustained(made, hot, line.states[1]))
    assert np.allclose(rows[0], rows[1], rtol=1e-9, atol=1e-3)


def test_a_weld_raises_the_stress_at_its_station() -> None:
    """A threaded joint multiplies bending by 2.3; a fillet by its leg, between 1.3 and 2.1."""
    assert codes.weld(WeldKind.FILLET, 0.007) == 2.1
    assert codes.weld(WeldKind.FILLET, 0.007, 0.01) == pytest.approx(1.47)
    assert codes.weld(WeldKind.FILLET, 0.007, 0.02) == 1.3
    made = ready(branched(welds=(Weld(station="C", kind=WeldKind.THREADED),)))
    placed = stresses.place(made.line, made.frame)
    at = next(
        n for n, one in enumerate(placed.places)
        if made.frame.names[int(made.frame.ends[one.element, one.end])] == "C"
    )  # fmt: skip
    assert placed.factor[:3, at].tolist() == [2.3, 2.3, 1.0]


# --- stated flexibility, acceleration --------------------------------------------------------


def test_stated_flexibility_of_a_bend_is_that_of_the_book_where_it_is_the_same() -> None:
    """k of 1.65/h stated changes nothing; twice as much in plane softens in plane only."""
    from tests.line.test_solve import bent

    corners = [(0.0, 0.0, 0.0), (3.0, 0.0, 0.0), (3.0, 3.0, 0.0)]
    line = bent(SIX, corners, 0.229)
    bend = next(p for p in line.pieces if isinstance(p, Bend))
    k = float(codes.of_bend(SIX, bend).k)

    def stiffness(**stated: float) -> Any:
        said = (StatedFactors(piece=(bend.start, bend.end), source="hand", **stated),)
        made = ready(msgspec.structs.replace(line, stated=said if stated else ()))
        at = next(n for n, spot in enumerate(made.frame.spots) if spot.what == "bend")
        return np.linalg.inv(made.frame.elements.end[at])

    plain = stiffness()
    assert np.allclose(stiffness(k_in=k, k_out=k, k_torsion=1.0), plain, rtol=1e-9)
    soft = stiffness(k_in=2.0 * k)
    assert soft[5, 5] == pytest.approx(2.0 * plain[5, 5], rel=1e-9)
    assert soft[2, 2] == pytest.approx(plain[2, 2], rel=1e-9)


def test_stated_flexibility_of_a_branch_turns_it_at_the_surface_of_the_run() -> None:
    """A cantilevered branch moves by k d/(E I) times arm squared more, in its plane (hand)."""
    tip = []
    for stated in (
        (),
        (StatedFactors(station="T", part=OfTee.BRANCH, source="x", k_in=4.0),),
    ):
        line = branched(
            supports=(Anchor(name="a", station="A"), Anchor(name="b", station="B")), stated=stated
        )
        made = ready(line)
        at = next(
            n for n, s in enumerate(made.frame.spots) if line.pieces[s.piece].end == "C"
        )  # fmt: skip
        tip.append(np.linalg.inv(made.frame.elements.end[at]))
    inertia = math.pi / 64 * (0.1683**4 - (0.1683 - 2 * 0.00711) ** 4)
    turn = 4.0 * (0.1683 - 0.00711) / (203.4e9 * inertia)
    arm = 5.0 - 0.2731 / 2.0
    assert tip[1][0, 0] - tip[0][0, 0] == pytest.approx(turn * arm**2, rel=1e-9)
    assert tip[1][5, 5] - tip[0][5, 5] == pytest.approx(turn, rel=1e-9)
    assert tip[1][2, 2] == pytest.approx(tip[0][2, 2], rel=1e-9)


def test_acceleration_is_a_share_of_weight_sideways() -> None:
    """0.3 g east pushes the anchors by 0.3 of the weight on them; without it nothing changes."""
    still = State(name="cold", role="cold")
    shaken = State(name="hot", role="hot", acceleration=(0.3, 0.0, 0.0))
    made = ready(branched(states=(still, shaken)))
    first, last = solve(made)
    down = sum(r.force[2] for r in first.reactions)
    aside = sum(r.force[0] for r in last.reactions)
    assert aside == pytest.approx(-0.3 * down, rel=1e-9)
    assert sum(r.force[0] for r in first.reactions) == pytest.approx(0.0, abs=1e-6)


# --- EN 13480-3 and wall ---------------------------------------------------------------------


def test_en_13480_stands_on_one_moment_and_the_design_stresses_given() -> None:
    """sigma1 and sigma3 of a piece by hand from its moments; without design stresses no check."""
    line = branched(
        states=(COLD, msgspec.structs.replace(WARM, pressure=1e6, weight=True)), tees=()
    )
    assert not any(one.id.startswith("en13480") for one in judged(line).checks)
    mpa = 1e6
    pipes = (
        msgspec.structs.replace(TEN, en_cold=140 * mpa, en_hot=110 * mpa, en_creep=90 * mpa),
        SIX,
    )
    line = msgspec.structs.replace(line, pipes=pipes)
    found = judged(line)
    made = ready(line)
    cold, hot = solve(made)
    placed = stresses.place(line, made.frame)
    steady, grown = (
        placed.acting(ends) for ends in (sustained(made, hot, line.states[1]), hot.ends - cold.ends)
    )
    own = [n for n, one in enumerate(placed.places) if one.pipe.name == "10" and one.element == 0]
    z = math.pi / 32 * (0.2731**4 - (0.2731 - 2 * 0.00927) ** 4) / 0.2731

    def moment(of: Any, n: int) -> float:
        return math.sqrt(of.inplane[n] ** 2 + of.outplane[n] ** 2 + of.torsion[n] ** 2)

    one = named(found, "en13480.sustained@A/T")
    assert one.demand == pytest.approx(
        max(1e6 * 0.2731 / (4 * 0.00927) + moment(steady, n) / z for n in own)
    )
    assert one.capacity == 110 * mpa
    two = named(found, "en13480.range@A/T")
    assert two.demand == pytest.approx(max(moment(grown, n) / z for n in own))
    ratio = next(q.value for q in two.inputs if q.symbol == "Eh/Ec")
    assert two.capacity == pytest.approx((1.25 * 140 + 0.25 * 110) * mpa * ratio)
    assert "fh + fa" in two.because
    three = named(found, "en13480.creep@A/T")
    assert three.capacity == 90 * mpa and three.demand > one.demand
    assert not any(one.id.endswith("@T/C") for one in found.checks if one.id.startswith("en"))


def test_en_13480_leaves_branches_and_many_cycles_open() -> None:
    """The factor of a branch, and U beyond 7000 cycles, are not known here; stated ones are taken."""
    pipes = (msgspec.structs.replace(TEN, en_cold=140e6, en_hot=110e6), SIX)
    line = branched(pipes=pipes)
    assert named(judged(line), "en13480.range@A/T").outcome is Outcome.NOT_EVALUATED
    said = (StatedFactors(station="T", source="EN table H", i_in=2.0, i_out=2.5),)
    stated = msgspec.structs.replace(line, stated=said)
    assert named(judged(stated), "en13480.range@A/T").outcome is not Outcome.NOT_EVALUATED
    many = named(judged(msgspec.structs.replace(stated, cycles=9000.0)), "en13480.range@A/T")
    assert many.outcome is Outcome.NOT_EVALUATED and "7000" in many.because


def test_wall_for_pressure_is_that_of_304() -> None:
    """t = P D / (2 (S E W + P Y)) and the allowance, in the state that uses most of it (hand)."""
    assert pressure.wall_needed(2e6, 0.2731, 120e6, 0.85) == pytest.approx(
        2e6 * 0.2731 / (2 * (120e6 * 0.85 + 0.8e6))
    )
    worn = msgspec.structs.replace(TEN, allowance=0.003, weld_factor=0.85)
    line = branched(
        pipes=(worn, SIX),
        states=(COLD, msgspec.structs.replace(WARM, pressure=2e6),
                State(name="wind", pressure=2e6, role="occasional", acceleration=(0.1, 0.0, 0.0),
                      weight=False)),
    )  # fmt: skip
    one = named(judged(line), "wall.10")
    allowed = next(q.value for q in one.inputs if q.symbol == "S")
    assert one.demand == pytest.approx(pressure.wall_needed(2e6, 0.2731, allowed, 0.85) + 0.003)
    assert one.outcome is Outcome.MET and "hot" in one.name
    assert not any(c.id.startswith("wall") for c in judged(branched()).checks)


# --- properties ------------------------------------------------------------------------------


@settings(max_examples=30, deadline=None)
@given(
    outside=st.floats(0.1, 1.5), ratio=st.floats(8.0, 100.0), small=st.floats(0.2, 1.0),
    radius=st.floats(1.0, 5.0),
)  # fmt: skip
def test_factors_are_at_least_one_and_move_without_jumps(
    outside: float, ratio: float, small: float, radius: float
) -> None:
    """Every known factor is 1 or more, and a millionth of change in size changes it by as little."""
    for book in Book:
        seen = []
        for stretch in (1.0, 1.0 + 1e-6):
            run_ = Pipe(name="r", outside=outside * stretch, wall=outside / ratio, metal=STEEL)
            branch = Pipe(
                name="b", outside=outside * small, wall=outside / ratio * small, metal=STEEL
            )
            bend = Bend(start="a", end="b", pipe="r", corner=(0, 0, 0), radius=radius * outside)
            found = [
                bend_index(book, run_, bend),
                *(tee_index(book, Tee(station="T", kind=TeeKind.WELDING), run_, branch, part)
                  for part in (OfTee.RUN, OfTee.BRANCH)),
            ]  # fmt: skip
            seen.append(
                [v for i in found for v in (i.inplane, i.outplane, i.torsion, *i.sustained)]
            )
        assert min(seen[0]) >= 1.0
        assert seen[0] == pytest.approx(seen[1], rel=1e-5)


@settings(max_examples=30, deadline=None)
@given(outside=st.floats(0.1, 1.5), ratio=st.floats(8.0, 100.0), degrees=st.floats(3.0, 22.5))
def test_mitres_go_from_close_to_wide_without_a_jump(
    outside: float, ratio: float, degrees: float
) -> None:
    """At the spacing where the two forms meet they agree, and no factor is below 1."""
    wall, half = outside / ratio, math.radians(degrees)
    meet = codes.mean_radius(outside, wall) * (1.0 + math.tan(half))
    close, wide = (codes.mitre(outside, wall, half, meet * s) for s in (1.0 - 1e-9, 1.0 + 1e-9))
    for a, b in ((close.h, wide.h), (close.k, wide.k), (close.inside, wide.inside)):
        assert a == pytest.approx(b, rel=1e-6)
    assert close.k >= 1.0 and close.inside >= 1.0


@settings(max_examples=30, deadline=None)
@given(
    outside=st.floats(0.1, 1.5), ratio=st.floats(8.0, 100.0), pad=st.floats(0.0, 3.0),
    crotch=st.floats(0.0, 0.2), kind=st.sampled_from(list(TeeKind)),
)  # fmt: skip
def test_more_metal_at_a_branch_never_raises_its_factors(
    outside: float, ratio: float, pad: float, crotch: float, kind: TeeKind
) -> None:
    """Every branch of Appendix D is at least 1 and at most the unreinforced one."""
    wall = outside / ratio
    found = codes.branch(kind, outside, wall, pad=pad * wall, crotch=crotch)
    plain = codes.branch(TeeKind.PLAIN, outside, wall)
    assert found.inside >= 1.0 and 1.0 <= found.outside <= plain.outside * (1.0 + 1e-12)


@settings(max_examples=30, deadline=None)
@given(sc=st.floats(20e6, 200e6), sh=st.floats(5e6, 200e6), sl=st.floats(0.0, 250e6))
def test_equation_1b_never_allows_less_than_1a(sc: float, sh: float, sl: float) -> None:
    """What sustained stress leaves is added; where it leaves nothing, 1b falls back on 1a."""
    plain, liberal = stress.both_ranges(*(np.array(v) for v in (sc, sh, 1.0, sl)))
    assert liberal >= plain
    if sl >= sh:
        assert liberal == plain


def test_a_locked_or_missing_joint_design_is_open_not_passed() -> None:
    """A joint with a design movement is judged by it, part by part; unstated parts are asked for."""
    from takeup.line.model import DesignMovement

    made = run()
    joint = next(p for p in made.pieces if isinstance(p, Joint))

    def with_design(design: DesignMovement | None) -> Judged:
        pieces = tuple(
            msgspec.structs.replace(p, design=design) if isinstance(p, Joint) else p
            for p in made.pieces
        )
        return judged(msgspec.structs.replace(made, pieces=pieces, states=(COLD, WARM)))

    assert joint.tag == "EJ-1"
    little = named(with_design(DesignMovement(axial=0.02)), "movement.EJ-1.axial")
    assert little.outcome is Outcome.NOT_MET
    enough = named(with_design(DesignMovement(axial=0.2)), "movement.EJ-1.axial")
    assert enough.outcome is Outcome.MET
    other = named(with_design(DesignMovement(lateral=0.2)), "movement.EJ-1.axial")
    assert other.outcome is Outcome.NOT_EVALUATED and "axial" in other.because


def test_growth_of_pipe_ends_is_no_movement_of_the_bellows() -> None:
    """A joint's own movement leaves out its stubs, and takes in the growth of a spool."""
    made = run()
    pieces = tuple(
        msgspec.structs.replace(p, bellows=(msgspec.structs.replace(p.bellows[0], length=0.2),))
        if isinstance(p, Joint)
        else p
        for p in made.pieces
    )
    settled = ready(msgspec.structs.replace(made, pieces=pieces, states=(COLD, WARM)))
    cold, hot = solve(settled)
    ends, own = between(cold, hot, "EJ-1"), own_movement(cold, hot, "EJ-1")
    strain = float(materials.expansion_total(STEEL, 533.15, 294.2612).value)
    assert ends.axial - own.axial == pytest.approx(0.1 * strain, rel=1e-2)
    two = tuple(
        msgspec.structs.replace(
            p, bellows=tuple(msgspec.structs.replace(p.bellows[0], length=0.1) for _ in range(2)),
            over_both=0.3,
        )
        if isinstance(p, Joint)
        else p
        for p in made.pieces
    )  # fmt: skip
    settled = ready(msgspec.structs.replace(made, pieces=two, states=(COLD, WARM)))
    cold, hot = solve(settled)
    both = sum(between(cold, hot, "EJ-1", n).axial for n in (0, 1))
    assert own_movement(cold, hot, "EJ-1").axial == pytest.approx(both)
    assert own_movement(cold, hot, "EJ-1", 1) == between(cold, hot, "EJ-1", 1)
