"""What a report says about one pressure: stresses, squirm, thrust, the pressure limit."""

from __future__ import annotations

import functools
from math import isnan

import msgspec

from takeup.bellows.comparing import compare
from takeup.bellows.intake import MAY, WORDS, Intake
from takeup.bellows.model import BellowsCase, Condition, Thrust
from takeup.bellows.numbers import Numbers
from takeup.bellows.rules.base import RuleSet
from takeup.checks import Check, Figure, Outcome, Quantity
from takeup.sources import Source

UNKNOWN_TREATMENT = "Treatment after forming is unknown: worked out as annealed, the lower."
TEST = (
    "The test pressure is held against the allowable stress at test temperature; "
    "the code allows more during a test."
)
CREEP = "Metal temperature is above the creep threshold: the rule set does not cover it."
_BY_CONDITION = (
    ("S1", "S1", "stress"),
    ("S2", "S2", "stress"),
    ("S2e", "S2e", "stress"),
    ("S3", "S3", "stress"),
    ("S4", "S4", "stress"),
    ("column_squirm", "Psc", "pressure"),
    ("inplane_squirm", "Psi", "pressure"),
)
_DEMAND = {
    "S1": ("S1", "Cw S", "stress", "S1"),
    "S2": ("S2", "Cw S", "stress", "S2"),
    "S2e": ("S2e", "Cw S", "stress", "S2e"),
    "S3": ("S3", "S", "stress", "S3"),
    "S3+S4": ("S3+S4", "Km S", "stress", "S3 + S4"),
}


@functools.lru_cache(maxsize=512)
def weaker(clause: Source, metal: Source | None, words: str) -> Source:
    """The clause, no firmer than the metal property that goes into it."""
    if metal is None or metal.firm or not clause.firm:
        return clause
    return Source(
        document=clause.document,
        edition=clause.edition,
        at=f"{clause.at}; {words}: {metal.cite()}",
        standing=metal.standing,
    )


