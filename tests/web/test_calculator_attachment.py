"""The page of attachments on hot pipe: worked out, refused, nothing typed lost."""

from __future__ import annotations

from fastapi.testclient import TestClient

RING = {
    "name": "left-over ring",
    "kind": "ring on hot pipe",
    "inside_diameter": "1499 mm",
    "wall": "12.7 mm",
    "pipe_metal": "304H",
    "gas": "700 C",
    "ring_outside_diameter": "1830 mm",
    "ring_width": "25 mm",
    "fillet": "6 mm",
    "insulation": "150 mm",
}


def test_ring_is_drawn_and_told_where_to_look(client: TestClient) -> None:
    """Headline, section, words and places stand on the page; the check stays open."""
    form = client.get("/calculator/attachment").text
    assert "Leg of the fillets" in form
    page = client.post("/calculator/attachment", data=RING).text

    assert "A crack at the weld toe is expected after" in page
    assert "inside surface" in page
    assert page.count("<svg") >= 2
    assert "unknown: starts and stops so far" in page
    assert 'value="1499 mm"' in page


def test_lacking_sizes_are_asked_for_by_name(client: TestClient) -> None:
    """A ring without its width is refused with what is lacking, and the rest is kept."""
    answer = client.post("/calculator/attachment", data=RING | {"ring_width": ""})

    assert answer.status_code == 422
    assert "width of the ring" in answer.text
    assert "left-over ring" in answer.text


def test_impossible_emissivity_is_told_at_its_field(client: TestClient) -> None:
    """Seven is no emissivity."""
    answer = client.post("/calculator/attachment", data=RING | {"emissivity": "7"})

    assert answer.status_code == 422
    assert 'id="emissivity-fault"' in answer.text


def test_metal_beyond_its_tables_is_refused_in_words(client: TestClient) -> None:
    """Carbon steel at 700 C: the page says so and no figure is given."""
    answer = client.post("/calculator/attachment", data=RING | {"pipe_metal": "A516-70"})

    assert answer.status_code == 422
    assert "tables of expansion and modulus end" in answer.text


def test_formed_transition_is_worked_out(client: TestClient) -> None:
    """Pieces from the hot end on, bends without welds."""
    data = {
        "kind": "formed transition without welds at the bends", "inside_diameter": "1 m",
        "wall": "12 mm", "pipe_metal": "304H", "gas": "650 C", "knuckle": "60 mm",
        "starts_so_far": "20",
    }  # fmt: skip
    for k, (name, length, slope, inner) in enumerate(
        (("pipe", "500", "0", "650"), ("cone", "250", "25", "400"), ("cuff", "300", "0", "200"))
    ):
        data |= {
            f"pieces-{k}-name": name, f"pieces-{k}-length": f"{length} mm",
            f"pieces-{k}-slope": f"{slope} deg", f"pieces-{k}-inside_temperature": f"{inner} C",
            f"pieces-{k}-inside_film": "50",
        }  # fmt: skip

    page = client.post("/calculator/attachment", data=data).text

    assert "in the bend between pipe and cone" in page
    assert "formed transition" in page
