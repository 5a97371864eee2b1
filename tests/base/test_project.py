"""Promises about the project itself."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("lock", ["requirements.lock", "requirements-dev.lock"])
def test_lock_files_name_versions_and_hashes_and_no_addresses(lock):
    """Every package is pinned with hashes, and no registry host is recorded."""
    text = (ROOT / lock).read_text(encoding="utf-8")

    assert "://" not in text
    pins = re.findall(r"^[a-z0-9][\w.-]*(?:\[[\w,-]+\])?==", text, flags=re.M)
    assert len(pins) > 30
    assert text.count("--hash=sha256:") > len(pins)


@pytest.mark.parametrize(
    ("module", "kept_out"),
    [
        ("takeup.bellows.model", ("scipy", "sqlalchemy", "fastapi", "ortools", "duckdb")),
        ("takeup.assess.verdict", ("sqlalchemy", "fastapi", "ortools", "duckdb", "pandas")),
        ("takeup.plan.build", ("ortools", "sqlalchemy", "pandas")),
        ("takeup.documents.dossier", ("typst", "matplotlib", "xlsxwriter")),
    ],
)
def test_heavy_libraries_are_loaded_only_when_used(module, kept_out):
    """Importing a room does not drag in what only some of its calls need."""
    code = f"import sys, {module}; print([m for m in {kept_out!r} if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )

    assert done.stdout.strip() == "[]"


def test_package_data_is_where_the_code_looks_for_it():
    """Tables, templates, fonts and migrations stand beside the code that reads them."""
    package = ROOT / "src" / "takeup"
    for name in ("limits.csv", "materials/data/alloys.csv", "evidence/check_items.csv",
                 "options/tasks.csv", "documents/typst/house.typ", "web/templates/base.html",
                 "web/static/fonts/OFL.txt", "register/migrations/versions/0001_first.py"):  # fmt: skip
        assert (package / name).is_file(), name
