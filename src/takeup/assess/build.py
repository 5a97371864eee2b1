"""From register facts to bellows cases: what is unknown stays unknown and is named."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import msgspec

from takeup.assess import cycles, expected
from takeup.assess.lives import in_service_since, years
from takeup.assess.model import JointCase
from takeup.assess.reading import ROOM, metal_temperature
from takeup.bellows.model import (
    Assembly,
    Basis,
    BellowsCase,
    Condition,
    Convolution,
    Movement,
    Role,
    Side,
    Treatment,
)
from takeup.errors import Refused
from takeup.evidence.model import TemperatureReport
from takeup.register.entities import (
    BellowsElement,
    EventKind,
    Forming,
    HeatTreatment,
    JointType,
    MovementCase,
)

ASSEMBLY = {
    JointType.SINGLE: Assembly.SINGLE,
    JointType.SINGLE_LIMIT: Assembly.SINGLE,
    JointType.SINGLE_TIED: Assembly.TIED,
    JointType.UNIVERSAL: Assembly.UNIVERSAL,
    JointType.UNIVERSAL_TIED: Assembly.UNIVERSAL,
    JointType.UNIVERSAL_PANTOGRAPH: Assembly.PANTOGRAPH,
    JointType.HINGED: Assembly.HINGED,
    JointType.HINGED_PAIR: Assembly.PAIR,
    JointType.HINGED_TRIPLE: Assembly.PAIR,
    JointType.GIMBAL: Assembly.GIMBAL,
    JointType.BALANCED_ELBOW: Assembly.BALANCED_ELBOW,
    JointType.BALANCED_INLINE: Assembly.BALANCED_INLINE,
    JointType.EXTERNAL: Assembly.SINGLE,
    JointType.EXCHANGER: Assembly.SINGLE,
    JointType.TOROIDAL: Assembly.SINGLE,
}
"""How the bellows of a joint work together; what is not here has no round bellows.

