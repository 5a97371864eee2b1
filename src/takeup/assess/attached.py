"""What was worked out of rings and cones on hot pipe, as a verdict takes it."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

import msgspec

from takeup.ageing.attachment import Judged

CONES = "cones"
"""The item under which the cones of a joint are kept"""


class State(StrEnum):
    """Where the calculation of an attachment stands."""

    CURRENT = "worked out"
    STALE = "out of date"
    OPEN = "not worked out yet"
    FAULTY = "cannot be worked out"


class Starts(msgspec.Struct, frozen=True, kw_only=True):
    """Full starts and stops of an attachment; ``None`` is unknown, never none."""

    so_far: float | None = None
    whole: bool = False
    """Whether ``so_far`` is all of them; else it is the least that there were"""
    a_year: float | None = None
    to_next: float | None = None
    """From today to the next outage"""
    to_second: float | None = None
    """From today to the outage after it"""
    words: tuple[str, ...] = ()
    """Where the figures are from"""
    missing: tuple[str, ...] = ()


class Attached(msgspec.Struct, frozen=True, kw_only=True):
    """An attachment of a joint as kept in the register, and what is worked out of it."""

    item: str
    title: str
    state: State
    asked: tuple[str, ...] = ()
    """What has to be said before it can be worked out"""
    faults: tuple[str, ...] = ()
    judged: Judged | None = None
    """Of the present text; ``None`` unless :attr:`state` is CURRENT"""
    headline: str = ""
    starts: Starts = Starts()
    inputs_hash: str = ""
    worked: dt.datetime | None = None
    cautions: tuple[str, ...] = ()

    @property
    def stands(self) -> bool:
        """Whether the verdict may use it."""
        return self.state == State.CURRENT and self.judged is not None
