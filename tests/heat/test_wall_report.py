"""A wall's report: sign rules, ranges, the dangerous pair, what is refused and what is asked."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest

from takeup.checks import Outcome
from takeup.errors import Contradiction, MissingInput, OutOfRange, Refused, UnknownName
from takeup.given import take
from takeup.heat.model import Spreads, WallCase, WallReport
from takeup.heat.wall import solve
from takeup.heat.wall_report import against, evaluate
from takeup.heat.wall_stack import DANGEROUS, stack_of, state_of
from takeup.limits import defaults
from tests.heat.walls import CELSIUS, INSULATED, LINED, case


def bellows(**more: Any) -> float:
    """Outside of the bellows [°C], without ranges."""
    given = case(**more)
    one = solve(stack_of(given, state_of(given)))
    names = [layer.name for layer in stack_of(given, state_of(given)).layers]
    at = max(place for place, name in enumerate(names) if name.startswith("bellows")) + 1
    return float(one.temperature[at, 0]) - CELSIUS


def report(**more: Any) -> WallReport:
    return evaluate(case(**more), samples=512)


def test_lost_packing_heats_the_bellows() -> None:
    """The more packing is lost the hotter the bellows, up to an empty cavity."""
    steps = [bellows()]
    steps += [bellows(fill="part of the packing lost", lost=share) for share in (0.2, 0.5, 0.8)]
    steps.append(bellows(fill="empty"))
    assert all(np.diff(steps) > 3.0)


def test_fines_cool_where_gas_was() -> None:
    """Fines or coke in an empty cavity, or in open convolutions, make the bellows colder."""
    assert bellows(packing="", fill="packed with fines") < bellows(packing="") - 50.0
    assert bellows(packing="", fill="filled with hard coke") < bellows(packing="") - 50.0
    open_ = bellows(convolution_height=0.06)
    assert bellows(convolution_height=0.06, convolutions="fines") < open_ - 1.0


def test_fines_warm_where_fibre_was() -> None:
    """Fines in or in place of fibre warm the bellows; hard coke warms it more."""
    packed = bellows()
    assert bellows(fill="fines in the fibre") > packed + 3.0
    assert bellows(fill="packed with fines") > packed + 3.0
    assert bellows(fill="filled with hard coke") > bellows(fill="packed with fines") + 20.0


def test_insulation_outside_heats_the_bellows() -> None:
    """The same packing under external insulation runs far hotter; bare it runs cold."""
    assert bellows(**INSULATED) > bellows() + 200.0


def test_hot_gas_behind_the_liner_heats_the_bellows() -> None:
    """The deeper hot gas reaches into the packing, the hotter the bellows."""
    steps = [bellows()] + [
        bellows(fill="hot gas behind the liner", lost=share) for share in (0.2, 0.5, 0.9)
    ]
    assert all(np.diff(steps) > 3.0)


def test_a_lining_cools_and_a_cold_wall_needs_one() -> None:
    """Refractory inside lowers the bellows; a cold wall without a lining is not worked out."""
    assert bellows(**LINED) < bellows() - 10.0
    with pytest.raises(MissingInput, match="lining"):
        evaluate(case(wall="cold wall"))


def test_plies_apart_shield_each_other() -> None:
    """A gap between plies puts the inner ply above and the outer below plies that touch."""
    touching = report(plies=2, fill="empty")
    apart = report(plies=2, ply_gap=1e-4, fill="empty")
    assert apart.bellows_inner.value > touching.bellows_inner.value
    assert apart.bellows_outer.value < touching.bellows_outer.value
    assert apart.bellows_inner.value - apart.bellows_outer.value > 5.0


def test_a_gap_at_the_liner_makes_up_the_cavity() -> None:
    """A gap at the liner takes its depth from the packing: the bellows radius stays."""
    plain, gapped = report(), report(liner_gap=0.02)
    assert gapped.surfaces[-1].radius == pytest.approx(plain.surfaces[-1].radius)
    assert gapped.bellows_outer.value > plain.bellows_outer.value


def test_the_dangerous_pair_is_said_first_and_loud() -> None:
    """Lost packing under insulation or a cover is the first caution, in its full words."""
    for more in (INSULATED, {"cover_gap": 0.05}):
        for fill in ({"fill": "empty"}, {"fill": "part of the packing lost", "lost": 0.5},
                     {"packing": ""}):  # fmt: skip
            assert report(**{**more, **fill}).cautions[0] == DANGEROUS
    assert DANGEROUS not in report(**INSULATED).cautions
    assert DANGEROUS not in report(fill="empty").cautions
    assert DANGEROUS not in report(packing="", fill="packed with fines", **INSULATED).cautions


def test_ranges_hold_the_value_and_cover_what_conductivity_leaves_open() -> None:
    """The 90 % range holds the case as given and is at least as wide as 8 % on k makes it."""
    found = report()
    for surface in found.surfaces:
        assert surface.temperature.low <= surface.temperature.value <= surface.temperature.high
    over = found.bellows_outer.value - found.ambient
    width = found.bellows_outer.high - found.bellows_outer.low
    assert width > 0.08 * over
    assert found.evaluated == found.samples == 512
    assert found.drivers[0].words == "conductivity of the packing"


def test_ranges_are_the_same_for_the_same_seed_and_shrink_with_their_causes() -> None:
    """One seed, one answer; and without spread there is no range but the curve's own."""
    assert report() == report()
    small = Spreads(gas_temperature=0, gas_film=0, packing_thickness=0, emissivity=0,
                    inner_emissivity=0, ambient=0, wind=0, outside_film=0, gap_film=0)  # fmt: skip
    tight = evaluate(case(), small, samples=512)
    wide = report()
    assert tight.bellows_outer.high - tight.bellows_outer.low < 0.75 * (
        wide.bellows_outer.high - wide.bellows_outer.low
    )


