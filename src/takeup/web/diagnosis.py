"""What may be wrong with a line: explanations ranked, drawn, told; further readings taken."""

from __future__ import annotations

from typing import Any, NamedTuple
from urllib.parse import quote, urlencode

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from takeup.desk import diagnosis
from takeup.desk.diagnosis import Diagnosed, Kept, by_place, quantity
from takeup.desk.diagnosis_placed import NORMAL, POINTED
from takeup.desk.diagnosis_words import opens_at, way_of
from takeup.documents.drawing import (
    WEB,
    Likely,
    MarkRow,
    isometric,
    likely_bars,
    marks_against,
)
from takeup.documents.drawing.marks_against import percent
from takeup.errors import Refused, TakeupError
from takeup.evidence.facts import LineQuantity, LineReading, LineState, Visit, VisitKind, Way
from takeup.line.diagnosis import Group, Kind, Reading
from takeup.line.model import Guide, Joint
from takeup.progress import Progress
from takeup.register.entities import Line
from takeup.web.common import Form, back, jobs_of, page, site_of

router = APIRouter()
GROUPS = 5
"""Groups told one by one; what comes after is in the list of all else."""
PREDICTED = 3
"""Explanations drawn beside *everything sound*."""
LEAST, SHOWN = 0.02, 8
"""Places told one by one: from this probability on, at most so many."""
RINGED = 0.1
"""Chance from which a place is ringed in the drawing of the line."""
KINDS = {
    LineQuantity.LOAD: "force",
    LineQuantity.OPENING: "angle",
}
"""Quantity kind of each reading that is no length."""


class Told(NamedTuple):
    """One group as the page tells it."""

    number: int
    percent: str
    words: str
    looks: tuple[tuple[str, str], ...]
    members: tuple[tuple[str, str], ...]
    """Chance and words of each explanation worth naming"""
    splits: tuple[tuple[str, str, str], ...]
    """Reading, how to take it, where to enter it"""
    unnamed: int
    """Further ones, each too unlikely to name"""
    unnamed_percent: str
    solved: bool


def address(tag: str) -> str:
    """The address of a line's diagnosis."""
    return f"/lines/{quote(tag, safe='')}/diagnosis"


@router.get("/lines/{tag}/diagnosis")
def show(request: Request, tag: str) -> HTMLResponse:
    """The diagnosis as it was weighed last, and what is on record now."""
    return _show(request, tag)


@router.post("/lines/{tag}/diagnosis/weigh")
def weigh(request: Request, tag: str) -> Response:
    """Weigh in the background what is on record."""
    line = site_of(request).register().get(Line, tag)
    return _start(request, line.tag)


@router.post("/lines/{tag}/diagnosis")
async def add(request: Request, tag: str) -> Response:
    """Keep a further reading, then weigh again."""
    site = site_of(request)
    data = await request.form()
    form = Form(data, site.system)
    line = site.register().get(Line, tag)
    readings, visits = _read(form, line)
    author = form.text("author", needed="say who you are")
    reason = form.text("reason", needed="say where the reading is from")
    if not form.faults:
        try:
            await run_in_threadpool(
                diagnosis.add, site, line.tag, readings, author, reason, visits=visits,
                sure=form.text("sure") == "yes",
            )  # fmt: skip
        except Refused as fault:
            form.faults["hot" if form.text("hot") else "cold"] = str(fault)
            form.faults["sure"] = "ask"
        except TakeupError as fault:
            form.faults["place"] = str(fault)
    if form.faults:
        return await run_in_threadpool(_show, request, line.tag, form=form)
    return _start(request, line.tag, author)


def _start(request: Request, tag: str, author: str = "") -> Response:
    site = site_of(request)

    def work(progress: Progress) -> Diagnosed:
        found = diagnosis.current(site, tag, progress=progress)
        if found.faults:
            raise TakeupError("; ".join(found.faults))
        return found

    try:
        id = jobs_of(request).start(f"diagnosis of line {tag}", work)
    except Refused:
        return back(address(tag), author)  # it is being weighed; the page says from what
    return back(f"/jobs/{id}?then={quote(address(tag), safe='/')}", author)


