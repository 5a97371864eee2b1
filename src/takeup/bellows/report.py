"""From arrays to reports: figures, checks with reasons, notes."""

from __future__ import annotations

import math
from math import isnan

import msgspec
import numpy as np

from takeup.bellows import geometry_checks
from takeup.bellows.casework import Numbers
from takeup.bellows.comparing import compare
from takeup.bellows.fatigue_checks import Fatigue
from takeup.bellows.intake import Intake, unknown_alloy
from takeup.bellows.model import (
    Assembly,
    BellowsCase,
    BellowsReport,
    Convolution,
    FatigueCurve,
    Role,
    Side,
    Thrust,
)
from takeup.bellows.pressure_checks import UNKNOWN_TREATMENT, PressureChecks
from takeup.bellows.refusing import WORDS, unknown
from takeup.bellows.rules.base import RuleSet
from takeup.checks import Check, Figure, Outcome, Quantity
from takeup.sources import Source

_FIGURES = (
    ("mean_diameter", "Mean diameter", "Dm", "length", "geometry"),
    ("thinned_ply", "Ply thickness after forming", "tp", "thickness", "geometry"),
    ("metal_area", "Metal area of one convolution", "A", "metal_area", "geometry"),
    ("convoluted_length", "Convoluted length", "Lb", "length", "geometry"),
    ("effective_area", "Effective area", "Ae", "area", "thrust"),
    ("Cr", "Ring contact factor, operating", "Cr", "ratio", "Cr"),
    ("C1", "Chart parameter", "C1", "ratio", "charts"),
    ("C2", "Chart parameter", "C2", "ratio", "charts"),
    ("Cp", "Pressure bending coefficient", "Cp", "ratio", "charts"),
    ("Cf", "Movement membrane coefficient", "Cf", "ratio", "charts"),
    ("Cd", "Movement bending coefficient", "Cd", "ratio", "charts"),
    ("C3", "Table parameter", "C3", "ratio", "charts"),
    ("B1", "Movement membrane coefficient", "B1", "ratio", "charts"),
    ("B2", "Movement bending coefficient", "B2", "ratio", "charts"),
    ("B3", "Axial rate coefficient", "B3", "ratio", "charts"),
    ("axial_rate", "Axial rate of the joint, hot", "Ka", "axial_rate", "rate"),
    ("axial_rate_cold", "Axial rate of the joint, cold", "Ka", "axial_rate", "rate"),
    ("lateral_rate", "Lateral rate of the joint, hot", "Kl", "axial_rate", "rate"),
    ("lateral_rate_cold", "Lateral rate of the joint, cold", "Kl", "axial_rate", "rate"),
    ("angular_rate", "Angular rate of one bellows, hot", "Kth", "angular_rate", "rate"),
    ("angular_rate_cold", "Angular rate of one bellows, cold", "Kth", "angular_rate", "rate"),
)


class Sheet:
    """Builds the reports of one array pass, case by case."""

    def __init__(
        self, intake: Intake, rules: RuleSet, numbers: Numbers, curve: FatigueCurve | None
    ) -> None:
        self.intake, self.rules = intake, rules
        self.case = {name: value.tolist() for name, value in numbers.case.items()}
        self.threshold = np.asarray(intake.setting.threshold).tolist()
        self.formed = intake.setting.as_formed.tolist()
        self.rows = {
            name: np.asarray(value).tolist()
            for name, value in msgspec.structs.asdict(intake.setting.bellows).items()
        }
        count = len(intake.cases)
        self.limits = tuple(
            (
                limit,
                np.broadcast_to(limit.demand, count).tolist(),
                np.broadcast_to(limit.capacity, count).tolist(),
            )
            for limit in numbers.limits
        )
        self.pressure = PressureChecks(intake, rules, self.case, numbers, self.rows)
        self.fatigue = Fatigue(intake, rules, numbers, curve)

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
            if id in self.case and not isnan(value := self.case[id][at])
        ]
        lacking = tuple(WORDS[name] for name in unknown(case))
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
        shape = geometry_checks.checks(at, self.limits, rules, lacking)
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
        torus = self.rules.convolution == Convolution.TOROIDAL
        found = [
            ("Inside diameter", "Db", rows["inside_diameter"][at], "length"),
            ("Mean diameter", "Dm", case["mean_diameter"][at], "length")
            if torus
            else ("Convolution height", "w", rows["height"][at], "length"),
            ("Pitch", "q", rows["pitch"][at], "length"),
            ("Convolutions", "N", rows["convolutions"][at], "count"),
            ("Plies", "n", rows["plies"][at], "count"),
            ("Ply thickness", "t", rows["ply_thickness"][at], "thickness"),
            ("Torus radius", "r" if torus else "rm", rows["torus_radius"][at], "length"),
            ("Ply thickness after forming", "tp", case["thinned_ply"][at], "thickness"),
        ]
        if self.rules.convolution == Convolution.U_REINFORCED:
            found.append(("Area of one ring", "Ar", rows["ring_area"][at], "metal_area"))
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
        if case.torus_radius is None and case.convolution != Convolution.TOROIDAL:
            notes.append("Torus radius not given: taken as q/4, parallel side walls.")
        if case.collar_length > 0.0 and case.collar_thickness > 0.0 and not case.collar_material:
            notes.append(
                "Collar metal unknown: it is taken to have the modulus of the bellows, and hoop "
                "stress of the collar itself is not checked."
            )
        if self.rules.opened_pitch and case.kr is None:
            notes.append(
                "Kr = 1 in S2 and in-plane squirm: movement that opens the pitch raises it; "
                "its formula is not confirmed."
            )
        notes += _geometry_notes(case)
        if case.assembly == Assembly.UNIVERSAL:
            if not case.spool_held:
                notes.append(
                    "Spool not held sideways: each bellows counts as guided, a quarter of the "
                    "fixed-end squirm pressure."
                )
            if any(move.angular > 0.0 for move in case.movements):
                notes.append("Angle of a universal: the whole angle is put on one bellows.")
        notes += _assembly_notes(case)
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