A three-hinge set counts as the pair of its outer hinges (engineering assumption).
"""
_BALANCED = frozenset({JointType.BALANCED_ELBOW, JointType.BALANCED_INLINE})
_HELD = frozenset({JointType.UNIVERSAL_TIED, JointType.UNIVERSAL_PANTOGRAPH})
_FORMING = {Forming.HYDRAULIC: 0.6, Forming.MANDREL: 1.0, Forming.ROLL: 1.0}
_ROUND = ("inside_diameter", "pitch", "convolutions", "plies", "ply_thickness")
_MUST = {
    Convolution.U_PLAIN: (*_ROUND, "height"),
    Convolution.U_REINFORCED: (*_ROUND, "height", "ring_area", "fastener_area"),
    Convolution.TOROIDAL: (*_ROUND, "mean_diameter", "torus_radius"),
}
_NAN = float("nan")
BASIS = Basis.ASME_26
"""Taken where the register does not say to which rule set a bellows was designed."""
BASIS_ASSUMED = (
    f"Rule set of the design not on record: {BASIS.value} is taken. Another rule set gives other "
    "limits; put that of the data sheet on record."
)
_OWN_EVENTS = (
    ("start", (EventKind.START,)),
    ("trip", (EventKind.TRIP,)),
    ("steam", (EventKind.STEAM_OUT,)),
    ("upset", (EventKind.UPSET, EventKind.EXCURSION)),
)
"""Events that count for a movement case of that name."""
_MAIN_EVENTS = frozenset({EventKind.START, EventKind.TRIP})
"""Events that count for the main case where none of their own is on record."""


def not_covered(case: JointCase) -> str:
    """Why no bellows of a joint can be worked out, or nothing."""
    if case.joint.type not in ASSEMBLY:
        return (
            f"a {case.joint.type.value} joint has no round bellows and no rule set covers its "
            "folds; a calculation by its maker"
        )
    return ""


def basis_assumed(one: BellowsElement) -> bool:
    """Whether the rule set is Takeup's assumption, not the register's word."""
    return one.basis is None


def shape_of(case: JointCase, one: BellowsElement) -> Convolution:
    """Shape of the convolutions; that of a toroidal joint is toroidal whatever its row says."""
    if case.joint.type == JointType.TOROIDAL:
        return Convolution.TOROIDAL
    return one.convolution


def role_of(case: JointCase, one: BellowsElement) -> Role:
    """Which bellows balances: of a pressure-balanced joint the one with the last letter.

    (Engineering assumption: letters run with the flow, and the balancing bellows closes the
    joint.)  With a single bellows on record none is taken to balance.
    """
    if case.joint.type not in _BALANCED or len(case.bellows) < 2:
        return Role.FLOW
    last = max(case.bellows, key=lambda other: other.letter.casefold())
    return Role.BALANCING if one.letter.casefold() == last.letter.casefold() else Role.FLOW


def bellows_case(
    case: JointCase, one: BellowsElement, reports: Sequence[TemperatureReport]
) -> BellowsCase:
    """Build the engine's input for one bellows; unknown fields are listed in ``missing``.

    Raises :class:`takeup.errors.Refused` for a joint of which :func:`not_covered` says why.
    """
    if why := not_covered(case):
        raise Refused(f"{case.joint.tag} cannot be worked out: {why}")
    shape = shape_of(case, one)
    missing = [name for name in _MUST[shape] if getattr(one, name) is None]
    if not one.material:
        missing.append("material")
    if one.heat_treatment is None:
        missing.append("heat_treatment")
    if one.tangent_length is None:
        missing.append("tangent_length")
    collar = ("collar_length", "collar_thickness")
    if any(getattr(one, name) for name in collar):  # half a collar is not known, none is none
        missing += [name for name in collar if getattr(one, name) is None]
    if one.fastener_area and one.fastener_length is None:
        missing.append("fastener_length")
    return BellowsCase(
        name=f"{one.joint} {one.letter}",
        basis=one.basis or BASIS,
        convolution=shape,
        inside_diameter=_or_nan(one.inside_diameter),
        height=one.height,
        pitch=_or_nan(one.pitch),
        convolutions=one.convolutions or 0,
        plies=one.plies or 0,
        ply_thickness=_or_nan(one.ply_thickness),
        torus_radius=one.torus_radius,
        mean_diameter=one.mean_diameter,
        tangent_length=one.tangent_length or 0.0,
        collar_length=one.collar_length or 0.0,
        collar_thickness=one.collar_thickness or 0.0,
        collar_material=one.collar_material,
        tube_diameter=one.tube_diameter,
        thinnest_ply=one.thinnest_ply,
        ring_area=one.ring_area,
        ring_material=one.ring_material,
        fastener_area=one.fastener_area or 0.0,
        fastener_length=one.fastener_length or 0.0,
        fastener_material=one.fastener_material,
        material=one.material,
        treatment=_treatment(one.heat_treatment),
        weld_factor=one.weld_factor,
        forming_factor=None if one.forming is None else _FORMING[one.forming],
        yield_strength=one.yield_strength,
        assembly=ASSEMBLY[case.joint.type],
        role=role_of(case, one),
        pressurised=Side.OUTSIDE if case.joint.type == JointType.EXTERNAL else Side.INSIDE,
        length_over_both=_over_both(case),
        spool_held=case.joint.type in _HELD,
        conditions=conditions(case, one, reports),
        movements=movements(case, one),
        missing=tuple(dict.fromkeys(missing)),
    )


def _over_both(case: JointCase) -> float | None:
    """Length over both flow bellows; one flow bellows and its balancing one are no universal."""
    if case.joint.type == JointType.BALANCED_ELBOW and len(case.bellows) < 3:
        return None
    return case.joint.spool


def conditions(
    case: JointCase, one: BellowsElement, reports: Sequence[TemperatureReport]
) -> tuple[Condition, ...]:
    """Operating, design and test with the metal temperature of the bellows, where known."""
    line, found = case.line, []
    operating, _, _ = metal_temperature(case, one.letter, reports)
    design = one.design_metal_temperature
    if line.operating_pressure is not None and operating is not None:
        found.append(
            Condition(name="operating", pressure=line.operating_pressure, temperature=operating)
        )
    if line.design_pressure is not None and design is not None:
        found.append(Condition(name="design", pressure=line.design_pressure, temperature=design))
    if line.test_pressure is not None:
        found.append(Condition(name="test", pressure=line.test_pressure, temperature=ROOM))
    return tuple(found)


def movements(case: JointCase, one: BellowsElement | None = None) -> tuple[Movement, ...]:
    """Expected movements with the cycles done so far and those to count.

    Where the model of the line gives a case, its movement is taken, not the entered one.

    Expected cycles are a year's.  Done so far is from installation (of the bellows where it
    came later than its joint) to today at that rate, or the number of events on record where
    that is more: each start-up and each trip counts as one full cycle, which is never less
    than what it does (engineering assumption).  An event counts for the case named after it,
    starts and trips otherwise for the main case.  To that come the cycles up to the second
    outage (to the next one, or none, where the later is not known).

    Where the temperature history of the bellows covers the run, the cycles of the main case are
    counted from it for its years, and ahead the larger of entered and counted rate is taken.
    """
    since = _since(case, one)
    if since is None:
        return ()
    end = case.second_outage or case.next_outage
    until = end.start if end is not None else case.today
    ahead = max(0.0, years(max(case.today, since), until))
    behind = max(0.0, years(since, case.today))
    known = [one for one in expected.cases(case) if _known(one)]
    seen = cycles.counted(case, "" if one is None else one.letter, since) if known else None
    main = _main([one.row for one in known])
    counting = [
        one
        for one in known
        if one.row.cycles is not None or (seen is not None and one.row.name == main)
    ]
    recorded = _recorded(case, [one.row for one in counting], since)
    found = []
    for counted in counting:
        row, move = counted.row, counted.move
        rate = row.cycles or 0.0
        done = max(rate * behind, float(recorded.get(row.name, 0)))
        if seen is not None and row.name == main:
            rate = seen.rate if row.cycles is None else rate
            done = cycles.done(seen, rate, behind, float(recorded.get(row.name, 0)))
            rate = max(rate, seen.rate)
        made = Movement(
            name=row.name,
            axial=row.axial or 0.0,
            lateral=row.lateral or 0.0,
            angular=row.angular or 0.0,
            cycles=done + rate * ahead,
            done=done,
        )
        if move is not None:
            # Both planes, each with lateral and angular adding up: the worse way round.
            own = expected.theory(case)
            taken = None if own is None else own.taken(move.state)
            made = msgspec.structs.replace(
                made,
                axial=move.axial if taken is None else taken,
                lateral=abs(move.lateral[0]),
                angular=abs(move.angular[1]),
                lateral_across=abs(move.lateral[1]),
                angular_across=abs(move.angular[0]),
            )
        found.append(made)
    return tuple(found)


def _since(case: JointCase, one: BellowsElement | None) -> dt.date | None:
    joint = in_service_since(case.joint, case.events, case.today)
    own = None if one is None else one.installed
    if own is None or own > case.today:
        return joint
    return own if joint is None else max(joint, own)


def _known(one: expected.Expected) -> bool:
    entered = (one.row.axial, one.row.lateral, one.row.angular)
    return one.move is not None or any(part is not None for part in entered)


def _main(rows: Sequence[MovementCase]) -> str:
    """Name of the case for which starts and trips count."""
    first = rows[0].name if rows else ""
    return next((row.name for row in rows if row.name.casefold() in expected.MAIN), first)


def _recorded(case: JointCase, rows: Sequence[MovementCase], since: dt.date) -> dict[str, int]:
    """Events on record since a date, by the movement case that they count for."""
    if not rows:
        return {}
    main = _main(rows)
    owner = dict.fromkeys(_MAIN_EVENTS, main)
    for word, kinds in _OWN_EVENTS:
        own = next((row.name for row in rows if word in row.name.casefold()), None)
        if own is not None:
            owner |= dict.fromkeys(kinds, own)
    counted: dict[str, int] = {}
    for event in case.events:
        if event.kind in owner and since <= event.date <= case.today:
            counted[owner[event.kind]] = counted.get(owner[event.kind], 0) + event.count
    return counted


def _or_nan(value: float | None) -> float:
    return _NAN if value is None else value


def _treatment(state: HeatTreatment | None) -> Treatment | None:
    if state is None:
        return None
    return Treatment.AS_FORMED if state == HeatTreatment.AS_FORMED else Treatment.ANNEALED
