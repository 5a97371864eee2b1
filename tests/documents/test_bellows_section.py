"""A drawn bellows has the shape, the numbers and the units of its case, and names its gaps."""

import itertools
import math
import re
from xml.etree import ElementTree

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeup.bellows import evaluate, movements
from takeup.bellows.arrays import problem_for
from takeup.bellows.model import (
    Assembly,
    BellowsCase,
    Condition,
    Convolution,
    Movement,
    Role,
    Side,
    Treatment,
)
from takeup.checks import Check, Outcome
from takeup.documents.drawing import PRINT, WEB, bellows_section, joint_section
from takeup.documents.drawing.deflection import axis, bent, carried, displaced
from takeup.documents.drawing.displaced import factor_for
from takeup.documents.drawing.profile import (
    Ring,
    bellows_line,
    convolution_line,
    opening,
    ring_outline,
    shape_of,
)
from takeup.documents.drawing.stress_map import governing, place_of
from takeup.errors import Contradiction, MissingInput
from takeup.register.entities import BellowsElement, Joint, JointType, Line, ServiceClass
from takeup.units import System

replace = msgspec.structs.replace
PLAIN = BellowsCase(
    name="EJ-7 A", inside_diameter=0.6, height=0.05, pitch=0.04, convolutions=7, plies=1,
    ply_thickness=0.001, torus_radius=0.009, tangent_length=0.03, collar_length=0.02,
    collar_thickness=0.005, material="321", treatment=Treatment.AS_FORMED,
    conditions=(
        Condition(name="operating", pressure=2e5, temperature=600.0),
        Condition(name="design", pressure=4e5, temperature=650.0),
    ),
    movements=(Movement(name="start-up", axial=-0.01, lateral=0.004, angular=0.01, cycles=500),),
)  # fmt: skip
RINGED = replace(
    PLAIN, convolution=Convolution.U_REINFORCED, ring_area=math.pi / 4 * 0.012**2, torus_radius=0.01
)
TORUS = BellowsCase(
    name="Torus", convolution=Convolution.TOROIDAL, inside_diameter=1.118, pitch=0.2,
    mean_diameter=1.29, convolutions=2, plies=3, ply_thickness=0.002, torus_radius=0.0678,
    tangent_length=0.06, collar_length=0.06, collar_thickness=0.045, material="321",
)  # fmt: skip
SHAPES = [PLAIN, RINGED, replace(RINGED, ring_area=9e-4), TORUS]


def parts(svg, tag):
    """Elements of an SVG called ``tag``."""
    return ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}" + tag)


def words(svg):
    """All text of an SVG, in one line."""
    text = " ".join(part.text or "" for part in parts(svg, "text"))
    return text.replace("\u202f", " ").replace("\u00a0", " ")


def points(d):
    """Points of path data."""
    return np.array([[float(x), float(y)] for x, y in re.findall(r"(-?[\d.]+),(-?[\d.]+)", d)])


def bars(svg):
    """Scales of the drawing from its scale bars, top to bottom [px/mm]."""
    lengths = [float(t.text[:-3]) for t in parts(svg, "text")
               if re.fullmatch(r"\d+(\.\d+)? mm", t.text or "")]  # fmt: skip
    lines = [float(e.get("x2")) - float(e.get("x1")) for e in parts(svg, "line")
             if e.get("stroke-width") == "2"]  # fmt: skip
    assert len(lengths) == len(lines)
    return [px / mm for px, mm in zip(lines, lengths, strict=True)]


def test_the_half_section_is_to_scale():
    """Crests stand w over the roots, N of them, q apart, at the scale of the bar."""
    svg = bellows_section(PLAIN, system=System.METRIC)
    scale = bars(svg)[0]
    wall = max((points(p.get("d")) for p in parts(svg, "path")), key=len)
    high, low = wall[:, 1].min(), wall[:, 1].max()
    crests = sorted(wall[wall[:, 1] < high + 0.011, 0])

    assert low - high == pytest.approx(50.0 * scale, abs=0.05)
    assert len(crests) == 7
    assert np.diff(crests) == pytest.approx([40.0 * scale] * 6, abs=0.05)
    assert wall[:, 0].max() - wall[:, 0].min() == pytest.approx(7 * 40.0 * scale, abs=0.05)


