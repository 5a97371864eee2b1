"""The calculator's form: fields from the declaration of a case, in groups, read back as a case."""

from __future__ import annotations

import enum
import math
from collections.abc import Mapping
from typing import Any, NamedTuple

import msgspec

from takeup.bellows.model import (
    BellowsCase,
    Condition,
    Convolution,
    CurvePiece,
    FatigueCurve,
    Movement,
)
from takeup.fields import FieldSpec, specs
from takeup.given import Fault, take
from takeup.units import System, from_si, symbol

CONDITIONS, MOVEMENTS, PIECES = 4, 6, 3
U_SHAPES = (Convolution.U_PLAIN, Convolution.U_REINFORCED)


class Group(NamedTuple):
    """Fields that belong together, and the shapes that they mean something for."""

    id: str
    title: str
    fields: tuple[str, ...]
    shapes: tuple[Convolution, ...] = ()
    words: str = ""


GROUPS = (
    Group("rule", "Rule set and shape", ("name", "basis", "convolution")),
    Group(
        "shape",
        "Convolutions",
        ("inside_diameter", "height", "pitch", "convolutions", "torus_radius", "tube_diameter"),
    ),
    Group(
        "toroidal",
        "Torus",
        ("mean_diameter",),
        (Convolution.TOROIDAL,),
        "A toroidal bellows also needs its mean torus radius, above.",
    ),
    Group(
        "metal",
        "Plies and metal",
        (
            "plies", "ply_thickness", "thinnest_ply", "material", "treatment", "forming_factor",
            "weld_factor", "yield_strength", "room_modulus",
        ),
    ),
    Group(
        "ends",
        "Ends and collars",
        ("tangent_length", "collar_length", "collar_thickness", "collar_material", "ends"),
    ),
    Group(
        "rings",
        "Reinforcing rings",
        (
            "ring_area", "ring_material", "fastener_area", "fastener_length",
            "fastener_material", "fastener_allowable",
        ),
        (Convolution.U_REINFORCED,),
    ),
    Group(
        "joint",
        "The joint",
        (
            "assembly", "role", "pressurised", "length_over_both", "spool_held", "offset_axial",
            "offset_lateral", "offset_angular",
        ),
    ),
    Group(
        "choices",
        "Choices of the engineer",
        ("kg", "ctheta", "kr", "material_factor"),
        words="Left blank they take the value that the result names, with a caution.",
    ),
)  # fmt: skip
ONLY_U = frozenset({"height"})
"""Fields of common groups that mean nothing for a toroidal bellows: its height is Dm - Db - n t."""
ELSEWHERE = frozenset({"conditions", "movements", "fatigue_curve", "missing"})
_BLANK = ("tangent_length",)
"""Fields whose default stands for none, not for unknown; left blank they are unknown."""
_ROWS: dict[str, tuple[type[msgspec.Struct], int]] = {
    "conditions": (Condition, CONDITIONS),
    "movements": (Movement, MOVEMENTS),
}
_TITLES = {"name": "Name", "basis": "Rule set"}
SPECS = {
    spec.name: msgspec.structs.replace(spec, title=_TITLES.get(spec.name, spec.title))
    for spec in specs(BellowsCase)
}
ROW_SPECS = {name: specs(kind) for name, (kind, _) in _ROWS.items()}
PIECE_SPECS = specs(CurvePiece)
CURVE_SPECS = tuple(spec for spec in specs(FatigueCurve) if spec.name != "pieces")
NO_CYCLES = "must be given: how often does this movement come until the joint is judged again?"
NAMES = {"conditions": ("design", "operating", "test"), "movements": ("start and stop",)}
"""Names offered in rows that are still empty."""


class Reading(NamedTuple):
    """What a form said: the case, or the faults by field."""

    case: BellowsCase | None
    faults: dict[str, str]
    unused: tuple[str, ...]
    """Titles of filled fields that mean nothing for the chosen shape."""


def read(data: Mapping[str, Any], system: System) -> Reading:
    """Read the form; what is left blank is unknown and named in the case's ``missing``."""
    shape = _shape(data)
    raw: dict[str, Any] = {}
    unused = []
    for group in GROUPS:
        for name in group.fields:
            text = _text(data, name)
            if not text:
                continue
            if means_nothing(group, name, shape):
                unused.append(SPECS[name].title)
                continue
            raw[name] = text
    places: dict[str, list[int]] = {}
    for table, (_, count) in _ROWS.items():
        raw[table], places[table] = [], []
        for at in range(count):
            row = {spec.name: _text(data, f"{table}-{at}-{spec.name}") for spec in ROW_SPECS[table]}
            if any(value for name, value in row.items() if name != "name"):
                raw[table].append(row)
                places[table].append(at)
    curve, pieces = _curve(data)
    if curve:
        raw["fatigue_curve"] = curve
    taken = take(raw, BellowsCase, system=system)
    faults: dict[str, str] = {}
    for fault in taken.faults:
        faults.setdefault(_field(fault, places, pieces), fault.wrong)
    for at, row in zip(places["movements"], raw["movements"], strict=True):
        if not row["cycles"]:
            faults.setdefault(f"movements-{at}-cycles", NO_CYCLES)
    case = taken.value
    sound = case is not None and not faults
    return Reading(_unknown(case, raw) if case and sound else None, faults, tuple(unused))


