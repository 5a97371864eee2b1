"""Pages answer in words, keep what was typed, and refuse strangers."""

import io

import pytest
from fastapi.testclient import TestClient
from PIL import Image

from takeup.desk.site import open_site
from takeup.errors import Refused
from takeup.register.entities import Decision
from takeup.web.server import create_app, serve
from tests.conftest import TODAY

PAGES = [
    "/",
    "/joints/EJ-1102",
    "/joints/ej-1602",
    "/joints/EJ-1102/record",
    "/lines/11-RC",
    "/plan",
    "/missing",
    "/documents",
    "/calculator",
    "/calculator?joint=EJ-1102&bellows=A",
    "/import",
    "/limits",
    "/history",
]


@pytest.fixture
def client(demo_copy, monkeypatch):
    """A client of the app on a copy of the demo."""
    from takeup.desk.site import Site

    monkeypatch.setattr(Site, "today", lambda self: TODAY)
    app = create_app(demo_copy)
    with TestClient(app, base_url="http://127.0.0.1", follow_redirects=False) as found:
        yield found
    app.state.site.close()


@pytest.mark.parametrize("address", PAGES)
def test_every_page_answers_and_loads_nothing_from_outside(client, address):
    """Each page is whole and its policy forbids foreign sources."""
    answer = client.get(address)

    assert answer.status_code == 200
    assert "default-src 'self'" in answer.headers["content-security-policy"]
    assert 'src="http' not in answer.text
    assert "{{" not in answer.text


def test_the_first_screen_answers_which_joints_why_and_which_date(client):
    """Worry list, reasons and the next date that can be missed are on the first page."""
    text = client.get("/").text

    assert "Next date you can miss" in text
    assert text.index("EJ-1503") < text.index("EJ-1101", text.index("Joints by worry"))
    assert "outer nut gone" in text


def test_thrust_stands_before_everything_else_on_a_joint_page(client):
    """Force in kN and tonnes, and who holds it, come before grounds and checks."""
    text = client.get("/joints/EJ-1102").text

    assert (
        text.index("Thrust first")
        < text.index('class="verdict"')
        < text.index("Grounds")
        < text.index("Checks")
    )
    assert "362.6\u00a0kN" in text
    assert "37.0\u00a0t" in text


def test_an_unknown_joint_is_answered_with_the_nearest(client):
    """404 in words, with the tag that was probably meant."""
    answer = client.get("/joints/EJ-1120")

    assert answer.status_code == 404
    assert "Did you mean" in answer.text


def test_a_decision_needs_a_reason_and_keeps_what_was_typed(client, demo_copy):
    """Without a reason nothing is stored and the name stays in the form."""
    form = {"option": "replace", "by": "P. Planner", "reason": ""}
    answer = client.post("/joints/EJ-1102/decision", data=form)
    assert answer.status_code == 422
    assert "say why in a sentence" in answer.text
    assert "P. Planner" in answer.text

    answer = client.post("/joints/EJ-1102/decision", data=form | {"reason": "inner ply gone"})
    assert answer.status_code == 303
    with open_site(demo_copy) as site:
        (made,) = site.register().all(Decision)
    assert (made.joint, made.option.value, made.by) == ("EJ-1102", "replace", "P. Planner")


def test_an_interply_test_is_entered_with_its_units(client, demo_copy):
    """psi and °F are understood beside the site's own units; readings are stored with the test."""
    form = {
        "bellows": "A", "date": "2026-11-20", "fills": "3", "port_to_port": "yes",
        "p0": "50", "t0": "18", "p30": "7.1 psi", "t30": "66 F", "bubbles": "none outside",
        "author": "T. Tester",
    }  # fmt: skip
    answer = client.post("/joints/EJ-1201/record/interply", data=form)

    assert answer.status_code == 303
    from takeup.evidence.facts import InterplyReading

    with open_site(demo_copy) as site:
        last = [
            r for r in site.register().of_joint(InterplyReading, "EJ-1201") if r.minute == 1800.0
        ]
    newest = max(last, key=lambda r: r.date)
    assert newest.pressure == pytest.approx(7.1 * 6894.757, rel=1e-5)
    assert newest.temperature == pytest.approx((66 + 459.67) * 5 / 9)


@pytest.mark.parametrize(
    ("which", "form", "said"),
    [
        ("observation", {"item": "HB1", "grade": "2"}, "choose the visit"),
        ("observation", {"item": "HB1"}, "give a grade"),
        ("interply", {"bellows": "A", "date": "2026-11-20", "p0": "warm"}, "is not a number"),
        ("interply", {"bellows": "A", "date": "2026-11-20", "p0": "50"}, "first and the last"),
        ("observation", {"item": "HB3", "value": "3"}, "takes no reading"),
        ("marks", {"state": "hot", "clock12": "1,234"}, "may mean"),
        ("event", {"date": "2026-02-31", "kind": "trip"}, "not a date"),
        ("event", {"date": "2031-01-01", "kind": "trip"}, "future"),
        ("photo", {}, "choose a file"),
        ("nonsense", {}, "no entry form"),
    ],
)
def test_bad_entries_are_said_at_their_field_and_nothing_is_stored(client, which, form, said):
    """The page comes back with the fault and what was typed."""
    before = client.get("/history").text
    answer = client.post(f"/joints/EJ-1201/record/{which}", data=form | {"author": "T. Tester"})

    assert answer.status_code == 422
    assert said in answer.text
    assert client.get("/history").text == before


