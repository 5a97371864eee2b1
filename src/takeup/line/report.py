"""What a solved line says: loads on supports, spring travels, joint movements, cautions. SI.

Stresses of the pipe and use of a joint's design movement are not part of it.
"""

from __future__ import annotations

from collections.abc import Sequence

import msgspec
import numpy as np

from takeup.checks import Check, LimitKind, compare
from takeup.line.model import (
    Anchor,
    ConstantSpring,
    Guide,
    Line,
    Rest,
    RodHanger,
    Stop,
    Strut,
    Support,
    VariableSpring,
)
from takeup.line.solve import Certificate, JointMovement, Reaction, StateResult
from takeup.sources import assumption

GIVEN = assumption(
    "allowed load as given in the model of the line; whoever wrote it answers for it"
)
STILL = 1.0
"""A support that carries less than this is said to carry nothing [N]."""
NAMES: dict[type, str] = {
    Anchor: "anchor",
    Rest: "rest",
    Guide: "guide",
    Stop: "stop",
    RodHanger: "rod hanger",
    VariableSpring: "variable spring",
    ConstantSpring: "constant spring",
    Strut: "strut",
}


class SupportLoad(msgspec.Struct, frozen=True, kw_only=True):
    """Load of the line on a support in a state."""

    name: str
    kind: str
    station: str
    force: tuple[float, float, float]
    """East, north, up [N]"""
    moment: tuple[float, float, float]
    """About east, north, up [N.m]"""
    movement: tuple[float, float, float]
    """Of its station from installed [m]"""
    checks: tuple[Check, ...] = ()
    says: str = ""
    """Anything out of the ordinary, such as a rest that the line has lifted off"""


class SpringTravel(msgspec.Struct, frozen=True, kw_only=True):
    """Where a spring stands in its range in a state."""

    name: str
    kind: str
    movement: float
    """Up from installed [m]"""
    up: float
    """To the upper stop from installed [m]"""
    down: float
    """To the lower stop from installed [m]"""
    load: float
    """Carried [N]"""
    free: bool
    """Whether it moves, between its stops and not pinned or seized"""


class StateReport(msgspec.Struct, frozen=True, kw_only=True):
    """One state of a line."""

    state: str
    pressure: float
    temperature: float
    certificate: Certificate
    usable: bool
    """Whether the certificate allows use"""
    supports: tuple[SupportLoad, ...]
    springs: tuple[SpringTravel, ...]
    joints: tuple[JointMovement, ...]
    cautions: tuple[str, ...]


class LineReport(msgspec.Struct, frozen=True, kw_only=True):
    """Every state of a line, with what to keep in mind."""

    line: str
    states: tuple[StateReport, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]


CAUTIONS = (
    "The line is taken as modelled: a support that is seized, lost or set otherwise changes loads "
    "and movements. Compare with what stands on site before anyone acts on it.",
    "Stresses of the pipe, and joint movements against their design, are not checked here.",
)


def report(line: Line, results: Sequence[StateResult]) -> LineReport:
    """Tell ``results`` of :func:`takeup.line.solve.solve` on ``line``."""
    supports = {one.name: one for one in line.supports}
    states = {one.name: one for one in line.states}
    told = []
    for result in results:
        loads = tuple(_load(supports[one.name], one, result.state) for one in result.reactions)
        springs = tuple(
            _travel(one, result.reaction(one.name))
            for one in line.supports
            if isinstance(one, VariableSpring | ConstantSpring)
        )
        state = states[result.state]
        good = result.certificate.good
        cautions = [f"{load.name}: {load.says}" for load in loads if load.says]
        cautions += [
            f"{spring.name} is {_stuck(supports[spring.name], spring)}"
            for spring in springs
            if not spring.free
        ]
        if not good:
            cautions.insert(0, "The forces do not balance well enough: do not use this state.")
        told.append(
            StateReport(
                state=result.state,
                pressure=state.pressure,
                temperature=state.temperature,
                certificate=result.certificate,
                usable=good,
                supports=loads,
                springs=springs,
                joints=result.joints,
                cautions=tuple(cautions),
            )
        )
    return LineReport(line=line.tag, states=tuple(told), cautions=CAUTIONS, notes=line.notes)


def _load(support: Support, found: Reaction, state: str) -> SupportLoad:
    size = float(np.linalg.norm(found.force))
    says = ""
    if isinstance(support, Rest) and size < STILL:
        says = "the line has lifted off this rest, or never reached it"
    elif isinstance(support, RodHanger) and size < STILL:
        says = "the rod is slack"
    checks = _checks(support, found, size, state)
    over = [check for check in checks if check.ratio is not None and check.ratio > 1.0]
    if over:
        worst = max(check.ratio or 0.0 for check in over)
        says = f"loaded to {worst:.2f} of what is allowed"
    return SupportLoad(
        name=found.name,
        kind=NAMES[type(support)],
        station=support.station,
        force=found.force,
        moment=found.moment,
        movement=found.movement,
        checks=checks,
        says=says,
    )


AXES = ("force east", "force north", "force up", "moment about east", "moment about north",
        "moment about up")  # fmt: skip


def _checks(support: Support, found: Reaction, size: float, state: str) -> tuple[Check, ...]:
    if isinstance(support, Anchor):
        if support.allowed is None:
            return ()
        demands = [abs(value) for value in (*found.force, *found.moment)]
        return tuple(
            _check(
                f"{found.name}.{k}@{state}", axis, demand, allowed, "moment" if k > 2 else "force"
            )
            for k, (axis, demand, allowed) in enumerate(
                zip(AXES, demands, support.allowed, strict=True)
            )
        )
    if isinstance(support, VariableSpring | ConstantSpring) or support.allowed is None:
        return ()
    return (_check(f"{found.name}@{state}", "load", size, support.allowed, "force"),)


def _check(id: str, name: str, demand: float, allowed: float, kind: str) -> Check:
    return compare(
        id=id, name=name, demand=demand, capacity=allowed, kind=kind, source=GIVEN,
        limit_kind=LimitKind.RULE_OF_THUMB,
    )  # fmt: skip


def _travel(spring: VariableSpring | ConstantSpring, found: Reaction) -> SpringTravel:
    moved = found.movement[2]
    still = spring.pinned if isinstance(spring, VariableSpring) else spring.seized
    return SpringTravel(
        name=spring.name,
        kind=NAMES[type(spring)],
        movement=moved,
        up=spring.travel_up,
        down=spring.travel_down,
        load=-found.force[2],
        free=not still and -spring.travel_down < moved < spring.travel_up,
    )


def _stuck(support: Support, spring: SpringTravel) -> str:
    if isinstance(support, VariableSpring) and support.pinned:
        return "pinned: it stands on its travel stops"
    if isinstance(support, ConstantSpring) and support.seized:
        return "taken as seized"
    return f"on its {'upper' if spring.movement > 0.0 else 'lower'} stop"
