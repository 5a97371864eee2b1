"""The main job in a real browser: by mouse, by keyboard, read by machine."""

from pathlib import Path

import pytest

pytestmark = pytest.mark.browser
AXE = Path(__file__).parent / "vendor" / "axe.min.js"
PAGES = ["/", "/joints/EJ-1102", "/joints/EJ-1102/record", "/plan", "/limits", "/import",
         "/documents", "/calculator", "/calculator/sizing", "/calculator/hardware", "/calculator/wall", "/missing", "/history", "/lines/11-RC"]  # fmt: skip


def test_the_main_job_from_first_screen_to_dossier(tab):
    """Open the unit, a joint, record a test, assess again, decide, see the plan, fetch the dossier."""
    tab.goto(tab.server)
    assert "Next date you can miss" in tab.inner_text("main")
    tab.locator("svg a.joint[aria-label^='EJ-1201']").click()
    assert tab.url.endswith("/joints/EJ-1201")
    assert "unproven" in tab.inner_text(".verdict")

    tab.get_by_role("link", name="Record evidence").click()
    tab.get_by_text("Interply test", exact=True).click()
    form = tab.locator("form[action$='/record/interply']")
    form.locator("[name=bellows]").select_option("A")
    form.locator("[name=date]").fill("2026-11-20")
    form.locator("[name=fills]").fill("3")
    form.locator("[name=port_to_port]").select_option("yes")
    form.locator("[name=gauge_resolution]").fill("0.5")
    for minute, pressure in ((0, "50"), (15, "49.9"), (30, "49.8")):
        form.locator(f"[name=p{minute}]").fill(pressure)
        form.locator(f"[name=t{minute}]").fill("18")
    form.locator("[name=bubbles]").select_option("none outside")
    form.locator("[name=author]").fill("T. Tester")
    form.get_by_role("button", name="Store test").click()
    tab.wait_for_url("**/joints/EJ-1201#evidence")

    tab.get_by_role("button", name="Assess again").click()
    tab.wait_for_url(f"{tab.server}/")
    tab.goto(f"{tab.server}/joints/EJ-1201")
    assert "unproven" not in tab.inner_text(".verdict")
    assert "tight on 2026-11-20" in tab.inner_text("main")

    tab.locator("#option").select_option("leave and monitor")
    tab.locator("#reason").fill("both bellows shown tight")
    tab.get_by_role("button", name="Record decision").click()
    tab.wait_for_url("**/joints/EJ-1201#decision")
    assert "both bellows shown tight" in tab.inner_text("main")

    tab.goto(f"{tab.server}/plan")
    assert tab.locator("figure svg").count() >= 4
    answer = tab.request.get(f"{tab.server}/joints/EJ-1201/dossier.pdf")
    assert answer.body().startswith(b"%PDF")


def test_a_joint_is_reached_and_opened_without_a_mouse(tab):
    """Tab to the skip link, into the drawing, Enter opens the joint."""
    tab.goto(tab.server)
    tab.keyboard.press("Tab")
    assert tab.evaluate("document.activeElement.className") == "skip"
    for _ in range(60):
        tab.keyboard.press("Tab")
        label = tab.evaluate("document.activeElement.getAttribute('aria-label') || ''")
        if label.startswith("EJ-1102"):
            break
    assert label.startswith("EJ-1102")
    tab.keyboard.press("Enter")
    tab.wait_for_url("**/joints/EJ-1102")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("address", PAGES)
def test_pages_pass_the_accessibility_rules(tab, address, scheme):
    """axe-core finds no violation in light and in dark (it does not judge what drawings mean)."""
    tab.emulate_media(color_scheme=scheme)
    tab.goto(tab.server + address)
    tab.evaluate(AXE.read_text(encoding="utf-8"))
    found = tab.evaluate("axe.run(document, {resultTypes: ['violations']})")

    assert [(v["id"], v["nodes"][0]["html"][:160]) for v in found["violations"]] == []


