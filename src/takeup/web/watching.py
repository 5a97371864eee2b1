"""The page of the watch: what asks for a person, every history, alerts answered."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from takeup.desk import watching
from takeup.documents.drawing import WEB, temperature_chart
from takeup.errors import TakeupError
from takeup.evidence.alerts import LOOK, URGENT
from takeup.web.common import Form, back, page, site_of

router = APIRouter()


@router.get("/watch")
def show(request: Request) -> HTMLResponse:
    """Everything that asks, and every history."""
    return _page(request)


@router.post("/watch/keep")
async def keep(request: Request) -> Response:
    """Keep the new alerts under a name."""
    form = Form(await request.form(), site_of(request).system)
    author = form.text("author", needed="say who looks")
    if form.faults:
        return _page(request, fault=form.faults["author"], status=422)
    try:
        await run_in_threadpool(watching.open_new, site_of(request), author)
    except TakeupError as wrong:
        return _page(request, fault=str(wrong), status=422)
    return back("/watch", author)


@router.post("/watch/answer")
async def answer(request: Request) -> Response:
    """Acknowledge or close one alert."""
    data = await request.form()
    form = Form(data, site_of(request).system)
    tag, cause = form.text("tag"), form.text("cause")
    author = form.text("author", needed="say who you are")
    note = form.text("note", needed="say what was found or done")
    close = form.text("how") == "close"
    if form.faults:
        said = "; ".join(form.faults.values())
        return _page(request, fault=f"{tag}, {cause}: {said}", kept=note, status=422)

    def work() -> None:
        watching.answer(site_of(request), tag, cause, author, note, close=close)

    try:
        await run_in_threadpool(work)
    except TakeupError as wrong:
        return _page(request, fault=str(wrong), kept=note, status=422)
    return back("/watch", author)


def _page(
    request: Request, *, fault: str = "", kept: str = "", status: int = 200
) -> HTMLResponse:  # fmt: skip
    site = site_of(request)
    found = watching.look(site)
    register = site.register()
    limits = register.limits()
    from takeup.register.entities import ProcessUnit

    units = register.all(ProcessUnit)
    ahead = register.next_outage(units[0].tag, found.today) if units else None
    return page(
        request,
        "watch.html",
        status=status,
        title="Watch",
        looked=found,
        causes=watching.causes(site, found),
        look=LOOK,
        urgent=URGENT,
        fault=fault,
        kept=kept,
        charts={
            one.report.tag: temperature_chart(
                one.daily, one.report, limits, site.system,
                outage=ahead.start if ahead else None, palette=WEB,
            )
            for one in found.histories
        },
    )  # fmt: skip
