"""Workbook and CSV carry the register without loss, and name every fault by its cell."""

import datetime as dt
import time

import pytest
import xlsxwriter

from takeup.errors import BadFile
from takeup.fields import specs
from takeup.register import tables, workbook
from takeup.register.entities import KINDS, Joint, JointType, Line
from takeup.register.exchange import NOT_EXCHANGED
from takeup.register.snapshot import Register
from takeup.units import System
from tests.register.samples import small

TODAY = dt.date(2026, 11, 25)


def sheet_file(path, sheets):
    """Write a workbook of plain rows: {sheet name: rows}."""
    book = xlsxwriter.Workbook(str(path))
    for name, rows in sheets.items():
        sheet = book.add_worksheet(name)
        for number, row in enumerate(rows):
            for column, cell in enumerate(row):
                if cell is not None:
                    sheet.write(number, column, cell)
    book.close()
    return path


def joints(*rows, head=("tag", "line", "type", "position"), units=("", "", "choose", "m")):
    """Rows of a sheet Joints, with its three head rows."""
    return [list(head), list(units), list(head), *map(list, rows)]


def read(path, register=None):
    """Read a workbook against a register that knows line L-1."""
    return workbook.read(path, register or Register(small()), today=TODAY)


@pytest.mark.parametrize("system", list(System))
def test_workbook_round_trip_loses_nothing(tmp_path, system):
    """What is exported and read back is the same, in metric and US units alike."""
    register = Register(small(system))
    workbook.write(tmp_path / "r.xlsx", register, system)

    against_full = workbook.read(tmp_path / "r.xlsx", register, today=TODAY)
    assert against_full.faults == ()
    assert against_full.differences == ()

    against_empty = workbook.read(tmp_path / "r.xlsx", Register(small(system)[:1]), today=TODAY)
    assert against_empty.faults == ()
    rebuilt = Register([small(system)[0], *against_empty.facts])
    for fact in small(system):
        assert same(rebuilt.get(type(fact), fact.key), fact)


@pytest.mark.parametrize("system", list(System))
def test_csv_round_trip_loses_nothing(tmp_path, system):
    """The same by plain CSV."""
    register = Register(small(system))
    tables.write(tmp_path, register, system)

    assert tables.read(tmp_path, register, today=TODAY).differences == ()
    fresh = tables.read(tmp_path, Register(small(system)[:1]), today=TODAY)
    assert fresh.faults == ()
    rebuilt = Register([small(system)[0], *fresh.facts])
    for fact in small(system):
        assert same(rebuilt.get(type(fact), fact.key), fact)


def same(one, other):
    """Equal, numbers to one part in a thousand million."""
    for spec in specs(type(one)):
        a, b = getattr(one, spec.name), getattr(other, spec.name)
        if isinstance(a, float) and isinstance(b, float):
            assert a == pytest.approx(b, rel=1e-9, abs=1e-12), spec.name
        else:
            assert a == b, spec.name
    return True


def test_the_template_has_every_table_and_a_units_row(tmp_path):
    """One sheet a table, titles, units, names, and nothing for kinds that come as files."""
    from python_calamine import CalamineWorkbook

    workbook.write(tmp_path / "t.xlsx", None, System.US)
    book = CalamineWorkbook.from_path(str(tmp_path / "t.xlsx"))

    for kind, fact in KINDS.items():
        if kind in NOT_EXCHANGED:
            assert fact.TITLE not in book.sheet_names
            continue
        rows = book.get_sheet_by_name(fact.TITLE).to_python()
        assert rows[2] == [spec.name for spec in specs(fact)]
    bellows = book.get_sheet_by_name("Bellows").to_python()
    assert bellows[1][bellows[2].index("height")] == "in"


