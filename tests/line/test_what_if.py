"""What if: every change equals the changed line solved from scratch."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import pytest

from takeup import materials
from takeup.errors import Contradiction, UnknownName
from takeup.line import contact
from takeup.line import rows as rowing
from takeup.line.model import (
    Anchor,
    BellowsSpring,
    Guide,
    Hardware,
    Hold,
    Joint,
    Line,
    Rest,
    State,
    Station,
    Straight,
    Strut,
    VariableSpring,
)
from takeup.line.solve import prepare, solve
from takeup.line.text import read
from takeup.line.variants import (
    batch,
    exchange,
    hold,
    linear,
    lose,
    reheat,
    solve_variants,
    together,
    variants,
)
from takeup.line.what_if import (
    Bottom,
    Change,
    Free,
    Lock,
    Lose,
    Reheat,
    Reset,
    Seize,
    Swap,
    TakeOut,
    changed_laws,
    what_if,
    with_next_cycle,
)
from tests.line.test_solve import NPS8, bent, ready, run

COLD = State(name="cold")
WARM = State(name="hot", temperature=533.15)


def sprung(**changes: Any) -> Line:
    """An L on two springs and a rest, cold and hot."""
    springs = (
        VariableSpring(name="s1", station="C1.in", rate=60e3, load=4e3, travel_up=0.1,
                       travel_down=0.1),
        VariableSpring(name="s2", station="C1.out", rate=40e3, load=3e3, travel_up=0.1,
                       travel_down=0.1),
    )  # fmt: skip
    made = bent(NPS8, [(0, 0, 0), (8, 0, 0), (8, 6, 0)], 0.305)
    fields = {"supports": (*made.supports, *springs), "states": (COLD, WARM)}
    return msgspec.structs.replace(made, **(fields | changes))


def forces(results: Any, state: str) -> np.ndarray[Any, Any]:
    """Loads on the anchors in a state."""
    result = next(one for one in results if one.state == state)
    return np.array([result.reaction(name).force for name in ("first", "last")]).ravel()


def test_a_lost_spring_is_the_line_without_it() -> None:
    """Taking a law away equals taking the support out of the line."""
    line = sprung()
    found = what_if(ready(line), [Lose(support="s1")])
    bare = msgspec.structs.replace(line, supports=tuple(s for s in line.supports if s.name != "s1"))
    scratch = solve(ready(bare))
    for state in ("cold", "hot"):
        assert forces(found.after, state) == pytest.approx(
            forces(scratch, state), rel=1e-8, abs=1e-4
        )
    assert any(row.what == "load on s1" and row.after == 0.0 for row in found.rows)


def test_a_reset_spring_is_the_line_with_it() -> None:
    """Another load and rate equal the line written with them."""
    line = sprung()
    found = what_if(ready(line), [Reset(support="s2", load=6e3, rate=20e3)])
    supports = tuple(
        msgspec.structs.replace(s, load=6e3, rate=20e3) if s.name == "s2" else s
        for s in line.supports
    )
    scratch = solve(ready(msgspec.structs.replace(line, supports=supports)))
    assert forces(found.after, "hot") == pytest.approx(forces(scratch, "hot"), rel=1e-8, abs=1e-4)


def test_another_temperature_is_the_line_at_it() -> None:
    """Reheating a state equals the state written so."""
    line = sprung()
    found = what_if(ready(line), [Reheat(state="hot", temperature=600.0)])
    states = (COLD, State(name="hot", temperature=600.0))
    scratch = solve(ready(msgspec.structs.replace(line, states=states)))
    assert forces(found.after, "hot") == pytest.approx(forces(scratch, "hot"), rel=1e-8, abs=1e-4)


def test_a_joint_locked_cold_is_a_rigid_one_when_hot() -> None:
    """Locked in the cold state, growth meets a rigid joint; elastic stress is said to be beyond yield."""
    line = msgspec.structs.replace(
        run(), states=(State(name="cold", weight=False),
                       State(name="hot", temperature=533.15, weight=False))
    )  # fmt: skip
    found = what_if(ready(line), [Lock(joint="EJ-1", state="cold")])
    rigid = solve(ready(msgspec.structs.replace(
        run(locked=True), states=line.states
    )))  # fmt: skip
    assert forces(found.after, "hot") == pytest.approx(forces(rigid, "hot"), rel=1e-8, abs=1e-2)
    assert "times yield" in " ".join(found.words)
    assert found.cautions


def test_a_joint_locked_hot_pulls_when_the_line_cools() -> None:
    """Locked at temperature nothing changes there; the next cold state pulls; heat brings it back."""
    line = with_next_cycle(
        msgspec.structs.replace(
            run(), states=(State(name="cold", weight=False),
                           State(name="hot", temperature=533.15, weight=False))
        ), "cold", "hot",
    )  # fmt: skip
    found = what_if(ready(line), [Lock(joint="EJ-1", state="hot")])
    before, after = forces(found.before, "hot"), forces(found.after, "hot")
    assert after == pytest.approx(before, rel=1e-9)
    pulled = forces(found.after, "cold after")[0]
    assert pulled > 1e6  # the run pulls its anchor towards itself
    assert forces(found.after, "hot again") == pytest.approx(before, rel=1e-2, abs=2e3)


def test_a_joint_taken_out_is_pipe() -> None:
    """Out with the joint: as a line with pipe there."""
    line = msgspec.structs.replace(run(), states=(COLD, WARM))
    found = what_if(ready(line), [TakeOut(joint="EJ-1")])
    pieces = tuple(
        piece if isinstance(piece, Straight) else Straight(start="B", end="C", pipe="12")
        for piece in line.pieces
    )
    scratch = solve(ready(msgspec.structs.replace(line, pieces=pieces)))
    assert forces(found.after, "hot") == pytest.approx(forces(scratch, "hot"), rel=1e-8, abs=1e-3)


def test_a_seized_spring_holds_its_place() -> None:
    """Seized cold, the spring's station no longer moves up when hot, and its load changes."""
    tall = bent(NPS8, [(0, 0, 0), (0, 0, 6), (8, 0, 6)], 0.305)
    spring = VariableSpring(name="s", station="C1.out", rate=30e3, load=5e3, travel_up=0.1,
                            travel_down=0.1)  # fmt: skip
    line = msgspec.structs.replace(tall, supports=(tall.supports[0], spring), states=(COLD, WARM))
    found = what_if(ready(line), [Seize(support="s", state="cold")])
    cold, hot = found.after
    moved = hot.reaction("s").movement[2] - cold.reaction("s").movement[2]
    free = found.before[1].reaction("s").movement[2] - found.before[0].reaction("s").movement[2]
    assert abs(moved) < 1e-5 < abs(free)
    assert hot.reaction("s").force != found.before[1].reaction("s").force


