"""A line turned about in a real browser: by keyboard, by pointer, by touch, and without script."""

from __future__ import annotations

from pathlib import Path

import pytest

pytestmark = pytest.mark.browser
AXE = Path(__file__).parent / "vendor" / "axe.min.js"
EXAMPLE = Path(__file__).parents[3] / "examples" / "line.toml"
LINE = "/lines/12-SC/mechanics"


@pytest.fixture
def demo_copy(demo_copy):
    """With the example kept as the model of the steam main, and a faulty one beside it."""
    from takeup.desk import lines
    from takeup.desk.site import open_site

    with open_site(demo_copy) as site:
        text = EXAMPLE.read_text(encoding="utf-8").replace('"L-101"', '"18-ST"')
        lines.keep(site, "18-ST", text, "A. Engineer", "first")
        lines.keep(site, "17-FX", 'line = "17-FX"\n[[pipe]]\nwall = -3\n', "A", "first")
    return demo_copy


def note(tab):
    """What stands beside the drawing."""
    return tab.inner_text("[data-note]")


def test_places_are_reached_by_tab_and_their_numbers_are_told(tab):
    """Into the drawing, to its joints and supports; Enter keeps one, the state changes its numbers."""
    tab.goto(tab.server + "/lines/18-ST/mechanics")
    assert not tab.locator("[data-isometric] > figure").is_visible()
    tab.locator("[data-stage]").focus()
    tab.keyboard.press("Tab")
    assert "EJ-101" in note(tab)
    assert "axial" in note(tab)
    tab.keyboard.press("Tab")
    assert "anchor at vessel nozzle" in note(tab)
    hot = note(tab)
    tab.keyboard.press("Enter")
    assert tab.evaluate("document.activeElement.getAttribute('aria-pressed')") == "true"
    tab.locator("[data-states]").select_option(label="cold")
    assert note(tab) != hot
    assert "cold" in note(tab)
    tab.locator("[data-pick]").select_option(label="knee.out")
    assert "moved up" in note(tab)


def spot(tab, name):
    """Where a place is drawn, in pixels of the drawing."""
    found = tab.locator(f"[data-stage] [aria-label^='{name},']").get_attribute("transform")
    x, y = found.removeprefix("translate(").removesuffix(")").split()
    return float(x), float(y)


def settle(tab):
    """Let the drawing be drawn."""
    tab.evaluate("new Promise(r => requestAnimationFrame(() => requestAnimationFrame(r)))")


def test_keys_pointer_and_buttons_turn_move_and_come_nearer(tab):
    """Each moves the places as it should; 0 brings the whole line back."""
    tab.goto(tab.server + "/lines/18-ST/mechanics")
    settle(tab)
    start = spot(tab, "vessel nozzle")
    tab.locator("[data-stage]").focus()
    for key in ("ArrowRight", "ArrowUp", "Shift+ArrowLeft", "+"):
        before = spot(tab, "vessel nozzle")
        tab.keyboard.press(key)
        settle(tab)
        assert spot(tab, "vessel nozzle") != before, key
    tab.keyboard.press("0")
    settle(tab)
    assert spot(tab, "vessel nozzle") == pytest.approx(start, abs=0.2)

    box = tab.locator("[data-stage]").bounding_box()
    tab.mouse.move(box["x"] + 60, box["y"] + 300)
    tab.mouse.down()
    tab.mouse.move(box["x"] + 160, box["y"] + 300, steps=4)
    tab.mouse.up()
    settle(tab)
    assert spot(tab, "vessel nozzle") != pytest.approx(start, abs=2)
    tab.get_by_role("button", name="isometric", exact=True).click()
    tab.get_by_role("button", name="from above", exact=True).click()
    settle(tab)
    high, low = spot(tab, "drop.out"), spot(tab, "cooler")
    assert high == pytest.approx(low, abs=0.3)  # a leg straight down, seen from above


def test_a_click_finds_the_place_under_it_and_once_more_what_lies_behind(tab):
    """Nearest place first, joints before stations."""
    tab.goto(tab.server + "/lines/18-ST/mechanics")
    tab.locator("[data-stage]").scroll_into_view_if_needed()
    settle(tab)
    box = tab.locator("[data-stage]").bounding_box()
    x, y = spot(tab, "cooler")
    tab.mouse.click(box["x"] + x + 2, box["y"] + y + 1)
    first = note(tab).split("\n")[0]
    tab.mouse.click(box["x"] + x + 2, box["y"] + y + 1)
    second = note(tab).split("\n")[0]
    assert {first, second} == {"anchor at cooler", "cooler"}
    assert first == "anchor at cooler"


