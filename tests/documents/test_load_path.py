"""The drawn load path: every kind of hardware, sound and found wrong, on paper and on screen."""

import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import msgspec
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "bellows" / "hardware"))
from hardware_cases import RODS, case

from takeup.bellows.hardware import trace
from takeup.bellows.hardware.model import Defect, DefectKind, HardwareType, Sharing
from takeup.bellows.hardware.results import LOST
from takeup.documents.drawing import PRINT, WEB, load_path
from takeup.units import System

SVG = "{http://www.w3.org/2000/svg}"
BREAKS = {
    HardwareType.TIE_RODS: Defect(kind=DefectKind.NUT_MISSING, number=2),
    HardwareType.LIMIT_RODS: Defect(kind=DefectKind.ROD_BROKEN),
    HardwareType.HINGE: Defect(kind=DefectKind.PIN_BENT),
    HardwareType.HINGE_PAIR: Defect(kind=DefectKind.PIN_MISSING, unit=2),
    HardwareType.GIMBAL: Defect(kind=DefectKind.RING_CRACKED),
    HardwareType.GIMBAL_PAIR: Defect(kind=DefectKind.WELD_CRACKED, unit=2),
    HardwareType.SLOTTED_HINGE: Defect(kind=DefectKind.PIN_MISSING),
    HardwareType.PANTOGRAPH: Defect(kind=DefectKind.LINK_BROKEN),
}


def texts(svg):
    return ["".join(t.itertext()) for t in ET.fromstring(svg).iter(f"{SVG}text")]


@pytest.mark.parametrize("limit", [False, True])
@pytest.mark.parametrize("kind", list(HardwareType))
def test_every_part_is_drawn_and_one_governs(kind, limit):
    """Each part of a sound path has its box with its name; exactly one box says GOVERNS."""
    path = trace(case(kind), "design", at_limit=limit)
    words = texts(load_path(path))

    for part in path.parts:
        assert any(part.name in line for line in words), part.name
    checked = any(part.ratio is not None for part in path.parts)
    assert words.count("GOVERNS") == checked
    assert any("Never loosen" in line for line in words)


@pytest.mark.parametrize("kind", list(HardwareType))
def test_broken_links_are_gaps_with_crosses(kind):
    """Each link that nothing can pass, and each lost part, has a cross of its own."""
    sound = trace(case(kind), "design")
    path = trace(case(kind), "design", (BREAKS[kind],))
    svg = load_path(path)

    def crosses(drawing):
        """Pairs of slanting strokes in the warning colour, the legend's among them."""
        lines = [e for e in ET.fromstring(drawing).iter(f"{SVG}line")
                 if e.get("stroke") == PRINT.warn]  # fmt: skip
        return sum(e.get("x1") != e.get("x2") and e.get("y1") != e.get("y2") for e in lines) / 2

    broken = sum(t.broken for t in path.transfers)
    lost = sum(part.state in LOST for part in path.parts)
    assert broken
    assert crosses(svg) - crosses(load_path(sound)) == pytest.approx(broken + lost)


def test_lost_path_is_the_first_thing_read():
    """NO PATH stands in a frame above the drawing and in its description."""
    path = trace(case(HardwareType.GIMBAL), "design", (BREAKS[HardwareType.GIMBAL],))
    svg = load_path(path)

    words = texts(svg)
    assert "held by NOTHING" in words[1]
    assert words[2].startswith("NO PATH")
    assert ET.fromstring(svg).find(f"{SVG}desc").text.startswith("NO PATH")


def test_over_capacity_is_said_in_words_and_hatched():
    """A part over its capacity has a number, the words NOT MET and a hatched bar."""
    joint = case(HardwareType.TIE_RODS)
    svg = load_path(trace(joint, "design", (Defect(kind=DefectKind.WELD_CRACKED, share=0.6),)))

    assert any(line.endswith("% NOT MET") for line in texts(svg))
    assert svg.count("url(#") > 1


def test_wider_arrows_carry_more():
    """Arrow widths grow with the force: the whole thrust is drawn wider than half of it."""
    svg = load_path(trace(case(HardwareType.TIE_RODS), "design"))
    widths = [float(e.get("stroke-width")) for e in ET.fromstring(svg).iter(f"{SVG}path")
              if e.get("fill") == "none" and e.get("stroke") == PRINT.accent]  # fmt: skip

    whole, half = max(widths), sorted(set(widths))[-2]
    assert (half - 1.4) / (whole - 1.4) == pytest.approx(0.5, abs=0.01)


def test_many_rods_are_drawn_in_groups():
    """Forty-eight rods fit the sheet: equal ones share a box that says how many."""
    rods = msgspec.structs.replace(RODS, count=48, sharing=Sharing.EVEN)
    words = texts(load_path(trace(case(HardwareType.TIE_RODS, rods=rods), "design")))

    assert "48 × rod" in words


@pytest.mark.parametrize("kind", list(HardwareType))
def test_words_stay_on_the_sheet(kind):
    """No text starts or ends outside the drawing, by a wide estimate of its length."""
    for defects in ((), (BREAKS[kind],)):
        root = ET.fromstring(load_path(trace(case(kind), "design", defects)))
        _, _, wide, tall = map(float, root.get("viewBox").split())
        assert wide == 760
        for text in root.iter(f"{SVG}text"):
            length = 0.56 * float(text.get("font-size")) * len("".join(text.itertext()))
            x = float(text.get("x"))
            start = {"start": x, "middle": x - length / 2, "end": x - length}[
                text.get("text-anchor")
            ]
            assert start >= 0, "".join(text.itertext())
            assert start + length <= wide + 4, "".join(text.itertext())
            assert 0 < float(text.get("y")) < tall


def test_same_path_gives_the_same_drawing_and_units_follow_the_site():
    """Twice drawn it is the same to the byte; a US site reads pounds; names are escaped."""
    joint = case(HardwareType.HINGE, name="EJ <7> & co")
    path = trace(joint, "design")

    assert load_path(path, System.METRIC, WEB) == load_path(path, System.METRIC, WEB)
    assert any("lbf" in line for line in texts(load_path(path, System.US, PRINT)))
    assert texts(load_path(path))[0].startswith("EJ <7> & co")
