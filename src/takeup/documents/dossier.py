"""The dossier of a joint: data, drawing, thrust, verdict, checks, evidence, options, decision."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import msgspec

from takeup.assess.model import SEVERITY, JointCase, Level, Verdict
from takeup.documents import pictures
from takeup.documents.attachment_part import attachment_parts
from takeup.documents.drawing import level_mark
from takeup.documents.line_part import line_part
from takeup.documents.mechanics import TWO_LIVES, BellowsPart, mechanics
from takeup.documents.model import Dossier
from takeup.documents.typst_render import head
from takeup.documents.typst_render import render as set_pdf
from takeup.documents.wall_part import wall_part
from takeup.documents.words import (
    chance,
    check_row,
    date,
    money,
    quantity,
    thousands,
    together,
    word,
)
from takeup.errors import UnknownName
from takeup.evidence.checklist import item
from takeup.options.model import Option, Standing
from takeup.units import System, shown

EMPTY = '<svg xmlns="http://www.w3.org/2000/svg" width="1" height="1"/>'


def render(dossier: Dossier, out: Path) -> Path:
    """Write the dossier as PDF."""
    case, verdict, system = dossier.case, dossier.verdict, dossier.system
    figures = pictures.evidence(dossier)
    files: dict[str, str | bytes] = {
        "section.svg": pictures.section(dossier),
        "level.svg": level_mark(verdict.level if verdict else None, size=40),
        **{picture.name: picture.svg for picture in figures},
    }
    worked = mechanics(dossier)
    files["diagram.svg"] = worked.diagram
    for number, one in enumerate(worked.bellows):
        files[f"bellows-{number}.svg"] = one.drawing or EMPTY
    for number, held in enumerate(worked.hardware):
        files[f"path-{number}.svg"] = held.drawing or EMPTY
    line = line_part(dossier)
    files["line.svg"] = line.drawing or EMPTY
    files["line-marks.svg"] = line.marks or EMPTY
    hot = attachment_parts(dossier)
    for number, ring in enumerate(hot):
        files[f"attachment-{number}.svg"] = ring.drawing or EMPTY
    wall = wall_part(dossier)
    files["wall.svg"] = wall.drawing or EMPTY
    photos = []
    for photo in dossier.photos:
        path = Path(dossier.photo_folder) / photo.file
        if path.exists():
            files[photo.file] = path.read_bytes()
            photos.append({"file": photo.file, "caption": photo.caption or photo.item or "photo"})
    level = verdict.level if verdict else None
    title = f"Dossier {case.joint.tag}"
    data: dict[str, Any] = head(title, f"{case.plant.name} · {title}", dossier.made) | {
        "tag": case.joint.tag,
        "name": case.joint.name,
        "subtitle": f"{case.joint.type.value}, {word(case.joint.wall)}, line {case.line.tag} "
        f"{case.line.name}",
        "level": level.value if level else "not assessed",
        "severe": level in {Level.ACT_NOW, Level.IN_DOUBT},
        "confidence": verdict.confidence.value if verdict else "",
        "headline": verdict.headline if verdict else "Run the assessment first.",
        "thrust": _thrust(verdict, system),
        "data": joint_data(case, system),
        "bellows_heads": ["", *(f"bellows {one.letter}" for one in case.bellows)],
        "bellows": bellows_rows(case, system),
        "not_covered": worked.not_covered,
        "parts": [_part(one, f"bellows-{n}.svg") for n, one in enumerate(worked.bellows)],
        "two_lives": TWO_LIVES,
        "hardware": [
            {
                "item": held.item,
                "lines": list(held.lines),
                "asked": list(held.asked),
                "left_out": list(held.left_out),
                "fault": held.fault,
                "file": f"path-{n}.svg" if held.drawing else "",
            }
            for n, held in enumerate(worked.hardware)
        ],
        "line": msgspec.to_builtins(line)
        | {"drawing": "line.svg" if line.drawing else "", "marks": bool(line.marks)},
        "attachments": [
            msgspec.to_builtins(ring) | {"drawing": f"attachment-{n}.svg" if ring.drawing else ""}
            for n, ring in enumerate(hot)
        ],
        "wall": msgspec.to_builtins(wall) | {"drawing": "wall.svg" if wall.drawing else ""},
        "grounds": [
            {
                "claim": ground.claim,
                "strength": ground.strength.value,
                "rule": ground.rule,
                "source": f"{ground.source.cite()}; {ground.limit_kind.value}",
            }
            for ground in (verdict.grounds if verdict else ())
        ],
        "mechanisms": [
            [r.mechanism.value, r.level.value if r.applies else "does not apply", r.summary]
            for r in sorted(
                verdict.mechanisms if verdict else (),
                key=lambda r: (not r.applies, -SEVERITY[r.level]),
            )
        ],
        "together": together(verdict.remaining, system) if verdict else "",
        "missing": list(verdict.missing) if verdict else [],
        "questions": list(dossier.questions),
        "change": list(verdict.would_change) if verdict else [],
        "cautions": list(verdict.cautions) if verdict else [],
        "checks": [check_row(check, system) for check in (verdict.checks if verdict else ())],
        "observations": observations(case),
        "figures": [
            {"file": p.name, "width": p.width, "alt": p.caption, "caption": p.caption}
            for p in figures
        ],
        "interply": [
            {
                "title": f"Bellows {r.bellows}, {r.date}",
                "verdict": r.verdict.value,
                "why": "; ".join(r.why),
            }
            for r in (verdict.evaluation.plies if verdict else ())
        ],
        "photos": photos,
        "options": [_option(option, case.plant.currency) for option in dossier.options],
        "decision": _decision(dossier),
        "history": [
            [
                f"{change.time:%Y-%m-%d %H:%M}",
                change.author,
                change.reason,
                f"{change.kind} {change.key} r{change.revision}"
                + "".join(f"; {t}: {o or 'new'} → {n}" for t, o, n in change.fields[:3]),
            ]
            for change in dossier.history[:25]
        ],
        "inputs_hash": verdict.inputs_hash if verdict else "–",
        "version": verdict.version if verdict else "–",
    }
    return set_pdf("dossier", data, out, files)


def _part(one: BellowsPart, file: str) -> dict[str, Any]:
    basis = f"{one.basis}, {one.edition}" if one.edition else one.basis
    return {
        "title": one.title,
        "shape": one.shape,
        "basis": basis + (" (taken, not on record)" if one.assumed else ""),
        "valid_for": one.valid_for,
        "nearest": one.nearest or "no check could be evaluated",
        "provisional": f"{one.provisional} of {one.decided} checks are provisional (*)",
        "cycles": [[c.movement, c.range, c.done, c.counted, c.allowed, c.mean] for c in one.cycles],
        "usage": one.usage,
        "usage_so_far": one.usage_so_far,
        "bases": ["check", *one.bases],
        "differences": [[row.check, *row.outcomes] for row in one.differences],
        "reasons": list(one.reasons),
        "notes": list(one.notes),
        "file": file if one.drawing else "",
        "fault": one.fault,
    }


def _thrust(verdict: Verdict | None, system: System) -> dict[str, Any]:
    if verdict is None:
        return {"rows": [], "area": "unknown", "holder": "not assessed", "why": "run the "
                "assessment", "missing": [], "cautions": []}  # fmt: skip
    stated = verdict.thrust
    return {
        "rows": [
            [
                name,
                shown(pressure, "pressure", system),
                shown(force, "force", system),
                shown(force, "weight_force", system),
            ]
            for name, pressure, force in stated.forces
        ]
        or [["–", "unknown", "unknown", "unknown"]],
        "area": quantity(stated.area, "area", system),
        "holder": stated.holder.value,
        "why": stated.why,
        "missing": list(stated.missing),
        "cautions": list(stated.cautions),
    }


def joint_data(case: JointCase, system: System) -> list[list[str]]:
    """Data of joint and line as pairs."""
    joint, line = case.joint, case.line
    return [
        ["drawing", word(joint.drawing)],
        ["line", f"{line.tag}: {word(line.media)}, {word(line.phase)}"],
        ["serial", word(joint.serial)],
        ["flammable, toxic", f"{word(line.flammable)}, {word(line.toxic)}"],
        ["installed", date(joint.installed)],
        ["operating pressure", quantity(line.operating_pressure, "pressure", system)],
        ["position on the line", quantity(joint.position, "distance", system)],
        ["design pressure", quantity(line.design_pressure, "pressure", system)],
        ["cover", word(joint.cover)],
        ["gas temperature", quantity(line.gas_temperature, "temperature", system)],
        ["insulation over bellows", word(joint.insulation)],
        ["pipe metal temperature", quantity(line.shell_temperature, "temperature", system)],
        ["mass", quantity(joint.mass, "mass", system)],
        ["hardware", ", ".join(f"{h.item} {h.kind.value}" for h in case.hardware) or "unknown"],
        ["next outage", date(case.next_outage.start if case.next_outage else None)],
        ["second outage", date(case.second_outage.start if case.second_outage else None)],
    ]


_SPECIAL = frozenset({
    "thinnest_ply", "mean_diameter", "torus_radius", "ring_area", "ring_material",
})  # fmt: skip
"""Rows that stand only where something is on record: they belong to few bellows."""


def bellows_rows(case: JointCase, system: System) -> list[list[str]]:
    """Geometry of each bellows, a row a quantity."""
    rows = (
        ("Db, inside diameter", "inside_diameter", "length"),
        ("shape", "convolution", ""),
        ("rule set of the design", "basis", ""),
        ("w, convolution height", "height", "length"),
        ("q, pitch", "pitch", "length"),
        ("N, convolutions", "convolutions", "count"),
        ("n, plies", "plies", "count"),
        ("t, one ply", "ply_thickness", "thickness"),
        ("least ply measured", "thinnest_ply", "thickness"),
        ("Dm, torus centre line", "mean_diameter", "length"),
        ("r, torus radius", "torus_radius", "length"),
        ("Ar, one ring", "ring_area", "metal_area"),
        ("ring metal", "ring_material", ""),
        ("Lt, end tangent", "tangent_length", "length"),
        ("material", "material", ""),
        ("heat treatment", "heat_treatment", ""),
        ("interply test port", "test_port", ""),
        ("metal temperature, operating", "metal_temperature", "temperature"),
    )
    return [
        [
            title,
            *(
                quantity(getattr(one, name), kind, system) if kind else word(getattr(one, name))
                for one in case.bellows
            ),
        ]
        for title, name, kind in rows
        if name not in _SPECIAL or any(getattr(one, name) for one in case.bellows)
    ]


def observations(case: JointCase) -> list[list[str]]:
    """Observations of grade 1 or worse, and answers, newest first."""
    dated = {visit.id.casefold(): visit.date for visit in case.visits}
    rows = []
    for seen in case.observations:
        if not seen.grade and seen.answer is None and seen.value is None:
            continue
        try:
            title = item(seen.item).title
        except UnknownName:
            title = seen.item
        when = dated.get(seen.visit.casefold())
        grade = "–" if seen.grade is None else str(seen.grade)
        said = "; ".join(x for x in (seen.answer.value if seen.answer else "", seen.text) if x)
        rows.append([date(when), seen.item, title, grade, said or "–"])
    return sorted(rows, key=lambda row: row[0], reverse=True)


def _option(option: Option, currency: str) -> dict[str, Any]:
    lead = "; ".join(
        f"{lead.item}: {lead.lead / 604800:.0f} weeks after order" for lead in option.long_lead
    )
    order = f", start preparing by {option.order_by}" if option.order_by else ""
    return {
        "name": option.name.value,
        "standing": option.standing.value,
        "blocked": option.standing == Standing.BLOCKED,
        "why": option.why,
        "cause": option.cause_note,
        "cost": money(option.cost, currency),
        "conditions": [
            {"truth": c.truth.value, "text": c.text, "because": c.because}
            for c in option.conditions
        ],
        "life": f"Lasts to the next outage {chance(option.lasts_to_next)}, then to the second "
        f"{chance(option.lasts_to_second)}: {option.life_words}.",
        "chain": f"{option.chain_hours:.0f} h",
        "lead": (lead or "nothing to order") + order,
        "cautions": list(option.cautions),
    }


def _decision(dossier: Dossier) -> str:
    if dossier.decision is not None:
        made = dossier.decision
        return f"{made.option.value}, decided by {made.by} for {made.outage}: {made.reason}"
    if dossier.choice is not None:
        choice = dossier.choice
        return (
            f"None yet. The plan proposes {choice.option.value} "
            f"({thousands(choice.cost)} k {dossier.case.plant.currency}): {choice.why}."
        )
    return "None yet."
