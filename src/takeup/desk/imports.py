"""The verb import: see every difference first, then take all of it or nothing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from takeup.errors import BadFile, Refused
from takeup.progress import Progress, silent

if TYPE_CHECKING:
    from takeup.desk.site import Site
    from takeup.register.exchange import ImportReport


def examine(site: Site, path: Path) -> ImportReport:
    """Read a workbook, a CSV or a folder of CSVs and compare it with the register.

    Nothing is stored.  Raises :class:`takeup.errors.BadFile` for a file of another kind.
    """
    register, today = site.register(), site.today()
    if path.is_dir() or path.suffix.casefold() == ".csv":
        from takeup.register import tables

        return tables.read(path, register, today=today)
    if path.suffix.casefold() in {".xlsx", ".xlsm", ".xlsb", ".xls", ".ods"}:
        from takeup.register import workbook

        return workbook.read(path, register, today=today)
    raise BadFile(f"{path.name} is neither a workbook (.xlsx) nor a .csv nor a folder of .csv")


def commit(
    site: Site, report: ImportReport, author: str, reason: str, progress: Progress = silent
) -> int:
    """Store all that ``report`` would change, as one change; returns how many facts.

    Refuses a report with faults.
    """
    if not report.clean:
        raise Refused(
            f"{report.source} has {report.fault_count} faults; nothing was imported. "
            "Mend them and import again"
        )
    progress(0.1, f"storing {len(report.facts)} facts")
    with site.change(author, reason) as change:
        change.put_many(report.facts)
    progress(1.0, f"stored {len(report.facts)} facts")
    return len(report.facts)
