"""Sizing on the calculator: the duty and the old envelope in, the bellows that fit out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec
from fastapi import APIRouter, Request
from fastapi.responses import FileResponse, HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from takeup.bellows.model import Convolution
from takeup.bellows.sizing import Choice, SizingTask
from takeup.desk import calculate
from takeup.errors import Refused
from takeup.units import System, from_si
from takeup.web import calculator_form as calculator
from takeup.web.calculator import alloy_names
from takeup.web.common import back, jobs_of, page, site_of
from takeup.web.typed_form import Group, Layout, Rows, shown_text, text_of

router = APIRouter()
CONDITION_ROWS = calculator.CONDITION_ROWS._replace(after="duty")
MOVEMENT_ROWS = calculator.MOVEMENT_ROWS._replace(after="duty")
_RANGE = {"least": "from", "most": "to", "step": "step"}
LAYOUT = Layout(
    SizingTask,
    (
        Group(
            "duty",
            "Duty",
            (
                "name", "basis", "inside_diameter", "assembly", "pressurised",
                "length_over_both", "spool_least", "spool_held", "ends", "offset_axial",
                "offset_lateral", "offset_angular",
            ),
        ),
        Group(
            "envelope",
            "The old envelope",
            (
                "outside_diameter", "live_length", "tangent_length", "collar_length",
                "collar_thickness", "collar_material",
            ),
        ),
        Group(
            "metal",
            "Alloys and plies",
            (
                "alloys", "treatment", "forming_factor", "weld_factor", "testable",
                "each_ply_alone", "plies_least", "plies_most", "sheet", "thickness_least",
                "thickness_most", "thicknesses",
            ),
            "Several alloys, or thicknesses in place of a series, stand behind each other with "
            "a semicolon between.",
        ),
        Group(
            "limits",
            "Not more than",
            (
                "most_stress", "most_squirm", "most_usage", "most_axial_rate",
                "most_lateral_rate", "most_angular_rate",
            ),
        ),
        Group(
            "space",
            "Heights, pitches and numbers to try",
            (
                *(f"heights-{one}" for one in _RANGE), *(f"pitches-{one}" for one in _RANGE),
                "convolutions_least", "convolutions_most", "radius_shares", "show",
            ),
            "Left blank, heights and pitches go from 10 mm to what the envelope leaves.",
            folded=True,
        ),
        Group(
            "rings", "Reinforcing rings", ("rings", "ring_bars", "ring_material"), folded=True
        ),
        Group(
            "choices",
            "Choices of the engineer",
            (
                "kg", "ctheta", "kr", "material_factor", "fatigue_curve-source",
                "fatigue_curve-most",
            ),
            folded=True,
        ),
    ),
    (
        CONDITION_ROWS,
        MOVEMENT_ROWS,
        Rows("fatigue_curve-pieces", "Branches", "Branch", calculator.PIECES, after="choices"),
    ),
    titles=calculator.TITLES
    | {f"heights-{one}": f"Height w, {word}" for one, word in _RANGE.items()}
    | {f"pitches-{one}": f"Pitch q, {word}" for one, word in _RANGE.items()}
    | {
        "alloys": "Allowed bellows alloys",
        "thicknesses": "Ply thicknesses in place of a series",
        "radius_shares": "Torus radius as share of the pitch",
        "ring_bars": "Diameters of round bar for rings",
    },
)  # fmt: skip
_MOVES = ("axial", "lateral", "angular", "lateral_across", "angular_across", "done")
NO_CYCLES = "must be given: how often must the new bellows bear this movement?"
_ZEROS = ("collar_length",)


@router.get("/calculator/sizing")
def show(request: Request) -> HTMLResponse:
    """The form, with the defaults of the search."""
    return _page(request, _defaults(site_of(request).system))


@router.post("/calculator/sizing/from")
async def taken_over(request: Request) -> Response:
    """The form filled with the duty and size of the calculator's bellows."""
    data = await request.form()
    system = site_of(request).system
    kept = _defaults(system) | {
        name: str(value)
        for name, value in data.items()
        if isinstance(value, str) and value.strip() and (name in LAYOUT.specs or "-" in name)
    }
    reading = calculator.read(data, system)
    case = reading.case
    if case is not None:
        kept |= {"alloys": case.material}
        if case.convolution != Convolution.TOROIDAL and case.height and not case.missing:
            wall = case.plies * case.ply_thickness
            over = case.inside_diameter + 2.0 * (case.height + wall)
            live = case.convolutions * case.pitch
            for name, value in (("outside_diameter", over), ("live_length", live)):
                kept[name] = f"{float(from_si(value, 'length', system)):.6g}"
    return await run_in_threadpool(_page, request, kept)


