"""Bellows convolutions by formula and by finite elements, side by side.

Half a convolution from the crest plane to the root plane, elastic, small displacements, uniform
thickness tp, Poisson's ratio 0.3. Two load cases: internal pressure with both planes held
axially, and an axial stroke of one plane. Each ply is a shell of its own and slides freely.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

import msgspec
import numpy as np
from benchmarks.axisymmetric import POISSON, Answer, Meridian, Piece, Shell
from benchmarks.thin_rings import strip

from takeup.bellows import charts, geometry, movements, pressure, stiffness, toroidal
from takeup.bellows.model import Bellows

MODULUS = 195e9
PRESSURE = 0.1e6
MOVEMENT = 1e-3
"""Of one convolution; both load cases are linear, so only ratios matter."""
ALONG, THROUGH = 160, 3


@dataclass(frozen=True)
class Case:
    """One bellows to compare."""

    name: str
    bellows: Bellows
    omega: bool = False


@dataclass(frozen=True)
class Figures:
    """The quantities compared, by formula or by elements: 0.1 MPa; 1 mm a convolution."""

    s2: float
    s3: float
    s4: float
    pressure_sum: float
    """Meridional membrane and bending together, largest anywhere"""
    s5: float
    s6: float
    movement_sum: float
    rate: float
    """Axial rate of one convolution [N/m]"""

    def over(self, other: Figures) -> dict[str, float]:
        """Deviation of these figures from others, as a share of the others."""
        pairs = ((f.name, getattr(self, f.name), getattr(other, f.name)) for f in fields(self))
        return {name: mine / theirs - 1.0 if theirs else np.nan for name, mine, theirs in pairs}


@dataclass(frozen=True)
class Modelled:
    """Figures of the elements, and what else they show."""

    figures: Figures
    where_s4: str
    where_s6: str
    largest_s3: float
    """Largest meridional membrane stress from pressure anywhere [Pa]"""
    axial_balance: float
    """Axial force of the planes against pressure on the area between them, relative error"""
    hoop_balance: float
    """Hoop force of the section against pressure on the area it encloses, relative error"""
    compliance: tuple[float, ...]
    """Displaced volume of each ply under the same pressure [m3/Pa]"""


def unit(
    *, db: float, w: float, q: float, t: float, rm: float | None = None, plies: int = 1
) -> Bellows:
    """A U-shaped bellows from millimetres; walls parallel unless ``rm`` is given."""
    return Bellows(
        inside_diameter=db / 1e3,
        height=w / 1e3,
        pitch=q / 1e3,
        convolutions=1,
        plies=plies,
        ply_thickness=t / 1e3,
        torus_radius=(q / 4.0 if rm is None else rm) / 1e3,
    )


def torus(*, dm: float, r: float, tp: float, plies: int = 1) -> Bellows:
    """A toroidal bellows from millimetres and its thickness after forming."""
    return Bellows(
        inside_diameter=(dm - 2.0 * r) / 1e3,
        height=(2.0 * r - plies * tp) / 1e3,
        pitch=2.0 * r / 1e3,
        convolutions=1,
        plies=plies,
        ply_thickness=tp / 1e3,
        torus_radius=r / 1e3,
        tube_diameter=dm / 1e3,
    )


CASES = (
    Case("P1, DN 200 of a published report", unit(db=219, w=30, q=32, t=0.8)),
    Case("P2, 38 inch of a published worksheet", unit(db=965.2, w=27.813, q=25.4, t=0.762)),
    Case("P3, large and stiff", unit(db=2000, w=80, q=40, t=1.5)),
    Case("P4, deep and thin", unit(db=300, w=60, q=36, t=0.4)),
    Case("P5, wide arcs, very thin", unit(db=400, w=50, q=60, t=0.3)),
    Case("P6, large, wide arcs", unit(db=2000, w=100, q=120, t=1.2)),
    Case("L1, leaning out 9°", unit(db=1200, w=70, q=70, t=1.2, rm=14)),
    Case("L2, leaning in 5°", unit(db=500, w=50, q=52, t=0.5, rm=14)),
    Case("L3, leaning in 7°, stiff", unit(db=965.2, w=27.813, q=25.4, t=0.762, rm=7.2)),
    Case("D1, two plies", unit(db=600, w=50, q=48, t=1.0, plies=2)),
    Case("T1, toroidal", torus(dm=600, r=20, tp=1.0), omega=True),
    Case(
        "T2, toroidal, 3 plies, of a published sheet",
        torus(dm=1290, r=67.807796, tp=1.8718643, plies=3),
        omega=True,
    ),
)


# --- formulas ---------------------------------------------------------------------------------


def formulas(b: Bellows, *, omega: bool = False) -> Figures:
    """What the rule sets say; the rate with EJMA's constant 1.7."""
    return _torus_formulas(b) if omega else _u_formulas(b)


