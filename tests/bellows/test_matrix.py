"""Stiffness of bellows and joints between their ends, and thrust."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from takeup.bellows import (
    assembly,
    combine,
    elements,
    geometry,
    matrix,
    stability,
    stiffness,
    thrust,
    torsion,
)
from takeup.bellows.combine import Hold, held, held_in_row, in_row, with_arms
from takeup.bellows.elements import Element, Spool, element_from, spooled
from takeup.bellows.model import (
    Assembly,
    Basis,
    Bellows,
    BellowsCase,
    Condition,
    Convolution,
    Role,
    Treatment,
)
from takeup.errors import Contradiction, MissingInput, OutOfRange, Refused

PLAIN = Bellows(
    inside_diameter=0.6,
    height=0.05,
    pitch=0.048,
    convolutions=8,
    plies=2,
    ply_thickness=0.001,
    torus_radius=0.012,
)
F = 1828.5e3
E = 160e9
LB = 0.384
DM = 0.652


def one(pressure: float | None = None, b: Bellows = PLAIN, f: Any = F) -> Element:
    """The element of the sound two-ply DN 600 bellows, changed as asked."""
    return element_from(b, f, E, pressure=pressure)


def ideal() -> float:
    """Ideal squirm pressure with both ends fixed, 2 pi f / (N^2 q)."""
    return 2.0 * np.pi * F / (8**2 * 0.048)


def varied(count: int = 5) -> Bellows:
    """Several bellows at once."""
    step = np.linspace(0.8, 1.2, count)
    return Bellows(
        inside_diameter=0.6 * step,
        height=0.05 * step,
        pitch=0.048 * step[::-1],
        convolutions=np.arange(4.0, 4.0 + count),
        plies=np.full(count, 2.0),
        ply_thickness=0.001 * step,
        torus_radius=0.012 * step[::-1],
    )


bellows_of = st.builds(
    Bellows,
    inside_diameter=st.floats(0.2, 3.0),
    height=st.floats(0.045, 0.09),
    pitch=st.floats(0.042, 0.08),
    convolutions=st.integers(1, 20).map(float),
    plies=st.integers(1, 3).map(float),
    ply_thickness=st.floats(0.0005, 0.002),
    torus_radius=st.just(0.0105),
)


@given(bellows_of, st.floats(1e5, 1e8))
@settings(max_examples=40, deadline=None)
def test_one_beam_holds_the_three_rates_of_the_standards(b: Bellows, f: float) -> None:
    """Axial, lateral with parallel ends and angular under a pure moment are EJMA's formulas."""
    six = one(b=b, f=f).six
    assert six[0, 0] == pytest.approx(stiffness.axial(b, f))
    assert six[1, 1] == pytest.approx(stiffness.lateral_single(b, f))
    assert six[2, 2] == pytest.approx(stiffness.lateral_single(b, f))
    soft = np.linalg.inv(six)
    assert 1.0 / soft[4, 4] == pytest.approx(stiffness.angular(b, f))
    assert 1.0 / soft[5, 5] == pytest.approx(stiffness.angular(b, f))


@given(bellows_of, st.floats(1e5, 1e8))
@settings(max_examples=40, deadline=None)
def test_matrix_is_symmetric_and_positive_and_lets_rigid_motions_pass(b: Bellows, f: float) -> None:
    """Six motions cost nothing, six cost energy, and forces balance."""
    k = one(b=b, f=f).matrix
    assert (k == k.T).all()
    rigid = np.vstack([np.eye(6), combine.carry(geometry.convoluted_length(b))])
    scale = np.sqrt(np.diag(k))
    assert np.abs(k @ rigid / scale[:, None] ** 1 / scale.max()).max() < 1e-9
    even = k / np.outer(scale, scale)
    values = np.linalg.eigvalsh(even)
    assert (np.abs(values[:6]) < 1e-9).all()
    assert (values[6:] > 1e-6).all()


def test_end_forces_by_hand() -> None:
    """End 2 pushed by +y with both ends kept square: V at the ends, moments V L / 2 on both."""
    u = np.zeros(12)
    u[7] = 0.01
    force = one().matrix @ u
    v = 3.0 * F * DM**2 / (2.0 * 8 * LB**2) * 0.01
    assert force[7] == pytest.approx(v)
    assert force[1] == pytest.approx(-v)
    assert force[5] == pytest.approx(-v * LB / 2.0)
    assert force[11] == pytest.approx(-v * LB / 2.0)
    u = np.zeros(12)
    u[8] = 0.01
    force = one().matrix @ u
    assert force[[4, 10]] == pytest.approx([v * LB / 2.0] * 2)


