"""Hardware sizes and defects of the register become a load path, and never a silent pass."""

import pytest

from takeup.assess.hardware import hardware
from takeup.assess.model import SEVERITY, Level, Mechanism
from takeup.bellows.hardware import DefectKind
from takeup.bellows.hardware.model import ShearPlanes
from takeup.checks import Outcome
from takeup.evidence.facts import Observation
from takeup.register.entities import HardwareKind
from tests.assess.demo_site import change, joint_cases, judge

TIED, HINGED, GIMBAL = "EJ-1502", "EJ-1402", "EJ-1203"
GIVEN = {"allowable_stress": 140e6, "allowable_source": "certificate", "temperature": 480.0}
LUG = {
    "gussets": 2, "gusset_thickness": 0.03, "gusset_length": 0.5, "weld_leg": 0.014,
    "weight_along": 0.0, "weight_across": 0.0, "lateral_load": 0.0,
}  # fmt: skip
RODS = GIVEN | LUG | {
    "count": 4, "diameter": 0.064, "thread_pitch": 0.006, "circle_diameter": 2.2, "length": 1.2,
}  # fmt: skip
PLATES = GIVEN | LUG | {
    "diameter": 0.10, "circle_diameter": 1.5, "plate_width": 0.30, "plate_thickness": 0.06,
    "fork_thickness": 0.04, "hole_diameter": 0.102, "edge_distance": 0.16, "plate_length": 0.35,
    "pin_planes": ShearPlanes.DOUBLE, "pin_gap": 0.002, "friction": 0.3,
}  # fmt: skip


def case_of(tag, own=(), seen=()):
    """A joint of the demo with sizes on its thrust-carrying hardware and things seen on it."""
    base = joint_cases()[tag]
    kinds = {HardwareKind.TIE_ROD, HardwareKind.HINGE, HardwareKind.GIMBAL}
    blank = dict.fromkeys(
        name for name in {**RODS, **PLATES} if name not in {"count", "diameter"}
    ) | {"allowable_source": ""}  # fmt: skip
    items = tuple(change(h, **(blank | dict(own))) if h.kind in kinds else h for h in base.hardware)
    visit = base.visits[-1].id
    found = tuple(
        Observation(visit=visit, joint=tag, item=item, place=place, grade=grade, text=text)
        for item, place, grade, text in seen
    )
    kept = tuple(
        o for o in base.observations
        if not (o.item in {"HH1", "HH3"} and o.visit == visit and found)
    )  # fmt: skip
    return change(base, hardware=items, observations=(*kept, *found))


def thrust(found):
    """What the thrust mechanism says."""
    return next(r for r in found.mechanisms if r.mechanism is Mechanism.THRUST)


def traced(result):
    """Its hardware checks."""
    return {c.id: c for c in result.checks if c.id.startswith("hardware.")}


def test_without_sizes_nothing_is_traced_and_nothing_asked():
    """A register without hardware sizes reads as it did."""
    found = thrust(judge(case_of(TIED)))

    assert traced(found) == {}
    assert not any(line.startswith("hardware ") for line in found.missing)


@pytest.mark.parametrize(
    ("tag", "sizes", "part"),
    [(TIED, RODS, "rods.tension"), (HINGED, PLATES, "pins.shear")],
    ids=["rods", "hinge"],
)
def test_sizes_on_record_are_checked_at_operating_and_design(tag, sizes, part):
    """Every part of a sized joint is decided, and a sound one moves nothing."""
    plain, found = judge(case_of(tag)), judge(case_of(tag, sizes))
    checks = traced(thrust(found))
    decided = {
        id for id, check in checks.items() if check.outcome in {Outcome.MET, Outcome.NOT_MET}
    }

    for condition in ("operating", "design"):
        assert any(part in id and id.endswith(condition) for id in decided), sorted(checks)
        assert any("path@" in id and id.endswith(condition) for id in decided)
    assert all(check.outcome is not Outcome.NOT_MET for check in checks.values())
    assert thrust(found).level is thrust(plain).level


