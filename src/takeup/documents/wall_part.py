"""The wall of a joint in its dossier: its profile drawn, what explains the reading, dew points."""

from __future__ import annotations

import msgspec

from takeup.documents.drawing import PRINT, Palette, wall_profile
from takeup.documents.model import Dossier
from takeup.documents.words import chance, check_row
from takeup.units import shown

CAUSES = 4
"""Causes of a reading that are told: the likeliest"""


class WallPart(msgspec.Struct, frozen=True, kw_only=True):
    """What the dossier says of the wall of its joint; empty where none is on record."""

    title: str = ""
    why_not: str = ""
    reading: str = ""
    drawing: str = ""
    causes: tuple[tuple[str, ...], ...] = ()
    line: str = ""
    checks: tuple[dict[str, str], ...] = ()
    cautions: tuple[str, ...] = ()


def wall_part(dossier: Dossier, palette: Palette = PRINT) -> WallPart:
    """Gather the wall as it was studied with the present reading."""
    wall, system = dossier.wall, dossier.system
    if wall is None:
        return WallPart()
    title = f"Wall of {dossier.case.joint.tag} by its description"
    if wall.study is None:
        return WallPart(title=title, why_not="; ".join(wall.faults) or "nothing was studied")
    study, limits = wall.study, dossier.case.limits
    causes = study.inverse.causes if study.inverse is not None else ()
    line = ""
    if study.action_line is not None:
        line = (
            "Low action line to work with: "
            f"{shown(study.action_line, 'temperature', system)}, the higher of the site's and what "
            "the gas asks for."
        )
    return WallPart(
        title=title,
        reading=f"Reading: {wall.reading_words}." if wall.reading_words else "No reading: the "
        "temperature is calculated, as a range.",
        drawing=wall_profile(
            study.wall, system=system, low=limits["temperature.low_to"],
            high=limits["temperature.high"], dew=study.dew, reading=wall.reading, palette=palette,
        ),
        causes=tuple((chance(one.probability), one.title, one.look) for one in causes[:CAUSES]),
        line=line,
        checks=tuple(check_row(check, system) for check in study.checks),
        cautions=study.cautions,
    )  # fmt: skip