@pytest.mark.parametrize("width", [375, 768, 1920])
@pytest.mark.parametrize(
    "address", ["/", "/joints/EJ-1102", "/plan", "/joints/EJ-1102/record", "/calculator"]
)
def test_no_page_scrolls_sideways(tab, address, width):
    """From phone to wide screen only tables and drawings scroll in their own region."""
    tab.set_viewport_size({"width": width, "height": 800})
    tab.goto(tab.server + address)

    assert tab.evaluate("document.documentElement.scrollWidth") <= width


def test_faults_keep_what_was_typed(tab):
    """A form with a fault comes back open, marked and filled."""
    tab.goto(f"{tab.server}/joints/EJ-1102/record")
    form = tab.locator("form[action$='/record/observation']")
    form.locator("[name=text]").fill("slight bow to the north")
    form.locator("[name=author]").fill("W. Walker")
    form.get_by_role("button", name="Store observation").click()

    assert tab.locator("[role=alert]").is_visible()
    assert form.locator("[name=text]").input_value() == "slight bow to the north"
    assert form.locator("[name=visit]").get_attribute("aria-invalid") == "true"


def test_a_bellows_is_worked_out_compared_and_saved_by_keyboard(tab):
    """From the joint's page to a stored revision without a mouse; each page passes the rules."""
    tab.goto(f"{tab.server}/joints/EJ-1101")
    tab.get_by_role("link", name="Work out bellows A").focus()
    tab.keyboard.press("Enter")
    tab.wait_for_url("**/calculator?joint=EJ-1101&bellows=A")
    tab.locator("#pitch").focus()
    tab.keyboard.press("Control+a")
    tab.keyboard.type("50")
    tab.keyboard.press("Enter")
    tab.wait_for_selector("#result")
    for scheme in ("light", "dark"):
        tab.emulate_media(color_scheme=scheme)
        tab.evaluate(AXE.read_text(encoding="utf-8"))
        found = tab.evaluate("axe.run(document, {resultTypes: ['violations']})")
        assert [(v["id"], v["nodes"][0]["html"][:160]) for v in found["violations"]] == []
    for width in (375, 800, 1280):
        tab.set_viewport_size({"width": width, "height": 800})
        assert tab.evaluate("document.documentElement.scrollWidth") <= width

    tab.get_by_role("button", name="By every rule set").focus()
    tab.keyboard.press("Enter")
    tab.wait_for_selector("#compare")
    tab.get_by_role("button", name="Show the differences").focus()
    tab.keyboard.press("Enter")
    tab.wait_for_selector("#differences")
    tab.locator("#author").fill("E. Engineer")
    tab.locator("#save_reason").fill("drawing read again")
    tab.get_by_role("button", name="Store with the joint").focus()
    tab.keyboard.press("Enter")
    tab.wait_for_url("**/joints/EJ-1101#evidence")
    assert "drawing read again" in tab.inner_text("main")


def test_fields_of_other_shapes_are_hidden_by_script_and_there_without_it(tab, chromium):
    """Choosing a shape shows its fields; a browser without script shows all of them."""
    tab.goto(f"{tab.server}/calculator")
    assert not tab.locator("#ring_area").is_visible()
    tab.locator("#convolution").select_option("U-shaped reinforced")
    assert tab.locator("#ring_area").is_visible()
    tab.locator("#convolution").select_option("toroidal")
    assert tab.locator("#mean_diameter").is_visible()
    assert not tab.locator("#height").is_visible()

    plain = chromium.new_context(java_script_enabled=False)
    page = plain.new_page()
    page.goto(f"{tab.server}/calculator")
    assert page.locator("#ring_area").is_visible()
    assert page.locator("#mean_diameter").is_visible()
    plain.close()


def test_gloves_find_what_they_press(chromium, server):
    """On a touch screen fields and buttons of the calculator are at least 44 pixels high."""
    context = chromium.new_context(viewport={"width": 800, "height": 1100}, has_touch=True)
    page = context.new_page()
    page.goto(f"{server}/calculator?example=Single, one ply")
    low = page.evaluate(
        "[...document.querySelectorAll('main input, main select, main button, main .button')]"
        ".filter(e => e.offsetParent && e.type !== 'hidden')"
        ".filter(e => e.getBoundingClientRect().height < 43.9).map(e => e.outerHTML.slice(0, 80))"
    )
    context.close()

    assert low == []
