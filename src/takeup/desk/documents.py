"""The verb documents: write what goes out of the house."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from takeup.desk import assess, plan
from takeup.desk.cases import cases
from takeup.desk.dossier import dossiers
from takeup.desk.overview import overview
from takeup.errors import Refused, UnknownName
from takeup.progress import Progress, part, silent

if TYPE_CHECKING:
    from takeup.desk.site import Site
    from takeup.documents.model import ScopeBook, WalkBook

WHICH = ("dossiers", "walk", "scope", "summary", "calendar")


def write(
    site: Site,
    out: Path | None = None,
    which: Sequence[str] = WHICH,
    *,
    tags: Sequence[str] | None = None,
    progress: Progress = silent,
) -> list[Path]:
    """Write the named documents into ``out`` and return their paths.

    ``which`` picks from :data:`WHICH`; ``tags`` limits dossiers and walk sheets to some
    joints.  Each file is written whole or not at all.
    """
    for name in which:
        if name not in WHICH:
            raise UnknownName("document", name, WHICH)
    folder = out or site.documents_folder
    folder.mkdir(parents=True, exist_ok=True)
    makers: dict[str, Callable[[Progress], list[Path]]] = {
        "dossiers": lambda p: _dossiers(site, folder, tags, p),
        "walk": lambda p: _walk(site, folder, tags),
        "scope": lambda p: _scope(site, folder),
        "summary": lambda p: _summary(site, folder),
        "calendar": lambda p: _calendar(site, folder),
    }
    weights = {"dossiers": 8.0, "walk": 3.0}
    total = sum(weights.get(name, 1.0) for name in which) or 1.0
    written: list[Path] = []
    done = 0.0
    for name in which:
        share = weights.get(name, 1.0) / total
        progress(done, f"writing {name}")
        written += makers[name](part(progress, done, done + share))
        done += share
    progress(1.0, f"wrote {len(written)} documents")
    return written


def scope_book(site: Site) -> ScopeBook:
    """Gather what scope list, budget list and summary are made of."""
    from takeup.documents.model import ScopeBook
    from takeup.register.entities import Decision

    made = plan.latest(site)
    if made is None:
        raise Refused("there is no plan yet; run 'takeup plan' (or Plan in the app) first")
    return ScopeBook(
        system=site.system,
        overview=overview(site),
        plan=made,
        verdicts=tuple(assess.latest(site).values()),
        decisions=site.register().all(Decision),
        made=site.now(),
    )


def walk_book(site: Site, tags: Sequence[str] | None = None, kind: str = "hot walk") -> WalkBook:
    """Gather the joints of a walk in walking order: line by line, along the line."""
    from takeup.documents.model import WalkBook
    from takeup.register.entities import Line

    register = site.register()
    place = {line.tag.casefold(): number for number, line in enumerate(register.all(Line))}
    gathered = sorted(
        cases(site, tags=tags),
        key=lambda case: (
            place[case.line.tag.casefold()],
            case.joint.position is None,
            case.joint.position or 0.0,
        ),
    )
    verdicts = assess.latest(site)
    return WalkBook(
        system=site.system,
        visit_kind=kind,
        outage=gathered[0].next_outage if gathered else None,
        cases=tuple(gathered),
        verdicts=tuple(verdicts[case.joint.tag] for case in gathered if case.joint.tag in verdicts),
        made=site.now(),
    )


def dossier_name(tag: str) -> str:
    """The file name of a joint's dossier: safe on every system."""
    return f"dossier-{safe(tag)}.pdf"


def safe(tag: str) -> str:
    """A tag as part of a file name."""
    return "".join(c if c.isalnum() or c in "-_." else "_" for c in tag).strip(".") or "_"


def _dossiers(
    site: Site, folder: Path, tags: Sequence[str] | None, progress: Progress
) -> list[Path]:
    from takeup.documents import dossier

    made = dossiers(site, tags, paper=True)
    paths = []
    for number, one in enumerate(made):
        progress(number / max(1, len(made)), f"dossier of {one.case.joint.tag}")
        path = folder / dossier_name(one.case.joint.tag)
        dossier.render(one, path)
        paths.append(path)
    return paths


def _walk(site: Site, folder: Path, tags: Sequence[str] | None) -> list[Path]:
    from takeup.documents import walk_sheets

    path = folder / "walk-sheets-hot.pdf"
    walk_sheets.render(walk_book(site, tags), path)
    return [path]


def _scope(site: Site, folder: Path) -> list[Path]:
    from takeup.documents import scope

    book = scope_book(site)
    name = f"scope-{safe(book.plan.outage)}"
    scope.render(book, folder / f"{name}.pdf")
    scope.workbook(book, folder / f"{name}.xlsx")
    return [folder / f"{name}.pdf", folder / f"{name}.xlsx"]


def _summary(site: Site, folder: Path) -> list[Path]:
    from takeup.documents import summary

    book = scope_book(site)
    path = folder / f"summary-{safe(book.plan.outage)}.pdf"
    summary.render(book, path)
    return [path]


def _calendar(site: Site, folder: Path) -> list[Path]:
    from takeup.plan.calendar import icalendar

    book = scope_book(site)
    path = folder / f"dates-{safe(book.plan.outage)}.ics"
    temporary = path.with_suffix(".new")
    temporary.write_bytes(icalendar(book.plan.calendar).encode("utf-8"))
    temporary.replace(path)
    return [path]