def test_turned_end_for_end_is_the_same_bellows() -> None:
    """A bellows has no front: reversal gives its own matrix, and twice gives any matrix back."""
    k = one(2e5).matrix
    assert matrix.reversed_ends(k) == pytest.approx(k, rel=1e-12)
    lopsided = with_arms(k, 0.3, 0.1)
    assert matrix.reversed_ends(lopsided) == pytest.approx(with_arms(k, 0.1, 0.3), rel=1e-9)
    assert (matrix.reversed_ends(matrix.reversed_ends(lopsided)) == lopsided).all()


@given(st.floats(0.0, 2.0 * np.pi))
@settings(max_examples=30, deadline=None)
def test_no_direction_round_the_axis_is_special(turn: float) -> None:
    """Turned about x by any angle the matrix stays what it is."""
    c, s = np.cos(turn), np.sin(turn)
    block = np.array([[1.0, 0.0, 0.0], [0.0, c, s], [0.0, -s, c]])
    r = np.kron(np.eye(4), block)
    for k in (one().matrix, one(3e5).matrix, spooled((one(), one()), (Spool(length=1.0),)).matrix):
        assert r @ k @ r.T == pytest.approx(k, rel=1e-9, abs=1e-9 * k.max())


def test_arrays_give_what_scalars_give() -> None:
    """Each bellows of an array gets the very matrix it gets alone."""
    b, f = varied(), np.linspace(1e6, 3e6, 5)
    k = element_from(b, f, E, pressure=np.linspace(0.0, 2e5, 5)).matrix
    assert k.shape == (5, 12, 12)
    for at in range(5):
        fields = msgspec.structs.asdict(b)
        alone = Bellows(
            **{name: v[at] if isinstance(v, np.ndarray) else v for name, v in fields.items()}
        )
        got = element_from(alone, f[at], E, pressure=np.linspace(0.0, 2e5, 5)[at]).matrix
        assert (got == k[at]).all()


def test_stability_functions_meet_where_the_series_ends() -> None:
    """Series and closed form agree at their border on both sides, and 4 and 2 stand at zero."""
    near, far = matrix.stability_functions(np.array([0.0, 1.0 - 1e-12, 1.0 + 1e-12]))
    assert (near[0], far[0]) == (pytest.approx(4.0), pytest.approx(2.0))
    assert near[1] == pytest.approx(near[2], rel=1e-10)
    near, far = matrix.stability_functions(np.array([-1.0 + 1e-12, -1.0 - 1e-12]))
    assert far[0] == pytest.approx(far[1], rel=1e-10)


def test_small_pressure_is_the_usual_geometric_stiffness() -> None:
    """The change per thrust at low pressure is 6/5 L, 1/10, 2 L/15 and -L/30."""
    thrust_force = 1e-3 * ideal() * thrust.effective_area(PLAIN)
    change = (one().matrix - one(1e-3 * ideal()).matrix) / thrust_force
    assert change[1, 1] == pytest.approx(1.2 / LB, rel=2e-3)
    assert change[1, 5] == pytest.approx(0.1, rel=2e-2)
    assert change[5, 5] == pytest.approx(2.0 * LB / 15.0, rel=2e-2)
    assert change[5, 11] == pytest.approx(-LB / 30.0, rel=2e-2)
    assert change[0, 0] == pytest.approx(0.0)
    assert change[3, 3] == pytest.approx(0.0)


def test_tipping_a_pressurised_bellows_tips_its_thrust() -> None:
    """A rigid tilt leaves exactly the thrust turned with the axis as forces on the ends."""
    pressure = 2e5
    push = pressure * thrust.effective_area(PLAIN)
    tilt = np.zeros(12)
    tilt[[5, 11]], tilt[7] = 1e-3, 1e-3 * LB
    force = one(pressure).matrix @ tilt
    # Forces needed on the ends: what pressure presses on them, turned by the tilt, with its sign.
    assert force[1] == pytest.approx(push * 1e-3)
    assert force[7] == pytest.approx(-push * 1e-3)
    assert force[5] == pytest.approx(0.0, abs=1e-9 * push)


def softest(free: list[int], share: float) -> float:
    """Least eigenvalue of the free motions at a share of the ideal pressure, scaled."""
    k = one(share * ideal()).matrix[np.ix_(free, free)]
    scale = np.sqrt(np.diag(one().matrix)[free])
    return float(np.linalg.eigvalsh(k / np.outer(scale, scale)).min())


@pytest.mark.parametrize(
    ("free", "share"),
    [
        ([7], 0.25),  # one fixed, one free to move sideways
        ([5, 11], 0.25),  # both pinned
        ([11], 4.49340946**2 / (4.0 * np.pi**2)),  # one fixed, one pinned
        ([7, 11], 0.0625),  # one fixed, one free
    ],
)
def test_stiffness_is_gone_at_ideal_squirm(free: list[int], share: float) -> None:
    """Each end condition loses its stiffness at its classical share of 2 pi f / (N^2 q)."""
    assert softest(free, share * 0.999) > 0.0
    assert softest(free, share) == pytest.approx(0.0, abs=1e-6)
    assert softest(free, share * 1.001) < 0.0


