"""ASME BPVC VIII-1, Mandatory Appendix 26 (the same equations as VIII-2 4.19)."""

from __future__ import annotations

import math

import msgspec

from takeup.bellows import fatigue, stability
from takeup.bellows.model import Basis, Convolution
from takeup.bellows.rules.base import NAMES, RuleSet
from takeup.bellows.stiffness import EXACT_CONSTANT
from takeup.checks import LimitKind
from takeup.sources import Source, Standing

DOCUMENT = "ASME BPVC VIII-1 Appendix 26"
EDITION = "2013, with VIII-2 4.19 (2010)"


def _at(place: str, standing: Standing) -> Source:
    return Source(document=DOCUMENT, edition=EDITION, at=place, standing=standing)


_C, _R, _M, _S = Standing.CONFIRMED, Standing.READ, Standing.MEMORY, Standing.SUPPORTED
_MEAN = Source(
    document="EJMA Standards",
    edition="9th/10th ed.",
    at="mean fatigue life, as-formed austenitic",
    standing=_R,
)

PLAIN = RuleSet(
    basis=Basis.ASME_26,
    convolution=Convolution.U_PLAIN,
    limit_kind=LimitKind.CODE,
    checks=("column_squirm", "inplane_squirm", "S1", "S1c", "S2", "S2e", "S3", "S3+S4"),
    names=NAMES,
    sources={
        "geometry": _at("nomenclature and figure of U-shaped convolutions", _C),
        "length": _at("scope: N q at most 3 Db", _R),
        "thickness": _at("scope: n t at most 5 mm", _R),
        "limits": _at("scope: limits of U-shaped convolutions", _M),
        "charts": _at("VIII-2 Tables 4.19.2 to 4.19.4, polynomials", _S),
        "S1": _at("tangent: S1", _C),
        "S1c": _at("collar: S1'", _M),
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
        "ends": Source(
            document="Column theory",
            at="buckling load by end condition",
            standing=Standing.SUPPORTED,
        ),
        "inplane_squirm": _at("in-plane instability, (pi - 2) A Sy* / (Dm q sqrt(alpha))", _M),
        "inplane_squirm given": _at(
            "in-plane instability with yield of the finished bellows given", _M
        ),
        "external": Source(
            document="ASME BPVC VIII-2",
            edition="2010",
            at="4.4.5, cylinder of the bellows' own bending stiffness (App. 26, external pressure)",
            standing=_M,
        ),
        "pressure_limit": _at("least of the pressures at which a pressure check is just met", _M),
        "rate": _at("axial stiffness Kb", _S),
        "thrust": _at("effective area pi Dm^2 / 4", _C),
        "fatigue": _at("VIII-2 Table 4.19.5, unreinforced; x = Kg (Eo/Eb) St", _R),
        "usage": _at("VIII-2 4.19.3.2, cumulative damage", _R),
        "mean": _MEAN,
        "creep": _at(
            "maximum design temperature: 425 °C for austenitic and nickel alloys, 370 °C for ferritic",
            _M,
        ),
    },
    rate_constant=EXACT_CONSTANT,
    column_constant=stability.PLAIN,
    inplane_constant=math.pi - 2.0,
    yield_factor={True: 2.3, False: 0.75},
    yield_by_strength_factor=False,
    forming_counts=True,
    opened_pitch=False,
    applicability=True,
    creep_form=False,
    tensile_divisor=3.5,
    yield_divisor=None,
    curve=fatigue.PLAIN,
    mean=fatigue.MEAN_PLAIN,
    valid="U-shaped unreinforced, within the geometry limits, below the creep range",
    notes=(
        "Allowable stress is read from the process-piping table and held at tensile strength "
        "over 3.5, as VIII-1 does; where tensile strength at temperature governs, VIII-1's own "
        "table can be up to 6 % lower.",
    ),
)

REINFORCED = msgspec.structs.replace(
    PLAIN,
    convolution=Convolution.U_REINFORCED,
    checks=("column_squirm", "S1", "S1c", "S2", "S2r", "S2f", "S3", "S3+S4"),
    sources=PLAIN.sources
    | {
        "S2": _at("reinforced: S2 with R1 or R2", _S),
        "S2r": _at("reinforced: S2' of rings with R1", _S),
        "S2f": _at("reinforced: S2'' of fasteners with R2", _M),
        "ring_ratio": _at("reinforced: force ratio R1, R2", _S),
        "Cr": _at("reinforced: ring contact factor Cr", _S),
        "S3": _at("reinforced: 0.85 P (w - Cr q) / (2 n tp)", _S),
        "S4": _at("reinforced: S4 with w - Cr q", _S),
        "S3+S4": _at("reinforced: S3 + S4 at most Km S, Km 1.5 annealed", _S),
        "S5": _at("reinforced: S5 with w - Cr q", _S),
        "S6": _at("reinforced: S6 with w - Cr q", _S),
        "column_squirm": _at("reinforced: column instability, 0.30 pi Kb / (N q)", _M),
        "rate": _at("reinforced: axial stiffness Kb with w - Cr q", _S),
        "fatigue": _at("VIII-2 Table 4.19.5, reinforced; x = Kg (Eo/Eb) St", _S),
        "mean": msgspec.structs.replace(_MEAN, at="mean fatigue life, reinforced", standing=_M),
    },
    column_constant=stability.REINFORCED,
    curve=fatigue.REINFORCED,
    mean=fatigue.MEAN_REINFORCED,
    valid="U-shaped reinforced, within the geometry limits, below the creep range",
)

TOROIDAL = msgspec.structs.replace(
    PLAIN,
    convolution=Convolution.TOROIDAL,
    checks=("column_squirm", "S1", "S1c", "S2", "S3"),
    sources=PLAIN.sources
    | {
        "geometry": _at("nomenclature and figure of toroidal convolutions", _C),
        "charts": _at("toroidal: B1, B2, B3 as fits of the table", _S),
        "S1": _at("toroidal: S1", _C),
        "S1c": _at("toroidal: S1'", _C),
        "S2": _at("toroidal: S2 = P r / (2 n tp)", _C),
        "S3": _at("toroidal: S3", _C),
        "S3 limit": _at("toroidal: S3 at most S", _M),
        "S5": _at("toroidal: S5 with B1", _C),
        "S6": _at("toroidal: S6 with B2", _C),
        "St": _at("toroidal: St = 3 S3 + S5 + S6", _C),
        "column_squirm": _at("toroidal: column instability, 0.15 pi Kb / (N r)", _C),
        "rate": _at("toroidal: axial stiffness Kb with B3", _C),
        "fatigue": _at("VIII-2 Table 4.19.5, unreinforced, for toroidal too", _M),
        "mean": msgspec.structs.replace(
            _MEAN,
            at="mean fatigue life, unreinforced curve for toroidal",
            standing=Standing.UNCERTAIN,
        ),
    },
    column_constant=stability.TOROIDAL,
    valid="toroidal, C3 at most 20, below the creep range",
)

RULES = (PLAIN, REINFORCED, TOROIDAL)
