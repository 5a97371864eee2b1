"""What is said of the ply that is left: strength decides, life is told and promises nothing."""

import pytest

from takeup.assess.model import Level, Mechanism
from takeup.register.entities import MovementRole
from tests.assess.demo_site import bare_cases, change, judge

LEAKING = "EJ-1102"


def ply(case):
    """The ply mechanism."""
    return next(r for r in judge(case).mechanisms if r.mechanism is Mechanism.PLY)


def said(result):
    """Everything its grounds claim."""
    return " | ".join(ground.claim for ground in result.grounds)


def with_movement(case, **own):
    """Expected movements changed."""
    return change(
        case,
        movements=tuple(
            change(m, **own) if m.role is MovementRole.EXPECTED else m for m in case.movements
        ),
    )


def test_life_of_what_is_left_is_in_cycles_and_never_in_years():
    """Usage so far and cycles left against those expected stand among the grounds."""
    words = said(ply(bare_cases()[LEAKING]))

    assert "used so far" in words
    assert "expected to the next outage" in words
    assert "fatigue alone" in words
    assert "years" not in words


def test_too_few_cycles_left_are_said_loudly():
    """Ten thousand starts a year leave too few cycles: said in words, and no better verdict."""
    base = bare_cases()[LEAKING]
    worn = ply(with_movement(base, axial=-0.16, cycles=4000.0))

    assert "NOT enough" in said(worn)
    assert worn.level is not Level.CARRIES_ON
    assert worn.level in {Level.IN_DOUBT, Level.ACT_NOW}


@pytest.mark.parametrize("unknown", ["material", "movements"])
def test_without_what_it_rests_on_no_life_is_stated(unknown):
    """No alloy or no movement: cycles left are not evaluated, and the level stands."""
    base = bare_cases()[LEAKING]
    case = (
        change(base, movements=())
        if unknown == "movements"
        else change(base, bellows=tuple(change(b, material="") for b in base.bellows))
    )

    assert "cycles left for" not in said(ply(case))
    assert ply(case).level is Level.IN_DOUBT


def test_in_the_creep_range_no_life_is_stated_and_creep_is_asked_for():
    """Above the creep threshold the rule set ends, and the ground says who must go on."""
    base = bare_cases()[LEAKING]
    hot = change(
        base,
        bellows=tuple(
            change(b, metal_temperature=970.0, design_metal_temperature=980.0) for b in base.bellows
        ),
        temperatures=(),
    )
    words = said(ply(hot))

    assert "assessment of creep" in words
    assert "cycles left for" not in words
