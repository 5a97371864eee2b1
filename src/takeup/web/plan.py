"""Assess, plan, and the jobs behind them."""

from __future__ import annotations

import re
from collections.abc import Iterator

import msgspec
from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response, StreamingResponse

from takeup.desk import assess as desk_assess
from takeup.desk import plan as desk_plan
from takeup.desk.documents import scope_book
from takeup.documents.drawing import WEB, budget_curve, calendar_strip, crew_chart, gantt
from takeup.documents.scope import state
from takeup.web.common import Form, back, jobs_of, page, site_of

router = APIRouter()
FOUND = re.compile(r"(/calculator/sizing|/lines/[\w.~%-]+/design-out)/[0-9a-f]{24}")
"""Where a search for a replacement, or for doing without, leads when it is done."""
DIAGNOSIS = re.compile(r"(/lines/[^/?#\s]+/diagnosis|/joints/[^/?#\s]+/attachments)")
"""Where weighing the readings of a line leads when it is done."""


@router.get("/plan")
def show(request: Request) -> HTMLResponse:
    """Scope, money, dates, schedule."""
    site = site_of(request)
    found = desk_plan.latest_with_time(site)
    if found is None:
        return page(request, "plan.html", title="Plan", plan=None)
    plan, made = found
    book = scope_book(site)
    return page(
        request,
        "plan.html",
        title=f"Plan for {plan.outage}",
        plan=plan,
        made=made,
        stale=book.overview.plan_stale,
        levels={verdict.joint: verdict.level for verdict in book.verdicts},
        curve=budget_curve(plan.portfolio, book.overview.plant.currency, palette=WEB),
        strip=calendar_strip(plan.calendar, plan.today, palette=WEB),
        chart=gantt(plan.schedule, palette=WEB),
        crews=crew_chart(plan.schedule, palette=WEB),
        state=state,
    )


@router.post("/plan/run")
async def run(request: Request) -> Response:
    """Plan in the background."""
    site = site_of(request)
    form = Form(await request.form(), site.system)
    budget = form.number("budget", "money")
    if budget is not None and budget < 0:
        form.faults["budget"] = "a budget is not below zero"
    if form.faults:
        return page(request, "fault.html", status=422, title="Not planned",
                    words=f"budget: {form.faults['budget']}")  # fmt: skip
    id = jobs_of(request).start(
        "plan", lambda progress: desk_plan.run(site, budget=budget, progress=progress)
    )
    return back(f"/jobs/{id}?then=/plan")


@router.post("/assess/run")
def assess(request: Request) -> Response:
    """Assess every joint in the background."""
    site = site_of(request)
    id = jobs_of(request).start("assess", lambda progress: desk_assess.run(site, progress=progress))
    return back(f"/jobs/{id}?then=/")


@router.get("/jobs/{id}")
def job(request: Request, id: str, then: str = "/") -> HTMLResponse:
    """Watch a job."""
    jobs = jobs_of(request)
    known = then in {"/", "/plan", "/documents"}
    safe = then if known or FOUND.fullmatch(then) or DIAGNOSIS.fullmatch(then) else "/"
    return page(
        request,
        "job.html",
        title=jobs.name(id)[:1].upper() + jobs.name(id)[1:],
        id=id,
        event=jobs.latest(id),
        then=safe,
    )


@router.get("/jobs/{id}/events")
def events(request: Request, id: str) -> StreamingResponse:
    """What the job tells, as server-sent events."""
    jobs = jobs_of(request)
    jobs.latest(id)  # an unknown job is said before the stream starts

    def stream() -> Iterator[bytes]:
        for event in jobs.events(id):
            yield b"data: " + msgspec.json.encode(event) + b"\n\n"

    return StreamingResponse(stream(), media_type="text/event-stream",
                             headers={"Cache-Control": "no-store"})  # fmt: skip


@router.post("/jobs/{id}/cancel")
def cancel(request: Request, id: str) -> Response:
    """Ask a job to stop."""
    jobs_of(request).cancel(id)
    return back(f"/jobs/{id}")
