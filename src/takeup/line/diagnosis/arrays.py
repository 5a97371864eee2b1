"""Laws of many variants of one line as arrays, so that faults are followed all at once.

The same laws as :mod:`takeup.line.contact` and :mod:`takeup.line.rows`, row by row: a spring
between stops, an added band of hysteresis, a floor where it can push only; on top of it places
of up to three rows that are coupled by friction or by the swing of a rod.  Every array has a
leading axis of variants and one idle row at its end, which fills places of fewer rows.
"""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np

from takeup.line import contact
from takeup.line import rows as rowing
from takeup.line.diagnosis.faults import HOLDS, Fault, added
from takeup.line.model import (
    Anchor,
    ConstantSpring,
    Guide,
    Hold,
    Joint,
    Line,
    Rest,
    RodHanger,
    State,
    Stop,
    VariableSpring,
)
from takeup.line.rows import Place, Rows
from takeup.units import Array

FRICTIONLESS = 1e-7
"""Friction of a place that has rows for it but does not rub."""


class Form(msgspec.Struct, frozen=True, kw_only=True):
    """Which rows are coupled, the same for all variants."""

    count: int
    """Rows of the line (m)"""
    coupled: Any
    """Rows of each coupled place (q, 3); the idle row fills up"""
    normal: Array
    """1 where friction hangs on the force of that row (q, 3)"""
    along: Array
    """1 where friction acts (q, 3)"""
    swung: Array
    """1 where a rod swings (q, 3)"""
    banded: Any
    """Rows with a band of hysteresis"""
    joints: Any
    """Rows between the ends of each joint (j, 6)"""
    place_of: dict[str, Place]
    """Support or joint by name"""
    coupled_of: dict[str, int]
    joint_of: dict[str, int]
    single: Array
    """1 for rows of no coupled place (m + 1,)"""


class Laws(msgspec.Struct, kw_only=True):
    """Laws of b variants in one state."""

    load: Array
    """Force at zero movement (b, m + 1)"""
    rate: Array
    up: Array
    """Upward end of the free travel; from there ``stiff_up``"""
    down: Array
    stiff_up: Array
    stiff_down: Array
    soft: Array
    band: Array
    floor: Any
    """Whether the row pushes only"""
    rub: Array
    """Friction of coupled places (b, q)"""
    swing: Array
    """One over the rod length, 0: none (b, q)"""
    linked: Array
    """Added stiffness between the ends of joints (b, j, 6, 6)"""
    linked_load: Array
    """(b, j, 6)"""

    def take(self, which: Any) -> Laws:
        """Some of the variants."""
        return Laws(**{name: getattr(self, name)[which] for name in self.__struct_fields__})


class Answer(msgspec.Struct, frozen=True, kw_only=True):
    """What the laws say at a movement."""

    force: Array
    """(b, m + 1)"""
    slope: Array
    """Of rows of no coupled place (b, m + 1)"""
    blocks: Array
    """Of coupled places (b, q, 3, 3)"""
    memory: Array
    """Where it slid to (b, m + 1)"""


def form(line: Line, found: Rows) -> Form:
    """How the rows of ``line`` hang together."""
    supports = {one.name: one for one in line.supports}
    count = found.matrix.shape[0]
    coupled: list[list[int]] = []
    joints: list[tuple[int, ...]] = []
    normal, along, swung, banded = [], [], [], []
    place_of, coupled_of, joint_of = {}, {}, {}
    for place in found.places:
        if place.what == "lock":
            joint_of[place.name] = len(joints)
            joints.append(place.rows)
            place_of[place.name] = place
        if place.what != "support":
            continue
        one = supports[place.name]
        place_of[place.name] = place
        rubbing, hanging = isinstance(one, (Rest, Guide)), len(place.rows) == 3
        if isinstance(one, ConstantSpring):
            banded.append(place.rows[0])
        if not (rubbing or (hanging and isinstance(one, (RodHanger, VariableSpring)))):
            continue
        coupled_of[place.name] = len(coupled)
        size = len(place.rows)
        coupled.append([*place.rows, *([count] * (3 - size))])
        sides = (1 if isinstance(one, Rest) else size - 1) if rubbing else 0
        normal.append([1.0 if k < sides else 0.0 for k in range(3)])
        along.append([1.0 if rubbing and sides <= k < size else 0.0 for k in range(3)])
        swung.append([0.0 if rubbing or k == 0 else 1.0 for k in range(3)])
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
        joints=np.array(joints, dtype=np.intp).reshape(-1, 6),
        place_of=place_of,
        coupled_of=coupled_of,
        joint_of=joint_of,
        single=single,
    )


