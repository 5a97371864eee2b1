"""Models of lines reach verdicts: solved once, diagnosed where marks are off, faults told."""

import msgspec
import numpy as np
import pytest

from takeup.assess.model import Mechanism
from takeup.assess.verdict import assess
from takeup.desk import assess as verb
from takeup.desk import dossier, lines
from takeup.desk.cases import cases
from takeup.desk.diagnosis_words import clock, opens_at, sides
from takeup.desk.theory import Theories, Worked
from takeup.evidence.facts import (
    LineQuantity,
    LineReading,
    LineState,
    MarkReading,
    Observation,
)
from takeup.line.diagnosis import Kind, Reading, faults, faults_of, model
from takeup.line.diagnosis.predict import exact
from takeup.options.catalogue import options
from takeup.options.model import Truth
from takeup.register.entities import Joint, OptionName
from tests.assess.test_verdict import mechanism, words

JOINTS = ("EJ-1201", "EJ-1202", "EJ-1203")
replace = msgspec.structs.replace


def of(found, tag):
    """The case or verdict of one joint."""
    return next(one for one in found if getattr(one, "joint", None) == tag
                or getattr(getattr(one, "joint", None), "tag", "") == tag)  # fmt: skip


def plant(site, place, what, size=0.0):
    """Set the marks of line 12-SC as a fault at ``place`` would leave them.

    The marks are what the whole line solved again with that fault shows.
    """
    line = lines.solved(site, "12-SC").line
    wanted = [
        Reading(kind=Kind.JOINT, place=tag, part=part, error=7e-4)
        for tag in JOINTS
        for part in ("axial", "angular 1", "angular 2")
    ]
    wanted.append(Reading(kind=Kind.INDICATOR, place="12-S1", error=1e-3))
    (fault,) = [
        f for f in faults_of(line) if (f.place, f.what) == (place, what) and size in {0.0, f.size}
    ]
    values = [float(v) for v in exact(model(line, tuple(wanted)), [fault])]
    new, found = [], sides(line)
    for n, tag in enumerate(JOINTS):
        axial, *turns = values[3 * n : 3 * n + 3]
        own = site.register().of_joint(MarkReading, tag)
        radius = site.register().bellows(tag)[0].inside_diameter / 2.0
        twelve, three = (np.array(way) for way in clock(found, tag))
        opens = sum(
            turn * np.array(opens_at(found, tag, part))
            for turn, part in zip(turns, ("angular 1", "angular 2"), strict=True)
        )
        cold = {m.clock: m.length for m in own if m.state is LineState.COLD}
        side = {12: twelve, 3: three, 6: -twelve, 9: -three}
        new += [
            replace(m, length=cold[m.clock] + axial + radius * float(opens @ side[m.clock]))
            for m in own
            if m.state is LineState.HOT
        ]
    hot, cold = (
        {m.visit for m in own if m.state is s}.pop() for s in (LineState.HOT, LineState.COLD)
    )
    new += [
        LineReading(
            visit=visit, line="12-SC", place="12-S1", quantity=LineQuantity.POINTER, state=state,
            length=length, uncertainty=1e-3,
        )
        for visit, state, length in ((cold, LineState.COLD, 0.0), (hot, LineState.HOT, values[-1]))
    ]  # fmt: skip
    with site.change("A. Engineer", "marks read again") as change:
        change.put_many(new)


def movement(verdict):
    """Movement and fatigue."""
    return mechanism(verdict, Mechanism.MOVEMENT)


def test_a_planted_fault_is_named_in_the_verdict_of_the_joint_it_holds_back(demo_site):
    """A seized spring whose pointer hardly moved: named with its chance; a like joint waits."""
    plant(demo_site, "12-S1", "seized")
    gathered = cases(demo_site, tags=["EJ-1203"])
    (found,) = assess(gathered)
    (ground,) = [g for g in movement(found).grounds if "at fault:" in g.claim]

    assert ground.claim.startswith("neighbour at fault: variable spring 12-S1 ")
    assert "pinned at its cold position" in ground.claim
    assert "), over 0.99" in ground.claim
    assert "support_fault" in found.causes
    assert "12-G1" not in words(movement(found))
    new = next(o for o in options(gathered[0], found) if o.name is OptionName.REPLACE)
    assert new.fits_cause is False


