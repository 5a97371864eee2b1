"""How readings are weighed: shared errors, sums of faults, and what is said to be solved."""

from __future__ import annotations

from functools import cache

import msgspec
import numpy as np
import pytest
from scipy.stats import multivariate_normal

from takeup.errors import Contradiction
from takeup.line.diagnosis import Options, Reading, candidates, model
from takeup.line.diagnosis.follow import follow
from takeup.line.diagnosis.judge import part, report
from takeup.line.diagnosis.nuisance import FRICTION, OTHER, other, recorded
from takeup.line.diagnosis.predict import FRICTIONS, RISES, exact
from takeup.line.diagnosis.weigh import Weighed, look
from takeup.units import Array
from tests.line.test_diagnosis import INDICATORS, MARKS, fault, made

POINTS = tuple((rise, friction) for rise in RISES for friction in FRICTIONS)


@cache
def weighed() -> Weighed:
    """Marks and indicators of a line with two faults that act on each other."""
    taken = (*MARKS, *INDICATORS)
    keys = {one.key for one in taken}
    every = (*taken, *(one for one in candidates(made()) if one.key not in keys))
    base = model(made(), every)
    values = exact(base, [fault("S1", "seized"), fault("R1", "seized")])
    given = tuple(
        msgspec.structs.replace(one, value=float(value)) if one.key in keys else one
        for one, value in zip(every, values, strict=True)
    )
    return Weighed(msgspec.structs.replace(base, readings=given), Options())


def test_nodes_have_the_spread_that_is_stated() -> None:
    """Mean and variance of rise and friction over the nodes are those of the priors."""
    nodes = recorded(POINTS, 0.035)
    share = np.exp(nodes.log)
    assert share.sum() == pytest.approx(1.0)
    assert share @ nodes.rise == pytest.approx(1.0)
    assert share @ ((nodes.rise - 1.0) ** 2 + nodes.spread[:, 0] ** 2) == pytest.approx(0.035**2)
    far = other(POINTS, 0.035)
    share = np.exp(far.log)
    low, high = OTHER
    second = (high**3 - low**3) / (3.0 * (high - low)) + 0.035**2
    found = share @ ((far.rise - 1.0) ** 2 + far.spread[:, 0] ** 2)
    assert found == pytest.approx(second, rel=0.05)
    assert sum(part for _, part, _ in FRICTION) == pytest.approx(1.0)


