"""The load path: equilibrium at every part, what defects take away, what is refused or open."""

import math

import msgspec
import pytest
from hardware_cases import KELVIN, LINKS, LUGS, PINS, PLATES, RING, RODS, case, conditions
from hypothesis import given, settings
from hypothesis import strategies as st

from takeup import materials
from takeup.bellows.hardware import check_hardware, explain, governing, stress, trace
from takeup.bellows.hardware.model import (
    GIMBALS,
    HELD_BY_ANCHORS,
    PAIRS,
    RODDED,
    AcrossDirection,
    Defect,
    DefectKind,
    End,
    Factors,
    HardwareCase,
    HardwareCondition,
    HardwareType,
    RingShape,
    Sharing,
    ShearPlanes,
)
from takeup.bellows.hardware.results import Holder, PartKind, PartState
from takeup.checks import Outcome
from takeup.errors import Contradiction, MissingInput, OutOfRange, UnknownName
from takeup.sources import Standing

ALL = list(HardwareType)
replace = msgspec.structs.replace


def inner(path):
    return [p.id for p in path.parts if p.kind not in {PartKind.LOAD, PartKind.REACTION,
                                                       PartKind.ANCHOR}]  # fmt: skip


def balanced(path):
    size = path.thrust + 1.0
    return all(
        force < 1e-9 * size and moment < 1e-8 * size
        for force, moment in map(path.imbalance, inner(path))
    )


def at(path, id):
    return next(check for check in path.checks if check.id == f"{id}@{path.condition}")


@given(
    kind=st.sampled_from(ALL),
    thrust=st.floats(1.0, 5e6),
    weight=st.floats(0.0, 2e5),
    lateral=st.floats(0.0, 1e5),
    along=st.floats(-1e5, 1e5),
    friction=st.floats(0.0, 0.6),
    angle=st.floats(0.0, 0.2),
    axial=st.floats(-0.1, 0.1),
    count=st.integers(2, 9),
    even=st.booleans(),
    limit=st.booleans(),
    way=st.sampled_from([None, *AcrossDirection]),
)
@settings(max_examples=50, deadline=None)
def test_every_part_is_in_equilibrium(
    kind, thrust, weight, lateral, along, friction, angle, axial, count, even, limit, way
):
    """Forces and moments balance at every part between the loads and the reactions."""
    joint = case(
        kind,
        weight_across=weight,
        lateral_load=lateral,
        weight_along=along,
        across_direction=way,
        axial_rate=3e5,
        axial_rate_b=3.3e5,
    )
    if joint.rods:
        sharing = Sharing.EVEN if even else Sharing.WORST
        joint = replace(joint, rods=replace(RODS, count=count, sharing=sharing))
    if joint.pins:
        joint = replace(joint, pins=replace(joint.pins, friction=friction))
    condition = HardwareCondition(
        name="design", thrust=thrust, temperature=500.0, axial=axial, angular=angle
    )

    path = trace(joint, condition, at_limit=limit)

    assert path.holds
    assert balanced(path)
    into = next(t for t in path.transfers if t.source == "end A")
    assert into.tension >= 0.9999 * thrust or kind == HardwareType.PANTOGRAPH
    if kind in RODDED and (limit or kind == HardwareType.TIE_RODS):
        stretch = thrust + max(0.0, -3e5 * axial) + max(0.0, along)
        tensions = [t.tension for t in path.transfers if t.source.startswith("rod ")]
        assert sum(tensions) == pytest.approx(stretch)
        assert min(tensions) >= 0.0


@pytest.mark.parametrize("kind", ALL)
def test_a_lug_gets_the_moment_of_the_wrench_that_it_hands_on(kind):
    """The bending moment checked at the pipe wall is that of the transfer, moved there."""
    joint = case(kind)
    if joint.rods:
        joint = replace(joint, rods=replace(RODS, sharing=Sharing.EVEN))
    path = trace(joint, "design", at_limit=True)

    pairs = []
    for transfer in path.transfers:
        if transfer.source != "pipe A" or transfer.target == "spool":
            continue
        part = path.part(transfer.target)
        x, y, z = transfer.at
        inward = (joint.pipe_diameter / 2) / math.hypot(y, z)
        reach = joint.plates.length if joint.plates and kind != HardwareType.PANTOGRAPH else 0.0
        wall = (x + reach, y * inward, z * inward)
        stated = next(q.value for q in part.loads if q.name == "bending moment at the pipe")
        pairs.append((stated, math.hypot(*transfer.moment_at(wall))))
    # friction and load across may act either way and are taken where they hurt
    assert len(pairs) >= 2
    assert all(stated >= moved * (1 - 1e-9) for stated, moved in pairs)
    assert max(s for s, _ in pairs) == pytest.approx(
        max(m for _, m in pairs), rel=0.05 if kind in GIMBALS | PAIRS else 1e-6
    )