def test_a_part_that_is_overloaded_is_in_doubt_and_named():
    """Thin rods: the check, its use and the item stand in summary and grounds."""
    result = thrust(judge(case_of(TIED, RODS | {"diameter": 0.024, "thread_pitch": 0.003})))

    assert SEVERITY[result.level] >= SEVERITY[Level.IN_DOUBT]
    said = " ".join((result.summary, *(g.claim for g in result.grounds)))
    assert "tension" in said
    assert "1502-H" in said


@pytest.mark.parametrize("name", sorted(set(RODS) - {"count"}))
def test_an_unknown_size_never_makes_it_better_or_worse(name):
    """Leaving one size out leaves the level as without any sizes, and asks for it."""
    empty = "" if name == "allowable_source" else None
    result = thrust(judge(case_of(TIED, RODS | {name: empty})))

    assert result.level is thrust(judge(case_of(TIED))).level


def test_a_missing_nut_takes_its_rod_out_of_the_path():
    """The defect is read, its effect is a ground, and what is left is checked."""
    seen = [("HH1", "rod 3", 3, "outer nut gone, rod end bare")]
    case = case_of(TIED, RODS, seen)
    (held,) = hardware(case, judge(case).evaluation)
    result = thrust(judge(case))

    assert [(s.defect.kind, s.defect.number) for s in held.read] == [(DefectKind.NUT_MISSING, 3)]
    assert any("Rod 3" in g.claim and "no nut" in g.claim for g in result.grounds)


def test_what_nothing_holds_any_more_is_to_act_now():
    """Both pins of a hinge gone at operating pressure: nothing holds the thrust on paper."""
    seen = [("HH3", "pin 1", 4, "pin missing"), ("HH3", "pin 2", 4, "pin missing")]
    found = judge(case_of(HINGED, PLATES, seen))
    result = thrust(found)

    assert result.level is Level.ACT_NOW
    assert "NOTHING" in found.thrust.why
    assert "Nothing holds the thrust on paper" in found.thrust.cautions[0]
    assert any(check.outcome is Outcome.NOT_MET and "path@" in id
               for id, check in traced(result).items())  # fmt: skip
    assert any("keep people away" in words for words in result.cautions)


@pytest.mark.parametrize(
    ("tag", "item", "place", "text", "kind"),
    [
        (TIED, "HH1", "rod 2", "nut loose, washer turns", DefectKind.NUT_LOOSE),
        (TIED, "CH1", "rod 1", "rod sheared at the thread", DefectKind.ROD_BROKEN),
        (TIED, "CH3", "lug 2", "crack at the toe of the lug", DefectKind.WELD_CRACKED),
        (HINGED, "HH3", "side 2", "hinge arm cracked", DefectKind.PLATE_CRACKED),
        (HINGED, "CH2", "pin 1", "oval and galled pin", DefectKind.PIN_WORN),
        (HINGED, "HH3", "pin 2", "pin bent", DefectKind.PIN_BENT),
        (GIMBAL, "CH4", "ring", "gimbal ring cracked at a corner", DefectKind.RING_CRACKED),
        (HINGED, "HH3", "pin 2", "keeper of the lower pin missing", None),
        (HINGED, "HH3", "-", "looks odd", None),
    ],
)
def test_words_of_an_observation_name_the_defect_or_none(tag, item, place, text, kind):
    """The part is read from the words; where they name none it is said, not guessed."""
    sizes = RODS if tag == TIED else PLATES
    case = case_of(tag, sizes, [(item, place, 3, text)])
    (held,) = hardware(case, judge(case).evaluation)
    mine = [s for s in (*held.read, *held.unread) if s.observation.text == text]

    assert [s.defect.kind if s.defect else None for s in mine] == [kind]
    if kind is None:
        assert any(text in g.claim for g in thrust(judge(case)).grounds)


def test_a_good_grade_is_no_defect():
    """'No cracks, no nut missing' at grade 0 takes nothing out of the path."""
    case = case_of(TIED, RODS, [("HH1", "rod 1", 0, "no cracks, no nut missing")])

    assert hardware(case, judge(case).evaluation)[0].read == ()
