"""Whether a rule set covers the shape of a bellows."""

from __future__ import annotations

from math import isnan
from typing import Any

import msgspec
import numpy as np

from takeup.bellows import toroidal
from takeup.bellows.charts import LEAST_C2, MOST_C2
from takeup.bellows.comparing import compare, open_because
from takeup.bellows.model import Convolution
from takeup.bellows.numbers import Row
from takeup.bellows.rules.base import RuleSet
from takeup.bellows.setting import Setting
from takeup.checks import Check, Outcome
from takeup.units import DEG

MOST_WALL = 0.005
"""n t [m] of App. 26."""
MOST_PLIES = 5.0
MOST_ANGLE = 15.0 * DEG
LEAST_RADIUS = 3.0
"""Inside radius of crest and root over t [-]."""


class Limit(msgspec.Struct, frozen=True, kw_only=True):
    """One limit of applicability, for every bellows of a pass."""

    id: str
    name: str
    symbol: str
    demand: Any
    capacity: Any
    kind: str
    source: str
    at_least: bool = False
    least: float = 0.0
    """Lower end of a span whose upper end is the capacity."""
    because: str = "limit of applicability"
    because_least: str = ""

    @property
    def ratio(self) -> Any:
        """Use of the limit [-]: above 1 is outside."""
        if self.at_least:
            return self.capacity / self.demand
        most = self.demand / self.capacity
        return np.maximum(most, self.least / self.demand) if self.least else most


def limits(setting: Setting, shape: Row, rules: RuleSet) -> tuple[Limit, ...]:
    """Limits of applicability with their demand and capacity, arrays aligned with the setting."""
    b = setting.bellows
    found = []
    if rules.convolution == Convolution.TOROIDAL:
        found.append(
            Limit(id="charts", name="Table parameter C3", symbol="C3", demand=shape["C3"],
                  capacity=toroidal.MOST_C3, kind="ratio", source="charts",
                  because="the tables of B1, B2, B3 end at 20 and are held there")
        )  # fmt: skip
    else:
        found.append(
            Limit(id="charts", name="Chart parameter C2", symbol="C2", demand=shape["C2"],
                  capacity=MOST_C2, least=LEAST_C2, kind="ratio", source="charts",
                  because_least="the charts start at 0.2 and are held there")
        )  # fmt: skip
    if not rules.applicability:
        return tuple(found)
    n, t = b.plies, b.ply_thickness
    found += [
        Limit(id="length", name="Convoluted length", symbol="N q",
              demand=shape["convoluted_length"], capacity=3.0 * b.inside_diameter,
              kind="length", source="length"),
        Limit(id="thickness", name="Total thickness", symbol="n t", demand=n * t,
              capacity=MOST_WALL, kind="thickness", source="thickness"),
        Limit(id="plies", name="Number of plies", symbol="n", demand=n, capacity=MOST_PLIES,
              kind="count", source="limits"),
    ]  # fmt: skip
    if rules.convolution != Convolution.TOROIDAL:
        found += [
            Limit(id="height", name="Convolution height", symbol="w", demand=b.height,
                  capacity=b.inside_diameter / 3.0, kind="length", source="limits"),
            Limit(id="side_wall", name="Lean of the side walls", symbol="beta",
                  demand=abs(shape["wall_angle"]), capacity=MOST_ANGLE, kind="angle",
                  source="limits"),
            Limit(id="radius", name="Inside radius of crest and root", symbol="ri",
                  demand=shape["inside_radius"], capacity=LEAST_RADIUS * t, kind="length",
                  source="limits", at_least=True),
        ]  # fmt: skip
    return tuple(found)


def checks(
    at: int,
    found: tuple[tuple[Limit, list[float], list[float]], ...],
    rules: RuleSet,
    lacking: tuple[str, ...],
) -> list[Check]:
    """Checks of one bellows; one that is not met makes the result invalid, not absent."""
    made = []
    for limit, demands, capacities in found:
        demand, capacity, source = demands[at], capacities[at], rules.sources[limit.source]
        low = bool(limit.least) and demand * demand < limit.least * capacity  # the nearer end
        if low:
            capacity = limit.least
        if not (limit.at_least or low):
            made.append(
                compare(
                    id=f"geometry.{limit.id}",
                    name=limit.name,
                    symbol=limit.symbol,
                    demand=demand,
                    capacity=capacity,
                    kind=limit.kind,
                    source=source,
                    rules=rules,
                    inputs=(),
                    names=list(lacking),
                    because=limit.because,
                    cautions=(),
                )
            )
            continue
        unknown = isnan(demand) or isnan(capacity)
        good = Outcome.MET if demand >= capacity else Outcome.NOT_MET
        made.append(
            Check(
                id=f"geometry.{limit.id}",
                name=limit.name,
                symbol=limit.symbol,
                outcome=Outcome.NOT_EVALUATED if unknown else good,
                demand=None if unknown else demand,
                capacity=None if unknown else capacity,
                kind=limit.kind,
                at_least=True,
                source=source,
                limit_kind=rules.limit_kind,
                because=open_because(list(lacking) or ["geometry"])
                if unknown
                else (limit.because_least if good == Outcome.NOT_MET else "") or limit.because,
            )
        )
    return made
