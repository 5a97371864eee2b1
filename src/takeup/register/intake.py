"""Readings that come in: one file of one or many tags, made ready to join what is kept.

Nothing is put right in silence.  What a file does to the clock, to quality and to order is
counted with its spans; a time of day that occurs twice or never in its zone is settled where the
order of the rows settles it, and set aside where not.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import msgspec

from takeup.errors import BadFile, TakeupError
from takeup.register import parts, series

TOLD = 5
"""Spans told one by one, the longest first; all are counted"""
STUCK = 86400.0
"""s; a value that stays the same to the last digit for longer, over twelve readings, is told"""
LOOK_BACK = 3 * 86400.0
"""s of kept readings before the new ones that gaps and stuck values are looked for in"""
SAME = 0.06
"""K; readings of one stamp closer than this say the same (kept values are single precision)"""

_TAG_NAMES = ("tag", "tagname", "tag_name", "point", "instrument")
_UNIT_NAMES = ("unit", "units", "eu")


class Layout(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What a file cannot say of itself."""

    tag: str = ""
    """Of the whole file, where no column names the tag of each row"""
    unit: str = ""
    """C, F or K"""
    time_zone: str = ""
    """Of times without an offset"""
    tag_column: str = ""
    time_column: str = ""
    value_column: str = ""
    quality_column: str = ""
    unit_column: str = ""


class Span(msgspec.Struct, frozen=True, kw_only=True):
    """A stretch of time."""

    first: dt.datetime
    last: dt.datetime
    rows: int = 0

    @property
    def length(self) -> float:
        """How long [s]."""
        return (self.last - self.first).total_seconds()


class Found(msgspec.Struct, frozen=True, kw_only=True):
    """What a file holds of one tag."""

    name: str
    """As the file writes it; empty where the file holds one tag and does not name it"""
    unit: str
    rows: int
    """Rows with a time, repeats counted"""
    unread: int
    """Rows whose time cannot be read"""
    twice: int
    """Rows in an hour that occurs twice, where the order does not tell which; set aside"""
    never: int
    """Rows in an hour that does not occur in the zone; set aside"""
    set_aside: Span | None
    """Of the two, in wall time written as UTC"""
    settled: int
    """Rows in an hour that occurs twice, told apart by their order"""
    bad: int
    """Kept, flagged: bad quality, no number, or no metal temperature"""
    repeated: int
    """Rows with the stamp of an earlier row of the file"""
    differing: int
    """Of those, rows with another value"""
    back: int
    """Steps of the clock backward, from row to row"""
    furthest_back: float
    """s"""
    back_at: dt.datetime | None
    """Where the furthest was: the time before it"""
    reversed: bool
    """The file runs from new to old"""
    first: dt.datetime | None
    last: dt.datetime | None
    middle: float | None
    """Median of good readings [K]"""
    median_raw: float | None
    """The same as written in the file"""


class Joined(msgspec.Struct, frozen=True, kw_only=True):
    """What came of joining new readings to a kept history."""

    files: tuple[str, ...]
    new: int
    bad: int
    """Of the new"""
    repeated: int
    """Stamps that were kept already; the kept reading stays"""
    differing: int
    """Of those, with another value"""
    first: dt.datetime | None
    last: dt.datetime | None
    gaps: int
    """Longer than three usual intervals and an hour"""
    longest_gaps: tuple[Span, ...]
    stuck: int
    """Stretches of one value for over a day and twelve readings"""
    longest_stuck: tuple[Span, ...]


