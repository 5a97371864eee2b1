"""Bellows mechanics: geometry, rule sets, movements, stiffness, thrust."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from takeup.bellows.assembly import assembly_rates
    from takeup.bellows.elements import element
    from takeup.bellows.engine import evaluate, evaluate_many
    from takeup.bellows.plies import surviving_ply

__all__ = ["assembly_rates", "element", "evaluate", "evaluate_many", "surviving_ply"]

_MODULES = {
    "assembly_rates": "assembly",
    "element": "elements",
    "evaluate": "engine",
    "evaluate_many": "engine",
    "surviving_ply": "plies",
}


def __getattr__(name: str) -> Any:
    """Load a module when it is first asked for; the types alone stay light."""
    if name in _MODULES:
        return getattr(import_module(f"takeup.bellows.{_MODULES[name]}"), name)
    raise AttributeError(f"module 'takeup.bellows' has no attribute {name!r}")
