"""What of a line is loose: parts that nothing joins, motions that nothing resists."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Protocol

import numpy as np
from scipy import sparse

from takeup.line.bundle import answers
from takeup.line.contact import Law
from takeup.line.frame import Frame, connected
from takeup.line.model import Line
from takeup.line.rows import Rows
from takeup.units import Array

SINGULAR = 1e-13
"""Share of its own stiffness that must be left of a degree of freedom when the others are free to
follow; a line that is held leaves 1e-10 at the very least."""


class Stands(Protocol):
    """What is asked of a prepared line."""

    @property
    def frame(self) -> Frame:
        """Nodes and elements."""

    @property
    def rows(self) -> Rows:
        """What laws see."""

    @property
    def reference(self) -> Array:
        """Stand-in stiffness of each row (m,)."""

    @property
    def free(self) -> Any:
        """Free degrees of freedom."""

    @property
    def stiffness(self) -> Any:
        """The frame alone, sparse (6N, 6N)."""


def apart(line: Line, made: Frame, found: Rows) -> str:
    """Why the parts of a line do not hang together or stand on nothing; nothing: they do."""
    touched = {column // 6 for column in found.matrix.indices.tolist()} | set(found.fixed)
    used = set(made.ends.ravel().tolist())
    for at in range(len(line.stations)):
        if at not in used:
            station = line.stations[at]
            return (
                f"station {station.name!r} (line {station.at}) is on no piece of the line; connect "
                "it or take it out"
            )
    groups = [group for group in connected(made) if set(group) & used]
    if len(groups) > 1:
        words = "; ".join(
            f"{made.names[group[0]]!r} and {len(group) - 1} more" for group in groups[:3]
        )
        return f"the line falls into {len(groups)} parts that nothing joins: {words}"
    if not touched:
        return "nothing supports the line; give an anchor at least"
    return ""


DIRECTIONS = ("moves east", "moves north", "moves up", "turns about east", "turns about north",
              "turns about up")  # fmt: skip


def _softest(matrix: Any, free: Any) -> tuple[Array, float]:
    """The motion of all degrees of freedom that meets least resistance, and how little [-]."""
    inner = matrix[free][:, free].tocsc()
    size = float(np.abs(inner.diagonal()).max())
    shifted = sparse.linalg.splu(inner + sparse.eye(len(free), format="csc") * size * SINGULAR)
    found = np.random.default_rng(1).standard_normal(len(free))
    for _ in range(4):
        found = shifted.solve(found)
        found /= np.abs(found).max()
    motion = np.zeros(matrix.shape[0])
    motion[free] = found
    return motion, float(np.abs(inner @ found).max()) / size


def _goes(made: Frame, motion: Array) -> str:
    """Which station goes furthest in ``motion``, and which way."""
    at = int(np.argmax(np.abs(motion)))
    return f"{made.names[at // 6]!r} {DIRECTIONS[at % 6]}"


def loose(made: Frame, matrix: Any, free: Any) -> str:
    """Which station moves without resistance."""
    motion, _ = _softest(matrix, free)
    return (
        f"the line is loose: {_goes(made, motion)} and nothing holds it; "
        "add a support there, or look at the hinge or rods beside it"
    )


def gives_way(ready: Stands, laws: Sequence[Law], u: Array, memory: Sequence[Array]) -> str:
    """What comes loose where the laws stand at ``u`` (m,), and which supports let it.

    Nothing where the line is held.
    """
    if not len(ready.free):
        return ""
    force, slope, _ = answers(laws, u, memory)
    b = ready.rows.matrix
    held = (ready.stiffness - b.T @ sparse.csr_array(slope) @ b).tocsr()
    motion, resistance = _softest(held, ready.free)
    if not resistance < LOOSE:
        return ""
    moved = np.abs(b @ motion)
    far = moved > 0.01 * moved.max(initial=0.0)
    quiet = np.abs(slope).sum(axis=1) == 0.0
    words = []
    for law in laws:
        rows = list(law.rows)
        if (far & quiet & (ready.reference > 0.0))[rows].any():
            bears = np.abs(force[rows]).max() > STILL
            words.append(f"{law.name!r} {'gives at its load' if bears else 'bears nothing'}")
    told = f"; {', '.join(words[:5])}{' and others' if len(words) > 5 else ''}" if words else ""
    return f"{_goes(ready.frame, motion)} and nothing holds it as the supports then stand{told}"


LOOSE = 1e-11
"""Resistance to a motion, as a share of the stiffest part, below which it counts as none."""
STILL = 1.0
"""A support that carries less than this bears nothing [N]."""
