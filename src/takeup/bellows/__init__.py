"""Bellows mechanics: geometry, rule sets, movements, stiffness, thrust, hardware, sizing."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from takeup.bellows.arrays import problem_for, solve
    from takeup.bellows.assembly import assembly_rates
    from takeup.bellows.elements import element
    from takeup.bellows.engine import evaluate, evaluate_many
    from takeup.bellows.hardware import check_hardware, explain, governing, trace
    from takeup.bellows.plies import surviving_ply
    from takeup.bellows.side_by_side import compare

__all__ = [
    "assembly_rates",
    "check_hardware",
    "compare",
    "element",
    "evaluate",
    "evaluate_many",
    "explain",
    "governing",
    "problem_for",
    "solve",
    "surviving_ply",
    "trace",
]

_MODULES = {
    "assembly_rates": "assembly",
    "check_hardware": "hardware",
    "compare": "side_by_side",
    "element": "elements",
    "evaluate": "engine",
    "evaluate_many": "engine",
    "explain": "hardware",
    "governing": "hardware",
    "problem_for": "arrays",
    "solve": "arrays",
    "surviving_ply": "plies",
    "trace": "hardware",
}


def __getattr__(name: str) -> Any:
    """Load a module when it is first asked for; the types alone stay light."""
    if name in _MODULES:
        return getattr(import_module(f"takeup.bellows.{_MODULES[name]}"), name)
    raise AttributeError(f"module 'takeup.bellows' has no attribute {name!r}")
