"""The line solver against worked problems, closed forms and its own properties."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest

from takeup import materials
from takeup.errors import Contradiction, UnknownName
from takeup.line.model import (
    Anchor,
    BellowsSpring,
    Bend,
    Guide,
    Hardware,
    Hold,
    Joint,
    Line,
    Pipe,
    Rest,
    State,
    Station,
    Stop,
    Straight,
    VariableSpring,
)
from takeup.line.solve import Prepared, StateResult, Unsolved, prepare, solve

E = 203.4e9
STEEL = "carbon steel"
NPS6 = Pipe(name="6", outside=0.1683, wall=0.00711, metal=STEEL)
NPS8 = Pipe(name="8", outside=0.2191, wall=0.00818, metal=STEEL)
NPS12 = Pipe(name="12", outside=0.3239, wall=0.00953, metal=STEEL)
HOT = State(name="hot", temperature=533.15, weight=False)
STRAIN = 3.62 / 1200.0
"""21 to 260 °C of the worked problems; ours is the table's, so results are scaled to it."""


def per_strain() -> float:
    """Worked problems' strain over ours."""
    return STRAIN / float(materials.expansion_total(STEEL, HOT.temperature).value)


def stations(**places: tuple[float, float, float]) -> tuple[Station, ...]:
    """Stations by name."""
    return tuple(Station(name=name, position=place) for name, place in places.items())


def line(**fields: Any) -> Line:
    """A line with one hot state, changed as asked."""
    values: dict[str, Any] = {"tag": "L", "pipes": (NPS6,), "supports": (), "states": (HOT,)}
    return Line(**{**values, **fields})


def ready(made: Line, **options: Any) -> Prepared:
    """Prepared with the modulus of the worked problems."""
    return prepare(made, moduli={materials.alloy(STEEL).name: E}, **{"shear": False, **options})


def solved(made: Line, **options: Any) -> tuple[StateResult, ...]:
    """Solved with the modulus of the worked problems; each state's certificate holds."""
    results = solve(ready(made, **options))
    for result in results:
        assert result.certificate.residual < 1e-9
        assert result.certificate.balance < 1e-9
    return results


def bent(pipe: Pipe, corners: list[tuple[float, float, float]], radius: float) -> Line:
    """A line of straight pipe with bends at its inner corners, anchored at both ends."""
    points = [np.array(corner) for corner in corners]
    made: list[Station] = [Station(name="A", position=corners[0])]
    pieces: list[Any] = []
    last = "A"
    for k in range(1, len(points) - 1):
        before = (points[k] - points[k - 1]) / np.linalg.norm(points[k] - points[k - 1])
        after = (points[k + 1] - points[k]) / np.linalg.norm(points[k + 1] - points[k])
        if radius:
            a, b = points[k] - radius * before, points[k] + radius * after
            made += [Station(name=f"C{k}.in", position=tuple(a)),
                     Station(name=f"C{k}.out", position=tuple(b))]  # fmt: skip
            pieces += [Straight(start=last, end=f"C{k}.in", pipe=pipe.name),
                       Bend(start=f"C{k}.in", end=f"C{k}.out", pipe=pipe.name,
                            corner=corners[k], radius=radius)]  # fmt: skip
            last = f"C{k}.out"
        else:
            made.append(Station(name=f"C{k}", position=corners[k]))
            pieces.append(Straight(start=last, end=f"C{k}", pipe=pipe.name))
            last = f"C{k}"
    made.append(Station(name="Z", position=corners[-1]))
    pieces.append(Straight(start=last, end="Z", pipe=pipe.name))
    return line(
        pipes=(pipe,),
        stations=tuple(made),
        pieces=tuple(pieces),
        supports=(Anchor(name="first", station="A"), Anchor(name="last", station="Z")),
    )


# --- worked problems --------------------------------------------------------------------


def test_square_corner_between_two_anchors() -> None:
    """Reactions of an L of square corner: worked problem C6 of the piping reference."""
    made = bent(NPS6, [(0, 0, 0), (6, 0, 0), (6, 4, 0)], 0.0)
    (hot,) = solved(made)
    first, last = hot.reaction("first"), hot.reaction("last")
    scale = per_strain()
    assert abs(first.force[0]) * scale == pytest.approx(5514.0796, rel=1e-6)
    assert abs(first.force[1]) * scale == pytest.approx(2730.3802, rel=1e-6)
    assert abs(first.moment[2]) * scale == pytest.approx(7056.3331, rel=1e-6)
    assert abs(last.moment[2]) * scale == pytest.approx(12730.3703, rel=1e-6)


