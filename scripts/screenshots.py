"""Take the README's pictures from a running demo: ``python scripts/screenshots.py SITE OUT``."""

import shutil
import socket
import sys
import threading
import time
from pathlib import Path

import uvicorn
from playwright.sync_api import sync_playwright

from takeup.web.server import create_app

FLAGS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"]
SHOTS = (
    ("overview", "/", "light", 1080),
    ("joint", "/joints/EJ-1102", "light", 1400),
    ("options", "/joints/EJ-1102#options", "light", 1000),
    ("plan", "/plan", "light", 1100),
    ("line", "/lines/13-FG/mechanics", "light", 1350),
    ("overview-dark", "/", "dark", 1000),
)


def main(folder: Path, out: Path) -> None:
    """Serve the site on a free port and photograph it."""
    out.mkdir(parents=True, exist_ok=True)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = uvicorn.Server(uvicorn.Config(create_app(folder), port=port, log_level="error"))
    threading.Thread(target=server.run, daemon=True).start()
    while not server.started:
        time.sleep(0.05)
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        for name, address, scheme, height in SHOTS:
            page = browser.new_page(viewport={"width": 1200, "height": height}, color_scheme=scheme)
            page.goto(f"http://127.0.0.1:{port}{address}")
            page.wait_for_load_state("networkidle")
            page.screenshot(path=out / f"{name}.png")
            print(out / f"{name}.png")
        browser.close()
    server.should_exit = True


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