def test_the_profile_meets_the_surfaces() -> None:
    """The drawn profile starts and ends every layer at its surfaces and falls outward."""
    found = report(liner_gap=0.01, **INSULATED)
    r, t = np.array(found.profile.radius), np.array(found.profile.value)
    for surface in found.surfaces:
        near = t[np.abs(r - surface.radius) < 1e-9]
        assert near == pytest.approx(surface.temperature.value, abs=0.05)
    assert np.all(np.diff(t) <= 1e-9)
    assert np.all(np.array(found.profile.low) <= np.array(found.profile.high))


def test_layers_say_material_drop_and_source() -> None:
    """Drops of all layers and films add up to gas less ambient; each layer has its source."""
    found = report()
    drops = sum(layer.drop for layer in found.layers)
    gas_side = found.gas - found.surfaces[0].temperature.value
    outside = found.surfaces[-1].temperature.value - found.ambient
    assert drops + gas_side + outside == pytest.approx(found.gas - found.ambient, abs=1e-6)
    assert all(layer.source.document for layer in found.layers)
    assert found.residual <= 1e-9


def test_a_layer_above_its_table_is_screening() -> None:
    """Insulation hotter than its table says so; metals that carry no temperature do not."""
    found = report(fill="empty", **INSULATED)
    assert any("mineral wool" in words and "screening" in words for words in found.cautions)
    assert not any("304H" in words for words in report().cautions)


def test_a_hot_wall_says_that_its_ends_are_hotter() -> None:
    """Radial heat holds for the middle: how far the ends reach is said for a hot wall."""
    assert any("Radial heat only" in words for words in report().cautions)
    assert not any("Radial heat only" in words for words in report(**LINED).cautions)


def test_action_lines_meet_the_worse_end_of_the_range() -> None:
    """Low line against the 5 % end inside, high line against the 95 % end outside."""
    found = report()
    limits = defaults()
    low, high = against(found, low=limits["temperature.low_to"], high=limits["temperature.high"])
    assert low.outcome == Outcome.NOT_MET
    assert low.demand == found.bellows_inner.low
    assert high.outcome == Outcome.MET
    assert high.demand == found.bellows_outer.high
    open_, _ = against(found, low=None, high=None)
    assert open_.outcome == Outcome.NOT_EVALUATED


def test_velocity_stands_in_for_the_gas_film() -> None:
    """A velocity gives a film of flow and radiation; neither given, an assumption is named."""
    by_flow = report(gas_film=None, gas_velocity=20.0)
    assert 40.0 < (by_flow.figures[0].value or 0.0) < 100.0
    assert "assumed for" in by_flow.figures[0].note
    assumed = report(gas_film=None)
    assert "not given" in assumed.notes[0]
    assert abs(assumed.bellows_outer.value - report().bellows_outer.value) < 1.0