def test_the_wall_stands_its_radius_above_the_axis():
    """From the axis to the root it is Db/2 and half the wall, at the same scale."""
    svg = bellows_section(PLAIN, system=System.METRIC)
    wall = max((points(p.get("d")) for p in parts(svg, "path")), key=len)
    axis_y = next(float(e.get("y1")) for e in parts(svg, "line")
                  if e.get("stroke-dasharray") == "14 4 2 4")  # fmt: skip

    assert axis_y - wall[:, 1].max() == pytest.approx(300.5 * bars(svg)[0], abs=0.05)


def test_the_enlarged_convolution_is_to_scale_and_thicker_plies_are_said():
    """Its plies span w and the wall at the scale of its own bar; a thin one is drawn thicker."""
    svg = bellows_section(PLAIN, system=System.METRIC)
    outline = next(points(p.get("d")) for p in parts(svg, "path") if p.get("fill") == PRINT.hair)
    thinned = shape_of(PLAIN).formed_thickness * 1e3

    assert np.ptp(outline[:, 1]) == pytest.approx((50.0 + thinned) * bars(svg)[1], abs=0.1)
    assert "as thick" not in words(svg)
    assert "plies drawn" in words(
        bellows_section(replace(PLAIN, ply_thickness=0.0002), system=System.METRIC)
    )


def test_each_ply_is_drawn_by_itself():
    """Three plies are three outlines, shaded in turn."""
    svg = bellows_section(replace(PLAIN, plies=3), system=System.METRIC)
    fills = [p.get("fill") for p in parts(svg, "path")]

    assert fills.count(PRINT.hair) + fills.count(PRINT.tint) == 3


@pytest.mark.parametrize("case", SHAPES)
def test_a_convolution_is_its_own_mirror_image(case):
    """Left and right flank are mirrored about the crest."""
    shape = shape_of(case)
    line = convolution_line(shape)
    other = line[::-1] * [-1.0, 1.0] + [shape.pitch, 0.0]

    assert line == pytest.approx(other, abs=1e-12)
    assert line[:, 1].max() == pytest.approx(shape.top)


@settings(max_examples=30, deadline=None)
@given(st.floats(0.03, 0.08), st.floats(0.15, 0.32), st.floats(0.0005, 0.002))
def test_surfaces_are_parallels_of_the_middle_line(height, share, lift):
    """Leaning or parallel side walls: each surface lies its distance from the middle line."""
    pitch = 0.04
    if 2 * share * pitch > height or math.hypot(pitch / 2, height - 2 * share * pitch) < (
        2 * share * pitch
    ):
        return
    shape = shape_of(replace(PLAIN, height=height, torus_radius=share * pitch))
    middle = convolution_line(shape)
    outer = convolution_line(shape, lift)
    between = np.linspace(0.0, 1.0, 400)
    dense = np.vstack([a + between[:, None] * (b - a) for a, b in itertools.pairwise(middle)])
    apart = np.hypot(*(outer[:, None, :] - dense[None, :, :]).transpose(2, 0, 1)).min(axis=1)

    assert apart == pytest.approx(np.full(len(outer), lift), abs=2e-4)
    assert middle[:, 1].max() == pytest.approx(height)


def test_a_torus_is_round_and_its_unknown_opening_is_said():
    """Every point above the neck lies r from the centre; an opening nobody gave is named."""
    shape = shape_of(TORUS)
    line = convolution_line(shape)
    centre = np.array([shape.pitch / 2, shape.height / 2])
    upper = line[line[:, 1] > shape.height / 2]

    assert np.hypot(*(upper - centre).T) == pytest.approx(shape.torus_radius)
    assert not opening(shape)[1]
    assert "Opening and neck of the torus not given" in words(
        bellows_section(TORUS, system=System.METRIC)
    )


def test_a_torus_that_meets_the_tangent_needs_no_guess():
    """Where r is more than half the rise, the opening follows from the dimensions."""
    case = replace(TORUS, mean_diameter=1.118 + 0.006 + 0.1)
    half, told = opening(shape_of(case))

    assert told
    assert half == pytest.approx(math.sqrt(0.0678**2 - 0.05**2))
    assert "not given: drawn" not in words(bellows_section(case, system=System.METRIC))


