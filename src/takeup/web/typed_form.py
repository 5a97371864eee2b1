"""Forms for typed inputs: fields from their declaration, in groups, read back with every fault.

A field is named by its path with hyphens: ``pitch``, ``rods-count``, ``conditions-0-pressure``.
"""

from __future__ import annotations

import enum
import math
import re
import types
from collections.abc import Collection, Mapping, Sequence
from typing import Any, Generic, NamedTuple, TypeVar, Union, get_args, get_origin, get_type_hints

import msgspec

from takeup.fields import FieldSpec, specs
from takeup.given import Fault, take
from takeup.units import System, from_si, symbol

T = TypeVar("T", bound=msgspec.Struct)


class Group(NamedTuple):
    """Fields that belong together."""

    id: str
    title: str
    fields: tuple[str, ...]
    words: str = ""
    only: tuple[str, ...] = ()
    """Values of the layout's deciding field for which the group means something; none: all."""
    folded: bool = False
    """Whether it is closed until something in it is filled."""


class Rows(NamedTuple):
    """A table of like rows."""

    name: str
    title: str
    word: str
    """What one row is."""
    most: int
    words: str = ""
    offers: tuple[str, ...] = ()
    """Names offered in rows that are still empty."""
    after: str = ""
    """Id of the group behind which it stands; empty: at the end."""


class Reading(NamedTuple):
    """What a form said."""

    value: Any
    faults: dict[str, str]
    """What is wrong, by field; under ``""`` what belongs to none."""
    raw: dict[str, Any]
    unused: tuple[str, ...]
    """Titles of filled fields that mean nothing for what was chosen."""


