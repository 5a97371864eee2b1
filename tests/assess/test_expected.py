"""Expected movement comes from the model of the line where it solves; what was entered is told."""

import pytest

from takeup.assess import build, expected, verdict
from takeup.assess.hardware import hardware_case
from takeup.assess.model import SEVERITY, Level, Mechanism
from takeup.assess.theory import JointTheory, Pull, Theory
from takeup.checks import Outcome, Strength
from takeup.register.entities import MovementRole
from takeup.units import System
from tests.assess.demo_site import bare_cases, bare_verdicts, change, judge
from tests.assess.modelled import COLD, HOT, load, modelled, move, theory
from tests.assess.test_verdict import mechanism, words

SOUND = "EJ-1101"  # entered -4.0 mm axially, 22.5 mm laterally; marks 0.3 mm


def plain(text):
    """Text with plain minus and spaces."""
    return text.replace("\u2212", "-").replace("\u00a0", " ")


def movement(found):
    """Movement and fatigue of a verdict."""
    return mechanism(found, Mechanism.MOVEMENT)


def check(result, id):
    """One check of a mechanism."""
    return next(one for one in result.checks if one.id == id)


def test_marks_are_compared_with_the_model_and_not_with_what_was_entered():
    """The model says -12 mm where -4 mm was entered and measured: the marks are off."""
    plain, off = bare_verdicts()[SOUND], judge(modelled(SOUND, move(-0.012)))

    assert check(movement(plain), "marks.theory@-").outcome is Outcome.MET
    assert check(movement(off), "marks.theory@-").outcome is Outcome.NOT_MET
    assert "theory -12.0 mm" in movement(off).summary


def test_the_ground_names_the_model_its_revision_and_its_states():
    """Computed movement is a calculated ground whose evidence is the model, with its residual."""
    found = movement(judge(modelled(SOUND, move(-0.004, lateral=(0.02, 0.0)))))
    (ground,) = [g for g in found.grounds if "should move" in g.claim]

    assert "model of line 11-RC, revision 3" in ground.claim
    assert "-4.0 mm axially, 20.0 mm laterally" in plain(ground.claim)
    assert ground.evidence[0] == "line_model:11-RC"
    assert HOT in ground.rule
    assert ground.strength is Strength.CALCULATED
    assert "11-RC" in ground.source.cite()


def test_fatigue_counts_the_movement_of_the_model_in_both_planes():
    """The bellows engine gets the model's movement with the entered cycles."""
    case = modelled(SOUND, move(-0.006, lateral=(0.03, -0.01), angular=(0.001, -0.002)))
    (made,) = build.movements(case)
    (plain,) = build.movements(bare_cases()[SOUND])

    assert (made.axial, made.lateral, made.lateral_across) == (-0.006, 0.03, 0.01)
    assert (made.angular, made.angular_across) == (0.002, 0.001)
    assert (made.cycles, made.done) == (plain.cycles, plain.done)
    assert plain.lateral == pytest.approx(0.0225)
    usage = [dict(judge(c).evaluation.bellows)["A"].usage for c in (case, bare_cases()[SOUND])]
    assert usage[0] > usage[1]


def test_a_contradiction_with_what_was_entered_is_told_and_asked_about():
    """Both values stand in a check and a ground; neither fails the joint by itself."""
    case = modelled(SOUND, move(-0.004))
    rows = tuple(
        change(m, axial=-0.02) if m.role is MovementRole.EXPECTED else m for m in case.movements
    )
    found = judge(change(case, movements=rows))
    told = check(movement(found), "movement.entered")

    assert told.outcome is Outcome.NOT_MET
    assert "entered -20.0 mm" in plain(told.because)
    assert "-4.0 mm: they contradict" in plain(told.because)
    assert any("which movement of EJ-1101 is right" in line for line in movement(found).missing)
    assert any("they contradict" in ground.claim for ground in movement(found).grounds)
    assert found.level is bare_verdicts()[SOUND].level
    assert movement(found).causes == ()


