"""What the inverse question takes and gives."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import msgspec

from takeup.fields import number, words
from takeup.heat.model import Range, WallCase


class Instrument(StrEnum):
    """What took the reading."""

    THERMOCOUPLE = "thermocouple"
    CONTACT = "contact probe"
    INFRARED = "infrared"


class Reading(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A steady temperature measured on the outside of the bellows, SI."""

    temperature: Annotated[float, number("temperature", "Measured on the bellows", gt=0)]
    deviation: (
        Annotated[
            float,
            number("temperature_difference", "Standard deviation", "Blank: by instrument", gt=0),
        ]
        | None
    ) = None
    instrument: Annotated[Instrument, words("Instrument")] = Instrument.THERMOCOUPLE
    outer: (
        Annotated[
            float,
            number("temperature", "Measured on the outermost surface", "Jacket or cover", gt=0),
        ]
        | None
    ) = None
    outer_deviation: (
        Annotated[
            float,
            number("temperature_difference", "Its standard deviation", "Blank: 3 K", gt=0),
        ]
        | None
    ) = None
    certain: Annotated[bool, words("It is right, though it looks like the wrong unit")] = False


class CauseResult(msgspec.Struct, frozen=True, kw_only=True):
    """One cause of a reading."""

    id: str
    title: str
    prior: float
    probability: float
    predicted: Range | None
    """Of the bellows, median and 90 % [K]; ``None`` for the instrument."""
    direction: str
    """Warmer or colder than the wall as described, by the balance."""
    parameter: str
    """What is unknown about it, in words."""
    kind: str
    estimate: Range | None
    """Of the unknown, given this reading; ``None`` where too few samples fit."""
    look: str
    """What to look for, and how."""
    samples: int
    """Effective number of samples that fit the reading."""


class Separation(msgspec.Struct, frozen=True, kw_only=True):
    """What would tell two causes apart."""

    first: str
    second: str
    measurement: str
    kind: str
    with_first: float
    """Expected value of the measurement if the first is so, SI."""
    with_second: float
    apart: float
    """Distance of the two over their joint standard deviation [-]."""
    separates: bool
    look: str
    """What to look for instead, where no outside measurement separates them."""


class InverseReport(msgspec.Struct, frozen=True, kw_only=True):
    """Causes of a reading, the likeliest first."""

    name: str
    case: WallCase
    reading: Reading
    deviation: float
    """Standard deviation used [K]."""
    causes: tuple[CauseResult, ...]
    separations: tuple[Separation, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
