"""What a report says about one pressure: stresses, squirm, thrust, the pressure limit."""

from __future__ import annotations

import functools
import math
from math import isnan

import msgspec
import numpy as np

from takeup.bellows.casework import Numbers
from takeup.bellows.comparing import compare
from takeup.bellows.intake import Intake
from takeup.bellows.model import BellowsCase, Condition, Convolution, Thrust
from takeup.bellows.numbers import LIMIT, OPTIONAL
from takeup.bellows.refusing import WORDS
from takeup.bellows.rules.base import SYMBOLS, RuleSet
from takeup.checks import Check, Figure, Outcome, Quantity
from takeup.sources import Source
from takeup.units import DEG

UNKNOWN_TREATMENT = "Treatment after forming is unknown: worked out as annealed, the lower."
TEST = (
    "The test pressure is held against the allowable stress at test temperature; "
    "the code allows more during a test."
)
LEAN, LEAN_C2 = 2.0 * DEG, 0.6
"""Lean of the side walls and C2 beyond which the charts are off by more than 10 %."""
LEANING = (
    "The side walls lean: the charts are made for parallel walls. Against finite elements rate "
    "and squirm pressure come out up to a fifth too high for walls leaning in by 5 degrees, and "
    "rate and movement stress far too low for walls leaning out."
)
SLIT = (
    "The table of B1 to B3 stands for a torus that can spread at its neck: held there by a stiff "
    "collar, movement stress was up to 35 % and rate up to 24 % higher in finite elements."
)
CREEP = "Metal temperature is above the creep threshold: the rule set does not cover it."
_FIGURES = (
    ("S1", "stress"), ("S1c", "stress"), ("S2", "stress"), ("S2e", "stress"), ("S2r", "stress"),
    ("S2f", "stress"), ("S3", "stress"), ("S4", "stress"), ("column_squirm", "pressure"),
    ("inplane_squirm", "pressure"), ("external", "pressure"),
)  # fmt: skip
_PARTS = {"S1c": "collar", "S2r": "ring", "S2f": "fastener"}
"""Checks on parts of another metal than the bellows'."""
GIVEN = "allowable stress as given with the condition"


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


