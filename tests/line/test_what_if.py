"""What if: every change equals the changed line solved from scratch."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np
import pytest

from takeup.errors import Contradiction, UnknownName
from takeup.line import contact
from takeup.line import rows as rowing
from takeup.line.model import Anchor, Line, Rest, State, Straight, VariableSpring
from takeup.line.solve import prepare, solve
from takeup.line.what_if import (
    Lock,
    Lose,
    Reheat,
    Reset,
    Seize,
    TakeOut,
    linear,
    variants,
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
    assert forces(found.after, "hot") == pytest.approx(forces(rigid, "hot"), rel=1e-3, abs=10.0)
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
