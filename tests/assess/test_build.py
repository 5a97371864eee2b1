"""Register facts become bellows cases: shape, assembly, role, side, basis, cycles."""

import datetime as dt

import pytest

from takeup.assess import build
from takeup.assess.lives import in_service_since, years
from takeup.assess.model import Level, Mechanism
from takeup.assess.reading import worst
from takeup.assess.thrust import statement
from takeup.bellows.model import Assembly, Basis, Convolution, Role, Side
from takeup.checks import Outcome
from takeup.errors import Refused
from takeup.register.entities import (
    EventKind,
    JointType,
    LifeEvent,
    MovementCase,
    MovementRole,
)
from tests.assess.demo_site import change, joint_cases, judge, verdicts

TAG = "EJ-1802"
"""Untied, single, axial: nothing but its limit rods is wrong with it."""
U = {"inside_diameter": 0.62, "pitch": 0.034, "plies": 1, "convolutions": 6}
TORUS = U | {
    "convolution": Convolution.TOROIDAL, "height": None, "mean_diameter": 0.68,
    "torus_radius": 0.014,
}  # fmt: skip
RINGED = {
    "convolution": Convolution.U_REINFORCED, "ring_area": 2.5e-4, "ring_material": "321",
    "fastener_area": 0.0,
}  # fmt: skip


def case_of(type=JointType.SINGLE, letters="A", **own):
    """A joint of a type with equal bellows."""
    base = joint_cases()[TAG]
    one = base.bellows[0]
    return change(
        base,
        joint=change(base.joint, type=type),
        bellows=tuple(
            change(one, **({"letter": letter, "basis": None} | own)) for letter in letters
        ),
    )


def built(case, at=0):
    """The case of one bellows."""
    return build.bellows_case(case, case.bellows[at], ())


def pressure(found):
    """What the pressure mechanism says."""
    return next(r for r in found.mechanisms if r.mechanism is Mechanism.PRESSURE)


@pytest.mark.parametrize("type", JointType)
def test_every_joint_type_has_an_assembly_or_says_why_not(type):
    """Fifteen types are worked out; a rectangular duct is named as not covered."""
    case = case_of(type)

    if type is JointType.RECTANGULAR:
        assert "rectangular duct" in build.not_covered(case)
        with pytest.raises(Refused, match="rectangular duct"):
            built(case)
        found = judge(case)
        assert found.evaluation.bellows == ()
        assert pressure(found).level is Level.UNPROVEN
        assert "rectangular duct" in pressure(found).missing[0]
    else:
        assert build.not_covered(case) == ""
        made = built(case)
        assert isinstance(made.assembly, Assembly)
        assert judge(case).evaluation.bellows[0][1].name == f"{TAG} A"


def test_each_assembly_of_the_engine_is_reached():
    """No assembly of the engine is out of reach of the register."""
    assert set(build.ASSEMBLY.values()) == set(Assembly)


@pytest.mark.parametrize("type", [JointType.BALANCED_ELBOW, JointType.BALANCED_INLINE])
def test_the_last_letter_balances_and_its_area_is_not_the_thrust(type):
    """Of two or three bellows the last is the balancing one, and thrust is that of the others."""
    for letters in ("AB", "ABC"):
        case = case_of(type, letters)
        roles = [build.role_of(case, one) for one in case.bellows]
        assert roles == [Role.FLOW] * (len(letters) - 1) + [Role.BALANCING]
    case = case_of(type, "AB")
    wide = change(case, bellows=(case.bellows[0], change(case.bellows[1], inside_diameter=0.9)))
    area = judge(case).thrust.area
    assert judge(wide).thrust.area == area
    alone = change(case, bellows=case.bellows[:1])
    assert build.role_of(alone, alone.bellows[0]) is Role.FLOW


def test_where_no_flow_bellows_is_known_the_largest_area_counts():
    """An unknown flow bellows never makes the thrust vanish."""
    case = case_of(JointType.BALANCED_INLINE, "AB")
    blank = change(case.bellows[0], inside_diameter=None)
    found = judge(change(case, bellows=(blank, case.bellows[1])))

    assert statement(change(case, bellows=(blank, case.bellows[1])), found.evaluation).area


def test_an_externally_pressurised_joint_buckles_and_does_not_squirm():
    """Squirm does not apply, buckling is worked out and belongs to the pressure mechanism."""
    found = judge(case_of(JointType.EXTERNAL))
    by_id = {check.id: check for check in pressure(found).checks}

    assert built(case_of(JointType.EXTERNAL)).pressurised is Side.OUTSIDE
    assert by_id["column_squirm@operating"].outcome is Outcome.DOES_NOT_APPLY
    assert by_id["external@operating"].outcome is Outcome.MET
    weak = judge(case_of(JointType.EXTERNAL, ply_thickness=0.0002))
    assert pressure(weak).level is Level.IN_DOUBT


@pytest.mark.parametrize(
    ("own", "wanted"),
    [(RINGED, {"S2r", "S2", "S3+S4", "column_squirm"}), (TORUS, {"S2", "S3", "column_squirm"})],
    ids=["reinforced", "toroidal"],
)
def test_rings_and_toroids_are_judged_by_their_own_checks(own, wanted):
    """Every family of the shape is decided and counted by the pressure mechanism."""
    found = pressure(judge(case_of(**own)))
    decided = {
        check.id.split("@")[0]
        for check in found.checks
        if check.id.endswith("@operating") and check.outcome in {Outcome.MET, Outcome.NOT_MET}
    }

    assert wanted <= decided


