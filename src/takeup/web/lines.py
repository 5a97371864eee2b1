"""Lines: the list of all, and the mechanics of one, state by state."""

from __future__ import annotations

import hashlib
from enum import StrEnum
from typing import TypeVar
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from takeup.checks import Check, Outcome
from takeup.desk import line_list, lines
from takeup.desk.line_used import Used, used
from takeup.errors import UnknownName
from takeup.line.books import Books
from takeup.line.model import Book, RangeRule
from takeup.line.report import StateReport
from takeup.register.entities import Joint, Line
from takeup.web.common import Form, back, page, site_of, text_given
from takeup.web.line_isometric import Drawn, drawn, use_of, where_else

router = APIRouter()
LARGEST_TEXT = 16 * 2**20
"""Of a text that is typed or pasted [bytes]; a larger one comes as a file."""
SHOWN = 12
"""Checks shown: the nearest to their limit, and all that are not met."""
RULES = {RangeRule.PLAIN: "(1a), f (1.25 Sc + 0.25 Sh)",
         RangeRule.LIBERAL: "(1b), with what sustained stress leaves"}  # fmt: skip
E = TypeVar("E", bound=StrEnum)


def address(tag: str, what: str = "mechanics") -> str:
    """The address of a line's mechanics, or of another page of the line."""
    return f"/lines/{quote(tag, safe='')}/{what}"


def mark_of(text: str) -> str:
    """A mark of a text that a person was shown."""
    return hashlib.sha256(text.encode()).hexdigest()[:16]


@router.get("/lines")
def every(request: Request) -> HTMLResponse:
    """Every line: how its model stands, its joints, what is nearest to its limit."""
    found = line_list.listed(site_of(request))
    return page(request, "lines.html", title="Lines", rows=found, standings=line_list.Standing)


@router.get("/lines/{tag}/mechanics")
def mechanics(
    request: Request, tag: str, state: str = "", factors: str = "", rule: str = ""
) -> HTMLResponse:
    """Loads, movements and springs of a state; without a model, the place to write one.

    ``factors`` and ``rule`` choose whose stress factors and which allowable range count, in place
    of those of the text.
    """
    chosen = (_one_of(Book, factors, "factors"), _one_of(RangeRule, rule, "range rule"))
    return _show(request, tag, state, chosen=chosen)


def _one_of(kind: type[E], word: str, what: str) -> E | None:
    if not word:
        return None
    try:
        return kind(word)
    except ValueError:
        raise UnknownName(what, word, [str(one.value) for one in kind]) from None


@router.post("/lines/{tag}/mechanics")
async def keep(request: Request, tag: str) -> Response:
    """Keep the text as it is, faults or not; or only look for faults."""
    site = site_of(request)
    words = "write the model first; an empty one is not kept"
    form, text = await text_given(request, site.system, empty=words, most=LARGEST_TEXT)
    if form.text("do") == "look":
        return await run_in_threadpool(_show, request, tag, "", form=form, text=text, looked=True)
    author = form.text("author", needed="say who you are")
    reason = form.text("reason", needed="say why")
    kept_before = await run_in_threadpool(lines.model, site, tag)
    seen = form.text("seen")
    if seen and kept_before is not None and mark_of(kept_before.text) not in {seen, mark_of(text)}:
        form.faults["text"] = (
            "someone kept another text since this page was opened; yours stands below and is not "
            "kept. Fetch theirs beside it, then keep again to replace it"
        )
    if form.faults:
        return await run_in_threadpool(_show, request, tag, "", form=form, text=text, status=422)
    kept = await run_in_threadpool(lines.keep, site, tag, text, author, reason)
    there = address(kept.model.line)
    return back(f"{there}#model" if kept.faults else there, author)


@router.get("/lines/{tag}/model.toml")
def text_of(request: Request, tag: str) -> Response:
    """The text of the model as it is kept."""
    kept = lines.model(site_of(request), tag)
    if kept is None:
        raise UnknownName("model of line", tag)
    name = "".join(c if c.isalnum() or c in "-_." else "-" for c in kept.line)
    return Response(
        kept.text,
        media_type="application/toml; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}.toml"'},
    )


def _show(
    request: Request,
    tag: str,
    state: str,
    *,
    form: Form | None = None,
    text: str | None = None,
    looked: bool = False,
    chosen: tuple[Book | None, RangeRule | None] = (None, None),
    status: int = 200,
) -> HTMLResponse:
    site = site_of(request)
    register = site.register()
    line = register.get(Line, tag)
    kept = lines.model(site, line.tag)
    solved = None
    if kept is not None:
        solved = lines.solved(site, line.tag, factors=chosen[0], range_rule=chosen[1])
    report = solved.report if solved is not None else None
    written = solved
    if text is not None and text.strip() and (kept is None or text != kept.text):
        written = lines.looked_at(site, line.tag, text)
    shown: StateReport | None = None
    checks: tuple[Check, ...] = ()
    compared: tuple[lines.Compared, ...] = ()
    uses: tuple[Used, ...] = ()
    if report is not None and solved is not None and solved.line is not None:
        names = [one.state for one in report.states]
        if state and state not in names:
            raise UnknownName(f"state of line {line.tag}", state, names)
        hot = state or (report.between[1] if report.between else "")
        shown = next((one for one in report.states if one.state == hot), report.states[-1])
        checks = nearest(report.checks)
        compared = lines.compared(site, report)
        uses = used(site, solved.line, solved.results, report.between)
    picture: Drawn | None = None
    if solved is not None and solved.line is not None:
        tags = [one.tag for one in register.of_line(Joint, line.tag)]
        picture = drawn(
            solved.line,
            solved.results,
            state=shown.state if shown else "",
            checks=report.checks if report is not None else (),
            said=use_of(uses, site.system),
            links=where_else(line.tag, tags),
            system=site.system,
        )
    return page(
        request,
        "line_mechanics.html",
        status=status,
        title=f"Mechanics of line {line.tag}",
        line=line,
        kept=kept,
        text=text if text is not None else (kept.text if kept else ""),
        seen=mark_of(kept.text) if kept else "",
        written=written,
        looked=looked,
        solved=solved,
        report=report,
        shown=shown,
        checks=checks,
        compared=compared,
        uses=uses,
        books=list(Book),
        rules=RULES,
        differing=differing(report.books) if report is not None else (),
        form=form,
        action=address(line.tag),
        base=address(line.tag, ""),
        drawing=picture,
    )


def differing(every: tuple[Books, ...], most: int = SHOWN) -> tuple[Books, ...]:
    """Pieces whose range differs by book or is open by one, furthest apart first."""
    found = [one for one in every if one.governs != "same"]
    return tuple(sorted(found, key=lambda one: -abs((one.share or 1.0) - 1.0))[:most])


def nearest(every: tuple[Check, ...], most: int = SHOWN) -> tuple[Check, ...]:
    """Checks nearest to their limit, all not met, and those left open."""
    worst = sorted(every, key=lambda one: -(one.ratio or 0.0))
    unmet = sum(one.outcome == Outcome.NOT_MET for one in worst)
    left = [one for one in worst if one.outcome == Outcome.NOT_EVALUATED]
    return tuple(dict.fromkeys([*worst[: max(most, unmet)], *left]))
