"""A copy of the demo site and a client of the app on it, one for each file of tests."""

import shutil

import pytest
from fastapi.testclient import TestClient

from takeup.desk.site import Site
from takeup.web.server import create_app
from tests.conftest import TODAY


@pytest.fixture(scope="module")
def folder(demo_folder, tmp_path_factory):
    """A copy of the demo for the tests of this file."""
    target = tmp_path_factory.mktemp("web") / "site"
    shutil.copytree(demo_folder, target)
    return target


@pytest.fixture(scope="module")
def client(folder):
    """A client of the app on that copy."""
    app = create_app(folder)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Site, "today", lambda self: TODAY)
        with TestClient(app, base_url="http://127.0.0.1", follow_redirects=False) as found:
            yield found
    app.state.site.close()
