"""From register facts to bellows cases: what is unknown stays unknown and is named."""

from __future__ import annotations

from collections.abc import Sequence

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
    Treatment,
)
from takeup.evidence.model import TemperatureReport
from takeup.register.entities import (
    BellowsElement,
    Forming,
    HeatTreatment,
    JointType,
    MovementRole,
)

_ASSEMBLY = {
    JointType.UNIVERSAL: Assembly.UNIVERSAL,
    JointType.UNIVERSAL_TIED: Assembly.UNIVERSAL,
    JointType.UNIVERSAL_PANTOGRAPH: Assembly.UNIVERSAL,
    JointType.HINGED_PAIR: Assembly.PAIR,
    JointType.HINGED_TRIPLE: Assembly.PAIR,
}
_HELD = frozenset({JointType.UNIVERSAL_TIED, JointType.UNIVERSAL_PANTOGRAPH})
_FORMING = {Forming.HYDRAULIC: 0.6, Forming.MANDREL: 1.0, Forming.ROLL: 1.0}
_MUST = ("inside_diameter", "height", "pitch", "convolutions", "plies", "ply_thickness")
_NAN = float("nan")


def covered(one: BellowsElement) -> bool:
    """Whether the engine of this version covers the shape of a bellows."""
    return one.convolution == Convolution.U_PLAIN


def bellows_case(
    case: JointCase, one: BellowsElement, reports: Sequence[TemperatureReport]
) -> BellowsCase:
    """Build the engine's input for one bellows; unknown fields are listed in ``missing``."""
    missing = [name for name in _MUST if getattr(one, name) is None]
    if not one.material:
        missing.append("material")
    if one.heat_treatment is None:
        missing.append("heat_treatment")
    if one.tangent_length is None:
        missing.append("tangent_length")
    return BellowsCase(
        name=f"{one.joint} {one.letter}",
        basis=Basis.ASME_26,
        inside_diameter=_or_nan(one.inside_diameter),
        height=_or_nan(one.height),
        pitch=_or_nan(one.pitch),
        convolutions=one.convolutions or 0,
        plies=one.plies or 0,
        ply_thickness=_or_nan(one.ply_thickness),
        torus_radius=one.torus_radius,
        tangent_length=one.tangent_length or 0.0,
        collar_length=one.collar_length or 0.0,
        collar_thickness=one.collar_thickness or 0.0,
        material=one.material,
        treatment=_treatment(one.heat_treatment),
        weld_factor=one.weld_factor,
        forming_factor=None if one.forming is None else _FORMING[one.forming],
        yield_strength=one.yield_strength,
        assembly=_ASSEMBLY.get(case.joint.type, Assembly.SINGLE),
        length_over_both=case.joint.spool,
        spool_held=case.joint.type in _HELD,
        conditions=conditions(case, one, reports),
        movements=movements(case),
        missing=tuple(missing),
    )


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


def movements(case: JointCase) -> tuple[Movement, ...]:
    """Expected movements with the cycles to count up to the second outage.

    Expected cycles are a year's; they are counted from installation to the second outage
    (to the next one, or to today, where the later is not known).
    """
    since = in_service_since(case.joint, case.events, case.today)
    end = case.second_outage or case.next_outage
    until = end.start if end is not None else case.today
    if since is None:
        return ()
    span = max(0.0, years(since, until))
    found = []
    for row in case.movements:
        if row.role != MovementRole.EXPECTED or row.cycles is None:
            continue
        if row.axial is None and row.lateral is None and row.angular is None:
            continue
        found.append(
            Movement(
                name=row.name,
                axial=row.axial or 0.0,
                lateral=row.lateral or 0.0,
                angular=row.angular or 0.0,
                cycles=row.cycles * span,
            )
        )
    return tuple(found)


def _or_nan(value: float | None) -> float:
    return _NAN if value is None else value


def _treatment(state: HeatTreatment | None) -> Treatment | None:
    if state is None:
        return None
    return Treatment.AS_FORMED if state == HeatTreatment.AS_FORMED else Treatment.ANNEALED
