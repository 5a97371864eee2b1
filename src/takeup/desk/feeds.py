"""The drop folder: files of readings laid there are joined to the histories on record.

One road in, whoever lays the files: a historian's export, a person, the listener.  Each file is
taken whole or not at all.  Nothing kept is written over.  What is doubtful is asked about and
stays in the folder until somebody answers.
"""

from __future__ import annotations

import datetime as dt
import fnmatch
import tomllib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from takeup.errors import BadFile, Refused, TakeupError, UnknownName
from takeup.evidence.facts import Measured, TemperatureSeries
from takeup.progress import Progress, silent
from takeup.register.intake import Found, Intake, Joined, Layout

if TYPE_CHECKING:
    from takeup.desk.site import Site

LAYOUT = "readings.toml"
SETTLE = 10.0
"""s; a file changed more recently may still be being written and waits"""
AHEAD = dt.timedelta(minutes=10)
"""Clocks differ; readings farther in the future are refused with their file"""
VANISHED = dt.timedelta(days=1)
TOO_HOT = 923.15
"""K; no bellows is left there: is it the unit?"""
FAR, LEAP = 40.0, 100.0
"""K off the kept level where another unit would fit, and where too hot a bellows is asked about"""


class ReadingsFile(Layout, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """``readings.toml`` beside the files."""

    tags: dict[str, str] = msgspec.field(default_factory=dict)
    """Name in the files to instrument tag on record"""
    sure: tuple[str, ...] = ()
    """Tags whose odd readings somebody has looked at: they are not asked about"""
    files: dict[str, Layout] = msgspec.field(default_factory=dict)
    """What differs for single files, by name or pattern"""


class Outcome(StrEnum):
    """What became of a file."""

    TAKEN = "taken"
    REFUSED = "refused"
    ASKED = "asked"
    WAITING = "waiting"


class TagTaken(msgspec.Struct, frozen=True, kw_only=True):
    """One tag of a file."""

    tag: str
    joint: str
    found: Found
    joined: Joined


class FileTaken(msgspec.Struct, frozen=True, kw_only=True):
    """One file."""

    name: str
    outcome: Outcome
    why: str = ""
    moved: str = ""
    """Where it lies now, from the drop folder"""
    tags: tuple[TagTaken, ...] = ()
    notes: tuple[str, ...] = ()
    """Everything that was not plain, with counts and spans, in words"""


class Vanished(msgspec.Struct, frozen=True, kw_only=True):
    """A tag on record that brings nothing while others do."""

    tag: str
    joint: str
    last: dt.datetime
    behind: float
    """s behind the newest reading"""


class TakeReport(msgspec.Struct, frozen=True, kw_only=True):
    """What was in the folder and what became of it."""

    folder: str
    files: tuple[FileTaken, ...]
    vanished: tuple[Vanished, ...]

    def of(self, outcome: Outcome) -> tuple[FileTaken, ...]:
        """Files of one outcome."""
        return tuple(one for one in self.files if one.outcome == outcome)

    @property
    def new(self) -> int:
        """Readings that were not on record."""
        return sum(tag.joined.new for one in self.files for tag in one.tags)


def take(
    site: Site,
    folder: Path,
    author: str,
    *,
    settle: float = SETTLE,
    progress: Progress = silent,
) -> TakeReport:
    """Join every CSV and Parquet file in ``folder`` to the history of its tag.

    Taken files go to ``taken/``, refused ones to ``refused/`` with a text that says why; what is
    asked about and what may still be being written (changed within ``settle`` [s]) stays.

    Raises :class:`Refused` without an author or while another take is at work, and
    :class:`BadFile` where the folder or its ``readings.toml`` cannot be read.
    """
    if not author.strip():
        raise Refused("readings are taken under a name: say who takes them")
    if not folder.is_dir():
        raise BadFile(f"there is no folder {folder}")
    layout = read_layout(folder)
    done: list[FileTaken] = []
    with _alone(site):
        names = sorted(
            path
            for path in folder.iterdir()
            if path.is_file()
            and path.suffix.casefold() in {".csv", ".txt", ".parquet"}
            and not path.name.startswith((".", "~"))
        )
        for number, path in enumerate(names):
            progress(number / len(names), f"taking {path.name}")
            done.append(_one(site, folder, path, layout, author, settle))
        progress(1.0, "taken")
        return TakeReport(folder=str(folder), files=tuple(done), vanished=_vanished(site, done))


def read_layout(folder: Path) -> ReadingsFile:
    """What ``readings.toml`` of a drop folder says; nothing where there is none."""
    path = folder / LAYOUT
    if not path.exists():
        return ReadingsFile()
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
        return msgspec.convert(data, ReadingsFile)
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as fault:
        raise BadFile(f"{path} cannot be read as TOML: {fault}") from fault
    except msgspec.ValidationError as fault:
        raise BadFile(
            f"{path}: {fault}. It may say {', '.join(ReadingsFile.__struct_fields__)}"
        ) from fault


def _one(
    site: Site, folder: Path, path: Path, layout: ReadingsFile, author: str, settle: float
) -> FileTaken:
    age = site.now().timestamp() - path.stat().st_mtime
    if age < settle:
        return FileTaken(
            name=path.name,
            outcome=Outcome.WAITING,
            why=f"changed {max(age, 0.0):.0f} s ago and may still be being written; "
            f"it is taken once it has rested {settle:g} s",
        )
    try:
        intake = Intake(path, _layout_of(layout, path.name), site.series_folder)
    except TakeupError as fault:
        return _refuse(folder, path, fault)
    try:
        try:
            pairs = [
                (one, _series(site, path, one, layout, intake.named, intake.tagged))
                for one in intake.found()
            ]
            _same_twice(path, pairs)
            _not_ahead(site, path, pairs)
            asked = [
                words
                for found, series in pairs
                if series.tag.casefold() not in {tag.casefold() for tag in layout.sure}
                and (words := _ask(found, series, _level(site, intake, series)))
            ]
            if asked:
                return FileTaken(name=path.name, outcome=Outcome.ASKED, why=" ".join(asked))
            joined = [
                (
                    found,
                    series,
                    intake.join(found.name, series.tag, site.series_folder, series.files),
                )
                for found, series in pairs
            ]
        except TakeupError as fault:
            return _refuse(folder, path, fault)
        made = [_grown(series, one) for _, series, one in joined if one.new]
        if made:
            from takeup.desk.record import facts

            count = sum(one.new for _, _, one in joined)
            facts(site, made, author, f"{count} readings taken from {path.name}")
    finally:
        intake.close()
    tags = tuple(
        TagTaken(tag=series.tag, joint=series.joint, found=found, joined=one)
        for found, series, one in joined
    )
    notes = [*intake.notes, *(words for tag in tags for words in told(tag))]
    return FileTaken(
        name=path.name,
        outcome=Outcome.TAKEN,
        moved=_move(folder, path, "taken"),
        tags=tags,
        notes=tuple(notes),
    )


def _layout_of(layout: ReadingsFile, name: str) -> Layout:
    """What holds for one file: the common lines, then those of its name or pattern."""
    fields = Layout.__struct_fields__
    said = {field: getattr(layout, field) for field in fields}
    for pattern, own in layout.files.items():
        if fnmatch.fnmatchcase(name.casefold(), pattern.casefold()):
            said |= {field: getattr(own, field) for field in fields if getattr(own, field)}
    return Layout(**said)


def _series(
    site: Site, path: Path, found: Found, layout: ReadingsFile, named: str, tagged: bool
) -> TemperatureSeries:
    """The history on record that readings of ``found`` belong to."""
    every = site.register().all(TemperatureSeries)
    known = {one.tag.casefold(): one for one in every}
    written = found.name or named
    if not found.name and tagged:
        raise BadFile(f"{path.name}: {found.rows} rows name no tag")
    if not written:
        written = _from_name(path.stem, known)
    mapped = {name.casefold(): tag for name, tag in layout.tags.items()}
    tag = mapped.get(written.casefold(), written)
    if tag.casefold() not in known:
        wrong = UnknownName("instrument tag", tag, [one.tag for one in every])
        raise BadFile(
            f"{path.name}: {wrong} Bring its first readings in with 'takeup record temperature', "
            f"which says what joint they belong to, or name its tag under [tags] in {LAYOUT}."
        )
    return known[tag.casefold()]


def _from_name(stem: str, known: dict[str, TemperatureSeries]) -> str:
    """The tag that a file's name is or begins with."""
    folded = stem.casefold()
    fits = [
        tag for tag in known
        if folded == tag or (folded.startswith(tag) and not folded[len(tag)].isalnum())
    ]  # fmt: skip
    return known[max(fits, key=len)].tag if fits else stem


def _same_twice(path: Path, pairs: Sequence[tuple[Found, TemperatureSeries]]) -> None:
    seen: dict[str, str] = {}
    for found, series in pairs:
        if series.tag in seen:
            raise BadFile(
                f"{path.name}: {seen[series.tag]!r} and {found.name!r} both stand for {series.tag}; "
                "leave one of them out"
            )
        seen[series.tag] = found.name
        if "," in found.unit:
            raise BadFile(f"{path.name}: {series.tag} is written in several units ({found.unit})")


def _not_ahead(site: Site, path: Path, pairs: Sequence[tuple[Found, TemperatureSeries]]) -> None:
    now = site.now()
    for found, series in pairs:
        if found.last is not None and found.last > now + AHEAD:
            raise BadFile(
                f"{path.name}: readings of {series.tag} run to {_at(found.last)}, and it is "
                f"{_at(now)} now; is the time zone right, or was a clock wrong?"
            )


def _level(site: Site, intake: Intake, series: TemperatureSeries) -> float | None:
    return intake.kept_level(series.tag, site.series_folder, series.files)


def _ask(found: Found, series: TemperatureSeries, kept: float | None) -> str:
    """The question that a doubtful unit asks; empty where there is none."""
    if found.middle is None or found.median_raw is None:
        return ""
    raw, unit, now = found.median_raw, found.unit, found.middle
    kelvin = {"C": raw + 273.15, "F": (raw + 459.67) / 1.8, "K": raw}
    answer = f'If it is right, write sure = ["{series.tag}"] in {LAYOUT} and take again.'
    if kept is not None and abs(now - kept) > FAR:
        fits = {
            other: value
            for other, value in kelvin.items()
            if other != unit and abs(value - kept) < 0.25 * abs(now - kept)
        }
        if fits:
            other = min(fits, key=lambda name: abs(fits[name] - kept))
            return (
                f"{series.tag} reads {raw:.0f} in the middle, said to be {unit}: {now - 273.15:.0f} "
                f"°C. On record it stands at {kept - 273.15:.0f} °C; as {other} it would be "
                f"{fits[other] - 273.15:.0f} °C. Is the unit {unit}? {answer}"
            )
    hot = series.measures == Measured.BELLOWS and now > TOO_HOT
    if hot and (kept is None or now - kept > LEAP):
        return (
            f"{series.tag} reads {now - 273.15:.0f} °C in the middle, and it is of a bellows: is "
            f"the unit {unit}? As °F it would be {(now - 273.15 - 32.0) / 1.8:.0f} °C. If it is "
            f"real, hot gas is at the bellows: act on it first. {answer}"
        )
    return ""


def _grown(series: TemperatureSeries, joined: Joined) -> TemperatureSeries:
    assert joined.first is not None
    assert joined.last is not None
    return msgspec.structs.replace(
        series,
        file=joined.files[0],
        parts=" ".join(joined.files[1:]),
        rows=series.rows + joined.new,
        bad=series.bad + joined.bad,
        first=min(series.first, joined.first),
        last=max(series.last, joined.last),
    )


def told(tag: TagTaken) -> tuple[str, ...]:
    """What was not plain about the readings of one tag, in words."""
    found, joined = tag.found, tag.joined
    words: list[str] = []
    if found.unread:
        words.append(f"{found.unread} rows without a readable time, not kept")
    if found.never or found.twice:
        aside = found.set_aside
        between = f" between {_wall(aside.first)} and {_wall(aside.last)}" if aside else ""
        if found.never:
            words.append(
                f"{found.never} rows{between} in an hour that the clock change leaves out, not "
                "kept: the zone or the clock is wrong"
            )
        if found.twice:
            words.append(
                f"{found.twice} rows{between} in an hour that occurs twice, not kept: their order "
                "does not tell which; write times with an offset"
            )
    if found.settled:
        words.append(
            f"{found.settled} rows in an hour that occurs twice, told apart by their order"
        )
    if found.reversed:
        words.append("rows run from new to old")
    elif found.back:
        at = f", after {_at(found.back_at)}" if found.back_at else ""
        words.append(
            f"the clock steps back {found.back} times, at most by {_length(found.furthest_back)}{at}"
        )
    if found.repeated:
        words.append(
            f"{found.repeated} rows repeat a stamp of the file, {found.differing} with another "
            "value; the first stays"
        )
    if joined.repeated:
        words.append(
            f"{joined.repeated} stamps were on record, {joined.differing} with another value; what "
            "was kept stays"
        )
    if joined.bad:
        words.append(f"{joined.bad} of {joined.new} new readings are of bad quality")
    if joined.gaps:
        one = joined.longest_gaps[0]
        words.append(
            f"{joined.gaps} gaps, the longest of {_length(one.length)} from {_at(one.first)}"
        )
    if joined.stuck:
        one = joined.longest_stuck[0]
        words.append(
            f"{joined.stuck} stretches of one value, the longest of {_length(one.length)} from "
            f"{_at(one.first)}: a stuck sensor or a frozen value"
        )
    return tuple(f"{tag.tag}: {one}" for one in words)


def _vanished(site: Site, done: Sequence[FileTaken]) -> tuple[Vanished, ...]:
    ends = [tag.found.last for one in done for tag in one.tags if tag.found.last is not None]
    if not ends:
        return ()
    newest = max(ends)
    return tuple(
        Vanished(
            tag=one.tag, joint=one.joint, last=one.last, behind=(newest - one.last).total_seconds()
        )
        for one in sorted(site.register().all(TemperatureSeries), key=lambda one: one.tag)
        if newest - one.last > VANISHED
    )


def _refuse(folder: Path, path: Path, fault: TakeupError) -> FileTaken:
    moved = _move(folder, path, "refused")
    (folder / f"{moved}.why.txt").write_text(f"{fault}\n", encoding="utf-8")
    return FileTaken(name=path.name, outcome=Outcome.REFUSED, why=str(fault), moved=moved)


def _move(folder: Path, path: Path, where: str) -> str:
    """Move a file aside without writing over one of the same name."""
    (folder / where).mkdir(exist_ok=True)
    target, number = folder / where / path.name, 1
    while target.exists():
        number += 1
        target = folder / where / f"{path.stem}-{number}{path.suffix}"
    path.rename(target)
    return f"{where}/{target.name}"


@contextmanager
def _alone(site: Site) -> Iterator[None]:
    """One take at a time: two would each add to the history as it stood before."""
    try:
        import fcntl
    except ImportError:  # no such lock on this system
        yield
        return
    with (site.series_folder / ".taking").open("w", encoding="utf-8") as stream:
        try:
            fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as fault:
            raise Refused("readings are being taken already; wait until that is done") from fault
        yield


def _at(time: dt.datetime) -> str:
    return f"{time.astimezone(dt.UTC):%Y-%m-%d %H:%M} UTC"


def _wall(time: dt.datetime) -> str:
    return f"{time:%Y-%m-%d %H:%M}"


def _length(seconds: float) -> str:
    for unit, size in (("days", 86400.0), ("h", 3600.0), ("min", 60.0)):
        if seconds >= 2 * size:
            return f"{seconds / size:.1f} {unit}"
    return f"{seconds:.0f} s"
