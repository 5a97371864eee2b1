"""What each joint type can and cannot take, and who holds its pressure thrust."""

from __future__ import annotations

import csv
import functools
from enum import StrEnum
from importlib import resources

import msgspec

from takeup.register.entities import HardwareKind, JointType


class Degree(StrEnum):
    """How far a joint type takes one movement from outside."""

    YES = "yes"
    SMALL = "small"
    ONE_PLANE = "one plane"
    TWO_RODS = "with two rods"
    NO = "no"


class TypeFacts(msgspec.Struct, frozen=True, kw_only=True):
    """One joint type (common practice; the drawing of the joint at hand rules)."""

    type: JointType
    takes: str
    cannot: str
    axial: Degree | None
    """Axial movement of the joint; ``None``: common practice does not say."""
    lateral: Degree | None
    angular: Degree | None
    tied: bool
    """Whether its own hardware is meant to hold the thrust."""
    hardware: HardwareKind | None
    """Hardware that holds it."""
    bellows: int
    place: str


@functools.cache
def type_facts(type: JointType) -> TypeFacts:
    """The row of ``joint_types.csv`` for a type."""
    return _table()[type]


@functools.cache
def _table() -> dict[JointType, TypeFacts]:
    text = resources.files("takeup.assess").joinpath("joint_types.csv").read_text("utf-8")
    return {
        JointType(row["type"]): TypeFacts(
            type=JointType(row["type"]),
            takes=row["takes"],
            cannot=row["cannot"],
            axial=Degree(row["axial"]) if row["axial"] else None,
            lateral=Degree(row["lateral"]) if row["lateral"] else None,
            angular=Degree(row["angular"]) if row["angular"] else None,
            tied=row["holder"] == "hardware",
            hardware=HardwareKind(row["hardware"]) if row["hardware"] else None,
            bellows=int(row["bellows"]),
            place=row["place"],
        )
        for row in csv.DictReader(text.splitlines())
    }
