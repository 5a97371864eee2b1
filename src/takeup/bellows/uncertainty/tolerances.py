"""Tolerances to start from, each with its source: all shown, all to be changed by the engineer."""

from __future__ import annotations

import math
from enum import StrEnum

from takeup.bellows.model import BellowsCase, Convolution
from takeup.bellows.uncertainty.model import Shape, Spread
from takeup.errors import require_within
from takeup.sources import Source, Standing, assumption
from takeup.units import INCH


class Sheet(StrEnum):
    """Standard to which the sheet of the plies was bought."""

    EN = "EN ISO 9445"
    ASTM = "ASTM A480"


_MM = 1e-3
_SHEET: dict[Sheet, tuple[tuple[float, float], ...]] = {
    Sheet.EN: tuple(
        (start * _MM, amount * _MM)
        for start, amount in (
            (0.10, 0.03), (0.30, 0.04), (0.50, 0.05), (0.60, 0.05), (0.80, 0.06), (1.00, 0.07),
            (1.20, 0.08), (1.50, 0.09), (2.00, 0.10), (2.50, 0.12), (3.00, 0.14),
        )
    ),
    Sheet.ASTM: tuple(
        (start * INCH, amount * INCH)
        for start, amount in (
            (0.005, 0.0015), (0.007, 0.002), (0.016, 0.003), (0.026, 0.004), (0.040, 0.005),
            (0.058, 0.006), (0.072, 0.007), (0.083, 0.008), (0.098, 0.009), (0.114, 0.010),
            (0.130, 0.012), (0.145, 0.014),
        )
    ),
}  # fmt: skip
"""From a thickness [m] on, the amount to either side [m]."""
_SHEET_TOP = {Sheet.EN: 4.0 * _MM, Sheet.ASTM: 0.1875 * INCH}
_SHEET_SOURCE = {
    Sheet.EN: Source(
        document="EN ISO 9445 (formerly EN 10259)",
        at="cold-rolled wide strip and sheet to 1250 mm wide, ordinary thickness tolerance; "
        "read in a stockholder's table, under 0.3 mm its narrower column",
        standing=Standing.READ,
    ),
    Sheet.ASTM: Source(
        document="ASTM A480/A480M",
        at="cold-rolled sheet, thickness tolerance",
        standing=Standing.MEMORY,
    ),
}
_MADE = Source(document="EJMA Standards", at="manufacturing tolerances", standing=Standing.MEMORY)
_PITCH = ((0.0, 1 / 16), (0.5, 1 / 8), (1.0, 3 / 16), (1.5, 1 / 4), (2.0, 5 / 16))
_HEIGHT = (
    (0.0, 1 / 32), (0.5, 1 / 16), (1.0, 3 / 32), (1.5, 1 / 8), (2.0, 5 / 32), (2.5, 3 / 16),
    (3.0, 7 / 32), (3.5, 1 / 4),
)  # fmt: skip
_DIAMETER = ((0.0, 1 / 16), (8.625, 1 / 8), (24.0, 3 / 16), (48.0, 1 / 4), (60.0, 5 / 16))


def _step(table: tuple[tuple[float, float], ...], value: float) -> float:
    """The amount of the last row that starts at or below ``value``."""
    return next(amount for start, amount in reversed(table) if value >= start * (1.0 - 1e-9))


def sheet_tolerance(thickness: float, sheet: Sheet = Sheet.EN) -> float:
    """Amount to either side [m] by which cold-rolled sheet of ``thickness`` [m] may differ.

    Raises :class:`takeup.errors.OutOfRange` outside the table.
    """
    table = _SHEET[sheet]
    require_within(
        "Ply thickness for its tolerance",
        thickness * 1e3,
        low=table[0][0] * 1e3,
        high=_SHEET_TOP[sheet] * 1e3,
        unit="mm",
        whose=_SHEET_SOURCE[sheet].document,
        remedy="Give the spread of the ply thickness by hand.",
    )
    return _step(table, thickness)


