"""Whether a rule set covers the shape of a bellows."""

from __future__ import annotations

import math

from takeup.bellows.charts import LEAST_C2, MOST_C2
from takeup.bellows.comparing import compare
from takeup.bellows.rules.base import RuleSet
from takeup.checks import Check, Outcome
from takeup.units import DEG

MOST_WALL = 0.005
"""n t [m] of App. 26."""
MOST_PLIES = 5.0
MOST_ANGLE = 15.0 * DEG


def checks(
    at: int,
    rows: dict[str, list[float]],
    case: dict[str, list[float]],
    rules: RuleSet,
    lacking: tuple[str, ...],
) -> list[Check]:
    """Limits of applicability; one that is not met makes the result invalid, not absent."""
    sources, names = rules.sources, list(lacking)

    def limit(
        id: str, name: str, symbol: str, demand: float, capacity: float, kind: str, source: str
    ) -> Check:
        return compare(
            id=f"geometry.{id}",
            name=name,
            symbol=symbol,
            demand=demand,
            capacity=capacity,
            kind=kind,
            source=sources[source],
            rules=rules,
            inputs=(),
            names=names,
            because="limit of applicability",
            cautions=(),
        )

    c2 = case["C2"][at]
    charts = limit("charts", "Chart parameter C2", "C2", c2, MOST_C2, "ratio", "charts")
    if c2 < LEAST_C2 and not names:
        charts = Check(
            id=charts.id,
            name=charts.name,
            symbol="C2",
            outcome=Outcome.NOT_MET,
            demand=c2,
            capacity=LEAST_C2,
            at_least=True,
            kind="ratio",
            source=sources["charts"],
            limit_kind=rules.limit_kind,
            because="the charts start at 0.2 and are held there",
        )
    found = [charts]
    if not rules.applicability:
        return found
    db, n, t = rows["inside_diameter"][at], rows["plies"][at], rows["ply_thickness"][at]
    radius = case["inside_radius"][at]
    found += [
        limit(
            "length", "Convoluted length", "N q", case["convoluted_length"][at], 3.0 * db,
            "length", "length",
        ),
        limit("thickness", "Total thickness", "n t", n * t, MOST_WALL, "thickness", "thickness"),
        limit("plies", "Number of plies", "n", n, MOST_PLIES, "count", "limits"),
        limit("height", "Convolution height", "w", rows["height"][at], db / 3.0, "length", "limits"),
        limit(
            "side_wall", "Lean of the side walls", "beta", abs(case["wall_angle"][at]),
            MOST_ANGLE, "angle", "limits",
        ),
    ]  # fmt: skip
    outcome = Outcome.MET if radius >= 3.0 * t else Outcome.NOT_MET
    unknown = bool(names) or math.isnan(radius)
    found.append(
        Check(
            id="geometry.radius",
            name="Inside radius of crest and root",
            symbol="ri",
            outcome=Outcome.NOT_EVALUATED if unknown else outcome,
            demand=None if unknown else radius,
            capacity=None if unknown else 3.0 * t,
            kind="length",
            at_least=True,
            source=sources["limits"],
            limit_kind=rules.limit_kind,
            because=f"unknown: {'; '.join(names)}" if unknown else "limit of applicability",
        )
    )
    return found
