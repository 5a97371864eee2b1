"""How a fact declares its fields once, for workbook, forms, documents and schema alike."""

from __future__ import annotations

import enum
import functools
import types
from datetime import date, datetime
from typing import Annotated, Any, ClassVar, Union, get_args, get_origin, get_type_hints

import msgspec


def number(
    kind: str,
    title: str,
    help: str = "",
    *,
    gt: float | None = None,
    ge: float | None = None,
    lt: float | None = None,
    le: float | None = None,
) -> msgspec.Meta:
    """Describe a numeric field: its quantity kind (SI inside), title, help and span."""
    span: dict[str, Any] = {"gt": gt, "ge": ge, "lt": lt, "le": le}
    return msgspec.Meta(
        **{name: value for name, value in span.items() if value is not None},
        title=title,
        description=help or None,
        extra={"kind": kind},
    )


def words(title: str, help: str = "", *, refers: str = "", long: bool = False) -> msgspec.Meta:
    """Describe a text, choice, yes/no or date field; ``refers`` names the kind it points at."""
    return msgspec.Meta(
        title=title, description=help or None, extra={"refers": refers, "long": long}
    )


class Fact(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What was measured, drawn or decided. Frozen; unknown is ``None``, never zero.

    Subclasses set ``KIND`` (store and workbook name), ``TITLE`` (for people) and ``KEY``
    (fields that make the key; compared without regard to case).
    """

    KIND: ClassVar[str]
    TITLE: ClassVar[str]
    KEY: ClassVar[tuple[str, ...]]

    @property
    def key(self) -> str:
        """The key within its kind, as written."""
        return "/".join(_key_text(getattr(self, name)) for name in self.KEY)

    @property
    def ref(self) -> str:
        """The reference used in grounds: ``kind:key``."""
        return f"{self.KIND}:{self.key}"


def _key_text(value: Any) -> str:
    if isinstance(value, enum.Enum):
        return str(value.value)
    if isinstance(value, (date, datetime)):
        return value.isoformat()
    if isinstance(value, float):
        return f"{value:.10g}"
    return str(value)


class FieldSpec(msgspec.Struct, frozen=True, kw_only=True):
    """One field of a fact as forms and workbooks see it."""

    name: str
    title: str
    help: str
    type: str
    """One of number, integer, text, choice, yesno, date, datetime."""
    kind: str = ""
    """Quantity kind for numbers."""
    choices: tuple[str, ...] = ()
    enum: Any = None
    """The enumeration behind choices."""
    optional: bool
    refers: str = ""
    long: bool = False
    key: bool = False
    gt: float | None = None
    ge: float | None = None
    lt: float | None = None
    le: float | None = None


@functools.cache
def specs(fact: type[msgspec.Struct]) -> tuple[FieldSpec, ...]:
    """List the fields of ``fact`` in order of declaration."""
    hints = get_type_hints(fact, include_extras=True)
    key: tuple[str, ...] = getattr(fact, "KEY", ())
    found = []
    for field in msgspec.structs.fields(fact):
        hint, optional = hints[field.name], not field.required
        if get_origin(hint) in (Union, types.UnionType):
            inner = [arg for arg in get_args(hint) if arg is not type(None)]
            hint, optional = inner[0], True
        meta = msgspec.Meta()
        if get_origin(hint) is Annotated:
            hint, meta = get_args(hint)[:2]
        extra = meta.extra or {}
        kind = str(extra.get("kind", ""))
        choices: tuple[str, ...] = ()
        choose: type[enum.Enum] | None = None
        if isinstance(hint, type) and issubclass(hint, enum.Enum):
            type_, choices = "choice", tuple(str(member.value) for member in hint)
            choose = hint
        elif hint is bool:
            type_ = "yesno"
        elif hint is int:
            type_ = "integer"
        elif hint is float:
            type_ = "number"
        elif hint is datetime:
            type_ = "datetime"
        elif hint is date:
            type_ = "date"
        else:
            type_ = "text"
        found.append(
            FieldSpec(
                name=field.name,
                title=meta.title or field.name.replace("_", " "),
                help=meta.description or "",
                type=type_,
                kind=kind,
                choices=choices,
                enum=choose,
                optional=optional,
                refers=str(extra.get("refers", "")),
                long=bool(extra.get("long", False)),
                key=field.name in key,
                gt=None if meta.gt is None else float(meta.gt),
                ge=None if meta.ge is None else float(meta.ge),
                lt=None if meta.lt is None else float(meta.lt),
                le=None if meta.le is None else float(meta.le),
            )
        )
    return tuple(found)
