"""Position marks: movement is hot minus cold of the same marks, never one reading. Pure."""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Mapping, Sequence

from takeup.checks import Check, LimitKind, Quantity, does_not_apply
from takeup.checks import compare as check_of
from takeup.evidence.facts import LineState, MarkQuantity, MarkReading, Visit
from takeup.evidence.model import MarkMovement
from takeup.limits import Limits
from takeup.sources import practice

PRACTICE = practice("reading position marks hot and cold")
TAPE = 2e-3
"""m, 95 %; where no uncertainty was entered."""
INSTRUMENTS = {"caliper": 0.5e-3, "trammel": 0.5e-3, "laser": 1.5e-3, "total station": 1.5e-3}
CLOSURE = 3e-3
"""m; a larger difference between the 12+6 and 3+9 means says the readings are wrong."""

Triple = tuple[float | None, float | None, float | None]


def movements(
    readings: Sequence[MarkReading],
    visits: Sequence[Visit],
    diameters: Mapping[str, float | None],
) -> tuple[MarkMovement, ...]:
    """Movement of each bellows (or joint) from its newest hot and newest cold reading.

    ``diameters`` [m] by bellows letter turn opposite differences of length into an angle.
    Readings in one state only give an entry without movement that says so.
    """
    dated = {visit.id.casefold(): visit.date for visit in visits}
    groups: dict[tuple[str, str], list[MarkReading]] = defaultdict(list)
    for reading in readings:
        groups[reading.joint, reading.bellows].append(reading)
    found = []
    for (joint, bellows), own in sorted(groups.items()):
        hot = _newest([r for r in own if r.state == LineState.HOT], dated)
        cold = _newest([r for r in own if r.state == LineState.COLD], dated)
        if not hot or not cold:
            state = "hot" if hot else "cold" if cold else "installed"
            found.append(
                MarkMovement(
                    joint=joint,
                    bellows=bellows,
                    hot_visit=hot[0].visit if hot else None,
                    cold_visit=cold[0].visit if cold else None,
                    axial=None,
                    lateral=None,
                    angular=None,
                    uncertainty=None,
                    closure=None,
                    notes=(f"read {state} only: a position, not a movement",),
                )
            )
            continue
        found.append(_movement(joint, bellows, hot, cold, _diameter(bellows, diameters)))
    return tuple(found)


def _newest(readings: Sequence[MarkReading], dated: Mapping[str, dt.date]) -> list[MarkReading]:
    """All readings of the newest visit among them."""
    known = [reading for reading in readings if reading.visit.casefold() in dated]
    if not known:
        return []
    newest = max(known, key=lambda r: (dated[r.visit.casefold()], r.visit))
    return [reading for reading in known if reading.visit.casefold() == newest.visit.casefold()]


def _diameter(bellows: str, diameters: Mapping[str, float | None]) -> float | None:
    if bellows in diameters:
        return diameters[bellows]
    known = [value for value in diameters.values() if value is not None]
    return known[0] if known else None


def _movement(
    joint: str,
    bellows: str,
    hot: Sequence[MarkReading],
    cold: Sequence[MarkReading],
    diameter: float | None,
) -> MarkMovement:
    notes: list[str] = []
    face = _differences(hot, cold, MarkQuantity.FACE)
    axial = sum(face.values()) / len(face) if face else None
    closure = None
    if all(clock in face for clock in (12, 6, 3, 9)):
        closure = abs((face[12] + face[6]) / 2 - (face[3] + face[9]) / 2)
        if closure > CLOSURE:
            notes.append(
                f"the means of 12+6 and 3+9 differ by {closure * 1e3:.1f} mm: read the marks again"
            )
    elif face and not ({12, 6} <= face.keys() or {3, 9} <= face.keys()):
        notes.append("no opposite pair was read: tilt may hide in the axial movement")
    angular = _angle(hot, cold, face, diameter, notes)
    lateral = _lateral(hot, cold)
    lone = {r.clock for r in hot if r.quantity == MarkQuantity.FACE} ^ {
        r.clock for r in cold if r.quantity == MarkQuantity.FACE
    }
    if lone:
        notes.append(f"clocks {', '.join(map(str, sorted(lone)))} were read in one state only")
    return MarkMovement(
        joint=joint,
        bellows=bellows,
        hot_visit=hot[0].visit,
        cold_visit=cold[0].visit,
        axial=axial,
        lateral=lateral,
        angular=angular,
        uncertainty=_uncertainty(hot, cold, len(face)) if face else None,
        closure=closure,
        faces=face,
        notes=tuple(notes),
    )


def _differences(
    hot: Sequence[MarkReading], cold: Sequence[MarkReading], quantity: MarkQuantity
) -> dict[int, float]:
    """Hot minus cold [m] by clock, for clocks read in both states."""
    lengths = [
        {r.clock: r.length for r in side if r.quantity == quantity and r.length is not None}
        for side in (hot, cold)
    ]
    return {
        clock: lengths[0][clock] - lengths[1][clock]
        for clock in sorted(lengths[0].keys() & lengths[1].keys())
    }


