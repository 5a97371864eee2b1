"""From arrays to reports: figures, checks with reasons, notes."""

from __future__ import annotations

import math
from math import isnan

from takeup.bellows import geometry_checks
from takeup.bellows.comparing import compare
from takeup.bellows.fatigue_checks import Fatigue
from takeup.bellows.intake import MAY, MUST, WORDS, Intake, unknown_alloy
from takeup.bellows.model import Assembly, BellowsCase, BellowsReport, Thrust
from takeup.bellows.numbers import Numbers
from takeup.bellows.pressure_checks import UNKNOWN_TREATMENT, PressureChecks
from takeup.bellows.rules.base import RuleSet
from takeup.checks import Check, Figure, Outcome, Quantity
from takeup.sources import Source

_FIGURES = (
    ("mean_diameter", "Mean diameter", "Dm", "length", "geometry"),
    ("thinned_ply", "Ply thickness after forming", "tp", "thickness", "geometry"),
    ("metal_area", "Metal area of one convolution", "A", "metal_area", "geometry"),
    ("convoluted_length", "Convoluted length", "Lb", "length", "geometry"),
    ("effective_area", "Effective area", "Ae", "area", "thrust"),
    ("C1", "Chart parameter", "C1", "ratio", "charts"),
    ("C2", "Chart parameter", "C2", "ratio", "charts"),
    ("Cp", "Pressure bending coefficient", "Cp", "ratio", "charts"),
    ("Cf", "Movement membrane coefficient", "Cf", "ratio", "charts"),
    ("Cd", "Movement bending coefficient", "Cd", "ratio", "charts"),
    ("axial_rate", "Axial rate of the joint, hot", "Ka", "axial_rate", "rate"),
    ("axial_rate_cold", "Axial rate of the joint, cold", "Ka", "axial_rate", "rate"),
    ("lateral_rate", "Lateral rate of the joint, hot", "Kl", "axial_rate", "rate"),
    ("lateral_rate_cold", "Lateral rate of the joint, cold", "Kl", "axial_rate", "rate"),
    ("angular_rate", "Angular rate of one bellows, hot", "Kth", "angular_rate", "rate"),
    ("angular_rate_cold", "Angular rate of one bellows, cold", "Kth", "angular_rate", "rate"),
)


