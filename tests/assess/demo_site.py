"""The demo site as joint cases, made once for all tests that judge it."""

from __future__ import annotations

import datetime as dt
import functools
import tempfile
from pathlib import Path

import msgspec

from takeup.assess import verdict
from takeup.assess.model import JointCase, Verdict
from takeup.demo.create import create
from takeup.desk.cases import cases
from takeup.register.entities import MovementRole

TODAY = dt.date(2026, 9, 15)
change = msgspec.structs.replace


@functools.cache
def _cases(theory: bool) -> dict[str, JointCase]:
    with tempfile.TemporaryDirectory() as folder:
        site = create(Path(folder) / "site", today=TODAY)
        try:
            return {case.joint.tag: case for case in cases(site, today=TODAY, theory=theory)}
        finally:
            site.close()


def joint_cases() -> dict[str, JointCase]:
    """All cases of the demo site by tag."""
    return _cases(True)


@functools.cache
def verdicts() -> dict[str, Verdict]:
    """Their verdicts by tag."""
    return {one.joint: one for one in verdict.assess(tuple(joint_cases().values()))}


@functools.cache
def bare_cases() -> dict[str, JointCase]:
    """All cases of the demo site by tag, as if no line had a model.

    What is expected of EJ-1101 was then entered by hand: -4 mm axially, 22.5 mm laterally.
    """
    case = _cases(False)["EJ-1101"]
    movements = tuple(
        change(one, axial=-0.004, lateral=0.0225, angular=0.0, basis="calculation of the line")
        if one.role is MovementRole.EXPECTED
        else one
        for one in case.movements
    )
    return _cases(False) | {"EJ-1101": change(case, movements=movements)}


@functools.cache
def bare_verdicts() -> dict[str, Verdict]:
    """Verdicts of :func:`bare_cases` by tag."""
    return {one.joint: one for one in verdict.assess(tuple(bare_cases().values()))}


def judge(case: JointCase) -> Verdict:
    """The verdict of one case."""
    return verdict.assess((case,))[0]
