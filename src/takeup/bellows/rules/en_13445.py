"""EN 13445-3 clause 14, which EN 14917 takes over for expansion joints.

The stress equations and coefficients are those of App. 26; what differs is the limit of
meridional stress (3.0 f as formed, 1.5 f annealed, whatever the forming strain), the design
stress f, and fatigue curves of its own, as formed and annealed, whose constants are not held:
the user gives them.
"""

from __future__ import annotations

import math

import msgspec

from takeup.bellows.model import Basis
from takeup.bellows.rules import asme_viii_1_app26
from takeup.bellows.rules.base import RuleSet
from takeup.bellows.stiffness import EXACT_CONSTANT
from takeup.checks import LimitKind
from takeup.sources import Source, Standing

DOCUMENT = "EN 13445-3 clause 14 / EN 14917"
EDITION = "2021"


def _at(place: str, standing: Standing) -> Source:
    return Source(document=DOCUMENT, edition=EDITION, at=place, standing=standing)


_C, _R, _M, _S = Standing.CONFIRMED, Standing.READ, Standing.MEMORY, Standing.SUPPORTED
_F = "f by the process-piping table and yield / 1.5, a lower bound, unless it is given"
_NOTES = (
    "Design stress f is not held: unless it is given with the condition, the lower of the "
    "process-piping allowable stress and yield / 1.5 stands in. It is a lower bound for "
    "austenitic metal, so a check that it meets is met; one that it does not meet stays open.",
    "The fatigue constants of the standard are not held: give the curve (constants a, b, exponent, "
    "break points) from your copy of it, or fatigue is not evaluated.",
)


def _rules(base: RuleSet, sources: dict[str, Source], valid: str) -> RuleSet:
    return msgspec.structs.replace(
        base,
        basis=Basis.EN_13445,
        limit_kind=LimitKind.CODE,
        sources=base.sources
        | {
            "geometry": _at("nomenclature", _C),
            "length": _at("scope: N q at most 3 Db", _M),
            "thickness": _at("scope: wall thickness", _M),
            "limits": _at("scope: limits of convolutions", _M),
            "S1": _at(f"tangent hoop at most f; {_F}", _M),
            "S1c": _at("collar hoop at most its own f", _M),
            "S3": _at("S3", _C),
            "S3 limit": _at(f"S3 at most f; {_F}", _M),
            "e": _at("equivalent axial movement per convolution", _C),
            "S5": _at("meridional membrane stress from movement", _C),
            "S6": _at("meridional bending stress from movement", _C),
            "rate": _at("axial stiffness, exact constant", _S),
            "thrust": _at("effective area pi Dm^2 / 4", _C),
            "fatigue": _at("fatigue curve as the user gives it", _M),
            "usage": _at("cumulative damage", _M),
            "creep": _at("temperature below the creep range", _M),
            "pressure_limit": _at(
                "least of the pressures at which a pressure check is just met", _M
            ),
        }
        | sources,
        rate_constant=EXACT_CONSTANT,
        inplane_constant=math.pi - 2.0,
        yield_factor={True: 2.3, False: 0.75},
        yield_by_strength_factor=False,
        forming_counts=False,
        opened_pitch=False,
        applicability=True,
        creep_form=False,
        tensile_divisor=None,
        yield_divisor=1.5,
        curve=None,
        valid=valid,
        notes=_NOTES,
    )


PLAIN = _rules(
    asme_viii_1_app26.PLAIN,
    {
        "charts": _at("informative annex: polynomials of Cp, Cf, Cd", _S),
        "S2": _at(f"hoop of inner convolutions at most f; {_F}", _M),
        "S2e": _at(f"hoop of end convolutions at most f; {_F}", _M),
        "S4": _at("S4", _C),
        "S3+S4": _at("S3 + S4 at most 1.5 f annealed", _M),
        "S3+S4 as formed": _at("S3 + S4 at most 3.0 f as formed", _M),
        "St": _at("0.7 of pressure stress and all of movement stress", _M),
        "column_squirm": _at("column instability, 0.34 pi Kb / (N q)", _S),
        "inplane_squirm": _at("in-plane instability, (pi - 2) A Sy* / (Dm q sqrt(alpha))", _M),
        "inplane_squirm given": _at(
            "in-plane instability with yield of the finished bellows given", _M
        ),
    },
    "U-shaped unreinforced, within the geometry limits, below the creep range",
)

REINFORCED = _rules(
    asme_viii_1_app26.REINFORCED,
    {
        "charts": _at("informative annex: polynomials of Cp, Cf, Cd", _S),
        "S2": _at(f"reinforced: hoop of convolutions at most f; {_F}", _M),
        "S2r": _at("reinforced: hoop of rings at most their f", _M),
        "S2f": _at("reinforced: stress of fasteners at most their f", _M),
        "S4": _at("reinforced: S4 with w - Cr q", _S),
        "S3+S4": _at("reinforced: S3 + S4 at most 1.5 f annealed", _M),
        "S3+S4 as formed": _at("reinforced: S3 + S4 at most 3.0 f as formed", _M),
        "St": _at("0.7 of pressure stress and all of movement stress", _M),
        "column_squirm": _at("reinforced: column instability, 0.30 pi Kb / (N q)", _M),
    },
    "U-shaped reinforced, within the geometry limits, below the creep range",
)

TOROIDAL = _rules(
    asme_viii_1_app26.TOROIDAL,
    {
        "S2": _at(f"toroidal: hoop at most f; {_F}", _M),
        "St": _at("toroidal: 3 S3 + S5 + S6", _M),
        "column_squirm": _at("toroidal: column instability, 0.15 pi Kb / (N r)", _M),
    },
    "toroidal, C3 at most 20, below the creep range",
)

RULES = (PLAIN, REINFORCED, TOROIDAL)