def test_long_radius_corner_between_two_anchors() -> None:
    """The same with an elbow and its flexibility factor: C6."""
    made = bent(NPS6, [(0, 0, 0), (6, 0, 0), (6, 4, 0)], 0.229)
    (hot,) = solved(made)
    first, last = hot.reaction("first"), hot.reaction("last")
    scale = per_strain()
    assert abs(first.force[0]) * scale == pytest.approx(4175.1704, rel=1e-6)
    assert abs(first.force[1]) * scale == pytest.approx(1822.8959, rel=1e-6)
    assert abs(first.moment[2]) * scale == pytest.approx(5291.7818, rel=1e-6)
    assert abs(last.moment[2]) * scale == pytest.approx(11055.088, rel=1e-6)


def test_z_between_two_anchors() -> None:
    """A Z of NPS 8 with two elbows: C16."""
    made = bent(NPS8, [(0, 0, 0), (5, 0, 0), (5, 3, 0), (9, 3, 0)], 0.305)
    (hot,) = solved(made)
    first, last = hot.reaction("first"), hot.reaction("last")
    scale = per_strain()
    assert abs(first.force[0]) * scale == pytest.approx(10988.265, rel=1e-6)
    assert abs(first.force[1]) * scale == pytest.approx(6455.328, rel=1e-6)
    assert abs(first.moment[2]) * scale == pytest.approx(15089.359, rel=1e-6)
    assert abs(last.moment[2]) * scale == pytest.approx(10043.801, rel=1e-6)


def run(**joint: Any) -> Line:
    """30 m of NPS 12 between anchors with one bellows in the middle: C7."""
    spring = BellowsSpring(
        length=0.3, axial_rate=300e3, mean_diameter=math.sqrt(4 * 0.0935 / math.pi)
    )
    return line(
        pipes=(NPS12,),
        stations=stations(A=(0, 0, 0), B=(14.85, 0, 0), C=(15.15, 0, 0), D=(30, 0, 0)),
        pieces=(
            Straight(start="A", end="B", pipe="12"),
            Joint(tag="EJ-1", start="B", end="C", bellows=(spring,), **joint),
            Straight(start="C", end="D", pipe="12"),
        ),
        supports=(Anchor(name="first", station="A"), Anchor(name="last", station="D")),
        states=(msgspec.structs.replace(HOT, pressure=1e6),),
    )


def test_unrestrained_bellows_between_main_anchors() -> None:
    """Thrust and spring force on main anchors, and movement of the bellows: C7."""
    (hot,) = solved(run())
    spring = abs(hot.reaction("first").force[0]) - 93_500.0
    movement = 0.5 * abs(hot.joint("EJ-1").axial)
    # Thrust compresses the pipe, so that spring and movement follow the strain after that.
    squeezed = 93_500.0 * 29.7 / (E * 9.41204e-3)
    soft = 1.0 + 300e3 * 29.7 / (E * 9.41204e-3)
    growth = float(materials.expansion_total(STEEL, HOT.temperature).value) * 29.7
    assert 2 * movement == pytest.approx((growth - squeezed) / soft, rel=1e-5)
    assert spring == pytest.approx(300e3 * 2 * movement, rel=1e-9)
    theirs = (STRAIN * 29.7 - squeezed) / soft
    assert theirs == pytest.approx(2 * 43.868054e-3, rel=1e-6)
    assert 93_500.0 + 300e3 * theirs == pytest.approx(119_820.83, rel=1e-6)
    assert hot.reaction("first").force[0] < 0.0 < hot.reaction("last").force[0]


def test_locked_joint_is_pipe_of_no_give() -> None:
    """A locked joint leaves the growth of the run to the pipe alone: C7, locked."""
    (hot,) = solved(run(locked=True))
    growth = float(materials.expansion_total(STEEL, HOT.temperature).value)
    expected = E * 9.41204e-3 * growth
    assert abs(hot.reaction("first").force[0]) == pytest.approx(expected, rel=1e-3)
    assert hot.joint("EJ-1").axial == pytest.approx(0.0, abs=1e-4)


def test_tie_rods_keep_thrust_off_the_anchors() -> None:
    """Tied, the rods carry thrust and growth meets a rigid run; the anchors see no thrust cold."""
    rods = Hardware(hold=Hold.TIED, rods=4, circle=0.6, rod_area=5e-4, rod_length=0.5)
    cold = State(name="cold", pressure=1e6, weight=False)
    (tied,) = solved(msgspec.structs.replace(run(hardware=(rods,)), states=(cold,)))
    (loose,) = solved(msgspec.structs.replace(run(), states=(cold,)))
    # Rods stretch a little, so that the anchors see the rest of the thrust.
    stretch = 4 * 2e11 * 5e-4 / 0.5
    pipe = E * 9.41204e-3 / 29.7
    share = (stretch + 300e3) / (stretch + 300e3 + pipe)
    assert abs(tied.reaction("first").force[0]) == pytest.approx(93_500 * (1 - share), rel=1e-3)
    assert abs(loose.reaction("first").force[0]) > 90e3


