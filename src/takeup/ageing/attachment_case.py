"""An attachment on hot pipe as people give it, and its whole answer: one door for all edges."""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Annotated

import msgspec

from takeup.ageing.attachment import Examined, Judged, judge
from takeup.errors import MissingInput, Refused
from takeup.fields import number, words
from takeup.heat.attachment import (
    Film,
    HotRing,
    Leg,
    Transition,
    covered,
    start_run_stop,
)
from takeup.heat.attachment.solve import Answer, solve_ring, solve_transition
from takeup.progress import Progress, silent

HOUR = 3600.0


class AttachmentKind(StrEnum):
    """What sits on or between hot pipe."""

    RING = "ring on hot pipe"
    CORNERS = "cone or skirt with welded corners"
    FORMED = "formed transition without welds at the bends"


class Piece(msgspec.Struct, frozen=True, kw_only=True):
    """One straight piece of a cone, skirt or sleeve, from the hot end on."""

    name: Annotated[str, words("Piece")]
    length: Annotated[float, number("length", "Length along the wall", gt=0)]
    slope: Annotated[
        float, number("angle", "Slope to the axis", "Plus where it widens", ge=-1.4, le=1.4)
    ] = 0.0
    metal: Annotated[str, words("Metal", "Else that of the pipe", refers="alloy")] = ""
    inside_temperature: Annotated[float, number("temperature", "Temperature inside")]
    inside_film: Annotated[float, number("film", "Film inside", ge=0)]
    insulation: Annotated[float, number("length", "Insulation outside", ge=0)] = 0.0


