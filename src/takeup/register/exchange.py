"""What workbook and CSV share: cells to facts, with every fault named by its cell. Pure."""

from __future__ import annotations

import datetime as dt
import difflib
import functools
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import msgspec

from takeup.errors import TakeupError
from takeup.fields import Fact, FieldSpec, specs
from takeup.register.contradictions import contradictions, incomplete
from takeup.register.entities import KINDS
from takeup.register.revisions import FieldChange, fact_differences
from takeup.register.snapshot import Register, dangling
from takeup.units import System, from_si, parse, symbol, to_si

NOT_EXCHANGED = frozenset(
    {"photo", "temperature_series", "line_model", "wall_model", "attachment_model"}
)
"""Kinds that come with a file of their own and are not typed into a table."""

FORMULA_ERRORS = frozenset({"#REF!", "#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#VALUE!"})
"""What a spreadsheet shows for a formula that failed; other text may begin with # too."""

FAULTS_SHOWN = 500


class Cell(msgspec.Struct, frozen=True, kw_only=True):
    """Where a value stood in a file."""

    sheet: str
    row: int
    column: str


class ImportFault(msgspec.Struct, frozen=True, kw_only=True):
    """One thing that keeps a file from being imported: where, what, what is wrong, what is right."""

    sheet: str
    row: int
    column: str
    value: str
    wrong: str
    right: str

    def __str__(self) -> str:
        place = f"{self.sheet}" + (f", row {self.row}" if self.row else "")
        place += f", {self.column}" if self.column else ""
        said = f" {self.value!r}:" if self.value else ""
        return f"{place}:{said} {self.wrong}. Right would be: {self.right}."


class Difference(msgspec.Struct, frozen=True, kw_only=True):
    """What an import would do to one fact."""

    kind: str
    key: str
    action: str
    """``new`` or ``changed``."""
    fields: tuple[FieldChange, ...]


class ImportReport(msgspec.Struct, frozen=True, kw_only=True):
    """What a file holds, compared with the register; nothing is stored by making one."""

    source: str
    faults: tuple[ImportFault, ...]
    fault_count: int
    differences: tuple[Difference, ...]
    facts: tuple[Fact, ...]
    """Only facts that are new or changed."""
    counts: tuple[tuple[str, int, int, int], ...]
    """(kind, rows read, new, changed)."""
    notes: tuple[str, ...] = ()
    last_change: int = 0
    """The newest change of the register that was compared with; 0 when it has none."""

    @property
    def clean(self) -> bool:
        """Whether it may be committed."""
        return self.fault_count == 0


class Table(msgspec.Struct, kw_only=True):
    """One sheet or CSV as read: raw cells by field, with where they stood."""

    kind: str
    sheet: str
    units: dict[str, str]
    columns: dict[str, str]
    """Field name to the column's name as a person sees it."""
    rows: list[tuple[int, dict[str, Any]]]
    merged: bool = False


def default_unit(spec: FieldSpec, system: System) -> str:
    """The unit that a column has unless it says otherwise."""
    return symbol(spec.kind, system) if spec.kind else ""


def nearest(name: str, known: Iterable[str]) -> str:
    """A hint at the nearest of ``known``."""
    near = difflib.get_close_matches(str(name), list(known), n=1, cutoff=0.5)
    return f"{near[0]!r}" if near else "one of " + ", ".join(sorted(known)[:12])


def column_map(kind: str, heads: Sequence[Any]) -> tuple[dict[int, str], list[str]]:
    """Match column heads with fields by field name or title; returns unknown heads too."""
    known = {}
    for spec in specs(KINDS[kind]):
        known[spec.name.casefold()] = spec.name
        known[spec.title.casefold()] = spec.name
    found: dict[int, str] = {}
    strange = []
    for place, head in enumerate(heads):
        text = str(head or "").replace("*", "").strip()
        if not text:
            continue
        name = known.get(text.casefold())
        if name is None:
            strange.append(text)
        elif name in found.values():
            strange.append(f"{text} (twice)")
        else:
            found[place] = name
    return found, strange


