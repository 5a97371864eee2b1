"""Pictures of one joint for its documents, drawn once for paper and screen."""

from __future__ import annotations

from takeup.assess.expected import axial
from takeup.documents.drawing import (
    PRINT,
    Palette,
    interply_chart,
    joint_section,
    movement_sketch,
    temperature_chart,
)
from takeup.documents.model import Dossier
from takeup.register.entities import MovementRole


class Picture:
    """A drawing with its caption."""

    __slots__ = ("caption", "name", "svg", "width")

    def __init__(self, name: str, svg: str, caption: str, width: int) -> None:
        self.name, self.svg, self.caption, self.width = name, svg, caption, width


def section(dossier: Dossier, palette: Palette = PRINT) -> str:
    """The drawn joint with its operating thrust."""
    case, verdict = dossier.case, dossier.verdict
    thrust, holder = None, ""
    if verdict is not None:
        thrust = next((f for name, _, f in verdict.thrust.forces if name == "operating"), None)
        holder = verdict.thrust.holder.value
    return joint_section(
        case.joint,
        case.bellows,
        case.hardware,
        case.line,
        system=dossier.system,
        thrust=thrust,
        holder=holder,
        palette=palette,
    )


def evidence(dossier: Dossier, palette: Palette = PRINT) -> list[Picture]:
    """Temperature histories, newest interply tests and movement, as far as they exist."""
    case, verdict = dossier.case, dossier.verdict
    if verdict is None:
        return []
    found = []
    outage = case.next_outage.start if case.next_outage else None
    reports = {report.tag: report for report in verdict.evaluation.temperatures}
    for letter, tag, daily in case.temperatures:
        if tag in reports:
            report = reports[tag]
            svg = temperature_chart(
                daily, report, case.limits, dossier.system, outage=outage, palette=palette
            )
            found.append(
                Picture(
                    f"temp-{tag}.svg", svg, f"{tag}, bellows {letter}: {'; '.join(report.why)}", 100
                )
            )
    rated = next((m.axial for m in case.movements if m.role == MovementRole.RATED), None)
    for movement in verdict.evaluation.movements:
        if movement.axial is not None:
            expected = axial(case, movement.bellows)
            svg = movement_sketch(movement, expected, rated, dossier.system, palette=palette)
            words = f"axial movement, hot {movement.hot_visit} minus cold {movement.cold_visit}"
            found.append(Picture("movement.svg", svg, words, 52))
            break
    seen = set()
    for result in verdict.evaluation.plies:
        if result.bellows in seen:
            continue
        seen.add(result.bellows)
        test = next(
            (t for t in case.tests if t.bellows == result.bellows and t.date == result.date), None
        )
        if test is None:
            continue
        readings = [r for r in case.readings if r.bellows == test.bellows and r.date == test.date]
        svg = interply_chart(test, readings, result, dossier.system, palette=palette)
        words = f"interply test of bellows {test.bellows}, {test.date}: {result.verdict.value}"
        found.append(Picture(f"interply-{test.bellows}.svg", svg, words, 46))
    return found
