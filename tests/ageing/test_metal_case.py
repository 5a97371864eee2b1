"""A metal as people give it: everything that may be said, and what may not."""

from __future__ import annotations

from takeup.ageing.metal_case import Element, MetalCase, Time, evaluate
from takeup.ageing.metallurgy import State


def test_hot_304h_is_told_whole() -> None:
    """Sensitised, sigma in base and weld, creep of both."""
    hours = Time(time=5e4 * 3600.0, temperature=273.15 + 700.0, stress=18e6)

    found = evaluate(MetalCase(alloy="304H", times=(hours,)))

    assert {one.id for one in found.base} == {"sensitised", "sigma"}
    assert {one.id for one in found.weld} == {"sigma", "475"}
    assert found.creep[1].used_mean > found.creep[0].used_mean
    assert "to be expected" in found.headline
    assert found.open == ()


def test_without_stress_creep_is_open_and_said() -> None:
    """It is not taken as none."""
    found = evaluate(MetalCase(alloy="304H", times=(Time(time=3.6e7, temperature=900.0),)))

    assert found.creep == ()
    assert "lasting stress" in found.open[0]


def test_without_hours_nothing_is_known() -> None:
    """Nor is anything ruled out."""
    found = evaluate(MetalCase(alloy="2.25Cr-1Mo"))

    assert all(one.state == State.UNKNOWN for one in (*found.base, *found.weld))
    assert "not known" in found.headline


def test_certificate_in_per_cent_decides_temper_embrittlement() -> None:
    """Si 0.35, Mn 0.55, P 0.018, Sn 0.015 %: J 297, expected."""
    found = evaluate(
        MetalCase(
            alloy="2.25Cr-1Mo",
            times=(Time(time=2e8, temperature=273.15 + 460.0),),
            elements=tuple(
                Element(symbol=name, percent=value / 100.0)
                for name, value in (("Si", 0.35), ("Mn", 0.55), ("P", 0.018), ("Sn", 0.015))
            ),
        )
    )

    assert found.base[0].state == State.YES
    assert "J 297" in found.base[0].because


def test_alloy_without_a_curve_is_open_by_name() -> None:
    """No rupture curve is borrowed for alloy 625."""
    hours = Time(time=3.6e7, temperature=900.0, stress=2e7)

    found = evaluate(MetalCase(alloy="alloy 625", times=(hours,)))

    assert found.creep == ()
    assert "rupture curve" in found.open[0]
