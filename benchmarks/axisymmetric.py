"""Elastic bodies of revolution by finite elements: a meridian of uniform thickness, drawn as solid.

General axisymmetric elasticity with small displacements, written on scikit-fem. It knows nothing
of bellows formulas, so that what it says about a bellows is independent of them. SI units.

The section is cut into curved nine-node quadrilaterals: ``along`` the centre line, ``through`` the
thickness. Coordinates are r (0) and z (1); ``zeta`` runs across the wall, and the side
``zeta = -thickness / 2`` carries the pressure.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.sparse.linalg import splu
from skfem import (
    Basis,
    BilinearForm,
    ElementQuad2,
    ElementVector,
    FacetBasis,
    LinearForm,
    MeshQuad,
    MeshQuad2,
)

Array = NDArray[np.float64]
POISSON = 0.3


@dataclass(frozen=True)
class Piece:
    """A straight or circular piece of a meridian, walked from its start."""

    length: float
    turn: float
    """Angle added to the heading over the piece [rad]; 0 for a straight piece"""
    refine: float = 1.0
    """How many times denser than the others the piece is cut"""


@dataclass(frozen=True)
class Meridian:
    """A smooth centre line in the r-z half plane: start point, first heading, pieces.

    The heading is the angle from +r towards +z. A walk from crest to root starts at pi/2.
    """

    start: tuple[float, float]
    heading: float
    pieces: tuple[Piece, ...]

    @cached_property
    def length(self) -> float:
        """Length of the centre line [m]."""
        return sum(piece.length for piece in self.pieces)

    def stations(self, along: int) -> Array:
        """Element ends: about ``along`` elements, junctions of pieces among them."""
        weights = [piece.length * piece.refine for piece in self.pieces]
        cuts = [max(2, round(along * weight / sum(weights))) for weight in weights]
        ends, s = [np.zeros(1)], 0.0
        for piece, count in zip(self.pieces, cuts, strict=True):
            ends.append(s + piece.length * np.arange(1, count + 1) / count)
            s += piece.length
        return np.concatenate(ends)

    def at(self, s: Array) -> tuple[Array, Array]:
        """Points (2, n) and headings (n,) of the centre line at the lengths ``s``."""
        points, headings = np.empty((2, *s.shape)), np.empty(s.shape)
        (r, z), phi, walked = self.start, self.heading, 0.0
        for piece in self.pieces:
            here = s >= walked - 1e-12 * self.length
            done = np.where(here, s - walked, 0.0)
            curve = piece.turn / piece.length
            # chord of an arc: length times sinc of half the turn, along the mean heading
            half = curve * done / 2.0
            chord, mean = done * np.sinc(half / np.pi), phi + half
            points[0] = np.where(here, r + chord * np.cos(mean), points[0])
            points[1] = np.where(here, z + chord * np.sin(mean), points[1])
            headings = np.where(here, phi + 2.0 * half, headings)
            chord = piece.length * np.sinc(piece.turn / (2.0 * np.pi))
            r += chord * np.cos(phi + piece.turn / 2.0)
            z += chord * np.sin(phi + piece.turn / 2.0)
            phi += piece.turn
            walked += piece.length
        return points, headings


@dataclass(frozen=True)
class Stress:
    """Stress on lines across the wall, one line per station, linearised."""

    s: Array
    """Stations along the centre line [m]"""
    membrane: Array
    """Mean meridional stress of each line [Pa]"""
    bending: Array
    """Linear part of the meridional stress, at the side away from the pressure [Pa]"""
    hoop: Array
    """Mean hoop stress of each line [Pa]"""
    hoop_mean: float
    """Hoop stress averaged over the whole section [Pa]"""

    @property
    def surface(self) -> float:
        """Largest size of linearised meridional stress on either face [Pa]."""
        return float(np.max(np.abs(self.membrane) + np.abs(self.bending)))


@dataclass(frozen=True)
class Answer:
    """One load case."""

    displacement: Array
    start_force: float
    """Axial force on the whole ring at the start of the meridian, + along z [N]"""
    end_force: float
    stress: Stress


def _strains(u, r):
    return u.grad[0, 0], u.grad[1, 1], u[0] / r, u.grad[0, 1] + u.grad[1, 0]


@BilinearForm
def _elastic(u, v, w):
    """Virtual work of the stress of ``u`` on the strain of ``v``, per radian."""
    r = w.x[0] + w.origin
    a, b = _strains(u, r), _strains(v, r)
    volume = w.lam * (a[0] + a[1] + a[2]) * (b[0] + b[1] + b[2])
    shape = 2.0 * w.mu * (a[0] * b[0] + a[1] * b[1] + a[2] * b[2]) + w.mu * a[3] * b[3]
    return (volume + shape) * r


@LinearForm
def _pressure(v, w):
    """Virtual work of unit pressure on a face, per radian."""
    return -(w.n[0] * v[0] + w.n[1] * v[1]) * (w.x[0] + w.origin)


@LinearForm
def _swelling(v, w):
    """Virtual work of the stress that would hold back a unit strain in all directions."""
    r = w.x[0] + w.origin
    return (3.0 * w.lam + 2.0 * w.mu) * sum(_strains(v, r)[:3]) * r


class Shell:
    """A meridian with a thickness, meshed and factorised once.

    ``hold`` names what is held: "start_z", "end_z" (axially, the end of the section stays plane)
    and "start_r", "end_r".
    """

    def __init__(
        self,
        meridian: Meridian,
        thickness: float,
        *,
        modulus: float,
        poisson: float = POISSON,
        along: int = 64,
        through: int = 3,
        hold: tuple[str, ...] = ("start_z", "end_z"),
    ) -> None:
        self.meridian, self.thickness = meridian, thickness
        # a thin wall far from the axis: coordinates are kept from the start of the meridian
        self.origin = meridian.start[0]
        self.lam = modulus * poisson / ((1.0 + poisson) * (1.0 - 2.0 * poisson))
        self.mu = modulus / (2.0 * (1.0 + poisson))
        layers = np.linspace(-thickness / 2.0, thickness / 2.0, through + 1)
        self.flat = MeshQuad2.from_mesh(MeshQuad.init_tensor(meridian.stations(along), layers))
        self.mesh = replace(self.flat, doflocs=self._place(self.flat.doflocs))
        element = ElementVector(ElementQuad2())
        self.basis = Basis(self.mesh, element, intorder=5)
        self.loaded = FacetBasis(
            self.mesh,
            element,
            facets=self.flat.facets_satisfying(lambda x: np.isclose(x[1], layers[0])),
            intorder=5,
        )
        ends = {"start": 0.0, "end": meridian.length}
        self.planes = {}
        for name, s in ends.items():
            facets = self.flat.facets_satisfying(
                lambda x, s=s: np.isclose(x[0], s, atol=1e-9 * meridian.length)
            )
            dofs = self.basis.get_dofs(facets)
            self.planes[f"{name}_r"] = dofs.all("u^1")
            self.planes[f"{name}_z"] = dofs.all("u^2")
        self.held = np.unique(np.concatenate([self.planes[name] for name in hold]))
        self.stiffness = _elastic.assemble(
            self.basis, lam=self.lam, mu=self.mu, origin=self.origin
        ).tocsc()
        self.free = np.setdiff1d(np.arange(self.basis.N), self.held)
        self._solve = splu(self.stiffness[self.free][:, self.free]).solve

    def _place(self, flat: Array) -> Array:
        points, heading = self.meridian.at(flat[0])
        normal = np.array([np.sin(heading), -np.cos(heading)])
        points[0] -= self.origin
        return np.asarray(points + flat[1] * normal)

    def solve(
        self, *, pressure: float = 0.0, moved: dict[str, float] | None = None, strain: float = 0.0
    ) -> Answer:
        """Answer to pressure [Pa], moved ends ({"end_z": metres}) and free strain [-]."""
        load = pressure * _pressure.assemble(self.loaded, origin=self.origin)
        if strain:
            load = load + strain * _swelling.assemble(
                self.basis, lam=self.lam, mu=self.mu, origin=self.origin
            )
        u = np.zeros(self.basis.N)
        for name, distance in (moved or {}).items():
            u[self.planes[name]] = distance
        right = load - self.stiffness @ u
        u[self.free] = self._solve(right[self.free])
        reaction = 2.0 * np.pi * (self.stiffness @ u - load)
        return Answer(
            displacement=u,
            start_force=float(reaction[self.planes["start_z"]].sum()),
            end_force=float(reaction[self.planes["end_z"]].sum()),
            stress=self._stress(u, strain),
        )

    def displaced(self, answer: Answer) -> float:
        """Volume that the pressed face sweeps [m3], positive away from the pressure."""
        unit = _pressure.assemble(self.loaded, origin=self.origin)
        return float(2.0 * np.pi * unit @ answer.displacement)

    def components(self, u: Array, strain: float = 0.0, order: int = 3) -> dict[str, Array]:
        """Stress [Pa] at Gauss points (element, point): rr, zz, tt, rz, meridional; s, zeta, dA.

        With order 3 these are the 2 x 2 points, where stress of these elements is most exact.
        """
        basis = Basis(self.mesh, self.basis.elem, intorder=order)
        flat = Basis(self.flat, ElementQuad2(), intorder=order)
        s, zeta = np.asarray(flat.global_coordinates())
        r = np.asarray(basis.global_coordinates())[0] + self.origin
        e = _strains(basis.interpolate(u), r)
        volume = self.lam * (e[0] + e[1] + e[2]) - (3 * self.lam + 2 * self.mu) * strain
        rr, zz, tt = (volume + 2.0 * self.mu * part for part in e[:3])
        rz = self.mu * e[3]
        _, heading = self.meridian.at(s)
        c, d = np.cos(heading), np.sin(heading)
        return {
            "s": s, "zeta": zeta, "r": r, "dA": basis.dx,
            "rr": rr, "zz": zz, "tt": tt, "rz": rz,
            "meridional": rr * c * c + zz * d * d + 2.0 * rz * c * d,
        }  # fmt: skip

    def _stress(self, u: Array, strain: float) -> Stress:
        parts = self.components(u, strain)
        through = len(np.unique(np.round(self.flat.p[1] / self.thickness, 9))) - 1
        order = np.lexsort((parts["zeta"].ravel(), np.round(parts["s"].ravel(), 12)))

        def lines(name: str) -> Array:
            return parts[name].ravel()[order].reshape(-1, 2 * through)

        # two Gauss points of equal weight in each of the equal layers
        zeta, meridional = lines("zeta"), lines("meridional")
        spread = np.mean(zeta * zeta, axis=1)
        return Stress(
            s=lines("s").mean(axis=1),
            membrane=meridional.mean(axis=1),
            bending=np.mean(meridional * zeta, axis=1) / spread * self.thickness / 2.0,
            hoop=lines("tt").mean(axis=1),
            hoop_mean=float(np.sum(parts["tt"] * parts["dA"]) / np.sum(parts["dA"])),
        )
