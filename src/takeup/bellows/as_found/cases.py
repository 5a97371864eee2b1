"""From a design and what was found to cases that the engine can work out."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Any

import msgspec

from takeup.bellows import geometry, intake
from takeup.bellows.as_found.model import AsFound, Done, Face, LostPly, Thickness
from takeup.bellows.model import BellowsCase, Convolution, Movement
from takeup.errors import Contradiction, UnknownName

ALL_PLIES = (
    "Every ply is taken to be as thin as the thinnest reading, over the whole bellows: thinner "
    "than it can be, and never thicker."
)
CORNERS = (
    "Measured heights and pitches are put together at their extremes, and the whole bellows is "
    "taken to have each pair: S4 rises with height, S2 with pitch."
)


LEAN = (
    "Measured pitches lean the side walls by up to {degrees:.0f} degrees. Cp, Cf and Cd know rm and w "
    "only: finite elements find that 5 degrees may double the rate and raise S6 by a quarter "
    "(leaning out) or lower rate and column squirm by a fifth (leaning in). Judge such a bellows by "
    "its deviation of pitch, not by its squirm and life figures alone."
)
LEANING = math.radians(1.0)
"""Lean of the side walls from which the coefficients are no longer taken on trust."""


def lean_note(variants: Sequence[BellowsCase], case: BellowsCase) -> str:
    """What to say where measured pitches lean the side walls more than the design's, or nothing."""
    if case.convolution == Convolution.TOROIDAL:
        return ""
    own = abs(float(geometry.wall_angle(geometry_of(case))))
    most = max(abs(float(geometry.wall_angle(geometry_of(one)))) for one in variants)
    if not most > max(own, LEANING):
        return ""
    return LEAN.format(degrees=math.degrees(most))


def formed_ply(case: BellowsCase) -> float:
    """Ply thickness of the design after forming, tp [m]."""
    return float(geometry.thinned_ply(geometry_of(case)))


def geometry_of(case: BellowsCase) -> Any:
    """The geometry of one case as the formulas take it."""
    from takeup.bellows.setting import part

    return part(intake.geometry_of((case,)), 0)


def least_thickness(case: BellowsCase, found: AsFound) -> float | None:
    """What is left of the thinnest ply [m], or ``None`` where nothing was measured.

    Raises :class:`takeup.errors.Contradiction` for a reading thicker than a ply can be.
    """
    readings = of_standing_plies(found)
    for reading in readings:
        if reading.thickness > 1.05 * case.ply_thickness:
            raise Contradiction(
                f"thickness reading {reading.thickness * 1e3:.2f} mm"
                f"{f' at {reading.place}' if reading.place else ''} is more than a ply before "
                f"forming ({case.ply_thickness * 1e3:.2f} mm): more than one ply, or deposit, was "
                "measured; give the thickness of one ply"
            )
    left = [reading.thickness for reading in readings]
    if found.loss_per_ply is not None:
        formed = formed_ply(case)
        if found.loss_per_ply >= formed:
            raise Contradiction(
                f"loss per ply {found.loss_per_ply * 1e3:.2f} mm is all of the "
                f"{formed * 1e3:.2f} mm that a ply has after forming; give the ply as lost"
            )
        left.append(formed - found.loss_per_ply)
    return min(left, default=None)


def of_standing_plies(found: AsFound) -> tuple[Thickness, ...]:
    """The thickness readings, without those taken on the ply that is lost."""
    gone = {LostPly.INNER: Face.INSIDE, LostPly.OUTER: Face.OUTSIDE}.get(found.lost_ply)
    return tuple(one for one in found.thicknesses if gone is None or one.face != gone)


def with_done(case: BellowsCase, done: tuple[Done, ...]) -> BellowsCase:
    """The case with the cycles so far that were found; more than planned raises the count."""
    so_far = {one.name: one.cycles for one in done}
    names = [move.name for move in case.movements]
    for name in so_far:
        if name not in names:
            raise UnknownName("movement", name, names)
    moves = tuple(
        move
        if move.name not in so_far
        else msgspec.structs.replace(
            move, done=so_far[move.name], cycles=max(move.cycles, so_far[move.name])
        )
        for move in case.movements
    )
    return msgspec.structs.replace(case, movements=moves)


def done_known(case: BellowsCase, found: AsFound) -> bool:
    """Whether anybody said how many cycles were done; a row of zeros says nothing."""
    return bool(found.done) or any(move.done > 0.0 for move in case.movements)


def counted(case: BellowsCase, which: str) -> BellowsCase:
    """The case counting only the cycles ``done``, or those ``left``."""

    def count(move: Movement) -> float:
        return move.done if which == "done" else max(move.cycles - move.done, 0.0)

    moves = tuple(
        msgspec.structs.replace(move, cycles=count(move), done=0.0) for move in case.movements
    )
    return msgspec.structs.replace(case, movements=moves)


def as_found(case: BellowsCase, found: AsFound) -> tuple[tuple[str, BellowsCase], ...]:
    """Named cases that between them hold what was found; one where no shape was measured.

    A lost ply is not in them: see :mod:`takeup.bellows.as_found.loss`.
    """
    changes: dict[str, Any] = {}
    least = least_thickness(case, found)
    if least is not None:
        changes["thinnest_ply"] = min(least, case.thinnest_ply or least)
    if found.inside_diameter is not None:
        changes["inside_diameter"] = found.inside_diameter
    for name in ("offset_axial", "offset_lateral", "offset_angular"):
        value = getattr(found, name)
        if value is not None:
            changes[name] = value
    if found.metal_temperature is not None:
        changes["conditions"] = tuple(
            msgspec.structs.replace(
                condition,
                temperature=found.metal_temperature,
                # What was given holds at the temperature it was given for.
                allowable_stress=None,
                modulus=None,
            )
            if condition.name.lower() == "operating"
            else condition
            for condition in case.conditions
        )
    if (
        found.convolutions
        and case.torus_radius is None
        and case.convolution != (Convolution.TOROIDAL)
    ):
        # Bending convolutions apart or together leans their walls; crests keep their radius.
        changes["torus_radius"] = case.pitch / 4.0
    base = msgspec.structs.replace(case, **changes) if changes else case
    shapes = _shapes(case, found)
    if not shapes:
        return (("as found", base),)
    return tuple(
        (f"as found, {words}", msgspec.structs.replace(base, **sizes)) for words, sizes in shapes
    )


def _shapes(case: BellowsCase, found: AsFound) -> list[tuple[str, dict[str, float]]]:
    heights = [one.height for one in found.convolutions if one.height is not None]
    pitches = [one.pitch for one in found.convolutions if one.pitch is not None]
    spans: list[list[tuple[str, str, float]]] = []
    if heights and case.convolution != Convolution.TOROIDAL:
        spans.append(_ends("height", "highest", "lowest", heights))
    if pitches:
        spans.append(_ends("pitch", "widest", "narrowest", pitches))
    if not spans:
        return []
    return [
        (" and ".join(word for word, _, _ in pick), {name: value for _, name, value in pick})
        for pick in itertools.product(*spans)
    ]


def _ends(name: str, most: str, least: str, values: list[float]) -> list[tuple[str, str, float]]:
    if max(values) == min(values):
        return [(f"{name} as measured", name, values[0])]
    return [(most, name, max(values)), (least, name, min(values))]
