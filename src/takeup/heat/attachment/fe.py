"""Heat flow and elasticity in a section of revolution, by quadratic triangles.

The elements come from scikit-fem; the forms, the films and the loops are here.  SI units.  All
integrals are per radian.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import msgspec
import numpy as np
from scipy.sparse.linalg import splu
from skfem import (
    Basis,
    BilinearForm,
    ElementTriP2,
    ElementVector,
    FacetBasis,
    InteriorFacetBasis,
    LinearForm,
    MeshTri,
)

from takeup.errors import Refused
from takeup.heat.attachment.mesh import Cut, Index, Meshed
from takeup.heat.attachment.metals import Metal
from takeup.heat.attachment.model import POISSON, STEFAN_BOLTZMANN
from takeup.units import Array

SETTLED = 1e-11
"""Largest change of temperature in the last round, over the span of temperatures"""
ROUNDS = 60


class Bath(msgspec.Struct, frozen=True, kw_only=True):
    """A fluid on a face: its temperature [K], film [W/m2.K] and what radiates."""

    temperature: float
    coefficient: float
    emissivity: float = 0.0
    flux: float = 0.0
    """Heat put in regardless of temperature [W/m2]"""


class Field(msgspec.Struct, frozen=True, kw_only=True):
    """Temperatures at rest."""

    temperature: Array
    """At the nodes of the elements [K]"""
    heat: dict[str, float]
    """Heat let in by each face, all round [W]"""
    imbalance: float
    """Sum of all heat over the largest of them [-]"""


class Section(msgspec.Struct, frozen=True, kw_only=True):
    """Stress on a cut: linearised through the wall, normal to the cut, and around [Pa]."""

    membrane: Array
    """(...,) mean of stress along the wall"""
    bending: Array
    """Linear part at the outside"""
    hoop: Array
    """Mean around"""
    hoop_bending: Array

    @property
    def outside(self) -> Array:
        """Linearised stress along the wall at the outside surface."""
        return np.asarray(self.membrane + self.bending)

    @property
    def inside(self) -> Array:
        """Linearised stress along the wall at the inside surface."""
        return np.asarray(self.membrane - self.bending)


def _strain(u: Any, r: Any) -> tuple[Any, Any, Any, Any]:
    return u.grad[0, 0], u.grad[1, 1], u[0] / r, u.grad[0, 1] + u.grad[1, 0]


@BilinearForm
def _conduct(u: Any, v: Any, w: Any) -> Any:
    return w.k * (u.grad[0] * v.grad[0] + u.grad[1] * v.grad[1]) * (w.x[0] + w.origin)


@BilinearForm
def _weighted(u: Any, v: Any, w: Any) -> Any:
    return w.c * u * v * (w.x[0] + w.origin)


@LinearForm
def _source(v: Any, w: Any) -> Any:
    return w.c * v * (w.x[0] + w.origin)


@BilinearForm
def _elastic(u: Any, v: Any, w: Any) -> Any:
    r = w.x[0] + w.origin
    a, b = _strain(u, r), _strain(v, r)
    volume = w.lam * (a[0] + a[1] + a[2]) * (b[0] + b[1] + b[2])
    return (volume + w.mu * (2.0 * (a[0] * b[0] + a[1] * b[1] + a[2] * b[2]) + a[3] * b[3])) * r


@LinearForm
def _swell(v: Any, w: Any) -> Any:
    r = w.x[0] + w.origin
    b = _strain(v, r)
    return (3.0 * w.lam + 2.0 * w.mu) * w.free * (b[0] + b[1] + b[2]) * r


@LinearForm
def _press(v: Any, w: Any) -> Any:
    return -w.c * (w.n[0] * v[0] + w.n[1] * v[1]) * (w.x[0] + w.origin)


class Body:
    """A meshed section with its metals, ready for temperatures and stresses."""

    def __init__(self, meshed: Meshed, metals: Sequence[Metal]) -> None:
        self.meshed, self.metals, self.origin = meshed, tuple(metals), meshed.origin
        self.mesh = MeshTri(
            np.ascontiguousarray(meshed.points), np.ascontiguousarray(meshed.triangles)
        )
        self.scalar = Basis(self.mesh, ElementTriP2(), intorder=4)
        sides = {tuple(side): i for i, side in enumerate(np.sort(self.mesh.facets, axis=0).T)}
        self.facets = {
            name: np.array([sides[tuple(side)] for side in np.sort(ends, axis=1)], dtype=np.intp)
            for name, ends in meshed.faces.items()
        }
        self.skins = {
            name: FacetBasis(self.mesh, ElementTriP2(), facets=facets, intorder=4)
            for name, facets in self.facets.items()
            if len(facets)
        }
        self._vector: Basis | None = None
        self._cuts: dict[str, _Seen] = {}

    # -- temperature ----------------------------------------------------------------------

    def _of(self, which: str, temperature: Array, part: Index) -> Array:
        out = np.empty_like(temperature)
        for index, metal in enumerate(self.metals):
            mine = part == index
            if mine.any():
                out[mine] = metal.of(which, temperature[mine])
        return out

    def _k(self, nodal: Array) -> Any:
        here = np.asarray(self.scalar.interpolate(nodal))
        return _conduct.assemble(
            self.scalar,
            k=self._of("conductivity", here, self.meshed.part),
            origin=self.origin,
        )

    def _films(self, baths: Mapping[str, Bath], nodal: Array) -> tuple[Any, Array]:
        """Film matrix and load, radiation by its tangent at ``nodal``."""
        matrix, load = None, np.zeros(self.scalar.N)
        for name, bath in baths.items():
            skin = self.skins.get(name)
            if skin is None:
                continue
            here = np.asarray(skin.interpolate(nodal))
            radiated = bath.emissivity * STEFAN_BOLTZMANN
            slope = bath.coefficient + 4.0 * radiated * here**3
            given = (
                bath.flux
                + bath.coefficient * bath.temperature
                + radiated * (bath.temperature**4 + 3.0 * here**4)
            )
            part = _weighted.assemble(skin, c=slope, origin=self.origin)
            matrix = part if matrix is None else matrix + part
            load += _source.assemble(skin, c=given, origin=self.origin)
        return matrix, load

    def steady(self, baths: Mapping[str, Bath], start: Array | None = None) -> Field:
        """Temperatures at rest among ``baths``; refused where nothing fixes them."""
        known = [bath.temperature for bath in baths.values()]
        if not any(bath.coefficient > 0.0 or bath.emissivity > 0.0 for bath in baths.values()):
            raise Refused("no face exchanges heat with anything: the temperature is not fixed")
        scale = max(max(known) - min(known), 1.0)
        now = np.full(self.scalar.N, float(np.mean(known))) if start is None else start
        for _ in range(ROUNDS):
            films, load = self._films(baths, now)
            new = np.asarray(splu((self._k(now) + films).tocsc()).solve(load))
            change = float(np.max(np.abs(new - now)))
            now = new
            if change < max(SETTLED * scale, 1e-9):
                break
        else:
            raise Refused("the temperatures did not come to rest; check films and conductivities")
        heat = self.heat(baths, now)
        return Field(
            temperature=now,
            heat=heat,
            imbalance=abs(sum(heat.values())) / max(1e-300, *(abs(q) for q in heat.values())),
        )

    def heat(self, baths: Mapping[str, Bath], nodal: Array) -> dict[str, float]:
        """Heat let in by each face, all round [W]."""
        found = {}
        for name, bath in baths.items():
            skin = self.skins.get(name)
            if skin is None:
                continue
            here = np.asarray(skin.interpolate(nodal))
            flow = (
                bath.flux
                + bath.coefficient * (bath.temperature - here)
                + bath.emissivity * STEFAN_BOLTZMANN * (bath.temperature**4 - here**4)
            )
            found[name] = float(
                2.0 * np.pi * _source.assemble(skin, c=flow, origin=self.origin).sum()
            )
        return found

    def transient(
        self, baths: Sequence[Mapping[str, Bath]], times: Array, start: Array
    ) -> Array:  # fmt: skip
        """Temperatures (times, nodes) from ``start``; ``baths`` hold at each time, linear between.

        Two-stage diagonally implicit Runge-Kutta (L-stable, second order); conductivity, heat
        capacity and radiation are taken at the middle of the step, as the step before
        foretells it.
        """
        gamma = 1.0 - 0.5 * np.sqrt(2.0)
        out = np.empty((len(times), self.scalar.N))
        out[0] = now = start
        for step in range(len(times) - 1):
            span = float(times[step + 1] - times[step])
            ahead = (
                now
                if step == 0
                else now + 0.5 * span / float(times[step] - times[step - 1]) * (now - out[step - 1])
            )
            here = np.asarray(self.scalar.interpolate(ahead))
            stored = _weighted.assemble(
                self.scalar, c=self._of("heat", here, self.meshed.part), origin=self.origin
            )
            conduct = self._k(ahead)
            first, last = baths[step], baths[step + 1]
            middle = {name: _between(first[name], last[name], gamma) for name in first}
            films, load_1 = self._films(middle, ahead)
            _, load_2 = self._films(last, ahead)
            flow = (conduct + films).tocsc()
            inverse = splu((stored + gamma * span * flow).tocsc())
            one = inverse.solve(load_1 - flow @ now)
            two = inverse.solve(load_2 - flow @ (now + (1.0 - gamma) * span * one))
            now = now + span * ((1.0 - gamma) * one + gamma * two)
            out[step + 1] = now
        return out

    def mean_weighted(self, nodal: Array, part: int) -> float:
        """Area mean of a part's temperature, weighted with the radius as its area is [K]."""
        here = np.asarray(self.scalar.interpolate(nodal))
        return self._mean(here, part)

    def free_strain(self, nodal: Array, part: int, installed: float) -> float:
        """Area mean of the free strain of a part: its bore grows by this times its radius."""
        here = np.asarray(self.scalar.interpolate(nodal))
        metal = self.metals[part]
        rest = float(metal.of("strain", np.array(installed)))
        return self._mean(metal.of("strain", here), part) - rest

    def _mean(self, values: Array, part: int) -> float:
        mine = self.meshed.part == part
        points = np.asarray(self.scalar.global_coordinates())
        weight = (self.scalar.dx * (points[0] + self.origin))[mine]
        return float(np.sum(values[mine] * weight) / np.sum(weight))

    def content(self, nodal: Array) -> float:
        """Heat in the metal above absolute zero, all round [J]."""
        here = np.asarray(self.scalar.interpolate(nodal))
        points = np.asarray(self.scalar.global_coordinates())
        held = np.empty_like(here)
        for index, metal in enumerate(self.metals):
            mine = self.meshed.part == index
            held[mine] = metal.held(here[mine])
        return float(2.0 * np.pi * np.sum(held * self.scalar.dx * (points[0] + self.origin)))

    def von_mises(self, u: Array, nodal: Array, installed: float) -> Array:
        """Mean von Mises stress of each triangle [Pa]: for drawing, not for judging."""
        here = np.asarray(self.scalar.interpolate(nodal))
        lam, mu, free = self._constants(here, self.meshed.part, installed)
        points = np.asarray(self.scalar.global_coordinates())
        e = _strain(self.vector.interpolate(u), points[0] + self.origin)
        volume = lam * (e[0] + e[1] + e[2]) - (3.0 * lam + 2.0 * mu) * free
        a, b, c = (volume + 2.0 * mu * one for one in e[:3])
        shear = mu * e[3]
        size = np.sqrt(((a - b) ** 2 + (b - c) ** 2 + (c - a) ** 2) / 2.0 + 3.0 * shear**2)
        return np.asarray(np.sum(size * self.scalar.dx, axis=1) / np.sum(self.scalar.dx, axis=1))

    # -- stress ---------------------------------------------------------------------------

    @property
    def vector(self) -> Any:
        """Basis of displacements, made when first wanted."""
        if self._vector is None:
            self._vector = Basis(self.mesh, ElementVector(ElementTriP2()), intorder=4)
        return self._vector

    def displaced(
        self,
        nodal: Array,
        installed: float,
        *,
        pressure: float = 0.0,
        inside: Sequence[str] = (),
        ends_turn: bool = True,
    ) -> Array:
        """Displacements of all nodes at the temperatures ``nodal``.

        The end called "start" is held along the axis.  With ``ends_turn`` false the other end
        stays plane too.  ``pressure`` presses on the faces ``inside`` and draws at "end" as on
        a closed pipe.
        """
        basis = self.vector
        here = np.asarray(self.scalar.interpolate(nodal))
        lam, mu, free = self._constants(here, self.meshed.part, installed)
        matrix = _elastic.assemble(basis, lam=lam, mu=mu, origin=self.origin)
        load = _swell.assemble(basis, lam=lam, mu=mu, free=free, origin=self.origin)
        if pressure:
            for name in inside:
                skin = FacetBasis(self.mesh, basis.elem, facets=self.facets[name], intorder=4)
                load += pressure * _press.assemble(skin, c=1.0, origin=self.origin)
            ends = self.mesh.p[:, self.mesh.facets[:, self.facets["end"]]]
            radii = ends[0].ravel() + self.origin
            low, high = radii.min(), radii.max()
            draw = FacetBasis(self.mesh, basis.elem, facets=self.facets["end"], intorder=4)
            load += _press.assemble(
                draw, c=-pressure * low**2 / (high**2 - low**2), origin=self.origin
            )
        fixed = basis.get_dofs(self.facets["start"]).all("u^2")
        tie = basis.get_dofs(self.facets["end"]).all("u^2") if not ends_turn else None
        return _solve(matrix.tocsc(), load, fixed, tie)

    def _constants(self, here: Array, part: Index, installed: float) -> tuple[Array, Array, Array]:
        modulus = self._of("modulus", here, part)
        at_rest = np.array([float(m.of("strain", np.array(installed))) for m in self.metals])
        free = self._of("strain", here, part) - at_rest[part][:, None]
        lam = modulus * POISSON / ((1.0 + POISSON) * (1.0 - 2.0 * POISSON))
        return lam, modulus / (2.0 * (1.0 + POISSON)), free

    def cut(self, where: Cut, u: Array, nodal: Array, installed: float) -> Section:
        """Stress on a cut, linearised through the wall.

        Along the wall it comes from the forces that the elements on one side hand to the nodes of
        the cut: these are in balance whatever the mesh, though a weld toe lies on the cut.
        """
        seen = self._seen(where)
        start, end = np.array(where.start), np.array(where.end)
        wall = float(np.hypot(*(end - start)))
        across = (end - start) / wall
        normal = np.array([-across[1], across[0]])
        here = np.asarray(seen.scalar.interpolate(nodal))
        lam, mu, free = self._constants(here, seen.part, installed)
        inner = _elastic.assemble(seen.basis, lam=lam, mu=mu, origin=self.origin) @ u
        inner -= _swell.assemble(seen.basis, lam=lam, mu=mu, free=free, origin=self.origin)
        force = inner[seen.dofs[0]] * normal[0] + inner[seen.dofs[1]] * normal[1]
        force *= -seen.sign / (self.origin + (start[0] + end[0]) / 2.0)
        place = (self.vector.doflocs[:, seen.dofs[0]] - start[:, None]).T @ across - wall / 2.0
        hoop = hoop_bending = 0.0
        for scalar, vector, part in seen.sides:
            lam, mu, free = self._constants(np.asarray(scalar.interpolate(nodal)), part, installed)
            points = np.asarray(vector.global_coordinates())
            e = _strain(vector.interpolate(u), points[0] + self.origin)
            tt = lam * (e[0] + e[1] + e[2]) + 2.0 * mu * e[2] - (3.0 * lam + 2.0 * mu) * free
            reach = (points[0] - start[0]) * across[0] + (points[1] - start[1]) * across[1]
            weight = tt * vector.dx / wall / len(seen.sides)
            hoop += float(np.sum(weight))
            hoop_bending += float(np.sum(weight * (reach - wall / 2.0))) * 6.0 / wall
        return Section(
            membrane=np.asarray(force.sum() / wall),
            bending=np.asarray(force @ place * 6.0 / wall**2),
            hoop=np.asarray(hoop),
            hoop_bending=np.asarray(hoop_bending),
        )

    def _seen(self, where: Cut) -> _Seen:
        known = self._cuts.get(where.name)
        if known is not None:
            return known
        start, end = np.array(where.start), np.array(where.end)
        wall = float(np.hypot(*(end - start)))
        across = (end - start) / wall
        normal = np.array([-across[1], across[0]])
        ends = self.mesh.p[:, self.mesh.facets] - start[:, None, None]
        off = np.abs(ends[0] * across[1] - ends[1] * across[0]).max(axis=0)
        place = ends[0] * across[0] + ends[1] * across[1]
        on = (off < 1e-6 * wall) & (place.min(axis=0) > -1e-6 * wall)
        facets = np.flatnonzero(on & (place.max(axis=0) < wall * (1.0 + 1e-6)))
        ends_of = np.unique(self.mesh.facets[:, facets])
        touching = np.isin(self.mesh.t, ends_of).any(axis=0)
        middle = self.mesh.p[:, self.mesh.t].mean(axis=1) - start[:, None]
        ahead = touching & (normal @ middle > 0.0)
        sign = 1.0
        if not ahead.any():
            ahead, sign = touching & (normal @ middle < 0.0), -1.0
        chosen = np.flatnonzero(ahead)
        dofs = self.vector.get_dofs(facets)
        sides = []
        for side in (0, 1):
            if side and (self.mesh.f2t[1, facets] < 0).any():
                continue
            kind = InteriorFacetBasis if side else FacetBasis
            options = {"facets": facets, "intorder": 4} | ({"side": 1} if side else {})
            sides.append(
                (
                    kind(self.mesh, ElementTriP2(), **options),
                    kind(self.mesh, self.vector.elem, **options),
                    self.meshed.part[self.mesh.f2t[side, facets]],
                )
            )
        made = _Seen(
            scalar=Basis(self.mesh, ElementTriP2(), intorder=4, elements=chosen),
            basis=Basis(self.mesh, self.vector.elem, intorder=4, elements=chosen),
            part=self.meshed.part[chosen],
            sign=sign,
            dofs=(dofs.all(["u^1"]), dofs.all(["u^2"])),
            sides=sides,
        )
        self._cuts[where.name] = made
        return made


