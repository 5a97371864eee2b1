"""The diagnosis of a line in a real browser: weigh, read, enter what is to be read next."""

from pathlib import Path

import pytest

pytestmark = pytest.mark.browser
AXE = Path(__file__).parent / "vendor" / "axe.min.js"


def violations(tab):
    """What axe-core finds, in light and in dark."""
    told = []
    for scheme in ("light", "dark"):
        tab.emulate_media(color_scheme=scheme)
        tab.evaluate(AXE.read_text(encoding="utf-8"))
        found = tab.evaluate("axe.run(document, {resultTypes: ['violations']})")
        told += [(v["id"], v["nodes"][0]["html"][:160]) for v in found["violations"]]
    return told


def test_a_line_is_weighed_and_a_reading_entered_by_keyboard(tab):
    """Enter weighs; the page comes back by itself; the next reading is filled in and kept."""
    tab.goto(f"{tab.server}/lines/12-SC/diagnosis")
    tab.get_by_role("button", name="Weigh the readings").focus()
    tab.keyboard.press("Enter")
    tab.wait_for_url("**/lines/12-SC/diagnosis")
    tab.wait_for_selector("text=Predicted against measured")
    assert violations(tab) == []
    for width in (375, 800, 1280):
        tab.set_viewport_size({"width": width, "height": 800})
        assert tab.evaluate("document.documentElement.scrollWidth") <= width

    tab.goto(f"{tab.server}/lines/12-SC/diagnosis?quantity=spring+pointer&place=12-S1#add")
    assert tab.locator("#place").input_value() == "12-S1"
    tab.locator("#hot").fill("52 bar")
    tab.locator("#author").fill("W. Walker")
    tab.locator("#reason").fill("read on the walk")
    tab.locator("#reason").press("Enter")
    assert tab.locator("#hot").get_attribute("aria-invalid") == "true"
    assert tab.locator("#hot").input_value() == "52 bar"
    assert violations(tab) == []

    tab.locator("#hot").fill("52 mm")
    tab.locator("#cold").fill("61 mm")
    tab.locator("#reason").press("Enter")
    tab.wait_for_url("**/lines/12-SC/diagnosis")
    tab.wait_for_selector("text=12-S1: travel of its pointer")
    tab.emulate_media(media="print")
    assert not tab.locator("form").first.is_visible()
    assert tab.locator(".caution").first.is_visible()
