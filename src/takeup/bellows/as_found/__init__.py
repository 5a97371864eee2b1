"""A bellows as it was found: measured, over-travelled, thinned, hot, or short of a ply."""

from takeup.bellows.as_found.examine import examine
from takeup.bellows.as_found.model import AsFound, AsFoundReport

__all__ = ["AsFound", "AsFoundReport", "examine"]
