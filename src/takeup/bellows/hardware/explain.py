"""A load path told in plain words, the worst news first."""

from __future__ import annotations

from itertools import groupby

from takeup.bellows.hardware.results import (
    Holder,
    LoadPath,
    Part,
    PartKind,
    PartState,
    governing,
)
from takeup.checks import Outcome
from takeup.units import System, shown

_WORKING = frozenset({PartState.CARRIES, PartState.WEAKENED})
_NAMED = frozenset(
    {PartKind.LUG, PartKind.ROD, PartKind.PLATE, PartKind.PIN, PartKind.RING, PartKind.LINK,
     PartKind.SPOOL}
)  # fmt: skip


def explain(path: LoadPath, system: System = System.METRIC) -> tuple[str, ...]:
    """Sentences for people: what is lost, the way of the load, what governs, what is unknown."""
    found = list(path.lost)
    thrust = shown(path.thrust, "force", system)
    if path.holder == Holder.HARDWARE:
        found.append(f"Thrust {thrust} at {path.condition} goes: {_way(path, system)}.")
    elif path.holder == Holder.ANCHORS:
        found.append(
            f"Thrust {thrust} at {path.condition} goes from both pipe ends to the main anchors; "
            f"the hardware ({path.type.value}) does not hold it here."
        )
        way = _way(path, system)
        if way:
            found.append(f"The hardware carries what is left: {way}.")
    found += [effect.removes for effect in path.effects]
    found += _idle(path)
    top = governing(path)
    if top is not None:
        part, check = top
        use = check.ratio or 0.0
        found.append(
            f"{part.name} governs: {check.name.lower()}, "
            f"{shown(check.demand, check.kind, system)} of {shown(check.capacity, check.kind, system)}"
            f" allowed, {use:.0%} of its capacity"
            + (": NOT MET." if check.outcome == Outcome.NOT_MET else ".")
        )
    elif path.holds and path.missing:
        found.append("No part could be checked: see what to measure.")
    over = [
        check.name
        for check in path.checks
        if check.outcome == Outcome.NOT_MET and (top is None or check.id != top[1].id)
    ]
    if over:
        found.append(f"Also not met: {'; '.join(over)}.")
    if path.missing:
        found.append(f"Not known, so not counted or not checked: {'; '.join(path.missing)}.")
    found += path.cautions
    return tuple(found)


def _way(path: LoadPath, system: System) -> str:
    """Groups of equal parts from end A to end B with the load of the most loaded."""
    steps = []
    parts = [part for part in path.parts if part.state in _WORKING and part.kind in _NAMED]
    for _, same in groupby(parts, key=lambda part: (part.column, part.group)):
        members = [part for part in same if _largest(part) or part.kind == PartKind.SPOOL]
        if not members:
            continue
        names = " and ".join(_short(members))
        most = max((_largest(part) or (0.0, "") for part in members), default=(0.0, ""))
        load = f" ({most[1]} {shown(most[0], 'force', system)}{' each' * (len(members) > 1)})"
        steps.append(names + (load if most[1] else ""))
    return " → ".join(steps)


def _short(members: list[Part]) -> list[str]:
    names = [part.name[0].lower() + part.name[1:] for part in members]
    return names if len(names) < 4 else [f"{names[0]} to {names[-1]}"]


def _largest(part: Part) -> tuple[float, str] | None:
    """The first force among the loads of a part and its kind in words."""
    for load in part.loads:
        if load.kind == "force" and load.value:
            return load.value, load.name
    return (1e-12, "") if part.kind == PartKind.RING and part.loads else None


def _idle(path: LoadPath) -> list[str]:
    """Parts that carry nothing, by reason."""
    reasons: dict[str, list[str]] = {}
    told = {effect.part for effect in path.effects}
    for part in path.parts:
        if part.state not in _WORKING and part.why and part.id not in told:
            reasons.setdefault(part.why, []).append(part.name)
    return [f"{', '.join(names)}: {why}." for why, names in reasons.items()]
