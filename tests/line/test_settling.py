"""Lines whose contacts come and go come to rest."""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks.line_trials import jointed, trial

from takeup.line.solve import prepare, solve


@pytest.mark.parametrize("number", range(8))
def test_random_line_comes_to_rest(number: int) -> None:
    """Random lines of gaps, friction, rods and springs settle in every state, in few steps."""
    results = solve(prepare(trial(np.random.default_rng((1, number)))))
    assert all(result.certificate.residual < 1e-6 for result in results)
    assert max(result.certificate.steps for result in results) < 200


@pytest.mark.parametrize("number", range(8))
def test_random_line_with_joints_comes_to_rest(number: int) -> None:
    """So do those with free, tied, limited and pinned joints under pressure."""
    rng = np.random.default_rng((1, 7, number))
    results = solve(prepare(jointed(trial(rng), rng)))
    assert all(result.certificate.residual < 1e-8 for result in results)
