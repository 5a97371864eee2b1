"""Questions to kept models: what-if, designing out, the list, movement against design."""

from __future__ import annotations

import math
from pathlib import Path

import msgspec
import pytest

from takeup.desk import design_out, line_list, lines, what_if
from takeup.desk.line_used import used
from takeup.errors import Cancelled, Contradiction, Refused, UnknownName
from takeup.line import what_if as engine
from takeup.line.model import Joint
from takeup.line.text import read
from takeup.register.entities import MovementCase, MovementRole

TEXT = (Path(__file__).parents[2] / "examples" / "line.toml").read_text(encoding="utf-8")


@pytest.fixture
def site(demo_site):
    """The demo with the example kept as the model of its steam main."""
    lines.keep(demo_site, "18-ST", TEXT.replace('"L-101"', '"18-ST"'), "A. Engineer", "first")
    return demo_site


def test_a_lock_leaves_the_state_it_is_made_in_and_is_checked_over_the_next_cycle(site):
    """Hot loads stay; the checks after are of the cool-down and heat-up that follow."""
    asked = what_if.ask(site, "18-ST", [engine.Lock(joint="EJ-101", state="hot")], next_cycle=True)
    assert asked.between == ("cold after", "hot again")
    assert [state.name for state in asked.after.states] == [
        "cold", "hot", "cold after", "hot again",
    ]  # fmt: skip
    assert {row.state for row in asked.changed} <= {"cold after", "hot again"}
    assert any(piece.locked for piece in asked.after.pieces if isinstance(piece, Joint))
    ids = [pair.either.id for pair in asked.checks]
    assert any(id.startswith("range@") for id in ids)
    both = [pair for pair in asked.checks if pair.either.id.startswith("sustained@")]
    assert both
    assert all(pair.before is not None and pair.after is not None for pair in both)
    assert any(id.startswith("reaction.") for id in ids)
    assert any("as if it were rigid from the start" in note for note in asked.notes)


def test_a_lock_with_no_state_after_it_says_that_weight_is_of_the_line_before(site):
    """Sustained stress of the hot state is then unchanged, and it is said why."""
    asked = what_if.ask(site, "18-ST", [engine.Lock(joint="EJ-101", state="hot")])
    (note,) = asked.notes
    assert "ask for the next cycle" in note
    for pair in asked.checks:
        if pair.either.id.startswith("sustained@"):
            assert pair.before.demand == pytest.approx(pair.after.demand)


def test_pipe_in_place_of_a_joint_is_checked_whole(site):
    """Another line: sustained stress is its own, and nothing is left out."""
    asked = what_if.ask(site, "18-ST", [engine.TakeOut(joint="EJ-101")])
    ids = [pair.either.id for pair in asked.checks if pair.after is not None]
    assert any(id.startswith("sustained@") for id in ids)
    assert asked.notes == ()


def test_other_rates_keep_the_share_of_cold_to_hot(site):
    """Twice the hot rate is twice the cold one; turning and sideways follow by the engine."""
    line = what_if.model_of(site, "12-SC")
    joint = next(p for p in line.pieces if isinstance(p, Joint) and p.tag == "EJ-1203")
    (one,) = joint.bellows
    (made,) = what_if.other_rate(line, "EJ-1203", 2.0 * one.axial_rate).bellows
    assert made.axial_rate_cold == pytest.approx(2.0 * one.axial_rate_cold)
    with pytest.raises(UnknownName, match="EJ-9"):
        what_if.other_rate(line, "EJ-9", 1.0)


def test_nothing_is_asked_of_nothing_nor_of_a_model_with_faults(site):
    """No change and no line are refused in words; so is a line that is not there."""
    with pytest.raises(Contradiction, match="nothing changes"):
        what_if.ask(site, "18-ST", [])
    lines.keep(site, "17-FX", 'line = "17-FX"\n', "A", "begun")
    for question in (
        lambda: what_if.ask(site, "17-FX", [engine.Lose(support="x")]),
        lambda: design_out.keep_task(site, design_out.Task(line="17-FX", joint="x", largest=1.0)),
    ):
        with pytest.raises(Refused, match="Mend the text first"):
            question()
    with pytest.raises(UnknownName):
        what_if.ask(site, "99-XX", [engine.Lose(support="x")])


