"""Tables of the store. Alembic compares the migrations with this."""

from __future__ import annotations

import datetime as dt
from typing import Any

import sqlalchemy as sa

metadata = sa.MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)


class UtcDateTime(sa.types.TypeDecorator[dt.datetime]):
    """UTC in, UTC out, on every database; naive times are refused."""

    impl = sa.DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: dt.datetime | None, dialect: Any) -> dt.datetime | None:
        """Store in UTC."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a time without time zone cannot be stored")
        return value.astimezone(dt.UTC)

    def process_result_value(self, value: dt.datetime | None, dialect: Any) -> dt.datetime | None:
        """Return aware UTC; SQLite hands back naive times."""
        if value is None:
            return None
        return value.replace(tzinfo=dt.UTC) if value.tzinfo is None else value.astimezone(dt.UTC)


change = sa.Table(
    "change",
    metadata,
    sa.Column("id", sa.Integer, primary_key=True, autoincrement=True),
    sa.Column("time", UtcDateTime, nullable=False),
    sa.Column("author", sa.Text, nullable=False),
    sa.Column("reason", sa.Text, nullable=False),
    sa.Column("facts", sa.Integer, nullable=False),
)

revision = sa.Table(
    "revision",
    metadata,
    sa.Column("kind", sa.Text, primary_key=True),
    sa.Column("id", sa.Text, primary_key=True),
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("change", sa.Integer, sa.ForeignKey("change.id"), nullable=False, index=True),
    sa.Column("key", sa.Text, nullable=False),
    sa.Column("body", sa.LargeBinary, nullable=True),
    sa.Column("hash", sa.Text, nullable=False),
    sa.Column("previous", sa.Text, nullable=False),
    sa.Column("joint", sa.Text, nullable=False, index=True),
)

head = sa.Table(
    "head",
    metadata,
    sa.Column("kind", sa.Text, primary_key=True),
    sa.Column("id", sa.Text, primary_key=True),
    sa.Column("number", sa.Integer, nullable=False),
    sa.Column("hash", sa.Text, nullable=False),
    sa.Column("body", sa.LargeBinary, nullable=True),
    sa.Column("key", sa.Text, nullable=False),
)

result = sa.Table(
    "result",
    metadata,
    sa.Column("serial", sa.Integer, primary_key=True, autoincrement=True),
    sa.Column("kind", sa.Text, nullable=False),
    sa.Column("id", sa.Text, nullable=False),
    sa.Column("key", sa.Text, nullable=False),
    sa.Column("inputs_hash", sa.Text, nullable=False),
    sa.Column("version", sa.Text, nullable=False),
    sa.Column("time", UtcDateTime, nullable=False),
    sa.Column("body", sa.LargeBinary, nullable=False),
    sa.Index("ix_result_kind_id_serial", "kind", "id", "serial"),
)
