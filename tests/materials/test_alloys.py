"""Alloys by their many names."""

from __future__ import annotations

import pytest

from takeup import materials
from takeup.errors import UnknownName
from takeup.materials import Family


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("alloy 625", "alloy 625"),
        ("N06625", "alloy 625"),
        ("2.4856", "alloy 625"),
        ("SB-443 N06625", "alloy 625"),
        ("ASTM A240 TP321", "321"),
        ("1.4541", "321"),
        ("tp 316h", "316H"),
        ("316/316H", "316H"),
        ("800H", "alloy 800H"),
        ("Alloy 800HT", "alloy 800HT"),
        ("A106 Gr B", "carbon steel"),
        ("A516 Gr 60", "A516-60"),
        ("P22", "2.25Cr-1Mo"),
        ("1.25Cr", "1.25Cr-0.5Mo"),
    ],
)
def test_names_people_write_are_understood(written: str, meant: str) -> None:
    """Trade names, UNS, W.-Nr. and product specifications find the alloy."""
    assert materials.alloy(written).name == meant


def test_unknown_alloy_offers_near_names() -> None:
    """A name that is not known says so and offers what is near."""
    with pytest.raises(UnknownName, match="Did you mean"):
        materials.alloy("alloy 626")


def test_two_alloys_in_one_text_are_not_guessed() -> None:
    """Text that names two alloys names none."""
    with pytest.raises(UnknownName):
        materials.alloy("321 or 625")


def test_no_two_alloys_share_a_name() -> None:
    """A name or synonym leads to one alloy only."""
    seen: dict[str, str] = {}
    for metal in materials.alloys():
        for word in (metal.name, metal.uns, *metal.synonyms):
            key = word.lower().replace(" ", "")
            assert seen.setdefault(key, metal.name) == metal.name, word


def test_caution_temperatures_follow_trade_practice() -> None:
    """Stabilised grades may run hotter than 304; 625 and 800H hotter still."""
    caution = {
        name: materials.alloy(name).caution_temperature for name in ("304", "321", "625", "800H")
    }
    values = [value for value in caution.values() if value is not None]
    assert len(values) == 4
    assert values == sorted(values)


def test_every_caution_has_a_reason() -> None:
    """A caution temperature never stands without saying why."""
    for metal in materials.alloys():
        if metal.caution_temperature is not None:
            assert metal.caution_reason


def test_families_and_cracking_are_told_apart() -> None:
    """Alloy 625 neither sensitises nor cracks in chlorides in these tables; 321 does both."""
    good, bad = materials.alloy("625"), materials.alloy("321")
    assert (good.family, good.sensitises, good.chloride_scc) == (Family.NICKEL, False, False)
    assert (bad.family, bad.sensitises, bad.chloride_scc) == (Family.AUSTENITIC, True, True)
