"""The beam that stands for a bellows against solid finite elements that bend, shift and twist.

A whole bellows, root to root, is meshed as a solid of revolution (`benchmarks/axisymmetric.py`
draws the section). Displacements go once round as cos and sin (bending, lateral), or not at all
(axial, twist). Both ends are rigid, as a stiff collar makes them.

Run ``python -m benchmarks.bellows_beam`` for the table of docs/why/bellows-stiffness.md.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from benchmarks.axisymmetric import Meridian, Piece
from benchmarks.bellows_models import u_meridian
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementQuad2, ElementVector, MeshQuad, MeshQuad2

from takeup.bellows import geometry, matrix, torsion
from takeup.bellows.model import Bellows

E = 195e9
MU = E / 2.6
LAM = E * 0.3 / (1.3 * 0.4)
SHAPES = {
    "DN 200, 7 convolutions": Bellows(
        inside_diameter=0.219,
        height=0.030,
        pitch=0.032,
        convolutions=7,
        plies=1,
        ply_thickness=0.0008,
        torus_radius=0.008,
    ),
    "DN 600, 8 convolutions": Bellows(
        inside_diameter=0.6,
        height=0.05,
        pitch=0.048,
        convolutions=8,
        plies=1,
        ply_thickness=0.001,
        torus_radius=0.012,
    ),
    "DN 600, 3 convolutions": Bellows(
        inside_diameter=0.6,
        height=0.05,
        pitch=0.048,
        convolutions=3,
        plies=1,
        ply_thickness=0.001,
        torus_radius=0.012,
    ),
    "DN 600, 20 convolutions": Bellows(
        inside_diameter=0.6,
        height=0.05,
        pitch=0.048,
        convolutions=20,
        plies=1,
        ply_thickness=0.001,
        torus_radius=0.012,
    ),
    "DN 2000, 4 convolutions": Bellows(
        inside_diameter=2.0,
        height=0.08,
        pitch=0.06,
        convolutions=4,
        plies=1,
        ply_thickness=0.0015,
        torus_radius=0.015,
    ),
    "DN 600, walls out 7 degrees": Bellows(
        inside_diameter=0.6,
        height=0.05,
        pitch=0.054,
        convolutions=8,
        plies=1,
        ply_thickness=0.001,
        torus_radius=0.012,
    ),
}


@dataclass(frozen=True)
class Rates:
    """Rates of one bellows with rigid ends."""

    axial: float
    """[N/m]"""
    lateral: float
    """Ends kept parallel [N/m]"""
    angular: float
    """Turned about its middle, which is a pure moment [N.m/rad]"""
    twist: float
    """[N.m/rad]"""


def whole(b: Bellows) -> Meridian:
    """The meridian of all convolutions, from root to root."""
    half = u_meridian(b)
    down = half.pieces
    up = tuple(Piece(one.length, -one.turn, one.refine) for one in down)
    # Crest to root starts along +z; from a root the same walk with turns the other way goes up.
    start = float(geometry.mean_diameter(b) - b.height) / 2.0
    return Meridian((start, 0.0), np.pi / 2.0, (up + down) * int(b.convolutions))


def _strains(u, r, once):
    """rr, zz, tt, rz, rt, zt of (u_r cos, u_z cos, u_t sin), or of the same without cos and sin."""
    return (
        u.grad[0, 0],
        u.grad[1, 1],
        (u[0] + once * u[2]) / r,
        u.grad[0, 1] + u.grad[1, 0],
        u.grad[2, 0] - (u[2] + once * u[0]) / r,
        u.grad[2, 1] - once * u[1] / r,
    )


@BilinearForm
def _elastic(u, v, w):
    r = w.x[0]
    a, b = _strains(u, r, w.once), _strains(v, r, w.once)
    volume = LAM * (a[0] + a[1] + a[2]) * (b[0] + b[1] + b[2])
    direct = 2.0 * MU * (a[0] * b[0] + a[1] * b[1] + a[2] * b[2])
    return (volume + direct + MU * (a[3] * b[3] + a[4] * b[4] + a[5] * b[5])) * r


class _TimesR(float):
    """A displacement that grows with the radius."""


class Solid:
    """A bellows meshed whole."""

    def __init__(self, b: Bellows, along: int = 36, through: int = 2) -> None:
        meridian = whole(b)
        self.length = float(geometry.convoluted_length(b))
        tp = float(geometry.thinned_ply(b))
        stations = meridian.stations(along * 2 * int(b.convolutions))
        layers = np.linspace(-tp / 2.0, tp / 2.0, through + 1)
        flat = MeshQuad2.from_mesh(MeshQuad.init_tensor(stations, layers))
        points, heading = meridian.at(flat.doflocs[0])
        points = points + flat.doflocs[1] * np.array([np.sin(heading), -np.cos(heading)])
        self.basis = Basis(
            replace(flat, doflocs=points), ElementVector(ElementQuad2(), 3), intorder=5
        )
        self.ends = []
        for s in (0.0, meridian.length):
            facets = flat.facets_satisfying(
                lambda x, s=s: np.isclose(x[0], s, atol=1e-9 * meridian.length)
            )
            self.ends.append(self.basis.get_dofs(facets))

    def rate(self, once: float, move: dict[str, float]) -> float:
        """Twice the work of moving end 2 by ``move``, 1 m or 1 rad of it [N/m, N.m/rad]."""
        k = _elastic.assemble(self.basis, once=once).tocsc()
        u = np.zeros(self.basis.N)
        held = []
        places = self.basis.doflocs
        for number, dofs in enumerate(self.ends):
            for name in ("u^1", "u^2", "u^3"):
                at = dofs.all(name)
                held.append(at)
                if number and name in move:
                    value = move[name]
                    u[at] = value * places[0, at] if isinstance(value, _TimesR) else value
        free = np.setdiff1d(np.arange(self.basis.N), np.concatenate(held))
        u[free] = splu(k[free][:, free]).solve(-(k @ u)[free])
        return float((np.pi if once else 2.0 * np.pi) * u @ (k @ u))

    def rates(self) -> Rates:
        """All four."""
        half = self.length / 2.0
        return Rates(
            axial=self.rate(0.0, {"u^2": 1.0}),
            lateral=self.rate(1.0, {"u^1": 1.0, "u^3": -1.0}),
            angular=self.rate(1.0, {"u^1": half, "u^3": -half, "u^2": _TimesR(-1.0)}),
            twist=self.rate(0.0, {"u^3": _TimesR(1.0)}),
        )


def rigid_work(b: Bellows) -> float:
    """Work of a rigid tilt and shift over that of pure bending: nothing but rounding."""
    solid = Solid(b, along=12)
    k = _elastic.assemble(solid.basis, once=1.0)
    r, z = solid.basis.doflocs
    u = np.zeros(solid.basis.N)
    for number, value in enumerate((z + 0.1, -r, -(z + 0.1))):
        at = np.concatenate(
            [solid.basis.nodal_dofs[number], solid.basis.facet_dofs[number],
             solid.basis.interior_dofs[number]]
        )  # fmt: skip
        u[at] = value[at]
    turned = solid.rates().angular
    return abs(float(np.pi * u @ (k @ u))) / turned


def beam(b: Bellows, axial: float) -> Rates:
    """What the beam makes of the solid's own axial rate."""
    f = axial * float(b.convolutions)
    twist = float(torsion.rate(b, E))
    six = matrix.six(matrix.bellows(b, f, twist))
    return Rates(axial, float(six[1, 1]), 1.0 / float(np.linalg.inv(six)[5, 5]), twist)


def compared(b: Bellows, along: int = 36) -> tuple[dict[str, float], float]:
    """Solid over beam less 1 by direction, and the share of membrane shear."""
    solid = Solid(b, along).rates()
    said = beam(b, solid.axial)
    over = {
        each: getattr(solid, each) / getattr(said, each) - 1.0
        for each in ("lateral", "angular", "twist")
    }
    return over, float(matrix.shear_share(b, solid.axial * float(b.convolutions), E))


def main() -> None:
    print("| bellows | Lb/Dm | lateral | angular | twist | membrane shear |")
    print("| --- | --- | --- | --- | --- | --- |")
    for name, b in SHAPES.items():
        over, share = compared(b)
        long = float(geometry.convoluted_length(b) / geometry.mean_diameter(b))
        cells = [f"{value:+.1%}" for value in over.values()]
        print(f"| {name} | {long:.2f} | {' | '.join(cells)} | {share:.1%} |")


if __name__ == "__main__":
    main()
