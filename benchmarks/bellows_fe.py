"""Report: bellows formulas against finite elements, with every large deviation taken apart.

python -m benchmarks.bellows_fe            # print the page
python -m benchmarks.bellows_fe --write    # write docs/why/bellows-fe.md
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np
from benchmarks.axisymmetric import Meridian, Piece, Shell
from benchmarks.bellows_models import (
    CASES,
    MODULUS,
    MOVEMENT,
    Case,
    Figures,
    Modelled,
    charted,
    deviation,
    elements,
    formulas,
    parallel,
    rings,
    shallower,
    shallower_torus,
    torus,
    u_meridian,
)

from takeup.bellows import geometry, stiffness, toroidal
from takeup.bellows.model import Bellows

PAGE = Path(__file__).parents[1] / "docs" / "why" / "bellows-fe.md"
EXPLAIN = 0.10
"""Deviations above this are taken apart."""
NAMES = {
    "s2": "S2", "s3": "S3", "s4": "S4", "pressure_sum": "S3 + S4",
    "s5": "S5", "s6": "S6", "movement_sum": "S5 + S6", "rate": "rate",
}  # fmt: skip
TORUS_NAMES = NAMES | {"pressure_sum": "S3 with bending"}
LEANS = (-15, -10, -5, -2, 0, 2, 5, 10, 15)
SLENDER = 300.0
"""w/tp of the sweep over the charts: thin enough for their theory, thick enough for the mesh"""


@cache
def _compared() -> tuple[tuple[Case, Figures, Modelled], ...]:
    return tuple(
        (
            case,
            formulas(case.bellows, omega=case.omega),
            elements(case.bellows, omega=case.omega),
        )
        for case in CASES
    )


def _table(head: list[str], rows: list[list[str]]) -> str:
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def _percent(share: float, digits: int = 1) -> str:
    """Signed per cent with a true minus, no sign on zero, blank where there is none."""
    if np.isnan(share):
        return ""
    value = round(100.0 * share, digits) + 0.0
    return (f"{value:+.{digits}f} %" if value else f"{0:.{digits}f} %").replace("-", "−")


def _round(share: float) -> str:
    return _percent(share, 0)


def _geometry_table() -> str:
    rows = []
    for case, _, found in _compared():
        b = case.bellows
        dm, tp = float(geometry.mean_diameter(b)), float(geometry.thinned_ply(b))
        if case.omega:
            chart, lean = f"C3 {toroidal.c3(b):.2f}", ""
            shape = f"Dm {1e3 * dm:.0f}, r {1e3 * b.torus_radius:.1f}"
            slender = [f"r/Dm {b.torus_radius / dm:.3f}", f"r/tp {b.torus_radius / tp:.0f}"]
            places = ["", found.where_s6]
        else:
            chart = f"C1 {geometry.chart_c1(b):.3f}, C2 {geometry.chart_c2(b):.3f}"
            lean = f"{np.degrees(geometry.wall_angle(b)):+.1f}°".replace("-", "−")
            lean = "0" if b.pitch == 4.0 * b.torus_radius else lean
            shape = (
                f"Db {1e3 * b.inside_diameter:.0f}, w {1e3 * b.height:.1f}, "
                f"q {1e3 * b.pitch:.1f}, rm {1e3 * b.torus_radius:.2f}"
            )
            slender = [f"w/Dm {b.height / dm:.3f}", f"w/tp {b.height / tp:.0f}"]
            places = [found.where_s4, found.where_s6]
        rows.append([case.name, shape, f"{1e3 * tp:.3f}", chart, lean, *slender, *places])
    return _table(
        ["case", "mm", "tp mm", "chart", "lean", "shallow", "slender", "S4 is at", "S6 is at"],
        rows,
    )


def _value_table(names: dict[str, str], *, omega: bool) -> str:
    rows = []
    for case, said, found in _compared():
        if case.omega != omega:
            continue
        off = found.figures.over(said)
        row = [case.name.split(",")[0]]
        for name in names:
            scale = 1e3 if name == "rate" else 1e6
            pair = (getattr(said, name) / scale, getattr(found.figures, name) / scale)
            digits = [f"{value:.0f}" if value >= 1000 else f"{value:.4g}" for value in pair]
            row.append(f"{digits[0]} / {digits[1]} / **{_percent(off[name])}**")
        rows.append(row)
    units = {name: " N/mm" if name == "rate" else "" for name in names}
    return _table(["case", *(f"{label}{units[name]}" for name, label in names.items())], rows)


def flagged() -> list[tuple[Case, str, float]]:
    """Every deviation above the mark, worst quantity by quantity."""
    return [
        (case, name, share)
        for case, said, found in _compared()
        for name, share in found.figures.over(said).items()
        if abs(share) > EXPLAIN
    ]


def _causes() -> Iterator[list[str]]:
    """One row for each flagged deviation, with what it becomes when the model is varied."""
    for case, name, share in flagged():
        b = case.bellows
        if case.omega:
            smaller = deviation(shallower_torus(b), omega=True)[name]
            tried = ["", _percent(smaller), "", ""]
            causes = ["finite r/Dm", "chart of B2"]
        else:
            leans = b.pitch != 4.0 * b.torus_radius
            square = deviation(parallel(b))[name] if leans else share
            smaller = deviation(shallower(b))[name]
            witness = rings(b).get("rate" if name == "s5" else name, np.nan)
            own = share
            causes = []
            if leans and abs(square - share) > 0.02:
                causes.append("leaning walls")
            if name == "s5":
                # the force balance makes S5 = f e / (pi Dm tp) exactly, for any shape
                own = (1.0 + share) * np.pi / (2.0 * 1.7) - 1.0
                causes.append("constant of S5")
                if not leans and own > 0.02:
                    causes.append("chart of Cf")
            elif not leans and abs(smaller) < abs(share) - 0.02:
                causes.append("finite w/Dm")
            tried = [
                _percent(square) if leans else "",
                _percent(smaller),
                _percent(own) if name == "s5" else "",
                _percent(witness),
            ]
        yield [case.name.split(",")[0], NAMES[name], _percent(share), *tried, "; ".join(causes)]


def _cause_table() -> str:
    return _table(
        [
            "case", "quantity", "as modelled", "walls parallel", "w/Dm or r/Dm a quarter",
            "S5 by its own rate", "thin rings", "cause",
        ],
        list(_causes()),
    )  # fmt: skip


def _lean_table() -> str:
    rows = []
    for c1, c2 in ((0.3, 0.4), (0.4, 0.66), (0.5, 1.0), (0.5, 1.5), (0.55, 1.85)):
        for name in ("rate", "s6"):
            row = [f"{c1}, {c2}", NAMES[name]]
            for lean in LEANS:
                b = charted(c1, c2, lean=lean)
                row.append(f"{_round(deviation(b)[name])} ({_round(rings(b)[name])})")
            rows.append(row)
    heads = [f"{lean:+d}°".replace("-", "−") if lean else "0°" for lean in LEANS]
    return _table(["C1, C2", "quantity", *heads], rows)


def _hoop_table() -> str:
    """What leaning changes when the hoop springs of the second witness are cut."""
    rows = []
    for case in CASES:
        b = case.bellows
        if case.omega or b.pitch == 4.0 * b.torus_radius:
            continue
        square = parallel(b)

        def ratio(hoop: bool, b: Bellows = b, square: Bellows = square) -> float:
            lean, plain = rings(b, hoop=hoop)["rate"], rings(square, hoop=hoop)["rate"]
            return (1.0 + lean) / (1.0 + plain) - 1.0

        model = (1.0 + deviation(b)["rate"]) / (1.0 + deviation(square)["rate"]) - 1.0
        rows.append([case.name, _percent(model), _percent(ratio(True)), _percent(ratio(False))])
    return _table(
        ["case", "elements", "thin rings", "thin rings, rings cut"],
        rows,
    )


def swept(c1: float, c2: float) -> Bellows:
    """A bellows of these chart parameters with w/tp of :data:`SLENDER`, or more if needed."""
    product = 4.0 * c2**2 / (1.82**2 * c1**2)
    return charted(c1, c2, shallow=product / max(SLENDER, product / 0.15))


def _chart_table() -> str:
    columns = (0.2, 0.4, 0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 2.0, 2.5, 3.0, 3.5, 4.0)
    heights = (0.31, 0.4, 0.5, 0.6, 0.7, 0.8)
    found = {c2: [deviation(swept(c1, c2), along=120) for c1 in heights] for c2 in columns}
    rows = []
    for name, label in (("s4", "Cp (S4)"), ("s6", "Cd (S6)"), ("rate", "Cf (rate, 1.7)")):
        row = [label]
        for c2 in columns:
            values = [off[name] for off in found[c2]]
            row.append(f"{_round(min(values))} to {_round(max(values))}")
        rows.append(row)
    return _table(["chart", *(f"C2 {c2}" for c2 in columns)], rows)


def _clamp_table() -> str:
    rows = []
    for c1, c2, shallow in (
        (0.3, 0.1, 0.002), (0.5, 0.1, 0.002), (0.5, 4.0, 0.15), (0.5, 5.0, 0.15),
        (0.5, 6.0, 0.15), (0.7, 4.0, 0.15), (0.7, 5.0, 0.15), (0.7, 6.0, 0.15),
    ):  # fmt: skip
        off = deviation(charted(c1, c2, shallow=shallow))
        rows.append([f"{c1}", f"{c2}", *(_percent(off[name]) for name in ("s4", "s6", "rate"))])
    return _table(["C1", "C2", "S4", "S6", "rate"], rows)


def _held_table() -> str:
    rows = []
    names = ("s3", "pressure_sum", "s5", "s6", "rate")
    for case in CASES:
        if case.omega:
            free = deviation(case.bellows, omega=True)
            held = deviation(case.bellows, omega=True, held_radially=True)
            rows.append([case.name, *(f"{_round(free[n])} / {_round(held[n])}" for n in names)])
    for c3 in (2.0, 4.0, 6.0, 8.0, 16.0):
        b = torus(dm=1000, r=20, tp=6.61 * 20**2 / 1000 / c3)
        free = deviation(b, omega=True)
        held = deviation(b, omega=True, held_radially=True)
        rows.append(
            [f"r/Dm 0.02, C3 {c3:.0f}", *(f"{_round(free[n])} / {_round(held[n])}" for n in names)]
        )
    return _table(["case", *(TORUS_NAMES[n] for n in names)], rows)


def _mesh_table() -> str:
    rows = []
    finest = {}
    chosen = [case for case in CASES if case.name[:2] in {"P1", "P4", "L1", "T2"}]
    for case in chosen:
        finest[case.name] = elements(case.bellows, omega=case.omega, along=480, through=4).figures
    for along, through in ((20, 1), (40, 1), (40, 2), (80, 2), (160, 3), (320, 3)):
        row = [f"{along} × {through}"]
        for case in chosen:
            found = elements(case.bellows, omega=case.omega, along=along, through=through).figures
            off = found.over(finest[case.name])
            first = "s3" if case.omega else "s4"
            row.append(
                ", ".join(f"{100.0 * off[name]:+.3f}".replace("-", "−") for name in (first, "s6", "rate"))
            )  # fmt: skip
        rows.append(row)
    return _table(["elements", *(case.name.split(",")[0] for case in chosen)], rows)


def tube_error(through: int) -> float:
    """Relative error of the radial displacement at the bore of Lamé's thick tube, ends held."""
    inner, outer = 1.0, 1.5
    line = Meridian(((inner + outer) / 2.0, 0.0), np.pi / 2.0, (Piece(0.4, 0.0),))
    tube = Shell(line, outer - inner, modulus=MODULUS, along=2, through=through)
    bore = tube.loaded.get_dofs(tube.loaded.find).all("u^1")
    share = 1e6 * inner**2 / (outer**2 - inner**2)
    exact = 1.3 / MODULUS * share * ((1.0 - 0.6) * inner + outer**2 / inner)
    return float(np.max(np.abs(tube.solve(pressure=1e6).displacement[bore] / exact - 1.0)))


