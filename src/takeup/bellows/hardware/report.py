"""The door of the room: a hardware case in; checks, paths, what governs and what to measure out."""

from __future__ import annotations

import numpy as np

from takeup.bellows.hardware import loads as loading
from takeup.bellows.hardware import sharing
from takeup.bellows.hardware.model import (
    GIMBALS,
    HELD_BY_ANCHORS,
    PAIRS,
    RODDED,
    HardwareCase,
    HardwareCondition,
    HardwareType,
)
from takeup.bellows.hardware.path import ENGINEER, STORED, held, label, trace
from takeup.bellows.hardware.results import HardwareReport, LoadPath, governing
from takeup.checks import Check, Figure, Outcome
from takeup.errors import MissingInput
from takeup.sources import Source, Standing

AREA = Source(
    document="Bellows standards", at="thrust F = P Ae, Ae = pi Dm²/4", standing=Standing.CONFIRMED
)
STATICS = Source(document="Statics", at="equilibrium, derived here", standing=Standing.DERIVED)
TEST = (
    "A test pressure is held against the allowable stress at test temperature; codes allow more "
    "during a test."
)
NO_CONDITION = "conditions: name, pressure and metal temperature of the hardware"


def check_hardware(case: HardwareCase) -> HardwareReport:
    """Trace the load at every condition of the case and set every part against its allowable.

    Hardware that works only at its limit position is worked out there and away from it, unless
    the case says where it stands.  What is unknown leaves its checks not evaluated and is named
    in ``missing``.  Raises :class:`takeup.errors.Contradiction` and
    :class:`takeup.errors.OutOfRange` for input that cannot be true.
    """
    figures: list[Figure] = []
    checks: list[Check] = []
    found: list[LoadPath] = []
    sound: list[LoadPath] = []
    missing: list[str] = [] if case.conditions else [NO_CONDITION]
    for condition in case.conditions:
        for limit in _positions(case):
            try:
                path = trace(case, condition, at_limit=limit)
                drawn = trace(case, condition, (), at_limit=limit) if case.defects else path
            except MissingInput as reason:
                missing += reason.names
                checks.append(_open(case, condition, str(reason), limit=limit))
                continue
            # a slot found packed has no position away from the limit
            if any(path.condition == other.condition for other in found):
                continue
            found.append(path)
            sound.append(drawn)
            figures += _figures(case, condition, path)
            checks.append(held(path))
            checks += path.checks
            missing += path.missing
    if not case.conditions:
        checks.append(
            Check(
                id="path",
                name="Load path",
                outcome=Outcome.NOT_EVALUATED,
                source=STATICS,
                because=f"unknown: {NO_CONDITION}",
                cautions=(STORED, ENGINEER),
            )
        )
    part, check = _worst(found)
    notes = [note for path in found for note in path.notes]
    if any("test" in condition.name.lower() for condition in case.conditions):
        notes.append(TEST)
    return HardwareReport(
        name=case.name,
        type=case.type.value,
        figures=tuple(figures),
        checks=tuple(checks),
        paths=tuple(found),
        sound=tuple(sound),
        governing=check,
        governing_part=part,
        lost=tuple(words for path in found for words in path.lost),
        notes=tuple(dict.fromkeys(notes)),
        cautions=tuple(
            dict.fromkeys([c for path in found for c in path.cautions] or [STORED, ENGINEER])
        ),
        missing=tuple(dict.fromkeys(missing)),
    )


def _positions(case: HardwareCase) -> tuple[bool, ...]:
    if case.type not in HELD_BY_ANCHORS:
        return (True,)
    return (False, True) if case.at_limit is None else (case.at_limit,)


def _open(case: HardwareCase, condition: HardwareCondition, reason: str, *, limit: bool) -> Check:
    return Check(
        id=f"path@{label(case, condition, at_limit=limit)}",
        name="Something holds the thrust",
        symbol="F",
        outcome=Outcome.NOT_EVALUATED,
        kind="force",
        source=STATICS,
        because=reason,
        cautions=(STORED, ENGINEER),
    )


def _worst(paths: list[LoadPath]) -> tuple[str, Check | None]:
    best: Check | None = None
    name = ""
    for path in paths:
        top = governing(path)
        if top is None:
            continue
        part, check = top
        if best is None or (check.ratio or 0.0) > (best.ratio or 0.0):
            best, name = check, part.name
    return name, best