def halves(pressure: float) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Stiffness of the middle node of a bellows fixed at both ends, as two halves."""
    half = msgspec.structs.replace(PLAIN, convolutions=4)
    k = one(pressure, half).matrix
    found: np.ndarray[Any, np.dtype[np.float64]] = k[6:, 6:] + k[:6, :6]
    return found


def test_bellows_with_both_ends_fixed_yields_at_ideal_squirm() -> None:
    """The middle gives way sideways exactly at 2 pi f / (N^2 q) (both half bellows at 1/4)."""
    assert halves(0.999 * ideal())[1, 1] > 0.0
    assert halves(ideal())[1, 1] == pytest.approx(0.0, abs=1e-6 * halves(0.0)[1, 1])
    assert halves(1.001 * ideal())[1, 1] < 0.0


def test_code_squirm_lies_well_below_the_ideal() -> None:
    """The standards' figure is 0.34 / 2 of the ideal, about one in 5.9."""
    code = stability.column_squirm(PLAIN, F)
    assert ideal() / code == pytest.approx(2.0 / 0.34)


def test_no_stiffness_beyond_ideal_squirm() -> None:
    """At and above the ideal pressure there is no matrix, also for one bellows of many."""
    with pytest.raises(OutOfRange, match="ideal squirm"):
        one(ideal())
    with pytest.raises(OutOfRange):
        element_from(varied(), F, E, pressure=np.array([0.0, 0.0, 1e9, 0.0, 0.0]))


def test_vacuum_stiffens() -> None:
    """Outside pressure pulls on the column: lateral stiffness rises, steadily."""
    values = [one(p).six[1, 1] for p in (-3e6, -1e6, -1e5, 0.0, 1e5, 1e6)]
    assert values == sorted(values, reverse=True)


def test_split_bellows_is_the_whole_one() -> None:
    """Two halves in a row are the bellows, with and without pressure."""
    for pressure in (None, 3e5, -3e5):
        half = one(pressure, msgspec.structs.replace(PLAIN, convolutions=4)).matrix
        k = one(pressure).matrix
        assert in_row((half, half)).matrix == pytest.approx(k, rel=1e-9, abs=1e-9 * k.max())


def polyline(b: Bellows, lean: bool) -> float:
    """Integral of ds / r^3 of a convolution, by walking its drawn shape point by point."""
    rm, half = float(b.torus_radius), float(b.pitch) / 2.0
    middle = float(geometry.mean_diameter(b)) / 2.0
    rise = float(b.height) - 2.0 * rm
    reach = np.hypot(half, rise)
    angle = np.arctan2(half, rise) - np.arcsin(2.0 * rm / reach) if lean else 0.0
    root = np.linspace(-np.pi / 2.0, -angle, 4000)
    crest = np.linspace(-angle, -np.pi / 2.0, 4000)
    x = np.concatenate([rm * np.cos(root), half - rm * np.cos(crest)])
    r = np.concatenate(
        [middle - rise / 2.0 + rm * np.sin(root), middle + rise / 2.0 - rm * np.sin(crest)]
    )
    # Start at the root's lowest point, where the arc's own angle is -pi/2.
    x[:4000] = rm * np.cos(root)
    step = np.hypot(np.diff(x), np.diff(r))
    between = (r[1:] + r[:-1]) / 2.0
    wall = step[3999]
    low, high = r[3999], r[4000]
    arcs = np.delete(step / between**3, 3999).sum()
    return float(2.0 * (arcs + wall * (low + high) / (2.0 * low**2 * high**2)))


@pytest.mark.parametrize("pitch", [0.048, 0.060, 0.046])
def test_twist_follows_the_drawn_meridian(pitch: float) -> None:
    """For parallel, opened and closed side walls the flexibility is that of the drawn shape."""
    b = msgspec.structs.replace(PLAIN, pitch=pitch)
    path = polyline(b, lean=True)
    wall = 2.0 * geometry.thinned_ply(b)
    shear = E / 2.6
    assert torsion.rate(b, E) == pytest.approx(2.0 * np.pi * shear * wall / (8 * path), rel=1e-5)


def test_shallow_convolutions_twist_like_a_tube() -> None:
    """With a height small against the diameter it is a tube of the developed length."""
    b = msgspec.structs.replace(PLAIN, inside_diameter=60.0)
    wall = 2.0 * geometry.thinned_ply(b)
    developed = geometry.metal_area(b) / wall
    tube = 2.0 * np.pi * (E / 2.6) * wall * (geometry.mean_diameter(b) / 2.0) ** 3
    assert torsion.rate(b, E) == pytest.approx(tube / (8 * developed), rel=1e-4)


