"""Fatigue tests of bellows that could be read, against the two curves.

Each test is set at its stress range: from its geometry where that is known, otherwise from the mean
life that its source states.  Prints a table; ``--write`` renews the drawing and the table in
docs/why/bellows-fatigue.md.

    PYTHONPATH=src python benchmarks/bellows_fatigue.py [--write]
"""

from __future__ import annotations

import csv
import math
import sys
from pathlib import Path
from typing import NamedTuple

import numpy as np

from takeup.bellows import charts, fatigue, geometry, movements, pressure
from takeup.bellows.model import Bellows
from takeup.documents.drawing import PRINT
from takeup.documents.drawing.svg import Svg, n

ROOT = Path(__file__).resolve().parent.parent
TESTS = ROOT / "tests" / "published" / "bellows" / "data" / "fatigue_tests.csv"
PAGE = ROOT / "docs" / "why" / "bellows-fatigue.md"
DRAWING = ROOT / "docs" / "images" / "bellows-fatigue.svg"
ROOM_MODULUS = 195e9
"""Austenitic steel [Pa]."""
MARGIN = 2.6
"""Cycles of the curve under the design curve to cycles of the design curve, below 40 000."""
NOTE = {"EJMA": 7000.0, "B31.3": 1150.0, "Appendix 26": 1100.0}
"""Cycles that a trade note gives for one bellows by three codes."""


class Tested(NamedTuple):
    """One test beside what the curves say."""

    id: str
    stress: float
    worked_out: bool
    mean: float
    design: float
    cycles: float
    failed: bool


def stress_at_mean(cycles: float) -> float:
    """The stress range [Pa] whose mean life is ``cycles``."""
    low, high = fatigue.MEAN_FLOOR, 1e11
    for _ in range(200):
        middle = math.sqrt(low * high)
        low, high = (middle, high) if fatigue.mean_cycles(middle) > cycles else (low, middle)
    return low


def stress_of(row: dict[str, str]) -> tuple[float, bool]:
    """Total stress range [Pa] of a test, and whether it was worked out from the geometry."""
    names = ("inside_diameter", "height", "pitch", "ply_thickness")
    if any(not row[f"{name}_mm"] for name in names) or not row["plies"]:
        return stress_at_mean(float(row["stated_mean_life"])), False
    b = Bellows(
        convolutions=float(row["convolutions"]),
        plies=float(row["plies"]),
        torus_radius=float(row["torus_radius_mm"] or float(row["pitch_mm"]) / 4.0) / 1e3,
        **{name: float(row[f"{name}_mm"]) / 1e3 for name in names},
    )
    c1, c2 = geometry.chart_c1(b), geometry.chart_c2(b)
    p = float(row["pressure_MPa"] or 0.0) * 1e6
    e = movements.axial(b, float(row["axial_range_mm"]) / 1e3)
    return float(
        movements.total_range(
            pressure.meridional_membrane(b, p),
            pressure.meridional_bending(b, p, charts.cp(c1, c2)),
            movements.membrane_stress(b, ROOM_MODULUS, e, charts.cf(c1, c2)),
            movements.bending_stress(b, ROOM_MODULUS, e, charts.cd(c1, c2)),
        )
    ), True


def tests() -> list[Tested]:
    """Every test of the file that was read in a source."""
    found = []
    with TESTS.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if row["standing"] != "read":
                continue
            stress, worked_out = stress_of(row)
            found.append(
                Tested(
                    row["id"],
                    stress,
                    worked_out,
                    float(fatigue.mean_cycles(stress)),
                    float(fatigue.design_cycles(stress)),
                    float(row["tested_cycles"]),
                    row["outcome"] == "failed",
                )
            )
    return found


def round_to(value: float) -> str:
    """Three digits, thousands apart."""
    digits = 3 - 1 - math.floor(math.log10(abs(value)))
    return f"{round(value, digits):,.{max(digits, 0)}f}".replace(",", " ")


def table(found: list[Tested]) -> str:
    """The tests as rows of a page."""
    rows = [
        "| test | stress range MPa | mean life | allowed life | tested | tested / mean | tested / allowed |",
        "|---|---|---|---|---|---|---|",
    ]
    for t in found:
        how = "" if t.worked_out else " (from the stated mean life)"
        rows.append(
            f"| {t.id} | {round_to(t.stress / 1e6)}{how} | {round_to(t.mean)} | "
            f"{round_to(t.design)} | {t.cycles:.0f}{'' if t.failed else ' run out'} | "
            f"{t.cycles / t.mean:.2f} | {t.cycles / t.design:.1f} |"
        )
    return "\n".join(rows)


