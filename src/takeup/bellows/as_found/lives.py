"""Usage so far, usage to come, cycles and time left."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec
import numpy as np

from takeup.bellows.arrays import problem_for, solve
from takeup.bellows.as_found.cases import counted
from takeup.bellows.as_found.model import AsFound, Life, LifeLeft
from takeup.bellows.model import BellowsCase, Movement
from takeup.errors import Contradiction, TakeupError
from takeup.sources import Source, Standing
from takeup.units import HOUR, YEAR

SOURCE = Source(
    document="ASME BPVC VIII-2",
    edition="2010",
    at="4.19.3.2: damage before what was found and damage after it, each superposed by itself",
    standing=Standing.DERIVED,
)


def usage(case: BellowsCase) -> float | None:
    """Damage sum of the cycles of ``case``, 0 for none; ``None`` where it is not known.

    Nothing is known of convolutions that touch: no curve covers them.
    """
    if not case.movements:
        return None
    if all(move.cycles == 0.0 for move in case.movements):
        return 0.0
    try:
        solution = solve(problem_for(case))
    except TakeupError:
        return None
    touching = any(
        float(ratio) >= 1.0 for id, ratio in solution.ratios.items() if id.startswith("closing@")
    )
    found = float(solution.figures.get("usage", np.asarray(np.nan)))
    return found if np.isfinite(found) and not touching else None


def most(values: Sequence[float | None]) -> float | None:
    """The largest, or ``None`` where any is unknown."""
    known = [value for value in values if value is not None]
    return max(known) if known and len(known) == len(values) else None


def allowed_cycles(case: BellowsCase, move: Movement) -> float | None:
    """Design cycles of one movement from the installed position, or ``None``."""
    alone = msgspec.structs.replace(
        case, movements=(msgspec.structs.replace(move, cycles=1.0, done=0.0),)
    )
    used = usage(alone)
    return 1.0 / used if used else None


def life(
    before: Sequence[BellowsCase],
    after: Sequence[BellowsCase],
    found: AsFound,
    *,
    done_known: bool,
) -> Life:
    """Usage so far with the worst of ``before``, what is left with the worst of ``after``.

    Cases hold all cycles to count and those done.  Nothing is left to say while the cycles so
    far are unknown.  Raises :class:`takeup.errors.Contradiction` where cycles a year and time
    per cycle do not belong together.
    """
    first = after[0]
    so_far = most([usage(counted(case, "done")) for case in before]) if done_known else None
    to_come = most([usage(counted(case, "left")) for case in after]) if done_known else None
    mix = most([usage(counted(_undone(case), "left")) for case in after])
    words: list[str] = []
    if not done_known and first.movements:
        words.append("Cycles so far are not known: usage so far and life left are not stated.")
    elif so_far is None or mix is None:
        words.append("Usage is not known in this state: see the fatigue checks left open.")
    left = seconds = None
    each: list[LifeLeft] = []
    if so_far is not None:
        rest = max(1.0 - so_far, 0.0)
        words.append(f"Fatigue usage so far {so_far:.0%} of the design curve.")
        total = sum(move.cycles for move in first.movements)
        if mix and total:
            left = rest / mix * total
            words.append(
                f"About {left:.0f} cycles are left as found, of all movements in their planned "
                "proportion."
            )
        for number, move in enumerate(first.movements):
            allowed = [allowed_cycles(case, case.movements[number]) for case in after]
            known = [cycles for cycles in allowed if cycles is not None]
            if len(known) == len(allowed) and known:
                each.append(
                    LifeLeft(movement=move.name, allowed=min(known), left=rest * min(known))
                )
        if to_come is not None and so_far + to_come > 1.0:
            words.append(
                f"With the cycles still to count the sum is {so_far + to_come:.0%}: above 100%."
            )
    per = _per_cycle(found)
    if left is not None and per is not None:
        seconds = left * per
        span = seconds / YEAR
        said = f"{span:.1f} years" if span < 100.0 else "more than 100 years: not fatigue decides"
        words.append(f"At the rate given that is {said}.")
    elif left is not None:
        words.append("As time only if cycles a year or time per cycle are given.")
    return Life(
        usage_so_far=so_far,
        usage_to_come=to_come,
        left=left,
        each=tuple(each),
        seconds=seconds,
        words=tuple(words),
        source=SOURCE,
    )


def _undone(case: BellowsCase) -> BellowsCase:
    moves = tuple(msgspec.structs.replace(move, done=0.0) for move in case.movements)
    return msgspec.structs.replace(case, movements=moves)


def _per_cycle(found: AsFound) -> float | None:
    """Time of one cycle [s], if given."""
    by_year = YEAR / found.cycles_per_year if found.cycles_per_year else None
    if by_year and found.hours_per_cycle and not 0.9 < by_year / found.hours_per_cycle < 1.1:
        raise Contradiction(
            f"{found.cycles_per_year:g} cycles a year are {by_year / HOUR:.0f} h each, but "
            f"{found.hours_per_cycle / HOUR:.0f} h per cycle are given too; keep one"
        )
    return found.hours_per_cycle or by_year