def _u_formulas(b: Bellows) -> Figures:
    c1, c2 = geometry.chart_c1(b), geometry.chart_c2(b)
    s3 = pressure.meridional_membrane(b, PRESSURE)
    s4 = pressure.meridional_bending(b, PRESSURE, charts.cp(c1, c2))
    s5 = movements.membrane_stress(b, MODULUS, MOVEMENT, charts.cf(c1, c2))
    s6 = movements.bending_stress(b, MODULUS, MOVEMENT, charts.cd(c1, c2))
    return Figures(
        s2=float(pressure.convolution_hoop(b, PRESSURE)),
        s3=float(s3),
        s4=float(s4),
        pressure_sum=float(s3 + s4),
        s5=float(s5),
        s6=float(s6),
        movement_sum=float(s5 + s6),
        rate=float(stiffness.convolution_rate(b, MODULUS, charts.cf(c1, c2))),
    )


def _torus_formulas(b: Bellows) -> Figures:
    x = toroidal.c3(b)
    s3 = toroidal.meridional_membrane(b, PRESSURE)
    s5 = toroidal.membrane_stress(b, MODULUS, MOVEMENT, toroidal.b1(x))
    s6 = toroidal.bending_stress(b, MODULUS, MOVEMENT, toroidal.b2(x))
    return Figures(
        s2=float(toroidal.torus_hoop(b, PRESSURE)),
        s3=float(s3),
        s4=0.0,
        pressure_sum=float(s3),
        s5=float(s5),
        s6=float(s6),
        movement_sum=float(s5 + s6),
        rate=float(toroidal.convolution_rate(b, MODULUS, toroidal.b3(x))),
    )


# --- elements ---------------------------------------------------------------------------------


def u_meridian(b: Bellows, shift: float = 0.0) -> Meridian:
    """Centre line of a ply from crest to root: arc, straight wall along the tangent, arc.

    ``shift`` is how far outside the middle of the pack the ply lies [m].
    """
    dm, w, rm = geometry.mean_diameter(b), b.height, b.torus_radius
    across, down = b.pitch / 2.0, w - 2.0 * rm
    apart = np.hypot(across, down)
    turn = np.arctan2(across, -down) + np.arcsin(2.0 * rm / apart) - np.pi / 2.0
    wall = np.sqrt(apart**2 - 4.0 * rm**2)
    return Meridian(
        start=(float(dm + w) / 2.0 + shift, 0.0),
        heading=np.pi / 2.0,
        pieces=(
            Piece((rm + shift) * turn, turn),
            Piece(wall, 0.0),
            Piece((rm - shift) * turn, -turn),
        ),
    )


def torus_meridian(b: Bellows, shift: float = 0.0) -> Meridian:
    """Centre line of half a torus, from its outer to its inner equator, where it is slit."""
    r = b.torus_radius + shift
    start = (float(geometry.mean_diameter(b)) / 2.0 + r, 0.0)
    return Meridian(start, np.pi / 2.0, (Piece(np.pi * r, np.pi),))