class Layout(Generic[T]):
    """How one type of input is laid out as a form."""

    def __init__(
        self,
        kind: type[T],
        groups: Sequence[Group],
        rows: Sequence[Rows] = (),
        *,
        titles: Mapping[str, str] | None = None,
        decides: str = "",
        not_for: Mapping[str, tuple[str, ...]] | None = None,
    ) -> None:
        """Lay out ``kind``.

        ``decides`` names the choice on which groups depend, ``not_for`` the fields that mean
        nothing for some of its values.
        """
        self.kind, self.groups, self.rows = kind, tuple(groups), tuple(rows)
        self.decides, self.not_for = decides, dict(not_for or {})
        titles = titles or {}
        self.specs: dict[str, FieldSpec] = {}
        self.blank: dict[str, bool] = {}
        for group in groups:
            for name in group.fields:
                spec, default = _find(kind, name)
                self.specs[name] = msgspec.structs.replace(
                    spec,
                    title=titles.get(name, spec.title),
                    kind=spec.kind or _item_kind(kind, name),
                )
                self.blank[name] = default is None or default is msgspec.NODEFAULT
        self.row_specs: dict[str, tuple[FieldSpec, ...]] = {}
        for table in rows:
            struct = _struct_of(kind, table.name)
            self.row_specs[table.name] = specs(struct)
            for field in msgspec.structs.fields(struct):
                empty = field.default is None or field.default is msgspec.NODEFAULT
                self.blank[f"{table.name}-{field.name}"] = empty

    def behind(self, group: str) -> tuple[Rows, ...]:
        """Tables that stand behind a group; those behind none for ``""``."""
        return tuple(table for table in self.rows if table.after == group)

    def may_be_blank(self, name: str) -> bool:
        """Whether a choice may be left open; else it has a default."""
        return self.blank[re.sub(r"-\d+-", "-", name)]

    def shown_for(self, name: str) -> str:
        """Values of the deciding field for which a field is shown, as the page needs them."""
        out = self.not_for.get(name, ())
        if not out:
            return ""
        return "|".join(c for c in self.specs[self.decides].choices if c not in out)

    def label(self, spec: FieldSpec, system: System) -> str:
        """The title of a field with its unit."""
        unit = symbol(spec.kind, system) if spec.kind else ""
        return f"{spec.title}, {unit}" if unit and unit != "cycles" else spec.title

    def titled(self, field: str) -> str:
        """A field of the form in words, for the list of faults."""
        if field in self.specs:
            return self.specs[field].title
        for table in self.rows:
            if field.startswith(f"{table.name}-"):
                at, _, name = field.removeprefix(f"{table.name}-").partition("-")
                for spec in self.row_specs[table.name]:
                    if spec.name == name and at.isdigit():
                        return f"{table.word} {int(at) + 1}: {spec.title}"
        return "Input"

    def open_rows(self, kept: Mapping[str, str], table: Rows) -> int:
        """How many rows to show at once: those in use and one more, all offered names at least."""
        used = [at for at in range(table.most) if self._used(kept, table, at)]
        return min(table.most, max([*used, len(table.offers) - 2, -1]) + 2)

    def filled(self, kept: Mapping[str, str], group: Group) -> bool:
        """Whether anything was filled in a group that is blank of itself."""
        return any(self.blank[name] and text_of(kept, name) for name in group.fields)

    def _used(self, data: Mapping[str, Any], table: Rows, at: int) -> bool:
        """Whether a row says more than its name and what stands there untouched."""
        return any(
            text_of(data, f"{table.name}-{at}-{spec.name}")
            for spec in self.row_specs[table.name]
            if spec.name != "name" and not self._usual(f"{table.name}-{spec.name}", spec)
        )

    def read(self, data: Mapping[str, Any], system: System) -> Reading:
        """Read the form; a blank is unknown."""
        chosen = text_of(data, self.decides) if self.decides else ""
        raw: dict[str, Any] = {}
        unused, later = [], []
        for group in self.groups:
            for name in group.fields:
                text = text_of(data, name)
                if not text:
                    continue
                if (group.only and chosen not in group.only) or chosen in self.not_for.get(
                    name, ()
                ):
                    if not self._usual(name, self.specs[name]):
                        unused.append(self.specs[name].title)
                    continue
                if "-" in name and self._usual(name, self.specs[name]):
                    later.append((name, text))  # alone it does not make a table
                else:
                    _put(raw, name, self._several(name, text))
        for name, text in later:
            if _get(raw, name.rpartition("-")[0]) is not None:
                _put(raw, name, text)
        places: dict[tuple[str, ...], list[int]] = {}
        for table in self.rows:
            found, at_ = [], []
            for at in range(table.most):
                if self._used(data, table, at):
                    names = [spec.name for spec in self.row_specs[table.name]]
                    row = {n: text_of(data, f"{table.name}-{at}-{n}") for n in names}
                    found.append({n: text for n, text in row.items() if text})
                    at_.append(at)
            if found or "-" not in table.name or _get(raw, table.name.rpartition("-")[0]):
                _put(raw, table.name, found)
            places[tuple(table.name.split("-"))] = at_
        taken = take(raw, self.kind, system=system)
        faults: dict[str, str] = {}
        for fault in taken.faults:
            faults.setdefault(_field(fault, places), fault.wrong)
        return Reading(taken.value, faults, raw, tuple(unused))

    def _usual(self, name: str, spec: FieldSpec) -> bool:
        """Whether a field always says something: a choice or yes/no with a default."""
        return spec.type in {"choice", "yesno"} and not self.blank[name]

    def _several(self, name: str, text: str) -> Any:
        hint = _hint(self.kind, name)
        if get_origin(hint) is not tuple:
            return text
        numbers = float in _inner(get_args(hint)[0])
        return [
            one for one in re.split(r"\s*[;\n]\s*" if numbers else r"\s*[;,\n]\s*", text) if one
        ]

    def texts(self, value: T, system: System, zeros: Collection[str] = ()) -> dict[str, str]:
        """The form as it would be filled for ``value``, in the units of the site.

        A zero that a blank stands for is left blank, but for the fields ``zeros``.
        """
        found = {}
        for name, spec in self.specs.items():
            blank = name not in zeros and not self.blank[name]
            found[name] = shown_text(spec, _get(value, name), system, blank_zero=blank)
        for table in self.rows:
            rows = _get(value, table.name) or ()
            for at, row in enumerate(rows[: table.most]):
                for spec in self.row_specs[table.name]:
                    blank = not self.blank[f"{table.name}-{spec.name}"]
                    found[f"{table.name}-{at}-{spec.name}"] = shown_text(
                        spec, getattr(row, spec.name), system, digits=6, blank_zero=blank
                    )
        return found

    def too_many(self, value: T) -> tuple[str, ...]:
        """Rows of a value that the form has no room for, in words."""
        told = []
        for table in self.rows:
            rows = _get(value, table.name) or ()
            left = ", ".join(str(getattr(row, "name", "")) for row in rows[table.most :])
            if len(rows) > table.most:
                told.append(
                    f"{len(rows)} {table.name} are known and the form has room for "
                    f"{table.most}: {left} left out"
                )
        return tuple(told)