class Sheet:
    """Builds the reports of one array pass, case by case."""

    def __init__(self, intake: Intake, rules: RuleSet, numbers: Numbers) -> None:
        self.intake, self.rules = intake, rules
        self.case = {name: value.tolist() for name, value in numbers.case.items()}
        self.threshold = intake.threshold.tolist()
        self.formed = intake.as_formed.tolist()
        self.rows = {
            name: getattr(intake.bellows, name).tolist() for name in (*MUST, *MAY, "torus_radius")
        }
        self.pressure = PressureChecks(intake, rules, self.case, numbers, self.rows)
        self.fatigue = Fatigue(intake, rules, numbers)

    def all(self) -> list[BellowsReport]:
        """Every report, in the order of the cases."""
        reports = []
        place = move = 0
        for at, case in enumerate(self.intake.cases):
            reports.append(self._one(at, case, place, move))
            place += len(case.conditions)
            move += len(case.movements)
        return reports

    def _one(self, at: int, case: BellowsCase, place: int, move: int) -> BellowsReport:
        rules = self.rules
        sources = rules.sources
        figures = [
            Figure(id=id, name=name, symbol=symbol, value=value, kind=kind, source=sources[source])
            for id, name, symbol, kind, source in _FIGURES
            if not isnan(value := self.case[id][at])
        ]
        lacking = tuple(WORDS[name] for name in MUST if name in case.missing)
        parts = self._quantities(at)
        checks: list[Check] = []
        notes: list[str] = list(rules.notes)
        threshold = self.threshold[at]
        given = {condition.name.lower() for condition in case.conditions}
        thrusts: list[Thrust] = []
        for number, condition in enumerate(case.conditions):
            j = place + number
            thrusts += self.pressure.add(
                figures, checks, at, case, condition, j, parts, lacking, threshold
            )
        for wanted in ("design", "operating"):
            if wanted not in given:
                checks.extend(self.pressure.unknown(wanted, case))
        shape = geometry_checks.checks(at, self.rows, self.case, rules, lacking)
        creep = self._creep(case, at, threshold)
        checks.extend(shape)
        checks.append(creep)
        usage = self.fatigue.add(figures, checks, notes, at, case, move, lacking)
        valid = creep.outcome != Outcome.NOT_MET and all(
            check.outcome != Outcome.NOT_MET for check in shape
        )
        self._notes(notes, at, case, shape, creep, threshold)
        return BellowsReport(
            name=case.name,
            basis=rules.basis.value,
            figures=tuple(figures),
            checks=tuple(checks),
            thrust=tuple(thrusts),
            usage=usage,
            valid=valid,
            notes=tuple(dict.fromkeys(notes)),
            missing=case.missing,
        )

    def _quantities(self, at: int) -> tuple[Quantity, ...]:
        rows, case = self.rows, self.case
        found = (
            ("Inside diameter", "Db", rows["inside_diameter"][at], "length"),
            ("Convolution height", "w", rows["height"][at], "length"),
            ("Pitch", "q", rows["pitch"][at], "length"),
            ("Convolutions", "N", rows["convolutions"][at], "count"),
            ("Plies", "n", rows["plies"][at], "count"),
            ("Ply thickness", "t", rows["ply_thickness"][at], "thickness"),
            ("Torus radius", "rm", rows["torus_radius"][at], "length"),
            ("Ply thickness after forming", "tp", case["thinned_ply"][at], "thickness"),
        )
        return tuple(
            Quantity(name=name, symbol=symbol, value=value if not isnan(value) else None, kind=kind)
            for name, symbol, value, kind in found
        )

    def _creep(self, case: BellowsCase, at: int, threshold: float) -> Check:
        temperatures = [
            condition.temperature
            for condition in case.conditions
            if condition.name.lower() != "test"
        ]
        names = []
        if not temperatures:
            names.append("bellows metal temperature")
        if isnan(threshold):
            names.append(unknown_alloy(case))
        return compare(
            id="creep",
            name="Metal temperature against the creep range",
            symbol="T",
            demand=max(temperatures, default=math.nan),
            capacity=threshold,
            kind="temperature",
            source=self.rules.sources["creep"],
            rules=self.rules,
            inputs=(),
            names=names,
            because="hottest of operating and design against the creep threshold of the alloy",
            cautions=(),
        )

    def _notes(
        self,
        notes: list[str],
        at: int,
        case: BellowsCase,
        shape: list[Check],
        creep: Check,
        threshold: float,
    ) -> None:
        if case.treatment is None:
            notes.append(UNKNOWN_TREATMENT)
        elif self.formed[at] and case.forming_factor is None:
            notes.append("Forming method unknown: the lower strength factor is taken.")
        names = {condition.name.lower() for condition in case.conditions}
        if case.movements and "operating" not in names and "design" in names:
            notes.append("Operating condition unknown: movements are taken at design condition.")
        if case.weld_factor is None:
            notes.append("Longitudinal weld factor unknown: taken as 1.")
        if case.torus_radius is None:
            notes.append("Torus radius not given: taken as q/4, parallel side walls.")
        if case.collar_length > 0.0 and case.collar_thickness > 0.0:
            notes.append(
                "Collar metal is taken to have the modulus of the bellows; hoop stress of the "
                "collar itself is not checked."
            )
        if case.assembly == Assembly.UNIVERSAL:
            if not case.spool_held:
                notes.append(
                    "Spool not held sideways: each bellows counts as guided, a quarter of the "
                    "fixed-end squirm pressure."
                )
            if any(move.angular > 0.0 for move in case.movements):
                notes.append("Angle of a universal: the whole angle is put on one bellows.")
        if case.assembly == Assembly.PAIR and any(move.axial for move in case.movements):
            notes.append("Axial movement of a hinged pair is shared by both bellows.")
        if any(check.outcome == Outcome.NOT_MET for check in shape):
            named = ", ".join(check.name for check in shape if check.outcome == Outcome.NOT_MET)
            notes.append(f"Outside the limits of the rule set: {named}.")
        if creep.outcome == Outcome.NOT_MET:
            where = " and ".join(
                condition.name for condition in case.conditions if condition.temperature > threshold
            )
            notes.append(
                f"Metal temperature is in the creep range ({where}): the rule set does not cover "
                "it, elastic stresses there are a relative measure only."
            )
        if case.material and self.intake.alloys[at] is None and "material" not in case.missing:
            notes.append(f"Alloy {case.material!r} is not in the tables: strength unknown.")


def refused(case: BellowsCase, reason: str, source: Source) -> BellowsReport:
    """The report of a case that cannot be true: nothing computed, the reason in its notes."""
    check = Check(
        id="input",
        name="Input of the bellows calculation",
        outcome=Outcome.NOT_EVALUATED,
        source=source,
        because=reason,
    )
    return BellowsReport(
        name=case.name,
        basis=case.basis.value,
        figures=(),
        checks=(check,),
        thrust=(),
        valid=False,
        notes=(reason,),
        missing=case.missing,
    )