def test_a_photo_that_is_no_image_is_refused_and_a_real_one_kept(client):
    """Bytes that are no picture never reach the folder."""
    form = {"author": "T. Tester", "caption": "x"}
    address = "/joints/EJ-1201/record/photo"
    bad = client.post(address, data=form, files={"file": ("a.jpg", b"not a picture")})
    assert bad.status_code == 422
    stream = io.BytesIO()
    Image.new("RGB", (60, 40), "grey").save(stream, "JPEG")
    good = client.post(address, data=form, files={"file": ("a.jpg", stream.getvalue())})

    assert good.status_code == 303
    assert "/photos/" in client.get("/joints/EJ-1201").text


def test_import_shows_differences_and_stores_only_when_told(client):
    """The exported register brings no difference; an edited one is shown first, then stored."""
    exported = client.get("/register.xlsx").content
    same = client.post("/import", files={"file": ("r.xlsx", exported)})
    assert "nothing that the register does not hold already" in same.text

    changed = b"tag,line,type,made\nEJ-1101,11-RC,universal tied,2019\n"
    shown = client.post("/import", files={"file": ("joint.csv", changed)})
    assert shown.status_code == 200
    assert "~ changed" in shown.text
    token = shown.text.split('name="token" value="')[1].split('"')[0]
    mark = shown.text.split('name="seen" value="')[1].split('"')[0]
    form = {"token": token, "seen": mark, "author": "I. Importer", "reason": "plate read"}
    stored = client.post("/import/commit", data=form)
    assert stored.status_code == 303
    assert "plate read" in client.get("/history").text


def test_import_faults_are_listed_by_cell(client):
    """A bad type names sheet, row, column and what would be right; it cannot be stored."""
    bad = b"tag,line,type\nEJ-1101,11-RC,univrsal\n"
    answer = client.post("/import", files={"file": ("joint.csv", bad)})

    assert answer.status_code == 422
    assert "univrsal" in answer.text
    assert "Store all of it" not in answer.text


def test_a_rule_of_thumb_can_be_set_and_a_published_limit_cannot(client):
    """Limits say whose they are."""
    form = {"value": "25", "reason": "site rule", "author": "E. Engineer"}
    assert client.post("/limits/age.replace", data=form).status_code == 303
    assert "set by the site" in client.get("/limits").text
    refused = client.post("/limits/wall.hot_work", data=form)
    assert refused.status_code == 422
    assert "not a rule of thumb" in refused.text


def test_assessing_runs_as_a_job_with_progress(client):
    """The job page is shown, its events end with done, and it leads back."""
    started = client.post("/assess/run")
    assert started.status_code == 303
    id = started.headers["location"].split("/")[2].split("?")[0]
    with client.stream("GET", f"/jobs/{id}/events") as stream:
        last = [line for line in stream.iter_lines() if line][-1]
    assert '"done"' in last
    assert client.get(f"/jobs/{id}?then=/").status_code == 200


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"host": "evil.example"}, 421),
        ({"origin": "http://evil.example"}, 403),
        ({"origin": "null"}, 403),
        ({"sec-fetch-site": "cross-site"}, 403),
    ],
)
def test_strangers_are_refused(client, headers, status):
    """Foreign hosts and foreign origins get nothing done."""
    assert client.post("/assess/run", headers=headers).status_code == status


@pytest.mark.parametrize("name", ["..%2fregister.db", "register.db", ".hidden.pdf", "nope.pdf"])
def test_only_documents_can_be_fetched(client, name):
    """No way out of the documents folder."""
    assert client.get(f"/documents/{name}").status_code == 404
    assert client.get(f"/photos/{name}").status_code == 404


def test_a_job_page_never_leads_to_another_site(client):
    """The address to go on to stays on this server."""
    id = client.post("/assess/run").headers["location"].split("/")[2].split("?")[0]
    assert "evil" not in client.get(f"/jobs/{id}?then=//evil.example").text


@pytest.mark.parametrize("host", ["0.0.0.0", "192.0.2.7", "example.org", "::"])
def test_serving_beyond_loopback_is_refused_without_a_login(demo_copy, host):
    """This version has no login, so it stays on this machine."""
    with pytest.raises(Refused, match="no login"):
        serve(demo_copy, host, 8471)


def test_the_dossier_of_a_joint_is_set_on_demand(client):
    """The link on the joint page gives a PDF."""
    answer = client.get("/joints/EJ-1102/dossier.pdf")

    assert answer.headers["content-type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")