def test_movements_are_told_in_the_units_of_the_site():
    """An American site reads inches, with their sign; nothing has no sign."""
    case = modelled(SOUND, move(0.0508))
    american = change(case, plant=change(case.plant, units=System.US))

    assert "+2.00 in axially" in plain(expected.ground(american).claim)
    assert "+50.8 mm axially" in plain(expected.ground(case).claim)
    still = change(case, theory=theory(case, move(1e-6)))
    assert "hot 0.0 mm axially" in plain(expected.ground(still).claim)


def test_bellows_take_the_growth_of_their_spool_too():
    """Ends close by 6 mm while the spool grows by 3: both bellows together take 9."""
    moves = (move(-0.006), move(-0.005, bellows="A"), move(-0.004, bellows="B"))
    (made,) = build.movements(modelled(SOUND, *moves))
    assert made.axial == pytest.approx(-0.009)
    assert expected.axial(modelled(SOUND, *moves)) == -0.006


def test_within_the_band_of_agreement_nothing_is_contradicted():
    """4 mm of difference is inside the band of 5 mm; 6 mm is not."""
    for axial, outcome in ((-0.008, Outcome.MET), (-0.010, Outcome.NOT_MET)):
        made = expected.contradiction(modelled(SOUND, move(axial)))
        assert made.outcome is outcome


def test_without_a_model_it_is_said_that_nothing_computed_the_movement():
    """The entered movement counts as told, with its basis; a model is asked for."""
    found = movement(bare_verdicts()[SOUND])
    (ground,) = [g for g in found.grounds if "entered, not computed" in g.claim]

    assert "line 11-RC has no model" in ground.claim
    assert "basis on record" in ground.claim
    assert ground.strength is Strength.TOLD
    assert any("a model of line 11-RC" in line for line in found.missing)


def test_a_model_that_cannot_be_worked_out_names_its_fault_and_the_entered_movement_goes_on():
    """The verdict is that of the entered movement; the fault stands in ground and request."""
    fault = "line 12: station 'sprung' is not on the line"
    broken = Theory(line="11-RC", key="k", revision=2, faults=(fault, "and another"), asked=("x",))
    found = judge(change(bare_cases()[SOUND], theory=broken))

    assert found.level is bare_verdicts()[SOUND].level
    assert check(movement(found), "marks.theory@-").outcome is Outcome.MET
    assert fault in words(movement(found))
    assert "(and 1 more)" in words(movement(found))
    assert f"the model of line 11-RC mended: {fault}" in movement(found).missing
    assert expected.triple(change(bare_cases()[SOUND], theory=broken))[0] == -0.004


def test_a_joint_that_is_not_on_the_model_is_asked_onto_it():
    """A model that solves without this joint says nothing of it."""
    case = bare_cases()[SOUND]
    other = theory(case, joints=(JointTheory(tag="EJ-1102", moves=(move(-0.02),)),))
    found = judge(change(case, theory=other))

    assert found.level is bare_verdicts()[SOUND].level
    assert "EJ-1101 is not on the model of line 11-RC" in words(movement(found))
    assert "EJ-1101 put on the model of line 11-RC" in movement(found).missing


def test_the_bellows_of_a_universal_is_compared_with_its_own_element():
    """Marks of bellows A meet the movement of bellows A, not that of the whole joint."""
    case = modelled(SOUND, move(-0.010), move(-0.004, bellows="A"), move(-0.006, bellows="B"))
    marks = tuple(change(m, bellows="A") for m in case.marks)
    found = judge(change(case, marks=marks))

    assert expected.axial(case, "a") == -0.004
    assert check(movement(found), "marks.theory@A").outcome is Outcome.MET
    assert check(movement(judge(case)), "marks.theory@-").outcome is Outcome.NOT_MET


