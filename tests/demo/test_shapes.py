"""The demo shows every shape, rule set and kind of hardware check that Takeup works out."""

from __future__ import annotations

from tests.assess.demo_site import joint_cases, verdicts

from takeup.assess.hardware import hardware
from takeup.bellows.model import Basis, Convolution
from takeup.checks import Outcome
from takeup.register.entities import HardwareKind, JointType


def test_every_shape_and_every_rule_set_is_shown() -> None:
    """Reinforced, toroidal, EJMA, EN, outside pressure and a thinned ply of two are there."""
    cases = joint_cases().values()
    bellows = [one for case in cases for one in case.bellows]

    assert {one.convolution for one in bellows} == set(Convolution)
    assert {one.basis for one in bellows} == {*Basis, None}
    assert any(case.joint.type is JointType.EXTERNAL for case in cases)
    assert any(
        one.plies == 2 and one.thinnest_ply is not None and one.ply_thickness is not None
        and one.thinnest_ply < one.ply_thickness
        for one in bellows
    )  # fmt: skip


def test_every_bellows_with_sizes_is_worked_out() -> None:
    """A report with an effective area stands for each bellows that has a diameter."""
    for tag, case in joint_cases().items():
        reports = dict(verdicts()[tag].evaluation.bellows)
        for one in case.bellows:
            if one.inside_diameter is not None:
                assert reports[one.letter].figure("effective_area") is not None, one.key


def test_a_hinge_a_gimbal_and_rods_are_traced_and_one_fault_is_in_them() -> None:
    """Four kinds carry sizes, all of them complete; only the planted ones are not met."""
    kinds, failed, missing = set(), set(), []
    for tag, case in joint_cases().items():
        for held in hardware(case, verdicts()[tag].evaluation):
            if not held.sized:
                continue
            kinds |= {item.kind for item in case.hardware if item.item == held.item}
            assert held.report is not None, held.fault
            missing += held.report.missing
            failed |= {tag for check in held.report.checks if check.outcome is Outcome.NOT_MET}

    assert kinds == {
        HardwareKind.HINGE, HardwareKind.GIMBAL, HardwareKind.TIE_ROD, HardwareKind.LIMIT_ROD,
    }  # fmt: skip
    assert failed == {"EJ-1502"}
    assert missing == []
