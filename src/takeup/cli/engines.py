"""Verbs that run one engine on a file, without a site."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from takeup.cli.common import emit, json_option, must_exist, plain

FILE = click.Path(path_type=Path)
UNITS = click.option(
    "--units", type=click.Choice(["metric", "us"]), default="metric", show_default=True
)


@click.command()
@click.argument("file", type=FILE)
@UNITS
@json_option
def bellows(file: Path, units: str, as_json: bool) -> None:
    """Work out one bellows from FILE (JSON, SI; see 'takeup schema bellows')."""
    from takeup.bellows import evaluate
    from takeup.bellows.model import BellowsCase
    from takeup.cli.files import read
    from takeup.units import System, shown

    report = evaluate(read(file, BellowsCase))
    if as_json:
        emit(report)
        return
    system = System(units)
    click.echo(f"{report.name}  {report.basis}" + ("" if report.valid else "  NOT COVERED"))
    for figure in report.figures:
        star = " *" if figure.provisional else ""
        value = plain(shown(figure.value, figure.kind, system))
        click.echo(f"  {figure.name:<46} {figure.symbol:<10} {value:>18}{star}")
    for check in report.checks:
        ratio = "" if check.ratio is None else f"{check.ratio:.3f}"
        click.echo(f"  {check.outcome.value:<14} {ratio:>7}  {check.name}  {check.because[:70]}")
    for note in report.notes:
        click.echo(f"  note: {note}")
    click.echo("  * provisional: rests on a source that was not read or confirmed")


@click.command()
@click.argument("file", type=FILE)
@json_option
def interply(file: Path, as_json: bool) -> None:
    """Interpret an interply test from FILE (JSON, SI; see 'takeup schema interply')."""
    from takeup.cli.files import read
    from takeup.cli.inputs import InterplyFile
    from takeup.evidence.interply import interpret
    from takeup.limits import defaults

    data = read(file, InterplyFile)
    result = interpret(data.test, tuple(data.readings), defaults())
    if as_json:
        emit(result)
        return
    click.echo(f"{result.joint} {result.bellows} {result.date}: {result.verdict.value}")
    for line in result.why:
        click.echo(f"  {line}")
    for caution in result.cautions:
        click.echo(f"  ! {caution}")


@click.command()
@click.argument("file", type=FILE)
@click.option("--unit", type=click.Choice(["C", "F", "K"]), required=True)
@click.option("--time-zone", default="", help="Zone of times without an offset.")
@click.option("--outage", type=click.DateTime(["%Y-%m-%d"]), help="Date of the next outage.")
@click.option("--today", type=click.DateTime(["%Y-%m-%d"]), help="Judge as of this day.")
@json_option
def temperature(
    file: Path,
    unit: str,
    time_zone: str,
    outage: dt.datetime | None,
    today: dt.datetime | None,
    as_json: bool,
) -> None:
    """Judge a bellows temperature history in FILE (CSV or Parquet) against the action lines."""
    import tempfile

    from takeup.evidence.temperature import watch
    from takeup.limits import defaults
    from takeup.register import series

    must_exist(file)
    limits = defaults()
    with tempfile.TemporaryDirectory() as scratch:
        kept = series.keep(file, Path(scratch), unit=unit, time_zone=time_zone)
        daily = series.daily(
            Path(scratch) / kept.file,
            file.stem,
            low_from=limits.value("temperature.low_from"),
            low_to=limits.value("temperature.low_to"),
            high=limits.value("temperature.high"),
        )
    report = watch(
        daily,
        joint="-",
        bellows="-",
        limits=limits,
        today=(today or dt.datetime.now(dt.UTC)).date(),  # noqa: TID251 - an edge
        outage=outage.date() if outage else None,
    )
    if as_json:
        emit(report)
        return
    click.echo(f"{file.name}: {report.state}, {report.first} to {report.last}")
    for line in (*report.why, *report.cautions):
        click.echo(f"  {line}")


@click.command()
@click.argument("file", type=FILE)
@json_option
def survival(file: Path, as_json: bool) -> None:
    """Chance of lasting to two dates from FILE (JSON, years; see 'takeup schema survival')."""
    from takeup.ageing.survival import lasting
    from takeup.cli.files import read
    from takeup.cli.inputs import SurvivalFile

    data = read(file, SurvivalFile)
    result = lasting(data.service, data.age, data.to_next, data.to_second, data.records)
    if as_json:
        emit(result)
        return
    click.echo(
        f"{result.service}, {result.age:.1f} years: to the next date {result.to_next:.0%} "
        f"({result.to_next_low:.0%} to {result.to_next_high:.0%}), to the second "
        f"{result.to_second:.0%} ({result.to_second_low:.0%} to {result.to_second_high:.0%})"
    )
    click.echo(f"  {result.source.cite()}")


COMMANDS = (bellows, interply, temperature, survival)
