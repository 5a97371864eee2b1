"""Bellows mechanics: geometry, rule sets, movements, stiffness, thrust."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from takeup.bellows.engine import evaluate, evaluate_many
    from takeup.bellows.plies import surviving_ply

__all__ = ["evaluate", "evaluate_many", "surviving_ply"]


def __getattr__(name: str) -> Any:
    """Load the engine when it is first asked for; the types alone stay light."""
    if name in {"evaluate", "evaluate_many"}:
        from takeup.bellows import engine

        return getattr(engine, name)
    if name == "surviving_ply":
        from takeup.bellows import plies

        return plies.surviving_ply
    raise AttributeError(f"module 'takeup.bellows' has no attribute {name!r}")
