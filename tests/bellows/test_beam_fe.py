"""The beam that stands for a bellows against solid finite elements, on coarse meshes.

Meshes, more bellows and reasons: docs/why/bellows-stiffness.md.
"""

from __future__ import annotations

import msgspec
import pytest
from benchmarks import bellows_beam

MIDDLE = bellows_beam.SHAPES["DN 600, 8 convolutions"]
WIDE = bellows_beam.SHAPES["DN 2000, 4 convolutions"]


def test_solid_moves_rigidly_without_work() -> None:
    """A tilt and shift of the whole costs the elements nothing."""
    assert bellows_beam.rigid_work(msgspec.structs.replace(MIDDLE, convolutions=1)) < 1e-7


def test_beam_turns_and_twists_like_the_solid() -> None:
    """From the solid's own axial rate the beam's angular rate follows, and its twist by itself."""
    over, share = bellows_beam.compared(MIDDLE, along=24)

    assert over["angular"] == pytest.approx(0.0, abs=0.015)
    assert over["twist"] == pytest.approx(0.0, abs=0.005)
    # Ends held rigidly shorten what bends, most where the moment is largest.
    assert 0.0 < over["lateral"] < 0.10
    assert share < 0.011


def test_short_wide_bellows_is_softer_sideways_than_the_beam() -> None:
    """Where membrane shear is a sixth of the bending, the solid gives way more than the beam."""
    over, share = bellows_beam.compared(WIDE, along=24)

    assert share == pytest.approx(0.18, abs=0.02)
    assert -0.2 < over["lateral"] < -0.1
    assert over["twist"] == pytest.approx(0.0, abs=0.005)
