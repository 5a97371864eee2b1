"""What tolerances and readings do to the checks of one bellows."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from takeup.bellows.uncertainty.model import (
    CheckSpread,
    Direction,
    Driver,
    Impossible,
    Sampling,
    Shape,
    Share,
    Spread,
    UncertaintyReport,
)
from takeup.bellows.uncertainty.tolerances import Sheet, sheet_tolerance, usual

if TYPE_CHECKING:
    from takeup.bellows.uncertainty.study import spread

__all__ = [
    "CheckSpread",
    "Direction",
    "Driver",
    "Impossible",
    "Sampling",
    "Shape",
    "Share",
    "Sheet",
    "Spread",
    "UncertaintyReport",
    "sheet_tolerance",
    "spread",
    "usual",
]


def __getattr__(name: str) -> Any:
    """Load the study, with its statistics, when it is first asked for."""
    if name == "spread":
        from takeup.bellows.uncertainty import study

        return study.spread
    raise AttributeError(f"module 'takeup.bellows.uncertainty' has no attribute {name!r}")
