"""What time at temperature did to a metal, on the calculator."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from takeup.ageing.metal_case import MetalCase, MetalReport, evaluate
from takeup.web.calculator import Family, alloy_names, worked
from takeup.web.common import page
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
    return await run_in_threadpool(worked, request, data, LAYOUT, evaluate, _page)


def _page(
    request: Request,
    kept: Mapping[str, str],
    *,
    report: MetalReport | None = None,
    faults: Mapping[str, str] | None = None,
    unused: tuple[str, ...] = (),
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
        unused=unused,
        families=[Family("", checks[0], checks)] if checks else [],
        alloy_names=alloy_names,
    )
