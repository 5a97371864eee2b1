"""The mechanics of a line: states and tables of its model, and the text to change."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from takeup.checks import Check, Outcome
from takeup.desk import lines
from takeup.documents.drawing import WEB, isometric
from takeup.errors import TakeupError, UnknownName
from takeup.line.report import StateReport
from takeup.register.entities import Line
from takeup.web.common import Form, back, page, site_of

router = APIRouter()
SHOWN = 12
"""Checks shown: the nearest to their limit, and all that are not met."""


def address(tag: str) -> str:
    """The address of a line's mechanics."""
    return f"/lines/{quote(tag, safe='')}/mechanics"


@router.get("/lines/{tag}/mechanics")
def mechanics(request: Request, tag: str, state: str = "") -> HTMLResponse:
    """Loads, movements and springs of a state; without a model, the place to write one."""
    return _show(request, tag, state)


@router.post("/lines/{tag}/mechanics")
async def keep(request: Request, tag: str) -> Response:
    """Keep the text as it is, faults or not."""
    site = site_of(request)
    data = await request.form()
    form = Form(data, site.system)
    form.text("text", needed="write the model first; an empty one is not kept")
    author = form.text("author", needed="say who you are")
    reason = form.text("reason", needed="say why")
    text = str(data.get("text", ""))
    if form.faults:
        return await run_in_threadpool(_show, request, tag, "", form=form, text=text, status=422)
    kept = await run_in_threadpool(lines.keep, site, tag, text, author, reason)
    return back(address(kept.model.line), author)


def _show(
    request: Request,
    tag: str,
    state: str,
    *,
    form: Form | None = None,
    text: str | None = None,
    status: int = 200,
) -> HTMLResponse:
    site = site_of(request)
    line = site.register().get(Line, tag)
    kept = lines.model(site, line.tag)
    solved = lines.solved(site, line.tag) if kept is not None else None
    report = solved.report if solved is not None else None
    shown: StateReport | None = None
    checks: tuple[Check, ...] = ()
    compared: tuple[lines.Compared, ...] = ()
    if report is not None:
        names = [one.state for one in report.states]
        if state and state not in names:
            raise UnknownName(f"state of line {line.tag}", state, names)
        shown = next((one for one in report.states if one.state == state), report.states[-1])
        worst = sorted(report.checks, key=lambda one: -(one.ratio or 0.0))
        unmet = sum(one.outcome == Outcome.NOT_MET for one in worst)
        left = [one for one in worst if one.outcome == Outcome.NOT_EVALUATED]
        checks = tuple(dict.fromkeys([*worst[: max(SHOWN, unmet)], *left]))
        compared = lines.compared(site, report)
    drawing = ""
    if solved is not None and solved.line is not None:
        result = next((one for one in solved.results if shown and one.state == shown.state), None)
        judged = report.checks if report is not None else ()
        try:
            drawing = isometric(solved.line, result, checks=judged, system=site.system, palette=WEB)
        except TakeupError:
            drawing = ""  # a line that hangs nowhere together is told by its faults
    return page(
        request,
        "line_mechanics.html",
        status=status,
        title=f"Mechanics of line {line.tag}",
        line=line,
        kept=kept,
        text=text if text is not None else (kept.text if kept else ""),
        solved=solved,
        report=report,
        shown=shown,
        checks=checks,
        compared=compared,
        form=form,
        action=address(line.tag),
        drawing=drawing,
    )
