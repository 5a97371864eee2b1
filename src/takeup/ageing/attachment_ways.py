"""A transition with welded corners beside the same pieces formed without welds at the bends."""

from __future__ import annotations

import math

import msgspec

from takeup.ageing.attachment import FACTORS, Cycles, Examined
from takeup.ageing.attachment_case import (
    AttachmentCase,
    AttachmentKind,
    AttachmentReport,
    evaluate,
)
from takeup.errors import MissingInput, Refused
from takeup.progress import Progress, part, silent


class Way(msgspec.Struct, frozen=True, kw_only=True):
    """One way of making a transition, by the place that cracks first."""

    kind: AttachmentKind
    place: str
    range: float
    """Largest range of elastic stress there [Pa]"""
    factor: tuple[float, float]
    """What the weld takes, least and most"""
    examined: Examined
    to_crack: Cycles
    worst_range: float
    """Largest range anywhere [Pa]"""
    report: AttachmentReport


class Ways(msgspec.Struct, frozen=True, kw_only=True):
    """Both ways side by side, and what the difference is in words."""

    welded: Way
    formed: Way
    words: tuple[str, ...]


def both_ways(
    case: AttachmentCase, *, fineness: float = 1.0, progress: Progress = silent
) -> Ways:  # fmt: skip
    """Work the same pieces out with welded corners and as a formed transition.

    Raises :class:`takeup.errors.Refused` for a ring, :class:`takeup.errors.MissingInput` without
    a radius of the bends, and as :func:`takeup.ageing.attachment_case.evaluate`.
    """
    if case.kind == AttachmentKind.RING:
        raise Refused("a ring has no formed counterpart: compare a cone, skirt or transition")
    if case.knuckle is None:
        raise MissingInput(case.name or "the formed transition", ["radius of the formed bends"])
    kinds = (AttachmentKind.CORNERS, AttachmentKind.FORMED)
    welded, formed = (
        _way(
            evaluate(
                msgspec.structs.replace(case, kind=kind),
                fineness=fineness,
                progress=part(progress, 0.5 * at, 0.5 * (at + 1)),
            )
        )
        for at, kind in enumerate(kinds)
    )
    return Ways(welded=welded, formed=formed, words=_words(welded, formed))


def _way(report: AttachmentReport) -> Way:
    governing = report.judged.governing
    return Way(
        kind=report.case.kind,
        place=governing.cut.name,
        range=governing.cut.range,
        factor=FACTORS[governing.examined],
        examined=governing.examined,
        to_crack=governing.to_crack,
        worst_range=max(place.cut.range for place in report.judged.places),
        report=report,
    )


PLACES = (
    "Welded corners are judged at their welds, formed bends at their start, middle and end: a larger "
    "range beside a bend is not by itself a fault of the bend."
)


def _words(welded: Way, formed: Way) -> tuple[str, ...]:
    share = formed.range / welded.range
    told = [
        f"The range of stress of the formed transition is {share:.2f} of that with welded corners, "
        f"{formed.place} against {welded.place}.",
    ]
    spans = welded.to_crack, formed.to_crack
    if all(not math.isfinite(one.low) for one in spans):
        told.append(
            "No crack is expected from starts and stops alone either way: they do not tell the two "
            "apart."
        )
    elif formed.to_crack.low > welded.to_crack.high:
        told.append("The spans of starts to a crack do not overlap: the formed one lasts longer.")
    elif welded.to_crack.low > formed.to_crack.high:
        told.append("The spans of starts to a crack do not overlap: the welded one lasts longer.")
    elif all(math.isfinite(one.high) for one in spans):
        gain = formed.to_crack.likely / welded.to_crack.likely
        told.append(
            f"The spans of starts to a crack overlap: by their middles the formed one lasts "
            f"{gain:.2g} times as long, which such a screening cannot tell for sure."
        )
    else:
        told.append("The spans of starts to a crack overlap, and one has no upper end.")
    return (*told, PLACES)
