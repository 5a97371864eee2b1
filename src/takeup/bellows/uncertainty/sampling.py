"""Points of a study and the values they stand for."""

from __future__ import annotations

import math

import numpy as np
from scipy.special import ndtr, ndtri
from scipy.stats import qmc

from takeup.bellows.uncertainty.model import Sampling, Shape, Spread
from takeup.errors import Contradiction, OutOfRange, require_within
from takeup.units import Array

MOST = 2**22
_EDGE = 1e-12
"""Keeps points off 0 and 1, where the normal shape has no value."""


def points(count: int, inputs: int, *, seed: int, sampling: Sampling) -> Array:
    """``count`` rows of ``inputs`` columns between 0 and 1, the same for the same seed [-].

    Raises :class:`takeup.errors.OutOfRange` unless Sobol points number a power of two:
    between powers they lose their balance.
    """
    require_within("Samples", count, low=64, high=MOST, whose="the study of tolerances")
    require_within("Seed", seed, low=0, whose="the study of tolerances")
    if sampling == Sampling.SOBOL:
        power = round(math.log2(count))
        if 2**power != count:
            raise OutOfRange(
                "Samples", count, 2 ** math.floor(math.log2(count)),
                2 ** math.ceil(math.log2(count)), "", "Sobol points, which come in powers of two",
                "Take one of the two, or a Latin hypercube.",
            )  # fmt: skip
        drawn = qmc.Sobol(inputs, scramble=True, rng=np.random.default_rng(seed)).random_base2(
            power
        )
    else:
        drawn = qmc.LatinHypercube(inputs, rng=np.random.default_rng(seed)).random(count)
    found: Array = np.clip(np.asarray(drawn, dtype=float), _EDGE, 1.0 - _EDGE)
    return found


def refuse(spread: Spread) -> None:
    """Raise for a spread that says nothing or contradicts itself."""
    whose = f"the spread of {spread.words}"
    for word, amount in (("Amount below", spread.minus), ("Amount above", spread.plus)):
        if math.isnan(amount) or amount < 0.0:
            require_within(word, amount, low=0.0, whose=whose)
    if spread.shape == Shape.NORMAL:
        if spread.deviation is None:
            raise Contradiction(f"{whose} is normal but has no standard deviation; give one")
        require_within("Standard deviation", spread.deviation, low=1e-300, whose=whose)
    else:
        if spread.deviation is not None:
            raise Contradiction(
                f"{whose} has a standard deviation but is {spread.shape.value}; make it normal "
                "or leave the deviation out"
            )
        if not math.isfinite(spread.minus + spread.plus):
            raise Contradiction(f"{whose} needs an amount below and an amount above")
    if spread.minus + spread.plus <= 0.0:
        raise Contradiction(f"{whose} is nothing to either side; leave it out")


def offsets(spread: Spread, u: Array) -> Array:
    """Amount to add to the value in the case, by the inverse of the distribution [SI or share]."""
    minus, plus = spread.minus, spread.plus
    if spread.shape == Shape.UNIFORM:
        return -minus + u * (minus + plus)
    if spread.shape == Shape.TRIANGULAR:
        width = minus + plus
        below = -minus + np.sqrt(u * width * minus)
        above = plus - np.sqrt((1.0 - u) * width * plus)
        return np.where(u * width < minus, below, above)
    assert spread.deviation is not None
    low, high = ndtr(-minus / spread.deviation), ndtr(plus / spread.deviation)
    drawn = np.clip(low + u * (high - low), _EDGE, 1.0 - _EDGE)
    return np.asarray(spread.deviation * ndtri(drawn))


def values(spread: Spread, u: Array, nominal: Array | float) -> Array:
    """Sampled values around ``nominal``, in its unit."""
    shift = offsets(spread, u)
    return np.asarray(nominal * (1.0 + shift) if spread.relative else nominal + shift)
