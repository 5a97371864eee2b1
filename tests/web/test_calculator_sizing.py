"""Sizing on the page: duty and envelope in, a job with progress, the bellows that fit out."""

import threading

import pytest

from takeup.bellows.sizing import SizingTask
from takeup.cli.files import read
from takeup.desk import calculate
from takeup.units import System
from takeup.web import calculator_form as calculator
from takeup.web.calculator_sizing import LAYOUT
from tests.cli.conftest import ROOT


@pytest.fixture(scope="module")
def task():
    """A search small enough for a test."""
    return read(ROOT / "examples" / "size.toml", SizingTask)


def ended(client, answer):
    """Wait for a job and return where it leads."""
    assert answer.status_code == 303
    id, _, then = answer.headers["location"].removeprefix("/jobs/").partition("?then=")
    with client.stream("GET", f"/jobs/{id}/events") as stream:
        last = [line for line in stream.iter_lines() if line][-1]
    return then, last


@pytest.mark.parametrize("system", list(System))
def test_a_task_comes_back_from_the_form_as_it_went_in(task, system):
    """Task, form in either units, task: the same search."""
    reading = LAYOUT.read(LAYOUT.texts(task, system), system)

    assert reading.faults == {}
    for name in ("alloys", "treatment", "plies_most", "rings", "assembly", "spool_held"):
        assert getattr(reading.value, name) == getattr(task, name)
    assert reading.value.heights.most == pytest.approx(task.heights.most)
    assert reading.value.radius_shares == task.radius_shares
    assert reading.value.live_length == pytest.approx(task.live_length, rel=1e-9)


def test_a_search_runs_as_a_job_and_its_result_can_be_kept(client, task):
    """Progress to the end, a page with the set, each bellows leads to calculator and sheet."""
    form = LAYOUT.texts(task, System.METRIC)
    then, last = ended(client, client.post("/calculator/sizing", data=form))
    assert '"done"' in last

    page = client.get(then)
    assert page.status_code == 200
    assert "meet every check" in page.text
    assert "Pressure thrust does not go away" in page.text
    link = page.text.split('class="button plain" href="')[1].split('"')[0]
    onward = client.get(link).headers["location"].replace("&amp;", "&")
    filled = client.get(onward)
    assert 'name="inside_diameter" value="914"' in filled.text
    sheet = client.get(f"{link}/requisition.pdf")
    assert sheet.content.startswith(b"%PDF")
    assert client.get(f"{then}/99999999").status_code == 303
    assert (
        client.get(f"/calculator?search={then.rsplit('/', 1)[1]}&number=99999999").status_code
        == 404
    )


def test_the_job_page_leads_to_the_result_and_nowhere_else(client, task):
    """Only the address of a search of this server is followed."""
    form = LAYOUT.texts(task, System.METRIC)
    answer = client.post("/calculator/sizing", data=form)
    id = answer.headers["location"].removeprefix("/jobs/").partition("?")[0]
    key = answer.headers["location"].rpartition("/")[2]
    ended(client, answer)

    assert (
        f"/calculator/sizing/{key}" in client.get(f"/jobs/{id}?then=/calculator/sizing/{key}").text
    )
    assert "evil" not in client.get(f"/jobs/{id}?then=/calculator/sizing/../evil").text


def test_a_search_that_cannot_be_says_so_and_keeps_its_input(client, task):
    """An alloy that is not known ends the job in words; the address shows the form again."""
    form = LAYOUT.texts(task, System.METRIC) | {"alloys": "unobtainium"}
    then, last = ended(client, client.post("/calculator/sizing", data=form))

    assert '"failed"' in last
    assert "unobtainium" in last
    page = client.get(then)
    assert "did not run to its end" in page.text
    assert "unobtainium" in page.text


def test_when_nothing_fits_the_grounds_are_shown(client, task):
    """Which limit would have to give, and the nearest misses."""
    form = LAYOUT.texts(task, System.METRIC) | {"outside_diameter": "930"}
    then, _ = ended(client, client.post("/calculator/sizing", data=form))
    text = client.get(then).text

    assert "Nothing fits" in text
    assert 'class="grounds"' in text


@pytest.mark.parametrize(
    ("change", "field", "says"),
    [
        ({"inside_diameter": ""}, "inside_diameter", "must be given"),
        ({"alloys": ""}, "alloys", "must be given"),
        ({"heights-step": ""}, "heights-step", "must be given"),
        ({"thicknesses": "0.8; thin"}, "thicknesses", "not a number"),
        ({"plies_most": "12"}, "plies_most", "at most"),
        ({"movements-0-cycles": ""}, "movements-0-cycles", "how often"),
        ({f"conditions-{at}-{n}": "" for at in (0, 1) for n in ("pressure", "temperature")},
         "conditions-0-name", "at least one condition"),
    ],
)  # fmt: skip
def test_a_fault_stands_beside_its_field(client, task, change, field, says):
    """422 with the fault at the field; nothing runs and nothing typed is lost."""
    answer = client.post("/calculator/sizing", data=LAYOUT.texts(task, System.METRIC) | change)

    assert answer.status_code == 422
    assert says in answer.text.split(f'id="{field}-fault">')[1].split("</div>")[0]
    assert 'name="live_length" value="350"' in answer.text


def test_duty_and_envelope_come_from_the_calculator(client):
    """The form of a bellows fills the form of the search, with its outside as envelope."""
    form = calculator.texts(calculate.example("Universal, two plies"), System.METRIC)
    text = client.post("/calculator/sizing/from", data=form).text

    assert 'name="outside_diameter" value="1018.8"' in text
    assert 'name="live_length" value="322"' in text
    assert 'name="alloys" value="321"' in text
    assert 'name="movements-0-lateral" value="45"' in text


def test_an_unknown_search_is_not_found(client):
    """404 in words."""
    assert client.get(f"/calculator/sizing/{'0' * 24}").status_code == 404


def test_other_sites_cannot_start_a_search(client, task):
    """A job starts from this app's own pages only."""
    form = LAYOUT.texts(task, System.METRIC)
    answer = client.post("/calculator/sizing", data=form, headers={"origin": "http://evil.example"})

    assert answer.status_code == 403


def test_a_second_search_at_once_is_refused_and_keeps_its_input(client, task):
    """One search runs at a time; the form of the other is not lost."""
    started, go = threading.Event(), threading.Event()

    def wait(progress):
        started.set()
        go.wait(10)

    client.app.state.jobs.start("sizing", wait)
    assert started.wait(10)
    answer = client.post("/calculator/sizing", data=LAYOUT.texts(task, System.METRIC))
    go.set()

    assert answer.status_code == 409
    assert "already running" in answer.text
    assert 'name="live_length" value="350"' in answer.text