def free_growth() -> float:
    """Largest stress in a convolution that swells freely, over E times the free strain."""
    b = CASES[0].bellows
    tp = float(geometry.thinned_ply(b))
    shell = Shell(u_meridian(b), tp, modulus=MODULUS, along=64, through=2, hold=("start_z",))
    parts = shell.components(shell.solve(strain=1e-3).displacement, 1e-3)
    worst = max(np.abs(parts[name]).max() for name in ("rr", "zz", "tt", "rz"))
    return float(worst / (MODULUS * 1e-3))


def flat_ring() -> tuple[float, float]:
    """Rate and bending of a slit torus far from the axis, against the curved beam it then is."""
    dm, r, tp = 1e3, 0.02, 0.0004
    found = elements(torus(dm=dm * 1e3, r=r * 1e3, tp=tp * 1e3), omega=True).figures
    force = MODULUS * tp**3 / (12.0 * (1.0 - 0.3**2)) * MOVEMENT / (np.pi * r**3)
    rate = force * np.pi * dm / MOVEMENT
    return found.rate / rate - 1.0, found.s6 / (6.0 * force * r / tp**2) - 1.0


def _ply_text() -> str:
    lines = []
    for case, _, found in _compared():
        if len(found.compliance) > 1:
            mean = float(np.mean(found.compliance))
            spread = ", ".join(_percent(c / mean - 1.0) for c in found.compliance)
            lines.append(f"{case.name.split(',')[0]}, from inside: {spread}")
    return "; ".join(lines)


