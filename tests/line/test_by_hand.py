"""Small lines written as text against what a hand calculation on one page gives."""

from __future__ import annotations

import math

import numpy as np
import pytest

from takeup import materials
from takeup.line.solve import StateResult, prepare, solve
from takeup.line.text import read

D, T = 0.2191, 0.00818
AREA = math.pi / 4 * (D**2 - (D - 2 * T) ** 2)
INERTIA = math.pi / 64 * (D**4 - (D - 2 * T) ** 4)
ROOM, HOT = 294.2612, 573.15
E = float(materials.modulus("304H", ROOM).value)
GROWTH = float(materials.expansion_total("304H", HOT).value)
PIPE = '[[pipe]]\nname = "p"\noutside = "219.1 mm"\nwall = "8.18 mm"\nmetal = "304H"\n'
COLD_LEG = PIPE.replace('"p"', '"q"')
STATES = """[[state]]
name = "cold"
pressure = 0
temperature = "294.2612 K"
weight = {weight}
[[state]]
name = "hot"
pressure = {pressure}
temperature = "{temperature} K"
temperatures = {{ {temperatures} }}
weight = {weight}
"""


def states(
    pressure: float = 0.0,
    temperature: float = ROOM,
    weight: bool = False,
    temperatures: str = "",
) -> str:
    """A cold and a hot state."""
    return STATES.format(
        pressure=pressure,
        temperature=temperature,
        weight=str(weight).lower(),
        temperatures=temperatures,
    )


def run(legs: str, *rest: str, pipes: str = PIPE) -> dict[str, StateResult]:
    """Each state at rest, of a run from station a at the origin."""
    text = f'line = "H"\n{pipes}[[run]]\nstart = "a"\nat = [0, 0, 0]\npipe = "p"\nlegs = [\n'
    results = solve(prepare(read(text + legs + "\n]\n" + "".join(rest)), shear=False))
    for one in results:
        assert one.certificate.residual < 1e-9
    return {one.state: one for one in results}


def anchor(station: str, growth: str = "") -> str:
    """An anchor, which may grow in the hot state."""
    more = f"growth = {{ hot = {growth} }}\n" if growth else ""
    return f'[[anchor]]\nname = "{station}"\nstation = "{station}"\n{more}'


def joint(bellows: int = 1, rate: float = 300e3, diameter: float = 0.24, more: str = "") -> str:
    """A joint EJ of one or two bellows, 0.3 m each."""
    one = f"[[joint.bellows]]\nlength = 0.3\naxial_rate = {rate}\nmean_diameter = {diameter}\n"
    head = '[[joint]]\ntag = "EJ"\n' + ("over_both = 1.5\n" if bellows == 2 else "")
    return head + one * bellows + more


LINEAR = """{ east = 5, to = "b" }, { along = 0.3, joint = "EJ", to = "c" },
{ along = 5, to = "d" }"""


def test_an_untied_joint_throws_its_thrust_and_spring_on_the_anchors():
    """P times effective area, and rate times the growth that pipe in line leaves to it."""
    p, rate, area = 5e5, 300e3, math.pi / 4 * 0.24**2
    free = run(LINEAR, joint(), anchor("a"), anchor("d"), states(p, HOT))["hot"]
    length = 10.0
    share = 1.0 + rate * length / (E * AREA)
    force = (p * area + rate * GROWTH * length) / share

    assert free.reaction("d").force[0] == pytest.approx(force, rel=0.01)
    assert free.reaction("a").force[0] == pytest.approx(-force, rel=0.01)
    assert free.joint("EJ").axial == pytest.approx(-(force - p * area) / rate, rel=0.01)


def test_tie_rods_of_a_universal_keep_the_thrust_off_the_anchors():
    """Anchors feel only what rods as long as the universal stretch; moved aside, it takes it all."""
    area, p, thrust = 8e-4, 8e5, 8e5 * math.pi / 4 * 0.24**2
    rods = f'[[joint.hardware]]\nhold = "tie rods"\nrods = 4\ncircle = 0.4\nrod_area = {area}\n'
    legs = """{ east = 1, to = "b" }, { along = 1.5, joint = "EJ", to = "c" },
{ along = 1, to = "d" }"""
    data = joint(2, rate=50e3, more=rods)
    hot = run(legs, data, anchor("a"), anchor("d", "[0, 0.02, 0]"), states(p))["hot"]
    rod, pipe = 4 * 200e9 * area / 1.5, E * AREA / 2.0

    assert -hot.reaction("a").force[0] == pytest.approx(thrust / (1 + rod / pipe), rel=0.03)
    assert math.hypot(*hot.joint("EJ").lateral) == pytest.approx(0.02, rel=0.001)


