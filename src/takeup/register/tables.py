"""Plain CSV, one file a table: written exactly, read forgivingly where nothing can be mistaken."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from pathlib import Path
from typing import Any

from takeup.errors import BadFile, TakeupError
from takeup.fields import specs
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
from takeup.units import System, to_si

_UNIT = re.compile(r"\[([^\[\]]*)\]\s*$")


def write(folder: Path, register: Register, system: System) -> list[Path]:
    """Write every table that holds something as ``<kind>.csv`` with units in the heads."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for kind, fact_type in KINDS.items():
        facts = register.all(fact_type)
        if not facts:
            continue
        fields = specs(fact_type)
        path = folder / f"{kind}.csv"
        temporary = path.with_suffix(".new")
        with temporary.open("w", encoding="utf-8", newline="") as stream:
            writer = csv.writer(stream)
            writer.writerow(
                [
                    f"{spec.name} [{unit}]" if (unit := default_unit(spec, system)) else spec.name
                    for spec in fields
                ]
            )
            for fact in facts:
                writer.writerow([_text(shown_cell(spec, fact, system)) for spec in fields])
        temporary.replace(path)
        written.append(path)
    return written


def _text(cell: Any) -> str:
    if cell is None:
        return ""
    if isinstance(cell, float):
        return repr(cell)
    if isinstance(cell, (dt.date, dt.datetime)):
        return cell.isoformat()
    return str(cell)


def read(path: Path, register: Register, *, today: dt.date | None = None) -> ImportReport:
    """Read one ``<kind>.csv`` or a folder of them and compare with ``register``.

    Understands a byte order mark, semicolons or tabs, decimal commas, UTF-8 or
    Windows-1252.  Raises :class:`takeup.errors.BadFile` when there is nothing to read.
    """
    if path.is_dir():
        files = sorted(path.glob("*.csv"))
        if not files:
            raise BadFile(f"{path} holds no .csv file")
    elif path.exists():
        files = [path]
    else:
        raise BadFile(f"there is no file {path}")
    faults: list[ImportFault] = []
    tables: list[Table] = []
    notes: list[str] = []
    for file in files:
        kind = file.stem.casefold()
        if kind not in KINDS:
            known = [k for k in KINDS if k not in NOT_EXCHANGED]
            faults.append(
                ImportFault(
                    sheet=file.name,
                    row=0,
                    column="",
                    value="",
                    wrong="the file name is not that of a table",
                    right=f"{nearest(kind, known)} and .csv",
                )
            )
            continue
        if kind in NOT_EXCHANGED:
            notes.append(f"{file.name} was left out: it comes with files of its own")
            continue
        tables.append(_table(kind, file, register.system, faults))
    return build(tables, register, source=path.name, faults=faults, notes=notes, today=today)


def decoded(data: bytes, name: str) -> str:
    """Decode a text file: UTF-8 with or without mark, UTF-16 with mark, else Windows-1252."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16")
    if b"\x00" in data[:4096]:
        raise BadFile(f"{name} is not a text file; save it as CSV (UTF-8)")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def separator(text: str) -> str:
    """The column separator: the one of ; tab , that the first line holds most of."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    return max(";\t,", key=lambda mark: (first.count(mark), mark == ","))


def _name_and_unit(cell: str) -> tuple[str, str]:
    """A column's title and the unit in brackets after it, "" when none is given."""
    unit = _UNIT.search(cell)
    name = cell[: unit.start()] if unit else cell
    # a title may be broken over lines in a spreadsheet
    return " ".join(name.split()), unit[1].strip() if unit else ""


def _table(kind: str, file: Path, system: System, faults: list[ImportFault]) -> Table:
    text = decoded(file.read_bytes(), file.name)
    reader = csv.reader(io.StringIO(text), delimiter=separator(text))
    try:
        rows = list(reader)
    except csv.Error as wrong:
        raise BadFile(f"{file.name}, line {reader.line_num}: {wrong}") from wrong
    by_name = {spec.name: spec for spec in specs(KINDS[kind])}
    table = Table(kind=kind, sheet=file.name, units={}, columns={}, rows=[])
    head = next(
        (place for place, row in enumerate(rows) if any(cell.strip() for cell in row)), None
    )
    if head is None:
        return table
    split = [_name_and_unit(cell) for cell in rows[head]]
    found, strange = column_map(kind, [name for name, _ in split])
    titles = list(by_name)
    faults += [
        ImportFault(
            sheet=file.name,
            row=head + 1,
            column=name,
            value="",
            wrong="no such column in this table",
            right=f"{nearest(name, titles)}, or the column removed",
        )
        for name in strange
    ]
    for place, name in found.items():
        spec = by_name[name]
        written = split[place][1]
        table.units[name] = written or default_unit(spec, system)
        table.columns[name] = spec.title
        if written and spec.kind:
            try:
                to_si(1.0, written, spec.kind)
            except TakeupError as wrong:
                faults.append(
                    ImportFault(
                        sheet=file.name,
                        row=head + 1,
                        column=spec.title,
                        value=written,
                        wrong=str(wrong),
                        right=default_unit(spec, system) or "no unit",
                    )
                )
                table.units[name] = default_unit(spec, system)
    for number, row in enumerate(rows[head + 1 :], head + 2):
        if all(blank(cell) for cell in row):
            continue
        if len(row) > len(split) and any(not blank(cell) for cell in row[len(split) :]):
            faults.append(
                ImportFault(
                    sheet=file.name,
                    row=number,
                    column="",
                    value="",
                    wrong=f"{len(row)} cells, but {len(split)} columns",
                    right="text that holds the separator put in quotes",
                )
            )
            continue
        table.rows.append(
            (
                number,
                {
                    name: row[place] if place < len(row) else None
                    for place, name in sorted(found.items())
                },
            )
        )
    return table
