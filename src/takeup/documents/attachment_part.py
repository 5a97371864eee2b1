"""Rings and cones of a joint in its dossier: the section, places, checks, words and cautions."""

from __future__ import annotations

import msgspec

from takeup.ageing.attachment import Place, spanned
from takeup.ageing.attachment_case import AttachmentReport
from takeup.assess.attached import Attached, State
from takeup.checks import Outcome
from takeup.documents.drawing import PRINT, Palette, attachment_field
from takeup.documents.model import Dossier
from takeup.documents.words import check_row
from takeup.units import System, shown


class AttachmentPart(msgspec.Struct, frozen=True, kw_only=True):
    """What the dossier says of one attachment."""

    title: str
    why_not: str = ""
    """Why nothing is computed; empty when it is"""
    headline: str = ""
    severe: bool = False
    """Whether a check is not met"""
    basis: str = ""
    drawing: str = ""
    """SVG of the section with temperatures and places"""
    places: tuple[tuple[str, ...], ...] = ()
    whys: tuple[str, ...] = ()
    ring: str = ""
    checks: tuple[dict[str, str], ...] = ()
    words: tuple[str, ...] = ()
    remedies: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()


def attachment_parts(
    dossier: Dossier, palette: Palette = PRINT
) -> tuple[AttachmentPart, ...]:  # fmt: skip
    """Gather what is worked out of every attachment kept with the joint, and what is not, why."""
    reports = dict(dossier.attachments)
    return tuple(
        _part(one, reports.get(one.item), dossier.system, palette)
        for one in dossier.case.attachments
    )


def _part(
    one: Attached, report: AttachmentReport | None, system: System, palette: Palette
) -> AttachmentPart:
    title = f"{one.title[:1].upper()}{one.title[1:]} on hot pipe"
    if report is None or one.judged is None:
        return AttachmentPart(title=title, why_not=_why_not(one))
    judged, answer = one.judged, report.answer
    return AttachmentPart(
        title=title,
        headline=one.headline,
        severe=any(check.outcome == Outcome.NOT_MET for check in judged.checks),
        basis=_basis(one, report, system),
        drawing=attachment_field(report, system, palette),
        places=tuple(_place(place, system) for place in judged.places),
        whys=judged.governing.to_crack.why,
        ring="" if answer.ring is None else _ring(report, system),
        checks=tuple(
            check_row(check, system) | {"because": check.because} for check in judged.checks
        ),
        words=judged.words,
        remedies=judged.remedies,
        cautions=(*one.cautions, *judged.cautions),
        sources=tuple(source.cite() for source in answer.sources),
    )


def _why_not(one: Attached) -> str:
    if one.state == State.STALE:
        return (
            "Out of date: what it rests on has changed since it was worked out. It says nothing "
            "until it is worked out again."
        )
    if one.faults:
        return f"Cannot be worked out: {'; '.join(one.faults)}."
    if one.asked:
        return f"Not worked out; asked for: {', '.join(one.asked)}."
    return "Not worked out yet."


def _basis(one: Attached, report: AttachmentReport, system: System) -> str:
    case, starts = report.case, one.starts
    counts = "; ".join(starts.words) or "none on record"
    so_far = "unknown" if starts.so_far is None else f"{starts.so_far:.0f}"
    if starts.so_far is not None and not starts.whole:
        so_far = f"at least {so_far}"
    ahead = "unknown" if starts.to_next is None else f"{starts.to_next:.0f}"
    worked = "" if one.worked is None else f" Worked out {one.worked:%Y-%m-%d %H:%M} UTC."
    return (
        f"{case.pipe_metal}, {shown(case.inside_diameter, 'length', system)} inside, wall "
        f"{shown(case.wall, 'thickness', system)}, medium {shown(case.gas, 'temperature', system)}; "
        f"heat-up in {case.heat_up / 3600:.0f} h, cool-down in {case.cool_down / 3600:.0f} h; welds "
        f"{case.examined.value}. Starts and stops: {so_far} so far, {ahead} to the next outage "
        f"({counts}).{worked}"
    )


def _place(place: Place, system: System) -> tuple[str, ...]:
    cut = place.cut
    weld = ", weld" if cut.weld and "weld" not in cut.name else ""
    return (
        f"{cut.name}{weld}",
        shown(cut.inside_temperature, "temperature", system),
        shown(cut.inside, "stress", system),
        shown(cut.outside, "stress", system),
        shown(cut.range, "stress", system),
        "inside" if place.from_inside else "outside",
        spanned(place.to_crack),
    )


def _ring(report: AttachmentReport, system: System) -> str:
    ring = report.answer.ring
    assert ring is not None
    pipe, bore, mean, rim = (
        shown(value, "temperature", system) for value in (ring.pipe, ring.bore, ring.mean, ring.rim)
    )
    return (
        f"Pipe far from the ring {pipe}; ring at its bore {bore}, area mean {mean}, rim {rim}. "
        f"Thin-shell cross-check of the bending at the toe: "
        f"{shown(ring.closed_toe, 'stress', system)}."
    )
