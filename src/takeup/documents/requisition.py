"""Requisition data sheet of a replacement bellows: duty, bellows, checks, tests, blanks to fill."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import msgspec

from takeup.bellows.model import BellowsCase, BellowsReport, Treatment
from takeup.bellows.rules import rules_of
from takeup.bellows.sizing.gauges import named
from takeup.bellows.sizing.grounds import shape
from takeup.bellows.sizing.grounds import words as check_words
from takeup.bellows.sizing.judge import LIFE
from takeup.bellows.sizing.model import Choice, SizingResult
from takeup.bellows.sizing.weigh import SOURCE as MASS
from takeup.checks import Check, Outcome
from takeup.documents.drawing import bellows_section
from takeup.documents.typst_render import head
from takeup.documents.typst_render import render as set_pdf
from takeup.documents.words import check_row, quantity, word
from takeup.sources import practice
from takeup.units import System, kind_of, shown

PROVISIONAL = (
    "* provisional: rests on a clause that was not read or confirmed in the edition named. Verify "
    "it in the standard before the order goes out."
)
NOT_A_DESIGN = (
    "This sheet states a duty and one bellows that meets it by calculation. The maker stays "
    "responsible for the design by the code and edition in the order; an engineer signs it."
)


class Requisition(msgspec.Struct, frozen=True, kw_only=True):
    """What a data sheet is made of."""

    result: SizingResult
    choice: Choice
    system: System = System.METRIC
    joint: str = ""
    """Tag of the joint that it replaces."""
    made: dt.datetime
    """When it was made: the date printed."""


def render(sheet: Requisition, out: Path) -> Path:
    """Write the data sheet as PDF."""
    result, choice, system = sheet.result, sheet.choice, sheet.system
    case, report = choice.case, choice.report
    tag = sheet.joint or result.task.name or "bellows"
    title = f"Requisition data sheet {tag}"
    rules = rules_of(case.basis)
    editions = sorted({_edition(check) for check in report.checks if check.source.edition})
    data: dict[str, Any] = head(title, title, sheet.made) | {
        "tag": tag,
        "bellows": shape(case),
        "rules": rules.basis.value,
        "editions": editions,
        "port": result.task.testable,
        "purpose": NOT_A_DESIGN,
        "conditions": _conditions(case, report, system),
        "movements": _movements(case, report, system),
        "envelope": _envelope(sheet),
        "data": _data(case, choice, system),
        "rates": _rates(report, choice, system),
        "thrust_cautions": _thrust_cautions(sheet),
        "checks": _families(report.checks, system),
        "alone": _alone(choice, system),
        "tests": [[at, words] for at, words in _tests(sheet)],
        "source_of_tests": practice("tests of a replacement bellows").cite(),
        "why": _why(result, choice),
        "others": _others(result, choice, system),
        "others_heads": _heads(system),
        "blanks": BLANKS,
        "cautions": _cautions(report, result),
        "provisional": PROVISIONAL,
    }
    return set_pdf("requisition", data, out, {"section.svg": bellows_section(case, system=system)})


def _edition(check: Check) -> str:
    return f"{check.source.document}, {check.source.edition}"


def _conditions(case: BellowsCase, report: BellowsReport, system: System) -> list[list[str]]:
    forces = {thrust.condition: thrust.force for thrust in report.thrust}
    return [
        [
            one.name,
            shown(one.pressure, "pressure", system),
            shown(one.temperature, "temperature", system),
            quantity(forces.get(one.name), "force", system),
            quantity(forces.get(one.name), "weight_force", system),
        ]
        for one in case.conditions
    ]


def _movements(case: BellowsCase, report: BellowsReport, system: System) -> list[list[str]]:
    rows = []
    for one in case.movements:
        cycles = {
            which: report.figure(f"{which}_cycles@{one.name}") for which in ("design", "mean")
        }
        rows.append(
            [
                one.name,
                shown(one.axial, "movement", system),
                _planes(one.lateral, one.lateral_across, "movement", system),
                _planes(one.angular, one.angular_across, "angle", system),
                f"{one.cycles:,.0f}",
                *(
                    "–" if figure is None or figure.value is None else f"{figure.value:,.0f}"
                    for figure in cycles.values()
                ),
            ]
        )
    return rows


def _planes(first: float, second: float, kind: str, system: System) -> str:
    text = shown(first, kind, system)
    return f"{text} and {shown(second, kind, system)}" if second else text


def _envelope(sheet: Requisition) -> list[list[str]]:
    task, system = sheet.result.task, sheet.system

    def most(value: float | None) -> str:
        return "not limited" if value is None else f"at most {shown(value, 'length', system)}"

    rows = [
        ["inside diameter", shown(task.inside_diameter, "length", system)],
        ["outside diameter", most(task.outside_diameter)],
        ["live length", most(task.live_length)],
        ["end tangents, each", shown(task.tangent_length, "length", system)],
        ["assembly", task.assembly.value],
        ["pressure stands", task.pressurised.value],
        ["alloys allowed", ", ".join(task.alloys)],
        ["test port between plies", word("asked for" if task.testable else "not asked for")],
    ]
    if task.length_over_both is not None:
        rows.append(["length over both bellows", shown(task.length_over_both, "length", system)])
    return rows


def _data(case: BellowsCase, choice: Choice, system: System) -> list[list[str]]:
    candidate = choice.candidate
    sheet = named(case.ply_thickness)
    rows = [
        ["alloy", case.material],
        ["treatment after forming", word(case.treatment)],
        ["shape", case.convolution.value],
        ["plies n", str(case.plies)],
        ["one ply t before forming", shown(case.ply_thickness, "thickness", system)
         + (f" ({sheet})" if sheet else "")],
        ["convolution height w", quantity(case.height, "length", system)],
        ["pitch q", shown(case.pitch, "length", system)],
        ["torus radius rm", quantity(case.torus_radius, "length", system)],
        ["convolutions N", str(case.convolutions)],
        ["live length N q", shown(candidate.live_length, "length", system)],
        ["outside diameter", shown(candidate.outside_diameter, "length", system)],
        ["mass of bellows metal", shown(candidate.mass, "mass", system)],
        ["longitudinal weld factor", quantity(case.weld_factor, "ratio", system)],
    ]  # fmt: skip
    if case.ring_area:
        rows.append(["section of one ring Ar", shown(case.ring_area, "metal_area", system)])
        rows.append(["ring metal", word(case.ring_material)])
    if case.collar_length:
        rows.append(["collar", f"{shown(case.collar_length, 'length', system)} x "
                     f"{shown(case.collar_thickness, 'thickness', system)}, "
                     f"{word(case.collar_material)}"])  # fmt: skip
    return rows


def _rates(report: BellowsReport, choice: Choice, system: System) -> list[list[str]]:
    rows = []
    for id in ("axial_rate", "lateral_rate", "angular_rate", "axial_rate_cold",
               "lateral_rate_cold", "angular_rate_cold", "effective_area"):  # fmt: skip
        figure = report.figure(id)
        if figure is None or figure.value is None:
            continue
        star = " *" if figure.provisional else ""
        rows.append(
            [figure.name + star, shown(figure.value, figure.kind, system), figure.source.cite()]
        )
    rows.append(
        ["Mass of bellows metal", shown(choice.candidate.mass, "mass", system), MASS.cite()]
    )
    return rows


def _thrust_cautions(sheet: Requisition) -> list[str]:
    force = shown(sheet.choice.candidate.thrust, "force", sheet.system)
    weight = shown(sheet.choice.candidate.thrust, "weight_force", sheet.system)
    said = [
        f"Greatest pressure thrust of these conditions {force} ({weight}): name what holds it, tie "
        "rods, hinges or anchors, at design and at test, before the old bellows is cut out."
    ]
    if all(one.name.lower() != "test" for one in sheet.choice.case.conditions):
        said.append("Thrust at test pressure is not known here: no test condition was given.")
    return said


def _families(checks: Sequence[Check], system: System) -> list[dict[str, Any]]:
    """Checks by name and source, each with its conditions or movements under one head."""
    found: dict[tuple[str, str], dict[str, Any]] = {}
    for check in checks:
        row = check_row(check, system)
        key = (row["name"], row["source"])
        family = found.setdefault(key, {"name": key[0], "source": key[1], "rows": []})
        family["rows"].append(row | {"at": check.id.partition("@")[2] or "–"})
    return list(found.values())


def _alone(choice: Choice, system: System) -> list[dict[str, Any]]:
    """Pressure checks, other than at test, with the inner and with the outer ply lost."""
    rows: dict[tuple[str, str], list[str]] = {}
    for report in choice.ply_alone:
        for check in report.checks:
            name, _, where = check.id.partition("@")
            passed_by = check.outcome == Outcome.DOES_NOT_APPLY
            if not where or name in LIFE or where.lower() == "test" or passed_by:
                continue
            row = check_row(check, system)
            rows.setdefault((row["name"], where), []).extend([row["ratio"], row["outcome"]])
    return [{"name": name, "at": at, "cells": cells} for (name, at), cells in rows.items()]


def _tests(sheet: Requisition) -> list[tuple[str, str]]:
    """What to ask for; acceptance that is nobody's rule here stays a blank in the sheet."""
    choice, system = sheet.choice, sheet.system
    case = choice.case
    test = next((one for one in case.conditions if one.name.lower() == "test"), None)
    forces = {thrust.condition: thrust.force for thrust in choice.report.thrust}
    found = []
    if test is None:
        found.append(
            ("pressure test", "No test condition was given: state the test pressure and "
             "temperature, and have the bellows checked at them before the order.")
        )  # fmt: skip
    else:
        found.append(
            ("pressure test", f"{shown(test.pressure, 'pressure', system)} at "
             f"{shown(test.temperature, 'temperature', system)}, ends held against "
             f"{quantity(forces.get(test.name), 'force', system)}. Pitch measured at four places "
             "round the bellows before, under and after pressure; no permanent change of pitch, "
             "no bowing.")
        )  # fmt: skip
    seam = "in full, before forming" if case.weld_factor == 1.0 else "to the weld factor stated"
    found.append(("longitudinal seams", f"Butt welds, flush, examined {seam}."))
    if sheet.result.task.testable:
        found.append(
            ("test port between plies", "Two plies, vented to a port; port size, thread and place "
             "on the maker's drawing. Space between the plies leak-tested in both directions; "
             "method and greatest leak rate: ______. Pressure in the space limited so that the "
             "inner ply is not pressed inwards: ______.")
        )  # fmt: skip
    elif case.plies > 1:
        found.append(("plies", "Space between the plies vented at one end tangent."))
    found.append(
        ("dimensions", "Inside and outside diameter, pitch, height, number of convolutions and "
         "length over live part; wall measured at crests after forming, each ply not below the "
         "thinning counted with.")
    )  # fmt: skip
    found.append(
        ("material", f"Certificate of each coil: {case.material}, chemistry, yield and tensile "
         "strength, grain size where the duty is hot.")
    )  # fmt: skip
    treated = "no heat treatment" if case.treatment == Treatment.AS_FORMED else "as stated above"
    found.append(("after forming", f"Heat treatment: {treated}. Marked with serial number."))
    return found


