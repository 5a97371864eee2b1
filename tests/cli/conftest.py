"""A demo site, assessed and planned once, and a way to call verbs."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from takeup.cli.app import call

ROOT = Path(__file__).parents[2]


class Said(NamedTuple):
    """What a call of the command line gave."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """Standard output as JSON."""
        return json.loads(self.out)


@pytest.fixture(scope="session")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo site with verdicts and a plan; only to be read."""
    from takeup.demo.create import create
    from takeup.desk import plan

    folder = tmp_path_factory.mktemp("cli") / "demo"
    with create(folder, today=dt.datetime.now(dt.UTC).date()) as site:
        plan.run(site, effort=0.05)
    return folder


@pytest.fixture
def site(planned: Path, tmp_path: Path) -> Path:
    """A copy of the demo site to change."""
    return Path(shutil.copytree(planned, tmp_path / "site"))


@pytest.fixture
def takeup(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Callable[..., Said]:
    """Call a verb in this process."""
    monkeypatch.delenv("TAKEUP_SITE", raising=False)
    monkeypatch.delenv("TAKEUP_DATABASE", raising=False)
    monkeypatch.setenv("USER", "tester")
    monkeypatch.setenv("LOGNAME", "tester")

    def run(*arguments: object) -> Said:
        capsys.readouterr()
        code = call([str(argument) for argument in arguments])
        captured = capsys.readouterr()
        return Said(code, captured.out, captured.err)

    return run
