"""Rings and cones of a joint on screen: asked for, kept, worked out in the background, compared."""

from __future__ import annotations

import time

from fastapi.testclient import TestClient

HERE = "/joints/EJ-1403/attachments"


def ended(client: TestClient, job: str) -> str:
    """Wait for a job and return what its page says."""
    for _ in range(600):
        page = client.get(job).text
        if "data-job" not in page:
            return page
        time.sleep(0.1)
    raise AssertionError("the job does not end")


def test_joint_page_leads_to_its_attachments(client: TestClient) -> None:
    """A joint with a ring has the link; the ring is not worked out and the cones are asked for."""
    assert f'href="{HERE}"' in client.get("/joints/EJ-1403").text
    page = client.get(HERE).text

    assert "Ring 1403-R1" in page
    assert "Not worked out yet" in page
    assert "Cones of EJ-1403" in page
    assert "pieces from the hot end on" in page or "(gas_film)" in page
    assert "No ring on hot pipe" in client.get("/joints/EJ-1301/attachments").text


def test_ring_is_worked_out_in_the_background_and_drawn(client: TestClient) -> None:
    """The job leads back to the page, which then shows section, words, places and checks."""
    answer = client.post(HERE, data={"item": "1403-R1", "do": "run"})
    assert answer.status_code == 303
    job = answer.headers["location"]
    assert f'href="{HERE}"' in ended(client, job)
    page = client.get(HERE).text

    assert "A crack at the weld toe is expected after" in page
    assert page.count("<svg") >= 2
    assert "inside surface" in page
    assert "Let the ring slide" in page


def test_text_without_author_is_not_lost(client: TestClient) -> None:
    """The fault stands at its field and the typed text stays."""
    answer = client.post(HERE, data={"item": "cones", "text": 'kind = "ring on hot pipe"\n# mine'})

    assert answer.status_code == 422
    assert 'id="cones-author-fault"' in answer.text
    assert "# mine" in answer.text


def test_calculator_begins_with_the_joint_and_keeps_only_what_was_typed(
    client: TestClient,
) -> None:
    """Sizes of the register fill the form; a blank film stays unknown in what is kept."""
    of = "EJ-1402/1402-R1"
    page = client.get("/calculator/attachment", params={"of": of}).text
    assert 'value="1193.6 mm"' in page
    assert 'name="gas_film" value=""' in page

    data = {
        "of": of, "do": "keep", "kind": "ring on hot pipe", "inside_diameter": "1193.6 mm",
        "wall": "12.7 mm", "pipe_metal": "304H", "gas": "690 C", "heat_up": "12 h",
        "examined": "as welded, looked at only",
    }  # fmt: skip
    refused = client.post("/calculator/attachment", data=data)
    assert refused.status_code == 422
    assert 'id="author-fault"' in refused.text

    who = {"author": "A. Engineer", "save_reason": "drawing 17"}
    answer = client.post("/calculator/attachment", data=data | who)
    assert answer.headers["location"] == "/joints/EJ-1402/attachments"
    kept = client.get("/joints/EJ-1402/attachments").text
    assert "heat_up = &#34;12 h&#34;" in kept
    assert "gas_film =" not in kept.split("1402-R1 (TOML)")[1].split("</textarea>")[0]
    assert "film from the medium to the pipe (gas_film)" in kept


def test_cone_is_worked_out_both_ways_side_by_side(client: TestClient) -> None:
    """Range, weld factor and cycles of welded corners and formed bends stand in one table."""
    data = {
        "do": "compare", "kind": "cone or skirt with welded corners", "inside_diameter": "1 m",
        "wall": "12 mm", "pipe_metal": "304H", "gas": "650 C", "knuckle": "60 mm",
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
    assert "Welded corners beside a formed transition" in page
    assert "1.5 to 1.7" in page
    assert "The range of stress of the formed transition is" in page

    lacking = client.post("/calculator/attachment", data=data | {"knuckle": ""})
    assert lacking.status_code == 422
    assert "radius of the formed bends" in lacking.text
