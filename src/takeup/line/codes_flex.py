"""Flexibility factors that the frame needs, by ASME B31.3 Appendix D.

What stresses need on top (stress intensification) lives with the code checks.
"""

from __future__ import annotations

import math

from takeup.line.model import Bend, Ends, Pipe
from takeup.sources import Source, Standing

SOURCE = Source(
    document="ASME B31.3",
    edition="Appendix D form",
    at="flexibility factor of bends, flanged ends, pressure stiffening",
    standing=Standing.CONFIRMED,
)


def mean_radius(pipe: Pipe) -> float:
    """Mean radius r2 of the matching pipe [m]."""
    return (pipe.outside - pipe.wall) / 2.0


def characteristic(pipe: Pipe, bend: Bend) -> float:
    """Flexibility characteristic h [-] of a smooth bend or a closely spaced mitre."""
    r2 = mean_radius(pipe)
    if bend.mitre is None:
        return pipe.wall * bend.radius / r2**2
    # Closely spaced cuts: s = 2 R1 tan(theta), so that h = (cot theta / 2) s T / r2^2 = R1 T/r2^2.
    return pipe.wall * bend.radius / r2**2


def bend_flexibility(
    pipe: Pipe, bend: Bend, pressure: float = 0.0, modulus: float = math.inf
) -> float:
    """Flexibility factor k of a bend [-], at least 1; ``pressure`` stiffens it where given."""
    h = characteristic(pipe, bend)
    k = 1.65 / h if bend.mitre is None else 1.52 / h ** (5.0 / 6.0)
    k *= {Ends.NONE: 1.0, Ends.ONE: h ** (1.0 / 6.0), Ends.BOTH: h ** (1.0 / 3.0)}[bend.flanged]
    if pressure > 0.0:
        r2 = mean_radius(pipe)
        k /= 1.0 + 6.0 * (pressure / modulus) * (r2 / pipe.wall) ** (7.0 / 3.0) * (
            bend.radius / r2
        ) ** (1.0 / 3.0)
    return float(max(1.0, k))