class PressureChecks:
    """Adds figures and checks of conditions to the reports of one array pass."""

    def __init__(
        self,
        intake: Intake,
        rules: RuleSet,
        case: dict[str, list[float]],
        numbers: Numbers,
        rows: dict[str, list[float]],
    ) -> None:
        self.intake, self.rules, self.case, self.rows = intake, rules, case, rows
        self.condition = {name: value.tolist() for name, value in numbers.condition.items()}
        self.formed = intake.as_formed.tolist()
        self.metal = {
            "S": self.condition["S"],
            "E": intake.metal.modulus.tolist(),
            "Sy": intake.metal.yield_.tolist(),
            "bound": intake.metal.bound.tolist(),
        }

    def add(
        self,
        figures: list[Figure],
        checks: list[Check],
        at: int,
        case: BellowsCase,
        condition: Condition,
        j: int,
        parts: tuple[Quantity, ...],
        lacking: tuple[str, ...],
        threshold: float,
    ) -> list[Thrust]:
        """Append to ``figures`` and ``checks``; return the thrust where it is known."""
        self._figures(figures, condition, j, threshold)
        self._checks(checks, at, case, condition, j, parts, lacking, threshold)
        force = self.condition["thrust"][j]
        if isnan(force):
            return []
        return [Thrust(condition=condition.name, pressure=condition.pressure, force=force)]

    def _figures(
        self, figures: list[Figure], condition: Condition, j: int, threshold: float
    ) -> None:
        sources, names, row, name = (
            self.rules.sources,
            self.rules.names,
            self.condition,
            condition.name,
        )
        limit = row["pressure_limit"][j]
        if not isnan(limit) and condition.pressure >= 0.0 and condition.temperature <= threshold:
            figures.append(
                Figure(
                    id=f"pressure_limit@{name}",
                    name="Largest pressure at which every pressure check holds",
                    symbol="P",
                    value=limit,
                    kind="pressure",
                    source=sources["pressure_limit"],
                    note="yield at its lower bound" if self.metal["bound"][j] else "",
                )
            )
        for id, symbol, kind in _BY_CONDITION:
            value = row[id][j]
            if not isnan(value):
                figures.append(
                    Figure(
                        id=f"{id}@{name}",
                        name=names[id],
                        symbol=symbol,
                        value=value,
                        kind=kind,
                        source=sources.get(id, sources["S4"]),
                    )
                )

    def _checks(
        self,
        checks: list[Check],
        at: int,
        case: BellowsCase,
        condition: Condition,
        j: int,
        parts: tuple[Quantity, ...],
        lacking: tuple[str, ...],
        threshold: float,
    ) -> None:
        creeping = condition.temperature > threshold
        testing = condition.name.lower() == "test"
        allowable = self.metal["S"][j]
        hot = (
            Quantity(name="Pressure", symbol="P", value=condition.pressure, kind="pressure"),
            Quantity(
                name="Metal temperature",
                symbol="T",
                value=condition.temperature,
                kind="temperature",
            ),
        )
        stress_inputs = (
            *parts,
            *hot,
            Quantity(
                name="Allowable stress",
                symbol="S",
                value=allowable if not isnan(allowable) else None,
                kind="stress",
            ),
        )
        for family in self.rules.checks:
            if family in _DEMAND:
                if family == "S2e" and self.rows["tangent_length"][at] == 0.0:
                    continue  # without a tangent there is no end convolution of its own
                check = self._stress(family, at, case, condition.name, j, stress_inputs, lacking)
            elif condition.pressure < 0.0:
                check = Check(
                    id=f"{family}@{condition.name}",
                    name=self.rules.names[family],
                    outcome=Outcome.DOES_NOT_APPLY,
                    kind="pressure",
                    source=self.rules.sources[family],
                    limit_kind=self.rules.limit_kind,
                    because="pressure is external: it does not bow or tilt convolutions",
                )
            else:
                check = self._squirm(family, at, case, condition, j, (*parts, *hot), lacking)
            if creeping:
                check = self._in_creep(check, family, j)
            if testing and family in _DEMAND:
                check = msgspec.structs.replace(check, cautions=(*check.cautions, TEST))
            checks.append(check)
        if condition.pressure < 0.0:
            checks.append(
                Check(
                    id=f"external_pressure@{condition.name}",
                    name="Buckling under external pressure",
                    outcome=Outcome.NOT_EVALUATED,
                    kind="pressure",
                    source=self.rules.sources["geometry"],
                    limit_kind=self.rules.limit_kind,
                    because="circumferential buckling under external pressure is not worked out here",
                )
            )

    def _stress(
        self,
        family: str,
        at: int,
        case: BellowsCase,
        name: str,
        j: int,
        inputs: tuple[Quantity, ...],
        lacking: tuple[str, ...],
    ) -> Check:
        demand_name, capacity_name, kind, symbol = _DEMAND[family]
        demand, capacity = self.condition[demand_name][j], self.condition[capacity_name][j]
        clause = "S3 limit" if family == "S3" else family
        cautions: tuple[str, ...] = ()
        because = "stress against allowable stress"
        if family == "S3+S4":
            formed = self.formed[at]
            if formed:
                clause = "S3+S4 as formed"
            factor = self.case["strength_factor"][at]
            if not isnan(factor):
                state = "as formed" if formed else "annealed"
                because = f"allowed is {factor:.2f} times allowable stress, {state}"
            if case.treatment is None:
                because = f"{because} (treatment unknown, the lower is taken)"
                cautions = (UNKNOWN_TREATMENT,)
        names = list(lacking)
        if family in {"S1", "S2e"} and isnan(demand) and not lacking:
            unknown = [WORDS[name] for name in MAY if name in case.missing]
            names += unknown or ["tangent length Lt (none given)"]
        if isnan(capacity) and not lacking:
            names.append(self.intake.metal.fault["allowable"][j] or "allowable stress")
        metal = self.intake.metal.source["allowable"][j]
        return compare(
            id=f"{family}@{name}",
            name=self.rules.names[family],
            symbol=symbol,
            demand=demand,
            capacity=capacity,
            kind=kind,
            source=weaker(self.rules.sources[clause], metal, "allowable stress"),
            rules=self.rules,
            inputs=inputs,
            names=names,
            because=because,
            cautions=cautions,
        )

    def _squirm(
        self,
        family: str,
        at: int,
        case: BellowsCase,
        condition: Condition,
        j: int,
        inputs: tuple[Quantity, ...],
        lacking: tuple[str, ...],
    ) -> Check:
        capacity = self.condition[family][j]
        names = list(lacking)
        source = self.rules.sources[family]
        cautions: tuple[str, ...] = ()
        fault = self.intake.metal.fault
        if family == "column_squirm":
            symbol, which, words = "Psc", "E", "elastic modulus"
            metal = self.intake.metal.source["modulus"][j]
            if isnan(capacity) and not lacking:
                names.append(fault["modulus"][j] or "elastic modulus")
            because = "pressure against the pressure that bows the bellows sideways"
            if self.case["ends"][at] < 1.0:
                because += "; the spool is not held, so a quarter of the fixed-end value"
            if any(move.angular > 0.0 for move in case.movements):
                cautions = (
                    "An initial rotation lowers column squirm; its factor is not confirmed and "
                    "taken as 1.",
                )
        else:
            symbol, which, words = "Psi", "Sy", "yield strength"
            metal = self.intake.metal.source["yield"][j]
            if case.yield_strength is not None:
                source, metal = self.rules.sources["inplane_squirm given"], None
            if isnan(capacity) and not lacking:
                names.append(fault["allowable"][j] or fault["yield"][j] or "yield strength")
            because = "pressure against the pressure that tilts convolutions"
            if case.treatment is None and case.yield_strength is None:
                because += "; treatment unknown, annealed is taken"
                cautions = (UNKNOWN_TREATMENT,)
            if any(move.axial < 0.0 for move in case.movements):
                cautions += (
                    "Compression lowers the true in-plane limit; the formula leaves it out.",
                )
        value = self.metal[which][j]
        kind = "modulus" if which == "E" else "stress"
        check = compare(
            id=f"{family}@{condition.name}",
            name=self.rules.names[family],
            symbol=symbol,
            demand=condition.pressure,
            capacity=capacity,
            kind="pressure",
            source=weaker(source, metal, words),
            rules=self.rules,
            inputs=(
                *inputs,
                Quantity(
                    name=words[0].upper() + words[1:],
                    symbol=which,
                    value=value if not isnan(value) else None,
                    kind=kind,
                ),
            ),
            names=names,
            because=because,
            cautions=cautions,
        )
        if which == "Sy" and self.metal["bound"][j] and check.outcome == Outcome.NOT_MET:
            return msgspec.structs.replace(
                check,
                outcome=Outcome.NOT_EVALUATED,
                because="yield strength at temperature is unknown; its lower bound, allowable "
                "stress / 0.9, does not show that the limit holds: give the yield strength",
            )
        if which == "Sy" and self.metal["bound"][j] and check.outcome == Outcome.MET:
            return msgspec.structs.replace(
                check, because=f"{because}; yield taken at its lower bound, allowable stress / 0.9"
            )
        return check

    def _in_creep(self, check: Check, family: str, j: int) -> Check:
        if self.rules.creep_form and family == "S3+S4":
            demand, capacity = self.condition["S3+S4/1.25"][j], self.metal["S"][j]
            metal = self.intake.metal.source["allowable"][j]
            return compare(
                id=check.id,
                name="Meridional stress from pressure, creep range",
                symbol="S3 + S4/1.25",
                demand=demand,
                capacity=capacity,
                kind="stress",
                source=weaker(self.rules.sources["S3+S4 creep"], metal, "allowable stress"),
                rules=self.rules,
                inputs=check.inputs,
                names=[
                    self.intake.metal.fault["allowable"][j]
                    or check.because.removeprefix("unknown: ")
                ]
                if check.outcome == Outcome.NOT_EVALUATED
                else [],
                because="in the creep range S3 + S4/1.25 stays below the allowable stress",
                cautions=("Creep and its interaction with fatigue are not covered.",),
            )
        if self.rules.creep_form and family in _DEMAND:
            return check
        if check.outcome == Outcome.MET:
            return msgspec.structs.replace(check, outcome=Outcome.NOT_EVALUATED, because=CREEP)
        if check.outcome == Outcome.NOT_MET:
            return msgspec.structs.replace(
                check, because=f"{check.because}; it fails even before creep is counted"
            )
        return check

    def unknown(self, wanted: str, case: BellowsCase) -> list[Check]:
        """Checks of a condition that was not given: each stands there, not evaluated."""
        named = [name for name in case.missing if name.startswith(wanted)]
        words = ", ".join(name.replace("_", " ") for name in named)
        words = words or f"{wanted} pressure and bellows metal temperature"
        return [
            Check(
                id=f"{family}@{wanted}",
                name=self.rules.names[family],
                outcome=Outcome.NOT_EVALUATED,
                kind="stress" if family in _DEMAND else "pressure",
                source=self.rules.sources[family],
                limit_kind=self.rules.limit_kind,
                because=f"unknown: {words}",
            )
            for family in self.rules.checks
            if family != "S2e"
        ]