def test_linear_variants_equal_full_solutions() -> None:
    """Added stiffness and load at rows, for frozen contacts: the full solution to 1e-8."""
    line = sprung()
    made = ready(line)
    results = solve(made)
    base = linear(made, results[1], line.states[1])
    row = made.rows.place("s1").rows[0]
    rows = np.full((3, 1), row)
    stiffness = np.array([[1e4], [5e4], [-3e4]])
    load = np.array([[0.0], [1e3], [-500.0]])
    found = variants(base, rows, stiffness, load)

    def full(extra: float, push: float) -> np.ndarray[Any, Any]:
        def laws(one: Line, given: Any, state: State) -> Any:
            changed = []
            for law in rowing.laws(one, given, state):
                new = law
                if law.name == "s1" and state.name == "hot":
                    new = contact.bilateral("s1", [60e3 + extra], [4e3 + push])
                    new.rows = law.rows
                changed.append(new)
            return tuple(changed)

        return solve(made, laws)[1].row_movement

    for k in range(3):
        whole = full(float(stiffness[k, 0]), float(load[k, 0]))
        assert found[k] == pytest.approx(whole, rel=1e-8, abs=1e-12)


def test_thousands_of_variants_do_not_disturb_each_other() -> None:
    """Each variant is the same alone and among two thousand."""
    line = sprung()
    made = ready(line)
    base = linear(made, solve(made)[1], line.states[1])
    rng = np.random.default_rng(5)
    rows = rng.integers(0, len(base.movement), (2000, 2))
    rows[:, 1] = (rows[:, 0] + 1) % len(base.movement)
    stiffness = rng.uniform(0.0, 1e5, (2000, 2))
    load = rng.uniform(-1e3, 1e3, (2000, 2))
    many = variants(base, rows, stiffness, load)
    for k in (0, 777, 1999):
        one = variants(base, rows[k : k + 1], stiffness[k : k + 1], load[k : k + 1])
        assert many[k] == pytest.approx(one[0], rel=1e-12, abs=1e-15)