def build(
    tables: Sequence[Table],
    register: Register,
    *,
    source: str,
    faults: Sequence[ImportFault] = (),
    notes: Sequence[str] = (),
    today: dt.date | None = None,
) -> ImportReport:
    """Turn tables into facts, and compare them with ``register``.

    Every fault of every cell is collected.  References and contradictions are judged on the
    register as it would be after the import.
    """
    found: list[ImportFault] = list(faults)
    made: dict[tuple[str, str], tuple[Fact, Cell]] = {}
    counts: dict[str, list[int]] = {}
    for table in tables:
        fact_type = KINDS[table.kind]
        counts.setdefault(table.kind, [0, 0, 0])
        by_name = {spec.name: spec for spec in specs(fact_type)}
        absent = [
            spec.title
            for spec in by_name.values()
            if not spec.optional and spec.name not in table.columns
        ]
        if absent and table.rows:
            found.append(
                ImportFault(
                    sheet=table.sheet,
                    row=0,
                    column=", ".join(absent),
                    value="",
                    wrong="a column that every row needs is missing",
                    right="the column with this title, as in the template",
                )
            )
            continue
        for row, cells in table.rows:
            counts[table.kind][0] += 1
            fact, wrong = _fact(fact_type, by_name, table, row, cells, register)
            found += wrong
            if fact is None:
                continue
            place = (fact.KIND, fact.key.casefold())
            if place in made:
                other, cell = made[place]
                spelling = "" if other.key == fact.key else f" (written {other.key!r} there)"
                found.append(
                    ImportFault(
                        sheet=table.sheet,
                        row=row,
                        column=", ".join(by_name[name].title for name in fact.KEY),
                        value=fact.key,
                        wrong=f"the same as row {cell.row} of {cell.sheet}{spelling}",
                        right="each once; tags that differ only in case are the same",
                    )
                )
                continue
            made[place] = (fact, Cell(sheet=table.sheet, row=row, column=""))
    facts = [fact for fact, _ in made.values()]
    after = register.with_facts(facts)
    found += _whole(facts, after, made, tables, today)
    differences = []
    changed = []
    for fact in facts:
        stored = register.find(type(fact), fact.key)
        if stored == fact:
            continue
        changed.append(fact)
        counts[fact.KIND][2 if stored is not None else 1] += 1
        differences.append(
            Difference(
                kind=fact.KIND,
                key=fact.key,
                action="changed" if stored is not None else "new",
                fields=fact_differences(stored, fact, after.system),
            )
        )
    return ImportReport(
        source=source,
        faults=tuple(found[:FAULTS_SHOWN]),
        fault_count=len(found),
        differences=tuple(differences),
        facts=tuple(changed),
        counts=tuple((kind, n[0], n[1], n[2]) for kind, n in counts.items()),
        notes=(*notes, *_questions(facts, after)),
    )


def _questions(facts: Sequence[Fact], after: Register) -> tuple[str, ...]:
    """What stands out about the facts read, without being wrong."""
    read = {(fact.KIND, fact.key.casefold()) for fact in facts}
    return tuple(
        f"{q.fact.key}: {q.wrong}; expected: {q.right}"
        for q in incomplete(after)
        if (q.fact.KIND, q.fact.key.casefold()) in read
    )


def _whole(
    facts: Sequence[Fact],
    after: Register,
    made: Mapping[tuple[str, str], tuple[Fact, Cell]],
    tables: Sequence[Table],
    today: dt.date | None,
) -> list[ImportFault]:
    titles = {table.kind: table.columns for table in tables}
    found = []
    for loose in dangling(after, facts):
        _, cell = made[loose.fact.KIND, loose.fact.key.casefold()]
        known = [fact.key for fact in after.all(KINDS[loose.refers])]
        near = nearest(loose.value, known) if known else "nothing is there yet: add it first"
        found.append(
            ImportFault(
                sheet=cell.sheet,
                row=cell.row,
                column=titles[loose.fact.KIND].get(loose.field, loose.field),
                value=loose.value,
                wrong=f"no {loose.refers.replace('_', ' ')} of this name is in the file or register",
                right=near,
            )
        )
    for fault in contradictions(after, facts, today):
        _, cell = made[fault.fact.KIND, fault.fact.key.casefold()]
        value = getattr(fault.fact, fault.field)
        found.append(
            ImportFault(
                sheet=cell.sheet,
                row=cell.row,
                column=titles[fault.fact.KIND].get(fault.field, fault.field),
                value="" if value is None else str(value),
                wrong=fault.wrong,
                right=fault.right,
            )
        )
    return found


