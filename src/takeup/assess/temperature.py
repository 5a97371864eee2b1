"""Shared by too cold and too hot: temperature reports as checks and grounds."""

from __future__ import annotations

from collections.abc import Iterable

from takeup.checks import Check, Ground, LimitKind, Strength
from takeup.evidence.model import TemperatureReport
from takeup.sources import practice

LINES = practice("bellows temperature action lines; the site's own values rule")


def figure(report: TemperatureReport, id: str) -> float | None:
    """A figure of a report by id."""
    found = next((f for f in report.figures if f.id == id), None)
    return found.value if found else None


def checks_of(reports: Iterable[TemperatureReport], side: str) -> list[Check]:
    """The checks of one side (``low`` or ``high``) of all reports."""
    return [check for report in reports for check in report.checks if side in check.id]


def ground(report: TemperatureReport) -> Ground:
    """What a history says, as one link of the chain."""
    return Ground(
        claim=f"{report.tag} on bellows {report.bellows}: {report.state}; {'; '.join(report.why)}",
        evidence=(f"temperature_series:{report.tag}",),
        rule="history against the site's action lines",
        source=LINES,
        limit_kind=LimitKind.RULE_OF_THUMB,
        strength=Strength.MEASURED,
    )


def chance_before_outage(report: TemperatureReport, line: str) -> float:
    """Chance that a drift crosses a line before the outage; 0 when none is projected."""
    for crossing in report.crossings:
        if crossing.line == line and crossing.chance_before_outage is not None:
            return crossing.chance_before_outage
    return 0.0
