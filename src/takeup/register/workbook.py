"""The workbook: one sheet a table, written by Takeup, filled by people, read back whole."""

from __future__ import annotations

import datetime as dt
import html
import re
import zipfile
from pathlib import Path
from typing import Any

from takeup.errors import BadFile
from takeup.fields import FieldSpec, specs
from takeup.register.entities import KINDS
from takeup.register.exchange import (
    NOT_EXCHANGED,
    ImportFault,
    ImportReport,
    Table,
    blank,
    build,
    column_map,
    default_unit,
    nearest,
    shown_cell,
)
from takeup.register.snapshot import Register
from takeup.units import System

TITLE_ROW, UNIT_ROW, NAME_ROW, FIRST_ROW = 0, 1, 2, 3
READ_ME = "Read me"
_SPARE_ROWS = 400

_READ_ME = (
    ("What this is", "The register of a site: one sheet a table, one row a thing."),
    ("Row 1", "Titles. A ● marks a column that every row needs. Point at a title for help."),
    ("Row 2", "Units. You may change a unit here (mm to in); the whole column then has it."),
    ("Row 3", "Names that Takeup reads. Leave them."),
    ("Cells", "A cell may carry its own unit: 25 mm, 1 in, 300 °F. A decimal comma is read."),
    ("Unknown", "Leave it empty. Empty is unknown, never zero."),
    ("Clearing", "An empty cell in a column that is there clears the value. To leave values "
     "as they are, delete the column."),
    ("Dates", "A date cell or 2026-11-25. 03/04/2025 is refused: day and month cannot be told."),
    ("Tags", "Upper and lower case are the same: EJ-1 and ej-1 are one joint."),
    ("Import", "All or nothing: any fault, and nothing is changed. You see every difference "
     "before it is stored."),
    ("Photos and temperature histories", "come as files: see the manual, Record."),
)  # fmt: skip


def write(path: Path, register: Register | None, system: System) -> None:
    """Write the template, filled with ``register`` when there is one.

    The file appears whole or not at all.
    """
    import xlsxwriter

    temporary = path.with_name(path.name + ".new")
    book = xlsxwriter.Workbook(str(temporary), {"remove_timezone": True})
    book.set_properties({"title": "Takeup register", "created": dt.datetime(2026, 1, 1)})  # noqa: DTZ001
    styles = _styles(book)
    cover = book.add_worksheet(READ_ME)
    cover.set_column(0, 0, 34)
    cover.set_column(1, 1, 100)
    for row, (left, right) in enumerate(_READ_ME):
        cover.write_string(row, 0, left, styles["title"])
        cover.write_string(row, 1, right, styles["wrap"])
    for kind, fact_type in KINDS.items():
        if kind in NOT_EXCHANGED:
            continue
        sheet = book.add_worksheet(fact_type.TITLE[:31])
        sheet.freeze_panes(FIRST_ROW, len(fact_type.KEY))
        facts = register.all(fact_type) if register is not None else ()
        for column, spec in enumerate(specs(fact_type)):
            _head(book, sheet, column, spec, system, styles, len(facts))
            for row, fact in enumerate(facts, FIRST_ROW):
                _cell(sheet, row, column, shown_cell(spec, fact, system), styles)
        sheet.set_row(NAME_ROW, None, styles["name"])
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(TITLE_ROW, UNIT_ROW)
    book.close()
    temporary.replace(path)


def _styles(book: Any) -> dict[str, Any]:
    return {
        "title": book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1}),
        "unit": book.add_format({"italic": True, "font_color": "#444444"}),
        "name": book.add_format({"font_color": "#808080", "font_size": 8, "bottom": 2}),
        "wrap": book.add_format({"text_wrap": True, "valign": "top"}),
        "date": book.add_format({"num_format": "yyyy-mm-dd"}),
    }


def _head(
    book: Any,
    sheet: Any,
    column: int,
    spec: FieldSpec,
    system: System,
    styles: dict[str, Any],
    facts: int,
) -> None:
    title = ("● " if not spec.optional else "") + spec.title
    sheet.write_string(TITLE_ROW, column, title, styles["title"])
    unit = default_unit(spec, system)
    sheet.write_string(UNIT_ROW, column, unit or _hint(spec), styles["unit"])
    sheet.write_string(NAME_ROW, column, spec.name, styles["name"])
    sheet.set_column(column, column, min(40, max(11, len(spec.title) * 0.6 + 4)))
    note = spec.help or ""
    if spec.refers:
        note = (note + f" Name of a row of {spec.refers.replace('_', ' ')}.").strip()
    if note:
        sheet.write_comment(TITLE_ROW, column, note)
    if spec.type == "choice":
        listed = list(spec.choices)
        if len(",".join(listed)) <= 255 and not any("," in choice for choice in listed):
            source: Any = listed
        else:  # a list longer than the format allows, or with commas, stands on its own sheet
            source = _choices_sheet(book, spec)
        sheet.data_validation(
            FIRST_ROW,
            column,
            FIRST_ROW + facts + _SPARE_ROWS,
            column,
            {
                "validate": "list",
                "source": source,
                "error_title": "Not one of the choices",
                "error_message": "Choose from the list, or leave the cell empty.",
            },
        )


