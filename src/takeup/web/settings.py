"""Limits and the history of changes."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from takeup.desk import limits
from takeup.errors import TakeupError
from takeup.web.common import Form, back, page, site_of

router = APIRouter()


@router.get("/limits")
def show(request: Request) -> HTMLResponse:
    """Every limit with what stands behind it."""
    found = limits.current(site_of(request))
    return page(
        request, "limits.html", title="Limits", limits=list(found.values()), fault="", at=""
    )


@router.post("/limits/{id}")
async def change(request: Request, id: str) -> Response:
    """Set the site's own value of a rule of thumb."""
    site = site_of(request)
    form = Form(await request.form(), site.system)
    current = limits.current(site)
    limit = current[id]
    value = form.number("value", limit.kind, needed="give a value")
    reason = form.text("reason", needed="say why")
    by = form.text("author", needed="say who you are")
    fault = "; ".join(form.faults.values())
    if not fault and value is not None:
        try:
            await run_in_threadpool(limits.set_value, site, id, value, reason, by)
            return back(f"/limits#{id}", by)
        except TakeupError as wrong:
            fault = str(wrong)
    return page(request, "limits.html", status=422, title="Limits", limits=list(current.values()),
                fault=fault, at=id)  # fmt: skip


@router.get("/history")
def history(request: Request) -> HTMLResponse:
    """The newest changes of the register."""
    return page(
        request, "history.html", title="Changes", changes=site_of(request).store.changes(200)
    )
