"""The watch over bellows temperatures: what asks for a person, kept until a person answers.

Looking writes only alerts that are new: one a cause and tag stays open until somebody closes it,
however often it is looked.  An alert whose cause has gone is told as quiet and stays.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import TYPE_CHECKING

import msgspec

from takeup.errors import MissingInput, OutOfRange, Refused, UnknownName
from takeup.evidence.facts import Alert, AlertState
from takeup.progress import Progress, part, silent

if TYPE_CHECKING:
    from takeup.assess.model import JointCase
    from takeup.desk.site import Site
    from takeup.evidence.alerts import Proposal
    from takeup.evidence.facts import TemperatureSeries
    from takeup.evidence.model import DailyTemperature, TemperatureReport
    from takeup.units import Array


LEAST_EXPLAINED = 0.05
"""Share of what the days differ by below which load and weather are not worth taking out"""


class Watched(msgspec.Struct, frozen=True, kw_only=True):
    """One history as it stands."""

    report: TemperatureReport
    daily: DailyTemperature
    proposals: tuple[Proposal, ...]
    standing: tuple[Alert, ...]
    """Alerts of this tag that nobody closed, oldest first"""
    quiet: tuple[Alert, ...]
    """Those of them whose cause is not seen any more"""
    apart: tuple[str, ...] = ()
    """What was taken out before sudden changes were looked for, and what could not be, in words"""


class Looked(msgspec.Struct, frozen=True, kw_only=True):
    """What a look found."""

    histories: tuple[Watched, ...]
    new: tuple[Alert, ...]
    """Alerts that stand on no record yet"""
    today: dt.date


def look(
    site: Site, *, today: dt.date | None = None, joints: Sequence[str] | None = None,
    progress: Progress = silent,
) -> Looked:  # fmt: skip
    """Judge every history, or those of ``joints``; nothing is written.

    Raises :class:`takeup.errors.UnknownName` for an unknown joint.
    """
    from takeup.desk.cases import cases
    from takeup.evidence.alerts import propose
    from takeup.evidence.temperature import watch

    gathered = cases(site, today=today, tags=joints, theory=False, progress=part(progress, 0, 0.5))
    alerts = site.register().all(Alert)
    histories: list[Watched] = []
    new: list[Alert] = []
    date = today or site.today()
    for number, case in enumerate(gathered):
        progress(0.5 + 0.5 * number / max(1, len(gathered)), f"watching {case.joint.tag}")
        for letter, tag, daily in case.temperatures:
            report = watch(
                daily,
                joint=case.joint.tag,
                bellows=letter,
                limits=case.limits,
                today=case.today,
                outage=case.next_outage.start if case.next_outage else None,
                run_start=case.run_start,
            )
            condition, apart = load_and_weather(site, case, daily)
            found = propose(
                report, daily, limits=case.limits, today=case.today, condition=condition
            )
            standing = tuple(
                sorted(
                    (
                        one
                        for one in alerts
                        if one.tag.casefold() == tag.casefold() and one.state != AlertState.CLOSED
                    ),
                    key=lambda one: (one.opened, one.cause.value),
                )
            )
            seen = {one.kind for one in found}
            kept = {one.cause for one in standing}
            new += [
                Alert(
                    tag=tag, cause=one.kind, opened=date, joint=one.joint, since=one.since,
                    why=one.why,
                )
                for one in found
                if one.kind not in kept and not _answered(alerts, tag, one)
            ]  # fmt: skip
            histories.append(
                Watched(
                    report=report,
                    daily=daily,
                    proposals=found,
                    standing=standing,
                    quiet=tuple(one for one in standing if one.cause not in seen),
                    apart=apart,
                )
            )
    return Looked(histories=tuple(histories), new=tuple(new), today=date)


class Likely(msgspec.Struct, frozen=True, kw_only=True):
    """A cause of what a history shows, by the heat balance of the joint's wall."""

    words: str
    probability: float
    look: str


LEAST_LIKELY = 0.05
"""Causes less likely than this are not listed"""


def causes(site: Site, looked: Looked) -> dict[str, tuple[Likely, ...]]:
    """By tag: what explains the present temperature of each history that asks, likeliest first.

    Only for joints whose wall is on record and can be worked out; the balance knows the causes it
    looks for, and the page of the wall tells its cautions.
    """
    from takeup.desk import heat

    found: dict[str, tuple[Likely, ...]] = {}
    for one in looked.histories:
        joint = one.report.joint
        if not one.proposals or heat.model(site, joint) is None:
            continue
        study = heat.solved(site, joint, bellows=one.report.bellows).study
        if study is None or study.inverse is None:
            continue
        found[one.report.tag] = tuple(
            Likely(words=cause.title, probability=cause.probability, look=cause.look)
            for cause in sorted(study.inverse.causes, key=lambda c: -c.probability)
            if cause.probability >= LEAST_LIKELY
        )
    return found


