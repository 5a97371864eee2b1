"""The page of a line's diagnosis: weighed, told, drawn; a further reading kept and weighed again."""

import html
import re
import time

import pytest

from takeup.desk.site import open_site
from takeup.evidence.facts import LineReading

PAGE = "/lines/12-SC/diagnosis"


def done(client, answer):
    """Wait for the job behind an answer and return the page it leads to."""
    assert answer.status_code == 303, answer.text[:400]
    there = answer.headers["location"]
    assert there.startswith("/jobs/") and there.endswith(f"then={PAGE}")
    for _ in range(200):
        text = client.get(there).text
        if "data-job" not in text:
            break
        time.sleep(0.05)
    assert "Done." in text, text
    assert f'href="{PAGE}"' in text
    return html.unescape(client.get(PAGE).text)


def test_readings_are_shown_before_they_are_weighed_and_groups_after(client):
    """Uncertainty and origin of each reading; after weighing bars, drawing, table, cautions."""
    before = html.unescape(client.get(PAGE).text)
    assert "Weigh the readings" in before
    assert "EJ-1201: length between its ends" in before
    assert "On record, and not weighed" in before
    assert "What it may be" not in before

    text = done(client, client.post(f"{PAGE}/weigh"))
    for words in ("Predicted against measured", "Nothing stands before somebody looks",
                  'aria-label="Explanations and their stated probability"',
                  'aria-label="Where the explanations lie on the line"', "sound line",
                  "as entered"):  # fmt: skip
        assert words in text, words
    assert text.count("<svg") >= 3


def test_a_pointer_hot_and_cold_is_kept_under_its_visits_and_weighed(client, folder):
    """Two facts, one change, a new visit with its date; the reading is in the next diagnosis."""
    answer = client.post(
        PAGE,
        data={
            "quantity": "spring pointer", "place": "12-S1", "hot": "52 mm", "cold": "2,5 in",
            "visit_hot": "2026-hot", "new_cold": "2026-short-stop", "date_cold": "2026-11-20",
            "author": "A. Walker", "reason": "read on the walk",
        },
    )  # fmt: skip
    text = done(client, answer)
    assert "12-S1: travel of its pointer" in text
    with open_site(folder) as site:
        kept = {r.visit: r.length for r in site.register().all(LineReading) if r.place == "12-S1"}
    assert kept["2026-hot"] == pytest.approx(0.052)
    assert kept["2026-short-stop"] == pytest.approx(0.0635)


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"place": "12-S9"}, "did you mean 12-S1"),
        ({"quantity": ""}, "say what was read"),
        ({"hot": "52 bar"}, "is not one for movement"),
        ({"hot": ""}, "give what was read"),
        ({"visit_hot": ""}, "choose the visit"),
        ({"visit_hot": "2026-hto"}, "2026-hot"),
        (
            {"visit_hot": "", "new_hot": "2026-hot", "date_hot": "2026-11-20"},
            "on record already",
        ),
        ({"author": ""}, "say who you are"),
        ({"reason": ""}, "say where the reading is from"),
        ({"uncertainty": "-1"}, "above zero"),
        ({"quantity": "place against drawing", "way": ""}, "towards which way"),
        ({"quantity": "place against drawing", "way": "up", "hot": "19 m"}, "is the unit right"),
        ({"quantity": "room at a guide", "place": "12-G1", "way": "up"}, "does not hold"),
    ],
)
def test_a_fault_stands_at_its_field_and_nothing_typed_is_lost(client, folder, changed, says):
    """Nothing is kept; what was typed is still there."""
    data = {
        "quantity": "spring pointer", "place": "12-S1", "hot": "51.25 mm", "visit_hot": "2026-hot",
        "author": "A. Walker", "reason": "walked <past>", "instrument": "zoom & lens",
    } | changed  # fmt: skip
    with open_site(folder) as site:
        before = site.store.last_change()
    answer = client.post(PAGE, data=data)
    assert answer.status_code == 422
    assert says in html.unescape(answer.text)
    assert 'value="zoom &amp; lens"' in answer.text
    with open_site(folder) as site:
        assert site.store.last_change() == before


def test_the_link_to_a_reading_fills_the_form(client):
    """What to read next is a click from where it is entered."""
    text = client.get(f"{PAGE}?quantity=spring+pointer&place=12-S1").text
    assert re.search(r"<option selected>spring pointer", text)
    assert re.search(r"<option selected>12-S1", text)


def test_line_and_joint_lead_there_and_an_unknown_line_is_answered(client):
    """One click from both; 404 with the nearest name."""
    assert f'href="{PAGE}"' in client.get("/lines/12-SC").text
    assert f'href="{PAGE}"' in client.get("/joints/EJ-1201").text
    answer = client.get("/lines/12-SD/diagnosis")
    assert answer.status_code == 404
    assert "12-SC" in answer.text


def test_a_mark_can_say_how_its_clock_was_seen(client, folder):
    """The form of the joint takes it, so that 3 and 9 o'clock can be weighed."""
    from takeup.evidence.facts import ClockSeen, MarkReading

    answer = client.post(
        "/joints/EJ-1201/record/marks",
        data={"visit": "2026-hot", "state": "hot", "seen": "along the flow", "clock3": "2612 mm",
              "author": "A. Walker"},
    )  # fmt: skip
    assert answer.status_code == 303
    with open_site(folder) as site:
        kept = site.register().of_joint(MarkReading, "EJ-1201")
    assert [r.seen for r in kept if r.clock == 3 and r.visit == "2026-hot"] == [ClockSeen.ALONG]
