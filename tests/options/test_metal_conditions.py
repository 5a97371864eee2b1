"""Conditions on the metal: an answer from site decides, else what heat and acid did speaks."""

import msgspec
import pytest

from takeup.assess import verdict as judging
from takeup.checks import Check, Outcome
from takeup.evidence.facts import Answer, Observation
from takeup.options import metal
from takeup.options.model import Truth
from takeup.sources import assumption
from tests.assess.demo_site import joint_cases


def _judged(*checks):
    """EJ-1303 with these checks in the place of all that it has."""
    case = joint_cases()["EJ-1303"]
    (found,) = judging.assess((case,))
    results = tuple(
        msgspec.structs.replace(result, checks=checks if "metal after" in result.mechanism else ())
        for result in found.mechanisms
    )
    return case, msgspec.structs.replace(found, mechanisms=results)


def _check(id, outcome, because="20 000 h at 540 to 760 °C"):
    return Check(
        id=id, name="No ageing of alloy 625, bellows A", outcome=outcome,
        source=assumption("test"), because=because,
    )  # fmt: skip


def _weldable(case, verdict):
    return metal.answered(
        case, verdict, "O4", "weldable", "Cuffs weldable", "does a bead pass?", places=("A",)
    )


def test_spoilt_metal_is_not_weldable_until_a_piece_shows_otherwise():
    """What is expected from the hours blocks, and names the check and the item that would tell."""
    condition = _weldable(*_judged(_check("metal.aged@A", Outcome.NOT_MET)))

    assert condition.truth is Truth.NOT_MET
    assert condition.evidence == ("check:metal.aged@A",)
    assert "item O4" in condition.because


def test_a_bead_that_passed_goes_before_what_was_worked_out():
    """What was tried on site decides."""
    case, verdict = _judged(_check("metal.aged@A", Outcome.NOT_MET))
    tried = Observation(
        joint="EJ-1303", visit=case.visits[-1].id, item="O4", place="-", answer=Answer.YES
    )
    case = msgspec.structs.replace(case, observations=(*case.observations, tried))

    assert _weldable(case, verdict).truth is Truth.MET


@pytest.mark.parametrize(
    "check",
    [
        _check("metal.sensitised@A", Outcome.NOT_MET),
        _check("metal.aged@A", Outcome.NOT_EVALUATED, "possible, not shown: 400 h"),
    ],
    ids=["altered, weldable with care", "possible"],
)
def test_what_does_not_decide_stays_a_question_with_its_reason(check):
    """The question is still asked, and says what speaks against."""
    condition = _weldable(*_judged(check))

    assert condition.truth is Truth.UNKNOWN
    assert "does a bead pass?" in condition.because
    assert "ageing of alloy 625" in condition.because


@pytest.mark.parametrize(
    "check",
    [
        _check("metal.aged@A", Outcome.MET),
        _check("metal.aged@pipe", Outcome.NOT_MET),
        _check("metal.aged@A", Outcome.NOT_EVALUATED, "no hours at temperature are on record"),
    ],
    ids=["sound", "another place", "no history"],
)
def test_nothing_calculated_makes_a_condition_met(check):
    """Sound hours, another metal or no history leave it to be asked."""
    condition = _weldable(*_judged(check))

    assert condition.truth is Truth.UNKNOWN
    assert condition.because == "does a bead pass? (item O4)"
