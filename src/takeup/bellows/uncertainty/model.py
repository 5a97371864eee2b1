"""What the study of tolerances takes and gives."""

from __future__ import annotations

import math
from enum import StrEnum

import msgspec

from takeup.bellows.model import BellowsCase, Condition, Movement
from takeup.checks import Outcome
from takeup.fields import specs
from takeup.sources import Source

WORDS = {
    "inside_diameter": "inside diameter Db",
    "height": "convolution height w",
    "pitch": "pitch q",
    "torus_radius": "torus radius",
    "mean_diameter": "diameter of torus centre line Dm",
    "tangent_length": "tangent length Lt",
    "ply_thickness": "ply thickness t",
    "thinnest_ply": "least ply thickness measured",
    "tube_diameter": "tube diameter before forming",
    "collar_length": "collar length Lc",
    "collar_thickness": "collar thickness tc",
    "ring_area": "area of one ring Ar",
    "length_over_both": "length over both bellows Lu",
    "weld_factor": "weld factor",
    "pressure": "pressure",
    "temperature": "metal temperature",
    "allowable_stress": "allowable stress",
    "modulus": "elastic modulus",
    "yield_strength": "yield strength",
    "axial": "axial movement",
    "lateral": "lateral movement",
    "angular": "angular movement",
    "lateral_across": "lateral movement, second plane",
    "angular_across": "angular movement, second plane",
    "cycles": "cycles to count",
}
"""Inputs that may be spread, in words."""
OF_CONDITION = ("pressure", "temperature", "allowable_stress", "modulus", "yield_strength")
OF_MOVEMENT = ("axial", "lateral", "angular", "lateral_across", "angular_across", "cycles")
OF_BELLOWS = (
    "inside_diameter",
    "height",
    "pitch",
    "torus_radius",
    "mean_diameter",
    "tangent_length",
    "ply_thickness",
    "thinnest_ply",
    "tube_diameter",
    "collar_length",
    "collar_thickness",
    "ring_area",
)


class Shape(StrEnum):
    """How values lie between the limits."""

    UNIFORM = "uniform"
    """Anywhere between the limits alike: all that a tolerance says."""
    TRIANGULAR = "triangular"
    """Most often at the nominal value, never beyond the limits."""
    NORMAL = "normal"
    """By standard deviation, cut off at the limits where there are any."""


class Sampling(StrEnum):
    """How the samples are laid out."""

    SOBOL = "Sobol points, scrambled"
    LATIN = "Latin hypercube"


class Spread(msgspec.Struct, frozen=True, kw_only=True):
    """How far one input may lie from the value in the case, and who says so.

    ``input`` is a field of the bellows (``ply_thickness``), of the conditions
    (``pressure``, or ``pressure@design`` for one alone) or of the movements (``axial``,
    ``axial@start-up``).  Without ``@`` all conditions or movements move together by one
    draw.  ``minus`` and ``plus`` are amounts below and above the value in the case, in SI
    units, or as a share of it where ``relative``.
    """

    input: str
    shape: Shape = Shape.UNIFORM
    minus: float = math.inf
    plus: float = math.inf
    deviation: float | None = None
    """Standard deviation; for the normal shape only."""
    relative: bool = False
    source: Source
    note: str = ""

    @property
    def words(self) -> str:
        """The input as people call it."""
        name, _, where = self.input.partition("@")
        return f"{WORDS.get(name, name)} ({where})" if where else WORDS.get(name, name)

    @property
    def kind(self) -> str:
        """Quantity kind of its amounts; see :data:`takeup.units.KINDS`."""
        if self.relative:
            return "share"
        name = self.input.partition("@")[0]
        found = next(
            spec.kind
            for struct in (BellowsCase, Condition, Movement)
            for spec in specs(struct)
            if spec.name == name
        )
        return "temperature_difference" if found == "temperature" else found


class Direction(StrEnum):
    """What more of an input does to the use of capacity."""

    RAISES = "more of it raises the ratio"
    LOWERS = "more of it lowers the ratio"
    EITHER = "both more and less of it can raise the ratio"


class Driver(msgspec.Struct, frozen=True, kw_only=True):
    """One input behind the spread of one check."""

    input: str
    words: str
    share: float
    """First-order share of the variance of the rank of the ratio [-]."""
    direction: Direction
    correlation: float
    """Rank correlation of input and ratio [-]."""