def _unknown(case: BellowsCase, raw: Mapping[str, Any]) -> BellowsCase:
    """The case with what a blank leaves unknown: its default would be a guess."""
    blank = list(_BLANK)
    if case.convolution in U_SHAPES:
        blank.append("height")
    more = [name for name in blank if name not in raw]
    return msgspec.structs.replace(case, missing=tuple(dict.fromkeys([*case.missing, *more])))


def means_nothing(group: Group, name: str, shape: Convolution) -> bool:
    """Whether a field is not used for bellows of this shape."""
    if group.shapes and shape not in group.shapes:
        return True
    return shape == Convolution.TOROIDAL and name in ONLY_U


def _shape(data: Mapping[str, Any]) -> Convolution:
    try:
        return Convolution(_text(data, "convolution"))
    except ValueError:
        return Convolution.U_PLAIN


def _curve(data: Mapping[str, Any]) -> tuple[dict[str, Any], list[int]]:
    head = {spec.name: _text(data, f"fatigue_curve-{spec.name}") for spec in CURVE_SPECS}
    pieces, places = [], []
    for at in range(PIECES):
        row = {spec.name: _text(data, f"fatigue_curve-{at}-{spec.name}") for spec in PIECE_SPECS}
        if any(row.values()):
            pieces.append(row)
            places.append(at)
    if not pieces and not any(head.values()):
        return {}, []
    return head | {"pieces": pieces}, places


def _field(fault: Fault, places: Mapping[str, list[int]], pieces: list[int]) -> str:
    """The name of the form's field at which a fault belongs."""
    match fault.path:
        case (str(table), int(at), str(name)) if table in places:
            return f"{table}-{places[table][at]}-{name}"
        case ("fatigue_curve", "pieces", int(at), str(name)):
            return f"fatigue_curve-{pieces[at]}-{name}"
        case ("fatigue_curve", str(name)):
            return f"fatigue_curve-{name}"
        case (str(name), *_):
            return name
    return ""


def _text(data: Mapping[str, Any], name: str) -> str:
    value = data.get(name, "")
    return value.strip() if isinstance(value, str) else ""


def texts(case: BellowsCase, system: System) -> dict[str, str]:
    """The form as it would be filled for ``case``, in the units of the site."""
    found = {
        spec.name: _shown(spec, getattr(case, spec.name), system)
        for spec in SPECS.values()
        if spec.name not in ELSEWHERE and spec.name not in case.missing
    }
    if "heat_treatment" in case.missing:
        found.pop("treatment", None)
    for table, rows in (("conditions", case.conditions), ("movements", case.movements)):
        for at, row in enumerate(rows[: _ROWS[table][1]]):
            for spec in ROW_SPECS[table]:
                value = getattr(row, spec.name)
                found[f"{table}-{at}-{spec.name}"] = _shown(spec, value, system, digits=6)
    if case.fatigue_curve is not None:
        for spec in CURVE_SPECS:
            value = getattr(case.fatigue_curve, spec.name)
            found[f"fatigue_curve-{spec.name}"] = _shown(spec, value, system)
        for at, piece in enumerate(case.fatigue_curve.pieces[:PIECES]):
            for spec in PIECE_SPECS:
                value = getattr(piece, spec.name)
                found[f"fatigue_curve-{at}-{spec.name}"] = _shown(spec, value, system)
    return found


def too_many(case: BellowsCase) -> tuple[str, ...]:
    """Rows of a case that the form has no room for, in words."""
    return tuple(
        f"{len(rows)} {table} are known and the form has room for {_ROWS[table][1]}: "
        f"{', '.join(row.name for row in rows[_ROWS[table][1] :])} left out"
        for table, rows in (("conditions", case.conditions), ("movements", case.movements))
        if len(rows) > _ROWS[table][1]
    )


def _shown(spec: FieldSpec, value: Any, system: System, digits: int = 10) -> str:
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""
    if value == 0.0 and spec.optional and not isinstance(value, bool) and spec.name not in _BLANK:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, enum.Enum):
        return str(value.value)
    if isinstance(value, (int, float)):
        number = from_si(float(value), spec.kind, system) if spec.kind else float(value)
        return f"{float(number):.{digits}g}"
    return str(value)


def titled(field: str) -> str:
    """A field of the form in words, for the list of faults."""
    name = field.rpartition("-")[2]
    if field in SPECS:
        return SPECS[field].title
    for table, word in (("conditions", "Condition"), ("movements", "Movement")):
        if field.startswith(f"{table}-"):
            at = int(field.split("-")[1]) + 1
            title = next(spec.title for spec in ROW_SPECS[table] if spec.name == name)
            return f"{word} {at}: {title}"
    for spec in (*CURVE_SPECS, *PIECE_SPECS):
        if field.startswith("fatigue_curve-") and spec.name == name:
            return f"Fatigue curve: {spec.title}"
    return {"author": "Who saves", "save_reason": "Why"}.get(field, "Input")


def filled(kept: Mapping[str, str], table: str) -> int:
    """How many rows of a table to show at once: those in use and one more."""
    count = _ROWS[table][1]
    used = [
        at
        for at in range(count)
        if any(
            kept.get(f"{table}-{at}-{spec.name}")
            for spec in ROW_SPECS[table]
            if spec.name != "name"
        )
    ]
    return min(count, max([*used, 0]) + 2)


def label(spec: FieldSpec, system: System) -> str:
    """The title of a field with its unit."""
    unit = symbol(spec.kind, system) if spec.kind else ""
    return f"{spec.title}, {unit}" if unit and unit != "cycles" else spec.title