def levels() -> str:
    """Mean over allowed life at round stresses."""
    rows = ["| stress range MPa | mean life | allowed life | mean / allowed |", "|---|---|---|---|"]
    for stress in (600.0, 800.0, 1000.0, 1200.0, 1600.0, 2000.0, 2500.0, 3000.0):
        mean, design = fatigue.mean_cycles(stress * 1e6), fatigue.design_cycles(stress * 1e6)
        rows.append(
            f"| {stress:.0f} | {round_to(mean)} | {round_to(design)} | {mean / design:.1f} |"
        )
    return "\n".join(rows)


def drawing(found: list[Tested]) -> str:
    """Stress range over cycles, both scales logarithmic."""
    left, top, width, height = 70.0, 24.0, 560.0, 380.0
    x0, x1, y0, y1 = 2.0, 6.0, math.log10(250.0), math.log10(4000.0)
    svg = Svg(
        left + width + 40,
        top + height + 62,
        "Stress range over cycles of bellows",
        "Mean curve of EJMA, design curve of ASME VIII-2 and the curve behind it, with one "
        "published test and one bellows rated by three codes.",
        PRINT,
    )

    def at(cycles: float, stress: float) -> tuple[float, float]:
        return (
            left + width * (math.log10(cycles) - x0) / (x1 - x0),
            top + height * (y1 - math.log10(stress / 1e6)) / (y1 - y0),
        )

    for power in range(2, 7):
        x, _ = at(10.0**power, 1e9)
        svg.line(x, top, x, top + height, stroke=PRINT.hair, width=0.7)
        words = f"{10**power:,}".replace(",", " ")
        svg.text(x, top + height + 18, words, size=11, anchor="middle")
    for stress in (300, 500, 1000, 2000, 4000):
        _, y = at(1e3, stress * 1e6)
        svg.line(left, y, left + width, y, stroke=PRINT.hair, width=0.7)
        svg.text(left - 8, y + 4, str(stress), size=11, anchor="end")
    svg.rect(left, top, width, height, stroke=PRINT.soft)
    svg.text(left + width / 2, top + height + 40, "cycles", anchor="middle")
    svg.text(20, top + height / 2, "total stress range St, MPa", anchor="middle", turn=-90)

    stress = np.geomspace(258e6, 4000e6, 300)
    lower = np.where(
        fatigue.design_cycles(stress) < 4e4,
        MARGIN * np.asarray(fatigue.design_cycles(stress)),
        fatigue.design_cycles(stress / 1.25),
    )
    curves = (
        (np.asarray(fatigue.mean_cycles(stress)), "", 1.8, PRINT.ink),
        (np.asarray(fatigue.design_cycles(stress)), "", 1.8, PRINT.accent),
        (lower, "5 4", 1.1, PRINT.accent),
    )
    for cycles, dash, wide, colour in curves:
        inside = (cycles > 1e2) & (cycles < 1e6)
        points = [at(c, s) for c, s in zip(cycles[inside], stress[inside], strict=True)]
        svg.polyline(points, stroke=colour, width=wide, dash=dash)
    for words, cycles, s, colour in (
        ("mean, EJMA", 1.1e5, 870e6, PRINT.ink),
        ("allowed, VIII-2", 2.2e2, 800e6, PRINT.accent),
        ("the curve under it", 5.2e4, 555e6, PRINT.accent),
    ):
        x, y = at(cycles, s)
        svg.text(x, y, words, size=12, fill=colour)
    s = stress_at_mean(NOTE["EJMA"])
    for cycles in NOTE.values():
        x, y = at(cycles, s)
        svg.rect(x - 4, y - 4, 8, 8, fill=PRINT.paper, stroke=PRINT.ink, width=1.3)
    x, y = at(NOTE["EJMA"], s)
    svg.text(x + 9, y - 8, "one bellows by three codes", size=11, fill=PRINT.soft)
    for t in found:
        x, y = at(t.cycles, t.stress)
        svg.path(
            f"M{n(x)},{n(y - 6)} L{n(x + 6)},{n(y)} L{n(x)},{n(y + 6)} L{n(x - 6)},{n(y)} Z",
            fill=PRINT.warn,
            stroke=PRINT.warn,
        )
        svg.text(x + 10, y + 4, f"tested, {t.id}", size=11, fill=PRINT.warn)
    return svg.render()


def main() -> None:
    """Print the tables, or renew them on the page."""
    found = tests()
    print(table(found), "", levels(), sep="\n")
    if "--write" in sys.argv[1:]:
        DRAWING.write_text(drawing(found) + "\n", encoding="utf-8")
        page = PAGE.read_text(encoding="utf-8")
        for name, words in (("tests", table(found)), ("levels", levels())):
            head, rest = page.split(f"<!-- {name} -->\n", 1)
            _, tail = rest.split(f"<!-- end {name} -->", 1)
            page = f"{head}<!-- {name} -->\n{words}\n<!-- end {name} -->{tail}"
        PAGE.write_text(page, encoding="utf-8")
        print(f"wrote {PAGE.relative_to(ROOT)}, {DRAWING.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
