"""The verb of walls: figures, JSON, a drawing, the danger, and faults by name."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from takeup.cli.app import call

EXAMPLE = Path(__file__).parents[2] / "examples" / "wall.toml"


def written(folder: Path, *changes: tuple[str, str]) -> str:
    text = EXAMPLE.read_text("utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    file = folder / "wall.toml"
    file.write_text(text, "utf-8")
    return str(file)


def test_the_example_is_worked_out_in_json_and_drawn(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Wall, dew points, causes and exposure come as JSON with sources; the profile is written."""
    drawing = tmp_path / "wall.svg"

    assert call(["wall", str(EXAMPLE), "--json", "--drawing", str(drawing)]) == 0
    said = json.loads(capsys.readouterr().out)

    assert said["wall"]["residual"] < 1e-9
    assert said["wall"]["bellows_outer"]["low"] < said["wall"]["bellows_outer"]["high"]
    assert said["dew"]["governing"] == "sulphuric_acid"
    assert said["action_line"] == pytest.approx(said["dew"]["line"])
    assert sum(one["probability"] for one in said["inverse"]["causes"]) == pytest.approx(1.0)
    assert {"wall.low", "dew.line", "exposure.polythionic"} <= {one["id"] for one in said["checks"]}
    assert all(one["source"]["document"] for one in said["checks"])
    assert drawing.read_text("utf-8").startswith("<svg")


def test_words_say_temperature_causes_and_where_to_look(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The plain form tells the range, what condenses, the causes and where to look, in US units too."""
    assert call(["wall", str(EXAMPLE), "--units", "us"]) == 0
    said = capsys.readouterr().out
    for words in ("°F", "Verhoff", "part of the packing lost", "Where to look", "do not insulate"):
        assert words in said


def test_the_danger_comes_first(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Lost packing under insulation is the first line of the answer."""
    file = written(
        tmp_path,
        ('packing = "fibre 128"', 'packing = "fibre 128"\nfill = "empty"\n'
         'insulation = "mineral wool"\ninsulation_thickness = "50 mm"'),
    )  # fmt: skip
    assert call(["wall", file]) == 0
    assert capsys.readouterr().out.startswith("  ! DANGER")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (('"720 C"', '"720"'), "$.wall.gas_temperature"),
        (('"720 C"', '"1350 C"'), "1350 °F meant, which is 732 °C"),
        (('"100 mm"', '"-100 mm"'), "$.wall.cavity"),
        (('"128 C"', '"900 C"'), "900 °F meant, which is 482 °C"),
        (('"12 %"', '"120 %"'), "$.gas.water"),
        (('"fibre 128"', '"fibre 182"'), "fibre 128"),
    ],
)
def test_faults_are_told_by_name(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], change: tuple[str, str], words: str
) -> None:
    """A missing unit, a unit that looks wrong, a negative thickness, a share above one: told."""
    assert call(["wall", written(tmp_path, change)]) == 1
    assert words in capsys.readouterr().err


def test_the_wall_of_a_joint_is_kept_and_explained(
    demo_copy: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The kept wall against the joint's history; one with faults stays kept, told, and ends in 2."""
    at = ["--site", str(demo_copy)]
    assert call(["wall-of", "EJ-1302", *at]) == 0
    said = capsys.readouterr().out
    assert "Reading: running median of TI-1302" in said
    assert "cover removed" in said

    bad = tmp_path / "bad.toml"
    bad.write_text('[wall]\nname = "EJ-1304"\n', encoding="utf-8")
    assert call(["keep-wall", "EJ-1304", str(bad), "--author", "A. Engineer", *at]) == 0
    said = capsys.readouterr().out
    assert "Kept the wall of joint EJ-1304" in said
    assert "$.wall.ambient must be given" in said
    assert call(["wall-of", "EJ-1304", *at]) == 2
    assert "$.wall.ambient" in capsys.readouterr().out
