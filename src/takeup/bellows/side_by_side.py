"""One case by every rule set, side by side, with the reasons why they differ."""

from __future__ import annotations

import msgspec

from takeup.bellows.engine import evaluate_many
from takeup.bellows.model import Basis, BellowsCase, BellowsReport, Treatment
from takeup.bellows.rules import rules_of
from takeup.bellows.rules.base import RuleSet
from takeup.checks import Check, Figure

SAME = 1e-9
"""Relative difference below which two rule sets say the same."""
_ORDER = tuple(Basis)


class CheckRow(msgspec.Struct, frozen=True, kw_only=True):
    """One check by each rule set; ``None`` where a rule set does not have it."""

    id: str
    name: str
    checks: tuple[Check | None, ...]
    reasons: tuple[str, ...] = ()
    """Why they differ; empty where they agree."""


class FigureRow(msgspec.Struct, frozen=True, kw_only=True):
    """One figure by each rule set; ``None`` where a rule set does not have it."""

    id: str
    name: str
    figures: tuple[Figure | None, ...]
    reasons: tuple[str, ...] = ()


class Comparison(msgspec.Struct, frozen=True, kw_only=True):
    """Reports by every rule set, and the rows that a reader compares."""

    bases: tuple[str, ...]
    editions: tuple[str, ...]
    reports: tuple[BellowsReport, ...]
    checks: tuple[CheckRow, ...]
    figures: tuple[FigureRow, ...]
    notes: tuple[str, ...]


def compare(case: BellowsCase) -> Comparison:
    """Work out one case by every rule set that this version holds.

    The case's own basis does not matter.  Input that cannot be true gives reports that say so.
    """
    cases = [msgspec.structs.replace(case, basis=basis) for basis in _ORDER]
    reports = evaluate_many(cases)
    rules = tuple(rules_of(basis, case.convolution) for basis in _ORDER)
    by_id = [{check.id: check for check in report.checks} for report in reports]
    ids = dict.fromkeys(id for found in by_id for id in found)
    checks = []
    for id in ids:
        row = tuple(found.get(id) for found in by_id)
        name = next(check.name for check in row if check is not None)
        reasons = () if _agree(row) else _why(id, rules, case)
        checks.append(CheckRow(id=id, name=name, checks=row, reasons=reasons))
    figures = []
    values = [{figure.id: figure for figure in report.figures} for report in reports]
    for id in dict.fromkeys(id for found in values for id in found):
        line = tuple(found.get(id) for found in values)
        name = next(figure.name for figure in line if figure is not None)
        reasons = () if _equal([f.value if f else None for f in line]) else _why(id, rules, case)
        figures.append(FigureRow(id=id, name=name, figures=line, reasons=reasons))
    return Comparison(
        bases=tuple(basis.value for basis in _ORDER),
        editions=tuple(rule.sources["S2"].edition for rule in rules),
        reports=reports,
        checks=tuple(checks),
        figures=tuple(figures),
        notes=(
            "The same inputs, worked out by each rule set; the design basis of the joint decides "
            "which one counts.",
            "Allowable cycles carry a margin; mean cycles in tests carry none. They are never the "
            "same number.",
        ),
    )


def _equal(values: list[float | None]) -> bool:
    known = [value for value in values if value is not None]
    if len(known) != len(values):
        return not known
    return max(known) - min(known) <= SAME * max(abs(value) for value in known)


def _agree(row: tuple[Check | None, ...]) -> bool:
    if any(check is None for check in row) or len({c.outcome for c in row if c}) > 1:
        return False
    return _equal([c.ratio for c in row if c]) or all(c.ratio is None for c in row if c)


def _why(id: str, rules: tuple[RuleSet, ...], case: BellowsCase) -> tuple[str, ...]:
    """Reasons for a difference, read off what the rule sets state."""
    family = id.partition("@")[0]
    asme, ejma = rules[:2]
    found: list[str] = []
    if family in {"column_squirm", "axial_rate", "lateral_rate", "angular_rate"} or (
        family.endswith("_cold") and "rate" in family
    ):
        found.append(
            f"rate constant {ejma.rate_constant:.3f} in EJMA, {asme.rate_constant:.3f} "
            "(pi / (2 (1 - nu^2))) in ASME and EN"
        )
    if family == "inplane_squirm":
        found.append(
            f"constant {ejma.inplane_constant:.2f} in EJMA, {asme.inplane_constant:.3f} (pi - 2) "
            "in ASME and EN"
        )
        if case.yield_strength is None:
            raised = asme.yield_factor[case.treatment == Treatment.AS_FORMED]
            found.append(
                f"yield of the finished bellows: 0.67 Cm times the table's in EJMA, {raised:g} "
                "times in ASME and EN"
            )
        if case.kr is not None:
            found.append(f"Kr = {case.kr:g} lowers it in EJMA only")
    if family in {"S1", "S2", "S2e", "S3", "S3+S4", "pressure_limit"}:
        found.append(
            "allowable stress: as the process-piping table has it in EJMA; held at tensile "
            "strength / 3.5 in ASME; EN's own f is not held, a lower bound stands in"
        )
    if family == "S2" and case.kr is not None:
        found.append(f"Kr = {case.kr:g} raises it in EJMA only")
    if family == "S3":
        found.append("EJMA does not limit S3 alone, only together with S4")
    if family == "S3+S4":
        found.append(
            "allowed multiple: 1.5 Ysm within 1.5 to 3.0 by forming strain in ASME and EJMA, "
            "3.0 as formed and 1.5 annealed in EN"
        )
        found.append("in the creep range only EJMA has a rule: S3 + S4/1.25 at most S")
    if family in {"fatigue", "usage", "usage_so_far", "design_cycles", "fatigue_stress"}:
        found.append(
            "EN has fatigue curves of its own, not held here; EJMA prints a mean curve, so the "
            "design curve of VIII-2 stands for both others"
            if case.fatigue_curve is None
            else "the curve given is used by all; differences come from the stress"
        )
    if family == "mean_cycles":
        found.append("the mean curve holds for as-formed bellows: EJMA does not give it annealed")
    if family.startswith("geometry."):
        found.append("EJMA states no limits of geometry of its own, ASME and EN do")
    return tuple(found) or ("the rule sets differ in this check",)
