"""What people give, as typed inputs in SI: numbers, or text with a unit; every fault by its place.

One reader serves input files and forms. A file is read strictly: a number is SI, and text for
a quantity with a unit must carry one. A form is read in the units of the site, and an empty
field is unknown.
"""

from __future__ import annotations

import datetime as dt
import difflib
import enum
import functools
import math
import tomllib
import types
from collections.abc import Mapping, Sequence
from typing import Annotated, Any, Generic, TypeVar, Union, get_args, get_origin, get_type_hints

import msgspec

from takeup.errors import BadFile, TakeupError
from takeup.units import System, accepted_units, kind_of, parse, parse_number, shown, symbol

T = TypeVar("T")
Path = tuple[str | int, ...]
_TOLD = 4
"""Faults of a file that are told at once; the rest is counted."""
_ABSENT = object()
_FAULTY = object()
_YES = frozenset({"yes", "true", "on", "1"})
_NO = frozenset({"no", "false", "off", "0"})


@functools.cache
def _fields(kind: type[msgspec.Struct]) -> tuple[tuple[str, bool, bool], ...]:
    """Name of each field, whether it is required, whether it may be ``None``."""
    hints = _hints(kind)
    return tuple(
        (field.name, field.required, _may_be_none(hints[field.name]))
        for field in msgspec.structs.fields(kind)
    )


class Fault(msgspec.Struct, frozen=True):
    """Something wrong with one value, and what would be right."""

    path: Path
    wrong: str

    @property
    def place(self) -> str:
        """The key path, such as ``$.conditions[0].pressure``."""
        return "$" + "".join(
            f"[{step}]" if isinstance(step, int) else f".{step}" for step in self.path
        )


class Taken(msgspec.Struct, Generic[T], frozen=True):
    """The typed input, or why there is none."""

    value: T | None
    faults: tuple[Fault, ...]


def take(raw: object, kind: type[T], *, system: System | None = None) -> Taken[T]:
    """Read ``raw`` (mappings, sequences, numbers, text) as a ``kind``.

    ``system`` is that of a form: text without a unit is in its units, and an empty text is
    unknown.  Without it ``raw`` came from a file: text needs its unit.  A required field may be
    absent where a field ``missing`` of the same table names it; in a form it is then named
    there by itself.
    """
    reader = _Reader(system)
    value = reader.value(raw, kind, msgspec.Meta(), ())
    return Taken(None if reader.faults or value is _FAULTY else value, tuple(reader.faults))


