"""All laws of a state asked at once: :class:`takeup.line.contact.Parts` in one array pass."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from typing import Any

import msgspec
import numpy as np

from takeup.line.contact import Law, Parts, Row
from takeup.units import Array

IDLE = Row()


class Asked(msgspec.Struct, frozen=True):
    """Answer of all laws."""

    force: Array
    """At all rows (m,)"""
    slope: Array
    """Derivatives, in the order of ``Bundle.at`` (s,)"""
    memory: Array
    """Of all laws; :meth:`Bundle.apart` gives that of each"""


class _Stand(msgspec.Struct, frozen=True):
    """How everything stands at some movement, from which derivatives and memory follow."""

    wide: Array
    force: Array
    past: Array
    slack: Array
    gives: Array
    """Constant springs past their band (b,)"""
    held: Array
    trial: Array
    """Force along each pressed row if it stuck (s, 2)"""
    share: Array
    """Of it that there is (s,)"""
    normal: Array
    own: tuple[tuple[Array, Array, Array], ...]


class Bundle:
    """All laws of a state.

    Places that a part does not use point at one row more than there are, which is idle, and at
    one number of memory more, which stays zero.
    """

    def __init__(self, laws: Sequence[Law], count: int) -> None:
        self.laws, self.count = tuple(laws), count
        self.starts = np.cumsum([0, *(law.memory for law in self.laws)]).tolist()
        figures = [IDLE] * (count + 1)
        pressed: list[tuple[float, ...]] = []
        banded: list[tuple[float, ...]] = []
        hung: list[tuple[float, ...]] = []
        self.own: list[tuple[Law, Any, slice]] = []
        none, end = count, self.starts[-1]
        for law, first in zip(self.laws, self.starts[:-1], strict=True):
            start, parts = first, law.answer
            if not isinstance(parts, Parts):
                rows = np.array(law.rows, dtype=np.intp)
                self.own.append((law, rows, slice(start, start + law.memory)))
                continue
            for row, figure in zip(law.rows, parts.rows, strict=False):
                figures[row] = figure
            for one in parts.rubs:
                along = [law.rows[k] for k in one.along]
                normal = [law.rows[k] for k in one.normal]
                kept = [start, start + 1] if len(along) == 2 else [start, end]
                start += len(along)
                if normal:
                    pressed.append((*[*along, none][:2], *[*normal, none][:2], *kept, one.stick,
                                    one.friction))  # fmt: skip
                else:
                    banded.append((along[0], kept[0], one.stick, one.band))
            if parts.rod > 0.0:
                hung.append((*law.rows, parts.rod))
        self.figures = np.array(figures, dtype=float).T.copy()
        table = np.array(pressed, dtype=float).reshape(-1, 8)
        self.along, self.normal, self.kept = (
            table[:, k : k + 2].astype(np.intp) for k in (0, 2, 4)
        )
        self.stick, self.friction = table[:, 6], table[:, 7]
        table = np.array(banded, dtype=float).reshape(-1, 4)
        self.bands, self.bands_kept = table[:, 0].astype(np.intp), table[:, 1].astype(np.intp)
        self.soft, self.band = table[:, 2], table[:, 3]
        table = np.array(hung, dtype=float).reshape(-1, 4)
        self.hung, self.swing = table[:, 0].astype(np.intp), table[:, 1:3].astype(np.intp)
        self.rod = table[:, 3]
        self.at, self.used = self._pattern()

    def _pattern(self) -> tuple[tuple[Any, Any], Any]:
        """Row and column of each derivative, and which of those worked out they are."""
        every = np.arange(self.count)
        along, normal, swing = self.along, self.normal, self.swing
        pairs = [
            (every, every),
            (along[:, :, None], along[:, None, :]),
            (along[:, :, None], normal[:, None, :]),
            (swing, self.hung[:, None]),
            (swing, swing),
            *((rows[:, None], rows[None, :]) for _, rows, _ in self.own),
        ]
        both = [np.broadcast_arrays(*pair) for pair in pairs]
        rows = np.concatenate([row.ravel() for row, _ in both])
        columns = np.concatenate([column.ravel() for _, column in both])
        used = np.flatnonzero((rows < self.count) & (columns < self.count))
        return (rows[used], columns[used]), used

    @property
    def rubs(self) -> bool:
        """Whether any law rubs by what presses on it."""
        return len(self.along) > 0

    def sticking(self, share: float) -> Bundle:
        """The same laws, with that share of the stiffness of sticking."""
        softer = copy(self)
        softer.stick = share * self.stick
        return softer

    def together(self, memory: Sequence[Array]) -> Array:
        """Memory of each law as one."""
        return np.concatenate([*memory, np.zeros(1)])

    def apart(self, memory: Array) -> tuple[Array, ...]:
        """Memory law by law."""
        return tuple(memory[a:b] for a, b in zip(self.starts[:-1], self.starts[1:], strict=True))

    def pressed_by(self, force: Array) -> Array:
        """Normal force of each law that rubs."""
        return np.asarray(np.abs(np.append(force, 0.0)[self.normal]).sum(axis=1))

    def force(self, u: Array, memory: Array, lag: Array | None = None) -> Array:
        """Forces of all laws, as of :meth:`ask`."""
        return self._stand(u, memory, lag).force[:-1]

    def _stand(self, u: Array, memory: Array, lag: Array | None) -> _Stand:
        at, load, rate, plus, minus, solid, least = self.figures
        wide = np.zeros(self.count + 1)
        wide[:-1] = u
        reach = wide - at
        past = np.maximum(reach - plus, 0.0) + np.minimum(reach + minus, 0.0)
        force = load - rate * (reach - past) - solid * past
        gives = held = self.band
        if len(self.bands):
            held = -self.soft * (wide[self.bands] - memory[self.bands_kept])
            gives = np.abs(held) > self.band
            held = np.minimum(np.maximum(held, -self.band), self.band)
            force[self.bands] += held
        slack = force <= least
        force[slack] = 0.0
        own = tuple(law.answer(u[rows], memory[kept]) for law, rows, kept in self.own)
        for (_, rows, _), (part, _, _) in zip(self.own, own, strict=True):
            force[rows] = part
        trial, share, normal = np.zeros((0, 2)), self.stick, self.stick
        if len(self.along):
            trial = -self.stick[:, None] * (wide[self.along] - memory[self.kept])
            pull = np.hypot(trial[:, 0], trial[:, 1])
            normal = np.abs(force[self.normal]).sum(axis=1)
            limit = self.friction * (normal if lag is None else lag)
            slides = pull > limit
            share = np.where(slides, limit / np.where(slides, pull, 1.0), 1.0)
            force[self.along] = share[:, None] * trial
        if len(self.hung):
            force[self.swing] = -(force[self.hung] / self.rod)[:, None] * wide[self.swing]
        return _Stand(wide, force, past, slack, gives, held, trial, share, normal, own)

    def ask(self, u: Array, memory: Array, lag: Array | None = None) -> Asked:
        """Forces, derivatives and new memory of all laws at movements ``u`` (m,).

        ``lag`` are normal forces that friction is held to, as of :meth:`pressed_by`.
        """
        now = self._stand(u, memory, lag)
        _, _, rate, _, _, solid, _ = self.figures
        slope = -np.where(now.past == 0.0, rate, solid)
        new = memory.copy()
        if len(self.bands):
            slope[self.bands] -= np.where(now.gives, 0.0, self.soft)
            new[self.bands_kept] = np.where(
                now.gives, now.wide[self.bands] + now.held / self.soft, memory[self.bands_kept]
            )
        slope[now.slack] = 0.0
        found = [slope[:-1]]
        if len(self.along):
            found += self._rubbing(now, slope, lag)
            slid = now.wide[self.along] + now.force[self.along] / self.stick[:, None]
            kept = np.where((now.share < 1.0)[:, None], slid, memory[self.kept])
            if lag is None:
                kept = np.where((now.normal == 0.0)[:, None], now.wide[self.along], kept)
            new[self.kept] = kept
        if len(self.hung):
            found.append((-(slope[self.hung] / self.rod)[:, None] * now.wide[self.swing]).ravel())
            found.append(np.repeat(-now.force[self.hung] / self.rod, 2))
        for (_, _, place), (_, block, after) in zip(self.own, now.own, strict=True):
            found.append(block.ravel())
            new[place] = after
        return Asked(now.force[:-1], np.concatenate(found)[self.used], new)

    def bears(self, slope: Array) -> Any:
        """Which rows answer to any movement (m,)."""
        return np.bincount(self.at[0], weights=np.abs(slope), minlength=self.count) > 0.0

    def dense(self, slope: Array) -> Array:
        """Derivatives in the order of ``at`` as a matrix (m, m)."""
        m = self.count
        flat = np.bincount(self.at[0] * m + self.at[1], weights=slope, minlength=m * m)
        return np.asarray(flat.reshape(m, m), dtype=float)

    def _rubbing(self, now: _Stand, slope: Array, lag: Array | None) -> list[Array]:
        """Derivatives of the forces along rows that rub: by those rows, and by what presses."""
        slides = now.share < 1.0
        pull = np.hypot(now.trial[:, 0], now.trial[:, 1])
        way = np.where(slides[:, None], now.trial / np.where(slides, pull, 1.0)[:, None], 0.0)
        across = np.eye(2) - way[:, :, None] * way[:, None, :]
        by_rows = -(self.stick * now.share)[:, None, None] * across
        if lag is not None:
            return [by_rows.ravel(), np.zeros(by_rows.size)]
        pressed = np.sign(now.force[self.normal]) * slope[self.normal]
        by_normal = self.friction[:, None, None] * way[:, :, None] * pressed[:, None, :]
        return [by_rows.ravel(), by_normal.ravel()]


def answers(
    laws: Sequence[Law], u: Array, memory: Sequence[Array]
) -> tuple[Array, Array, tuple[Array, ...]]:
    """Forces (m,), block-diagonal slope (m, m) and new memory of all laws."""
    bundle = Bundle(laws, len(u))
    asked = bundle.ask(u, bundle.together(memory))
    return asked.force, bundle.dense(asked.slope), bundle.apart(asked.memory)