def test_the_surface_of_convolutions_cools_only_where_it_is_bare() -> None:
    """More surface cools a bare bellows; under insulation it changes nothing."""
    assert bellows(area_ratio=3.0) < bellows() - 3.0
    assert bellows(area_ratio=3.0, **INSULATED) == pytest.approx(bellows(**INSULATED), abs=1e-6)


def test_sun_and_warm_surroundings_warm() -> None:
    """Absorbed sunshine and warm surroundings raise the bellows."""
    assert bellows(sun=200.0) > bellows() + 5.0
    assert bellows(surroundings=60 + CELSIUS) > bellows() + 5.0


def test_a_vertical_run_uses_its_height() -> None:
    """A vertical run takes the plate relation on its height."""
    tall = report(orientation="vertical", height=3.0)
    assert tall.bellows_outer.value != pytest.approx(report().bellows_outer.value, abs=0.05)


@pytest.mark.parametrize(
    ("more", "fault", "word"),
    [
        ({"insulation": "mineral wool"}, Contradiction, "insulation_thickness"),
        ({"fill": "part of the packing lost"}, MissingInput, "lost"),
        ({"packing": "", "fill": "fines in the fibre"}, Contradiction, "no packing"),
        ({"liner_gap": 0.2}, OutOfRange, "liner_gap"),
        ({"packing": "fibre 127"}, UnknownName, "fibre 128"),
        ({"bellows_material": "unobtanium"}, UnknownName, "unobtanium"),
        ({"lost": 0.4}, Contradiction, "lost is given"),
        ({"gas_velocity": 20.0}, Contradiction, "give one of the two"),
        ({"purged": True}, Refused, "purged"),
        ({"cavity": 1.5, "packing": "", "pressure": 3e6}, OutOfRange, "Rayleigh number of cavity"),
        ({"gas_film": None, "gas_velocity": 0.01}, OutOfRange, "Reynolds number"),
    ],
)  # fmt: skip
def test_bad_input_is_refused_by_its_field(
    more: dict[str, Any], fault: type[Exception], word: str
) -> None:
    """What cannot be, or cannot be worked out, is refused naming the field."""
    with pytest.raises(fault, match=word):
        evaluate(case(**more))


@pytest.mark.parametrize(
    ("field", "value"),
    [("emissivity", 7.0), ("emissivity", 0.0), ("liner_thickness", -0.006),
     ("ply_thickness", math.nan), ("insulation_thickness", 0.0)],
)  # fmt: skip
def test_numbers_no_wall_has_are_refused_from_python_and_from_text(
    field: str, value: float
) -> None:
    """Emissivity seven, a negative or no thickness: refused by field, at the door and inside."""
    made = msgspec.structs.replace(case(**INSULATED), **{field: value})
    with pytest.raises(OutOfRange, match=field):
        evaluate(made)
    raw = {"wall": "hot wall", "gas_temperature": "720 C", "inside_diameter": "1500 mm",
           "bellows_material": "625", "ply_thickness": "1.5 mm", "ambient": "25 C"}  # fmt: skip
    assert take(raw, WallCase).value is not None
    faults = take({**raw, field: value}, WallCase).faults
    assert [fault.path for fault in faults] == [(field,)]


@pytest.mark.parametrize(
    ("more", "word"),
    [
        ({"gas_temperature": 1350 + CELSIUS}, "1350 °F meant, which is 732 °C"),
        ({"ambient": 77 + CELSIUS}, "77 °F meant, which is 25 °C"),
        ({"ambient": 298 + CELSIUS}, "298 K meant, 25 °C"),
    ],
)
def test_a_temperature_that_looks_like_another_unit_is_asked_about(
    more: dict[str, Any], word: str
) -> None:
    """A likely mistake of unit is asked about with what it would be, and can be confirmed."""
    with pytest.raises(Contradiction, match=word):
        evaluate(case(**more))


def test_a_confirmed_temperature_is_taken() -> None:
    """A gas that is certain to be that hot is worked out."""
    assert report(gas_temperature=1100 + CELSIUS, certain=True).bellows_outer.value > 0.0


def test_samples_come_in_powers_of_two() -> None:
    """A number of samples that spoils the balance of the points is refused."""
    with pytest.raises(OutOfRange, match="powers of two"):
        evaluate(case(), samples=1000)