def test_the_deflected_shape_grows_with_the_slider(tab):
    """At nothing it is not drawn; further right it lies further off the axis."""
    tab.goto(tab.server + "/lines/18-ST/mechanics")
    tab.locator("[data-times]").focus()
    shape = "document.querySelector('.iso-moved').getAttribute('d')"
    tab.keyboard.press("Home")
    settle(tab)
    assert tab.evaluate(shape) is None
    assert "not drawn" in tab.inner_text("[data-times-out]")
    seen = set()
    for _ in range(3):
        tab.keyboard.press("ArrowRight")
        settle(tab)
        seen.add(tab.evaluate(shape))
    assert len(seen) == 3


@pytest.mark.parametrize("address", ["/lines/18-ST/mechanics", LINE])
@pytest.mark.parametrize("width", [800, 1280])
def test_names_in_the_drawing_do_not_overlap(tab, address, width):
    """From every side, no two names share a place and none leaves the drawing."""
    tab.set_viewport_size({"width": width, "height": 900})
    tab.goto(tab.server + address)
    stage = tab.locator("[data-stage]").bounding_box()
    for view in ("isometric", "from above", "from the south", "from the east"):
        tab.get_by_role("button", name=view, exact=True).click()
        settle(tab)
        boxes = tab.evaluate(
            "[...document.querySelectorAll('.iso-words text')].map(t => { const b = t.getBBox();"
            " return [b.x, b.y + 0.2 * b.height, b.x + b.width, b.y + 0.85 * b.height,"
            " t.textContent]; })"
        )
        assert boxes
        for k, (left, top, right, bottom, said) in enumerate(boxes):
            assert left >= 0
            assert top >= 0
            assert right <= stage["width"] + 1, said
            assert bottom <= stage["height"] + 1, said
            for other in boxes[:k]:
                apart = (
                    right <= other[0] or left >= other[2] or bottom <= other[1] or top >= other[3]
                )
                assert apart, (view, said, other[4])


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(
    "address",
    ["/lines", "/lines/18-ST/mechanics", "/lines/17-FX/mechanics", "/lines/18-ST/design-out",
     "/lines/18-ST/what-if?joint:EJ-101:do=lock&next_cycle=yes",
     "/lines/18-ST/what-if?support:spring at knee.out:do=reset"],
)  # fmt: skip
def test_pages_of_lines_pass_the_accessibility_rules(tab, address, scheme):
    """axe-core finds no violation, with a place chosen and with a fault at a field."""
    tab.emulate_media(color_scheme=scheme)
    tab.goto(tab.server + address)
    if tab.locator("[data-stage]").count():
        tab.locator("[data-pick]").select_option(index=1)
    tab.evaluate(AXE.read_text(encoding="utf-8"))
    found = tab.evaluate("axe.run(document, {resultTypes: ['violations']})")
    assert [(v["id"], v["nodes"][0]["html"][:160]) for v in found["violations"]] == []


@pytest.mark.parametrize("width", [375, 800, 1280])
def test_pages_of_lines_do_not_scroll_sideways(tab, width):
    """Tables and text scroll in their own region."""
    tab.set_viewport_size({"width": width, "height": 800})
    for address in ("/lines", "/lines/18-ST/mechanics", "/lines/17-FX/mechanics",
                    "/lines/18-ST/what-if?joint:EJ-101:do=lock", "/lines/18-ST/design-out"):  # fmt: skip
        tab.goto(tab.server + address)
        assert tab.evaluate("document.documentElement.scrollWidth") <= width, address


def test_a_fault_leads_into_the_text_at_its_line(tab):
    """The line is selected and marked beside the text."""
    tab.goto(tab.server + "/lines/17-FX/mechanics")
    tab.locator("a[data-line='3']").first.click()
    assert tab.evaluate(
        "(() => { const t = document.getElementById('text');"
        " return t.value.slice(t.selectionStart, t.selectionEnd); })()"
    ) == "wall = -3"  # fmt: skip
    assert "▲ 3" in tab.inner_text(".gutter")


def test_without_script_and_on_paper_the_drawing_on_paper_stands(chromium, server, tab):
    """No empty stage; the printed page shows the drawing as on paper."""
    plain = chromium.new_context(java_script_enabled=False)
    page = plain.new_page()
    page.goto(f"{server}/lines/18-ST/mechanics")
    assert page.locator("[data-isometric] > figure").is_visible()
    assert not page.locator("[data-stage]").is_visible()
    plain.close()
    tab.goto(tab.server + "/lines/18-ST/mechanics")
    tab.emulate_media(media="print")
    assert tab.locator("[data-isometric] > figure").is_visible()
    assert not tab.locator("[data-stage]").is_visible()


def test_a_search_shows_how_far_it_is_and_ends_with_the_nearest_drawn(tab):
    """By keyboard from the joint chosen to the result."""
    tab.goto(tab.server + "/lines/18-ST/design-out?joint=EJ-101")
    tab.locator("#largest").fill("3")
    tab.keyboard.press("Enter")
    tab.wait_for_selector("#tried")
    assert "Nearest of those tried" in tab.inner_text("main")
    assert tab.locator("[data-stage] .iso-hit").count() > 10