def test_a_search_is_kept_under_what_was_asked_and_turns_stale_with_the_model(site):
    """The same question has the same key; another model makes it stale; each text is a line."""
    task = design_out.Task(line="18-ST", joint="EJ-101", largest=3.0, ways=("west",))
    key = design_out.keep_task(site, task)
    assert design_out.keep_task(site, task) == key
    assert design_out.found_of(site, key) is None
    shares = []
    found = design_out.run(site, key, progress=lambda share, text: shares.append(share))
    assert shares == sorted(shares)
    assert len(shares) == len(found.tried)
    assert design_out.found_of(site, key) == found
    for one in found.tried:
        assert not any(isinstance(piece, Joint) for piece in read(one.text).pieces)
        assert one.standing == ("holds" if not one.because else one.standing)
    assert not design_out.stale(site, key)
    lines.keep(site, "18-ST", TEXT.replace('"L-101"', '"18-ST"').replace("540 C", "500 C"),
               "A", "cooler")  # fmt: skip
    assert design_out.stale(site, key)


def test_a_search_that_is_stopped_keeps_nothing(site):
    """Cancelled at its second alternative."""

    def stop(share, text):
        if share > 0.0:
            raise Cancelled("stopped")

    key = design_out.keep_task(site, design_out.Task(line="18-ST", joint="EJ-101", largest=3.0))
    with pytest.raises(Cancelled):
        design_out.run(site, key, progress=stop)
    assert design_out.found_of(site, key) is None


def test_the_list_counts_what_is_not_met_and_has_every_line(site):
    """Each line once, by how its model stands."""
    rows = {row.line.tag: row for row in line_list.listed(site)}
    assert len(rows) == 8
    main = rows["18-ST"]
    assert main.standing == line_list.Standing.MODELLED
    assert main.worst is not None
    assert main.worst.ratio > 1.0
    assert main.not_met >= 1


def test_the_list_solves_a_line_again_only_where_its_text_or_joints_changed(site):
    """Asked twice nothing is solved; another text solves that line alone; facts elsewhere none."""
    first = line_list.listed(site)
    once = site.worked_out.solved
    assert once == sum(row.standing != line_list.Standing.NONE for row in first)
    assert line_list.listed(site) == first
    assert site.worked_out.solved == once

    text = TEXT.replace('"L-101"', '"18-ST"').replace("540 C", "500 C")
    lines.keep(site, "18-ST", text, "A", "cooler")
    after = {row.line.tag: row for row in line_list.listed(site)}
    assert site.worked_out.solved == once + 1
    before = {row.line.tag: row for row in first}
    assert after["18-ST"].worst.ratio < before["18-ST"].worst.ratio
    assert after["12-SC"] == before["12-SC"]


def test_the_key_of_a_line_is_of_its_text_and_of_what_is_known_of_its_joints():
    """Any of them changed is another key; the order of joints is none."""
    from takeup.desk.line_kept import WorkedOut, key_of
    from takeup.line.text import JointData

    one, two = JointData(bellows=()), JointData(bellows=(), length=1.0)
    key = key_of("a", {"x": one, "y": two}, ())
    assert key == key_of("a", {"y": two, "x": one}, ())
    others = [
        key_of("b", {"x": one, "y": two}, ()),
        key_of("a", {"x": two, "y": two}, ()),
        key_of("a", {"x": one, "y": two}, ("x: length",)),
    ]
    assert len({key, *others}) == 4
    kept = WorkedOut(keep=2)
    for name in "abc":
        kept.put(name, lines.Solved(line=None, report=None, faults=(name,), asked=()))
    assert kept.get("a") is None
    assert kept.get("c").faults == ("c",)


def test_theory_is_held_against_the_rating_on_record_and_its_sense(site):
    """Demand is what the bellows move by; a rating in compression says nothing of extension."""
    solved = lines.solved(site, "12-SC")
    found = {one.joint: one for one in used(site, solved.line, solved.results, ("installed",
                                                                                "on stream"))}  # fmt: skip
    axial = next(c for c in found["EJ-1201"].rated if c.id.startswith("rated.axial"))
    move = next(m for m in solved.report.ranges if m.tag == "EJ-1201" and m.number == 0)
    assert abs(axial.demand) > abs(move.axial)
    case = next(one for one in site.register().of_joint(MovementCase, "EJ-1201")
                if one.role == MovementRole.RATED)  # fmt: skip
    assert case.axial is not None
    assert case.axial < 0.0
    assert axial.ratio == pytest.approx(axial.demand / -case.axial)
    assert [one.id for one in found["EJ-1201"].bears] == ["fatigue@cold to hot"]
    assert found["EJ-1201"].worst >= axial.ratio

    with site.change("A", "rated the other way") as change:
        change.put_many([msgspec.structs.replace(case, axial=-case.axial)])
    again = {one.joint: one for one in used(site, solved.line, solved.results, ("installed",
                                                                                "on stream"))}  # fmt: skip
    axial = next(c for c in again["EJ-1201"].rated if c.id.startswith("rated.axial"))
    assert axial.outcome.value == "not evaluated"
    assert "compression" in axial.because
    assert math.isfinite(axial.demand)