def test_other_cases_stay_as_entered_unless_a_state_bears_their_name():
    """The main case is the hot state; 'steam-out' is the state of that name; the rest is entered."""
    case = modelled(SOUND, move(-0.005), move(-0.009, state="Steam-out"))
    (normal,) = [m for m in case.movements if m.role is MovementRole.EXPECTED]
    more = tuple(change(normal, name=name, axial=-0.001) for name in ("steam-out", "upset"))
    made = build.movements(change(case, movements=(*more, *case.movements)))

    assert {m.name: m.axial for m in made} == {
        "normal": -0.005, "steam-out": -0.009, "upset": -0.001,
    }  # fmt: skip


def test_cycles_are_asked_for_where_only_the_model_knows_the_movement():
    """A computed movement without cycles on record leaves fatigue open."""
    case = modelled(SOUND, move(-0.004))
    rated = tuple(m for m in case.movements if m.role is MovementRole.RATED)
    found = movement(judge(change(case, movements=rated)))

    assert check(found, "marks.theory@-").outcome is Outcome.MET
    assert "how often a year EJ-1101 makes its expected movement" in found.missing
    assert found.level is Level.UNPROVEN


@pytest.mark.parametrize(
    ("given", "id"),
    [({"temperature": 700.0}, "growth.temperature"), ({"pressure": 9e5}, "growth.pressure")],
)
def test_a_hot_state_that_is_not_the_one_on_record_is_asked_about(given, id):
    """Another metal temperature or pressure than measured fails no joint, but is not silent."""
    found = judge(modelled(SOUND, move(-0.004), **given))

    assert check(movement(found), id).outcome is Outcome.NOT_MET
    assert any("not the one on record" in line for line in movement(found).missing)
    assert found.level is bare_verdicts()[SOUND].level
    agreed = judge(modelled(SOUND, move(-0.004)))
    assert check(movement(agreed), id).outcome is Outcome.MET


def test_the_whole_load_on_an_anchor_is_judged_beside_the_thrust_alone():
    """By the model 1.2 MN on an anchor of 0.9 MN: it cannot wait; unknown stays not evaluated."""
    case = bare_cases()["EJ-1201"]
    held = theory(case, move(-0.042), loads=(load("12-N1", 3e5), load("12-A1", 1.2e6)))
    found = mechanism(judge(change(case, theory=held)), Mechanism.THRUST)

    assert check(found, "thrust.12-N1.model@operating").outcome is Outcome.MET
    assert check(found, "thrust.12-A1.model@operating").outcome is Outcome.NOT_MET
    assert check(found, "thrust.12-A1@operating").outcome is Outcome.MET
    assert found.level is Level.ACT_NOW
    other = change(case, theory=change(held, loads=(load("12-N1", 3e5), load("A1", 1.2e6))))
    asked = mechanism(judge(other), Mechanism.THRUST)
    assert any("main anchor 12-A1 in the model of line 12-SC" in m for m in asked.missing)
    assert not any("12-N1 in the model" in m for m in asked.missing)
    assert asked.level is Level.CARRIES_ON
    unknown = tuple(change(s, capacity=None) for s in case.supports)
    open_ = mechanism(judge(change(case, theory=held, supports=unknown)), Mechanism.THRUST)
    assert check(open_, "thrust.12-A1.model@operating").outcome is Outcome.NOT_EVALUATED