def _read(form: Form, line: Line) -> tuple[list[LineReading], list[Visit]]:
    """A reading hot, cold or both, and visits that are new; faults stand at their fields."""
    what = form.choice("quantity", LineQuantity, needed="say what was read")
    place = form.text("place", needed="say where")
    way = form.choice("way", Way) or Way.NONE
    kind = KINDS.get(what, "movement") if what is not None else "movement"
    blur = form.number("uncertainty", kind)
    if blur is not None and blur <= 0.0:
        form.faults["uncertainty"] = "an uncertainty is above zero"
    if what in {LineQuantity.POINTER, LineQuantity.LOAD}:
        way = Way.NONE
    elif what is not None and way == Way.NONE:
        form.faults["way"] = f"{what.value}: say towards which way"
    readings: list[LineReading] = []
    visits: dict[str, Visit] = {}
    for state in (LineState.HOT, LineState.COLD):
        value = form.number(state.value, kind)
        if value is None:
            continue
        if kind == "force" and value < 0.0:
            form.faults[state.value] = "a load carried is not below zero"
        visit = _visit(form, line, state, visits)
        if what is None or not place or not visit:
            continue
        named = {"movement": "length", "angle": "angle", "force": "load"}[kind]
        blurred = {"movement": "uncertainty"}.get(kind, f"{named}_uncertainty")
        if form.faults:
            continue
        fields: dict[str, Any] = {named: value, blurred: blur}
        readings.append(
            LineReading(
                visit=visit, line=line.tag, place=place, quantity=what, way=way, state=state,
                instrument=form.text("instrument"), **fields,
            )
        )  # fmt: skip
    if not readings and not form.faults:
        form.faults["hot"] = "give what was read hot, cold or both"
    return readings, list(visits.values())


def _visit(form: Form, line: Line, state: LineState, visits: dict[str, Visit]) -> str:
    """The visit of a reading: one on record, or a new one by name and date."""
    chosen = form.text(f"visit_{state.value}")
    if chosen:
        return chosen
    name = form.text(f"new_{state.value}")
    if not name:
        form.faults[f"visit_{state.value}"] = "choose the visit, or name a new one with its date"
        return ""
    date = form.date(f"date_{state.value}", needed="give the date of the new visit")
    if date is None:
        return ""
    visits[name] = Visit(
        id=name, unit=line.unit, date=date, inspector=form.text("author"),
        kind=VisitKind.HOT if state == LineState.HOT else VisitKind.COLD,
    )  # fmt: skip
    return name


def _show(request: Request, tag: str, *, form: Form | None = None) -> HTMLResponse:
    site = site_of(request)
    line = site.register().get(Line, tag)
    kept = diagnosis.latest(site, line.tag)
    found = kept.found
    visits = sorted(site.register().all(Visit), key=lambda v: v.date, reverse=True)
    asked = {k: v for k, v in request.query_params.items() if k in {"quantity", "place", "way"}}
    return page(
        request,
        "diagnosis.html",
        status=422 if form else 200,
        title=f"Diagnosis of line {line.tag}",
        line=line,
        kept=kept,
        found=found,
        summary=diagnosis.summary(found) if found is not None else None,
        action=address(line.tag),
        form=form,
        typed={k: v for k, v in form.data.items() if isinstance(v, str)} if form else asked,
        fields=_fields(kept),
        visits=visits,
        usual={
            state: next((v.id for v in visits if v.kind == kind), "")
            for state, kind in (("hot", VisitKind.HOT), ("cold", VisitKind.COLD))
        }
        if not form
        else {},
        quantities=[one.value for one in LineQuantity],
        ways=[one.value for one in Way if one != Way.NONE],
        limit=f"{NORMAL:g}",
        percent=percent,
        **(_pictures(kept, found) if found is not None else {}),
    )


def _fields(kept: Kept) -> list[tuple[str, list[str]]]:
    """Places that a reading can be taken at, in groups."""
    line = kept.now.line
    if line is None:
        return []
    groups = [
        ("springs and hangers", [s.name for s in line.supports if isinstance(s, POINTED)]),
        ("guides", [s.name for s in line.supports if isinstance(s, Guide)]),
        ("joints", [p.tag for p in line.pieces if isinstance(p, Joint)]),
        (
            "other supports",
            [s.name for s in line.supports if not isinstance(s, (*POINTED, Guide))],
        ),
        ("stations", [station.name for station in line.stations]),
    ]
    return [(words, names) for words, names in groups if names]


