"""Meshes of rings on cylinders and of walls of revolution: triangles, dense where it matters.

Points are (r - origin, z).  Faces are named by what touches them.
"""

from __future__ import annotations

import itertools
import math

import msgspec
import numpy as np
from numpy.typing import NDArray

from takeup.heat.attachment.model import HotRing, Transition
from takeup.units import Array

Index = NDArray[np.intp]
Flags = NDArray[np.bool_]


class Cut(msgspec.Struct, frozen=True, kw_only=True):
    """A straight line of element sides through a wall, from the inside to the outside."""

    name: str
    start: tuple[float, float]
    end: tuple[float, float]
    along: float
    """How far along the wall it is, for drawing [m]"""
    weld: bool = False


class Meshed(msgspec.Struct, frozen=True, kw_only=True):
    """A section in triangles."""

    origin: float
    """Radius that all radial coordinates are counted from [m]"""
    points: Array
    """(2, n): r - origin, z [m]"""
    triangles: Index
    """(3, m)"""
    part: Index
    """(m,) which metal"""
    faces: dict[str, Index]
    """Name -> ends of its sides (k, 2) as point numbers"""
    cuts: tuple[Cut, ...]


def graded(start: float, end: float, first: float, ratio: float, largest: float) -> Array:
    """Points from ``start`` to ``end``: steps grow from ``first`` by ``ratio`` to ``largest``."""
    length, steps, step, done = abs(end - start), [], first, 0.0
    while done < length:
        steps.append(step)
        done += step
        step = min(step * ratio, largest)
    ends = np.concatenate(([0.0], np.cumsum(steps))) * (length / done)
    return np.asarray(start + math.copysign(1.0, end - start) * ends)


def _grid(r: Array, z: Array, keep: Flags, up: Flags) -> tuple[Array, Index, Index]:
    """Triangles of the kept cells (nr, nz) of a grid; ``up`` (nz,) tells which diagonal."""
    nr, nz = len(r), len(z)
    number = np.arange(nr * nz).reshape(nr, nz)
    a, b = number[:-1, :-1], number[1:, :-1]
    d, c = number[:-1, 1:], number[1:, 1:]
    rising = np.broadcast_to(up, a.shape)
    # falling diagonal b-d, rising diagonal a-c
    one = np.where(rising, np.stack([a, b, c]), np.stack([a, b, d]))
    two = np.where(rising, np.stack([a, c, d]), np.stack([b, c, d]))
    cells = np.stack([one[:, keep], two[:, keep]], axis=2)
    where = np.argwhere(keep)
    cell = np.repeat(np.ravel_multi_index((where[:, 0], where[:, 1]), keep.shape), 2)
    points = np.stack([np.repeat(r, nz), np.tile(z, nr)])
    return points, cells.reshape(3, -1), cell


def outline(triangles: Index) -> Index:
    """Sides (k, 2) that belong to one triangle only."""
    sides = np.concatenate([triangles[[0, 1]], triangles[[1, 2]], triangles[[2, 0]]], axis=1)
    sides = np.sort(sides, axis=0)
    _, first, count = np.unique(sides, axis=1, return_index=True, return_counts=True)
    return np.asarray(sides[:, first[count == 1]].T)


