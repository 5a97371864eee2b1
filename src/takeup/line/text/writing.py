"""From a line to text that reads back to the same line. Numbers are SI."""

from __future__ import annotations

import json
from typing import Any

import msgspec

from takeup.line import model as m

_TABLES = {
    m.Anchor: "anchor", m.Rest: "rest", m.Guide: "guide", m.Stop: "stop", m.RodHanger: "rod",
    m.VariableSpring: "spring", m.ConstantSpring: "constant", m.Strut: "strut",
}  # fmt: skip
_PIPE = {
    "insulation_mass": "insulation", "lining_mass": "lining", "contents_density": "contents",
}  # fmt: skip


def _value(raw: Any) -> str:
    if isinstance(raw, bool):
        return "true" if raw else "false"
    if isinstance(raw, str):
        return json.dumps(raw, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(raw, (int, float)):
        return repr(raw)
    if isinstance(raw, msgspec.Struct):
        return _inline(_stated(raw))
    if isinstance(raw, dict):
        return _inline(raw)
    return f"[{', '.join(_value(one) for one in raw)}]"


def _inline(values: dict[str, Any]) -> str:
    return "{ " + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in values.items()) + " }"


def _key(word: str) -> str:
    plain = word.replace("_", "").replace("-", "")
    return word if plain.isalnum() and plain.isascii() else _value(word)


def _stated(one: msgspec.Struct) -> dict[str, Any]:
    """Fields that differ from what they are when nothing is said."""
    return {
        field.name: value
        for field in msgspec.structs.fields(type(one))
        if field.name != "at"
        and (value := getattr(one, field.name)) is not None
        and (field.required or value != field.default)
        and value not in ({}, ())
    }


def _table(head: str, values: dict[str, Any]) -> str:
    return "\n".join([f"[[{head}]]", *(f"{_key(k)} = {_value(v)}" for k, v in values.items())])


def write(line: m.Line) -> str:
    """Text of ``line``; stations by coordinates, so that nothing drifts when it is read."""
    position = {one.name: one.position for one in line.stations}
    head = [f"line = {_value(line.tag)}", f"cycles = {_value(line.cycles)}"]
    if line.factors is not m.Book.APPENDIX_D:
        head.append(f"factors = {_value(line.factors.value)}")
    if line.range_rule is not m.RangeRule.PLAIN:
        head.append(f"allowable_range = {_value(line.range_rule.value)}")
    if line.cold_spring:
        head.append(f"cold_spring = {_value(line.cold_spring)}")
    if line.notes:
        head.append(f"notes = {_value(line.notes)}")
    parts = ["\n".join(head)]
    parts += [
        _table("pipe", {_PIPE.get(k, k): v for k, v in _stated(one).items()}) for one in line.pipes
    ]
    joints: dict[str, m.Joint] = {}
    start = ""
    rows: list[dict[str, Any]] = []
    pieces = list(line.pieces)
    before = ""
    used: set[str] = set()

    def close() -> None:
        nonlocal rows
        if rows:
            legs = "\n".join(f"  {_inline(row)}," for row in rows)
            at = _value(position[start])
            parts.append(f"[[run]]\nstart = {_value(start)}\nat = {at}\nlegs = [\n{legs}\n]")
        rows = []

    bends = 0
    for n, piece in enumerate(pieces):
        if piece.start != before:
            close()
            start = piece.start
        row: dict[str, Any] = {"to": piece.end, "at": position[piece.end]}
        nxt = pieces[n + 1] if n + 1 < len(pieces) else None
        if isinstance(piece, m.Bend):
            bends += 1
            corner = piece.end.removesuffix(".out")
            name = corner if corner != piece.end and corner not in position else f"corner {bends}"
            while name in position or name in used:
                name += "'"
            used.add(name)
            row = {
                "to": name, "at": piece.corner, "bend": piece.radius, "pipe": piece.pipe,
                "tangents": (piece.start, piece.end),
            }  # fmt: skip
            if piece.flanged is not m.Ends.NONE:
                row["flanged"] = piece.flanged.value
            if piece.mitre is not None:
                row["mitre"] = piece.mitre
            if rows and rows[-1].pop("into bend", False):
                rows.pop()
            rows.append(row)
            straight = isinstance(nxt, m.Straight) and nxt.start == piece.end
            if not straight and not (isinstance(nxt, m.Bend) and nxt.start == piece.end):
                rows.append({"to": piece.end, "at": position[piece.end], "pipe": piece.pipe})
        else:
            if isinstance(piece, m.Straight):
                row["pipe"] = piece.pipe
                row["into bend"] = isinstance(nxt, m.Bend) and nxt.start == piece.end
            elif isinstance(piece, m.Reducer):
                row |= {"pipe": piece.pipe, "reducer": piece.to_pipe}
            elif isinstance(piece, m.Rigid):
                row |= {"rigid": piece.name, "mass": piece.mass}
                if piece.metal:
                    row["metal"] = piece.metal
            else:
                row["joint"] = piece.tag
                joints[piece.tag] = piece
            if not row.get("into bend"):
                row.pop("into bend", None)
                if nxt is not None and nxt.start == piece.end:
                    row["bend"] = "square"
            rows.append(row)
        before = piece.end
    close()
    for joint in joints.values():
        values = _stated(joint)
        del values["start"], values["end"]
        parts.append(_table("joint", values))
    parts += [_table("tee", _stated(one)) for one in line.tees]
    parts += [_table("weld", _stated(one)) for one in line.welds]
    parts += [_table("factor", _stated(one)) for one in line.stated]
    parts += [_table(_TABLES[type(one)], _stated(one)) for one in line.supports]
    for state in line.states:
        values = {"pressure": state.pressure, "temperature": state.temperature} | _stated(state)
        # a bare number is refused for a temperature: too many mean degrees
        values["temperature"] = _kelvin(state.temperature)
        if state.temperatures:
            values["temperatures"] = {
                name: _kelvin(value) for name, value in state.temperatures.items()
            }
        parts.append(_table("state", values))
    return "\n\n".join(parts) + "\n"


def _kelvin(value: float) -> str:
    return f"{float(value)!r} K"