def test_a_fault_seen_only_from_afar_is_a_hint_until_somebody_looked(demo_site):
    """A guide seized on the line of EJ-1201, no reading there: a look is asked for, and then it counts."""
    plant(demo_site, "12-G2", "seized")
    (found,) = assess(cases(demo_site, tags=["EJ-1201"]))
    assert "at fault:" not in words(movement(found))
    assert "12-G2 seized" in words(movement(found))
    assert any("a look at 12-G2" in line for line in movement(found).missing)

    looked = demo_site.register().of_joint(Observation, "EJ-1201")[-1]
    with demo_site.change("A. Engineer", "walked") as change:
        change.put_many([replace(looked, item="HS2", place="12-G2", grade=3, text="welded solid")])
    (found,) = assess(cases(demo_site, tags=["EJ-1201"]))
    (ground,) = [g for g in movement(found).grounds if "at fault:" in g.claim]
    assert "12-G2 seized" in ground.claim
    assert ground.claim.endswith("seen so: welded solid")


def test_marks_of_a_sound_line_start_no_diagnosis(demo_site):
    """Marks as the sound line makes them: nobody is named, and why there is no diagnosis is kept."""
    plant(demo_site, "12-S1", "load", 0.5)  # moves this line like a sound spring
    gathered = cases(demo_site, tags=list(JOINTS))

    assert gathered[0].theory.diagnosis is None
    assert "nothing to explain" in gathered[0].theory.undiagnosed
    for found in assess(gathered):
        assert "at fault:" not in words(movement(found))
        assert "support_fault" not in found.causes


def test_a_joint_half_locked_accuses_no_sound_guide(demo_site, monkeypatch):
    """Bars of 300 kN/mm look like a seized guide beside them: a hint to look, and no more.

    Diagnosis looks for one stiffness of what is locked; this fault is not among those.
    """
    with monkeypatch.context() as soft:
        soft.setattr(faults, "HOLDS", 3e8)
        plant(demo_site, "EJ-1201", "locked")
    (case,) = cases(demo_site, tags=["EJ-1201"])
    (found,) = assess((case,))

    assert case.theory.diagnosis is not None
    assert "neighbour at fault:" not in words(movement(found))
    assert "support_fault" not in found.causes


def test_where_no_fault_on_the_model_fits_it_is_said_and_nobody_is_blamed(demo_site):
    """Marks that no single or pair of faults makes: readings and model are to be checked."""
    marks = demo_site.register().of_joint(MarkReading, "EJ-1202")
    with demo_site.change("A. Engineer", "read from the wrong mark") as change:
        change.put_many(
            [replace(m, length=m.length + 0.025) for m in marks if m.state is LineState.HOT]
        )
    (case,) = cases(demo_site, tags=["EJ-1202"])
    (found,) = assess((case,))

    assert case.theory.diagnosis.chance < case.limits.value("diagnosis.fits")
    assert any("no single fault or pair" in line for line in movement(found).missing)
    assert "at fault:" not in words(movement(found))
    assert "support_fault" not in found.causes


def test_every_joint_on_the_line_has_its_movements_pulls_and_locked_state(demo_site):
    """Ends and bellows by letter, thrust in the pins, what gives first with the joint locked."""
    (case,) = cases(demo_site, tags=["EJ-1203"])
    theory, own = case.theory, case.theory.of("ej-1203")
    report = lines.solved(demo_site, "12-SC").report
    whole = next(m for m in report.ranges if m.tag == "EJ-1203" and m.number is None)

    assert theory.solved
    assert (theory.cold, theory.hot) == report.between
    assert theory.revision == 1
    assert own.move(theory.hot).axial == pytest.approx(whole.axial, abs=1e-9)
    assert {m.bellows for m in own.moves} == {"-", "A"}
    assert {m.bellows for m in theory.of("EJ-1201").moves} == {"-", "A", "B"}
    pins = next(p for p in own.pulls if p.state == theory.hot)
    assert pins.thrust == pytest.approx(theory.pressure * 1.389, rel=0.02)
    assert own.locked.part
    assert own.locked.share > 0.0
    assert own.locked.when
    assert theory.residual < 1e-6
    assert {load.name for load in theory.loads} >= {"12-N1", "12-A1", "12-S1"}


def test_an_unchanged_line_is_not_solved_again_and_a_changed_one_is(demo_site):
    """A second gathering of all joints solves nothing; another text or mark solves its line."""
    demo_site.theories = Theories()
    first = cases(demo_site)
    count = demo_site.theories.solved
    assert count >= 1
    again = cases(demo_site)
    assert demo_site.theories.solved == count
    assert of(again, "EJ-1201").theory is of(first, "EJ-1203").theory

    text = lines.model(demo_site, "12-SC").text.replace('"-10 mm"', '"-12 mm"')
    lines.keep(demo_site, "12-SC", text, "A. Engineer", "growth of the nozzle read")
    (changed,) = cases(demo_site, tags=["EJ-1201"])
    assert demo_site.theories.solved == count + 1
    assert changed.theory.key != of(first, "EJ-1201").theory.key
    assert changed.theory.revision == 2

    mark = demo_site.register().of_joint(MarkReading, "EJ-1202")[0]
    with demo_site.change("A. Engineer", "misread") as change:
        change.put_many([replace(mark, length=mark.length + 0.001)])
    cases(demo_site, tags=["EJ-1201"])
    assert demo_site.theories.solved == count + 2


