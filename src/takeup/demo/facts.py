"""The invented demo site as facts: a cracking unit of 24 joints on 8 lines. Nothing is real."""

from __future__ import annotations

import datetime as dt
from typing import Any

import msgspec

from takeup.fields import Fact
from takeup.register import entities as e
from takeup.units import System

UNIT = "CU-1"
BAR = 1e5
C = 273.15


def celsius(value: float) -> float:
    """Kelvin."""
    return value + C


class Times(msgspec.Struct, frozen=True, kw_only=True):
    """All dates of the demo, relative to today."""

    today: dt.date

    def back(self, years: float) -> dt.date:
        """A date some years ago."""
        return self.today - dt.timedelta(days=round(years * 365.25))

    @property
    def past(self) -> tuple[dt.date, dt.date]:
        """Starts of the two outages behind."""
        return self.back(8.2), self.back(4.1)

    def installed(self, age: float) -> dt.date:
        """A date some years ago; near an outage, its second day: before tests and start-up."""
        date = self.back(age)
        for start in self.past:
            if abs((date - start).days) <= 60:
                return start + dt.timedelta(days=1)
        return date

    @property
    def next(self) -> dt.date:
        """Start of the next outage: eleven months ahead."""
        return self.today + dt.timedelta(days=335)

    @property
    def second(self) -> dt.date:
        """Start of the one after."""
        return self.next + dt.timedelta(days=4 * 365)

    @property
    def walked(self) -> dt.date:
        """The hot walk done last week."""
        return self.today - dt.timedelta(days=7)


def site(times: Times) -> list[Fact]:
    """Site, unit, outages, crews."""
    past = [
        e.Outage(
            tag=f"TA-{start.year}",
            unit=UNIT,
            state=e.OutageState.PAST,
            start=start,
            window=30 * 86400.0,
        )
        for start in times.past
    ]
    return [
        e.Plant(
            id="demo",
            name="Demonstration site (invented)",
            units=System.METRIC,
            currency="USD",
            price_date=times.back(0.3),
            time_zone="UTC",
        ),
        e.ProcessUnit(tag=UNIT, name="Cracking unit 1", loss_per_day=420e3),
        *past,
        e.Outage(
            tag=f"TA-{times.next.year}",
            unit=UNIT,
            state=e.OutageState.NEXT,
            start=times.next,
            window=32 * 86400.0,
            budget=6.4e6,
            budget_close=times.next - dt.timedelta(days=270),
            scope_freeze=times.next - dt.timedelta(days=300),
            hot_walk=times.walked,
            reserve=0.15,
        ),
        e.Outage(
            tag=f"TA-{times.second.year}",
            unit=UNIT,
            state=e.OutageState.LATER,
            start=times.second,
            window=32 * 86400.0,
        ),
        *(
            e.CrewSupply(outage=f"TA-{times.next.year}", crew=crew, gangs=gangs, shifts=shifts)
            for crew, gangs, shifts in (
                (e.Crew.SCAFFOLD, 3, e.Shifts.TWO_BY_TEN),
                (e.Crew.INSULATION, 3, e.Shifts.DAYS),
                (e.Crew.FITTERS, 5, e.Shifts.TWO_BY_TEN),
                (e.Crew.CRANE, 1, e.Shifts.TWO_BY_TEN),
                (e.Crew.BELLOWS_WELDERS, 3, e.Shifts.TWO_BY_TEN),
                (e.Crew.NDE, 2, e.Shifts.TWO_BY_TEN),
                (e.Crew.REFRACTORY, 2, e.Shifts.DAYS),
                (e.Crew.TEST, 2, e.Shifts.TWO_BY_TEN),
            )
        ),
    ]


class LinePlan(msgspec.Struct, frozen=True, kw_only=True):
    """A line with what its joints have in common."""

    line: e.Line
    wall: e.Wall
    bellows: dict[str, Any]
    supports: tuple[tuple[str, e.SupportKind, float], ...]


