"""A real Chromium against a real server on loopback."""

import shutil
import socket
import threading
import time

import pytest

from tests.conftest import TODAY

FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip


@pytest.fixture(scope="session")
def chromium():
    """The browser; the tests are skipped where there is none."""
    path = shutil.which("chromium")
    if path is None:
        pytest.skip("no Chromium on this machine (apt-get install chromium)")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def server(demo_copy, monkeypatch):
    """The app served on a free port."""
    import uvicorn

    from takeup.desk.site import Site
    from takeup.web.server import create_app

    monkeypatch.setattr(Site, "today", lambda self: TODAY)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    app = create_app(demo_copy)
    running = uvicorn.Server(uvicorn.Config(app, port=port, log_level="error", ws="none"))
    thread = threading.Thread(target=running.run, daemon=True)
    thread.start()
    while not running.started:
        time.sleep(0.02)
    yield f"http://127.0.0.1:{port}"
    running.should_exit = True
    thread.join(10)
    app.state.site.close()


@pytest.fixture
def tab(chromium, server):
    """A page that fails the test on any console error or foreign request."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    troubles = []
    page.on("pageerror", lambda fault: troubles.append(str(fault)))
    page.on(
        "console",
        lambda said: (
            troubles.append(said.text) if said.type == "error" and "422" not in said.text else None
        ),
    )
    page.on(
        "request",
        lambda asked: (
            troubles.append(f"foreign request {asked.url}")
            if not asked.url.startswith((server, "data:"))
            else None
        ),
    )
    page.set_default_timeout(20_000)
    page.server = server
    yield page
    context.close()
    assert troubles == []
