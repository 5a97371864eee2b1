"""The demo site is made by code: the same each time, and sound as a register."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import numpy as np
import pytest

from takeup.demo import evidence, facts, joints, motion, series
from takeup.demo.create import create
from takeup.demo.planted import LATE, PLANTED
from takeup.register.contradictions import contradictions
from takeup.register.entities import Joint
from takeup.register.snapshot import Register, dangling

TODAY = dt.date(2026, 11, 25)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A demo site made for a given day."""
    folder = tmp_path_factory.mktemp("demo") / "one"
    create(folder, today=TODAY, seed=1).close()
    return folder


def contents(folder: Path) -> tuple[list[object], dict[str, bytes]]:
    """Facts and kept files of a site."""
    from takeup.desk.site import open_site

    with open_site(folder) as site:
        kept = [p for name in ("series", "photos") for p in sorted((folder / name).iterdir())]
        return list(site.store.facts()), {path.name: path.read_bytes() for path in kept}


def test_the_demo_is_the_same_for_the_same_day_and_seed(made: Path, tmp_path: Path) -> None:
    """Two sites of one day and seed hold the same facts and the same files."""
    create(tmp_path / "two", today=TODAY, seed=1).close()
    first, second = contents(made), contents(tmp_path / "two")
    assert first[0] == second[0]
    assert first[1] == second[1]


def test_another_seed_gives_other_histories(made: Path, tmp_path: Path) -> None:
    """The seed moves the temperature histories and nothing that was entered by hand."""
    shape = series.SHAPES[0]
    times = facts.Times(today=TODAY)
    one, two = (series.history(shape, TODAY, times.past[1], 30.0, seed) for seed in (1, 2))
    assert not np.array_equal(one.kelvin, two.kelvin)
    assert np.array_equal(one.kelvin, series.history(shape, TODAY, times.past[1], 30.0, 1).kelvin)


def test_every_reference_of_the_demo_leads_somewhere(made: Path) -> None:
    """No fact of the demo names a joint, line, visit or outage that is not there."""
    from takeup.desk.site import open_site

    with open_site(made) as site:
        assert dangling(site.register()) == ()
        assert site.store.verify() == []


@pytest.fixture(scope="module")
def moved(made: Path) -> tuple[motion.LineMoved, ...]:
    """How the lines of the demo move."""
    from takeup.desk.site import open_site

    with open_site(made) as site:
        return motion.moved(site)


@pytest.mark.parametrize("days", [0, 40, 97, 200, 365, 800])
def test_the_demo_contradicts_itself_on_no_day(
    days: int, moved: tuple[motion.LineMoved, ...]
) -> None:
    """Made for any day, the facts of the demo can all be true together."""
    today = TODAY + dt.timedelta(days=days)
    times = facts.Times(today=today)
    register = Register(
        [
            *facts.site(times),
            *joints.register(times),
            *joints.expected(moved),
            *evidence.evidence(times, moved),
        ]
    )
    assert contradictions(register, today=today) == ()
    assert dangling(register) == ()


def test_planted_faults_name_joints_of_the_demo(made: Path) -> None:
    """Every planted fault, and every late one, is on a joint that the demo holds, once."""
    from takeup.desk.site import open_site

    with open_site(made) as site:
        tags = {joint.tag for joint in site.register().all(Joint)}
    assert len(tags) == 24
    assert {planted.joint for planted in PLANTED} | set(LATE) <= tags
    assert len({planted.joint for planted in PLANTED}) == len(PLANTED)


def test_every_kept_file_of_the_demo_is_named_by_a_fact(made: Path) -> None:
    """Histories and photos on disk are those the register names, no more and no fewer."""
    from takeup.desk.site import open_site
    from takeup.evidence.facts import Photo, TemperatureSeries

    with open_site(made) as site:
        register = site.register()
        named = {s.file for s in register.all(TemperatureSeries)}
        named |= {p.file for p in register.all(Photo)}
    found = {p.name for n in ("series", "photos") for p in (made / n).iterdir()}
    assert found == named
