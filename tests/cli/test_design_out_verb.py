"""Designing out, from the command line: what was tried, why none holds, what is not judged."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from takeup.line.text import read
from tests.cli.conftest import ROOT, Said

Takeup = Callable[..., Said]
EXAMPLE = ROOT / "examples" / "line.toml"


def test_where_none_holds_the_nearest_and_the_reason_are_told(takeup: Takeup) -> None:
    """Exit code 3, and in words that this is a search and no design."""
    said = takeup("design-out", EXAMPLE, "EJ-101", "--largest", "4 m", "--towards", "west")
    assert said.code == 3
    for words in ("None of", "plain pipe in its place", "legs towards west", "not met",
                  "not a design", "With the joint in it",
                  "No load is stated as allowed on rest at rest one"):  # fmt: skip
        assert words in said.out, words
    assert "towards east" not in said.out


def test_longer_legs_are_used_less_and_json_says_the_same(takeup: Takeup) -> None:
    """Ratios fall as the loop grows."""
    said = takeup("design-out", EXAMPLE, "EJ-101", "--largest", "15 ft", "--towards", "west",
                  "--units", "us", "--json")  # fmt: skip
    found = json.loads(said.out, parse_constant=pytest.fail)
    assert found["task"]["largest"] == pytest.approx(4.572)
    loops = [one for one in found["tried"] if "loop" in one["words"]]
    assert "15.0 ft" in loops[-1]["words"]
    ratios = [one["ratio"] for one in loops]
    assert ratios == sorted(ratios, reverse=True)
    assert not found["holds"]


def roomy(tmp_path: Path) -> Path:
    """The example a little less hot, with a nozzle that may take more and anchors with limits."""
    text = EXAMPLE.read_text()
    limits = 'allowed = ["20 kN", "20 kN", "20 kN", "15 kN.m", "15 kN.m", "15 kN.m"]'
    assert limits in text
    text = text.replace(limits, limits.replace("20 kN", "200 kN").replace("15 kN.m", "400 kN.m"))
    for name in ("cooler", "branch end"):
        anchor = f'[[anchor]]\nstation = "{name}"\n'
        assert anchor in text
        text = text.replace(
            anchor,
            anchor + limits.replace("20 kN", "1000 kN").replace("15 kN.m", "1000 kN.m") + "\n",
        )
    path = tmp_path / "roomy.toml"
    path.write_text(text.replace('"540 C"', '"120 C"'))
    return path


def test_the_alternative_that_holds_is_drawn_and_written(takeup: Takeup, tmp_path: Path) -> None:
    """Exit code 0; the text written is the line without the joint."""
    svg, toml = tmp_path / "best.svg", tmp_path / "best.toml"
    said = takeup("design-out", roomy(tmp_path), "EJ-101", "--largest", "3 m", "--svg", svg,
                  "--toml", toml)  # fmt: skip
    assert said.code == 0, said.out
    assert "can be designed out by" in said.out
    assert svg.read_text(encoding="utf-8").startswith("<svg")
    made = read(toml.read_text(encoding="utf-8"))
    assert not any(hasattr(piece, "tag") for piece in made.pieces)


def test_a_nozzle_without_limits_leaves_the_alternative_open(
    takeup: Takeup, tmp_path: Path
) -> None:
    """What is not known is no pass: it is named, and nothing is said to hold."""
    path = roomy(tmp_path)
    lines = [one for one in path.read_text().splitlines() if not one.startswith("allowed")]
    path.write_text("\n".join(lines))
    said = takeup("design-out", path, "EJ-101", "--largest", "3 m")
    assert said.code == 3
    assert "No alternative to EJ-101 is shown to hold" in said.out
    assert "not evaluated: Load on nozzle" in said.out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("EJ-9", "--largest", "3 m"), "EJ-9"),
        (("EJ-101", "--largest", "-3 m"), "between 0 (no loop) and 30 m"),
        (("EJ-101", "--largest", "3 furlong"), "--largest '3 furlong'"),
        (("EJ-101", "--largest", "3 m", "--towards", "wset"), "Did you mean west"),
        (("EJ-101", "--largest", "3 m", "--towards", "north"), "across the pipe"),
        (("EJ-101", "--largest", "3 m", "--keep", "nobody"), "nobody"),
        (("EJ-101", "--largest", "3 m", "--spring", "0 N/mm"), "more than zero"),
    ],
)
def test_what_cannot_be_searched_is_said(
    takeup: Takeup, arguments: tuple[str, ...], words: str
) -> None:
    """An unknown joint, a negative or wrong length, a way along the pipe, a support not there."""
    said = takeup("design-out", EXAMPLE, *arguments)
    assert said.code not in {0, 3}
    assert words in said.err
