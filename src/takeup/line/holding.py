"""What holds a solved line and how: force in rods and pins, contacts that are open or closed."""

from __future__ import annotations

from collections.abc import Iterator

import msgspec
import numpy as np

from takeup.checks import Check, LimitKind, compare
from takeup.line.model import (
    Anchor,
    ConstantSpring,
    Guide,
    Hardware,
    Hold,
    Joint,
    Line,
    Rest,
    RodHanger,
    Stop,
    VariableSpring,
)
from takeup.line.rows import pin_moment, pins_of, rod_growth
from takeup.line.solve import Prepared, StateResult
from takeup.line.telling import Tell, si_words
from takeup.sources import Source, Standing

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
    to_nut: tuple[float | None, ...]
    """How far each rod may still lengthen the joint before it holds [m]; 0 where it pulls"""
    allowed: float | None = None
    """What one rod may pull [N]"""

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
    allowed: float | None = None
    """What the hinge or gimbal as a whole may carry [N]"""
    friction: float = 0.0
    """Moment up to which its pins stick, about one axis, by pressure thrust [N.m]"""

    @property
    def resultant(self) -> float:
        """Force on the pins of one side and the other together [N]."""
        return float(np.hypot(self.axial, self.shear))


class Finding(msgspec.Struct, frozen=True, kw_only=True):
    """Something that a contact or spring does which is worth a look on the line."""

    name: str
    station: str
    what: str
    """lifted off, slack, on its stop, at its gap, within its nuts, uneven, pushed, overloaded"""
    says: str
    harmless: bool = False
    """Whether it is as meant: a guide that guides, a limit rod that waits"""


def rods_of(line: Line, name: str) -> tuple[Joint, Hardware]:
    """The joint and the set of rods whose rows are called ``name``."""
    tag, _, which = name.rpartition(" rods")
    joint = next(p for p in line.pieces if isinstance(p, Joint) and p.tag == tag)
    sets = [h for h in joint.hardware if h.hold in {Hold.TIED, Hold.LIMIT}]
    return joint, sets[min(int(which) - 1 if which.strip() else 0, len(sets) - 1)]


def rod_forces(ready: Prepared, result: StateResult) -> tuple[RodForce, ...]:
    """Tension in each rod of every tied or limited joint [N].

    By equilibrium of the solved state, each rod a spring with its gaps (engineering model).
    """
    state = next(one for one in ready.line.states if one.name == result.state)
    found = []
    for place in ready.rows.places:
        if place.what != "rod":
            continue
        joint, one = rods_of(ready.line, place.name)
        # A row is the lengthening of the joint at a rod: the rod answers with a pull, minus.
        tension = tuple(float(-f) + 0.0 for f in result.rows[list(place.rows)])
        slack = one.gap_out + rod_growth(ready.line, joint, one, place.name, state)
        moved = result.row_movement[list(place.rows)]
        found.append(
            RodForce(
                tag=joint.tag,
                name=place.name,
                tension=tension,
                stress=tuple(f / one.rod_area for f in tension),
                to_nut=tuple(max(0.0, slack - float(u)) for u in moved),
                allowed=one.allowed,
            )
        )
    return tuple(found)


def pin_forces(ready: Prepared, result: StateResult) -> tuple[PinForce, ...]:
    """Force that each hinge or gimbal carries [N], pressure thrust in it."""
    pressure = next(one.pressure for one in ready.line.states if one.name == result.state)
    found = []
    for at, spot in enumerate(ready.frame.spots):
        piece = ready.line.pieces[spot.piece]
        if spot.what != "bellows" or not isinstance(piece, Joint):
            continue
        pins = pins_of(piece, spot.number)
        if pins is None:
            continue
        arm = ready.frame.elements.arm[at]
        tangent = arm / np.linalg.norm(arm)
        force = result.ends[at, 6:9]
        found.append(
            PinForce(
                tag=piece.tag,
                number=spot.number,
                axial=float(force @ tangent),
                shear=float(np.linalg.norm(force - tangent * (force @ tangent))),
                allowed=pins.allowed,
                friction=pin_moment(piece, spot.number, pressure),
            )
        )
    return tuple(found)


def findings(
    ready: Prepared, result: StateResult, *, tell: Tell = si_words
) -> tuple[Finding, ...]:  # fmt: skip
    """What contacts, springs, rods and pins do that is worth a look on the line.

    ``tell`` says forces and lengths in the reader's units.
    """
    return (*_on_supports(ready, result, tell), *_on_joints(ready, result, tell))


