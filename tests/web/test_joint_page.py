"""The joint page shows what was worked out, by which rule set, and leads to the calculator."""

import pytest
from fastapi.testclient import TestClient

from takeup.desk.site import Site
from takeup.documents.mechanics import TWO_LIVES
from takeup.web.server import create_app
from tests.conftest import TODAY


@pytest.fixture
def client(demo_copy, monkeypatch):
    """A client of the app on a copy of the demo."""
    monkeypatch.setattr(Site, "today", lambda self: TODAY)
    app = create_app(demo_copy)
    with TestClient(app, base_url="http://127.0.0.1", follow_redirects=False) as found:
        yield found
    app.state.site.close()


def test_each_bellows_stands_with_rule_set_cycles_and_its_way_to_the_calculator(client):
    """EJMA with edition, both kinds of cycles labelled, a link that answers."""
    text = client.get("/joints/EJ-1502").text

    assert "Worked out by <strong>EJMA</strong>, 9th/10th ed." in text
    assert "allowed cycles, design curve" in text
    assert "mean cycles in tests" in text
    assert TWO_LIVES in text
    assert 'href="/calculator?joint=EJ-1502&amp;bellows=A"' in text
    assert client.get("/calculator?joint=EJ-1502&bellows=A").status_code == 200


def test_a_rule_set_that_was_taken_is_said_to_be_taken(client):
    """Where the register does not say it the page does."""
    assert "the register does not say to which rule set" in client.get("/joints/EJ-1402").text
    assert "the register does not say to which rule set" not in client.get("/joints/EJ-1502").text


def test_the_load_path_of_measured_hardware_is_drawn_and_opens_in_the_calculator(client):
    """The overloaded weld is in words and drawing; the item opens with its sizes."""
    text = client.get("/joints/EJ-1502").text

    assert "Load path through the hardware" in text
    assert "NOT MET" in text
    assert client.get("/calculator/hardware?of=EJ-1502/1502-H").status_code == 200
    assert "Load path through the hardware" not in client.get("/joints/EJ-1702").text


@pytest.mark.parametrize("tag", ["EJ-1701", "EJ-1702", "EJ-1803", "EJ-1602"])
def test_every_shape_and_a_joint_without_data_has_its_page(client, tag):
    """Toroidal, reinforced, outside pressure and nothing known: the page is whole."""
    answer = client.get(f"/joints/{tag}")

    assert answer.status_code == 200
    assert "Bellows as worked out" in answer.text
    assert "{{" not in answer.text


def test_what_stands_out_in_the_register_is_asked_on_the_page(client):
    """A joint shorter than its bellows is a question on its page, and no fault elsewhere."""
    import msgspec

    from takeup.desk import record
    from takeup.register.entities import Joint

    site = client.app.state.site
    joint = site.register().get(Joint, "EJ-1502")
    short = msgspec.structs.replace(joint, face_to_face=0.2)
    record.facts(site, [short], "E", "measured")

    assert "less than its bellows end to end" in client.get("/joints/EJ-1502").text
    assert "Questions about the register" not in client.get("/joints/EJ-1503").text


def test_the_joint_page_shows_movement_by_the_line_or_asks_for_its_model(client):
    """Theory beside entered and measured with the certificate; without a model, what to give."""
    text = client.get("/joints/EJ-1201").text
    section = text.split('id="line-movement"')[1].split("<h2")[0]

    assert "residual" in section
    for head in ("theory", "bellows A", "entered", "measured", "rated"):
        assert f">{head}</th>" in section
    assert 'href="/lines/12-SC/mechanics"' in section

    bare = client.get("/joints/EJ-1801").text.split('id="line-movement"')[1].split("<h2")[0]
    assert "as entered" in bare or "residual" in bare
