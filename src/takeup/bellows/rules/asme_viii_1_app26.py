"""ASME BPVC VIII-1, Mandatory Appendix 26: U-shaped unreinforced bellows."""

from __future__ import annotations

import math

from takeup.bellows.model import Basis
from takeup.bellows.rules.base import NAMES, RuleSet
from takeup.bellows.stiffness import EXACT_CONSTANT
from takeup.checks import LimitKind
from takeup.sources import Source, Standing

DOCUMENT = "ASME BPVC VIII-1 Appendix 26"
EDITION = "2013, with VIII-2 4.19 (2010)"


def _at(place: str, standing: Standing) -> Source:
    return Source(document=DOCUMENT, edition=EDITION, at=place, standing=standing)


_C, _R, _M, _S = Standing.CONFIRMED, Standing.READ, Standing.MEMORY, Standing.SUPPORTED

RULES = RuleSet(
    basis=Basis.ASME_26,
    limit_kind=LimitKind.CODE,
    checks=("column_squirm", "inplane_squirm", "S1", "S2", "S2e", "S3", "S3+S4"),
    names=NAMES,
    sources={
        "geometry": _at("nomenclature and figure of U-shaped convolutions", _C),
        "length": _at("scope: N q at most 3 Db", _R),
        "thickness": _at("scope: n t at most 5 mm", _R),
        "limits": _at("scope: limits of U-shaped convolutions", _M),
        "charts": _at("VIII-2 Tables 4.19.2 to 4.19.4, polynomials", _S),
        "S1": _at("tangent: S1", _C),
        "S2": _at("inner convolutions: S2,I", _C),
        "S2e": _at("end convolutions: S2,E", _M),
        "S3": _at("S3", _C),
        "S3 limit": _at("S3 at most S", _M),
        "S4": _at("S4", _C),
        "S3+S4": _at("S3 + S4 at most Km S, Km 1.5 annealed", _C),
        "S3+S4 as formed": _at("S3 + S4 at most Km S, Km = 1.5 Ysm within 1.5 to 3.0", _M),
        "S5": _at("S5", _C),
        "S6": _at("S6", _C),
        "St": _at("St = 0.7 (S3 + S4) + S5 + S6", _C),
        "e": _at("equivalent axial movement per convolution", _C),
        "column_squirm": _at("column instability, 0.34 pi Kb / (N q)", _S),
        "inplane_squirm": _at("in-plane instability, (pi - 2) A Sy* / (Dm q sqrt(alpha))", _M),
        "inplane_squirm given": _at(
            "in-plane instability with yield of the finished bellows given", _M
        ),
        "pressure_limit": _at("least of the pressures at which a pressure check is just met", _M),
        "rate": _at("axial stiffness Kb", _S),
        "thrust": _at("effective area pi Dm^2 / 4", _C),
        "fatigue": _at("VIII-2 Table 4.19.5, unreinforced; x = Kg (Eo/Eb) St", _R),
        "usage": _at("VIII-2 4.19.3.2, cumulative damage", _R),
        "mean": Source(
            document="EJMA Standards",
            edition="9th/10th ed.",
            at="mean fatigue life, as-formed austenitic",
            standing=_R,
        ),
        "creep": _at(
            "maximum design temperature: 425 °C for austenitic and nickel alloys, 370 °C for ferritic",
            _M,
        ),
    },
    rate_constant=EXACT_CONSTANT,
    inplane_constant=math.pi - 2.0,
    yield_factor={True: 2.3, False: 0.75},
    yield_by_strength_factor=False,
    applicability=True,
    creep_form=False,
    tensile_divisor=3.5,
    valid="U-shaped unreinforced, within the geometry limits, below the creep range",
    notes=(
        "Allowable stress is read from the process-piping table and held at tensile strength "
        "over 3.5, as VIII-1 does; where tensile strength at temperature governs, VIII-1's own "
        "table can be up to 6 % lower.",
    ),
)
