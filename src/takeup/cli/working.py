"""Verbs that change a site: new, template, import, export, record, assess, plan, decide, documents."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import click

from takeup.cli.common import (
    author_option,
    emit,
    json_option,
    must_exist,
    opened,
    progress,
    site_option,
    table,
    writing,
)

if TYPE_CHECKING:
    import datetime as dt

    from takeup.register.exchange import ImportReport

FILE = click.Path(path_type=Path)
EFFORT = click.FloatRange(min=0.0, min_open=True, max=100.0)
EXIT_REFUSED = 3


@click.command()
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path))
@click.option("--name", required=True, help="Name of the site in full.")
@click.option("--units", type=click.Choice(["metric", "us"]), default="metric", show_default=True)
@click.option("--currency", default="USD", show_default=True, help="Three letters.")
@click.option("--time-zone", default="UTC", show_default=True, help="Such as Europe/Berlin.")
@click.option("--database", default="", help="Database URL for teams (PostgreSQL); default a file.")
@author_option
def new(
    folder: Path, name: str, units: str, currency: str, time_zone: str, database: str, author: str
) -> None:
    """Make an empty site in FOLDER."""
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

    from takeup.desk.site import create
    from takeup.errors import TakeupError
    from takeup.register.entities import Plant
    from takeup.units import System

    try:
        ZoneInfo(time_zone)
    except (ZoneInfoNotFoundError, ValueError):
        raise TakeupError(
            f"time zone {time_zone!r} is not known; use a name such as Europe/Berlin or UTC"
        ) from None
    if not (len(currency) == 3 and currency.isalpha() and currency.isascii()):
        raise TakeupError(f"currency {currency!r} is not three letters, such as USD or EUR")
    plant = Plant(
        id=folder.name or "site",
        name=name,
        units=System(units),
        currency=currency.upper(),
        time_zone=time_zone,
    )
    with create(folder, plant, author=author, database=database):
        click.echo(f"made site {name!r} in {folder}; next: takeup template, fill it, takeup import")


@click.command()
@click.argument("file", type=FILE)
@click.option(
    "--units", type=click.Choice(["metric", "us"]), help="Units row (default: the site's)."
)
@site_option
def template(file: Path, units: str | None, folder: Path) -> None:
    """Write the workbook to fill in: one sheet a table, units row, drop-downs, notes."""
    from takeup.desk import exports
    from takeup.desk.site import SETTINGS
    from takeup.units import System

    system = System(units) if units else None
    with writing(file):
        if (folder / SETTINGS).exists():
            with opened(folder) as site:
                exports.template(site, file, system)
        else:
            exports.template(None, file, system)
    click.echo(f"wrote {file}")


@click.command("import")
@click.argument("file", type=FILE)
@click.option("--reason", default="", help="Why; kept with the change.")
@click.option("--yes", is_flag=True, help="Do not ask; commit when there are no faults.")
@click.option("--check", is_flag=True, help="Only compare; store nothing.")
@author_option
@site_option
@json_option
def import_(
    file: Path, reason: str, yes: bool, check: bool, author: str, folder: Path, as_json: bool
) -> int:
    """Import FILE (workbook, CSV or folder of CSVs): all of it or nothing.

    Every fault is named by sheet, row and column; every difference is shown before it is stored.
    """
    from takeup.desk import imports

    with opened(folder) as site:
        report = imports.examine(site, must_exist(file))
        if as_json:
            emit(report)
        else:
            show(report)
        if not report.clean:
            click.echo("nothing was imported", err=True)
            return 1
        if not report.facts:
            click.echo("nothing to do: the register already holds all of this", err=True)
            return EXIT_REFUSED
        if check:
            return 0
        if not yes and not click.confirm(f"store {len(report.facts)} facts?"):
            raise click.Abort
        count = imports.commit(site, report, author, reason or f"import of {file.name}", progress())
        click.echo(f"stored {count} facts", err=as_json)
    return 0


def show(report: ImportReport, most: int = 30) -> None:
    """Print an import report."""
    for fault in report.faults[:most]:
        click.echo(f"✗ {fault}")
    if report.fault_count > most:
        click.echo(f"… and {report.fault_count - most} more faults")
    for note in report.notes:
        click.echo(f"? {note}")
    if report.counts:
        table(
            [
                (kind, str(rows), str(new_), str(changed))
                for kind, rows, new_, changed in report.counts
            ],
            ("table", "rows", "new", "changed"),
        )
    for difference in report.differences[:most]:
        mark = "+" if difference.action == "new" else "~"
        fields = ", ".join(
            f"{c.title}: {c.new}" if difference.action == "new" else f"{c.title}: {c.old} → {c.new}"
            for c in difference.fields[:4]
        )
        click.echo(f"{mark} {difference.kind} {difference.key}  {fields}"[:160])
    if len(report.differences) > most:
        click.echo(f"… and {len(report.differences) - most} more differences")


@click.command()
@click.argument("target", type=FILE)
@click.option(
    "--at",
    type=click.DateTime(["%Y-%m-%d", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M"]),
    help="As the register stood at this time (UTC) instead of now.",
)
@site_option
def export(target: Path, at: dt.datetime | None, folder: Path) -> None:
    """Write the whole register to TARGET: a workbook (.xlsx), else a folder of CSVs."""
    import datetime as dt

    from takeup.desk import exports

    then = at.replace(tzinfo=dt.UTC) if at is not None else None
    with opened(folder) as site, writing(target):
        if target.suffix.casefold() == ".xlsx":
            exports.to_workbook(site, target, then)
            click.echo(f"wrote {target}")
        else:
            click.echo(f"wrote {len(exports.to_csv(site, target, then))} tables to {target}")


@click.command()
@click.argument("kind", type=click.Choice(["facts", "temperature", "photo"]))
@click.argument("file", type=FILE)
@click.option("--joint", default="", help="Joint it belongs to (temperature, photo).")
@click.option("--tag", default="", help="Instrument tag (temperature).")
@click.option("--bellows", default="A", show_default=True, help="Bellows letter (temperature).")
@click.option("--unit", default="", help="C, F or K (temperature).")
@click.option("--time-zone", default="", help="Zone of times without offset (temperature).")
@click.option(
    "--measures",
    type=click.Choice(["bellows", "medium", "air"]),
    default="bellows",
    show_default=True,
    help="What the temperature is of: the bellows, the medium or the air.",
)
@click.option("--caption", default="", help="Caption (photo).")
@click.option("--reason", default="", help="Why; kept with the change.")
@author_option
@site_option
@json_option
def record(
    kind: str,
    file: Path,
    joint: str,
    tag: str,
    bellows: str,
    unit: str,
    time_zone: str,
    measures: str,
    caption: str,
    reason: str,
    author: str,
    folder: Path,
    as_json: bool,
) -> None:
    """Record evidence from FILE.

    facts: JSON {"kind": [{...}, ...], ...} with SI values, as 'takeup schema KIND' describes.
    temperature: CSV or Parquet history. photo: an image.
    """
    from takeup.desk import record as desk

    if kind == "temperature" and unit not in {"C", "F", "K"}:
        raise click.UsageError("a temperature history needs --unit: C, F or K")
    if kind == "temperature" and not tag:
        raise click.UsageError("a temperature history needs --tag, the tag of its instrument")
    if kind != "facts" and not joint:
        raise click.UsageError(f"a {kind} needs --joint, the joint it belongs to")
    with opened(folder) as site:
        if kind == "facts":
            from takeup.cli.files import read_facts

            count = desk.facts(
                site, read_facts(file), author, reason or f"recorded from {file.name}"
            )
            if as_json:
                emit({"stored": count})
            else:
                click.echo(f"stored {count} facts")
        elif kind == "temperature":
            from takeup.evidence.facts import Measured

            series, report = desk.temperature_file(
                site,
                must_exist(file),
                tag=tag,
                joint=joint,
                bellows=bellows,
                unit=unit,
                time_zone=time_zone,
                measures=Measured[measures.upper()],
                author=author,
            )
            if as_json:
                emit(report)
            else:
                click.echo(
                    f"kept {report.rows} readings of {series.tag} ({report.bad} bad, "
                    f"{report.unread} unread, {report.repeated} repeated, {report.gaps} gaps)"
                )
        else:
            from takeup.cli.files import read_bytes

            made = desk.photo(
                site, joint, read_bytes(file), caption=caption, author=author, name=file.name
            )
            if as_json:
                emit(made)
                return
            click.echo(f"kept photo {made.file} ({made.width} × {made.height})")


@click.command()
@click.argument("joints", nargs=-1)
@site_option
@json_option
def assess(joints: tuple[str, ...], folder: Path, as_json: bool) -> None:
    r"""Say of every joint, or of JOINTS, whether it will last, and on what grounds.

    \b
        takeup assess
        takeup assess EJ-1102 --json
    """
    from takeup.assess.model import SEVERITY
    from takeup.desk import assess as desk

    with opened(folder) as site:
        verdicts = desk.run(site, tags=joints or None, progress=progress())
        if as_json:
            emit(verdicts)
            return
        ordered = sorted(verdicts, key=lambda v: (-SEVERITY[v.level], v.joint))
        if joints:
            from takeup.cli.looking import show_verdict

            for verdict in ordered:
                show_verdict(verdict, site.system)
            return
        table(
            [(v.joint, v.level.value, v.confidence.value, v.headline[:90]) for v in ordered],
            ("joint", "level", "confidence", "why"),
        )


@click.command()
@click.option("--outage", default=None, help="Outage (default: the next one).")
@click.option("--budget", type=float, default=None, help="Budget in thousands, for this run only.")
@click.option("--effort", type=EFFORT, default=1.0, show_default=True, help="Search effort.")
@site_option
@json_option
def plan(
    outage: str | None, budget: float | None, effort: float, folder: Path, as_json: bool
) -> None:
    """Choose an option for each joint under the budget, date it and schedule it."""
    from takeup.desk import plan as desk

    with opened(folder) as site:
        made = desk.run(
            site,
            outage,
            budget=None if budget is None else budget * 1e3,
            effort=effort,
            progress=progress(),
        )
        if as_json:
            emit(made)
        else:
            from takeup.cli.looking import show_plan

            show_plan(made)


@click.command()
@click.argument("joint")
@click.argument("option")
@click.option("--reason", required=True, help="Why.")
@click.option("--outage", default=None, help="Outage (default: the next one).")
@author_option
@site_option
def decide(
    joint: str, option: str, reason: str, outage: str | None, author: str, folder: Path
) -> None:
    """Record that OPTION is decided for JOINT, and why. The next plan keeps and prices it."""
    from takeup.desk import decide as desk
    from takeup.desk.plan import outage_of
    from takeup.errors import UnknownName
    from takeup.register.entities import OptionName

    names = {name.value: name for name in OptionName}
    if option not in names:
        raise UnknownName("option", option, list(names))
    with opened(folder) as site:
        planned = outage_of(site, outage, site.today())
        made = desk.decide(site, joint, planned.tag, names[option], reason, author)
        click.echo(f"decided for {made.joint} at {made.outage}: {made.option.value}")


@click.command()
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), help="Folder.")
@click.option(
    "--only",
    multiple=True,
    type=click.Choice(["dossiers", "walk", "scope", "summary", "calendar"]),
    help="Only these; may be given several times.",
)
@click.option("--joint", "tags", multiple=True, help="Only for these joints.")
@site_option
@json_option
def documents(
    out: Path | None, only: tuple[str, ...], tags: tuple[str, ...], folder: Path, as_json: bool
) -> None:
    """Write walk sheets, dossiers, scope and budget list, one-page summary, dates."""
    from takeup.desk import documents as desk

    with opened(folder) as site:
        written = desk.write(site, out, only or desk.WHICH, tags=tags or None, progress=progress())
        if as_json:
            emit([str(path) for path in written])
        else:
            for path in written:
                click.echo(path)


@click.command()
@click.option("--host", default="127.0.0.1", show_default=True)
@click.option("--port", type=click.IntRange(1, 65535), default=8471, show_default=True)
@site_option
def serve(host: str, port: int, folder: Path) -> None:
    """Serve the app on this machine."""
    from takeup.web.server import serve as web

    opened(folder).close()  # say what is wrong with the site before a server starts
    _free(host, port)
    with suppress(KeyboardInterrupt):  # the way a server is stopped
        web(folder, host, port)


def _free(host: str, port: int) -> None:
    """Say that a port is taken before a server claims to serve there."""
    import errno
    import socket

    from takeup.errors import Refused

    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as fault:
            if fault.errno == errno.EADDRINUSE:
                raise Refused(
                    f"port {port} is in use; stop what runs there, or give another with --port"
                ) from None


@click.command()
@click.option("--site", "folder", type=click.Path(path_type=Path), default=Path("demo-site"))
@click.option("--serve", "serving", is_flag=True, help="Serve the app when done.")
@click.option("--port", type=click.IntRange(1, 65535), default=8471, show_default=True)
@click.option("--effort", type=EFFORT, default=0.2, show_default=True, help="Search effort.")
def demo(folder: Path, serving: bool, port: int, effort: float) -> None:
    """Make the invented demo site and run the whole job on it."""
    import shutil
    import time

    from takeup.desk import assess as desk_assess
    from takeup.desk import documents as desk_documents
    from takeup.desk import plan as desk_plan
    from takeup.desk.site import SETTINGS, open_site
    from takeup.errors import Refused

    began = time.perf_counter()

    def step(words: str, since: float) -> float:
        now = time.perf_counter()
        click.echo(f"{words:<58} {now - since:6.1f} s")
        return now

    mark = began
    if (folder / SETTINGS).exists():
        site = open_site(folder)
        mark = step(f"opened the demo site in {folder}", mark)
    else:
        import datetime as dt

        from takeup.demo.create import create

        today = dt.datetime.now(dt.UTC).date()  # noqa: TID251 - an edge
        if folder.is_dir() and any(folder.iterdir()):
            raise Refused(f"{folder} is there and holds no site; name another folder with --site")
        folder = folder.resolve()
        making = folder.with_name(f"{folder.name}.making")
        if (making / SETTINGS).exists():
            shutil.rmtree(making)  # what a stopped run left behind
        create(making, today=today, progress=progress()).close()
        if folder.is_dir():
            folder.rmdir()  # it is empty
        making.rename(folder)  # only a whole demo site gets the name
        site = open_site(folder)
        mark = step(f"made the demo site in {folder}", mark)
    with site:
        verdicts = desk_assess.run(site, progress=progress())
        mark = step(f"assessed {len(verdicts)} joints", mark)
        made = desk_plan.run(site, effort=effort, progress=progress())
        finish = made.schedule.finish
        words = made.portfolio.status.value + (f"; finish {finish:%Y-%m-%d}" if finish else "")
        mark = step(f"planned {made.outage}: {words}", mark)
        written = desk_documents.write(site, progress=progress())
        mark = step(f"wrote {len(written)} documents to {site.documents_folder}", mark)
    click.echo(f"{'from start to documents':<58} {mark - began:6.1f} s")
    if serving:
        from takeup.web.server import serve as web

        _free("127.0.0.1", port)
        with suppress(KeyboardInterrupt):
            web(folder, "127.0.0.1", port)


COMMANDS = (
    new, template, import_, export, record, assess, plan, decide, documents, serve, demo,
)  # fmt: skip
