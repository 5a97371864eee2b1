"""Evidence entry: observation, interply test, marks, photo, temperature history, event."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile

from takeup.desk import record
from takeup.errors import TakeupError
from takeup.evidence import facts as f
from takeup.evidence.checklist import AnswerType, item, items
from takeup.register.entities import EventKind, Joint, LifeEvent
from takeup.web.common import Form, back, page, site_of
from takeup.web.overview import link

router = APIRouter()
MINUTES = (0, 5, 10, 15, 30)
CLOCKS = (12, 3, 6, 9)


@router.get("/joints/{tag}/record")
def show(request: Request, tag: str) -> HTMLResponse:
    """The entry page of one joint."""
    return _show(request, tag)


def _show(
    request: Request, tag: str, *, form: Form | None = None, which: str = "", fault: str = ""
) -> HTMLResponse:
    site = site_of(request)
    register = site.register()
    joint = register.get(Joint, tag)
    wall = joint.wall.value if joint.wall else None
    return page(
        request,
        "record.html",
        status=422 if form else 200,
        title=f"Record evidence, {joint.tag}",
        joint=joint,
        bellows=register.bellows(joint.tag),
        visits=sorted(register.all(f.Visit), key=lambda v: v.date, reverse=True),
        items=items(None, joint.type.value, wall),
        graded=AnswerType.GRADE,
        events=[kind.value for kind in EventKind],
        bubbles=[kind.value for kind in f.Bubbles],
        minutes=MINUTES,
        clocks=CLOCKS,
        today=site.today(),
        form=form,
        which=which,
        fault=fault,
        faults=form.faults if form else {},
        kept={k: v for k, v in form.data.items() if isinstance(v, str)} if form else {},
    )


@router.post("/joints/{tag}/record/{which}")
async def post(request: Request, tag: str, which: str) -> Response:
    """Take one entry; faults stand at their fields and nothing typed is lost."""
    async with request.form(max_files=4) as data:
        return await _take(request, tag, which, data)


async def _take(request: Request, tag: str, which: str, data: FormData) -> Response:
    site = site_of(request)
    form = Form(data, site.system)
    author = form.text("author", needed="say who you are")
    joint = site.register().get(Joint, tag)
    reader = READERS.get(which)
    try:
        if which in FILES:
            await _file(site, joint, which, form, data, author)
        elif reader is None:
            raise TakeupError(f"there is no entry form called {which!r}")
        else:
            new = reader(form, joint)
            if not form.faults:
                await run_in_threadpool(
                    record.facts, site, new, author, f"{which} of {joint.tag} entered"
                )
    except TakeupError as fault:
        return await run_in_threadpool(
            _show, request, tag, form=form, which=which, fault=str(fault)
        )
    if form.faults:
        return await run_in_threadpool(_show, request, tag, form=form, which=which)
    return back(link(joint.tag) + "#evidence", author)


def _visit(form: Form) -> str:
    return form.text("visit", needed="choose the visit")


def _observation(form: Form, joint: Joint) -> list[Any]:
    code = form.text("item", needed="choose the check item")
    grade = form.whole("grade")
    answer = form.choice("answer", f.Answer)
    value = None
    if code and form.text("value"):
        kind = item(code).kind
        if kind:
            value = form.number("value", kind)
        else:
            form.faults["value"] = f"{item(code).code} takes no reading; write it in words"
    if grade is None and answer is None and value is None and not form.text("text"):
        form.faults["grade"] = "give a grade, an answer, a reading or words"
    if grade is not None and not 0 <= grade <= 4:
        form.faults["grade"] = "a grade is 0 to 4"
    visit = _visit(form)
    if form.faults:
        return []
    return [
        f.Observation(
            visit=visit,
            joint=joint.tag,
            item=item(code).code,
            place=form.text("place") or "-",
            grade=grade,
            answer=answer,
            value=value,
            text=form.text("text"),
        )
    ]


def _interply(form: Form, joint: Joint) -> list[Any]:
    bellows = form.text("bellows", needed="choose the bellows")
    date = form.date("date", needed="give the date")
    readings = []
    for minute in MINUTES:
        pressure = form.number(f"p{minute}", "pressure_small")
        temperature = form.number(f"t{minute}", "temperature")
        if pressure is not None:
            readings.append((minute, pressure, temperature))
    if len(readings) < 2 and "p0" not in form.faults:
        form.faults["p0"] = "enter the readings, at least the first and the last"
    fields: dict[str, Any] = {
        "line_pressure": form.number("line_pressure", "pressure"),
        "atmospheric": form.number("atmospheric", "pressure_small"),
        "gauge_resolution": form.number("gauge_resolution", "pressure_small"),
        "space_volume": form.number("space_volume", "volume"),
        "first_reading": form.number("first_reading", "pressure_small"),
        "fills": form.whole("fills"),
        "port_to_port": form.choice("port_to_port", f.Answer),
        "bubbles": form.choice("bubbles", f.Bubbles) or f.Bubbles.NOT_LOOKED,
    }
    if form.faults or date is None:
        return []
    head = f.InterplyTest(
        joint=joint.tag,
        bellows=bellows,
        date=date,
        gas=form.text("gas"),
        found=form.text("found"),
        by=form.text("author"),
        **fields,
    )
    return [
        head,
        *(
            f.InterplyReading(
                joint=joint.tag,
                bellows=bellows,
                date=date,
                minute=minute * 60.0,
                pressure=pressure,
                temperature=temperature,
            )
            for minute, pressure, temperature in readings
        ),
    ]


def _marks(form: Form, joint: Joint) -> list[Any]:
    visit = _visit(form)
    state = form.choice("state", f.LineState, needed="hot or cold")
    metal = form.number("pipe_temperature", "temperature")
    blur = form.number("uncertainty", "movement")
    seen = form.choice("seen", f.ClockSeen)
    read = {clock: form.number(f"clock{clock}", "movement") for clock in CLOCKS}
    if not any(v is not None for v in read.values()) and not form.faults:
        form.faults["clock12"] = "enter at least one clock"
    if form.faults or state is None:
        return []
    return [
        f.MarkReading(
            visit=visit,
            joint=joint.tag,
            bellows=form.text("bellows") or "-",
            quantity=f.MarkQuantity.FACE,
            clock=clock,
            state=state,
            length=length,
            uncertainty=blur,
            instrument=form.text("instrument"),
            pipe_temperature=metal,
            seen=seen,
        )
        for clock, length in read.items()
        if length is not None
    ]


def _event(form: Form, joint: Joint) -> list[Any]:
    date = form.date("date", needed="give the date")
    kind = form.choice("kind", EventKind, needed="choose what happened")
    if form.faults or date is None or kind is None:
        return []
    return [
        LifeEvent(
            joint=joint.tag,
            date=date,
            kind=kind,
            mechanism=form.text("mechanism"),
            note=form.text("note"),
        )
    ]


def _visit_new(form: Form, joint: Joint) -> list[Any]:
    date = form.date("date", needed="give the date")
    kind = form.choice("kind", f.VisitKind, needed="choose the kind of visit")
    name = form.text("id", needed="give the visit a short name")
    ambient = form.number("ambient", "temperature")
    if form.faults or date is None or kind is None:
        return []
    return [
        f.Visit(
            id=name,
            unit=form.text("unit"),
            kind=kind,
            date=date,
            inspector=form.text("author"),
            ambient=ambient,
        )
    ]


async def _file(
    site: Any, joint: Joint, which: str, form: Form, data: FormData, author: str
) -> None:
    upload = data.get("file")
    if not isinstance(upload, UploadFile) or not upload.filename:
        form.faults["file"] = "choose a file"
        return
    if form.faults:
        return
    content = await upload.read()
    name = Path(upload.filename).name
    if which == "photo":
        await run_in_threadpool(
            record.photo, site, joint.tag, content, caption=form.text("caption"), author=author,
            visit=form.text("visit"), item=form.text("item"), name=name,
        )  # fmt: skip
        return
    tag = form.text("tag", needed="give the instrument tag")
    unit = form.text("unit", needed="choose the unit")
    if form.faults:
        return
    with tempfile.TemporaryDirectory() as scratch:
        path = Path(scratch) / (name or "history.csv")
        path.write_bytes(content)
        await run_in_threadpool(
            record.temperature_file, site, path, tag=tag, joint=joint.tag,
            bellows=form.text("bellows") or "A", unit=unit, time_zone=form.text("time_zone"),
            author=author,
        )  # fmt: skip


READERS: dict[str, Any] = {
    "observation": _observation,
    "interply": _interply,
    "marks": _marks,
    "event": _event,
    "visit": _visit_new,
}
FILES = frozenset({"photo", "temperature"})
