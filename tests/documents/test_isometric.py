"""The isometric drawing of a line: true bends, symbols told, numbers, marks, no overlaps."""

import xml.etree.ElementTree as ET
from pathlib import Path

import msgspec
import numpy as np
import pytest

from takeup.checks import Outcome
from takeup.documents.drawing import WEB
from takeup.documents.drawing.isometric import isometric
from takeup.documents.drawing.isometric_parts import carried, curve, project
from takeup.errors import Contradiction
from takeup.line.model import Bend, Straight
from takeup.line.results import judge
from takeup.line.solve import prepare, solve
from takeup.line.text import read
from takeup.units import System

SVG = "{http://www.w3.org/2000/svg}"
TEXT = Path(__file__).parents[2] / "examples" / "line.toml"


@pytest.fixture(scope="module")
def solved():
    made = read(TEXT.read_text(encoding="utf-8"))
    line = getattr(made, "line", made)
    ready = prepare(line)
    states = solve(ready)
    return line, states, judge(ready, states, cold="cold", hot="hot").checks


def texts(svg):
    return list(ET.fromstring(svg).iter(f"{SVG}text"))


def words(svg):
    return ["".join(one.itertext()) for one in texts(svg)]


def boxes(svg):
    found = []
    for one in texts(svg):
        size, said = float(one.get("font-size")), "".join(one.itertext())
        wide, x, y = 0.5 * size * len(said), float(one.get("x")), float(one.get("y"))
        left = {"start": x, "middle": x - wide / 2, "end": x - wide}[one.get("text-anchor")]
        found.append((left, y - 0.75 * size, left + wide, y + 0.2 * size, said))
    return found


@pytest.mark.parametrize("width", [560, 760, 1240])
def test_no_words_overlap_and_all_stay_inside(solved, width):
    """At every width no two texts share a place, and none leaves the drawing."""
    line, states, checks = solved
    svg = isometric(line, states[-1], checks=checks, width=width, palette=WEB)
    height = float(ET.fromstring(svg).get("height"))
    found = boxes(svg)
    for k, (left, top, right, bottom, said) in enumerate(found):
        assert left >= 0 and right <= width and top >= 0 and bottom <= height, said
        for l2, t2, r2, b2, other in found[k + 1 :]:
            assert not (left < r2 and right > l2 and top < b2 and bottom > t2), (said, other)


def test_every_station_and_joint_is_named(solved):
    """Names of stations and tags of joints stand in the drawing, with or without a result."""
    line, _, _ = solved
    said = words(isometric(line, width=1240))
    assert {one.name for one in line.stations} | {"EJ-101", "XV-12", "N"} <= set(said)


def test_numbers_are_those_of_the_state_in_the_units_asked_for(solved):
    """Anchor loads and joint movements are written from the result, in kN or lbf."""
    line, states, _ = solved
    hot = states[-1]
    force = hot.reaction(line.supports[0].name).force
    metric = isometric(line, hot, width=1240)
    assert "F " + " / ".join(f"{v / 1e3:.1f}" for v in force) + " kN" in words(metric)
    assert f"axial {hot.joint('EJ-101').axial * 1e3:+.1f} mm" in words(metric)
    us = isometric(line, hot, width=1240, system=System.US)
    assert "F " + " / ".join(f"{v / 4.4482216152605:.0f}" for v in force) + " lbf" in words(us)


def test_what_rounds_to_zero_is_drawn_without_a_sign(solved):
    """A reaction of -20 N, a moment of -2 N.m and a movement of a thousandth of a millimetre are plain zeros."""
    line, states, _ = solved
    cold = states[0]
    tiny = tuple(
        msgspec.structs.replace(one, force=(-20.0, 0.0, -20e3), moment=(-2.0, 0.0, 0.0))
        for one in cold.reactions
    )
    moves = tuple(msgspec.structs.replace(one, axial=-1e-6) for one in cold.joints)
    said = words(isometric(line, msgspec.structs.replace(cold, reactions=tiny, joints=moves)))
    assert "axial 0.0 mm" in said
    assert any(one.startswith("F 0.0 / 0.0 / -20.0") for one in said), said
    assert "M 0.00 / 0.00 / 0.00 kN·m" in said
    assert not any("-0.0 " in one or "+0.0 " in one for one in said)


def test_what_is_over_a_limit_is_marked_by_shape_and_told(solved):
    """Each check not met has a triangle in the drawing and one in the list, with its ratio."""
    line, states, checks = solved
    over = [one for one in checks if one.outcome == Outcome.NOT_MET
            and ("@cold" not in one.id)]  # fmt: skip
    svg = isometric(line, states[-1], checks=checks, width=1240)
    assert over
    said = words(svg)
    for number, one in enumerate(over, 1):
        assert str(number) in said
        assert any(f"{one.name}: {one.ratio:.2f}" in text for text in said)
    plain = isometric(line, states[-1], width=1240)
    assert "over a limit" in said and "over a limit" not in words(plain)


