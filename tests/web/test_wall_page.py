"""The page of a joint's wall: explained, asked for, kept with its faults, nothing typed lost."""

from __future__ import annotations

from fastapi.testclient import TestClient

PAGE = "/joints/EJ-1302/wall"


def test_the_wall_is_drawn_and_its_present_temperature_explained(client: TestClient) -> None:
    """Profile, cause, reading of the watch and the low line that the gas asks for."""
    page = client.get(PAGE).text
    assert "<svg" in page
    assert "running median of TI-1302" in page
    assert "Cover removed" in page
    assert "below what this gas asks for" in page
    assert "site_line" not in page
    assert f'href="{PAGE}"' in client.get("/joints/EJ-1302").text


def test_danger_is_said_before_the_picture(client: TestClient) -> None:
    """Lost packing under insulation stands above everything else of the result."""
    page = client.get("/joints/EJ-1303/wall").text
    assert page.index("▲ DANGER") < page.index("<figure")


def test_without_a_wall_the_register_begins_the_text(client: TestClient) -> None:
    """Nothing is worked out; what is unknown is a comment to fill in."""
    page = client.get("/joints/EJ-1304/wall").text
    assert "No wall of this joint is on record" in page
    assert "# ambient =" in page
    assert "What explains" not in page


def test_a_text_with_faults_is_shown_by_line_and_kept_when_asked(client: TestClient) -> None:
    """Looking keeps nothing; keeping keeps all, and the fault names its line."""
    text = client.get(f"{PAGE}.toml").text
    bad = text.replace('cavity = "25 mm"', 'cavity = "25 mn"')
    number = bad.split("\n").index('cavity = "25 mn"') + 1
    looked = client.post(PAGE, data={"text": bad, "do": "look"}).text
    assert f'data-line="{number}"' in looked
    assert "nothing was kept" in looked
    assert client.get(f"{PAGE}.toml").text == text

    seen = looked.split('name="seen" value="')[1].split('"')[0]
    sent = {"text": bad, "author": "A. Engineer", "reason": "measured", "seen": seen}
    assert client.post(PAGE, data=sent, follow_redirects=False).status_code == 303
    kept = client.get(PAGE).text
    assert "cannot be worked out" in kept
    assert client.get(f"{PAGE}.toml").text == bad
    assert client.post(PAGE, data=sent | {"text": text}).status_code == 422
    now = kept.split('name="seen" value="')[1].split('"')[0]
    client.post(PAGE, data=sent | {"text": text, "seen": now}, follow_redirects=False)
    assert "Cover removed" in client.get(PAGE).text


def test_a_table_that_is_not_toml_is_told_by_line(client: TestClient) -> None:
    """The line of a slip in the text itself."""
    looked = client.post(PAGE, data={"text": "[wall]\nname = EJ\n", "do": "look"}).text
    assert 'data-line="2"' in looked
