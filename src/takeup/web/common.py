"""What handlers share: pages, the site's units in templates, forms with their faults."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from fastapi import Request
from fastapi.responses import HTMLResponse, RedirectResponse
from fastapi.templating import Jinja2Templates
from markupsafe import Markup
from starlette.datastructures import FormData, UploadFile

from takeup.assess.model import SEVERITY, Level
from takeup.documents.drawing import WEB, level_mark, ratio_bar
from takeup.errors import TakeupError
from takeup.units import System, parse, shown, symbol

if TYPE_CHECKING:
    from takeup.ageing.attachment import Cycles
    from takeup.ageing.joined import Joined
    from takeup.checks import Check
    from takeup.desk.jobs import Jobs
    from takeup.desk.site import Site

T = TypeVar("T")
HERE = Path(__file__).parent
AUTHOR = "takeup_author"
templates = Jinja2Templates(directory=HERE / "templates")


def site_of(request: Request) -> Site:
    """The open site."""
    found: Site = request.app.state.site
    return found


def jobs_of(request: Request) -> Jobs:
    """The server's jobs."""
    found: Jobs = request.app.state.jobs
    return found


def author_of(request: Request) -> str:
    """Who works at this browser, as said last."""
    return request.cookies.get(AUTHOR, "")


def page(request: Request, template: str, *, status: int = 200, **context: Any) -> HTMLResponse:
    """Show a page."""
    context |= {"author": author_of(request), "path": request.url.path, **_head(request)}
    return templates.TemplateResponse(request, template, context, status_code=status)


def _head(request: Request) -> dict[str, Any]:
    """The running head: site, unit, days to the outage."""
    from takeup.register.entities import ProcessUnit

    site = site_of(request)
    try:
        register, today = site.register(), site.today()
        units = register.all(ProcessUnit)
        unit = units[0] if units else None
        ahead = register.next_outage(unit.tag, today) if unit else None
        return {
            "plant": register.plant,
            "head_unit": unit,
            "system": register.system,
            "days_left": (ahead.start - today).days if ahead else None,
            "head_outage": ahead,
        }
    except TakeupError:
        return {"plant": None, "head_unit": None, "system": System.METRIC, "days_left": None}


def back(path: str, author: str = "") -> RedirectResponse:
    """Send the browser on after a change, remembering who made it."""
    answer = RedirectResponse(path, status_code=303)
    if author:
        answer.set_cookie(AUTHOR, author, max_age=180 * 86400, samesite="strict", httponly=True)
    return answer


def text(form: Mapping[str, Any], name: str) -> str:
    """A text field of a form."""
    value = form.get(name, "")
    return value.strip() if isinstance(value, str) else ""


class Form:
    """Reads a form field by field and collects what is wrong, each fault at its field."""

    def __init__(self, data: Mapping[str, Any], system: System) -> None:
        self.data, self.system = data, system
        self.faults: dict[str, str] = {}

    def text(self, name: str, *, needed: str = "") -> str:
        """Text; ``needed`` says why it may not be empty."""
        value = text(self.data, name)
        if needed and not value:
            self.faults[name] = needed
        return value

    def number(self, name: str, kind: str, *, needed: str = "") -> float | None:
        """A quantity in the site's unit, or with its own unit, as SI."""
        raw = self.text(name, needed=needed)
        if not raw:
            return None
        try:
            return parse(raw, kind, symbol(kind, self.system))
        except TakeupError as fault:
            self.faults[name] = str(fault)
            return None

    def whole(self, name: str, *, needed: str = "") -> int | None:
        """A whole number."""
        raw = self.text(name, needed=needed)
        if not raw:
            return None
        try:
            return int(raw)
        except ValueError:
            self.faults[name] = f"{raw!r} is not a whole number"
            return None

    def date(self, name: str, *, needed: str = "") -> dt.date | None:
        """A date as the browser's date field sends it."""
        raw = self.text(name, needed=needed)
        if not raw:
            return None
        try:
            return dt.date.fromisoformat(raw)
        except ValueError:
            self.faults[name] = f"{raw!r} is not a date such as 2026-11-25"
            return None

    def choice(self, name: str, kind: Callable[[str], T], *, needed: str = "") -> T | None:
        """One of an enumeration."""
        raw = self.text(name, needed=needed)
        if not raw:
            return None
        try:
            return kind(raw)
        except ValueError:
            self.faults[name] = f"{raw!r} is not one of the choices"
            return None


def _quantity(value: float | None, kind: str, system: System) -> str:
    return shown(value, kind, system)


def _bare(value: float | None, kind: str, system: System) -> str:
    return shown(value, kind, system, unit=False)


def _mark(level: Level | None, size: float = 18) -> Markup:
    return Markup(level_mark(level, size=size, palette=WEB))


def _bar(check: Check) -> Markup:
    return Markup(ratio_bar(check, palette=WEB))


def _thousands(value: float | None) -> str:
    return "–" if value is None else f"{value / 1e3:,.0f}".replace(",", "\u202f")


def _named(check: Check) -> str:
    from takeup.documents.words import named

    return named(check)


def _chance(value: float | None) -> str:
    from takeup.documents.words import chance

    return chance(value)


def _together(found: Joined | None, system: System) -> str:
    from takeup.documents.words import together

    return together(found, system)


def _span(value: Cycles) -> str:
    from takeup.ageing.attachment import spanned

    return spanned(value)


templates.env.filters |= {
    "q": _quantity,
    "bare": _bare,
    "mark": _mark,
    "bar": _bar,
    "k": _thousands,
    "chance": _chance,
    "span": _span,
    "together": _together,
    "named": _named,
    "svg": Markup,
}
templates.env.globals |= {"severity": SEVERITY, "Level": Level, "unit_symbol": symbol}


async def text_given(
    request: Request, system: System, *, empty: str, most: int = 1024 * 1024
) -> tuple[Form, str]:
    """A model as text from a form or a file of it, at ``most`` so many bytes; faults in the form.

    ``empty`` says what is lacking where neither says anything.
    """
    async with request.form(max_files=1, max_part_size=most) as data:
        filename, content = await uploaded(data)
        form = Form(data, system)
    text = str(form.data.get("text", "")).replace("\r\n", "\n")
    if filename:
        try:
            text = content.decode("utf-8-sig").replace("\r\n", "\n")
        except UnicodeDecodeError as fault:
            form.faults["file"] = f"{filename} is not UTF-8 text: {fault}"
    elif not text.strip():
        form.faults["text"] = empty
    return form, text


async def uploaded(data: FormData) -> tuple[str, bytes]:
    """Name and content of the file of a form; both empty where none was chosen."""
    upload = data.get("file")
    if not isinstance(upload, UploadFile) or not upload.filename:
        return "", b""
    return str(upload.filename), await upload.read()
