"""The page of walls: worked out, ranked, refused, nothing typed lost."""

from __future__ import annotations

from fastapi.testclient import TestClient

WALL = {
    "wall-name": "EJ-7 <south>",
    "wall-wall": "hot wall",
    "wall-gas_temperature": "720 C",
    "wall-gas_film": "60 W/m2.K",
    "wall-inside_diameter": "1500 mm",
    "wall-liner_material": "304H",
    "wall-liner_thickness": "6 mm",
    "wall-cavity": "100 mm",
    "wall-packing": "fibre 128",
    "wall-fill": "packed as designed",
    "wall-bellows_material": "625",
    "wall-ply_thickness": "1.5 mm",
    "wall-ambient": "25 C",
}


def test_a_wall_is_drawn_with_its_range_and_checks(client: TestClient) -> None:
    """Profile, range, checks and sources stand on the page; what was typed is kept and escaped."""
    form = client.get("/calculator/wall").text
    assert "Gas temperature" in form
    assert 'list="insulations"' in form
    page = client.post("/calculator/wall", data=WALL).text
    assert "EJ-7 &lt;south&gt;" in page
    assert "<svg" in page
    assert "Bellows inside stays above the low action line" in page
    assert "not met" in page
    assert 'value="1500 mm"' in page
    assert "What explains" not in page


def test_a_reading_is_explained_and_the_gas_condenses(client: TestClient) -> None:
    """Causes with probabilities, the proposed line and what is unknown of the gas are told."""
    more = {"reading-temperature": "125 C", "gas-water": "12 %", "gas-so2": "600 ppm"}
    page = client.post("/calculator/wall", data=WALL | more).text
    assert "What explains 125" in page
    assert "Part of the packing lost" in page
    assert "Low action line to work with" in page
    assert "unknown are HCl, NH3" in page
    assert "do not insulate" in page


def test_the_danger_stands_above_all(client: TestClient) -> None:
    """Lost packing under insulation is an alert before anything else of the result."""
    more = {"wall-fill": "empty", "wall-insulation": "mineral wool",
            "wall-insulation_thickness": "50 mm"}  # fmt: skip
    page = client.post("/calculator/wall", data=WALL | more).text
    assert 'role="alert"><strong>▲ DANGER' in page
    assert page.index("▲ DANGER") < page.index("<figure")


def test_choices_alone_make_an_exposure(client: TestClient) -> None:
    """Four conditions chosen, nothing typed: polythionic acid is judged all the same."""
    four = {f"exposure-{name}": "yes" for name in ("sensitised", "sulphides", "opened", "wet")}
    page = client.post("/calculator/wall", data=WALL | four).text
    assert "Polythionic acid cracking at shutdown" in page
    assert "come together" in page
    assert "Polythionic" not in client.post("/calculator/wall", data=WALL).text


def test_an_untouched_form_says_nothing_of_exposure(client: TestClient) -> None:
    """Every choice that is not made stands at not known: a service alone answers nothing else."""
    form = client.get("/calculator/wall").text
    for name in ("exposure-nitrogen", "exposure-opened", "exposure-sensitised", "gas-burning"):
        select = form.split(f'id="{name}"')[1].split("</select>")[0]
        assert "<option selected>not known" in select
        assert select.index("not known") < select.index("</option>")
    shown = dict.fromkeys(("exposure-sensitised", "exposure-opened", "exposure-nitrogen"),
                          "not known")  # fmt: skip
    page = client.post(
        "/calculator/wall", data=WALL | shown | {"exposure-service": "expander inlet"}
    ).text
    assert "unknown: sensitised metal, oxygen (opened to air), liquid water" in page


def test_faults_stand_at_their_fields_and_nothing_is_lost(client: TestClient) -> None:
    """Emissivity seven at its field; a unit that looks wrong as a question; both keep the form."""
    wrong = client.post("/calculator/wall", data=WALL | {"wall-emissivity": "7"})
    assert wrong.status_code == 422
    assert 'id="wall-emissivity-fault"' in wrong.text
    asked = client.post("/calculator/wall", data=WALL | {"wall-gas_temperature": "1350 C"})
    assert asked.status_code == 422
    assert "1350 °F meant, which is 732 °C" in asked.text
    assert 'value="1350 C"' in asked.text
    sure = client.post(
        "/calculator/wall", data=WALL | {"wall-gas_temperature": "1100 C", "wall-certain": "yes"}
    )
    assert sure.status_code == 200
    cold = client.post("/calculator/wall", data=WALL | {"wall-wall": "cold wall"})
    assert cold.status_code == 422
    assert "lining" in cold.text
