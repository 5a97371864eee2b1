"""Bellows and load-carrying hardware of one joint, for its page and its dossier alike.

Worked out again from the case of the dossier: pure, so it shows what the verdict rests on.
"""

from __future__ import annotations

import math

import msgspec

from takeup.assess.build import basis_assumed, bellows_case, movements, not_covered
from takeup.assess.hardware import Held, hardware
from takeup.assess.model import Evaluation, JointCase
from takeup.bellows import compare
from takeup.bellows.hardware import LoadPath, explain
from takeup.bellows.model import BellowsCase, BellowsReport, Movement
from takeup.bellows.rules import rules_of
from takeup.checks import Check, Figure, Outcome
from takeup.documents.drawing import PRINT, Palette, assembly_diagram, bellows_section
from takeup.documents.drawing.load_path import load_path
from takeup.documents.model import Dossier
from takeup.documents.words import named
from takeup.errors import TakeupError
from takeup.units import System, shown

TWO_LIVES = (
    "Allowed cycles carry a margin; mean cycles are the average life in tests and carry none. "
    "They are never the same number."
)
MOST_TESTED = 1e5
"""Cycles to which the tests behind mean curves reach; beyond it no number is printed."""
_DECIDED = frozenset({Outcome.MET, Outcome.NOT_MET})
_ORDER = {Outcome.NOT_MET: 2, Outcome.NOT_EVALUATED: 1}


class Cycles(msgspec.Struct, frozen=True, kw_only=True):
    """One movement: cycles done and to count, allowed and in tests, as people read them."""

    movement: str
    range: str
    """Axial, lateral, angular."""
    done: str
    counted: str
    allowed: str
    mean: str


class Difference(msgspec.Struct, frozen=True, kw_only=True):
    """A check that comes out differently by other rule sets; outcome words in their order."""

    check: str
    outcomes: tuple[str, ...]


class BellowsPart(msgspec.Struct, frozen=True, kw_only=True):
    """One bellows, or several equal ones."""

    letters: tuple[str, ...]
    shape: str
    basis: str
    edition: str
    valid_for: str
    assumed: bool
    """Whether the rule set is Takeup's assumption."""
    decided: int
    provisional: int
    """How many of the decided checks rest on a source that was not read or confirmed."""
    nearest: str
    cycles: tuple[Cycles, ...]
    usage: str
    usage_so_far: str
    bases: tuple[str, ...]
    differences: tuple[Difference, ...]
    reasons: tuple[str, ...]
    notes: tuple[str, ...]
    drawing: str
    """SVG; empty where the dimensions make no convolution."""
    fault: str = ""

    @property
    def title(self) -> str:
        """Bellows A, or bellows A and B."""
        return "Bellows " + " and ".join(self.letters)


class HardwarePart(msgspec.Struct, frozen=True, kw_only=True):
    """One item of hardware with its load path."""

    item: str
    lines: tuple[str, ...]
    """What is lost, the way of the load, what governs."""
    asked: tuple[str, ...]
    left_out: tuple[str, ...]
    """What was seen and is not in the calculation."""
    drawing: str
    fault: str = ""


class Mechanics(msgspec.Struct, frozen=True, kw_only=True):
    """Everything that is drawn and said of the mechanics of one joint."""

    diagram: str
    bellows: tuple[BellowsPart, ...]
    hardware: tuple[HardwarePart, ...]
    not_covered: str = ""


def mechanics(dossier: Dossier, palette: Palette = PRINT, *, displaced: bool = False) -> Mechanics:
    """Gather diagram, bellows and hardware of the joint of a dossier.

    ``displaced`` adds the moved bellows to its drawing, which then is taller than a page.
    """
    case, verdict, system = dossier.case, dossier.verdict, dossier.system
    evaluation = verdict.evaluation if verdict is not None else None
    moves = movements(case)
    return Mechanics(
        diagram=assembly_diagram(
            case.joint.type,
            bellows=len(case.bellows) or None,
            movement=_main(moves),
            holder=_holder(verdict.thrust.holder.value if verdict else ""),
            system=system,
            palette=palette,
        ),
        bellows=_bellows(case, evaluation, system, palette, displaced),
        hardware=_hardware(case, evaluation, system, palette),
        not_covered=not_covered(case),
    )


def _holder(word: str) -> str:
    return word if word in {"hardware", "main anchors"} else ""


def _main(moves: tuple[Movement, ...]) -> Movement | None:
    return max(
        moves, key=lambda move: (abs(move.axial), abs(move.lateral), abs(move.angular)),
        default=None,
    )  # fmt: skip


def _bellows(
    case: JointCase,
    evaluation: Evaluation | None,
    system: System,
    palette: Palette,
    displaced: bool,
) -> tuple[BellowsPart, ...]:
    if not_covered(case):
        return ()
    reports = dict(evaluation.bellows) if evaluation is not None else {}
    temperatures = evaluation.temperatures if evaluation is not None else ()
    groups: list[tuple[list[str], BellowsCase, BellowsReport | None, bool]] = []
    for one in case.bellows:
        made = bellows_case(case, one, temperatures)
        report = reports.get(one.letter)
        for letters, other, _, _ in groups:
            if msgspec.structs.replace(made, name=other.name) == other:
                letters.append(one.letter)
                break
        else:
            groups.append(([one.letter], made, report, basis_assumed(one)))
    return tuple(_one(group, system, palette, displaced) for group in groups)


