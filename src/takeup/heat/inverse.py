"""Which state of a wall explains a measured bellows temperature, and how surely.

Every cause is a state of the wall with its own unknown (share of the packing lost, ...).  For
each the wall is solved over samples of all that is uncertain; the likelihood of a reading is
the mean over them of a normal density around what they predict.  Probabilities follow from
stated prior weights by Bayes' rule.  They rank causes for inspection; they are not a finding.
"""

from __future__ import annotations

import csv
import functools
import math
from collections.abc import Mapping
from importlib import resources
from itertools import combinations

import msgspec
import numpy as np

from takeup.errors import Contradiction, UnknownName, require_within
from takeup.heat.inverse_model import (
    CauseResult,
    Instrument,
    InverseReport,
    Reading,
    Separation,
)
from takeup.heat.model import Fill, Range, Spreads, WallCase
from takeup.heat.wall import Solution, solve
from takeup.heat.wall_draws import draw_of, normals, spreads_of
from takeup.heat.wall_stack import (
    DANGEROUS,
    LOST,
    State,
    refuse,
    stack_of,
    state_of,
)
from takeup.units import Array

INSTRUMENT = "instrument"
DESIGNED = "designed"
LEAST_SHARE = 0.05
"""From this probability on a cause is spoken of in cautions and separations."""
TELLS_APART = 2.0
"""A measurement separates two causes when their means lie this many deviations apart."""
BLOW = 6.0
"""Wind of the windy day in the question what wind would tell [m/s]."""
PROBE = 3.0
"""Standard deviation of a contact reading on a surface outside [K]."""
METER = 0.10
"""Standard deviation of a heat flux meter, share of the reading."""
LOST_CAUSES = frozenset({"part_lost", "empty", "bypass", "lost_and_insulated"})
OVER_CAUSES = frozenset({"insulation_added", "lost_and_insulated"})


class Cause(msgspec.Struct, frozen=True, kw_only=True):
    """A way in which a wall may differ from its description."""

    id: str
    title: str
    prior: float
    fill: Fill | None
    parameter: str
    low: float
    high: float
    kind: str
    """Quantity kind of the parameter."""
    needs: str
    look: str


@functools.cache
def causes() -> dict[str, Cause]:
    """All causes by id, read once; priors are an engineering assumption."""
    text = resources.files("takeup.heat").joinpath("data", "inverse_causes.csv")
    return {
        row["id"]: Cause(
            id=row["id"],
            title=row["title"],
            prior=float(row["prior"]),
            fill=Fill(row["fill"]) if row["fill"] else None,
            parameter=row["parameter"],
            low=float(row["low"] or 0.0),
            high=float(row["high"] or 0.0),
            kind=row["kind"],
            needs=row["needs"],
            look=row["look"],
        )
        for row in csv.DictReader(text.read_text(encoding="utf-8").splitlines())
    }


class Prediction(msgspec.Struct, frozen=True, kw_only=True):
    """What one cause predicts, over samples."""

    cause: Cause
    prior: float
    """Normalised over the causes that can be."""
    bellows: Array
    """Outside of the plies [K]."""
    outer: Array
    """Outermost surface [K]."""
    flux: Array
    """At the outermost surface [W/m2]."""
    blown: Array
    """Change of the bellows when the wind rises to a windy day's [K]."""
    parameter: Array | None
    over: bool
    """Whether something lies over the bellows, so that its outside is another surface."""
    lost: int
    """Samples left out: beyond a convection relation."""