def _pictures(kept: Kept, found: Diagnosed) -> dict[str, Any]:
    """Everything of the page that comes out of a diagnosis."""
    result = found.diagnosis
    if result is None:
        return {}
    told = [_told(found, number, group) for number, group in enumerate(result.groups[:GROUPS], 1)]
    rest = sum(group.posterior for group in result.groups[GROUPS:]) + result.others
    bars = likely_bars(
        [
            Likely(
                number=one.number,
                words=one.words,
                share=group.posterior,
                sound=any(not e.faults for e in group.explanations),
            )
            for one, group in zip(told, result.groups, strict=False)
        ],
        rest,
        fits=found.fits,
        palette=WEB,
    )
    blamed = [group.explanations[0] for group in result.groups[:GROUPS]]
    guilty = [(number, one) for number, one in enumerate(blamed, 1) if one.faults]
    drawn = guilty[:PREDICTED]
    series = [
        "everything sound, temperature as recorded",
        *(f"{number}  {found.plain(one)}" for number, one in drawn),
    ]
    rows = [
        MarkRow(
            name=used.words,
            kind=quantity(reading),
            measured=reading.value or 0.0,
            error=error,
            predicted=(sound, *(one.predicted[at] for _, one in drawn)),
        )
        for at, (used, reading, error, sound) in enumerate(
            zip(found.used, result.readings, result.errors, result.sound, strict=True)
        )
    ]
    next_words, how = diagnosis.next_words(found, result.next)
    return {
        "told": told,
        "bars": bars,
        "hatched": any(
            not e.faults for group in result.groups[:GROUPS] for e in group.explanations
        ),
        "marks": marks_against(rows, series, system=kept.now.system, palette=WEB),
        "rows": rows,
        "series": series,
        "numbers": [number for number, _ in drawn],
        "drawing": _isometric(kept, found),
        "next": (next_words, how, _enter(found, result.next.reading) if result.next else ""),
        "places": [(place, percent(share)) for place, share in by_place(found) if share >= LEAST][
            :SHOWN
        ],
        "hints": [
            (found.words(hint.reading), _enter(found, hint.reading)) for hint in result.hints[1:4]
        ],
        "rise": result.rise,
    }


def _told(found: Diagnosed, number: int, group: Group) -> Told:
    first = group.explanations[0]
    return Told(
        number=number,
        percent=percent(group.posterior),
        words=diagnosis.group_words(found, group),
        looks=diagnosis.looks(found, group.explanations),
        members=tuple((percent(one.posterior), found.plain(one)) for one in group.explanations),
        splits=tuple(
            (*diagnosis.next_words(found, hint), _enter(found, hint.reading))
            for hint in group.split
        ),
        unnamed=group.unnamed,
        unnamed_percent=percent(group.unnamed_posterior),
        solved=first.solved,
    )


def _isometric(kept: Kept, found: Diagnosed) -> str:
    """The line with the places where something may be wrong."""
    line = kept.now.line
    if line is None or not kept.fresh:
        return ""
    pointed = {place: percent(share) for place, share in by_place(found) if share >= RINGED}
    try:
        return isometric(
            line,
            pointed=pointed if found.fits else None,
            system=kept.now.system,
            palette=WEB,
            width=720.0,
        )
    except TakeupError:
        return ""


def _enter(found: Diagnosed, reading: Reading) -> str:
    """Where a reading is entered: filled in on this page, or with the marks of the joint."""
    here = address(found.line)
    fill = {
        Kind.INDICATOR: LineQuantity.POINTER,
        Kind.LOAD: LineQuantity.LOAD,
        Kind.GAP: LineQuantity.ROOM,
        Kind.POSITION: LineQuantity.PLACE,
    }
    if reading.kind in fill:
        given = {"quantity": fill[reading.kind].value, "place": reading.place}
        if reading.kind == Kind.POSITION:
            given["way"] = reading.part
        return f"{here}?{urlencode(given)}#add"
    if reading.part == "axial" or found.sides is None:
        return f"/joints/{quote(reading.place, safe='')}/record"
    if reading.part.startswith("lateral"):
        what, side = LineQuantity.SIDEWAYS, found.sides.joints[reading.place][int(reading.part[-1])]
    else:
        what = LineQuantity.OPENING
        side = opens_at(found.sides, reading.place, reading.part)
    way = way_of(side)
    given = {"quantity": what.value, "place": reading.place}
    if way is not None:
        given["way"] = way.value
    return f"{here}?{urlencode(given)}#add"
