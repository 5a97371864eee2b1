"""Models of lines: kept whatever is wrong with them, filled from the register, never guessed."""

import msgspec
import pytest

from takeup.bellows import element
from takeup.desk import calculate, lines
from takeup.errors import Refused, UnknownName
from takeup.line.model import Hold
from takeup.register.entities import Hardware, Joint, JointType, LineModel
from takeup.register.entities import Line as RegisterLine


def test_a_joint_without_data_is_filled_from_the_register_and_the_rest_is_asked(demo_site):
    """Rates come from the bellows engine; rods of which a gap is unknown keep a joint out."""
    known, asked = lines.joints(demo_site, "12-SC")
    assert asked == ()
    assert set(known) == {"EJ-1201", "EJ-1202", "EJ-1203"}
    assert known["EJ-1203"].hardware[0].hold == Hold.GIMBAL
    spring = known["EJ-1201"].bellows[0]
    assert spring.axial_rate < (spring.axial_rate_cold or 0.0)
    assert spring.mean_diameter == pytest.approx(1.33, rel=0.01)
    (rods,) = known["EJ-1202"].hardware
    assert (rods.hold, rods.rods, rods.clock, rods.gap_in) == (Hold.TIED, 2, 3.0, 0.0)

    register = demo_site.register()
    (item,) = [h for h in register.of_joint(Hardware, "EJ-1202") if h.circle_diameter]
    with demo_site.change("A. Engineer", "never measured") as change:
        change.put_many([msgspec.structs.replace(item, gap_out=None, inner_nuts=None)])
    known, asked = lines.joints(demo_site, "12-SC")
    assert set(known) == {"EJ-1201", "EJ-1203"}
    assert [words.split(":")[0] for words in asked] == ["EJ-1202"]
    assert "gap at the outer nuts" in asked[0]
    assert "whether there are inner nuts" in asked[0]


def test_joints_are_held_as_their_type_and_hardware_say(demo_site):
    """Hinges by the clock, limit rods within gaps, thrust nowhere on what is balanced or free."""
    hinged, _ = lines.joints(demo_site, "14-EI")
    assert {d.hardware[0].clock for d in hinged.values()} == {3.0, 12.0}
    pair, _ = lines.joints(demo_site, "16-TS")
    assert pair["EJ-1601"].hardware[0].hold == Hold.HINGE
    assert len(pair["EJ-1601"].bellows) == 2
    assert pair["EJ-1603"].hardware == ()
    steam, _ = lines.joints(demo_site, "18-ST")
    (rods,) = steam["EJ-1801"].hardware
    assert (rods.hold, rods.rods, rods.gap_out, rods.gap_in) == (Hold.LIMIT, 3, 0.012, 0.070)
    assert steam["EJ-1803"].hardware == ()
    outlet, _ = lines.joints(demo_site, "15-EO")
    balanced = outlet["EJ-1501"]
    assert balanced.hardware[0].hold == Hold.BALANCED
    assert balanced.length is None
    one = calculate.from_register(demo_site, "EJ-1501", "A", theory=False)
    assert balanced.bellows[0].axial_rate == pytest.approx(2.0 * element(one).six[0, 0])


def test_an_in_line_balanced_joint_is_asked_for_its_rates_and_taken_by_them(demo_site):
    """Without rates of the data sheet nothing is made up; with them both rates are the told ones."""
    register = demo_site.register()
    joint = msgspec.structs.replace(
        register.get(Joint, "EJ-1501"), type=JointType.BALANCED_INLINE, face_to_face=2.0, spool=1.6
    )
    with demo_site.change("A. Engineer", "in-line in truth") as change:
        change.put_many([joint])
    known, asked = lines.joints(demo_site, "15-EO")
    assert "EJ-1501" not in known
    assert any("axial spring rate between the ends" in words for words in asked)

    told = msgspec.structs.replace(joint, axial_rate=400e3, angular_rate=90e3)
    with demo_site.change("A. Engineer", "data sheet found") as change:
        change.put_many([told])
    known, _ = lines.joints(demo_site, "15-EO")
    (bellows,) = known["EJ-1501"].bellows
    assert bellows.axial_rate == 400e3
    assert bellows.axial_rate * bellows.mean_diameter**2 / 8.0 == pytest.approx(90e3)
    assert known["EJ-1501"].hardware[0].hold == Hold.BALANCED


def test_theory_what_is_expected_and_what_was_measured_stand_beside_each_other(demo_site):
    """Where an anchor has slipped, its joint alone is off the theory."""
    solved = lines.solved(demo_site, "18-ST")
    assert solved.report is not None
    assert all(state.usable for state in solved.report.states)
    compared = lines.compared(demo_site, solved.report)
    rows = [row for row in compared if row.joint == "EJ-1802"]
    theory = next(row for row in rows if row.by.startswith("theory"))
    marks = next(row for row in rows if row.by.startswith("marks"))
    assert theory.axial == pytest.approx(-0.050, abs=2e-3)
    assert marks.axial == pytest.approx(theory.axial, abs=3e-3)
    assert not marks.differs
    assert [row.joint for row in compared if row.differs] == ["EJ-1801"]


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


def test_a_text_headed_by_another_line_is_told(demo_site):
    """What was pasted into the wrong line solves, and says first whose heading it has."""
    text = lines.model(demo_site, "12-SC").text
    assert not lines.looked_at(demo_site, "12-SC", text).report.cautions[0].startswith("The text")
    other = lines.looked_at(demo_site, "12-SC", text.replace('line = "12-SC"', 'line = "11-RC"'))
    assert "headed line '11-RC' and is kept for 12-SC" in other.report.cautions[0]


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
    assert demo_site.store.last_change() == before


def test_a_line_without_a_model_is_told_apart_from_an_unknown_one(demo_site):
    """It is in the register and has nothing to work out."""
    other = msgspec.structs.replace(demo_site.register().get(RegisterLine, "18-ST"), tag="19-NO")
    with demo_site.change("A. Engineer", "new line") as change:
        change.put_many([other])
    assert lines.model(demo_site, "19-NO") is None
    with pytest.raises(UnknownName, match="model of line"):
        lines.solved(demo_site, "19-NO")


def test_models_are_kept_out_of_workbooks_and_written_whole_as_csv(demo_site, tmp_path):
    """A text of many lines is no cell to type in; CSV keeps it whole."""
    import csv

    from takeup.desk import exports

    exports.to_csv(demo_site, tmp_path)
    with (tmp_path / "line_model.csv").open(encoding="utf-8", newline="") as stream:
        rows = {row["line"]: row["text"].strip() for row in csv.DictReader(stream)}
    kept = {one.line: one.text.strip() for one in demo_site.register().all(LineModel)}
    assert len(kept) == 8
    assert rows == kept
