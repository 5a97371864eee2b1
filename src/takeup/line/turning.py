"""Where a line turns further than the small rotations that its solution stands on."""

from __future__ import annotations

import math

import msgspec
import numpy as np

from takeup.line.model import Line
from takeup.line.solve import StateResult
from takeup.sources import Source, assumption

SMALL = 0.1
"""Rotation up to which a solution by small rotations is trusted [rad]."""
SOURCE: Source = assumption(
    "limit of small rotations: a length L that turns by t draws in by L (1 - cos t), which the "
    "solution leaves out; 0.5 % of L at 0.1 rad"
)


class Turned(msgspec.Struct, frozen=True, kw_only=True):
    """What turns furthest in a state."""

    what: str
    """Station, joint, or bellows of a joint between its ends"""
    angle: float
    """[rad]"""
    left_out: float
    """Share of a turned length by which it draws in, which the solution leaves out [-]"""
    source: Source = SOURCE

    @property
    def too_far(self) -> bool:
        """Whether the numbers of the state are not to be used."""
        return not self.angle <= SMALL

    @property
    def says(self) -> str:
        """What turns, how far, and what that means; nothing where it is little."""
        if not self.too_far:
            return ""
        return (
            f"{self.what} turns by {self.angle:.2f} rad ({math.degrees(self.angle):.0f} deg), more "
            f"than {SMALL:g} rad, beyond the small rotations that the solution stands on: of what "
            f"turns so far {100.0 * self.left_out:.1f} % of its length is left out (derived here; "
            "the limit is an engineering assumption). Do not use the numbers of this state."
        )


def furthest(line: Line, result: StateResult) -> Turned:
    """What turns most in a state: of all stations, joints and single bellows.

    Not a number counts as too far.
    """
    turns = np.linalg.norm(result.motion[:, 3:], axis=1)
    at = int(np.argmax(turns))
    name = f"station {line.stations[at].name!r}" if at < len(line.stations) else "a part of a joint"
    found = [(float(turns[at]), name)]
    for one in result.joints:
        which = "" if one.number is None else f", bellows {'AB'[one.number]}"
        found.append((math.hypot(*one.angular), f"{one.tag}{which}"))
    angle, what = max(found)
    return Turned(what=what, angle=angle, left_out=1.0 - math.cos(min(angle, math.pi)))
