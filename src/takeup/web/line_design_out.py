"""Designing a joint out: limits in, a search in the background, alternatives with their grounds."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from takeup.desk import design_out as searching
from takeup.errors import Refused, TakeupError, UnknownName
from takeup.line.model import Joint, Line, Rest
from takeup.register.entities import Line as RegisterLine
from takeup.units import from_si, shown
from takeup.web.common import Form, back, jobs_of, page, site_of
from takeup.web.line_isometric import Drawn, drawn
from takeup.web.lines import address

router = APIRouter()
USUAL = 6.0
"""Longest leg offered before anything is said [m]."""
RATES = 5
"""Rates of springs tried at once."""
SHOWN = 10
"""Alternatives shown before the rest is folded away."""


@router.get("/lines/{tag}/design-out")
def ask(request: Request, tag: str, joint: str = "") -> HTMLResponse:
    """The limits of a search."""
    site = site_of(request)
    line = searching.model_of(site, tag)
    tags = [piece.tag for piece in line.pieces if isinstance(piece, Joint)]
    faults = {}
    if joint and joint not in tags:
        faults["joint"] = str(UnknownName(f"joint on the model of line {line.tag}", joint, tags))
    usual = f"{float(from_si(USUAL, 'distance', site.system)):.3g}"
    kept = {"joint": joint if joint in tags else "", "largest": usual}
    return _page(request, tag, line, kept, faults=faults, status=422 if faults else 200)


@router.post("/lines/{tag}/design-out")
async def run(request: Request, tag: str) -> Response:
    """Search in the background; the address of the result can be kept."""
    site = site_of(request)
    data = await request.form()
    form = Form(data, site.system)
    register = await run_in_threadpool(site.register)
    name = register.get(RegisterLine, tag).tag
    line = await run_in_threadpool(searching.model_of, site, name)
    task = _task(form, name, line, {key: data.getlist(key) for key in ("way", "stay")})
    kept = {key: str(value) for key, value in data.items() if isinstance(value, str)}
    kept["ways"] = ";".join(map(str, data.getlist("way")))
    kept["stays"] = ";".join(map(str, data.getlist("stay")))
    if task is None or form.faults:
        return await run_in_threadpool(
            _page, request, name, line, kept, faults=form.faults, status=422
        )
    try:
        key = await run_in_threadpool(searching.keep_task, site, task)
        id = jobs_of(request).start(
            f"designing out {task.joint}",
            lambda progress: searching.run(
                site, key, tell=lambda v, kind: shown(v, kind, site.system), progress=progress
            ),
        )
    except TakeupError as busy:
        return await run_in_threadpool(
            _page, request, name, line, kept, fault=str(busy),
            status=409 if isinstance(busy, Refused) else 422,
        )  # fmt: skip
    there = quote(f"{address(name, 'design-out')}/{key}", safe="/")
    return back(f"/jobs/{id}?then={there}")


def _task(
    form: Form, tag: str, line: Line, several: Mapping[str, list[Any]]
) -> searching.Task | None:
    tags = [piece.tag for piece in line.pieces if isinstance(piece, Joint)]
    joint = form.text("joint", needed="choose the joint to do without")
    if joint and joint not in tags:
        form.faults["joint"] = str(UnknownName(f"joint on line {tag}", joint, tags))
    largest = form.number("largest", "distance", needed="say how long a leg there is room for")
    if largest is not None and not 0.0 <= largest <= searching.MOST:
        most = shown(searching.MOST, "distance", form.system)
        form.faults["largest"] = (
            f"is {shown(largest, 'distance', form.system)}; it must lie between 0 (no loop) "
            f"and {most}"
        )
    rates: list[float] = []
    for part in re.split(r"\s*[;\n]\s*", form.text("rates")):
        if not part:
            continue
        one = Form({"rates": part}, form.system)
        rate = one.number("rates", "axial_rate")
        if rate is None or not rate > 0.0:
            form.faults["rates"] = one.faults.get("rates", f"{part}: a rate is more than zero")
        else:
            rates.append(rate)
    if len(rates) > RATES:
        form.faults["rates"] = f"{len(rates)} rates; at most {RATES} are tried at once"
    ways = tuple(str(way) for way in several["way"])
    stays = tuple(str(name) for name in several["stay"])
    if any(way not in searching.WAYS for way in ways):
        form.faults["way"] = f"one of {', '.join(searching.WAYS)}"
    if any(name not in searching.loose(line) for name in stays):
        form.faults["stay"] = "not a guide or stop of this line"
    if form.faults or largest is None:
        return None
    return searching.Task(
        line=tag, joint=joint, largest=largest, ways=ways, kept=stays, rates=tuple(rates)
    )


@router.get("/lines/{tag}/design-out/{key}")
def result(request: Request, tag: str, key: str, show: int | None = None) -> HTMLResponse:
    """What a search found, one alternative drawn; the limits below can be changed."""
    site = site_of(request)
    task = searching.task_of(site, key)
    if task.line.casefold() != tag.casefold():
        raise UnknownName(f"search on line {tag}", key)
    line = searching.model_of(site, task.line)
    found = searching.found_of(site, key)
    fault, picture, number = "", None, None
    if found is None:
        fault = "This search has no result: it did not run to its end. Run it again."
    else:
        ranked = _ranked(found)
        number = show if show is not None else found.best if found.best is not None else ranked[0]
        if not 0 <= number < len(found.tried):
            raise UnknownName("alternative", str(number))
        picture = _picture(request, found.tried[number].text)
    number_of = {"largest": (task.largest, "distance")}
    kept = {
        name: f"{float(from_si(v, kind, site.system)):.6g}" for name, (v, kind) in number_of.items()
    }
    kept |= {
        "joint": task.joint,
        "ways": ";".join(task.ways),
        "stays": ";".join(task.kept),
        "rates": "; ".join(
            f"{float(from_si(rate, 'axial_rate', site.system)):.6g}" for rate in task.rates
        ),
    }
    return _page(
        request, task.line, line, kept, found=found, fault=fault, picture=picture,
        number=number, stale=searching.stale(site, key),
    )  # fmt: skip


@router.get("/lines/{tag}/design-out/{key}/{number}/model.toml")
def text(request: Request, tag: str, key: str, number: int) -> Response:
    """An alternative as text, to keep as a model or to change."""
    found = searching.found_of(site_of(request), key)
    if found is None or not 0 <= number < len(found.tried):
        raise UnknownName("alternative", str(number))
    return Response(
        found.tried[number].text,
        media_type="application/toml; charset=utf-8",
        headers={
            "Content-Disposition": f'attachment; filename="without-{found.task.joint}-{number}.toml"'
        },
    )


def _ranked(found: searching.Found) -> list[int]:
    """Numbers of the alternatives: those that hold first, then by their use."""
    order = ("holds", "open", "not met", "not solved")
    far = float("inf")
    return sorted(
        range(len(found.tried)),
        key=lambda at: (
            at != found.best,
            order.index(found.tried[at].standing),
            far if (ratio := found.tried[at].ratio) is None else ratio,
        ),
    )


def _picture(request: Request, text: str) -> Drawn | None:
    from takeup.desk.lines import work_out

    made = work_out(text, {})
    if made.line is None:
        return None
    last = made.results[-1].state if made.results else ""
    if made.report is not None and made.report.between is not None:
        last = made.report.between[1]
    checks = made.report.checks if made.report is not None else ()
    return drawn(
        made.line, made.results, state=last, checks=checks, system=site_of(request).system
    )  # fmt: skip


def _page(
    request: Request,
    tag: str,
    line: Line,
    kept: Mapping[str, str],
    *,
    faults: Mapping[str, str] | None = None,
    fault: str = "",
    found: searching.Found | None = None,
    picture: Drawn | None = None,
    number: int | None = None,
    stale: bool = False,
    status: int = 200,
) -> HTMLResponse:
    return page(
        request,
        "line_design_out.html",
        status=status,
        title=f"Design out, line {tag}",
        tag=tag,
        joints=[piece.tag for piece in line.pieces if isinstance(piece, Joint)],
        loose=searching.loose(line),
        rests=[one.name for one in line.supports if isinstance(one, Rest)],
        ways=list(searching.WAYS),
        kept=kept,
        faults=faults or {},
        fault=fault,
        found=found,
        drawing=picture,
        number=number,
        ranked=_ranked(found) if found else [],
        shown=SHOWN,
        stale=stale,
        here=request.url.path,
        action=address(tag, "design-out"),
        mechanics=address(tag),
    )
