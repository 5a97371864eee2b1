"""Supports and hardware as laws between a few movements and forces.

Every support and every rod, linkage or lock of a joint is a *law*: it sees one to six
movements of the line (rows of ``B`` on the motion of the nodes) and answers with forces on
them and their derivative.  All but a few are :class:`Parts`, which say what a law does in
figures, so that :class:`takeup.line.bundle.Bundle` asks all laws of a state in one array pass;
:mod:`takeup.line.settling` finds where they and the line agree.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

import msgspec
import numpy as np

from takeup.units import Array

CLOSED = 1e11
"""Stiffness of steel on steel where a contact is closed [N/m]."""
STICK = 1e9
"""Stiffness of a contact that sticks by friction, before it slides [N/m]."""
NEVER = float("inf")


class Row(NamedTuple):
    """What a law does with one row by itself: a spring with two stops that may go slack."""

    at: float = 0.0
    """Movement at which it bears ``load`` [m, rad]"""
    load: float = 0.0
    rate: float = 0.0
    plus: float = NEVER
    """Travel to the stop above, from ``at``"""
    minus: float = NEVER
    """Travel to the stop below"""
    solid: float = 0.0
    """Stiffness on a stop"""
    least: float = -NEVER
    """Force at which it goes slack and bears nothing"""


class Rubs(NamedTuple):
    """Force along rows that holds until it gives way, and remembers where it slid to."""

    along: tuple[int, ...]
    """One row or two of the law"""
    stick: float
    normal: tuple[int, ...] = ()
    """Rows whose forces press, two at most; they do not rub themselves"""
    friction: float = 0.0
    band: float = 0.0
    """Force that it holds whatever presses"""


class Parts(msgspec.Struct, frozen=True):
    """A law in figures.  Called, it answers for one law alone."""

    rows: tuple[Row, ...]
    """Of its first rows; those that follow are idle by themselves"""
    rubs: tuple[Rubs, ...] = ()
    """Each remembers a number for each of its rows, in this order"""
    rod: float = 0.0
    """Length of a rod that row 0 hangs on, rows 1 and 2 its swing; 0: none"""

    def __call__(self, u: Array, memory: Array) -> tuple[Array, Array, Array]:
        """Forces (m,), their derivative (m, m) and the new memory."""
        x = u.tolist()
        count = len(x)
        forces = [0.0] * count
        slopes = np.zeros((count, count))
        new = memory.tolist()
        self._rub(False, x, new, forces, slopes)
        for k, row in enumerate(self.rows):
            reach = x[k] - row.at
            past = reach - row.plus if reach > row.plus else min(reach + row.minus, 0.0)
            force = forces[k] + row.load - row.rate * (reach - past) - row.solid * past
            if force <= row.least:
                forces[k], slopes[k, k] = 0.0, 0.0
            else:
                forces[k] = force
                slopes[k, k] -= row.rate if past == 0.0 else row.solid
        self._rub(True, x, new, forces, slopes)
        if self.rod > 0.0:
            for k in (1, 2):
                forces[k] = -forces[0] * x[k] / self.rod
                slopes[k, 0] = -slopes[0, 0] * x[k] / self.rod
                slopes[k, k] = -forces[0] / self.rod
        return np.array(forces), slopes, np.array(new)

    def _rub(
        self, pressed: bool, x: list[float], new: list[float], forces: list[float], slopes: Array
    ) -> None:
        """Put forces along the rows that rub, and what they remember, in place.

        A band of its own adds to what its row bears, before that row may go slack.
        """
        start = 0
        for one in self.rubs:
            kept = range(start, start + len(one.along))
            start = kept.stop
            if bool(one.normal) != pressed:
                continue
            normal = sum(abs(forces[k]) for k in one.normal)
            limit = one.friction * normal + one.band
            trial = [-one.stick * (x[k] - new[m]) for k, m in zip(one.along, kept, strict=True)]
            pull = math.hypot(*trial)
            slides = pull > limit
            way = [t / pull for t in trial] if slides else [0.0] * len(trial)
            share = one.stick * (limit / pull if slides else 1.0)
            for i, (k, m) in enumerate(zip(one.along, kept, strict=True)):
                force = limit * way[i] if slides else trial[i]
                forces[k] += force
                if one.normal and normal == 0.0:
                    new[m] = x[k]
                elif slides:
                    new[m] = x[k] + force / one.stick
                for j, other in enumerate(one.along):
                    slopes[k, other] = -share * (float(i == j) - way[i] * way[j])
                for n in one.normal:
                    pressing = math.copysign(1.0, forces[n]) * slopes[n, n]
                    slopes[k, n] = one.friction * way[i] * pressing


class Law(msgspec.Struct, kw_only=True):
    """What a support does: forces on the line at movements ``u`` of its rows.

    ``answer(u, memory)`` gives the forces (m,), their derivative (m, m) and the new memory
    (where it slid to); laws whose answer is :class:`Parts` are asked together.  ``reference``
    is the diagonal stiffness that stands in for it while the line is factorised: any value
    will do, near its closed stiffness is best.
    """

    name: str
    rows: tuple[int, ...] = ()
    reference: tuple[float, ...]
    answer: Callable[[Array, Array], tuple[Array, Array, Array]]
    memory: int = 0
    """How many numbers it remembers"""


def bilateral(name: str, stiffness: Sequence[float], load: Sequence[float] | None = None) -> Law:
    """Springs that push and pull, with a load at zero movement."""
    loads = [0.0] * len(stiffness) if load is None else load
    rows = tuple(Row(load=f, rate=k) for k, f in zip(stiffness, loads, strict=True))
    return Law(name=name, reference=tuple(stiffness), answer=Parts(rows))


def moved(name: str, stiffness: Sequence[float], shift: Array) -> Law:
    """Springs whose other end moves by ``shift``."""
    rows = tuple(Row(at=x, rate=k) for k, x in zip(stiffness, shift.tolist(), strict=True))
    return Law(name=name, reference=tuple(stiffness), answer=Parts(rows))


def held(name: str, stiffness: float, place: Array, force: Array) -> Law:
    """Springs that hold rows at ``place``, from the force they carry there."""
    rows = tuple(
        Row(at=x, load=f, rate=stiffness)
        for x, f in zip(place.tolist(), force.tolist(), strict=True)
    )
    return Law(name=name, reference=(stiffness,) * len(place), answer=Parts(rows))


def gap(
    name: str,
    *,
    plus: float | None,
    minus: float | None,
    stiffness: float = CLOSED,
) -> Law:
    """One row that is free within a gap; ``None`` on a side: free for good on that side."""
    return Law(name=name, reference=(stiffness,), answer=Parts((_face(plus, minus, stiffness),)))


def _face(plus: float | None, minus: float | None, stiffness: float) -> Row:
    return Row(
        plus=NEVER if plus is None else plus,
        minus=NEVER if minus is None else minus,
        solid=stiffness,
    )


def gaps(name: str, count: int, *, plus: float | None, minus: float | None,
         stiffness: float = CLOSED) -> Law:  # fmt: skip
    """The same gap on ``count`` rows."""
    rows = (_face(plus, minus, stiffness),) * count
    return Law(name=name, reference=(stiffness,) * count, answer=Parts(rows))


def pressed(
    name: str,
    *,
    friction: float,
    clear: float = 0.0,
    back: float | None = None,
    stiffness: float = CLOSED,
    stick: float = STICK,
) -> Law:
    """A face that the line presses on: row 0 normal (it stands below: minus presses), 1 and 2 along it.

    The line may lift off; while it presses it sticks until friction gives way, then slides.
    ``back`` is a second face at that distance on the other side; ``None``: none.
    """
    face = _face(back, clear, stiffness)
    if friction <= 0.0:
        return Law(name=name, reference=(stiffness,), answer=Parts((face,)))
    rubs = Rubs(along=(1, 2), stick=stick, normal=(0,), friction=friction)
    return Law(
        name=name,
        reference=(stiffness, 0.01 * stick, 0.01 * stick),
        answer=Parts((face,), (rubs,)),
        memory=2,
    )


def guided(name: str, sides: int, *, gap: float, friction: float) -> Law:
    """A gap either way in one or two directions, and friction along the row that follows."""
    if friction <= 0.0:
        return gaps(name, sides, plus=gap, minus=gap)
    rubs = Rubs(along=(sides,), stick=STICK, normal=tuple(range(sides)), friction=friction)
    return Law(
        name=name,
        reference=(*([CLOSED] * sides), 0.01 * STICK),
        answer=Parts((_face(gap, gap, CLOSED),) * sides, (rubs,)),
        memory=1,
    )


def variable(
    name: str, *, rate: float, load: float, up: float, down: float, rod: float = 0.0,
    pinned: bool = False,
) -> Law:  # fmt: skip
    """A variable spring: row 0 upward movement; rows 1 and 2 sideways where it hangs on a rod.

    Above its upper stop the coil can push no further and the rod goes slack; below its lower
    stop the coil is solid.
    """
    solid = max(1e3 * rate, 1e7)
    row = Row(load=load, rate=rate, plus=up, minus=down, solid=solid, least=0.0)
    if pinned:
        row = Row(load=load, rate=solid)
    return Law(
        name=name, reference=(rate, *_swing(rod, load)), answer=Parts((row,), (), max(rod, 0.0))
    )


def constant(
    name: str, *, load: float, tolerance: float, up: float, down: float, seized: bool = False
) -> Law:
    """A constant spring: one load over its travel, within a band by friction inside."""
    band = tolerance * load
    soft = max(band, 1.0) / 1e-3  # the band is taken up within a millimetre
    parts = Parts(
        (Row(load=load, plus=up, minus=down, solid=CLOSED, least=0.0),),
        (Rubs(along=(0,), stick=soft, band=band),),
    )
    if seized:
        parts = Parts((Row(load=load, rate=CLOSED),))
    return Law(name=name, reference=(soft,), answer=parts, memory=1)


def hung(name: str, *, stiffness: float, length: float) -> Law:
    """A rod that can pull only: row 0 upward, rows 1 and 2 its swing like a pendulum."""
    parts = Parts((Row(rate=stiffness, least=0.0),), (), max(length, 0.0))
    return Law(name=name, reference=(stiffness, *_swing(length, 1e4)), answer=parts)


def _swing(rod: float, load: float) -> tuple[float, ...]:
    return (load / rod, load / rod) if rod > 0.0 else ()


def turning(name: str, rows: int, *, stiffness: float, moment: float, stick: float) -> Law:
    """Pins: each row turns against a spring, and against friction that sticks up to ``moment``.

    Within it the pins turn by ``moment / stick``; beyond, friction holds against the motion.
    """
    rubs = tuple(Rubs(along=(k,), stick=stick, band=moment) for k in range(rows if stick else 0))
    parts = Parts((Row(rate=stiffness),) * rows, rubs)
    return Law(name=name, reference=(stick,) * rows, answer=parts, memory=rows)


def linkage(name: str, stiffness: Array, shift: Array | None = None) -> Law:
    """A linear part: forces -K (u - shift) on its rows (a lock, a pipe in place of a joint)."""
    k = np.asarray(stiffness, dtype=float)
    at = np.zeros(len(k)) if shift is None else shift

    def answer(u: Array, memory: Array) -> tuple[Array, Array, Array]:
        return -k @ (u - at), -k, memory

    return Law(name=name, reference=tuple(np.zeros(len(k))), answer=answer)


def nothing(name: str, rows: int, memory: int = 0) -> Law:
    """A support that is gone."""
    return Law(name=name, reference=(0.0,) * rows, answer=Parts(()), memory=memory)


def smooth(law: Law) -> Law:
    """The law without what rubs; it keeps its rows and memory."""
    answer = law.answer
    if isinstance(answer, Parts):
        answer = Parts(answer.rows, (), answer.rod)
    return msgspec.structs.replace(law, answer=answer)


def blank(laws: Sequence[Law]) -> tuple[Array, ...]:
    """Memory before anything happened."""
    return tuple(np.zeros(law.memory) for law in laws)