def _why(result: SizingResult, choice: Choice) -> list[str]:
    governs = check_words(choice.candidate.governing, choice.report)
    tried = (
        f"{result.space:,} combinations in the space; {result.evaluated:,} worked out in full, "
        f"the rest excluded by envelope or shape; {result.feasible:,} meet every check; "
        f"{len(result.front):,} of them are not beaten in every goal by another "
        f"({', '.join(goal.value for goal in result.goals)})."
    )
    chosen = f"This one, number {choice.candidate.number}: {'; '.join(choice.reasons)}."
    least = f"Least margin {choice.candidate.margin:.1%}, set by: {governs}."
    return [tried, chosen, least, *(ground.claim for ground in result.grounds)]


def _others(result: SizingResult, choice: Choice, system: System) -> list[list[str]]:
    rows = []
    for other in result.choices:
        one = other.candidate
        here = "▶ " if one.number == choice.candidate.number else ""
        rows.append(
            [
                f"{here}{one.number}",
                shape(other.case),
                shown(one.axial_rate, "axial_rate", system, unit=False),
                shown(one.lateral_rate, "axial_rate", system, unit=False),
                shown(one.thrust, "force", system, unit=False),
                shown(one.live_length, "length", system, unit=False),
                shown(one.mass, "mass", system, unit=False),
                f"{one.margin:.0%}",
                "; ".join(other.reasons),
            ]
        )
    return rows


def _heads(system: System) -> list[str]:
    kinds = (
        ("axial rate", "axial_rate"), ("lateral rate", "axial_rate"), ("thrust", "force"),
        ("length", "length"), ("mass", "mass"),
    )  # fmt: skip
    units = [f"{name}, {kind_of(kind).show(system).symbol}" for name, kind in kinds]
    return ["no.", "bellows", *units, "margin", "stands out"]


def _cautions(report: BellowsReport, result: SizingResult) -> list[str]:
    said = [caution for check in report.checks for caution in check.cautions]
    return list(dict.fromkeys([*said, *report.notes, *result.notes]))


BLANKS = (
    "Maker, drawing no.",
    "Medium, phase, hazards",
    "Hardware: rods, hinges, pins",
    "Sleeve: bore, material, gap",
    "Cover, insulation",
    "End pieces: size, schedule, material",
    "Weld ends or flanges, rating",
    "Installation set, shipping bars",
    "Delivery date",
)