def test_toroid_twists_along_its_circle() -> None:
    """The closed form of the torus is the integral round it."""
    b = Bellows(
        inside_diameter=1.118,
        height=0.166,
        pitch=0.16,
        convolutions=2,
        plies=3,
        ply_thickness=0.002,
        torus_radius=0.067807796,
    )
    big = float(geometry.mean_diameter(b)) / 2.0
    r = 0.067807796
    path = quad(lambda a: r / (big + r * np.cos(a)) ** 3, 0.0, 2.0 * np.pi)[0]
    wall = 3.0 * geometry.thinned_ply(b)
    wanted = 2.0 * np.pi * (E / 2.6) * wall / (2 * path)
    assert torsion.rate(b, E, Convolution.TOROIDAL) == pytest.approx(wanted)


def test_twist_comes_with_its_warning() -> None:
    """No element leaves without the caution that bellows must not be twisted."""
    assert torsion.CAUTION in one().cautions
    assert matrix.PRESSURE_CAUTION not in one().cautions
    assert matrix.PRESSURE_CAUTION in one(1e5).cautions


def test_torsional_shear_at_the_root() -> None:
    """T / (2 pi r^2 n tp) at the mean radius of the root, by hand."""
    wall = 2.0 * geometry.thinned_ply(PLAIN)
    assert torsion.shear_stress(PLAIN, 1e4) == pytest.approx(1e4 / (2 * np.pi * 0.301**2 * wall))


def test_membrane_shear_hardly_softens() -> None:
    """Leaving shear flexibility out costs a per cent on an ordinary bellows; a short one says so."""
    assert 0.0 < matrix.shear_share(PLAIN, F, E) < 0.02
    assert not any("Short and wide" in text for text in one().cautions)
    short = one(b=msgspec.structs.replace(PLAIN, convolutions=3))
    assert any("Short and wide" in text for text in short.cautions)


def test_thrust_pushes_the_ends_apart() -> None:
    """P Ae, away from the bellows at either end, nothing else."""
    found = one().thrust(3.5e5)
    wanted = 3.5e5 * np.pi * DM**2 / 4.0
    assert found[0] == pytest.approx(-wanted)
    assert found[6] == pytest.approx(wanted)
    assert np.count_nonzero(found) == 2
    assert one().thrust(np.array([1e5, 2e5])).shape == (2, 12)


def test_mass_is_metal_area_swept_round() -> None:
    """Density times N times A times pi Dm."""
    found = element_from(PLAIN, F, E, density=7900.0).mass
    assert found == pytest.approx(7900 * 8 * 244.42e-6 * np.pi * DM, rel=1e-3)
    assert one().mass is None
    torus = msgspec.structs.replace(PLAIN, torus_radius=0.02)
    found = element_from(torus, F, E, convolution=Convolution.TOROIDAL, density=7900.0).mass
    wall = 2.0 * geometry.thinned_ply(torus)
    assert found == pytest.approx(7900 * 8 * 2 * np.pi * 0.02 * wall * np.pi * DM)


def test_universal_is_the_closed_form() -> None:
    """Two elements and a rigid spool give section 8's lateral rate, and Ku."""
    over = np.array([0.768, 1.2, 2.0, 6.0])
    row = spooled((one(), one()), (Spool(length=over - 2 * LB),))
    k = matrix.six(row.matrix)
    assert k[:, 1, 1] == pytest.approx(stiffness.lateral_universal(PLAIN, F, over), rel=1e-9)
    assert k[:, 0, 0] == pytest.approx(np.full(4, F / 16))
    soft = np.linalg.inv(k)
    assert 1.0 / soft[:, 4, 4] == pytest.approx(np.full(4, stiffness.angular(PLAIN, F) / 2))


def test_spool_of_a_universal_turns_as_ku_says() -> None:
    """Moved by y the spool tilts so that the end convolutions see Ku Dm y / (2 N (Lu - Lb))."""
    over, y = 2.0, 0.04
    row = spooled((one(), one()), (Spool(length=over - 2 * LB),))
    ends = np.zeros(12)
    ends[7] = y
    inner = row.inner(ends)
    moved = one().matrix @ np.concatenate([np.zeros(6), inner])
    # Moment at the outer end over EI, times N q, is what one convolution turns; half Dm of it moves.
    turn = abs(moved[5]) / (F * 0.048 * DM**2 / 8.0) * 0.048
    assert turn * DM / 2.0 == pytest.approx(1.2253e-3, rel=1e-4)


