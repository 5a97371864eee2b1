"""The joint page and the decision on it."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import FileResponse, HTMLResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException

from takeup.assess.model import SEVERITY
from takeup.desk import attachments, decide
from takeup.desk.dossier import dossier
from takeup.desk.plan import outage_of
from takeup.documents import pictures
from takeup.documents.drawing import WEB
from takeup.documents.line_part import line_part
from takeup.documents.mechanics import TWO_LIVES, mechanics
from takeup.register.entities import LineModel, OptionName
from takeup.web.common import Form, back, page, site_of
from takeup.web.line_isometric import boxed_in
from takeup.web.lines import address
from takeup.web.overview import link

router = APIRouter()


@router.get("/joints/{tag}")
def joint(request: Request, tag: str) -> HTMLResponse:
    """Everything about one joint, thrust first."""
    return _show(request, tag)


def _show(
    request: Request, tag: str, *, status: int = 200, form: Form | None = None
) -> HTMLResponse:
    found = dossier(site_of(request), tag)
    verdict = found.verdict
    mechanisms = sorted(
        verdict.mechanisms if verdict else (), key=lambda r: (not r.applies, -SEVERITY[r.level])
    )
    return page(
        request,
        "joint.html",
        status=status,
        title=found.case.joint.tag,
        d=found,
        case=found.case,
        verdict=verdict,
        mechanisms=mechanisms,
        section=pictures.section(found, WEB),
        pictures=pictures.evidence(found, WEB),
        mechanics=mechanics(found, WEB, displaced=True),
        line=line_part(found, WEB, draw=False),
        two_lives=TWO_LIVES,
        form=form,
        option_names=[name.value for name in OptionName],
        attachable=bool(attachments.items(site_of(request), found.case)),
        asks=_asks(found.case.line.tag, found.case.joint.tag, request),
    )


def _asks(line: str, tag: str, request: Request) -> dict[str, tuple[str, str]]:
    """What the model of the line can be asked about a joint, by the option it bears on."""
    if site_of(request).register().find(LineModel, line) is None:
        return {}
    return {
        OptionName.BOX_IN.value: ("What if this joint is boxed in?", boxed_in(line, tag)),
        OptionName.DESIGN_OUT.value: (
            "Can this joint be designed out?",
            f"{address(line, 'design-out')}?joint={quote(tag, safe='')}",
        ),
    }


@router.post("/joints/{tag}/decision")
async def decision(request: Request, tag: str) -> Response:
    """Record a decision, with reason and name."""
    site = site_of(request)
    form = Form(await request.form(), site.system)
    option = form.choice("option", OptionName, needed="choose an option")
    reason = form.text("reason", needed="say why in a sentence")
    by = form.text("by", needed="say who decides")
    if form.faults or option is None:
        return await run_in_threadpool(_show, request, tag, status=422, form=form)
    named = form.text("outage") or None
    outage = await run_in_threadpool(outage_of, site, named, site.today())
    made = await run_in_threadpool(decide.decide, site, tag, outage.tag, option, reason, by)
    return back(link(made.joint) + "#decision", by)


@router.get("/photos/{file}")
def photo(request: Request, file: str) -> FileResponse:
    """A kept photo."""
    folder = site_of(request).photo_folder
    path = folder / file
    if path.parent != folder or file.startswith(".") or not path.is_file():
        raise HTTPException(404)
    return FileResponse(path)
