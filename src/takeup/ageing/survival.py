"""Chance of lasting to the next and the second outage: class range updated by the site. Pure.

The class range of replacement ages gives a prior on life, the site's own lives (exact,
interval- and right-censored, late entry) update it on a grid, and the chance is averaged
over what remains unknown.  A grid has no sampling noise: the same input gives the same answer.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence

import msgspec
import numpy as np

from takeup.ageing.model import LifeRecord, Survival
from takeup.ageing.service import LifeClass, life_class
from takeup.ageing.weibull import WeibullFit, arrays, fit, log_likelihood
from takeup.errors import require_within
from takeup.sources import Source, Standing
from takeup.units import Array

__all__ = ["WeibullFit", "fit", "lasting", "lasting_many"]

GRID = 120
BINS = 4096
"""Bins of a chance when its band is read off: 0.02 % each."""
CHUNK = 32
"""Joints worked out at once: keeps the arrays within a processor's cache."""
EARLY, MEDIAN = 0.15, 0.60
"""Shares assumed failed, or in need of renewal, at the low and the high end of the class range.

Engineering assumption: people replace before failure, so the usual replacement ages lie
early in the life distribution.  The site's own record overrules it.
"""
WIDTH = 0.35
"""Standard deviation of the natural log of the early life: the range is only usual."""
SOURCE = Source(
    document="Bayes on a Weibull life",
    at="prior from usual replacement ages of the service (common practice), updated by the "
    "site's lives; prior spread is an engineering assumption",
    standing=Standing.ASSUMPTION,
)


