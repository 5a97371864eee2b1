"""Weibull life by maximum likelihood: exact, right-, left-, interval-censored, late entry. Pure."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec
import numpy as np

from takeup.ageing.model import LifeRecord
from takeup.errors import TakeupError
from takeup.sources import Source, Standing
from takeup.units import Array

SOURCE = Source(
    document="Meeker and Escobar, Statistical Methods for Reliability Data",
    at="maximum likelihood with censoring and truncation",
    standing=Standing.CONFIRMED,
)


class WeibullFit(msgspec.Struct, frozen=True, kw_only=True):
    """Scale in the unit of the data, shape, and the log-likelihood there."""

    scale: float
    shape: float
    log_likelihood: float
    records: int
    failures: int

    def reliability(self, age: float) -> float:
        """Share alive at ``age``."""
        return float(math.exp(-((age / self.scale) ** self.shape)))

    def lasting(self, age: float, more: float) -> float:
        """Chance of lasting ``more`` beyond ``age``, given alive at ``age``."""
        return self.reliability(age + more) / self.reliability(age)

    def quantile(self, share: float) -> float:
        """Age by which a share has failed."""
        return float(self.scale * (-math.log1p(-share)) ** (1.0 / self.shape))


def arrays(records: Sequence[LifeRecord], counts: Sequence[int] = ()) -> tuple[Array, ...]:
    """(good_at, failed_by, entered, count) with infinity for not failed."""
    good = np.array([record.good_at for record in records], dtype=float)
    failed = np.array(
        [math.inf if record.failed_by is None else record.failed_by for record in records]
    )
    entered = np.array([record.entered for record in records], dtype=float)
    count = np.array(counts if counts else [1] * len(records), dtype=float)
    return good, failed, entered, count


def log_likelihood(log_scale: Array, log_shape: Array, data: tuple[Array, ...]) -> Array:
    """Log-likelihood over broadcast parameters (``log_scale``, ``log_shape`` any shape).

    A record with ``failed_by == good_at`` is an exact failure; with ``failed_by`` beyond it
    interval-censored (``good_at`` 0: left-censored); infinite: right-censored.  Late entry
    subtracts the chance of being alive at entry.
    """
    good, failed, entered, count = data
    mu = np.asarray(log_scale, dtype=float)[..., None]
    shape = np.exp(np.asarray(log_shape, dtype=float))[..., None]

    def hazard(age: Array) -> Array:
        """(age / scale) ** shape, 0 at age 0."""
        safe = np.where(age > 0, age, 1.0)
        powered = np.exp(np.clip(shape * (np.log(safe) - mu), -700.0, 700.0))
        return np.where(age > 0, powered, 0.0)

    exact = np.isfinite(failed) & (failed == good)
    interval = np.isfinite(failed) & (failed > good)
    at_good = hazard(good)
    total = np.where(exact | ~np.isfinite(failed), -at_good, 0.0)
    if exact.any():
        safe = np.where(good > 0, good, 1.0)
        density = np.log(shape) - mu + (shape - 1.0) * (np.log(safe) - mu)
        total = total + np.where(exact, density, 0.0)
    if interval.any():
        end = hazard(np.where(np.isfinite(failed), failed, 1.0))
        width = np.maximum(end - at_good, 1e-300)
        total = total + np.where(interval, -at_good + np.log(-np.expm1(-width)), 0.0)
    total = total + hazard(entered)
    return np.asarray((total * count).sum(axis=-1))


def fit(records: Sequence[LifeRecord], counts: Sequence[int] = ()) -> WeibullFit:
    """Fit by maximum likelihood; ``counts`` repeats records.

    Raises :class:`takeup.errors.TakeupError` without a failure: a shape must then be assumed.
    """
    from scipy.optimize import minimize

    failures = sum(
        count
        for record, count in zip(records, counts or [1] * len(records), strict=True)
        if record.failed_by is not None
    )
    if failures == 0:
        raise TakeupError(
            "no failure among the records: shape and scale cannot both be found; "
            "assume a shape, or use the class range"
        )
    data = arrays(records, counts)
    ages = np.where(np.isfinite(data[1]), data[1], data[0])
    start = math.log(max(float(np.average(ages, weights=data[3])), 1e-9)) + 0.5

    def target(x: Array) -> float:
        value = float(log_likelihood(np.array(x[0]), np.array(x[1]), data))
        return -value if math.isfinite(value) else 1e12

    best = minimize(
        target,
        np.array([start, 0.3]),
        method="Nelder-Mead",
        options={"xatol": 1e-9, "fatol": 1e-10, "maxiter": 4000},
    )
    return WeibullFit(
        scale=math.exp(float(best.x[0])),
        shape=math.exp(float(best.x[1])),
        log_likelihood=-float(best.fun),
        records=int(sum(data[3])),
        failures=failures,
    )


def weibayes(records: Sequence[LifeRecord], shape: float, counts: Sequence[int] = ()) -> float:
    """Scale for an assumed shape; without failures the value at which one is imminent (63.2 %)."""
    good, failed, _, count = arrays(records, counts)
    ages = np.where(np.isfinite(failed), failed, good)
    total = float((count * ages**shape).sum())
    failures = float(count[np.isfinite(failed)].sum())
    return float((total / max(failures, 1.0)) ** (1.0 / shape))


def weibayes_bound(
    records: Sequence[LifeRecord], shape: float, confidence: float, counts: Sequence[int] = ()
) -> float:
    """Lower confidence bound of the scale for an assumed shape (IEC 61649, from memory)."""
    from scipy.stats import chi2

    good, failed, _, count = arrays(records, counts)
    ages = np.where(np.isfinite(failed), failed, good)
    total = float((count * ages**shape).sum())
    failures = float(count[np.isfinite(failed)].sum())
    return float((2.0 * total / chi2.ppf(confidence, 2.0 * failures + 2.0)) ** (1.0 / shape))