def test_a_difference_is_shown_before_anything_is_stored(tmp_path):
    """Re-import updates by tag and says old and new in the site's units."""
    path = sheet_file(
        tmp_path / "r.xlsx",
        {
            "Joints": joints(
                ["ej-1", "L-1", "universal tied", 12.5], ["EJ-2", "l-1", "gimbal", None]
            )
        },
    )
    report = read(path)

    assert report.faults == ()
    assert [(d.key, d.action) for d in report.differences] == [
        ("ej-1", "changed"),
        ("EJ-2", "new"),
    ]
    assert ("position", "unknown", "12.5\u00a0m") in [
        (change.name, change.old, change.new) for change in report.differences[0].fields
    ]


def test_a_missing_column_keeps_the_value_and_an_empty_cell_clears_it(tmp_path):
    """So a person may update one column without wiping the others."""
    register = Register(small())
    path = sheet_file(
        tmp_path / "r.xlsx",
        {
            "Joints": joints(
                ["EJ-1", "L-1", "universal tied", None],
                head=("tag", "line", "type", "made"),
                units=("", "", "", ""),
            )
        },
    )
    (fact,) = read(path, register).facts

    assert fact.made is None
    assert fact.installed == dt.date(2009, 5, 17)


def test_cells_and_the_units_row_may_say_their_unit(tmp_path):
    """25 ft in a metre column, and a column turned to feet by its unit cell."""
    path = sheet_file(
        tmp_path / "r.xlsx",
        {
            "Joints": joints(
                ["EJ-5", "L-1", "single", "25 ft"],
                ["EJ-6", "L-1", "single", 10],
                units=("", "", "", "ft"),
            )
        },
    )
    found = {fact.tag: fact.position for fact in read(path).facts}

    assert found == {"EJ-5": pytest.approx(7.62), "EJ-6": pytest.approx(3.048)}


BAD_ROWS = [
    (["EJ-1", "L-1", "univrsal", 1], "Type", "did you mean 'universal'"),
    (["EJ-1", "L-9", "single", 1], "Line", "no line of this name"),
    ([None, "L-1", "single", 1], "Joint", "empty, but every row needs it"),
    (["EJ-1", "L-1", "single", "12 bar"], "Distance along the line", "not one for distance"),
    (["EJ-1", "L-1", "single", "1,234"], "Distance along the line", "may mean"),
    (["EJ-1", "L-1", "single", -3], "Distance along the line", "too small"),
    (["EJ-1", "L-1", "single", "#REF!"], "Distance along the line", "formula"),
]


@pytest.mark.parametrize(("row", "column", "wrong"), BAD_ROWS)
def test_each_bad_cell_is_named_with_what_is_wrong_and_right(tmp_path, row, column, wrong):
    """The report points at sheet, row and column."""
    path = sheet_file(tmp_path / "r.xlsx", {"Joints": joints(["EJ-9", "L-1", "single", 1], row)})
    report = read(path)

    (fault,) = report.faults
    assert (fault.sheet, fault.row, fault.column) == ("Joints", 5, column)
    assert wrong in fault.wrong + fault.right
    assert fault.right
    assert not report.clean


def test_all_faults_of_a_file_are_collected(tmp_path):
    """One look at the report shows everything to mend."""
    path = sheet_file(tmp_path / "r.xlsx", {"Joints": joints(*[row for row, _, _ in BAD_ROWS])})

    assert read(path).fault_count >= len(BAD_ROWS)


def test_tags_that_differ_only_in_case_are_one_and_named(tmp_path):
    """EJ-7 and ej-7 in one file are refused, naming the other row."""
    path = sheet_file(
        tmp_path / "r.xlsx",
        {"Joints": joints(["EJ-7", "L-1", "single", 1], ["ej-7", "L-1", "single", 2])},
    )
    (fault,) = read(path).faults

    assert "row 4" in fault.wrong
    assert "'EJ-7'" in fault.wrong


@pytest.mark.parametrize(
    ("text", "said"),
    [("03/04/2025", "cannot be told apart"), ("2025-02-30", "no such date"), (45000, "a number")],
)
def test_dates_that_cannot_be_told_are_refused(tmp_path, text, said):
    """Day and month are not guessed, and impossible days are named."""
    head = ("tag", "line", "type", "installed")
    path = sheet_file(
        tmp_path / "r.xlsx",
        {"Joints": joints(["EJ-3", "L-1", "single", text], head=head, units=("",) * 4)},
    )
    (fault,) = read(path).faults

    assert said in fault.wrong