def _choices_sheet(book: Any, spec: FieldSpec) -> str:
    sheet = book.get_worksheet_by_name("Choices")
    if sheet is None:
        sheet = book.add_worksheet("Choices")
        sheet.hide()
        sheet.takeup_columns = {}
    columns = sheet.takeup_columns
    if spec.choices not in columns:
        columns[spec.choices] = len(columns)
        for row, choice in enumerate(spec.choices):
            sheet.write_string(row, columns[spec.choices], choice)
    from xlsxwriter.utility import xl_col_to_name

    letter = xl_col_to_name(columns[spec.choices])
    return f"=Choices!${letter}$1:${letter}${len(spec.choices)}"


def _hint(spec: FieldSpec) -> str:
    return {"date": "date", "datetime": "time", "choice": "choose", "integer": "number"}.get(
        spec.type, ""
    )


def _cell(sheet: Any, row: int, column: int, value: Any, styles: dict[str, Any]) -> None:
    if value is None:
        return
    if isinstance(value, dt.datetime):
        sheet.write_string(row, column, value.isoformat())
    elif isinstance(value, dt.date):
        midnight = dt.datetime.combine(value, dt.time())
        sheet.write_datetime(row, column, midnight, styles["date"])
    elif isinstance(value, (int, float)):
        sheet.write_number(row, column, value)
    else:
        sheet.write_string(row, column, str(value))  # never as a formula


def read(path: Path, register: Register, *, today: dt.date | None = None) -> ImportReport:
    """Read a filled workbook and compare it with ``register``; stores nothing.

    Raises :class:`takeup.errors.BadFile` when the file is no workbook.
    """
    from python_calamine import CalamineError, CalamineWorkbook

    try:
        book = CalamineWorkbook.from_path(str(path))
    except FileNotFoundError:
        raise BadFile(f"there is no file {path}") from None
    except (CalamineError, OSError, ValueError) as fault:
        raise BadFile(
            f"{path.name} cannot be read as a workbook ({fault}); save it as .xlsx and try again"
        ) from fault
    failed = _failed_cells(path)
    titles = {fact.TITLE[:31].casefold(): kind for kind, fact in KINDS.items()}
    titles |= {kind: kind for kind in KINDS}
    faults: list[ImportFault] = []
    tables: list[Table] = []
    for name in book.sheet_names:
        if name.casefold() in {READ_ME.casefold(), "choices"}:
            continue
        kind = titles.get(name.casefold())
        if kind is None or kind in NOT_EXCHANGED:
            faults.append(
                ImportFault(
                    sheet=name,
                    row=0,
                    column="",
                    value="",
                    wrong="no table of this name can be imported",
                    right=nearest(name, [KINDS[k].TITLE for k in KINDS if k not in NOT_EXCHANGED])
                    + ", or the sheet removed",
                )
            )
            continue
        sheet = book.get_sheet_by_name(name)
        rows = sheet.to_python(skip_empty_area=False)
        for (row, column), said in failed.get(name, {}).items():
            rows += [[] for _ in range(row + 1 - len(rows))]
            rows[row] += [""] * (column + 1 - len(rows[row]))
            rows[row][column] = said
        merged = bool(getattr(sheet, "merged_cell_ranges", None))
        _table(kind, name, rows, merged, register.system, tables, faults)
    return build(tables, register, source=path.name, faults=faults, today=today)