def test_a_line_that_cannot_be_worked_out_tells_its_fault_and_the_verdict_goes_on(demo_site):
    """The station and line of the text stand in the request; the entered movement is used."""
    good = lines.model(demo_site, "12-SC").text
    lines.keep(
        demo_site, "12-SC", good.replace('station = "spring"', 'station = "sprung"'), "A", "slip"
    )
    (found,) = assess(cases(demo_site, tags=["EJ-1201"]))

    assert "sprung" in words(movement(found))
    assert "entered, not computed" in words(movement(found))
    (check,) = [c for c in movement(found).checks if c.id.startswith("marks.theory")]
    assert "theory -60.5 mm" in check.because
    box = next(
        o
        for o in options(cases(demo_site, tags=["EJ-1201"])[0], found)
        if o.name is OptionName.BOX_IN
    )
    locked = next(c for c in box.conditions if c.id == "locked")
    assert locked.truth is Truth.UNKNOWN
    assert "not evaluated by a line model" in locked.because


def test_a_line_whose_numbers_break_down_stops_no_other_joint(demo_site, monkeypatch):
    """An error of arithmetic is told as a fault of its line; every joint has its verdict."""

    def broken(*_, **__):
        raise np.linalg.LinAlgError("Singular matrix")

    monkeypatch.setattr(lines, "solved", broken)
    found = assess(cases(demo_site))

    assert len(found) == len(demo_site.register().all(Joint))
    told = words(movement(of(found, "EJ-1201")))
    assert "its numbers break down (LinAlgError: Singular matrix)" in told
    assert "entered, not computed" in told


def test_progress_rises_over_joints_and_lines(demo_site):
    """Shares never fall, end at one, and a line under way is named."""
    told = []
    cases(demo_site, progress=lambda share, words: told.append((share, words)))
    shares = [share for share, _ in told]

    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert "working out line 12-SC" in [words for _, words in told]


def test_a_joint_that_the_model_leaves_out_is_told_so(demo_site):
    """Pipe in place of EJ-1203: the others are computed, EJ-1203 goes by what was entered."""
    good = lines.model(demo_site, "12-SC").text
    lines.keep(demo_site, "12-SC", good.replace(', joint = "EJ-1203"', ""), "A", "left out")
    found = assess(cases(demo_site, tags=["EJ-1201", "EJ-1203"]))

    assert "should move from cold to hot" in words(movement(of(found, "EJ-1201")))
    assert "EJ-1203 is not on the model" in words(movement(of(found, "EJ-1203")))


def test_boxing_in_is_judged_by_the_locked_line_beside_the_answer(demo_site):
    """What gives first and by how much stands in the condition, with the cautions of the lock."""
    (case,) = cases(demo_site, tags=["EJ-1203"])
    (found,) = assess((case,))
    box = next(o for o in options(case, found) if o.name is OptionName.BOX_IN)
    locked = next(c for c in box.conditions if c.id == "locked")
    share = case.theory.of("EJ-1203").locked.share

    assert locked.truth is (Truth.NOT_MET if share > 1.0 else Truth.UNKNOWN)
    assert f"{share:.2f}" in locked.because
    assert locked.evidence[0] == "line_model:12-SC"
    assert any("the lock must come off before the line cools down" in c for c in box.cautions)


def test_verdicts_of_the_verb_and_of_the_dossier_rest_on_the_same_theory(demo_site):
    """The stored hash is that of the case the dossier gathers."""
    from takeup.assess.verdict import hash_of

    verb.run(demo_site, tags=["EJ-1201"])
    made = dossier.dossier(demo_site, "EJ-1201")

    assert made.verdict.inputs_hash == hash_of(made.case)
    assert made.case.theory is not None


def test_only_the_newest_lines_are_kept():
    """A cache of two forgets the one used longest ago."""
    from takeup.assess.theory import Theory

    def made(key):
        return Worked(theory=Theory(line="x", key=key, revision=1))

    kept = Theories(keep=2)
    for key in "ab":
        kept.put(key, made(key))
    kept.get("a")
    kept.put("c", made("c"))

    assert kept.get("b") is None
    assert kept.get("a").theory.key == "a"
    assert kept.solved == 3
