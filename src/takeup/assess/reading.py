"""Reading the evidence of a case: newest first, stale told apart, grades to levels. Pure."""

from __future__ import annotations

import datetime as dt
import functools
from collections.abc import Iterable, Iterator, Sequence

import msgspec

from takeup.assess.lives import in_service_since, years
from takeup.assess.model import SEVERITY, JointCase, Level
from takeup.bellows.model import BellowsReport
from takeup.checks import Check, Finding, Ground, Strength
from takeup.evidence.facts import Observation, Visit
from takeup.evidence.interply import shows_loss
from takeup.evidence.model import InterplyResult, PlyVerdict, TemperatureReport
from takeup.register.entities import EventKind
from takeup.sources import practice

YEAR = 365.25 * 86400.0
ROOM = 293.15
"""Ambient metal temperature of a pressure test, 20 °C [K]."""

LEVEL_OF_GRADE = {
    0: Level.CARRIES_ON,
    1: Level.CARRIES_ON,
    2: Level.THIS_RUN,
    3: Level.IN_DOUBT,
    4: Level.ACT_NOW,
}
_RENEWAL = frozenset({EventKind.INSTALLED, EventKind.REPLACED, EventKind.CLAMSHELL})
GRADES = practice("inspectors' grades 0 to 4")


def worst(levels: Iterable[Level]) -> Level:
    """The most worrying of some levels; CARRIES_ON when there are none."""
    return max(levels, key=SEVERITY.__getitem__, default=Level.CARRIES_ON)


def visit_of(case: JointCase, id: str) -> Visit | None:
    """The visit called ``id``."""
    return _visits(case).get(id.casefold())


@functools.lru_cache(maxsize=4)
def _visits(case: JointCase) -> dict[str, Visit]:
    # the newest cases only: a case is judged by all mechanisms before the next one
    return {visit.id.casefold(): visit for visit in reversed(case.visits)}


def date_of(case: JointCase, seen: Observation) -> dt.date | None:
    """When an observation was made."""
    visit = visit_of(case, seen.visit)
    return visit.date if visit else None


def standing(case: JointCase, codes: Iterable[str] | None = None) -> tuple[Observation, ...]:
    """Observations that still stand: of each item and place the newest.

    What was seen before the present bellows set was installed is history and does not count.
    ``codes`` are codes or, ending in ``*``, beginnings of codes.
    """
    if codes is None:
        return _standing(case)
    wanted = tuple(code.upper() for code in codes)
    exact = frozenset(wanted)
    starts = tuple(code[:-1] for code in wanted if code.endswith("*"))
    return tuple(
        seen
        for seen in _standing(case)
        if (code := seen.item.upper()) in exact or code.startswith(starts)
    )


@functools.lru_cache(maxsize=4)
def _standing(case: JointCase) -> tuple[Observation, ...]:
    since = in_service_since(case.joint, case.events, case.today)
    newest: dict[tuple[str, str], tuple[dt.date, Observation]] = {}
    for seen in case.observations:
        date = date_of(case, seen)
        if date is None or date > case.today or (since is not None and date < since):
            continue
        place = (seen.item.upper(), seen.place.casefold())
        if place not in newest or date >= newest[place][0]:
            newest[place] = (date, seen)
    return tuple(seen for _, seen in sorted(newest.values(), key=lambda pair: pair[1].item))


def renewed(case: JointCase, letter: str) -> dt.date | None:
    """Since when one bellows is in place: evidence from before is about another one.

    A renewal without a letter counts for all bellows of the joint, as does installation.
    """
    since = in_service_since(case.joint, case.events, case.today)
    dates = [
        event.date
        for event in case.events
        if event.kind in _RENEWAL
        and event.date <= case.today
        and (event.bellows in {"", "-"} or event.bellows.casefold() == letter.casefold())
    ]
    return max([*dates, *([since] if since is not None else [])], default=None)


def is_current(case: JointCase, date: dt.date, limit: str = "evidence.stale") -> bool:
    """Whether evidence of that date still counts as current, by the site's limit."""
    return (case.today - date).days * 86400.0 <= case.limits.value(limit)