@pytest.mark.parametrize(
    ("area", "form"), [(1.131e-4, Ring.ROUND), (5e-4, Ring.EQUALISING), (9e-4, Ring.EQUALISING)]
)
def test_a_ring_has_its_area(area, form):
    """The drawn section of a ring encloses the area given, bar or equalising ring."""
    shape = shape_of(replace(RINGED, ring_area=area))
    x, y = ring_outline(shape).T
    drawn = abs(np.dot(x[:-1], y[1:]) - np.dot(x[1:], y[:-1])) / 2

    assert shape.ring == form
    assert drawn == pytest.approx(area, rel=0.02)  # arcs of straight pieces


def test_rings_lie_in_the_roots_between_convolutions():
    """Seven convolutions have six rings in the half section, and one enlarged."""
    svg = bellows_section(RINGED, system=System.METRIC)
    rings = [p for p in parts(svg, "path") if p.get("fill") == PRINT.tint]

    assert len(rings) == 6
    assert "round ring" in words(svg)


def test_text_carries_the_units_of_the_site():
    """Metric sites read mm, US sites inches, and not both."""
    metric = words(bellows_section(PLAIN, system=System.METRIC))
    us = words(bellows_section(PLAIN, system=System.US))

    assert "q 40.0 mm" in metric
    assert "⌀ Dm 651.0 mm" in metric
    assert not re.search(r"\d in\b", metric)
    assert "q 1.575 in" in us
    assert "⌀ Db 23.622 in" in us
    assert not re.search(r"\d mm\b", us)


@pytest.mark.parametrize(
    ("name", "words_of_it"),
    [
        ("inside_diameter", "inside diameter Db"), ("height", "convolution height w"),
        ("pitch", "pitch q"), ("convolutions", "number of convolutions N"),
        ("plies", "number of plies n"), ("ply_thickness", "ply thickness t"),
        ("tangent_length", "tangent length Lt"), ("collar_length", "collar length Lc"),
    ],
)  # fmt: skip
def test_what_is_not_known_is_dashed_and_named(name, words_of_it):
    """One unknown dimension: dashes, its name, no number of it, and no NaN."""
    svg = bellows_section(
        replace(PLAIN, missing=(name,)), system=System.METRIC, movement=PLAIN.movements[0]
    )

    assert "nan" not in svg.lower().replace("tangent", "")
    assert words_of_it in re.sub(r"\s+", " ", words(svg))
    assert "not known" in words(svg)
    assert re.search(r'stroke-dasharray="(5 3|3 2)"', svg)
    assert words_of_it in next(parts(svg, "desc")).text


@pytest.mark.parametrize("case", SHAPES)
def test_a_case_without_any_dimension_is_still_drawn(case):
    """Every dimension unknown: usual proportions, no NaN, displaced not evaluated."""
    bare = replace(
        case,
        missing=("inside_diameter", "height", "pitch", "convolutions", "plies", "ply_thickness",
                 "torus_radius", "mean_diameter", "ring_area", "tangent_length"),
    )  # fmt: skip
    svg = bellows_section(bare, system=System.METRIC, movement=Movement(name="m", axial=-0.01))

    assert not re.search(r"\bnan\b", svg, re.IGNORECASE)
    assert "Displaced by m: not evaluated" in words(svg)


@pytest.mark.parametrize("case", SHAPES)
@pytest.mark.parametrize("palette", [PRINT, WEB])
def test_a_section_tells_what_it_is(case, palette):
    """Title and description name the bellows and its shape; ids are its own."""
    svg = bellows_section(case, system=System.METRIC, palette=palette)
    root = ElementTree.fromstring(svg)
    by_id = {e.get("id"): e.text for e in root if e.get("id")}
    title, desc = (by_id[id] for id in root.get("aria-labelledby").split())

    assert case.name in title
    assert case.convolution.value in title
    assert "convolutions" in desc


def test_dimensions_that_make_no_convolution_are_refused():
    """A torus radius that does not fit the height is refused by name and number."""
    with pytest.raises(Contradiction, match="w 15 mm"):
        bellows_section(replace(PLAIN, height=0.015), system=System.METRIC)
    with pytest.raises(Contradiction, match="mean diameter"):
        bellows_section(replace(TORUS, mean_diameter=1.1), system=System.METRIC)


