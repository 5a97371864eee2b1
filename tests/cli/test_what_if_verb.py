"""What if, from the command line: before and after, in words, tables and JSON."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest

from tests.cli.conftest import ROOT, Said

Takeup = Callable[..., Said]
EXAMPLE = ROOT / "examples" / "line.toml"


def test_a_lost_spring_is_told_before_and_after(takeup: Takeup) -> None:
    """The spring's load goes to nothing, and what changes most is said in words."""
    said = takeup("what-if", EXAMPLE, "--lose", "spring at knee.out")
    assert said.code == 0
    assert "changes most" in said.out
    assert "load on spring at knee.out" in said.out


def test_a_joint_locked_hot_shows_the_next_cold_state_and_its_cautions(takeup: Takeup) -> None:
    """The next cool-down is added, with the caution that the joint must be freed before it."""
    said = takeup("what-if", EXAMPLE, "--lock", "EJ-101@hot", "--next-cycle", "--json")
    assert said.code == 0
    data = json.loads(said.out, parse_constant=pytest.fail)
    assert any("before the line cools" in words for words in data["cautions"])
    states = {row["state"] for row in data["rows"]}
    assert {"cold", "hot", "cold after", "hot again"} <= states
    hot = [row for row in data["rows"] if row["state"] == "hot" and row["kind"] == "force"]
    assert all(row["after"] == pytest.approx(row["before"], rel=1e-6, abs=1.0) for row in hot)
    cold = [row for row in data["rows"] if row["state"] == "cold after" and row["kind"] == "force"]
    assert any(abs(row["after"] - row["before"]) > 1e3 for row in cold)


def test_checks_of_the_changed_line_stand_before_and_after(takeup: Takeup) -> None:
    """Sustained stress too; how a lock carries weight is said."""
    asked = ("what-if", EXAMPLE, "--lock", "EJ-101@hot", "--next-cycle")
    said = takeup(*asked)
    assert said.code == 0
    assert "as if it were rigid from the start" in said.out
    assert "check, nearest to its limit first" in said.out
    found = json.loads(takeup(*asked, "--json").out)
    steady = [
        p for p in found["checks"] if p["after"] and p["after"]["id"].startswith("sustained@")
    ]
    assert steady
    assert any(p["before"]["demand"] != pytest.approx(p["after"]["demand"]) for p in steady)


def test_another_temperature_is_read_with_its_unit(takeup: Takeup) -> None:
    """Hotter means more on the anchors."""
    said = takeup("what-if", EXAMPLE, "--reheat", "hot=600C", "--json")
    rows = json.loads(said.out)["rows"]
    nozzle = [
        r for r in rows if r["what"] == "load on anchor at vessel nozzle" and r["state"] == "hot"
    ]
    assert nozzle
    assert nozzle[0]["after"] != nozzle[0]["before"]


def test_a_spring_set_otherwise_and_stiffer_bellows_are_asked_together(takeup: Takeup) -> None:
    """More load in the spring lifts the rest beside it; sentences follow the units."""
    said = takeup("what-if", EXAMPLE, "--load", "spring at knee.out=9 kN", "--rate",
                  "EJ-101=3000 N/mm", "--units", "us")  # fmt: skip
    assert said.code == 0
    assert "load on spring at knee.out" in said.out
    assert "lbf" in said.out
    assert "kN" not in said.out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "say what changes"),
        (("--lock", "EJ-101"), "NAME@VALUE"),
        (("--lock", "EJ-9@hot"), "EJ-9"),
        (("--lose", "nobody"), "nobody"),
        (("--reheat", "hot=600 mm"), "in C, F or K"),
        (("--rate", "EJ-101=-3 N/mm"), "more than zero"),
        (("--rate", "EJ-9=3 N/mm"), "EJ-9"),
        (("--load", "spring at knee.out=3"), "give its unit"),
        (("--coil", "spring at knee.out=3 kN"), "not one for axial rate"),
        (("--coil", "rest at rest one=3 N/mm"), "not a variable spring"),
    ],
)
def test_what_cannot_be_asked_is_said(
    takeup: Takeup, arguments: tuple[str, ...], words: str
) -> None:
    """A missing change, a wrong form or an unknown name is refused in words."""
    said = takeup("what-if", EXAMPLE, *arguments)
    assert said.code != 0
    assert words in said.err
