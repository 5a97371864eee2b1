"""Input files of the calculations: TOML or JSON, read, validated, described by a schema."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from takeup.errors import BadFile, UnknownName
from takeup.fields import Fact
from takeup.given import raw_of, sound, take

T = TypeVar("T")
MANY = "case"
"""Name of the table under which a file holds several cases."""


def read_bytes(path: Path) -> bytes:
    """Read a file; a missing one is said so."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise BadFile(f"there is no file {path}") from None
    except OSError as fault:
        raise BadFile(f"{path} cannot be read: {fault.strerror}") from fault


def read_raw(path: Path) -> Any:
    """Read a TOML or JSON file as it stands."""
    return raw_of(path.name, read_bytes(path))


def read(path: Path, kind: type[T]) -> T:
    """Read one input; every fault names its key path and what would be right."""
    return sound(path.name, take(read_raw(path), kind))


def read_many(path: Path, kind: type[T]) -> tuple[tuple[T, ...], bool]:
    """Read a file of one input or of several, and say whether it is laid out for several.

    Several stand under ``[[case]]``; what stands beside these tables counts for each of them
    that does not say otherwise.  A JSON file may also be a list.
    """
    raw = read_raw(path)
    if isinstance(raw, list):
        rows, shared, word = raw, {}, ""
    elif isinstance(raw, Mapping) and isinstance(raw.get(MANY), list):
        rows, word = raw[MANY], f".{MANY}"
        shared = {key: value for key, value in raw.items() if key != MANY}
    else:
        return (sound(path.name, take(raw, kind)),), False
    if not rows:
        raise BadFile(f"{path.name} holds no case; right would be one [[{MANY}]] at least")
    found = []
    for at, row in enumerate(rows):
        whole = {**shared, **row} if isinstance(row, Mapping) else row
        found.append(sound(path.name, take(whole, kind), f"{word}[{at}]"))
    return tuple(found), True


def read_facts(path: Path) -> list[Fact]:
    """Read ``{"kind": [fact, ...], ...}`` in SI."""
    from takeup.register.entities import KINDS

    try:
        tables = msgspec.json.decode(read_bytes(path), type=dict[str, list[Any]])
    except msgspec.ValidationError as fault:
        raise BadFile(f"{path.name}: {fault}. See 'takeup schema'") from fault
    except (msgspec.DecodeError, UnicodeDecodeError) as fault:
        raise BadFile(f"{path.name} is not valid JSON: {fault}") from fault
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


def _inputs() -> dict[str, tuple[Any, str]]:
    """Inputs of verbs: type and words."""
    from takeup.ageing.attachment_case import AttachmentCase
    from takeup.ageing.metal_case import MetalCase
    from takeup.bellows.hardware import HardwareCase
    from takeup.bellows.model import BellowsCase
    from takeup.bellows.sizing import SizingTask
    from takeup.cli.inputs import AsFoundFile, InterplyFile, SurvivalFile, UncertaintyFile
    from takeup.desk.diagnosis_file import ReadingsFile
    from takeup.heat.wall_study import WallInput
    from takeup.line.text.forms import LineForm

    return {
        "bellows": (BellowsCase, "input of 'takeup bellows'"),
        "as-found": (AsFoundFile, "input of 'takeup as-found'"),
        "uncertainty": (UncertaintyFile, "input of 'takeup uncertainty'"),
        "hardware": (HardwareCase, "input of 'takeup hardware'"),
        "attachment": (AttachmentCase, "input of 'takeup attachment'"),
        "wall": (WallInput, "input of 'takeup wall'"),
        "metal": (MetalCase, "input of 'takeup metal'"),
        "line-text": (LineForm, "input of 'takeup line'"),
        "line-readings": (ReadingsFile, "readings of 'takeup diagnose'"),
        "size": (SizingTask, "input of 'takeup size'"),
        "interply": (InterplyFile, "input of 'takeup interply'"),
        "survival": (SurvivalFile, "input of 'takeup survival'"),
    }


def _kinds() -> dict[str, tuple[Any, str]]:
    """Everything that has a schema; a table named like a verb's input has ``-table`` behind."""
    from takeup.register.entities import KINDS

    found = _inputs()
    for kind, fact in KINDS.items():
        found[f"{kind}-table" if kind in found else kind] = (fact, f"table {fact.TITLE}")
    return found


def SCHEMAS() -> dict[str, str]:
    """Names of schemas with what they describe."""
    return {name: words for name, (_, words) in _kinds().items()}


def schema_of(name: str) -> dict[str, Any]:
    """The JSON Schema called ``name``.

    Values are SI, their unit is in ``x-unit``; in the input of a verb a quantity may also be
    text with its unit.
    """
    from takeup.fields import specs
    from takeup.units import KINDS as QUANTITIES
    from takeup.units import accepted_units

    kind, _ = _kinds()[name]
    schema: dict[str, Any] = msgspec.json.schema(kind)
    texts = name in _inputs()
    quantities = {}
    for struct in _structs(kind):
        for spec in specs(struct):
            if spec.kind:
                quantities[struct.__name__, spec.name] = spec.kind
    for title, definition in schema.get("$defs", {}).items():
        for field, described in definition.get("properties", {}).items():
            quantity = quantities.get((title, field))
            if not quantity:
                continue
            described["x-unit"] = QUANTITIES[quantity].si
            if texts:
                described["x-text-units"] = [unit for unit in accepted_units(quantity) if unit]
                _or_text(described)
        if texts:
            _may_be_named_missing(definition)
    if texts:
        _members_or_text(schema)
    plain: dict[str, Any] = json.loads(json.dumps(schema))
    return plain


def _members_or_text(part: Any) -> None:
    """Let members of lists and tables that have a unit also be text."""
    if isinstance(part, list):
        for one in part:
            _members_or_text(one)
    elif isinstance(part, dict):
        if "x-unit" in part and part.get("type") == "number":
            _or_text(part)
        for one in part.values():
            _members_or_text(one)


def _or_text(described: dict[str, Any]) -> None:
    """Let a number also be text with its unit."""
    bounds = ("type", "minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum")
    text = {"type": "string", "description": "number with its unit"}
    if "anyOf" in described:
        described["anyOf"].append(text)
        return
    number = {key: described.pop(key) for key in bounds if key in described}
    described["anyOf"] = [number, text]


def _may_be_named_missing(definition: dict[str, Any]) -> None:
    """A required field may be absent when the field ``missing`` names it."""
    if "missing" not in definition.get("properties", {}):
        return
    required = definition.pop("required", [])
    definition["allOf"] = [
        {
            "anyOf": [
                {"required": [name]},
                {"required": ["missing"], "properties": {"missing": {"contains": {"const": name}}}},
            ]
        }
        for name in required
    ]


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
