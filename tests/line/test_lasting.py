"""Sustained stress after a change: of the line as changed, not as drawn."""

from __future__ import annotations

from pathlib import Path

import msgspec
import numpy as np
import pytest

from takeup.line.model import Joint, Line
from takeup.line.results import judge, sustained
from takeup.line.solve import Prepared, prepare, solve
from takeup.line.text import read
from takeup.line.what_if import (
    Bottom,
    Change,
    Lock,
    Lose,
    Seize,
    lasting_laws,
    what_if,
    with_next_cycle,
)

ROOT = Path(__file__).parents[2]
KNEE = "spring at knee.out"


@pytest.fixture(scope="module")
def ready() -> Prepared:
    """The example with the cool-down and heat-up that follow."""
    line = read((ROOT / "examples" / "line.toml").read_text(encoding="utf-8"))
    return prepare(with_next_cycle(line, "cold", "hot"))


def last(ready: Prepared, *changes: Change) -> np.ndarray:
    """End forces by weight and pressure in the last state, with changes."""
    found = what_if(ready, changes) if changes else None
    made, results = (found.ready, found.after) if found else (ready, solve(ready))
    laws = lasting_laws(made, changes)
    return sustained(made, results[-1], made.line.states[-1], laws)


def test_without_a_change_the_laws_are_those_drawn(ready: Prepared) -> None:
    """Nothing handed in and no change give the same."""
    results = solve(ready)
    drawn = sustained(ready, results[-1], ready.line.states[-1])
    np.testing.assert_allclose(last(ready), drawn, rtol=1e-12, atol=1e-6)


def test_a_support_lost_is_a_line_without_it(ready: Prepared) -> None:
    """End forces by weight are those of the line drawn without the spring."""
    kept = tuple(one for one in ready.line.supports if one.name != KNEE)
    assert len(kept) == len(ready.line.supports) - 1
    without = prepare(msgspec.structs.replace(ready.line, supports=kept))
    drawn = sustained(without, solve(without)[-1], without.line.states[-1])
    found = last(ready, Lose(support=KNEE))
    scale = np.abs(drawn).max()
    np.testing.assert_allclose(found, drawn, atol=1e-5 * scale)
    assert np.abs(found - last(ready)).max() > 0.01 * scale


def locked(line: Line, tag: str) -> Line:
    """The line drawn with a joint as stiff as its cover."""
    return msgspec.structs.replace(line, pieces=tuple(
        msgspec.structs.replace(p, locked=True) if isinstance(p, Joint) and p.tag == tag else p
        for p in line.pieces
    ))  # fmt: skip


def test_a_lock_carries_weight_and_pressure_as_a_stiff_cover_does(ready: Prepared) -> None:
    """Away from the joint the end forces are those of the line drawn with it locked."""
    kept = tuple(one for one in ready.line.supports if not one.name.startswith("guide"))
    ready = prepare(msgspec.structs.replace(ready.line, supports=kept))  # its gap would differ
    found = last(ready, Lock(joint="EJ-101", state="cold"))
    stiff = prepare(locked(ready.line, "EJ-101"))
    drawn = sustained(stiff, solve(stiff)[-1], stiff.line.states[-1])
    at = {pair: k for k, pair in enumerate(map(tuple, named(ready)))}
    pairs = [
        (at[pair], k)
        for k, pair in enumerate(map(tuple, named(stiff)))
        if pair in at and not any(name.startswith("EJ-101") for name in pair)
    ]  # between its ends the lock carries beside the pipe
    assert len(pairs) > 10
    mine, theirs = np.array(pairs).T
    scale = np.abs(drawn[theirs]).max()
    np.testing.assert_allclose(found[mine], drawn[theirs], atol=0.03 * scale)
    assert np.abs(found - last(ready)).max() > 0.02 * scale


def named(ready: Prepared) -> list[tuple[str, str]]:
    """Names of the nodes of each element."""
    names = ready.frame.names
    return [(names[a], names[b]) for a, b in ready.frame.ends.tolist()]


@pytest.mark.parametrize("change", [
    Seize(support=KNEE, state="hot"), Bottom(support=KNEE, state="hot"),
])  # fmt: skip
def test_what_seizes_goes_on_carrying_the_weight_it_carried(
    ready: Prepared, change: Change
) -> None:
    """Weight stands as it stood; what changes is the range."""
    before = last(ready)
    np.testing.assert_allclose(last(ready, change), before, atol=1e-3 * np.abs(before).max())


def test_the_lock_is_in_the_checks_of_weight_and_of_anchors(ready: Prepared) -> None:
    """Handed to the judge, sustained stress and 319.5.1 change; without, the drawn line is told."""
    changes = [Lock(joint="EJ-101", state="hot"), Lose(support=KNEE)]
    found = what_if(ready, changes)
    names = {"cold": "cold after", "hot": "hot again"}
    laws = lasting_laws(found.ready, changes)
    drawn = {c.id: c.demand for c in judge(found.ready, found.after, **names).checks}
    made = {c.id: c.demand for c in judge(found.ready, found.after, **names, laws=laws).checks}
    assert set(made) == set(drawn)
    changed = {id for id, value in made.items() if value is not None
               and value != pytest.approx(drawn[id], rel=1e-3)}  # fmt: skip
    assert any(id.startswith("sustained@") for id in changed)
    assert any(id.startswith("reaction.") for id in changed)
    assert not any(id.startswith(("range@", "load.")) for id in changed)