def sound(line: Line, found: Rows, made: Form, state: State, variants: int) -> Laws:
    """Laws of the sound line, ``variants`` times."""
    size = made.count + 1
    one = Laws(
        load=np.zeros(size), rate=np.zeros(size), up=np.full(size, np.inf),
        down=np.full(size, np.inf), stiff_up=np.zeros(size), stiff_down=np.zeros(size),
        soft=np.zeros(size), band=np.zeros(size), floor=np.zeros(size, dtype=bool),
        rub=np.zeros(len(made.coupled)), swing=np.zeros(len(made.coupled)),
        linked=np.zeros((len(made.joints), 6, 6)), linked_load=np.zeros((len(made.joints), 6)),
    )  # fmt: skip
    supports = {support.name: support for support in line.supports}
    joints = {piece.tag: piece for piece in line.pieces if isinstance(piece, Joint)}
    for place in found.places:
        rows = list(place.rows)
        if place.what == "support":
            _support(one, made, supports[place.name], place, state)
        elif place.what == "linkage":
            one.rate[rows] = contact.CLOSED
        elif place.what == "rod":
            joint = joints[place.name.split(" rods")[0]]
            which = place.name.partition(" rods")[2].strip()
            sets = [h for h in joint.hardware if h.hold in {Hold.TIED, Hold.LIMIT}]
            rods = sets[min(int(which) - 1 if which else 0, len(sets) - 1)]
            length = rods.rod_length or sum(b.length for b in joint.bellows)
            one.stiff_up[rows] = one.stiff_down[rows] = rowing.STEEL * rods.rod_area / length
            one.up[rows] = rods.gap_out
            one.down[rows] = np.inf if rods.gap_in is None else rods.gap_in
    return Laws(
        **{
            name: np.repeat(getattr(one, name)[None], variants, axis=0)
            for name in one.__struct_fields__
        }
    )


def _support(laws: Laws, made: Form, one: Any, place: Place, state: State) -> None:
    """One support of the sound line, into laws of one variant."""
    rows = list(place.rows)
    first = rows[0]
    if isinstance(one, Anchor):
        assert one.stiffness is not None
        laws.rate[rows] = one.stiffness
        growth = np.array(one.growth.get(state.name, (0.0, 0.0, 0.0)))
        laws.load[rows[:3]] = laws.rate[rows[:3]] * growth
    elif isinstance(one, Rest):
        laws.down[first], laws.stiff_down[first] = one.gap, contact.CLOSED
        laws.rub[made.coupled_of[one.name]] = rub(one.friction)
    elif isinstance(one, Guide):
        laws.up[rows[:-1]] = laws.down[rows[:-1]] = one.gap
        laws.stiff_up[rows[:-1]] = laws.stiff_down[rows[:-1]] = contact.CLOSED
        laws.rub[made.coupled_of[one.name]] = rub(one.friction)
    elif isinstance(one, Stop):
        laws.up[first], laws.stiff_up[first] = one.gap_plus, contact.CLOSED
        if not one.one_way:
            laws.down[first], laws.stiff_down[first] = one.gap_minus, contact.CLOSED
    elif isinstance(one, RodHanger):
        laws.down[first], laws.stiff_down[first] = 0.0, one.stiffness
        if len(rows) == 3 and one.length > 0.0:
            laws.swing[made.coupled_of[one.name]] = 1.0 / one.length
    elif isinstance(one, VariableSpring):
        solid = max(1e3 * one.rate, 1e7)
        laws.load[first], laws.floor[first] = one.load, not one.pinned
        laws.rate[first] = solid if one.pinned else one.rate
        if not one.pinned:
            laws.up[first], laws.down[first] = one.travel_up, one.travel_down
            laws.stiff_up[first] = laws.stiff_down[first] = solid
        if len(rows) == 3:
            laws.swing[made.coupled_of[one.name]] = 1.0 / one.rod
    elif isinstance(one, ConstantSpring):
        laws.load[first] = one.load
        if one.seized:
            laws.rate[first] = contact.CLOSED
            return
        _band(laws, (first,), np.array(one.tolerance * one.load))
        laws.up[first], laws.down[first] = one.travel_up, one.travel_down
        laws.stiff_up[first] = laws.stiff_down[first] = contact.CLOSED
        laws.floor[first] = True
    else:
        laws.rate[first] = one.stiffness