def _one(
    group: tuple[list[str], BellowsCase, BellowsReport | None, bool],
    system: System,
    palette: Palette,
    displaced: bool,
) -> BellowsPart:
    letters, case, report, assumed = group
    rules = rules_of(case.basis, case.convolution)
    drawing, fault = "", ""
    try:
        drawing = bellows_section(
            case,
            system=system,
            report=report,
            movement=_main(case.movements) if displaced else None,
            palette=palette,
        )
    except TakeupError as reason:
        fault = str(reason)
    checks = report.checks if report is not None else ()
    decided = [check for check in checks if check.outcome in _DECIDED]
    worst = max(
        (c for c in decided if c.ratio is not None and not c.id.startswith(("geometry", "creep"))),
        key=lambda c: c.ratio or 0.0,
        default=None,
    )
    bases, differences, reasons = _differences(case) if report is not None else ((), (), ())
    return BellowsPart(
        letters=tuple(letters),
        shape=case.convolution.value,
        basis=rules.basis.value,
        edition=rules.sources["S2"].edition,
        valid_for=rules.valid,
        assumed=assumed,
        decided=len(decided),
        provisional=sum(check.provisional for check in decided),
        nearest=""
        if worst is None
        else f"{named(worst)}: {worst.outcome.value}, {worst.ratio:.2f} of the limit"
        + (" (provisional)" if worst.provisional else ""),
        cycles=tuple(_cycles(move, report, system) for move in case.movements),
        usage=_share(report.usage if report is not None else None),
        usage_so_far=_share(_value(report, "usage_so_far")),
        bases=bases,
        differences=differences,
        reasons=reasons,
        notes=report.notes if report is not None else (),
        drawing=drawing,
        fault=fault,
    )


def _differences(
    case: BellowsCase,
) -> tuple[tuple[str, ...], tuple[Difference, ...], tuple[str, ...]]:
    """Checks of which the outcome, not only the number, depends on the rule set."""
    found = compare(case)
    rows = [
        row
        for row in found.checks
        if len({check.outcome for check in row.checks if check is not None}) > 1
    ]
    return (
        found.bases,
        tuple(
            Difference(
                check=named(next(check for check in row.checks if check is not None)),
                outcomes=tuple(_word(check) for check in row.checks),
            )
            for row in rows
        ),
        tuple(dict.fromkeys(reason for row in rows for reason in row.reasons)),
    )


def _word(check: Check | None) -> str:
    if check is None:
        return "no such check"
    ratio = f" {check.ratio:.2f}" if check.ratio is not None else ""
    return check.outcome.value + ratio + (" *" if check.provisional else "")


def _cycles(move: Movement, report: BellowsReport | None, system: System) -> Cycles:
    parts = [
        f"{word} {shown(value, kind, system)}"
        for word, value, kind in (
            ("axial", move.axial, "movement"),
            ("lateral", math.hypot(move.lateral, move.lateral_across), "movement"),
            ("angular", math.hypot(move.angular, move.angular_across), "angle"),
        )
        if value
    ]
    allowed, mean = (
        _figure(report, f"{id}@{move.name}", system) for id in ("design_cycles", "mean_cycles")
    )
    return Cycles(
        movement=move.name,
        range=", ".join(parts) or "none",
        done=f"{move.done:.0f}",
        counted=f"{move.cycles:.0f}",
        allowed=allowed,
        mean=mean,
    )


def _found(report: BellowsReport | None, id: str) -> Figure | None:
    return None if report is None else report.figure(id)


def _value(report: BellowsReport | None, id: str) -> float | None:
    figure = _found(report, id)
    return None if figure is None else figure.value


def _figure(report: BellowsReport | None, id: str, system: System) -> str:
    figure = _found(report, id)
    if figure is None or figure.value is None:
        return "not given"
    star = " *" if figure.provisional else ""
    if id.startswith("mean_cycles") and figure.value > MOST_TESTED:
        return f"over {shown(MOST_TESTED, figure.kind, system)}, beyond tests{star}"
    return shown(figure.value, figure.kind, system) + star


def _share(value: float | None) -> str:
    if value is None:
        return "not evaluated"
    return "under 0.1 %" if 0.0 < value < 0.001 else f"{100 * value:.1f} %"


def _hardware(
    case: JointCase, evaluation: Evaluation | None, system: System, palette: Palette
) -> tuple[HardwarePart, ...]:
    if evaluation is None:
        return ()
    return tuple(_item(held, system, palette) for held in hardware(case, evaluation))


def _item(held: Held, system: System, palette: Palette) -> HardwarePart:
    left_out = tuple(
        f"{seen.observation.item}: {seen.observation.text or 'seen'}" for seen in held.unread
    )
    path = _path(held)
    return HardwarePart(
        item=held.item,
        lines=explain(path, system) if path is not None else (),
        asked=held.report.missing if held.report is not None else (),
        left_out=left_out,
        drawing=load_path(path, system, palette) if path is not None else "",
        fault=held.fault,
    )


def _path(held: Held) -> LoadPath | None:
    """The path to show: the one with a check not met, else that of design, else the first."""
    if held.report is None or not held.report.paths:
        return None
    return max(
        held.report.paths,
        key=lambda path: (
            not path.holds,
            max((_ORDER.get(check.outcome, 0) for check in path.checks), default=0),
            path.thrust,
        ),
    )
