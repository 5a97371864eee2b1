"""A wall worked out: every surface as a range, every layer with its source, cautions, checks."""

from __future__ import annotations

import math

import numpy as np

from takeup.checks import Check, Figure, LimitKind, compare
from takeup.errors import OutOfRange
from takeup.heat import cavity, films
from takeup.heat.conductivity import Curve, both, mean
from takeup.heat.model import (
    SPREAD_SOURCE,
    Driver,
    Fill,
    LayerResult,
    Profile,
    Range,
    Spreads,
    Surface,
    WallCase,
    WallKind,
    WallReport,
)
from takeup.heat.wall import GOOD, Flags, Gap, Solid, Solution, Stack, solve
from takeup.heat.wall_draws import WORDS, draw_of, normals, spreads_of
from takeup.heat.wall_stack import DANGEROUS, LOST, film_of, refuse, stack_of, state_of
from takeup.limits import Limit
from takeup.sources import Source, Standing
from takeup.units import Array

BALANCE = Source(
    document="Fourier's law for round layers, conductivity integrated over temperature",
    at="steady, radial; the balance of every surface closed by Newton steps",
    standing=Standing.DERIVED,
)
LOW, HIGH = 5.0, 95.0
MATTERS = 0.01
"""Share of the resistance from which a layer used above its table is worth a caution."""
POINTS = 9
"""Of the drawn profile in each layer."""
SKIRT = (
    "Radial heat only: the middle of the bellows. Within about {reach:.0f} mm of a hot pipe end, "
    "attachment or skirt the metal is hotter than this."
)
UNSHIELDED = "A joint's coldest clock position lies below the mean around the pipe."


def evaluate(
    case: WallCase, spreads: Spreads | None = None, *, samples: int = 4096, seed: int = 1
) -> WallReport:
    """Temperatures, heat flow and their ranges for the wall as described.

    ``spreads`` says how far inputs may lie off; ``samples`` is a power of two.  Raises what
    :func:`takeup.heat.wall_stack.refuse` raises, and :class:`takeup.errors.OutOfRange` where a
    convection relation does not reach.
    """
    refuse(case)
    spreads = spreads or Spreads()
    state = state_of(case)
    stack = stack_of(case, state)
    one = solve(stack)
    _within(one)
    deviations = spreads_of(case, state, spreads)
    normal = normals(samples, len(deviations), seed)
    many = solve(stack_of(case, state, draw_of(normal, deviations)))
    good = many.sound
    inner, outer = _bellows(stack)
    girth = 2.0 * math.pi * float(one.radius[inner, 0])
    surfaces = tuple(
        Surface(
            name=name,
            radius=float(one.radius[at, 0]),
            temperature=_range(float(one.temperature[at, 0]), many.temperature[at], good),
        )
        for at, name in enumerate(_names(stack))
    )
    layers = _layers(stack, one)
    heat = _range(float(one.heat[0]), many.heat, good)
    flux = Range(value=heat.value / girth, low=heat.low / girth, high=heat.high / girth)
    return WallReport(
        name=case.name,
        case=case,
        gas=case.gas_temperature,
        ambient=case.ambient,
        surfaces=surfaces,
        layers=layers,
        bellows_inner=surfaces[inner].temperature,
        bellows_outer=surfaces[outer].temperature,
        outer=surfaces[-1].temperature,
        heat=heat,
        flux=flux,
        profile=_profile(stack, one, many, good),
        residual=float(one.residual[0]),
        samples=samples,
        evaluated=int(good.sum()),
        drivers=_drivers(normal, deviations, many.temperature[outer], good),
        figures=_figures(case, one),
        checks=(),
        cautions=_cautions(case, one, layers, samples - int(good.sum())),
        notes=_notes(case),
    )


def _within(one: Solution) -> None:
    words = [("Rayleigh number outside", films.RA_MOST, "the natural convection relation")]
    gaps = [reason for reason in one.beyond if reason.startswith("Rayleigh number of ")]
    words += [(reason, cavity.RA_MOST, "the cavity convection relation") for reason in gaps]
    for row, (reason, most, whose) in enumerate(words):
        if one.beyond[reason].any():
            field = "height" if reason.endswith("outside") else "cavity, pressure"
            raise OutOfRange(
                f"{reason} ({field})", float(one.rayleigh[row, 0]), None, most, "", whose,
                "The wall cannot be worked out with it.",
            )  # fmt: skip
    if float(one.residual[0]) > GOOD:
        raise OutOfRange("Heat left unbalanced", float(one.residual[0]), None, GOOD, "",
                         "the solver of the wall", "Check the inputs of the layers.")  # fmt: skip


def _bellows(stack: Stack) -> tuple[int, int]:
    """Surfaces inside and outside the plies."""
    places = [at for at, layer in enumerate(stack.layers) if layer.name.startswith("bellows")]
    return places[0], places[-1] + 1