def page() -> str:
    """The page as Markdown."""
    balance = max(found.axial_balance for _, _, found in _compared())
    hoop = max(found.hoop_balance for _, _, found in _compared())
    ring = flat_ring()
    exact = stiffness.EXACT_CONSTANT / stiffness.EJMA_CONSTANT
    rates = _table(
        ["case", "formula 1.7", "formula 1.726", "elements", "against 1.7", "against 1.726"],
        [
            [
                case.name.split(",")[0],
                f"{said.rate / 1e3:.1f}",
                f"{said.rate * exact / 1e3:.1f}",
                f"{found.figures.rate / 1e3:.1f}",
                _percent(found.figures.rate / said.rate - 1.0),
                _percent(found.figures.rate / said.rate / exact - 1.0),
            ]
            for case, said, found in _compared()
            if not case.omega
        ],
    )
    return TEXT.format(
        geometry=_geometry_table(),
        plain=_value_table(NAMES, omega=False),
        toroidal=_value_table(
            {name: label for name, label in TORUS_NAMES.items() if name != "s4"}, omega=True
        ),
        rates=rates,
        causes=_cause_table(),
        lean=_lean_table(),
        hoop=_hoop_table(),
        charts=_chart_table(),
        clamp=_clamp_table(),
        held=_held_table(),
        mesh=_mesh_table(),
        axial_balance=f"{balance:.0e}",
        hoop_balance=f"{hoop:.0e}",
        plies=_ply_text(),
        tube=", ".join(f"{tube_error(through):.1e}" for through in (1, 2, 4)),
        free=f"{free_growth():.0e}",
        ring=_percent(ring[0]),
        beam=_percent(ring[1]),
        largest_s3=", ".join(
            f"{case.name.split(',')[0]} {found.largest_s3 / said.s3:.2f}"
            for case, said, found in _compared()
            if not case.omega
        ),
    )