def findings(
    case: JointCase, codes: Sequence[str], subject: str = ""
) -> tuple[tuple[Finding, ...], Level]:
    """Findings from standing observations of some items, and the level they lead to."""
    from takeup.errors import UnknownName
    from takeup.evidence.checklist import item

    found = []
    for seen in standing(case, codes):
        if seen.grade is None:
            continue
        try:
            known = item(seen.item)
            title, action, cautions = known.title, known.next, known.cautions
            rule, source, kind = known.accept, known.source, known.limit_kind
        except UnknownName:
            title, action, cautions = seen.item, "", ()
            rule, source, kind = "grade given by the inspector", GRADES, None
        date = date_of(case, seen)
        place = "" if seen.place in {"", "-"} else f" at {seen.place}"
        said = f": {seen.text}" if seen.text else ""
        ground = Ground(
            claim=f"{title}{place}, grade {seen.grade}{said}",
            evidence=(seen.ref,),
            rule=f"seen {date.isoformat() if date else 'at an unknown date'}; accepted: {rule}",
            source=source,
            strength=Strength.MEASURED if seen.value is not None else Strength.RECORDED,
            **({"limit_kind": kind} if kind is not None else {}),
        )
        found.append(
            Finding(
                id=f"{seen.item.upper()}@{seen.place}",
                subject=subject or case.joint.tag,
                title=f"{title}{place}",
                grade=seen.grade,
                ground=ground,
                action=action if seen.grade >= 2 else "",
                cautions=cautions if seen.grade >= 2 else (),
            )
        )
    found.sort(key=lambda finding: (-finding.grade, finding.id))
    return tuple(found), worst(LEVEL_OF_GRADE[finding.grade] for finding in found)


def looked_at(case: JointCase, codes: Sequence[str]) -> dt.date | None:
    """The newest date on which any of some items was looked at."""
    dates = [date for seen in standing(case, codes) if (date := date_of(case, seen)) is not None]
    return max(dates, default=None)


def grounds_of(found: Iterable[Finding], least: int = 2) -> tuple[Ground, ...]:
    """The grounds of findings of at least a grade, worst first."""
    return tuple(finding.ground for finding in found if finding.grade >= least)


def answer(case: JointCase, code: str) -> Observation | None:
    """The newest standing observation of an item, wherever on the joint."""
    seen = standing(case, (code,))
    dated = [(date_of(case, one) or dt.date.min, one) for one in seen]
    return max(dated, key=lambda pair: pair[0])[1] if dated else None


def metal_temperature(
    case: JointCase, letter: str, reports: Sequence[TemperatureReport]
) -> tuple[float | None, str, Strength]:
    """Operating metal temperature [K] of one bellows: measured, else recorded, else unknown.

    Never the gas temperature: a bellows stands off the hot pipe.
    """
    for report in reports:
        if report.bellows.casefold() != letter.casefold():
            continue
        latest = next((f for f in report.figures if f.id == "running_median"), None)
        if latest is not None and latest.value is not None:
            return latest.value, f"running median of {report.tag}", Strength.MEASURED
    for one in case.bellows:
        if one.letter.casefold() == letter.casefold() and one.metal_temperature is not None:
            return one.metal_temperature, "metal temperature on record", Strength.RECORDED
    return None, "not known", Strength.ASSUMED


def lettered(reports: Sequence[tuple[str, BellowsReport]]) -> Iterator[Check]:
    """All checks of the bellows of a joint; of several bellows each is named in its checks."""
    for letter, report in reports:
        for check in report.checks:
            name = f"{check.name}, bellows {letter}" if len(reports) > 1 else check.name
            yield msgspec.structs.replace(check, name=name)


def governing_test(results: Iterable[InterplyResult], letter: str) -> InterplyResult | None:
    """The interply test that speaks for one bellows of the present set.

    An inner ply found leaking stays found: no later test makes it whole, only a new bellows
    does.  Otherwise the newest conclusive test governs, and an inconclusive one only where
    there is no other, or where it lost gas after an older test was tight.
    """
    own = sorted(
        (r for r in results if r.bellows.casefold() == letter.casefold()), key=lambda r: r.date
    )
    inner = [r for r in own if r.verdict == PlyVerdict.INNER]
    conclusive = [r for r in own if r.verdict != PlyVerdict.INCONCLUSIVE]
    chosen = inner or conclusive or own
    if not inner and conclusive and conclusive[-1].verdict == PlyVerdict.TIGHT:
        chosen += [r for r in own if r.date > chosen[-1].date and shows_loss(r)]
    return chosen[-1] if chosen else None


def age_years(case: JointCase) -> float | None:
    """Years the present bellows set has been in service; ``None`` when not known.

    A set that is yet to be installed, or a slip in the date, has no age.
    """
    since = in_service_since(case.joint, case.events, case.today)
    return years(since, case.today) if since is not None and since <= case.today else None


def horizons(case: JointCase) -> tuple[float | None, float | None]:
    """Years from today to the next and to the second outage."""
    following, second = (
        years(case.today, outage.start) if outage is not None else None
        for outage in (case.next_outage, case.second_outage)
    )
    return following, second