@router.post("/calculator/sizing")
async def run(request: Request) -> Response:
    """Search in the background; the address of the result can be kept."""
    site = site_of(request)
    data = await request.form()
    kept = {name: value for name, value in data.items() if isinstance(value, str)}
    reading = LAYOUT.read(data, site.system)
    faults = _uncounted(data) | reading.faults
    for table, word in (("conditions", "condition"), ("movements", "movement")):
        if not reading.raw.get(table):
            faults.setdefault(f"{table}-0-name", f"give at least one {word}")
    if reading.value is None or faults:
        return await run_in_threadpool(_page, request, kept, faults=faults, status=422)
    key = await run_in_threadpool(calculate.keep_task, site, reading.value)
    try:
        id = jobs_of(request).start(
            "sizing", lambda progress: calculate.run_sizing(site, key, progress=progress)
        )
    except Refused as busy:
        return await run_in_threadpool(_page, request, kept, fault=f"{busy}.", status=409)
    return back(f"/jobs/{id}?then=/calculator/sizing/{key}")


def _uncounted(data: Mapping[str, Any]) -> dict[str, str]:
    """Faults of movements that do not say how often they come: no bellows fits unknown cycles."""
    return {
        f"movements-{at}-cycles": NO_CYCLES
        for at in range(calculator.MOVEMENTS)
        if any(text_of(data, f"movements-{at}-{name}") for name in _MOVES)
        and not text_of(data, f"movements-{at}-cycles")
    }


@router.get("/calculator/sizing/{key}")
def result(request: Request, key: str) -> HTMLResponse:
    """What a search found; the form below it can be changed and run again."""
    site = site_of(request)
    task = calculate.sizing_task(site, key)
    found = calculate.sizing_result(site, key)
    kept = LAYOUT.texts(task, site.system, _ZEROS)
    fault = "" if found else "This search has no result: it did not run to its end. Run it again."
    return _page(request, kept, found=found, key=key, fault=fault)


@router.get("/calculator/sizing/{key}/{number}")
def chosen(request: Request, key: str, number: int) -> Response:
    """One bellows of a search, in the calculator."""
    return RedirectResponse(f"/calculator?search={key}&number={number}", status_code=303)


@router.get("/calculator/sizing/{key}/{number}/requisition.pdf")
def sheet(request: Request, key: str, number: int) -> FileResponse:
    """The requisition data sheet of one bellows of a search."""
    path = calculate.requisition(site_of(request), key, number)
    return FileResponse(path, media_type="application/pdf", content_disposition_type="inline",
                        filename=path.name)  # fmt: skip


def _defaults(system: System) -> dict[str, str]:
    """What a search takes where nothing else is said."""
    found = {}
    for field in msgspec.structs.fields(SizingTask):
        spec = LAYOUT.specs.get(field.name)
        if spec is not None and field.default is not msgspec.NODEFAULT:
            found[field.name] = shown_text(spec, field.default, system)
    return found


def _page(
    request: Request,
    kept: Mapping[str, str],
    *,
    faults: Mapping[str, str] | None = None,
    found: calculate.Sized | None = None,
    key: str = "",
    fault: str = "",
    status: int = 200,
) -> HTMLResponse:
    context: dict[str, Any] = {
        "result": found.result if found else None,
        "not_beaten": found.not_beaten if found else 0,
        "key": key,
        "fault": fault,
    }
    return page(
        request,
        "calculator_sizing.html",
        status=status,
        title="Size a replacement",
        layout=LAYOUT,
        kept=kept,
        faults=faults or {},
        alloy_names=alloy_names,
        check_of=_check_of,
        **context,
    )


def _check_of(one: Choice) -> str:
    """The name of the check that governs a bellows shown."""
    names = {check.id: check.name for check in one.report.checks}
    return names.get(one.candidate.governing, one.candidate.governing)
