"""The app and its server: loopback only, own hosts only, same origin only."""

from __future__ import annotations

import ipaddress
from collections.abc import Awaitable, Callable
from pathlib import Path

from fastapi import FastAPI, Request
from fastapi.responses import Response
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException

from takeup.desk.jobs import Jobs
from takeup.desk.site import open_site
from takeup.errors import Refused, TakeupError, UnknownName
from takeup.web import (
    calculator,
    calculator_attachment,
    calculator_found,
    calculator_hardware,
    calculator_metal,
    calculator_sizing,
    calculator_wall,
    diagnosis,
    documents,
    imports,
    joint_attachments,
    joints,
    line_design_out,
    line_what_if,
    lines,
    overview,
    plan,
    record,
    settings,
    walls,
    watching,
)
from takeup.web.common import HERE, page

LIMIT = 300 * 1024 * 1024
HOSTS = frozenset({"127.0.0.1", "localhost", "[::1]"})
POLICY = (
    "default-src 'self'; img-src 'self' data:; style-src 'self' 'unsafe-inline'; "
    "script-src 'self'; frame-ancestors 'none'; form-action 'self'; base-uri 'none'"
)


def create_app(folder: Path) -> FastAPI:
    """Build the app for the site in ``folder``."""
    app = FastAPI(title="Takeup", docs_url=None, redoc_url=None, openapi_url=None)
    app.state.site = open_site(folder)
    app.state.jobs = Jobs()
    app.mount("/static", StaticFiles(directory=HERE / "static"), name="static")
    for module in (
        overview,
        joint_attachments,
        joints,
        lines,
        diagnosis,
        line_design_out,
        line_what_if,
        record,
        imports,
        plan,
        documents,
        calculator_sizing,
        calculator_found,
        calculator_hardware,
        calculator_attachment,
        calculator_metal,
        calculator_wall,
        calculator,
        settings,
        walls,
        watching,
    ):
        app.include_router(module.router)
    app.middleware("http")(_guard)
    app.add_exception_handler(TakeupError, _said)
    app.add_exception_handler(HTTPException, _missing)
    app.add_exception_handler(Exception, _unexpected)
    return app


async def _guard(request: Request, call: Callable[[Request], Awaitable[Response]]) -> Response:
    """Refuse foreign hosts (name rebinding), foreign origins and oversized uploads."""
    host = request.headers.get("host", "")
    name = host.rsplit(":", 1)[0] if not host.endswith("]") else host
    if name not in HOSTS:
        return Response("this server answers to its own address only", status_code=421)
    if request.method not in {"GET", "HEAD"}:
        site = request.headers.get("sec-fetch-site", "")
        origin = request.headers.get("origin", "")
        foreign = site in {"cross-site", "same-site"} or (
            origin != "" and origin.split("://", 1)[-1] != host
        )
        if foreign:
            return Response("a change must come from this app's own pages", status_code=403)
        if "transfer-encoding" in request.headers:
            return Response("say the length of what you send", status_code=411)
        length = request.headers.get("content-length", "0")
        if length.isdigit() and int(length) > LIMIT:
            return Response("the upload is larger than 300 MB", status_code=413)
    response = await call(request)
    response.headers["Content-Security-Policy"] = POLICY
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers["Referrer-Policy"] = "same-origin"
    return response


async def _said(request: Request, fault: Exception) -> Response:
    status = 404 if isinstance(fault, UnknownName) else 409 if isinstance(fault, Refused) else 422
    return page(request, "fault.html", status=status, title="Not done", words=str(fault))


async def _missing(request: Request, fault: Exception) -> Response:
    status = fault.status_code if isinstance(fault, HTTPException) else 404
    words = "There is no such page. The contents line above leads to every page."
    if status != 404:
        words = "This page does not take that kind of request."
    return page(request, "fault.html", status=status, title="Not here", words=words)


async def _unexpected(request: Request, fault: Exception) -> Response:
    return page(
        request,
        "fault.html",
        status=500,
        title="A fault of Takeup",
        words=f"{type(fault).__name__}: {fault}. Look at Changes to see whether anything was "
        "stored. The server's terminal shows where it happened; please report it.",
    )


def serve(folder: Path, host: str, port: int) -> None:
    """Serve on loopback; any other address is refused until accounts exist."""
    import uvicorn

    try:
        loopback = ipaddress.ip_address(host).is_loopback
    except ValueError:
        loopback = host == "localhost"
    if not loopback:
        raise Refused(
            f"{host} can be reached by others, and this version has no login; "
            "serve on 127.0.0.1, and let people in through a tunnel that knows them"
        )
    app = create_app(folder)
    print(f"Takeup serves {folder} at http://{host}:{port}/  (stop with Ctrl-C)", flush=True)  # noqa: T201
    uvicorn.run(app, host=host, port=port, log_level="warning")