def _geometry_notes(case: BellowsCase) -> list[str]:
    notes = []
    if case.thinnest_ply is not None:
        notes.append(
            f"Least ply thickness measured, {case.thinnest_ply * 1e3:.2f} mm, stands wherever it "
            "is below the thickness after forming."
        )
    if case.convolution == Convolution.U_REINFORCED and case.fastener_area > 0.0:
        notes.append(
            "Rings in halves: their own hoop stress is worked out as if they were whole, which is "
            "never less."
        )
    if case.convolution == Convolution.TOROIDAL and "pitch" not in case.missing:
        notes.append("In-plane squirm is not a failure of toroidal bellows: no check exists.")
    bare = case.collar_length == 0.0 or case.collar_thickness == 0.0
    if bare and case.inside_diameter > 0.0 and case.ply_thickness > 0.0:
        long = case.tangent_length > 0.5 * math.sqrt(case.inside_diameter * case.ply_thickness)
        if long and "tangent_length" not in case.missing and "collar_length" not in case.missing:
            notes.append(
                "The end tangent is longer than half of sqrt(Db t) and has no collar; standards "
                "ask for one at about that length (the factor is from memory: look it up)."
            )
    return notes


_HELD_AXIALLY = frozenset({Assembly.HINGED, Assembly.GIMBAL, Assembly.TIED})
_HELD_SIDEWAYS = frozenset({Assembly.HINGED, Assembly.GIMBAL})


def _assembly_notes(case: BellowsCase) -> list[str]:
    notes = []
    moves = case.movements
    sideways = any(move.lateral or move.lateral_across for move in moves)
    if case.assembly == Assembly.PAIR and any(move.axial for move in moves):
        notes.append("Axial movement of a hinged pair is shared by both bellows.")
    if case.assembly in _HELD_AXIALLY and any(move.axial for move in moves):
        notes.append(
            f"The hardware of a {case.assembly.value} joint holds it axially: the axial movement "
            "given is worked out as it stands; check where it comes from."
        )
    if case.assembly in _HELD_SIDEWAYS and sideways:
        notes.append(
            f"A {case.assembly.value} joint turns about its pins: the lateral movement given is "
            "worked out as it stands; pins off the middle of the bellows cause it."
        )
    if case.assembly == Assembly.HINGED and any(
        move.angular_across or move.lateral_across for move in moves
    ):
        notes.append("A hinged joint turns in one plane only: the second plane needs a gimbal.")
    if case.assembly in {Assembly.BALANCED_ELBOW, Assembly.BALANCED_INLINE}:
        notes.append(
            "Balancing bellows: it shortens by what the flow bellows opens, and lateral and "
            "angular movement pass it by."
            if case.role == Role.BALANCING
            else "Flow bellows of a pressure-balanced joint: it takes the whole axial movement; "
            "its rate and that of the balancing bellows add."
        )
    if case.pressurised == Side.OUTSIDE:
        notes.append("Pressure stands outside: squirm does not apply, buckling does.")
    return notes


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
