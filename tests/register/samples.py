"""A small register with one of nearly everything, for exchange tests."""

import datetime as dt

from takeup.evidence import facts as f
from takeup.register import entities as e
from takeup.units import System


def small(system=System.METRIC):
    """Facts that refer to each other soundly."""
    return [
        e.Plant(id="S", name="A site", units=system, time_zone="Europe/Berlin"),
        e.ProcessUnit(tag="U1", name="Unit one", loss_per_day=5e5),
        e.Outage(
            tag="2027",
            unit="U1",
            state=e.OutageState.NEXT,
            start=dt.date(2027, 10, 1),
            window=30 * 86400.0,
            budget=3.2e6,
            budget_close=dt.date(2027, 1, 15),
            reserve=0.15,
        ),
        e.CrewSupply(
            outage="2027", crew=e.Crew.BELLOWS_WELDERS, gangs=2, shifts=e.Shifts.TWO_BY_TEN
        ),
        e.Line(
            tag="L-1",
            unit="U1",
            name="flue gas",
            service=e.ServiceClass.COLD_WALL_CATALYST,
            phase=e.Phase.GAS_SOLIDS,
            flammable=e.YesNo.NO,
            diameter=1.5,
            wall=0.0127,
            design_pressure=3.5e5,
            operating_pressure=2.2e5,
            gas_temperature=993.15,
            water=0.12,
            so3=1e-5,
        ),
        e.Joint(
            tag="EJ-1",
            line="L-1",
            type=e.JointType.UNIVERSAL_TIED,
            wall=e.Wall.COLD,
            installed=dt.date(2009, 5, 17),
            made=2008,
            note='quotes " and, commas; =SUM(A1)\nand a second line',
        ),
        e.BellowsElement(
            joint="EJ-1",
            letter="A",
            inside_diameter=1.56,
            height=0.0571234567,
            pitch=0.05,
            convolutions=8,
            plies=2,
            ply_thickness=0.0012,
            material="alloy 625",
        ),
        e.MovementCase(
            joint="EJ-1",
            role=e.MovementRole.RATED,
            name="design",
            axial=-0.04,
            lateral=0.02,
            angular=0.01,
            cycles=1000,
        ),
        e.Support(tag="A-1", line="L-1", kind=e.SupportKind.MAIN_ANCHOR, capacity=6e5),
        e.LifeEvent(joint="EJ-1", date=dt.date(2015, 3, 1), kind=e.EventKind.TRIP, count=3),
        f.Visit(
            id="2026-hot",
            unit="U1",
            kind=f.VisitKind.HOT,
            date=dt.date(2026, 10, 1),
            inspector="A. Engineer",
            ambient=288.15,
        ),
        f.Observation(visit="2026-hot", joint="EJ-1", item="HB1", grade=2, text="slight bow"),
        f.MarkReading(
            visit="2026-hot",
            joint="EJ-1",
            quantity=f.MarkQuantity.FACE,
            clock=12,
            state=f.LineState.HOT,
            length=2.4125,
        ),
        f.InterplyTest(joint="EJ-1", bellows="A", date=dt.date(2024, 4, 2), fills=3),
        f.InterplyReading(
            joint="EJ-1", bellows="A", date=dt.date(2024, 4, 2), minute=300.0, pressure=49500.0
        ),
        e.Quote(joint="EJ-1", option=e.OptionName.REPLACE, cost=8.5e5, lead=200 * 86400.0),
    ]
