"""The discrete space of a task: axes, rows by index, and what its envelope excludes.

Rows are never made as objects: a run of row numbers becomes arrays, a few ten thousand at a
time.
"""

from __future__ import annotations

from collections.abc import Sequence

import msgspec
import numpy as np
from numpy.typing import NDArray

from takeup.bellows import arrays, geometry
from takeup.bellows.model import Assembly, Bellows, BellowsCase, Convolution
from takeup.bellows.sizing.gauges import gauges
from takeup.bellows.sizing.model import Rings, SizingTask, Steps
from takeup.errors import Contradiction, TakeupError
from takeup.units import Array, Real

DOUBLE = frozenset({Assembly.UNIVERSAL, Assembly.PAIR, Assembly.PANTOGRAPH})
LEAST_STEP_FROM = 0.010
"""Where default ranges of height and pitch start [m]."""
MOST_PITCH = 0.100
DEFAULT_STEP = 0.001
MOST_STEPS = 10_000
MOST_ROWS = 200_000_000
"""Rows of the largest space that is searched: minutes on one core."""

REASONS = {
    "outside_diameter": "outside diameter beyond the envelope",
    "live_length": "live length beyond the envelope",
    "length_over_both": "two bellows and the spool longer than the length over both",
    "height": "convolution height below 2 rm: crest and root meet",
    "inside_radius": "no inside radius left in crest and root",
    "pitch": "pitch not above 2 rm + n t: neighbouring convolutions overlap",
    "ring": "ring bar does not fit into the root",
    "shortened": "movement compresses the bellows beyond its length",
}
"""Reasons for which a row is not worked out, in the order in which they are counted."""


class Axes(msgspec.Struct, frozen=True):
    """Values along each axis of one part of the space; the last runs fastest."""

    convolution: Convolution
    radius_shares: Array
    ring_bars: Array
    thicknesses: Array
    plies: Array
    heights: Array
    pitches: Array
    convolutions: Array

    @property
    def shape(self) -> tuple[int, ...]:
        """Number of values along each axis."""
        return tuple(len(axis) for axis in self._all())

    @property
    def size(self) -> int:
        """Number of rows."""
        return int(np.prod(self.shape, dtype=np.int64))

    def _all(self) -> tuple[Array, ...]:
        return (
            self.radius_shares,
            self.ring_bars,
            self.thicknesses,
            self.plies,
            self.heights,
            self.pitches,
            self.convolutions,
        )

    def at(self, rows: NDArray[np.int64]) -> tuple[Array, ...]:
        """Values of each axis at ``rows``."""
        places = np.unravel_index(rows, self.shape)
        return tuple(axis[place] for axis, place in zip(self._all(), places, strict=True))


class Rows(msgspec.Struct, frozen=True):
    """Rows of one part as arrays of equal length."""

    number: NDArray[np.int64]
    """Row number within the part."""
    bellows: Bellows
    ring_bar: Array


def axes(task: SizingTask) -> tuple[Axes, ...]:
    """The parts of the space: without rings, with rings, as the task allows.

    Raises :class:`takeup.errors.Contradiction` for a task that leaves no space.
    """
    _refuse(task)
    heights = stepped(task.heights or _heights(task))
    pitches = stepped(task.pitches or _pitches(float(heights[-1])))
    most = task.convolutions_most
    parts = []
    for kind, bars in _kinds(task):
        parts.append(
            Axes(
                convolution=kind,
                radius_shares=np.array(sorted(set(task.radius_shares))),
                ring_bars=np.array(bars),
                thicknesses=np.array(thicknesses(task)),
                plies=np.array(_plies(task), dtype=float),
                heights=heights,
                pitches=pitches,
                convolutions=np.arange(task.convolutions_least, most + 1, dtype=float),
            )
        )
    total = sum(part.size for part in parts) * len(task.alloys)
    if total > MOST_ROWS:
        raise Contradiction(
            f"the space holds {total:,} combinations, more than the {MOST_ROWS:,} that are "
            "searched at once; widen the steps of height and pitch or narrow their ranges"
        )
    return tuple(parts)


def stepped(steps: Steps) -> Array:
    """Values of ``steps`` [m], both ends included where the step meets them."""
    count = int(np.floor((steps.most - steps.least) / steps.step + 1e-9)) + 1
    if count > MOST_STEPS:
        raise Contradiction(
            f"from {steps.least:g} to {steps.most:g} m by {steps.step:g} m are {count:,} steps; "
            f"at most {MOST_STEPS:,} make sense, widen the step"
        )
    values: Array = np.round(steps.least + steps.step * np.arange(count), 9)
    return values


def thicknesses(task: SizingTask) -> Sequence[float]:
    """Ply thicknesses [m] of the task, thinnest first."""
    if task.thicknesses:
        return sorted(set(task.thicknesses))
    slack = 1e-9
    return [
        gauge.thickness
        for gauge in gauges(task.sheet)
        if task.thickness_least - slack <= gauge.thickness <= task.thickness_most + slack
    ]


