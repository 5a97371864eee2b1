"""A line diagram for every joint type says what moves, what cannot, and who holds the thrust."""

import itertools
import re
from xml.etree import ElementTree

import pytest

from takeup.assess.joint_types import Degree, type_facts
from takeup.bellows.model import Assembly, Movement
from takeup.documents.drawing import PRINT, WEB, assembly_diagram
from takeup.documents.drawing.assembly import TYPE_OF
from takeup.register.entities import JointType
from takeup.units import System

SVG = "{http://www.w3.org/2000/svg}"
MOVE = Movement(name="m", axial=-0.012, lateral=0.005, angular=0.01)


def texts(svg):
    """Text elements of an SVG."""
    return list(ElementTree.fromstring(svg).iter(SVG + "text"))


def words(svg):
    """All text, in one line, with plain spaces."""
    return re.sub(r"\s", " ", " ".join(t.text or "" for t in texts(svg)))


def box(text):
    """About where a text lies: narrower than it is, so that what touches here overlaps."""
    size, x, y = (float(text.get(name)) for name in ("font-size", "x", "y"))
    wide = 0.4 * size * len(text.text or "")
    left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[text.get("text-anchor")] * wide
    return left, y - 0.7 * size, left + wide, y


@pytest.mark.parametrize("kind", list(JointType))
@pytest.mark.parametrize("palette", [PRINT, WEB])
def test_every_joint_type_is_drawn(kind, palette):
    """Well-formed, 360 wide, titled, without NaN, and every word at least 11 high."""
    svg = assembly_diagram(kind, palette=palette)
    root = ElementTree.fromstring(svg)

    assert root.get("width") == "360"
    assert kind.value in root.find(SVG + "title").text
    assert type_facts(kind).takes in root.find(SVG + "desc").text
    assert not re.search(r"\bnan\b", svg, re.IGNORECASE)
    assert min(float(t.get("font-size")) for t in texts(svg)) >= 11


@pytest.mark.parametrize("kind", list(JointType))
def test_words_neither_overlap_nor_leave_the_picture(kind):
    """Labels keep apart from each other and within the frame."""
    svg = assembly_diagram(kind, movement=MOVE, bellows=7, moves="the nozzle grows")
    height = float(ElementTree.fromstring(svg).get("height"))
    boxes = [(t.text, box(t)) for t in texts(svg)]

    for name, (left, top, right, low) in boxes:
        assert left >= 0, name
        assert right <= 360, name
        assert top >= 0, name
        assert low <= height, name
    for (one, a), (two, b) in itertools.combinations(boxes, 2):
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        assert apart, (one, two)


@pytest.mark.parametrize("kind", list(JointType))
def test_arrows_are_crossed_where_the_type_cannot_take_a_movement(kind):
    """Two strokes cross each movement that the register of types denies, and no other."""
    facts = type_facts(kind)
    denied = [facts.axial, facts.lateral, facts.angular].count(Degree.NO)
    lines = ElementTree.fromstring(assembly_diagram(kind)).iter(SVG + "line")
    crosses = [e for e in lines if e.get("stroke") == PRINT.warn and e.get("stroke-width") == "2.6"]

    assert len(crosses) == 2 * denied


@pytest.mark.parametrize("kind", list(JointType))
def test_the_path_of_thrust_leads_from_both_sides_to_what_holds_it(kind):
    """Dashed stretches come in pairs; anchors are drawn where they hold it, else hardware."""
    facts = type_facts(kind)
    svg = assembly_diagram(kind)
    paths = [p for p in ElementTree.fromstring(svg).iter(SVG + "path")
             if p.get("stroke") == PRINT.warn and p.get("stroke-dasharray")]  # fmt: skip
    said = words(svg)

    assert len(paths) >= 2
    assert len(paths) % 2 == 0
    if kind == JointType.EXCHANGER:
        assert "held by shell, tubes and tubesheets" in said
    elif facts.tied:
        assert f"held by its own hardware: {facts.hardware.value}" in said
        assert "main anchor" not in said
    else:
        assert "held by the main anchors" in said
        assert said.count("main anchor") >= 2


@pytest.mark.parametrize("kind", list(JointType))
def test_degrees_do_not_contradict_the_words_of_the_register(kind):
    """What the words say a type takes is not denied by its degrees, nor the reverse."""
    facts = type_facts(kind)
    for name, degree in (("axial", facts.axial), ("lateral", facts.lateral)):
        if name in facts.takes:
            assert degree not in {None, Degree.NO}, name
        if re.search(rf"{name} (and \w+ )?movement", facts.cannot):
            assert degree == Degree.NO, name
    if "rotation in" in facts.takes:
        assert facts.angular in {Degree.YES, Degree.ONE_PLANE}


def test_a_movement_that_the_type_cannot_take_is_marked_with_its_number():
    """An axial movement on a gimbal joint is shown in the site's unit and refused in words."""
    svg = assembly_diagram(JointType.GIMBAL, movement=MOVE, system=System.METRIC)
    said = words(svg)
    us = words(assembly_diagram(JointType.GIMBAL, movement=MOVE, system=System.US))

    assert "−12.0 mm cannot take it" in said
    assert "0.57 deg" in said
    assert "0.57 deg cannot take it" not in said
    assert "−0.47 in" in us
    assert " mm" not in us


def test_the_joint_at_hand_overrides_the_words_of_its_type():
    """Another holder, another number of bellows and what moves are said."""
    svg = assembly_diagram(
        JointType.UNIVERSAL, bellows=3, holder="rods added in 2019", moves="the vessel grows up"
    )

    assert "held by rods added in 2019" in words(svg)
    assert "On record: 3 bellows; drawn for the type: 2" in words(svg)
    assert "Moves: the vessel grows up" in words(svg)


@pytest.mark.parametrize("assembly", list(Assembly))
def test_every_assembly_of_the_engine_has_its_diagram(assembly):
    """An assembly is drawn as the joint type that it belongs to."""
    assert assembly_diagram(assembly) == assembly_diagram(TYPE_OF[assembly])