def test_tied_thrust_splits_by_the_stated_assumption():
    """Worst seating puts half on each of two opposite rods, even seating a quarter on each."""
    worst = trace(case(HardwareType.TIE_RODS), "design")
    even = trace(case(HardwareType.TIE_RODS, rods=replace(RODS, sharing=Sharing.EVEN)), "design")

    def tensions(path):
        return [path.part(f"rod {i}").loads[0].value for i in (1, 2, 3, 4)]

    assert tensions(worst) == pytest.approx([477750 / 2, 0, 477750 / 2, 0])
    assert tensions(even) == pytest.approx([477750 / 4] * 4)
    assert at(worst, "rods.tension").demand == pytest.approx(2 * at(even, "rods.tension").demand)
    assert any("worst seating" in note for note in worst.notes)


def test_report_shows_both_ways_of_sharing():
    """The report states F / nr and the worst seating side by side."""
    report = check_hardware(case(HardwareType.TIE_RODS))
    figures = {figure.id: figure.value for figure in report.figures}

    assert figures["rod_even@design"] == pytest.approx(477750 / 4)
    assert figures["rod_worst@design"] == pytest.approx(477750 / 2)


@pytest.mark.parametrize("kind", [k for k in ALL if k not in HELD_BY_ANCHORS])
def test_use_of_capacity_grows_in_proportion_to_the_load(kind):
    """Twice all loads gives twice the demand of every check."""
    joint = case(kind, angular_rate=0.0, weight_along=1e4)
    one = trace(joint, HardwareCondition(name="x", thrust=3e5, temperature=500.0, axial=0.0,
                                         angular=0.0))  # fmt: skip
    twice = replace(joint, weight_along=2e4, weight_across=4e4)
    two = trace(twice, HardwareCondition(name="x", thrust=6e5, temperature=500.0, axial=0.0,
                                         angular=0.0))  # fmt: skip

    compared = 0
    for a, b in zip(one.checks, two.checks, strict=True):
        if a.demand:
            assert b.demand == pytest.approx(2 * a.demand, rel=1e-9)
            compared += 1
    assert compared >= 4


def scaled(part, factor):
    """Every length of a case or part times ``factor``, forces and areas times its square."""
    powers = {"force": 2, "area": 2, "length": 1, "thickness": 1, "movement": 1, "axial_rate": 1,
              "angular_rate": 3}  # fmt: skip
    from takeup.fields import specs

    changes = {}
    for spec in specs(type(part)):
        value = getattr(part, spec.name)
        if isinstance(value, msgspec.Struct):
            changes[spec.name] = scaled(value, factor)
        elif isinstance(value, tuple):
            changes[spec.name] = tuple(scaled(item, factor) for item in value)
        elif isinstance(value, float) and spec.kind in powers:
            changes[spec.name] = value * factor ** powers[spec.kind]
    return replace(part, **changes)


@given(kind=st.sampled_from(ALL), factor=st.floats(0.2, 5.0))
@settings(max_examples=30, deadline=None)
def test_similar_hardware_has_the_same_stresses(kind, factor):
    """All lengths times k and all forces times k squared leave every stress as it was."""
    one = trace(case(kind), "design", at_limit=True)
    other = trace(scaled(case(kind), factor), "design", at_limit=True)

    for a, b in zip(one.checks, other.checks, strict=True):
        if a.kind == "stress":
            assert b.demand == pytest.approx(a.demand, rel=1e-6), a.id


def test_hinge_stresses_follow_hand_formulas():
    """Pin, plate and lug stresses of a hinge equal the formulas of the trade by hand."""
    joint = case(HardwareType.HINGE, weight_across=0.0, pins=replace(PINS, friction=0.0))
    path = trace(joint, "design")
    force, d = 477750.0, 0.08
    area = math.pi * d**2 / 4

    assert at(path, "pins.shear").demand == pytest.approx(force / (4 * area))
    assert at(path, "pins.bending").demand == pytest.approx(
        32 * force / 4 * (0.015 + 0.002 + 0.0125) / (math.pi * d**3)
    )
    assert at(path, "plates.bearing").demand == pytest.approx(force / 2 / (d * 0.05))
    assert at(path, "plates.tear_out").demand == pytest.approx(
        force / 2 / (2 * (0.12 - 0.041) * 0.05)
    )
    assert at(path, "plates.net_section").demand == pytest.approx(
        force / 2 / ((0.22 - 0.082) * 0.05)
    )
    arm = (1.85 - 1.56) / 2
    assert at(path, "lugs.bending").demand == pytest.approx(
        6 * force / 2 * arm / (2 * 0.025 * 0.4**2)
    )
    single = trace(replace(joint, pins=replace(PINS, friction=0.0, planes=ShearPlanes.SINGLE)),
                   "design")  # fmt: skip
    assert at(single, "pins.shear").demand == pytest.approx(force / (2 * area))


