"""What a rule set states: which checks, in which order, by which clause."""

from __future__ import annotations

import msgspec

from takeup.bellows.fatigue import MeanCurve
from takeup.bellows.model import Basis, Convolution, FatigueCurve
from takeup.checks import LimitKind
from takeup.sources import Source


class RuleSet(msgspec.Struct, frozen=True, kw_only=True):
    """One standard as the engine applies it to one shape of convolutions."""

    basis: Basis
    convolution: Convolution
    limit_kind: LimitKind
    checks: tuple[str, ...]
    """Check families in order of printing; stability comes first, it fails first."""
    sources: dict[str, Source]
    """Source of each figure and check family."""
    names: dict[str, str]
    rate_constant: float
    """Constant of the axial rate: 1.7, or pi / (2 (1 - nu^2)) kept exact."""
    column_constant: float
    inplane_constant: float
    yield_factor: dict[bool, float]
    """Factor on table yield for in-plane squirm: as formed (True) and annealed (False)."""
    yield_by_strength_factor: bool
    """Whether table yield is raised by 0.67 Cm instead of ``yield_factor``."""
    forming_counts: bool
    """Whether Km follows forming strain; else 3.0 as formed and 1.5 annealed."""
    opened_pitch: bool
    """Whether Kr stands in S2 and in-plane squirm."""
    applicability: bool
    """Whether the geometry limits of the rule set are its own."""
    creep_form: bool
    """Whether S3 + S4/1.25 against S stands in for S3 + S4 in the creep range."""
    tensile_divisor: float | None
    """What tensile strength is divided by in the standard's own allowable stress, where the
    table read here divides by less; ``None`` where that table is the standard's."""
    yield_divisor: float | None
    """What yield is divided by in a lower bound of the standard's own design stress, where no
    table of it is held; ``None`` where the allowable stress is not a bound."""
    curve: FatigueCurve | None
    """The design fatigue curve; ``None`` where the standard's own is not held."""
    mean: MeanCurve
    valid: str
    notes: tuple[str, ...] = ()


NAMES = {
    "column_squirm": "Column squirm",
    "inplane_squirm": "In-plane squirm",
    "external": "Buckling under external pressure",
    "S1": "Hoop stress of end tangent",
    "S1c": "Hoop stress of collar",
    "S2": "Hoop stress of inner convolutions",
    "S2e": "Hoop stress of end convolutions",
    "S2r": "Hoop stress of reinforcing rings",
    "S2f": "Stress of ring fasteners",
    "S3": "Meridional membrane stress from pressure",
    "S4": "Meridional bending stress from pressure",
    "S3+S4": "Meridional stress from pressure, membrane and bending",
    "S5": "Meridional membrane stress from movement",
    "S6": "Meridional bending stress from movement",
    "St": "Total stress range",
    "fatigue": "Cycles against the design fatigue curve",
}
SYMBOLS = {
    "column_squirm": "Psc",
    "inplane_squirm": "Psi",
    "external": "Pext",
    "S1c": "S1'",
    "S2r": "S2'",
    "S2f": "S2''",
    "S3+S4": "S3 + S4",
}
"""Symbols of check families; those that are missing here are their own symbol."""
