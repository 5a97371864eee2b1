"""The calculator page: what is typed is worked out, kept, saved with differences seen first."""

import html
import json

import msgspec
import pytest

from takeup.bellows.model import BellowsCase, Convolution, FatigueCurve
from takeup.desk import calculate
from takeup.desk.site import open_site
from takeup.register.entities import BellowsElement
from takeup.units import System
from takeup.web import calculator_form as forms
from tests.cli.conftest import ROOT

EXAMPLES = ROOT / "src" / "takeup" / "desk" / "examples"


@pytest.fixture
def form():
    """The form as filled from an example."""
    return forms.texts(calculate.example("Universal, two plies"), System.METRIC)


def revisions(folder):
    """How many revisions the bellows of EJ-1101 have, and all changes of the site."""
    with open_site(folder) as site:
        return (
            len(site.store.history(BellowsElement.KIND, "EJ-1101/A")),
            site.store.last_change(),
        )


def test_every_field_of_a_case_has_its_place_in_the_form():
    """A field added to the case cannot be forgotten in the form."""
    placed = [name for group in forms.LAYOUT.groups for name in group.fields]
    tops = {name.partition("-")[0] for name in placed}
    tables = {table.name for table in forms.LAYOUT.rows}

    assert len(placed) == len(set(placed))
    assert tops | tables - {"fatigue_curve-pieces"} | {"missing"} == {
        field.name for field in msgspec.structs.fields(BellowsCase)
    }
    curve = {name.partition("-")[2] for name in placed if "-" in name} | {"pieces"}
    assert curve == {field.name for field in msgspec.structs.fields(FatigueCurve)}


@pytest.mark.parametrize("system", list(System))
@pytest.mark.parametrize("name", list(calculate.examples()))
def test_an_example_comes_back_from_the_form_as_it_went_in(name, system):
    """Case, form in either units, case: the same case, to the digits that the form shows."""
    case = calculate.example(name)
    reading = forms.read(forms.texts(case, system), system)

    assert reading.faults == {}
    old, new = (_flat(msgspec.to_builtins(one)) for one in (case, reading.case))
    assert old.keys() == new.keys()
    for place, value in old.items():
        exact = not isinstance(value, float)
        assert new[place] == (value if exact else pytest.approx(value, rel=1e-5)), place
        if not exact and not place.startswith(("conditions", "movements")):
            assert new[place] == pytest.approx(value, rel=1e-9), place


def _flat(value, place=""):
    if isinstance(value, dict):
        rows = value.items()
    elif isinstance(value, (list, tuple)):
        rows = enumerate(value)
    else:
        return {place: value}
    return {k: v for key, one in rows for k, v in _flat(one, f"{place}.{key}".strip(".")).items()}


def test_a_case_is_worked_out_with_thrust_families_checks_and_figures(client, form):
    """Thrust stands before the checks; each family shows its worst; the form is still filled."""
    answer = client.post("/calculator", data=form)

    assert answer.status_code == 200
    text = answer.text
    assert (
        text.index("Pressure thrust;")
        < text.index("Pressure stress")
        < text.index("checks</strong>")
    )
    assert "Stability" in text
    assert "ASME VIII-1 Appendix 26" in text
    assert 'name="pitch" value="46"' in text
    assert "190.7\u00a0kN" in text


def test_own_units_are_understood_in_every_field(client, form):
    """Inches, MPa and °F in a metric form give the same thrust."""
    other = form | {
        "inside_diameter": "914 mm", "pitch": f"{46 / 25.4} in",
        "conditions-0-pressure": "0.26 MPa", "conditions-0-temperature": "752 °F",
    }  # fmt: skip

    assert "190.7\u00a0kN" in client.post("/calculator", data=other).text