def test_plates_in_single_shear_are_bent_by_their_offset():
    """Each of two plates side by side takes half the couple of thickness and gap."""
    pins = replace(PINS, friction=0.0, planes=ShearPlanes.SINGLE)
    path = trace(case(HardwareType.HINGE, weight_across=0.0, pins=pins), "design")
    open_ = trace(case(HardwareType.HINGE, weight_across=0.0, pins=replace(pins, gap=None)),
                  "design")  # fmt: skip

    force = 477750 / 2
    assert at(path, "plates.root").demand == pytest.approx(
        force / (0.22 * 0.05) + 6 * force * (0.05 + 0.002) / 2 / (0.22 * 0.05**2)
    )
    assert at(open_, "plates.root").outcome == Outcome.NOT_EVALUATED


def test_load_along_the_pins_bends_the_plates_about_their_weak_axis():
    """Weight along the pins costs more than weight in the plane; unstated counts as along."""
    free = {"weight_across": 2e4, "pins": replace(PINS, friction=0.0)}
    along = trace(case(HardwareType.HINGE, across_direction=AcrossDirection.ALONG_PINS, **free),
                  "design")  # fmt: skip
    plane = trace(case(HardwareType.HINGE, across_direction=AcrossDirection.TURNING, **free),
                  "design")  # fmt: skip
    unstated = trace(case(HardwareType.HINGE, **free), "design")

    tension = 477750 / 2 / (0.22 * 0.05)
    strong = 6 * 1e4 * 0.35 / (0.05 * 0.22**2)
    weak = 6 * 1e4 * 0.35 / (0.22 * 0.05**2)
    forks = 477750 / 2 / (0.22 * 0.06) + 6 * 1e4 * 0.35 / 2 / (0.22 * 0.03**2)
    assert at(plane, "plates.root").demand == pytest.approx(tension + strong)
    assert at(along, "plates.root").demand == pytest.approx(max(tension + weak, forks))
    assert at(unstated, "plates.root").demand == at(along, "plates.root").demand
    assert any("not stated" in note for note in unstated.notes)


def test_friction_moment_of_a_hinge_is_that_of_the_whole_thrust():
    """mu F d / 2 for both pins together, and it turns both pipe ends."""
    joint = case(HardwareType.HINGE, weight_across=0.0)
    report = check_hardware(joint)
    path = trace(joint, "design")

    moment = 0.3 * 477750 * 0.08 / 2
    figures = {figure.id: figure.value for figure in report.figures}
    assert figures["friction_moment@design"] == pytest.approx(moment)
    into = next(t for t in path.transfers if t.source == "end A")
    assert into.moment[1] == pytest.approx(moment)


def test_pair_turns_by_the_shear_of_both_moments():
    """The force that turns a pair is 2 (K theta + mu F d / 2) / C and goes into both legs."""
    joint = case(HardwareType.HINGE_PAIR, weight_across=0.0)
    path = trace(joint, "design")

    shear = 2 * (20e3 * 0.03 + 0.3 * 477750 * 0.08 / 2) / 4.0
    into = next(t for t in path.transfers if t.source == "end A")
    assert into.across == pytest.approx(shear)


def test_gimbal_ring_stress_rests_on_the_closed_forms():
    """Without friction and side load the ring's demand is that of hand formulas, degree by degree."""
    joint = case(HardwareType.GIMBAL, weight_across=0.0, pins=replace(PINS, friction=0.0),
                 plates=replace(PLATES, circle_diameter=2.0))  # fmt: skip
    path = trace(joint, "design")
    moment, b, h, d = 477750 / 4, 0.1, 0.3, 0.082

    worst = 0.0
    for degree in range(91):
        angle = math.radians(degree)
        hole = d if degree in {0, 90} else 0.0
        bend = abs(moment * (math.cos(angle) - math.sin(angle)))
        turn = moment * (math.sin(angle) + math.cos(angle) - 1.0)
        normal = 6 * bend * h / (b * (h**3 - hole**3))
        shear = turn / stress.torsion_modulus(b, h) + 1.5 * 477750 / 4 / (b * (h - hole))
        worst = max(worst, math.hypot(normal, math.sqrt(3) * shear))
    assert at(path, "ring.combined").demand == pytest.approx(worst, rel=1e-4)
    assert path.part("ring").loads[0].value == pytest.approx(moment)
    assert path.part("ring").loads[1].value == pytest.approx(moment * (math.sqrt(2) - 1))


