"""What a diagnosis says."""

from __future__ import annotations

import msgspec

from takeup.line.diagnosis.faults import Fault
from takeup.line.diagnosis.readings import Reading


class Hint(msgspec.Struct, frozen=True, kw_only=True):
    """A reading not taken yet, and what it would tell."""

    reading: Reading
    words: str
    bits: float
    """Expected information gain [bit]"""


class Explanation(msgspec.Struct, frozen=True, kw_only=True):
    """Faults that may be behind the readings; none: the line is sound."""

    faults: tuple[Fault, ...]
    prior: float
    posterior: float
    predicted: tuple[float, ...]
    """Of each reading taken, at the temperatures and frictions that fit"""
    solved: bool
    """Whether the whole line was solved with it; otherwise its faults were solved one by one and
    added up"""
    split: str = ""
    """Which readings would tell it from the first of its group"""
    spread: tuple[float, ...] = ()
    """One standard deviation of each reading taken about ``predicted``, reading and model errors
    and what is left open of temperature and friction together"""
    rise: float = 1.0
    """Temperature rise over the recorded one that it takes"""
    chance: float = 1.0
    """Of a misfit as large as its own, were it true"""

    @property
    def name(self) -> str:
        """The faults in words."""
        return " and ".join(fault.name for fault in self.faults) or "all sound"


class Group(msgspec.Struct, frozen=True, kw_only=True):
    """Explanations that the readings taken cannot tell apart, likeliest first."""

    explanations: tuple[Explanation, ...]
    """Those worth naming"""
    posterior: float
    """Of all its explanations, named or not"""
    split: tuple[Hint, ...]
    """What would tell them apart, best reading of each kind; empty for one alone"""
    unnamed: int = 0
    """Further explanations in it, each too unlikely to name"""
    unnamed_posterior: float = 0.0

    @property
    def split_words(self) -> str:
        """The readings that would split the group, in words."""
        return " or ".join(hint.words for hint in self.split)


class Diagnosis(msgspec.Struct, frozen=True, kw_only=True):
    """What the readings say."""

    readings: tuple[Reading, ...]
    errors: tuple[float, ...]
    """Measurement and model together, one standard deviation, without what all share"""
    sound: tuple[float, ...]
    """What the sound line would show"""
    groups: tuple[Group, ...]
    others: float
    """Posterior of everything in no group listed"""
    next: Hint | None
    """The one reading that would separate the explanations named best, in groups and within them;
    ``None``: none is worth the way"""
    rise: float
    """Temperature rise over the recorded one, posterior mean"""
    chance: float
    """Of a misfit as large as that of the best explanation, were it true"""
    tried: int
    cautions: tuple[str, ...]
    hints: tuple[Hint, ...] = ()
    """The readings that would separate the explanations named, best first"""
    solved: float = 1.0
    """Share of the posterior on explanations solved in full; the rest is added up of them"""
    solved_count: int = 0
    """Explanations solved in full"""

    def group_of(self, *names: str) -> Group | None:
        """The group with the explanation whose faults are at ``names`` (none: all sound)."""
        for group in self.groups:
            for one in group.explanations:
                if sorted(f.place for f in one.faults) == sorted(names):
                    return group
        return None