def offset(hold: str, axis: str, towards: str) -> tuple[str, str]:
    """Two joints 4 m apart between pins in a leg off the run."""
    legs = f"""{{ east = 6, to = "b", bend = "square" }}, {{ {towards} = 1, pipe = "q", to = "c" }},
{{ along = 0.3, joint = "E1", to = "d" }}, {{ along = 3.7, to = "e" }},
{{ along = 0.3, joint = "E2", to = "f" }}, {{ along = 1, to = "g", bend = "square" }},
{{ east = 4, pipe = "p", to = "h" }}"""
    more = f'[[joint.hardware]]\nhold = "{hold}"\n{axis}'
    data = joint(rate=5e3, more=more)
    return legs, data.replace('"EJ"', '"E1"') + data.replace('"EJ"', '"E2"')


def test_two_hinges_in_a_leg_turn_by_the_growth_over_their_distance():
    """Cold leg, hot runs: both pins turn by growth over the distance between them."""
    legs, data = offset("hinge", 'axis = "up"\n', "north")
    hot = run(
        legs, data, anchor("a"), anchor("h"), states(0.0, HOT, temperatures='q = "294.2612 K"'),
        pipes=PIPE + COLD_LEG,
    )["hot"]  # fmt: skip
    turn = math.atan(10 * GROWTH / 4.0)

    for tag in ("E1", "E2"):
        assert math.hypot(*hot.joint(tag).angular) == pytest.approx(turn, rel=0.02)
        assert abs(hot.joint(tag, 0).axial) < 1e-5


def test_two_gimbals_turn_by_growth_in_two_planes():
    """An anchor moves across the plane of the runs: the angles add at right angles."""
    legs, data = offset("gimbal", "", "up")
    hot = run(
        legs, data, anchor("a"), anchor("h", "[0, 0.03, 0]"),
        states(0.0, HOT, temperatures='q = "294.2612 K"'), pipes=PIPE + COLD_LEG,
    )["hot"]  # fmt: skip
    total = math.hypot(10 * GROWTH, 0.03) / 4.0

    for tag in ("E1", "E2"):
        assert math.hypot(*hot.joint(tag).angular) == pytest.approx(total, rel=0.05)


def test_an_anchor_that_settles_bends_the_pipe_as_a_guided_cantilever():
    """12 E I d over l cubed, and 6 E I d over l squared."""
    sink, length = 0.01, 6.0
    hot = run('{ east = 6, to = "b" }', anchor("a"), anchor("b", f"[0, 0, {-sink}]"), states())[
        "hot"
    ]

    assert hot.reaction("a").force[2] == pytest.approx(
        -12 * E * INERTIA * sink / length**3, rel=1e-6
    )
    assert abs(hot.reaction("a").moment[1]) == pytest.approx(
        6 * E * INERTIA * sink / length**2, rel=1e-6
    )


def test_a_pipe_that_slides_on_rests_pushes_its_anchor_by_friction_of_all():
    """Once every rest slides, the anchor carries friction times all they bear, and no more."""
    legs = ",\n".join(f'{{ east = 5, to = "s{n}" }}' for n in range(6))
    rests = "".join(
        f'[[rest]]\nname = "r{n}"\nstation = "s{n}"\nfriction = 0.3\n' for n in range(6)
    )
    found = run(legs, anchor("a"), rests, states(0.0, HOT, weight=True))
    hot = found["hot"]
    borne = [-hot.reaction(f"r{n}").force[2] for n in range(6)]

    assert min(borne) > 0.0
    assert hot.reaction("a").force[0] == pytest.approx(-0.3 * sum(borne), rel=1e-6)
    for n in range(6):
        assert hot.reaction(f"r{n}").force[0] == pytest.approx(0.3 * borne[n], rel=1e-6)


def weight_per_metre() -> float:
    """Of the bare pipe, by what an anchor at one end carries of a free length [N/m]."""
    cold = run('{ east = 2, to = "b" }', anchor("a"), states(weight=True))["cold"]
    return -float(cold.reaction("a").force[2]) / 2.0


def test_a_propped_pipe_bears_three_eighths_on_its_rest():
    """3/8 of the weight on the prop, w l squared over 8 at the anchor; steel weighs 8 t/m3."""
    w, length = weight_per_metre(), 8.0
    cold = run(
        '{ east = 8, to = "b" }', anchor("a"), '[[rest]]\nname = "r"\nstation = "b"\n',
        states(weight=True),
    )["cold"]  # fmt: skip

    assert w == pytest.approx(8000 * AREA * 9.80665, rel=0.02)
    assert -cold.reaction("r").force[2] == pytest.approx(3 / 8 * w * length, rel=1e-3)
    assert abs(cold.reaction("a").moment[1]) == pytest.approx(w * length**2 / 8, rel=2e-3)


