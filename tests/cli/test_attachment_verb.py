"""The verb of attachments: figures, JSON, a drawing, and faults by name."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from takeup.cli.app import call

EXAMPLE = Path(__file__).parents[2] / "examples" / "attachment.toml"


def test_ring_in_a_file_is_worked_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:  # fmt: skip
    """The example cracks at its toe; JSON carries checks with sources; the drawing is written."""
    drawing = tmp_path / "ring.svg"

    assert call(["attachment", str(EXAMPLE), "--json", "--drawing", str(drawing)]) == 0
    said = json.loads(capsys.readouterr().out)

    assert said["headline"].startswith("A crack at the weld toe")
    assert {check["id"] for check in said["checks"]} == {
        "attachment.cracks", "attachment.shakedown",
    }  # fmt: skip
    assert said["imbalance"] < 1e-9
    assert drawing.read_text("utf-8").startswith("<svg")


def test_a_wrong_unit_is_told_by_its_key(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:  # fmt: skip
    """A wall in degrees is refused with the key and what it may be."""
    file = tmp_path / "bad.toml"
    file.write_text(EXAMPLE.read_text("utf-8").replace('"12.7 mm"', '"12.7 C"'), "utf-8")

    assert call(["attachment", str(file)]) == 1
    assert "wall" in capsys.readouterr().err


CONE = """
kind = "cone or skirt with welded corners"
inside_diameter = "1 m"
wall = "12 mm"
pipe_metal = "304H"
gas = "700 C"
gas_film = 200.0
knuckle = "60 mm"
pieces = [
  { name = "pipe", length = "500 mm", inside_temperature = "700 C", inside_film = 200 },
  { name = "cone", length = "250 mm", slope = "25 deg", inside_temperature = "400 C", inside_film = 50 },
  { name = "cuff", length = "300 mm", inside_temperature = "200 C", inside_film = 50 },
]
"""


def test_cone_is_compared_with_its_formed_twin(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:  # fmt: skip
    """Both ways come with range, weld factor and cycles; the formed one has no weld factor."""
    file = tmp_path / "cone.toml"
    file.write_text(CONE, "utf-8")

    assert call(["attachment", str(file), "--compare", "--fineness", "0.5", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    welded, formed = said["ways"]
    assert welded["factor"] == [1.5, 1.7]
    assert formed["factor"] == [1.0, 1.0]
    share = formed["range"] / welded["range"]
    assert f"is {share:.2f} of that with welded corners" in said["words"][0]
    assert "nan" not in " ".join(said["words"])

    assert call(["attachment", str(EXAMPLE), "--compare"]) == 3
    assert "no formed counterpart" in capsys.readouterr().err


def test_ring_of_a_joint_is_drafted_and_kept_with_what_it_lacks(takeup, site, tmp_path) -> None:
    """The draft of the register is kept as it is; what is asked for is told; states are listed."""
    draft = takeup("attachments-of", "EJ-1402", "--draft", "1402-R1", "--site", site)
    assert draft.code == 0
    file = tmp_path / "ring.toml"
    file.write_text(draft.out, "utf-8")
    kept = takeup("keep-attachment", "EJ-1402", "1402-R1", file, "--site", site, "--json").json
    assert kept["whole"] is False
    assert "width of the ring along the pipe (ring_width)" in kept["asked"]

    listed = takeup("attachments-of", "EJ-1402", "--site", site, "--json").json
    assert [one["item"] for one in listed] == ["1402-R1", "cones"]
    assert listed[0]["attached"]["state"] == "not worked out yet"
    assert listed[1]["attached"] is None
    refused = takeup("attachments-of", "EJ-1402", "--run", "1402-R1", "--site", site)
    assert refused.code != 0
    assert "gas_film" in refused.err