def usual(case: BellowsCase, sheet: Sheet = Sheet.EN) -> tuple[Spread, ...]:
    """Spreads to start from for ``case``: sheet, making, reading and movement.

    Design and test conditions are stated by definition and stay as they are; operating pressure
    and temperature are read from instruments and do not.  Strength and weld factor stay at
    the least values of their tables.  A field named in ``case.missing`` is left out.
    """
    found = [*_sheet(case, sheet), *_making(case), *_reading(case), *_moving(case)]
    return tuple(spread for spread in found if spread.input.partition("@")[0] not in case.missing)


def _either(
    input: str, amount: float, source: Source, *, relative: bool = False, note: str = "",
    shape: Shape = Shape.UNIFORM,
) -> Spread:  # fmt: skip
    return Spread(
        input=input, shape=shape, minus=amount, plus=amount, relative=relative, source=source,
        note=note,
    )  # fmt: skip


def _sheet(case: BellowsCase, sheet: Sheet) -> list[Spread]:
    found = [
        _either(
            "ply_thickness", sheet_tolerance(case.ply_thickness, sheet), _SHEET_SOURCE[sheet],
            note="all plies alike, as from one coil",
        )
    ]  # fmt: skip
    if case.thinnest_ply is not None:
        found.append(
            Spread(
                input="thinnest_ply",
                shape=Shape.NORMAL,
                deviation=0.03 * _MM,
                source=assumption("ultrasonic reading on thin sheet, standard deviation"),
            )
        )
    found.append(
        Spread(
            input="modulus",
            shape=Shape.NORMAL,
            deviation=0.02,
            minus=0.06,
            plus=0.06,
            relative=True,
            source=assumption("scatter of elastic modulus about its table, hot and cold alike"),
        )
    )
    return found


def _making(case: BellowsCase) -> list[Spread]:
    def inches(table: tuple[tuple[float, float], ...], value: float) -> float:
        return _step(table, value / INCH) * INCH

    found = [
        _either(
            "inside_diameter", inches(_DIAMETER, case.inside_diameter), _MADE,
            shape=Shape.TRIANGULAR,
        ),
        _either(
            "pitch", inches(_PITCH, case.pitch), _MADE, shape=Shape.TRIANGULAR,
            note="of one convolution; all are taken to differ alike, which overstates the "
            "spread of length and squirm",
        ),
    ]  # fmt: skip
    if case.convolution == Convolution.TOROIDAL:
        found.append(
            _either("torus_radius", 0.05, assumption("torus radius as formed"), relative=True,
                    shape=Shape.TRIANGULAR)
        )  # fmt: skip
        return found
    if case.height is not None:
        found.append(_either("height", inches(_HEIGHT, case.height), _MADE, shape=Shape.TRIANGULAR))
    found.append(
        _either(
            "torus_radius", 0.10,
            Source(
                document="ASME BPVC VIII-1 Appendix 26",
                at="crest and root radii within 10 % of each other",
                standing=Standing.MEMORY,
            ),
            relative=True,
            shape=Shape.TRIANGULAR,
            note="where it is not in the case it also moves with pitch, as q/4",
        )
    )  # fmt: skip
    return found


def _reading(case: BellowsCase) -> list[Spread]:
    found = []
    for condition in case.conditions:
        if condition.name.lower() != "operating":
            continue
        if condition.pressure:
            found.append(
                _either(
                    f"pressure@{condition.name}", 0.02, relative=True,
                    source=assumption("pressure gauge and its tapping, of the reading"),
                )
            )  # fmt: skip
        celsius = abs(condition.temperature - 273.15)
        found.append(
            _either(
                f"temperature@{condition.name}", math.hypot(max(2.5, 0.0075 * celsius), 10.0),
                source=assumption(
                    "thermocouple of class 2 (IEC 60584-1, from memory) and 10 K for metal that "
                    "differs from where it is read"
                ),
            )
        )  # fmt: skip
    return found


def _moving(case: BellowsCase) -> list[Spread]:
    names = {
        "axial": "axial",
        "lateral": "lateral",
        "angular": "angular",
        "lateral_across": "lateral",
        "angular_across": "angular",
    }
    return [
        _either(
            name, 0.10, relative=True,
            source=assumption(
                f"{words} movement found from temperature and pipe route, of its amount"
            ),
            note="all movements of the case by one draw",
        )
        for name, words in names.items()
        if any(getattr(move, name) for move in case.movements)
    ]  # fmt: skip
