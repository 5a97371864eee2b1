"""How long work tells a terminal and a browser how far it is, and learns that it should stop."""

from __future__ import annotations

from typing import Protocol


class Progress(Protocol):
    """Called often by long work; may raise :class:`takeup.errors.Cancelled` to stop it."""

    def __call__(self, share: float, text: str) -> None:
        """Report ``share`` (0 to 1) of the work as done, and what is being done now."""


def silent(share: float, text: str) -> None:
    """Ignore progress: for callers who do not show any."""


def part(progress: Progress, start: float, end: float) -> Progress:
    """Return a progress that maps 0..1 onto ``start``..``end`` of the outer one."""

    def inner(share: float, text: str) -> None:
        progress(start + (end - start) * share, text)

    return inner
