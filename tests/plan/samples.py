"""Small problems, options and outages for the tests of the plan room."""

import datetime as dt
import importlib.util
from pathlib import Path

from takeup.options.model import LongLead, Money, Option, Standing, Task
from takeup.plan.problem import Demand, PackTask, Resource, ScheduleProblem
from takeup.register.entities import OptionName, Outage, OutageState, Shifts
from takeup.sources import practice

MONDAY = dt.datetime(2026, 3, 2, 6)
DAY = 86400.0
PUBLISHED = Path(__file__).parent.parent / "published" / "plan" / "adapter.py"


def benchmarks():
    """The reader of the benchmark data, which lives beside them."""
    spec = importlib.util.spec_from_file_location("published_plan", PUBLISHED)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def task(id, hours, crew="crew", *after, count=1, **more):
    """One task; a crew of None needs nobody."""
    demands = (Demand(crew, count),) if crew else ()
    joint = id.partition("/")[0]
    return PackTask(id=id, joint=joint, name=id, hours=hours, demands=demands, after=after, **more)


def problem(*tasks, crews=None, window=240.0, start=MONDAY):
    """A problem from tasks and {crew: (gangs, shifts)}."""
    crews = crews or {"crew": (1, Shifts.ROUND_THE_CLOCK)}
    resources = tuple(Resource(name=n, count=c, shifts=s) for n, (c, s) in crews.items())
    return ScheduleProblem(tasks=tasks, resources=resources, start=start, window_hours=window)


def money(likely, low=None, high=None):
    """A cost with its range."""
    return Money(
        likely=likely,
        low=likely if low is None else low,
        high=likely if high is None else high,
        estimate_class=4,
        basis="test",
    )


def long_lead(item="bellows", lead=100.0, on_site=28.0, preparation=60.0):
    """Something to be ordered, spans in days."""
    return LongLead(
        item=item,
        lead=lead * DAY,
        lead_low=lead * DAY,
        lead_high=lead * DAY,
        on_site=on_site * DAY,
        preparation=preparation * DAY,
        source=practice(),
    )


def option(joint, name, cost=0.0, *, to_next=0.9, to_second=0.8, hours=0.0, crew=None, **more):
    """One option with at most one task."""
    tasks = (
        (Task(id="work", name="Work", hours=hours, low=hours, high=hours, crew=crew),)
        if hours
        else ()
    )
    given = {
        "standing": Standing.OPEN,
        "why": "",
        "conditions": (),
        "fits_cause": None,
        "chain_hours": hours,
        "needs_outage": name != OptionName.LEAVE,
        "life_words": "",
        "hazards": (),
        "cautions": (),
    }
    return Option(
        joint=joint,
        name=name,
        cost=money(cost),
        tasks=tasks,
        lasts_to_next=to_next,
        lasts_to_second=to_second,
        **(given | more),
    )


def outage(**more):
    """A four-week outage a year ahead."""
    given = {
        "tag": "TA-1",
        "unit": "U-1",
        "state": OutageState.NEXT,
        "start": dt.date(2027, 3, 1),
        "window": 28 * DAY,
    }
    return Outage(**(given | more))
