"""A second witness: half a convolution as a thin strip on hoop springs, far from the axis.

The meridian bends with plate stiffness and does not stretch; each metre of it is a ring that
resists a radial displacement u with E t u / R^2, R the mean radius for all. Ends do not rotate.
This is the theory behind charts of C1 and C2, in forty lines of finite differences and without
any finite element. With ``hoop=False`` the rings are cut and only bending is left.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from benchmarks.axisymmetric import Meridian


class Strip(NamedTuple):
    """What half the movement of a convolution does to the strip."""

    rate: float
    """Axial rate of the whole convolution [N/m]"""
    bending: float
    """Largest bending stress on a face for the movement given [Pa]"""


def strip(
    meridian: Meridian,
    *,
    thickness: float,
    mean_diameter: float,
    modulus: float,
    movement: float,
    poisson: float = 0.3,
    hoop: bool = True,
    cells: int = 400,
) -> Strip:
    """Rate and bending stress of a convolution moved by ``movement`` [m] from crest to crest."""
    step = meridian.length / cells
    _, heading = meridian.at(step * (np.arange(cells) + 0.5))
    plate = modulus * thickness**3 / (12.0 * (1.0 - poisson**2))
    ahead, here = np.eye(cells, cells + 1, 1), np.eye(cells, cells + 1)
    slope, mean = (ahead - here) / step, (ahead + here) / 2.0
    # unknowns: rotation at the nodes, and the radial displacement of the start
    radial = np.hstack(
        [
            -np.tril(np.ones((cells, cells))) @ (np.sin(heading)[:, None] * mean) * step,
            np.ones((cells, 1)),
        ]
    )
    energy = np.zeros((cells + 2, cells + 2))
    energy[:-1, :-1] = plate * step * slope.T @ slope
    if hoop:
        energy += 4.0 * modulus * thickness / mean_diameter**2 * step * radial.T @ radial
    axial = np.append(np.cos(heading) @ mean * step, 0.0)
    free = np.r_[1:cells, cells + 1] if hoop else np.arange(1, cells)
    system = np.block(
        [
            [energy[np.ix_(free, free)], axial[free, None]],
            [axial[None, free], np.zeros((1, 1))],
        ]
    )
    found = np.linalg.solve(system, np.append(np.zeros(len(free)), movement / 2.0))
    rotation = np.zeros(cells + 2)
    rotation[free] = found[:-1]
    moment = plate * slope @ rotation[:-1]
    return Strip(
        rate=abs(found[-1]) * np.pi * mean_diameter / movement,
        bending=float(np.max(np.abs(moment)) * 6.0 / thickness**2),
    )