def test_two_bellows_without_spool_are_one_long_bellows() -> None:
    """With no spool between, two bellows of N are one of 2 N."""
    row = spooled((one(), one()), (Spool(length=0.0),))
    long = one(b=msgspec.structs.replace(PLAIN, convolutions=16)).matrix
    assert row.matrix == pytest.approx(long, rel=1e-9, abs=1e-9 * long.max())


def test_three_bellows_in_a_row() -> None:
    """Three bellows share axial movement and a pure moment equally."""
    row = spooled((one(),) * 3, (Spool(length=0.7), Spool(length=0.4)))
    six = matrix.six(row.matrix)
    assert six[0, 0] == pytest.approx(F / 24)
    assert 1.0 / np.linalg.inv(six)[5, 5] == pytest.approx(stiffness.angular(PLAIN, F) / 3)
    assert row.spread.shape == (12, 12)
    with pytest.raises(OutOfRange, match="spool"):
        spooled((one(), one()), ())


def test_order_of_joining_does_not_matter() -> None:
    """A row joined from the left, from the right or at once is the same row."""
    a, b, c = one().matrix, with_arms(one(1e5).matrix, 0.3, 0.1), one(-1e5).matrix
    at_once = in_row((a, b, c)).matrix
    for other in (
        in_row((in_row((a, b)).matrix, c)).matrix,
        in_row((a, in_row((b, c)).matrix)).matrix,
    ):
        assert other == pytest.approx(at_once, rel=1e-8, abs=1e-8 * at_once.max())


def test_stiff_pipe_is_a_rigid_spool() -> None:
    """An elastic spool approaches the rigid one as its modulus grows, and is softer before."""
    rigid = matrix.six(spooled((one(), one()), (Spool(length=1.2),)).matrix)
    pipe = elements.pipe_spool(1.2, 0.61, 0.01, 200e9)
    real = matrix.six(spooled((one(), one()), (pipe,)).matrix)
    assert 0.99 * rigid[1, 1] < real[1, 1] < rigid[1, 1]
    hard = elements.pipe_spool(1.2, 0.61, 0.01, 200e13)
    assert matrix.six(spooled((one(), one()), (hard,)).matrix)[1, 1] == pytest.approx(
        rigid[1, 1], rel=1e-5
    )


def test_pipe_spool_section_by_hand() -> None:
    """E A, E I and G J of the ring section."""
    pipe = elements.pipe_spool(1.0, 0.2, 0.01, 2e11)
    area, second = np.pi / 4 * (0.04 - 0.0324), np.pi / 64 * (0.2**4 - 0.18**4)
    assert pipe.axial == pytest.approx(2e11 * area)
    assert pipe.bending == pytest.approx(2e11 * second)
    assert pipe.torsion == pytest.approx(2e11 / 2.6 * 2 * second)


@pytest.mark.parametrize("kind", ["rigid", "elastic"])
def test_weight_of_the_spool_goes_to_the_ends(kind: str) -> None:
    """A hanging spool loads both ends alike, forces and moments in balance, and sags."""
    weight = np.array([0.0, 0.0, -5000.0])
    spool = (
        Spool(length=1.2, weight=weight)
        if kind == "rigid"
        else elements.pipe_spool(1.2, 0.61, 0.01, 200e9, weight)
    )
    row = spooled((one(), one()), (spool,))
    assert row.load[2] == pytest.approx(-2500.0)
    assert row.load[8] == pytest.approx(-2500.0)
    assert row.load[4] == pytest.approx(-row.load[10])
    # Fixed ends of a row soft at its ends: moments between W L / 8 and W L / 2 about the ends.
    assert row.load[4] > 0.0
    assert row.inner(np.zeros(12))[2] < 0.0


def test_spool_weight_by_hand() -> None:
    """With a rigid spool each bellows is pushed by W / 2 with its inner end kept square."""
    weight = np.array([0.0, -5000.0, 0.0])
    row = spooled((one(), one()), (Spool(length=1.2, weight=weight),))
    sag = 2500.0 / stiffness.lateral_single(PLAIN, F)
    inner = row.inner(np.zeros(12))
    assert inner[1] == pytest.approx(-sag)
    assert inner[5] == pytest.approx(0.0, abs=1e-12)
    assert row.load[5] == pytest.approx(-2500.0 * LB / 2.0)


@pytest.mark.parametrize("length", [0.1, 1.2, 5.0])
def test_loose_spool_yields_at_a_quarter(length: float) -> None:
    """A spool that nothing holds slides sideways at a quarter of one bellows' ideal squirm."""
    spool = (Spool(length=length),)
    spooled((one(0.2499 * ideal()),) * 2, spool)
    with pytest.raises(Refused, match="hold the spool"):
        spooled((one(0.2501 * ideal()),) * 2, spool)


