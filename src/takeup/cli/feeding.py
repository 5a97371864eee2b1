"""Readings that come in: files of a drop folder, and live values that are written into one."""

from __future__ import annotations

from pathlib import Path

import click

from takeup.cli.common import author_option, emit, json_option, opened, progress, site_option


@click.command("take-readings")
@click.argument("drop", metavar="FOLDER", type=click.Path(file_okay=False, path_type=Path))
@site_option
@author_option
@click.option(
    "--settle",
    type=click.FloatRange(min=0),
    default=10.0,
    show_default=True,
    help="Seconds that a file must have rested before it is taken.",
)
@json_option
def take_readings(drop: Path, folder: Path, author: str, settle: float, as_json: bool) -> int:  # fmt: skip
    """Join every CSV and Parquet file in FOLDER to the temperature history of its tag.

    Nothing kept is written over. Taken files move to FOLDER/taken, refused ones to FOLDER/refused
    with a text that says why; what is asked about stays. Exit code 1 where a file was refused or
    is asked about.
    """
    from takeup.desk import feeds

    with opened(folder) as site:
        report = feeds.take(site, drop, author, settle=settle, progress=progress())
    bad = bool(report.of(feeds.Outcome.REFUSED) or report.of(feeds.Outcome.ASKED))
    if as_json:
        emit(report)
        return int(bad)
    for one in sorted(report.files, key=lambda one: one.outcome != feeds.Outcome.ASKED):
        mark = "•" if one.outcome in {feeds.Outcome.TAKEN, feeds.Outcome.WAITING} else "▲"
        counts = ", ".join(f"{tag.tag} {tag.joined.new}" for tag in one.tags)
        click.echo(f"{mark} {one.name}: {one.outcome.value}{', new: ' + counts if counts else ''}")
        if one.why:
            click.echo(f"    {one.why}")
        for words in one.notes:
            click.echo(f"    {words}")
    for gone in report.vanished:
        click.echo(
            f"▲ {gone.tag} ({gone.joint}): nothing since {gone.last:%Y-%m-%d %H:%M} UTC, "
            f"{gone.behind / 86400:.0f} days behind the newest reading"
        )
    click.echo(
        f"{report.new} new readings from {len(report.of(feeds.Outcome.TAKEN))} files; "
        f"{len(report.of(feeds.Outcome.REFUSED))} refused, "
        f"{len(report.of(feeds.Outcome.ASKED))} asked about, "
        f"{len(report.of(feeds.Outcome.WAITING))} waiting"
    )
    return int(bad)


@click.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--seconds", type=click.FloatRange(min=0), help="Stop after so long; else listen on.")
@json_option
def listen(file: Path, seconds: float | None, as_json: bool) -> None:
    """Read live temperatures over OPC UA, as FILE (TOML) says, into a drop folder.

    Runs until it is interrupted, connects again when the line is lost, and writes the last batch
    before it leaves. 'takeup take-readings' joins the batches to the histories.
    """
    import signal
    import threading

    from takeup.desk import opcua

    task = opcua.read(file)
    stop = threading.Event()
    for name in (signal.SIGINT, signal.SIGTERM):
        signal.signal(name, lambda *_: stop.set())
    said = "without encryption" if task.security == "None" else f"under {task.security}"
    click.echo(f"listening to {len(task.nodes)} nodes of {task.endpoint} {said}", err=True)
    done = opcua.listen(
        task, stop=stop, seconds=seconds, tell=lambda words: click.echo(words, err=True)
    )
    if as_json:
        emit(done)
        return
    click.echo(
        f"{done.readings} readings ({done.good} good) in {len(done.files)} files; "
        f"{done.connections} connections, {done.lost:.0f} s lost"
    )


COMMANDS = (take_readings, listen)