class _Seen(msgspec.Struct, frozen=True, kw_only=True):
    """What a cut is read from: elements on one side of it, its nodes, its sides."""

    scalar: Any
    basis: Any
    part: Any
    sign: float
    dofs: tuple[Any, Any]
    sides: list[Any]


def _between(a: Bath, b: Bath, share: float) -> Bath:
    def mix(x: float, y: float) -> float:
        return x + share * (y - x)

    return Bath(
        temperature=mix(a.temperature, b.temperature),
        coefficient=mix(a.coefficient, b.coefficient),
        emissivity=mix(a.emissivity, b.emissivity),
        flux=mix(a.flux, b.flux),
    )


def _solve(matrix: Any, load: Array, fixed: Any, tie: Any) -> Array:
    """Displacements with ``fixed`` ones zero and all of ``tie`` equal."""
    from scipy.sparse import coo_matrix

    size = len(load)
    number = np.arange(size)
    number[fixed] = -1
    if tie is not None and len(tie):
        number[tie] = tie[0]
    kept = number >= 0
    names, column = np.unique(number[kept], return_inverse=True)
    to = coo_matrix(
        (np.ones(kept.sum()), (np.flatnonzero(kept), column)), shape=(size, len(names))
    ).tocsc()
    return np.asarray(to @ splu((to.T @ matrix @ to).tocsc()).solve(to.T @ load))
