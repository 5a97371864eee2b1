"""As found, hardware and sizing from the command line: one input convention, SI out."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import ROOT, Said
from tests.cli.test_faults import one_paragraph

Takeup = Callable[..., Said]
EXAMPLES = ROOT / "examples"
VERBS = {"as-found": "as-found.toml", "hardware": "hardware.toml", "size": "size.toml"}


@pytest.mark.parametrize(("verb", "file"), VERBS.items())
def test_an_example_is_worked_out_in_words_and_as_json(
    takeup: Takeup, verb: str, file: str
) -> None:
    """Words for people; JSON without NaN for programs."""
    said = takeup(verb, EXAMPLES / file)
    assert said.code == 0
    assert "Traceback" not in said.err
    json.loads(takeup(verb, EXAMPLES / file, "--json").out, parse_constant=pytest.fail)
    assert takeup("schema", verb).json["$defs"]


@pytest.mark.parametrize(
    ("verb", "old", "new", "says"),
    [
        ("as-found", 'lost_ply = "inner"', 'lost_ply = "iner"', "did you mean 'inner'"),
        ("as-found", 'thickness = "1.02 mm"', 'thickness = "1.02"', "$.found.thicknesses[0]"),
        ("as-found", "date = 2026-09-14\nlost", 'date = "soon"\nlost', "$.found.date"),
        ("as-found", "[found.travel]", "[found.travels]", "did you mean travel"),
        (
            "hardware",
            'kind = "nut missing"',
            'kind = "nut lost"',
            "did you mean 'nut loose' or 'nut missing'",
        ),
        ("hardware", "count = 4", "count = 0", "$.rods.count"),
        ("hardware", 'pressure = "2.6 bar"', 'pressure = "-2.6 bar"', "$.conditions[0].pressure"),
        ("hardware", "[rods]", "[rod]", "did you mean rods"),
        ("size", 'alloys = ["321", "alloy 625"]', 'alloys = "321"', "$.alloys"),
        ("size", 'step = "5 mm" }', 'step = "0 mm" }', "$.heights.step"),
        ("size", 'outside_diameter = "1040 mm"', 'outside_diameter = "1040 bar"', "use mm"),
        ("size", 'alloys = ["321", "alloy 625"]', 'alloys = ["unobtainium"]', "not known"),
    ],
)
def test_bad_input_is_refused_at_its_place(
    takeup: Takeup, tmp_path: Path, verb: str, old: str, new: str, says: str
) -> None:
    """One paragraph, exit code 1, nothing printed as result."""
    text = (EXAMPLES / VERBS[verb]).read_text(encoding="utf-8")
    assert old in text
    file = tmp_path / "x.toml"
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    said = takeup(verb, file)

    assert (said.code, said.out) == (1, "")
    assert says in said.err
    assert one_paragraph(said)


def test_what_a_defect_takes_away_is_told(takeup: Takeup) -> None:
    """The rod without its nut is out of the path, and who carries instead is named."""
    found = takeup("hardware", EXAMPLES / "hardware.toml", "--json").json

    states = {part["id"]: part["state"] for part in found["paths"][0]["parts"]}
    assert "out of action" in states.values()
    assert "out of action" not in {part["state"] for part in found["sound"][0]["parts"]}
    assert "no nut" in takeup("hardware", EXAMPLES / "hardware.toml").out


def test_a_bellows_found_by_sizing_is_an_input_of_the_verb_bellows(
    takeup: Takeup, tmp_path: Path
) -> None:
    """The case of a choice, worked out by the other verb, meets the checks that sizing says."""
    found = takeup("size", EXAMPLES / "size.toml", "--json").json
    number = found["choices"][0]["candidate"]["number"]
    one = takeup("size", EXAMPLES / "size.toml", "--choose", number, "--json").json
    file = tmp_path / "chosen.json"
    file.write_text(json.dumps(one["case"]), encoding="utf-8")
    report = takeup("bellows", file, "--json").json

    outcomes = {check["outcome"] for check in report["checks"]}
    assert outcomes <= {"met", "does not apply"}
    assert takeup("size", EXAMPLES / "size.toml", "--choose", "99999999").code == 1
    assert found["space"] == found["evaluated"] + sum(e["count"] for e in found["excluded"])


def test_a_chosen_bellows_gets_its_data_sheet(takeup: Takeup, tmp_path: Path) -> None:
    """The sheet of one bellows is written; without a choice it is asked for one."""
    out = tmp_path / "sheet.pdf"
    assert takeup("size", EXAMPLES / "size.toml", "--sheet", out).code == 2
    assert not out.exists()

    takeup("size", EXAMPLES / "size.toml", "--choose", "3", "--sheet", out)
    assert out.read_bytes().startswith(b"%PDF")


def test_the_whole_set_is_told_when_asked_for(takeup: Takeup) -> None:
    """Without --front the set is only counted."""
    brief = takeup("size", EXAMPLES / "size.toml", "--json").json
    whole = takeup("size", EXAMPLES / "size.toml", "--json", "--front").json

    assert "front" not in brief
    assert brief["front_count"] == len(whole["front"]) > len(brief["choices"])


def test_when_nothing_fits_it_is_said_what_binds(takeup: Takeup, tmp_path: Path) -> None:
    """An envelope too small for any bellows gives grounds, not an empty page."""
    text = (EXAMPLES / "size.toml").read_text(encoding="utf-8")
    file = tmp_path / "small.toml"
    file.write_text(text.replace('"1040 mm"', '"930 mm"'), encoding="utf-8")
    said = takeup("size", file)

    assert said.code == 0
    assert "0 meet every check" in said.out
    assert "ground:" in said.out


def test_as_found_says_designed_beside_found(takeup: Takeup) -> None:
    """Both columns, the life left, and what must be handed over."""
    out = takeup("as-found", EXAMPLES / "as-found.toml").out

    assert "as designed" in out.splitlines()[1]
    assert "Inner ply lost" in out
    assert "cycles are left" in out


def test_the_data_sheet_of_a_chosen_bellows_is_written(takeup: Takeup, tmp_path: Path) -> None:
    """A PDF for the requisition; without a number it is a wrong command."""
    number = takeup("size", EXAMPLES / "size.toml", "--json").json["choices"][0]["candidate"]
    out = tmp_path / "sheet.pdf"
    file = EXAMPLES / "size.toml"

    assert takeup("size", file, "--choose", number["number"], "--sheet", out).code == 0
    assert out.read_bytes().startswith(b"%PDF")
    assert takeup("size", file, "--sheet", out).code == 2
    nowhere = tmp_path / "none" / "sheet.pdf"
    said = takeup("size", file, "--choose", number["number"], "--sheet", nowhere)
    assert said.code in {0, 1}
    assert nowhere.exists() is (said.code == 0)
