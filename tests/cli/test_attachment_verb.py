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