@pytest.mark.parametrize(
    ("change", "error", "words"),
    [
        (Lock(joint="EJ-9", state="cold"), UnknownName, "EJ-9"),
        (Lose(support="nobody"), UnknownName, "nobody"),
        (Lose(support="first"), Contradiction, "rigid anchor"),
        (Reset(support="rest", load=1.0), Contradiction, "not a variable spring"),
        (Seize(support="s1", state="upset"), UnknownName, "upset"),
    ],
)
def test_what_is_not_on_the_line_is_named(change: Any, error: Any, words: str) -> None:
    """An unknown joint, support or state is refused with those that are there."""
    line = sprung()
    line = msgspec.structs.replace(
        line, supports=(*line.supports, Rest(name="rest", station="C1.in"))
    )
    with pytest.raises(error, match=words):
        what_if(ready(line), [change])


def test_a_soft_anchor_can_be_lost() -> None:
    """An anchor with a stiffness may be lost; what gives first is said against what is allowed."""
    line = sprung()
    allowed = (1e3, 1e3, 1e3, 1e3, 1e3, 1e3)
    soft = Anchor(name="last", station="Z", stiffness=(1e8,) * 6, allowed=allowed)
    line = msgspec.structs.replace(line, supports=(line.supports[0], soft, *line.supports[2:]))
    found = what_if(prepare(line), [Lose(support="s1")])
    assert any("last gives way first" in words for words in found.words)
    gone = what_if(prepare(line), [Lose(support="last")])
    assert gone.after[1].reaction("last").force == (0.0, 0.0, 0.0)


# --- every kind of change is the changed line from scratch ------------------------------------


def jointed() -> Line:
    """An L with a bellows in its first leg, a spring, a guide and a rest: weight, cold and hot."""
    made = bent(NPS8, [(0, 0, 0), (8, 0, 0), (8, 6, 1)], 0.305)
    first = made.pieces[0]
    ends = (Station(name="J", position=(3.0, 0, 0)), Station(name="K", position=(3.5, 0, 0)))
    bellows = BellowsSpring(length=0.3, axial_rate=150e3, mean_diameter=0.25, mass=20.0)
    pieces = (
        msgspec.structs.replace(first, end="J"),
        Joint(tag="EJ-1", start="J", end="K", bellows=(bellows,)),
        msgspec.structs.replace(first, start="K"),
        *made.pieces[1:],
    )
    spring = VariableSpring(name="s1", station="C1.out", rate=60e3, load=4e3, travel_up=0.1,
                            travel_down=0.1)  # fmt: skip
    return msgspec.structs.replace(
        made,
        stations=(*made.stations, *ends),
        pieces=pieces,
        supports=(*made.supports, spring, Guide(name="g", station="J", friction=0.2),
                  Rest(name="r", station="K", friction=0.3)),
        states=(COLD, State(name="hot", temperature=533.15, pressure=4e5)),
    )  # fmt: skip


OTHER = BellowsSpring(length=0.4, axial_rate=90e3, mean_diameter=0.28, mass=35.0)


def forces_of(result: Any, name: str) -> tuple[float, ...]:
    """Upright load on a support and on the anchor at its foot."""
    return result.reaction(name).force[2], result.reaction("first").force[2]


def with_support(line: Line, name: str, **changes: Any) -> Line:
    """The line with one support changed."""
    return msgspec.structs.replace(
        line,
        supports=tuple(
            msgspec.structs.replace(s, **changes) if s.name == name else s for s in line.supports
        ),
    )


def test_swapped_bellows_are_the_line_with_them() -> None:
    """Other bellows in the joint equal the line written with them, and come cold."""
    line = jointed()
    found = what_if(ready(line), [Swap(joint="EJ-1", bellows=(OTHER,))])
    pieces = tuple(
        msgspec.structs.replace(p, bellows=(OTHER,)) if isinstance(p, Joint) else p
        for p in line.pieces
    )
    scratch = solve(ready(msgspec.structs.replace(line, pieces=pieces)))
    assert forces(found.after, "hot") == pytest.approx(forces(scratch, "hot"), rel=1e-8, abs=1e-3)
    assert "put in cold" in " ".join(found.cautions)