def test_hinge_leaves_one_angle_at_the_standard_rate() -> None:
    """A hinge at mid-length turns against f Dm^2 / (8 N) and holds everything else."""
    part = held(one().matrix, Hold.HINGE_Z, LB / 2)
    assert part.stiffness == pytest.approx(np.array([[stiffness.angular(PLAIN, F)]]))
    moved = part.flexibility @ np.array([1e3, 1e3, 1e3, 1e3, 1e3, 1e3])
    assert np.count_nonzero(np.abs(moved) > 1e-15) == 2
    assert moved[1] == pytest.approx(moved[5] * LB / 2)
    assert np.linalg.matrix_rank(part.flexibility) == 1


def test_pin_off_the_middle_moves_the_bellows_sideways() -> None:
    """A pin set off mid-length by d adds Kl d^2 to the angular rate."""
    d = 0.05
    part = held(one().matrix, Hold.HINGE_Y, LB / 2 + d)
    wanted = stiffness.angular(PLAIN, F) + stiffness.lateral_single(PLAIN, F) * d**2
    assert part.stiffness[0, 0] == pytest.approx(wanted)


def test_gimbal_is_two_hinges_that_do_not_disturb_each_other() -> None:
    """Both angles at the hinge's rate, no coupling."""
    part = held(one().matrix, Hold.GIMBAL, LB / 2)
    assert part.stiffness == pytest.approx(np.eye(2) * stiffness.angular(PLAIN, F))


def test_pressure_stiffens_a_hinge() -> None:
    """Bent about its pin a bellows loses volume: P Ae Lb / 6 more at low pressure."""
    pressure = 1e4
    push = pressure * float(thrust.effective_area(PLAIN))
    part = held(one(pressure).matrix, Hold.HINGE_Z, LB / 2, push)
    more = part.stiffness[0, 0] - stiffness.angular(PLAIN, F)
    assert more == pytest.approx(push * LB / 6.0, rel=1e-2)


def test_rods_give_back_what_thrust_takes_sideways() -> None:
    """Rods as long as the bellows: lateral stiffness is gone only at the fixed-ended squirm."""
    for share, least, most in ((0.25, 0.5, 0.9), (0.9, 0.01, 0.3)):
        push = share * ideal() * float(thrust.effective_area(PLAIN))
        part = held(one(share * ideal()).matrix, Hold.RODS, LB, push)
        assert least < part.stiffness[0, 0] / one().six[1, 1] < most
    part = held(one(0.999999 * ideal()).matrix, Hold.RODS, LB, 0.999999 * ideal() * 0.33388)
    assert abs(part.stiffness[0, 0]) < 1e-2 * one().six[1, 1]


def test_tie_rods_leave_lateral_and_twist() -> None:
    """Three rods hold length and angles; two rods leave the angle about the line through them."""
    three = held(one().matrix, Hold.RODS, LB)
    assert three.names == ("lateral y", "lateral z", "twist")
    assert three.stiffness[0, 0] == pytest.approx(stiffness.lateral_single(PLAIN, F))
    two = held(one().matrix, Hold.RODS_ACROSS, LB)
    assert two.names[-1] == "angular about z"
    assert 1.0 / np.linalg.inv(two.stiffness)[3, 3] == pytest.approx(stiffness.angular(PLAIN, F))


def test_nothing_held_is_the_bellows_itself() -> None:
    """Without hardware the flexibility is the inverse of the six by six."""
    part = held(one().matrix, Hold.NOTHING, LB)
    assert part.flexibility @ one().six == pytest.approx(np.eye(6), abs=1e-9)


def test_hinged_pair_is_two_springs_a_distance_apart() -> None:
    """Parallel ends moved sideways turn both hinges: 2 Kth / C^2, from the flexibilities too."""
    part = held(one().matrix, Hold.GIMBAL, LB / 2)
    apart = 2.0 - LB
    soft = held_in_row(((part, apart), (part, 0.0)))
    assert np.linalg.matrix_rank(soft) == 4
    plane = np.linalg.inv(soft[np.ix_([1, 5], [1, 5])])
    wanted = float(stiffness.lateral_pair(PLAIN, F, 2.0))
    assert plane[0, 0] == pytest.approx(wanted)
    made = assembly.rates(Assembly.PAIR, one(), length_over_both=2.0)
    assert made.rate("lateral y").value == pytest.approx(wanted)
    assert made.rate("axial").held
    assert made.anchor_area == 0.0


def test_row_of_nothing_is_refused() -> None:
    """There is no flexibility of no parts."""
    with pytest.raises(Refused):
        held_in_row(())


