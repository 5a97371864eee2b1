"""Laws of many variants of one line as arrays, so that faults are followed all at once.

What :class:`takeup.line.contact.Parts` say of each law is laid out row by row; places of up to
three rows that are coupled by friction or by the swing of a rod follow by themselves, and so do
linear parts that are no :class:`Parts`.  Every array has a leading axis of variants, and one
idle row at its end, which fills places of fewer rows.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np

from takeup.line.contact import STICK, Law, Parts
from takeup.line.rows import Place
from takeup.units import Array

AT, LOAD, RATE, UP, DOWN, SOLID, LEAST, SOFT, BAND = range(9)
"""What a row has: see :class:`takeup.line.contact.Row`; then stiffness and limit of its band."""
IDLE = np.array([0.0, 0.0, 0.0, np.inf, np.inf, 0.0, -np.inf, 0.0, 0.0])


class Form(msgspec.Struct, frozen=True, kw_only=True):
    """Which rows are coupled, the same for all variants."""

    count: int
    """Rows of the line (m)"""
    coupled: Any
    """Rows of each place coupled by friction or swing (q, 3); the idle row fills up"""
    normal: Array
    """1 where friction hangs on the force of that row (q, 3)"""
    along: Array
    """1 where friction acts (q, 3)"""
    swung: Array
    """1 where a rod swings (q, 3)"""
    banded: Any
    """Rows with a band of their own (n,)"""
    linked: Any
    """Rows of each linear part (l, 6)"""
    place_of: dict[str, int]
    """Index of the law of a support or joint"""
    places: tuple[Place, ...]
    coupled_of: dict[int, int]
    """By index of the law"""
    linked_of: dict[int, int]
    single: Array
    """1 for rows of no coupled place (m + 1,)"""


class Laws(msgspec.Struct, kw_only=True):
    """Laws of b variants in one state."""

    rows: Array
    """(b, 9, m + 1)"""
    rub: Array
    """Friction of coupled places (b, q)"""
    swing: Array
    """One over the rod length, 0: none (b, q)"""
    linked: Array
    """Stiffness of linear parts (b, l, 6, 6)"""
    linked_load: Array
    """(b, l, 6)"""

    def take(self, which: Any) -> Laws:
        """Some of the variants, or some often."""
        return Laws(
            rows=self.rows[which], rub=self.rub[which], swing=self.swing[which],
            linked=self.linked[which], linked_load=self.linked_load[which],
        )  # fmt: skip


class Answer(msgspec.Struct, frozen=True, kw_only=True):
    """What the laws say at a movement."""

    force: Array
    """(b, m + 1)"""
    slope: Array
    """Of rows of no coupled place, without linear parts (b, m + 1)"""
    blocks: Array
    """Of coupled places (b, q, 3, 3)"""
    memory: Array
    """Where it slid to (b, m + 1)"""


def form(places: Sequence[Place], laws: Sequence[Law], count: int) -> Form:
    """How the rows of laws hang together; ``laws`` are those with every part that may act."""
    coupled: list[list[int]] = []
    linked: list[list[int]] = []
    normal, along, swung, banded = [], [], [], []
    place_of: dict[str, int] = {}
    coupled_of: dict[int, int] = {}
    linked_of: dict[int, int] = {}
    for at, (place, law) in enumerate(zip(places, laws, strict=True)):
        if place.what in {"support", "lock"}:
            place_of[place.name] = at
        parts = law.answer
        if not isinstance(parts, Parts) or place.what == "lock":
            linked_of[at] = len(linked)
            linked.append([*place.rows, *([count] * (6 - len(place.rows)))])
            continue
        for rubs in parts.rubs:
            if not rubs.normal:
                banded += [place.rows[k] for k in rubs.along]
        pressed = [rubs for rubs in parts.rubs if rubs.normal]
        if pressed or parts.rod > 0.0:
            coupled_of[at] = len(coupled)
            coupled.append([*place.rows, *([count] * (3 - len(place.rows)))])
            pushes = pressed[0].normal if pressed else ()
            slides = pressed[0].along if pressed else ()
            normal.append([float(k in pushes) for k in range(3)])
            along.append([float(k in slides) for k in range(3)])
            swung.append([float(parts.rod > 0.0 and k > 0) for k in range(3)])
    single = np.ones(count + 1)
    single[np.array(coupled, dtype=np.intp).ravel()] = 0.0
    single[count] = 0.0
    return Form(
        count=count,
        coupled=np.array(coupled, dtype=np.intp).reshape(-1, 3),
        normal=np.array(normal).reshape(-1, 3),
        along=np.array(along).reshape(-1, 3),
        swung=np.array(swung).reshape(-1, 3),
        banded=np.array(banded, dtype=np.intp),
        linked=np.array(linked, dtype=np.intp).reshape(-1, 6),
        place_of=place_of,
        places=tuple(places),
        coupled_of=coupled_of,
        linked_of=linked_of,
        single=single,
    )


class Figures(msgspec.Struct, frozen=True, kw_only=True):
    """One law in arrays; several of them stacked have a leading axis."""

    rows: Array
    """(9, r)"""
    rub: Array
    swing: Array
    linked: Array
    """(6, 6)"""
    linked_load: Array
    """(6,)"""


def figures(law: Law) -> Figures:
    """What a law does, in arrays."""
    count = len(law.rows)
    rows = np.repeat(IDLE[:, None], count, axis=1)
    linked, linked_load = np.zeros((6, 6)), np.zeros(6)
    rub = swing = 0.0
    parts = law.answer
    if isinstance(parts, Parts):
        for k, row in enumerate(parts.rows):
            rows[:SOFT, k] = row
        for rubs in parts.rubs:
            if rubs.normal:
                rub = rubs.friction
                continue
            for k in rubs.along:
                rows[SOFT, k], rows[BAND, k] = rubs.stick, rubs.band
        swing = 1.0 / parts.rod if parts.rod > 0.0 else 0.0
    else:  # linear
        force, slope, _ = parts(np.zeros(count), np.zeros(law.memory))
        linked[:count, :count], linked_load[:count] = -slope, force
    return Figures(
        rows=rows, rub=np.array(rub), swing=np.array(swing), linked=linked,
        linked_load=linked_load,
    )  # fmt: skip


def stacked(many: Sequence[Figures]) -> Figures:
    """The same law under several conditions, with a leading axis."""
    return Figures(
        **{
            name: np.stack([getattr(one, name) for one in many])
            for name in Figures.__struct_fields__
        }
    )


def blank(made: Form, variants: int) -> Laws:
    """Laws that do nothing."""
    rows = np.repeat(IDLE[:, None], made.count + 1, axis=1)
    return Laws(
        rows=np.repeat(rows[None], variants, axis=0),
        rub=np.zeros((variants, len(made.coupled))),
        swing=np.zeros((variants, len(made.coupled))),
        linked=np.zeros((variants, len(made.linked), 6, 6)),
        linked_load=np.zeros((variants, len(made.linked), 6)),
    )


def put(laws: Laws, made: Form, at: int, which: Any, law: Figures) -> None:
    """Let the place of law ``at`` answer by ``law`` in the variants ``which``."""
    own = made.places[at].rows
    laws.rows[which, :, own[0] : own[-1] + 1] = law.rows
    if at in made.coupled_of:
        laws.rub[which, made.coupled_of[at]] = law.rub
        laws.swing[which, made.coupled_of[at]] = law.swing
    if at in made.linked_of:
        laws.linked[which, made.linked_of[at]] = law.linked
        laws.linked_load[which, made.linked_of[at]] = law.linked_load


def answer(
    made: Form,
    laws: Laws,
    u: Array,
    memory: Array,
    lag: Array | None = None,
    *,
    slopes: bool = True,
) -> Answer:
    """Forces, slopes and new memory at ``u`` (b, m + 1).

    ``lag`` (b, q) are normal forces that friction is held to; ``None``: its own.  Blocks are
    left at nothing where no ``slopes`` are asked for.
    """
    rows = laws.rows
    reach = u - rows[:, AT]
    inside = np.clip(reach, -rows[:, DOWN], rows[:, UP])
    past = reach - inside
    force = rows[:, LOAD] - rows[:, RATE] * inside - rows[:, SOLID] * past
    slope = -np.where(past == 0.0, rows[:, RATE], rows[:, SOLID])
    kept = memory.copy()
    if len(made.banded):
        _hold_back(made, rows, u, force, slope, kept)
    gone = force <= rows[:, LEAST]
    force[gone] = 0.0
    slope[gone] = 0.0
    for number, at in enumerate(made.linked):
        if laws.linked[:, number].any():
            force[:, at] += laws.linked_load[:, number]
            force[:, at] -= np.einsum("bij,bj->bi", laws.linked[:, number], u[:, at])
    blocks = _couple(made, laws, u, force, slope, kept, lag, slopes)
    force[:, -1] = 0.0
    kept[:, -1] = 0.0
    return Answer(force=force, slope=slope * made.single, blocks=blocks, memory=kept)


def _hold_back(made: Form, rows: Array, u: Array, force: Array, slope: Array, kept: Array) -> None:
    at = made.banded
    soft, band = rows[:, SOFT][:, at], rows[:, BAND][:, at]
    pull = -soft * (u[:, at] - kept[:, at])
    held = np.clip(pull, -band, band)
    slid = np.abs(pull) > band
    force[:, at] += held
    slope[:, at] -= np.where(slid, 0.0, soft)
    reach = np.divide(held, soft, out=np.zeros_like(held), where=soft > 0.0)
    kept[:, at] = np.where(slid, u[:, at] + reach, kept[:, at])


def _couple(
    made: Form,
    laws: Laws,
    u: Array,
    force: Array,
    slope: Array,
    kept: Array,
    lag: Array | None,
    slopes: bool,
) -> Array:
    """Friction and swing at the coupled places: into force and memory; their slopes."""
    rows = made.coupled
    f, d, x, past = force[:, rows], slope[:, rows], u[:, rows], kept[:, rows]
    rubs = laws.rub > 0.0
    normal = np.sum(np.abs(f) * made.normal, axis=2)
    limit = laws.rub * (normal if lag is None else lag)
    trial = -STICK * (x - past) * made.along
    pull = np.sqrt(np.sum(trial**2, axis=2))
    slides = (pull > limit) & rubs
    share = np.where(slides, limit / np.where(pull > 0.0, pull, 1.0), 1.0)
    unit = trial / np.where(pull > 0.0, pull, 1.0)[..., None]
    active = (rubs & (limit > 0.0))[..., None] & (made.along > 0.0)
    f = np.where(active, trial * share[..., None], f)
    moved = np.where(slides[..., None], x + f / STICK, past)
    if lag is None:
        moved = np.where((normal == 0.0)[..., None], x, moved)
    kept[:, rows] = np.where(rubs[..., None] & (made.along > 0.0), moved, past)
    hangs = (laws.swing > 0.0)[..., None] & (made.swung > 0.0)
    swings = bool(hangs.any())
    blocks = np.zeros(0)
    if slopes:
        blocks = d[..., None] * np.eye(3)
        across = np.eye(3) - slides[..., None, None] * (unit[..., :, None] * unit[..., None, :])
        held = -STICK * share[..., None, None] * across
        held = held * (made.along[:, :, None] * made.along[:, None, :])
        blocks = np.where(active[..., :, None], held, blocks)
        if lag is None:
            leans = laws.rub[..., None] * np.sign(f) * d * made.normal
            pressed = unit[..., :, None] * leans[..., None, :]
            blocks = blocks + np.where((slides[..., None] & active)[..., :, None], pressed, 0.0)
        if swings:
            w = laws.swing[..., None]
            swung = np.zeros_like(blocks)
            swung[..., 0] = -d[..., :1] * x * w
            swung += (-f[..., :1] * w)[..., None] * np.eye(3)
            blocks = np.where(hangs[..., :, None], swung, blocks)
    if swings:
        f = np.where(hangs, -f[..., :1] * x * laws.swing[..., None], f)
    force[:, rows] = f
    return np.asarray(blocks)