def _table(
    kind: str,
    sheet: str,
    rows: list[list[Any]],
    merged: bool,
    system: System,
    tables: list[Table],
    faults: list[ImportFault],
) -> None:
    from takeup.units import accepted_units

    head = _head_row(kind, rows)
    if head is None:
        if any(not blank(cell) for row in rows for cell in row):
            faults.append(
                ImportFault(
                    sheet=sheet,
                    row=1,
                    column="",
                    value="",
                    wrong="no row with the column names was found in the first ten rows",
                    right="the rows of titles, units and names as in the template",
                )
            )
        return
    found, strange = column_map(kind, rows[head])
    titles = [name for spec in specs(KINDS[kind]) for name in (spec.title, spec.name)]
    faults += [
        ImportFault(
            sheet=sheet,
            row=head + 1,
            column=name,
            value="",
            wrong="no such column in this table",
            right=f"{nearest(name, titles)}, or the column removed",
        )
        for name in strange
    ]
    by_name = {spec.name: spec for spec in specs(KINDS[kind])}
    units = {}
    for place, name in found.items():
        spec = by_name[name]
        units[name] = default_unit(spec, system)
        if not spec.kind:
            continue
        written = rows[UNIT_ROW][place] if head == NAME_ROW and len(rows) > UNIT_ROW else ""
        text = str(written or "").strip()
        if text and text != "number":
            from takeup.errors import TakeupError
            from takeup.units import to_si

            try:
                to_si(1.0, text, spec.kind)
                units[name] = text
            except TakeupError as wrong:
                accepted = ", ".join(unit for unit in accepted_units(spec.kind) if unit)
                faults.append(
                    ImportFault(
                        sheet=sheet,
                        row=UNIT_ROW + 1,
                        column=spec.title,
                        value=text,
                        wrong=str(wrong),
                        right=accepted,
                    )
                )
    read = []
    places = sorted(found)
    for number, cells in enumerate(rows[head + 1 :], head + 2):
        if all(blank(cells[place]) if place < len(cells) else True for place in places):
            continue
        read.append(
            (
                number,
                {found[place]: cells[place] if place < len(cells) else None for place in places},
            )
        )
    tables.append(
        Table(
            kind=kind,
            sheet=sheet,
            units=units,
            columns={name: by_name[name].title for name in found.values()},
            rows=read,
            merged=merged,
        )
    )


_SHEET = re.compile(r"<(?:\w+:)?sheet\s[^>]*>")
_RELATION = re.compile(r"<(?:\w+:)?Relationship\s[^>]*>")
_ATTRIBUTE = re.compile(r'([\w:]+)\s*=\s*"([^"]*)"')
_FAILED = re.compile(
    r'<(?:\w+:)?c(?=\s[^>]*\bt="e")\s[^>]*\br="([A-Z]+)([0-9]+)"[^>/]*>.*?<(?:\w+:)?v>(.*?)<',
    re.DOTALL,
)


def _failed_cells(path: Path) -> dict[str, dict[tuple[int, int], str]]:
    """Cells of an .xlsx whose formula failed, by sheet, row and column.

    The reader hands them over as empty, and empty would clear what the register holds.
    """
    found: dict[str, dict[tuple[int, int], str]] = {}
    if not zipfile.is_zipfile(path):
        return found
    with zipfile.ZipFile(path) as archive:
        held = set(archive.namelist())
        if not {"xl/workbook.xml", "xl/_rels/workbook.xml.rels"} <= held:
            return found
        relations = archive.read("xl/_rels/workbook.xml.rels").decode("utf-8", "replace")
        targets = {
            one.get("Id", ""): one.get("Target", "")
            for one in (dict(_ATTRIBUTE.findall(tag)) for tag in _RELATION.findall(relations))
        }
        for tag in _SHEET.findall(archive.read("xl/workbook.xml").decode("utf-8", "replace")):
            given = dict(_ATTRIBUTE.findall(tag))
            target = targets.get(given.get("r:id", ""), "")
            part = target.lstrip("/") if target.startswith("/") else f"xl/{target}"
            if part not in held:
                continue
            data = archive.read(part)
            if b't="e"' not in data:
                continue
            found[html.unescape(given.get("name", ""))] = {
                (int(row) - 1, _column_number(letters)): html.unescape(said)
                for letters, row, said in _FAILED.findall(data.decode("utf-8", "replace"))
            }
    return found


def _column_number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number - 1


def _head_row(kind: str, rows: list[list[Any]]) -> int | None:
    """The row that names the columns: field names if they are there, else titles."""
    best: tuple[int, int] | None = None
    for place, row in enumerate(rows[:10]):
        found, _ = column_map(kind, [str(cell or "").replace("●", "") for cell in row])
        if len(found) > (best[1] if best else 0):
            best = (place, len(found))
    if best is None:
        return None
    if len(rows) > NAME_ROW:
        found, _ = column_map(kind, rows[NAME_ROW])
        if len(found) >= best[1]:
            return NAME_ROW
    return best[0]
