"""Gather all facts about joints into the cases that verdicts are made from."""

from __future__ import annotations

import datetime as dt
import functools
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from takeup.errors import TakeupError
from takeup.progress import Progress, part, silent

if TYPE_CHECKING:
    from takeup.assess.model import JointCase
    from takeup.assess.theory import Theory
    from takeup.desk.site import Site
    from takeup.evidence.facts import TemperatureSeries
    from takeup.evidence.model import DailyTemperature
    from takeup.limits import Limits
    from takeup.register.entities import Outage


def cases(
    site: Site,
    *,
    today: dt.date | None = None,
    tags: Sequence[str] | None = None,
    theory: bool = True,
    progress: Progress = silent,
) -> tuple[JointCase, ...]:
    """Build one case for each joint, or for ``tags`` only, as the register stands.

    With ``theory`` the model of each line is worked out, once for all joints on it; without,
    the cases are as if no line had a model.

    Raises :class:`takeup.errors.UnknownName` for an unknown tag and
    :class:`takeup.errors.TakeupError` for a joint whose line is not in the register.
    """
    from takeup.assess.lives import by_service
    from takeup.assess.model import JointCase
    from takeup.evidence.facts import (
        InterplyReading,
        InterplyTest,
        MarkReading,
        Measured,
        Observation,
        TemperatureSeries,
        Visit,
    )
    from takeup.register.entities import (
        AttachmentModel,
        BellowsElement,
        Hardware,
        Joint,
        LifeEvent,
        Line,
        LineModel,
        MovementCase,
        ProcessUnit,
        Support,
        WallModel,
    )

    register = site.register()
    today = today or site.today()
    limits = register.limits()
    joints = register.all(Joint)
    chosen = joints if tags is None else tuple(register.get(Joint, tag) for tag in tags)

    visit_dates = {visit.id.casefold(): visit.date for visit in register.all(Visit)}
    events = {joint.tag.casefold(): register.of_joint(LifeEvent, joint.tag) for joint in joints}
    looks = {
        joint.tag.casefold(): sorted(
            {
                visit_dates[seen.visit.casefold()]
                for seen in register.of_joint(Observation, joint.tag)
                if seen.visit.casefold() in visit_dates
            }
        )
        for joint in joints
    }
    lines = {line.tag.casefold(): line for line in register.all(Line)}
    served = [
        (joint, lines[joint.line.casefold()].service.value)
        for joint in joints
        if joint.line.casefold() in lines
    ]
    lives = by_service(served, events, looks, today=today)

    share = 0.5 if theory and register.all(LineModel) else 1.0
    built = []
    for number, joint in enumerate(chosen):
        progress(share * number / max(1, len(chosen)), f"gathering {joint.tag}")
        line = lines.get(joint.line.casefold())
        if line is None:
            raise TakeupError(
                f"joint {joint.tag} names line {joint.line!r}, which is not in the register; "
                "add the line or correct the joint"
            )
        observations = register.of_joint(Observation, joint.tag)
        seen = {observation.visit.casefold() for observation in observations}
        marks = register.of_joint(MarkReading, joint.tag)
        seen |= {mark.visit.casefold() for mark in marks}
        visits = tuple(
            sorted(
                (v for v in register.all(Visit) if v.id.casefold() in seen),
                key=lambda visit: (visit.date, visit.id),
            )
        )
        order = {visit.id.casefold(): place for place, visit in enumerate(visits)}
        temperatures = [
            (series.bellows, series.tag, daily_of(site, series, limits))
            for series in register.of_joint(TemperatureSeries, joint.tag)
            if series.measures == Measured.BELLOWS
        ]
        supports = sorted(
            register.of_line(Support, line.tag),
            key=lambda support: (support.position is None, support.position or 0.0, support.tag),
        )
        built.append(
            JointCase(
                today=today,
                plant=register.plant,
                unit=register.find(ProcessUnit, line.unit),
                line=line,
                joint=joint,
                bellows=tuple(
                    sorted(register.of_joint(BellowsElement, joint.tag), key=lambda b: b.letter)
                ),
                movements=register.of_joint(MovementCase, joint.tag),
                hardware=register.of_joint(Hardware, joint.tag),
                supports=tuple(supports),
                events=tuple(sorted(events[joint.tag.casefold()], key=lambda e: e.date)),
                visits=visits,
                observations=tuple(
                    sorted(observations, key=lambda o: (order.get(o.visit.casefold(), -1), o.item))
                ),
                marks=marks,
                tests=tuple(
                    sorted(register.of_joint(InterplyTest, joint.tag), key=lambda t: t.date)
                ),
                readings=tuple(
                    sorted(
                        register.of_joint(InterplyReading, joint.tag),
                        key=lambda r: (r.date, r.bellows, r.minute),
                    )
                ),
                temperatures=tuple(temperatures),
                next_outage=register.next_outage(line.unit, today),
                second_outage=register.second_outage(line.unit, today),
                run_start=_run_start(register.outages(line.unit), today),
                history=lives.get(line.service.value, ()),
                limits=limits,
                wall_model=register.find(WallModel, joint.tag),
            )
        )
    if register.all(AttachmentModel):
        from takeup.desk.attachments import attached

        built = [msgspec.structs.replace(one, attachments=attached(site, one)) for one in built]
    if theory:
        built = _with_theory(site, built, today, part(progress, share, 1.0))
    progress(1.0, "gathered")
    return tuple(built)


def _with_theory(
    site: Site, built: list[JointCase], today: dt.date, progress: Progress
) -> list[JointCase]:
    """The cases with what the model of their line says; marks of all joints on it count."""
    from takeup.desk.theory import worked
    from takeup.register.entities import Joint, LineModel

    register = site.register()
    known = {case.joint.tag.casefold(): case for case in built}
    found: dict[str, Theory | None] = {}
    for number, case in enumerate(built):
        tag = case.line.tag
        if tag.casefold() in found:
            continue
        if register.find(LineModel, tag) is None:
            found[tag.casefold()] = None
            continue
        progress(number / len(built), f"working out line {tag}")
        on = [joint.tag for joint in register.of_line(Joint, tag)]
        absent = [one for one in on if one.casefold() not in known]
        others = cases(site, today=today, tags=absent, theory=False) if absent else ()
        every = known | {one.joint.tag.casefold(): one for one in others}
        made = worked(site, tag, [every[one.casefold()] for one in on])
        found[tag.casefold()] = None if made is None else made.theory
    return [
        case
        if found[case.line.tag.casefold()] is None
        else msgspec.structs.replace(case, theory=found[case.line.tag.casefold()])
        for case in built
    ]


def _run_start(outages: Sequence[Outage], today: dt.date) -> dt.date | None:
    ends = [one.start + dt.timedelta(seconds=one.window) for one in outages if one.start <= today]
    return max((end for end in ends if end <= today), default=None)


def daily_of(site: Site, series: TemperatureSeries, limits: Limits) -> DailyTemperature:
    """Daily figures of a history on record against the action lines of the site."""
    return _daily_cached(
        tuple(str(site.series_folder / name) for name in series.files),
        series.tag,
        limits.value("temperature.low_from"),
        limits.value("temperature.low_to"),
        limits.value("temperature.high"),
    )


@functools.lru_cache(maxsize=512)
def _daily_cached(
    paths: tuple[str, ...], tag: str, low_from: float, low_to: float, high: float
) -> DailyTemperature:
    # files are named by content, so their paths are a safe key
    from takeup.register.series import daily

    files = [Path(path) for path in paths]
    return daily(files, tag, low_from=low_from, low_to=low_to, high=high)
