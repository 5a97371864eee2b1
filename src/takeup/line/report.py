"""A solved line state by state: loads on supports, spring travels, joint movements, checks. SI."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec
import numpy as np

from takeup.checks import Check
from takeup.line.model import (
    Anchor,
    ConstantSpring,
    Guide,
    Rest,
    RodHanger,
    Stop,
    Strut,
    Support,
    VariableSpring,
)
from takeup.line.results import between as difference
from takeup.line.results import judge
from takeup.line.solve import Certificate, JointMovement, Prepared, Reaction, StateResult

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
    checks: tuple[Check, ...]
    """Stresses between the cold and the hot state, loads and travels against their limits"""
    ranges: tuple[JointMovement, ...]
    """Hot minus cold of every joint and of its bellows: what marks are compared with"""
    between: tuple[str, str] | None
    """The cold and the hot state of the checks; ``None``: no check was made"""
    cautions: tuple[str, ...]
    notes: tuple[str, ...]


CAUTIONS = (
    "The line is taken as modelled: a support that is seized, lost or set otherwise changes loads "
    "and movements. Compare with what stands on site before anyone acts on it.",
    "Joint movements against their design are not checked here; hand them to the bellows engine.",
)


def report(ready: Prepared, results: Sequence[StateResult]) -> LineReport:
    """Tell ``results`` of :func:`takeup.line.solve.solve` on ``ready``.

    The checks are between the first state with the role cold and the last with the role hot.
    ``ready`` must stand on moduli at room temperature, as it does unless told otherwise.
    """
    line = ready.line
    supports = {one.name: one for one in line.supports}
    states = {one.name: one for one in line.states}
    told = []
    for result in results:
        loads = tuple(_load(supports[one.name], one) for one in result.reactions)
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
    cold = next((one.name for one in line.states if one.role == "cold"), "")
    hot = next((one.name for one in reversed(line.states) if one.role == "hot"), "")
    judged = judge(ready, results, cold=cold, hot=hot)
    between = (cold, hot) if cold and hot else None
    missing = (
        ()
        if between
        else ("No check was made of stresses and loads: give one state the role cold and one hot.",)
    )
    return LineReport(
        line=line.tag,
        states=tuple(told),
        checks=judged.checks,
        ranges=_ranges(results, cold, hot) if between else (),
        between=between,
        cautions=(*missing, *CAUTIONS, *judged.cautions),
        notes=(*line.notes, *(judged.notes if between else ())),
    )


def _ranges(results: Sequence[StateResult], cold: str, hot: str) -> tuple[JointMovement, ...]:
    by_name = {one.state: one for one in results}
    return tuple(
        difference(by_name[cold], by_name[hot], one.tag, one.number) for one in by_name[hot].joints
    )


def _load(support: Support, found: Reaction) -> SupportLoad:
    size = float(np.linalg.norm(found.force))
    says = ""
    if isinstance(support, Rest) and size < STILL:
        says = "the line has lifted off this rest, or never reached it"
    elif isinstance(support, RodHanger) and size < STILL:
        says = "the rod is slack"
    return SupportLoad(
        name=found.name,
        kind=NAMES[type(support)],
        station=support.station,
        force=_plus(found.force),
        moment=_plus(found.moment),
        movement=_plus(found.movement),
        says=says,
    )


def _plus(values: tuple[float, float, float]) -> tuple[float, float, float]:
    """Without minus zeros, which read as if something pulled."""
    return values[0] + 0.0, values[1] + 0.0, values[2] + 0.0


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
