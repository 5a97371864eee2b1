"""Which state of a wall explains a measured bellows temperature, and how surely.

Every cause is a state of the wall with its own unknown (share of the packing lost, ...).  For
each the wall is solved over samples of all that is uncertain; the likelihood of a reading is
the mean over them of a normal density around what they predict.  Probabilities follow from
stated prior weights by Bayes' rule.  They rank causes for inspection; they are not a finding.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import msgspec
import numpy as np

from takeup.errors import Contradiction, UnknownName, require_within
from takeup.heat.inverse_causes import (
    DESIGNED,
    INSTRUMENT,
    LOST_CAUSES,
    OVER_CAUSES,
    Cause,
    Prediction,
    Predictions,
    applies,
    causes,
    state_with,
)
from takeup.heat.inverse_model import CauseResult, Instrument, InverseReport, Reading
from takeup.heat.inverse_separations import BLOW, LEAST_SHARE, PROBE, separations
from takeup.heat.model import Range, Spreads, WallCase
from takeup.heat.wall import Solution, solve
from takeup.heat.wall_draws import draw_of, normals, spreads_of
from takeup.heat.wall_stack import DANGEROUS, LOST, refuse, stack_of
from takeup.units import Array


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
    state = state_with(case, cause, np.full(1, 0.5 * (cause.low + cause.high)))
    deviations = spreads_of(case, state, spreads)
    normal = normals(samples, len(deviations) + 1, seed)
    value = _uniform(normal[:, -1], cause)
    draw = draw_of(normal[:, :-1], deviations)
    stack = stack_of(case, state_with(case, cause, value), draw)
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
        separations=separations(results, by_id),
        cautions=_cautions(case, results, doubt, reading.instrument),
        notes=_notes(results, by_id),
    )


def seen(report: InverseReport) -> Range:
    """The reading with its 90 % range [K], for checks."""
    value, reach = report.reading.temperature, 1.645 * report.deviation
    return Range(value=value, low=value - reach, high=value + reach)


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


SHINY = (
    "Infrared: a bright new bellows reads 50 to 150 K low at the usual setting; check one spot with "
    "a contact probe or a spot of known emissivity."
)


def _cautions(
    case: WallCase, results: list[CauseResult], doubt: str, instrument: Instrument
) -> tuple[str, ...]:
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
    if instrument == Instrument.INFRARED:
        found.append(SHINY)
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
