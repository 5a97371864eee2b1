"""Statics under the hardware checks: the ring, the rods, the sections, against other methods."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from takeup.bellows.hardware import ring, sharing, stress
from takeup.bellows.hardware.model import RingShape

PINS = np.array([[0.0, 1, 0], [0, 0, 1], [0, -1, 0], [0, 0, -1]])
SECTION = (0.1, 0.3)
POISSON = 0.3


def wrench(force, at, moment=(0.0, 0.0, 0.0)):
    return np.concatenate([force, np.asarray(moment) + np.cross(at, force)])


def thrust_loads(force, radius):
    return np.array(
        [
            wrench((s * force / 2, 0.0, 0.0), p * radius)
            for s, p in zip((1, -1, 1, -1), PINS, strict=True)
        ]
    )


def flexibility(radial, axial):
    rigid = stress.torsion_constant(radial, axial) / (2 * (1 + POISSON))
    return 1 / rigid, 12 / (radial * axial**3), 12 / (axial * radial**3)


def frame(points, loads, radial, axial):
    """A closed frame of straight beams, by the displacement method.

    ``loads`` maps node to (force, moment).  Returns for each beam its end moments (2, 3) as
    torque, bending out of plane, bending in plane.  Shares nothing with the force method.
    """
    count = len(points)
    modulus, area = 1.0, 1e4 * radial * axial  # stretching left out of the ring's energy
    shear_modulus = modulus / (2 * (1 + POISSON))
    torsion = stress.torsion_constant(radial, axial)
    out, plane = radial * axial**3 / 12, axial * radial**3 / 12
    stiffness = np.zeros((6 * count, 6 * count))
    beams = []
    for i in range(count):
        j = (i + 1) % count
        along = points[j] - points[i]
        length = np.linalg.norm(along)
        t = along / length
        x = np.array([1.0, 0, 0])
        n = np.cross(x, t)
        turn = np.kron(np.eye(4), np.stack([t, n, x]))  # local axes t, n, x
        k = np.zeros((12, 12))
        for a, value in ((0, modulus * area), (3, shear_modulus * torsion)):
            k[np.ix_([a, a + 6], [a, a + 6])] += value / length * np.array([[1, -1], [-1, 1]])
        # deflection along n bends about x, along x bends about n (opposite sign)
        for shift, bend, inertia, sign in ((1, 5, plane, 1.0), (2, 4, out, -1.0)):
            e = modulus * inertia / length**3
            m = e * np.array(
                [
                    [12, 6 * length, -12, 6 * length],
                    [6 * length, 4 * length**2, -6 * length, 2 * length**2],
                    [-12, -6 * length, 12, -6 * length],
                    [6 * length, 2 * length**2, -6 * length, 4 * length**2],
                ]
            )
            flip = np.diag([1, sign, 1, sign])
            k[np.ix_([shift, bend, shift + 6, bend + 6], [shift, bend, shift + 6, bend + 6])] += (
                flip @ m @ flip
            )
        spots = np.r_[6 * i : 6 * i + 6, 6 * j : 6 * j + 6]
        stiffness[np.ix_(spots, spots)] += turn.T @ k @ turn
        beams.append((spots, k, turn))
    force = np.zeros(6 * count)
    for node, (f, m) in loads.items():
        force[6 * node : 6 * node + 6] += np.concatenate([f, m])
    free = np.arange(6, 6 * count)  # one node held: loads balance, so it takes nothing
    move = np.zeros(6 * count)
    move[free] = np.linalg.solve(stiffness[np.ix_(free, free)], force[free])
    held = stiffness[:6] @ move - force[:6]
    assert np.abs(held).max() < 1e-5 * np.abs(force).max()
    ends = [(k @ (turn @ move[spots])) for spots, k, turn in beams]
    return np.array([[e[3:6], -e[9:12]] for e in ends])


def nodes(shape, per_quadrant):
    share = np.arange(4 * per_quadrant) / per_quadrant
    if shape == RingShape.ROUND:
        angle = share * np.pi / 2
        return np.stack([0 * angle, np.cos(angle), np.sin(angle)], axis=-1)
    corners = np.array([[0.0, 1, 0], [0, 1, 1], [0, 0, 1], [0, -1, 1], [0, -1, 0], [0, -1, -1],
                        [0, 0, -1], [0, 1, -1], [0, 1, 0]])  # fmt: skip
    place = share * 2
    low = place.astype(int)
    return corners[low] + (place - low)[:, None] * (corners[low + 1] - corners[low])


@pytest.mark.parametrize("shape", list(RingShape))
@pytest.mark.parametrize("radius", [1.0, 0.4])
def test_ring_agrees_with_the_closed_forms(shape, radius):
    """F R / 4 at the pins and 0.104 F R at 45 degrees; square F a / 8 at mid-side, no torque."""
    loads = thrust_loads(1000.0, radius)

    place, torque, out, plane = ring.solve(shape, radius, loads, flexibility(*SECTION))

    assert np.abs(out).max() == pytest.approx(1000.0 * radius / 4, rel=1e-9)
    assert abs(out[np.isclose(place, 0.0)][0]) == pytest.approx(1000.0 * radius / 4, rel=1e-9)
    assert np.abs(plane).max() < 1e-8
    if shape == RingShape.ROUND:
        assert np.abs(torque).max() == pytest.approx(250.0 * radius * (math.sqrt(2) - 1), rel=1e-9)
        assert place[np.abs(torque).argmax()] % 1 == pytest.approx(0.5)
        assert round((math.sqrt(2) - 1) / 4, 3) == 0.104
    else:
        assert np.abs(torque).max() < 1e-8
        assert np.abs(out).max() == pytest.approx(1000.0 * (2 * radius) / 8, rel=1e-9)


@pytest.mark.parametrize("shape", list(RingShape))
def test_ring_agrees_with_a_frame_of_beams_under_any_load(shape):
    """Bending and torque round the ring agree with a frame model for unequal, skew pin loads."""
    radius, per = 0.8, 24
    rng = np.random.default_rng(3)
    forces = rng.normal(size=(4, 3))
    moments = 0.3 * rng.normal(size=(4, 3))
    at = PINS * radius
    forces[3] -= forces.sum(axis=0)
    moments[3] -= (moments + np.cross(at, forces)).sum(axis=0)
    loads = np.array([wrench(f, p, m) for f, p, m in zip(forces, at, moments, strict=True)])

    places, *found = ring.solve(shape, radius, loads, flexibility(*SECTION))
    beams = frame(
        radius * nodes(shape, per),
        {per * i: (f, m) for i, (f, m) in enumerate(zip(forces, moments, strict=True))},
        *SECTION,
    )

    for which, action in enumerate(found):
        size = np.abs(np.stack(found)).max()
        # away from pins and corners, where the action jumps or turns into another
        middle = [k for k in range(4 * per) if (k % per) in {5, 6, 17, 18}]
        # the tangent at a node lies between those of its two beams
        # the tangent at a node lies between those of its two beams
        here = np.array([(beams[k - 1][1] + beams[k][0])[which] / 2 for k in middle])
        there = np.array([np.interp(k / per, places, action) for k in middle])
        assert np.abs(np.abs(here) - np.abs(there)).max() < 0.005 * size


def test_torsion_of_a_rectangle_follows_the_series():
    """Torsion modulus and constant stay within 1 % of the exact series for any aspect."""
    odd = np.arange(1, 200, 2)
    for long in (1.0, 1.3, 2.0, 3.0, 6.0):
        x = odd * math.pi * long / 2
        constant = long / 3 * (1 - 192 / math.pi**5 / long * np.sum(np.tanh(x) / odd**5))
        largest = 1 - 8 / math.pi**2 * np.sum(1 / (odd**2 * np.cosh(np.minimum(x, 300))))
        assert stress.torsion_constant(1.0, long) == pytest.approx(constant, rel=0.01)
        assert stress.torsion_modulus(long, 1.0) == pytest.approx(constant / largest, rel=0.01)


def test_thread_root_is_that_of_the_published_profile():
    """M20 x 2.5 has a root of 16.933 mm and M64 x 6 one of 56.639 mm."""
    assert stress.root_diameter(20.0, 2.5) == pytest.approx(16.933, abs=5e-4)
    assert stress.root_diameter(64.0, 6.0) == pytest.approx(56.639, abs=5e-4)


@given(count=st.integers(2, 9), gone=st.sets(st.integers(0, 8), max_size=4))
@settings(max_examples=50, deadline=None)
def test_most_that_a_seating_puts_on_a_rod_is_the_optimum_of_a_linear_program(count, gone):
    """The enumeration of seatings agrees with a linear program, rod by rod."""
    where = sharing.places(count)
    active = np.array([i not in gone for i in range(count)])
    index = np.flatnonzero(active)

    found = sharing.most(where, active)

    for i in range(count):
        best = 0.0
        if active[i]:
            result = linprog(
                -(index == i).astype(float),
                A_eq=np.vstack([np.ones(len(index)), where[index].T]),
                b_eq=[1.0, 0.0, 0.0],
            )
            best = -result.fun if result.success else 0.0
        assert found[i] == pytest.approx(best, abs=1e-7)


@given(
    count=st.integers(2, 9),
    gone=st.sets(st.integers(0, 8), max_size=3),
    slack=st.lists(st.floats(0, 0.3), min_size=9, max_size=9),
)
@settings(max_examples=50, deadline=None)
def test_elastic_rods_balance_and_their_ends_stay_in_a_plane(count, gone, slack):
    """Tensions sum to the thrust, have no moment, and follow one tilted stiff end plate."""
    where = sharing.places(count)
    active = np.array([i not in gone for i in range(count)])
    gap = np.array(slack[:count])

    share = sharing.elastic(where, active, gap)

    if share is None:
        assert not len(sharing.seatings(where, active))
        return
    assert share.sum() == pytest.approx(1.0)
    assert np.abs(share @ where).max() < 1e-9
    assert (share >= -1e-9).all()
    assert not share[~active].any()
    bears = share > 1e-9
    plane = np.column_stack([np.ones(count), where])
    tilt, *_ = np.linalg.lstsq(plane[bears], (share + gap)[bears], rcond=None)
    assert np.allclose(plane[bears] @ tilt, (share + gap)[bears], atol=1e-8)
    assert share.max() <= sharing.most(where, active).max() + 1e-9
    if np.linalg.matrix_rank(plane[bears]) == 3:
        left_slack = active & ~bears
        assert (plane[left_slack] @ tilt <= gap[left_slack] + 1e-7).all()


def test_one_rod_of_four_gone_leaves_two_opposite_rods_to_hold_all():
    """Statics leave nothing for the rod opposite the missing one, however stiff the ends are."""
    where = sharing.places(4)
    active = np.array([True, True, True, False])

    assert sharing.elastic(where, active) == pytest.approx([0.5, 0, 0.5, 0], abs=1e-12)
    assert sharing.worst(where, active) == pytest.approx([0.5, 0, 0.5, 0])


def test_two_neighbours_of_four_gone_leave_nothing_that_balances():
    """Two neighbouring rods lie on one side of the axis: the thrust has no counterpart."""
    active = np.array([True, True, False, False])

    assert sharing.worst(sharing.places(4), active) is None
    assert sharing.elastic(sharing.places(4), active) is None


def test_three_rods_share_evenly_whatever_the_nuts_do():
    """Three rods are statically determinate: a third each, worst seating or not."""
    active = np.ones(3, dtype=bool)

    assert sharing.most(sharing.places(3), active) == pytest.approx([1 / 3] * 3)


def test_cracked_section_without_crack_is_the_net_section():
    """Both formulas meet at no crack, and a crack only raises the stress."""
    plain = stress.net_section(1e5, 0.2, 0.08, 0.05)

    assert stress.cracked_section(1e5, 0.2, 0.08, 0.05, 0.0) == pytest.approx(plain)
    assert stress.cracked_section(1e5, 0.2, 0.08, 0.05, 0.02) > plain
