"""Walls of joints of the demo site, invented; one text a joint beside this file."""

from __future__ import annotations

from pathlib import Path

from takeup.fields import Fact
from takeup.register.entities import WallModel


def walls() -> list[Fact]:
    """The walls that the demo site has on record."""
    return [
        WallModel(joint=path.stem, text=path.read_text(encoding="utf-8"))
        for path in sorted(Path(__file__).parent.glob("*.toml"))
    ]