class AttachmentCase(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A ring, cone, skirt or formed transition on hot pipe; SI."""

    name: Annotated[str, words("Name")] = ""
    kind: Annotated[AttachmentKind, words("Kind")]
    inside_diameter: Annotated[
        float, number("length", "Inside diameter of the pipe", "At the hot end", gt=0)
    ]
    wall: Annotated[float, number("thickness", "Wall of the pipe", gt=0)]
    pipe_metal: Annotated[str, words("Metal of the pipe", refers="alloy")]
    gas: Annotated[float, number("temperature", "Temperature of the medium")]
    gas_film: Annotated[
        float,
        number(
            "film",
            "Film from the medium to the pipe",
            "Flue gas at 15 to 30 m/s 50 to 100, dense catalyst 100 to 400 W/m²K",
            gt=0,
        ),
    ] = 100.0
    ambient: Annotated[float, number("temperature", "Ambient temperature")] = 298.15
    air_film: Annotated[
        float, number("film", "Film of bare faces to the air", "By convection alone", gt=0)
    ] = 8.0
    emissivity: Annotated[
        float, number("ratio", "Emissivity of bare faces", "0.6 to 0.85 when oxidised", ge=0, le=1)
    ] = 0.7
    insulation: Annotated[float, number("length", "Insulation on the pipe", ge=0)] = 0.0
    insulation_conductivity: Annotated[
        float,
        number("insulation_conductivity", "Conductivity of the insulation", "At its mean", gt=0),
    ] = 0.09
    ring_metal: Annotated[
        str, words("Metal of the ring", "Else that of the pipe", refers="alloy")
    ] = ""
    ring_outside_diameter: (
        Annotated[float, number("length", "Outside diameter of the ring", gt=0)] | None
    ) = None
    ring_width: (
        Annotated[float, number("length", "Width of the ring along the pipe", gt=0)] | None
    ) = None
    fillet: Annotated[float, number("length", "Leg of the fillets", gt=0)] | None = None
    ring_covered: Annotated[
        float,
        number("length", "Height of the ring under insulation", "From the pipe up", ge=0),
    ] = 0.0
    knuckle: Annotated[float, number("length", "Radius of the formed bends", gt=0)] | None = None
    pieces: Annotated[tuple[Piece, ...], words("Pieces")] = ()
    pressure: Annotated[float, number("pressure", "Pressure on stream", "Gauge; ring only")] = 0.0
    heat_up: Annotated[float, number("hours", "Heat-up", "From ambient to the medium", gt=0)] = (
        12.0 * HOUR
    )
    cool_down: Annotated[float, number("hours", "Cool-down", gt=0)] = 12.0 * HOUR
    examined: Annotated[Examined, words("Welds")] = Examined.SURFACE
    starts_so_far: Annotated[float, number("cycles", "Starts and stops so far", ge=0)] | None = None
    starts_to_come: (
        Annotated[float, number("cycles", "Starts and stops to the outage", ge=0)] | None
    ) = None


class AttachmentReport(msgspec.Struct, frozen=True, kw_only=True):
    """An attachment worked out and judged."""

    case: AttachmentCase
    task: HotRing | Transition
    answer: Answer
    judged: Judged
    headline: str


class Worked(msgspec.Struct, frozen=True, kw_only=True):
    """What is kept of a calculation: the rest is made from it again at once."""

    case: AttachmentCase
    answer: Answer


def task_of(case: AttachmentCase) -> HotRing | Transition:
    """The engine's task; raises :class:`MissingInput` with every size that is lacking."""
    bare = Film(coefficient=case.air_film, emissivity=case.emissivity)

    def outside(thickness: float) -> Film:
        if thickness == 0.0:
            return bare
        # what radiates under the jacket is small: the layer decides
        return covered(case.air_film + 5.0, thickness, case.insulation_conductivity)

    if case.kind == AttachmentKind.RING:
        sizes = {
            "outside diameter of the ring": case.ring_outside_diameter,
            "width of the ring": case.ring_width,
            "leg of the fillets": case.fillet,
        }
        missing = [name for name, value in sizes.items() if value is None]
        if missing:
            raise MissingInput(case.name or "the ring", missing)
        assert case.ring_outside_diameter is not None
        assert case.ring_width is not None
        assert case.fillet is not None
        return HotRing(
            inside_radius=case.inside_diameter / 2.0,
            wall=case.wall,
            ring_outside_radius=case.ring_outside_diameter / 2.0,
            ring_width=case.ring_width,
            leg=case.fillet,
            pipe_metal=case.pipe_metal,
            ring_metal=case.ring_metal or case.pipe_metal,
            gas=case.gas,
            inside=Film(coefficient=case.gas_film),
            ambient=case.ambient,
            outside=bare,
            pipe_outside=outside(case.insulation),
            cover=case.ring_covered,
            pressure=case.pressure,
        )
    if len(case.pieces) < 2:
        raise MissingInput(
            case.name or "the transition",
            ["two pieces or more, from the hot end on: pipe, cone, cuff"],
        )
    if case.kind == AttachmentKind.FORMED and case.knuckle is None:
        raise MissingInput(case.name or "the formed transition", ["radius of the formed bends"])
    return Transition(
        radius=(case.inside_diameter + case.wall) / 2.0,
        wall=case.wall,
        ambient=case.ambient,
        knuckle=case.knuckle or 0.0 if case.kind == AttachmentKind.FORMED else 0.0,
        legs=tuple(
            Leg(
                name=piece.name,
                length=piece.length,
                slope=piece.slope,
                metal=piece.metal or case.pipe_metal,
                inside_temperature=piece.inside_temperature,
                inside=Film(coefficient=piece.inside_film),
                outside=outside(piece.insulation),
            )
            for piece in case.pieces
        ),
    )


def evaluate(
    case: AttachmentCase, *, fineness: float = 1.0, progress: Progress = silent
) -> AttachmentReport:
    """Work out and judge an attachment through one start, run and stop.

    The run is held until nothing changes, so the state on stream is among those compared.
    Raises :class:`takeup.errors.Refused` or :class:`MissingInput` with what is wrong.
    """
    task = task_of(case)
    hottest = case.gas
    if isinstance(task, Transition):
        hottest = max(leg.inside_temperature for leg in task.legs)
    if hottest <= case.ambient:
        raise Refused(
            f"the medium ({hottest - 273.15:.0f} °C) is not hotter than ambient "
            f"({case.ambient - 273.15:.0f} °C): nothing grows against anything"
        )
    start = case.ambient if isinstance(task, HotRing) else task.installed
    day = start_run_stop(start, hottest, case.heat_up, 96.0 * HOUR, case.cool_down, 48.0 * HOUR)
    if isinstance(task, HotRing):
        answer = solve_ring(task, day, fineness=fineness, progress=progress)
    else:
        answer = solve_transition(task, day, fineness=fineness, progress=progress)
    judged = judge(
        task, answer, examined=case.examined, cycles_so_far=case.starts_so_far,
        cycles_to_come=case.starts_to_come,
    )  # fmt: skip
    return AttachmentReport(
        case=case, task=task, answer=answer, judged=judged, headline=headline(judged)
    )


def headline(judged: Judged) -> str:
    """What is said first of an attachment: the place that cracks first, and after how many."""
    worst = judged.governing
    span = worst.to_crack
    if not math.isfinite(span.low):
        return f"No crack is expected {worst.cut.name} from starts and stops alone."
    return judged.grounds[0].claim + "."