def test_a_rod_carries_its_span_and_goes_slack_when_the_pipe_is_lifted():
    """Between fixed ends the rod carries one span; lifted at both ends it carries nothing."""
    w = weight_per_metre()
    up = "[0, 0, 0.05]"
    found = run(
        '{ east = 6, to = "m" }, { along = 6, to = "b" }', anchor("a", up), anchor("b", up),
        '[[rod]]\nname = "rod"\nstation = "m"\nlength = 3\nstiffness = 1e11\n', states(weight=True),
    )  # fmt: skip

    assert found["cold"].reaction("rod").force[2] == pytest.approx(-6 * w, rel=1e-3)
    assert found["hot"].reaction("rod").force[2] == pytest.approx(0.0, abs=1e-6)


def test_springs_of_both_kinds_carry_what_their_plates_say():
    """Lifted by 12 mm, a coil gives up rate times 12 mm; a constant spring gives up nothing."""
    legs = '{ east = 1, rigid = "block", mass = 900, to = "b" }'
    coil = (
        '[[spring]]\nname = "s"\nstation = "b"\nrate = 50e3\nload = 4000\n'
        "travel_up = 0.05\ntravel_down = 0.05\n"
    )
    even = (
        '[[constant]]\nname = "s"\nstation = "b"\nload = 4000\ntolerance = 0\n'
        "travel_up = 0.05\ntravel_down = 0.05\n"
    )
    for spring, hot_load in ((coil, 4000 - 50e3 * 0.012), (even, 4000.0)):
        found = run(legs, anchor("a", "[0, 0, 0.012]"), spring, states(weight=True))
        assert found["cold"].reaction("s").force[2] == pytest.approx(-4000, rel=1e-3)
        assert found["hot"].reaction("s").force[2] == pytest.approx(-hot_load, rel=1e-3)
        total = sum(one.force[2] for one in found["hot"].reactions)
        assert total == pytest.approx(-900 * 9.80665, rel=1e-6)


BOTH = (
    ('"219.1 mm"', '"8.626 in"'),
    ('"5 bar"', '"72.5189 psi"'),
    ('"6 m"', '"19.685039 ft"'),
    ('"300 C"', '"572 F"'),
    ('"60 N/mm"', '"342.608 lbf/in"'),
    ('"8 kN"', '"1798.47 lbf"'),
)
MIXED = """line = "U"
[[pipe]]
name = "p"
outside = "219.1 mm"
wall = 0.00818
metal = "304H"
[[run]]
start = "a"
at = [0, 0, 0]
pipe = "p"
legs = [
  {{ bearing = "{one} deg", along = "6 m", to = "b", bend = "long" }},
  {{ bearing = "{two} deg", along = "6 m", to = "c", bend = "long" }},
  {{ up = "6 m", to = "d" }},
]
[[anchor]]
station = "a"
[[anchor]]
station = "d"
[[spring]]
station = "b.in"
rate = "60 N/mm"
load = "8 kN"
travel_up = "40 mm"
travel_down = "40 mm"
[[rest]]
station = "c.in"
friction = 0.3
[[state]]
name = "hot"
pressure = "5 bar"
temperature = "300 C"
"""


def loads(text: str) -> dict[str, np.ndarray]:
    """Force on each support."""
    (hot,) = solve(prepare(read(text)))
    return {one.name: np.array(one.force) for one in hot.reactions}


def test_us_units_and_si_say_the_same_line():
    """The same line in feet, psi and °F bears the same."""
    text = MIXED.format(one=90, two=0)
    other = text
    for si, us in BOTH:
        assert si in other
        other = other.replace(si, us)
    one, two = loads(text), loads(other)

    for name in one:
        assert two[name] == pytest.approx(one[name], rel=2e-4, abs=2.0)


def test_a_line_turned_about_the_vertical_bears_the_same():
    """Turned by 37 degrees, every load turns with it, friction too."""
    one, two = loads(MIXED.format(one=90, two=0)), loads(MIXED.format(one=53, two=-37))
    turn = math.radians(37.0)
    matrix = np.array(
        [[math.cos(turn), -math.sin(turn), 0], [math.sin(turn), math.cos(turn), 0], [0, 0, 1]]
    )
    largest = max(float(np.abs(force).max()) for force in one.values())

    for name, force in one.items():
        assert two[name] == pytest.approx(matrix @ force, abs=1e-6 * largest)
