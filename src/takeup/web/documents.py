"""Documents: make them, list them, fetch them."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import FileResponse, HTMLResponse, Response
from starlette.exceptions import HTTPException

from takeup.desk import documents as desk
from takeup.register.entities import Joint
from takeup.web.common import back, jobs_of, page, site_of

router = APIRouter()
_TYPES = {
    ".pdf": "application/pdf",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ".ics": "text/calendar",
}


@router.get("/documents")
def show(request: Request) -> HTMLResponse:
    """All documents that were written."""
    folder = site_of(request).documents_folder
    files = sorted(p for p in folder.iterdir() if p.suffix in _TYPES and not p.name.startswith("."))
    return page(request, "documents.html", title="Documents", files=files)


@router.post("/documents/run")
def run(request: Request) -> Response:
    """Write all documents in the background."""
    site = site_of(request)
    id = jobs_of(request).start("documents", lambda progress: desk.write(site, progress=progress))
    return back(f"/jobs/{id}?then=/documents")


@router.get("/documents/{name}")
def fetch(request: Request, name: str) -> FileResponse:
    """One document."""
    folder = site_of(request).documents_folder
    path = folder / name
    if path.parent != folder or path.suffix not in _TYPES or not path.is_file():
        raise HTTPException(404)
    return FileResponse(path, media_type=_TYPES[path.suffix], content_disposition_type="inline",
                        filename=name)  # fmt: skip


@router.get("/joints/{tag}/dossier.pdf")
def dossier(request: Request, tag: str) -> FileResponse:
    """The dossier of one joint, set now."""
    site = site_of(request)
    known = site.register().get(Joint, tag)
    (path,) = desk.write(site, None, ("dossiers",), tags=[known.tag])
    return FileResponse(path, media_type="application/pdf", content_disposition_type="inline",
                        filename=path.name)  # fmt: skip
