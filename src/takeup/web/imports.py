"""Import: upload, look at faults or differences, then take all of it or nothing."""

from __future__ import annotations

import hashlib
import re
import shutil
from pathlib import Path

import msgspec
from fastapi import APIRouter, Request
from fastapi.responses import FileResponse, HTMLResponse, Response
from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException

from takeup.desk import exports, imports
from takeup.desk.site import Site
from takeup.register.exchange import ImportReport
from takeup.web.common import Form, back, page, site_of, uploaded

router = APIRouter()


def _waiting(site: Site) -> Path:
    folder = site.folder / ".imports"
    folder.mkdir(exist_ok=True)
    return folder


def _tidy(site: Site) -> None:
    """Drop uploads that nobody confirmed within a day."""
    old = site.now().timestamp() - 86400.0
    for waiting in _waiting(site).iterdir():
        if waiting.is_dir() and waiting.stat().st_mtime < old:
            shutil.rmtree(waiting, ignore_errors=True)


def seen(report: ImportReport) -> str:
    """A mark of the differences that a person was shown."""
    return hashlib.sha256(msgspec.json.encode(report.differences)).hexdigest()[:24]


@router.get("/import")
def show(request: Request) -> HTMLResponse:
    """Choose a file, or fetch the template."""
    return page(request, "import.html", title="Import", report=None, token="", fault="")


@router.post("/import")
async def examine(request: Request) -> Response:
    """Show what the file would do; nothing is stored but the file itself, waiting."""
    site = site_of(request)
    async with request.form(max_files=1) as data:
        filename, content = await uploaded(data)
    if not filename:
        return page(
            request, "import.html", status=422, title="Import", report=None, token="",
            fault="choose a workbook (.xlsx) or a .csv named after its table",
        )  # fmt: skip
    name = re.sub(r"[^A-Za-z0-9._-]", "_", Path(filename).name).lstrip(".") or "file"
    name = name.replace("..", "_")
    _tidy(site)
    token = hashlib.sha256(content).hexdigest()[:24]
    folder = _waiting(site) / token
    folder.mkdir(exist_ok=True)
    path = folder / name
    path.write_bytes(content)
    report = await run_in_threadpool(imports.examine, site, path)
    return page(
        request, "import.html", title="Import", report=report, token=f"{token}/{name}", fault="",
        seen=seen(report),
        status=200 if report.clean else 422,
    )  # fmt: skip


@router.post("/import/commit")
async def commit(request: Request) -> Response:
    """Take the waiting file, compared once more with the register as it stands now."""
    site = site_of(request)
    form = Form(await request.form(), site.system)
    token = form.text("token")
    author = form.text("author", needed="say who you are")
    reason = form.text("reason", needed="say why")
    if not re.fullmatch(r"[0-9a-f]{24}/[A-Za-z0-9._-]+", token) or ".." in token:
        raise HTTPException(404)
    path = _waiting(site) / token
    if not path.is_file():
        raise HTTPException(404)
    report = await run_in_threadpool(imports.examine, site, path)
    if form.text("seen") != seen(report) and not form.faults:
        form.faults["seen"] = (
            "the register changed since you looked: these are the differences now. Look again"
        )
    if form.faults or not report.clean:
        return page(
            request, "import.html", status=422, title="Import", report=report, token=token,
            fault="; ".join(form.faults.values()), seen=seen(report),
        )  # fmt: skip
    await run_in_threadpool(imports.commit, site, report, author, reason)
    path.unlink(missing_ok=True)
    return back("/history", author)


@router.get("/template.xlsx")
def template(request: Request) -> FileResponse:
    """The workbook to fill in."""
    site = site_of(request)
    path = _waiting(site) / "template.xlsx"
    exports.template(site, path)
    return FileResponse(path, filename="takeup-register.xlsx")


@router.get("/register.xlsx")
def register(request: Request) -> FileResponse:
    """The whole register as a workbook."""
    site = site_of(request)
    path = _waiting(site) / "register.xlsx"
    exports.to_workbook(site, path)
    return FileResponse(
        path, filename="takeup-register-filled.xlsx", background=BackgroundTask(path.unlink, True)
    )