def test_square_ring_of_side_twice_the_radius_bends_as_the_round_one():
    """F a / 8 with a = 2 R is F R / 4."""
    square = replace(RING, shape=RingShape.SQUARE, side=2.0, mean_radius=None)
    given_ = {"weight_across": 0.0, "pins": replace(PINS, friction=0.0)}
    one = trace(case(HardwareType.GIMBAL, **given_), "design")
    other = trace(case(HardwareType.GIMBAL, ring=square, **given_), "design")

    assert other.part("ring").loads[0].value == pytest.approx(one.part("ring").loads[0].value)
    assert other.part("ring").loads[1].value == pytest.approx(0.0, abs=1.0)


def test_slotted_hinge_carries_the_thrust_only_at_its_limit():
    """Away from the slot's end the anchors hold the thrust, the hinge the weight across."""
    joint = case(HardwareType.SLOTTED_HINGE)
    away = trace(joint, "design")
    limit = trace(joint, "design", (Defect(kind=DefectKind.AT_LIMIT),))

    assert away.holder == Holder.ANCHORS
    assert not limit.lost
    assert limit.holder == Holder.HARDWARE
    assert limit.condition == "design at limit"
    assert at(away, "pins.shear").demand < 0.1 * at(limit, "pins.shear").demand
    assert away.part("anchor A").loads[0].value == pytest.approx(477750)
    assert balanced(away)
    assert balanced(limit)


def test_pantograph_carries_the_difference_of_the_spring_forces():
    """The spool gets |KA - KB| |x| / 2 from the linkage, each end half of that."""
    joint = case(HardwareType.PANTOGRAPH, weight_across=0.0)
    path = trace(joint, "design")

    force = abs(4.0e5 - 4.4e5) * 0.06 / 2
    figures = {f.id: f.value for f in check_hardware(joint).figures}
    assert figures["equalising_force@design"] == pytest.approx(force)
    pivots = [t.tension for t in path.transfers if t.source == "spool"]
    assert sum(pivots) == pytest.approx(force)
    ends = [t.tension for t in path.transfers if t.target == "pipe B"]
    assert sum(ends) == pytest.approx(force / 2 + 477750)
    moment = next(q.value for q in path.part("bars 1").loads if q.kind == "moment")
    assert moment == pytest.approx(force / 2 / 2 * (1.6 / 2) * math.sin(0.5) / 2)


def test_unknown_position_is_worked_out_both_ways():
    """A pantograph whose position is unknown has a path away from and at its limit."""
    report = check_hardware(case(HardwareType.PANTOGRAPH))
    known = check_hardware(case(HardwareType.PANTOGRAPH, at_limit=False))

    assert [path.condition for path in report.paths][:2] == ["operating", "operating at limit"]
    assert {path.at_limit for path in known.paths} == {False}


# -- unknowns ------------------------------------------------------------------------------


def test_unknown_size_leaves_its_checks_open_and_the_others_done():
    """A plate without edge distance has no tear-out check, and says what to measure."""
    joint = case(HardwareType.HINGE, plates=replace(PLATES, edge_distance=None))
    report = check_hardware(joint)
    found = {check.id: check for check in report.checks}

    assert found["plates.tear_out@design"].outcome == Outcome.NOT_EVALUATED
    assert "hole centre to plate end" in found["plates.tear_out@design"].because
    assert found["plates.net_section@design"].outcome == Outcome.MET
    assert any("hole centre to plate end" in name for name in report.missing)


def test_unknown_load_never_lets_a_check_be_met():
    """An unknown weight across leaves hinge checks open, though all that is known is small."""
    report = check_hardware(case(HardwareType.HINGE, weight_across=None))
    found = {check.id: check for check in report.checks}

    pin = found["pins.shear@design"]
    assert pin.outcome == Outcome.NOT_EVALUATED
    assert "dead weight across" in pin.because
    assert pin.demand > 0.0


