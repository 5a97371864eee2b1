"""EJMA Standards: U-shaped unreinforced and reinforced, and toroidal bellows."""

from __future__ import annotations

import msgspec

from takeup.bellows import fatigue, stability
from takeup.bellows.model import Basis, Convolution
from takeup.bellows.rules.base import NAMES, RuleSet
from takeup.bellows.stiffness import EJMA_CONSTANT
from takeup.checks import LimitKind
from takeup.sources import Source, Standing

DOCUMENT = "EJMA Standards"
EDITION = "9th/10th ed."


def _at(place: str, standing: Standing) -> Source:
    return Source(document=DOCUMENT, edition=EDITION, at=place, standing=standing)


def _asme(place: str, standing: Standing) -> Source:
    return Source(document="ASME BPVC VIII-2", edition="2010", at=place, standing=standing)


_C, _R, _M, _S = Standing.CONFIRMED, Standing.READ, Standing.MEMORY, Standing.SUPPORTED

PLAIN = RuleSet(
    basis=Basis.EJMA,
    convolution=Convolution.U_PLAIN,
    limit_kind=LimitKind.PUBLISHED,
    checks=("column_squirm", "inplane_squirm", "S1", "S1c", "S2", "S2e", "S3+S4"),
    names=NAMES,
    sources={
        "geometry": _at("nomenclature", _C),
        "charts": _at("charts of Cp, Cf, Cd as the polynomials of VIII-2 Tables 4.19.2-4", _S),
        "S1": _at("tangent: S1", _C),
        "S1c": _at("collar: S1'", _M),
        "S2": _at("convolution hoop: S2", _C),
        "S2 given": _at("convolution hoop: S2 with Kr as given", Standing.UNCERTAIN),
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
        "ends": Source(
            document="Column theory",
            at="buckling load by end condition",
            standing=Standing.SUPPORTED,
        ),
        "inplane_squirm": _at(
            "in-plane squirm, 1.3 A Sy / (Kr Dm q sqrt(alpha)), Sy = 0.67 Cm times table yield", _C
        ),
        "inplane_squirm given": _at(
            "in-plane squirm, 1.3 A Sy / (Kr Dm q sqrt(alpha)), yield of the finished bellows given",
            _C,
        ),
        "external": _asme(
            "4.4.5, cylinder of the bellows' own bending stiffness (EJMA, external pressure)", _M
        ),
        "pressure_limit": _at("least of the pressures at which a pressure check is just met", _M),
        "rate": _at("fiu = 1.7 Dm Eb tp^3 n / (w^3 Cf)", _C),
        "thrust": _at("effective area pi Dm^2 / 4", _C),
        "fatigue": _asme(
            "Table 4.19.5, unreinforced; EJMA itself prints a mean curve without margin", _R
        ),
        "usage": _asme("4.19.3.2, cumulative damage", _R),
        "mean": _at("mean fatigue life, as-formed austenitic", _R),
        "creep": _at("high temperature: life by test or by analysis with hold time", _M),
    },
    rate_constant=EJMA_CONSTANT,
    column_constant=stability.PLAIN,
    inplane_constant=1.3,
    yield_factor={True: 1.0, False: 1.0},
    yield_by_strength_factor=True,
    forming_counts=True,
    opened_pitch=True,
    applicability=False,
    creep_form=True,
    tensile_divisor=None,
    yield_divisor=None,
    curve=fatigue.PLAIN,
    mean=fatigue.MEAN_PLAIN,
    valid="U-shaped unreinforced; fatigue below the creep range",
)

REINFORCED = msgspec.structs.replace(
    PLAIN,
    convolution=Convolution.U_REINFORCED,
    checks=("column_squirm", "S1", "S1c", "S2", "S2r", "S2f", "S3+S4"),
    sources=PLAIN.sources
    | {
        "S2": _at("reinforced: S2 with R1 or R2", _S),
        "S2r": _at("reinforced: S2' of rings with R1", _S),
        "S2f": _at("reinforced: S2'' of fasteners with R2", _M),
        "ring_ratio": _at("reinforced: force ratio R1, R2", _S),
        "Cr": _at("reinforced: ring contact factor Cr", _S),
        "S3": _at("reinforced: 0.85 P (w - Cr q) / (2 n tp)", _S),
        "S4": _at("reinforced: S4 with w - Cr q", _S),
        "S3+S4": _at("reinforced: S3 + S4 at most Cm Sab, Cm 1.5 annealed", _S),
        "S5": _at("reinforced: S5 with w - Cr q", _S),
        "S6": _at("reinforced: S6 with w - Cr q", _S),
        "column_squirm": _at("reinforced: column squirm, 0.30 pi Ctheta fir / (N^2 q)", _M),
        "rate": _at("reinforced: fir with w - Cr q", _S),
        "fatigue": _asme(
            "Table 4.19.5, reinforced; EJMA itself prints a mean curve without margin", _S
        ),
        "mean": _at("mean fatigue life, reinforced", _M),
    },
    opened_pitch=False,
    column_constant=stability.REINFORCED,
    curve=fatigue.REINFORCED,
    mean=fatigue.MEAN_REINFORCED,
    valid="U-shaped reinforced; fatigue below the creep range",
)

TOROIDAL = msgspec.structs.replace(
    PLAIN,
    convolution=Convolution.TOROIDAL,
    checks=("column_squirm", "S1", "S1c", "S2", "S3"),
    sources=PLAIN.sources
    | {
        "geometry": _at("toroidal: nomenclature", _C),
        "charts": _at("toroidal: B1, B2, B3 as fits of the table", _S),
        "S1": _at("toroidal: S1", _C),
        "S1c": _at("toroidal: S1'", _C),
        "S2": _at("toroidal: S2 = P r / (2 n tp)", _C),
        "S3": _at("toroidal: S3", _C),
        "S3 limit": _at("toroidal: S3 at most Sab", _M),
        "S5": _at("toroidal: S5 with B1", _C),
        "S6": _at("toroidal: S6 with B2", _C),
        "St": _at("toroidal: St = 3 S3 + S5 + S6", _C),
        "column_squirm": _at("toroidal: column squirm, 0.15 pi Ctheta fit / (N^2 r)", _C),
        "rate": _at("toroidal: fit = Dm Eb tp^3 n B3 / (10.92 r^3)", _C),
        "fatigue": _asme("Table 4.19.5, unreinforced, for toroidal too", _M),
        "mean": _at("mean fatigue life, unreinforced curve for toroidal", Standing.UNCERTAIN),
    },
    opened_pitch=False,
    column_constant=stability.TOROIDAL,
    valid="toroidal, C3 at most 20; fatigue below the creep range",
)

RULES = (PLAIN, REINFORCED, TOROIDAL)
