"""Templates and data to PDF: the one place that calls Typst. Whole file or none."""

from __future__ import annotations

import datetime as dt
import os
import tempfile
from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Any

import msgspec

from takeup.errors import TakeupError

FOOT = (
    "An aid to licensed engineers. Verify against the codes and editions that govern your plant; "
    "a person decides."
)


def head(title: str, running: str, made: dt.datetime) -> dict[str, Any]:
    """What every document carries on its pages."""
    return {
        "title": title,
        "author": "Takeup",
        "running": running,
        "made": f"made {made:%Y-%m-%d %H:%M} UTC",
        "date": [made.year, made.month, made.day],
        "foot": FOOT,
    }


def render(
    template: str,
    data: Mapping[str, Any],
    out: Path,
    files: Mapping[str, str | bytes] | None = None,
) -> Path:
    """Render ``typst/<template>.typ`` with ``data`` and ``files`` (name to SVG text or bytes).

    The PDF is tagged for accessibility (PDF/UA-1 rules are not claimed).  The same data gives
    the same bytes.
    """
    import typst

    source = resources.files("takeup.documents").joinpath("typst")
    with tempfile.TemporaryDirectory() as scratch:
        root = Path(scratch)
        for name in ("house.typ", f"{template}.typ"):
            root.joinpath(name).write_bytes(source.joinpath(name).read_bytes())
        root.joinpath("data.json").write_bytes(msgspec.json.encode(data))
        for name, content in (files or {}).items():
            raw = content.encode("utf-8") if isinstance(content, str) else content
            root.joinpath(name).write_bytes(raw)
        staged = out.with_name(f".{out.name}.{os.getpid()}")
        try:
            typst.compile(
                str(root / f"{template}.typ"), output=str(staged), root=str(root), format="pdf"
            )
        except RuntimeError as fault:
            staged.unlink(missing_ok=True)
            raise TakeupError(f"document {out.name} could not be set: {fault}") from fault
        out.parent.mkdir(parents=True, exist_ok=True)
        staged.replace(out)
    return out