@pytest.mark.parametrize(
    ("change", "field", "says"),
    [
        ({"pitch": "wide"}, "pitch", "is not a number"),
        ({"pitch": "46 bar"}, "pitch", "use mm"),
        ({"pitch": "-46"}, "pitch", "it must be more than"),
        ({"plies": "2.5"}, "plies", "whole number"),
        ({"plies": "12"}, "plies", "at most 10"),
        ({"convolution": "square"}, "convolution", "choices"),
        ({"ctheta": "1.4"}, "ctheta", "at most"),
        ({"conditions-1-pressure": ""}, "conditions-1-pressure", "must be given"),
        ({"conditions-3-pressure": "2"}, "conditions-3-name", "must be given"),
        ({"movements-4-axial": "x", "movements-4-name": "a", "movements-4-cycles": "1"}, "movements-4-axial", "not a number"),
        ({"movements-0-cycles": "-5"}, "movements-0-cycles", "at least"),
        ({"fatigue_curve-pieces-1-a": "2"}, "fatigue_curve-pieces-1-start", "must be given"),
        ({"fatigue_curve-pieces-1-a": "2"}, "fatigue_curve-source", "must be given"),
    ],
)  # fmt: skip
def test_a_fault_stands_beside_its_field_and_nothing_typed_is_lost(
    client, form, change, field, says
):
    """422, the fault at the field, every other field as it was."""
    answer = client.post("/calculator", data=form | change)

    assert answer.status_code == 422
    beside = answer.text.split(f'id="{field}-fault">')[1].split("</div>")[0]
    assert says in beside
    for value in change.values():
        assert f'value="{value}"' in answer.text or value in {"", "square"}
    assert 'name="inside_diameter" value="914"' in answer.text
    assert 'id="result"' not in answer.text


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"pitch": "20", "torus_radius": "11"}, "overlap"),
        ({"torus_radius": "0.5"}, "no inside radius"),
        ({"movements-0-axial": "-400"}, "clos"),
        ({"length_over_both": "300"}, "less than two bellows"),
        ({"conditions-1-name": "design"}, "given twice"),
    ],
)
def test_input_that_cannot_be_true_is_refused_in_words(client, form, change, says):
    """The contradiction is told above the form, which keeps everything."""
    answer = client.post("/calculator", data=form | change)

    assert answer.status_code == 422
    alert = answer.text.split('role="alert">')[1].split("</p>")[0]
    assert says in alert
    assert 'name="inside_diameter" value="914"' in answer.text


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"pitch": ""}, "pitch"),
        ({"height": ""}, "height"),
        ({"material": ""}, "material"),
        ({"tangent_length": ""}, "tangent length"),
    ],
)
def test_partial_data_gives_partial_checks_and_names_what_is_missing(client, form, change, says):
    """A blank is unknown, never zero: the page shows open checks and what they lack."""
    text = client.post("/calculator", data=form | change).text

    assert "not evaluated" in text
    known = text.split("Not known: ")[1].split("</li>")[0]
    assert says in known


def test_cycles_left_blank_are_unknown_and_never_zero(client, form):
    """The allowed cycles are shown; the check against them is open and says why."""
    blank = {"movements-0-cycles": "", "movements-1-cycles": ""}
    text = client.post("/calculator", data=form | blank).text

    assert "unknown: cycles to count" in text
    assert "Allowed cycles, design curve" in text


@pytest.mark.parametrize(
    "change", [{"material": "unobtainium"}, {"conditions-0-temperature": "900"}]
)
def test_unknown_alloy_and_uncovered_temperature_never_pass_in_silence(client, form, change):
    """The headline counts open checks, or says that the rule set does not cover it."""
    answer = client.post("/calculator", data=form | change)
    head = answer.text.split('class="lede', 2)[2].split("</p>")[0]

    assert "not evaluated" in head or "Outside" in head or answer.status_code == 422


def test_what_means_nothing_for_the_shape_is_left_out_and_said(client, form):
    """Ring fields of a plain bellows are not used in silence."""
    text = client.post("/calculator", data=form | {"ring_area": "300"}).text

    assert "Not used for this shape: Area of one ring Ar" in text


def test_the_input_can_be_taken_to_the_command_line(client, form):
    """The file holds the case in SI, as the verb reads it."""
    answer = client.post("/calculator/input.json", data=form)
    case = msgspec.convert(json.loads(answer.text), BellowsCase)

    assert case.convolution is Convolution.U_PLAIN
    assert case.pitch == pytest.approx(0.046)
    assert "attachment" in answer.headers["content-disposition"]


def test_the_register_fills_the_form(client):
    """The bellows of a joint comes with its geometry, conditions and movements."""
    text = client.get("/calculator?joint=ej-1101&bellows=a").text

    assert 'name="inside_diameter" value="1420"' in text
    assert 'value="operating"' in text
    assert client.get("/calculator?of=EJ-1101 A").text == text
    unknown = client.get("/calculator?joint=EJ-1101&bellows=Z")
    assert unknown.status_code == 404
    assert client.get("/calculator?example=nothing").status_code == 404