@pytest.mark.parametrize("name", ["r", "g"])
def test_a_freed_support_does_not_rub(name: str) -> None:
    """Set free equals the line written without friction there."""
    line = jointed()
    found = what_if(ready(line), [Free(support=name)])
    scratch = solve(ready(with_support(line, name, friction=0.0)))
    for state in ("cold", "hot"):
        assert forces(found.after, state) == pytest.approx(
            forces(scratch, state), rel=1e-6, abs=1e-2
        )


def test_a_freed_spring_has_its_pins_out() -> None:
    """A spring on its travel stops set free equals one without them."""
    line = jointed()
    found = what_if(ready(with_support(line, "s1", pinned=True)), [Free(support="s1")])
    scratch = solve(ready(line))
    assert forces(found.after, "hot") == pytest.approx(forces(scratch, "hot"), rel=1e-8, abs=1e-3)


def test_a_bottomed_spring_goes_no_lower() -> None:
    """Bottomed hot, the spring's station cannot sink again in the next cold state; it can rise."""
    tall = bent(NPS8, [(0, 0, 0), (0, 0, 6), (8, 0, 6)], 0.305)
    spring = VariableSpring(name="s", station="C1.out", rate=30e3, load=5e3, travel_up=0.1,
                            travel_down=0.1)  # fmt: skip
    line = with_next_cycle(
        msgspec.structs.replace(tall, supports=(tall.supports[0], spring), states=(COLD, WARM)),
        "cold", "hot",
    )  # fmt: skip
    found = what_if(ready(line), [Bottom(support="s", state="hot")])
    at = {one.state: one.reaction("s") for one in found.after}
    free = {one.state: one.reaction("s") for one in found.before}
    assert free["cold after"].movement[2] < free["hot"].movement[2] - 5e-3
    assert at["cold after"].movement[2] > free["cold after"].movement[2] + 5e-3
    place = at["hot"].movement[2]
    scratch = solve(ready(with_support(line, "s", travel_down=-place)))[2]
    assert forces_of(found.after[2], "s") == pytest.approx(forces_of(scratch, "s"), rel=1e-8)
    assert -at["cold after"].force[2] > -free["cold after"].force[2] + 1e3
    assert at["hot again"].force == pytest.approx(free["hot again"].force, rel=1e-6, abs=1.0)


def test_a_lock_takes_the_place_of_the_changed_line() -> None:
    """Locked and reheated at once, the joint is held where it stands at that temperature."""
    line = with_next_cycle(jointed(), "cold", "hot")
    changes: list[Change] = [
        Lock(joint="EJ-1", state="hot"),
        Reheat(state="hot", temperature=600.0),
    ]
    found = what_if(ready(line), changes)
    hot, again = found.after[1].joint("EJ-1"), found.after[3].joint("EJ-1")
    assert again.axial == pytest.approx(hot.axial, abs=1e-6)
    assert hot.axial != pytest.approx(found.before[1].joint("EJ-1").axial, rel=1e-2)


def test_a_lock_left_on_is_an_obligation_by_name() -> None:
    """Locked hot with a colder state to come: the lock must come off first, and that is said."""
    line = with_next_cycle(jointed(), "cold", "hot")
    found = what_if(ready(line), [Lock(joint="EJ-1", state="hot")])
    assert "must come off before the line cools down" in " ".join(found.cautions)
    last = what_if(ready(jointed()), [Lock(joint="EJ-1", state="hot")])
    assert "is not shown here" in " ".join(last.cautions)


def test_the_weakest_part_limits_the_load() -> None:
    """Locked cold, the pipe reaches yield at the share that its own stress says."""
    line = msgspec.structs.replace(
        run(), states=(State(name="cold", weight=False),
                       State(name="hot", temperature=533.15, weight=False))
    )  # fmt: skip
    found = what_if(ready(line), [Lock(joint="EJ-1", state="cold")])
    said = next(words for words in found.words if words.startswith("The weakest part"))
    after = next(r.after for r in found.rows if r.kind == "stress" and r.state == "hot")
    before = next(r.before for r in found.rows if r.kind == "stress" and r.state == "hot")
    limit = float(materials.yield_strength("carbon steel", 533.15).value)
    share = (limit - before) / (after - before)
    assert f"at {share:.0%} of the change" in said
    assert f"{limit * 9.41204e-3 / 1e3:.0f}." in said


# --- linear variants are full solutions -------------------------------------------------------


