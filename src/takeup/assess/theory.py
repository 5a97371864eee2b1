"""What the model of a line says of its joints and supports, as a verdict takes it. SI.

Made once for a line and shared by the joints on it; arrays of the solution stay behind.
"""

from __future__ import annotations

import math

import msgspec

from takeup.checks import Check
from takeup.sources import Source, Standing

WHOLE = "-"
"""In place of a bellows letter: between the ends of the joint."""


class Move(msgspec.Struct, frozen=True, kw_only=True):
    """Movement of a joint or of one bellows from the cold state to another [m, rad]."""

    state: str
    bellows: str
    """Letter, or :data:`WHOLE`"""
    axial: float
    """+ extension"""
    lateral: tuple[float, float]
    """In the two cross directions of the joint"""
    angular: tuple[float, float]
    torsion: float = 0.0

    @property
    def across(self) -> float:
        """Resultant lateral movement [m]."""
        return math.hypot(*self.lateral)

    @property
    def tilt(self) -> float:
        """Resultant rotation [rad]."""
        return math.hypot(*self.angular)


class Pull(msgspec.Struct, frozen=True, kw_only=True):
    """Load in hardware of a joint in one state [N]."""

    part: str
    """Set of rods, or pins of a bellows"""
    state: str
    force: float
    """Along the joint, + pulled, thrust in it; of all rods or of both sides together"""
    across: float = 0.0
    """Shear across the joint"""
    thrust: float | None = None
    """Pressure thrust in it"""
    most: float | None = None
    """Largest of one rod; ``None``: pins of a hinge or gimbal"""


class Locked(msgspec.Struct, frozen=True, kw_only=True):
    """The line with a joint held where it stands when hot, through the next cool-down."""

    state: str
    """In which it is locked"""
    part: str
    """What is nearest to its limit or farthest beyond; empty where no limit is known"""
    share: float | None
    """Of yield or of what is allowed; above 1 it gives way"""
    when: str
    """State in which that is"""
    unstated: tuple[str, ...]
    """Supports on which no load is stated as allowed"""
    words: tuple[str, ...]
    cautions: tuple[str, ...]


class JointTheory(msgspec.Struct, frozen=True, kw_only=True):
    """One joint on a solved line."""

    tag: str
    moves: tuple[Move, ...]
    pulls: tuple[Pull, ...] = ()
    locked: Locked | None = None
    lock_fault: str = ""
    """Why locking could not be worked out"""

    def move(self, state: str, bellows: str = WHOLE) -> Move | None:
        """Movement from cold to a state, of the joint or of one bellows."""
        letter = bellows.casefold()
        return next(
            (m for m in self.moves if m.state == state and m.bellows.casefold() == letter), None
        )

    def taken(self, state: str) -> float | None:
        """What its bellows take along the joint from cold to a state [m]; ``None``: not told.

        The growth of a spool is in it, that of the pipe ends of the joint is not.
        """
        own = [m.axial for m in self.moves if m.state == state and m.bellows != WHOLE]
        return sum(own) if own else None


class Load(msgspec.Struct, frozen=True, kw_only=True):
    """Load of the line on a support in one state, east, north, up [N, N.m]."""

    name: str
    kind: str
    state: str
    force: tuple[float, float, float]
    moment: tuple[float, float, float] = (0.0, 0.0, 0.0)
    nozzle: bool = False
    says: str = ""
    """Anything out of the ordinary, such as a rest that the line has lifted off"""

    @property
    def size(self) -> float:
        """Resultant force [N]."""
        return math.hypot(*self.force)


class Suspicion(msgspec.Struct, frozen=True, kw_only=True):
    """One fault of an explanation."""

    place: str
    """Support, joint tag, or the process temperature"""
    what: str
    words: str
    """Place and fault"""
    support: bool
    """Whether the place is a support"""


