"""Every line of the demo is modelled, and diagnosis finds what is planted on it, and no more."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator

import numpy as np
import pytest

from takeup.checks import Outcome
from takeup.demo import facts, joints, motion
from takeup.demo.create import create
from takeup.demo.planted import LINES
from takeup.desk import diagnosis, lines
from takeup.desk.site import Site
from takeup.evidence import marks
from takeup.evidence.facts import MarkReading, Visit
from takeup.line.model import Bend
from takeup.line.model import Joint as Piece
from takeup.register.entities import Joint, MovementCase, MovementRole, Support, SupportKind

TODAY = dt.date(2026, 11, 25)
TAGS = [plan.line.tag for plan in facts.lines()]
PLANTED = {one.line: one for one in LINES}


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """The demo site."""
    with create(tmp_path_factory.mktemp("lines") / "d", today=TODAY) as made:
        yield made


@pytest.mark.parametrize("tag", TAGS)
def test_every_line_is_modelled_in_balance_and_within_its_limits(site: Site, tag: str) -> None:
    """Each state is certified; no check is failed; what is open is a load nobody gave."""
    solved = lines.solved(site, tag)
    assert solved.report is not None, solved.faults
    assert [state.state for state in solved.report.states] == [
        "installed", "on stream", "shut down",
    ]  # fmt: skip
    assert all(state.usable for state in solved.report.states)
    assert [c.id for c in solved.report.checks if c.outcome is Outcome.NOT_MET] == []
    stresses = {
        c.id.split("@")[0]: c.ratio
        for c in solved.report.checks
        if c.id.startswith(("sustained", "range")) and c.ratio is not None
    }
    assert set(stresses) == {"sustained", "range"}
    forces = [math.hypot(*load.force) for state in solved.report.states for load in state.supports]
    assert max(forces) < 900e3, "above what the register allows on any anchor"


@pytest.mark.parametrize("tag", TAGS)
def test_the_model_stands_where_the_register_says(site: Site, tag: str) -> None:
    """Supports are the same ones of the same kinds, joints and supports at the same places."""
    solved = lines.solved(site, tag)
    assert solved.line is not None
    at = {station.name: np.array(station.position) for station in solved.line.stations}
    along: dict[str, float] = {solved.line.pieces[0].start: 0.0}
    middle: dict[str, float] = {}
    for piece in solved.line.pieces:
        length = float(np.linalg.norm(at[piece.end] - at[piece.start]))
        if isinstance(piece, Bend):
            first, last = np.array(piece.corner) - at[piece.start], at[piece.end] - piece.corner
            cosine = first @ last / np.linalg.norm(first) / np.linalg.norm(last)
            length = piece.radius * math.acos(cosine)
        if isinstance(piece, Piece):
            middle[piece.tag] = along[piece.start] + 0.5 * length
        along.setdefault(piece.end, along[piece.start] + length)
    register = site.register()
    own = {one.tag: one for one in register.of_line(Support, tag)}
    assert {one.name for one in solved.line.supports} == set(own)
    kinds = {
        "Anchor": {SupportKind.MAIN_ANCHOR, SupportKind.NOZZLE},
        "Guide": {SupportKind.GUIDE},
        "Rest": {SupportKind.REST},
        "VariableSpring": {SupportKind.VARIABLE_SPRING},
        "ConstantSpring": {SupportKind.CONSTANT_SPRING},
    }
    for one in solved.line.supports:
        assert own[one.name].kind in kinds[type(one).__name__], one.name
        assert own[one.name].position == pytest.approx(along[one.station], abs=0.11), one.name
    for joint in register.of_line(Joint, tag):
        assert joint.position == pytest.approx(middle[joint.tag], abs=0.06), joint.tag


@pytest.mark.parametrize("tag", TAGS)
def test_expected_movements_come_from_the_model_and_stay_within_the_rating(
    site: Site, tag: str
) -> None:
    """Entered expectation is the model's own; the joint was made for it."""
    solved = lines.solved(site, tag)
    assert solved.report is not None
    register = site.register()
    for move in solved.report.ranges:
        if move.number is not None or move.tag == "EJ-1602":
            continue
        rows = {one.role: one for one in register.of_joint(MovementCase, move.tag)}
        expected, rated = rows[MovementRole.EXPECTED], rows[MovementRole.RATED]
        assert expected.axial == pytest.approx(move.axial, abs=1e-4)
        assert abs(move.axial) <= abs(rated.axial)
        assert math.hypot(*move.lateral) <= (rated.lateral or 1e-3)
        assert math.hypot(*move.angular) <= (rated.angular or 1e-3)


