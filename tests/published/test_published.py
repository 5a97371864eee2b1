"""Every published, derived and frozen value below this folder, through one runner."""

from __future__ import annotations

import importlib.util
import tomllib
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from takeup.units import ACCEPTED

HERE = Path(__file__).parent
KINDS = {"published", "derived", "frozen"}


class Deviation(NamedTuple):
    """How far one expected value is from what the program gives."""

    id: str
    name: str
    kind: str
    expected: float
    got: float
    relative: float
    tolerance: str
    good: bool


@cache
def adapter(folder: Path) -> dict[str, Callable[[dict[str, Any]], Any]]:
    """The CASES of a room's adapter: name of what is computed -> function of the inputs."""
    spec = importlib.util.spec_from_file_location(f"published_{folder.name}", folder / "adapter.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    found: dict[str, Callable[[dict[str, Any]], Any]] = module.CASES
    return found


def cases() -> Iterator[tuple[Path, dict[str, Any]]]:
    """Each case with its file; a file holds one case, or several under [[case]]."""
    for path in sorted(HERE.glob("*/*.toml")):
        text = tomllib.loads(path.read_text(encoding="utf-8"))
        for case in text.get("case", [text]):
            yield path, case


def expectations(expected: dict[str, Any]) -> Iterator[tuple[str, float, str, dict[str, Any]]]:
    """(name, value, unit, tolerance) of each number; a value may have its own unit and tolerance."""
    common, unit = expected.get("tolerance"), expected.get("unit", "")
    if "value" in expected:
        yield "", float(expected["value"]), unit, expected["tolerance"]
        return
    for name, given in expected["values"].items():
        own = given if isinstance(given, dict) else {"value": given}
        yield name, float(own["value"]), own.get("unit", unit), own.get("tolerance", common)


def to_si(value: float, unit: str) -> float:
    """A printed value in SI; units that Takeup does not convert are taken as they stand."""
    if unit in {"", "-"}:
        return value
    found = [units[unit] for units in ACCEPTED.values() if unit in units]
    assert len(found) <= 1, f"unit {unit!r} means different things; write the SI value"
    factor, offset = found[0] if found else (1.0, 0.0)
    return (value + offset) * factor


def compare(path: Path, case: dict[str, Any]) -> list[Deviation]:
    """Run one case and set each number beside what was expected."""
    got = adapter(path.parent)[case["computes"]](case.get("inputs", {}))
    found = []
    for name, printed, unit, tolerance in expectations(case["expected"]):
        number = float(got[name] if name else got)
        value = to_si(printed, unit)
        difference = abs(number - value)
        allowed = to_si(tolerance.get("abs", 0.0), unit) - to_si(0.0, unit)
        allowed += tolerance.get("rel", 0.0) * abs(value)
        shown = ", ".join(f"{key} {tolerance[key]:g}" for key in ("rel", "abs") if key in tolerance)
        found.append(
            Deviation(
                case["id"],
                name,
                case["kind"],
                value,
                number,
                difference / abs(value) if value else difference,
                shown,
                difference <= allowed,
            )
        )
    return found


def deviations() -> list[Deviation]:
    """Every number of every case, for the report."""
    return [row for path, case in cases() for row in compare(path, case)]


@pytest.mark.parametrize(
    ("path", "case"), [pytest.param(path, case, id=case["id"]) for path, case in cases()]
)
def test_value_is_reproduced(path: Path, case: dict[str, Any]) -> None:
    """The program gives the stated value within the stated tolerance."""
    rows = compare(path, case)
    assert rows, "a case must expect something"
    bad = [row for row in rows if not row.good]
    assert not bad, "\n".join(
        f"{row.id} {row.name}: expected {row.expected:g}, got {row.got:g} ({row.tolerance})"
        for row in bad
    )


@pytest.mark.parametrize(
    ("path", "case"), [pytest.param(path, case, id=case["id"]) for path, case in cases()]
)
def test_case_says_where_it_comes_from(path: Path, case: dict[str, Any]) -> None:
    """A case names its kind, its source and why its tolerance is what it is."""
    assert case["kind"] in KINDS, path
    assert case["source"]["document"], path
    for name, _, _, tolerance in expectations(case["expected"]):
        assert tolerance is not None, (path, name)
        assert set(tolerance) & {"rel", "abs"}, (path, name)
        assert len(tolerance["because"]) > 10, (path, name)


def test_no_two_cases_share_a_name() -> None:
    """Ids are unique over all rooms, so that a report line points at one case."""
    ids = [case["id"] for _, case in cases()]
    assert len(ids) == len(set(ids))


def test_there_are_cases() -> None:
    """An empty folder cannot pass for proof."""
    assert len(list(cases())) >= 10
