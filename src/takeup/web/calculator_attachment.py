"""Attachments on hot pipe on the calculator: drawn with temperature, stress and what lasts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from takeup.ageing.attachment_case import (
    AttachmentCase,
    AttachmentKind,
    AttachmentReport,
    evaluate,
)
from takeup.documents.drawing import WEB, attachment_day, attachment_field
from takeup.errors import TakeupError
from takeup.units import System
from takeup.web.calculator import Family, alloy_names
from takeup.web.common import page, site_of
from takeup.web.typed_form import Group, Layout
from takeup.web.typed_form import Rows as RowsOf

router = APIRouter()
_RING = (AttachmentKind.RING.value,)
_FORMED = (AttachmentKind.FORMED.value,)

LAYOUT = Layout(
    AttachmentCase,
    (
        Group("what", "The attachment", ("name", "kind")),
        Group(
            "pipe", "The hot pipe", ("inside_diameter", "wall", "pipe_metal", "gas", "gas_film")
        ),
        Group(
            "ring",
            "The ring",
            (
                "ring_metal", "ring_outside_diameter", "ring_width", "fillet", "ring_covered",
                "pressure",
            ),
            only=_RING,
        ),
        Group("formed", "The bends", ("knuckle",), only=_FORMED),
        Group(
            "outside",
            "Outside",
            ("ambient", "air_film", "emissivity", "insulation", "insulation_conductivity"),
        ),
        Group(
            "use",
            "Starts and stops",
            ("heat_up", "cool_down", "starts_so_far", "starts_to_come", "examined"),
            "Starts and stops that are not known leave the check open; they are not taken as none.",
        ),
    ),
    (
        RowsOf(
            "pieces", "Pieces of a cone, skirt or formed transition", "Piece", 6,
            "From the hot end on; not for a ring. Insulation is that of the piece's outside.",
            ("hot pipe", "cone", "cuff"),
            after="ring",
        ),
    ),
    decides="kind",
)  # fmt: skip


@router.get("/calculator/attachment")
def show(request: Request) -> HTMLResponse:
    """The empty form with what is usual."""
    return _page(request, _usual(site_of(request).system))


@router.post("/calculator/attachment")
async def work(request: Request) -> Response:
    """Work the attachment out; nothing typed is lost, and nothing is stored."""
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
    return _page(request, kept, report=report, unused=reading.unused)


def _usual(system: System) -> dict[str, str]:
    """Values that stand where nothing else is said."""
    empty = AttachmentCase(
        kind=AttachmentKind.RING, inside_diameter=1.0, wall=0.01, pipe_metal="", gas=900.0
    )
    usual = LAYOUT.texts(empty, system)
    asked = {"inside_diameter", "wall", "pipe_metal", "gas", "pressure", "kind"}
    return {name: text for name, text in usual.items() if name not in asked and text}


def _page(
    request: Request,
    kept: Mapping[str, str],
    *,
    report: AttachmentReport | None = None,
    faults: Mapping[str, str] | None = None,
    unused: tuple[str, ...] = (),
    fault: str = "",
    status: int = 200,
) -> HTMLResponse:
    system = site_of(request).system
    checks = report.judged.checks if report else ()
    return page(
        request,
        "calculator_attachment.html",
        status=status,
        title="Attachment on hot pipe",
        layout=LAYOUT,
        kept=kept,
        faults=faults or {},
        fault=fault,
        report=report,
        unused=unused,
        field=attachment_field(report, system, WEB) if report else "",
        day=attachment_day(report, system, WEB) if report else "",
        families=[Family("", checks[0], checks)] if checks else [],
        alloy_names=alloy_names,
    )