@pytest.mark.parametrize(
    ("own", "field", "words"),
    [
        (RINGED, "ring_area", "ring area"),
        (RINGED, "ring_material", "ring metal"),
        (RINGED, "fastener_area", "fastener"),
        (TORUS, "mean_diameter", "mean diameter"),
        (TORUS, "torus_radius", "torus radius"),
    ],
)
def test_an_unknown_size_of_a_ring_or_torus_is_asked_for_and_proves_nothing(own, field, words):
    """What is not known of the shape leaves the joint unproven, and is named."""
    empty = "" if field.endswith("material") else None
    whole = pressure(judge(case_of(**own)))
    found = pressure(judge(case_of(**(own | {field: empty}))))

    assert worst([found.level, whole.level]) is found.level
    assert found.level in {Level.UNPROVEN, Level.IN_DOUBT}
    assert any(words in line for line in found.missing), found.missing


def test_a_toroidal_joint_is_toroidal_whatever_the_row_says():
    """A row left at the usual shape is not worked out as U-shaped in a toroidal joint."""
    made = built(case_of(JointType.TOROIDAL))

    assert made.convolution is Convolution.TOROIDAL
    assert {"mean_diameter", "torus_radius"} <= set(made.missing)


def test_half_a_collar_is_not_known_and_none_is_none():
    """A collar length without thickness is asked for; two empty fields are no collar."""
    assert not any("collar" in name for name in built(case_of()).missing)
    assert "collar_thickness" in built(case_of(collar_length=0.02)).missing


def test_the_basis_is_that_of_the_register_or_said_to_be_assumed():
    """By EJMA it is worked out by EJMA; unknown is App. 26 with a note in the report."""
    (ejma,) = judge(case_of(basis=Basis.EJMA)).evaluation.bellows
    (taken,) = judge(case_of()).evaluation.bellows

    assert ejma[1].basis == Basis.EJMA.value
    assert build.BASIS_ASSUMED not in ejma[1].notes
    assert taken[1].basis == Basis.ASME_26.value
    assert taken[1].notes[0] == build.BASIS_ASSUMED


def test_a_limit_that_a_lower_bound_does_not_show_is_no_pass():
    """By EN a check above its lower bound of design stress leaves the joint unproven."""
    found = pressure(judge(case_of(basis=Basis.EN_13445, ply_thickness=0.0009)))
    open_ = [
        check
        for check in found.checks
        if check.outcome is Outcome.NOT_EVALUATED and (check.ratio or 0.0) > 1.0
    ]

    assert open_
    assert found.level in {Level.UNPROVEN, Level.IN_DOUBT}
    assert any("design stress" in line for line in found.missing)


def counted(case):
    """Movements by name."""
    return {move.name: move for move in build.movements(case, case.bellows[0])}


def test_cycles_done_are_the_rate_since_installation_and_the_rest_comes_on_top():
    """Without more events on record than the rate gives, the rate counts."""
    case = change(case_of(), events=())
    move = counted(case)["normal"]
    rate = next(m.cycles for m in case.movements if m.role is MovementRole.EXPECTED)
    since = in_service_since(case.joint, (), case.today)

    assert move.done == pytest.approx(rate * years(since, case.today))
    assert move.cycles == pytest.approx(rate * years(since, case.second_outage.start))


def event(kind, count=1, back=100):
    """Something that happened to the joint."""
    today = joint_cases()[TAG].today
    return LifeEvent(joint=TAG, date=today - dt.timedelta(days=back), kind=kind, count=count)


def test_more_events_than_the_rate_gives_count_in_its_place():
    """Starts and trips of the present bellows are cycles; those of another are not."""
    case = case_of()
    events = (event(EventKind.START, 70), event(EventKind.TRIP, 30))
    before = event(EventKind.TRIP, 999, back=365 * 40)
    usual = counted(change(case, events=()))["normal"]
    many = counted(change(case, events=(before, *events)))["normal"]

    assert many.done == 100
    assert many.cycles - many.done == pytest.approx(usual.cycles - usual.done)


def test_an_event_counts_for_the_case_that_is_named_after_it():
    """Trips go to the trip case, starts to the start-up case, once each."""
    case = case_of()
    rows = tuple(
        MovementCase(
            joint=TAG, role=MovementRole.EXPECTED, name=name, axial=-0.004, cycles=1.0
        )
        for name in ("normal", "start-up", "trip")
    )  # fmt: skip
    found = counted(
        change(
            case,
            movements=rows,
            events=(event(EventKind.START, 40), event(EventKind.TRIP, 50)),
        )
    )

    assert found["start-up"].done == 40
    assert found["trip"].done == 50
    assert found["normal"].done < 20


def test_a_bellows_that_came_later_has_its_own_cycles():
    """A bellows installed after its joint has not seen the cycles before."""
    case = change(case_of(), events=())
    own = case.today - dt.timedelta(days=365)
    later = change(case, bellows=(change(case.bellows[0], installed=own),))

    assert counted(later)["normal"].done < counted(case)["normal"].done


def test_the_demo_reports_say_how_much_life_is_used_so_far():
    """Usage so far stands beside the usage to the second outage, and is less."""
    (report,) = (r for _, r in verdicts()["EJ-1402"].evaluation.bellows)

    assert 0.0 < report.figure("usage_so_far").value < report.usage


def test_in_the_creep_range_an_assessment_of_creep_is_asked_for():
    """Above the threshold the temperature is not asked for again: what comes next is."""
    found = pressure(judge(case_of(metal_temperature=800.0)))

    assert any("assessment of creep" in line for line in found.missing)
    assert not any("metal temperature in operation" in line for line in found.missing)


def test_no_check_of_a_bellows_is_left_out_of_the_verdict():
    """Whatever the engine checks, some mechanism of the verdict looks at it."""
    for found in verdicts().values():
        told = {check.id for check in found.checks}
        for _, report in found.evaluation.bellows:
            assert {check.id for check in report.checks} <= told, found.joint
