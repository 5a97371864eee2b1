"""Offset legs: a run shifted between its bends, guides of its legs let go or moved."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np
import pytest

from takeup.checks import Check, LimitKind, Outcome, compare
from takeup.desk.design_out import Task, checks_of, search
from takeup.line import offsets
from takeup.line.alternatives import alternatives, no_offset
from takeup.line.design_out import design_out
from takeup.line.model import (
    Anchor,
    BellowsSpring,
    Bend,
    Guide,
    Joint,
    Line,
    Pipe,
    Rest,
    Rigid,
    State,
    Station,
    Stop,
    Straight,
)
from takeup.line.solve import prepare, solve
from takeup.line.telling import si_words
from takeup.sources import assumption

PIPE = Pipe(name="8", outside=0.2191, wall=0.00818, metal="carbon steel")
R = 0.3286


def bent(side: float = -1.0, legs: float = 3.0, **changes: Any) -> Line:
    """20 m of NPS 8 with a joint, between legs down and down (-1: a U) or down and up (1: a Z)."""
    spring = BellowsSpring(length=0.2, axial_rate=100e3, mean_diameter=0.25)
    places = {
        "A": (0.0, 0.0, -legs), "G": (0.0, 0.0, -1.2), "b1": (0.0, 0.0, -R), "a1": (R, 0.0, 0.0),
        "R": (5.0, 0.0, 0.0), "C": (9.8, 0.0, 0.0), "D": (10.2, 0.0, 0.0),
        "a2": (20.0 - R, 0.0, 0.0), "b2": (20.0, 0.0, side * R), "F": (20.0, 0.0, side * legs),
    }  # fmt: skip
    values: dict[str, Any] = {
        "tag": "L",
        "pipes": (PIPE,),
        "stations": tuple(Station(name=n, position=p) for n, p in places.items()),
        "pieces": (
            Straight(start="A", end="G", pipe="8"),
            Straight(start="G", end="b1", pipe="8"),
            Bend(start="b1", end="a1", pipe="8", corner=(0.0, 0.0, 0.0), radius=R),
            Straight(start="a1", end="R", pipe="8"),
            Straight(start="R", end="C", pipe="8"),
            Joint(tag="EJ-1", start="C", end="D", bellows=(spring,)),
            Straight(start="D", end="a2", pipe="8"),
            Bend(start="a2", end="b2", pipe="8", corner=(20.0, 0.0, 0.0), radius=R),
            Straight(start="b2", end="F", pipe="8"),
        ),
        "supports": (
            Anchor(name="first", station="A"),
            Anchor(name="last", station="F"),
            Rest(name="rest R", station="R"),
        ),
        "states": (
            State(name="cold", role="cold"),
            State(name="hot", role="hot", temperature=533.15),
        ),
    }
    return Line(**{**values, **changes})


def joint_of(line: Line) -> Joint:
    """The joint of the line."""
    return next(piece for piece in line.pieces if isinstance(piece, Joint))


def run_of(line: Line) -> offsets.Run:
    """The run that the joint stands in."""
    return offsets.run_of(line, joint_of(line))


def leg_lengths(line: Line) -> tuple[float, float]:
    """Straight pipe from b1 to G and from b2 to F [m]."""
    at = offsets.places(line)
    return math.dist(at["b1"], at["G"]), math.dist(at["b2"], at["F"])


def test_a_shift_lengthens_both_legs_of_a_u_and_keeps_all_directions() -> None:
    """The run goes up by the size with its supports; both legs grow by it; pieces stay square."""
    line = bent()
    (one,) = offsets.shifted(line, run_of(line), [1.5], 0.2)
    assert one.direction == pytest.approx((0.0, 0.0, 1.0))
    assert one.added == pytest.approx(3.0)
    assert one.moved == ("rest R",)
    before, after = leg_lengths(line), leg_lengths(one.line)
    assert after == pytest.approx([length + 1.5 for length in before])
    at, was = offsets.places(one.line), offsets.places(line)
    for name in ("A", "G", "F"):
        assert at[name] == pytest.approx(was[name])
    for name in ("b1", "a1", "R", "C", "D", "a2", "b2"):
        assert at[name] - was[name] == pytest.approx(np.array([0.0, 0.0, 1.5]))
    prepare(one.line)  # raises where bends no longer fit their corners


def test_a_shift_of_a_z_takes_from_one_leg_what_it_gives_the_other() -> None:
    """Both ways are tried, no pipe is added, and no leg is used up."""
    line = bent(side=1.0)
    found = list(offsets.shifted(line, run_of(line), [0.5, 1.0, 2.0], 0.2))
    assert all(one.added == pytest.approx(0.0) for one in found)
    up = [one for one in found if one.direction[2] > 0.0]
    assert [one.size for one in up] == [0.5, 1.0, 2.0]
    # Down, the straight at b1 (0.87 m) bounds the shift.
    assert [one.size for one in found if one.direction[2] < 0.0] == [0.5]
    assert leg_lengths(up[0].line)[1] == pytest.approx(leg_lengths(line)[1] - 0.5)


def test_longer_legs_pull_less_as_a_portal_frame_does() -> None:
    """F = (12EI/L3)(d/2)(1 - 3/(4 + 2L/S)): legs fixed below, the run bends between them."""
    hot_only = (State(name="cold", role="cold", weight=False),
                State(name="hot", role="hot", temperature=533.15, weight=False))  # fmt: skip
    line = msgspec.structs.replace(bent(), supports=bent().supports[:2], states=hot_only)
    made = next(iter(alternatives(line, "EJ-1", largest=0.0))).line
    pipe = next(p for p in made.pieces if {p.start, p.end} == {"C", "D"})
    assert isinstance(pipe, Straight)
    pulls = []
    for one in offsets.shifted(made, offsets.run_of(made, pipe), [0.01, 3.0, 6.0, 9.0], 0.2):
        _, hot = solve(prepare(one.line))
        pulls.append(abs(hot.reaction("first").force[0]))
    assert pulls == sorted(pulls, reverse=True)
    frame = [(1.0 - 3.0 / (4.0 + 2.0 * leg / 20.0)) / leg**3 for leg in (9.0, 12.0)]
    assert pulls[3] / pulls[2] == pytest.approx(frame[1] / frame[0], rel=0.06)


def with_piece(
    line: Line, *pieces: Straight | Rigid, **stations: tuple[float, float, float]
) -> Line:
    """The line with more of it."""
    more = tuple(Station(name=n, position=p) for n, p in stations.items())
    return msgspec.structs.replace(
        line, stations=(*line.stations, *more), pieces=(*line.pieces, *pieces)
    )


@pytest.mark.parametrize("station", ["R", "a1", "b2"])
def test_what_would_move_an_anchor_is_refused(station: str) -> None:
    """On the run or on its bends: named, and nothing is tried."""
    line = bent()
    line = msgspec.structs.replace(
        line, supports=(*line.supports, Anchor(name="nozzle", station=station, nozzle=True))
    )
    assert not list(offsets.shifted(line, run_of(line), [1.0], 0.2))
    assert no_offset(line, "EJ-1") == "No offset leg was tried: nozzle would have to move."


def test_a_branch_on_the_run_and_a_run_without_bends_are_refused_in_words() -> None:
    """The branch would hang in the air; without a bend there is no leg to lengthen."""
    line = with_piece(bent(), Straight(start="R", end="X", pipe="8"), X=(5.0, 3.0, 0.0))
    assert "a branch leaves the run at R" in no_offset(line, "EJ-1")
    assert run_of(line).length == pytest.approx(20.0)
    places = {"A": 0.0, "C": 9.8, "D": 10.2, "F": 20.0}
    plain = bent(
        stations=tuple(Station(name=n, position=(x, 0.0, 0.0)) for n, x in places.items()),
        pieces=(Straight(start="A", end="C", pipe="8"), joint_of(bent()),
                Straight(start="D", end="F", pipe="8")),
        supports=(Anchor(name="first", station="A"),),
    )  # fmt: skip
    assert "first would have to move" in no_offset(plain, "EJ-1")
    assert "no bend" in no_offset(msgspec.structs.replace(plain, supports=()), "EJ-1")


def test_a_free_end_moves_with_the_run_and_legs_across_each_other_do_not() -> None:
    """One leg is enough where the other end is free; legs of two directions keep the run."""
    line = bent()
    free = msgspec.structs.replace(
        line, pieces=line.pieces[:-2], supports=(line.supports[0],),
        stations=tuple(s for s in line.stations if s.name not in {"b2", "F"}),
    )  # fmt: skip
    (one,) = offsets.shifted(free, run_of(free), [1.0], 0.2)
    assert one.added == pytest.approx(1.0)
    crossed = bent(stations=tuple(
        msgspec.structs.replace(s, position={"b2": (20.0, R, 0.0), "F": (20.0, 3.0, 0.0)}[s.name])
        if s.name in {"b2", "F"} else s for s in line.stations
    ))  # fmt: skip
    assert not list(offsets.shifted(crossed, run_of(crossed), [1.0], 0.2))
    assert "would move the other" in no_offset(crossed, "EJ-1")


def test_directions_asked_for_bound_the_shift() -> None:
    """A shift that goes another way is not tried, and the words say why there is none."""
    line = bent()
    assert not list(offsets.shifted(line, run_of(line), [1.0], 0.2, [(0.0, 0.0, -1.0)]))
    assert list(offsets.shifted(line, run_of(line), [1.0], 0.2, [(0.0, 0.0, 1.0)]))
    found = design_out(line, "EJ-1", never, largest=1.0, directions=[(0.0, 1.0, 0.0)])
    assert any("directions asked for" in words for words in found.words)


def never(line: Line) -> Sequence[Check]:
    """One check that nothing meets."""
    return [compare(id="x", name="X", demand=2.0, capacity=1.0, kind="force",
                    source=assumption(), limit_kind=LimitKind.DERIVED)]  # fmt: skip


def pulled(limit: float) -> Any:
    """A judge of the force along the run on the first anchor."""

    def checks(line: Line) -> Sequence[Check]:
        _, hot = solve(prepare(line))
        return [compare(id="pull", name="Pull", demand=abs(hot.reaction("first").force[0]),
                        capacity=limit, kind="force", source=assumption(),
                        limit_kind=LimitKind.DERIVED)]  # fmt: skip

    return checks


def test_the_search_finds_the_shift_before_the_loop() -> None:
    """With a limit between plain pipe and longer legs the answer is a shifted run."""
    line = msgspec.structs.replace(bent(), supports=bent().supports[:2])
    plain = design_out(line, "EJ-1", pulled(1.0), largest=0.0)
    pull = plain.judged[0].checks[0].demand
    assert pull is not None
    found = design_out(line, "EJ-1", pulled(0.5 * pull), largest=6.0)
    assert found.best is not None
    assert "run shifted by" in found.best.alternative.words
    assert found.best.alternative.shift > 0.0
    smaller = [one for one in found.judged
               if 0.0 < one.alternative.shift < found.best.alternative.shift]  # fmt: skip
    assert not any(one.holds for one in smaller)


def guided(**changes: Any) -> Line:
    """Legs of 12 m with a guide 1.2 m below the first corner and one far down."""
    line = bent(legs=12.0, **changes)
    return msgspec.structs.replace(
        line, supports=(*line.supports, Guide(name="guide G", station="G"))
    )


def test_the_closed_form_is_that_of_the_guided_cantilever() -> None:
    """12EI/L3 over the leg to its guide, growth of the whole run, length needed by the range."""
    line = guided()
    run = run_of(line)
    first, second = (offsets.cantilever(line, run, leg) for leg in run.legs)
    assert first is not None
    assert second is not None
    assert (first.length, first.until) == (pytest.approx(1.2), "guide G")
    assert second.length == pytest.approx(12.0)
    assert first.growth == pytest.approx(20.0 * 2.9e-3, rel=0.1)
    assert first.stress / second.stress == pytest.approx(100.0)
    assert first.allowed is not None
    assert first.needed == pytest.approx(1.2 * math.sqrt(first.stress / first.allowed))
    assert "leg of 1.2 m to guide G" in offsets.screened(line, run, si_words)
    bare = msgspec.structs.replace(line, states=(State(name="hot"),))
    assert offsets.screened(bare, run, si_words) == ""


def test_the_nearest_guide_of_a_leg_is_let_go_or_moved_as_far_as_is_needed() -> None:
    """Moved, it stands at a new station in the leg's pipe; what must stay is left."""
    line = guided()
    run = run_of(line)
    gone, moved = offsets.loosened(line, run, None, si_words)
    assert gone.words == "without guide G"
    assert not any(one.name == "guide G" for one in gone.line.supports)
    form = offsets.cantilever(line, run, run.legs[0])
    assert form is not None
    now = run_of(moved.line)
    new = offsets.cantilever(moved.line, now, now.legs[0])
    assert new is not None
    assert new.length == pytest.approx(form.needed)
    assert new.stress == pytest.approx(new.allowed)
    prepare(moved.line)
    assert not list(offsets.loosened(line, run, (), si_words))


