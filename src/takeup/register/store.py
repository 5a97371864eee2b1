"""The store: an append-only chain of revisions. The only module that speaks to a database."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from importlib import resources
from pathlib import Path
from typing import Any

import msgspec
import sqlalchemy as sa

from takeup.errors import BadFile, Contradiction, Refused, TakeupError, UnknownName
from takeup.fields import Fact
from takeup.register import schema
from takeup.register.entities import KINDS
from takeup.register.revisions import Revision, decode, encode, seal

_BATCH = 400


class ChangeHead(msgspec.Struct, frozen=True, kw_only=True):
    """One change: who, when, why, how many facts."""

    id: int
    time: dt.datetime
    author: str
    reason: str
    facts: int


class StoredResult(msgspec.Struct, frozen=True, kw_only=True):
    """A computed result as it was stored."""

    kind: str
    key: str
    inputs_hash: str
    version: str
    time: dt.datetime
    body: bytes


class Changes:
    """Collects what one change puts and withdraws; the store writes it when all is well."""

    def __init__(self) -> None:
        self.facts: dict[tuple[str, str], Fact | None] = {}
        self.keys: dict[tuple[str, str], str] = {}
        self.fresh: set[tuple[str, str]] = set()
        """Withdrawn after being put in the same change: need not be in the store."""

    def put(self, fact: Fact) -> None:
        """Add or replace a fact; one spelling of a key only."""
        place = (fact.KIND, fact.key.casefold())
        spelt = self.keys.get(place)
        if spelt is not None and spelt != fact.key and self.facts.get(place) is not None:
            raise Contradiction(
                f"{fact.TITLE}: {spelt!r} and {fact.key!r} differ only in case; "
                "they would be one entry. Keep one spelling"
            )
        self.keys[place] = fact.key
        self.facts[place] = fact

    def put_many(self, facts: Iterable[Fact]) -> None:
        """Add or replace many facts."""
        for fact in facts:
            self.put(fact)

    def withdraw(self, kind: str, key: str) -> None:
        """Take a fact out; its history stays.

        The change fails with :class:`takeup.errors.UnknownName` when there is no such fact.
        """
        place = (kind, key.casefold())
        if self.facts.get(place) is not None:
            self.fresh.add(place)
        self.keys[place] = key
        self.facts[place] = None


class Store:
    """An open store. Use :meth:`open`, then :meth:`migrate`."""

    def __init__(self, engine: sa.Engine) -> None:
        self._engine = engine

    @classmethod
    def open(cls, url: str) -> Store:
        """Open a store by database URL (SQLite file or PostgreSQL)."""
        try:
            made = sa.make_url(url)
        except sa.exc.ArgumentError as fault:
            raise TakeupError(
                f"{url!r} is not a database address; use sqlite:///file or postgresql+psycopg://…"
            ) from fault
        if made.get_backend_name() == "postgresql" and made.drivername == "postgresql":
            made = made.set(drivername="postgresql+psycopg")
        try:
            engine = sa.create_engine(made)
        except ModuleNotFoundError as fault:
            raise TakeupError(
                f"the driver for {made.get_backend_name()} is not installed: "
                "pip install 'takeup[postgres]'"
            ) from fault
        if made.get_backend_name() == "sqlite":
            sa.event.listen(engine, "connect", _set_pragmas)
        return cls(engine)

    def migrate(self) -> None:
        """Bring the tables up to this version; does nothing when they are."""
        from alembic import command
        from alembic.config import Config

        with self._begin() as connection:
            if _stands_at(connection) == _newest():
                return
            config = Config()
            config.set_main_option("script_location", _migrations())
            config.attributes["connection"] = connection
            command.upgrade(config, "head")

    def close(self) -> None:
        """Close all connections."""
        self._engine.dispose()

    # -- writing ---------------------------------------------------------------------------

    @contextmanager
    def change(
        self, *, author: str, reason: str, time: dt.datetime, expect: int | None = None
    ) -> Iterator[Changes]:
        """Store all that is put inside the block together, or nothing when it fails.

        Facts that did not change make no revision.  ``expect`` is the number of the change
        (:meth:`last_change`) that the facts were compared with: :class:`takeup.errors.Refused`
        when there is a newer one, since its facts would be overwritten unseen.
        """
        if not author.strip() or not reason.strip():
            raise Refused("a change needs an author and a reason")
        changes = Changes()
        yield changes
        if changes.facts:
            self._write(changes, author.strip(), reason.strip(), time, expect)

    def _write(
        self, changes: Changes, author: str, reason: str, time: dt.datetime, expect: int | None
    ) -> None:
        with self._begin() as connection:
            if expect is not None:
                _lock(connection)
                _require_newest(connection, expect)
            last = connection.execute(sa.select(sa.func.max(schema.change.c.time))).scalar()
            if last is not None and last.tzinfo is None:
                last = last.replace(tzinfo=dt.UTC)
            time = max(time, last) if last else time  # a clock set back must not reorder history
            heads = self._heads(connection, changes.facts)
            rows, new_heads = [], []
            for place, fact in changes.facts.items():
                kind, id = place
                if kind not in KINDS:
                    raise TakeupError(f"{kind!r} is not a kind of fact")
                body = encode(fact) if fact is not None else None
                number, previous, old = heads.get(place, (0, "", None))
                if fact is None and old is None and place not in changes.fresh:
                    raise UnknownName(
                        kind.replace("_", " "), changes.keys[place], _known(connection, kind)
                    )
                if body == old or _says_the_same(kind, fact, old):
                    continue
                key = fact.key if fact is not None else changes.keys[place]
                hash = seal(kind, id, number + 1, body, previous)
                joint = _joint_of(fact, kind, key)
                rows.append(
                    {
                        "kind": kind,
                        "id": id,
                        "number": number + 1,
                        "key": key,
                        "body": body,
                        "hash": hash,
                        "previous": previous,
                        "joint": joint,
                    }
                )
                new_heads.append(
                    {
                        "kind": kind,
                        "id": id,
                        "number": number + 1,
                        "hash": hash,
                        "body": body,
                        "key": key,
                    }
                )
            if not rows:
                return
            made = connection.execute(
                sa.insert(schema.change).values(
                    time=time, author=author, reason=reason, facts=len(rows)
                )
            )
            assert made.inserted_primary_key is not None
            for row in rows:
                row["change"] = made.inserted_primary_key[0]
            connection.execute(sa.insert(schema.revision), rows)
            _upsert_heads(connection, new_heads)

    def _heads(
        self, connection: sa.Connection, places: Iterable[tuple[str, str]]
    ) -> dict[tuple[str, str], tuple[int, str, bytes | None]]:
        by_kind: dict[str, list[str]] = {}
        for kind, id in places:
            by_kind.setdefault(kind, []).append(id)
        found: dict[tuple[str, str], tuple[int, str, bytes | None]] = {}
        table = schema.head.c
        for kind, ids in by_kind.items():
            for start in range(0, len(ids), _BATCH):
                query = sa.select(table.id, table.number, table.hash, table.body).where(
                    table.kind == kind, table.id.in_(ids[start : start + _BATCH])
                )
                for row in connection.execute(query):
                    found[kind, row.id] = (row.number, row.hash, row.body)
        return found

    def put_result(
        self,
        kind: str,
        key: str,
        inputs_hash: str,
        version: str,
        time: dt.datetime,
        body: bytes,
    ) -> None:
        """Keep a computed result; earlier ones stay."""
        self.put_results([(kind, key, inputs_hash, version, time, body)])

    def put_results(self, results: Sequence[tuple[str, str, str, str, dt.datetime, bytes]]) -> None:
        """Keep many computed results together, or none."""
        rows = [
            {
                "kind": kind,
                "id": key.casefold(),
                "key": key,
                "inputs_hash": inputs_hash,
                "version": version,
                "time": time,
                "body": body,
            }
            for kind, key, inputs_hash, version, time, body in results
        ]
        if rows:
            with self._begin() as connection:
                connection.execute(sa.insert(schema.result), rows)

    # -- reading ---------------------------------------------------------------------------

    def facts(self, at: dt.datetime | None = None) -> Iterator[Fact]:
        """Every fact as it stands, or as it stood at ``at``, in the order of kinds and keys."""
        with self._connect() as connection:
            query: sa.Select[Any]
            if at is None:
                table = schema.head.c
                query = sa.select(table.kind, table.id, table.body)
            else:
                table = schema.revision.c
                newest = (
                    sa.select(table.kind, table.id, sa.func.max(table.number).label("number"))
                    .join(schema.change, schema.change.c.id == table.change)
                    .where(schema.change.c.time <= at)
                    .group_by(table.kind, table.id)
                    .subquery()
                )
                query = sa.select(table.kind, table.id, table.body).join(
                    newest,
                    sa.and_(
                        newest.c.kind == table.kind,
                        newest.c.id == table.id,
                        newest.c.number == table.number,
                    ),
                )
            rows: Sequence[Any] = connection.execute(query).all()
        order = {kind: place for place, kind in enumerate(KINDS)}
        # sorted here, since databases collate text differently
        for kind, _, body in sorted(rows, key=lambda row: (order.get(row.kind, 99), row.id)):
            if body is not None:
                yield decode(kind, body)

    def history(self, kind: str, key: str) -> tuple[Revision, ...]:
        """All revisions of one fact, oldest first."""
        table = schema.revision.c
        return self._revisions(
            sa.and_(table.kind == kind, table.id == key.casefold()), newest_first=False
        )

    def history_of_joint(
        self, tag: str, limit: int
    ) -> tuple[tuple[Revision, Revision | None], ...]:
        """The newest ``limit`` revisions of everything of a joint, each with the one before."""
        found = self._revisions(schema.revision.c.joint == tag.casefold(), newest_first=True)
        before = {(r.kind, r.id, r.number): r for r in found}
        return tuple(
            (revision, before.get((revision.kind, revision.id, revision.number - 1)))
            for revision in found[:limit]
        )

    def _revisions(
        self, where: sa.ColumnElement[bool], *, newest_first: bool
    ) -> tuple[Revision, ...]:
        table, change = schema.revision.c, schema.change.c
        query = (
            sa.select(
                table.kind,
                table.id,
                table.key,
                table.number,
                change.time,
                change.author,
                change.reason,
                table.body,
                table.hash,
                table.previous,
            )
            .join(schema.change, change.id == table.change)
            .where(where)
        )
        order = [change.id, table.kind, table.id, table.number]
        query = query.order_by(*[c.desc() if newest_first else c.asc() for c in order])
        with self._connect() as connection:
            return tuple(Revision(**row._mapping) for row in connection.execute(query))

    def changes(self, limit: int = 100) -> tuple[ChangeHead, ...]:
        """The newest changes."""
        table = schema.change.c
        query = sa.select(schema.change).order_by(table.id.desc()).limit(limit)
        with self._connect() as connection:
            return tuple(ChangeHead(**row._mapping) for row in connection.execute(query))

    def last_change(self) -> int:
        """The number of the newest change; 0 when there is none."""
        with self._connect() as connection:
            return int(connection.execute(sa.select(sa.func.max(schema.change.c.id))).scalar() or 0)

    def last_change_time(self) -> dt.datetime | None:
        """When facts changed last."""
        newest = self.changes(1)
        return newest[0].time if newest else None

    def verify(self) -> list[str]:
        """Recompute the chain of hashes and list every break; empty means it is whole."""
        faults: list[str] = []
        table = schema.revision.c
        query = sa.select(
            table.kind, table.id, table.number, table.body, table.hash, table.previous
        ).order_by(table.kind, table.id, table.number)
        newest: dict[tuple[str, str], tuple[int, str, bytes | None]] = {}
        with self._connect() as connection:
            for kind, id, number, body, hash, previous in connection.execute(query):
                before = newest.get((kind, id), (0, "", None))
                if number != before[0] + 1 or previous != before[1]:
                    faults.append(f"{kind}:{id} revision {number} does not follow {before[0]}")
                if seal(kind, id, number, body, previous) != hash:
                    faults.append(f"{kind}:{id} revision {number} was changed after it was stored")
                newest[kind, id] = (number, hash, body)
            heads = {
                (row.kind, row.id): (row.number, row.hash, row.body)
                for row in connection.execute(sa.select(schema.head))
            }
        faults += [
            f"{kind}:{id} does not stand at its newest revision"
            for kind, id in newest.keys() | heads.keys()
            if heads.get((kind, id)) != newest.get((kind, id))
        ]
        return sorted(faults)

    def result(self, kind: str, key: str) -> StoredResult | None:
        """The newest result of a kind for a key."""
        table = schema.result.c
        query = (
            sa.select(
                table.kind, table.key, table.inputs_hash, table.version, table.time, table.body
            )
            .where(table.kind == kind, table.id == key.casefold())
            .order_by(table.serial.desc())
            .limit(1)
        )
        with self._connect() as connection:
            row = connection.execute(query).first()
        return StoredResult(**row._mapping) if row else None

    def results(self, kind: str) -> tuple[StoredResult, ...]:
        """The newest result of a kind for every key."""
        table = schema.result.c
        newest = (
            sa.select(sa.func.max(table.serial).label("serial"))
            .where(table.kind == kind)
            .group_by(table.id)
            .subquery()
        )
        query = sa.select(
            table.kind, table.key, table.inputs_hash, table.version, table.time, table.body
        ).join(newest, newest.c.serial == table.serial)
        with self._connect() as connection:
            return tuple(StoredResult(**row._mapping) for row in connection.execute(query))

    # -- connections -----------------------------------------------------------------------

    @contextmanager
    def _begin(self) -> Iterator[sa.Connection]:
        try:
            with self._engine.begin() as connection:
                yield connection
        except (sa.exc.OperationalError, sa.exc.DatabaseError) as fault:
            raise _translated(fault) from fault

    @contextmanager
    def _connect(self) -> Iterator[sa.Connection]:
        try:
            with self._engine.connect() as connection:
                yield connection
        except (sa.exc.OperationalError, sa.exc.DatabaseError) as fault:
            raise _translated(fault) from fault


def _lock(connection: sa.Connection) -> None:
    """Keep others from changing until this transaction ends."""
    if connection.dialect.name == "postgresql":
        connection.execute(sa.text("LOCK TABLE change IN SHARE ROW EXCLUSIVE MODE"))
    else:
        connection.exec_driver_sql("BEGIN IMMEDIATE")


def _require_newest(connection: sa.Connection, expect: int) -> None:
    table = schema.change.c
    newest = connection.execute(
        sa.select(table.id, table.author, table.reason).order_by(table.id.desc()).limit(1)
    ).first()
    if newest is not None and newest.id != expect:
        raise Refused(
            f"the register changed since it was compared with this (last by {newest.author}: "
            f"{newest.reason}); compare again"
        )


def _says_the_same(kind: str, fact: Fact | None, old: bytes | None) -> bool:
    """Whether a stored body of an older version, with fewer fields, holds this very fact."""
    return fact is not None and old is not None and decode(kind, old) == fact


def _known(connection: sa.Connection, kind: str) -> list[str]:
    table = schema.head.c
    query = sa.select(table.key).where(table.kind == kind, table.body.is_not(None))
    return [str(key) for key in connection.execute(query).scalars()]


def _joint_of(fact: Fact | None, kind: str, key: str) -> str:
    if kind == "joint":
        return key.casefold()
    tag = getattr(fact, "joint", None) if fact is not None else None
    if tag is None and "joint" in KINDS[kind].KEY:
        # a withdrawn fact: the joint is part of its key
        place = KINDS[kind].KEY.index("joint")
        tag = key.split("/")[place]
    return str(tag).casefold() if tag else ""


def _upsert_heads(connection: sa.Connection, rows: list[dict[str, Any]]) -> None:
    if connection.dialect.name == "postgresql":
        from sqlalchemy.dialects.postgresql import insert as pg_insert

        made: Any = pg_insert(schema.head)
    else:
        from sqlalchemy.dialects.sqlite import insert as lite_insert

        made = lite_insert(schema.head)
    columns = ("number", "hash", "body", "key")
    made = made.on_conflict_do_update(
        index_elements=["kind", "id"], set_={name: made.excluded[name] for name in columns}
    )
    connection.execute(made, rows)


def _set_pragmas(connection: Any, _: object) -> None:
    cursor = connection.cursor()
    for pragma in (
        "journal_mode=WAL",
        "synchronous=NORMAL",
        "foreign_keys=ON",
        "busy_timeout=5000",
    ):
        cursor.execute(f"PRAGMA {pragma}")
    cursor.close()


def _migrations() -> str:
    return str(Path(str(resources.files("takeup.register").joinpath("migrations"))))


def _newest() -> str:
    versions = Path(_migrations()) / "versions"
    return max(path.name.split("_")[0] for path in versions.glob("[0-9]*.py"))


def _stands_at(connection: sa.Connection) -> str | None:
    if not sa.inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(sa.text("SELECT version_num FROM alembic_version")).scalar()


def _translated(fault: sa.exc.DBAPIError) -> TakeupError:
    said = str(fault.orig).strip().splitlines()[0] if fault.orig else str(fault)
    if "locked" in said:
        return Refused("the store is being changed by someone else right now; try again")
    if "not a database" in said or "malformed" in said:
        return BadFile(f"the store is damaged or is no database: {said}. Restore it from a copy")
    return TakeupError(f"the store could not be reached or refused: {said}")
