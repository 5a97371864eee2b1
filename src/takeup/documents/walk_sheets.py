"""Walk sheets: per joint what to look at in walking order, with room to write."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

from takeup.assess.expected import axial
from takeup.assess.model import JointCase, Verdict
from takeup.documents.drawing import joint_section
from takeup.documents.model import WalkBook
from takeup.documents.typst_render import head
from takeup.documents.typst_render import render as set_pdf
from takeup.documents.words import quantity, word
from takeup.evidence.checklist import Area, items
from takeup.evidence.facts import LineState, MarkQuantity, VisitKind
from takeup.units import System

STAY_OUT = (
    "In service: do not touch, probe, uncover or strip insulation; no close look at a pressurised "
    "bellows; keep out of line with crowns, vents and the thrust.",
    "A leak, a moved anchor beside an untied joint, a missing nut: leave, keep others away, tell "
    "operations this shift.",
)


def render(book: WalkBook, out: Path) -> Path:
    """Write the walk sheets as PDF: a cover page, then each joint."""
    verdicts = {verdict.joint: verdict for verdict in book.verdicts}
    kind = VisitKind(book.visit_kind)
    plant = book.cases[0].plant.name if book.cases else ""
    title = f"Walk sheets, {book.visit_kind}"
    files: dict[str, str | bytes] = {}
    joints = []
    for number, case in enumerate(book.cases):
        name = f"s{number}.svg"
        files[name] = joint_section(
            case.joint, case.bellows, case.hardware, case.line, system=book.system,
            thrust=_thrust(verdicts.get(case.joint.tag)),
        )  # fmt: skip
        joints.append(_joint(case, verdicts.get(case.joint.tag), kind, name, book.system))
    walked = ", ".join(dict.fromkeys(case.line.tag for case in book.cases))
    data: dict[str, Any] = head(title, f"{plant} · {title}", book.made) | {
        "subtitle": f"{len(book.cases)} joints in walking order, lines {walked}. Surroundings first: "
        "a bellows is the victim, the cause often stands 5 to 40 m away.",
        "cautions": list(STAY_OUT),
        "joints": joints,
    }
    return set_pdf("walk", data, out, files)


def _thrust(verdict: Verdict | None) -> float | None:
    if verdict is None:
        return None
    return next((force for name, _, force in verdict.thrust.forces if name == "operating"), None)


def _joint(
    case: JointCase, verdict: Verdict | None, kind: VisitKind, file: str, system: System
) -> dict[str, Any]:
    joint = case.joint
    last = _last_seen(case)
    wall = joint.wall.value if joint.wall else None
    areas: dict[Area, list[dict[str, str]]] = {}
    cautions: list[str] = []
    for item in items(kind, joint.type.value, wall):
        areas.setdefault(item.area, []).append(
            {
                "code": item.code,
                "title": item.title,
                "look": item.look,
                "how": item.how,
                "accept": item.accept,
                "last": last.get(item.code, "–"),
            }
        )
        cautions += [caution for caution in item.cautions if caution not in cautions]
    return {
        "tag": joint.tag,
        "name": joint.name or case.line.name,
        "file": file,
        "data": [
            ["type", joint.type.value],
            ["wall", word(joint.wall)],
            ["elevation", quantity(joint.elevation, "distance", system)],
            ["operating", f"{quantity(case.line.operating_pressure, 'pressure', system)}, "
             f"{quantity(case.line.gas_temperature, 'temperature', system)}"],
            ["media", word(case.line.media)],
            ["supports near", _near(case)],
        ],
        "verdict": f"{verdict.level.value}. {verdict.headline}" if verdict else "not assessed yet",
        "cautions": cautions[:3],
        "areas": [{"name": area.value.capitalize(), "items": rows} for area, rows in areas.items()],
        "marks": _marks(case, system),
    }  # fmt: skip


def _near(case: JointCase) -> str:
    place = case.joint.position
    placed = [s for s in case.supports if s.position is not None]
    if place is not None:
        placed.sort(key=lambda s: abs((s.position or 0.0) - place))
    return ", ".join(f"{s.tag} {s.kind.value}" for s in placed[:4]) or "unknown"


def _last_seen(case: JointCase) -> dict[str, str]:
    """The last grade or answer of each item, with its year."""
    dated = {visit.id.casefold(): visit.date for visit in case.visits}
    found: dict[str, tuple[dt.date, str]] = {}
    for seen in case.observations:
        when = dated.get(seen.visit.casefold())
        if when is None:
            continue
        said = f"{seen.grade}" if seen.grade is not None else (
            seen.answer.value if seen.answer else "read")  # fmt: skip
        key = seen.item.upper()
        if key not in found or when >= found[key][0]:
            found[key] = (when, f"{said} ({when.year})")
    return {code: words for code, (_, words) in found.items()}


def _marks(case: JointCase, system: System) -> list[list[str]]:
    """Last cold and hot length by clock, and where theory says the mark should be hot."""
    dated = {visit.id.casefold(): visit.date for visit in case.visits}
    last: dict[tuple[int, LineState], tuple[dt.date, float]] = {}
    for mark in case.marks:
        when = dated.get(mark.visit.casefold())
        if when is None or mark.length is None or mark.quantity != MarkQuantity.FACE:
            continue
        key = (mark.clock, mark.state)
        if key not in last or when >= last[key][0]:
            last[key] = (when, mark.length)
    expected = axial(case)
    rows = []
    for clock in sorted({clock for clock, _ in last}) or [12, 3, 6, 9]:
        cold = last.get((clock, LineState.COLD))
        hot = last.get((clock, LineState.HOT))
        theory = cold[1] + expected if cold is not None and expected is not None else None
        rows.append(
            [
                str(clock),
                quantity(cold[1] if cold else None, "movement", system),
                quantity(hot[1] if hot else None, "movement", system),
                quantity(theory, "movement", system),
            ]
        )
    return rows