def raw_of(name: str, data: bytes) -> Any:
    """The bytes of a TOML or JSON file called ``name`` as they stand, not typed yet.

    The ending decides, or where it is another, the first sign.  Raises
    :class:`takeup.errors.BadFile`.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise BadFile(f"{name} is not UTF-8 text: {fault}") from fault
    toml = name.casefold().endswith(".toml")
    if toml or (not name.casefold().endswith(".json") and not text.lstrip().startswith("{")):
        try:
            return tomllib.loads(text)
        except tomllib.TOMLDecodeError as fault:
            raise BadFile(f"{name} is not valid TOML: {fault}") from fault
    try:
        return msgspec.json.decode(text)
    except msgspec.DecodeError as fault:
        raise BadFile(f"{name} is not valid JSON: {fault}") from fault


def sound(name: str, taken: Taken[T], before: str = "") -> T:
    """The typed input, or :class:`takeup.errors.BadFile` that tells the faults by place."""
    if taken.value is None:
        told = [f"${before}{fault.place[1:]} {fault.wrong}" for fault in taken.faults]
        more = f"; and {len(told) - _TOLD} more" if len(told) > _TOLD else ""
        words = "; ".join(told[:_TOLD]).replace("\u202f", " ").replace("\u00a0", " ")
        raise BadFile(f"{name}: {words}{more}. See 'takeup schema'")
    return taken.value


@functools.cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind, include_extras=True)


class _Reader:
    def __init__(self, system: System | None) -> None:
        self.system = system
        self.faults: list[Fault] = []

    def fault(self, path: Path, wrong: str) -> Any:
        self.faults.append(Fault(path, wrong))
        return _FAULTY

    def value(self, raw: Any, hint: Any, meta: msgspec.Meta, path: Path) -> Any:
        """One value of the type ``hint``."""
        origin = get_origin(hint)
        if origin is Annotated:
            hint, meta = get_args(hint)[:2]
            return self.value(raw, hint, meta, path)
        if origin in (Union, types.UnionType):
            inner = [arg for arg in get_args(hint) if arg is not type(None)]
            if raw is None:
                return (
                    None if len(inner) < len(get_args(hint)) else self._kind(raw, "a value", path)
                )
            if len(inner) == 1:
                return self.value(raw, inner[0], meta, path)
        elif origin in (tuple, list):
            args = get_args(hint)
            if origin is list or args[1:] == (Ellipsis,):
                return self._several(raw, origin, args[0], meta, path)
        elif origin is dict:
            return self._named(raw, get_args(hint)[1], path)
        elif isinstance(hint, type):
            if issubclass(hint, msgspec.Struct):
                return self._struct(raw, hint, path)
            if issubclass(hint, enum.Enum):
                return self._choice(raw, hint, path)
            if hint is bool:
                return self._yes(raw, path)
            if hint is float or hint is int:
                return self._number(raw, hint, meta, path)
            if hint is str:
                return raw if isinstance(raw, str) else self._kind(raw, "text in quotes", path)
            if hint is dt.date and type(raw) is dt.date:
                return raw
        try:
            return msgspec.convert(raw, hint)
        except (msgspec.ValidationError, TakeupError) as fault:
            return self.fault(path, str(fault))

    def _kind(self, raw: Any, right: str, path: Path) -> Any:
        words = {
            bool: "yes or no", int: "a number", float: "a number", str: f"the text {raw!r}",
            dict: "a table", list: "a list", type(None): "nothing",
        }  # fmt: skip
        is_ = words.get(type(raw), f"a {type(raw).__name__}")
        return self.fault(path, f"is {is_}; right would be {right}")

    def _several(self, raw: Any, origin: Any, hint: Any, meta: msgspec.Meta, path: Path) -> Any:
        if not isinstance(raw, Sequence) or isinstance(raw, str):
            what = getattr(hint, "__name__", "")
            tables = isinstance(hint, type) and issubclass(hint, msgspec.Struct)
            right = (
                f"a list of tables ([[{path[-1] if path else what}]] in TOML)"
                if tables
                else "a list"
            )
            return self._kind(raw, right, path)
        found = [self.value(one, hint, meta, (*path, at)) for at, one in enumerate(raw)]
        return _FAULTY if any(one is _FAULTY for one in found) else origin(found)

    def _named(self, raw: Any, hint: Any, path: Path) -> Any:
        if not isinstance(raw, Mapping):
            return self._kind(raw, "a table", path)
        found = {
            str(key): self.value(one, hint, msgspec.Meta(), (*path, str(key)))
            for key, one in raw.items()
        }
        return _FAULTY if any(one is _FAULTY for one in found.values()) else found

    def _struct(self, raw: Any, kind: type[msgspec.Struct], path: Path) -> Any:
        if not isinstance(raw, Mapping):
            return self._kind(raw, f"a table of {kind.__name__}", path)
        hints = _hints(kind)
        for key in raw:
            if key not in hints:
                near = difflib.get_close_matches(str(key), hints, n=3, cutoff=0.5)
                offer = (
                    f"did you mean {' or '.join(near)}?" if near else f"known: {', '.join(hints)}"
                )
                self.fault((*path, str(key)), f"is not known here; {offer}")
        unknown = raw.get("missing", ()) if "missing" in hints else ()
        unknown = (
            [name for name in unknown if isinstance(name, str)]
            if isinstance(unknown, Sequence)
            else []
        )
        values: dict[str, Any] = {}
        for name, required, may_be_none in _fields(kind):
            given = raw.get(name, _ABSENT)
            if self.system is not None and isinstance(given, str) and not given.strip():
                given = _ABSENT
            if given is None and (required or not may_be_none):
                given = _ABSENT
            if given is not _ABSENT:
                values[name] = self.value(given, hints[name], msgspec.Meta(), (*path, name))
            elif required:
                if name not in unknown and (self.system is None or "missing" not in hints):
                    more = (
                        ", or name it in missing to leave what rests on it open"
                        if "missing" in hints
                        else ""
                    )
                    values[name] = self.fault((*path, name), f"must be given{more}")
                    continue
                stand_in = _placeholder(hints[name])
                if stand_in is None:
                    values[name] = self.fault((*path, name), "must be given")
                    continue
                values[name] = stand_in
                if name not in unknown:
                    unknown.append(name)
        if any(one is _FAULTY for one in values.values()):
            return _FAULTY
        if "missing" in hints and isinstance(values.get("missing", ()), tuple):
            values["missing"] = tuple(dict.fromkeys(unknown))
        try:
            return kind(**values)
        except TakeupError as fault:
            return self.fault(path, str(fault))

    def _choice(self, raw: Any, kind: type[enum.Enum], path: Path) -> Any:
        choices = {str(member.value).casefold(): member for member in kind}
        if isinstance(raw, kind):
            return raw
        found = choices.get(str(raw).strip().casefold()) if isinstance(raw, str) else None
        if found is not None:
            return found
        near = difflib.get_close_matches(str(raw).casefold(), choices, n=2, cutoff=0.5)
        hint = (
            f"did you mean {' or '.join(repr(choices[one].value) for one in near)}? "
            if near
            else ""
        )
        listed = ", ".join(repr(member.value) for member in kind)
        return self.fault(path, f"is {raw!r}; {hint}choices: {listed}")

    def _yes(self, raw: Any, path: Path) -> Any:
        if isinstance(raw, bool):
            return raw
        word = raw.strip().casefold() if isinstance(raw, str) else ""
        if word in _YES | _NO:
            return word in _YES
        return self._kind(raw, "true or false", path)

    def _number(self, raw: Any, type_: type, meta: msgspec.Meta, path: Path) -> Any:
        kind = str((meta.extra or {}).get("kind", ""))
        if isinstance(raw, str):
            try:
                value = self._text(
                    raw.replace("\u2212", "-").replace("\u2009", " ").replace("\u202f", " "), kind
                )
            except TakeupError as fault:
                return self.fault(path, str(fault))
        elif isinstance(raw, (int, float)) and not isinstance(raw, bool):
            try:
                value = float(raw)
            except OverflowError:
                value = math.inf
        else:
            unit = kind_of(kind).si if kind else ""
            return self._kind(
                raw, f"a number{f' in {unit}' if unit not in {'', '-'} else ''}", path
            )
        if not math.isfinite(value):
            return self.fault(path, f"is {value}; right would be a finite number")
        if type_ is int:
            if value != int(value):
                return self.fault(path, f"is {value:g}; right would be a whole number")
            value = int(value)
        wrong = _outside(value, meta, kind, self.system or System.METRIC)
        return self.fault(path, wrong) if wrong else value

    def _text(self, text: str, kind: str) -> float:
        if not kind:
            number, unit = parse_number(text)
            if unit:
                raise TakeupError(f"is {text!r}; right would be a number without a unit")
            return number
        if self.system is not None:
            return parse(text, kind, symbol(kind, self.system))
        plain_units = accepted_units(kind)
        if "" not in plain_units and not parse_number(text)[1]:
            names = ", ".join(plain_units)
            raise TakeupError(
                f"is {text!r} without a unit; write one of {names} behind it, "
                f"or the bare number in {kind_of(kind).si}"
            )
        return parse(text, kind, "")


def _may_be_none(hint: Any) -> bool:
    return get_origin(hint) in (Union, types.UnionType) and type(None) in get_args(hint)


def _placeholder(hint: Any) -> Any:
    """What stands for a required value that is named as missing; never used as a value."""
    while get_origin(hint) is Annotated:
        hint = get_args(hint)[0]
    return {float: math.nan, int: 0, str: ""}.get(hint)


def _outside(value: float, meta: msgspec.Meta, kind: str, system: System) -> str:
    def words(bound: float) -> str:
        return shown(bound, kind, system) if kind else f"{bound:g}"

    kept = (
        (meta.gt, "more than", meta.gt is None or value > meta.gt),
        (meta.ge, "at least", meta.ge is None or value >= meta.ge),
        (meta.lt, "less than", meta.lt is None or value < meta.lt),
        (meta.le, "at most", meta.le is None or value <= meta.le),
    )
    for bound, must, good in kept:
        if not good:
            assert bound is not None
            return f"is {words(value)}; it must be {must} {words(float(bound))}"
    return ""
