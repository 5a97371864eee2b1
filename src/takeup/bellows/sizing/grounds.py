"""What a search says for itself: what binds, and what would have to give."""

from __future__ import annotations

from collections.abc import Callable

from takeup.bellows.model import BellowsCase, BellowsReport
from takeup.bellows.rules import rules_of
from takeup.bellows.sizing import space
from takeup.bellows.sizing.judge import ALONE, RATE, Tally, family
from takeup.bellows.sizing.model import Excluded, NearMiss, SizingTask
from takeup.checks import Ground, LimitKind, Strength
from takeup.sources import Source, Standing
from takeup.units import System, shown

SEARCH = Source(
    document="Takeup",
    at="exhaustive search of the discrete space; every candidate by the rule set named",
    standing=Standing.DERIVED,
)
SHOWN = 3
"""Binding checks named in grounds."""
_SHAPE = {
    "geometry.length": "Convoluted length N q within the rule set",
    "geometry.thickness": "Total thickness n t within the rule set",
    "geometry.plies": "Number of plies within the rule set",
    "geometry.height": "Convolution height within the rule set",
    "geometry.side_wall": "Lean of the side walls within the rule set",
    "geometry.radius": "Inside radius of crest and root within the rule set",
    "geometry.charts": "Chart parameter C2 within the charts",
    "closing": "Gap between neighbouring convolutions under movement",
    "creep": "Metal temperature below the creep range",
    "usage": "Sum of fatigue damage",
    RATE + "axial_rate": "Axial rate within the task's limit",
    RATE + "lateral_rate": "Lateral rate within the task's limit",
    RATE + "angular_rate": "Angular rate within the task's limit",
}


def words(id: str, report: BellowsReport | None = None) -> str:
    """A check id in words: the name it has in a report, with its condition or movement."""
    if id.startswith(ALONE):
        return f"{words(id.removeprefix(ALONE), report)}, one ply lost"
    name, _, where = id.partition("@")
    named = None
    if report is not None:
        named = next((check.name for check in report.checks if family(check.id) == name), None)
    text = named or _SHAPE.get(name) or name.replace("_", " ")
    return f"{text} at {where}" if where else text


def failed(
    tally: Tally, report: BellowsReport | None
) -> tuple[tuple[Excluded, ...], tuple[Excluded, ...]]:
    """Counts by check family, and by check; most excluding first, those that exclude none last."""

    def name(id: str) -> str:
        return words(id, report)

    families = [
        Excluded(what=name(id), id=id, count=count, alone=tally.alone.get(id, 0))
        for id, count in tally.families.items()
    ]
    checks = [
        Excluded(what=name(id), id=id, count=count, open=tally.open.get(id, 0))
        for id, count in tally.failed.items()
    ]
    return _ordered(families), _ordered(checks)


def _ordered(found: list[Excluded]) -> tuple[Excluded, ...]:
    return tuple(sorted(found, key=lambda one: (-one.count, one.id)))


def excluded(counts: dict[str, int]) -> tuple[Excluded, ...]:
    """Rows that were not worked out, by reason."""
    return tuple(
        Excluded(what=space.REASONS[id], id=id, count=count) for id, count in counts.items()
    )


def binding(task: SizingTask, evaluated: int, families: tuple[Excluded, ...]) -> list[Ground]:
    """Grounds that name the checks which exclude most."""
    if evaluated == 0:
        return []
    return [
        _ground(
            task,
            f"{one.what} excludes {one.count:,} of {evaluated:,} candidates worked out, "
            f"{one.alone:,} of them by itself.",
        )
        for one in families[:SHOWN]
        if one.count
    ]


def nothing_inside(task: SizingTask, space_size: int, reasons: tuple[Excluded, ...]) -> Ground:
    """The ground where the envelope or the shape excludes every row."""
    most = max(reasons, key=lambda one: one.count)
    return _ground(
        task,
        f"None of {space_size:,} combinations can be worked out: {most.count:,} fall to "
        f"{most.what}.",
    )


def envelope(task: SizingTask) -> str:
    """The envelope in words."""
    parts = []
    if task.outside_diameter is not None:
        parts.append(f"outside diameter {_mm(task.outside_diameter)}")
    if task.live_length is not None:
        parts.append(f"live length {_mm(task.live_length)}")
    if task.length_over_both is not None:
        parts.append(f"length over both {_mm(task.length_over_both)}")
    return " and ".join(parts) or "the space given"


def nearest(
    task: SizingTask,
    tally: Tally,
    case: Callable[[int], BellowsCase],
    report: BellowsReport | None,
) -> tuple[tuple[NearMiss, ...], list[Ground]]:
    """The nearest misses and the ground that they give."""
    misses = tuple(
        NearMiss(number=number, case=case(number), worst=worst, failing=failing)
        for worst, number, failing in tally.misses
    )
    if not misses:
        return (), []
    first = misses[0]
    over = "; ".join(f"{words(id, report)} by {use:.3f}" for id, use in first.failing[:SHOWN])
    return misses, [
        _ground(
            task,
            f"No candidate within {envelope(task)}: the nearest ({shape(first.case)}) exceeds "
            f"{over} of what is allowed.",
        )
    ]


def unmeasured(task: SizingTask, checks: tuple[Excluded, ...], evaluated: int) -> list[Ground]:
    """Checks that no candidate could be held against: a missing input is never a pass."""
    return [
        _ground(
            task,
            f"{one.what} could not be evaluated for any candidate, so none counts as checked.",
        )
        for one in checks
        if one.open == evaluated > 0
    ]


def relaxed(
    task: SizingTask, what: str, fits: int, needed: float | None, kind: str = "length"
) -> Ground:
    """What lifting one limit alone would do."""
    if not fits or needed is None:
        claim = f"Lifting the limit on {what} alone does not help."
    else:
        claim = (
            f"With the limit on {what} lifted alone, {fits:,} candidates fit; the least that any "
            f"needs is {shown(needed, kind, System.METRIC)}."
        )
    return _ground(task, claim)


def shape(case: BellowsCase) -> str:
    """A bellows in one line."""
    height = case.height or 0.0
    ring = f", rings {case.ring_area * 1e6:.0f} mm²" if case.ring_area else ""
    return (
        f"{case.material}, {case.plies} x {case.ply_thickness * 1e3:.4g} mm, w {_mm(height)}, "
        f"q {_mm(case.pitch)}, N {case.convolutions}{ring}"
    )


def _mm(value: float) -> str:
    return f"{value * 1e3:.6g} mm"


def _ground(task: SizingTask, claim: str) -> Ground:
    rules = rules_of(task.basis)
    return Ground(
        claim=claim,
        rule=f"every candidate by {rules.basis.value}, each check with its own clause in the report",
        source=SEARCH,
        limit_kind=LimitKind.DERIVED,
        strength=Strength.CALCULATED,
    )


__all__ = [
    "binding",
    "envelope",
    "excluded",
    "failed",
    "nearest",
    "nothing_inside",
    "relaxed",
    "shape",
    "unmeasured",
    "words",
]
