"""The wall of a joint: its drawn profile, what explains its temperature now, its text."""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from takeup.desk import heat
from takeup.desk.heat_draft import draft
from takeup.documents.drawing import WEB, wall_profile
from takeup.errors import UnknownName
from takeup.heat.wall_stack import DANGEROUS
from takeup.heat.wall_text import line_of
from takeup.register.entities import Joint
from takeup.web.calculator import Family
from takeup.web.common import Form, back, page, site_of, text_given
from takeup.web.lines import mark_of

router = APIRouter()


def address(tag: str) -> str:
    """The page of a joint's wall."""
    return f"/joints/{quote(tag, safe='')}/wall"


@router.get("/joints/{tag}/wall")
def show(request: Request, tag: str, bellows: str = "") -> HTMLResponse:
    """The wall against its present temperature; without one, a text to begin with.

    ``bellows`` chooses whose history is explained.
    """
    return _show(request, tag, bellows=bellows)


@router.get("/joints/{tag}/wall.toml")
def text_of(request: Request, tag: str) -> Response:
    """The text of the wall as it is kept."""
    kept = heat.model(site_of(request), tag)
    if kept is None:
        raise UnknownName("wall of joint", tag)
    name = "".join(c if c.isalnum() or c in "-_." else "-" for c in kept.joint)
    return Response(
        kept.text,
        media_type="application/toml; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}-wall.toml"'},
    )


@router.post("/joints/{tag}/wall")
async def keep(request: Request, tag: str) -> Response:
    """Keep the text as it is, faults or not; or only look for faults."""
    site = site_of(request)
    words = "write the wall first; an empty one is not kept"
    form, text = await text_given(request, site.system, empty=words)
    if form.text("do") == "look":
        return await run_in_threadpool(_show, request, tag, form=form, text=text, looked=True)
    author = form.text("author", needed="say who you are")
    reason = form.text("reason", needed="say why")
    before = await run_in_threadpool(heat.model, site, tag)
    seen = form.text("seen")
    if before is not None and mark_of(before.text) not in {seen, mark_of(text)}:
        form.faults["text"] = (
            "someone kept another text since this page was opened; yours stands below and is not "
            "kept. Fetch theirs beside it, then keep again to replace it"
        )
    if form.faults:
        return await run_in_threadpool(_show, request, tag, form=form, text=text, status=422)
    kept = await run_in_threadpool(heat.keep, site, tag, text, author, reason)
    there = address(kept.model.joint)
    return back(f"{there}#text" if kept.faults else there, author)


def _show(
    request: Request,
    tag: str,
    *,
    bellows: str = "",
    form: Form | None = None,
    text: str | None = None,
    looked: bool = False,
    status: int = 200,
) -> HTMLResponse:
    site = site_of(request)
    joint = site.register().get(Joint, tag)
    kept = heat.model(site, joint.tag)
    solved = None if kept is None else heat.solved(site, joint.tag, bellows=bellows)
    written = solved
    if text is not None and text.strip() and (kept is None or text != kept.text):
        written = heat.looked_at(site, joint.tag, text)
    study = None if solved is None else solved.study
    limits = site.register().limits()
    drawn = ""
    if study is not None and solved is not None:
        drawn = wall_profile(
            study.wall, system=site.system, low=limits["temperature.low_to"],
            high=limits["temperature.high"], dew=study.dew,
            reading=None if solved.shown is None else solved.shown.reading, palette=WEB,
        )  # fmt: skip
    shown = text if text is not None else kept.text if kept else draft(site, joint.tag)
    checks = study.checks if study else ()
    return page(
        request,
        "joint_wall.html",
        status=status,
        title=f"Wall of {joint.tag}",
        joint=joint,
        kept=kept,
        solved=solved,
        written=written,
        at_lines=_at(shown, () if written is None else written.faults),
        looked=looked,
        found=study,
        drawn=drawn,
        danger=DANGEROUS,
        families=[Family("", checks[0], checks)] if checks else [],
        text=shown,
        seen=mark_of(kept.text) if kept else "",
        form=form,
        action=address(joint.tag),
        limits=limits,
    )


def _at(text: str, faults: Sequence[str]) -> tuple[tuple[int, str, str], ...]:
    """Each fault with its line of the text, and that line."""
    lines = text.split("\n")
    found = []
    for fault in faults:
        at = line_of(text, fault)
        found.append((at, lines[at - 1] if 0 < at <= len(lines) else "", fault))
    return tuple(found)
