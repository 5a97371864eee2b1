"""What a report says about cycles: stresses, allowed and mean cycles, usage."""

from __future__ import annotations

import math
from math import isnan

import numpy as np

from takeup.bellows.casework import Numbers
from takeup.bellows.comparing import compare
from takeup.bellows.intake import Intake, unknown_alloy
from takeup.bellows.model import Basis, BellowsCase, FatigueCurve, Movement, Treatment
from takeup.bellows.pressure_checks import shape_cautions
from takeup.bellows.rules.base import RuleSet
from takeup.checks import Check, Figure, Outcome, Quantity
from takeup.sources import Source, Standing

CREEPING = (
    "Metal temperature is above the creep threshold: no allowable number of cycles exists "
    "without a test or an analysis with hold time."
)
NO_CURVE = "The fatigue curve covers austenitic and nickel alloys only."
NONE_HELD = (
    "The standard's own fatigue constants are not held: give the curve from your copy of it "
    "(fatigue_curve)."
)
MEAN_NOTE = "average life in tests, no margin inside"
SMOOTH = "Smooth convolutions without circumferential or repair welds (Kg = 1)."
FEW = (
    "Fewer cycles than the tests behind the curves reach: the margin of the design curve is not "
    "proven here."
)
TREATED = "The curve comes from as-formed bellows; this one is annealed."
TREATMENT_UNKNOWN = "The curve comes from as-formed bellows; the treatment of this one is unknown."


