"""Sizing: the bellows that fit an old envelope, every one of the discrete space looked at."""

from takeup.bellows.sizing.model import (
    Candidate,
    Choice,
    Excluded,
    Goal,
    NearMiss,
    Rings,
    Sheet,
    SizingResult,
    SizingTask,
    Steps,
)
from takeup.bellows.sizing.result import choice, size

__all__ = [
    "Candidate",
    "Choice",
    "Excluded",
    "Goal",
    "NearMiss",
    "Rings",
    "Sheet",
    "SizingResult",
    "SizingTask",
    "Steps",
    "choice",
    "size",
]
