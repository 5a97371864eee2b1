"""A store on SQLite, and on PostgreSQL where a server is given."""

import os

import pytest
import sqlalchemy as sa

from takeup.register.store import Store

POSTGRES = os.environ.get("TAKEUP_TEST_POSTGRES", "")


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def store(request, tmp_path):
    """An empty store; the same tests run on both databases."""
    if request.param == "postgres":
        if not POSTGRES:
            pytest.skip("no PostgreSQL: set TAKEUP_TEST_POSTGRES (scripts/postgres.sh does)")
        engine = sa.create_engine(POSTGRES)
        with engine.begin() as connection:
            connection.execute(sa.text("DROP SCHEMA public CASCADE"))
            connection.execute(sa.text("CREATE SCHEMA public"))
        engine.dispose()
        opened = Store.open(POSTGRES)
    else:
        opened = Store.open(f"sqlite:///{tmp_path / 'register.db'}")
    opened.migrate()
    yield opened
    opened.close()