def rub(friction: float) -> float:
    """Friction of a place; next to none counts as none, or it would stick and slip in a hair."""
    return friction if friction > FRICTIONLESS else 0.0


def _band(laws: Laws, at: Any, band: Array) -> None:
    laws.band[at] = band
    laws.soft[at] = np.maximum(band, 1.0) / 1e-3


class Stood(msgspec.Struct, frozen=True, kw_only=True):
    """How the sound line stood at each point of the grid (g, m + 1)."""

    cold: Array
    cold_force: Array
    hot_force: Array


def act(
    laws: Laws, made: Form, fault: Fault, piece: Any, which: Any, stood: Stood, hot: bool,
    axis: Array,
) -> None:  # fmt: skip
    """Put ``fault`` at ``piece`` into the variants ``which``; ``stood`` is (len(which), m + 1)."""
    rows = np.array(made.place_of[fault.place].rows)
    at = (which[:, None], rows[None, :])
    first = (which, rows[0])
    if fault.what in {"lost", "seized", "locked"}:
        _clear(laws, made, fault.place, which, rows)
        if fault.what != "lost":
            laws.rate[at] = HOLDS
            laws.load[at] = HOLDS * stood.cold[:, rows]
            if fault.what == "seized":
                laws.load[at] += stood.cold_force[:, rows]
    elif isinstance(piece, VariableSpring):
        cold = stood.cold[:, rows[0]]
        if fault.what == "upper stop":
            laws.up[first] = cold
        elif fault.what == "lower stop":
            laws.down[first] = -cold
        else:
            laws.load[first] *= fault.size
    elif isinstance(piece, ConstantSpring):
        laws.load[first] *= fault.size
        _band(laws, first, laws.band[first] * fault.size)
    elif isinstance(piece, Anchor):
        if fault.what == "soft":
            moved = laws.load[at] / laws.rate[at]
            laws.rate[at] = np.minimum(laws.rate[at], fault.size)
            laws.load[at] = laws.rate[at] * moved
        elif hot:
            push = -stood.hot_force[:, rows[:3]]
            size = np.linalg.norm(push, axis=1, keepdims=True)
            slip = fault.size * np.divide(push, size, out=np.zeros_like(push), where=size > 0.0)
            laws.load[which[:, None], rows[None, :3]] += laws.rate[at][:, :3] * slip
    elif isinstance(piece, Joint):
        k = added(fault, piece, axis)
        number = made.joint_of[fault.place]
        laws.linked[which, number] = k
        laws.linked_load[which, number] = stood.cold[:, rows] @ k
    else:  # a slack rod: the same, lower by the slack
        laws.down[first] += fault.size


def _clear(laws: Laws, made: Form, name: str, which: Any, rows: Any) -> None:
    at = (which[:, None], rows[None, :])
    for array in (laws.load, laws.rate, laws.stiff_up, laws.stiff_down, laws.soft, laws.band):
        array[at] = 0.0
    laws.up[at] = laws.down[at] = np.inf
    laws.floor[at] = False
    if name in made.coupled_of:
        laws.rub[which, made.coupled_of[name]] = 0.0
        laws.swing[which, made.coupled_of[name]] = 0.0