TEXT = """# Bellows formulas against finite elements

<!-- Written by `python -m benchmarks.bellows_fe --write`; change the program, then run it again. -->

The closed formulas for S2 to S6 and for the axial rate are compared here with a model that shares nothing with them: solid axisymmetric elements on a general library, `benchmarks/axisymmetric.py`.

**What to take from this page**

1. With parallel side walls (rm = q/4) the formulas hold: S2 and S3 within 1 %, S3 + S4 within 6 %, S6 and the rate within about 10 %. The coefficients Cp, Cf and Cd, which came to Takeup from memory, are borne out over the range of C2, for C1 of 0.3 to 0.8: within 6 % over most of it, 15 % at the worst (see *The charts*).
2. **With leaning side walls (rm not q/4) the axial rate, and at C2 above about 1 also S6, can be far off, inside the 15° that the rule sets allow.** Walls that lean out by 5° may double the rate (thrust on anchors) and raise S6 by a quarter (life is over-estimated). Walls that lean in by 5° may lower the rate by a fifth, and with it the column squirm pressure: the formula is then on the unsafe side. The charts know rm and w only; they do not see q. Do not rest squirm, thrust or life of such a bellows on the formulas alone.
3. C2 above 4, where Takeup holds the charts at 4 and says so: at C2 of 5 to 6 the elements give 16 to 52 % more rate and S6 than the formulas.
4. S5 is 8 % low by its own constant. It is about a hundredth of S6, and does not matter.
5. The toroidal formulas hold within 10 % for a torus that is free to move radially where it meets the tangent. A stiff collar there raises S6 by up to a third and the rate by up to a quarter for C3 of 2 to 8.

## The model

Half a convolution, from the plane of the crest to the plane of the root; both stay plane (symmetry).
Nine-node quadrilaterals on the true curve, 160 along the meridian and 3 through the thickness; elastic, small displacements, Poisson's ratio 0.3, uniform thickness tp.
Arcs of radius rm at crest and root, and the straight wall that touches both.
The mid-wall diameters of crest and root are Dm + w and Dm − w.
A toroidal bellows is a full torus slit at its inner equator, free radially there: that is the body for which B1, B2 and B3 stand.
Load cases: pressure 0.1 MPa on the inside with both planes held axially; 1 mm of movement of a convolution. E = 195 GPa. Both are linear: only ratios matter.

Several plies are as many shells, each on its own diameter and radii, free to slide, with the same movement and an equal share of the pressure; the worst ply counts.
The share of a ply follows from its compliance; compliance against the mean is: {plies}.
So an equal share is right within as much.

**A second witness.** `benchmarks/thin_rings.py` solves the theory behind the charts (a strip that bends on hoop springs, all at the mean radius) in forty lines of finite differences, without elements and without charts. It gives the rate and S6.

## What S2 to S6 mean

- **S2**: hoop stress averaged over the section. It follows from equilibrium: pressure on the enclosed area, carried by the metal area.
- **S3**: the crest and the root together carry the pressure on the annulus between them, whatever the shape. P w / (2 tp) is the mean of the two, weighted by radius. The root has a little more and the crest a little less. It is not the largest membrane stress: where rings carry much of the load (C2 above 1) the arcs see more. Largest over S3: {largest_s3}. S4 is ten to a hundred times larger, so that S3 + S4 is compared below with the largest linearised stress on a face, anywhere.
- **S4, S6**: largest meridional bending stress anywhere along the profile, linearised through the thickness.
- **S5**: axial force over π Dm tp: by equilibrium f e / (π Dm tp), again the mean of crest and root.
- Toroidal **S3, S5**: largest meridional membrane stress anywhere.

## The elements on their own

| check | result |
| --- | --- |
| thick tube of Lamé (b/a = 1.5), error of the bore displacement with 1, 2, 4 elements | {tube} (falls with the fourth power) |
| a convolution that swells freely: largest stress over E times the strain | {free} |
| axial force of the planes against pressure on the annulus, worst case below | {axial_balance} |
| hoop force of the section against pressure on the enclosed area, worst case below | {hoop_balance} |
| slit torus far from the axis against the curved beam it becomes | rate {ring}, bending {beam} |

Mesh: deviation in per cent of S4 (T2: S3), S6 and rate from a mesh of 480 × 4.

{mesh}

## Geometry

Parallel walls: P. Leaning walls: L. Two plies: D. Toroidal: T. Lean is positive where the wall opens outwards (q/2 > 2 rm).

{geometry}

## Results

Formula / elements / **deviation of the elements from the formula**, MPa. Plus means: the formula is too low.

{plain}

{toroidal}

S2 of T1 is low because pressure acts on the inner radius of the torus and the formula takes the mean one.

Axial rate with both constants in use (N/mm):

{rates}

## Deviations above 10 %, taken apart

Each is modelled again with one thing changed. Blank: does not apply.
*w/Dm or r/Dm a quarter* keeps the chart parameters and makes the convolution small against the diameter, which is what the theory of the charts assumes.
*S5 by its own rate* compares with f e / (π Dm tp), f by formula.
*Thin rings* is the second witness (for S5: its rate), at no charts.

{causes}

- **Constant of S5.** The formula has 1/2. Its own rate formula and equilibrium ask for 1.7/π = 0.541: 8 %, for any shape.
- **Chart of Cf.** What is left of S5 is the deviation of the rate. It does not go away with small w/Dm, and the thin rings give the same figure: the chart itself is off by this much.
- **Finite w/Dm, r/Dm.** The charts have one radius for crest and root. In a deep convolution the root is the smaller ring, and its bending is larger. The deviation goes away with w/Dm.
- **Chart of B2.** What is left of S6 of T2 at a small r/Dm: B2 is 6 % low near C3 = 10. (The sheet that T2 is from printed 2.5 % more than the fit used here.)
- **Leaning walls.** The deviation goes away when the walls are made parallel, with everything else kept. The cause is hoop stiffness: a wall that rotates by β moves radially by β times its axial run. Parallel walls have no axial run where the rotation is largest, leaning ones do, and the rings must stretch. Arcs and walls push the same way when the wall leans out; when it leans in they work against one another. Proof: cut the rings and leaning changes nothing. Change of rate from parallel to leaning walls:

{hoop}

## How much leaning matters

Deviation of the elements (in brackets: of the thin rings) from the formula; one ply, w/Dm = 0.06.
Plus on the rate: anchors see more than computed. Minus on the rate: column squirm comes earlier than computed. Plus on S6: life is shorter than computed.

{lean}

At C2 of 0.4 the rate moves by 5 % where walls lean by 5°, and S6 hardly at all; from C2 of about 0.6 the rate, and from about 1 also S6, leave the bands of parallel walls. The angle is that of Takeup's check *Lean of the side walls*.

## The charts

Deviation over C1 = 0.31 to 0.8, thin convolutions (w/tp = 300) with parallel walls, at each column of the tables.

{charts}

Cp is low by up to 13 % near C1 = 0.3 at C2 of 2 and more: that is where its deviation is largest, and S4 too low.

C2 outside 0.2 to 4.0, where the charts are held at their ends:

{clamp}

Below 0.2 holding is harmless: the 13 % on S4 is a thick arc (rm/tp = 6), and falls to 1 % at rm/tp = 48. Above 4 it is not: the hoop stiffness keeps growing with C2. (With w at 0.15 Dm, C2 = 5 takes w/tp of 400 at C1 = 0.7 and 800 at C1 = 0.5: very thin plies.)

## Toroidal: free or held where it meets the tangent

Deviation free / held radially at the slit. A tangent without collar is nearer to free, a stiff collar nearer to held; the mouth of a real torus is not modelled.

{held}

With the slit held, pressure also bends the wall there; the formulas have no S4 for it.

## What this does not show

Thickness that varies along the convolution, plasticity (which comes with every stress range above twice yield), end convolutions, reinforcing rings, squirm and buckling, friction between plies.
Agreement with an elastic model says that the formulas are good elastic formulas, not that the bellows is sound.
"""


def main() -> None:
    """Print or write the page."""
    start = time.perf_counter()
    text = page()
    if "--write" in sys.argv[1:]:
        PAGE.write_text(text, encoding="utf-8")
        print(f"wrote {PAGE.name} in {time.perf_counter() - start:.0f} s")
    else:
        print(text)


if __name__ == "__main__":
    main()