def test_ten_thousand_empty_rows_cost_nothing(tmp_path):
    """A sheet formatted to row 10,000 reads quickly and yields its one row."""
    book = xlsxwriter.Workbook(str(tmp_path / "r.xlsx"))
    sheet = book.add_worksheet("Joints")
    bold = book.add_format({"bold": True})
    for number, row in enumerate(joints(["EJ-3", "L-1", "single", 1])):
        sheet.write_row(number, 0, row)
    for number in range(4, 10_004):
        for column in range(4):
            sheet.write_blank(number, column, None, bold)
    book.close()
    start = time.perf_counter()
    report = read(tmp_path / "r.xlsx")

    assert report.faults == ()
    assert len(report.facts) == 1
    assert time.perf_counter() - start < 5


def test_formulas_give_their_value_and_merged_cells_are_named(tmp_path):
    """A formula's stored value is read; a merged key says so in the fault."""
    book = xlsxwriter.Workbook(str(tmp_path / "r.xlsx"))
    sheet = book.add_worksheet("Joints")
    for number, row in enumerate(joints(["EJ-3", "L-1", "single", None])):
        sheet.write_row(number, 0, row)
    sheet.write_formula(3, 3, "=1+1", None, 2)
    sheet.merge_range(4, 0, 5, 0, "EJ-4", None)
    sheet.write_row(4, 1, ["L-1", "single", 3])
    sheet.write_row(5, 1, ["L-1", "gimbal", 4])
    book.close()
    report = read(tmp_path / "r.xlsx")

    (fault,) = report.faults
    assert (fault.row, fault.column) == (6, "Joint")
    assert "merged" in fault.wrong
    assert report.facts == () or {fact.tag for fact in report.facts} >= {"EJ-3"}


ERRORS = ("#REF!", "#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#VALUE!")


@pytest.mark.parametrize("error", ERRORS)
def test_a_formula_that_failed_is_a_fault_and_not_an_empty_cell(tmp_path, error):
    """An error cell of a spreadsheet is named; taken as empty it would clear the value."""
    book = xlsxwriter.Workbook(str(tmp_path / "r.xlsx"))
    book.add_worksheet("Read me").write_formula(0, 0, "=1/0", None, error)
    sheet = book.add_worksheet("Joints")
    rows = joints(
        ["EJ-1", "L-1", "single", None],
        head=("tag", "line", "type", "made"),
        units=("", "", "", ""),
    )
    for number, row in enumerate(rows):
        sheet.write_row(number, 0, row)
    sheet.write_formula(3, 3, "=1/0", None, error)
    book.close()
    (fault,) = read(tmp_path / "r.xlsx").faults

    assert (fault.sheet, fault.row, fault.column) == ("Joints", 4, "Year made")
    assert (fault.value, fault.wrong) == (error, "the formula in this cell gives an error")


@pytest.mark.parametrize("text", ["#12", "#A1", "#", "#REF", "#BOTTOM ROD!"])
def test_text_that_begins_with_a_hash_is_text(tmp_path, text):
    """Only what a spreadsheet shows for a failed formula counts as one."""
    (tmp_path / "joint.csv").write_text(f"tag,line,type,name\nEJ-3,L-1,single,{text}\n")
    report = tables.read(tmp_path / "joint.csv", Register(small()), today=TODAY)

    assert report.faults == ()
    assert report.facts[0].name == text


def test_unknown_sheets_and_columns_are_faults_with_the_nearest_name(tmp_path):
    """A misspelt sheet is never skipped in silence."""
    path = sheet_file(
        tmp_path / "r.xlsx",
        {
            "Jionts": [["a"]],
            "Joints": joints(["EJ-3", "L-1", "single", 1], head=("tag", "line", "type", "positon")),
        },
    )
    faults = read(path).faults

    assert "'Joints'" in faults[0].right
    assert faults[1].column == "positon"
    assert "position" in faults[1].right or "Distance" in faults[1].right