def lifted(d: float) -> Line:
    """A beam on one-way rests whose first end is lifted: C12."""
    pipe = Pipe(name="10", outside=0.2731, wall=0.00927, metal=STEEL)
    area = math.pi / 4 * (0.2731**2 - (0.2731 - 2 * 0.00927) ** 2)
    bare = area * float(materials.density(STEEL).value)
    pipe = msgspec.structs.replace(pipe, insulation_mass=1500.0 / 9.80665 - bare)
    return line(
        pipes=(pipe,),
        stations=stations(A=(0, 0, 0), B=(6, 0, 0), C=(12, 0, 0), D=(18, 0, 0)),
        pieces=tuple(Straight(start=a, end=b, pipe="10") for a, b in ("AB", "BC", "CD")),
        supports=(
            Anchor(name="first", station="A", growth={"s": (0.0, 0.0, d)}),
            *(Rest(name=f"rest {s}", station=s, friction=0.0) for s in "BCD"),
        ),
        states=(State(name="s", temperature=294.2612),),
    )


@pytest.mark.parametrize(
    ("d", "loads", "moment"),
    [
        (0.0, (4586.5, 8653.8, 10211.5, 3548.1), 4673.08),
        (0.020, (10832.1, 0.0, 12829.7, 3338.2), 28955.9),
    ],
)
def test_rest_lifts_off(d: float, loads: tuple[float, ...], moment: float) -> None:
    """One-way rests carry or lift off as the worked problem C12 says."""
    made = prepare(lifted(d), moduli={materials.alloy(STEEL).name: 195.1e9}, shear=False)
    (result,) = solve(made)
    assert result.certificate.good
    down = [-result.reaction(name).force[2] for name in ("first", "rest B", "rest C", "rest D")]
    assert down == pytest.approx(loads, rel=2e-4, abs=0.3)
    assert abs(result.reaction("first").moment[1]) == pytest.approx(moment, rel=2e-4)
    if d:
        assert result.reaction("rest B").movement[2] == pytest.approx(3.747e-3, rel=2e-3)


# --- closed forms ----------------------------------------------------------------------------


def test_guided_cantilever() -> None:
    """A leg pushed aside by its nozzle with the end kept straight: F = 12 E I d / L^3 (C5)."""
    made = line(
        stations=stations(A=(0, 0, 0), B=(3, 0, 0)),
        pieces=(Straight(start="A", end="B", pipe="6"),),
        supports=(
            Anchor(name="first", station="A"),
            Anchor(name="last", station="B", growth={"s": (0.0, 0.025, 0.0)}),
        ),
        states=(State(name="s", weight=False),),
    )
    (result,) = solved(made)
    assert abs(result.reaction("first").force[1]) == pytest.approx(26_478.68, rel=1e-5)
    assert abs(result.reaction("first").moment[2]) == pytest.approx(39_718.02, rel=1e-5)


def slid(friction: float) -> tuple[StateResult, ...]:
    """A run anchored at one end that slides on a rest at the other, there and back."""
    made = line(
        stations=stations(A=(0, 0, 0), B=(10, 0, 0)),
        pieces=(Straight(start="A", end="B", pipe="6"),),
        supports=(
            Anchor(name="first", station="A"),
            Rest(name="rest", station="B", friction=friction),
        ),
        states=(
            State(name="cold"),
            State(name="hot", temperature=533.15),
            State(name="back"),
        ),
    )
    return solved(made)


def test_friction_slides_at_mu_n_and_turns_round() -> None:
    """The rest drags with mu N against the growth, and the other way on cooling."""
    cold, hot, back = slid(0.3)
    normal = -hot.reaction("rest").force[2]
    assert hot.reaction("rest").force[0] == pytest.approx(0.3 * normal, rel=1e-6)
    assert back.reaction("rest").force[0] == pytest.approx(-0.3 * normal, rel=1e-3)
    assert abs(cold.reaction("rest").force[0]) < 1.0
    free = slid(0.0)[1]
    assert free.reaction("first").force[0] == pytest.approx(0.0, abs=1e-3)


