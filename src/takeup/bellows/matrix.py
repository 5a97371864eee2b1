"""Stiffness of one bellows of finite length between its two ends, as a line solver needs it.

Local axes: x along the bellows from end 1 to end 2, y and z square to it, right-handed.  The
motion of an end is (ux, uy, uz, rx, ry, rz) [m, rad] and the force on it (Fx, Fy, Fz, Mx, My,
Mz) [N, N.m]; both ends together are 12.  All functions work on arrays of bellows: a matrix has
the shape (..., 12, 12) with the bellows in front.

A bellows is the beam whose bending stiffness is EI = f q Dm^2 / 8.  Under a pure moment it
turns by M N q / EI, which is the standards' angular rate f Dm^2 / (8 N); with parallel ends it
resists sideways with 12 EI / Lb^3, which is their lateral rate 3 f Dm^2 / (2 N Lb^2).  One
beam thus holds both, and neither formula contains a shear flexibility.  Membrane shear of the
convolutions adds about one per cent to the lateral flexibility where Lb is above half of Dm, but
7 % at a fifth and 18 % at an eighth of it (:func:`shear_share`; solid elements bear it out in
``benchmarks/bellows_beam.py``).
"""

from __future__ import annotations

import numpy as np

from takeup.bellows import geometry, stiffness
from takeup.bellows.model import Bellows
from takeup.errors import OutOfRange
from takeup.sources import Source, Standing
from takeup.units import Array, Metre, Newton, NewtonMetrePerRadian, NewtonPerMetre, Pascal, Ratio

SOURCE = Source(
    document="Takeup",
    at="beam with EI = f q Dm^2 / 8 between the ends, from EJMA's axial rate of one convolution",
    standing=Standing.DERIVED,
)
PRESSURE_SOURCE = Source(
    document="Takeup",
    at=(
        "beam-column under the thrust P Ae: fluid work P Ae times the growth of the axis' length; "
        "the same column as Haringx, Philips Research Reports 7 (1952)"
    ),
    standing=Standing.DERIVED,
)
PRESSURE_CAUTION = (
    "Stiffness under pressure is that of an ideal elastic column, which yields sideways at about "
    "5.9 times the column squirm pressure of the standards. It says how soft the bellows gets, "
    "not how much pressure it may see: that is the squirm check."
)
MOST_SHEAR = 0.05
"""Share of membrane shear in lateral flexibility from which an element says so."""
IDEAL = 4.0 * np.pi**2
"""Slenderness P Ae L^2 / EI at which a column with both ends fixed gives way."""
MOST_TENSION = 1e4
"""Slenderness up to which external pressure is followed; far beyond any bellows."""


def bending_stiffness(b: Bellows, f: NewtonPerMetre) -> Ratio:
    """EI of the equal beam, f q Dm^2 / 8 [N.m2]; ``f`` is the rate of one convolution."""
    dm = geometry.mean_diameter(b)
    return f * b.pitch * dm * dm / 8.0


def bellows(
    b: Bellows,
    f: NewtonPerMetre,
    torsion: NewtonMetrePerRadian,
    compression: Newton = 0.0,
) -> Array:
    """Stiffness between both ends of one bellows, shape (..., 12, 12) [N/m, N, N.m/rad].

    ``f`` is the axial rate of one convolution [N/m], ``torsion`` the rate of
    :func:`takeup.bellows.torsion.rate`.  ``compression`` is the axial load of the equal
    column: P Ae less the tension in the bellows wall.  It is 0 unless asked for, and stiffness
    is then that of the unpressurised bellows.  Raises
    :class:`takeup.errors.OutOfRange` where the load reaches that of ideal column squirm.
    """
    length = geometry.convoluted_length(b)
    return beam(stiffness.axial(b, f), bending_stiffness(b, f), torsion, length, compression)


def beam(
    axial: NewtonPerMetre,
    bending: Ratio,
    torsion: NewtonMetrePerRadian,
    length: Metre,
    compression: Newton = 0.0,
) -> Array:
    """Stiffness of a slender straight beam between its ends, shape (..., 12, 12).

    ``axial`` is EA / L [N/m], ``bending`` EI [N.m2], ``torsion`` G J / L [N.m/rad], ``length``
    [m], ``compression`` [N].  Exact also with axial load (stability functions).
    """
    near, far = stability_functions(_slenderness(bending, length, compression))
    turn = bending / length
    sway = turn * (near + far) / length
    side = 2.0 * sway / length - compression / length
    shape = np.broadcast_shapes(*(np.shape(each) for each in (axial, torsion, side, near)))
    k = np.zeros((*shape, 12, 12))
    for at, value in ((0, axial), (3, torsion)):
        k[..., at, at] = k[..., at + 6, at + 6] = value
        k[..., at, at + 6] = k[..., at + 6, at] = -np.asarray(value)
    # Deflection y turns the axis by +rz, deflection z by -ry.
    for move, spin, sign in ((1, 5, 1.0), (2, 4, -1.0)):
        a, c, d, e = move, spin, move + 6, spin + 6
        k[..., a, a] = k[..., d, d] = side
        k[..., a, d] = k[..., d, a] = -side
        k[..., c, c] = k[..., e, e] = turn * near
        k[..., c, e] = k[..., e, c] = turn * far
        for one, two, way in ((a, c, 1.0), (a, e, 1.0), (d, c, -1.0), (d, e, -1.0)):
            k[..., one, two] = k[..., two, one] = sign * way * sway
    return k


