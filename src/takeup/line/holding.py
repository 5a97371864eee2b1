"""What holds a solved line and how: force in rods and pins, contacts that are open or closed."""

from __future__ import annotations

import msgspec
import numpy as np

from takeup.line.frame import held_by
from takeup.line.model import (
    Anchor,
    ConstantSpring,
    Guide,
    Hold,
    Joint,
    Rest,
    RodHanger,
    Stop,
    VariableSpring,
)
from takeup.line.results import local
from takeup.line.solve import Prepared, StateResult

STILL = 1.0
"""Less than this is no force [N]."""


class RodForce(msgspec.Struct, frozen=True, kw_only=True):
    """Rods of a joint in one state."""

    tag: str
    name: str
    """Of the set of rods"""
    tension: tuple[float, ...]
    """Of each rod, + pulled [N]; a rod within its gaps has none"""
    stress: tuple[float, ...]
    """Over the area of a rod [Pa]; bending of rods and eyes is not in it"""

    @property
    def total(self) -> float:
        """What all rods carry [N]."""
        return float(sum(self.tension))

    @property
    def uneven(self) -> float | None:
        """Largest tension over the mean of all [-]; ``None`` where the rods do not pull."""
        return max(self.tension) * len(self.tension) / self.total if self.total > STILL else None


class PinForce(msgspec.Struct, frozen=True, kw_only=True):
    """Hinge or gimbal over one bellows in one state."""

    tag: str
    number: int
    """Bellows 0 or 1"""
    axial: float
    """Pull on the hardware, with the thrust that it carries [N]"""
    shear: float
    """Across the joint [N]"""

    @property
    def resultant(self) -> float:
        """Force on the pins of one side and the other together [N]."""
        return float(np.hypot(self.axial, self.shear))


class Finding(msgspec.Struct, frozen=True, kw_only=True):
    """Something that a contact or spring does which is worth a look on the line."""

    name: str
    station: str
    what: str
    """lifted off, slack, on its stop, at its gap"""
    says: str


def rod_forces(ready: Prepared, result: StateResult) -> tuple[RodForce, ...]:
    """Tension in each rod of every tied or limited joint [N].

    By equilibrium of the solved state, each rod a spring with its gaps (engineering model).
    """
    joints = {p.tag: p for p in ready.line.pieces if isinstance(p, Joint)}
    found = []
    for place in ready.rows.places:
        if place.what != "rod":
            continue
        tag, _, which = place.name.rpartition(" rods")
        sets = [h for h in joints[tag].hardware if h.hold in {Hold.TIED, Hold.LIMIT}]
        one = sets[min(int(which) - 1 if which.strip() else 0, len(sets) - 1)]
        # A row is the lengthening of the joint at a rod: the rod answers with a pull, minus.
        tension = tuple(float(-f) + 0.0 for f in result.rows[list(place.rows)])
        found.append(
            RodForce(
                tag=tag,
                name=place.name,
                tension=tension,
                stress=tuple(f / one.rod_area for f in tension),
            )
        )
    return tuple(found)


def pin_forces(ready: Prepared, result: StateResult) -> tuple[PinForce, ...]:
    """Force that each hinge or gimbal carries [N], pressure thrust in it."""
    forces = local(ready, result.ends)
    found = []
    for at, spot in enumerate(ready.frame.spots):
        piece = ready.line.pieces[spot.piece]
        if spot.what != "bellows" or not isinstance(piece, Joint):
            continue
        arm = ready.frame.elements.arm[at]
        tangent = arm / np.linalg.norm(arm)
        if held_by(piece, spot.number, tangent) is None:
            continue
        force = result.ends[at, 6:9]
        found.append(
            PinForce(
                tag=piece.tag,
                number=spot.number,
                axial=float(forces.axial[at, 1]),
                shear=float(np.linalg.norm(force - tangent * (force @ tangent))),
            )
        )
    return tuple(found)


def findings(ready: Prepared, result: StateResult) -> tuple[Finding, ...]:
    """Rests lifted off, slack hangers, springs on a stop, guides and stops at their gap."""
    found = []
    for one in ready.line.supports:
        if isinstance(one, Anchor):
            continue
        reaction = result.reaction(one.name)
        size = float(np.linalg.norm(reaction.force))
        what = says = ""
        if isinstance(one, Rest) and size < STILL:
            what, says = "lifted off", "the line has lifted off it, or never reached it"
        elif isinstance(one, RodHanger) and size < STILL:
            what, says = "slack", "its rod carries nothing"
        elif isinstance(one, (VariableSpring, ConstantSpring)):
            rise = reaction.movement[2]
            held = one.pinned if isinstance(one, VariableSpring) else one.seized
            if held:
                what, says = "on its stop", "taken as pinned or seized: it does not give"
            elif rise >= one.travel_up or rise <= -one.travel_down:
                what = "on its stop"
                says = f"on its {'upper' if rise > 0.0 else 'lower'} stop: rigid one way from here"
        elif isinstance(one, (Guide, Stop)):
            side = _held(ready, result, one)
            if side > STILL:
                what, says = "at its gap", f"holds the line with {side / 1e3:.1f} kN"
        if what:
            found.append(Finding(name=one.name, station=one.station, what=what, says=says))
    return tuple(found)


def _held(ready: Prepared, result: StateResult, one: Guide | Stop) -> float:
    """Force that holds sideways, or along a stop, friction left out [N]."""
    rows = list(ready.rows.place(one.name).rows)
    if isinstance(one, Guide) and one.friction > 0.0:
        rows = rows[:-1]
    return float(np.linalg.norm(result.rows[rows]))
