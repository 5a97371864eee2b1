"""The inverse question: which state of a wall explains a reading."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from takeup.errors import Contradiction, OutOfRange, UnknownName
from takeup.heat import inverse
from takeup.heat.inverse import SHINY
from takeup.heat.inverse_model import Instrument, InverseReport, Reading
from takeup.heat.wall import solve
from takeup.heat.wall_stack import DANGEROUS, stack_of, state_of
from tests.heat.walls import CELSIUS, INSULATED, LINED, case

SAMPLES = 1024


def asked(celsius: float, more: dict[str, Any] | None = None, **reading: Any) -> InverseReport:
    predictions = inverse.predict(case(**(more or {})), samples=SAMPLES)
    return inverse.explain(predictions, Reading(temperature=celsius + CELSIUS, **reading))


def chance(found: InverseReport, *ids: str) -> float:
    return sum(one.probability for one in found.causes if one.id in ids)


def planted(more: dict[str, Any], state: dict[str, Any]) -> float:
    """What the bellows reads [°C] in a state, by the forward balance."""
    given = case(**{**more, **state})
    stack = stack_of(given, state_of(given))
    at = max(i for i, layer in enumerate(stack.layers) if layer.name.startswith("bellows")) + 1
    return float(solve(stack).temperature[at, 0]) - CELSIUS


def test_probabilities_add_to_one_and_are_ranked() -> None:
    """The causes share certainty among them, the likeliest first, none negative."""
    found = asked(120)
    values = [one.probability for one in found.causes]
    assert sum(values) == pytest.approx(1.0)
    assert values == sorted(values, reverse=True)
    assert min(values) >= 0.0
    assert sum(one.prior for one in found.causes) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("more", "state", "ids"),
    [
        ({}, {}, ("designed",)),
        ({}, {"fill": "empty"}, ("empty",)),
        ({}, {"fill": "part of the packing lost", "lost": 0.6}, ("part_lost", "bypass")),
        ({}, {"fill": "filled with hard coke"}, ("hard_coke",)),
        (INSULATED, {"insulation": "", "insulation_thickness": None}, ("insulation_lost",)),
        (INSULATED, {"fill": "empty"}, ("empty",)),
        (LINED, {"fill": "empty"}, ("empty",)),
        ({"packing": ""}, {"fill": "packed with fines"}, ("fines",)),
    ],
)
def test_a_planted_state_is_among_the_first(
    more: dict[str, Any], state: dict[str, Any], ids: tuple[str, ...]
) -> None:
    """A reading made by the forward balance of a state puts that state first or second."""
    found = asked(planted(more, state), more)
    assert set(ids) & {one.id for one in found.causes[:2]}
    assert chance(found, *ids) > 3.0 * sum(
        one.prior for one in found.causes if one.id in ids
    ) or chance(found, *ids) > 0.5  # fmt: skip


def test_the_share_lost_is_found_with_its_range() -> None:
    """Given a reading of 60 % lost packing, the range of the share holds 60 %."""
    found = asked(planted({}, {"fill": "part of the packing lost", "lost": 0.6}))
    lost = next(one for one in found.causes if one.id == "part_lost")
    assert lost.estimate is not None
    assert lost.estimate.low < 0.6 < lost.estimate.high
    assert lost.kind == "share"


def test_directions_come_from_the_balance() -> None:
    """Lost packing is warmer; fines are warmer in place of fibre and colder in place of gas."""
    packed = {one.id: one.direction for one in asked(90).causes}
    assert packed["part_lost"] == packed["empty"] == packed["fines"] == "warmer"
    empty = {one.id: one.direction for one in asked(300, {"packing": ""}).causes}
    assert empty["fines"] == empty["coke_crumbs"] == empty["hard_coke"] == "colder"


def test_causes_that_cannot_be_are_not_offered() -> None:
    """No lost insulation on a bare bellows, no lost lining on a hot wall, no packing in none."""
    bare = {one.id for one in asked(90).causes}
    assert not bare & {"insulation_lost", "insulation_wet", "lining_lost", "cover_off"}
    none = {one.id for one in asked(300, {"packing": ""}).causes}
    assert not none & {"part_lost", "empty", "bypass", "fines_in_fibre"}


def test_lost_packing_warns_against_insulation() -> None:
    """Likely lost packing: do not insulate; under insulation or a cover it is the danger."""
    assert any("do not insulate" in words for words in asked(200).cautions)
    assert DANGEROUS in asked(560, INSULATED).cautions
    assert DANGEROUS in asked(480).cautions  # hot enough only for lost packing under a blanket


def test_a_reading_that_nothing_explains_is_blamed_on_the_instrument() -> None:
    """A reading far from every state doubts the instrument before the joint."""
    found = asked(10.0)
    assert found.causes[0].id == "instrument"
    assert any("doubt the instrument" in words for words in found.cautions)


def test_a_jacket_reading_separates_added_insulation_from_lost_packing() -> None:
    """Where two causes differ outside, that measurement is named; given, it settles the matter."""
    alone = asked(377)
    pair = next(
        s for s in alone.separations if {s.first, s.second} == {"empty", "insulation_added"}
    )
    assert pair.separates
    assert pair.measurement == "temperature of the outermost surface"
    jacket = min(pair.with_first, pair.with_second)
    settled = asked(377, outer=jacket)
    assert chance(settled, "insulation_added") > 0.8 > chance(alone, "insulation_added")


def test_bare_causes_of_equal_heat_are_not_separated_outside() -> None:
    """Lost packing and hot gas behind the liner look alike outside: a look inside is named."""
    found = asked(160)
    pair = next(s for s in found.separations if {s.first, s.second} == {"part_lost", "bypass"})
    assert not pair.separates
    assert "liner" in pair.look


def test_many_readings_at_once_are_each_alone() -> None:
    """A history of readings gets the probabilities of each reading by itself."""
    predictions = inverse.predict(case(), samples=SAMPLES)
    readings = np.array([80.0, 120.0, 250.0]) + CELSIUS
    many = inverse.probabilities(predictions, readings, 3.0)
    assert many.sum(axis=0) == pytest.approx(1.0)
    for column, value in enumerate(readings):
        one = inverse.explain(predictions, Reading(temperature=float(value), deviation=3.0))
        by_id = {cause.id: cause.probability for cause in one.causes}
        assert many[:, column] == pytest.approx([by_id[id] for id in predictions.ids])


def test_priors_may_be_the_sites_own() -> None:
    """A prior of zero rules a cause out, a larger one raises it; unknown names are refused."""
    reading = Reading(temperature=120 + CELSIUS)
    own = inverse.predict(case(), priors={"fines": 0.0, "coke_crumbs": 0.5}, samples=SAMPLES)
    found = inverse.explain(own, reading)
    assert "fines" not in {one.id for one in found.causes}
    assert chance(found, "coke_crumbs") > chance(asked(120), "coke_crumbs")
    with pytest.raises(UnknownName, match="coke_crumbs"):
        inverse.predict(case(), priors={"coke crumbs": 1.0})
    with pytest.raises(Contradiction, match="instrument"):
        inverse.predict(case(), priors={"instrument": 0.0})


def test_an_infrared_reading_is_less_sure() -> None:
    """The kind of instrument sets the deviation, and a wider one spreads the causes."""
    sure = asked(150, instrument=Instrument.THERMOCOUPLE)
    vague = asked(150, instrument=Instrument.INFRARED)
    assert vague.deviation > sure.deviation
    assert SHINY in vague.cautions
    assert SHINY not in sure.cautions
    with pytest.raises(OutOfRange, match="deviation"):
        asked(150, deviation=1e4)


@pytest.mark.parametrize(
    ("celsius", "word"), [(900.0, "900 °F meant, which is 482 °C"), (-60.0, "colder than the air")]
)
def test_a_reading_in_the_wrong_unit_is_asked_about(celsius: float, word: str) -> None:
    """A bellows hotter than its gas or colder than its air is asked about, and can be confirmed."""
    with pytest.raises(Contradiction, match=word):
        asked(celsius)
    found = asked(celsius, certain=True)
    assert any("confirmed as right" in words for words in found.cautions)
