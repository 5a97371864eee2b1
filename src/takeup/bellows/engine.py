"""The door of the room: a case in, a report out; many cases in one array pass per rule set."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from takeup.bellows import casework, intake, refusing, report
from takeup.bellows.model import BellowsCase, BellowsReport, FatigueCurve
from takeup.bellows.rules import rules_of
from takeup.bellows.rules.base import RuleSet
from takeup.errors import Contradiction, TakeupError
from takeup.sources import assumption


def evaluate(case: BellowsCase) -> BellowsReport:
    """Work out one bellows by its rule set.

    What is unknown (``case.missing``, a property without a table) leaves the checks that rest
    on it not evaluated.  Raises :class:`takeup.errors.Contradiction` and
    :class:`takeup.errors.OutOfRange` for input that cannot be true.
    """
    found = _run((case,))[0]
    if isinstance(found, TakeupError):
        raise found
    return found


def evaluate_many(cases: Sequence[BellowsCase]) -> tuple[BellowsReport, ...]:
    """Work out many bellows in one array pass per rule set and shape, in their order.

    A case that cannot be true becomes a report that is not valid, with the reason in its
    notes: one bad joint does not stop the rest.
    """
    return tuple(
        report.refused(case, str(found), assumption("input of the bellows calculation"))
        if isinstance(found, TakeupError)
        else found
        for case, found in zip(cases, _run(cases), strict=True)
    )


def _run(cases: Sequence[BellowsCase]) -> list[BellowsReport | TakeupError]:
    found: list[BellowsReport | TakeupError | None] = [None] * len(cases)
    groups: dict[tuple[str, str, FatigueCurve | None], tuple[RuleSet, list[int]]] = {}
    for place, case in enumerate(cases):
        try:
            refusing.refuse(case)
        except TakeupError as reason:
            found[place] = reason
        else:
            rules = rules_of(case.basis, case.convolution)
            key = (rules.basis.value, rules.convolution.value, case.fatigue_curve)
            groups.setdefault(key, (rules, []))[1].append(place)
    for (_, _, own), (rules, places) in groups.items():
        curve = own or rules.curve
        taken = intake.take([cases[place] for place in places])
        worked = casework.run(taken, rules, curve)
        sheet = report.Sheet(taken, rules, worked, curve)
        for place, result in zip(places, sheet.all(), strict=True):
            found[place] = result
        for at, fault in _closed(taken, worked).items():
            found[places[at]] = fault
    done = [result for result in found if result is not None]
    assert len(done) == len(cases)
    return done


def _closed(taken: intake.Intake, worked: casework.Numbers) -> dict[int, TakeupError]:
    """Cases in which a movement would press neighbouring convolutions together."""
    closing, gap = worked.movement["most_closed"], worked.movement["gap"]
    faults: dict[int, TakeupError] = {}
    moves = [move for case in taken.cases for move in case.movements]
    for place in np.flatnonzero(-closing >= gap).tolist():
        at = int(taken.mover[place])
        case = taken.cases[at]
        offset = case.offset_axial or case.offset_lateral or case.offset_angular
        faults[at] = Contradiction(
            f"movement {moves[place].name!r}{' with the installed set' if offset else ''} closes "
            f"each convolution by {-closing[place] * 1e3:.1f} mm, but the clear gap "
            f"q - 2 rm - n t is only {gap[place] * 1e3:.1f} mm; check the movement, the pitch and "
            "the number of convolutions"
        )
    return faults