def test_values_at_nodes_are_those_of_the_points_where_the_line_is_linear() -> None:
    """A reading linear in rise and friction has its value and both slopes at every node."""
    shown = np.array([[[3.0 * rise + 2.0 * rubs] for rise, rubs in POINTS]])
    for nodes in (recorded(POINTS, 0.035), other(POINTS, 0.035)):
        value, slope = nodes.read(shown[:, nodes.points])
        centre = np.array([one for one, _, _ in FRICTION])
        rubs = np.repeat(centre, len(nodes.rise) // len(centre))
        assert value[0, :, 0] == pytest.approx(3.0 * nodes.rise + 2.0 * rubs)
        assert slope[0, :, 0, 0] == pytest.approx(3.0)
        assert slope[0, :, 1, 0] == pytest.approx(2.0)


def test_density_is_that_of_a_normal_with_shared_errors() -> None:
    """Own errors and two shared ones: the same as the full covariance says."""
    rng = np.random.default_rng(3)
    nodes = recorded(POINTS, 0.035)
    shown = rng.normal(size=(1, len(nodes.points), 5))
    y, own = rng.normal(size=5), rng.uniform(0.5, 1.0, 5)
    seen = look(nodes, shown, y, own)
    value, slope = nodes.read(shown)
    for at in range(len(nodes.rise)):
        lean = slope[0, at] * nodes.spread[at][:, None]
        cover: Array = np.diag(own**2) + lean.T @ lean
        wanted = multivariate_normal(value[0, at], cover).logpdf(y)
        assert seen.log[0, at] == pytest.approx(wanted, rel=1e-9)
        left = y - value[0, at]
        assert seen.square[0, at] == pytest.approx(left @ np.linalg.solve(cover, left), rel=1e-9)


def test_temperatures_beside_the_recorded_one_are_needed() -> None:
    """With one temperature alone nobody knows what an error of expansion does."""
    with pytest.raises(Contradiction, match="material tables"):
        recorded([(1.0, friction) for friction in FRICTIONS], 0.035)


def test_what_is_said_to_be_solved_is_solved() -> None:
    """Every pair that counts as solved shows what the line shows with both its faults."""
    case = weighed()
    pairs = [at for at, key in enumerate(case.keys) if len(key) == 2 and not case.warm[at]]
    truth = follow(case.made, [case.of(at) for at in pairs], [0])
    own = case.own[case.taken]
    worst = 0.0
    for at, effect in zip(pairs, truth.values[:, 0], strict=True):
        off = (case.effect(at)[0] - effect)[case.taken] / own
        if case.exact[at]:
            worst = max(worst, float(np.linalg.norm(off)))
        elif at in case.beside:  # brought to rest together once, though not at every friction
            assert np.linalg.norm(off) < 1e-3
    assert 0.0 < worst < 0.5
    assert sum(case.exact[at] for at in pairs) > 40


def test_a_fault_at_another_temperature_is_solved_there_or_not_said_to_be() -> None:
    """What was solved about the recorded temperature says nothing of another."""
    case = weighed()
    pairs = [at for at, key in enumerate(case.keys) if len(key) == 2 and case.warm[at]]
    assert pairs
    for at in pairs:
        assert bool(case.exact[at]) == (at in case.solutions)
        assert at not in case.beside


def test_a_pair_that_is_far_from_its_sum_is_solved_and_leads() -> None:
    """Two faults that act on each other are found, though their sum does not fit."""
    case = weighed()
    key = tuple(sorted(case.faults.index(one) for one in
                       (fault("S1", "seized"), fault("R1", "seized"))))  # fmt: skip
    at = case.keys.index(key)
    assert case.exact[at]
    assert part(case).label[at] == 0


def test_result_says_what_rests_on_what() -> None:
    """Shares, counts, spreads and chances of explanations are there and hang together."""
    case = weighed()
    found = report(case)
    assert found.solved == pytest.approx(1.0 - case.added)
    assert found.solved > 0.9
    assert 1 < found.solved_count <= found.tried
    named = sum(len(group.explanations) for group in found.groups)
    grouped = sum(group.unnamed for group in found.groups) + named
    assert grouped == int((part(case).label >= 0).sum())
    for group in found.groups:
        total = sum(one.posterior for one in group.explanations) + group.unnamed_posterior
        assert total == pytest.approx(group.posterior)
        for one in group.explanations:
            assert len(one.spread) == len(one.predicted) == len(found.readings)
            assert all(s >= e * (1 - 1e-9) for s, e in zip(one.spread, found.errors, strict=True))
    first = found.groups[0].explanations[0]
    assert first.chance == pytest.approx(found.chance, abs=0.2)
    assert first.chance > 0.1


def test_a_reading_on_its_own_cannot_name_a_culprit() -> None:
    """One axial mark that fits a sound line leaves most faults in the group of the sound one."""
    base = model(made(), (msgspec.structs.replace(MARKS[0], value=0.0), *candidates(made())[1:]))
    value = float(base.values[0, 0])
    reading: Reading = msgspec.structs.replace(base.readings[0], value=value)
    case = Weighed(
        msgspec.structs.replace(base, readings=(reading, *base.readings[1:])),
        Options(pairs=False),
    )
    found = report(case)
    assert () in [one.faults for one in found.groups[0].explanations]
    assert len(found.groups[0].explanations) + found.groups[0].unnamed > 10