class Posterior(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """Weights on a grid of log-scale and log-shape, flattened."""

    log_scale: Array
    log_shape: Array
    weight: Array


def posterior(
    group: LifeClass, records: Sequence[LifeRecord], shape_span: tuple[float, float]
) -> Posterior:
    """Grid posterior of a service group.

    Parameters: the early life ``t_q`` (share EARLY failed) is log-normal around the low end
    of the class range, independent of the shape, whose log is normal with ``shape_span`` as
    its 99 % range.  The high end of the range fixes nothing by itself; it is reached by the
    middle of the prior within a few years for usual shapes.
    """
    low_shape, high_shape = shape_span
    centre = 0.5 * (math.log(low_shape) + math.log(high_shape))
    spread = (math.log(high_shape) - math.log(low_shape)) / (2 * 2.5758)
    early, middle = _early(group, math.exp(centre))
    z = np.linspace(-3.2, 3.2, GRID)
    log_early, log_shape = np.meshgrid(early + WIDTH * z, centre + spread * z, indexing="ij")
    prior = -0.5 * (z[:, None] ** 2 + z[None, :] ** 2)
    # scale from the early life: t_q = scale (-ln(1 - q)) ** (1 / shape)
    log_scale = log_early - math.log(-math.log1p(-middle)) / np.exp(log_shape)
    weight = prior
    if records:
        weight = prior + log_likelihood(log_scale, log_shape, arrays(records))
    weight = np.exp(weight - weight.max())
    return Posterior(
        log_scale=log_scale.ravel(),
        log_shape=log_shape.ravel(),
        weight=(weight / weight.sum()).ravel(),
    )


def _early(group: LifeClass, shape: float) -> tuple[float, float]:
    """Log of the early life and the share it stands for.

    The two ends of the range give two estimates of the scale at the central shape; their
    geometric mean is taken, and expressed as the life of the share EARLY.
    """
    one = math.log(group.low) - math.log(-math.log1p(-EARLY)) / shape
    other = math.log(group.high) - math.log(-math.log1p(-MEDIAN)) / shape
    scale = 0.5 * (one + other)
    return scale + math.log(-math.log1p(-EARLY)) / shape, EARLY


@functools.lru_cache(maxsize=256)
def _posterior(
    service: str, records: tuple[LifeRecord, ...], shape_span: tuple[float, float]
) -> Posterior:
    return posterior(life_class(service), records, shape_span)


def lasting_many(
    service: str,
    ages: Sequence[float],
    to_next: Sequence[float],
    to_second: Sequence[float],
    records: Sequence[LifeRecord],
    *,
    shape_span: tuple[float, float],
) -> tuple[Survival, ...]:
    """Chances of many joints of one service group to last, all alive at their ages.

    Parameters
    ----------
    ages : years in service now.
    to_next, to_second : years from now to the two outages.
    records : the group's lives at the site.
    shape_span : 99 % range of the Weibull shape.

    Returns
    -------
    tuple of Survival, in order.

    Notes
    -----
    Parameter uncertainty is common to all joints of a group: their chances move together.
    Source: :data:`SOURCE`.

    """
    age = np.asarray(ages, dtype=float)
    nearer, farther = np.asarray(to_next, dtype=float), np.asarray(to_second, dtype=float)
    require_within("age", age, low=0.0, high=200.0, unit="years", whose="the life statistics")
    require_within("time to the next outage", nearer, low=0.0, high=100.0, unit="years",
                   whose="the life statistics")  # fmt: skip
    require_within("time to the second outage", farther, low=0.0, high=100.0, unit="years",
                   whose="the life statistics")  # fmt: skip
    group = life_class(service)
    found = _posterior(service, tuple(records), shape_span)
    shape = np.exp(found.log_shape)

    triples, place = np.unique(
        np.column_stack([age, age + nearer, age + farther]), axis=0, return_inverse=True
    )
    # a joint that is alive teaches about the parameters only through its record, counted once
    weight = found.weight
    chances = np.concatenate(
        [
            _chances(triples[at : at + CHUNK], shape, shape * found.log_scale, weight)
            for at in range(0, len(triples), CHUNK)
        ]
        or [np.empty((0, 6))]
    )[place.ravel()]
    results = []
    for n in range(age.size):
        low, middle, high, low2, middle2, high2 = (float(value) for value in chances[n])
        results.append(
            Survival(
                service=service,
                age=float(age[n]),
                to_next=middle,
                to_next_low=low,
                to_next_high=high,
                to_second=middle2,
                to_second_low=low2,
                to_second_high=high2,
                shape=float(shape @ weight),
                scale=float(np.exp(found.log_scale) @ weight),
                typical_low=group.low,
                typical_high=group.high,
                records=len(records),
                failures=sum(record.failed_by is not None for record in records),
                source=SOURCE,
                notes=(
                    group.trigger,
                    f"{EARLY:.0%} assumed failed at {group.low:g} years and {MEDIAN:.0%} at "
                    f"{group.high:g} before the site's own lives are counted",
                ),
            )
        )
    return tuple(results)


def _chances(ages: Array, shape: Array, offset: Array, weight: Array) -> Array:
    """Band and mean of the chances of each row (age now, at the next, at the second outage)."""
    logs = np.log(np.maximum(ages, 1e-12))
    hazard = np.exp(np.minimum(logs[:, :, None] * shape - offset, 700.0))
    alive = np.exp(hazard[:, :1, :] - hazard[:, 1:, :])
    # weights sum to one but for rounding
    mean = np.minimum(1.0, alive @ weight)
    found = np.empty((len(ages), 6))
    for row, chance in enumerate(alive):
        for outage in (0, 1):
            low, high = _band(chance[outage], weight)
            found[row, 3 * outage : 3 * outage + 3] = low, mean[row, outage], high
    return found


def _band(chance: Array, weight: Array) -> tuple[float, float]:
    """5 % and 95 % quantiles of weighted chances, to a fraction of a bin."""
    place = np.minimum((chance * BINS).astype(np.intp), BINS - 1)
    total = np.cumsum(np.bincount(place, weights=weight, minlength=BINS))
    edges = np.arange(BINS + 1) / BINS
    low, high = np.interp([0.05 * total[-1], 0.95 * total[-1]], np.append(0.0, total), edges)
    return float(low), float(high)


def lasting(
    service: str,
    age: float,
    to_next: float,
    to_second: float,
    records: Sequence[LifeRecord] = (),
    *,
    shape_span: tuple[float, float] = (1.2, 6.0),
) -> Survival:
    """Chance of one joint to last to both outages; see :func:`lasting_many`."""
    return lasting_many(service, [age], [to_next], [to_second], records, shape_span=shape_span)[0]
