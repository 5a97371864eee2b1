"""One side of a hinge or gimbal: its lug, its plate or arm, its pin."""

from __future__ import annotations

import math

import msgspec

from takeup.bellows.hardware import parts
from takeup.bellows.hardware.building import Builder
from takeup.bellows.hardware.results import PartKind
from takeup.bellows.hardware.rods import arm
from takeup.checks import Quantity


class Actions(msgspec.Struct, frozen=True, kw_only=True):
    """What one side carries, all positive [N, N.m], and what is unknown of it."""

    tension: float
    turning: float
    """Force across, in the plane in which the pin lets the plate turn."""
    sideways: float
    """Force across, along the pin: it bends the plate about its weak axis."""
    friction: float
    """Moment of the pin."""
    eccentric: float = 0.0
    """Weak-axis moment of plates side by side in single shear."""
    lacks: tuple[str, ...]
    """Loads that are unknown."""
    more: tuple[str, ...]
    """What bends plates and lugs, and is unknown."""

    @property
    def force(self) -> float:
        """Resultant on the pin [N]; what acts along it is counted in, on the safe side."""
        return math.hypot(self.tension, self.turning, self.sideways)


def levers(builder: Builder, actions: Actions) -> tuple[float | None, float | None, float | None]:
    """Moments where the plate is held, strong and weak axis, and resultant at the pipe wall.

    ``None`` where the length or the arm that they need is unknown.
    """
    plates = builder.case.plates
    length = plates.length if plates else None
    strong: float | None = actions.friction
    weak: float | None = actions.eccentric
    # a lever of unknown length matters only if something bends the plate over it
    across = set(actions.lacks) - set(builder.loads.lacking_axial)
    if actions.turning or actions.sideways or across:
        strong = weak = None
        if length is not None:
            strong = actions.friction + actions.turning * length
            weak = actions.sideways * length + actions.eccentric
    reach = arm(builder, plates.circle_diameter if plates else None)
    wall = None
    if reach is not None and strong is not None and weak is not None:
        wall = math.hypot(actions.tension * reach + weak, strong, actions.turning * reach)
    return strong, weak, wall


def lug(builder: Builder, id: str, column: int, row: float, actions: Actions, *, idle: str) -> None:
    """Add a lug with its checks."""
    found = builder.damages.on(id)
    _, _, wall = levers(builder, actions)
    checks = (
        ()
        if idle
        else parts.lug(
            builder.bench,
            id,
            actions.tension,
            math.hypot(actions.turning, actions.sideways),
            wall,
            left=1.0 - (found.share if found else 0.0),
            lacking=(*actions.lacks, *actions.more),
        )
    )
    loads = (
        Quantity(name="shear", value=actions.tension, kind="force"),
        Quantity(name="bending moment at the pipe", value=wall, kind="moment"),
    )
    builder.box(id, PartKind.LUG, "lugs", column, row, loads=loads, checks=checks, idle=idle)


def plate(
    builder: Builder,
    id: str,
    column: int,
    row: float,
    actions: Actions,
    *,
    fork: bool,
    measured: float | None,
    idle: str,
    name: str = "",
) -> None:
    """Add a hinge plate, fork or arm with its checks; ``measured`` is a worn pin's diameter."""
    found = builder.damages.on(id)
    strong, weak, _ = levers(builder, actions)
    checks = (
        ()
        if idle
        else parts.plate(
            builder.bench,
            id,
            actions.force,
            actions.tension,
            strong,
            weak,
            fork=fork,
            pin_diameter=measured,
            cracked=found.share if found else 0.0,
            lacking=actions.lacks,
            lacking_root=actions.more,
        )
    )
    loads = (
        Quantity(name="tension", symbol="T", value=actions.tension, kind="force"),
        Quantity(name="bending moment in its plane", value=strong, kind="moment"),
        Quantity(name="bending moment sideways", value=weak, kind="moment"),
    )
    builder.box(
        id, PartKind.PLATE, "plates", column, row, name=name, loads=loads, checks=checks, idle=idle
    )


def pin(
    builder: Builder,
    id: str,
    column: int,
    row: float,
    actions: Actions,
    *,
    middle: float | None,
    middle_words: str,
    lacking: tuple[str, ...],
    idle: str,
) -> None:
    """Add a pin with its checks; ``middle`` is the thickness it passes between forks [m]."""
    found = builder.damages.on(id)
    checks = (
        ()
        if idle
        else parts.pin(
            builder.bench,
            id,
            actions.force,
            middle=middle,
            middle_words=middle_words,
            measured=found.diameter if found else None,
            lacking=lacking,
        )
    )
    loads = (Quantity(name="shear", symbol="V", value=actions.force, kind="force"),)
    builder.box(id, PartKind.PIN, "pins", column, row, loads=loads, checks=checks, idle=idle)
