"""What is left when a ply of a multi-ply bellows no longer holds pressure."""

from __future__ import annotations

from typing import Literal

import msgspec

from takeup.bellows.model import BellowsCase
from takeup.errors import Contradiction


def surviving_ply(case: BellowsCase, lost: Literal["inner", "outer"]) -> BellowsCase:
    """The case with the lost ply gone: one ply fewer, on its own diameter.

    Line pressure then stands between the plies and what is left carries all of it, in
    strength and in the stiffness that resists squirm.  Loads on anchors and nozzles keep the
    full stiffness: take those from the whole bellows.  Raises
    :class:`takeup.errors.Contradiction` for a single-ply bellows.
    """
    if case.plies < 2:
        raise Contradiction(
            f"bellows {case.name or 'without name'} has {case.plies} ply: there is no second "
            "one that could survive; correct the number of plies or the test result"
        )
    inside = case.inside_diameter + (2.0 * case.ply_thickness if lost == "inner" else 0.0)
    return msgspec.structs.replace(
        case,
        name=f"{case.name} with {lost} ply lost".strip(),
        inside_diameter=inside,
        plies=case.plies - 1,
    )
