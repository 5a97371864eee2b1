"""What tolerances and readings do to the checks of one bellows."""

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
from takeup.bellows.uncertainty.study import spread
from takeup.bellows.uncertainty.tolerances import Sheet, sheet_tolerance, usual

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
