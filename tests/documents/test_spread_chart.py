"""The chart of tolerances says its numbers in words and shapes, and survives hostile names."""

from __future__ import annotations

from typing import Any
from xml.etree import ElementTree

import msgspec
import pytest

from takeup.bellows.model import BellowsCase, Condition, Movement
from takeup.bellows.uncertainty import Shape, Spread, UncertaintyReport, spread, usual
from takeup.documents.drawing import spread_chart
from takeup.documents.drawing.palette import WEB
from takeup.documents.words import spread as spread_words
from takeup.sources import assumption
from takeup.units import System

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def report() -> UncertaintyReport:
    """A bellows that is pressed near its squirm limit."""
    case = BellowsCase(
        name='<EJ & "1">',
        inside_diameter=0.6,
        height=0.05,
        pitch=0.048,
        convolutions=8,
        plies=2,
        ply_thickness=0.001,
        material="321",
        weld_factor=1.0,
        conditions=(Condition(name="operating <hot>", pressure=3.0e5, temperature=633.15),
                    Condition(name="design", pressure=6.5e5, temperature=640.0)),
        movements=(Movement(name="start-up & shut-down", axial=-0.02, cycles=300.0),),
    )  # fmt: skip
    return spread(case, usual(case), samples=1024, seed=1)


def words(svg: str) -> str:
    """All text of a drawing."""
    return " ".join(node.text or "" for node in ElementTree.fromstring(svg).iter(f"{SVG}text"))


@pytest.mark.parametrize("palette", [None, WEB])
def test_each_check_has_its_row_with_share_interval_and_drivers(
    report: UncertaintyReport, palette: object
) -> None:
    """Names, failing shares, quantiles, drivers with their shares, the limit and the caution."""
    svg = spread_chart(report) if palette is None else spread_chart(report, palette=WEB)
    text = words(svg)
    failing = [check for check in report.checks if check.share and check.share.failed]
    assert failing
    for check in failing:
        assert check.share is not None
        assert f"fails in {check.share.said()}" in text or check.share.failed == 1024
        assert check.drivers[0].words in text
    assert "limit 1" in text
    assert "not a reliability claim" in text
    assert "none failed" in text


def test_the_drawing_is_titled_and_told_without_colour(report: UncertaintyReport) -> None:
    """A title and a description for readers of the page; direction by shape, over-limit by
    hatch."""
    root = ElementTree.fromstring(spread_chart(report))
    title = root.find(f"{SVG}title")
    assert title is not None
    assert title.text is not None
    assert '<EJ & "1">' in title.text
    assert root.find(f"{SVG}desc") is not None
    assert root.find(f"{SVG}defs/{SVG}pattern") is not None
    assert "more is worse" in words(spread_chart(report))
    assert "more is better" in words(spread_chart(report))


def test_what_is_not_drawn_is_counted(report: UncertaintyReport) -> None:
    """With one row asked for, every failing check still stands there and the rest is counted."""
    failing = sum(bool(check.share and check.share.failed) for check in report.checks)
    rest = sum(check.share is not None for check in report.checks) - failing
    open_ = sum(check.share is None for check in report.checks)
    assert f"{rest} more checks fail in no sample" in words(spread_chart(report, most=1))
    assert f"{open_} could not be evaluated in any" in words(spread_chart(report, most=99))
    assert "more checks" not in words(spread_chart(report, most=99))


def test_nothing_evaluated_is_said(report: UncertaintyReport) -> None:
    """An alloy without tables and no geometry: the chart says that there is nothing to show."""
    empty = msgspec.structs.replace(report, checks=())
    assert "no check could be evaluated" in words(spread_chart(empty))


def test_all_text_lies_inside_the_drawing(report: UncertaintyReport) -> None:
    """Nothing is written beyond the edges, and rows do not run into the legend."""
    root = ElementTree.fromstring(spread_chart(report))
    width, height = float(root.attrib["width"]), float(root.attrib["height"])
    for node in root.iter(f"{SVG}text"):
        assert 0.0 <= float(node.attrib["x"]) <= width
        assert 0.0 <= float(node.attrib["y"]) <= height


@pytest.mark.parametrize(
    ("changes", "metric", "us"),
    [
        ({"input": "ply_thickness", "minus": 1.2e-4, "plus": 0.8e-4},
         "−0.12\u00a0mm to +0.08\u00a0mm, uniform", "−0.0047\u00a0in to +0.0031\u00a0in, uniform"),
        ({"input": "temperature@design", "minus": 9.0, "plus": 9.0},
         "±9.0\u00a0K, uniform", "±16.2\u00a0°F, uniform"),
        ({"input": "axial", "minus": 0.1, "plus": 0.1, "relative": True, "shape": Shape.TRIANGULAR},
         "±10.0\u00a0% of its value, triangular", "±10.0\u00a0% of its value, triangular"),
        ({"input": "pressure", "deviation": 1e4, "shape": Shape.NORMAL},
         "standard deviation 0.10\u00a0bar, normal", "standard deviation 1.5\u00a0psi, normal"),
    ],
)  # fmt: skip
def test_a_spread_is_told_with_its_amounts(changes: Any, metric: str, us: str) -> None:
    """Amounts in the reader's units; a difference of temperature has no zero to shift."""
    found = Spread(source=assumption("test"), **changes)
    assert spread_words(found, System.METRIC) == metric
    assert spread_words(found, System.US) == us
