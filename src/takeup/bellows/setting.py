"""What the array pass works on: everything about a bellows but pressure and movement."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np

from takeup.bellows.model import Bellows
from takeup.units import Pascal, Ratio, Real

Flag = Any
"""One bool, or an array of them."""


class Setting(msgspec.Struct, frozen=True, kw_only=True):
    """A bellows, its metal's family and state, its place in the joint; scalars or arrays."""

    bellows: Bellows
    nickel: Flag
    austenitic: Flag
    as_formed: Flag
    forming_factor: Real
    """NaN where unknown."""
    weld_factor: Real
    tensile: Pascal
    """Least tensile strength at room temperature; NaN where unknown."""
    room_modulus: Pascal
    threshold: Real
    """Metal temperature [K] from which the metal creeps."""
    kg: Ratio
    ctheta: Ratio
    kr: Ratio
    material_factor: Ratio
    """fc of the mean curve; NaN where there is none for the metal."""
    ends: Ratio
    """Share of the fixed-end squirm pressure."""
    shared: Ratio
    """Bellows that share the axial movement: 1 or 2."""
    sign: Ratio
    """-1 for the balancing bellows, which shortens while the flow bellows opens."""
    universal: Flag
    pair: Flag
    balancing: Flag
    """Whether lateral and angular movement pass this bellows by."""
    over_both: Real
    """Lu [m]; NaN for one bellows or where unknown."""
    outside: Flag
    """Whether a positive pressure stands outside the bellows."""

    def at(self, places: Any) -> Setting:
        """The rows ``places`` of a setting of arrays."""
        fields = msgspec.structs.asdict(self)
        return Setting(
            **{name: rows(value, places) for name, value in fields.items() if name != "bellows"},
            bellows=part(self.bellows, places),
        )


class Metals(msgspec.Struct, frozen=True, kw_only=True):
    """Strength and stiffness of the metals at one temperature; NaN where unknown."""

    allowable: Pascal
    modulus: Pascal
    yield_strength: Pascal
    yield_given: Flag = False
    """Whether yield is that of the finished bellows, so that no factor goes on top."""
    allowable_given: Flag = False
    """Whether the allowable stress is the user's own, so that nothing caps it."""
    collar_allowable: Pascal = np.nan
    collar_modulus: Pascal = np.nan
    ring_allowable: Pascal = np.nan
    ring_modulus: Pascal = np.nan
    fastener_allowable: Pascal = np.nan
    fastener_modulus: Pascal = np.nan


def rows(value: Any, places: Any) -> Any:
    """``value`` at ``places``; a scalar stays one."""
    return value if value is None or np.ndim(value) == 0 else np.asarray(value)[places]


def part(bellows: Bellows, places: Any) -> Bellows:
    """The bellows at ``places``, repeated as asked."""
    fields = msgspec.structs.asdict(bellows)
    return Bellows(**{name: rows(value, places) for name, value in fields.items()})
