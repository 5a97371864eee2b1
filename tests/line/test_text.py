"""A line as text: stations in space, bends at corners, every fault by line and station."""

from __future__ import annotations

from pathlib import Path

import pytest

from takeup.line import model as m
from takeup.line.text import BadLine, examine, read, write

TEXT = (Path(__file__).parents[2] / "examples" / "line.toml").read_text(encoding="utf-8")


def places(line):
    """Station positions, and the pieces and supports without their line numbers."""

    def bare(one):
        return (type(one).__name__, *(getattr(one, k) for k in one.__struct_fields__ if k != "at"))

    parts = [bare(one) for one in (*line.pieces, *line.supports, *line.states, *line.tees)]
    return {one.name: one.position for one in line.stations}, parts


def test_a_bend_takes_its_tangents_from_both_legs():
    """A long bend of 10 in pipe has 381 mm radius, and the legs end at its tangent points."""
    line = read(TEXT)
    where = {one.name: one.position for one in line.stations}
    bend = next(one for one in line.pieces if isinstance(one, m.Bend))

    assert bend.radius == pytest.approx(0.381)
    assert where["knee.in"] == pytest.approx((6.619, 0.0, 12.0))
    assert where["knee.out"] == pytest.approx((7.0, 0.381, 12.0))
    assert TEXT.splitlines()[bend.at - 1].strip().startswith('{ along = "2 m", to = "knee"')


def test_a_line_written_reads_back_as_the_same_line():
    """Text, line, text, line: nothing is lost."""
    line = read(TEXT)

    assert places(read(write(line))) == places(line)


@pytest.mark.parametrize(
    ("old", "new", "line_holds", "says"),
    [
        ('metal = "304H"\ninsulation', 'metal = "304Q"\ninsulation', "304Q", "not known"),
        ('pipe = "branch"\nlegs', 'pipe = "brunch"\nlegs', 'up = "2 m"', "did you mean branch"),
        ('along = "3 m", to = "rest one"', 'along = 0.0, to = "rest one"', "along = 0.0", "no length"),
        ('up = "2 m"', 'up = "200 mm"', "200 mm", "shorter than its bends need"),
        ('joint = "EJ-101"', 'joint = "EJ-110"', "EJ-110", "did you mean EJ-101"),
        ('station = "rest one"', 'station = "rest on"', "rest on", "did you mean rest one"),
        ('station = "knee.out"', 'station = "knee"', '"knee"', "corner of a bend"),
        ('temperature = "540 C"', 'temperature = "900 C"', "[[state]]", "outside"),
        ('{ bearing', '{ at = [7,9,9], bearing', "bearing", "states its end twice"),
        ('start = "tee"', 'start = "te"', "[[run]]", "no run reaches"),
        (', bend = "long" },\n  { north', " },\n  { north", '"knee"', "without a bend"),
        ('to = "branch end"', 'to = "cooler"', "bearing", "misses it by"),
        ('station = "branch end"', 'station = "vessel nozzle"\nname = "b"', "[[anchor]]", "second anchor"),
        ("growth = { hot", "growth = { hit", "hit", "did you mean hot"),
        ('[[tee]]', '[[stop]]\nstation = "tee"\ngap = "3 mm"\n[[tee]]', "[[stop]]", "gap without a direction"),
        ('[[pipe]]\nname = "branch"', '[[pipe]]\nname = "header"', "[[pipe]]", "defined twice"),
        ('[[tee]]', '[[station]]\nname = "lost"\nat = [1, 1, 1]\n[[tee]]', "[[station]]", "not connected"),
        ('outside = "168.3 mm"', 'outside = "168.3"', "168.3", "without a unit"),
    ],
)  # fmt: skip
def test_a_fault_names_its_line_and_what_would_be_right(old, new, line_holds, says):
    """Each kind of fault is found at its line of the text."""
    assert old in TEXT
    text = TEXT.replace(old, new, 1)
    found = examine(text)

    assert found.line is None
    hits = [fault for fault in found.faults if says in fault.wrong]
    assert hits, [fault.words() for fault in found.faults]
    assert line_holds in text.splitlines()[hits[0].line - 1]


def test_all_faults_are_told_at_once():
    """Two faults in two places are both told, with the name of the file."""
    text = TEXT.replace('"rest one"\nfriction', '"nowhere"\nfriction').replace(
        'EJ-101"\n[', 'EJ-9"\n['
    )
    with pytest.raises(BadLine, match=r"lines\.toml") as caught:
        read(text, file="lines.toml")

    assert len(caught.value.faults) == 2


