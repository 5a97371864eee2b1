"""Rates of a whole joint in every direction, per kind of assembly."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np

from takeup.bellows import matrix
from takeup.bellows.combine import (
    HELD_SOURCE,
    NAMES,
    SERIES_SOURCE,
    Held,
    Hold,
    held,
    held_in_row,
)
from takeup.bellows.elements import Element, Spool, element, plain, spooled
from takeup.bellows.model import Assembly, BellowsCase, Role
from takeup.errors import Contradiction, MissingInput
from takeup.sources import Source, Standing, assumption
from takeup.units import Array, Metre, Real, SquareMetre

PARALLEL = Source(
    document="Takeup",
    at="pressure-balanced: every bellows moves axially as much as the joint, so their rates add",
    standing=Standing.DERIVED,
)
KINDS = ("axial_rate", "axial_rate", "axial_rate", "angular_rate", "angular_rate", "angular_rate")
SYMBOLS = ("Ka", "Kl", "Kl", "Kt", "Kth", "Kth")
IDEAL_HARDWARE = (
    "Hardware is taken without friction, play and stretch; pin friction adds a moment to that of "
    "the bellows."
)


RODS_BEAR = "All rods bear; a rod that seats late lets the joint turn about the others."
_TIED = (Hold.RODS, Hold.RODS_ACROSS)
_HINGES = (Hold.HINGE_Y, Hold.HINGE_Z)
HOLDS: dict[Assembly, tuple[Hold, ...]] = {
    Assembly.SINGLE: (Hold.NOTHING,),
    Assembly.TIED: _TIED,
    Assembly.HINGED: _HINGES,
    Assembly.GIMBAL: (Hold.GIMBAL,),
    Assembly.UNIVERSAL: (Hold.NOTHING, *_TIED),
    Assembly.PANTOGRAPH: (Hold.NOTHING,),
    Assembly.PAIR: (*_HINGES, Hold.GIMBAL),
}
"""Hardware that a kind of joint may have."""


class Rate(msgspec.Struct, frozen=True, kw_only=True):
    """Stiffness of a joint in one direction.

    Axial and twist: force or moment per motion.  Lateral: force per movement with both ends
    kept parallel.  Angular: moment per angle under a moment alone, the ends free to shift.
    """

    direction: str
    """One of :data:`takeup.bellows.combine.NAMES`."""
    symbol: str
    value: Real | None
    """[N/m] or [N.m/rad]; ``None`` where it is held, or not worked out."""
    held: bool = False
    """Whether hardware allows no movement in this direction."""
    kind: str
    source: Source
    note: str = ""


class AssemblyRates(msgspec.Struct, frozen=True, kw_only=True):
    """A joint between its two ends."""

    assembly: Assembly
    rates: tuple[Rate, ...]
    matrix: Array | None = None
    """Between both ends without hardware, (..., 12, 12); ``None`` for balanced joints."""
    flexibility: Array | None = None
    """Motion of end 2 per force on it, end 1 held, hardware in place, (..., 6, 6)."""
    length: Real
    """Between the outer ends of the convolutions [m]"""
    anchor_area: SquareMetre
    """Area that times pressure pushes on the anchors [m2]; 0 where hardware carries it."""
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()

    def rate(self, direction: str) -> Rate:
        """The rate in ``direction``."""
        return next(each for each in self.rates if each.direction == direction)


def rates(
    kind: Assembly,
    one: Element,
    *,
    length_over_both: Metre | None = None,
    spool: Spool | None = None,
    hold: Hold | None = None,
    rod_length: Metre | None = None,
    balancing: Element | None = None,
    flow_bellows: int = 2,
) -> AssemblyRates:
    """Rates of a joint made of ``one`` (two of it where the kind has two), arrays allowed.

    Two elements stand for two equal bellows.  ``length_over_both`` is Lu [m] of universal, pantograph, pair, and of a balanced elbow with
    two flow bellows.  ``spool`` replaces the rigid one between them.  ``hold`` says what the
    hardware is where the kind leaves it open: about which axis a hinge turns (default z), hinge
    or gimbal in a pair (default gimbal), two or more rods (default three or more), rods across a
    universal (default none).
    ``rod_length`` [m] between seats, default the joint's length.  ``balancing`` is the other
    bellows of a pressure-balanced joint, ``flow_bellows`` how many flow bellows the in-line
    kind has.  Raises :class:`takeup.errors.MissingInput` for what a kind cannot do without and
    :class:`takeup.errors.Contradiction` for hardware or lengths that do not belong to it.
    """
    if hold is not None and hold not in HOLDS.get(kind, ()):
        raise Contradiction(
            f"{hold.value} is not the hardware of a joint that is {kind.value}; give "
            f"{' or '.join(one.value for one in HOLDS.get(kind, ())) or 'none'}"
        )
    if kind in {Assembly.BALANCED_ELBOW, Assembly.BALANCED_INLINE}:
        return _balanced(kind, one, length_over_both, spool, balancing, flow_bellows)
    if kind in {Assembly.SINGLE, Assembly.TIED, Assembly.HINGED, Assembly.GIMBAL}:
        return _single(kind, one, hold, rod_length)
    gap = _gap(kind, one, length_over_both)
    if kind == Assembly.PAIR:
        return _pair(one, gap, hold or Hold.GIMBAL)
    row = spooled((one, one), (_spool(gap, spool),))
    notes = []
    if kind == Assembly.PANTOGRAPH:
        notes.append(
            "The linkage centres the spool along the axis, where two equal bellows put it anyway, "
            "and is taken to follow sideways freely: it changes no rate between the ends."
        )
    length = 2.0 * one.length + gap
    tied = hold in {Hold.RODS, Hold.RODS_ACROSS}
    part = held(
        row.matrix,
        hold or Hold.NOTHING,
        length if rod_length is None else rod_length,
        one.compression,
    )
    if tied:
        notes.append(RODS_BEAR)
    return _made(
        kind,
        _from_held(part) if tied else _unheld(row.matrix, SERIES_SOURCE),
        one,
        matrix=row.matrix,
        flexibility=part.flexibility,
        length=length,
        anchor_area=0.0 * one.thrust_area if tied else one.thrust_area,
        notes=tuple(notes),
        cautions=(IDEAL_HARDWARE,) if tied else (),
    )


def assembly_rates(
    case: BellowsCase,
    condition: str | None = "operating",
    *,
    balancing: BellowsCase | None = None,
    spool: Spool | None = None,
    hold: Hold | None = None,
    rod_length: Metre | None = None,
    flow_bellows: int = 2,
    under_pressure: bool = False,
) -> AssemblyRates:
    """Rates in all directions of the joint that ``case`` is a bellows of.

    At the condition called ``condition``, cold for ``None``; see :func:`rates` and
    :func:`takeup.bellows.elements.element`.
    """
    if case.role == Role.BALANCING:
        raise Contradiction(
            f"{case.name or 'the case'} is the balancing bellows; give the flow bellows as the case "
            "and this one as balancing"
        )
    return rates(
        case.assembly,
        element(case, condition, under_pressure=under_pressure),
        length_over_both=None if "length_over_both" in case.missing else case.length_over_both,
        spool=spool,
        hold=hold,
        rod_length=rod_length,
        balancing=None
        if balancing is None
        else element(balancing, condition, under_pressure=under_pressure),
        flow_bellows=flow_bellows,
    )


def _gap(kind: Assembly, one: Element, over: Metre | None) -> Real:
    if over is None:
        raise MissingInput(f"Rates of a joint ({kind.value})", ["length over both bellows Lu"])
    gap = over - 2.0 * one.length
    if np.any(np.asarray(gap) < 0.0):
        raise Contradiction(
            "The length over both bellows is less than two bellows of N q; correct the length, "
            "the pitch or the convolutions"
        )
    found: Real = gap
    return found


def _spool(gap: Real, given: Spool | None) -> Spool:
    if given is None:
        return Spool(length=gap)
    if not np.allclose(given.length, gap, rtol=1e-6, atol=1e-9):
        raise Contradiction(
            "The spool's length is not the length over both bellows less two bellows of N q; "
            "correct one of them"
        )
    return given


def _values(k: Array) -> list[Any]:
    """Six rates of a matrix (..., 12, 12): parallel ends for lateral, pure moment for angular."""
    stiff = matrix.six(k)
    soft = np.linalg.inv(stiff)
    return [stiff[..., at, at] if at < 4 else 1.0 / soft[..., at, at] for at in range(6)]


def _unheld(k: Array, source: Source) -> list[Rate]:
    return [_rate(at, value, source) for at, value in enumerate(_values(k))]


def _rate(at: int, value: Any, source: Source, *, stuck: bool = False, note: str = "") -> Rate:
    return Rate(
        direction=NAMES[at],
        symbol=SYMBOLS[at],
        value=plain(value),
        held=stuck,
        kind=KINDS[at],
        source=source,
        note=note,
    )


def _made(
    kind: Assembly,
    found: list[Rate],
    one: Element,
    *,
    length: Real,
    anchor_area: SquareMetre,
    matrix: Array | None = None,
    flexibility: Any = None,
    notes: tuple[str, ...] = (),
    cautions: tuple[str, ...] = (),
) -> AssemblyRates:
    return AssemblyRates(
        assembly=kind,
        rates=tuple(found),
        matrix=matrix,
        flexibility=flexibility,
        length=plain(length),
        anchor_area=plain(anchor_area),
        notes=notes,
        cautions=(*one.cautions, *cautions),
    )


def _single(
    kind: Assembly, one: Element, hold: Hold | None, rod_length: Metre | None
) -> AssemblyRates:
    default = {
        Assembly.SINGLE: Hold.NOTHING,
        Assembly.TIED: Hold.RODS,
        Assembly.HINGED: Hold.HINGE_Z,
        Assembly.GIMBAL: Hold.GIMBAL,
    }[kind]
    hold = hold or default
    rods = hold in {Hold.RODS, Hold.RODS_ACROSS}
    arm = one.length / 2.0 if not rods else (one.length if rod_length is None else rod_length)
    part = held(one.matrix, hold, arm, one.compression)
    free = hold == Hold.NOTHING
    notes = []
    if rods:
        notes.append(RODS_BEAR)
    return _made(
        kind,
        _unheld(one.matrix, matrix.SOURCE) if free else _from_held(part),
        one,
        matrix=one.matrix,
        flexibility=part.flexibility,
        length=one.length,
        anchor_area=one.thrust_area if free else 0.0 * one.thrust_area,
        notes=tuple(notes),
        cautions=() if free else (IDEAL_HARDWARE,),
    )


def _from_held(part: Held) -> list[Rate]:
    """Lateral motions keep the ends parallel; a free angle is a pure moment."""
    soft = np.linalg.inv(part.stiffness)
    found = []
    for at, name in enumerate(NAMES):
        if name not in part.names:
            found.append(_rate(at, None, HELD_SOURCE, stuck=True, note="held by the hardware"))
            continue
        place = part.names.index(name)
        stiff = part.stiffness[..., place, place]
        found.append(_rate(at, stiff if at < 4 else 1.0 / soft[..., place, place], HELD_SOURCE))
    return found


def _pair(one: Element, gap: Real, hold: Hold) -> AssemblyRates:
    """Two hinges or gimbals at the middle of their bellows, a rigid spool between."""
    part = held(one.matrix, hold, one.length / 2.0, one.compression)
    apart = one.length + gap
    soft = held_in_row(((part, apart), (part, 0.0)))
    turn = part.stiffness[..., 0, 0]
    # Parallel ends: both hinges turn by y / C, each with its own moment.  Between the hinges
    # hardware pulls with the thrust that the contents push with: nothing is left to tip.
    side = 2.0 * turn / (apart * apart)
    found = []
    for at, name in enumerate(NAMES):
        spin = {1: NAMES[5], 2: NAMES[4]}.get(at, name)
        if spin not in part.names:
            found.append(_rate(at, None, HELD_SOURCE, stuck=True, note="held by the hardware"))
        else:
            found.append(_rate(at, np.asarray(side if at < 3 else turn / 2.0), HELD_SOURCE))
    return _made(
        Assembly.PAIR,
        found,
        one,
        flexibility=soft,
        matrix=spooled((one, one), (Spool(length=gap),)).matrix,
        length=2.0 * one.length + gap,
        anchor_area=0.0 * one.thrust_area,
        cautions=(IDEAL_HARDWARE,),
    )


def _balanced(
    kind: Assembly,
    one: Element,
    over: Metre | None,
    spool: Spool | None,
    balancing: Element | None,
    flow_bellows: int,
) -> AssemblyRates:
    if balancing is None:
        raise MissingInput(f"Rates of a joint ({kind.value})", ["the balancing bellows"])
    inline = kind == Assembly.BALANCED_INLINE
    flow, length = one.matrix, one.length
    source = matrix.SOURCE
    if over is not None and not inline:
        gap = _gap(kind, one, over)
        flow = spooled((one, one), (_spool(gap, spool),)).matrix
        length, source = 2.0 * one.length + gap, SERIES_SOURCE
    values = _values(flow)
    other = balancing.six[..., 0, 0]
    axial = (flow_bellows if inline else 1) * values[0] + other
    found = [_rate(0, np.asarray(axial), PARALLEL)]
    if inline:
        note = "depends on how the ties of this joint are set; not worked out"
        found += [_rate(at, None, PARALLEL, note=note) for at in range(1, 6)]
    else:
        aside = assumption("balancing end hung from the ties: it moves along its axis only")
        tied = "held by three or more tie rods"
        found += [_rate(at, values[at], aside, note="flow bellows alone") for at in (1, 2)]
        found.append(_rate(3, values[3], source, note="flow bellows alone"))
        found += [_rate(at, None, HELD_SOURCE, stuck=True, note=tied) for at in (4, 5)]
    wanted = (2.0 if inline else 1.0) * one.thrust_area
    left = balancing.thrust_area - wanted
    return _made(
        kind,
        found,
        one,
        length=length,
        anchor_area=left,
        notes=(
            "Balancing area less "
            + ("twice the" if inline else "the")
            + " flow area is what is left on the anchors; it should be none.",
        ),
        cautions=(IDEAL_HARDWARE,),
    )
