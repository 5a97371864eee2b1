"""Closed forms for a ring on a cylinder and for axial gradients: the cross-check of the elements.

Sources stand beside each function.  The thin-shell formulas are those of a long thin cylinder
under a line load (Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, circular
cylindrical shells loaded symmetrically), from memory and derived again.
"""

from __future__ import annotations

import math

import msgspec
import numpy as np
from scipy.special import ive, kve

from takeup.errors import require_within
from takeup.heat.attachment.model import POISSON
from takeup.sources import Source, Standing
from takeup.units import Array

FIN = Source(
    document="Murray and Gardner: annular fins of constant thickness",
    at="closed form with Bessel functions",
    standing=Standing.SUPPORTED,
)
SHELL = Source(
    document="Theory of Plates and Shells (Timoshenko, Woinowsky-Krieger)",
    at="long thin cylinder under a line load",
    standing=Standing.SUPPORTED,
)
GRADIENT = Source(
    document="Takeup", at="w'''' + 4 b4 w = 4 b4 R a T(x) on a long cylinder", standing=Standing.DERIVED
)  # fmt: skip


class Fin(msgspec.Struct, frozen=True, kw_only=True):
    """A ring as an annular fin with an adiabatic tip."""

    m: float
    """(2 h / (k w))^1/2 [1/m]"""
    root: float
    tip: float
    mean: float
    """Area mean: it is what the free growth of the bore goes with [K]"""

    def at(self, radius: Array, bore: float, outside: float, ambient: float) -> Array:
        """Temperature [K] at ``radius`` [m]."""
        return np.asarray(
            ambient + (self.root - ambient) * _profile(self.m, np.asarray(radius), bore, outside)
        )


def _profile(m: float, r: Array, a: float, b: float) -> Array:
    # exponentially scaled Bessel functions: the scales of numerator and denominator cancel
    # but for exp(-m (r - a))
    up = ive(0, m * r) * kve(1, m * b) * np.exp(2.0 * m * (r - b)) + kve(0, m * r) * ive(1, m * b)
    down = (
        ive(0, m * a) * kve(1, m * b) * math.exp(2.0 * m * (a - b)) + kve(0, m * a) * ive(1, m * b)
    )  # fmt: skip
    return np.asarray(up / down * np.exp(-m * (r - a)))


def fin(
    bore: float, outside: float, width: float, *, film: float, conductivity: float, root: float,
    ambient: float, faces: int = 2,
) -> Fin:  # fmt: skip
    """Temperature of a ring cooled on ``faces`` of its two faces; all SI."""
    require_within("Outside radius over bore", outside / bore, low=1.0 + 1e-6, whose=FIN.document)
    m = math.sqrt(faces * film / (conductivity * width))
    return of_m(m, bore, outside, root, ambient)


def of_m(m: float, bore: float, outside: float, root: float, ambient: float) -> Fin:
    """A fin from its parameter m [1/m]."""
    over = root - ambient
    tip = ambient + over * float(_profile(m, np.array(outside), bore, outside))
    a, b = m * bore, m * outside
    back = math.exp(2.0 * (a - b))
    top = kve(1, a) * ive(1, b) - ive(1, a) * kve(1, b) * back
    bottom = ive(0, a) * kve(1, b) * back + kve(0, a) * ive(1, b)
    share = 2.0 * bore / (m * (outside**2 - bore**2)) * float(top / bottom)
    return Fin(m=m, root=root, tip=tip, mean=ambient + over * share)


def from_tip(bore: float, outside: float, *, root: float, tip: float, ambient: float) -> Fin:
    """The fin that has the measured temperature at its outside; raises where none can."""
    from scipy.optimize import brentq

    require_within(
        "Outside temperature of the ring, as a share of the root's over ambient",
        (tip - ambient) / (root - ambient), low=1e-4, high=0.9999, whose=FIN.document,
        remedy="The outside lies between ambient and the pipe.",
    )  # fmt: skip
    want = (tip - ambient) / (root - ambient)
    found = brentq(
        lambda m: float(_profile(m, np.array(outside), bore, outside)) - want,
        1e-4 / outside,
        60.0 / (outside - bore),
        xtol=1e-12,
    )
    return of_m(float(found), bore, outside, root, ambient)


