"""Whatever numbers, units and words a register holds, workbook and CSV bring them back."""

import csv
import datetime as dt
import math
import tempfile
from pathlib import Path

import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from takeup.evidence.facts import InterplyReading
from takeup.fields import specs
from takeup.register import entities as e
from takeup.register import tables, workbook
from takeup.register.exchange import FORMULA_ERRORS
from takeup.register.snapshot import Register
from takeup.units import System, accepted_units, to_si
from tests.register.samples import small

TODAY = dt.date(2026, 11, 25)
WORDS = st.text(
    st.characters(categories=("L", "N", "P", "S", "Zs"), exclude_characters="\u2028\u2029"),
    max_size=30,
).map(lambda text: " ".join(text.split()))
WORDS = WORDS.filter(lambda text: text.upper() not in FORMULA_ERRORS)
"""A text such as #N/A is named as a failed formula when it is read: said, never lost in silence."""
BASE = small()[:6]
"""Site, unit, outage, crews, a line and a joint to refer to."""


def quantity(spec):
    """Numbers that a field may hold, over many orders of size."""
    low = spec.gt if spec.gt is not None else spec.ge
    high = spec.lt if spec.lt is not None else spec.le
    if spec.type == "integer":
        return st.integers(1940 if spec.name == "made" else 1, int(high or 10_000))
    if spec.kind == "temperature":
        return st.floats(50.0, 2000.0)
    if high is not None:
        return st.floats(low or 0.0, high, exclude_min=True, exclude_max=True).filter(
            lambda x: x > 1e-6
        )
    size = st.floats(1e-6, 1e7)
    return size if low is not None and low >= 0 else st.one_of(size, size.map(float.__neg__))


def facts(kind, **fixed):
    """Facts of a kind with every other field drawn, or unknown."""
    fields = {}
    for spec in specs(kind):
        if spec.name in fixed:
            fields[spec.name] = fixed[spec.name]
        elif spec.type in {"number", "integer"}:
            drawn = quantity(spec)
            fields[spec.name] = st.none() | drawn if spec.optional else drawn
        elif spec.type == "choice":
            drawn = st.sampled_from(list(spec.enum))
            fields[spec.name] = st.none() | drawn if spec.optional else drawn
        elif spec.type == "text":
            fields[spec.name] = WORDS
        else:
            fields[spec.name] = st.none()
    return st.fixed_dictionaries(fields).map(lambda given: kind(**given))


def just(value):
    """A field that is not drawn."""
    return st.just(value)


REGISTERS = st.tuples(
    facts(e.Joint, tag=just("J-1"), line=just("L-1")),
    facts(e.Support, tag=just("S-1"), line=just("L-1")),
    facts(e.MovementCase, joint=just("EJ-1"), name=just("start-up")),
    facts(e.Hardware, joint=just("EJ-1"), item=just("rods")),
    facts(e.Quote, joint=just("EJ-1")),
    facts(
        InterplyReading,
        joint=just("EJ-1"), bellows=just("A"), date=just(TODAY),
        minute=st.integers(0, 10_000).map(lambda minute: minute * 60.0),
        pressure=st.floats(-1e5, 1e7),
    ),
)  # fmt: skip


def close(one, other):
    """The same fact, numbers to one part in a thousand million."""
    for spec in specs(type(one)):
        a, b = getattr(one, spec.name), getattr(other, spec.name)
        if isinstance(a, float) and isinstance(b, float):
            assert math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-9), (spec.name, a, b)
        else:
            assert a == b, spec.name


def carry(way, register, system, fresh):
    """Write ``register`` and read it against itself and against ``fresh``."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "r.xlsx"
        if way == "workbook":
            workbook.write(path, register, system)
            return [workbook.read(path, against, today=TODAY) for against in (register, fresh)]
        tables.write(path, register, system)
        return [tables.read(path, against, today=TODAY) for against in (register, fresh)]


@pytest.mark.parametrize("way", ["workbook", "csv"])
@settings(max_examples=25, deadline=None)
@given(system=st.sampled_from(list(System)), drawn=REGISTERS)
def test_any_register_comes_back_whole(way, system, drawn):
    """Exported and read back there is no difference, and an empty site gets every value."""
    plant = e.Plant(id="S", name="A site", units=system, time_zone="Europe/Berlin")
    register = Register([plant, *BASE[1:], *drawn])
    same, fresh = carry(way, register, system, Register([plant]))

    assert same.faults == ()
    assert same.differences == ()
    assert fresh.faults == ()
    rebuilt = Register([plant, *fresh.facts])
    assert len(rebuilt) == len(register)
    for fact in register.everything():
        close(rebuilt.get(type(fact), fact.key), fact)


COLUMNS = [
    (e.Support, spec, {"tag": "S-1", "line": "L-1", "kind": "guide"})
    for spec in specs(e.Support)
    if spec.kind
] + [
    (e.Hardware, spec, {"joint": "EJ-1", "item": "rods", "kind": "tie rod"})
    for spec in specs(e.Hardware)
    if spec.kind and spec.type == "number" and spec.le is None and spec.lt is None
]


@st.composite
def cells(draw):
    """A column, a unit people may write for it, and a number in it that the field allows."""
    kind, spec, others = draw(st.sampled_from(COLUMNS))
    unit = draw(st.sampled_from([unit for unit in accepted_units(spec.kind) if unit]))
    number = draw(st.floats(0.001, 50_000.0))
    if spec.gt is None and spec.ge is None:
        number *= draw(st.sampled_from([1, -1]))
    return kind, spec, others, unit, number


def written(way, kind, spec, others, *, unit, cell):
    """Read one row, written with ``cell`` under a column of ``unit``."""
    with tempfile.TemporaryDirectory() as folder:
        heads = [*others, spec.name]
        row = [*others.values(), cell]
        if way == "csv":
            path = Path(folder) / f"{kind.KIND}.csv"
            with path.open("w", encoding="utf-8", newline="") as stream:
                heads[-1] += f" [{unit}]"
                csv.writer(stream).writerows([heads, row])
            return tables.read(path, Register(BASE), today=TODAY)
        path = Path(folder) / "r.xlsx"
        book = xlsxwriter.Workbook(str(path))
        sheet = book.add_worksheet(kind.TITLE[:31])
        rows = [heads, [""] * len(others) + [unit], heads, row]
        for number, line in enumerate(rows):
            sheet.write_row(number, 0, line)
        book.close()
        return workbook.read(path, Register(BASE), today=TODAY)


@pytest.mark.parametrize("way", ["workbook", "csv"])
@settings(max_examples=25, deadline=None)
@given(cell=cells(), other=st.randoms(use_true_random=False))
def test_any_accepted_unit_is_read_from_the_column_or_the_cell(way, cell, other):
    """A number under a column of its unit, or with its unit in a column of another: one value."""
    kind, spec, others, unit, number = cell
    wanted = to_si(number, unit, spec.kind)
    elsewhere = other.choice([name for name in accepted_units(spec.kind) if name])
    by_column = written(way, kind, spec, others, unit=unit, cell=number)
    by_cell = written(way, kind, spec, others, unit=elsewhere, cell=f"{number!r} {unit}")

    for report in (by_column, by_cell):
        assert report.faults == ()
        assert getattr(report.facts[0], spec.name) == pytest.approx(wanted, rel=1e-12)
