"""The demo site, made once for all tests that need a whole site; copy it before changing it."""

import datetime as dt
import shutil

import pytest

TODAY = dt.date(2026, 11, 25)


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory):
    """A demo site, assessed and planned as of a fixed day."""
    from takeup.demo.create import create
    from takeup.desk import assess, plan

    folder = tmp_path_factory.mktemp("demo") / "site"
    with create(folder, today=TODAY) as site:
        site.today = lambda: TODAY
        assess.run(site, today=TODAY)
        plan.run(site, today=TODAY, effort=0.02)
    return folder


@pytest.fixture
def demo_copy(demo_folder, tmp_path):
    """A copy of the demo site that a test may change."""
    target = tmp_path / "site"
    shutil.copytree(demo_folder, target)
    return target


@pytest.fixture
def demo_site(demo_copy, monkeypatch):
    """An open copy of the demo site whose today is fixed."""
    from takeup.desk.site import Site, open_site

    monkeypatch.setattr(Site, "today", lambda self: TODAY)
    with open_site(demo_copy) as site:
        yield site
