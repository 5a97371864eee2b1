"""Models of lines: kept whatever is wrong with them, filled from the register, never guessed."""

import msgspec
import pytest

from takeup.desk import lines
from takeup.errors import Refused, UnknownName
from takeup.line.model import Hold
from takeup.register.entities import Joint, LineModel


def test_a_joint_without_data_is_filled_from_the_register_and_the_rest_is_asked(demo_site):
    """Rates come from the bellows engine; an unknown rod circle keeps a joint out."""
    known, asked = lines.joints(demo_site, "12-SC")

    assert set(known) == {"EJ-1201", "EJ-1203"}
    assert known["EJ-1203"].hardware[0].hold == Hold.GIMBAL
    spring = known["EJ-1201"].bellows[0]
    assert spring.axial_rate < (spring.axial_rate_cold or 0.0)
    assert spring.mean_diameter == pytest.approx(1.33, rel=0.01)
    assert [words.split(":")[0] for words in asked] == ["EJ-1202"]
    assert "rod circle" in asked[0]


def test_the_demo_line_moves_its_joint_as_the_marks_say(demo_site):
    """Theory, what was expected and what was measured stand beside each other."""
    solved = lines.solved(demo_site, "12-SC")
    assert solved.report is not None
    assert all(state.usable for state in solved.report.states)
    compared = lines.compared(demo_site, solved.report)
    rows = [row for row in compared if row.joint == "EJ-1201"]
    theory = next(row for row in rows if row.by.startswith("theory"))
    marks = next(row for row in rows if row.by.startswith("marks"))
    assert theory.axial == pytest.approx(-0.042, abs=2e-3)
    assert marks.axial == pytest.approx(theory.axial, abs=3e-3)
    assert not marks.differs
    assert [row.joint for row in compared if row.differs] == ["EJ-1202", "EJ-1203"]


def test_a_text_with_faults_stays_kept_and_can_be_mended(demo_site):
    """Every revision is in the store; the mended one works."""
    good = lines.model(demo_site, "12-SC").text
    bad = good.replace('station = "spring"', 'station = "sprung"')

    kept = lines.keep(demo_site, "12-sc", bad, "A. Engineer", "spring moved")
    assert any("sprung" in words for words in kept.faults)
    assert kept.faults[0].startswith("line ")
    assert lines.model(demo_site, "12-SC").text == bad
    assert lines.solved(demo_site, "12-SC").report is None

    assert lines.keep(demo_site, "12-SC", good, "A. Engineer", "and back").faults == ()
    assert len(demo_site.store.history("line_model", "12-SC")) == 3


def test_a_joint_taken_out_of_the_register_is_a_fault_of_the_text(demo_site):
    """A length that is no longer known is asked for; the model cannot be worked out."""
    joint = demo_site.register().get(Joint, "EJ-1203")
    with demo_site.change("A. Engineer", "length in doubt") as change:
        change.put_many([msgspec.structs.replace(joint, face_to_face=None)])

    solved = lines.solved(demo_site, "12-SC")
    assert solved.report is None
    assert any("EJ-1203" in words for words in solved.faults)
    assert any("overall length" in words for words in solved.asked)


def test_nothing_is_kept_without_text_author_or_line(demo_site):
    """Each is refused in words and leaves the store as it was."""
    before = demo_site.store.last_change()
    with pytest.raises(Refused, match="empty"):
        lines.keep(demo_site, "12-SC", "  \n", "A", "r")
    with pytest.raises(Refused, match="who keeps"):
        lines.keep(demo_site, "12-SC", "line = 'x'", " ", "r")
    with pytest.raises(UnknownName):
        lines.keep(demo_site, "12-XX", "line = 'x'", "A", "r")
    with pytest.raises(UnknownName):
        lines.solved(demo_site, "18-ST")
    assert demo_site.store.last_change() == before


def test_models_are_kept_out_of_workbooks_and_written_whole_as_csv(demo_site, tmp_path):
    """A text of many lines is no cell to type in; CSV keeps it whole."""
    import csv

    from takeup.desk import exports

    exports.to_csv(demo_site, tmp_path)
    with (tmp_path / "line_model.csv").open(encoding="utf-8", newline="") as stream:
        (row,) = csv.DictReader(stream)
    assert row["text"].strip() == demo_site.register().all(LineModel)[0].text.strip()
