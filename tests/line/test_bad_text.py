"""Texts meant to break the reader: each is told by line, and none ends in a traceback."""

from __future__ import annotations

import time

import pytest

from takeup.line.text import examine

JOINT = '[[joint]]\ntag = "EJ"\n[[joint.bellows]]\nlength = 0.3\naxial_rate = 3e5\nmean_diameter = 0.3\n'
TEXT = """line = "Q-1"
[[pipe]]
name = "p"
outside = "273.1 mm"
wall = "9.27 mm"
metal = "304H"
[[run]]
start = "a"
at = [0, 0, 0]
pipe = "p"
legs = [
  { east = "4 m", to = "b" },
  { along = "4 m", to = "k", bend = "long" },
  { north = "6 m", to = "c" },
]
[[anchor]]
station = "a"
[[anchor]]
station = "c"
[[rest]]
station = "b"
[[state]]
name = "hot"
pressure = "2 bar"
temperature = "300 C"
"""
FIRST = '{ east = "4 m", to = "b" }'


@pytest.mark.parametrize(
    ("old", "new", "line", "station", "says"),
    [
        ("at = [0, 0, 0]", "at = [1e300, 0, 0]", 9, "a", "at most"),
        ('east = "4 m"', "east = 1e300", 12, "b", "km from the origin"),
        ('bend = "long"', "bend = nan", 13, "k", "is nan"),
        (FIRST, '{ along = "-4 m", bearing = "90 deg", to = "b" }', 12, "b", "above 0"),
        (FIRST, '{ east = 1, rigid = "V", mass = 9, reducer = "p", to = "b" }', 12, "b", "at once"),
        (FIRST, '{ east = 1, mass = 9, to = "b" }', 12, "b", "mass without a rigid piece"),
        ('wall = "9.27 mm"', "wall = 1e-300", 5, "", "at least"),
        ('metal = "304H"', 'metal = "304H"\ninsulation = 1e300', 7, "", "at most"),
        ('station = "a"', 'station = "a"\ngrowth = { hot = [0, 0, 1e300] }', 18, "a", "at most"),
        ("[[rest]]", JOINT.replace("= 0.3\n", "= 1e300\n") + "[[rest]]", 23, "", "at most"),
        ('wall = "9.27 mm"', "wall = 1" + "0" * 400, 5, "", "finite"),
        ('wall = "9.27 mm"', "wall = 1" + "0" * 5000, 0, "", "thousands of digits"),
        ('pressure = "2 bar"', 'pressure = "-2 bar"', 24, "", "at least"),
        ('pressure = "2 bar"', "pressure = 1e300", 24, "", "at most"),
        ('temperature = "300 C"', 'temperature = "-300 C"', 25, "", "more than"),
        ('pressure = "2 bar"', "pressure = 0\nacceleration = [1e200, 0, 0]", 25, "", "at most"),
        ('metal = "304H"', 'metal = "304H"\nlining_thickness = 2', 7, "", "no room inside"),
        ('station = "b"', 'station = "b"\nfriction = nan', 22, "b", "finite"),
        ('to = "b"', 'to = ""', 12, "", "empty"),
        ('to = "b"', 'to = "b\\u001b[31m"', 12, "", "cannot be seen"),
        ('to = "b"', 'to = "\\u202eb"', 12, "", "cannot be seen"),
        ('to = "b"', f'to = "{"b" * 1000}"', 12, "", "1000 characters"),
        ('line = "Q-1"', 'line = " "', 1, "", "empty"),
        ("[[rest]]", '[[run]]\nstart = "b"\nlegs = []\n[[rest]]', 20, "b", "no legs"),
        ("[[rest]]", JOINT + "[[rest]]", 20, "", "on no leg"),
        ("[[rest]]", '[[tee]]\nstation = "q"\nkind = "welding tee"\n[[rest]]', 21, "q", "no station"),
        ("[[rest]]", '[[anchor]]\nname = "x"\nstation = "b"\nallowed = [1]\n[[rest]]', 23, "b", "six values"),
        ("pressure =", "notes = " + "[" * 3000 + "]" * 3000 + "\npressure =", 0, "", "too deeply"),
    ],
)  # fmt: skip
def test_a_hostile_text_is_told_by_line_and_station(old, new, line, station, says):
    """Every fault is one sentence at its line, with the station where one is near."""
    assert old in TEXT
    found = examine(TEXT.replace(old, new, 1))

    assert found.line is None
    hits = [fault for fault in found.faults if says in fault.wrong]
    assert [(one.line, one.station) for one in hits[:1]] == [(line, station)], found.faults
    assert all("\n" not in one.wrong and len(one.wrong) < 900 for one in found.faults)


def test_the_text_without_a_fault_is_a_line():
    """What the others spoil is sound."""
    assert examine(TEXT).faults == ()


def test_a_run_that_breaks_off_does_not_accuse_what_stands_beyond():
    """One zero leg is one fault: supports and runs behind it are not called lost."""
    behind = '[[run]]\nstart = "c"\npipe = "p"\nlegs = [{ north = 1, to = "d" }]\n'
    found = examine(TEXT.replace('east = "4 m"', "east = 0") + behind)

    assert [(one.line, one.station) for one in found.faults] == [(12, "b")]


def test_a_joint_stands_once_on_a_line():
    """The second leg with the same tag is told, with the line of the first."""
    text = TEXT.replace(
        FIRST,
        '{ east = 1, to = "b" },\n  { along = 0.5, joint = "EJ", to = "e" },\n'
        '  { along = 1, to = "f" },\n  { along = 0.5, joint = "EJ", to = "g" }',
    )
    found = examine(text + JOINT)

    assert [(one.line, one.station) for one in found.faults] == [(15, "g")]
    assert "line 13" in found.faults[0].wrong


def test_pins_along_their_joint_are_told_at_the_joint():
    """The axis of a hinge lies across."""
    text = TEXT.replace(FIRST, '{ east = 1, to = "b" },\n  { along = 0.5, joint = "EJ", to = "e" }')
    found = examine(text + JOINT + '[[joint.hardware]]\nhold = "hinge"\naxis = "east"\n')

    assert [(one.line, one.station) for one in found.faults] == [(13, "e")]


def test_two_thousand_faults_among_two_thousand_stations_are_told_at_once():
    """Looking for near names stays quick on a long text."""
    legs = "".join(f'  {{ along = 2, to = "s{n}" }},\n' for n in range(2000))
    text = TEXT.replace("\n]\n", "\n" + legs + "]\n", 1)
    text += "".join(f'[[rest]]\nstation = "zz{n}"\n' for n in range(2000))
    start = time.process_time()
    found = examine(text)

    assert len(found.faults) == 2000
    assert time.process_time() - start < 8.0


def test_a_temperature_without_a_unit_is_refused_with_the_three_it_may_be() -> None:
    """300 means degrees to whoever writes it and kelvin in SI: neither is taken."""
    text = TEXT.replace('temperature = "300 C"', "temperature = 300")
    assert text != TEXT

    found = examine(text)

    assert found.line is None
    (fault,) = [one for one in found.faults if "no unit" in one.wrong]
    assert fault.line == text[: text.index("temperature = 300")].count("\n") + 1
    assert '"300 C", "300 F" or "300 K"' in fault.wrong
