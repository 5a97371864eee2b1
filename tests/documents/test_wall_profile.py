"""The drawing of a wall: every layer, the range, the lines, and the danger said in words."""

from __future__ import annotations

import itertools
import re
from xml.etree import ElementTree

import msgspec
import pytest

from takeup.documents.drawing import WEB, wall_profile
from takeup.documents.drawing.wall_profile import THINNEST, _edges
from takeup.heat.dew_model import GasAnalysis
from takeup.heat.dew_report import evaluate as dew_points
from takeup.heat.inverse_model import Reading
from takeup.heat.wall_report import evaluate
from takeup.heat.wall_stack import DANGEROUS
from takeup.limits import defaults
from takeup.units import System
from tests.heat.walls import CELSIUS, INSULATED, LINED, case

PACKED = evaluate(case(name="EJ-101 <north>"), samples=256)


def words(svg: str) -> str:
    """All text of a drawing, which must be well-formed."""
    root = ElementTree.fromstring(svg)
    return " ".join(text for one in root.iter() for text in [one.text or ""]).replace("\u202f", " ")


def test_every_layer_is_drawn_and_listed_with_material_and_share() -> None:
    """Each layer has its hatch, its number and its row; the bellows its temperature and range."""
    told = words(wall_profile(PACKED))
    for layer in PACKED.layers:
        assert layer.name in told
        assert layer.material in told
    one = PACKED.bellows_outer
    assert f"{one.value - CELSIUS:.0f}\u00a0°C" in told
    assert f"{one.low - CELSIUS:.0f} to {one.high - CELSIUS:.0f}" in told


def test_lines_dew_point_and_reading_are_named() -> None:
    """Action lines, the acid's band, the proposed line and the reading carry their words."""
    limits = defaults()
    gas = GasAnalysis(water=0.1, so3=20e-6, hcl=0.0, nh3=0.0)
    told = words(
        wall_profile(
            PACKED,
            low=limits["temperature.low_to"],
            high=limits["temperature.high"],
            dew=dew_points(gas),
            reading=Reading(temperature=90 + CELSIUS),
        )
    )
    for text in ("low action line 150", "high action line 480", "sulphuric acid comes down",
                 "dew point and margin", "measured 90"):  # fmt: skip
        assert text in told
    assert "action line" not in words(wall_profile(PACKED))


def test_the_danger_stands_in_the_drawing_and_in_its_description() -> None:
    """Lost packing under insulation is written across the top, and read out as well."""
    svg = wall_profile(evaluate(case(fill="empty", **INSULATED), samples=256))
    assert DANGEROUS in re.sub(r"\s+", " ", words(svg))
    assert DANGEROUS in svg.split("<desc")[1].split("</desc>")[0]
    assert "DANGER" not in words(wall_profile(PACKED))


@pytest.mark.parametrize("system", list(System))
def test_both_systems_of_units(system: System) -> None:
    """Units stand in the heads of the columns and on the axis."""
    told = words(wall_profile(PACKED, system=system, palette=WEB))
    assert ("°F" in told) == (system == System.US)
    assert ("Btu" in told) == (system == System.US)


def test_thin_layers_are_widened_and_the_rest_is_to_scale() -> None:
    """No layer is too thin to see; layers that are not widened keep their proportions."""
    found = evaluate(case(plies=2, ply_gap=1e-4, convolution_height=0.06, **LINED), samples=256)
    edges = _edges(found)
    wide = [b - a for a, b in itertools.pairwise(edges)]
    assert min(wide) >= THINNEST - 1e-9
    thick = [layer.outside - layer.inside for layer in found.layers]
    scale = [w / t for w, t in zip(wide, thick, strict=True) if w > THINNEST + 1e-9]
    assert scale == pytest.approx([scale[0]] * len(scale))


def test_a_wall_of_thin_layers_alone_fills_the_drawing() -> None:
    """A bare bellows without packing is drawn over the whole width."""
    bare = msgspec.structs.replace(case(), packing="", cavity=None, liner_thickness=None)
    edges = _edges(evaluate(bare, samples=256))
    assert edges[-1] - edges[0] > 500.0