def elements(
    b: Bellows,
    *,
    omega: bool = False,
    along: int = ALONG,
    through: int = THROUGH,
    poisson: float = POISSON,
    held_radially: bool = False,
) -> Modelled:
    """The same figures from the finite-element model.

    Plies share pressure equally and have the same movement. Stresses are the worst ply's.

    - S2: hoop stress averaged over the section.
    - S3, U-shaped: force balance of the crest and root planes, F / (pi 2 Dm tp); toroidal:
      largest meridional membrane stress.
    - S4, S6: largest linearised meridional bending stress anywhere.
    - S5, U-shaped: axial force over pi Dm tp; toroidal: largest meridional membrane stress.
    - sums: largest linearised meridional stress on a face.
    """
    n = int(b.plies)
    tp = float(geometry.thinned_ply(b))
    hold = ("start_z", "end_z") + (("end_r",) if held_radially else ())
    plies = []
    for ply in range(n):
        shift = (ply - (n - 1) / 2.0) * tp
        meridian = torus_meridian(b, shift) if omega else u_meridian(b, shift)
        shell = Shell(
            meridian,
            tp,
            modulus=MODULUS,
            poisson=poisson,
            along=along,
            through=through,
            hold=hold,
        )
        pressed = shell.solve(pressure=PRESSURE / n)
        moved = shell.solve(moved={"end_z": (-MOVEMENT if omega else MOVEMENT) / 2.0})
        plies.append((shell, pressed, moved))

    def worst(values: list[float]) -> float:
        return max(values)

    def bending(answers: list[Answer]) -> tuple[float, str]:
        sizes = [np.abs(answer.stress.bending) for answer in answers]
        ply = int(np.argmax([size.max() for size in sizes]))
        place = answers[ply].stress.s[int(np.argmax(sizes[ply]))]
        return float(sizes[ply].max()), _place(plies[ply][0].meridian, place)

    pressed = [answer for _, answer, _ in plies]
    moved = [answer for _, _, answer in plies]
    diameters = [2.0 * shell.meridian.start[0] - b.height for shell, _, _ in plies]
    s4, where_s4 = bending(pressed)
    s6, where_s6 = bending(moved)
    membrane = worst([float(np.max(np.abs(a.stress.membrane))) for a in pressed])
    if omega:
        s3 = membrane
        s5 = worst([float(np.max(np.abs(a.stress.membrane))) for a in moved])
    else:
        s3 = worst(
            [
                abs(a.start_force + a.end_force) / (2.0 * np.pi * d * tp)
                for a, d in zip(pressed, diameters, strict=True)
            ]
        )
        s5 = worst(
            [abs(a.end_force) / (np.pi * d * tp) for a, d in zip(moved, diameters, strict=True)]
        )
    balances = [_balances(shell, a, PRESSURE / n) for shell, a, _ in plies]
    return Modelled(
        figures=Figures(
            s2=worst([a.stress.hoop_mean for a in pressed]),
            s3=s3,
            s4=0.0 if omega else s4,
            pressure_sum=worst([a.stress.surface for a in pressed]),
            s5=s5,
            s6=s6,
            movement_sum=worst([a.stress.surface for a in moved]),
            rate=sum(abs(a.end_force) for a in moved) / MOVEMENT,
        ),
        where_s4=where_s4,
        where_s6=where_s6,
        largest_s3=membrane,
        axial_balance=max(abs(axial) for axial, _ in balances),
        hoop_balance=max(abs(hoop) for _, hoop in balances),
        compliance=tuple(shell.displaced(a) / (PRESSURE / n) for shell, a, _ in plies),
    )


