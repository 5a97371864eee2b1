"""Import of 2,000 joints by workbook and CSV: a report, not a test."""

import tempfile
import time
from pathlib import Path

from takeup.desk import exports, imports, site
from takeup.register.entities import BellowsElement, Joint, JointType, Line, Plant, ProcessUnit
from takeup.register.entities import ServiceClass as Service

COUNT = 2000


def main() -> None:
    """Fill a site, export it, and import the files into an empty one."""
    plant = Plant(id="b", name="Benchmark")
    facts = [ProcessUnit(tag="U", name="Unit")]
    facts += [Line(tag=f"L-{n}", unit="U", name="line", service=Service.STEAM) for n in range(200)]
    for n in range(COUNT):
        facts.append(Joint(tag=f"J-{n}", line=f"L-{n % 200}", type=JointType.UNIVERSAL))
        facts += [
            BellowsElement(joint=f"J-{n}", letter=letter, inside_diameter=0.6 + n / 4000,
                           height=0.04, pitch=0.036, convolutions=8, plies=2,
                           ply_thickness=0.001, material="321")
            for letter in "AB"
        ]  # fmt: skip
    with tempfile.TemporaryDirectory() as scratch:
        root = Path(scratch)
        with site.create(root / "full", plant, author="b") as full:
            with full.change("b", "fill") as change:
                change.put_many(facts)
            exports.to_workbook(full, root / "r.xlsx")
            exports.to_csv(full, root / "csv")
        for name, path in (("workbook", root / "r.xlsx"), ("CSV", root / "csv")):
            with site.create(root / f"empty-{name}", plant, author="b") as empty:
                start = time.perf_counter()
                report = imports.examine(empty, path)
                examined = time.perf_counter()
                stored = imports.commit(empty, report, "b", "import")
                print(
                    f"{name:<9} {stored} facts: examined in {examined - start:.2f} s, "
                    f"stored in {time.perf_counter() - examined:.2f} s"
                )


if __name__ == "__main__":
    main()