class Intake:
    """One file, read once; tags are looked at and joined from it. Close it."""

    def __init__(self, source: Path, layout: Layout, scratch: Path) -> None:
        """Read ``source``; raises :class:`takeup.errors.BadFile` where it is no such file."""
        import duckdb

        self.named = layout.tag
        self._connection = series.connect(scratch)
        try:
            self._read(source, layout)
        except duckdb.Error as fault:
            self.close()
            said = str(fault).splitlines()[0]
            raise BadFile(f"{source.name} cannot be read as temperatures: {said}") from fault
        except TakeupError:
            self.close()
            raise

    def close(self) -> None:
        """Let go of the file."""
        self._connection.close()

    def _read(self, source: Path, layout: Layout) -> None:
        connection = self._connection
        relation, separator, notes = series.relation_of(connection, source)
        columns = series.columns_of(connection, relation, source.name)
        tag = series.optional(columns, layout.tag_column, _TAG_NAMES, source.name)
        unit = series.optional(columns, layout.unit_column, _UNIT_NAMES, source.name)
        if layout.unit and unit:
            raise BadFile(
                f"{source.name} names units in column {unit!r}, and the layout beside it says "
                f"{layout.unit}; leave one of the two"
            )
        if not layout.unit and not unit:
            raise BadFile(
                f'{source.name} does not say its unit; write unit = "C", "F" or "K" in '
                "readings.toml beside it"
            )
        others = tuple(name for name in (tag, unit) if name)
        left = {name: kind for name, kind in columns.items() if name not in others}
        time = series.pick(left, layout.time_column, series.TIME_NAMES, "time", source.name)
        value = series.pick(
            left, layout.value_column, series.VALUE_NAMES, "value", source.name, without=(time,)
        )
        quality = series.optional(left, layout.quality_column, series.QUALITY_NAMES, source.name)
        stamp, local = series.clock(
            connection, relation, columns, time, layout.time_zone, source.name
        )
        number = series.number_of(
            connection, relation, columns, value, separator, source.name, notes
        )
        self.notes = tuple(notes)
        self.tagged = bool(tag)
        if tag and layout.tag:
            raise BadFile(
                f"{source.name} names tags in column {tag!r}, and the layout beside it says "
                f"{layout.tag}; leave one of the two"
            )
        named = f"coalesce(trim({series.column(tag)}::VARCHAR), '')" if tag else "''"
        units = (
            f"upper(ltrim(trim({series.column(unit)}::VARCHAR), '°'))" if unit
            else f"'{layout.unit.upper().lstrip('°')}'"
        )  # fmt: skip
        connection.execute(
            f"CREATE TEMP TABLE lines AS SELECT row_number() OVER () AS n, {named} AS name, "
            f"{stamp} AS stamp, {number} AS v, {units} AS unit, {series.good(quality)} AS flag "
            f"FROM {relation}"
        )
        self._check(source.name, time, value)
        if local:
            self._place(layout.time_zone)
        else:
            connection.execute(
                "CREATE TEMP TABLE placed AS SELECT *, stamp AS t, '' AS turn FROM lines"
            )
        connection.execute("DROP TABLE lines")
        kelvin = (
            "(CASE unit WHEN 'C' THEN v + 273.15 WHEN 'F' THEN (v + 459.67) * 5 / 9 ELSE v END)"
        )
        low, high = series.SPAN_K
        connection.execute(
            "CREATE TEMP TABLE readings AS SELECT name, n, t, stamp, turn, v, unit, "
            f"{kelvin}::FLOAT AS k, coalesce(flag AND {kelvin} BETWEEN {low} AND {high}, FALSE) "
            "AS ok, row_number() OVER (PARTITION BY name, t ORDER BY n) AS nth, "
            f"first_value({kelvin}::FLOAT) OVER (PARTITION BY name, t ORDER BY n) AS first_k "
            "FROM placed"
        )
        connection.execute("DROP TABLE placed")

    def _check(self, name: str, time: str, value: str) -> None:
        # a dead instrument brings rows without numbers, said to be bad: these are readings
        total, stamps, numbers, units = self._connection.execute(
            "SELECT count(*), count(stamp), count(*) FILTER (v IS NOT NULL OR NOT flag), "
            "string_agg(DISTINCT unit, ', ') FILTER (unit NOT IN ('C', 'F', 'K') OR unit IS NULL) "
            "FROM lines"
        ).fetchone() or (0, 0, 0, None)
        if not total:
            raise BadFile(f"{name} holds no rows")
        if not stamps:
            raise BadFile(
                f"{name}: no time in column {time!r} could be read; "
                "use 2026-11-25 14:30 or 2026-11-25T14:30:00+01:00"
            )
        if not numbers:
            raise BadFile(f"{name}: column {value!r} holds no numbers")
        if units is not None:
            raise BadFile(f"{name}: temperature unit {units!r} is not known; use C, F or K")

    def _place(self, zone: str) -> None:
        """Wall time onto the one clock, with the hours that occur twice or never."""
        connection = self._connection
        low, high = connection.execute("SELECT min(stamp), max(stamp) FROM lines").fetchone()
        connection.execute(
            "CREATE TEMP TABLE turns (lo TIMESTAMP, hi TIMESTAMP, early DOUBLE, late DOUBLE, "
            "twice BOOLEAN)"
        )
        for turn in turns(zone, low, high):
            connection.execute("INSERT INTO turns VALUES (?, ?, ?, ?, ?)", list(turn))
        connection.execute(
            f"""
            CREATE TEMP TABLE placed AS
            WITH marked AS (
              SELECT l.*, u.lo, u.early, u.late, u.twice,
                     l.stamp < lag(l.stamp) OVER (PARTITION BY l.name, u.lo ORDER BY n) AS back
              FROM lines l LEFT JOIN turns u ON l.stamp >= u.lo AND l.stamp < u.hi
            ), counted AS (
              SELECT *,
                sum(coalesce(back, FALSE)::INT) OVER (PARTITION BY name, lo) AS backs,
                sum(coalesce(back, FALSE)::INT) OVER (PARTITION BY name, lo ORDER BY n) AS run
              FROM marked
            )
            SELECT n, name, stamp, v, unit, flag,
              CASE WHEN lo IS NULL THEN timezone('{zone}', stamp)
                   WHEN twice AND backs = 1 THEN timezone('UTC', stamp
                        - to_seconds(CASE WHEN run = 0 THEN early ELSE late END)) END AS t,
              CASE WHEN lo IS NULL THEN '' WHEN NOT twice THEN 'never'
                   WHEN backs = 1 THEN 'settled' ELSE 'twice' END AS turn
            FROM counted
            """
        )

    def found(self) -> tuple[Found, ...]:
        """What the file holds, tag by tag."""
        # disorder is told without the stamps that were set aside
        rows = self._connection.execute(
            """
            WITH steps AS (
              SELECT name, n, t, epoch(t) - epoch(lag(t) OVER (PARTITION BY name ORDER BY n)) AS d,
                     lag(t) OVER (PARTITION BY name ORDER BY n) AS before
              FROM readings WHERE t IS NOT NULL
            ), clock AS (
              SELECT name, count(*) FILTER (d < 0) AS back, coalesce(-min(d), 0) AS furthest,
                     arg_min(before, d) FILTER (d < 0) AS whence, count(*) FILTER (d > 0) AS on_
              FROM steps GROUP BY name
            ), held AS (
              SELECT name, string_agg(DISTINCT unit, ', ') AS unit, count(t) AS rows,
                count(*) FILTER (t IS NULL AND turn = '') AS unread,
                count(*) FILTER (turn = 'twice') AS twice,
                count(*) FILTER (turn = 'never') AS never,
                count(*) FILTER (turn = 'settled') AS settled,
                count(*) FILTER (t IS NOT NULL AND nth = 1 AND NOT ok) AS bad,
                count(*) FILTER (t IS NOT NULL AND nth > 1) AS repeated,
                count(*) FILTER (t IS NOT NULL AND nth > 1
                                 AND k IS DISTINCT FROM first_k) AS differing,
                min(t) AS first, max(t) AS last, median(k) FILTER (ok) AS middle,
                median(v) FILTER (ok) AS raw
              FROM readings GROUP BY name
            )
            SELECT held.name, unit, rows, unread, twice, never, settled, bad, repeated, differing,
                   coalesce(back, 0), coalesce(furthest, 0), epoch(whence), coalesce(on_, 0),
                   epoch(first), epoch(last), middle, raw
            FROM held LEFT JOIN clock USING (name) ORDER BY held.name
            """
        ).fetchall()
        aside = {
            name: Span(first=_sure(low), last=_sure(high), rows=rows)
            for name, low, high, rows in self._connection.execute(
                "SELECT name, epoch(min(stamp)), epoch(max(stamp)), count(*) FROM readings "
                "WHERE turn IN ('twice', 'never') GROUP BY name"
            ).fetchall()
        }
        made = []
        for row in rows:
            back, on = int(row[10]), int(row[13])
            made.append(
                Found(
                    name=row[0], unit=row[1], rows=row[2], unread=row[3], twice=row[4],
                    never=row[5], settled=row[6], bad=row[7], repeated=row[8], differing=row[9],
                    back=back, furthest_back=float(row[11]) if back else 0.0, back_at=_time(row[12]),
                    reversed=back > 2 and back > 10 * on, first=_time(row[14]),
                    last=_time(row[15]), middle=row[16], median_raw=row[17],
                    set_aside=aside.get(row[0]),
                )
            )  # fmt: skip
        return tuple(made)

    def join(self, name: str, tag: str, folder: Path, files: tuple[str, ...]) -> Joined:
        """Keep what is new of ``name``, beside the ``files`` of ``tag``: the first reading of a stamp stays.

        Raises :class:`takeup.errors.BadFile` where a kept file is missing or damaged.
        """
        import duckdb

        connection = self._connection
        kept = _kept(tag, folder, files)
        try:
            connection.execute(
                "CREATE OR REPLACE TEMP TABLE mine AS SELECT epoch_us(t) AS us, k, ok "
                "FROM readings WHERE name = ? AND t IS NOT NULL AND nth = 1",
                [name],
            )
            low, high = connection.execute("SELECT min(us), max(us) FROM mine").fetchone()
            if low is None:
                return Joined(
                    files=files, new=0, bad=0, repeated=0, differing=0, first=None, last=None,
                    gaps=0, longest_gaps=(), stuck=0, longest_stuck=(),
                )  # fmt: skip
            connection.execute(
                "CREATE OR REPLACE TEMP TABLE seen AS SELECT us, k, ok "
                f"FROM {kept} WHERE us BETWEEN {low - int(LOOK_BACK * 1e6)} "
                f"AND {high + int(LOOK_BACK * 1e6)}"
            )
            repeated, differing = connection.execute(
                "SELECT count(*), count(*) FILTER (mine.ok <> seen.ok OR "
                f"(mine.ok AND abs(mine.k - seen.k) > {SAME})) FROM mine JOIN seen USING (us)"
            ).fetchone() or (0, 0)
            new, bad, first, last = connection.execute(
                "SELECT count(*), count(*) FILTER (NOT ok), min(us), max(us) "
                "FROM mine ANTI JOIN seen USING (us)"
            ).fetchone() or (0, 0, None, None)
            gaps, longest = self._gaps(low, high)
            stuck, still = self._stuck(low)
            names = files
            if new:
                names = parts.add(
                    connection,
                    folder,
                    files,
                    "SELECT us, k, ok FROM mine ANTI JOIN seen USING (us)",
                )
        except duckdb.Error as fault:
            said = str(fault).splitlines()[0]
            raise BadFile(f"the history kept of {tag} is damaged: {said}") from fault
        return Joined(
            files=names,
            new=int(new),
            bad=int(bad),
            repeated=int(repeated),
            differing=int(differing),
            first=_time(None if first is None else first / 1e6),
            last=_time(None if last is None else last / 1e6),
            gaps=gaps,
            longest_gaps=longest,
            stuck=stuck,
            longest_stuck=still,
        )

    def _gaps(self, low: int, high: int) -> tuple[int, tuple[Span, ...]]:
        """Gaps that the new readings leave, to the kept ones on both sides too."""
        rows = self._connection.execute(
            f"""
            WITH all_ AS (SELECT us FROM seen UNION SELECT us FROM mine),
            steps AS (SELECT us, lag(us) OVER (ORDER BY us) AS before FROM all_),
            usual AS (SELECT greatest(3600e6, 3 * coalesce(median(us - before), 0)) AS most
                      FROM steps)
            SELECT before / 1e6, us / 1e6, count(*) OVER () FROM steps, usual
            WHERE us - before > most AND us >= {low} AND before <= {high}
            ORDER BY us - before DESC LIMIT {TOLD}
            """
        ).fetchall()
        return _spans(rows)

    def _stuck(self, low: int) -> tuple[int, tuple[Span, ...]]:
        """Stretches of one value that reach into the new readings."""
        rows = self._connection.execute(
            f"""
            WITH all_ AS (
              SELECT us, k FROM seen WHERE ok
              UNION ALL SELECT us, k FROM mine ANTI JOIN seen USING (us) WHERE ok
            ), turned AS (
              SELECT us, k, coalesce(k <> lag(k) OVER (ORDER BY us), TRUE)::INT AS new FROM all_
            ), runs AS (SELECT us, sum(new) OVER (ORDER BY us) AS run FROM turned),
            held AS (SELECT min(us) AS first, max(us) AS last, count(*) AS rows
                     FROM runs GROUP BY run)
            SELECT first / 1e6, last / 1e6, count(*) OVER (), rows FROM held
            WHERE last - first >= {STUCK * 1e6} AND rows >= 12 AND last >= {low}
            ORDER BY last - first DESC LIMIT {TOLD}
            """
        ).fetchall()
        return _spans(rows)

    def kept_level(self, name: str, folder: Path, files: tuple[str, ...]) -> float | None:
        """Median of the last four weeks of the history kept of ``name`` [K]."""
        import duckdb

        kept = _kept(name, folder, files)
        try:
            row = self._connection.execute(
                f"SELECT median(k) FROM {kept} WHERE ok AND us > "
                f"(SELECT max(us) FROM {kept}) - {28 * 86400 * 1000000}"
            ).fetchone()
        except duckdb.Error as fault:
            said = str(fault).splitlines()[0]
            raise BadFile(f"the history kept of {name} is damaged: {said}") from fault
        return None if row is None or row[0] is None else float(row[0])