class Fatigue:
    """Adds figures and checks of movements to the reports of one array pass."""

    def __init__(
        self, intake: Intake, rules: RuleSet, numbers: Numbers, curve: FatigueCurve | None
    ) -> None:
        self.rules, self.intake, self.curve = rules, intake, curve
        self.own = curve is not None and curve is not rules.curve
        self.source = rules.sources["fatigue"]
        if self.own and curve is not None:
            self.source = Source(
                document="Fatigue curve given by the user",
                at=curve.source,
                standing=Standing.UNCERTAIN,
            )
        self.factor = np.asarray(intake.setting.material_factor).tolist()
        self.move = {name: value.tolist() for name, value in numbers.movement.items()}
        self.usage = numbers.case["usage"].tolist()
        self.so_far = numbers.case["usage_so_far"].tolist()
        self.creeping = numbers.case["creeping"].tolist()
        self.shape: dict[str, list[float]] = {
            name: numbers.case[name].tolist()
            for name in ("wall_angle", "C2")
            if name in numbers.case
        }
        self.austenitic = intake.setting.austenitic.tolist()
        self.nickel = intake.setting.nickel.tolist()
        self.working = intake.working.tolist()

    def add(
        self,
        figures: list[Figure],
        checks: list[Check],
        notes: list[str],
        at: int,
        case: BellowsCase,
        first: int,
        lacking: tuple[str, ...],
    ) -> float | None:
        """Append to ``figures``, ``checks`` and ``notes``; return usage where it is known."""
        creeping = self.creeping[at]
        reason = self._reason(at, case, lacking)
        cautions = self._cautions(case) + shape_cautions(self.shape, at)
        for number, move in enumerate(case.movements):
            self._figures(figures, notes, at, case, move, first + number, reason)
            checks.append(self._check(move, first + number, reason, cautions))
        usage = self.usage[at]
        names = [] if not reason else [reason]
        if not case.movements:
            names.append("movements and their cycles")
        elif isnan(usage) and not names:
            names.append(self._unknown(case, first))
        so_far = self.so_far[at]
        if not names and not isnan(so_far):
            figures.append(
                Figure(
                    id="usage_so_far",
                    name="Fatigue damage so far",
                    symbol="U",
                    value=so_far,
                    kind="share",
                    source=self.rules.sources["usage"],
                    note="by the cycles recorded as done",
                )
            )
        total = compare(
            id="usage",
            name="Sum of fatigue damage",
            symbol="U",
            demand=usage if not names else math.nan,
            capacity=1.0,
            kind="share",
            source=self.rules.sources["usage"],
            rules=self.rules,
            inputs=(),
            names=names,
            because="cycles superposed, largest range first, on the design curve",
            cautions=cautions,
        )
        if creeping and case.movements:
            notes.append("Fatigue: elastic stress range is shown as a relative measure only.")
        checks.append(total)
        return total.demand if total.outcome in {Outcome.MET, Outcome.NOT_MET} else None

    def _reason(self, at: int, case: BellowsCase, lacking: tuple[str, ...]) -> str:
        if lacking:
            return ", ".join(lacking)
        if self.intake.alloys[at] is None:
            return unknown_alloy(case)
        if self.creeping[at]:
            return CREEPING
        if self.curve is None:
            return NONE_HELD
        if not (self.austenitic[at] or self.nickel[at] or self.own):
            return NO_CURVE
        if self.working[at] < 0:
            return "operating pressure and bellows metal temperature"
        return ""

    def _unknown(self, case: BellowsCase, first: int) -> str:
        for number in range(len(case.movements)):
            place = first + number
            if isnan(self.move["e"][place]):
                return "length over both bellows"
            if isnan(self.move["x"][place]):
                working = self.working[self.intake.mover[place]]
                return self.intake.metal.fault["modulus"][working] or "stress range"
        return "cycles to count"

    def _cautions(self, case: BellowsCase) -> tuple[str, ...]:
        found = (SMOOTH,) if case.kg is None else (f"Kg = {case.kg:g} as given.",)
        if self.own:
            return (*found, "The fatigue curve is the user's own: its margins are not known here.")
        if case.treatment == Treatment.ANNEALED:
            return (*found, TREATED)
        if case.treatment is None:
            return (*found, TREATMENT_UNKNOWN)
        return found

    def _figures(
        self,
        figures: list[Figure],
        notes: list[str],
        at: int,
        case: BellowsCase,
        move: Movement,
        place: int,
        reason: str,
    ) -> None:
        sources, names = self.rules.sources, self.rules.names
        relative = "a relative measure only: creep range" if self.creeping[at] else ""

        def add(
            id: str, name: str, symbol: str, value: float, kind: str, source: str, note: str = ""
        ) -> None:
            if not isnan(value):
                figures.append(
                    Figure(
                        id=f"{id}@{move.name}",
                        name=name,
                        symbol=symbol,
                        value=value,
                        kind=kind,
                        source=self.source if source == "fatigue" else sources[source],
                        note=note,
                    )
                )

        row = self.move
        plane = ""
        if row["swing_across"][place] != 0.0 or row["swing_far_across"][place] != 0.0:
            angle = math.degrees(row["plane"][place])
            plane = f"on the worst side, {angle:.0f} degrees from the first plane"
        add("e", "Movement range per convolution", "e", row["e"][place], "movement", "e", plane)
        left = row["gap"][place] + row["most_closed"][place]
        add("gap_left", "Gap left between convolutions", "", left, "length", "geometry")
        add("S5", names["S5"], "S5", row["S5"][place], "stress", "S5", relative)
        add("S6", names["S6"], "S6", row["S6"][place], "stress", "S6", relative)
        add("St", names["St"], "St", row["St"][place], "stress", "St", relative)
        if reason:
            return
        add(
            "fatigue_stress", "Stress to enter the curve", "x", row["x"][place], "stress", "fatigue"
        )
        add(
            "design_cycles",
            "Allowed cycles, design curve",
            "N",
            row["design"][place],
            "cycles",
            "fatigue",
            "its margins as its source says"
            if self.own
            else "margins inside: 1.25 on stress, and 3 on cycles by the table's note (2.6 by its constants)",
        )
        mean, span = row["mean"][place], row["St"][place]
        if isnan(self.factor[at]):
            return  # the material factor of nickel alloys is not confirmed: only if it is given
        if case.treatment == Treatment.ANNEALED and self.rules.basis == Basis.EJMA:
            notes.append("Mean cycles not given: the curve holds for as-formed bellows only.")
        elif not isnan(mean):
            note = (
                MEAN_NOTE if 1e3 <= mean <= 1e5 else f"{MEAN_NOTE}; outside the 1e3 to 1e5 tested"
            )
            add("mean_cycles", "Mean cycles in tests", "Nc", mean, "cycles", "mean", note)
        elif not isnan(span):
            notes.append(f"Mean cycles of {move.name}: above test range.")

    def _check(self, move: Movement, place: int, reason: str, cautions: tuple[str, ...]) -> Check:
        stress = self.move["x"][place]
        if self.move["low"][place]:
            cautions = (*cautions, FEW)
        names = [reason] if reason else []
        if not names and isnan(self.move["e"][place]):
            names.append("length over both bellows")
        if not names and not isnan(stress) and move.cycles <= 0.0:
            names.append("cycles to count")
        if not names and isnan(stress):
            working = self.working[self.intake.mover[place]]
            names.append(self.intake.metal.fault["modulus"][working] or "stress range")
        return compare(
            id=f"fatigue@{move.name}",
            name=self.rules.names["fatigue"],
            symbol="N",
            demand=move.cycles if move.cycles > 0.0 else math.nan,
            capacity=math.nan if reason else self.move["design"][place],
            kind="cycles",
            source=self.source,
            rules=self.rules,
            inputs=(
                Quantity(
                    name="Stress to enter the curve",
                    symbol="x",
                    value=stress if not isnan(stress) else None,
                    kind="stress",
                ),
                Quantity(name="Axial movement", symbol="x", value=move.axial, kind="movement"),
                Quantity(name="Lateral movement", symbol="y", value=move.lateral, kind="movement"),
                Quantity(name="Angle", symbol="theta", value=move.angular, kind="angle"),
                *_second_plane(move),
            ),
            names=names,
            because="cycles to count against cycles allowed by the design curve",
            cautions=cautions,
        )


def _second_plane(move: Movement) -> tuple[Quantity, ...]:
    if not (move.lateral_across or move.angular_across):
        return ()
    return (
        Quantity(
            name="Lateral movement, second plane",
            symbol="y2",
            value=move.lateral_across,
            kind="movement",
        ),
        Quantity(
            name="Angle, second plane", symbol="theta2", value=move.angular_across, kind="angle"
        ),
    )