def _names(stack: Stack) -> list[str]:
    return [f"inside of {stack.layers[0].name}"] + [
        f"outside of {layer.name}" for layer in stack.layers
    ]


def _range(value: float, many: Array, good: Flags) -> Range:
    if not good.any():
        return Range(value=value, low=math.nan, high=math.nan)
    low, high = np.percentile(many[good], (LOW, HIGH))
    return Range(value=value, low=float(low), high=float(high))


def _layers(stack: Stack, one: Solution) -> tuple[LayerResult, ...]:
    whole = float(stack.gas_temperature) - float(stack.weather.ambient)
    found = []
    for at, layer in enumerate(stack.layers):
        hot, cold = float(one.temperature[at, 0]), float(one.temperature[at + 1, 0])
        inside, outside = float(one.radius[at, 0]), float(one.radius[at + 1, 0])
        shape = math.log(outside / inside) / (2.0 * math.pi)
        note = ""
        if isinstance(layer, Solid):
            conductivity = float(mean(layer.curve, hot, cold)) * float(layer.factor)
            material, group, source = layer.curve.words, layer.curve.group, layer.curve.source
            over = max(hot, cold) - layer.curve.top
            if over > 0.0:
                note = f"{over:.0f} K above the end of its table, the last value held"
        else:
            conductivity = (
                float(one.heat[0]) * shape / (hot - cold) if abs(hot - cold) > 1e-9 else math.nan
            )
            material, group, source = "gas", "gap", cavity.CONVECTION
            note = f"{_radiant(layer, one, at):.0%} of its heat by radiation"
        found.append(
            LayerResult(
                name=layer.name, material=material, group=group, inside=inside, outside=outside,
                conductivity=conductivity, drop=hot - cold,
                share=(hot - cold) / whole if whole else 0.0, source=source, note=note,
            )
        )  # fmt: skip
    return tuple(found)


def _radiant(layer: Gap, one: Solution, at: int) -> float:
    hot, cold = one.temperature[at, 0], one.temperature[at + 1, 0]
    power = cavity.exchange(one.radius[at, 0], one.radius[at + 1, 0],
                            layer.emissivity_in, layer.emissivity_out)  # fmt: skip
    heat = float(one.heat[0])
    return float(power * (hot**4 - cold**4)) / heat if heat else 0.0


def _inverse(curve: Curve, totals: Array, low: float, high: float) -> Array:
    """Temperatures at which the integral of k has these values."""
    grid = np.linspace(low, high, 2001)
    return np.asarray(np.interp(totals, both(curve, grid)[1], grid))


def _profile(stack: Stack, one: Solution, many: Solution, good: Flags) -> Profile:
    radius: list[float] = []
    value: list[float] = []
    ends: list[Array] = []
    chosen = np.flatnonzero(good)[:1024]
    for at, layer in enumerate(stack.layers):
        inside, outside = float(one.radius[at, 0]), float(one.radius[at + 1, 0])
        r = np.linspace(inside, outside, POINTS)
        way = np.log(r / inside) / math.log(outside / inside)
        value += _within_layer(layer, way, one.temperature[at], one.temperature[at + 1])[0].tolist()
        if chosen.size:
            all_ = _within_layer(layer, way, many.temperature[at, chosen],
                                 many.temperature[at + 1, chosen])  # fmt: skip
            ends.append(np.percentile(all_, (LOW, HIGH), axis=0))
        else:
            ends.append(np.full((2, POINTS), math.nan))
        radius += r.tolist()
    low, high = np.concatenate(ends, axis=1)
    return Profile(radius=tuple(radius), value=tuple(value), low=tuple(low.tolist()),
                   high=tuple(high.tolist()))  # fmt: skip


def _within_layer(layer: Solid | Gap, way: Array, hot: Array, cold: Array) -> Array:
    """Temperatures along the logarithm of the radius, (samples, points)."""
    if isinstance(layer, Gap):
        return np.asarray(hot[:, None] + (cold - hot)[:, None] * way)
    total_hot, total_cold = both(layer.curve, hot)[1], both(layer.curve, cold)[1]
    totals = total_hot[:, None] + (total_cold - total_hot)[:, None] * way
    low = float(min(hot.min(), cold.min())) - 1e-6
    high = float(max(hot.max(), cold.max())) + 1e-6
    return _inverse(layer.curve, totals, low, high)