def _kept(name: str, folder: Path, files: tuple[str, ...]) -> str:
    for one in files:
        if not (folder / one).exists():
            raise BadFile(f"the history kept of {name} ({one}) is missing beside the store")
    return series.kept([folder / one for one in files])


def turns(
    zone: str, low: dt.datetime, high: dt.datetime
) -> list[tuple[dt.datetime, dt.datetime, float, float, bool]]:
    """Stretches of wall time between ``low`` and ``high`` that occur twice or never in ``zone``.

    Each with its start and end, the offset before and after the turn [s], and whether it occurs
    twice.
    """
    from zoneinfo import ZoneInfo

    place = ZoneInfo(zone)

    def offset(at: dt.datetime) -> float:
        shift = at.replace(tzinfo=dt.UTC).astimezone(place).utcoffset()
        return 0.0 if shift is None else shift.total_seconds()

    made = []
    day = dt.timedelta(days=1)
    at = low - 2 * day
    before = offset(at)
    while at < high + 2 * day:
        after = offset(at + day)
        if after != before:
            start, end = at, at + day
            while end - start > dt.timedelta(seconds=1):
                middle = start + (end - start) / 2
                start, end = (middle, end) if offset(middle) == before else (start, middle)
            turn = (end + dt.timedelta(milliseconds=500)).replace(microsecond=0)
            walls = sorted(
                (turn + dt.timedelta(seconds=before), turn + dt.timedelta(seconds=after))
            )
            made.append((walls[0], walls[1], before, after, after < before))
        at, before = at + day, after
    return made


def _spans(rows: list[tuple[Any, ...]]) -> tuple[int, tuple[Span, ...]]:
    told = tuple(
        Span(first=_sure(row[0]), last=_sure(row[1]), rows=int(row[3]) if len(row) > 3 else 0)
        for row in rows
    )
    return (int(rows[0][2]) if rows else 0), told


def _time(seconds: float | None) -> dt.datetime | None:
    return None if seconds is None else _sure(seconds)


def _sure(seconds: float) -> dt.datetime:
    return dt.datetime(1970, 1, 1, tzinfo=dt.UTC) + dt.timedelta(seconds=float(seconds))
