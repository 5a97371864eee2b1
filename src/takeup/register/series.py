"""Temperature histories: files of any length in, Parquet kept beside the store, daily figures out.

DuckDB does the work in one pass, within a memory limit, so that years of minute data fit.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from takeup.errors import BadFile, TakeupError

if TYPE_CHECKING:
    from takeup.evidence.model import DailyTemperature
    from takeup.units import Array

MEMORY_LIMIT = "700MB"
SPAN_K = (150.0, 1500.0)
"""Readings outside this are no metal temperatures: kept as bad, counted, never averaged."""

TIME_NAMES = ("time", "timestamp", "datetime", "date", "date_time", "ts")
VALUE_NAMES = ("value", "temperature", "temp", "pv", "reading", "val")
QUALITY_NAMES = ("quality", "status", "good", "q")
_BARE_TIME = (
    r"^[0-9]{4}[-/][0-9]{1,2}[-/][0-9]{1,2}([Tt ]\s*[0-9]{1,2}:[0-9]{2}(:[0-9]{2}(\.[0-9]+)?)?)?$"
)
_OFFSET = r":[0-9]{2}(\.[0-9]+)?\s*([zZ]|[uU][tT][cC]|[gG][mM][tT]|[+-][0-9]{2}(:?[0-9]{2})?)$"
"""A time of day followed by its offset; a date alone ends in digits too, but has no offset."""
_GOOD_WORDS = ("good", "ok", "true", "1", "192", "g", "")


class SeriesReport(msgspec.Struct, frozen=True, kw_only=True):
    """What a file held and what was kept of it."""

    file: str
    rows: int
    """Rows kept with a time and in order."""
    bad: int
    """Of those, rows of bad quality: flagged, not a number, or outside the plausible span."""
    unread: int
    """Rows whose time could not be read; not kept."""
    repeated: int
    """Rows with a time that was there already; the first was kept."""
    unsorted: bool
    first: str
    last: str
    median_interval: float
    """s"""
    gaps: int
    """Spans longer than three usual intervals (at least an hour)."""
    longest_gap: float
    """s"""
    notes: tuple[str, ...] = ()


def keep(
    source: Path,
    folder: Path,
    *,
    unit: str,
    time_zone: str = "",
    time_column: str = "",
    value_column: str = "",
    quality_column: str = "",
) -> SeriesReport:
    """Read a CSV or Parquet history and keep it as Parquet named by its content.

    ``unit`` is C, F or K.  ``time_zone`` names the zone of times without an offset; without
    either the file is refused, since an hour's shift cannot be seen later.  Columns are found
    by name unless given.

    Raises :class:`takeup.errors.BadFile` when the file cannot be read as a history.
    """
    import duckdb

    if unit.upper().lstrip("°") not in {"C", "F", "K"}:
        raise TakeupError(f"temperature unit {unit!r} is not known; use C, F or K")
    if not source.exists():
        raise BadFile(f"there is no file {source}")
    folder.mkdir(parents=True, exist_ok=True)
    connection = connect(folder)
    staged = folder / f".staged-{os.getpid()}-{os.urandom(4).hex()}.parquet"
    try:
        relation, separator, notes = relation_of(connection, source)
        columns = columns_of(connection, relation, source.name)
        time = pick(columns, time_column, TIME_NAMES, "time", source.name)
        value = pick(columns, value_column, VALUE_NAMES, "value", source.name, without=(time,))
        quality = optional(columns, quality_column, QUALITY_NAMES, source.name)
        stamp = _stamp(connection, relation, columns, time, time_zone, source.name)
        kelvin = {"C": "v + 273.15", "F": "(v + 459.67) * 5 / 9", "K": "v"}[
            unit.upper().lstrip("°")
        ]
        number = number_of(connection, relation, columns, value, separator, source.name, notes)
        flag = good(quality)
        connection.execute(
            f"CREATE TEMP TABLE raw AS SELECT row_number() OVER () AS n, {stamp} AS t, "
            f"{number} AS v, {flag} AS flag FROM {relation}"
        )
        total, unread, numbers = connection.execute(
            "SELECT count(*), count(*) FILTER (t IS NULL), count(v) FROM raw"
        ).fetchone() or (0, 0, 0)
        if total == 0:
            raise BadFile(f"{source.name} holds no rows")
        if unread == total:
            raise BadFile(
                f"{source.name}: no time in column {time!r} could be read; "
                "use 2026-11-25 14:30 or 2026-11-25T14:30:00+01:00"
            )
        if numbers == 0:
            raise BadFile(f"{source.name}: column {value!r} holds no numbers")
        connection.execute(
            f"CREATE TEMP TABLE kept AS SELECT t, k, ok FROM (SELECT t, n, "
            f"({kelvin})::FLOAT AS k, "
            f"coalesce(flag AND ({kelvin}) BETWEEN {SPAN_K[0]} AND {SPAN_K[1]}, FALSE) AS ok, "
            "row_number() OVER (PARTITION BY t ORDER BY n) AS nth FROM raw WHERE t IS NOT NULL) "
            "WHERE nth = 1"
        )
        rows, bad, first, last = connection.execute(
            "SELECT count(*), count(*) FILTER (NOT ok), min(t)::VARCHAR, max(t)::VARCHAR FROM kept"
        ).fetchone() or (0, 0, "", "")
        unsorted = bool(
            (
                connection.execute(
                    "SELECT count(*) > 0 FROM (SELECT t < lag(t) OVER (ORDER BY n) AS back "
                    "FROM raw WHERE t IS NOT NULL) WHERE back"
                ).fetchone()
                or (False,)
            )[0]
        )
        interval, longest = connection.execute(
            "SELECT coalesce(median(d), 0), coalesce(max(d), 0) FROM "
            "(SELECT epoch(t) - lag(epoch(t)) OVER (ORDER BY t) AS d FROM kept)"
        ).fetchone() or (0.0, 0.0)
        threshold = max(3600.0, 3.0 * float(interval))
        gaps = (
            connection.execute(
                "SELECT count(*) FROM (SELECT epoch(t) - lag(epoch(t)) OVER (ORDER BY t) AS d "
                f"FROM kept) WHERE d > {threshold}"
            ).fetchone()
            or (0,)
        )[0]
        connection.execute(
            f"COPY (SELECT epoch_us(t) AS us, k, ok FROM kept ORDER BY t) TO '{quoted(staged)}' "
            "(FORMAT PARQUET, COMPRESSION ZSTD)"
        )
        name = content_name(staged)
        staged.replace(folder / name)
        return SeriesReport(
            file=name,
            rows=int(rows),
            bad=int(bad),
            unread=int(unread),
            repeated=int(total - unread - rows),
            unsorted=unsorted,
            first=str(first),
            last=str(last),
            median_interval=float(interval),
            gaps=int(gaps),
            longest_gap=float(longest),
            notes=tuple(notes),
        )
    except duckdb.Error as fault:
        said = str(fault).splitlines()[0]
        raise BadFile(f"{source.name} cannot be read as a temperature history: {said}") from fault
    finally:
        connection.close()
        staged.unlink(missing_ok=True)


def keep_arrays(folder: Path, seconds: Array, kelvin: Array, good: Array) -> str:
    """Keep a history given as arrays (s since 1970 UTC, K, 0/1); returns the file name."""
    with tempfile.TemporaryDirectory(dir=folder) as scratch:
        import numpy as np

        source = Path(scratch) / "history.csv"
        data = np.column_stack([np.round(seconds).astype(np.int64), kelvin, good])
        np.savetxt(source, data, fmt=["%d", "%.2f", "%d"], delimiter=",")
        connection = connect(folder)
        staged = Path(scratch) / "staged.parquet"
        try:
            connection.execute(
                "COPY (SELECT (column0 * 1000000)::BIGINT AS us, column1::FLOAT AS k, "
                f"column2 = 1 AS ok FROM read_csv('{quoted(source)}', header=false) ORDER BY us) "
                f"TO '{quoted(staged)}' (FORMAT PARQUET, COMPRESSION ZSTD)"
            )
            name = content_name(staged)
        finally:
            connection.close()
        staged.replace(folder / name)
    return name


def span(*paths: Path) -> tuple[float, float, int, int]:
    """First and last time (s since 1970), rows and bad rows of a kept history."""
    connection = connect(paths[0].parent)
    try:
        row = connection.execute(
            "SELECT min(us) / 1e6, max(us) / 1e6, count(*), count(*) FILTER (NOT ok) "
            f"FROM {kept(paths)}"
        ).fetchone()
    finally:
        connection.close()
    assert row is not None
    return float(row[0]), float(row[1]), int(row[2]), int(row[3])


def kept(paths: Sequence[Path]) -> str:
    """The files of one kept history as a table to select from."""
    return "read_parquet([" + ", ".join(f"'{quoted(path)}'" for path in paths) + "])"


def daily(
    path: Path | Sequence[Path], tag: str, *, low_from: float, low_to: float, high: float
) -> DailyTemperature:
    """Daily figures of a kept history, in one file or several, against the action lines (K).

    A reading holds until the next one, at most three usual intervals: what lies beyond is a
    gap and counts for nothing.
    """
    import duckdb
    import numpy as np

    from takeup.evidence.model import DailyTemperature

    paths = [path] if isinstance(path, Path) else list(path)
    for one in paths:
        if not one.exists():
            raise BadFile(f"the history of {tag} ({one.name}) is missing beside the store")
    connection = connect(paths[0].parent)
    try:
        # a kept file is in order of time: with one, the window streams and nothing is sorted
        over = "()" if len(paths) == 1 else "(ORDER BY us)"
        steps = f"SELECT us, k, ok, lead(us) OVER {over} - us AS step FROM {kept(paths)}"
        row = connection.execute(f"SELECT coalesce(median(step), 60e6) FROM ({steps})").fetchone()
        usual = float(row[0]) if row else 60e6
        found: dict[str, Any] = connection.execute(
            f"""
            SELECT day::DOUBLE AS day,
                   median(k) FILTER (ok) AS median,
                   min(k) FILTER (ok) AS low,
                   max(k) FILTER (ok) AS high,
                   coalesce(sum(hold) FILTER (ok), 0) AS good,
                   coalesce(sum(hold) FILTER (NOT ok), 0) AS bad,
                   coalesce(sum(hold) FILTER (ok AND k < {low_from}), 0) AS below,
                   coalesce(sum(hold) FILTER (ok AND k < {low_to}), 0) AS wet,
                   coalesce(sum(hold) FILTER (ok AND k > {high}), 0) AS above
            FROM (SELECT us // 86400000000 AS day, k, ok,
                         least(coalesce(step, {usual}), {3 * usual}) / 1e6 AS hold
                  FROM ({steps}))
            GROUP BY day ORDER BY day
            """
        ).fetchnumpy()
    except duckdb.Error as fault:
        said = str(fault).splitlines()[0]
        names = ", ".join(one.name for one in paths)
        raise BadFile(f"the history of {tag} ({names}) is damaged: {said}") from fault
    finally:
        connection.close()

    def array(name: str) -> Array:
        data = found[name]
        filled: Array = np.ma.filled(np.ma.asarray(data, dtype=float), np.nan)
        return np.asarray(filled, dtype=float)

    return DailyTemperature(
        tag=tag,
        **{
            name: array(name)
            for name in ("day", "median", "low", "high", "good", "bad", "below", "wet", "above")
        },
    )


def connect(folder: Path) -> Any:
    """An engine in UTC that keeps within its memory and spills beside the histories."""
    import duckdb

    connection = duckdb.connect(
        config={"memory_limit": MEMORY_LIMIT, "temp_directory": str(folder / ".duckdb")}
    )
    connection.execute("SET TimeZone = 'UTC'")
    return connection


def relation_of(connection: Any, source: Path) -> tuple[str, str, list[str]]:
    """The file as a table to select from, its column separator (none for Parquet), notes."""
    with source.open("rb") as stream:
        head = stream.read(4)
        stream.seek(0, os.SEEK_END)
        size = stream.tell()
        tail = b""
        if size >= 8:
            stream.seek(-4, os.SEEK_END)
            tail = stream.read(4)
    if head == b"PAR1":
        if tail != b"PAR1":
            raise BadFile(
                f"{source.name} is a Parquet file cut short ({size} bytes, no footer); "
                "copy it again from where it came"
            )
        return f"read_parquet('{quoted(source)}')", "", []
    if source.suffix.casefold() == ".parquet":
        raise BadFile(f"{source.name} is named .parquet but is no Parquet file")
    from takeup.register.tables import decoded, separator

    with source.open("rb") as stream:
        sample = stream.read(65536)
    text = decoded(sample, source.name)
    mark = separator(text)
    notes = []
    if mark != ",":
        notes.append(f"columns are separated by {'tabs' if mark == chr(9) else mark}")
    encoding = "utf-8"
    try:
        sample.decode("utf-8")
    except UnicodeDecodeError as wrong:
        if wrong.end < len(sample) - 4:  # not just a character cut by the sample's end
            encoding = "latin-1"
    return (
        f"read_csv('{quoted(source)}', delim='{mark}', header=true, all_varchar=true, "
        f"null_padding=true, encoding='{encoding}', ignore_errors=false)",
        mark,
        notes,
    )


def columns_of(connection: Any, relation: str, name: str) -> dict[str, str]:
    """Columns with their types, at least two."""
    found = connection.execute(f"DESCRIBE SELECT * FROM {relation}").fetchall()
    if len(found) < 2:
        raise BadFile(f"{name} has one column; a history needs a time and a value")
    return {str(row[0]): str(row[1]) for row in found}


def pick(
    columns: dict[str, str],
    given: str,
    known: tuple[str, ...],
    what: str,
    name: str,
    without: tuple[str, ...] = (),
) -> str:
    """The column that holds ``what``: as given, or by the names it usually has."""
    left = {column for column in columns if column not in without}
    if given:
        for column in left:
            if column.casefold() == given.casefold():
                return column
        raise BadFile(f"{name} has no column {given!r}; it has {', '.join(columns)}")
    folded = {column.strip().casefold(): column for column in columns if column in left}
    for word in known:
        if word in folded:
            return folded[word]
    starting = [c for f, c in folded.items() if any(f.startswith(word) for word in known)]
    if len(starting) == 1:
        return starting[0]
    if len(columns) == 2:
        place = 0 if what == "time" else 1
        return list(columns)[place]
    raise BadFile(
        f"{name}: which column holds the {what} cannot be told from {', '.join(columns)}; name it"
    )


def optional(columns: dict[str, str], given: str, known: tuple[str, ...], name: str) -> str:
    """A column that need not be there; empty where it is not."""
    if given:
        return pick(columns, given, known, "quality", name)
    folded = {column.strip().casefold(): column for column in columns}
    return next((folded[word] for word in known if word in folded), "")


def _stamp(
    connection: Any, relation: str, columns: dict[str, str], time: str, zone: str, name: str
) -> str:
    stamp, local = clock(connection, relation, columns, time, zone, name)
    return f"timezone('{zone}', {stamp})" if local else stamp


def clock(
    connection: Any, relation: str, columns: dict[str, str], time: str, zone: str, name: str
) -> tuple[str, bool]:
    """The expression that reads a time, and whether it is wall time of ``zone``."""
    kind = columns[time].upper()
    if "WITH TIME ZONE" in kind:
        return column(time), False
    if kind.startswith("TIMESTAMP") or kind == "DATE":
        local = f"{column(time)}::TIMESTAMP"
    elif kind.startswith(("BIGINT", "DOUBLE", "INTEGER", "FLOAT")):
        raise BadFile(f"{name}: times in column {time!r} are numbers; write them as dates")
    else:
        text = f"replace(trim({column(time)}), ',', '.')"
        offset = f"regexp_matches({text}, '{_OFFSET}')"
        bare = f"regexp_matches({text}, '{_BARE_TIME}')"
        with_offset, without, slashed = connection.execute(
            f"SELECT count(*) FILTER ({offset}), count(*) FILTER ({bare}), "
            f"count(*) FILTER (regexp_matches({text}, '^[0-9]{{1,2}}[/.][0-9]{{1,2}}[/.]')) "
            f"FROM {relation}"
        ).fetchone()
        if slashed:
            raise BadFile(
                f"{name}: day and month cannot be told apart in column {time!r}; "
                "write times as 2026-11-25 14:30"
            )
        if with_offset and without:
            raise BadFile(
                f"{name}: some times have an offset ({with_offset} rows) and some have none "
                f"({without} rows); write all of them the same way"
            )
        if with_offset:
            joined = rf"regexp_replace(upper({text}), '\s+([+-][0-9:]+|Z|UTC|GMT)$', '\1')"
            joined = f"regexp_replace({joined}, '(UTC|GMT)$', 'Z')"
            return f"CASE WHEN {offset} THEN try_cast({joined} AS TIMESTAMPTZ) END", False
        local = f"CASE WHEN {bare} THEN try_cast({text} AS TIMESTAMP) END"
    if not zone:
        raise BadFile(
            f"{name}: times in column {time!r} carry no offset; give their time zone "
            "(for example UTC or Europe/Berlin)"
        )
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

    try:
        ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError):
        raise TakeupError(
            f"time zone {zone!r} is not known; use a name like Europe/Berlin"
        ) from None
    return local, True


def number_of(
    connection: Any,
    relation: str,
    columns: dict[str, str],
    value: str,
    separator: str,
    name: str,
    notes: list[str],
) -> str:
    """The expression that reads a value, with the file's own decimal mark.

    The mark is settled once for the whole file: a comma that could as well part thousands is
    refused, since a factor of a thousand cannot be seen in the reading itself.
    """
    if not columns[value].upper().startswith("VARCHAR"):
        return f"try_cast({column(value)} AS DOUBLE)"
    text = f"trim({column(value)})"
    numeric = f"regexp_matches({text}, '^[-+]?[0-9.,]*[0-9][0-9.,]*([eE][-+]?[0-9]+)?$')"
    comma = f"{numeric} AND contains({text}, ',')"
    point = f"contains({text}, '.')"
    thousands = f"regexp_matches({text}, '^[-+]?[1-9][0-9]{{0,2}}(,[0-9]{{3}})+(\\.[0-9]*)?$')"
    commas, grouped, both, points, example, odd = connection.execute(
        f"SELECT count(*) FILTER ({comma}), count(*) FILTER ({comma} AND {thousands}), "
        f"count(*) FILTER ({comma} AND {point}), "
        f"count(*) FILTER ({numeric} AND {point} AND NOT contains({text}, ',')), "
        f"min({text}) FILTER ({comma}), min({text}) FILTER ({comma} AND NOT {thousands}) "
        f"FROM {relation}"
    ).fetchone()
    remedy = "write values with a decimal point and without thousands separators"
    if not commas:
        return f"try_cast({text} AS DOUBLE)"
    if commas == grouped:
        if not both and not points:
            raise BadFile(
                f"{name}: {example!r} in column {value!r} may mean {example.replace(',', '.')} or "
                f"{example.replace(',', '')}; {remedy}"
            )
        notes.append(f"commas in column {value!r} part thousands, as in {example}")
        return f"try_cast(replace({text}, ',', '') AS DOUBLE)"
    if both or points:
        raise BadFile(
            f"{name}: column {value!r} has points and commas in its numbers (for example {odd}), "
            f"so that the decimal mark cannot be told; {remedy}"
        )
    if separator == ",":
        raise BadFile(
            f"{name}: {odd!r} in column {value!r} has a comma, and commas also part the columns; "
            f"{remedy}"
        )
    notes.append(f"the comma in column {value!r} is the decimal mark")
    return f"try_cast(replace({text}, ',', '.') AS DOUBLE)"


def good(quality: str) -> str:
    """The expression that says whether a row is of good quality."""
    if not quality:
        return "TRUE"
    words = ", ".join(f"'{word}'" for word in _GOOD_WORDS)
    return f"coalesce(lower(trim({column(quality)}::VARCHAR)), '') IN ({words})"


def content_name(path: Path) -> str:
    """The name a kept file goes by."""
    with path.open("rb") as stream:
        digest = hashlib.file_digest(stream, "sha256").hexdigest()
    return f"{digest[:32]}.parquet"


def column(name: str) -> str:
    """The name of a column inside a query."""
    return '"' + name.replace('"', '""') + '"'


def quoted(path: Path) -> str:
    """A path inside quotes of a query."""
    return str(path).replace("'", "''")
