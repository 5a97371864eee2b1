"""The displaced bellows: its convolutions as the sections of an equivalent beam.

Formula, derived here from beam theory and equal to the equivalent movements of the rule sets:
a convolution whose fibres at Dm/2 open by e (bending) turns by 2 e / Dm.  Along the bellows,
xi from 0 to 1, e(xi) = ey (1 - 2 xi Lb / span) + eth with span = Lb for one bellows and Lu for
a universal, whose spool stays straight.  So the axis turns by

    phi(xi) = (2 N / Dm) (near xi + (far - near) xi^2 / 2),  near = e(0), far = e(1)

and lies where cos phi and sin phi integrate to over the length Lb + N ex.  For one bellows this
gives back y = N ey (Lb + x) / (3 Dm) and theta = 2 N eth / Dm, the formulas that ey and eth come
from.  Roots and crests stay plane and square to the axis.
"""

from __future__ import annotations

import math

import msgspec
import numpy as np

from takeup.bellows.arrays import problem_for
from takeup.bellows.model import BellowsCase, Movement
from takeup.bellows.numbers import travel
from takeup.documents.drawing.profile import Shape
from takeup.errors import MissingInput
from takeup.sources import Source, Standing
from takeup.units import Array

replace = msgspec.structs.replace
SOURCE = Source(
    document="Takeup",
    at="equivalent beam: plane sections, linear moment along the joint",
    standing=Standing.DERIVED,
)


class Bent(msgspec.Struct, frozen=True, kw_only=True):
    """Movement per convolution of one bellows in its worst plane [m]."""

    ex: float
    near: float
    """Bending part at the end drawn left; positive closes the upper side."""
    far: float
    """Bending part at the other end."""
    plane: float = 0.0
    """Turn of the worst plane from the plane of the movement [rad]."""

    def times(self, factor: float) -> Bent:
        """The same movement ``factor`` times as large, for drawing."""
        return Bent(
            ex=self.ex * factor, near=self.near * factor, far=self.far * factor, plane=self.plane
        )

    def at(self, place: float) -> float:
        """Bending part at ``place``, 0 to 1 along the bellows [m]."""
        return self.near + (self.far - self.near) * place

    @property
    def worst(self) -> tuple[float, bool, bool]:
        """Movement of the hardest working fibre [m], whether at the near end, whether above."""
        fibres = [
            (self.ex - side * bending, near, side > 0)
            for bending, near in ((self.near, True), (self.far, False))
            for side in (1, -1)
        ]
        return max(fibres, key=lambda fibre: abs(fibre[0]))


def bent(case: BellowsCase, shape: Shape, movement: Movement) -> Bent:
    """Movement per convolution of the bellows of ``case`` under a movement of its joint.

    The engine's own equivalent movements; the set when installed is part of the position.
    Lateral movement bends both ends of a bellows, one against the other, so that it adds to an
    angle at one of them whichever way the angle goes.

    Raises :class:`~takeup.errors.MissingInput` where a universal's length is not known, and as
    :func:`takeup.bellows.arrays.problem_for` for a case that cannot be true.
    """
    setting = problem_for(case).setting
    offset = Movement(
        name="set", axial=case.offset_axial, lateral=case.offset_lateral,
        angular=case.offset_angular,
    )  # fmt: skip
    ex = 0.0
    ey, eth = np.zeros(2), np.zeros(2)
    for move in (movement, offset):
        aside = travel(setting, replace(move, angular=0.0, angular_across=0.0))
        turned = travel(setting, replace(move, axial=0.0, lateral=0.0, lateral_across=0.0))
        ex += float(aside["ex"])
        ey += [float(aside["swing"]), float(aside["swing_across"])]
        eth += [float(turned["swing"]), float(turned["swing_across"])]
    if not np.isfinite(ey).all():
        raise MissingInput("displaced bellows", ("length over both bellows",))
    share = -1.0
    if setting.pair:
        share = 1.0
    elif setting.universal:
        share = 1.0 - 2.0 * shape.length / float(setting.over_both) if ey.any() else -1.0
    near, far = ey + eth, share * ey + eth
    worst = near if np.hypot(*near) >= np.hypot(*far) else far
    size = float(np.hypot(*worst))
    if size == 0.0:
        return Bent(ex=ex, near=0.0, far=0.0)
    along = worst / size
    if along[0] < 0.0:  # keep what moves up drawn up
        along = -along
    return Bent(
        ex=ex,
        near=float(near @ along),
        far=float(far @ along),
        plane=math.atan2(float(along[1]), float(along[0])),
    )


def axis(shape: Shape, move: Bent, along: Array) -> tuple[Array, Array, Array]:
    """Where the axis lies and how far it has turned: along, up [m] and phi [rad].

    ``along`` [m] runs from 0 at the first root; what lies before or after the convolutions
    moves as a rigid body with that end.
    """
    length, n = shape.length, shape.convolutions
    place = np.linspace(0.0, 1.0, 40 * n + 1)
    turn = (2 * n / shape.mean_diameter) * (
        move.near * place + (move.far - move.near) * place * place / 2
    )
    steps = np.diff(place) * (length + n * move.ex)
    cosine, sine = np.cos(turn), np.sin(turn)
    x = np.concatenate(([0.0], np.cumsum(steps * (cosine[1:] + cosine[:-1]) / 2)))
    y = np.concatenate(([0.0], np.cumsum(steps * (sine[1:] + sine[:-1]) / 2)))
    at = np.clip(along / length, 0.0, 1.0)
    beyond = along - at * length
    phi = np.interp(at, place, turn)
    return (
        np.interp(at, place, x) + beyond * np.cos(phi),
        np.interp(at, place, y) + beyond * np.sin(phi),
        phi,
    )


def displaced(shape: Shape, move: Bent, points: Array) -> Array:
    """Where points (along, from the axis) of the undisplaced bellows go, (k, 2) [m]."""
    x, y, phi = axis(shape, move, points[:, 0])
    return np.column_stack((x - points[:, 1] * np.sin(phi), y + points[:, 1] * np.cos(phi)))


def carried(shape: Shape, move: Bent, points: Array, along: float) -> Array:
    """Where a rigid body goes that sits at ``along``, such as a ring in a root, (k, 2) [m]."""
    x, y, phi = (float(value[0]) for value in axis(shape, move, np.array([along])))
    cosine, sine = math.cos(phi), math.sin(phi)
    across = points[:, 0] - along
    return np.column_stack(
        (
            x + across * cosine - points[:, 1] * sine,
            y + across * sine + points[:, 1] * cosine,
        )
    )
