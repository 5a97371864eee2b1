"""The page of a line's mechanics: states, tables, cautions, and the text to change."""

import re

import msgspec

from takeup.desk.site import open_site
from takeup.register.entities import Line


def test_the_page_shows_the_hot_state_first_and_leads_to_the_cold_one(client):
    """Loads, movements, springs, comparison, checks and cautions stand in words."""
    text = client.get("/lines/12-SC/mechanics").text

    for words in (
        "State on stream", "● Balanced", "Loads on supports", "12-A1", "EJ-1201 bellows A",
        "12-S1", "Theory beside what is expected and measured", "marks, 2026-hot against",
        "Checks, nearest to their limit first", "The line is taken as modelled",
        'aria-label="Isometric of the line"', "<svg",
    ):  # fmt: skip
        assert words in text, words
    assert "▲ off the theory" in client.get("/lines/18-ST/mechanics").text
    assert 'href="/lines/12-SC/mechanics?state=installed"' in text
    assert "State installed" in client.get("/lines/12-SC/mechanics?state=installed").text
    assert client.get("/lines/12-SC/mechanics?state=hto").status_code == 404


def test_the_line_leads_there_and_a_line_without_a_model_offers_to_write_one(client, folder):
    """One link from the line; an empty place to write."""
    with open_site(folder) as site, site.change("A. Engineer", "a line more") as change:
        change.put_many([msgspec.structs.replace(site.register().get(Line, "18-ST"), tag="19-NO")])
    assert 'href="/lines/12-SC/mechanics"' in client.get("/lines/12-SC").text
    text = client.get("/lines/19-NO/mechanics").text
    assert "No model of this line is kept yet" in text
    assert "<textarea" in text


def test_a_text_with_faults_is_kept_and_its_faults_are_listed_by_line(client):
    """The text comes back as typed, to the sign, with what is wrong above it."""
    typed = '# <a> & "b"\nline = "18-ST"\n[[pipe]]\nname = "p"\n'
    answer = client.post(
        "/lines/18-ST/mechanics",
        data={"text": typed.replace("\n", "\r\n"), "author": "A. Engineer", "reason": "begun"},
    )
    assert answer.status_code == 303
    text = client.get(answer.headers["location"]).text
    assert "The model is kept, but cannot be worked out" in text
    assert re.search(r"<li>line 3: .*outside", text)
    assert "# &lt;a&gt; &amp; &#34;b&#34;" in text


def test_nothing_is_kept_without_a_name_and_what_was_typed_is_still_there(client):
    """The fault stands at its field."""
    answer = client.post("/lines/11-RC/mechanics", data={"text": "line = 'mine'", "reason": "x"})
    assert answer.status_code == 422
    assert "say who you are" in answer.text
    assert "line = &#39;mine&#39;" in answer.text