def _figure(
    id: str,
    name: str,
    symbol: str,
    value: float | None,
    kind: str,
    note: str = "",
    source: Source = STATICS,
) -> Figure:
    return Figure(id=id, name=name, symbol=symbol, value=value, kind=kind, source=source, note=note)


def _figures(case: HardwareCase, condition: HardwareCondition, path: LoadPath) -> list[Figure]:
    at = path.condition
    axial = next((t.tension for t in path.transfers if t.source == "end A"), path.thrust)
    found = [_figure(f"thrust@{at}", "Pressure thrust", "F", path.thrust, "force", source=AREA)]
    if (
        case.type in RODDED
        and case.rods is not None
        and (path.at_limit or case.type == HardwareType.TIE_RODS)
    ):
        count = case.rods.count
        seated = sharing.worst(sharing.places(count), np.ones(count, dtype=bool))
        found.append(
            _figure(
                f"rod_even@{at}",
                "Tension in one rod if all nuts bear",
                "F/nr",
                axial / count,
                "force",
                "as drawn, without defects",
            )
        )
        if seated is not None:
            found.append(
                _figure(
                    f"rod_worst@{at}",
                    "Tension in one rod at the worst seating",
                    "",
                    axial * float(seated.max()),
                    "force",
                    "as drawn; two opposite rods of an even number",
                )
            )
    elif case.type not in RODDED and case.type != HardwareType.PANTOGRAPH:
        holds = case.type != HardwareType.SLOTTED_HINGE or path.at_limit
        force = axial if holds else 0.0
        each = loading.pin_friction(case, force / 2.0)
        found.append(
            _figure(
                f"friction_moment@{at}",
                "Friction moment of one hinge or gimbal axis",
                "mu F d/2",
                None if each is None else 2.0 * each,
                "moment",
                "adds to the bending moment of the bellows; thrust alone",
            )
        )
        spring = None
        if condition.angular is not None and case.angular_rate is not None:
            spring = case.angular_rate * condition.angular
        found.append(
            _figure(
                f"spring_moment@{at}",
                "Spring moment of one bellows",
                "Kth theta",
                spring,
                "moment",
                "goes from pipe to pipe through the bellows",
            )
        )
        if case.type in PAIRS:
            moment, lacking = loading.turning_moment(
                case, condition, None if each is None else 2.0 * each
            )
            found.append(
                _figure(
                    f"pair_shear@{at}",
                    "Force that turns the pair",
                    "2 M / C",
                    None if lacking else loading.pair_shear(case, moment),
                    "force",
                    "goes into both legs of the line",
                )
            )
    elif case.type == HardwareType.PANTOGRAPH and not path.at_limit:
        force, lacks = loading.equalising_force(case, condition)
        found.append(
            _figure(
                f"equalising_force@{at}",
                "Force of the linkage on the spool",
                "G",
                None if lacks else force,
                "force",
                "difference of the spring forces of both bellows, and weight",
            )
        )
    if case.type in GIMBALS:
        found += _ring_figures(case, path)
    return found


def _ring_figures(case: HardwareCase, path: LoadPath) -> list[Figure]:
    """Closed forms beside the ring analysis: F R / 4 and 0.104 F R, or F a / 8."""
    ring = case.ring
    if ring is None:
        return []
    force = max((t.tension for t in path.transfers if t.source == "end A"), default=path.thrust)
    at = path.condition
    note = "thrust and weight only; the check adds loads across and friction"
    if ring.shape.value == "round" and ring.mean_radius is not None:
        r = ring.mean_radius
        return [
            _figure(
                f"ring_bending@{at}",
                "Ring bending moment at the pins",
                "F R / 4",
                force * r / 4.0,
                "moment",
                note,
            ),
            _figure(
                f"ring_torque@{at}",
                "Ring torque at 45° from the pins",
                "0.104 F R",
                force * r / 4.0 * (2.0**0.5 - 1.0),
                "moment",
                note,
            ),
        ]
    if ring.shape.value == "square" and ring.side is not None:
        return [
            _figure(
                f"ring_bending@{at}",
                "Ring bending moment at mid-side",
                "F a / 8",
                force * ring.side / 8.0,
                "moment",
                note,
            )
        ]
    return []
