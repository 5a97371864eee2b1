"""Import: upload, look at faults or differences, then take all of it or nothing."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

from fastapi import APIRouter, Request
from fastapi.responses import FileResponse, HTMLResponse, Response
from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException

from takeup.desk import exports, imports
from takeup.desk.site import Site
from takeup.web.common import Form, back, page, site_of

router = APIRouter()


def _waiting(site: Site) -> Path:
    folder = site.folder / ".imports"
    folder.mkdir(exist_ok=True)
    return folder


@router.get("/import")
def show(request: Request) -> HTMLResponse:
    """Choose a file, or fetch the template."""
    return page(request, "import.html", title="Import", report=None, token="", fault="")


@router.post("/import")
async def examine(request: Request) -> Response:
    """Show what the file would do; nothing is stored but the file itself, waiting."""
    site = site_of(request)
    data = await request.form(max_files=1, max_part_size=300 * 1024 * 1024)
    upload = data.get("file")
    if not isinstance(upload, UploadFile) or not upload.filename:
        return page(
            request, "import.html", status=422, title="Import", report=None, token="",
            fault="choose a workbook (.xlsx) or a .csv named after its table",
        )  # fmt: skip
    content = await upload.read()
    name = re.sub(r"[^A-Za-z0-9._-]", "_", Path(upload.filename).name)
    token = hashlib.sha256(content).hexdigest()[:24]
    folder = _waiting(site) / token
    folder.mkdir(exist_ok=True)
    path = folder / name
    path.write_bytes(content)
    report = await run_in_threadpool(imports.examine, site, path)
    return page(
        request, "import.html", title="Import", report=report, token=f"{token}/{name}", fault="",
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
    if form.faults or not report.clean:
        return page(
            request, "import.html", status=422, title="Import", report=report, token=token,
            fault="; ".join(form.faults.values()),
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
