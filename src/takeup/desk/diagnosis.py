"""From what is on record about a line to what may be wrong with it, and kept.

The register's marks and line readings become readings; what cannot be used is listed with why.
What stands out (a size or a sign that heat cannot make) is asked, not believed.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from typing import TYPE_CHECKING

import msgspec

from takeup import __version__
from takeup.desk import lines, record
from takeup.desk.diagnosis_evidence import Gathered, LeftOut, campaigns, gather
from takeup.desk.diagnosis_placed import Unfit, placed, value_of
from takeup.desk.diagnosis_told import (
    Summary,
    by_place,
    group_words,
    looks,
    next_words,
    shared,
    summary,
)
from takeup.desk.diagnosis_weighed import Diagnosed, Inputs, length, quantity, strain, weigh
from takeup.desk.diagnosis_words import Sides, sides
from takeup.desk.line_joints import joints
from takeup.desk.results import pack, unpack
from takeup.errors import Refused, TakeupError
from takeup.evidence.facts import Visit
from takeup.line.diagnosis import Kind
from takeup.progress import Progress, silent
from takeup.units import System, shown

if TYPE_CHECKING:
    from takeup.desk.diagnosis_file import ReadingsFile
    from takeup.desk.site import Site
    from takeup.evidence.facts import LineReading
    from takeup.line.model import Line

__all__ = [
    "Diagnosed", "Inputs", "Kept", "Summary", "add", "by_place", "current", "diagnose", "group_words", "inputs",
    "inputs_of", "latest", "looks", "next_words", "quantity", "run", "shared", "strain", "summary",
    "weigh",
]  # fmt: skip
KIND = "line_diagnosis"


def inputs(
    site: Site,
    tag: str,
    *,
    extra: ReadingsFile | None = None,
    file: str = "",
) -> Inputs:
    """The model of line ``tag`` and the readings on record, with those of a file before them.

    Raises :class:`takeup.errors.UnknownName` for a line that is not in the register and what
    :func:`takeup.desk.diagnosis_file.used` raises.
    """
    from takeup.line.text import examine

    kept = lines.model(site, tag)
    if kept is None:
        return Inputs(
            line=None,
            faults=(
                f"line {tag} has no model yet; write one on its page or keep one with "
                "'takeup keep-line', then its readings can be weighed",
            ),
        )
    known, asked = joints(site, kept.line)
    read = examine(kept.text, joints=known)
    if read.line is None:
        return Inputs(line=None, faults=(*(one.words() for one in read.faults), *asked))
    try:
        found = sides(read.line)
        grown = strain(read.line)
    except TakeupError as fault:
        return Inputs(line=read.line, faults=(str(fault),))
    gathered = gather(site.register(), read.line, found, kept.line, grown)
    return _with(read.line, found, gathered, extra, file, site.system)


def inputs_of(line: Line, extra: ReadingsFile, file: str, system: System = System.METRIC) -> Inputs:
    """A line by itself, with the readings of a file."""
    nothing = Gathered(used=(), left_out=(), cautions=())
    return _with(line, sides(line), nothing, extra, file, system)


def _with(
    line: Line,
    found: Sides,
    gathered: Gathered,
    extra: ReadingsFile | None,
    file: str,
    system: System,
) -> Inputs:
    if extra is not None:
        from takeup.desk.diagnosis_file import used

        more = used(extra, line, found, file, system)
        keys = {one.reading.key for one in more}
        replaced = [one for one in gathered.used if one.reading.key in keys]
        left = [
            *gathered.left_out,
            *(LeftOut(what=f"{one.words} ({one.origin})", why=f"{file} gives it anew")
              for one in replaced),
        ]  # fmt: skip
        rest = [one for one in gathered.used if one.reading.key not in keys]
        gathered = campaigns([*more, *rest], left)
        if extra.hot is None or extra.cold is None:
            undated = (
                f"{file} does not date its hot and cold readings: whether they are of one campaign "
                "with the others is not known"
            )
            gathered = msgspec.structs.replace(gathered, cautions=(*gathered.cautions, undated))
    body = msgspec.json.encode((line, gathered, __version__))
    return Inputs(
        line=line,
        sides=found,
        gathered=gathered,
        inputs_hash=hashlib.sha256(body).hexdigest(),
        system=system,
    )


def diagnose(
    site: Site,
    tag: str,
    *,
    extra: ReadingsFile | None = None,
    file: str = "the file",
    progress: Progress = silent,
) -> Diagnosed:
    """Weigh what is on record of line ``tag``, with the readings of a file before it.

    What stands in the way is told in ``faults``.  Raises as :func:`inputs`, and
    :class:`takeup.errors.Cancelled` where ``progress`` says so.
    """
    progress(0.0, "gathering readings")
    return weigh(tag, inputs(site, tag, extra=extra, file=file), progress)


def add(
    site: Site,
    tag: str,
    readings: Sequence[LineReading],
    author: str,
    reason: str,
    *,
    visits: Sequence[Visit] = (),
    sure: bool = False,
) -> int:
    """Keep readings of a line, with visits that are new, as one change.

    Raises :class:`takeup.errors.Refused` for a place, side or size that the line's model cannot
    have (a size only unless ``sure``), and what :func:`takeup.desk.record.facts` raises.
    """
    now = inputs(site, tag)
    if now.line is None or now.sides is None:
        raise Refused(f"no reading can be placed on the line: {'; '.join(now.faults)}")
    for visit in visits:
        if site.register().find(Visit, visit.id) is not None:
            raise Refused(
                f"visit {visit.id} is on record already; choose it, or give the new one another "
                "name"
            )
    most = abs(strain(now.line)) * length(now.line) + 0.1
    try:
        moved = [placed(now.line, now.sides, one) for one in readings]
        values = [value_of(one) for one in readings]
    except Unfit as fault:
        raise Refused(f"{fault}") from fault
    lengths = [
        value for at, one, value in zip(moved, readings, values, strict=True)
        if at.kind != Kind.LOAD and one.angle is None and at.kind != Kind.INDICATOR
    ]  # fmt: skip
    pointers = [v for at, v in zip(moved, values, strict=True) if at.kind == Kind.INDICATOR]
    if len(pointers) == 2:
        lengths.append(pointers[0] - pointers[1])
    worst = max(lengths, key=abs, default=0.0)
    if abs(worst) > most and not sure:
        raise Refused(
            f"{shown(worst, 'movement', site.system)} is more than heat can make the whole line "
            f"grow ({shown(most - 0.1, 'movement', site.system)}): is the unit right? Say that you "
            "are sure to keep it all the same"
        )
    return record.facts(site, [*visits, *readings], author, reason)


def run(site: Site, tag: str, *, progress: Progress = silent) -> Diagnosed:
    """Weigh what is on record of a line and keep the result."""
    found = diagnose(site, tag, progress=progress)
    if found.diagnosis is not None:
        site.store.put_result(
            KIND, found.line, found.inputs_hash, __version__, site.now(), pack(found)
        )
    return found


class Kept(msgspec.Struct, frozen=True, kw_only=True):
    """A kept diagnosis and what there is to weigh now."""

    found: Diagnosed | None
    """The kept one; ``None`` where nothing was weighed yet"""
    fresh: bool
    """Whether it rests on what is on record now"""
    now: Inputs


def latest(site: Site, tag: str) -> Kept:
    """The newest kept diagnosis of a line; raises as :func:`inputs`."""
    now = inputs(site, tag)
    stored = site.store.result(KIND, tag)
    found = unpack(stored.body, Diagnosed) if stored is not None else None
    fresh = stored is not None and found is not None and stored.inputs_hash == now.inputs_hash
    return Kept(found=found, fresh=fresh, now=now)


def current(site: Site, tag: str, *, progress: Progress = silent) -> Diagnosed:
    """The kept diagnosis where it rests on what is on record now, else a new one, kept."""
    kept = latest(site, tag)
    if kept.fresh and kept.found is not None:
        return kept.found
    found = weigh(kept.now.line.tag if kept.now.line else tag, kept.now, progress)
    if found.diagnosis is not None:
        site.store.put_result(KIND, tag, found.inputs_hash, __version__, site.now(), pack(found))
    return found
