"""Where a figure comes from, and how far that may be trusted."""

from __future__ import annotations

from enum import StrEnum

import msgspec


class Standing(StrEnum):
    """How we came by a statement, strongest first."""

    READ = "read"
    CONFIRMED = "confirmed numerically"
    DERIVED = "derived here"
    SUPPORTED = "from memory, supported by an independent check"
    MEMORY = "from memory"
    PRACTICE = "common practice, no published source"
    ASSUMPTION = "engineering assumption"
    UNCERTAIN = "uncertain, user-supplied only"


FIRM = frozenset({Standing.READ, Standing.CONFIRMED, Standing.DERIVED, Standing.SUPPORTED})


class Source(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """A standard or paper, its edition, the place in it, and how we came by it."""

    document: str
    edition: str = ""
    at: str = ""
    standing: Standing

    @property
    def firm(self) -> bool:
        """Whether results that rest on this may be shown without the word provisional."""
        return self.standing in FIRM

    def cite(self) -> str:
        """One line for reports: document, edition, place (standing)."""
        head = ", ".join(part for part in (self.document, self.edition, self.at) if part)
        return f"{head} ({self.standing.value})"


def practice(at: str = "") -> Source:
    """A fact of the trade without a published source."""
    return Source(document="Trade practice", at=at, standing=Standing.PRACTICE)


def assumption(at: str = "") -> Source:
    """An assumption of ours that an engineer must be able to see and change."""
    return Source(document="Takeup", at=at, standing=Standing.ASSUMPTION)
