"""How computed results are packed for the store: compact, typed, reproducible."""

from __future__ import annotations

import zlib
from typing import Any, TypeVar

import msgspec
import numpy as np

T = TypeVar("T")


def pack(result: msgspec.Struct) -> bytes:
    """Encode a result for the store."""
    return zlib.compress(msgspec.msgpack.encode(result, enc_hook=_plain), 1)


def unpack(body: bytes, kind: type[T]) -> T | None:
    """Decode a result, or ``None`` when an older version stored another shape.

    Results can always be computed anew from facts, so an unreadable one counts as absent.
    """
    try:
        return msgspec.msgpack.decode(zlib.decompress(body), type=kind, dec_hook=_array)
    except (msgspec.ValidationError, msgspec.DecodeError, zlib.error):
        return None


def _plain(value: Any) -> Any:
    """An array as its kind of number, shape and bytes."""
    if isinstance(value, np.ndarray):
        return value.dtype.str, value.shape, np.ascontiguousarray(value).tobytes()
    raise NotImplementedError(type(value).__name__)  # msgspec asks for exactly this


def _array(kind: type, value: Any) -> Any:
    numbers, shape, body = value
    return np.frombuffer(body, dtype=numbers).reshape(shape)
