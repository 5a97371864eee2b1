"""An excursion beyond the movements that were counted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np

from takeup.bellows.arrays import problem_for, solve
from takeup.bellows.as_found.cases import counted
from takeup.bellows.as_found.lives import SOURCE, most, usage
from takeup.bellows.as_found.model import Travel
from takeup.bellows.model import BellowsCase, Movement
from takeup.errors import TakeupError

SET = (
    "Bellows yield a little in every full movement. One beyond all before leaves a set that no "
    "formula here gives: mark the length again with the joint free, and count from there."
)


def travel(cases: Sequence[BellowsCase], move: Movement, *, done_known: bool) -> Travel:
    """Weigh the position ``move`` against the movements of the worst of ``cases``.

    Its usage is what it adds to the cycles done (or planned, where those done are unknown) when
    all are superposed, so that the span to the opposite extreme counts, not its own height.
    """
    alone = msgspec.structs.replace(
        move, name=_free(move.name, cases[0]), cycles=max(move.cycles, 1.0), done=0.0
    )
    rows = [_row(case, alone) for case in cases]
    named = {name: [row.get(name) for row in rows] for name in ("e", "gap", "St", "counted")}
    extra, so_far = [], []
    for case in cases:
        base = counted(case, "done") if done_known else case
        before = usage(base)
        after = usage(msgspec.structs.replace(base, movements=(*base.movements, alone)))
        so_far.append(before)
        extra.append(None if before is None or after is None else after - before)
    added, used = most(extra), most(so_far) if done_known else None
    left = None if added is None or used is None else 1.0 - used - added
    gap = most(named["gap"])
    outside = _outside(move, cases[0].movements)
    largest, counted_e = most(named["e"]), most(named["counted"])
    return Travel(
        outside=outside,
        per_convolution=largest,
        largest_counted=counted_e,
        gap_used=gap,
        stress=most(named["St"]),
        usage=added,
        usage_so_far=used,
        usage_left=left,
        words=tuple(_words(outside, gap, largest, counted_e, added, left, cases[0])),
        source=SOURCE,
    )


def _free(name: str, case: BellowsCase) -> str:
    taken = {one.name for one in case.movements}
    name = name or "found"
    while name in taken:
        name += " as found"
    return name


def _row(case: BellowsCase, alone: Movement) -> dict[str, float | None]:
    try:
        problem = problem_for(msgspec.structs.replace(case, movements=(*case.movements, alone)))
    except TakeupError:
        return {}
    found = solve(problem)

    def value(table: dict[str, Any], id: str) -> float | None:
        number = float(table.get(id, np.nan))
        return number if math.isfinite(number) else None

    before = [value(found.figures, f"e@{one.name}") for one in case.movements]
    return {
        "e": value(found.figures, f"e@{alone.name}"),
        "gap": value(found.ratios, f"closing@{alone.name}"),
        "St": value(found.figures, f"St@{alone.name}"),
        "counted": most(before),
    }


def _outside(move: Movement, others: Sequence[Movement]) -> tuple[str, ...]:
    """Which parts of the position no movement of the case reaches, in words."""
    found = []
    low = min([0.0, *(one.axial for one in others)])
    high = max([0.0, *(one.axial for one in others)])
    if not low - 1e-9 <= move.axial <= high + 1e-9:
        found.append(
            f"axial {move.axial * 1e3:+.1f} mm, counted from {low * 1e3:+.1f} to "
            f"{high * 1e3:+.1f} mm"
        )
    for words, first, second, unit, scale in (
        ("lateral", "lateral", "lateral_across", "mm", 1e3),
        ("angular", "angular", "angular_across", "degrees", 180.0 / math.pi),
    ):
        size = math.hypot(getattr(move, first), getattr(move, second))
        largest = max(
            (math.hypot(getattr(one, first), getattr(one, second)) for one in others), default=0.0
        )
        if size > largest + 1e-9:
            found.append(
                f"{words} {size * scale:.2f} {unit}, counted up to {largest * scale:.2f} {unit}"
            )
    return tuple(found)


def _words(
    outside: tuple[str, ...],
    gap: float | None,
    largest: float | None,
    counted_e: float | None,
    added: float | None,
    left: float | None,
    case: BellowsCase,
) -> list[str]:
    words = []
    if outside:
        words.append(f"Beyond the movements counted: {'; '.join(outside)}.")
    else:
        words.append("Each part of the position lies within the movements counted.")
    if largest is not None and counted_e is not None:
        words.append(
            f"Most moved fibre {largest * 1e3:.2f} mm per convolution, counted up to "
            f"{counted_e * 1e3:.2f} mm."
        )
    if gap is not None and gap >= 1.0:
        words.append("Neighbouring convolutions touch: they may be dented or locked together.")
    elif gap is not None and gap > 0.0:
        words.append(f"It closes {gap:.0%} of the clear gap between convolutions.")
    if largest is not None and counted_e is not None and largest > counted_e:
        words.append(SET)
    if added is not None:
        words.append(f"It costs {added:.2%} of the fatigue life on the design curve.")
        if left is not None:
            words.append(
                f"{left:.0%} are left after it."
                if left > 0.0
                else "Nothing is left of the design life after it."
            )
    else:
        words.append("What it costs in fatigue life is not known for this case.")
    if case.offset_axial or case.offset_lateral or case.offset_angular:
        words.append("Positions count from the installed one, with its set.")
    return words