def _plies(task: SizingTask) -> list[int]:
    both = list(range(task.plies_least, task.plies_most + 1))
    return [count for count in both if count == 2] if task.testable else both


def _kinds(task: SizingTask) -> list[tuple[Convolution, Sequence[float]]]:
    found: list[tuple[Convolution, Sequence[float]]] = []
    if task.rings != Rings.ONLY:
        found.append((Convolution.U_PLAIN, (0.0,)))
    if task.rings != Rings.NONE:
        found.append((Convolution.U_REINFORCED, sorted(set(task.ring_bars))))
    return found


def _heights(task: SizingTask) -> Steps:
    most = task.inside_diameter / 3.0
    if task.outside_diameter is not None:
        thinnest = min(thicknesses(task)) * _plies(task)[0]
        room = (task.outside_diameter - task.inside_diameter) / 2.0 - thinnest
        most = min(most, room)
    if most < LEAST_STEP_FROM:
        raise Contradiction(
            f"inside diameter {task.inside_diameter * 1e3:g} mm and outside diameter leave "
            f"{most * 1e3:.1f} mm for the convolution height; give heights yourself if less than "
            f"{LEAST_STEP_FROM * 1e3:g} mm is meant"
        )
    return Steps(least=LEAST_STEP_FROM, most=most, step=DEFAULT_STEP)


def _pitches(height: float) -> Steps:
    most = max(LEAST_STEP_FROM, min(2.0 * height, MOST_PITCH))
    return Steps(least=LEAST_STEP_FROM, most=most, step=DEFAULT_STEP)


def _refuse(task: SizingTask) -> None:
    """Raise for a task that cannot be meant."""
    if not task.alloys:
        raise Contradiction("no alloy is allowed: name at least one in alloys")
    if len(set(task.alloys)) < len(task.alloys):
        raise Contradiction("an alloy is named twice in alloys")
    if not task.conditions or not task.movements:
        raise Contradiction("sizing needs conditions and movements with their cycles")
    for move in task.movements:
        if not move.cycles > 0.0:
            raise Contradiction(
                f"movement {move.name!r} has no cycles: a life cannot be sized without a count"
            )
    if not _plies(task):
        raise Contradiction(
            f"plies from {task.plies_least} to {task.plies_most}"
            f"{' and two plies for the test port' if task.testable else ''} leave no number"
        )
    if task.each_ply_alone and _plies(task) != [2]:
        raise Contradiction("each_ply_alone asks for two plies: set plies from 2 to 2, or testable")
    if not thicknesses(task):
        raise Contradiction(
            f"no sheet of the {task.sheet.value} series lies between "
            f"{task.thickness_least * 1e3:g} and {task.thickness_most * 1e3:g} mm"
        )
    if task.convolutions_most < task.convolutions_least:
        raise Contradiction("most convolutions is less than least convolutions")
    if task.rings != Rings.NONE and not task.ring_bars:
        raise Contradiction("rings are allowed but ring_bars names no diameter")
    for what, steps in (("heights", task.heights), ("pitches", task.pitches)):
        if steps is not None and steps.most < steps.least:
            raise Contradiction(f"{what} run from {steps.least:g} down to {steps.most:g} m")
    outside = task.outside_diameter
    if outside is not None and outside <= task.inside_diameter:
        raise Contradiction(
            f"outside diameter {outside * 1e3:g} mm is not more than inside diameter "
            f"{task.inside_diameter * 1e3:g} mm"
        )
    if task.assembly in DOUBLE and task.length_over_both is None:
        raise Contradiction(f"a {task.assembly.value} needs the length over both bellows")
    known = {Assembly.SINGLE, Assembly.TIED, Assembly.HINGED, Assembly.GIMBAL} | DOUBLE
    if task.assembly not in known:
        raise TakeupError(
            f"sizing does not search a {task.assembly.value}: flow and balancing bellows are "
            "sized one by one, as single bellows with their own movements"
        )


def rows(task: SizingTask, part: Axes, start: int, stop: int) -> Rows:
    """Rows ``start`` to ``stop`` of ``part`` as arrays."""
    number = np.arange(start, stop, dtype=np.int64)
    share, bar, thickness, plies, height, pitch, convolutions = part.at(number)
    return Rows(
        number=number,
        bellows=Bellows(
            inside_diameter=task.inside_diameter,
            height=height,
            pitch=pitch,
            convolutions=convolutions,
            plies=plies,
            ply_thickness=thickness,
            torus_radius=share * pitch,
            tangent_length=task.tangent_length,
            collar_length=task.collar_length,
            collar_thickness=task.collar_thickness,
            ring_area=ring_area(bar) if part.convolution == Convolution.U_REINFORCED else 0.0,
        ),
        ring_bar=bar,
    )