def test_unknown_load_does_not_hide_what_is_overloaded_already():
    """A pin that the known thrust alone overloads is not met, weight known or not."""
    small = replace(PINS, diameter=0.03)
    report = check_hardware(case(HardwareType.HINGE, weight_across=None, pins=small))
    found = {check.id: check for check in report.checks}

    assert found["pins.shear@design"].outcome == Outcome.NOT_MET
    assert "overloaded already without" in found["pins.shear@design"].because


@pytest.mark.parametrize("kind", ALL)
def test_bare_case_names_what_to_measure_and_judges_nothing(kind):
    """With only thrust known no strength check is met, and the report lists what it needs."""
    rods = replace(RODS, circle_diameter=None, diameter=None, thread_pitch=None, length=None,
                   allowable_stress=None)  # fmt: skip
    bare = HardwareCase(
        type=kind,
        rods=rods if kind in RODDED else None,
        conditions=(HardwareCondition(name="design", thrust=4e5),),
    )
    report = check_hardware(bare)

    stresses = [check for check in report.checks if check.kind == "stress"]
    assert stresses
    assert {check.outcome for check in stresses} == {Outcome.NOT_EVALUATED}
    assert report.governing is None
    assert report.missing
    assert all(path.holds and balanced(path) for path in report.paths)


def test_unknown_thrust_is_not_zero():
    """Without pressure or area there is no path, and the check says which is unknown."""
    joint = case(HardwareType.HINGE, effective_area=None)
    report = check_hardware(joint)

    assert not report.paths
    assert report.checks[0].outcome == Outcome.NOT_EVALUATED
    assert "effective area" in report.checks[0].because
    with pytest.raises(MissingInput, match="effective area"):
        trace(joint, "design")


def test_number_of_rods_is_needed():
    """Without the number of rods there is no path, and the report asks for it."""
    report = check_hardware(case(HardwareType.TIE_RODS, rods=None))

    assert not report.paths
    assert {check.outcome for check in report.checks} == {Outcome.NOT_EVALUATED}
    assert any("number of rods" in name for name in report.missing)


@pytest.mark.parametrize("kind", ALL)
def test_no_pressure_loads_nothing_but_the_weight(kind):
    """At zero pressure every path holds, balances and is within its capacity."""
    empty = HardwareCondition(name="cold", thrust=0.0, temperature=300.0, axial=0.0, angular=0.0)
    path = trace(case(kind, axial_rate=1e5, axial_rate_b=1e5), empty, at_limit=True)

    assert path.holds
    assert balanced(path)
    assert not any(check.outcome == Outcome.NOT_MET for check in path.checks)
    assert explain(path)


def test_large_forces_read_as_numbers():
    """A thrust of 12 MN is told in digits, not as a power of ten."""
    joint = case(HardwareType.HINGE, effective_area=48.0)
    path = trace(joint, "design", (defect(DefectKind.PIN_MISSING),))

    assert "12\u202f000 kN" in path.lost[0]


def test_no_condition_is_said():
    """A case without conditions is not evaluated rather than met."""
    report = check_hardware(case(HardwareType.HINGE, conditions=()))

    assert [check.outcome for check in report.checks] == [Outcome.NOT_EVALUATED]
    assert report.cautions


# -- strength -----------------------------------------------------------------------------


def test_allowable_comes_from_the_tables_at_the_metal_temperature():
    """Lugs are held to their own, hotter temperature; factors are named with their source."""
    path = trace(case(HardwareType.HINGE), "design")
    lugs = materials.allowable_stress("A516-70", 400 + KELVIN).value
    plates = materials.allowable_stress("A516-70", 350 + KELVIN).value

    assert at(path, "lugs.bending").capacity == pytest.approx(lugs)
    assert at(path, "plates.net_section").capacity == pytest.approx(plates)
    assert at(path, "plates.tear_out").capacity == pytest.approx(0.8 * plates)
    assert at(path, "plates.bearing").capacity == pytest.approx(1.6 * plates)
    assert at(path, "lugs.weld").capacity == pytest.approx(0.55 * lugs)
    assert "302.3.1(b)" in at(path, "plates.bearing").source.at
    assert at(path, "plates.bearing").source.standing == Standing.MEMORY
    assert at(path, "plates.bearing").provisional


def test_allowable_is_never_invented():
    """An unknown alloy, or a temperature outside its table, leaves the check open with why."""
    odd = trace(case(HardwareType.HINGE, plates=replace(PLATES, material="unobtainium")), "design")
    hot = trace(case(HardwareType.HINGE, conditions=conditions(temperature=1500.0)), "design")

    assert at(odd, "plates.net_section").outcome == Outcome.NOT_EVALUATED
    assert "unobtainium" in at(odd, "plates.net_section").because
    assert at(hot, "plates.net_section").outcome == Outcome.NOT_EVALUATED