def test_a_check_that_is_not_evaluated_is_told_as_such(solved):
    """An open check is never left out as if it were met."""
    line, states, checks = solved
    one = next(c for c in checks if c.id.startswith("sustained"))
    open_ = msgspec.structs.replace(one, outcome=Outcome.NOT_EVALUATED, demand=None)
    said = " ".join(words(isometric(line, states[-1], checks=[open_], width=1240)))
    assert f"{one.name}: {Outcome.NOT_EVALUATED.value}" in said


def test_the_legend_tells_only_symbols_in_use(solved):
    """The legend names what the line has and nothing else."""
    line, _, _ = solved
    said = words(isometric(line, width=1240))
    assert {"nozzle", "anchor", "rest", "guide", "joint"} <= set(said)
    assert not {"strut", "constant spring", "reducer", "deflected shape"} & set(said)


def test_exaggeration_is_stated_with_the_largest_movement(solved):
    """The drawing says how many times movements are drawn, and a still state that it is still."""
    line, states, _ = solved
    hot = states[-1]
    most = np.linalg.norm(hot.motion[: len(line.stations), :3], axis=1).max() * 1e3
    said = " ".join(words(isometric(line, hot, width=1240)))
    assert "times their size" in said and f"{most:.1f} mm" in said
    still = msgspec.structs.replace(hot, motion=np.zeros_like(hot.motion))
    assert "Nothing moves" in " ".join(words(isometric(line, still, width=1240)))


def test_bends_are_true_arcs_and_move_with_their_ends():
    """Every point of a bend lies at its radius; a rigid motion of both ends carries all of it."""
    a, b = np.array([0.0, 0, 0]), np.array([1.0, 1.0, 0])
    bend = Bend(start="a", end="b", pipe="p", corner=(1.0, 0.0, 0.0), radius=1.0)
    points = curve(bend, a, b)
    assert np.linalg.norm(points - [0.0, 1.0, 0.0], axis=1) == pytest.approx(np.ones(len(points)))
    turn = np.array([0.0, 0.0, 1e-3])
    first = np.concatenate(([0.1, 0, 0], turn))
    last = np.concatenate((first[:3] + np.cross(turn, b - a), turn))
    assert carried(bend, points, first, last) == pytest.approx(
        first[:3] + np.cross(turn, points - a)
    )


def test_a_bent_span_takes_the_shape_of_a_guided_cantilever():
    """Straight pipe between unturned ends moves by 3 s^2 - 2 s^3 across and evenly along."""
    pipe = Straight(start="a", end="b", pipe="p")
    points = curve(pipe, np.zeros(3), np.array([2.0, 0, 0]))
    moved = carried(pipe, points, np.zeros(6), np.array([0.02, 0.0, 0.05, 0, 0, 0]))
    s = points[:, 0] / 2.0
    assert moved[:, 2] == pytest.approx(0.05 * (3 * s**2 - 2 * s**3))
    assert moved[:, 0] == pytest.approx(0.02 * s)


def test_the_three_directions_are_drawn_alike():
    """East, north and up have one length on paper and stand 120 degrees or 60 degrees apart."""
    flat = project(np.eye(3))
    assert np.linalg.norm(flat, axis=1) == pytest.approx(np.ones(3))
    assert float(flat[0] @ flat[1]) == pytest.approx(0.5)
    assert float(flat[2] @ flat[0]) == pytest.approx(-0.5)


def test_a_result_of_another_line_is_refused(solved):
    """A state with fewer nodes than stations cannot be of this line; a line needs pieces."""
    line, states, _ = solved
    short = msgspec.structs.replace(states[-1], motion=states[-1].motion[:3])
    with pytest.raises(Contradiction, match="another line"):
        isometric(line, short)
    with pytest.raises(Contradiction, match="no pieces"):
        isometric(msgspec.structs.replace(line, pieces=()))


def test_large_rotations_are_warned_of(solved):
    """A state that turns beyond small rotations says so below the drawing; a sound one does not."""
    line, states, _ = solved
    motion = states[-1].motion.copy()
    motion[2, 4] = 0.3
    wild = msgspec.structs.replace(states[-1], motion=motion)
    assert "small rotations" in " ".join(words(isometric(line, wild, width=1240)))
    assert "small rotations" not in " ".join(words(isometric(line, states[-1], width=1240)))