def _on_supports(ready: Prepared, result: StateResult, tell: Tell) -> Iterator[Finding]:
    """Rests lifted off, slack hangers, springs on a stop, guides and stops at their gap."""
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
                what, says = "at its gap", f"holds the line with {tell(side, 'force')}"
        if what:
            yield Finding(
                name=one.name, station=one.station, what=what, says=says,
                harmless=what == "at its gap",
            )  # fmt: skip


UNEVEN = 1.5
"""A rod that carries this times the mean of its set is pointed out."""


def _on_joints(ready: Prepared, result: StateResult, tell: Tell) -> Iterator[Finding]:
    """Rods that wait within their nuts, share unevenly or push; rods and pins beyond their load."""
    for rod in rod_forces(ready, result):
        joint, one = rods_of(ready.line, rod.name)
        tied = one.hold is Hold.TIED

        def found(
            what: str, says: str, harmless: bool = False, name: str = rod.name,
            station: str = joint.start,
        ) -> Finding:  # fmt: skip
            return Finding(name=name, station=station, what=what, says=says, harmless=harmless)

        pulling = [f for f in rod.tension if f > STILL]
        pushing = [f for f in rod.tension if f < -STILL]
        if not pulling and not pushing:
            left = min((gap for gap in rod.to_nut if gap is not None), default=0.0)
            words = (
                f"no rod holds; the joint may lengthen by {tell(left, 'movement')} before one does"
            )
            thrust = ", so that anchors take its thrust" if tied else ""
            yield found("within its nuts", words + thrust, harmless=not tied)
        elif pulling and len(pulling) < len(rod.tension):
            yield found("slack", f"{len(rod.tension) - len(pulling)} of {len(rod.tension)} rods "
                                 "carry nothing or push")  # fmt: skip
        uneven = rod.uneven
        if pulling and uneven is not None and uneven > UNEVEN:
            yield found("uneven", f"one rod pulls {uneven:.1f} times the mean of its set")
        if pushing:
            yield found("pushed", f"a rod is pushed with {tell(-min(pushing), 'force')}: its inner "
                                  "nuts hold the joint open, and a long rod may buckle")  # fmt: skip
        most = max((abs(f) for f in rod.tension), default=0.0)
        if rod.allowed is not None and most > rod.allowed:
            yield found("overloaded", f"{tell(most, 'force')} in a rod that may take "
                                      f"{tell(rod.allowed, 'force')}")  # fmt: skip
    starts = {p.tag: p.start for p in ready.line.pieces if isinstance(p, Joint)}
    for pin in pin_forces(ready, result):
        if pin.allowed is not None and pin.resultant > pin.allowed:
            yield Finding(
                name=f"{pin.tag} pins {pin.number + 1}", station=starts[pin.tag],
                what="overloaded",
                says=f"{tell(pin.resultant, 'force')} on hardware that may take "
                f"{tell(pin.allowed, 'force')}",
            )  # fmt: skip


HARDWARE = Source(
    document="Takeup",
    at="force in rods or pins of a joint against what its maker allows",
    standing=Standing.DERIVED,
)


def checks(ready: Prepared, result: StateResult) -> Iterator[Check]:
    """Rods and pins of one state against what they may carry; open where that is not given."""
    for rod in rod_forces(ready, result):
        most = max(rod.tension, key=abs, default=0.0)
        yield compare(
            id=f"rod.{rod.name}@{result.state}", name=f"Force in {rod.name}, {result.state}",
            symbol="F", demand=abs(most), capacity=rod.allowed, kind="force", source=HARDWARE,
            limit_kind=LimitKind.PUBLISHED,
            missing=() if rod.allowed is not None else (f"allowed pull of one rod of {rod.tag}",),
            because="largest of the set; bending of rods and eyes is not in it"
            if rod.allowed is not None else "",
        )  # fmt: skip
    for pin in pin_forces(ready, result):
        yield compare(
            id=f"pins.{pin.tag}.{pin.number + 1}@{result.state}",
            name=f"Force on hinge or gimbal {pin.number + 1} of {pin.tag}, {result.state}",
            symbol="F", demand=pin.resultant, capacity=pin.allowed, kind="force", source=HARDWARE,
            limit_kind=LimitKind.PUBLISHED,
            missing=() if pin.allowed is not None
            else (f"allowed pull on the hinge or gimbal of {pin.tag}",),
            because="pull and shear together" if pin.allowed is not None else "",
        )  # fmt: skip


def _held(ready: Prepared, result: StateResult, one: Guide | Stop) -> float:
    """Force that holds sideways, or along a stop, friction left out [N]."""
    rows = list(ready.rows.place(one.name).rows)
    if isinstance(one, Guide) and one.friction > 0.0:
        rows = rows[:-1]
    return float(np.linalg.norm(result.rows[rows]))
