"""What if something changes on a line: the question as a form, the answer before and after."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from takeup.desk import what_if as asking
from takeup.documents.drawing.isometric_parts import kind_of_support
from takeup.errors import TakeupError
from takeup.line import what_if as engine
from takeup.line.model import Joint, Line, VariableSpring
from takeup.register.entities import Joint as OfRegister
from takeup.register.entities import Line as RegisterLine
from takeup.units import shown
from takeup.web.common import Form, page, site_of
from takeup.web.line_isometric import Drawn, drawn
from takeup.web.lines import SHOWN, address

if TYPE_CHECKING:
    from takeup.desk.site import Site

router = APIRouter()
DOES = {
    "lock": "boxed in",
    "take-out": "pipe in its place",
    "rate": "bellows of another rate",
    "sized": "bellows of a search",
    "lose": "gone",
    "seize": "seized",
    "free": "set free",
    "bottom": "on its lower stop",
    "reset": "set otherwise",
}
"""What may be done, in the words of the form."""
ANSWERED = "asked"


@router.get("/lines/{tag}/what-if")
def what_if(request: Request, tag: str) -> Response:
    """The form, and the answer where something was asked; the address can be kept."""
    site = site_of(request)
    line = site.register().get(RegisterLine, tag)
    given = {name: value.strip() for name, value in request.query_params.items()}
    said = {name: value for name, value in given.items() if value}
    if len(said) < len(given):
        return RedirectResponse(f"{address(line.tag, 'what-if')}?{urlencode(said)}", 303)
    model = asking.model_of(site, line.tag)
    form = Form(said, site.system)
    offers = asking.offers(site)
    changes = _changes(form, model, offers) if said else []
    if said and not changes and not form.faults:
        form.faults[""] = "say what changes: a joint, a support or the temperature of a state"
    answer, fault = None, form.faults.get("", "")
    if changes and not form.faults:
        try:
            answer = asking.ask(
                site, line.tag, changes, next_cycle=form.text("next_cycle") == "yes",
                tell=lambda value, kind: shown(value, kind, site.system),
            )  # fmt: skip
        except TakeupError as wrong:
            fault = str(wrong)
    return _page(request, line, model, form, answer, fault, fresh=not said, offers=offers)


def _changes(
    form: Form, line: Line, offers: Sequence[asking.Offer]
) -> list[engine.Change]:  # fmt: skip
    """The changes that a form asks for; faults stand at their fields."""
    states = [state.name for state in line.states]
    hot = next((s.name for s in reversed(line.states) if s.role == "hot"), states[-1])
    found: list[engine.Change] = []
    known = {"next_cycle", ANSWERED}

    def field(name: str) -> str:
        known.add(name)
        return form.text(name)

    def state_of(name: str) -> str:
        state = field(name)
        if state and state not in states:
            form.faults[name] = f"there is no state {state!r}; states: {', '.join(states)}"
        return state or hot

    for joint in (piece for piece in line.pieces if isinstance(piece, Joint)):
        base = f"joint:{joint.tag}:"
        do, at = field(base + "do"), state_of(base + "at")
        rate = _positive(form, base + "rate", "axial_rate", known)
        sized = field(base + "sized")
        if do == "lock":
            found.append(engine.Lock(joint=joint.tag, state=at))
        elif do == "take-out":
            found.append(engine.TakeOut(joint=joint.tag))
        elif do == "rate" and rate is not None:
            found.append(asking.other_rate(line, joint.tag, rate))
        elif do == "rate":
            form.faults.setdefault(base + "rate", "give the axial rate of each bellows")
        elif do == "sized":
            found += _of_search(form, line, joint.tag, sized, offers)
        elif do:
            form.faults[base + "do"] = f"{do!r} is not one of the choices"
        elif sized:
            form.faults[base + "do"] = "a search is named: choose its bellows, or leave it blank"
        elif rate is not None:
            form.faults[base + "do"] = (
                "a rate is given: choose bellows of another rate, or leave it blank"
            )
    for support in line.supports:
        base = f"support:{support.name}:"
        do, at = field(base + "do"), state_of(base + "at")
        load = _positive(form, base + "load", "force", known, zero=True)
        rate = _positive(form, base + "rate", "axial_rate", known)
        change = _of_support(support.name, do, at, load, rate)
        if do and do not in asking.may(support):
            form.faults[base + "do"] = (
                f"{do!r} cannot happen to this {kind_of_support(support)}: "
                f"{', '.join(asking.may(support)) or 'rigid as modelled, it gives in nothing'}"
            )
        elif do == "reset" and load is None and rate is None:
            form.faults.setdefault(base + "load", "give another load, another rate or both")
        elif change is not None:
            found.append(change)
        elif load is not None or rate is not None:
            form.faults[base + "do"] = "a number is given: choose set otherwise, or leave it blank"
    for state in line.states:
        name = f"state:{state.name}:temperature"
        temperature = _positive(form, name, "temperature", known)
        if temperature is not None:
            found.append(engine.Reheat(state=state.name, temperature=temperature))
    for name in form.data:
        if name not in known:
            kind, _, rest = name.partition(":")
            named = rest.rpartition(":")[0]
            form.faults[""] = (
                f"line {line.tag} has no {kind} {named!r}"
                if kind in {"joint", "support", "state"} and named
                else f"{name!r} is not known here"
            )
    return found


def _of_search(
    form: Form, line: Line, tag: str, id: str, offers: Sequence[asking.Offer]
) -> list[engine.Change]:
    name = f"joint:{tag}:sized"
    offer = next((one for one in offers if one.id == id), None)
    if offer is None:
        form.faults[name] = (
            f"there is no bellows {id!r} of a search" if id else "choose bellows of a search"
        )
        return []
    try:
        return [asking.sized(line, tag, offer)]
    except TakeupError as fault:
        form.faults[name] = str(fault)
        return []


def _of_support(
    name: str, do: str, at: str, load: float | None, rate: float | None
) -> engine.Change | None:
    match do:
        case "lose":
            return engine.Lose(support=name)
        case "seize":
            return engine.Seize(support=name, state=at)
        case "free":
            return engine.Free(support=name)
        case "bottom":
            return engine.Bottom(support=name, state=at)
        case "reset":
            return engine.Reset(support=name, load=load, rate=rate)
    return None


def _positive(
    form: Form, name: str, kind: str, known: set[str], *, zero: bool = False
) -> float | None:
    """A quantity above zero, or a fault at its field."""
    known.add(name)
    value = form.number(name, kind)
    if value is not None and not (value > 0.0 or (zero and value == 0.0)):
        right = "not be below zero" if zero else "be more than zero"
        more = " kelvin" if kind == "temperature" else ""
        form.faults[name] = f"is {shown(value, kind, form.system)}; it must {right}{more}"
        return None
    return value


def _page(
    request: Request,
    line: RegisterLine,
    model: Line,
    form: Form,
    answer: asking.Asked | None,
    fault: str,
    *,
    fresh: bool,
    offers: Sequence[asking.Offer],
) -> HTMLResponse:
    site = site_of(request)
    picture = _picture(site, answer) if answer else None
    joints = [piece for piece in model.pieces if isinstance(piece, Joint)]
    return page(
        request,
        "line_what_if.html",
        status=422 if fault or form.faults else 200,
        title=f"What if, line {line.tag}",
        line=line,
        model=model,
        joints=joints,
        supports=[
            (one, kind_of_support(one), asking.may(one), isinstance(one, VariableSpring))
            for one in model.supports
        ],
        does=DOES,
        kept=form.data,
        faults=form.faults,
        fault=fault,
        fresh=fresh,
        offers=offers,
        answer=answer,
        drawing=picture,
        action=address(line.tag, "what-if"),
        mechanics=address(line.tag),
        checks=answer.checks[: max(SHOWN, sum(p.worse for p in answer.checks))] if answer else (),
        known=[one.tag for one in site.register().of_line(OfRegister, line.tag)],
    )


def _picture(site: Site, answer: asking.Asked) -> Drawn:
    forces = [row for row in answer.found.rows if row.kind == "force"]
    most = max(forces, key=lambda row: abs(row.change), default=None)
    last = most.state if most is not None else answer.found.after[-1].state
    return drawn(
        answer.after,
        answer.found.after,
        state=last,
        checks=[pair.after for pair in answer.checks if pair.after is not None],
        before=(answer.before, answer.found.before),
        gone=answer.gone,
        system=site.system,
    )
