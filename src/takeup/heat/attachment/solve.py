"""Rings and transitions worked out: temperatures, stress at rest and through a start and stop."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import msgspec
import numpy as np

from takeup.heat.attachment import closed
from takeup.heat.attachment.fe import Bath, Body, Field
from takeup.heat.attachment.mesh import Cut, Meshed
from takeup.heat.attachment.mesh import ring as ring_mesh
from takeup.heat.attachment.mesh import transition as transition_mesh
from takeup.heat.attachment.metals import Metal, metal, refuse_above
from takeup.heat.attachment.model import (
    AXISYMMETRIC,
    FILM,
    Day,
    Film,
    HotRing,
    Transition,
)
from takeup.progress import Progress, silent
from takeup.sources import Source
from takeup.units import Array

STEPS = 16
"""Steps of time in each straight part of a day, closer at its start"""


class AtCut(msgspec.Struct, frozen=True, kw_only=True):
    """Stress on one cut [Pa], + tension; temperatures [K]."""

    name: str
    along: float
    weld: bool
    inside_temperature: float
    outside_temperature: float
    membrane: float
    """Along the wall, on stream at rest"""
    bending: float
    """Along the wall, linear part at the outside, on stream at rest"""
    hoop: float
    inside: float
    """Linearised stress along the wall at the inside surface, on stream at rest"""
    outside: float
    range_inside: float
    """Largest equivalent range at the inside surface through the day"""
    range_outside: float
    from_time: float
    """When the two ends of the larger range are reached [s]"""
    to_time: float

    @property
    def range(self) -> float:
        """The larger of the ranges of both surfaces [Pa]."""
        return max(self.range_inside, self.range_outside)


class Through(msgspec.Struct, frozen=True, kw_only=True):
    """A day, step by step."""

    times: Array
    gas: Array
    shown: dict[str, Array]
    """Temperatures at named places [K]"""
    inside: dict[str, Array]
    """Linearised stress along the wall at the inside of each cut [Pa]"""
    outside: dict[str, Array]
    imbalance: float
    """Heat put in less heat stored, over heat put in [-]; the time steps are second order"""


class RingFigures(msgspec.Struct, frozen=True, kw_only=True):
    """What is particular to a ring, on stream at rest."""

    pipe: float
    """Temperature of the pipe wall far from the ring [K]"""
    bore: float
    mean: float
    """Area mean of the ring: its free growth goes with it [K]"""
    rim: float
    closed: closed.Restrained
    """Thin-shell cross-check from the same temperatures"""
    closed_toe: float
    """Size of its bending stress at the weld toe [Pa]"""


class Answer(msgspec.Struct, frozen=True, kw_only=True):
    """An attachment worked out."""

    meshed: Meshed
    field: Field
    stress: Array
    """Von Mises of each triangle, for drawing [Pa]; judging is by the cuts"""
    cuts: tuple[AtCut, ...]
    day: Through | None
    ring: RingFigures | None
    metals: tuple[str, ...]
    cautions: tuple[str, ...]
    sources: tuple[Source, ...]

    @property
    def worst(self) -> AtCut:
        """The cut with the largest range; a weld before a place without one when equal."""
        return max(self.cuts, key=lambda one: (one.range, one.weld))


Baths = Mapping[str, Bath]


def solve_ring(
    task: HotRing, day: Day | None = None, *, fineness: float = 1.0, progress: Progress = silent
) -> Answer:  # fmt: skip
    """A ring on hot pipe: steady state, and ``day`` where one is given.

    Raises :class:`takeup.errors.Refused` where a metal's tables end below its temperature.
    """
    meshed = ring_mesh(task, fineness)
    metals = (metal(task.pipe_metal), metal(task.ring_metal))
    body = Body(meshed, metals)

    def baths(gas: float, factor: float = 1.0) -> Baths:
        return {
            "inside": _bath(task.inside, gas, factor),
            "pipe outside": _bath(task.pipe_outside, task.ambient),
            "ring": _bath(task.outside, task.ambient),
        }

    work = _Work(
        body=body, baths=baths, hot=task.gas, cold=task.ambient, installed=task.installed,
        pressure=task.pressure, inside=("inside",), ends_turn=False, progress=progress,
    )  # fmt: skip
    field = body.steady(baths(task.gas))
    refuse_above(metals, _hottest(body, field.temperature))
    cautions = [
        "The ring is taken to bear on the pipe under its whole width, welded by both fillets.",
        "Elastic stress: beyond twice yield it measures strain, it is not a stress in the metal.",
    ]
    return _answer(work, field, day, _ring_figures(task, body, field, metals), metals, cautions)


def solve_transition(
    task: Transition, day: Day | None = None, *, fineness: float = 1.0, progress: Progress = silent
) -> Answer:  # fmt: skip
    """A cone, skirt or sleeve with a steep axial gradient, with welded corners or formed bends."""
    meshed = transition_mesh(task, fineness)
    metals = tuple(metal(leg.metal) for leg in task.legs)
    body = Body(meshed, metals)
    hottest = max(leg.inside_temperature for leg in task.legs)

    def baths(gas: float, factor: float = 1.0) -> Baths:
        share = (gas - task.installed) / max(hottest - task.installed, 1e-9)
        found: dict[str, Bath] = {}
        for k, leg in enumerate(task.legs):
            inner = task.installed + share * (leg.inside_temperature - task.installed)
            found[f"inside {k} {leg.name}"] = _bath(leg.inside, inner, factor)
            found[f"outside {k} {leg.name}"] = _bath(leg.outside, task.ambient)
        return found

    work = _Work(
        body=body, baths=baths, hot=hottest, cold=task.installed, installed=task.installed,
        pressure=0.0, inside=(), ends_turn=task.ends_turn, progress=progress,
    )  # fmt: skip
    field = body.steady(baths(hottest))
    refuse_above(metals, _hottest(body, field.temperature))
    cautions = [
        "Heat only: pressure and the forces of the joint come on top.",
        "Elastic stress: beyond twice yield it measures strain, it is not a stress in the metal.",
    ]
    if not task.ends_turn:
        cautions.append("Both ends stay plane, as where pipe goes on beyond them.")
    return _answer(work, field, day, None, metals, cautions)


def formed(task: Transition, knuckle: float) -> Transition:
    """The same transition with bends of radius ``knuckle`` [m] in place of welded corners."""
    return msgspec.structs.replace(task, knuckle=knuckle)


class _Work(msgspec.Struct, frozen=True, kw_only=True):
    body: Body
    baths: Callable[..., Baths]
    hot: float
    cold: float
    installed: float
    pressure: float
    inside: tuple[str, ...]
    ends_turn: bool
    progress: Progress

    def displaced(self, nodal: Array, load: float) -> Array:
        return self.body.displaced(
            nodal, self.installed, pressure=self.pressure * load, inside=self.inside,
            ends_turn=self.ends_turn,
        )  # fmt: skip


def _bath(film: Film, temperature: float, factor: float = 1.0) -> Bath:
    return Bath(
        temperature=temperature, coefficient=film.coefficient * factor, emissivity=film.emissivity
    )


def _hottest(body: Body, nodal: Array) -> list[float]:
    here = np.asarray(body.scalar.interpolate(nodal))
    return [
        float(here[body.meshed.part == k].max()) if (body.meshed.part == k).any() else 0.0
        for k in range(len(body.metals))
    ]


def _answer(
    work: _Work, field: Field, day: Day | None, ring: RingFigures | None,
    metals: Sequence[Metal], cautions: list[str],
) -> Answer:  # fmt: skip
    body, cuts = work.body, work.body.meshed.cuts
    hot = work.displaced(field.temperature, 1.0)
    at_rest = [_surfaces(body, cut, hot, field.temperature, work.installed) for cut in cuts]
    # cold and unstressed, then on stream: the day's states come between
    states = [np.zeros((len(cuts), 4)), np.array(at_rest)]
    times = [0.0, np.inf]
    through = None
    if day is not None:
        through, more, when = _day(work, day)
        states += more
        times += when
    found = []
    moments = np.array(times)
    for k, cut in enumerate(cuts):
        history = np.array([state[k] for state in states])
        ranges = {}
        for side, sign in (("inside", -1.0), ("outside", 1.0)):
            along = history[:, 0] + sign * history[:, 1]
            around = history[:, 2] + sign * history[:, 3]
            ranges[side] = _range(along, around)
        low = max(ranges, key=lambda side: ranges[side][0])
        _, first, last = ranges[low]
        at = np.array([cut.start, cut.end])
        found.append(
            AtCut(
                name=cut.name,
                along=cut.along,
                weld=cut.weld,
                inside_temperature=_near(body, field.temperature, at[0]),
                outside_temperature=_near(body, field.temperature, at[1]),
                membrane=float(at_rest[k][0]),
                bending=float(at_rest[k][1]),
                hoop=float(at_rest[k][2]),
                inside=float(at_rest[k][0] - at_rest[k][1]),
                outside=float(at_rest[k][0] + at_rest[k][1]),
                range_inside=ranges["inside"][0],
                range_outside=ranges["outside"][0],
                from_time=float(moments[first]),
                to_time=float(moments[last]),
            )
        )
    notes = dict.fromkeys(note for one in metals for note in one.notes)
    sources = dict.fromkeys(source for one in metals for source in one.sources)
    return Answer(
        meshed=body.meshed,
        field=field,
        stress=body.von_mises(hot, field.temperature, work.installed),
        cuts=tuple(found),
        day=through,
        ring=ring,
        metals=tuple(one.name for one in metals),
        cautions=(*cautions, *notes),
        sources=(AXISYMMETRIC, FILM, *sources),
    )


def _surfaces(body: Body, cut: Cut, u: Array, nodal: Array, installed: float) -> Array:
    one = body.cut(cut, u, nodal, installed)
    return np.array(
        [float(one.membrane), float(one.bending), float(one.hoop), float(one.hoop_bending)]
    )


def _range(along: Array, around: Array) -> tuple[float, int, int]:
    """Largest von Mises range between any two states, and which they are."""
    a, b = along[:, None] - along, around[:, None] - around
    size = np.sqrt(np.maximum(a * a - a * b + b * b, 0.0))
    first, last = np.unravel_index(int(np.argmax(size)), size.shape)
    return float(size[first, last]), int(min(first, last)), int(max(first, last))


def _near(body: Body, nodal: Array, point: Array) -> float:
    off = body.scalar.doflocs - point[:, None]
    return float(nodal[int(np.argmin(off[0] ** 2 + off[1] ** 2))])


def moments(day: Day) -> Array:
    """Times of the steps: in each straight part closer at its start."""
    parts = [np.zeros(1)]
    for a, b in zip(day.times, day.times[1:], strict=False):
        share = np.linspace(0.0, 1.0, STEPS + 1)[1:]
        parts.append(a + (b - a) * share**1.5)
    return np.concatenate(parts)


def _day(work: _Work, day: Day) -> tuple[Through, list[Array], list[float]]:
    body, times = work.body, moments(day)
    gas = np.interp(times, day.times, day.gas)
    factor = np.interp(times, day.times, day.film) if day.film else np.ones(len(times))
    baths = [work.baths(float(t), float(f)) for t, f in zip(gas, factor, strict=True)]
    start = body.steady(baths[0]).temperature
    work.progress(0.05, "temperatures through the start and stop")
    nodal = body.transient(baths, times, start)
    span = max(float(gas.max() - gas.min()), 1.0)
    chosen = np.arange(0, len(times), 2)
    states, inside, outside = [], [], []
    for count, step in enumerate(chosen):
        work.progress(0.4 + 0.6 * count / len(chosen), "stress through the start and stop")
        load = float((gas[step] - gas.min()) / span)
        u = work.displaced(nodal[step], load)
        state = np.array(
            [_surfaces(body, cut, u, nodal[step], work.installed) for cut in body.meshed.cuts]
        )
        states.append(state)
        inside.append(state[:, 0] - state[:, 1])
        outside.append(state[:, 0] + state[:, 1])
    names = [cut.name for cut in body.meshed.cuts]
    through = Through(
        times=times[chosen],
        gas=gas[chosen],
        shown={
            cut.name: nodal[chosen][:, _node(body, np.array(cut.end))] for cut in body.meshed.cuts
        },
        inside=dict(zip(names, np.array(inside).T, strict=True)),
        outside=dict(zip(names, np.array(outside).T, strict=True)),
        imbalance=_kept(body, baths, times, nodal),
    )
    return through, states, [float(t) for t in times[chosen]]


def _node(body: Body, point: Array) -> int:
    off = body.scalar.doflocs - point[:, None]
    return int(np.argmin(off[0] ** 2 + off[1] ** 2))


def _kept(body: Body, baths: Sequence[Baths], times: Array, nodal: Array) -> float:
    """Heat let in less heat stored through all steps, over the heat that went in."""
    flows = np.array(
        [sum(body.heat(bath, one).values()) for bath, one in zip(baths, nodal, strict=True)]
    )
    let_in = np.sum((flows[1:] + flows[:-1]) / 2.0 * np.diff(times))
    sizes = np.sum(np.abs(flows[1:] + flows[:-1]) / 2.0 * np.diff(times))
    stored = body.content(nodal[-1]) - body.content(nodal[0])
    return float(abs(let_in - stored) / max(sizes, abs(stored), 1e-300))


def _ring_figures(
    task: HotRing, body: Body, field: Field, metals: Sequence[Metal]
) -> RingFigures:  # fmt: skip
    foot, top = task.outside_radius, task.ring_outside_radius
    middle = task.inside_radius + task.wall / 2.0
    pipe = _near(body, field.temperature, np.array([task.wall / 2.0, body.meshed.points[1].max()]))
    bore = _near(body, field.temperature, np.array([task.wall, 0.0]))
    rim = _near(body, field.temperature, np.array([top - body.origin, 0.0]))
    mean = body.mean_weighted(field.temperature, 1)
    rest = [float(one.of("strain", np.array(task.installed))) for one in metals]
    shell = float(metals[0].of("strain", np.array(pipe))) - rest[0]
    ring = body.free_strain(field.temperature, 1, task.installed)
    thin = closed.restrained(
        radius=middle, wall=task.wall, bore=foot, outside=top, width=task.ring_width,
        shell_strain=shell, ring_strain=ring,
        shell_modulus=float(metals[0].of("modulus", np.array(pipe))),
        ring_modulus=float(metals[1].of("modulus", np.array(mean))),
    )  # fmt: skip
    toe = task.ring_width / 2.0 + task.leg
    return RingFigures(
        pipe=pipe,
        bore=bore,
        mean=mean,
        rim=rim,
        closed=thin,
        closed_toe=abs(float(thin.bending(np.array(toe)))),
    )
