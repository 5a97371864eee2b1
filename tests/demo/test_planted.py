"""Every fault planted in the demo is found by the part of Takeup that must find it."""

from __future__ import annotations

import datetime as dt

import pytest

from takeup.assess.model import Verdict
from takeup.demo.planted import PLANTED, Planted

TODAY = dt.date(2026, 11, 25)


@pytest.fixture(scope="module")
def verdicts(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Verdict]:
    """Verdicts of the demo by joint."""
    from takeup.demo.create import create
    from takeup.desk import assess

    with create(tmp_path_factory.mktemp("planted") / "d", today=TODAY) as site:
        return {verdict.joint: verdict for verdict in assess.run(site, today=TODAY)}


@pytest.mark.parametrize("planted", PLANTED, ids=lambda planted: planted.joint)
def test_planted_fault_is_seen(planted: Planted, verdicts: dict[str, Verdict]) -> None:
    """The joint comes out at its level, and the mechanism says the planted words."""
    import msgspec

    verdict = verdicts[planted.joint]
    assert verdict.level == planted.level
    results = [r for r in verdict.mechanisms if r.mechanism == planted.mechanism]
    assert len(results) == (0 if planted.mechanism is None else 1)
    told = msgspec.json.encode((verdict.headline, results)).decode()
    assert planted.shows.casefold() in told.casefold()
