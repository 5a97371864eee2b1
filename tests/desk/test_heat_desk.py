"""Walls of joints: kept whatever is wrong with them, explained by the watch, never guessed."""

import pytest

from takeup.desk import heat
from takeup.desk.heat_draft import draft
from takeup.errors import Refused, UnknownName
from takeup.heat.wall_text import read


def test_the_wall_of_a_bare_joint_names_the_cover_that_is_gone(demo_site):
    """The present median of the history is what is explained; the planted cause comes first."""
    solved = heat.solved(demo_site, "EJ-1302")

    assert solved.faults == ()
    assert solved.shown.where.startswith("running median of TI-1302")
    first = solved.study.inverse.causes[0]
    assert first.id == "cover_off"
    assert first.probability > 0.5
    assert solved.study.action_line > demo_site.register().limits().value("temperature.low_to")


def test_lost_packing_under_insulation_is_said_as_the_dangerous_pair(demo_site):
    """States with lost packing together explain the hot bellows best, and the danger is told."""
    study = heat.solved(demo_site, "EJ-1303").study
    chance = {one.id: one.probability for one in study.inverse.causes}

    lost = sum(chance[id] for id in ("part_lost", "empty", "bypass", "lost_and_insulated"))
    assert lost > 0.5
    assert study.inverse.causes[0].id == "part_lost"
    assert any(words.startswith("DANGER") for words in study.cautions)


def test_a_text_with_faults_stays_kept_and_can_be_mended(demo_site):
    """Each fault names its key; every revision stays in the store."""
    good = heat.model(demo_site, "EJ-1302").text
    bad = good.replace('cavity = "25 mm"', 'cavity = "25 mn"').replace("emissivity", "emisivity")

    kept = heat.keep(demo_site, "ej-1302", bad, "A. Engineer", "cavity measured")
    assert [words.split()[0] for words in kept.faults] == ["$.wall.cavity"]
    assert heat.model(demo_site, "EJ-1302").text == bad
    assert heat.solved(demo_site, "EJ-1302").study is None

    assert heat.keep(demo_site, "EJ-1302", good, "A. Engineer", "and back").faults == ()
    assert len(demo_site.store.history("wall_model", "EJ-1302")) == 3


def test_what_only_the_balance_refuses_is_told_too(demo_site):
    """A cold wall without lining reads well and still cannot be worked out."""
    text = heat.model(demo_site, "EJ-1302").text
    bare = "\n".join(line for line in text.splitlines() if not line.startswith("lining"))

    assert read(bare)[1] == ()
    assert any("lining" in words for words in heat.looked_at(demo_site, "EJ-1302", bare).faults)


def test_nothing_is_kept_without_text_author_or_joint(demo_site):
    """Each is refused in words and leaves the store as it was."""
    before = demo_site.store.last_change()
    with pytest.raises(Refused, match="empty"):
        heat.keep(demo_site, "EJ-1302", " \n", "A", "r")
    with pytest.raises(Refused, match="who keeps"):
        heat.keep(demo_site, "EJ-1302", "[wall]", " ", "r")
    with pytest.raises(UnknownName):
        heat.keep(demo_site, "EJ-9999", "[wall]", "A", "r")
    with pytest.raises(UnknownName, match="wall of joint"):
        heat.solved(demo_site, "EJ-1801")
    assert demo_site.store.last_change() == before


def test_without_a_history_a_reading_is_asked_for(demo_site):
    """What is lacking is said; nothing stands in for it."""
    text = heat.model(demo_site, "EJ-1302").text
    solved = heat.looked_at(demo_site, "EJ-1801", text.split("[gas]")[0])

    assert solved.study.inverse is None
    assert [words.split(",")[0] for words in solved.asked] == [
        "a temperature history of the bellows",
        "what the gas holds",
        "what happens at shutdown",
    ]


def test_a_draft_holds_what_the_register_tells_and_no_more(demo_site):
    """It reads as text, with faults exactly for what nobody has told."""
    text = draft(demo_site, "EJ-1304")

    given, faults = read(text)
    assert given is None
    assert sorted(words.split()[0] for words in faults) == [
        "$.wall.ambient",
        "$.wall.inside_diameter",
    ]
    assert 'bellows_material = "625"' in text.replace("alloy ", "")