def test_changed_factor_is_the_engineers():
    """A factor other than the usual one counts as the user's assumption, not as the code's."""
    path = trace(case(HardwareType.HINGE, factors=Factors(shear=0.6)), "design")
    check = at(path, "pins.shear")

    assert check.capacity == pytest.approx(0.6 * 170e6)
    assert "302.3.1" not in check.source.at
    assert check.source.standing == Standing.ASSUMPTION


def test_creep_range_is_cautioned():
    """Above the creep threshold of the metal the check carries the caution."""
    path = trace(case(HardwareType.HINGE, conditions=conditions(temperature=480 + KELVIN)),
                 "design")  # fmt: skip

    assert any("creep" in caution for caution in at(path, "plates.net_section").cautions)


def test_governing_is_the_largest_use_of_capacity():
    """No evaluated check of the path uses more of its capacity than the governing one."""
    path = trace(case(HardwareType.GIMBAL), "design")
    part, check = governing(path)

    ratios = [c.ratio for c in path.checks if c.outcome in {Outcome.MET, Outcome.NOT_MET}]
    assert check.ratio == pytest.approx(max(ratios))
    assert part.ratio == check.ratio


# -- defects ------------------------------------------------------------------------------


def defect(kind, **where):
    return Defect(kind=kind, **where)


def test_missing_nut_takes_its_rod_out_and_the_rest_still_balance():
    """One nut of four gone: its rod and lugs carry nothing, the two beside it carry all."""
    joint = case(HardwareType.TIE_RODS, rods=replace(RODS, sharing=Sharing.EVEN))
    sound = trace(joint, "design")
    found = trace(joint, "design", (defect(DefectKind.NUT_MISSING, number=2),))

    assert found.holds
    assert balanced(found)
    assert found.part("rod 2").state == PartState.OUT
    assert found.part("lug A 2").state == PartState.IDLE
    assert [t.broken for t in found.transfers if t.target == "rod 2"] == [True]
    assert at(found, "rods.tension").demand == pytest.approx(2 * at(sound, "rods.tension").demand)
    assert "no nut" in found.effects[0].removes


@pytest.mark.parametrize(
    ("kind", "defects"),
    [
        (HardwareType.TIE_RODS, [("NUT_MISSING", {"number": 1}), ("ROD_BROKEN", {"number": 2})]),
        (HardwareType.HINGE, [("PIN_MISSING", {"number": 2})]),
        (HardwareType.HINGE, [("PIN_BENT", {"number": 1})]),
        (HardwareType.HINGE, [("WELD_CRACKED", {"end": End.B})]),
        (HardwareType.HINGE_PAIR, [("PLATE_CRACKED", {"unit": 2})]),
        (HardwareType.GIMBAL, [("RING_CRACKED", {})]),
        (HardwareType.GIMBAL, [("PIN_MISSING", {"end": End.B, "number": 2})]),
        (HardwareType.GIMBAL, [("WELD_CRACKED", {"share": 1.0})]),
        (HardwareType.GIMBAL_PAIR, [("RING_CRACKED", {"unit": 2})]),
        (HardwareType.SLOTTED_HINGE, [("AT_LIMIT", {}), ("PIN_MISSING", {})]),
        (HardwareType.PANTOGRAPH, [("AT_LIMIT", {}), ("LINK_BROKEN", {})]),
        (HardwareType.LIMIT_RODS, [("AT_LIMIT", {}), ("ROD_BROKEN", {"number": 1}),
                                   ("ROD_BROKEN", {"number": 2}), ("ROD_BROKEN", {"number": 3})]),
    ],
)  # fmt: skip
def test_no_path_is_the_loudest_message(kind, defects):
    """Where nothing left can hold the thrust, that is said first, and nothing is met."""
    found = tuple(defect(DefectKind[name], **where) for name, where in defects)
    path = trace(case(kind), "design", found)
    report = check_hardware(replace(case(kind), defects=found))

    assert not path.holds
    assert path.holder == Holder.NOTHING
    assert explain(path)[0].startswith("NO PATH: nothing left can hold the thrust of 477.8")
    assert report.lost
    held = next(c for c in report.checks if c.id == f"path@{path.condition}")
    assert held.outcome == Outcome.NOT_MET
    assert held.ratio == math.inf
    assert "keep people away" in held.cautions[0]
    assert any(t.broken for t in path.transfers)
    assert not any(path.part(e.part).checks for e in path.effects if path.part(e.part))


