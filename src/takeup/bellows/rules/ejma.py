"""EJMA Standards: U-shaped unreinforced bellows."""

from __future__ import annotations

from takeup.bellows.model import Basis
from takeup.bellows.rules.base import NAMES, RuleSet
from takeup.bellows.stiffness import EJMA_CONSTANT
from takeup.checks import LimitKind
from takeup.sources import Source, Standing

DOCUMENT = "EJMA Standards"
EDITION = "9th/10th ed."


def _at(place: str, standing: Standing) -> Source:
    return Source(document=DOCUMENT, edition=EDITION, at=place, standing=standing)


_C, _R, _M, _S = Standing.CONFIRMED, Standing.READ, Standing.MEMORY, Standing.SUPPORTED

RULES = RuleSet(
    basis=Basis.EJMA,
    limit_kind=LimitKind.PUBLISHED,
    checks=("column_squirm", "inplane_squirm", "S1", "S2", "S2e", "S3+S4"),
    names=NAMES,
    sources={
        "geometry": _at("nomenclature", _C),
        "charts": _at("charts of Cp, Cf, Cd as the polynomials of VIII-2 Tables 4.19.2-4", _S),
        "S1": _at("tangent: S1", _C),
        "S2": _at("convolution hoop: S2, with Kr = 1", _C),
        "S2e": _at("end convolution hoop: S2e", _M),
        "S3": _at("S3", _C),
        "S4": _at("S4", _C),
        "S3+S4": _at("S3 + S4 at most Cm Sab, Cm 1.5 annealed", _C),
        "S3+S4 as formed": _at("S3 + S4 at most Cm Sab, Cm = 1.5 Ysm within 1.5 to 3.0", _M),
        "S3+S4 creep": _at("creep range: S3 + S4/1.25 at most Sab", _M),
        "S5": _at("S5 with modulus at room temperature", _C),
        "S6": _at("S6 with modulus at room temperature", _C),
        "St": _at("St = 0.7 (S3 + S4) + S5 + S6", _C),
        "e": _at("equivalent axial movement per convolution", _C),
        "column_squirm": _at("column squirm, 0.34 pi Ctheta fiu / (N^2 q)", _C),
        "inplane_squirm": _at(
            "in-plane squirm, 1.3 A Sy / (Kr Dm q sqrt(alpha)), Sy = 0.67 Cm times table yield", _M
        ),
        "inplane_squirm given": _at(
            "in-plane squirm, 1.3 A Sy / (Kr Dm q sqrt(alpha)), yield of the finished bellows given",
            _C,
        ),
        "pressure_limit": _at("least of the pressures at which a pressure check is just met", _M),
        "rate": _at("fiu = 1.7 Dm Eb tp^3 n / (w^3 Cf)", _C),
        "thrust": _at("effective area pi Dm^2 / 4", _C),
        "fatigue": Source(
            document="ASME BPVC VIII-2",
            edition="2010",
            at="Table 4.19.5, unreinforced; EJMA itself prints a mean curve without margin",
            standing=_R,
        ),
        "usage": Source(
            document="ASME BPVC VIII-2",
            edition="2010",
            at="4.19.3.2, cumulative damage",
            standing=_R,
        ),
        "mean": _at("mean fatigue life, as-formed austenitic", _R),
        "creep": _at("high temperature: life by test or by analysis with hold time", _M),
    },
    rate_constant=EJMA_CONSTANT,
    inplane_constant=1.3,
    yield_factor={True: 1.0, False: 1.0},
    yield_by_strength_factor=True,
    applicability=False,
    creep_form=True,
    tensile_divisor=None,
    valid="U-shaped unreinforced; fatigue below the creep range",
    notes=(
        "Kr = 1 in S2 and in-plane squirm: movement that opens the pitch raises it; "
        "its formula is not confirmed.",
    ),
)