def load_and_weather(
    site: Site, case: JointCase, daily: DailyTemperature
) -> tuple[Array | None, tuple[str, ...]]:
    """Daily medians without what they owe to medium and air [K], and what was done, in words.

    The medium is one of the joint or else of its line; the air one of the joint, its line or else
    of the site.  ``None`` where neither is on record or they do not suffice; the words say so.
    """
    from takeup.evidence.separate import of_watch

    drivers = _drivers(site, case)
    if not drivers:
        return None, ()
    import numpy as np

    from takeup.desk.cases import daily_of

    columns: dict[str, Array] = {}
    tags: dict[str, str] = {}
    for name, series in drivers.items():
        figures = daily_of(site, series, case.limits)
        at = np.searchsorted(figures.day, daily.day)
        at = np.minimum(at, max(0, figures.day.size - 1))
        column = np.full(daily.day.size, np.nan)
        if figures.day.size:
            column = np.where(figures.day[at] == daily.day, figures.median[at], np.nan)
        columns[name], tags[name] = column, series.tag
    try:
        found = of_watch(daily.day, daily.median, columns)
    except (MissingInput, OutOfRange) as fault:
        said = ", ".join(f"{name} {tag}" for name, tag in tags.items())
        return None, (f"{said} not taken out: {fault}",)
    if not found.by:
        return None, found.notes
    if found.explained < LEAST_EXPLAINED:
        said = " or ".join(f"{name} {tags[name]}" for name in found.by)
        return None, (f"it does not follow {said}: nothing is taken out", *found.notes)
    parts = [
        f"{found.by[name]:.2f} ± {1.96 * found.spread[name]:.2f} K per K of {name} {tags[name]}"
        for name in found.by
    ]
    return found.condition, (
        f"sudden changes are looked for with load and weather taken out: {', '.join(parts)} "
        f"(95 %), {found.explained:.0%} of what the days differ by",
        *found.notes,
    )


def _drivers(site: Site, case: JointCase) -> dict[str, TemperatureSeries]:
    """The nearest history of the medium and of the air."""
    from takeup.evidence.facts import Measured, TemperatureSeries
    from takeup.register.entities import Joint

    register = site.register()
    lines = {joint.tag.casefold(): joint.line.casefold() for joint in register.all(Joint)}

    def distance(one: TemperatureSeries) -> int:
        if one.joint.casefold() == case.joint.tag.casefold():
            return 0
        return 1 if lines.get(one.joint.casefold()) == case.line.tag.casefold() else 2

    found: dict[str, TemperatureSeries] = {}
    for kind, name, farthest in ((Measured.MEDIUM, "medium", 1), (Measured.AIR, "air", 2)):
        fits = [
            one
            for one in register.all(TemperatureSeries)
            if one.measures == kind and distance(one) <= farthest
        ]
        if fits:
            found[name] = min(fits, key=lambda one: (distance(one), one.tag))
    return found


def _answered(alerts: Sequence[Alert], tag: str, one: Proposal) -> bool:
    """Whether a person has already closed an alert of this very cause.

    A change or stretch that began at the same time, to two weeks, is the same one: closed once,
    it is not opened again.
    """
    closed = [
        a
        for a in alerts
        if a.tag.casefold() == tag.casefold()
        and a.cause == one.kind
        and a.state == AlertState.CLOSED
    ]
    return any(abs((a.since - one.since).days) <= 14 for a in closed)


def open_new(site: Site, author: str, *, today: dt.date | None = None) -> Looked:
    """Look, and keep the new alerts as one change; nothing is written where nothing is new."""
    if not author.strip():
        raise Refused("alerts are kept under a name: say who looks")
    found = look(site, today=today)
    if found.new:
        from takeup.desk.record import facts

        facts(site, found.new, author, f"{len(found.new)} temperature alerts opened")
    return found


def answer(
    site: Site, tag: str, cause: str, author: str, note: str, *, close: bool = False
) -> Alert:  # fmt: skip
    """Acknowledge the open alert of ``tag`` and ``cause``, or close it; say what was found.

    Raises :class:`UnknownName` where none is open, :class:`Refused` without a name or words.
    """
    if not author.strip():
        raise Refused("an alert is answered by somebody: say who you are")
    if not note.strip():
        raise Refused("say what was found or done; an alert is not waved away")
    known = [one for one in site.register().all(Alert) if one.state != AlertState.CLOSED]
    mine = [
        one for one in known if one.tag.casefold() == tag.casefold() and one.cause.value == cause
    ]
    if not mine:
        raise UnknownName("open alert", f"{tag}, {cause}", [f"{a.tag}, {a.cause}" for a in known])
    made = msgspec.structs.replace(
        mine[-1],
        state=AlertState.CLOSED if close else AlertState.ACKNOWLEDGED,
        by=author,
        note=note,
    )
    with site.change(author, f"alert {'closed' if close else 'acknowledged'}: {note}") as change:
        change.put_many([made])
    return made
