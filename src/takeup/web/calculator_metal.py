"""What time at temperature did to a metal, on the calculator."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from takeup.ageing.metal_case import MetalCase, MetalReport, evaluate
from takeup.errors import TakeupError
from takeup.web.calculator import Family, alloy_names
from takeup.web.common import page, site_of
from takeup.web.typed_form import Group, Layout
from takeup.web.typed_form import Rows as RowsOf

router = APIRouter()

LAYOUT = Layout(
    MetalCase,
    (
        Group("metal", "The metal", ("name", "alloy", "stabilised", "cold_worked")),
        Group("ahead", "Ahead", ("to_come",)),
    ),
    (
        RowsOf(
            "times", "Hours at temperature", "Stretch", 8,
            "Metal, not medium. The lasting stress is asked for creep only: pressure and weight, "
            "not what relaxes.",
            ("run",),
            after="metal",
        ),
        RowsOf(
            "elements", "Certificate, for Cr-Mo steels", "Element", 6,
            "In per cent by mass: 0.012 for 0.012 %.",
            after="ahead",
        ),
    ),
)  # fmt: skip


@router.get("/calculator/metal")
def show(request: Request) -> HTMLResponse:
    """The empty form."""
    return _page(request, {})


@router.post("/calculator/metal")
async def work(request: Request) -> Response:
    """Say what may be said; nothing typed is lost, and nothing is stored."""
    data = await request.form()
    return await run_in_threadpool(_work, request, data)


def _work(request: Request, data: Mapping[str, Any]) -> HTMLResponse:
    kept = {name: value for name, value in data.items() if isinstance(value, str)}
    reading = LAYOUT.read(data, site_of(request).system)
    if reading.value is None:
        return _page(request, kept, faults=reading.faults, status=422)
    try:
        report = evaluate(reading.value)
    except TakeupError as fault:
        return _page(request, kept, fault=str(fault), status=422)
    return _page(request, kept, report=report)


def _page(
    request: Request,
    kept: Mapping[str, str],
    *,
    report: MetalReport | None = None,
    faults: Mapping[str, str] | None = None,
    fault: str = "",
    status: int = 200,
) -> HTMLResponse:
    checks = report.checks if report else ()
    return page(
        request,
        "calculator_metal.html",
        status=status,
        title="Metal at temperature",
        layout=LAYOUT,
        kept=kept,
        faults=faults or {},
        fault=fault,
        report=report,
        families=[Family("", checks[0], checks)] if checks else [],
        alloy_names=alloy_names,
    )
