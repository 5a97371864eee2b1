"""The verb import: see every difference first, then take all of it or nothing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from takeup.errors import BadFile, Refused
from takeup.progress import Progress, silent

if TYPE_CHECKING:
    from takeup.desk.site import Site
    from takeup.register.exchange import ImportReport


def examine(site: Site, path: Path) -> ImportReport:
    """Read a workbook, a CSV or a folder of CSVs and compare it with the register.

    Nothing is stored.  Raises :class:`takeup.errors.BadFile` for a file of another kind.
    """
    last_change = site.store.last_change()  # before the register: never newer than it
    register, today = site.register(), site.today()
    if path.is_dir() or path.suffix.casefold() == ".csv":
        from takeup.register import tables

        report = tables.read(path, register, today=today)
    elif path.suffix.casefold() in {".xlsx", ".xlsm", ".xlsb", ".xls", ".ods"}:
        from takeup.register import workbook

        report = workbook.read(path, register, today=today)
    else:
        raise BadFile(f"{path.name} is neither a workbook (.xlsx) nor a .csv nor a folder of .csv")
    return msgspec.structs.replace(report, last_change=last_change)


def commit(
    site: Site, report: ImportReport, author: str, reason: str, progress: Progress = silent
) -> int:
    """Store all that ``report`` would change, as one change; returns how many facts.

    Refuses a report with faults, and one made before the register's newest change: what
    someone else changed in between was not among the differences seen.
    """
    if not report.clean:
        raise Refused(
            f"{report.source} has {report.fault_count} faults; nothing was imported. "
            "Mend them and import again"
        )
    progress(0.1, f"storing {len(report.facts)} facts")
    with site.store.change(
        author=author, reason=reason, time=site.now(), expect=report.last_change
    ) as change:
        change.put_many(report.facts)
    progress(1.0, f"stored {len(report.facts)} facts")
    return len(report.facts)
