"""The watch on a site: alerts opened once, answered by people, not reopened for the same cause."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from takeup.desk import record, watching
from takeup.desk.site import Site, create
from takeup.errors import Refused, UnknownName
from takeup.evidence.facts import Alert, AlertKind, AlertState, Measured, TemperatureSeries
from takeup.register import series
from takeup.units import Array
from tests.register.samples import small


def test_planted_faults_of_the_demo_ask_for_a_person(demo_site: Site) -> None:
    """Packed, too hot and falling histories are found; the healthy ones say nothing."""
    found = watching.look(demo_site)

    asked = {(p.joint, p.kind) for one in found.histories for p in one.proposals}
    assert ("EJ-1302", AlertKind.BELOW) in asked
    assert ("EJ-1303", AlertKind.ABOVE) in asked
    assert ("EJ-1103", AlertKind.FALLING) in asked
    assert len(asked) <= 4
    assert demo_site.register().all(Alert) == ()

    causes = watching.causes(demo_site, found)
    assert set(causes) == {"TI-1302", "TI-1303"}
    assert "cover" in causes["TI-1302"][0].words
    assert causes["TI-1302"][0].probability > 0.5
    assert "packing" in causes["TI-1303"][0].words


def test_an_alert_stands_until_somebody_closes_it(demo_site: Site) -> None:
    """Opened once however often one looks; acknowledged it stays; closed it does not come back."""
    first = watching.open_new(demo_site, "E. Walker")
    again = watching.open_new(demo_site, "E. Walker")
    assert len(first.new) >= 3
    assert again.new == ()

    cause = AlertKind.ABOVE.value
    known = watching.answer(
        demo_site, "TI-1303", cause, "E. Walker", "blanket suspected; infrared asked"
    )
    assert known.state == AlertState.ACKNOWLEDGED
    standing = [a for one in watching.look(demo_site).histories for a in one.standing]
    assert {a.tag for a in standing} == {a.tag for a in first.new}

    watching.answer(demo_site, "TI-1303", cause, "E. Walker", "scope item raised", close=True)
    after = watching.look(demo_site)
    assert after.new == ()
    assert "TI-1303" not in {a.tag for one in after.histories for a in one.standing}
    kept = [a for a in demo_site.register().all(Alert) if a.tag == "TI-1303"]
    assert kept[0].note == "scope item raised"


def test_answers_need_a_name_words_and_an_open_alert(demo_site: Site) -> None:
    """Nothing is waved away."""
    watching.open_new(demo_site, "E. Walker")
    with pytest.raises(Refused, match="found or done"):
        watching.answer(demo_site, "TI-1303", AlertKind.ABOVE.value, "E. Walker", " ")
    with pytest.raises(Refused, match="who you are"):
        watching.answer(demo_site, "TI-1303", AlertKind.ABOVE.value, "", "seen")
    with pytest.raises(UnknownName, match="TI-1303, sudden rise"):
        watching.answer(demo_site, "TI-1303", AlertKind.STEP_UP.value, "E. Walker", "seen")
    with pytest.raises(Refused, match="say who looks"):
        watching.open_new(demo_site, "")


@pytest.fixture
def driven(tmp_path: Path) -> Iterator[Site]:
    """A bellows of two years that follows medium and air, with nothing wrong until a step."""
    plant, *others = small()
    with create(tmp_path / "site", plant, author="A") as site:
        with site.change("A", "import") as change:
            change.put_many(others)
        yield site


def series_of(site: Site, tag: str, measures: Measured, day: Array, kelvin: Array) -> None:
    """Keep one reading each six hours of a history given by day."""
    seconds = (day[:, None] * 86400.0 + np.arange(4) * 21600.0).ravel()
    values = np.repeat(kelvin, 4)
    file = series.keep_arrays(site.series_folder, seconds, values, np.ones(values.size))
    record.facts(
        site,
        [
            TemperatureSeries(
                tag=tag, joint="EJ-1", file=file, rows=values.size, measures=measures,
                first=dt.datetime.fromtimestamp(seconds[0], dt.UTC),
                last=dt.datetime.fromtimestamp(seconds[-1], dt.UTC),
            )
        ],
        "A", "history",
    )  # fmt: skip


def history(step: float = 0.0, load: float = 0.0) -> tuple[Array, Array, Array, Array]:
    """Days up to the day looked at, medium, air and bellows; ``load`` moves the medium lately."""
    dice = np.random.default_rng(3)
    last = (TODAY - dt.date(1970, 1, 1)).days
    day = np.arange(last - 730, last + 1, dtype=float)
    medium = 950 + 15 * np.repeat(dice.normal(0, 1, 25), 30)[: day.size] + dice.normal(0, 2, 731)
    medium[-30:] += load
    air = 285 - 10 * np.cos(2 * np.pi * day / 365.25) + dice.normal(0, 4, day.size)
    bellows = 580 + 0.3 * (medium - 950) + 0.7 * (air - 285) + dice.normal(0, 1, day.size)
    bellows[-30:] += step
    return day, medium, air, bellows


TODAY = dt.date(2026, 6, 30)


def kinds(site: Site) -> set[AlertKind]:
    """What the only bellows history asks for."""
    (one,) = watching.look(site, today=TODAY).histories
    return {asked.kind for asked in one.proposals}


def test_a_change_of_load_is_no_change_of_the_bellows(driven: Site) -> None:
    """A medium that runs 120 K hotter lifts the bellows; with the medium on record nobody is asked."""
    day, medium, air, bellows = history(load=120.0)
    series_of(driven, "TI-1", Measured.BELLOWS, day, bellows)
    assert AlertKind.STEP_UP in kinds(driven)

    series_of(driven, "TI-M", Measured.MEDIUM, day, medium)
    series_of(driven, "TI-A", Measured.AIR, day, air)
    (one,) = watching.look(driven, today=TODAY).histories
    assert one.proposals == ()
    assert "0.30 ± 0.0" in one.apart[0]
    assert "K per K of medium TI-M" in one.apart[0]
    assert "K per K of air TI-A" in one.apart[0]


def test_a_small_change_hidden_by_load_is_found_once_it_is_taken_out(driven: Site) -> None:
    """9 K are lost in what load and weather do; taken out, they stand clear."""
    day, medium, air, bellows = history(step=9.0)
    series_of(driven, "TI-1", Measured.BELLOWS, day, bellows)
    assert kinds(driven) == set()

    series_of(driven, "TI-M", Measured.MEDIUM, day, medium)
    series_of(driven, "TI-A", Measured.AIR, day, air)
    (one,) = watching.look(driven, today=TODAY).histories
    (asked,) = one.proposals
    assert asked.kind == AlertKind.STEP_UP
    assert asked.why.endswith("load and weather taken out")
    assert abs((asked.since - (TODAY - dt.timedelta(days=29))).days) <= 2


def test_drivers_that_stopped_are_not_used_and_that_is_said(driven: Site) -> None:
    """A medium that is not known lately cannot speak for what happened lately."""
    day, medium, _, bellows = history(load=120.0)
    series_of(driven, "TI-1", Measured.BELLOWS, day, bellows)
    series_of(driven, "TI-M", Measured.MEDIUM, day[:-40], medium[:-40])
    (one,) = watching.look(driven, today=TODAY).histories
    assert AlertKind.STEP_UP in {asked.kind for asked in one.proposals}
    assert "medium TI-M not taken out" in one.apart[0]


def test_a_bellows_that_follows_neither_is_left_as_it_is(driven: Site) -> None:
    """Air of elsewhere explains nothing; nothing is taken out, and that is said."""
    day, _, air, _ = history()
    still = 580 + np.random.default_rng(8).normal(0, 1, day.size)
    series_of(driven, "TI-1", Measured.BELLOWS, day, still)
    series_of(driven, "TI-A", Measured.AIR, day, air)
    (one,) = watching.look(driven, today=TODAY).histories
    assert one.apart == ("it does not follow air TI-A: nothing is taken out",)
