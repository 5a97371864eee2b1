"""As found, hardware and tolerances on the page: the design comes along, faults at their field."""

import html
import json

import pytest

from takeup.bellows.hardware import HardwareCase
from takeup.cli.files import read
from takeup.desk import calculate
from takeup.units import System
from takeup.web import calculator_form, calculator_found, calculator_hardware
from tests.cli.conftest import ROOT


@pytest.fixture
def form():
    """The calculator's form as filled from an example."""
    return calculator_form.texts(calculate.example("Universal, two plies"), System.METRIC)


@pytest.fixture
def found(client, form):
    """The as-found form with the design that comes along."""
    text = client.post("/calculator/as-found/from", data=form).text
    return {"design": html.unescape(text.split('name="design" value="')[1].split('"')[0])}


def test_the_design_comes_along_and_goes_back(client, found):
    """As JSON in SI from the calculator, and back into the calculator's form."""
    assert json.loads(found["design"])["pitch"] == pytest.approx(0.046)
    again = client.post("/calculator/again", data=found)

    assert 'name="pitch" value="46"' in again.text


def test_a_design_with_faults_stays_on_the_calculator(client, form):
    """What is wrong is said there first."""
    answer = client.post("/calculator/as-found/from", data=form | {"pitch": "wide"})

    assert answer.status_code == 422
    assert "is not a number" in answer.text


def test_as_found_stands_beside_as_designed(client, found):
    """Thinner, over-travelled and short of a ply: findings, life, checks of both."""
    answer = client.post(
        "/calculator/as-found",
        data=found
        | {
            "lost_ply": "inner", "thicknesses-0-thickness": "1.02",
            "thicknesses-0-date": "2026-09-14", "travel-axial": "-34", "travel-cycles": "2",
            "convolutions-0-convolution": "3", "convolutions-0-pitch": "49",
        },
    )  # fmt: skip
    text = answer.text

    assert answer.status_code == 200
    for words in ("Inner ply lost", "Metal lost", "Travelled beyond", "as designed"):
        assert words in text
    assert 'name="thicknesses-0-thickness" value="1.02"' in text
    assert "decision is the engineer" in text


@pytest.mark.parametrize(
    ("change", "field", "says"),
    [
        ({"thicknesses-0-thickness": "thin"}, "thicknesses-0-thickness", "not a number"),
        ({"thicknesses-0-place": "crest"}, "thicknesses-0-thickness", "must be given"),
        ({"convolutions-1-pitch": "50"}, "convolutions-1-convolution", "must be given"),
        ({"lost_ply": "middle"}, "lost_ply", "choices"),
        ({"metal_temperature": "5 bar"}, "metal_temperature", "use K"),
    ],
)
def test_a_fault_of_what_was_found_stands_at_its_field(client, found, change, field, says):
    """422, and the design is not lost."""
    answer = client.post("/calculator/as-found", data=found | change)

    assert answer.status_code == 422
    assert says in answer.text.split(f'id="{field}-fault">')[1].split("</div>")[0]
    assert 'name="design"' in answer.text


@pytest.mark.parametrize("design", ["", "{", "[]", '{"pitch": 1}'])
def test_a_design_that_did_not_come_along_is_said(client, design):
    """No case is made up in its place."""
    answer = client.post("/calculator/as-found", data={"design": design})

    assert answer.status_code == 422
    assert "start again from the calculator" in answer.text


def test_what_cannot_be_found_is_refused_in_words(client, found):
    """A ply thicker than the sheet was is no reading of one ply."""
    answer = client.post("/calculator/as-found", data=found | {"thicknesses-0-thickness": "9"})

    assert answer.status_code == 422
    assert 'role="alert"' in answer.text


@pytest.mark.parametrize("system", list(System))
def test_a_hardware_case_comes_back_from_the_form_as_it_went_in(system):
    """Nested tables too; what is empty makes no table."""
    case = read(ROOT / "examples" / "hardware.toml", HardwareCase)
    layout = calculator_hardware.LAYOUT
    reading = layout.read(layout.texts(case, system), system)

    assert reading.faults == {}
    assert reading.value.ring is None
    assert reading.value.rods.count == 4
    assert reading.value.rods.diameter == pytest.approx(0.048)
    assert reading.value.weight_along == 0.0
    assert reading.value.conditions[1].pressure == pytest.approx(2.1e5, rel=1e-5)
    assert [one.kind for one in reading.value.defects] == [one.kind for one in case.defects]


def test_the_thrust_is_traced_and_drawn(client):
    """The path, what the missing nut takes away, what governs, what to measure."""
    case = read(ROOT / "examples" / "hardware.toml", HardwareCase)
    answer = client.post(
        "/calculator/hardware", data=calculator_hardware.LAYOUT.texts(case, System.METRIC)
    )
    text = answer.text

    assert answer.status_code == 200
    assert 'aria-label="Path of the load"' in text
    assert "no nut" in text
    assert "governs" in text
    assert "Stored thrust" in text


def test_area_and_conditions_come_from_the_calculator(client, form):
    """The kind of hardware is left to choose."""
    text = client.post("/calculator/hardware/from", data=form).text

    assert 'name="effective_area" value="7335.06' in text
    assert 'name="conditions-0-pressure" value="2.6"' in text
    answer = client.post("/calculator/hardware", data={"name": "x"})
    assert answer.status_code == 422
    assert "must be given" in answer.text.split('id="type-fault">')[1].split("</div>")[0]


def test_tolerances_are_sampled_and_named(client, form):
    """What was spread, with its sources, and the caution that it is no reliability."""
    text = client.post("/calculator/tolerances", data=form).text

    assert "Within the usual tolerances" in text
    assert "no claim of reliability" in text
    assert "What was spread" in text


def test_every_field_has_its_place_in_its_form():
    """A field added to a type cannot be forgotten on its page."""
    import msgspec

    for layout, left in (
        (calculator_found.LAYOUT, {"name", "done"}),
        (calculator_hardware.LAYOUT, set()),
    ):
        placed = {name.partition("-")[0] for group in layout.groups for name in group.fields}
        placed |= {table.name for table in layout.rows}
        assert placed | left == {field.name for field in msgspec.structs.fields(layout.kind)}


def test_hardware_comes_from_the_register_with_what_was_found_on_it(client):
    """Each item on record can be traced; a kind that carries nothing, or none, is said."""
    page = client.get("/calculator/hardware").text
    items = [part.split('"')[0] for part in page.split('<option value="')[1:]]
    items = [one for one in items if "/" in one]
    assert items

    for item in items[:3]:
        filled = client.get(f"/calculator/hardware?of={item}")
        assert filled.status_code == 200
        assert f'name="name" value="{item.partition("/")[0]}' in filled.text
    assert client.get("/calculator/hardware?of=EJ-1101/nothing").status_code == 404