def test_gap_closes_and_then_holds() -> None:
    """A stop leaves its gap and then takes what growth remains over the pipe's own give."""
    gap = 0.010
    made = line(
        stations=stations(A=(0, 0, 0), B=(10, 0, 0)),
        pieces=(Straight(start="A", end="B", pipe="6"),),
        supports=(
            Anchor(name="first", station="A"),
            Stop(name="stop", station="B", direction=(1, 0, 0), gap_plus=gap, gap_minus=gap),
        ),
    )
    (hot,) = solved(made)
    growth = 10 * float(materials.expansion_total(STEEL, HOT.temperature).value)
    stiffness = 1.0 / (10 / (E * 3.60046e-3) + 1e-11)
    assert hot.reaction("stop").force[0] == pytest.approx(stiffness * (growth - gap), rel=1e-4)


def test_variable_spring_changes_its_load_by_rate_times_travel() -> None:
    """Up travel lowers the load; beyond its stop the coil is solid or the rod slack (C10)."""

    def load(rise: float, **changes: Any) -> float:
        spring = VariableSpring(
            name="spring", station="B", rate=60e3, load=21.5e3, travel_up=0.04, travel_down=0.04
        )
        made = line(
            stations=stations(A=(0, 0, 0), B=(0, 0, 5)),
            pieces=(Straight(start="A", end="B", pipe="6"),),
            supports=(
                Anchor(name="first", station="A", growth={"s": (0.0, 0.0, rise)}),
                msgspec.structs.replace(spring, **changes),
            ),
            states=(State(name="s", weight=False),),
        )
        (result,) = solved(made)
        return -result.reaction("spring").force[2]

    assert load(0.025) == pytest.approx(20e3, rel=1e-3)
    assert load(-0.025) == pytest.approx(23e3, rel=1e-3)
    assert load(-0.045) > 21.5e3 + 60e3 * 0.04 + 1e5
    assert load(0.2) == 0.0
    assert load(0.02, pinned=True) != pytest.approx(load(0.02), rel=0.1)


def test_hinged_pair_turns_by_kinematics() -> None:
    """Two hinges four metres apart that shift 60 mm turn by the shift over the length (C9)."""
    spring = BellowsSpring(length=0.3, axial_rate=1.0e3, mean_diameter=0.35)
    hinge = Hardware(hold=Hold.HINGE, axis=(0, 0, 1))
    made = line(
        pipes=(NPS12,),
        stations=stations(A=(0, 0, 0), B=(0.5, 0, 0), C=(0.8, 0, 0), D=(4.5, 0, 0), E=(4.8, 0, 0),
                          F=(5.3, 0, 0)),
        pieces=(
            Straight(start="A", end="B", pipe="12"),
            Joint(tag="EJ-1", start="B", end="C", bellows=(spring,), hardware=(hinge,)),
            Straight(start="C", end="D", pipe="12"),
            Joint(tag="EJ-2", start="D", end="E", bellows=(spring,), hardware=(hinge,)),
            Straight(start="E", end="F", pipe="12"),
        ),
        supports=(
            Anchor(name="first", station="A"),
            Anchor(name="last", station="F", growth={"s": (0.0, 0.06, 0.0)}),
        ),
        states=(State(name="s", weight=False),),
    )  # fmt: skip
    (result,) = solved(made, shear=True)
    for tag, sign in (("EJ-1", 1), ("EJ-2", -1)):
        turned = result.joint(tag, 0).angular
        assert sign * max(turned, key=abs) == pytest.approx(0.06 / 4.0, rel=2e-3)
        assert abs(result.joint(tag, 0).torsion) < 1e-9


# --- properties ------------------------------------------------------------------------------


def turned(made: Line, by: np.ndarray[Any, Any]) -> Line:
    """The whole line turned in space."""

    def place(point: tuple[float, float, float]) -> tuple[float, float, float]:
        moved = by @ np.array(point)
        return float(moved[0]), float(moved[1]), float(moved[2])

    pieces = tuple(
        msgspec.structs.replace(piece, corner=place(piece.corner))
        if isinstance(piece, Bend)
        else piece
        for piece in made.pieces
    )
    return msgspec.structs.replace(
        made,
        stations=tuple(msgspec.structs.replace(s, position=place(s.position))
                       for s in made.stations),
        pieces=pieces,
    )  # fmt: skip


def test_turning_the_line_turns_the_answer() -> None:
    """Rotation of the whole model changes nothing but the axes."""
    made = bent(NPS8, [(0, 0, 0), (5, 0, 0), (5, 3, 0), (5, 3, 4)], 0.305)
    spin = np.linalg.qr(np.random.default_rng(4).standard_normal((3, 3)))[0]
    spin *= np.linalg.det(spin)
    (plain,), (other,) = solved(made, shear=True), solved(turned(made, spin), shear=True)
    for name in ("first", "last"):
        force = spin @ np.array(plain.reaction(name).force)
        assert np.array(other.reaction(name).force) == pytest.approx(force, rel=1e-7, abs=1e-4)