FREE = {
    Assembly.SINGLE: set(combine.NAMES),
    Assembly.TIED: {"lateral y", "lateral z", "twist"},
    Assembly.HINGED: {"angular about z"},
    Assembly.GIMBAL: {"angular about y", "angular about z"},
    Assembly.UNIVERSAL: set(combine.NAMES),
    Assembly.PANTOGRAPH: set(combine.NAMES),
    Assembly.PAIR: {"lateral y", "lateral z", "angular about y", "angular about z"},
    Assembly.BALANCED_ELBOW: {"axial", "lateral y", "lateral z", "twist"},
    Assembly.BALANCED_INLINE: set(combine.NAMES),
}


@pytest.mark.parametrize("kind", list(Assembly))
def test_every_assembly_says_for_every_direction_what_it_is(kind: Assembly) -> None:
    """Six directions, each free with a rate or held by hardware, each with its source."""
    made = assembly.rates(kind, one(), length_over_both=2.0, balancing=one())
    assert tuple(each.direction for each in made.rates) == combine.NAMES
    assert {each.direction for each in made.rates if not each.held} == FREE[kind]
    for each in made.rates:
        assert each.source.document
        assert each.value is None or each.value > 0.0
        assert (each.value is None) <= bool(each.note)
    assert made.cautions


def test_tied_universal_moves_sideways_only() -> None:
    """Rods across both bellows hold length and angle; the lateral rate is that of the spool."""
    free = assembly.rates(Assembly.UNIVERSAL, one(), length_over_both=2.0)
    tied = assembly.rates(Assembly.UNIVERSAL, one(), length_over_both=2.0, hold=Hold.RODS)
    assert tied.rate("lateral y").value == pytest.approx(free.rate("lateral y").value)
    assert tied.rate("axial").held
    assert tied.rate("angular about z").held
    assert tied.anchor_area == 0.0
    with pytest.raises(Contradiction, match="not the hardware"):
        assembly.rates(Assembly.UNIVERSAL, one(), length_over_both=2.0, hold=Hold.GIMBAL)


def test_untied_joints_push_on_anchors_and_tied_ones_do_not() -> None:
    """Thrust on anchors is P Ae where no hardware holds the ends."""
    area = pytest.approx(np.pi * DM**2 / 4)
    assert assembly.rates(Assembly.SINGLE, one()).anchor_area == area
    assert assembly.rates(Assembly.UNIVERSAL, one(), length_over_both=2.0).anchor_area == area
    for kind in (Assembly.TIED, Assembly.HINGED, Assembly.GIMBAL):
        assert assembly.rates(kind, one()).anchor_area == 0.0


def test_balanced_joints_add_their_bellows() -> None:
    """In line: two flow and one balancing bellows side by side; elbow: one and one."""
    big = one(
        b=msgspec.structs.replace(PLAIN, inside_diameter=0.652 * np.sqrt(2.0) - 0.052), f=2.0 * F
    )
    inline = assembly.rates(Assembly.BALANCED_INLINE, one(), balancing=big)
    assert inline.rate("axial").value == pytest.approx((2 * F + 2 * F) / 8)
    assert inline.anchor_area == pytest.approx(0.0, abs=1e-12)
    assert inline.rate("lateral y").value is None
    elbow = assembly.rates(Assembly.BALANCED_ELBOW, one(), balancing=one(), length_over_both=2.0)
    assert elbow.rate("axial").value == pytest.approx(F / 16 + F / 8)
    assert elbow.anchor_area == pytest.approx(0.0, abs=1e-12)
    with pytest.raises(MissingInput, match="balancing"):
        assembly.rates(Assembly.BALANCED_ELBOW, one())


def test_joint_of_two_bellows_needs_its_length() -> None:
    """Without Lu, or with an Lu that cannot be, there is no rate."""
    with pytest.raises(MissingInput, match="Lu"):
        assembly.rates(Assembly.UNIVERSAL, one())
    with pytest.raises(Contradiction):
        assembly.rates(Assembly.UNIVERSAL, one(), length_over_both=0.7)
    with pytest.raises(Contradiction, match="spool"):
        assembly.rates(Assembly.UNIVERSAL, one(), length_over_both=2.0, spool=Spool(length=2.0))


def test_arrays_of_joints() -> None:
    """An array of bellows gives arrays of rates, in every kind of joint."""
    b = varied()
    part = element_from(b, np.full(5, F), E)
    for kind in Assembly:
        made = assembly.rates(kind, part, length_over_both=3.0, balancing=part)
        for each in made.rates:
            if each.value is not None:
                assert np.shape(each.value) == (5,)


def case(**changes: Any) -> BellowsCase:
    """A sound two-ply 321 bellows of DN 600, changed as asked."""
    values: dict[str, Any] = {
        "name": "EJ-1 A",
        "basis": Basis.EJMA,
        "inside_diameter": 0.6,
        "height": 0.05,
        "pitch": 0.048,
        "convolutions": 8,
        "plies": 2,
        "ply_thickness": 0.001,
        "material": "321",
        "treatment": Treatment.AS_FORMED,
        "conditions": (
            Condition(name="design", pressure=3.5e5, temperature=673.15),
            Condition(name="operating", pressure=3.0e5, temperature=633.15),
        ),
    }
    return BellowsCase(**{**values, **changes})


