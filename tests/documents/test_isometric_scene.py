"""The line to turn about: geometry, numbers and marks as a page's script takes them."""

from __future__ import annotations

from pathlib import Path

import msgspec
import numpy as np
import pytest

from takeup.documents.drawing import scene
from takeup.errors import Contradiction
from takeup.line import what_if as engine
from takeup.line.model import Joint, Line
from takeup.line.results import judge
from takeup.line.solve import Prepared, StateResult, prepare, solve
from takeup.line.text import read
from takeup.units import System

TEXT = Path(__file__).parents[2] / "examples" / "line.toml"
Solved = tuple[Line, Prepared, tuple[StateResult, ...]]


@pytest.fixture(scope="module")
def solved() -> Solved:
    """The example, solved."""
    line = read(TEXT.read_text(encoding="utf-8"))
    ready = prepare(line)
    return line, ready, solve(ready)


def test_every_piece_runs_from_station_to_station_and_ends_move_as_solved(solved: Solved) -> None:
    """Points begin and end at the stations; their movement there is the solver's."""
    line, _, results = solved
    found = scene(line, results)
    at = {one.name: np.array(one.position) for one in line.stations}
    place = {one.name: k for k, one in enumerate(line.stations)}
    middle = at[line.pieces[0].start] - np.array(found.pieces[0].points[0])
    for piece, drawn in zip(line.pieces, found.pieces, strict=True):
        for name, k in ((piece.start, 0), (piece.end, -1)):
            assert np.array(drawn.points[k]) + middle == pytest.approx(at[name], abs=1e-4)
            for state, result in enumerate(results):
                moved = result.motion[place[name], :3]
                assert drawn.moved[state][k] == pytest.approx(moved, rel=1e-4, abs=1e-7)


def test_every_support_joint_and_station_can_be_looked_at_in_every_state(solved: Solved) -> None:
    """Names are those of the line; each has numbers for each state, a symbol where it holds."""
    line, _, results = solved
    found = scene(line, results)
    names = {one.name for one in found.targets}
    assert {one.name for one in line.stations} <= names
    assert {one.name for one in line.supports} <= names
    assert {p.tag for p in line.pieces if isinstance(p, Joint)} <= names
    for one in found.targets:
        assert len(one.numbers) == len(results)
        assert (one.group == "support") == bool(one.symbol)
        assert not one.symbol or found.symbols[one.symbol].startswith("<")
    words = [words for _, words in found.key]
    assert {"joint", "nozzle", "anchor", "deflected shape"} <= set(words)


def test_loads_are_told_in_the_units_asked_for(solved: Solved) -> None:
    """The same load in kN and in lbf."""
    line, _, results = solved
    hot = results[-1].reaction("anchor at cooler")
    size = float(np.linalg.norm(hot.force))

    def load(system: System) -> str:
        found = scene(line, results, system=system)
        one = next(t for t in found.targets if t.name == "anchor at cooler")
        return dict(row[:2] for row in one.numbers[-1])["load"]

    assert load(System.METRIC) == f"{size / 1e3:.1f}\u00a0kN"
    assert load(System.US).replace("\u202f", "") == f"{size / 4.4482216:.0f}\u00a0lbf"


def test_a_piece_over_its_limit_is_marked(solved: Solved) -> None:
    """Exactly the pieces whose checks are not met."""
    line, ready, results = solved
    checks = judge(ready, results, cold="cold", hot="hot").checks
    bad = {c.id.partition("@")[2] for c in checks if c.outcome.value == "not met"}
    found = scene(line, results, checks=checks)
    over = {
        f"{p.start}/{p.end}"
        for p, d in zip(line.pieces, found.pieces, strict=True)
        if d.over
    }  # fmt: skip
    assert over
    assert over == {key for key in bad if "/" in key}
    assert not any(piece.over for piece in scene(line, results).pieces)


def test_a_change_shows_both_shapes_and_both_numbers(solved: Solved) -> None:
    """A lost spring is still named and marked gone; its load stands before and after."""
    line, ready, _ = solved
    asked = engine.what_if(ready, [engine.Lose(support="spring at knee.out")])
    found = scene(
        asked.ready.line, asked.after, before=(line, asked.before), gone=["spring at knee.out"]
    )
    spring = next(one for one in found.targets if one.name == "spring at knee.out")
    assert spring.gone
    assert "gone" in spring.says[-1]
    what, now, then = spring.numbers[-1][0]
    assert (what, now) == ("load", "0.0\u00a0kN")
    assert then != now
    assert len(found.before) == len(line.pieces)
    assert "support that is gone" in [words for _, words in found.key]
    largest = [np.linalg.norm(r.motion[: len(line.stations), :3], axis=1).max()
               for r in (asked.before[-1], asked.after[-1])]  # fmt: skip
    assert found.states[-1].largest == pytest.approx(max(largest))


def test_a_scene_is_plain_json_and_without_results_only_a_shape(solved: Solved) -> None:
    """No state, no numbers, no arrows; a line without pieces is refused."""
    line, _, results = solved
    raw = msgspec.json.decode(msgspec.json.encode(scene(line)))
    assert raw["states"] == []
    assert len(raw["pieces"]) == len(line.pieces)
    assert len(msgspec.json.encode(scene(line, results))) < 100_000
    with pytest.raises(Contradiction, match="no pieces"):
        scene(msgspec.structs.replace(line, pieces=()))