def ring_area(bar: Real) -> Real:
    """Section of a round bar of diameter ``bar`` [m2]."""
    return np.pi / 4.0 * bar * bar


def outside_diameter(b: Bellows, bar: Real) -> Array:
    """Over crests, or over ring bars in the roots where they stand further out [m]."""
    wall = b.plies * b.ply_thickness
    inner = b.inside_diameter + 2.0 * wall
    return np.asarray(inner + 2.0 * np.maximum(b.height, bar))


def excluded(task: SizingTask, found: Rows) -> dict[str, NDArray[np.bool_]]:
    """Which rows each reason excludes, in the order of :data:`REASONS`."""
    b, bar = found.bellows, found.ring_bar
    wall = b.plies * b.ply_thickness
    length = np.asarray(geometry.convoluted_length(b))
    radius = np.asarray(b.torus_radius)
    none = np.zeros(len(found.number), dtype=bool)
    slack = 1e-9
    outside, live, both = task.outside_diameter, task.live_length, task.length_over_both
    shortest = min((move.axial for move in task.movements), default=0.0)
    return {
        "outside_diameter": none if outside is None else outside_diameter(b, bar) > outside + slack,
        "live_length": none if live is None else length > live + slack,
        "length_over_both": none
        if both is None or task.assembly not in DOUBLE
        else 2.0 * length + max(task.spool_least, 2.0 * task.tangent_length) > both,
        "height": np.asarray(2.0 * radius > b.height),
        "inside_radius": np.asarray(radius <= wall / 2.0),
        "pitch": np.asarray(b.pitch <= 2.0 * radius + wall),
        "ring": np.asarray(bar > 2.0 * radius - wall),
        "shortened": none if task.assembly in DOUBLE else length + shortest <= 0.0,
    }


def keep(found: Rows, stay: NDArray[np.bool_] | slice) -> Rows:
    """The rows that ``stay``."""
    return Rows(
        number=found.number[stay],
        bellows=arrays.part(found.bellows, stay),
        ring_bar=found.ring_bar[stay],
    )


def between(found: Rows, start: int, stop: int) -> Rows:
    """Rows ``start`` to ``stop`` of what was found."""
    return keep(found, slice(start, stop))


def join(found: Sequence[Rows]) -> Rows:
    """Several runs of rows as one, in their order."""
    some = [rows for rows in found if len(rows.number)]
    if len(some) <= 1:
        return some[0] if some else found[0]
    first = msgspec.structs.asdict(some[0].bellows)
    return Rows(
        number=np.concatenate([rows.number for rows in some]),
        bellows=Bellows(
            **{
                name: value
                if value is None or np.ndim(value) == 0
                else np.concatenate([getattr(rows.bellows, name) for rows in some])
                for name, value in first.items()
            }
        ),
        ring_bar=np.concatenate([rows.ring_bar for rows in some]),
    )


def surviving(b: Bellows) -> tuple[Bellows, Bellows]:
    """The bellows with its inner, and with its outer ply lost; see :mod:`takeup.bellows.plies`."""
    replace = msgspec.structs.replace
    return (
        replace(b, inside_diameter=b.inside_diameter + 2.0 * b.ply_thickness, plies=b.plies - 1.0),
        replace(b, plies=b.plies - 1.0),
    )


def case(
    task: SizingTask, convolution: Convolution, alloy: str, values: Sequence[float], number: int
) -> BellowsCase:
    """One row as a case of the engine; ``values`` as :meth:`Axes.at` gives them."""
    share, bar, thickness, plies, height, pitch, convolutions = values
    reinforced = convolution == Convolution.U_REINFORCED
    return BellowsCase(
        name=f"{task.name} {number}".strip(),
        basis=task.basis,
        convolution=convolution,
        inside_diameter=task.inside_diameter,
        height=height,
        pitch=pitch,
        convolutions=int(convolutions),
        plies=int(plies),
        ply_thickness=thickness,
        torus_radius=share * pitch,
        tangent_length=task.tangent_length,
        collar_length=task.collar_length,
        collar_thickness=task.collar_thickness,
        collar_material=task.collar_material,
        ring_area=float(ring_area(bar)) if reinforced else None,
        ring_material=(task.ring_material or alloy) if reinforced else "",
        material=alloy,
        treatment=task.treatment,
        forming_factor=task.forming_factor,
        weld_factor=task.weld_factor,
        assembly=task.assembly,
        pressurised=task.pressurised,
        length_over_both=task.length_over_both,
        spool_held=task.spool_held,
        ends=task.ends,
        offset_axial=task.offset_axial,
        offset_lateral=task.offset_lateral,
        offset_angular=task.offset_angular,
        kg=task.kg,
        ctheta=task.ctheta,
        kr=task.kr,
        material_factor=task.material_factor,
        fatigue_curve=task.fatigue_curve,
        conditions=task.conditions,
        movements=tuple(msgspec.structs.replace(move, done=0.0) for move in task.movements),
    )
