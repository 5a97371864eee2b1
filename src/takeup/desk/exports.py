"""The verb export: the register as a workbook or as plain CSV, and the empty template."""

from __future__ import annotations

import datetime as dt
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


def to_workbook(site: Site, path: Path, at: dt.datetime | None = None) -> Path:
    """Write the whole register, now or as it stood at ``at``, as a workbook that imports back."""
    from takeup.register import workbook

    path.parent.mkdir(parents=True, exist_ok=True)
    workbook.write(path, site.register(at), site.system)
    return path


def to_csv(site: Site, folder: Path, at: dt.datetime | None = None) -> list[Path]:
    """Write the whole register, now or as it stood at ``at``, as one CSV a table."""
    from takeup.register import tables

    return tables.write(folder, site.register(at), site.system)
