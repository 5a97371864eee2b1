"""Every line with how its model stands and what is nearest to its limit on it."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

import msgspec

from takeup.checks import Check, Outcome
from takeup.desk.line_all import solve_all
from takeup.progress import Progress, silent
from takeup.register.entities import Joint, Line

if TYPE_CHECKING:
    from takeup.desk.site import Site


class Standing(StrEnum):
    """How the model of a line stands."""

    MODELLED = "modelled"
    FAULTS = "model with faults"
    NONE = "no model"


class Listed(msgspec.Struct, frozen=True, kw_only=True):
    """One line of the list."""

    line: Line
    joints: tuple[str, ...]
    standing: Standing
    faults: tuple[str, ...] = ()
    worst: Check | None = None
    """Nearest to its limit or furthest beyond; ``None``: nothing could be compared"""
    not_met: int = 0
    left_open: int = 0
    """Checks that could not be evaluated"""
    unbalanced: tuple[str, ...] = ()
    """States that are not to be used"""
    unchecked: bool = False
    """Whether nothing was checked for want of a cold and a hot state"""


def listed(site: Site, *, progress: Progress = silent) -> tuple[Listed, ...]:
    """Every line of the register; each model is worked out as it stands now."""
    register = site.register()
    worked = solve_all(site, progress=progress)
    found = []
    for line in register.all(Line):
        joints = tuple(one.tag for one in register.of_line(Joint, line.tag))
        if line.tag not in worked:
            found.append(Listed(line=line, joints=joints, standing=Standing.NONE))
            continue
        one = worked[line.tag]
        if one.report is None:
            found.append(
                Listed(line=line, joints=joints, standing=Standing.FAULTS, faults=one.faults)
            )
            continue
        checks = one.report.checks
        found.append(
            Listed(
                line=line,
                joints=joints,
                standing=Standing.MODELLED,
                worst=max(
                    (check for check in checks if check.ratio is not None),
                    key=lambda check: check.ratio or 0.0,
                    default=None,
                ),
                not_met=sum(check.outcome == Outcome.NOT_MET for check in checks),
                left_open=sum(check.outcome == Outcome.NOT_EVALUATED for check in checks),
                unchecked=one.report.between is None,
                unbalanced=tuple(s.state for s in one.report.states if not s.usable),
            )
        )
    return tuple(found)