def test_no_growth_no_load() -> None:
    """Without temperature, weight, pressure or movement of anchors nothing loads the line."""
    made = bent(NPS8, [(0, 0, 0), (5, 0, 0), (5, 3, 0), (9, 3, 0)], 0.305)
    (rest,) = solved(msgspec.structs.replace(made, states=(State(name="s", weight=False),)))
    assert np.abs(rest.motion).max() == 0.0
    assert np.abs(rest.ends).max() == 0.0


def test_flexibility_is_reciprocal() -> None:
    """What one row does to another is what the other does to it (Maxwell)."""
    made = msgspec.structs.replace(
        bent(NPS8, [(0, 0, 0), (5, 0, 0), (5, 3, 0), (9, 3, 2)], 0.305),
        supports=(
            Anchor(name="first", station="A"),
            *(Rest(name=f"rest {s}", station=s) for s in ("C1.in", "C2.out", "Z")),
        ),
    )
    c = ready(made).flexibility
    assert c == pytest.approx(c.T, rel=1e-9, abs=1e-18)


def test_half_the_preload_moves_the_line_as_a_sound_spring_does() -> None:
    """Hot minus cold does not know a spring's preload: only absolute positions do."""

    def difference(load: float) -> np.ndarray[Any, Any]:
        made = bent(NPS8, [(0, 0, 0), (8, 0, 0), (8, 6, 0)], 0.305)
        spring = VariableSpring(name="s", station="C1.in", rate=40e3, load=load, travel_up=0.5,
                                travel_down=0.5)  # fmt: skip
        made = msgspec.structs.replace(
            made,
            supports=(*made.supports, spring),
            states=(State(name="cold"), State(name="hot", temperature=533.15)),
        )
        cold, hot = solved(made)
        return hot.motion - cold.motion

    assert difference(10e3) == pytest.approx(difference(5e3), rel=1e-9, abs=1e-12)


# --- what cannot be --------------------------------------------------------------------------


def test_loose_line_names_what_is_loose() -> None:
    """A hinge with nothing to hold the far end: the station and its free direction are named."""
    spring = BellowsSpring(length=0.3, axial_rate=1e-9, mean_diameter=0.35)
    made = line(
        pipes=(NPS12,),
        stations=stations(A=(0, 0, 0), B=(1, 0, 0), C=(1.3, 0, 0), D=(5, 0, 0)),
        pieces=(
            Straight(start="A", end="B", pipe="12"),
            Joint(tag="EJ-1", start="B", end="C", bellows=(spring,)),
            Straight(start="C", end="D", pipe="12"),
        ),
        supports=(Anchor(name="first", station="A"),),
    )
    with pytest.raises(Unsolved, match="nothing holds it"):
        solve(ready(made))


def test_parts_that_do_not_meet_are_named() -> None:
    """Two runs that nothing joins are said so."""
    made = line(
        stations=stations(A=(0, 0, 0), B=(1, 0, 0), C=(2, 0, 0), D=(3, 0, 0)),
        pieces=(Straight(start="A", end="B", pipe="6"), Straight(start="C", end="D", pipe="6")),
        supports=(Anchor(name="first", station="A"),),
    )
    with pytest.raises(Unsolved, match="2 parts"):
        ready(made)


@pytest.mark.parametrize(
    ("changes", "error", "words"),
    [
        ({"pieces": (Straight(start="A", end="X", pipe="6"),)}, UnknownName, "X"),
        ({"pieces": (Straight(start="A", end="B", pipe="9"),)}, UnknownName, "9"),
        ({"stations": stations(A=(0, 0, 0), B=(0, 0, 0))}, Contradiction, "no length"),
        ({"supports": (Guide(name="g", station="B", across=(1, 0, 0)),)}, Contradiction,
         "along the line"),
        ({"supports": (Stop(name="s", station="B", direction=(0, 0, 0)),)}, Contradiction,
         "no direction"),
    ],
)  # fmt: skip
def test_lines_that_cannot_be_are_refused(changes: dict[str, Any], error: Any, words: str) -> None:
    """What is wrong is named, with its station or support."""
    fields: dict[str, Any] = {
        "stations": stations(A=(0, 0, 0), B=(1, 0, 0)),
        "pieces": (Straight(start="A", end="B", pipe="6"),),
        "supports": (Anchor(name="first", station="A"),),
    }
    with pytest.raises(error, match=words):
        ready(line(**(fields | changes)))