def test_a_guide_or_stop_that_lets_the_leg_go_the_runs_way_does_not_hold_it() -> None:
    """Held only across the run, the leg is free to its far end."""
    line = bent(legs=12.0)
    for one in (Guide(name="g", station="G", across=(0.0, 1.0, 0.0)),
                Stop(name="g", station="G", direction=(0.0, 0.0, 1.0))):  # fmt: skip
        other = msgspec.structs.replace(line, supports=(*line.supports, one))
        run = run_of(other)
        (holding, *_) = offsets.held_by(other, run, run.legs[0])
        assert holding[0].name == "first"


def test_anchors_without_a_limit_leave_every_alternative_open() -> None:
    """Nozzle or not: its load is not evaluated, and nothing is said to hold."""
    line = msgspec.structs.replace(bent(legs=12.0), supports=bent().supports[:2])
    open_ones = {c.id: c for c in checks_of(line) if c.outcome is Outcome.NOT_EVALUATED}
    assert {"load.first", "load.last"} <= set(open_ones)
    assert "anchor first" in open_ones["load.first"].because
    found = search(line, Task(line="L", joint="EJ-1", largest=2.0))
    assert not found.holds
    assert not any(one.standing == "holds" for one in found.tried)
    assert all(one.screen for one in found.tried if "loop" not in one.words)