CODES = """
[[weld]]
station = "rest one"
kind = "fillet weld"
leg = "8 mm"

[[factor]]
station = "knee"
source = "Shell analysis 14"
i_in = 3.1
k_in = 9.5

[[factor]]
piece = ["branch end", "turn.out"]
source = "Fatigue test 7"
i_out = 1.8

[[factor]]
station = "tee"
part = "branch"
source = "ASME B31J, bought copy"
i_in = 2.4
k_out = 3.0

[[tee]]"""
HEAD = 'cycles = 2000\nfactors = "B31J"\nallowable_range = "1b"\ncold_spring = "50 %"'


def chosen() -> str:
    """The example with every key of codes and factors."""
    text = TEXT.replace("cycles = 2000", HEAD).replace("[[tee]]", CODES, 1)
    return text.replace('tag = "EJ-101"', 'tag = "EJ-101"\ndesign = { angular = "3 deg" }', 1)


def test_codes_and_factors_are_chosen_and_stated_in_the_text():
    """Book, equation, cold spring, welds, and stated factors by corner, piece and branch."""
    line = read(chosen())

    assert line.factors is m.Book.B31J
    assert line.range_rule is m.RangeRule.LIBERAL
    assert line.cold_spring == 0.5
    knee, leg, branch = line.stated
    assert knee.piece == ("knee.in", "knee.out")
    assert (knee.i_in, knee.i_out, knee.k_in) == (3.1, None, 9.5)
    assert leg.piece == ("turn.out", "branch end")
    assert (branch.station, branch.part) == ("tee", m.OfTee.BRANCH)
    assert line.welds[0].leg == pytest.approx(0.008)
    joint = next(one for one in line.pieces if isinstance(one, m.Joint))
    assert joint.design is not None
    assert joint.design.axial is None


def test_codes_and_factors_are_written_and_read_back():
    """Nothing that is chosen or stated is lost in text."""
    line = read(chosen())
    again = read(write(line))

    def bare(many):
        return [tuple(getattr(one, k) for k in one.__struct_fields__ if k != "at") for one in many]

    assert bare(again.stated) == bare(line.stated)
    assert bare(again.welds) == bare(line.welds)
    assert (again.factors, again.range_rule, again.cold_spring) == (
        line.factors, line.range_rule, line.cold_spring,
    )  # fmt: skip
    assert places(again) == places(line)


@pytest.mark.parametrize(
    ("old", "new", "line_holds", "says"),
    [
        ('factors = "B31J"', 'factors = "B31K"', "B31K", "Appendix D"),
        ('allowable_range = "1b"', 'allowable_range = "2"', '"2"', "1a"),
        ('source = "Shell analysis 14"', 'source = " "', "source", "no source"),
        ('source = "Shell analysis 14"\n', "", "[[factor]]", "source"),
        ("i_in = 3.1", "i_in = 0.4", "0.4", "1"),
        ("i_in = 3.1", "i_in = 3.1\nk_axial = 2", "k_axial = 2", "k_axial"),
        ('station = "knee"\nsource', 'station = "nee"\nsource', "nee", "did you mean knee"),
        ('["branch end", "turn.out"]', '["branch end", "turm.out"]', "turm", "no piece goes"),
        ('["branch end", "turn.out"]', '["branch end"]', "branch end", "starts and ends"),
        ('part = "branch"', 'part = "branches"', "branches", "run"),
        ("i_out = 1.8", "i_out = 1.8\nk_in = 2", "k_in = 2", "for a bend"),
        ('station = "tee"\npart', 'station = "rest one"\npart', "part", "no [[tee]]"),
        ('station = "rest one"\nkind', 'station = "knee"\nkind', '"knee"', "corner of a bend"),
        ('kind = "fillet weld"', 'kind = "butt weld"', "leg", "fillet weld"),
        ('role = "hot"', 'role = "warm"', "warm", "occasional"),
        ('role = "hot"', 'role = "hot"\nacceleration = [0.2, 0]', "acceleration", "[east, north, up]"),
        ("design = { angular", "design = { angle", "design", "angle"),
        ('hold = "hinge"', 'hold = "hinge"\nrod_metal = "tin"', "rod_metal", "tin"),
    ],
)  # fmt: skip
def test_a_fault_of_codes_and_factors_names_its_line(old, new, line_holds, says):
    """Each kind of fault is found at its line of the text, and all raise with the file's name."""
    text = chosen()
    assert old in text
    text = text.replace(old, new, 1)
    found = examine(text)

    hits = [fault for fault in found.faults if says in fault.wrong]
    assert hits, [fault.words() for fault in found.faults]
    assert line_holds in text.splitlines()[hits[0].line - 1]
    with pytest.raises(BadLine, match=r"my-line\.toml"):
        read(text, file="my-line.toml")
