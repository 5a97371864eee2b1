"""The diagnosis of a line as verdicts take it: made only where a mark is off the sound line."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import msgspec

if TYPE_CHECKING:
    from takeup.assess.theory import DiagnosisSeen, Theory
    from takeup.desk.diagnosis import Diagnosed
    from takeup.desk.site import Site
    from takeup.limits import Limits
    from takeup.line.diagnosis import Explanation, Reading
    from takeup.line.model import Line


def diagnosed(
    site: Site, line: Line, theory: Theory, limits: Limits
) -> tuple[DiagnosisSeen | None, str]:
    """Diagnosis of a line with a mark off the sound line, or why there is none.

    One that was kept and is still fresh is taken; a new one is not kept here.
    """
    from takeup.desk import diagnosis

    kept = diagnosis.latest(site, theory.line)
    given = kept.now
    if not given.gathered.used:
        return None, "; ".join(given.faults) or "no movement of this line was read hot and cold"
    if not any(_off(theory, one.reading, limits) for one in given.gathered.used):
        return None, "every mark of a joint agrees with the sound line: nothing to explain"
    found = kept.found if kept.fresh else None
    found = found or diagnosis.weigh(theory.line, given)
    if found.diagnosis is None:
        return None, f"diagnosis was not possible: {'; '.join(found.faults)}"
    return seen(found, line), ""


def _off(theory: Theory, reading: Reading, limits: Limits) -> bool:
    """Whether a joint's reading is off the sound line by more than the band of agreement.

    A turn is off only beyond its own error as well: over a small pipe marks tell little of it.
    """
    from takeup.assess.theory import turned_off

    own = theory.of(reading.place)
    moved = own.move(theory.hot) if own is not None else None
    if moved is None or reading.value is None:
        return False
    expected = {
        "axial": moved.axial, "lateral 1": moved.lateral[0], "lateral 2": moved.lateral[1],
        "angular 1": moved.angular[0], "angular 2": moved.angular[1],
    }.get(reading.part)  # fmt: skip
    if expected is None:
        return False
    if reading.part.startswith("angular"):
        share = limits.value("movement.agree_share")
        return turned_off(reading.value, expected, reading.error or 0.0, share)
    band = max(
        limits.value("movement.agree_band"), limits.value("movement.agree_share") * abs(expected)
    )
    return abs(reading.value - expected) > band


def seen(found: Diagnosed, line: Line) -> DiagnosisSeen | None:
    """A diagnosis as a verdict takes it; ``None`` where nothing was weighed."""
    from takeup.assess.theory import Bundle, DiagnosisSeen, Explained, ReadingSeen, Suspicion
    from takeup.desk.diagnosis import quantity

    result = found.diagnosis
    if result is None:
        return None
    supports = {one.name for one in line.supports}

    def explained(one: Explanation) -> Explained:
        return Explained(
            faults=tuple(
                Suspicion(
                    place=fault.place,
                    what=fault.what,
                    words=found.plain(msgspec.structs.replace(one, faults=(fault,))),
                    support=fault.place in supports,
                )
                for fault in one.faults
            ),
            posterior=one.posterior,
            predicted=one.predicted,
        )

    return DiagnosisSeen(
        readings=tuple(
            ReadingSeen(
                words=found.words(reading),
                place=reading.place,
                kind=quantity(reading),
                measured=reading.value if reading.value is not None else math.nan,
                error=error,
                sound=sound,
            )
            for reading, error, sound in zip(
                result.readings, result.errors, result.sound, strict=True
            )
        ),
        bundles=tuple(
            Bundle(
                explanations=tuple(explained(one) for one in group.explanations),
                posterior=group.posterior,
                split=" or ".join(found.words(hint.reading) for hint in group.split),
            )
            for group in result.groups
        ),
        chance=result.chance,
        next=found.words(result.next.reading) if result.next is not None else "",
        asked=found.asked,
        cautions=found.cautions,
    )
