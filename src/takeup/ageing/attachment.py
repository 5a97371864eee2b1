"""From the stress of an attachment on hot pipe to cycles, checks, and what to look for.

Cycles to a crack are a span, not a figure: the curves end below the temperatures in question,
and what holding at temperature costs is known to a factor.  The span is made of named parts.
"""

from __future__ import annotations

import math
from enum import StrEnum

import msgspec

from takeup import materials
from takeup.ageing import fatigue
from takeup.checks import Check, Ground, LimitKind, Strength, compare
from takeup.errors import MissingInput, OutOfRange, require_within
from takeup.heat.attachment.model import HotRing, Transition
from takeup.heat.attachment.solve import Answer, AtCut
from takeup.materials import Family
from takeup.sources import Source, Standing, assumption, practice

NOTCH = Source(
    document="WRC Bulletin 432", at="fatigue strength reduction by how a weld was examined",
    standing=Standing.MEMORY,
)  # fmt: skip
HOLD = Source(
    document="Takeup",
    at="above the curves' end: strain-controlled tests lose a factor 2 to 4 in life from 427 to "
    "650 °C and holds of more than an hour another 2 to 5, in part within the curves' own factor "
    "of 20 on life; taken together as 2 to 5",
    standing=Standing.MEMORY,
)
FIRST_CRACK = 0.5e-3
"""[m]; a crack that liquid penetrant shows"""


class Examined(StrEnum):
    """How the weld was finished and examined."""

    GROUND = "toe ground, surface and volume examined"
    SURFACE = "as welded, surface examined"
    SEEN = "as welded, looked at only"
    FORMED = "no weld"


FACTORS = {
    Examined.GROUND: (1.0, 1.2),
    Examined.SURFACE: (1.5, 1.7),
    Examined.SEEN: (2.0, 2.5),
    Examined.FORMED: (1.0, 1.0),
}
"""What a weld takes from the stress range that a smooth bar bears, least and most"""


class Cycles(msgspec.Struct, frozen=True, kw_only=True):
    """Full starts and stops until something happens: a span."""

    low: float
    likely: float
    """Geometric middle of the span, no more"""
    high: float
    why: tuple[str, ...]
    """The parts of the span in words"""


class Place(msgspec.Struct, frozen=True, kw_only=True):
    """One cut judged."""

    cut: AtCut
    metal: str
    examined: Examined
    to_crack: Cycles
    """By smooth bar, with what the weld takes from it"""
    welded: float | None
    """By the curve of welded joints, two deviations below the mean; none without a weld"""
    through: float | None
    """From a crack that penetrant shows to 0.6 of the wall; unknown where the range closes it"""
    from_inside: bool
    """Whether the crack is first looked for on the inside surface"""


def _soonest(place: Place) -> tuple[float, float]:
    """What cracks first; of places that do not crack, the one with the largest range."""
    return place.to_crack.likely, -place.cut.range


class Judged(msgspec.Struct, frozen=True, kw_only=True):
    """An attachment judged: places, checks, where to look and what lasts."""

    places: tuple[Place, ...]
    checks: tuple[Check, ...]
    grounds: tuple[Ground, ...]
    words: tuple[str, ...]
    remedies: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def governing(self) -> Place:
        """The place that cracks first."""
        return min(self.places, key=_soonest)