def stability_functions(slenderness: Ratio) -> tuple[Array, Array]:
    """Near and far end stiffness of a beam-column, in EI/L: 4 and 2 without axial load [-].

    ``slenderness`` is z = N L^2 / EI, N compression; negative for tension.  With C = cos
    sqrt(z) and S = sin sqrt(z) / sqrt(z): near = z (S - C) / D, far = z (1 - S) / D,
    D = 2 - 2 C - z S.
    """
    z = np.asarray(slenderness, dtype=float)
    series = np.abs(z) < 1.0
    small, other = np.where(series, z, 0.0), np.where(series, 4.0, z)
    a, b, d = (_power_series(small, which) for which in range(3))
    root = np.sqrt(np.abs(other))
    hyper = np.where(other < 0.0, root, 0.0)
    c = np.where(other > 0.0, np.cos(root), np.cosh(hyper))
    s = np.where(other > 0.0, np.sin(root), np.sinh(hyper)) / root
    big = 2.0 - 2.0 * c - other * s
    with np.errstate(divide="ignore", invalid="ignore"):
        near = np.where(series, a / d, other * (s - c) / big)
        far = np.where(series, b / d, other * (1.0 - s) / big)
    return near, far


def _power_series(z: Array, which: int) -> Array:
    """(S - C)/z, (1 - S)/z and D/z^2 as power series, for small z."""
    total = np.zeros_like(z)
    for j in reversed(range(10)):
        odd = float(np.prod(np.arange(1.0, 2 * j + 4)))
        even = odd * (2 * j + 4)
        term = (2.0 * (j + 1) / odd, 1.0 / odd, (2.0 * j + 2.0) / even)[which]
        total = total * z + (term if j % 2 == 0 else -term)
    return total


def _slenderness(bending: Ratio, length: Metre, compression: Newton) -> Array:
    z = np.asarray(compression * length * length / np.asarray(bending), dtype=float)
    bad = (z >= IDEAL * (1.0 - 1e-9)) | (z < -MOST_TENSION)
    if bad.any():
        least = np.asarray(bending) / (np.asarray(length) * np.asarray(length))
        where = np.broadcast_to(np.asarray(compression, dtype=float), z.shape)[bad]
        high = np.broadcast_to(IDEAL * least, z.shape)[bad]
        low = np.broadcast_to(-MOST_TENSION * least, z.shape)[bad]
        raise OutOfRange(
            "Axial load of the equal column, P Ae",
            float(where.flat[0]),
            float(low.flat[0]),
            float(high.flat[0]),
            "N",
            "beam-column theory (ideal squirm with both ends fixed)",
            "Lower the pressure, or leave it out of the stiffness.",
        )
    return z


def six(matrix: Array) -> Array:
    """Forces on end 2 against its motion with end 1 held, shape (..., 6, 6)."""
    return np.asarray(matrix)[..., 6:, 6:]


def reversed_ends(matrix: Array) -> Array:
    """The same bellows turned end for end (half a turn about z), shape (..., 12, 12)."""
    sign = np.array([-1.0, -1.0, 1.0, -1.0, -1.0, 1.0] * 2)
    order = np.r_[6:12, 0:6]
    swapped = np.asarray(matrix)[..., order[:, None], order]
    found: Array = sign[:, None] * swapped * sign
    return found


def thrust(pressure: Pascal, area: Ratio) -> Array:
    """What pressure makes a bellows press on its neighbours, shape (..., 12) [N].

    -P Ae on the node at end 1 and +P Ae on that at end 2: it pushes them apart.
    """
    push = np.asarray(pressure * area, dtype=float)
    found = np.zeros((*push.shape, 12))
    found[..., 0], found[..., 6] = -push, push
    return found


def shear_share(b: Bellows, f: NewtonPerMetre, modulus: Pascal) -> Ratio:
    """Lateral flexibility from membrane shear over that from bending, ends parallel [-].

    Side load makes the shear flow V sin(phi) / (pi r); its work along the developed meridian
    is a flexibility N s / (pi G n tp r) with r taken at mid-height.  It says where leaving it
    out is sound (U-shaped convolutions); it is not part of any rate.
    """
    wall = b.plies * geometry.thinned_ply(b)
    developed = geometry.metal_area(b) / wall
    shear = modulus / 2.6
    radius = geometry.mean_diameter(b) / 2.0
    flexible = b.convolutions * developed / (np.pi * shear * wall * radius)
    return flexible * stiffness.lateral_single(b, f)
