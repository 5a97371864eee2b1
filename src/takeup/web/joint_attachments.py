"""Rings and cones of a joint: what is kept of each, worked out, drawn, and what lasts."""

from __future__ import annotations

from urllib.parse import quote

import msgspec
from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from takeup.ageing.attachment_case import AttachmentReport
from takeup.checks import Check
from takeup.desk import attachments
from takeup.desk.cases import cases
from takeup.documents.drawing import WEB, attachment_day, attachment_field
from takeup.errors import Refused
from takeup.progress import Progress
from takeup.register.entities import Joint
from takeup.web.calculator import Family
from takeup.web.common import Form, back, jobs_of, page, site_of
from takeup.web.lines import mark_of

router = APIRouter()


def address(tag: str) -> str:
    """The address of a joint's attachments."""
    return f"/joints/{quote(tag, safe='')}/attachments"


class Shown(msgspec.Struct, frozen=True, kw_only=True):
    """One attachment as the page shows it."""

    one: attachments.Item
    text: str
    """As kept, as typed, or to begin with"""
    read: attachments.Read
    """Of that text"""
    report: AttachmentReport | None = None
    field: str = ""
    day: str = ""
    families: tuple[Family, ...] = ()


@router.get("/joints/{tag}/attachments")
def show(request: Request, tag: str) -> HTMLResponse:
    """Every ring and the cones of a joint."""
    return _show(request, tag)


@router.post("/joints/{tag}/attachments")
async def keep(request: Request, tag: str) -> Response:
    """Keep the text of one attachment, whole or not; or work it out in the background."""
    site = site_of(request)
    form = Form(await request.form(), site.system)
    joint = site.register().get(Joint, tag)
    item = form.text("item", needed="say which attachment")
    if form.text("do") == "run" and item:
        return _start(request, joint.tag, item)
    text = str(form.data.get("text", "")).replace("\r\n", "\n")
    if not text.strip():
        form.faults["text"] = "write the sizes first; an empty text is not kept"
    author = form.text("author", needed="say who you are")
    reason = form.text("reason", needed="say where the sizes are from")
    before = await run_in_threadpool(attachments.model, site, joint.tag, item) if item else None
    seen = form.text("seen")
    if seen and before is not None and mark_of(before.text) not in {seen, mark_of(text)}:
        form.faults["text"] = (
            "someone kept another text since this page was opened; yours stands below and is not "
            "kept"
        )
    if form.faults:
        return await run_in_threadpool(_show, request, joint.tag, form=form)
    read = await run_in_threadpool(
        attachments.keep, site, joint.tag, item, text, author, reason
    )  # fmt: skip
    if read.case is None:
        return back(f"{address(joint.tag)}#{_anchor(item)}", author)
    return _start(request, joint.tag, item, author)


def _start(request: Request, tag: str, item: str, author: str = "") -> Response:
    site = site_of(request)

    def work(progress: Progress) -> object:
        return attachments.run(site, tag, item, progress=progress)

    try:
        id = jobs_of(request).start(f"{attachments.titled(tag, item)} of {tag}", work)
    except Refused:
        return back(address(tag), author)  # it is being worked out already
    return back(f"/jobs/{id}?then={address(tag)}", author)


def _anchor(item: str) -> str:
    return "".join(c if c.isalnum() or c in "-_" else "-" for c in item)


def _show(request: Request, tag: str, *, form: Form | None = None) -> HTMLResponse:
    site = site_of(request)
    joint = site.register().get(Joint, tag)
    (case,) = cases(site, tags=[joint.tag], theory=False)
    typed = form.text("item").casefold() if form is not None else ""
    shown = []
    for one in attachments.items(site, case):
        text = one.model.text if one.model else attachments.draft(site, joint.tag, one.item)
        if form is not None and one.item.casefold() == typed:
            text = str(form.data.get("text", ""))
        made = Shown(one=one, text=text, read=attachments.read(text))
        if one.model is not None:
            attached, report = attachments.report(site, case, one.item)
            if report is not None and attached.judged is not None:
                checks: tuple[Check, ...] = attached.judged.checks
                made = msgspec.structs.replace(
                    made,
                    report=report,
                    field=attachment_field(report, site.system, WEB),
                    day=attachment_day(report, site.system, WEB),
                    families=(Family("", checks[0], checks),),
                )
        shown.append(made)
    return page(
        request,
        "attachments.html",
        status=422 if form is not None else 200,
        title=f"Rings and cones of {joint.tag}",
        joint=joint,
        case=case,
        shown=shown,
        form=form,
        typed=typed,
        action=address(joint.tag),
        anchor=_anchor,
        mark_of=mark_of,
    )