def judge(
    task: HotRing | Transition, answer: Answer, *, examined: Examined = Examined.SURFACE,
    cycles_so_far: float | None = None, cycles_to_come: float | None = None,
) -> Judged:  # fmt: skip
    """Judge every cut of ``answer``; raises where a metal has no allowable stress to shake down by.

    ``cycles_so_far`` and ``cycles_to_come`` are full starts and stops; unknown is not zero.
    """
    for name, value in (("so far", cycles_so_far), ("to come", cycles_to_come)):
        if value is not None:
            require_within(f"Starts and stops {name}", value, low=0.0, high=1e5, whose=SANE)
    places = tuple(_place(task, one, examined) for one in answer.cuts)
    worst = min(places, key=_soonest)
    total = None if cycles_so_far is None else cycles_so_far + (cycles_to_come or 0.0)
    missing = () if cycles_so_far is not None else ("starts and stops so far",)
    checks = [
        compare(
            id="attachment.cracks",
            name=f"Starts and stops against the least cycles to a crack {worst.cut.name}",
            demand=total,
            capacity=worst.to_crack.low,
            kind="cycles",
            source=fatigue.SMOOTH,
            limit_kind=LimitKind.DERIVED,
            missing=missing,
            valid="screening above 427 °C (371 °C ferritic): the curves end there",
            because="" if missing else _standing(total or 0.0, worst.to_crack),
            cautions=tuple(worst.to_crack.why),
        ),
        compare(
            id="attachment.shakedown",
            name=f"Range of elastic stress {worst.cut.name} against shakedown",
            demand=worst.cut.range,
            capacity=_shakedown(worst.metal, worst.cut),
            kind="stress",
            source=fatigue.PENALTY,
            because="beyond it the metal yields at every start and every stop"
            if worst.cut.range > _shakedown(worst.metal, worst.cut)
            else "",
        ),
    ]
    words, remedies = _words(task, worst, total)
    return Judged(
        places=places,
        checks=tuple(checks),
        grounds=(
            Ground(
                claim=f"A crack {worst.cut.name} is expected after {counted(worst.to_crack.low)} to "
                f"{counted(worst.to_crack.high)} starts and stops",
                evidence=("check:attachment.cracks",),
                rule="elastic range by finite elements, smooth-bar curve, weld and hold factors",
                source=fatigue.SMOOTH,
                limit_kind=LimitKind.DERIVED,
                strength=Strength.CALCULATED if total is not None else Strength.ASSUMED,
            ),
        ),
        words=words,
        remedies=remedies,
        cautions=(
            *answer.cautions,
            "Cycles are a screening figure: licensed practice and the site's rules decide.",
        ),
    )


SANE = "sane input here"


def _metal(task: HotRing | Transition, cut: AtCut) -> str:
    if isinstance(task, HotRing):
        return task.pipe_metal
    # at a meeting of two pieces the weaker at temperature decides
    walked, near = 0.0, []
    for leg in task.legs:
        if walked - 1e-6 <= cut.along <= walked + leg.length + 1e-6:
            near.append(leg.metal)
        walked += leg.length
    hot = max(cut.inside_temperature, cut.outside_temperature)
    return min(near or [task.legs[-1].metal], key=lambda name: _allowable(name, hot))


def _allowable(name: str, temperature: float) -> float:
    try:
        return float(materials.allowable_stress(name, temperature).value)
    except OutOfRange as fault:
        raise MissingInput(
            f"cycles to a crack in {name}",
            [f"allowable stress at {temperature - 273.15:.0f} °C ({fault})"],
        ) from fault


def _shakedown(metal: str, cut: AtCut) -> float:
    """3 S averaged over hot and cold, in place of 3 Sm or 2 Sy [Pa]."""
    hot = max(cut.inside_temperature, cut.outside_temperature)
    return 1.5 * (_allowable(metal, hot) + _allowable(metal, 311.0))


def _place(task: HotRing | Transition, cut: AtCut, examined: Examined) -> Place:
    metal = _metal(task, cut)
    known = materials.alloy(metal)
    hot = max(cut.inside_temperature, cut.outside_temperature)
    modulus = float(materials.modulus(metal, hot).value)
    cold = float(materials.modulus(metal, 294.0).value)
    kind = examined if cut.weld else Examined.FORMED
    least, most = FACTORS[kind]
    ke = float(fatigue.penalty(cut.range, _shakedown(metal, cut), known.family))
    strict = float(fatigue.smooth_bar(0.5 * cut.range * ke * most, modulus, known.family))
    free = float(fatigue.smooth_bar(0.5 * cut.range * least, modulus, known.family))
    why = [
        f"Ke 1 (strain-controlled) to {ke:.2f}",
        f"weld factor {least:g} to {most:g} ({kind.value})",
    ]
    ferritic = known.family == Family.FERRITIC
    end = fatigue.CURVES_END_FERRITIC if ferritic else fatigue.CURVES_END
    if hot > end:
        strict, free = strict / 5.0, free / 2.0
        why.append(
            f"{hot - 273.15:.0f} °C lies above the curve's end ({end - 273.15:.0f} °C): life "
            "divided by 2 (short holds) to 5 (holds of weeks); screening only"
        )
    strict = max(strict, 1.0)
    likely = math.sqrt(strict * free) if math.isfinite(free) else 10.0 * strict
    inside = cut.range_inside >= cut.range_outside
    ratio = modulus / cold
    bending = abs(cut.bending)
    membrane = abs(cut.membrane)
    through = fatigue.growth(membrane, bending, _wall(task), FIRST_CRACK, ratio)
    return Place(
        cut=cut,
        metal=known.name,
        examined=kind,
        to_crack=Cycles(low=strict, likely=likely, high=free, why=tuple(why)),
        welded=float(fatigue.welded(membrane, bending, _wall(task), ratio)) if cut.weld else None,
        through=through if math.isfinite(through) else None,
        from_inside=inside,
    )