def ring(task: HotRing, fineness: float = 1.0) -> Meshed:
    """A ring with two fillets on a cylinder that goes on far enough to be at peace.

    One half is meshed: the plane through the middle of the ring is one of symmetry.  Cuts go
    through the pipe under the ring's middle, at its face, at the weld toe and once beyond.
    """
    low, foot = task.inside_radius, task.outside_radius
    half, toe = task.ring_width / 2.0, task.ring_width / 2.0 + task.leg

    def count(n: int) -> int:
        return max(2, round(n * fineness))

    film = max(task.inside.coefficient + task.pipe_outside.coefficient, 1.0)
    reach = toe + max(4.5 * math.pi / (2.0 * task.beta), 6.0 * math.sqrt(25.0 * task.wall / film))
    fillet = count(3)
    step = task.leg / fillet
    wall = np.linspace(low, foot, count(5) + 1)
    corner = np.linspace(foot, foot + task.leg, fillet + 1)
    above = graded(
        foot + task.leg, task.ring_outside_radius, step, 1.25,
        (task.ring_outside_radius - foot) / count(10),
    )  # fmt: skip
    r = np.concatenate([wall, corner[1:], above[1:]])
    if task.cover > task.leg:
        nearest = int(np.argmin(np.abs(r - (foot + task.cover))))
        if r[nearest] > foot + task.leg and nearest < len(r) - 1:
            r[nearest] = foot + task.cover
    far = graded(toe, reach, step, 1.2, 0.35 / task.beta / fineness)
    right = np.concatenate([np.linspace(half, toe, fillet + 1), far[1:]])
    z = np.concatenate([np.linspace(0.0, half, count(4) + 1)[:-1], right])
    rm, zm = (r[1:] + r[:-1]) / 2.0, (z[1:] + z[:-1]) / 2.0
    over, out = rm[:, None] > foot, zm[None, :] > half
    corner_cell = over & out & (zm[None, :] < toe) & (rm[:, None] < foot + task.leg)
    keep = ~over | ~out | corner_cell
    points, triangles, cell = _grid(r, z, keep, np.zeros(len(zm), dtype=bool))
    middle = points[:, triangles].mean(axis=1)
    beyond = (
        corner_cell.ravel()[cell]
        & ((middle[0] - foot) + (middle[1] - half) > task.leg)
    )  # fmt: skip
    triangles, cell = triangles[:, ~beyond], cell[~beyond]
    used, triangles = _renumber(triangles)
    points = points[:, used]
    part = (points[0, triangles].mean(axis=0) > foot).astype(np.intp)
    sides = outline(triangles)
    at = points[:, sides].mean(axis=2)
    tiny = 1e-9
    bare = at[0] > foot + max(task.cover, 0.0) + tiny
    end, start = at[1] > reach - tiny, at[1] < tiny
    skin = ~end & ~start & (at[0] > low + tiny)
    faces = {
        "inside": sides[at[0] < low + tiny],
        "pipe outside": sides[skin & ~bare],
        "ring": sides[skin & bare],
        "start": sides[start],
        "end": sides[end],
    }
    cuts = (
        _through(low, foot, 0.0, "under the middle of the ring"),
        _through(low, foot, half, "at the face of the ring"),
        _through(low, foot, toe, "at the weld toe", weld=True),
        _through(
            low,
            foot,
            float(z[int(np.argmin(np.abs(z - toe - 0.8 / task.beta)))]),
            "beside the ring",
        ),
    )
    return Meshed(
        origin=low,
        points=points - np.array([[low], [0.0]]),
        triangles=triangles,
        part=part,
        faces=faces,
        cuts=tuple(_less(cut, low) for cut in cuts),
    )


def _through(low: float, high: float, z: float, name: str, *, weld: bool = False) -> Cut:
    return Cut(name=name, start=(low, z), end=(high, z), along=z, weld=weld)


def _less(cut: Cut, origin: float) -> Cut:
    return msgspec.structs.replace(
        cut,
        start=(cut.start[0] - origin, cut.start[1]),
        end=(cut.end[0] - origin, cut.end[1]),
    )


def _renumber(triangles: Index) -> tuple[Index, Index]:
    used, new = np.unique(triangles, return_inverse=True)
    return used, np.asarray(new.reshape(triangles.shape))