class Explained(msgspec.Struct, frozen=True, kw_only=True):
    """Faults that may be behind the readings; none: all sound."""

    faults: tuple[Suspicion, ...]
    posterior: float
    predicted: tuple[float, ...] = ()

    @property
    def words(self) -> str:
        """The faults in words."""
        return " and ".join(fault.words for fault in self.faults) or "all sound"


class Bundle(msgspec.Struct, frozen=True, kw_only=True):
    """Explanations that the readings cannot tell apart, likeliest first."""

    explanations: tuple[Explained, ...]
    posterior: float
    split: str = ""
    """Readings that would tell them apart"""

    @property
    def sound(self) -> bool:
        """Whether the sound line is among them."""
        return any(not one.faults for one in self.explanations)


class ReadingSeen(msgspec.Struct, frozen=True, kw_only=True):
    """A reading that was taken, beside what the sound line shows there."""

    words: str
    place: str
    kind: str
    """Quantity kind"""
    measured: float
    error: float
    """Measurement and model together, one standard deviation"""
    sound: float


TURN = 5e-3
"""Turn of a joint that marks and model may differ by [rad]; engineering assumption."""


def turned_off(measured: float, expected: float, error: float, share: float) -> bool:
    """Whether a measured turn [rad] differs from the model's beyond band, share and three errors.

    ``error`` is one standard deviation.
    """
    return abs(measured - expected) > max(TURN, share * abs(expected), 3.0 * error)


class DiagnosisSeen(msgspec.Struct, frozen=True, kw_only=True):
    """What the readings taken on a line say of its supports and joints."""

    readings: tuple[ReadingSeen, ...]
    bundles: tuple[Bundle, ...]
    """Likeliest first"""
    chance: float
    """Of a misfit as large as that of the best explanation, were it true"""
    next: str = ""
    """The one reading that would separate the bundles best"""
    asked: tuple[str, ...] = ()
    """Readings that stand out: is the unit, the sign, the mark the right one?"""
    cautions: tuple[str, ...] = ()


class Theory(msgspec.Struct, frozen=True, kw_only=True):
    """The model of a line worked out, or why it was not."""

    line: str
    key: str
    """sha256 over text, facts and readings that it rests on: stands for it in hashes"""
    revision: int
    """Of the model in the register"""
    cold: str = ""
    hot: str = ""
    pressure: float | None = None
    """Of the hot state, gauge [Pa]"""
    temperature: float | None = None
    """Metal in the hot state [K]"""
    joints: tuple[JointTheory, ...] = ()
    loads: tuple[Load, ...] = ()
    """On every support, cold and hot"""
    checks: tuple[Check, ...] = ()
    residual: float | None = None
    """Largest unbalanced force over the largest force, of cold and hot [-]"""
    balance: float | None = None
    """Unbalance of the whole over the total load [-]"""
    faults: tuple[str, ...] = ()
    """Why it cannot be worked out; empty when it can"""
    asked: tuple[str, ...] = ()
    """What the register does not tell of joints on the line"""
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    diagnosis: DiagnosisSeen | None = None
    """``None``: no reading is off the sound line, or none was taken"""
    undiagnosed: str = ""
    """Why there is no diagnosis"""

    @property
    def solved(self) -> bool:
        """Whether its figures may be used."""
        return not self.faults

    @property
    def source(self) -> Source:
        """Where its figures come from."""
        return Source(
            document=f"model of line {self.line}",
            edition=f"revision {self.revision}",
            at=f"{self.cold} to {self.hot}" if self.solved else "",
            standing=Standing.DERIVED,
        )

    def of(self, tag: str) -> JointTheory | None:
        """One joint on a solved line; ``None`` where it is not on the model or nothing is solved."""
        if not self.solved:
            return None
        return next((one for one in self.joints if one.tag.casefold() == tag.casefold()), None)

    def load(self, name: str, state: str = "") -> Load | None:
        """Load on a support, in the hot state unless told otherwise."""
        wanted, state = name.casefold(), state or self.hot
        return next(
            (one for one in self.loads if one.name.casefold() == wanted and one.state == state),
            None,
        )
