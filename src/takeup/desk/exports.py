"""The verb export: the register as a workbook or as plain CSV, and the empty template."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from takeup.desk.site import Site
    from takeup.units import System


def template(site: Site | None, path: Path, system: System | None = None) -> Path:
    """Write the workbook to fill in, with what the site already knows about itself."""
    from takeup.register import workbook
    from takeup.register.entities import Outage, Plant, ProcessUnit
    from takeup.register.snapshot import Register
    from takeup.units import System

    known = None
    if site is not None:
        register = site.register()
        known = Register([*register.all(Plant), *register.all(ProcessUnit), *register.all(Outage)])
        system = system or register.system
    path.parent.mkdir(parents=True, exist_ok=True)
    workbook.write(path, known, system or System.METRIC)
    return path


def to_workbook(site: Site, path: Path) -> Path:
    """Write the whole register as a workbook that imports back without loss."""
    from takeup.register import workbook

    path.parent.mkdir(parents=True, exist_ok=True)
    workbook.write(path, site.register(), site.system)
    return path


def to_csv(site: Site, folder: Path) -> list[Path]:
    """Write the whole register as one CSV a table."""
    from takeup.register import tables

    return tables.write(folder, site.register(), site.system)
