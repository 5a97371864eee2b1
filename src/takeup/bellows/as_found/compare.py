"""As designed beside as found, check by check and figure by figure."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

from takeup.bellows.as_found.model import CheckRow, FigureRow, Variant
from takeup.bellows.model import BellowsReport
from takeup.checks import Check, Outcome

_ORDER = {
    Outcome.DOES_NOT_APPLY: 0,
    Outcome.MET: 1,
    Outcome.NOT_EVALUATED: 2,
    Outcome.NOT_MET: 3,
}


def check_rows(designed: BellowsReport, variants: Sequence[Variant]) -> tuple[CheckRow, ...]:
    """Every check of either report, in the order of the design's; the worst variant counts.

    Open is worse than met: what one variant leaves open is never covered by another that holds.
    """
    before = {check.id: check for check in designed.checks}
    after: dict[str, tuple[Check, str]] = {}
    for variant in variants:
        for check in _checks(variant, before):
            held = after.get(check.id)
            if held is None or _worse(check, held[0]):
                after[check.id] = (check, variant.name)
    rows = [
        _row(before.get(id), *after.get(id, (None, ""))) for id in dict.fromkeys([*before, *after])
    ]
    return tuple(rows)


def _checks(variant: Variant, before: dict[str, Check]) -> list[Check]:
    """The variant's checks; where its input cannot be true, the design's, left open."""
    found = list(variant.report.checks)
    if not refused(variant.report):
        return found
    because = f"{variant.name}: {found[0].because}"
    return found + [
        msgspec.structs.replace(
            check, outcome=Outcome.NOT_EVALUATED, demand=None, capacity=None, because=because
        )
        for check in before.values()
    ]


def refused(report: BellowsReport) -> bool:
    """Whether nothing was worked out because the input cannot be true."""
    return [check.id for check in report.checks] == ["input"]


def _worse(one: Check, other: Check) -> bool:
    first, second = _ORDER[one.outcome], _ORDER[other.outcome]
    return first > second or (first == second and (one.ratio or 0.0) > (other.ratio or 0.0))


def _row(before: Check | None, after: Check | None, variant: str) -> CheckRow:
    shown = after or before
    assert shown is not None
    old, new = _ratio(before), _ratio(after)
    was = before.outcome if before else Outcome.NOT_EVALUATED
    now = after.outcome if after else Outcome.NOT_EVALUATED
    # Under one id the rule may have changed, as it does in the creep range.
    same = before is None or after is None or before.name == after.name
    change = None
    if old and new is not None and same and math.isfinite(new / old):
        change = new / old - 1.0
    crosses = was == Outcome.MET and now == Outcome.NOT_MET
    return CheckRow(
        id=shown.id,
        name=shown.name,
        designed=old,
        found=new,
        designed_outcome=was,
        found_outcome=now,
        change=change,
        crosses=crosses,
        variant=variant,
        words=_words(shown, old, new, was, now, change, after),
        provisional=any(one.provisional for one in (before, after) if one is not None),
        source=shown.source,
        cautions=shown.cautions,
    )


def _ratio(check: Check | None) -> float | None:
    if check is None or check.outcome not in {Outcome.MET, Outcome.NOT_MET}:
        return None
    return check.ratio


def named(check_id: str, name: str) -> str:
    """A check with its condition or movement, for people."""
    _, _, place = check_id.partition("@")
    return f"{name} ({place})" if place else name


def _words(
    check: Check,
    old: float | None,
    new: float | None,
    was: Outcome,
    now: Outcome,
    change: float | None,
    after: Check | None,
) -> str:
    title = named(check.id, check.name)
    if now == Outcome.DOES_NOT_APPLY:
        return f"{title}: does not apply."
    if new is None:
        why = after.because.rstrip(".") if after is not None and after.because else "not known"
        told = f"; as designed {_share(old)} of what is allowed" if old is not None else ""
        return f"{title}: not evaluated as found ({why}){told}."
    moved = "" if change is None or abs(change) < 5e-4 else f" ({change:+.0%})"
    told = f"{_share(old)} as designed, " if old is not None else "open as designed, "
    end = {
        (Outcome.MET, Outcome.MET): "still met",
        (Outcome.MET, Outcome.NOT_MET): "no longer met",
        (Outcome.NOT_MET, Outcome.MET): "met now, not met as designed",
        (Outcome.NOT_MET, Outcome.NOT_MET): "not met, nor as designed",
    }.get((was, now), now.value)
    return f"{title}: uses {told}{_share(new)} of what is allowed as found{moved}: {end}."


def _share(ratio: float | None) -> str:
    if ratio is None:
        return "unknown"
    return f"{ratio:.0%}" if ratio < 10.0 else "over ten times"


def figure_rows(designed: BellowsReport, variants: Sequence[Variant]) -> tuple[FigureRow, ...]:
    """Every figure of the design, with the span it has over the variants."""
    rows = []
    for figure in designed.figures:
        values = [
            found.value
            for variant in variants
            if (found := variant.report.figure(figure.id)) is not None and found.value is not None
        ]
        rows.append(
            FigureRow(
                id=figure.id,
                name=figure.name,
                symbol=figure.symbol,
                kind=figure.kind,
                designed=figure.value,
                low=min(values, default=None),
                high=max(values, default=None),
                source=figure.source,
            )
        )
    return tuple(rows)
