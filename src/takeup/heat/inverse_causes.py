"""The ways in which a wall may differ from its description, and what each predicts."""

from __future__ import annotations

import csv
import functools
from importlib import resources

import msgspec

from takeup.heat.model import Fill, WallCase
from takeup.heat.wall_stack import State, state_of
from takeup.units import Array

INSTRUMENT = "instrument"
DESIGNED = "designed"
LOST_CAUSES = frozenset({"part_lost", "empty", "bypass", "lost_and_insulated"})
OVER_CAUSES = frozenset({"insulation_added", "lost_and_insulated"})


class Cause(msgspec.Struct, frozen=True, kw_only=True):
    """A way in which a wall may differ from its description."""

    id: str
    title: str
    prior: float
    fill: Fill | None
    parameter: str
    low: float
    high: float
    kind: str
    """Quantity kind of the parameter."""
    needs: str
    look: str


@functools.cache
def causes() -> dict[str, Cause]:
    """All causes by id, read once; priors are an engineering assumption."""
    text = resources.files("takeup.heat").joinpath("data", "inverse_causes.csv")
    return {
        row["id"]: Cause(
            id=row["id"],
            title=row["title"],
            prior=float(row["prior"]),
            fill=Fill(row["fill"]) if row["fill"] else None,
            parameter=row["parameter"],
            low=float(row["low"] or 0.0),
            high=float(row["high"] or 0.0),
            kind=row["kind"],
            needs=row["needs"],
            look=row["look"],
        )
        for row in csv.DictReader(text.read_text(encoding="utf-8").splitlines())
    }


class Prediction(msgspec.Struct, frozen=True, kw_only=True):
    """What one cause predicts, over samples."""

    cause: Cause
    prior: float
    """Normalised over the causes that can be."""
    bellows: Array
    """Outside of the plies [K]."""
    outer: Array
    """Outermost surface [K]."""
    flux: Array
    """At the outermost surface [W/m2]."""
    blown: Array
    """Change of the bellows when the wind rises to a windy day's [K]."""
    parameter: Array | None
    over: bool
    """Whether something lies over the bellows, so that its outside is another surface."""
    lost: int
    """Samples left out: beyond a convection relation."""


class Predictions(msgspec.Struct, frozen=True, kw_only=True):
    """All causes of one wall worked out once; any number of readings may be set against them."""

    case: WallCase
    found: tuple[Prediction, ...]
    low: float
    """Least and greatest temperature that an instrument may show [K]."""
    high: float

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of the causes, the instrument last."""
        return (*(one.cause.id for one in self.found), INSTRUMENT)


def applies(case: WallCase, cause: Cause) -> bool:
    """Whether a cause can be, for this wall."""
    there = {
        "": True,
        "packing": bool(case.packing),
        "cavity": case.cavity is not None,
        "insulation": case.insulation_thickness is not None,
        "lining": case.lining_thickness is not None,
        "cover": case.cover_gap is not None,
    }[cause.needs]
    return there and not (cause.fill is not None and cause.fill == case.fill)


def state_with(case: WallCase, cause: Cause, value: Array) -> State:
    """The state of a cause; ``value`` is its unknown, one per sample."""
    base = state_of(case)
    change: dict[str, object] = {}
    if cause.fill is not None:
        change["fill"] = cause.fill
    if cause.id in {"part_lost", "bypass", "lost_and_insulated"}:
        change["share"] = value
    if cause.id == "fines_in_fibre":
        change["fibre_factor"] = value
    elif cause.id == "lost_and_insulated":
        change["added"] = ADDED_WITH
    elif cause.id == "insulation_added":
        change["added"] = value
    elif cause.id == "insulation_lost":
        change["insulated"] = False
    elif cause.id == "insulation_wet":
        change["insulation_factor"] = value
    elif cause.id == "lining_lost":
        change["lining_left"] = 1.0 - value
    elif cause.id == "cover_off":
        change["covered"] = False
    elif cause.id == "process":
        change["gas_shift"] = value
    return msgspec.structs.replace(base, **change)


ADDED_WITH = 0.05
"""Insulation of the dangerous pair [m]."""
