"""What was found wrong, part by part: out of action, in doubt, or weakened by how much."""

from __future__ import annotations

import msgspec

from takeup.bellows.hardware.model import (
    GIMBALS,
    HELD_BY_ANCHORS,
    PAIRS,
    RODDED,
    Defect,
    DefectKind,
    HardwareCase,
    HardwareType,
)
from takeup.bellows.hardware.results import DefectEffect, PartState
from takeup.errors import Contradiction

_RODS = frozenset({DefectKind.NUT_MISSING, DefectKind.NUT_LOOSE, DefectKind.ROD_BROKEN})
_PINS = frozenset({DefectKind.PIN_BENT, DefectKind.PIN_WORN, DefectKind.PIN_MISSING})
_ORDER = (
    PartState.CARRIES,
    PartState.IDLE,
    PartState.WEAKENED,
    PartState.DOUBT,
    PartState.OUT,
)


class Damage(msgspec.Struct, frozen=True, kw_only=True):
    """What was found on one part."""

    state: PartState
    why: str
    share: float = 0.0
    """Of weld length or width that is gone."""
    diameter: float | None = None
    """Of a worn pin, measured [m]."""
    gap: float | None = None
    """Under a loose nut [m]; infinite where not measured."""


class Damages(msgspec.Struct, frozen=True, kw_only=True):
    """Everything found, by part id."""

    parts: dict[str, Damage]
    effects: tuple[DefectEffect, ...]
    at_limit: bool

    def on(self, part: str) -> Damage | None:
        """What was found on ``part``."""
        return self.parts.get(part)


def unit_prefix(case: HardwareCase, unit: int) -> str:
    """How parts of one hinge or gimbal of a pair begin their names."""
    if case.type not in PAIRS:
        return ""
    return f"{'gimbal' if case.type in GIMBALS else 'hinge'} {unit} "


def part_of(case: HardwareCase, defect: Defect) -> str:
    """The id of the part a defect is on.

    Raises :class:`takeup.errors.Contradiction` where this hardware has no such part.
    """
    kind, type_ = defect.kind, case.type
    if kind == DefectKind.AT_LIMIT:
        if type_ not in HELD_BY_ANCHORS:
            raise Contradiction(
                f"defect {kind.value!r}: a {type_.value} has no limit position; it carries the "
                "thrust always"
            )
        return "slots" if type_ != HardwareType.LIMIT_RODS else "rods"
    rodded = type_ in RODDED
    most = (case.rods.count if case.rods else 0) if rodded else 2
    if kind != DefectKind.RING_CRACKED and defect.number > most:
        what = "rods" if rodded else "sides"
        raise Contradiction(
            f"defect {kind.value!r} is on number {defect.number}, but the {type_.value} has "
            f"{most} {what}; correct the number of the defect or of the {what}"
        )
    if defect.unit > 1 and type_ not in PAIRS:
        raise Contradiction(
            f"defect {kind.value!r} is on hinge {defect.unit}, but a {type_.value} is no pair"
        )
    fits = {
        **dict.fromkeys(_RODS, rodded),
        DefectKind.WELD_CRACKED: True,
        DefectKind.PLATE_CRACKED: not rodded and type_ != HardwareType.PANTOGRAPH,
        **dict.fromkeys(_PINS, not rodded),
        DefectKind.RING_CRACKED: type_ in GIMBALS,
        DefectKind.LINK_BROKEN: type_ == HardwareType.PANTOGRAPH,
    }
    if not fits[kind]:
        raise Contradiction(
            f"defect {kind.value!r} cannot be on {type_.value}: it has no such part"
        )
    u, n, end = unit_prefix(case, defect.unit), defect.number, defect.end.value
    if kind in _RODS:
        return f"rod {n}"
    if kind == DefectKind.WELD_CRACKED:
        return f"{u}lug {end} {n}"
    if kind == DefectKind.PLATE_CRACKED:
        return f"{u}plate {end} {n}"
    if kind in _PINS:
        return f"{u}pin {end} {n}" if type_ in GIMBALS else f"{u}pin {n}"
    return f"{u}ring" if kind == DefectKind.RING_CRACKED else f"bars {n}"


