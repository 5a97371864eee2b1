"""The calculator's form: a case of the bellows engine, laid out in groups."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

import msgspec

from takeup.bellows.model import BellowsCase, Convolution
from takeup.units import System
from takeup.web.typed_form import Group, Layout, Rows

CONDITIONS, MOVEMENTS, PIECES = 4, 6, 3
TITLES = {"name": "Name", "basis": "Rule set"}
CONDITION_ROWS = Rows(
    "conditions",
    "Conditions",
    "Condition",
    CONDITIONS,
    "Pressure is gauge; temperature is that of the bellows metal. Name them operating, design "
    "or test. Movements count at the operating condition, or at design where there is none. "
    "Allowable stress and modulus only where they are not to come from the tables.",
    ("design", "operating", "test"),
    after="joint",
)
MOVEMENT_ROWS = Rows(
    "movements",
    "Movements of the joint",
    "Movement",
    MOVEMENTS,
    "From the installed position, as the two ends move to each other, with how often each comes.",
    ("start and stop",),
    after="joint",
)
LAYOUT = Layout(
    BellowsCase,
    (
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
            "A toroidal bellows also needs its mean torus radius, above.",
            only=(Convolution.TOROIDAL.value,),
        ),
        Group(
            "metal",
            "Plies and metal",
            (
                "plies", "ply_thickness", "thinnest_ply", "material", "treatment",
                "forming_factor", "weld_factor", "yield_strength", "room_modulus",
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
            only=(Convolution.U_REINFORCED.value,),
        ),
        Group(
            "joint",
            "The joint",
            (
                "assembly", "role", "pressurised", "length_over_both", "spool_held",
                "offset_axial", "offset_lateral", "offset_angular",
            ),
        ),
        Group(
            "choices",
            "Choices of the engineer",
            ("kg", "ctheta", "kr", "material_factor"),
            "Left blank they take the value that the result names, with a caution.",
        ),
        Group(
            "curve",
            "Your own design fatigue curve",
            ("fatigue_curve-source", "fatigue_curve-most"),
            "N = (a / (x − b)) to the power of the exponent, for stress ranges at and above "
            "where a branch starts; highest branch first. It takes the place of the rule set's "
            "own curve.",
            folded=True,
        ),
    ),
    (
        CONDITION_ROWS,
        MOVEMENT_ROWS,
        Rows("fatigue_curve-pieces", "Branches", "Branch", PIECES, after="curve"),
    ),
    titles=TITLES,
    decides="convolution",
    not_for={"height": (Convolution.TOROIDAL.value,)},
)  # fmt: skip
_BLANK = ("tangent_length",)
"""Fields whose default stands for none, not for unknown; left blank they are unknown."""


class Reading(NamedTuple):
    """What the form said: the case, or the faults by field."""

    case: BellowsCase | None
    faults: dict[str, str]
    unused: tuple[str, ...]
    """Titles of filled fields that mean nothing for the chosen shape."""


def read(data: Mapping[str, Any], system: System) -> Reading:
    """Read the form; what is left blank is unknown and named in the case's ``missing``."""
    reading = LAYOUT.read(data, system)
    case = reading.value
    if case is None:
        return Reading(None, reading.faults, reading.unused)
    blank = [*_BLANK, *(() if case.convolution == Convolution.TOROIDAL else ("height",))]
    more = [name for name in blank if name not in reading.raw]
    case = msgspec.structs.replace(case, missing=tuple(dict.fromkeys([*case.missing, *more])))
    return Reading(case, {}, reading.unused)


def texts(case: BellowsCase, system: System) -> dict[str, str]:
    """The form as it would be filled for ``case``, in the units of the site."""
    found = LAYOUT.texts(case, system, zeros=_BLANK)
    unknown = {"treatment"} if "heat_treatment" in case.missing else set()
    return {
        name: "" if name in unknown or name in case.missing else text
        for name, text in found.items()
    }
