"""The watch on a site: alerts opened once, answered by people, not reopened for the same cause."""

from __future__ import annotations

import pytest

from takeup.desk import watching
from takeup.desk.site import Site
from takeup.errors import Refused, UnknownName
from takeup.evidence.facts import Alert, AlertKind, AlertState


def test_planted_faults_of_the_demo_ask_for_a_person(demo_site: Site) -> None:
    """Packed, too hot and falling histories are found; the healthy ones say nothing."""
    found = watching.look(demo_site)

    asked = {(p.joint, p.kind) for one in found.histories for p in one.proposals}
    assert ("EJ-1302", AlertKind.BELOW) in asked
    assert ("EJ-1303", AlertKind.ABOVE) in asked
    assert ("EJ-1103", AlertKind.FALLING) in asked
    assert len(asked) <= 4
    assert demo_site.register().all(Alert) == ()


def test_an_alert_stands_until_somebody_closes_it(demo_site: Site) -> None:
    """Opened once however often one looks; acknowledged it stays; closed it does not come back."""
    first = watching.open_new(demo_site, "E. Walker")
    again = watching.open_new(demo_site, "E. Walker")
    assert len(first.new) >= 3
    assert again.new == ()

    cause = AlertKind.ABOVE.value
    known = watching.answer(
        demo_site, "TI-1303", cause, "E. Walker", "blanket suspected; infrared asked"
    )
    assert known.state == AlertState.ACKNOWLEDGED
    standing = [a for one in watching.look(demo_site).histories for a in one.standing]
    assert {a.tag for a in standing} == {a.tag for a in first.new}

    watching.answer(demo_site, "TI-1303", cause, "E. Walker", "scope item raised", close=True)
    after = watching.look(demo_site)
    assert after.new == ()
    assert "TI-1303" not in {a.tag for one in after.histories for a in one.standing}
    kept = [a for a in demo_site.register().all(Alert) if a.tag == "TI-1303"]
    assert kept[0].note == "scope item raised"


def test_answers_need_a_name_words_and_an_open_alert(demo_site: Site) -> None:
    """Nothing is waved away."""
    watching.open_new(demo_site, "E. Walker")
    with pytest.raises(Refused, match="found or done"):
        watching.answer(demo_site, "TI-1303", AlertKind.ABOVE.value, "E. Walker", " ")
    with pytest.raises(Refused, match="who you are"):
        watching.answer(demo_site, "TI-1303", AlertKind.ABOVE.value, "", "seen")
    with pytest.raises(UnknownName, match="TI-1303, sudden rise"):
        watching.answer(demo_site, "TI-1303", AlertKind.STEP_UP.value, "E. Walker", "seen")
    with pytest.raises(Refused, match="say who looks"):
        watching.open_new(demo_site, "")
