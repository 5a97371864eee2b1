"""What a rule set states: which checks, in which order, by which clause."""

from __future__ import annotations

import msgspec

from takeup.bellows.model import Basis
from takeup.checks import LimitKind
from takeup.sources import Source


class RuleSet(msgspec.Struct, frozen=True, kw_only=True):
    """One standard as the engine applies it."""

    basis: Basis
    limit_kind: LimitKind
    checks: tuple[str, ...]
    """Check families in order of printing; stability comes first, it fails first."""
    sources: dict[str, Source]
    """Source of each figure and check family."""
    names: dict[str, str]
    rate_constant: float
    """Constant of the axial rate: 1.7, or pi / (2 (1 - nu^2)) kept exact."""
    inplane_constant: float
    yield_factor: dict[bool, float]
    """Factor on table yield for in-plane squirm: as formed (True) and annealed (False)."""
    yield_by_strength_factor: bool
    """Whether table yield is raised by 0.67 Cm instead of ``yield_factor``."""
    applicability: bool
    """Whether the geometry limits of the rule set are its own."""
    creep_form: bool
    """Whether S3 + S4/1.25 against S stands in for S3 + S4 in the creep range."""
    tensile_divisor: float | None
    """What tensile strength is divided by in the standard's own allowable stress, where the
    table read here divides by less; ``None`` where that table is the standard's."""
    valid: str
    notes: tuple[str, ...] = ()


NAMES = {
    "column_squirm": "Column squirm",
    "inplane_squirm": "In-plane squirm",
    "S1": "Hoop stress of end tangent",
    "S2": "Hoop stress of inner convolutions",
    "S2e": "Hoop stress of end convolutions",
    "S3": "Meridional membrane stress from pressure",
    "S4": "Meridional bending stress from pressure",
    "S3+S4": "Meridional stress from pressure, membrane and bending",
    "S5": "Meridional membrane stress from movement",
    "S6": "Meridional bending stress from movement",
    "St": "Total stress range",
    "fatigue": "Cycles against the design fatigue curve",
}