def test_loose_nut_bears_after_the_others_have_stretched():
    """A small gap leaves a loose rod less, a large one nothing; the rest take it."""
    rods = replace(RODS, sharing=Sharing.EVEN, material="1.25Cr")
    joint = case(HardwareType.TIE_RODS, rods=rods)

    def tension(gap):
        path = trace(joint, "design", (defect(DefectKind.NUT_LOOSE, number=1, gap=gap),))
        assert balanced(path)
        loads = path.part("rod 1").loads
        return loads[0].value if loads else 0.0

    whole = trace(joint, "design").part("rod 1").loads[0].value
    assert whole > tension(5e-5) > tension(1e-4) > 0.0
    assert tension(5e-3) == 0.0
    assert tension(None) == 0.0


def test_loose_nut_of_two_rods_tilts_the_ends_but_is_no_lost_path():
    """The nut is there: it bears after a tilt, which is said."""
    joint = case(HardwareType.TIE_RODS, rods=replace(RODS, count=2))
    path = trace(joint, "design", (defect(DefectKind.NUT_LOOSE, number=1),))

    assert path.holds
    assert any("tilt" in note for note in path.notes)


def test_cracked_weld_is_checked_on_what_is_left():
    """Forty per cent of a weld gone raises its stress; unknown length is not counted at all."""
    joint = case(HardwareType.TIE_RODS)
    sound = at(trace(joint, "design"), "lugs.weld")
    part = trace(joint, "design", (defect(DefectKind.WELD_CRACKED, number=2, share=0.4),))
    whole = trace(joint, "design", (defect(DefectKind.WELD_CRACKED, number=2),))

    assert part.part("lug A 2").state == PartState.WEAKENED
    assert at(part, "lugs.weld").demand > sound.demand / 0.6
    assert whole.part("lug A 2").state == PartState.DOUBT
    assert whole.part("lug A 2").checks == ()
    assert whole.holds


def test_worst_seating_checks_a_weak_lug_wherever_it_is():
    """A weak lug is checked with the load that some seating can put on it, whichever rod."""
    joint = case(HardwareType.TIE_RODS)
    ratios = {
        n: at(
            trace(joint, "design", (defect(DefectKind.WELD_CRACKED, number=n, share=0.5),)),
            "lugs.weld",
        ).ratio
        for n in (1, 2, 3, 4)
    }

    assert max(ratios.values()) == pytest.approx(min(ratios.values()))


def test_bent_pin_is_not_counted_until_examined():
    """A bent pin is in doubt, not merely weaker."""
    path = trace(case(HardwareType.HINGE), "design", (defect(DefectKind.PIN_BENT, number=2),))

    assert path.part("pin 2").state == PartState.DOUBT
    assert "examined" in path.effects[0].removes


def test_worn_pin_is_checked_with_its_measured_diameter():
    """Shear rises with the square of the wear."""
    joint = case(HardwareType.GIMBAL)
    worn = trace(joint, "design",
                 (defect(DefectKind.PIN_WORN, end=End.B, number=2, diameter=0.04),))  # fmt: skip
    sound = at(trace(joint, "design"), "pins.shear").demand

    assert at(worn, "pins.shear").demand == pytest.approx(4 * sound)
    assert worn.part("pin B 2").state == PartState.WEAKENED
    assert worn.part("pin B 1").ratio < worn.part("pin B 2").ratio


def test_cracked_plate_loses_net_section_and_bends():
    """A fifth of the width gone costs more than a fifth: what is left is off the load line."""
    joint = case(HardwareType.HINGE)
    sound = at(trace(joint, "design"), "plates.net_section").demand
    found = trace(joint, "design", (defect(DefectKind.PLATE_CRACKED, share=0.2),))

    assert at(found, "plates.net_section").demand > sound / (1 - 0.2 * 0.22 / (0.22 - 0.082))


@given(kind=st.sampled_from(ALL), data=st.data())
@settings(max_examples=50, deadline=None)
def test_a_defect_never_helps(kind, data):
    """No defect lowers the largest use of capacity of a path that still holds."""
    what = data.draw(st.sampled_from(list(DefectKind)))
    one = defect(
        what,
        number=data.draw(st.integers(1, 4)),
        end=data.draw(st.sampled_from(list(End))),
        unit=data.draw(st.integers(1, 2)),
        share=data.draw(st.none() | st.floats(0.05, 1.0)),
        diameter=data.draw(st.floats(0.02, 0.05)),
    )
    joint = case(kind, at_limit=True)
    if joint.rods:
        joint = replace(
            joint, rods=replace(RODS, sharing=data.draw(st.sampled_from(list(Sharing))))
        )
    try:
        found = trace(joint, "design", (one,))
    except Contradiction:
        return
    sound = trace(joint, "design")

    assert sound.holds
    if found.holds:
        assert balanced(found)
        assert governing(found)[1].ratio >= governing(sound)[1].ratio * (1 - 1e-9)
    else:
        assert found.lost[0].startswith("NO PATH")


