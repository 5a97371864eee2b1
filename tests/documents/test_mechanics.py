"""Bellows and hardware on the joint's page and in its dossier: what was worked out, and by what."""

import datetime as dt
import re
from pathlib import Path

import pytest

from takeup.bellows.model import Basis
from takeup.documents import dossier as paper
from takeup.documents.mechanics import TWO_LIVES, mechanics
from takeup.documents.model import Dossier
from takeup.documents.words import named
from takeup.register.entities import JointType
from takeup.units import System
from tests.assess.demo_site import bare_cases, change, joint_cases, judge, verdicts

MADE = dt.datetime(2026, 9, 15, 12, tzinfo=dt.UTC)


def gathered(tag, case=None, system=System.METRIC):
    """A dossier of a demo joint."""
    return Dossier(
        system=system,
        case=case or joint_cases()[tag],
        verdict=verdicts()[tag] if case is None else judge(case),
        options=(),
        choice=None,
        decision=None,
        photos=(),
        photo_folder="",
        history=(),
        made=MADE,
    )


@pytest.mark.parametrize("tag", sorted(joint_cases()))
def test_every_joint_of_the_demo_is_drawn_and_told(tag):
    """A diagram for each joint, a drawing for each bellows, letters none left out."""
    found = mechanics(gathered(tag))
    letters = [letter for part in found.bellows for letter in part.letters]

    assert found.diagram.startswith("<svg")
    assert sorted(letters) == sorted(one.letter for one in joint_cases()[tag].bellows)
    for part in found.bellows:
        assert part.drawing.startswith("<svg"), part.fault


def test_the_rule_set_is_named_with_its_edition_and_whether_it_was_taken():
    """EJMA on record is stated; an unknown rule set is App. 26 and said to be taken."""
    known, taken = (mechanics(gathered(tag)).bellows[0] for tag in ("EJ-1502", "EJ-1402"))

    assert (known.basis, known.assumed) == (Basis.EJMA.value, False)
    assert known.edition
    assert (taken.basis, taken.assumed) == (Basis.ASME_26.value, True)


def test_allowed_and_mean_cycles_stand_apart_and_beyond_tests_no_number_is_printed():
    """Each movement has both columns; a mean life beyond the tests is 'over', never a number."""
    case = bare_cases()["EJ-1701"]
    straight = tuple(
        change(one, axial=-0.0042, lateral=None, angular=None) for one in case.movements
    )
    (part,) = mechanics(gathered("EJ-1701", change(case, movements=straight))).bellows
    (row,) = part.cycles

    assert row.allowed != row.mean
    assert row.mean.startswith("over")
    assert "beyond tests" in row.mean
    assert row.mean.endswith("*")
    assert "never the same number" in TWO_LIVES


def test_only_checks_that_come_out_otherwise_are_compared():
    """A row of the comparison has at least two different outcomes, and a reason stands by it."""
    for tag in ("EJ-1501", "EJ-1702", "EJ-1803"):
        for part in mechanics(gathered(tag)).bellows:
            for row in part.differences:
                words = {re.sub(r"[ \d.*]+$", "", outcome) for outcome in row.outcomes}
                assert len(words - {"no such check"}) > 1, row
            assert bool(part.differences) == bool(part.reasons)


def test_bellows_that_differ_are_told_apart():
    """Two equal bellows share a part; a thinner one gets its own."""
    case = joint_cases()["EJ-1301"]
    b = change(case.bellows[0], letter="B")
    same = change(case, bellows=(case.bellows[0], b), temperatures=())
    thin = change(same, bellows=(case.bellows[0], change(b, ply_thickness=0.0013)))

    assert [p.letters for p in mechanics(gathered("EJ-1301", same)).bellows] == [("A", "B")]
    assert [p.letters for p in mechanics(gathered("EJ-1301", thin)).bellows] == [("A",), ("B",)]


def test_the_load_path_shows_the_overloaded_weld():
    """The planted weld governs the path that is shown, in words and in the drawing."""
    (item,) = mechanics(gathered("EJ-1502")).hardware

    assert any("weld" in line and "NOT MET" in line for line in item.lines)
    assert "NOT MET" in item.drawing
    assert "design" in item.drawing


def test_what_was_seen_and_is_not_in_the_calculation_is_said():
    """A lost keeper is no part of the path: the page says so beside the sizes."""
    case = joint_cases()["EJ-1401"]
    sized = change(case, hardware=tuple(change(h, weld_leg=0.012) for h in case.hardware))
    (item,) = mechanics(gathered("EJ-1401", sized)).hardware

    assert any("keeper" in line for line in item.left_out)
    assert item.asked


def test_a_check_is_named_with_its_condition_once():
    """Operating, design and test stand in the name, and a dash never does."""
    names = [named(check) for check in verdicts()["EJ-1702"].checks]

    assert "Column squirm, operating" in names
    assert not any(name.endswith((", -", ", ")) for name in names)


@pytest.mark.parametrize("tag", ["EJ-1502", "EJ-1701", "EJ-1602"])
def test_the_dossier_is_set_with_them(tag, tmp_path):
    """The PDF is made in both systems of units with bellows and hardware in it."""
    for system in System:
        out = paper.render(gathered(tag, system=system), Path(tmp_path) / f"{system}.pdf")
        assert out.read_bytes().startswith(b"%PDF")


def test_what_cannot_be_true_is_said_and_the_rest_stands():
    """An impossible convolution and an impossible plate are named where they would be drawn."""
    case = joint_cases()["EJ-1402"]
    bad = change(
        case,
        bellows=tuple(change(b, height=0.010, pitch=0.090) for b in case.bellows),
        hardware=tuple(change(h, hole_diameter=0.9) for h in case.hardware),
    )
    found = mechanics(gathered("EJ-1402", bad))

    assert "make no convolution" in found.bellows[0].fault
    assert found.bellows[0].drawing == ""
    assert found.hardware[0].fault
    assert found.hardware[0].drawing == ""
    claims = [ground.claim for r in judge(bad).mechanisms for ground in r.grounds]
    assert any("sizes of 1402-H cannot be true" in claim for claim in claims)


def test_a_rectangular_duct_has_its_diagram_and_the_reason_why_no_more():
    """Nothing is worked out for it, and that is said by name."""
    case = joint_cases()["EJ-1803"]
    duct = change(case, joint=change(case.joint, type=JointType.RECTANGULAR))
    found = mechanics(gathered("EJ-1803", duct))

    assert found.bellows == ()
    assert "rectangular duct" in found.not_covered
    assert found.diagram.startswith("<svg")


def test_before_the_first_assessment_shape_and_rule_set_stand_without_results():
    """Without a verdict there is a drawing and no check, and nothing fails."""
    whole = gathered("EJ-1502")
    (part,) = mechanics(change(whole, verdict=None)).bellows

    assert part.drawing.startswith("<svg")
    assert (part.decided, part.nearest, part.differences) == (0, "", ())
