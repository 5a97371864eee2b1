"""Wall of straight pipe under pressure: ASME B31.3 302.3.5(a) by 304.1.2."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from takeup.checks import Check, Quantity, compare
from takeup.line import stress
from takeup.line.model import Line, Pipe, State
from takeup.line.stresses import GIRTH, OWNER, basic_allowable, variation
from takeup.sources import Source, Standing

WALL = Source(
    document="ASME B31.3",
    at="302.3.5(a), 304.1.2 equation 3a: t = P D / (2 (S E W + P Y)), Y 0.4",
    standing=Standing.MEMORY,
)
Y = 0.4
"""Least of the coefficients, which asks for most wall [-]."""


def wall_needed(pressure: float, outside: float, stress: float, weld: float) -> float:
    """Thickness that internal pressure needs, without allowances [m]."""
    return pressure * outside / (2.0 * (stress * weld + pressure * Y))


def checks(line: Line, metals: Mapping[str, str]) -> Iterable[Check]:
    """Each pipe in the state that uses most of its wall; one that is not known counts as most."""
    for pipe in line.pipes:
        rows = [
            _row(pipe, metals[pipe.name], state) for state in line.states if state.pressure > 0.0
        ]
        if rows:
            yield max(rows, key=_order)


def _order(one: Check) -> tuple[bool, float]:
    over = one.ratio is not None and one.ratio > 1.0
    return (over, float("inf") if one.ratio is None else one.ratio)


def _row(pipe: Pipe, metal: str, state: State) -> Check:
    at = state.temperatures.get(pipe.name, state.temperature)
    allowed, source, fault = basic_allowable(metal, at)
    factor, lacks = variation(state)
    need = None
    if allowed is not None and factor is not None:
        need = pipe.allowance + wall_needed(
            state.pressure, pipe.outside, factor * allowed, pipe.weld_factor
        )
    missing = tuple(words for words in (fault, lacks) if words)
    cautions = [] if source is None else ["Allowable stress: " + source.cite()]
    if at > GIRTH and pipe.weld_factor < 1.0:
        cautions.append(
            "Above 510 °C (950 °F) longitudinal welds are weaker (W of table 302.3.5): take it into weld_factor."
        )
    if factor != 1.0:
        cautions.append(OWNER)
    return compare(
        id=f"wall.{pipe.name}",
        name=f"Wall of pipe {pipe.name} for pressure, {state.name}",
        symbol="t",
        demand=need,
        capacity=pipe.wall,
        kind="thickness",
        source=WALL if factor == 1.0 else stress.VARIATION,
        valid="t below D/6",
        missing=missing,
        inputs=(
            Quantity(name="Pressure", symbol="P", value=state.pressure, kind="pressure"),
            Quantity(name="Allowable stress", symbol="S", value=allowed, kind="stress"),
            Quantity(name="Factor on the allowable", symbol="k", value=factor, kind="ratio"),
            Quantity(name="Longitudinal joint", symbol="E", value=pipe.weld_factor, kind="ratio"),
            Quantity(name="Allowance", symbol="c", value=pipe.allowance, kind="thickness"),
            Quantity(name="Metal temperature", symbol="T", value=at, kind="temperature"),
        ),
        because="; ".join(missing)
        if missing
        else "with the allowance that the text takes off the wall",
        cautions=tuple(cautions),
    )
