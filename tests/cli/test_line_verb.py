"""A line from the command line: tables, JSON, faults by line of the text, kept with a site."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import ROOT, Said
from tests.cli.test_faults import one_paragraph

Takeup = Callable[..., Said]
EXAMPLE = ROOT / "examples" / "line.toml"


def changed(tmp_path: Path, old: str, new: str) -> Path:
    """The example with one thing changed."""
    text = EXAMPLE.read_text()
    assert old in text
    path = tmp_path / "changed.toml"
    path.write_text(text.replace(old, new, 1))
    return path


def test_the_example_is_told_state_by_state_with_its_certificate(takeup: Takeup) -> None:
    """Both states, balance, supports, joint, spring and checks stand in words."""
    said = takeup("line", EXAMPLE)
    assert said.code == 0
    for words in ("cold: 0.00 bar, 21 °C", "hot: 2.00 bar, 540 °C", "balanced: yes", "EJ-101",
                  "spring at knee.out", "Checks from cold to hot", "not met"):  # fmt: skip
        assert words in said.out


def test_json_balances_weight_against_supports(takeup: Takeup) -> None:
    """No NaN; loads of both states sum to the same weight, sideways loads to nothing."""
    data = json.loads(takeup("line", EXAMPLE, "--json").out, parse_constant=pytest.fail)
    total = [
        [sum(support["force"][k] for support in state["supports"]) for k in range(3)]
        for state in data["states"]
    ]
    assert total[0][2] == pytest.approx(total[1][2], rel=1e-6)
    assert total[0][2] < -20e3
    assert all(abs(total[n][k]) < 1.0 for n in (0, 1) for k in (0, 1))
    assert data["checks"][0]["ratio"] is not None


def test_one_state_is_shown_and_an_unknown_one_is_answered_with_the_nearest(
    takeup: Takeup,
) -> None:
    """--state chooses; a slip of the pen is helped."""
    said = takeup("line", EXAMPLE, "--state", "hot")
    assert "hot: 2.00 bar" in said.out
    assert "cold: 0.00 bar" not in said.out
    said = takeup("line", EXAMPLE, "--state", "hto")
    assert said.code == 1
    assert "Did you mean hot?" in said.err


def test_the_isometric_of_the_state_is_written(takeup: Takeup, tmp_path: Path) -> None:
    """SVG with the joint; a folder that is not there is said so."""
    out = tmp_path / "line.svg"
    assert takeup("line", EXAMPLE, "--state", "hot", "--svg", out).code == 0
    assert out.read_text(encoding="utf-8").lstrip().startswith("<svg")
    assert "EJ-101" in out.read_text(encoding="utf-8")
    said = takeup("line", EXAMPLE, "--svg", tmp_path / "none" / "line.svg")
    assert said.code == 1
    assert "cannot be written" in said.err


def test_us_units_are_the_same_loads_in_pounds(takeup: Takeup) -> None:
    """Units change the reading, not the result."""
    out = takeup("line", EXAMPLE, "--units", "us").out
    assert "[lbf]" in out
    assert "°F" in out
    assert "°C" not in out


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('station = "rest one"', 'station = "rest on"', "station rest on"),
        ('joint = "EJ-101"', 'joint = "EJ-1O1"', "EJ-1O1"),
        ('axial_rate = "300 N/mm"', 'axial_rate = "300 bar"', "N/mm"),
        ('temperature = "540 C"', 'temperature = "1540 C"', "station"),
    ],
)
def test_a_fault_is_told_with_file_and_line(
    takeup: Takeup, tmp_path: Path, old: str, new: str, says: str
) -> None:
    """The line of the text is the one that was changed, or that of its table."""
    path = changed(tmp_path, old, new)
    said = takeup("line", path)
    assert said.code == 1
    assert f"{path}, line " in said.err
    assert says in said.err
    assert "Traceback" not in said.err


def test_a_line_that_nothing_holds_is_refused(takeup: Takeup, tmp_path: Path) -> None:
    """Without any anchor the loose station is named."""
    text = EXAMPLE.read_text().split("[[anchor]]")[0] + "[[state]]\nname = 'c'\npressure = 0\n"
    path = tmp_path / "loose.toml"
    path.write_text(text + "temperature = '21 C'\n")
    said = takeup("line", path)
    assert said.code == 1
    assert one_paragraph(said)
    assert "the line is loose" in said.err


def test_a_model_with_faults_stays_kept(takeup: Takeup, site: Path, tmp_path: Path) -> None:
    """What is wrong is told; the text is in the store for later."""
    from takeup.desk import lines
    from takeup.desk.site import open_site
    from takeup.register.entities import Line

    path = changed(tmp_path, 'station = "rest one"', 'station = "rest on"')
    with open_site(site) as opened:
        tag = opened.register().all(Line)[0].tag
    said = takeup("keep-line", tag, path, "--site", site)
    assert said.code == 0
    assert "Kept the model" in said.out
    assert "rest on" in said.out
    with open_site(site) as opened:
        kept = lines.model(opened, tag)
    assert kept is not None
    assert kept.text == path.read_text()


def test_factors_and_the_allowable_range_are_chosen_on_the_verb(takeup: Takeup) -> None:
    """Both books are held against each other; the chosen ones stand in the source of each check."""
    data = json.loads(takeup("line", EXAMPLE, "--json").out)
    other = json.loads(
        takeup("line", EXAMPLE, "--json", "--factors", "B31J", "--allowable-range", "1b").out
    )
    assert (data["factors"], data["range_rule"]) == ("Appendix D", "1a")
    assert (other["factors"], other["range_rule"]) == ("B31J", "1b")

    def ranged(told: dict) -> dict:
        return next(one for one in told["checks"] if one["id"] == "range@tee/turn.in")

    one, two = ranged(data), ranged(other)
    assert "Appendix D" in one["source"]["at"] and "1a" in one["source"]["at"]
    assert "B31J" in two["source"]["at"] and "1b" in two["source"]["at"]
    assert two["capacity"] > one["capacity"]
    pair = next(b for b in data["books"] if (b["start"], b["end"]) == ("tee", "turn.in"))
    assert pair["range_d"] == pytest.approx(one["demand"])
    assert pair["range_j"] == pytest.approx(two["demand"])
    said = takeup("line", EXAMPLE, "--factors", "B31J")
    assert "Factors taken: B31J" in said.out and "governs" in said.out


BELLOWS = """
[[case]]
name = "EJ-101"
inside_diameter = "280 mm"
height = "35 mm"
pitch = "40 mm"
convolutions = 10
plies = 1
ply_thickness = "1 mm"
material = "321"
treatment = "as formed"
[[case.conditions]]
name = "operating"
pressure = "2 bar"
temperature = "400 C"
"""


def test_bellows_of_joints_are_worked_out_under_the_lines_movement(
    takeup: Takeup, tmp_path: Path
) -> None:
    """--bellows judges them by what the line makes them do; a name that is no joint is answered."""
    file = tmp_path / "bellows.toml"
    file.write_text(BELLOWS)
    data = json.loads(takeup("line", EXAMPLE, "--bellows", file, "--json").out)
    (use,) = data["bellows"]
    move = next(m for m in data["ranges"] if m["tag"] == "EJ-101" and m["number"] == 0)
    assert use["movement"]["angular"] == pytest.approx(move["angular"])
    assert use["usage"] > 0.0
    ids = [one["id"] for one in data["checks"]]
    assert "bellows.EJ-101.fatigue@cold to hot" in ids
    assert "movement.EJ-101" not in ids
    assert "use of life" in takeup("line", EXAMPLE, "--bellows", file).out
    file.write_text(BELLOWS.replace("EJ-101", "EJ-110"))
    said = takeup("line", EXAMPLE, "--bellows", file)
    assert said.code == 1
    assert "EJ-101" in said.err


def test_findings_hardware_and_anchors_are_told(takeup: Takeup, tmp_path: Path) -> None:
    """Pins with their friction, guides that hold, and loads by 319.5.1 stand in the text."""
    path = changed(
        tmp_path,
        'axis = "up"',
        'axis = "up"\nfriction = 0.3\npin_diameter = "60 mm"\nallowed = "20 kN"',
    )
    said = takeup("line", path)
    assert "its pins stick up to" in said.out
    assert "hardware that may take" in said.out
    assert "guide at joint near: holds the line" in said.out
    assert "Load on anchors by 319.5.1" in said.out


def test_a_loose_line_and_bytes_that_are_no_text_are_told_by_line(
    takeup: Takeup, tmp_path: Path
) -> None:
    """What is found only when the line is taken apart has a line number too, and so has a byte."""
    spins = tmp_path / "spins.toml"
    spins.write_text(
        'line = "S"\n[[pipe]]\nname = "p"\noutside = 0.2\nwall = 0.01\nmetal = "304H"\n'
        '[[run]]\nstart = "a"\nat = [0, 0, 0]\npipe = "p"\nlegs = [{ east = 4, to = "b" }]\n'
        '[[strut]]\nstation = "a"\ndirection = "east"\n[[guide]]\nstation = "a"\n'
        '[[guide]]\nstation = "b"\n[[state]]\nname = "cold"\npressure = 0\ntemperature = "21 C"\n'
    )
    said = takeup("line", spins)
    assert said.code == 1
    assert "spins.toml, line 7: the line is loose: 'a' turns about east" in said.err

    spins.write_bytes(b'line = "S"\nnotes = ["\xff"]\n')
    assert "spins.toml, line 2: cannot be read as UTF-8" in takeup("line", spins).err