def lines() -> tuple[LinePlan, ...]:
    """The eight lines."""
    flue: dict[str, Any] = {"water": 0.11, "so3": 12e-6, "so2": 450e-6}
    gas: dict[str, Any] = {
        "unit": UNIT,
        "phase": e.Phase.GAS_SOLIDS,
        "flammable": e.YesNo.NO,
        "toxic": e.YesNo.YES,
        "solids": e.YesNo.YES,
    }
    a, g, r, s, v, n = (
        e.SupportKind.MAIN_ANCHOR,
        e.SupportKind.GUIDE,
        e.SupportKind.REST,
        e.SupportKind.VARIABLE_SPRING,
        e.SupportKind.CONSTANT_SPRING,
        e.SupportKind.NOZZLE,
    )
    return (
        LinePlan(
            line=e.Line(
                tag="11-RC",
                name="Regenerated catalyst standpipe",
                service=e.ServiceClass.COLD_WALL_CATALYST,
                media="regenerated catalyst and flue gas",
                diameter=1.372,
                wall=0.0127,
                pipe_material="A516-70",
                design_pressure=3.4 * BAR,
                operating_pressure=2.1 * BAR,
                design_temperature=celsius(760),
                gas_temperature=celsius(715),
                shell_temperature=celsius(165),
                leak_outage=9 * 86400.0,
                consequence="hot catalyst falls below the joint; escape stairs pass it",
                **gas,
                **flue,
            ),
            wall=e.Wall.COLD,
            bellows=_bellows(1.42, 0.060, 0.052, 8, 0.0014, 280, 340),
            supports=(
                ("11-N1", n, 0), ("11-G1", g, 9.2), ("11-S1", s, 9.9),
                ("11-V1", v, 14), ("11-G2", g, 14.8), ("11-A1", a, 24),
            ),
        ),
        LinePlan(
            line=e.Line(
                tag="12-SC",
                name="Spent catalyst standpipe",
                service=e.ServiceClass.COLD_WALL_CATALYST,
                media="spent catalyst and stripping steam",
                diameter=1.219,
                wall=0.0127,
                pipe_material="A516-70",
                design_pressure=3.4 * BAR,
                operating_pressure=2.3 * BAR,
                design_temperature=celsius(600),
                gas_temperature=celsius(540),
                leak_outage=8 * 86400.0,
                consequence="hydrocarbon vapour and hot catalyst",
                **(gas | {"flammable": e.YesNo.YES}),
                water=0.55,
            ),
            wall=e.Wall.COLD,
            bellows=_bellows(1.27, 0.057, 0.050, 8, 0.0014, 275, 340),
            supports=(
                ("12-N1", n, 0), ("12-G1", g, 4.8), ("12-G3", g, 6.4), ("12-S1", s, 10),
                ("12-G2", g, 16), ("12-A1", a, 21),
            ),
        ),
        LinePlan(
            line=e.Line(
                tag="13-FG",
                name="Flue gas to the separators",
                service=e.ServiceClass.COLD_WALL_CATALYST,
                media="flue gas with fines",
                diameter=1.626,
                wall=0.0127,
                pipe_material="A516-70",
                design_pressure=2.8 * BAR,
                operating_pressure=1.7 * BAR,
                design_temperature=celsius(760),
                gas_temperature=celsius(705),
                shell_temperature=celsius(172),
                leak_outage=6 * 86400.0,
                consequence="carbon monoxide and fines at the platforms",
                **gas,
                **flue,
            ),
            wall=e.Wall.COLD,
            bellows=_bellows(1.68, 0.062, 0.055, 7, 0.0014, 265, 340),
            supports=(
                ("13-N1", n, 0), ("13-G1", g, 6.8), ("13-V1", v, 15), ("13-A1", a, 26.3),
                ("13-G2", g, 33.3), ("13-S1", s, 40.5), ("13-A2", n, 51.8),
            ),
        ),
        LinePlan(
            line=e.Line(
                tag="14-EI",
                name="Expander inlet",
                service=e.ServiceClass.EXPANDER,
                media="flue gas",
                diameter=1.219,
                wall=0.0127,
                pipe_material="304H",
                design_pressure=2.8 * BAR,
                operating_pressure=1.6 * BAR,
                design_temperature=celsius(760),
                gas_temperature=celsius(690),
                shell_temperature=celsius(668),
                leak_outage=7 * 86400.0,
                consequence="loss of the expander train",
                **(gas | {"phase": e.Phase.GAS, "solids": e.YesNo.NO}),
                **flue,
            ),
            wall=e.Wall.UNLINED,
            bellows=_bellows(1.26, 0.056, 0.050, 9, 0.0014, 402, 420),
            supports=(
                ("14-A1", a, 0), ("14-V1", v, 6), ("14-V2", v, 13.6), ("14-N1", n, 20),
            ),
        ),
        LinePlan(
            line=e.Line(
                tag="15-EO",
                name="Expander outlet",
                service=e.ServiceClass.EXPANDER,
                media="flue gas",
                diameter=1.829,
                wall=0.0095,
                pipe_material="304H",
                design_pressure=0.8 * BAR,
                operating_pressure=0.15 * BAR,
                design_temperature=celsius(620),
                gas_temperature=celsius(505),
                shell_temperature=celsius(488),
                leak_outage=5 * 86400.0,
                consequence="hot gas at the turbine deck",
                **(gas | {"phase": e.Phase.GAS, "solids": e.YesNo.NO}),
                **flue,
            ),
            wall=e.Wall.UNLINED,
            bellows=_bellows(1.88, 0.060, 0.055, 6, 0.0012, 360, 420),
            supports=(
                ("15-N1", n, 0), ("15-S1", s, 7.6), ("15-G1", g, 15), ("15-A1", a, 22.4),
            ),
        ),
        LinePlan(
            line=e.Line(
                tag="16-TS",
                name="Third-stage separator underflow and bypass",
                service=e.ServiceClass.HOT_WALL_OLDER,
                media="flue gas with fines",
                diameter=0.914,
                wall=0.0127,
                pipe_material="304H",
                design_pressure=2.8 * BAR,
                operating_pressure=1.7 * BAR,
                design_temperature=celsius(760),
                gas_temperature=celsius(690),
                shell_temperature=celsius(655),
                leak_outage=4 * 86400.0,
                consequence="hot fines at grade",
                **gas,
                **flue,
            ),
            wall=e.Wall.HOT,
            bellows=_bellows(0.95, 0.048, 0.042, 7, 0.0012, 388, 420, "800H"),
            supports=(
                ("16-N1", n, 0), ("16-G1", g, 5.5), ("16-V1", v, 10), ("16-A2", a, 10.9),
                ("16-A1", a, 15.6),
            ),
        ),
        LinePlan(
            line=e.Line(
                tag="17-FX",
                unit=UNIT,
                name="Feed and slurry exchangers",
                service=e.ServiceClass.EXCHANGER,
                media="heavy oil",
                phase=e.Phase.LIQUID,
                flammable=e.YesNo.YES,
                toxic=e.YesNo.NO,
                solids=e.YesNo.YES,
                diameter=0.864,
                wall=0.0127,
                pipe_material="A516-70",
                design_pressure=12 * BAR,
                operating_pressure=6.5 * BAR,
                test_pressure=18 * BAR,
                design_temperature=celsius(385),
                gas_temperature=celsius(330),
                shell_temperature=celsius(325),
                leak_outage=3 * 86400.0,
                consequence="hot oil above its ignition temperature",
            ),
            wall=e.Wall.UNLINED,
            bellows=_bellows(0.87, 0.038, 0.036, 4, 0.0020, 325, 385, "316"),
            supports=(
                ("17-N1", n, 0), ("17-A1", a, 1.5), ("17-R1", r, 6), ("17-R2", r, 16.8),
                ("17-A2", a, 21.3), ("17-N2", n, 22.8),
            ),
        ),
        LinePlan(
            line=e.Line(
                tag="18-ST",
                unit=UNIT,
                name="Steam main",
                service=e.ServiceClass.STEAM,
                media="steam",
                phase=e.Phase.VAPOUR,
                flammable=e.YesNo.NO,
                toxic=e.YesNo.NO,
                solids=e.YesNo.NO,
                diameter=0.610,
                wall=0.0127,
                pipe_material="A106-B",
                design_pressure=10 * BAR,
                operating_pressure=7.0 * BAR,
                test_pressure=15 * BAR,
                design_temperature=celsius(300),
                gas_temperature=celsius(230),
                shell_temperature=celsius(228),
                leak_outage=2 * 86400.0,
                consequence="steam at a walkway",
                chlorides=e.YesNo.NO,
            ),
            wall=e.Wall.UNLINED,
            bellows=_bellows(0.62, 0.040, 0.036, 14, 0.0014, 228, 300, "321"),
            supports=(
                ("18-A1", a, 0), ("18-G1", g, 4), ("18-R1", r, 8), ("18-G2", g, 14),
                ("18-R2", r, 14), ("18-A2", a, 20), ("18-G3", g, 24), ("18-R3", r, 28),
                ("18-R4", r, 34), ("18-A3", a, 40), ("18-G4", g, 44), ("18-R5", r, 48),
                ("18-R6", r, 54), ("18-A4", a, 60),
            ),
        ),
    )  # fmt: skip


def _bellows(
    diameter: float,
    height: float,
    pitch: float,
    convolutions: int,
    ply: float,
    metal: float,
    design: float,
    alloy: str = "alloy 625",
) -> dict[str, Any]:
    return {
        "inside_diameter": diameter,
        "height": height,
        "pitch": pitch,
        "convolutions": convolutions,
        "plies": 2,
        "ply_thickness": ply,
        "tangent_length": 0.03,
        "material": alloy,
        "heat_treatment": e.HeatTreatment.AS_FORMED,
        "forming": e.Forming.HYDRAULIC,
        "weld_factor": 1.0,
        "test_port": e.YesNo.YES,
        "redundant": e.YesNo.YES,
        "metal_temperature": celsius(metal),
        "design_metal_temperature": celsius(design),
    }