def test_lost_side_of_a_slotted_hinge_drops_the_weight_not_the_thrust():
    """Away from its limit a slotted hinge that lost a pin no longer holds the spool's weight."""
    path = trace(case(HardwareType.SLOTTED_HINGE), "design", (defect(DefectKind.PIN_MISSING),))

    assert path.holder == Holder.ANCHORS
    assert "20 kN across the pipe" in path.lost[0]
    assert not path.lost[0].startswith("NO PATH")


def test_report_keeps_the_sound_path_beside_the_one_found():
    """Defects of the case change its paths; the paths as drawn stay for comparison."""
    joint = case(HardwareType.HINGE, defects=(defect(DefectKind.PIN_WORN, diameter=0.05),))
    report = check_hardware(joint)

    assert governing(report.paths[0])[1].ratio > governing(report.sound[0])[1].ratio
    assert not report.sound[0].effects
    assert report.governing.ratio == max(governing(path)[1].ratio for path in report.paths)


def test_defect_on_a_part_that_is_not_there_is_refused():
    """A ring crack on a hinge, rod 9 of 4, a nut on a gimbal: said, not ignored."""
    for kind, wrong in (
        (HardwareType.HINGE, defect(DefectKind.RING_CRACKED)),
        (HardwareType.TIE_RODS, defect(DefectKind.NUT_MISSING, number=9)),
        (HardwareType.GIMBAL, defect(DefectKind.NUT_MISSING)),
        (HardwareType.HINGE, defect(DefectKind.PIN_BENT, number=3)),
        (HardwareType.HINGE, defect(DefectKind.PIN_BENT, unit=2)),
        (HardwareType.TIE_RODS, defect(DefectKind.AT_LIMIT)),
        (HardwareType.PANTOGRAPH, defect(DefectKind.PLATE_CRACKED)),
    ):
        with pytest.raises(Contradiction):
            trace(case(kind), "design", (wrong,))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"plates": replace(PLATES, hole_diameter=0.3)}, "hole must be smaller"),
        ({"plates": replace(PLATES, edge_distance=0.03)}, "hole must end before"),
        ({"plates": replace(PLATES, circle_diameter=1.5)}, "outside the pipe"),
        ({"pins": replace(PINS, diameter=0.09)}, "pin must go through"),
    ],
)
def test_sizes_that_cannot_be_true_are_refused(changes, words):
    """Contradicting sizes are refused with both values."""
    with pytest.raises(Contradiction, match=words):
        check_hardware(case(HardwareType.HINGE, **changes))


def test_numbers_that_are_none_are_refused():
    """NaN and infinity are no input."""
    with pytest.raises(OutOfRange):
        check_hardware(case(HardwareType.HINGE, weight_across=math.nan))
    with pytest.raises(OutOfRange):
        check_hardware(case(HardwareType.HINGE, lugs=replace(LUGS, weld_leg=math.inf)))
    with pytest.raises(UnknownName, match="design"):
        trace(case(HardwareType.HINGE), "desing")


# -- words --------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ALL)
def test_words_tell_the_way_and_end_with_cautions(kind):
    """The explanation names thrust, way and what governs, and closes with the cautions."""
    path = trace(case(kind), "design", at_limit=True)
    told = explain(path)

    assert told[0].startswith("Thrust 477.8")
    assert "→" in told[0]
    assert any("governs" in words for words in told)
    assert told[-1].startswith("This is a calculation aid")
    assert any("before the line is at zero pressure" in words.lower() for words in told)


def test_case_reads_from_a_file_and_has_a_schema():
    """The case round-trips through JSON, unknown stays unknown, and its schema can be printed."""
    for kind in PAIRS | RODDED:
        joint = case(kind, defects=(defect(DefectKind.NUT_LOOSE, gap=1e-3),))
        assert msgspec.json.decode(msgspec.json.encode(joint), type=HardwareCase) == joint
    schema = msgspec.json.schema(HardwareCase)
    assert "title" in str(schema["$defs"]["Pins"])
    report = check_hardware(case(HardwareType.PANTOGRAPH, links=LINKS))
    assert msgspec.json.encode(report)