def test_contradictions_are_found_on_the_register_as_it_would_be(tmp_path):
    """Operating above design pressure is refused even when one of the two is stored already."""
    path = sheet_file(
        tmp_path / "r.xlsx",
        {
            "Lines": [
                ["tag", "unit", "name", "service", "operating_pressure"],
                ["", "", "", "", "bar"],
                ["tag", "unit", "name", "service", "operating_pressure"],
                ["L-1", "U1", "flue gas", "cold-wall catalyst or flue gas", 5.0],
            ]
        },
    )
    (fault,) = read(path).faults

    assert fault.column == "Operating pressure (gauge)"
    assert "above design pressure" in fault.wrong


@pytest.mark.parametrize("content", [b"", b"not a workbook", b"PK\x03\x04 broken"])
def test_a_file_that_is_no_workbook_is_said_so(tmp_path, content):
    """No traceback: the file, what it is not, and what to do."""
    path = tmp_path / "r.xlsx"
    path.write_bytes(content)
    with pytest.raises(BadFile, match=r"r\.xlsx cannot be read as a workbook"):
        read(path)


@pytest.mark.parametrize(
    "data",
    [
        b"tag,line,type,position\nEJ-3,L-1,single,1.5\n",
        "tag;line;type;position\r\nEJ-3;L-1;single;1,5\r\n".encode("utf-8-sig"),
        "tag\tline\ttype\tposition [m]\nEJ-3\tL-1\tsingle\t1,5\n".encode("utf-16"),
        "tag;line;type;position [cm];note\nEJ-3;L-1;single;150;für\n".encode("cp1252"),
    ],
    ids=["plain", "bom-semicolon-comma", "utf16-tab", "cp1252"],
)
def test_csv_dialects_are_understood(tmp_path, data):
    """Byte order mark, semicolons, tabs, decimal commas and old encodings read the same."""
    (tmp_path / "joint.csv").write_bytes(data)
    report = tables.read(tmp_path / "joint.csv", Register(small()), today=TODAY)

    assert report.faults == ()
    assert report.facts[0].position == pytest.approx(1.5)


def test_a_column_title_broken_over_lines_is_read(tmp_path):
    """Spreadsheets break long titles; name and unit are still told apart."""
    path = tmp_path / "joint.csv"
    path.write_text('tag,line,type,"position\n[mm]"\nEJ-1,L-1,gimbal,12500\n', "utf-8")

    report = tables.read(path, Register(small()), today=TODAY)
    assert report.faults == ()
    assert [fact.position for fact in report.facts] == [12.5]


def test_text_with_formulas_and_quotes_survives(tmp_path):
    """A note that starts like a formula stays text and is never computed."""
    register = Register(small())
    workbook.write(tmp_path / "r.xlsx", register, System.METRIC)
    report = workbook.read(tmp_path / "r.xlsx", Register(small()[:1]), today=TODAY)
    joint = next(fact for fact in report.facts if isinstance(fact, Joint))

    assert joint.note == register.get(Joint, "EJ-1").note


def test_two_thousand_joints_are_examined_in_seconds(tmp_path):
    """Bound, not a benchmark."""
    many = [
        *small(),
        *(Joint(tag=f"J-{n}", line="L-1", type=JointType.SINGLE) for n in range(2000)),
    ]
    workbook.write(tmp_path / "r.xlsx", Register(many), System.METRIC)
    start = time.perf_counter()
    report = workbook.read(tmp_path / "r.xlsx", Register(small()), today=TODAY)

    assert len(report.facts) == 2000
    assert time.perf_counter() - start < 15


def test_the_register_finds_by_tag_without_regard_to_case():
    """A misspelt tag is answered with the nearest."""
    register = Register(small())

    assert register.get(Line, "l-1").tag == "L-1"
    with pytest.raises(Exception, match="EJ-1"):
        register.get(Joint, "EJ1")
