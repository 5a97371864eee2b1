"""The line of a joint in its dossier: computed figures with their certificate, or what is missing."""

import re

import pytest

from takeup.assess.theory import Theory
from takeup.desk import assess, dossier
from takeup.documents import dossier as paper
from takeup.documents.line_part import line_part
from takeup.units import System
from tests.assess.demo_site import change, joint_cases
from tests.assess.modelled import diagnosis, fault, load, modelled, move
from tests.assess.test_suspects import off
from tests.documents.test_mechanics import gathered


@pytest.fixture
def whole(demo_site):
    """The dossier of a joint on the modelled line of the demo site."""
    assess.run(demo_site, tags=["EJ-1203"])
    return dossier.dossier(demo_site, "EJ-1203")


def test_the_line_is_drawn_with_its_joint_ringed_and_its_figures_beside(whole):
    """Drawing, certificate, loads of anchor and nozzle, pins, stresses with clause, lock."""
    part = line_part(whole)
    theory = whole.case.theory

    assert part.why_not == ""
    assert part.drawing.startswith("<svg")
    assert "this joint" in part.drawing
    assert "on stream" in part.drawing
    assert re.search(r"residual of \de-\d+", part.certificate)
    assert f"revision {theory.revision}" in part.model
    names = [row[0] for row in part.loads if row[0]]
    assert names[0] == "12-N1 (nozzle)"
    assert "12-A1 (anchor)" in names
    assert {row[1] for row in part.loads} == {theory.cold, theory.hot}
    assert any(row[0].startswith("pins") for row in part.pulls)
    assert any("B31.3" in row["source"] for row in part.stresses)
    assert part.stress_words.endswith("shown.")
    assert any("first" in line or "nearest" in line for line in part.locked)
    assert part.lock_cautions
    assert part.cautions


def test_theory_entered_measured_and_rated_stand_in_one_row():
    """One row a quantity, in the units of the site; unknown is said."""
    case = modelled("EJ-1101", move(-0.005, lateral=(0.03, 0.04)), move(-0.002, bellows="A"))
    part = line_part(gathered("EJ-1101", case))
    rows = {row[0].split(",")[0]: dict(zip(part.move_heads, row, strict=True))
            for row in part.moves}  # fmt: skip

    assert part.move_heads == (
        "cold to hot", "theory", "bellows A", "entered", "measured", "rated",
    )  # fmt: skip
    axial = rows["axial"]
    assert (axial["theory"], axial["bellows A"], axial["entered"], axial["rated"]) == (
        "\u22125.0\u00a0mm", "\u22122.0\u00a0mm", "\u22124.0\u00a0mm", "\u221212.0\u00a0mm",
    )  # fmt: skip
    assert axial["measured"].startswith(("0.", "\u22120."))
    assert "±" in axial["measured"]
    assert rows["lateral"]["theory"] == "50.0\u00a0mm"
    assert rows["lateral"]["measured"] == "not read"
    assert rows["angular"]["rated"] == "unknown"
    american = line_part(gathered("EJ-1101", case, system=System.US))
    assert american.moves[0][1].endswith("in")


@pytest.mark.parametrize(
    ("model", "said", "asked"),
    [
        (None, "line 11-RC has no model", "a model of line 11-RC"),
        (
            Theory(line="11-RC", key="k", revision=1, faults=("line 3: no pipe 'x'",)),
            "line 3: no pipe 'x'",
            "mended",
        ),
        (
            Theory(line="11-RC", key="k", revision=1, cold="a", hot="b"),
            "EJ-1101 is not on the model",
            "put on the model",
        ),
    ],
)
def test_without_a_model_that_has_the_joint_the_reason_stands_and_nothing_is_drawn(
    model, said, asked
):
    """No model, a broken one, one without the joint: each in words, with what to give."""
    part = line_part(gathered("EJ-1101", change(joint_cases()["EJ-1101"], theory=model)))

    assert said in part.why_not
    assert "as entered" in part.why_not
    assert any(asked in line for line in part.asked)
    assert (part.drawing, part.moves, part.loads) == ("", (), ())


def test_the_diagnosis_tells_whom_it_accuses_and_draws_readings_only_where_there_are_some():
    """An accused support, hints only, nothing that fits, no diagnosis: four sentences."""
    accused = line_part(gathered("EJ-1101", off([((fault("11-S1"),), 0.9)])))
    assert accused.diagnosis.startswith("At fault by the stated rule: 11-S1 seized")
    assert "looked at on site before" in accused.diagnosis
    assert accused.groups[0][:2] == ("0.90", "11-S1 seized at its cold position")

    hints = line_part(gathered("EJ-1101", off([((fault("11-S1"),), 0.5)])))
    assert hints.diagnosis.startswith("No fault is likely enough")
    sound = line_part(gathered("EJ-1101", off([((), 0.7), ((fault("11-S1"),), 0.2)])))
    assert "cannot be told from those of a sound line" in sound.diagnosis
    unfit = line_part(gathered("EJ-1101", off([((fault("11-S1"),), 0.9)], chance=1e-4)))
    assert "nobody is accused" in unfit.diagnosis
    none = line_part(
        gathered("EJ-1101", modelled("EJ-1101", move(-0.004), undiagnosed="marks agree"))
    )
    assert none.diagnosis == "No diagnosis: marks agree."
    beside = modelled("EJ-1101", move(-0.004), diagnosis=diagnosis([((fault("11-S1"),), 0.9)]))
    agree = line_part(gathered("EJ-1101", beside))
    assert agree.diagnosis.startswith("The marks of this joint agree with the model")


def test_supports_that_carry_nothing_are_named_in_a_line_of_their_own():
    """A guide without load has no row; an anchor without load keeps its."""
    idle = change(load("11-G1", 0.0), kind="guide")
    part = line_part(
        gathered("EJ-1101", modelled("EJ-1101", move(-0.004), loads=(load("11-A1", 0.0), idle)))
    )

    assert [row[0] for row in part.loads] == ["11-A1 (anchor)"]
    assert part.idle == ("11-G1",)


def test_the_paper_carries_the_line(whole, tmp_path):
    """The PDF is set with the line's pages; without a model too."""
    made = paper.render(whole, tmp_path / "a.pdf")
    assert made.read_bytes().startswith(b"%PDF")
    bare = change(whole, case=change(whole.case, theory=None), line=None, line_state=None)
    plain = paper.render(bare, tmp_path / "b.pdf")

    assert len(made.read_bytes()) > len(plain.read_bytes())
