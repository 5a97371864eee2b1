"""A case goes out of the register and its geometry comes back, unknown left alone."""

import msgspec
import pytest

from takeup.bellows.model import Convolution
from takeup.desk import calculate
from takeup.errors import Refused, UnknownName


def test_a_case_from_the_register_proposes_no_change(demo_site):
    """What was just read differs in nothing."""
    case = calculate.from_register(demo_site, "EJ-1101", "A")

    assert calculate.proposal(demo_site, case, "EJ-1101", "A").changes == ()


def test_what_the_case_does_not_know_leaves_the_register_alone(demo_site):
    """A missing pitch does not erase the pitch of the register."""
    case = calculate.from_register(demo_site, "EJ-1101", "A")
    gone = msgspec.structs.replace(case, missing=("pitch",), pitch=float("nan"), plies=3)
    found = calculate.proposal(demo_site, gone, "EJ-1101", "A")

    assert [change.name for change in found.changes] == ["plies"]
    assert found.element.pitch == case.pitch


def test_a_new_letter_is_a_new_bellows(demo_site):
    """A letter that the joint lacks is proposed as new, with every known field."""
    case = calculate.example("Single, one ply")
    found = calculate.proposal(demo_site, case, "EJ-1101", "c")

    assert (found.new, found.element.letter) == (True, "C")
    assert {"pitch", "plies", "material"} <= {change.name for change in found.changes}
    saved = calculate.save(
        demo_site, case, "EJ-1101", "c", seen=found.seen, author="E", reason="third bellows"
    )
    assert calculate.bellows_of(demo_site, "EJ-1101", "C") == saved.element


def test_what_the_register_has_no_field_for_is_named(demo_site):
    """A case tells more than the register keeps; what would be lost is said."""
    case = calculate.from_register(demo_site, "EJ-1101", "A")
    odd = msgspec.structs.replace(case, forming_factor=0.8)

    assert "Forming factor" in calculate.proposal(demo_site, odd, "EJ-1101", "A").not_kept


def test_saving_needs_a_name_a_reason_and_a_known_joint(demo_site):
    """Refused in words, and nothing is stored."""
    case = calculate.example("Single, one ply")
    found = calculate.proposal(demo_site, case, "EJ-1101", "A")
    before = demo_site.store.last_change()

    for author, reason in (("", "r"), ("E", " ")):
        with pytest.raises(Refused, match="author and a reason"):
            calculate.save(
                demo_site, case, "EJ-1101", "A", seen=found.seen, author=author, reason=reason
            )
    with pytest.raises(UnknownName, match="Did you mean"):
        calculate.proposal(demo_site, case, "EJ-1011", "A")
    with pytest.raises(Refused, match="which bellows"):
        calculate.proposal(demo_site, case, "EJ-1101", " ")
    assert demo_site.store.last_change() == before


def test_every_example_is_a_case_that_is_worked_out():
    """Examples are sound, and at least the plain ones are covered."""
    from takeup.bellows import evaluate

    for name, case in calculate.examples().items():
        report = evaluate(case)
        assert report.name == name
        if case.convolution == Convolution.U_PLAIN:
            assert report.valid
