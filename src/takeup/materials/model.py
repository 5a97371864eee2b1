"""What the materials room hands out: alloys and properties with their source."""

from __future__ import annotations

from enum import StrEnum

import msgspec

from takeup.sources import Source
from takeup.units import Real


class Family(StrEnum):
    """Families of metals as the bellows rules and damage mechanisms tell them apart."""

    AUSTENITIC = "austenitic"
    NICKEL = "nickel"
    FERRITIC = "ferritic"


class Property(msgspec.Struct, frozen=True, kw_only=True):
    """A property of a metal: SI value (scalar or array), quantity kind, source and note."""

    value: Real
    kind: str
    source: Source
    note: str = ""


class Alloy(msgspec.Struct, frozen=True, kw_only=True):
    """A metal by its trade name, and the table rows that speak for it."""

    name: str
    uns: str
    synonyms: tuple[str, ...]
    family: Family
    grade: str
    """Specification and grade whose strength is tabulated."""
    creep_threshold: float
    """Metal temperature [K] from which the bellows rules no longer apply."""
    tensile: float
    """Least tensile strength [Pa] at room temperature."""
    caution_temperature: float | None
    """Metal temperature [K] above which years of service harm it; ``None``: none recorded."""
    caution_reason: str
    sensitises: bool
    chloride_scc: bool
    note: str = ""
    rows: dict[str, str]
    """Table row per property; a property that is missing here has no table."""
    allowable_top: float | None = None
    """Temperature [K] above which its own allowable stress is not that of the row."""