def frictionless() -> Line:
    """The jointed line with supports that stay as they are."""
    line = jointed()
    return msgspec.structs.replace(
        line, supports=(*line.supports[:3], Strut(name="g", station="J", direction=(0, 1, 0)),
                        Strut(name="r", station="K", direction=(0, 0, 1)))
    )  # fmt: skip


def anchor_loads(result: Any) -> np.ndarray[Any, Any]:
    """Forces and moments on the two anchors."""
    both = [result.reaction(name) for name in ("first", "last")]
    return np.array([(*one.force, *one.moment) for one in both])


@pytest.mark.parametrize(
    "change",
    [
        Lose(support="s1"),
        Lose(support="g"),
        Reheat(state="hot", temperature=600.0),
        TakeOut(joint="EJ-1"),
        Swap(joint="EJ-1", bellows=(OTHER,)),
        Lock(joint="EJ-1", state="cold"),
        Seize(support="s1", state="cold"),
    ],
    ids=lambda change: f"{type(change).__name__}",
)
def test_each_linear_variant_is_the_full_solution(change: Any) -> None:
    """Low rank on the solved state equals the changed line prepared and solved: to 1e-8."""
    line = frictionless()
    made = ready(line)
    cold, hot = solve(made)
    state = line.states[1]
    base = linear(made, hot, state)
    if isinstance(change, Lose):
        one = lose(made, base, change.support)
    elif isinstance(change, Reheat):
        one = reheat(made, base, state, change.temperature)
    elif isinstance(change, TakeOut):
        one = exchange(made, base, change.joint, state)
    elif isinstance(change, Swap):
        one = exchange(made, base, change.joint, state, change.bellows)
    elif isinstance(change, Lock):
        rows = list(made.rows.place("EJ-1").rows)
        one = hold(made, "EJ-1", cold.row_movement[rows])
    else:
        # A seized support holds its place instead of what it did.
        rows = list(made.rows.place("s1").rows)
        held = hold(made, "s1", cold.row_movement[rows])
        seized = msgspec.structs.replace(held, load=held.load + cold.rows[rows])
        one = together(seized, lose(made, base, "s1"))
    found = solve_variants(base, batch(base, [one, one]))
    full = anchor_loads(what_if(ready(line), [change]).after[1])
    size = np.abs(full).max()
    assert np.abs(found.anchors - full).max() < 1e-8 * size
    assert np.abs(full - anchor_loads(hot)).max() > 1e-4 * size


def test_two_changes_at_once_are_one_variant() -> None:
    """A lost spring and a hotter line together equal both changes solved."""
    line = frictionless()
    made = ready(line)
    hot = solve(made)[1]
    base = linear(made, hot, line.states[1])
    both = together(lose(made, base, "s1"), reheat(made, base, line.states[1], 600.0))
    found = solve_variants(base, batch(base, [both]))
    full = what_if(made, [Lose(support="s1"), Reheat(state="hot", temperature=600.0)]).after[1]
    size = np.abs(anchor_loads(full)).max()
    # What a lost support carried changes with the temperature: taken off with it.
    assert np.abs(found.anchors[0] - anchor_loads(full)).max() < 1e-8 * size
    assert found.movement[0] == pytest.approx(full.row_movement, rel=1e-7, abs=1e-11)


def test_rods_are_not_exchanged_in_silence() -> None:
    """A tied joint out as a linear variant is refused: its rods would stay."""
    rods = Hardware(hold=Hold.TIED, rods=4, circle=0.6, rod_area=5e-4, rod_length=0.5)
    made = ready(run(hardware=(rods,)))
    result = solve(made)[0]
    base = linear(made, result, made.line.states[0])
    with pytest.raises(Contradiction, match="rods"):
        exchange(made, base, "EJ-1", made.line.states[0])