class Restrained(msgspec.Struct, frozen=True, kw_only=True):
    """A hot cylinder held in by a cooler ring; thin shell, ring bearing over its width."""

    beta: float
    mismatch: float
    """Of free radial growth, shell less ring [m]"""
    line_load: float
    """Between them [N/m of circumference]"""
    inward: float
    """The shell is held in by this under the ring [m]"""
    shell_hoop: float
    """Membrane in the shell under the ring [Pa]"""
    ring_hoop: float
    """In the ring at its bore [Pa]"""
    bending_there: float
    """Size of bending stress under the middle of the ring [Pa]"""
    wall: float

    def bending(self, x: Array) -> Array:
        """Bending stress [Pa] at ``x`` [m] from the middle of the ring, + tension outside.

        Read at a weld toe it is about 7 to 12 % low against solid elements, since the ring
        takes width: the elements decide.
        """
        bx = self.beta * np.abs(x)
        return np.asarray(-self.bending_there * np.exp(-bx) * (np.cos(bx) - np.sin(bx)))


def restrained(
    *, radius: float, wall: float, bore: float, outside: float, width: float,
    shell_strain: float, ring_strain: float, shell_modulus: float, ring_modulus: float,
) -> Restrained:  # fmt: skip
    """Line load and stresses from the mismatch of free growth; ``radius`` of the middle wall."""
    v = POISSON
    beta = (3.0 * (1.0 - v * v)) ** 0.25 / math.sqrt(radius * wall)
    stiff = shell_modulus * wall**3 / (12.0 * (1.0 - v * v))
    mismatch = bore * (shell_strain - ring_strain)
    thick = (outside**2 + bore**2) / (outside**2 - bore**2)
    shell_give = 1.0 / (8.0 * beta**3 * stiff)
    ring_give = bore / (ring_modulus * width) * (thick + v)
    load = mismatch / (shell_give + ring_give)
    inward = load * shell_give
    return Restrained(
        beta=beta,
        mismatch=mismatch,
        line_load=load,
        inward=inward,
        shell_hoop=-shell_modulus * inward / radius,
        ring_hoop=load / width * thick,
        bending_there=6.0 * load / (4.0 * beta) / wall**2,
        wall=wall,
    )


def rigid_bound(modulus: float, mismatch_strain: float) -> float:
    """Bending stress [Pa] under a ring that does not give at all: 3^1/2 / (1 - v2)^1/2 E de."""
    return math.sqrt(3.0 / (1.0 - POISSON**2)) * modulus * mismatch_strain


def kink(
    radius: float, wall: float, modulus: float, expansion: float, gradient: float
) -> dict[str, float]:  # fmt: skip
    """Bending stress [Pa] where an axial gradient [K/m] starts, by what holds the end.

    ``free``: the wall goes on at even temperature; ``turn held``: free to grow and held in
    rotation; ``clamped``: both held.
    """
    v = POISSON
    beta = (3.0 * (1.0 - v * v)) ** 0.25 / math.sqrt(radius * wall)
    stiff = modulus * wall**3 / (12.0 * (1.0 - v * v))
    slope = radius * expansion * abs(gradient)
    one = 3.0 * beta * stiff * slope / wall**2
    return {"free": one, "turn held": 2.0 * one, "clamped": 4.0 * one}


def step(modulus: float, expansion: float, difference: float) -> float:
    """Largest bending stress [Pa] beside a step in temperature [K] along a long cylinder.

    0.3224 b2 D a R dT at b x = pi / 4, which is 0.293 E a dT for v = 0.3.
    """
    # 6/t2 b2 D R a dT with b2 D R = E t2 (3 (1 - v2))^1/2 / (12 (1 - v2))
    peak = math.exp(-math.pi / 4.0) * math.sin(math.pi / 4.0)
    return peak * modulus * expansion * difference * math.sqrt(0.75 / (1.0 - POISSON**2))
