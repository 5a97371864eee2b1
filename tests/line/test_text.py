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