def test_a_long_bellows_is_cut_and_says_so():
    """Where convolutions would be too small to see, the middle is left out, in words."""
    long = replace(PLAIN, convolutions=200, inside_diameter=0.2)
    svg = bellows_section(long, system=System.METRIC)

    assert re.search(r"Long bellows cut in the middle: \d+ of 200 convolutions", words(svg))
    assert "N q = 200 × 40.0 mm = 8 000.0 mm" in words(svg)


def test_measured_thickness_and_geometry_are_shown_over_the_nominal():
    """The least ply measured and the pitch as found stand beside the nominal ones."""
    case = replace(PLAIN, thinnest_ply=0.0006)
    svg = bellows_section(case, system=System.METRIC, found=replace(PLAIN, pitch=0.046))

    assert "least measured 0.60 mm" in words(svg)
    assert "as found q 46.0 mm" in words(svg)
    assert 'stroke-dasharray="9 3 2 3"' in svg


def test_pressure_is_drawn_on_its_side():
    """Outside pressure is said to stand outside."""
    assert "pressure inside" in words(bellows_section(PLAIN, system=System.METRIC))
    outside = replace(PLAIN, pressurised=Side.OUTSIDE)
    assert "pressure outside" in words(bellows_section(outside, system=System.METRIC))


MOVES = st.builds(
    Movement,
    name=st.just("m"),
    axial=st.floats(-0.03, 0.03),
    lateral=st.floats(-0.008, 0.008),
    angular=st.floats(-0.02, 0.02),
)


@settings(max_examples=40, deadline=None)
@given(MOVES)
def test_the_displaced_axis_ends_where_the_joint_was_moved(move):
    """The end has moved by x and by y + theta L/2, and turned by theta (small angles)."""
    shape = shape_of(PLAIN)
    bend = bent(PLAIN, shape, move)
    x, y, phi = axis(shape, bend, np.array([shape.length]))
    sign = math.cos(bend.plane)

    assert phi[0] == pytest.approx(sign * move.angular, abs=1e-9)
    wanted = move.lateral + move.angular * (shape.length + move.axial) / 2
    assert y[0] == pytest.approx(sign * wanted, rel=0.01, abs=1e-5)
    assert x[0] == pytest.approx(shape.length + move.axial, abs=4e-4)


@settings(max_examples=30, deadline=None)
@given(MOVES)
def test_the_hardest_working_fibre_is_that_of_the_rule_sets(move):
    """The worst movement per convolution equals ex and the sum of ey and eth."""
    shape = shape_of(PLAIN)
    b = problem_for(PLAIN).setting.bellows
    ex = movements.axial(b, move.axial)
    swing = abs(movements.lateral_single(b, move.lateral, move.axial)) + abs(
        movements.angular(b, move.angular)
    )
    value, _, _ = bent(PLAIN, shape, move).worst

    assert abs(value) == pytest.approx(abs(ex) + swing)


def test_an_angle_against_the_lateral_movement_adds_at_the_other_end():
    """Reversing the angle moves the hardest working convolution, not its movement."""
    shape = shape_of(PLAIN)
    one = bent(PLAIN, shape, Movement(name="m", lateral=0.004, angular=0.01)).worst
    other = bent(PLAIN, shape, Movement(name="m", lateral=0.004, angular=-0.01)).worst

    assert abs(one[0]) == pytest.approx(abs(other[0]))
    assert one[1] is True
    assert other[1] is False


def test_a_set_when_installed_is_part_of_the_position():
    """A pre-set of half the movement the other way halves what is drawn."""
    shape = shape_of(PLAIN)
    move = Movement(name="m", axial=-0.02)

    assert bent(replace(PLAIN, offset_axial=0.01), shape, move).ex == pytest.approx(-0.01 / 7)


def test_the_balancing_bellows_moves_against_the_flow_bellows():
    """It opens while the joint closes, and lateral movement passes it by."""
    case = replace(PLAIN, assembly=Assembly.BALANCED_ELBOW, role=Role.BALANCING)
    bend = bent(case, shape_of(case), Movement(name="m", axial=-0.014, lateral=0.01))

    assert bend.ex == pytest.approx(0.002)
    assert bend.near == 0.0


