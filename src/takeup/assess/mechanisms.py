"""The one place where damage mechanisms are registered."""

from __future__ import annotations

from collections.abc import Callable

from takeup.assess import (
    age,
    attachments,
    cold,
    damage,
    hot,
    metallurgy,
    movement,
    neighbours,
    ply,
    pressure,
    thrust,
)
from takeup.assess.model import Evaluation, JointCase, MechanismResult

Assess = Callable[[JointCase, Evaluation], MechanismResult]

MECHANISMS: tuple[Assess, ...] = (
    thrust.assess,
    neighbours.assess,
    damage.assess,
    ply.assess,
    pressure.assess,
    movement.assess,
    cold.assess,
    hot.assess,
    attachments.assess,
    metallurgy.assess,
    age.assess,
)
"""In the order in which a joint is walked: surroundings and thrust first."""