def _place(meridian: Meridian, s: float) -> str:
    """Name of a place on the meridian."""
    share = s / meridian.length
    if share < 0.01:
        return "crest"
    if share > 0.99:
        return "root"
    if len(meridian.pieces) == 1:
        return f"{180.0 * share:.0f}° from crest"
    first, wall = meridian.pieces[0].length, meridian.pieces[1].length
    if s < first:
        return "crest arc"
    return "wall" if s < first + wall else "root arc"


def _balances(shell: Shell, pressed: Answer, load: float) -> tuple[float, float]:
    """Relative errors of axial and hoop equilibrium under pressure, areas not from the mesh."""
    points, heading = shell.meridian.at(np.linspace(0.0, shell.meridian.length, 20_001))
    r = points[0] - shell.thickness / 2.0 * np.sin(heading)
    z = points[1] + shell.thickness / 2.0 * np.cos(heading)
    enclosed = float(np.sum((r[1:] + r[:-1]) / 2.0 * np.diff(z)))
    facing = float(np.pi * (r[0] ** 2 - r[-1] ** 2))
    hoop = pressed.stress.hoop_mean * shell.thickness * shell.meridian.length
    axial = abs(pressed.start_force + pressed.end_force)
    return axial / (load * facing) - 1.0, hoop / (load * enclosed) - 1.0


# --- variations -------------------------------------------------------------------------------


def parallel(b: Bellows) -> Bellows:
    """The same arcs and height with walls square to the axis."""
    return msgspec.structs.replace(b, pitch=4.0 * b.torus_radius)


def shallower(b: Bellows, times: float = 4.0) -> Bellows:
    """The same chart parameters and lean, convolutions smaller against the mean diameter."""
    dm = float(geometry.mean_diameter(b))
    tp = float(geometry.thinned_ply(b)) / times**2
    w = b.height / times
    return msgspec.structs.replace(
        b,
        inside_diameter=dm - w - b.plies * tp,
        tube_diameter=dm,
        height=w,
        pitch=b.pitch / times,
        torus_radius=b.torus_radius / times,
        ply_thickness=tp,
    )


def shallower_torus(b: Bellows, times: float = 4.0) -> Bellows:
    """The same C3 with a torus section smaller against the mean diameter."""
    dm, tp = float(geometry.mean_diameter(b)), float(geometry.thinned_ply(b)) / times**2
    return torus(dm=dm * 1e3, r=b.torus_radius / times * 1e3, tp=tp * 1e3, plies=int(b.plies))


def charted(c1: float, c2: float, *, lean: float = 0.0, shallow: float = 0.06) -> Bellows:
    """A one-ply bellows of 1 m mean diameter with these chart parameters and lean [degrees]."""
    w = shallow
    rm = c1 * w / 2.0
    tp = (1.82 * rm / c2) ** 2
    return Bellows(
        inside_diameter=1.0 - w - tp,
        tube_diameter=1.0,
        height=w,
        pitch=4.0 * rm + 2.0 * (w - 2.0 * rm) * np.tan(np.radians(lean)),
        convolutions=1,
        plies=1,
        ply_thickness=tp,
        torus_radius=rm,
    )


def deviation(b: Bellows, *, omega: bool = False, **options: Any) -> dict[str, float]:
    """Elements over formulas, less one, by quantity."""
    found = elements(b, omega=omega, **options).figures
    return found.over(formulas(b, omega=omega))


def rings(b: Bellows, *, hoop: bool = True) -> dict[str, float]:
    """The thin strip on hoop springs over formulas, less one: rate and S6 of U-shaped bellows."""
    found = strip(
        u_meridian(b),
        thickness=float(geometry.thinned_ply(b)),
        mean_diameter=float(geometry.mean_diameter(b)),
        modulus=MODULUS,
        movement=MOVEMENT,
        hoop=hoop,
    )
    said = formulas(b)
    return {
        "rate": found.rate * b.plies / said.rate - 1.0,
        "s6": found.bending / said.s6 - 1.0,
    }