class Predictions(msgspec.Struct, frozen=True, kw_only=True):
    """All causes of one wall worked out once; any number of readings may be set against them."""

    case: WallCase
    found: tuple[Prediction, ...]
    low: float
    """Least and greatest temperature that an instrument may show [K]."""
    high: float

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of the causes, the instrument last."""
        return (*(one.cause.id for one in self.found), INSTRUMENT)


def applies(case: WallCase, cause: Cause) -> bool:
    """Whether a cause can be, for this wall."""
    there = {
        "": True,
        "packing": bool(case.packing),
        "cavity": case.cavity is not None,
        "insulation": case.insulation_thickness is not None,
        "lining": case.lining_thickness is not None,
        "cover": case.cover_gap is not None,
    }[cause.needs]
    return there and not (cause.fill is not None and cause.fill == case.fill)


def _state(case: WallCase, cause: Cause, value: Array) -> State:
    """The state of a cause; ``value`` is its unknown, one per sample."""
    base = state_of(case)
    change: dict[str, object] = {}
    if cause.fill is not None:
        change["fill"] = cause.fill
    if cause.id in {"part_lost", "bypass", "lost_and_insulated"}:
        change["share"] = value
    if cause.id == "fines_in_fibre":
        change["fibre_factor"] = value
    elif cause.id == "lost_and_insulated":
        change["added"] = ADDED_WITH
    elif cause.id == "insulation_added":
        change["added"] = value
    elif cause.id == "insulation_lost":
        change["insulated"] = False
    elif cause.id == "insulation_wet":
        change["insulation_factor"] = value
    elif cause.id == "lining_lost":
        change["lining_left"] = 1.0 - value
    elif cause.id == "cover_off":
        change["covered"] = False
    elif cause.id == "process":
        change["gas_shift"] = value
    return msgspec.structs.replace(base, **change)


ADDED_WITH = 0.05
"""Insulation of the dangerous pair [m]."""


def predict(
    case: WallCase,
    spreads: Spreads | None = None,
    *,
    priors: Mapping[str, float] | None = None,
    samples: int = 2048,
    seed: int = 1,
) -> Predictions:
    """What each cause that can be predicts for this wall.

    ``priors`` replaces prior weights by cause id (0 rules a cause out).  Raises what
    :func:`takeup.heat.wall_stack.refuse` raises, and :class:`takeup.errors.UnknownName` for a
    cause that is not known.
    """
    refuse(case)
    spreads = spreads or Spreads()
    weights = _weights(case, priors or {})
    found = []
    for id, weight in weights.items():
        if id == INSTRUMENT:
            continue
        found.append(_predicted(case, causes()[id], weight, spreads, samples, seed))
    gas = case.gas_temperature
    return Predictions(
        case=case,
        found=tuple(found),
        low=min(case.ambient, gas) - 20.0,
        high=max(case.ambient, gas) + 20.0,
    )


def _weights(case: WallCase, given: Mapping[str, float]) -> dict[str, float]:
    known = causes()
    for name, weight in given.items():
        if name not in known:
            raise UnknownName("cause", name, list(known))
        require_within(f"prior of {name}", weight, low=0.0, high=1e6, whose="prior weights")
    weights = {
        id: given.get(id, cause.prior) for id, cause in known.items() if applies(case, cause)
    }
    weights = {id: weight for id, weight in weights.items() if weight > 0.0}
    total = sum(weights.values())
    if not weights or INSTRUMENT not in weights:
        raise Contradiction("prior of instrument: it stands for all that is not on the list; give "
                            "it more than zero")  # fmt: skip
    return {id: weight / total for id, weight in weights.items()}


def _predicted(
    case: WallCase, cause: Cause, prior: float, spreads: Spreads, samples: int, seed: int
) -> Prediction:
    state = _state(case, cause, np.full(1, 0.5 * (cause.low + cause.high)))
    deviations = spreads_of(case, state, spreads)
    normal = normals(samples, len(deviations) + 1, seed)
    value = _uniform(normal[:, -1], cause)
    draw = draw_of(normal[:, :-1], deviations)
    stack = stack_of(case, _state(case, cause, value), draw)
    one = solve(stack)
    weather = msgspec.structs.replace(stack.weather, wind=BLOW)
    windy = solve(msgspec.structs.replace(stack, weather=weather))
    at = max(place for place, layer in enumerate(stack.layers)
             if layer.name.startswith("bellows")) + 1  # fmt: skip
    good = (one.sound & windy.sound).astype(bool)
    return Prediction(
        cause=cause,
        prior=prior,
        bellows=one.temperature[at, good],
        outer=one.temperature[-1, good],
        flux=_flux(one)[good],
        blown=(windy.temperature[at] - one.temperature[at])[good],
        parameter=value[good] if cause.parameter else None,
        over=at < len(stack.layers),
        lost=int(samples - good.sum()),
    )


def _uniform(z: Array, cause: Cause) -> Array:
    from scipy.special import ndtr

    edge = 0.00135
    share = (np.asarray(ndtr(z)) - edge) / (1.0 - 2.0 * edge)
    return np.asarray(cause.low + share * (cause.high - cause.low))


def _flux(one: Solution) -> Array:
    return np.asarray(one.heat / (2.0 * np.pi * one.radius[-1]))


def deviation_of(reading: Reading, case: WallCase) -> float:
    """Standard deviation of a reading [K]: as given, or by the kind of instrument."""
    if reading.deviation is not None:
        return reading.deviation
    if reading.instrument == Instrument.INFRARED:
        return max(5.0, 0.06 * abs(reading.temperature - case.ambient))
    return max(3.0, 0.0075 * abs(reading.temperature - 273.15))


def asked(reading: Reading, case: WallCase) -> str:
    """Why a reading looks like the wrong unit or place; empty when it does not."""
    value, hot = reading.temperature, max(case.gas_temperature, case.ambient)
    cold = min(case.gas_temperature, case.ambient)
    shown = value - 273.15
    if value > hot + 15.0:
        return (
            f"temperature of the bellows is {shown:.0f} °C, hotter than the gas "
            f"({hot - 273.15:.0f} °C). Was {shown:.0f} °F meant, which is "
            f"{(shown - 32) * 5 / 9:.0f} °C, or is the gas temperature wrong?"
        )
    if value < cold - 15.0:
        return (
            f"temperature of the bellows is {shown:.0f} °C, colder than the air "
            f"({cold - 273.15:.0f} °C). Which unit and which thermometer was it?"
        )
    return ""


def likelihoods(predictions: Predictions, temperature: Array, deviation: Array | float) -> Array:
    """Likelihood [1/K] of each cause (rows, as :attr:`Predictions.ids`) for readings [K]."""
    temperature = np.atleast_1d(np.asarray(temperature, dtype=float))
    sigma = np.broadcast_to(np.asarray(deviation, dtype=float), temperature.shape)
    rows = [
        _density(temperature[:, None] - one.bellows[None, :], sigma[:, None]).mean(axis=1)
        for one in predictions.found
    ]
    rows.append(np.full(temperature.shape, 1.0 / (predictions.high - predictions.low)))
    return np.array(rows)


def _density(off: Array, sigma: Array) -> Array:
    z = off / sigma
    return np.asarray(np.exp(-0.5 * z * z) / (sigma * math.sqrt(2.0 * math.pi)))


def probabilities(predictions: Predictions, temperature: Array, deviation: Array | float) -> Array:
    """Probability of each cause (rows, as :attr:`Predictions.ids`) for many readings [K]."""
    priors = np.array([one.prior for one in predictions.found])
    priors = np.append(priors, 1.0 - priors.sum())
    weighted = priors[:, None] * likelihoods(predictions, temperature, deviation)
    return np.asarray(weighted / weighted.sum(axis=0))


def explain(predictions: Predictions, reading: Reading) -> InverseReport:
    """Rank the causes of one reading: probabilities, ranges, what would tell them apart.

    Raises :class:`takeup.errors.Contradiction` for a reading that looks like the wrong unit
    and was not confirmed.
    """
    case = predictions.case
    require_within("deviation", deviation_of(reading, case), low=0.05, high=500.0, unit="K",
                   whose="the standard deviation of a reading")  # fmt: skip
    doubt = asked(reading, case)
    if doubt and not reading.certain:
        raise Contradiction(f"{doubt} Correct it, or set certain if it is right.")
    sigma = deviation_of(reading, case)
    weights = [_sample_weights(one, reading, sigma) for one in predictions.found]
    span = predictions.high - predictions.low
    vague = 1.0 / span * (1.0 if reading.outer is None else 1.0 / span)
    priors = [one.prior for one in predictions.found]
    scores = [p * float(w.mean()) for p, w in zip(priors, weights, strict=True)]
    scores.append((1.0 - sum(priors)) * vague)
    total = sum(scores)
    designed = next((p for p in predictions.found if p.cause.id == DESIGNED), None)
    middle = float(np.median(designed.bellows)) if designed else math.nan
    results = [
        _told(one, weight, score / total, middle)
        for one, weight, score in zip(predictions.found, weights, scores, strict=False)
    ]
    none = causes()[INSTRUMENT]
    results.append(
        CauseResult(id=none.id, title=none.title, prior=1.0 - sum(priors),
                    probability=scores[-1] / total, predicted=None, direction="any",
                    parameter="", kind="", estimate=None, look=none.look, samples=0)
    )  # fmt: skip
    results.sort(key=lambda one: -one.probability)
    by_id = {one.cause.id: (one, w) for one, w in zip(predictions.found, weights, strict=True)}
    return InverseReport(
        name=case.name,
        case=case,
        reading=reading,
        deviation=sigma,
        causes=tuple(results),
        separations=_separations(results, by_id),
        cautions=_cautions(case, results, doubt),
        notes=_notes(results, by_id),
    )


def _sample_weights(one: Prediction, reading: Reading, sigma: float) -> Array:
    weight = _density(reading.temperature - one.bellows, np.asarray(sigma))
    if reading.outer is not None:
        off = reading.outer_deviation or PROBE
        weight = weight * _density(reading.outer - one.outer, np.asarray(off))
    return weight


def _told(one: Prediction, weight: Array, probability: float, middle: float) -> CauseResult:
    low, value, high = np.percentile(one.bellows, (5.0, 50.0, 95.0))
    difference = float(value) - middle
    direction = (
        "as described" if one.cause.id == DESIGNED
        else "any" if one.cause.id == "process"
        else "warmer" if difference > 1.0
        else "colder" if difference < -1.0
        else "much the same"
    )  # fmt: skip
    total = float(weight.sum())
    squares = float((weight * weight).sum())
    effective = total * total / squares if squares > 0.0 else 0.0
    estimate = None
    if one.parameter is not None and effective >= 20.0:
        estimate = _quantiles(one.parameter, weight)
    return CauseResult(
        id=one.cause.id,
        title=one.cause.title,
        prior=one.prior,
        probability=probability,
        predicted=Range(value=float(value), low=float(low), high=float(high)),
        direction=direction,
        parameter=one.cause.parameter,
        kind=one.cause.kind,
        estimate=estimate,
        look=one.cause.look,
        samples=int(effective),
    )


def _quantiles(values: Array, weight: Array) -> Range:
    order = np.argsort(values)
    reached = np.cumsum(weight[order])
    reached /= reached[-1]
    low, value, high = np.interp((0.05, 0.5, 0.95), reached, values[order])
    return Range(value=float(value), low=float(low), high=float(high))


def _moments(values: Array, weight: Array) -> tuple[float, float]:
    mean = float(np.average(values, weights=weight))
    return mean, math.sqrt(float(np.average((values - mean) ** 2, weights=weight)))


def _separations(
    results: list[CauseResult], by_id: Mapping[str, tuple[Prediction, Array]]
) -> tuple[Separation, ...]:
    """For the likely causes, two by two: the outside measurement that tells most, or none."""
    likely = [
        one for one in results
        if one.probability >= LEAST_SHARE and one.id in by_id and by_id[one.id][1].sum() > 1e-200
    ][:4]  # fmt: skip
    return tuple(_separated(first, second, by_id) for first, second in combinations(likely, 2))


def _separated(
    first: CauseResult, second: CauseResult, by_id: Mapping[str, tuple[Prediction, Array]]
) -> Separation:
    (a, wa), (b, wb) = by_id[first.id], by_id[second.id]
    asked_for = [
        ("heat flux at the outermost surface", a.flux, b.flux, None, "heat_flux"),
        (f"change of the bellows temperature from a calm to a windy day ({BLOW:g} m/s)",
         a.blown, b.blown, PROBE, "temperature_difference"),
    ]  # fmt: skip
    if a.over or b.over:
        asked_for.insert(0, ("temperature of the outermost surface", a.outer, b.outer, PROBE,
                             "temperature"))  # fmt: skip
    best: Separation | None = None
    for words, va, vb, deviation, kind in asked_for:
        (ma, sa), (mb, sb) = _moments(va, wa), _moments(vb, wb)
        off = deviation if deviation is not None else METER * 0.5 * (abs(ma) + abs(mb))
        apart = abs(ma - mb) / math.sqrt(sa * sa + sb * sb + off * off)
        if best is None or apart > best.apart:
            best = Separation(first=first.id, second=second.id, measurement=words, kind=kind,
                              with_first=ma, with_second=mb, apart=apart,
                              separates=apart >= TELLS_APART, look="")  # fmt: skip
    assert best is not None
    look = "" if best.separates else _look(first, second)
    return msgspec.structs.replace(best, look=look)


def _look(first: CauseResult, second: CauseResult) -> str:
    return " \u2013 ".join(
        f"for {one.title}: {one.look[0].lower()}{one.look[1:]}"
        for one in (first, second)
        if one.id != DESIGNED
    )


def _cautions(case: WallCase, results: list[CauseResult], doubt: str) -> tuple[str, ...]:
    chance = {one.id: one.probability for one in results}
    lost = sum(chance.get(id, 0.0) for id in LOST_CAUSES)
    lost = 1.0 if case.fill in LOST else lost
    over = case.insulation_thickness is not None or case.cover_gap is not None
    found = []
    added = sum(chance.get(id, 0.0) for id in OVER_CAUSES)
    if lost >= LEAST_SHARE and (over or added >= LEAST_SHARE):
        found.append(DANGEROUS)
    elif lost >= LEAST_SHARE:
        found.append(
            f"Packing may be lost ({lost:.0%}): do not insulate or cover this joint outside. "
            "External insulation over lost packing drives the bellows toward the temperature of "
            "the liner."
        )
    if chance[INSTRUMENT] >= 0.5:
        found.append(
            "Nothing on the list explains this reading: doubt the instrument, the place or the "
            "description of the wall before the joint."
        )
    if doubt:
        found.append(f"{doubt} It was confirmed as right.")
    return tuple(found)


def _notes(
    results: list[CauseResult], by_id: Mapping[str, tuple[Prediction, Array]]
) -> tuple[str, ...]:
    notes = [
        "Probabilities rest on prior weights (an engineering assumption) and one steady reading; "
        "they say where to look first, not what is so.",
        "Outside, a bare bellows shows only how much heat arrives. Causes that give the same "
        "temperature give the same heat: the look behind the liner separates them.",
    ]
    left = {one.cause.title: one.lost for one, _ in by_id.values() if one.lost}
    notes += [f"{count} samples of '{title}' lie outside a convection relation"
              for title, count in left.items()]  # fmt: skip
    thin = [one.title for one in results
            if one.probability >= LEAST_SHARE and one.id != INSTRUMENT and one.samples < 20]  # fmt: skip
    notes += [f"'{title}' rests on fewer than 20 samples: take more" for title in thin]
    return tuple(notes)
