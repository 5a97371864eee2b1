"""The verb bellows: TOML and JSON, one case and many, faults by key path, SI out."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest

from tests.cli.conftest import ROOT, Said
from tests.cli.test_faults import one_paragraph

Takeup = Callable[..., Said]
EXAMPLES = ROOT / "examples"
CASE = """
name = "B"
inside_diameter = "914 mm"
height = "50 mm"
pitch = "46 mm"
convolutions = 7
plies = 2
ply_thickness = "1.2 mm"
tangent_length = "50 mm"
material = "321"
treatment = "as formed"
[[conditions]]
name = "design"
pressure = "2.6 bar"
temperature = "400 C"
[[movements]]
name = "start"
axial = "-20 mm"
cycles = 300
"""


def test_toml_with_units_and_json_in_si_give_the_same_report(
    takeup: Takeup, tmp_path: Path
) -> None:
    """The case written back as SI JSON gives the same figures to the last digit."""
    from takeup.bellows.model import BellowsCase
    from takeup.cli.files import read

    file, again = tmp_path / "b.toml", tmp_path / "b.json"
    file.write_text(CASE, encoding="utf-8")
    again.write_bytes(msgspec.json.encode(read(file, BellowsCase)))

    assert takeup("bellows", file, "--json").json == takeup("bellows", again, "--json").json


def test_json_carries_symbols_units_ratios_and_standing(takeup: Takeup) -> None:
    """Each figure has the standard's symbol and its SI unit; each check its ratio."""
    report = takeup("bellows", EXAMPLES / "bellows.json", "--json").json
    figures = {figure["id"]: figure for figure in report["figures"]}

    assert (figures["S4@design"]["symbol"], figures["S4@design"]["unit"]) == ("S4", "Pa")
    assert figures["S4@design"]["value"] > 1e7
    (hoop,) = [check for check in report["checks"] if check["id"] == "S2@design"]
    assert hoop["ratio"] == pytest.approx(hoop["demand"] / hoop["capacity"])
    assert hoop["unit"] == "Pa"
    assert {"ratio", "provisional", "source", "because"} <= set(report["checks"][0])


def test_several_cases_share_what_stands_beside_them(takeup: Takeup) -> None:
    """Two cases of one file are two reports, each with the shared conditions."""
    first, second = takeup("bellows", EXAMPLES / "bellows.toml", "--json").json

    assert first["name"] == "EJ-101 A"
    assert {one["condition"] for one in first["thrust"]} == {"design", "operating"}
    assert second["missing"] == ["pitch"]
    told = {check["id"]: check for check in second["checks"]}
    assert told["S2@design"]["outcome"] == "not evaluated"
    assert "pitch" in told["S2@design"]["because"]
    assert [one["condition"] for one in second["thrust"]] == ["design", "operating"]


def test_one_impossible_case_does_not_stop_the_rest(takeup: Takeup, tmp_path: Path) -> None:
    """The sound case is worked out, the other is named, and the exit code says so."""
    data = tomllib.loads(CASE)
    file = tmp_path / "many.json"
    file.write_text(json.dumps([data, data | {"name": "tight", "torus_radius": 0.03}]))
    said = takeup("bellows", file, "--json")

    assert said.code == 1
    assert [bool(report["figures"]) for report in said.json] == [True, False]
    assert "tight" in said.err
    assert "2 rm" in said.err


def test_the_basis_can_be_chosen_for_a_run(takeup: Takeup) -> None:
    """--basis lays another rule set over the one in the file."""
    file = EXAMPLES / "bellows.json"

    assert takeup("bellows", file, "--json").json["basis"].startswith("ASME")
    assert takeup("bellows", file, "--basis", "ejma", "--json").json["basis"] == "EJMA"
    assert takeup("bellows", file, "--basis", "other").code == 2


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('pitch = "46 mm"', 'pitch = "20 mm"\ntorus_radius = "11 mm"', "overlap"),
        ('pitch = "46 mm"', 'pitch = "46 mm"\ntorus_radius = "0.5 mm"', "no inside radius"),
        ('pitch = "46 mm"', 'pitch = "-46 mm"', "it must be more than 0.0 mm"),
        ('height = "50 mm"', 'height = "10 mm"', "height of at least"),
        ('axial = "-20 mm"', 'axial = "-400 mm"', "compresses"),
        ('axial = "-20 mm"', 'axial = "-150 mm"', "clear gap"),
        ("cycles = 300", "cycles = -1", "$.movements[0].cycles"),
        ('pressure = "2.6 bar"', 'pressure = "2.6 mm"', "$.conditions[0].pressure"),
        ('pressure = "2.6 bar"', 'presure = "2.6 bar"', "did you mean pressure"),
        ('temperature = "400 C"', 'temperature = "-400 C"', "more than"),
        ('name = "start"', "name = 5", "$.movements[0].name"),
        ("plies = 2", 'plies = "two"', "$.plies"),
        ('material = "321"', "", "$.material must be given"),
        ('name = "B"', 'name = "B"\nname = "C"', "not valid TOML"),
        ('name = "B"', 'name = "B', "not valid TOML"),
    ],
)
def test_bad_input_is_refused_with_what_where_and_what_would_be_right(
    takeup: Takeup, tmp_path: Path, old: str, new: str, says: str
) -> None:
    """One paragraph on stderr, exit code 1, nothing printed as result."""
    assert CASE.count(old) == 1
    file = tmp_path / "b.toml"
    file.write_text(CASE.replace(old, new), encoding="utf-8")
    said = takeup("bellows", file)

    assert said.code == 1
    assert says in said.err
    assert "b.toml" in said.err or "$" not in says
    assert one_paragraph(said)
    assert said.out == ""


