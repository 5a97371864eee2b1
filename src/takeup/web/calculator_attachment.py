"""Attachments on hot pipe on the calculator: drawn with temperature, stress and what lasts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from takeup.ageing.attachment import Examined
from takeup.ageing.attachment_case import (
    AttachmentCase,
    AttachmentKind,
    AttachmentReport,
    evaluate,
)
from takeup.ageing.attachment_ways import Ways, both_ways
from takeup.desk import attachments
from takeup.documents.drawing import WEB, attachment_day, attachment_field
from takeup.errors import TakeupError, UnknownName
from takeup.fields import FieldSpec
from takeup.given import raw_of
from takeup.units import System, symbol
from takeup.web.calculator import Family, alloy_names
from takeup.web.common import back, page, site_of
from takeup.web.joint_attachments import address
from takeup.web.typed_form import Group, Layout, shown_text
from takeup.web.typed_form import Rows as RowsOf

router = APIRouter()
_RING = (AttachmentKind.RING.value,)
_BENT = (AttachmentKind.FORMED.value, AttachmentKind.CORNERS.value)

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
        Group(
            "formed", "The bends", ("knuckle",),
            "Of the formed transition; with welded corners only to compare both ways.",
            only=_BENT,
        ),
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


OF = "of"
"""The field that says whose attachment the calculator works on: joint and item, with a slash"""


@router.get("/calculator/attachment")
def show(request: Request, of: str = "") -> HTMLResponse:
    """The form with what is usual, or with what is on record of an attachment and no more."""
    site = site_of(request)
    if not of:
        return _page(request, _usual(site.system))
    tag, item = _named(of)
    kept = attachments.model(site, tag, item)
    text = kept.text if kept is not None else attachments.draft(site, tag, item)
    return _page(request, _filled(text, site.system) | {OF: of})


@router.post("/calculator/attachment")
async def work(request: Request) -> Response:
    """Work the attachment out, or both ways; kept with a joint only where that is asked for."""
    data = await request.form()
    return await run_in_threadpool(_work, request, data)


def _named(of: str) -> tuple[str, str]:
    tag, slash, item = of.partition("/")
    if not slash or not item:
        raise UnknownName("attachment of a joint", of, ["EJ-1/R1"])
    return tag, item


def _work(request: Request, data: Mapping[str, Any]) -> Response:
    site = site_of(request)
    kept = {name: value for name, value in data.items() if isinstance(value, str)}
    reading = LAYOUT.read(data, site.system)
    if reading.value is None:
        return _page(request, kept, faults=reading.faults, status=422)
    case: AttachmentCase = reading.value
    do = kept.get("do", "")
    if do == "keep":
        return _keep(request, kept, case, reading.raw)
    try:
        if do == "compare":
            return _page(request, kept, ways=both_ways(case))
        report = evaluate(case)
    except TakeupError as fault:
        return _page(request, kept, fault=str(fault), status=422)
    usual = _not_typed(case, reading.raw, site.system) if kept.get(OF) else ()
    return _page(request, kept, report=report, unused=reading.unused, usual=usual)


def _keep(
    request: Request, kept: Mapping[str, str], case: AttachmentCase, raw: Mapping[str, Any]
) -> Response:
    """Keep with the joint what was typed, and nothing else."""
    tag, item = _named(kept.get(OF, ""))
    author, reason = kept.get("author", "").strip(), kept.get("save_reason", "").strip()
    faults = {}
    if not author:
        faults["author"] = "say who you are"
    if not reason:
        faults["save_reason"] = "say where the sizes are from"
    if faults:
        return _page(request, kept, faults=faults, status=422)
    text = attachments.text_of(case, raw.keys())
    attachments.keep(site_of(request), tag, item, text, author, reason)
    return back(address(tag), author)


def _filled(text: str, system: System) -> dict[str, str]:
    """The form as a text fills it; what the text does not say stays blank."""
    try:
        raw = raw_of("attachment.toml", text.encode())
    except TakeupError:
        return {}  # its faults stand on the joint's page
    # a choice is always sent: where nobody has said how the weld was examined, the least is shown
    found = {"examined": Examined.SEEN.value} | {
        name: _typed(spec, raw[name], system) for name, spec in LAYOUT.specs.items() if name in raw
    }
    pieces = raw.get("pieces", ())
    for at, piece in enumerate(pieces if isinstance(pieces, list) else ()):
        for spec in LAYOUT.row_specs["pieces"]:
            if isinstance(piece, dict) and spec.name in piece:
                found[f"pieces-{at}-{spec.name}"] = _typed(spec, piece[spec.name], system)
    return found


def _typed(spec: FieldSpec, value: Any, system: System) -> str:
    return value if isinstance(value, str) else shown_text(spec, value, system, blank_zero=False)


def _not_typed(case: AttachmentCase, raw: Mapping[str, Any], system: System) -> tuple[str, ...]:
    """What stood in for fields left blank; nothing of it is kept with a joint."""
    usual = _usual(system)
    return tuple(
        f"{LAYOUT.specs[name].title.lower()} {shown_text(LAYOUT.specs[name], getattr(case, name), system)} "
        f"{symbol(LAYOUT.specs[name].kind, system) if LAYOUT.specs[name].kind else ''}".strip()
        for name in usual
        if name not in raw and name != "name"
    )


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
    ways: Ways | None = None,
    faults: Mapping[str, str] | None = None,
    unused: tuple[str, ...] = (),
    usual: tuple[str, ...] = (),
    fault: str = "",
    status: int = 200,
) -> HTMLResponse:
    system = site_of(request).system
    checks = report.judged.checks if report else ()
    sides = (ways.welded, ways.formed) if ways else ()
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
        usual=usual,
        ways=ways,
        sides=[(one, attachment_field(one.report, system, WEB)) for one in sides],
        cautions=tuple(dict.fromkeys(c for one in sides for c in one.report.judged.cautions)),
        bent=_BENT,
        of=kept.get(OF, ""),
        owner=address(kept[OF].partition("/")[0]) if kept.get(OF) else "",
        field=attachment_field(report, system, WEB) if report else "",
        day=attachment_day(report, system, WEB) if report else "",
        families=[Family("", checks[0], checks)] if checks else [],
        alloy_names=alloy_names,
    )