def test_saving_shows_the_differences_and_makes_one_revision(client, folder):
    """Looking stores nothing; storing makes one revision with author and reason; again is refused."""
    with open_site(folder) as site:
        form = forms.texts(calculate.from_register(site, "EJ-1101", "A"), site.system)
    form |= {"save_joint": "EJ-1101", "save_letter": "a", "pitch": "50"}
    before = revisions(folder)

    shown = client.post("/calculator/differences", data=form)
    assert shown.status_code == 200
    table = shown.text.split('id="differences"')[1].split("</table>")[0]
    assert "Pitch q" in table
    assert table.count("<tr>") == 2
    assert revisions(folder) == before

    form["seen"] = shown.text.split('name="seen" value="')[1].split('"')[0]
    unnamed = client.post("/calculator/save", data=form)
    assert unnamed.status_code == 422
    assert "say who you are" in unnamed.text
    assert revisions(folder) == before

    form |= {"author": "E. Engineer", "save_reason": "drawing 12 rev 3"}
    assert client.post("/calculator/save", data=form).status_code == 303
    after = revisions(folder)
    assert after == (before[0] + 1, before[1] + 1)
    with open_site(folder) as site:
        change = site.store.changes(1)[0]
        kept = site.register().get(BellowsElement, "EJ-1101/A")
    assert (change.author, change.reason) == ("E. Engineer", "drawing 12 rev 3")
    assert kept.pitch == pytest.approx(0.05)

    again = client.post("/calculator/save", data=form)
    assert again.status_code == 422
    assert "already holds" in again.text
    assert revisions(folder) == after


def test_differences_that_were_not_seen_are_not_stored(client, folder, form):
    """A change of the form after looking is shown anew instead of stored."""
    form |= {"save_joint": "EJ-1101", "save_letter": "A", "author": "E", "save_reason": "r"}
    shown = client.post("/calculator/differences", data=form).text
    form["seen"] = shown.split('name="seen" value="')[1].split('"')[0]
    before = revisions(folder)
    answer = client.post("/calculator/save", data=form | {"plies": "3"})

    assert answer.status_code == 422
    assert "look at the differences again" in answer.text
    assert revisions(folder) == before


@pytest.mark.parametrize("joint", ["", "EJ-9999"])
def test_saving_to_no_joint_or_an_unknown_one_is_said(client, form, joint):
    """The form comes back with the reason."""
    answer = client.post("/calculator/differences", data=form | {"save_joint": joint})

    assert answer.status_code == 422
    assert 'role="alert"' in answer.text


@pytest.mark.parametrize("address", ["/calculator", "/calculator/differences", "/calculator/save"])
@pytest.mark.parametrize(
    "headers", [{"origin": "http://evil.example"}, {"sec-fetch-site": "cross-site"}]
)
def test_other_sites_cannot_send_the_form(client, form, address, headers):
    """A change comes from this app's own pages only."""
    assert client.post(address, data=form, headers=headers).status_code == 403


def test_every_rule_set_stands_side_by_side_with_reasons(client, form):
    """One table of three rule sets; what differs says why."""
    text = client.post("/calculator/compare", data=form).text
    table = text.split('id="compare"')[1].split("</section>")[0]

    for basis in ("ASME VIII-1 Appendix 26", "EJMA", "EN 13445-3 clause 14"):
        assert basis in table
    assert "Why they differ" in table
    assert "rate constant" in table


def test_the_bellows_is_drawn_with_its_result(client, form):
    """The section stands on the page, described for those who do not see it."""
    text = client.post("/calculator", data=form).text

    assert 'aria-label="Section of the bellows"' in text
    assert "Half section of 7 convolutions" in text


@pytest.mark.parametrize("name", ["bellows.json", "single.toml"])
def test_an_input_file_fills_the_form(client, name):
    """A file of the command line is opened, TOML or JSON, and stores nothing."""
    folder = ROOT / "examples" if name.endswith("json") else EXAMPLES
    answer = client.post("/calculator/open", files={"file": (name, (folder / name).read_bytes())})

    assert answer.status_code == 200
    assert 'name="material" value="321"' in answer.text


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"pitch = ", "not valid TOML"),
        (b"pich = 1", "did you mean pitch"),
        (b"\xff\xfe", "not UTF-8"),
        (b'pitch = "25"', "without a unit"),
    ],
)
def test_a_bad_file_is_refused_in_words(client, content, says):
    """The same words as on the command line."""
    answer = client.post("/calculator/open", files={"file": ("b.toml", content)})

    assert answer.status_code == 422
    assert says in html.unescape(answer.text)
    assert client.post("/calculator/open", data={}).status_code == 422
