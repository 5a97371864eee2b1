"""The wall on the calculator: why a bellows is hot or cold, what condenses on it, drawn."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec
from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from takeup.documents.drawing import WEB, wall_profile
from takeup.errors import TakeupError
from takeup.heat.conductivity import insulations
from takeup.heat.dew_model import GasAnalysis
from takeup.heat.exposure import Answer, Exposure, services
from takeup.heat.model import Spreads, WallCase, WallKind
from takeup.heat.wall_stack import DANGEROUS
from takeup.heat.wall_study import WallInput, WallStudy, study
from takeup.units import System
from takeup.web.calculator import Family, alloy_names
from takeup.web.common import page, site_of
from takeup.web.typed_form import Group, Layout, text_of

router = APIRouter()


def _of(table: str, *names: str) -> tuple[str, ...]:
    return tuple(f"{table}-{name}" for name in names)


LAYOUT = Layout(
    WallInput,
    (
        Group(
            "joint",
            "The joint and its gas",
            _of("wall", "name", "wall", "gas_temperature", "pressure", "gas_velocity", "gas_film",
                "certain"),
        ),
        Group(
            "inside",
            "From the gas outward",
            _of("wall", "inside_diameter", "lining", "lining_thickness", "liner_material",
                "liner_thickness", "liner_gap", "cavity", "packing", "fill", "lost",
                "convolution_height", "convolutions", "bellows_material", "ply_thickness",
                "plies", "ply_gap", "inner_emissivity", "purged"),
            "Thicknesses build up from the inside diameter. Leave blank what is not there.",
        ),
        Group(
            "outside",
            "Outside",
            _of("wall", "insulation", "insulation_thickness", "cover_gap", "cover_thickness",
                "emissivity", "ambient", "surroundings", "wind", "sun", "orientation", "height",
                "area_ratio"),
        ),
        Group(
            "reading",
            "Measured on the bellows",
            _of("reading", "temperature", "instrument", "deviation", "outer", "outer_deviation",
                "certain"),
            "Given, the causes that explain it are ranked.",
        ),
        Group(
            "gas",
            "What the gas holds, mole shares",
            _of("gas", "water", "oxygen", "excess_air", "hydrogen_per_carbon", "burning", "so2",
                "so3", "hcl", "nh3", "h2s", "hbr", "hno3"),
            "Blank is unknown, not none: enter 0 for what is known to be absent.",
        ),
        Group(
            "exposure",
            "Exposure at shutdown",
            _of("exposure", "service", "sensitised", "sulphides", "opened", "wet", "nitrogen",
                "chlorides", "shutdown_metal", "shutdown_dew"),
            folded=True,
        ),
        Group(
            "spreads",
            "How far inputs may lie off, one standard deviation",
            _of("spreads", *Spreads.__struct_fields__),
            folded=True,
        ),
    ),
)  # fmt: skip
_ASKED = tuple(name for name in LAYOUT.specs if name.startswith("exposure-"))


@router.get("/calculator/wall")
def show(request: Request) -> HTMLResponse:
    """The empty form with what is usual."""
    return _page(request, _usual(site_of(request).system))


@router.post("/calculator/wall")
async def work(request: Request) -> Response:
    """Work the wall out; nothing typed is lost, and nothing is stored."""
    data = await request.form()
    return await run_in_threadpool(_work, request, data)


def _work(request: Request, data: Mapping[str, Any]) -> HTMLResponse:
    site = site_of(request)
    kept = {name: value for name, value in data.items() if isinstance(value, str)}
    reading = LAYOUT.read(kept, site.system)
    if reading.value is None:
        return _page(request, kept, faults=reading.faults, status=422)
    given: WallInput = reading.value
    if given.exposure is None and _exposed(kept):
        # choices alone make no table in a form; here they do
        raw = {name.removeprefix("exposure-"): text_of(kept, name) for name in _ASKED}
        answers = {name: text for name, text in raw.items() if text}
        given = msgspec.structs.replace(given, exposure=msgspec.convert(answers, Exposure))
    try:
        found = study(given, site.register().limits())
    except TakeupError as fault:
        return _page(request, kept, fault=str(fault), status=422)
    return _page(request, kept, found=found, given=given)


def _exposed(kept: Mapping[str, str]) -> bool:
    return any(text_of(kept, name) not in {"", Answer.UNKNOWN.value} for name in _ASKED)


def _usual(system: System) -> dict[str, str]:
    """Values that stand where nothing else is said."""
    empty = WallInput(
        wall=WallCase(
            wall=WallKind.HOT, gas_temperature=1.0, inside_diameter=1.0, bellows_material="",
            ply_thickness=1.0, ambient=298.15,
        ),
        gas=GasAnalysis(),
        exposure=Exposure(),
    )  # fmt: skip
    usual = LAYOUT.texts(empty, system)
    asked = {
        f"wall-{name}" for name in
        ("wall", "gas_temperature", "inside_diameter", "bellows_material", "ply_thickness")
    }  # fmt: skip
    return {name: text for name, text in usual.items() if name not in asked and text}


def _page(
    request: Request,
    kept: Mapping[str, str],
    *,
    found: WallStudy | None = None,
    given: WallInput | None = None,
    faults: Mapping[str, str] | None = None,
    fault: str = "",
    status: int = 200,
) -> HTMLResponse:
    site = site_of(request)
    drawn = ""
    if found is not None and given is not None:
        limits = site.register().limits()
        drawn = wall_profile(
            found.wall, system=site.system, low=limits["temperature.low_to"],
            high=limits["temperature.high"], dew=found.dew, reading=given.reading, palette=WEB,
        )  # fmt: skip
    checks = found.checks if found else ()
    return page(
        request,
        "calculator_wall.html",
        status=status,
        title="The wall",
        layout=LAYOUT,
        kept=kept,
        faults=faults or {},
        fault=fault,
        found=found,
        given=given,
        drawn=drawn,
        danger=DANGEROUS,
        families=[Family("", checks[0], checks)] if checks else [],
        alloy_names=alloy_names,
        insulations=list(insulations()),
        services=list(services()),
    )