def _fact(
    fact_type: type[Fact],
    by_name: Mapping[str, FieldSpec],
    table: Table,
    row: int,
    cells: Mapping[str, Any],
    register: Register,
) -> tuple[Fact | None, list[ImportFault]]:
    faults: list[ImportFault] = []

    def fault(name: str, value: Any, wrong: str, right: str) -> None:
        faults.append(
            ImportFault(
                sheet=table.sheet,
                row=row,
                column=table.columns.get(name, name),
                value="" if value is None else str(value),
                wrong=wrong,
                right=right,
            )
        )

    values: dict[str, Any] = {}
    for name, raw in cells.items():
        spec = by_name[name]
        if blank(raw):
            if not spec.optional:
                hint = "; cells of this sheet are merged: unmerge them" if table.merged else ""
                fault(name, None, f"empty, but every row needs it{hint}", _wanted(spec))
            values[name] = None
            continue
        try:
            values[name] = value(spec, raw, table.units.get(name, ""))
        except TakeupError as wrong:
            fault(name, raw, str(wrong), _wanted(spec))
    if faults:
        return None, faults
    key = "/".join(_key_part(values.get(name)) for name in fact_type.KEY)
    stored = register.find(fact_type, key)
    filled: dict[str, Any] = {}
    for field in _fields(fact_type):
        if field.name in values:
            new = values[field.name]
            if new is None and not field.required and field.default is not None:
                continue  # an empty cell of a field with a default falls back to it
            old = getattr(stored, field.name) if stored is not None else None
            if isinstance(new, float) and isinstance(old, float) and _same(new, old):
                new = old  # what was exported and read back is no change
            filled[field.name] = new
        elif stored is not None:
            filled[field.name] = getattr(stored, field.name)
    try:
        return fact_type(**filled), []
    except TakeupError as wrong:
        fault(fact_type.KEY[0], key, str(wrong), "values that can be true together")
    except TypeError as wrong:
        fault(fact_type.KEY[0], key, f"incomplete ({wrong})", "all required columns filled")
    return None, faults


@functools.cache
def _fields(fact_type: type[Fact]) -> tuple[msgspec.structs.FieldInfo, ...]:
    """Looked up once a kind: reading the annotations takes longer than reading a row."""
    return msgspec.structs.fields(fact_type)


def _same(one: float, other: float) -> bool:
    return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-12)


def _key_part(part: Any) -> str:
    if part is None:
        return "-"
    if isinstance(part, float):
        return f"{part:.10g}"
    if isinstance(part, (dt.date, dt.datetime)):
        return part.isoformat()
    return str(getattr(part, "value", part))


def _wanted(spec: FieldSpec) -> str:
    if spec.type == "choice":
        return "one of " + ", ".join(spec.choices)
    if spec.type == "date":
        return "a date such as 2026-11-25"
    if spec.type == "datetime":
        return "a time such as 2026-11-25 14:30+00:00"
    if spec.type in {"number", "integer"}:
        what = "a whole number" if spec.type == "integer" else "a number"
        span = [
            f"{sign} {bound:g}"
            for sign, bound in ((">", spec.gt), ("≥", spec.ge), ("<", spec.lt), ("≤", spec.le))
            if bound is not None
        ]
        limits = f" ({' and '.join(span)} in SI)" if span else ""
        return f"{what}{limits}, alone or with its unit"
    return "text"


