"""As found on the calculator: the design carried along, what was found beside it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec
from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from takeup.bellows.as_found import AsFound, AsFoundReport, examine
from takeup.bellows.model import BellowsCase
from takeup.documents.drawing import WEB, bellows_section
from takeup.errors import TakeupError
from takeup.given import take
from takeup.units import System, shown
from takeup.web import calculator_form
from takeup.web.calculator import alloy_names, given, show_again, show_filled
from takeup.web.common import page, site_of
from takeup.web.typed_form import Group, Layout, Rows, text_of

router = APIRouter()
_TRAVEL = ("axial", "lateral", "angular", "lateral_across", "angular_across", "cycles")
LAYOUT = Layout(
    AsFound,
    (
        Group(
            "state",
            "State",
            (
                "date", "lost_ply", "metal_temperature", "inside_diameter", "loss_per_ply",
                "corrosion_rate",
            ),
            "Leave blank what was not looked at.",
        ),
        Group(
            "travel",
            "Where the joint stood",
            (
                *(f"travel-{name}" for name in _TRAVEL), "offset_axial", "offset_lateral",
                "offset_angular",
            ),
            "The greatest movement found, from the installed position, and how often it came; "
            "then the set of the ends as installed, where it was found to differ.",
        ),
        Group(
            "life",
            "How fast life is used",
            ("cycles_per_year", "hours_per_cycle"),
            "Cycles so far stand with the movements of the design.",
        ),
    ),
    (
        Rows(
            "thicknesses", "Ply thickness left", "Reading", 6,
            "Of one ply, not of the whole wall; the dates tell how fast it goes.", after="state",
        ),
        Rows(
            "convolutions", "Convolutions measured", "Place", 12,
            "Measured at four angles, leaning convolutions can be told from uneven ones.",
            after="state",
        ),
    ),
)  # fmt: skip


@router.post("/calculator/as-found/from")
async def taken_over(request: Request) -> Response:
    """The empty form beside the design of the calculator."""
    data = await request.form()
    reading = calculator_form.read(data, site_of(request).system)
    if reading.case is None:
        return await run_in_threadpool(show_again, request, data)
    return await run_in_threadpool(_page, request, reading.case, {})


@router.post("/calculator/as-found")
async def work(request: Request) -> Response:
    """Set what was found beside the design; nothing typed is lost, and nothing is stored."""
    data = await request.form()
    return await run_in_threadpool(_work, request, data)


@router.post("/calculator/again")
async def again(request: Request) -> Response:
    """The calculator filled with the design that came along."""
    case = design(await request.form())
    return await run_in_threadpool(show_filled, request, case)


def _work(request: Request, data: Mapping[str, Any]) -> HTMLResponse:
    site = site_of(request)
    case = design(data)
    kept = {name: value for name, value in data.items() if isinstance(value, str)}
    told = dict(data)
    if any(text_of(data, f"travel-{name}") for name in _TRAVEL):
        told["travel-name"] = "as found"
    reading = _WITH_NAME.read(told, site.system)
    if reading.value is None:
        return _page(request, case, kept, faults=reading.faults, status=422)
    try:
        report = examine(case, reading.value, site.register().limits())
    except TakeupError as fault:
        return _page(request, case, kept, fault=str(fault), status=422)
    return _page(request, case, kept, report=report)


_WITH_NAME = Layout(
    AsFound,
    (*LAYOUT.groups, Group("unsaid", "", ("travel-name",))),
    LAYOUT.rows,
)
"""The same with the name that a movement needs and that nobody is asked for."""


def design(data: Mapping[str, Any]) -> BellowsCase:
    """The case that a page carries along as JSON."""
    try:
        raw = msgspec.json.decode(text_of(data, "design") or "null")
    except msgspec.DecodeError:
        raw = None
    taken = take(raw, BellowsCase)
    if taken.value is None:
        raise TakeupError(
            "the design did not come along with the form; start again from the calculator"
        )
    return taken.value


def _page(
    request: Request,
    case: BellowsCase,
    kept: Mapping[str, str],
    *,
    report: AsFoundReport | None = None,
    faults: Mapping[str, str] | None = None,
    fault: str = "",
    status: int = 200,
) -> HTMLResponse:
    system = site_of(request).system
    return page(
        request,
        "calculator_found.html",
        status=status,
        title="As found",
        layout=LAYOUT,
        kept=kept,
        faults=faults or {},
        fault=fault,
        case=case,
        design=msgspec.json.encode(case).decode(),
        given=given(case, system),
        report=report,
        cautions=_cautions(report) if report else (),
        figures=_figures(report, system) if report else (),
        section=_section(case, report, system) if report else None,
        alloy_names=alloy_names,
    )


def _cautions(report: AsFoundReport) -> tuple[str, ...]:
    more = report.ply_loss.cautions if report.ply_loss else ()
    return tuple(dict.fromkeys((*report.cautions, *more)))


def _figures(report: AsFoundReport, system: System) -> tuple[tuple[str, str, str, str], ...]:
    """Figures that differ: name, symbol, as designed, as found."""
    rows = []
    for row in report.figures:
        if row.designed is None or row.low is None or row.high is None:
            continue
        was = shown(row.designed, row.kind, system)
        now = list(dict.fromkeys(shown(v, row.kind, system) for v in (row.low, row.high)))
        if now != [was]:
            where = row.id.partition("@")[2]
            name = f"{row.name}, {where}" if where else row.name
            rows.append((name, row.symbol, was, " to ".join(now)))
    return tuple(rows)


def _section(case: BellowsCase, report: AsFoundReport, system: System) -> str | None:
    """The design with the last variant of what was found over it."""
    if not report.variants:
        return None
    worst = report.variants[-1]
    try:
        return bellows_section(
            case, system=system, report=worst.report, found=worst.case, palette=WEB
        )
    except TakeupError:
        return None  # the words stand without a drawing: the dimensions make none