def transition(task: Transition, fineness: float = 1.0) -> Meshed:
    """A wall of pieces meeting at corners or at formed bends, cut at every end and bend."""
    heading, metal, s, marks = _stations(task, fineness)
    half = task.wall / 2.0
    # chords of the arcs, not their lengths
    steps = np.diff(s) * np.sinc(np.diff(heading) / (2.0 * np.pi) * bool(task.knuckle))
    middle = (heading[1:] + heading[:-1]) / 2.0 if task.knuckle else heading[:-1]
    line = np.zeros((2, len(s)))
    line[0, 1:] = np.cumsum(steps * np.sin(middle))
    line[1, 1:] = np.cumsum(steps * np.cos(middle))
    if task.knuckle:
        normal = np.stack([np.cos(heading), -np.sin(heading)])
    else:
        before = np.concatenate([middle[:1], middle])
        after = np.concatenate([middle, middle[-1:]])
        turn = (before + after) / 2.0
        # a mitred corner keeps the wall of both pieces
        normal = np.stack([np.cos(turn), -np.sin(turn)]) / np.cos((after - before) / 2.0)
    through = max(2, round(4 * fineness))
    layers = np.linspace(-half, half, through + 1)
    nodes = line[:, :, None] + layers[None, None, :] * normal[:, :, None]
    count = len(s)
    keep = np.ones((count - 1, through), dtype=bool)
    _, triangles, cell = _grid(np.arange(float(count)), layers, keep, layers[1:] > 0.0)
    number = np.arange(count * (through + 1)).reshape(count, through + 1)
    piece = metal[np.asarray(cell) // through]
    faces: dict[str, Index] = {}
    for k, leg in enumerate(task.legs):
        mine = np.flatnonzero(metal == k)
        for side, column in (("inside", 0), ("outside", through)):
            ends = np.stack([number[mine, column], number[mine + 1, column]], axis=1)
            faces[f"{side} {k} {leg.name}"] = ends
    for name, row in (("start", 0), ("end", count - 1)):
        faces[name] = np.stack([number[row, :-1], number[row, 1:]], axis=1)
    cuts = tuple(
        Cut(
            name=name,
            start=(float(nodes[0, i, 0]), float(nodes[1, i, 0])),
            end=(float(nodes[0, i, -1]), float(nodes[1, i, -1])),
            along=float(s[i]),
            weld=weld,
        )
        for i, name, weld in marks
    )
    return Meshed(
        origin=task.radius,
        points=nodes.reshape(2, -1),
        triangles=triangles,
        part=np.asarray(piece),
        faces=faces,
        cuts=cuts,
    )


def _stations(
    task: Transition, fineness: float
) -> tuple[Array, Index, Array, list[tuple[int, str, bool]]]:
    """Headings (n,), piece of each step (n-1,), lengths along (n,), and where cuts are."""
    radius = task.radius + sum(leg.length * math.sin(leg.slope) for leg in task.legs)
    bend = math.sqrt(min(task.radius, abs(radius)) * task.wall)
    fine, coarse = min(task.wall / 3.0, bend / 8.0) / fineness, 0.4 * bend / fineness
    slopes = [leg.slope for leg in task.legs]
    turns = [b - a for a, b in itertools.pairwise(slopes)]
    cut_back = [abs(math.tan(turn / 2.0)) * task.knuckle for turn in turns]
    heading, piece, s = [slopes[0]], [], [0.0]
    marks: list[tuple[int, str, bool]] = []

    def walk(k: int, length: float, start: float, end: float, steps: Array) -> None:
        for a, b in itertools.pairwise(steps):
            s.append(s[-1] + float(b - a))
            heading.append(start + (end - start) * float(b) / length)
            piece.append(k)

    for k, leg in enumerate(task.legs):
        less = (cut_back[k - 1] if k else 0.0) + (cut_back[k] if k < len(turns) else 0.0)
        straight = leg.length - less
        if straight <= task.wall:
            raise_short(leg.name, straight, task.wall)
        near = graded(0.0, straight / 2.0, fine, 1.2, coarse)
        both = np.concatenate([near, straight - near[-2::-1]])
        walk(k, straight, leg.slope, leg.slope, both)
        if k == len(turns):
            break
        other = task.legs[k + 1].name
        if task.knuckle and turns[k]:
            arc = task.knuckle * abs(turns[k])
            steps = np.linspace(0.0, arc, 2 * max(4, math.ceil(arc / fine / 2.0)) + 1)
            marks.append(
                (len(s) - 1, f"at the start of the bend between {leg.name} and {other}", False)
            )
            half = len(steps) // 2
            middle = slopes[k] + turns[k] / 2.0
            walk(k, arc / 2.0, slopes[k], middle, steps[: half + 1])
            marks.append((len(s) - 1, f"in the bend between {leg.name} and {other}", False))
            walk(k + 1, arc / 2.0, middle, slopes[k + 1], steps[half:] - steps[half])
            marks.append(
                (len(s) - 1, f"at the end of the bend between {leg.name} and {other}", False)
            )
        else:
            marks.append((len(s) - 1, f"at the weld between {leg.name} and {other}", True))
    return np.array(heading), np.array(piece, dtype=np.intp), np.array(s), marks


def raise_short(name: str, straight: float, wall: float) -> None:
    """Refuse a piece whose bends leave no straight wall."""
    from takeup.errors import Refused

    raise Refused(
        f"{name} is too short for its bends: {straight * 1e3:.1f} mm of straight wall are left and "
        f"at least the wall, {wall * 1e3:.1f} mm, is needed; make it longer or the bends tighter"
    )
