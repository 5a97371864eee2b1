"""Puts a load path together: parts in their places and what each hands to the next."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from takeup.bellows.hardware.damage import Damages
from takeup.bellows.hardware.loads import Loads
from takeup.bellows.hardware.model import HardwareCase, HardwareCondition
from takeup.bellows.hardware.results import (
    LOST,
    Holder,
    Part,
    PartKind,
    PartState,
    Transfer,
    Vector,
)
from takeup.bellows.hardware.strength import Bench
from takeup.checks import Check, Quantity
from takeup.units import Array


def wrench(force: Vector, at: Vector, moment: Vector = (0.0, 0.0, 0.0)) -> Array:
    """Force and moment about the origin (6,) of a force at a point with a moment of its own."""
    f, m = np.asarray(force), np.asarray(moment)
    return np.concatenate([f, m + np.cross(np.asarray(at), f)])


class Builder:
    """A path under construction."""

    def __init__(
        self,
        case: HardwareCase,
        condition: HardwareCondition,
        loads: Loads,
        damages: Damages,
        *,
        label: str,
        at_limit: bool,
    ) -> None:
        self.case, self.condition, self.loads, self.damages = case, condition, loads, damages
        self.at_limit = at_limit
        self.bench = Bench(case, condition, label)
        self.parts: list[Part] = []
        self.transfers: list[Transfer] = []
        self.lost: list[str] = []
        self.notes: list[str] = list(loads.notes)
        self.holder = Holder.HARDWARE
        self.into: Array = np.zeros(6)
        self.out: Array = np.zeros(6)

    def box(
        self,
        id: str,
        kind: PartKind,
        group: str,
        column: int,
        row: float,
        *,
        name: str = "",
        loads: tuple[Quantity, ...] = (),
        checks: tuple[Check, ...] = (),
        idle: str = "",
    ) -> None:
        """Add a part; what was found on it decides its state, ``idle`` says why it is not used."""
        found = self.damages.on(id)
        state, why = (PartState.IDLE, idle) if idle else (PartState.CARRIES, "")
        if found is not None:
            state = found.state if found.state != PartState.CARRIES else state
            why = found.why if state in LOST else "; ".join(p for p in (found.why, why) if p)
        if state in LOST:
            checks = ()
        self.parts.append(
            Part(
                id=id,
                name=name or id[0].upper() + id[1:],
                kind=kind,
                group=group,
                column=column,
                row=row,
                state=state,
                why=why,
                loads=loads if checks or kind in _PLAIN else (),
                checks=checks,
            )
        )

    def send(self, source: str, target: str, what: Array, at: Vector) -> None:
        """Hand a wrench about the origin from one part to the next."""
        f, m = what[:3].tolist(), what[3:].tolist()
        self.transfers.append(
            Transfer(
                source=source,
                target=target,
                force=(f[0], f[1], f[2]),
                moment=(m[0], m[1], m[2]),
                at=at,
            )
        )

    def cut(self, source: str, target: str, at: Vector = (0.0, 0.0, 0.0)) -> None:
        """Show that nothing can pass from one part to the next."""
        zero = (0.0, 0.0, 0.0)
        self.transfers.append(
            Transfer(source=source, target=target, force=zero, moment=zero, at=at, broken=True)
        )

    def chain(self, ids: Sequence[str], what: Array, at: Vector) -> None:
        """Hand the same wrench along a row of parts; cut where one of them is lost."""
        for source, target in pairwise(ids):
            if self.gone(source) or self.gone(target):
                self.cut(source, target, at)
            else:
                self.send(source, target, what, at)

    def gone(self, id: str) -> bool:
        """Whether what was found on a part takes it out of the path."""
        found = self.damages.on(id)
        return found is not None and found.state in LOST

    def sound(self, ids: Sequence[str]) -> bool:
        """Whether every part of a row can still be counted."""
        return not any(self.gone(id) for id in ids)

    def why(self, ids: Sequence[str]) -> str:
        """What broke a row, in words."""
        found = [(id, self.damages.on(id)) for id in ids]
        return ", ".join(f"{id}: {what.why}" for id, what in found if what and what.state in LOST)

    def note(self, words: str) -> None:
        """Add a note once."""
        if words not in self.notes:
            self.notes.append(words)


_PLAIN = frozenset(
    {PartKind.LOAD, PartKind.PIPE, PartKind.SPOOL, PartKind.ANCHOR, PartKind.REACTION}
)


def kilo(value: float, unit: str = "kN") -> str:
    """A force or moment in the words of a message: thousands of N or N.m, sensible digits."""
    size = value / 1e3
    text = f"{size:,.0f}" if abs(size) >= 1e3 else f"{size:.4g}"
    return text.replace(",", "\u202f") + f" {unit}"