def _angle(
    hot: Sequence[MarkReading],
    cold: Sequence[MarkReading],
    face: Mapping[int, float],
    diameter: float | None,
    notes: list[str],
) -> float | None:
    angles = [
        {r.clock: r.angle for r in side if r.quantity == MarkQuantity.ANGLE and r.angle is not None}
        for side in (hot, cold)
    ]
    both = angles[0].keys() & angles[1].keys()
    if both:
        return math.hypot(*[angles[0][clock] - angles[1][clock] for clock in sorted(both)][:2])
    tilts = []
    for a, b in ((12, 6), (3, 9)):
        if a in face and b in face:
            if diameter is None:
                notes.append("diameter between opposite marks is not known: no angle from lengths")
                return None
            tilts.append(math.atan2(face[a] - face[b], diameter))
    return math.hypot(*tilts) if tilts else None


def _lateral(hot: Sequence[MarkReading], cold: Sequence[MarkReading]) -> float | None:
    parts = []
    for quantity in (MarkQuantity.LATERAL_Y, MarkQuantity.LATERAL_Z):
        found = _differences(hot, cold, quantity)
        if found:
            parts.append(sum(found.values()) / len(found))
    return math.hypot(*parts) if parts else None


def reading_uncertainty(reading: MarkReading) -> float:
    """Uncertainty [m, 95 %] of one reading: as entered, else by instrument, else a tape's."""
    if reading.uncertainty is not None:
        return reading.uncertainty
    for word, value in INSTRUMENTS.items():
        if word in reading.instrument.casefold():
            return value
    return TAPE


def _uncertainty(hot: Sequence[MarkReading], cold: Sequence[MarkReading], count: int) -> float:
    """Of the mean movement: one reading's, times root two for two states, by root of clocks."""
    own = [reading_uncertainty(r) for r in (*hot, *cold) if r.quantity == MarkQuantity.FACE]
    return math.sqrt(2.0) * max(own) / math.sqrt(count)


def compare(
    movement: MarkMovement, expected: Triple | None, rated: Triple | None, limits: Limits
) -> tuple[Check, ...]:
    """Measured movement against theory and against the rating, axial first.

    ``expected`` and ``rated`` are (axial, lateral, angular) in m and rad, axial signed.
    Uncertainty of the reading is added before a limit is judged.
    """
    if movement.axial is None:
        return (
            does_not_apply(
                id=f"marks.theory@{movement.bellows}",
                name="Measured movement against theory",
                source=PRACTICE,
                because=movement.notes[0] if movement.notes else "no movement was measured",
            ),
        )
    checks = []
    blur = movement.uncertainty or 0.0
    theory = expected[0] if expected else None
    agree, differ = limits["movement.agree_share"], limits["movement.differ_share"]
    band = limits.value("movement.agree_band")
    if theory is None:
        checks.append(
            _check(
                "marks.theory", movement, None, None, ("expected axial movement",), agree.limit_kind
            )
        )
    else:
        away = abs(movement.axial - theory)
        allowed = max(band, agree.value * abs(theory))
        found = max(allowed, differ.value * abs(theory))
        words = (
            f"measured {movement.axial * 1e3:+.1f} mm, theory {round(theory * 1e3, 1) + 0.0:+.1f} mm, reading "
            f"uncertain by {blur * 1e3:.1f} mm"
        )
        if blur > allowed:
            words += ": too coarse a reading to judge by"
        elif movement.axial * theory < 0 and min(abs(movement.axial), abs(theory)) > band:
            words += ": wrong sign, find the cause"
        elif away > found:
            words += ": differs, find the neighbour at fault"
        elif away > allowed:
            words += ": measure again"
        checks.append(
            _check(
                "marks.theory",
                movement,
                away if blur <= allowed else None,
                allowed,
                (),
                agree.limit_kind,
                words,
            )
        )
    limit = rated[0] if rated else None
    if limit is None or limit == 0.0:
        checks.append(
            _check(
                "marks.rated", movement, None, None, ("rated axial movement",), LimitKind.PUBLISHED
            )
        )
    else:
        used = abs(movement.axial) + blur
        watch = limits["movement.watch"]
        share = used / abs(limit)
        words = (
            f"{share:.0%} of the rated axial movement is used, uncertainty of the reading included"
        )
        checks.append(
            _check("marks.rated", movement, used, abs(limit), (), LimitKind.PUBLISHED, words)
        )
        checks.append(
            _check(
                "marks.watch", movement, used, watch.value * abs(limit), (), watch.limit_kind, words
            )
        )
    return tuple(checks)


_NAMES = {
    "marks.theory": "Measured axial movement against theory",
    "marks.rated": "Measured axial movement within the rating",
    "marks.watch": "Measured axial movement below the watch share of the rating",
}


def _check(
    id: str,
    movement: MarkMovement,
    demand: float | None,
    capacity: float | None,
    missing: tuple[str, ...],
    kind: LimitKind,
    because: str = "",
) -> Check:
    place = "" if movement.bellows == "-" else f", bellows {movement.bellows}"
    return check_of(
        id=f"{id}@{movement.bellows}",
        name=_NAMES[id] + place,
        demand=demand,
        capacity=capacity,
        kind="movement",
        source=PRACTICE,
        limit_kind=kind,
        missing=missing,
        because=because,
        inputs=(
            Quantity(name="measured axial movement", value=movement.axial, kind="movement"),
            Quantity(name="uncertainty (95 %)", value=movement.uncertainty, kind="movement"),
        ),
    )
