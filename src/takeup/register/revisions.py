"""Revisions: how facts change without anything being overwritten. Pure.

A revision holds the whole fact as canonical JSON, or nothing when it was withdrawn, and a
hash over itself and the revision before it, so that a change behind the store's back shows.
"""

from __future__ import annotations

import datetime as dt
import enum
import hashlib
from typing import Any

import msgspec

from takeup.errors import BadFile
from takeup.fields import Fact, FieldSpec, specs
from takeup.register.entities import KINDS
from takeup.units import System, shown

_encoder = msgspec.json.Encoder(order="sorted")


class Revision(msgspec.Struct, frozen=True, kw_only=True):
    """One entry of the chain of one fact."""

    kind: str
    id: str
    """The key without regard to case."""
    key: str
    """The key as written."""
    number: int
    """1 for the first."""
    time: dt.datetime
    author: str
    reason: str
    body: bytes | None
    """Canonical JSON of the fact; ``None`` when it was withdrawn."""
    hash: str
    previous: str
    """Hash of the revision before; empty for the first."""


class FieldChange(msgspec.Struct, frozen=True, kw_only=True):
    """One field before and after, as people read it."""

    name: str
    title: str
    old: str
    new: str


def encode(fact: Fact) -> bytes:
    """Canonical JSON: sorted keys, unknowns left out."""
    filled = {
        field: value
        for field in fact.__struct_fields__
        if (value := getattr(fact, field)) is not None
    }
    return _encoder.encode(filled)


def decode(kind: str, body: bytes) -> Fact:
    """Read a fact back; a field that this version does not know is a fault, not dropped."""
    try:
        fact: Fact = msgspec.json.decode(body, type=KINDS[kind])
    except (msgspec.ValidationError, msgspec.DecodeError, KeyError) as fault:
        raise BadFile(
            f"a stored {kind} cannot be read by this version ({fault}); "
            "it was written by a newer version, or changed behind the store's back"
        ) from fault
    return fact


def seal(kind: str, id: str, number: int, body: bytes | None, previous: str) -> str:
    """The hash of a revision over its content and the hash before it."""
    digest = hashlib.sha256()
    for part in (kind, id, str(number), previous):
        digest.update(part.encode("utf-8") + b"\x00")
    digest.update(b"withdrawn" if body is None else b"fact\x00" + body)
    return digest.hexdigest()


def display(spec: FieldSpec, value: Any, system: System) -> str:
    """A field's value as people read it, in the site's units."""
    if value is None or value == "":
        return "unknown"
    if isinstance(value, enum.Enum):
        return str(value.value)
    if spec.type in {"number", "integer"} and spec.kind:
        return shown(float(value), spec.kind, system)
    if isinstance(value, (dt.date, dt.datetime)):
        return value.isoformat()
    return str(value)


def differences(
    before: Revision | None, after: Revision, system: System
) -> tuple[FieldChange, ...]:
    """The fields in which two revisions of a fact differ."""
    old = decode(before.kind, before.body) if before and before.body else None
    new = decode(after.kind, after.body) if after.body else None
    return fact_differences(old, new, system)


def fact_differences(old: Fact | None, new: Fact | None, system: System) -> tuple[FieldChange, ...]:
    """The fields in which two facts of one kind differ; ``None`` is absent."""
    either = new if new is not None else old
    if either is None:
        return ()
    kind = type(either)
    changes = []
    for spec in specs(kind):
        was = getattr(old, spec.name) if old is not None else None
        now = getattr(new, spec.name) if new is not None else None
        if was != now:
            changes.append(
                FieldChange(
                    name=spec.name,
                    title=spec.title,
                    old="" if old is None else display(spec, was, system),
                    new="withdrawn" if new is None else display(spec, now, system),
                )
            )
    return tuple(changes)