def test_two_planes_add_as_vectors():
    """Lateral in one plane and angle in the other: the worst plane lies between them."""
    move = Movement(name="m", lateral=0.003, angular_across=0.02)
    shape = shape_of(PLAIN)
    b = problem_for(PLAIN).setting.bellows
    ey, eth = movements.lateral_single(b, 0.003), movements.angular(b, 0.02)
    bend = bent(PLAIN, shape, move)

    assert abs(bend.worst[0]) == pytest.approx(math.hypot(ey, eth))
    assert bend.plane == pytest.approx(math.atan2(eth, ey))


def test_a_movement_and_its_opposite_are_mirror_images():
    """Lateral and angular reversed: every point mirrored about the axis."""
    shape = shape_of(PLAIN)
    line = bellows_line(shape) + np.array([0.0, shape.root])
    there = bent(PLAIN, shape, Movement(name="m", lateral=0.006, angular=0.01))
    back = replace(there, near=-there.near, far=-there.far)
    mirror = displaced(shape, back, line * [1.0, -1.0]) * [1.0, -1.0]

    assert displaced(shape, there, line) == pytest.approx(mirror, abs=1e-12)


def test_no_movement_moves_nothing():
    """Zero movement gives the same points back."""
    shape = shape_of(TORUS)
    line = bellows_line(shape) + np.array([0.0, shape.root])
    rest = bent(TORUS, shape, Movement(name="m"))

    assert displaced(shape, rest, line) == pytest.approx(line, abs=1e-12)
    assert rest.worst[0] == 0.0


def test_a_ring_keeps_its_form_when_the_bellows_moves():
    """A ring is carried as a rigid body: distances within it stay."""
    shape = shape_of(RINGED)
    ring = ring_outline(shape) + np.array([shape.pitch, shape.root])
    moved = carried(shape, bent(RINGED, shape, Movement(name="m", lateral=0.01)), ring, shape.pitch)

    assert np.hypot(*np.diff(moved, axis=0).T) == pytest.approx(np.hypot(*np.diff(ring, axis=0).T))


def test_a_universal_shares_its_movement_over_both_bellows():
    """The near end works as the universal formula says, the inner end less; length is needed."""
    shape = shape_of(PLAIN)
    case = replace(PLAIN, assembly=Assembly.UNIVERSAL, length_over_both=1.6)
    move = Movement(name="m", axial=-0.01, lateral=0.02)
    bend = bent(case, shape, move)
    b = problem_for(PLAIN).setting.bellows

    assert bend.ex == pytest.approx(-0.01 / 14)
    assert bend.near == pytest.approx(movements.lateral_universal(b, 0.02, 1.6, -0.01))
    assert bend.far == pytest.approx(bend.near * (1 - 2 * 0.28 / 1.6))
    short = replace(case, length_over_both=None)
    with pytest.raises(MissingInput, match="length over both"):
        bent(short, shape, move)
    assert "length over both bellows" in words(
        bellows_section(short, system=System.METRIC, movement=move)
    )


def test_exaggeration_is_stated_and_never_closes_convolutions():
    """A small movement is drawn larger and says how much; a large one to true scale."""
    shape = shape_of(PLAIN)
    small, large = Movement(name="s", lateral=0.0005), Movement(name="l", axial=-0.11)
    factor = factor_for(shape, bent(PLAIN, shape, small))
    svg = bellows_section(PLAIN, system=System.METRIC, movement=small)

    assert factor > 1
    assert f"movement drawn {factor:g} × too large" in words(svg)
    assert factor_for(shape, bent(PLAIN, shape, large)) == 1.0
    assert "movement to true scale" in words(
        bellows_section(PLAIN, system=System.METRIC, movement=large)
    )


def test_convolutions_that_touch_are_said():
    """A movement that uses up the clear gap is a warning in words."""
    svg = bellows_section(
        PLAIN, system=System.METRIC, movement=Movement(name="too far", axial=-0.2)
    )

    assert "Neighbouring convolutions touch" in words(svg)


