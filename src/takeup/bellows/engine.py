"""The door of the room: a case in, a report out; many cases in one array pass per rule set."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from takeup.bellows import intake, numbers, report
from takeup.bellows.model import BellowsCase, BellowsReport
from takeup.bellows.rules import rules_of
from takeup.bellows.rules.base import RuleSet
from takeup.errors import Contradiction, TakeupError
from takeup.sources import assumption


def evaluate(case: BellowsCase) -> BellowsReport:
    """Work out one bellows by its rule set.

    What is unknown (``case.missing``, a property without a table) leaves the checks that rest
    on it not evaluated.  Raises :class:`takeup.errors.Contradiction` and
    :class:`takeup.errors.OutOfRange` for input that cannot be true and
    :class:`takeup.errors.Refused` for a rule set that is not held.
    """
    found = _run((case,))[0]
    if isinstance(found, TakeupError):
        raise found
    return found


def evaluate_many(cases: Sequence[BellowsCase]) -> tuple[BellowsReport, ...]:
    """Work out many bellows in one array pass per rule set, in their order.

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
    groups: dict[str, tuple[RuleSet, list[int]]] = {}
    for place, case in enumerate(cases):
        try:
            rules = rules_of(case.basis)
            intake.refuse(case)
        except TakeupError as reason:
            found[place] = reason
        else:
            groups.setdefault(rules.basis.value, (rules, []))[1].append(place)
    for rules, places in groups.values():
        taken = intake.take([cases[place] for place in places])
        worked = numbers.run(taken, rules)
        for place, result in zip(places, report.Sheet(taken, rules, worked).all(), strict=True):
            found[place] = result
        for at, fault in _closed(taken, worked).items():
            found[places[at]] = fault
    done = [result for result in found if result is not None]
    assert len(done) == len(cases)
    return done


def _closed(taken: intake.Intake, worked: numbers.Numbers) -> dict[int, TakeupError]:
    """Cases in which a movement would press neighbouring convolutions together."""
    closing, gap = worked.movement["closing"], worked.movement["gap"]
    faults: dict[int, TakeupError] = {}
    moves = [move for case in taken.cases for move in case.movements]
    for place in np.flatnonzero(-closing >= gap).tolist():
        at = int(taken.mover[place])
        faults[at] = Contradiction(
            f"movement {moves[place].name!r} closes each convolution by "
            f"{-closing[place] * 1e3:.1f} mm, but the clear gap q - 2 rm - n t is only "
            f"{gap[place] * 1e3:.1f} mm; check the movement, the pitch and the number of "
            "convolutions"
        )
    return faults
