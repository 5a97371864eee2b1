"""A diagnosis becomes a ground by a stated rule: healthy neighbours are not accused."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeup.assess import suspects as suspecting
from takeup.assess.model import Level, Mechanism
from takeup.checks import Strength
from takeup.evidence.facts import Observation
from takeup.options.catalogue import options
from takeup.options.model import Truth
from takeup.register.entities import OptionName
from tests.assess.demo_site import TODAY, bare_cases, bare_verdicts, change, judge
from tests.assess.modelled import diagnosis, fault, modelled, move, pointer
from tests.assess.test_verdict import mechanism, words

SOUND = "EJ-1101"  # marks -3.9 mm, entered -4.0 mm
S1, V1 = fault("11-S1"), fault("11-V1")
SPRING = ([((S1,), 0.83)], [((), 0.10)])
"""11-S1 seized, 0.83; all sound, 0.10."""


def off(*bundles, axial=-0.030, entered=-0.030, **more):
    """The sound joint with a model that says -30 mm where -4 mm was measured."""
    case = modelled(SOUND, move(axial), diagnosis=diagnosis(*bundles, **more))
    rows = tuple(change(m, axial=entered) if m.role == "expected" else m for m in case.movements)
    return change(case, movements=rows)


def movement(found):
    """Movement and fatigue of a verdict."""
    return mechanism(found, Mechanism.MOVEMENT)


def seen(case, place, grade, item="HS3"):
    """The case with a look of today at one support."""
    visit = change(case.visits[-1], id="now", date=TODAY)
    look = Observation(
        visit="now", joint=SOUND, item=item, place=place, grade=grade, text="rod bent"
    )
    return change(case, visits=(*case.visits, visit), observations=(*case.observations, look))


def test_a_fault_above_the_limit_is_accused_with_its_chance():
    """The support and its fault are the ground, the cause and the summary of the neighbours."""
    found = judge(off(*SPRING))
    claim = "neighbour at fault: 11-S1 seized at its cold position, 0.83"
    (ground,) = [g for g in movement(found).grounds if g.claim.startswith("neighbour at fault")]

    assert ground.claim == claim
    assert ground.strength is Strength.CALCULATED
    assert "line_model:11-RC" in ground.evidence
    assert "support_fault" in found.causes
    assert "over_travel" not in movement(found).causes
    assert "by diagnosis 11-S1 seized" in movement(found).summary
    beside = mechanism(found, Mechanism.NEIGHBOURS)
    assert beside.level is Level.THIS_RUN
    assert "By diagnosis of the marks, not seen yet: 11-S1" in beside.summary
    assert any("11-S1 found sound on site" in line for line in movement(found).would_change)
    assert any("look at the support on site before" in line for line in found.cautions)


def test_a_chance_below_the_limit_stays_a_hint_and_the_site_may_move_the_limit():
    """0.70 accuses nobody at 80 %; a site that takes 65 % does."""
    case = off([((S1,), 0.70)], [((), 0.20)])
    found = judge(case)

    assert "neighbour at fault:" not in words(movement(found))
    assert "hint, not shown: 11-S1 seized at its cold position, 0.70; 0.70 is below 0.80" in words(
        movement(found)
    )
    assert "support_fault" not in found.causes
    assert "over_travel" in found.causes
    assert any("a look at 11-S1" in line for line in movement(found).missing)
    assert any("position indicator at 11-V1" in line for line in movement(found).missing)
    bold = change(case, limits=case.limits.with_value("diagnosis.accuse", 0.65, "x"))
    assert "support_fault" in judge(bold).causes
    quiet = judge(off([((S1,), 0.25)], [((), 0.70)]))
    assert "11-S1" not in words(movement(quiet))


def test_chances_of_one_place_add_up_over_singles_and_pairs():
    """Alone, with another, and another fault of the same place: 0.85 together, each named."""
    stop = fault("11-S1", "lower stop", "on its lower stop when cold")
    case = off([((S1,), 0.40), ((stop,), 0.35)], [((S1, V1), 0.10)], [((), 0.15)])
    judged = suspecting.suspects(case, bare_verdicts()[SOUND].evaluation)

    assert [one.fault.place for one in judged.accused] == ["11-S1"]
    assert judged.accused[0].words == (
        "11-S1 seized at its cold position (or on its lower stop when cold), 0.85"
    )
    assert judged.together is None


def test_no_chance_is_told_as_certain():
    """A posterior of one is over 0.99, of nothing under 0.01; between them two decimals."""
    assert [suspecting.in_words(x) for x in (1.0, 0.994, 0.5, 0.001)] == [
        "over 0.99", "0.99", "0.50", "under 0.01",
    ]  # fmt: skip
    assert "seized at its cold position, over 0.99" in words(movement(judge(off([((S1,), 1.0)]))))


def test_what_cannot_be_told_apart_stays_together_with_the_reading_that_would():
    """Two springs, 0.45 and 0.44: neither is accused; the group and its reading are asked about."""
    found = judge(off([((S1,), 0.45), ((V1,), 0.44)], [((), 0.11)]))
    told = words(movement(found))

    assert "neighbour at fault:" not in told
    assert (
        "cannot be told apart: 11-S1 seized at its cold position or 11-V1 seized at its cold "
        "position, together 0.89" in told
    )
    (ask,) = [line for line in movement(found).missing if "it would split" in line]
    assert ask.startswith("support load at 11-S1, hot: ")
    assert ask in movement(found).would_change
    assert "support_fault" not in found.causes


def test_where_nothing_fits_nobody_is_accused_or_hinted_at():
    """A misfit with a chance of 0.1 % asks for readings and model, whatever the posterior."""
    found = judge(off(*SPRING, chance=1e-3))

    assert "11-S1" not in words(movement(found))
    assert suspecting.NOT_FITTED in movement(found).missing
    assert "support_fault" not in found.causes


def test_a_support_seen_as_drawn_is_a_hint_and_one_seen_bad_is_shown_so():
    """What a current walk saw speaks before what is inferred."""
    clear = judge(seen(off(*SPRING), "11-S1", 0))
    assert "neighbour at fault:" not in words(movement(clear))
    assert "11-S1 was seen as drawn on 2026-09-15: look at it again" in words(movement(clear))
    assert "support_fault" not in clear.causes

    bad = judge(seen(off(*SPRING), "11-S1", 3))
    (ground,) = [g for g in movement(bad).grounds if g.claim.startswith("neighbour at fault")]
    assert ground.claim.endswith("; seen so: rod bent")
    assert any(ref.startswith("observation:") for ref in ground.evidence)
    other = judge(seen(off(*SPRING), "11-V1", 0))
    assert "support_fault" in other.causes


def test_nobody_is_accused_from_afar():
    """Certain by marks of joints alone: a hint, until a reading there is off or it was seen bad."""
    sure = ([((S1,), 0.999)],)
    afar = judge(off(*sure, read=("11-V1",)))
    assert "neighbour at fault:" not in words(movement(afar))
    assert "nothing read or seen at 11-S1 itself speaks for it" in words(movement(afar))
    assert "support_fault" not in afar.causes
    assert any("a look at 11-S1" in line for line in movement(afar).missing)

    for measured, accused in ((0.0165, False), (0.0155, True)):  # sound: 20 mm, 2 mm at one sigma
        case = off(*sure)
        told = change(case.theory.diagnosis, readings=(pointer("11-S1", measured),))
        found = judge(change(case, theory=change(case.theory, diagnosis=told)))
        assert ("support_fault" in found.causes) is accused

    assert "support_fault" in judge(seen(off(*sure, read=()), "11-S1", 3)).causes


def test_marks_that_agree_with_the_entered_movement_put_the_model_in_doubt():
    """-4 mm entered and measured, -30 mm by the model: the model is to be checked first."""
    found = judge(off(*SPRING, entered=-0.004))

    assert "neighbour at fault:" not in words(movement(found))
    assert "check the model" in words(movement(found))
    assert "support_fault" not in found.causes


def test_a_joint_whose_own_marks_agree_blames_nobody():
    """A diagnosis made for another joint of the line is no ground here."""
    found = judge(off(*SPRING, axial=-0.004))

    assert "11-S1" not in words(movement(found))
    assert found.level is bare_verdicts()[SOUND].level
    assert found.causes == bare_verdicts()[SOUND].causes


def test_the_cause_follows_from_whose_fault_it_is():
    """The joint itself packed or seized, a neighbouring joint seized, the line run otherwise."""
    packed = fault(SOUND, "stiffened", "stiffened by packing", support=False)
    locked = fault(SOUND, "locked", "locked by shipping bars", support=False)
    other = fault("EJ-1103", "pins", "pins seized", support=False)
    heat = fault("process temperature", "other", "other than recorded", support=False)
    for who, cause, claim in (
        (packed, "packed", "joint at fault: EJ-1101 stiffened by packing, 0.90"),
        (locked, "hardware", "joint at fault: EJ-1101 locked by shipping bars, 0.90"),
        (other, "support_fault", "neighbour at fault: EJ-1103 pins seized, 0.90"),
        (heat, "over_travel", "marks explained by: process temperature other than recorded, 0.90"),
    ):
        found = judge(off([((who,), 0.9)], [((), 0.1)]))
        assert claim in words(movement(found))
        assert movement(found).causes == (cause,)
        beside = mechanism(found, Mechanism.NEIGHBOURS)
        assert (beside.level is Level.THIS_RUN) == (who is other)
        assert any(
            ("temperature of the line" if who is heat else who.place) in line
            for line in movement(found).would_change
        )


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.floats(0.01, 1.0), min_size=4, max_size=4),
    st.floats(1e-4, 1.0),
)
def test_nobody_below_the_limit_is_ever_accused(weights, chance):
    """Whatever the posterior, an accused place has its share of it and a fit behind it."""
    whole = sum(weights)
    a, b, both, sound = (weight / whole for weight in weights)
    case = off([((S1,), a)], [((V1,), b)], [((S1, V1), both)], [((), sound)], chance=chance)
    judged = suspecting.suspects(case, bare_verdicts()[SOUND].evaluation)
    accused = {one.fault.place for one in judged.accused}

    assert ("11-S1" in accused) == (a + both >= 0.8 and chance >= 0.01)
    assert ("11-V1" in accused) == (b + both >= 0.8 and chance >= 0.01)


def test_a_like_joint_is_no_remedy_for_a_support_at_fault():
    """Replacing does not mend it and asks for the support first; setting it right does."""
    case = off(*SPRING)
    found = {option.name: option for option in options(case, judge(case))}
    new = found[OptionName.REPLACE]

    assert new.fits_cause is False
    assert "look at the support, set it right" in new.cause_note
    cause = next(c for c in new.conditions if c.id == "cause")
    assert cause.truth is Truth.UNKNOWN
    assert "set right and were the marks read again" in cause.because
    assert found[OptionName.CLAMSHELL].fits_cause is False
    assert found[OptionName.IN_PLACE].fits_cause is True
    plain = {o.name: o for o in options(bare_cases()[SOUND], bare_verdicts()[SOUND])}
    assert plain[OptionName.REPLACE].fits_cause is not False


def test_a_reading_too_coarse_to_judge_by_starts_no_suspicion():
    """Marks good to 60 mm cannot show that 26 mm are missing."""
    case = off(*SPRING)
    coarse = change(case, marks=tuple(change(m, uncertainty=0.06) for m in case.marks))

    assert "neighbour at fault:" not in words(movement(judge(coarse)))
    assert pytest.approx(0.0, abs=1.5e-3) == bare_verdicts()[SOUND].evaluation.movements[0].axial
