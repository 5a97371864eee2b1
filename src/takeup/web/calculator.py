"""The bellows calculator: a form, its result by a rule set, and the way to a joint's record."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

import msgspec
from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from takeup.bellows import evaluate
from takeup.bellows.model import BellowsCase, BellowsReport
from takeup.bellows.side_by_side import Comparison, compare
from takeup.bellows.uncertainty import UncertaintyReport, spread, usual
from takeup.checks import Check, Outcome
from takeup.desk import calculate
from takeup.documents.drawing import WEB, bellows_section, spread_chart
from takeup.errors import TakeupError
from takeup.given import raw_of, sound, take
from takeup.materials import alloys
from takeup.units import System, shown
from takeup.web import calculator_form as forms
from takeup.web.common import Form, back, page, site_of, text, uploaded
from takeup.web.overview import link
from takeup.web.typed_form import Layout

router = APIRouter()
SAMPLES, SEED = 4096, 1
"""How a page samples tolerances: enough for a share of a per cent, the same each time."""
_FAMILIES = (
    ("Pressure stress", ("S1", "S2", "S3", "S4")),
    ("Stability", ("column_squirm", "inplane_squirm", "external", "buckling", "collapse")),
    ("Fatigue", ("fatigue", "usage")),
    ("Creep range", ("creep",)),
    ("Limits of the rule set", ("geometry",)),
)
_OTHER = "Other checks"
_WORST = (Outcome.NOT_MET, Outcome.NOT_EVALUATED, Outcome.MET, Outcome.DOES_NOT_APPLY)


def worked(
    request: Request,
    data: Mapping[str, Any],
    layout: Layout[Any],
    evaluate: Callable[[Any], Any],
    show: Callable[..., HTMLResponse],
) -> HTMLResponse:
    """Read a form by its layout, work it out and show it; nothing typed is lost."""
    kept = {name: value for name, value in data.items() if isinstance(value, str)}
    reading = layout.read(data, site_of(request).system)
    if reading.value is None:
        return show(request, kept, faults=reading.faults, status=422)
    try:
        report = evaluate(reading.value)
    except TakeupError as fault:
        return show(request, kept, fault=str(fault), status=422)
    return show(request, kept, report=report, unused=reading.unused)


class Family(NamedTuple):
    """Checks of one sort, the worst of them first."""

    name: str
    worst: Check
    checks: tuple[Check, ...]


def families(checks: tuple[Check, ...]) -> tuple[Family, ...]:
    """Checks by what they guard against; an open check is worse than one that is met."""
    names = [*(name for name, _ in _FAMILIES), _OTHER]
    sorted_: dict[str, list[Check]] = {name: [] for name in names}
    for check in checks:
        sorted_[_family(check.id)].append(check)
    return tuple(
        Family(name, min(found, key=_worse), tuple(found))
        for name, found in sorted_.items()
        if found
    )


def _family(id: str) -> str:
    return next((name for name, starts in _FAMILIES if id.startswith(starts)), _OTHER)


def _worse(check: Check) -> tuple[int, float]:
    return _WORST.index(check.outcome), -(check.ratio or 0.0)


def headline(report: BellowsReport) -> str:
    """What the checks say together; never that a bellows is safe."""
    count = {outcome: sum(c.outcome == outcome for c in report.checks) for outcome in Outcome}
    bad, open_, met = (count[o] for o in (Outcome.NOT_MET, Outcome.NOT_EVALUATED, Outcome.MET))
    parts = [f"{bad} not met"] if bad else []
    parts += [f"{met} met"] if met else []
    parts += [f"{open_} not evaluated"] if open_ else []
    whole = f"{len(report.checks)} checks by {report.basis}: {', '.join(parts) or 'none apply'}"
    return whole if report.valid else f"Outside what {report.basis} covers. {whole}"


@router.get("/calculator")
def show(
    request: Request,
    joint: str = "",
    bellows: str = "",
    example: str = "",
    of: str = "",
    search: str = "",
    number: int = 0,
) -> HTMLResponse:
    """The form: empty, from an example, a bellows of the register, or one that a search found."""
    site = site_of(request)
    if of:
        joint, _, bellows = of.rpartition(" ")
    if joint:
        case = calculate.from_register(site, joint, bellows or "A")
    elif example:
        case = calculate.example(example)
    elif search:
        case = calculate.sized(site, search, number).case
    else:
        return _page(request, {})
    kept = forms.texts(case, site.system)
    if joint:
        one = calculate.bellows_of(site, joint, bellows or "A")
        kept |= {"save_joint": one.joint, "save_letter": one.letter}
    return _page(request, kept, words=forms.LAYOUT.too_many(case))


@router.post("/calculator")
async def work(request: Request) -> Response:
    """Work out what the form says; nothing typed is lost, and nothing is stored."""
    data = await request.form()
    return await run_in_threadpool(_work, request, data)


@router.post("/calculator/differences")
async def differences(request: Request) -> Response:
    """Show what saving to a joint would change; nothing is stored."""
    data = await request.form()
    return await run_in_threadpool(_work, request, data, saving=True)


@router.post("/calculator/compare")
async def by_every_rule_set(request: Request) -> Response:
    """The same input by every rule set, with the reasons why they differ."""
    data = await request.form()
    return await run_in_threadpool(_work, request, data, comparing=True)


@router.post("/calculator/tolerances")
async def tolerances(request: Request) -> Response:
    """Which check fails how often within the usual tolerances, and what drives it."""
    data = await request.form()
    return await run_in_threadpool(_work, request, data, sampling=True)


@router.post("/calculator/open")
async def opened(request: Request) -> Response:
    """The form filled from an input file of ``takeup bellows``; nothing is stored."""
    async with request.form(max_files=1) as data:
        name, content = await uploaded(data)
    return await run_in_threadpool(_opened, request, name, content)


def _opened(request: Request, name: str, content: bytes) -> HTMLResponse:
    if not name:
        return _page(request, {}, fault="Choose a file first.", status=422)
    try:
        case = sound(name, take(raw_of(name, content), BellowsCase))
    except TakeupError as fault:
        return _page(request, {}, fault=str(fault), status=422)
    return show_filled(request, case)


@router.post("/calculator/save")
async def save(request: Request) -> Response:
    """Store geometry and metal with the joint as one revision, with reason and name."""
    data = await request.form()
    return await run_in_threadpool(_save, request, data)


@router.post("/calculator/input.json")
async def input_file(request: Request) -> Response:
    """The input as a file for ``takeup bellows``, SI."""
    data = await request.form()
    reading = forms.read(data, site_of(request).system)
    if reading.case is None:
        return await run_in_threadpool(_work, request, data)
    body = msgspec.json.format(msgspec.json.encode(reading.case), indent=2)
    return Response(
        body,
        media_type="application/json",
        headers={"Content-Disposition": 'attachment; filename="bellows.json"'},
    )


def show_filled(request: Request, case: BellowsCase) -> HTMLResponse:
    """The form filled with ``case``."""
    kept = forms.texts(case, site_of(request).system)
    return _page(request, kept, words=forms.LAYOUT.too_many(case))


def show_again(request: Request, data: Mapping[str, Any]) -> HTMLResponse:
    """The calculator with what it has to say to ``data``: faults, or a result."""
    return _work(request, data)


def _work(
    request: Request,
    data: Mapping[str, Any],
    *,
    saving: bool = False,
    comparing: bool = False,
    sampling: bool = False,
) -> HTMLResponse:
    site = site_of(request)
    kept = _kept(data)
    reading = forms.read(data, site.system)
    if reading.case is None:
        return _page(request, kept, reading=reading, status=422)
    try:
        report = evaluate(reading.case)
        found = None
        if saving:
            tag, letter = text(data, "save_joint"), text(data, "save_letter")
            found = calculate.proposal(site, reading.case, tag, letter)
        comparison = compare(reading.case) if comparing else None
        spread_ = _sampled(reading.case) if sampling else None
    except TakeupError as fault:
        return _page(request, kept, reading=reading, fault=str(fault), status=422)
    return _page(
        request, kept, reading=reading, report=report, proposal=found, comparison=comparison,
        sampled=spread_,
    )  # fmt: skip


def _sampled(case: BellowsCase) -> UncertaintyReport:
    return spread(case, usual(case), samples=SAMPLES, seed=SEED)


def _save(request: Request, data: Mapping[str, Any]) -> Response:
    site = site_of(request)
    form = Form(data, site.system)
    author = form.text("author", needed="say who you are")
    reason = form.text("save_reason", needed="say why")
    tag, letter = form.text("save_joint"), form.text("save_letter")
    reading = forms.read(data, site.system)
    if reading.case is None:
        return _page(request, _kept(data), reading=reading, status=422)
    fault, report, found = "", None, None
    try:
        report = evaluate(reading.case)
        if not form.faults:
            saved = calculate.save(
                site, reading.case, tag, letter,
                seen=form.text("seen"), author=author, reason=reason,
            )  # fmt: skip
            return back(link(saved.element.joint) + "#evidence", author)
        found = calculate.proposal(site, reading.case, tag, letter)
    except TakeupError as refusal:
        fault = str(refusal)
    reading = reading._replace(faults=reading.faults | form.faults)
    return _page(
        request, _kept(data), reading=reading, report=report, proposal=found, fault=fault,
        status=422,
    )  # fmt: skip


def _kept(data: Mapping[str, Any]) -> dict[str, str]:
    return {name: value for name, value in data.items() if isinstance(value, str)}


def _page(
    request: Request,
    kept: Mapping[str, str],
    *,
    reading: forms.Reading | None = None,
    report: BellowsReport | None = None,
    proposal: calculate.Proposal | None = None,
    comparison: Comparison | None = None,
    sampled: UncertaintyReport | None = None,
    fault: str = "",
    words: tuple[str, ...] = (),
    status: int = 200,
) -> HTMLResponse:
    site = site_of(request)
    try:
        system = site.system
    except TakeupError:
        system = System.METRIC
    case = reading.case if reading else None
    return page(
        request,
        "calculator.html",
        status=status,
        title="Bellows calculator",
        layout=forms.LAYOUT,
        kept=kept,
        faults=reading.faults if reading else {},
        unused=reading.unused if reading else (),
        fault=fault,
        words=words,
        report=report,
        headline=headline(report) if report else "",
        families=families(report.checks) if report else (),
        cautions=_cautions(report) if report else (),
        given=given(case, system) if report and case else (),
        section=_section(case, report, system) if report and case else None,
        proposal=proposal,
        comparison=comparison,
        sampled=sampled,
        chart=spread_chart(sampled, palette=WEB) if sampled else None,
        reasons=_reasons(comparison) if comparison else {},
        examples=list(calculate.examples()),
        joints=calculate.joints(site),
        alloy_names=alloy_names,
        system=system,
    )


def alloy_names() -> list[str]:
    """Names to offer where an alloy is asked for."""
    return [alloy.name for alloy in alloys()]


def _cautions(report: BellowsReport) -> tuple[str, ...]:
    return tuple(dict.fromkeys(words for check in report.checks for words in check.cautions))


def _section(case: BellowsCase, report: BellowsReport, system: System) -> str | None:
    """The bellows drawn from its numbers, moved as its hardest movement has it."""
    hardest = max(
        case.movements,
        key=lambda move: getattr(report.figure(f"e@{move.name}"), "value", None) or 0.0,
        default=None,
    )
    try:
        return bellows_section(case, system=system, report=report, movement=hardest, palette=WEB)
    except TakeupError:
        return None  # the result stands without a drawing: its dimensions make none


def _reasons(comparison: Comparison) -> dict[str, list[str]]:
    """Each reason once, with what it touches."""
    found: dict[str, list[str]] = {}
    lines = [(row.name, row.reasons) for row in comparison.checks]
    lines += [(row.name, row.reasons) for row in comparison.figures]
    for name, reasons in lines:
        for reason in reasons:
            touched = found.setdefault(reason, [])
            if name not in touched:
                touched.append(name)
    return found


def given(case: BellowsCase, system: System) -> tuple[tuple[str, str], ...]:
    """What the result rests on, in words, for the page as printed."""
    found = []
    filled = forms.texts(case, system)
    for name, spec in forms.LAYOUT.specs.items():
        value = getattr(case, name, None)
        if name == "name" or not filled.get(name) or (value == 0.0 and spec.optional):
            continue
        number = isinstance(value, (int, float)) and not isinstance(value, bool)
        found.append((spec.title, shown(value, spec.kind, system) if number else filled[name]))
    for row in case.conditions:
        pressure, hot = (
            shown(row.pressure, "pressure", system), shown(row.temperature, "temperature", system),
        )  # fmt: skip
        found.append((f"Condition {row.name}", f"{pressure}, {hot}"))
    for move in case.movements:
        parts = [
            f"{spec.title.split(',')[0].lower()} {shown(value, spec.kind, system)}"
            for spec in forms.LAYOUT.row_specs["movements"]
            if spec.kind and (value := getattr(move, spec.name))
        ]
        found.append((f"Movement {move.name}", ", ".join(parts) or "none"))
    return tuple(found)