@pytest.mark.parametrize("tag", [one for one in TAGS if one not in PLANTED])
def test_marks_of_a_sound_line_agree_with_theory_and_nobody_is_accused(
    site: Site, tag: str
) -> None:
    """Marks lie on the model within three millimetres; the first group holds *all sound*."""
    solved = lines.solved(site, tag)
    assert solved.report is not None
    register = site.register()
    theory = {m.tag: m for m in solved.report.ranges if m.number is None}
    for joint in register.of_line(Joint, tag):
        readings = register.of_joint(MarkReading, joint.tag)
        for measured in marks.movements(readings, register.all(Visit), {}):
            assert measured.axial == pytest.approx(theory[joint.tag].axial, abs=3e-3)
    found = diagnosis.diagnose(site, tag).diagnosis
    assert found is not None
    group = found.group_of()
    assert group is found.groups[0]
    assert group.posterior > 0.9
    assert not group.explanations[0].faults


@pytest.mark.parametrize("tag", [tag for tag, one in PLANTED.items() if not one.sound])
def test_a_planted_support_fault_is_found(site: Site, tag: str) -> None:
    """The first group is led by the support at fault, alone, with most of the posterior."""
    planted = PLANTED[tag]
    found = diagnosis.diagnose(site, tag)
    assert found.diagnosis is not None
    assert found.fits
    first = found.diagnosis.groups[0]
    lead = first.explanations[0]
    assert {fault.place for fault in lead.faults} == {planted.place}
    assert lead.solved
    assert first.posterior > 0.9
    accused = sum(
        one.posterior
        for group in found.diagnosis.groups
        for one in group.explanations
        if planted.place in {fault.place for fault in one.faults}
    )
    assert accused > 0.95


def test_a_model_that_lacks_a_growth_accuses_nobody_alone(site: Site) -> None:
    """Two anchors explain the mark alike: they stand in one group, with the reading to split it."""
    found = diagnosis.diagnose(site, "16-TS").diagnosis
    assert found is not None
    first = found.groups[0]
    blamed: dict[str, float] = {}
    for one in first.explanations:
        if len(one.faults) == 1:
            blamed[one.faults[0].place] = one.posterior
    assert {"16-A1", "16-A2"} <= set(blamed)
    assert max(blamed.values()) < 0.8
    assert "position against record" in first.split_words
    assert found.groups[0] is not found.group_of()


def test_a_line_with_a_seized_spring_and_one_without_are_solved_apart(site: Site) -> None:
    """The planted spring stands still where the sound one rises; its joint turns the more."""
    moved = {one.line: one for one in motion.moved(site)}
    spring, joint = moved["12-SC"].springs["12-S1"], moved["12-SC"].joints["EJ-1203"]
    assert spring.height[1] - spring.height[0] > 0.015
    assert abs(spring.actual[1] - spring.actual[0]) < 0.001
    assert abs(joint.actual.angular[0]) > 1.5 * abs(joint.expected.angular[0])


def test_every_joint_of_the_register_is_on_the_model_of_its_line(site: Site) -> None:
    """No joint is forgotten by its model, and each has a rated movement."""
    moved = motion.joints_of(motion.moved(site))
    assert set(moved) == {joint.tag for joint in site.register().all(Joint)} == set(joints.RATED)
