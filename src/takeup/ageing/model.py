"""What ageing gives: chances of lasting, with where they come from."""

from __future__ import annotations

import msgspec

from takeup.sources import Source


class LifeRecord(msgspec.Struct, frozen=True, kw_only=True):
    """One life of a bellows set at this site, in years.

    ``failed_by`` is the age at which it was found failed; ``good_at`` the last age known
    good (interval censoring).  With ``failed_by`` ``None`` it is censored at ``good_at``.
    ``entered`` is the age at which it came under observation (late entry).
    """

    joint: str
    good_at: float
    failed_by: float | None = None
    entered: float = 0.0
    mechanism: str = ""


class Survival(msgspec.Struct, frozen=True, kw_only=True):
    """Chance that a joint of known age lasts to two dates, given it is alive now.

    Averaged over what is not known about the life distribution; ``*_low`` and ``*_high``
    are the 90 % band of that uncertainty.
    """

    service: str
    age: float
    """Years in service now."""
    to_next: float
    to_next_low: float
    to_next_high: float
    to_second: float
    to_second_low: float
    to_second_high: float
    shape: float
    """Posterior mean shape of the Weibull life."""
    scale: float
    """Posterior mean scale, years."""
    typical_low: float
    typical_high: float
    """Class range of replacement age, years."""
    records: int
    failures: int
    source: Source
    notes: tuple[str, ...] = ()
