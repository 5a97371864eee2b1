"""Results as JSON: SI with its unit beside every value, ratios and standings spelt out."""

from __future__ import annotations

import functools
import math
from enum import Enum
from typing import Any

import msgspec
import numpy as np

from takeup.sources import Source
from takeup.units import KINDS

SAID = ("ratio", "provisional")
"""Properties that a reader of JSON needs beside the fields."""


def told(value: Any) -> Any:
    """``value`` as plain data: structs as tables, a ``unit`` beside each ``kind``, no NaN.

    What is not a finite number is ``null``: JSON has no other word for it.
    """
    if value is None or (isinstance(value, (str, bool, int)) and not isinstance(value, Enum)):
        return value
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Source):
        return _source(value)
    if isinstance(value, msgspec.Struct):
        found = {name: told(getattr(value, name)) for name in value.__struct_fields__}
        unit = KINDS.get(found.get("kind") or "") if isinstance(found.get("kind"), str) else None
        if unit is not None and "unit" not in found:
            found["unit"] = unit.si
        found |= {name: told(getattr(value, name)) for name in SAID if hasattr(value, name)}
        return found
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, dict):
        return {
            str(key.value if isinstance(key, Enum) else key): told(one)
            for key, one in value.items()
        }
    if isinstance(value, (tuple, list, set, frozenset)):
        return [told(one) for one in value]
    if isinstance(value, np.ndarray | np.generic):
        return told(value.tolist())
    return value


@functools.lru_cache(maxsize=4096)
def _source(source: Source) -> dict[str, str]:
    """A source, told once however often it is named."""
    named = ((name, getattr(source, name)) for name in source.__struct_fields__)
    return {name: one.value if isinstance(one, Enum) else one for name, one in named}
