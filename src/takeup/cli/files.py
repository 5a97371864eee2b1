"""Input files of the calculations: read, validated, described by a schema."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from takeup.errors import BadFile, UnknownName
from takeup.fields import Fact

T = TypeVar("T")


def read_bytes(path: Path) -> bytes:
    """Read a file; a missing one is said so."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise BadFile(f"there is no file {path}") from None
    except OSError as fault:
        raise BadFile(f"{path} cannot be read: {fault.strerror}") from fault


def read(path: Path, kind: type[T]) -> T:
    """Read a JSON file into a type; faults name the field."""
    try:
        return msgspec.json.decode(read_bytes(path), type=kind)
    except msgspec.ValidationError as fault:
        raise BadFile(f"{path.name}: {fault}. See 'takeup schema'") from fault
    except (msgspec.DecodeError, UnicodeDecodeError) as fault:
        raise BadFile(f"{path.name} is not valid JSON: {fault}") from fault


def read_facts(path: Path) -> list[Fact]:
    """Read ``{"kind": [fact, ...], ...}`` in SI."""
    from takeup.register.entities import KINDS

    tables: dict[str, list[Any]] = read(path, dict[str, list[Any]])
    facts: list[Fact] = []
    for kind, rows in tables.items():
        if kind not in KINDS:
            raise UnknownName("kind", kind, list(KINDS))
        for number, row in enumerate(rows, 1):
            try:
                facts.append(msgspec.convert(row, KINDS[kind]))
            except msgspec.ValidationError as fault:
                raise BadFile(f"{path.name}, {kind} {number}: {fault}") from fault
    return facts


def SCHEMAS() -> dict[str, str]:
    """Names of schemas with what they describe."""
    from takeup.register.entities import KINDS

    return {
        "bellows": "input of 'takeup bellows'",
        "interply": "input of 'takeup interply'",
        "survival": "input of 'takeup survival'",
        **{kind: f"table {fact.TITLE}" for kind, fact in KINDS.items()},
    }


def schema_of(name: str) -> dict[str, Any]:
    """The JSON Schema called ``name``; values are SI, their unit is in ``x-unit``."""
    from takeup.bellows.model import BellowsCase
    from takeup.cli.inputs import InterplyFile, SurvivalFile
    from takeup.register.entities import KINDS
    from takeup.units import KINDS as QUANTITIES

    kinds: dict[str, Any] = {
        "bellows": BellowsCase,
        "interply": InterplyFile,
        "survival": SurvivalFile,
    } | KINDS
    schema: dict[str, Any] = msgspec.json.schema(kinds[name])
    units = {}
    from takeup.fields import specs

    for struct in _structs(kinds[name]):
        for spec in specs(struct):
            if spec.kind:
                units[struct.__name__, spec.name] = QUANTITIES[spec.kind].si
    for title, definition in schema.get("$defs", {}).items():
        for field, described in definition.get("properties", {}).items():
            unit = units.get((title, field))
            if unit:
                described["x-unit"] = unit
    plain: dict[str, Any] = json.loads(json.dumps(schema))
    return plain


def _structs(kind: Any) -> list[Any]:
    """A struct and the structs it is made of."""
    from typing import get_args, get_type_hints

    found, waiting = [], [kind]
    while waiting:
        one = waiting.pop()
        if isinstance(one, type) and issubclass(one, msgspec.Struct) and one not in found:
            found.append(one)
            waiting += list(get_type_hints(one).values())
        waiting += [arg for arg in get_args(one) if not isinstance(arg, str)]
    return found
