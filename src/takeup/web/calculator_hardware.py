"""Hardware on the calculator: where the thrust goes, and what a defect takes away."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec
from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from takeup.bellows import evaluate
from takeup.bellows.hardware import HardwareCase, HardwareReport, HardwareType, check_hardware
from takeup.bellows.hardware.explain import explain
from takeup.bellows.hardware.model import (
    Factors,
    HardwareCondition,
    Links,
    Lugs,
    Pins,
    Plates,
    Ring,
    Rods,
)
from takeup.bellows.model import BellowsCase
from takeup.desk import calculate
from takeup.documents.drawing import WEB, load_path
from takeup.errors import TakeupError
from takeup.units import System
from takeup.web import calculator_form
from takeup.web.calculator import Family, alloy_names, show_again, worked
from takeup.web.common import page, site_of
from takeup.web.typed_form import Group, Layout
from takeup.web.typed_form import Rows as RowsOf

router = APIRouter()
_ROD = (HardwareType.TIE_RODS.value, HardwareType.LIMIT_RODS.value)
_HINGE = (
    HardwareType.HINGE.value, HardwareType.HINGE_PAIR.value, HardwareType.SLOTTED_HINGE.value,
)  # fmt: skip
_GIMBAL = (HardwareType.GIMBAL.value, HardwareType.GIMBAL_PAIR.value)
_LINK = (HardwareType.PANTOGRAPH.value,)


_PARTS: dict[str, type[msgspec.Struct]] = {
    "rods": Rods, "plates": Plates, "pins": Pins, "ring": Ring, "links": Links, "lugs": Lugs,
    "factors": Factors,
}  # fmt: skip


def _fields(name: str) -> tuple[str, ...]:
    """Every field of a nested table, by its name in the form."""
    return tuple(f"{name}-{field.name}" for field in msgspec.structs.fields(_PARTS[name]))


LAYOUT = Layout(
    HardwareCase,
    (
        Group(
            "joint",
            "The joint",
            (
                "name", "type", "effective_area", "pipe_diameter", "axial_rate", "axial_rate_b",
                "angular_rate", "pair_distance", "at_limit",
            ),
            "Leave blank what is not known: the checks that rest on it stay open and are named.",
        ),
        Group(
            "weights",
            "Loads beside the thrust",
            ("weight_along", "weight_across", "lateral_load", "across_direction"),
            "Blank is unknown, not none: enter 0 where there is none.",
        ),
        Group("rods", "Rods", _fields("rods"), only=_ROD),
        Group("plates", "Hinge plates or gimbal arms", _fields("plates"), only=(*_HINGE, *_GIMBAL)),
        Group("pins", "Pins", _fields("pins"), only=(*_HINGE, *_GIMBAL, *_LINK)),
        Group("ring", "Gimbal ring", _fields("ring"), only=_GIMBAL),
        Group("links", "Pantograph bars", _fields("links"), only=_LINK),
        Group("lugs", "Lugs and welds on the pipe", _fields("lugs")),
        Group(
            "factors",
            "Allowable stress of each kind over that in tension",
            _fields("factors"),
            folded=True,
        ),
    ),
    (
        RowsOf(
            "conditions", "Conditions", "Condition", 4,
            "Pressure is gauge; temperatures are those of the hardware. Blank is unknown: enter "
            "0 where a movement is none.",
            ("design", "operating", "test"),
            after="weights",
        ),
        RowsOf(
            "defects", "What was found wrong", "Defect", 6,
            "Rods count round the joint; a hinge or gimbal has sides 1 and 2.",
        ),
    ),
    titles={
        f"{table}-allowable_{which}": word
        for table in ("rods", "plates", "pins", "ring", "links", "lugs")
        for which, word in (
            ("stress", "Allowable stress in tension"), ("source", "Source of that stress"),
        )
    }
    | {"name": "Name"},
    decides="type",
)  # fmt: skip


@router.get("/calculator/hardware")
def show(request: Request, of: str = "") -> HTMLResponse:
    """The form: empty, or for an item of hardware as the register stands (``JOINT/item``)."""
    site = site_of(request)
    kept = _usual(site.system)
    if not of:
        return _page(request, kept)
    joint, _, item = of.partition("/")
    known = calculate.hardware_from_register(site, joint, item)
    kept |= {name: text for name, text in LAYOUT.texts(known, site.system).items() if text}
    return _page(request, kept | {"of": of}, words=LAYOUT.too_many(known))


@router.post("/calculator/hardware/from")
async def taken_over(request: Request) -> Response:
    """The form with thrust area, rates and conditions of the calculator's bellows."""
    data = await request.form()
    return await run_in_threadpool(_taken_over, request, data)


def _taken_over(request: Request, data: Mapping[str, Any]) -> HTMLResponse:
    system = site_of(request).system
    reading = calculator_form.read(data, system)
    if reading.case is None:
        return show_again(request, data)
    try:
        known = _known(reading.case)
    except TakeupError:
        return show_again(request, data)
    kept = _usual(system) | {n: text for n, text in LAYOUT.texts(known, system).items() if text}
    kept["type"] = ""
    return _page(request, kept)


def _known(case: BellowsCase) -> HardwareCase:
    """What the bellows tells of the load on its hardware."""
    report = evaluate(case)

    def value(id: str) -> float | None:
        figure = report.figure(id)
        return figure.value if figure else None

    return HardwareCase(
        name=case.name,
        type=HardwareType.TIE_RODS,
        effective_area=value("effective_area"),
        axial_rate=value("axial_rate_cold"),
        angular_rate=value("angular_rate_cold"),
        conditions=tuple(
            HardwareCondition(name=one.name, pressure=max(0.0, one.pressure))
            for one in case.conditions
        ),
    )


@router.post("/calculator/hardware")
async def work(request: Request) -> Response:
    """Trace the load and check every part; nothing typed is lost, and nothing is stored."""
    data = await request.form()
    return await run_in_threadpool(worked, request, data, LAYOUT, check_hardware, _page)


def _usual(system: System) -> dict[str, str]:
    """Factors and loads as they stand where nothing else is said."""
    usual = LAYOUT.texts(HardwareCase(type=HardwareType.TIE_RODS), system)
    return {name: text for name, text in usual.items() if name.startswith("factors-")}


def _page(
    request: Request,
    kept: Mapping[str, str],
    *,
    report: HardwareReport | None = None,
    faults: Mapping[str, str] | None = None,
    unused: tuple[str, ...] = (),
    words: tuple[str, ...] = (),
    fault: str = "",
    status: int = 200,
) -> HTMLResponse:
    system = site_of(request).system
    said: dict[str, None] = {}
    for path in report.paths if report else ():
        said |= dict.fromkeys(explain(path, system))
    return page(
        request,
        "calculator_hardware.html",
        status=status,
        title="Hardware",
        layout=LAYOUT,
        kept=kept,
        faults=faults or {},
        fault=fault,
        report=report,
        unused=unused,
        words=words,
        items=calculate.hardware_items(site_of(request)),
        said=[words for words in said if report and words not in (*report.lost, *report.cautions)],
        drawings=[load_path(path, system, WEB) for path in report.paths] if report else [],
        families=[Family("", report.checks[0], report.checks)] if report and report.checks else [],
        alloy_names=alloy_names,
    )
