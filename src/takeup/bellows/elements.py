"""One bellows as a line solver takes it: stiffness between its ends, thrust, length, mass."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np

from takeup import materials
from takeup.bellows import geometry, intake, matrix, numbers, refusing, thrust, torsion
from takeup.bellows.arrays import problem_for
from takeup.bellows.combine import in_row, rigid_spool, with_arms
from takeup.bellows.model import Bellows, BellowsCase, Convolution, Side
from takeup.bellows.rules import rules_of
from takeup.errors import MissingInput, TakeupError, require_within
from takeup.sources import Source
from takeup.units import Array, Metre, Newton, NewtonPerMetre, Pascal, Real, SquareMetre

SOURCES = (matrix.SOURCE, torsion.SOURCE)


class Element(msgspec.Struct, frozen=True, kw_only=True):
    """A bellows of finite length between its two ends, scalars or arrays of bellows.

    Axes, order and signs as in :mod:`takeup.bellows.matrix`.
    """

    matrix: Array
    """Forces on both ends per motion of both ends, (..., 12, 12) [N/m, N, N.m/rad]."""
    length: Real
    """Convoluted length between the ends, N q [m]; tangents belong to the pipe."""
    thrust_area: SquareMetre
    """Effective area Ae [m2]."""
    compression: Newton = 0.0
    """Axial load of the equal column that ``matrix`` was made with [N]; 0 without pressure."""
    mass: Real | None = None
    """Metal of the convolutions [kg]; ``None`` where the density is not known."""
    sources: tuple[Source, ...] = SOURCES
    cautions: tuple[str, ...] = (torsion.CAUTION,)

    @property
    def six(self) -> Array:
        """Forces on end 2 per motion of end 2 with end 1 held, (..., 6, 6)."""
        return matrix.six(self.matrix)

    def thrust(self, pressure: Pascal) -> Array:
        """What ``pressure`` [Pa] makes the bellows press on its neighbours, (..., 12) [N]."""
        return matrix.thrust(pressure, self.thrust_area)


def plain(value: Any) -> Any:
    """A scalar as a Python number, so that it can be written out; arrays as they are."""
    return float(value) if value is not None and np.ndim(value) == 0 else value


class Spool(msgspec.Struct, frozen=True, kw_only=True):
    """Pipe between two bellows of a joint; rigid unless its stiffness is given."""

    length: Metre
    """Between the neighbouring ends of the convolutions [m]"""
    axial: Real | None = None
    """EA [N]; ``None`` with the other two: rigid"""
    bending: Real | None = None
    """EI [N.m2]"""
    torsion: Real | None = None
    """G J [N.m2]"""
    weight: Array | None = None
    """Weight with all that hangs on it, as a force in local axes (..., 3) [N]; ``None``: none"""


def pipe_spool(
    length: Metre,
    outside_diameter: Metre,
    wall: Metre,
    modulus: Pascal,
    weight: Array | None = None,
) -> Spool:
    """The elastic spool that a plain pipe makes: E A, E I and G J of its ring section."""
    outer, inner = outside_diameter, outside_diameter - 2.0 * wall
    area = np.pi / 4.0 * (outer * outer - inner * inner)
    second = area * (outer * outer + inner * inner) / 16.0
    return Spool(
        length=length,
        axial=modulus * area,
        bending=modulus * second,
        torsion=modulus / (2.0 * (1.0 + torsion.POISSON)) * 2.0 * second,
        weight=weight,
    )


def element_from(
    b: Bellows,
    f: NewtonPerMetre,
    modulus: Pascal,
    *,
    convolution: Convolution = Convolution.U_PLAIN,
    pressure: Pascal | None = None,
    density: Real | None = None,
) -> Element:
    """The element of one bellows, or of an array of them.

    ``f`` is the axial rate of one convolution [N/m] and ``modulus`` [Pa] that of the same
    state, for torsion.  With ``pressure`` [Pa] the stiffness is that of the pressurised
    bellows: pressure acts as the axial compression P Ae of the equal column.  It is left out
    unless given.  Raises :class:`takeup.errors.OutOfRange` at ideal column squirm.
    """
    area = thrust.effective_area(b)
    load = 0.0 if pressure is None else pressure * area
    cautions: tuple[str, ...] = (torsion.CAUTION,)
    sources: tuple[Source, ...] = SOURCES
    if pressure is not None:
        cautions, sources = (*cautions, matrix.PRESSURE_CAUTION), (*sources, matrix.PRESSURE_SOURCE)
    if convolution != Convolution.TOROIDAL:
        share = np.asarray(matrix.shear_share(b, f, modulus), dtype=float)
        if (share > matrix.MOST_SHEAR).any():
            cautions = (
                *cautions,
                f"Short and wide: membrane shear makes it up to {np.nanmax(share):.0%} more flexible "
                "sideways than the standards' lateral rate, which has none.",
            )
    mass = None
    if density is not None:
        # The wall of a convolution lies evenly about Dm: area times the way of its centroid.
        area_of_one = (
            2.0 * np.pi * b.torus_radius * b.plies * geometry.thinned_ply(b)
            if convolution == Convolution.TOROIDAL
            else geometry.metal_area(b)
        )
        mass = density * b.convolutions * area_of_one * np.pi * geometry.mean_diameter(b)
    return Element(
        matrix=matrix.bellows(b, f, torsion.rate(b, modulus, convolution), load),
        length=plain(geometry.convoluted_length(b)),
        thrust_area=plain(area),
        compression=plain(load),
        mass=plain(mass),
        sources=sources,
        cautions=cautions,
    )


def element(
    case: BellowsCase, condition: str | None = "operating", *, under_pressure: bool = False
) -> Element:
    """The element of one bellows of ``case`` at one of its conditions; ``None`` is cold.

    The axial rate is the one that :func:`takeup.bellows.evaluate` reports for this shape and
    rule set.  ``under_pressure`` adds the effect of the condition's pressure on the stiffness.
    Raises :class:`takeup.errors.MissingInput` where a figure it needs is unknown.
    """
    if under_pressure and condition is None:
        raise MissingInput(f"Pressure on {case.name or 'the bellows'}", ["condition"])
    refusing.refuse(case)
    whose = f"Stiffness of {case.name or 'the bellows'}"
    places = [one.name.lower() for one in case.conditions]
    if condition is not None and condition.lower() not in places:
        raise MissingInput(whose, [f"condition {condition!r}"])
    place = intake.working_condition(case) if condition is None else places.index(condition.lower())
    problem = problem_for(case)
    setting, rules = problem.setting, rules_of(case.basis, case.convolution)
    # Rings lean on the convolutions harder under pressure: cold, as much as at work.
    pressure = case.conditions[place].pressure if place >= 0 else 0.0
    modulus = setting.room_modulus if condition is None else problem.states[place].modulus
    shape = numbers.shape(setting, rules)
    f = numbers.rate(setting, shape, rules, modulus, abs(pressure))
    if not np.isfinite(f):
        named = [refusing.WORDS.get(name, name) for name in refusing.unknown(case)]
        if not np.isfinite(modulus):
            named.append(intake.unknown_alloy(case))
        raise MissingInput(whose, named)
    try:
        density: Any = materials.density(case.material).value
    except TakeupError:
        density = None
    return element_from(
        setting.bellows,
        f,
        modulus,
        convolution=case.convolution,
        pressure=_outward(case, pressure) if under_pressure else None,
        density=density,
    )


def _outward(case: BellowsCase, pressure: float) -> float:
    return -pressure if case.pressurised == Side.OUTSIDE else pressure


def spooled(elements: tuple[Element, ...], spools: tuple[Spool, ...]) -> Any:
    """Two or more bellows with a spool between each two, condensed to the outer ends.

    Returns a :class:`takeup.bellows.combine.Row`; its inner nodes are the ends of each elastic
    spool, or the first end of each rigid one, in order.  Where the elements were made under
    pressure, the thrust of the element before each spool runs on through it.  Raises
    :class:`takeup.errors.Refused` where the spool is not stable under it.
    """
    require_within(
        "Number of spools",
        len(spools),
        low=len(elements) - 1,
        high=len(elements) - 1,
        whose="a row of bellows",
        remedy="Give one spool between each two bellows.",
    )
    parts = [elements[0].matrix]
    nodes: list[Array | None] = []
    loads: list[Array | None] = []
    for before, spool, after in zip(elements, spools, elements[1:], strict=False):
        if spool.axial is None or spool.bending is None or spool.torsion is None:
            parts.append(with_arms(after.matrix, spool.length, 0.0))
            nodes.append(rigid_spool(spool.length, before.compression))
            loads.append(_hung(spool, whole=True))
            continue
        parts.append(
            matrix.beam(
                spool.axial / spool.length,
                spool.bending,
                spool.torsion / spool.length,
                spool.length,
                before.compression,
            )
        )
        parts.append(after.matrix)
        nodes += [None, None]
        near = _hung(spool, whole=False)
        loads += [near, None if near is None else near * _FAR]
    return in_row(parts, nodes=nodes, loads=loads)


_FAR = np.array([1.0, 1.0, 1.0, -1.0, -1.0, -1.0])
"""End moments of an evenly loaded beam are opposite at its two ends."""


def _hung(spool: Spool, *, whole: bool) -> Array | None:
    """Weight as forces on the spool's first end: all of it if rigid, else what its beam gives."""
    if spool.weight is None:
        return None
    force = np.asarray(spool.weight, dtype=float)
    # Evenly spread: W L / 2 about one end of a rigid spool, W L / 12 at each end of a beam.
    share, lever = (1.0, np.asarray(spool.length) / 2.0) if whole else (0.5, spool.length / 12.0)
    found = np.zeros((*np.broadcast_shapes(force.shape[:-1], np.shape(spool.length)), 6))
    found[..., :3] = share * force
    found[..., 4] = -lever * force[..., 2]
    found[..., 5] = lever * force[..., 1]
    return found
