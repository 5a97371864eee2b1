"""How sure a share of failures is, and which inputs stand behind a spread."""

from __future__ import annotations

import math

import numpy as np
from scipy.stats import beta, rankdata

from takeup.bellows.uncertainty.model import Share
from takeup.units import Array

LEVEL = 0.95


def share(failed: int, samples: int, open_: int = 0) -> Share:
    """Share of failures with its 95 % interval (Jeffreys).

    With no failure, or nothing but failures, the interval is one-sided and exact:
    1 - 0.05^(1/n), the "rule of three".  Both are meant for independent samples.
    ``open_`` samples were not evaluated: the upper end counts them as failures.
    """
    return Share(
        failed=failed,
        samples=samples,
        open=open_,
        low=_ends(failed, samples)[0],
        high=_ends(failed + open_, samples)[1],
    )


def _ends(failed: int, samples: int) -> tuple[float, float]:
    seen = -math.expm1(math.log1p(-LEVEL) / samples)
    if failed == 0:
        return 0.0, seen
    if failed == samples:
        return 1.0 - seen, 1.0
    ends = beta.ppf(
        ((1.0 - LEVEL) / 2.0, (1.0 + LEVEL) / 2.0), failed + 0.5, samples - failed + 0.5
    )
    return float(ends[0]), float(ends[1])


def bins(count: int) -> int:
    """Bins along one input: enough to follow a curve, few enough to be filled."""
    return int(np.clip(round(2.0 * count ** (1.0 / 3.0)), 4, 64))


def _between(inputs: Array, results: Array) -> Array:
    """Variance of the means of bins along each input over the whole variance, (d, c) [-]."""
    count = len(inputs)
    spread = results - results.mean(axis=0)
    total = np.einsum("nc,nc->c", spread, spread)
    edges = np.linspace(0, count, bins(count) + 1).astype(int)
    sizes = np.diff(edges)[:, None]
    found = np.zeros((inputs.shape[1], results.shape[1]))
    for column in range(inputs.shape[1]):  # one sort per input
        ordered = spread[np.argsort(inputs[:, column], kind="stable")]
        sums = np.add.reduceat(ordered, edges[:-1], axis=0)
        found[column] = (sums * sums / sizes).sum(axis=0)
    steady = total <= 1e-24 * np.maximum(1.0, np.abs(results).max(axis=0)) ** 2 * count
    shares: Array = np.divide(found, total, out=np.zeros_like(found), where=~steady)
    return shares


def first_order(inputs: Array, idle: Array, results: Array) -> tuple[Array, Array]:
    """Share of the variance of each result that each input explains alone, and the noise [-].

    ``inputs`` (n, d) and ``results`` (n, c) give shares (d, c): the variance of the means of
    bins of equal count along the input, over the whole variance (the correlation ratio, an
    estimate of the first-order index from given samples).  Chance puts some variance there
    too; how much is read from ``idle`` (n, k), columns of the same point set that nothing
    depends on, and taken off.  The noise (c,) is twice their scatter: a share below it is not
    told from nothing.  Inputs must be drawn independently of each other: only then do the
    shares of all orders add to one.  A result that does not vary gives zero.
    """
    raw, chance = _between(inputs, results), _between(idle, results)
    base = chance.mean(axis=0)
    noise = 2.0 * chance.std(axis=0, ddof=1) + 1.0 / len(inputs)
    shares: Array = (raw - base) / (1.0 - base)
    return shares, noise


def ranks(columns: Array) -> Array:
    """Ranks of each column scaled to -1 to 1, ties sharing their mean [-]."""
    count = len(columns)
    return np.asarray(2.0 * (rankdata(columns, axis=0) - 0.5) / count - 1.0)


def correlations(inputs: Array, results: Array) -> Array:
    """Correlation (d, c) of columns that are ranks already [-]; zero where one does not vary."""
    x, y = inputs - inputs.mean(axis=0), results - results.mean(axis=0)
    scale = np.sqrt(np.einsum("nd,nd->d", x, x)[:, None] * np.einsum("nc,nc->c", y, y)[None, :])
    found: Array = np.divide(x.T @ y, scale, out=np.zeros_like(scale), where=scale > 0.0)
    return found