class Share(msgspec.Struct, frozen=True, kw_only=True):
    """Share of the samples that fail, with the 95 % interval of the true share.

    None failed gives no zero but an upper bound: ``low`` 0, ``high`` the share that would
    have shown itself with 95 % probability; all failed likewise a lower bound.  Samples that
    could not be evaluated count as either: they are left out of ``low`` and put into ``high``.
    """

    failed: int
    samples: int
    """Samples that are possible, evaluated or not."""
    open: int = 0
    """Of these, samples that could not be evaluated."""
    low: float
    high: float

    @property
    def value(self) -> float:
        """Share seen to fail [-]."""
        return self.failed / self.samples

    def said(self) -> str:
        """In words, for a sentence."""
        if not self.failed:
            return f"fewer than {percent(self.high)} (95 %)"
        if self.failed == self.samples:
            return f"more than {percent(self.low)} (95 %)"
        if self.open:  # the two ends differ too much for one number of decimals
            return f"{percent(self.value)} ({percent(self.low)} to {percent(self.high)})"
        digits = min(4, max(0, math.ceil(-math.log10(50.0 * (self.high - self.low)))))
        value, low, high = (
            f"{100.0 * share:.{digits}f}" for share in (self.value, self.low, self.high)
        )
        return f"{value} % ({low} to {high} %)"


class CheckSpread(msgspec.Struct, frozen=True, kw_only=True):
    """One check over all samples."""

    id: str
    name: str
    source: Source
    outcome: Outcome
    """What the check says of the case as given."""
    nominal: float | None
    """Ratio of the case as given; above 1 is not met."""
    share: Share | None
    """``None`` where no sample was evaluated."""
    low: float | None
    """Ratio that 5 % of samples stay below."""
    median: float | None
    high: float | None
    """Ratio that 95 % of samples stay below."""
    drivers: tuple[Driver, ...] = ()
    """Inputs whose share stands out from chance, largest first."""
    together: float = 0.0
    """Share of the variance that no single input explains: inputs acting together."""
    noise: float = 0.0
    """A share below this is not told from chance."""
    because: str = ""

    @property
    def words(self) -> str:
        """The finding in a sentence."""
        if self.share is None:
            return f"{self.name}: not evaluated in any sample; {self.because}."
        share = self.share
        text = f"{self.name} fails in {share.said()} of samples"
        if not share.failed:
            text = (
                f"{self.name} fails in none of {share.samples - share.open} samples: {share.said()}"
            )
        elif share.failed == share.samples:
            text = f"{self.name} fails in all {share.samples} samples: {share.said()}"
        if self.drivers:
            first = self.drivers[0]
            text += f"; {first.words} drives {percent(first.share)} of its spread"
        if share.open:
            text += (
                f"; {percent(share.open / share.samples)} could not be evaluated and count as "
                f"either ({self.because})"
            )
        return f"{text}."


class Impossible(msgspec.Struct, frozen=True, kw_only=True):
    """Samples left out because no such bellows can exist, and why."""

    reason: str
    count: int


class UncertaintyReport(msgspec.Struct, frozen=True, kw_only=True):
    """What tolerances do to the checks of one bellows."""

    name: str
    basis: str
    samples: int
    sampling: Sampling
    seed: int
    spreads: tuple[Spread, ...]
    held: tuple[str, ...]
    """Inputs that were not spread, in words."""
    impossible: tuple[Impossible, ...]
    checks: tuple[CheckSpread, ...]
    """Most likely to fail first."""
    any_check: Share | None
    """Samples in which at least one check fails, among all possible samples."""
    cautions: tuple[str, ...]

    @property
    def words(self) -> tuple[str, ...]:
        """One sentence per check, most likely to fail first."""
        return tuple(check.words for check in self.checks)


def percent(share: float) -> str:
    """A share in per cent with the digits that it bears: 0.02 %, 3.1 %, 71 %."""
    value = 100.0 * share
    if value >= 10.0 and value <= 99.0:
        return f"{value:.0f} %"
    if value > 99.0:
        return f"{math.floor(value * 10.0) / 10.0:g} %"
    if value >= 0.95:
        return f"{value:.1f} %"
    if value <= 0.0:
        return "0 %"
    return f"{value:.1g} %"
