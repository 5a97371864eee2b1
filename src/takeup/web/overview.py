"""First screen, lines, what is asked for."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from takeup.assess.model import SEVERITY
from takeup.desk import assess
from takeup.desk.overview import overview as gather
from takeup.documents.drawing import WEB, calendar_strip, line_strip, unit_sheet
from takeup.errors import Refused, UnknownName
from takeup.web.common import page, site_of

router = APIRouter()


def link(tag: str) -> str:
    """The address of a joint's page."""
    return f"/joints/{quote(tag, safe='')}"


@router.get("/")
def overview(request: Request) -> HTMLResponse:
    """Which joints worry me, why, and what is the next date I can miss."""
    try:
        view = gather(site_of(request))
    except Refused:
        return page(request, "empty.html", title="An empty site")
    worries = sorted(
        view.joints,
        key=lambda row: (-(SEVERITY[row.level] if row.level else 2.5), row.joint.tag),
    )
    return page(
        request,
        "overview.html",
        title=view.unit.name,
        view=view,
        worries=worries,
        sheet=unit_sheet(view, palette=WEB, link=link),
        strip=calendar_strip(view.milestones, view.today, palette=WEB),
    )


@router.get("/lines/{tag}")
def line(request: Request, tag: str) -> HTMLResponse:
    """One line: its strip, joints, supports, conditions."""
    view = gather(site_of(request))
    row = next((r for r in view.lines if r.line.tag.casefold() == tag.casefold()), None)
    if row is None:
        raise UnknownName("line", tag, [r.line.tag for r in view.lines])
    strip = line_strip(row, system=view.system, palette=WEB, link=link)
    return page(request, "line.html", title=f"Line {row.line.tag}", row=row, strip=strip)


@router.get("/missing")
def missing(request: Request) -> HTMLResponse:
    """Evidence asked for, by line and joint."""
    site = site_of(request)
    view, verdicts = gather(site), assess.latest(site)
    return page(request, "missing.html", title="Evidence asked for", view=view, verdicts=verdicts)