def answer(made: Form, laws: Laws, u: Array, memory: Array, lag: Array | None = None) -> Answer:
    """Forces, slopes and new memory at ``u`` (b, m + 1).

    ``lag`` (b, q) are normal forces that friction is held to; ``None``: its own.
    """
    over, under = u > laws.up, u < -laws.down
    force = laws.load - laws.rate * np.clip(u, -laws.down, laws.up)
    force -= laws.stiff_up * np.maximum(u - laws.up, 0.0)
    force -= laws.stiff_down * np.minimum(u + laws.down, 0.0)
    slope = -np.where(over, laws.stiff_up, np.where(under, laws.stiff_down, laws.rate))
    kept = memory.copy()
    if len(made.banded):
        _hold_back(made, laws, u, force, slope, kept)
    gone = laws.floor & (force < 0.0)
    force[gone] = 0.0
    slope[gone] = 0.0
    for number, rows in enumerate(made.joints):
        if laws.linked[:, number].any():
            force[:, rows] += laws.linked_load[:, number]
            force[:, rows] -= np.einsum("bij,bj->bi", laws.linked[:, number], u[:, rows])
    blocks = _couple(made, laws, u, force, slope, kept, lag)
    return Answer(force=force, slope=slope * made.single, blocks=blocks, memory=kept)


def _hold_back(
    made: Form, laws: Laws, u: Array, force: Array, slope: Array, kept: Array
) -> None:  # fmt: skip
    rows = made.banded
    soft, band = laws.soft[:, rows], laws.band[:, rows]
    pull = -soft * (u[:, rows] - kept[:, rows])
    held = np.clip(pull, -band, band)
    slid = np.abs(pull) > band
    force[:, rows] += held
    slope[:, rows] -= np.where(slid, 0.0, soft)
    with np.errstate(divide="ignore", invalid="ignore"):
        kept[:, rows] = np.where(slid, u[:, rows] + held / soft, kept[:, rows])


def _couple(
    made: Form, laws: Laws, u: Array, force: Array, slope: Array, kept: Array, lag: Array | None
) -> Array:
    """Friction and swing at the coupled places: into force and memory; their slopes."""
    rows = made.coupled
    f, d, x, past = force[:, rows], slope[:, rows], u[:, rows], kept[:, rows]
    blocks = d[..., None] * np.eye(3)
    rubs = laws.rub > 0.0
    normal = np.sum(np.abs(f) * made.normal, axis=2)
    limit = laws.rub * (normal if lag is None else lag)
    trial = -contact.STICK * (x - past) * made.along
    pull = np.sqrt(np.sum(trial**2, axis=2))
    slides = (pull > limit) & rubs
    share = np.where(slides, limit / np.where(pull > 0.0, pull, 1.0), 1.0)
    unit = trial / np.where(pull > 0.0, pull, 1.0)[..., None]
    active = (rubs & (limit > 0.0))[..., None] & (made.along > 0.0)
    f = np.where(active, trial * share[..., None], f)
    moved = np.where(slides[..., None], x + f / contact.STICK, past)
    if lag is None:
        moved = np.where((normal == 0.0)[..., None], x, moved)
    kept[:, rows] = np.where(rubs[..., None] & (made.along > 0.0), moved, past)
    across = np.eye(3) - slides[..., None, None] * (unit[..., :, None] * unit[..., None, :])
    held = -contact.STICK * share[..., None, None] * across
    held = held * (made.along[:, :, None] * made.along[:, None, :])
    blocks = np.where(active[..., :, None], held, blocks)
    if lag is None:
        leans = laws.rub[..., None] * np.sign(f) * d * made.normal
        pressed = unit[..., :, None] * leans[..., None, :]
        blocks = blocks + np.where((slides[..., None] & active)[..., :, None], pressed, 0.0)
    hangs = (laws.swing > 0.0)[..., None] & (made.swung > 0.0)
    if hangs.any():
        w = laws.swing[..., None]
        f0, d0 = f[..., :1], d[..., :1]
        f = np.where(hangs, -f0 * x * w, f)
        swung = np.zeros_like(blocks)
        swung[..., 0] = -d0 * x * w
        swung += (-f0 * w)[..., None] * np.eye(3)
        blocks = np.where(hangs[..., :, None], swung, blocks)
    force[:, rows] = f
    force[:, -1] = 0.0
    kept[:, -1] = 0.0
    return np.asarray(blocks)
