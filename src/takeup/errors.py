"""Every fault that Takeup reports on purpose, and the one range check all rooms share.

A message has five parts: the quantity in nomenclature words, the value with its unit,
what is allowed, whose rule that is, and what to do about it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np


class TakeupError(Exception):
    """A fault that a person can mend; its text is shown as it stands."""


class OutOfRange(TakeupError, ValueError):
    """A value lies outside what a rule or a table covers."""

    def __init__(
        self,
        quantity: str,
        value: object,
        low: float | None,
        high: float | None,
        unit: str,
        whose: str,
        remedy: str = "",
    ) -> None:
        self.quantity, self.value, self.low, self.high = quantity, value, low, high
        self.unit, self.whose, self.remedy = unit, whose, remedy
        if low is None:
            allowed = f"at most {high:g}"
        elif high is None:
            allowed = f"at least {low:g}"
        else:
            allowed = f"{low:g} to {high:g}"
        shown = f"{value:g}" if isinstance(value, (int, float)) else str(value)
        text = f"{quantity} is {shown} {unit}, outside {allowed} {unit} covered by {whose}."
        super().__init__(f"{text} {remedy}".strip())


class MissingInput(TakeupError):
    """A calculation cannot be made because named inputs are unknown."""

    def __init__(self, subject: str, names: Sequence[str]) -> None:
        self.subject, self.names = subject, tuple(names)
        super().__init__(
            f"{subject}: not calculated, because these inputs are unknown: "
            f"{', '.join(self.names)}. Enter them, or leave the result as not evaluated."
        )


class Contradiction(TakeupError, ValueError):
    """Two inputs cannot both be true."""


class UnknownName(TakeupError, KeyError):
    """A tag, alloy, item or option is not known; the message offers the nearest names."""

    def __init__(self, what: str, name: str, known: Sequence[str] = ()) -> None:
        import difflib

        self.what, self.name = what, name
        near = difflib.get_close_matches(name, list(known), n=3, cutoff=0.4)
        hint = f" Did you mean {' or '.join(near)}?" if near else ""
        super().__init__(f"{what} {name!r} is not known.{hint}")

    def __str__(self) -> str:
        return str(self.args[0])


class BadFile(TakeupError):
    """A file could not be read as what it claims to be."""


class Cancelled(TakeupError):
    """The person stopped a long piece of work; nothing was changed."""


class Refused(TakeupError):
    """The action is not allowed as asked; the message says what would be."""


def require_within(
    quantity: str,
    value: Any,
    *,
    low: float | None = None,
    high: float | None = None,
    unit: str = "",
    whose: str,
    remedy: str = "",
) -> None:
    """Raise :class:`OutOfRange` unless every element of ``value`` lies in [low, high].

    NaN is out of every range.  Bounds are inclusive.  Arrays are checked whole and the
    first offending element is named.
    """
    array = np.asarray(value, dtype=float)
    bad = ~np.isfinite(array)
    if low is not None:
        bad |= array < low
    if high is not None:
        bad |= array > high
    if bad.any():
        first = float(array[bad].flat[0]) if array.ndim else float(array)
        raise OutOfRange(quantity, first, low, high, unit, whose, remedy)