def test_many_rests_that_rub_come_to_rest() -> None:
    """Three legs on eighteen rests and three guides with friction settle cold and hot, and balance."""
    corners: list[tuple[float, float, float]] = [(0, 0, 0), (40, 0, 0), (40, 40, 0), (80, 40, 0)]
    made = bent(NPS8, corners, 0.305)
    stations, supports = list(made.stations), list(made.supports)
    pieces: list[Any] = []
    place = {station.name: np.array(station.position) for station in stations}
    for piece in made.pieces:
        if not isinstance(piece, Straight):
            pieces.append(piece)
            continue
        a, last = place[piece.start], piece.start
        for k in range(1, 8):
            name = f"{piece.start}.{k}"
            x, y, z = (a + (place[piece.end] - a) * k / 8).tolist()
            stations.append(Station(name=name, position=(x, y, z)))
            pieces.append(Straight(start=last, end=name, pipe="8"))
            kind: Any = Guide(name=name, station=name, gap=0.003, friction=0.3)
            supports.append(kind if k == 2 else Rest(name=name, station=name, friction=0.3))
            last = name
        pieces.append(Straight(start=last, end=piece.end, pipe="8"))
    line = msgspec.structs.replace(
        made, stations=tuple(stations), pieces=tuple(pieces), supports=tuple(supports),
        states=(COLD, WARM),
    )  # fmt: skip
    for result in solve(ready(line)):
        assert result.certificate.good


# --- from where the unchanged line stands -----------------------------------------------------


def rubbing() -> Line:
    """An L with a joint, on rests and a guide that rub, through two cycles."""
    made = jointed()
    joint = next(piece for piece in made.pieces if isinstance(piece, Joint))
    names = [s.name for s in made.stations if s.name not in {joint.start, joint.end}]
    taken = {s.station for s in made.supports}
    rests = tuple(
        Rest(name=f"rest {name}", station=name, friction=0.3) for name in names if name not in taken
    )
    made = msgspec.structs.replace(made, supports=(*made.supports, *rests))
    return with_next_cycle(made, made.states[0].name, made.states[-1].name)


@pytest.mark.parametrize("kind", ["lose", "lock", "reheat", "take out"])
def test_a_warm_start_ends_where_a_cold_one_does(kind: str) -> None:
    """Solved from the states as they were, a changed line that rubs is the one solved from nothing."""
    line = rubbing()
    made = ready(line)
    hot = line.states[1].name
    change: Any = {
        "lose": Lose(support=next(s.name for s in line.supports if isinstance(s, Rest))),
        "lock": Lock(joint="EJ-1", state=hot),
        "reheat": Reheat(state=hot, temperature=450.0),
        "take out": TakeOut(joint="EJ-1"),
    }[kind]
    before = solve(made)
    found = what_if(made, [change], before=before)
    assert found.before == before
    cold = solve(found.ready, changed_laws(found.ready, [change]))
    for one, two in zip(found.after, cold, strict=True):
        size = np.abs(two.rows).max()
        np.testing.assert_allclose(one.rows, two.rows, rtol=1e-7, atol=1e-7 * size)
    assert sum(r.certificate.rounds for r in found.after) < sum(r.certificate.rounds for r in cold)


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ((Lock(joint="EJ-101", state="hot"), TakeOut(joint="EJ-101")), "boxed in and taken out"),
        ((Lock(joint="EJ-101", state="hot"), Lock(joint="EJ-101", state="cold")), "boxed in and"),
        ((Lose(support="rest at rest one"), Seize(support="rest at rest one", state="hot")), "lost"),
        ((Reheat(state="hot", temperature=500.0), Reheat(state="hot", temperature=400.0)), "hot"),
    ],
)  # fmt: skip
def test_one_thing_is_not_changed_in_two_ways_at_once(changes, says):
    """What cannot be both is refused in words, never one of them in silence."""
    text = (Path(__file__).parents[2] / "examples" / "line.toml").read_text(encoding="utf-8")
    with pytest.raises(Contradiction, match=says):
        what_if(prepare(read(text)), changes)


def test_what_a_nozzle_moves_by_it_moves_by_when_the_state_comes_again() -> None:
    """Growth of a vessel is there in the next heat-up too: without a change loads come back."""
    line = jointed()
    anchor = next(one for one in line.supports if isinstance(one, Anchor))
    grown = msgspec.structs.replace(anchor, nozzle=True, growth={"hot": (0.004, 0.0, -0.012)})
    # anchors alone: what rubs remembers
    anchors = [one for one in line.supports if isinstance(one, Anchor)]
    supports = tuple(grown if one is anchor else one for one in anchors)
    made = prepare(with_next_cycle(msgspec.structs.replace(line, supports=supports), "cold", "hot"))

    cold, hot, after, again = solve(made)

    for first, second in ((cold, after), (hot, again)):
        one, two = first.reaction(anchor.name), second.reaction(anchor.name)
        assert two.movement == one.movement
        assert two.force == pytest.approx(one.force, rel=1e-6, abs=1.0)