def blank(raw: Any) -> bool:
    """Whether a cell counts as empty."""
    return raw is None or (isinstance(raw, str) and not raw.strip())


def value(spec: FieldSpec, raw: Any, unit: str) -> Any:
    """Read one cell into the field's type; raises TakeupError saying what is wrong."""
    if isinstance(raw, str) and raw.strip().upper() in FORMULA_ERRORS:
        raise TakeupError("the formula in this cell gives an error")
    if spec.type in {"number", "integer"}:
        return _number(spec, raw, unit)
    if spec.type == "choice":
        return _choice(spec, raw)
    if spec.type == "date":
        return _date(raw)
    if spec.type == "datetime":
        return _datetime(raw)
    if isinstance(raw, float) and raw.is_integer():
        return str(int(raw))
    if isinstance(raw, (dt.date, dt.datetime)):
        return raw.isoformat()
    return str(raw).strip()


def _number(spec: FieldSpec, raw: Any, unit: str) -> float | int:
    if isinstance(raw, (bool, dt.date, dt.time)):
        raise TakeupError("not a number")
    if isinstance(raw, (int, float)):
        read = to_si(float(raw), unit, spec.kind) if spec.kind else float(raw)
    elif spec.kind:
        read = parse(str(raw), spec.kind, unit)
    else:
        read = parse(str(raw), "ratio", "")
    if not math.isfinite(read):
        raise TakeupError("not a finite number")
    for broken, words in (
        (spec.gt is not None and read <= spec.gt, "too small"),
        (spec.ge is not None and read < spec.ge, "too small"),
        (spec.lt is not None and read >= spec.lt, "too large"),
        (spec.le is not None and read > spec.le, "too large"),
    ):
        if broken:
            raise TakeupError(words)
    if spec.type == "integer":
        if abs(read - round(read)) > 1e-9:
            raise TakeupError("not a whole number")
        return round(read)
    return read


def _choice(spec: FieldSpec, raw: Any) -> Any:
    text = " ".join(str(raw).split()).casefold()
    for choice in spec.choices:
        if choice.casefold() == text:
            assert spec.enum is not None
            return spec.enum(choice)
    near = difflib.get_close_matches(text, [c.casefold() for c in spec.choices], n=1, cutoff=0.5)
    hint = f"; did you mean {near[0]!r}" if near else ""
    raise TakeupError(f"not one of the choices{hint}")


def _date(raw: Any) -> dt.date:
    if isinstance(raw, dt.datetime):
        return raw.date()
    if isinstance(raw, dt.date):
        return raw
    if isinstance(raw, (int, float)):
        raise TakeupError("a number, not a date; format the cell as a date")
    text = str(raw).strip()
    for pattern in ("%Y-%m-%d", "%d %b %Y", "%d %B %Y", "%d-%b-%Y"):
        try:
            return dt.datetime.strptime(text, pattern).date()  # noqa: DTZ007 - a date has no zone
        except ValueError:
            continue
    if any(mark in text for mark in "/."):
        raise TakeupError("day and month cannot be told apart")
    raise TakeupError("no such date")


def _datetime(raw: Any) -> dt.datetime:
    if isinstance(raw, dt.datetime):
        made = raw
    else:
        try:
            made = dt.datetime.fromisoformat(str(raw).strip())
        except ValueError:
            raise TakeupError("not a time") from None
    if made.tzinfo is None:
        raise TakeupError("a time without time zone")
    return made.astimezone(dt.UTC)


def shown_cell(spec: FieldSpec, fact: Fact, system: System) -> Any:
    """A field of a fact as it is written to a file: number in the site's unit, date, or text."""
    raw = getattr(fact, spec.name)
    if raw is None or raw == "":
        return None
    if spec.type in {"number", "integer"}:
        if not spec.kind:
            return raw
        number = float(from_si(float(raw), spec.kind, system))
        return int(number) if spec.type == "integer" else float(f"{number:.13g}")
    if spec.type == "choice":
        return str(raw.value)
    return raw