def text_of(data: Mapping[str, Any], name: str) -> str:
    """The text of a field without spaces around it."""
    value = data.get(name, "")
    return value.strip() if isinstance(value, str) else ""


def shown_text(
    spec: FieldSpec, value: Any, system: System, *, digits: int = 10, blank_zero: bool = True
) -> str:
    """A value as a field shows it."""
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, enum.Enum):
        return str(value.value)
    if isinstance(value, (tuple, list)):
        one_of = msgspec.structs.replace(spec, optional=False)
        return "; ".join(shown_text(one_of, one, system, digits=digits) for one in value)
    if isinstance(value, (int, float)):
        if value == 0 and spec.optional and blank_zero:
            return ""
        number = from_si(float(value), spec.kind, system) if spec.kind else float(value)
        return f"{float(number):.{digits}g}"
    return str(value)


def _put(raw: dict[str, Any], name: str, value: Any) -> None:
    *steps, last = name.split("-")
    for step in steps:
        raw = raw.setdefault(step, {})
    raw[last] = value


def _get(value: Any, name: str) -> Any:
    for step in name.split("-"):
        value = value.get(step) if isinstance(value, dict) else getattr(value, step, None)
        if value is None:
            return None
    return value


def _inner(hint: Any) -> list[Any]:
    """The types that a hint is made of."""
    args = [arg for arg in get_args(hint) if isinstance(arg, type) or get_origin(arg)]
    return [hint, *(one for arg in args for one in _inner(arg))]


def _hint(kind: type, name: str) -> Any:
    for step in name.split("-"):
        hint = get_type_hints(kind)[step]
        if get_origin(hint) in (Union, types.UnionType):
            hint = next(arg for arg in get_args(hint) if arg is not type(None))
        kind = hint
    return hint


def _item_kind(kind: type, name: str) -> str:
    """The quantity kind of the items of a list in one field."""
    head, _, last = name.rpartition("-")
    owner = _hint(kind, head) if head else kind
    hint = get_type_hints(owner, include_extras=True)[last]
    items = get_args(hint) if get_origin(hint) is tuple else ()
    meta = get_args(items[0])[1:2] if items else ()
    return str((meta[0].extra or {}).get("kind", "")) if meta else ""


def _struct_of(kind: type, table: str) -> type[msgspec.Struct]:
    found: type[msgspec.Struct] = get_args(_hint(kind, table))[0]
    return found


def _find(kind: type[msgspec.Struct], name: str) -> tuple[FieldSpec, Any]:
    head, _, last = name.rpartition("-")
    owner = _hint(kind, head) if head else kind
    spec = next(spec for spec in specs(owner) if spec.name == last)
    field = next(field for field in msgspec.structs.fields(owner) if field.name == last)
    return spec, field.default


def _field(fault: Fault, places: Mapping[tuple[str, ...], list[int]]) -> str:
    """The name of the form's field at which a fault belongs."""
    found: list[str] = []
    for step in fault.path:
        if isinstance(step, int):
            known = places.get(tuple(found))
            if known is None:
                break  # an item of a list in one field
            found.append(str(known[step]))
        else:
            found.append(step)
    return "-".join(found)