def _one(part: str, defect: Defect) -> tuple[Damage, str]:
    """What a defect does to its part, and in words what it removes from the path."""
    kind = defect.kind
    found = kind.value + (f" ({defect.note})" if defect.note else "")
    name = part[0].upper() + part[1:]
    if kind == DefectKind.NUT_LOOSE:
        gap = defect.gap
        width = "unknown gap" if gap is None else f"{gap * 1e3:g} mm gap"
        words = f"{name}: nut loose, {width}. It bears only after the other rods have stretched."
        return Damage(
            state=PartState.CARRIES,
            why=f"nut loose, {width}",
            gap=float("inf") if gap is None else gap,
        ), words
    if kind in {DefectKind.WELD_CRACKED, DefectKind.PLATE_CRACKED}:
        what = "weld" if kind == DefectKind.WELD_CRACKED else "width"
        if defect.share is None or defect.share >= 1.0:
            much = (
                "length of the crack unknown" if defect.share is None else f"whole {what} cracked"
            )
            words = f"{name}: {found}, {much}: it is not counted, and what it carried must go elsewhere."
            return Damage(state=PartState.DOUBT, why=f"{found}, {much}", share=1.0), words
        words = (
            f"{name}: {found}, {defect.share:.0%} of the {what} gone. What is left is checked; "
            "how fast the crack grows is not known."
        )
        return Damage(
            state=PartState.WEAKENED,
            why=f"{found}, {defect.share:.0%} of the {what} gone",
            share=defect.share,
        ), words
    if kind == DefectKind.PIN_WORN:
        if defect.diameter is None:
            words = f"{name}: worn, diameter not measured: it is not counted."
            return Damage(state=PartState.DOUBT, why="worn, diameter not measured"), words
        words = f"{name}: worn to {defect.diameter * 1e3:g} mm: checked with that diameter."
        return Damage(
            state=PartState.WEAKENED,
            why=f"worn to {defect.diameter * 1e3:g} mm",
            diameter=defect.diameter,
        ), words
    if kind == DefectKind.PIN_BENT:
        words = (
            f"{name}: bent. It has been overloaded; until it is drawn and examined it is not "
            "counted (engineering judgement)."
        )
        return Damage(state=PartState.DOUBT, why="bent: not counted until examined"), words
    removes = {
        DefectKind.NUT_MISSING: "has no nut to pull on: the rod and its lugs carry nothing.",
        DefectKind.ROD_BROKEN: "is broken or missing: it and its lugs carry nothing.",
        DefectKind.PIN_MISSING: "is missing: this side of the hardware carries nothing.",
        DefectKind.RING_CRACKED: "is cracked: both pairs of pins hang on it, nothing passes.",
        DefectKind.LINK_BROKEN: "are broken: this side of the linkage carries nothing.",
    }[kind]
    return Damage(state=PartState.OUT, why=found), f"{name} {removes}"


def take(case: HardwareCase, defects: tuple[Defect, ...]) -> Damages:
    """Sort defects by part; of several on one part the worst counts, lost shares add up."""
    parts: dict[str, Damage] = {}
    effects: list[DefectEffect] = []
    at_limit = False
    for defect in defects:
        part = part_of(case, defect)
        if defect.kind == DefectKind.AT_LIMIT:
            at_limit = True
            effects.append(
                DefectEffect(
                    defect=defect,
                    part=part,
                    state=PartState.CARRIES,
                    removes="The hardware stands at its limit: it takes the thrust, and the "
                    "bellows can no longer move that way. Find out which anchor or guide let go.",
                )
            )
            continue
        found, words = _one(part, defect)
        effects.append(DefectEffect(defect=defect, part=part, state=found.state, removes=words))
        kept = parts.get(part)
        parts[part] = found if kept is None else _both(kept, found)
    return Damages(parts=parts, effects=tuple(effects), at_limit=at_limit)


def _both(one: Damage, other: Damage) -> Damage:
    share = min(1.0, one.share + other.share)
    state = max(one.state, other.state, key=_ORDER.index)
    if share >= 1.0:
        state = max(state, PartState.DOUBT, key=_ORDER.index)
    measured = [found.diameter for found in (one, other) if found.diameter is not None]
    gaps = [found.gap for found in (one, other) if found.gap is not None]
    return Damage(
        state=state,
        why=f"{one.why}; {other.why}",
        share=share,
        diameter=min(measured, default=None),
        gap=max(gaps, default=None),
    )
