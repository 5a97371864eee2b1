"""The verb record: what was seen, read or happened, each as one change."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from takeup.errors import Contradiction, Refused, TakeupError, UnknownName
from takeup.fields import Fact

if TYPE_CHECKING:
    from takeup.desk.site import Site
    from takeup.evidence.facts import (
        InterplyReading,
        InterplyTest,
        Measured,
        Photo,
        TemperatureSeries,
    )
    from takeup.register.series import SeriesReport


def facts(site: Site, new: Sequence[Fact], author: str, reason: str) -> int:
    """Store ``new`` together after checking what they refer to and whether they can be true.

    Raises :class:`UnknownName` with the nearest name, or :class:`Contradiction`.
    """
    from takeup.register.contradictions import contradictions
    from takeup.register.entities import KINDS
    from takeup.register.snapshot import dangling

    after = site.register().with_facts(new)
    for loose in dangling(after, new):
        known = [fact.key for fact in after.all(KINDS[loose.refers])]
        raise UnknownName(loose.refers.replace("_", " "), loose.value, known)
    for fault in contradictions(after, new, site.today()):
        raise Contradiction(f"{fault.fact.key}: {fault.wrong}. Right would be: {fault.right}.")
    with site.change(author, reason) as change:
        change.put_many(new)
    return len(new)


def interply(
    site: Site,
    test: InterplyTest,
    readings: Sequence[InterplyReading],
    author: str,
    reason: str = "interply test recorded",
) -> None:
    """Store a test with its readings, together."""
    for reading in readings:
        if (reading.joint, reading.bellows, reading.date) != (test.joint, test.bellows, test.date):
            raise Contradiction(
                f"reading at minute {reading.minute / 60:g} belongs to {reading.joint} "
                f"{reading.bellows} {reading.date}, not to the test of {test.joint} "
                f"{test.bellows} {test.date}"
            )
    facts(site, [test, *readings], author, reason)


def photo(
    site: Site,
    joint: str,
    data: bytes,
    *,
    caption: str = "",
    visit: str = "",
    item: str = "",
    author: str,
    name: str = "the photo",
) -> Photo:
    """Keep a photo and store it with the joint; refused when it is no image.

    Names are checked first: nothing is kept of a photo that belongs nowhere.
    """
    from takeup.evidence import checklist
    from takeup.evidence.facts import Photo, Visit
    from takeup.register import photos
    from takeup.register.entities import Joint

    _require_author(author)
    register = site.register()
    known = register.get(Joint, joint)
    if visit:
        register.get(Visit, visit)
    if item:
        checklist.item(item)
    kept = photos.keep(data, site.photo_folder, name)
    made = Photo(
        file=kept.file,
        joint=known.tag,
        visit=visit,
        item=item,
        caption=caption,
        taken=kept.taken,
        width=kept.width,
        height=kept.height,
    )
    facts(site, [made], author, f"photo of {known.tag}")
    return made


def temperature_file(
    site: Site,
    path: Path,
    *,
    tag: str,
    joint: str,
    bellows: str = "A",
    unit: str,
    time_zone: str = "",
    place: str = "",
    measures: Measured | None = None,
    author: str,
    time_column: str = "",
    value_column: str = "",
) -> tuple[TemperatureSeries, SeriesReport]:
    """Keep a temperature history, of a bellows where not said otherwise, and store where it belongs.

    Names are checked first: nothing is kept of a history that belongs nowhere.
    """
    from takeup.evidence.facts import Measured, TemperatureSeries
    from takeup.register import series
    from takeup.register.entities import Joint

    if not tag.strip():
        raise TakeupError("a temperature history needs its instrument tag")
    _require_author(author)
    register = site.register()
    known = register.get(Joint, joint)
    letters = {one.letter.casefold(): one.letter for one in register.bellows(known.tag)}
    if letters and bellows.casefold() not in letters:
        raise UnknownName(f"bellows of {known.tag}", bellows, list(letters.values()))
    bellows = letters.get(bellows.casefold(), bellows)
    report = series.keep(
        path,
        site.series_folder,
        unit=unit,
        time_zone=time_zone,
        time_column=time_column,
        value_column=value_column,
    )
    first, last, rows, bad = series.span(site.series_folder / report.file)
    made = TemperatureSeries(
        tag=tag.strip(),
        joint=known.tag,
        bellows=bellows,
        place=place,
        file=report.file,
        rows=rows,
        bad=bad,
        first=dt.datetime.fromtimestamp(first, dt.UTC),
        last=dt.datetime.fromtimestamp(last, dt.UTC),
        original=path.name,
        measures=measures or Measured.BELLOWS,
    )
    facts(site, [made], author, f"temperature history {made.tag} of {known.tag}")
    return made, report


def _require_author(author: str) -> None:
    """A file is not kept for a change that will be refused."""
    if not author.strip():
        raise Refused("a change needs an author and a reason")
