"""Few colours, twice: fixed for paper, by CSS variable for light and dark screens."""

from __future__ import annotations

import msgspec

from takeup.assess.model import Level


class Palette(msgspec.Struct, frozen=True, kw_only=True):
    """Colours of a drawing. Shape and pattern carry the meaning, colour only helps."""

    ink: str
    soft: str
    """Secondary text and thin lines."""
    hair: str
    """Grids and shading."""
    paper: str
    accent: str
    warn: str
    tint: str
    """A light fill."""

    def level(self, level: Level | None) -> str:
        """The colour of a level."""
        if level in {Level.ACT_NOW, Level.IN_DOUBT}:
            return self.warn
        if level == Level.UNPROVEN or level is None:
            return self.soft
        return self.ink


PRINT = Palette(
    ink="#1c1b19",
    soft="#6a665e",
    hair="#d9d4c8",
    paper="#ffffff",
    accent="#1f4e79",
    warn="#a02c16",
    tint="#efece4",
)
WEB = Palette(
    ink="var(--ink)",
    soft="var(--soft)",
    hair="var(--hair)",
    paper="var(--paper)",
    accent="var(--accent)",
    warn="var(--warn)",
    tint="var(--tint)",
)
