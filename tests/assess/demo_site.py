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

TODAY = dt.date(2026, 9, 15)
change = msgspec.structs.replace


@functools.cache
def joint_cases() -> dict[str, JointCase]:
    """All cases of the demo site by tag."""
    with tempfile.TemporaryDirectory() as folder:
        site = create(Path(folder) / "site", today=TODAY)
        try:
            return {case.joint.tag: case for case in cases(site, today=TODAY)}
        finally:
            site.close()


@functools.cache
def verdicts() -> dict[str, Verdict]:
    """Their verdicts by tag."""
    found = verdict.assess(tuple(joint_cases().values()))
    return {one.joint: one for one in found}


def judge(case: JointCase) -> Verdict:
    """The verdict of one case."""
    return verdict.assess((case,))[0]