@pytest.mark.parametrize(
    ("old", "new", "check", "outcome", "says"),
    [
        ('material = "321"', 'material = "unobtainium"', "S2@design", "not evaluated", "alloy"),
        ('temperature = "400 C"', 'temperature = "900 C"', "S2@design", "not evaluated", "815.6"),
        ('temperature = "400 C"', 'temperature = "900 C"', "creep", "not met", "creep threshold"),
        ("cycles = 300", "cycles = 0", "usage", "not evaluated", "cycles to count"),
        ("cycles = 300", "", "fatigue@start", "not evaluated", "cycles to count"),
        ('pressure = "2.6 bar"', 'pressure = "2.6 bar"\nallowable_stress = "10 MPa"',
         "S2@design", "not met", ""),
    ],
)  # fmt: skip
def test_what_is_unknown_or_uncovered_never_passes_in_silence(
    takeup: Takeup, tmp_path: Path, old: str, new: str, check: str, outcome: str, says: str
) -> None:
    """An unknown alloy, a temperature outside the table, no cycles: the check says so itself."""
    file = tmp_path / "b.toml"
    file.write_text(CASE.replace(old, new), encoding="utf-8")
    report = takeup("bellows", file, "--json").json
    (found,) = [one for one in report["checks"] if one["id"] == check]

    assert found["outcome"] == outcome
    assert says in found["because"]


def test_the_schema_describes_what_the_verb_takes(takeup: Takeup) -> None:
    """The schema named like the verb is that of its input, text with units and missing included."""
    schema = takeup("schema", "bellows").json
    case = schema["$defs"]["BellowsCase"]

    assert schema["$ref"].endswith("BellowsCase")
    assert {"type": "string", "description": "number with its unit"} in case["properties"]["pitch"][
        "anyOf"
    ]
    assert "mm" in case["properties"]["pitch"]["x-text-units"]
    assert case["properties"]["pitch"]["x-unit"] == "m"
    assert takeup("schema", "bellows-table").json["$ref"].endswith("BellowsElement")


def test_compare_shows_every_rule_set_and_why_they_differ(takeup: Takeup) -> None:
    """Three rule sets in one table, each difference with its reason, and the same as JSON."""
    file = EXAMPLES / "bellows.json"
    text = takeup("bellows", file, "--compare").out
    found = takeup("bellows", file, "--compare", "--json").json

    assert [basis in text for basis in found["bases"]] == [True] * 3
    assert "why: " in text
    for row in found["checks"]:
        told = {(one["outcome"], one["ratio"]) if one else None for one in row["checks"]}
        assert len(told) == 1 or row["reasons"], row["id"]
    assert takeup("bellows", file, "--compare", "--basis", "ejma").code == 2


def test_compare_refuses_what_cannot_be_true(takeup: Takeup, tmp_path: Path) -> None:
    """A contradiction is a fault of the file, told once."""
    file = tmp_path / "b.toml"
    file.write_text(CASE.replace('height = "50 mm"', 'height = "10 mm"'), encoding="utf-8")
    said = takeup("bellows", file, "--compare")

    assert (said.code, said.out) == (1, "")
    assert one_paragraph(said)


def test_uncertainty_reads_amounts_with_units_and_repeats_itself(takeup: Takeup) -> None:
    """The same file and seed give the same report; amounts are SI; sources are named."""
    file = EXAMPLES / "uncertainty.toml"
    first = takeup("uncertainty", file, "--samples", "512", "--json").json
    again = takeup("uncertainty", file, "--samples", "512", "--json").json

    assert first == again
    spread = {one["input"]: one for one in first["spreads"]}
    assert spread["ply_thickness"]["minus"] == pytest.approx(0.00012)
    assert spread["ply_thickness"]["source"]["document"] == "sheet certificate"
    assert "fails in" in takeup("uncertainty", file, "--samples", "512").out


def test_uncertainty_without_spreads_takes_and_names_the_usual_ones(
    takeup: Takeup, tmp_path: Path
) -> None:
    """What was taken is said with its source."""
    text = (EXAMPLES / "uncertainty.toml").read_text(encoding="utf-8").split("[[spread]]")[0]
    file = tmp_path / "u.toml"
    file.write_text(text, encoding="utf-8")
    said = takeup("uncertainty", file, "--samples", "256")

    assert said.code == 0
    assert "spread ply thickness t" in said.out


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('minus = "0.12 mm"', 'minus = "0.12"', "$.spread[0].minus"),
        ('minus = "0.12 mm"', 'minus = "0.12 bar"', "unit 'bar'"),
        ('input = "height"', 'input = "heigth"', "Did you mean height"),
        ('input = "height"', 'inptu = "height"', "did you mean input"),
        ("samples = 4096", "samples = 4095", "2048"),
        ('pitch = "46 mm"', 'pitch = "x"', "$.bellows.pitch"),
    ],
)
def test_bad_spreads_are_refused_at_their_place(
    takeup: Takeup, tmp_path: Path, old: str, new: str, says: str
) -> None:
    """Place, what is wrong, what would be right."""
    text = (EXAMPLES / "uncertainty.toml").read_text(encoding="utf-8")
    assert old in text
    file = tmp_path / "u.toml"
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    said = takeup("uncertainty", file)

    assert said.code == 1
    assert says in said.err
    assert one_paragraph(said)