def shape_cautions(case: dict[str, list[float]], at: int) -> tuple[str, ...]:
    """What our finite-element comparison says of this shape (docs/why/bellows-fe.md)."""
    if "wall_angle" in case:
        leans = abs(case["wall_angle"][at]) > LEAN and case["C2"][at] > LEAN_C2
        return (LEANING,) if leans else ()
    return (SLIT,)


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
        self.formed = intake.setting.as_formed.tolist()
        self.ends = np.asarray(intake.setting.ends).tolist()
        self.metal = {
            "S": self.condition["S"],
            "E": np.asarray(intake.metals.modulus).tolist(),
            "Sy": np.asarray(intake.metals.yield_strength).tolist(),
            "bound": intake.metal.bound.tolist(),
            "given": np.asarray(intake.metals.allowable_given).tolist(),
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
        bounded = self.rules.yield_divisor is not None and not self.metal["given"][j]
        inside = row["outward"][j] >= 0.0
        if not isnan(limit) and inside and not bounded and not condition.temperature > threshold:
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
        for id, kind in _FIGURES:
            value = row[id][j] if id in row else math.nan
            if not isnan(value) and (id != "external" or not inside):
                figures.append(
                    Figure(
                        id=f"{id}@{name}",
                        name=names[id],
                        symbol=SYMBOLS.get(id, id),
                        value=value,
                        kind=kind,
                        source=sources[id],
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
        inward = self.condition["outward"][j] < 0.0
        for family in self.rules.checks:
            if family in LIMIT:
                if self._absent(family, at):
                    continue
                check = self._stress(family, at, case, condition.name, j, stress_inputs, lacking)
            elif inward:
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
            if testing and family in LIMIT:
                check = msgspec.structs.replace(check, cautions=(*check.cautions, TEST))
            checks.append(check)
        if inward:
            check = self._external(condition, j, case, (*parts, *hot), lacking)
            checks.append(self._in_creep(check, "external", j) if creeping else check)

    def _absent(self, family: str, at: int) -> bool:
        """Whether the part that a check is about is not there at all."""
        rows = self.rows
        if family == "S2e":
            return rows["tangent_length"][at] == 0.0
        if family == "S1c":
            return rows["collar_length"][at] == 0.0 or rows["collar_thickness"][at] == 0.0
        return family == "S2f" and rows["fastener_area"][at] == 0.0

    def _external(
        self,
        condition: Condition,
        j: int,
        case: BellowsCase,
        inputs: tuple[Quantity, ...],
        lacking: tuple[str, ...],
    ) -> Check:
        names = list(lacking)
        value = self.condition["external"][j] if "external" in self.condition else math.nan
        if self.rules.convolution == Convolution.TOROIDAL:
            names.append(
                "Buckling of toroidal bellows under external pressure has no formula here."
            )
        elif isnan(value) and not names:
            fault = self.intake.metal.fault
            names.append(fault["modulus"][j] or fault["yield"][j] or "yield strength")
        cautions: tuple[str, ...] = ()
        if case.plies > 1:
            cautions = (
                "All plies are taken to act together. Between vented or leaking plies only the "
                "outer ply (pressure outside) or the inner ply (vacuum inside) carries it: work "
                "that out with one ply.",
            )
        return compare(
            id=f"external@{condition.name}",
            name=self.rules.names["external"],
            symbol=SYMBOLS["external"],
            demand=abs(condition.pressure),
            capacity=value,
            kind="pressure",
            source=weaker(
                self.rules.sources["external"], self.intake.metal.source["yield"][j], "yield"
            ),
            rules=self.rules,
            inputs=inputs,
            names=names,
            because="external pressure against what a cylinder of the same bending stiffness "
            "carries, design factor inside",
            cautions=cautions,
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
        demand, capacity = self.condition[family][j], self.condition[LIMIT[family]][j]
        part = _PARTS.get(family, "")
        which = f"{part}_allowable" if part else "allowable"
        clause = "S3 limit" if family == "S3" else family
        if family == "S2" and case.kr is not None and self.rules.opened_pitch:
            clause = "S2 given"
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
        if isnan(demand) and not lacking:
            names += self._unknown_demand(family, at, case, j)
        if isnan(capacity) and not lacking:
            names.append(self.intake.metal.fault[which][j] or "allowable stress")
        metal = self.intake.metal.source[which][j]
        if not part and self.metal["given"][j]:
            because = f"{because}; {GIVEN}"
        check = compare(
            id=f"{family}@{name}",
            name=self.rules.names[family],
            symbol=SYMBOLS.get(family, family),
            demand=demand,
            capacity=capacity,
            kind="stress",
            source=weaker(self.rules.sources[clause], metal, "allowable stress"),
            rules=self.rules,
            inputs=inputs,
            names=list(dict.fromkeys(names)),
            because=because,
            cautions=cautions,
        )
        bounded = self.rules.yield_divisor is not None and not self.metal["given"][j]
        if not part and bounded and check.outcome in {Outcome.MET, Outcome.NOT_MET}:
            return self._bounded(check)
        return check

    @staticmethod
    def _bounded(check: Check) -> Check:
        """Say that a lower bound of design stress was used, and leave open what it cannot show."""
        if check.outcome == Outcome.MET:
            return msgspec.structs.replace(
                check, because=f"{check.because}; design stress at its lower bound"
            )
        return msgspec.structs.replace(
            check,
            outcome=Outcome.NOT_EVALUATED,
            because="the lower bound of design stress does not show that the limit holds: give "
            "the design stress f of the standard with the condition",
        )

    def _unknown_demand(self, family: str, at: int, case: BellowsCase, j: int) -> list[str]:
        """What a stress is not known for."""
        fault = self.intake.metal.fault
        if family in {"S1", "S1c", "S2e"}:
            unknown = [
                WORDS[name]
                for name in ("tangent_length", "collar_length", "collar_thickness")
                if name in case.missing
            ]
            if unknown:
                return unknown
            if self.rows["tangent_length"][at] == 0.0:
                return ["tangent length Lt (none given)"]
        if family in {"S2", "S2r", "S2f"} and self.rules.convolution == Convolution.U_REINFORCED:
            if isnan(self.rows["ring_area"][at]):
                return [WORDS["ring_area"]]
            wanted = [fault["ring_modulus"][j]]
            if self.rows["fastener_area"][at] > 0.0:
                wanted.append(fault["fastener_modulus"][j])
            return [name for name in wanted if name] or [fault["modulus"][j] or "elastic modulus"]
        return [fault["modulus"][j]] if fault["modulus"][j] else []

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
            share = self.ends[at]
            if case.ends is not None:
                because += f"; {case.ends.value}: {share:g} of the fixed-end value"
            elif share < 1.0:
                because += "; the spool is not held, so a quarter of the fixed-end value"
            if share < 1.0:
                source = weaker(source, self.rules.sources["ends"], "end condition")
            cautions += shape_cautions(self.case, at)
            turned = case.offset_angular or any(
                move.angular or move.angular_across for move in case.movements
            )
            if case.ctheta is not None:
                because += f"; Ctheta {case.ctheta:g} as given"
            elif turned:
                cautions += (
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
        if self.rules.creep_form and family in LIMIT:
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
                kind="stress" if family in LIMIT else "pressure",
                source=self.rules.sources[family],
                limit_kind=self.rules.limit_kind,
                because=f"unknown: {words}",
            )
            for family in self.rules.checks
            if family not in OPTIONAL or family == "S1"
        ]
