"""Lines whose contacts come and go come to rest."""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks.line_trials import trial

from takeup.line.solve import prepare, solve


@pytest.mark.parametrize("number", range(8))
def test_random_line_comes_to_rest(number: int) -> None:
    """Random lines of gaps, friction, rods and springs settle in every state, in few steps."""
    results = solve(prepare(trial(np.random.default_rng((1, number)))))
    assert all(result.certificate.residual < 1e-6 for result in results)
    assert max(result.certificate.steps for result in results) < 200
