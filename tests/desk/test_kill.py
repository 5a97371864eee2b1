"""A process killed in the middle of a change leaves the site as it was."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
DRIVER = """
import sys, time
import sqlalchemy as sa
from sqlalchemy.engine import Engine

where, count, arguments = sys.argv[1], int(sys.argv[2]), sys.argv[3:]
seen = 0

def halt():
    print("here", flush=True)
    time.sleep(600)

@sa.event.listens_for(Engine, "after_cursor_execute")
def after(connection, cursor, statement, *rest):
    global seen
    if statement.casefold().startswith("insert into " + where):
        seen += 1
        if seen == count:
            halt()

@sa.event.listens_for(Engine, "commit")
def committing(connection):
    if where == "commit" and seen_write(connection):
        halt()

def seen_write(connection):
    return connection.connection.driver_connection.in_transaction

from takeup.cli.app import run
run(arguments)
"""


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A planned demo site and its register as tables."""
    import datetime as dt

    from takeup.demo.create import create
    from takeup.desk import exports, plan

    folder = tmp_path_factory.mktemp("kill")
    with create(folder / "demo", today=dt.datetime.now(dt.UTC).date()) as site:
        plan.run(site, effort=0.05)
        exports.to_csv(site, folder / "tables")
    return folder


def kill_at(where: str, count: int, *arguments: str) -> None:
    """Run a verb and kill -9 it right after the ``count``-th insert into a table."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "src"), "OPENBLAS_NUM_THREADS": "1"}
    with subprocess.Popen(
        [sys.executable, "-c", DRIVER, where, str(count), *arguments],
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    ) as child:
        assert child.stdout is not None
        lines = iter(child.stdout.readline, "")
        assert "here" in (line.strip() for line in lines), "the verb ended before the kill"
        child.kill()
        child.wait()
    assert child.returncode == -signal.SIGKILL


def state(folder: Path) -> dict[str, Any]:
    """What a site holds: facts, changes, last verdicts and last plan, and its soundness."""
    from takeup.desk import assess, plan
    from takeup.desk.site import open_site

    with open_site(folder) as site:
        return {
            "faults": site.store.verify(),
            "facts": list(site.store.facts()),
            "changes": site.store.changes(1000),
            "verdicts": assess.latest_with_time(site),
            "plan": plan.latest_with_time(site),
        }


@pytest.mark.parametrize("where", ["change", "revision", "head", "commit"])
def test_killed_import_leaves_the_site_as_before(demo: Path, tmp_path: Path, where: str) -> None:
    """Killed after the change, its revisions, its heads, or just before the commit: no trace."""
    from takeup.cli.app import call

    folder = tmp_path / "mine"
    assert call(["new", str(folder), "--name", "Mine"]) == 0
    before = state(folder)
    arguments = ("import", str(demo / "tables"), "--yes", "--site", str(folder))
    kill_at(where, 1, *arguments)
    assert state(folder) == before
    assert before["faults"] == []
    assert call(list(arguments)) == 0  # and the next import goes through
    after = state(folder)
    assert after["faults"] == []
    assert len(after["facts"]) > 1000


@pytest.mark.parametrize(("count", "verdicts_kept"), [(1, True), (2, False)])
def test_killed_plan_keeps_the_last_plan(
    demo: Path, tmp_path: Path, count: int, verdicts_kept: bool
) -> None:
    """Killed while verdicts or the plan are stored: facts and the last plan stand.

    The second insert comes after new verdicts were stored whole: those are newer then.
    """
    from takeup.cli.app import call

    folder = tmp_path / "demo"
    shutil.copytree(demo / "demo", folder)
    before = state(folder)
    assert before["plan"] is not None
    kill_at("result", count, "plan", "--effort", "0.05", "--site", str(folder))
    after = state(folder)
    for part in ("faults", "facts", "changes", "plan"):
        assert after[part] == before[part], part
    assert (after["verdicts"] == before["verdicts"]) is verdicts_kept
    assert set(after["verdicts"]) == set(before["verdicts"])
    assert call(["plan", "--effort", "0.05", "--site", str(folder)]) == 0
