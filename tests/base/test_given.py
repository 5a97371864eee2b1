"""What people give becomes typed input in SI, and every fault is said at its place."""

import msgspec
import pytest

from takeup.bellows.model import BellowsCase, Treatment
from takeup.given import take
from takeup.units import System

SOUND = {
    "inside_diameter": "219 mm", "height": 0.03, "pitch": "1 in", "convolutions": 6,
    "plies": 1, "ply_thickness": "0.5 mm", "material": "321", "treatment": "As Formed",
    "conditions": [{"name": "design", "pressure": "0.1 MPa", "temperature": "200 C"}],
    "movements": [{"name": "start", "axial": "-5 mm", "angular": "2 deg", "cycles": 1000}],
}  # fmt: skip


def test_numbers_are_si_and_text_carries_its_unit():
    """A file mixes SI numbers and text with units as it likes."""
    taken = take(SOUND, BellowsCase)
    case = taken.value

    assert taken.faults == ()
    assert (case.inside_diameter, case.height, case.pitch) == pytest.approx((0.219, 0.03, 0.0254))
    assert case.treatment is Treatment.AS_FORMED
    assert case.conditions[0].pressure == pytest.approx(1e5)
    assert case.conditions[0].temperature == pytest.approx(473.15)
    assert case.movements[0].angular == pytest.approx(0.0349066, rel=1e-5)


def test_a_case_written_as_json_reads_back_as_the_same_case():
    """Text, case, JSON, case: nothing is lost, and unknown values stay unknown."""
    case = take(SOUND | {"missing": ["pitch"], "pitch": None}, BellowsCase).value
    again = take(msgspec.json.decode(msgspec.json.encode(case)), BellowsCase).value

    assert again.missing == case.missing == ("pitch",)
    assert msgspec.json.encode(again) == msgspec.json.encode(case)


@pytest.mark.parametrize(
    ("change", "place", "says"),
    [
        ({"pich": 0.025}, "$.pich", "did you mean pitch"),
        ({"pitch": "25"}, "$.pitch", "without a unit"),
        ({"pitch": "25 bar"}, "$.pitch", "use mm"),
        ({"pitch": "wide"}, "$.pitch", "is not a number"),
        ({"pitch": True}, "$.pitch", "is yes or no; right would be a number in m"),
        ({"pitch": [1]}, "$.pitch", "is a list"),
        ({"pitch": float("inf")}, "$.pitch", "finite"),
        ({"pitch": "-25 mm"}, "$.pitch", "more than"),
        ({"pitch": None}, "$.pitch", "name it in missing"),
        ({"plies": 1.5}, "$.plies", "whole number"),
        ({"plies": 11}, "$.plies", "at most 10"),
        ({"material": 321}, "$.material", "text in quotes"),
        ({"treatment": "anealed"}, "$.treatment", "did you mean 'annealed'"),
        ({"spool_held": "perhaps"}, "$.spool_held", "true or false"),
        ({"conditions": {"name": "design"}}, "$.conditions", "[[conditions]] in TOML"),
        ({"conditions": [{"name": "x", "pressure": "1 bar"}]}, "$.conditions[0].temperature", "must be given"),
        ({"conditions": ["design"]}, "$.conditions[0]", "a table of Condition"),
        ({"movements": [{"name": "a", "axil": 0.1}]}, "$.movements[0].axil", "did you mean axial"),
        ({"movements": [{"name": "a", "cycles": -1}]}, "$.movements[0].cycles", "at least 0"),
    ],
)  # fmt: skip
def test_every_fault_has_its_place_and_what_would_be_right(change, place, says):
    """Key path and remedy, for each kind of wrong value."""
    taken = take(SOUND | change, BellowsCase)

    assert taken.value is None
    (fault,) = taken.faults
    assert fault.place == place
    assert says in fault.wrong


def test_all_faults_are_told_at_once():
    """One run shows everything that is wrong."""
    taken = take(SOUND | {"pitch": "x", "plies": 0, "basis": "none"}, BellowsCase)

    assert {fault.place for fault in taken.faults} == {"$.pitch", "$.plies", "$.basis"}


def test_a_form_reads_the_units_of_the_site_and_leaves_blanks_unknown():
    """Bare text is in display units; an empty required field is named as missing."""
    form = SOUND | {"pitch": "", "height": "1.2", "ply_thickness": "0.02", "tangent_length": " "}
    case = take(form, BellowsCase, system=System.US).value

    assert case.missing == ("pitch",)
    assert (case.height, case.ply_thickness) == pytest.approx((1.2 * 0.0254, 0.02 * 0.0254))
    assert case.tangent_length == 0.0


def test_a_form_row_without_what_it_needs_is_a_fault():
    """A condition without its temperature is not filled in by guess."""
    form = {"conditions": [{"name": "design", "pressure": "2", "temperature": ""}]}
    taken = take(form, BellowsCase, system=System.METRIC)

    assert [fault.place for fault in taken.faults] == ["$.conditions[0].temperature"]
