"""Fatigue tests that could be read, and the page that shows them."""

from __future__ import annotations

import csv
import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[2]
FILE = ROOT / "tests" / "published" / "bellows" / "data" / "fatigue_tests.csv"


@pytest.fixture(scope="module")
def bench() -> ModuleType:
    """The comparison of tests with curves."""
    path = ROOT / "benchmarks" / "bellows_fatigue.py"
    spec = importlib.util.spec_from_file_location("bellows_fatigue", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def rows() -> list[dict[str, str]]:
    """The file as it stands."""
    with FILE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_every_test_names_source_and_standing() -> None:
    """A row says where it was read; one from memory is marked and never counted."""
    for row in rows():
        assert len(row["source"]) > 10, row["id"]
        assert row["standing"] in {"read", "from memory"}, row["id"]
        assert row["outcome"] in {"failed", "run out"}, row["id"]
        assert float(row["tested_cycles"]) > 0.0, row["id"]


def test_row_with_geometry_is_worked_out(bench: ModuleType) -> None:
    """With its convolution known a test stands at the stress of the public 38-inch worksheet."""
    row = dict.fromkeys(rows()[0], "")
    row |= {
        "inside_diameter_mm": "965.2",
        "height_mm": "27.813",
        "pitch_mm": "25.4",
        "plies": "1",
        "ply_thickness_mm": "0.762",
        "convolutions": "6",
        "axial_range_mm": "8.001",
        "pressure_MPa": "0.1",
    }
    stress, worked_out = bench.stress_of(row)
    assert worked_out
    # 43 615 psi with 29 Msi and coefficients read off charts
    assert stress / 6894.757 == pytest.approx(43615.0 * 195.0 / 199.95, rel=0.012)


def test_row_without_geometry_stands_at_its_stated_life(bench: ModuleType) -> None:
    """Without a convolution the stated mean life gives the stress, and comes back from it."""
    (found,) = [t for t in bench.tests() if t.id == "axial-12-inch"]
    assert not found.worked_out
    assert found.mean == pytest.approx(1000.0, rel=1e-9)
    assert found.design < found.cycles


def test_memory_is_not_counted(
    bench: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A row from memory is left out of the comparison."""
    text = FILE.read_text(encoding="utf-8").replace(",read,", ",from memory,")
    other = tmp_path / "tests.csv"
    other.write_text(text, encoding="utf-8")
    monkeypatch.setattr(bench, "TESTS", other)
    assert bench.tests() == []


def test_page_and_drawing_are_up_to_date(bench: ModuleType) -> None:
    """The committed page and drawing are what the comparison writes now."""
    found = bench.tests()
    page = bench.PAGE.read_text(encoding="utf-8")
    assert bench.table(found) in page
    assert bench.levels() in page
    assert bench.DRAWING.read_text(encoding="utf-8") == bench.drawing(found) + "\n"
