"""Walls of joints: their description as text, kept with the register, and what it says.

A text that cannot be read or worked out stays kept, with what is wrong in it.  Readings come
from the temperature histories of the joint; one written in the text counts where there is none.
"""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import msgspec

from takeup.errors import Refused, TakeupError, UnknownName
from takeup.register.entities import Joint, WallModel

if TYPE_CHECKING:
    from takeup.desk.site import Site
    from takeup.heat.inverse_model import Reading
    from takeup.heat.wall_study import WallInput, WallStudy

WATCH = "running median of {tag}, bellows {bellows}, to {last}"
WRITTEN = "as written with the wall"


class Kept(msgspec.Struct, frozen=True, kw_only=True):
    """A wall after it was kept."""

    model: WallModel
    faults: tuple[str, ...]
    """What stands in the way of working it out, by key"""


class Read(msgspec.Struct, frozen=True, kw_only=True):
    """The temperature of one bellows now."""

    where: str
    """From which history and until when, in words"""
    bellows: str
    """Letter; empty for a reading of the text"""
    reading: Reading
    last: dt.date | None = None


class Solved(msgspec.Struct, frozen=True, kw_only=True):
    """A wall worked out, or why not."""

    given: WallInput | None
    study: WallStudy | None
    """With the reading shown"""
    shown: Read | None
    readings: tuple[Read, ...] = ()
    """Every reading there is; the first is the one shown unless another was asked for"""
    faults: tuple[str, ...] = ()
    asked: tuple[str, ...] = ()
    """What is lacking beside the wall, in words"""


def model(site: Site, tag: str) -> WallModel | None:
    """The wall of joint ``tag`` as kept; ``None`` where there is none.

    Raises :class:`takeup.errors.UnknownName` for a joint that is not in the register.
    """
    register = site.register()
    return register.find(WallModel, register.get(Joint, tag).tag)


def keep(
    site: Site, tag: str, text: str, author: str, reason: str, *, note: str = ""
) -> Kept:  # fmt: skip
    """Keep ``text`` as the wall of joint ``tag``, whether or not it can be worked out.

    Raises :class:`takeup.errors.Refused` for an empty text or no author.
    """
    if not text.strip():
        raise Refused("the text of the wall is empty; nothing was kept")
    if not author.strip():
        raise Refused("say who keeps the wall; nothing was kept")
    joint = site.register().get(Joint, tag)
    made = WallModel(joint=joint.tag, text=text.replace("\r\n", "\n"), note=note)
    with site.change(author, reason or "wall of the joint kept") as change:
        change.put_many([made])
    return Kept(model=made, faults=solved(site, joint.tag).faults)


def solved(site: Site, tag: str, *, bellows: str = "") -> Solved:
    """Work out the wall of joint ``tag`` against its present temperature.

    ``bellows`` chooses whose history is explained.  Faults are told in the result.  Raises
    :class:`takeup.errors.UnknownName` where the joint has no wall on record.
    """
    kept = model(site, tag)
    if kept is None:
        known = [one.joint for one in site.register().all(WallModel)]
        raise UnknownName("wall of joint", tag, known)
    return looked_at(site, kept.joint, kept.text, bellows=bellows)


def looked_at(site: Site, tag: str, text: str, *, bellows: str = "") -> Solved:
    """What ``text`` would say as the wall of joint ``tag``; nothing is kept."""
    from takeup.heat.wall_study import study
    from takeup.heat.wall_text import read

    given, faults = read(text)
    if given is None:
        return Solved(given=None, study=None, shown=None, faults=faults)
    every = list(readings(site, tag))
    if given.reading is not None:
        every.append(Read(where=WRITTEN, bellows="", reading=given.reading))
    chosen = next((one for one in every if one.bellows.casefold() == bellows.casefold()), None)
    if bellows and chosen is None:
        raise UnknownName(f"bellows with a history on {tag}", bellows, [r.bellows for r in every])
    shown = chosen or (every[0] if every else None)
    whole = msgspec.structs.replace(given, reading=None if shown is None else shown.reading)
    try:
        found = study(whole, site.register().limits())
    except TakeupError as fault:
        return Solved(
            given=given, study=None, shown=shown, readings=tuple(every), faults=(str(fault),)
        )
    return Solved(
        given=given,
        study=found,
        shown=shown,
        readings=tuple(every),
        asked=_asked(given, tuple(every)),
    )


def readings(site: Site, tag: str) -> tuple[Read, ...]:
    """The present temperature of each bellows of joint ``tag`` that has a history."""
    from takeup.assess.temperature import figure
    from takeup.desk.watching import look
    from takeup.heat.inverse_model import Reading

    found = []
    for one in look(site, joints=[site.register().get(Joint, tag).tag]).histories:
        now = figure(one.report, "running_median")
        if now is None:
            continue
        where = WATCH.format(
            tag=one.report.tag, bellows=one.report.bellows, last=one.report.last.isoformat()
        )
        found.append(
            Read(
                where=where,
                bellows=one.report.bellows,
                reading=Reading(temperature=now),
                last=one.report.last,
            )
        )
    return tuple(found)


def _asked(given: WallInput, every: tuple[Read, ...]) -> tuple[str, ...]:
    found = []
    if not every:
        found.append("a temperature history of the bellows, or a table [reading]")
    if given.gas is None:
        found.append("what the gas holds, a table [gas]: no dew point, no low action line")
    if given.exposure is None:
        found.append("what happens at shutdown, a table [exposure]")
    return tuple(found)