def test_the_stress_map_places_each_check_where_its_stress_sits():
    """Hoop at the wall, meridional at crest and root, tangent at the tangent, squirm whole."""
    report = evaluate(PLAIN)
    found = governing(report, PLAIN.convolution)
    ids = {place: {c.id.partition("@")[0] for c, _ in rows} for place, rows in found.items()}

    assert "S1" in ids["tangent"]
    assert "S2" in ids["side wall"]
    assert {"S3+S4", "fatigue"} <= ids["crest and root"]
    assert "column_squirm" in ids["the whole bellows"]


def test_the_stress_map_shows_the_number_and_the_shape_of_each_outcome():
    """Worst condition by number; not met is a triangle; not evaluated never looks met."""
    report = evaluate(PLAIN)
    worst = next(
        c
        for c, _ in governing(report, PLAIN.convolution)["crest and root"]
        if c.id.startswith("S3+S4")
    )
    svg = bellows_section(PLAIN, system=System.METRIC, report=report)
    assert f"{worst.ratio:.2f}  {worst.name}" in words(svg)

    source = report.checks[0].source
    checks = (
        Check(id="S2@design", name="Hoop", outcome=Outcome.NOT_MET, demand=2.0, capacity=1.0,
              source=source),
        Check(id="S1@design", name="Tangent", outcome=Outcome.NOT_EVALUATED, source=source),
    )  # fmt: skip
    svg = bellows_section(PLAIN, system=System.METRIC, report=replace(report, checks=checks))
    assert "2.00  Hoop" in words(svg)
    assert "not evaluated:  Tangent" in words(svg)
    assert any(p.get("fill") == PRINT.warn for p in parts(svg, "path"))
    assert 'stroke-dasharray="2 1.6"' in svg


def test_a_condition_that_was_not_evaluated_is_named_beside_the_worst_one():
    """A check met at design does not hide that operating could not be evaluated."""
    source = evaluate(PLAIN).checks[0].source
    checks = (
        Check(id="S2@design", name="Hoop", outcome=Outcome.MET, demand=0.5, capacity=1.0,
              source=source),
        Check(id="S2@operating", name="Hoop", outcome=Outcome.NOT_EVALUATED, source=source),
    )  # fmt: skip
    found = governing(replace(evaluate(PLAIN), checks=checks), PLAIN.convolution)

    assert place_of(checks[0], PLAIN.convolution) == "side wall"
    assert found["side wall"] == [(checks[0], "design; operating not evaluated")]


def test_a_torus_has_its_own_places():
    """Stress along a torus sits at its inner side and wall, not at a crest or side wall."""
    report = evaluate(replace(TORUS, conditions=PLAIN.conditions))
    found = governing(report, TORUS.convolution)
    said = words(bellows_section(TORUS, system=System.METRIC, report=report))

    assert {"torus", "inner side of the torus", "tangent"} <= set(found)
    assert "side wall" not in said


def test_rings_carry_their_own_checks():
    """Hoop stress of rings and fasteners is shown at ring and fastener."""
    case = replace(RINGED, ring_material="304", fastener_area=1e-4, fastener_length=0.05,
                   fastener_allowable=1e8)  # fmt: skip
    found = governing(evaluate(case), case.convolution)

    assert {"ring", "fastener"} <= set(found)


def test_a_report_outside_its_rules_says_so_over_the_map():
    """Ratios of a bellows that the rule set does not cover carry the warning."""
    report = replace(evaluate(PLAIN), valid=False)

    assert "relative measure only" in words(
        bellows_section(PLAIN, system=System.METRIC, report=report)
    )


def test_every_point_lies_within_the_drawing():
    """Nothing is drawn outside the picture, at two widths, with everything shown."""
    for case, width in itertools.product(SHAPES, (600.0, 760.0)):
        svg = bellows_section(
            case, system=System.METRIC, width=width, report=evaluate(PLAIN),
            movement=Movement(name="m", axial=0.01, lateral=0.01, angular=0.03),
        )  # fmt: skip
        root = ElementTree.fromstring(svg)
        height = float(root.get("height"))
        every = np.vstack([points(p.get("d")) for p in parts(svg, "path")
                           if "A" not in p.get("d")])  # fmt: skip
        assert every.min() >= 0.0
        assert every[:, 0].max() <= width
        assert every[:, 1].max() <= height


