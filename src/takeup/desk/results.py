"""How computed results are packed for the store: compact, typed, reproducible."""

from __future__ import annotations

import zlib
from typing import TypeVar

import msgspec

T = TypeVar("T")


def pack(result: msgspec.Struct) -> bytes:
    """Encode a result for the store."""
    return zlib.compress(msgspec.msgpack.encode(result), 1)


def unpack(body: bytes, kind: type[T]) -> T | None:
    """Decode a result, or ``None`` when an older version stored another shape.

    Results can always be computed anew from facts, so an unreadable one counts as absent.
    """
    try:
        return msgspec.msgpack.decode(zlib.decompress(body), type=kind)
    except (msgspec.ValidationError, msgspec.DecodeError, zlib.error):
        return None
