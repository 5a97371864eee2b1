"""Supports and anchors of a solved line against what they may carry, travel and swing."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from takeup.checks import Check, LimitKind, Outcome, Quantity, compare
from takeup.line.model import (
    Anchor,
    ConstantSpring,
    Guide,
    Line,
    Rest,
    RodHanger,
    Stop,
    Strut,
    VariableSpring,
)
from takeup.line.solve import StateResult
from takeup.sources import Source, Standing

VARIABILITY = 0.25
"""Change of load of a variable spring over its hot load [-]."""
RESERVE, LEAST_RESERVE = 0.2, 0.025
"""Travel that a constant spring keeps beyond what it makes: share of it, and at least [m]."""
SWING = math.radians(4.0)
"""A rod hanger may lean by this."""
SIX = ("Fx", "Fy", "Fz", "Mx", "My", "Mz")


def _sp58(place: str, standing: Standing) -> Source:
    return Source(document="MSS SP-58", at=place, standing=standing)


SPRINGS = _sp58("variable springs: load changes by at most 25 % from hot to cold", Standing.READ)
CONSTANT = _sp58(
    "constant springs: travel beyond the actual one by 20 %, at least 25 mm", Standing.MEMORY
)
RODS = _sp58("hanger rods lean by at most 4 deg", Standing.READ)
STOPS = Source(
    document="Takeup",
    at="travel of a spring against the way to its stop",
    standing=Standing.DERIVED,
)
MAKER = Source(
    document="Takeup",
    at="load on a support against what its maker or owner allows",
    standing=Standing.DERIVED,
)


def against_six(
    id: str, name: str, values: tuple[float, ...], allowed: tuple[float, ...], source: Source,
    cautions: tuple[str, ...] = (), note: str = "",
) -> Check:  # fmt: skip
    """Three forces and three moments against their limits: the one nearest to its own."""
    shares = [abs(v) / a if a > 0.0 else np.inf if abs(v) > 0.0 else 0.0
              for v, a in zip(values, allowed, strict=True)]  # fmt: skip
    at = int(np.argmax(shares))
    return compare(
        id=id, name=name, symbol=SIX[at], demand=abs(values[at]), capacity=allowed[at],
        kind="force" if at < 3 else "moment", source=source, limit_kind=LimitKind.PUBLISHED,
        because=f"{SIX[at]} is nearest to what is allowed{note}", cautions=cautions,
    )  # fmt: skip


def loads(line: Line, result: StateResult) -> Iterable[Check]:
    """Loads of one state against what is allowed."""
    for one in line.supports:
        reaction = result.reaction(one.name)
        if isinstance(one, Anchor):
            if one.allowed is None:
                continue
            yield against_six(
                f"load.{one.name}@{result.state}",
                f"Load on {'nozzle' if one.nozzle else 'anchor'} {one.name}, {result.state}",
                (*reaction.force, *reaction.moment), one.allowed, MAKER,
            )  # fmt: skip
        elif isinstance(one, (Rest, Guide, Stop, RodHanger, Strut)) and one.allowed is not None:
            size = float(np.linalg.norm(reaction.force))
            yield compare(
                id=f"load.{one.name}@{result.state}",
                name=f"Load on {one.name}, {result.state}", symbol="F", demand=size,
                capacity=one.allowed, kind="force", source=MAKER, limit_kind=LimitKind.PUBLISHED,
                because="resultant of the load on the support",
            )  # fmt: skip


def without_limit(line: Line, *, anchors: bool = False) -> Iterable[Check]:
    """Nozzles that nobody gave allowed loads for: open, never passed.

    With ``anchors`` all other anchors too: where a line is changed, their loads change with it.
    """
    for one in line.supports:
        if isinstance(one, Anchor) and (one.nozzle or anchors) and one.allowed is None:
            what = "nozzle" if one.nozzle else "anchor"
            called = one.name if one.name.startswith(what) else f"{what} {one.name}"
            yield Check(
                id=f"load.{one.name}", name=f"Load on {called}", symbol="F",
                outcome=Outcome.NOT_EVALUATED, kind="force", source=MAKER,
                limit_kind=LimitKind.PUBLISHED,
                because=f"unknown: loads that {called} may take; give allowed",
            )  # fmt: skip


def springs(line: Line, cold: StateResult, hot: StateResult) -> Iterable[Check]:
    """Travel, reserve of travel and change of load of springs; lean of rods."""
    for one in line.supports:
        if isinstance(one, (VariableSpring, ConstantSpring)):
            for result in (cold, hot):
                rise = result.reaction(one.name).movement[2]
                room = one.travel_up if rise >= 0.0 else one.travel_down
                yield compare(
                    id=f"travel.{one.name}@{result.state}",
                    name=f"Travel of spring {one.name}, {result.state}", symbol="z",
                    demand=abs(rise), capacity=room, kind="movement", source=STOPS,
                    limit_kind=LimitKind.DERIVED,
                    because="up from the installed position" if rise >= 0.0
                    else "down from the installed position",
                )  # fmt: skip
        if isinstance(one, VariableSpring):
            yield _variability(one, cold, hot)
        if isinstance(one, ConstantSpring):
            yield _reserve(one, cold, hot)
        rod = one.length if isinstance(one, RodHanger) else getattr(one, "rod", 0.0)
        if rod > 0.0:
            for result in (cold, hot):
                yield _lean(one.name, rod, result)


def _variability(one: VariableSpring, cold: StateResult, hot: StateResult) -> Check:
    first, last = (-result.reaction(one.name).force[2] for result in (cold, hot))
    change = abs(last - first) / last if last > 0.0 else None
    return compare(
        id=f"variability.{one.name}",
        name=f"Change of load of spring {one.name}, cold to hot", symbol="",
        demand=change, capacity=VARIABILITY, kind="share", source=SPRINGS,
        limit_kind=LimitKind.PUBLISHED,
        missing=() if change is not None else ("load when hot: the spring carries none",),
        because="change of load over the hot load" if change is not None else "",
    )  # fmt: skip


def _reserve(one: ConstantSpring, cold: StateResult, hot: StateResult) -> Check:
    first, last = (result.reaction(one.name).movement[2] for result in (cold, hot))
    made = abs(last - first)
    return compare(
        id=f"reserve.{one.name}", name=f"Travel with reserve of constant spring {one.name}",
        symbol="z", demand=made + max(RESERVE * made, LEAST_RESERVE),
        capacity=one.travel_up + one.travel_down, kind="movement", source=CONSTANT,
        limit_kind=LimitKind.PUBLISHED,
        inputs=(Quantity(name="Travel, cold to hot", symbol="", value=made, kind="movement"),),
        because="travel from cold to hot with a reserve of 20 %, at least 25 mm (1 in)",
    )  # fmt: skip


def _lean(name: str, rod: float, result: StateResult) -> Check:
    east, north, _ = result.reaction(name).movement
    aside = math.hypot(east, north)
    return compare(
        id=f"lean.{name}@{result.state}", name=f"Lean of the rod of {name}, {result.state}",
        symbol="", demand=math.atan2(aside, rod), capacity=SWING, kind="angle", source=RODS,
        limit_kind=LimitKind.PUBLISHED,
        inputs=(
            Quantity(name="Movement aside", symbol="", value=aside, kind="movement"),
            Quantity(name="Length of the rod", symbol="", value=rod, kind="distance"),
        ),
        because="from upright as installed",
    )  # fmt: skip