def box(text):
    """About where a text lies, rather smaller than it is."""
    size, x, y = (float(text.get(name)) for name in ("font-size", "x", "y"))
    wide = 0.4 * size * len(text.text or "")
    shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.get("text-anchor")] * wide
    if text.get("transform"):  # reads upwards
        return x - 0.7 * size, y + shift - wide, x, y + shift
    return x - shift, y - 0.7 * size, x - shift + wide, y


@pytest.mark.parametrize("case", [*SHAPES, replace(PLAIN, inside_diameter=0.08, convolutions=60)])
@pytest.mark.parametrize("width", [560.0, 760.0])
@pytest.mark.parametrize("system", list(System))
def test_words_neither_overlap_nor_leave_the_picture(case, width, system):
    """With every panel shown, labels keep apart from each other and within the frame."""
    case = replace(case, conditions=PLAIN.conditions, thinnest_ply=0.0007)
    svg = bellows_section(
        case, system=system, width=width, report=evaluate(case), found=case,
        movement=Movement(name="start-up", axial=-0.004, lateral=0.001, angular_across=0.002),
    )  # fmt: skip
    height = float(ElementTree.fromstring(svg).get("height"))
    boxes = [(t.text, box(t)) for t in parts(svg, "text")]

    for name, (left, top, right, low) in boxes:
        assert left >= 0, name
        assert right <= width, name
        assert top >= 0, name
        assert low <= height, name
    for (one, a), (two, b) in itertools.combinations(boxes, 2):
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        assert apart, (one, two)


JOINT = Joint(tag="J-1", line="L", type=JointType.SINGLE)
LINE = Line(tag="L", unit="U", name="n", service=ServiceClass.OTHER, diameter=0.8)


def element(**fields):
    """A bellows on record."""
    return BellowsElement(joint="J-1", letter="A", **fields)


def test_a_joint_on_record_shows_its_rings():
    """Reinforced convolutions are drawn with a ring in each root between them."""
    one = element(convolution=Convolution.U_REINFORCED, inside_diameter=0.6, height=0.06,
                  pitch=0.06, convolutions=6, plies=1, ply_thickness=0.001)  # fmt: skip
    unknown = joint_section(JOINT, (one,), (), LINE, system=System.METRIC)
    known = joint_section(JOINT, (replace(one, ring_area=2e-4),), (), LINE, system=System.METRIC)

    for svg in (unknown, known):
        assert sum(p.get("fill") == PRINT.tint for p in parts(svg, "path")) == 5
    assert "rings of unknown size" in words(unknown)
    assert "single ply, round rings" in words(known)


def test_a_joint_on_record_shows_its_tori():
    """A toroidal bellows is round, and its dimension is that of the torus centre line."""
    one = element(convolution=Convolution.TOROIDAL, inside_diameter=1.118, pitch=0.2,
                  mean_diameter=1.29, convolutions=2, plies=3, ply_thickness=0.002,
                  torus_radius=0.0678)  # fmt: skip
    svg = joint_section(JOINT, (one,), (), LINE, system=System.METRIC)
    wall = max((points(p.get("d")) for p in parts(svg, "path")), key=len)
    ball = wall[wall[:, 0] < wall[:, 0].mean()]
    upper = ball[ball[:, 1] < (ball[:, 1].min() + ball[:, 1].max()) / 2]

    assert np.ptp(upper[:, 0]) == pytest.approx(2 * 0.0678 / 0.2 * np.ptp(wall[:, 0]) / 2, rel=0.01)
    assert "⌀ Dm 1 290.0 mm" in words(svg)
    assert "toroidal" in words(svg)


def test_a_joint_whose_dimensions_make_no_convolution_says_so():
    """Impossible dimensions on record do not stop the drawing, and are not drawn as if true."""
    one = element(inside_diameter=0.6, height=0.02, pitch=0.2, convolutions=4, plies=1,
                  ply_thickness=0.001)  # fmt: skip
    svg = joint_section(JOINT, (one,), (), LINE, system=System.METRIC)

    assert "make no convolution" in words(svg)
    assert "w not known" in words(svg)