def _wall(task: HotRing | Transition) -> float:
    return task.wall


def _standing(total: float, cycles: Cycles) -> str:
    if total <= cycles.low:
        return f"{total:.0f} starts and stops lie below the whole span"
    if total < cycles.high:
        return (
            f"{total:.0f} starts and stops lie inside the span {counted(cycles.low)} to "
            f"{counted(cycles.high)}: a crack may be there already"
        )
    return f"{total:.0f} starts and stops lie beyond the whole span: a crack is to be expected"


def counted(value: float) -> str:
    """A number of cycles in words: two figures, no more."""
    if not math.isfinite(value):
        return "any number of"
    digits = max(0, 1 - math.floor(math.log10(max(value, 1.0))))
    rounded = round(value, -math.floor(math.log10(max(value, 1.0))) + 1)
    return f"{rounded:,.{digits}f}".replace(",", " ")


def spanned(span: Cycles) -> str:
    """A span of cycles in words; a span without ends is said as what it is."""
    if not math.isfinite(span.low):
        return "none expected"
    if not math.isfinite(span.high):
        return f"{counted(span.low)} or more"
    return f"{counted(span.low)} to {counted(span.high)}"


def _words(
    task: HotRing | Transition, worst: Place, total: float | None
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    where = "inside surface" if worst.from_inside else "outside surface"
    other = "outside, at the toe" if worst.from_inside else "inside, opposite the weld"
    thing = "ring" if isinstance(task, HotRing) else "transition"
    words = [
        f"Look on the {where} {worst.cut.name} first, then {other}: liquid penetrant on clean, "
        "cool metal, all round; under a ring the inside of the pipe is where it starts unseen.",
        "Grinding out and welding again does not last: the restrained growth is the same after it, "
        "the metal beside the weld has used its cycles too, aged metal may crack on cooling, and "
        "what is left of a crack tip takes most of the growth life with it.",
        "A solution anneal, where the metal and the place allow one, gives ductility back to aged "
        "or sensitised metal; it takes neither cracks nor the restraint away.",
    ]
    if worst.through is not None:
        words.append(
            f"From a crack that penetrant shows ({FIRST_CRACK * 1e3:g} mm) to six tenths of the "
            f"wall the simplified law gives about {counted(worst.through)} starts and stops, on the "
            "short side for a crack held by a cylinder and without creep or corrosion in it."
        )
    if total is not None:
        words.append(_standing(total, worst.to_crack) + ".")
    remedies = (
        (
            "Let the ring slide: lugs or a loose ring with clearance on the hot wall, so that the "
            "pipe grows free of it.",
            "Insulate over the ring, so that it follows the pipe; the strongest lever short of "
            "that. Insulated over half its circumference it also pulls the pipe out of round.",
            "A thinner, lower or slotted ring gives way more; a slower start takes the transient "
            "part away.",
        )
        if thing == "ring"
        else (
            "A formed transition without welds at the bends takes the weld factor away.",
            "Lengthen the gradient: insulation inside and outside so that temperature changes over "
            "more length.",
            "A slower start takes the transient part away.",
        )
    )
    return tuple(words), remedies


SOURCES: tuple[Source, ...] = (
    fatigue.SMOOTH, fatigue.WELDED, fatigue.PENALTY, fatigue.GROWTH, NOTCH, HOLD,
    practice("where attachment cracks are found, why repairs in fatigued metal fail"),
    assumption("shakedown by three times the mean of hot and cold allowable stress"),
)  # fmt: skip
