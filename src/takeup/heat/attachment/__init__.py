"""Attachments on hot pipe: rings, and cones or skirts with a steep axial gradient."""

from takeup.heat.attachment.model import (
    Day,
    Film,
    HotRing,
    Leg,
    Transition,
    covered,
    start_run_stop,
)

__all__ = ["Day", "Film", "HotRing", "Leg", "Transition", "covered", "start_run_stop"]