def _drivers(
    normal: Array, deviations: dict[str, float], result: Array, good: Flags
) -> tuple[Driver, ...]:
    keep = good
    if keep.sum() < 64 or float(np.ptp(result[keep])) < 1e-9:
        return ()
    ranks = np.argsort(np.argsort(np.column_stack((normal[keep], result[keep])), axis=0), axis=0)
    found = np.corrcoef(ranks.astype(float), rowvar=False)[-1, :-1]
    drivers = [
        Driver(words=WORDS[name], correlation=float(r))
        for name, r in zip(deviations, found, strict=True)
        if abs(r) >= 0.1
    ]
    return tuple(sorted(drivers, key=lambda one: -abs(one.correlation)))


def _figures(case: WallCase, one: Solution) -> tuple[Figure, ...]:
    film, source, note = film_of(case)
    outside = films.PLATE if case.orientation == films.Orientation.VERTICAL else films.NATURAL
    return (
        Figure(id="wall.gas_film", name="Gas film", value=film, kind="film", source=source,
               note=note),
        Figure(id="wall.convection", name="Convection outside", symbol="hc",
               value=float(one.convection[0]), kind="film",
               source=outside if not case.wind else films.FORCED,
               note="blended with wind by fourth powers" if case.wind else ""),
        Figure(id="wall.radiation", name="Radiation outside, as a film", symbol="hr",
               value=float(one.radiation[0]), kind="film", source=films.RADIATION),
        Figure(id="wall.heat", name="Heat to the weather per length", symbol="q'",
               value=float(one.heat[0]), kind="heat_per_length", source=BALANCE),
        Figure(id="wall.residual", name="Energy balance left open",
               value=float(one.residual[0]), kind="ratio", source=BALANCE),
    )  # fmt: skip


def _reach(case: WallCase, one: Solution) -> float:
    """Length [m] along the bellows within which an end's heat dies out to 5 %."""
    lost = float(one.convection[0] + one.radiation[0])
    return 3.0 * math.sqrt(20.0 * case.ply_thickness * case.plies / max(lost, 0.1))


def warned(case: WallCase) -> tuple[str, ...]:
    """The dangerous pair, where the case is one: lost packing under insulation or a cover."""
    over = case.insulation_thickness is not None or case.cover_gap is not None
    empty = case.fill in LOST or (not case.packing and case.cavity is not None)
    if over and empty and case.fill not in {Fill.FINES, Fill.COKE_CRUMBS, Fill.HARD_COKE}:
        return (DANGEROUS,)
    return ()


def _cautions(
    case: WallCase, one: Solution, layers: tuple[LayerResult, ...], left_out: int
) -> tuple[str, ...]:
    found = list(warned(case))
    found += [
        f"{layer.name} ({layer.material}): {layer.note}; screening only"
        for layer in layers
        if "table" in layer.note and abs(layer.share) > MATTERS
    ]
    if left_out:
        found.append(f"{left_out} samples lie outside a convection relation and are left out")
    if case.wall == WallKind.HOT:
        found.append(SKIRT.format(reach=1e3 * _reach(case, one)))
    if case.cover_gap is not None:
        found.append("The cover is taken as closed; one that lets air through runs colder inside.")
    if case.fill == Fill.BYPASS:
        found.append("Hot gas behind the liner: taken at gas temperature as far as it reaches.")
    return tuple(found)


def _notes(case: WallCase) -> tuple[str, ...]:
    _, _, words = film_of(case)
    notes = [words] if words else []
    notes.append(
        "Ranges hold 90 % of the samples; they stand for inputs and relations "
        f"({SPREAD_SOURCE.at}), not for a wall that differs from its description."
    )
    notes.append(UNSHIELDED)
    if case.area_ratio == 1.0 and case.insulation_thickness is None:
        notes.append("Surface of the convolutions taken as a plain cylinder: the hot side.")
    return tuple(notes)


def against(
    report: WallReport, *, low: Limit | None, high: Limit | None, seen: Range | None = None
) -> tuple[Check, ...]:
    """Coldest and hottest end of the bellows' range against the action lines.

    The low line is compared with the 5 % end inside, the high line with the 95 % end outside;
    a line that is not known is not evaluated, never met.  What was ``seen`` on the bellows
    stands in for the calculation.
    """
    words = "as calculated" if seen is None else "as measured"
    found = []
    for id, name, demand, line, least in (
        ("wall.low", "Bellows inside stays above the low action line",
         (seen or report.bellows_inner).low, low, True),
        ("wall.high", "Bellows outside stays below the high action line",
         (seen or report.bellows_outer).high, high, False),
    ):  # fmt: skip
        found.append(
            compare(
                id=id,
                name=name,
                demand=demand,
                capacity=line.value if line else None,
                kind="temperature",
                at_least=least,
                source=line.source if line else BALANCE,
                limit_kind=line.limit_kind if line else LimitKind.RULE_OF_THUMB,
                missing=() if line else ("action line",),
                because=f"the worse end of the 90 % range, {words}" if line else "",
                cautions=warned(report.case),
            )
        )
    return tuple(found)