def test_pins_get_the_loads_of_the_model_where_none_is_on_record():
    """Along: what the pins pull beyond the thrust; across: their shear. What is on record stays."""
    case = bare_cases()["EJ-1401"]
    (item,) = [h for h in case.hardware if h.item == "1401-H"]
    pull = Pull(part="pins of bellows 1", state=HOT, force=4e5, across=7e3, thrust=3.8e5)
    joint = JointTheory(tag="EJ-1401", moves=(move(0.0, angular=(0.01, 0.0)),), pulls=(pull,))
    on = change(case, theory=theory(case, joints=(joint,)))
    evaluation = bare_verdicts()["EJ-1401"].evaluation
    bare = change(item, weight_along=None, weight_across=None, lateral_load=None)
    made = hardware_case(on, bare, evaluation)

    assert made.weight_along == pytest.approx(2e4)
    assert (made.weight_across, made.lateral_load) == (0.0, 7e3)
    assert made.conditions[0].angular == pytest.approx(0.01)
    known = hardware_case(on, change(bare, weight_along=5.0, weight_across=6.0), evaluation)
    assert (known.weight_along, known.weight_across, known.lateral_load) == (5.0, 6.0, None)
    assert hardware_case(case, bare, evaluation).weight_along is None
    uncounted = hardware_case(change(on, movements=()), bare, evaluation)
    assert uncounted.conditions[0].angular == pytest.approx(0.01)


def test_a_support_beyond_what_the_model_allows_keeps_the_neighbours_from_carrying_on():
    """A spring out of travel by the model: this run only, named; one far away is left out."""
    from takeup.checks import LimitKind, compare
    from takeup.sources import practice

    case = bare_cases()[SOUND]
    out = [
        compare(
            id=f"travel.{name}@{HOT}", name=f"Travel of spring {name}, {HOT}", demand=0.05,
            capacity=0.04, kind="movement", source=practice("x"), limit_kind=LimitKind.DERIVED,
        )
        for name in ("11-S1", "11-FAR")
    ]  # fmt: skip
    far = change(case.supports[0], tag="11-FAR", position=500.0)
    made = change(
        case,
        supports=(*case.supports, far),
        theory=theory(case, move(-0.004), checks=tuple(out)),
    )
    found = mechanism(judge(made), Mechanism.NEIGHBOURS)

    assert [c.id for c in found.checks] == [f"travel.11-S1@{HOT}"]
    assert found.level is Level.THIS_RUN
    assert "Travel of spring 11-S1" in found.summary


def test_a_spring_load_on_record_that_is_not_the_models_is_asked_about():
    """42 kN on record, 60 kN by the model: told with both, no level moved; 44 kN agrees."""
    case = bare_cases()[SOUND]
    supports = tuple(
        change(s, cold_load=42e3, hot_load=None) if s.tag == "11-S1" else s for s in case.supports
    )
    for size, outcome in ((60e3, Outcome.NOT_MET), (44e3, Outcome.MET)):
        model = theory(case, move(-0.004), loads=(load("11-S1", -size, COLD),))
        found = mechanism(
            judge(change(case, supports=supports, theory=model)), Mechanism.NEIGHBOURS
        )
        assert check(found, f"spring.11-S1@{COLD}").outcome is outcome
        asked = [line for line in found.missing if "which load of a spring" in line]
        assert bool(asked) == (outcome is Outcome.NOT_MET)
        assert all("60.0 kN by the model and 42.0 kN on record" in plain(line) for line in asked)
        assert found.level is Level.CARRIES_ON


def test_the_hash_of_a_verdict_follows_the_key_of_the_theory():
    """A model, another key, or none: three hashes."""
    case = modelled(SOUND, move(-0.004))
    other = change(case, theory=change(case.theory, key="other"))
    hashes = {verdict.hash_of(c) for c in (case, other, bare_cases()[SOUND])}

    assert len(hashes) == 3


def test_a_model_that_agrees_with_what_was_entered_moves_no_verdict():
    """The same movement, computed: every mechanism at the same level."""
    for tag in (SOUND, "EJ-1103", "EJ-1402"):
        case = bare_cases()[tag]
        (row,) = [m for m in case.movements if m.role is MovementRole.EXPECTED]
        same = move(row.axial, lateral=(row.lateral, 0.0), angular=(0.0, row.angular))
        found = judge(change(case, theory=theory(case, same)))
        for one, other in zip(found.mechanisms, bare_verdicts()[tag].mechanisms, strict=True):
            assert SEVERITY[one.level] == SEVERITY[other.level], (tag, one.mechanism)