SHAPES: dict[str, dict[str, Any]] = {
    "plain": {},
    "reinforced": {
        "convolution": Convolution.U_REINFORCED,
        "ring_area": 1.1e-4,
        "ring_material": "304",
    },
    "toroidal": {
        "convolution": Convolution.TOROIDAL,
        "height": None,
        "mean_diameter": 0.70,
        "torus_radius": 0.02,
    },
}


@pytest.mark.parametrize("shape", SHAPES.values(), ids=list(SHAPES))
def test_element_of_a_case_has_the_rates_of_its_report(shape: dict[str, Any]) -> None:
    """The element is made of the very rates that the report prints, hot and cold."""
    from takeup.bellows import element, evaluate

    found = evaluate(case(**shape))
    for condition, end in (("operating", ""), (None, "_cold")):
        six = element(case(**shape), condition).six
        for at, name in ((0, "axial_rate"), (1, "lateral_rate")):
            figure = found.figure(name + end)
            assert figure is not None
            assert six[at, at] == pytest.approx(figure.value)


def test_element_of_a_case_weighs_its_metal() -> None:
    """Mass comes from the alloy's density."""
    from takeup.bellows import element

    assert element(case()).mass == pytest.approx(7900 * 8 * 244.42e-6 * np.pi * DM, rel=0.02)


def test_element_of_a_case_under_its_pressure() -> None:
    """Asked for, the condition's pressure softens the bellows sideways; unasked it does not."""
    from takeup.bellows import element

    plain, soft = element(case()), element(case(), under_pressure=True)
    assert soft.six[1, 1] < plain.six[1, 1]
    assert plain.compression == 0.0
    assert soft.compression == pytest.approx(3e5 * plain.thrust_area)
    with pytest.raises(MissingInput, match="condition"):
        element(case(), None, under_pressure=True)


def test_element_names_what_it_lacks() -> None:
    """An unknown condition, size or alloy is named."""
    from takeup.bellows import element

    with pytest.raises(MissingInput, match="'test'"):
        element(case(), "test")
    with pytest.raises(MissingInput, match="pitch"):
        element(case(missing=("pitch",)))
    with pytest.raises(MissingInput, match="bellows alloy"):
        element(case(missing=("material",)))


@pytest.mark.parametrize(
    ("kind", "direction", "figure"),
    [
        (Assembly.SINGLE, "axial", "axial_rate"),
        (Assembly.UNIVERSAL, "axial", "axial_rate"),
        (Assembly.PANTOGRAPH, "lateral z", "lateral_rate"),
        (Assembly.PAIR, "lateral y", "lateral_rate"),
        (Assembly.TIED, "lateral y", "lateral_rate"),
        (Assembly.HINGED, "angular about z", "angular_rate"),
        (Assembly.GIMBAL, "angular about y", "angular_rate"),
    ],
)
def test_rates_agree_with_the_report(kind: Assembly, direction: str, figure: str) -> None:
    """What a report prints as a rate of the joint is what the matrix gives."""
    from takeup.bellows import assembly_rates, evaluate

    joint = case(assembly=kind, length_over_both=2.0)
    printed = evaluate(joint).figure(figure)
    assert printed is not None
    assert assembly_rates(joint).rate(direction).value == pytest.approx(printed.value)


def test_balancing_bellows_is_not_the_joint() -> None:
    """Rates are those of the flow bellows with the balancing one beside it."""
    from takeup.bellows import assembly_rates

    joint = case(assembly=Assembly.BALANCED_ELBOW)
    other = case(assembly=Assembly.BALANCED_ELBOW, role=Role.BALANCING)
    assert assembly_rates(joint, balancing=other).anchor_area == pytest.approx(0.0)
    with pytest.raises(Contradiction, match="flow bellows"):
        assembly_rates(other, balancing=joint)


def test_rates_of_a_case_by_its_assembly() -> None:
    """The case's assembly and length decide; a reported lateral rate is met."""
    from takeup.bellows import assembly_rates, evaluate

    joint = case(assembly=Assembly.UNIVERSAL, length_over_both=2.0)
    figure = evaluate(joint).figure("lateral_rate")
    assert figure is not None
    assert assembly_rates(joint).rate("lateral y").value == pytest.approx(figure.value)
    with pytest.raises(MissingInput, match="Lu"):
        assembly_rates(
            case(assembly=Assembly.UNIVERSAL, length_over_both=2.0, missing=("length_over_both",))
        )
