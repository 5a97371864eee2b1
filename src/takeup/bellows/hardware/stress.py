"""Stresses in rods, plates, pins, rings and welds: one function, one relation, SI throughout.

Derived from elementary strength of materials unless a function says otherwise.
"""

from __future__ import annotations

import math


def root_diameter(diameter: float, pitch: float) -> float:
    """Root diameter d3 = d - 1.2269 p of a 60 degree thread [m].

    ISO 68-1 profile (from memory, supported: 16.933 mm for M20 x 2.5): thread height 17/24 H
    with H = p sqrt(3) / 2; unified inch threads have the same profile.
    """
    return diameter - 2.0 * 17.0 / 24.0 * math.sqrt(3.0) / 2.0 * pitch


def round_area(diameter: float) -> float:
    """Area pi d^2 / 4 [m2]."""
    return math.pi * diameter * diameter / 4.0


def plate_bending(moment: float, width: float, depth: float) -> float:
    """6 M / (b h^2) of a rectangle of width b, h in the plane of bending [Pa]."""
    return 6.0 * moment / (width * depth * depth)


def pin_shear(force: float, diameter: float, planes: int) -> float:
    """F / (m A), mean over the section, m shear planes [Pa]."""
    return force / (planes * round_area(diameter))


def pin_bending(moment: float, diameter: float) -> float:
    """32 M / (pi d^3) [Pa]."""
    return 32.0 * moment / (math.pi * diameter**3)


def pin_moment_double(force: float, middle: float, outer: float, gap: float) -> float:
    """Moment at mid-length of a pin in double shear [N.m].

    Bearing pressure spread evenly over each plate: M = F/2 (to/2 + g + t/4), t the middle and
    to each outer plate, g the gap between them.
    """
    return force / 2.0 * (outer / 2.0 + gap + middle / 4.0)


def pin_moment_single(force: float, plate: float, gap: float) -> float:
    """Moment of a pin in single shear, held tight in one plate [N.m]: M = F (t/2 + g).

    An assumption: how a pin in single shear is kept from tilting is a matter of its heads.
    """
    return force * (plate / 2.0 + gap)


def bearing(force: float, diameter: float, thickness: float) -> float:
    """F / (d t) on the projected area [Pa]."""
    return force / (diameter * thickness)


def tear_out(force: float, edge: float, hole: float, thickness: float) -> float:
    """Shear on two planes from the edge of the hole straight to the plate end [Pa].

    F / (2 (e - dh/2) t): the shortest planes, on the safe side.
    """
    return force / (2.0 * (edge - hole / 2.0) * thickness)


def net_section(force: float, width: float, hole: float, thickness: float) -> float:
    """F / ((b - dh) t) beside the hole [Pa]."""
    return force / ((width - hole) * thickness)


def cracked_section(
    force: float, width: float, hole: float, thickness: float, lost: float
) -> float:
    """Largest stress beside the hole when a crack has eaten ``lost`` of the width from one edge.

    What is left has its middle ``lost``/2 off the load line: tension plus bending on the net
    section, the hole taken in its middle [Pa].  Strength of the sound metal only; says nothing
    about how fast the crack grows.
    """
    left = width - lost
    area = (left - hole) * thickness
    modulus = thickness * (left**3 - hole**3) / (6.0 * left)
    return force / area + force * lost / 2.0 / modulus


def net_bending(moment: float, depth: float, hole: float, width: float) -> float:
    """Bending of a rectangle with a central hole through its width [Pa]: 6 M h / (b (h^3 - d^3))."""
    return 6.0 * moment * depth / (width * (depth**3 - hole**3))


def torsion_modulus(a: float, b: float) -> float:
    """T over the largest shear stress of a solid a x b rectangle [m3].

    Polynomial fit to the series solution, within 0.5 % (Roark, Formulas for Stress and Strain,
    torsion of a solid rectangular section; from memory, tested against the series).
    """
    long, short = max(a, b) / 2.0, min(a, b) / 2.0
    k = short / long
    fit = 1.0 + 0.6095 * k + 0.8865 * k**2 - 1.8023 * k**3 + 0.9100 * k**4
    return 8.0 * long * short**2 / (3.0 * fit)


def torsion_constant(a: float, b: float) -> float:
    """J of a solid a x b rectangle [m4] (Roark, from memory, tested against the series)."""
    long, short = max(a, b) / 2.0, min(a, b) / 2.0
    k = short / long
    return long * short**3 * (16.0 / 3.0 - 3.36 * k * (1.0 - k**4 / 12.0))


def weld_on_leg(
    along: float, across: float, moment: float, leg: float, length: float, modulus: float
) -> float:
    """Resultant stress on the leg area of a fillet weld group [Pa].

    ``length`` is that of all its lines, ``modulus`` their line modulus against the moment [m2];
    forces along and across and the stress from the moment are square to each other.
    """
    return math.hypot(along / length, across / length, moment / modulus) / leg
